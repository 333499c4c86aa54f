// values.js: the picture in greys of Munsell value, in few values, and blurred as when squinting

import { encodeSrgb } from "./colour.js";
import { luminanceOf, valueOfLuminance } from "./munsell.js";

const ROOTS = 4096; // places of a table over the square root of luminance
export const GROUND = 9.6; // value of bare ground
const AREA_BEYOND = [0.005, 0.995]; // share of the area that lies beyond the darkest and the lightest

const encodedByte = (light) => 255 * encodeSrgb(light);

/** The luminance (0..1) of planes of linear sRGB; IEC 61966-2-1. */
export function luminancePlane([red, green, blue]) {
  const out = new Float32Array(red.length);
  for (let i = 0; i < out.length; i++) out[i] = 0.2126 * red[i] + 0.7152 * green[i] + 0.0722 * blue[i];
  return out;
}

/** A plane blurred in linear light: three running means across and down, nearly a Gaussian. */
export function blurred(plane, width, height, radius) {
  let from = plane;
  for (let pass = 0; pass < 3 && radius >= 1; pass++) {
    from = means(from, width, height, 1, width, radius);
    from = means(from, height, width, width, 1, radius);
  }
  return from;
}

/** Running means along lines of `length`, `step` apart within the line and `stride` between lines. */
function means(plane, length, lines, step, stride, radius) {
  const out = new Float32Array(plane.length);
  const reach = Math.min(Math.round(radius), length - 1);
  for (let line = 0; line < lines; line++) {
    const start = line * stride;
    let [sum, count] = [0, 0];
    for (let i = 0; i < Math.min(reach, length); i++) {
      sum += plane[start + i * step];
      count++;
    }
    for (let i = 0; i < length; i++) {
      if (i + reach < length) {
        sum += plane[start + (i + reach) * step];
        count++;
      }
      if (i - reach > 0) {
        sum -= plane[start + (i - reach - 1) * step];
        count--;
      }
      out[start + i * step] = sum / count;
    }
  }
  return out;
}

/** Munsell value at each root of luminance, set in a key's curve (L* out for L* 0..100) if any. */
export function valueTable(curve) {
  return Float32Array.from({ length: ROOTS }, (_, i) => {
    let luminance = 100 * (i / (ROOTS - 1)) ** 2;
    if (curve) {
      const L = luminance > 0.8856 ? 116 * Math.cbrt(luminance / 100) - 16 : 9.033 * luminance;
      const at = (Math.min(L, 100) / 100) * (curve.length - 1);
      const [low, part] = [Math.floor(at), at % 1];
      const there = curve[low] * (1 - part) + curve[Math.min(low + 1, curve.length - 1)] * part;
      luminance = there > 8 ? 100 * ((there + 16) / 116) ** 3 : there / 9.033;
    }
    return valueOfLuminance(luminance);
  });
}

const rootOf = (light) => Math.round(Math.sqrt(Math.min(Math.max(light, 0), 1)) * (ROOTS - 1));

/** So many even values between the picture's darkest and lightest, with the area of each, 0..1. */
export function bandsOf(plane, table, count) {
  const histogram = new Uint32Array(ROOTS);
  for (let i = 0; i < plane.length; i++) histogram[rootOf(plane[i])]++;
  const [low, high] = AREA_BEYOND.map((share) => {
    let below = 0;
    const at = histogram.findIndex((n) => (below += n) >= share * plane.length);
    return table[at];
  });
  const width = Math.max(high - low, 0.01) / count;
  const bands = Array.from({ length: count }, (_, i) => ({ value: low + (i + 0.5) * width, area: 0 }));
  const bandAt = (value) => Math.min(Math.max(Math.floor((value - low) / width), 0), count - 1);
  histogram.forEach((n, root) => { bands[bandAt(table[root])].area += n / plane.length; });
  return { bands, bandAt };
}

/** The grey byte that shows a Munsell value on the screen. */
export const greyOf = (value) => Math.round(encodedByte(luminanceOf(value) / 100));

/**
 * An image of greys of a luminance plane; in few values if bands are given, and of those the
 * darkest `upTo` alone, on bare ground.
 */
export function greyImage(plane, width, height, table, few, upTo = Infinity) {
  const opaque = Uint32Array.from(table, (value) => {
    const band = few ? few.bandAt(value) : 0;
    const shown = !few ? value : band < upTo ? few.bands[band].value : GROUND;
    return 0xff000000 + Math.min(greyOf(shown), 255) * 0x010101; // little-endian, as every current device is
  });
  const image = new ImageData(width, height);
  const whole = new Uint32Array(image.data.buffer);
  for (let i = 0; i < whole.length; i++) whole[i] = opaque[rootOf(plane[i])];
  return image;
}

/** A hex colour as four bytes, little-endian. */
export const opaqueOf = (hex) =>
  [1, 3, 5].reduce((sum, at, i) => sum + parseInt(hex.slice(at, at + 2), 16) * 256 ** i, 0xff000000);

/** An image of numbered levels, each in a colour. */
export function indexedImage({ levels, width, height }, colours) {
  const image = new ImageData(width, height), whole = new Uint32Array(image.data.buffer);
  for (let i = 0; i < whole.length; i++) whole[i] = colours[levels[i]];
  return image;
}

/** An image of planes of linear sRGB. */
export function colourImage(three, width, height) {
  const image = new ImageData(width, height);
  const bytes = Uint8ClampedArray.from({ length: ROOTS }, (_, i) => encodedByte((i / (ROOTS - 1)) ** 2));
  const { data: out } = image;
  three.forEach((plane, c) => {
    for (let i = 0; i < plane.length; i++) out[4 * i + c] = bytes[rootOf(plane[i])];
  });
  for (let i = 3; i < out.length; i += 4) out[i] = 255;
  return image;
}

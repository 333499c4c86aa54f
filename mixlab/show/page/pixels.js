// pixels.js: a picture's pixels: the colour of a disc, averaged in linear light; thinned; as planes

import { adapt, decodeSrgb, labToXyz, rgbToLab, times3, xyzToLab } from "./colour.js";

const LINEAR = Float64Array.from({ length: 256 }, (_, i) => decodeSrgb(i / 255)); // of a byte

// linear Display P3 to linear sRGB, from the primaries of SMPTE EG 432-1 and IEC 61966-2-1
const P3_TO_SRGB = [
  [1.2249401763, -0.2249401763, 0],
  [-0.0420569547, 1.0420569547, 0],
  [-0.0196375546, -0.0786360456, 1.0982736001],
];

/** The linear sRGB of a pixel, in the space of the picture's canvas. */
function linearOf(red, green, blue, space) {
  const light = [LINEAR[red], LINEAR[green], LINEAR[blue]];
  if (space === "srgb") return light;
  return times3(P3_TO_SRGB, light);
}

/**
 * The mean linear sRGB of the disc around a place [pixels of the file], with the share of it that
 * is clipped; null outside the picture or where it is transparent.
 */
export function sampleDisc(picture, x, y, radius) {
  const { width, height, pixels, scale, space } = picture;
  const [column, row, reach] = [Math.floor(x * scale + 0.5), Math.floor(y * scale + 0.5), radius * scale];
  if (column < 0 || row < 0 || column >= width || row >= height) return null;
  const sum = [0, 0, 0];
  let [count, clipped] = [0, 0];
  const whole = Math.floor(reach);
  for (let j = Math.max(row - whole, 0); j <= Math.min(row + whole, height - 1); j++) {
    for (let i = Math.max(column - whole, 0); i <= Math.min(column + whole, width - 1); i++) {
      if ((i - column) ** 2 + (j - row) ** 2 > reach * reach) continue;
      const at = 4 * (j * width + i);
      if (pixels[at + 3] < 255) return null;
      const [red, green, blue] = [pixels[at], pixels[at + 1], pixels[at + 2]];
      for (let c = 0; c < 3; c++) sum[c] += LINEAR[pixels[at + c]];
      if (Math.min(red, green, blue) === 0 || Math.max(red, green, blue) === 255) clipped++;
      count++;
    }
  }
  const mean = sum.map((channel) => channel / count);
  return { rgb: space === "srgb" ? mean : times3(P3_TO_SRGB, mean), count, clipped: clipped / count };
}

/** CIELAB of linear sRGB; with a grey, linear sRGB, its cast is taken out and its lightness stays. */
export function photoLab(rgb, grey, view) {
  const lab = rgbToLab(rgb, view);
  if (!grey) return lab;
  const neutral = labToXyz(rgbToLab(grey, view), view.white);
  const cleared = adapt(labToXyz(lab, view.white), neutral, view.white.map((v) => (v * neutral[1]) / 100));
  return xyzToLab(cleared, view.white);
}

/** The bytes of about so many opaque pixels, from all over the picture, three after another. */
export function thinned({ width, height, pixels }, most) {
  const step = Math.max(1, Math.floor(Math.sqrt((width * height) / most)));
  const some = new Uint8Array(3 * Math.ceil(width / step) * Math.ceil(height / step));
  let n = 0;
  for (let j = 0; j < height; j += step) {
    for (let i = 0; i < width; i += step) {
      const at = 4 * (j * width + i);
      if (pixels[at + 3] < 255) continue;
      for (let c = 0; c < 3; c++) some[n++] = pixels[at + c];
    }
  }
  return some.slice(0, n);
}

/** CIELAB of pixels, three numbers after another. */
export function photoLabs(some, space, grey, view) {
  const labs = new Float32Array(some.length);
  for (let at = 0; at < some.length; at += 3) {
    labs.set(photoLab(linearOf(some[at], some[at + 1], some[at + 2], space), grey, view), at);
  }
  return labs;
}

/** The picture no longer than `longest`, as three planes of linear sRGB, each a mean of pixels. */
export function planesOf(picture, longest) {
  const { width, height, pixels, space } = picture;
  const step = Math.max(1, Math.ceil(Math.max(width, height) / longest));
  const [w, h] = [Math.floor(width / step) || 1, Math.floor(height / step) || 1];
  const planes = [0, 1, 2].map(() => new Float32Array(w * h));
  for (let y = 0; y < h; y++) {
    for (let x = 0; x < w; x++) {
      let [red, green, blue] = [0, 0, 0];
      for (let j = 0; j < step; j++) {
        let at = 4 * ((y * step + j) * width + x * step);
        for (let i = 0; i < step; i++, at += 4) {
          red += LINEAR[pixels[at]];
          green += LINEAR[pixels[at + 1]];
          blue += LINEAR[pixels[at + 2]];
        }
      }
      const n = step * step, at = y * w + x;
      const mean = [red / n, green / n, blue / n];
      const [r, g, b] = space === "srgb" ? mean : times3(P3_TO_SRGB, mean);
      planes[0][at] = r;
      planes[1][at] = g;
      planes[2][at] = b;
    }
  }
  return { planes, width: w, height: h };
}

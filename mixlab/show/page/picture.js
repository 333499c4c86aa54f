// picture.js: a picture from a file, held as pixels; the colour of a disc, averaged in linear light

import { adapt, decodeSrgb, labToXyz, rgbToLab, times3, xyzToLab } from "./colour.js";
import { pause } from "./dom.js";

const BAND = 64; // rows worked at once: the page hears between

export const LONGEST = 2048; // pixels to which a longer side is drawn

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

/** A picture from a file; an Error of one line where it cannot be read. */
export async function readPicture(blob, name) {
  const image = await loaded(blob, name);
  const [fullWidth, fullHeight] = [image.naturalWidth, image.naturalHeight];
  const scale = Math.min(1, LONGEST / Math.max(fullWidth, fullHeight));
  const width = Math.max(1, Math.round(fullWidth * scale));
  const height = Math.max(1, Math.round(fullHeight * scale));
  const space = await spaceOf(blob);
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [width, height];
  const context = canvas.getContext("2d", { willReadFrequently: true, colorSpace: space });
  context.imageSmoothingQuality = "high";
  context.drawImage(await small(blob, image, scale, width, height), 0, 0, width, height);
  const pixels = context.getImageData(0, 0, width, height, { colorSpace: space }).data;
  URL.revokeObjectURL(image.src);
  return { name, canvas, pixels, width, height, fullWidth, fullHeight, scale, space };
}

async function loaded(blob, name) {
  const image = new Image();
  image.src = URL.createObjectURL(blob);
  try {
    await image.decode();
  } catch {
    URL.revokeObjectURL(image.src);
    const heic = /\.(heic|heif)$/i.test(name) || /hei[cf]/.test(blob.type);
    throw new Error(heic
      ? `${name}: this browser does not read HEIC; save or share the picture as JPEG`
      : `${name}: this is no picture that the browser reads; JPEG, PNG and WebP are`);
  }
  return image;
}

/** Where it is large, the picture drawn small beside the main thread, if the browser can. */
async function small(blob, image, scale, width, height) {
  if (scale === 1) return image;
  try {
    return await createImageBitmap(blob, { resizeWidth: width, resizeHeight: height, resizeQuality: "high" });
  } catch {
    return image;
  }
}

/** The canvas that holds the picture's colours: Display P3 where its profile says so. */
async function spaceOf(blob) {
  const bytes = new Uint8Array(await blob.slice(0, 65536).arrayBuffer());
  const text = new TextDecoder("latin1").decode(bytes).replaceAll("\u0000", "");
  if (!text.includes("Display P3")) return "srgb";
  const probe = document.createElement("canvas").getContext("2d", { colorSpace: "display-p3" });
  return probe?.getContextAttributes?.().colorSpace === "display-p3" ? "display-p3" : "srgb";
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
      const light = linearOf(pixels[at], pixels[at + 1], pixels[at + 2], space);
      for (let c = 0; c < 3; c++) sum[c] += light[c];
      const [low, high] = [Math.min, Math.max].map((f) => f(pixels[at], pixels[at + 1], pixels[at + 2]));
      if (low === 0 || high === 255) clipped++;
      count++;
    }
  }
  return { rgb: sum.map((channel) => channel / count), count, clipped: clipped / count };
}

/** CIELAB of linear sRGB; with a grey, linear sRGB, its cast is taken out and its lightness stays. */
export function photoLab(rgb, grey, view) {
  const lab = rgbToLab(rgb, view);
  if (!grey) return lab;
  const neutral = labToXyz(rgbToLab(grey, view), view.white);
  const cleared = adapt(labToXyz(lab, view.white), neutral, view.white.map((v) => (v * neutral[1]) / 100));
  return xyzToLab(cleared, view.white);
}

/** The picture thinned to about so many pixels: linear sRGB, three numbers after another. */
export function thinned(picture, most) {
  const { width, height, pixels, space } = picture;
  const step = Math.max(1, Math.floor(Math.sqrt((width * height) / most)));
  const some = [];
  for (let j = 0; j < height; j += step) {
    for (let i = 0; i < width; i += step) {
      const at = 4 * (j * width + i);
      if (pixels[at + 3] === 255) some.push(...linearOf(pixels[at], pixels[at + 1], pixels[at + 2], space));
    }
  }
  return some;
}

/** The picture no longer than `longest`, as three planes of linear sRGB, each a mean of pixels. */
export async function planes(picture, longest) {
  const { width, height, pixels, space } = picture;
  const step = Math.max(1, Math.ceil(Math.max(width, height) / longest));
  const [w, h] = [Math.floor(width / step) || 1, Math.floor(height / step) || 1];
  const out = [0, 1, 2].map(() => new Float32Array(w * h));
  for (let y = 0; y < h; y++) {
    if (y % BAND === BAND - 1) await pause();
    for (let x = 0; x < w; x++) {
      let [red, green, blue] = [0, 0, 0];
      for (let j = 0; j < step; j++) {
        for (let i = 0; i < step; i++) {
          const at = 4 * ((y * step + j) * width + x * step + i);
          if (space === "srgb") {
            red += LINEAR[pixels[at]];
            green += LINEAR[pixels[at + 1]];
            blue += LINEAR[pixels[at + 2]];
          } else {
            const light = linearOf(pixels[at], pixels[at + 1], pixels[at + 2], space);
            red += light[0];
            green += light[1];
            blue += light[2];
          }
        }
      }
      const [at, n] = [y * w + x, step * step];
      out[0][at] = red / n;
      out[1][at] = green / n;
      out[2][at] = blue / n;
    }
  }
  return { planes: out, width: w, height: h };
}

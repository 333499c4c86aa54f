// The eye: the picture beside the main thread: read, thinned, in greys and few values, blurred.

import { photoLabs, planesOf, thinned } from "./pixels.js";
import {
  bandsOf, blurred, colourImage, greyImage, greyOf, GROUND, indexedImage, luminancePlane, opaqueOf,
  valueTable,
} from "./values.js";

const THIN = 1000; // pixels to which the picture is thinned for greys
const KEY_PIXELS = 100_000; // of a picture, that its key is worked out from

let planned = null; // of a plan: values, colours of masses, where they lie
let held = null; // of the picture: thin planes, some pixels and their CIELAB; the page has the rest

const notRead = (name) =>
  new Error(`${name}: this is no picture that the browser reads; JPEG, PNG and WebP are`);

/** What the page may ask of the eye; each gives the result and what of it is handed over. */
export const LOOKS = {
  async read({ file, name, longest, fullWidth, fullHeight }) {
    const blob = typeof file === "string" ? blobOf(file) : file;
    const image = await decoded(blob, longest, fullWidth, fullHeight).catch(() => { throw notRead(name); });
    const [across, down] = [image.displayWidth ?? image.width, image.displayHeight ?? image.height];
    const scale = Math.min(1, longest / Math.max(across, down));
    const [width, height] = [across, down].map((size) => Math.max(1, Math.round(size * scale)));
    const canvas = new OffscreenCanvas(width, height);
    const context = await contextFor(blob, canvas);
    context.imageSmoothingQuality = "high";
    context.drawImage(image, 0, 0, width, height);
    image.close();
    const space = context.getContextAttributes?.().colorSpace ?? "srgb";
    const pixels = context.getImageData(0, 0, width, height, { colorSpace: space }).data;
    const whole = { pixels, width, height, space };
    held = { thin: planesOf(whole, THIN), some: thinned(whole, KEY_PIXELS), space };
    canvas.width = canvas.height = 0; // lets its memory go at once
    return [whole, [pixels.buffer]];
  },

  labs({ grey, view }) {
    const key = grey ? grey.join() : "";
    if (held.key !== key) Object.assign(held, { key, labs: photoLabs(held.some, held.space, grey, view) });
    const labs = held.labs.slice();
    return [labs, [labs.buffer]];
  },

  async plan({ values, hexes, valueMap, massMap }) {
    planned = { values, hexes, byValue: await levelsOf(valueMap), byMass: await levelsOf(massMap) };
    return [planned.byMass, []];
  },

  tones({ values, squint, curve, upTo }) {
    if (values === "plan") return plannedValues(upTo);
    if (values === "masses") return shownAs(indexedImage(planned.byMass, planned.hexes.map(opaqueOf)));
    const { planes, width, height } = held.thin;
    const radius = (squint * Math.max(width, height)) / 250;
    if (values === "") {
      return shownAs(colourImage(planes.map((plane) => blurred(plane, width, height, radius)), width, height));
    }
    const plane = blurred(luminancePlane(planes), width, height, radius), table = valueTable(curve);
    const few = values === "0" ? null : bandsOf(plane, table, Number(values));
    const { bands } = few ?? bandsOf(plane, table, 9);
    return shownAs(greyImage(plane, width, height, table, few, upTo), bands.map((band) => ({ ...band, grey: greyOf(band.value) })));
  },
};

/** The picture in the values that were planned, the darkest `upTo` of them. */
function plannedValues(upTo) {
  const bands = planned.values.map((band) => ({ ...band, grey: greyOf(band.value) }));
  const colours = bands.map(({ grey }, i) => 0xff000000 + (i < upTo ? grey : greyOf(GROUND)) * 0x010101);
  return shownAs(indexedImage(planned.byValue, colours), bands);
}

/** The levels of a grey picture in a data URL, one a pixel. */
async function levelsOf(url) {
  const image = await createImageBitmap(blobOf(url), { colorSpaceConversion: "none" });
  const { width, height } = image, context = new OffscreenCanvas(width, height).getContext("2d");
  context.drawImage(image, 0, 0);
  image.close();
  const { data: bytes } = context.getImageData(0, 0, width, height);
  return { width, height, levels: Uint8Array.from({ length: width * height }, (_, i) => bytes[4 * i]) };
}

async function shownAs(data, bands = []) {
  const image = await createImageBitmap(data);
  return [{ image, bands }, [image]];
}

/** The file in a data URL. */
function blobOf(url) {
  const [head, body] = url.split(","), text = atob(body), bytes = new Uint8Array(text.length);
  for (let i = 0; i < bytes.length; i++) bytes[i] = text.charCodeAt(i);
  return new Blob([bytes], { type: head.slice(5).split(";")[0] });
}

/**
 * A picture decoded, turned as its file says. A large one is decoded small where the browser can:
 * 48 megapixels would be 190 MB.
 */
async function decoded(blob, longest, fullWidth, fullHeight) {
  const scale = Math.min(1, longest / Math.max(fullWidth, fullHeight));
  if (scale === 1) return createImageBitmap(blob);
  const turns = typeof ImageDecoder !== "undefined" && "rotation" in VideoFrame.prototype;
  if (turns && (await ImageDecoder.isTypeSupported(blob.type).catch(() => false))) {
    const decoder = new ImageDecoder({
      data: blob.stream(), type: blob.type, desiredWidth: longest, desiredHeight: longest,
    });
    try {
      return (await decoder.decode()).image;
    } catch {
      // as below
    } finally {
      decoder.close();
    }
  }
  return createImageBitmap(blob, {
    resizeWidth: Math.max(1, Math.round(fullWidth * scale)),
    resizeHeight: Math.max(1, Math.round(fullHeight * scale)), resizeQuality: "high",
  });
}

/** The context that holds a picture's colours: Display P3 where it has a profile wider than sRGB. */
async function contextFor(blob, canvas) {
  const head = new TextDecoder("latin1").decode(await blob.slice(0, 262144).arrayBuffer()).replaceAll("\u0000", "");
  const isWide = /ICC_PROFILE|iCCP|ICCP/.test(head) && !head.includes("sRGB");
  return canvas.getContext("2d", { willReadFrequently: true, colorSpace: isWide ? "display-p3" : "srgb" });
}

// picture.js: a picture taken up from a file, and kept in the browser for a reload

import { ask, eye } from "./state.js";
import { shown } from "./text.js";

export const LONGEST = 2048; // pixels to which a longer side is drawn

/** A picture from a file, as the eye reads it; an Error of one line where it cannot be read. */
export async function readPicture(file, name) {
  const { width: fullWidth, height: fullHeight } = await sizeOf(file, name);
  const read = await ask({ ask: "read", file, name: shown(name), longest: LONGEST, fullWidth, fullHeight }, eye);
  const image = new ImageData(read.pixels, read.width, read.height, { colorSpace: read.space });
  return { name, fullWidth, fullHeight, scale: read.width / fullWidth, image, ...read };
}

/** The size of a picture [pixels], turned as its file says; nothing is decoded for it. */
async function sizeOf(file, name) {
  const image = new Image(), isText = typeof file === "string";
  const url = isText ? file : URL.createObjectURL(file);
  try {
    await new Promise((done, failed) => {
      image.onload = done;
      image.onerror = failed;
      image.src = url;
    });
    return { width: image.naturalWidth, height: image.naturalHeight };
  } catch {
    const heic = /\.(heic|heif)$/i.test(name) || /hei[cf]/.test(file.type ?? "");
    throw new Error(heic
      ? `${shown(name)}: this browser does not read HEIC; save or share the picture as JPEG`
      : `${shown(name)}: this is no picture that the browser reads; JPEG, PNG and WebP are`);
  } finally {
    if (!isText) URL.revokeObjectURL(url);
  }
}

// --- kept for a reload -----------------------------------------------------------------------------

const [DATABASE, STORE_OF_PICTURES] = ["mixlab", "pictures"];

/** Do one thing with the pictures that the browser keeps; a promise of its result. */
async function withPictures(mode, act) {
  const opening = indexedDB.open(DATABASE, 1);
  opening.onupgradeneeded = () => opening.result.createObjectStore(STORE_OF_PICTURES);
  const database = await settled(opening, "success");
  try {
    const doing = database.transaction(STORE_OF_PICTURES, mode);
    const asked = act(doing.objectStore(STORE_OF_PICTURES));
    await settled(doing, "complete");
    return asked.result;
  } finally {
    database.close();
  }
}

const settled = (request, event) => new Promise((resolve, reject) => {
  request.addEventListener(event, () => resolve(request.result));
  for (const fault of ["error", "abort"]) request.addEventListener(fault, () => reject(request.error));
});

/** Keep a picture's file under a key, as bytes: not every browser keeps files. Whether it could. */
export async function keepPicture(key, file, name) {
  try {
    const kept = { bytes: await file.arrayBuffer(), type: file.type, name };
    await withPictures("readwrite", (pictures) => pictures.put(kept, key));
    return true;
  } catch {
    return false;
  }
}

/** Keep no picture under a key any more. */
export const dropPicture = (key) =>
  withPictures("readwrite", (pictures) => pictures.delete(key)).catch(() => {});

/** The file and name of the picture that is kept under a key; null without. */
export async function keptPicture(key) {
  try {
    const kept = await withPictures("readonly", (pictures) => pictures.get(key));
    return kept ? { file: new Blob([kept.bytes], { type: kept.type }), name: String(kept.name) } : null;
  } catch {
    return null;
  }
}

// picture.js: a picture taken up from a file, and kept in the browser for a reload

import { ask, eye } from "./state.js";

export const LONGEST = 2048; // pixels to which a longer side is drawn

/** A picture from a file, as the eye reads it; an Error of one line where it cannot be read. */
export async function readPicture(file, name) {
  const { width: fullWidth, height: fullHeight } = await sizeOf(file, name);
  const read = await ask({ ask: "read", file, name, longest: LONGEST, fullWidth, fullHeight }, eye);
  return { name, fullWidth, fullHeight, scale: read.width / fullWidth, ...read };
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
      ? `${name}: this browser does not read HEIC; save or share the picture as JPEG`
      : `${name}: this is no picture that the browser reads; JPEG, PNG and WebP are`);
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
  const database = await settled(opening);
  try {
    return await settled(act(database.transaction(STORE_OF_PICTURES, mode).objectStore(STORE_OF_PICTURES)));
  } finally {
    database.close();
  }
}

const settled = (request) => new Promise((resolve, reject) => {
  request.onsuccess = () => resolve(request.result);
  request.onerror = () => reject(request.error);
});

/** Keep a picture's file under a key; whether the browser could. */
export const keepPicture = (key, file, name) =>
  withPictures("readwrite", (pictures) => pictures.put({ file, name }, key)).then(() => true, () => false);

/** The file and name that are kept under a key; null without. */
export const keptPicture = (key) =>
  withPictures("readonly", (pictures) => pictures.get(key)).then((found) => found ?? null, () => null);

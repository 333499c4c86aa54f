// passages.js: places that are kept, in the browser and in a small JSON file; who changes what is
// taken changes mixlab/targets/places.py with it

import { relit } from "./colour.js";
import { shortened, shown, visible } from "./text.js";

export const MOST_PASSAGES = 64;
const LARGEST = 250_000; // bytes of a file
const LONGEST_NAME = 120;
const FARTHEST = 1e9; // pixels
const HIGHEST = 200; // chroma C*

const isNumber = (value, high, low = 0) => typeof value === "number" && value >= low && value <= high;
const isLab = (lab) => Array.isArray(lab) && lab.length === 3 && isNumber(lab[0], 100)
  && lab.slice(1).every((value) => isNumber(value, HIGHEST, -HIGHEST)) && Math.hypot(lab[1], lab[2]) <= HIGHEST;
const isObject = (value) => typeof value === "object" && value !== null && !Array.isArray(value);

/** A name as the list can bear it. */
export const nameFrom = (text) => shortened(visible(text), LONGEST_NAME);

/**
 * The passages of a file, their colours as the page of these data sees them; an Error of one line
 * if it is none.
 */
export async function readPassages(file, data) {
  const fault = (what) => new Error(`${shown(file.name)}: ${what}`);
  if (file.size > LARGEST) throw fault("it is too large for a file of passages");
  const content = contentOf(await file.arrayBuffer());
  if (content === undefined) throw fault("it is not JSON; a file of passages is saved by this page");
  const { mixlab, light, observer, places, picture } = isObject(content) ? content : {};
  if (mixlab !== "passages" || !Array.isArray(places) || !places.length) {
    throw fault("it holds no passages; a file of passages is saved by this page");
  }
  const seen = seenUnder(light, observer, data);
  if (!seen) throw fault("it names no light and observer that are known");
  if (places.length > MOST_PASSAGES) throw fault(`it holds ${places.length} passages; at most ${MOST_PASSAGES} can be`);
  const of = picture === null ? undefined : picture;
  if (of !== undefined && !isPicture(of)) throw fault("its picture has no name, or its size is no number of pixels");
  return places.map((place, i) => ({ ...checkedPlace(place, seen, (what) => fault(`passage ${i + 1}: ${what}`)), of: plainPicture(of) }));
}

/** Those of the passages that were kept in the browser that make sense; null where none were. */
export function keptPassages({ passages, light, observer }, data) {
  if (!Array.isArray(passages)) return null;
  const seen = seenUnder(light ?? data.view.light, observer ?? data.view.observer, data);
  return (seen ? passages.slice(0, MOST_PASSAGES) : []).flatMap((passage) => {
    try {
      const { of, plan } = passage, checked = checkedPlace(passage, seen, (what) => new Error(what));
      return [{ ...checked, of: isPicture(of) ? plainPicture(of) : undefined, plan: Number.isInteger(plan) ? plan : undefined }];
    } catch {
      return [];
    }
  });
}

function contentOf(bytes) {
  try {
    const text = new TextDecoder("utf-8", { fatal: true }).decode(bytes);
    return text.includes("\x7f") ? undefined : JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** How a colour comes to be seen as the page sees it; null for a light that is not known. */
function seenUnder(light, observer, { view, white, whites }) {
  if (light === view.light && observer === view.observer) return (lab) => [...lab];
  const isKnown = typeof light === "string" && Object.hasOwn(whites, light)
    && typeof observer === "string" && Object.hasOwn(whites[light], observer);
  if (!isKnown) return null;
  const from = whites[light][observer];
  return (lab) => {
    const [L, a, b] = relit(lab, from, white);
    return [Math.min(Math.max(L, 0), 100), a, b];
  };
}

const isPicture = (of) => isObject(of) && typeof of.name === "string"
  && [of.width, of.height].every((size) => size === undefined || isNumber(size, FARTHEST, 1));

const plainPicture = (of) => of && { name: of.name, width: of.width, height: of.height };

function checkedPlace(place, seen, fault) {
  if (!isObject(place)) throw fault("it is no place");
  const { name = "", lab, x, y, radius } = place;
  if (typeof name !== "string") throw fault("its name is no text");
  if (lab !== undefined && !isLab(lab)) throw fault("lab is three numbers, L* 0 to 100, a* and b* of no more chroma than 200");
  if (radius !== undefined && !isNumber(radius, FARTHEST)) throw fault("the radius is a number of pixels");
  const checked = { name: nameFrom(name), ...(lab && { lab: seen(lab) }) };
  if (x !== undefined || y !== undefined) {
    if (!isNumber(x, FARTHEST) || !isNumber(y, FARTHEST)) throw fault("x and y are pixels of the picture");
    return { ...checked, x, y, radius: radius ?? 0 };
  }
  if (!lab) throw fault("it has neither a place, x and y, nor a colour, lab");
  return checked;
}

/** Passages as they are kept: each with its place, as far as that tells more, and its colour. */
export const plainPassages = (list, isPlace = () => true) => list.map((passage) => {
  const { name, x, y, radius, lab } = passage;
  const place = x !== undefined && isPlace(passage) ? { x, y, radius } : {};
  const rounded = lab?.map((v) => Math.round(v * 1e4) / 1e4);
  return { name, ...place, ...(isLab(rounded) ? { lab: rounded } : {}) };
});

/** The text of a file of passages. */
export function writtenPassages(list, picture, { light, observer }, isHere) {
  const places = plainPassages(list, (passage) => isHere(passage) || !passage.lab);
  return JSON.stringify({ mixlab: "passages", light, observer, picture, places }, null, 1) + "\n";
}

/** What the browser keeps under a name; an empty object where it keeps nothing, or may not. */
export function kept(key) {
  try {
    const content = JSON.parse(localStorage.getItem(key));
    return isObject(content) ? content : {};
  } catch {
    return {};
  }
}

/** Keep something in the browser; whether it could. */
export function keep(key, value) {
  try {
    localStorage.setItem(key, JSON.stringify(value));
    return true;
  } catch {
    return false;
  }
}

// state.js: what the page knows; the engine beside the main thread; who is told of a change

import { keep, kept, keptPassages, plainPassages } from "./passages.js";

export const data = JSON.parse(document.getElementById("data").textContent);
export const paintById = new Map(data.paints.map((paint) => [paint.id, paint]));
export const nameOf = (id) => paintById.get(id)?.name ?? id;

export const STORE = `mixlab page ${data.palette.name} ${data.picture?.name ?? ""} ${data.picture?.src.length ?? 0}${
  data.plan ? ` planned ${JSON.stringify(data.plan).length}` : ""}`;

export const state = {
  picture: null, // see picture.js
  radius: null, // of the disc [pixels of the file]
  wanted: null, // the colour that is asked for, and where it is from
  answer: null, // what the engine says of it
  grey: null, // linear sRGB of a place that is neutral
  key: "fit",
  keyed: null, // the curve of the key, with its words
  values: "", // "" colours, "0" every grey, "2" .. "9"
  squint: 0,
  pile: {}, // parts by id
  tubes: new Set(data.palette.tubes), // at hand
  must: new Set(), // called for
  finish: data.view.finish,
  tolerance: data.settings.tolerance,
  most: data.settings.tubes,
  parts: data.settings.parts,
  passages: null,
  started: false, // whether the engine answers
};

/** What of the state outlives a reload: passages, tubes and how they are searched. */
export function remember() {
  const { passages, finish, tolerance, most, parts, key, pile } = state, { light, observer } = data.view;
  const plain = plainPassages(passages).map((place, i) => ({ ...place, of: passages[i].of, plan: passages[i].plan }));
  const ok = keep(STORE, {
    light, observer, passages: plain, finish, tolerance, most, parts, key, pile,
    tubes: [...state.tubes], must: [...state.must],
  });
  if (!ok) announce("fault", "this browser keeps nothing for the page: save the passages to a file");
}

/** Take up what was remembered, whoever wrote it; what does not make sense is left as it was. */
export function recall(stored = kept(STORE)) {
  const isKnown = (id) => paintById.get(id)?.offered;
  const isWhole = (value, high) => Number.isInteger(value) && value >= 1 && value <= high;
  const isNumber = (value, high) => typeof value === "number" && value >= 0 && value <= high;
  const tubes = Array.isArray(stored.tubes) ? stored.tubes.filter(isKnown) : [];
  if (tubes.length) state.tubes = new Set(tubes);
  if (typeof stored.finish === "string" && Object.hasOwn(data.finishes, stored.finish)) state.finish = stored.finish;
  if (isNumber(stored.tolerance, 20)) state.tolerance = stored.tolerance;
  if (isWhole(stored.most, 6)) state.most = stored.most;
  if (isWhole(stored.parts, 24)) state.parts = stored.parts;
  if (Array.isArray(stored.must)) {
    state.must = new Set(stored.must.filter((id) => state.tubes.has(id)).slice(0, state.most));
  }
  if (typeof stored.key === "string" && /^(fit|none|[3-9])$/.test(stored.key)) state.key = stored.key;
  for (const [id, parts] of Object.entries(stored.pile ?? {})) {
    if (state.tubes.has(id) && isNumber(parts, 99) && parts > 0) state.pile[id] = parts;
  }
  const of = data.picture ? { name: data.picture.name } : undefined;
  state.passages = keptPassages(stored, data) ?? data.places.map((place) => ({ ...place, of }));
}

/** Whether a passage is a place of the picture that is shown. */
export function isHere({ x, y, of }) {
  const { picture } = state;
  if (x === undefined || !picture || x >= picture.fullWidth || y >= picture.fullHeight) return false;
  return !of || of.name === picture.name || (of.width === picture.fullWidth && of.height === picture.fullHeight);
}

// --- who is told -----------------------------------------------------------------------------------

const ears = new Map();

/** Call `act` whenever something is announced under a name. */
export function hear(name, act) {
  ears.set(name, [...(ears.get(name) ?? []), act]);
}

export function announce(name, what) {
  for (const act of ears.get(name) ?? []) act(what);
}

// --- the engine and the eye ------------------------------------------------------------------------------------

const waiting = new Map();
let asked = 0;
const program = URL.createObjectURL(
  new Blob([document.getElementById("engine").textContent], { type: "text/javascript" }));

function started() {
  const worker = new Worker(program);
  worker.addEventListener("message", ({ data: { id, result, error } }) => {
    const { resolve, reject } = waiting.get(id);
    waiting.delete(id);
    if (error === undefined) resolve(result);
    else reject(new Error(error));
  });
  worker.addEventListener("error", (event) => announce("fault", `a fault in the page itself: ${event.message}`));
  return worker;
}

const engine = started();
export const eye = started();

/** Ask the engine, or the eye; a promise of the result. */
export function ask(message, of = engine, handed = []) {
  return new Promise((resolve, reject) => {
    waiting.set(++asked, { resolve, reject });
    of.postMessage({ id: asked, ...message }, handed);
  });
}

/** Only the last of several calls in a row counts, one at a time. */
export function lastOnly(work) {
  let [next, busy] = [null, false];
  return async (...given) => {
    next = given;
    if (busy) return;
    busy = true;
    try {
      while (next) {
        const now = next;
        next = null;
        await work(...now, () => next !== null);
      }
    } catch (error) {
      announce("fault", error.message);
    } finally {
      busy = false;
    }
  };
}

/** Set the engine up for the tubes at hand, and ask again for all that is shown. */
export const restart = lastOnly(async () => {
  const { tubes, must, finish, tolerance, most, parts } = state;
  const result = await ask({
    ask: "start", data: engineData(), tubes: [...tubes], must: [...must], finish, tolerance, most, parts,
  });
  state.started = true;
  await setKey();
  announce("ready", result);
});

/** What the engine is told of the page's data: not the picture. */
function engineData() {
  const { picture, places, ...rest } = data;
  return rest;
}

/** Work out the key of the picture; the curve is null without one. */
export async function setKey() {
  state.keyed = null;
  if (state.picture) {
    const key = /\d/.test(state.key) ? Number(state.key) : state.key;
    const labs = await ask({ ask: "labs", grey: state.grey, view: { white: data.white } }, eye);
    state.keyed = await ask({ ask: "key", labs, key }, engine, [labs.buffer]).catch((error) => {
      announce("fault", error.message);
      return null;
    });
  }
  announce("key", state.keyed);
}

/** Ask for the recipe of a colour: its lab; where it is from a picture, its place; when touched. */
export function want(wanted) {
  state.wanted = wanted;
  answerTo(wanted);
}

const answerTo = lastOnly(async (wanted, isStale) => {
  const result = await ask({ ask: "recipe", lab: wanted.lab, keyed: Boolean(wanted.place && state.keyed) });
  if (isStale()) return;
  state.answer = result;
  wanted.answered = true;
  announce("answer", { wanted, result });
});

// The worker's ear: questions in, answers out. {id, ask, ...} gives {id, result} or {id, error}.

import { labOf, mixOf, paletteOf, told } from "./mixes.js";
import { munsellToLab, parseMunsell } from "./munsell.js";
import { answerFor, mixesIn, searchOf } from "./search.js";

let search = null; // what the page last started with

const ASKED = {
  start({ data, tubes, finish, tolerance, most, parts, must = [] }) {
    const palette = paletteOf(data, tubes, finish);
    const needed = must.map((id) => tubes.indexOf(id));
    search = searchOf(palette, { tolerance, most, parts, must: needed });
    return { ready: true, mixes: mixesIn(search) };
  },
  recipe: ({ lab }) => answerFor(search, lab),
  mix: ({ parts }) => told(search.palette, labOf(search.palette, mixOf(search.palette, parts))),
  munsell({ text }) {
    const { view, table } = search.palette;
    return { lab: munsellToLab(parseMunsell(text, table), view, table) };
  },
};

export function replyTo({ id, ask, ...question }) {
  try {
    if (!Object.hasOwn(ASKED, ask)) throw new Error(`no question ${ask}`);
    if (ask !== "start" && !search) throw new Error("not started yet");
    return { id, result: ASKED[ask](question) };
  } catch (error) {
    return { id, error: error.message };
  }
}

if (typeof WorkerGlobalScope !== "undefined") {
  self.onmessage = ({ data }) => self.postMessage(replyTo(data));
}

// The worker's ear: questions in, answers out. {id, ask, ...} gives {id, result} or {id, error}.
//
// The page starts it twice: one answers of paint, the other, the eye, of the picture.

import { LOOKS } from "./eye.js";
import { helperFor } from "./helper.js";
import { keyOf, keyTold, setInKey } from "./key.js";
import { labOf, mixOf, paletteOf, swatchesOf, told } from "./mixes.js";
import { munsellToLab, parseMunsell } from "./munsell.js";
import { additionFor, ladderFor, towardOf } from "./piles.js";
import { answerFor, mixesIn, searchOf, warmUps } from "./search.js";

const PAUSE = 100; // between pieces of work that can wait [ms]

let search = null; // what the page last started with
let key = null; // of its picture

const QUESTIONS = {
  start({ data, tubes, finish, tolerance, most, parts, must = [] }) {
    const palette = paletteOf(data, tubes, finish);
    const needed = must.map((id) => tubes.indexOf(id));
    search = { ...searchOf(palette, { tolerance, most, parts, must: needed }), paints: data.paints };
    key = null;
    return {
      ready: true, mixes: mixesIn(search), most: search.layers.length, swatches: swatchesOf(data, finish),
    };
  },
  recipe: ({ lab, keyed }) => answerFor(search, keyed && key ? setInKey(key, lab) : lab),
  mix: ({ parts }) => told(search.palette, labOf(search.palette, mixOf(search.palette, parts))),
  add: ({ pile, lab }) => additionFor(search, mixOf(search.palette, pile), lab),
  help: ({ lab, turn }) => helperFor(search, lab, turn),
  ladder({ pile, toward, steps }) {
    const mix = mixOf(search.palette, pile);
    return ladderFor(search.palette, mix, towardOf(search, mix, toward), steps);
  },
  key({ labs, key: asked }) {
    key = keyOf(search.palette, labs, asked);
    return keyTold(search.palette, key);
  },
  munsell({ text }) {
    const { view, table } = search.palette;
    return { lab: munsellToLab(parseMunsell(text, table), view, table) };
  },
};

export function replyTo({ id, ask, ...question }) {
  try {
    if (!Object.hasOwn(QUESTIONS, ask)) throw new Error(`no question ${ask}`);
    if (ask !== "start" && !search) throw new Error("not started yet");
    return { id, result: QUESTIONS[ask](question) };
  } catch (error) {
    return { id, error: error.message };
  }
}

// a question about the picture; what is large of the result is handed over, not copied
async function look({ id, ask, ...question }) {
  try {
    const [result, handed] = await LOOKS[ask](question);
    self.postMessage({ id, result }, handed);
  } catch (error) {
    self.postMessage({ id, error: error.message });
  }
}

// while nobody asks, lay out what only the rarer answers need, piece by piece
function warmUp(pieces, of) {
  if (!pieces.length || search !== of) return;
  pieces[0]();
  setTimeout(warmUp, PAUSE, pieces.slice(1), of);
}

if (typeof WorkerGlobalScope !== "undefined") {
  self.onmessage = ({ data }) => {
    if (Object.hasOwn(LOOKS, data.ask)) return look(data);
    self.postMessage(replyTo(data));
    if (data.ask === "start" && search) setTimeout(warmUp, PAUSE, warmUps(search), search);
  };
}

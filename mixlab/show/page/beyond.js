// Beyond reach: the least harmful compromise, and what it gives up.
//
// Value comes first: an error of it counts double. Of the hue never all is given up, so that a dark
// green stays green beside a dark red.

import { chromaOf, directionsOf, hueOf, missAt } from "./colour.js";
import { mixAt, waysOf } from "./lattice.js";
import { labOf } from "./mixes.js";
import { labToValue } from "./munsell.js";
import { setCurves, setLab } from "./optics.js";
import { ADDITIONS, FINEST, inTwoSteps, sharesOf, STEP, twoStepWays, wayAt } from "./steps.js";

export const WORTH = 0.5; // what a further tube must gain to be worth using [CIEDE2000]
const VALUE_FIRST = 0.5; // factor kl of CIEDE2000 that counts lightness double
const HUE_KEPT = 25; // how far the hue of a compromise may lie from the colour's [degrees]
const CHROMA_KEPT = 0.3; // share of the colour's C* that a compromise keeps where it can
export const GREYISH = 4; // C* below which a colour has no hue that a painter would miss
const HUE_LOST = 20, CHROMA_LOST = 5; // CIEDE2000 that giving them up counts for
const WEIGHED = 15; // L* beyond the nearest within which mixes are weighed
const STEEP_L = 0.5 * 1.75; // most L* that count for one CIEDE2000, lightness counting double

const COS_KEPT = Math.cos((HUE_KEPT * Math.PI) / 180);

// how far two colours lie apart in hue [degrees]
export const turnedBy = (one, other) => Math.abs(((hueOf(one) - hueOf(other) + 540) % 360) - 180);

// whether the hue of a mix is kept
function hueKept(lab, labs, at) {
  const a = labs[at + 1], b = labs[at + 2];
  const along = lab[1] * a + lab[2] * b;
  return along >= COS_KEPT * chromaOf(lab) * Math.sqrt(a * a + b * b);
}

// Return how much harm a mix does in the place of a colour [CIEDE2000].
function harmAt(lab, labs, at) {
  const off = missAt(lab, labs, at, VALUE_FIRST), chroma = chromaOf(lab);
  if (chroma < GREYISH) return off;
  const grey = labs[at + 1] ** 2 + labs[at + 2] ** 2 < (CHROMA_KEPT * chroma) ** 2;
  return off + (hueKept(lab, labs, at) ? 0 : HUE_LOST) + (grey ? CHROMA_LOST : 0);
}

// Return the mix of a layer that does least harm.
//
// CIEDE2000 is costly: only what lies near in value and hue is weighed, if anything does.
function leastHarmIn(layer, lab) {
  const { labs } = layer, hasHue = chromaOf(lab) >= GREYISH;
  let near = [];
  for (let at = 0; hasHue && at < labs.length; at += 3) if (hueKept(lab, labs, at)) near.push(at);
  if (!near.length) near = Array.from({ length: labs.length / 3 }, (_, i) => 3 * i);
  let nearest = Infinity, best = -1, least = Infinity;
  for (const at of near) nearest = Math.min(nearest, Math.abs(labs[at] - lab[0]));
  for (const at of near) {
    const off = Math.abs(labs[at] - lab[0]);
    if (off > nearest + WEIGHED || off > STEEP_L * least) continue;
    const harm = harmAt(lab, labs, at);
    if (harm < least) [best, least] = [at, harm];
  }
  return best < 0 ? null : { ...mixAt(layer, best / 3), harm: least };
}

// Return the mix that does least harm: in whole parts, or in finer parts or two steps of the same
// tubes where that does clearly less.
export function compromiseFor(search, lab) {
  const layers = search.layers.slice(0, ADDITIONS);
  const offered = layers.map((layer) => leastHarmIn(layer, lab)).filter(Boolean);
  const lowest = Math.min(...offered.map(({ harm }) => harm));
  const few = offered.find(({ harm }) => harm <= lowest + WORTH);
  return (few.paints.length > 1 && lessHarmful(search, few, lab)) || few;
}

function lessHarmful(search, { paints, harm }, lab) {
  const { medium } = search.palette, size = paints.length, mixed = [0, 0, 0];
  const harmOf = (parts) => {
    setCurves(medium, paints, parts);
    setLab(medium, mixed, 0);
    return harmAt(lab, mixed, 0);
  };
  const whole = waysOf(size, size < ADDITIONS ? FINEST : STEP), harms = whole.map(harmOf);
  const lowest = Math.min(...harms);
  if (lowest < harm - WORTH) {
    return { paints, parts: whole[harms.findIndex((one) => one <= lowest + WORTH / 5)] };
  }
  if (size >= ADDITIONS) return null;
  const ways = twoStepWays(size); // the fewest additions first
  let best = -1, least = harm - WORTH;
  for (let i = 0; i < ways.count && ways.additions[i] === ways.additions[0]; i++) {
    const own = harmOf(sharesOf(ways, i));
    if (own < least) [best, least] = [i, own];
  }
  return best < 0 ? null : inTwoSteps(paints, wayAt(ways, best));
}

// --- in words ----------------------------------------------------------------------------------

// Say what a colour has that the nearest mix lacks, and by how much.
export function beyondInWords(lab, mixed) {
  const [light, chroma] = [lab[0] - mixed[0], chromaOf(lab) - chromaOf(mixed)];
  const turn = turnedBy(lab, mixed);
  const amounts = {
    "too light": `${light.toFixed(0)} L*`, "too dark": `${(-light).toFixed(0)} L*`,
    "too high in chroma": `${chroma.toFixed(0)} C*`,
    "too low in chroma": `${(-chroma).toFixed(0)} C*`,
    "of another hue": `${turn.toFixed(0)} degrees`,
  };
  return directionsOf(lab, mixed).map((words) => `${words} (by ${amounts[words]})`);
}

// Say what a compromise gives up: value, chroma, hue.
export function givenUpInWords(palette, lab, mix) {
  const mixed = labOf(palette, mix), words = [];
  const value = labToValue(mixed, palette.view) - labToValue(lab, palette.view);
  const chroma = chromaOf(mixed) - chromaOf(lab);
  const turn = turnedBy(lab, mixed);
  if (Math.abs(value) >= 0.1) {
    const off = value > 0 ? "light" : "dark";
    words.push(`${Math.abs(value).toFixed(1)} of value (it is too ${off})`);
  }
  if (Math.abs(chroma) >= 1) {
    words.push(`${Math.abs(chroma).toFixed(0)} of C* (it is too ${chroma < 0 ? "low" : "high"})`);
  }
  if (turn >= 3 && Math.min(chromaOf(mixed), chromaOf(lab)) >= 2) {
    words.push(`${turn.toFixed(0)} degrees of hue`);
  }
  return words.join(", ") || "nearly nothing";
}

// Ladders: every mix of two piles; where chroma peaks, halves and is least; where the two cancel.
//
// A pile is {K, S}. A path is {medium, view, table}: all mixes of two piles, share 0 all of the
// first, share 1 all of the second, by mass; a white may lie beside them to let them down with.
// A point is {share, lab, hue, value, chroma, munsell}: Munsell hue number and value, C*, notation.

import { chromaOf } from "./colour.js";
import { bytesOf, labToMunsell, labToValue, writeMunsell } from "./munsell.js";
import { labOfMix, mediumOf } from "./optics.js";

export const NAMED = 5; // chroma that a painter gives a name to [C*]
export const MID_VALUE = 5; // to which mixes are let down to see whether they cancel
const ZOOMS = 7, ROUND = 33;
const ROUNDING = 1e-6; // C* above that of the mix by itself that is no peak
const HALVINGS = 30;

const evenly = (low, high, count) => Array.from(
  { length: count }, (_, i) => (i === count - 1 ? high : low + i * ((high - low) / (count - 1))),
);

// shares even in the odds of one pile against the other, so that traces are seen closely
const GRID = [0, ...evenly(-13, 13, 521).map((odds) => 1 / (1 + Math.exp(-odds))), 1];

// paints with K and S, of those whose `curves` are both as base64 of long floats
export function unpacked(paints) {
  return paints.map((paint) => {
    const curves = Array.from(new Float64Array(bytesOf(paint.curves).buffer));
    return { ...paint, K: curves.slice(0, curves.length / 2), S: curves.slice(curves.length / 2) };
  });
}

// Return so many parts of paints as a pile; parts: [[paint, number]].
export function pileOf(parts) {
  const whole = parts.reduce((sum, [, n]) => sum + n, 0);
  const mixed = (key) => parts[0][0][key].map(
    (_, i) => parts.reduce((sum, [paint, n]) => sum + (n / whole) * paint[key][i], 0),
  );
  return { K: mixed("K"), S: mixed("S") };
}

// setting: {surface, view, table}; table is the Munsell renotation
export function pathOf(start, toward, white, { surface, view, table }) {
  return { medium: mediumOf([start, toward, white], surface, view), view, table };
}

export const labAt = (path, share) => labOfMix(path.medium, [0, 1], [1 - share, share]);
const chromaAt = (path, share) => chromaOf(labAt(path, share));

export function pointOf(lab, share, path) {
  const hvc = labToMunsell(lab, path.view, path.table);
  return {
    share, lab, hue: hvc[0], value: hvc[1], chroma: chromaOf(lab), munsell: writeMunsell(hvc),
  };
}

export const pointAt = (path, share) => pointOf(labAt(path, share), share, path);

const greatestAt = (numbers) => numbers.indexOf(Math.max(...numbers));
const leastAt = (numbers) => numbers.indexOf(Math.min(...numbers));

// the share that `pick` finds among numbers, ever closer around a place of the grid
function zoomed(path, at, pick) {
  let shares = GRID;
  for (let i = 0; i < ZOOMS; i++) {
    shares = evenly(shares[Math.max(at - 1, 0)], shares[Math.min(at + 1, shares.length - 1)], ROUND);
    at = Math.max(pick(shares.map((share) => chromaAt(path, share))), 0);
  }
  return shares[at];
}

// Return {start, peak, half, neutral}, points: the mix by itself; where C* is greatest; where half
// of that is gone, or null; where C* is least, the addition by itself left out.
export function reportOf(path) {
  const chroma = GRID.map((share) => chromaAt(path, share));
  const found = zoomed(path, greatestAt(chroma), greatestAt), greatest = chromaAt(path, found);
  const top = greatest - chroma[0] < ROUNDING ? 0 : found;
  const inside = chroma.map((c, i) => (GRID[i] > 0 && GRID[i] <= 0.999 ? c : Infinity));
  const below = chroma.findIndex((c, i) => GRID[i] > top && c <= greatest / 2);
  const half = below < 0 || greatest < NAMED ? null : zoomed(
    path, below, (near) => near.findIndex((c) => c <= greatest / 2),
  );
  return {
    start: pointAt(path, 0), peak: pointAt(path, top),
    half: half === null ? null : pointAt(path, half),
    neutral: pointAt(path, zoomed(path, leastAt(inside), leastAt)),
  };
}

// Return where the peak would be if the first pile's tubes were so much as strong.
export function peakAtStrength({ peak }, times) {
  if (peak.share === 1) return 1;
  const parts = (peak.share / (1 - peak.share)) * times;
  return parts / (1 + parts);
}

// Return CIELAB of a mix let down with the path's white to middle value; what is lighter stays.
export function letDown(path, share) {
  let low = 0, high = 1, lab;
  for (let i = 0; i < HALVINGS; i++) {
    const much = (low + high) / 2, paint = 1 - much;
    lab = labOfMix(path.medium, [0, 1, 2], [paint * (1 - share), paint * share, much]);
    if (labToValue(lab, path.view) > MID_VALUE) high = much; else low = much;
  }
  return lab;
}

// Return where the two cancel, let down: {share, left, ends}, the latter C*. `every` is how many
// shares of the grid the first look passes over, `looks` how often it looks closer.
export function cancelled(path, every = 4, looks = 3) {
  let shares = GRID.filter((_, i) => (i - 1) % every === 0 && i > 0 && i < GRID.length - 1);
  let share, left;
  for (let i = 0; i < looks; i++) {
    const chroma = shares.map((one) => chromaOf(letDown(path, one))), at = leastAt(chroma);
    [share, left] = [shares[at], chroma[at]];
    shares = evenly(shares[Math.max(at - 1, 0)], shares[Math.min(at + 1, shares.length - 1)], ROUND);
  }
  return { share, left, ends: [0, 1].map((end) => chromaOf(letDown(path, end))) };
}

// Return the paint that takes another nearest to neutral, looked for coarsely; null if none does.
export function complementAmong(others, paint, white, setting) {
  let best = null, least = Infinity;
  for (const other of others) {
    const { left, ends } = cancelled(pathOf(paint, other, white, setting), 16, 1);
    if (left < least && left < 0.9 * Math.min(...ends)) [best, least] = [other, left];
  }
  return best;
}

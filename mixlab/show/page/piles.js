// Piles: the smallest addition from a pile to a colour, and the ladder from a pile toward a paint.

import { ciede2000, missAt } from "./colour.js";
import { mixAt, setsOf, sumOf } from "./lattice.js";
import { inWords, labOf, partsById, told } from "./mixes.js";
import { labToValue } from "./munsell.js";
import { labOfMix, setCurves, setLab } from "./optics.js";
import { findRecipe } from "./search.js";

const SMALLEST_PART = 0.25; // that is measured with a knife
const HALF_AGAIN = 0.5; // addition, in times of the pile, beyond which a fresh mix comes first
const FURTHER_TUBE = 0.15; // what a further tube must save, in times of the pile
const GROWTH = 2; // CIEDE2000 that an addition as great as the pile must gain
const MOST_KINDS = 3, KEPT_PAIRS = 6; // of three, those are looked at that hold a good pair
const NEARLY_GREY = 5, SOME_DARKER = 0.5; // C* of a dark; L* that a further paint must gain
const EVERY = 8, RATIO = 1.2; // smallest parts up to which all are tried, their ratio from there

// --- the smallest addition ---------------------------------------------------------------------

// numbers of smallest parts up to a limit: all small ones, of the greater as many as are told apart
function measures(most) {
  const levels = [];
  for (let n = 1; n <= most; n = n < EVERY ? n + 1 : Math.ceil(n * RATIO)) levels.push(n);
  return levels;
}

// ways to add so many kinds of paint, of at most so many smallest parts together
function additionsOf(kinds, most) {
  const levels = measures(most);
  let ways = [[]];
  for (let i = 0; i < kinds; i++) {
    ways = ways.flatMap((way) => levels.map((n) => [...way, n]));
    ways = ways.filter((way) => sumOf(way) + (kinds - 1 - i) <= most);
  }
  return ways.map((way) => way.map((n) => n * SMALLEST_PART));
}

// Return the smallest addition to a pile that comes within the tolerance of a colour, at most half
// as much again; a further tube must save something. Where none does, the one that serves best.
function smallestAddition({ palette, tolerance }, pile, lab) {
  const { medium } = palette, whole = sumOf(pile.parts), mixed = [0, 0, 0];
  const most = Math.floor((HALF_AGAIN * whole) / SMALLEST_PART + 1e-9);
  const start = { paints: [], parts: [], miss: ciede2000(lab, labOf(palette, pile)) };
  if (start.miss <= tolerance) return start;
  let hit = null, hitCost = Infinity, nearest = start, harm = start.miss, pairs = null;
  for (let kinds = 1; kinds <= Math.min(MOST_KINDS, medium.count); kinds++) {
    const ways = additionsOf(kinds, most), bySet = [];
    for (const paints of setsOf(medium.count, kinds)) {
      if (kinds > 2 && !pairs.some((pair) => pair.every((p) => paints.includes(p)))) continue;
      const all = [...pile.paints, ...paints];
      let own = Infinity;
      for (const parts of ways) {
        const added = sumOf(parts) / whole, cost = added + FURTHER_TUBE * kinds;
        if (cost >= hitCost) continue; // less does it
        setCurves(medium, all, [...pile.parts, ...parts]);
        setLab(medium, mixed, 0);
        const miss = missAt(lab, mixed, 0), served = miss + GROWTH * added;
        own = Math.min(own, served);
        if (miss <= tolerance) [hit, hitCost] = [{ paints, parts, miss }, cost];
        if (served < harm) [nearest, harm] = [{ paints, parts, miss }, served];
      }
      bySet.push({ paints, own });
    }
    pairs = bySet.sort((one, other) => one.own - other.own).slice(0, KEPT_PAIRS)
      .map(({ paints }) => paints);
  }
  return hit ?? nearest;
}

export function additionFor(search, pile, lab) {
  const { palette } = search, found = smallestAddition(search, pile, lab);
  const after = {
    paints: [...pile.paints, ...found.paints], parts: [...pile.parts, ...found.parts],
  };
  return {
    add: partsById(palette, found), ...told(palette, labOf(palette, after)), miss: found.miss,
    words: additionInWords(search, pile, found),
  };
}

function additionInWords({ palette, tolerance }, pile, found) {
  const within = found.miss <= tolerance;
  if (!found.paints.length) {
    return within ? "It is there already, within the tolerance. Add nothing."
      : "No addition of up to half the pile brings it nearer. Better a fresh mix.";
  }
  const share = Math.round((100 * sumOf(found.parts)) / sumOf(pile.parts));
  const said = `Add ${inWords(palette, found)}: ${share} % more paint.`;
  return within ? said : `${said} No addition of up to half the pile takes it there; this serves `
    + "best. Better a fresh mix.";
}

// --- a ladder ----------------------------------------------------------------------------------

// shares even in the odds of one pile against the other, so that a strong paint in much white, and
// a trace of black in a white, are seen as closely as the middle
const ODDS = 521;
const LADDER_SHARES = [
  0, ...Array.from({ length: ODDS }, (_, i) => 1 / (1 + Math.exp(13 - (26 * i) / (ODDS - 1)))), 1,
];

// Return the mix that a ladder from a pile goes toward: a paint by its id, "grey", a neutral of the
// pile's value, or "dark", the darkest that is nearly neutral.
export function towardOf(search, pile, toward) {
  const { palette, layers } = search;
  if (toward === "grey") return findRecipe(search, [labOf(palette, pile)[0], 0, 0]).recipe;
  if (toward === "dark") return darkestOf(layers);
  const place = palette.paints.findIndex((paint) => paint.id === toward);
  if (place < 0) throw new Error(`${toward} is not at hand`);
  return { paints: [place], parts: [1] };
}

function darkestOf(layers) {
  let darkest = null, least = Infinity;
  for (const layer of layers) {
    const { labs } = layer;
    for (let at = 0; at < labs.length; at += 3) {
      const grey = labs[at + 1] ** 2 + labs[at + 2] ** 2 < NEARLY_GREY ** 2;
      const dark = labs[at] + (grey ? 0 : 100); // what has a hue comes after all that has none
      if (dark < least - SOME_DARKER) [darkest, least] = [mixAt(layer, at / 3), dark];
    }
  }
  return darkest;
}

// Return steps from a pile (share 0) toward another mix (share 1) that are even in Munsell value, or in
// shares where both are of one value.
export function ladderFor(palette, pile, toward, steps) {
  const whole = sumOf(pile.parts), other = sumOf(toward.parts);
  const paints = [...pile.paints, ...toward.paints];
  const labAt = (share) => labOfMix(palette.medium, paints, [
    ...pile.parts.map((n) => ((1 - share) * n) / whole), ...toward.parts.map((n) => (share * n) / other),
  ]);
  const values = LADDER_SHARES.map((share) => labToValue(labAt(share), palette.view));
  const gone = [0];
  for (let i = 1; i < values.length; i++) {
    gone.push(gone[i - 1] + Math.abs(values[i] - values[i - 1]));
  }
  const way = gone.at(-1);
  const shareAt = (part) => {
    if (way < 0.05 || part <= 0 || part >= 1) return Math.min(Math.max(part, 0), 1);
    const i = gone.findIndex((far) => far >= part * way);
    const into = (part * way - gone[i - 1]) / (gone[i] - gone[i - 1]);
    return LADDER_SHARES[i - 1] + into * (LADDER_SHARES[i] - LADDER_SHARES[i - 1]);
  };
  const made = Array.from({ length: steps }, (_, i) => {
    const share = shareAt(i / (steps - 1));
    return { share, ...told(palette, labAt(share)) };
  });
  const chromas = made.map(({ chroma }) => chroma);
  return { steps: made, peak: chromas.indexOf(Math.max(...chromas)), toward: inWords(palette, toward) };
}

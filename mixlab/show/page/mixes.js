// A mix: parts to colour; the order of its additions; how sensitive it is, how far to trust it.
//
// A palette here is {paints, medium, view, surface, table}: the paints of the page's data, their
// curves, the view, the Munsell renotation. A mix is {paints, parts}: places in the palette, and
// parts of each.

import { chromaOf, ciede2000, hueOf, labToHex } from "./colour.js";
import { labToMunsell, labToValue, renotationOf, writeMunsell } from "./munsell.js";
import { labOfMix, mediumOf, setCurves, setLab } from "./optics.js";

const SLIP = 0.25; // a painter's slip of the knife [parts]
const STRONG = 2; // a paint whose quarter part moves the mix by more is added in two goes
const THEORY = 2; // what Kubelka-Munk theory misses where the curves are known [CIEDE2000]
const TYPICAL_PULL = 12.2; // root mean square of the pulls, by which uncertainties are scaled
const CURVE_NUDGE = 0.2; // of the logarithm of a curve

// --- the palette -------------------------------------------------------------------------------

export function viewOf(data, finish) {
  return { weights: data.weights, white: data.white, specular: data.finishes[finish] };
}

export function paletteOf(data, tubes, finish) {
  const view = viewOf(data, finish);
  const paints = tubes.map((id) => data.paints.find((paint) => paint.id === id));
  if (!paints.length || paints.includes(undefined)) throw new Error("no tubes at hand; choose one");
  const medium = mediumOf(paints, data.surface, view);
  return { paints, medium, view, surface: data.surface, table: renotationOf(data.munsell) };
}

// Return by id the colours of every paint, hex: by itself, and one part in four of white if there is
// a white.
export function swatchesOf(data, finish) {
  const palette = paletteOf(data, data.paints.map((paint) => paint.id), finish);
  const white = palette.paints.findIndex((paint) => paint.white);
  const hexOf = (mix) => labToHex(labOf(palette, mix), palette.view);
  return Object.fromEntries(palette.paints.map(({ id }, p) => [id, [
    hexOf({ paints: [p], parts: [1] }), ...(white < 0 ? [] : [hexOf({ paints: [p, white], parts: [1, 4] })]),
  ]]));
}

// Return a mix of parts by id; an Error says what is wrong.
export function mixOf(palette, partsById) {
  const entries = Object.entries(partsById).filter(([, n]) => n !== 0);
  const paints = entries.map(([id]) => palette.paints.findIndex((paint) => paint.id === id));
  if (!paints.length) throw new Error("an empty pile; put some paint down");
  if (paints.includes(-1)) throw new Error("a paint of the pile is not at hand");
  const parts = entries.map(([, n]) => n);
  if (!parts.every((n) => n > 0 && n <= 1e9)) throw new Error("parts must be above zero");
  return { paints, parts };
}

export const labOf = (palette, mix) => labOfMix(palette.medium, mix.paints, mix.parts);
export const partsById = (palette, { paints, parts }) =>
  Object.fromEntries(paints.map((p, i) => [palette.paints[p].id, parts[i]]));

// --- in writing --------------------------------------------------------------------------------

const amountText = (n) => String(Number(n.toPrecision(6)));

// the notation that the command line takes: "5 burnt-sienna + 1 ultramarine-blue"
export const notationOf = (palette, { paints, parts }) =>
  paints.map((p, i) => `${amountText(parts[i])} ${palette.paints[p].id}`).join(" + ");

export const inWords = (palette, { paints, parts }) =>
  paints.map((p, i) => `${amountText(parts[i])} ${palette.paints[p].name}`).join(" + ");

// Return a colour as it is told: CIELAB, hex, Munsell.
export function told(palette, lab) {
  const hvc = labToMunsell(lab, palette.view, palette.table);
  return {
    lab: Array.from(lab), hex: labToHex(lab, palette.view), munsell: writeMunsell(hvc),
    value: labToValue(lab, palette.view), chroma: chromaOf(lab), hue: hueOf(lab),
  };
}

// the cautions of a mix, each with the paints that it is about
export function cautionsOf(palette, paints) {
  const by = new Map();
  for (const p of paints) {
    const { cautions, name } = palette.paints[p];
    if (cautions) by.set(cautions, [...(by.get(cautions) ?? []), name]);
  }
  return [...by].map(([text, names]) => ({ text, paints: names }));
}

// --- a slip of the knife -----------------------------------------------------------------------

// Return how far a quarter part too much or too little of each paint moves a mix [CIEDE2000].
function slipsOf(palette, { paints, parts }) {
  if (paints.length === 1) return [0];
  const lab = labOf(palette, { paints, parts });
  return parts.map((_, i) => Math.max(...[SLIP, -SLIP].map((slip) => {
    // a paint of which there is less than the slip can at most be left out
    const moved = parts.map((n, j) => (j === i ? Math.max(n + slip, 1e-12) : n));
    return ciede2000(lab, labOf(palette, { paints, parts: moved }));
  })));
}

// the paint whose slip moves a mix most, and how far
export function sensitivityOf(palette, mix) {
  const slips = slipsOf(palette, mix), moved = Math.max(...slips);
  return { paint: palette.paints[mix.paints[slips.indexOf(moved)]].id, moved };
}

// Return the additions in a sensible order, each with the colour to expect after it.
//
// The paint of which a part moves the mix least goes first: it is the great or the weak one. The
// strong ones go last, where they can be stopped in time; one whose quarter part is seen goes in
// half by half.
export function stepsOf(palette, mix, pile = 1) {
  const slips = slipsOf(palette, mix), idOf = (i) => palette.paints[mix.paints[i]].id;
  const order = mix.paints.map((_, i) => i).sort(
    (i, j) => slips[i] - slips[j] || mix.parts[j] - mix.parts[i] || (idOf(i) < idOf(j) ? -1 : 1),
  );
  const there = mix.parts.map(() => 0), steps = [];
  for (const i of order) {
    const goes = i !== order[0] && slips[i] > STRONG ? 2 : 1;
    for (let go = 0; go < goes; go++) {
      there[i] += mix.parts[i] / goes;
      const { lab, hex, munsell } = told(palette, labOf(palette, { ...mix, parts: there }));
      steps.push({ paint: idOf(i), parts: mix.parts[i] / goes, lab, hex, munsell, pile });
    }
  }
  return steps;
}

// --- two steps ---------------------------------------------------------------------------------
//
// A first mix, and then so many parts of it, `taken`, with more paint: {first, taken, then}.

export const twoStepsInWords = (palette, { first, taken, then }) =>
  `first ${inWords(palette, first)}; then ${taken} of that + ${inWords(palette, then)}`;

// Return the second step, the first mix standing in it as one paint more.
function secondStep(palette, { first, taken, then }) {
  const whole = first.parts.reduce((sum, n) => sum + n, 0), { paints, parts } = first;
  const curve = (name) => palette.paints[0][name].map((_, i) =>
    paints.reduce((sum, p, j) => sum + parts[j] * palette.paints[p][name][i], 0) / whole);
  const pile = { id: "first-mix", name: "first mix", K: curve("K"), S: curve("S") };
  const all = [...palette.paints, pile];
  return {
    palette: { ...palette, paints: all, medium: mediumOf(all, palette.surface, palette.view) },
    mix: { paints: [palette.paints.length, ...then.paints], parts: [taken, ...then.parts] },
  };
}

export function stepsOfTwo(palette, twoSteps) {
  const second = secondStep(palette, twoSteps);
  return [...stepsOf(palette, twoSteps.first), ...stepsOf(second.palette, second.mix, 2)];
}

// the paint whose slip moves the mix most, in the step in which it moves it more
export function sensitivityOfTwo(palette, mix, { first, taken, then }) {
  const second = secondStep(palette, { first, taken, then }), lab = labOf(palette, mix);
  const worst = sensitivityOf(second.palette, second.mix);
  first.parts.forEach((_, i) => {
    for (const slip of [SLIP, -SLIP]) {
      const parts = first.parts.map((n, j) => (j === i ? Math.max(n + slip, 1e-12) : n));
      const whole = parts.reduce((sum, n) => sum + n, 0);
      const slipped = labOf(palette, {
        paints: [...first.paints, ...then.paints],
        parts: [...parts.map((n) => (taken * n) / whole), ...then.parts],
      });
      const moved = ciede2000(lab, slipped);
      if (moved > worst.moved) {
        Object.assign(worst, { paint: palette.paints[first.paints[i]].id, moved });
      }
    }
  });
  return worst;
}

// --- how far to trust it -----------------------------------------------------------------------

// what can be wrong with a paint: its amount, its scattering, its absorption in each third; how
// much more there is of K and S in each band then
const below = (nm, edge) => 1 / (1 + Math.exp((nm - edge) / 15));
const WRONGS = [
  [() => 1, 1],
  [() => 0, 1],
  [(nm) => below(nm, 500), 0],
  [(nm) => below(nm, 600) - below(nm, 500), 0],
  [(nm) => 1 - below(nm, 600), 0],
].map(([ofK, ofS]) => ({
  moreK: Array.from({ length: 36 }, (_, i) => Math.expm1(CURVE_NUDGE * ofK(380 + 10 * i))),
  moreS: Math.expm1(CURVE_NUDGE * ofS),
}));

// Return how far the curves of one of its paints move the colour of a mix, for a unit of their
// logarithm.
function pullIn({ medium }, { paints, parts }, p, lab) {
  const { K, S, k, s, bands } = medium, first = paints[p] * bands, moved = [0, 0, 0];
  let squares = 0;
  for (const { moreK, moreS } of WRONGS) {
    setCurves(medium, paints, parts);
    for (let i = 0; i < bands; i++) {
      k[i] += parts[p] * K[first + i] * moreK[i];
      s[i] += parts[p] * S[first + i] * moreS;
    }
    setLab(medium, moved, 0);
    squares += ciede2000(lab, moved) ** 2;
  }
  return Math.sqrt(squares) / CURVE_NUDGE;
}

// Return the likely CIEDE2000 between prediction and paint; null where a paint's is not known.
//
// What the theory misses is in every paint's figure and counts once; the rest adds up by squares,
// each weighted by how much the paint's curves move this mix (JCGM 100:2008, 5.1).
export function likelyErrorOf(palette, mix) {
  const own = mix.paints.map((p) => palette.paints[p].uncertainty);
  if (own.includes(null)) return null;
  const lab = labOf(palette, mix), shared = Math.min(THEORY, ...own) ** 2;
  return Math.sqrt(own.reduce(
    (sum, error, p) =>
      sum + (pullIn(palette, mix, p, lab) / TYPICAL_PULL) ** 2 * (error ** 2 - shared),
    shared,
  ));
}

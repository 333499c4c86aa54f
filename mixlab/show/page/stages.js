// Stages: what the curves of a mix show. Where it reflects most and least, three bands, the hue.
//
// A stage is {point, reflectance, k, s, maxima, minima, bands}. An extreme is {nm, height, faint}:
// reflectance 0..1, and whether the eye hardly sees light of that wavelength.

import { hueOf } from "./colour.js";
import { NAMED, pointAt, pointOf } from "./ladder.js";
import { MUNSELL_FAMILIES } from "./munsell.js";
import { setLab } from "./optics.js";

export const WAVELENGTHS = Array.from({ length: 36 }, (_, i) => 380 + 10 * i);
export const BANDS = { blue: [420, 490], green: [500, 570], red: [580, 700] };
const BAND_NAMES = Object.keys(BANDS);
const SEEN_FROM = 4, SEEN_TO = 32; // 420 to 700 nm, where a maximum or a minimum counts
const FAINT = 0.05; // of the light that the eye sees best
const SPARED = 0.25; // of the most that a paint absorbs, below which it spares a light
const ALIKE = 0.02, AGAIN = 0.5, FLAT = 0.02;

export const isSeen = (i) => i >= SEEN_FROM && i <= SEEN_TO;
const within = BAND_NAMES.map((name) => WAVELENGTHS.flatMap(
  (nm, i) => (nm >= BANDS[name][0] && nm <= BANDS[name][1] ? [i] : []),
));
const sumOf = (numbers) => numbers.reduce((sum, n) => sum + n, 0);

// Return the curves of the mix at a share.
export function stageAt(path, share) {
  const { medium, view } = path;
  const point = pointAt(path, share); // which leaves the curves of the mix in the medium
  const k = Array.from(medium.k), s = Array.from(medium.s);
  const reflectance = k.map((absorbed, i) => {
    const q = absorbed / s[i];
    return medium.front / (1 + q + Math.sqrt(q * (q + 2)) - medium.inside) + medium.glare;
  });
  const weights = view.weights.map((row) => sumOf(row.map((w, j) => w / view.white[j])));
  return {
    point, reflectance, k, s,
    maxima: extremesOf(reflectance, 1, weights), minima: extremesOf(reflectance, -1, weights),
    bands: within.map((places) => sumOf(places.map((i) => weights[i] * reflectance[i]))
      / sumOf(places.map((i) => weights[i]))),
  };
}

// the maximum (sign 1) or the minimum (-1), and a second one on the other's far side
function extremesOf(reflectance, sign, weights) {
  const curve = reflectance.slice(SEEN_FROM, SEEN_TO + 1).map((r) => sign * r);
  const seen = weights.slice(SEEN_FROM, SEEN_TO + 1), best = Math.max(...seen);
  const high = Math.max(...curve), low = Math.min(...curve), range = high - low;
  const top = curve.indexOf(high), foot = curve.indexOf(low), last = curve.length;
  const places = [[0, last]];
  if (range >= FLAT) places.push(top > foot ? [0, foot] : [foot + 1, last]);
  return places.flatMap(([from, to]) => {
    if (from === to) return [];
    const most = Math.max(...curve.slice(from, to));
    if (most - low < AGAIN * range) return [];
    let at = -1;
    for (let i = from; i < to; i++) {
      const alike = curve[i] >= most - ALIKE * Math.abs(most);
      if (alike && (at < 0 || seen[i] > seen[at])) at = i;
    }
    return [{
      nm: WAVELENGTHS[SEEN_FROM + at], height: sign * curve[at], faint: seen[at] < FAINT * best,
    }];
  });
}

const wrapped = (turned, circle) => {
  const half = circle / 2, rest = (turned + half) % circle;
  return (rest < 0 ? rest + circle : rest) - half;
};

export const hueSteps = (from, to) => wrapped(to - from, 100);

const familyOf = (hue) => (Math.ceil(hue / 10) + 9) % 10;

// Return how the hue turns from one stage to another, {steps, degrees, toward, gains, on}: Munsell
// hue steps, CIELCh degrees, family, bands; null where either hardly has a hue.
export function turnOf(first, here) {
  if (Math.min(first.point.chroma, here.point.chroma) < NAMED) return null;
  const steps = hueSteps(first.point.hue, here.point.hue), way = steps > 0 ? 1 : -1;
  const before = familyOf(first.point.hue), now = familyOf(here.point.hue);
  const toward = MUNSELL_FAMILIES[now !== before ? now : (now + way + 10) % 10];
  const degrees = wrapped(hueOf(here.point.lab) - hueOf(first.point.lab), 360);
  return { steps, degrees, toward, ...gaining(first.bands, here.bands, way) };
}

// the band that gains and the one that it gains on, as the eye counts; "" if neither
function gaining(first, here, way) {
  const before = first.map(Math.cbrt), now = here.map(Math.cbrt);
  const top = greatest(now), none = { gains: "", on: "" };
  if (top !== greatest(before)) return none;
  const gains = (top - way + 3) % 3, on = (top + way + 3) % 3;
  const share = (bands) => (bands[gains] - bands[on]) / (Math.max(...bands) - Math.min(...bands));
  return share(now) > share(before) ? { gains: BAND_NAMES[gains], on: BAND_NAMES[on] } : none;
}

const greatest = (numbers) => numbers.indexOf(Math.max(...numbers));

// the band of which a stage gives back most
export const mostBand = (stage) => BAND_NAMES[greatest(stage.bands)];

// Return the mean S of each band.
export const scatteringOf = ({ s }) => Object.fromEntries(BAND_NAMES.map(
  (name, b) => [name, sumOf(within[b].map((i) => s[i])) / within[b].length],
));

// Return where two mixes both absorb little of what they absorb at their most.
export function sparedBy(first, other) {
  const most = ({ k }) => Math.max(...k.slice(SEEN_FROM, SEEN_TO + 1));
  const [one, two] = [most(first), most(other)];
  return first.k.map((k, i) => isSeen(i) && k < SPARED * one && other.k[i] < SPARED * two);
}

// Return a mix of the path as it were if each end scattered all light alike, a point; null where an
// end scatters nothing. Each end keeps its K/S and its mean scattering as the eye weighs it.
export function evenlyScattered(path, share) {
  const { medium, view } = path, { bands, K, S } = medium;
  const whole = sumOf(view.weights.map((row) => row[1]));
  medium.k.fill(0);
  medium.s.fill(0);
  for (const [end, part] of [1 - share, share].entries()) {
    const first = end * bands;
    let mean = 0;
    for (let i = 0; i < bands; i++) {
      if (!(S[first + i] > 0)) return null;
      mean += (view.weights[i][1] * S[first + i]) / whole;
    }
    for (let i = 0; i < bands; i++) {
      medium.k[i] += (part * mean * K[first + i]) / S[first + i];
      medium.s[i] += part * mean;
    }
  }
  const lab = [0, 0, 0];
  setLab(medium, lab, 0);
  return pointOf(lab, share, path);
}

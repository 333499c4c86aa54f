// Key: the range of lights and darks of a picture, fitted to what paint spans.
//
// Between its ends the curve leaves lightness as it is; toward each end that lies beyond the paint
// it bends, and the end itself meets the darkest or the lightest mix. How dark paint goes depends
// on the hue: the dark end is set as deep as nearly all darks can be mixed in their own hues.

import { chromaOf, hueOf } from "./colour.js";
import { setsOf, waysOf } from "./lattice.js";
import { labToValue, munsellToLab } from "./munsell.js";
import { pullOf, setCurves, setLab } from "./optics.js";

const ENDS = [0.5, 50, 99.5]; // percentiles of the area: its darkest, middle and lightest
const BEND = 4; // how far a bend reaches, in times of what it lifts
const GAIN = 1.5; // most by which chroma rises with a dark that is lifted
const SOME = 20000; // pixels whose darks are looked at
const FORGIVEN = 2.5; // L* by which a dark may lie below the darkest mix
const LEFT = 0.015; // share of the area whose darks may lie farther below
const DEEPEST = 30; // L* beyond which the dark end is not lifted
const SECTORS = 24, RING = 4, FLOOR_RINGS = 16; // of hue; width [C*] and number of chroma rings
const CURVE_POINTS = 256;

// --- how dark and how light the tubes go -------------------------------------------------------

const sectorOf = (lab) => Math.floor((hueOf(lab) * SECTORS) / 360) % SECTORS;
const ringOf = (lab) => Math.floor(Math.min(chromaOf(lab) / RING, FLOOR_RINGS - 1));

// Return L* of the darkest mix in each sector of hue with at least so much chroma, and of the
// lightest: of mixes of up to four paints in eight parts, by amount and by tinting strength.
function floorOf({ medium }) {
  const { count } = medium, pull = pullOf(medium);
  const lowest = Array.from({ length: SECTORS }, () => new Array(FLOOR_RINGS).fill(Infinity));
  const lab = [0, 0, 0];
  let lightest = -Infinity;
  const look = (paints, parts) => {
    setCurves(medium, paints, parts);
    setLab(medium, lab, 0);
    const row = lowest[sectorOf(lab)], ring = ringOf(lab);
    if (lab[0] < row[ring]) row[ring] = lab[0];
    if (lab[0] > lightest) lightest = lab[0];
  };
  for (let size = 1; size <= Math.min(count > 20 ? 2 : 4, count); size++) {
    for (const paints of setsOf(count, size)) {
      for (const way of waysOf(size, 8)) {
        look(paints, way);
        look(paints, way.map((n, i) => n / pull[paints[i]]));
      }
    }
  }
  // what is mixed with more chroma is mixed with less: a grey goes to it
  for (const row of lowest) {
    for (let ring = FLOOR_RINGS - 1; ring > 0; ring--) {
      row[ring - 1] = Math.min(row[ring - 1], row[ring]);
    }
  }
  return { lowest, lightest, darkest: Math.min(...lowest.map((row) => row[0])) };
}

// the greatest C* of mixes of a sector of hue that are as dark as L*
const chromaAt = (floor, sector, L) => RING * floor.lowest[sector].filter((low) => low <= L).length;

// --- the curve ---------------------------------------------------------------------------------

// what the scene's darkest and lightest are set to
const endsOf = ({ scene, paint }) => [Math.max(scene[0], paint[0]), Math.min(scene[1], paint[1])];

// Return L* as set in a key; it rises with L*.
function lightnessIn(key, L) {
  if (!key.fits) return L;
  const [low, high] = key.scene, [dark, light] = endsOf(key);
  const there = Math.min(Math.max(L, low), high);
  if (key.middle) {
    const [from, to] = key.middle;
    return throughThree([low, from, high], [dark, to, light], there);
  }
  const lift = dark - low, drop = high - light;
  if (BEND * (lift + drop) > high - low) { // no middle is left to be kept
    return dark + ((there - low) * (light - dark)) / Math.max(high - low, 1e-9);
  }
  const up = lift > 0 ? Math.max(1 - (there - low) / (BEND * lift), 0) : 0;
  const down = drop > 0 ? Math.max(1 - (high - there) / (BEND * drop), 0) : 0;
  return there + lift * up * up - drop * down * down;
}

// A smooth curve through three points that never turns back (Fritsch, Butland 1984).
function throughThree(x, y, at) {
  const h = [x[1] - x[0], x[2] - x[1]], d = [(y[1] - y[0]) / h[0], (y[2] - y[1]) / h[1]];
  const weights = [2 * h[1] + h[0], h[1] + 2 * h[0]];
  const middle = d[0] * d[1] <= 0 ? 0
    : (weights[0] + weights[1]) / (weights[0] / d[0] + weights[1] / d[1]);
  const end = (h0, h1, d0, d1) => {
    const slope = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if (Math.sign(slope) !== Math.sign(d0)) return 0;
    return Math.sign(d0) !== Math.sign(d1) && Math.abs(slope) > 3 * Math.abs(d0) ? 3 * d0 : slope;
  };
  const slopes = [end(h[0], h[1], d[0], d[1]), middle, end(h[1], h[0], d[1], d[0])];
  const i = at < x[1] ? 0 : 1, t = (at - x[i]) / h[i], u = 1 - t;
  return y[i] * u * u * (1 + 2 * t) + y[i + 1] * t * t * (3 - 2 * t)
    + h[i] * t * u * (slopes[i] * u - slopes[i + 1] * t);
}

// Return a colour as set in a key: its hue is kept, a dark that is lifted gains chroma in
// proportion, as far as that can be mixed.
export function setInKey(key, lab) {
  const L = lightnessIn(key, lab[0]);
  if (!key.fits) return [...lab];
  const most = chromaAt(key.floor, sectorOf(lab), L) / Math.max(chromaOf(lab), 1e-9);
  const gain = Math.min(Math.max(L / Math.max(lab[0], 1), 1), GAIN);
  const more = Math.min(Math.max(most, 1), gain);
  return [L, lab[1] * more, lab[2] * more];
}

// --- the key of a picture ----------------------------------------------------------------------

// a percentile of sorted numbers, between its neighbours in a straight line
function percentileOf(sorted, percent) {
  const place = (percent / 100) * (sorted.length - 1), i = Math.floor(place);
  return sorted[i] + (place - i) * (sorted[Math.min(i + 1, sorted.length - 1)] - sorted[i]);
}

// Return L* of the deepest dark end at which nearly all darks can be mixed.
function darkEndOf(key, darks) {
  for (let end = Math.max(key.floor.darkest, key.scene[0]); end < DEEPEST; end += 0.5) {
    const tried = { ...key, paint: [end, key.paint[1]] };
    const deep = darks.filter((lab) => {
      const there = setInKey(tried, lab);
      const lowest = key.floor.lowest[sectorOf(there)][ringOf(there)];
      // what no mix has, however light, is too high in chroma: no key helps
      return there[0] < lowest - FORGIVEN && lowest < DEEPEST;
    });
    if (deep.length / darks.length <= LEFT) return end;
  }
  return DEEPEST;
}

// Return the key in which a picture is painted.
//   labs: CIELAB of its pixels, one after the other; asked: "fit", "none", or a Munsell value at
//   which the middle of the picture is set
export function keyOf(palette, labs, asked) {
  const count = labs.length / 3;
  if (!count) throw new Error("nothing in the picture is opaque");
  const sorted = Float64Array.from({ length: count }, (_, i) => Math.min(labs[3 * i], 100)).sort();
  const [low, half, high] = ENDS.map((percent) => percentileOf(sorted, percent));
  palette.floor ??= floorOf(palette);
  const { floor } = palette;
  const key = {
    scene: [low, high], paint: [floor.darkest, floor.lightest], floor, middle: null,
    fits: asked !== "none",
  };
  if (!key.fits) return key;
  const some = Math.min(count, SOME), darks = Array.from({ length: some }, (_, i) => {
    const at = 3 * Math.floor((i * (count - 1)) / Math.max(some - 1, 1));
    return [labs[at], labs[at + 1], labs[at + 2]];
  });
  key.paint = [darkEndOf(key, darks), floor.lightest];
  if (asked !== "fit") {
    const [dark, light] = endsOf(key);
    const [there] = munsellToLab([0, Number(asked), 0], palette.view, palette.table);
    key.middle = [
      Math.min(Math.max(half, low + 1e-6), high - 1e-6), Math.min(Math.max(there, dark), light),
    ];
  }
  return key;
}

// --- as it is told -----------------------------------------------------------------------------

export function keyTold(palette, key) {
  return {
    curve: Array.from({ length: CURVE_POINTS },
      (_, i) => lightnessIn(key, (100 * i) / (CURVE_POINTS - 1))),
    ends: endsOf(key),
    words: keyInWords(palette, key),
  };
}

function keyInWords(palette, key) {
  const value = (L) => labToValue([L, 0, 0], palette.view);
  const grey = (L) => `N ${value(L).toFixed(1)}`;
  const { scene: [low, high], floor, middle } = key, [dark, light] = endsOf(key);
  const said = `the photo runs from ${grey(low)} to ${grey(high)}, these tubes from `
    + `${grey(floor.darkest)} to ${grey(floor.lightest)}; `;
  if (middle) return `${said}its middle, ${grey(middle[0])}, is set at ${grey(middle[1])}`;
  const done = [
    ["darks are lifted", value(dark) - value(low)],
    ["lights are lowered", value(high) - value(light)],
  ].filter(([, off]) => off >= 0.05);
  const words = done.map(([what, off]) => `${what} by up to ${off.toFixed(1)} of value`);
  return said + (words.join(" and ") || "nothing has to be moved");
}

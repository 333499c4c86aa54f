// Munsell hue, value and chroma, to and from CIELAB; their notation.
//
// Hue is the hue number of ASTM D1535 on a circle of 100 (5R = 5, 5YR = 15, ... 10RP = 100), value
// is 0..10. The renotation is for illuminant C: colours under another light are adapted to it
// (Bradford). Between its entries: linear in luminance from value to value, linear from chroma to
// chroma, along the ovoid linear or radial. Above value 9 hue and chroma are those of the same a*
// and b* at value 9.

import { adapt, labToXyz, xyzToLab } from "./colour.js";

export const MUNSELL_FAMILIES = ["R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP"];

const C_XY = [0.31006, 0.31616];
const C_WHITE = xyToXyz(...C_XY, 100);

function xyToXyz(x, y, Y) {
  return [(x * Y) / y, Y, ((1 - x - y) * Y) / y];
}

// --- value -------------------------------------------------------------------------------------

const QUINTIC = [0.00081939, -0.020484, 0.23352, -0.22533, 1.1914, 0]; // ASTM D1535-08e1

// luminance Y, 0..100, of a value, 0..10
export const luminanceOf = (value) => QUINTIC.reduce((sum, c) => sum * value + c, 0);
const QUINTIC_SLOPE = QUINTIC.slice(0, 5).map((c, i) => c * (5 - i));
const luminanceSlope = (value) => QUINTIC_SLOPE.reduce((sum, c) => sum * value + c, 0);
const LUMINANCES = Array.from({ length: 1001 }, (_, i) => luminanceOf(i / 100));
const TOP = luminanceOf(9); // where the renotation ends

// value of a luminance; beyond 0..100 it counts as the end
export function valueOfLuminance(Y) {
  const target = Math.min(Math.max(Y, 0), 100);
  let low = 0, high = 1000;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (LUMINANCES[middle] <= target) low = middle; else high = middle;
  }
  let value = (low + (target - LUMINANCES[low]) / (LUMINANCES[high] - LUMINANCES[low])) / 100;
  for (let i = 0; i < 2; i++) value -= (luminanceOf(value) - target) / luminanceSlope(value);
  return Math.min(Math.max(value, 0), 10);
}

export const labToValue = (lab, view) =>
  valueOfLuminance(adapt(labToXyz(lab, view.white), view.white, C_WHITE)[1]);

// --- the renotation ----------------------------------------------------------------------------

const LEVELS = [0, 0.2, 0.4, 0.6, 0.8, 1, 2, 3, 4, 5, 6, 7, 8, 9];
const LEVEL_EDGES = LEVELS.map(luminanceOf);
const HUES = 40, RINGS = 26; // hues 2.5 apart, chromas 0, 2, ... 50
const GRAIN = 20000, BELOW = 0.5; // of packed chromaticities

export const bytesOf = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
const entryAt = (level, hue, ring) => (level * (HUES + 1) + hue) * RINGS + ring;

// Unpack the renotation: chromaticity about the white point at each level, hue (the first one again
// last) and ring, as radius and angle; whether the ovoid is radial; rings that have an entry.
export function renotationOf(packed) {
  const size = LEVELS.length * (HUES + 1) * RINGS;
  const table = {
    radius: new Float64Array(size), angle: new Float64Array(size), radial: new Uint8Array(size),
    rings: new Uint8Array(LEVELS.length * (HUES + 1)),
  };
  const rings = bytesOf(packed.rings), xy = bytesOf(packed.xy), radial = bytesOf(packed.radial);
  const whole = (i) => (xy[2 * i] + 256 * xy[2 * i + 1]) / GRAIN - BELOW;
  let entry = 0;
  for (let level = 1; level < LEVELS.length; level++) {
    for (let hue = 0; hue < HUES; hue++) {
      const known = rings[(level - 1) * HUES + hue];
      table.rings[level * (HUES + 1) + hue] = known;
      for (let ring = 1; ring <= known; ring++, entry++) {
        const x = whole(2 * entry) - C_XY[0], y = whole(2 * entry + 1) - C_XY[1];
        const at = entryAt(level, hue, ring);
        table.radius[at] = Math.hypot(x, y);
        table.angle[at] = Math.atan2(y, x);
        table.radial[at] = (radial[entry >> 3] >> (7 - (entry & 7))) & 1;
      }
      goOn(table, level, hue, known);
    }
    closeCircle(table, level);
  }
  // below value 0.2 the ovoids stay as they are there
  for (const list of [table.radius, table.angle, table.radial, table.rings]) {
    list.copyWithin(0, list.length / LEVELS.length, (2 * list.length) / LEVELS.length);
  }
  table.starts = startsOf(table);
  return table;
}

// beyond the last entry of a hue: along its last ray, in steps of the last one's length
function goOn(table, level, hue, known) {
  for (let ring = known + 1; ring < RINGS; ring++) {
    const at = entryAt(level, hue, ring);
    table.radius[at] = 2 * table.radius[at - 1] - table.radius[at - 2];
    table.angle[at] = table.angle[at - 1];
    table.radial[at] = table.radial[at - 1];
  }
  table.angle[entryAt(level, hue, 0)] = table.angle[entryAt(level, hue, 1)];
}

// the first hue again last, and angles that go round without a jump
function closeCircle(table, level) {
  const [first, last] = [entryAt(level, 0, 0), entryAt(level, HUES, 0)];
  table.radius.copyWithin(last, first, first + RINGS);
  table.angle.copyWithin(last, first, first + RINGS);
  table.rings[level * (HUES + 1) + HUES] = table.rings[level * (HUES + 1)];
  for (let at = first + RINGS; at < last + RINGS; at++) {
    const jump = table.angle[at] - table.angle[at - RINGS];
    table.angle[at] -= 2 * Math.PI * Math.round(jump / (2 * Math.PI));
  }
}

// the level below a value, and how far luminance is from it to the level above, 0..1
function betweenLevels(value) {
  const inside = Math.min(Math.max(value, 0), 9);
  let below = LEVELS.length - 2;
  while (below > 0 && LEVELS[below] > inside) below--;
  const edge = LEVEL_EDGES[below];
  return [below, (luminanceOf(inside) - edge) / (LEVEL_EDGES[below + 1] - edge)];
}

// --- from hue and chroma to chromaticity -------------------------------------------------------

// Return the offset [x, y] from the white point on an ovoid; hue is 0..40.
function onOvoid(table, level, hue, ring) {
  const start = Math.min(Math.floor(hue), HUES - 1), share = hue - start;
  const here = entryAt(level, start, ring), there = here + RINGS;
  const { radius, angle } = table;
  if (table.radial[here]) {
    const r = (1 - share) * radius[here] + share * radius[there];
    const turn = (1 - share) * angle[here] + share * angle[there];
    return [r * Math.cos(turn), r * Math.sin(turn)];
  }
  const near = (1 - share) * radius[here], far = share * radius[there];
  return [
    near * Math.cos(angle[here]) + far * Math.cos(angle[there]),
    near * Math.sin(angle[here]) + far * Math.sin(angle[there]),
  ];
}

const between = (share, p, q) => p.map((x, i) => (1 - share) * x + share * q[i]);

// Return the offset [x, y] of a place of the hue and chroma plane, between two levels. The plane
// has chroma as its radius, and hue as its angle.
function offsetOf(table, [u, v], [below, share]) {
  const turn = Math.atan2(v, u) / (2 * Math.PI);
  const hue = HUES * (turn < 0 ? turn + 1 : turn);
  const rings = Math.hypot(u, v) / 2, inner = Math.floor(Math.min(rings, RINGS - 2));
  const [low, high] = [below, below + 1].map((level) => between(
    rings - inner, onOvoid(table, level, hue, inner), onOvoid(table, level, hue, inner + 1),
  ));
  return between(share, low, high);
}

// Return an offset from the white point brought to another luminance: CIELAB a* and b* stay.
function atLuminance(offset, now, then) {
  if (now === then || (offset[0] === 0 && offset[1] === 0)) return offset;
  const white = [...C_XY, 1 - C_XY[0] - C_XY[1]];
  const x = C_XY[0] + offset[0], y = C_XY[1] + offset[1];
  const scale = ((now / 100) * C_XY[1]) / (Math.abs(y) > 1e-9 ? y : 1e-9);
  const more = Math.cbrt(then / 100) - Math.cbrt(now / 100);
  const xyz = [x, y, 1 - x - y].map(
    (c, i) => (Math.cbrt((c / white[i]) * scale) + more) ** 3 * white[i],
  );
  const sum = xyz[0] + xyz[1] + xyz[2];
  return [xyz[0] / sum - C_XY[0], xyz[1] / sum - C_XY[1]];
}

const planeOf = (hue, chroma) => {
  const turn = (2 * Math.PI * hue) / 100;
  return [chroma * Math.cos(turn), chroma * Math.sin(turn)];
};

export function munsellToLab([hue, value, chroma], view, table) {
  const level = Math.min(Math.max(value, 0), 10), Y = luminanceOf(level);
  const place = planeOf(hue, Math.max(chroma, 0));
  const found = offsetOf(table, place, betweenLevels(level));
  const [x, y] = atLuminance(found, Math.min(Y, TOP), Y);
  const xyz = xyToXyz(C_XY[0] + x, C_XY[1] + y, Y);
  return xyzToLab(adapt(xyz, C_WHITE, view.white), view.white);
}

// --- from chromaticity to hue and chroma -------------------------------------------------------

const NEWTON_STEPS = 60, NEAR_ENOUGH = 1e-10;

// places all over the plane, inside the cells of the grid, and their offsets at each level
function startsOf(table) {
  const places = [1, 3, 5, 9, 13, 17, 23, 31, 41].flatMap(
    (chroma) => Array.from({ length: 20 }, (_, i) => planeOf(1.25 + 5 * i, chroma)),
  );
  const levels = LEVELS.map(betweenLevels);
  return { places, offsets: levels.map((at) => places.map((p) => offsetOf(table, p, at))) };
}

// the start whose offset is nearest
function startFor(table, target, [below, share]) {
  const { places, offsets } = table.starts;
  let least = Infinity, best = 0;
  for (let i = 0; i < places.length; i++) {
    const [x, y] = between(share, offsets[below][i], offsets[below + 1][i]);
    const off = Math.hypot(x - target[0], y - target[1]);
    if (off < least) [least, best] = [off, i];
  }
  return places[best];
}

// Return the place of the plane whose offset is the target, by damped Newton steps.
function invertOffset(table, target, level) {
  let place = startFor(table, target, level), step = [0, 0], least = Infinity;
  for (let i = 0; i < NEWTON_STEPS; i++) {
    const tried = [place[0] + step[0], place[1] + step[1]];
    const nudge = 1e-7 * Math.hypot(...tried) + 1e-200;
    const here = offsetOf(table, tried, level);
    const miss = [target[0] - here[0], target[1] - here[1]], off = Math.hypot(...miss);
    if (off < least) {
      [place, least] = [tried, off];
      if (least <= NEAR_ENOUGH * Math.hypot(...target)) break;
      const slope = (p) => offsetOf(table, p, level).map((x, j) => (x - here[j]) / nudge);
      const along = slope([tried[0] + nudge, tried[1]]);
      const across = slope([tried[0], tried[1] + nudge]);
      const area = along[0] * across[1] - along[1] * across[0];
      step = area === 0 ? [0, 0] : [
        (miss[0] * across[1] - miss[1] * across[0]) / area,
        (along[0] * miss[1] - along[1] * miss[0]) / area,
      ];
    } else {
      step = [step[0] / 2, step[1] / 2];
    }
  }
  return place;
}

export function labToMunsell(lab, view, table) {
  const [X, Y, Z] = adapt(labToXyz(lab, view.white), view.white, C_WHITE);
  const value = valueOfLuminance(Y), sum = X + Y + Z;
  if (!(value > 0) || !(sum > 0)) return [0, value, 0];
  const offset = [X / sum - C_XY[0], Y / sum - C_XY[1]], bright = Math.min(Y, 100);
  if (offset[0] === 0 && offset[1] === 0) return [0, value, 0];
  const aim = atLuminance(offset, bright, Math.min(bright, TOP));
  const [u, v] = invertOffset(table, aim, betweenLevels(value));
  const hue = (Math.atan2(v, u) * 50) / Math.PI;
  return [hue < 0 ? hue + 100 : hue, value, Math.hypot(u, v)];
}

// the greatest chroma of the renotation: the least of those of the places of the grid around
export function greatestChroma(hue, value, table) {
  if (!(value > 0 && value < 10)) return 0;
  const turn = ((hue % 100) * HUES) / 100, [below, share] = betweenLevels(value);
  const levels = [below + (share === 1 ? 1 : 0), below + (share > 0 ? 1 : 0)];
  const hues = [Math.floor(turn), Math.ceil(turn)];
  return 2 * Math.min(...levels.flatMap((l) => hues.map((h) => table.rings[l * (HUES + 1) + h])));
}

// --- notation ----------------------------------------------------------------------------------

const NUMBER = "[-+]?(?:\\d+\\.?\\d*|\\.\\d+)";
const NOTATION = new RegExp(
  `^(${NUMBER})?\\s*([a-z]+)\\s*(${NUMBER})\\s*(?:/\\s*(${NUMBER})?)?\\s*(.*)$`, "i",
);
const WRITE_IT = "write it as 7.5YR 4/6, or N 5 for a neutral";

// Return hue, value and chroma of "7.5YR 4/6" or "N 5"; an Error says what is wrong.
export function parseMunsell(text, table) {
  const match = NOTATION.exec(text.trim());
  if (!match) throw new Error(`cannot read “${text}” as Munsell notation; ${WRITE_IT}`);
  const [, step, letters, value, chroma, rest] = match, family = letters.toUpperCase();
  const wrong = faultOf(step, family, value, chroma, rest);
  if (wrong) throw new Error(`${wrong} in “${text}”; ${WRITE_IT}`);
  if (family === "N") return [0, Number(value), 0];
  const hue = (10 * MUNSELL_FAMILIES.indexOf(family) + Number(step)) % 100;
  const greatest = greatestChroma(hue, Number(value), table);
  if (Number(chroma) > greatest) {
    const right = greatest ? `${step}${family} ${value}/${greatest} or less` : `N ${value}`;
    throw new Error(`chroma ${chroma} in “${text}” is beyond the renotation; write ${right}`);
  }
  return [hue, Number(value), Number(chroma)];
}

function faultOf(step, family, value, chroma, rest) {
  if (family !== "N" && !MUNSELL_FAMILIES.includes(family)) {
    return `unknown hue ${family} (known: ${MUNSELL_FAMILIES.join(", ")}, N)`;
  }
  if (rest) return `“${rest}” too much`;
  if (!(value >= 0 && value <= 10)) return `value ${value} outside 0 to 10`;
  if (family === "N") return step || Number(chroma || 0) ? "a neutral with hue or chroma" : "";
  if (step === undefined) return `no hue number before ${family}`;
  if (!(step >= 0 && step <= 10)) return `hue number ${step} outside 0 to 10`;
  if (chroma === undefined) return "no chroma";
  return chroma < 0 ? `negative chroma ${chroma}` : "";
}

// Return the notation, such as "4.4YR 5.1/4.2"; a chroma that rounds to 0 gives "N 5.0/".
export function writeMunsell(hvc) {
  const [hue, value, chroma] = hvc.map((n) => Number(n.toFixed(1)));
  if (chroma <= 0) return `N ${value.toFixed(1)}/`;
  const round = hue % 100 || 100; // between two families it counts as 10 of the one before
  const family = Math.ceil(round / 10) - 1;
  const step = (round - 10 * family).toFixed(1);
  return `${step}${MUNSELL_FAMILIES[family]} ${value.toFixed(1)}/${chroma.toFixed(1)}`;
}

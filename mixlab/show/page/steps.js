// Finer parts and two steps: for what no few whole parts can hold.
//
// A tint of one part in fifty cannot be measured with a knife. A first mix of the strong paint in
// white can, and so can a part of that in more white.

import { byMiss, missOfShares, slopesAt } from "./exact.js";
import { remembered, setsOf, STEEPEST, sumOf, waysOf } from "./lattice.js";

export const FINEST = 24; // greatest total of a mix in finer parts
export const STEP = 12; // greatest total of each of two steps
export const ADDITIONS = 4; // most times that paint is put down, both steps together
const LEVEL = 0.05; // CIEDE2000 that is not worth a finer total
const LOOKED_AT = 40, STEPPED = 12, TRIED = 600; // sets; sets tried in two steps; ways of a set
const HOPE = 4; // CIEDE2000 by which a set that is easier to measure may miss more

// --- finer parts -------------------------------------------------------------------------------

// what Python's rounding does: halves go to the even number
function roundEven(x) {
  const down = Math.floor(x), rest = x - down;
  return rest < 0.5 || (rest === 0.5 && down % 2 === 0) ? down : down + 1;
}

// Return sets, the nearest by exact shares, in those shares rounded to each finer total in turn.
function finerWays(search, found, lab, limit = Infinity) {
  const { palette, parts: total } = search, made = [];
  for (const { paints, shares, miss } of byMiss(found).slice(0, LOOKED_AT)) {
    if (!(miss <= limit)) break;
    for (let finer = total + 1; finer <= FINEST; finer++) {
      const parts = shares.map((share) => Math.max(roundEven(share * finer), 1));
      const unlike = Math.max(...parts) > STEEPEST * Math.min(...parts);
      if (unlike || sumOf(parts) <= total) continue;
      made.push({ paints, parts, miss: missOfShares(palette.medium, paints, parts, lab) });
    }
  }
  return made;
}

// the mix in finer parts of the smallest total within the tolerance
function finerWithin(search, found, lab, tolerance) {
  const good = finerWays(search, found, lab, tolerance).filter(({ miss }) => miss <= tolerance);
  return leastBy(good, ({ parts, miss }) => [sumOf(parts), miss]);
}

// Return the one whose numbers come first in order; null of none.
export function leastBy(list, numbersOf) {
  let best = null, least = null;
  for (const one of list) {
    const own = numbersOf(one);
    const at = least ? own.findIndex((n, i) => n !== least[i]) : -1;
    if (!least || (at >= 0 && own[at] < least[at])) [best, least] = [one, own];
  }
  return best;
}

// --- two steps ---------------------------------------------------------------------------------

const spread = (size, places, numbers) => {
  const all = new Array(size).fill(0);
  places.forEach((place, i) => { all[place] = numbers[i]; });
  return all;
};

// a way: parts of the first mix, parts of it taken, parts of paint put to those, and what it
// comes to
function wayOf(first, taken, then) {
  const whole = sumOf(first), total = taken + sumOf(then);
  const shares = first.map((n, i) => ((taken * n) / whole + then[i]) / total);
  const additions = [...first, ...then].filter((n) => n > 0).length;
  return { first, taken, then, shares, additions, parts: whole + total };
}

// Return all ways to mix so many paints in two steps, the fewest additions and parts first.
export const twoStepWays = remembered((tubes) => {
  const ways = [], all = Array.from({ length: tubes }, (_, i) => i);
  for (let size = 2; size < ADDITIONS; size++) {
    for (const begun of setsOf(tubes, size)) {
      const lacking = all.filter((p) => !begun.includes(p));
      for (let more = Math.max(1, lacking.length); more <= ADDITIONS - size; more++) {
        for (const added of setsOf(tubes, more, lacking)) {
          for (const one of waysOf(size, STEP)) {
            const first = spread(tubes, begun, one);
            for (const [taken, ...two] of waysOf(more + 1, STEP)) {
              ways.push(wayOf(first, taken, spread(tubes, added, two)));
            }
          }
        }
      }
    }
  }
  return ways.sort((one, other) => one.additions - other.additions || one.parts - other.parts);
});

// Return the ways to a mere hint: one part of a first mix in much of the last of the paints.
const thinnestWays = remembered((tubes) => {
  const ways = [];
  for (const size of [tubes, tubes - 1].filter((n) => n > 1)) {
    for (const one of waysOf(size, STEEPEST + size - 1)) {
      if (size === tubes && tubes > 2 && !(one[size - 1] > STEP / 2)) continue;
      const first = [...one, ...new Array(tubes - size).fill(0)];
      for (let much = STEP / 2; much <= STEEPEST; much++) {
        ways.push(wayOf(first, 1, spread(tubes, [tubes - 1], [much])));
      }
    }
  }
  return ways;
});

// sets within a limit, those first whose least share is the easiest to measure
function measurable(found, limit) {
  return found
    .filter(({ miss }) => miss <= limit)
    .sort((one, other) => Math.min(...other.shares) - Math.min(...one.shares))
    .slice(0, STEPPED);
}

// the places of the few least of many numbers
function placesOfLeast(numbers, few) {
  const limit = numbers.length > few ? numbers.slice().sort()[few - 1] : Infinity;
  const places = [];
  for (let i = 0; i < numbers.length; i++) if (numbers[i] <= limit) places.push(i);
  return places;
}

// Return the mix in two steps with the fewest additions, then parts, within the tolerance.
function steppedWithin(search, found, lab, tolerance) {
  const size = found[0]?.paints.length ?? 0;
  if (size < 2 || size > ADDITIONS) return null;
  const { medium } = search.palette, ways = twoStepWays(size);
  const rows = measurable(found, tolerance);
  for (const additions of [...new Set(ways.map((way) => way.additions))]) {
    const own = ways.filter((way) => way.additions === additions), hits = [];
    for (const row of rows) {
      for (const i of placesOfLeast(guessesOf(medium, row, own, lab), TRIED)) {
        const miss = missOfShares(medium, row.paints, own[i].shares, lab);
        if (miss <= tolerance) hits.push({ paints: row.paints, way: own[i], miss });
      }
    }
    const best = leastBy(hits, ({ way, miss }) => [way.parts, miss]);
    if (best) return inTwoSteps(best.paints, best.way, best.miss);
  }
  return null;
}

// squares of the misses of ways, as slopes at the exact mix foretell them
function guessesOf(medium, row, ways, lab) {
  const { off, columns } = slopesAt(medium, row, lab);
  const logs = row.shares.map((share) => Math.log(Math.max(share, 1e-9)));
  return Float64Array.from(ways, ({ shares }) => {
    let [x, y, z] = off;
    for (let j = 0; j < shares.length; j++) {
      const more = Math.log(shares[j]) - logs[j];
      x += more * columns[j][0];
      y += more * columns[j][1];
      z += more * columns[j][2];
    }
    return x * x + y * y + z * z;
  });
}

// Return the nearest mix of one part of a first mix in more of one paint; null if there is none.
function nearestStepped(search, found, lab) {
  const size = found[0]?.paints.length ?? 0;
  if (size < 2 || size >= ADDITIONS) return null;
  const { medium } = search.palette, near = Math.min(...found.map(({ miss }) => miss)) + HOPE;
  let best = null, least = Infinity;
  for (const { paints, shares, miss } of measurable(found, near)) {
    if (miss >= least - LEVEL) continue;
    const order = shares.map((_, i) => i).sort((i, j) => shares[i] - shares[j]);
    const own = order.map((i) => paints[i]);
    let way = null, nearest = Infinity;
    for (const tried of thinnestWays(size)) {
      const off = missOfShares(medium, own, tried.shares, lab);
      if (off < nearest) [way, nearest] = [tried, off];
    }
    if (nearest < least - LEVEL) {
      const back = (numbers) => paints.map((p) => numbers[own.indexOf(p)]);
      const there = { ...way, first: back(way.first), then: back(way.then) };
      [best, least] = [inTwoSteps(paints, there, nearest), nearest];
    }
  }
  return best;
}

const factorOfAll = (numbers) => numbers.reduce((m, n) => { while (n) [m, n] = [n, m % n]; return m; });

// Return a mix in two steps: its parts as if mixed at once, and the way.
export function inTwoSteps(paints, { first, taken, then }, miss) {
  const sum = sumOf(first), whole = first.map((n, i) => taken * n + sum * then[i]);
  const factor = factorOfAll(whole);
  const some = (numbers) => ({
    paints: paints.filter((_, i) => numbers[i] > 0), parts: numbers.filter((n) => n > 0),
  });
  return {
    paints, parts: whole.map((n) => n / factor), miss,
    twoSteps: { first: some(first), taken, then: some(then) },
  };
}

// --- for a search ------------------------------------------------------------------------------

// the mix of a size in finer parts, or in two steps, that is within the tolerance
export const finerOrStepped = (search, found, lab) =>
  finerWithin(search, found, lab, search.tolerance)
  ?? steppedWithin(search, found, lab, search.tolerance);

// Return the nearest mix in finer parts or in two steps, of any size; null if there is none.
//
// Of those in finer parts that are as near to LEVEL that of the smallest total.
export function finestOf(search, sizes, lab) {
  let nearest = null;
  const gains = (mix) => mix && (!nearest || mix.miss < nearest.miss - LEVEL);
  for (const found of sizes.slice(1)) { // a paint by itself has no finer parts
    const made = finerWays(search, found, lab);
    const least = Math.min(...made.map(({ miss }) => miss));
    if (made.length && gains({ miss: least })) {
      const level = made.filter(({ miss }) => miss <= least + LEVEL);
      nearest = leastBy(level, ({ parts }) => [sumOf(parts)]);
    }
    const stepped = nearestStepped(search, found, lab);
    if (gains(stepped)) nearest = stepped;
  }
  return nearest;
}

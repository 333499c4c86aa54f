// Finer parts and two steps: for what no few whole parts can hold.
//
// A tint of one part in fifty cannot be measured with a knife. A first mix of the strong paint in
// white can, and so can a part of that in more white.

import { byMiss, missOfShares, slopesAt } from "./exact.js";
import { factorOf, remembered, reserveOf, setsOf, STEEPEST, sumOf, waysOf } from "./lattice.js";

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

// the mix in finer parts of the least effort within the tolerance
function finerWithin(search, found, lab, tolerance) {
  const good = finerWays(search, found, lab, tolerance).filter(({ miss }) => miss <= tolerance);
  const { medium } = search.palette;
  const effort = ({ paints, parts }) => sumOf(parts) + reserveOf(medium, paints);
  return leastBy(good, (one) => [effort(one), one.miss]);
}

// Return the one whose numbers come first in order; null of none.
function leastBy(list, numbersOf) {
  let best = null, least = null;
  for (const one of list) {
    const own = numbersOf(one);
    const at = least ? own.findIndex((n, i) => n !== least[i]) : -1;
    if (!least || (at >= 0 && own[at] < least[at])) [best, least] = [one, own];
  }
  return best;
}

// --- two steps ---------------------------------------------------------------------------------

// Ways to mix so many paints in two steps, as columns: parts of the first mix, parts of it taken,
// parts of paint put to those, what it comes to with its logarithms, and how often paint is put
// down. `eachWay` visits them all with a rank by which they are put in order; they are gone through
// twice, as lists of so many would take ten times the memory.
function waysAsColumns(tubes, eachWay) {
  const byRank = new Map(), next = new Map();
  let count = 0;
  eachWay((rank) => {
    byRank.set(rank, (byRank.get(rank) ?? 0) + 1);
    count++;
  });
  [...byRank.keys()].sort((one, other) => one - other).reduce((start, rank) => {
    next.set(rank, start);
    return start + byRank.get(rank);
  }, 0);
  const ways = {
    tubes, count,
    first: new Uint8Array(count * tubes), taken: new Uint8Array(count),
    then: new Uint8Array(count * tubes), parts: new Uint8Array(count),
    additions: new Uint8Array(count),
    shares: new Float64Array(count * tubes), logs: new Float64Array(count * tubes),
  };
  eachWay((rank, first, taken, then) => {
    const i = next.get(rank), whole = sumOf(first), total = taken + sumOf(then);
    next.set(rank, i + 1);
    ways.taken[i] = taken;
    ways.parts[i] = whole + total;
    for (let j = 0, at = i * tubes; j < tubes; j++, at++) {
      ways.first[at] = first[j];
      ways.then[at] = then[j];
      ways.shares[at] = ((taken * first[j]) / whole + then[j]) / total;
      ways.logs[at] = Math.log(ways.shares[at]);
      ways.additions[i] += (first[j] > 0) + (then[j] > 0);
    }
  });
  return ways;
}

const row = (column, tubes, i) => column.subarray(i * tubes, (i + 1) * tubes);

export function wayAt({ tubes, first, taken, then }, i) {
  return {
    first: Array.from(row(first, tubes, i)), taken: taken[i], then: Array.from(row(then, tubes, i)),
  };
}

export const sharesOf = (ways, i) => row(ways.shares, ways.tubes, i);

// so many numbers of which those at some places are given, the rest 0
const spread = (size, places, numbers) => {
  const all = new Array(size).fill(0);
  places.forEach((place, i) => { all[place] = numbers[i]; });
  return all;
};

// Return all ways to mix so many paints in two steps, the fewest additions and parts first.
export const twoStepWays = remembered((tubes) => waysAsColumns(tubes, (visit) => {
  const all = Array.from({ length: tubes }, (_, i) => i);
  for (let size = 2; size < ADDITIONS; size++) {
    const ones = waysOf(size, STEP);
    for (const begun of setsOf(tubes, size)) {
      const firsts = ones.map((one) => spread(tubes, begun, one));
      const lacking = all.filter((p) => !begun.includes(p));
      for (let more = Math.max(1, lacking.length); more <= ADDITIONS - size; more++) {
        for (const added of setsOf(tubes, more, lacking)) {
          const thens = waysOf(more + 1, STEP)
            .map((two) => [two[0], spread(tubes, added, two.slice(1)), sumOf(two)]);
          firsts.forEach((first, i) => {
            const begins = 1000 * (size + more) + sumOf(ones[i]);
            for (const [taken, then, sum] of thens) visit(begins + sum, first, taken, then);
          });
        }
      }
    }
  }
}));

// Return the ways to a mere hint: one part of a first mix in much of the last of the paints.
const thinnestWays = remembered((tubes) => waysAsColumns(tubes, (visit) => {
  for (const size of [tubes, tubes - 1].filter((n) => n > 1)) {
    for (const one of waysOf(size, STEEPEST + size - 1)) {
      if (size === tubes && tubes > 2 && !(one[size - 1] > STEP / 2)) continue;
      const first = [...one, ...new Array(tubes - size).fill(0)];
      for (let much = STEP / 2; much <= STEEPEST; much++) {
        visit(0, first, 1, spread(tubes, [tubes - 1], [much]));
      }
    }
  }
}));

// sets within a limit, those first whose least share is the easiest to measure
function measurable(found, limit) {
  return found
    .filter(({ miss }) => miss <= limit)
    .map((one) => [Math.min(...one.shares), one])
    .sort(([one], [other]) => other - one)
    .slice(0, STEPPED)
    .map(([, one]) => one);
}

// the number that so many of a list do not exceed; Hoare's selection
function nthLeast(numbers, n) {
  const list = numbers.slice();
  let low = 0, high = list.length - 1;
  while (low < high) {
    const pivot = list[(low + high) >> 1];
    let i = low, j = high;
    while (i <= j) {
      while (list[i] < pivot) i++;
      while (list[j] > pivot) j--;
      if (i <= j) {
        [list[i], list[j]] = [list[j], list[i]];
        i++;
        j--;
      }
    }
    if (n <= j) high = j;
    else if (n >= i) low = i;
    else break;
  }
  return list[n];
}

// Return the mix in two steps with the fewest additions, then least effort, within the tolerance.
//
// Of many ways those are tried that slopes at the exact mix tell to be near.
function steppedWithin(search, found, lab, tolerance) {
  const size = found[0]?.paints.length ?? 0;
  if (size < 2 || size > ADDITIONS) return null;
  const { medium } = search.palette, ways = twoStepWays(size);
  const rows = measurable(found, tolerance);
  for (let start = 0, end; start < ways.count; start = end) {
    end = start;
    while (end < ways.count && ways.additions[end] === ways.additions[start]) end++;
    const tried = [];
    for (const own of rows) {
      const guesses = guessesOf(medium, own, ways, start, end, lab);
      const reserve = reserveOf(medium, own.paints);
      const limit = guesses.length > TRIED ? nthLeast(guesses, TRIED - 1) : Infinity;
      for (let i = 0; i < guesses.length; i++) {
        const effort = ways.parts[start + i] + reserve;
        if (guesses[i] <= limit) tried.push({ effort, way: start + i, paints: own.paints });
      }
    }
    tried.sort((one, other) => one.effort - other.effort); // stable
    let best = null;
    for (const { effort, way, paints } of tried) {
      if (best && effort > best.effort) break;
      const miss = missOfShares(medium, paints, sharesOf(ways, way), lab);
      if (miss <= tolerance && (!best || miss < best.miss)) best = { effort, paints, way, miss };
    }
    if (best) return inTwoSteps(best.paints, wayAt(ways, best.way), best.miss);
  }
  return null;
}

// squares of the misses of ways from start to end, as slopes at the exact mix foretell them
function guessesOf(medium, own, { tubes, logs }, start, end, lab) {
  const { off, columns } = slopesAt(medium, own, lab);
  const here = own.shares.map((share) => Math.log(Math.max(share, 1e-9)));
  const guesses = new Float64Array(end - start);
  for (let i = 0, at = start * tubes; i < guesses.length; i++) {
    let [x, y, z] = off;
    for (let j = 0; j < tubes; j++, at++) {
      const more = logs[at] - here[j], column = columns[j];
      x += more * column[0];
      y += more * column[1];
      z += more * column[2];
    }
    guesses[i] = x * x + y * y + z * z;
  }
  return guesses;
}

// Return the nearest mix of one part of a first mix in more of one paint; null if there is none.
function nearestStepped(search, found, lab) {
  const size = found[0]?.paints.length ?? 0;
  if (size < 2 || size >= ADDITIONS) return null;
  const { medium } = search.palette, near = Math.min(...found.map(({ miss }) => miss)) + HOPE;
  const ways = thinnestWays(size);
  let best = null, least = Infinity;
  for (const { paints, shares, miss } of measurable(found, near)) {
    if (miss >= least - LEVEL) continue;
    const order = shares.map((_, i) => i).sort((i, j) => shares[i] - shares[j]);
    const own = order.map((i) => paints[i]);
    let way = 0, nearest = Infinity;
    for (let i = 0; i < ways.count; i++) {
      const off = missOfShares(medium, own, sharesOf(ways, i), lab);
      if (off < nearest) [way, nearest] = [i, off];
    }
    if (nearest < least - LEVEL) {
      const { first, taken, then } = wayAt(ways, way);
      const back = (numbers) => paints.map((p) => numbers[own.indexOf(p)]);
      best = inTwoSteps(paints, { first: back(first), taken, then: back(then) }, nearest);
      least = nearest;
    }
  }
  return best;
}

// Return a mix in two steps: its parts as if mixed at once, and the way.
export function inTwoSteps(paints, { first, taken, then }, miss) {
  const sum = sumOf(first), whole = first.map((n, i) => taken * n + sum * then[i]);
  const factor = whole.reduce(factorOf);
  const some = (numbers) => ({
    paints: paints.filter((_, i) => numbers[i] > 0), parts: numbers.filter((n) => n > 0),
  });
  return {
    paints, parts: whole.map((n) => n / factor), miss,
    twoSteps: { first: some(first), taken, then: some(then) },
  };
}

// --- for a search ------------------------------------------------------------------------------

// the mix of a size in finer parts, in two steps, or of a mere hint, that is within the tolerance
export function finerOrStepped(search, found, lab) {
  const made = finerWithin(search, found, lab, search.tolerance)
    ?? steppedWithin(search, found, lab, search.tolerance);
  if (made) return made;
  const hint = nearestStepped(search, found, lab);
  return hint?.miss <= search.tolerance ? hint : null;
}

// Return the nearest mix in finer parts or in two steps, of any size; null if none is nearer than
// the one in few parts.
//
// Of those in finer parts that are as near to LEVEL that of the smallest total. A further tube must
// gain so much, or come within the tolerance.
export function finestOf(search, sizes, lab, few, worth) {
  let nearest = null, size = 1;
  const gains = (mix) => {
    const { paints, miss } = nearest ?? few;
    return mix && mix.miss < (size > paints.length ? Math.max(miss - worth, search.tolerance) : miss - LEVEL);
  };
  for (const found of sizes.slice(1)) { // a paint by itself has no finer parts
    size++;
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

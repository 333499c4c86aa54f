// The lattice: every whole-part mix of the tubes at hand, indexed by where its colour lies.
//
// It is laid out by number of tubes, so that "is there a mix of two tubes?" is one question. Twelve
// tubes in up to twelve parts, four in a mix, make 283,207 mixes. Mix i of a layer is set i / ways
// of paints, in way i % ways of parting it.

import { missAt, setEven } from "./colour.js";
import { setCurves, setLab } from "./optics.js";

export const STEEPEST = 20; // most parts of one paint to one of another that a knife measures
const MOST_MIXES = 600000;
const CELL = 2; // side of the index's boxes, in coordinates nearly even in CIEDE2000
const STRAIGHT = 2.6; // greatest distance there of colours 1 CIEDE2000 apart: 2.55 in sRGB
const FAR = 5; // CIEDE2000 beyond which the coordinates are less even

// --- sets of paints, ways of parting -----------------------------------------------------------

// Return the sets of so many paints that hold all that must be there, in order.
export function setsOf(count, size, must = []) {
  const sets = [];
  const grow = (set, next) => {
    if (set.length === size) {
      if (must.every((p) => set.includes(p))) sets.push(set);
      return;
    }
    for (let p = next; p < count; p++) grow([...set, p], p + 1);
  };
  grow([], 0);
  return sets;
}

export const factorOf = (m, n) => (n ? factorOf(n, m % n) : m);
export const sumOf = (numbers) => numbers.reduce((sum, n) => sum + n, 0);

// Return the ways to share whole parts, each one or more, that sum to `total` at most and have no
// common factor (2:2 is 1:1), ordered by their sum. No part is beyond STEEPEST times another.
export const waysOf = remembered((tubes, total) => {
  const ways = [];
  const grow = (parts, left) => {
    if (parts.length === tubes) {
      const [most, least] = [Math.max(...parts), Math.min(...parts)];
      if (most <= STEEPEST * least && parts.reduce(factorOf) === 1) ways.push(parts);
      return;
    }
    const kept = tubes - parts.length - 1; // a part for each that is still to come
    for (let n = 1; n <= left - kept; n++) grow([...parts, n], left - n);
  };
  grow([], total);
  return ways
    .map((parts) => [sumOf(parts), parts])
    .sort(([one], [other]) => one - other) // a stable sort: those of one sum stay in order
    .map(([, parts]) => parts);
});

// a function of whole numbers that is worked out once for each of them
export function remembered(work) {
  const known = new Map();
  return (...numbers) => {
    const key = numbers.join();
    if (!known.has(key)) known.set(key, work(...numbers));
    return known.get(key);
  };
}

const choose = (n, k) => (k === 0 ? 1 : (choose(n - 1, k - 1) * n) / k);

// the most tubes in a mix, up to `most`, whose lattice is not too large
export function tubesThatFit(count, most, total) {
  let mixes = 0, tubes = 0;
  while (tubes < Math.min(most, count, total)) {
    mixes += choose(count, tubes + 1) * choose(total, tubes + 1);
    if (tubes > 0 && mixes > MOST_MIXES) break;
    tubes++;
  }
  return tubes;
}

// --- building ----------------------------------------------------------------------------------

// how far tubes are held in reserve: parts more that a painter would rather measure
export const reserveOf = ({ reserve }, paints) => sumOf(paints.map((p) => reserve[p]));

// what a mix of a layer asks of a painter: parts to measure, and tubes that are held in reserve
export function effortOf({ totals, reserves }, index) {
  const way = index % totals.length;
  return totals[way] + reserves[(index - way) / totals.length];
}

// Return the layers of mixes of 1, 2, .. tubes.
export function latticeOf(medium, most, total, must = []) {
  const layers = [];
  for (let tubes = 1; tubes <= most; tubes++) {
    const sets = setsOf(medium.count, tubes, must), ways = waysOf(tubes, total);
    const reserves = sets.map((set) => reserveOf(medium, set));
    layers.push({
      sets, ways, totals: ways.map(sumOf), reserves, ...cloudOf(labsOf(medium, sets, ways)),
    });
  }
  return layers;
}

// CIELAB of every set of paints in every way, one after the other
function labsOf(medium, sets, ways) {
  const labs = new Float64Array(3 * sets.length * ways.length);
  let at = 0;
  for (const set of sets) {
    for (const way of ways) {
      setCurves(medium, set, way);
      setLab(medium, labs, at);
      at += 3;
    }
  }
  return labs;
}

// Return colours with an index: boxes of even coordinates, and in each the colours that lie there.
function cloudOf(labs) {
  const count = labs.length / 3, even = new Float64Array(labs.length);
  const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  for (let at = 0; at < labs.length; at += 3) {
    setEven(even, at, labs[at], labs[at + 1], labs[at + 2]);
    for (let i = 0; i < 3; i++) {
      if (even[at + i] < low[i]) low[i] = even[at + i];
      if (even[at + i] > high[i]) high[i] = even[at + i];
    }
  }
  const size = low.map((l, i) => (count ? Math.floor((high[i] - l) / CELL) + 1 : 0));
  const axis = (at, i) => Math.floor((even[at + i] - low[i]) / CELL);
  // a counting sort: `starts` says where each box begins in `order`
  const boxes = new Int32Array(count), starts = new Int32Array(size[0] * size[1] * size[2] + 1);
  for (let i = 0, at = 0; i < count; i++, at += 3) {
    boxes[i] = (axis(at, 0) * size[1] + axis(at, 1)) * size[2] + axis(at, 2);
    starts[boxes[i] + 1]++;
  }
  for (let box = 1; box < starts.length; box++) starts[box] += starts[box - 1];
  const order = new Int32Array(count), next = starts.slice();
  for (let i = 0; i < count; i++) order[next[boxes[i]]++] = i;
  return { labs, even, low, size, starts, order };
}

// --- looking -----------------------------------------------------------------------------------

// Call `visit` with every mix of a layer within a straight distance of a place, in even
// coordinates, and with the square of that distance.
function visitNear(layer, place, radius, visit) {
  const { even, low, size, starts, order } = layer;
  const range = place.map((x, i) => [
    Math.max(Math.floor((x - radius - low[i]) / CELL), 0),
    Math.min(Math.floor((x + radius - low[i]) / CELL), size[i] - 1),
  ]);
  const [[x0, x1], [y0, y1], [z0, z1]] = range, limit = radius * radius;
  if (z1 < z0) return;
  for (let x = x0; x <= x1; x++) {
    for (let y = y0; y <= y1; y++) {
      const row = (x * size[1] + y) * size[2];
      for (let n = starts[row + z0]; n < starts[row + z1 + 1]; n++) {
        const at = 3 * order[n];
        const dx = even[at] - place[0], dy = even[at + 1] - place[1], dz = even[at + 2] - place[2];
        const square = dx * dx + dy * dy + dz * dz;
        if (square <= limit) visit(order[n], square);
      }
    }
  }
}

export function evenOf(lab) {
  const place = [0, 0, 0];
  setEven(place, 0, ...lab);
  return place;
}

export function mixAt(layer, index) {
  const way = index % layer.ways.length;
  return { paints: layer.sets[(index - way) / layer.ways.length], parts: layer.ways[way] };
}

// Call `visit` with every mix of a layer within a miss, and its miss.
export function visitWithin(layer, lab, tolerance, visit) {
  visitNear(layer, evenOf(lab), STRAIGHT * tolerance, (index) => {
    const miss = missAt(lab, layer.labs, 3 * index);
    if (miss <= tolerance) visit(index, miss);
  });
}

// Return the mix of a layer within a miss that asks the least effort, and the least miss of those;
// null if there is none.
export function easiestWithin(layer, lab, tolerance) {
  const { labs } = layer;
  let best = -1, least = Infinity, effort = Infinity;
  visitNear(layer, evenOf(lab), STRAIGHT * tolerance, (index) => {
    const own = effortOf(layer, index);
    if (own > effort) return;
    const miss = missAt(lab, labs, 3 * index);
    if (miss > tolerance || (own === effort && miss >= least)) return;
    [best, least, effort] = [index, miss, own];
  });
  return best < 0 ? null : { ...mixAt(layer, best), miss: least };
}

// Return the mix of a layer that comes nearest; null if it has none. Of tubes no farther in reserve
// than `reserve` in all; what misses by more than `within` need not be found.
export function nearestIn(layer, lab, within = Infinity, reserve = Infinity) {
  const { labs, reserves } = layer, place = evenOf(lab), ways = layer.ways.length;
  let best = -1, least = Infinity, reach = STRAIGHT * within * (within > FAR ? 2 : 1), radius = 1;
  do {
    radius *= 2;
    visitNear(layer, place, Math.min(radius, reach), (index, square) => {
      if (square > reach * reach || reserves[Math.floor(index / ways)] > reserve) return;
      const miss = missAt(lab, labs, 3 * index);
      if (miss >= least) return;
      [best, least] = [index, miss];
      reach = STRAIGHT * miss * (miss > FAR ? 2 : 1);
    });
  } while (radius < reach && radius < 1e4);
  return best < 0 ? null : { ...mixAt(layer, best), miss: least };
}

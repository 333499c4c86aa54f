// Exact: the best mix of every small set of paints, whose shares need not be whole.
//
// Each set is laid out once as a grid of mixes, even in tinting strength. From every one of them
// that is nearer to the colour than its neighbours a Levenberg-Marquardt descent starts, on the
// logarithms of the shares (Marquardt 1963); steps solve a 3 x 3 system whatever the number of
// paints. A start that runs to the edge is let go: the smaller set has that mix as its own.

import { ciede2000, labRoot, labRootSlope, missAt, setApart, setEven } from "./colour.js";
import { evenOf, remembered, setsOf } from "./lattice.js";
import { pullOf, setCurves, setLab } from "./optics.js";

const SEED_STEPS = [0, 1, 28, 12, 6, 4, 3]; // of the grid along an edge, by number of paints
const MANY_SEEDS = 20000, NEAR_SEED = 3; // straight distance has the same valleys near the colour
const HIT = 1e-3; // CIEDE2000 that nobody sees
const DESCENT = { steps: 14, settled: 1e-4, unseen: 0.005 };
const POLISH = { steps: 60, settled: 1e-12, unseen: 0 };
const HARDLY = 0.03; // gain as a share of what is left
const HOPE_LEFT = 1; // CIEDE2000 beyond the least miss of which a descent may still come first
const LONGEST_STEP = 1.5, DAMPING = [1e-5, 1e-2, 1e4]; // the least, the first, the most
const RIVALRY = 1.05, MOST_RIVALS = 12; // whose miss may still come first once they are polished

// --- seeds -------------------------------------------------------------------------------------

// Return the grid of mixes of so many paints, and the neighbours of each on it. No share is zero.
const gridOf = remembered((size) => {
  const steps = SEED_STEPS[size], whole = [];
  const grow = (point, left) => {
    if (point.length === size - 1) whole.push([...point, left]);
    else for (let n = 0; n <= left; n++) grow([...point, n], left - n);
  };
  grow([], steps);
  const places = new Map(whole.map((point, i) => [point.join(), i]));
  const neighbours = whole.map((point) => point.flatMap((_, i) => point.flatMap((__, j) => {
    if (i === j) return [];
    const moved = point.map((n, at) => n + (at === i) - (at === j));
    return places.get(moved.join()) ?? [];
  })));
  const points = whole.map((point) => point.map((n) => (n + 0.15) / (steps + 0.15 * size)));
  return { points, neighbours };
});

// Return sets of paints of one size with their seeds: shares, colours, even coordinates.
export function seedsOf(medium, size, must) {
  const sets = setsOf(medium.count, size, must), { points, neighbours } = gridOf(size);
  const pull = pullOf(medium), count = sets.length * points.length;
  const shares = new Float64Array(count * size), labs = new Float64Array(3 * count);
  const even = new Float64Array(3 * count), parts = new Float64Array(size);
  let seed = 0;
  for (const set of sets) {
    for (const point of points) {
      let sum = 0;
      for (let i = 0; i < size; i++) sum += parts[i] = point[i] / pull[set[i]];
      for (let i = 0; i < size; i++) shares[seed * size + i] = parts[i] / sum;
      setCurves(medium, set, parts);
      setLab(medium, labs, 3 * seed);
      setEven(even, 3 * seed, labs[3 * seed], labs[3 * seed + 1], labs[3 * seed + 2]);
      seed++;
    }
  }
  return { size, sets, points: points.length, neighbours, shares, labs, even };
}

// how far every seed is from a colour: in a straight line where some are near and there are many
function distancesOf({ sets, points, labs, even }, lab) {
  const count = sets.length * points, distances = new Float64Array(count);
  if (count > MANY_SEEDS) {
    const [x, y, z] = evenOf(lab);
    let least = Infinity;
    for (let i = 0, at = 0; i < count; i++, at += 3) {
      distances[i] = (even[at] - x) ** 2 + (even[at + 1] - y) ** 2 + (even[at + 2] - z) ** 2;
      least = Math.min(least, distances[i]);
    }
    if (least < NEAR_SEED ** 2) return distances;
  }
  for (let i = 0; i < count; i++) distances[i] = missAt(lab, labs, 3 * i);
  return distances;
}

// --- the descent -------------------------------------------------------------------------------

const LAB_NUDGE = 1e-6;
const [apart, apartAlongA, apartAlongB] = [0, 1, 2].map(() => new Float64Array(3));

// Return a colour's slopes by CIELAB: of the difference from `target` in lightness, chroma, hue.
function slopesByLab(target, [L, a, b]) {
  setApart(apart, ...target, L, a, b);
  setApart(apartAlongA, ...target, L + LAB_NUDGE, a + LAB_NUDGE, b); // they touch different rows
  setApart(apartAlongB, ...target, L, a, b + LAB_NUDGE);
  const slope = (along, i) => (along[i] - apart[i]) / LAB_NUDGE;
  return [
    [slope(apartAlongA, 0), 0, 0],
    [0, slope(apartAlongA, 1), slope(apartAlongB, 1)],
    [0, slope(apartAlongA, 2), slope(apartAlongB, 2)],
  ];
}

// Return the difference of a mix from the target, and its slopes by logarithm of each share.
function differenceOf(medium, paints, shares, target) {
  const size = paints.length, { bands, white, weights, K, S, k, s } = medium;
  const { inside, front, glare } = medium;
  const xyz = [0, 0, 0], slopes = new Float64Array(3 * size); // of XYZ, before the surface
  setCurves(medium, paints, shares);
  for (let i = 0; i < bands; i++) {
    const scatter = Math.max(s[i], 1e-9), q = Math.max(k[i], 1e-9) / scatter;
    // what comes out, and its slope: see setLab
    const root = Math.sqrt(q * (q + 2)), out = 1 / (1 + q + root - inside);
    const byQ = (-out * out * (1 + (q + 1) / root)) / scatter;
    const wx = weights[3 * i], wy = weights[3 * i + 1], wz = weights[3 * i + 2];
    xyz[0] += out * wx;
    xyz[1] += out * wy;
    xyz[2] += out * wz;
    for (let j = 0; j < size; j++) {
      const at = paints[j] * bands + i, by = byQ * shares[j] * (K[at] - q * S[at]);
      slopes[3 * j] += by * wx;
      slopes[3 * j + 1] += by * wy;
      slopes[3 * j + 2] += by * wz;
    }
  }
  const seen = xyz.map((x, c) => (front * x) / white[c] + glare);
  const [x, y, z] = seen.map(labRoot);
  const byRoot = seen.map((t, c) => (labRootSlope(t) * front) / white[c]);
  const byLab = slopesByLab(target, [116 * y - 16, 500 * (x - y), 200 * (y - z)]);
  const columns = paints.map((_, j) => {
    const [x, y, z] = byRoot.map((slope, c) => slope * slopes[3 * j + c]);
    const L = 116 * y, a = 500 * (x - y), b = 200 * (y - z);
    return byLab.map((row) => row[0] * L + row[1] * a + row[2] * b);
  });
  return { off: Array.from(apart), columns }; // a column of three for each paint
}

// Return the Levenberg-Marquardt step, by the dual 3 x 3 system and its cofactors.
function stepFrom(off, columns, damping) {
  let xx = 0, xy = 0, xz = 0, yy = 0, yz = 0, zz = 0;
  for (const [x, y, z] of columns) {
    xx += x * x; xy += x * y; xz += x * z;
    yy += y * y; yz += y * z; zz += z * z;
  }
  const lift = damping * ((xx + yy + zz) / 3 + 1e-9);
  xx += lift; yy += lift; zz += lift;
  const cxx = yy * zz - yz * yz, cxy = xz * yz - xy * zz, cxz = xy * yz - xz * yy;
  const cyy = xx * zz - xz * xz, cyz = xy * xz - xx * yz, czz = xx * yy - xy * xy;
  const det = xx * cxx + xy * cxy + xz * cxz, [x, y, z] = off;
  const solved = [
    (cxx * x + cxy * y + cxz * z) / det,
    (cxy * x + cyy * y + cyz * z) / det,
    (cxz * x + cyz * y + czz * z) / det,
  ];
  const step = columns.map((c) => -(solved[0] * c[0] + solved[1] * c[1] + solved[2] * c[2]));
  const longest = Math.max(...step.map(Math.abs), 1e-9);
  return step.map((d) => d * Math.min(1, LONGEST_STEP / longest));
}

const squareOf = ([x, y, z]) => x * x + y * y + z * z;

function movedBy(shares, step) {
  const moved = shares.map((share, i) => share * Math.exp(step[i]));
  const sum = moved.reduce((total, n) => total + n, 0);
  return moved.map((n) => n / sum);
}

// Return the shares where a descent ends, and the miss there.
//   unseen: a mix of which e times as much of a paint moves it by less is let go;
//   hopeful: so is one that misses by more and hardly gains
function descend(medium, paints, start, target, { steps, settled, unseen }, hopeful = Infinity) {
  let shares = start, { off, columns } = differenceOf(medium, paints, start, target);
  let cost = squareOf(off), damping = DAMPING[1];
  for (let i = 0; i < steps && paints.length > 1 && cost > HIT ** 2; i++) {
    const there = movedBy(shares, stepFrom(off, columns, damping));
    const next = differenceOf(medium, paints, there, target), nextCost = squareOf(next.off);
    const gain = cost - nextCost, better = gain > 0;
    if (better) [shares, off, columns, cost] = [there, next.off, next.columns, nextCost];
    damping = Math.max(damping * (better ? 0.2 : 6), DAMPING[0]);
    if ((better && gain < settled * nextCost) || damping > DAMPING[2]) break;
    if (Math.min(...next.columns.map(squareOf)) < unseen ** 2) break;
    if (better && nextCost > hopeful ** 2 && gain < HARDLY * nextCost) break;
  }
  return { shares, miss: Math.sqrt(cost) };
}

// --- the best of every set ---------------------------------------------------------------------

// Return the best mix of each set of one size: [{paints, shares, miss}].
//
// Of sets that miss by much more than `limit`, and than the least, the best is not sure.
export function bestOfEach(medium, seeds, lab, limit) {
  let least = Infinity;
  const { size, sets, points, neighbours, shares } = seeds, distances = distancesOf(seeds, lab);
  return sets.map((paints, row) => {
    const first = row * points;
    let best = { paints, shares: null, miss: Infinity };
    for (let i = 0; i < points; i++) {
      const own = distances[first + i];
      if (!neighbours[i].every((n) => own <= distances[first + n])) continue;
      const start = Array.from(shares.subarray((first + i) * size, (first + i + 1) * size));
      const hopeful = HOPE_LEFT + 1.3 * Math.max(least, limit);
      const end = descend(medium, paints, start, lab, DESCENT, hopeful);
      if (end.miss < best.miss) best = { paints, ...end };
      if (end.miss < least) least = end.miss;
    }
    return best;
  });
}

export const byMiss = (found) => [...found].sort((one, other) => one.miss - other.miss);

// Return the best mix of one size, to the last digits: whatever could still come first is polished.
export function bestOfSize(medium, found, lab) {
  const order = byMiss(found).slice(0, MOST_RIVALS);
  const rivals = order.filter(({ miss }) => miss <= order[0].miss * RIVALRY);
  return byMiss(rivals.map(
    ({ paints, shares }) => ({ paints, ...descend(medium, paints, shares, lab, POLISH) }),
  ))[0];
}

// Return the difference of one mix from a colour, and its slopes by logarithm of share.
export function slopesAt(medium, { paints, shares }, lab) {
  return differenceOf(medium, paints, shares.map((share) => Math.max(share, 1e-9)), lab);
}

export const missOfShares = (medium, paints, shares, lab) => {
  const mixed = [0, 0, 0];
  setCurves(medium, paints, shares);
  setLab(medium, mixed, 0);
  return ciede2000(lab, mixed);
};

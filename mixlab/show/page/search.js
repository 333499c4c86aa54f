// Search: from a colour to a recipe, the fewest tubes that hit it, in whole parts.
//
// The recipe is the whole-part mix within the tolerance that has the fewest tubes, then asks the
// least effort, then has the least miss. Where parts are too coarse, finer parts or two steps hold
// it; where no mix that exists comes near enough, the least harmful compromise stands for it.

import { beyondInWords, compromiseFor, givenUpInWords, WORTH } from "./beyond.js";
import { ciede2000 } from "./colour.js";
import { bestOfEach, bestOfSize, byMiss, seedsOf } from "./exact.js";
import {
  easiestWithin, effortOf, latticeOf, mixAt, nearestIn, tubesThatFit, visitWithin,
} from "./lattice.js";
import {
  cautionsOf, inWords, labOf, likelyErrorOf, notationOf, partsById, sensitivityOf,
  sensitivityOfTwo, stepsOf, stepsOfTwo, told, twoStepsInWords,
} from "./mixes.js";
import { ADDITIONS, finerOrStepped, finestOf, twoStepWays } from "./steps.js";

const PALE_AND_FAR = [[85, -1, -8], [92, 3, 6], [20, -40, 30]]; // what whole parts do not hold
const FORGIVING = 4; // greatest miss of a simpler recipe: more is seen at a glance [CIEDE2000]
const MOST_OTHERS = 3; // recipes with other tubes that are told

// Return what every question about these tubes needs: the lattice above all.
export function searchOf(palette, { tolerance, most, parts, must = [] }) {
  const tubes = tubesThatFit(palette.paints.length, most, parts);
  const layers = latticeOf(palette.medium, tubes, parts, must);
  return { palette, tolerance, parts, must, layers, seeds: null };
}

export const mixesIn = (search) =>
  search.layers.reduce((sum, { sets, ways }) => sum + sets.length * ways.length, 0);

// the seeds of the exact search, laid out when they are first asked for
function seedsFor(search) {
  search.seeds ??= search.layers.map(
    (_, i) => seedsOf(search.palette.medium, i + 1, search.must),
  );
  return search.seeds;
}

// Return the pieces of work that lay out what the rarer answers need, before they are asked for;
// the last ones answer, as what has been run before runs faster.
export function warmUps(search) {
  const sizes = search.layers.map((_, i) => i + 1).filter((size) => size > 1 && size <= ADDITIONS);
  return [
    () => seedsFor(search),
    ...sizes.map((size) => () => twoStepWays(size)),
    ...PALE_AND_FAR.map((lab) => () => answerFor(search, lab)),
  ];
}

// Return the recipe for a colour, whether it is in reach, and the nearest mix where it is not.
export function findRecipe(search, lab) {
  for (const layer of search.layers) {
    const hit = easiestWithin(layer, lab, search.tolerance);
    if (hit) return { recipe: hit, inReach: true };
  }
  return beyondWholeParts(search, lab);
}

// Return the same for a colour that whole parts do not hold: from exact shares, size by size.
function beyondWholeParts(search, lab) {
  const { medium } = search.palette, sizes = [];
  let nearest = { miss: Infinity };
  for (const seeds of seedsFor(search)) {
    const found = bestOfEach(medium, seeds, lab, search.tolerance);
    sizes.push(found);
    if (!found.length) continue;
    nearest = byMiss([nearest, bestOfSize(medium, found, lab)])[0];
    if (nearest.miss > search.tolerance) continue;
    const finer = finerOrStepped(search, found, lab);
    if (finer) return { recipe: finer, inReach: true };
  }
  if (nearest.miss > search.tolerance) {
    return { recipe: compromiseFor(search, lab), inReach: false, nearest };
  }
  // a mix within the tolerance exists, but parts that a knife can measure do not hold it
  const few = nearestOf(search, lab);
  return { recipe: finestOf(search, sizes, lab, few, WORTH) ?? few, inReach: true };
}

// the nearest whole-part mix after which a further tube is not worth it
function nearestOf(search, lab) {
  const nearest = search.layers.map((layer) => nearestIn(layer, lab)).filter(Boolean);
  const least = Math.min(...nearest.map(({ miss }) => miss));
  return nearest.find(({ miss }) => miss <= least + WORTH);
}

// Return recipes with other tubes within the tolerance: fewest tubes, then the least effort.
function othersThan(search, recipe, lab) {
  const size = recipe.paints.length, others = [];
  for (const layer of search.layers.slice(size - 1, size + 1)) {
    const bySet = new Map(); // the best of each set: the least effort, then the least miss
    visitWithin(layer, lab, search.tolerance, (index, miss) => {
      const effort = effortOf(layer, index), set = Math.floor(index / layer.ways.length);
      const best = bySet.get(set);
      if (!best || effort < best.effort || (effort === best.effort && miss < best.miss)) {
        bySet.set(set, { index, effort, miss });
      }
    });
    others.push(...[...bySet.values()]
      .map((one) => ({ ...mixAt(layer, one.index), ...one }))
      // with a tube more, the recipe itself is no news
      .filter(({ paints }) => !recipe.paints.every((p) => paints.includes(p)))
      .sort((one, other) => one.effort - other.effort || one.miss - other.miss));
  }
  return others.slice(0, MOST_OTHERS);
}

// Return the nearest mix of a tube less, if the table cannot tell its miss from the recipe's: it
// lies within its likely error, and an eye would forgive it. Else such a mix of as many tubes of
// which none is held in reserve; null if there is none.
function simplerThan({ palette, layers, tolerance }, recipe, lab) {
  const size = recipe.paints.length, own = ciede2000(lab, labOf(palette, recipe));
  for (const [tubes, reserve, least] of [[size - 1, Infinity, 0], [size, 0, tolerance]]) {
    const layer = layers[tubes - 1], mix = layer ? nearestIn(layer, lab, FORGIVING, reserve) : null;
    if (!mix || mix.miss <= Math.max(own, least) || mix.miss > FORGIVING) continue;
    const likely = likelyErrorOf(palette, mix);
    if (likely !== null && mix.miss <= likely) return mix;
  }
  return null;
}

// --- the answer as it is told ------------------------------------------------------------------

export function answerFor(search, lab) {
  const { palette } = search, { recipe, inReach, nearest } = findRecipe(search, lab);
  const simpler = inReach ? simplerThan(search, recipe, lab) : null;
  return {
    wanted: told(palette, lab),
    recipe: recipeTold(palette, recipe, lab),
    inReach,
    outOfReach: inReach ? null : outOfReachTold(palette, recipe, nearest, lab),
    simpler: simpler && otherTold(palette, simpler),
    others: inReach ? othersThan(search, recipe, lab).map((mix) => otherTold(palette, mix)) : [],
  };
}

function outOfReachTold(palette, recipe, nearest, lab) {
  const mixed = labOf(palette, { paints: nearest.paints, parts: nearest.shares });
  return {
    miss: nearest.miss,
    directions: beyondInWords(lab, mixed),
    givenUp: givenUpInWords(palette, lab, recipe),
  };
}

function otherTold(palette, mix) {
  const { lab, hex } = told(palette, labOf(palette, mix));
  return {
    parts: partsById(palette, mix), notation: notationOf(palette, mix),
    words: inWords(palette, mix), lab, hex, miss: mix.miss,
  };
}

function recipeTold(palette, mix, lab) {
  const colour = told(palette, labOf(palette, mix)), steps = mix.twoSteps ?? null;
  return {
    parts: partsById(palette, mix), notation: notationOf(palette, mix),
    words: steps ? twoStepsInWords(palette, steps) : inWords(palette, mix),
    twoSteps: steps && {
      first: partsById(palette, steps.first), taken: steps.taken,
      then: partsById(palette, steps.then),
    },
    ...colour,
    miss: ciede2000(lab, colour.lab), likelyError: likelyErrorOf(palette, mix),
    sensitivity: steps ? sensitivityOfTwo(palette, mix, steps) : sensitivityOf(palette, mix),
    steps: steps ? stepsOfTwo(palette, steps) : stepsOf(palette, mix),
    cautions: cautionsOf(palette, mix.paints),
  };
}

// Search: from a colour to a recipe in whole parts, with the fewest tubes.

import { latticeOf, nearestIn, smallestWithin, tubesThatFit } from "./lattice.js";
import {
  cautionsOf, inWords, labOf, likelyErrorOf, notationOf, partsById, slipsOf, stepsOf, told,
} from "./mixes.js";

const WORTH = 0.5; // what a further tube must gain where nothing is within the tolerance [CIEDE2000]

// Return what every question about these tubes needs: the lattice above all.
export function searchOf(palette, { tolerance, most, parts, must = [] }) {
  const tubes = tubesThatFit(palette.paints.length, most, parts);
  const layers = latticeOf(palette.medium, tubes, parts, must);
  return { palette, tolerance, parts, must, layers };
}

export const mixesIn = (search) =>
  search.layers.reduce((sum, { sets, ways }) => sum + sets.length * ways.length, 0);

export function findRecipe(search, lab) {
  for (const layer of search.layers) {
    const hit = smallestWithin(layer, lab, search.tolerance);
    if (hit) return hit;
  }
  const nearest = search.layers.map((layer) => nearestIn(layer, lab)).filter(Boolean);
  const least = Math.min(...nearest.map((mix) => mix.miss));
  return nearest.find((mix) => mix.miss <= least + WORTH);
}

// --- the answer as it is told ------------------------------------------------------------------

export function answerFor(search, lab) {
  const { palette, tolerance } = search, found = findRecipe(search, lab);
  return {
    wanted: told(palette, lab),
    recipe: recipeTold(palette, found),
    inReach: found.miss <= tolerance,
    outOfReach: null,
    others: [],
  };
}

function recipeTold(palette, mix) {
  const slips = slipsOf(palette, mix), worst = slips.indexOf(Math.max(...slips));
  return {
    parts: partsById(palette, mix), notation: notationOf(palette, mix),
    words: inWords(palette, mix), twoSteps: null,
    ...told(palette, labOf(palette, mix)),
    miss: mix.miss, likelyError: likelyErrorOf(palette, mix),
    sensitivity: { paint: palette.paints[mix.paints[worst]].id, moved: slips[worst] },
    steps: stepsOf(palette, mix), cautions: cautionsOf(palette, mix.paints),
  };
}

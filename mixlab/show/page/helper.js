// The paint that would help: one that is not at hand and brings a colour within reach.
//
// It is one that a painter would reach for: of the colour's hue family, the nearest in hue first.
// Mixes of at most three tubes are looked at.

import { chromaOf, ciede2000, missAt } from "./colour.js";
import { GREYISH, turnedBy, WORTH } from "./beyond.js";
import { FINEST, STEP } from "./steps.js";
import { mixAt, remembered, setsOf, waysOf } from "./lattice.js";
import { inWords, notationOf } from "./mixes.js";
import { mediumOf, setCurves, setLab } from "./optics.js";

const FAMILY = 45; // degrees between a colour and the paints that one would reach for
const HELPERS = 6; // paints of the family that are tried
const HELPED = 3; // tubes

// Return the other paints in a colour's hue family, the nearest in hue first.
//
// A paint's hue is that of its masstone or of its tint, whichever is nearer. A greyish colour is of
// the family of all greyish paints; a white is of every family where no white is at hand. Tubes that
// are mixtures of other paints are not among them.
function familyOf(paints, atHand, lab) {
  const near = [];
  const hasWhite = paints.some((paint) => paint.white && atHand.has(paint.id));
  for (const paint of paints) {
    if (atHand.has(paint.id) || paint.basis === "mixture") continue;
    const { labs, id } = paint, [masstone] = labs;
    if (paint.white) {
      if (!hasWhite) near.push([0, id, paint]);
    } else if (chromaOf(lab) < GREYISH) {
      if (chromaOf(masstone) < 3 * GREYISH) near.push([ciede2000(lab, masstone), id, paint]);
    } else {
      const turn = Math.min(...labs.map((own) => turnedBy(lab, own)));
      if (turn <= FAMILY && chromaOf(labs.at(-1)) >= GREYISH) near.push([turn, id, paint]);
    }
  }
  near.sort(([one, id], [other, otherId]) => one - other || (id < otherId ? -1 : 1));
  return near.slice(0, HELPERS).map(([, , paint]) => paint);
}

// Return the colours of mixes that hold a further paint, by number of tubes.
function helpedBy({ palette, must }, paint) {
  const all = [...palette.paints, paint], last = palette.paints.length;
  const medium = mediumOf(all, palette.surface, palette.view);
  const layers = Array.from({ length: HELPED }, (_, i) => {
    const sets = setsOf(all.length, i + 1, [...must, last]);
    const ways = waysOf(i + 1, i + 1 < HELPED ? FINEST : STEP);
    const labs = new Float64Array(3 * sets.length * ways.length);
    let at = 0;
    for (const set of sets) {
      for (const way of ways) {
        setCurves(medium, set, way);
        setLab(medium, labs, at);
        at += 3;
      }
    }
    return { sets, ways, labs };
  });
  return { palette: { ...palette, paints: all, medium }, layers };
}

// Return whether the paint in its turn (from 0) brings a colour within reach: the mix if it does,
// and whether there are paints after it.
export function helperFor(search, lab, turn) {
  const { palette, paints, tolerance } = search;
  const family = familyOf(paints, new Set(palette.paints.map(({ id }) => id)), lab), paint = family[turn];
  if (!paint) return { helper: null, more: false };
  search.helped ??= remembered((id) => helpedBy(search, paints.find((one) => one.id === id)));
  const helped = search.helped(paint.id);
  for (const layer of helped.layers) {
    let best = -1, least = Infinity;
    for (let at = 0; at < layer.labs.length; at += 3) {
      if (Math.abs(layer.labs[at] - lab[0]) > 2 * tolerance) continue;
      const miss = missAt(lab, layer.labs, at);
      if (miss < least) [best, least] = [at / 3, miss];
    }
    if (least > tolerance + WORTH) continue; // parts are coarse
    const mix = mixAt(layer, best);
    return {
      helper: {
        paint: paint.id, name: paint.name, notation: notationOf(helped.palette, mix),
        words: inWords(helped.palette, mix), miss: least,
      },
      more: false,
    };
  }
  return { helper: null, more: turn + 1 < family.length };
}

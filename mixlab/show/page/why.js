// Why: the reason for what an addition does to chroma, in the sentences that Python says as well.

import { MID_VALUE, NAMED, peakAtStrength } from "./ladder.js";
import {
  BANDS, hueSteps, isSeen, mostBand, scatteringOf, sparedBy, turnOf, WAVELENGTHS,
} from "./stages.js";

export const STRENGTHS = [0.5, 2]; // how tubes of one name differ: common practice, no source
const HOLDS = 1; // Munsell hue steps, and C*, that count as none

// --- figures in writing ------------------------------------------------------------------------

// a number with so many decimals; what lies halfway between two is rounded to the even one
export function fixed(number, digits) {
  const scaled = number * 10 ** digits, below = Math.floor(scaled);
  const halfway = scaled - below === 0.5 && Number.isInteger(number * 2 ** (digits + 1));
  return (halfway ? (below + (Math.abs(below) % 2)) / 10 ** digits : number).toFixed(digits);
}

// a number with so many figures that count, without noughts at its end
const counting = (number, figures) => {
  const [digits, power] = number.toExponential(figures - 1).split("e");
  if (power < -4 || power >= figures) {
    const sign = power < 0 ? "-" : "+", size = String(Math.abs(power)).padStart(2, "0");
    return `${Number(digits)}e${sign}${size}`;
  }
  return String(Number(fixed(number, figures - 1 - power)));
};

export function percentText(share) {
  const percent = 100 * share;
  if (percent >= 9.95 && percent < 98.5) return `${fixed(percent, 0)} %`;
  return `${counting(percent, percent < 50 ? 2 : 4)} %`;
}

const shortText = (ratio) => (ratio >= 10 ? fixed(ratio, 0) : counting(ratio, 2));
const listText = (some) => (some.length > 1
  ? `${some.slice(0, -1).join(", ")} and ${some[some.length - 1]}` : some.join(""));
const chromaText = (stage) => fixed(stage.point.chroma, 0);
const hueText = (point) => point.munsell.split(" ")[0];
const stepsText = (steps) => `${fixed(Math.abs(steps), 1)} Munsell steps`;

// wavelengths where a mask holds: "380-470 and 600-730 nm"
function rangesText(mask) {
  const spans = [];
  mask.forEach((there, i) => {
    if (there && !mask[i - 1]) spans.push([WAVELENGTHS[i], WAVELENGTHS[i]]);
    else if (there) spans[spans.length - 1][1] = WAVELENGTHS[i];
  });
  const said = spans.map(([from, to]) => (from === to ? `${from}` : `${from}-${to}`));
  return said.join(" and ") + (said.length ? " nm" : "");
}

const placeText = ({ nm, faint }) => `${nm} nm${faint ? ", where the eye sees little" : ""}`;
const placesText = ([first, ...others]) => placeText(first) + others.map(
  (one) => ` (and again ${percentText(one.height)} at ${placeText(one)})`,
).join("");
const mostText = ({ maxima }) => `most light, ${percentText(maxima[0].height)}, at ${placesText(maxima)}`;
const leastText = ({ minima }) => `least, ${percentText(minima[0].height)}, at ${placesText(minima)}`;

// --- sentences ---------------------------------------------------------------------------------

// what a mix by itself gives back
export function aloneWords(first, mix) {
  const seen = `${mostText(first)}, and ${leastText(first)}`;
  if (first.point.chroma < NAMED) {
    return `${mix} by itself has hardly any chroma, C* ${fixed(first.point.chroma, 1)}: it gives back ${seen}.`;
  }
  return `By itself ${mix} gives back ${seen}; what lies between the two is its chroma, `
    + `C* ${chromaText(first)}.`;
}

// Return why one mix on the way is as it is, in sentences. first, here, toward: stages of the mix by
// itself, with some of the addition, and of that by itself; peak: where C* is greatest, `first`
// where it only falls; addition: "white", "black", "grey" or "mix"; mix, added: their names; evenly:
// `here` as it were if each end scattered all light alike, a point, or null.
export function stepWords(first, here, toward, peak, addition, mix, added, evenly = null) {
  const { point } = here;
  const at = `At ${percentText(point.share)} of ${added}`;
  const now = `C* ${chromaText(here)} at value ${fixed(point.value, 1)}`;
  if (first.point.chroma < NAMED) {
    const named = point.chroma >= HOLDS ? `, ${point.munsell}` : "";
    return [`${at} it gives back ${mostText(here)}, and ${leastText(here)}: ${now}${named}.`];
  }
  if (addition === "white") {
    return [...whiteWords(first, here, peak, at, now), ...turnedWords(first, here, mix, null)];
  }
  const said = addition === "mix" ? [] : [givesWords(toward, added)];
  said.push(`${at} ${movedText(first, here)}: ${now}; by itself ${mix} has C* `
    + `${chromaText(first)} at value ${fixed(first.point.value, 1)}.`);
  if (addition === "mix" && point.chroma < 2 * NAMED) return said;
  return [...said, ...turnedWords(first, here, mix, addition === "black" ? evenly : null)];
}

function whiteWords(first, here, peak, at, now) {
  const ratio = ({ minima, maxima }) => minima[0].height / maxima[0].height;
  const range = ({ minima, maxima }) => maxima[0].height - minima[0].height;
  const moved = movedText(first, here);
  if (here.point.share <= peak.point.share) {
    const reason = range(here) > range(first) ? " White sends light back out before the paint has "
      + "taken it all, and most so where the paint absorbs least." : "";
    const higher = here.point.chroma > first.point.chroma ? ", and higher in chroma too" : "";
    return [`${at} ${moved}: lighter${higher}, ${now}.${reason}`];
  }
  const [before, after] = [ratio(peak), ratio(here)];
  let begun = "White only takes chroma", was = "was";
  if (peak !== first) {
    begun = "White adds next to no chroma, and then takes it";
    if (peak.point.chroma > first.point.chroma + HOLDS) {
      [begun, was] = ["More white takes chroma", "at the peak was"];
    }
  }
  const gained = after > before ? ` The minimum ${was} ${percentText(before)} of the maximum, and is `
    + `${percentText(after)} of it now.` : "";
  const said = [`${begun}. ${at} ${moved}: ${now}.${gained}`, ratioWords(first, here)];
  const scatters = here.k.map(
    (k, i) => isSeen(i) && k < here.s[i] && !(first.k[i] < first.s[i]),
  );
  if (scatters.includes(true)) {
    said.push("Scattering dominates now, where absorption did before, at "
      + `${rangesText(scatters)}: there the mix tends to white's own colour.`);
  }
  return said;
}

function ratioWords(first, here) {
  const { nm } = here.minima[0], i = WAVELENGTHS.indexOf(nm);
  const [before, after] = [first, here].map(({ k, s }) => k[i] / s[i]);
  if (!Number.isFinite(before)) {
    return `At ${nm} nm nothing was scattered before; now K/S is ${shortText(after)}.`;
  }
  return `At ${nm} nm, that minimum, K/S was ${shortText(before)}: light was absorbed `
    + `${shortText(before)} times as readily as scattered. Now it is ${shortText(after)}.`;
}

const givesWords = (toward, added) => `${added.replace(/^the /, "The ")} by itself is ${toward.point.munsell}, C* `
  + `${fixed(toward.point.chroma, 1)}: it gives back ${mostText(toward)}, and ${leastText(toward)}.`;

// how the maximum and the minimum have moved, and the second ones that there are
const movedText = (first, here) => [
  ["maximum", first.maxima, here.maxima], ["minimum", first.minima, here.minima],
].map(([name, before, after]) => {
  const [was, now] = [before, after].map((some) => percentText(some[0].height));
  const way = after[0].height > before[0].height ? "rises" : "falls";
  const moves = was === now ? `stays at ${now}` : `${way} from ${was} to ${now}`;
  return `the ${name} ${moves}, at ${placesText(after)}`;
}).join(", and ");

function turnedWords(first, here, mix, evenly) {
  const found = turnOf(first, here);
  if (found === null) return [];
  const { steps, degrees, toward, gains, on } = found;
  const hues = `${hueText(first.point)} to ${hueText(here.point)}`;
  if (Math.abs(steps) < HOLDS) {
    return [`The hue holds within a step of Munsell's hundred: ${hues}.`];
  }
  // half as much again as steps of 3.6 degrees
  const bent = Math.abs(degrees) > 5.4 * Math.abs(steps)
    ? ` (CIELAB, whose angles bend, has ${fixed(Math.abs(degrees), 0)} degrees)` : "";
  const [before, now] = [first, here].map(({ bands }) => listText(bands.map(percentText)));
  let said = `The hue turns from ${hues}, ${stepsText(steps)} toward ${toward}${bent}. Of `
    + `${listText(Object.keys(BANDS))} light it gave back ${before}, and now ${now}`;
  const [most, was] = [mostBand(here), mostBand(first)];
  if (gains) said += `: as the eye counts, ${gains} has gained on ${on}`;
  else if (most !== was) said += `: the most is ${most} now, and was ${was}`;
  return [`${said}.`, ...scatteredWords(first, steps, mix, evenly)];
}

// what of a turn is due to scattering that falls with wavelength
function scatteredWords(first, steps, mix, evenly) {
  const { green, red } = scatteringOf(first);
  if (evenly === null || evenly.chroma < NAMED || red >= green) return [];
  const without = hueSteps(first.point.hue, evenly.hue), left = without / steps;
  if (!(left >= 0 && left <= 0.8)) return [];
  return [`${percentText(1 - left)} of that turn comes of scattering: ${mix} scatters red light less `
    + `than green, S ${shortText(red)} and ${shortText(green)}. Did each paint scatter all light `
    + `alike, the hue would turn ${stepsText(without)} only.`];
}

// whether two cancel, let down with white, and the light that is left over
export function cancelWords({ share, left, ends }, first, toward, added) {
  const seen = `let down with white to value ${MID_VALUE}`;
  if (ends[1] < NAMED) {
    return [`${added} has too little chroma to cancel any: ${seen}, C* ${fixed(ends[1], 1)}.`];
  }
  const had = `by themselves they have C* ${fixed(ends[0], 0)} and ${fixed(ends[1], 0)} so`;
  const least = Math.min(...ends), both = sparedBy(first, toward);
  let said = `The two do not cancel: ${seen}, no mix of them has less chroma than one by itself`;
  if (left <= 0.98 * least) {
    let how = left < NAMED ? "cancel" : "do not cancel";
    if (left >= NAMED && left < least / 2) how = "come near to cancelling";
    said = `The two ${how}: ${seen}, C* ${fixed(left, 1)} is left at ${percentText(share)} of ${added}`;
  }
  const names = Object.keys(BANDS).filter((name) => both.some(
    (there, i) => there && WAVELENGTHS[i] >= BANDS[name][0] && WAVELENGTHS[i] <= BANDS[name][1],
  ));
  const light = !both.includes(true)
    ? "No light is spared by both: everywhere the one or the other absorbs at least a quarter of its most."
    : `Both spare light of ${rangesText(both)} (${listText(names)}): there neither absorbs a quarter `
      + "of its most, and that light is left over.";
  return [`${said}; ${had}.`, light];
}

// where the peak of tubes of the same name may lie
export function strengthWords(report) {
  const [weak, strong] = STRENGTHS.map((times) => percentText(peakAtStrength(report, times)));
  return "Tubes of one name may well be half as strong, or twice: then the peak is at "
    + `${weak} of white, or at ${strong}.`;
}

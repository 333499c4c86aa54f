// A study: one paint with one addition. What is seen, the guess, the charts, the reason in words.

import { shareChart, shareOfPlace, waveChart } from "./charts.js";
import { chromaOf, labToHex, labToRgb } from "./colour.js";
import { counted, figure, make } from "./dom.js";
import {
  cancelled, labAt, letDown, NAMED, pathOf, peakAtStrength, reportOf,
} from "./ladder.js";
import { labToValue } from "./munsell.js";
import { evenlyScattered, stageAt } from "./stages.js";
import {
  aloneWords, cancelWords, percentText, stepWords, STRENGTHS, strengthWords,
} from "./why.js";

const PLACES = Array.from({ length: 81 }, (_, i) => i / 80); // of a ladder that is drawn
const BEFORE = "Move the slider, and watch the swatch beside the paint by itself. Then guess; the chart "
  + "and the reason come after.";
const NEAR = 1; // C* of the answer within which a guess is as good
const LEAST_RATIO = 1e-4, MOST_RATIO = 1e3; // of K/S that is drawn

export const LESSONS = {
  white: { addition: "white", title: "Why white lowers chroma", ask: "Where is chroma greatest?" },
  black: { addition: "black", title: "What black does to chroma", ask: "Where is half of the chroma gone?" },
  grey: { addition: "grey", title: "What grey does to chroma", ask: "Where is half of the chroma gone?" },
  complement: {
    addition: "mix", title: "What a complement does to chroma",
    ask: "Let down with white, where is the mix nearest to neutral?",
  },
};

export const plainName = (paint) => paint.name.split(" (")[0];
// a sentence as it is shown: no figure parts from its unit
const shownText = (text) => (text.charAt(0).toUpperCase() + text.slice(1))
  .replace(/(\d) (%|nm|degrees)/g, "$1\u00a0$2").replace(/(C\*|K\/S|value) (?=[\d])/g, "$1\u00a0");
const paragraphs = (lines) => lines.map((line) => make("p", {}, shownText(line)));

// --- what is computed once of a paint and an addition ------------------------------------------

// Return all that does not move: {path, report, first, toward, peak, mix, added, addition, answer,
// cancel, ladder}. toward is {paint or null, parts, name}; the answer is the share asked for.
export function studied(lesson, paint, toward, white, setting) {
  const { addition } = LESSONS[lesson];
  const path = pathOf(paint, toward, white, setting), report = reportOf(path);
  const first = stageAt(path, 0), added = stageAt(path, 1);
  const rises = report.peak.share > 0 && report.peak.share < 1;
  const cancel = addition === "mix" ? cancelled(path) : null;
  const { start, peak, half } = report;
  const dull = addition === "white" ? peak.chroma < NAMED : start.chroma < NAMED;
  let answer = addition === "white" ? peak.share : half && half.share;
  if (cancel) answer = cancel.share;
  return {
    path, report, first, toward: added, addition, cancel, answer: dull ? null : answer,
    peak: rises ? stageAt(path, peak.share) : first,
    mix: plainName(paint), added: toward.name,
    ladder: ladderOf(path, addition, setting.view),
  };
}

// the colours of the ladder from end to end, as it is drawn
function ladderOf(path, addition, view) {
  const shares = PLACES.map(shareOfPlace), labs = shares.map((share) => labAt(path, share));
  return {
    colours: labs.map((lab) => labToHex(lab, view)), chroma: labs.map(chromaOf),
    value: labs.map((lab) => labToValue(lab, view)),
    other: addition === "mix" ? shares.map((share) => chromaOf(letDown(path, share))) : null,
  };
}

// Return the mix at a share, and the sentences that say why it is so: {stage, words}.
export function momentOf(study, share) {
  const { path, first, toward, peak, addition, mix, added } = study, stage = stageAt(path, share);
  if (share === 0) return { stage, words: [aloneWords(first, mix)] };
  const evenly = addition === "black" ? evenlyScattered(path, share) : null;
  return { stage, words: stepWords(first, stage, toward, peak, addition, mix, added, evenly) };
}

const ANSWERS = {
  white: "the peak is", black: "half is gone", grey: "half is gone", mix: "the most neutral is",
};

// Return what is said once the guess is put down: of it and of where the answer lies; then more.
export function answerWords(study, guess) {
  const { report, addition, answer, cancel, first, toward, added, path } = study;
  const chroma = (share) => chromaOf(cancel ? letDown(path, share) : labAt(path, share));
  const at = (share) => `${percentText(share)}, C* ${figure(chroma(share))}`;
  const said = [];
  if (answer === null) {
    said.push(addition !== "white" && report.start.chroma >= NAMED
      ? "Half of the chroma is never gone here." : "There is hardly any chroma here to guess at.");
  } else {
    const near = Math.abs(chroma(guess) - chroma(answer)) <= NEAR ? " To the eye you are there." : "";
    said.push(`You guessed ${at(guess)}; ${ANSWERS[addition]} at ${at(answer)}.${near}`);
  }
  if (addition === "white" && report.peak.chroma > report.start.chroma + 1 && report.peak.chroma >= NAMED) {
    said.push(strengthWords(report));
  }
  if (cancel && first.point.chroma >= NAMED) said.push(...cancelWords(cancel, first, toward, added));
  return said;
}

// --- what is seen ------------------------------------------------------------------------------

const REFLECTANCE = {
  place: (value, bottom, top) => bottom + value * (top - bottom), filled: true, line: null, zones: [],
  ticks: [[0, "0"], [0.5, "50"], [1, "100 %"]],
};
const logOf = (value) => Math.log10(Math.min(Math.max(value, LEAST_RATIO), MOST_RATIO));
const RATIO = {
  place: (value, bottom, top) => bottom
    + ((logOf(value) - logOf(LEAST_RATIO)) / (logOf(MOST_RATIO) - logOf(LEAST_RATIO))) * (top - bottom),
  filled: false, line: 1, ticks: [[0.01, "0.01"], [1, "1"], [100, "100"]],
  zones: [[180, "absorbs more"], [0.00025, "scatters more"]],
};

const captioned = (title, kind) => {
  const host = make("div", { className: "chart" });
  return { host, figure: make("figure", { className: kind }, make("figcaption", {}, title), host) };
};

// Return a study's place on the page. setting: {view, ...}; act: {pick(kind, id), touch(share),
// guess(), anew()}: what is done where the student acts.
export function studyView(setting, spectrum, act, name) {
  const at = (kind, tag = "div") => make(tag, { className: kind, "data-role": kind });
  const parts = {
    before: make("span", { className: "patch before" }), patch: make("span", { className: "patch" }),
    tint: make("span", { className: "patch tint", hidden: true }), munsell: at("munsell", "b"),
    figures: at("figures", "span"), clipped: at("clipped", "span"), words: at("words"),
    told: make("div", { className: "told", "data-role": "told", role: "status" }),
    further: at("further"), question: at("question", "p"),
  };
  const paint = make("select", { "data-role": "paint", on: { change: () => act.pick("paint", paint.value) } });
  const other = make("select", { "data-role": "other", on: { change: () => act.pick("other", other.value) } });
  const swatch = make("div", { className: "swatch-large", role: "img" }, parts.before, parts.patch, parts.tint);
  const put = make(
    "button", { type: "button", "data-role": "guess", on: { click: act.guess } }, "I guess here",
  );
  const anew = make("button", {
    type: "button", className: "quiet", "data-role": "anew", on: { click: act.anew },
  }, "Guess anew");
  const along = captioned("Chroma C*, value (dashed, right)", "along");
  const reflected = captioned("Reflectance (dotted: by itself)", "reflected");
  const ratio = captioned("K/S: absorption / scattering", "ratio");
  along.host.append(make("div", { className: "ask", "data-role": "ask" }, parts.question, put));
  const charts = {
    along: shareChart(along.host, act.touch), ratio: waveChart(ratio.host, RATIO, spectrum),
    reflected: waveChart(reflected.host, REFLECTANCE, spectrum),
  };
  const element = make(
    "section", { className: "study", "aria-label": name },
    make("div", { className: "picks" }, make("label", {}, "Paint", paint), make("label", {}, "With", other)),
    make("div", { className: "seen" }, swatch,
      make("p", { className: "now" }, parts.munsell, " ", parts.figures, parts.clipped)),
    along.figure, reflected.figure, ratio.figure,
    make("div", {
      className: "reason", tabIndex: 0, role: "region", "aria-label": `Why, ${name.toLowerCase()}`,
    }, make("div", { className: "lines" }, parts.told, parts.words, parts.further, anew)),
  );
  return { element, parts, paint, other, swatch, anew, ask: along.host.querySelector(".ask"), charts, setting,
    caption: along.figure.firstChild };
}

// Show what does not move with the slider: the chart along the share, hidden before the guess.
export function layStudy(view, lesson, study, guess, shown) {
  const { ladder, report, answer, addition, cancel, mix, added } = study;
  view.parts.before.style.backgroundColor = ladder.colours[0];
  view.parts.question.textContent = LESSONS[lesson].ask;
  view.caption.textContent = cancel
    ? "C* (dotted: let down), value (dashed)" : "Chroma C*, value (dashed, right)";
  for (const part of view.element.querySelectorAll("figcaption, .told")) part.dataset.name = mix;
  view.ask.hidden = shown;
  view.anew.hidden = !shown || answer === null;
  const told = shown ? answerWords(study, guess) : [];
  view.parts.told.replaceChildren(...paragraphs(told.slice(0, 1)));
  view.parts.further.replaceChildren(...paragraphs(told.slice(1)));
  if (!shown) {
    view.charts.along.lay(null);
    return;
  }
  const what = { white: "peak", black: "half gone", grey: "half gone", mix: "neutral" }[addition];
  const marks = answer === null ? [] : [
    { share: answer, text: `${what} ${percentText(answer)}`, level: 0, kind: "answer" },
  ];
  if (guess !== null) {
    const side = guess >= answer ? "start" : "end"; // away from the line of the answer
    marks.push({ share: guess, text: `guess ${percentText(guess)}`, level: 1, kind: "guessed", side });
  }
  const range = addition === "white" && answer > 0 && answer < 1
    ? STRENGTHS.map((times) => peakAtStrength(report, times)) : null;
  const place = answer === null ? "" : `${what} at ${percentText(answer)}, `;
  const last = ladder.chroma.length - 1;
  view.charts.along.lay({
    places: PLACES, ...ladder, marks, range,
    words: `Chroma against the share of ${added}: C* ${figure(ladder.chroma[0])} by itself, `
      + `${place}C* ${figure(ladder.chroma[last])} at the end; `
      + `value from ${figure(ladder.value[0])} to ${figure(ladder.value[last])}`
      + `${cancel ? `; let down with white C* ${figure(cancel.left)} is left` : ""}`,
  });
}

// Show a study at a share; before the guess chroma and the reason stay hidden. Returns what is said.
export function showStudy(view, study, share, shown) {
  const { stage, words } = momentOf(study, share), { point, maxima, minima } = stage;
  const { parts, charts, setting } = view, colour = labToHex(point.lab, setting.view);
  parts.patch.style.backgroundColor = colour;
  parts.tint.hidden = study.cancel === null;
  if (study.cancel) parts.tint.style.backgroundColor = labToHex(letDown(study.path, share), setting.view);
  const named = shown ? `${point.munsell}, C* ${figure(point.chroma)}` : `value ${figure(point.value)}`;
  view.swatch.setAttribute("aria-label", `${study.mix}, ${percentText(share)} of ${study.added}: ${named}`);
  parts.munsell.textContent = shown ? point.munsell : "";
  parts.figures.textContent = shown
    ? `C* ${figure(point.chroma)}, value ${figure(point.value)}` : `value ${figure(point.value)}`;
  parts.clipped.textContent = onScreen(point.lab, setting.view) ? "" : " (clipped)";
  parts.words.replaceChildren(...paragraphs(shown ? words : [BEFORE]));
  const [most, least] = [maxima[0], minima[0]];
  charts.reflected.show(stage.reflectance, study.first.reflectance, colour, [
    { nm: most.nm, value: most.height, text: percentText(most.height) },
    { nm: least.nm, value: least.height, text: percentText(least.height) },
  ], `Reflectance: most, ${percentText(most.height)}, at ${most.nm} nm; `
    + `least, ${percentText(least.height)}, at ${least.nm} nm`);
  const ratios = ({ k, s }) => k.map((one, i) => one / s[i]), now = ratios(stage);
  const scatters = now.filter((one) => one < 1).length;
  charts.ratio.show(now, ratios(study.first), colour, [],
    `K over S: scattering dominates at ${counted(scatters, "wavelength")} of ${now.length}`);
  charts.along.show(share);
  return named;
}

// within half a level of eight bits
const LEAST_SHOWN = -0.5 / 255 / 12.92, MOST_SHOWN = ((1 + 0.5 / 255 + 0.055) / 1.055) ** 2.4;
const onScreen = (lab, view) => labToRgb(lab, view).every((v) => v >= LEAST_SHOWN && v <= MOST_SHOWN);

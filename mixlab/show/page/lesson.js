// The lesson: its state, the slider, the choices, and drawing once a frame.

import { placeOfShare, shareOfPlace, spectrumOf } from "./charts.js";
import { make, role } from "./dom.js";
import { complementAmong, pileOf, unpacked } from "./ladder.js";
import { renotationOf } from "./munsell.js";
import { LESSONS, layStudy, plainName, showStudy, studied, studyView } from "./study.js";
import { percentText } from "./why.js";

const data = JSON.parse(document.getElementById("data").textContent);
const view = { weights: data.weights, white: data.white, specular: data.specular };
const setting = { surface: data.surface, view, table: renotationOf(data.munsell) };
const paints = unpacked(data.paints);
const paintOf = (id) => paints.find((paint) => paint.id === id);
const white = paintOf(data.white_id);

const STEPS = 1000; // of the slider
const state = { lesson: data.lesson, share: 0, two: false, due: false, timer: 0 };
const studies = [];
const slider = role("share");

// --- shares ------------------------------------------------------------------------------------

// a share as it is set: tenths of a percent near the ends, else whole ones
function setAt(share) {
  const percent = 100 * Math.min(Math.max(share, 0), 1), fine = percent < 10 || percent > 90;
  return fine ? Math.round(10 * percent) / 1000 : Math.round(percent) / 100;
}

// the next share up or down; by more, five percent
function stepFrom(share, way, more) {
  const tenths = Math.round(1000 * share), inner = way > 0 ? tenths : tenths - 1;
  const by = more ? 50 : inner < 100 || inner >= 900 ? 1 : 10;
  return setAt((tenths + way * by) / 1000);
}

function setShare(share) {
  state.share = setAt(share);
  slider.value = Math.round(STEPS * placeOfShare(state.share));
  draw();
}

// --- what is added -----------------------------------------------------------------------------

function othersOf(lesson, paint) {
  if (lesson === "white") return paints.filter((one) => one.white && one !== paint);
  if (lesson === "black") return paints.filter((one) => one.black && one !== paint);
  if (lesson === "grey") return [];
  return paints.filter((one) => !one.white && one !== paint);
}

const remembered = new Map();

function usualOther(lesson, paint) {
  if (lesson !== "complement") {
    const some = othersOf(lesson, paint), usual = lesson === "white" ? data.white_id : data.black_id;
    return some.find((one) => one.id === usual) ?? some[0];
  }
  if (!remembered.has(paint.id)) {
    const tubes = paints.filter((one) => one.tube && one.chromatic && one !== paint);
    const found = complementAmong(tubes, paint, white, setting);
    remembered.set(paint.id, found ?? othersOf(lesson, paint)[0]);
  }
  return remembered.get(paint.id);
}

function towardOf(lesson, paint, other) {
  if (lesson !== "grey") return { ...other, name: plainName(other) };
  const parts = Object.entries(data.greys[paint.id]).map(([id, n]) => [paintOf(id), n]);
  return { ...pileOf(parts), name: "the grey" };
}

// --- studies -----------------------------------------------------------------------------------

function addStudy(id) {
  const study = { paint: paintOf(id), other: null, guesses: new Map(), made: null };
  const act = {
    pick(kind, chosen) {
      study[kind] = paintOf(chosen);
      if (kind === "paint") study.other = null;
      remake(study);
      draw();
    },
    touch: setShare,
    guess() {
      study.guesses.set(keyOf(study), state.share);
      lay(study);
      draw();
      study.view.anew.focus({ preventScroll: true });
    },
    anew() {
      study.guesses.delete(keyOf(study));
      lay(study);
      draw();
    },
  };
  study.view = studyView(setting, spectrum, act, studies.length ? "Second paint" : "First paint");
  studies.push(study);
  role("studies").append(study.view.element);
  remake(study);
}

const spectrum = spectrumOf(view);
const keyOf = ({ paint, other }) => [state.lesson, paint.id, other?.id].join(" ");
const isShown = (study) => study.made.answer === null || study.guesses.has(keyOf(study));

function optionsOf(some, chosen) {
  const option = (one) => make("option", { value: one.id, selected: one === chosen }, plainName(one));
  const group = (label, list) => (list.length ? [make("optgroup", { label }, ...list.map(option))] : []);
  return [
    ...group("Tubes at hand", some.filter((one) => one.tube)),
    ...group("Other paints", some.filter((one) => !one.tube)),
  ];
}

// compute a study anew: another paint, addition or lesson
function remake(study) {
  const { lesson } = state, some = othersOf(lesson, study.paint);
  if (lesson === "grey") study.other = null;
  else if (!some.includes(study.other)) study.other = usualOther(lesson, study.paint);
  const { paint, other } = study.view;
  paint.replaceChildren(...optionsOf(paints.filter((one) => lesson !== "white" || !one.white), study.paint));
  other.replaceChildren(...(lesson === "grey"
    ? [make("option", {}, `a grey of its value`)] : optionsOf(some, study.other)));
  other.disabled = lesson === "grey";
  study.made = studied(lesson, study.paint, towardOf(lesson, study.paint, study.other), white, setting);
  lay(study);
}

function lay(study) {
  const key = keyOf(study);
  layStudy(study.view, state.lesson, study.made, study.guesses.get(key) ?? null, isShown(study));
  track();
}

// the slider's track is the ladder itself
function track() {
  const across = ({ made }) => `linear-gradient(to right, ${made.ladder.colours.join(",")})`;
  const rows = studies.filter(({ made }) => made).map(across);
  const size = rows.map(() => `100% ${100 / rows.length}%`).join(",");
  const place = rows.length > 1 ? "0 0, 0 100%" : "0 0";
  const band = role("track").style;
  [band.backgroundImage, band.backgroundSize, band.backgroundPosition] = [rows.join(","), size, place];
}

// --- drawing -----------------------------------------------------------------------------------

function draw() {
  if (state.due) return;
  state.due = true;
  requestAnimationFrame(() => {
    state.due = false;
    const began = performance.now();
    const said = studies.map((study) => showStudy(study.view, study.made, state.share, isShown(study)));
    const share = percentText(state.share), { added } = studies[0].made;
    const alike = studies.every((study) => study.made.added === added);
    role("share-of").textContent = alike ? added : "added";
    role("share-text").textContent = share;
    slider.setAttribute("aria-valuetext", `${share} of ${added}: ${said.join("; ")}`);
    slider.dataset.time = (performance.now() - began).toFixed(2);
    slider.dataset.share = state.share;
  });
}

function begin(lesson) {
  state.lesson = lesson;
  role("title").textContent = LESSONS[lesson].title;
  document.title = LESSONS[lesson].title;
  for (const study of studies) remake(study);
  slider.setAttribute("aria-label", `Share of ${lesson}`);
  draw();
}

function setTwo(two) {
  state.two = two;
  role("two").setAttribute("aria-pressed", String(two));
  if (two) addStudy(data.second);
  else studies.pop().view.element.remove();
  role("studies").dataset.count = studies.length;
  track();
  draw();
}

slider.addEventListener("input", () => {
  state.share = setAt(shareOfPlace(slider.value / STEPS));
  draw();
});
const KEYS = {
  ArrowRight: [1], ArrowUp: [1], ArrowLeft: [-1], ArrowDown: [-1], PageUp: [1, true], PageDown: [-1, true],
};
slider.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.key === "Home" || event.key === "End") setShare(event.key === "Home" ? 0 : 1);
  else if (KEYS[event.key]) setShare(stepFrom(state.share, ...KEYS[event.key]));
  else return;
  event.preventDefault();
});
role("less").addEventListener("click", () => setShare(stepFrom(state.share, -1)));
role("more").addEventListener("click", () => setShare(stepFrom(state.share, 1)));
role("two").addEventListener("click", () => setTwo(!state.two));
for (const choice of document.querySelectorAll("[name=lesson]")) {
  choice.checked = choice.value === state.lesson;
  choice.addEventListener("change", () => begin(choice.value));
}
addStudy(data.first);
begin(state.lesson);
setShare(0);
requestAnimationFrame(() => { document.documentElement.dataset.ready = ""; });

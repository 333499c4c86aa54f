// view.js: the page as a whole: tabs, pictures from the device, a typed colour; and its start

import { hexToLab } from "./colour.js";
import { cautionsFor, startAnswer } from "./answer.js";
import { startBench } from "./bench.js";
import { make, pause, role } from "./dom.js";
import { photoLab, readPicture, thinned } from "./picture.js";
import { announce, ask, data, hear, nameOf, recall, remember, restart, setKey, state, want } from "./state.js";
import { colourAt, show, startTouch } from "./touch.js";
import { startList } from "./list.js";
import { startSheet } from "./sheet.js";
import { startTones } from "./tones.js";
import { startTubes } from "./tubes.js";

const KEY_PIXELS = 100_000; // of a picture, that its key is worked out from

// --- tabs ------------------------------------------------------------------------------------------

const tabs = [...document.querySelectorAll("[role=tab]")];

function choose(tab, focus = false) {
  for (const other of tabs) {
    const isIt = other === tab;
    other.setAttribute("aria-selected", String(isIt));
    other.tabIndex = isIt ? 0 : -1;
    document.getElementById(other.getAttribute("aria-controls")).hidden = !isIt;
  }
  if (focus) tab.focus();
  document.querySelector("main").dataset.tab = tab.id.slice(4);
  goToPanel(tab.id);
  announce(tab.getAttribute("aria-controls"));
}

/** On a phone, bring what the tab is about into sight; elsewhere it is. */
function goToPanel(id) {
  if (!matchMedia("(max-width: 899px)").matches) return;
  const to = { "tab-mix": null, "tab-value": null, "tab-help": "panel-help", "tab-list": "panel-list", "tab-pile": "panel-pile" }[id];
  const top = to === null ? 0 : to ? document.getElementById(to).offsetTop : document.querySelector(".side").offsetTop;
  scrollTo({ top, behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
}

function startTabs() {
  tabs.forEach((tab, i) => {
    tab.addEventListener("click", () => choose(tab));
    tab.addEventListener("keydown", (event) => {
      const to = { ArrowRight: i + 1, ArrowLeft: i - 1, Home: 0, End: tabs.length - 1 }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      choose(tabs[(to + tabs.length) % tabs.length], true);
    });
  });
}

// --- pictures --------------------------------------------------------------------------------------

/** Take up a picture: from the page itself, a file, the camera or a drop. */
async function takePicture(blob, name) {
  try {
    const picture = await readPicture(blob, name);
    picture.lab = (rgb) => photoLab(rgb, state.grey, data);
    picture.labs = () => labsOf(picture);
    Object.assign(state, { picture, pictureName: name, grey: null });
    announce("fault", "");
    role("held").hidden = role("under").hidden = false;
    role("empty").hidden = true;
    show(picture.canvas);
    announce("picture");
    if (state.started) await setKey();
    announce("again");
    remember();
  } catch (error) {
    announce("fault", error.message);
  }
}

const SLICE = 9000; // numbers at once: the page hears between

/** CIELAB of the thinned picture, cast taken out; kept until another grey is touched. */
async function labsOf(picture) {
  const { grey } = state;
  if (picture.known?.grey === grey) return picture.known.labs;
  const some = thinned(picture, KEY_PIXELS);
  const labs = new Float32Array(some.length);
  for (let at = 0; at < some.length; at += 3) {
    labs.set(photoLab(some.slice(at, at + 3), grey, data), at);
    if (at % SLICE === 0) await pause();
  }
  picture.known = { grey, labs };
  return labs;
}

function startPictures() {
  for (const name of ["file", "camera"]) {
    role(name).addEventListener("change", (event) => {
      const [file] = event.target.files;
      event.target.value = "";
      if (file) takePicture(file, file.name);
    });
  }
  addEventListener("dragover", (event) => event.preventDefault());
  addEventListener("drop", (event) => {
    event.preventDefault();
    const [file] = event.dataTransfer.files;
    if (file) takePicture(file, file.name);
  });
}

/** The picture that the page carries. */
function carried() {
  const [head, body] = data.picture.src.split(",");
  const bytes = Uint8Array.from(atob(body), (character) => character.charCodeAt(0));
  return takePicture(new Blob([bytes], { type: head.slice(5).split(";")[0] }), data.picture.name);
}

// --- a typed colour --------------------------------------------------------------------------------

/** CIELAB of what was typed: hex, L*,a*,b*, or Munsell. */
async function typedLab(text) {
  const numbers = text.split(",").map(Number);
  if (numbers.length === 3 && numbers.every(Number.isFinite)) {
    if (numbers[0] < 0 || numbers[0] > 100 || Math.hypot(numbers[1], numbers[2]) > 200) {
      throw new Error("L* lies between 0 and 100, and no surface has C* above 200");
    }
    return numbers;
  }
  return hexToLab(text, data) ?? (await ask({ ask: "munsell", text })).lab;
}

function startTyped() {
  role("typed-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const touched = performance.now();
    try {
      const lab = await typedLab(role("typed").value);
      announce("fault", "");
      want({ lab, touched });
    } catch (error) {
      announce("fault", error.message);
    }
  });
  hear("asked", (lab) => want({ lab }));
}

// --- all of it -------------------------------------------------------------------------------------

/** Ask again for what is shown, after tubes, key or cast have changed. */
function again() {
  const { wanted, picture } = state;
  if (!wanted) return;
  const { place } = wanted;
  const seen = place && picture ? colourAt(place.x, place.y, place.radius) : null;
  want({ ...wanted, ...(seen ?? {}), touched: wanted.answered ? undefined : wanted.touched, answered: false });
}

function showCautions() {
  role("cautions").replaceChildren(...cautionsFor(state.tubes).flatMap(({ text, paints }) => [
    make("dt", {}, paints.map(nameOf).join(", ")), make("dd", {}, `${text}.`)]));
}

async function startPage() {
  recall();
  startTabs();
  startTouch();
  startAnswer();
  startTubes();
  startTones();
  startBench();
  startList();
  startSheet();
  startPictures();
  startTyped();
  hear("fault", (text) => { role("notice").textContent = text; });
  hear("said", (text) => { role("spoken").textContent = text; });
  for (const event of ["ready", "again"]) hear(event, again);
  hear("cast", async () => {
    await setKey();
    announce("again");
  });
  hear("ready", () => {
    showCautions();
  });
  await Promise.all([restart(), data.picture ? carried() : null]);
  document.documentElement.dataset.ready = "";
}

startPage();

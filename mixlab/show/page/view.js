// view.js: the page as a whole: tabs, pictures from the device, a typed colour; and its start

import { hexToLab } from "./colour.js";
import { cautionsFor, startAnswer } from "./answer.js";
import { startBench } from "./bench.js";
import { make, role } from "./dom.js";
import { dropPicture, keepPicture, keptPicture, readPicture } from "./picture.js";
import {
  announce, ask, data, hear, nameOf, recall, remember, restart, setKey, state, STORE, want,
} from "./state.js";
import { colourAt, startTouch } from "./touch.js";
import { startList } from "./list.js";
import { startPlan } from "./plan.js";
import { startSheet } from "./sheet.js";
import { startTones } from "./tones.js";
import { startTubes } from "./tubes.js";

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

/** Take up a picture: from the page itself, a file, the camera or a drop; a new one is kept. */
async function takePicture(file, name, isNew = true) {
  try {
    const picture = await readPicture(file, name);
    Object.assign(state, { picture, grey: null });
    announce("fault", "");
    role("held").hidden = role("under").hidden = false;
    role("empty").hidden = true;
    role("carried").hidden = !data.picture || file === data.picture.src;
    announce("picture");
    if (state.started) await setKey();
    announce("again");
    remember();
    if (isNew) await keepForReload(file, name);
  } catch (error) {
    announce("fault", error.message);
  }
}

/** Back to the picture that the page carries, from one that was taken here. */
async function goBack() {
  await dropPicture(STORE);
  await takePicture(data.picture.src, data.picture.name, false);
}

async function keepForReload(file, name) {
  const isKept = await keepPicture(STORE, file, name);
  role("held").dataset.kept = isKept ? "kept" : "not";
  if (!isKept) announce("fault", "This browser does not keep the picture itself: choose it again after a reload.");
}

function startPictures() {
  for (const name of ["file", "camera"]) {
    role(name).addEventListener("change", (event) => {
      const [file] = event.target.files;
      event.target.value = "";
      if (file) takePicture(file, file.name);
    });
  }
  role("carried").addEventListener("click", goBack);
  addEventListener("dragover", (event) => event.preventDefault());
  addEventListener("drop", (event) => {
    event.preventDefault();
    const [file] = event.dataTransfer.files;
    if (file) takePicture(file, file.name);
  });
}

/** The picture that was taken here before, or the one that the page carries. */
async function firstPicture() {
  const kept = await keptPicture(STORE);
  if (kept) await takePicture(kept.file, kept.name, false);
  if (!state.picture && data.picture) await takePicture(data.picture.src, data.picture.name, false);
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
  const planning = startPlan();
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
  await Promise.all([restart(), firstPicture(), planning]);
  document.documentElement.dataset.ready = "";
}

startPage();

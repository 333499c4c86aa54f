// list.js: the passages: kept, named, moved, deleted, ordered, saved and read

import { pairOf, recipeWords } from "./answer.js";
import { counted, figure, make, role } from "./dom.js";
import { massOfPassage, massWords, pileWords, plannedAnswer } from "./plan.js";
import { MOST_PASSAGES, nameFrom, readPassages, writtenPassages } from "./passages.js";
import { announce, ask, data, hear, isHere, lastOnly, remember, state } from "./state.js";
import { shown } from "./text.js";
import { colourAt, goTo } from "./touch.js";

/** Ask anew what every passage is mixed of. */
const answerAll = lastOnly(async (isStale) => {
  if (!state.started) return;
  for (const passage of state.passages) {
    const mass = massOfPassage(passage);
    if (mass) {
      Object.assign(passage, { lab: mass.wanted.lab, answer: plannedAnswer(mass) });
      continue;
    }
    const here = isHere(passage), seen = here ? colourAt(passage.x, passage.y, passage.radius) : null;
    if (seen) passage.lab = seen.lab;
    if (!passage.lab) continue;
    const keyed = here && Boolean(state.keyed);
    passage.answer = await ask({ ask: "recipe", lab: passage.lab, keyed });
    if (isStale()) return;
  }
  remember();
  showList();
});

function showList() {
  const list = state.passages;
  role("list-text").textContent = list.length
    ? `${counted(list.length, "passage")}, kept in this browser.`
    : "None yet. Touch the picture and keep the place.";
  role("passages").replaceChildren(...list.map(itemOf));
  announce("passages");
}

function itemOf(passage, i) {
  const { answer } = passage, mass = massOfPassage(passage);
  const name = make("input", {
    type: "text", maxLength: 120, value: passage.name, "aria-label": `name of passage ${i + 1}`,
    on: { change: (event) => { passage.name = nameFrom(event.target.value); remember(); announce("passages"); } },
  });
  const button = (text, words, act, disabled = false) =>
    make("button", { type: "button", "aria-label": `${words} passage ${i + 1}`, disabled, on: { click: act } }, text);
  return make("li", {},
    make("span", { className: "count", "aria-hidden": "true" }, String(i + 1)),
    answer ? pairOf(answer.wanted.hex, answer.recipe.hex) : make("span", {}),
    name,
    make("p", { className: "mix" }, ...(mass ? pileWords(mass) : answer ? recipeWords(answer.recipe) : ["its picture is not here"])),
    answer ? make("p", { className: "small" }, `N ${figure(answer.wanted.value)}, ${answer.wanted.munsell}, miss ${figure(answer.recipe.miss)}${mass ? `; ${massWords(mass)}` : ""}`) : "",
    make("div", { className: "buttons" },
      button("Show", "show", () => showPassage(passage), !passage.lab && !isHere(passage)),
      button("Move here", "move to the touched place", () => move(passage), !state.wanted?.place),
      button("\u2191", "up with", () => shift(i, -1), i === 0),
      button("\u2193", "down with", () => shift(i, 1), i === state.passages.length - 1),
      button("Delete", "delete", () => remove(i))));
}

function showPassage(passage) {
  if (isHere(passage)) goTo(passage);
  else announce("asked", passage.lab);
  scrollTo({ top: 0, behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
}

function move(passage) {
  Object.assign(passage, state.wanted.place, { lab: state.wanted.lab, of: ofPicture(), plan: undefined });
  answerAll();
}

function shift(i, step) {
  const [passage] = state.passages.splice(i, 1);
  state.passages.splice(i + step, 0, passage);
  remember();
  showList();
  const again = role("passages").children[i + step].querySelectorAll("button");
  (again[step < 0 ? 2 : 3].disabled ? again[step < 0 ? 3 : 2] : again[step < 0 ? 2 : 3]).focus();
}

function remove(i) {
  state.passages.splice(i, 1);
  remember();
  showList();
  (role("passages").children[Math.min(i, state.passages.length - 1)]?.querySelector("button:last-child") ?? role("order")).focus();
}

/** Keep the place that was touched, or the colour that was typed. */
function keepWanted() {
  const { wanted, answer, passages } = state;
  if (!wanted || !answer) return announce("fault", "First a colour: touch the picture, or type one.");
  if (passages.length >= MOST_PASSAGES) return announce("fault", `At most ${MOST_PASSAGES} passages are kept.`);
  passages.push({
    name: `place ${passages.length + 1}`, ...wanted.place, lab: wanted.lab, answer, of: wanted.place && ofPicture(),
  });
  remember();
  showList();
  announce("said", `kept as passage ${passages.length}`);
}

/** What tells the picture again that a place belongs to. */
function ofPicture() {
  const { name, fullWidth, fullHeight } = state.picture;
  return { name, width: fullWidth, height: fullHeight };
}

function save() {
  if (!state.passages.length) return announce("fault", "There are no passages yet that could be saved.");
  const text = writtenPassages(state.passages, state.picture && ofPicture(), data.view, isHere);
  const link = make("a", { href: URL.createObjectURL(new Blob([text], { type: "application/json" })), download: "passages.json" });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

async function load(event) {
  const [file] = event.target.files;
  event.target.value = "";
  if (!file) return;
  try {
    const places = await readPassages(file, data), room = MOST_PASSAGES - state.passages.length;
    if (places.length > room) throw new Error(`${shown(file.name)}: it holds ${counted(places.length, "passage")}; there is room for ${room} more`);
    state.passages.push(...places);
    announce("fault", "");
    remember();
    answerAll();
  } catch (error) {
    announce("fault", error.message);
  }
}

export function startList() {
  role("keep").addEventListener("click", keepWanted);
  role("save").addEventListener("click", save);
  role("load").addEventListener("change", load);
  role("order").addEventListener("click", () => {
    const lightness = ({ answer, lab }) => answer?.wanted.lab[0] ?? lab?.[0] ?? 100;
    state.passages.sort((a, b) => lightness(a) - lightness(b));
    remember();
    showList();
  });
  hear("keep", keepWanted);
  for (const event of ["ready", "again"]) hear(event, () => answerAll());
  hear("answer", () => { // the place to move to is known now
    for (const button of role("passages").querySelectorAll("button")) {
      if (button.textContent === "Move here") button.disabled = !state.wanted?.place;
    }
  });
  showList();
}

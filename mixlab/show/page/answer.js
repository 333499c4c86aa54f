// answer.js: the wanted colour and the mixed one side by side, the recipe in words, its order

import { figure, isLight, make, missWords, partsText, patchOf, role } from "./dom.js";
import { announce, ask, hear, nameOf, paintById, state } from "./state.js";

const REST = 400; // without a touch, after which what takes longer is looked for [ms]

/** The terms of a mix, each of them never parted: the number and its paint. */
export function termsOf(parts, before = []) {
  const terms = Object.entries(parts).map(([id, number]) =>
    make("span", { className: "term" }, make("b", {}, partsText(number)), ` ${nameOf(id)}`));
  return [...before, ...terms].flatMap((term, i) => (i ? [" + ", term] : [term]));
}

/** A recipe in words: at once, or by way of a first mix of which a part is taken. */
export function recipeWords(recipe) {
  const way = recipe.twoSteps;
  if (!way) return termsOf(recipe.parts);
  const taken = make("span", { className: "term" }, make("b", {}, partsText(way.taken)), " of that");
  return [
    make("span", { className: "first" }, "first ", ...termsOf(way.first), "; "),
    make("span", { className: "then" }, "then ", ...termsOf(way.then, [taken])),
  ];
}

/** Value, hue and chroma of a colour, and how it is on a screen. */
function colourWords({ munsell, value, hex }) {
  const chroma = munsell.split("/")[1];
  return [
    make("b", {}, `value ${figure(value)}`), chroma ? `, chroma ${chroma}` : ", neutral", make("br"),
    make("span", { className: "munsell" }, munsell), " ", make("span", { className: "hex" }, hex),
  ];
}

function showAnswer({ wanted, result }) {
  const box = role("answer");
  const { recipe } = result;
  box.dataset.lab = result.wanted.lab.join(",");
  box.dataset.recipe = recipe.notation;
  box.dataset.mixed = recipe.lab.join(",");
  box.dataset.miss = recipe.miss;
  role("pair").hidden = role("captions").hidden = false;
  for (const [name, colour, words] of [["wanted", result.wanted, "wanted"], ["mixed", recipe, "mixed"]]) {
    const patch = role(name);
    patch.style.backgroundColor = colour.hex;
    patch.setAttribute("aria-label", `${words} ${colour.munsell}`);
    role(`${name}-text`).replaceChildren(...colourWords(colour));
  }
  role("recipe").replaceChildren(...recipeWords(recipe));
  role("verdict").replaceChildren(...verdict(result));
  role("more").replaceChildren(...more(result));
  if (wanted.spoken !== false) {
    role("spoken").textContent = `${role("recipe").textContent}. Miss ${figure(recipe.miss)}, ${missWords(recipe.miss)}.`;
  }
  if (wanted.touched !== undefined) {
    box.dataset.time = figure(performance.now() - wanted.touched);
    box.dataset.count = Number(box.dataset.count ?? 0) + 1; // two answers may take the same time
  }
}

/** How near it comes, in words; what is out of reach first. */
function verdict({ recipe, inReach, outOfReach }) {
  const said = [];
  if (!inReach && outOfReach) {
    said.push(make("b", {}, "Out of reach"), `: the wanted colour is ${outOfReach.directions.join(" and ")}. `);
  }
  said.push("Miss ", make("b", {}, figure(recipe.miss)), `, ${missWords(recipe.miss)}.`);
  if (inReach && recipe.miss > state.tolerance) {
    said.push(" A nearer mix exists, but not in parts that a knife can measure.");
  }
  if (outOfReach?.givenUp) said.push(` Given up: ${outOfReach.givenUp}.`);
  return said;
}

/** The order, how sure it is, other tubes, cautions. */
function more({ recipe, simpler, others, wanted, inReach }) {
  const parts = inReach ? [] : [make("p", { className: "helper", "data-role": "helper", hidden: true })];
  parts.push(make("h2", {}, "In this order"), stepColumn(recipe, wanted));
  const known = [];
  if (recipe.sensitivity) {
    const { paint, moved } = recipe.sensitivity;
    known.push(`A quarter part of ${nameOf(paint)} more or less moves it by ${figure(moved)}.`);
  }
  known.push(recipe.likelyError === null || recipe.likelyError === undefined
    ? "How near the paint itself comes is not known: mix a little first."
    : `The paint itself likely comes within about ${Math.max(1, Math.round(recipe.likelyError))} of it.`);
  parts.push(make("p", { className: "hint" }, known.join(" ")));
  if (simpler) {
    const words = `miss ${figure(simpler.miss)}, which these curves cannot tell from ${figure(recipe.miss)}`;
    const less = Object.keys(simpler.parts).length < Object.keys(recipe.parts).length;
    parts.push(make("h2", {}, less ? "A tube less" : "Of everyday tubes"), make("ul", { className: "others" }, otherOf(simpler, wanted, words)));
  }
  if (others?.length) {
    parts.push(make("h2", {}, "Other tubes"), make("ul", { className: "others" }, ...others.map((other) =>
      otherOf(other, wanted, `miss ${figure(other.miss)}`))));
  }
  if (recipe.cautions?.length) {
    parts.push(make("h2", {}, "Cautions"), make("ul", { className: "cautions" }, ...recipe.cautions.map(({ text, paints }) =>
      make("li", {}, make("b", {}, paints.map(nameOf).join(", ")), `: ${text}.`))));
  }
  return parts;
}

/** Another recipe: the wanted colour and its own, the parts, and how near it comes. */
function otherOf(other, wanted, words) {
  return make("li", {}, pairOf(wanted.hex, other.hex),
    make("span", {}, ...termsOf(other.parts), make("span", { className: "small" }, words)));
}

/** Two small patches that touch. */
export function pairOf(one, other) {
  return make("span", { className: "small-pair", "aria-hidden": "true" }, patchOf(one), patchOf(other));
}

/** What a step adds: a paint, or of the first mix. */
export const stepName = ({ paint }) => (paint === "first-mix" ? "of the first mix" : nameOf(paint));

/** Additions as a column of touching patches: the colour after each; the last lies beside the wanted. */
function stepColumn(recipe, wanted) {
  const { steps } = recipe;
  return make("ol", { className: "steps" }, ...steps.map((step, i) => {
    const patch = patchOf(step.hex, "patch");
    if (i === steps.length - 1) {
      patch.append(patchOf(wanted.hex, "patch aim"));
      patch.classList.add(isLight(step.hex) ? "light" : "dark");
    }
    return make("li", {}, patch, make("span", {},
      make("span", { className: "term" }, make("b", {}, partsText(step.parts)), ` ${stepName(step)}`),
      make("span", { className: "small" }, step.munsell)));
  }));
}

/** Cautions of paints, each once, with the paints that it is for. */
export function cautionsFor(ids) {
  const by = new Map();
  for (const id of ids) {
    const text = paintById.get(id)?.cautions;
    if (text) by.set(text, [...(by.get(text) ?? []), id]);
  }
  return [...by].map(([text, paints]) => ({ text, paints }));
}

// --- the paint that would help -----------------------------------------------------------------------

/** Out of reach, once nobody has touched for a while: look which paint would help, one at a time. */
async function showHelper({ result }) {
  if (result.inReach) return;
  await new Promise((resolve) => setTimeout(resolve, REST));
  for (let turn = 0, more = true; more; turn++) {
    if (state.answer !== result) return;
    const found = await ask({ ask: "help", lab: result.wanted.lab, turn });
    if (state.answer !== result) return;
    more = found.more;
    if (!more) tellHelper(found.helper);
  }
}

function tellHelper(helper) {
  const line = role("helper");
  line.hidden = false;
  if (helper) line.replaceChildren(make("b", {}, helper.name), ` would bring it within reach: ${helper.words}; miss ${figure(helper.miss)}.`);
  else line.textContent = "No single further paint of this hue would bring it within reach.";
}

export function startAnswer() {
  hear("answer", showAnswer);
  hear("answer", (answer) => showHelper(answer).catch((error) => announce("fault", error.message)));
}

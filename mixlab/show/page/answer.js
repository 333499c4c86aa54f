// answer.js: the wanted colour and the mixed one side by side, the recipe in words, its order

import { figure, isLight, make, missWords, partsText, patchOf, role } from "./dom.js";
import { hear, nameOf, paintById, state } from "./state.js";

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
function colourWords({ munsell, hex }) {
  return [make("span", { className: "munsell" }, munsell), " ", make("span", { className: "hex" }, hex)];
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
  if (wanted.touched !== undefined) box.dataset.time = figure(performance.now() - wanted.touched);
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
function more({ recipe, others, wanted }) {
  const parts = [make("h2", {}, "In this order"), stepColumn(recipe, wanted)];
  const known = [];
  if (recipe.sensitivity) {
    const { paint, moved } = recipe.sensitivity;
    known.push(`A quarter part of ${nameOf(paint)} more or less moves it by ${figure(moved)}.`);
  }
  known.push(recipe.likelyError === null || recipe.likelyError === undefined
    ? "How near the paint itself comes is not known: mix a little first."
    : `The paint itself likely comes within about ${Math.max(1, Math.round(recipe.likelyError))} of it.`);
  parts.push(make("p", { className: "hint" }, known.join(" ")));
  if (others?.length) {
    parts.push(make("h2", {}, "Other tubes"), make("ul", { className: "others" }, ...others.map((other) =>
      make("li", {}, pairOf(wanted.hex, other.hex), make("span", {}, ...termsOrWords(other),
        make("span", { className: "small" }, `miss ${figure(other.miss)}`))))));
  }
  if (recipe.cautions?.length) {
    parts.push(make("h2", {}, "Cautions"), make("ul", { className: "cautions" }, ...recipe.cautions.map(({ text, paints }) =>
      make("li", {}, make("b", {}, paints.map(nameOf).join(", ")), `: ${text}.`))));
  }
  return parts;
}

const termsOrWords = (other) => (other.parts ? recipeWords(other) : [other.words]);

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

export function startAnswer() {
  hear("answer", showAnswer);
}

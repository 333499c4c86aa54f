// sheet.js: what is printed, one A4 page, of many passages more: the picture with numbers, patches, recipes, values, cautions

import { cautionsFor, recipeWords, stepName } from "./answer.js";
import { figure, make, partsText, patchOf, role } from "./dom.js";
import { massOfPassage, massWords, pileWords, planWords } from "./plan.js";
import { data, isHere, nameOf, state } from "./state.js";

const LONG = 1400; // pixels of the picture in print

/** Lay the sheet out; it is seen in print alone. */
function layOut() {
  const answered = state.passages.filter((passage) => passage.answer);
  const list = answered.length || !state.answer ? answered : [{ name: "the colour shown", answer: state.answer }];
  const used = new Set(list.flatMap(({ answer }) => answer.recipe.steps.map((step) => step.paint)));
  role("sheet").dataset.many = list.length > 11 ? "crowd" : list.length > 8 ? "many" : "few";
  role("sheet").replaceChildren(
    make("header", {}, make("h1", {}, "mixlab"), make("p", {}, data.palette.name),
      make("p", {}, `${data.view.light}, ${data.view.observer} degree observer; ${state.finish}`)),
    pictureWithNumbers(),
    make("ol", { className: "rows" }, ...list.map((passage, i) => rowOf(passage, state.passages.length ? i + 1 : 1))),
    make("footer", {}, ...planWords().map((words) => make("p", { className: "plan-words" }, words)),
      make("p", {}, "Left the wanted colour, right the mix, as far as this printer tells: printers lie. Trust the values N, 0 black to 10 white, and mix a little first."),
      ...cautionsFor(used).map(({ text, paints }) => make("p", {}, make("b", {}, paints.map(nameOf).join(", ")), `: ${text}.`)),
      make("p", {}, "The maker's safety data sheet and your local rules have the last word. Spread rags with oil out to dry, or keep them under water.")));
}

function pictureWithNumbers() {
  if (!state.picture) return "";
  const { image, space, width, height, fullWidth, fullHeight } = state.picture;
  const scale = Math.min(1, LONG / Math.max(width, height));
  const small = make("canvas", { width: Math.round(width * scale), height: Math.round(height * scale) });
  const whole = make("canvas", { width, height });
  whole.getContext("2d", { colorSpace: space }).putImageData(image, 0, 0);
  small.getContext("2d").drawImage(whole, 0, 0, small.width, small.height);
  const held = make("div", { className: "sheet-picture" }, small);
  held.style.aspectRatio = `${width} / ${height}`;
  state.passages.forEach((passage, i) => {
    if (!isHere(passage)) return;
    const { x, y } = passage;
    const mark = make("span", { className: y < fullHeight / 12 ? "number below" : "number" }, String(i + 1));
    mark.style.left = `${(100 * (x + 0.5)) / fullWidth}%`;
    mark.style.top = `${(100 * (y + 0.5)) / fullHeight}%`;
    held.append(mark);
  });
  return held;
}

function rowOf(passage, number) {
  const { recipe, wanted } = passage.answer, mass = massOfPassage(passage);
  const order = recipe.steps.map((step) => `${partsText(step.parts)} ${stepName(step)}`).join(", ");
  return make("li", {},
    make("b", { className: "row-number" }, String(number)),
    make("span", { className: "row-pair" }, patchOf(wanted.hex), patchOf(recipe.hex)),
    make("div", {},
      make("p", { className: "row-name" }, passage.name, make("span", { className: "small" }, `${wanted.munsell}; miss ${figure(recipe.miss)}`)),
      make("p", { className: "row-mix" }, ...(mass ? pileWords(mass) : recipeWords(recipe))),
      mass ? make("p", { className: "small" }, massWords(mass))
        : recipe.steps.length > 2 ? make("p", { className: "small" }, `in order: ${order}`) : ""),
    make("p", { className: "row-value" }, `N ${figure(wanted.value)}`, make("span", { className: "small" }, `mix N ${figure(recipe.value)}`)));
}

export function startSheet() {
  role("print").addEventListener("click", () => {
    layOut();
    print();
  });
  addEventListener("beforeprint", layOut);
}

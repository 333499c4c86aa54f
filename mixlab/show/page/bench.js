// bench.js: a pile mixed by hand, its way to the wanted colour, and a ladder from it

import { termsOf } from "./answer.js";
import { swatchOf } from "./tubes.js";
import { figure, make, missWords, partsText, patchOf, role } from "./dom.js";
import { announce, ask, data, hear, lastOnly, nameOf, paintById, remember, state } from "./state.js";

const MOST_PARTS = 99;
const RUNGS = 9; // of a ladder

/** A tube with its parts, and buttons for a quarter and a whole part less and more. */
function partsOf(id) {
  const parts = state.pile[id] ?? 0;
  const button = (step, text, words) => make("button", {
    type: "button", "aria-label": `${words} of ${nameOf(id)}`, disabled: step < 0 && parts < -step - 1e-9,
    "data-step": String(step), on: { click: () => change(id, step) },
  }, text);
  return make("li", { "data-id": id },
    button(-1, "\u2212", "a part less"), button(-0.25, "\u2212\u00bc", "a quarter part less"),
    swatchOf(id),
    make("span", { className: "amount" }, make("b", {}, parts ? partsText(parts) : "0"), ` ${nameOf(id)}`),
    button(0.25, "+\u00bc", "a quarter part more"), button(1, "+", "a part more"));
}

function change(id, step) {
  const parts = Math.min(Math.max((state.pile[id] ?? 0) + step, 0), MOST_PARTS);
  if (parts > 0) state.pile[id] = parts;
  else delete state.pile[id];
  showPile();
  const again = `[data-role=pile] [data-id="${CSS.escape(id)}"] [data-step="${step}"]`;
  document.querySelector(again)?.focus();
  remember();
}

function showPile() {
  const order = data.paints.map((paint) => paint.id).filter((id) => state.tubes.has(id));
  role("pile").replaceChildren(...order.map(partsOf));
  role("pile-words").textContent = "";
  showMixed();
}

const isEmpty = () => !Object.keys(state.pile).length;

/** The colour of the pile beside the wanted one, and its ladder. */
const showMixed = lastOnly(async (isStale) => {
  const box = role("pile-seen");
  if (isEmpty()) {
    box.replaceChildren();
    role("ladder").replaceChildren();
    role("ladder-text").textContent = "";
    role("pile-words").textContent = "No paint yet: add parts, or take the recipe.";
    return;
  }
  const pile = { ...state.pile };
  const mixed = await ask({ ask: "mix", parts: pile });
  if (isStale()) return;
  const wanted = state.answer?.wanted;
  const pair = make("div", { className: "pair" }, ...(wanted ? [patchOf(wanted.hex, "patch", "wanted")] : []),
    patchOf(mixed.hex, "patch", `pile ${mixed.munsell}`));
  const hue = mixed.munsell.startsWith("N") ? "neutral" : mixed.munsell.split(" ")[0];
  box.replaceChildren(pair, make("dl", { className: "figures" },
    ...[["value", figure(mixed.value)], ["chroma C*", figure(mixed.chroma)], ["hue", hue]].map(([name, number]) =>
      make("div", {}, make("dt", {}, name), make("dd", {}, number)))));
  await showLadder(pile, isStale);
});

async function showLadder(pile, isStale) {
  const toward = role("toward").value;
  if (!toward) return;
  const { steps, peak, toward: words } = await ask({ ask: "ladder", pile, toward, steps: RUNGS });
  if (isStale()) return;
  role("ladder").replaceChildren(...steps.map((step, i) => make("li", { className: i === peak ? "peak" : "" },
    patchOf(step.hex), make("span", {}, `${Math.round(100 * step.share)} %`),
    make("span", { className: "small" }, step.munsell), i === peak ? make("span", { className: "small" }, "most chroma") : null)));
  const best = steps[peak];
  const of = paintById.has(toward) ? nameOf(toward) : words;
  role("ladder-text").textContent = `Shares are of ${of}. Chroma is greatest ${
    peak ? `at ${Math.round(100 * best.share)} %` : "in the pile itself"}, ${best.munsell}.`;
}

/** The smallest addition from the pile to the wanted colour. */
async function addTo() {
  const words = role("pile-words");
  if (isEmpty()) return void (words.textContent = "First a pile: add parts above, or take the recipe.");
  if (!state.answer) return void (words.textContent = "First a wanted colour: touch the picture, or type one.");
  try {
    const found = await ask({ ask: "add", pile: { ...state.pile }, lab: state.answer.wanted.lab });
    if (!Object.keys(found.add).length) return void (words.textContent = found.words || "Add nothing: no addition brings it nearer.");
    const short = found.miss > state.tolerance;
    words.replaceChildren(short ? "No addition of up to half the pile takes it there; best, add " : "Add ", ...termsOf(found.add), `: miss ${figure(found.miss)}, ${missWords(found.miss)}. `,
      make("button", { type: "button", on: { click: () => put(found.add) } }, "Put it in"));
  } catch (error) {
    announce("fault", error.message);
  }
}

function put(added) {
  for (const [id, parts] of Object.entries(added)) state.pile[id] = Math.min((state.pile[id] ?? 0) + parts, MOST_PARTS);
  showPile();
  remember();
}

/** What a ladder can go toward: whites, greys of these tubes, then the other tubes, blacks first. */
function fillToward() {
  const select = role("toward");
  const before = select.value;
  const order = [...state.tubes].map((id) => paintById.get(id)).sort((a, b) => rank(a) - rank(b));
  const mixes = [["grey", "a grey of its value"], ["dark", "the darkest grey"]];
  const names = order.map((paint) => [paint.id, paint.name]);
  const whites = order.findIndex((paint) => !paint.white);
  names.splice(whites < 0 ? names.length : whites, 0, ...mixes);
  select.replaceChildren(...names.map(([value, name]) => make("option", { value }, name)));
  if (names.some(([value]) => value === before)) select.value = before;
}

const rank = (paint) => (paint.white ? 0 : /black|grey|gray/.test(paint.name) ? 1 : 2);

export function startBench() {
  role("pile-recipe").addEventListener("click", () => {
    const recipe = state.answer?.recipe;
    if (!recipe) return void (role("pile-words").textContent = "First a recipe: touch the picture, or type a colour.");
    const way = recipe.twoSteps;
    state.pile = { ...recipe.parts };
    if (way) { // the first mix by its share, to the nearest quarter
      const whole = Object.values(way.first).reduce((a, b) => a + b);
      state.pile = { ...way.then };
      for (const [id, n] of Object.entries(way.first)) state.pile[id] = (state.pile[id] ?? 0) + (n * way.taken) / whole;
    }
    showPile();
    remember();
  });
  role("pile-clear").addEventListener("click", () => {
    state.pile = {};
    showPile();
    remember();
  });
  role("pile-add").addEventListener("click", addTo);
  role("toward").addEventListener("change", () => showMixed());
  hear("ready", () => {
    fillToward();
    showPile();
  });
  hear("answer", () => {
    if (!role("pile-seen").closest("[hidden]")) showMixed();
  });
  hear("panel-pile", () => showMixed());
}

// plan.js: a plan that the page carries: masses with their piles and order. It is not made anew here.

import { figure, make, partsText, patchOf, role } from "./dom.js";
import { ask, data, eye, hear, nameOf, paintById, state } from "./state.js";

export const plan = data.plan ?? null;
let where = null; // mass at each place of the picture: levels, width, height

/** Whether the picture that is shown is the one that was planned. */
export const isPlanned = () => Boolean(plan && state.picture?.name === data.picture.name);

const massOf = (number) => plan?.masses.find((mass) => mass.number === number);

/** The mass that a passage is, of the plan; none if it is a place of the painter's own. */
export const massOfPassage = (passage) => massOf(passage.plan);

/** What a mass is mixed of, as the engine would answer. */
export function plannedAnswer(mass) {
  const { wanted, mixed, miss, notation, add, in_reach: inReach } = mass;
  const steps = Object.entries(add).map(([paint, parts]) => ({ paint, parts }));
  return { wanted, recipe: { ...mixed, parts: add, notation, miss, steps, twoSteps: null }, inReach };
}

/** How a pile is called: by the number of its passage, or by name where that is gone. */
function pileName(number) {
  const place = state.passages.findIndex((passage) => passage.plan === number);
  return place < 0 ? massOf(number).name : `pile ${place + 1}`;
}

/** How the pile of a mass is mixed: fresh, or out of another. */
export function pileWords({ from, from_parts: fromParts, add, first }) {
  if (first) return [first.replace(/[a-z][a-z0-9]*(-[a-z0-9]+)*/g, (word) => paintById.get(word)?.name ?? word)];
  const terms = Object.entries(add).map(([id, parts]) => [parts, nameOf(id)]);
  if (from !== null) terms.unshift([fromParts, `of ${pileName(from)}`]);
  return terms.flatMap(([parts, name], i) => [
    ...(i ? [" + "] : []), make("span", { className: "term" }, make("b", {}, partsText(parts)), ` ${name}`)]);
}

const th = (n) => `${n}${["th", "st", "nd", "rd"][n % 100 > 10 && n % 100 < 14 ? 0 : Math.min(n % 10, 4) % 4]}`;

/** When a mass is painted, and how much of its pile there is. */
export const massWords = ({ turn, stage, ml }) => `painted ${th(turn)}, ${stage}; ${figure(ml)} ml of its pile`;

/** The order of painting, what to keep and what to squeeze out, in sentences. */
export function planWords() {
  if (!plan) return [];
  const bare = (number) => pileName(number).replace("pile ", "");
  const paint = plan.squeeze.map(({ paint: id, ml, cm }) => `${nameOf(id)} ${figure(ml)} ml (${figure(cm, 0)} cm)`);
  const [width, height] = plan.panel;
  return [
    `Mix the piles in this order: ${plan.mixing.map(bare).join(", ")}; paint in this: ${plan.order.map(bare).join(", ")}.`,
    ...(plan.keep.length ? [`Keep ${plan.keep.length > 1 ? "piles" : "pile"} ${plan.keep.map(bare).join(", ")} to restate the darks.`] : []),
    `For a panel of ${width} by ${height} cm squeeze out ${paint.join(", ")}.`,
  ];
}

/** Where a touched place belongs: its mass, the pile, and what that grows from. */
function showMass({ wanted }) {
  const line = role("mass"), { place } = wanted;
  const number = where && place && isPlanned() ? massAt(place) : 0;
  line.hidden = !number;
  line.dataset.mass = String(number);
  if (!number) return;
  const mass = massOf(number);
  line.replaceChildren(patchOf(mass.mixed.hex, "patch mass-patch"), make("span", {},
    "Here ", make("b", {}, `${pileName(number)}, ${mass.name}`), ": ", ...pileWords(mass),
    make("span", { className: "small" }, mass.from === null ? `a fresh pile; ${massWords(mass)}`
      : `grows from ${pileName(mass.from)}, ${massOf(mass.from).name}; ${massWords(mass)}`)));
}

function massAt({ x, y }) {
  const { levels, width, height } = where, { fullWidth, fullHeight } = state.picture;
  const [column, row] = [Math.floor((x * width) / fullWidth), Math.floor((y * height) / fullHeight)];
  return levels[row * width + column] + 1;
}

export function startPlan() {
  const options = [...role("values").options].filter((option) => option.dataset.plan !== undefined);
  if (!plan) {
    for (const option of options) option.remove();
    return;
  }
  hear("answer", showMass);
  hear("picture", () => {
    for (const option of options) option.disabled = !isPlanned();
  });
  hear("passages", () => {
    role("plan-text").replaceChildren(...planWords().map((words) => make("p", {}, words)));
  });
  const { values, masses, value_map: valueMap, mass_map: massMap } = plan;
  return ask({ ask: "plan", values, hexes: masses.map((mass) => mass.mixed.hex), valueMap, massMap }, eye)
    .then((found) => { where = found; });
}

// tubes.js: the tubes at hand, each left out or called for, and how recipes are searched

import { make, patchOf, role } from "./dom.js";
import { data, hear, paintById, remember, restart, state } from "./state.js";

const DIALS = { tolerance: Number, most: Number, parts: Number, finish: String };

let swatches = {}; // hex of each paint: by itself, and let down with white

/** How a paint looks: by itself, and let down with white. */
export function swatchOf(id) {
  return make("span", { className: "swatch", "aria-hidden": "true" }, ...(swatches[id] ?? []).map((hex) => patchOf(hex)));
}

/** A tube: whether it is at hand, and whether it must be in the mix. */
function tubeOf(paint) {
  const at = state.tubes.has(paint.id);
  const about = [paint.index.join(" "), paint.transparency].filter(Boolean).join(", ");
  return make("li", {},
    make("button", {
      type: "button", className: "tube", "data-role": "tube", "data-id": paint.id, "aria-pressed": String(at),
      on: { click: () => toggle(paint.id) },
    }, make("span", { className: "mark", "aria-hidden": "true" }), swatchOf(paint.id), make("span", {}, paint.name, make("span", { className: "small" }, about))),
    make("button", {
      type: "button", className: "must", "aria-pressed": String(state.must.has(paint.id)), disabled: !at,
      "aria-label": `call for ${paint.name}`, on: { click: () => callFor(paint.id) },
    }, "call for"));
}

function toggle(id) {
  if (state.tubes.has(id)) {
    if (state.tubes.size === 1) return say("One tube at least has to be at hand.");
    state.tubes.delete(id);
    state.must.delete(id);
    delete state.pile[id];
  } else {
    state.tubes.add(id);
  }
  changed(id, "tube");
}

function callFor(id) {
  if (state.must.has(id)) state.must.delete(id);
  else if (state.must.size >= state.most) return say(`A mix has at most ${state.most} tubes; ${state.must.size} are called for.`);
  else state.must.add(id);
  changed(id, "must");
}

/** Draw the list anew, keep the focus where it was, and search anew. */
function changed(id, kind) {
  showTubes();
  const item = document.querySelector(`[data-role=tube][data-id="${CSS.escape(id)}"]`);
  (kind === "tube" ? item : item.nextSibling).focus();
  remember();
  restart();
}

const say = (text) => { role("tubes-text").textContent = text; };

function showTubes() {
  const own = data.palette.tubes.map((id) => paintById.get(id));
  const others = data.paints.filter((paint) => paint.offered && !data.palette.tubes.includes(paint.id));
  role("tubes").replaceChildren(...own.map(tubeOf));
  role("other-tubes").replaceChildren(...others.map(tubeOf));
  role("others").hidden = !others.length;
  say(`${state.tubes.size} at hand. Leave out what is not in your box; call for a tube that has to be in the mix.`);
}

export function startTubes() {
  for (const [name, numbers] of [["most", [1, 2, 3, 4]], ["parts", [4, 6, 8, 10, 12, 16, 20, 24]]]) {
    if (!numbers.includes(state[name])) numbers.push(state[name]);
    role(name).replaceChildren(...numbers.sort((a, b) => a - b).map((n) => make("option", { value: String(n) }, String(n))));
  }
  for (const [name, read] of Object.entries(DIALS)) {
    const dial = role(name);
    if (![...dial.options].some((option) => option.value === String(state[name]))) {
      dial.append(make("option", { value: String(state[name]) }, String(state[name])));
    }
    dial.value = String(state[name]);
    dial.addEventListener("change", () => {
      state[name] = read(dial.value);
      while (state.must.size > state.most) state.must.delete([...state.must].pop());
      showTubes();
      remember();
      restart();
    });
  }
  showTubes();
  hear("ready", ({ mixes, swatches: seen }) => {
    if (JSON.stringify(seen) !== JSON.stringify(swatches)) {
      swatches = seen;
      showTubes();
    }
    const count = mixes ? ` ${mixes.toLocaleString("en")} mixes in whole parts.` : "";
    role("seen-under").textContent = `Seen under ${data.view.light}, ${data.view.observer} degree observer; ${state.finish}.${count}`;
  });
}

// tones.js: the picture in greys and few values, squinting, its key, and its cast

import { figure, make, patchOf, role } from "./dom.js";
import { announce, ask, eye, hear, lastOnly, remember, setKey, state } from "./state.js";
import { show, touchGrey } from "./touch.js";

let upTo = Infinity; // how many values are painted, the darkest first

const redraw = lastOnly(async (isStale) => {
  const { picture, values, squint, keyed } = state;
  if (!picture) return;
  if (values === "" && squint === 0) {
    showScale([]);
    return show(picture.image);
  }
  const { image, bands } = await ask({ ask: "tones", values, squint, curve: keyed?.curve, upTo }, eye);
  if (isStale() || state.picture !== picture) return image.close();
  show(image);
  image.close();
  showScale(bands);
});

/** The values of the picture, each with its share of the area; touched, what is darker is painted. */
function showScale(bands) {
  const few = Number(state.values) > 1 || state.values === "plan";
  role("darks").hidden = !few;
  const focused = [...role("scale").children].findIndex((item) => item.contains(document.activeElement));
  role("scale").replaceChildren(...bands.map(({ value, area, grey }, i) => {
    const hex = `#${grey.toString(16).padStart(2, "0").repeat(3)}`;
    const words = [make("span", {}, `N ${figure(value)}`), make("span", { className: "small" }, `${Math.round(100 * area)} %`)];
    if (!few) return make("li", {}, patchOf(hex), ...words);
    const painted = i < upTo;
    return make("li", {}, make("button", {
      type: "button", className: "band", "aria-pressed": String(painted), "aria-label": `N ${figure(value)}, ${Math.round(100 * area)} %`,
      on: { click: () => paintUpTo(i + 1 === upTo || (upTo === Infinity && i === bands.length - 1) ? i : i + 1, bands.length) },
    }, patchOf(hex, painted ? "patch" : "patch bare"), ...words));
  }));
  role("scale").children[focused]?.querySelector("button")?.focus();
}

/** Paint the darkest masses alone, so many of them: the darks come first. */
function paintUpTo(number, count) {
  upTo = number < 1 || number >= count ? Infinity : number;
  redraw();
}

function setValues(values) {
  state.values = values;
  upTo = Infinity;
  role("values").value = values;
  const pressed = String(values !== "");
  role("squint-key").setAttribute("aria-pressed", pressed);
  redraw();
}

function setSquint(squint) {
  state.squint = squint;
  role("squint-text").textContent = squint ? String(squint) : "not";
  redraw();
}

/** Take the cast out by a place that is known to be grey, or leave it in. */
function setGrey(found) {
  const [button, off, text] = [role("grey"), role("grey-off"), role("grey-text")];
  button.setAttribute("aria-pressed", "false");
  const fault = found && (Math.min(...found.rgb) < 0.002 ? "It is too dark there to tell the cast; touch a lighter grey."
    : Math.max(...found.rgb) > 0.98 ? "It is clipped there; touch a darker grey." : "");
  if (fault) {
    text.textContent = fault;
    return;
  }
  state.grey = found?.rgb ?? null;
  off.hidden = !state.grey;
  text.textContent = state.grey ? "The cast of that place is taken out of every colour; lightness stays."
    : "A place known to be grey takes the colour of the light out.";
  announce("cast");
}

export function startTones() {
  role("values").addEventListener("change", (event) => setValues(event.target.value));
  role("squint").addEventListener("input", (event) => setSquint(Number(event.target.value)));
  role("squint-key").addEventListener("click", () => setValues(state.values === "" ? "0" : ""));
  role("key").value = state.key;
  role("key").addEventListener("change", async (event) => {
    state.key = event.target.value;
    remember();
    await setKey().catch((error) => announce("fault", error.message));
    announce("again");
  });
  role("grey").addEventListener("click", (event) => {
    if (!state.picture) {
      role("grey-text").textContent = "First a picture.";
      return;
    }
    event.currentTarget.setAttribute("aria-pressed", "true");
    role("grey-text").textContent = "Now touch a place of the picture that is grey: a card, a road, an overcast cloud.";
    touchGrey(setGrey);
  });
  role("grey-off").addEventListener("click", () => setGrey(null));
  hear("key", (keyed) => {
    role("key-text").textContent = keyed?.words ? `${keyed.words[0].toUpperCase()}${keyed.words.slice(1)}.` : "";
    redraw();
  });
  hear("picture", redraw);
}

// tones.js: the picture in greys and few values, squinting, its key, and its cast

import { figure, make, pause, patchOf, role } from "./dom.js";
import { planes } from "./picture.js";
import { announce, hear, lastOnly, remember, setKey, state } from "./state.js";
import { show, touchGrey } from "./touch.js";
import { bandsOf, blurred, colourImage, greyImage, greyOf, luminancePlane, valueTable } from "./values.js";

const THIN = 1000; // pixels to which the picture is thinned for greys
let thin = null; // of the picture that is shown

const redraw = lastOnly(async (isStale) => {
  const { picture, values, squint, keyed } = state;
  if (!picture) return;
  const scale = role("scale");
  if (values === "" && squint === 0) {
    scale.replaceChildren();
    return show(picture.canvas);
  }
  if (thin?.of !== picture) thin = { of: picture, ...(await planes(picture, THIN)) };
  await pause();
  const { width, height } = thin;
  const radius = (squint * Math.max(width, height)) / 250;
  if (values === "") {
    const soft = [];
    for (const plane of thin.planes) {
      soft.push(await blurred(plane, width, height, radius));
      if (isStale()) return;
    }
    scale.replaceChildren();
    return show(await createImageBitmap(colourImage(soft, width, height)));
  }
  const plane = await blurred(luminancePlane(thin.planes), width, height, radius);
  await pause();
  if (isStale()) return;
  const table = valueTable(keyed?.curve);
  const few = values === "0" ? null : bandsOf(plane, table, Number(values));
  show(await createImageBitmap(greyImage(plane, width, height, table, few)));
  showScale(few ?? bandsOf(plane, table, 9));
});

/** The values of the picture, each with its share of the area. */
function showScale({ bands }) {
  role("scale").replaceChildren(...bands.map(({ value, area }) => {
    const grey = greyOf(value).toString(16).padStart(2, "0");
    return make("li", {}, patchOf(`#${grey}${grey}${grey}`),
      make("span", {}, `N ${figure(value)}`), make("span", { className: "small" }, `${Math.round(100 * area)} %`));
  }));
}

function setValues(values) {
  state.values = values;
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
  hear("picture", () => {
    thin = null;
    redraw();
  });
}

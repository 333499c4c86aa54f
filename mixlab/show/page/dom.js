// dom.js: small help with elements, numbers and words; text is always text, never markup

export const role = (name) => document.querySelector(`[data-role="${name}"]`);

/** An element with properties (data-*, aria-* and the like as attributes) and children. */
export function make(tag, properties = {}, ...children) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(properties)) {
    if (value === null || value === undefined || value === false) continue;
    if (key === "on") for (const [event, act] of Object.entries(value)) element.addEventListener(event, act);
    else if (key in element && !key.includes("-")) element[key] = value;
    else element.setAttribute(key, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

/** A place where a colour is seen. */
export function patchOf(hex, name = "patch", label = "") {
  const element = make("span", { className: name });
  if (label) {
    element.setAttribute("role", "img");
    element.setAttribute("aria-label", label);
  }
  element.style.backgroundColor = hex;
  return element;
}

export const figure = (number, digits = 1) => number.toFixed(digits).replace(/^-(0(\.0*)?)$/, "$1");

/** A number of parts as a painter writes it: 2, 1 1/2, 3/4. */
export function partsText(number) {
  const whole = Math.floor(number + 1e-9);
  const quarter = { 0.25: "\u00bc", 0.5: "\u00bd", 0.75: "\u00be" }[Math.round((number - whole) * 100) / 100];
  if (quarter) return whole ? `${whole}${quarter}` : quarter;
  return String(Math.round(number * 100) / 100);
}

export const counted = (number, what) => `${number} ${what}${number === 1 ? "" : "s"}`;

/** How a miss looks; the bounds are common practice, no source. */
export function missWords(miss) {
  if (miss < 0.5) return "on the spot";
  if (miss < 1) return "not to be told apart";
  if (miss < 2) return "hardly seen side by side";
  if (miss < 4) return "seen side by side";
  if (miss < 8) return "another shade of it";
  return "another colour";
}

/** Whether a hex colour wants dark letters on it. */
export function isLight(hex) {
  const [r, g, b] = [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16));
  return 0.2126 * r ** 2.2 + 0.7152 * g ** 2.2 + 0.0722 * b ** 2.2 > 0.18 * 255 ** 2.2;
}

/** Let the browser draw and hear before more is done. */
export const pause = () => new Promise((resolve) => setTimeout(resolve, 0));

// passages.js: places that are kept, in the browser and in a small JSON file

export const MOST_PASSAGES = 64;
const LARGEST = 200_000; // characters of a file
const LONGEST_NAME = 120;

/** The passages of a file's text; an Error of one line if it is none. */
export function readPassages(text, name) {
  const fault = (what) => new Error(`${name}: ${what}`);
  if (text.length > LARGEST) throw fault("it is too large for a file of passages");
  let content;
  try {
    content = JSON.parse(text);
  } catch {
    throw fault("it is not JSON; a file of passages is saved by this page");
  }
  const places = content?.places;
  if (content?.mixlab !== "passages" || !Array.isArray(places)) {
    throw fault("it holds no passages; a file of passages is saved by this page");
  }
  if (places.length > MOST_PASSAGES) throw fault(`it holds ${places.length} passages; at most ${MOST_PASSAGES} can be`);
  const { name: of, width, height } = content.picture ?? {};
  const picture = typeof of === "string" ? { name: of, width, height } : undefined;
  return { picture, places: places.map((place, i) => checkedPlace(place, (what) => fault(`passage ${i + 1}: ${what}`))) };
}

function checkedPlace(place, fault) {
  const isNumber = (value, low, high) => typeof value === "number" && value >= low && value <= high;
  if (typeof place !== "object" || place === null) throw fault("it is no place");
  const name = typeof place.name === "string" ? place.name.slice(0, LONGEST_NAME) : "";
  const checked = { name };
  if (place.lab !== undefined) {
    const ranges = [[0, 100], [-200, 200], [-200, 200]];
    const isLab = Array.isArray(place.lab) && place.lab.length === 3
      && place.lab.every((value, i) => isNumber(value, ...ranges[i]));
    if (!isLab) throw fault("lab is three numbers, L* 0 to 100, a* and b*");
    checked.lab = place.lab.map(Number);
  }
  if (place.x !== undefined || place.y !== undefined) {
    if (!isNumber(place.x, 0, 1e5) || !isNumber(place.y, 0, 1e5)) throw fault("x and y are pixels of the picture");
    if (place.radius !== undefined && !isNumber(place.radius, 0, 1e4)) throw fault("the radius is a number of pixels");
    Object.assign(checked, { x: place.x, y: place.y, radius: place.radius ?? 0 });
  } else if (!checked.lab) {
    throw fault("it has neither a place, x and y, nor a colour, lab");
  }
  return checked;
}

/** The text of a file of passages. */
export function writtenPassages(list, picture, view, isHere) {
  const places = list.map((passage) => {
    const { name, x, y, radius, lab } = passage;
    const place = x !== undefined && (isHere(passage) || !lab) ? { x, y, radius } : {};
    return { name, ...place, ...(lab ? { lab: lab.map((v) => Math.round(v * 1e4) / 1e4) } : {}) };
  });
  const head = { mixlab: "passages", light: view.light, observer: view.observer, picture };
  return JSON.stringify({ ...head, places }, null, 1) + "\n";
}

/** What the browser keeps under a name; null where it keeps nothing, or may not. */
export function kept(key) {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch {
    return null;
  }
}

/** Keep something in the browser; whether it could. */
export function keep(key, value) {
  try {
    localStorage.setItem(key, JSON.stringify(value));
    return true;
  } catch {
    return false;
  }
}

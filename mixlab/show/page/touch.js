// touch.js: the picture on the screen: finger, mouse and arrow keys; disc, magnifying glass, numbers

import { make, role } from "./dom.js";
import { photoLab, sampleDisc } from "./pixels.js";
import { announce, data, hear, isHere, state, want } from "./state.js";

const GLASS = 140; // pixels across
const ZOOM = 6; // of the glass, over the screen
const canvas = role("picture");
const [over, disc, glass] = [role("over"), role("disc"), role("glass")];
let place = null; // of the disc [pixels of the file]

/** Show the picture, its pixels, or what is made of it: an image of its shape, as large or smaller. */
export function show(image) {
  [canvas.width, canvas.height] = [image.width, image.height];
  const context = canvas.getContext("2d", { colorSpace: state.picture.space });
  if (image instanceof ImageData) context.putImageData(image, 0, 0);
  else context.drawImage(image, 0, 0);
}

/** A colour of the picture, CIELAB with the cast taken out, no lighter than white; null where there is none. */
export function colourAt(x, y, radius) {
  const found = sampleDisc(state.picture, x, y, radius);
  if (!found) return null;
  const [L, a, b] = photoLab(found.rgb, state.grey, data);
  return { ...found, lab: [Math.min(L, 100), a, b] };
}

/** Ask for the colour at a place. */
export function touchAt(x, y, touched = performance.now(), spoken = true) {
  const { picture, radius } = state;
  place = { x: clamp(x, picture.fullWidth), y: clamp(y, picture.fullHeight) };
  placeDisc();
  const found = colourAt(place.x, place.y, radius);
  if (!found) return announce("fault", "the picture is transparent there; touch another place");
  announce("fault", found.clipped > 0.05 ? "The photo is clipped here, black or white at its end: the colour is unsure." : "");
  want({ ...found, place: { ...place, radius }, touched, spoken });
}

const clamp = (value, size) => Math.min(Math.max(Math.round(value), 0), size - 1);

/** The disc where it was touched, drawn as large as it is. */
function placeDisc() {
  disc.hidden = !place || !state.picture;
  if (disc.hidden) return;
  const { fullWidth, fullHeight } = state.picture;
  const shown = canvas.getBoundingClientRect().width / fullWidth;
  const size = Math.max((2 * state.radius + 1) * shown, 9);
  disc.style.left = `${(100 * (place.x + 0.5)) / fullWidth}%`;
  disc.style.top = `${(100 * (place.y + 0.5)) / fullHeight}%`;
  disc.style.width = disc.style.height = `${size}px`;
}

/** What lies under the finger, larger, above it. */
function showGlass(event) {
  const box = canvas.getBoundingClientRect();
  const [left, top] = [event.clientX - box.left, event.clientY - box.top];
  const context = glass.getContext("2d", { colorSpace: state.picture.space });
  const scale = canvas.width / box.width;
  const across = (GLASS / ZOOM) * scale;
  context.imageSmoothingEnabled = false;
  context.fillStyle = "#797979";
  context.fillRect(0, 0, GLASS, GLASS);
  const { x, y } = { x: left * scale, y: top * scale };
  context.drawImage(canvas, x - across / 2, y - across / 2, across, across, 0, 0, GLASS, GLASS);
  const radius = Math.max(((state.radius + 0.5) * (canvas.width / state.picture.fullWidth) * GLASS) / across, 3);
  for (const [colour, width] of [["#000", 4], ["#fff", 2]]) {
    context.strokeStyle = colour;
    context.lineWidth = width;
    context.beginPath();
    context.arc(GLASS / 2, GLASS / 2, radius, 0, 2 * Math.PI);
    context.stroke();
  }
  const above = event.clientY > GLASS + 60;
  glass.style.left = `${Math.min(Math.max(left, GLASS / 2), Math.max(box.width - GLASS / 2, GLASS / 2))}px`;
  glass.style.top = `${above ? top - GLASS / 2 - 44 : top + GLASS / 2 + 44}px`;
  glass.hidden = false;
}

/** The pixel of the file under a pointer. */
function under(event) {
  const box = canvas.getBoundingClientRect();
  return [
    ((event.clientX - box.left) / box.width) * state.picture.fullWidth - 0.5,
    ((event.clientY - box.top) / box.height) * state.picture.fullHeight - 0.5,
  ];
}

let [down, grey] = [false, false];

/** Let the next touch name a grey; `act` gets the colour there. */
export function touchGrey(act) {
  grey = act;
}

function press(event) {
  if (event.button !== 0 || !state.picture) return;
  down = true;
  canvas.setPointerCapture(event.pointerId);
  touchAt(...under(event), event.timeStamp, false);
  showGlass(event);
}

function lift(event) {
  if (!down) return;
  down = false;
  glass.hidden = true;
  if (event.type === "pointercancel") return;
  if (grey) takeGrey();
  else touchAt(...under(event), event.timeStamp);
}

function takeGrey() {
  const act = grey;
  grey = false;
  act(sampleDisc(state.picture, place.x, place.y, state.radius));
}

const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function pressKey(event) {
  if (!state.picture || event.ctrlKey || event.metaKey || event.altKey) return;
  const { fullWidth, fullHeight } = state.picture;
  const from = place ?? { x: Math.round(fullWidth / 2), y: Math.round(fullHeight / 2) };
  if (event.key in STEPS) {
    const [dx, dy] = STEPS[event.key].map((step) => step * (event.shiftKey ? 10 : 1));
    touchAt(from.x + dx, from.y + dy, event.timeStamp);
  } else if (event.key === "+" || event.key === "-") {
    setRadius(state.radius + (event.key === "+" ? 1 : -1));
  } else if (event.key === " ") {
    if (grey && place) takeGrey();
    else touchAt(from.x, from.y, event.timeStamp);
  } else if (event.key === "Enter") {
    if (grey && place) takeGrey();
    else announce("keep");
  } else {
    return;
  }
  event.preventDefault();
}

/** Set the disc's radius [pixels of the file], and ask again. */
export function setRadius(radius) {
  const slider = role("radius");
  slider.value = String(radius);
  state.radius = Number(slider.value);
  const across = `${2 * state.radius + 1} px`;
  role("radius-text").textContent = across;
  slider.setAttribute("aria-valuetext", across);
  placeDisc();
  if (place && state.wanted?.place) touchAt(place.x, place.y);
}

/** Numbers on the picture where passages are. */
function showNumbers() {
  for (const old of over.querySelectorAll(".number")) old.remove();
  if (!state.picture) return;
  const { fullWidth, fullHeight } = state.picture;
  state.passages.forEach((passage, i) => {
    if (!isHere(passage)) return;
    const { x, y } = passage;
    const mark = make("span", { className: y < fullHeight / 12 ? "number below" : "number" }, String(i + 1));
    mark.style.left = `${(100 * (x + 0.5)) / fullWidth}%`;
    mark.style.top = `${(100 * (y + 0.5)) / fullHeight}%`;
    over.append(mark);
  });
}

export function startTouch() {
  canvas.addEventListener("pointerdown", press);
  canvas.addEventListener("pointermove", (event) => {
    if (!down) return;
    touchAt(...under(event), event.timeStamp, false);
    showGlass(event);
  });
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener("keydown", pressKey);
  canvas.addEventListener("contextmenu", (event) => event.preventDefault());
  role("radius").addEventListener("input", (event) => setRadius(Number(event.target.value)));
  new ResizeObserver(placeDisc).observe(canvas);
  hear("passages", showNumbers);
  hear("picture", () => {
    place = null;
    canvas.parentElement.style.setProperty("--shape", state.picture.fullWidth / state.picture.fullHeight);
    const long = Math.max(state.picture.fullWidth, state.picture.fullHeight);
    role("radius").max = String(Math.max(4, Math.round(long / 24)));
    setRadius(Math.max(1, Math.round(long / 200)));
    showNumbers();
  });
}

/** Go to a passage's place. */
export function goTo(passage) {
  setRadius(passage.radius);
  touchAt(passage.x, passage.y);
}

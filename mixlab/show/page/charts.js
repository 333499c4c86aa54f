// Charts: curves over wavelength, and chroma and value along a share; SVG with real text.
//
// A chart is drawn in pixels of its host, with margins in ems of it, anew when the host changes its
// size; what moves with the slider is set on elements that stay.

import { labToRgb, encodeSrgb, xyzToLab } from "./colour.js";
import { WAVELENGTHS } from "./stages.js";

const SVG = "http://www.w3.org/2000/svg";

export function svg(tag, attributes = {}, ...children) {
  const element = document.createElementNS(SVG, tag);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.append(...children);
  return element;
}

const label = (text, x, y, kind, anchor = "middle") =>
  svg("text", { x, y, class: kind, "text-anchor": anchor }, text);

const pathText = (points) => points
  .map(([x, y], i) => `${i ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`).join("");

// a line with a paler one under it, so that it is seen on light and on dark
const cased = (d, kind) => [svg("path", { d, class: "casing" }), svg("path", { d, class: kind })];

// Draw when the host has a size, and whenever it changes. draw(width, height, em) returns elements.
function kept(host, draw) {
  const root = svg("svg", { role: "img" });
  host.append(root);
  const again = () => {
    const { clientWidth: width, clientHeight: height } = host;
    if (!width || !height) return;
    root.setAttribute("viewBox", `0 0 ${width} ${height}`);
    root.replaceChildren(...draw(width, height, parseFloat(getComputedStyle(host).fontSize)));
  };
  new ResizeObserver(again).observe(host);
  return { root, again };
}

const spread = (low, high, from, to) => (value) => from + ((value - low) / (high - low)) * (to - from);

// --- over wavelength ---------------------------------------------------------------------------

const SPECTRUM_FROM = WAVELENGTHS[0], SPECTRUM_TO = WAVELENGTHS[WAVELENGTHS.length - 1];

// the colours of the spectrum as a screen can hint at them, hex
export function spectrumOf(view) {
  const most = Math.max(...view.weights.map((row) => row[1]));
  return view.weights.map((row) => {
    const grey = 6; // of white light, so that no colour is far beyond the screen's
    const xyz = row.map((w, i) => (w / most) * 40 + (view.white[i] * grey) / 100);
    const rgb = labToRgb(xyzToLab(xyz, view.white), view).map((v) => Math.max(v, 0));
    const top = Math.max(...rgb, 0.35);
    return `#${rgb.map((v) => Math.round(255 * encodeSrgb(v / top)).toString(16).padStart(2, "0")).join("")}`;
  });
}

const gradient = (id, colours) => svg("linearGradient", { id }, ...colours.map((colour, i) => svg(
  "stop", { offset: `${((100 * i) / (colours.length - 1)).toFixed(2)}%`, "stop-color": colour },
)));

let charts = 0;

// Return a chart of curves over wavelength: {again, show(values, start, colour, marks, words)}.
// axis: {place(value, bottom, top), ticks: [[value, text]], filled, line: value or null,
// zones: [[value, text]]}; above `line` lies what the one zone says, below it what the other
export function waveChart(host, axis, spectrum) {
  const id = `spectrum-${(charts += 1)}`;
  const parts = {
    fill: svg("path", { class: "fill" }), start: svg("path", { class: "before" }),
    curve: svg("path", { class: "curve" }), marks: svg("g"),
  };
  let last = null, x, y, edge, size, bottom;
  const { root, again } = kept(host, (width, height, em) => {
    const left = 3.1 * em, right = width - 0.6 * em, top = 0.6 * em;
    [bottom, edge, size] = [height - 2.1 * em, [left, right, top], em];
    x = spread(SPECTRUM_FROM, SPECTRUM_TO, left, right);
    y = (value) => axis.place(value, bottom, top);
    const rules = axis.ticks.map(([value, text]) => svg(
      "g", {}, svg("line", { x1: left, x2: right, y1: y(value), y2: y(value), class: "rule" }),
      label(text, left - 0.4 * em, y(value) + 0.33 * em, "tick", "end"),
    ));
    const step = right - left > 20 * em ? 50 : 100;
    const places = WAVELENGTHS.filter((nm) => nm % step === 0);
    const names = places.map((nm) => label(
      nm === places[places.length - 1] ? `${nm} nm` : nm, x(nm), height - 0.35 * em, "tick",
    ));
    const strip = svg("rect", {
      x: left, y: bottom, width: right - left, height: 0.6 * em, fill: `url(#${id})`,
    });
    const level = axis.line === null ? [] : [svg("line", {
      x1: left, x2: right, y1: y(axis.line), y2: y(axis.line), class: "level",
    })];
    const zones = axis.zones.map(([value, text]) => label(text, right - 0.3 * em, y(value), "zone", "end"));
    queueMicrotask(() => last && show(...last));
    return [
      svg("defs", {}, gradient(id, spectrum)), ...rules, strip, ...names,
      ...(axis.filled ? [parts.fill] : []), ...level, ...zones, parts.start, parts.curve, parts.marks,
    ];
  });

  function show(values, start, colour, marks, words) {
    last = [values, start, colour, marks, words];
    if (!x) return;
    const line = (curve) => curve.map((value, i) => [x(WAVELENGTHS[i]), y(value)]);
    const points = line(values);
    parts.fill.setAttribute("d", `${pathText([[edge[0], bottom], ...points, [edge[1], bottom]])}Z`);
    parts.fill.setAttribute("fill", colour);
    parts.curve.setAttribute("d", pathText(points));
    parts.start.setAttribute("d", pathText(line(start)));
    let before = null;
    parts.marks.replaceChildren(...marks.flatMap(({ nm, value, text }) => {
      const [px, py] = [x(nm), y(value)], aside = py - 1.5 * size < edge[2];
      let near = px < edge[0] + 2 * size ? "start" : px > edge[1] - 2 * size ? "end" : "middle";
      if (aside) near = px > edge[1] - 5 * size ? "end" : "start";
      const tx = aside ? px + (near === "end" ? -0.7 : 0.7) * size : px;
      const ty = aside ? py + 0.3 * size : py - 0.7 * size;
      if (before && Math.abs(px - before[0]) < 4 * size && Math.abs(ty - before[1]) < 1.2 * size) {
        near = px < before[0] ? "end" : "start"; // out of the way of the one before
      }
      before = [px, ty];
      return [
        svg("circle", { cx: px, cy: py, r: 0.3 * size, class: "dot" }),
        label(text, tx, ty, "mark", near),
      ];
    }));
    root.setAttribute("aria-label", words);
  }
  return { again, show };
}

// --- along the share ---------------------------------------------------------------------------

const SHARE_TICKS = [0, 1, 5, 10, 25, 50, 75, 90, 95, 99, 100], FEW_TICKS = [0, 5, 25, 50, 75, 100];

// Shares are laid out as the arcsine of their root: traces at either end have room.
export const placeOfShare = (share) => (2 / Math.PI) * Math.asin(Math.sqrt(share));
export const shareOfPlace = (place) => Math.sin((Math.PI / 2) * place) ** 2;

const topOf = (greatest) => (greatest <= 10 ? 10 : 20 * Math.ceil(greatest / 20));

// Return a chart of chroma and value along the share: {again, lay(laid), show(share)}. laid: {places,
// chroma, value, other: [..] or null, colours, marks: [{share, text, level, kind, side}], range: [a, b] or
// null, words}, or null before the guess. touched(share) hears where it is touched.
export function shareChart(host, touched) {
  const id = `ladder-${(charts += 1)}`;
  const cursor = svg("g", {}, svg("path", { class: "casing" }), svg("path", { class: "cursor" }));
  const dot = svg("circle", { class: "dot" });
  let laid = null, at = 0, scale = null;
  const { root, again } = kept(host, (width, height, em) => {
    scale = shareScale(width, height, em, laid ? topOf(Math.max(...laid.chroma, ...(laid.other ?? []))) : 100);
    const { left, right, top, bottom, x } = scale;
    const ticks = (right - left > 21 * em ? SHARE_TICKS : FEW_TICKS).map((percent) => label(
      percent === 100 ? "100 %" : percent, x(placeOfShare(percent / 100)), height - 0.45 * em, "tick",
    ));
    const frame = [
      svg("line", { x1: left, x2: right, y1: bottom, y2: bottom, class: "axis" }), ...ticks,
    ];
    // before the guess it is out of the question's way
    const upright = `M0 ${bottom}V${laid ? top : bottom - 1.5 * em}`;
    for (const line of cursor.children) line.setAttribute("d", upright);
    queueMicrotask(() => show(at));
    if (!laid) return [...frame, cursor];
    const marks = laid.marks.flatMap((mark) => markOf(mark, scale));
    return [...ladderOn(scale, laid, id), ...frame, cursor, ...marks, dot];
  });

  function show(share) {
    at = share;
    if (!scale) return;
    const place = placeOfShare(share), px = scale.x(place).toFixed(1);
    cursor.setAttribute("transform", `translate(${px} 0)`);
    if (!laid) return;
    dot.setAttribute("cx", px);
    dot.setAttribute("cy", scale.y(heightAt(laid.places, laid.chroma, place)).toFixed(1));
    dot.setAttribute("r", 0.34 * scale.em);
  }

  function touch(event) {
    if (!scale || (event.type === "pointermove" && !event.buttons)) return;
    const { left, right } = scale, px = event.clientX - root.getBoundingClientRect().left;
    touched(shareOfPlace(Math.min(Math.max((px - left) / (right - left), 0), 1)));
  }
  root.addEventListener("pointerdown", touch);
  root.addEventListener("pointermove", touch);
  return {
    again, show,
    lay(now) {
      laid = now;
      root.setAttribute("aria-label", now ? now.words : "Chroma and value: put down your guess first");
      again();
    },
  };
}

// where a share, a chroma and a value lie, in pixels
function shareScale(width, height, em, most) {
  const left = 2.4 * em, right = width - 2.2 * em, top = 3 * em, bottom = height - 1.9 * em;
  return {
    left, right, top, bottom, em, most, x: spread(0, 1, left, right),
    y: spread(0, most, bottom, top), value: spread(0, 10, bottom, top),
  };
}

// the ladder as it is laid: its colours under the line of chroma, value, and the axes of both
function ladderOn({ left, right, top, bottom, em, most, x, y, value }, laid, id) {
  const heights = [0, most / 2, most].flatMap((c) => [
    svg("line", { x1: left, x2: right, y1: y(c), y2: y(c), class: "rule" }),
    label(c, left - 0.4 * em, y(c) + 0.33 * em, "tick", "end"),
  ]);
  const values = [0, 5, 10].map((v) => label(v, right + 0.4 * em, value(v) + 0.33 * em, "tick", "start"));
  const line = (numbers, place) => numbers.map((n, i) => [x(laid.places[i]), place(n)]);
  const chroma = line(laid.chroma, y), under = pathText([[left, bottom], ...chroma, [right, bottom]]);
  const [from, to] = (laid.range ?? [0, 0]).map((share) => x(placeOfShare(share)));
  return [
    svg("defs", {}, gradient(id, laid.colours)), ...heights, ...values,
    svg("path", { d: `${under}Z`, fill: `url(#${id})`, class: "fill" }),
    svg("rect", { x: from, y: top, width: to - from, height: bottom - top, class: "range" }),
    ...cased(pathText(line(laid.value, value)), "value"),
    ...(laid.other ? cased(pathText(line(laid.other, y)), "other") : []),
    svg("path", { d: pathText(chroma), class: "curve" }),
  ];
}

// a share that bears a name, in one of two rows above
function markOf({ share, text, level, kind, side = "middle" }, { x, left, right, bottom, em }) {
  const px = x(placeOfShare(share)), foot = (1.15 + 1.35 * level) * em;
  const room = (side === "middle" ? 3 : 6) * em; // on either side of it
  const near = side !== "start" && px - room < left - 2 * em ? "start"
    : side !== "end" && px + room > right + 2 * em ? "end" : side;
  return [
    ...cased(`M${px} ${bottom}V${foot + 0.25 * em}`, kind), label(text, px, foot, `mark ${kind}`, near),
  ];
}

// the height of a line between its places
function heightAt(places, heights, place) {
  const next = Math.max(places.findIndex((one) => one >= place), 1), before = next - 1;
  const share = (place - places[before]) / (places[next] - places[before]);
  return heights[before] + share * (heights[next] - heights[before]);
}

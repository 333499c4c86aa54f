// Colour: sRGB, XYZ, CIELAB, the Bradford transform, CIEDE2000, coordinates nearly even in it.
//
// A colour is a triple. XYZ has Y = 100 for the perfect reflecting diffuser; linear sRGB is 0..1.
// A view is {white, ...}: XYZ of that diffuser under the light.
// IEC 61966-2-1 (sRGB); ISO/CIE 11664-3, -4, -6; Lam 1985 (Bradford); Sharma, Wu, Dalal 2005.

// --- three by three ----------------------------------------------------------------------------

export const times3 = (m, v) => m.map((row) => row[0] * v[0] + row[1] * v[1] + row[2] * v[2]);

function inverse3([[a, b, c], [d, e, f], [g, h, i]]) {
  const det = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  return [
    [e * i - f * h, c * h - b * i, b * f - c * e],
    [f * g - d * i, a * i - c * g, c * d - a * f],
    [d * h - e * g, b * g - a * h, a * e - b * d],
  ].map((row) => row.map((x) => x / det));
}

// --- sRGB --------------------------------------------------------------------------------------

const SRGB_PRIMARIES = [[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]];
const SRGB_WHITE_XY = [0.3127, 0.3290];

const ofY1 = ([x, y]) => [x / y, 1, (1 - x - y) / y]; // XYZ of a chromaticity at Y = 1

// linear RGB to XYZ from the primaries and the white, so that RGB 1, 1, 1 is that white
function srgbMatrix() {
  const columns = SRGB_PRIMARIES.map(ofY1);
  const matrix = [0, 1, 2].map((i) => columns.map((column) => column[i]));
  const gains = times3(inverse3(matrix), ofY1(SRGB_WHITE_XY));
  return matrix.map((row) => row.map((x, j) => 100 * x * gains[j]));
}

const RGB_TO_XYZ = srgbMatrix();
const XYZ_TO_RGB = inverse3(RGB_TO_XYZ);
export const SRGB_WHITE = times3(RGB_TO_XYZ, [1, 1, 1]);

export const decodeSrgb = (v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);

export function encodeSrgb(linear) {
  const v = Math.min(Math.max(linear, 0), 1);
  return v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055;
}

// --- XYZ and CIELAB ----------------------------------------------------------------------------

const LAB_EDGE = 6 / 29;

// the lightness function of CIELAB and its inverse
export const labRoot = (t) =>
  t > LAB_EDGE ** 3 ? Math.cbrt(t) : t / (3 * LAB_EDGE ** 2) + 4 / 29;
export const labRootSlope = (t) => (t > LAB_EDGE ** 3 ? Math.cbrt(t) ** -2 / 3 : 841 / 108);
const labCube = (f) => (f > LAB_EDGE ? f ** 3 : 3 * LAB_EDGE ** 2 * (f - 4 / 29));

export function xyzToLab(xyz, white) {
  const [x, y, z] = xyz.map((v, i) => labRoot(v / white[i]));
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

export function labToXyz([L, a, b], white) {
  const y = (L + 16) / 116;
  return [y + a / 500, y, y - b / 200].map((f, i) => labCube(f) * white[i]);
}

export const chromaOf = (lab) => Math.sqrt(lab[1] * lab[1] + lab[2] * lab[2]);
export const hueOf = (lab) => (Math.atan2(lab[2], lab[1]) * (180 / Math.PI) + 360) % 360;
const labToLch = (lab) => [lab[0], chromaOf(lab), hueOf(lab)];

export function lchToLab([L, C, h]) {
  const turn = h * (Math.PI / 180);
  return [L, C * Math.cos(turn), C * Math.sin(turn)];
}

// --- another white -----------------------------------------------------------------------------

const BRADFORD = [
  [0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296],
];
const BRADFORD_BACK = inverse3(BRADFORD);

// XYZ as seen under another white: von Kries in Bradford's space
export function adapt(xyz, from, to) {
  const [before, after] = [times3(BRADFORD, from), times3(BRADFORD, to)];
  const cones = times3(BRADFORD, xyz).map((c, i) => (c * after[i]) / before[i]);
  return times3(BRADFORD_BACK, cones);
}

// CIELAB under another light: its white becomes that light's
export const relit = (lab, from, to) => xyzToLab(adapt(labToXyz(lab, from), from, to), to);

// the light's white becomes the screen's, and back
export const labToRgb = (lab, view) =>
  times3(XYZ_TO_RGB, adapt(labToXyz(lab, view.white), view.white, SRGB_WHITE));
export const rgbToLab = (rgb, view) =>
  xyzToLab(adapt(times3(RGB_TO_XYZ, rgb), SRGB_WHITE, view.white), view.white);

export function labToHex(lab, view) {
  const levels = labToRgb(lab, view).map((v) => Math.round(255 * encodeSrgb(v)));
  return "#" + levels.map((level) => level.toString(16).padStart(2, "0")).join("");
}

// CIELAB of "#rrggbb", or of "#rgb", each digit doubled (CSS Color 4); null if the text is neither
export function hexToLab(text, view) {
  const long = text.trim().replace(/^#([0-9a-f])([0-9a-f])([0-9a-f])$/i, "#$1$1$2$2$3$3");
  const digits = /^#?([0-9a-f]{6})$/i.exec(long);
  if (!digits) return null;
  const levels = [0, 2, 4].map((at) => parseInt(digits[1].slice(at, at + 2), 16));
  return rgbToLab(levels.map((level) => decodeSrgb(level / 255)), view);
}

// --- CIEDE2000 ---------------------------------------------------------------------------------

const TURN = 2 * Math.PI;
const POW25 = 25 ** 7;
const seventh = (x) => { const x2 = x * x; return x2 * x2 * x2 * x; };
const positive = (angle) => (angle < 0 ? angle + TURN : angle);

// Set `apart` to the difference in lightness, chroma and hue, positive where the second has more.
// Its length is CIEDE2000: the formula's rotation term is folded into chroma and hue, so that a
// least-squares method that shortens the three minimises CIEDE2000 itself.
export function setApart(apart, L1, a1, b1, L2, a2, b2, kl = 1) {
  const c7 = seventh((Math.sqrt(a1 * a1 + b1 * b1) + Math.sqrt(a2 * a2 + b2 * b2)) / 2);
  const stretch = 1.5 - 0.5 * Math.sqrt(c7 / (c7 + POW25));
  a1 *= stretch;
  a2 *= stretch;
  const c1 = Math.sqrt(a1 * a1 + b1 * b1), c2 = Math.sqrt(a2 * a2 + b2 * b2);
  const h1 = positive(Math.atan2(b1, a1));
  let turn = positive(Math.atan2(b2, a2)) - h1;
  // opposite hues count as not more than half a turn apart, however they are rounded
  turn -= TURN * Math.round((turn / TURN) * (1 - 1e-12));
  const dh = 2 * Math.sqrt(c1 * c2) * Math.sin(turn / 2);
  const cm = (c1 + c2) / 2, hm = positive((h1 + turn / 2) % TURN);
  const t = 1 - 0.17 * Math.cos(hm - Math.PI / 6) + 0.24 * Math.cos(2 * hm)
    + 0.32 * Math.cos(3 * hm + Math.PI / 30) - 0.20 * Math.cos(4 * hm - 0.35 * Math.PI);
  const fromBlue = (hm * (180 / Math.PI) - 275) / 25, cm7 = seventh(cm);
  const rotation = -2 * Math.sqrt(cm7 / (cm7 + POW25))
    * Math.sin((Math.PI / 3) * Math.exp(-fromBlue * fromBlue));
  const off = (L1 + L2) / 2 - 50;
  const sl = 1 + (0.015 * off * off) / Math.sqrt(20 + off * off);
  const x = (c2 - c1) / (1 + 0.045 * cm), y = dh / (1 + 0.015 * cm * t);
  apart[0] = (L2 - L1) / (kl * sl);
  apart[1] = x + (rotation / 2) * y;
  apart[2] = Math.sqrt(1 - (rotation / 2) ** 2) * y;
}

const lastApart = new Float64Array(3);

// the same for a colour at a place of a long array
export function missAt(lab, labs, at, kl = 1) {
  const d = lastApart;
  setApart(d, lab[0], lab[1], lab[2], labs[at], labs[at + 1], labs[at + 2], kl);
  return Math.sqrt(d[0] * d[0] + d[1] * d[1] + d[2] * d[2]);
}

export const ciede2000 = (lab1, lab2, kl = 1) => missAt(lab1, lab2, 0, kl);

// --- coordinates nearly even in CIEDE2000 ------------------------------------------------------

const EVEN_LOW = -20, EVEN_STEPS = 280, STRETCH_STEPS = 400; // half a unit each

// lightness stretched by the integral of its weighting function
const EVEN_L = new Float64Array(EVEN_STEPS + 1);
for (let i = 0; i < EVEN_STEPS; i++) {
  const off = EVEN_LOW + i / 2 + 0.25 - 50;
  EVEN_L[i + 1] = EVEN_L[i] + 0.5 / (1 + (0.015 * off * off) / Math.sqrt(20 + off * off));
}

// the stretch of a*, in the mean from grey to each chroma
const STRETCH_A = new Float64Array(STRETCH_STEPS + 1).fill(1.5);
for (let i = 1, sum = 0; i <= STRETCH_STEPS; i++) {
  const c7 = seventh(i / 2 - 0.25);
  sum += 0.75 - 0.25 * Math.sqrt(c7 / (c7 + POW25));
  STRETCH_A[i] = sum / (i / 2);
}

// what a table has at a place between its entries; its ends go on beyond them
function interpolated(table, place) {
  if (!(place > 0)) return table[0];
  const last = table.length - 1;
  if (place >= last) return table[last];
  const i = Math.floor(place);
  return table[i] + (place - i) * (table[i + 1] - table[i]);
}

// Set a place of a long array to the even coordinates of a colour: for finding near colours
// quickly, not for stating differences.
export function setEven(even, at, L, a, b) {
  const stretched = a * interpolated(STRETCH_A, 2 * Math.sqrt(a * a + b * b));
  const chroma = Math.sqrt(stretched * stretched + b * b);
  const squeeze = chroma > 1e-9 ? Math.log1p(0.045 * chroma) / (0.045 * chroma) : 1;
  even[at] = interpolated(EVEN_L, 2 * (L - EVEN_LOW));
  even[at + 1] = stretched * squeeze;
  even[at + 2] = b * squeeze;
}

// --- in words ----------------------------------------------------------------------------------

const DIRECTIONS = [
  "too light", "too dark", "too high in chroma", "too low in chroma", "of another hue",
];

// Say what a colour has that a mix lacks, the greatest first; by the weights of CIE94, as CIEDE2000
// couples chroma and hue in the blues, which no word could say.
export function directionsOf(wanted, mixed) {
  const [one, two] = [labToLch(mixed), labToLch(wanted)];
  const mean = (one[1] + two[1]) / 2;
  const light = two[0] - one[0], chroma = (two[1] - one[1]) / (1 + 0.045 * mean);
  const turn = 2 * Math.sqrt(one[1] * two[1]) * Math.sin(((two[2] - one[2]) * Math.PI) / 360);
  const sizes = [light, -light, chroma, -chroma, Math.abs(turn) / (1 + 0.015 * mean)];
  const greatest = Math.max(...sizes);
  return sizes
    .map((size, i) => [size, DIRECTIONS[i]])
    .filter(([size]) => size > 0.3 * greatest)
    .sort((p, q) => q[0] - p[0])
    .map(([, word]) => word);
}

// Optics: Kubelka-Munk mixing, the opaque layer, the surface and the finish; CIELAB of mixes.
//
// K and S of a mix are the sums over its paints (Duncan 1940). What is seen of a layer too thick to
// see through follows from q = K/S (Kubelka 1948) and the surface of the binder (Saunderson 1942).
// As the ratio alone counts, parts need not sum to one.

import { labRoot } from "./colour.js";

// Return the paints as plain long arrays, with the light that they are seen under.
//   paints: [{K, S, and reserve where recipes are chosen}]; surface: {outside, inside};
//   view: {weights, white, specular}
export function mediumOf(paints, surface, view) {
  const bands = view.weights.length;
  return {
    count: paints.length, bands, white: view.white, reserve: paints.map((paint) => paint.reserve),
    K: Float64Array.from(paints.flatMap((paint) => paint.K)),
    S: Float64Array.from(paints.flatMap((paint) => paint.S)),
    weights: Float64Array.from(view.weights.flat()),
    inside: surface.inside,
    front: (1 - surface.outside) * (1 - surface.inside),
    glare: surface.outside * view.specular,
    k: new Float64Array(bands), s: new Float64Array(bands), // of the mix that is being made
  };
}

// Set a place of a long array to CIELAB of a layer of the medium's curves k and s.
export function setLab(medium, labs, at) {
  const { k, s, bands, weights, white, inside, front, glare } = medium;
  let X = 0, Y = 0, Z = 0;
  for (let i = 0, j = 0; i < bands; i++, j += 3) {
    const q = k[i] / s[i];
    // r / (1 - inside r) of the internal reflectance r = 1 / (1 + q + sqrt(q^2 + 2q))
    const out = 1 / (1 + q + Math.sqrt(q * (q + 2)) - inside);
    X += out * weights[j];
    Y += out * weights[j + 1];
    Z += out * weights[j + 2];
  }
  const x = labRoot((front * X) / white[0] + glare);
  const y = labRoot((front * Y) / white[1] + glare);
  const z = labRoot((front * Z) / white[2] + glare);
  labs[at] = 116 * y - 16;
  labs[at + 1] = 500 * (x - y);
  labs[at + 2] = 200 * (y - z);
}

// Set the medium's curves k and s to the sums of so many parts of some of its paints.
export function setCurves(medium, paints, parts) {
  const { K, S, k, s, bands } = medium;
  k.fill(0);
  s.fill(0);
  for (let j = 0; j < paints.length; j++) {
    const n = parts[j], first = paints[j] * bands;
    for (let i = 0; i < bands; i++) {
      k[i] += n * K[first + i];
      s[i] += n * S[first + i];
    }
  }
}

// Return CIELAB of so many parts of paints, which are places in the medium.
export function labOfMix(medium, paints, parts) {
  const lab = [0, 0, 0];
  setCurves(medium, paints, parts);
  setLab(medium, lab, 0);
  return lab;
}

// How strongly each paint colours a mix, so that mixes can be laid out even in effect.
export function pullOf(medium) {
  const { K, S, bands } = medium;
  return Array.from({ length: medium.count }, (_, p) => {
    let sum = 0;
    for (let i = p * bands; i < (p + 1) * bands; i++) sum += (K[i] + S[i]) ** 2;
    return Math.sqrt(sum / bands);
  });
}

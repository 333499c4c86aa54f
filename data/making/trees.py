"""Trees for the demo scene: leaf by leaf, lit from the sun's side, greyed with distance.

A tree stands at its `foot`, (3,) metres; `rng` is the hand that scatters the touches.
"""


from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from data.making.brushwork import (
    FOCAL,
    TO_SUN,
    UP,
    YARD,
    Array,
    Canvas,
    Random,
    aired,
    blend,
    lit,
    noise,
    seen,
    smooth,
    tone,
)


def crown(canvas: Canvas, rng: Random, clumps: Array, radii: Array, tones: Array, count: int,
          leaf: tuple[float, float]) -> None:
    """Paint foliage: `count` touches with half axes `leaf` (m) on clumps (n, 3) of `radii` (n,).

    `tones` (n, 3) are the albedos; touches turned to the sun are lit, the crown's depth is dark.
    """
    order = np.argsort(-clumps[:, 2], kind="stable")
    clumps, radii, tones = clumps[order], radii[order], tones[order]
    n = len(clumps)
    out = rng.normal(size=(n, count, 3))
    out /= np.linalg.norm(out, axis=-1, keepdims=True)
    out = out[np.arange(n)[:, None], np.argsort(-out[..., 2], axis=1, kind="stable")]
    spread = rng.uniform(0.35, 1.2, (n, count, 1)) * [1.0, 1.15, 1.0]
    point = (clumps[:, None] + out * spread * radii[:, None, None]).reshape(-1, 3)
    point[:, 1] = np.maximum(point[:, 1], YARD)
    whole = clumps - clumps.mean(0)
    whole /= np.abs(whole).max(0) + 0.5
    normal = out * 0.8 + whole[:, None] * 0.7
    normal = (normal / np.linalg.norm(normal, axis=-1, keepdims=True)).reshape(-1, 3)
    open_to = 0.55 + 0.5 * (out @ TO_SUN) + 0.35 * (whole @ TO_SUN)[:, None] + 0.15 * out[..., 1]
    light = np.clip(open_to, 0.08, 1).reshape(-1, 1)
    albedo = np.repeat(tones, count, 0) * rng.uniform(0.7, 1.25, (n * count, 1))
    colour = lit(albedo, normal, light[:, 0], wrap=0.35) * (0.45 + 0.55 * light)
    size = FOCAL / point[:, 2:] * np.array(leaf) * rng.uniform(0.6, 1.5, (n * count, 1))
    angle = rng.normal(np.pi / 2, 0.7, n * count)
    canvas.dab(seen(point), size, angle, aired(colour, point[:, 2]))


def trunk(canvas: Canvas, rng: Random, spine: Array, girth: Array) -> None:
    """Paint a birch stem along `spine` (n, 3), `girth` (n,) metres thick, with its dark marks."""
    line, half = seen(spine), girth * FOCAL / spine[:, 2] / 2
    half = half * (0.92 + 0.16 * noise(np.arange(len(line)) * 0.5, line[0, 0], 3))
    edge = np.linspace(-1, 1, int(np.clip(half.max(), 3, 14)) + 1)
    steps = np.arange(len(line) - 1)
    for low, high in pairwise(edge):
        side = (low + high) / 2
        left, right = line.copy(), line.copy()
        left[:, 0] += low * half
        right[:, 0] += high * half + 0.2
        quads = np.stack([left[:-1], right[:-1], right[1:], left[1:]], 1)
        grain = noise(side * 1.2 + 31 * line[0, 0], steps * 0.45, 4)
        bark = tone("dcd2c2") * (0.66 + 0.5 * grain)[:, None]
        bark = blend(bark, tone("a98f76"), 0.6 * smooth(0.55, 0.7, grain))
        bark = blend(bark, tone("4f443c"), 0.85 * smooth(0.07, 0.0, steps / len(steps)))
        colour = lit(bark, np.broadcast_to([side, 0.0, -np.sqrt(1 - side**2)], bark.shape), 0.9)
        canvas.fill(quads, aired(colour, spine[0, 2]))
    where = rng.uniform(0, len(line) - 1.01, int(4.5 * len(line) * max(1, half.max() / 5)))
    where = where[rng.random(len(where)) < smooth(0.35, 0.7, noise(where / 1.7, line[0, 0]))]
    index, part = where.astype(int), (where % 1)[:, None]
    at = line[index] * (1 - part) + line[index + 1] * part
    n = len(at)
    at[:, 0] += rng.uniform(-0.85, 0.85, n) * half[index]
    wide, thick = rng.uniform(0.08, 0.45, n), 0.02 + 0.10 * rng.random(n) ** 3
    size = np.stack([wide, thick * (1 + (rng.random(n) < 0.12))], -1) * half[index][:, None] + 0.15
    dark = blend(tone("2a2523"), tone("6b6058"), rng.random(n))
    canvas.dab(at, size, rng.normal(0.05, 0.1, n), aired(dark, spine[0, 2]))
    scars = rng.uniform(2, len(line) - 2, 3 + len(line) // 8).astype(int)
    for scar in scars if half[0] > 5 else []:
        size = half[scar] * rng.uniform(0.4, 0.8)
        at = line[scar] + rng.normal(0, 1, (9, 2)) * [0.3 * half[scar], size / 3]
        canvas.dab(at, [size * 0.6, size * 0.22], rng.normal(0.3, 0.5, 9), tone("2f2826"))


def birch(canvas: Canvas, rng: Random, foot: ArrayLike, height: float, code: str) -> None:
    """Paint a birch in autumn leaf standing at `foot`, `height` metres tall."""
    foot = np.asarray(foot, float)
    part = np.linspace(0, 1, 16)
    lean, sway = rng.normal(0.01, 0.05) * height, rng.normal(0, 0.02) * height
    spine = foot + np.stack([lean * part + sway * np.sin(4 * part), height * part, 0 * part], -1)
    n = int(20 + height * 2.2)
    up = 0.30 + 0.70 * rng.random(n) ** 0.8
    reach = height * 0.15 * np.sin(np.pi * np.clip((1.05 - up) / 0.85, 0, 1) ** 0.8) + 0.15
    turn, off = rng.uniform(0, 2 * np.pi, n), np.sqrt(rng.uniform(0.05, 1, n)) * reach
    on = np.stack([np.interp(up, part, spine[:, k]) for k in range(3)], -1)
    clumps = on + np.stack([np.cos(turn) * off, -0.3 * off, np.sin(turn) * off], -1)
    radii = height * rng.uniform(0.025, 0.062, n)
    tones = tone(code) * rng.uniform(0.75, 1.2, (n, 1))
    tones = blend(tones, tone("6f7d38"), 0.7 * rng.random(n) * (up < 0.65))
    behind = clumps[:, 2] > foot[2]
    count, leaf = int(95 * 55 / foot[2]), (0.0016 * foot[2], 0.0008 * foot[2])
    crown(canvas, rng, clumps[behind], radii[behind], tones[behind] * 0.6, count, leaf)
    trunk(canvas, rng, spine, height * 0.017 * (1.06 - part))
    boughs = np.flatnonzero(rng.random(n) < 0.6)
    low = on[boughs] - off[boughs, None] * 0.8 * UP
    width = [height * 0.0022 * FOCAL / foot[2], 0]
    twigs = np.stack([seen(low) - width, seen(clumps[boughs]), seen(low) + width], 1)
    canvas.fill(twigs, np.broadcast_to(aired(tone("4a3d39"), foot[2]), (len(boughs), 3)))
    crown(canvas, rng, clumps[~behind], radii[~behind], tones[~behind], count, leaf)


def conifer(canvas: Canvas, rng: Random, foot: ArrayLike, height: float) -> None:
    """Paint a dark spruce standing at `foot`, `height` metres tall."""
    n = int(height * 7)
    down = np.linspace(0, 1, n)
    tier = 0.75 + 0.35 * (down * 9 % 1)
    turn, off = rng.uniform(0, 2 * np.pi, n), height * 0.20 * down**0.9 * tier + 0.05
    off *= rng.uniform(0.4, 1.05, n)
    place = np.stack([np.cos(turn) * off, height * (1 - 0.95 * down), np.sin(turn) * off], -1)
    tones = blend(tone("24372b"), tone("47543a"), rng.random(n) * 0.7)
    crown(canvas, rng, np.asarray(foot) + place, 0.035 * height * (0.3 + down), tones, 40,
          (0.16, 0.05))


def bushes(canvas: Canvas, rng: Random, low: float, high: float, z: float, tall: float,
           codes: list[str]) -> None:
    """Paint a row of low growth from x `low` to `high` at distance `z`, `tall` metres high."""
    n = int((high - low) * 4.0 / tall) + 2
    x = rng.uniform(low, high, n)
    swell = tall * (0.3 + 1.0 * noise(x / (3 * tall), z, 2))
    place = np.stack([x, YARD + swell * rng.uniform(0.0, 0.75, n), z + rng.normal(0, 0.8, n)], -1)
    tones = np.array([tone(code) for code in rng.choice(codes, n)])
    crown(canvas, rng, place, tall * rng.uniform(0.2, 0.36, n), tones, 60,
          (0.0016 * z, 0.0010 * z))

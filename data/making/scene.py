"""Paint the demo scene, `data/scene.jpg`: an invented brick kiln yard and birch wood in October.

Run as ``python -m data.making.scene``. The picture is painted from the sky forward, as one
would on the spot: every passage a surface colour under one low warm sun and a cool sky, greyed
by the air between. `brushwork` holds the conventions for lengths, pixels and colours.
"""


import io

import numpy as np
from PIL import Image, ImageCms, ImageFilter
from scipy.ndimage import gaussian_filter

from data.making.brushwork import (
    EYE,
    FINE,
    FOCAL,
    HEIGHT,
    HORIZON,
    SEED,
    UP,
    WIDTH,
    YARD,
    Array,
    Canvas,
    Random,
    aired,
    blend,
    found,
    lit,
    noise,
    seen,
    smooth,
    tone,
)
from data.making.buildings import KILN, kiln, shed, stacks, sunlit
from data.making.trees import birch, bushes, conifer, crown, trunk
from mixlab.colour.spaces import decode_srgb
from mixlab.files import bundled
from mixlab.writing import write_whole

# The near bank: pixels of its edge, metres of the path's middle, and the birches that frame it.
SHORE_ROWS = [452, 462, 472, 482, 500, 540, 600, 650, 690, 720, 745, 770, 800]
SHORE_AT = [150, 270, 318, 335, 342, 350, 372, 415, 490, 610, 800, 1040, 1330]
PATH_Z = [10, 12, 16, 20, 26, 32, 40, 48]
PATH_X = [-2.2, -3.0, -4.3, -5.6, -7.6, -8.9, -9.6, -9.0]
STEMS = [(-6.75, 15.6, 0.38), (-7.0, 19.0, 0.33), (-10.3, 21.0, 0.33)]  # x, z, girth


def sky(canvas: Canvas) -> None:
    """Lay the sky: cool above, pale and warm toward the horizon and the sun, with soft clouds."""
    at = canvas.window([[0, 0], [WIDTH, 345]])
    x, y = canvas.x[at], canvas.y[at]
    height = np.clip((HORIZON - y) / HORIZON, 0, 1)
    colour = blend(tone("eedcbb"), tone("c3d0d6"), smooth(0.20, 0.58, height))
    colour = blend(colour, tone("6c92b8"), smooth(0.38, 1.15, height))
    glow = np.exp(-(((x + 150) / 620) ** 2)) * (1 - height) ** 1.5
    colour = blend(colour, tone("f6e1b8"), 0.8 * glow)
    away = 1 / (height + 0.30)  # clouds lie on a ceiling, flatter and closer toward the horizon
    u, v = (x - WIDTH / 2) / 330 * away + 86.1, away * 2.6 + 117.4
    u, v = u + 0.5 * noise(u, v), v + 0.4 * noise(u + 30, v)
    body, toward = noise(u, v, 6), noise(u - 0.25, v + 0.12)
    cover = smooth(0.50, 0.62, body) * smooth(0.02, 0.22, height)
    light = 0.62 + 2.6 * (body - toward) - 0.8 * smooth(0.62, 0.82, body)
    cloud = blend(tone("9fa7b9"), tone("f8ecd6"), light)
    canvas.lay(blend(colour, cloud, 0.92 * cover), np.ones_like(x), at)


def hills(canvas: Canvas) -> None:
    """Lay three lines of hills, each nearer one darker, warmer and rougher."""
    at = canvas.window([[0, 205], [WIDTH, 345]])
    x, y = canvas.x[at], canvas.y[at]
    lines = [(262.0, 46.0, 310.0, "a3b0c0", 0.0), (290.0, 34.0, 200.0, "8898a8", 0.5),
             (316.0, 20.0, 130.0, "77857f", 1.0)]
    for number, (row, swing, length, code, rough) in enumerate(lines):
        crest = row + swing * (1 - 2 * noise(x[0] / length + 7 * number, 0.37 + number, 3))
        crest -= rough * 6 * noise(x[0] / 6, 3.1 * number, 3)
        shade = noise(x / 50, (y - crest) / 9 + 9 * number, 4)
        colour = tone(code) * (0.9 + 0.22 * smooth(0.35, 0.65, shade))[..., None]
        colour = blend(colour, tone("c4c2bd"), smooth(-10, 60, y - crest) * 0.5)
        colour = blend(colour, tone("e2d2b0"), 0.35 * np.exp(-((x + 60) / 420)))
        canvas.lay(colour, smooth(-0.8, 0.8, y - crest), at)


def fields(canvas: Canvas) -> None:
    """Lay the land beyond the pond: the clay of the yard, grass and stubble behind it."""
    at = canvas.window([[0, 320], [WIDTH, 475]])
    x, y = canvas.x[at], canvas.y[at]
    point = found(x, np.maximum(y, 336.0), [0, YARD, 0])
    u, z = point[..., 0], point[..., 2]
    grass = blend(tone("5f5c2e"), tone("97884a"), noise(u / 5, z / 9, 5) * 1.8 - 0.4)
    stubble = blend(tone("b59a5e"), tone("7f7a44"), noise(u / 14, z / 30, 4) * 2.6 - 0.8)
    clay = blend(tone("7d573f"), tone("b08560"), noise(u / 2.4, z / 5, 5) * 2 - 0.5)
    worn = noise(u / 9 + 3, z / 12, 3) + 0.012 * (66 - z) - 0.008 * np.abs(u + 2)
    albedo = blend(blend(grass, stubble, smooth(72, 95, z)), clay, smooth(0.42, 0.55, worn))
    sun = np.ones(z.shape)
    yard = (z < 76) & (u > -17) & (u < 30)
    sun[yard] = sunlit(point[yard])
    leaf_shade = smooth(13, 17, u - 0.1 * (z - 50)) * smooth(0.3, 0.5, noise(u / 2, z / 3, 3))
    colour = aired(lit(albedo, np.broadcast_to(UP, point.shape), sun * (1 - 0.8 * leaf_shade)), z)
    canvas.lay(colour, smooth(336, 340, y + 3 * noise(x / 9, 0)), at)


def smoke(canvas: Canvas) -> None:
    """Let a thin smoke drift from the kiln's mouth."""
    top = seen(KILN + UP * 10.8)
    at = canvas.window([[top[0] - 60, 0], [top[0] + 360, top[1] + 6]])
    x, y = canvas.x[at] - top[0], top[1] - canvas.y[at]
    rise = np.clip(y, 0, None)
    middle = 0.55 * rise**1.15 + 18 * (noise(rise / 50, 0.3, 2) - 0.5) * smooth(0, 40, rise)
    breadth = 8 + 0.24 * rise
    body = np.exp(-(((x - middle) / breadth) ** 2)) * smooth(-2, 5, y) * np.exp(-rise / 110)
    cover = 0.85 * body * smooth(0.2, 0.7, noise(x / 24 - y / 60, y / 30, 5))
    shade = smooth(-0.8, 1.0, (x - middle) / breadth + noise(x / 14, y / 14, 3) - 0.5)
    canvas.lay(blend(tone("e2d8c8"), tone("8b8e9b"), shade), cover, at)


def wood(canvas: Canvas, rng: Random) -> None:
    """Paint hedges far off, then the birch wood at the right, from its back to the water."""
    for z, low, high, tall in [(230, -130, 90, 7.0), (170, -95, -35, 6.0), (120, -70, -38, 4.5),
                               (96, -55, -33, 5.0), (140, -20, 70, 8.0)]:
        bushes(canvas, rng, low, high, z, tall, ["6a6a35", "86733a", "4c5738", "9a7f3f"])
    codes = ["b98f3c", "a9812f", "c4a04c", "9a8a3c", "8b8c40", "b07633"]
    rows = [(104, 6, 60, 2.2, 0.45), (88, 11, 50, 2.4, 0.45), (74, 14, 42, 2.3, 0.4),
            (63, 16.5, 36, 2.3, 0.15), (54, 15.5, 31, 2.5, 0.0)]  # the last: share of spruces
    for z, left, right, gap, spruces in rows:
        bushes(canvas, rng, left, right + 5, z + 3, 2.6, ["4a4427", "5a4a2a", "3b4028", "6d5a30"])
        for x in rng.permutation(np.arange(left, right, gap)) + rng.normal(0, 0.5):
            tall = (11.5 + 0.17 * (x - 12)) * rng.uniform(0.8, 1.2)
            foot = [x + rng.normal(0, 0.5), YARD, z + rng.normal(0, 1.5)]
            if rng.random() < spruces:
                conifer(canvas, rng, foot, tall * 0.95)
            else:
                birch(canvas, rng, foot, tall, str(rng.choice(codes)))
    bushes(canvas, rng, 17, 36, 51.5, 1.3, ["7a6a35", "8d7440", "5a5630", "8a5f38"])


def far_shore(x: Array) -> Array:
    """Return the row of the pond's far waterline at columns `x` of the picture."""
    return 460 + 14 * noise(x / 130, 8.8, 4)


def far_bank(canvas: Canvas, rng: Random) -> None:
    """Paint the pond's far edge: a low bank of clay, rough grass and the dark of the waterline."""
    at = canvas.window([[0, 436], [WIDTH, 476]])
    x, y = canvas.x[at], canvas.y[at]
    shore = far_shore(x)
    top = shore - 24 + 8 * noise(x / 40, 1.5, 3)
    earth = blend(tone("4f402f"), tone("876848"), noise(x / 22, y / 8) * 1.8 - 0.4)
    earth = earth * (1 - 0.72 * smooth(shore - 16, shore, y))[..., None]
    canvas.lay(aired(lit(earth, np.broadcast_to([0.0, 0.45, -0.9], earth.shape)), 46),
               smooth(-1, 1.5, y - top), at)
    foot = np.stack([rng.uniform(-10, WIDTH + 10, 9000), rng.uniform(440, 466, 9000)], -1)
    patch = noise(foot[:, 0] / 50, foot[:, 1] / 30, 3) + 0.25 * smooth(780, 900, foot[:, 0])
    shore = far_shore(foot[:, 0])
    foot = foot[(rng.random(9000) < smooth(0.36, 0.62, patch)) & (foot[:, 1] < shore + 1)]
    foot = foot[np.argsort(foot[:, 1], kind="stable")]
    n = len(foot)
    grass = blend(tone("4a4a26"), tone("9c874f"), rng.random(n) ** 1.8)
    colour = aired(lit(grass, np.broadcast_to([-0.4, 0.7, -0.59], (n, 3))), 46)
    colour = colour * (1.0 - 0.6 * smooth(-14, 0, foot[:, 1] - far_shore(foot[:, 0])))[:, None]
    rise = rng.uniform(2, 8, n) + 14 * rng.random(n) * smooth(0.55, 0.75, noise(foot[:, 0] / 60, 4))
    canvas.blades(foot, rise, rng.normal(1, 2, n), rng.uniform(0.8, 1.7, n), colour)


def pond(canvas: Canvas, rng: Random) -> None:
    """Lay the mill pond: the far side mirrored, darkened, and drawn out by ripples."""
    at = canvas.window([[0, 460], [WIDTH, HEIGHT]])
    x, y = canvas.x[at], canvas.y[at]
    shore = far_shore(x)
    u, _, z = np.moveaxis(found(x, y, [0, 0, 0]), -1, 0)
    swell = noise(u / 1.6, z / 0.6, 3) - 0.5 + 0.7 * (noise(u / 0.5, z / 0.17, 2) - 0.5)
    breeze = smooth(0.46, 0.66, noise(u / 16 + 2, z / 4.2, 3))
    painted, near = canvas.colours(), smooth(466, 760, y)
    mirrored = np.zeros((*x.shape, 3))
    for spread in (-0.6, -0.2, 0.2, 0.6):
        lift = (y - shore) + (5 + 22 * near + 16 * breeze) * (swell + 0.3 * spread)
        row = np.clip((shore - np.abs(lift)) * FINE, 0, None).astype(int)
        column = np.clip((x + 7 * near * swell) * FINE, 0, WIDTH * FINE - 1).astype(int)
        mirrored += painted[row, column] / 4
    body = lit(tone("3d3a27"), np.broadcast_to(UP, mirrored.shape)) * 0.5
    colour = blend(mirrored * [0.74, 0.77, 0.78], body, 0.18 + 0.40 * near)
    sheen = smooth(0.12, 0.42, swell) * (0.10 + 0.55 * breeze)
    colour = blend(colour, tone("a3aeb6"), sheen * (1 - 0.5 * near))
    colour = colour * (1 - 0.6 * smooth(8, 0, y - shore))[..., None]
    canvas.lay(colour, smooth(-0.7, 0.7, y - shore), at)
    spot = np.stack([rng.normal(6, 4.5, 420), 0 * np.ones(420), rng.uniform(15, 40, 420)], -1)
    spot = spot[noise(spot[:, 0] / 3, spot[:, 2] / 4, 3) > 0.5]
    afloat = lit(blend(tone("8a6a2e"), tone("d0a850"), rng.random(len(spot))), [0.0, 1.0, 0.0])
    canvas.dab(seen(spot), FOCAL / spot[:, 2:] * [0.045, 0.012], 0 * spot[:, 0], afloat)


def near_light(u: Array, z: Array) -> Array:
    """Return the share of sun on the near bank, past the stems and trees out of the picture."""
    along, across = u * 0.944 + z * 0.331, z * 0.944 - u * 0.331
    gaps = noise(along / 5.5 + 8, across / 1.5 + 2)
    light = 1 - smooth(0.48, 0.60, gaps + 0.05 * (15.2 - z) - 0.012 * (u + 3))
    for x, away, girth in STEMS:
        beyond = along - (x * 0.944 + away * 0.331)
        beside = np.abs(across - (away * 0.944 - x * 0.331))
        light = light * (1 - (beyond > 0) * smooth(girth / 2 + 0.10, girth / 2 - 0.05, beside))
    return light


def path_offset(u: Array, z: Array) -> Array:
    """Return how many metres the points of the near bank lie from the middle of the path."""
    return np.abs(u - np.interp(z, PATH_Z, PATH_X))


def near_bank(canvas: Canvas, rng: Random) -> None:
    """Lay the near bank: the ground under the grass, the wet clay path, its grit, fallen leaves."""
    at = canvas.window([[0, 446], [WIDTH, HEIGHT]])
    x, y = canvas.x[at], canvas.y[at]
    u, _, z = np.moveaxis(found(x, y, [0, 0.7, 0]), -1, 0)
    edge = np.interp(y, SHORE_ROWS, SHORE_AT) + (y - 440) * 0.1 * (noise(x / 50, y / 14) - 0.5)
    beside = path_offset(u, z) + 0.5 * (noise(u / 0.9, z / 1.2) - 0.5)
    grass = blend(tone("403f20"), tone("7d713c"), noise(u / 1.1, z / 1.6, 5) * 1.8 - 0.4)
    clay = blend(tone("765139"), tone("a98262"), noise(u / 0.7, z / 1.2, 6) * 1.9 - 0.45)
    rut = smooth(0.22, 0.05, np.abs(beside - 0.45))
    wet = smooth(0.50, 0.64, noise(u / 0.9 + 5, z / 3.2, 6))
    wet = wet * smooth(0.3, 0.1, np.abs(beside - 0.45))
    clay = blend(clay, tone("4a3426"), 0.55 * rut + 0.4 * wet)
    albedo = blend(grass, clay, smooth(1.1, 0.75, beside))
    colour = lit(albedo, np.broadcast_to([-0.15, 0.97, -0.15], albedo.shape), near_light(u, z))
    colour = blend(colour, tone("a8a9a6"), 0.48 * smooth(0.45, 0.85, wet))
    colour = blend(colour, tone("1d1a12"), 0.8 * smooth(10, 0, edge - x))
    canvas.lay(colour, smooth(-1.5, 1.5, edge - x), at)
    for n, width, dark, pale in [(14000, 0.011, "5a4030", "c8a480"),
                                 (1500, 0.030, "7d4f28", "d0a24a")]:
        spot = np.stack([rng.uniform(0, 900, n), 470 + 330 * rng.random(n) ** 0.7], -1)
        spot = spot[spot[:, 0] < np.interp(spot[:, 1], SHORE_ROWS, SHORE_AT) - 6]
        u, _, z = np.moveaxis(found(spot[:, 0], spot[:, 1], [0, 0.7, 0]), -1, 0)
        albedo = blend(tone(dark), tone(pale), rng.random(len(spot)))
        size = FOCAL / z[:, None] * [1.0, 0.45] * width * rng.uniform(0.5, 1.4, (len(spot), 1))
        canvas.dab(spot, size, rng.normal(0, 0.5, len(spot)),
                   lit(albedo, np.broadcast_to(UP, albedo.shape), near_light(u, z)))


def grass(canvas: Canvas, rng: Random, low: float, high: float) -> None:
    """Paint the near bank's grass with feet between two rows of the picture, far blades first."""
    n = int(110 * (high - low))
    foot = np.stack([rng.uniform(-20, WIDTH + 20, n), rng.uniform(low, high, n)], -1)
    u, _, z = np.moveaxis(found(foot[:, 0], foot[:, 1], [0, 0.7, 0]), -1, 0)
    beside = path_offset(u, z) + rng.normal(0, 0.1, n)
    inside = np.interp(foot[:, 1], SHORE_ROWS, SHORE_AT) + 5 - foot[:, 0]
    keep = (inside > 0) & (beside > 0.85) & (rng.random(n) < 0.3 + noise(u / 1.4, z / 1.4, 3))
    order = np.flatnonzero(keep)[np.argsort(foot[keep, 1], kind="stable")]
    foot, u, z, beside, inside = foot[order], u[order], z[order], beside[order], inside[order]
    n = len(order)
    tuft = 0.35 + 1.1 * noise(u / 0.5 + 7, z / 0.7, 2) ** 2 + 0.5 * smooth(50, 0, inside)
    tall = rng.uniform(0.10, 0.42, n) * tuft * (0.4 + 0.6 * smooth(0.9, 1.6, beside))
    dry = noise(u / 1.7 + 3, z / 2.2) + rng.normal(0, 0.14, n)
    albedo = blend(tone("4d5128"), tone("b3965a"), smooth(0.32, 0.75, dry))
    colour = lit(albedo, np.broadcast_to([-0.62, 0.55, -0.56], (n, 3)), near_light(u, z))
    colour = colour * rng.uniform(0.4, 1.05, (n, 1)) * (0.5 + 0.5 * smooth(0, 25, inside))[:, None]
    px = FOCAL / z
    canvas.blades(foot, tall * px, rng.normal(0.05, 0.09, n) * px,
                  rng.uniform(0.010, 0.024, n) * px, colour)


def near_birches(canvas: Canvas, rng: Random) -> None:
    """Paint the birches that frame the left side, with the grass about their feet."""
    row = 440.0  # the grass grows in the order of distance, between the stems
    for x, z, girth in sorted(STEMS, key=lambda stem: -stem[1]):
        part = np.linspace(0, 1, 60)
        sway = 0.16 * np.sin(5 * part + x) + 0.4 * part
        spine = np.stack([x + sway, 0.65 + 12 * part, z + 0 * part], -1)
        foot = float(seen([x, 0.7, z])[1])
        grass(canvas, rng, row, foot - 3)
        trunk(canvas, rng, spine, girth * (1.1 - 0.5 * part + 0.5 * np.exp(-part * 40)))
        row = foot - 3
    grass(canvas, rng, row, HEIGHT + 45)


def hanging_leaves(canvas: Canvas, rng: Random) -> None:
    """Paint the sprays of leaf that hang into the picture from the near birches."""
    for _ in range(110):
        away = rng.uniform(14.5, 21)
        x = (rng.beta(1.0, 2.2) * 420 - 30 - WIDTH / 2) * away / FOCAL
        top = EYE + (HORIZON + 25 - 50 * rng.random()) * away / FOCAL
        drop = rng.uniform(0.2, 2.4) ** 1.3 * smooth(-2.0, -9.5, x * 17 / away) + 0.4
        down = np.linspace(0, 1, 10)[:, None]
        spray = [x, top, away] + down * [0.3 * drop, -drop, 0] + rng.normal(0, 0.05, (10, 3))
        line, wide = seen(spray), np.array([FOCAL / away * 0.006, 0])
        quads = np.stack([line[:-1], line[:-1] + wide, line[1:] + wide, line[1:]], 1)
        canvas.fill(quads, np.broadcast_to(tone("3d302b"), (9, 3)))
        tones = blend(tone("d0a443"), tone("97933f"), rng.random(10)) * rng.uniform(0.5, 1.25)
        crown(canvas, rng, spray, np.linspace(0.24, 0.09, 10), tones, 11, (0.036, 0.019))


def reeds(canvas: Canvas, rng: Random) -> None:
    """Paint the reeds at the right of the near bank: dark at the foot, straw and plumes above."""
    across = np.concatenate([rng.normal(1050, 85, 1700), rng.normal(800, 70, 350)])
    n = len(across)
    depth = rng.normal(0, 1, n)
    foot = np.stack([across, np.interp(across, SHORE_AT, SHORE_ROWS) + 10 + 14 * depth], -1)
    rise = rng.uniform(35, 165, n) * (0.25 + np.exp(-(((across - 1060) / 140) ** 2)))
    bend = rng.normal(0.12, 0.2, n) * rise
    light = np.clip(0.35 + 0.2 * depth + rng.normal(0, 0.3, n), 0.0, 1)
    albedo = blend(tone("45452a"), tone("bba271"), rng.random(n) ** 1.5)
    colour = lit(albedo, np.broadcast_to([-0.7, 0.3, -0.64], (n, 3)), light)
    colour = colour * (0.4 + 0.6 * light[:, None])
    order = np.argsort(foot[:, 1], kind="stable")
    foot, rise, bend, colour = foot[order], rise[order], bend[order], colour[order]
    for part in np.array_split(np.arange(n), 8):
        dark = blend(tone("1f1b12"), tone("3f3620"), rng.random(len(part)))
        canvas.blades(foot[part], rise[part] * 0.55, bend[part] * 0.6,
                      rng.uniform(2, 4, len(part)), dark)
        canvas.blades(foot[part], rise[part], bend[part], rng.uniform(1.0, 2.6, len(part)),
                      colour[part])
        tall = part[(rise[part] > 95) & (rng.random(len(part)) < 0.22)]
        tip = foot[tall] + np.stack([bend[tall], -rise[tall]], -1)
        plume = blend(tone("7b6350"), tone("c9b194"), rng.random(len(tall)))
        lean = bend[tall] / rise[tall] + rng.normal(0.12, 0.15, len(tall))
        for step in np.arange(9.0):
            along = np.stack([lean, 0 * lean - 1], -1) * (10 - 2.2 * step)
            full = 0.5 + 1.3 * np.sin(np.pi * (step + 1) / 10)
            loose = rng.normal(0, 0.35 * full, along.shape)
            canvas.dab(tip + along + loose, [2.4, 0.55 * full], lean - np.pi / 2, plume)


def brush_over(canvas: Canvas, rng: Random) -> None:
    """Draw the picture together with touches along its forms, broad where little happens."""
    under = Image.fromarray(np.asarray(canvas.image)).filter(ImageFilter.GaussianBlur(0.8 * FINE))
    source = np.asarray(under)[::FINE, ::FINE].astype(float) / 255
    down, across = np.gradient(gaussian_filter(source.mean(-1), 0.7))
    xx, yy, xy = (gaussian_filter(part, 3.0) for part in (across**2, down**2, across * down))
    along = 0.5 * np.arctan2(2 * xy, xx - yy) + np.pi / 2
    busy = smooth(0.0, 0.055, np.sqrt(xx + yy))
    n = 90000
    at = np.stack([rng.uniform(0, WIDTH - 1, n), rng.uniform(0, HEIGHT - 1, n)], -1)
    column, row = at.astype(int).T
    broad = 1 - busy[row, column]
    order = np.argsort(-broad, kind="stable")
    at, column, row, broad = at[order], column[order], row[order], broad[order]
    size = np.stack([1.6 + 7.5 * broad**2, 0.75 + 1.9 * broad**2], -1)
    size = size * rng.uniform(0.7, 1.3, (n, 1))
    colour = decode_srgb(source[row, column]) * (1 + rng.normal(0, 0.035, (n, 1)))
    colour = colour * (1 + rng.normal(0, 0.012, (n, 3)))
    calm = broad > 0.93
    angle = np.where(calm, rng.normal(0.0, 0.35, n), along[row, column] + rng.normal(0, 0.18, n))
    sharp = canvas.image.copy()
    canvas.dab(at + 0.5, size, angle, colour)
    canvas.image = Image.blend(canvas.image, sharp, 0.3)


def paint() -> Image.Image:
    """Paint the whole scene and return it at its finished size."""
    canvas, rng = Canvas(), np.random.default_rng(SEED)
    sky(canvas)
    hills(canvas)
    fields(canvas)
    wood(canvas, rng)
    shed(canvas)
    smoke(canvas)
    kiln(canvas)
    stacks(canvas)
    far_bank(canvas, rng)
    pond(canvas, rng)
    near_bank(canvas, rng)
    near_birches(canvas, rng)
    hanging_leaves(canvas, rng)
    reeds(canvas, rng)
    brush_over(canvas, rng)
    picture = np.asarray(canvas.image.resize((WIDTH, HEIGHT), Image.Resampling.BOX), float)
    grain = rng.normal(0, 1.3, (HEIGHT, WIDTH, 1)) + rng.normal(0, 0.6, (HEIGHT, WIDTH, 3))
    return Image.fromarray(np.rint(np.clip(picture + grain, 0, 255)).astype(np.uint8))


def jpeg_of(picture: Image.Image) -> bytes:
    """Return a picture as a JPEG file that says it is sRGB."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[24:36] = bytes.fromhex("07e8000a0011000f00000000")  # a fixed date of making
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=90, subsampling=0, icc_profile=bytes(profile))
    return stream.getvalue()


def main() -> None:
    """Paint the scene and write `scene.jpg` among the bundled data."""
    write_whole(bundled("scene.jpg"), jpeg_of(paint()))


if __name__ == "__main__":
    main()

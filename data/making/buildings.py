"""The brickworks of the demo scene: kiln, drying shed, chimney and stacks, and their shadows.

A material gives the albedo (..., 3) at `u` metres along and `v` metres up a face.
"""


from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from data.making.brushwork import (
    BLOCK,
    EYE,
    FOCAL,
    HORIZON,
    TO_SUN,
    UP,
    WIDTH,
    YARD,
    Array,
    Canvas,
    aired,
    blend,
    cells,
    found,
    lit,
    noise,
    seen,
    smooth,
    tone,
)

Material = Callable[[Array, Array], Array]

KILN = np.array([-8.6, YARD, 54.0])
SHED, SHED_TURN, SHED_SIZE = np.array([4.6, YARD, 61.5]), -0.44, (21.0, 2.9, 6.0)
STACKS = [  # foot of each stack of bricks; length, height, depth; turn; colour
    ((-3.1, YARD, 54.6), (2.4, 1.4, 1.3), 0.40, "a9603f"),
    ((-0.6, YARD, 52.4), (2.3, 0.8, 1.2), -0.30, "a0523c"),
    ((3.2, YARD, 54.6), (2.6, 1.7, 1.2), 0.45, "b0704f"),
    ((5.5, YARD, 52.2), (2.2, 1.1, 1.2), 0.55, "b98468"),
    ((8.3, YARD, 52.8), (2.0, 0.7, 1.2), -0.35, "a9634a"),
    ((-15.6, YARD, 53.2), (2.4, 1.3, 1.3), 0.35, "a85a40"),
    ((-13.9, YARD, 50.8), (1.6, 0.6, 1.2), -0.30, "b8795a"),
]


def brick(u: Array, v: Array) -> Array:
    """Return the albedo of old brickwork, `u` metres along and `v` metres up the wall."""
    course = np.floor(v / 0.24)
    each = cells(u / 0.6 + 0.5 * (course % 2), course)
    colour = blend(tone("964b2e"), tone("b56a44"), 0.15 + 0.7 * each)
    colour = blend(colour, tone("74403a"), 0.6 * smooth(0.88, 0.92, each))
    joint = smooth(0.22, 0.5, np.abs(v / 0.24 - course - 0.5))
    colour = blend(colour * (1 - 0.25 * joint[..., None]), tone("6e564a"), 0.45 * joint)
    stain = noise(u / 1.3, v / 3.2, 4)
    colour = blend(colour, tone("4d3832"), 0.8 * smooth(0.55, 0.8, stain))
    return blend(colour, tone("c2977a"), 0.45 * smooth(0.52, 0.75, noise(u / 2.2 + 9, v / 1.1)))


def tiles(u: Array, v: Array) -> Array:
    """Return the albedo of a clay tile roof, `v` metres up the slope: warm, mossy, uneven."""
    v = v + 0.12 * noise(u / 1.5, v / 2, 2)
    row = np.floor(v / 0.3)
    each = cells(u / 0.34 + 0.5 * (row % 2), row)
    colour = blend(tone("7d4432"), tone("a86a4a"), 0.3 + 0.4 * each + noise(u, v) - 0.5)
    colour = colour * (0.7 + 0.3 * smooth(0.0, 0.35, v / 0.3 - row))[..., None]
    moss = smooth(0.50, 0.68, noise(u / 1.7 + 4, v / 0.9, 5))
    return blend(colour, tone("6d693c"), 0.65 * moss)


def open_bays(u: Array, v: Array) -> Array:
    """Return the albedo of the drying shed's front: plinth, posts, racks of brick in the dark."""
    shelf = np.floor(v / 0.36)
    filled = (np.abs(v / 0.36 - shelf - 0.45) < 0.3) * (noise(u / 0.9, shelf * 3.7, 2) > 0.42)
    racks = blend(tone("1f1917"), tone("694536"), 0.6 * filled * noise(u * 3, shelf, 2))
    wood = tone("86705c") * (0.6 + 0.7 * noise(u * 5, v, 2))[..., None]
    post = (np.abs(u % 2.2 - 1.1) > 0.98) | (v > 2.72)
    return np.where(
        (v < 0.85)[..., None], brick(u, v), np.where(post[..., None], wood, racks)
    )


def axes(turn: float) -> tuple[Array, Array]:
    """Return the unit vectors along and into the depth of a building turned on the ground."""
    c, s = np.cos(turn), np.sin(turn)
    return np.array([c, 0, s]), np.array([-s, 0, c])


def in_block(point: Array, foot: ArrayLike, size: ArrayLike, turn: float) -> NDArray[np.bool_]:
    """Tell which points (..., 3) lie inside an upright block."""
    length, height, depth = np.asarray(size, float)
    (along, back), away = axes(turn), point - np.asarray(foot, float)
    inside = (np.abs(away @ along) < length / 2) & (np.abs(away @ back) < depth / 2)
    return np.asarray(inside & (away[..., 1] < height))


def kiln_radius(height: Array) -> Array:
    """Return the radius of the bottle kiln at a height above its foot."""
    up = [-1, 0, 2.6, 2.7, 4.0, 5.4, 6.8, 8.2, 9.6, 10.3, 10.35, 10.8, 10.81]
    out = [3.9, 3.9, 3.72, 3.6, 3.4, 2.75, 1.95, 1.38, 1.1, 1.04, 1.16, 1.16, 0.0]
    return np.interp(height, up, out)


def in_shed(point: Array) -> NDArray[np.bool_]:
    """Tell which points (..., 3) lie under the shed's roof."""
    across = np.abs((point - SHED) @ axes(SHED_TURN)[1])
    length, eaves, depth = SHED_SIZE
    under = point[..., 1] - YARD < eaves + 2.1 - 0.8 * across
    return np.asarray(under & in_block(point, SHED, (length, 9.0, depth), SHED_TURN))


def sunlit(point: Array, reach: float = 36.0, steps: int = 72) -> Array:
    """Return 1 where the sun reaches the points (n, 3), 0 where a building stands between."""
    free = np.ones(len(point))
    step = np.linspace(0.2, reach, steps)
    near = step < 7
    for start in range(0, len(point), BLOCK // steps):
        some = slice(start, start + BLOCK // steps)
        there = point[some, None] + TO_SUN * step[:, None]
        x, y, z = np.moveaxis(there - KILN, -1, 0)
        shade = np.any((x * x + z * z < kiln_radius(y) ** 2) | in_shed(there), axis=1)
        for foot, size, turn, _ in STACKS:
            shade |= np.any(in_block(there[:, near], foot, size, turn), axis=1)
        free[some][shade] = 0
    return free


def facet(canvas: Canvas, corners: ArrayLike, material: Material) -> None:
    """Paint a flat polygon of the place, corners (n, 3) anticlockwise, the first edge its foot."""
    corners = np.asarray(corners, float)
    along = corners[1] - corners[0]
    along /= np.linalg.norm(along)
    normal = np.cross(corners[-1] - corners[0], along)
    normal /= np.linalg.norm(normal)
    outline = seen(corners)
    at = canvas.window(outline)
    cover = canvas.shape(outline, at, 0.35)
    point = found(canvas.x[at], canvas.y[at], corners[0], normal)
    u, v = (point - corners[0]) @ along, (point - corners[0]) @ np.cross(along, normal)
    sun = np.zeros(u.shape)
    if normal @ TO_SUN > 0:
        sun[cover > 0] = sunlit(point[cover > 0] + normal * 0.05)
    colour = lit(material(u, v), np.broadcast_to(normal, point.shape), sun)
    canvas.lay(aired(colour, point[..., 2]), cover, at)


def block(canvas: Canvas, foot: ArrayLike, size: ArrayLike, turn: float, look: Material) -> None:
    """Paint an upright block: `foot` the middle of its base; size length, height, depth."""
    length, height, depth = np.asarray(size, float)
    along, back = axes(turn)
    middle, rise = np.asarray(foot, float), UP * height
    a, b, c, d = (middle + along * length / 2 * i + back * depth / 2 * j
                  for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1)))
    for left, right in ((a, b), (b, c), (d, a)):
        if np.cross(rise, right - left) @ (left - [0, EYE, 0]) < 0:
            facet(canvas, [left, right, right + rise, left + rise], look)
    if middle[1] + height < EYE:
        facet(canvas, [a + rise, b + rise, c + rise, d + rise], look)


def shed(canvas: Canvas) -> None:
    """Paint the drying shed and the chimney behind it."""
    block(canvas, [9.4, YARD, 66.0], [1.25, 13.0, 1.25], SHED_TURN, brick)
    block(canvas, [9.4, YARD + 13.0, 66.0], [1.55, 0.45, 1.55], SHED_TURN, brick)
    length, eaves, depth = SHED_SIZE
    along, back = axes(SHED_TURN)
    along, back = along * length / 2, back * depth / 2
    up, ridge = UP * eaves, UP * (eaves + 2.4)
    a, b, c = SHED - along - back, SHED + along - back, SHED + along + back
    facet(canvas, [b, c, c + up, SHED + along + ridge, b + up], brick)
    facet(canvas, [a, b, b + up, a + up], open_bays)
    out, over = along * 1.025, back * 1.16 + UP * 0.34
    eave, top = SHED + up - over, SHED + ridge
    facet(canvas, [eave - out, eave + out, top + out, top - out], tiles)


def kiln(canvas: Canvas) -> None:
    """Paint the bottle kiln: round brickwork with iron bands, soot at the mouth, a fire door."""
    at = canvas.window(seen([[-13.5, 12.5, 54], [-3.5, 0.0, 50]]))
    x, y = canvas.x[at], canvas.y[at]
    over = ((x - WIDTH / 2) / FOCAL - KILN[0] / KILN[2]) * KILN[2]
    depth = np.full(x.shape, KILN[2])
    for _ in range(3):
        height = EYE - YARD - (y - HORIZON) * depth / FOCAL
        radius = np.maximum(kiln_radius(height), 1e-3)
        side = np.clip(over / radius, -1, 1)
        depth = KILN[2] - radius * np.sqrt(1 - side**2)
    slope = (kiln_radius(height - 0.3) - kiln_radius(height + 0.3)) / 0.6
    normal = np.stack([side, np.clip(slope, 0, 1), -np.sqrt(1 - side**2)], -1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    angle = np.arcsin(side)
    albedo = brick(angle * 3.4, height)
    band = np.min(np.abs(height[..., None] - [1.3, 2.65, 3.9, 5.2, 6.6, 8.2]), -1) < 0.06
    albedo = blend(albedo, tone("4a3f3b"), 0.8 * band)
    soot = smooth(6.0, 10.8, height + 2.2 * noise(angle * 3, height / 3, 3))
    albedo = blend(albedo, tone("3b302d"), 0.72 * soot)
    albedo = blend(albedo, tone("55533a"), 0.6 * smooth(1.0, 0.0, height + noise(angle * 5, 0)))
    arch = np.hypot((angle - 0.18) * 3.6, np.maximum(height - 1.2, 0))
    albedo = blend(albedo, tone("8f6a55"), 0.7 * smooth(1.1, 1.0, arch))
    albedo = blend(albedo, tone("1a1412"), smooth(0.82, 0.74, arch) * (0.75 + 0.25 * (height > 0)))
    colour = aired(lit(albedo, normal, 1 - 0.9 * smooth(0.85, 0.74, arch)), depth)
    rim = radius * (1 - np.abs(over) / radius)
    canvas.lay(colour, smooth(-0.03, 0.05, rim) * (height > -0.1) * (height < 10.8), at)


def stacks(canvas: Canvas) -> None:
    """Paint the stacks of fired bricks in the yard."""
    for foot, size, turn, code in sorted(STACKS, key=lambda stack: -stack[0][2]):

        def look(u: Array, v: Array, code: str = code) -> Array:
            each = cells(u / 0.3, v / 0.2)
            gap = smooth(0.32, 0.5, np.abs(v / 0.4 % 1 - 0.5))
            shade = each * 0.5 + 0.5 * noise(u, v) - 0.6 * gap
            return blend(tone(code) * 0.6, tone(code) * 1.25, shade)

        block(canvas, foot, size, turn, look)

"""CIEDE2000, coordinates that are nearly even in it, and the miss that passes."""

import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, one_thread
from mixlab.colour.spaces import lab_to_lch


def ways_apart(lab: ArrayLike, other: ArrayLike) -> Array:
    """Return how far `other` lies from `lab` (..., 3) in lightness, chroma and hue, with the sign.

    By the weights of CIE94, for saying it in words: CIEDE2000 couples chroma and hue in the blues,
    which no word could say.
    """
    one, two = np.moveaxis(lab_to_lch(lab), -1, 0), np.moveaxis(lab_to_lch(other), -1, 0)
    mean = (one[1] + two[1]) / 2
    turn = 2 * np.sqrt(one[1] * two[1]) * np.sin(np.radians(two[2] - one[2]) / 2)
    return np.stack([
        two[0] - one[0], (two[1] - one[1]) / (1 + 0.045 * mean), turn / (1 + 0.015 * mean),
    ], axis=-1)  # fmt: skip


# --- differences --------------------------------------------------------------------------------


def difference(
    lab1: ArrayLike, lab2: ArrayLike, kl: float = 1.0, kc: float = 1.0, kh: float = 1.0
) -> Array:
    """Return the CIEDE2000 difference as a vector (..., 3) whose length is CIEDE2000.

    The components lie along lightness, chroma and hue. The formula's rotation term, which couples
    chroma and hue in the blues, is folded into them, so that a least-squares method that shortens
    this vector minimises CIEDE2000 itself.

    Parameters
    ----------
    lab1, lab2 : CIELAB (..., 3), broadcast; positive components mean that lab2 has more
    kl, kc, kh : parametric factors, ISO/CIE 11664-6
    """
    lab1, lab2 = np.asarray(lab1, dtype=float), np.asarray(lab2, dtype=float)
    l1, a1, b1 = lab1[..., 0], lab1[..., 1], lab1[..., 2]
    l2, a2, b2 = lab2[..., 0], lab2[..., 1], lab2[..., 2]
    # numbers of the equations in Sharma, Wu, Dalal 2005; products where powers and many cosines of
    # a library would take most of the time
    c7 = _seventh((_length(a1, b1) + _length(a2, b2)) / 2)  # (2), (3)
    stretch = 1.5 - 0.5 * np.sqrt(c7 / (c7 + 25.0**7))  # 1 + (4)
    a1, a2 = a1 * stretch, a2 * stretch  # (5)
    c1, c2 = _length(a1, b1), _length(a2, b2)  # (6)
    h1, h2 = _turned_up(np.arctan2(b1, a1)), _turned_up(np.arctan2(b2, a2))  # (7), radians
    turn = h2 - h1
    # (10); opposite hues count as not more than half a turn apart, however they are rounded
    turn = turn - 2 * np.pi * np.rint(turn * ((1 - 1e-12) / (2 * np.pi)))
    dl, dc = l2 - l1, c2 - c1  # (8), (9)
    dh = 2 * np.sqrt(c1 * c2) * np.sin(turn / 2)  # (11)
    lm, cm = (l1 + l2) / 2, (c1 + c2) / 2  # (12), (13)
    hm = h1 + turn / 2  # (14); of a neutral it does not count, as (11) is 0
    cos, sin = np.cos(hm), np.sin(hm)
    cos2, sin2 = cos * cos - sin * sin, 2 * cos * sin
    # (15), its four cosines by those of hm and of twice hm
    t = (
        1
        + (_T1[0] * cos + _T1[1] * sin)
        + 0.24 * cos2
        + (_T3[0] * (cos2 * cos - sin2 * sin) + _T3[1] * (sin2 * cos + cos2 * sin))
        + (_T4[0] * (cos2 * cos2 - sin2 * sin2) + _T4[1] * (2 * cos2 * sin2))
    )
    around = np.where(hm < 2 * np.pi, _turned_up(hm), hm - 2 * np.pi)
    from_blue = (around - math.radians(275)) / math.radians(25)
    cm7 = _seventh(cm)
    around_blue = math.radians(60) * np.exp(-from_blue * from_blue)
    rotation = -2 * np.sqrt(cm7 / (cm7 + 25.0**7)) * np.sin(around_blue)
    far = (lm - 50) * (lm - 50)
    sl = 1 + 0.015 * far / np.sqrt(20 + far)  # (18)
    x = dc / (kc * (1 + 0.045 * cm))  # (19)
    y = dh / (kh * (1 + 0.015 * cm * t))  # (20)
    # x^2 + y^2 + rotation x y, as the sum of two squares
    return np.stack(
        [
            dl / (kl * sl),
            x + rotation / 2 * y,
            np.sqrt(1 - (rotation / 2) ** 2) * y,
        ],
        axis=-1,
    )


def _length(a: Array, b: Array) -> Array:
    return np.sqrt(a * a + b * b)


def _seventh(c: Array) -> Array:
    square = c * c
    return square * square * square * c


def _turned_up(hue: Array) -> Array:
    """Return hues (...) with a whole turn more where they are below zero."""
    return np.where(hue < 0, hue + 2 * np.pi, hue)


def _share(size: float, phase: float) -> tuple[float, float]:
    """Return what a cosine of n hm + phase has of cos(n hm) and of sin(n hm)."""
    return size * math.cos(phase), -size * math.sin(phase)


_T1 = _share(-0.17, -math.pi / 6)
_T3 = _share(0.32, math.pi / 30)
_T4 = _share(-0.20, -0.35 * math.pi)


def ciede2000(
    lab1: ArrayLike, lab2: ArrayLike, kl: float = 1.0, kc: float = 1.0, kh: float = 1.0
) -> Array:
    """Return CIEDE2000 (...,) between CIELAB colours (..., 3), broadcast; ISO/CIE 11664-6."""
    vector = difference(lab1, lab2, kl, kc, kh)
    total: Any = np.sqrt(np.einsum("...i,...i->...", vector, vector))
    return np.asarray(total)


def uniform(lab: ArrayLike) -> Array:
    """Return coordinates (..., 3) of CIELAB (..., 3) in which distance is near to CIEDE2000.

    Lightness, a* and chroma are stretched by the integrals of the formula's weighting functions
    (with T = 1 and no rotation term). For finding near colours quickly, not for stating
    differences.
    """
    lab = np.asarray(lab, dtype=float)
    a, b = lab[..., 1], lab[..., 2]
    a = a * np.interp(np.hypot(a, b), _C_STAR, _C_STRETCH)
    chroma = np.hypot(a, b)
    squeeze = np.where(chroma > 0, np.log1p(0.045 * chroma) / (0.045 * np.maximum(chroma, 1e-9)), 1)
    return np.stack([np.interp(lab[..., 0], _L_STAR, _L_EVEN), a * squeeze, b * squeeze], axis=-1)


def with_length(lab: Array) -> Array:
    """Return :func:`uniform` of CIELAB (..., 3), and half the squared length of that: (..., 4)."""
    even = uniform(lab)
    return np.concatenate([even, np.square(even).sum(axis=-1, keepdims=True) / 2], axis=-1)


def straight(lab: Array, others: Array) -> Array:
    """Return the squared distances (n,) by :func:`uniform` of a colour (3,) from others (..., 4).

    Those are as :func:`with_length` returns them, so that it takes one product.
    """
    aim = uniform(lab)
    with one_thread():
        square = others.reshape(-1, 4) @ np.append(-2 * aim, 2) + aim @ aim
    return np.asarray(np.maximum(square, 0))


_L_STAR = np.linspace(-20, 120, 281)
_L_MID = _L_STAR[:-1] + 0.25 - 50
_L_EVEN = np.concatenate(
    [[0], np.cumsum(0.5 / (1 + 0.015 * _L_MID**2 / np.sqrt(20 + _L_MID**2)))]
)
# the stretch of a*, in the mean from grey to each chroma
_C_STAR = np.linspace(0, 200, 401)
_C7_MID = (_C_STAR[1:] - 0.25) ** 7
_C_STRETCH = np.concatenate(
    [[1.5], np.cumsum(0.75 - 0.25 * np.sqrt(_C7_MID / (_C7_MID + 25.0**7))) / _C_STAR[1:]]
)

TOLERANCE = 2.0
"""Miss that passes for the colour itself in a painting [CIEDE2000]; common practice, no source."""

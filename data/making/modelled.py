"""Curves of paints for which no K and S are published: built from facts, by one method.

For each paint a few facts are written down: where it absorbs, its refractive index, the colour of
its masstone and of its tint in titanium white. Then:

- Absorption is a sum of known shapes. Iron earths are goethite (edge near 530 nm, weak band near
  650 nm), haematite (band near 535 nm, edge near 580 nm, weak band near 670 nm) and the brown-black
  of manganese oxide; chromium oxide has the two bands of Cr(III) near 460 and 600 nm. A titanate
  is an edge; the others are bands over an even floor, or a published neighbour of the same
  chemistry moved along. Places are those commonly given, from memory; where they are less sure than
  those of a mineral, the fit may move them.
- The class of opacity on the label is a fact like the colours: it says how far a paint scatters.
- Scattering goes as a power of wavelength. The search for its level starts at what the refractive
  index says (:func:`by_index`) and is held near it; where there is no index, at the level usual for
  such pigments. The earths, whose index runs with their make, are held to it loosely. Beside a
  published neighbour both of its curves are moved along, and no power bends them: its scattering
  peaks behind its edge and falls from there, as that of a strong absorber does. ``trial.py`` comes
  nearer so, 4.3 where 5.2 is missed without, and 4.4 with a power.
- The amounts, the level of scattering and its power are found by least squares on CIEDE2000 to the
  two colours. They are commonly known colours of such artists' paints, from memory: each is marked
  so in the table, with how far the curves lie from it.

``trial.py`` says how far this can be trusted: it models paints whose curves are published.

Four paints stand on measured oil paint instead, the drawdowns of Geldof, Proano Gaibor,
Ligterink, Hendriks and Kirchner, "Reconstructing Van Gogh's palette to determine the optical
characteristics of his paints", Heritage Science 6:17 (2018), CC0: zinc white by the two-ground
method, lead white beside it, viridian and Prussian blue by their tints in that zinc white. The unit
is carried over by ultramarine, which is in both sets: zinc white scatters 0.155 of what titanium
white does at 550 nm if the tint of one part in ten is to be the same. (Handbooks give about 0.12 by
reducing power and 0.26 by Fresnel reflectance at the pigment's boundary.)
"""


from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator
from scipy.optimize import least_squares

from mixlab.colour.difference import difference
from mixlab.colour.spaces import WAVELENGTHS, reflectance_to_lab, viewing
from mixlab.paint import optics
from mixlab.paint.paints import (
    LET_DOWN_CLASSES,
    SURFACE,
    TRANSPARENCIES,
    let_down_contrast_ratio,
)

Array = NDArray[np.float64]
Curves = tuple[Array, Array]

ZINC_SCATTERING = 0.155
"""Scattering of zinc white at 550 nm [that of titanium white]."""

REMEMBERED_SHARE = 0.32
"""Share in our titanium white at which tints look as those that memory calls one part in ten. The
white that memory has in mind is that much stronger: :func:`data.making.trial.remembered_share`
finds it on eighteen paints whose tints are published."""

REMEMBERED_SHARE_OF_BLACK = 0.6
"""The same for blacks, which memory holds to be stronger yet; by bone black, the published one."""

FROM_MEMORY = "colour of masstone and of 1:9 tint in titanium white commonly known, from memory"
FROM_MEMORY_AND_BANDS = f"{FROM_MEMORY}, as are its absorption bands"
FROM_MEMORY_AND_EDGE = f"{FROM_MEMORY}, as is its absorption edge"
FROM_MEMORY_AND_NEIGHBOUR = (
    "absorption and scattering of {} (R. S. Berns, IS&T 2016), moved along the spectrum; "
    + FROM_MEMORY
)
INDEX_UNKNOWN = "; no refractive index at hand: scattering of such organic pigments from memory"
FROM_OIL = "measured oil drawdowns, Geldof et al., Heritage Science 6:17 (2018)"


def log_shape(*points: tuple[float, float]) -> Array:
    """Return a curve (36,) through (wavelength [nm], level), smooth on a log scale, held beyond."""
    at, level = np.array(points).T
    inside = np.clip(WAVELENGTHS, at[0], at[-1])
    return np.asarray(np.exp(PchipInterpolator(at, np.log(level))(inside)))


def power(exponent: float) -> Array:
    """Return (wavelength / 550 nm) to a power, (36,)."""
    return np.asarray((WAVELENGTHS / 550) ** exponent)


def band(centre: float, width: float) -> Array:
    """Return a Gaussian band (36,) of height 1; centre and standard deviation in nm."""
    return np.asarray(np.exp(-0.5 * ((WAVELENGTHS - centre) / width) ** 2))


def edge(at: float, width: float = 6.0, floor: float = 1e-4) -> Array:
    """Return an absorption edge (36,), 1 before and `floor` after it, smooth on a log scale.

    Parameters
    ----------
    at : where the logarithm is half way down [nm]
    width : of the logistic curve [nm]
    """
    before = 1 / (1 + np.exp((WAVELENGTHS - at) / width))
    return np.asarray(floor ** (1 - before))


def shifted(curve: Array, by: float) -> Array:
    """Return a curve (36,) moved along by so many nm, on a log scale, held beyond its ends."""
    return np.asarray(np.exp(np.interp(WAVELENGTHS - by, WAVELENGTHS, np.log(curve))))


def by_index(index: float, gravity: float) -> float:
    """Return scattering [titanium white] of a pigment by its refractive index and specific gravity.

    It goes with Fresnel's reflectance at the boundary between pigment and binder and with volume,
    that is with mass over gravity, against rutile of 2.71 and 4.2 in a binder of 1.5. Six paints of
    known scattering (cadmium orange and red, cobalt blue, ultramarine, bone black, zinc white) have
    0.16 to 0.87 of that, 0.4 in the mean: coarser than the half wavelength that scatters most, and
    less of it in the tube.
    """

    def fresnel(n: float) -> float:
        return ((n - 1.5) / (n + 1.5)) ** 2

    return 0.4 * fresnel(index) / fresnel(2.71) * 4.2 / gravity


GOETHITE = log_shape(
    (380, 1.15), (430, 1.0), (480, 0.85), (510, 0.5), (540, 0.2), (570, 0.085), (600, 0.05),
    (640, 0.042), (670, 0.035), (700, 0.025), (730, 0.021),
)  # fmt: skip
HAEMATITE = log_shape(
    (380, 1.05), (430, 1.0), (480, 0.95), (535, 0.9), (560, 0.72), (580, 0.37), (600, 0.155),
    (630, 0.075), (670, 0.06), (700, 0.045), (730, 0.036),
)  # fmt: skip
MANGANESE = power(-1.2)
CHROMIUM_VIOLET = band(457, 37) + 0.9 * band(380, 30)
CHROMIUM_RED = band(602, 32)
FLAT: Array = np.ones_like(WAVELENGTHS)
_MIDDLE = int(np.flatnonzero(WAVELENGTHS == 550)[0])


PULL = 0.3
"""Weight of the distance to where the search starts, against CIEDE2000."""

SCATTERING_PULL = 4.0
"""The same for the level of scattering by the index: that is right to a factor of about e, and the
remembered colours to about 4 CIEDE2000. ``trial.py`` does best with 4, too (5.1; 5.5 with 0.3)."""


LABEL_PULL, _WITHIN = 30.0, 1.08
"""Weight of the distance to the class on the label, and how far within it there is none: a tenth
past the end of the class weighs as much as 3 CIEDE2000."""


@dataclass(frozen=True)
class Facts:
    """What is known of a paint that is modelled from colours.

    Attributes
    ----------
    shapes : relative absorption (36,) of each pigment in it
    amounts : where the search for their amounts starts [absorption at shape 1]
    scattering : where the search for the level of scattering starts [titanium white]
    masstone, tint : CIELAB, D65 / 2 degree, of the masstone and of the tint in titanium white
    share : of the paint in that tint, in our white
    moves : how far the places of the shapes may be off [nm]; 0 where they are known
    scatters : shape of scattering (36,), 1 at 550 nm, that moves along; None for a power
    scattering_pull : weight of the distance of that level to its start
    source : what they stand on, in words
    """

    shapes: tuple[Array, ...]
    amounts: tuple[float, ...]
    scattering: float
    masstone: tuple[float, float, float]
    tint: tuple[float, float, float]
    share: float = 0.1
    moves: float = 0.0
    scattering_pull: float = PULL
    source: str = FROM_MEMORY
    scatters: Array | None = None


FINE_GOETHITE = GOETHITE**1.3
"""Goethite ground too fine to scatter: its tail is paler beside its band, from memory."""

COLOURS = {
    "yellow-ochre": Facts(
        (GOETHITE, HAEMATITE), (0.2, 0.01), 0.20, (59, 15, 43), (90, 3, 19)
    ),
    "yellow-iron-oxide": Facts(
        (GOETHITE, HAEMATITE), (0.4, 0.01), 0.25, (62, 17, 50), (86, 5, 28)
    ),
    "raw-sienna": Facts(
        (GOETHITE, HAEMATITE, MANGANESE), (0.2, 0.03, 0.01), 0.04, (47, 15, 34), (86, 4.5, 18),
        scattering_pull=SCATTERING_PULL,
    ),
    "burnt-sienna": Facts(
        (GOETHITE, HAEMATITE, MANGANESE), (0.05, 0.4, 0.03), 0.06, (33, 18, 16), (77, 11, 13)
    ),
    "raw-umber": Facts(
        (GOETHITE, HAEMATITE, MANGANESE), (0.1, 0.01, 0.05), 0.06, (31, 3, 11), (80, 0.2, 11.5),
        scattering_pull=SCATTERING_PULL,
    ),
    "burnt-umber": Facts(
        (GOETHITE, HAEMATITE, MANGANESE), (0.05, 0.1, 0.05), 0.06, (28, 6, 6.5), (75, 5, 8),
        scattering_pull=SCATTERING_PULL,
    ),
    "red-iron-oxide": Facts(
        (HAEMATITE, MANGANESE), (1.0, 0.02), 0.30, (37, 28, 19), (67, 21, 13.5)
    ),
    "chromium-oxide-green": Facts(
        (CHROMIUM_VIOLET, CHROMIUM_RED, FLAT), (0.6, 0.5, 0.02), 0.25,
        (44, -16, 18), (80, -10.5, 9.5),
    ),
}  # fmt: skip


def _remembered(
    shapes: tuple[Array, ...], amounts: tuple[float, ...], scattering: float,
    masstone: tuple[float, float, float], tint: tuple[float, float, float],
    moves: float = 8.0, source: str = FROM_MEMORY_AND_BANDS,
) -> Facts:  # fmt: skip
    """Return facts whose tint is one part in ten of the white that memory has in mind."""
    return Facts(
        shapes, amounts, scattering, masstone, tint, REMEMBERED_SHARE, moves, SCATTERING_PULL,
        source,
    )  # fmt: skip


ORGANIC, FINE = 0.05, 0.02
"""Where the search for scattering starts for organic pigments, whose index is not at hand, and for
an oxide ground too fine to scatter [titanium white]; from memory."""

COLOURS |= {
    "naples-yellow": _remembered(
        (edge(480, 18, 1e-2), FLAT), (0.3, 5e-3), by_index(2.6, 4.5), (76, 12, 44), (89, 3, 24),
        source=FROM_MEMORY_AND_EDGE,
    ),
    "venetian-red": _remembered(
        (HAEMATITE, GOETHITE), (0.5, 0.1), by_index(2.9, 5.2), (41, 32, 25), (65, 26, 19),
        moves=0, source=FROM_MEMORY,
    ),
    "indian-red": _remembered(
        (HAEMATITE, FLAT), (1.0, 0.02), by_index(2.9, 5.2), (34, 24, 12), (59, 20, 6),
        source=FROM_MEMORY_AND_BANDS,
    ),
    "transparent-red-oxide": _remembered(
        (HAEMATITE, FLAT), (0.3, 1e-3), FINE, (31, 15, 19), (67, 15, 21),
        source=FROM_MEMORY_AND_BANDS,
    ),
    "transparent-yellow-oxide": _remembered(
        (FINE_GOETHITE, HAEMATITE), (0.2, 0.01), FINE, (47, 17, 40), (83, 4, 33),
        source=FROM_MEMORY_AND_BANDS,
    ),
    "alizarin-crimson": _remembered(
        (band(500, 28), band(530, 22), band(568, 14), band(400, 40), FLAT),
        (0.8, 1, 0.4, 0.3, 1e-3), ORGANIC, (28, 30, 12), (63, 37, -1),
        source=FROM_MEMORY_AND_BANDS + INDEX_UNKNOWN,
    ),
    "cobalt-violet": _remembered(
        (band(540, 40), band(585, 25), FLAT), (0.15, 0.08, 5e-3),
        0.036, (41, 30, -25), (75, 16, -17),
    ),
    "manganese-violet": _remembered(
        (band(550, 45), band(380, 25), FLAT), (0.25, 0.1, 0.01), 0.8 * by_index(1.72, 2.8),
        (34, 22, -21), (72, 15, -18),
    ),
    "cerulean-blue": _remembered(
        (band(590, 35), band(645, 25), band(450, 35), FLAT), (0.2, 0.2, 0.02, 0.01),
        by_index(1.84, 4.6), (48, -13, -36), (76, -12, -25),
    ),
    "cobalt-teal": _remembered(
        (band(650, 50), band(390, 35), FLAT), (0.3, 0.1, 5e-3), by_index(2.1, 5.0),
        (59, -36, -10), (80, -24, -8),
    ),
    "indanthrone-blue": _remembered(
        (band(600, 45), band(685, 40), band(400, 50), FLAT), (1.5, 1.0, 0.2, 0.05), ORGANIC,
        (24, 4, -11), (56, 2, -27), source=FROM_MEMORY_AND_BANDS + INDEX_UNKNOWN,
    ),
    "green-earth": _remembered(
        (band(380, 55), band(740, 90), FLAT), (0.3, 0.15, 0.03), by_index(1.62, 2.6),
        (42, -9, 10), (82, -6, 6),
    ),
    "mars-black": Facts(
        (FLAT, power(-1.0)), (0.8, 0.4), by_index(2.42, 5.0), (24, 0.9, 1.3), (49, 2.2, 4),
        REMEMBERED_SHARE_OF_BLACK, 0, SCATTERING_PULL, FROM_MEMORY,
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Beside:
    """What is known of a paint of the same chemistry as a published one.

    Attributes
    ----------
    neighbour : id of that
    by : how far along its curves stand [nm]; the fit may move them further
    masstone, tint : as in :class:`Facts`, the tint in the white that memory has in mind
    scatters : how much it scatters [the neighbour]
    """

    neighbour: str
    by: float
    masstone: tuple[float, float, float]
    tint: tuple[float, float, float]
    scatters: float = 1.0

    def facts(self, published: Curves, share: float = REMEMBERED_SHARE) -> Facts:
        """Return the facts, given the published curves and the share that the tint stands for."""
        k, s = moved_along(published, self.by)
        level = s[_MIDDLE]
        return Facts(
            (k, FLAT), (1.0, 1e-3), self.scatters * level, self.masstone, self.tint, share, 8.0,
            SCATTERING_PULL, "", s / level,
        )  # fmt: skip


NEIGHBOURS = {
    "cadmium-yellow-light": Beside("cadmium-orange", -70, (86, 1, 88), (93, -5, 52), 1.4),
    "cadmium-yellow-medium": Beside("cadmium-orange", -50, (80, 14, 86), (90, 3, 52), 1.4),
    "cadmium-red-medium": Beside("cadmium-red-light", 14, (44, 52, 32), (67, 36, 14)),
    "cadmium-red-deep": Beside("cadmium-red-light", 30, (35, 40, 20), (61, 33, 8)),
    "permanent-alizarin": Beside("pyrrole-red", 16, (31, 38, 16), (62, 41, 4), 0.3),
    # the other crystal of PV19, of which the red is the published one
    "quinacridone-violet": Beside("quinacridone-red", 0, (26, 22, 3), (61, 33, -13)),
}

def off_class(paint: Curves, label: str) -> float:
    """Return how far the let-down contrast ratio lies from the class of a label [its logarithm].

    0 within the class and 8 % in from its ends; negative below.
    """
    at = TRANSPARENCIES.index(label)
    low, high = (0.0, *LET_DOWN_CLASSES, np.inf)[at : at + 2]
    ratio = float(let_down_contrast_ratio(*paint, viewing()))
    return float(np.log(ratio / np.clip(ratio, _WITHIN * low, high / _WITHIN)))


def from_colours(facts: Facts, white: Curves, label: str = "") -> tuple[Array, Array, Array]:
    """Return K, S (36,) of a paint modelled from colours, and its misses (2,) [CIEDE2000].

    A label, one of :data:`TRANSPARENCIES`, is a fact beside the colours: it holds the scattering.
    """
    wanted = np.array([facts.masstone, facts.tint], dtype=float)

    def curves(parameters: Array) -> Curves:
        amounts, level = np.exp(parameters[:count]), np.exp(parameters[count])
        k = amounts @ np.array(facts.shapes)
        if facts.scatters is not None:
            return moved_along((k, level * facts.scatters), facts.moves * parameters[-1])
        s = level * power(parameters[count + 1])
        return (shifted(k, facts.moves * parameters[-1]) if facts.moves else k), s

    def off(parameters: Array) -> Array:
        made = tint(curves(parameters), white, np.array([1.0, facts.share]))
        return difference(wanted, made)

    count = len(facts.shapes)
    exponent = [-0.5] if facts.scatters is None else []
    move = [0.0] if facts.moves else []
    start = np.array([*np.log(facts.amounts), np.log(facts.scattering), *exponent, *move])
    pulls = np.full(len(start), PULL)
    pulls[count] = facts.scattering_pull

    def residuals(parameters: Array) -> Array:
        off_label = [LABEL_PULL * off_class(curves(parameters), label)] if label else []
        return np.concatenate([off(parameters).ravel(), pulls * (parameters - start), off_label])

    lower = np.full(len(start), -np.inf)
    upper = np.full(len(start), np.inf)
    if exponent:
        lower[count + 1], upper[count + 1] = -2.5, 1.0
    best = least_squares(residuals, start, bounds=(lower, upper), x_scale="jac").x
    return *curves(best), np.linalg.norm(off(best), axis=-1)


def tint(paint: Curves, white: Curves, share: Array) -> Array:
    """Return CIELAB (n, 3) of tints of a paint, its shares (n,) in white; 1 is the masstone."""
    shares = np.stack([share, 1 - share], axis=-1)
    k, s = (optics.mix(shares, pair) for pair in zip(paint, white, strict=True))
    return reflectance_to_lab(SURFACE.measured(optics.opaque(k, s)), viewing())


def moved_along(paint: Curves, by: float) -> Curves:
    """Return the curves of a paint, both moved along by so many nm."""
    return shifted(paint[0], by), shifted(paint[1], by)


def blend(share: float, one: Curves, other: Curves) -> Curves:
    """Return the curves of two paints ground together, `share` being that of the first."""
    k, s = (share * a + (1 - share) * b for a, b in zip(one, other, strict=True))
    return k, s


# --- from measured oil paint, at few wavelengths, read off the drawdowns ------------------------

# zinc white over two grounds: S relative to that at 550 nm falls as a power of wavelength
_ZINC_S_POWER = -1.75
_ZINC_K = ((380, 0.02), (400, 2.2e-3), (410, 1.35e-3), (430, 9e-4), (450, 5e-4), (500, 2.8e-4),
           (560, 2.5e-4), (620, 2.4e-4), (680, 1.8e-4), (730, 1.7e-4))  # fmt: skip

# lead white beside that zinc white, all 62 drawdowns, by mass: S at 550 nm and its power, K [zinc's
# S]
LEAD_BY_MASS, _LEAD_S_POWER = 0.66, -0.67
_LEAD_K = ((400, 5.7e-3), (420, 3.8e-3), (450, 2.4e-3), (500, 1.65e-3), (550, 1.85e-3),
           (600, 1.9e-3), (650, 1.6e-3), (700, 1.5e-3))  # fmt: skip

# K/S of tints in that zinc white: 11.6 parts of viridian, 6.3 of Prussian blue, in a hundred
_VIRIDIAN_TINT = 0.116, (
    (400, 0.064), (420, 0.105), (430, 0.119), (440, 0.121), (460, 0.086),
    (480, 0.056), (500, 0.033), (510, 0.030), (520, 0.037), (540, 0.077), (560, 0.163),
    (580, 0.281), (600, 0.391), (620, 0.442), (630, 0.450), (650, 0.401), (670, 0.332),
    (690, 0.213), (700, 0.187),
)  # fmt: skip
_PRUSSIAN_TINT = 0.063, (
    (400, 0.218), (420, 0.191), (440, 0.169), (450, 0.171), (470, 0.223),
    (490, 0.358), (510, 0.596), (530, 0.981), (550, 1.507), (570, 2.247), (590, 3.085),
    (610, 3.856), (630, 4.593), (650, 5.159), (680, 5.744), (700, 5.992),
)  # fmt: skip

_PRUSSIAN_OF_PHTHALO = 0.6
"""Tinting strength of a tube of Prussian blue [that of phthalo blue]; common practice, no source.
The drawdown of pure ground pigment is far stronger than any tube."""


def zinc_white() -> Curves:
    """Return K and S (36,) of zinc white."""
    return log_shape(*_ZINC_K), ZINC_SCATTERING * power(_ZINC_S_POWER)


LEAD_SCATTERING = 1.14
"""Scattering of lead white at 550 nm [zinc white], a knife's measure of each: the mean of two
figures. By the readings 1.10: 0.66 by mass, and films of one gap hold 1.66 times the mass (medians
of seven and fifteen drawdowns that are white but for 12 %). By handbooks 1.18: reducing power 155
to 205 by weight of pigment, and pastes of 91 and 83 % pigment, which hold 1.56 times as much of it
in a volume; from memory. Its drawdown has a contrast ratio of 0.86, zinc white's 0.89."""


def lead_white() -> Curves:
    """Return K and S (36,) of lead white: the colour of the readings, hiding as tubes of it do."""
    times = ZINC_SCATTERING * LEAD_SCATTERING / LEAD_BY_MASS
    return times * log_shape(*_LEAD_K), times * LEAD_BY_MASS * power(_LEAD_S_POWER)


def from_tint(share: float, tint: ArrayLike, scattering: Array) -> Curves:
    """Return K and S (36,) of a paint whose tint in zinc white has the K/S given.

    Parameters
    ----------
    share : of the paint in the tint
    tint : (36,), K/S of the tint
    scattering : (36,), S of the paint, known from its refractive index to be small
    """
    white_k, white_s = zinc_white()
    rest = 1 - share
    k = (np.asarray(tint) * (rest * white_s + share * scattering) - rest * white_k) / share
    return held(k), scattering


def held(curve: Array) -> Array:
    """Return a curve (36,) with its values at 400 and 700 nm kept beyond them."""
    return np.asarray(curve[np.clip(np.arange(len(curve)), 2, 32)])


def viridian() -> Curves:
    """Return K and S (36,) of viridian; its refractive index, 1.82-2.12, scatters a little."""
    share, tint = _VIRIDIAN_TINT
    return from_tint(share, log_shape(*tint), 0.02 * power(-0.5))


def prussian_blue(strength: Callable[[Curves], float]) -> Curves:
    """Return K and S (36,) of Prussian blue, at the strength of a tube.

    Parameters
    ----------
    strength : tells the tinting strength of curves, relative to phthalo blue
    """
    share, tint = _PRUSSIAN_TINT
    k, s = from_tint(share, log_shape(*tint), 0.02 * power(-0.5))
    scale = 1.0
    for _ in range(30):
        scale *= _PRUSSIAN_OF_PHTHALO / strength((scale * k, s))
    return scale * k, s

"""Key: the range of lights and darks of a scene, fitted to what paint spans.

A photo, and a scene even more so, runs from darker to lighter than paint does. Between its ends the
curve leaves lightness as it is, so that the middle keeps its contrast; toward each end that lies
beyond the paint it bends, and the end itself meets the darkest or the lightest mix. A scene that
spans less than paint is not stretched: mist stays mist. The order of values is kept always. The
sigmoid of CIE 156:2004 fits ranges as well, but moves the middle, which a painter would see first.

How dark paint goes depends on the hue: a dark blue can be mixed darker than a dark yellow green.
The dark end is set as deep as nearly all darks of the photo, in their own hues, can still be mixed.

References
----------
.. [1] CIE 156:2004, "Guidelines for the evaluation of gamut mapping algorithms", lightness
       rescaling; after Braun and Fairchild, "Image lightness rescaling using sigmoidal contrast
       enhancement functions", J. Electronic Imaging 8 (1999) 380-393.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices
from mixlab.colour.spaces import Viewing, lab_to_lch, lab_to_value, munsell_to_lab
from mixlab.errors import PhotoError, TargetError
from mixlab.nearest.medium import medium_of
from mixlab.nearest.sets import all_subsets, compositions
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.targets.one import numbers, sampled
from mixlab.targets.photo_files import Photo
from mixlab.targets.photos import GREY_CARD, photo_lab

ENDS = (0.5, 99.5)
"""Percentiles of the area between which a photo's lightness lies: a few odd pixels are none."""

LOWEST, HIGHEST = 3.0, 9.0
"""Munsell values at which the middle of a picture can be set: low key to high key."""

_BEND = 4.0  # how far a bend reaches, in times of what it lifts: at the end the slope is a half
_GAIN = 1.5  # most by which chroma rises with a dark that is lifted; common practice, no source
_PIXELS = 250_000  # of a photo that are looked at
_SOME = 20_000  # of those, whose darks are
_FORGIVEN = 2.5  # L* by which a dark may lie below the darkest mix: about 1.6 CIEDE2000
_LEFT = 0.015  # share of the area whose darks may lie farther below
_DEEPEST = 30.0  # L* beyond which the dark end is not lifted
_SECTORS, _RING, _RINGS = 24, 4.0, 16  # hue sectors; width [C*] and number of rings of chroma


@dataclass(frozen=True, eq=False)
class Floor:
    """How dark some tubes go in every hue and chroma, and how light.

    Attributes
    ----------
    lowest : (sectors, rings), L* of the darkest mix in a sector of hue with at least so much C*
    lightest : L* of the lightest mix
    """

    lowest: Array
    lightest: float

    def at(self, lab: ArrayLike) -> Array:
        """Return L* (...) of the darkest mix of the hue and chroma of colours (..., 3)."""
        return np.asarray(self.lowest[_cells(np.asarray(lab, dtype=float))])

    def chroma(self, lab: ArrayLike) -> Array:
        """Return the greatest C* (...) of mixes as dark as colours (..., 3), of their hue."""
        lab = np.asarray(lab, dtype=float)
        reached = self.lowest[_cells(lab)[0]] <= lab[..., :1]
        return np.asarray(_RING * reached.sum(axis=-1))

    @property
    def darkest(self) -> float:
        """L* of the darkest mix of any hue."""
        return float(self.lowest.min())


def _cells(lab: Array) -> tuple[Indices, Indices]:
    """Return the sector of hue and the ring of chroma (...) of colours (..., 3)."""
    _, chroma, hue = np.moveaxis(lab_to_lch(lab), -1, 0)
    sector = np.floor(hue * _SECTORS / 360).astype(int) % _SECTORS
    return sector, np.minimum(chroma / _RING, _RINGS - 1).astype(int)


@dataclass(frozen=True, eq=False)
class Key:
    """A curve from the lightness of a scene to that of paint.

    Attributes
    ----------
    view : light, observer and finish
    scene : L* of the scene's darkest and lightest
    paint : L* of what the scene's darkest and lightest can be mixed as at the most
    floor : how dark the tubes go under the finish
    middle : L* of the scene's middle, and L* where the painter sets it; None where it stays
    fits : whether anything is changed
    """

    view: Viewing
    scene: tuple[float, float]
    paint: tuple[float, float]
    floor: Floor
    middle: tuple[float, float] | None = None
    fits: bool = True

    @property
    def ends(self) -> tuple[float, float]:
        """L* that the scene's darkest and lightest are set to."""
        return max(self.scene[0], self.paint[0]), min(self.scene[1], self.paint[1])

    def lightness(self, L: ArrayLike) -> Array:
        """Return L* (...) as set in the key; it rises with L*."""
        given = np.asarray(L, dtype=float)
        if not self.fits:
            return given
        (low, high), (dark, light) = self.scene, self.ends
        there = np.clip(given, low, high)
        if self.middle is not None:
            from scipy.interpolate import PchipInterpolator

            known = [low, self.middle[0], high], [dark, self.middle[1], light]
            return np.asarray(PchipInterpolator(*known)(there))
        lift, drop = dark - low, high - light
        if _BEND * (lift + drop) > high - low:  # no middle is left to be kept
            return np.asarray(dark + (there - low) * (light - dark) / max(high - low, 1e-9))
        up = np.maximum(1 - (there - low) / (_BEND * lift), 0) if lift > 0 else 0.0
        down = np.maximum(1 - (high - there) / (_BEND * drop), 0) if drop > 0 else 0.0
        return np.asarray(there + lift * np.square(up) - drop * np.square(down))

    def set(self, lab: ArrayLike) -> Array:
        """Return colours (..., 3), CIELAB, as set in the key.

        Hue is kept. A dark that is lifted gains chroma in proportion, as far as that can be mixed;
        a colour that is lowered keeps its chroma.
        """
        lab = np.asarray(lab, dtype=float)
        there = self.lightness(lab[..., 0])
        moved = np.stack([there, lab[..., 1], lab[..., 2]], axis=-1)
        if self.fits:
            most = self.floor.chroma(moved) / np.maximum(np.hypot(lab[..., 1], lab[..., 2]), 1e-9)
            gain = np.clip(there / np.maximum(lab[..., 0], 1.0), 1.0, _GAIN)
            moved[..., 1:] *= np.clip(most, 1.0, gain)[..., None]
        return moved

    @property
    def words(self) -> str:
        """What the key does, in a line."""

        def value(L: float) -> float:
            return float(lab_to_value([L, 0.0, 0.0], self.view))

        low, high = map(value, self.scene)
        dark, light = map(value, self.ends)
        deepest, lightest = value(self.floor.darkest), value(self.floor.lightest)
        said = (
            f"the photo runs from N {low:.1f} to N {high:.1f}, these tubes from N {deepest:.1f} to "
            f"N {lightest:.1f}; "
        )
        if self.middle is not None:
            return said + f"its middle, N {value(self.middle[0]):.1f}, is set at " + (
                f"N {value(self.middle[1]):.1f}"
            )
        done = [
            f"{what} are {how} by up to {off:.1f} of value"
            for what, how, off in (
                ("darks", "lifted", max(dark - low, 0.0)),
                ("lights", "lowered", max(high - light, 0.0)),
            )
            if off >= 0.05
        ]
        return said + (" and ".join(done) or "nothing has to be moved")


@lru_cache(maxsize=4)
def floor_of(tubes: Palette | PigmentTable, view: Viewing) -> Floor:
    """Return how dark some tubes go; of mixes of up to four paints in eight parts.

    Parts by amount and by tinting strength; of long tables pairs are looked at.
    """
    medium, many = medium_of(tubes, view), len(tubes.ids) > 20
    lab = np.concatenate([
        paints.labs(subsets, compositions(subsets.shape[1], 8)).reshape(-1, 3)
        for paints in (medium, medium.even)
        for subsets in all_subsets(len(tubes.ids), min(2 if many else 4, len(tubes.ids)))
    ])  # fmt: skip
    lowest = np.full((_SECTORS, _RINGS), np.inf)
    np.minimum.at(lowest, _cells(lab), lab[:, 0])
    # what is mixed with more chroma is mixed with less: a grey goes to it
    return Floor(np.minimum.accumulate(lowest[:, ::-1], axis=1)[:, ::-1], float(lab[:, 0].max()))


def _dark_end(key: Key, lab: Array) -> float:
    """Return L* of the deepest dark end at which nearly all darks (n, 3) can be mixed."""
    for end in np.arange(max(key.floor.darkest, key.scene[0]), _DEEPEST, 0.5):
        there = replace(key, paint=(float(end), key.paint[1])).set(lab)
        lowest = key.floor.at(there)
        # what no mix has, however light, is too high in chroma: no key helps
        deep = (there[:, 0] < lowest - _FORGIVEN) & (lowest < _DEEPEST)
        if deep.mean() <= _LEFT:
            return float(end)
    return _DEEPEST


def key_of(
    photo: Photo,
    tubes: Palette | PigmentTable,
    view: Viewing,
    key: str = "fit",
    scene: str | None = None,
    grey: ArrayLike | None = None,
    grey_reflectance: float = GREY_CARD,
) -> Key:
    """Return the key in which a photo is painted from some tubes.

    Parameters
    ----------
    key : "fit"; "none" leaves colours as they are; a Munsell value from 3 (low key) to 9 (high
        key) is where the middle of the photo is set
    scene : the scene's darkest and lightest, where the painter names them: two Munsell values
        "0.5,9.6", or two places "x,y,x,y" of the photo; else percentiles of the area
    grey, grey_reflectance : as in :func:`mixlab.targets.photos.photo_lab`

    Raises
    ------
    TargetError : if the key or the scene is none of these
    """
    middle = _middle(key)

    def lab(rgb: ArrayLike) -> Array:
        return photo_lab(rgb, grey, grey_reflectance, view=view, highlights=True)

    step = max(1, math.isqrt(photo.width * photo.height // _PIXELS))
    pixels = photo.pixels[::step, ::step]
    seen = slice(None) if photo.opaque is None else photo.opaque[::step, ::step].reshape(-1)
    chosen = pixels.reshape(-1, pixels.shape[-1])[seen]
    if not len(chosen):
        raise PhotoError(f"{photo.path}: nothing in it is opaque")
    colours = lab(photo.linear(chosen))
    L = np.minimum(colours[:, 0], 100.0)
    low, half, high = np.percentile(L, [ENDS[0], 50, ENDS[1]])
    if scene is not None:
        low, high = _scene(scene, photo, view, lab)
    floor = floor_of(tubes, view)
    made = Key(view, (float(low), float(high)), (floor.darkest, floor.lightest), floor,
               fits=key != "none")  # fmt: skip
    if made.fits:
        some = np.linspace(0, len(colours) - 1, min(len(colours), _SOME)).astype(int)
        made = replace(made, paint=(_dark_end(made, colours[some]), floor.lightest))
    if middle is None:
        return made
    dark, light = made.ends
    there = float(munsell_to_lab([0.0, middle, 0.0], view)[0])
    return replace(made, middle=(
        float(np.clip(half, low + 1e-6, high - 1e-6)), float(np.clip(there, dark, light))
    ))  # fmt: skip


def _middle(key: str) -> float | None:
    if key in ("fit", "none"):
        return None
    try:
        value = float(key)
    except ValueError:
        value = math.nan
    if not LOWEST <= value <= HIGHEST:
        raise TargetError(
            f"key {key!r}: it is fit, none, or a Munsell value from 3 (low key) to 9 (high key)"
        )
    return value


def _scene(
    text: str, photo: Photo, view: Viewing, lab: Callable[[ArrayLike], Array]
) -> tuple[float, float]:
    """Return L* of the darkest and the lightest that the painter names."""
    if text.count(",") == 3:
        x, y, other_x, other_y = text.split(",")
        places = [sampled(photo, at, 0.0).rgb for at in (f"{x},{y}", f"{other_x},{other_y}")]
        low, high = (float(L) for L in lab(np.array(places))[:, 0])
    else:
        values = numbers(text, ("darkest", "lightest"), "0.5,9.6, Munsell values, or x,y,x,y")
        if not 0 <= min(values) <= max(values) <= 10:
            raise TargetError(f"{text!r}: Munsell values lie from 0 to 10")
        low, high = (float(munsell_to_lab([0.0, v, 0.0], view)[0]) for v in values)
    if not low < high:
        raise TargetError(f"the scene {text!r}: the darkest comes first, then the lightest")
    return low, high

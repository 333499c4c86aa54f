"""Key: the range of lights and darks of a scene, fitted to what paint spans.

A photo, and a scene even more so, runs from darker to lighter than paint does. Between its ends the
curve leaves lightness as it is, so that the middle keeps its contrast; toward each end that lies
beyond the paint it bends, and the end itself meets the darkest or the lightest mix. A scene that
spans less than paint is not stretched: mist stays mist. The order of values is kept always. The
sigmoid of CIE 156:2004 fits ranges as well, but moves the middle, which a painter would see first.

References
----------
.. [1] CIE 156:2004, "Guidelines for the evaluation of gamut mapping algorithms", lightness
       rescaling; after Braun and Fairchild, "Image lightness rescaling using sigmoidal contrast
       enhancement functions", J. Electronic Imaging 8 (1999) 380-393.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.spaces import Viewing, lab_to_value, munsell_to_lab
from mixlab.errors import PhotoError, TargetError
from mixlab.nearest.medium import medium_of
from mixlab.nearest.sets import all_subsets, compositions
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.targets.many import Colours
from mixlab.targets.one import Target, numbers, sampled
from mixlab.targets.photo_files import Photo
from mixlab.targets.photos import GREY_CARD, photo_lab

ENDS = (0.5, 99.5)
"""Percentiles of the area between which a photo's lightness lies: a few odd pixels are none."""

LOWEST, HIGHEST = 3.0, 9.0
"""Munsell values at which the middle of a picture can be set: low key to high key."""

_BEND = 4.0  # how far a bend reaches, in times of what it lifts: at the end the slope is a half
_GAIN = 1.5  # most by which chroma rises with a dark that is lifted; common practice, no source
_GREYISH = 8.0  # C* of a mix that can stand for a black or a white
_PIXELS = 250_000  # of a photo that are looked at


@dataclass(frozen=True, eq=False)
class Key:
    """A curve from the lightness of a scene to that of paint.

    Attributes
    ----------
    view : light, observer and finish
    scene : L* of the scene's darkest and lightest
    paint : L* of the palette's darkest and lightest greyish mix under the finish
    middle : L* of the scene's middle, and L* where the painter sets it; None where it stays
    fits : whether anything is changed
    """

    view: Viewing
    scene: tuple[float, float]
    paint: tuple[float, float]
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

        Hue is kept. A dark that is lifted gains chroma in proportion, as what can be mixed there
        does; a colour that is lowered keeps its chroma.
        """
        lab = np.asarray(lab, dtype=float)
        there = self.lightness(lab[..., 0])
        gain = np.clip(there / np.maximum(lab[..., 0], 1.0), 1.0, _GAIN)
        return np.stack([there, lab[..., 1] * gain, lab[..., 2] * gain], axis=-1)

    def target(self, target: Target) -> Target:
        """Return a target as set in the key."""
        if not self.fits:
            return target
        return replace(target, lab=self.set(target.lab), notes=(*target.notes, self.words))

    def colours(self, colours: Colours) -> Colours:
        """Return colours as set in the key."""
        if not self.fits:
            return colours
        return replace(colours, lab=self.set(colours.lab), notes=(*colours.notes, self.words))

    @property
    def words(self) -> str:
        """What the key does, in a line."""

        def value(L: float) -> float:
            return float(lab_to_value([L, 0.0, 0.0], self.view))

        (low, high), (dark, light) = map(value, self.scene), map(value, self.paint)
        said = (
            f"the photo runs from N {low:.1f} to N {high:.1f}, these tubes from N {dark:.1f} to "
            f"N {light:.1f}; "
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


def paint_range(tubes: Palette | PigmentTable, view: Viewing) -> tuple[float, float]:
    """Return L* of the darkest and the lightest greyish mix of some tubes.

    Of mixes of three paints in six parts (of two, of a long table); C* of up to 8 is greyish.
    """
    medium, size = medium_of(tubes, view), 3 if len(tubes.ids) <= 20 else 2
    lab = np.concatenate([
        medium.labs(subsets, compositions(subsets.shape[1], 6)).reshape(-1, 3)
        for subsets in all_subsets(len(tubes.ids), min(size, len(tubes.ids)))
    ])  # fmt: skip
    grey = np.hypot(lab[:, 1], lab[:, 2]) <= _GREYISH
    L = lab[grey if grey.any() else slice(None), 0]
    return float(L.min()), float(L.max())


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
    some = pixels.reshape(-1, pixels.shape[-1])[seen]
    if not len(some):
        raise PhotoError(f"{photo.path}: nothing in it is opaque")
    L = np.minimum(lab(photo.linear(some))[:, 0], 100.0)
    low, half, high = np.percentile(L, [ENDS[0], 50, ENDS[1]])
    if scene is not None:
        low, high = _scene(scene, photo, view, lab)
    paint = paint_range(tubes, view)
    made = Key(view, (float(low), float(high)), paint, fits=key != "none")
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

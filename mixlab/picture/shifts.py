"""Light that changes: what shifted, mass by mass, and what to add to which pile."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path

import numpy as np

from mixlab.arrays import Array, Mask
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import Viewing, lab_to_munsell, lab_to_xyz, xyz_to_lab
from mixlab.colour.words import directions
from mixlab.errors import PhotoError, TargetError
from mixlab.mixing.adjust import Adjustment, adjust
from mixlab.mixing.goals import Tolerances
from mixlab.picture.masses import Mass
from mixlab.picture.plan import LOOSER, Plan
from mixlab.picture.seen import Seen, look
from mixlab.targets.photo_files import read_photo
from mixlab.targets.places import Picture, Place, read_places

_FRAMED_ALIKE = 0.02
"""How far the sides of two pictures may differ in proportion."""

_LISTS = (".csv", ".json")  # endings of a list of places; any other file is a picture
_LEAST = 5  # places of a mass that must be there
_NEUTRAL = 0.5  # Munsell chroma below which a hue says nothing


@dataclass(frozen=True, eq=False)
class Shift:
    """What became of a mass.

    Attributes
    ----------
    mass : which
    before, after : CIELAB (3,)
    view : light, observer and finish
    adjustment : of a part of its pile, to the colour that it is now
    """

    mass: Mass
    before: Array
    after: Array
    view: Viewing
    adjustment: Adjustment

    @property
    def size(self) -> float:
        """How far it shifted [CIEDE2000]."""
        return float(ciede2000(self.before, self.after))

    @property
    def munsell(self) -> Array:
        """How far it shifted in Munsell hue [steps of 100 round the circle], value and chroma (3,).

        Hue is nan where either is near neutral.
        """
        before, after = lab_to_munsell(np.array([self.before, self.after]), self.view)
        off = np.asarray(after - before)
        off[0] = (off[0] + 50) % 100 - 50 if min(before[2], after[2]) >= _NEUTRAL else np.nan
        return off

    @property
    def words(self) -> tuple[str, ...]:
        """What it is now, against what it was, the greatest first."""
        return tuple(
            word.replace("too light", "lighter").replace("too dark", "darker")
            .replace("too high in chroma", "higher in chroma")
            .replace("too low in chroma", "lower in chroma")
            for word in directions(self.after, self.before)
        )  # fmt: skip


def read_other(path: str | PathLike[str], picture: Picture) -> Picture | list[Place]:
    """Return the motif of a picture in another light: a picture framed alike, or places.

    Raises
    ------
    PhotoError, TargetError : if the file is neither, or the picture is framed otherwise
    """
    if Path(path).suffix.lower() in _LISTS:
        return read_places(path, picture.view, picture)
    mine, yours = picture.photo, read_photo(path)
    if abs(mine.width * yours.height / (mine.height * yours.width) - 1) > _FRAMED_ALIKE:
        raise PhotoError(
            f"{yours.path}: {yours.width} x {yours.height} pixels, and {mine.path} is "
            f"{mine.width} x {mine.height}; the two must be framed alike"
        )
    return replace(picture, photo=yours)


def shifts(plan: Plan, other: Picture | Sequence[Place]) -> list[Shift]:
    """Return what shifted in each mass of a plan, and what to add to its pile.

    Parameters
    ----------
    plan : of the motif
    other : as :func:`read_other` returns it; places are named as the masses are, or numbered

    Raises
    ------
    TargetError : where no place is named for a mass
    """
    now = _in_picture(plan, other) if isinstance(other, Picture) else _by_name(plan, other)
    return [_shift(plan, mass, after) for mass, after in now]


def _in_picture(plan: Plan, other: Picture) -> list[tuple[Mass, Array]]:
    """Return the masses with their colours in another picture."""
    there = look(other)
    rows, columns = (
        np.minimum((np.arange(n) + 0.5) * m / n, m - 1).astype(int)
        for n, m in zip(there.lab.shape[:2], plan.masses.map.shape, strict=True)
    )
    regions = plan.masses.map[np.ix_(rows, columns)]
    found = []
    for mass in plan.every:
        inside, now = plan.masses.map == mass.number - 1, regions == mass.number - 1
        if inside.any() and now.sum() >= _LEAST:
            off = _mean(there, now) - _mean(plan.seen, inside)
            found.append((mass, mass.lab + off))
    return found


def _mean(seen: Seen, inside: Mask) -> Array:
    """Return CIELAB (3,) of a region's mean in linear light."""
    xyz = lab_to_xyz(seen.lab[inside], seen.view.white).mean(axis=0)
    return xyz_to_lab(xyz, seen.view.white)


def _by_name(plan: Plan, places: Sequence[Place]) -> list[tuple[Mass, Array]]:
    """Return the masses that places are named for, with their colours."""
    colours = {place.name.lower(): place.target.lab for place in places}
    found = [
        (mass, colours[name]) for mass in plan.every
        for name in (mass.name.lower(), str(mass.number)) if name in colours
    ]  # fmt: skip
    if not found:
        known = ", ".join(f"{mass.number} {mass.name}" for mass in plan.every)
        raise TargetError(f"no place is named for a mass; by name or number they are: {known}")
    return found


def _shift(plan: Plan, mass: Mass, after: Array) -> Shift:
    """Return the shift of a mass; where the tubes of the plan do not help, all at hand are asked.
    """
    pile = plan.pile(mass.number)
    one_part = plan.piles.palette.mix(pile.mixture.shares, plan.view)
    within = Tolerances(miss=max(plan.tolerance, LOOSER))  # light does not wait
    tried = []
    for tubes in (plan.piles.palette, plan.palette):
        tried.append(adjust(one_part, tubes, to=after, kinds=2, within=within))
        if tried[-1].within_tolerance and tried[-1].fresh is None:
            break
    return Shift(mass, mass.lab, after, plan.view, tried[-1])

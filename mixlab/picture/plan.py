"""The plan of a picture: values, masses, a family of tubes, piles, order and amounts."""

from collections.abc import Sequence
from dataclasses import dataclass
from os import PathLike

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Mask, Progress, clock
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import Viewing, lab_to_value, viewing
from mixlab.errors import PhotoError
from mixlab.mixing.recipes import usual_tubes
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import Palette
from mixlab.palette.family import Family, family
from mixlab.picture.amounts import BORE, CONTENT, LAID, Amounts, amounts_of, checked
from mixlab.picture.ground import Ground, on_ground
from mixlab.picture.key import key_of
from mixlab.picture.masses import Mass, Masses, masses_of
from mixlab.picture.order import Order, distances, order_of
from mixlab.picture.piles import SECONDS, Pile, Piles, grow
from mixlab.picture.seen import Seen, look
from mixlab.picture.values import Values, values_of
from mixlab.targets.photo_files import Photo, read_photo
from mixlab.targets.places import Picture, Place, read_places

MOST_TUBES, LOOSER = 6, 3.0
"""Tubes beyond which a looser miss passes [CIEDE2000], unless one is asked: more are no few tubes.
Common practice, no source."""

_SECONDS = 10.0  # for the proof of the fewest tubes


@dataclass(frozen=True, eq=False)
class Plan:
    """The plan of a picture.

    Attributes
    ----------
    picture : what is planned, set in its key
    palette : the tubes at hand
    seen : the picture as it is seen from afar
    values : in a few values
    masses : the big shapes, and the accents
    family : the fewest tubes that hold them all
    piles : for the masses, then for the accents, by number less one
    order : of painting
    amounts : for the panel
    tolerance : miss that passes for a mass [CIEDE2000]
    ground : what a thin block-in of each pile does over a toned ground, where one was given
    """

    picture: Picture
    palette: Palette
    seen: Seen
    values: Values
    masses: Masses
    family: Family
    piles: Piles
    order: Order
    amounts: Amounts
    tolerance: float
    ground: Ground | None = None

    @property
    def view(self) -> Viewing:
        """Light, observer and finish."""
        return self.picture.view

    @property
    def every(self) -> list[Mass]:
        """The masses, then the accents, by number."""
        return [*self.masses.masses, *self.masses.accents]

    def pile(self, number: int) -> Pile:
        """Return the pile of a mass or an accent."""
        return self.piles.piles[number - 1]

    def how(self, number: int) -> str:
        """Return in words how a pile is mixed, e.g. "2 of pile 3 + 1 titanium-white"."""
        return self.pile(number).words([f"pile {mass.number}" for mass in self.every])

    @property
    def mixed_values(self) -> Array:
        """Munsell value (n,) of the mix of each mass and accent."""
        return lab_to_value(np.array([pile.lab for pile in self.piles.piles]), self.view)

    @property
    def out_of_reach(self) -> list[Mass]:
        """Masses and accents of which these tubes have no mix within the tolerance."""
        return [mass for mass in self.every if not self.pile(mass.number).in_reach]

    def through(self, light: bool) -> tuple[str, ...]:
        """Return the tubes that run through every mass of the light family, or of the dark."""
        mixes = [self.pile(mass.number).mixture.parts for mass in self.masses.masses
                 if mass.light == light]  # fmt: skip
        common = set.intersection(*(set(parts) for parts in mixes)) if mixes else set()
        return tuple(id for id in self.piles.palette.ids if id in common)


def plan(
    picture: str | PathLike[str] | Photo | Picture, palette: Palette, *, values: int = 4,
    steps: str = "even", masses: int = 8, panel: tuple[float, float] = (30.0, 40.0),
    thickness: float = LAID["usual"], places: str | PathLike[str] | Sequence[Place] | None = None,
    key: str = "fit", view: Viewing | None = None, tolerance: float | None = None,
    far: Sequence[str] = (), must: Sequence[str] = (), must_not: Sequence[str] = (),
    bore: float = BORE, content: float = CONTENT, ground: Mixture | ArrayLike | None = None,
    progress: Progress | None = None,
) -> Plan:  # fmt: skip
    """Plan a picture before the first stroke.

    Parameters
    ----------
    picture : a file, a photo, or a picture that has been set in a key
    palette : the tubes at hand
    values : number of values, 2 to 9
    steps : "even", or "best": where they part the picture best
    masses : number of big shapes, 3 to 20
    panel : width and height [cm]
    thickness : of the paint [mm]; see :data:`mixlab.picture.amounts.LAID`
    places : a file, or places, that count as masses of their own
    key : how the photo's range meets the paint's, see :func:`mixlab.picture.key.key_of`
    view : light, observer and finish; D65, 2 degree, gloss unless told
    tolerance : miss that passes for a mass [CIEDE2000]; unless told 2, or 3 where that would take
        more than :data:`MOST_TUBES`, or parts that a knife can measure do not come so near
    far : numbers or names of masses that lie far away, the farthest first
    must, must_not : ids or Colour Index names of tubes that belong to it, or cannot
    bore, content : of a tube [mm], [ml]
    ground : toned and dry, a mix or CIELAB (3,); see :func:`mixlab.paint.layers.ground_of`
    progress : is told the share of the work that is done, 0..1

    Raises
    ------
    PhotoError, TargetError, NotationError, SearchError, LayerError : for what makes no sense
    """
    tell = progress or (lambda share: None)
    checked(panel, thickness, bore, content)
    for name in (*must, *must_not):
        palette[name]  # NotationError, before any work
    set_in_key = _picture(picture, palette, key, view or viewing())
    if isinstance(places, str | PathLike):
        places = read_places(places, set_in_key.view, set_in_key)
    if tolerance is not None and not 0 < tolerance < np.inf:
        raise PhotoError(f"a tolerance of {tolerance:g}: it is above zero; {TOLERANCE:g} is usual")
    if ground is not None:  # what is no ground is refused before any work
        on_ground([palette.mix(palette.ids[0], set_in_key.view)], ground)
    tell(0.2)
    seen = look(set_in_key)
    pattern = values_of(seen, values, place=steps)
    found = masses_of(seen, masses, places=places or ())
    distances(found, far)  # a mass that is none is refused before the search
    tell(0.4)
    every = [*found.masses, *found.accents]
    for within in (TOLERANCE, LOOSER) if tolerance is None else (tolerance,):
        held, piles = _mixed(every, palette, within, seen.view, must, must_not, tell)
        missed = any(pile.in_reach and pile.miss > within for pile in piles.piles)
        if len(held.tubes) <= MOST_TUBES and not missed:
            break
    tell(1.0)
    return Plan(
        set_in_key, palette, seen, pattern, found, held, piles,
        order_of(found, piles, pattern, seen.view, far),
        amounts_of(piles, [mass.share for mass in every], panel, thickness, bore, content), within,
        None if ground is None
        else on_ground([pile.mixture for pile in piles.piles], ground, within),
    )  # fmt: skip


def _picture(
    picture: str | PathLike[str] | Photo | Picture, palette: Palette, key: str, view: Viewing
) -> Picture:
    if isinstance(picture, Picture):
        return picture
    photo = picture if isinstance(picture, Photo) else read_photo(picture)
    fitted = key_of(photo, palette, view, key)
    return Picture(photo, view, set=fitted.set, notes=(fitted.words,) if fitted.fits else ())


def _mixed(
    every: Sequence[Mass], palette: Palette, tolerance: float, view: Viewing,
    must: Sequence[str], must_not: Sequence[str], tell: Progress,
) -> tuple[Family, Piles]:  # fmt: skip
    """Return the fewest tubes that hold all masses, and the piles that grow from them.

    White belongs to them. Of several sets as small, the one whose piles serve best.
    """
    barred = {palette[name].id for name in must_not}
    allowed = palette.table.palette([id for id in palette.ids if id not in barred], palette.name)
    white = [paint.id for paint in allowed if paint.is_white][:1]
    most = min(usual_tubes(len(allowed)), len(allowed))
    labs = np.array([mass.lab for mass in every])
    barren = [i for i, mass in enumerate(every) if mass.accent]

    grown: dict[tuple[str, ...], Piles] = {}
    left = clock(SECONDS)

    def judge(own: Palette, goals: Array, in_reach: Mask) -> tuple[float, float]:
        """Grow piles from a set of tubes; return what is amiss with them, and what they cost."""
        piles = grow(
            labs, own, view, tolerance=tolerance, light=[mass.light for mass in every],
            shares=[mass.share for mass in every], goals=goals, in_reach=in_reach, barren=barren,
            seconds=max(left(), 1.0),
        )  # fmt: skip
        grown[tuple(own.ids)] = piles
        tell(0.95 - 0.35 / len(grown))
        return piles.amiss, piles.cost

    held = family(labs, allowed, [mass.name for mass in every], tolerance, most, judge=judge,
                  required=[*white, *must], time_limit=_SECONDS, view=view)  # fmt: skip
    return held, grown[held.tubes]

"""What the search for a recipe answers with."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array, Indices
from mixlab.colour.spaces import Viewing
from mixlab.mixing.two_steps import TwoSteps
from mixlab.paint.mixtures import Mixture, Sensitivity, Step
from mixlab.paint.tables import Palette

if TYPE_CHECKING:
    from pandas import DataFrame

OUT_OF_REACH = ("value", "nearest")
"""How a colour out of reach is approached: "value" keeps value first and the hue family, and
gives up chroma; "nearest" is the nearest by CIEDE2000."""

VALUE_FIRST = 0.5
"""Factor kl of CIEDE2000 by which whole parts are chosen that are to keep the value."""

WORTH = 0.5
"""Where no whole-part mix is within the tolerance, what a further tube must gain to be worth using
[CIEDE2000]; and how near a mix must come to a paler colour for that to be within reach."""

FINEST = 24
"""Greatest total of a finer recipe; what needs less than one part in so many takes two steps."""


_T = TypeVar("_T", covariant=True)


class Later(Generic[_T]):
    """What is worked out when somebody first asks for it; stored and sent as what it came to."""

    def __init__(self, work: Callable[[], _T]) -> None:
        self._work: Callable[[], _T] | None = work

    @classmethod
    def known(cls, value: Any) -> "Later[Any]":
        """Return one that is worked out."""
        return cls(partial(_same, value))

    def __call__(self) -> _T:
        """Return what it comes to."""
        if self._work is not None:
            self._value, self._work = self._work(), None
        return self._value

    def __reduce__(self) -> tuple[Any, tuple[Any]]:
        return Later.known, (self(),)


def _same(value: Any) -> Any:
    return value


@dataclass(frozen=True, eq=False)
class Count:
    """The best mix that exists with at most so many tubes.

    Attributes
    ----------
    tubes : greatest number of paints
    shares : of each paint that it uses, by id; they sum to one
    miss : CIEDE2000 to the target
    lab : (3,)
    """

    tubes: int
    shares: dict[str, float]
    miss: float
    lab: Array


@dataclass(frozen=True, eq=False)
class Recipe:
    """A mix in whole parts, and how near it comes.

    Attributes
    ----------
    mixture : the mix, whatever the steps to it
    miss : CIEDE2000 from the target to it
    exact : what the same tubes come to if parts need not be whole, by id, and its miss
    two_steps : the way to it where it takes a first mix; None where it is mixed at once
    """

    mixture: Mixture
    miss: float
    exact: Later[tuple[dict[str, float], float]]
    two_steps: TwoSteps | None = None

    def __str__(self) -> str:
        return str(self.two_steps or self.mixture)

    @property
    def exact_shares(self) -> dict[str, float]:
        """What the same tubes come to if parts need not be whole, by id."""
        return self.exact()[0]

    @property
    def exact_miss(self) -> float:
        """CIEDE2000 from the target to those."""
        return self.exact()[1]

    @property
    def parts(self) -> dict[str, int]:
        """Whole parts by id."""
        return {paint: round(n) for paint, n in self.mixture.parts.items()}

    @property
    def view(self) -> Viewing:
        """Light, observer and finish."""
        return self.mixture.view

    @property
    def tubes(self) -> int:
        """Number of paints."""
        return len(self.mixture.paints)

    @property
    def lab(self) -> Array:
        """CIELAB (3,)."""
        return self.mixture.lab

    @property
    def steps(self) -> list[Step]:
        """The additions in order; see :attr:`mixlab.paint.mixtures.Mixture.steps`."""
        return (self.two_steps or self.mixture).steps

    @property
    def sensitivity(self) -> Sensitivity:
        """How far a quarter part moves it; see :attr:`Mixture.sensitivity`."""
        return (self.two_steps or self.mixture).sensitivity


@dataclass(frozen=True, eq=False)
class Helper:
    """A paint of the table that brings a target within reach.

    Attributes
    ----------
    paint : its id
    mixture : with paints of the palette, in whole parts
    miss : CIEDE2000 from the target to it
    """

    paint: str
    mixture: Mixture
    miss: float


@dataclass(frozen=True, eq=False)
class OutOfReach:
    """Why the palette does not reach the target, and what would help.

    Attributes
    ----------
    miss : CIEDE2000 from the target to the nearest mix that exists
    lightness, chroma, hue : what the target has more of than that mix: L*, C*, degrees
    directions : in words, the greatest first, e.g. ("too high in chroma", "too dark")
    between : ids of the two paints of the palette between whose hues the target lies, or None
    approach : one of :data:`OUT_OF_REACH`, by which the recipe was chosen
    nearest : the nearest recipe, whatever it does to the value
    helper : the paint of the same hue family that would bring it within reach, or None
    """

    miss: float
    lightness: float
    chroma: float
    hue: float
    directions: tuple[str, ...]
    between: tuple[str, str] | None
    approach: str
    nearest: Recipe
    helper: Helper | None


@dataclass(frozen=True, eq=False)
class Answer:
    """What :func:`find_recipe` found.

    Attributes
    ----------
    target : CIELAB (3,) under `view`
    view : light, observer and finish
    tolerance : CIEDE2000
    in_reach : whether a mix within the tolerance exists
    in_few_parts : the recipe in no more parts than were allowed; out of reach, the compromise
    in_finer_parts : with more parts than were allowed, up to 24, or in two steps, a recipe of
        fewer tubes than `in_few_parts`, or of as many where that misses the tolerance for want of
        parts; where neither holds the tolerance, the nearest of them if that is nearer. Out of
        reach, one that does less harm, where `in_few_parts` is too coarse
    counts, others, less, why : what the properties below tell, once it is asked for
    looked_at : number of paints that were searched; see :data:`mixlab.mixing.recipes.MOST_PAINTS`
    """

    target: Array
    view: Viewing
    tolerance: float
    in_reach: bool
    in_few_parts: Recipe
    in_finer_parts: Recipe | None
    counts: Later[list[Count]]
    others: Later[list[Recipe]]
    less: Later[Recipe | None]
    why: Later[OutOfReach | None]
    looked_at: int

    @property
    def by_count(self) -> list[Count]:
        """The best mix that exists with at most 1, 2, .. tubes."""
        return self.counts()

    @property
    def alternatives(self) -> list[Recipe]:
        """Recipes with other tubes, within the tolerance."""
        return self.others()

    @property
    def simpler(self) -> Recipe | None:
        """A recipe of a tube less whose miss the table cannot tell from that of `recipe`.

        It is within the likely error. Else one of as many tubes that stand on every palette; None
        where there is none.
        """
        return self.less()

    @property
    def out_of_reach(self) -> OutOfReach | None:
        """Why it is out of reach; None where it is in reach."""
        return self.why()

    @property
    def recipe(self) -> Recipe:
        """What to mix: in finer parts where those that were allowed miss the tolerance.

        The nearer of the two where neither is within it.
        """
        few, finer = self.in_few_parts, self.in_finer_parts
        return finer if finer is not None and few.miss > self.tolerance else few


@dataclass(frozen=True, eq=False)
class Recipes:
    """What :func:`find_recipes` found, for n colours and a palette of p paints.

    Attributes
    ----------
    palette : whose paints the columns of `parts` are
    parts : (n, p), whole parts
    tubes : (n,), number of paints
    miss : (n,), CIEDE2000
    lab : (n, 3), of the recipes
    within_tolerance : (n,), whether the miss is within the tolerance
    """

    palette: Palette
    view: Viewing
    parts: NDArray[np.int8]
    tubes: Indices
    miss: Array
    lab: Array
    within_tolerance: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.parts)

    def __getitem__(self, i: int) -> Mixture:
        row = self.parts[i]
        return self.palette.mix(
            {self.palette.ids[j]: float(row[j]) for j in np.flatnonzero(row)}, self.view
        )

    def frame(self) -> "DataFrame":
        """Return a pandas table, a row for each colour.

        Its columns are the parts by paint, tubes, miss and within_tolerance.
        """
        import pandas as pd

        frame = pd.DataFrame(self.parts, columns=self.palette.ids)
        return frame.assign(
            tubes=self.tubes, miss=self.miss, within_tolerance=self.within_tolerance
        )

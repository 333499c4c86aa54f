"""Which tubes to carry for colours asked for: the fewest, what more or fewer would do, the next."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from typing import Any

import numpy as np

from mixlab.arrays import Progress, clock
from mixlab.colour.difference import TOLERANCE
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.palette.fewest import fewest_tubes
from mixlab.palette.next_tube import Addition
from mixlab.palette.small_sets import small_sets
from mixlab.palette.trade_off import TradeOff
from mixlab.palette.tube_sets import Fewest
from mixlab.targets.many import Colours, in_boxes

_BEYOND = 2  # tubes more than the fewest that the trade-off shows
_SEARCHES = 5_000_000  # small sets times colours that a picture may cost
_MEANS = (700, 2500)  # colours that it comes down to


@dataclass(frozen=True)
class Merged:
    """What the means of boxes stand for: how many colours, how far off, and how they fare.

    `mean_off` and `greatest_off` are in CIEDE2000; `share` is the share of the area of the
    colours themselves that the best set brings within the tolerance, None if there is no set.
    """

    colour_count: int
    mean_off: float
    greatest_off: float
    share: float | None


@dataclass(frozen=True, eq=False)
class Selection:
    """Tubes for colours asked for.

    Attributes
    ----------
    colours : that were asked for; of a picture the means of boxes
    tubes : to choose from
    found : the fewest
    trade_off : what more tubes or fewer do; None if there was no time
    next : what each further tube of a palette's table would add
    merged : of a picture, what the means stand for
    stopped : "" or "time" or "Ctrl-C", as in :class:`Fewest`; what was done by then is here
    """

    colours: Colours
    tubes: PigmentTable | Palette
    found: Fewest
    trade_off: TradeOff | None
    next: list[Addition]
    merged: Merged | None
    stopped: str


@contextmanager
def _untold(_heading: str) -> Iterator[None]:
    yield None


def select_tubes(
    colours: Colours,
    tubes: PigmentTable | Palette,
    tolerance: float = TOLERANCE,
    max_tubes: int = 3,
    share: float = 1.0,
    *,
    required: Sequence[str] = (),
    excluded: Sequence[str] = (),
    free_whites: bool = False,
    sets: int = 10,
    time_limit: float | None = None,
    executor: Any = None,
    bar: Callable[[str], AbstractContextManager[Progress | None]] = _untold,
) -> Selection:
    """Return which tubes to carry for colours asked for.

    Parameters
    ----------
    free_whites : whether whites are not counted
    time_limit : for all of it [s]
    bar : of a heading, gives what is told of progress under it
    others as in :func:`mixlab.fewest_tubes`

    Raises
    ------
    ReachError : for settings that make no sense
    """
    asked, off, left = colours, None, clock(time_limit)
    if colours.by_area:  # each colour costs a search of all the tubes
        count = max(small_sets(len(tubes), max_tubes), 1)
        colours, off = in_boxes(colours, int(np.clip(_SEARCHES / count, *_MEANS)))
    with bar("Looking at colours") as tell:
        found = fewest_tubes(
            colours.lab, tubes, tolerance, max_tubes, share, colours.weight, required=required,
            excluded=excluded, free=[p.id for p in tubes if p.is_white and free_whites],
            sets=sets, time_limit=time_limit, executor=executor, view=colours.view, progress=tell,
        )  # fmt: skip
    curve, more, stopped = None, [], found.stopped
    try:
        if not stopped and left() > 0 and len(found.free) < len(found.of):
            with bar("More tubes, or fewer") as tell:
                curve = found.trade_off(max(found.counted, 1) + _BEYOND, tell, left())
            stopped = curve.stopped
        if curve is not None and not stopped and left() > 0 and isinstance(tubes, Palette):
            with bar("Trying further tubes") as tell:
                more = found.next_tubes(tell)
    except KeyboardInterrupt:
        stopped = "Ctrl-C"
    merged = None
    if off is not None:
        within = found.misses_of(asked.lab) <= tolerance
        covered = float(asked.weight[within].sum()) if found.tubes else None
        merged = Merged(len(asked), float(asked.weight @ off), float(off.max()), covered)
    return Selection(colours, tubes, found, curve, more, merged, stopped)

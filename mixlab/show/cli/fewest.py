"""``mixlab fewest``: which tubes to carry, proven, and what more or fewer would do."""


import math
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
import typer
from numpy.typing import NDArray

from mixlab.arrays import clock, percent
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import lab_to_hex, lab_to_munsell, viewing
from mixlab.errors import NotationError, ReachError
from mixlab.files import csv_text, write_whole
from mixlab.mixing.answers import FINEST, Recipe
from mixlab.paint.tables import Palette, PigmentTable, read_palette, read_table
from mixlab.palette.fewest import fewest_tubes
from mixlab.palette.next_tube import MANY, Addition, best_next
from mixlab.palette.problem import MOST_TUBES, small_sets
from mixlab.palette.programme import LACK
from mixlab.palette.small_sets import SLACK
from mixlab.palette.trade_off import TradeOff
from mixlab.palette.tube_sets import Fewest
from mixlab.palette.work import cluster, processes
from mixlab.show.cli import options
from mixlab.show.cli.mix import show_care
from mixlab.show.cli.page import (
    Page,
    bar,
    counted,
    number,
    numbers,
    print_json,
    stdout_apart,
)
from mixlab.show.cli.reach import (
    TARGETS,
    Chips,
    Grey,
    Photo,
    Standard,
    Targets,
    asked_for,
)
from mixlab.show.plots import style
from mixlab.targets.many import Colours, in_boxes
from mixlab.targets.photos import GREY_CARD

Array = NDArray[np.float64]

_LISTED = 10
_MOST_LISTED = 1000
_ROWS = 30
_BEYOND = 2  # tubes more than the fewest that the trade-off shows
_NEXT = 5
_WRITTEN = 500  # recipes in whole parts
_SEARCHES = 5_000_000  # small sets times colours that a picture may cost
_MEANS = (700, 2500)  # colours that it comes down to


def fewest(
    palette: Annotated[
        str | None,
        typer.Option("--palette", help="Take them from a palette; else from all of the table."),
    ] = None,
    tubes: Annotated[int, typer.Option(help="Greatest number of tubes in a mix, 1 to 4.")] = 3,
    targets: Targets = None,
    photo: Photo = None,
    grey: Grey = None,
    grey_reflectance: options.GreyReflectance = GREY_CARD,
    chips: Chips = False,
    standard: Standard = None,
    tolerance: options.Tolerance = TOLERANCE,
    share: Annotated[
        float, typer.Option(help="Share of the weight to bring within the tolerance [%].")
    ] = 100.0,
    must: Annotated[
        list[str] | None, typer.Option("--with", metavar="PAINT", help="Must be in the set.")
    ] = None,
    must_not: Annotated[
        list[str] | None,
        typer.Option("--without", metavar="PAINT", help="Must not be in the set."),
    ] = None,
    free_white: Annotated[
        bool, typer.Option("--free-white", help="Whites are not counted.")
    ] = False,
    sets: Annotated[int, typer.Option(help="How many sets of so few tubes to list.")] = _LISTED,
    time_limit: Annotated[
        float | None, typer.Option(help="Stop the search after so long [s].")
    ] = None,
    jobs: Annotated[int, typer.Option(help="Number of processes.")] = 1,
    scheduler: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Address of a Dask scheduler.")
    ] = None,
    table: options.Table = None,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """The fewest tubes that mix the colours asked for, proven.

    Give the colours by one of --targets, --photo, --chips, --standard.
    """
    if plot is not None:
        style.checked(plot)
    view, known = viewing(light, observer), read_table(table)
    asked = asked_for(targets, photo, chips, standard, view, grey, grey_reflectance)
    if asked is None:
        raise ReachError(f"colours are needed; give one of {', '.join(TARGETS)}")
    if not 1 < share <= 100:  # 0.95 is meant for 95
        raise ReachError(f"--share {share:g}: write per cent of the weight, as 95, up to 100")
    if not 1 <= sets <= _MOST_LISTED:
        raise ReachError(f"--sets {sets}: it must be 1 to {_MOST_LISTED}")
    _find(
        asked, read_palette(palette, known) if palette is not None else known,
        tolerance=tolerance, max_tubes=tubes, share=share / 100, must=must or (),
        must_not=must_not or (), free_white=free_white, sets=sets, time_limit=time_limit,
        jobs=jobs, scheduler=scheduler, plot=plot, csv=csv, json=json,
    )  # fmt: skip


def _find(
    asked: Colours,
    catalogue: PigmentTable | Palette,
    *,
    tolerance: float,
    max_tubes: int,
    share: float,
    must: Sequence[str],
    must_not: Sequence[str],
    free_white: bool,
    sets: int,
    time_limit: float | None,
    jobs: int,
    scheduler: str | None,
    plot: str | None,
    csv: str | None,
    json: bool,
) -> None:
    """Find the fewest tubes for the colours asked for, and print them."""
    for option, names in (("--with", must), ("--without", must_not)):
        _check_names(catalogue, names, option)
    free = [p.id for p in catalogue if p.is_white and p.id not in _ids(catalogue, must_not)]
    if max_tubes not in range(1, MOST_TUBES + 1):
        raise ReachError(f"--tubes {max_tubes}: it must be 1 to {MOST_TUBES}")
    every, off = asked, None
    if asked.by_area:  # each colour costs a search of the whole catalogue
        count = max(small_sets(len(catalogue), max_tubes), 1)
        asked, off = in_boxes(asked, int(np.clip(_SEARCHES / count, *_MEANS)))
    left = clock(time_limit)
    pool = cluster(scheduler) if scheduler is not None else processes(jobs)
    with stdout_apart(), pool as executor:
        with bar("Looking at colours") as tell:
            found = fewest_tubes(
                asked.lab, catalogue, tolerance, max_tubes, share, asked.weight, must=must,
                must_not=must_not, free=free if free_white else (), sets=sets,
                time_limit=time_limit, executor=executor, view=asked.view, progress=tell,
            )  # fmt: skip
        curve, more, interrupted = _more_or_fewer(
            found, asked, catalogue, must_not, left, executor
        )
    boxes = None if off is None else _boxes(found, every, off)
    if plot is not None and curve is None:
        why = (
            "the search was cut short" if found.stopped or interrupted
            else "the search took all of the time limit" if len(found.free) < len(found.of)
            else "every tube is free, and none is counted"
        )  # fmt: skip
        print(f"mixlab: {plot} is not drawn: {why}", file=sys.stderr)
    elif plot is not None and curve is not None:
        from mixlab.show.plots.trade_off import trade_off

        style.save(trade_off(found, curve), plot)
    if csv is not None and found.tubes:
        write_whole(csv, _csv(asked, found))
    elif csv is not None:
        print(f"mixlab: {csv} is not written: no set of tubes was found", file=sys.stderr)
    if json:
        print_json(as_json(asked, found, curve, more, boxes))
    else:
        show(Page(), asked, catalogue, found, curve, more, boxes)
    if found.stopped == "Ctrl-C" or interrupted:
        raise typer.Exit(130)


@dataclass(frozen=True)
class _Boxes:
    """What the means of boxes stand for: how many colours, how far off, and how they fare.

    `mean` and `most` are in CIEDE2000; `share` is the share of the area of the colours themselves
    that the best set brings within the tolerance, None if there is no set.
    """

    colours: int
    mean: float
    most: float
    share: float | None


def _boxes(found: Fewest, every: Colours, off: Array) -> _Boxes:
    covered = None
    if found.tubes:
        within = found.misses_of(every.lab) <= found.tolerance
        covered = float(every.weight[within].sum())
    return _Boxes(len(every), float(every.weight @ off), float(off.max()), covered)


def _more_or_fewer(
    found: Fewest, asked: Colours, catalogue: PigmentTable | Palette, must_not: Sequence[str],
    left: Callable[[], float], executor: Any,
) -> tuple[TradeOff | None, list[Addition], bool]:  # fmt: skip
    """Return the trade-off and the next tubes, and whether Ctrl-C came meanwhile.

    What was proven is not lost by that, nor what is done of the trade-off.
    """
    seconds = left()
    if found.stopped or seconds <= 0 or len(found.free) == len(found.of):
        return None, [], False
    curve: TradeOff | None = None
    try:
        with bar("More tubes, or fewer") as tell:
            most = max(found.counted, 1) + _BEYOND
            done = found.trade_off(most, tell, seconds if math.isfinite(seconds) else None)
        curve = done if len(done.count) else None
        if done.stopped == "Ctrl-C":
            raise KeyboardInterrupt
        if left() <= 0 or not isinstance(catalogue, Palette):
            return curve, [], False
        return curve, _next_tubes(found, asked, catalogue, must_not, executor), False
    except KeyboardInterrupt:
        return curve, [], True


def _next_tubes(
    found: Fewest, asked: Colours, palette: Palette, must_not: Sequence[str], executor: Any
) -> list[Addition]:
    """Return what each further tube of the table would add; nothing where there is none."""
    if len(palette) == len(palette.table):
        return []
    try:
        with bar("Trying further tubes") as tell:
            return best_next(
                palette, asked.lab, None, found.tolerance, found.max_tubes, asked.weight,
                must_not=[name for name in must_not if name in palette.table],
                executor=executor, view=asked.view, progress=tell,
            )  # fmt: skip
    except ReachError as error:  # such as of a table too large for it
        print(f"mixlab: the next tube is not looked for: {error}", file=sys.stderr)
        return []


def _check_names(
    catalogue: PigmentTable | Palette, names: Sequence[str], option: str
) -> None:
    for name in names:
        try:
            catalogue[name]
        except NotationError as error:
            raise ReachError(f"{option}: {error}") from None


def _ids(catalogue: PigmentTable | Palette, names: Sequence[str]) -> set[str]:
    return {catalogue[name].id for name in names if name in catalogue}


# --- for a person -------------------------------------------------------------------------------


def show(
    page: Page,
    asked: Colours,
    catalogue: PigmentTable | Palette,
    found: Fewest,
    curve: TradeOff | None,
    more: list[Addition],
    boxes: _Boxes | None,
) -> None:
    """Print the fewest tubes, and what stands beside them."""
    table = catalogue.table if isinstance(catalogue, Palette) else catalogue
    page.entry("Colours", f"{asked.given}: {counted(len(asked), 'colour')}")
    for note in asked.notes:
        page.entry("", note)
    if boxes is not None:
        page.entry("", f"each the mean of a box of near ones: the {boxes.colours} that an eye "
                   f"tells apart lie {boxes.mean:.1f} CIEDE2000 from their means, "
                   f"{boxes.most:.1f} at most")  # fmt: skip
    name = catalogue.name if isinstance(catalogue, Palette) else "the table"
    page.entry("Tubes", f"{len(catalogue)} of {name}, at most {found.max_tubes} in a mix")
    for note in table.notes:
        page.entry("", note)
    page.entry("Light", f"{found.view.light}, {found.view.observer} degree observer")

    page.head("The fewest tubes")
    page.line(f"  {_verdict(asked, found)}", hang=2)
    if found.palette is not None:
        page.table(
            [(p.id, p.name + (", not counted" if p.id in found.free else ""))
             for p in found.palette],
            hexes=[lab_to_hex(p.lab, found.view) for p in found.palette], indent=4,
        )  # fmt: skip
        page.line(f"  {_proof(found)}", hang=2)
        if boxes is not None and boxes.share is not None:
            page.line(
                f"  All this is of the means; of the picture's own {boxes.colours} colours the set "
                f"has {percent(boxes.share)} of the area within {found.tolerance:g}.", hang=2,
            )  # fmt: skip
    if len(found.sets) > 1:
        _show_sets(page, found)
    if not found.in_reach.all():
        _show_beyond(page, asked, found)
    if found.palette is not None:
        _show_colours(page, asked, found)
    if curve is not None:
        _show_trade_off(page, curve)
    if more:
        _show_next(page, more, len(asked))
    if found.palette is not None:
        show_care(page, found.palette.mix(dict.fromkeys(found.tubes, 1.0), found.view))


def _verdict(asked: Colours, found: Fewest) -> str:
    """Return what the search came to, in a sentence or two."""
    cut = {"time": "The time is over. ", "Ctrl-C": "Stopped. "}.get(found.stopped, "")
    if not found.tubes or not (found.stopped or found.in_reach.any()):
        if found.stopped:
            least = max(found.lower_bound, 1)
            return (cut + "No set of tubes was found yet; "
                    f"at least {counted(least, 'tube')} will be needed.")  # fmt: skip
        return f"None of the colours can be mixed to {found.tolerance:g} CIEDE2000."
    text = (f"{cut}{counted(found.counted, 'tube')}{_besides(found)} for {_covered(asked, found)}, "
            f"to {found.tolerance:g} CIEDE2000")  # fmt: skip
    if found.proven:
        return text + ("; no fewer will do." if found.counted else ".")
    if found.lower_bound > 0:
        return text + ("; for all that was asked at least "
                       f"{counted(found.lower_bound, 'tube')} will be needed.")  # fmt: skip
    return text + "; whether fewer do is not known."


def _covered(asked: Colours, found: Fewest) -> str:
    """Return in words what the set covers: a share, or all that can be."""
    share = f"{percent(found.share)} of the {'area' if asked.by_area else 'weight'}"
    if found.stopped:
        return share
    # no more can be covered than there is within reach
    short = math.fsum(found.weight[found.in_reach]) < found.share_wanted - LACK
    if found.share_wanted < 1 and not short:
        return f"{share} ({percent(found.share_wanted)} was asked)"
    counts = "" if found.weight.all() else "counts"  # some may have a weight of zero
    if found.in_reach.all():
        return "every colour" + (counts and f" that {counts}")
    lack = f"; {percent(found.share_wanted)} is not within reach" if found.share_wanted < 1 else ""
    return f"every colour that {counts and f'{counts} and '}can be mixed at all ({share}{lack})"


def _besides(found: Fewest) -> str:
    spare = len(found.tubes) - found.counted
    return f" and {counted(spare, 'white')} that is not counted" if spare == 1 else (
        f" and {spare} whites that are not counted" if spare else ""
    )


def _proof(found: Fewest) -> str:
    if not found.proven:
        return "Misses are those of exact shares."
    text = "Proven for exact shares"
    if found.proof_has_margin is None:
        return text + "; how near the tolerance it hangs by was not looked at."
    if found.proof_has_margin:
        return (text + f", by misses that are sure to {SLACK:g}: fewer would not do at a tolerance "
                f"of {found.tolerance + SLACK:g} either.")  # fmt: skip
    return (text + f", as the solver sees it; at a tolerance of {found.tolerance + SLACK:g}, which "
            "is how sure its misses are, fewer would do.")  # fmt: skip


def _show_sets(page: Page, found: Fewest) -> None:
    known = f"{found.compared} in all" if found.complete else "there may be more"
    page.head(f"Sets as small, the best first ({known})")
    best = found.sets[0].tubes
    rows = [("", "mean miss", "sensitivity", "")]
    for place, one in enumerate(found.sets, start=1):
        gone = [id for id in best if id not in one.tubes]
        come = [id for id in one.tubes if id not in best]
        text = f"{', '.join(come)} for {', '.join(gone)}" if place > 1 else "the set above"
        rows.append((str(place), f"{one.mean_miss:.2f}", f"{one.sensitivity:.1f}", text))
    page.table(rows, right="012")
    page.line("  Mean misses that fall in the same step of 0.05 count as alike; of those the set "
              "with lower sensitivity comes first.", hang=2)  # fmt: skip


def _show_beyond(page: Page, asked: Colours, found: Fewest) -> None:
    rows = [i for i, reached in enumerate(found.in_reach) if not reached]
    page.head(f"Out of reach of all the tubes, {_in_a_mix(found)}: "
              f"{counted(len(rows), 'colour')}")  # fmt: skip
    page.table(
        [(_name(asked, i), _munsell(found, i)) for i in rows[:_ROWS]],
        hexes=[lab_to_hex(found.labs[i], found.view) for i in rows[:_ROWS]],
    )
    if len(rows) > _ROWS:
        page.line(f"  .. and {len(rows) - _ROWS} more.")


def _show_colours(page: Page, asked: Colours, found: Fewest) -> None:
    order = sorted(range(len(asked)), key=lambda i: -asked.weight[i])[:_ROWS]
    left = len(asked) - len(order)
    page.head("Recipes from the set: miss of exact shares, then in whole parts"
              + (f" (the {_ROWS} heaviest colours of {len(asked)})" if left else ""))  # fmt: skip
    made = [found.recipe(i) for i in order]
    rough = [bool(found.within_tolerance[i]) and one.miss > found.tolerance
             for i, one in zip(order, made, strict=True)]  # fmt: skip
    page.table(
        [
            (_name(asked, i), "" if found.within_tolerance[i] else "beyond", f"{found.miss[i]:.1f}",
             f"{one.miss:.1f}" + ("+" if off else " " if any(rough) else ""), str(one.mixture))
            for i, one, off in zip(order, made, rough, strict=True)
        ],
        right="23", hexes=[lab_to_hex(found.labs[i], found.view) for i in order],
    )  # fmt: skip
    if any(rough):
        page.line(f"  + not even {FINEST} parts hold the tolerance; the nearest.", hang=4)


def _show_trade_off(page: Page, curve: TradeOff) -> None:
    page.head("What so many tubes do at best" if curve.proven.all() else
              "What so many tubes do: the best sets found, and what none exceeds")  # fmt: skip
    if curve.stopped:
        page.line("  Cut short: larger numbers were not looked at.", hang=2)
    rows = [("tubes", "within tolerance", "mean miss", "")]
    for i, ids in enumerate(curve.sets):
        rows.append((str(curve.count[i]), _at_most(curve.share[i], curve.bound[i], curve.proven[i]),
                     f"{curve.mean_miss[i]:.2f}", ", ".join(ids)))  # fmt: skip
    page.table(rows, right="02")


def _at_most(share: float, bound: float, proven: bool) -> str:
    """Return a share in writing, with its bound where that is not the same."""
    if proven:
        return percent(share)
    told, limit = percent(share), percent(bound)
    if told == limit:
        told, limit = (f"{100 * part:.3f}%" for part in (share, bound))
    return f"{told} (at most {limit})"


def _show_next(page: Page, more: list[Addition], count: int) -> None:
    page.head("The next tube for this palette, from the table")
    page.table(
        [("", "within", "mean miss")]
        + [(one.id or "as it is", percent(one.share), f"{one.mean_miss:.2f}")
           for one in more[: _NEXT + 1]],
        right="12",
    )  # fmt: skip
    if count > MANY:
        page.line("  So many colours are sought together: a share may be too low by some tenths of "
                  "a per cent.", hang=2)  # fmt: skip


def _name(asked: Colours, row: int) -> str:
    return asked.names[row][:24] if asked.names else percent(asked.weight[row])


def _in_a_mix(found: Fewest) -> str:
    return f"{found.max_tubes} in a mix" if found.max_tubes > 1 else "unmixed"


def _munsell(found: Fewest, row: int) -> str:
    return write_munsell(lab_to_munsell(found.labs[row], found.view))


# --- for a program ------------------------------------------------------------------------------


def as_json(
    asked: Colours, found: Fewest, curve: TradeOff | None, more: list[Addition],
    boxes: _Boxes | None,
) -> dict[str, Any]:
    """Return an answer for JSON."""
    return {
        "tubes": list(found.tubes),
        "counted": found.counted,
        "free": [id for id in found.tubes if id in found.free],
        "lower_bound": found.lower_bound,
        "proven": found.proven,
        "proof_has_margin": found.proof_has_margin,
        "stopped": found.stopped or None,
        "tolerance": found.tolerance,
        "max_tubes": found.max_tubes,
        "share_wanted": number(found.share_wanted, 6),
        "share": number(found.share, 6),
        "merged": None if boxes is None else {
            "colours": boxes.colours, "mean_off": number(boxes.mean),
            "greatest_off": number(boxes.most),
            "share": None if boxes.share is None else number(boxes.share, 6),
        },
        "light": found.view.light,
        "observer": found.view.observer,
        "sets": [
            {"tubes": list(one.tubes), "share": number(one.share, 6),
             "mean_miss": number(one.mean_miss), "sensitivity": number(one.sensitivity)}
            for one in found.sets
        ],
        "compared": found.compared,
        "complete": found.complete,
        "colours": [
            _colour_json(asked, found, i, recipe) for i, recipe in enumerate(_recipes(found))
        ],
        "trade_off": None if curve is None else [
            {"tubes": int(curve.count[i]), "set": list(curve.sets[i]),
             "share": number(curve.share[i], 6), "bound": number(curve.bound[i], 6),
             "proven": bool(curve.proven[i]), "mean_miss": number(curve.mean_miss[i])}
            for i in range(len(curve.count))
        ],
        "next": [
            {"tube": one.id or None, "share": number(one.share, 6),
             "mean_miss": number(one.mean_miss)}
            for one in more
        ],
    }  # fmt: skip


def _recipes(found: Fewest) -> list[Recipe | None]:
    """Return the recipe in whole parts of each colour; of many colours, of the heaviest only."""
    made: list[Recipe | None] = [None] * len(found.labs)
    most = 0 if not found.tubes else _ROWS if found.stopped else _WRITTEN
    heavy = np.argsort(-found.weight, kind="stable")[:most]
    for row in heavy:
        made[row] = found.recipe(int(row))
    return made


def _reachable(found: Fewest, row: int) -> bool | None:
    return bool(found.in_reach[row]) if found.in_reach_known[row] else None


def _colour_json(
    asked: Colours, found: Fewest, row: int, recipe: Recipe | None
) -> dict[str, Any]:
    return {
        "name": asked.names[row] if asked.names else None,
        "lab": numbers(found.labs[row]),
        "weight": number(found.weight[row], 8),
        "in_reach": _reachable(found, row),
        "within_tolerance": bool(found.within_tolerance[row]),
        "miss": number(found.miss[row]),
        "shares": {id: number(part, 6)
                   for id, part in zip(found.tubes, found.shares[row], strict=True) if part},
        "parts": recipe.parts if recipe else None,
        "whole_miss": number(recipe.miss) if recipe else None,
    }  # fmt: skip


def _csv(asked: Colours, found: Fewest) -> str:
    """Return a row for each colour: its best mix from the set, and the recipe in whole parts."""
    header = ("name", "weight", "L", "a", "b", "in_reach", "within_tolerance", "miss",
              *(f"share {id}" for id in found.tubes), "whole_miss",
              *(f"parts {id}" for id in found.tubes))  # fmt: skip
    rows = (
        [asked.names[i] if asked.names else None, number(found.weight[i], 8),
         *numbers(found.labs[i], 3), _reachable(found, i), bool(found.within_tolerance[i]),
         number(found.miss[i]), *numbers(found.shares[i], 5), number(one.miss) if one else None,
         *(one.parts.get(id, 0) if one else None for id in found.tubes)]
        for i, one in enumerate(_recipes(found))
    )  # fmt: skip
    return csv_text(header, rows)

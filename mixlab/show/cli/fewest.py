"""``mixlab fewest``: which tubes to carry, proven, and what more or fewer would do."""

import math
import sys
from collections.abc import Callable, Sequence
from typing import Annotated, Any

import numpy as np
import typer

from mixlab.arrays import Array, clock, percent
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import lab_to_hex, viewing
from mixlab.errors import NotationError, ReachError
from mixlab.mixing.answers import FINEST
from mixlab.paint.tables import Palette, PigmentTable, read_palette
from mixlab.palette.fewest import fewest_tubes
from mixlab.palette.next_tube import MANY, Addition, best_next
from mixlab.palette.problem import MOST_TUBES, small_sets
from mixlab.palette.programme import LACK
from mixlab.palette.small_sets import SLACK
from mixlab.palette.trade_off import TradeOff
from mixlab.palette.tube_sets import Fewest
from mixlab.palette.work import cluster, processes
from mixlab.show import fields
from mixlab.show.cli import asked, options
from mixlab.show.cli.console import bar, counted, stdout_apart
from mixlab.show.cli.fewest_output import (
    CURVE,
    LISTED_ROWS,
    MORE,
    OUTPUT,
    ROW,
    SET,
    Boxes,
    Made,
)
from mixlab.show.cli.mix import show_care
from mixlab.show.plots import style
from mixlab.show.report import Field, Page, Report, show
from mixlab.targets.many import Colours, in_boxes
from mixlab.targets.photos import GREY_CARD

_LISTED = 10
_MOST_LISTED = 1000
_BEYOND = 2  # tubes more than the fewest that the trade-off shows
_NEXT = 5
_SEARCHES = 5_000_000  # small sets times colours that a picture may cost
_MEANS = (700, 2500)  # colours that it comes down to


def fewest(
    palette: Annotated[
        str | None,
        typer.Option("--palette", help="Take them from a palette; else from all of the table."),
    ] = None,
    tubes: Annotated[int, typer.Option(help="Greatest number of tubes in a mix, 1 to 4.")] = 3,
    targets: asked.Targets = None,
    photo: asked.Photo = None,
    grey: asked.Grey = None,
    grey_reflectance: options.GreyReflectance = GREY_CARD,
    key: asked.Key = "fit",
    scene: asked.Scene = None,
    chips: asked.Chips = False,
    standard: asked.Standard = None,
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
    only: options.Only = False,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    finish: options.Finish = "gloss",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """The fewest tubes that mix the colours asked for, proven.

    Give the colours by one of --targets, --photo, --chips, --standard.
    """
    if plot is not None:
        style.checked(plot)
    view, known = viewing(light, observer, finish), options.paints_at_hand(table, only)
    choice = read_palette(palette, known) if palette is not None else known
    wanted = asked.asked_for(targets, photo, chips, standard, view, grey, grey_reflectance,
                             choice, key, scene)  # fmt: skip
    if wanted is None:
        raise ReachError(f"colours are needed; give one of {', '.join(asked.TARGETS)}")
    if not 1 < share <= 100:  # 0.95 is meant for 95
        raise ReachError(f"--share {share:g}: write per cent of the weight, as 95, up to 100")
    if not 1 <= sets <= _MOST_LISTED:
        raise ReachError(f"--sets {sets}: it must be 1 to {_MOST_LISTED}")
    _find(
        wanted, choice,
        tolerance=tolerance, max_tubes=tubes, share=share / 100, must=must or (),
        must_not=must_not or (), free_white=free_white, sets=sets, time_limit=time_limit,
        jobs=jobs, scheduler=scheduler, plot=plot, csv=csv, json=json,
    )  # fmt: skip


def _find(
    wanted: Colours,
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
    every, off = wanted, None
    if wanted.by_area:  # each colour costs a search of the whole catalogue
        count = max(small_sets(len(catalogue), max_tubes), 1)
        wanted, off = in_boxes(wanted, int(np.clip(_SEARCHES / count, *_MEANS)))
    left = clock(time_limit)
    pool = cluster(scheduler) if scheduler is not None else processes(jobs)
    with stdout_apart(), pool as executor:
        with bar("Looking at colours") as tell:
            found = fewest_tubes(
                wanted.lab, catalogue, tolerance, max_tubes, share, wanted.weight, must=must,
                must_not=must_not, free=free if free_white else (), sets=sets,
                time_limit=time_limit, executor=executor, view=wanted.view, progress=tell,
            )  # fmt: skip
        curve, more, interrupted = _more_or_fewer(
            found, wanted, catalogue, must_not, left, executor
        )
    boxes = None if off is None else _boxes(found, every, off)
    if plot is not None:
        _draw(found, curve, interrupted, plot)
    if csv is not None and not found.tubes:
        print(f"mixlab: {csv} is not written: no set of tubes was found", file=sys.stderr)
        csv = None
    all_ = Made(found, wanted, catalogue, curve, more, boxes)
    show(Report(OUTPUT, all_, _tell, found.view), json, csv)
    if found.stopped == "Ctrl-C" or interrupted:
        raise typer.Exit(130)


def _boxes(found: Fewest, every: Colours, off: Array) -> Boxes:
    covered = None
    if found.tubes:
        within = found.misses_of(every.lab) <= found.tolerance
        covered = float(every.weight[within].sum())
    return Boxes(len(every), float(every.weight @ off), float(off.max()), covered)


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


def _draw(found: Fewest, curve: TradeOff | None, interrupted: bool, plot: str) -> None:
    if curve is None:
        why = (
            "the search was cut short" if found.stopped or interrupted
            else "the search took all of the time limit" if len(found.free) < len(found.of)
            else "every tube is free, and none is counted"
        )  # fmt: skip
        print(f"mixlab: {plot} is not drawn: {why}", file=sys.stderr)
    else:
        from mixlab.show.plots.trade_off import trade_off

        style.save(trade_off(found, curve), plot, found.view)


# --- for a person -------------------------------------------------------------------------------


def _tell(page: Page, made: Made) -> None:
    asked, catalogue, found, boxes = made.wanted, made.catalogue, made.found, made.boxes
    table = catalogue.table if isinstance(catalogue, Palette) else catalogue
    page.entry("Colours", f"{asked.given}: {counted(len(asked), 'colour')}")
    for note in asked.notes:
        page.entry("", note)
    if boxes is not None:
        page.entry("", f"each the mean of a box of near ones: the {boxes.colour_count} that an eye "
                   f"tells apart lie {boxes.mean_off:.1f} CIEDE2000 from their means, "
                   f"{boxes.greatest_off:.1f} at most")  # fmt: skip
    name = catalogue.name if isinstance(catalogue, Palette) else "the table"
    page.entry("Tubes", f"{len(catalogue)} of {name}, at most {found.max_tubes} in a mix")
    for note in table.notes:
        page.entry("", note)
    page.light(found.view)

    page.head("The fewest tubes")
    page.line(f"  {_verdict(asked, found)}", hang=2)
    if found.palette is not None:
        page.table(
            (fields.PAINT.but(get=lambda paint: paint.id).shown(),
             Field("", "text", heading="", get=lambda paint: paint.name
                   + (", not counted" if paint.id in found.free else ""))),
            found.palette, [lab_to_hex(p.lab, found.view) for p in found.palette], indent=4,
        )  # fmt: skip
        page.line(f"  {_proof(found)}", hang=2)
        if boxes is not None and boxes.share is not None:
            page.line(
                f"  All this is of the means; of the picture's own {boxes.colour_count} colours "
                f"the set has {percent(boxes.share)} of the area within {found.tolerance:g}.",
                hang=2,
            )
    if len(found.sets) > 1:
        _show_sets(page, found)
    if not found.in_reach.all():
        _show_beyond(page, made)
    if found.palette is not None:
        _show_colours(page, made)
    if made.curve is not None:
        _show_trade_off(page, made.curve)
    if made.more:
        _show_next(page, made.more, len(asked))
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

    def differs(tubes: tuple[str, ...]) -> str:
        gone = ", ".join(id for id in best if id not in tubes)
        come = ", ".join(id for id in tubes if id not in best)
        return f"{come} for {gone}" if tubes != best else "the set above"

    page.table(
        (Field("", get=lambda row: row[0], heading="", right=True),
         *(one.of(lambda row: row[1]) for one in SET),
         Field("", "text", get=lambda row: differs(row[1].tubes), heading="")),
        enumerate(found.sets, start=1),
    )  # fmt: skip
    page.line("  Mean misses that fall in the same step of 0.05 count as alike; of those the set "
              "with lower sensitivity comes first.", hang=2)  # fmt: skip


_NAME = Field("", "text", heading="", get=lambda row: row["name"][:24] if row["name"]
              is not None else percent(row["asked"]))  # fmt: skip


def _show_beyond(page: Page, made: Made) -> None:
    rows = [row for row in made.colours if not row["reached"]]
    page.head(f"Out of reach of all the tubes, {_in_a_mix(made.found)}: "
              f"{counted(len(rows), 'colour')}")  # fmt: skip
    page.table((_NAME, fields.one(ROW, "munsell").shown()), rows[:LISTED_ROWS],
               [row["colour"].hex for row in rows[:LISTED_ROWS]])  # fmt: skip
    if len(rows) > LISTED_ROWS:
        page.line(f"  .. and {len(rows) - LISTED_ROWS} more.")


def _show_colours(page: Page, made: Made) -> None:
    rows = sorted(made.colours, key=lambda row: -row["asked"])[:LISTED_ROWS]
    count, found = len(made.colours), made.found
    page.head("Recipes from the set: miss of exact shares, then in whole parts"
              + (f" (the {LISTED_ROWS} heaviest colours of {count})" if count > len(rows) else "")
    )  # fmt: skip

    def rough(row: dict[str, Any]) -> bool:
        return bool(row["within_tolerance"] and row["recipe"].miss > found.tolerance)

    any_ = any(map(rough, rows))
    page.table(
        (_NAME, fields.WITHIN.shown("", lambda within: "" if within else "beyond"),
         fields.MISS.shown("", ".1f"),
         Field("", "text", heading="", right=True, get=lambda row: f"{row['recipe'].miss:.1f}"
               + ("+" if rough(row) else " " if any_ else "")),
         Field("", "text", heading="", get=lambda row: str(row["recipe"].mixture))),
        rows, [row["colour"].hex for row in rows],
    )  # fmt: skip
    if any_:
        page.line(f"  + not even {FINEST} parts hold the tolerance; the nearest.", hang=4)


def _show_trade_off(page: Page, curve: TradeOff) -> None:
    page.head("What so many tubes do at best" if curve.proven.all() else
              "What so many tubes do: the best sets found, and what none exceeds")  # fmt: skip
    if curve.stopped:
        page.line("  Cut short: larger numbers were not looked at.", hang=2)
    tubes, ids, mean = (fields.one(CURVE, key) for key in ("tubes", "paint_ids", "mean_miss"))
    within = Field("", "text", heading="within tolerance", get=lambda row: _at_most(
        curve.share[row[1]], curve.bound[row[1]], curve.proven[row[1]]))  # fmt: skip
    page.table((tubes.shown("tubes"), within, mean.shown("mean miss", ".2f"),
                ids.shown("", ", ".join)), [(curve, i) for i in range(len(curve.count))]
    )  # fmt: skip


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
    page.table((MORE[0].but(get=lambda one: one.id or "as it is"), *MORE[1:]), more[: _NEXT + 1])
    if count > MANY:
        page.line("  So many colours are sought together: a share may be too low by some tenths of "
                  "a per cent.", hang=2)  # fmt: skip


def _in_a_mix(found: Fewest) -> str:
    return f"{found.max_tubes} in a mix" if found.max_tubes > 1 else "unmixed"

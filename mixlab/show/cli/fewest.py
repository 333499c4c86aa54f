"""``mixlab fewest``: which tubes to carry, proven, and what more or fewer would do."""

import sys
from typing import Annotated, Any

import typer

from mixlab.arrays import percent
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import lab_to_hex
from mixlab.errors import ReachError
from mixlab.files import stream_apart
from mixlab.mixing.answers import FINEST
from mixlab.paint.tables import Palette, read_palette
from mixlab.palette.next_tube import Addition
from mixlab.palette.programme import LACK
from mixlab.palette.selection import Selection, select_tubes
from mixlab.palette.small_sets import SLACK
from mixlab.palette.trade_off import TradeOff
from mixlab.palette.tube_sets import Fewest
from mixlab.palette.work import cluster, processes
from mixlab.show import fields
from mixlab.show.cli import asked, options
from mixlab.show.cli.console import bar, counted
from mixlab.show.cli.fewest_output import CURVE, LISTED_ROWS, MORE, OUTPUT, ROW, SET, colour_rows
from mixlab.show.cli.mix import show_care
from mixlab.show.plots import style
from mixlab.show.report import Page, column, figures
from mixlab.targets.many import Colours

_NEXT = 5


@options.usual("plot", "csv", "picture")
def fewest(
    usual: options.Usual,
    palette: Annotated[
        str | None,
        typer.Option("--palette", help="Take them from a palette; else from all of the table."),
    ] = None,
    tubes: Annotated[int, typer.Option(help="Greatest number of tubes in a mix, 1 to 4.")] = 3,
    targets: asked.Targets = None,
    photo: asked.Photo = None,
    chips: asked.Chips = False,
    standard: asked.Standard = None,
    tolerance: options.Tolerance = TOLERANCE,
    share: Annotated[
        float, typer.Option(help="Share of the weight to bring within the tolerance [%].")
    ] = 100.0,
    required: Annotated[
        list[str] | None, typer.Option("--with", metavar="PAINT", help="Must be in the set.")
    ] = None,
    excluded: Annotated[
        list[str] | None,
        typer.Option("--without", metavar="PAINT", help="Must not be in the set."),
    ] = None,
    free_white: Annotated[
        bool, typer.Option("--free-white", help="Whites are not counted.")
    ] = False,
    sets: Annotated[int, typer.Option(help="How many sets of so few tubes to list.")] = 10,
    time_limit: Annotated[
        float | None, typer.Option(help="Stop the search after so long [s].")
    ] = None,
    jobs: Annotated[int, typer.Option(help="Number of processes.")] = 1,
    scheduler: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Address of a Dask scheduler.")
    ] = None,
) -> None:
    """The fewest tubes that mix the colours asked for, proven.

    Give the colours by one of --targets, --photo, --chips, --standard.
    """
    if not 1 < share <= 100:  # 0.95 is meant for 95
        raise ReachError(f"--share {share:g}: write per cent of the weight, as 95, up to 100")
    among = usual.table if palette is None else read_palette(palette, usual.table)
    wanted, _ = asked.asked_for(usual, targets, photo, chips, standard, among)
    if wanted is None:
        raise ReachError(f"colours are needed; give one of {', '.join(asked.TARGETS)}")
    pool = cluster(scheduler) if scheduler is not None else processes(jobs)
    with stream_apart(1), pool as executor:
        made = select_tubes(
            wanted, among, tolerance, tubes, share / 100, required=required or (),
            excluded=excluded or (), free_whites=free_white, sets=sets, time_limit=time_limit,
            executor=executor, bar=bar,
        )  # fmt: skip
    if usual.plot is not None:
        _draw(made, usual)
    if usual.csv is not None and not made.found.tubes:
        print(f"mixlab: {usual.csv} is not written: no set of tubes was found", file=sys.stderr)
        usual.csv = None
    usual.tell(OUTPUT, made, _tell)
    if made.stopped == "Ctrl-C":
        raise typer.Exit(130)


def _draw(made: Selection, usual: options.Usual) -> None:
    """Draw the trade-off, or say why there is none."""
    plot, found = usual.plot, made.found
    assert plot is not None
    if made.trade_off is None:
        why = (
            "the search was cut short" if made.stopped
            else "the search took all of the time limit" if len(found.free) < len(found.of)
            else "every tube is free, and none is counted"
        )  # fmt: skip
        print(f"mixlab: {plot} is not drawn: {why}", file=sys.stderr)
    else:
        from mixlab.show.plots.trade_off import trade_off

        drawn = trade_off(found, made.trade_off, made.tubes, form=usual.form)
        style.save(drawn, plot, found.view)


# --- for a person -------------------------------------------------------------------------------


def _tell(page: Page, made: Selection) -> None:
    asked, tubes, found, boxes = made.colours, made.tubes, made.found, made.merged
    table = tubes.table if isinstance(tubes, Palette) else tubes
    page.entry("Colours", f"{asked.given}: {counted(len(asked), 'colour')}")
    for note in asked.notes:
        page.entry("", note)
    if boxes is not None:
        page.entry("", f"each the mean of a box of near ones: the {boxes.colour_count} that an eye "
                   f"tells apart lie {boxes.mean_off:.1f} CIEDE2000 from their means, "
                   f"{boxes.greatest_off:.1f} at most")  # fmt: skip
    name = tubes.name if isinstance(tubes, Palette) else "the table"
    page.entry("Tubes", f"{len(tubes)} of {name}, at most {found.max_tubes} in a mix")
    for note in table.notes:
        page.entry("", note)
    page.light(found.view)

    page.head("The fewest tubes")
    page.say(_verdict(asked, found))
    if found.palette is not None:
        page.table(
            (fields.PAINT.but(get=lambda paint: paint.id).shown(),
             column("", lambda paint: paint.name
                    + (", not counted" if paint.id in found.free else ""))),
            found.palette, [lab_to_hex(p.lab, found.view) for p in found.palette], indent=4,
        )  # fmt: skip
        page.say(_proof(found))
        if boxes is not None and boxes.share is not None:
            page.say(f"All this is of the means; of the picture's own {boxes.colour_count} "
                     f"colours the set has {percent(boxes.share)} of the area within "
                     f"{found.tolerance:g}.")  # fmt: skip
    if len(found.sets) > 1:
        _show_sets(page, found)
    rows = colour_rows(made)
    if not found.in_reach.all():
        _show_beyond(page, found, [row for row in rows if not row["reached"]])
    if found.palette is not None:
        _show_colours(page, found, rows)
    if made.trade_off is not None:
        _show_trade_off(page, made.trade_off)
    if made.next:
        _show_next(page, made.next)
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
    if found.share_wanted < 1:
        wanted, reach = percent(found.share_wanted), found.share_in_reach
        if reach >= found.share_wanted - LACK:
            return f"{share} ({wanted} was asked)"
        return (f"{share}, {percent(found.share / reach)} of what can be reached at all ({wanted} "
                f"was asked; all the tubes reach {percent(reach)}, so it is counted against that)")
    counts = "" if found.weight.all() else "counts"  # some may have a weight of zero
    if found.in_reach.all():
        return "every colour" + (counts and f" that {counts}")
    return f"every colour that {counts and f'{counts} and '}can be mixed at all ({share})"


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
        (*SET, column("", lambda row: differs(row.tubes))), found.sets, numbered=True,
    )  # fmt: skip
    page.say("Mean misses that fall in the same step of 0.05 count as alike; of those the set "
             "with lower sensitivity comes first.")  # fmt: skip


_NAME = column("", lambda row: percent(row["asked"]) if row["name"] is None else row["name"][:24])


def _show_beyond(page: Page, found: Fewest, rows: list[dict[str, Any]]) -> None:
    in_a_mix = f"{found.max_tubes} in a mix" if found.max_tubes > 1 else "unmixed"
    page.head(f"Out of reach of all the tubes, {in_a_mix}: {counted(len(rows), 'colour')}")
    page.table((_NAME, fields.one(ROW, "munsell").shown()), rows[:LISTED_ROWS],
               [row["colour"].hex for row in rows[:LISTED_ROWS]])  # fmt: skip
    if len(rows) > LISTED_ROWS:
        page.say(f".. and {len(rows) - LISTED_ROWS} more.")


def _show_colours(page: Page, found: Fewest, rows: list[dict[str, Any]]) -> None:
    count = len(rows)
    rows = sorted(rows, key=lambda row: -row["asked"])[:LISTED_ROWS]
    page.head("Recipes from the set: miss of exact shares, then in whole parts"
              + (f" (the {LISTED_ROWS} heaviest colours of {count})" if count > len(rows) else "")
    )  # fmt: skip

    def rough(row: dict[str, Any]) -> bool:
        return bool(row["within_tolerance"] and row["recipe"].miss > found.tolerance)

    any_ = any(map(rough, rows))
    page.table(
        (_NAME, fields.WITHIN.shown("", lambda within: "" if within else "beyond"),
         fields.MISS.shown("", ".1f"),
         figures("", lambda row: f"{row['recipe'].miss:.1f}"
                 + ("+" if rough(row) else " " if any_ else "")),
         column("", lambda row: str(row["recipe"].mixture))),
        rows, [row["colour"].hex for row in rows],
    )  # fmt: skip
    if any_:
        page.say(f"+ not even {FINEST} parts hold the tolerance; the nearest.", hang=4)


def _show_trade_off(page: Page, curve: TradeOff) -> None:
    page.head("What so many tubes do at best" if curve.proven.all() else
              "What so many tubes do: the best sets found, and what none exceeds")  # fmt: skip
    if curve.stopped:
        page.say("Cut short: larger numbers were not looked at.")
    tubes, ids, mean = (fields.one(CURVE, key) for key in ("tubes", "paint_ids", "mean_miss"))
    within = column("within tolerance", lambda row: _at_most(
        curve.share[row[1]], curve.bound[row[1]], curve.proven[row[1]]))  # fmt: skip
    page.table((tubes.shown("tubes"), within, mean.shown("mean miss", ".2f"),
                ids.shown("", ", ".join)), [(curve, i) for i in range(len(curve.count))]
    )  # fmt: skip


def _at_most(share: float, bound: float, proven: bool) -> str:
    """Return a share in writing, with its bound where that is not the same."""
    if proven:
        return percent(share)
    shown, limit = percent(share), percent(bound)
    if shown == limit:
        shown, limit = (f"{100 * part:.3f}%" for part in (share, bound))
    return f"{shown} (at most {limit})"


def _show_next(page: Page, more: list[Addition]) -> None:
    page.head("The next tube for this palette, from the table")
    page.table((MORE[0].but(get=lambda one: one.id or "as it is"), *MORE[1:]), more[: _NEXT + 1])

"""``mixlab reach --fewest``: which tubes to carry, proven, and what more or fewer would do."""

import sys
import time
from collections.abc import Sequence
from typing import Any

import numpy as np
import typer

from mixlab.cli.mix import show_care
from mixlab.cli.page import Page, bar, counted, number, numbers, print_json
from mixlab.colorimetry import lab_to_hex, lab_to_munsell
from mixlab.demands import Colours
from mixlab.fewest import Addition, Fewest, TradeOff, best_next, fewest_tubes
from mixlab.files import csv_text, write_whole
from mixlab.munsell import write_munsell
from mixlab.plots import style
from mixlab.recipes import Recipe
from mixlab.spread import cluster, processes
from mixlab.survey import SLACK
from mixlab.tables import Palette, PigmentTable

_ROWS = 30
_BEYOND = 2  # tubes more than the fewest that the trade-off shows
_NEXT = 5
_WRITTEN = 500  # recipes in whole parts


def say(
    asked: Colours,
    catalogue: PigmentTable | Palette,
    *,
    tolerance: float,
    max_tubes: int,
    cover: float,
    must: Sequence[str],
    must_not: Sequence[str],
    free_white: bool,
    time_limit: float | None,
    jobs: int,
    scheduler: str | None,
    plot: str | None,
    csv: str | None,
    json: bool,
) -> None:
    """Find the fewest tubes for the colours asked for, and print them."""
    free = [p.id for p in catalogue if p.is_white and p.id not in _ids(catalogue, must_not)]
    begun = time.monotonic()
    with (cluster(scheduler) if scheduler is not None else processes(jobs)) as executor:
        with bar("Looking at colours") as tell:
            found = fewest_tubes(
                asked.lab, catalogue, tolerance, max_tubes, cover, asked.weight, must=must,
                must_not=must_not, free=free if free_white else (), time_limit=time_limit,
                executor=executor, view=asked.view, progress=tell,
            )  # fmt: skip
        curve, more, interrupted = None, [], False
        # the curve costs about as much again
        left = time_limit is None or time.monotonic() - begun < time_limit / 2
        some_count = len(found.free) < len(catalogue) - len(must_not)
        if not found.stopped and left and some_count:
            try:
                most = max(found.counted, 1) + _BEYOND
                curve = found.trade_off(most)
                if isinstance(catalogue, Palette) and len(catalogue) < len(catalogue.table):
                    with bar("Trying further tubes") as tell:
                        more = best_next(
                            catalogue, asked.lab, None, tolerance, max_tubes, asked.weight,
                            must_not=_others(catalogue.table, must_not), executor=executor,
                            view=asked.view, progress=tell,
                        )  # fmt: skip
            except KeyboardInterrupt:  # what was proven is not lost
                curve, more, interrupted = None, [], True
    if plot is not None and curve is None:
        why = (
            "the search was cut short" if found.stopped or interrupted
            else "the search took more than half of the time limit" if some_count
            else "every tube is free, and none is counted"
        )  # fmt: skip
        print(f"mixlab: {plot} is not drawn: {why}", file=sys.stderr)
    elif plot is not None and curve is not None:
        from mixlab.plots.trade_off import trade_off

        style.save(trade_off(found, curve), plot)
    if csv is not None and found.tubes:
        write_whole(csv, _csv(asked, found))
    if json:
        print_json(as_json(asked, found, curve, more))
    else:
        show(Page(), asked, catalogue, found, curve, more)
    if found.stopped == "Ctrl-C" or interrupted:
        raise typer.Exit(130)


def _ids(catalogue: PigmentTable | Palette, names: Sequence[str]) -> set[str]:
    return {catalogue[name].id for name in names if name in catalogue}


def _others(table: PigmentTable, names: Sequence[str]) -> list[str]:
    return [name for name in names if name in table]


# --- for a person -------------------------------------------------------------------------------


def show(
    page: Page,
    asked: Colours,
    catalogue: PigmentTable | Palette,
    found: Fewest,
    curve: TradeOff | None,
    more: list[Addition],
) -> None:
    """Print the fewest tubes, and what stands beside them."""
    table = catalogue.table if isinstance(catalogue, Palette) else catalogue
    page.entry("Colours", f"{asked.given}: {counted(len(asked), 'colour')}")
    for note in asked.notes:
        page.entry("", note)
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
    if len(found.sets) > 1:
        _show_sets(page, found)
    if not found.reachable.all():
        _show_beyond(page, asked, found)
    if found.palette is not None:
        _show_colours(page, asked, found)
    if curve is not None:
        _show_trade_off(page, curve)
    if more:
        _show_next(page, more)
    if found.palette is not None:
        show_care(page, found.palette.mix(dict.fromkeys(found.tubes, 1.0), found.view))


def _verdict(asked: Colours, found: Fewest) -> str:
    """Return what the search came to, in a sentence or two."""
    cut = {"time": "The time is over. ", "Ctrl-C": "Stopped. "}.get(found.stopped, "")
    if not found.tubes:
        if found.stopped:
            return (cut + "No set of tubes was found yet; "
                    f"at least {counted(found.lower_bound, 'tube')} will be needed.")  # fmt: skip
        return f"None of the colours can be mixed to {found.tolerance:g} CIEDE2000."
    what = "of the area" if asked.by_area else "of the weight"
    every = "every colour that can be mixed at all" if not found.reachable.all() else "every colour"
    share = f"{_percent(found.covered)} {what}" if found.cover < 1 or cut else every
    text = f"{cut}{counted(found.counted, 'tube')}{_besides(found)} for {share}, to "
    text += f"{found.tolerance:g} CIEDE2000"
    if share == every and not found.reachable.all():
        text += f" ({_percent(found.covered)} {what})"
    if found.proven:
        return text + ("; no fewer will do." if found.counted else ".")
    return text + (f"; whether fewer do is not settled, but at least "
                   f"{found.lower_bound} are needed.")  # fmt: skip


def _besides(found: Fewest) -> str:
    spare = len(found.tubes) - found.counted
    return f" and {counted(spare, 'white')} that is not counted" if spare == 1 else (
        f" and {spare} whites that are not counted" if spare else ""
    )


def _proof(found: Fewest) -> str:
    if not found.proven:
        return "Misses are those of exact shares."
    text = "Proven for exact shares"
    if found.firm:
        return (text + f", by misses that are sure to {SLACK:g}: fewer would not do at a tolerance "
                f"of {found.tolerance + SLACK:g} either.")  # fmt: skip
    return (text + f", as the solver sees it; at a tolerance of {found.tolerance + SLACK:g}, which "
            "is how sure its misses are, fewer would do.")  # fmt: skip


def _show_sets(page: Page, found: Fewest) -> None:
    known = f"{found.compared} in all" if found.complete else "there may be more"
    page.head(f"Sets as small, the best first ({known})")
    best = found.sets[0].tubes
    rows = [("", "mean miss", "slip", "")]
    for place, one in enumerate(found.sets, start=1):
        gone = [id for id in best if id not in one.tubes]
        come = [id for id in one.tubes if id not in best]
        text = f"{', '.join(come)} for {', '.join(gone)}" if place > 1 else "the set above"
        rows.append((str(place), f"{one.mean_miss:.2f}", f"{one.slip:.1f}", text))
    page.table(rows, right="012")


def _show_beyond(page: Page, asked: Colours, found: Fewest) -> None:
    rows = [i for i, reached in enumerate(found.reachable) if not reached]
    page.head(f"Not within reach of the whole catalogue: {counted(len(rows), 'colour')}")
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
    page.table(
        [
            (_name(asked, i), "" if found.within[i] else "beyond", f"{found.miss[i]:.1f}",
             f"{one.miss:.1f}", str(one.mixture))
            for i, one in zip(order, made, strict=True)
        ],
        right="23", hexes=[lab_to_hex(found.labs[i], found.view) for i in order],
    )  # fmt: skip


def _show_trade_off(page: Page, curve: TradeOff) -> None:
    page.head("What so many tubes do at best")
    rows = [("tubes", "within", "mean miss", "")]
    for i, ids in enumerate(curve.sets):
        doubt = "" if curve.proven[i] else f" (at most {_percent(curve.bound[i])})"
        rows.append((str(curve.count[i]), _percent(curve.share[i]) + doubt,
                     f"{curve.mean_miss[i]:.2f}", ", ".join(ids)))  # fmt: skip
    page.table(rows, right="02")


def _show_next(page: Page, more: list[Addition]) -> None:
    page.head("The next tube for this palette, from the table")
    page.table(
        [("", "within", "mean miss")]
        + [(one.id or "as it is", _percent(one.share), f"{one.mean_miss:.2f}")
           for one in more[: _NEXT + 1]],
        right="12",
    )  # fmt: skip


def _name(asked: Colours, row: int) -> str:
    return asked.names[row][:24] if asked.names else f"{100 * asked.weight[row]:.1f}%"


def _munsell(found: Fewest, row: int) -> str:
    return write_munsell(lab_to_munsell(found.labs[row], found.view))


def _percent(share: float) -> str:
    return f"{100 * share:.3g}%" if share < 0.9995 or share == 1 else f"{100 * share:.4g}%"


# --- for a program ------------------------------------------------------------------------------


def as_json(
    asked: Colours, found: Fewest, curve: TradeOff | None, more: list[Addition]
) -> dict[str, Any]:
    """Return an answer for JSON."""
    return {
        "tubes": list(found.tubes),
        "counted": found.counted,
        "free": [id for id in found.tubes if id in found.free],
        "lower_bound": found.lower_bound,
        "proven": found.proven,
        "firm": found.firm,
        "stopped": found.stopped or None,
        "tolerance": found.tolerance,
        "max_tubes": found.max_tubes,
        "cover": number(found.cover, 6),
        "covered": number(found.covered, 6),
        "light": found.view.light,
        "observer": found.view.observer,
        "sets": [
            {"tubes": list(one.tubes), "share": number(one.share, 6),
             "mean_miss": number(one.mean_miss), "slip": number(one.slip)}
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
    heavy = np.argsort(-found.weight, kind="stable")[: _WRITTEN if found.tubes else 0]
    for row in heavy:
        made[row] = found.recipe(int(row))
    return made


def _colour_json(
    asked: Colours, found: Fewest, row: int, recipe: Recipe | None
) -> dict[str, Any]:
    return {
        "name": asked.names[row] if asked.names else None,
        "lab": numbers(found.labs[row]),
        "weight": number(found.weight[row], 8),
        "reachable": bool(found.reachable[row]),
        "within": bool(found.within[row]),
        "miss": number(found.miss[row]),
        "shares": {id: number(part, 6)
                   for id, part in zip(found.tubes, found.shares[row], strict=True) if part},
        "parts": recipe.parts if recipe else None,
        "whole_miss": number(recipe.miss) if recipe else None,
    }  # fmt: skip


def _csv(asked: Colours, found: Fewest) -> str:
    """Return a row for each colour: its best mix from the set, and the recipe in whole parts."""
    header = ("name", "weight", "L", "a", "b", "reachable", "within", "miss",
              *(f"share {id}" for id in found.tubes), "whole_miss",
              *(f"parts {id}" for id in found.tubes))  # fmt: skip
    rows = (
        [asked.names[i] if asked.names else None, number(found.weight[i], 8),
         *numbers(found.labs[i], 3), bool(found.reachable[i]), bool(found.within[i]),
         number(found.miss[i]), *numbers(found.shares[i], 5), number(one.miss) if one else None,
         *(one.parts.get(id, 0) if one else None for id in found.tubes)]
        for i, one in enumerate(_recipes(found))
    )  # fmt: skip
    return csv_text(header, rows)

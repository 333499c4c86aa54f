"""What ``mixlab reach`` writes, declared."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from mixlab.arrays import percent
from mixlab.palette.comparison import Comparison
from mixlab.palette.coverage import Coverage, Tube
from mixlab.palette.reach import Place, Reach
from mixlab.show import fields
from mixlab.show.cli.recipe_output import AT, RADIUS
from mixlab.show.report import (
    Output,
    amount,
    by_name,
    column,
    group,
    numbers,
    rows,
    text,
    texts,
    truth,
)
from mixlab.targets import places

SHOWN = 12
"""Colours of a kind that are listed."""


@dataclass(frozen=True, eq=False)
class Made:
    """What was asked for and computed."""

    reach: Reach
    chips: Coverage  # of the Munsell chips
    covered: Coverage | None
    comparison: Comparison | None
    of_tubes: list[Tube] | None
    main: list[tuple[float, places.Place, float]]  # share of the area, place, miss

    @property
    def tubes(self) -> list[tuple[Tube, Coverage]]:
        """Each tube, and the colours that it is for."""
        return [(tube, self.covered or self.chips) for tube in self.of_tubes or ()]


_CUBIC = "CIELAB, cubic"
_SHARES = by_name("shares", "0..1", "shares by paint", digits=6)
FAMILY = text("hue_family", "Munsell hue family", lambda gain: gain.family)
VOLUME = amount("volume", _CUBIC, "of the colours that are mixed", digits=1)
_IDS = texts("paint_ids", "ids of the paints")
_COUNT = amount("colour_count", "colours", "how many there are", lambda of: len(of.colours))
_WITHIN = amount("within_count", "colours", "how many come within the tolerance",
                 lambda of: int(of.within_tolerance.sum()))  # fmt: skip
_PALETTE = (
    fields.PALETTE.but(get=lambda made: made.palette.name),
    _IDS.but(get=lambda made: made.palette.ids),
)
_PLACE = (
    *fields.colour(lambda place: fields.Colour(place.lab, place.mixture.view, place.munsell)),
    _SHARES.but(get=lambda place: place.mixture.shares),
)
MUNSELL = fields.one(_PLACE, "munsell")
SHOWN_MIX = column("", lambda place: in_words(place))
HIGHEST = (
    FAMILY.but(get=lambda row: row[0]).shown(),
    *(one.of(lambda row: row[1]) for one in _PLACE if one.key != "munsell"),
    MUNSELL.of(lambda row: row[1]).shown(),
    SHOWN_MIX.of(lambda row: row[1]),
)
_AT_PLACE = tuple(one.of(lambda gain: gain.place) for one in _PLACE)
CHROMA_BEYOND = amount("chroma_beyond", "C*", "farthest beyond what the other reaches, along a ray",
                        lambda gain: None if math.isnan(gain.volume) else gain.beyond,
                        digits=2)  # fmt: skip
MISS_BEYOND = amount("miss_beyond", "CIEDE2000", "how near the other comes, where mixes have no "
                      "volume", lambda gain: gain.beyond if math.isnan(gain.volume) else None,
                      digits=2)  # fmt: skip
_GAIN = (FAMILY, VOLUME, CHROMA_BEYOND, MISS_BEYOND, *_AT_PLACE)

NAME = text("name", "name of the colour")
WEIGHT = amount("weight", "0..1", "what the colour counts, of all", digits=8)
DIRECTIONS = texts("directions", "in words, the greatest first")
ROW = (
    NAME, WEIGHT, *fields.colour(lambda row: row["colour"]), fields.MISS, fields.WITHIN,
    DIRECTIONS,
)  # fmt: skip
COVERAGE = (
    text("given", "what it was made from", lambda of: of.colours.given),
    fields.NOTES.but(get=lambda of: of.colours.notes),
    truth("by_area", "whether the weights are shares of an area",
          lambda of: of.colours.by_area),
    _COUNT,
    _WITHIN,
    fields.SHARE,
    amount("mean_miss", "CIEDE2000", "mean miss by weight"),
    by_name("by_direction", "0..1", "shares of what is out of reach, by how it differs",
            lambda of: of.by_direction(), digits=6),
    rows(
        "by_family",
        (
            FAMILY.but(get=lambda row: row[0]).shown(),
            amount("asked", "0..1", "share of what is asked", lambda row: row[1][0],
                   digits=6).shown("asked", percent),
            amount("covered", "0..1", "share of what is asked that is within the tolerance",
                   lambda row: row[1][1], digits=6).shown("within", percent),
        ),
        "by Munsell hue family",
        lambda of: of.by_family().items(),
    ),
    rows("farthest_beyond", ROW, "those that matter most, by weight times miss, one of a kind",
         lambda of: asked_rows(of, of.worst(SHOWN))),
)  # fmt: skip
_USED = amount("used", "0..1", "share of what is asked whose nearest mix has the paint", digits=6)
_LOST = amount("lost", "0..1", "share of what is asked that is lost without it", digits=6)
_VOLUME_LOST = amount("volume_lost", "0..1", "share of the volume that is lost without it")
TUBE = (
    fields.PAINT.but(get=lambda row: row[0].id).shown(),
    _USED.of(lambda row: row[0]).shown("used in", percent),
    _LOST.of(lambda row: row[0]).shown("lost without it", percent),
    _VOLUME_LOST.but(
        get=lambda row: row[0].volume_lost if row[1].reach.solid else None
    ).shown("volume lost", percent),
    by_name("substitutes", "0..1", "paints of the palette that take its place, by share of what "
            "it is used in", lambda row: dict(row[0].substitutes)),
    by_name("from_table", "0..1", "paints of the pigment table that take its place, by share of "
            "what is lost", lambda row: dict(row[0].from_table)),
    rows("only_for", fields.colour(), "colours for which it is the only way",
         lambda row: _colours(row[1], row[0].only_for[:SHOWN])),
    amount("only_for_count", "colours", "how many it is the only way to",
           lambda row: len(row[0].only_for)),
    column("substitutes", lambda row: _substitutes(row[0])),
)  # fmt: skip

_EDGE = (
    numbers("lightness_hue", "L*, degrees", "L* and CIELCh hue", lambda row: row[:2],
            columns=("L", "h")),
    amount("greatest_chroma", "C*", "of the mixes of that L* and hue", lambda row: row[2],
           digits=3),
    amount("least_chroma", "C*", "of the mixes of that L* and hue", lambda row: row[3], digits=3),
)  # fmt: skip
_REACH = (
    *(one.of(lambda made: made.reach) for one in (
        *_PALETTE,
        amount("max_tubes", "", "greatest number of paints in a mix", lambda made: made.tubes),
        VOLUME,
        amount("volume_error", _CUBIC, "how sure the volume is", digits=1),
        group("darkest", _PLACE, "the darkest mix"),
        group("lightest", _PLACE, "the lightest mix"),
        rows("highest_chroma", HIGHEST, "the mix highest in chroma of each hue family, up to "
             "value 9", lambda made: made.highest_chroma.items()),
        rows("edge", _EDGE, "the edge of what is mixed", lambda made: _edge(made)),
    )),
    fields.TOLERANCE.of(lambda made: made.chips),
    group("chips", (_COUNT, _WITHIN, fields.SHARE),
          "the Munsell chips that a surface can have", lambda made: made.chips),
    by_name("by_tubes", "0..1", "share of the volume by number of paints in a mix",
            lambda made: made.reach.by_tubes(made.chips.tolerance)),
    group(
        "against",
        (
            *(one.of(lambda both: both.other) for one in _PALETTE),
            amount("both", _CUBIC, "volume in reach of both", digits=1),
            amount("only_first", _CUBIC, "volume in reach of the palette alone",
                   lambda both: both.only_one, digits=1),
            amount("only_second", _CUBIC, "volume in reach of the other alone",
                   lambda both: both.only_other, digits=1),
            rows("first_has", _GAIN, "what the palette has that the other lacks",
                 lambda both: both.gains_one),
            rows("second_has", _GAIN, "what the other has that the palette lacks",
                 lambda both: both.gains_other),
        ),
        "the other palette",
        lambda made: made.comparison,
    ),
    rows("each_tube", TUBE, "what each tube is for",
         lambda made: None if made.of_tubes is None else made.tubes),
)  # fmt: skip
COVERED = Output(
    "reach",
    (*_REACH, group("coverage", COVERAGE, "the colours asked for", lambda made: made.covered),
     rows("main_colours",
          (fields.SHARE.but(meaning="of the area that is nearest to it", get=lambda row: row[0]),
           AT.of(lambda row: row[1]), RADIUS.of(lambda row: row[1]),
           *fields.colour(lambda row: row[1].target),
           fields.MISS.but(get=lambda row: row[2])),
          "main colours of a photo and where they lie, the largest area first",
          lambda made: made.main)),
    csv=rows("rows", (*ROW, _SHARES), "the colours asked for, each with its nearest mix",
             lambda made: asked_rows(made.covered, range(len(made.covered.colours)))),
)  # fmt: skip
OUTPUT = Output(
    "reach", _REACH,
    csv=rows("rows", (*_EDGE, _SHARES.but(get=lambda row: row[4])), "the edge of what is mixed",
             lambda made: _edge(made.reach)),
)  # fmt: skip


def _colours(asked: Coverage, some: Iterable[int]) -> list[fields.Colour]:
    chosen = list(some)
    return fields.colours(asked.colours.lab[chosen], asked.colours.view) if chosen else []


def asked_rows(asked: Coverage, some: Iterable[int]) -> list[dict[str, Any]]:
    """Return colours asked for, each with its nearest mix."""
    chosen, ids = list(some), asked.reach.palette.ids
    return [
        {"name": asked.colours.names[i] if asked.colours.names else None,
         "weight": asked.colours.weight[i], "colour": colour, "miss": asked.miss[i],
         "within_tolerance": asked.within_tolerance[i],
         "directions": None if asked.within_tolerance[i] else asked.directions(i),
         "shares": _shares(ids, asked.shares[i])}
        for i, colour in zip(chosen, _colours(asked, chosen), strict=True)
    ]  # fmt: skip


def _edge(made: Reach) -> list[tuple[Any, ...]]:
    """Return L*, hue, greatest and least chroma, and shares, where something is mixed."""
    return [
        (made.lightness[i], made.hue[j], made.greatest[i, j], made.least[i, j],
         _shares(made.palette.ids, made.shares[i, j]))
        for i, j in np.argwhere(~np.isnan(made.greatest))
    ]  # fmt: skip


def _shares(ids: Iterable[str], shares: Iterable[float]) -> dict[str, float]:
    return {id: part for id, part in zip(ids, shares, strict=True) if part > 0}


def _substitutes(tube: Tube) -> str:
    if not tube.used:
        return ""
    own = ", ".join(f"{id} {100 * part:.0f}%" for id, part in tube.substitutes[:2])
    table = ", ".join(f"{id} {100 * part:.0f}%" for id, part in tube.from_table[:2])
    return (own or "none") + (f" [{table}]" if table else "")


def in_words(place: Place) -> str:
    """Return the shares of a mix, the greatest first."""
    shares = sorted(place.mixture.shares.items(), key=lambda item: -item[1])
    if len(shares) == 1:
        return shares[0][0]
    return " + ".join(f"{_percent(part)} {id}" for id, part in shares)


def _percent(share: float) -> str:
    percent = 100 * share
    return f"{percent:.2g}%" if percent < 10 else f"{percent:.0f}%" if percent < 99 else (
        f"{percent:.4g}%"
    )

"""What ``mixlab fewest`` writes, declared."""

from functools import lru_cache
from typing import Any

import numpy as np

from mixlab.arrays import percent
from mixlab.palette.selection import Selection
from mixlab.show import fields
from mixlab.show.report import Output, amount, by_name, group, rows, text, texts, truth

LISTED_ROWS = 30
"""Colours that a person is shown."""
_WRITTEN = 500  # recipes in whole parts


@lru_cache(maxsize=1)
def colour_rows(made: Selection) -> list[dict[str, Any]]:
    """Return each colour, its best mix from the set, and the recipe of the heaviest."""
    found, wanted = made.found, made.colours
    most = 0 if not found.tubes else LISTED_ROWS if found.stopped else _WRITTEN
    heavy = {int(row) for row in np.argsort(-found.weight, kind="stable")[:most]}
    return [
        {"name": wanted.names[i] if wanted.names else None, "weight": found.weight[i],
         "asked": wanted.weight[i], "colour": colour, "miss": found.miss[i],
         "in_reach": found.in_reach[i] if found.in_reach_known[i] else None,
         "reached": found.in_reach[i], "within_tolerance": found.within_tolerance[i],
         "shares": {id: part for id, part in zip(found.tubes, found.shares[i], strict=True)
                    if part},
         "recipe": found.recipe(i) if i in heavy else None}
        for i, colour in enumerate(fields.colours(found.labs, found.view))
    ]  # fmt: skip


_IDS = texts("paint_ids", "ids of the paints", lambda one: one.tubes)
_MEAN_MISS = amount("mean_miss", "CIEDE2000", "mean miss by weight")
_COUNTED = amount("counted", "tubes", "size of the set, without those that are free")
_PROVEN = truth("proven", "whether it is proven that no other set does better")

SET = (
    _IDS,
    fields.SHARE,
    _MEAN_MISS.shown("mean miss", ".2f"),
    amount("mean_sensitivity", "CIEDE2000", "how far a quarter part off moves a recipe, mean by "
           "weight", lambda one: one.sensitivity).shown("sensitivity", ".1f"),
)  # fmt: skip
ROW = (
    text("name", "name of the colour"),
    amount("weight", "0..1", "what the colour counts, of all", digits=8),
    *fields.colour(lambda row: row["colour"]),
    fields.IN_REACH,
    fields.WITHIN,
    fields.MISS,
    by_name("shares", "0..1", "shares by paint", digits=6),
    group("recipe", (*fields.mixture(lambda recipe: recipe.mixture), fields.MISS),
          "in whole parts; of the heaviest colours alone"),
)  # fmt: skip
CURVE = (
    fields.TUBES.but(get=lambda row: row[0].count[row[1]].item()),
    _IDS.but(get=lambda row: row[0].sets[row[1]]),
    fields.SHARE.but(get=lambda row: row[0].share[row[1]]),
    amount("bound", "0..1", "share that no set of so many exceeds",
           lambda row: row[0].bound[row[1]], digits=6),
    _PROVEN.but(get=lambda row: row[0].proven[row[1]]),
    _MEAN_MISS.but(get=lambda row: row[0].mean_miss[row[1]]),
)  # fmt: skip
MORE = (
    fields.PAINT.but(get=lambda one: one.id or None).shown(),
    fields.SHARE.shown("within", percent),
    _MEAN_MISS.shown("mean miss", ".2f"),
)
COLOURS = rows("colours", ROW, "the colours asked for, each with its best mix from the set",
               colour_rows)  # fmt: skip
OUTPUT = Output(
    "fewest",
    (
        *(one.of(lambda made: made.found) for one in (
            _IDS,
            _COUNTED,
            texts("free", "tubes of the set that are not counted",
                  lambda found: [id for id in found.tubes if id in found.free]),
            amount("lower_bound", "tubes", "fewer will not do"),
            _PROVEN,
            truth("proof_has_margin", "whether fewer would not do at a tolerance a little wider"),
            text("stopped", "what cut the search short", lambda found: found.stopped or None),
            fields.TOLERANCE,
            amount("max_tubes", "", "greatest number of paints in a mix"),
            amount("share_wanted", "0..1", "share of the weight that was asked", digits=6),
            amount("share_in_reach", "0..1", "share of the weight that all the tubes reach; where "
                   "it is less than was asked, that is counted against it", digits=6),
            fields.SHARE,
            rows("sets", SET, "sets as small, the best first"),
            amount("compared", "sets", "how many were compared"),
            truth("complete", "whether those are all there are"),
        )),
        group(
            "merged",
            (amount("colour_count", "colours", "how many there are"),
             amount("mean_off", "CIEDE2000", "from the colours to the means of their boxes"),
             amount("greatest_off", "CIEDE2000", "from a colour to the mean of its box"),
             fields.SHARE),
            "a picture's own colours, which the means of boxes stand for",
            lambda made: made.merged,
        ),
        COLOURS,
        rows("trade_off", CURVE, "what so many tubes do at best",
             lambda made: made.trade_off and [(made.trade_off, i) for i in
                                              range(len(made.trade_off.count))]),
        rows("next", MORE, "what a further tube adds; the palette as it is first"),
    ),
    csv=COLOURS,
)  # fmt: skip

"""What ``mixlab recipe`` and ``mixlab demo`` write: an answer in full, or passages in a list."""

from typing import NamedTuple

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.spaces import lab_to_lch, lab_to_value
from mixlab.mixing.answers import Answer, OutOfReach, Recipe
from mixlab.mixing.recipes import MOST_PAINTS
from mixlab.paint.tables import Palette
from mixlab.palette.family import Family
from mixlab.picture.passages import Passage, in_order
from mixlab.show import fields
from mixlab.show.cli.console import counted, lab_text
from mixlab.show.cli.mix import show_care, show_steps, show_trust
from mixlab.show.report import (
    Output,
    Page,
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
from mixlab.targets.places import Picture


class Found(NamedTuple):
    """Passages and their recipes, the tubes at hand, the picture they lie in, and a family."""

    passages: list[Passage]
    tubes: Palette
    picture: Picture | None = None
    family: Family | None = None


_SHARES = by_name("shares", "0..1", "shares by paint; they need not be whole parts", digits=6)

RECIPE = (
    fields.TUBES,
    fields.mixture(lambda recipe: recipe.mixture)[0],
    fields.PARTS,
    text("in_words", "how it is mixed: at once, or in two steps", lambda recipe: str(recipe)),
    group(
        "two_steps",
        (by_name("first", "parts", "of the first mix, by paint", lambda way: way.first.parts),
         amount("taken", "parts", "of the first mix that go on"),
         by_name("then", "parts", "what is put to them, by paint", lambda way: way.then)),
        "the way where it takes a first mix; null where it is mixed at once",
    ),
    fields.MISS,
    *fields.colour(lambda recipe: recipe.mixture),
    group(
        "exact",
        (_SHARES.but(get=lambda recipe: recipe.exact_shares),
         fields.MISS.but(get=lambda recipe: recipe.exact_miss)),
        "the same tubes, if parts need not be whole",
        lambda recipe: recipe,
    ),
    *(field if field.key in ("sensitivity", "steps") else field.of(lambda recipe: recipe.mixture)
      for field in fields.PREDICTION),
)  # fmt: skip

_COUNT = (
    *(field.of(lambda row: row[0]) for field in (
        fields.TUBES.shown("", ""),
        fields.MISS.shown("", ".2f"),
        _SHARES.shown("", lambda shares: _shares(shares), right=False),
    )),
    *fields.colour(lambda row: fields.Colour(row[0].lab, row[1])),
)  # fmt: skip

_OUT = group(
    "out_of_reach",
    (
        fields.MISS.but(meaning="from the target to the nearest mix that exists"),
        amount("delta_L", "L*", "what the target has more of than that mix",
               lambda out: out.lightness),
        amount("delta_C", "C*", "what the target has more of than that mix",
               lambda out: out.chroma),
        amount("delta_h", "degrees", "how far the target's hue lies from that mix's",
               lambda out: out.hue),
        texts("directions", "in words, the greatest first"),
        texts("between", "paints between whose hues the target lies"),
        text("approach", "value or nearest: what the recipe keeps"),
        group("nearest", RECIPE, "the nearest recipe, whatever it does to the value"),
        group(
            "helper",
            (fields.PAINT, *fields.mixture(lambda helper: helper.mixture), fields.MISS),
            "the paint of the same hue family that would bring the target within reach",
        ),
    ),
    "why no mix is within the tolerance; null where one is",
)  # fmt: skip

_LOOKED_AT = amount(
    "looked_at", "paints", "of the palette, that were searched; of very many the most promising"
)

TARGET = group(
    "target",
    (text("given", "what it was made from"), *fields.colour(), fields.NOTES),
    "the colour that is wanted",
    lambda passage: passage.place.target,
)

FOUND = (
    TARGET,
    *(field.of(lambda passage: passage.answer) for field in (
        fields.TOLERANCE,
        fields.IN_REACH,
        fields.WITHIN.but(get=lambda answer: answer.recipe.miss <= answer.tolerance),
        _LOOKED_AT,
        group("recipe", RECIPE, "what to mix"),
        group("in_few_parts", RECIPE, "in no more parts than were allowed"),
        group("in_finer_parts", RECIPE,
              "in more parts than were allowed or in two steps, where that gains"),
        group("simpler", RECIPE,
              "of a tube less, or of everyday tubes, where the table cannot tell its miss from the "
              "recipe's"),
        rows("by_count", _COUNT, "the best mix that exists, by greatest number of tubes",
             lambda answer: [(count, answer.view) for count in answer.by_count]),
        rows("alternatives", RECIPE, "other tubes that hit it"),
        _OUT,
    )),
)  # fmt: skip
"""Of a passage."""

AT = numbers("at", "pixels", "x and y of its middle from the top left; null for a colour alone",
             columns=("x", "y"))  # fmt: skip
RADIUS = amount("radius", "pixels", "of the disc that was averaged")
PLACES = rows(
    "places",
    (
        text("name", "what the passage is called", lambda passage: passage.place.name),
        AT.of(lambda passage: passage.place),
        RADIUS.of(lambda passage: passage.place),
        amount("order", "", "its turn to be mixed, from 1: darks first"),
        TARGET,
        *(field.of(lambda passage: passage.answer) for field in (
            fields.IN_REACH,
            fields.WITHIN.but(get=lambda answer: answer.recipe.miss <= answer.tolerance),
            _LOOKED_AT,
            group("recipe", RECIPE, "what to mix"),
        )),
        texts("directions", "how it lies out of reach, the greatest first",
              lambda passage: getattr(passage.answer.out_of_reach, "directions", None)),
    ),
    "the passages, as they were given",
    lambda found: found.passages,
)
_PALETTE = fields.PALETTE.but(get=lambda found: found.tubes.name)
_IDS = texts("paint_ids", "of the palette", lambda found: found.tubes.ids)
ONE = Output("recipe", (_PALETTE, *(one.of(lambda found: found.passages[0]) for one in FOUND)),
             csv=PLACES)  # fmt: skip
FAMILY = group(
    "family",
    (
        texts("paint_ids", "of the palette", lambda held: held.tubes),
        truth("proven", "whether fewer than the lower bound are proven not to do"),
        truth("one_more", "whether it has a tube more, so that a knife can measure the parts"),
        amount("lower_bound", "tubes", "fewer do not do, whatever the parts",
               lambda held: held.found.lower_bound),
    ),
    "the fewest tubes that hold all passages; null unless they were asked for",
)
MANY = Output("recipe", (_PALETTE, _IDS, FAMILY, PLACES), csv=PLACES)


# --- for a person -------------------------------------------------------------------------------


def tell_one(page: Page, found: Found) -> None:
    """Lay out the answer for the first of the passages in full."""
    passage, palette = found.passages[0], found.tubes
    target, answer = passage.place.target, passage.answer
    wanted = fields.Colour(target.lab, target.view)
    page.entry("Target", target.given)
    page.entry("", f"{wanted.munsell}   {wanted.hex}", wanted.hex)
    page.entry("", lab_text(target.lab))
    for note in target.notes:
        page.entry("", note)
    _show_tubes(page, found)
    for note in palette.table.notes:
        page.entry("", note)
    page.light(target.view)

    best, few = answer.recipe, answer.in_few_parts
    if answer.out_of_reach is not None:
        _show_out_of_reach(page, answer.out_of_reach, target.lab, best)
    page.head("Recipe" if answer.in_reach else "The least harmful compromise")
    if answer.in_reach and best.miss > answer.tolerance:
        page.say(f"Misses: a mix within the tolerance of {answer.tolerance:g} exists, but parts "
                 "that a knife can measure do not hold it.")  # fmt: skip
    page.say(str(best), 4)
    page.say(f"{_miss(best)}{_tubes(best)}")
    made = best.mixture
    page.say(f"{made.munsell}  {made.hex}  {lab_text(made.lab)}", hex=made.hex)
    if best is not few:
        page.say(f"In fewer parts: {few}; {_miss(few)}.", 4)
    elif (finer := answer.in_finer_parts) is not None:
        page.say(f"With finer parts: {finer}; {_miss(finer)}.", 4)
    if (simpler := answer.simpler) is not None:
        said = (f"Simpler: {simpler}; {counted(simpler.tubes, 'tube')} {_come(simpler)}"
                if simpler.tubes < best.tubes else
                f"Of everyday tubes: {simpler}; they come")  # fmt: skip
        page.say(f"{said} to {simpler.miss:.1f}, which this table cannot tell from "
                 f"{best.miss:.1f}.", 4)  # fmt: skip
    if len(made.paints) > 1:
        show_steps(page, best)
    else:
        show_trust(page, made)

    page.head("The best there is, by number of tubes (shares need not be whole)")
    page.table(_COUNT, fields.one(FOUND, "by_count").read(passage))
    if answer.alternatives:
        page.head("Other tubes that hit it")
        page.table((fields.MISS.shown("", ".1f"), column("", str)), answer.alternatives)
    show_care(page, made)


def _show_tubes(page: Page, found: Found) -> None:
    page.entry("Palette", f"{found.tubes.name}, {counted(len(found.tubes), 'tube')}")
    if len(found.tubes) > MOST_PAINTS:
        some = max(one.answer.looked_at for one in found.passages)
        page.entry("", f"of {len(found.tubes):,} paints, {some} were looked at, those that promise "
                   "most")  # fmt: skip


def _come(recipe: Recipe) -> str:
    return "comes" if recipe.tubes == 1 else "come"


def _show_out_of_reach(page: Page, out: OutOfReach, target: Array, kept: Recipe) -> None:
    page.head("Out of reach")
    page.say(f"The palette comes no nearer than {out.miss:.1f} CIEDE2000. The target is "
             f"{' and '.join(_in_words(out))}.")  # fmt: skip
    if (helper := out.helper) is not None:
        page.say(f"{helper.paint} would bring it within reach: {helper.mixture}; "
                 f"miss {helper.miss:.1f}.")  # fmt: skip
    else:
        page.say("No single paint of this hue family would bring it within reach.")
    if out.approach == "value":
        page.say(f"Value first, then hue. The mix below gives up {given_up(target, kept)}.")
        if out.nearest.parts != kept.parts:
            page.say(f"Nearest of all: {out.nearest}; {_miss(out.nearest)}.", 4)


def given_up(target: Array, kept: Recipe) -> str:
    """Return in words what a compromise gives up: value, chroma, hue."""
    view = kept.view
    value, other = lab_to_value(np.array([target, kept.lab]), view)
    (_, chroma, hue), (_, own, there) = lab_to_lch(np.array([target, kept.lab]))
    words = []
    if abs(other - value) >= 0.1:
        words.append(f"{abs(other - value):.1f} of value (it is too "
                     f"{'light' if other > value else 'dark'})")  # fmt: skip
    if abs(own - chroma) >= 1:
        words.append(f"{abs(own - chroma):.0f} of C* (it is too "
                     f"{'low' if own < chroma else 'high'})")  # fmt: skip
    turn = abs((there - hue + 180) % 360 - 180)
    if turn >= 3 and min(own, chroma) >= 2:
        words.append(f"{turn:.0f} degrees of hue")
    return ", ".join(words) or "nearly nothing"


def _in_words(out: OutOfReach) -> list[str]:
    amounts = {
        "too light": f"{out.lightness:.0f} L*",
        "too dark": f"{-out.lightness:.0f} L*",
        "too high in chroma": f"{out.chroma:.0f} C*",
        "too low in chroma": f"{-out.chroma:.0f} C*",
    }
    words = []
    for direction in out.directions:
        if direction in amounts:
            words.append(f"{direction} (by {amounts[direction]})")
        elif out.between is not None:
            words.append(f"of a hue between {out.between[0]} and {out.between[1]}")
        else:
            words.append(f"of another hue (by {abs(out.hue):.0f} degrees)")
    return words


def _miss(recipe: Recipe) -> str:
    return f"miss {recipe.miss:.1f} (exact shares {recipe.exact_miss:.1f})"


def _tubes(recipe: Recipe) -> str:
    total = counted(sum(recipe.parts.values()), "part")
    return f", {counted(recipe.tubes, 'tube')}, {'two steps' if recipe.two_steps else total}"


def _shares(shares: dict[str, float]) -> str:
    def percent(share: float) -> str:
        return f"{100 * share:.1f}" if share >= 0.001 else f"{100 * share:.2g}"

    return ", ".join(f"{percent(share)}% {id}" for id, share in shares.items())


def tell_many(page: Page, found: Found) -> None:
    """Lay out passages in a list, in the order in which they are mixed."""
    first = found.passages[0].place.target
    _show_tubes(page, found)
    taken = found.picture
    for note in (*found.tubes.table.notes, *((*taken.photo.notes, *taken.notes) if taken else ())):
        page.entry("", note)
    if found.family is not None:
        tell_family(page, found.family)
    page.light(first.view)
    page.line("Darks first: the lights are judged against them.")
    list_passages(page, found.passages)
    used = dict.fromkeys(id for one in found.passages for id in one.answer.recipe.parts)
    show_care(page, found.tubes.mix(dict.fromkeys(used, 1.0), first.view))


def tell_family(page: Page, held: Family) -> None:
    """Lay out which tubes hold all passages, and whether fewer would."""
    proof = "fewer do not do" if held.proven else "whether fewer do is not proven"
    if held.one_more:
        proof = "one fewer would do, but not in parts that a knife measures"
    page.entry("Family", f"{counted(len(held.tubes), 'tube')}: {', '.join(held.tubes)}; {proof}")
    if held.out_of_reach:
        page.entry("", f"out of reach of the whole palette: {', '.join(held.out_of_reach)}")


def list_passages(page: Page, passages: list[Passage]) -> None:
    """Lay out what is wanted and what mixes it, passage by passage."""
    for one in in_order(passages):
        place, mix = one.place, one.answer.recipe.mixture
        wanted = fields.Colour(place.target.lab, place.target.view)
        where = "" if place.at is None else f" (at {place.at[0]:g},{place.at[1]:g})"
        page.head(f"{one.order}. {place.name}" + ("" if place.name in where else where))
        page.entry("  wanted", f"{wanted.hex}   {wanted.munsell}", wanted.hex)
        page.entry("  the mix", f"{mix.hex}   {mix.munsell}", mix.hex)
        page.say(str(one.answer.recipe), 4)
        page.say(verdict(one.answer))


def verdict(answer: Answer) -> str:
    """Return in words how near a recipe comes."""
    miss = f"{answer.recipe.miss:.1f}"
    if answer.out_of_reach is not None:
        out = answer.out_of_reach
        helper = f"; {out.helper.paint} would help" if out.helper else ""
        return f"out of reach ({', '.join(out.directions)}), compromise misses by {miss}{helper}"
    if answer.recipe.miss > answer.tolerance:
        return f"miss {miss}: no whole parts come within {answer.tolerance:g}"
    return f"miss {miss}"

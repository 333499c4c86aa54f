"""What ``mixlab plan`` writes: values, masses, piles, order and amounts."""

import math
from typing import NamedTuple

from mixlab.arrays import percent
from mixlab.colour.spaces import lab_to_hex
from mixlab.paint.trust import about
from mixlab.picture.amounts import WASTE
from mixlab.picture.masses import Mass
from mixlab.picture.order import CAUTIONS, STAGES
from mixlab.picture.piles import Pile
from mixlab.picture.plan import Plan
from mixlab.picture.shifts import Shift
from mixlab.show import fields
from mixlab.show.cli.console import counted
from mixlab.show.cli.mix import show_care
from mixlab.show.cli.plan_ground import GROUND, tell_ground
from mixlab.show.cli.recipe_output import FAMILY
from mixlab.show.report import (
    Output,
    Page,
    amount,
    by_name,
    column,
    figures,
    group,
    numbers,
    rows,
    text,
    texts,
    truth,
)
from mixlab.show.words import in_words


class Found(NamedTuple):
    """A plan, and what shifted against it where that was asked."""

    plan: Plan
    shifts: list[Shift] | None = None


class _Row(NamedTuple):
    """A mass of a plan."""

    plan: Plan
    mass: Mass

    @property
    def pile(self) -> Pile:
        """Its pile."""
        return self.plan.pile(self.mass.number)

    @property
    def wanted(self) -> fields.Colour:
        """Its colour."""
        return fields.Colour(self.mass.lab, self.plan.view)

    @property
    def parent(self) -> int | None:
        """Number of the mass out of whose pile it grows."""
        return None if self.pile.parent is None else self.pile.parent + 1

    @property
    def stage(self) -> str:
        """When it is painted."""
        order = self.plan.order
        return order.stages[order.numbers.index(self.mass.number)]


_NUMBER = amount("number", "", "of the mass, 1 the darkest; accents follow")
_NAME = text("name", "what it is called")
_ROW = (
    _NUMBER.of(lambda row: row.mass),
    _NAME.of(lambda row: row.mass),
    numbers("place", "pixels", "x and y of a point well inside, from the top left",
            lambda row: row.mass.place, columns=("x", "y")),
    texts("elsewhere", "x,y of points in other shapes of it that lie apart [pixels]",
          lambda row: [f"{x:g},{y:g}" for x, y in row.mass.elsewhere]),
    fields.SHARE.but(meaning="of the picture", get=lambda row: row.mass.share),
    text("side", "light or shadow", lambda row: "light" if row.mass.light else "shadow"),
    truth("by_painter", "whether the painter gave it", lambda row: row.mass.given),
    amount("spread", "CIEDE2000", "95 in 100 places of it lie as near to its colour",
           lambda row: row.mass.spread),
    numbers("wanted", "CIELAB", "L*, a*, b* of it, as set in the key", lambda row: row.mass.lab,
            columns=("wanted_L", "wanted_a", "wanted_b")),
    text("wanted_munsell", "Munsell notation of that", lambda row: row.wanted.munsell),
    text("wanted_hex", "the nearest sRGB colour of that", lambda row: row.wanted.hex),
    *fields.mixture(lambda row: row.pile.mixture),
    *fields.colour(lambda row: row.pile.mixture),
    fields.MISS.of(lambda row: row.pile),
    fields.IN_REACH.of(lambda row: row.pile),
    fields.LIKELY_ERROR.of(lambda row: row.pile.mixture),
    amount("from", "", "number of the mass out of whose pile it grows; null for a fresh pile",
           lambda row: row.parent),
    amount("from_parts", "parts", "of that pile", lambda row: row.pile.from_parts),
    by_name("add", "parts", "of each tube that is added, all of a fresh pile, by paint",
            lambda row: row.pile.add, digits=9),
    text("in_words", "how it is mixed", lambda row: row.plan.how(row.mass.number)),
    text("stage", f"of painting: {', '.join(STAGES)}", lambda row: row.stage),
    amount("own_ml", "ml", "what the mass takes, with what is wasted",
           lambda row: row.plan.amounts.own[row.mass.number - 1]),
    amount("ml", "ml", "of its pile in all, with what other piles take of it",
           lambda row: row.plan.amounts.ml[row.mass.number - 1]),
)  # fmt: skip
MASSES = rows("masses", _ROW, "the big shapes, the darkest first",
              lambda plan: [_Row(plan, mass) for mass in plan.masses.masses])  # fmt: skip

_SHIFT = (
    _NUMBER.of(lambda shift: shift.mass),
    _NAME.of(lambda shift: shift.mass),
    amount("moved", "CIEDE2000", "how far it went", lambda shift: shift.size),
    amount("hue_change", "Munsell", "in hundredths of the circle; null near neutral",
           lambda shift: shift.munsell[0]),
    amount("value_change", "Munsell", "of value", lambda shift: shift.munsell[1]),
    amount("chroma_change", "Munsell", "of chroma", lambda shift: shift.munsell[2]),
    texts("directions", "what it is now, the greatest first", lambda shift: shift.words),
    *fields.colour(lambda shift: fields.Colour(shift.after, shift.view)),
    group(
        "adjustment",
        (
            fields.WITHIN,
            amount("times", "", "parts of its pile"),
            by_name("added", "parts", "parts added to the pile by paint",
                    lambda made: made.parts),
            fields.MISS,
            texts("words", "what came of it, in sentences", in_words),
        ),
        "of its pile, to what it is now",
    ),
)  # fmt: skip

OUTPUT = Output(
    "plan",
    (
        fields.PALETTE.but(get=lambda found: found.plan.palette.name),
        *(field.of(lambda found: found.plan) for field in (
            text("file", "name of the file", lambda plan: plan.picture.photo.path),
            fields.NOTES.but(get=lambda plan: plan.picture.notes),
            fields.TOLERANCE,
            rows(
                "values",
                (amount("value", "Munsell", "Munsell value, 0 black to 10 white",
                        lambda row: row[0]),
                 fields.SHARE.but(meaning="of the picture", get=lambda row: row[1])),
                "the pattern of light and dark, the darkest first",
                lambda plan: list(zip(plan.values.levels, plan.values.shares, strict=True)),
            ),
            MASSES,
            rows("accents", _ROW, "what is too small for a mass but stands out: painted last",
                 lambda plan: [_Row(plan, mass) for mass in plan.masses.accents]),
            rows(
                "weak",
                (numbers("pair", "", "numbers of the two", lambda pair: pair),),
                "pairs of masses that touch with less than half a value between them",
                lambda plan: plan.masses.weak,
            ),
            FAMILY.but(get=lambda plan: plan.family),
            texts("tubes", "ids of the paints that are used", lambda plan: plan.piles.tubes),
            texts("shadow_tubes", "ids of those that run through every mass in shadow",
                  lambda plan: plan.through(False)),
            texts("light_tubes", "ids of those that run through every mass in the light",
                  lambda plan: plan.through(True)),
            numbers("order", "", "numbers of the masses in the order of painting",
                    lambda plan: [n for n in plan.order.numbers if n <= len(plan.masses.masses)]),
            numbers("keep", "", "numbers of the piles to keep for restating darks",
                    lambda plan: plan.order.keep),
            group(
                "search",
                (amount("candidates", "", "mixes that were chosen from"),
                 amount("cost", "", "of the choice, in tubes put down"),
                 amount("cost_bound", "", "below which no choice among them is",
                        lambda piles: piles.bound),
                 truth("proven", "whether fewer than the lower bound are proven not to do")),
                "how the piles were chosen",
                lambda plan: plan.piles,
            ),
            *(field.of(lambda plan: plan.amounts) for field in (
                numbers("panel", "cm", "width and height"),
                amount("film", "mm", "thickness of the paint", lambda made: made.thickness),
                by_name("squeeze", "ml", "of each tube, by paint"),
                by_name("strings", "cm", "length of the string of each tube, by paint"),
                by_name("of_a_tube", "0..1", "share of a tube's content, by paint"),
            )),
        )),
        GROUND.of(lambda found: found.plan),
        rows("shifts", _SHIFT, "against the other picture; null unless it was asked"),
    ),
    csv=rows("masses", _ROW, "the masses, then the accents",
             lambda found: [_Row(found.plan, mass) for mass in found.plan.every]),
)  # fmt: skip


# --- for a person -------------------------------------------------------------------------------

_SHOWN = (
    figures("", lambda row: row.mass.number, "g"),
    column("mass", lambda row: row.mass.name),
    column("", lambda row: "light" if row.mass.light else "shadow", spare=True),
    figures("at", lambda row: row.mass.place, lambda at: f"{at[0]:.0f},{at[1]:.0f}", spare=True),
    figures("area", lambda row: row.mass.share, ".1%"),
    column("wanted", lambda row: row.wanted.munsell),
    column("mixed", lambda row: row.pile.mixture.munsell),
    figures("miss", lambda row: row.pile.miss, ".1f"),
)
_PILES = (
    figures("pile", lambda row: row.mass.number, "g"),
    column("", lambda row: row.mass.name),
    figures("ml", lambda row: row.plan.amounts.ml[row.mass.number - 1], ".1f"),
    column("how", lambda row: row.plan.how(row.mass.number)),
)
_SQUEEZE = (
    column("tube", lambda row: row[0]),
    figures("ml", lambda row: row[1], ".1f"),
    figures("string", lambda row: row[2], lambda cm: f"{cm:.0f} cm" if cm >= 1 else "under 1 cm"),
    figures("of a tube", lambda row: row[3], percent),
)
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six")


def tell(page: Page, found: Found) -> None:
    """Lay out a plan."""
    made = found.plan
    photo, amounts = made.picture.photo, made.amounts
    page.entry("Picture", f"{photo.path}, {photo.width} x {photo.height} pixels")
    for note in (*photo.notes, *made.picture.notes):
        page.entry("", note)
    page.entry("Palette", f"{made.palette.name}, {counted(len(made.palette), 'tube')}")
    for note in made.palette.table.notes:
        page.entry("", note)
    page.light(made.view)
    _tell_values(page, made)
    _tell_tubes(page, made)
    _tell_piles(page, made)
    _tell_order(page, made)
    page.head(f"Squeeze out, for {amounts.panel[0]:g} x {amounts.panel[1]:g} cm under "
              f"{amounts.thickness:g} mm of paint")  # fmt: skip
    page.table(_SQUEEZE, [(id, ml, amounts.strings[id], amounts.of_a_tube[id])
                          for id, ml in amounts.squeeze.items()])  # fmt: skip
    page.say(f"With {100 * WASTE:.0f} % for what stays on palette, knife and brush; the string is "
             f"{amounts.bore:g} mm wide, the tube holds {amounts.content:g} ml. Parts are heaps of "
             "equal size.")  # fmt: skip
    tell_ground(page, made)
    if found.shifts is not None:
        _tell_shifts(page, found.shifts)
    used = dict.fromkeys(made.piles.tubes, 1.0)
    for shift in found.shifts or ():
        used |= shift.adjustment.mixture.parts
    show_care(page, made.palette.mix(used, made.view))


def _tell_values(page: Page, made: Plan) -> None:
    page.head(f"{counted(len(made.values.levels), 'value')}, dark to light")
    page.say(", ".join(f"N {value:.1f} on {percent(share)}" for value, share in
                       zip(made.values.levels, made.values.shares, strict=True)) + " of it.")
    page.head("Masses")
    every = [_Row(made, mass) for mass in made.every]
    page.table(_SHOWN, every, hexes=[lab_to_hex(row.pile.lab, made.view) for row in every])
    apart = [mass.number for mass in made.every if mass.elsewhere]
    if apart:
        page.say(f"{_listed(apart)} {'lies' if len(apart) == 1 else 'lie'} in shapes apart from "
                 "each other, of one colour: mixed once.")  # fmt: skip
    if made.masses.weak:
        pairs = "; ".join(f"{one} and {other}" for one, other in made.masses.weak)
        page.say(f"By value alone these do not read apart, as they touch with less than half a "
                 f"value between them: {pairs}.")  # fmt: skip
    if made.masses.accents:
        first = made.masses.accents[0].number
        page.say(f"From {first} on they are accents: too small for a mass, but they stand out.")
    for mass in made.out_of_reach:
        page.say(f"{mass.number} is out of reach of these tubes: the nearest that keeps its value "
                 f"misses by {made.pile(mass.number).miss:.1f}.")  # fmt: skip


def _tell_tubes(page: Page, made: Plan) -> None:
    held = made.family
    page.head("Tubes")
    proof = "fewer are proven not to do" if held.proven and not held.one_more else (
        "with fewer, a knife could not measure the parts" if held.proven
        else "whether fewer would do is not known"
    )
    page.say(f"{', '.join(held.tubes)}: {counted(len(held.tubes), 'tube')} hold every mass; "
             f"{proof}.")  # fmt: skip
    if made.through(False) == made.through(True) == held.tubes:
        page.say("All of them run through every mass.")
        return
    for light, what in ((False, "shadow"), (True, "light")):
        through = made.through(light)
        if through and sum(mass.light == light for mass in made.masses.masses) > 1:
            number = _NUMBERS[len(through)] if len(through) < len(_NUMBERS) else f"{len(through)}"
            verb = "tube runs" if len(through) == 1 else "tubes run"
            page.say(f"{number.capitalize()} {verb} through every {what}: {', '.join(through)}.")


def _tell_piles(page: Page, made: Plan) -> None:
    piles = made.piles
    page.head("Piles, in the order in which they are mixed")
    every = [_Row(made, made.every[i]) for i in piles.mixing_order]
    page.table(_PILES, every, hexes=[lab_to_hex(row.pile.lab, made.view) for row in every])
    fresh = [i + 1 for i in piles.fresh]
    which = f"pile {fresh[0]} is" if len(fresh) == 1 else f"piles {_listed(fresh)} are"
    said = f"Of {piles.candidates:,} mixes that would do, no choice is better."
    if not piles.proven:
        said = f"The best that was found in time among {piles.candidates:,} mixes that would do."
        if math.isfinite(piles.bound):
            said += f" No choice saves more than {piles.cost - piles.bound:.0f} tubes put down."
    page.say(f"{which.capitalize()} fresh, the others grow out of them. {said}")
    errors = [pile.mixture.likely_error for pile in piles.piles]
    if all(map(math.isfinite, errors)):
        page.say(f"The paint itself likely comes within {about(max(errors))} of these: mix the "
                 "fresh piles small first, and look.")  # fmt: skip
    if not piles.order_holds:
        page.say("Not all mixes are in the order of value of what is wanted.")


def _tell_order(page: Page, made: Plan) -> None:
    page.head("Order of painting")
    for stage in STAGES:
        turns = zip(made.order.numbers, made.order.stages, strict=True)
        mine = [f"{number} {made.every[number - 1].name}" for number, one in turns if one == stage]
        if mine:
            page.say(f"{stage:<9}{', '.join(mine)}", 11)
    if made.order.keep:
        page.say(f"Keep {'piles' if len(made.order.keep) > 1 else 'pile'} "
                 f"{_listed(made.order.keep)} for restating the darks.")  # fmt: skip
    for caution in CAUTIONS:
        page.say(caution)


def _tell_shifts(page: Page, shifts: list[Shift]) -> None:
    page.head("Against the other")
    for shift in shifts:
        made, name = shift.adjustment, f"{shift.mass.number} {shift.mass.name}"
        hue, value, chroma = shift.munsell
        turned = "" if hue != hue else f", hue {hue + 0.0:+.1f}"
        page.say(f"{name}: value {value + 0.0:+.1f}, chroma {chroma + 0.0:+.1f}{turned} "
                 f"({shift.size:.1f} CIEDE2000)", hex=lab_to_hex(shift.after, shift.view))
        if made.parts:
            added = " + ".join(f"{n:g} {id}" for id, n in made.parts.items())
            page.say(f"  to {counted(made.times, 'part')} of pile {shift.mass.number} add {added}; "
                     f"miss {made.miss:.1f}", 6)  # fmt: skip
        for sentence in in_words(made):
            page.say(f"  {sentence}", 6)


def _listed(numbers: "tuple[int, ...] | list[int]") -> str:
    """Return "1", "1 and 2", "1, 2 and 3"."""
    words = [str(number) for number in numbers]
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))

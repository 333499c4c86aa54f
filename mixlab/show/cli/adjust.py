"""``mixlab adjust``: knock a mix back, clean it up, lighten, darken, warm or cool it."""

import math
from typing import Annotated, Any

import typer

from mixlab.errors import LadderError
from mixlab.mixing.adjust import LARGEST, MOST_KINDS, SMALLEST_PART, Adjustment
from mixlab.mixing.adjust import adjust as adjusted
from mixlab.mixing.goals import Tolerances
from mixlab.mixing.pile_search import HALF_AGAIN
from mixlab.paint.tables import Palette
from mixlab.show import fields
from mixlab.show.cli import asked, options
from mixlab.show.cli.console import counted
from mixlab.show.cli.mix import show_care
from mixlab.show.cli.options import option
from mixlab.show.plots.distance import path
from mixlab.show.plots.forms import Form
from mixlab.show.report import Output, Page, amount, by_name, column, figures, group, rows, texts
from mixlab.show.words import in_words

_WITHIN = Tolerances()

_RESULT = (
    fields.WITHIN,
    amount("times", "", "how many times the mix as given makes the pile"),
    by_name("pile", "parts", "parts of the pile by paint", lambda made: made.pile.parts),
    by_name("added", "parts", "parts added to the pile by paint", lambda made: made.parts),
    fields.SHARE.but(meaning="added, of the pile", digits=4),
    group("result", (*fields.mixture(), *fields.colour()), "the pile with what was added",
          lambda made: made.mixture),
    group(
        "off",
        (
            amount("munsell_value", "Munsell", "Munsell value", lambda made: made.off[0]),
            amount("munsell_chroma", "Munsell", "Munsell chroma", lambda made: made.off[1]),
            amount("hue_difference", "CIEDE2000", "hue part of CIEDE2000",
                   lambda made: made.off[2]),
            amount("turn", "degrees", "CIELCh hue; null near neutral", lambda made: made.turn),
        ),
        "what the result has more of than the goal",
        lambda made: made,
    ),
    fields.MISS,
)  # fmt: skip

_WIDTHS = (
    amount("munsell_value", "Munsell", "Munsell value", lambda within: within.value),
    amount("munsell_chroma", "Munsell", "Munsell chroma", lambda within: within.chroma),
    amount("hue_difference", "CIEDE2000", "hue part of CIEDE2000", lambda within: within.hue),
    fields.MISS.of(lambda within: within),
)

STEPS = rows(
    "steps",
    (
        fields.AMOUNT,
        fields.PAINT,
        texts("effect", "what this addition does by itself, the greatest first"),
        *fields.mixture(lambda step: step["mixture"]),
        *fields.colour(lambda step: step["mixture"]),
    ),
    "the pile, then each addition, with the mix after it",
    lambda made: _steps(made[0]),
)
_SHOWN = (
    fields.AMOUNT.shown("parts", "g"),
    fields.PAINT.shown(),
    column("Munsell", lambda step: step["mixture"].munsell),
    column("hex", lambda step: step["mixture"].hex, spare=True),
    figures("L*", lambda step: step["mixture"].lch[0], ".1f"),
    figures("C*", lambda step: step["mixture"].lch[1], ".1f"),
    figures("h", lambda step: step["mixture"].lch[2], ".0f"),
)

OUTPUT = Output(
    "adjust",
    (
        fields.PALETTE.but(get=lambda made: made[1].name),
        *(field.of(lambda made: made[0]) for field in (
            group("start", (*fields.mixture(), *fields.colour()), "the mix that was given"),
            group(
                "goal",
                (texts("words", "what is wanted of it", lambda made: made.goal.words),
                 *fields.colour(lambda made: _goal(made))),
                "the colour that is wanted",
                lambda made: made,
            ),
            group("tolerances", _WIDTHS, "how near the result must come",
                  lambda made: made.goal.within),
            *_RESULT,
            texts("words", "what came of it, in sentences", in_words),
            amount("beyond", "", "an addition that would do it, in times of the pile"),
            by_name("fresh_recipe", "parts", "mix to make afresh instead, by paint",
                    lambda made: made.fresh.parts if made.fresh else None),
            rows("others", _RESULT, "what serves best of up to half the pile: nothing added, then "
                 "one, two, three paints"),
        )),
        STEPS,
    ),
    csv=STEPS,
)  # fmt: skip


def _goal(made: Adjustment) -> fields.Colour:
    return fields.Colour(made.goal.lab, made.start.view, made.goal.munsell)


_Within = Annotated[float, typer.Option(help="How near it must come [Munsell].")]


@options.usual("palette", "plot", "csv", "picture")
def adjust(
    usual: options.Usual,
    mix: options.Mix,
    chroma: Annotated[
        float | None, typer.Option(help="Knock back, or clean up, to this Munsell chroma.")
    ] = None,
    chroma_by: Annotated[
        float | None, typer.Option(help="The same by so much: -3 knocks it back by 3.")
    ] = None,
    value: Annotated[float | None, option("", "Lighten or darken to this Munsell value.")] = None,
    value_by: Annotated[float | None, typer.Option(help="The same by so much.")] = None,
    hue: Annotated[str | None, option("HUE", "Turn it to this Munsell hue, as 5GY.")] = None,
    warmer: Annotated[
        float | None, typer.Option(help="Warm it, toward orange, by so much [CIEDE2000].")
    ] = None,
    cooler: Annotated[
        float | None, typer.Option(help="Cool it, away from orange, by so much [CIEDE2000].")
    ] = None,
    to: Annotated[
        str | None, option("COLOUR", "To a colour: L,a,b, #rrggbb, Munsell, or a mix's.")
    ] = None,
    photo: Annotated[str | None, option("FILE", "To a colour in a picture, with --at.")] = None,
    at: asked.At = None,
    radius: options.Radius = 0.0,
    to_mix: Annotated[
        str | None, typer.Option(metavar="MIX", help="To another mix, whose paints may be added; "
                                 "no others unless a --palette is given.")
    ] = None,
    kinds: Annotated[int, option("", "Greatest number of paints added, 1 to 3.")] = MOST_KINDS,
    smallest_part: Annotated[
        float, typer.Option(help="The smallest part that you measure: 0.25, or 1 for whole parts.")
    ] = SMALLEST_PART,
    largest: Annotated[float, option("", "Greatest addition, in times of the pile.")] = LARGEST,
    value_within: _Within = _WITHIN.value,
    chroma_within: _Within = _WITHIN.chroma,
    hue_within: Annotated[
        float, typer.Option(help="How near hue must come [hue part of CIEDE2000].")
    ] = _WITHIN.hue,
    tolerance: options.Tolerance = _WITHIN.miss,
) -> None:
    """Change a mix on the palette by adding to it: chroma, value, hue, warmth, or to a colour.

    Ask for chroma, value and hue, singly or together; or for --warmer or --cooler; or for a colour
    with --to, --photo and --at, or --to-mix. What is not asked to change is kept. The tubes at hand
    may be added.
    """
    given = {"--to": to, "--photo": photo, "--to-mix": to_mix}
    if len(names := [name for name, value in given.items() if value is not None]) > 1:
        raise LadderError(f"{' and '.join(names)} are given at once; give one")
    target = asked.in_photo(usual, photo, at, radius)
    start, tubes, goal = usual.mix(mix), usual.tubes, None
    if to_mix is not None:
        goal = usual.mix(to_mix)
        if usual.palette is None:
            tubes = usual.table.palette(list(goal.parts), "the paints of the other mix")
    elif to is not None:
        target = asked.named(usual.table, to, usual.view)[0]
    made = adjusted(
        start, tubes, chroma=chroma, chroma_by=chroma_by, value=value, value_by=value_by, hue=hue,
        warmer=warmer, cooler=cooler, to=target.lab if target else goal,
        smallest_part=smallest_part, largest=largest,
        within=Tolerances(value_within, chroma_within, hue_within, tolerance), kinds=kinds,
    )  # fmt: skip
    usual.tell(OUTPUT, (made, tubes), _tell, lambda form: _drawn(made, form))


def _drawn(made: Adjustment, form: Form) -> Any:
    names = ["the pile", *(f"+ {one.parts:g} {one.paint.id}" for one in made.additions)]
    title = f"{' and '.join(made.goal.words).capitalize()} {made.start}"
    labs = [step["mixture"].lab for step in _steps(made)]
    return path(labs, made.goal.lab, made.start.view, names, title, form=form)


def _steps(made: Adjustment) -> list[dict[str, Any]]:
    """Return the pile, and the pile after each addition."""
    pile = {"paint": "the pile", "amount": sum(made.pile.amounts), "effect": (),
            "mixture": made.pile}  # fmt: skip
    return [pile] + [
        {"paint": one.paint.id, "amount": one.parts, "effect": one.effect, "mixture": one.mixture}
        for one in made.additions
    ]


def _tell(page: Page, found: tuple[Adjustment, Palette]) -> None:
    made, tubes = found
    goal = _goal(made)
    page.entry("Mix", str(made.start))
    page.entry("", f"{made.start.munsell}   {made.start.hex}", made.start.hex)
    page.entry("Wanted", f"{' and '.join(made.goal.words)} to {goal.munsell}", goal.hex)
    if made.other is not None:
        page.entry("", str(made.other))
    page.entry("Palette", f"{tubes.name}, {counted(len(tubes), 'tube')}")
    page.light(made.start.view)
    within, small = made.within_tolerance, made.share <= HALF_AGAIN
    if said := in_words(made):
        page.head("This pile cannot go there" if not within else "Much to add" if not small
                  else "Nearly there" if made.parts else "There")  # fmt: skip
        for sentence in said:
            page.say(sentence)
    if made.parts:
        page.head("Or add" if within and made.fresh else "Add" if within else "As far as it goes")
        page.say(_pile(made))
        steps = _steps(made)
        page.table(_SHOWN, steps, hexes=[step["mixture"].hex for step in steps])
        for addition in made.additions:
            page.say(f"{addition.paint.id} by itself {' and '.join(addition.effect)}.", 4)
        value, chroma, hue = made.off
        turn = "" if math.isnan(made.turn) else f", {made.turn + 0.0:+.0f} degrees"
        page.say(f"Off by {value + 0.0:+.2f} value, {chroma + 0.0:+.2f} chroma (Munsell), "
                 f"{hue + 0.0:+.1f} in hue (CIEDE2000{turn}); miss {made.miss:.1f}. Added: "
                 f"{100 * made.share:.0f} % of the pile.")  # fmt: skip
        page.say(f"In all: {made.mixture}", 4)
    others = [one for one in made.others if one.parts != made.parts and
              (not (within and small) or len(one.parts) < len(made.parts))]  # fmt: skip
    if len(others) > 1:
        page.head("Fewer tubes" if within and small else "Other additions of up to half the pile")
        page.table(_OTHERS, others)
        page.say("Off in value and chroma (Munsell) and in hue (CIEDE2000).")
    show_care(page, *(mix for mix in (made.mixture, made.fresh) if mix is not None))


def _pile(made: Adjustment) -> str:
    if made.times == 1:
        return "To the pile as it stands:"
    parts = counted(sum(made.pile.amounts), "part")
    return f"To {parts} of the pile, {made.times} times the mix as given:"


def _added(made: Adjustment) -> str:
    if not made.parts:
        return "the mix as it is"
    added = " + ".join(f"{n:g} {id}" for id, n in made.parts.items())
    return added if made.times == 1 else f"{added} to {made.times} times the mix"


_OTHERS = (
    figures("value", lambda one: one.off[0], "+.2f"),
    figures("chroma", lambda one: one.off[1], "+.2f"),
    figures("hue", lambda one: one.off[2], "+.1f"),
    column("add", _added),
)

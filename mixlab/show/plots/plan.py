"""A plan on one A4 page, to be pinned up beside the easel, and its pattern of values."""

from typing import TYPE_CHECKING

import numpy as np

from mixlab.colour.spaces import lab_to_value
from mixlab.errors import PlotError
from mixlab.picture.masses import Mass
from mixlab.picture.order import STAGES
from mixlab.picture.plan import Plan
from mixlab.picture.values import values_of_mixes
from mixlab.show.plots import style
from mixlab.show.plots.forms import PRINT, Form
from mixlab.show.plots.listing import Row
from mixlab.show.plots.shapes import draw_regions
from mixlab.show.plots.sheet import (
    A4,
    EDGE,
    blank,
    disc,
    draw_cautions,
    draw_pair,
    draw_photo,
    headline,
    passages_on_screen,
)
from mixlab.show.plots.text import folded
from mixlab.show.plots.values import draw_values, scale, value_plan

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_ON_A_SHEET = 18
_TALLEST = 3.6  # inches that the photo is high, at most
_SCALE = 0.36  # inches of the scale of values
_GAP = 0.17  # inches between blocks
_STEP = 0.3  # inches that a pile stands in from the one that it grows out of
_DISC = 0.13  # inches, radius of a number
_ROW = 0.54  # inches, greatest height of a pile's row
_TUBE = 0.24  # inches, height of a tube's row
_PAIRS = 4  # neighbours that do not read apart, at most
_ORDER = 0.62  # inches of the order of painting


def pattern(plan: Plan, title: str = "", *, form: Form = PRINT) -> "Figure":
    """Return the pattern of values of the picture, and the one that the mixes make."""
    mixes = values_of_mixes(plan.values, plan.masses.map, plan.mixed_values)
    return value_plan(plan.values, plan.view, title, mixes, form=form)


@style.drawn
def plan_sheet(plan: Plan, *, form: Form = PRINT) -> "Figure":
    """Return a plan on one A4 page, all of it told by numbers and values, so in grey as well.

    The picture with its masses numbered, the values, the masses in the colours of their mixes; the
    piles as they grow out of one another, wanted and mixed side by side; the order of painting; how
    much of each tube to squeeze out. On the screen the masses alone, as a list of their piles.

    Raises
    ------
    PlotError : for more masses than can be read on one page
    """
    if form.on_screen:
        return _on_screen(plan)
    count = len(plan.every)
    if count > MOST_ON_A_SHEET:
        raise PlotError(
            f"a sheet holds {MOST_ON_A_SHEET} masses with accents, and these are {count}: ask for "
            "fewer"
        )
    made, (wide, high) = blank(), A4
    axes = made.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, wide), ylim=(0, high))
    axes.set_axis_off()
    top = high - EDGE
    width, height = plan.amounts.panel
    title = f"{plan.picture.photo.path.stem}, {width:g} x {height:g} cm, from {plan.palette.name}"
    top = _pictures(made, plan, top - headline(made, title)) - _GAP
    foot = EDGE + 0.2
    tubes = _head(axes, foot + _TUBE * -(-len(plan.piles.tubes) // 2) + 0.26)
    _tubes(axes, plan, tubes - 0.26)
    order = _head(axes, tubes + _GAP + _ORDER + 0.26)
    _order(axes, plan, order - 0.26)
    piles = _head(axes, top)
    _piles(axes, plan, piles - 0.3, order + _GAP)
    for at, words in (
        (piles, "Piles, in the order in which they are mixed"),
        (order, "Paint in this order"),
        (tubes, f"Squeeze out, under {plan.amounts.thickness:g} mm of paint"),
    ):
        axes.text(EDGE, at, words, fontsize=11.5, weight="bold", va="top", color=style.INK)
    if plan.masses.weak:
        pairs = ", ".join(f"{one} and {other}" for one, other in plan.masses.weak[:_PAIRS])
        axes.text(A4[0] - EDGE, piles, f"nearly one value: {pairs}", fontsize=9.5, ha="right",
                  va="top", color=style.INK)  # fmt: skip
    draw_cautions(axes, plan.palette.mix(dict.fromkeys(plan.piles.tubes, 1.0), plan.view).paints)
    return made


def _on_screen(plan: Plan) -> "Figure":
    """Return the masses with their piles in the order in which they are mixed, 16:9."""
    numbers = [str(one.number) for one in plan.every]
    ordered = [mass for mass, _ in _grown(plan)]
    rows = []
    for mass in ordered:
        pile = plan.pile(mass.number)
        labs = np.array([mass.lab, pile.lab])
        rows.append(Row(str(mass.number), labs, f"{mass.name}: {_miss(plan, mass)}",
                        pile.words(numbers),
                        [f"{value:.1f}" for value in lab_to_value(labs, plan.view)]))  # fmt: skip
    marks = [(str(mass.number), at) for mass in plan.every for at in (mass.place, *mass.elsewhere)]
    return passages_on_screen(f"{plan.picture.photo.path.stem}: wanted, mixed, and their values",
                              rows, plan.picture.photo, marks, plan.view)  # fmt: skip


def _miss(plan: Plan, mass: Mass) -> str:
    pile = plan.pile(mass.number)
    return f"miss {pile.miss:.1f}" + ("" if pile.in_reach else ", out of reach")


def _head(axes: "Axes", top: float) -> float:
    """Draw the line above a block whose upper end is at `top` [inches]; return that."""
    axes.plot([EDGE, A4[0] - EDGE], [top + 0.07] * 2, color=style.FAINT, linewidth=1.0, marker="")
    return top


def _pictures(made: "Figure", plan: Plan, top: float) -> float:
    """Draw the photo, the values, and the masses in their mixes; return where they end [inches].

    The two small ones stand over each other beside a wide photo, in a row with a tall one.
    """
    photo, view = plan.picture.photo, plan.view
    (wide, high), room, shape = A4, A4[0] - 2 * EDGE, photo.height / photo.width
    if shape <= 1:
        tall = min(_TALLEST, (shape * (room - _GAP) + (_SCALE + _GAP) / 2) / 1.5)
        small = (tall - _SCALE - _GAP) / 2
    else:
        tall = min(_TALLEST, (shape * (room - 2 * _GAP) + 2 * _SCALE) / 3)
        small = tall - _SCALE

    def place(left: float, upper: float, height: float, width: float) -> "Axes":
        return made.add_axes((left / wide, (upper - height) / high, width / wide, height / high))

    panel = place(EDGE, top, tall, tall / shape)
    draw_photo(panel, photo)
    panel.set_axis_off()
    beside, across = EDGE + tall / shape + _GAP, small / shape
    draw_values(place(beside, top, small, across), plan.values, view)
    scale(place(beside, top - small - 0.04, _SCALE - 0.04, across), plan.values, view,
          min(8.0, 13 * across / len(plan.values.levels)))  # fmt: skip
    corner = (beside, top - tall + small) if shape <= 1 else (beside + across + _GAP, top)
    masses = place(*corner, small, across)
    mixed = style.colours(np.array([pile.lab for pile in plan.piles.piles]), view)[0]
    draw_regions(masses, plan.masses.map, mixed, plan.seen.step)
    for spine in masses.spines.values():
        spine.set(color=style.QUIET)
    marks = [(str(mass.number), at) for mass in plan.every for at in (mass.place, *mass.elsewhere)]
    for axes, size in ((panel, 11.0), (masses, 6.5)):
        for number, at in marks:
            disc(axes, number, at, size)
    return top - tall


def _disc(axes: "Axes", x: float, y: float, mass: Mass) -> None:
    from matplotlib.patches import Circle

    axes.add_patch(Circle((x, y), _DISC, facecolor="white", edgecolor=style.INK, linewidth=1.0,
                          zorder=4))  # fmt: skip
    axes.text(x, y - 0.005, str(mass.number), fontsize=11, weight="bold", ha="center",
              va="center_baseline", color=style.INK, zorder=5)  # fmt: skip


def _piles(axes: "Axes", plan: Plan, top: float, foot: float) -> None:
    """Draw the piles as they grow out of one another, a row each, within these heights [inches]."""
    rows = _grown(plan)
    height = min(_ROW, (top - foot) / len(rows))
    deepest = max(depth for _, depth in rows)
    step = min(_STEP, 1.2 / max(deepest, 1))
    patches = EDGE + 2 * _DISC + deepest * step + 0.12
    middles: dict[int, tuple[float, float]] = {}
    for i, (mass, depth) in enumerate(rows):
        upper = top - i * height
        x, y = EDGE + _DISC + depth * step, upper - height / 2
        middles[mass.number] = x, y
        pile = plan.pile(mass.number)
        if pile.parent is not None:
            above = middles[pile.parent + 1]
            axes.plot([above[0], above[0], x], [above[1] - _DISC, y, y], color=style.INK,
                      linewidth=1.4, marker="", zorder=2)  # fmt: skip
        _disc(axes, x, y, mass)
        labs = np.array([mass.lab, pile.lab])
        values = lab_to_value(labs, plan.view).tolist()
        left = draw_pair(axes, patches, upper, height, labs, values, plan.view)
        _words(axes, plan, mass, left + 0.12, upper, height)


def _words(axes: "Axes", plan: Plan, mass: Mass, left: float, top: float, height: float) -> None:
    """Write how a pile is mixed, and what it is for, beside its patches."""
    pile = plan.pile(mass.number)
    numbers = [str(one.number) for one in plan.every]
    name = f"{mass.name}{', accent' if mass.accent else ''}: {_miss(plan, mass)}, " + (
        f"{plan.amounts.ml[mass.number - 1]:.1f} ml"
    )
    how = f"{mass.number} = {pile.words(numbers)}"
    room = 72 * (A4[0] - EDGE - left)
    for size in (10.5, 9.5, 8.5, 7.5):
        lines = folded(how, room, size, bold=True)
        if (len(lines) * size + 0.85 * size) * 1.22 / 72 <= height or size == 7.5:
            break
    gap = 0.5 * 1.22 * 0.85 * size / 72
    axes.text(left, top - height / 2 + gap, "\n".join(lines), fontsize=size, weight="bold",
              va="center", color=style.INK, linespacing=1.1)  # fmt: skip
    axes.text(left, top - height / 2 - len(lines) * size * 0.61 / 72, name, fontsize=0.85 * size,
              va="center", color=style.INK)  # fmt: skip


def _grown(plan: Plan) -> list[tuple[Mass, int]]:
    """Return each mass and how many piles stand above its own, parents before their children."""
    order = plan.piles.mixing_order
    found: list[tuple[Mass, int]] = []

    def add(index: int, depth: int) -> None:
        found.append((plan.every[index], depth))
        for child in order:
            if plan.piles.piles[child].parent == index:
                add(child, depth + 1)

    for index in order:
        if plan.piles.piles[index].parent is None:
            add(index, 0)
    return found


def _order(axes: "Axes", plan: Plan, top: float) -> None:
    """Draw the order of painting from left to right, stage by stage."""
    from matplotlib.patches import Rectangle

    order = plan.order
    stages = [stage for stage in STAGES if stage in order.stages]
    gap = 0.14
    step = min(0.62, (A4[0] - 2 * EDGE - gap * (len(stages) - 1)) / len(order.numbers))
    left = EDGE
    for stage in stages:
        start = left
        for number, one in zip(order.numbers, order.stages, strict=True):
            if one != stage:
                continue
            hexes, _ = style.colours([plan.pile(number).lab], plan.view)
            axes.add_patch(Rectangle((left, top - 0.36), step, 0.36, facecolor=hexes[0],
                                     edgecolor=style.INK, linewidth=0.6))  # fmt: skip
            _disc(axes, left + step / 2, top - 0.18, plan.every[number - 1])
            left += step
        axes.text(start, top - 0.4, stage, fontsize=10, va="top", color=style.INK)
        left += gap
    if order.keep:
        kept = ", ".join(str(number) for number in order.keep)
        axes.text(A4[0] - EDGE, top + 0.26, f"keep {kept} to restate the darks", fontsize=10,
                  ha="right", va="top", color=style.INK)  # fmt: skip


def _tubes(axes: "Axes", plan: Plan, top: float) -> None:
    """Write how much of each tube to squeeze out, in two columns, the longest strings first."""
    from matplotlib.patches import Rectangle

    amounts = plan.amounts
    column = (A4[0] - 2 * EDGE) / 2
    tubes = sorted(amounts.squeeze, key=lambda id: -amounts.squeeze[id])
    each = -(-len(tubes) // 2)
    for i, id in enumerate(tubes):
        left, middle = EDGE + column * (i // each), top - _TUBE * (i % each + 0.5)
        hexes, _ = style.colours([plan.palette.mix({id: 1.0}, plan.view).lab], plan.view)
        axes.add_patch(Rectangle((left, middle - 0.08), 0.3, 0.16, facecolor=hexes[0],
                                 edgecolor=style.INK, linewidth=0.6))  # fmt: skip
        ml, cm = amounts.squeeze[id], amounts.strings[id]
        long = f"{cm:.0f} cm" if cm >= 1 else "under 1 cm"
        share = amounts.of_a_tube[id]
        axes.text(left + 0.38, middle, f"{id}  {ml:.1f} ml, {long}" + (
            f", {share:.1f} tubes" if share > 1 else ""
        ), fontsize=10, va="center_baseline", color=style.INK)  # fmt: skip

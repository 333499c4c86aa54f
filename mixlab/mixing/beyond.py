"""Beyond reach: the least harmful compromise, and the paint that would help.

Value comes first: an error of it counts double. Of the hue never all is given up, so that a dark
green stays green beside a dark red: the compromise is looked for among mixes of the target's hue
family that keep a share of its chroma, wherever the palette has any. All whole-part mixes are
weighed; where those are too coarse, finer parts and two steps of the same tubes.
"""

from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import Viewing, lab_to_lch
from mixlab.colour.words import directions
from mixlab.mixing.answers import (
    FINEST,
    VALUE_FIRST,
    WORTH,
    Helper,
    OutOfReach,
    Recipe,
)
from mixlab.mixing.finer_parts import OneTarget
from mixlab.mixing.two_steps import ADDITIONS, STEP, ways
from mixlab.nearest.medium import Medium, medium_of
from mixlab.nearest.sets import compositions, size, subsets_of
from mixlab.nearest.whole import lattice_of
from mixlab.paint.paints import Paint
from mixlab.paint.tables import Palette

HUE_KEPT = 25.0
"""How far the hue of a compromise may lie from the target's [degrees]; our own, no source."""

CHROMA_KEPT = 0.3
"""Share of the target's C* that a compromise keeps where it can; our own, no source."""

GREYISH = 4.0
"""C* below which a colour has no hue that a painter would miss."""

_HUE_LOST, _CHROMA_LOST = 20.0, 5.0  # CIEDE2000 that giving them up counts for
_MOST_MIXES = 600_000
_FAMILY = 45.0  # degrees between a colour and the paints that one would reach for
_HELPERS = 6  # paints of the family that are tried
_HELPED = 3  # tubes


def harm(target: Array, lab: ArrayLike) -> Array:
    """Return how much harm mixes (..., 3) do in the place of a target (3,) [CIEDE2000].

    CIEDE2000 in which lightness counts double (kl 0.5), and more where the hue or nearly all of
    the chroma is lost.
    """
    lab = np.asarray(lab, dtype=float)
    off = ciede2000(target, lab, kl=VALUE_FIRST)
    chroma = np.hypot(*target[1:])
    if chroma < GREYISH:
        return off
    grey = np.hypot(lab[..., 1], lab[..., 2]) < CHROMA_KEPT * chroma
    return np.asarray(off + _HUE_LOST * (turned(target, lab) > HUE_KEPT) + _CHROMA_LOST * grey)


def turned(target: Array, lab: Array) -> Array:
    """Return how far the hues of colours (..., 3) lie from that of a target (3,) [degrees]."""
    turn = np.arctan2(lab[..., 2], lab[..., 1]) - np.arctan2(target[2], target[1])
    return np.asarray(np.abs((np.degrees(turn) + 180) % 360 - 180))


def recipes(
    asked: OneTarget, needed: tuple[int, ...], approach: str
) -> tuple[Recipe, Recipe | None]:
    """Return the recipe for a target that no mix comes near enough to, and a finer one."""
    if approach == "value":
        return _compromise(asked, needed)
    near = asked.counts[-1].miss + WORTH
    if asked.nearest.miss <= near:
        return asked.nearest, None
    within = replace(asked, tolerance=near)
    # twenty CIEDE2000 away descents may end farther off than the nearest that is known
    return (asked.nearest, None) if within.fewest_tubes is None else within.fewest


def why(
    asked: OneTarget, palette: Palette, barred: set[str], needed: tuple[int, ...], approach: str
) -> OutOfReach:
    """Return why the target is out of reach, and what would help."""
    best = asked.counts[-1]
    more = lab_to_lch(asked.target) - lab_to_lch(best.lab)
    return OutOfReach(
        miss=best.miss,
        lightness=float(more[0]),
        chroma=float(more[1]),
        hue=float((more[2] + 180) % 360 - 180),
        directions=directions(asked.target, best.lab),
        between=_between(asked.palette, asked.target, asked.view),
        approach=approach,
        nearest=asked.nearest,
        helper=_helper(asked, palette, barred, needed, asked.tolerance),
    )


def _compromise(
    asked: OneTarget, needed: tuple[int, ...]
) -> tuple[Recipe, Recipe | None]:
    """Return the whole-part mix that does least harm, and a finer one that does clearly less."""
    tubes, total = min(asked.tubes, ADDITIONS), min(asked.total, STEP)
    while tubes > 1 and size(len(asked.palette), total, tubes) > _MOST_MIXES:
        tubes -= 1
    lattice = lattice_of(asked.palette, asked.view, total, tubes)
    least: list[tuple[float, int, int]] = []
    for count in range(1, lattice.tubes + 1):
        harms = _harms(asked.target, lattice.lab(count), lattice.holding(count, needed))
        at = int(harms.argmin())
        least.append((float(harms[at]), count, at))
    lowest = min(least)[0]
    if lowest == np.inf:  # more paints are called for than the lattice holds
        return asked.nearest, None
    least_harm, count, row = next(one for one in least if one[0] <= lowest + WORTH)
    parts = lattice.parts(count, row)
    subset = np.flatnonzero(parts)
    few = asked.recipe(subset, parts[subset])
    return few, _finer(asked, subset, least_harm) if count > 1 else None


def _harms(target: Array, lab: Array, rows: Indices) -> Array:
    """Return the harm of mixes (n, 3), infinite of those that are not in `rows` or do more."""
    harms = np.full(len(lab), np.inf)
    # CIEDE2000 is costly: only what lies near in value and hue is weighed, if anything does
    off = np.abs(lab[rows, 0] - target[0])
    near = turned(target, lab[rows]) <= HUE_KEPT
    if np.hypot(*target[1:]) < GREYISH or not near.any():
        near[:] = True
    if near.any():
        rows = rows[near & (off <= off[near].min() + 15)]
        harms[rows] = harm(target, lab[rows])
    return harms


def _finer(asked: OneTarget, subset: Indices, least: float) -> Recipe | None:
    """Return a mix of the same tubes in finer parts or two steps, where that does less harm."""
    count = len(subset)

    def harms(shares: Array | Indices) -> Array:
        amounts = np.zeros((len(shares), len(asked.palette)))
        amounts[:, subset] = shares
        return harm(asked.target, asked.search.medium.lab(amounts))

    whole = compositions(count, FINEST if count < ADDITIONS else STEP)
    of_whole = harms(whole)
    if of_whole.min() < least - WORTH:
        # the smallest total of those that do about as little
        first = int(np.flatnonzero(of_whole <= of_whole.min() + WORTH / 5)[0])
        return asked.recipe(subset, whole[first])
    if count == ADDITIONS:
        return None
    of = ways(count)
    of_steps = harms(of.shares[of.additions == of.additions[0]])  # these come first
    way = int(of_steps.argmin())
    if of_steps[way] < least - WORTH:
        return asked.in_steps(subset, of.first[way], of.then[way])
    return None


def _between(palette: Palette, target: Array, view: Viewing) -> tuple[str, str] | None:
    """Return the two chromatic paints whose hues lie on both sides of the target's."""
    wanted = lab_to_lch(target)
    masstones = lab_to_lch(medium_of(palette, view).lab(np.eye(len(palette))))
    coloured = np.flatnonzero(masstones[:, 1] > 10)
    if len(coloured) < 2 or wanted[1] < 5:
        return None
    turn = (masstones[coloured, 2] - wanted[2]) % 360
    return palette.ids[coloured[turn.argmax()]], palette.ids[coloured[turn.argmin()]]


# --- the paint that would help ------------------------------------------------------------------


def _helper(
    asked: OneTarget, palette: Palette, barred: set[str], needed: tuple[int, ...], tolerance: float
) -> Helper | None:
    """Return a mix within the tolerance that has one paint more of the table.

    A paint that a painter would reach for: of the target's hue family, the nearest in hue first.
    Mixes of at most three tubes are looked at.
    """
    for id in _family(asked.target, palette, barred):
        for subsets, whole, lab in _helped(asked.palette, palette.table[id], asked.view):
            held = np.all([(subsets == i).any(axis=1) for i in needed], axis=0)
            near = np.abs(lab[..., 0] - asked.target[0]) <= 2 * tolerance
            rows, columns = np.nonzero(near & np.broadcast_to(held, len(subsets))[:, None])
            if not len(rows):
                continue
            miss = ciede2000(asked.target, lab[rows, columns])
            best = int(miss.argmin())
            if miss[best] <= tolerance + WORTH:  # parts are coarse
                ids = (*asked.palette.ids, id)
                paints = (ids[i] for i in subsets[rows[best]])
                parts = dict(zip(paints, map(float, whole[columns[best]]), strict=True))
                return Helper(id, palette.table.mix(parts, asked.view), float(miss[best]))
    return None


def _family(target: Array, palette: Palette, barred: set[str]) -> list[str]:
    """Return the other paints of the table in the target's hue family, the nearest in hue first.

    A paint's hue is that of its masstone or of its tint, whichever is nearer. A greyish colour is
    of the family of all greyish paints; a white is of every family where no white is at hand. Tubes
    that are mixtures of other paints are not among them.
    """
    table, white = palette.table, palette.table.white
    near: list[tuple[float, str]] = []
    at_hand = set(palette.ids)
    for paint in table.paints:
        if paint.id in at_hand or paint.id in barred or paint.basis == "mixture":
            continue
        labs = [paint.lab] if white is None else [
            paint.lab, table.mix({paint.id: 1, white.id: 4}).lab
        ]  # fmt: skip
        if paint.is_white:
            if not any(one.is_white for one in palette.paints):
                near.append((0.0, paint.id))
            continue
        if np.hypot(*target[1:]) < GREYISH:
            if np.hypot(*paint.lab[1:]) < 3 * GREYISH:
                near.append((float(ciede2000(target, paint.lab)), paint.id))
            continue
        turn = min(float(turned(target, lab)) for lab in labs)
        if turn <= _FAMILY and np.hypot(*labs[-1][1:]) >= GREYISH:
            near.append((turn, paint.id))
    return [id for _, id in sorted(near)[:_HELPERS]]


@lru_cache(maxsize=64)
def _helped(
    palette: Palette, paint: Paint, view: Viewing
) -> list[tuple[Indices, Indices, Array]]:
    """Return subsets (m, t), ways (c, t) and colours (m, c, 3) of mixes with a further paint."""
    medium = Medium(
        np.vstack([palette.K, paint.K]), np.vstack([palette.S, paint.S]), paint.surface, view
    )
    own = len(palette)
    made = []
    for count in range(1, _HELPED + 1):
        subsets = subsets_of(own + 1, count, (own,))
        whole = compositions(count, FINEST if count < _HELPED else STEP)
        made.append((subsets, whole, medium.labs(subsets, whole)))
    return made

"""The one descent: mixes moved by Levenberg-Marquardt steps until a residual of three is small.

Many mixes go down together, each on the logarithms of its shares, so that none falls below zero and
a paint that a mix is without stays out of it. Steps solve a 3 x 3 system whatever the number of
paints (the dual form of the normal equations), by its cofactors.

References
----------
.. [1] Marquardt, "An algorithm for least-squares estimation of nonlinear parameters", J. SIAM 11
       (1963) 431-441.
"""

import math
from collections.abc import Callable

import numpy as np

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import difference
from mixlab.nearest.medium import Medium

Residual = Callable[[Array, Indices], tuple[Array, Array]]
"""Of colours (n, 3) and the rows that they are for: what is to become small (n, 3), and its slopes
(n, 3, 3) by the colours."""

At = Callable[[Array, Indices], tuple[Array, Array]]
"""Of logarithms of shares (n, t) and the rows that they are for: what is to become small (n, 3),
and its slopes (n, 3, t) by those logarithms."""

_TINY = 1e-9
_LONGEST_STEP = 1.5
_MOST_DAMPING = 1e4
_SETTLED = 1e-4
_HASTE = 4  # a later step may gain so many times what the last one did


def descend(
    at: At, logs: Array, steps: int, enough: float, *, unseen: float = 0.0, least: float = 0.0,
    settled: float = _SETTLED, goal: float | Array = math.inf,
) -> tuple[Array, Array]:  # fmt: skip
    """Return logarithms of shares (n, t) where descents end, and what is left there (n,).

    Parameters
    ----------
    at : the residual and its slopes
    logs : (n, t), logarithms of the shares to start from; minus infinity for a paint left out
    steps : greatest number of them
    enough : length of the residual from which nobody sees the rest
    unseen : a mix in which e times as much of some paint moves the residual by less is let go: it
        runs to the edge of its simplex, and the smaller set of paints has it as its own
    least : the least damping; below 1e-5 the cofactors of a set of two paints lose their digits
    settled : gain of a step, as a share of the squared residual, below which a mix is at its end
    goal : (n,) or one, a residual that is of interest: what gains too little to come to it in the
        steps that are left is let go
    """
    aim = np.broadcast_to(np.square(goal), len(logs))
    off, slopes = at(logs, np.arange(len(logs)))
    cost = np.einsum("ni,ni->n", off, off)
    damping = np.full(len(logs), 1e-2)
    # a paint by itself cannot move
    active = np.flatnonzero(((logs > -np.inf).sum(axis=1) > 1) & (cost > enough**2))
    for left in range(steps, 0, -1):
        if not len(active):
            break
        step = _step(off[active], slopes[active], damping[active])
        length = np.abs(step).max(axis=1)
        step *= np.minimum(1, _LONGEST_STEP / np.maximum(length, _TINY))[:, None]
        there = logs[active] + step
        there -= np.log(np.exp(there).sum(axis=1, keepdims=True))
        new_off, new_slopes = at(there, active)
        new_cost = np.einsum("ni,ni->n", new_off, new_off)
        gain = cost[active] - new_cost
        better = gain > 0
        won = active[better]
        logs[won], cost[won] = there[better], new_cost[better]
        off[won], slopes[won] = new_off[better], new_slopes[better]
        damping[active] = np.maximum(damping[active] * np.where(better, 0.2, 6.0), least)
        over = better & ((new_cost < enough**2) | (gain < settled * new_cost))
        over |= damping[active] > _MOST_DAMPING
        over |= better & (new_cost - _HASTE * left * gain > aim[active])
        if unseen:
            effect = np.where(there > -np.inf, np.square(new_slopes).sum(axis=1), np.inf)
            over |= effect.min(axis=1) < unseen**2
        active = active[~over]
    return logs, np.sqrt(cost)


def descend_mixes(
    medium: Medium, shares: Array, residual: Residual, steps: int, enough: float = 0.0
) -> tuple[Array, Array, Array]:
    """Return shares (n, p), colours (n, 3) and what is left of the residual (n,) of mixes.

    Parameters
    ----------
    medium : the paints
    shares : (n, p), to start from
    residual : of their colours
    steps, enough : as in :func:`descend`
    """

    def at(logs: Array, rows: Indices) -> tuple[Array, Array]:
        now = np.exp(logs)
        lab, slopes = medium.lab_slopes(now)
        off, by_lab = residual(lab, rows)
        return off, by_lab @ (slopes * now[:, None, :])

    with np.errstate(divide="ignore"):
        logs = np.log(shares / shares.sum(axis=1, keepdims=True))
    logs, left = descend(at, logs, steps, enough)
    now = np.exp(logs)
    return now, medium.lab(now), left


def difference_slopes(target: Array, lab: Array) -> tuple[Array, Array]:
    """Return the CIEDE2000 difference (n, 3) of colours (n, 3), and its slopes (n, 3, 3) by them.

    Slopes are forward differences: the formula has no handy derivative, and the step keeps eight
    digits of it. Lightness and a* are moved together, as they touch different components.
    """
    off, along_a, along_b = difference(target, lab[None] + _NUDGES[:, None, :])
    slopes = np.zeros((len(lab), 3, 3))
    slopes[:, 0, 0] = along_a[:, 0] - off[:, 0]
    slopes[:, 1:, 1] = along_a[:, 1:] - off[:, 1:]
    slopes[:, 1:, 2] = along_b[:, 1:] - off[:, 1:]
    return off, slopes / _NUDGE


_NUDGE = 1e-6
_NUDGES = _NUDGE * np.array([[0.0, 0, 0], [1, 1, 0], [0, 0, 1]])


def _step(off: Array, slopes: Array, damping: Array) -> Array:
    """Return the Levenberg-Marquardt step (n, t), by the dual 3 x 3 system."""
    square = slopes @ slopes.transpose(0, 2, 1)
    (xx, xy, xz), (_, yy, yz), (_, _, zz) = square.transpose(1, 2, 0)
    lift = damping * ((xx + yy + zz) / 3 + _TINY)
    xx, yy, zz = xx + lift, yy + lift, zz + lift
    # the inverse of a symmetric 3 x 3 matrix, by its cofactors
    cxx, cxy, cxz = yy * zz - yz * yz, xz * yz - xy * zz, xy * yz - xz * yy
    cyy, cyz, czz = xx * zz - xz * xz, xy * xz - xx * yz, xx * yy - xy * xy
    x, y, z = off.T
    solved = np.stack(
        [cxx * x + cxy * y + cxz * z, cxy * x + cyy * y + cyz * z, cxz * x + cyz * y + czz * z]
    ) / (xx * cxx + xy * cxy + xz * cxz)
    return np.asarray(-(solved.T[:, None, :] @ slopes)[:, 0])

"""The gamut of paints, and its edge along rays of one lightness and one hue.

Numbers only. The gamut bends inward between paints, as mixing takes light away: no hull of its
corners describes it. Each place of the edge is found with the mix that makes it, in three moves:

1. *Seeds.* From the mixes all over the gamut that lie farthest out along a ray the search starts.
2. *Push.* Chroma is driven outward by Levenberg-Marquardt steps on the logarithms of the shares,
   lightness and hue held.
3. *Neighbours.* Each ray tries the mixes of the rays beside it, and a little of each paint that its
   mix does without, until nothing gains.

Where the surface of the gamut is made by two or three paints is the rule; where the inside of a
simplex bulges beyond its faces the third move follows it. Tests hold random mixes of all paints
against the edge, and the exact search of :mod:`mixlab.nearest.exact` against the colours beyond it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array, Indices, in_threads, one_thread
from mixlab.colour.difference import ciede2000
from mixlab.nearest.descent import descend_mixes
from mixlab.nearest.many import INSIDE, PINCH, Seeds

_HOLD = 20.0  # how much more it counts to keep lightness and hue than to gain chroma
_GOALS = (20.0, 5.0, 1.0, 0.3)  # how far beyond itself a mix is driven [C*], one after another
_STEPS = 8  # toward each goal
_STARTS = 4  # by each of them; half as many where rays help each other
_WITHIN = 12.0  # how near to a ray a seed must lie for the ray to meet the gamut
_PASSES = 16
_LIFT = 1e-3  # effect
_OFF = (4.0, 20.0)  # what a unit off the ray counts, in C*, when seeds are chosen
_GAIN = 0.02  # C*
_RAYS = 500  # looked at together
_TRACE = 1e-4  # effect below which a paint counts as left out


@dataclass(frozen=True, eq=False)
class Edge:
    """Places of the edge of a reach, each along a ray of one lightness and one hue.

    Attributes
    ----------
    chroma : (n,), C*; nan where no mix lies along the ray
    shares : (n, p), of the mix that is there
    lab : (n, 3), of the mix
    """

    chroma: Array
    shares: Array
    lab: Array

    def put(self, rows: Indices, found: "Edge", which: Any = slice(None)) -> None:
        """Put places of another edge in the place of some of the rays `rows` (r,)."""
        self.chroma[rows] = found.chroma[which]
        self.shares[rows], self.lab[rows] = found.shares[which], found.lab[which]

    def rank(self, sign: float) -> Array:
        """Return how far out (sign 1) or in (-1) each place is, (n,) [C*]."""
        return np.where(np.isnan(self.chroma), -np.inf, sign * self.chroma)


class Rays:
    """Rays of one lightness and one hue each, and the search for the edge along them.

    Parameters
    ----------
    seeds : where the search starts
    lightness, hue : (n,), L* and CIELCh hue [degrees]
    near : how near to its ray a mix has to be to count as on it [CIEDE2000]
    """

    def __init__(self, seeds: Seeds, lightness: Array, hue: Array, near: float = INSIDE) -> None:
        self.seeds, self.near = seeds, near
        self.lightness, self.hue = lightness, hue
        turn = np.radians(hue)
        self._cos, self._sin = np.cos(turn), np.sin(turn)

    def __len__(self) -> int:
        return len(self.hue)

    def push(self, starts: Array, rows: Indices, sign: float, goals: tuple[float, ...]) -> Edge:
        """Drive mixes (r, p) along the rays `rows` (r,): outward (sign 1) or inward (-1)."""
        if not len(rows):
            return self._nothing(0)
        with one_thread():
            parts = in_threads(
                lambda some: self._push(starts[some], rows[some], sign, goals), len(rows)
            )
            return Edge(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))

    def _push(
        self, shares: Array, rows: Indices, sign: float, goals: tuple[float, ...]
    ) -> tuple[Array, Array, Array]:
        cos, sin, lightness = self._cos[rows], self._sin[rows], self.lightness[rows]
        frame = np.zeros((len(rows), 3, 3))
        frame[:, 0, 0] = _HOLD
        frame[:, 1, 1], frame[:, 1, 2] = -_HOLD * sin, _HOLD * cos
        frame[:, 2, 1], frame[:, 2, 2] = cos, sin
        pull = self.seeds.medium.pull
        present = shares > 0
        for goal in goals:
            # at the corner of a paint by itself the others would never come back
            least = _LIFT * (shares @ pull)[:, None] / pull
            shares = np.where(present, np.maximum(shares, least), 0.0)
            lab = self.seeds.medium.lab(shares)
            out = cos * lab[:, 1] + sin * lab[:, 2]
            aim = np.stack([_HOLD * lightness, np.zeros(len(rows)), out + sign * goal], axis=1)

            def residual(lab: Array, some: Indices, aim: Array = aim) -> tuple[Array, Array]:
                return (frame[some] @ lab[:, :, None])[..., 0] - aim[some], frame[some]

            shares, lab, _ = descend_mixes(self.seeds.medium, shares, residual, _STEPS)
        out = cos * lab[:, 1] + sin * lab[:, 2]
        chroma = np.maximum(out, 0.0)
        on_ray = np.stack([lightness, cos * chroma, sin * chroma], axis=1)
        return np.where(ciede2000(on_ray, lab) <= self.near, chroma, np.nan), shares, lab

    def from_seeds(self, rows: Indices, sign: float, thin: bool = False) -> Edge:
        """Return the edge (n,), of the rays `rows` (r,) alone, from the likeliest seeds.

        With `thin`, from fewer seeds: enough where rays help each other afterwards.
        """
        seeds = self.seeds
        outer = seeds.thin if thin else seeds.outer
        lab = seeds.lab[outer]
        few = min(_STARTS // 2 if thin else _STARTS, len(lab))
        within = np.zeros(len(rows), dtype=bool)
        likely = np.zeros((few * len(_OFF), len(rows)), dtype=int)
        for at in range(0, len(rows), _RAYS):
            some = rows[at : at + _RAYS]
            cos, sin = self._cos[some, None], self._sin[some, None]
            off = np.hypot(
                lab[:, 0] - self.lightness[some, None], cos * lab[:, 2] - sin * lab[:, 1]
            )
            out = sign * (cos * lab[:, 1] + sin * lab[:, 2])
            within[at : at + len(some)] = off.min(axis=1) < _WITHIN
            for i, cost in enumerate(_OFF):
                best = np.argpartition(cost * off - out, few - 1, axis=1)[:, :few]
                mine = slice(i * few, (i + 1) * few)
                likely[mine, at : at + len(some)] = outer[best].T
        near = np.flatnonzero(within)
        found = self._nothing(len(self))
        starts = seeds.shares[likely[:, near].ravel()]
        self.better(found, starts, np.tile(rows[near], len(likely)), sign, _GOALS)
        return found

    def _nothing(self, count: int) -> Edge:
        """Return an edge (count,) along which nothing is mixed."""
        paints = len(self.seeds.medium.k)
        return Edge(
            np.full(count, np.nan), np.full((count, paints), 1 / paints), np.zeros((count, 3))
        )

    def better(
        self, edge: Edge, starts: Array, rows: Indices, sign: float,
        goals: tuple[float, ...] = _GOALS[1:],
    ) -> Indices:  # fmt: skip
        """Try other starts (r, p) for the rays `rows` (r,); return the rays that gained."""
        found = self.push(starts, rows, sign, goals)
        rank = found.rank(sign)
        # of several tries for a ray the best
        order = np.lexsort((-rank, rows))
        best = order[np.unique(rows[order], return_index=True)[1]]
        best = best[rank[best] > edge.rank(sign)[rows[best]] + _GAIN]
        edge.put(rows[best], found, best)
        return np.asarray(rows[best])

    def pinched(self, edge: Edge, sign: float) -> Indices:
        """Try a little of every paint in the mixes of all rays; return the rays that gained."""
        pull = self.seeds.medium.pull
        there = np.flatnonzero(~np.isnan(edge.chroma))
        starts, rows = [], []
        for paint in range(len(pull)):
            shares = edge.shares[there].copy()
            effect = shares @ pull
            absent = shares[:, paint] * pull[paint] < _TRACE * effect
            mine, shares = there[absent], shares[absent]
            shares[:, paint] += PINCH * effect[absent] / pull[paint]
            # only where the first hair of it goes outward is it worth the way
            worth = self._goes(edge.shares[mine], mine, paint, sign)
            starts.append(shares[worth])
            rows.append(mine[worth])
        return self.better(edge, np.concatenate(starts), np.concatenate(rows), sign)

    def _goes(self, shares: Array, rows: Indices, paint: int, sign: float) -> NDArray[np.bool_]:
        """Return whether a paint that the mixes of the edge are without would lead outward.

        The edge's own normal is what none of the paints in the mix can move along.
        """
        if not len(rows):
            return np.zeros(0, dtype=bool)
        _, slopes = self.seeds.medium.lab_slopes(shares)
        along = slopes * shares[:, None, :]
        normal = np.linalg.svd(along)[0][:, :, 2]
        ray = np.stack([np.zeros(len(rows)), self._cos[rows], self._sin[rows]], axis=1)
        facing = np.sign(np.einsum("ni,ni->n", normal, ray)) * sign
        rise = np.einsum("ni,ni->n", normal, slopes[:, :, paint]) * facing
        return np.asarray(rise > 1e-3 * np.linalg.norm(slopes[:, :, paint], axis=1))

    def solve(
        self,
        beside: Sequence[Indices],
        sign: float,
        start: Edge | None = None,
        anew: Indices | None = None,
    ) -> Edge:
        """Return the edge along all rays, outward (sign 1) or inward (-1).

        Parameters
        ----------
        beside : arrays (n,), each with one neighbour of every ray (itself where it has none)
        start, anew : an edge that is known but for some rays (r,)
        """
        edge = self.from_seeds(np.arange(len(self)) if anew is None else anew, sign, thin=True)
        if start is not None and anew is not None:
            known = np.flatnonzero(~np.isin(np.arange(len(self)), anew))
            edge.put(known, start, known)
        news = np.flatnonzero(~np.isnan(edge.chroma))
        for _ in range(_PASSES if len(news) else 0):
            changed = np.isin(np.arange(len(self)), news)
            rows = [np.flatnonzero(changed[near]) for near in beside]
            starts = [edge.shares[near[some]] for near, some in zip(beside, rows, strict=True)]
            news = self.better(edge, np.concatenate(starts), np.concatenate(rows), sign)
            if not len(news) and self.seeds.any_number:
                news = self.pinched(edge, sign)
            if not len(news):
                break
        return edge


def volume(lightness: Array, greatest: Array, least: Array) -> float:
    """Return the volume between two surfaces about the axis a* = b* = 0, in units of CIELAB cubed.

    Parameters
    ----------
    lightness : (levels,), rising evenly
    greatest, least : (levels, hues), C* at hues evenly all around; nan where there is nothing
    """
    ring = np.nan_to_num(greatest**2 - least**2) / 2
    areas = ring.mean(axis=1) * 2 * np.pi
    return float(areas.sum() * (lightness[1] - lightness[0]))

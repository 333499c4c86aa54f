"""Readings of drawdowns to K and S of the paints in them, and how far those can be trusted.

The fit is that of :mod:`mixlab.measure.drawdowns`. Each drawdown is then left out in turn, which
tells how well the others predict it; one that contradicts the others is named, and counts less or
not at all. What readings of a kind cannot tell is said in words and added to the uncertainty of the
paints.

References
----------
.. [1] Holland, Welsch, "Robust regression using iteratively reweighted least-squares", Commun.
       Statist. A6 (1977) 813-827: Cauchy weights.
"""


import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from mixlab.arrays import Array, Mask, Progress, one_thread
from mixlab.colour.spaces import WAVELENGTHS, reflectance_to_lab, viewing
from mixlab.errors import ReadingError
from mixlab.measure.advice import Advice, advised
from mixlab.measure.covariance import Covariance
from mixlab.measure.drawdowns import BELIEFS, Beliefs, Model, Solved, solve
from mixlab.measure.films import Films, films
from mixlab.measure.lacking import WHITE, lacks_of, rest_tells, unlinked
from mixlab.measure.predictions import Prediction, predicted
from mixlab.measure.readings import Readings
from mixlab.paint.optics import Surface
from mixlab.paint.paints import Paint
from mixlab.paint.tables import PigmentTable
from mixlab.text import visible

LACKING = 4.5
"""What is open beyond the covariance of a paint without a masstone or in no mix with the others
[CIEDE2000], as the spreads that then decide are guesses: tuned on 62 drawdowns of oil paint (Geldof
et al., Heritage Science 6:17 (2018)), of which such readings were left out. The same where no
curves explain the readings."""

STRANGE = 3.0  # a drawdown that agrees this many times less than is usual is named

DISTURBS = 2.5
"""So many times the usual disagreement must go without a drawdown for it to be named. In sets
simulated from published curves (Berns 2016) honest ones come to 2 at most, mislabelled tints to 3.5
and more."""

_LEAST_STRANGE = 3.0  # CIEDE2000 by which it must miss as well
_AS_LIKELY = 0.6  # of what leaving the worst one out gains
_ROUNDS = 4  # of weighing drawdowns anew


@dataclass(frozen=True, eq=False)
class DrawdownFit(Prediction):
    """How a drawdown agrees with the curves that were fitted to it and all others.

    Attributes
    ----------
    cross_validated_miss : of the curves that the others alone tell; nan if it was not tried
    predictable : whether the others hold each of its paints twice, and as much of it once
    contradicts : whether it contradicts the others that could tell it
    """

    cross_validated_miss: float
    predictable: bool
    contradicts: bool

    @property
    def tried(self) -> bool:
        """Whether its cross-validated miss says how well the curves predict."""
        return self.predictable and not math.isnan(self.cross_validated_miss)


@dataclass(frozen=True, eq=False)
class Characterised:
    """Paints that were fitted to readings.

    Attributes
    ----------
    paints : with `uncertainty` the likely CIEDE2000 of a prediction
    drawdowns : how each agrees
    surface : the constants, stated or found
    notes : what was done, and what the readings cannot tell, in words
    advice : further drawdowns that would lower the error most, if asked for
    """

    paints: tuple[Paint, ...]
    drawdowns: tuple[DrawdownFit, ...]
    surface: Surface
    notes: tuple[str, ...]
    advice: tuple[Advice, ...]

    @property
    def misses(self) -> Array:
        """Misses (d,) of the fit [CIEDE2000]."""
        return np.array([one.miss for one in self.drawdowns])

    @property
    def cross_validated(self) -> Array:
        """Misses of the drawdowns that the others tell, each left out in turn [CIEDE2000]."""
        return np.array([one.cross_validated_miss for one in self.drawdowns if one.tried])


def characterise(
    readings: Readings,
    *,
    surface: Surface | None = None,
    known: PigmentTable | None = None,
    fixed: Sequence[str] | None = None,
    leave_out: bool = True,
    advise: bool = False,
    beliefs: Beliefs = BELIEFS,
    progress: Progress | None = None,
) -> Characterised:
    """Return the paints of readings.

    Parameters
    ----------
    readings : masstones, tints, shades, any mixes
    surface : Saunderson's constants; as the darkest films have it unless stated
    known : a table whose paints are held as they are where the readings name them, by id or by
        Colour Index name, e.g. the white of a tint; its unit and its surface hold
    fixed : the paints of it that are kept as they are; all that the readings name unless given
    leave_out : whether each drawdown is left out in turn, to tell how well the others predict it
    advise : whether to look for the drawdowns that would lower the error most
    beliefs : what is thought of paint beforehand
    progress : told the share of the work that is done, 0..1, now and then

    Raises
    ------
    ReadingError : if the readings do not make sense
    """
    held = _held(readings, known, fixed)
    of = films(readings)
    curves = {of.ids.index(id): (paint.K, paint.S) for id, paint in held.items()}
    first = next(iter(held.values()), None)
    white = _unit(of) if first is None else None
    model = Model(of, beliefs, white, first.surface if first else surface, curves)
    if surface is not None and surface.outside > (usual := float(np.median(model.darkest))):
        raise ReadingError(
            f"K1 {surface.outside:g} is more than half of the films read at their darkest "
            f"({usual:.3f}); a binder's surface reflects about 0.04"
        )
    with one_thread():
        trial = _Trial.of(model, leave_out, progress or (lambda share: None))
        fits = tuple(_fits(trial))
        covariance = Covariance.of(trial.whole)
        doubt = covariance.of_paints(covariance.variances)
        advice = tuple(advised(covariance, _unit(of))) if advise else ()
    paints = _paints(readings, trial, fits, doubt, held)
    notes = _notes(readings, trial, fits, held)
    return Characterised(paints, fits, model.surface, tuple(notes), advice)


def _held(
    readings: Readings, known: PigmentTable | None, fixed: Sequence[str] | None
) -> dict[str, Paint]:
    """Return the paints of a table that are held, by what the readings call them."""
    if known is None:
        return {}
    ids = readings.paints
    held = {id: known[id] for id in ids if id in known}
    if fixed is not None:
        wanted = {known[name].id for name in fixed}
        held = {id: paint for id, paint in held.items() if paint.id in wanted}
    if not held:
        raise ReadingError(
            f"{known.path}: none of its paints that are to be held is in the readings, which name "
            f"{', '.join(ids)}"
        )
    if len(held) == len(ids):
        raise ReadingError(
            f"{readings.path}: every paint of it is in {known.path} and held as it is there, so "
            "there is none to find; say which are known (--fixed), or give your own another name"
        )
    return held


def _unit(of: Films) -> int:
    """Return the paint whose scattering is the unit: the white in most drawdowns, or the lightest.

    A white here is a paint whose fullest reading has L* of WHITE or more, or that is called one.
    """
    called = [bool({"white", "pw"} & set(re.sub(r"\d", "", id).split("-"))) for id in of.ids]
    share = of.shares[of.sample]
    fullest = of.reflectance[np.argmax(share, axis=0)]
    light = reflectance_to_lab(fullest, viewing())[:, 0]
    light = np.where(share.max(axis=0) >= 0.5, light, 0)
    light = np.where(called, np.maximum(light, WHITE), light)
    if (light >= WHITE).any():
        return int(np.argmax(np.where(light >= WHITE, (of.shares > 0).sum(axis=0), 0)))
    # without a white at hand, the paint that the others are mixed with
    return int(np.argmax((of.shares > 0).sum(axis=0) + light / 1000))


@dataclass(frozen=True, eq=False)
class _Trial:
    """A fit of everything, and a fit without each drawdown where that was asked for."""

    whole: Solved
    without: dict[int, Solved]

    @classmethod
    def of(cls, model: Model, leave_out: bool, progress: Progress) -> "_Trial":
        """Return the fits of a model."""
        sample = model.films.sample
        weights = np.ones(len(sample))
        solved = solve(model, weights)
        for _ in range(_ROUNDS):
            usual = float(np.median(solved.agreement))
            # Cauchy weights: a drawdown that is usual counts nearly whole
            new = 1 / (1 + (solved.agreement / (2 * usual)) ** 2)[sample]
            if np.allclose(new, weights, atol=0.02):
                break
            weights = new
            solved = solve(model, weights, solved.u)
        without = {}
        for d in range(len(model.films.samples)):
            if leave_out and rest_tells(model, d):
                # from a cold start: what was fitted to it would still know it
                without[d] = solve(model, np.where(sample == d, 0.0, weights))
            progress((d + 1) / len(model.films.samples))
        return cls(solved, without)

    def predictable(self, d: int) -> bool:
        """Whether each of its paints is known, or in two others at least, and as full in one."""
        model = self.whole.model
        own, others = model.films.shares[d], np.delete(model.films.shares, d, axis=0)
        found = ((others > 0).sum(axis=0) >= 2) & (others.max(axis=0, initial=0) >= own)
        return all(i in model.known or found[i] for i in np.flatnonzero(own))

    @cached_property
    def misses(self) -> dict[int, float]:
        """Miss of each drawdown by the others [CIEDE2000]."""
        films = self.whole.model.films
        return {d: predicted(films, *s.curves(), only=[d])[0].miss for d, s in self.without.items()}

    @cached_property
    def unexplained(self) -> list[int]:
        """Paints that no curves explain: those of their mixes that the others could tell are missed
        by far, and whichever drawdown is left out, most of the rest agree far less than is usual.
        """
        holds = self.whole.model.films.shares > 0

        def strange(solved: Solved, but: int | None = None) -> Mask:
            agreement = solved.agreement
            off = agreement > STRANGE * np.median(agreement)
            kept = np.arange(len(off)) != (-1 if but is None else but)
            count = (off[:, None] & holds)[kept].sum(axis=0)
            most = count > holds[kept].sum(axis=0) / 2
            return np.asarray(most & (count >= (3 if but is None else 2)))

        found = strange(self.whole)
        for d, solved in self.without.items():
            found &= strange(solved, d) | ~holds[d]
        told = {d: miss for d, miss in self.misses.items() if self.predictable(d)}
        off = [[miss for d, miss in told.items() if holds[d, i]] for i in range(len(found))]
        return [i for i in map(int, np.flatnonzero(found))
                if off[i] and np.mean(off[i]) > _LEAST_STRANGE]  # fmt: skip

    @cached_property
    def suspects(self) -> list[int]:
        """Drawdowns without which the others agree far better, and which they do not explain.

        The likeliest first. Of few drawdowns of a paint, one may be as likely as another. Never the
        fullest film of a paint, which alone tells what lies beyond the others.
        """
        agreement, shares = self.whole.agreement, self.whole.model.films.shares

        def gained(d: int) -> float:
            by_rest = np.delete(agreement, d) ** 2 - np.delete(self.without[d].agreement, d) ** 2
            return float(agreement[d] ** 2 + by_rest.sum())

        gain = {d: gained(d) for d in self.without if self.predictable(d)}
        if not gain:
            return []
        worst = max(gain, key=lambda d: gain[d])
        usual = float(np.median(agreement))
        # far off alone may be a paint that only this drawdown tells: it must disturb the rest too
        found = [
            d for d in gain
            if gain[d] > (DISTURBS * usual) ** 2 and self.misses[d] > _LEAST_STRANGE
            and gain[d] > _AS_LIKELY * gain[worst] and (shares[d] * shares[worst]).any()
        ]  # fmt: skip
        return sorted(found, key=lambda d: -gain[d])


def _fits(trial: _Trial) -> Iterator[DrawdownFit]:
    agreement = trial.whole.agreement
    usual, shares = float(np.median(agreement)), trial.whole.model.films.shares
    for d, made in enumerate(predicted(trial.whole.model.films, *trial.whole.curves())):
        predictable = trial.predictable(d)
        excused = bool(shares[d, trial.unexplained].any())
        off = predictable and made.miss > _LEAST_STRANGE and bool(agreement[d] > STRANGE * usual)
        yield DrawdownFit(
            **vars(made), cross_validated_miss=trial.misses.get(d, math.nan),
            predictable=predictable, contradicts=not excused and (off or d in trial.suspects[:1]),
        )  # fmt: skip


def _paints(
    readings: Readings, trial: _Trial, fits: Sequence[DrawdownFit], doubt: Array,
    held: Mapping[str, Paint],
) -> tuple[Paint, ...]:
    """Return the paints; `doubt` (p,) is their likely error by the covariance."""
    model, (k, s, surface) = trial.whole.model, trial.whole.curves()
    first, white = next(iter(held.values()), None), model.white
    unit = first.unit if first else model.films.ids[white or 0]
    scale = 1.0 if white is None else float(np.interp(550, WAVELENGTHS, s[white]))
    source = f"readings {visible(readings.path.replace(chr(92), '/').rsplit('/', 1)[-1])}"
    paints = []
    for i, id in enumerate(model.films.ids):
        if id in held:
            paints.append(held[id])
            continue
        lacks = lacks_of(model, i) + ["no curves explain it"] * (i in trial.unexplained)
        own = [(c, f) for c, f in zip(model.films.shares[:, i], fits, strict=True) if c > 0]
        alone = [f.miss for c, f in own if c == 1]
        mixed = [f.miss for c, f in own if c < 1 and not f.contradicts]
        paints.append(Paint(
            id=id, name=id.replace("-", " "), colour_index=(), K=k[i] / scale, S=s[i] / scale,
            basis="measured", source=", ".join([source, *lacks]), unit=unit, surface=surface,
            cautions="read the maker's safety data sheet",
            uncertainty=math.hypot(doubt[i], LACKING * bool(lacks)),
            masstone_miss=float(np.mean(alone)) if alone else math.nan,
            tint_miss=max(mixed, default=math.nan),
        ))  # fmt: skip
    return tuple(paints)


def _notes(
    readings: Readings, trial: _Trial, fits: Sequence[DrawdownFit], held: Mapping[str, Paint]
) -> Iterator[str]:
    of, model = trial.whole.model.films, trial.whole.model
    yield from readings.notes
    if held:
        yield "held as the table has them: " + ", ".join(
            id if id == paint.id else f"{id}, its {paint.id}" for id, paint in held.items()
        )
    for d, fit in enumerate(fits):
        if not fit.contradicts:
            continue
        tried = fit.cross_validated_miss
        rivals = [of.samples[r] for r in trial.suspects[1:]] if d in trial.suspects[:1] else []
        yield (
            f"{fit.sample} ({fit.mixture}) contradicts the others: it reads "
            f"{fit.miss if math.isnan(tried) else tried:.1f} CIEDE2000 from what they say; counted "
            "less. Read it again, or check its parts"
            + (f"; it may as well be {' or '.join(rivals)} that is off" if rivals else "")
        )
    for i in trial.unexplained:
        misses = [
            (fit.miss, fit.cross_validated_miss)
            for c, fit in zip(of.shares[:, i], fits, strict=True) if c
        ]  # fmt: skip
        off = np.nanmax(misses)
        yield (
            f"no curves of K and S explain the readings of {of.ids[i]}, off by up to "
            f"{off:.1f} CIEDE2000: paint that fluoresces does so, and a lake whose dye bleeds. "
            "Its error is stated as large"
        )
    surface = model.surface
    darkest = model.darkest
    for d in map(int, np.flatnonzero(darkest < surface.outside - model.beliefs.noise)):
        yield (
            f"{of.samples[d]} reads {darkest[d]:.3f} at its darkest, less than the surface alone "
            f"({surface.outside:.3f}): is its film mat or lean?"
        )
    if model.stated is None and not surface.outside:
        yield (
            "the darkest films read almost nothing: taken as read without the light that the "
            "surface reflects (45/0, or the specular excluded)"
        )
    yield from unlinked(model)
    for i, id in enumerate(of.ids):
        if id not in held and i != model.white and of.shares[:, i].max() < 0.95:
            yield f"no masstone of {id}: its darkest mixes are a guess"
        elif i == model.white and of.shares[:, i].max() < 0.95:
            yield f"no reading of {id} by itself: its own colour is a guess"
    grounds = {s for s in of.surfaces if s != "opaque"}
    if len(grounds) < 2:
        what = f"all films {grounds.pop()}" if grounds else "all layers opaque"
        yield f"{what}: how well a paint hides is told by its mixes alone"

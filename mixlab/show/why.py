"""Why an addition does what it does to chroma, read off the curves, in words a student follows.

:func:`why` tells a whole report, :func:`step` any one mix of the way. Both put figures into words
and compute none but ratios of them.
"""

import numpy as np
from numpy.typing import NDArray

from mixlab.colour.spaces import WAVELENGTHS
from mixlab.mixing.complements import MID_VALUE, Cancelled
from mixlab.mixing.ladders import hue_steps
from mixlab.mixing.stages import (
    BANDS,
    NAMED,
    SEEN,
    Extreme,
    Point,
    Stage,
    scattering,
    spared,
    turn,
)
from mixlab.mixing.value_chroma import Report

ADDITIONS = ("white", "black", "grey", "mix")
"""What is added: its part in the explanation."""

STRENGTHS = (0.5, 2.0)
"""How tubes of one name differ in tinting strength: common practice, no source."""

_HOLDS = 1.0  # Munsell hue steps, and C*, that count as none


def why(report: Report, addition: str, cancelled: Cancelled | None = None) -> list[str]:
    """Return the reason in sentences.

    Parameters
    ----------
    report : of the mix and the addition
    addition : one of :data:`ADDITIONS`
    cancelled : where the two cancel, let down with white, for a mix; None where there is no white
    """
    stages = report.stages
    first, last = stages[0], stages[-1]
    start, toward = report.path.start.paints, report.path.toward.paints
    mix = start[0].id if len(start) == 1 else "the mix"
    added = toward[0].id if len(toward) == 1 else f"the {addition}"
    peak = stages[1] if 0 < report.peak.share < 1 else first
    said = [alone(first, mix)]
    if report.rises and 0 < peak.point.share < 0.9 * last.point.share:
        said += step(first, peak, report.added, peak, addition, mix, added)[:1]
    said += step(first, last, report.added, peak, addition, mix, added, report.evenly_scattered)
    if addition == "white" and report.rises and peak.point.chroma >= NAMED:
        weak, strong = (per_cent(report.peak_at_strength(times)) for times in STRENGTHS)
        said.append(
            f"Tubes of one name may well be half as strong, or twice: then the peak is at {weak} "
            f"of white, or at {strong}."
        )
    if addition == "mix" and first.point.chroma >= NAMED:
        said += _cancel(report, first, added, cancelled)
    return said


def alone(first: Stage, mix: str) -> str:
    """Return what a mix by itself gives back."""
    if first.point.chroma < NAMED:
        return (
            f"{mix} by itself has hardly any chroma, C* {first.point.chroma:.1f}: it gives back "
            f"{_most(first)}, and {_least(first)}."
        )
    return (
        f"By itself {mix} gives back {_most(first)}, and {_least(first)}; what lies between the "
        f"two is its chroma, C* {first.point.chroma:.0f}."
    )


def step(
    first: Stage, here: Stage, toward: Stage, peak: Stage, addition: str, mix: str, added: str,
    evenly: Point | None = None,
) -> list[str]:  # fmt: skip
    """Return why one mix on the way is as it is, in sentences.

    Parameters
    ----------
    first, here, toward : the mix by itself, with some of the addition, and the addition by itself
    peak : where C* is greatest; `first` where it only falls
    addition : one of :data:`ADDITIONS`
    mix, added : what the two are called
    evenly : `here` as it were if each end scattered all light alike
    """
    at = f"At {per_cent(here.point.share)} of {added}"
    now = f"C* {_chroma(here)} at value {here.point.value:.1f}"
    if first.point.chroma < NAMED:
        named = f", {here.point.munsell}" if here.point.chroma >= _HOLDS else ""
        return [f"{at} it gives back {_most(here)}, and {_least(here)}: {now}{named}."]
    if addition == "white":
        return [*_white(first, here, peak, at, now), *_turned(first, here, mix)]
    said = [] if addition == "mix" else [_gives(toward, added)]
    said.append(f"{at} {_moved(first, here)}: {now}; by itself {mix} has C* {_chroma(first)} at "
                f"value {first.point.value:.1f}.")  # fmt: skip
    if addition == "mix" and here.point.chroma < 2 * NAMED:
        return said
    return said + _turned(first, here, mix, evenly if addition == "black" else None)


def _white(first: Stage, here: Stage, peak: Stage, at: str, now: str) -> list[str]:
    before, after = (one.minimum.height / one.maximum.height for one in (peak, here))
    if here.point.share <= peak.point.share:
        reason = (
            " White sends light back out before the paint has taken it all, and most so where the "
            "paint absorbs least." if here.maximum.height - here.minimum.height
            > first.maximum.height - first.minimum.height else ""
        )  # fmt: skip
        higher = here.point.chroma > first.point.chroma
        lighter = "lighter, and higher in chroma too" if higher else "lighter"
        return [f"{at} {_moved(first, here)}: {lighter}, {now}.{reason}"]
    gained = (
        f" The minimum was {per_cent(before)} of the maximum, and is {per_cent(after)} of it now."
        if after > before else ""
    )  # fmt: skip
    begun = "White only takes chroma"
    if peak is not first:
        begun = "White adds next to no chroma, and then takes it"
        if peak.point.chroma > first.point.chroma + _HOLDS:
            begun = "More white takes chroma"
            gained = gained.replace("was", "at the peak was", 1)
    said = [f"{begun}. {at} {_moved(first, here)}: {now}.{gained}", _ratio(first, here)]
    if new := _ranges(here.scattering_dominates & ~first.scattering_dominates & SEEN):
        said.append(f"Scattering dominates now, where absorption did before, at {new}: there the "
                    "mix tends to white's own colour.")  # fmt: skip
    return said


def _ratio(first: Stage, here: Stage) -> str:
    nm = here.minimum.nm
    before, after = (float(one.k_over_s[nm == WAVELENGTHS][0]) for one in (first, here))
    if not np.isfinite(before):
        return f"At {nm:.0f} nm nothing was scattered before; now K/S is {_short(after)}."
    return (
        f"At {nm:.0f} nm, that minimum, K/S was {_short(before)}: light was absorbed "
        f"{_short(before)} times as readily as scattered. Now it is {_short(after)}."
    )


def _gives(toward: Stage, added: str) -> str:
    own, name = toward.point, "The" + added[3:] if added.startswith("the ") else added
    return (
        f"{name} by itself is {own.munsell}, C* {own.chroma:.1f}: it gives back "
        f"{_most(toward)}, and {_least(toward)}."
    )


def _moved(first: Stage, here: Stage) -> str:
    """Return how the maximum and the minimum have moved, and the second ones that there are."""
    said = []
    for name, before, after in (
        ("maximum", first.maxima, here.maxima), ("minimum", first.minima, here.minima),
    ):  # fmt: skip
        was, now = per_cent(before[0].height), per_cent(after[0].height)
        way = "rises" if after[0].height > before[0].height else "falls"
        moves = f"{way} from {was} to {now}" if was != now else f"stays at {now}"
        said.append(f"the {name} {moves}, at {_places(after)}")
    return ", and ".join(said)


def _places(some: tuple[Extreme, ...]) -> str:
    first, *others = some
    return _place(first) + "".join(
        f" (and again {per_cent(one.height)} at {_place(one)})" for one in others
    )


def _place(one: Extreme) -> str:
    return f"{one.nm:.0f} nm" + (", where the eye sees little" if one.faint else "")


def _most(at: Stage) -> str:
    return f"most light, {per_cent(at.maximum.height)}, at {_places(at.maxima)}"


def _least(at: Stage) -> str:
    return f"least, {per_cent(at.minimum.height)}, at {_places(at.minima)}"


def _turned(first: Stage, here: Stage, mix: str, evenly: Point | None = None) -> list[str]:
    found = turn(first, here)
    if found is None:
        return []
    hues = f"{_hue(first.point)} to {_hue(here.point)}"
    if abs(found.steps) < _HOLDS:
        return [f"The hue holds within a step of Munsell's hundred: {hues}."]
    bent = ""
    if abs(found.degrees) > 5.4 * abs(found.steps):  # half as much again as steps of 3.6 degrees
        bent = f" (CIELAB, whose angles bend, has {abs(found.degrees):.0f} degrees)"
    before, now = (_list([per_cent(one) for one in at.bands]) for at in (first, here))
    said = (
        f"The hue turns from {hues}, {_steps(found.steps)} toward {found.toward}{bent}. Of "
        f"{_list(list(BANDS))} light it gave back {before}, and now {now}"
    )
    names = list(BANDS)
    if found.gains:
        said += f": as the eye counts, {found.gains} has gained on {found.on}"
    elif (most := names[here.bands.argmax()]) != (was := names[first.bands.argmax()]):
        said += f": the most is {most} now, and was {was}"
    return [said + ".", *_scattered(first, found.steps, mix, evenly)]


def _scattered(first: Stage, steps: float, mix: str, evenly: Point | None) -> list[str]:
    """Return what of a turn is due to scattering that falls with wavelength."""
    green, red = (scattering(first)[band] for band in ("green", "red"))
    if evenly is None or evenly.chroma < NAMED or red >= green:
        return []
    without = float(hue_steps(first.point.hue, evenly.hue))
    if not 0 <= without / steps <= 0.8:
        return []
    return [
        f"{per_cent(1 - without / steps)} of that turn comes of scattering: {mix} scatters red "
        f"light less than green, S {_short(red)} and {_short(green)}. Did each paint scatter all "
        f"light alike, the hue would turn {_steps(without)} only."
    ]


def _cancel(
    report: Report, first: Stage, added: str, cancelled: Cancelled | None
) -> list[str]:
    if cancelled is None:
        at = report.neutral
        return [f"Nearest to neutral, undiluted, is {per_cent(at.share)} of {added}: C* "
                f"{at.chroma:.1f}."]  # fmt: skip
    left, ends = cancelled.left, cancelled.ends
    seen = f"let down with white to value {MID_VALUE:g}"
    had = f"by themselves they have C* {ends[0]:.0f} and {ends[1]:.0f} so"
    if ends[1] < NAMED:
        return [f"{added} has too little chroma to cancel any: {seen}, C* {ends[1]:.1f}."]
    both = spared(first, report.added)
    if left > 0.98 * ends.min():
        said = f"The two do not cancel: {seen}, no mix of them has less chroma than one by itself"
    else:
        how = "cancel" if left < NAMED else "do not cancel"
        if NAMED <= left < ends.min() / 2:
            how = "come near to cancelling"
        said = (f"The two {how}: {seen}, C* {left:.1f} is left at {per_cent(cancelled.share)} of "
                f"{added}")  # fmt: skip
    if not both.any():
        light = ("No light is spared by both: everywhere the one or the other absorbs at least a "
                 "quarter of its most.")  # fmt: skip
    else:
        bands = [name for name, (low, high) in BANDS.items()
                 if ((low <= WAVELENGTHS) & (high >= WAVELENGTHS) & both).any()]  # fmt: skip
        light = (f"Both spare light of {_ranges(both)} ({_list(bands)}): there neither absorbs a "
                 "quarter of its most, and that light is left over.")  # fmt: skip
    return [f"{said}; {had}.", light]


def _hue(point: Point) -> str:
    return point.munsell.split()[0]


def _steps(steps: float) -> str:
    return f"{abs(steps):.1f} Munsell steps"


def _chroma(at: Stage) -> str:
    return f"{at.point.chroma:.0f}"


def _list(some: list[str]) -> str:
    return " and ".join([", ".join(some[:-1]), some[-1]] if len(some) > 1 else some)


def per_cent(share: float) -> str:
    """Return a share in writing: "42 %", "4.2 %", "0.31 %"; up to two digits, or near all three."""
    percent = 100 * share
    if 9.95 <= percent < 98.5:
        return f"{percent:.0f} %"
    return f"{percent:.2g} %" if percent < 50 else f"{percent:.4g} %"


def _short(ratio: float) -> str:
    return f"{ratio:.0f}" if ratio >= 10 else f"{ratio:.2g}"


def _ranges(mask: NDArray[np.bool_]) -> str:
    """Return the wavelengths of a mask in writing: "380-470 and 600-730 nm"."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(int), [0]])))
    spans = [
        f"{WAVELENGTHS[a]:.0f}-{WAVELENGTHS[b - 1]:.0f}" if b - a > 1 else f"{WAVELENGTHS[a]:.0f}"
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]
    return " and ".join(spans) + (" nm" if spans else "")

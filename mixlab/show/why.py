"""Why an addition does what it does to chroma, read off the curves, in words a student follows."""

import numpy as np
from numpy.typing import NDArray

from mixlab.colour.spaces import WAVELENGTHS, lab_to_value
from mixlab.mixing.value_chroma import NAMED, SEEN, Report, Stage

ADDITIONS = ("white", "black", "grey", "mix")
"""What is added: its part in the explanation."""


def why(report: Report, addition: str) -> list[str]:
    """Return the reason in sentences.

    Parameters
    ----------
    report : of the mix and the addition
    addition : one of :data:`ADDITIONS`
    """
    tell = {"white": _white, "black": _black, "grey": _grey, "mix": _mix}[addition]
    if report.start.chroma < NAMED and (addition != "white" or report.peak.chroma < NAMED):
        what = "changes its value alone" if addition != "mix" else "brings what chroma there is"
        return [
            f"{_name(report)} has hardly any chroma to lose: it absorbs every wavelength nearly "
            f"alike, and {_other(report)} {what}."
        ]
    return [_alone(report), *tell(report)]


def _name(report: Report) -> str:
    start = report.path.start
    return start.paints[0].id if len(start.paints) == 1 else "the mix"


def _other(report: Report) -> str:
    toward = report.path.toward
    return toward.paints[0].id if len(toward.paints) == 1 else "the addition"


def _alone(report: Report) -> str:
    first = report.stages[0]
    return (
        f"By itself {_name(report)} gives back {_percent(first.at(first.maximum))} of the light at "
        f"{first.maximum:.0f} nm, its reflectance maximum, and "
        f"{_percent(first.at(first.minimum))} at {first.minimum:.0f} nm, its minimum; what lies "
        f"between the two is its chroma, C* {report.start.chroma:.0f}."
    )


def _white(report: Report) -> list[str]:
    first, last = report.stages[0], report.stages[-1]
    said = []
    if report.rises:
        peak = report.stages[1]
        said.append(
            f"The first white sends light back out before the paint has taken it all. At "
            f"{_share(peak)} of white the maximum has come up to "
            f"{_percent(peak.at(first.maximum))}, the minimum only to "
            f"{_percent(peak.at(first.minimum))}: lighter, and higher in chroma too, "
            f"C* {peak.point.chroma:.0f}."
        )
        said.append(
            f"More white still lifts the maximum, but the minimum gains on it: at "
            f"{_share(last)} the maximum is at {_percent(last.at(first.maximum))}, the minimum at "
            f"{_percent(last.at(first.minimum))}, C* {last.point.chroma:.0f}. The minimum was "
            f"{_percent(peak.at(first.minimum) / peak.at(first.maximum))} of the maximum, and is "
            f"{_percent(last.at(first.minimum) / last.at(first.maximum))} of it now."
        )
    else:
        said.append(
            f"White can lift the maximum less than the minimum, and takes chroma from the first "
            f"part on. At {_share(last)} of white the maximum is at "
            f"{_percent(last.at(first.maximum))} and the minimum at "
            f"{_percent(last.at(first.minimum))}: C* {last.point.chroma:.0f}."
        )
    said.append(_ratio(first, last))
    said.append(_dominated(first, last))
    return said


def _ratio(first: Stage, last: Stage) -> str:
    before, after = (
        float(s.k_over_s[first.minimum == WAVELENGTHS][0]) for s in (first, last)
    )
    if not np.isfinite(before):
        return (
            f"At the minimum, {first.minimum:.0f} nm, nothing was scattered before; with the "
            f"white K/S is {_short(after)}."
        )
    return (
        f"At the minimum, {first.minimum:.0f} nm, K/S was {_short(before)}: light was absorbed "
        f"{_short(before)} times as readily as scattered. With the white it is {_short(after)}."
    )


def _dominated(first: Stage, last: Stage) -> str:
    new = _ranges(last.scattering_dominates & ~first.scattering_dominates & SEEN)
    if not new:
        return "Nowhere does scattering come to dominate."
    return (
        f"Scattering dominates now, where absorption did before, at {new}: "
        "there the mix tends to white's own colour."
    )


def _black(report: Report) -> list[str]:
    first, last = report.stages[0], report.stages[-1]
    said = [
        f"Black absorbs at every wavelength. At {_share(last)} of black the maximum has come "
        f"down from {_percent(first.at(first.maximum))} to {_percent(last.at(first.maximum))}; the "
        f"minimum lies as low as ever, {_percent(first.at(first.minimum))} before and "
        f"{_percent(last.at(first.minimum))} now. Value falls from {report.start.value:.1f} to "
        f"{last.point.value:.1f}, and chroma from C* {report.start.chroma:.0f} to "
        f"{last.point.chroma:.0f}."
    ]
    if abs(report.drift) >= 5 and report.farthest is not None:
        said.append(
            f"The hue goes along: {report.start.munsell} has become {report.farthest.munsell} at "
            f"{_percent(report.farthest.share)} of black. The maximum comes down more than the "
            "slopes beside it, and the wavelengths of those weigh more than before."
        )
    return said


def _grey(report: Report) -> list[str]:
    first, last = report.stages[0], report.stages[-1]
    lines = []
    if last is not first:
        lines.append(
            f"Grey gives back every wavelength alike: it takes the maximum down and brings the "
            f"minimum up. At {_share(last)} of grey the maximum is at "
            f"{_percent(last.at(first.maximum))}, the minimum at "
            f"{_percent(last.at(first.minimum))}: C* {last.point.chroma:.0f} at value "
            f"{last.point.value:.1f}, which was {report.start.value:.1f}."
        )
    return lines


def _mix(report: Report) -> list[str]:
    toward = report.path.toward.reflectance
    first = report.stages[0]
    neutral = report.neutral
    highest, lowest = np.interp([first.maximum, first.minimum], WAVELENGTHS, toward)
    said = [
        f"{_other(report)} gives back {_percent(highest)} at that maximum and "
        f"{_percent(lowest)} at that minimum."
    ]
    if neutral.chroma < report.start.chroma / 2 and 0 < neutral.share < 0.999:
        said.append(
            f"Each absorbs where the other reflects: with {_percent(neutral.share)} of it the two "
            f"cancel as far as they can, at C* {neutral.chroma:.1f} and value "
            f"{neutral.value:.1f}; by themselves they are of value {report.start.value:.1f} and "
            f"{_value(report):.1f}."
        )
    else:
        said.append("The two reflect much alike, and cancel little.")
    return said


def _value(report: Report) -> float:
    return float(lab_to_value(report.path.toward.lab, report.path.start.view))


def _share(stage: Stage) -> str:
    return _percent(stage.point.share)


def _percent(share: float) -> str:
    """Return a share in writing: "4 %", "0.3 %"."""
    percent = 100 * share
    if 1 <= percent <= 99:
        return f"{percent:.0f} %"
    return f"{percent:.2g} %" if percent < 1 else f"{percent:.4g} %"


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

"""What ``mixlab tints``, ``shades``, ``tones`` and ``blend`` write."""


from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from operator import itemgetter

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import Viewing, lab_to_lch, lab_to_munsell, lab_to_value
from mixlab.mixing.complements import MID_VALUE, Cancelled
from mixlab.mixing.ladders import EVEN, LOOKS_LIKE, Ladder
from mixlab.mixing.stages import BANDS, Extreme, Point, Stage, Turn, turn
from mixlab.mixing.value_chroma import Report as Summary
from mixlab.paint.mixtures import Mixture
from mixlab.paint.paints import Paint
from mixlab.show import fields
from mixlab.show.cli.console import amount as parts_text
from mixlab.show.cli.mix import hiding, show_care
from mixlab.show.report import (
    Field,
    Output,
    Page,
    amount,
    column,
    figures,
    group,
    numbers,
    rows,
    text,
    texts,
    truth,
)  # fmt: skip
from mixlab.show.why import STRENGTHS, why


@dataclass(frozen=True, eq=False)
class LadderReport:
    """A ladder and its report.

    Attributes
    ----------
    addition : "white", "black", "grey" or "mix"
    whites : whites that are compared at equal value
    ranked : complements and where they cancel, the best first
    with_white : CIELAB (3,) of the neutral mix let down with white, and where the two cancel when
        they are let down; None where white cannot tell
    holds : the grey with which value holds where half of the chroma is gone, and that mix
    """

    ladder: Ladder
    report: Summary
    addition: str
    whites: dict[str, list[Point]] = field(default_factory=dict)
    ranked: list[tuple[Paint, Cancelled]] = field(default_factory=list)
    with_white: tuple[Array, Cancelled] | None = None
    holds: tuple[Mixture, Point] | None = None

    @property
    def view(self) -> Viewing:
        """Light and observer."""
        return self.ladder.path.start.view

    @property
    def why(self) -> list[str]:
        """The reason in sentences."""
        return why(self.report, self.addition, self.with_white and self.with_white[1])


SHARE = fields.SHARE.but(meaning="share of what is added, in the whole")
_Seen = tuple[Point, fields.Colour]


def _at(point: Point, made: LadderReport) -> _Seen:
    return point, fields.Colour(point.lab, made.view, point.hvc)


POINT = (SHARE.of(lambda row: row[0]), *fields.colour(lambda row: row[1]))


def _point(key: str, meaning: str, of: Callable[[Summary], Point | None], *more: Field) -> Field:
    """Declare one place on the way; `more` reads the whole."""

    def get(made: LadderReport) -> tuple[_Seen, Summary] | None:
        point = of(made.report)
        return None if point is None else (_at(point, made), made.report)

    held = tuple(one.of(lambda row: row[0]) for one in POINT)
    return group(key, (*held, *(one.of(lambda row: row[1]) for one in more)), meaning, get)


DRIFT = amount("drift", "degrees", "how far the CIELCh hue turned from the start")
HUE_STEPS = amount("hue_steps", "Munsell hue steps",
                   "how far the hue turned from the start, of 100 in the circle")  # fmt: skip
STEPS = rows(
    "steps",
    (
        amount("step", "", "its number, from 1", lambda row: row[0] + 1),
        SHARE.but(get=lambda row: row[1].shares[row[0]]),
        amount("parts_of_mix", "parts", "of the mix that the ladder starts from",
               lambda row: row[1].whole[row[0]].start),
        amount("parts_added", "parts", "of what is added",
               lambda row: row[1].whole[row[0]].toward),
        *fields.mixture(lambda row: row[1].whole[row[0]].mixture),
        fields.MISS.but(meaning="from the exact step to the whole parts",
                        get=lambda row: row[1].whole[row[0]].miss),
        *fields.colour(lambda row: row[2]),
        DRIFT.but(get=lambda row: row[1].drift[row[0]]),
        HUE_STEPS.but(get=lambda row: row[1].hue_steps[row[0]]),
        fields.CONTRAST.but(get=lambda row: row[1].contrast_ratio[row[0]]),
        fields.LET_DOWN.but(get=lambda row: row[1].let_down_contrast_ratio[row[0]]),
        fields.OPACITY.but(get=lambda row: row[1].opacity_class[row[0]]),
    ),
    "the steps, both ends included",
    lambda made: [
        (i, made.ladder, colour)
        for i, colour in enumerate(fields.colours(made.ladder.lab, made.view))
    ],
)


_Curves = tuple[Stage, LadderReport, _Seen]


def _curves(at: Stage, made: LadderReport) -> _Curves:
    return at, made, _at(at.point, made)


def _extreme(key: str, meaning: str, which: str, place: int = 0) -> Field:
    def get(row: _Curves) -> Extreme | None:
        found = getattr(row[0], which)
        return found[place] if place < len(found) else None

    return group(key, (amount("nm", "nm", "wavelength"),
                       amount("height", "0..1", "reflectance there")), meaning, get)  # fmt: skip


def _turn(row: _Curves) -> Turn | None:
    return turn(row[1].report.stages[0], row[0])


STAGE = (
    *(one.of(lambda row: row[2]) for one in POINT),
    _extreme("reflectance_maximum", "where most is reflected", "maxima"),
    _extreme("second_maximum", "on the minimum's other side, if half as high", "maxima", 1),
    _extreme("reflectance_minimum", "where least is reflected", "minima"),
    _extreme("second_minimum", "on the maximum's other side, if half as deep", "minima", 1),
    group("bands", tuple(
        amount(name, "0..1", f"reflectance of {low}-{high} nm, as the eye weighs it",
               lambda row, n=n: row[0].bands[n])
        for n, (name, (low, high)) in enumerate(BANDS.items())
    ), "three bands of light", lambda row: row),
    group("hue_turn", (HUE_STEPS.but(get=lambda turn: turn.steps),
                   DRIFT.but(get=lambda turn: turn.degrees),
                   text("toward", "the Munsell hue family that it turns to"),
                   text("gains", "the band that has gained, as the eye counts"),
                   text("on", "the band on which it has gained")),
          "how the hue turned from the start", _turn),
    numbers("reflectances", "0..1", "measured, 380 to 730 nm by 10",
            lambda row: row[0].reflectance, digits=5),
    numbers("k_over_s", "", "K/S, 380 to 730 nm by 10", lambda row: row[0].k_over_s, digits=6),
    Field("scattering_dominates", "truths", "whether the mix absorbs less than it "
          "scatters, 380 to 730 nm by 10", get=lambda row: row[0].scattering_dominates),
)  # fmt: skip
CURVES = rows(
    "curves", STAGE, "the curves at places on the way",
    lambda made: [_curves(at, made) for at in made.report.stages],
)  # fmt: skip
VALUE_GAIN = amount("value_gain", "Munsell value per part", "gained since the row before")
CHROMA_GAIN = amount("chroma_gain", "C* per part", "gained since the row before")
CANCELLED = (
    SHARE,
    amount("let_down_C", "C*", f"left there, let down with white to Munsell value {MID_VALUE:g}",
           lambda row: lab_to_lch(row.let_down)[1]),
    amount("undiluted_C", "C*", "of the same mix without white",
           lambda row: lab_to_lch(row.lab)[1]),
    numbers("ends_C", "C*", "of the two by themselves, let down so", lambda row: row.ends,
            digits=3, csv=False),
)  # fmt: skip
FIELDS = (
    *fields.mixture(lambda made: made.ladder.path.start),
    text("toward", "the mix that is added, in the notation", lambda made: made.ladder.path.toward),
    text("even", "what the steps are even in: value, parts or difference",
         lambda made: made.ladder.even),
    _point("start", "the mix by itself", lambda told: told.start),
    _point("peak", "where C* is greatest", lambda told: told.peak,
           *(amount(f"share_at_{name}_strength", "0..1",
                    f"share at which tubes of {name} the tinting strength peak",
                    lambda told, times=times: told.peak_at_strength(times), digits=6)
             for name, times in zip(("half", "double"), STRENGTHS, strict=True))),
    truth("rises", "whether C* rises before it falls", lambda made: made.report.rises),
    _point("steepest", "from where the next doubling costs most C*", lambda told: told.steepest,
           amount("per_doubling", "C*", "what the next doubling of the share costs")),
    _point("half", "where half of the C* of the peak is gone", lambda told: told.half),
    _point("neutral", "nearest to neutral", lambda told: told.neutral),
    _point("darkest", "of the least value", lambda told: told.darkest),
    group("grey_that_holds",
          (*fields.mixture(lambda row: row[0][0]),
           group("half", POINT, "where half of the C* is gone",
                 lambda row: _at(row[0][1], row[1]))),
          "the grey with which value holds where half of the C* is gone",
          lambda made: made.holds and (made.holds, made)),
    group("neutral_let_down", fields.colour(),
          f"the same mix, let down with white to Munsell value {MID_VALUE:g}",
          lambda made: made.with_white and fields.Colour(made.with_white[0], made.view)),
    group("cancelled",
          (*(one.of(lambda row: row[0]) for one in CANCELLED),
           *fields.colour(lambda row: row[1])),
          "nearest to neutral of the mixes let down so",
          lambda made: made.with_white and (
              made.with_white[1], fields.Colour(made.with_white[1].let_down, made.view))),
    _point("farthest_hue", "where the hue has turned most", lambda told: told.farthest, DRIFT),
    rows(
        "gained_per_part",
        (amount("parts_added", "parts", "of what is added", lambda row: row[0].parts),
         *(one.of(lambda row: row[1]) for one in POINT),
         VALUE_GAIN.of(lambda row: row[0]), CHROMA_GAIN.of(lambda row: row[0])),
        "what parts of it gain, to one part of the mix",
        lambda made: [(row, _at(row.point, made)) for row in made.report.gained_per_part],
    ),
    texts("why", "the reason, in sentences"),
    CURVES,
    group("addition", STAGE, "the curves of what is added, by itself",
          lambda made: _curves(made.report.added, made)),
    _point("evenly_scattered", "the last of the curves' mixes if each paint scattered all light "
           "alike", lambda told: told.evenly_scattered),
    rows(
        "whites",
        (fields.PAINT.but(get=lambda row: row[0]),
         rows("points", POINT, "at equal values", lambda row: row[1])),
        "whites that are compared at equal value",
        lambda made: [(name, [_at(p, made) for p in points])
                      for name, points in made.whites.items()],
    ),
    rows(
        "complements",
        (fields.PAINT.but(get=lambda row: row[0].id),
         *(one.of(lambda row: row[1]) for one in CANCELLED)),
        "complements on the palette, the best first",
        lambda made: made.ranked,
    ),
    STEPS,
)  # fmt: skip
OUTPUTS = {
    name: Output(name, FIELDS, csv=STEPS) for name in ("tints", "shades", "tones", "blend")
}

_RANKED = (
    column("paint", lambda row: row[0].id),
    figures("let down", lambda row: CANCELLED[1].read(row[1]), "C* {:.1f}".format),
    figures("undiluted", lambda row: CANCELLED[2].read(row[1]), "C* {:.1f}".format),
    figures("at", lambda row: row[1].share, lambda share: share_text(share)),
)


def toward_text(made: Ladder) -> str:
    """Return what a ladder goes toward: a paint, or a mix."""
    return _mix_text(made.path.toward)


def titled(mix: Mixture) -> str:
    """Return what a mix is called in a picture: a paint in plain words, or the mix."""
    return mix.paints[0].id.replace("-", " ") if len(mix.paints) == 1 else _mix_text(mix)


def _mix_text(mix: Mixture) -> str:
    if len(mix.paints) == 1:
        return mix.paints[0].id
    return " + ".join(f"{parts_text(n)} {id}" for id, n in mix.parts.items())


# --- for a person -------------------------------------------------------------------------------


def tell(page: Page, given: LadderReport) -> None:
    """Lay out a ladder, the value/chroma report, and the reason."""
    made, told, addition = given.ladder, given.report, given.addition
    view = made.path.start.view
    page.entry("Mix", str(made.path.start))
    page.entry("Toward", toward_text(made))
    page.entry("Steps", f"{len(made.shares)}, even in {EVEN_WORDS[made.even]}")
    page.entry("Opacity", f"{made.path.start.opacity_class()}: {hiding(made.path.start)}")
    page.light(view)
    page.head("Ladder (parts of the mix : parts added)")
    page.table(SHOWN, STEPS.read(given), hexes=made.hex, numbered=True)
    rough = [i + 1 for i, step in enumerate(made.whole) if step.miss > LOOKS_LIKE]
    page.say("Added: exact share. Drift: of the hue, in Munsell's 100 steps. Contrast: contrast "
             "ratio of one coat. Darkness is not hiding: a dark paint has it by absorbing and, "
             "thinned, shows the ground; the class counts both.")  # fmt: skip
    if rough:
        page.say(f"Whole parts miss step {', '.join(map(str, rough))} by more than "
                 f"{LOOKS_LIKE:g} CIEDE2000; --parts allows more.")  # fmt: skip
    if made.even == EVEN[0] and (turn := made.path.turn) is not None:
        value = float(lab_to_value(made.path.lab(turn), view))
        page.say(f"Value turns on the way, at {value:.1f} with {share_text(turn)} added: the steps "
                 "are even along the way there and back.")  # fmt: skip
    if not all(made.in_gamut):
        beyond = [str(i) for i, shown in enumerate(made.in_gamut, start=1) if not shown]
        page.say(f"Beyond sRGB, swatches clipped: {', '.join(beyond)}.")

    page.head("Value and chroma")
    for label, words in _told(told, addition, given.with_white, given.holds):
        page.entry(f"  {label}", words, indent=17)
    page.head("Gained per part of it, to one part of the mix")
    page.table(_GAINED, told.gained_per_part)
    page.head("Why")
    for sentence in given.why:
        page.say(sentence)
    if given.whites:
        _tell_whites(page, given.whites)
    if given.ranked:
        page.head("Complements on the palette, by what chroma is left")
        page.table(_RANKED, given.ranked[:5])
        page.say(f"Let down with white to value {MID_VALUE:g}, where a cast is seen; the share is "
                 "that of the paint.")  # fmt: skip
    show_care(page, made.mixtures[len(made.shares) // 2])


EVEN_WORDS = {"value": "Munsell value", "parts": "parts", "difference": "CIEDE2000"}


def share_text(share: float) -> str:
    """Return a share in per cent, finer near the whole."""
    percent = 100 * share
    return f"{percent:.2g}%" if percent < 98.5 else f"{percent:.4g}%"


SHOWN = (
    figures("parts", lambda row: row[1].whole[row[0]], lambda step: f"{step.start}:{step.toward}"),
    figures("added", lambda row: float(row[1].shares[row[0]]), share_text),
    column("Munsell", lambda row: row[2].munsell),
    figures("C*", lambda row: row[1].lch[row[0], 1], ".1f"),
    figures("h", lambda row: row[1].lch[row[0], 2] + 0 * row[1].drift[row[0]], ".0f"),
    figures("drift", lambda row: float(row[1].hue_steps[row[0]]), "+.1f"),
    figures("contrast", lambda row: row[1].contrast_ratio[row[0]], ".2f", spare=True),
    column("class", lambda row: row[1].opacity_class[row[0]], spare=True),
)
_GAINED = (
    figures("parts", lambda row: row.parts),
    figures("value", lambda row: row.point.value, ".1f"),
    figures("C*", lambda row: row.point.chroma, ".1f"),
    VALUE_GAIN.shown("value a part", "+.2f"),
    CHROMA_GAIN.shown("C* a part", "+.2f"),
)


def _about(share: float) -> str:
    """Return a share as parts to parts; "" where it is all of one."""
    if not 0 < share < 1:
        return ""
    parts = share / (1 - share)
    return f" (about {parts:.0f} to 1)" if parts >= 1 else f" (about 1 to {1 / parts:.0f})"


def _told(
    told: Summary, addition: str, with_white: tuple[Array, Cancelled] | None,
    holds: tuple[Mixture, Point] | None,
) -> Iterator[tuple[str, str]]:
    """Return the lines of the report: what, and the figures."""
    what, other = (addition, addition) if addition != "mix" else ("it", "the other")

    def at(point: Point) -> str:
        place = f"at {share_text(point.share)} of {what}{_about(point.share)}"
        if point.share in (0, 1):
            place = ("the mix" if point.share == 0 else other) + " by itself"
        return f"{point.munsell}, C* {point.chroma:.1f}, {place}"

    yield "by itself", f"{told.start.munsell}, C* {told.start.chroma:.1f}"
    if told.rises:
        weak, strong = (share_text(told.peak_at_strength(times)) for times in STRENGTHS)
        tubes = f"; {weak} to {strong} in tubes of half to double the strength"
        yield "peak", at(told.peak) + (tubes if addition == "white" else "")
    else:
        yield "peak", "the mix by itself: its chroma only falls"
    if told.steepest is not None:
        yield "falls fastest", (
            f"from {share_text(told.steepest.share)} of {what} on: the next doubling costs "
            f"{told.per_doubling:.1f} C*"
        )
    yield "half gone", at(told.half) if told.half else "never, or too little to halve"
    if addition == "mix":
        yield "neutral", f"{at(told.neutral)}: the nearest to neutral"
    if with_white is not None:
        tint, best = with_white
        seen = write_munsell(lab_to_munsell(tint, told.path.start.view))
        yield "with white", (
            f"let down to value {MID_VALUE:g} that mix is {seen}, C* {np.hypot(*tint[1:]):.1f}; "
            f"nearest to neutral there, C* {np.hypot(*best.let_down[1:]):.1f}, at "
            f"{share_text(best.share)} of it{_about(best.share)}"
        )
    if told.farthest is not None and abs(told.drift) >= 1:
        yield "hue", (
            f"drifts by {told.hue_steps:+.1f} of Munsell's 100 steps ({told.drift:+.0f} degrees of "
            f"CIELCh), to {told.farthest.munsell} at {share_text(told.farthest.share)} of {what}"
        )
    if addition == "grey" and told.darkest.value < min(told.start.value, told.added.point.value):
        dark = told.darkest
        yield "value", f"drops to {dark.value:.1f} on the way, at {share_text(dark.share)} of grey"
    if holds is not None:
        grey, half = holds
        yield "value holds", (
            f"at {half.value:.1f} where half of the chroma is gone, with "
            f"{share_text(half.share)} of a grey of value "
            f"{float(lab_to_value(grey.lab, grey.view)):.1f} (--value)"
        )


def _tell_whites(page: Page, whites: dict[str, list[Point]]) -> None:
    page.head("Whites at equal value: C* (share of white)")

    columns = [
        column(name, itemgetter(i), lambda point: f"{point.chroma:.1f} ({share_text(point.share)})")
        for i, name in enumerate(whites)
    ]
    value = figures("value", lambda points: points[0].value, ".1f")
    page.table([value, *columns], zip(*whites.values(), strict=True))

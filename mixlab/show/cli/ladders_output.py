"""What ``mixlab tints``, ``shades`` and ``tones`` write of several mixes."""

from mixlab.show.cli.ladder_output import (
    EVEN_WORDS,
    FIELDS,
    SHOWN,
    STEPS,
    LadderReport,
    share_text,
    toward_text,
)
from mixlab.show.cli.mix import show_care
from mixlab.show.report import Output, Page, column, figures, rows, text

_OF = text("start_mix", "the mix that its ladder starts from, in the notation",
           lambda made: made.ladder.path.start)  # fmt: skip
SEVERAL = {
    name: Output(
        name,
        (rows("ladders", FIELDS, "of several mixes, in the order given", lambda made: made),),
        csv=rows("every_step",
                 (_OF.of(lambda row: row[0]),
                  *(one.of(lambda row: row[1]) for one in STEPS.fields)),
                 "the steps of all the ladders",
                 lambda made: [(one, step) for one in made for step in STEPS.read(one)]),
    )
    for name in ("tints", "shades", "tones")
}  # fmt: skip

_SIDE_BY_SIDE = (
    column("mix", lambda made: str(made.ladder.path.start)),
    column("by itself", lambda made: made.report.start.munsell),
    figures("C*", lambda made: made.report.start.chroma, ".1f"),
    figures("peak", lambda made: made.report.peak.chroma, ".1f"),
    figures("at", lambda made: share_text(made.report.peak.share)),
    figures("half gone at", lambda made: made.report.half,
            lambda half: share_text(half.share)),
    figures("drift", lambda made: made.report.drift, "+.0f"),
)


def tell_several(page: Page, several: list[LadderReport]) -> None:
    """Lay out the ladders of several mixes side by side."""
    first = several[0].ladder
    page.entry("Toward", " or ".join(dict.fromkeys(toward_text(one.ladder) for one in several)))
    page.entry("Steps", f"{len(first.shares)}, even in {EVEN_WORDS[first.even]}")
    page.light(first.path.start.view)
    page.head("Side by side")
    page.table(_SIDE_BY_SIDE, several, hexes=[one.ladder.hex[0] for one in several])
    page.say("Peak: the greatest C*, and the share added there. Drift: of the CIELCh hue, in "
             "degrees, where it is greatest.")  # fmt: skip
    for one in several:
        made = one.ladder
        page.head(f"{made.path.start} (parts of the mix : parts added)")
        page.table(SHOWN, STEPS.read(one), hexes=made.hex, numbered=True)
    show_care(page, *(one.ladder.mixtures[len(first.shares) // 2] for one in several))

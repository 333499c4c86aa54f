"""What came of a search, in sentences."""

from mixlab.mixing.adjust import Adjustment
from mixlab.mixing.pile_search import HALF_AGAIN


def in_words(made: Adjustment) -> list[str]:
    """Return what came of it, in sentences; none where a small addition gets there."""
    if not made.parts and made.within_tolerance:
        return ["It is there already, within the tolerances. Add nothing."]
    said = []
    if not made.within_tolerance and made.other is None:
        off = " and ".join(made.directions)
        said.append(
            f"No addition of up to half the pile takes it there. What serves best leaves it {off}."
            if made.parts
            else f"No addition brings the pile nearer; as it stands it is {off}."
        )
    more = made.share if made.within_tolerance else made.beyond
    if more is not None and more > HALF_AGAIN:
        said.append(
            "To get there takes so much paint that little of the pile is left." if more > 4
            else f"To get there takes {more:.1f} times as much paint again." if more > 1
            else f"To get there takes {100 * more:.0f} % more paint."
        )
    elif more is not None and not made.within_tolerance:
        said.append(f"Some {100 * more:.3g} % of the pile would do it, in finer parts.")
    if made.goal.loosened:
        said.append("What was only to be kept is kept less well.")
    answer = made.fresh_recipe
    if made.fresh is not None:
        recipe = made.fresh if answer is None else answer.recipe
        said.insert(0, f"Better a fresh mix: {recipe}.")
    elif answer is not None and (out := answer.out_of_reach) is not None:
        words = " and ".join(out.directions)
        said.append(
            f"The tubes by themselves do not reach it either: for them it is {words}"
            + (f"; {out.helper.paint} would reach it." if out.helper else ".")
        )
    return said


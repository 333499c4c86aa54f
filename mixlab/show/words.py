"""What came of a search, in sentences."""

from mixlab.mixing.adjust import Adjustment


def in_words(made: Adjustment) -> list[str]:
    """Return what came of it, in sentences; none where the mix gets there."""
    if made.within_tolerance:
        return [] if made.parts else ["It is there already, within the tolerances. Add nothing."]
    off = " and ".join(made.directions)
    said = [
        f"No addition takes it there. The least harmful leaves it {off}."
        if made.parts
        else f"No addition brings it nearer; as it stands it is {off}."
    ]
    if made.beyond is not None:
        said.append(
            f"To get there takes {made.beyond:.1f} times as much paint as there is in the pile: "
            "make a new pile, and use this one up in it."
            if made.beyond > 1
            else f"Some {100 * made.beyond:.3g} % of the pile would do it, in finer parts."
        )
    fresh = made.fresh_recipe
    if fresh is not None and fresh.in_reach:
        said.append(f"A fresh recipe from the tubes: {fresh.recipe}.")
    elif fresh is not None and (out := fresh.out_of_reach) is not None:
        words = " and ".join(out.directions)
        said.append(
            f"The tubes by themselves do not reach it either: for them it is {words}"
            + (f"; {out.helper.paint} would reach it." if out.helper else ".")
        )
    return said

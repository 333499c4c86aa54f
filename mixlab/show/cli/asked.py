"""Colours asked for: the options that several commands take, and what they name."""

from typing import Annotated

import typer

from mixlab.colour.spaces import Viewing
from mixlab.errors import ReachError
from mixlab.targets.many import Colours, from_list, from_picture
from mixlab.targets.photos import GREY_CARD
from mixlab.targets.standards import STANDARDS, from_standard, munsell_chips

TARGETS = ("--targets", "--photo", "--chips", "--standard")

Targets = Annotated[
    str | None,
    typer.Option(metavar="FILE", help="Colours asked for: a CSV of Lab, hex or Munsell."),
]
Photo = Annotated[
    str | None, typer.Option(metavar="FILE", help="Colours asked for: a picture, by area.")
]
Grey = Annotated[
    str | None,
    typer.Option(metavar="X,Y", help="A place known to be neutral: takes the cast out."),
]
Chips = Annotated[
    bool, typer.Option("--chips", help="Colours asked for: chips of the Munsell renotation.")
]
Standard = Annotated[
    str | None, typer.Option(metavar="NAME", help=f"Colours asked for: {', '.join(STANDARDS)}.")
]


def asked_for(
    targets: str | None, photo: str | None, chips: bool, standard: str | None, view: Viewing,
    grey: str | None, grey_reflectance: float,
) -> Colours | None:  # fmt: skip
    """Return the colours asked for, in the one way that was given; None if in none."""
    given = [
        option
        for option, value in zip(TARGETS, (targets, photo, chips or None, standard), strict=True)
        if value is not None
    ]
    if len(given) > 1:
        raise ReachError(f"{' and '.join(given)} were given; colours are asked for in one way")
    if grey is not None and photo is None:
        raise ReachError("--grey is a place in a picture; give --photo as well")
    if grey is None and grey_reflectance != GREY_CARD:
        raise ReachError("--grey-reflectance needs a place in the picture: --grey X,Y")
    if targets is not None:
        return from_list(targets, view)
    if photo is not None:
        return from_picture(photo, view, grey, grey_reflectance)
    if standard is not None:
        return from_standard(standard, view)
    return munsell_chips(view) if chips else None

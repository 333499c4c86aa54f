"""Colours asked for: the options that several commands take, and what they name."""

import re
from typing import Annotated

import typer

from mixlab.colour.spaces import Viewing
from mixlab.errors import MixlabError, NotationError, ReachError, TargetError
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.plan.key import key_of
from mixlab.targets.many import Colours, from_list, from_picture
from mixlab.targets.one import Target, from_text, sampled
from mixlab.targets.photo_files import read_photo
from mixlab.targets.photos import GREY_CARD
from mixlab.targets.places import Picture
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
At = Annotated[
    str | None,
    typer.Option(metavar="X,Y", help="Place in the picture: x,y or left,top,right,bottom."),
]
Key = Annotated[
    str,
    typer.Option(
        metavar="KEY", help="How a photo's range meets the paint's: fit; none; or 3 (low key) to 9 "
        "(high key), the value at which its middle is set.",
    ),
]  # fmt: skip
Scene = Annotated[
    str | None,
    typer.Option(
        metavar="DARK,LIGHT", help="The scene's darkest and lightest: two Munsell values, or two "
        "places x,y,x,y; else 0.5 % of the area lies beyond each.",
    ),
]  # fmt: skip
Mark = Annotated[
    str | None,
    typer.Option(metavar="FILE", help="Write the picture with a grid and where each main colour "
                 "lies, a .png or .svg."),
]  # fmt: skip
Radius = Annotated[float, typer.Option(help="Average over a disc of this radius [pixels].")]
Chips = Annotated[
    bool, typer.Option("--chips", help="Colours asked for: chips of the Munsell renotation.")
]
Standard = Annotated[
    str | None, typer.Option(metavar="NAME", help=f"Colours asked for: {', '.join(STANDARDS)}.")
]


def grey_checked(grey: str | None, grey_reflectance: float) -> None:
    """Refuse the reflectance of a grey place that is not named; TargetError."""
    if grey is None and grey_reflectance != GREY_CARD:
        raise TargetError("--grey-reflectance needs a place in the picture: --grey X,Y")


def picture(
    photo: str | None, at: object, radius: float, grey: str | None, grey_reflectance: float,
    view: Viewing, tubes: Palette | None = None, key: str = "fit", scene: str | None = None,
) -> Picture | None:  # fmt: skip
    """Return the picture in which places are named; None, and no option of one, without a photo.

    Its colours are set in the key of the tubes, where they are given.
    """
    if photo is None:
        if (at, radius, grey, grey_reflectance) != (None, 0.0, None, GREY_CARD):
            raise TargetError("--at, --radius and --grey are for places in a picture: --photo FILE")
        if (key, scene) != ("fit", None):
            raise TargetError("--key and --scene are for pictures: --photo FILE")
        return None
    grey_checked(grey, grey_reflectance)
    taken = read_photo(photo)
    if tubes is None:
        return Picture(taken, grey, grey_reflectance, radius)
    neutral = sampled(taken, grey, radius).rgb if grey is not None else None
    fitted = key_of(taken, tubes, view, key, scene, neutral, grey_reflectance)
    return Picture(taken, grey, grey_reflectance, radius, fitted.target)


def in_photo(
    photo: str | None, at: str | None, radius: float, grey: str | None, grey_reflectance: float,
    view: Viewing, tubes: Palette | None = None, key: str = "fit", scene: str | None = None,
) -> Target | None:  # fmt: skip
    """Return the target of a place in a photo; None, and no option of a place, without a photo."""
    if photo is not None and at is None:
        raise TargetError("--photo needs a place in the picture: --at X,Y")
    found = picture(photo, at, radius, grey, grey_reflectance, view, tubes, key, scene)
    return None if found is None or at is None else found.place(at, view).target


def asked_for(
    targets: str | None, photo: str | None, chips: bool, standard: str | None, view: Viewing,
    grey: str | None, grey_reflectance: float, tubes: Palette | PigmentTable, key: str = "fit",
    scene: str | None = None,
) -> Colours | None:  # fmt: skip
    """Return the colours asked for, in the one way that was given; None if in none.

    Those of a photo are set in the key of the tubes.
    """
    given = [
        option
        for option, value in zip(TARGETS, (targets, photo, chips or None, standard), strict=True)
        if value is not None
    ]
    if len(given) > 1:
        raise ReachError(f"{' and '.join(given)} were given; colours are asked for in one way")
    if grey is not None and photo is None:
        raise ReachError("--grey is a place in a picture; give --photo as well")
    grey_checked(grey, grey_reflectance)
    if photo is None and (key, scene) != ("fit", None):
        raise ReachError("--key and --scene are for pictures: --photo FILE")
    if targets is not None:
        return from_list(targets, view)
    if photo is not None:
        taken = read_photo(photo)
        colours = from_picture(taken, view, grey, grey_reflectance)
        neutral = sampled(taken, grey, 0.0).rgb if grey is not None else None
        return key_of(taken, tubes, view, key, scene, neutral, grey_reflectance).colours(colours)
    if standard is not None:
        return from_standard(standard, view)
    return munsell_chips(view) if chips else None


def named(known: PigmentTable, text: str, view: Viewing) -> tuple[Target, Mixture | None]:
    """Return a colour that was typed as a mix, a paint, or in figures, and the mix if it is one."""
    figures: MixlabError | None = None
    if text.strip() not in known:
        try:
            return from_text(text, view), None
        except MixlabError as error:
            figures = error
    try:
        mixture = known.mix(text, view)
    except NotationError as error:
        if figures is None or " + " in text:
            raise
        if re.search(r"[,#/]", text):
            raise figures from None
        raise TargetError(f"{error}; {figures}") from None
    return Target(mixture.lab, view, str(mixture)), mixture

"""Colours asked for: the options that several commands take, and what they name."""

import re
from dataclasses import replace
from typing import Annotated

import typer

from mixlab import limits
from mixlab.colour.spaces import Viewing
from mixlab.errors import MixlabError, NotationError, ReachError, TargetError
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.picture.key import key_of
from mixlab.show.cli import options
from mixlab.show.cli.options import option
from mixlab.targets.many import Colours, from_list
from mixlab.targets.one import Target, from_text, sampled
from mixlab.targets.photo_files import read_photo
from mixlab.targets.photos import GREY_CARD
from mixlab.targets.places import Picture
from mixlab.targets.standards import STANDARDS, from_standard, munsell_chips

TARGETS = ("--targets", "--photo", "--chips", "--standard")

Targets = Annotated[
    str | None,
    option("FILE", "Colours asked for: a CSV of Lab, hex or Munsell, at most "
           f"{limits.COLOURS:,} rows."),
]  # fmt: skip
Photo = Annotated[
    str | None,
    option("FILE", "Colours asked for: a picture, by area, at most "
           f"{limits.PIXELS / 1e6:g} megapixels."),
]  # fmt: skip
At = Annotated[str | None, option("X,Y", "Place in the picture: x,y or left,top,right,bottom.")]
Mark = Annotated[
    str | None,
    typer.Option(metavar="FILE", help="Write the picture with a grid and where each main colour "
                 "lies, a .png or .svg."),
]  # fmt: skip
Chips = Annotated[
    bool, typer.Option("--chips", help="Colours asked for: chips of the Munsell renotation.")
]
Standard = Annotated[str | None, option("NAME", f"Colours asked for: {', '.join(STANDARDS)}.")]


def picture(
    usual: options.Usual, photo: str | None, at: object = None, radius: float = 0.0,
    tubes: Palette | PigmentTable | None = None,
) -> Picture | None:  # fmt: skip
    """Return the picture in which places are named; None, and no option of one, without a photo.

    Its colours are set in the key of the tubes.
    """
    grey, reflectance, key, scene = usual.grey, usual.grey_reflectance, usual.key, usual.scene
    if photo is None:
        if (at, radius, grey, reflectance) != (None, 0.0, None, GREY_CARD):
            raise TargetError("--at, --radius and --grey are for places in a picture: --photo FILE")
        if (key, scene) != ("fit", None):
            raise TargetError("--key and --scene are for pictures: --photo FILE")
        return None
    if grey is None and reflectance != GREY_CARD:
        raise TargetError("--grey-reflectance needs a place in the picture: --grey X,Y")
    made = Picture(read_photo(photo), usual.view, grey, reflectance, radius)
    neutral = sampled(made.photo, grey, radius).rgb if grey is not None else None
    fitted = key_of(made.photo, usual.tubes if tubes is None else tubes, usual.view, key, scene,
                    neutral, reflectance)  # fmt: skip
    return replace(made, set=fitted.set, notes=(fitted.words,) if fitted.fits else ())


def in_photo(
    usual: options.Usual, photo: str | None, at: str | None, radius: float
) -> Target | None:
    """Return the target of a place in a photo; None, and no option of a place, without a photo."""
    if photo is not None and at is None:
        raise TargetError("--photo needs a place in the picture: --at X,Y")
    found = picture(usual, photo, at, radius)
    return None if found is None or at is None else found.place(at).target


def asked_for(
    usual: options.Usual, targets: str | None, photo: str | None, chips: bool, standard: str | None,
    tubes: Palette | PigmentTable | None = None,
) -> tuple[Colours | None, Picture | None]:  # fmt: skip
    """Return the colours asked for, in the one way that was given, and the picture they are from.

    None if in none. Those of a photo are set in the key of the tubes.
    """
    given = [
        option
        for option, value in zip(TARGETS, (targets, photo, chips or None, standard), strict=True)
        if value is not None
    ]
    if len(given) > 1:
        raise ReachError(f"{' and '.join(given)} were given; colours are asked for in one way")
    taken, view = picture(usual, photo, tubes=tubes), usual.view
    if taken is not None:
        return taken.colours, taken
    if targets is not None:
        return from_list(targets, view), None
    if standard is not None:
        return from_standard(standard, view), None
    return (munsell_chips(view) if chips else None), None


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

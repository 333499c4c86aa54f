"""The names of paints as people type them, and mixes in writing.

A paint is found by its id, its Colour Index name or its common name, in capitals or not, with
spaces or hyphens; by some of its words where they fit one paint only: ``white`` in a palette of one
white, ``PV19 red`` where several are of PV19. ``PB15`` stands for every variety of it that is at
hand. A mix is written ``2 ultramarine-blue + 1 burnt-umber + 4 titanium-white``: a number of
parts, a space and a paint, joined by `` + ``; a name by itself is one part.
"""

import re
from collections.abc import Iterable, Mapping, Sequence

from mixlab import limits
from mixlab.errors import NotationError, suggestion
from mixlab.paint.paints import Paint
from mixlab.paint.pigments import index_base
from mixlab.text import shown

LEAST_PARTS, MOST_PARTS = 1e-15, 1e9
POSITIVE = f"parts must be above zero, at least {LEAST_PARTS:g} and at most {MOST_PARTS:g}"
_LISTED = 6  # paints that a name may stand for, in a message
_NUMBER = re.compile(r"[-+]?(?:[\d.,/½¼¾⅓⅔]+(?:e[-+]?\d+)?|nan|inf)", re.IGNORECASE)

Names = Mapping[str, Sequence[str]]
"""What each name, as :func:`plain` has it, can stand for: ids of paints."""


def plain(name: str) -> str:
    """Return a name in lower case, its words joined by hyphens: "titanium-white"."""
    return "-".join(re.findall(r"[^\W_]+(?:[:'.][^\W_]+)*", name.lower()))


def names_of(paints: Iterable[Paint]) -> dict[str, list[str]]:
    """Return the names of paints: ids, Colour Index names, common names.

    An id stands for its own paint. A Colour Index name stands for a blend of pigments only where no
    paint is of that pigment alone, and a common name only where it is none of the others.
    """
    paints = tuple(paints)
    names: dict[str, list[str]] = {}
    alone = [p for p in paints if len(set(map(index_base, p.colour_index))) == 1]
    for some, of in (
        (paints, lambda p: [p.id]),
        (alone, _index_names),
        (paints, _index_names),
        (paints, lambda p: [plain(p.name)]),
    ):
        more: dict[str, dict[str, None]] = {}
        for paint in some:
            for name in map(str.lower, filter(None, of(paint))):
                more.setdefault(name, {})[paint.id] = None
        names |= {name: list(ids) for name, ids in more.items() if name not in names}
    return names


def _index_names(paint: Paint) -> list[str]:
    """Return the Colour Index names of a paint, and each without its variety."""
    return [*paint.colour_index, *map(index_base, paint.colour_index)]


def find_name(name: str, names: Names, where: str = "") -> str:
    """Return the one id that `name` stands for.

    Raises
    ------
    NotationError : if there is none, with near names, or if there are several; begins with `where`
    """
    where = f"{where}: " if where else ""
    if found := _exactly(name, names):
        if len(found) > 1:
            raise NotationError(f"{where}{name} is borne by {', '.join(found)}; write the id")
        return found[0]
    words: dict[str, set[str]] = {}
    for key, ids in names.items():
        for id in ids:
            words.setdefault(id, set()).update(key.split("-"))
    fits = [id for id, own in words.items() if own.issuperset(plain(name).split("-"))]
    if len(fits) == 1:
        return fits[0]
    if fits:
        some = fits[:_LISTED]
        more = f" and {len(fits) - len(some)} more" if len(fits) > len(some) else ""
        raise NotationError(f"{where}{name} may be {', '.join(some)}{more}; write the id")
    base, *variety = name.split(":")
    if variety and (kin := _exactly(base, names)):
        raise NotationError(f"{where}no paint {name!r}; {base} is borne by {', '.join(kin)}")
    near = suggestion(plain(name), names) or "; 'mixlab paints' lists the bundled ones"
    raise NotationError(f"{where}no paint {name!r}{near}")


def _exactly(name: str, names: Names) -> Sequence[str]:
    """Return what a whole name can stand for."""
    tried = name.lower(), plain(name), re.sub(r"[\s_-]+", "", name).lower()
    return next((found for one in tried if (found := names.get(one))), ())


def is_name(name: str, names: Names) -> bool:
    """Return whether a whole name is that of a paint, or of several."""
    return bool(_exactly(name, names))


def parse_mix(text: str, names: Names, bare: bool = True) -> dict[str, float]:
    """Return parts by paint id of a mix in writing; `bare` lets a name by itself be one part.

    Raises
    ------
    NotationError : says which term cannot be read and why, with near names
    """
    parts: dict[str, float] = {}
    if len(text) > limits.LETTERS:
        raise NotationError(f"{shown(text)}: a mix of more than {limits.LETTERS} letters")
    if not text.strip():
        raise NotationError('an empty mix: write it as "2 ultramarine-blue + 1 titanium-white"')
    terms = re.split(r"\s\+\s|\s\+$|^\+\s", text)
    for number, term in enumerate(map(str.strip, terms), start=1):
        where = "" if bare and len(terms) == 1 and " " not in term else f"term {number} ({term!r})"
        amount, name = _term(term, where or f"term {number} ({term!r})", bare)
        if re.search(r"[+,]|\s\d", name) and not (bare and is_name(name, names)):
            raise NotationError(
                f"term {number} ({term!r}): terms are joined by a + with a space on either side"
            )
        paint = find_name(name, names, where)
        if paint in parts:
            raise NotationError(f"{where}: {paint} is in the mix already; add its parts together")
        parts[paint] = amount
    return parts


def _term(term: str, where: str, bare: bool) -> tuple[float, str]:
    """Return the parts and the paint of a term; one part where it has no number."""
    first, *rest = term.split(maxsplit=1)[:2] or [""]
    alone = not rest and (not bare or _NUMBER.fullmatch(first))
    if not first or first == "+" or alone:
        raise NotationError(f'{where}: write parts, a space and a paint, as in "2 burnt-umber"')
    amount, name = 1.0, term
    if rest and (not bare or _NUMBER.fullmatch(first)):
        try:
            amount, name = float(first), rest[0]
        except ValueError:
            point = "; decimals have a point, as 2.5" if "," in first else ""
            raise NotationError(
                f"{where}: {first!r} is not a number of parts{point}; "
                'write parts, a space and a paint, joined by " + "'
            ) from None
        if not LEAST_PARTS <= amount <= MOST_PARTS:
            raise NotationError(f"{where}: {POSITIVE}")
    return amount, name

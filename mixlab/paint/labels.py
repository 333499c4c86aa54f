"""What the label of a tube tells: a Colour Index name, and the cautions of paint that bears it."""


from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cache

from mixlab.errors import MixlabError
from mixlab.files import bundled
from mixlab.paint.paints import INDEX_NAME, Paint
from mixlab.paint.pigments import index_base
from mixlab.paint.tables import read_table

_TABLES = ("paints.csv", "oils.csv")


@cache
def _bundled() -> tuple[Paint, ...]:
    return tuple(paint for name in _TABLES for paint in read_table(bundled(name)))


def checked(index: Mapping[str, str], ids: Iterable[str]) -> Mapping[str, str]:
    """Return Colour Index names by id; MixlabError for another id, or what is no such name."""
    ids = tuple(ids)
    for id, names in index.items():
        if id not in ids:
            raise MixlabError(f"no paint {id!r} was read; there are {', '.join(ids)}")
        for name in names.split():
            if not INDEX_NAME.fullmatch(name):
                raise MixlabError(f"{id}: {name!r} is not a Colour Index name, as PB29")
    return index


def labelled(paints: Iterable[Paint], index: Mapping[str, str]) -> Iterator[Paint]:
    """Yield paints with their Colour Index names, and the cautions of bundled paint of those names.

    Parameters
    ----------
    index : Colour Index names by id, as {"kiln-blue": "PB29"}; a paint that is not in it and bears
        no name is taken at its id: "pb29", or that of a bundled paint, as "red-lead"
    """
    for paint in paints:
        if names := tuple(index.get(paint.id, "").split()):
            yield replace(paint, colour_index=names, cautions=_cautions(names) or paint.cautions)
        elif paint.colour_index:
            yield paint
        else:
            yield _by_id(paint)


def _by_id(paint: Paint) -> Paint:
    for other in _bundled():
        same = tuple(name.split(":")[0] for name in other.colour_index
                     if index_base(name) == paint.id)[:1]  # fmt: skip
        if same or other.id == paint.id:
            return replace(
                paint, colour_index=same or other.colour_index, cautions=other.cautions
            )
    return paint


def _cautions(names: Iterable[str]) -> str:
    """Return the cautions of bundled paints of these names, each once."""
    said = (next((p.cautions for p in _bundled()
                  if index_base(name) in map(index_base, p.colour_index)), None)
            for name in names)  # fmt: skip
    return "; ".join(dict.fromkeys(text for text in said if text is not None))

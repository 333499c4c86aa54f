"""What was read, in words: the mixture and the surface, from a name or from a companion file."""


import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from mixlab.errors import MixlabError, NotationError, ReadingError, suggestion
from mixlab.measure.readings.curves import Curve, Label, decode, read_whole
from mixlab.measure.readings.own import Sheet
from mixlab.paint.names import parse_mix
from mixlab.paint.paints import ID
from mixlab.text import shown

SURFACES = ("over-white", "over-black", "bare-white", "bare-black", "opaque")

_LONGEST = 500
_SURFACE = re.compile(
    r"(?:^|[ ,;:.]|\()[ ,;:]*((?:over|bare)[ _-](?:white|black)|opaque)\)?$", re.IGNORECASE
)
_SAMPLE = re.compile(r"([^:]+):\s*(.*)")
# a comma and three digits may part thousands, and is left for the notation to refuse
_DECIMAL_COMMA = re.compile(r"(?<!\S)([0-9]+),([0-9]{1,2})(?= )")


class _AnyPaint(Mapping[str, Sequence[str]]):
    """Names of paints that stand for themselves: readings may be of paint that no table has."""

    def __getitem__(self, name: str) -> Sequence[str]:
        if not ID.fullmatch(name):
            raise NotationError(
                f"{shown(name)} is not a paint's id, which is lower-case words joined by hyphens, "
                "as burnt-umber"
            )
        return (name,)

    def __iter__(self) -> Iterator[str]:
        return iter(())

    def __len__(self) -> int:
        return 0


_ANY = _AnyPaint()


def parts_of(mixture: str) -> dict[str, float]:
    """Return parts by paint of a mix in writing, of any paints; NotationError if it is not one.

    Parts may have decimal commas, as 9,9. They cannot be left out: a word by itself is the name of
    a sample.
    """
    return parse_mix(_DECIMAL_COMMA.sub(r"\1.\2", mixture), _ANY, bare=False)


def _surface_of(text: str) -> str:
    """Return the surface that is meant, e.g. "over-white"; ReadingError if there is none such."""
    word = re.sub(r"[ _]+", "-", text.strip().lower())
    if word and word not in SURFACES:
        raise ReadingError(
            f"{shown(text)} is not a surface ({', '.join(SURFACES)})" + suggestion(word, SURFACES)
        )
    return word


def _is_mix(text: str) -> bool:
    try:
        return bool(parts_of(text))
    except NotationError:
        return False


def _parted(name: str) -> tuple[str, str]:
    """Return a name without the surface that it ends in, and that surface, "" if it ends in none.

    ``04B, over white`` is ("04B", "over-white").
    """
    name = " ".join(name.split())[:_LONGEST]
    found = _SURFACE.search(name)
    if found is None:
        return name, ""
    return name[: found.start()].rstrip(" ,;:.("), _surface_of(found[1])


def _label(name: str) -> Label:
    """Return what a name says, as ``04B: 9 zinc-white + 1 bone-black, over white``.

    The sample and the surface may be missing; so may the mixture, as in ``04B bare white``.

    Raises
    ------
    NotationError : if a mix with a + in it is not in the notation
    """
    name, surface = _parted(name)
    sample = ""
    if (parted := _SAMPLE.fullmatch(name)) and (_is_mix(parted[2]) or " + " in parted[2]):
        sample, name = parted[1].strip(), parted[2]
    if _is_mix(name):
        return Label(sample, name, surface)
    if " + " in name:
        parts_of(name)  # raises, and says what is wrong
    return Label(sample or name, "", surface)


def written(parts: dict[str, float]) -> str:
    """Return the name of a drawdown that has none of its own: its mixture."""
    return " + ".join(f"{n:g} {paint}" for paint, n in sorted(parts.items()))


class Companion:
    """A CSV file that says what an instrument's readings are.

    Columns: ``sample`` and ``mixture``; ``surface`` where the instrument's name does not say it;
    ``id``, what the instrument's file calls the reading, where that is not the sample.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._rows: dict[str, Label] = {}
        self._used: set[str] = set()
        text, self.notes = decode(path, read_whole(path))
        sheet = Sheet.of(path, text, ("id", "sample", "mixture", "surface"))
        for word in ("sample", "mixture"):
            if word not in sheet.places:
                raise ReadingError(
                    f"{path}: the column {word} is missing; a file of samples has sample and "
                    "mixture, and where they are needed surface and id"
                )
        for where, _, said in sheet.rows():
            key = said.pop("id", "") or said["sample"]
            if not key:
                raise ReadingError(f"{path}, {where}, column sample: it is empty")
            if key in self._rows:
                raise ReadingError(f"{path}, {where}: {shown(key)} is there twice")
            column = "surface"
            try:
                surface = said["surface"] = _surface_of(said.get("surface", ""))
                column = "mixture"
                if said["mixture"] or not surface.startswith("bare"):
                    parts_of(said["mixture"])
            except MixlabError as error:
                raise ReadingError(f"{path}, {where}, column {column}: {error}") from None
            self._rows[key] = Label(**said)
        if not self._rows:
            raise ReadingError(f"{path}: it has a header but no samples")

    def find(self, curve: Curve) -> Label | None:
        """Return what is said of a reading, by its names, or None.

        A name that ends in a surface, as ``04B over white``, is found as it stands or as 04B.
        """
        whole = [(" ".join(name.split()), "") for name in curve.names]
        parted = [_parted(name) for name in curve.names]
        for name, ending in (*whole, *parted):
            if row := self._rows.get(name):
                self._used.add(name)
                surfaces = (row.surface, ending, curve.label.surface, *(one for _, one in parted))
                return replace(row, surface=next(filter(None, surfaces), ""))
        return None

    @property
    def unused(self) -> list[str]:
        """Names of the file that no reading bore."""
        return [name for name in self._rows if name not in self._used]


def _said(file: Path, curve: Curve, companion: Companion | None) -> Label:
    """Return what is known of a curve: from the companion, the file's columns, or its name."""
    if companion is not None and (found := companion.find(curve)):
        return found
    labels = []
    for name in curve.names:
        try:
            labels.append(_label(name))
        except NotationError as error:
            if not curve.label.mixture:
                raise ReadingError(f"{file}, {curve.where}, name {shown(name)}: {error}") from None
    label = next((one for one in labels if one.mixture), labels[0] if labels else Label())
    return curve.label | label


def identified(
    file: Path, curves: list[Curve], companion: Companion | None
) -> tuple[list[Curve], list[str]]:
    """Return curves with what is known of them filled in, and the names of those that are left.

    Words stay "" where nothing tells them: the sample where the mixture is its name, the surface
    where it is taken as opaque, the mixture of a bare ground that no drawdown owns.

    Raises
    ------
    ReadingError : if a mixture or a surface is not one, or a sample has two mixtures
    """

    def place(curve: Curve, word: str) -> str:
        column = "column " if curve.where.startswith("row") else ""
        return f"{file}, {curve.where}, {column}{word}"

    labelled = [(curve, _said(file, curve, companion)) for curve in curves]
    mixtures: dict[str, tuple[str, dict[str, float], str]] = {}
    for curve, said in labelled:
        if not said.mixture:
            continue
        try:
            parts = parts_of(said.mixture)
        except NotationError as error:
            raise ReadingError(f"{place(curve, 'mixture')}: {error}") from None
        first = mixtures.setdefault(
            said.sample or written(parts), (said.mixture, parts, curve.where)
        )
        if first[1] != parts:
            raise ReadingError(
                f"{file}, {curve.where}: sample {shown(said.sample)} is {shown(said.mixture)} here "
                f"and {shown(first[0])} in {first[2]}; one sample is one mixture"
            )
    known: list[Curve] = []
    left: list[str] = []
    for curve, said in labelled:
        try:
            surface = _surface_of(said.surface)
        except ReadingError as error:
            raise ReadingError(f"{place(curve, 'surface')}: {error}") from None
        mixture = said.mixture or mixtures.get(said.sample, ("",))[0]
        if mixture or surface.startswith("bare"):
            known.append(replace(curve, label=Label(said.sample, mixture, surface)))
        elif curve.label.sample and companion is None:
            raise ReadingError(f"{place(curve, 'mixture')}: it is empty")
        else:
            left.append(shown(next(filter(None, curve.names), curve.where)))
    return known, left

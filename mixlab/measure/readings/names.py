"""What was read, in words: the mixture and the surface, from a name or from a companion file."""


import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from mixlab.errors import NotationError, ReadingError, suggestion
from mixlab.measure.readings.curves import Curve, decode, read_whole, shown
from mixlab.measure.readings.own import cut_to, heads, rows
from mixlab.paint.names import parse_mix
from mixlab.paint.paints import ID

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


@dataclass(frozen=True)
class Told:
    """What a name says: the drawdown, the mixture as written, the surface; "" where it does not."""

    sample: str
    mixture: str
    surface: str


def parts_of(mixture: str) -> dict[str, float]:
    """Return parts by paint of a mix in writing, of any paints; NotationError if it is not one.

    Parts may have decimal commas, as 9,9. They cannot be left out: a word by itself is the name of
    a sample.
    """
    if len(mixture) > _LONGEST:
        raise NotationError(f"{shown(mixture)}: longer than {_LONGEST} letters")
    return parse_mix(_DECIMAL_COMMA.sub(r"\1.\2", mixture), _ANY, bare=False)


def surface_of(text: str) -> str:
    """Return the surface that is meant, e.g. "over-white"; ReadingError if there is none such."""
    word = re.sub(r"[ _]+", "-", text.strip().lower())
    if word not in SURFACES:
        raise ReadingError(
            f"{shown(text)} is not a surface ({', '.join(SURFACES)})" + suggestion(word, SURFACES)
        )
    return word


def is_mix(text: str) -> bool:
    """Return whether a text is a mix in writing."""
    try:
        parts_of(text)
    except NotationError:
        return False
    return True


def ends_in(name: str) -> tuple[str, str]:
    """Return a name without the surface that it ends in, and that surface, "" if it ends in none.

    ``04B, over white`` is ("04B", "over-white").
    """
    name = " ".join(name.split())[:_LONGEST]
    found = _SURFACE.search(name)
    if found is None:
        return name, ""
    return name[: found.start()].rstrip(" ,;:.("), surface_of(found[1])


def told_by(name: str) -> Told:
    """Return what a name says, as ``04B: 9 zinc-white + 1 bone-black, over white``.

    The sample and the surface may be missing; so may the mixture, as in ``04B bare white``.

    Raises
    ------
    NotationError : if a mix with a + in it is not in the notation
    """
    name, surface = ends_in(name)
    sample = ""
    if (parted := _SAMPLE.fullmatch(name)) and (is_mix(parted[2]) or " + " in parted[2]):
        sample, name = parted[1].strip(), parted[2]
    if is_mix(name):
        return Told(sample, name, surface)
    if " + " in name:
        parts_of(name)  # raises, and says what is wrong
    return Told(sample or name, "", surface)


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
        self.notes: list[str] = []
        self._rows: dict[str, Told] = {}
        self._used: set[str] = set()
        text, self.notes = decode(path, read_whole(path))
        lines, _ = rows(path, text)
        first = next(lines, None)
        if first is None:
            raise ReadingError(f"{path}: the file is empty")
        places, header = heads(path, first[1], ("id", "sample", "mixture", "surface"))
        for word in ("sample", "mixture"):
            if word not in places:
                raise ReadingError(
                    f"{path}: the column {word} is missing; a file of samples has sample and "
                    "mixture, and where they are needed surface and id"
                )
        for line, cells in lines:
            cells = cut_to(path, line, cells, len(header))
            told = {word: " ".join(cells[place].split()) for word, place in places.items()}
            key = told.get("id") or told["sample"]
            if not key:
                raise ReadingError(f"{path}, row {line}, column sample: it is empty")
            if key in self._rows:
                raise ReadingError(f"{path}, row {line}: {shown(key)} is there twice")
            surface = told.get("surface", "")
            try:
                if surface:
                    surface = surface_of(surface)
            except ReadingError as error:
                raise ReadingError(f"{path}, row {line}, column surface: {error}") from None
            try:
                if told["mixture"] or not surface.startswith("bare"):
                    parts_of(told["mixture"])
            except NotationError as error:
                raise ReadingError(f"{path}, row {line}, column mixture: {error}") from None
            self._rows[key] = Told(told["sample"], told["mixture"], surface)
        if not self._rows:
            raise ReadingError(f"{path}: it has a header but no samples")

    def find(self, names: Sequence[str]) -> Told | None:
        """Return what is said of a reading that bears these names, or None.

        A name that ends in a surface, as ``04B over white``, is found as it stands or as 04B.
        """
        for name in names:
            name = " ".join(name.split())
            if name in self._rows:
                self._used.add(name)
                return self._rows[name]
        for name in names:
            base, surface = ends_in(name)
            if surface and base in self._rows:
                self._used.add(base)
                row = self._rows[base]
                return Told(row.sample, row.mixture, row.surface or surface)
        return None

    @property
    def unused(self) -> list[str]:
        """Names of the file that no reading bore."""
        return [name for name in self._rows if name not in self._used]


def _told(file: Path, curve: Curve, companion: Companion | None) -> Told:
    """Return what is known of a curve: from the companion, the file's columns, or its name."""
    found = companion.find(curve.names) if companion is not None else None
    if found is not None:
        surface = found.surface or curve.surface
        if not surface:
            surface = next((s for n in curve.names if (s := ends_in(n)[1])), "")
        return Told(found.sample, found.mixture, surface)
    by_name = []
    for name in curve.names:
        try:
            by_name.append(told_by(name))
        except NotationError as error:
            if not curve.mixture:
                raise ReadingError(f"{file}, {curve.where}, name {shown(name)}: {error}") from None
    telling = [told for told in by_name if told.mixture] or by_name or [Told("", "", "")]
    return Told(
        curve.sample or telling[0].sample,
        curve.mixture or telling[0].mixture,
        curve.surface or telling[0].surface,
    )


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

    told = [(curve, _told(file, curve, companion)) for curve in curves]
    mixtures: dict[str, tuple[str, dict[str, float], str]] = {}
    for curve, said in told:
        if not said.mixture:
            continue
        try:
            parts = parts_of(said.mixture)
        except NotationError as error:
            raise ReadingError(f"{place(curve, 'mixture')}: {error}") from None
        key = said.sample or written(parts)
        known = mixtures.setdefault(key, (said.mixture, parts, curve.where))
        if known[1] != parts:
            raise ReadingError(
                f"{file}, {curve.where}: sample {shown(key)} is {shown(said.mixture)} here and "
                f"{shown(known[0])} in {known[2]}; one sample is one mixture"
            )
    known_curves: list[Curve] = []
    left: list[str] = []
    for curve, said in told:
        try:
            surface = surface_of(said.surface) if said.surface else ""
        except ReadingError as error:
            raise ReadingError(f"{place(curve, 'surface')}: {error}") from None
        mixture = said.mixture
        if not mixture and said.sample in mixtures:
            mixture = mixtures[said.sample][0]
        if mixture or surface.startswith("bare"):
            known_curves.append(
                replace(curve, sample=said.sample, mixture=mixture, surface=surface)
            )
        elif curve.sample and companion is None:
            raise ReadingError(f"{place(curve, 'mixture')}: it is empty")
        else:
            left.append(shown(next(filter(None, curve.names), curve.where)))
    return known_curves, left

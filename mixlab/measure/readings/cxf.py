"""Readings in CxF3 (ISO 17972-1), the exchange of colour data as XML.

The file is walked by defusedxml first, which refuses document types, entities and anything that
lies elsewhere, and its depth and its elements are counted; only then does colour-cxf, the parser
of the standard's schema, see it. Both come with the extra ``mixlab[cxf]``.

The wavelengths of a ReflectanceSpectrum are its
own StartWL, or that of its ColorSpecification, and the Increment of the latter.
"""


import logging
import warnings
from collections import Counter
from importlib import import_module
from io import BytesIO
from pathlib import Path
from typing import Any

from mixlab.errors import ReadingError
from mixlab.measure.readings.curves import (
    MOST_COLUMNS,
    MOST_READINGS,
    Curve,
    Label,
    curve_of,
    shown,
)

logging.getLogger("xsdata").addHandler(logging.NullHandler())  # else it talks on stderr

_DEEPEST = 64
_MOST_ELEMENTS = 500_000
_MOST_ATTRIBUTES = 100
_ROOT = "{http://colorexchangeformat.com/CxF3-core}CxF"
_SPECTRA = ("ReflectanceSpectrum", "CustomSpectrum")


def read_cxf(file: Path, content: bytes) -> tuple[list[Curve], list[str]]:
    """Return the reflectance curves of a CxF3 document, and notes.

    Names of a reading are its object's Name and Id; tags named Sample, Mixture and Surface say
    more. Of an object with spectra under several specifications one is taken: the one that most
    objects of the file have.

    Raises
    ------
    ReadingError : if the extra is missing, the document is unsafe or not CxF3, or an object in it
        does not make sense
    """
    try:
        safe = import_module("defusedxml.ElementTree")
        schema = import_module("colour_cxf.cxf3")
        parsers = import_module("xsdata.formats.dataclass.parsers")
        handlers = import_module("xsdata.formats.dataclass.parsers.handlers")
        config = import_module("xsdata.formats.dataclass.parsers.config")
    except ImportError:
        raise ReadingError(
            f"{file}: to read CxF3, install what it needs: pip install 'mixlab[cxf]'"
        ) from None
    _guard(file, content, safe)
    # makers add elements of their own, and dates that are none: neither is what we came for
    lenient = config.ParserConfig(
        fail_on_unknown_properties=False,
        fail_on_unknown_attributes=False,
        fail_on_converter_warnings=False,
    )
    # the same parser as the guard's, so that both see the same document
    parser = parsers.XmlParser(config=lenient, handler=handlers.XmlEventHandler)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            document = parser.from_bytes(content, schema.CxF)
    except (ValueError, TypeError, AttributeError, LookupError, SyntaxError) as error:
        raise ReadingError(f"{file}: not CxF3: {shown(str(error))}") from None
    return _curves(file, document)


def _guard(file: Path, content: bytes, safe: Any) -> None:
    """Raise ReadingError unless the document is small, shallow, without a doctype, and CxF3."""
    depth = elements = 0
    try:
        for event, element in safe.iterparse(
            BytesIO(content), events=("start", "end"), forbid_dtd=True
        ):
            if event == "end":
                depth -= 1
                element.clear()
                continue
            if not elements and element.tag != _ROOT:
                raise ReadingError(
                    f"{file}: XML, but not CxF3: its root is {shown(str(element.tag))}"
                )
            depth += 1
            elements += 1
            if depth > _DEEPEST:
                raise ReadingError(f"{file}: elements lie more than {_DEEPEST} deep; refused")
            if elements > _MOST_ELEMENTS:
                raise ReadingError(f"{file}: more than {_MOST_ELEMENTS} elements; refused")
            if len(element.attrib) > _MOST_ATTRIBUTES:
                raise ReadingError(
                    f"{file}: an element with more than {_MOST_ATTRIBUTES} attributes; refused"
                )
    except import_module("defusedxml").DefusedXmlException:
        raise ReadingError(
            f"{file}: it has a document type or entities, which no CxF3 file needs; refused"
        ) from None
    except (SyntaxError, ValueError, LookupError) as error:  # ParseError is a SyntaxError
        raise ReadingError(f"{file}: not well-formed XML: {shown(str(error))}") from None


def _curves(file: Path, document: Any) -> tuple[list[Curve], list[str]]:
    """Return the curves of a parsed document, and what was left."""
    resources = document.resources
    objects = _all(resources, "object_collection", "object_value")
    specifications = {
        s.id: s for s in _all(resources, "color_specification_collection", "color_specification")
    }
    spectra: list[tuple[Any, Any]] = []
    left: Counter[str] = Counter()
    for item in objects:
        for value in _all(item, "color_values", "choice"):
            kind = type(value).__name__
            if kind not in _SPECTRA or not _reflects(value, specifications):
                left[kind] += 1
            else:
                spectra.append((item, value))
        for value in _all(item, "device_color_values", "choice"):
            left[type(value).__name__] += 1
    usual = Counter(value.color_specification for _, value in spectra)
    taken: dict[int, Any] = {}
    for item, value in spectra:
        best = taken.get(id(item))
        if best is None or usual[value.color_specification] > usual[best]:
            taken[id(item)] = value.color_specification
    curves: list[Curve] = []
    other, geometries = 0, set()
    for item, value in spectra:
        if value.color_specification != taken[id(item)]:
            other += 1
            continue
        if len(curves) == MOST_READINGS:
            raise ReadingError(f"{file}: more than {MOST_READINGS} readings")
        specification = specifications.get(value.color_specification)
        curves.append(_curve(file, item, value, specification))
        geometries.add(_geometry(specification))
    if not curves:
        kinds = ", ".join(f"{n} {kind}" for kind, n in left.most_common(6))
        raise ReadingError(
            f"{file}: it has no reflectance spectra" + (f" (only {kinds})" if kinds else "")
        )
    notes = []
    if said := sorted(geometries - {""}):
        notes.append(f"geometry: {', '.join(said)}")
    if left:
        kinds = ", ".join(f"{n} {kind}" for kind, n in left.most_common(6))
        notes.append(f"left: {kinds}")
    if other:
        notes.append(f"left: spectra of the same objects under other specifications: {other}")
    return curves, notes


def _all(owner: Any, collection: str, items: str) -> list[Any]:
    """Return the items of a collection that may not be there."""
    held = getattr(owner, collection, None)
    return list(getattr(held, items, None) or [])


def _measured(specification: Any) -> Any:
    return getattr(specification, "measurement_spec", None)


def _reflects(value: Any, specifications: dict[Any, Any]) -> bool:
    """Return whether a spectrum is of reflectance; a CustomSpectrum is what its type says."""
    spec = specifications.get(value.color_specification)
    kind = getattr(getattr(_measured(spec), "measurement_type", None), "value", None)
    said = str(getattr(kind, "value", kind) or "")
    if type(value).__name__ == "CustomSpectrum":
        return said == "Spectrum_Reflectance"
    return "Transmittance" not in said and "Emissive" not in said


def _geometry(specification: Any) -> str:
    """Return the geometry of a specification in words, "" if it does not say."""
    choice = getattr(getattr(_measured(specification), "geometry_choice", None), "choice", None)
    sphere = getattr(choice, "value", None)
    if isinstance(sphere, str):
        return sphere.replace("_", " ").lower()
    angles = [getattr(choice, f"{end}_angle", None) for end in ("illumination", "measurement")]
    if all(isinstance(angle, float) for angle in angles):
        return "/".join(f"{angle:g}" for angle in angles)
    return ""


def _curve(file: Path, item: Any, value: Any, specification: Any) -> Curve:
    """Return one curve; ReadingError names the object."""
    where = f"object {shown(item.name or item.id or '')}"
    points = getattr(value, "spectral_point", None)
    if points is not None:
        grid = [point.wl for point in points]
        values = [point.value for point in points]
        if not all(isinstance(w, float) for w in grid):
            raise ReadingError(f"{file}, {where}: a SpectralPoint without a wavelength WL")
    else:
        span = getattr(_measured(specification), "wavelength_range", None)
        start = value.start_wl if value.start_wl is not None else getattr(span, "start_wl", None)
        step = getattr(span, "increment", None)
        if not isinstance(start, int) or not isinstance(step, int) or step <= 0:
            raise ReadingError(
                f"{file}, {where}: no WavelengthRange with StartWL and Increment in its "
                f"specification {shown(str(value.color_specification or ''))}"
            )
        # what is not a list of numbers stays as it was written
        values = value.value.split() if isinstance(value.value, str) else list(value.value or ())
        grid = [float(start + i * step) for i in range(len(values))]
    if len(grid) > MOST_COLUMNS:
        raise ReadingError(f"{file}, {where}: more than {MOST_COLUMNS} wavelengths")
    columns = [(f"{w:g} nm", float(w)) for w in grid]
    tags = {
        (tag.name or "").lower(): " ".join((tag.value or "").split())
        for collection in item.tag_collection
        for tag in collection.tag
    }
    names = tuple(text for text in (item.name, item.id) if text)
    label = Label(*(tags.get(word, "") for word in ("sample", "mixture", "surface")))
    return curve_of(file, where, columns, [str(v) for v in values], None, names, label)

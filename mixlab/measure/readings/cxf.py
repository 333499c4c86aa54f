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

from mixlab import limits
from mixlab.errors import ReadingError
from mixlab.measure.readings.curves import (
    Curve,
    Label,
    curve_of,
)
from mixlab.text import shown

logging.getLogger("xsdata").addHandler(logging.NullHandler())  # else it talks on stderr

_ROOT = "{http://colorexchangeformat.com/CxF3-core}CxF"


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
        events = ("start", "end")
        for event, element in safe.iterparse(BytesIO(content), events=events, forbid_dtd=True):
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
            if depth > limits.DEPTH:
                raise ReadingError(f"{file}: elements lie more than {limits.DEPTH} deep; refused")
            if elements > limits.ELEMENTS:
                raise ReadingError(f"{file}: more than {limits.ELEMENTS} elements; refused")
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
            if _reflects(value, specifications):
                spectra.append((item, value))
            else:
                left[type(value).__name__] += 1
        left.update(type(v).__name__ for v in _all(item, "device_color_values", "choice"))
    usual = Counter(value.color_specification for _, value in spectra)
    taken: dict[int, tuple[Any, Any]] = {}  # of each object, the spectrum that is most usual
    for item, value in spectra:
        best = taken.setdefault(id(item), (item, value))[1]
        if usual[value.color_specification] > usual[best.color_specification]:
            taken[id(item)] = item, value
    kinds = ", ".join(f"{n} {kind}" for kind, n in left.most_common(6))
    if not taken:
        only = f" (only {kinds})" if kinds else ""
        raise ReadingError(f"{file}: it has no reflectance spectra{only}")
    chosen = [
        (item, value, specifications.get(value.color_specification))
        for item, value in spectra
        if value.color_specification == taken[id(item)][1].color_specification
    ]
    if len(chosen) > limits.READINGS:
        raise ReadingError(f"{file}: more than {limits.READINGS} readings")
    curves = [_curve(file, *one) for one in chosen]
    geometries = sorted({_geometry(specification) for *_, specification in chosen} - {""})
    notes = [f"geometry: {', '.join(geometries)}"] if geometries else []
    if kinds:
        notes.append(f"left: {kinds}")
    if other := len(spectra) - len(chosen):
        notes.append(f"left: spectra of the same objects under other specifications: {other}")
    return curves, notes


def _all(owner: Any, collection: str, items: str) -> list[Any]:
    """Return the items of a collection that may not be there."""
    held = getattr(owner, collection, None)
    return list(getattr(held, items, None) or [])


def _measured(specification: Any) -> Any:
    return getattr(specification, "measurement_spec", None)


def _reflects(value: Any, specifications: dict[Any, Any]) -> bool:
    """Return whether it is a spectrum of reflectance; a CustomSpectrum is what its type says."""
    spec = specifications.get(getattr(value, "color_specification", None))
    kind = getattr(getattr(_measured(spec), "measurement_type", None), "value", None)
    said = str(getattr(kind, "value", kind) or "")
    match type(value).__name__:
        case "CustomSpectrum":
            return said == "Spectrum_Reflectance"
        case "ReflectanceSpectrum":
            return "Transmittance" not in said and "Emissive" not in said
    return False


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
        if not isinstance(start, int) or not isinstance(step, int) or not (
            0 < start < 10_000 and 0 < step < 10_000
        ):  # fmt: skip
            raise ReadingError(
                f"{file}, {where}: no WavelengthRange with StartWL and Increment in its "
                f"specification {shown(str(value.color_specification or ''))}"
            )
        # what is not a list of numbers stays as it was written
        values = value.value.split() if isinstance(value.value, str) else list(value.value or ())
        grid = [float(start + i * step) for i in range(len(values))]
    if len(grid) > limits.COLUMNS:
        raise ReadingError(f"{file}, {where}: more than {limits.COLUMNS} wavelengths")
    columns = [(f"{w:g} nm", float(w)) for w in grid]
    tags = {
        (tag.name or "").lower(): " ".join((tag.value or "").split())
        for collection in item.tag_collection
        for tag in collection.tag
    }
    names = tuple(text for text in (item.name, item.id) if text)
    label = Label(*(tags.get(word, "") for word in ("sample", "mixture", "surface")))
    return curve_of(file, where, columns, [str(v) for v in values], None, names, label)

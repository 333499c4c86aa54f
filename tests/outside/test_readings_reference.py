"""Reading measured paint, against a published set of readings and the standards of exchange.

Sources
-------
- Geldof, Proano Gaibor, Ligterink, Hendriks, Kirchner, "Reconstructing Van Gogh's palette to
  determine the optical characteristics of his paints", Heritage Science 6:17 (2018), CC0.
- ANSI CGATS.17 / ISO 28178, text form. The rules quoted are from memory.
- ISO 17972-1 (CxF3): the classes of colour-cxf (colour-science developers, BSD-3-Clause) were
  generated from the schema of the standard.
"""

import io
from collections import Counter
from importlib.resources import files

import numpy as np
import pandas as pd
import pytest

from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import WAVELENGTHS, reflectance_to_lab, viewing
from mixlab.errors import ReadingError
from mixlab.measure.readings import read_readings

INSIDE = slice(2, 33)  # 400-700 nm on the grid


@pytest.fixture(scope="module")
def published_frame(oil_readings):
    """The published readings as pandas reads them."""
    return pd.read_csv(oil_readings, dtype={"sample": str})


def figures_of(frame):
    return frame[[str(w) for w in range(400, 701, 10)]].to_numpy(float)


def test_the_published_oil_readings_are_read_whole(oil_readings, published_frame):
    found = read_readings(oil_readings)
    assert len(found.readings) == len(published_frame) == 104
    for name in ("sample", "mixture", "surface"):
        assert [getattr(r, name) for r in found.readings] == published_frame[name].tolist()
    taken = np.array([r.reflectance for r in found.readings])
    np.testing.assert_array_equal(taken[:, INSIDE], figures_of(published_frame))
    assert {r.covered for r in found.readings} == {(400.0, 700.0)}
    assert any("fractions of 1" in note for note in found.notes)
    # parts are percent by mass, as published
    np.testing.assert_allclose([sum(r.parts.values()) for r in found.readings], 100, atol=0.05)
    assert len(found.paints) == 13
    # 26 drawdowns, each over both grounds, with both grounds beside it
    of_each = Counter(r.sample for r in found.readings)
    assert len(of_each) == 26 and set(of_each.values()) == {4}


def test_every_other_wavelength_will_do(published_frame, oil_readings, tmp_path):
    # measured: mean 0.04, largest 0.10; by lines between them 0.14 and 0.55
    facts, curves = list(published_frame.columns[:3]), list(published_frame.columns[3:])
    path = tmp_path / "sparse.csv"
    published_frame[facts + curves[::2]].to_csv(path, index=False)
    whole, sparse = read_readings(oil_readings), read_readings(path)
    assert "read in steps of 20 nm; what lies between is filled in smoothly" in sparse.notes
    pairs = zip(whole.readings, sparse.readings, strict=True)
    labs = np.array([
        reflectance_to_lab(np.array([one.reflectance, other.reflectance]), viewing())
        for one, other in pairs
    ])  # fmt: skip
    misses = ciede2000(labs[:, 0], labs[:, 1])
    print(f"every other wavelength: mean {misses.mean():.2f}, largest {misses.max():.2f}")
    assert misses.mean() < 0.06 and misses.max() < 0.15


def test_wavelengths_may_fall_from_red_to_violet(published_frame, oil_readings, tmp_path):
    facts, curves = list(published_frame.columns[:3]), list(published_frame.columns[3:])
    path = tmp_path / "falling.csv"
    published_frame[facts + curves[::-1]].to_csv(path, index=False)
    whole, falling = read_readings(oil_readings), read_readings(path)
    for one, other in zip(whole.readings, falling.readings, strict=True):
        np.testing.assert_array_equal(one.reflectance, other.reflectance)


def test_grounds_and_films_are_not_confused(oil_readings):
    """A white ground is lighter than a black one, and the film over it no darker; plain optics."""
    found = read_readings(oil_readings).readings
    light = {(r.sample, r.surface): reflectance_to_lab(r.reflectance, viewing())[0] for r in found}
    for sample in {r.sample for r in found}:
        assert light[sample, "bare-white"] > 90 > 30 > light[sample, "bare-black"]
        # hiding films differ by their unevenness: 0.56 at most in the published figures
        assert light[sample, "over-white"] > light[sample, "over-black"] - 1


@pytest.mark.parametrize("full", [1, 100])
def test_the_published_readings_in_percent_and_in_cgats(
    oil_readings, published_frame, tmp_path, full
):
    """One table a CGATS.17 file: keywords, named fields, sets (sections 4 and 5, from memory)."""
    given = read_readings(oil_readings).readings
    text = io.StringIO()
    text.write('CGATS.17\nORIGINATOR\t"Heritage Science 6:17"\nNUMBER_OF_FIELDS\t33\n')
    fields = "\t".join(f"SPECTRAL_NM{w}" for w in range(400, 701, 10))
    text.write(f"BEGIN_DATA_FORMAT\nSAMPLE_ID\tSAMPLE_NAME\t{fields}\nEND_DATA_FORMAT\n")
    text.write("NUMBER_OF_SETS\t104\nBEGIN_DATA\n")
    values = figures_of(published_frame) * full
    for i, (r, row) in enumerate(zip(given, values, strict=True)):
        cells = "\t".join(f"{v:.4f}" for v in row)
        text.write(f'{i}\t"{r.sample}: {r.mixture}, {r.surface}"\t{cells}\n')
    text.write("END_DATA\n")
    path = tmp_path / "oil.txt"
    path.write_text(text.getvalue())
    again = read_readings(path).readings
    for a, b in zip(given, again, strict=True):
        assert (a.sample, a.parts, a.surface) == (b.sample, b.parts, b.surface)
        np.testing.assert_allclose(a.reflectance, b.reflectance, rtol=1e-12)


# ANSI CGATS.17, text form, from memory: the first word names the file's kind; KEYWORD declares a
# keyword of one's own; a # after a space begins a comment; strings with spaces are quoted, and a
# quote within one is doubled; any run of spaces, tabs and line ends parts two words; a table
# after the first may do without names of fields when they stay the same.
RULES = """\
CGATS.17

ORIGINATOR "mill pond"            # who
DESCRIPTOR "birch, seen from the ""near"" bank"
CREATED    "2026-10-09"
KEYWORD    "WEATHER"
WEATHER    "mist"
# SPECTRAL_NM400 in a comment is nothing
NUMBER_OF_FIELDS {fields}
BEGIN_DATA_FORMAT
SAMPLE_ID SAMPLE_NAME
{names}
END_DATA_FORMAT
NUMBER_OF_SETS 2
BEGIN_DATA
A1 "{first}" {values}
A#2   "{second}"
   {values}
END_DATA
NUMBER_OF_SETS 1
BEGIN_DATA
A3 "{third}" {values}   # the last
END_DATA
"""


def test_the_rules_of_cgats_text(tmp_path):
    grid = range(380, 731, 10)
    level = np.linspace(0.1, 0.7, len(grid))
    path = tmp_path / "pond.txt"
    path.write_text(RULES.format(
        fields=len(grid) + 2,
        names="\n".join(f"SPECTRAL_NM{w}" for w in grid),
        values=" ".join(f"{v:.5f}" for v in level),
        first="the ""near"" bank: 1 birch-grey, over white".replace('"', '""'),
        second="1 pond-green",
        third="2 birch-grey + 1 pond-green, over-black",
    ))  # fmt: skip
    found = read_readings(path).readings
    assert [(r.parts, r.surface) for r in found] == [
        ({"birch-grey": 1}, "over-white"),
        ({"pond-green": 1}, "opaque"),
        ({"birch-grey": 2, "pond-green": 1}, "over-black"),
    ]
    for reading in found:
        np.testing.assert_allclose(reading.reflectance, level, atol=5e-6)


# --- CxF3 ---------------------------------------------------------------------------------------


def test_a_document_of_the_standards_own_classes(oil_readings, tmp_path):
    """The published readings, written by the classes of the schema, come back figure for figure."""
    pytest.importorskip("defusedxml")
    colour_cxf = pytest.importorskip("colour_cxf")
    c = colour_cxf.cxf3
    given = read_readings(oil_readings).readings
    objects = [
        c.Object(
            object_type="Standard", name=f"{r.sample}: {r.mixture}, {r.surface}", id=str(i),
            color_values=c.ColorValues(choice=[c.ReflectanceSpectrum(
                value=[float(v) for v in r.reflectance[INSIDE]], color_specification="spin",
            )]),
        )
        for i, r in enumerate(given)
    ]  # fmt: skip
    spec = c.ColorSpecification(
        id="spin",
        measurement_spec=c.MeasurementSpec(
            measurement_type=c.MeasurementType(c.EspectrumType.SPECTRUM_REFLECTANCE),
            geometry_choice=c.GeometryChoice(choice=c.EsphereType.SPECULAR_INCLUDED),
            wavelength_range=c.WavelengthRange(start_wl=400, increment=10),
        ),
    )
    document = c.CxF(
        file_information=c.FileInformation(creator="mill pond"),
        resources=c.Resources(
            object_collection=c.ObjectCollection(object_value=objects),
            color_specification_collection=c.ColorSpecificationCollection([spec]),
        ),
    )
    path = tmp_path / "oil.cxf"
    path.write_bytes(colour_cxf.write_cxf(document))
    found = read_readings(path)
    assert len(found.readings) == len(given)
    for a, b in zip(given, found.readings, strict=True):
        assert (a.sample, a.parts, a.surface) == (b.sample, b.parts, b.surface)
        np.testing.assert_array_equal(a.reflectance, b.reflectance)
    assert any("specular included" in note for note in found.notes)
    assert WAVELENGTHS[INSIDE][0] == 400 and WAVELENGTHS[INSIDE][-1] == 700


def test_a_published_document_is_read_to_its_spectra():
    """The example that comes with colour-cxf ends at 680 nm: too short, and so it is said."""
    pytest.importorskip("defusedxml")
    pytest.importorskip("colour_cxf")
    example = files("colour_cxf") / "tests" / "resources" / "sample.cxf"
    if not example.is_file():
        pytest.skip("colour-cxf came without its example")
    with pytest.raises(ReadingError, match=r"object '1', .* covers 380-680 nm"):
        read_readings(str(example))

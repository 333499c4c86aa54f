"""Targets from numbers, notations, spectra and places in photos."""

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.munsell import parse_munsell
from mixlab.colour.spaces import munsell_to_lab, reflectance_to_lab, viewing
from mixlab.errors import MunsellError, PhotoError, TargetError
from mixlab.targets.one import from_hex, from_lab, from_lch, from_munsell, from_photo, from_spectrum

D65 = viewing()
A10 = viewing("A", "10")


def refusal(mistake, call, *args, **named):
    """Return the message with which something is refused, which must be one line."""
    with pytest.raises(mistake) as caught:
        call(*args, **named)
    message = str(caught.value)
    assert len(message.splitlines()) == 1
    assert message.isprintable()
    return message


# --- numbers ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "lab"),
    [
        ("45,15,20", [45, 15, 20]),
        (" 45.5 , -15 , +2e1 ", [45.5, -15, 20]),
        ("0,0,0", [0, 0, 0]),
        ("100,0,0", [100, 0, 0]),
        ("50,120,160", [50, 120, 160]),
    ],
)
def test_lab_is_taken_under_the_light(text, lab):
    target = from_lab(text, A10)
    np.testing.assert_allclose(target.lab, lab)
    assert target.view is A10
    assert target.given == f"CIELAB {text}"
    assert target.notes == ()


@pytest.mark.parametrize(
    ("text", "lab"),
    [
        ("45,25,0", [45, 25, 0]),
        ("45,25,90", [45, 0, 25]),
        ("45,25,-90", [45, 0, -25]),
        ("45,25,540", [45, -25, 0]),
        ("45,0,12", [45, 0, 0]),
        ("45, 25, 53.130102354", [45, 15, 20]),
    ],
)
def test_lch_is_polar_lab(text, lab):
    target = from_lch(text, A10)
    np.testing.assert_allclose(target.lab, lab, atol=1e-9)
    assert target.view is A10
    assert target.given == f"CIELCh {text}"


@pytest.mark.parametrize(
    ("reader", "text", "wrong"),
    [
        (from_lab, "", ["''", "L*, a*, b* are wanted, joined by commas, as 45,15,20"]),
        (from_lab, "45,15", ["'45,15'", "joined by commas, as 45,15,20"]),
        (from_lab, "45,15,20,5", ["joined by commas"]),
        (from_lab, "45;15;20", ["joined by commas"]),
        (from_lab, "45 15 20", ["joined by commas"]),
        (from_lab, "45,x,20", ["a* 'x' is not a number", "45,15,20"]),
        (from_lab, "45,15,", ["b* '' is not a number"]),
        (from_lab, "nan,15,20", ["L* 'nan' is not a number"]),
        (from_lab, "45,inf,20", ["a* 'inf' is not a number"]),
        (from_lab, "45,15,2\x00", [r"b* '2\x00' is not a number"]),
        (from_lab, "-0.1,0,0", ["L* is -0.1", "between 0 (black) and 100 (white)"]),
        (from_lab, "100.5,0,0", ["L* is 100.5", "between 0 (black) and 100 (white)"]),
        (from_lab, "50,150,150", ["no surface has a chroma C* above 200"]),
        (from_lch, "45,25", ["L*, C*, h are wanted", "45,25,53"]),
        (from_lch, "45,25,red", ["h 'red' is not a number"]),
        (from_lch, "45,-1,30", ["C* is -1", "not below zero"]),
        (from_lch, "45,200.5,30", ["above 200"]),
        (from_lch, "101,2,30", ["L* is 101"]),
    ],
)
def test_numbers_that_make_no_colour_are_told(reader, text, wrong):
    message = refusal(TargetError, reader, text, D65)
    for part in wrong:
        assert part in message


# --- notations ----------------------------------------------------------------------------------


def test_hex_is_srgb():
    target = from_hex("#8a5a3c", D65)
    assert target.given == "sRGB #8a5a3c"
    for text in ("8a5a3c", " #8A5A3C "):
        np.testing.assert_array_equal(from_hex(text, D65).lab, target.lab)
    # IEC 61966-2-1: white is the light's white, and 128 of 255 is 0.21586 of its luminance
    np.testing.assert_allclose(from_hex("#ffffff", D65).lab, [100, 0, 0], atol=0.02)
    grey = 116 * 0.21586 ** (1 / 3) - 16
    for view in (D65, A10):
        np.testing.assert_allclose(from_hex("#808080", view).lab, [grey, 0, 0], atol=0.02)
    assert abs(from_hex("#8a5a3c", A10).lab - target.lab).max() > 1


@pytest.mark.parametrize(
    "text",
    ["", "#", "abc", "8a5a3", "#8a5a3c7", "#8a5a3cff", "#8a5a3g", "##8a5a3", "brown", "८८८८८८"],
)
def test_what_is_not_hex_is_told(text):
    message = refusal(TargetError, from_hex, text, D65)
    assert message == (
        f"{text!r}: an sRGB colour is six hexadecimal digits, as #8a5a3c, or # and three"
    )


def test_munsell_is_adapted_from_c():
    for view in (D65, A10):
        # value 5 has 19.27 % of the luminance of the perfect diffuser; ASTM D1535
        lab = from_munsell("N 5", view).lab
        assert lab[0] == pytest.approx(116 * 0.1927 ** (1 / 3) - 16, abs=0.02)
        np.testing.assert_allclose(lab[1:], 0, atol=0.01)
    for view in (D65, A10):
        expected = munsell_to_lab(parse_munsell("7.5YR 4/6"), view)
        np.testing.assert_allclose(from_munsell("7.5YR 4/6", view).lab, expected)
    target = from_munsell("7.5YR 4/6", D65)
    assert target.given == "Munsell 7.5YR 4/6"
    # an orange brown: L* about ten times the value, hue between red and yellow
    assert target.lab[0] == pytest.approx(41, abs=1)
    assert 45 < np.degrees(np.arctan2(target.lab[2], target.lab[1])) < 80


def test_what_is_not_munsell_is_told():
    assert "write it as 7.5YR 4/6" in refusal(MunsellError, from_munsell, "ochre", D65)
    assert "beyond the renotation" in refusal(MunsellError, from_munsell, "5R 5/44", D65)


# --- a spectrum ---------------------------------------------------------------------------------

GRID = list(range(380, 731, 10))


def lines(wavelengths=GRID, reflectance=lambda w: 0.2, head="nm,R\n"):
    return head + "".join(f"{w},{reflectance(w)!r}\n" for w in wavelengths)


def spectrum(tmp_path, content, view=D65):
    path = tmp_path / "bark.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return from_spectrum(path, view)


def test_a_flat_spectrum_is_a_grey_under_any_light(tmp_path):
    for view in (D65, A10):
        target = spectrum(tmp_path, lines(), view)
        np.testing.assert_allclose(target.lab, [116 * 0.2 ** (1 / 3) - 16, 0, 0], atol=1e-6)
        assert target.view is view
        assert target.given == f"spectrum {tmp_path / 'bark.csv'}"
        assert target.notes == ()


def rising(w):
    return 0.05 + (w - 380) / 1000


@pytest.mark.parametrize(
    "content",
    [
        pytest.param(lines(GRID, rising), id="plain"),
        pytest.param(lines(GRID, rising, head=""), id="no headings"),
        pytest.param("\n" + lines(GRID, rising), id="blank first line"),
        pytest.param("\ufeff" + lines(GRID, rising), id="byte order mark"),
        pytest.param(lines(GRID, rising).replace("\n", "\r\n"), id="CRLF"),
        pytest.param(lines(GRID, rising).replace(",", " , ").replace("\n", "\n\n"), id="airy"),
        pytest.param(lines(range(360, 781), lambda w: max(rising(w), 0)), id="every nm"),
        pytest.param(lines(range(375, 736, 5), rising), id="every 5 nm"),
        pytest.param(lines([380, 381, *range(390, 731, 10)], rising), id="uneven"),
    ],
)
def test_a_spectrum_in_other_dress(tmp_path, content):
    for view in (D65, A10):
        target = spectrum(tmp_path, content, view)
        expected = reflectance_to_lab([rising(w) for w in GRID], view)
        np.testing.assert_allclose(target.lab, expected, atol=1e-9)
        assert target.notes == ()


def test_a_short_spectrum_keeps_its_ends(tmp_path):
    target = spectrum(tmp_path, lines(range(400, 701, 10), rising))
    expected = reflectance_to_lab([rising(min(max(w, 400), 700)) for w in GRID], D65)
    np.testing.assert_allclose(target.lab, expected, atol=1e-9)


def test_percent_is_told_from_shares(tmp_path):
    expected = spectrum(tmp_path, lines(GRID, rising)).lab
    target = spectrum(tmp_path, lines(GRID, lambda w: 100 * rising(w)))
    np.testing.assert_allclose(target.lab, expected, atol=1e-9)
    assert target.notes == ("read as percent",)
    dark = spectrum(tmp_path, lines(GRID, lambda w: 1.5, head="nm,R %\n"))
    np.testing.assert_allclose(dark.lab, [116 * 0.015 ** (1 / 3) - 16, 0, 0], atol=1e-6)
    assert dark.notes == ("read as percent",)
    # a reading of a perfect white may be a little above 1
    assert spectrum(tmp_path, lines(GRID, lambda w: 1.02)).lab[0] == pytest.approx(100.8, abs=0.1)


@pytest.mark.parametrize(
    ("content", "wrong"),
    [
        ("", ["holds no wavelengths"]),
        ("nm,R\n", ["holds no wavelengths"]),
        ("nm,R\n" + lines(), ["row 2: 'nm,R' is not a wavelength and a reflectance, as 400,0.05"]),
        (lines().replace("400,0.2", "400,grey"), ["row 4: '400,grey' is not a wavelength"]),
        (lines(head="").replace("380,0.2", "380,grey"), ["row 1: '380,grey' is not"]),
        (lines().replace("0.2", "0.2,0.3"), ["row 2: '380,0.2,0.3' is not"]),
        (lines().replace("730,0.2", "730"), ["row 37: '730' is not"]),
        (lines().replace(",", ";"), ["row 2: '380;0.2' is not", "as 400,0.05"]),
        (lines().replace("0.2", '"0,2"'), ["row 2: '380,0,2' is not"]),
        (lines(GRID, lambda w: -0.1), ["row 2: the numbers must be finite and not below zero"]),
        (lines(GRID, lambda w: float("nan")), ["row 2: the numbers must be finite"]),
        (lines(GRID, lambda w: 1e400), ["row 2: the numbers must be finite"]),
        (lines(GRID[::-1]), ["row 3: 720 nm follows 730", "must rise"]),
        (lines([*GRID[:5], *GRID[4:]]), ["row 7: 420 nm follows 420", "must rise"]),
        (lines([*GRID[:5], *GRID[6:]]), ["row 7: nothing between 420 and 440 nm", "too sparse"]),
        (lines(range(410, 731, 10)), ["covers 410-730 nm; at least 400-700 nm"]),
        (lines(range(380, 691, 10)), ["covers 380-690 nm; at least 400-700 nm"]),
        (lines([w / 1000 for w in GRID]), ["covers 0.38-0.73 nm"]),
        (lines(GRID, lambda w: 1.5), ["a reflectance of 1.5 is no paint's", "0..1", "%"]),
        (lines(GRID, lambda w: 150), ["a reflectance of 1.5 is no paint's"]),
        (lines(GRID, lambda w: 1e300), ["a reflectance of 1e+298 is no paint's"]),
        (lines().encode("utf-16"), ["is not UTF-8 text"]),
        ("nm,Weiß\n".encode("latin-1"), ["byte 7 is not UTF-8 text"]),
        (bytes(50), ["not a text file"]),
        (lines() + '740,"' + "1" * 200_000 + '"', ["row 38: field larger"]),
    ],
)
def test_mistakes_in_a_spectrum_name_the_file_and_the_row(tmp_path, content, wrong):
    message = refusal(TargetError, spectrum, tmp_path, content)
    assert message.startswith(f"{tmp_path / 'bark.csv'}")
    for part in wrong:
        assert part in message


def test_a_spectrum_that_is_not_there_is_told(tmp_path):
    missing = tmp_path / "none.csv"
    assert refusal(TargetError, from_spectrum, missing, D65).startswith(f"{missing}: cannot be")
    assert "it is a folder" in refusal(TargetError, from_spectrum, tmp_path, D65)


# --- a place in a photo -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def photo(tmp_path_factory):
    """A picture 40 x 30: brown left of column 20, grey right of it, corners white and black."""
    from PIL import Image

    pixels = np.empty((30, 40, 3), np.uint8)
    pixels[:, :20], pixels[:, 20:] = (0x8A, 0x5A, 0x3C), (0x60, 0x50, 0x40)
    pixels[0, 0], pixels[0, 39] = 255, 0
    path = tmp_path_factory.mktemp("photo") / "yard.png"
    Image.fromarray(pixels).save(path)
    return path


@pytest.mark.parametrize("view", [D65, A10], ids=["D65", "A"])
def test_a_place_has_the_colour_of_its_pixel(photo, view):
    target = from_photo(photo, "10,15", view)
    np.testing.assert_allclose(target.lab, from_hex("#8a5a3c", view).lab, atol=0.03)
    assert target.view is view
    assert target.given == f"photo {photo} at 10,15"
    assert target.notes == ("no colour profile: taken as sRGB",)
    np.testing.assert_allclose(
        from_photo(photo, " 20 ,0", view).lab, from_hex("#605040", view).lab, atol=0.03
    )


def test_a_disc_and_a_box_are_averaged(photo):
    brown, other = (from_hex(text, D65).lab for text in ("#8a5a3c", "#605040"))
    disc = from_photo(photo, "10,15", D65, radius=5)
    np.testing.assert_allclose(disc.lab, brown, atol=0.03)
    assert "81 pixels averaged, spread 0.0 CIEDE2000" in disc.notes
    box = from_photo(photo, "5,5,15,11", D65)
    np.testing.assert_allclose(box.lab, brown, atol=0.03)
    assert "60 pixels averaged, spread 0.0 CIEDE2000" in box.notes
    half = from_photo(photo, "15,5,25,15", D65)
    assert min(ciede2000(half.lab, brown), ciede2000(half.lab, other)) > 3
    assert other[0] < half.lab[0] < brown[0]


def test_a_clipped_place_is_told(photo):
    target = from_photo(photo, "0,0", D65)
    assert "100% of the pixels are clipped: the colour is unsure" in target.notes
    assert not any("clipped" in note for note in from_photo(photo, "10,15", D65).notes)


def test_a_grey_takes_cast_and_exposure_out(photo):
    for view in (D65, A10):
        card = from_photo(photo, "30,15", view, grey="25,10,35,20")
        np.testing.assert_allclose(card.lab, [116 * 0.18 ** (1 / 3) - 16, 0, 0], atol=1e-6)
        paper = from_photo(photo, "30,15", view, grey="30,15", grey_reflectance=0.5)
        np.testing.assert_allclose(paper.lab, [116 * 0.5 ** (1 / 3) - 16, 0, 0], atol=1e-6)
    plain, corrected = from_photo(photo, "10,15", D65), from_photo(photo, "10,15", D65, grey="30,9")
    assert ciede2000(plain.lab, corrected.lab) > 3


def test_the_radius_is_for_the_grey_too(photo):
    near_the_edge = from_photo(photo, "10,15", D65, radius=5, grey="21,15")
    even = from_photo(photo, "10,15", D65, radius=5, grey="30,15")
    assert ciede2000(near_the_edge.lab, even.lab) > 1


@pytest.mark.parametrize(
    ("named", "mistake", "wrong"),
    [
        ({"at": ""}, TargetError, "x, y are wanted, joined by commas, as"),
        ({"at": "10"}, TargetError, "x, y are wanted"),
        ({"at": "10,20,30"}, TargetError, "x, y are wanted"),
        ({"at": "10 20"}, TargetError, "x, y are wanted"),
        ({"at": "1,2,3,4,5"}, TargetError, "x, y are wanted"),
        ({"at": "ten,20"}, TargetError, "x 'ten' is not a number"),
        ({"at": "10,nan"}, TargetError, "y 'nan' is not a number"),
        ({"at": "1,2,3,x"}, TargetError, "bottom 'x' is not a number"),
        ({"at": "40,5"}, PhotoError, "outside the picture: it is 40 x 30 pixels"),
        ({"at": "5,30"}, PhotoError, "y 0 to 29"),
        ({"at": "-1,5"}, PhotoError, "outside the picture"),
        ({"at": "20,20,10,10"}, PhotoError, "left must be less than right"),
        ({"at": "100,5,120,9"}, PhotoError, "outside the picture"),
        ({"at": "5,5", "radius": -1}, PhotoError, "a radius of -1 pixels makes no sense"),
        ({"at": "5,5", "radius": float("nan")}, PhotoError, "nan is no number of pixels"),
        ({"at": "5,5", "radius": 41}, PhotoError, "0 to 40 is possible"),
        ({"at": "5,5,9,9", "radius": 2}, TargetError, "a radius of 2 goes with a place x,y"),
        ({"at": "5,5", "grey": "there"}, TargetError, "x, y are wanted"),
        ({"at": "5,5", "grey": "50,5"}, PhotoError, "outside the picture"),
        ({"at": "5,5", "grey": "0,0"}, PhotoError, "the grey is clipped"),
        ({"at": "5,5", "grey": "39,0"}, PhotoError, "the grey is too dark"),
        ({"at": "5,5", "grey": "30,9", "grey_reflectance": 0}, PhotoError, "must be above 0"),
        ({"at": "5,5", "grey": "30,9", "grey_reflectance": 1.1}, PhotoError, "at most 1"),
        ({"at": "5,5", "grey": "30,9", "grey_reflectance": 0.9}, PhotoError, "a perfect white"),
    ],
)  # fmt: skip
def test_mistakes_about_a_place_are_told(photo, named, mistake, wrong):
    assert wrong in refusal(mistake, from_photo, photo, view=D65, **named)


def test_a_picture_that_is_none_is_told(tmp_path, photo):
    assert "there is no such file" in refusal(
        PhotoError, from_photo, tmp_path / "none.jpg", "1,1", D65
    )
    text = tmp_path / "notes.jpg"
    text.write_text("not a picture")
    assert "not a picture" in refusal(PhotoError, from_photo, text, "1,1", D65)
    cut = tmp_path / "cut.png"
    cut.write_bytes(photo.read_bytes()[:60])
    refusal(PhotoError, from_photo, cut, "1,1", D65)


def test_every_target_can_be_searched_for(tmp_path, photo):
    palette = mixlab.read_palette("kiln-earths")
    for target in (
        from_lab("45,15,20", A10),
        from_munsell("5YR 5/4", A10),
        spectrum(tmp_path, lines(GRID, rising), A10),
        from_photo(photo, "10,15", A10),
    ):
        answer = mixlab.find_recipe(target.lab, palette, max_tubes=2, view=target.view)
        assert np.isfinite(answer.recipe.miss)

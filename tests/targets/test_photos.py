"""Pictures of every kind are written here with known colours, and read back."""

import contextlib
import gc
import itertools
import struct
import subprocess
import sys
import warnings
import zlib
from pathlib import Path

import colour
import imagecodecs
import numpy as np
import pytest
from PIL import Image, ImageCms, PngImagePlugin, TiffImagePlugin

from mixlab import limits
from mixlab.colour.spaces import decode_srgb, encode_srgb, rgb_to_lab, viewing
from mixlab.errors import PhotoError
from mixlab.targets.counting import count_colours
from mixlab.targets.one import from_photo
from mixlab.targets.photo_files import Photo, read_photo
from mixlab.targets.photos import box, photo_lab, place

BRICK = (168, 84, 52)
POND = (70, 92, 88)

# --- writers ------------------------------------------------------------------------------------


def encoded(photo):
    """Pixels as encoded sRGB 0..1."""
    return encode_srgb(photo.linear(photo.pixels))


def flat(colour_value, size=(32, 24), mode="RGB"):
    return Image.new(mode, size, colour_value)


def png_chunk(name, data):
    body = name + data
    return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))


def png_header(width, height, bits, colour_type):
    fields = struct.pack(">IIBBBBB", width, height, bits, colour_type, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + png_chunk(b"IHDR", fields)


def exif_orientation(orientation):
    entry = struct.pack("<HHIHH", 274, 3, 1, orientation, 0)
    return b"II*\0" + struct.pack("<IH", 8, 1) + entry + bytes(4)


def write_png16(path, values, icc=None, orientation=None, transparent=None):
    """PNG of 16 bits (h, w, channels), put together from the PNG specification."""
    height, width, channels = values.shape
    data = png_header(width, height, 16, {1: 0, 2: 4, 3: 2, 4: 6}[channels])
    if icc:
        data += png_chunk(b"iCCP", b"profile\0\0" + zlib.compress(icc))
    if transparent:
        data += png_chunk(b"tRNS", struct.pack(f">{len(transparent)}H", *transparent))
    if orientation:
        data += png_chunk(b"eXIf", exif_orientation(orientation))
    rows = b"".join(b"\0" + row.astype(">u2").tobytes() for row in values)
    data += png_chunk(b"IDAT", zlib.compress(rows)) + png_chunk(b"IEND", b"")
    path.write_bytes(data)
    return path


def write_tiff(path, values, photometric=2, icc=None, orientation=1, extra=None, sample_format=1):
    """TIFF of one uncompressed strip, put together from TIFF 6.0."""
    height, width, channels = values.shape
    pixels = values.astype(values.dtype.newbyteorder("<")).tobytes()
    bits = struct.pack(f"<{channels}H", *[8 * values.dtype.itemsize] * channels)
    formats = struct.pack(f"<{channels}H", *[sample_format] * channels)
    entries = [
        (256, 4, struct.pack("<I", width)),
        (257, 4, struct.pack("<I", height)),
        (258, 3, bits),
        (259, 3, struct.pack("<H", 1)),
        (262, 3, struct.pack("<H", photometric)),
        (273, 4, None),
        (274, 3, struct.pack("<H", orientation)),
        (277, 3, struct.pack("<H", channels)),
        (278, 4, struct.pack("<I", height)),
        (279, 4, struct.pack("<I", len(pixels))),
    ]
    if extra is not None:
        entries.append((338, 3, struct.pack("<H", extra)))
    entries.append((339, 3, formats))
    if icc:
        entries.append((34675, 7, icc))
    size_of = {3: 2, 4: 4, 7: 1}
    offset = 8 + 2 + 12 * len(entries) + 4
    directory, tail = struct.pack("<H", len(entries)), b""
    strip = offset + sum(len(d) + len(d) % 2 for _, _, d in entries if d and len(d) > 4)
    for tag, kind, data in entries:
        data = struct.pack("<I", strip) if data is None else data
        directory += struct.pack("<HHI", tag, kind, len(data) // size_of[kind])
        if len(data) <= 4:
            directory += data.ljust(4, b"\0")
        else:
            directory += struct.pack("<I", offset + len(tail))
            tail += data + bytes(len(data) % 2)
    path.write_bytes(b"II*\0" + struct.pack("<I", 8) + directory + bytes(4) + tail + pixels)
    return path


# --- colour profiles, put together from ICC.1:2001-04 (version 2), ICC.1:2010 (4) ----------------

D50 = np.array([0.9642, 1.0, 0.8249])  # the profile connection space, ICC.1 6.3.4.3


def s15(*numbers):
    return b"".join(struct.pack(">i", round(n * 65536)) for n in numbers)


def xyz_tag(xyz):
    return b"XYZ " + bytes(4) + s15(*xyz)


def gamma_tag(gamma):
    return b"curv" + bytes(4) + struct.pack(">IH", 1, round(gamma * 256)) + bytes(2)


SRGB_CURVE_TAG = (  # parametricCurveType 3, ICC.1:2010 10.16, with the numbers of IEC 61966-2-1
    b"para"
    + bytes(4)
    + struct.pack(">HH", 3, 0)
    + s15(2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
)


PROPHOTO_CURVE_TAG = (  # the same, with the numbers of ISO 22028-2 as colour-science has them
    b"para" + bytes(4) + struct.pack(">HH", 3, 0) + s15(1.8, 1, 0, 1 / 16, 16 / 512)
)


def profile(space, tags, connection=b"XYZ ", version=2, device=b"mntr", name=b"kiln yard"):
    described = b"desc" + bytes(4) + struct.pack(">I", len(name) + 1) + name + b"\0" + bytes(78)
    described += bytes(-len(described) % 4)
    if version == 4:
        text = name.decode().encode("utf-16-be")
        described = (
            b"mluc" + bytes(4) + struct.pack(">II2s2sII", 1, 12, b"en", b"US", len(text), 28)
        )
        described += text + bytes(-len(text) % 4)
    tags = {b"desc": described, b"wtpt": xyz_tag(D50), **tags}
    offset, table, data = 128 + 4 + 12 * len(tags), struct.pack(">I", len(tags)), b""
    for signature, tag in tags.items():
        table += signature + struct.pack(">II", offset + len(data), len(tag))
        data += tag
    size = 128 + len(table) + len(data)
    header = struct.pack(">I4sI4s4s4s", size, bytes(4), version << 24, device, space, connection)
    header += struct.pack(">6H", 2026, 1, 1, 0, 0, 0) + b"acsp" + bytes(28) + s15(*D50)
    return header.ljust(128, b"\0") + table + data


def rgb_profile(colourspace, curve, version=2):
    """The matrix and curves of a colour-science RGB space, its white adapted to D50 (Bradford)."""
    white = colour.xy_to_XYZ(colourspace.whitepoint)
    to_d50 = colour.adaptation.matrix_chromatic_adaptation_VonKries(white, D50, "Bradford")
    columns = (to_d50 @ colourspace.matrix_RGB_to_XYZ).T
    tags = {
        **dict(zip([b"rXYZ", b"gXYZ", b"bXYZ"], map(xyz_tag, columns), strict=True)),
        **dict.fromkeys([b"rTRC", b"gTRC", b"bTRC"], curve),
    }
    return profile(b"RGB ", tags, version=version)


ADOBE = rgb_profile(colour.RGB_COLOURSPACES["Adobe RGB (1998)"], gamma_tag(563 / 256))
P3 = rgb_profile(colour.RGB_COLOURSPACES["Display P3"], SRGB_CURVE_TAG, version=4)
WIDE = rgb_profile(colour.RGB_COLOURSPACES["ProPhoto RGB"], PROPHOTO_CURVE_TAG)
GREY_18 = profile(b"GRAY", {b"kTRC": gamma_tag(1.8)})
INSIDE = np.array([[0.55, 0.40, 0.30], [0.35, 0.45, 0.40], [0.62, 0.60, 0.35], [0.2, 0.22, 0.3]])


def to_srgb(encoded, space):
    """The same colours in encoded sRGB by colour-science, which knows nothing of ICC."""
    return colour.RGB_to_RGB(
        encoded, space, "sRGB", apply_cctf_decoding=True, apply_cctf_encoding=True
    )


def ink_labs():
    """CIELAB (16, 3) under D50 of no ink, K, Y, YK, M ... CMYK: invented inks, of low chroma."""
    ink = {"c": (-18, -12), "m": (24, -4), "y": (-2, 28), "k": (0, 0)}
    labs = []
    for amounts in itertools.product((0, 1), repeat=4):
        lightness = 100 - 16 * sum(amounts[:3]) - 24 * amounts[3]
        a, b = np.array(amounts) @ np.array(list(ink.values())) * (1 - 0.4 * amounts[3])
        labs.append((lightness, a / (1 + 0.3 * sum(amounts)), b / (1 + 0.3 * sum(amounts))))
    return np.array(labs)


def cmyk_profile():
    """The CIELAB of the sixteen corners for relative colorimetric; darker for the perceptual."""

    def lut16(labs):  # ICC.1:2001-04 6.5.7
        ends = struct.pack(">2H", 0, 65535)
        grid = np.rint((labs + np.array([0, 128, 128])) * [652.8, 256, 256]).astype(">u2")
        lut = b"mft2" + bytes(4) + struct.pack(">BBBB", 4, 3, 2, 0)
        lut += s15(1, 0, 0, 0, 1, 0, 0, 0, 1) + struct.pack(">HH", 2, 2)
        lut += ends * 4 + grid.tobytes() + ends * 3
        return lut + bytes(-len(lut) % 4)

    tags = {b"A2B0": lut16(0.8 * ink_labs()), b"A2B1": lut16(ink_labs())}
    tags[b"wtpt"] = xyz_tag([0.84, 0.87, 0.66])  # of the paper, which is left out of it
    return profile(b"CMYK", tags, b"Lab ", device=b"prtr")


# --- kinds of file ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "options", "tolerance"),
    [
        ("a.jpg", {"quality": 100, "subsampling": 0}, 2),
        ("a.jpg", {"quality": 95, "progressive": True}, 3),
        ("a.png", {}, 0),
        ("a.tif", {}, 0),
        ("a.tif", {"compression": "tiff_lzw"}, 0),
        ("a.tif", {"compression": "tiff_adobe_deflate"}, 0),
        ("a.webp", {"lossless": True}, 0),
        ("a.bmp", {}, 0),
    ],
)
def test_8_bit_colour(tmp_path, name, options, tolerance):
    flat(BRICK).save(tmp_path / name, **options)
    photo = read_photo(tmp_path / name)
    assert photo.pixels.dtype == np.uint8
    assert (photo.width, photo.height, photo.pixels.shape) == (32, 24, (24, 32, 3))
    assert np.abs(photo.pixels.astype(int) - BRICK).max() <= tolerance
    assert photo.opaque is None
    assert photo.notes == ("no colour profile: taken as sRGB",)
    assert not photo.pixels.flags.writeable


def test_a_name_in_text_is_a_path(tmp_path):
    flat(BRICK).save(tmp_path / "a.png")
    assert read_photo(str(tmp_path / "a.png")).path == tmp_path / "a.png"


def test_palette(tmp_path):
    picture = flat(BRICK)
    picture.paste(POND, (0, 0, 5, 5))
    for name in ("a.png", "a.gif", "a.tif"):
        picture.quantize(8).save(tmp_path / name)
        photo = read_photo(tmp_path / name)
        assert photo.pixels[2, 2].tolist() == list(POND)
        assert photo.pixels[20, 20].tolist() == list(BRICK)


def test_grey_8_bit_and_bilevel(tmp_path):
    for name in ("a.png", "a.tif", "a.jpg"):
        flat(119, mode="L").save(tmp_path / name)
        assert read_photo(tmp_path / name).pixels[3, 4].tolist() == [119] * 3
    flat(1, mode="1").save(tmp_path / "b.tif")
    assert read_photo(tmp_path / "b.tif").pixels[3, 4].tolist() == [255] * 3


STEP = np.array([[[30000, 30001, 30002], [30001, 30003, 30002]]], dtype=np.uint16)


def write_tiff_tiles(path, values):
    packed = {"compression": "lzw", "predictor": True, "tile": (16, 16)}
    path.write_bytes(imagecodecs.tiff_encode(values, photometric="rgb", **packed))
    return path


@pytest.mark.parametrize("write", [write_png16, write_tiff, write_tiff_tiles])
def test_16_bit_colour_keeps_steps_smaller_than_one_of_8_bits(tmp_path, write):
    photo = read_photo(write(tmp_path / "a.picture", STEP))
    assert photo.pixels.dtype == np.uint16
    assert (photo.pixels == STEP).all()
    # 65535 / 255 = 257 of these make one step of 8 bits
    left, right = place(photo, 0, 0).rgb, place(photo, 1, 0).rgb
    # the exact sRGB decoding by colour-science, IEC 61966-2-1
    np.testing.assert_allclose(left, colour.cctf_decoding(STEP[0, 0] / 65535, "sRGB"), rtol=1e-12)
    assert (right > left)[:2].all()
    assert right[2] == left[2]


def test_16_bit_planes(tmp_path):
    values = np.random.default_rng(4).integers(0, 65536, (5, 7, 3), dtype=np.uint16)
    planes = np.moveaxis(values, 2, 0).copy()
    (tmp_path / "a.tif").write_bytes(
        imagecodecs.tiff_encode(planes, photometric="rgb", planarconfig="separate")
    )
    assert (read_photo(tmp_path / "a.tif").pixels == values).all()


def test_16_bit_grey(tmp_path):
    grey = np.array([[[20000], [20001]]], dtype=np.uint16)
    expected = np.repeat(grey, 3, axis=2)
    assert (read_photo(write_png16(tmp_path / "a.png", grey)).pixels == expected).all()
    assert (read_photo(write_tiff(tmp_path / "a.tif", grey, 1)).pixels == expected).all()
    # photometric 0 counts from white, TIFF 6.0 section 4
    negative = read_photo(write_tiff(tmp_path / "b.tif", grey, 0))
    assert (negative.pixels == 65535 - expected).all()
    # written by another program: Pillow
    Image.fromarray(grey[..., 0]).save(tmp_path / "c.png")
    assert (read_photo(tmp_path / "c.png").pixels == expected).all()


def test_a_file_written_anew_is_read_anew(tmp_path):
    for value in (STEP, STEP + 1):
        photo = read_photo(write_png16(tmp_path / "a.png", value))
        assert (photo.pixels == value).all()


def test_cmyk_without_a_profile(tmp_path):
    ink = (0, 128, 204, 51)
    # (1 - ink)(1 - black), the plain conversion that Pillow documents as naive
    expected = [204, 204 * 127 / 255, 204 * 51 / 255]
    for name in ("a.tif", "a.jpg"):
        flat(ink, mode="CMYK").save(tmp_path / name)
        photo = read_photo(tmp_path / name)
        np.testing.assert_allclose(photo.pixels[5, 5], expected, atol=3)
        assert photo.notes == ("no colour profile: plain conversion, the colours are rough",)
    deep = np.tile(np.array(ink, dtype=np.uint16) * 257, (4, 4, 1))
    photo = read_photo(write_tiff(tmp_path / "b.tif", deep, 5))
    np.testing.assert_allclose(photo.pixels[2, 2], expected, atol=2)


def test_first_of_several(tmp_path):
    more = [flat(POND), flat((1, 2, 3))]
    for name in ("a.gif", "a.tif", "a.webp", "a.mpo"):
        options = {"lossless": True} if name == "a.webp" else {}
        flat(BRICK).save(tmp_path / name, save_all=True, append_images=more, **options)
        photo = read_photo(tmp_path / name)
        assert np.abs(photo.pixels[3, 3].astype(int) - BRICK).max() <= 2
        assert photo.notes[0] == "first of several pictures in the file"


# --- orientation --------------------------------------------------------------------------------


def stored(shown, orientation):
    """How Exif 2.32 (tag 274) stores rows and columns of what a viewer shows."""
    turned = shown if orientation <= 4 else shown.swapaxes(0, 1)
    rows = -1 if orientation in (3, 4, 6, 7) else 1
    columns = -1 if orientation in (2, 3, 7, 8) else 1
    return turned[::rows, ::columns]


@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation(tmp_path, orientation):
    shown = (40 * np.arange(6).reshape(2, 3, 1) + [0, 5, 9]).astype(np.uint8)
    exif = Image.Exif()
    exif[274] = orientation
    for name in ("a.png", "a.tif", "a.webp"):
        options = {"lossless": True} if name == "a.webp" else {}
        Image.fromarray(stored(shown, orientation)).save(tmp_path / name, exif=exif, **options)
        assert (read_photo(tmp_path / name).pixels == shown).all()
    large = shown.repeat(16, axis=0).repeat(16, axis=1)
    Image.fromarray(stored(large, orientation)).save(tmp_path / "a.jpg", exif=exif, quality=100)
    photo = read_photo(tmp_path / "a.jpg")
    assert (photo.width, photo.height) == (48, 32)
    np.testing.assert_allclose(place(photo, 40, 8).rgb, decode_srgb(shown[0, 2] / 255), atol=0.02)
    deep = shown.astype(np.uint16) * 257 + 3
    for write in (write_png16, write_tiff):
        write(tmp_path / "deep", stored(deep, orientation), orientation=orientation)
        assert (read_photo(tmp_path / "deep").pixels == deep).all()
    write_png16(tmp_path / "deep", stored(deep, orientation), orientation=orientation, icc=ADOBE)
    expected = to_srgb(deep / 65535, "Adobe RGB (1998)")
    np.testing.assert_allclose(encoded(read_photo(tmp_path / "deep")), expected, atol=0.002)


DAMAGED_EXIF = b"Exif\0\0II*\0\x08\0\0\0\xff\xff" + b"\x12" * 9


def test_a_damaged_exif_does_no_harm(tmp_path):
    flat(BRICK).save(tmp_path / "a.jpg", exif=DAMAGED_EXIF)
    assert read_photo(tmp_path / "a.jpg").width == 32


# --- colour profiles ----------------------------------------------------------------------------


@pytest.mark.parametrize(("icc", "space"), [(ADOBE, "Adobe RGB (1998)"), (P3, "Display P3")])
def test_rgb_profile(tmp_path, icc, space):
    # colour-science's primaries and transfer functions of the two spaces
    deep = np.rint(INSIDE * 65535).astype(np.uint16)[None]
    expected = to_srgb(deep[0] / 65535, space)
    assert np.abs(expected - INSIDE).max() > 0.02  # the profile is really another space
    for write in (write_png16, write_tiff):
        photo = read_photo(write(tmp_path / "deep", deep, icc=icc))
        np.testing.assert_allclose(encoded(photo)[0], expected, atol=0.0002)
        assert photo.notes == ("converted from the colour profile 'kiln yard'",)
    shallow = np.rint(INSIDE * 255).astype(np.uint8)
    expected = to_srgb(shallow / 255, space)
    for name in ("a.png", "a.tif"):
        Image.fromarray(shallow[None]).save(tmp_path / name, icc_profile=icc)
        photo = read_photo(tmp_path / name)
        assert (photo.pixels == shallow[None]).all()  # as in the file: nothing is rounded again
        np.testing.assert_allclose(encoded(photo)[0], expected, atol=0.0005)
    flat(tuple(shallow[0].tolist())).save(tmp_path / "a.jpg", icc_profile=icc, quality=100)
    np.testing.assert_allclose(
        encoded(read_photo(tmp_path / "a.jpg"))[5, 5], expected[0], atol=0.01
    )


def seen(values, space):
    """CIELAB under D65 of encoded values by colour-science: published primaries, white, curve."""
    of = colour.RGB_COLOURSPACES[space]
    xyz = colour.RGB_to_XYZ(values, of, apply_cctf_decoding=True)
    white = colour.xy_to_XYZ(of.whitepoint)
    return colour.XYZ_to_Lab(
        colour.chromatic_adaptation(xyz, white, viewing().white / 100, method="Von Kries",
                                    transform="Bradford"),
        colour.XYZ_to_xy(viewing().white),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("icc", "space", "limit"),
    [(ADOBE, "Adobe RGB (1998)", 0.03), (P3, "Display P3", 0.03), (WIDE, "ProPhoto RGB", 0.06)],
)
def test_colours_outside_srgb_keep_their_cielab(tmp_path, icc, space, limit):
    # colour-science: the published primaries of the spaces. A profile rounds them to 1/65536, which
    # is seen in the darkest of the most saturated.
    deep = np.random.default_rng(2).integers(0, 65536, (60, 80, 3), dtype=np.uint16)
    deep[0, :8] = 65535 * np.array(list(itertools.product((0, 1), repeat=3)))
    shallow = (deep >> 8).astype(np.uint8)
    Image.fromarray(shallow).save(tmp_path / "shallow.png", icc_profile=icc)
    write_png16(tmp_path / "deep.png", deep, icc=icc)
    write_tiff(tmp_path / "deep.tif", deep, icc=icc)
    for name, values in (
        ("deep.png", deep / 65535), ("deep.tif", deep / 65535), ("shallow.png", shallow / 255),
    ):  # fmt: skip
        photo = read_photo(tmp_path / name)
        rgb, expected = photo.linear(photo.pixels), seen(values, space)
        outside = ((rgb < -1e-3) | (rgb > 1.001)).any(axis=-1)
        assert outside.mean() > 0.2
        apart = colour.delta_E(photo_lab(rgb), expected, method="CIE 2000")
        assert apart.max() < limit
        assert apart[0, :8].max() < limit


def test_a_place_in_a_wide_photo_keeps_its_chroma(tmp_path):
    for icc, space, primary in (
        (ADOBE, "Adobe RGB (1998)", (0, 255, 0)), (P3, "Display P3", (255, 0, 0)),
        (WIDE, "ProPhoto RGB", (0, 255, 0)),
    ):  # fmt: skip
        flat(primary).save(tmp_path / "a.png", icc_profile=icc)
        target = from_photo(tmp_path / "a.png", "5,5", viewing(), 2)
        expected = seen(np.array(primary) / 255, space)
        np.testing.assert_allclose(target.lab, expected, atol=0.1)
        of_srgb = rgb_to_lab(np.array(primary) / 255, viewing())
        assert np.hypot(*target.lab[1:]) > np.hypot(*of_srgb[1:]) + 5
        counted = count_colours(read_photo(tmp_path / "a.png"))
        np.testing.assert_allclose(photo_lab(counted.rgb), [target.lab], atol=1e-9)


def test_profile_on_a_palette_and_with_transparency(tmp_path):
    shallow = np.rint(INSIDE * 255).astype(np.uint8)
    expected = to_srgb(shallow / 255, "Adobe RGB (1998)")
    Image.fromarray(shallow[None]).quantize(4).save(tmp_path / "p.png", icc_profile=ADOBE)
    np.testing.assert_allclose(encoded(read_photo(tmp_path / "p.png"))[0], expected, atol=0.0005)
    clear = np.concatenate([shallow, [[255], [255], [255], [9]]], axis=1).astype(np.uint8)[None]
    Image.fromarray(clear).save(tmp_path / "a.png", icc_profile=ADOBE)
    write_png16(tmp_path / "b.png", clear.astype(np.uint16) * 257, icc=ADOBE)
    for name in ("a.png", "b.png"):
        photo = read_photo(tmp_path / name)
        np.testing.assert_allclose(encoded(photo)[0], expected, atol=0.0005)
        assert photo.opaque.tolist() == [[True, True, True, False]]


def test_grey_profile(tmp_path):
    # ICC.1 grey input profile: the connection space is D50 times the curve, here v ** 1.8
    level = 120
    expected = encode_srgb((level / 255) ** 1.8)
    assert abs(expected - level / 255) > 0.05
    flat(level, mode="L").save(tmp_path / "a.tif", icc_profile=GREY_18)
    flat((level, 255), mode="LA").save(tmp_path / "a.png", icc_profile=GREY_18)
    for name in ("a.tif", "a.png"):
        np.testing.assert_allclose(encoded(read_photo(tmp_path / name))[4, 4], expected, atol=0.001)
    deep = np.full((2, 3, 1), level * 257, dtype=np.uint16)
    clear = np.dstack([deep, np.full_like(deep, 65535)])
    for path in (
        write_png16(tmp_path / "b.png", deep, icc=GREY_18),
        write_png16(tmp_path / "c.png", clear, icc=GREY_18),
        write_tiff(tmp_path / "b.tif", deep, 1, icc=GREY_18),
    ):
        photo = read_photo(path)
        assert photo.pixels.shape == (2, 3, 3)
        np.testing.assert_allclose(encoded(photo)[1, 1], expected, atol=0.0002)


def test_rgb_profile_on_a_grey_picture(tmp_path):
    expected = to_srgb(np.full(3, 90 / 255), "Adobe RGB (1998)")
    flat(90, mode="L").save(tmp_path / "a.jpg", icc_profile=ADOBE)
    np.testing.assert_allclose(encoded(read_photo(tmp_path / "a.jpg"))[4, 4], expected, atol=0.0005)
    deep = np.full((2, 2, 1), 90 * 257, dtype=np.uint16)
    photo = read_photo(write_png16(tmp_path / "b.png", deep, icc=ADOBE))
    np.testing.assert_allclose(encoded(photo)[1, 1], expected, atol=0.0002)


def test_cmyk_profile(tmp_path):
    # at full or no ink the table is exact; CIELAB under D50 to sRGB by colour-science (Bradford)
    d50 = colour.XYZ_to_xy(D50)
    expected = colour.XYZ_to_sRGB(colour.Lab_to_XYZ(ink_labs(), d50), d50, "Bradford")
    assert ((expected > 0) & (expected < 1.0001)).all()
    inks = np.array(list(itertools.product((0, 255), repeat=4)), dtype=np.uint8)[None]
    Image.fromarray(inks, "CMYK").save(tmp_path / "a.tif", icc_profile=cmyk_profile())
    write_tiff(tmp_path / "deep.tif", inks.astype(np.uint16) * 257, 5, icc=cmyk_profile())
    for name in ("a.tif", "deep.tif"):
        photo = read_photo(tmp_path / name)
        np.testing.assert_allclose(encoded(photo)[0], expected, atol=0.0002)
        assert photo.notes == ("converted from the colour profile 'kiln yard'",)
    ink = tuple(inks[0, 6].tolist())
    flat(ink, mode="CMYK").save(tmp_path / "a.jpg", icc_profile=cmyk_profile(), quality=100)
    np.testing.assert_allclose(
        encoded(read_photo(tmp_path / "a.jpg"))[4, 4], expected[6], atol=0.01
    )


def test_the_srgb_profile_changes_nothing(tmp_path):
    ramp = np.arange(256, dtype=np.uint8)
    values = np.stack([ramp, ramp[::-1], np.roll(ramp, 90)], axis=-1)[None]
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    Image.fromarray(values).save(tmp_path / "a.png", icc_profile=srgb)
    photo = read_photo(tmp_path / "a.png")
    assert photo.notes[0].startswith("converted from the colour profile 'sRGB")
    assert (photo.pixels == values).all()
    # a profile rounds its primaries: a tenth of a step of 8 bits
    np.testing.assert_allclose(encoded(photo), values / 255, atol=0.1 / 255)


def test_white_stays_clipped_through_a_profile(tmp_path):
    for icc in (ADOBE, P3):
        flat((255, 255, 255)).save(tmp_path / "a.png", icc_profile=icc)
        assert place(read_photo(tmp_path / "a.png"), 5, 5, 2).clipped == 1


@pytest.mark.parametrize("icc", [b"no profile at all", ADOBE[:200], ADOBE[:128] + bytes(400)])
def test_a_broken_profile_is_noted(tmp_path, icc, capfd):
    flat(BRICK).save(tmp_path / "a.png", icc_profile=icc)
    write_png16(tmp_path / "b.png", STEP, icc=icc)
    for name, first in (("a.png", BRICK), ("b.png", STEP[0, 0])):
        photo = read_photo(tmp_path / name)
        assert photo.pixels[0, 0].tolist() == list(first)
        assert photo.notes == ("the embedded colour profile is broken, not applied: taken as sRGB",)
    assert capfd.readouterr().err == ""


def test_a_profile_for_another_kind_of_picture_is_noted(tmp_path):
    flat(BRICK).save(tmp_path / "a.png", icc_profile=cmyk_profile())
    photo = read_photo(tmp_path / "a.png")
    assert photo.pixels[0, 0].tolist() == list(BRICK)
    assert photo.notes == (
        "the colour profile 'kiln yard' is for CMYK, not applied: taken as sRGB",
    )
    flat((0, 128, 204, 51), mode="CMYK").save(tmp_path / "a.tif", icc_profile=ADOBE)
    assert "is for RGB" in read_photo(tmp_path / "a.tif").notes[0]


def test_what_else_a_file_says_of_its_colours_is_noted(tmp_path):
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA005] = {1: "R03"}  # DCF 2.0, optional colour space
    flat(BRICK).save(tmp_path / "a.jpg", exif=exif)
    assert "Adobe RGB" in read_photo(tmp_path / "a.jpg").notes[0]
    linear = PngImagePlugin.PngInfo()
    linear.add(b"gAMA", struct.pack(">I", 100000))  # PNG specification 11.3.2.2, gamma 1
    flat(BRICK).save(tmp_path / "a.png", pnginfo=linear)
    assert "another gamma" in read_photo(tmp_path / "a.png").notes[0]
    usual = PngImagePlugin.PngInfo()
    usual.add(b"gAMA", struct.pack(">I", 45455))
    flat(BRICK).save(tmp_path / "b.png", pnginfo=usual)
    assert read_photo(tmp_path / "b.png").notes == ("no colour profile: taken as sRGB",)


# --- transparency -------------------------------------------------------------------------------


def test_transparent_places_are_refused(tmp_path):
    alpha = np.full((4, 6), 255, dtype=np.uint8)
    alpha[:, 4], alpha[:, 5] = 254, 0
    rgba = np.dstack([np.full((4, 6, 3), BRICK, dtype=np.uint8), alpha])
    grey = np.dstack([np.full((4, 6), 90, dtype=np.uint8), alpha])
    Image.fromarray(rgba).save(tmp_path / "a.png")
    Image.fromarray(rgba).save(tmp_path / "a.tif")
    Image.fromarray(rgba).save(tmp_path / "a.webp", lossless=True, exact=True)
    Image.fromarray(grey).save(tmp_path / "b.png")
    write_png16(tmp_path / "c.png", rgba.astype(np.uint16) * 257)
    write_png16(tmp_path / "d.png", grey.astype(np.uint16) * 257)
    write_tiff(tmp_path / "c.tif", rgba.astype(np.uint16) * 257, extra=2)
    write_tiff(tmp_path / "d.tif", grey, 1, extra=1)  # premultiplied, TIFF 6.0 section 18
    for name in ("a.png", "a.tif", "a.webp", "b.png", "c.png", "d.png", "c.tif", "d.tif"):
        photo = read_photo(tmp_path / name)
        assert (photo.opaque == (alpha == 255)).all()
        assert photo.notes[-1] == "partly transparent"
        assert box(photo, 0, 0, 4, 4).count == 16
        colours = [90 / 255] * 3 if name in ("b.png", "d.png", "d.tif") else np.array(BRICK) / 255
        np.testing.assert_allclose(box(photo, 0, 0, 4, 4).rgb, decode_srgb(colours), rtol=1e-9)
        with pytest.raises(PhotoError, match="4 of the 20 pixels at this place are transparent"):
            box(photo, 0, 0, 5, 4)
        with pytest.raises(PhotoError, match="transparent"):
            place(photo, 5, 1)


def test_transparent_palette_and_key_colour(tmp_path):
    picture = flat(BRICK).quantize(2)
    picture.info["transparency"] = 0
    picture.save(tmp_path / "a.gif", transparency=0)
    picture.save(tmp_path / "a.png", transparency=0)
    flat(BRICK).save(tmp_path / "b.png", transparency=BRICK)
    write_png16(tmp_path / "c.png", STEP, transparent=STEP[0, 0].tolist())
    for name in ("a.gif", "a.png", "b.png", "c.png"):
        with pytest.raises(PhotoError, match="transparent"):
            place(read_photo(tmp_path / name), 0, 0)
    assert read_photo(tmp_path / "c.png").opaque.tolist() == [[False, True]]
    write_png16(tmp_path / "d.png", STEP[..., :1], transparent=STEP[0, 1, :1].tolist())
    photo = read_photo(tmp_path / "d.png")
    assert photo.opaque.tolist() == [[True, False]]
    assert photo.pixels[0, 0].tolist() == [30000] * 3


def test_an_opaque_alpha_channel_is_no_transparency(tmp_path):
    flat((*BRICK, 255), mode="RGBA").save(tmp_path / "a.png")
    photo = read_photo(tmp_path / "a.png")
    assert photo.opaque is None
    assert photo.pixels[1, 1].tolist() == list(BRICK)
    # TIFF 6.0 ExtraSamples 0: a fourth channel that says nothing of transparency
    extra = np.dstack([STEP, np.zeros((1, 2, 1), dtype=np.uint16)])
    photo = read_photo(write_tiff(tmp_path / "a.tif", extra, extra=0))
    assert photo.opaque is None
    assert (photo.pixels == STEP).all()


# --- files that cannot be used ------------------------------------------------------------------


def refused(path, words):
    with pytest.raises(PhotoError, match=words) as caught:
        read_photo(path)
    assert "\n" not in str(caught.value)
    assert str(path) in str(caught.value)


def test_no_picture(tmp_path):
    refused(tmp_path / "none.jpg", "no such file")
    refused(tmp_path, "is a folder")
    (tmp_path / "empty.jpg").touch()
    refused(tmp_path / "empty.jpg", "is empty")
    refused(tmp_path / ("long" * 100 + ".jpg"), "cannot be read: .*too long")
    (tmp_path / "text.jpg").write_text("a birch wood across a mill pond\n" * 40)
    refused(tmp_path / "text.jpg", "is not a picture")
    (tmp_path / "start.jpg").write_bytes(b"\xff\xd8\xff\xe0\x00\x10JFIF\x00")
    refused(tmp_path / "start.jpg", "not a picture|damaged")
    flat(BRICK).save(tmp_path / "a.pcx")
    refused(tmp_path / "a.pcx", "JPEG, PNG, TIFF, WebP, GIF or BMP")


@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("a.jpg", {}),
        ("a.jpg", {"progressive": True}),
        ("a.png", {}),
        ("a.tif", {}),
        ("a.tif", {"compression": "tiff_lzw"}),
        ("a.webp", {}),
        ("a.bmp", {}),
        ("a.gif", {}),
    ],
)
@pytest.mark.parametrize("share", [0.4, 0.9])
def test_cut_short(tmp_path, name, options, share, capfd):
    noise = np.random.default_rng(3).integers(0, 256, (60, 80, 3), dtype=np.uint8)
    Image.fromarray(noise).save(tmp_path / name, **options)
    whole = (tmp_path / name).read_bytes()
    assert read_photo(tmp_path / name).width == 80
    (tmp_path / name).write_bytes(whole[: int(share * len(whole))])
    refused(tmp_path / name, "damaged or cut short|not a picture")
    assert capfd.readouterr().err == ""


@pytest.mark.parametrize("write", [write_png16, write_tiff, write_tiff_tiles])
@pytest.mark.parametrize("share", [0.4, 0.9])
def test_16_bits_cut_short(tmp_path, write, share, capfd):
    noise = np.random.default_rng(3).integers(0, 65536, (60, 80, 3), dtype=np.uint16)
    path = write(tmp_path / "a.picture", noise)
    whole = path.read_bytes()
    path.write_bytes(whole[: int(share * len(whole))])
    refused(path, "damaged or cut short|not a picture")
    assert capfd.readouterr().err == ""


def test_flipped_bytes_are_an_error_or_a_picture(tmp_path, capfd):
    random = np.random.default_rng(5)
    noise = random.integers(0, 256, (20, 30, 3), dtype=np.uint8)
    for name in ("a.jpg", "a.png", "a.tif", "a.webp", "a.gif"):
        Image.fromarray(noise).save(tmp_path / name)
    write_png16(tmp_path / "b.png", noise.astype(np.uint16) * 257)
    write_tiff(tmp_path / "b.tif", noise.astype(np.uint16) * 257, icc=ADOBE)
    failed = 0
    for path in sorted(tmp_path.iterdir()):
        whole = np.frombuffer(path.read_bytes(), dtype=np.uint8)
        for _ in range(40):
            damaged = whole.copy()
            damaged[random.integers(0, min(len(whole), 400), 3)] = random.integers(0, 256, 3)
            path.write_bytes(damaged.tobytes())
            try:
                photo = read_photo(path)
            except PhotoError:
                failed += 1
            else:
                assert photo.pixels.ndim == 3
    assert failed > 40
    assert capfd.readouterr().err == ""


def test_too_large_is_told_from_the_header(tmp_path, monkeypatch):
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 54321)
    for width, height in [(17000, 18000), (60000, 60000)]:
        path = tmp_path / "a.png"
        assert width * height > limits.PIXELS
        path.write_bytes(png_header(width, height, 8, 2) + png_chunk(b"IDAT", b""))
        refused(path, "more than 110 megapixels")
        path.write_bytes(png_header(width, height, 16, 2) + png_chunk(b"IDAT", b""))
        refused(path, "more than 110 megapixels")
        head = write_tiff(tmp_path / "a.tif", STEP).read_bytes()
        sized = head.replace(
            struct.pack("<HHII", 256, 4, 1, 2), struct.pack("<HHII", 256, 4, 1, width)
        )
        sized = sized.replace(
            struct.pack("<HHII", 257, 4, 1, 1), struct.pack("<HHII", 257, 4, 1, height)
        )
        (tmp_path / "a.tif").write_bytes(sized)
        refused(tmp_path / "a.tif", "more than 110 megapixels")
    assert Image.MAX_IMAGE_PIXELS == 54321


def test_of_16_bits_fewer_pixels_are_read(tmp_path):
    path = tmp_path / "a.png"
    path.write_bytes(png_header(10000, 6000, 16, 2) + png_chunk(b"IDAT", b""))
    refused(path, "more than 50 megapixels")


def test_a_picture_of_many_pages_is_not_walked_through(tmp_path, monkeypatch):
    page = write_tiff(tmp_path / "a.tif", STEP).read_bytes()
    entries = 2 + 12 * struct.unpack_from("<H", page, 8)[0]
    pages = bytearray(page)
    last = 8 + entries
    for _ in range(500):
        struct.pack_into("<I", pages, last, len(pages))
        last = len(pages) + entries
        pages += page[8 : 8 + entries] + bytes(4)
    (tmp_path / "a.tif").write_bytes(pages)
    monkeypatch.setattr(TiffImagePlugin.TiffImageFile, "n_frames", property(lambda _: 1 / 0))
    assert read_photo(tmp_path / "a.tif").notes[0] == "first of several pictures in the file"


def test_damaged_16_bits_do_not_wear_python_out(tmp_path):
    """The decoder lets go of None at each: after 12,000 the interpreter would abort."""
    path = write_png16(tmp_path / "a.png", STEP)
    path.write_bytes(path.read_bytes()[:-20])
    refused(path, "damaged or cut short")
    gc.collect()
    before = sys.getrefcount(None)
    for _ in range(600):
        with contextlib.suppress(PhotoError):
            read_photo(path)
    assert sys.getrefcount(None) > before - 300


def test_large_but_allowed_is_decoded_without_a_warning(tmp_path):
    # Pillow's own limit, 89 megapixels, would warn; there is no data, so that it is damaged
    path = tmp_path / "a.png"
    path.write_bytes(png_header(10000, 9900, 8, 0) + png_chunk(b"IDAT", b""))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        refused(path, "damaged or cut short")


def test_numbers_that_are_not_8_or_16_bits(tmp_path):
    Image.fromarray(np.ones((4, 4), dtype=np.float32)).save(tmp_path / "a.tif")
    refused(tmp_path / "a.tif", "floating-point numbers of 32 bits")
    Image.fromarray(np.ones((4, 4), dtype=np.int32)).save(tmp_path / "b.tif")
    refused(tmp_path / "b.tif", "32 bits a channel; save it with 8 or 16")
    floats = np.ones((4, 4, 3), dtype=np.float32)
    refused(write_tiff(tmp_path / "c.tif", floats, sample_format=3), "8 or 16 bits a channel")
    signed = np.ones((4, 4, 1), dtype=np.int16)
    refused(write_tiff(tmp_path / "d.tif", signed, 1, sample_format=2), "signed .* 16 bits")
    flat((50, 10, 20), mode="LAB").save(tmp_path / "e.tif")
    refused(tmp_path / "e.tif", "holds LAB values; save it as RGB")


# --- places -------------------------------------------------------------------------------------


def photo_of(values, opaque=None):
    return Photo(Path("kiln.png"), np.asarray(values), opaque, ())


def checker(height=20, width=30):
    rows, columns = np.mgrid[:height, :width]
    return photo_of(np.repeat((rows + columns)[..., None] % 2 * 255, 3, axis=2).astype(np.uint8))


def test_the_mean_is_taken_in_linear_light():
    photo = photo_of(np.array([[[0] * 3, [255] * 3]], dtype=np.uint8))
    sample = box(photo, 0, 0, 2, 1)
    np.testing.assert_allclose(sample.rgb, 0.5, atol=1e-12)
    # half the light of white is L* 116 * 0.5 ** (1/3) - 16 = 76.07 (ISO/CIE 11664-4), while the
    # mean of the encoded values, 127.5, would be L* 53.4
    np.testing.assert_allclose(sample.lab, [76.0693, 0, 0], atol=0.02)
    assert sample.count == 2
    assert sample.clipped == 1


def test_disc_and_box_hold_the_pixels_they_should():
    rows, columns = np.mgrid[:50, :60]
    values = np.stack([rows * 4, columns * 4, rows * 0 + 7], axis=-1).astype(np.uint8)
    photo = photo_of(values)
    for x, y, radius in [(30, 20, 0), (30, 20, 4), (30, 20, 6.5), (1, 2, 5), (59, 49, 9)]:
        inside = (columns - x) ** 2 + (rows - y) ** 2 <= radius**2
        sample = place(photo, x, y, radius)
        assert sample.count == inside.sum()
        np.testing.assert_allclose(
            sample.rgb, decode_srgb(values[inside] / 255).mean(axis=0), rtol=1e-12
        )
    sample = box(photo, 10, 5, 13, 9)
    assert sample.count == 12
    np.testing.assert_allclose(
        sample.rgb, decode_srgb(values[5:9, 10:13] / 255).mean(axis=(0, 1)), rtol=1e-12
    )
    assert box(photo, -5, -5, 12, 12).count == 144
    assert place(photo, 30.4, 19.6).rgb.tolist() == place(photo, 30, 20).rgb.tolist()


def test_a_large_region_is_the_same_in_bands(monkeypatch):
    values = np.random.default_rng(1).integers(0, 256, (90, 70, 3), dtype=np.uint8)
    whole = box(photo_of(values), 0, 0, 70, 90)
    disc = place(photo_of(values), 35, 45, 30)
    monkeypatch.setattr("mixlab.targets.photos._BAND", 500)
    monkeypatch.setattr("mixlab.targets.photos._SPREAD_PIXELS", 3000)
    for before, after in [
        (whole, box(photo_of(values), 0, 0, 70, 90)),
        (disc, place(photo_of(values), 35, 45, 30)),
    ]:
        np.testing.assert_allclose(after.rgb, before.rgb, rtol=1e-12)
        assert (after.count, after.clipped) == (before.count, before.clipped)
        assert after.spread == pytest.approx(before.spread, rel=0.05)  # of half the pixels


def test_spread_and_clipped():
    even = photo_of(np.full((9, 9, 3), 120, dtype=np.uint8))
    assert place(even, 4, 4, 4).spread == pytest.approx(0, abs=1e-9)
    assert place(even, 4, 4, 4).clipped == 0
    # black and white against their mean, grey of L* 76: CIEDE2000 by colour-science
    sample = box(checker(), 0, 0, 30, 20)
    black = colour.delta_E([0, 0, 0], sample.lab, method="CIE 2000")
    assert sample.spread == pytest.approx(black, abs=1e-6)
    for kind in (np.uint8, np.uint16):
        top = np.iinfo(kind).max
        values = np.full((10, 10, 3), top // 2, dtype=kind)
        values[0, :5, 1] = top
        values[1, :5, 2] = 0
        values[2] = top - top // 255
        assert box(photo_of(values), 0, 0, 10, 10).clipped == pytest.approx(0.10)


@pytest.mark.parametrize(
    "at", [(30, 5), (5, 20), (-1, 5), (5, -0.01), (29.01, 0), (1e300, 0), (0, -1e300)]
)
def test_a_place_outside(at):
    with pytest.raises(
        PhotoError, match=r"outside the picture: it is 30 x 20 pixels, x 0 to 29, y 0 to 19$"
    ):
        place(checker(), *at)


@pytest.mark.parametrize("radius", [-1, 31, 1e9])
def test_a_radius_that_makes_no_sense(radius):
    with pytest.raises(PhotoError, match="0 to 30 is possible"):
        place(checker(), 5, 5, radius)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -float("inf")])
def test_numbers_that_are_not_finite(bad):
    for numbers in [(bad, 1, 1), (1, bad, 1), (1, 1, bad)]:
        with pytest.raises(PhotoError, match="is no number of pixels"):
            place(checker(), *numbers)
    with pytest.raises(PhotoError, match="is no number of pixels"):
        box(checker(), 0, 0, bad, 5)


def test_boxes_that_hold_nothing():
    for corners in [(5, 5, 5, 9), (5, 9, 8, 5)]:
        with pytest.raises(PhotoError, match="is empty"):
            box(checker(), *corners)
    with pytest.raises(PhotoError, match="centre outside the picture: it is 30 x 20"):
        box(checker(), 20, 0, 45, 20)
    with pytest.raises(PhotoError, match="holds no pixel"):
        box(checker(), 5.1, 5.1, 5.4, 5.4)
    with pytest.raises(PhotoError, match="holds no pixel"):
        box(checker(), 29.6, 0, 30.3, 5)


# --- correcting by a grey -----------------------------------------------------------------------


def test_without_a_grey_the_colour_is_as_the_picture_has_it():
    rgb = np.array([[0.2, 0.1, 0.05], [0.4, 0.5, 0.6]])
    np.testing.assert_array_equal(photo_lab(rgb), rgb_to_lab(rgb, viewing()))


@pytest.mark.parametrize("reflectance", [0.05, 0.18, 0.6, 1.0])
def test_the_grey_comes_out_neutral_and_as_light_as_stated(reflectance):
    grey = np.array([0.21, 0.15, 0.08])
    # L* of the reflectance by colour-science, ISO/CIE 11664-4
    expected = colour.colorimetry.lightness_CIE1976(100 * reflectance)
    lab = photo_lab(grey, grey, reflectance)
    np.testing.assert_allclose(lab, [expected, 0, 0], atol=1e-9)


def test_a_cast_and_an_exposure_are_removed():
    # colours seen under D65, cast by colour-science's Bradford adaptation to CIE A at 0.6 of the
    # exposure; 0.01 is left by the four decimals in which the matrices are published
    surfaces = np.array([[0.40, 0.20, 0.12], [0.10, 0.14, 0.12], [0.55, 0.50, 0.30]])
    matrix = colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ
    whites = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    light = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        colour.xy_to_XYZ(whites["D65"]), colour.xy_to_XYZ(whites["A"]), "Bradford"
    )
    cast = 0.6 * np.linalg.inv(matrix) @ light @ matrix
    lab = photo_lab(surfaces @ cast.T, cast @ np.full(3, 0.3), 0.3)
    np.testing.assert_allclose(lab, rgb_to_lab(surfaces, viewing()), atol=0.01)
    # uncorrected, the same colours are far off
    wrong = colour.delta_E(photo_lab(surfaces @ cast.T), lab, method="CIE 2000")
    assert wrong.min() > 10


@pytest.mark.parametrize(
    ("grey", "words"),
    [
        ((0.0, 0.0, 0.0), "too dark"),
        ((0.2, 0.1, 0.001), "too dark"),
        ((0.2, -0.1, 0.1), "too dark"),
        ((1.0, 0.9, 0.8), "clipped"),
        ((0.5, 0.9, 0.999), "clipped"),
        ((0.2, np.nan, 0.2), "finite"),
        ((0.2, 0.2), "three"),
    ],
)
def test_a_grey_that_cannot_be_used(grey, words):
    with pytest.raises(PhotoError, match=words):
        photo_lab([0.2, 0.2, 0.2], grey)


@pytest.mark.parametrize("reflectance", [0, -0.2, 1.01, 18, float("nan"), float("inf")])
def test_a_reflectance_that_cannot_be(reflectance):
    with pytest.raises(PhotoError, match="above 0 and at most 1"):
        photo_lab([0.2, 0.2, 0.2], [0.2, 0.2, 0.2], reflectance)


def test_lighter_than_white_is_an_error():
    with pytest.raises(PhotoError, match=r"L\* 1\d\d\.\d, above a perfect white"):
        photo_lab([0.9, 0.9, 0.9], [0.2, 0.2, 0.2], 0.5)
    for bad in ([0.1, 0.2], 0.3, [0.1, np.inf, 0.2]):
        with pytest.raises(PhotoError, match="three finite numbers"):
            photo_lab(bad)


# --- the house ----------------------------------------------------------------------------------


def run(code, *arguments):
    root = Path(__file__).resolve().parents[2]
    command = [sys.executable, "-c", code, *map(str, arguments)]
    return subprocess.run(command, cwd=root, capture_output=True, text=True, check=True)


def test_the_import_is_light():
    heavy = "{'PIL', 'imagecodecs', 'scipy', 'pandas', 'colour'}"
    done = run(f"import sys, mixlab.targets.photos; print(sorted({heavy} & set(sys.modules)))")
    assert done.stdout.strip() == "[]"


def test_no_library_writes_to_the_terminal(tmp_path):
    # in a process of its own, as under pytest what is logged goes elsewhere
    write_png16(tmp_path / "a.png", STEP, icc=b"no profile at all")
    write_tiff(tmp_path / "b.tif", np.zeros((2, 2, 7), dtype=np.uint8))
    (tmp_path / "c.png").write_bytes(write_png16(tmp_path / "c.png", STEP).read_bytes()[:-20])
    flat(BRICK).save(tmp_path / "d.jpg", exif=DAMAGED_EXIF)
    done = run(
        "import sys\n"
        "from mixlab.targets.photo_files import PhotoError, read_photo\n"
        "for path in sys.argv[1:]:\n"
        "    try:\n"
        "        print(read_photo(path).notes)\n"
        "    except PhotoError as error:\n"
        "        print(error)\n",
        *(tmp_path / name for name in ("a.png", "b.tif", "c.png", "d.jpg")),
    )
    assert "broken" in done.stdout
    assert len(done.stdout.splitlines()) == 4
    assert done.stderr == ""

"""Files that each reader takes, files that once went wrong, and how both are changed."""

import copy
import csv
import io
import random
import struct
import zlib

import numpy as np
from PIL import Image, ImageCms

from mixlab.files import bundled

GRID = range(400, 710, 10)
CURVE = ",".join(map(str, GRID))
_CXF = (
    '<?xml version="1.0"?><CxF xmlns="http://colorexchangeformat.com/CxF3-core"><Resources>'
    "<ObjectCollection>{}</ObjectCollection><ColorSpecificationCollection><ColorSpecification "
    'Id="s"><MeasurementSpec><MeasurementType>Spectrum_Reflectance</MeasurementType>'
    '<WavelengthRange StartWL="400" Increment="10"/></MeasurementSpec></ColorSpecification>'
    "</ColorSpecificationCollection></Resources></CxF>"
)
_OBJECT = (
    '<Object Id="{0}" Name="{0}: 1 zinc-white + 1 bone-black" ObjectType="Standard"><ColorValues>'
    '<ReflectanceSpectrum ColorSpecification="s" StartWL="{1}">{2}</ReflectanceSpectrum>'
    "</ColorValues></Object>"
)
_POINTS = (
    '<Object Id="1" Name="1 zinc-white" ObjectType="Standard"><ColorValues><CustomSpectrum '
    'ColorSpecification="s">{}</CustomSpectrum></ColorValues></Object>'
)
FIGURES = " ".join(["0.25"] * len(GRID))


def cxf(start="400"):
    return _CXF.format("".join(_OBJECT.format(i, start, FIGURES) for i in range(2))).encode()


def points(first="400"):
    grid = [first, *map(str, GRID[1:])]
    return _CXF.format(_POINTS.format("".join(
        f'<SpectralPoint WL="{w}">0.3</SpectralPoint>' for w in grid
    ))).encode()  # fmt: skip


def cgats(count="2"):
    fields = " ".join(f"SPECTRAL_NM{w}" for w in GRID)
    sets = "".join(f'{i} "k{i}: 1 zinc-white + {i} bone-black, over white" {FIGURES}\n'
                   for i in (1, 2))  # fmt: skip
    return (
        f'CGATS.17\nORIGINATOR "kiln yard"\nNUMBER_OF_SETS {count}\nBEGIN_DATA_FORMAT\n'
        f"SAMPLE_ID SAMPLE_NAME {fields}\nEND_DATA_FORMAT\nBEGIN_DATA\n{sets}END_DATA\n"
    ).encode()


def table(**cells):
    """Two rows of the bundled table, some cells of the first changed."""
    lines = bundled("paints.csv").read_text(encoding="utf-8").splitlines()
    header, row = csv.reader(lines[:2])
    row = [cells.get(name, cell) for name, cell in zip(header, row, strict=True)]
    quoted = ",".join('"' + cell.replace('"', '""') + '"' for cell in row)
    return f"{lines[0]}\n{quoted}\n{lines[2]}\n".encode()


def picture(kind, mode="RGB", size=(7, 5), **options):
    stream = io.BytesIO()
    levels = np.random.default_rng(3).integers(0, 256, (size[1], size[0], 4), dtype=np.uint8)
    Image.fromarray(levels, "RGBA").convert(mode).save(stream, kind, **options)
    return stream.getvalue()


def png16(whole=True):
    def chunk(name, data):
        check = struct.pack(">I", zlib.crc32(name + data))
        return struct.pack(">I", len(data)) + name + data + check

    rows = b"".join(b"\0" + bytes(range(i, i + 12)) for i in range(3))
    head = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", 2, 3, 16, 2, 0, 0, 0))
    made = head + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")
    return made if whole else made[:-20]


def saved(places, light=b'"D65"'):
    return (b'{"mixlab": "passages", "light": ' + light + b', "observer": "2", "places": ['
            + places + b"]}")  # fmt: skip


SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
_EXIF = Image.Exif()
_EXIF[274] = 6

SEEDS = {
    "readings": [
        f"sample,mixture,surface,{CURVE}\nk1,1 zinc-white + 1 bone-black,over-white,"
        f"{'0.2,' * 30}0.2\nk2,1 zinc-white,opaque,{'0.9,' * 30}0.9\n".encode(),
        f"sep=;\nsample;mixture;surface;{CURVE.replace(',', ';')}\nk1;1 zinc-white;opaque;"
        f"{'0,2;' * 30}0,2\n".encode("utf-16"),
        cgats(), cxf(), points(),
    ],
    "companion": [b"id,sample,mixture,surface\nkiln 1,k1,1 zinc-white,over-white\n"],
    "table": [table()],
    "palette": [b'name = "Kiln"\nabout = "brick"\npaints = ["PB29", "titanium-white"]\n'],
    "card": [
        b'photo = "a.png"\nradius = 16\nneutral = [{ at = [4, 2], reflectance = 0.18 }]\n'
        b'paper = [[5, 7], [2, 5]]\n[tubes]\nkiln-blue = "PB29"\n[swatches]\n'
        b'"1 kiln-blue" = [[1, 2], [3, 4, 5, 6]]\n'
    ],
    "list": [
        b"name,L,a,b,weight\nbrick,45,15,20,2\npond,40,-3,4,1\n",
        b"#8a5a3c\n7.5YR 4/6\n45,15,20\nN 5\n",
    ],
    "spectrum": [("nm,R\n" + "".join(f"{w},0.2\n" for w in GRID)).encode()],
    "places": [
        b"name,colour\nbrick,#8a5a3c\nbirch,N 8\n",
        b'{"mixlab": "passages", "light": "D65", "observer": "2", "places": '
        b'[{"name": "brick", "lab": [45, 15, 20]}]}',
    ],
    "typed": [
        b"7.5YR 4/6", b"N 5", b"#8a5a3c", b"45,15,20", b"2 PB29 + 1 burnt-umber + 4 titanium-white",
        b"half", b"50 %",
    ],
    "picture": [
        picture("JPEG", icc_profile=SRGB, exif=_EXIF), picture("JPEG", "CMYK"),
        picture("PNG", "RGBA", icc_profile=SRGB), picture("PNG", "P"), png16(),
        picture("TIFF", compression="tiff_lzw"), picture("TIFF", "L", icc_profile=SRGB),
        picture("WEBP"), picture("GIF", "P"), picture("BMP"),
    ],
}  # fmt: skip
"""What each reader takes."""

BAD_NAME = b"Harmless\rFAKE \xc2\x9b31m\xe2\x80\xae"

FAULTS = {
    "readings": [
        b"sample" + b"\n" * 100_000, b"sample" + b" " * 100_000 + b"\n",
        cgats("3" * 4301), cxf("4" + "0" * 400), points("NaN"), cxf("-400"), points("1e999"),
        f"sample,mixture,surface,{CURVE}\n".encode() * 5_002,
        b"CGATS.17\nBEGIN_DATA\n" + b"a\n" * 500_000,
        _CXF.format("<a/>" * 900_000).encode(), _CXF.format("<a>" * 90).encode(),
        f"sample,mixture,surface,{CURVE}\n".encode() + BAD_NAME + b",1 x,opaque" + b",0.2" * 31,
    ],
    "companion": [b"sample,mixture\n" + b"kiln 1,1 zinc-white\n" * 6_000],
    "table": [
        b"id," + b",".join(b"c%d" % i for i in range(60_000)) + b"\n", b"," * 15_900_000,
        table(name=BAD_NAME.decode(), source="\u202e", cautions="\x9b2J"),
        table(name='=HYPERLINK("x")'), table(id="x" * 120_000), table(S400="5e-324", K400="0"),
        table(K400="1e308"), b"id,K380\n" + b"a,b\n" * 20_000,
    ],
    "palette": [
        b".".join([b"a"] * 40_000) + b" = 1", b"paints = " + b"[" * 100_000,
        b'paints = ["' + b"x" * 240_000 + b'"]', b"name = " + b"9" * 5_000,
        b'paints = ["' + b'", "'.join(b"a%d" % i for i in range(20_000)) + b'"]',
        b'paints = ["\\u009b\\u202e"]', b"a = 1\n" * 100_000,
    ],
    "card": [b".".join([b'"a"'] * 40_000) + b" = 1", b"photo = 1e400\nradius = inf\n"],
    "list": [
        b"0\n" * 5_000_000, b"5R 5/1\n" * 5_000, b"name,hex\n" + BAD_NAME + b",#zzzzzz\n",
        b"L,a,b\n1e308,1e308,1e308\n", b"5" * 100_000 + b"R 5/1\n",
    ],
    "spectrum": [b"400,nan\n", b"400,1\n" * 100_000, b"1e308,1e308\n-1e308,0\n"],
    "places": [
        b'{"places": ' + b"[" * 100_000, b'{"mixlab": "passages", "light": "D65", "observer": "2", '
        b'"places": [{"name": 5, "lab": [' + b"9" * 5000 + b", 0, 0]}]}",
        b"name,colour\n" + b"a,N 5\n" * 70, b"\xff\xfe" * 9,
        saved(b'[["name", "a"], ["lab", [50, 0, 0]]]'), saved(b'{"lab": [NaN, 0, 0]}'),
        saved(b'{"lab": ["50", "0", "0"]}'), saved(b'{"lab": [50, 0, 0], "x": 3}'),
        saved(b'{"name": null, "lab": [50, 0, 0]}'), saved(b'{"lab": null, "x": "3", "y": true}'),
        saved(b'{"lab": [50, 0, 0], "radius": "wide"}'), saved(b'{"lab": [50, 180, 180]}'),
        saved(b'{"lab": [50, 0, 0]}', b'"daylight"'), saved(b'{"lab": [50, 0, 0]}', b'["D65"]'),
        saved(b""),
    ],
    "typed": [
        b"5" * 2_000 + b"R" + b"5" * 2_000, b"1" * 2_000, b"x" * 1_000_000, b"1e-320 PB29",
        b"1e999 PB29", b"1 " * 900, b"1 PB29 + " * 3_000, b"0x10,1_0,1e308", BAD_NAME,
        b"5\xff0" + b"\n" * 50, b"'" * 2_000, b"\\" * 2_000, b"\"' " * 600,
    ],
    "picture": [
        png16(whole=False), picture("PNG", icc_profile=SRGB[:16] + b"\x1b[2J" + SRGB[20:]),
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + struct.pack(">IIBBBBB", 17_000, 17_000, 8, 2, 0, 0, 0)
        + struct.pack(">I", zlib.crc32(b"IHDR" + struct.pack(
            ">IIBBBBB", 17_000, 17_000, 8, 2, 0, 0, 0))) + b"\0\0\0\0IDAT\x35\xaf\x06\x1e",
    ],
}  # fmt: skip
"""What once hung a reader, filled its memory, came out of it as no MixlabError, or was taken by one
of two readers of the same files and not by the other."""

TOKENS = (
    b"", b" ", b"nan", b"inf", b"-1", b"1e308", b"1e-320", b"1e999", b"0", b"9" * 400, b"0x1",
    b"1_0", b"%", b"1,5", b'"', b'""', b"'", b"=1+1", b"'=1", b"\r", b"\n", b"\t", b";", b"\x00",
    b"\x1b[31m", b"\xc2\x9b", b"\xe2\x80\xae", b"\xff", b"\xef\xbb\xbf", b"[", b"{", b"]]>",
    b"<!DOCTYPE a>", b"&a;", b"END_DATA", b"BEGIN_DATA", b"NUMBER_OF_SETS 9", b"over-white",
    b"bare-black", b"bare white", b"1 x + 1 y", b"PB29", b"titanium-white", b"N 5/", b"10RP 9/2",
    b"#ffffff", b"400", b"700", "½".encode(), "²".encode(), "٣".encode(), "İ".encode(),
)  # fmt: skip
_MARKS = b",;\t\n \"<>=/[]{}+"


def changed(data, rng):
    """Return a file with a few of its cells exchanged, doubled, cut or moved.

    Cells lie between the marks of CSV, TOML, XML and notation, so that most changes pass the first
    refusal.
    """
    data = bytearray(data)
    for _ in range(rng.choice((1, 1, 1, 2, 3, 6))):
        marks = [i for i, byte in enumerate(data) if byte in _MARKS]
        start = rng.choice(marks) if marks and rng.random() < 0.8 else rng.randrange(len(data) + 1)
        end = next((i for i in marks if i > start), len(data))
        way = rng.randrange(6)
        if way == 0:
            data[start + 1 : end] = rng.choice(TOKENS)
        elif way == 1:
            data[start:start] = rng.choice(TOKENS)
        elif way == 2:
            data[start:end] = b""
        elif way == 3:
            data[start:start] = data[start:end] * rng.choice((1, 2, 40))
        elif way == 4 and data:
            at = rng.randrange(len(data))
            data[at] = rng.choice((rng.randrange(256), data[at] ^ 1 << rng.randrange(8)))
        else:
            lines = bytes(data).split(b"\n")
            rng.shuffle(lines)
            data = bytearray(b"\n".join(lines[: rng.randrange(1, len(lines) + 1)]))
    return bytes(data)


ODD = (
    None, True, False, 0, -0.0, -1, 0.5, 1e-320, 1e308, 10**400, 1e999, 2**53, "", "x", "5",
    "D65", "__proto__", "a\n\u202eb", "\ud800", "\U0001f3a8" * 90, "x" * 5_000, [], [[]], [5], {},
    {"x": 1}, [50, 0, 0], ["50", 0, 0], [50, 0, 0, 0], [101, 0, 0], [50, 180, 180], [100, -200, 0],
)  # fmt: skip
"""What stands where something else was expected."""


def restructured(content, rng):
    """Return JSON content with a few of its values exchanged, doubled, moved, wrapped or gone."""
    content = copy.deepcopy(content)
    for _ in range(rng.choice((1, 1, 1, 2, 3, 6))):
        held, key = rng.choice(list(_places(content)) or [(None, None)])
        way = rng.randrange(8)
        if held is None or (way == 0 and rng.random() < 0.1):
            content = copy.deepcopy(rng.choice(ODD))
        elif way == 1:
            del held[key]
        elif way == 2 and isinstance(held, list):
            held.insert(rng.randrange(len(held) + 1), copy.deepcopy(held[key]))
        elif way == 2:
            held[rng.choice(("name", "lab", "x", "y", "radius", "light", "of", "plan"))] = held[key]
        elif way == 3:
            held[key] = [held[key]]
        elif way == 4 and isinstance(held, list) and len(held) < 99:
            held *= rng.choice((1, 2, 40, 70))
        elif isinstance(held[key], (int, float)) and abs(held[key]) < 1e99 and way < 7:
            held[key] *= rng.choice((-1, 0.5, 1.0000001, 3, 1e6, 1e300))
        else:
            held[key] = copy.deepcopy(rng.choice(ODD))
    return content


def _places(content):
    """Yield every list or object in JSON content with each of its keys."""
    if isinstance(content, (list, dict)):
        for key in range(len(content)) if isinstance(content, list) else list(content):
            yield content, key
            yield from _places(content[key])


def corpus(kind, count, seed=1):
    """Yield the seeds of a kind, its faults, and files made of the seeds; always the same."""
    yield from SEEDS[kind]
    yield from FAULTS.get(kind, ())
    rng = random.Random(f"{kind} {seed}")
    for _ in range(count):
        yield changed(rng.choice(SEEDS[kind]), rng)

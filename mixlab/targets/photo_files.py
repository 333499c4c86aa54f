"""Picture files: decoded, what their colour profiles make of the pixels, and written.

Pillow reads the headers, and the pixels of 8 bits a channel. Of 16-bit colour it would keep only
the upper 8 bits, so that imagecodecs decodes those; it also hands colour profiles to Little CMS
in floating point. Pixels stay in the encoding of the file, so that a wide one is not cut down to
sRGB; :meth:`Photo.linear` says what they are.

References
----------
.. [1] ICC.1:2010, Image technology colour management (profiles; 6.3.4.3, the white of the profile
       connection space; 7.2.6, names of colour spaces).
.. [2] IEC 61966-2-1, sRGB. Exif 2.32, DCF 2.0 (orientation, Adobe RGB). TIFF 6.0. PNG 11.3.2.
"""


import ctypes
import io
import logging
import os
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from mixlab import limits
from mixlab.arrays import Array, Mask, Pixels
from mixlab.colour.spaces import SRGB_WHITE, adapt, decode_srgb, xyz_to_rgb
from mixlab.errors import PhotoError
from mixlab.files import stream_apart
from mixlab.text import visible
from mixlab.writing import writable, write_whole

if TYPE_CHECKING:
    from PIL.Image import Image


# --- files --------------------------------------------------------------------------------------


def checked_picture(path: str | os.PathLike[str]) -> Path:
    """Return the path of a picture to be written; PhotoError if it cannot be one."""
    if Path(path).suffix.lower() != ".png":
        raise PhotoError(f"{path}: the picture is written as PNG; end its name in .png")
    return writable(path, PhotoError)


def write_picture(path: str | os.PathLike[str], pixels: Pixels) -> None:
    """Write 8-bit sRGB pixels (h, w, 3 or 4) as PNG with the sRGB profile, whole or not at all.

    Raises
    ------
    PhotoError : for another ending, or a place that cannot be written
    """
    from PIL import Image, ImageCms

    target = checked_picture(path)
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[24:36] = _PROFILED
    stream = io.BytesIO()
    # the first level of compression takes a fifth of the time of the usual, and a tenth more room
    Image.fromarray(pixels).save(stream, "PNG", compress_level=1, icc_profile=bytes(profile))
    write_whole(target, stream.getbuffer(), PhotoError)


for _library in ("PIL", "imagecodecs"):  # what they log of a damaged file is raised as well
    logging.getLogger(_library).addHandler(logging.NullHandler())

_PROFILED = bytes.fromhex("07e8000a0011000f00000000")
"""When a profile of ours was made (ICC.1:2010, 7.2.8): always then, so that files are the same."""

_FORMATS = ("JPEG", "PNG", "TIFF", "WEBP", "GIF", "BMP")
_SPACES = {1: "GRAY", 3: "RGB", 4: "CMYK"}  # by the count of channels, as ICC.1 names them
_CONNECTION_WHITE = 100 * np.array([0.9642, 1.0, 0.8249])

# TIFF 6.0 tags
_BITS_PER_SAMPLE, _PHOTOMETRIC, _ORIENTATION, _PLANAR, _SAMPLE_FORMAT = 258, 262, 274, 284, 339
# Exif 2.32 and DCF 2.0: the interoperability index that stands for Adobe RGB
_EXIF, _INTEROP, _INTEROP_INDEX, _ADOBE_RGB = 0x8769, 0xA005, 1, "R03"
# PNG gAMA and cHRM (white, red, green, blue) of sRGB, PNG specification 11.3.2
_SRGB_GAMMA = 0.45455
_SRGB_CHROMATICITY = (0.3127, 0.3290, 0.64, 0.33, 0.30, 0.60, 0.15, 0.06)

_BAND_ROWS = 256
_Pixels = NDArray[np.unsignedinteger[Any]]
_Any = TypeVar("_Any", bound=NDArray[Any])


@dataclass(frozen=True, eq=False)
class Photo:
    """A picture, turned the way a viewer shows it.

    Attributes
    ----------
    path : the file it came from
    pixels : (height, width, 3), uint8 or uint16, encoded as in the file; read-only
    opaque : (height, width), where the picture is not transparent; None if it is opaque throughout
    notes : what was done to the colours, and what makes them doubtful
    profile : ICC profile of the pixels; None where they are sRGB
    """

    path: Path
    pixels: _Pixels = field(repr=False)
    opaque: Mask | None = field(repr=False)
    notes: tuple[str, ...]
    profile: bytes | None = field(default=None, repr=False)

    def linear(self, pixels: _Pixels) -> Array:
        """Return linear sRGB (..., 3) of pixels (..., 3), uint8 or uint16, encoded as these are.

        A colour outside sRGB is below 0 or above 1 in a channel, and keeps its CIELAB. Relative
        colorimetric: the white of the profile becomes that of sRGB (Bradford).
        """
        if self.profile is None:
            return _srgb_levels(int(np.iinfo(pixels.dtype).max))[pixels]
        from PIL import ImageCms

        to = ImageCms.ImageCmsProfile(ImageCms.createProfile("XYZ")).tobytes()
        xyz = 100 * _transformed(pixels.reshape(1, -1, 3), self.profile, to, "xyz", "float64")
        rgb = xyz_to_rgb(adapt(xyz, _CONNECTION_WHITE, SRGB_WHITE))
        return rgb.reshape(pixels.shape)

    @property
    def width(self) -> int:
        """Return the width [pixels]."""
        return int(self.pixels.shape[1])

    @property
    def height(self) -> int:
        """Return the height [pixels]."""
        return int(self.pixels.shape[0])


@cache
def _srgb_levels(top: int) -> Array:
    return decode_srgb(np.arange(top + 1) / top)


def _transformed(
    values: _Pixels, profile: bytes, to: bytes, space: str, dtype: str
) -> NDArray[Any]:
    """Return what Little CMS makes of encoded values (h, w, n), relative colorimetric."""
    import imagecodecs

    made_for = profile[16:20].decode().strip()
    return np.asarray(imagecodecs.cms_transform(
        values[..., 0] if made_for == "GRAY" else values, profile, to,
        colorspace=made_for.lower(), outcolorspace=space, outdtype=dtype,
        intent=imagecodecs.CMS.INTENT.RELATIVE_COLORIMETRIC,
        flags=imagecodecs.CMS.FLAGS.NOOPTIMIZE,
    ))  # fmt: skip


# --- reading ------------------------------------------------------------------------------------


def read_photo(path: str | os.PathLike[str]) -> Photo:
    """Return the picture in a JPEG, PNG, TIFF, WebP, GIF or BMP file.

    An embedded ICC profile says what its colours are; without one it is taken as sRGB. CMYK is
    brought to sRGB. EXIF orientation is applied. Of several pictures in a file the first is read.

    Raises
    ------
    PhotoError : if there is no such file, or it is not a whole picture of 8 or 16 bits a channel
        and at most :data:`mixlab.limits.PIXELS`
    """
    file = Path(path)
    try:
        _check_file(file)
        return _read(file)
    except PhotoError:
        raise
    except MemoryError as error:
        raise PhotoError(f"{file} is too large for the memory of this computer") from error
    except Exception as error:  # a decoder fed with damaged bytes may raise nearly anything
        if isinstance(error, OSError) and error.strerror:
            raise PhotoError(f"{file} cannot be read: {error.strerror}") from error
        raise PhotoError(f"{file} is damaged or cut short: {_in_words(error)}") from error


def _check_file(file: Path) -> None:
    if file.is_dir():
        raise PhotoError(f"{file} is a folder, not a picture")
    if not file.exists():
        raise PhotoError(f"{file}: there is no such file")
    if not file.is_file():
        raise PhotoError(f"{file} is no ordinary file")
    if file.stat().st_size == 0:
        raise PhotoError(f"{file} is empty, not a picture")


def _read(file: Path) -> Photo:
    from PIL import Image, UnidentifiedImageError

    notes = []
    with _quiet():
        try:
            image = Image.open(file, formats=_FORMATS)
        except Image.DecompressionBombError as error:
            raise _too_large(file, limits.PIXELS) from error
        except UnidentifiedImageError as error:
            raise PhotoError(
                f"{file} is not a picture that can be read: "
                "JPEG, PNG, TIFF, WebP, GIF or BMP, 8 or 16 bits a channel"
            ) from error
        with image:
            if image.width * image.height > limits.PIXELS:
                raise _too_large(file, limits.PIXELS)
            if getattr(image, "is_animated", False):
                notes.append("first of several pictures in the file")
            deep = _bits(file, image) == 16
            most = limits.DEEP_PIXELS if deep or image.mode == "CMYK" else limits.PIXELS
            if image.width * image.height > most:
                raise _too_large(file, most)
            values, opaque = _decode_deep(file, image) if deep else _decode(image)
            profile, note = _profile(image, _SPACES[values.shape[2]])
    del image  # and with it four bytes of each pixel
    notes.append(note)
    if opaque is not None:
        notes.append("partly transparent")
    if values.shape[2] == 4:
        values, profile = _from_inks(values, profile), None
    elif values.shape[2] == 1:
        values = np.repeat(values, 3, axis=2)
    values = np.ascontiguousarray(values)
    values.flags.writeable = False
    return Photo(file, values, opaque, tuple(notes), profile)


def _too_large(file: Path, most: int) -> PhotoError:
    return PhotoError(f"{file} has more than {most / 10**6:g} megapixels; make it smaller")


@contextmanager
def _quiet() -> Iterator[None]:
    """Set our limit in place of Pillow's, and keep what decoders tell of off the terminal.

    libtiff writes to stderr by itself, below Python.
    """
    from PIL import Image

    usual = Image.MAX_IMAGE_PIXELS
    Image.MAX_IMAGE_PIXELS = limits.PIXELS
    try:
        with warnings.catch_warnings(), stream_apart(2):
            warnings.simplefilter("ignore")
            yield
    finally:
        Image.MAX_IMAGE_PIXELS = usual


def _bits(file: Path, image: "Image") -> int:
    """Return the bits a channel that are to be read, or refuse; from the header alone."""
    bits, whole = 8, True
    if image.format == "PNG":
        with open(file, "rb") as stream:
            bits = stream.read(25)[24]  # in the IHDR chunk, which comes first
    elif image.format == "TIFF":
        bits = max(_tag(image, _BITS_PER_SAMPLE))
        whole = set(_tag(image, _SAMPLE_FORMAT)) == {1}
    if not whole or bits not in (1, 2, 4, 8, 16):
        kind = "whole" if whole else "signed or floating-point"
        raise PhotoError(
            f"{file} holds {kind} numbers of {bits} bits a channel; "
            "save it with 8 or 16 bits a channel"
        )
    if image.mode in ("LAB", "F", "I"):
        raise PhotoError(f"{file} holds {image.mode} values; save it as RGB")
    return min(bits, 8) if image.mode == "CMYK" else bits


def _tag(image: "Image", number: int) -> tuple[int, ...]:
    """Return a tag of a TIFF; those asked for here are 1 where they are missing, TIFF 6.0."""
    tags: Any = getattr(image, "tag_v2", {})
    found = tags.get(number, 1)
    return found if isinstance(found, tuple) else (found,)


def _decode(image: "Image") -> tuple[_Pixels, Mask | None]:
    """Decode 8 bits a channel with Pillow: (h, w, 1 grey, 3 RGB or 4 CMYK) and where opaque.

    A band of rows at a time, as Pillow keeps four bytes of each pixel, and copies them.
    """
    mode = "L" if image.mode in ("1", "L", "LA") else "CMYK" if image.mode == "CMYK" else "RGB"
    size, clear = (image.height, image.width), image.has_transparency_data
    values = np.empty((*size, len(mode)), dtype=np.uint8)
    opaque = np.ones(size, dtype=bool) if clear else None
    image.load()
    orientation = image.getexif().get(_ORIENTATION, 1)
    for top in range(0, image.height, _BAND_ROWS):
        rows = slice(top, min(top + _BAND_ROWS, image.height))
        band = image.crop((0, rows.start, image.width, rows.stop))
        band = band.convert("LA") if band.mode == "La" else band
        if opaque is not None:
            opaque[rows] = np.asarray(band.convert("RGBA").getchannel("A")) == 255
        values[rows] = np.atleast_3d(np.asarray(band if band.mode == mode else band.convert(mode)))
    opaque = None if opaque is None else np.ascontiguousarray(_turned(opaque, orientation))
    return _turned(values, orientation), _partly(opaque)


def _decode_deep(file: Path, image: "Image") -> tuple[_Pixels, Mask | None]:
    """Decode 16 bits a channel, of which Pillow would keep 8; it has read the header."""
    import imagecodecs

    if image.format == "PNG":
        try:
            values = imagecodecs.png_decode(file.read_bytes())
        except imagecodecs.PngError:
            # it has let go of None once too often; after some thousands Python would abort
            ctypes.pythonapi.Py_IncRef(ctypes.py_object(None))
            raise
    else:
        values = imagecodecs.tiff_decode(file.read_bytes())
        if _tag(image, _PLANAR) == (2,):
            values = np.moveaxis(values, 0, -1)
        if _tag(image, _PHOTOMETRIC) == (0,):  # counted from white
            values = 65535 - values
    values = np.atleast_3d(values)
    if values.dtype != np.uint16:
        raise ValueError("16 bits a channel were expected")
    values = _turned(values, image.getexif().get(_ORIENTATION, 1))
    opaque = values[..., -1] == 65535 if image.has_transparency_data else None
    return values[..., : 3 if values.shape[2] >= 3 else 1], _partly(opaque)


def _turned(values: _Any, orientation: int) -> _Any:
    """Return the picture as a viewer shows it; Exif 2.32, tag 274."""
    rows = -1 if orientation in (3, 4, 6, 7) else 1
    columns = -1 if orientation in (2, 3, 7, 8) else 1
    turned = values[::rows, ::columns]
    return cast("_Any", turned.swapaxes(0, 1) if orientation in (5, 6, 7, 8) else turned)


def _partly(opaque: Mask | None) -> Mask | None:
    return None if opaque is None or opaque.all() else opaque


def _profile(image: "Image", space: str) -> tuple[bytes | None, str]:
    """Return the embedded profile if it serves a picture in `space`, and what to tell about it."""
    from PIL import ImageCms

    rest = "plain conversion, the colours are rough" if space == "CMYK" else "taken as sRGB"
    if "icc_profile" not in image.info:
        return None, f"no colour profile: {rest}{_unheeded(image)}"
    embedded = image.info["icc_profile"] or b""
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(embedded))
        name = _in_words(ImageCms.getProfileDescription(profile))
        made_for = profile.profile.xcolor_space.strip()
        if made_for not in (space, "RGB" if space == "GRAY" else space):
            return None, f"the colour profile {name!r} is for {made_for}, not applied: {rest}"
        mode = "L" if made_for == "GRAY" else made_for
        ImageCms.buildTransform(profile, ImageCms.createProfile("sRGB"), mode, "RGB")
    except (ImageCms.PyCMSError, OSError, TypeError, ValueError):
        return None, f"the embedded colour profile is broken, not applied: {rest}"
    return embedded, f"converted from the colour profile {name!r}"


def _unheeded(image: "Image") -> str:
    """Return what the file says about its colours in other ways than by a profile."""
    if image.format in ("JPEG", "MPO"):
        exif = image.getexif()
        interop = exif.get_ifd(_INTEROP) if _INTEROP in exif.get_ifd(_EXIF) else {}
        if interop.get(_INTEROP_INDEX) == _ADOBE_RGB:
            return ", though the camera marks it as Adobe RGB: true chroma is higher"
    if "srgb" not in image.info:
        gamma = image.info.get("gamma", _SRGB_GAMMA)
        primaries = image.info.get("chromaticity", _SRGB_CHROMATICITY)
        if abs(gamma - _SRGB_GAMMA) > 0.01 or not np.allclose(
            primaries, _SRGB_CHROMATICITY, atol=0.002
        ):
            return ", though it states another gamma or primaries: the colours are doubtful"
    return ""


def _from_inks(values: _Pixels, profile: bytes | None) -> _Pixels:
    """Return encoded sRGB (h, w, 3) of CMYK (h, w, 4), with 16 bits where a profile is applied."""
    from PIL import Image, ImageCms

    if profile is None:
        return np.array(Image.fromarray(values, "CMYK").convert("RGB"))
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return _transformed(values, profile, srgb, "rgb", "uint16")


def _in_words(message: object) -> str:
    return visible(" ".join(str(message).split())) or type(message).__name__

"""Marks on the sheet: made, and found again in a photograph; OpenCV does both.

References
----------
.. [1] Garrido-Jurado et al., "Automatic generation and detection of highly reliable fiducial
       markers under occlusion", Pattern Recognition 47 (2014), 2280-2292: the corner marks.
.. [2] ISO/IEC 18004, QR code bar code symbology.
.. [3] Hartley, Zisserman, *Multiple View Geometry* (2nd ed. 2003), ch. 4: a plane seen aslant.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array
from mixlab.errors import LessonError
from mixlab.lesson import layout
from mixlab.lesson.layout import Box
from mixlab.targets.photo_files import Photo

SCALE = 8.0
"""Of the sheet laid flat [pixels a millimetre]."""

_SEARCHED = 2400  # pixels of the longer side in which marks are looked for
_FINE = 24.0  # pixels a millimetre at which a code is read, at most
_BENT = 0.8  # how far marks may lie from where a flat sheet has them, root mean square [mm]
_COARSE = 2.2  # pixels a millimetre below which squares are too small


def corner_mark(i: int) -> NDArray[np.bool_]:
    """Return where the mark of corner `i` is black, (6, 6)."""
    import cv2

    return np.asarray(cv2.aruco.generateImageMarker(_dictionary(), i, 6) < 128)


def code_mark(text: str) -> NDArray[np.bool_]:
    """Return where the QR code of a text is black, (n, n) without its quiet zone."""
    import cv2

    asked = cv2.QRCodeEncoder.Params()
    asked.correction_level = cv2.QRCodeEncoder_CORRECT_LEVEL_M
    black = np.asarray(cv2.QRCodeEncoder.create(asked).encode(text) < 128)
    rows, columns = (np.flatnonzero(black.any(axis=axis)) for axis in (1, 0))
    return black[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def _dictionary() -> Any:
    import cv2

    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)


@dataclass(frozen=True, eq=False)
class FoundSheet:
    """A sheet in a picture.

    Attributes
    ----------
    photo : the picture
    matrix : (3, 3), from millimetres on the sheet to pixels of the picture, homogeneous
    """

    photo: Photo
    matrix: Array

    def flat(self, box: Box = (0, 0, layout.WIDE, layout.HIGH), scale: float = SCALE) -> Photo:
        """Return a part of the sheet laid flat, upright, at a scale [pixels a millimetre]."""
        import cv2

        left, top, right, bottom = box
        size = round((right - left) * scale), round((bottom - top) * scale)
        # a pixel's middle is at half a pixel
        to_sheet = np.array([[1 / scale, 0, left + 0.5 / scale], [0, 1 / scale, top + 0.5 / scale],
                             [0, 0, 1]])  # fmt: skip
        pixels: Any = cv2.warpPerspective(
            np.ascontiguousarray(self.photo.pixels), self.matrix @ to_sheet, size,
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REPLICATE,
        )  # fmt: skip
        return replace(self.photo, pixels=pixels, opaque=None)

    def code(self) -> str:
        """Return what the sheet's codes say.

        Raises
        ------
        LessonError : if none can be read
        """
        import cv2

        reader = cv2.QRCodeDetector()
        for box in layout.CODES:
            left, top, right, bottom = box
            for scale in (10.0, 16.0, _FINE):
                around = left - 3.0, top - 3.0, right + 3.0, bottom + 3.0
                grey = _grey(self.flat(around, scale).pixels)
                for seen in (grey, cv2.GaussianBlur(grey, (0, 0), 0.12 * scale)):
                    try:
                        text = reader.detectAndDecode(seen)[0]
                    except (cv2.error, UnicodeDecodeError):
                        continue
                    if text:
                        return str(text)
        raise LessonError(
            f"{self.photo.path}: the sheet's code (the square of dots at the top and the bottom) "
            "cannot be read; photograph it sharp and near, or type the line beneath it (--code)"
        )


def find_sheet(photo: Photo) -> FoundSheet:
    """Return where the sheet lies in a picture.

    Raises
    ------
    LessonError : if there is none, a corner is missing, it is bent, or too small
    """
    import cv2

    grey = _grey(photo.pixels)
    by = min(1.0, _SEARCHED / max(grey.shape))
    small = grey if by == 1 else cv2.resize(grey, None, fx=by, fy=by, interpolation=cv2.INTER_AREA)
    asked = cv2.aruco.DetectorParameters()
    asked.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    asked.adaptiveThreshWinSizeMax = 43
    places, names, _ = cv2.aruco.ArucoDetector(_dictionary(), asked).detectMarkers(small)
    known = [] if names is None else [int(name) for name in np.ravel(names)]
    found: dict[int, Array] = {}
    for name, corners in zip(known, places, strict=True):
        if name in found:
            raise LessonError(f"{photo.path}: two sheets are in the picture; photograph each alone")
        if name < len(layout.MARKS):
            # the middles of pixels of the small picture, in pixels of the large one
            found[name] = (np.asarray(corners, dtype=float).reshape(4, 2) + 0.5) / by
    if not found:
        raise LessonError(
            f"{photo.path}: no sheet is found: none of its corner marks is in the picture, or all "
            "are blurred; photograph the whole sheet, sharp"
        )
    missing = [word for i, word in enumerate(layout.CORNERS) if i not in found]
    if missing:
        raise LessonError(
            f"{photo.path}: the {' and the '.join(missing)} corner mark is not seen; photograph "
            "the whole sheet, sharp, with nothing on its corners"
        )
    where = np.array([
        [(left, top), (right, top), (right, bottom), (left, bottom)]
        for left, top, right, bottom in layout.MARKS
    ], dtype=float)  # fmt: skip
    seen = np.array([found[i] for i in range(len(layout.MARKS))])
    matrix, _ = cv2.findHomography(where.reshape(-1, 2), seen.reshape(-1, 2))
    if matrix is None:
        raise LessonError(f"{photo.path}: the corner marks lie in one line; photograph from above")
    back = cv2.perspectiveTransform(seen.reshape(1, -1, 2), np.linalg.inv(matrix))[0]
    off = float(np.sqrt(np.mean(np.sum((back - where.reshape(-1, 2)) ** 2, axis=1))))
    if off > _BENT:
        raise LessonError(
            f"{photo.path}: the sheet is not flat: its marks lie {off:.1f} mm from their places; "
            "lay it on a board"
        )
    near = np.hypot(*np.diff(seen[[0, 3], 0], axis=0)[0]) / (where[3, 0, 1] - where[0, 0, 1])
    if near < _COARSE:
        raise LessonError(
            f"{photo.path}: the sheet is small in the picture, {near:.1f} pixels a millimetre; go "
            "nearer, and send the picture whole"
        )
    # pixels are counted by their middles
    return FoundSheet(photo, np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1]]) @ matrix)


def _grey(pixels: NDArray[Any]) -> NDArray[np.uint8]:
    """Return a picture (h, w, 3) in grey, 8 bits."""
    import cv2

    eight = pixels if pixels.dtype == np.uint8 else (pixels >> 8).astype(np.uint8)
    return np.asarray(cv2.cvtColor(np.ascontiguousarray(eight), cv2.COLOR_RGB2GRAY))

"""PDFium, and only PDFium: derived pages to rasters. Not thread-safe, so one process renders one thing at a time."""

from __future__ import annotations

import ctypes
import math
from collections.abc import Sequence

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium_c
from numpy.typing import NDArray

from preflight.artwork.matrices import Matrix, times
from preflight.artwork.objects import Box

_TURN_RAD = 1e-4
"""PDFium widens upright rectangles to whole pixels; turned by this much it covers them truly, and no place moves by
more than a tenth of a millimetre in two metres."""
_SHARP = pdfium_c.FPDF_RENDER_NO_SMOOTHPATH | pdfium_c.FPDF_RENDER_NO_SMOOTHTEXT | pdfium_c.FPDF_RENDER_NO_SMOOTHIMAGE


class DerivedDocument:
    """A derived PDF, open; its pages stay parsed, so that a window costs only what shows in it."""

    def __init__(self, derived: bytes) -> None:
        self._bytes = derived
        self._document = pypdfium2.PdfDocument(derived)
        self._pages: dict[int, pypdfium2.PdfPage] = {}

    def render(
        self, number: int, matrix: Matrix, width: int, height: int, *, sharp: bool = False
    ) -> NDArray[np.uint8]:  # fmt: skip
        """A page as (height, width, 3) in channel order, 0 bare and 255 solid; sharp: each pixel covered or not."""
        if number not in self._pages:
            self._pages[number] = self._document[number]
        bitmap = pypdfium2.PdfBitmap.new_native(width, height, pdfium_c.FPDFBitmap_BGRA)
        try:
            bitmap.fill_rect((255, 255, 255, 255), 0, 0, width, height)
            pdfium_c.FPDF_RenderPageBitmapWithMatrix(
                bitmap.raw,
                self._pages[number].raw,
                ctypes.byref(pdfium_c.FS_MATRIX(*matrix)),
                ctypes.byref(pdfium_c.FS_RECTF(0, 0, width, height)),
                pdfium_c.FPDF_PRINTING | (_SHARP if sharp else 0),
            )
            channels: NDArray[np.uint8] = np.subtract(255, bitmap.to_numpy()[:, :, 2::-1])
            return channels
        finally:
            bitmap.close()

    def close(self) -> None:
        """Let go of the pages and the document."""
        for page in self._pages.values():
            page.close()
        self._pages.clear()
        self._document.close()


def pixels(box_mm: Box, dpi: float) -> tuple[int, int]:
    """Width and height in pixels of a box at a resolution."""
    x0, y0, x1, y1 = box_mm
    return max(1, math.ceil((x1 - x0) * dpi / 25.4 - 1e-6)), max(1, math.ceil((y1 - y0) * dpi / 25.4 - 1e-6))


def device_matrix(media_pt: Sequence[float], to_mm: Matrix, box_mm: Box, dpi: float) -> Matrix:
    """From PDFium's page points (origin upper left, y down) to pixels of the box."""
    scale = dpi / 25.4
    from_points: Matrix = (1, 0, 0, -1, media_pt[0], media_pt[3])
    to_pixels: Matrix = (scale, 0, 0, -scale, -box_mm[0] * scale, box_mm[3] * scale)
    x, y = (box_mm[2] - box_mm[0]) * scale / 2, (box_mm[3] - box_mm[1]) * scale / 2
    cosine, sine = math.cos(_TURN_RAD), math.sin(_TURN_RAD)
    turn: Matrix = (cosine, sine, -sine, cosine, x - cosine * x + sine * y, y - sine * x - cosine * y)
    return times(times(times(from_points, to_mm), to_pixels), turn)

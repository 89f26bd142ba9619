"""PDFium, and only PDFium: derived pages to rasters. Not thread-safe, so one process renders one thing at a time."""

from __future__ import annotations

import ctypes
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from functools import partial
from typing import BinaryIO

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium_c
from numpy.typing import NDArray

from preflight.artwork.page.geometry import IDENTITY, Box, Matrix, box_through, overlap, times
from preflight.artwork.platemaking.composed_groups import Compose, Paint, Step

_TURN_RAD = 1e-4
"""PDFium widens upright rectangles to whole pixels; turned by this much it covers them truly, and no place moves by
more than a tenth of a millimetre in two metres."""
_SHARP = pdfium_c.FPDF_RENDER_NO_SMOOTHPATH | pdfium_c.FPDF_RENDER_NO_SMOOTHTEXT | pdfium_c.FPDF_RENDER_NO_SMOOTHIMAGE


class DerivedDocument:
    """A derived PDF, open; while its pages stay parsed a window costs only what shows in it."""

    def __init__(
        self,
        derived: BinaryIO,
        drawings: Sequence[tuple[Step, ...]] = (),
        *,
        opaque: bool = False,
        keeps: bool = True,
    ) -> None:
        """``derived`` is closed; ``drawings``: for each rendering its steps, or none where each page is one.

        ``opaque``: nothing of the page is faint, blended, masked or a pattern, which PDFium wants a bitmap with alpha
        for to draw it truly; one without is faster.
        ``keeps``: pages stay parsed; heavy ones are let go of once they are drawn.
        """
        self._document = _opened(derived)
        derived.close()
        self._drawings = drawings or [(Paint(number),) for number in range(len(self._document))]
        self._pages: dict[int, pypdfium2.PdfPage] = {}
        self._flags = pdfium_c.FPDF_PRINTING
        self._opaque, self._keeps = opaque, keeps

    def render(self, number: int, matrix: Matrix, width: int, height: int, *, sharp: bool = False) -> NDArray[np.uint8]:
        """A rendering as (height, width, 3) in channel order, 0 bare, 255 solid; ``sharp``: edges are not smoothed."""
        self._flags = pdfium_c.FPDF_PRINTING | (_SHARP if sharp else 0)
        steps = self._drawings[number]
        opaque = self._opaque and not sharp and all(isinstance(step, Paint) for step in steps)
        with _sheet(width, height, bare=True, opaque=opaque) as bitmap:
            self._draw(steps, bitmap, matrix)
            # In the bitmap's own order, which is fast, and seen from the other end.
            channels: NDArray[np.uint8] = np.subtract(255, bitmap.to_numpy()[:, :, :3])
            return channels[:, :, ::-1]

    def _draw(self, steps: Sequence[Step], bitmap: pypdfium2.PdfBitmap, matrix: Matrix) -> None:
        for step in steps:
            if isinstance(step, Paint):
                self._paint(step.page, bitmap, matrix)
            else:
                self._compose(step, bitmap, matrix)

    def _paint(self, number: int, bitmap: pypdfium2.PdfBitmap, matrix: Matrix) -> None:
        page = self._pages.get(number) or self._document[number]
        pdfium_c.FPDF_RenderPageBitmapWithMatrix(
            bitmap.raw,
            page.raw,
            ctypes.byref(pdfium_c.FS_MATRIX(*matrix)),
            ctypes.byref(pdfium_c.FS_RECTF(0, 0, bitmap.width, bitmap.height)),
            self._flags,
        )
        if self._keeps:
            self._pages[number] = page
        else:
            page.close()

    def _compose(self, group: Compose, bitmap: pypdfium2.PdfBitmap, matrix: Matrix) -> None:
        """Draw a group where it shows, and lay it on what is there."""
        from preflight.artwork.platemaking import compositing  # few pages need it

        x0, y0, x1, y1 = overlap(box_through(matrix, group.box_pt), (0.0, 0.0, bitmap.width, bitmap.height))
        left, top = max(0, int(x0) - 1), max(0, int(y0) - 1)
        width, height = min(bitmap.width, int(x1) + 2) - left, min(bitmap.height, int(y1) + 2) - top
        if x1 <= x0 or y1 <= y0 or width <= 0 or height <= 0:
            return
        here = times(matrix, (1, 0, 0, 1, -left, -top))
        canvas = bitmap.to_numpy()[top : top + height, left : left + width]
        mask: float | NDArray[np.float32] = group.alpha
        if group.masked:
            with_mask, without = (self._drawn((Paint(page),), here, width, height, bare=True) for page in group.masked)
            mask = compositing.mask_of(with_mask, without)
        nothing = partial(self._drawn, group.steps, here, width, height)
        if group.isolated:
            layer = nothing(bare=False)
            if group.light and group.channels:
                compositing.plates_of_light(layer, group.channels)
            compositing.lay_on(canvas, layer, mask, group.blend)
            return
        before = canvas.copy()
        canvas[...] = nothing(bare=False, begin=before)
        if group.blend == "Normal":
            compositing.lay_through(canvas, before, mask)
        else:
            compositing.lay_blended(canvas, before, nothing(bare=False), mask, group.blend)

    def _drawn(
        self,
        steps: Sequence[Step],
        matrix: Matrix,
        width: int,
        height: int,
        *,
        bare: bool,
        begin: NDArray[np.uint8] | None = None,
    ) -> NDArray[np.uint8]:
        """Steps drawn on bare board, on nothing, or on what is given."""
        with _sheet(width, height, bare=bare) as bitmap:
            if begin is not None:
                bitmap.to_numpy()[...] = begin
            self._draw(steps, bitmap, matrix)
            drawn: NDArray[np.uint8] = bitmap.to_numpy().copy()
            return drawn

    def close(self) -> None:
        """Let go of the pages and the document."""
        for page in self._pages.values():
            page.close()
        self._pages.clear()
        self._document.close()


def _opened(derived: BinaryIO) -> pypdfium2.PdfDocument:
    """PDFium reads a file itself where the system has a name for what is open, else from memory."""
    with suppress(OSError):  # what stands in memory is no file
        handle = pdfium_c.FPDF_LoadDocument(f"/proc/self/fd/{derived.fileno()}\0".encode(), None)
        if handle:
            return pypdfium2.PdfDocument(handle)
    derived.seek(0)
    return pypdfium2.PdfDocument(derived.read())


@contextmanager
def _sheet(width: int, height: int, *, bare: bool, opaque: bool = False) -> Iterator[pypdfium2.PdfBitmap]:
    """A bitmap of bare board, or of nothing at all; ``opaque``: without alpha, which is up to a quarter faster."""
    of_bytes = pdfium_c.FPDFBitmap_BGR if opaque else pdfium_c.FPDFBitmap_BGRA
    bitmap = pypdfium2.PdfBitmap.new_native(width, height, of_bytes)
    try:
        bitmap.fill_rect((255, 255, 255, 255 if bare else 0), 0, 0, width, height)
        yield bitmap
    finally:
        bitmap.close()


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


def turned_raster(matrix: Matrix, width: int, height: int, turns: int) -> tuple[Matrix, tuple[int, int]]:
    """A matrix to pixels, and width and height of the raster, after quarter turns counter-clockwise as it is seen."""
    turn: Matrix = (
        IDENTITY,
        (0, -1, 1, 0, 0, width),
        (-1, 0, 0, -1, width, height),
        (0, 1, -1, 0, height, 0),
    )[turns]
    return times(matrix, turn), (height, width) if turns % 2 else (width, height)

"""Files of several drawn pages, and pages as they come out of programs that part a file into its plates.

book = Book(printed("Cyan"), printed("Black"))
plates = pre_separated(design)              # a page for each process ink, all in gray
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pikepdf
from numpy.typing import NDArray

from tests.drawn import Drawing

Colour = Sequence[float]
Box = tuple[float, float, float, float]


class Book(Drawing):
    """Drawings as the pages of one file; ``finish`` may change the file before it is written."""

    def __init__(self, *pages: Drawing, finish: Callable[[pikepdf.Pdf], None] | None = None):
        self.pages, self.finish = pages, finish

    def save(self, path: Path) -> Path:
        whole = pikepdf.new()
        for number, page in enumerate(self.pages):
            with pikepdf.open(page.save(path.with_suffix(f".{number}"))) as one:
                whole.pages.extend(one.pages)
        if self.finish is not None:
            self.finish(whole)
        whole.save(path)
        return path


Paint = Callable[["Plate"], object]
"""Draws a design on a plate, in the colours of the whole design."""


class Plate(Drawing):
    """A page on which a colour comes out as what it puts on one ink, in gray."""

    def __init__(self, width_mm: float, height_mm: float, ink: int):
        super().__init__(width_mm, height_mm)
        self.ink = ink

    def solid(self, cmyk: Colour, rect: Box) -> Plate:
        """A rectangle; knocks out in white where the ink has no part in it."""
        self.fill((1 - cmyk[self.ink],), rect=rect)
        return self

    def words(self, text: str, at: tuple[float, float], size_pt: float, cmyk: Colour) -> Plate:
        self.text(text, at, size_pt, ink=(1 - cmyk[self.ink],))
        return self

    def photo(self, cmyk: NDArray[np.uint8], rect: Box) -> Plate:
        """Samples (height, width, 4), 255 being solid."""
        samples = 255 - cmyk[:, :, self.ink]
        self.image(samples.tobytes(), samples.shape[1], samples.shape[0], rect, space=pikepdf.Name.DeviceGray)
        return self

    def marks(self, trim: Box) -> Plate:
        """Crop marks, alike on all plates."""
        x0, y0, x1, y1 = trim
        for x in (x0, x1):
            for low, high in ((y0 - 8, y0 - 3), (y1 + 3, y1 + 8)):
                self.stroke((0,), [(x, low), (x, high)], width_mm=0.1, close=False)
        for y in (y0, y1):
            for left, right in ((x0 - 8, x0 - 3), (x1 + 3, x1 + 8)):
                self.stroke((0,), [(left, y), (right, y)], width_mm=0.1, close=False)
        return self


def pre_separated(paint: Paint, *, inks: Sequence[int] = (0, 1, 2, 3), size: tuple[float, float] = (215, 200),
                  finish: Callable[[pikepdf.Pdf], None] | None = None) -> Book:  # fmt: skip
    """A design, a page for each of these inks."""
    pages = []
    for ink in inks:
        page = Plate(*size, ink)
        paint(page)
        pages.append(page)
    return Book(*pages, finish=finish)


def landscape(width: int = 240, height: int = 180, seed: int = 5) -> NDArray[np.uint8]:
    """A picture of soft blobs with edges, its four inks alike and not the same."""
    random = np.random.default_rng(seed)
    y, x = np.mgrid[0:height, 0:width]
    inks = np.zeros((height, width, 4))
    for _ in range(30):
        cx, cy, radius = random.uniform(0, width), random.uniform(0, height), random.uniform(8, 40)
        inside = np.hypot(x - cx, y - cy) < radius
        inks[inside] = random.uniform(0, 1, 4)
    inks += 0.1 * np.sin(x / 9)[:, :, None] * np.cos(y / 11)[:, :, None]
    return (255 * np.clip(inks, 0, 1)).astype(np.uint8)

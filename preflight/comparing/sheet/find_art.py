"""Where on a page the art of a blank shows, in four turns: normalised correlation of all its plates, coarsely."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box, Matrix
from preflight.artwork.page.plates import Plates
from preflight.comparing.sheet.printed_art import Ink, PrintedArt, placed
from preflight.setup.layout.sheet_layout import through

DPI: Final = 25.4
"""A pixel a millimetre: enough to tell a turn, and places are made finer afterwards."""
LEAST: Final = 0.5
"""Of a full correlation, 1: less is some other print."""
MOST_OVER: Final = 0.15
"""Of its area that a blank may share with another: of art without a cut the bleed."""
MOST_FOUND: Final = 500

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Found:
    """A place where art shows."""

    matrix: Matrix
    """From the blank's frame to the page."""
    score: float
    art: int
    """Which of the given arts it looks like most."""


def find_all(ink: Plates, order: Sequence[str], arts: Sequence[PrintedArt]) -> list[Found]:
    """Every place where one of some arts shows, the surest first; none lies on another.

    ``ink`` are plates of the page whose names are those of ``order``.
    """
    peaks = [
        Found(placed(quarters, *at), score, number)
        for number, art in enumerate(arts)
        for quarters in range(4)
        for at, score in _peaks(ink, *template(art, order, quarters, ink.dpi))
    ]
    taken: list[Found] = []
    shapes: list[BaseGeometry] = []
    for peak in sorted(peaks, key=lambda peak: -peak.score):
        shape = through(peak.matrix, arts[peak.art].printed)
        limit = MOST_OVER * shape.area
        if all(shapely.intersection(shape, other).area <= limit for other in shapes if shape.intersects(other)):
            taken.append(peak)
            shapes.append(shape)
        if len(taken) == MOST_FOUND:
            break
    return taken


def best_in(ink: Plates, order: Sequence[str], art: PrintedArt) -> list[Found]:
    """In each turn the best place within a part of the page; the surest first."""
    found = []
    for quarters in range(4):
        scores, size = _scores(ink, *template(art, order, quarters, ink.dpi))
        if scores.size:
            row, column = np.unravel_index(int(scores.argmax()), scores.shape)
            at = _middle(ink, scores, int(row), int(column), size)
            found.append(Found(placed(quarters, *at), float(scores[row, column]), 0))
    return sorted(found, key=lambda each: -each.score)


def template(art: PrintedArt, order: Sequence[str], quarters: int, dpi: float) -> tuple[Ink, NDArray[np.bool_]]:
    """Plates of an art as they lie turned, and the pixels of it that count."""
    ink = art.drawn(order, quarters, dpi)
    turned = through(placed(quarters, 0.0, 0.0), art.printed)
    height, width = ink.shape[1:]
    mm = 25.4 / dpi
    box: Box = (-width * mm / 2, -height * mm / 2, width * mm / 2, height * mm / 2)
    return ink, Plates((), ink, dpi, box).mask_of(turned)


def _peaks(ink: Plates, template: Ink, mask: NDArray[np.bool_]) -> list[tuple[tuple[float, float], float]]:
    """Middles and scores of places that look more like the art than what is around them."""
    scores, size = _scores(ink, template, mask)
    if not scores.size:
        return []
    around = np.pad(scores, 1, constant_values=-1.0)
    height, width = scores.shape
    best = scores >= LEAST
    for down in (0, 1, 2):
        for across in (0, 1, 2):
            best &= scores >= around[down : down + height, across : across + width]
    rows, columns = np.nonzero(best)
    return [
        (_middle(ink, scores, int(row), int(column), size), float(scores[row, column]))
        for row, column in zip(rows, columns, strict=True)
    ]


def _middle(ink: Plates, scores: Floats, row: int, column: int, size: tuple[int, int]) -> tuple[float, float]:
    """Where on the page the middle of a template lies whose corner is at a row and column, within the pixel."""
    down = row + _top(scores[max(0, row - 1) : row + 2, column], row > 0)
    across = column + _top(scores[row, max(0, column - 1) : column + 2], column > 0)
    mm, (x0, _, _, y1) = ink.mm_per_px, ink.box_mm
    return x0 + (across + size[1] / 2) * mm, y1 - (down + size[0] / 2) * mm


def _top(three: Floats, whole: bool) -> float:
    """How far from the middle one of three scores their parabola is highest."""
    if len(three) < 3 or not whole:
        return 0.0
    before, here, after = three.tolist()
    bend = before - 2 * here + after
    return 0.0 if bend >= 0 else max(-0.5, min(0.5, (before - after) / (2 * bend)))


def _scores(ink: Plates, template: Ink, mask: NDArray[np.bool_]) -> tuple[Floats, tuple[int, int]]:
    """Correlation, -1 to 1, for each place of the template's upper-left corner; plates count by their contrast.

    Sums over the template are done by Fourier transforms; means are taken off within its mask, there and here.
    """
    height, width = template.shape[1:]
    rows, columns = ink.ink.shape[1] - height + 1, ink.ink.shape[2] - width + 1
    count = float(mask.sum())
    if rows < 1 or columns < 1 or not count:
        return np.zeros((0, 0)), (height, width)
    size = tuple(_handy(side) for side in ink.ink.shape[1:])

    def spectrum(plate: Floats) -> NDArray[np.complex128]:
        return np.fft.rfft2(plate, size)

    def back(product: NDArray[np.complex128]) -> Floats:
        return np.fft.irfft2(product, size)[:rows, :columns]

    shape = np.conj(spectrum(mask.astype(float)))
    both = np.zeros_like(shape)
    squares = np.zeros_like(shape)
    spread = np.zeros((rows, columns))
    own = 0.0
    for plate, wanted in zip(ink.ink, template, strict=True):
        if not plate.any() and not wanted.any():
            continue
        level = plate / 255.0
        centred = np.where(mask, wanted / 255.0, 0.0)
        centred = np.where(mask, centred - centred.sum() / count, 0.0)
        there = spectrum(level)
        both += there * np.conj(spectrum(centred))
        squares += spectrum(level * level)
        spread -= back(there * shape) ** 2 / count
        own += float((centred**2).sum())
    spread += back(squares * shape)
    if own < 1e-3 * count * 0.01:  # an even tint tells no place
        return np.zeros((0, 0)), (height, width)
    floor = 0.02 * own
    return back(both) / np.sqrt(own * np.maximum(spread, floor)), (height, width)


def _handy(side: int) -> int:
    """The next length that Fourier transforms are quick at."""
    while True:
        rest = side
        for prime in (2, 3, 5):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return side
        side += 1

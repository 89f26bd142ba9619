"""A sheet looked at closely, blank by blank: windows on the pixels of the one-up, and how far art is from there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box, Matrix, box_through
from preflight.artwork.page.page import Page
from preflight.artwork.page.plates import Plates
from preflight.comparing.sheet.art_shift import shift_of
from preflight.comparing.sheet.printed_art import DPI, PX_MM, Ink, Names, PrintedArt, quarters_of
from preflight.setup.layout.sheet_layout import through

RIM_MM: Final = 0.25
"""So near to the cut nothing is compared: pixels on it hold something of the neighbour."""
NOISE: Final = 3
"""Levels of 255 by which the same content may be drawn differently at another place of a page."""
DIFFERS: Final = 40
"""Levels by which nothing differs that is shifted by no more than a tenth of a pixel or two."""
AT_HOME_MM: Final = 0.03
"""A plate that is no further from where it belongs is where it belongs."""
NOTABLE: Final = 0.05
"""Share of what there is to tell a shift by that a plate has to have, to speak for the blank."""
OVERVIEW_DPI: Final = 50.8

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Look:
    """One blank as an art has it and as the sheet shows it, on one grid as the sheet lies."""

    art: PrintedArt
    matrix: Matrix
    """From the blank's frame to the page: where the art is taken to lie."""
    old: Ink
    new: Ink
    box_mm: Box
    inside: Mask

    @cached_property
    def apart(self) -> NDArray[np.uint8]:
        """By how much the plate that differs most differs, inside."""
        most = np.zeros(self.inside.shape, np.uint8)
        for old, new in zip(self.old, self.new, strict=True):
            if not np.array_equal(old, new):
                np.maximum(most, np.maximum(old, new) - np.minimum(old, new), out=most)
        return np.where(self.inside, most, np.uint8(0))

    @property
    def equal(self) -> bool:
        """Whether nothing differs by more than drawing it twice does."""
        return int(self.apart.max(initial=0)) <= NOISE

    @cached_property
    def share(self) -> float:
        """Of the area inside: what differs clearly."""
        return float(np.count_nonzero(self.apart >= DIFFERS)) / max(1, int(np.count_nonzero(self.inside)))

    @property
    def bare(self) -> Mask:
        """Where the art prints and the sheet is bare on all plates."""
        return np.asarray(self.inked & (self.new.max(0) <= 8))

    @property
    def inked(self) -> Mask:
        """Where the art prints, inside."""
        return np.asarray(self.inside & (self.old.max(0) > 25))

    @property
    def largest_mm(self) -> float:
        """How far an edge stands from where it was, as its contrast tells; of what is edited, no measure."""
        rows, columns = np.nonzero(self.apart > 0)
        if not len(rows):
            return 0.0
        box = slice(max(0, rows.min() - 1), rows.max() + 2), slice(max(0, columns.min() - 1), columns.max() + 2)
        found = 0.0
        inside = self.inside[box]
        for old, new in zip(self.old[:, *box], self.new[:, *box], strict=True):
            low, high = _around(old, np.minimum), _around(old, np.maximum)
            contrast = high.astype(np.int16) - low
            steep = inside & (contrast > 100)
            if steep.any():
                moved = np.abs(new.astype(np.int16) - old)[steep] / contrast[steep]
                found = max(found, float(moved.max()) * PX_MM)
        return found


def _around(ink: NDArray[np.uint8], take: np.ufunc) -> NDArray[np.uint8]:
    """The least (most) of each pixel and its neighbours."""
    for axis in (0, 1):
        padded = np.pad(ink, [(1, 1) if each == axis else (0, 0) for each in (0, 1)], mode="edge")
        count = ink.shape[axis]
        first, middle, last = (padded.take(range(at, at + count), axis) for at in range(3))
        ink = take(take(first, middle), last)
    return ink


@dataclass
class SheetLooks:
    """The page of a sheet, looked at."""

    page: Page
    order: Sequence[str]
    """Names that plates are compared by."""
    names: Names
    not_drawn: list[str] = field(default_factory=list)
    """What is missing on the plates that were looked at, and where."""

    def look(self, art: PrintedArt, matrix: Matrix, within: BaseGeometry | None) -> Look:
        """A blank where art is taken to lie; ``within`` is the cut that the sheet has there, if any."""
        ink, box = self.window(box_through(matrix, art.grid()))
        old = art.drawn(self.order, quarters_of(matrix))
        plates = Plates((), ink, DPI, box)
        return Look(art, matrix, old, ink, box, plates.mask_of(self.compared(art, matrix, within)))

    def compared(self, art: PrintedArt, matrix: Matrix, within: BaseGeometry | None) -> BaseGeometry:
        """What of a blank is compared: inside its cut on the sheet and inside that of the art as it lies."""
        shape = shapely.buffer(through(matrix, art.printed if within is None else art.whole), -RIM_MM)
        return shape if within is None else shapely.intersection(shape, shapely.buffer(within, -RIM_MM))

    def as_seen_by(self, look: Look, art: PrintedArt, within: BaseGeometry | None) -> Look:
        """The same place held against another art."""
        if art.grid() == look.art.grid():
            return replace(look, art=art, old=art.drawn(self.order, quarters_of(look.matrix)))
        return self.look(art, look.matrix, within)

    def window(self, box: Box, dpi: float = DPI) -> tuple[Ink, Box]:
        """Plates of a part of the page by name: (names, rows, columns)."""
        plates = self.page.window(box, dpi)
        for place in plates.uncertain:
            if (said := f"{place.because}{_where(place.box_mm)}") not in self.not_drawn:
                self.not_drawn.append(said)
        return self._by_name(plates), box

    def _by_name(self, plates: Plates) -> Ink:
        missing = np.zeros(plates.ink.shape[1:], np.uint8)
        return np.stack([plates.tint(self.names[name]) if name in self.names else missing for name in self.order])

    @cached_property
    def overview(self) -> Plates:
        """All of the page, coarsely, by name."""
        plates = self.page.plates(OVERVIEW_DPI)
        return replace(plates, names=tuple(self.order), ink=self._by_name(plates))

    @cached_property
    def glance(self) -> Plates:
        """The same, coarser by half, with half a blank's bleed of bare board round it."""
        ink = self.overview.ink
        height, width = (side // 2 * 2 for side in ink.shape[1:])
        halved = ink[:, :height, :width].reshape(len(ink), height // 2, 2, width // 2, 2).mean((2, 4))
        mm, (x0, _, _, y1) = 2 * self.overview.mm_per_px, self.overview.box_mm
        padded = np.pad(np.rint(halved).astype(np.uint8), [(0, 0), (4, 4), (4, 4)])
        rows, columns = padded.shape[1:]
        left, top = x0 - 4 * mm, y1 + 4 * mm
        return Plates(tuple(self.order), padded, 25.4 / mm, (left, top - rows * mm, left + columns * mm, top))

    def padded(self, box: Box) -> Plates:
        """A part of the overview, with bare board where it is off the page."""
        plates = self.overview
        mm, (x0, _, _, y1) = plates.mm_per_px, plates.box_mm
        left, right = (round((x - x0) / mm) for x in (box[0], box[2]))
        top, bottom = (round((y1 - y) / mm) for y in (box[3], box[1]))
        height, width = plates.ink.shape[1:]
        ink = np.zeros((len(plates.ink), bottom - top, right - left), np.uint8)
        rows, columns = slice(max(0, top), min(height, bottom)), slice(max(0, left), min(width, right))
        there = slice(rows.start - top, rows.stop - top), slice(columns.start - left, columns.stop - left)
        ink[:, *there] = plates.ink[:, rows, columns]
        corner = x0 + left * mm, y1 - top * mm
        at = (corner[0], corner[1] - ink.shape[1] * mm, corner[0] + ink.shape[2] * mm, corner[1])
        return Plates(plates.names, ink, plates.dpi, at)

    def settled(self, art: PrintedArt, matrix: Matrix, within: BaseGeometry | None, rounds: int = 2) -> Look:
        """A look at where art really lies, from a place that is off by up to a millimetre."""
        look = self.look(art, matrix, within)
        for _ in range(rounds):
            right, up = common_shift_mm(look)
            if abs(right) + abs(up) < 0.002:
                break
            better = self.look(art, (*look.matrix[:4], look.matrix[4] + right, look.matrix[5] + up), within)
            if _rest(better) >= _rest(look):
                break
            look = better
        return look


def _where(box: Box) -> str:
    return f", at ({(box[0] + box[2]) / 2:.0f}, {(box[1] + box[3]) / 2:.0f}) mm"


def _rest(look: Look) -> float:
    return float(look.apart.sum(dtype=np.int64))


def common_shift_mm(look: Look) -> tuple[float, float]:
    """By how much all of a blank is shifted, right and up; 0 where any plate that has something to say is at home."""
    weights: dict[int, float] = {}
    shifts: dict[int, tuple[float, float]] = {}
    for number, (old, new) in enumerate(zip(look.old, look.new, strict=True)):
        if old.any() and new.any():
            shift = shift_of(old, new, look.inside)
            if shift.weight:
                shifts[number] = (shift.right * PX_MM, -shift.down * PX_MM)
                weights[number] = shift.weight
    total = sum(weights.values())
    told = [number for number, weight in weights.items() if weight >= NOTABLE * total]
    if not told:
        return 0.0, 0.0
    if len(told) > 1 and any(np.hypot(*shifts[n]) <= AT_HOME_MM for n in told):
        home = [n for n in told if np.hypot(*shifts[n]) <= AT_HOME_MM]
        return _middle([shifts[n] for n in home], [weights[n] for n in home])
    return _middle([shifts[n] for n in told], [weights[n] for n in told])


def _middle(shifts: Sequence[tuple[float, float]], weights: Sequence[float]) -> tuple[float, float]:
    """Median by weight, of each coordinate."""
    found = []
    for values in zip(*shifts, strict=True):
        order = np.argsort(values)
        heap = np.cumsum(np.array(weights)[order])
        found.append(float(values[order[int(np.searchsorted(heap, heap[-1] / 2))]]))
    return found[0], found[1]

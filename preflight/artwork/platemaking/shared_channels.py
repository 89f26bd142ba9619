"""Many plates in one channel: those whose objects nowhere come near each other, as in a book of swatches.

Within a channel every place belongs to at most one plate, and it is parted again by the boxes of the plates' objects.
Knock-out is no matter: an object paints its own tint in the channel or none, and whatever it clears of another plate
lies in that plate's boxes, where the channel is that plate's own.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box, meeting

Boxes = NDArray[np.float64]


@dataclass(frozen=True)
class Parting:
    """Boxes (k, 4) in mm in which a channel is a plate's, and the plate for each."""

    boxes_mm: Boxes
    plates: tuple[str, ...]
    marks_mm: Boxes
    """Boxes in which it is that of all plates that registration colour marks."""
    marked: tuple[str, ...]

    def near(self, box_mm: Box) -> set[str]:
        """Plates that may have ink in a part of the page."""
        # A millimetre more, since boxes are parted at whole pixels.
        if meeting(self.marks_mm, box_mm, 1.0).any():
            return set(self.plates)
        return {self.plates[at] for at in np.flatnonzero(meeting(self.boxes_mm, box_mm, 1.0)).tolist()}


PACK_FROM = 24
"""Plates from which on it pays."""
APART_MM = 1.0
"""Objects of two plates of one channel are further apart than this."""
APART_PX = 3.9
"""And than this: a pixel and a half that a thin stroke reaches out of its box, half of one for the parting, twice."""
MOST_BOXES = 100
"""A plate with more objects has a channel to itself."""
_CELL_MM = 0.25
_MOST_CELLS = 4_000_000
_LARGEST_SHARE = 0.125
"""Of the page that a plate may cover: larger ones hardly find others to share with."""
_ROUNDING = 1
"""Levels that are no ink."""
_MARKS = 63
"""The bit of a cell that stands for registration colour; those below it stand for channels."""


def apart_at(dpi: float) -> float:
    """How far apart in mm the plates of a channel are kept at a resolution, in steps, so that few differ."""
    apart_mm = APART_MM
    while apart_mm < APART_PX * 25.4 / dpi:
        apart_mm *= 2
    return apart_mm


def pack(
    plates: Sequence[str], boxes: Mapping[str, Boxes], marks: Boxes, apart_mm: float = APART_MM
) -> list[tuple[str, ...]]:
    """Plates in channels, in order; those that no channel with others suits stand alone."""
    wanted = [plate for plate in plates if 0 < len(boxes[plate]) <= MOST_BOXES]
    alone: list[tuple[str, ...]] = [(plate,) for plate in plates if not 0 < len(boxes[plate]) <= MOST_BOXES]
    if not wanted:
        return alone
    cells = _Cells(np.vstack([*(boxes[plate] for plate in wanted), marks]), apart_mm)
    cells.mark(marks)
    packs: dict[int, list[str]] = {}
    for plate in wanted:
        channel = cells.take(boxes[plate])
        if channel is None:
            alone.append((plate,))
        else:
            packs.setdefault(channel, []).append(plate)
    return [*(tuple(names) for names in packs.values()), *alone]


class _Cells:
    """Cells over all boxes, in each the channels that have something there, a bit each.

    Boxes grown by half the distance that share no cell are further apart than it.
    """

    def __init__(self, boxes: Boxes, apart_mm: float) -> None:
        self.grow = apart_mm / 2 * np.array([-1, -1, 1, 1])
        self.low = boxes[:, :2].min(0) + self.grow[:2]
        extent = boxes[:, 2:].max(0) + self.grow[2:] - self.low
        self.side_mm = max(_CELL_MM, float(np.sqrt(extent.prod() / _MOST_CELLS)), float(extent.max()) / _MOST_CELLS)
        columns, rows = (np.floor(extent / self.side_mm).astype(int) + 1).tolist()
        self.taken = np.zeros((rows, columns), np.uint64)

    def _ranges(self, boxes: Boxes) -> list[tuple[slice, slice]]:
        """Rows and columns of the cells that boxes touch; the same only once."""
        low_high = np.floor((boxes + self.grow - np.tile(self.low, 2)) / self.side_mm).astype(int)
        return [(slice(y0, y1 + 1), slice(x0, x1 + 1)) for x0, y0, x1, y1 in np.unique(low_high, axis=0).tolist()]

    def mark(self, boxes: Boxes) -> None:
        """Cells of registration colour."""
        for rows, columns in self._ranges(boxes):
            self.taken[rows, columns] |= np.uint64(1 << _MARKS)

    def take(self, boxes: Boxes) -> int | None:
        """The first channel that is free wherever boxes are, now taken; None where there is none, or marks are near."""
        ranges = self._ranges(boxes)
        share = sum((y.stop - y.start) * (x.stop - x.start) for y, x in ranges) / self.taken.size
        if share > _LARGEST_SHARE and len(ranges) > 1:
            return None
        held = 0
        for place in ranges:
            held |= int(np.bitwise_or.reduce(self.taken[place], axis=None))
        channel = (~held & (held + 1)).bit_length() - 1
        if held >> _MARKS or channel >= _MARKS:
            return None
        for place in ranges:
            self.taken[place] |= np.uint64(1 << channel)
        return channel


def parting_of(
    packed: Sequence[str],
    boxes: Mapping[str, Boxes],
    marks: Boxes,
    marked: Collection[str],
    apart_mm: float = APART_MM,
) -> Parting:
    """Where each of the plates of a channel has ink."""
    known, grow = set(marked), apart_mm / 2 * np.array([-1, -1, 1, 1])
    return Parting(
        np.vstack([boxes[name] for name in packed]) + grow,
        tuple(name for name in packed for _ in boxes[name]),
        marks + grow,
        tuple(name for name in packed if name in known),
    )


def unpack(
    channel: NDArray[np.uint8],
    where: Parting,
    box_mm: Box,
    dpi: float,
    ink: NDArray[np.uint8],
    number: Mapping[str, int],
) -> bool:
    """Copy what a channel (height, width) holds of ``box_mm`` of the page to the plates that it carries.

    ``number`` is the place of a plate in ``ink``. False where the channel holds ink outside all boxes: a glyph that
    reaches further than its font says.
    """
    rest = channel.copy()
    for at, place in _pixels(where.boxes_mm, box_mm, dpi, channel.shape):
        ink[number[where.plates[at]]][place] = channel[place]
        rest[place] = 0
    marked = [number[name] for name in where.marked if name in number]
    for _, place in _pixels(where.marks_mm, box_mm, dpi, channel.shape):
        if marked:
            ink[marked, place[0], place[1]] = channel[place]
        rest[place] = 0
    return int(rest.max(initial=0)) <= _ROUNDING


def _pixels(boxes_mm: Boxes, box_mm: Box, dpi: float, shape: tuple[int, ...]) -> list[tuple[int, tuple[slice, slice]]]:
    """The boxes of which something lies in ``box_mm``, by number, as rows and columns."""
    pixels = (boxes_mm[:, [0, 3, 2, 1]] - np.array(box_mm)[[0, 3, 0, 3]]) * np.array([1, -1, 1, -1]) * dpi / 25.4
    bounds = np.rint(pixels).clip(0, (shape[1], shape[0]) * 2).astype(int)
    seen = np.flatnonzero((bounds[:, :2] < bounds[:, 2:]).all(1))
    return [
        (at, (slice(y0, y1), slice(x0, x1)))
        for at, (x0, y0, x1, y1) in zip(seen.tolist(), bounds[seen].tolist(), strict=True)
    ]

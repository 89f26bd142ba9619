"""Patches: places of one even tint, found on the plates however they were drawn, and rows of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.plates import Plates
from preflight.measures.raster import masks

LEAST_MM: Final = 1.5
MOST_HIGH_MM: Final = 15.0
MOST_LONG_MM: Final = 40.0
FILLED: Final = 0.55
"""Of its box, by what is even in it: round patches fill 0.79, and letters may stand in patches."""
EVEN_LEVELS: Final = 12
"""Of 255, between neighbouring pixels: a photograph's compression makes so much."""
IN_LINE_MM: Final = 0.8
MOST_GAP_MM: Final = 45.0
"""Between patches of a row: bars that have one set in each zone."""
LEAST_PATCHES: Final = 4
ALIKE: Final = 0.04
SHARE_OF_WIDTH: Final = 0.5
"""Of the printed width, from which a row is a bar though nothing in it comes twice."""


@dataclass(frozen=True)
class Patch:
    """A rectangle of one tint, in the sheet's frame."""

    box_mm: Box
    tints: Mapping[str, float]
    """By separation, those with ink."""

    def is_like(self, other: Patch) -> bool:
        """Whether both are of the same tints."""
        names = {*self.tints, *other.tints}
        return all(abs(self.tints.get(name, 0.0) - other.tints.get(name, 0.0)) <= ALIKE for name in names)


def patches_on(plates: Plates, boxes: Sequence[Box]) -> Iterator[tuple[Box, dict[str, float]]]:
    """Even places within boxes of a page, with their tints.

    Args:
        plates: of the page, or what of it holds the boxes.
        boxes: what was painted there; all else is left alone.
    """
    within = np.zeros(plates.ink.shape[1:], bool)
    for box in boxes:
        within[plates.slices(box, round_px=1)] = True
    even = _even(plates.ink) & within
    mm = plates.mm_per_px
    for region in masks.regions(even):
        rows, columns = region.slices
        height, width = rows.stop - rows.start, columns.stop - columns.start
        if region.pixels < FILLED * height * width:
            continue
        x0, y0, x1, y1 = plates.box(rows, columns)
        box = (x0 - mm, y0 - mm, x1 + mm, y1 + mm)  # its edge is not even, and belongs to it
        short, long = sorted((box[2] - box[0], box[3] - box[1]))
        if short >= LEAST_MM and short <= MOST_HIGH_MM:
            middle = plates.ink[:, rows, columns].reshape(len(plates.names), -1)
            tints = np.median(middle, axis=1) / 255
            if long <= MOST_LONG_MM or (tints > 1 - ALIKE).all():
                found = zip(plates.names, tints.tolist(), strict=True)
                yield box, {name: round(tint, 2) for name, tint in found if tint >= ALIKE / 2}


def _even(ink: NDArray[np.uint8]) -> masks.Mask:
    """Inked pixels whose four neighbours have the same tints."""
    even = masks.inked(ink.max(0, initial=0), 100 * ALIKE / 2)
    for plate in ink:
        levels = plate.astype(np.int16)
        along, across = np.abs(np.diff(levels, axis=0)) > EVEN_LEVELS, np.abs(np.diff(levels, axis=1)) > EVEN_LEVELS
        even[1:] &= ~along
        even[:-1] &= ~along
        even[:, 1:] &= ~across
        even[:, :-1] &= ~across
    return even


def rows_of(patches: Sequence[Patch], printed_mm: float, plates: int) -> list[list[Patch]]:
    """Those that stand in rows as a colour bar does: like-sized, in a line, and repeating; either way on the sheet.

    Args:
        patches: all that were found.
        printed_mm: width of the printed work.
        plates: how many there are.
    """
    rows = [*_lines(patches, along=False), *_lines(patches, along=True)]
    rows = [row for row in rows if _is_bar(row, printed_mm, plates)]
    taken, found = set[int](), list[list[Patch]]()
    for row in sorted(rows, key=len, reverse=True):  # a patch stands in one row
        own = [patch for patch in row if id(patch) not in taken]
        if len(own) == len(row):
            taken.update(map(id, own))
            found.append(row)
    return found


def _lines(patches: Sequence[Patch], *, along: bool) -> Iterator[list[Patch]]:
    low, high = (0, 2) if along else (1, 3)
    start, end = (1, 3) if along else (0, 2)
    waiting = sorted(patches, key=lambda patch: (patch.box_mm[low], patch.box_mm[start]))
    while waiting:
        head, same, rest = waiting[0].box_mm, list[Patch](), list[Patch]()
        for patch in waiting:
            in_line = all(abs(patch.box_mm[side] - head[side]) <= IN_LINE_MM for side in (low, high))
            (same if in_line else rest).append(patch)
        waiting = rest
        same.sort(key=lambda patch: patch.box_mm[start])
        row = same[:1]
        for patch in same[1:]:
            if patch.box_mm[start] - row[-1].box_mm[end] > MOST_GAP_MM:
                yield row
                row = []
            row.append(patch)
        yield row


def _is_bar(row: Sequence[Patch], printed_mm: float, plates: int) -> bool:
    """Whether a row repeats itself or runs past most of the work; all alike are a bar in registration colour only."""
    kinds = list[Patch]()
    for patch in row:
        if not any(patch.is_like(other) for other in kinds):
            kinds.append(patch)
    (x0, y0), (x1, y1) = row[0].box_mm[:2], row[-1].box_mm[2:]
    is_long = max(x1 - x0, y1 - y0) >= SHARE_OF_WIDTH * printed_mm
    if len(kinds) == 1:
        return is_long and len(row[0].tints) == plates
    return len(row) >= LEAST_PATCHES and (is_long or len(kinds) < len(row))

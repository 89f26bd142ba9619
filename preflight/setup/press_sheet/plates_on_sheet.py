"""Plates of the sheet: what each piece prints within its clip, true to the area that each pixel covers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box, Matrix, box_through
from preflight.artwork.page.plates import Plates
from preflight.setup.press_sheet.coverage import coverage
from preflight.setup.press_sheet.press_sheet import Piece, PressSheet, Side

SAME: Final = 1e-6
Floats = NDArray[np.float32]


def plates_on_sheet(
    sheet: PressSheet,
    dpi: float,
    box: Box | None = None,
    side: Side = "front",
    names: Sequence[str] | None = None,
) -> Plates:
    """Plates of one side in the sheet's frame, also the back seen through the board.

    Pieces are cut off along their clips, in their own pixels, and a pixel of the sheet holds the mean of what it covers
    of those: the cover of any part of the sheet is that of the one-ups to 0.1 %, and at the clips' edges colours run
    into each other over a pixel of the pieces. ``box_mm`` of the plates begins at the upper-left corner of what is
    asked for, and its other sides lie within a pixel of it.

    Args:
        sheet: laid out or from outside.
        dpi: pixels to the inch; what is finer than the pieces' own plates shows no more than they do.
        box: part of the sheet in its frame, mm; all of it where None.
        side: of the sheet.
        names: of the plates; all of that side where None.
    """
    x0, y0, x1, y1 = box or (0.0, 0.0, sheet.size.across_mm, sheet.size.along_mm)
    mm = 25.4 / dpi
    width, height = (max(1, math.ceil(length / mm - SAME)) for length in (x1 - x0, y1 - y0))
    grid = _Grid(x0, y1, mm, width, height)
    pieces = [piece for piece in sheet.pieces if piece.side == side and grid.meets(piece.clip.bounds)]
    names = names_on(sheet, side) if names is None else tuple(names)
    ink = np.zeros((len(names), height, width), np.uint8)
    shares = [grid.part(piece) for piece in pieces]
    for number, name in enumerate(names):
        inked = [
            (piece, part)
            for piece, part in zip(pieces, shares, strict=True)
            if part is not None and name in piece.plates.names
        ]
        if inked:
            ink[number] = _laid(name, inked, (height, width))
    return Plates(names, ink, dpi, (x0, y1 - height * mm, x0 + width * mm, y1))


def names_on(sheet: PressSheet, side: Side = "front") -> tuple[str, ...]:
    """Plates of one side of the sheet, in the order of ``kinds``."""
    there = {name for piece in sheet.pieces if piece.side == side for name in piece.plates.names}
    return (*(name for name in sheet.kinds if name in there), *sorted(there.difference(sheet.kinds)))


def upright(ink: NDArray[np.uint8], matrix: Matrix) -> NDArray[np.uint8]:
    """A plate (height, width) turned and mirrored as a matrix of quarter turns does, as a view; row 0 is the top."""
    a, b, c, d, _, _ = matrix
    if abs(a) < 0.5:  # x becomes y
        ink = ink.T
        a, d = -c, -b
    turned: NDArray[np.uint8] = ink[:: 1 if d > 0 else -1, :: 1 if a > 0 else -1]
    return turned


@dataclass(frozen=True)
class _Part:
    """Where a piece meets the grid, and what of its own pixels its clip covers."""

    rows: slice
    columns: slice
    shift: tuple[_Axis, _Axis]
    """Down and across."""
    covered: Floats
    """How much of each pixel of the piece, upright, its clip covers."""

    def laid(self, plate: Floats) -> Floats:
        """What a plate of the piece, upright, puts on the pixels of the sheet."""
        down, across = self.shift
        return across.mean(down.mean(self._clipped(plate), 0), 1)

    @cached_property
    def _edge(self) -> NDArray[np.intp]:
        """Rows and columns of the pixels on the edge of the clip: (2, k)."""
        return np.array(np.nonzero((self.covered > 0) & (self.covered < 1)))

    @cached_property
    def _about(self) -> NDArray[np.intp]:
        """Rows and columns of those and of the eight round each: (2, 9, k)."""
        steps = np.array([[down, across] for down in (-1, 0, 1) for across in (-1, 0, 1)]).T[:, :, None]
        last = np.array(self.covered.shape)[:, None, None] - 1
        around: NDArray[np.intp] = np.clip(self._edge[:, None, :] + steps, 0, last)
        return around

    def _clipped(self, ink: Floats) -> Floats:
        """Tints of a plate as far as each pixel is covered by the clip.

        Bleed often ends where its clip does, within one pixel: there the tint is no more than what the clip covers of
        the ink about it, and no less than that where the pixel is filled as far.
        """
        row, column = self._edge
        found = ink * self.covered
        found[row, column] = np.minimum(ink[row, column], self.covered[row, column] * ink[*self._about].max(0))
        return found


@dataclass(frozen=True)
class _Grid:
    """Pixels of the sheet: upper-left corner, side, count."""

    left_mm: float
    top_mm: float
    mm: float
    width: int
    height: int

    def meets(self, box: Sequence[float]) -> bool:
        """Whether a box has something in common with it."""
        return (
            box[0] < self.left_mm + self.width * self.mm
            and box[2] > self.left_mm
            and box[1] < self.top_mm
            and box[3] > self.top_mm - self.height * self.mm
        )

    def part(self, piece: Piece) -> _Part | None:
        """The pixels that the clip of a piece meets; None where there are none."""
        own = box_through(piece.to_sheet, piece.plates.box_mm)
        px = piece.plates.mm_per_px  # what a pixel on the edge of the clip holds reaches beyond it
        clip = (*(low - px for low in piece.clip.bounds[:2]), *(high + px for high in piece.clip.bounds[2:]))
        left, low, right, top = max(own[0], clip[0]), max(own[1], clip[1]), min(own[2], clip[2]), min(own[3], clip[3])
        columns = _pixels(left - self.left_mm, right - self.left_mm, self.mm, self.width)
        rows = _pixels(self.top_mm - top, self.top_mm - low, self.mm, self.height)
        if columns.stop <= columns.start or rows.stop <= rows.start:
            return None
        at = self.left_mm + columns.start * self.mm, self.top_mm - rows.start * self.mm
        size = rows.stop - rows.start, columns.stop - columns.start
        down = _Axis((own[3] - at[1]) / px, self.mm / px, size[0])
        across = _Axis((at[0] - own[0]) / px, self.mm / px, size[1])
        height, width = piece.plates.ink.shape[1:]
        turned = (height, width) if abs(piece.to_sheet[0]) > 0.5 else (width, height)
        covered = coverage(piece.clip, own[0], own[3], px, turned).astype(np.float32)
        return _Part(rows, columns, (down, across), covered)


@dataclass(frozen=True)
class _Axis:
    """Pixels of the sheet along one axis, in pixels of the plate: where the first begins, their length and number."""

    first: float
    length: float
    count: int

    def mean(self, ink: Floats, axis: int) -> Floats:
        """Means of a plate (rows, columns) over the pixels of the sheet, along one axis; bare off the plate."""
        ink = np.moveaxis(ink, axis, 0)
        edges = self.first + np.arange(self.count + 1) * self.length
        if abs(self.length - 1) < SAME:
            start, share = math.floor(self.first + SAME), self.first - math.floor(self.first + SAME)
            rows = _rows(ink, start, start + self.count + 1)
            found = rows[:-1] * np.float32(1 - share) + rows[1:] * np.float32(share) if share > SAME else rows[:-1]
        else:
            first, last = max(0, math.floor(edges[0])), min(len(ink), math.ceil(edges[-1]))
            total = np.concatenate([np.zeros((1, ink.shape[1])), np.cumsum(ink[first:last], axis=0, dtype=np.float64)])
            at = np.clip(edges - first, 0, len(total) - 1)
            whole = np.minimum(at.astype(np.intp), max(0, len(total) - 2))
            sums = total[whole] + (total[np.minimum(whole + 1, len(total) - 1)] - total[whole]) * (at - whole)[:, None]
            found = (np.diff(sums, axis=0) / self.length).astype(np.float32)
        return np.moveaxis(found, 0, axis)


def _rows(ink: Floats, start: int, stop: int) -> Floats:
    """Rows from and to, bare where there are none."""
    inner = ink[max(0, start) : max(0, stop)]
    before, missing = max(0, -start), stop - start - len(inner)
    if not missing:
        return inner
    padded = np.zeros((stop - start, ink.shape[1]), np.float32)
    padded[before : before + len(inner)] = inner[: stop - start - before]
    return padded


def _laid(name: str, inked: Sequence[tuple[Piece, _Part]], size: tuple[int, int]) -> NDArray[np.uint8]:
    """One plate of the sheet."""
    total = np.zeros(size, np.float32)
    own: dict[tuple[int, Matrix], Floats | None] = {}
    for piece, part in inked:
        key = (id(piece.plates), (*piece.to_sheet[:4], 0.0, 0.0))
        if key not in own:
            plate = piece.plates.tint(name)
            own[key] = upright(plate, piece.to_sheet).astype(np.float32) if plate.any() else None
        plate_up = own[key]
        if plate_up is not None:
            total[part.rows, part.columns] += part.laid(plate_up)
    return np.minimum(np.rint(total), 255).astype(np.uint8)


def _pixels(low_mm: float, high_mm: float, px_mm: float, count: int) -> slice:
    """The pixels of so many in a row that meet a stretch."""
    first = min(max(math.floor(low_mm / px_mm + SAME), 0), count)
    return slice(first, max(first, min(count, math.ceil(high_mm / px_mm - SAME))))

"""Coarse tints of the whole sheet, 2 mm a cell, for what is estimated along the travel; covers are not made of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Matrix
from preflight.artwork.page.plates import Plates
from preflight.kinds import PRINTING_KINDS
from preflight.setup.ink_keys.strips import Strips, on_sheet_box, quarter_turn, turned_back
from preflight.setup.layout.sheet_layout import through
from preflight.setup.press_sheet.coverage import shares_inside
from preflight.setup.press_sheet.press_sheet import PressSheet, Side

CELL_MM: Final = 2.0
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class SheetTints:
    """Tint 0..1 of each cell, by ink: (rows, columns), row 0 at the gripper edge, column 0 at the left."""

    by_ink: dict[str, Floats]
    strips: Strips

    def in_strip(self, ink: str, key: int) -> Floats:
        """Mean tint across a key's strip, row by row from the gripper edge."""
        left, right = self.strips.x_of(key)
        columns = np.arange(math.floor(left / CELL_MM), math.ceil(right / CELL_MM))
        share = np.clip(np.minimum((columns + 1) * CELL_MM, right) - np.maximum(columns * CELL_MM, left), 0.0, None)
        found: Floats = (self.by_ink[ink][:, columns] * share).sum(axis=1) / max(float(share.sum()), 1e-9)
        return found


def sheet_tints(
    sheet: PressSheet, strips: Strips, goes_by: Callable[[str], str], on_coaters: Collection[str], side: Side = "front"
) -> SheetTints:
    """Tints of one side of the sheet, the names of one ink together; marks of the tool's own are left out."""
    rows = math.ceil(sheet.size.along_mm / CELL_MM)
    columns = math.ceil(sheet.size.across_mm / CELL_MM)
    inks = {name: goes_by(name) for name, kind in sheet.kinds.items() if kind in PRINTING_KINDS}
    inks = {name: ink for name, ink in inks.items() if name not in on_coaters}
    found: dict[str, Floats] = {}
    kept: dict[tuple[int, bytes], _Blocks] = {}
    for piece in sheet.pieces:
        own = through(turned_back(piece.to_sheet), shapely.intersection(piece.clip, on_sheet_box(sheet)))
        if piece.side != side or not own.area:
            continue
        key = (id(piece.plates), shapely.to_wkb(shapely.normalize(shapely.set_precision(own, 1e-6))))
        if key not in kept:
            part = piece.plates.part(*piece.plates.slices(own.bounds))
            kept[key] = _Blocks.of(part, shares_inside(part, own), inks)
        part_of_sheet, tints = kept[key].on_grid(piece.to_sheet, rows, columns)
        for name, tint in tints.items():
            found.setdefault(inks[name], np.zeros((rows, columns)))[part_of_sheet] += tint
    return SheetTints({ink: np.minimum(tint, 1.0) for ink, tint in found.items()}, strips)


@dataclass(frozen=True)
class _Blocks:
    """Mean tints of blocks of about 1 mm of some plates, seen through a clip."""

    names: tuple[str, ...]
    tints: Floats
    """(plates, rows, columns)"""
    x_mm: Floats
    """Borders of the blocks on their own page."""
    y_mm: Floats

    @classmethod
    def of(cls, plates: Plates, shares: NDArray[np.float32], names: Collection[str]) -> _Blocks:
        each = max(1, round(1.0 / plates.mm_per_px))
        height, width = shares.shape
        down, across = np.arange(0, height, each), np.arange(0, width, each)
        x0, _, _, y1 = plates.box_mm
        x_mm = x0 + np.append(across, width) * plates.mm_per_px
        y_mm = y1 - np.append(down, height) * plates.mm_per_px
        pixels = np.outer(np.diff(np.append(down, height)), np.diff(np.append(across, width)))
        inked = [(name, ink) for name, ink in zip(plates.names, plates.ink, strict=True) if name in names and ink.any()]
        found = np.zeros((len(inked), *pixels.shape))
        for tint, (_, ink) in zip(found, inked, strict=True):
            tint[:] = np.add.reduceat(np.add.reduceat(ink * shares, across, axis=1), down, axis=0) / (255.0 * pixels)
        return cls(tuple(name for name, _ in inked), found, x_mm, y_mm)

    def on_grid(self, to_sheet: Matrix, rows: int, columns: int) -> tuple[tuple[slice, slice], dict[str, Floats]]:
        """Tints on the cells of the sheet that they meet, and which those are; a block on several is shared by area."""
        a, b, c, d, e, f = quarter_turn(to_sheet)
        of_x, of_y = (a * self.x_mm + e, d * self.y_mm + f) if a else (c * self.y_mm + e, b * self.x_mm + f)
        upright = self.tints if a else self.tints.transpose(0, 2, 1)
        at_y, down = _onto_cells(upright, of_y, 1, rows)
        at_x, found = _onto_cells(down, of_x, 2, columns)
        return (at_y, at_x), dict(zip(self.names, found, strict=True))


def _onto_cells(tints: Floats, borders: Floats, axis: int, count: int) -> tuple[slice, Floats]:
    """Means of tints between borders (mm, rising or falling) on the cells of the sheet that they meet, along an axis.

    Sums up to each border are taken as straight between them, so that a block on several cells is shared by length.
    """
    if borders[0] > borders[-1]:
        tints, borders = np.flip(tints, axis), borders[::-1]
    first = min(max(0, math.floor(borders[0] / CELL_MM)), count)
    last = max(first, min(count, math.ceil(borders[-1] / CELL_MM)))
    along = [-1 if other == axis else 1 for other in range(3)]
    sums = np.insert(np.cumsum(tints * np.diff(borders).reshape(along), axis), 0, 0.0, axis)
    ends = np.clip(np.arange(first, last + 1) * CELL_MM, borders[0], borders[-1])
    at = np.clip(np.searchsorted(borders, ends, "right") - 1, 0, len(borders) - 2)
    part = ((ends - borders[at]) / (borders[at + 1] - borders[at])).reshape(along)
    up_to = np.take(sums, at, axis) * (1 - part) + np.take(sums, at + 1, axis) * part
    return slice(first, last), np.diff(up_to, axis=axis) / CELL_MM

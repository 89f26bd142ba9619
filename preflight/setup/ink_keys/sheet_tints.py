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
from preflight.setup.ink_keys.clip_shares import shares_inside
from preflight.setup.ink_keys.strips import Strips, on_sheet_box, quarter_turn, turned_back
from preflight.setup.layout.sheet_layout import through
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
        tints = self.by_ink[ink]
        columns = np.arange(tints.shape[1]) * CELL_MM
        share = np.clip(np.minimum(columns + CELL_MM, right) - np.maximum(columns, left), 0.0, None)
        found: Floats = tints @ share / max(float(share.sum()), 1e-9)
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
        for name, tint in kept[key].on_grid(piece.to_sheet, rows, columns).items():
            ink = inks[name]
            found[ink] = found[ink] + tint if ink in found else tint
    return SheetTints({ink: np.minimum(tint, 1.0) for ink, tint in found.items()}, strips)


@dataclass(frozen=True)
class _Blocks:
    """Mean tints of blocks of about 1 mm of some plates, seen through a clip."""

    by_name: dict[str, Floats]
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
        found = {}
        for name, tint in zip(plates.names, plates.ink, strict=True):
            if name in names and tint.any():
                sums = np.add.reduceat(np.add.reduceat(tint * shares, across, axis=1), down, axis=0)
                found[name] = sums / (255.0 * pixels)
        return cls(found, x_mm, y_mm)

    def on_grid(self, to_sheet: Matrix, rows: int, columns: int) -> dict[str, Floats]:
        """On the cells of the sheet; a block that lies on several is shared by area."""
        a, b, c, d, e, f = quarter_turn(to_sheet)
        of_x, of_y = (a * self.x_mm + e, d * self.y_mm + f) if a else (c * self.y_mm + e, b * self.x_mm + f)
        across, up = _shares(of_x, columns), _shares(of_y, rows)
        return {name: up @ (tint if a else tint.T) @ across.T for name, tint in self.by_name.items()}


def _shares(borders: Floats, count: int) -> Floats:
    """Share of each cell of the sheet (count,) that each block covers, along one axis: (count, blocks)."""
    low, high = np.minimum(borders[:-1], borders[1:]), np.maximum(borders[:-1], borders[1:])
    cells = np.arange(count)[:, None] * CELL_MM
    common: Floats = np.clip(np.minimum(cells + CELL_MM, high) - np.maximum(cells, low), 0.0, None)
    return common / CELL_MM

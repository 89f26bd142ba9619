"""The strips of the ink keys on a sheet, and how what is drawn on a piece is shared out among them.

The sheet's frame: x from the left, y up from the gripper edge; mm. Keys count from the operator side.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Matrix, inverse
from preflight.artwork.page.plates import Plates
from preflight.inputs.press import InkKeys
from preflight.setup.layout.sheet_layout import through
from preflight.setup.press_sheet.coverage import shares_inside
from preflight.setup.press_sheet.press_sheet import Piece, PressSheet

Floats = NDArray[np.float64]
AREA = "(area)"
"""In place of an ink: what lies inside the clip, as if it were solid."""


@dataclass(frozen=True)
class Strips:
    """Where the strips of the keys lie on one sheet, which runs centred on the press."""

    edges_mm: Floats
    """Of the strips from left to right, (count + 1,); they may lie beyond the sheet."""
    across_mm: float
    along_mm: float
    operator_side: Literal["left", "right"]

    @classmethod
    def of(cls, sheet: PressSheet, keys: InkKeys) -> Strips:
        """The strips of a press on a sheet."""
        middle = sheet.size.across_mm / 2
        edges: Floats = middle + (np.arange(keys.count + 1, dtype=np.float64) - keys.count / 2) * keys.pitch
        return cls(edges, sheet.size.across_mm, sheet.size.along_mm, sheet.operator_side)

    @property
    def pitch_mm(self) -> float:
        """Width of a strip."""
        return float(self.edges_mm[1] - self.edges_mm[0])

    @property
    def on_sheet(self) -> Floats:
        """Share of each strip that lies on the sheet, 0..1, from the operator side."""
        return self.from_operator(np.diff(np.clip(self.edges_mm, 0.0, self.across_mm)) / self.pitch_mm)

    def from_operator(self, by_strip: Floats) -> Floats:
        """Figures of the strips from left to right (…, count), in the order of the keys."""
        return by_strip if self.operator_side == "left" else by_strip[..., ::-1]

    def x_of(self, key: int) -> tuple[float, float]:
        """Left and right end of a key's strip on the sheet, keys from 1."""
        at = key - 1 if self.operator_side == "left" else len(self.edges_mm) - 1 - key
        left, right = np.clip(self.edges_mm[at : at + 2], 0.0, self.across_mm)
        return float(left), float(right)


@dataclass(frozen=True)
class Drawn:
    """What of some plates shows through a clip, added up along each axis of their own page."""

    names: tuple[str, ...]
    """The plates, and ``AREA`` last."""
    across: Floats
    """Solid mm² in each column of pixels, (plates, width)."""
    up: Floats
    """And in each row, the upper one first, (plates, height)."""
    plates: Plates
    """The part of the plates that the sums are of."""

    def along_x(self, to_sheet: Matrix) -> tuple[Floats, Floats]:
        """Places (pixels + 1,) rising along the sheet's x, and mm² up to each of them, (plates, pixels + 1)."""
        a, _, c, _, e, _ = quarter_turn(to_sheet)
        x0, _, _, y1 = self.plates.box_mm
        mm = self.plates.mm_per_px
        if a:
            sums, places = self.across, a * (x0 + np.arange(self.across.shape[1] + 1) * mm) + e
        else:
            sums, places = self.up, c * (y1 - np.arange(self.up.shape[1] + 1) * mm) + e
        if places[0] > places[-1]:
            sums, places = sums[:, ::-1], places[::-1]
        return places, np.concatenate([np.zeros((len(sums), 1)), np.cumsum(sums, axis=1)], axis=1)


def quarter_turn(matrix: Matrix) -> Matrix:
    """A matrix of quarter turns with its hairs cut off; raises ValueError on any other."""
    a, b, c, d = (round(value) for value in matrix[:4])
    exact = max(abs(one - other) for one, other in zip(matrix, (a, b, c, d), strict=False)) < 1e-6
    if not exact or abs(a * d - b * c) != 1 or (a != 0) == (c != 0):
        raise ValueError(f"no quarter turn: {matrix}")
    return (a, b, c, d, matrix[4], matrix[5])


def turned_back(matrix: Matrix) -> Matrix:
    """The matrix that undoes a quarter turn; raises ValueError on any other."""
    return inverse(quarter_turn(matrix))


@dataclass
class Drawings:
    """Sums over pixels, made once for alike pieces: the same plates through the same clip."""

    _kept: dict[Hashable, Drawn] = field(default_factory=dict)

    def of(self, piece: Piece, clip: BaseGeometry) -> Drawn | None:
        """What of a piece shows through a clip that is given in the sheet's frame; None where nothing does."""
        back = turned_back(piece.to_sheet)
        own = through(back, clip)
        if own.is_empty or not own.area:
            return None
        key = (id(piece.plates), shapely.to_wkb(shapely.normalize(shapely.set_precision(own, 1e-6))))
        if key not in self._kept:
            self._kept[key] = _drawn(piece.plates, own)
        return self._kept[key]


def _drawn(plates: Plates, clip: BaseGeometry) -> Drawn:
    part = plates.part(*plates.slices(clip.bounds))
    shares = shares_inside(part, clip)
    count, (height, width) = len(part.names), shares.shape
    across, up = np.zeros((count + 1, width)), np.zeros((count + 1, height))
    whole = bool(shares.size) and float(shares.min()) >= 1.0
    for number, tint in enumerate(part.ink):
        shown = tint if whole else tint * shares
        kind = np.uint64 if whole else np.float32
        across[number], up[number] = shown.sum(0, kind), shown.sum(1, kind)
    across[count], up[count] = 255.0 * shares.sum(0), 255.0 * shares.sum(1)
    mm2 = part.mm_per_px**2 / 255.0
    return Drawn((*part.names, AREA), across * mm2, up * mm2, part)


def ink_in_strips(drawn: Drawn, to_sheet: Matrix, strips: Strips) -> Floats:
    """Solid mm² in each strip from left to right, (plates, count); a pixel on a border is shared by area."""
    places, sums = drawn.along_x(to_sheet)
    return np.diff(np.stack([np.interp(strips.edges_mm, places, each) for each in sums]), axis=1)


def on_sheet_box(sheet: PressSheet) -> BaseGeometry:
    """The sheet as a shape."""
    return shapely.box(0.0, 0.0, sheet.size.across_mm, sheet.size.along_mm)

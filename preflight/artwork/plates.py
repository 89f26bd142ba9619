"""One raster a separation: what each plate carries, knock-out and overprint honoured."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.objects import Box
from preflight.artwork.uncertain import UncertainPlace


@dataclass(frozen=True)
class Plates:
    """Tints of the printing separations over ``box_mm`` of the page as displayed.

    Of thousands of separations a window has those that may have ink in it.

    ``ink`` has shape (separations, height, width), 0 bare board, 255 solid; row 0 is the top. Pixels are square,
    ``dpi`` to the inch; pixel (0, 0) has its upper-left corner at (box_mm[0], box_mm[3]).
    """

    names: tuple[str, ...]
    ink: NDArray[np.uint8]
    dpi: float
    box_mm: Box
    uncertain: tuple[UncertainPlace, ...] = ()
    """Where something is missing on them."""

    @property
    def mm_per_px(self) -> float:
        """Side of a pixel in mm."""
        return 25.4 / self.dpi

    def tint(self, name: str) -> NDArray[np.uint8]:
        """The plate of a separation, (height, width); all bare where there is no such plate."""
        number = self._numbers.get(name)
        if number is None:
            return np.zeros(self.ink.shape[1:], np.uint8)
        ink: NDArray[np.uint8] = self.ink[number]
        return ink

    @cached_property
    def _numbers(self) -> dict[str, int]:
        return {name: number for number, name in enumerate(self.names)}

    def within(self, box_mm: Box) -> Plates:
        """The pixels that meet a box, as a view; at least one each way."""
        mm, (x0, _, _, y1) = self.mm_per_px, self.box_mm
        left, right = _pixels(box_mm[0] - x0, box_mm[2] - x0, mm, self.ink.shape[2])
        top, bottom = _pixels(y1 - box_mm[3], y1 - box_mm[1], mm, self.ink.shape[1])
        box = (x0 + left * mm, y1 - bottom * mm, x0 + right * mm, y1 - top * mm)
        return replace(self, ink=self.ink[:, top:bottom, left:right], box_mm=box)

    def to_px(self, xy_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Page places (k, 2) in mm to (column, row) in pixels, fractional, from the upper-left corner."""
        scale = self.dpi / 25.4
        return np.column_stack([(xy_mm[:, 0] - self.box_mm[0]) * scale, (self.box_mm[3] - xy_mm[:, 1]) * scale])

    def box_of(self, mask: NDArray[np.bool_]) -> Box:
        """Bounding box in mm of the true pixels of a (height, width) mask; raises ValueError on an empty one."""
        rows, columns = np.flatnonzero(mask.any(1)), np.flatnonzero(mask.any(0))
        if not len(rows):
            raise ValueError("nothing is set in the mask")
        mm, (x0, _, _, y1) = self.mm_per_px, self.box_mm
        return (x0 + columns[0] * mm, y1 - (rows[-1] + 1) * mm, x0 + (columns[-1] + 1) * mm, y1 - rows[0] * mm)


def _pixels(low_mm: float, high_mm: float, px_mm: float, count: int) -> tuple[int, int]:
    """The first pixel of those that meet a stretch, and the one behind the last; a hair's breadth is no meeting."""
    first = min(max(math.floor(low_mm / px_mm + 1e-6), 0), count - 1)
    return first, max(first + 1, min(count, math.ceil(high_mm / px_mm - 1e-6)))

"""One raster a separation: what each plate carries, knock-out and overprint honoured."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.objects import Box
from preflight.artwork.uncertain import UncertainPlace


@dataclass(frozen=True)
class Plates:
    """Tints of the printing separations over ``box_mm`` of the page as displayed.

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
        """The plate of a separation, (height, width); all bare where the page has no such plate."""
        if name not in self.names:
            return np.zeros(self.ink.shape[1:], np.uint8)
        ink: NDArray[np.uint8] = self.ink[self.names.index(name)]
        return ink

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

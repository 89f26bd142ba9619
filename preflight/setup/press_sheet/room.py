"""Room for marks in the waste: rectangles of a sheet that stay clear of its blanks and of the marks that are there."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box, meeting


@dataclass
class Room:
    """What of a rectangle of the sheet is free; mm, in the sheet's frame."""

    within: Box
    """What may hold marks."""
    kept_clear: BaseGeometry
    """What no mark may touch."""
    apart_mm: float = 1.0
    """Between marks."""
    _taken: list[Box] = field(default_factory=list)

    def __post_init__(self) -> None:
        shapely.prepare(self.kept_clear)

    def is_free(self, box: Box) -> bool:
        """Whether a mark of this box may stand here."""
        return bool(self._free(np.array([box]))[0])

    def take(self, box: Box) -> None:
        """A mark stands here now."""
        self._taken.append(box)

    def nearest(
        self, size: tuple[float, float], to: tuple[float, float], region: Box | None = None, step_mm: float = 2.5
    ) -> Box | None:
        """The free rectangle of a size whose middle is nearest to a place, taken at once; None where there is none.

        Args:
            size: across and along, in mm.
            to: x and y of the place.
            region: what may hold it, within the room.
            step_mm: of the grid of places that are tried.
        """
        x0, y0, x1, y1 = self._common(region)
        lefts, lows = _steps(x0, x1 - size[0], step_mm), _steps(y0, y1 - size[1], step_mm)
        if not len(lefts) or not len(lows):
            return None
        left, low = (grid.ravel() for grid in np.meshgrid(lefts, lows))
        boxes = np.column_stack([left, low, left + size[0], low + size[1]])
        order = np.argsort(np.hypot(left + size[0] / 2 - to[0], low + size[1] / 2 - to[1]), kind="stable")
        for part in np.array_split(boxes[order], max(1, len(boxes) // 500)):  # mostly one of the nearest is free
            free = np.flatnonzero(self._free(part))
            if len(free):
                found: Box = tuple(part[free[0]].tolist())
                self.take(found)
                return found
        return None

    def _common(self, region: Box | None) -> Box:
        if region is None:
            return self.within
        (a, b, c, d), (x0, y0, x1, y1) = self.within, region
        return (max(a, x0), max(b, y0), min(c, x1), min(d, y1))

    def _free(self, boxes: NDArray[np.float64]) -> NDArray[np.bool_]:
        x0, y0, x1, y1 = self.within
        hair = 1e-6  # what only touches is free
        low = (boxes[:, 0] >= x0 - hair) & (boxes[:, 1] >= y0 - hair)
        free = low & (boxes[:, 2] <= x1 + hair) & (boxes[:, 3] <= y1 + hair)
        for taken in self._taken:
            free &= ~meeting(boxes, taken, self.apart_mm - hair)
        at = np.flatnonzero(free)
        free[at] = ~shapely.intersects(self.kept_clear, shapely.box(*(boxes[at] + hair * np.array([1, 1, -1, -1])).T))
        found: NDArray[np.bool_] = free
        return found


def _steps(first: float, last: float, step: float) -> NDArray[np.float64]:
    """Places from one end to the other, both ends among them."""
    if last < first - 1e-9:
        return np.zeros(0)
    return np.unique(np.append(np.arange(first, last, step), max(first, last)))

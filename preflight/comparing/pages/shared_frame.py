"""How OLD's page lies on NEW's: turned by quarters and moved, so that what did not change lies on itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import shapely
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box, Matrix, box_through, times

By = Literal["die", "trim box", "page", "content"]

QUARTERS: Final[tuple[Matrix, ...]] = (
    (1, 0, 0, 1, 0, 0),
    (0, 1, -1, 0, 0, 0),
    (-1, 0, 0, -1, 0, 0),
    (0, -1, 1, 0, 0, 0),
)
"""Turns by 0, 90, 180 and 270 degrees, counter-clockwise, about the origin."""


@dataclass(frozen=True)
class SharedFrame:
    """A place of OLD, turned and then moved, is that place of NEW; both in mm of their pages as displayed."""

    turns: int = 0
    """Quarter turns, counter-clockwise, 0 to 3."""
    shift_mm: tuple[float, float] = (0.0, 0.0)
    by: By = "page"
    """What it rests on."""

    @property
    def to_new(self) -> Matrix:
        """From OLD's page to NEW's."""
        return times(QUARTERS[self.turns], (1, 0, 0, 1, *self.shift_mm))

    @property
    def to_old(self) -> Matrix:
        """From NEW's page to OLD's."""
        dx, dy = self.shift_mm
        return times((1, 0, 0, 1, -dx, -dy), QUARTERS[-self.turns % 4])

    def on_new(self, box_mm: Box) -> Box:
        """A box of OLD's page on NEW's."""
        return box_through(self.to_new, box_mm)

    def on_old(self, box_mm: Box) -> Box:
        """A box of NEW's page on OLD's."""
        return box_through(self.to_old, box_mm)

    def moved(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape of OLD's page on NEW's."""
        a, b, c, d, e, f = self.to_new
        lying: BaseGeometry = shapely.transform(shape, lambda xy: xy @ [[a, b], [c, d]] + [e, f])
        return lying

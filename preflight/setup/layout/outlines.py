"""The one-up as it lies on a sheet: turned, without its cut-outs, with what its bleed needs round it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

import shapely
from shapely import Polygon

from preflight.setup.layout.layout_request import BlankToLay, FreeArea
from preflight.setup.layout.sheet_layout import Placed, placing, through

Turn = Literal[0, 90, 180, 270]
HALF_TURN: Final[dict[Turn, Turn]] = {0: 180, 90: 270, 180: 0, 270: 90}
_MANY_CORNERS: Final = 250
SIMPLER_MM: Final = 0.03
"""By less than twice this is a simpler outline larger."""
_ARC_SEGMENTS: Final = 16
"""Of a quarter circle: arcs of 6 mm lie within 0.008 mm of a circle."""


@dataclass(frozen=True)
class Margins:
    """Lengths at the four sides of a box, in mm."""

    left: float
    bottom: float
    right: float
    top: float

    def swapped(self) -> Margins:
        """With x and y exchanged."""
        return Margins(self.bottom, self.left, self.top, self.right)


@dataclass(frozen=True, eq=False)
class Outline:
    """A turned one-up. ``swapped``: with x and y exchanged, so that what is done to rows can be done to columns."""

    turn: Turn
    cut: Polygon
    """Without cut-outs; the lower-left corner of its box at (0, 0)."""
    bleed: Margins
    """How far its bleed reaches beyond the box of the cut."""
    swapped: bool = False

    @cached_property
    def width_mm(self) -> float:
        """Of the box of the cut."""
        return float(self.cut.bounds[2])

    @cached_property
    def height_mm(self) -> float:
        """Of the box of the cut."""
        return float(self.cut.bounds[3])

    @cached_property
    def simpler(self) -> Polygon:
        """The cut itself, or where it has very many corners one that is no smaller and has fewer."""
        if shapely.get_num_coordinates(self.cut) <= _MANY_CORNERS:
            return self.cut
        return self.cut.buffer(SIMPLER_MM, quad_segs=2).simplify(SIMPLER_MM)

    def widened(self, mm: float) -> Polygon:
        """The cut and everything nearer to it than this."""
        return self.cut.buffer(mm, quad_segs=_ARC_SEGMENTS) if mm else self.cut

    def exchanged(self) -> Outline:
        """With x and y exchanged."""
        return Outline(self.turn, exchanged(self.cut), self.bleed.swapped(), not self.swapped)


def exchanged(shape: Polygon) -> Polygon:
    """A shape with x and y exchanged."""
    return shapely.transform(shape, lambda xy: xy[:, ::-1])


def outline_of(blank: BlankToLay, turn: Turn) -> Outline:
    """A one-up at a turn, counter-clockwise."""
    whole = Polygon(blank.cut.exterior)
    matrix = placing(Placed(0.0, 0.0, turn), whole)
    cut, bleed = through(matrix, whole), through(matrix, blank.bleed)
    (width, height), (x0, y0, x1, y1) = cut.bounds[2:], bleed.bounds
    return Outline(turn, cut, Margins(*(max(0.0, over) for over in (-x0, -y0, x1 - width, y1 - height))))


@dataclass(frozen=True)
class Keeps:
    """What keeps blanks from the edges of a sheet."""

    free: FreeArea
    """Of this sheet (``FreeArea.on``)."""
    strip_mm: float
    """Least strip of waste along sides and tail."""
    gripper_strip_mm: float
    """Unbroken strip of waste along the gripper edge."""

    def margins(self, outline: Outline) -> Margins:
        """From the edges of the sheet to the box of a cut, at least; x and y exchanged as they are in the outline."""
        free, bleed = self.free, outline.bleed.swapped() if outline.swapped else outline.bleed
        sides = max(free.cut_sides_mm, self.strip_mm)
        margins = Margins(
            max(free.sides_mm + bleed.left, sides),
            max(free.gripper_mm + bleed.bottom, free.cut_gripper_mm, self.gripper_strip_mm),
            max(free.sides_mm + bleed.right, sides),
            max(free.tail_mm + bleed.top, free.cut_tail_mm, self.strip_mm),
        )
        return margins.swapped() if outline.swapped else margins

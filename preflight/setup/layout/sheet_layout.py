"""How blanks lie on a sheet: the answer of the search, or what a ticket or a standing die says.

The sheet's frame: the printed face, gripper edge down; x from the left, y up, turns counter-clockwise; mm.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final, Literal, TypeVar

from shapely import Polygon
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Matrix
from preflight.quantities import Size
from preflight.setup.layout.layout_request import FreeArea

Shape = TypeVar("Shape", bound=BaseGeometry)
Pattern = Literal["grid", "tumbled", "interlocked", "meshing", "as stated", "standing die"]
"""Plain rows and columns; rows or columns turned by 180°; pushed together; straight rows whose flaps mesh."""


@dataclass(frozen=True)
class Placed:
    """One blank: the lower-left corner of the box of its turned cut, in the sheet's frame."""

    x_mm: float
    y_mm: float
    turn_deg: Literal[0, 90, 180, 270]
    version: str | None = None


@dataclass(frozen=True)
class Alternative:
    """A layout that was not taken."""

    layout: SheetLayout
    says: str
    """``one fewer, in plain rows: 3,400 sheets more``."""


@dataclass(frozen=True)
class SheetLayout:
    """Blanks on a sheet."""

    sheet: Size
    cut: Polygon
    """The one-up's cut, the lower-left corner of its box at (0, 0)."""
    blanks: tuple[Placed, ...]
    """Numbered from 1 in this order: along the gripper edge from the left, then the next row."""
    pattern: Pattern
    free: FreeArea
    grain: Literal["across", "along"] | None = None
    gutters_mm: tuple[float, float] | None = None
    """Least clear distance of neighbours side by side, and one behind the other; 0 is a shared knife."""
    because: str = ""
    """Why this one was taken."""
    why_not_more: str = ""
    """Which limit stops one more; empty where the layout was stated."""
    alternatives: tuple[Alternative, ...] = ()
    notes: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    strangers: tuple[Polygon, ...] = ()
    """Outlines of a standing die, in the sheet's frame, that are about as large as a blank and are not this job's."""
    turns_open: Mapping[int, tuple[int, ...]] = field(default_factory=dict)
    """Of a standing die: number of a blank to the turns that its outline and creases allow beside the one taken."""
    sheet_asked: Size | None = None
    """What the ticket says, where a standing die is drawn on another sheet."""

    @property
    def ups(self) -> int:
        """Blanks on the sheet."""
        return len(self.blanks)

    @property
    def used_share(self) -> float:
        """Area of all blanks over that of the sheet, 0..1."""
        return float(self.cut.area * self.ups / (self.sheet.across_mm * self.sheet.along_mm))

    @cached_property
    def outlines(self) -> tuple[Polygon, ...]:
        """The cut of each blank, in the sheet's frame."""
        return tuple(through(placing(each, self.cut), self.cut) for each in self.blanks)

    @property
    def gutters_there_mm(self) -> tuple[float | None, float | None] | None:
        """``gutters_mm``, None for a way in which no blank has a neighbour."""
        if self.gutters_mm is None:
            return None
        boxes = [outline.bounds for outline in self.outlines]
        pairs = [(a, b) for n, a in enumerate(boxes) for b in boxes[n + 1 :]]
        common = [[min(a[k + 2], b[k + 2]) - max(a[k], b[k]) for k in (0, 1)] for a, b in pairs]
        beside = any(along > max(across, 0) for across, along in common)
        behind = any(across > max(along, 0) for across, along in common)
        return self.gutters_mm[0] if beside else None, self.gutters_mm[1] if behind else None


QUARTER: Final = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}
"""Cosine and sine of a quarter turn, exactly."""


def placing(placed: Placed, cut: Polygon) -> Matrix:
    """Matrix (a, b, c, d, e, f) from the one-up, with the box of its cut at (0, 0), to the sheet's frame.

    x' = a x + c y + e, y' = b x + d y + f, as everywhere (``artwork/page/geometry.py``).
    """
    cos, sin = QUARTER[placed.turn_deg]
    x0, y0, x1, y1 = cut.bounds
    corners = [(cos * x - sin * y, sin * x + cos * y) for x in (x0, x1) for y in (y0, y1)]
    return (
        cos, sin, -sin, cos,
        placed.x_mm - min(x for x, _ in corners), placed.y_mm - min(y for _, y in corners),
    )  # fmt: skip


def through(matrix: Matrix, shape: Shape) -> Shape:
    """A shape after a matrix."""
    a, b, c, d, e, f = matrix
    moved: Shape = affine_transform(shape, (a, c, b, d, e, f))
    return moved

"""A job without any symmetry: an L-shaped blank with four inks, two of them on one place of it each, and its sheets."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any, Final

import shapely
from shapely.affinity import affine_transform

from preflight.job import Job
from tests.drawn import Drawing, Point
from tests.house import SIX_UNITS, job_of

PAGE: Final = (90.0, 70.0)
AT: Final = (13.3, 11.7)
"""Lower-left corner of the cut's box on the page."""
CUT: Final[list[Point]] = [(0, 0), (60, 0), (60, 40), (20, 40), (20, 30), (0, 30)]
"""60 x 40 mm, its upper-left corner missing; from the corner of its box."""
FOLDS: Final[list[list[Point]]] = [[(20, 0), (20, 30)], [(45, 0), (45, 40)]]
PATCHES: Final = {"Red": (2.0, 3.0, 12.0, 8.0), "Blue": (47.0, 31.0, 58.0, 38.0), "Gold": (24.0, 6.0, 30.0, 24.0)}
"""Solid rectangles, from the corner of the cut's box."""
GROUND: Final = "Sand"
"""At 30 % with 3 mm of bleed, along the right edge and the lower edge from 20 mm on."""
SHEET: Final = (230.0, 160.0)
TICKET: Final = {
    "artwork_is": "one-up",
    "sheet": {"size": "230 x 160 mm"},
    "layout": {
        "blanks": [
            {"x": "120 mm", "y": "24 mm", "turn": 0},
            {"x": "20 mm", "y": "20.1 mm", "turn": 90},
            {"x": "70.3 mm", "y": "95 mm", "turn": 180},
            {"x": "150 mm", "y": "90 mm", "turn": 270},
        ]
    },
}
"""Not in the order of their numbers; x counts from the operator side."""
CORNERS: Final = {
    "left": [(20, 20.1, 90), (120, 24, 0), (70.3, 95, 180), (150, 90, 270)],
    "right": [(50, 24, 0), (170, 20.1, 90), (40, 90, 270), (99.7, 95, 180)],
}
"""By the operator's side: x and y of the boxes in the sheet's frame, from the left, and turns, in the order of their
numbers. The sheet is 230 mm wide, the boxes 60 or 40 mm."""
SMALL: Final[dict[str, Any]] = {**SIX_UNITS, "sheet": {"smallest": "100 x 100 mm", "largest": "300 x 200 mm"}}
TURNS: Final = {0: (1, 0, 0, 1), 90: (0, -1, 1, 0), 180: (-1, 0, 0, -1), 270: (0, 1, -1, 0)}


def one_up() -> Drawing:
    """The page of the one-up."""
    page = Drawing(*PAGE)
    _art(page, lambda x, y: (AT[0] + x, AT[1] + y))
    return page


def _art(page: Drawing, at: Any, inks: Collection[str] = tuple(PATCHES)) -> None:
    def box(x0: float, y0: float, x1: float, y1: float) -> list[Point]:
        return [at(x, y) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]

    page.fill(GROUND, 0.3, points=box(20, -3, 63, 1))
    page.fill(GROUND, 0.3, points=box(59, 1, 63, 43))
    for ink in inks:
        page.fill(ink, points=box(*PATCHES[ink]))
    page.gs(OP=True)
    page.stroke("Cutting", [at(*point) for point in CUT])
    for fold in FOLDS:
        page.stroke("Creasing", [at(*point) for point in fold], close=False)
    page.gs(OP=False)


def press(operator: str | None = "left") -> Mapping[str, Any]:
    """A press of one hand."""
    return SMALL if operator is None else {**SMALL, "operator_side": operator}


def laid(folder: Path, operator: str | None = "left", **ticket: Any) -> Job:
    """The one-up with a layout on its ticket."""
    return job_of(one_up(), folder, {**TICKET, **ticket}, press(operator))


def expected(ink: str, operator: str) -> list[shapely.Geometry]:
    """Where a patch lies on the sheet, blank by blank."""
    x0, y0, x1, y1 = PATCHES[ink]
    return [on_sheet(shapely.box(x0, y0, x1, y1), *corner) for corner in CORNERS[operator]]


def on_sheet(shape: shapely.Geometry, x_mm: float, y_mm: float, turn: int) -> shapely.Geometry:
    """A shape of the one-up, from the corner of its box, on a blank whose turned box has its corner there."""
    a, b, d, e = TURNS[turn]
    left, low = affine_transform(shapely.Polygon(CUT), (a, b, d, e, 0, 0)).bounds[:2]
    return affine_transform(shape, (a, b, d, e, x_mm - left, y_mm - low))


def sheet_page(gripper_edge: str, operator: str = "left", without: int | None = None) -> Drawing:
    """The same sheet as a page from outside, turned so that its gripper edge lies at a side of the page.

    ``without``: the blank, from 0, that lacks its blue patch.
    """
    width, height = SHEET if gripper_edge in ("bottom", "top") else SHEET[::-1]
    page = Drawing(width, height)
    for number, (x, y, turn) in enumerate(CORNERS[operator]):
        a, b, d, e = TURNS[turn]
        left, low = affine_transform(shapely.Polygon(CUT), (a, b, d, e, 0, 0)).bounds[:2]

        def at(px: float, py: float, a=a, b=b, d=d, e=e, left=x - left, low=y - low) -> Point:
            return from_frame(a * px + b * py + left, d * px + e * py + low, gripper_edge)

        _art(page, at, [ink for ink in PATCHES if number != without or ink != "Blue"])
    return page


def from_frame(x: float, y: float, gripper_edge: str) -> Point:
    """A place of the sheet's frame on a page whose gripper edge lies at that side."""
    across, along = SHEET
    return {
        "bottom": (x, y),
        "top": (across - x, along - y),
        "left": (y, across - x),
        "right": (along - y, x),
    }[gripper_edge]

"""A sheet that came from outside: its pages turned so that the gripper edge is down, with the blanks of its die."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import shapely
from shapely import Polygon

from preflight.artwork.page.geometry import Box, Matrix, inverse, times
from preflight.artwork.page.plates import Plates
from preflight.carton.die import Blank, Die
from preflight.quantities import Size
from preflight.setup.layout.sheet_layout import through
from preflight.setup.press_sheet.back_fit import BackFit, back_fit
from preflight.setup.press_sheet.press_sheet import Piece, PressSheet, SheetBlank, Side

Edge = Literal["bottom", "top", "left", "right"]


@dataclass(frozen=True)
class SheetPage:
    """A page that shows a whole sheet, or a sheet on its plate."""

    plates: Plates
    die: Die
    kinds: Mapping[str, str]
    number: int
    sheet_mm: Box
    """Where the sheet lies on the page as displayed."""
    gripper_edge: Edge
    side: Side = "front"
    """A back is displayed as it is seen from behind."""

    @property
    def size(self) -> Size:
        """Of the sheet, across x along."""
        x0, y0, x1, y1 = self.sheet_mm
        upright = self.gripper_edge in ("bottom", "top")
        return Size(x1 - x0, y1 - y0) if upright else Size(y1 - y0, x1 - x0)

    @property
    def to_sheet(self) -> Matrix:
        """From the page as displayed to the sheet's frame."""
        turned = to_frame(self.sheet_mm, self.gripper_edge)
        return turned if self.side == "front" else times(turned, (-1, 0, 0, 1, self.size.across_mm, 0))


def to_frame(sheet_mm: Box, gripper_edge: Edge) -> Matrix:
    """From a page on which the sheet fills a box to the sheet's frame: a quarter turn that brings the gripper down."""
    x0, y0, x1, y1 = sheet_mm
    matrices: Mapping[Edge, Matrix] = {
        "bottom": (1, 0, 0, 1, -x0, -y0),
        "top": (-1, 0, 0, -1, x1, y1),
        "left": (0, 1, -1, 0, y1, -x0),
        "right": (0, -1, 1, 0, -y0, x1),
    }
    return matrices[gripper_edge]


def outside_sheet(
    pages: Sequence[SheetPage],
    operator_side: Literal["left", "right"] = "left",
    operator_assumed: bool = False,
) -> PressSheet:
    """The sheet that pages show: the first is its front, a back is seen through the board.

    Blanks have the numbers that they have on the page, and no one-up is known of them.
    """
    front = pages[0]
    size, move = front.size, front.to_sheet
    whole = shapely.box(0, 0, size.across_mm, size.along_mm)
    pieces = tuple(Piece(page.plates, page.to_sheet, whole, page.side) for page in pages)
    return PressSheet(
        size,
        tuple(_blank(blank, move) for blank in front.die.blanks),
        pieces,
        {name: kind for page in pages for name, kind in page.kinds.items()},
        is_from="sheet from outside",
        operator_side=operator_side,
        operator_assumed=operator_assumed,
        to_page={page.number: inverse(page.to_sheet) for page in pages[:1]},
        back_fits=tuple(_back_fit(front, page) for page in pages if page.side == "back" and page.die.blanks),
    )


def _blank(blank: Blank, move: Matrix) -> SheetBlank:
    return SheetBlank(
        blank.number,
        through(move, blank.outline),
        through(move, blank.creases),
        None,
        None,
        tuple(replace(area, shape=through(move, area.shape)) for area in blank.areas),
        tuple(replace(edge, line=through(move, edge.line)) for edge in blank.edges),
        tuple(through(move, panel) for panel in blank.panels),
        piece=0,
    )


def _back_fit(front: SheetPage, back: SheetPage) -> BackFit:
    """All blanks of both taken for one; the sheets of both lie on each other."""
    one, other = (_as_one(page, to_frame(page.sheet_mm, page.gripper_edge)) for page in (front, back))
    return back_fit(one, other)


def _as_one(page: SheetPage, move: Matrix) -> Blank:
    """Every cut and fold of a sheet, with the sheet's own edge as a frame that both sides share."""
    x1, y1 = page.size.across_mm, page.size.along_mm
    frame = Polygon(shapely.box(0, 0, x1, y1).exterior, [])
    cuts = [through(move, Polygon(blank.outline.exterior)) for blank in page.die.blanks]
    holes = shapely.difference(frame, shapely.union_all(cuts))
    folds = shapely.union_all([through(move, blank.creases) for blank in page.die.blanks])
    return Blank(1, holes, folds)

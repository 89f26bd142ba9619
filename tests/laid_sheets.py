"""Press sheets made by hand, in mm: a carton without any symmetry, laid in rows, with bleed, marks and a colour bar."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Literal

import shapely
from shapely import MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from preflight.carton.cut_edges import cut_edges
from preflight.carton.die import Area
from preflight.quantities import Size
from preflight.setup.layout.layout_request import BlankToLay, FreeArea
from preflight.setup.layout.sheet_layout import Pattern, Placed, SheetLayout, placing, through
from preflight.setup.press_sheet.press_sheet import Mark, PressSheet, SheetBlank
from tests.cartons import reverse_tuck

CARTON = reverse_tuck(width=60, depth=30, height=90)
WINDOW = shapely.box(25, 70, 50, 105)
"""In the front panel, off its middle."""
CUT = Polygon(CARTON.outline, [WINDOW.exterior.coords])
"""195 x 180 mm; the glue flap is at the left, the lid over the first panel."""
PERFORATION = MultiLineString([[(75, 60), (75, 120)]])
CREASES = shapely.difference(MultiLineString(CARTON.crease), PERFORATION)
GLUE = Polygon(CARTON.glue_flap)
CODE = shapely.box(85, 60, 100, 75)
HIDDEN = [GLUE, *(Polygon(points) for name, points in CARTON.flaps.items() if "dust" in name)]
ONE_UP = BlankToLay(CUT, CUT.buffer(3), CREASES.union(PERFORATION))
FREE = FreeArea(sides_mm=6, gripper_mm=12, tail_mm=10)
SHEET = Size(640, 480)

UPRIGHT: tuple[Placed, ...] = (
    Placed(20, 18, 0),
    Placed(221, 18, 180, "Mint"),
    Placed(422, 18, 0),
    Placed(20, 206, 0),
    Placed(221, 206, 180),
    Placed(422, 206, 180, "Mint"),
)
"""Nearer the left edge than the right one, and tumbled in no order that a mirror keeps."""


def layout_of(
    blanks: tuple[Placed, ...] = UPRIGHT, sheet: Size = SHEET, cut: Polygon = CUT, pattern: Pattern = "tumbled"
) -> SheetLayout:
    return SheetLayout(sheet, cut, blanks, pattern, FREE, grain="across", gutters_mm=(6.0, 8.0))


def press_sheet(
    layout: SheetLayout | None = None,
    operator_side: Literal["left", "right"] = "left",
    *,
    assumed: bool = False,
    folds: bool = True,
) -> PressSheet:
    """The sheet of a layout of the carton, with its marks."""
    layout = layout or layout_of()
    return PressSheet(
        layout.sheet,
        tuple(_blank(number, placed, layout, folds) for number, placed in enumerate(layout.blanks, 1)),
        (),
        {"Cyan": "process", "Black": "process"},
        tuple(_marks(layout.sheet)),
        layout=layout,
        operator_side=operator_side,
        operator_assumed=assumed,
    )


def _blank(number: int, placed: Placed, layout: SheetLayout, folds: bool) -> SheetBlank:
    matrix = placing(placed, layout.cut)

    def on(shape: BaseGeometry) -> BaseGeometry:
        return through(matrix, shape)

    outline = through(matrix, layout.cut)
    areas = [Area("glue flap", GLUE, "stated", ""), Area("code", CODE, "stated", "")]
    return SheetBlank(
        number,
        outline,
        through(matrix, MultiLineString([*CREASES.geoms, *PERFORATION.geoms])),
        placed.turn_deg,
        placed.version,
        tuple(replace(area, shape=through(matrix, area.shape)) for area in areas),
        tuple(cut_edges([outline], [[through(matrix, flap) for flap in HIDDEN]])[0]),
        to_sheet=matrix,
        folds={"crease": on(CREASES), "perforate": on(PERFORATION)} if folds else {},
    )


def _marks(sheet: Size) -> list[Mark]:
    tints = itertools.cycle([{"Cyan": 1.0}, {"Black": 1.0}, {"Cyan": 0.5}, {"Cyan": 1.0, "Black": 1.0}])
    top = sheet.along_mm - 7
    bar = [Mark("colour bar", shapely.box(x, top, x + 5, top + 5), next(tints)) for x in range(10, 630, 5)]
    both = {"Cyan": 1.0, "Black": 1.0}
    cross = shapely.union_all([shapely.box(3, 238, 11, 238.2), shapely.box(6.9, 234, 7.1, 242)])
    right = shapely.box(629, 238, 637, 238.2)
    lay = shapely.box(0, 60, 5, 60.5)
    return [*bar, Mark("register", cross, both), Mark("register", right, both), Mark("side guide", lay, both)]

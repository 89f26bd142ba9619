"""A layout that the ticket states, in the sheet's frame; it is taken as it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal, cast

from shapely import Polygon
from shapely.affinity import translate

from preflight.inputs.press import Press
from preflight.inputs.ticket import LaidBlank
from preflight.quantities import Size
from preflight.setup.layout.layout_request import FreeArea
from preflight.setup.layout.row_order import row_order
from preflight.setup.layout.sheet_layout import Placed, SheetLayout, placing, through
from preflight.setup.press_sheet.stepping import clear_distances

BAR_CLEAR_MM = 2.0
"""Between the colour bar and the work; common practice."""


def stated_layout(
    blanks: Sequence[LaidBlank],
    cut: Polygon,
    sheet: Size,
    free: FreeArea,
    grain: str | None,
    operator_side: Literal["left", "right"],
) -> SheetLayout:
    """The layout of a ticket, whose x counts from the sheet's edge at the operator side.

    Args:
        blanks: as the ticket has them, in any order.
        cut: the one-up's.
        sheet: its size.
        free: what press and die-cutter leave free.
        grain: of the sheet.
        operator_side: of the printed face with the gripper edge down.
    """
    x0, y0, x1, y1 = cut.bounds
    at_corner = translate(cut, -x0, -y0)
    placed = []
    for blank in blanks:
        width = x1 - x0 if blank.turn in (0, 180) else y1 - y0
        left = blank.x if operator_side == "left" else sheet.across_mm - blank.x - width
        turn = cast("Literal[0, 90, 180, 270]", blank.turn)
        placed.append(Placed(left, blank.y, turn, blank.version))
    order = row_order([through(placing(each, at_corner), at_corner) for each in placed])
    layout = SheetLayout(
        sheet,
        at_corner,
        tuple(placed[number] for number in order),
        "as stated",
        free,
        cast("Literal['across', 'along'] | None", grain),
        because="stated on the ticket",
    )
    return with_gutters(layout)


def with_gutters(layout: SheetLayout) -> SheetLayout:
    """The layout with the least clear distances of its blanks."""
    return replace(layout, gutters_mm=clear_distances(layout.outlines))


def free_area(press: Press, bar: str | None) -> FreeArea:
    """What press and die-cutter leave free of a sheet; what a profile does not say takes nothing away.

    Args:
        press: the profile.
        bar: the edge at which the ticket wants the colour bar; None where the profile decides.
    """
    edges, cutter, strip = press.edges, press.die_cutter, press.colour_bar
    at = bar or (strip.edge if strip else "none")
    depth = strip.depth + BAR_CLEAR_MM if strip and at != "none" else 0.0
    limits = {
        "sides_mm": "edges: sides of the press",
        "gripper_mm": "edges: gripper of the press" + (" and the colour bar" if depth and at == "gripper" else ""),
        "tail_mm": "edges: tail of the press" + (" and the colour bar" if depth and at == "tail" else ""),
        "cut_sides_mm": "die_cutter: sides",
        "cut_gripper_mm": "die_cutter: gripper",
        "cut_tail_mm": "die_cutter: tail",
    }
    return FreeArea(
        edges.sides or 0.0,
        (edges.gripper or 0.0) + (depth if at == "gripper" else 0.0),
        (edges.tail or 0.0) + (depth if at == "tail" else 0.0),
        cutter.sides or 0.0,
        cutter.gripper or 0.0,
        cutter.tail or 0.0,
        limits,
    )

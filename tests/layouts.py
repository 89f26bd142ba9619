"""Requests for layouts in tests: a blank in a room of exactly so many mm."""

from __future__ import annotations

from typing import Any

from shapely import Polygon

from preflight.quantities import Size
from preflight.setup.layout.layout_request import BlankToLay, FreeArea, LayoutRequest

ROUND = FreeArea(sides_mm=5, gripper_mm=10, tail_mm=6)
"""What a room of the tests has round it."""


def room(cut: Polygon, across: float, along: float, **more: Any) -> LayoutRequest:
    """A blank without bleed, whose cut may lie in a room so large; the grain lets it lie as drawn only."""
    keys = {"grain": "across", "grain_on_blank": "across", **more}
    return LayoutRequest(
        BlankToLay(cut, cut, edge_inks=keys.pop("edge_inks", {})),
        (Size(across + 10, along + 16),),
        keys.pop("sheets_are", "ticket"),
        ROUND,
        **keys,
    )


def on_press(
    cut: Polygon, sheet: tuple[float, float], edges: tuple[float, float, float], *, bleed: float = 3, **more: Any
) -> LayoutRequest:
    """A blank on a sheet of a press whose gripper edge, tail and sides are given; the die-cutter is the table's."""
    gripper, tail, sides = edges
    free = FreeArea(sides, gripper, tail, cut_sides_mm=5, cut_gripper_mm=10, cut_tail_mm=5)
    around = cut.buffer(bleed, join_style="mitre") if bleed else cut
    blank = BlankToLay(cut, around, edge_inks=more.pop("edge_inks", {}))
    keys = {"grain": "across", "grain_on_blank": "across", **more}
    return LayoutRequest(blank, (Size(*sheet),), "ticket", free, bleed_mm=bleed, **keys)

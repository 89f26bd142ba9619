"""What has to lie between two blanks: the ticket's gutter, else the table's; and whether they may share a knife."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal

from preflight.inputs.layout_table import LayoutTable
from preflight.setup.layout.layout_request import BlankToLay, LayoutRequest
from preflight.setup.layout.outlines import Turn

Side = Literal["left", "right", "bottom", "top"]
_ROUND: Final[tuple[Side, ...]] = ("right", "top", "left", "bottom")
"""Sides of a box, counter-clockwise."""


@dataclass(frozen=True)
class Gutters:
    """Clear distances between cuts, in mm."""

    across_mm: float
    """Of neighbours side by side."""
    along_mm: float
    """Of neighbours one behind the other."""
    nested_across_mm: float
    nested_along_mm: float
    """Where flaps lie between those of a neighbour."""
    strip_mm: float
    """Least strip of waste; a ticket that asks for a narrower gutter takes it upon itself."""
    asked: bool

    def swapped(self) -> Gutters:
        """With x and y exchanged."""
        return Gutters(
            self.along_mm, self.across_mm, self.nested_along_mm, self.nested_across_mm, self.strip_mm, self.asked
        )


def gutters_of(request: LayoutRequest, table: LayoutTable) -> Gutters:
    """What the ticket asks for, else the table's, never under the waste strip that the die-cutter needs."""
    strip = request.waste_strip_mm
    if request.gutter_mm is not None:
        across, along = request.gutter_mm, request.gutter_along_mm
        along = across if along is None else along
        return Gutters(across, along, across, along, min(strip, across, along), asked=True)
    least = max(table.least_gutter_mm, strip)
    plain, nested = max(table.gutter_mm, least), max(table.nested_gutter_mm, least)
    return Gutters(plain, plain, nested, nested, strip, asked=False)


def narrower(gutters: Gutters, table: LayoutTable) -> Gutters:
    """As narrow as the table and the die-cutter allow, for what might be had."""
    least = max(table.least_gutter_mm, gutters.strip_mm)
    return Gutters(least, least, least, least, gutters.strip_mm, asked=False)


def roomy(gutters: Gutters) -> Gutters:
    """The same, with whole gutters between flaps that nest too, so that no bleed is cut."""
    return replace(gutters, nested_across_mm=gutters.across_mm, nested_along_mm=gutters.along_mm)


def shares_knife(blank: BlankToLay, turn: Turn, table: LayoutTable) -> tuple[bool, bool]:
    """Whether the colours let neighbours share a knife side by side, and one behind the other, at this turn."""
    if table.shared_knife != "allowed":
        return False, False
    quarter = turn // 90
    seen = {side: blank.edge_inks.get(_ROUND[(place - quarter) % 4]) for place, side in enumerate(_ROUND)}
    return (
        _go_together(seen["left"], seen["right"], table),
        _go_together(seen["bottom"], seen["top"], table),
    )


def _go_together(one: Mapping[str, float] | None, other: Mapping[str, float] | None, table: LayoutTable) -> bool:
    if one is None or other is None:
        return False
    if all(100 * tint <= table.unbled for tint in (*one.values(), *other.values())):
        return True
    inks = one.keys() | other.keys()
    return all(100 * abs(one.get(ink, 0.0) - other.get(ink, 0.0)) <= table.alike for ink in inks)

"""What is asked about a layout: the blank with its bleed, the sheets there are, what press and die-cutter leave free.

The sheet's frame: the printed face, gripper edge down; x from the left, y up, turns counter-clockwise; mm.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from shapely import MultiLineString, Polygon

from preflight.quantities import Size

Grain = Literal["across", "along", "any"]


@dataclass(frozen=True)
class BlankToLay:
    """The one-up as it is laid out; mm, the box of its cut has its lower-left corner at (0, 0)."""

    cut: Polygon
    """Outer contour with cut-outs as holes."""
    bleed: Polygon
    """Cut together with what of its artwork is printed beyond it, no further than the bleed that is asked for."""
    creases: MultiLineString = field(default_factory=MultiLineString)
    kept_free: tuple[tuple[str, Polygon], ...] = ()
    """Glue flaps, code areas, visible faces: (``glue flap``, shape); no neighbour's bleed may lie on one."""
    edge_inks: Mapping[Literal["left", "right", "bottom", "top"], Mapping[str, float]] = field(default_factory=dict)
    """By side of the box: mean tint 0..1 of each ink along the cut there. A side that is missing is not known."""
    panels: tuple[Polygon, ...] = ()
    """Cells of cut and crease lines, with which flaps that nobody sees can be told."""


@dataclass(frozen=True)
class FreeArea:
    """What of a sheet may hold bleed, and what may hold cut, from the edges of the sheet; mm."""

    sides_mm: float
    gripper_mm: float
    tail_mm: float
    """Of printing; the bar's strip is in it where the bar stands at the tail, else in ``gripper_mm``."""
    cut_sides_mm: float = 0.0
    cut_gripper_mm: float = 0.0
    cut_tail_mm: float = 0.0
    """Of the die-cutter, for the cut alone."""
    limits: Mapping[str, str] = field(default_factory=dict)
    """Which key says each: ``{"gripper_mm": "edges: gripper of the press"}``."""
    printable: Size | None = None
    """Never more than this is printed, centred across."""
    printable_from_mm: float = 0.0
    """Where it begins, from the gripper edge."""

    def on(self, sheet: Size) -> FreeArea:
        """The same for one sheet, with the printable area of the press in the edges."""
        if self.printable is None:
            return self
        sides = (sheet.across_mm - self.printable.across_mm) / 2
        tail = sheet.along_mm - self.printable_from_mm - self.printable.along_mm
        said = {"sides_mm": sides > self.sides_mm, "tail_mm": tail > self.tail_mm}
        limits = {**self.limits, **{edge: "sheet: printable of the press" for edge, so in said.items() if so}}
        return replace(
            self,
            sides_mm=max(sides, self.sides_mm),
            tail_mm=max(tail, self.tail_mm),
            limits=limits,
            printable=None,
        )


@dataclass(frozen=True)
class LayoutRequest:
    """The question. None: nobody says."""

    blank: BlankToLay
    sheets: tuple[Size, ...]
    """Sheets to choose from, the ticket's alone where it names one."""
    sheets_are: Literal["ticket", "stock", "largest"]
    """``largest``: the press's largest sheet, cut down to what is used."""
    free: FreeArea
    smallest: Size | None = None
    """Sheet that the press takes at least."""
    ups: int | None = None
    """Number-up that the ticket asks for: neither more nor fewer."""
    gutter_mm: float | None = None
    """Asked for; else ``rules/layout.yaml``."""
    gutter_along_mm: float | None = None
    """Between one blank and the next along the travel, where another one is asked for there."""
    bleed_mm: float = 3.0
    grain: Literal["across", "along"] | None = None
    """Of the sheet: across the press, or along the travel."""
    grain_on_blank: Grain = "any"
    """As displayed: across means along x of the one-up."""
    waste_strip_mm: float = 4.0
    """Least width of a strip of waste, the die-cutter's."""
    quantities: Mapping[str, int] = field(default_factory=dict)
    """Cartons of each version; empty for one version. Ups are shared in proportion."""
    quantity: int | None = None
    assumed: tuple[str, ...] = ()
    """What nobody says and was taken from ``rules/layout.yaml``."""

"""The press sheet as it is printed: its blanks, what is drawn where, its marks. No opinion in here.

The sheet's frame: the printed face, gripper edge down; x from the left, y up, turns counter-clockwise; mm. What counts
from the operator side (files, key numbers) is turned round at the door: ``from_operator``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from shapely import MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Matrix
from preflight.artwork.page.plates import Plates
from preflight.carton.die import Area, CutEdge
from preflight.findings import Known
from preflight.quantities import Size
from preflight.setup.layout.sheet_layout import SheetLayout
from preflight.setup.press_sheet.back_fit import BackFit

Side = Literal["front", "back"]


@dataclass(frozen=True)
class SheetBlank:
    """One blank of the sheet, in the sheet's frame."""

    number: int
    outline: Polygon
    """The inside of the cut: cut-outs are its holes."""
    creases: MultiLineString
    turn_deg: float | None
    """Against the one-up as displayed; None on a sheet from outside whose one-up is not known."""
    version: str | None = None
    areas: tuple[Area, ...] = ()
    """Glue flap, code area, window … of this blank, turned as it is."""
    edges: tuple[CutEdge, ...] = ()
    """Runs of its cut line, each with the clear distance to the next blank ON THE SHEET."""
    panels: tuple[Polygon, ...] = ()
    piece: int | None = None
    """Which of the sheet's pieces draws it."""
    to_sheet: Matrix | None = None
    """From its one-up's page as displayed to the sheet's frame; None on a sheet from outside."""
    folds: Mapping[str, BaseGeometry] = field(default_factory=dict)
    """``creases`` by role, as ``Die.folds`` has them, in the sheet's frame; empty where roles are not told apart."""


@dataclass(frozen=True)
class Piece:
    """Plates that are laid on the sheet: of a one-up at one blank, or of a whole sheet from outside.

    ``plates`` stand upright on their own page; ``to_sheet`` is a quarter turn and a shift, so that a pixel stays one.
    """

    plates: Plates
    to_sheet: Matrix
    clip: Polygon
    """What of it shows, in the sheet's frame: the blank with its bleed, cut where a neighbour's begins."""
    side: Side = "front"
    version: str | None = None


@dataclass(frozen=True)
class Mark:
    """What stands on the sheet beside the blanks: a patch of the colour bar, a register mark, the side-guide mark."""

    kind: Literal["colour bar", "register", "side guide", "centre", "die-cut", "label", "cell number", "unknown"]
    shape: Polygon
    inks: Mapping[str, float]
    """By separation: tint 0..1, over ``shape``."""
    known: Known = "read"
    """``stated``: it is the tool's own; ``read`` from the artwork, or ``assumed`` by its looks."""


@dataclass(frozen=True)
class PressSheet:
    """A sheet, laid out or from outside."""

    size: Size
    blanks: tuple[SheetBlank, ...]
    pieces: tuple[Piece, ...]
    kinds: Mapping[str, str]
    """By separation, in the order of the plates: kind. What has no plate is not in it."""
    marks: tuple[Mark, ...] = ()
    is_from: Literal["layout of the tool", "layout of the ticket", "standing die", "sheet from outside"] = (
        "layout of the tool"
    )
    layout: SheetLayout | None = None
    """None of a sheet from outside."""
    operator_side: Literal["left", "right"] = "left"
    operator_assumed: bool = False
    """The press profile does not say at which side the operator stands."""
    to_page: Mapping[int, Matrix] = field(default_factory=dict)
    """Of a sheet from outside: page number to the matrix from the frame to that page, for places of readings."""
    speaks_for: str | None = None
    """Version of the page that speaks for the sheet: places on its blanks can be shown on that page."""
    back_fits: tuple[BackFit, ...] = ()
    """How the inside of each version lies against its outside, as far as both have a die."""
    left_out: tuple[str, ...] = ()
    """What of the job is not on the sheet, and why."""
    versions_apart: tuple[str, ...] = ()
    """Versions that are on no blank: they are run one after the other, each on sheets of its own."""
    marks_left_out: tuple[str, ...] = ()
    """Marks of the tool's own that are not on the sheet, and why."""
    marked_for: tuple[str, ...] = ()
    """Separations that print on the front from a unit: each wants its patch, its label, its part of register marks."""

    def from_operator(self, x_mm: float) -> float:
        """Distance of a place from the sheet's edge at the operator side, which files count from."""
        return x_mm if self.operator_side == "left" else self.size.across_mm - x_mm

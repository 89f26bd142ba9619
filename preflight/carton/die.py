"""Blanks, areas and cut edges: what is known of a die once its lines have been read."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from typing import Final, Literal

from shapely import LineString, MultiLineString, Polygon, unary_union
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box
from preflight.findings import Known, Unusable

PLAIN_NAME: Final = re.compile(r"[^\W_](?:[\w .+()/-]*[\w.+()/-])?")
"""What YAML takes for a text without quotes, within braces too."""


@dataclass(frozen=True)
class Area:
    """A place of the carton that is to stay free or is treated apart: glue flap, code or window."""

    kind: str
    """``glue flap``, ``code``, ``ink free``, ``varnish free`` …, as in the ticket or ISO 19593-1."""
    shape: Polygon
    known: Known
    because: str
    only_on: int | None = None
    """Number of the one blank that it is for; None where it holds for all blanks like the one that it lies on."""


@dataclass(frozen=True)
class CutEdge:
    """A run of a blank's cut line, to be looked at for bleed."""

    line: LineString
    """The blank is on its left, mm."""
    edge: Literal["outer", "cut-out"]
    neighbour_mm: float | None = None
    """Clear distance to the next blank or across the slot, where there is one; 0 for a common knife."""
    hidden: bool = False
    """On a glue or dust flap, which nobody sees on the finished carton."""


@dataclass(frozen=True)
class Blank:
    """One flat die-cut carton."""

    number: int
    outline: Polygon
    """The inside of the cut: cut-outs are its holes. mm on the page as displayed."""
    creases: MultiLineString
    panels: tuple[Polygon, ...] = ()
    """Closed cells of cut and crease lines, the row of panels first; empty where the faces cannot be built."""
    edges: tuple[CutEdge, ...] = ()
    areas: tuple[Area, ...] = ()
    """Glue flap (guessed, or stated on the ticket or by a step) and other free areas on this blank."""


@dataclass(frozen=True)
class Suspected:
    """Thin lines that look like a die which nobody called one, too little to take them for it."""

    box_mm: Box
    inks: tuple[str, ...]
    """Separations that they are drawn in; a colour that is no separation by its family."""
    panels: int
    because: str


@dataclass(frozen=True)
class OpenCut:
    """A place where the cut is not closed, so that the blank ends in a fold."""

    blank: int
    ends: tuple[tuple[float, float], ...]
    """Ends of cut lines that meet nothing, mm, from left to right; none where nothing is drawn beyond the fold."""
    fold: BaseGeometry
    """The folds that the blank ends in."""
    beyond: Box | None
    """Bounding box of the lines that hang on the fold and are no part of the blank."""


@dataclass(frozen=True)
class Die:
    """What was read of the die on a page."""

    found: Literal["stated", "read", "assumed", "none"]
    because: str
    blanks: tuple[Blank, ...] = ()
    notes: tuple[str, ...] = ()
    """What was done about odd lines: gaps closed, legends left out, common knives."""
    uncertain: tuple[str, ...] = ()
    """Where the outline is doubtful; rules on it are not checked: ``two cut lines disagree by 0.8 mm at (12, 40)``."""
    uncertain_places: tuple[Box, ...] = ()
    open_cuts: tuple[OpenCut, ...] = ()
    """Where the cut is not closed and something of the carton was left out for it."""
    left_out: BaseGeometry | None = None
    """Lines in a die ink that are no die (dimension lines, legends), shown grey."""
    cut_lines: BaseGeometry | None = None
    crease_lines: BaseGeometry | None = None
    """All lines that fold: creases, perforations, half-cuts."""
    folds: dict[str, BaseGeometry] = field(default_factory=dict)
    """The same by role: ``crease``, ``perforate``, ``half-cut``; roles without a line are missing."""
    drawn_in: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Role (cut, crease …) to the names of the separations or layers that its lines are drawn in."""
    lines_of: dict[str, tuple[int, ...]] = field(default_factory=dict)
    """Role to the rows of the page's object table that draw its lines."""
    loose_areas: tuple[Area, ...] = ()
    """Stated areas that lie on no blank (or not on the one that they are for), or of a page without a die."""
    unfit_areas: tuple[Area, ...] = ()
    """Glue flaps that the ticket states where there is no flap; they are not used."""
    guessed_within: tuple[str, ...] = ()
    """What is guessed of the lines within a cut whose outer edge is known: which of them fold, in one ink for all."""
    unusable: tuple[Unusable, ...] = ()
    """Statements of the ticket on the die that fit nothing on the page."""
    suspected: Suspected | None = None
    """Where no die was found: lines that may be one."""
    likely_cut: str = ""
    """Where nothing is called the cut: the separation that is likely to hold it; empty where none is."""

    @property
    def line_to_paste(self) -> str:
        """The line of a ticket that names the likeliest cut; empty where none is likely."""
        if not self.likely_cut:
            return ""
        plain = PLAIN_NAME.fullmatch(self.likely_cut)
        name = self.likely_cut if plain else json.dumps(self.likely_cut, ensure_ascii=False)
        return f"die: {{lines: {{cut: [{name}]}}}}"

    @property
    def inside(self) -> BaseGeometry:
        """Union of the insides of all blanks; empty where there is no blank."""
        return unary_union([blank.outline for blank in self.blanks])

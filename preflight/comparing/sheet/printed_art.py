"""The art of one blank: the one-up or another version of it, on a grid about the middle of its cut.

The blank's frame has its origin in the middle of the box of the cut and lies as the one-up does; mm, y up. A place on a
sheet is a matrix from that frame to the page: a quarter turn and a shift.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.artwork import Artwork
from preflight.artwork.page.geometry import Box, Matrix, box_through, inverse, times
from preflight.artwork.page.page import Page
from preflight.carton.alike_blanks import Cut, moves
from preflight.carton.die import Blank
from preflight.carton.read_die import read_die
from preflight.errors import NotMeasured
from preflight.inputs.ticket import Ticket
from preflight.setup.layout.sheet_layout import through

DPI: Final = 150.0
PX_MM: Final = 25.4 / DPI
ROUND_MM: Final = 1.0
"""So far outside the cut art is drawn too."""
BLEED_MM: Final = 3.0
"""Where neither cut nor trim box is known, so much of what is printed may be bleed that neighbours clip."""
SAME_PAGE_MM: Final = 0.1
INKED: Final = 6
"""Levels of 255 from which on a place is taken as printed."""
OF_FLAP: Final = 0.3
"""Of the outline of a flap that nobody sees: share that is cut and known to be hidden, at least."""

Ink = NDArray[np.uint8]
Names = Mapping[str, str]
"""From the names that plates are compared by to those of a page."""


@dataclass(frozen=True)
class PrintedArt:
    """What one blank is to show."""

    name: str
    page: Page
    to_frame: Matrix
    size_mm: tuple[float, float]
    """Of the box of its cut, width and height."""
    names: Names
    known_by: Literal["cut", "trim", "print"]
    """What its box is."""
    cut: Polygon | None = None
    """In the blank's frame."""
    creases: BaseGeometry = field(default_factory=MultiLineString)
    flaps: BaseGeometry = field(default_factory=MultiPolygon)
    """Glue and dust flaps, which nobody sees."""
    blanks_on_page: int = 1
    _turned: dict[tuple[int, float, tuple[str, ...]], Ink] = field(default_factory=dict, repr=False, compare=False)

    @property
    def printed(self) -> BaseGeometry:
        """What of it is compared: inside cut or trim box; of what is merely printed, without what may be bleed."""
        return shapely.buffer(self.whole, -BLEED_MM) if self.known_by == "print" else self.whole

    @property
    def whole(self) -> BaseGeometry:
        """The inside of its cut, or its box."""
        if self.cut is not None:
            return self.cut
        width, height = self.size_mm
        return shapely.box(-width / 2, -height / 2, width / 2, height / 2)

    @property
    def as_cut(self) -> Cut | None:
        """Cut and folds, to be laid on those of a sheet."""
        return None if self.cut is None else Cut(self.cut, self.creases)

    def grid(self, dpi: float = DPI) -> Box:
        """The box of the frame that its pixels fill."""
        mm = 25.4 / dpi
        width, height = (math.ceil((side + 2 * ROUND_MM) / mm) * mm / 2 for side in self.size_mm)
        return (-width, -height, width, height)

    def drawn(self, order: Sequence[str], quarters: int = 0, dpi: float = DPI) -> Ink:
        """Its plates by name, turned by quarters counter-clockwise: (names, rows, columns)."""
        key = quarters % 4, dpi, tuple(order)
        if key not in self._turned:
            upright = drawn(self.page, inverse(self.to_frame), self.grid(dpi), dpi, self.names, order)
            self._turned[key] = np.ascontiguousarray(np.rot90(upright, quarters, (1, 2)))
        return self._turned[key]


def plate_names(page: Page) -> tuple[str, ...]:
    """Separations of a page that go on plates."""
    return tuple(separation.name for separation in page.separations if separation.on_plate)


def quarters_of(matrix: Matrix) -> int:
    """Quarter turns counter-clockwise that a matrix makes."""
    return round(math.atan2(matrix[1], matrix[0]) / (math.pi / 2)) % 4


def placed(quarters: int, x: float, y: float) -> Matrix:
    """From a blank's frame to a page: so many quarter turns, the middle at x, y."""
    a, b = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[quarters % 4]
    return (a, b, -b, a, x, y)


def drawn(page: Page, to_page: Matrix, grid: Box, dpi: float, names: Names, order: Sequence[str]) -> Ink:
    """Plates of what lies in a box of a frame on a page, **as the frame lies**: (names, rows, columns)."""
    plates = page.window(box_through(to_page, grid), dpi)
    missing = np.zeros(plates.ink.shape[1:], np.uint8)
    ink = np.stack([plates.tint(names[name]) if name in names else missing for name in order])
    return np.rot90(ink, -quarters_of(to_page), (1, 2))


# Reading -----------------------------------------------------------------------------------------------------------


def read_art(name: str, artwork: Artwork, ticket: Ticket | None, names: Names | None = None) -> PrintedArt:
    """The art of a one-up: by its die, else its trim box, else by what is printed on its first page.

    Raises:
        NotMeasured: nothing is printed on it, or it cannot be drawn.
    """
    page = artwork.pages[0]
    names = names or {each: each for each in plate_names(page)}
    die = read_die(page, ticket)
    if die.blanks:
        blank = max(die.blanks, key=lambda each: each.outline.area)
        return replace(_of_blank(name, page, blank, names), blanks_on_page=len(die.blanks))
    trim = page.boxes.trim
    box, known_by = (trim, "trim") if trim is not None and _narrower(trim, page) else (_printed_box(page), "print")
    x0, y0, x1, y1 = box
    to_frame = (1.0, 0.0, 0.0, 1.0, -(x0 + x1) / 2, -(y0 + y1) / 2)
    return PrintedArt(name, page, to_frame, (x1 - x0, y1 - y0), names, known_by)  # type: ignore[arg-type]


def _narrower(trim: Box, page: Page) -> bool:
    return max(abs(one - other) for one, other in zip(trim, page.box_mm, strict=True)) > 0.5


def _of_blank(name: str, page: Page, blank: Blank, names: Names) -> PrintedArt:
    x0, y0, x1, y1 = blank.outline.bounds
    to_frame = (1.0, 0.0, 0.0, 1.0, -(x0 + x1) / 2, -(y0 + y1) / 2)
    return PrintedArt(
        name,
        page,
        to_frame,
        (x1 - x0, y1 - y0),
        names,
        "cut",
        through(to_frame, blank.outline),
        through(to_frame, blank.creases),
        through(to_frame, hidden_flaps(blank)),
    )


def hidden_flaps(blank: Blank) -> BaseGeometry:
    """Glue and dust flaps of a blank."""
    hidden = [shapely.buffer(edge.line, 0.05) for edge in blank.edges if edge.hidden]
    found = [area.shape for area in blank.areas if area.kind == "glue flap"]
    if hidden:
        lines = shapely.union_all(hidden)
        found += [
            panel
            for panel in blank.panels
            if shapely.intersection(panel.boundary, lines).length >= OF_FLAP * panel.boundary.length
        ]
    return shapely.union_all(found) if found else MultiPolygon()


def _printed_box(page: Page) -> Box:
    plates = page.plates(50)
    inked: NDArray[np.bool_] = np.asarray((plates.ink >= INKED).any(0))
    if not inked.any():
        raise NotMeasured("nothing is printed on the one-up", "give the artwork of the one-up as the first file")
    return plates.box_of(inked)


def laid_on(version: PrintedArt, one_up: PrintedArt) -> PrintedArt | None:
    """A version in the frame of the one-up; None where it cannot be told how they lie on each other.

    The cut of one lies on that of the other, turned by quarters; or the pages are of one size, and so is the frame.
    """
    if version.as_cut is None or one_up.as_cut is None:
        if not _same_page(version.page, one_up.page):
            return None
        return replace(one_up, name=version.name, page=version.page, names=version.names, _turned={})
    move = next(moves(version.as_cut, one_up.as_cut), None)
    if move is None:
        return None
    if quarters_of(move.matrix) == 0:
        return version
    matrix = move.matrix
    width, height = version.size_mm
    size = (height, width) if quarters_of(matrix) % 2 else (width, height)
    cut, creases, flaps = (through(matrix, shape) for shape in (version.cut, version.creases, version.flaps))
    to_frame = times(version.to_frame, matrix)
    return replace(version, to_frame=to_frame, size_mm=size, cut=cut, creases=creases, flaps=flaps, _turned={})


def _same_page(one: Page, other: Page) -> bool:
    return abs(one.width_mm - other.width_mm) <= SAME_PAGE_MM and abs(one.height_mm - other.height_mm) <= SAME_PAGE_MM

"""A sheet as the rules on marks look at it: the tool's own with its own marks, or one from outside with those found."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, Literal

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import box_through, inverse
from preflight.errors import NotMeasured
from preflight.findings import Known, Place
from preflight.inputs.press import InkKeys
from preflight.job import Job, once_a_job
from preflight.measures import needs
from preflight.measures.marks.find_marks import MarkedPage, find_marks
from preflight.quantities import Size
from preflight.setup.layout.sheet_layout import through
from preflight.setup.press_sheet.press_sheet import Mark, PressSheet

BLEED_MM: Final = 3.0
"""How far from the cut the artwork of a blank goes on, on a sheet from outside: the usual bleed."""
SOLID: Final = 0.95
CLEAN: Final = 0.05
"""Tint of other inks, up to which a patch shows one ink alone."""
UNDERNEATH: Final = ("white", "primer", "varnish")
"""Kinds that may lie under or over a patch of another ink."""


@dataclass(frozen=True)
class SheetWithMarks:
    """A sheet, its blanks and marks, in the sheet's frame."""

    size: Size
    cuts: tuple[tuple[int, Polygon], ...]
    """Number and inside of the cut of each blank."""
    marks: tuple[Mark, ...]
    inks: tuple[tuple[str, str], ...]
    """Name and kind of each separation that prints from a unit, in the order of the plates."""
    operator_side: Literal["left", "right"]
    known: Known
    """How it is known that the page is a sheet, and where its blanks are."""
    frame_known: Known
    """How it is known which of its edges is which."""
    page: MarkedPage | None = None
    """None of a sheet that the tool lays out, which has no page."""

    def of(self, *kinds: str) -> list[Mark]:
        """Marks of some kinds."""
        return [mark for mark in self.marks if mark.kind in kinds]

    @cached_property
    def work(self) -> BaseGeometry:
        """All blanks."""
        return shapely.union_all([cut for _, cut in self.cuts])

    def places(self, shapes: Iterable[BaseGeometry]) -> tuple[Place, ...]:
        """Where shapes lie on the page; none of a sheet that has no page."""
        if self.page is None:
            return ()
        back = inverse(self.page.to_sheet)
        return tuple(Place(box_through(back, shape.bounds), self.page.job.page.number) for shape in shapes)

    def where(self, shape: BaseGeometry) -> str:
        """Where the middle of a shape lies, in words."""
        x0, y0, x1, y1 = shape.bounds
        x = (x0 + x1) / 2
        across = x if self.operator_side == "left" else self.size.across_mm - x
        return f"{across:.0f} mm from the operator side and {(y0 + y1) / 2:.0f} mm from the gripper edge"

    def side_of(self, shape: BaseGeometry) -> Literal["operator", "drive"]:
        """The side of the press that a shape is nearer to."""
        at_left = shapely.centroid(shape).x < self.size.across_mm / 2
        return "operator" if at_left == (self.operator_side == "left") else "drive"

    def is_solid(self, patch: Mark, ink: str) -> bool:
        """Whether a patch shows an ink solid and by itself; white, primer and varnish may lie under or over it."""
        kinds = dict(self.inks)
        other = [tint for name, tint in patch.inks.items() if name != ink and kinds.get(name) not in UNDERNEATH]
        return patch.inks.get(ink, 0.0) >= SOLID and max(other, default=0.0) <= CLEAN

    def zones(self, keys: InkKeys) -> list[tuple[int, float, float]]:
        """Number (as the press counts), left and right of each ink zone, its middle on that of the press."""
        start = self.size.across_mm / 2 - keys.count * keys.pitch / 2
        from_left = ((keys.first or "operator") == "operator") == (self.operator_side == "left")
        return [
            (at + 1 if from_left else keys.count - at, start + at * keys.pitch, start + (at + 1) * keys.pitch)
            for at in range(keys.count)
        ]


def sheet_with_marks(job: Job, bleed_mm: float) -> SheetWithMarks | None:
    """The sheet of a job; None on a page whose sheet another page speaks for, as on that of its back.

    Args:
        job: a page that shows a sheet, or a one-up that is laid on one.
        bleed_mm: how far artwork of the blanks is carried on past the cut, on a sheet from outside.

    Raises:
        NotMeasured: the sheet, its blanks or its plates are not known.
    """
    sheet = job.press_sheet
    if sheet is None:
        return None
    return _laid_out(job, sheet) if job.artwork_is == "one-up" else _from_outside(job, bleed_mm)


@once_a_job
def _from_outside(job: Job, bleed_mm: float) -> SheetWithMarks:
    page = MarkedPage.of(job, bleed_mm)
    known: Known = "assumed" if "assumed" in (job.artwork_is_known, needs.die_known(job)) else "read"
    edge_stated = job.ticket is not None and job.ticket.gripper_edge is not None
    return SheetWithMarks(
        page.size,
        tuple((blank.number, through(page.to_sheet, blank.outline)) for blank in job.die.blanks),
        find_marks(job, bleed_mm),
        tuple(inks_from_units(job)),
        (job.press.operator_side if job.press else None) or "left",  # type: ignore[arg-type]
        known,
        known if edge_stated else "assumed",
        page,
    )


def _laid_out(job: Job, sheet: PressSheet) -> SheetWithMarks:
    known: Known = "assumed" if needs.die_known(job) == "assumed" else "read"
    return SheetWithMarks(
        sheet.size,
        tuple((blank.number, blank.outline) for blank in sheet.blanks),
        sheet.marks,
        tuple((name, sheet.kinds[name]) for name in sheet.marked_for),
        sheet.operator_side,
        known,
        known,
    )


# Bringing sheet and marks together ---------------------------------------------------------------------------------


def inks_from_units(job: Job) -> list[tuple[str, str]]:
    """Name and kind of what prints in the blanks of a page from a unit, so all but what is coated.

    Raises:
        NotMeasured: the plates could not be drawn.
    """
    coated = job.ticket.coating.separation if job.ticket and job.ticket.coating else None
    return [
        (ink.separation.name, ink.separation.kind)
        for ink in needs.inks(job)
        if ink.prints and ink.in_file and ink.separation.on_plate and ink.separation.name != coated
    ]


def with_own_marks(sheet: PressSheet, fronts: Sequence[Job]) -> PressSheet:
    """A sheet that is stepped with the tool's own marks, and in ``marks_left_out`` those that there was no room for.

    Args:
        sheet: without marks.
        fronts: the pages of its printed face, one for each version; the back gets no marks.

    Raises:
        NotMeasured: the plates could not be drawn.
    """
    from preflight.setup.press_sheet.own_marks import MarkedSheet, colour_bar_edge, own_marks

    press, ticket = fronts[0].press, fronts[0].ticket
    inks = {name: None for job in fronts for name, _ in inks_from_units(job)}
    marked_for = tuple(name for name in sheet.kinds if name in inks)
    if press is None:
        return replace(sheet, marked_for=marked_for)
    own = own_marks(
        MarkedSheet(
            sheet.size,
            tuple(blank.outline for blank in sheet.blanks),
            tuple(piece.clip for piece in sheet.pieces if piece.side == "front"),
            marked_for,
            press,
            colour_bar_edge(press, ticket.layout.bar if ticket else None),
            _seen_well(sheet, marked_for),
        )
    )
    return replace(sheet, marks=own.marks, marked_for=marked_for, marks_left_out=own.notes)


def _seen_well(sheet: PressSheet, inks: Sequence[str]) -> str:
    """Black, else an ink that is neither clear nor white nor yellow."""
    dark = [ink for ink in inks if sheet.kinds[ink] in ("process", "spot", "metallic") and ink != "Yellow"]
    return "Black" if "Black" in dark or not dark else dark[0]


def with_found_marks(sheet: PressSheet, job: Job) -> PressSheet:
    """A sheet from outside with the marks that are found on the page of its printed face, where they can be told."""
    try:
        found = _from_outside(job, BLEED_MM)
    except NotMeasured:
        return sheet
    return replace(sheet, marks=found.marks, marked_for=tuple(name for name, _ in found.inks))

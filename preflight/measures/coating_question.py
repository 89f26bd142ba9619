"""What the ticket and the press profile ask of the coating plate, and the plan of it for a sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely.geometry.base import BaseGeometry

from preflight.errors import NotMeasured
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job import Job, once_a_job
from preflight.measures import needs
from preflight.measures.sheet import printable_of
from preflight.quantities import Size

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.press_sheet.clear_areas import CoatingPlan
    from preflight.setup.press_sheet.press_sheet import PressSheet


def coating_plan_of(sheet: PressSheet, ticket: Ticket | None, press: Press | None) -> CoatingPlan | None:
    """The coating plate of a sheet; None where nothing is coated, or all of it.

    Raises:
        NotMeasured: the ticket does not say what is coated.
    """
    from preflight.setup.press_sheet.clear_areas import CoatAsked, coating_plan

    if ticket is not None and ticket.nothing_coated:
        return None
    if ticket is None or ticket.coating is None:
        helps = "coating: on the ticket, with kind, area and clear"
        raise NotMeasured("the ticket does not say what is coated", helps, "ticket")
    coating = ticket.coating
    if coating.separation is None and coating.clear is None:
        because = "the coating is laid overall, and the ticket does not say what it leaves bare"
        raise NotMeasured(because, "coating: clear on the ticket, with the areas left bare", "ticket")
    if not coating.is_patterned:
        return None
    plate = press.coating_plate if press is not None else None
    asked = CoatAsked(
        coating.clear,
        _name_in(sheet, coating.separation),
        plate.choke if plate else None,
        plate.seam if plate else None,
        plate is not None and plate.gutters == "bare",
    )
    return coating_plan(sheet, asked, may_be_coated(sheet.size, press))


def may_be_coated(size: Size, press: Press | None) -> BaseGeometry:
    """What the press can print of a sheet, in the sheet's frame; all of it where nobody says."""
    try:
        sides, start, end = printable_of(press, size) if press is not None else (0.0, 0.0, size.along_mm)
    except NotMeasured:
        sides, start, end = 0.0, 0.0, size.along_mm
    return shapely.box(sides, start, size.across_mm - sides, end)


def _name_in(sheet: PressSheet, separation: str | None) -> str | None:
    """The separation as the plates have it."""
    from preflight.setup.unit_plan import same_name

    if separation is None:
        return None
    names = [name for piece in sheet.pieces for name in piece.plates.names]
    return next((name for name in names if same_name(name, separation)), separation)


@once_a_job
def plan_of_job(job: Job) -> tuple[PressSheet, CoatingPlan] | None:
    """The sheet of a job with its coating plate; None where another page speaks for it or nothing is left bare.

    Raises:
        NotMeasured: the sheet, its plates or the coating are not known, or no area of those that stay bare is.
    """
    if job.ticket is not None and job.ticket.nothing_coated:
        return None
    sheet = job.press_sheet
    if sheet is None:
        return None
    needs.die(job)
    plan = coating_plan_of(sheet, job.ticket, job.press)
    if plan is None:
        return None
    if not plan.areas:
        raise NotMeasured("; ".join(plan.lacks) or "no clear area is known", "areas: on the ticket", "ticket")
    return sheet, plan

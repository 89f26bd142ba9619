"""The clear areas of every blank and the coating plate, as plain data: x from the operator side, y from the gripper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from preflight.crew.planned_job import PlannedJob
from preflight.errors import NotMeasured
from preflight.measures.coating_question import coating_plan_of
from preflight.setup.press_sheet.clear_areas import CoatingPlan
from preflight.setup.press_sheet.press_sheet import PressSheet

Document = dict[str, Any]


@dataclass(frozen=True)
class ClearAreasPart:
    """What the document says of them."""

    areas: list[Document] | None
    """None where they are not known; empty where nothing is left bare."""
    plate: Document | None
    """None where no coater lays a pattern."""
    not_checked: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()


def clear_areas_part(job: PlannedJob) -> ClearAreasPart:
    """``clear_areas`` and ``coating_plate`` of the document, what could not be told and what was assumed."""
    if job.sheet is None:
        return ClearAreasPart(None, None)
    try:
        plan = coating_plan(job)
    except NotMeasured as reason:
        helps = f" Needed: {reason.would_help}." if reason.would_help else ""
        return ClearAreasPart(None, None, (f"Clear areas: {reason}.{helps}",))
    if plan is None:
        return ClearAreasPart([], None)
    areas = [
        {
            "blank": area.blank,
            "is": area.kind,
            "polygon_mm": _polygon(job.sheet, area.shape),
            "known": area.known,
        }
        for area in plan.areas
    ]
    guessed = dict.fromkeys(area.kind for area in plan.areas if area.known == "assumed")
    assumed = [f"Where the {kind} lies is read off the lines of the die." for kind in guessed]
    return ClearAreasPart(areas, _plate_part(job, plan), tuple(_untold(job, plan)), tuple(assumed))


def coating_plan(job: PlannedJob) -> CoatingPlan | None:
    """The coating plate of a planned job; None where nothing is coated, all of it is, or no coater can lay it.

    Raises:
        NotMeasured: the ticket does not say what is coated or what stays bare.
    """
    if job.sheet is None or (job.press is not None and not job.press.coaters):
        return None
    return coating_plan_of(job.sheet, job.ticket, job.press)


def _plate_part(job: PlannedJob, plan: CoatingPlan) -> Document:
    plate = job.press.coating_plate if job.press else None
    assert job.sheet is not None
    return {
        "lays": "overall" if plan.asked.separation is None else "separation",
        "separation": plan.asked.separation,
        "choke_mm": plan.asked.choke_mm,
        "seam_mm": plan.asked.seam_mm,
        "stretch_percent": plate.stretch if plate else None,
        "gutters": "bare" if plan.asked.bare_gutters else "coated",
        "coated_share": round(float(plan.coat.area) / (job.sheet.size.across_mm * job.sheet.size.along_mm), 4),
        "bare": [
            {"is": list(kinds), "blanks": list(blanks), "polygon_mm": _polygon(job.sheet, bare)}
            for bare in plan.bare
            for kinds, blanks in [plan.kinds_in(bare)]
        ],
    }


def _untold(job: PlannedJob, plan: CoatingPlan) -> list[str]:
    told = [f"Clear areas: {lack}." for lack in plan.lacks]
    plate = job.press.coating_plate if job.press else None
    missing = [key for key in ("choke", "stretch") if plate is None or getattr(plate, key) is None]
    drawn = {"choke": "areas are drawn as they are", "stretch": "the plate is drawn 1:1"}
    told += [
        f"Coating plate: the press profile does not say coating_plate: {key}, and {drawn[key]}." for key in missing
    ]
    return told


def _polygon(sheet: PressSheet, shape: BaseGeometry) -> list[list[float]]:
    """Corners of its outer ring, the first one not repeated."""
    points = shapely.get_coordinates(shapely.get_exterior_ring(shape))[:-1]
    return [[round(sheet.from_operator(float(x)), 3), round(float(y), 3)] for x, y in points]

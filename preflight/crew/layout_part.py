"""How the blanks lie on the sheet, as plain data: places count from the operator side and the gripper edge."""

from __future__ import annotations

from typing import Any

from preflight.crew.planned_job import PlannedJob
from preflight.crew.run_question import sheet_of, ups_of
from preflight.setup.layout.sheet_layout import Alternative, SheetLayout
from preflight.setup.press_sheet.press_sheet import PressSheet, SheetBlank

Document = dict[str, Any]


def layout_part(job: PlannedJob) -> Document:
    """The part ``layout`` of the set-up; where there is no sheet, its size and number-up as far as they are known."""
    facts, sheet = job.pages[0].facts, job.sheet
    if sheet is None:
        size = sheet_of(facts, job.ticket)
        mm = None if size is None else [size.across_mm, size.along_mm]
        told: Document = {"sheet_mm": mm, "ups": ups_of(facts, job.ticket)}
        return told | ({"not_laid_out": job.not_laid_out} if job.not_laid_out else {})
    layout = sheet.layout
    blanks = [_blank_part(sheet, blank) for blank in sheet.blanks]
    return {
        "sheet_mm": [round(sheet.size.across_mm, 2), round(sheet.size.along_mm, 2)],
        "ups": len(blanks),
        "is_from": sheet.is_from,
        "operator_side": sheet.operator_side,
        "operator_assumed": sheet.operator_assumed,
        "blanks": blanks,
        "used_share": round(used_share(sheet), 4),
        "left_out": [*sheet.left_out, *sheet.marks_left_out],
        **(_of_layout(layout) if layout is not None else {"pattern": None}),
    }


def used_share(sheet: PressSheet) -> float:
    """Area of the blanks over that of the sheet, 0..1."""
    area = sum(float(blank.outline.area) for blank in sheet.blanks)
    return min(1.0, area / (sheet.size.across_mm * sheet.size.along_mm))


def _blank_part(sheet: PressSheet, blank: SheetBlank) -> Document:
    x0, y0, x1, _ = blank.outline.bounds
    nearest = min(sheet.from_operator(x0), sheet.from_operator(x1))
    return {
        "number": blank.number,
        "x_mm": round(nearest, 3),
        "y_mm": round(y0, 3),
        "turn_deg": None if blank.turn_deg is None else int(blank.turn_deg),
        "version": blank.version,
    }


def _of_layout(layout: SheetLayout) -> Document:
    gutters = layout.gutters_there_mm
    return {
        "pattern": layout.pattern,
        "grain": layout.grain,
        "gutters_mm": None if gutters is None else list(gutters),
        "because": layout.because,
        "why_not_more": layout.why_not_more or None,
        "alternatives": [_alternative_part(other) for other in layout.alternatives],
        "notes": list(layout.notes),
    }


def _alternative_part(other: Alternative) -> Document:
    layout = other.layout
    return {
        "sheet_mm": [round(layout.sheet.across_mm, 2), round(layout.sheet.along_mm, 2)],
        "ups": layout.ups,
        "pattern": layout.pattern,
        "used_share": round(layout.used_share, 4),
        "says": other.says,
    }

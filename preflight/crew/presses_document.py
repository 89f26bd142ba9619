"""The document ``preflight-presses/1``: what each press would take for a job, the best first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

from preflight.crew.layout_part import used_share
from preflight.crew.planned_job import PlannedJob
from preflight.crew.run_question import blanks_mm2, sheet_of, ups_of
from preflight.crew.setup_document import Made, artwork_part, made_part, ticket_part
from preflight.findings import Verdict
from preflight.setup.press_plan import PressPlan

Document = dict[str, Any]

FORMAT: Final = "preflight-presses/1"


def build_presses_document(planned: Sequence[tuple[str, PlannedJob]], made: Made) -> Document:
    """The document.

    Args:
        planned: for each press the name of its file and the job on it; at least one.
        made: when and by what.
    """
    entries = [_entry(file, job) for file, job in planned]
    first = planned[0][1]
    return {
        "format": FORMAT,
        "ticket": ticket_part(first.ticket, made.ticket_file),
        "made": made_part(made),
        "artwork": artwork_part(first),
        "presses": sorted(entries, key=_rank),
    }


def _entry(file: str, job: PlannedJob) -> Document:
    reasons = [{"rule": f.rule, "says": f.says} for f in job.findings if f.verdict is Verdict.FAIL and not f.trial]
    plan, run = job.plan, job.run.run if job.run else None
    if plan is not None and not plan.possible and not reasons:
        reasons += [{"rule": conflict.demand, "says": conflict.says} for conflict in plan.conflict]
    if plan is None:
        reasons.append({"rule": "", "says": f"The units could not be planned: {job.unplanned}."})
    return {
        "press": job.press.name if job.press else file,
        "file": file,
        "fits": plan is not None and plan.possible and not reasons,
        "reasons": reasons,
        "passes": _passes(plan),
        "wash_ups": len(plan.wash_ups) if plan and job.question and job.question.before else None,
        "sheets": run.sheets_gross if run else None,
        "used_share": _used_share(job),
        "hours": None if run is None or run.hours is None else round(run.hours, 2),
    }


def _passes(plan: PressPlan | None) -> int | None:
    """How often the sheet goes through; two also where a cheaper way out than that is there. None: no order at all."""
    if plan is None:
        return None
    by_split = 2 if any(way.change == "two-passes" for way in plan.ways_out) else None
    return len(plan.passes) or by_split


def _used_share(job: PlannedJob) -> float | None:
    """Area of the blanks over that of the sheet, 0..1."""
    if job.sheet is not None:
        return round(used_share(job.sheet), 3)
    facts = job.pages[0].facts
    sheet, blanks = sheet_of(facts, job.ticket), blanks_mm2(facts, ups_of(facts, job.ticket))
    if sheet is None or blanks is None:
        return None
    return round(blanks / (sheet.across_mm * sheet.along_mm), 3)


def _rank(entry: Document) -> tuple[bool, float, float, float, str]:
    """Presses that fit, then fewer passes, hours and wash-ups; what is not known comes behind."""
    known = [math.inf if entry[key] is None else float(entry[key]) for key in ("passes", "hours", "wash_ups")]
    return (not entry["fits"], *known, entry["press"])

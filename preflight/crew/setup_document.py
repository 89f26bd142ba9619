"""The document ``preflight-setup/1``: everything that the set-up sheet says, as plain data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from preflight import __version__
from preflight.crew.clear_areas_part import clear_areas_part
from preflight.crew.ink_keys_part import ink_keys_part
from preflight.crew.layout_part import layout_part
from preflight.crew.plan_part import plan_part
from preflight.crew.planned_job import PlannedJob
from preflight.crew.run_part import changes_part, materials_part, run_part
from preflight.crew.run_question import sheet_of
from preflight.crew.watch_list import check_first, queries, watch_list
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.quantities import Size

Document = dict[str, Any]

FORMAT: Final = "preflight-setup/1"
PLANNERS: Final = (
    *("line-clearance-missing", "inks-unfit-for-goods", "grain-against-creases", "ink-unfit-for-board"),
    *(
        "ink-unfit-for-coating",
        "pile-too-heavy",
        "wash-up-awkward",
        "sheet-over-die-cutter",
        "medicine-versions-together",
    ),
)
"""Rules whose answer a planner waits for: what one of them lacks is said on the sheet, whatever the verdict is."""


@dataclass(frozen=True)
class Made:
    """When and by what the plan was made."""

    when: datetime
    rules: tuple[str, ...]
    """Names of the rule files, the house rules first."""
    rules_version: str
    """First figures of a digest of all rules and trade tables."""
    press_file: str = ""
    ticket_file: str = ""
    tool: str = f"preflight {__version__}"


def build_setup_document(
    job: PlannedJob, made: Made, sentence: str, looks: Mapping[str, tuple[int, int, int]]
) -> Document:
    """The document.

    Args:
        job: judged and, where that was possible, planned.
        made: when and by what.
        sentence: the verdict as one reads it aloud.
        looks: of separations on a screen, sRGB.
    """
    run, first, ticket = job.run, job.pages[0].facts, job.ticket
    sheet = job.sheet.size if job.sheet else sheet_of(first, ticket)
    ink_keys, no_keys, keys_assumed = ink_keys_part(job)
    clear = clear_areas_part(job)
    return {
        "format": FORMAT,
        "verdict": job.verdict.word,
        "sentence": sentence,
        "run_it": job.may_run,
        "why_not": job.why_not,
        "about_units": job.about_units,
        "ticket": ticket_part(ticket, made.ticket_file),
        "press": _press_part(job.press, made.press_file),
        "made": made_part(made),
        "artwork": artwork_part(job),
        "sheet": None if sheet is None else {"mm": _size(sheet), "because": _sheet_because(job)},
        "board": _board_part(ticket),
        "settings": _settings_part(ticket),
        "plan": plan_part(job, looks),
        "changes": changes_part(run.changes) | {"at_least": _washing_untold(job)} if run else None,
        "layout": layout_part(job),
        "ink_keys": ink_keys,
        "clear_areas": clear.areas,
        "coating_plate": clear.plate,
        "materials": materials_part(run.materials) if run else None,
        "run": run_part(run.run) if run else None,
        "queries": queries(job),
        "watch": watch_list(job),
        "check_first": check_first(job),
        "cautions": [caution.says for caution in run.cautions] + [run.cautions_defer_to] if run else [],
        "findings": [
            {"number": number, "verdict": finding.verdict.word, "rule": finding.rule, "says": finding.says}
            for number, finding in enumerate((f for f in job.findings if not f.trial), 1)
        ],
        "not_checked": list(dict.fromkeys([*not_checked_part(job), *no_keys, *clear.not_checked])),
        "assumed": list(dict.fromkeys([*_of_pages(job), *_of_sheet(job), *(job.plan.assumed if job.plan else ()),
                                       *(run.assumed if run else ()), *keys_assumed, *clear.assumed])),
    }  # fmt: skip


def ticket_part(ticket: Ticket | None, file: str) -> Document | None:
    """Number, revision and title of the job; None without a ticket."""
    if ticket is None:
        return None
    return {"number": ticket.ticket, "revision": ticket.revision, "title": ticket.title, "file": file}


def made_part(made: Made) -> Document:
    """When and by what it was made."""
    return {
        "when": made.when.isoformat(timespec="seconds"),
        "tool": made.tool,
        "rules": list(made.rules),
        "rules_version": made.rules_version,
    }


def artwork_part(job: PlannedJob) -> list[Document]:
    """Every file of the job with its digest, side and version."""
    files: dict[str, Document] = {}
    for page in job.pages:
        file, entry = page.facts.file, page.entry
        files.setdefault(
            file.sha256,
            {
                "file": file.name,
                "sha256": file.sha256,
                "side": entry.side if entry else None,
                "version": entry.version if entry else None,
            },
        )
    return list(files.values())


def not_checked_part(job: PlannedJob) -> list[str]:
    """What the check left open and what could not be planned, in sentences, each with the key that it wants."""
    told = [f"The units: {job.unplanned}."] if job.unplanned else []
    told += [f"The layout: {job.not_laid_out}."] if job.not_laid_out else []
    told += [f"The sheet: {words}." for words in (*job.sheet.left_out, *job.sheet.marks_left_out)] if job.sheet else []
    for page in job.pages:
        for entry in page.judgement.not_checked:
            if entry.needed or (entry.rule in PLANNERS and entry.want_of in ("ticket", "press")):
                helps = f" Needed: {entry.would_help}." if entry.would_help else ""
                told.append(f"{entry.rule}: {entry.because}.{helps}")
    told += [*(job.plan.not_checked if job.plan else ()), *(job.run.not_checked if job.run else ())]
    return list(dict.fromkeys(told))


def _washing_untold(job: PlannedJob) -> bool:
    """Whether the change may take longer, because what is on the press is not known."""
    return job.question is None or job.question.before is None


def _of_sheet(job: PlannedJob) -> list[str]:
    if job.sheet is None:
        return []
    side = "The operator side is assumed to be the left of the printed face, gripper edge down (operator_side)."
    return [
        *([side] if job.sheet.operator_assumed else []),
        *(job.sheet.layout.assumed if job.sheet.layout else ()),
    ]


def _of_pages(job: PlannedJob) -> list[str]:
    return [said for page in job.pages for said in page.facts.assumed]


def _press_part(press: Press | None, file: str) -> Document | None:
    if press is None:
        return None
    return {
        "name": press.name,
        "file": file,
        "operator_side": press.operator_side,
        "side_lay": press.side_lay,
        "gripper_mm": press.edges.gripper,
    }


def _sheet_because(job: PlannedJob) -> str:
    layout = job.sheet.layout if job.sheet else None
    if layout is not None and layout.sheet_asked is not None:
        return f"as {layout.because} is drawn; the ticket says {layout.sheet_asked}"
    if job.ticket is not None and job.ticket.sheet is not None:
        return "stated on the ticket"
    laid_out = job.sheet is not None and job.sheet.layout is not None
    return "the layout's own" if laid_out else "the size of the page"


def _board_part(ticket: Ticket | None) -> Document | None:
    board = ticket.board if ticket else None
    if board is None or not board.model_fields_set:
        return None
    return {
        "grade": board.grade,
        "caliper_mm": board.caliper,
        "weight_gsm": board.weight,
        "grain": board.grain,
        "grain_on_blank": board.grain_on_blank,
        "surface": board.surface,
    }


def _settings_part(ticket: Ticket | None) -> Document:
    return {
        "powder": ticket.powder if ticket else None,
        "coat_weight_gsm": ticket.coat_weight if ticket else None,
        "anilox": ticket.anilox if ticket else None,
    }


def _size(size: Size) -> list[float]:
    return [round(size.across_mm, 2), round(size.along_mm, 2)]

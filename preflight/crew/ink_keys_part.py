"""The ink keys as the set-up document has them: covers, the plant's openings, which own marks are in them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from preflight.crew.planned_job import PlannedJob
from preflight.inputs.key_curves_table import load_key_curves
from preflight.inputs.press import InkKeys, Press
from preflight.inputs.ticket import Ticket
from preflight.setup.press_plan import OnUnit, PressPlan
from preflight.setup.press_sheet.press_sheet import PressSheet

Document = dict[str, Any]
VERSIONS_APART: Final = (
    "Ink keys and press files: versions are run one after the other and each has its own; set up each by itself, "
    "or put them on one sheet (layout: versions: together)."
)


def ink_keys_part(job: PlannedJob) -> tuple[Document | None, list[str], list[str]]:
    """``ink_keys`` of the document or None, what could not be told, and what was assumed, in sentences.

    Covers and openings count from the operator side, whatever the press's own numbering (``first``) is.
    """
    if job.press is None:
        return None, [], []
    if job.sheet is not None and job.sheet.versions_apart:
        return None, [VERSIONS_APART], []
    keys = job.press.ink_keys
    if keys is None:
        return None, ["Ink keys: the press profile does not say ink_keys. Needed: ink_keys: {count, pitch} in it."], []
    if job.sheet is None:
        because = f" ({job.not_laid_out})" if job.not_laid_out else ""
        return (
            None,
            [f"Ink keys: how the blanks lie on the sheet is not known{because}. Needed: layout: on the ticket."],
            [],
        )
    return _part(job.sheet, keys, job.press, job.ticket, job.plan)


def _part(
    sheet: PressSheet, keys: InkKeys, press: Press, ticket: Ticket | None, plan: PressPlan | None
) -> tuple[Document, list[str], list[str]]:
    from preflight.setup.ink_keys.covers import key_covers  # only a sheet that is laid out has covers
    from preflight.setup.ink_keys.openings import openings

    covers = key_covers(sheet, keys, ticket.ink_of if ticket else str, _on_coaters(ticket, plan))
    units = _printing(plan)
    board = ticket.board.grade if ticket else None
    opened = openings(covers, units, load_key_curves(), press.name, board)
    overall = [unit.separation for unit in units if unit.overall and unit.separation is not None]
    by_name = covers.by_name | dict.fromkeys(overall, tuple(covers.strips.on_sheet.tolist()))
    part = {
        "count": keys.count,
        "pitch_mm": keys.pitch,
        "first": keys.first,
        "cover": {name: [round(each, 4) for each in cover] for name, cover in by_name.items()},
        "opening_percent": _opening_part(opened.by_name) if opened.any_curve else None,
        "own_marks": [{"mark": own.kind, "count": own.count, "inks": list(own.inks)} for own in covers.own_marks],
    }
    return part, list(opened.not_checked), list(_assumed(sheet, keys, plan, overall))


def _opening_part(by_name: dict[str, tuple[float | None, ...] | None]) -> dict[str, list[float | None] | None]:
    return {name: None if opening is None else list(opening) for name, opening in by_name.items()}


def _on_coaters(ticket: Ticket | None, plan: PressPlan | None) -> frozenset[str]:
    """Separations that a coater lays."""
    stated = ticket.coating.separation if ticket and ticket.coating else None
    planned = [coater.separation for each in (plan.passes if plan else ()) for coater in each.coaters]
    return frozenset(name for name in (stated, *planned) if name is not None)


def _printing(plan: PressPlan | None) -> list[OnUnit]:
    return [unit for each in (plan.passes if plan else ()) for unit in each.plates]


def _assumed(sheet: PressSheet, keys: InkKeys, plan: PressPlan | None, overall: Sequence[str]) -> list[str]:
    told = list[str]()
    if keys.first is None:
        told.append("The press numbers its ink keys from the operator side: the profile does not say ink_keys: first.")
    if sheet.operator_assumed:
        told.append("The operator side is on the left of the printed face: the profile does not say operator_side.")
    told += [f"{name} covers the whole sheet: it is printed all over and shown on no page." for name in overall]
    apart = plan is not None and len(plan.passes) > 1
    if apart and any(piece.side == "back" for piece in sheet.pieces):
        told.append(
            "Keys of the back count as those of the front do: a pile that is turned side to side between the passes "
            "has them the other way round."
        )
    return told

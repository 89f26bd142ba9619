"""Run, changeover and materials as the set-up document has them; figures rounded to what anybody can set."""

from __future__ import annotations

from typing import Any

from preflight.setup.changeover import Changes
from preflight.setup.materials import Materials
from preflight.setup.piles import Pile
from preflight.setup.pulls import Pull
from preflight.setup.run_plan import Run

Document = dict[str, Any]


def run_part(run: Run) -> Document:
    """``run`` of the document; None is what could not be worked out."""
    return {
        "sheets_net": run.sheets_net,
        "sheets_make_ready": run.sheets_make_ready,
        "sheets_running": run.sheets_running,
        "sheets_gross": run.sheets_gross,
        "hours": _rounded(run.hours, 2),
        "hours_change": _rounded(run.hours_change, 2),
        "hours_running": _rounded(run.hours_running, 2),
        "speed_sheets_h": _rounded(run.speed_sheets_h, 0),
        "speed_because": run.speed_because,
        "feeder_piles": [_pile(pile) for pile in run.feeder_piles],
        "delivery_piles": [_pile(pile) for pile in run.delivery_piles],
        "pile_cap_mm": run.pile_cap_mm,
        "pile_cap_because": run.pile_cap_because,
        "pile_boards": run.pile_boards,
        "pile_change_minutes": _rounded(run.pile_change_min, 1),
        "next_operation_after_h": run.next_operation_after_h,
        "next_operation_because": run.next_operation_says,
        "pulls": [_pull(pull) for pull in run.pulls],
        "versions": [
            {
                "version": one.version,
                "cartons": one.cartons,
                "sheets_net": one.sheets_net,
                "sheets_gross": one.sheets_gross,
            }
            for one in run.versions
        ],
    }


def changes_part(changes: Changes) -> Document:
    """``changes`` of the document: bars of the changeover, one pass after the other."""
    return {
        "steps": [
            {
                "step": step.step,
                "unit": step.unit,
                "coater": step.coater,
                "pass": step.pass_number,
                "minutes": _rounded(step.minutes, 1),
                "hands": step.hands,
                "start_minutes": _rounded(step.start_min, 1),
                "at_once_with": list(step.at_once_with),
            }
            for step in changes.steps
        ],
        "minutes": _rounded(changes.minutes, 1) if changes.steps else None,
        "crew": changes.crew,
        "longest_path": [list(path) for path in changes.longest_path],
    }


def materials_part(materials: Materials) -> Document:
    """``materials`` of the document, in kilograms."""
    return {
        "ink_kg": {name: _rounded(kg, 2) for name, kg in materials.ink_kg.items()},
        "coating_kg": _rounded(materials.coating_kg, 1),
        "coatings_kg": {name: _rounded(kg, 1) for name, kg in materials.coatings_kg.items()},
        "board_kg": _rounded(materials.board_kg, 1),
    }


def _pile(pile: Pile) -> Document:
    return {
        "sheets": pile.sheets,
        "height_mm": _rounded(pile.height_mm, 0),
        "mass_kg": _rounded(pile.mass_kg, 0),
        "lots": pile.lots,
        "version": pile.version,
    }


def _pull(pull: Pull) -> Document:
    return {
        "sheet": pull.sheet,
        "for": pull.looked_at,
        "why": pull.why,
        "every": pull.every,
        "until": pull.until,
        "counted_from": pull.counted_from,
        "when": pull.when,
    }


def _rounded(value: float | None, digits: int) -> float | int | None:
    if value is None:
        return None
    shown = round(value, digits)
    return int(shown) if shown == int(shown) else shown

"""A run plan with the keys of setup.json."""

from __future__ import annotations

from dataclasses import asdict

from preflight.setup.changeover import ChangeStep
from preflight.setup.pulls import Pull
from preflight.setup.run_plan import RunPlan

_NOT_THERE = ("not_checked", "assumed")
"""Of parts: they are in the lists of the whole."""


def run_json(plan: RunPlan) -> dict[str, object]:
    """``run``, ``materials``, ``changes``, ``cautions``, ``not_checked`` and ``assumed`` of setup.json."""
    run = {key: value for key, value in asdict(plan.run).items() if key != "pulls"}
    changes = plan.changes
    return {
        "run": {**run, "pulls": [_pull(pull) for pull in plan.run.pulls]},
        "materials": {key: value for key, value in asdict(plan.materials).items() if key not in _NOT_THERE},
        "changes": {
            "steps": [_step(step) for step in changes.steps],
            "minutes": changes.minutes if changes.steps else None,
            "longest_path": [list(path) for path in changes.longest_path],
            "crew": changes.crew,
        },
        "cautions": [asdict(caution) for caution in plan.cautions],
        "cautions_defer_to": plan.cautions_defer_to,
        "not_checked": list(plan.not_checked),
        "assumed": list(plan.assumed),
    }


def _step(step: ChangeStep) -> dict[str, object]:
    """``pass`` and the rest; the key is a word of Python's."""
    values = asdict(step)
    values["pass"] = values.pop("pass_number")
    return values


def _pull(pull: Pull) -> dict[str, object]:
    """``for`` is a word of Python's too."""
    values = asdict(pull)
    return {"sheet": values.pop("sheet"), "for": values.pop("looked_at"), **values}

"""The run of a planned job: sheets, hours, piles, materials, changeover, pulls, cautions. One door, ``plan_run``."""

from __future__ import annotations

from dataclasses import dataclass

from preflight.inputs.drying_table import load_drying_table
from preflight.inputs.run_table import load_run_table
from preflight.setup.cautions import DEFERS_TO, Caution, cautions
from preflight.setup.changeover import Changes, changes
from preflight.setup.materials import Materials, needed_materials
from preflight.setup.next_operation import NextOperation, next_operation
from preflight.setup.piles import Pile, Piles, plan_piles
from preflight.setup.pulls import Pull, plan_pulls
from preflight.setup.run_request import RunRequest
from preflight.setup.run_sheets import RunSheets, VersionRun, run_sheets
from preflight.setup.run_speed import RunSpeed, run_speed
from preflight.setup.wanted import wanted

__all__ = ["Run", "RunPlan", "RunRequest", "plan_run"]


@dataclass(frozen=True)
class Run:
    """``run`` of setup.json; None is what could not be worked out."""

    sheets_net: int | None = None
    sheets_make_ready: int | None = None
    sheets_running: int | None = None
    sheets_gross: int | None = None
    hours: float | None = None
    """Changeover, running and changes of piles; times that are not known are not in it, and are named."""
    hours_change: float | None = None
    hours_running: float | None = None
    speed_sheets_h: float | None = None
    speed_because: str | None = None
    feeder_piles: tuple[Pile, ...] = ()
    delivery_piles: tuple[Pile, ...] = ()
    pile_cap_mm: float | None = None
    """Most that drying allows in the delivery; None where it sets no limit."""
    pile_cap_because: str | None = None
    pile_boards: int = 0
    pile_change_min: float | None = None
    next_operation_after_h: float | None = None
    next_operation_says: str | None = None
    pulls: tuple[Pull, ...] = ()
    versions: tuple[VersionRun, ...] = ()
    """Where several are run one after the other: each with its own sheets and piles."""


@dataclass(frozen=True)
class RunPlan:
    """Everything of a run, as setup.json has it."""

    run: Run
    materials: Materials
    changes: Changes
    cautions: tuple[Caution, ...] = ()
    cautions_defer_to: str = DEFERS_TO
    not_checked: tuple[str, ...] = ()
    """Parts that could not be worked out, each with the key that it wants."""
    assumed: tuple[str, ...] = ()


def plan_run(request: RunRequest) -> RunPlan:
    """Plan the run; what is missing is named in ``not_checked``, and all else comes.

    Raises:
        InvalidInput: rules/run.yaml or rules/drying.yaml is wrong.
    """
    table, rows = load_run_table(), load_drying_table()
    change = changes(request.plan, request.press, table.changeover, request.before)
    sheets = run_sheets(request, table)
    speed = run_speed(request, table)
    apart = [(each.version, each.sheets_gross) for each in sheets.versions]
    piles = plan_piles(request, sheets.gross, table, apart)
    materials = needed_materials(request, sheets.gross, table.materials)
    after = next_operation(request, rows, table.goods)
    pulls, no_pulls = plan_pulls(table.pulls, sheets.net)
    gaps = [gap for part in (change, sheets, speed, piles, materials, after) for gap in part.not_checked]
    if request.food(table.goods) is None:
        gaps.append(wanted("Food contact", "goods: type or contact", "ticket"))
    assumed = [said for part in (change, sheets, piles, materials) for said in part.assumed]
    assumed += _running_words(sheets, change)
    return RunPlan(
        _run(change, sheets, speed, piles, after, pulls),
        materials,
        change,
        cautions(request, change, piles, table.goods, pulled=bool(pulls)),
        not_checked=tuple(dict.fromkeys((*gaps, *no_pulls))),
        assumed=tuple(dict.fromkeys(assumed)),
    )


def _run(
    change: Changes, sheets: RunSheets, speed: RunSpeed, piles: Piles, after: NextOperation, pulls: tuple[Pull, ...]
) -> Run:
    running = _running_h(sheets, speed, change, piles)
    return Run(
        sheets_net=sheets.net,
        sheets_make_ready=sheets.make_ready,
        sheets_running=sheets.running,
        sheets_gross=sheets.gross,
        hours=None if running is None else running + change.minutes / 60,
        hours_change=change.minutes / 60 if change.steps else None,
        hours_running=running,
        speed_sheets_h=speed.sheets_h,
        speed_because=speed.because,
        feeder_piles=piles.feeder,
        delivery_piles=piles.delivery,
        pile_cap_mm=piles.cap.height_mm if piles.cap else None,
        pile_cap_because=piles.cap.because if piles.cap else None,
        pile_boards=piles.boards,
        pile_change_min=piles.change_min,
        next_operation_after_h=after.after_h,
        next_operation_says=after.says,
        pulls=pulls,
        versions=sheets.versions,
    )


def _running_words(sheets: RunSheets, change: Changes) -> tuple[str, ...]:
    """Which sheets the hours of running are for."""
    ready = sum(sheets.waste)
    if not sheets.through or not change.timed_make_ready or not ready:
        return ()
    counted = sum(sheets.through) - ready
    return (
        f"Hours running are those of {counted:,} sheets; the {ready:,} make-ready sheets are run in the minutes of "
        "make-ready, which are part of the change.",
    )


def _running_h(sheets: RunSheets, speed: RunSpeed, change: Changes, piles: Piles) -> float | None:
    """Sheets of every pass at the run's speed; make-ready sheets do not count where their minutes do already."""
    if not sheets.through:
        return None
    counted = sum(sheets.through) - (sum(sheets.waste) if change.timed_make_ready else 0)
    return counted / speed.sheets_h + (piles.change_min or 0.0) / 60

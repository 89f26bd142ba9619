"""How fast a job runs, and why not faster."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from preflight.findings import with_and
from preflight.inputs.run_table import RunTable, SpeedTable
from preflight.setup.run_request import RunRequest
from preflight.setup.wanted import wanted


@dataclass(frozen=True)
class RunSpeed:
    """Sheets an hour."""

    sheets_h: float
    because: str
    not_checked: tuple[str, ...] = ()


def run_speed(request: RunRequest, table: RunTable) -> RunSpeed:
    """The press's top speed or what board runs at, whichever is less, and a share less for what is slow to run."""
    most, why = _board_speed(request.caliper_mm, table.speed)
    top = request.press.top_speed
    if top is not None and top <= most:
        most, why = top, "the press's top speed"
    slow = list(_slow(request, table))
    if slow:
        why = f"{why}, less {table.speed.less:g} % for {' and '.join(slow)}"
        most *= 1 - table.speed.less / 100
    return RunSpeed(most, why, tuple(_left_out(request)))


def heavy_solids(request: RunRequest, table: RunTable) -> tuple[str, ...]:
    """Inks that cover so much of the sheet."""
    names = dict.fromkeys(unit.separation for unit in request.printing if unit.separation is not None)
    return tuple(name for name in names if request.cover.get(name, 0.0) * 100 >= table.heavy_solid)


def _board_speed(caliper_mm: float | None, table: SpeedTable) -> tuple[float, str]:
    if caliper_mm is not None and caliper_mm <= table.light_up_to:
        return table.light_board, "common practice for light board"
    return table.board, "common practice for board"


def _slow(request: RunRequest, table: RunTable) -> Iterator[str]:
    if request.caliper_mm is not None and request.caliper_mm > table.speed.thick_over:
        yield f"a caliper over {table.speed.thick_over:g} mm"
    if request.surface in table.speed.slow_surfaces:
        yield f"{request.surface} board"
    if heavy := heavy_solids(request, table):
        yield f"heavy solids ({', '.join(heavy)})"


def _left_out(request: RunRequest) -> Iterator[str]:
    if request.press.top_speed is None:
        yield wanted("Whether the press is slower than its board", "top_speed", "press profile")
    unknown = {str(unit.separation) for unit in request.printing if not unit.overall} - request.cover.keys()
    if unknown:
        yield f"Whether heavy solids slow the run: not checked for {with_and(sorted(unknown))}; cover not known."
    if request.caliper_mm is None:
        yield wanted("Whether thick board slows the run", "board: caliper", "ticket")
    if request.surface is None:
        yield wanted("Whether the surface slows the run", "board: surface", "ticket")

"""How many sheets a run takes: net, make-ready, running waste."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate, pairwise

from preflight.inputs.run_table import MakeReadySheets, RunningWaste, RunTable
from preflight.setup.press_plan import Pass
from preflight.setup.run_request import RunRequest
from preflight.setup.wanted import wanted

_ROUNDING = 1e-9


@dataclass(frozen=True)
class VersionRun:
    """One of several versions that are run one after the other, whose piles are kept apart."""

    version: str
    cartons: int
    sheets_net: int
    sheets_gross: int
    """With its share of the waste; the first has all of the make-ready."""


@dataclass(frozen=True)
class RunSheets:
    """Sheets of a run; waste is that of all passes."""

    net: int | None = None
    make_ready: int | None = None
    running: int | None = None
    through: tuple[int, ...] = ()
    """Sheets that go through each pass, with its waste and that of the passes after it; none without a plan."""
    waste: tuple[int, ...] = ()
    """Make-ready sheets of each pass."""
    versions: tuple[VersionRun, ...] = ()
    """Empty for one version, and for versions that are combined on a sheet."""
    not_checked: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()

    @property
    def gross(self) -> int | None:
        """All that has to be ordered."""
        if self.net is None or self.make_ready is None or self.running is None:
            return None
        return self.net + self.make_ready + self.running


def run_sheets(request: RunRequest, table: RunTable) -> RunSheets:
    """Sheets of the run, as far as quantity, number-up and plan are known."""
    net = net_sheets(request)
    ready = _make_ready(request, table.make_ready)
    running = running_sheets(net, request.press.waste.running, table.running) if net is not None else None
    times = max(len(request.plan.passes), 1)
    through: tuple[int, ...] = ()
    if net is not None and running is not None and request.plan.passes and ready:
        through = tuple(net + running * (times - at) + sum(ready[at:]) for at in range(len(ready)))
    waste = running * times if running is not None else None
    return RunSheets(
        net,
        sum(ready) if ready else None,
        waste,
        through,
        ready,
        _one_after_the_other(request, sum(ready), waste) if ready and waste is not None else (),
        tuple(_left_out(request, ready)),
        tuple(_taken(request)),
    )


def net_sheets(request: RunRequest) -> int | None:
    """Good sheets: of combined versions as many as the longest of them needs, of single ones the sum of all."""
    shares = _shares(request)
    combined = request.ups_by_version
    if combined and shares and set(shares) <= {name for name, ups in combined.items() if ups}:
        return max(_up(cartons / combined[name]) for name, cartons in shares.items())
    if not request.ups or request.quantity is None and not shares:
        return None
    ups = request.ups
    return sum(_up(cartons / ups) for cartons in (shares.values() if shares else [request.quantity or 0]))


def running_sheets(net: int, share_percent: float | None, table: RunningWaste) -> int:
    """The share of the net sheets that is lost on the run, rounded up.

    Without a share of the profile it falls with the length of the run, common practice of ``rules/run.yaml``.
    """
    if share_percent is None:
        tenfolds = math.log10(max(net, 1) / table.at_sheets)
        share_percent = min(max(table.most - table.less_each_tenfold * tenfolds, table.least), table.most)
    return _up(net * share_percent / 100)


def make_ready_sheets(one: Pass, effects: frozenset[str], table: MakeReadySheets) -> int:
    """By common practice: more with every unit, with a coater, and with inks that are hard to set."""
    special = sum(
        unit.kind in ("metallic", "white") or unit.kind == "varnish" and unit.separation in effects
        for unit in one.plates
    )
    coated = any(coater.coating is not None for coater in one.coaters)
    return table.sheets + table.each_unit * len(one.plates) + table.coater * coated + table.each_special * special


def _make_ready(request: RunRequest, table: MakeReadySheets) -> tuple[int, ...]:
    """Of each pass; empty where neither profile nor plan tells."""
    stated = request.press.waste.make_ready
    if stated is not None:
        return (stated,) * max(len(request.plan.passes), 1)
    return tuple(make_ready_sheets(one, request.effects, table) for one in request.plan.passes)


def _one_after_the_other(request: RunRequest, make_ready: int, waste: int) -> tuple[VersionRun, ...]:
    """Sheets of each version, waste shared by its net sheets; together as many as the run has."""
    shares, ups = _shares(request), request.ups
    if len(shares) < 2 or request.ups_by_version or not ups:
        return ()
    nets = [_up(cartons / ups) for cartons in shares.values()]
    shared = [waste * so_far // max(sum(nets), 1) for so_far in accumulate(nets, initial=0)]
    lost = [after - before for before, after in pairwise(shared)]
    extra = [make_ready, *[0] * (len(nets) - 1)]
    return tuple(
        VersionRun(name, cartons, net, net + gone + first)
        for (name, cartons), net, gone, first in zip(shares.items(), nets, lost, extra, strict=True)
    )


def _shares(request: RunRequest) -> dict[str, int]:
    """Cartons of each version; empty where there are none, or where nobody says how many."""
    names = tuple(dict.fromkeys((*request.versions, *request.ups_by_version, *request.quantities)))
    rest = [name for name in names if name not in request.quantities]
    left = max((request.quantity or 0) - sum(request.quantities.values()), 0)
    if rest and request.quantity is None:
        return {}
    return {name: request.quantities.get(name, _up(left / len(rest)) if rest else 0) for name in names}


def _left_out(request: RunRequest, ready: tuple[int, ...]) -> Iterator[str]:
    shares = _shares(request)
    if request.quantity is None and not shares:
        yield wanted("Net sheets", "quantity", "ticket")
    if net_sheets(request) is None and not request.ups:
        yield wanted("Net sheets", "layout: ups", "ticket")
    if not ready:
        yield wanted("Make-ready sheets (there is no plan of the units)", "waste: make_ready", "press profile")
    if len(shares) > 1 and not request.ups_by_version:
        yield "Plate changes from one version to the next: not checked."


def _taken(request: RunRequest) -> Iterator[str]:
    waste, shares = request.press.waste, _shares(request)
    if waste.make_ready is None and request.plan.passes:
        yield "Make-ready sheets by common practice (rules/run.yaml), since the profile does not give waste.make_ready."
    if waste.running is None and net_sheets(request) is not None:
        yield "Running waste by common practice (rules/run.yaml), since the profile does not give waste.running."
    if len(request.plan.passes) > 1:
        yield "Make-ready and running waste are counted for each pass."
    if len(shares) > 1 and not request.ups_by_version and request.ups:
        yield "Versions are run one after the other, each on all blanks of the sheet."
    total = sum(shares.values())
    if shares and request.quantity is not None and set(shares) == set(request.quantities) and total != request.quantity:
        yield f"The quantities of the versions count ({total} in all), not the ticket's quantity of {request.quantity}."


def _up(value: float) -> int:
    return math.ceil(value - _ROUNDING * max(value, 1))

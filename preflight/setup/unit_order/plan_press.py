"""How a job is set on a press: the door of the room."""

from __future__ import annotations

from preflight.findings import with_and
from preflight.setup.plan_request import PlanRequest
from preflight.setup.press_plan import Pass, PressPlan
from preflight.setup.unit_order.contradictions import fewest_demands
from preflight.setup.unit_order.plan_pass import cheapest_pass
from preflight.setup.unit_order.plates_on_line import PlatesOnLine, is_exact, on_line
from preflight.setup.unit_order.prices import SCALE
from preflight.setup.unit_order.stations import as_pass
from preflight.setup.unit_order.two_passes import best_split
from preflight.setup.unit_order.wash_ups import wash_ups
from preflight.setup.unit_order.ways_out import cheaper_ways, two_passes


def plan_press(request: PlanRequest) -> PressPlan:
    """The best order of the plates with its lamps and coaters, or why there is none and what would help.

    Raises:
        InvalidInput: a trade table is wrong.
    """
    line = on_line(request)
    assumed, not_checked = _assumed(line), _not_checked(line)
    planned = cheapest_pass(line)
    if planned is None:
        return _not_possible(line, assumed, not_checked)
    one = as_pass(planned)
    return PressPlan(
        possible=True,
        proved_best=is_exact(line),
        passes=(one,),
        wash_ups=wash_ups(line, one.units),
        cost=float(planned.order.cost // SCALE),
        assumed=assumed,
        not_checked=not_checked,
    )


def _not_possible(line: PlatesOnLine, assumed: tuple[str, ...], not_checked: tuple[str, ...]) -> PressPlan:
    ways, passes = cheaper_ways(line), tuple[Pass, ...]()
    split = best_split(line)
    if split is not None:
        ways = (*ways, two_passes(line, split))
        if not any(way.saves_pass for way in ways):
            passes = (as_pass(split.first, last_pass=False), as_pass(split.last))
    conflict, proved = fewest_demands(line)
    return PressPlan(
        possible=False,
        proved_best=proved,
        passes=passes,
        wash_ups=wash_ups(line, passes[0].units) if passes else (),
        conflict=conflict,
        ways_out=ways,
        assumed=assumed,
        not_checked=not_checked,
    )


def _assumed(line: PlatesOnLine) -> tuple[str, ...]:
    said = []
    if line.request.ink_system is None and line.job_system is not None:
        said.append(
            f"The inks are taken as {line.job_system}, the only ink system that {line.request.press.name} dries."
        )
    twice = dict.fromkeys(plate.name for plate in line.plates if plate.hit > 1 and plate.name in line.request.aimed)
    for name in twice:
        hits = len(line.named(name))
        said.append(
            f"The aim for {name} is taken as that of its {hits} hits together, as the sheet comes out of the press."
        )
    open_white = [
        plate.name
        for number, plate in enumerate(line.plates)
        if plate.kind in line.table.cure_needed
        and not any(line.cures(lamp.kind, plate) for lamp in line.lamps_between)
        and any(line.overlap_mm2(number, other) > 0 for other in line.others(number))
    ]
    if open_white:
        names = with_and(dict.fromkeys(open_white))
        said.append(
            f"{names} has to be dry enough to print on, and no lamp between units can see to that: please confirm."
        )
    return tuple(said)


def _not_checked(line: PlatesOnLine) -> tuple[str, ...]:
    request, said = line.request, []
    if any(line.system(plate) is None for plate in line.plates):
        said.append("Ink systems, curing and primers: the ticket gives no ink_system.")
    if request.press.cures is None:
        said.append("Which ink systems the press dries: the profile gives no cures.")
    if request.before is None:
        said.append("Wash-ups: what is on the press now is not known.")
    else:
        untold = line.unit_numbers[len(request.before.units) :]
        if untold:
            units = f"unit{'s' if len(untold) > 1 else ''} {with_and(map(str, untold))}"
            said.append(f"Wash-ups of {units}: what is on {'them' if len(untold) > 1 else 'it'} now is not known.")
    if line.adhesive and request.press.line_keys is None:
        said.append("The place of the foil station: the profile gives no line.")
    return tuple(said)

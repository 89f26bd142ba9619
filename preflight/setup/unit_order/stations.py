"""A pass as its stations stand, feeder to delivery, each with what it does and why."""

from __future__ import annotations

from typing import Final

from preflight.findings import with_and
from preflight.inputs.press import Coater, Delivery, Dryer, Lamp, Unit
from preflight.setup.press_plan import Because, OnCoater, OnUnit, Pass, Station
from preflight.setup.unit_order.demands import inks_wanting_primer, primer_coater
from preflight.setup.unit_order.lamp_levels import in_delivery, lamp_set
from preflight.setup.unit_order.plan_pass import PlannedPass
from preflight.setup.unit_order.reasons import why_here

_IDLE: Final = Because("one-unit-each", "No plate is left for it.")


def as_pass(planned: PlannedPass, *, last_pass: bool = True) -> Pass:
    """All stations that print, lay, cure or dry.

    Args:
        planned: the order.
        last_pass: only then the coating is laid.
    """
    stations: list[Station] = []
    line = planned.line.request.press.line
    for place, station in enumerate(line):
        if isinstance(station, Unit):
            stations.append(_on_unit(planned, station.number))
        elif isinstance(station, Coater):
            stations.append(_on_coater(planned, station, last_pass))
        elif isinstance(station, Lamp | Dryer):
            coats = last_pass and planned.coater in line[place:] and planned.line.request.coating is not None
            stations.append(lamp_set(planned, station, coats=coats))
        elif isinstance(station, Delivery):
            stations.append(in_delivery(planned, station, last_pass=last_pass))
    return Pass(tuple(stations))


def _on_unit(planned: PlannedPass, unit: int) -> OnUnit:
    number = next((placed.plate for placed in planned.order.placed if placed.unit + 1 == unit), None)
    if number is None:
        return OnUnit(unit, None, None, because=(_IDLE,))
    plate = planned.line.plates[number]
    because = why_here(planned, number, unit)
    return OnUnit(unit, plate.name, plate.kind, plate.side, plate.overall, planned.line.system(plate), because)


def _on_coater(planned: PlannedPass, coater: Coater, last_pass: bool) -> OnCoater:
    coating, chosen = planned.line.request.coating, planned.coater
    if coating is None or not last_pass or chosen is None:
        says = "The ticket has no coating." if last_pass else "Nothing is coated before the last pass."
        return OnCoater(coater.number, coater.after_unit, None, because=(Because("coater-lays", says),))
    if coater.number == chosen.number:
        return _laying(planned, coater)
    primer = primer_coater(planned.line, chosen) if inks_wanting_primer(planned.line) else None
    if primer is not None and primer.number == coater.number:
        says = f"A primer parts the inks from the {coating.kind} coating."
        return OnCoater(coater.number, coater.after_unit, "primer", "overall", because=(Because("primer-first", says),))
    says = f"Coater {chosen.number} lays the {planned.line.coating_name}."
    return OnCoater(coater.number, coater.after_unit, None, because=(Because("coater-lays", says),))


def _laying(planned: PlannedPass, coater: Coater) -> OnCoater:
    coating = planned.line.request.coating
    assert coating is not None
    lays, bare = "overall", f"; {with_and(coating.clear)} {_stay(coating.clear)} bare" if coating.clear else ""
    if coating.area == "plate":
        lays = "cut blanket" if coater.lays is not None and "plate" not in coater.lays else "plate"
    elif coating.clear:
        lays = "plate" if coater.lays is not None and "cut blanket" not in coater.lays else "cut blanket"
    because = [
        Because("coater-takes", f"It takes {coating.kind or 'the'} coating."),
        Because(
            "coater-lays",
            f"It lays {'all over' if lays == 'overall' else f'by {lays}'}, behind all that is printed{bare}.",
        ),
    ]
    effects = [plate.name for plate in planned.line.plates if plate.kind == "varnish" and plate.effect]
    if effects and coating.area == "overall":
        says = f"The coating draws back over {with_and(effects)}: matt there and gloss beside, as the ticket asks."
        because.append(Because("effect-before-coat", says))
    covered = [plate.name for plate in planned.line.plates if plate.kind == "varnish" and not plate.effect]
    if covered and coating.area == "overall":
        names = with_and(dict.fromkeys(covered))
        says = f"It covers {names}, on the ticket no effect varnish: what shows there is the look of the coating."
        because.append(Because("coater-lays", says))
    return OnCoater(
        coater.number, coater.after_unit, coating.kind or "coating", lays, coating.separation, tuple(because)
    )


def _stay(areas: tuple[str, ...]) -> str:
    return "stays" if len(areas) == 1 else "stay"

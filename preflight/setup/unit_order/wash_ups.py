"""What a unit has to be washed from, and how long that takes."""

from __future__ import annotations

from typing import Final

from preflight.setup.press_plan import OnUnit, WashUp
from preflight.setup.unit_order.plates_on_line import PlatesOnLine
from preflight.setup.unit_plan import same_name

SAID: Final = {
    "light to dark": "dark after light",
    "dark to light": "light after dark",
    "after metallic": "after metallic",
    "after white": "after white",
    "ink system": "another ink system",
    "not known": "another ink",
}
"""By the classes of washing, in the words of the plan."""


def wash_class(line: PlatesOnLine, unit: int, number: int) -> str | None:
    """How a unit has to be washed for a plate; None where it has not to be, or nobody says what is on it."""
    before, plate = line.request.before, line.plates[number]
    ink = before.units[unit - 1] if before is not None and unit <= len(before.units) else None
    if before is None:
        return None
    system = line.system(plate)
    if None not in (before.ink_system, system) and not line.systems.run_together(str(before.ink_system), str(system)):
        return "ink system"  # rollers, blankets and wash are the press's, whatever is on the unit
    if ink is None or same_name(ink, plate.name):
        return None
    kind = before.kinds.get(ink)
    if kind in ("metallic", "white"):
        return f"after {kind}"
    was = before.darkness.get(ink, line.table.darkness.get(ink))
    becomes = plate.darkness if plate.darkness is not None else line.table.darkness.get(plate.name)
    if was is None or becomes is None:
        return "not known"
    return "dark to light" if was > becomes else "light to dark"


def wash_price(line: PlatesOnLine, unit: int, number: int) -> int:
    """What an order pays for the washing of a unit."""
    kind = wash_class(line, unit, number)
    return 0 if kind is None else int(getattr(line.table.weights.wash_up, kind.replace(" ", "_")))


def _minutes(line: PlatesOnLine, kind: str) -> float | None:
    press = line.request.press
    own: float | None = None if kind == "not known" else getattr(press.wash, kind.replace(" ", "_"))
    return press.times.wash_up if own is None and kind != "ink system" else own


def wash_ups(line: PlatesOnLine, units: tuple[OnUnit, ...]) -> tuple[WashUp, ...]:
    """The units that have to be washed for a pass, in order."""
    found = []
    for unit in units:
        numbers = line.named(unit.separation) if unit.separation is not None else ()
        kind = wash_class(line, unit.unit, numbers[0]) if numbers else None
        if kind is not None and line.request.before is not None:
            was = _was_on(line, unit.unit)
            found.append(WashUp(unit.unit, was, str(unit.separation), _minutes(line, kind), SAID[kind]))
    return tuple(found)


def _was_on(line: PlatesOnLine, unit: int) -> str:
    """The ink on a unit; of one without, what its rollers were for."""
    before = line.request.before
    assert before is not None
    ink = before.units[unit - 1] if unit <= len(before.units) else None
    return ink if ink is not None else f"{before.ink_system} rollers"

"""Small presses, plans and requests for tests of the run plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from preflight.inputs.press import Press
from preflight.quantities import Size
from preflight.setup.press_plan import InDelivery, LampLevel, OnCoater, OnUnit, Pass, PressPlan, WashUp
from preflight.setup.run_request import RunRequest

CMYK = (("Cyan", "process"), ("Magenta", "process"), ("Yellow", "process"), ("Black", "process"))


def a_press(units: int = 6, *, largest: str = "1020 x 720 mm", **keys: object) -> Press:
    data = {"press": "Line", "sheet": {"largest": largest}, "units": [None] * units, **keys}
    return Press.model_validate(data)


def a_pass(
    inks: Sequence[tuple[str, str]] = CMYK,
    coating: str | None = "water-based",
    *,
    system: str | None = None,
    lays: str = "plate",
    lamps: tuple[str, ...] = (),
) -> Pass:
    units = tuple(OnUnit(number, name, kind, ink_system=system) for number, (name, kind) in enumerate(inks, 1))
    coaters = (OnCoater(1, len(inks), coating, lays),) if coating else ()
    full: LampLevel = "full"
    delivery = (InDelivery(lamps, (full,) * len(lamps)),) if lamps else ()
    return Pass((*units, *coaters, *delivery))


def a_plan(*passes: Pass, wash_ups: Sequence[WashUp] = ()) -> PressPlan:
    return PressPlan(possible=True, proved_best=True, passes=passes or (a_pass(),), wash_ups=tuple(wash_ups))


def a_request(plan: PressPlan | None = None, press: Press | None = None, **keys: Any) -> RunRequest:
    values: dict[str, Any] = {
        "sheet": Size(820.0, 680.0),
        "caliper_mm": 0.5,
        "weight_gsm": 300.0,
        "surface": "white",
        "ups": 4,
        "quantity": 40_000,
        "ink_system": "oxidising",
        "cover": {name: 0.2 for name, _ in CMYK},
        **keys,
    }
    return RunRequest(plan or a_plan(), press or a_press(), **values)


def a_wash(unit: int, minutes: float | None = 15.0, because: str = "light after dark") -> WashUp:
    return WashUp(unit, "Mustard", "Cyan", minutes, because)

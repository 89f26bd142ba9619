"""What the last job left on the press, by its ticket or by what somebody wrote down."""

from __future__ import annotations

from preflight.artwork.page.separations import PROCESS
from preflight.inputs.kind_names import classify, load_names, process_ink_called
from preflight.inputs.press_state import PressState
from preflight.inputs.ticket import Ticket
from preflight.inputs.unit_order_table import load_unit_order
from preflight.kinds import PRINTING_KINDS
from preflight.setup.plan_request import OnPress
from preflight.setup.ticket_names import LETTERS
from preflight.setup.unit_plan import same_name


def on_press(before: Ticket | PressState) -> OnPress:
    """Inks, coating, ink system and goods of the last job; a ticket without a unit list leaves the units untold.

    Raises:
        InvalidInput: rules/unit_order.yaml is wrong.
    """
    if isinstance(before, PressState):
        units = tuple(map(_usual_name, before.on_press))
        return OnPress(
            units,
            _kinds(units),
            _darkness(units),
            coater=before.coater,
            ink_system=before.ink_system,
            goods=before.goods,
        )
    units = tuple(_usual_name(entry.name) for entry in before.units or ())
    stated = {name: note.kind for name, note in before.separations.items() if note.kind}
    told = {unit: kind for unit in units for name, kind in stated.items() if unit and same_name(unit, name)}
    coating = before.coating
    return OnPress(
        units,
        {**_kinds(units), **told},
        _darkness(units),
        coater=coating.kind if coating else None,
        ink_system=before.ink_system,
        goods=before.goods.type,
    )


def _usual_name(name: str | None) -> str | None:
    """C, M, Y and K, and what people call the process inks, by their standard names."""
    if name is None:
        return None
    return LETTERS.get(name.strip().upper()) or process_ink_called(name, load_names()) or name


def _kinds(units: tuple[str | None, ...]) -> dict[str, str]:
    """Kinds as the names tell them; a spot where they tell nothing."""
    found = dict[str, str]()
    for name in units:
        if name is not None:
            told = classify(name, load_names())
            kind = told[0] if told else "spot"
            found[name] = "process" if name in PROCESS else kind if kind in PRINTING_KINDS else "spot"
    return found


def _darkness(units: tuple[str | None, ...]) -> dict[str, float]:
    """Of the inks that the plant's table has a figure for: no artwork of the last job is read."""
    table = load_unit_order().darkness
    return {name: table[name] for name in units if name in table}

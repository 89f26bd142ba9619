"""The plates of a request and the line that they go on, with what the tables say of both."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from preflight.inputs.ink_names import needs_adhesive
from preflight.inputs.ink_systems import InkSystems, load_ink_systems
from preflight.inputs.press import Coater, Lamp
from preflight.inputs.unit_order_table import UnitOrder, load_unit_order
from preflight.kinds import UV_LAMPS
from preflight.setup.plan_request import PlanRequest, PlateToPlace
from preflight.setup.unit_plan import can_lay, same_name

INKS: Final = ("process", "spot", "metallic")
MOST_PLATES: Final = 14
"""Up to which every order is tried, and the one found is proved to be the best."""
TRANSPARENT: Final = ("process", "spot")


@dataclass(frozen=True)
class PlatesOnLine:
    """A request with its tables; plates are named by their number in the request, units are counted from 1."""

    request: PlanRequest
    table: UnitOrder
    systems: InkSystems

    @cached_property
    def plates(self) -> tuple[PlateToPlace, ...]:
        """The plates of the request."""
        return self.request.plates

    @cached_property
    def unit_numbers(self) -> tuple[int, ...]:
        """The units of the press, feeder to delivery."""
        return tuple(unit.number for unit in self.request.press.units)

    @cached_property
    def adhesive(self) -> frozenset[int]:
        """Plates that lay the adhesive of a cold foil."""
        found = (n for n, plate in enumerate(self.plates) if plate.kind == "foil" or needs_adhesive(plate.name))
        return frozenset(found)

    @cached_property
    def job_system(self) -> str | None:
        """The ink system of the job: as stated, else the only one that the press dries."""
        cures = self.request.press.cures or ()
        return self.request.ink_system or (cures[0] if len(cures) == 1 else None)

    @cached_property
    def lamps_between(self) -> tuple[Lamp, ...]:
        """Lamps that have a unit before them and one behind."""
        lamps = (lamp for lamp in self.request.press.lamps if lamp.where == "interdeck")
        return tuple(lamp for lamp in lamps if 0 < lamp.after_unit < len(self.unit_numbers))

    @cached_property
    def cured_behind(self) -> dict[int, frozenset[int]]:
        """Unit, and the plates that a lamp behind it cures; units behind which none is cured are left out."""
        found: dict[int, frozenset[int]] = {}
        for lamp in self.lamps_between:
            cured = frozenset(number for number, plate in enumerate(self.plates) if self.cures(lamp.kind, plate))
            if cured:
                found[lamp.after_unit] = found.get(lamp.after_unit, frozenset()) | cured
        return found

    def cures(self, lamp: str, plate: PlateToPlace) -> bool:
        """Whether a kind of lamp cures the ink of a plate."""
        system = self.system(plate)
        return system is not None and self.systems.cured_by(system, lamp) != "no"

    def system(self, plate: PlateToPlace) -> str | None:
        """The ink system of a plate; None where neither ticket nor press says."""
        return plate.ink_system or self.job_system

    def named(self, name: str) -> tuple[int, ...]:
        """The plates of an ink."""
        return tuple(number for number, plate in enumerate(self.plates) if plate.name == name)

    def others(self, number: int) -> Iterator[int]:
        """Plates of other inks on the same side."""
        plate = self.plates[number]
        for other, each in enumerate(self.plates):
            if each.name != plate.name and each.side == plate.side:
                yield other

    def overlap_mm2(self, one: int, other: int) -> float:
        """Area on which two plates lie over each other; what prints overall lies over every other."""
        first, second = self.plates[one], self.plates[other]
        if first.overall or second.overall:
            return max(1.0, min(first.area_mm2, second.area_mm2))
        names = (min(first.name, second.name), max(first.name, second.name))
        return self.request.overlap_mm2.get(names, 0.0)

    def overlap_share(self, metallic: int, other: int) -> float:
        """Share of a metallic's area on which another plate lies over it, in per cent."""
        if self.plates[other].overall:
            return 100.0
        area = self.plates[metallic].area_mm2
        return 100.0 * self.overlap_mm2(metallic, other) / area if area > 0 else 0.0

    def dries(self, system: str) -> bool:
        """Whether the press dries a system; where the profile does not say, it is taken to."""
        cures = self.request.press.cures
        if cures is None or system in cures:
            return True
        return any(kind in UV_LAMPS and self.systems.cured_by(system, kind) != "no" for kind in cures)

    def apart(self, number: int) -> tuple[str, dict[str, tuple[str, ...]]] | None:
        """What a plate is called that may be of another system than its pass, and which pairs may be."""
        plate, table = self.plates[number], self.systems.apart
        if number in self.adhesive:
            return "foil adhesive", table.foil_adhesive
        if plate.kind == "primer":
            return "primer", table.primer
        return ("effect varnish", table.effect_varnish) if plate.kind == "varnish" and plate.effect else None

    @cached_property
    def coater_choices(self) -> tuple[Coater | None, ...]:
        """Coaters that the coating could go to; one None where there is no coating, or no coater."""
        coaters = self.request.press.coaters
        if self.request.coating is None or not coaters:
            return (None,)
        kind, area = self.request.coating.kind, self.request.coating.area
        return tuple(sorted(coaters, key=lambda coater: (not can_lay(coater, kind, area), coater.number)))

    @cached_property
    def coating_name(self) -> str:
        """What the coating is called in sentences."""
        coating = self.request.coating
        if coating is None:
            return "coating"
        return coating.separation or (f"{coating.kind} coating" if coating.kind else "coating")

    def wished_units(self, name: str) -> frozenset[int]:
        """Units that the ticket's list has an ink on."""
        listed = enumerate(self.request.wished or (), 1)
        return frozenset(unit for unit, other in listed if other is not None and same_name(other, name))


def on_line(request: PlanRequest) -> PlatesOnLine:
    """The request with the tables of the house rules.

    Raises:
        InvalidInput: a table is wrong.
    """
    return PlatesOnLine(request, load_unit_order(), load_ink_systems())


def is_exact(line: PlatesOnLine) -> bool:
    """Whether every order is tried."""
    return len(line.plates) <= MOST_PLATES

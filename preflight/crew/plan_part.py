"""The plan of the units as the set-up document has it: stations with their reasons, wash-ups, conflict, ways out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from preflight.crew.planned_job import PlannedJob
from preflight.inputs.ticket import Aim
from preflight.setup.plan_request import PlateToPlace
from preflight.setup.press_plan import Because, InDelivery, LampSet, OnCoater, OnUnit, Pass, Station, WayOut
from preflight.setup.unit_plan import same_name

Document = dict[str, Any]


def plan_part(job: PlannedJob, looks: Mapping[str, tuple[int, int, int]]) -> Document:
    """``plan`` of the document; without a plan all of it is empty. ``looks``: colours on a screen, by separation."""
    plan = job.plan
    if plan is None:
        return {"possible": False, "proved_best": False, "passes": [], "wash_ups": [], "conflict": [], "ways_out": []}
    return {
        "possible": plan.possible,
        "proved_best": plan.proved_best,
        "passes": [_PassPart(job, looks).of(one) for one in plan.passes],
        "wash_ups": [
            {"unit": w.unit, "from": w.before, "to": w.after, "minutes": w.minutes, "because": w.because}
            for w in plan.wash_ups
        ],
        "conflict": [{"demand": c.demand, "separation": c.separation, "says": c.says} for c in plan.conflict],
        "ways_out": [_way_out(way) for way in plan.ways_out],
    }


def _way_out(way: WayOut) -> Document:
    told: Document = {
        "change": way.change,
        "separations": list(way.separations),
        "saves_units": way.saves_units,
        "saves_pass": way.saves_pass,
        "says": way.says,
    }
    if way.passes:
        told["passes"] = [list(names) for names in way.passes]
        told["breaks"] = [
            {"separations": list(joint.separations), "distance_mm": joint.distance_mm} for joint in way.breaks
        ]
    if way.press is not None:
        told["press"] = way.press
    return told


@dataclass
class _PassPart:
    """One pass in the words of the document; counts the hits of an ink."""

    job: PlannedJob
    looks: Mapping[str, tuple[int, int, int]]
    hits: Counter[str] = field(default_factory=Counter)

    def of(self, one: Pass) -> Document:
        return {"stations": [self._station(station) for station in one.stations]}

    def _station(self, station: Station) -> Document:
        if isinstance(station, OnUnit):
            return self._unit(station)
        because = _reasons(station.because)
        if isinstance(station, LampSet):
            return {"lamp": station.lamp, "after_unit": station.after_unit, "level": station.level, "because": because}
        if isinstance(station, OnCoater):
            return {
                "coater": station.coater,
                "after_unit": station.after_unit,
                "coating": station.coating,
                "lays": station.lays,
                "separation": station.separation,
                "because": because,
            }
        assert isinstance(station, InDelivery)
        return {"delivery": list(station.holds), "level": list(station.levels), "because": because}

    def _unit(self, unit: OnUnit) -> Document:
        told: Document = {
            "unit": unit.unit,
            "separation": unit.separation,
            "kind": unit.kind,
            "side": unit.side,
            "overall": unit.overall,
            "ink_system": unit.ink_system,
            "because": _reasons(unit.because),
        }
        if unit.separation is None:
            return told | {"idle": "backed off"}
        self.hits[unit.separation] += 1
        plates, ticket = self._plates(unit.separation), self.job.ticket
        aims = {name: aim for name, aim in (ticket.aims if ticket else {}).items() if same_name(name, unit.separation)}
        looks = next((rgb for name, rgb in self.looks.items() if same_name(name, unit.separation or "")), None)
        return told | {
            "hit": self.hits[unit.separation],
            "cover": round(plates[0].cover, 4) if plates else None,
            "aims": next((_aims(aim) for aim in aims.values()), None),
            "shown_as": "#{:02x}{:02x}{:02x}".format(*looks) if looks is not None else None,
            "effect": any(plate.effect for plate in plates),
        }

    def _plates(self, name: str) -> list[PlateToPlace]:
        """What the planner was told of an ink: of several pages the most that it covers, other names included."""
        return [plate for plate in (self.job.question.plates if self.job.question else ()) if plate.name == name]


def _aims(aim: Aim) -> Document:
    return {
        "density": aim.density,
        "lab": None if aim.lab is None else list(aim.lab),
        "tolerance": aim.tolerance,
    }


def _reasons(because: tuple[Because, ...]) -> list[Document]:
    return [{"demand": reason.demand, "says": reason.says} for reason in because]

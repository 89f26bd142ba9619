"""Changes that make a job fit, cheapest first, each with what it saves.

What a change saves, its passes and the joints that it breaks are fields; ``says`` has only what they do not.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from preflight.findings import with_and
from preflight.inputs.press import Coater
from preflight.setup.plan_request import PlanRequest, PlateToPlace
from preflight.setup.press_plan import WayOut
from preflight.setup.unit_order.plan_pass import cheapest_pass
from preflight.setup.unit_order.plates_on_line import INKS, PlatesOnLine
from preflight.setup.unit_order.two_passes import Split
from preflight.setup.unit_plan import lays_area


def cheaper_ways(line: PlatesOnLine) -> tuple[WayOut, ...]:
    """Changes after which there is an order in one pass, or that at least free units where there are too few.

    Each says what it leaves as it is.
    """
    ways = (*_merged(line), *_dropped(line), *_to_coater(line), *_to_process(line))
    short = len(line.plates) > len(line.unit_numbers)
    helping = (way for way in ways if way.saves_pass or (short and way.saves_units))
    return tuple(replace(way, says=" ".join([way.says, *_left_open(line, way)])) for way in helping)


def two_passes(line: PlatesOnLine, split: Split) -> WayOut:
    """The split as a way out."""
    first, last = split.names
    says = f"Two passes: {with_and(first)}, then {with_and(last)}."
    if not split.breaks:
        says += f" Inks nearer to each other than {line.table.joint_mm:g} mm stay in one pass."
    way = WayOut("two-passes", (*first, *last), says, passes=split.names, breaks=split.breaks)
    return replace(way, says=" ".join([says, *_left_open(line, way)]))


def _left_open(line: PlatesOnLine, way: WayOut) -> Iterator[str]:
    """What a way out does not solve: too few units still, and inks that do not dry on this board."""
    if not way.saves_pass and way.change != "two-passes":
        yield "There is still no order in one pass."
    gone = () if way.change in ("merge", "two-passes") else way.separations
    surface = line.request.surface
    stays = (line.system(p) for p in line.plates if p.name not in gone and p.kind in (*INKS, "white"))
    for system in dict.fromkeys(stays) if surface is not None else ():
        if system is not None and line.systems.on_surface(system, str(surface)) == "no":
            yield f"This leaves {system} ink on {surface} board, where it does not dry."


def _fits(line: PlatesOnLine, request: PlanRequest) -> bool:
    return bool(request.plates) and cheapest_pass(replace(line, request=request)) is not None


def _saving(line: PlatesOnLine, request: PlanRequest) -> tuple[int, bool]:
    """Units saved, and whether that saves the second pass."""
    return len(line.plates) - len(request.plates), _fits(line, request)


def _merged(line: PlatesOnLine) -> Iterator[WayOut]:
    for group in line.request.one_ink:
        present = [name for name in group if line.named(name)]
        if len(present) > 1:
            request = merged(line.request, present)
            units, fits = _saving(line, request)
            says = f"{with_and(present)} look like one ink and can be merged."
            yield WayOut("merge", tuple(present), says, units, fits)


def merged(request: PlanRequest, names: Sequence[str]) -> PlanRequest:
    """The request with several names as one ink: that of the name with the most plates, then with the most area."""
    plates = {name: [plate for plate in request.plates if plate.name == name] for name in names}
    stays = max(names, key=lambda name: (len(plates[name]), max(plate.area_mm2 for plate in plates[name])))
    gone = frozenset(names) - {stays}
    kept = tuple(
        _joined(plate, plates) if plate.name == stays else plate for plate in request.plates if plate.name not in gone
    )
    overlap: dict[tuple[str, str], float] = {}
    for pair, area in request.overlap_mm2.items():
        first, second = (stays if name in gone else name for name in pair)
        if first != second:
            key = (min(first, second), max(first, second))
            overlap[key] = overlap.get(key, 0.0) + area
    return replace(request, plates=kept, overlap_mm2=overlap)


def _joined(plate: PlateToPlace, plates: Mapping[str, list[PlateToPlace]]) -> PlateToPlace:
    firsts = [group[0] for group in plates.values()]
    cover, area = sum(each.cover for each in firsts), sum(each.area_mm2 for each in firsts)
    return replace(plate, cover=min(1.0, cover), area_mm2=area)


def _without(request: PlanRequest, name: str) -> PlanRequest:
    return replace(request, plates=tuple(plate for plate in request.plates if plate.name != name))


def _dropped(line: PlatesOnLine) -> Iterator[WayOut]:
    for name in dict.fromkeys(plate.name for plate in line.plates if plate.prints is False):
        units, fits = _saving(line, _without(line.request, name))
        yield WayOut("drop", (name,), f"{name} prints nothing and can be left out.", units, fits)


def _to_coater(line: PlatesOnLine) -> Iterator[WayOut]:
    for name in dict.fromkeys(plate.name for plate in line.plates if plate.kind in ("varnish", "metallic", "white")):
        coater = _free_coater(line, name)
        if coater is not None:
            units, fits = _saving(line, _without(line.request, name))
            says = f"Coater {coater.number} can lay {name}."
            yield WayOut("to-coater", (name,), says, units, fits)


def _free_coater(line: PlatesOnLine, name: str) -> Coater | None:
    """The coater that can lay a separation beside the coating; white before all units, the rest behind them."""
    plate = line.plates[line.named(name)[0]]
    if plate.effect or plate.side == "back":
        return None
    used = line.coater_choices[0]
    area = "overall" if plate.overall else "plate"
    for coater in line.request.press.coaters:
        before_units = coater.after_unit == 0
        takes = plate.kind == "varnish" or (coater.takes is not None and plate.kind in coater.takes)
        apart = used is None or coater.number != used.number
        if apart and takes and lays_area(coater, area) and before_units == (plate.kind == "white"):
            return coater
    return None


def _to_process(line: PlatesOnLine) -> Iterator[WayOut]:
    """The smallest spot without fine type, where the chromatic process inks print already."""
    process = [plate.name for plate in line.plates if plate.kind == "process"]
    chromatic = [name for name in ("Cyan", "Magenta", "Yellow") if name in process]
    twins = {name for group in line.request.one_ink if sum(map(bool, map(line.named, group))) > 1 for name in group}
    spots = [
        p  # of two names for one ink neither is built of process inks: beside the other it would look another colour
        for p in line.plates
        if p.kind == "spot" and not p.fine_type and p.prints is not False and p.name not in twins
    ]
    if len(chromatic) < 3 or not spots:
        return
    smallest = min(spots, key=lambda plate: plate.area_mm2)
    units, fits = _saving(line, _without(line.request, smallest.name))
    says = f"{smallest.name} ({100 * smallest.cover:.1f} % cover, no fine type) could be built of process inks."
    yield WayOut("to-process", (smallest.name,), says, units, fits)

"""The hard demands on an order, each with what it forbids; one demand is one rule for one separation."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from preflight.findings import with_and
from preflight.inputs.press import Coater
from preflight.setup.plan_request import PlateToPlace
from preflight.setup.unit_order.plates_on_line import INKS, TRANSPARENT, PlatesOnLine
from preflight.setup.unit_plan import lays_area

HARD: Final = (
    *("unit-takes", "unit-never", "units-fixed", "one-ink-system", "white-under", "varnish-last", "effect-before-coat"),
    *("coater-takes", "coater-lays", "primer-first", "opaque-by-overlap", "metallic-by-overlap", "cure-between"),
    *("side-of-turn", "foil-adhesive", "one-unit-each"),
)
"""In the order by which ties between contradictions are resolved."""

Pairs = frozenset[tuple[int, int]]


@dataclass(frozen=True)
class Demand:
    """A demand and what it forbids, plates by their numbers and units from 1."""

    rule: str
    separation: str
    says: str
    broken: bool = False
    """Whatever the order."""
    units: Mapping[int, frozenset[int]] = field(default_factory=dict)
    """Plate, and the units that it may be on."""
    before: Pairs = frozenset()
    """The first has to be before the second."""
    cured: Pairs = frozenset()
    """Between the first and the second there has to be a lit lamp, where they come in this order."""
    meets: Mapping[int, frozenset[int]] = field(default_factory=dict)
    """Plate, and the units behind which a station is that it has to meet before another ink is printed."""
    own_unit: frozenset[int] = frozenset()
    """Plates that share their unit with none."""

    @property
    def key(self) -> tuple[int, str]:
        """Its place in the list of rules, and its separation."""
        return HARD.index(self.rule), self.separation

    @property
    def forbids(self) -> bool:
        """Whether there is anything that it forbids."""
        return bool(self.broken or self.units or self.before or self.cured or self.meets or self.own_unit)


def demands_on(line: PlatesOnLine, coater: Coater | None, pass_system: str | None) -> tuple[Demand, ...]:
    """All demands that forbid something, in the list's order, then in the file's.

    Args:
        line: the plates and the press.
        coater: what lays the ticket's coating.
        pass_system: the ink system that the pass runs with.
    """
    found: list[Demand] = [*_of_coating(line, coater)]
    for name in dict.fromkeys(plate.name for plate in line.plates):
        numbers = line.named(name)
        plate = line.plates[numbers[0]]
        found += _of_units(line, numbers, plate)
        found += _of_system(line, numbers, plate, pass_system)
        found += _of_order(line, numbers, plate)
        found += _of_stations(line, numbers, plate, coater)
        found.append(
            Demand("one-unit-each", name, f"{name} needs {_units(len(numbers))}.", own_unit=frozenset(numbers))
        )
    asked = [demand for demand in found if demand.forbids]
    return tuple(sorted(asked, key=lambda demand: HARD.index(demand.rule)))


def _of_units(line: PlatesOnLine, numbers: tuple[int, ...], plate: PlateToPlace) -> Iterator[Demand]:
    units, every = line.request.press.units, frozenset(line.unit_numbers)
    takes = frozenset(unit.number for unit in units if unit.inks is None or plate.kind in unit.inks)
    if takes != every:
        says = f"{plate.name} is {plate.kind}, which {_only(takes)} take."
        yield Demand("unit-takes", plate.name, says, units=dict.fromkeys(numbers, takes))
    may = frozenset(unit.number for unit in units if plate.kind not in unit.never)
    if may != every:
        says = f"{plate.name} is {plate.kind}, which is never printed on {_listed(every - may)}."
        yield Demand("unit-never", plate.name, says, units=dict.fromkeys(numbers, may))
    if line.request.fixed and line.request.wished is not None:
        yield _fixed(line, numbers, plate)
    sides = {each.side for each in line.plates}
    if len(sides) > 1:
        yield from _of_turn(line, numbers, plate)


def _fixed(line: PlatesOnLine, numbers: tuple[int, ...], plate: PlateToPlace) -> Demand:
    listed = line.wished_units(plate.name)
    says = f"The ticket fixes {plate.name} on {_listed(listed)}." if listed else f"The fixed list has no {plate.name}."
    beyond = listed - frozenset(line.unit_numbers)
    if beyond:
        says = f"The ticket fixes {plate.name} on {_listed(listed)}, and the press has {len(line.unit_numbers)} units."
    allowed = listed & frozenset(line.unit_numbers)
    broken = len(allowed) < len(numbers)
    return Demand("units-fixed", plate.name, says, broken, units=dict.fromkeys(numbers, allowed))


def _of_turn(line: PlatesOnLine, numbers: tuple[int, ...], plate: PlateToPlace) -> Iterator[Demand]:
    turns = line.request.press.turns
    if not turns:
        if plate.side == "back":
            says = f"{plate.name} prints the other side, and the press does not turn the sheet."
            yield Demand("side-of-turn", plate.name, says, broken=True)
        return
    at = turns[0].after_unit
    side = frozenset(unit for unit in line.unit_numbers if (unit <= at) == (plate.side == "back"))
    says = f"{plate.name} prints the {plate.side}: {'before' if plate.side == 'back' else 'behind'} the turn."
    yield Demand("side-of-turn", plate.name, says, units=dict.fromkeys(numbers, side))


def _of_system(
    line: PlatesOnLine, numbers: tuple[int, ...], plate: PlateToPlace, pass_system: str | None
) -> Iterator[Demand]:
    system = line.system(plate)
    if system is None or pass_system is None:
        return
    apart = line.apart(numbers[0])
    together = line.systems.run_together(system, pass_system) or (
        apart is not None and pass_system in apart[1].get(system, ())
    )
    if not line.dries(system):
        says = f"{plate.name} is {system} ink, which {line.request.press.name} cannot dry."
        yield Demand("one-ink-system", plate.name, says, broken=True)
    else:
        says = f"{plate.name} is {system} ink, and one pass runs with one ink system."
        yield Demand("one-ink-system", plate.name, says, broken=not together)


def _of_order(line: PlatesOnLine, numbers: tuple[int, ...], plate: PlateToPlace) -> Iterator[Demand]:
    first = numbers[0]
    others = [*line.others(first)]
    over = [other for other in others if line.overlap_mm2(first, other) > 0]
    if plate.kind == "white":
        yield from _of_white(line, numbers, plate, over)
    if plate.kind == "varnish" and first not in line.adhesive:
        inks = [each for each in others if line.plates[each].kind != "varnish" or each in line.adhesive]
        yield Demand("varnish-last", plate.name, f"{plate.name} is behind all inks.", before=_each(inks, numbers))
    if plate.kind == "primer":
        rest = [other for other in others if line.plates[other].kind != "primer"]
        yield Demand("primer-first", plate.name, f"{plate.name} is before all inks.", before=_each(numbers, rest))
    if plate.kind == "metallic":
        yield from _of_metallic(line, numbers, plate)
    if first in line.adhesive and over:
        says = f"{plate.name} carries foil, which would hide {_names(line, over)} printed before it."
        under = [each for each in over if line.plates[each].kind not in ("white", "primer")]
        yield Demand("opaque-by-overlap", plate.name, says, before=_each(numbers, under))


def _of_white(line: PlatesOnLine, numbers: tuple[int, ...], plate: PlateToPlace, over: list[int]) -> Iterator[Demand]:
    """White is under what it carries; on white board it may stand on solids, as drawn or as a fixed list has it."""
    carried = [other for other in over if line.plates[other].kind not in ("white", "primer")]
    if plate.on_solids:
        solids = [other for other in carried if line.plates[other].kind in INKS]
        says = f"{plate.name} is drawn on top of {_names(line, solids)}, on white board, and prints on it."
        yield Demand("opaque-by-overlap", plate.name, says, before=_each(solids, numbers))
    elif not (line.request.surface == "white" and line.request.fixed and line.request.wished is not None):
        says = f"{plate.name} is under {_names(line, carried)}."
        yield Demand("white-under", plate.name, says, before=_each(numbers, carried))


def _of_metallic(line: PlatesOnLine, numbers: tuple[int, ...], plate: PlateToPlace) -> Iterator[Demand]:
    first = numbers[0]
    on_it = inks_on_metallic(line, first)
    shares = {line.plates[other].name: line.overlap_share(first, other) for other in on_it}
    prints = "prints" if len(shares) == 1 else "print"
    says = f"{with_and(f'{name} ({share:.0f} %)' for name, share in shares.items())} {prints} on {plate.name}."
    yield Demand("metallic-by-overlap", plate.name, says, before=_each(numbers, on_it))
    covered = [
        other
        for other in line.others(first)
        if line.plates[other].kind == "metallic"
        and line.overlap_mm2(first, other) > 0
        and plate.printed_over
        and not line.plates[other].printed_over
    ]
    says = f"{plate.name} is meant to be covered, and {_names(line, covered)} would be hidden by it."
    yield Demand("opaque-by-overlap", plate.name, says, before=_each(numbers, covered))


def inks_on_metallic(line: PlatesOnLine, metallic: int) -> list[int]:
    """Plates that have to be printed on a metallic: they overlap more of it than the plant lets be by the way."""
    plate = line.plates[metallic]
    least = 0.0 if plate.printed_over else line.table.metallic_overlap
    return [
        other
        for other in line.others(metallic)
        if line.plates[other].kind in TRANSPARENT
        and other not in line.adhesive
        and line.overlap_share(metallic, other) > least
    ]


def _of_stations(
    line: PlatesOnLine, numbers: tuple[int, ...], plate: PlateToPlace, coater: Coater | None
) -> Iterator[Demand]:
    if plate.kind == "varnish" and plate.effect:
        yield _effect(line, numbers, plate, coater)
    if numbers[0] in line.adhesive:
        press = line.request.press
        foils = frozenset(foil.after_unit for foil in press.foils)
        if foils or press.line_keys is not None:
            says = f"{plate.name} is the last ink before the foil." if foils else f"{plate.name} needs a foil station."
            yield Demand("foil-adhesive", plate.name, says, not foils, meets=dict.fromkeys(numbers, foils))
    if plate.kind in line.table.cure_needed and _could_be_cured(line, plate):
        others = (other for other in line.others(numbers[0]) if line.plates[other].kind != plate.kind)
        over = [other for other in others if line.overlap_mm2(numbers[0], other) > 0]  # a second white may go on wet
        are = "is" if len(over) == 1 else "are"
        says = f"{plate.name} has to be cured before {_names(line, over)} {are} printed on it."
        yield Demand("cure-between", plate.name, says, cured=_each(numbers, over))


def _could_be_cured(line: PlatesOnLine, plate: PlateToPlace) -> bool:
    return any(line.cures(lamp.kind, plate) for lamp in line.lamps_between)


def _effect(line: PlatesOnLine, numbers: tuple[int, ...], plate: PlateToPlace, coater: Coater | None) -> Demand:
    coating = line.request.coating
    if coating is None or coating.area != "overall":
        says = f"{plate.name} works against an overall coating, and the ticket has none."
        return Demand("effect-before-coat", plate.name, says, broken=True)
    if coater is None or not lays_area(coater, "overall"):
        says = f"{plate.name} needs an overall coating straight behind it, and no coater lays one."
        return Demand("effect-before-coat", plate.name, says, broken=True)
    says = f"Nothing is printed between {plate.name} and coater {coater.number}."
    stations = frozenset({coater.after_unit})
    return Demand("effect-before-coat", plate.name, says, meets=dict.fromkeys(numbers, stations))


def _of_coating(line: PlatesOnLine, coater: Coater | None) -> Iterator[Demand]:
    coating, name, press = line.request.coating, line.coating_name, line.request.press
    if coating is None:
        return
    if coater is None:
        yield Demand("coater-takes", name, f"{press.name} has no coater for the {name}.", broken=True)
        return
    takes = coater.takes is None or coating.kind is None or coating.kind in coater.takes
    says = f"Coater {coater.number} of {press.name} does not take {coating.kind} coating."
    yield Demand("coater-takes", name, says, broken=not takes)
    every = frozenset(line.unit_numbers)
    reached = frozenset(unit for unit in every if unit <= coater.after_unit)
    lays = lays_area(coater, coating.to_lay)
    says = f"Coater {coater.number} lays over everything that is printed." if lays else (
        f"Coater {coater.number} does not lay {'overall' if coating.to_lay == 'overall' else 'a pattern'}."
    )  # fmt: skip
    bound = dict.fromkeys(range(len(line.plates)), reached) if reached != every else {}
    yield Demand("coater-lays", name, says, broken=not lays, units=bound)
    wet = inks_wanting_primer(line)
    if wet:
        says = f"{coating.kind} coating over {_names(line, wet)} needs a primer from a coater before it."
        yield Demand("primer-first", name, says, broken=primer_coater(line, coater) is None)


def inks_wanting_primer(line: PlatesOnLine) -> list[int]:
    """Plates that the coating of the ticket does not go over without a primer."""
    coating = line.request.coating
    if coating is None or coating.kind is None:
        return []
    return [
        number
        for number, plate in enumerate(line.plates)
        if plate.side == "front"
        and not (plate.kind == "varnish" and plate.effect)
        and (system := line.system(plate)) is not None
        and line.systems.under_coating(system, coating.kind) == "primer"
    ]


def primer_coater(line: PlatesOnLine, coater: Coater) -> Coater | None:
    """The coater before another one that can lay a primer over everything printed."""
    for each in line.request.press.coaters:
        takes = each.takes is None or "primer" in each.takes
        if (
            each.number < coater.number
            and each.after_unit == coater.after_unit
            and takes
            and lays_area(each, "overall")
        ):
            return each
    return None


def _each(first: Iterable[int], second: Iterable[int]) -> Pairs:
    behind = tuple(second)
    return frozenset((one, other) for one in first for other in behind)


def _names(line: PlatesOnLine, numbers: Iterable[int]) -> str:
    return with_and(dict.fromkeys(line.plates[number].name for number in numbers))


def _units(count: int) -> str:
    return "a unit of its own" if count == 1 else f"{count} units of its own"


def _listed(units: frozenset[int]) -> str:
    return f"unit{'s' if len(units) > 1 else ''} {with_and(map(str, sorted(units)))}"


def _only(units: frozenset[int]) -> str:
    return f"only {_listed(units)}" if units else "no units"

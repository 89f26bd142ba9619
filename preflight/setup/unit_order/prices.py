"""Demands and wishes as prices that the search can add up."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from typing import Final

from preflight.setup.plan_request import PlateToPlace
from preflight.setup.unit_order.demands import Demand, inks_on_metallic
from preflight.setup.unit_order.order_search import FORBIDDEN, Meeting, Prices
from preflight.setup.unit_order.plates_on_line import INKS, TRANSPARENT, PlatesOnLine, is_exact
from preflight.setup.unit_order.wash_ups import wash_price

SCALE: Final = 1000
"""A unit of the weights; below it, the plates that are not where the ticket wishes them are counted."""


def prices_of_plan(line: PlatesOnLine, demands: Iterable[Demand]) -> Prices:
    """Every demand holds, and wishes cost their weight."""
    held = tuple(demands)
    return _Sum(line, held, frozenset(demand.key for demand in held)).prices(wishes=True)


def prices_of_breaking(line: PlatesOnLine, demands: Iterable[Demand], held: Collection[tuple[int, str]]) -> Prices:
    """Some demands hold, the others cost 1 wherever they are broken, and there are no wishes.

    Plates share units only where there are few enough of them to try every order.
    """
    return _Sum(line, tuple(demands), frozenset(held)).prices(wishes=False)


class _Sum:
    """Collects the prices of one job."""

    def __init__(self, line: PlatesOnLine, demands: tuple[Demand, ...], held: frozenset[tuple[int, str]]) -> None:
        self.line, self.demands, self.held = line, demands, held
        count = range(len(line.plates))
        self.place = [[0] * len(line.unit_numbers) for _ in count]
        self.before: list[dict[int, int]] = [defaultdict(int) for _ in count]
        self.after_last: list[dict[int, int]] = [defaultdict(int) for _ in count]
        self.unlit: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
        self.meets: dict[int, Meeting] = {}
        self.shares: dict[int, int] = {}
        self.after_other: dict[int, tuple[int, int, int]] = {}

    def prices(self, *, wishes: bool) -> Prices:
        for demand in self.demands:
            self._demand(demand, FORBIDDEN if demand.key in self.held else 1)
        for number, plate in enumerate(self.line.plates):
            for other in self.line.named(plate.name):  # hits of an ink are alike: one order of them is tried
                if self.line.plates[other].hit > plate.hit:
                    self.before[number][other] = FORBIDDEN
            if wishes:
                self._wishes(number, plate)
        return Prices(
            place=self.place,
            before=self.before,
            after_last=self.after_last,
            after_other=self.after_other,
            unlit=self.unlit,
            meets=self.meets,
            lamps={unit - 1: sum(1 << n for n in cured) for unit, cured in self.line.cured_behind.items()},
            lamp=self.line.table.weights.lamp * SCALE if wishes else 0,
            shares=self.shares,
        )

    def _demand(self, demand: Demand, price: int) -> None:
        for number, units in demand.units.items():
            for at, unit in enumerate(self.line.unit_numbers):
                self.place[number][at] += 0 if unit in units else price
        for first, second in demand.before:
            self.before[first][second] = min(FORBIDDEN, self.before[first][second] + price)
        for first, second in demand.cured:
            self.unlit[first][second] += price
        for number, stations in demand.meets.items():
            exempt = sum(1 << other for other in self.line.named(self.line.plates[number].name))
            self.meets[number] = Meeting(frozenset(unit - 1 for unit in stations), exempt, price)
        if price != FORBIDDEN and is_exact(self.line):
            self.shares.update(dict.fromkeys(demand.own_unit, price))

    def _wishes(self, number: int, plate: PlateToPlace) -> None:
        weights = self.line.table.weights
        wished = self.line.wished_units(plate.name)
        for at, unit in enumerate(self.line.unit_numbers):
            here = wash_price(self.line, unit, number)
            here += weights.spot_out_of_process * in_way_of_pictures(self.line, unit, plate)
            here += weights.cure_before_coat * wet_under_coat(self.line, unit, plate)
            self.place[number][at] += here * SCALE + int(bool(wished) and unit not in wished)
        for other in self.line.others(number):
            self.before[number][other] += SCALE * self._wrong_way(other, number)
            self.after_last[number][other] += SCALE * self._straight_after(other, number)
        self._hits(number, plate)

    def _wrong_way(self, earlier: int, later: int) -> int:
        """What it costs to print one plate anywhere before another."""
        line, weights = self.line, self.line.table.weights
        first, second = line.plates[earlier], line.plates[later]
        cost = 0
        if chain_place(line, first.name) > chain_place(line, second.name) >= 0 and _process(first, second):
            cost += weights.process_chain
        if second.kind == "metallic" and first.kind in TRANSPARENT and wish_for_metallic(line, later) == "first":
            cost += weights.metallic
        if first.kind == "metallic" and second.kind in TRANSPARENT and wish_for_metallic(line, earlier) == "last":
            cost += weights.metallic
        return cost

    def _straight_after(self, earlier: int, later: int) -> int:
        """What it costs to print one plate straight after another, with no lit lamp between."""
        line, weights = self.line, self.line.table.weights
        cost = weights.light_before_heavy if steps_down(line, earlier, later) else 0
        return cost + (weights.cure_between if wishes_lamp_between(line, earlier, later) else 0)

    def _hits(self, number: int, plate: PlateToPlace) -> None:
        if plate.hit <= 1:
            return
        rule, price = self.line.table.double_hit, self.line.table.weights.double_hit_rule * SCALE
        hits = sum(1 << other for other in self.line.named(plate.name))
        if rule == "lamp between":
            for other in self.line.named(plate.name):
                if self.line.plates[other].hit == plate.hit - 1:
                    self.unlit[other][number] += price
        else:
            self.after_other[number] = (hits, 0, price) if rule == "adjacent" else (hits, price, 0)


def chain_place(line: PlatesOnLine, name: str) -> int:
    """Place in the plant's order of process inks; -1 for what is not in it."""
    return line.table.chain.index(name) if name in line.table.chain else -1


def wish_for_metallic(line: PlatesOnLine, number: int) -> str:
    """``first`` or ``last``, by the plant's school or, if that says so, by what prints on the metallic."""
    school = line.table.metallic
    if school != "by overlap":
        return school
    return "first" if inks_on_metallic(line, number) else "last"


def steps_down(line: PlatesOnLine, earlier: int, later: int) -> bool:
    """Whether an ink covers less than the one before it; process inks keep their own order."""
    first, second = line.plates[earlier], line.plates[later]
    inks = first.kind in INKS and second.kind in INKS and not _process(first, second)
    return inks and 100 * (first.cover - second.cover) > line.table.lighter_by


def wishes_lamp_between(line: PlatesOnLine, earlier: int, later: int) -> bool:
    """Whether a lit lamp is wished for between two plates: behind heavy inks, and before an effect varnish."""
    first, second = line.plates[earlier], line.plates[later]
    if second.kind == "varnish" and second.effect:
        return True
    heavy = first.kind in INKS and 100 * first.cover > line.table.heavy
    return (heavy or first.kind in line.table.cure_wished) and line.overlap_mm2(earlier, later) > 0


def in_way_of_pictures(line: PlatesOnLine, unit: int, plate: PlateToPlace) -> bool:
    """Whether a plate takes the unit of a process ink that pictures of the job print in."""
    before = line.request.before
    ink = before.units[unit - 1] if before is not None and unit <= len(before.units) else None
    if plate.kind == "process" or ink is None:
        return False
    return any(other.name == ink and other.kind == "process" and other.in_pictures for other in line.plates)


def wet_under_coat(line: PlatesOnLine, unit: int, plate: PlateToPlace) -> bool:
    """Whether a plate on this unit is behind the last lamp that cures it, and meets the coating wet, as an effect
    varnish has to.
    """
    system = line.system(plate)
    if line.request.coating is None or plate.effect or system is None:
        return False
    lamps = [lamp for lamp in line.request.press.lamps if lamp.where == "interdeck"]
    curing = [lamp.after_unit for lamp in lamps if line.systems.cured_by(system, lamp.kind) != "no"]
    return bool(curing) and unit > max(curing)


def _process(first: PlateToPlace, second: PlateToPlace) -> bool:
    return first.kind == second.kind == "process"

"""The fewest demands that leave no order, found by what each order breaks.

Every order breaks some of the demands. A set of demands leaves no order if it has one in common with what each order
breaks. So: take the smallest set that hits all that is known to be broken; ask for an order that keeps all of the set
and breaks as few others as it can; there is none, and the set is the answer; or there is one, and what it breaks is
known too. A demand for a unit of its own is taken away by letting the plate share one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from preflight.inputs.press import Coater
from preflight.setup.press_plan import Conflict
from preflight.setup.unit_order.demands import HARD, Demand
from preflight.setup.unit_order.order_search import Effort, Order, Prices, cheapest_order
from preflight.setup.unit_order.plan_pass import choices
from preflight.setup.unit_order.plates_on_line import PlatesOnLine, is_exact
from preflight.setup.unit_order.prices import prices_of_breaking

MOST_ROUNDS: Final = 150
MOST_WAYS: Final = 150_000
"""Ways that are followed for the fewest demands; then plates are counted, or the demands thinned out one by one."""

Key = tuple[int, str]


def fewest_demands(line: PlatesOnLine) -> tuple[tuple[Conflict, ...], bool]:
    """The smallest contradiction, of several that with the earliest rules; and whether that is proved."""
    return _Contradiction(line).found()


class _Contradiction:
    def __init__(self, line: PlatesOnLine) -> None:
        self.line = line
        self.choices = list(choices(line))
        order = {name: place for place, name in enumerate([line.coating_name, *(p.name for p in line.plates)])}
        says = {demand.key: demand for _, demands in reversed(self.choices) for demand in demands}
        self.keys = sorted(says, key=lambda key: (key[0], order[key[1]]))
        self.says = says
        self.effort = Effort(MOST_WAYS)

    def found(self) -> tuple[tuple[Conflict, ...], bool]:
        if not is_exact(self.line) and (simple := self._broken_anyway() or self._counted()):
            return self._told(simple), False
        broken: list[int] = []
        for _ in range(MOST_ROUNDS):
            chosen = smallest_hitting_set(broken, len(self.keys))
            breaks = self._breaks(chosen)
            if self.effort.is_spent:
                break
            if breaks is None:
                return self._told(chosen), is_exact(self.line)
            broken.append(breaks)
        return self._told(self._broken_anyway() or self._counted() or self._thinned()), False

    def _broken_anyway(self) -> int:
        """The first demand that no order keeps, whichever coater lays the coating; 0 where there is none."""
        for place, key in enumerate(self.keys):
            if all(any(d.key == key and d.broken for d in demands) for _, demands in self.choices):
                return 1 << place
        return 0

    def _counted(self) -> int:
        """Inks with more plates together than there are units, those with the most first; 0 where there are not."""
        plates = {name: len(self.line.named(name)) for name in dict.fromkeys(plate.name for plate in self.line.plates)}
        chosen = count = 0
        for name in sorted(plates, key=lambda name: -plates[name]):
            chosen |= 1 << self.keys.index((HARD.index("one-unit-each"), name))
            count += plates[name]
            if count > len(self.line.unit_numbers):
                return chosen
        return 0

    def _told(self, chosen: int) -> tuple[Conflict, ...]:
        keys = [key for place, key in enumerate(self.keys) if chosen >> place & 1]
        return tuple(Conflict(HARD[rule], name, self.says[rule, name].says) for rule, name in keys)

    def _thinned(self) -> int:
        """Demands taken away one by one, the last of the list first, as long as the rest leaves no order."""
        chosen = (1 << len(self.keys)) - 1
        for place in reversed(range(len(self.keys))):
            self.effort = Effort(MOST_WAYS // 10)  # what cannot be told in so many stays
            if self._breaks(chosen & ~(1 << place)) is None and not self.effort.is_spent:
                chosen &= ~(1 << place)
        return chosen

    def _breaks(self, chosen: int) -> int | None:
        """The demands broken by an order that keeps those chosen and breaks few others; None where there is none."""
        held = {key for place, key in enumerate(self.keys) if chosen >> place & 1}
        found, orders = [], dict[Coater | None, Order | None]()
        for coater, demands in self.choices:
            if any(demand.broken and demand.key in held for demand in demands):
                continue
            if coater not in orders:
                prices = prices_of_breaking(self.line, demands, held)
                orders[coater] = _breaking_few(prices, self.effort, exact=is_exact(self.line))
            order = orders[coater]
            if order is not None:
                broken = {demand.key for demand in demands if breaks(demand, order, self.line)}
                found.append(sum(1 << place for place, key in enumerate(self.keys) if key in broken))
        return min(found, key=lambda mask: (mask.bit_count(), mask), default=None)


def _breaking_few(prices: Prices, effort: Effort, *, exact: bool) -> Order | None:
    """An order that breaks few demands, looked for among those that break none, one, two … first, which is quicker."""
    for most in (0, 1, 2, 3, 5, 8):
        order = cheapest_order(prices, exact=exact, most=most, effort=effort)
        if order is not None:
            return order
    return cheapest_order(prices, exact=exact, effort=effort)


def breaks(demand: Demand, order: Order, line: PlatesOnLine) -> bool:
    """Whether an order breaks a demand; plates that share a unit are taken as cured and met there."""
    if demand.broken:
        return True
    at = {placed.plate: place for place, placed in enumerate(order.placed)}
    unit = {placed.plate: placed.unit + 1 for placed in order.placed}
    if any(unit[plate] not in units for plate, units in demand.units.items()):
        return True
    if any(at[first] > at[second] for first, second in demand.before):
        return True
    for first, second in demand.cured:
        lit = (lamp + 1 for lamp in order.lit if unit[first] <= lamp + 1 < unit[second])
        cured = unit[first] == unit[second] or any(first in line.cured_behind[lamp] for lamp in lit)
        if at[first] < at[second] and not cured:
            return True
    if any(placed.shares and placed.plate in demand.own_unit for placed in order.placed):
        return True
    return any(_misses(plate, stations, order, demand) for plate, stations in demand.meets.items())


def _misses(plate: int, stations: frozenset[int], order: Order, demand: Demand) -> bool:
    own = next(placed.unit + 1 for placed in order.placed if placed.plate == plate)
    place = next(at for at, placed in enumerate(order.placed) if placed.plate == plate)
    behind = [
        placed.unit + 1
        for placed in order.placed[place + 1 :]
        if placed.plate not in demand.meets and placed.unit + 1 != own
    ]
    following = min(behind, default=1 << 30)
    return not any(own <= station < following for station in stations)


def smallest_hitting_set(sets: Sequence[int], count: int) -> int:
    """The smallest set of places (bits) with one in common with each; of several the one with the earliest places."""
    size = 0
    while not _can_hit(sets, size):
        size += 1
    chosen = 0
    for place in range(count):
        bit = 1 << place
        left = [each for each in sets if not each & (chosen | bit)]
        later = ~(bit - 1)
        if size > chosen.bit_count() and _can_hit([each & later for each in left], size - chosen.bit_count() - 1):
            chosen |= bit
        if chosen.bit_count() == size:
            break
    return chosen


def _can_hit(sets: Iterable[int], size: int) -> bool:
    left = sorted(sets, key=int.bit_count)
    if not left:
        return True
    if size == 0 or not left[0] or _apart(left) > size:
        return False
    shortest = left[0]
    while shortest:
        bit = shortest & -shortest
        if _can_hit([each for each in left if not each & bit], size - 1):
            return True
        shortest ^= bit
        left = [each & ~bit for each in left]
        if not all(left):
            return False
    return False


def _apart(sets: Iterable[int]) -> int:
    """How many of the sets have nothing in common, taken greedily: no fewer places can hit them."""
    taken = count = 0
    for each in sets:
        if not each & taken:
            taken |= each
            count += 1
    return count

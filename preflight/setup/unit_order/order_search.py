"""The cheapest order of plates over the units of a line, with the lamps that are lit: dynamic programming.

The line is gone through unit by unit. All that may matter further down is which plates are printed, which was the last
of them, whether a lit lamp is behind it, and which plates still wait for a lamp or for a station; of all ways into such
a state the cheapest is kept. So every order is tried, at most ``plates x 2^plates`` states a unit where no plate waits
for anything. Nothing of the trade is in here.

Of ways that cost the same the one with the least path is kept, unit by unit: the first plate (as numbered) on the first
unit where they differ, an idle unit behind all plates, a lamp off before it is lit. So ties are resolved the same way
each time.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import Final

FORBIDDEN: Final = 1 << 40
"""A price that nothing may pay."""
MOST_STATES: Final = 3000
"""States kept a unit where there are too many plates to keep all."""
_NONE: Final = -1
_LIT: Final = 64
_IDLE: Final = 1000
_LAMP: Final = 2000
_SHARES: Final = 3000
"""In a path: a plate (its number), an idle unit, a lit lamp (+ unit), a plate that shares (+ 100 x unit + plate)."""

State = tuple[int, int, int, int, int]
"""Plates printed (a bit each), the last of them (+ 64 behind a lit lamp), those waiting for a lamp, for a station, and
those that share the unit that is being filled, which are taken as cured and met until the sheet leaves it."""
Path = tuple[int, ...]
Reached = dict[State, tuple[int, Path]]


@dataclass(frozen=True)
class Meeting:
    """A plate that has to meet one of some stations before anything else is printed."""

    stations: frozenset[int]
    """Units that they are behind."""
    exempt: int
    """Plates that may be printed between, a bit each."""
    price: int = FORBIDDEN


@dataclass(frozen=True)
class Prices:
    """What everything costs, plates and units counted from 0."""

    place: Sequence[Sequence[int]]
    """Plate, then unit."""
    before: Sequence[Mapping[int, int]]
    """Plate, then one that is printed before it at this price."""
    after_last: Sequence[Mapping[int, int]]
    """Plate, then one that is printed straight before it, with no lit lamp between."""
    after_other: Mapping[int, tuple[int, int, int]] = field(default_factory=dict)
    """Later plate of an ink: all plates of the ink (bits), price where the last one printed is of them, where not."""
    unlit: Mapping[int, Mapping[int, int]] = field(default_factory=dict)
    """Plate, then one printed anywhere behind it with no lit lamp between."""
    meets: Mapping[int, Meeting] = field(default_factory=dict)
    lamps: Mapping[int, int] = field(default_factory=dict)
    """Unit, and the plates that a lamp behind it cures (bits)."""
    lamp: int = 1
    shares: Mapping[int, int] = field(default_factory=dict)
    """Plates that may share a unit, and the price."""

    @property
    def plates(self) -> int:
        """How many there are."""
        return len(self.place)

    @cached_property
    def before_masks(self) -> list[tuple[int, int]]:
        """For each plate those that may not be printed before it, and those that may at a price."""
        return [
            (_bits(i for i, p in row.items() if p >= FORBIDDEN), _bits(i for i, p in row.items() if 0 < p < FORBIDDEN))
            for row in self.before
        ]

    @cached_property
    def matters_to(self) -> list[int]:
        """For each plate those to which it matters that it was the last."""
        masks = [0] * self.plates
        for plate, row in enumerate(self.after_last):
            for last, price in row.items():
                masks[last] |= (price > 0) << plate
        for later, (ink, _, _) in self.after_other.items():
            for last in _plates(ink):
                masks[last] |= 1 << later
        return masks


@dataclass(frozen=True)
class Placed:
    """A plate on a unit, counted from 0."""

    plate: int
    unit: int
    shares: bool = False


@dataclass(frozen=True)
class Order:
    """An order of plates, feeder to delivery."""

    cost: int
    placed: tuple[Placed, ...]
    lit: frozenset[int]
    """Units behind which lamps are lit, counted from 0."""


@dataclass
class Effort:
    """How many more ways may be followed, in all searches that share it; counted, so that it is the same each time."""

    left: int

    @property
    def is_spent(self) -> bool:
        """Whether a search was broken off: that it found no order says nothing then."""
        return self.left < 0


def cheapest_order(
    prices: Prices, *, exact: bool = True, most: int = FORBIDDEN - 1, effort: Effort | None = None
) -> Order | None:
    """The cheapest order; None where there is none, or where the effort was spent before it was found.

    Args:
        prices: what everything costs.
        exact: keep every state; else only the cheapest of them, and the order found may not be the best.
        most: what an order may cost.
        effort: how long to look.
    """
    units = len(prices.place[0]) if prices.place else 0
    full = (1 << prices.plates) - 1
    reached: Reached = {(0, _NONE, 0, 0, 0): (0, ())}
    stepping = _Stepping(prices, full, most, effort or Effort(1 << 60))
    for unit in range(units):
        if stepping.effort.is_spent:
            return None
        reached = stepping.shared(reached, unit)
        reached = stepping.filled(reached, unit, units - unit - 1)
        reached = stepping.shared(reached, unit)
        reached = stepping.past(reached, unit)
        if not exact and len(reached) > MOST_STATES:
            reached = _cheapest(reached)
    ends = [
        (cost + sum(prices.meets[plate].price for plate in _plates(waiting)), path)
        for (printed, _, _, waiting, _), (cost, path) in reached.items()
        if printed == full
    ]
    best = min(ends, default=(FORBIDDEN, ()))
    return _as_order(best[0], best[1]) if best[0] <= most else None


@dataclass
class _Stepping:
    """One step of the line after the other, for all states at once."""

    prices: Prices
    full: int
    most: int = FORBIDDEN - 1
    """Ways that cost more are not followed."""
    effort: Effort = field(default_factory=lambda: Effort(1 << 60))
    paid: dict[tuple[int, int], int] = field(default_factory=dict)
    """By plate and those with a price that were printed before it."""
    listed: dict[int, tuple[int, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.never = [never for never, _ in self.prices.before_masks]
        self.at_a_price = [mask for _, mask in self.prices.before_masks]
        self.matters_to = self.prices.matters_to

    def filled(self, reached: Reached, unit: int, units_left: int) -> Reached:
        """Every state with each plate on the unit, or none."""
        found: Reached = {}
        sharing = _bits(self.prices.shares)
        row = [place[unit] for place in self.prices.place]
        self.effort.left -= len(reached)
        for state, (cost, path) in reached.items():
            left = self.full & ~state[0]
            if (left & ~sharing).bit_count() > units_left + 1 or left.bit_count() - units_left - 1 > self.most - cost:
                continue
            if (left & ~sharing).bit_count() <= units_left:
                _keep(found, state, cost, (*path, _IDLE))
            for plate in self.plates(left):
                if state[0] & self.never[plate] or row[plate] >= FORBIDDEN:
                    continue
                price = cost + self.price(state, plate, unit)
                if price > self.most:
                    continue
                after = self.after(state, plate, left)
                known = found.get(after)
                if known is None or price < known[0] or (price == known[0] and (*path, plate) < known[1]):
                    found[after] = price, (*path, plate)
        return found

    def plates(self, mask: int) -> tuple[int, ...]:
        """The plates of a set, found out once."""
        listed = self.listed.get(mask)
        if listed is None:
            listed = self.listed[mask] = tuple(_plates(mask))
        return listed

    def shared(self, reached: Reached, unit: int) -> Reached:
        """The states, and those with plates that share the unit with another one, fewest plates first."""
        if not self.prices.shares:
            return reached
        by_count: list[Reached] = [{} for _ in range(self.prices.plates + 1)]
        for state, way in reached.items():
            by_count[state[0].bit_count()][state] = way
        for here, one_more in pairwise(by_count):  # a state is complete once all with fewer plates are gone through
            for state, (cost, path) in here.items():
                if self.effort.is_spent:
                    break
                self.effort.left -= 1
                self._share(one_more, state, cost, path, unit)
        return {state: way for states in by_count for state, way in states.items()}

    def _share(self, found: Reached, state: State, cost: int, path: Path, unit: int) -> None:
        left = self.full & ~state[0]
        for plate, share in self.prices.shares.items():
            price = cost + share
            if price > self.most or not left >> plate & 1:
                continue
            price += self.price(state, plate, unit)
            if price <= self.most:
                _keep(found, self.after(state, plate, left), price, (*path, _SHARES + 100 * unit + plate))

    def past(self, reached: Reached, unit: int) -> Reached:
        """The states behind the lamp and the stations that follow a unit."""
        prices = self.prices
        cleared = ~_bits(plate for plate, meeting in prices.meets.items() if unit in meeting.stations)
        wants_lamp, wants_station = _bits(prices.unlit), _bits(prices.meets)
        cured = prices.lamps.get(unit, 0)
        found: Reached = {}
        for (printed, last, wet, waiting, new), (cost, path) in reached.items():
            left = self.full & ~printed
            wet, waiting = wet | new & wants_lamp, (waiting | new & wants_station) & cleared
            if last != _NONE and not self.matters_to[last & ~_LIT] & left:
                last = _NONE
            _keep(found, (printed, last, wet, waiting, 0), cost, path)
            cures_last = last != _NONE and not last & _LIT and cured >> last & 1
            if left and (wet & cured or cures_last):
                lit = last | _LIT if cures_last else last
                _keep(found, (printed, lit, wet & ~cured, waiting, 0), cost + prices.lamp, (*path, _LAMP + unit))
        return found

    def price(self, state: State, plate: int, unit: int) -> int:
        """What a plate costs as the next one; ``FORBIDDEN`` and more where it may not be."""
        prices, (printed, last, wet, waiting, _) = self.prices, state
        price = prices.place[plate][unit]
        if printed & self.never[plate] or price >= FORBIDDEN:
            return FORBIDDEN
        if printed & self.at_a_price[plate]:
            price += self._paid(plate, printed & self.at_a_price[plate])
        if last != _NONE and not last & _LIT:
            price += prices.after_last[plate].get(last, 0)
        if plate in prices.after_other:
            ink, same, other = prices.after_other[plate]
            if printed & ink:
                price += same if last != _NONE and ink >> (last & ~_LIT) & 1 else other
        if wet:
            price += sum(prices.unlit[each].get(plate, 0) for each in _plates(wet))
        if waiting:
            price += sum(prices.meets[each].price for each in _plates(waiting) if self._parts(plate, each))
        return price

    def after(self, state: State, plate: int, left: int) -> State:
        """The state once a plate is printed; what was parted from its station has been paid for and waits no more."""
        prices, (printed, _, wet, waiting, new), bit = self.prices, state, 1 << plate
        if waiting:
            waiting &= ~_bits(each for each in _plates(waiting) if self._parts(plate, each))
        last = plate if self.matters_to[plate] & left & ~bit else _NONE
        waits = bit if plate in prices.unlit or plate in prices.meets else 0
        return printed | bit, last, wet, waiting, new | waits

    def _parts(self, plate: int, waiting: int) -> bool:
        return not self.prices.meets[waiting].exempt >> plate & 1

    def _paid(self, plate: int, printed: int) -> int:
        price = self.paid.get((plate, printed))
        if price is None:
            price = sum(self.prices.before[plate][each] for each in _plates(printed))
            self.paid[plate, printed] = price
        return price


def _keep(found: Reached, state: State, cost: int, path: Path) -> bool:
    """Note a way into a state where it is the cheapest so far."""
    known = found.get(state)
    if known is not None and (known[0] < cost or (known[0] == cost and known[1] <= path)):
        return False
    found[state] = cost, path
    return True


def _cheapest(reached: Reached) -> Reached:
    kept = sorted(reached.items(), key=lambda entry: (-entry[0][0].bit_count(), entry[1]))
    counts: dict[int, int] = {}
    found: Reached = {}
    for state, way in kept:
        number = counts[state[0].bit_count()] = counts.get(state[0].bit_count(), 0) + 1
        if number <= MOST_STATES:
            found[state] = way
    return found


def _as_order(cost: int, path: Path) -> Order:
    placed, lit, unit = [], set(), 0
    for step in path:
        if step >= _SHARES:
            on, plate = divmod(step - _SHARES, 100)
            placed.append(Placed(plate, on, shares=True))
        elif step >= _LAMP:
            lit.add(step - _LAMP)
        else:
            placed += [Placed(step, unit)] if step != _IDLE else []
            unit += 1
    return Order(cost, tuple(placed), frozenset(lit))


def _bits(plates: Iterable[int]) -> int:
    mask = 0
    for plate in plates:
        mask |= 1 << plate
    return mask


def _plates(mask: int) -> Iterator[int]:
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low

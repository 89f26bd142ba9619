"""Rows of blanks pushed together: how many rows go into a room, and how far each is moved aside.

Columns are the same with x and y exchanged (``Outline.exchanged``). Rows lie one on the other upwards; every second one
may be turned by 180°, moved aside, or hold one blank fewer.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from math import ceil, floor
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import translate

from preflight.setup.layout.contact import Profile, contact_mm, lower_profile, sampled_contacts, upper_profile
from preflight.setup.layout.outlines import Outline, Turn

Floats = NDArray[np.float64]
NESTED_MM: Final = 0.5
"""Boxes that lie in each other by more than this are nested."""
_SAMPLE_MM: Final = 0.5
_SAMPLES_MOST: Final = 1500
"""Along one outline; larger ones are sampled more coarsely."""
_STARTS: Final = 6
"""Shifts, by the samples, around which the best one is looked for."""
_STEPS_MM: Final = (0.5, 0.2, 0.05)
_UP_TO_MM: Final = 0.01
"""Distances are rounded up to this."""
_MORE_STEPS: Final = 4


@dataclass(eq=False)
class Pair:
    """One outline under another one, with the distance that has to be between them."""

    under: Outline
    over: Outline
    gutter_mm: float
    nested_mm: float
    _known: dict[tuple[float, bool], float] = field(default_factory=dict)

    @cached_property
    def _lower(self) -> Profile:
        return lower_profile(self.over.cut)

    @cached_property
    def _uppers(self) -> tuple[Profile, Profile]:
        plain = upper_profile(self.under.widened(self.gutter_mm))
        nested = plain if self.nested_mm == self.gutter_mm else upper_profile(self.under.widened(self.nested_mm))
        return plain, nested

    @cached_property
    def sampled(self) -> tuple[Floats, Floats]:
        """Shifts, and about how far up the other outline lies at each; it never says too much."""
        step = max(_SAMPLE_MM, self.under.width_mm / _SAMPLES_MOST)
        shifts, nested = sampled_contacts(self._uppers[1], self._lower, step)
        if self.nested_mm == self.gutter_mm:
            return shifts, nested
        others, plain = sampled_contacts(self._uppers[0], self._lower, step)
        near = (np.abs(shifts) < self.under.width_mm - NESTED_MM) & (nested < self.under.height_mm - NESTED_MM)
        # beside each other they need the whole gutter, which the plain profile reaches out for
        wide = np.union1d(shifts, others)
        as_nested = np.interp(wide, shifts, np.where(near, 1.0, 0.0), 0.0, 0.0) >= 1
        return wide, np.where(as_nested, np.interp(wide, shifts, nested), np.interp(wide, others, plain))

    def up_mm(self, shifts: list[float]) -> float:
        """How far up a row lies on another one, exactly; ``shifts`` are those of all pairs of their blanks."""
        nested = self._most(shifts, nested=True)
        if nested < self.under.height_mm - NESTED_MM:
            return _rounded_up(nested)
        plain = self._most(shifts, nested=False)
        return min(_rounded_up(plain), max(plain, self.under.height_mm + self.gutter_mm))

    def _most(self, shifts: list[float], *, nested: bool) -> float:
        return max((self._contact(shift, nested=nested and self._in_boxes(shift)) for shift in shifts), default=-np.inf)

    def _contact(self, shift: float, *, nested: bool) -> float:
        if (shift, nested) not in self._known:
            self._known[shift, nested] = contact_mm(self._uppers[nested], self._lower, shift)
        return self._known[shift, nested]

    def _in_boxes(self, shift: float) -> bool:
        """Whether one box may reach into the other; beside each other they need the whole gutter."""
        return abs(shift) < self.under.width_mm - NESTED_MM

    def cleared(self, up_mm: float, shifts: list[float]) -> float:
        """So far up, or a few hundredths more, at which the outlines really keep their distance."""
        nested = up_mm < self.under.height_mm - NESTED_MM
        for step in range(_MORE_STEPS):
            up = up_mm + step * _UP_TO_MM
            if all(
                keeps_clear(
                    self.under.cut,
                    translate(self.over.cut, shift, up),
                    self.nested_mm if nested and self._in_boxes(shift) else self.gutter_mm,
                )
                for shift in shifts
            ):
                return up
        return up_mm


def _rounded_up(mm: float) -> float:
    return ceil(mm / _UP_TO_MM - 1e-4) * _UP_TO_MM if np.isfinite(mm) else mm


@dataclass(frozen=True, eq=False)
class RowPattern:
    """Rows in turn: ``first``, ``second``, ``first`` …; nothing is said yet of how many."""

    up: Pair
    """The second outline on the first one."""
    down: Pair
    """The first one on the second one."""
    pitch_mm: float
    each: tuple[int, int]
    """Blanks of a first and of a second row."""
    shifts_mm: tuple[float, float]
    """How far second rows may be moved aside, from and to."""
    again: tuple[Pair, Pair]
    """An outline on the one two rows below it: of the first row, and of the second."""
    shared: tuple[bool, bool] = (False, False)
    """Knives that blanks of one row share, and blanks of neighbouring rows."""
    plain: bool = False
    """Rows have the gutter between their boxes."""

    @property
    def first(self) -> Outline:
        """Of the first row."""
        return self.up.under

    @property
    def second(self) -> Outline:
        """Of the second row."""
        return self.up.over

    def count(self, rows: int) -> int:
        """Blanks in so many rows."""
        return (rows + 1) // 2 * self.each[0] + rows // 2 * self.each[1]

    def differences(self, shift: float, *, up: bool) -> list[float]:
        """How far aside the blanks of a row lie from those of the row below: of a second row, else of a first."""
        below, above = self.each if up else self.each[::-1]
        sign, reach = (1 if up else -1), self.first.width_mm + self.up.gutter_mm
        all_of = (sign * shift + step * self.pitch_mm for step in range(1 - below, above))
        return [round(each, 6) for each in all_of if abs(each) < reach]

    def steps_mm(self, shift: float, rows: int) -> tuple[float, float]:
        """From a first row up to a second one, and from that to the next, where there are so many rows."""
        if self.shared[1]:
            return self.first.height_mm, self.first.height_mm
        if self.plain or any(self.shared):
            step = self.first.height_mm + self.up.gutter_mm
            return step, step
        up = max(0.0, self.up.up_mm(self.differences(shift, up=True))) if rows > 1 else 0.0
        down = max(0.0, self.down.up_mm(self.differences(shift, up=False))) if rows > 2 else 0.0
        if rows > 2 and up + down < self._clear_mm:  # rows that slip past each other meet the one behind
            down = max(down, self._two_rows(rows) - up)
        return up, down

    @property
    def _clear_mm(self) -> float:
        return self.first.height_mm + self.up.gutter_mm

    def _two_rows(self, rows: int) -> float:
        """From a row up to the next one like it, at least."""
        return max(pair.up_mm(self.alike) for pair in self.again[: rows - 2])

    @property
    def alike(self) -> list[float]:
        """How far aside the blanks of a row lie from those two rows below."""
        reach, most = self.first.width_mm + self.up.gutter_mm, max(self.each)
        return [step * self.pitch_mm for step in range(1 - most, most) if abs(step * self.pitch_mm) < reach]

    def needs_mm(self, rows: int, shift: float) -> float:
        """From the lower edge of the first row to the upper edge of the last one."""
        up, down = self.steps_mm(shift, rows)
        return max(rows // 2 * up + (rows - 1) // 2 * down, up) + self.first.height_mm

    @cached_property
    def _sampled_steps(self) -> tuple[Floats, Floats, Floats]:
        """Shifts that are allowed, and about how far up the next row is at each, both ways."""
        shifts, up = self.up.sampled
        others, down = self.down.sampled
        low, high = self.shifts_mm
        step = shifts[1] - shifts[0]
        tried = np.unique(np.concatenate([np.arange(low, high, step), [low, high, min(max(0.0, low), high)]]))
        found = []
        for known, at, sign, below, above in (
            (shifts, up, 1, *self.each),
            (others, down, -1, *self.each[::-1]),
        ):
            reach = int(np.ceil((self.first.width_mm + self.up.gutter_mm + abs(high) + abs(low)) / self.pitch_mm))
            moved = [m * self.pitch_mm for m in range(max(1 - below, -reach), min(above, reach + 1))]
            most = np.full(len(tried), -np.inf)
            for by in moved:
                most = np.maximum(most, np.interp(sign * tried + by, known, at, -np.inf, -np.inf))
            found.append(most)
        return tried, found[0], found[1]

    def sampled_needs(self, rows: int) -> tuple[Floats, Floats]:
        """Shifts, and about how much so many rows need along y at each of them; seldom too much."""
        if self.plain or any(self.shared):
            return np.zeros(1), np.array([self.needs_mm(rows, 0.0)])
        shifts, up, down = self._sampled_steps
        up, down = np.maximum(up, 0), np.maximum(down, 0)
        if rows > 2:
            down = np.where(up + down < self._clear_mm, np.maximum(down, self._two_rows(rows) - up), down)
        return shifts, np.maximum(rows // 2 * up + (rows - 1) // 2 * down, up * (rows > 1)) + self.first.height_mm

    def best_shift(self, rows: int) -> float:
        """The shift at which so many rows need least along y."""
        shifts, needs = self.sampled_needs(rows)
        if len(shifts) == 1:
            return float(shifts[0])
        low, high = self.shifts_mm
        order, starts = np.argsort(needs, kind="stable"), [float(np.clip(0.0, low, high))]
        for place in order.tolist():
            if all(abs(shifts[place] - start) > 2 * _STEPS_MM[0] for start in starts):
                starts.append(float(shifts[place]))
            if len(starts) > _STARTS:
                break
        best = min(starts, key=lambda shift: (self.needs_mm(rows, shift), abs(shift)))
        for step in _STEPS_MM:
            tried = [best, *(float(np.clip(best + by * step, low, high)) for by in (-3, -2, -1, 1, 2, 3))]
            best = min(tried, key=lambda shift: (self.needs_mm(rows, shift), abs(shift)))
        return best


def pitches(outline: Outline, gutter_mm: float, nested_mm: float) -> tuple[float, float | None]:
    """From one blank of a row to the next: with the gutter between their boxes, and nested where flaps mesh."""
    plain = outline.width_mm + gutter_mm
    turned = outline.exchanged()
    pair = Pair(turned, turned, gutter_mm, nested_mm)
    meshed = pair.cleared(pair.up_mm([0.0]), [0.0])
    return plain, meshed if meshed < outline.width_mm - NESTED_MM else None


def per_row(room_mm: float, width_mm: float, pitch_mm: float) -> int:
    """Blanks in a row."""
    return max(0, floor((room_mm - width_mm) / pitch_mm + 1 + 1e-9)) if room_mm + 1e-9 >= width_mm else 0


@dataclass(frozen=True, eq=False)
class PlacedRows:
    """A pattern with so many rows, exactly."""

    pattern: RowPattern
    rows: int
    shift_mm: float

    @cached_property
    def _steps(self) -> tuple[float, float]:
        """Arcs of profiles lie a hundredth within their circles: made good here, at the outlines themselves."""
        pattern = self.pattern
        up, down = pattern.steps_mm(self.shift_mm, self.rows) if self.rows > 1 else (0.0, 0.0)
        if pattern.plain or any(pattern.shared):
            return up, down
        if self.rows > 1:
            up = pattern.up.cleared(up, pattern.differences(self.shift_mm, up=True))
        if self.rows > 2:
            down = pattern.down.cleared(down, pattern.differences(self.shift_mm, up=False))
            for pair in pattern.again[: self.rows - 2]:
                down = pair.cleared(up + down, pattern.alike) - up
        return up, down

    @cached_property
    def needs_mm(self) -> float:
        """Along y, from the cut of the first row to that of the last one."""
        up, down = self._steps
        return max(self.rows // 2 * up + (self.rows - 1) // 2 * down, up) + self.pattern.first.height_mm

    def places(self) -> list[tuple[Turn, float, float]]:
        """Turn, x and y of the box of each blank; row by row, each from the left. The box of all begins at (0, 0)."""
        pattern, (up, down) = self.pattern, self._steps
        low = min(0.0, self.shift_mm) if self.rows > 1 else 0.0
        found, y = [], 0.0
        for row in range(self.rows):
            outline = pattern.second if row % 2 else pattern.first
            x = (self.shift_mm if row % 2 else 0.0) - low
            found += [(outline.turn, x + number * pattern.pitch_mm, y) for number in range(pattern.each[row % 2])]
            y += down if row % 2 else up
        return found


def keeps_clear(one: shapely.Polygon, other: shapely.Polygon, mm: float) -> bool:
    """Whether two outlines are at least so far apart, and do not overlap."""
    if mm <= 0:
        return bool(shapely.area(shapely.intersection(one, other)) < 1e-3)
    return not shapely.dwithin(one, other, mm - 1e-6)

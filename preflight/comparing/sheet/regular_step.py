"""Where blanks belong when no die says so: turns by rows and columns, places by the lattice that most are on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb
from random import Random
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

IN_LINE: Final = 0.25
"""Of a blank's size: middles that are no further apart lie in one row or column."""
IN_STEP_MM: Final = 0.05
TELLS: Final = 4
"""Blanks of one turn from which on the odd one out can be told."""
MOST_TRIALS: Final = 2500
MOST_ODD: Final = 0.25
"""Of the blanks that may be out of step; with more of them there is no step."""

Pattern = Callable[[int, int], int]
PATTERNS: Final[tuple[Pattern, ...]] = (
    lambda row, column: 0,
    lambda row, column: row % 2,
    lambda row, column: column % 2,
    lambda row, column: (row + column) % 2,
)
"""All alike; rows tumbled; columns tumbled; one and the other in turn."""


@dataclass(frozen=True)
class Stepped:
    """Where blanks belong."""

    turns: tuple[int, ...]
    """Quarter turns that each should have."""
    middles: Floats
    """Where the middle of each should be, (k, 2) in mm."""
    gaps: tuple[tuple[int, float, float], ...]
    """Turn and middle of places in the step where no blank was found."""
    told: bool
    """Whether the step says where blanks belong: there are enough of them, and it is regular."""


def stepped(middles: Floats, turns: Sequence[int], size_mm: tuple[float, float]) -> Stepped:
    """Where blanks belong by where most of them are.

    Args:
        middles: of the boxes of their cuts, (k, 2) in mm.
        turns: quarter turns of each.
        size_mm: width and height of a blank as most of them lie.
    """
    rows, columns = (_lines(middles[:, axis], IN_LINE * size_mm[axis]) for axis in (1, 0))
    pattern, wanted = _turns(rows, columns, turns)
    belong = _on_one_lattice(middles, rows, columns, np.array(wanted))
    told = belong is not None
    if belong is None:
        belong, told = middles.copy(), True
        for turn in sorted(set(wanted)):
            own = np.flatnonzero(np.array(wanted) == turn)
            places = _in_line_by_turn(middles[own], rows[own], columns[own])
            told &= places is not None
            belong[own] = middles[own] if places is None else places
    gaps = _gaps(belong, rows, columns, wanted, pattern)
    return Stepped(tuple(wanted), belong, tuple(gaps), told)


def _lines(values: Floats, near_mm: float) -> Ints:
    """The number of the row (column) that each value lies in, from the lowest."""
    order = np.argsort(values)
    steps = np.diff(values[order]) > near_mm
    numbers = np.zeros(len(values), np.intp)
    numbers[order] = np.concatenate([[0], np.cumsum(steps)])
    return numbers


def _turns(rows: Ints, columns: Ints, turns: Sequence[int]) -> tuple[dict[int, int] | None, list[int]]:
    """What each class of the best pattern is turned by, and so each blank: as it lies, where no pattern fits."""
    best: tuple[int, int] | None = None
    chosen: tuple[dict[int, int], list[int]] | None = None
    for number, pattern in enumerate(PATTERNS):
        classes = [pattern(int(row), int(column)) for row, column in zip(rows, columns, strict=True)]
        counted = {each: Counter(t for t, c in zip(turns, classes, strict=True) if c == each) for each in set(classes)}
        clear = all(2 * count.most_common(1)[0][1] > count.total() for count in counted.values())
        wanted = {each: count.most_common(1)[0][0] for each, count in counted.items()}
        odd = sum(turn != wanted[each] for turn, each in zip(turns, classes, strict=True))
        if clear and odd <= max(1, MOST_ODD * len(turns)) and (best is None or odd < best[0]):
            best = odd, number
            chosen = wanted, [wanted[each] for each in classes]
    if best is None or chosen is None:
        return None, list(turns)
    return {100 * best[1] + each: turn for each, turn in chosen[0].items()}, chosen[1]


def _on_one_lattice(middles: Floats, rows: Ints, columns: Ints, turns: Ints) -> Floats | None:
    """Where blanks belong on the lattice that most are on: one step for all, and an offset for each turn.

    None where no lattice has enough of them: one more than fix it, and all but a quarter.
    """
    kinds = sorted(set(turns.tolist()))
    at = np.column_stack([*(turns == kind for kind in kinds), columns, rows]).astype(float)
    fix = int(np.linalg.matrix_rank(at))
    if len(middles) < max(TELLS, fix + 1):
        return None
    best, most = middles, 0
    for chosen in _samples(len(middles), fix):
        lattice = np.linalg.lstsq(at[chosen], middles[chosen], rcond=1e-9)[0]
        on = np.abs(at @ lattice - middles).max(1) <= IN_STEP_MM
        if on.sum() > most:
            lattice = np.linalg.lstsq(at[on], middles[on], rcond=1e-9)[0]
            best, most = at @ lattice, int(on.sum())
            if most == len(middles):
                break
    return best if most >= max(fix + (fix < len(middles) - 1), (1 - MOST_ODD) * len(middles)) else None


def _samples(count: int, size: int) -> Iterator[list[int]]:
    """Choices of so many out of a number; of very many the same few thousand each time."""
    if comb(count, size) <= MOST_TRIALS:
        yield from map(list, combinations(range(count), size))
        return
    chance = Random(0)
    for _ in range(MOST_TRIALS):
        yield chance.sample(range(count), size)


def _in_line_by_turn(middles: Floats, rows: Ints, columns: Ints) -> Floats | None:
    """Where blanks of one turn belong that make no even step: in line with their rows and columns."""
    if len(middles) < TELLS:
        return None
    lined = np.column_stack([_in_line(middles[:, 0], columns), _in_line(middles[:, 1], rows)])
    off = np.abs(lined - middles).max(1) > IN_STEP_MM
    return lined if off.sum() <= MOST_ODD * len(rows) else None


def _in_line(values: Floats, lines: Ints) -> Floats:
    found = values.copy()
    for line in set(lines.tolist()):
        own = lines == line
        if own.sum() >= 3:
            found[own] = np.median(values[own])
    return found


def _gaps(
    belong: Floats, rows: Ints, columns: Ints, wanted: Sequence[int], pattern: dict[int, int] | None
) -> list[tuple[int, float, float]]:
    """Crossings of rows and columns where no blank is."""
    taken = set(zip(rows.tolist(), columns.tolist(), strict=True))
    found = []
    for row in range(int(rows.max()) + 1):
        for column in range(int(columns.max()) + 1):
            if (row, column) in taken:
                continue
            turn = wanted[0]
            if pattern:
                number = next(iter(pattern)) // 100
                turn = pattern.get(100 * number + PATTERNS[number](row, column), turn)
            alike = np.array(wanted) == turn
            x = [belong[own, 0] for own in (alike & (columns == column), columns == column) if own.any()]
            y = [belong[own, 1] for own in (alike & (rows == row), rows == row) if own.any()]
            found.append((turn, float(np.median(x[0])), float(np.median(y[0]))))
    return found

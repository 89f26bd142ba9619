"""A die may hold anything: it is read in bounded time, or said not to have been read."""

from __future__ import annotations

import time
from itertools import pairwise

import numpy as np
import pytest

from preflight.carton.build_die import build_die
from preflight.carton.die import Die
from preflight.carton.lines.drawn_lines import DieLine
from tests.cartons import reverse_tuck
from tests.die_lines import carton_lines, line, rectangle

RANDOM = np.random.default_rng(7)
SLOW_MACHINE = 5
"""How much slower than the machine that the times were set on a test machine may be."""


def timed(lines: list[DieLine]) -> tuple[float, Die]:
    start = time.perf_counter()
    die = build_die(lines)
    return time.perf_counter() - start, die


def sheet(count: int) -> list[DieLine]:
    at = [(10 + 200 * (n % 10), 10 + 190 * (n // 10)) for n in range(count)]
    return [item for place in at for item in carton_lines(reverse_tuck(at=place))]


@pytest.mark.parametrize(("blanks", "seconds"), [(1, 0.05), (4, 0.15), (48, 1.0)], ids=["100", "400", "5000 segments"])
def test_usual_dies_are_quick(blanks, seconds):
    lines = sheet(blanks)
    build_die(lines[:4])  # what is loaded once is not what is timed
    taken, die = timed(lines)
    assert len(die.blanks) == blanks
    assert taken < seconds * SLOW_MACHINE


OVER_BOUND = {
    "one path of 200,000 pieces": [line(RANDOM.random((200_001, 2)) * 1000)],
    "200,000 lines": [line(points) for points in RANDOM.random((200_000, 2, 2)) * 1000],
    "long lines across each other": [line(points) for points in RANDOM.random((5000, 2, 2)) * 1000],
    "10,000 lines from one point": [line([(5, 5), (5 + 0.001 * n, 9)]) for n in range(10_000)],
    "1600 blanks": [
        item
        for n in range(1600)
        for x, y in [(30 * (n % 40), 30 * (n // 40))]
        for item in (line(rectangle(x, y, x + 25, y + 25)), line([(x + 10, y), (x + 10, y + 25)], "crease"))
    ],
}


@pytest.mark.parametrize("lines", OVER_BOUND.values(), ids=OVER_BOUND.keys())
def test_over_a_bound_is_said_and_no_hang(lines):
    taken, die = timed(lines)
    assert die.found == "none"
    assert die.uncertain
    assert taken < 4 * SLOW_MACHINE


ODD = {
    "nothing": [],
    "one point": [line([(1, 1)])],
    "no numbers": [line([(np.nan, 1), (1, np.inf)])],
    "far away": [line([(1e30, 1), (1, -1e30), (4, 4)])],
    "the same line 2000 times": [line([(5, 5), (50, 9)])] * 2000,
    "a filled line": [line([(0, 0), (5, 5), (0, 0)], filled=True, row=1)],
    "a bow tie": [line([(0, 0), (50, 50), (50, 0), (0, 50), (0, 0)], filled=True, row=1)],
    "creases only": [line([(0, n), (100, n)], "crease") for n in range(10)],
    "hatching": [line([(0, n), (n, 0)]) for n in range(1, 300)],
    "stipple": [line([(x, y), (x + 0.1, y)]) for x in range(60) for y in range(60)],
    "a grid of creases": [line(p, "crease") for n in range(40) for p in ([(n, 0), (n, 40)], [(0, n), (40, n)])],
    "spiral": [line(pair) for pair in pairwise([(t * np.cos(t), t * np.sin(t)) for t in np.arange(0, 60, 0.05)])],
}


@pytest.mark.parametrize("lines", ODD.values(), ids=ODD.keys())
def test_odd_lines_break_nothing(lines):
    taken, die = timed(lines)
    assert die.found in ("none", "read", "assumed")
    assert bool(die.blanks) == (die.found != "none")
    assert taken < 3 * SLOW_MACHINE


@pytest.mark.parametrize("seed", range(40))
def test_random_rubbish_breaks_nothing(seed):
    random = np.random.default_rng(seed)
    lines = [
        DieLine(
            np.round(random.random((random.integers(1, 6), 2)) * random.choice([1, 20, 200]), random.integers(0, 4)),
            random.choice(["cut", "crease", "perforate", "half-cut", "unknown"]),
            bool(random.random() < 0.2),
            dashed=bool(random.random() < 0.2),
            row=int(random.integers(-1, 5)),
        )
        for _ in range(random.integers(1, 80))
    ]
    die = build_die(lines)
    for blank in die.blanks:
        assert blank.outline.is_valid
        assert sum(edge.line.length for edge in blank.edges) == pytest.approx(blank.outline.length, abs=0.1)

"""Outlined type and codes told by boxes alone, on rows of boxes that stand in the test."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from preflight.measures import outlined_type
from preflight.measures.outlined_type import bar_codes, lines_of_type, matrix_code, without_holes

WORD = [(1.0, 2.0), (1.2, 2.0), (1.1, 3.0), (1.4, 2.0), (0.4, 3.0), (1.3, 2.0)]
"""Widths and heights of letters: small ones of 2 mm, and two with ascenders."""


def row(letters: list[tuple[float, float]], at: tuple[float, float] = (30.0, 40.0), gap: float = 0.3) -> list[Any]:
    """Boxes of letters side by side on a base line."""
    boxes, (x, y) = [], at
    for width, height in letters:
        boxes.append((x, y, x + width, y + height))
        x += width + gap
    return boxes


def found(boxes: list[Any], colours: list[int] | None = None) -> list[list[int]]:
    lines = lines_of_type(np.array(boxes, float).reshape(-1, 4), np.array(colours or [1] * len(boxes)))
    assert {line.what for line in lines} <= {"outlined type"}
    return [line.members.tolist() for line in lines]


def turned(boxes: list[Any], quarters: int) -> list[Any]:
    for _ in range(quarters):
        boxes = [(-y1, x0, -y0, x1) for x0, y0, x1, y1 in boxes]
    return boxes


@pytest.mark.parametrize("quarters", range(4))
def test_a_word_reads_as_type_whichever_way_it_runs(quarters):
    assert found(turned(row(WORD), quarters)) == [list(range(6))]


@pytest.mark.parametrize(
    ("letters", "reads"),
    [
        (WORD[:4], True),
        (WORD[:3], False),
        ([(1.0, 2.0)] * 6, False),
        ([(1.0, 2.0), (1.2, 2.0)] * 3, False),
        ([(1.0, 2.0), (1.2, 2.0), (1.4, 2.0)] * 2, True),
        ([(0.2 * w, 0.2 * h) for w, h in WORD], False),
        ([(0.24 * w, 0.24 * h) for w, h in WORD], True),
        ([(5.1 * w, 5.1 * h) for w, h in WORD], False),
        ([(4.9 * w, 4.9 * h) for w, h in WORD], True),
        ([(1.0, 2.0), (6.0, 2.0), (1.4, 3.0), (5.0, 2.0), (1.2, 3.0)], False),
        ([(1.0, 2.0), (5.2, 2.0), (1.4, 3.0), (1.1, 2.0), (1.2, 3.0)], True),
        ([(1.0, 1.4), (1.2, 1.8), (1.1, 2.2), (1.4, 2.6), (0.4, 3.0), (1.3, 1.6)], False),
    ],
    ids=["four letters", "three", "all alike", "of two shapes", "of three shapes", "too low", "just high enough",
         "too high", "just low enough", "too wide", "one of five is wide", "all of other heights"],
)  # fmt: skip
def test_what_reads_as_a_line_of_type(letters, reads):
    """Heights are from 0.7 to 15 mm."""
    boxes = row(letters, gap=0.1 * max(height for _, height in letters))
    assert found(boxes) == ([list(range(len(letters)))] if reads else [])


@pytest.mark.parametrize(("gap", "reads"), [(0.1, True), (1.4, True), (1.6, False), (-0.1, True), (-1.0, False)])
def test_letters_stand_close(gap, reads):
    """Up to half of a line's height, 3 mm, and hardly over each other."""
    assert bool(found(row(WORD, gap=gap))) is reads


def test_letters_of_a_line_have_one_colour():
    assert found(row(WORD), [1, 2, 1, 2, 1, 2]) == []
    both = row(WORD) + row(WORD, at=(30, 60))
    assert sorted(found(both, [1] * 6 + [2] * 6)) == [[0, 1, 2, 3, 4, 5], [6, 7, 8, 9, 10, 11]]


def test_two_lines_are_two_and_what_stands_far_off_belongs_to_none():
    boxes = [(80, 80, 81, 82), *row(WORD), *row(WORD, at=(33, 50)), (5, 5, 6, 7)]
    assert sorted(found(boxes)) == [[1, 2, 3, 4, 5, 6], [7, 8, 9, 10, 11, 12]]


def test_what_stands_between_and_beside_the_letters_of_a_line_belongs_to_it():
    """A hyphen, a letter that goes down by 1 mm and a comma at the end; lines over and under it do not."""
    hyphen, deep, comma = (32.55, 41.0, 32.75, 41.3), (38.0, 39.0, 38.8, 42.0), (38.5, 39.6, 38.7, 40.4)
    above, below = (30, 41.9, 37, 42.1), (30, 39.7, 37, 40.1)
    assert found([*row(WORD), hyphen, deep, comma, above, below]) == [list(range(9))]


def test_too_few_shapes_are_no_line():
    assert found([]) == []
    assert found(row(WORD)[:3]) == []


@pytest.mark.parametrize(
    ("low", "high", "reads"),
    [
        ([0, 0, 0, 0], [3, 3, 2, 2], True),
        ([0, 0, 0, 1], [3, 3, 2, 2], True),
        ([0, 0, 1, 1], [3, 3, 2, 2], False),
        ([0, 0, 0, 0], [3, 3, 2, 2.5], False),
        ([0, 0.1, 0, 0.12], [3, 3, 2, 2], True),
        ([0, 0.13, 0, 0.26], [3, 3, 2, 2], False),
        ([0] * 6 + [1] * 4, [3] * 5 + [2] * 5, True),
        ([0] * 5 + [1] * 5, [3] * 5 + [2] * 5, False),
        ([0] * 12, [3] * 5 + [2] * 4 + [2.3, 2.6, 1.5], True),
        ([0] * 12, [3] * 5 + [2] * 3 + [2.3, 2.6, 1.5, 1.2], False),
        ([0] * 4, [3] * 4, True),
    ],
    ids=["one base, two heights", "three of four", "two of four", "three heights", "round ones reach over", "steps",
         "six of ten", "five of ten", "nine of twelve", "eight of twelve", "one height"],
)  # fmt: skip
def test_letters_stand_on_one_line_and_end_at_one_of_two(low, high, reads):
    assert outlined_type._on_lines(np.array(low, float), np.array(high, float), 3.0) is reads or (
        bool(outlined_type._on_lines(np.array(low, float), np.array(high, float), 3.0)) is reads
    )


def test_the_level_is_where_most_values_are():
    values = np.array([5.0, 1.0, 1.5, 3.0, 1.25, 5.25])
    assert outlined_type._on_level(values, 0.25).tolist() == [False, True, True, False, True, False]


# Codes -------------------------------------------------------------------------------------------------------------


def bars(many: int, height: float = 12.0, unit: float = 0.33, at: tuple[float, float] = (20.0, 30.0)) -> list[Any]:
    """Bars of one, two and three units with one, two and three between them."""
    boxes, (x, y) = [], at
    for number in range(many):
        width, gap = unit * (1 + number % 3), unit * (1 + (number // 2) % 3)
        boxes.append((x, y, x + width, y + height))
        x += width + gap
    return boxes


def codes(boxes: list[Any], colours: list[int] | None = None) -> list[list[int]]:
    return [
        code.members.tolist() for code in bar_codes(np.array(boxes, float), np.array(colours or [1] * len(boxes)))
    ]  # fmt: skip


@pytest.mark.parametrize("lying", [False, True])
@pytest.mark.parametrize(("many", "is_code"), [(15, True), (14, False), (30, True)])
def test_fifteen_bars_side_by_side_are_a_code(many, is_code, lying):
    boxes = bars(many)
    if lying:
        boxes = [(y0, x0, y1, x1) for x0, y0, x1, y1 in boxes]
    assert [sorted(code) for code in codes(boxes)] == ([list(range(many))] if is_code else [])


@pytest.mark.parametrize(
    ("height", "unit", "is_code"),
    [(3.0, 0.33, True), (2.9, 0.33, False), (80.0, 0.33, True), (81.0, 0.33, False),
     (12.0, 1.3, True), (12.0, 1.4, False)],
    ids=["as short as bars are", "shorter", "as long as bars are", "longer", "as wide as bars are", "wider"],
)  # fmt: skip
def test_bars_are_long_and_narrow(height, unit, is_code):
    """From 3 to 80 mm, up to 4 mm wide and no wider than a third of their length."""
    found_codes = codes(bars(18, height, unit))
    assert bool(found_codes) is is_code


def test_bars_of_one_width_or_at_one_distance_are_none():
    even = [(20 + at, 30, 20.4 + at, 42) for at in range(20)]
    assert codes(even) == []
    widths = [(20 + 2 * at, 30, 20.3 + 2 * at + 0.3 * (at % 3), 42) for at in range(20)]
    assert codes(widths) != []  # the gaps differ with them
    at_one_distance, x = [], 20.0
    for number in range(20):
        width = 0.3 * (1 + number % 3)
        at_one_distance.append((x, 30, x + width, 42))
        x += width + 0.5
    assert codes(at_one_distance) == []


def test_bars_are_of_one_colour_and_about_as_long_as_each_other():
    boxes = bars(20)
    assert codes(boxes, [1, 2] * 10) == []
    longer = [(x0, y0 - (3.9 if at % 2 else 0), x1, y1) for at, (x0, y0, x1, y1) in enumerate(boxes)]
    assert len(codes(longer)) == 1
    too_long = [(x0, y0 - (4.5 if at % 2 else 0), x1, y1) for at, (x0, y0, x1, y1) in enumerate(boxes)]
    assert codes(too_long) == []
    beside = [
        (x0, y0 + (3.0 if at % 2 else 0), x1, y1 + (3.0 if at % 2 else 0)) for at, (x0, y0, x1, y1) in enumerate(boxes)
    ]
    assert codes(beside) == []


def test_two_codes_are_two():
    boxes = bars(16) + bars(17, at=(60, 30)) + bars(15, at=(20, 60))
    assert sorted(sorted(code) for code in codes(boxes)) == [
        list(range(16)), list(range(16, 33)), list(range(33, 48)),
    ]  # fmt: skip


def cells(columns: int, rows: int, side: float, at: tuple[float, float] = (30.0, 20.0)) -> Any:
    """Every second cell of a grid, and its corners."""
    return np.array([
        (at[0] + side * i, at[1] + side * j, at[0] + side * (i + 1), at[1] + side * (j + 1))
        for j in range(rows) for i in range(columns)
        if (i + j) % 2 == 0 or (i, j) in ((0, rows - 1), (columns - 1, 0), (columns - 1, rows - 1))
    ])  # fmt: skip


@pytest.mark.parametrize(
    ("boxes", "is_code"),
    [
        (cells(10, 10, 0.5), True),
        (cells(10, 8, 0.5)[:40], True),
        (cells(10, 8, 0.5)[:39], False),
        (cells(13, 9, 0.5), False),
        (cells(12, 9, 0.5), True),
        (cells(9, 13, 0.5), False),
        (cells(20, 20, 2.9), True),
        (cells(20, 20, 3.1), False),
        (cells(10, 10, 0.11), True),
        (cells(10, 10, 0.09), False),
        (cells(10, 10, 0.5) + np.random.default_rng(3).uniform(0, 0.2, (52, 1)), False),
    ],
    ids=["ten by ten", "forty cells", "fewer", "too wide", "wide", "too high", "as large as codes are", "larger",
         "small cells", "too small", "off the grid"],
)  # fmt: skip
def test_cells_on_a_grid_are_a_code(boxes, is_code):
    """Width to height from 0.7 to 1.4, up to 60 mm, cells of more than 0.1 mm."""
    assert matrix_code(boxes) is is_code


def test_cells_may_be_joined_to_bars():
    """Cells of 0.5 mm, two beside each other: a cell is as large as a shape is the narrower way."""
    bars_of_two = [(30.0 + 2 * i, 20.0 + j, 31.0 + 2 * i, 20.5 + j) for j in range(8) for i in range(5)]
    assert matrix_code(np.array([*bars_of_two, (39.5, 27.5, 40, 28)]))


def test_a_code_may_have_a_few_cells_off_its_grid():
    boxes = cells(10, 10, 0.5)
    boxes[5:9, [0, 2]] += 0.15
    assert matrix_code(boxes)
    boxes[5:14, [0, 2]] += 0.15
    assert not matrix_code(boxes)


@pytest.mark.parametrize(
    ("boxes", "left"),
    [
        ([(1, 2, 9, 8), (3, 4, 5, 6)], [0]),
        ([(3, 4, 5, 6), (1, 2, 9, 8), (2, 3, 4, 5)], [1]),
        ([(1, 2, 9, 8), (8, 4, 10, 6)], [0, 1]),
        ([(1, 2, 9, 8), (1, 2, 9, 8)], [0, 1]),
        ([(1, 2, 9, 8), (1, 2, 5, 8)], [0]),
        ([(1, 2, 9, 8)], [0]),
        ([], []),
    ],
    ids=["a counter", "two counters, the first before it", "not wholly in it", "twice the same", "along its side",
         "one", "none"],
)  # fmt: skip
def test_what_lies_in_another_shape_is_a_counter(boxes, left):
    assert without_holes(np.array(boxes, float).reshape(-1, 4)).tolist() == left

"""Rows that show nothing in a part of the page are left out of its document."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np

from preflight.artwork.platemaking.rows_in_window import RowsOutside

SOURCE = np.array([[0, 0, 0], [0, 1, 0], [2, 0, 1], [2, 1, 1], [0, 3, 0], [2, 0, 2], [2, 1, 2], [1, 0, 3]], np.int32)
"""Stream, row and matrix: stream 2 is placed twice, row 2 of stream 0 is not in the table."""
BOXES = np.array(
    [
        (0, 0, 5, 5), (30, 3, 35, 8), (1, 2, 3, 4), (60, 2, 63, 4), (20, 40, 25, 42), (30, 2, 33, 4), (70, 2, 73, 4),
        (90, 90, 91, 91),
    ],
    float,
)  # fmt: skip


def outside(*streams: int) -> RowsOutside:
    objects: Any = SimpleNamespace(source=SOURCE)
    return RowsOutside(objects, streams, BOXES)


def added(found: RowsOutside, box, left_out=None) -> dict[int, list[int]]:
    return {number: rows.tolist() for number, rows in found.added_to(left_out or {}, box).items()}


def test_rows_that_show_nowhere_in_the_window_are_left_out():
    assert added(outside(0, 2), (28, 0, 40, 10)) == {0: [0, 3], 2: [1]}
    assert added(outside(0, 2), (0, 0, 6, 6)) == {0: [1, 3], 2: [1]}
    assert added(outside(0, 2), (0, 0, 100, 100)) == {0: [], 2: []}


def test_a_row_that_shows_in_one_of_its_places_stays():
    assert added(outside(2), (68, 0, 80, 10)) == {2: [0]}
    assert added(outside(2), (28, 0, 40, 10)) == {2: [1]}


def test_a_millimetre_beside_the_window_is_in_it():
    assert added(outside(0), (6, 6, 10, 10)) == {0: [1, 3]}
    assert added(outside(0), (6.01, 6, 10, 10)) == {0: [0, 1, 3]}


def test_streams_that_are_painted_elsewhere_too_keep_all():
    assert added(outside(0), (28, 0, 40, 10)) == {0: [0, 3]}
    assert added(outside(), (28, 0, 40, 10)) == {}


def test_what_was_left_out_already_stays_left_out():
    given = {0: np.array([1, 2], np.int32), 7: np.array([4], np.int32)}
    assert added(outside(0, 2), (28, 0, 40, 10), given) == {0: [0, 1, 2, 3], 2: [1], 7: [4]}
    assert given[0].tolist() == [1, 2]

"""Where along a die line something is knocked out: pixels are those beside the line, and no others."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.artwork.page.plates import Plates
from preflight.measures.die_knocking_out import _set_near

DPI = 25.4
"""A pixel is 1 mm."""
ORIGIN = (100.0, 50.0)
ROWS, COLUMNS = 5, 7


def plates() -> Plates:
    x0, y0 = ORIGIN
    return Plates(("Cyan",), np.zeros((1, ROWS, COLUMNS), np.uint8), DPI, (x0, y0, x0 + COLUMNS, y0 + ROWS))


def found_from(row: int, column: int) -> set[tuple[int, int]]:
    """Pixels, and a ring of places outside them, from whose middles a set pixel is seen."""
    mask = np.zeros((ROWS, COLUMNS), bool)
    mask[row, column] = True
    places = [(r, c) for r in range(-2, ROWS + 2) for c in range(-2, COLUMNS + 2)]
    xy = np.array([(ORIGIN[0] + c + 0.5, ORIGIN[1] + ROWS - r - 0.5) for r, c in places])
    return {place for place, seen in zip(places, _set_near(plates(), mask, xy), strict=True) if seen}


@pytest.mark.parametrize(
    ("row", "column"), [(2, 3), (0, 0), (0, COLUMNS - 1), (ROWS - 1, 0), (ROWS - 1, COLUMNS - 1), (2, 0), (4, 3)]
)
def test_a_pixel_is_seen_from_itself_and_its_four_neighbours(row, column):
    cross = {(row, column), (row - 1, column), (row + 1, column), (row, column - 1), (row, column + 1)}
    assert found_from(row, column) == {(r, c) for r, c in cross if 0 <= r < ROWS and 0 <= c < COLUMNS}


def test_no_places():
    assert _set_near(plates(), np.ones((ROWS, COLUMNS), bool), np.zeros((0, 2))).tolist() == []

"""Where blanks belong by the step of most of them."""

import numpy as np
import pytest

from preflight.comparing.sheet.regular_step import stepped

SIZE = (100.0, 80.0)


def grid(rows: int, columns: int, step=(107.0, 86.5), lean: float = 0.0):
    places = [
        (20 + column * step[0] + lean * row, 15 + row * step[1]) for row in range(rows) for column in range(columns)
    ]
    return np.array(places)


def off(places, turns):
    """Numbers of blanks that are out of step, and of those that are turned."""
    step = stepped(places, turns, SIZE)
    away = np.abs(step.middles - places).max(1) > 0.05
    return np.flatnonzero(away).tolist(), [n for n, turn in enumerate(turns) if turn != step.turns[n]]


@pytest.mark.parametrize("lean", [0.0, 11.0])
@pytest.mark.parametrize("shape", [(3, 4), (2, 3), (1, 5), (6, 7)])
def test_the_odd_one_out(shape, lean):
    rows, columns = shape
    places = grid(rows, columns, lean=lean)
    assert off(places, [0] * len(places)) == ([], [])
    moved = places.copy()
    moved[3] += (0.3, -0.1)
    assert off(moved, [0] * len(places)) == ([3], [])


@pytest.mark.parametrize("pattern", [lambda r, c: r % 2, lambda r, c: c % 2, lambda r, c: (r + c) % 2])
def test_tumbled_patterns(pattern):
    places = grid(3, 4)
    turns = [2 * pattern(row, column) for row in range(3) for column in range(4)]
    places[:, 0] += np.array(turns) * 1.7  # turned ones stand off their own way
    assert off(places, turns) == ([], [])
    wrong = list(turns)
    wrong[5] = 2 - wrong[5]
    assert off(places, wrong)[1] == [5]


def test_columns_with_a_wider_gap_between():
    places = grid(4, 4)
    places[:, 0] += np.where(places[:, 0] > 200, 25.0, 0.0)
    assert off(places, [0] * 16) == ([], [])
    places[6, 0] += 0.3
    assert off(places, [0] * 16) == ([6], [])


def test_a_gap_is_a_crossing_without_a_blank():
    places = np.delete(grid(3, 4), 5, axis=0)
    ((turn, x, y),) = stepped(places, [0] * 11, SIZE).gaps
    assert turn == 0
    assert (x, y) == pytest.approx((127.0, 101.5))


@pytest.mark.parametrize(("count", "told"), [(1, False), (3, False), (4, True)])
def test_few_blanks_tell_no_step(count, told):
    assert stepped(grid(1, count), [0] * count, SIZE).told is told

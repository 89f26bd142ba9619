"""What a round of choosing blanks goes by: outlines side by side, the trim box, and what earlier rounds found."""

import numpy as np
import pytest
from shapely import Polygon, box

from preflight.carton.cells.choice_of_blanks import Choice, bounds_agree, merged, parallel_offset_mm
from tests.die_lines import circle

INNER = box(10, 20, 110, 80)


def around(left, bottom, right, top):
    return box(10 - left, 20 - bottom, 110 + right, 80 + top)


@pytest.mark.parametrize(
    ("outer", "offset"),
    [
        pytest.param(around(3, 3, 3, 3), 3, id="all round"),
        pytest.param(around(1.5, 1.5, 1.5, 1.5), 1.5, id="as near as may be"),
        pytest.param(around(1.4, 1.4, 1.4, 1.4), None, id="too near"),
        pytest.param(around(12, 12, 12, 12), 12, id="as far as may be"),
        pytest.param(around(12.1, 12.1, 12.1, 12.1), None, id="too far"),
        pytest.param(around(3, 3, 3, 9), 3, id="on three sides"),
        pytest.param(around(9, 3, 3, 9), None, id="on two sides that are half of it"),
        pytest.param(around(3, 3.4, 2.6, 3), 3, id="nearly"),
        pytest.param(around(3, 3.6, 3, 4.2), None, id="0.6 mm more and less than the middle"),
        pytest.param(around(2, 4, 3, 5), None, id="each side another way off"),
    ],
)
def test_an_outline_runs_beside_another_for_most_of_its_length(outer, offset):
    assert parallel_offset_mm(INNER, outer) == (offset if offset is None else pytest.approx(offset, abs=0.1))


def test_a_round_outline_in_a_square_one_is_not_parallel():
    assert parallel_offset_mm(Polygon(circle(50, 40, 20)), box(25, 15, 75, 65)) is None


@pytest.mark.parametrize(
    ("trim", "agree"),
    [
        ((10, 20, 110, 80), True),
        ((10.4, 19.6, 110.4, 79.6), True),
        ((10.5, 20, 110, 80), False),
        ((10, 20.5, 110, 80), False),
        ((10, 20, 109.5, 80), False),
        ((10, 20, 110, 80.5), False),
        ((0, 0, 100, 60), False),
    ],
)
def test_an_outline_agrees_with_the_trim_box_to_half_a_millimetre(trim, agree):
    assert bounds_agree(INNER, trim) is agree


def test_what_an_earlier_round_found_comes_first():
    one = Choice((1, 2), np.array([True]), None, ("a",), ("b",), ("c",))
    other = Choice((3,), None, np.array([False]), ("d",), ("e", "f"), ("g",))
    both = merged(one, other)
    assert (both.notes, both.assumed, both.alike) == (("a", "d"), ("b", "e", "f"), ("c", "g"))
    assert both.groups == (3,)
    assert both.drop is None
    assert both.fold is other.fold

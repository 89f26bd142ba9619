"""Matrices and boxes: values worked out by hand, for matrices that turn, mirror and slant."""

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.geometry import (
    EVERYWHERE,
    IDENTITY,
    NOWHERE,
    box_of,
    box_through,
    matrix_of,
    meeting,
    overlap,
    overlapping,
    singular_values,
    times,
)


def test_the_first_matrix_is_applied_first():
    """(a b c d e f) before (p q r s t u), term by term as in ISO 32000-2, 8.3.4."""
    assert times((1, 2, 3, 4, 5, 6), (7, 8, 9, 10, 11, 12)) == (25, 28, 57, 64, 100, 112)
    stretched, turned = (2, 0, 0, 3, 5, 7), (0, 1, -1, 0, 10, 20)
    a, b, c, d, e, f = times(stretched, turned)  # (1, 1) goes to (7, 10), and that to (0, 27)
    assert (a + c + e, b + d + f) == (0, 27)


@pytest.mark.parametrize(
    ("matrix", "box"),
    [
        (IDENTITY, (1, 2, 4, 6)),
        ((2, 0, 0, 3, 10, 1), (12, 7, 18, 19)),
        ((-2, 0, 0, 3, 10, 1), (2, 7, 8, 19)),
        ((2, 0, 0, -3, 10, 1), (12, -17, 18, -5)),
        ((0, 2, -3, 0, 10, 1), (-8, 3, 4, 9)),
        ((1, 0, 2, 1, 0, 0), (5, 2, 16, 6)),
        ((1, 2, 0, 1, 0, 0), (1, 4, 4, 14)),
    ],
    ids=["as it is", "stretched", "mirrored across", "mirrored upright", "turned", "slanted", "slanted upright"],
)
def test_a_box_through_a_matrix_is_the_box_of_its_corners(matrix, box):
    assert box_through(matrix, (1, 2, 4, 6)) == box


@pytest.mark.parametrize(
    ("other", "common"),
    [
        ((2, 3, 6, 9), (2, 3, 5, 7)),
        ((-4, -4, 3, 2), (0, 1, 3, 2)),
        ((1, 2, 3, 4), (1, 2, 3, 4)),
        ((5, 2, 9, 4), (5, 2, 5, 4)),  # a side in common
        ((1, 7, 3, 9), (1, 7, 3, 7)),
        ((5.1, 2, 9, 4), NOWHERE),
        ((1, 7.1, 3, 9), NOWHERE),
        (EVERYWHERE, (0, 1, 5, 7)),
    ],
)
def test_what_two_boxes_have_in_common(other, common):
    assert overlap((0, 1, 5, 7), other) == common
    assert overlap(other, (0, 1, 5, 7)) == common


def test_singular_values_are_the_shorter_and_the_longer_half_axis_of_what_a_circle_becomes():
    golden = (5**0.5 + 1) / 2  # of a slant by its own length
    small, large = singular_values(
        np.array([(3, 0, 0, 0.5), (0, 4, -2, 0), (0, 2, 4, 0), (1, 0, 1, 1), (1, 1, 0, 1), (1, 2, 2, 4)], float)
    )
    assert small == pytest.approx([0.5, 2, 2, golden - 1, golden - 1, 0], abs=1e-6)
    assert large == pytest.approx([3, 4, 4, golden, golden, 5])


@pytest.mark.parametrize(
    ("array", "box"),
    [
        (Array([1, 2, 30, 40]), (1, 2, 30, 40)),
        (Array([30, 2, 1, 40]), (1, 2, 30, 40)),
        (Array([1, 40, 30, 2]), (1, 2, 30, 40)),
        (Array([1, 2, 30, 40, 99]), (1, 2, 30, 40)),
        (Array([1, 2, 30]), None),
        (Array([1, Name.Two, 30, 40]), None),
        (Dictionary(), None),
        (5, None),
        (None, None),
    ],
)
def test_a_box_is_four_numbers_with_corners_in_any_order(array, box):
    assert box_of(array) == box


@pytest.mark.parametrize(
    ("array", "matrix"),
    [
        (Array([1, 2, 3, 4, 5, 6]), (1, 2, 3, 4, 5, 6)),
        (Array([1, 2, 3, 4, 5, 6, 7]), (1, 2, 3, 4, 5, 6)),
        (Array([1, 2, 3, 4, 5]), IDENTITY),
        (Array([1, 2, Name.Three, 4, 5, 6]), IDENTITY),
        (7, IDENTITY),
        (None, IDENTITY),
    ],
)
def test_a_matrix_is_six_numbers_and_else_changes_nothing(array, matrix):
    assert matrix_of(array) == matrix


AROUND = {
    "left": ((1, 5, 3, 8), (1, 5, 2.9, 8)),
    "right": ((7, 5, 9, 8), (7.1, 5, 9, 8)),
    "below": ((4, 1, 6, 4), (4, 1, 6, 3.9)),
    "above": ((4, 9, 6, 11), (4, 9.1, 6, 11)),
}


@pytest.mark.parametrize(("touching", "apart"), AROUND.values(), ids=AROUND)
def test_boxes_that_touch_meet_and_do_not_overlap(touching, apart):
    own = (3, 4, 7, 9)
    boxes = np.array([touching, apart, (4, 5, 5, 6), (0, 0, 20, 20)], float)
    assert overlapping(boxes, own).tolist() == [False, False, True, True]
    assert meeting(boxes, own).tolist() == [True, False, True, True]


@pytest.mark.parametrize(("touching", "apart"), AROUND.values(), ids=AROUND)
def test_boxes_as_near_as_a_margin_meet(touching, apart):
    boxes = np.array([apart], float)
    assert meeting(boxes, (3, 4, 7, 9), 0.11).tolist() == [True]
    assert meeting(boxes, (3, 4, 7, 9), 0.09).tolist() == [False]

"""Renderings that were made finer than asked for, brought down."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.artwork.platemaking.downsampling import downsampled


def levels(rows: list[list[int]]) -> np.ndarray:
    """A channel with these levels, and two others that are told from it."""
    own = np.array(rows, np.uint8)
    return np.stack([own, own // 2, np.full_like(own, 9)], axis=2)


def test_each_square_becomes_its_mean():
    found = downsampled(levels([[0, 4, 10, 20, 1, 1], [8, 12, 30, 40, 1, 3]]), 2, sharp=False)
    assert found[:, :, 0].tolist() == [[6, 25, 2]]  # 1.5 is rounded to even
    assert found[:, :, 1].tolist() == [[3, 12, 0]]
    assert found[:, :, 2].tolist() == [[9, 9, 9]]
    assert found.dtype == np.uint8


def test_rows_are_not_taken_for_columns():
    found = downsampled(levels([[255] * 3] * 3 + [[0, 0, 90]] + [[0, 0, 0]] * 2), 3, sharp=False)
    assert found[:, :, 0].tolist() == [[255], [10]]


@pytest.mark.parametrize("sharp", [False, True])
def test_what_is_no_finer_stays_as_it_is(sharp):
    channels = levels([[1, 200, 3], [4, 5, 6]])
    assert (downsampled(channels, 1, sharp=sharp) == channels).all()


def sharply(rows: list[list[int]]) -> list[list[int]]:
    found: list[list[int]] = downsampled(np.repeat(np.array(rows, np.uint8)[..., None], 3, 2), 2, sharp=True)[
        :, :, 1
    ].tolist()
    return found


def test_an_upright_line_goes_as_a_level_one_does():
    assert sharply([[0, 200, 0, 0]] * 4) == [[0, 0], [0, 0]]
    assert sharply([[0] * 4, [200] * 4, [0] * 4, [0] * 4]) == [[0, 0], [0, 0]]


def test_a_square_of_two_pixels_stays_wherever_it_lies():
    assert sharply([[0] * 6, [0] * 6, [0, 0, 0, 80, 80, 0], [0, 0, 0, 80, 80, 0]]) == [[0, 0, 0], [0, 40, 40]]


def test_a_gap_of_one_pixel_closes_each_way_and_one_of_two_stays():
    row = [200, 200, 0, 200, 200, 200, 0, 0, 200, 200]
    assert sharply([row] * 2) == [[200, 200, 200, 0, 200]]
    assert sharply([[level] * 2 for level in row]) == [[200], [200], [200], [0], [200]]


def test_at_the_border_nothing_is_taken_off():
    assert sharply([[90, 90, 0, 0], [90, 90, 0, 0], [0] * 4, [0] * 4]) == [[90, 0], [0, 0]]
    assert sharply([[0] * 4, [0] * 4, [0, 0, 90, 90], [0, 0, 90, 90]]) == [[0, 0], [0, 90]]

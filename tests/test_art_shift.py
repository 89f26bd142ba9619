"""Shifts of plates to a hundredth of a pixel, edited or not."""

import numpy as np
import pytest

from preflight.comparing.sheet.art_shift import shift_of

FINER = 8


def drawn(right: float = 0.0, down: float = 0.0, *, edited: bool = False, seed: int = 1):
    """Bars and blocks, each pixel with as much ink as is covered of it."""
    chance = np.random.default_rng(seed)
    fine = np.zeros((240 * FINER, 320 * FINER), np.float32)
    for _ in range(40):
        x, y, width, height = (chance.uniform(*span) * FINER for span in ((20, 280), (20, 200), (1, 40), (1, 40)))
        level = chance.uniform(60, 255)
        top, left = round(y + down * FINER), round(x + right * FINER)
        fine[top : top + round(height), left : left + round(width)] = level
    if edited:
        fine[40 * FINER : 70 * FINER, 60 * FINER : 120 * FINER] = 0
    return np.rint(fine.reshape(240, FINER, 320, FINER).mean((1, 3))).astype(np.uint8)


@pytest.mark.parametrize("edited", [False, True])
@pytest.mark.parametrize(("right", "down"), [(0, 0), (0.125, 0), (0.5, -0.25), (1.75, 1), (-3, 4.5), (5, 2)])
def test_shifts(right, down, edited):
    old, new = drawn(), drawn(right, down, edited=edited)
    found = shift_of(old, new, np.ones(old.shape, bool))
    assert (found.right, found.down) == pytest.approx((right, down), abs=0.06)
    assert found.weight > 0


def test_an_even_tint_tells_nothing():
    even = np.full((100, 120), 90, np.uint8)
    assert shift_of(even, even, np.ones(even.shape, bool)).weight == 0


def test_edges_of_one_direction_tell_a_shift_across_them():
    old = np.zeros((100, 120), np.uint8)
    old[:, 40:60] = 200
    found = shift_of(old, np.roll(old, 2, axis=1), np.ones(old.shape, bool))
    assert (found.right, found.down) == pytest.approx((2, 0), abs=0.06)


def test_outside_of_the_mask_nothing_counts():
    old, new = drawn(), drawn()
    mask = np.ones(old.shape, bool)
    mask[:, 160:] = False
    new[:, 168:] = drawn(3, 3)[:, 168:]
    found = shift_of(old, new, mask)
    assert (found.right, found.down) == pytest.approx((0, 0), abs=0.02)

"""Pixel masks against slow, plain versions of the same arithmetic."""

import numpy as np
import pytest

from preflight.measures import masks


def by_hand_taken_off(mask, radius):
    result = np.zeros_like(mask)
    reach = int(radius)
    for r, c in zip(*np.nonzero(mask), strict=True):
        ok = True
        for dr in range(-reach, reach + 1):
            for dc in range(-reach, reach + 1):
                if dr * dr + dc * dc <= radius * radius:
                    rr, cc = r + dr, c + dc
                    ok &= bool(0 <= rr < mask.shape[0] and 0 <= cc < mask.shape[1] and mask[rr, cc])
        result[r, c] = ok
    return result


def by_hand_regions(mask):
    left, found = mask.copy(), []
    while left.any():
        stack, count = [tuple(np.argwhere(left)[0])], 0
        left[stack[0]] = False
        while stack:
            r, c = stack.pop()
            count += 1
            for rr in range(max(0, r - 1), min(mask.shape[0], r + 2)):
                for cc in range(max(0, c - 1), min(mask.shape[1], c + 2)):
                    if left[rr, cc]:
                        left[rr, cc] = False
                        stack.append((rr, cc))
        found.append(count)
    return sorted(found, reverse=True)


@pytest.mark.parametrize("radius", [0.5, 1, 1.5, 2.36])
def test_taken_off_is_erosion_by_a_disc(radius):
    mask = np.random.default_rng(4).random((30, 41)) < 0.93
    assert (masks.taken_off(mask, radius) == by_hand_taken_off(mask, radius)).all()


def test_growing_is_taking_off_the_rest():
    mask = np.zeros((20, 20), bool)
    mask[9, 9] = True
    assert masks.put_on(mask, 2).sum() == 13


def test_fringes_go_and_bodies_stay():
    mask = np.zeros((40, 40), bool)
    mask[5:25, 5:25] = True
    mask[30, :] = True
    left = masks.without_fringes(mask, 1)
    assert left[10:20, 10:20].all()
    assert not left[30].any()


@pytest.mark.parametrize("density", [0.02, 0.3, 0.45, 0.6, 1.0])
def test_regions_agree_with_flood_filling(density):
    mask = np.random.default_rng(7).random((37, 53)) < density
    found = masks.regions(mask)
    assert [region.pixels for region in found] == by_hand_regions(mask)
    for region, own_pixels in masks.parts(mask):
        own = np.zeros_like(mask)
        own[slice(*region.rows), slice(*region.columns)] = own_pixels
        assert own.sum() == region.pixels
        assert not (own & ~mask).any()
        rows, columns = np.nonzero(own)
        assert (rows.min(), rows.max() + 1) == region.rows
        assert (columns.min(), columns.max() + 1) == region.columns


def test_nothing_has_no_regions():
    assert masks.regions(np.zeros((4, 4), bool)) == []


def test_solid_squares():
    mask = np.zeros((6, 6), bool)
    mask[1:4, 2:5] = True
    assert np.argwhere(masks.solid_squares(mask, 3)).tolist() == [[1, 2]]


@pytest.mark.parametrize(("tint", "counts"), [(4, False), (5, True), (255, True)])
def test_two_per_cent_is_five_steps(tint, counts):
    assert masks.inked(np.array([[tint]], np.uint8), 2)[0, 0] == counts

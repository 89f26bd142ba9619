"""Pixel masks, held against scipy.ndimage."""

import numpy as np
import pytest
from scipy import ndimage

from preflight.measures.raster import masks

AND_CORNERS = np.ones((3, 3))


def disc(radius):
    reach = int(radius)
    down, across = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    return down**2 + across**2 <= radius**2


def noise(density, shape=(137, 153), seed=4):
    return np.random.default_rng(seed).random(shape) < density


@pytest.mark.parametrize("radius", [0.5, 1, 1.5, 2.36, 6])
@pytest.mark.parametrize("density", [0.05, 0.97])
def test_masks_shrink_and_grow_by_a_disc(radius, density):
    mask = noise(density)
    assert (masks.taken_off(mask, radius) == ndimage.binary_erosion(mask, disc(radius))).all()
    assert (masks.put_on(mask, radius) == ndimage.binary_dilation(mask, disc(radius))).all()


@pytest.mark.parametrize("side", [2, 3])
def test_levels_are_opened_by_a_square(side):
    levels = np.pad(np.random.default_rng(5).integers(0, 256, (60, 70), np.uint8), 2 * side)  # bare board round it
    assert (masks.opened(levels, side) == ndimage.grey_opening(levels, (side, side))).all()


def test_the_strongest_around_is_that_of_nine_pixels():
    levels = np.random.default_rng(6).integers(0, 256, (60, 70), np.uint8)
    assert (masks.strongest_around(levels) == ndimage.maximum_filter(levels, 3, mode="constant")).all()


@pytest.mark.parametrize("side", [3, 7])
def test_tiles_hold_all_of_a_mask_and_the_fullest_come_first(side):
    mask = noise(0.01, (40, 53))
    tiles = masks.tiles(mask, side)
    count = [int(mask[tile].sum()) for tile in tiles]
    assert min(count) > 0
    assert count == sorted(count, reverse=True)
    assert sum(count) == mask.sum()


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
def test_regions_are_what_hangs_together(density):
    mask = noise(density, seed=7)
    labels, _ = ndimage.label(mask, AND_CORNERS)
    found = masks.regions(mask)
    assert [region.pixels for region in found] == sorted(np.bincount(labels.ravel())[1:].tolist(), reverse=True)
    boxes = [((rows.start, rows.stop), (columns.start, columns.stop)) for rows, columns in ndimage.find_objects(labels)]
    assert sorted((region.rows, region.columns) for region in found) == sorted(boxes)
    assert all(mask[region.first] for region in found)
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

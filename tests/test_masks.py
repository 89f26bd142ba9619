"""Pixel masks, held against scipy.ndimage."""

from typing import Any

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


@pytest.mark.parametrize(("percent", "least"), [(0, 1), (0.3, 1), (2, 5), (3, 7), (10, 25), (50, 127), (99, 252)])
def test_the_least_level_that_is_inked(percent, least):
    """A tint in % of 255 levels, rounded down; bare board never is."""
    levels = np.array([[least - 1, least, 255]], np.uint8)
    assert masks.inked(levels, percent).tolist() == [[False, True, True]]


def within(height, width, top, left, bottom, right):
    mask = np.zeros((height, width), bool)
    mask[top:bottom, left:right] = True
    return mask


EDGED = within(11, 14, 2, 3, 8, 10)
"""6 x 7 pixels: 22 along the edge, 14 further in, 6 in the middle."""


def edged(outer, inner, middle):
    """Levels of the pixels along the edge of the mask above, of those next to them, and of the middle."""
    levels = np.zeros(EDGED.shape, np.uint8)
    levels[2:8, 3:10], levels[3:7, 4:9], levels[4:6, 5:8] = outer, inner, middle
    return levels


@pytest.mark.parametrize(
    ("outer", "inner", "middle", "expected"),
    [
        (200, 200, 200, 42 * 200),
        (30, 200, 200, 38 * 200 + 4 * 30),
        (30, 80, 200, 6 * 200 + (10 * 200 + 4 * 80) + (10 * 200 + 8 * 80 + 4 * 30)),
        (30, 79, 200, 6 * 200 + 14 * 79 + (18 * 79 + 4 * 30)),
        (30, 220, 200, 6 * 200 + 14 * 220 + (18 * 220 + 4 * 30)),
        (90, 20, 10, 6 * 10 + 14 * 20 + 22 * 90),
        (50, 0, 0, 22 * 50),
        (0, 0, 0, 0),
    ],
    ids=["even", "an edge that is hardly touched", "two fifths of what is beside", "less than that",
         "darker towards the edge", "dark at the edge only", "ink at the edge only", "no ink"],
)  # fmt: skip
def test_pixels_along_an_edge_are_as_full_as_those_beside_them(outer, inner, middle, expected):
    """Corners have none beside them. Of a solid that ends on the edge only a part of these pixels is covered."""
    levels = edged(outer, inner, middle)
    found = masks.EdgePixels.of(EDGED).cover(levels, int(levels.sum()), 42)
    assert found == pytest.approx(expected / 255 / 42)


@pytest.mark.parametrize("side", ["left", "right", "top", "bottom"])
def test_each_side_is_filled_from_what_lies_inward_of_it(side):
    levels = np.zeros(EDGED.shape, np.uint8)
    ways: dict[str, Any] = {
        "left": np.s_[3:7, 4], "right": np.s_[3:7, 8], "top": np.s_[3, 4:9], "bottom": np.s_[6, 4:9],
    }  # fmt: skip
    levels[ways[side]] = 100
    own = {"left": 4, "right": 4, "top": 5, "bottom": 5}[side]
    # The two ends of the row are beside a pixel of another side each.
    assert masks.EdgePixels.of(EDGED).missing(levels) == (own + 2) * 100


@pytest.mark.parametrize("mask", [np.zeros((5, 7), bool), within(5, 7, 2, 1, 3, 6), within(5, 7, 0, 4, 5, 5)])
def test_a_mask_without_an_inside_lacks_nothing(mask):
    levels = np.where(mask, 60, 250).astype(np.uint8)
    edge = masks.EdgePixels.of(mask)
    assert edge.missing(levels) == 0
    assert edge.cover(levels, 60 * int(mask.sum()), int(mask.sum())) == pytest.approx(60 / 255 if mask.any() else 0)


def test_the_inside_of_a_mask_that_fills_the_plate():
    """Row 0 and the last one are an edge as well."""
    mask = np.ones((4, 6), bool)
    levels = np.zeros((4, 6), np.uint8)
    levels[1:3, 1:5] = 100
    assert masks.EdgePixels.of(mask).missing(levels) == 12 * 100


@pytest.mark.parametrize("density", [0.5, 0.9, 1.0])
def test_what_is_surrounded_is_what_is_left_when_a_pixel_is_taken_off(density):
    mask = noise(density, (37, 53))
    assert (masks._surrounded(mask) == masks.taken_off(mask, 1)).all()


@pytest.mark.parametrize("side", [1, 2, 3, 5, 40])
def test_coarse_squares_have_the_greatest_value_in_them(side):
    values = np.random.default_rng(8).integers(0, 999, (17, 23)).astype(np.uint16)
    found = masks.coarse(values, side)
    assert found.dtype == np.uint16
    assert found.tolist() == [
        [int(values[top : top + side, left : left + side].max()) for left in range(0, 23, side)]
        for top in range(0, 17, side)
    ]


def test_tiles_are_cut_off_at_the_ends():
    mask = np.zeros((5, 7), bool)
    mask[0, 1] = mask[4, 6] = mask[3, 6] = mask[3:5, 3:5] = True
    assert masks.tiles(mask, 3) == [
        (slice(3, 5), slice(3, 6)), (slice(3, 5), slice(6, 7)), (slice(0, 3), slice(0, 3)),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("pixels", "expected"),
    [(0, (slice(2, 5), slice(3, 7))), (1, (slice(1, 6), slice(2, 8))), (3, (slice(0, 8), slice(0, 10)))],
)
def test_around_a_mask_are_some_pixels_more(pixels, expected):
    assert masks.around(within(9, 12, 2, 3, 5, 7), pixels) == expected


def test_around_nothing_is_nothing():
    rows, columns = masks.around(np.zeros((4, 5), bool), 2)
    assert np.ones((4, 5))[rows, columns].size == 0


@pytest.mark.parametrize("shape", [(2, 9), (9, 2), (3, 3)])
def test_there_are_no_squares_larger_than_the_mask(shape):
    assert not masks.solid_squares(np.ones(shape, bool), 4).any()


def test_every_solid_square_is_found_up_to_the_last_row_and_column():
    mask = noise(0.8, (12, 17))
    corners = [(y, x) for y in range(10) for x in range(15) if mask[y : y + 3, x : x + 3].all()]
    assert [tuple(corner) for corner in np.argwhere(masks.solid_squares(mask, 3)).tolist()] == corners
    assert len(corners) > 3


def test_a_region_knows_its_rows_and_columns():
    mask = within(9, 12, 2, 3, 4, 8)
    mask[6, 1] = mask[7, 2] = True  # joined by a corner
    large, small = masks.regions(mask)
    assert (large.rows, large.columns, large.pixels, large.first) == ((2, 4), (3, 8), 10, (2, 3))
    assert (small.rows, small.columns, small.pixels) == ((6, 8), (1, 3), 2)
    assert large.slices == (slice(2, 4), slice(3, 8))


def test_two_pixels_with_one_between_them_do_not_hang_together():
    mask = np.zeros((5, 9), bool)
    mask[1, 1] = mask[1, 3] = mask[3, 1] = True
    assert [region.pixels for region in masks.regions(mask)] == [1, 1, 1]


def test_rows_do_not_hang_together_round_the_edge_of_the_plate():
    mask = np.zeros((4, 6), bool)
    mask[1, 5] = mask[2, 0] = True
    assert len(masks.regions(mask)) == 2


def test_arms_that_meet_at_last_are_one_region():
    """A comb upside down: seven teeth, joined in the last row."""
    mask = np.zeros((8, 15), bool)
    mask[1:7, 1::2] = True
    mask[7, 1:14] = True
    assert [region.pixels for region in masks.regions(mask)] == [7 * 6 + 13]

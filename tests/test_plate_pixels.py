"""Where page places lie in the pixels of plates, and back."""

import numpy as np
import pytest
import shapely

from preflight.artwork.page.plates import Plates

PLATES = Plates(("Black",), np.arange(200, dtype=np.uint8).reshape(1, 10, 20), 25.4, (5.0, 100.0, 25.0, 110.0))
"""A pixel is a millimetre; row 0 is from y 109 to 110."""


def span(side: slice) -> tuple[int, int]:
    return (side.start, side.stop)


@pytest.mark.parametrize(
    ("box", "rows", "columns"),
    [
        ((6.0, 107.0, 8.0, 109.0), (1, 3), (1, 3)),
        ((6.5, 107.5, 8.5, 108.5), (1, 3), (1, 4)),
        ((6.0 - 1e-9, 107.0 - 1e-9, 8.0 + 1e-9, 109.0 + 1e-9), (1, 3), (1, 3)),  # a hair's breadth
        ((0.0, 0.0, 99.0, 999.0), (0, 10), (0, 20)),
        ((7.0, 105.0, 7.0, 105.0), (5, 5), (2, 2)),  # no area
        ((30.0, 105.0, 40.0, 106.0), (4, 5), (20, 20)),  # off the plates
        ((-9.0, 120.0, 1.0, 130.0), (0, 0), (0, 0)),
    ],
)
def test_a_box_is_the_pixels_that_it_meets(box, rows, columns):
    found = PLATES.slices(box)
    assert (span(found[0]), span(found[1])) == (rows, columns)


def test_pixels_round_it_come_too():
    rows, columns = PLATES.slices((6.0, 107.0, 8.0, 109.0), round_px=2)
    assert (span(rows), span(columns)) == ((0, 5), (0, 5))


def test_pixels_are_a_box_again():
    assert PLATES.box(*PLATES.slices((6.2, 107.2, 7.8, 108.8))) == pytest.approx((6, 107, 8, 109))


def test_middles_lie_in_their_pixels():
    row, column = np.array([0, 9]), np.array([0, 19])
    middles = PLATES.middles(row, column)
    assert middles.tolist() == [[5.5, 109.5], [24.5, 100.5]]
    assert (PLATES.pixels_at(middles) == [row, column]).all()


@pytest.mark.parametrize("box", [(6.0, 107.0, 8.0, 109.0), (7.0, 105.0, 7.0, 105.0), (30.0, 90.0, 40.0, 95.0)])
def test_what_is_within_a_box_has_a_pixel_at_least(box):
    part = PLATES.within(box)
    assert min(part.ink.shape[1:]) >= 1
    x, y = part.middles(np.array([0]), np.array([0]))[0]
    assert part.ink[0, 0, 0] == PLATES.ink[0][tuple(PLATES.pixels_at(np.array([[x, y]]))[:, 0])]


def test_around_a_shape_is_a_pixel_more():
    part = PLATES.around(shapely.box(7, 102, 9, 104))
    assert part.box_mm == pytest.approx((6, 101, 10, 105))
    assert part.ink[0, 0, 0] == PLATES.ink[0, 5, 1]


def test_a_mask_has_the_pixels_inside_a_shape_and_none_of_its_holes():
    shape = shapely.box(7, 102, 15, 109).difference(shapely.box(9, 104, 13, 107))
    mask = PLATES.mask_of(shape)
    assert PLATES.box_of(mask) == pytest.approx((7, 102, 15, 109), abs=1.01)
    assert not mask[tuple(PLATES.pixels_at(np.array([[11.0, 105.5]]))[:, 0])]
    assert mask[tuple(PLATES.pixels_at(np.array([[7.5, 105.5]]))[:, 0])]
    assert not PLATES.mask_of(shapely.box(50, 50, 60, 60)).any()

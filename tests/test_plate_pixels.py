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


FINE = Plates(("Fern", "Moss"), np.arange(120, dtype=np.uint8).reshape(2, 6, 10), 50.8, (20.0, 30.0, 25.0, 33.0))
"""Half a millimetre a pixel, ten across and six down."""


def test_pixels_of_half_a_millimetre():
    assert FINE.mm_per_px == 0.5
    assert FINE.to_px(np.array([(20.0, 33.0), (21.25, 30.5), (25.0, 30.0)])).tolist() == [[0, 0], [2.5, 5], [10, 6]]
    assert FINE.pixels_at(np.array([(21.2, 30.6), (24.9, 32.9)])).tolist() == [[4, 0], [2, 9]]
    assert FINE.pixels_at(np.array([(19.9, 33.1)])).tolist() == [[-1], [-1]]
    assert FINE.middles(np.array([0, 5]), np.array([3, 9])).tolist() == [[21.75, 32.75], [24.75, 30.25]]
    assert FINE.box(slice(1, 3), slice(4, 9)) == (22.0, 31.5, 24.5, 32.5)


@pytest.mark.parametrize(
    ("box", "rows", "columns"),
    [
        ((21.0, 30.5, 22.5, 32.0), (2, 5), (2, 5)),
        ((21.1, 30.6, 22.4, 31.9), (2, 5), (2, 5)),
        ((20.9, 30.4, 22.6, 32.1), (1, 6), (1, 6)),
        ((24.7, 32.7, 99.0, 99.0), (0, 1), (9, 10)),
        ((-9.0, -9.0, 20.3, 30.3), (5, 6), (0, 1)),
        ((21.0, 10.0, 22.0, 20.0), (6, 6), (2, 4)),
    ],
)
def test_a_box_in_pixels_of_half_a_millimetre(box, rows, columns):
    found = FINE.slices(box)
    assert (span(found[0]), span(found[1])) == (rows, columns)


def test_a_pixel_round_it_is_left_out_at_the_edge():
    rows, columns = FINE.slices((20.0, 31.6, 20.6, 33.0), round_px=1)
    assert (span(rows), span(columns)) == ((0, 4), (0, 3))
    part = FINE.around(shapely.box(24.1, 30.1, 24.9, 30.9))
    assert part.ink.shape == (2, 3, 3)
    assert part.box_mm == (23.5, 30.0, 25.0, 31.5)


def test_a_plate_by_its_name():
    assert FINE.tint("Moss")[2, 3] == 60 + 23
    assert FINE.tint("Fern")[2, 3] == 23
    bare = FINE.tint("Oak")
    assert bare.shape == (6, 10)
    assert not bare.any()
    assert bare.dtype == np.uint8


@pytest.mark.parametrize(
    ("box", "first", "shape", "lies"),
    [
        ((21.0, 30.5, 22.5, 32.5), 12, (4, 3), (21.0, 30.5, 22.5, 32.5)),
        ((99.0, 0.0, 99.5, 1.0), 59, (1, 1), (24.5, 30.0, 25.0, 30.5)),
        ((0.0, 99.0, 1.0, 99.5), 0, (1, 1), (20.0, 32.5, 20.5, 33.0)),
        ((22.0, 31.0, 22.0, 31.0), 44, (1, 1), (22.0, 30.5, 22.5, 31.0)),
        ((0.0, 0.0, 99.0, 99.0), 0, (6, 10), (20.0, 30.0, 25.0, 33.0)),
    ],
    ids=["inside", "off, lower right", "off, upper left", "no area", "more than all"],
)
def test_the_part_within_a_box_knows_where_it_lies(box, first, shape, lies):
    part = FINE.within(box)
    assert (part.ink[0, 0, 0], part.ink.shape[1:], part.box_mm) == (first, shape, lies)


def test_a_part_that_reaches_over_the_plates_ends_with_them():
    part = FINE.part(slice(4, 99), slice(7, 99))
    assert part.ink[1].tolist() == [[107, 108, 109], [117, 118, 119]]
    assert part.box_mm == (23.5, 30.0, 25.0, 31.0)
    assert (part.names, part.dpi) == (FINE.names, FINE.dpi)


def test_the_box_of_a_mask_holds_its_outermost_pixels():
    mask = np.zeros((6, 10), bool)
    mask[1, 8] = mask[4, 3] = True
    assert FINE.box_of(mask) == (21.5, 30.5, 24.5, 32.5)
    with pytest.raises(ValueError, match="nothing"):
        FINE.box_of(np.zeros((6, 10), bool))


BENT = shapely.Polygon([(20.6, 30.1), (24.9, 30.1), (24.9, 31.4), (22.9, 31.4), (22.9, 32.9), (20.6, 32.9)])
HOLED = shapely.box(20.1, 30.1, 24.9, 32.9).difference(shapely.box(22.1, 31.1, 23.4, 31.9))


@pytest.mark.parametrize(
    "shape",
    [
        BENT,
        HOLED,
        shapely.union_all([shapely.box(20.1, 30.1, 21.4, 31.4), shapely.box(23.1, 31.1, 24.9, 32.9)]),
        shapely.GeometryCollection([shapely.box(22.1, 30.1, 24.9, 31.9), shapely.LineString([(20, 33), (25, 32)])]),
        shapely.box(24.1, 10, 99, 31.9),
    ],
    ids=["bent", "with a hole", "two", "and a line", "over the edge"],
)
def test_a_mask_is_true_to_a_pixel(shape):
    """All pixels that lie well inside, and none that lies well outside."""
    found, fine = FINE.mask_of(shape), FINE.mm_per_px
    row, column = (places.ravel() for places in np.mgrid[:6, :10])
    middles = shapely.points(FINE.middles(row, column))
    polygons = shapely.union_all([part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"])
    inside = shapely.contains(polygons.buffer(-fine), middles).reshape(6, 10)
    near = shapely.contains(polygons.buffer(1.1 * fine), middles).reshape(6, 10)
    assert inside.any()
    assert found[inside].all()
    assert not found[~near].any()

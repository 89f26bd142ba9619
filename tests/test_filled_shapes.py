"""Filled shapes of a die: their edge, or the middle of the band that a stroke was turned into."""

import numpy as np
import pytest
from shapely import LineString, Polygon

from preflight.carton.lines.filled_shapes import band_width_mm, edges_of_fills
from tests.die_lines import arrow, as_outline, line, rectangle


def fill(points, row=1, **keys):
    return line(points, filled=True, row=row, **keys)


def frame(x0, y0, x1, y1, by):
    """A rectangle and the one inside it, as one object."""
    return [fill(rectangle(x0, y0, x1, y1)), fill(rectangle(x0 + by, y0 + by, x1 - by, y1 - by))]


def test_strokes_stay_as_they_are():
    stroke = line(rectangle(1, 2, 30, 9), row=4)
    assert edges_of_fills([stroke]) == ([stroke], 0)
    assert edges_of_fills([]) == ([], 0)


@pytest.mark.parametrize(("width", "band"), [(0.1, True), (0.6, True), (0.61, False), (5, False)])
def test_how_wide_a_band_may_be(width, band):
    """A strip 50 mm long of width w is w * 50 / (50 + w) wide by its area and its edge; 0.6 mm and more is none."""
    (found,), bands = edges_of_fills([fill(rectangle(10, 20, 60, 20 + width), role="crease", drawn_in="Red")])
    assert bands == band
    assert not found.filled
    assert (found.role, found.drawn_in) == ("crease", "Red")
    assert found.width_mm == pytest.approx(width * 50 / (50 + width) if band else 0)
    assert found.length_mm == pytest.approx(50 if band else 2 * (50 + width))


def test_middle_of_a_stroke_with_flat_ends_is_exact():
    points = [(5, 7), (45, 7), (45, 30), (60, 41)]
    (found,), _ = edges_of_fills([as_outline(points, 0.5, "cut", 1)])
    assert found.points == pytest.approx(np.array(points), abs=1e-6) or found.points[::-1] == pytest.approx(
        np.array(points), abs=1e-6
    )


@pytest.mark.parametrize("width", [0.2, 0.5])
@pytest.mark.parametrize("points", [[(5, 7), (45, 7), (45, 30)], [(3, 4), (3, 90)], [(8, 1), (60, 12)]], ids=len)
def test_middle_of_a_stroke_with_round_ends_is_long_enough(points, width):
    (found,), bands = edges_of_fills([as_outline(points, width, "cut", 1, "round", "round")])
    drawn = LineString(points)
    assert bands == 1
    assert drawn.difference(LineString(found.points).buffer(0.12)).length < 0.1
    assert drawn.length - 0.2 <= found.length_mm <= drawn.length + 2 * width


def test_a_ring_has_the_line_between_its_edges():
    (found,), bands = edges_of_fills(frame(10, 20, 110, 80, 0.4))
    assert bands == 1
    assert found.closed
    assert Polygon(found.points).bounds == pytest.approx((10.2, 20.2, 109.8, 79.8))
    assert found.width_mm == pytest.approx(0.4)


def test_a_net_of_bands_has_its_cells():
    """A band 0.4 mm wide round the outside and one upright at x = 50."""
    rings = [rectangle(10, 20, 110, 80), rectangle(10.4, 20.4, 49.8, 79.6), rectangle(50.2, 20.4, 109.6, 79.6)]
    found, bands = edges_of_fills([fill(ring) for ring in rings])
    assert bands == 1
    cells = sorted(Polygon(item.points).bounds for item in found)
    assert cells[0] == pytest.approx((10.2, 20.2, 50, 79.8), abs=0.02)
    assert cells[1] == pytest.approx((50, 20.2, 109.8, 79.8), abs=0.02)


def test_a_hole_in_a_wide_shape_has_an_edge_of_its_own():
    found, bands = edges_of_fills(frame(10, 20, 110, 80, 15))
    assert bands == 0
    assert [Polygon(item.points).bounds for item in found] == [(10, 20, 110, 80), (25, 35, 95, 65)]


@pytest.mark.parametrize(
    ("row", "bounds"),
    [
        pytest.param(3, [(0, 0, 30, 20), (40, 0, 90, 20)], id="one object leaves out what its shapes share"),
        pytest.param(-1, [(0, 0, 40, 20), (30, 0, 90, 20)], id="no object"),
    ],
)
def test_only_subpaths_of_one_object_belong_together(row, bounds):
    found, _ = edges_of_fills([fill(rectangle(0, 0, 40, 20), row), fill(rectangle(30, 0, 90, 20), row)])
    assert sorted(Polygon(item.points).bounds for item in found) == bounds


def test_what_has_no_area_is_no_shape():
    assert edges_of_fills([fill([(1, 2), (30, 2)]), fill([(1, 2), (30, 2), (1, 2), (30, 2)], row=2)]) == ([], 0)


def test_arrow_heads_stay_filled():
    head = arrow(20, 30, 1, 0, 5)
    found, bands = edges_of_fills([head, fill(rectangle(0, 0, 40, 20), row=6)])
    assert found[0] is head
    assert bands == 0
    assert len(found) == 2


@pytest.mark.parametrize(
    ("shape", "width"),
    [
        (Polygon(rectangle(3, 4, 53, 6)), 2 * 100 / 104),
        (Polygon(rectangle(0, 0, 10, 10), [rectangle(1, 1, 9, 9)]), 2 * 36 / 72),
        (Polygon(), 0),
    ],
    ids=["strip", "ring", "nothing"],
)
def test_mean_width(shape, width):
    assert band_width_mm(shape) == pytest.approx(width)

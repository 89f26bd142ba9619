"""Where a page is looked at closely: windows and how finely they are drawn, and places of what is found."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely

from preflight.artwork.page.plates import Plates
from preflight.measures.raster import masks
from preflight.measures.raster.close_looks import apart, close_dpi, on_page, seen_closely, window_on, windows_on
from preflight.measures.raster.places import places_in, where_inked

MM_DPI = 25.4
PAGE: Any = SimpleNamespace(width_mm=100.0, height_mm=80.0)


@pytest.mark.parametrize(
    ("boxes", "most_px", "dpi"),
    [
        ([(10, 20, 35.4, 45.4)], 90_000, 300),
        ([(10, 20, 35.4, 45.4)], 89_990, 200),
        ([(10, 20, 35.4, 45.4)], 40_000, 200),
        ([(10, 20, 35.4, 45.4)], 39_990, 150),
        ([(10, 20, 35.4, 45.4)], 22_490, 100),
        ([(10, 20, 35.4, 45.4)], 10, 100),
        ([(10, 20, 35.4, 45.4), (50, 0, 75.4, 50.8)], 270_000, 300),
        ([(10, 20, 35.4, 45.4), (50, 0, 75.4, 50.8)], 269_990, 200),
        ([], 0, 300),
    ],
)
def test_as_fine_as_the_pixels_of_all_windows_allow(boxes, most_px, dpi):
    """A square inch at 300 dpi has 90,000; rounding is allowed for."""
    assert close_dpi(boxes, most_px + 1) == dpi


@pytest.mark.parametrize(
    ("box", "expected"),
    [
        ((10, 20, 30, 50), (10, 20, 30, 50)),
        ((-1, -2, 101, 82), (0, 0, 100, 80)),
        ((-1, 20, 30, 82), (0, 20, 30, 80)),
        ((110, 20, 120, 30), (110, 20, 100, 30)),
    ],
)
def test_what_of_a_box_lies_on_the_page(box, expected):
    assert on_page(PAGE, box) == expected


def job(inside: Any) -> Any:
    return SimpleNamespace(page=PAGE, inside_shape=inside)


@pytest.mark.parametrize(
    ("inside", "places", "expected"),
    [
        ((10, 20, 60, 70), [(30, 40, 35, 42)], [(29.5, 39.5, 35.5, 42.5)]),
        ((10, 20, 60, 70), [(0, 0, 90, 78)], [(9.5, 19.5, 60.5, 70.5)]),
        ((10, 20, 60, 70), [(2, 30, 9.1, 32)], [(9.5, 29.5, 9.6, 32.5)]),
        ((10, 20, 60, 70), [(2, 30, 8.9, 32), (61.1, 30, 70, 32), (20, 10, 30, 18.9), (20, 71.1, 30, 75)], []),
        ((0, 0, 100, 80), [(-5, -5, 3, 4), (98, 70, 110, 90)], [(0, 0, 3.5, 4.5), (97.5, 69.5, 100, 80)]),
        ((10, 20, 60, 70), [(30, 40, 35, 42), (35.9, 41, 40, 50)], [(29.5, 39.5, 40.5, 50.5)]),
        ((10, 20, 60, 70), [(30, 40, 35, 42), (36.1, 41, 40, 50)],
         [(29.5, 39.5, 35.5, 42.5), (35.6, 40.5, 40.5, 50.5)]),
        ((10, 20, 60, 70), [], []),
    ],
    ids=["with a margin", "cut to the inside", "just beside the cut", "off on all four sides", "cut to the page",
         "two that overlap", "two that do not", "none"],
)  # fmt: skip
def test_windows_hold_what_is_inside_the_cut(inside, places, expected):
    assert windows_on(job(shapely.box(*inside)), places) == [pytest.approx(box) for box in expected]


def test_there_are_no_more_windows_than_wanted():
    places = [(12 + 3 * at, 30 + at, 13 + 3 * at, 31 + at) for at in range(14)]
    assert len(windows_on(job(shapely.box(10, 20, 60, 70)), places)) <= 12
    assert len(windows_on(job(shapely.box(10, 20, 60, 70)), places[:12])) == 12
    assert len(windows_on(job(shapely.box(10, 20, 60, 70)), places, 3)) <= 3


REGION = masks.Region((10, 20), (30, 60), 400, (10, 30))
"""On a page with pixels of a millimetre: (30, 60) to (60, 70)."""
PLATES = Plates(("Rust",), np.zeros((1, 80, 100), np.uint8), MM_DPI, (0.0, 0.0, 100.0, 80.0))


@pytest.mark.parametrize(
    ("at", "side", "expected"),
    [
        ((45, 65), 100, (29.5, 59.5, 60.5, 70.5)),
        ((45, 65), 12, (39, 59.5, 51, 70.5)),
        ((32, 62), 4, (30, 60, 34, 64)),
        ((60, 70), 4, (58, 68, 60.5, 70.5)),
    ],
)
def test_a_window_holds_a_region_or_what_is_about_a_place_of_it(at, side, expected):
    assert window_on(PAGE, PLATES, REGION, at, side) == pytest.approx(expected)


def test_a_window_at_the_corner_of_the_page_ends_with_it():
    corner = masks.Region((0, 4), (95, 100), 20, (0, 95))
    assert window_on(PAGE, PLATES, corner, (97, 78), 40) == pytest.approx((94.5, 75.5, 100, 80))


class Looked:
    """A page whose windows hold ink with some kinds of edges."""

    def __init__(self, *inked: str):
        self.inked, self.asked = inked, list[Any]()

    def window(self, box, dpi, edges):
        self.asked.append((box, dpi, edges))
        level = 255 if edges in self.inked else 0
        return Plates((edges,), np.full((1, 2, 3), level, np.uint8), dpi, box)


@pytest.mark.parametrize(
    ("inked", "asked", "seen"),
    [((), ["smooth"], False),
     (("smooth",), ["smooth", "sharp"], False), (("smooth", "sharp"), ["smooth", "sharp"], True)],
)  # fmt: skip
def test_what_is_seen_is_seen_with_sharp_edges_too(inked, asked, seen):
    page: Any = Looked(*inked)
    found = seen_closely(page, (1, 2, 3, 4), 600, lambda plates: plates.ink[0] > 0)
    assert page.asked == [((1, 2, 3, 4), 600, edges) for edges in asked]
    if not seen:
        assert found is None
    else:
        assert found is not None
        assert found[0].names == ("sharp",)
        assert found[1].all()


@pytest.mark.parametrize(
    ("boxes", "expected"),
    [
        ([], []),
        ([(1, 2, 5, 6), (5, 2, 9, 6), (1, 6, 5, 9)], [(1, 2, 5, 6), (5, 2, 9, 6), (1, 6, 5, 9)]),
        ([(1, 2, 5, 6), (4.9, 5.9, 9, 10)], [(1, 2, 9, 10)]),
        ([(4.9, 5.9, 9, 10), (1, 2, 5, 6)], [(1, 2, 9, 10)]),
        ([(1, 5.9, 5, 10), (4.9, 2, 9, 6)], [(1, 2, 9, 10)]),
        ([(1, 2, 3, 4), (7, 8, 9, 10), (2, 3, 8, 9)], [(1, 2, 9, 10)]),
        ([(1, 2, 3, 4), (20, 8, 22, 10), (2, 3, 8, 9)], [(1, 2, 8, 9), (20, 8, 22, 10)]),
        ([(0, 0, 9, 9), (2, 3, 4, 5)], [(0, 0, 9, 9)]),
    ],
    ids=["none", "with an edge in common", "with a corner", "the other way", "above and below", "through a third",
         "one stays", "one in another"],
)  # fmt: skip
def test_boxes_that_overlap_become_one(boxes, expected):
    assert apart(boxes) == expected


# Places of what is set in a mask of the plates ---------------------------------------------------------------------

FINE = Plates(("Rust", "Moss"), np.zeros((2, 200, 320), np.uint8), 127.0, (10.0, 20.0, 74.0, 60.0))
"""Pixels of 0.2 mm, so that five are a millimetre."""


def drawn(*boxes: tuple[float, float, float, float]) -> Any:
    mask = np.zeros((200, 320), bool)
    for box in boxes:
        mask[FINE.slices(box)] = True
    return mask


def found(*boxes: tuple[float, float, float, float], **more: Any) -> list[Any]:
    return [tuple(round(side, 6) for side in place.box_mm) for place in places_in(FINE, drawn(*boxes), **more)]


def test_places_are_tight_and_the_largest_comes_first():
    assert found((13.2, 31.4, 14, 33), (40, 25, 50.2, 28), (60, 50, 61.2, 51)) == [
        (40, 25, 50.2, 28), (13.2, 31.4, 14, 33), (60, 50, 61.2, 51),
    ]  # fmt: skip
    assert found() == []


def test_ink_in_cells_that_touch_is_one_place():
    """Cells are a millimetre, from the upper-left corner on."""
    assert found((20.6, 40.2, 21.0, 40.6), (21.6, 41.0, 22, 41.4)) == [(20.6, 40.2, 22, 41.4)]
    assert len(found((20.6, 40.2, 21.0, 40.6), (22.0, 40.2, 22.4, 40.6))) == 2


def test_places_carry_their_page_and_separation():
    place = places_in(FINE, drawn((40, 25, 42, 28)), "Rust", 3)[0]
    assert (place.page, place.separation) == (3, "Rust")
    assert places_in(FINE, drawn((40, 25, 42, 28)))[0].page == 1


@pytest.mark.parametrize("most", [1, 2, 3, 9])
def test_no_more_places_than_wanted(most):
    boxes = [(12, 22, 13, 24), (30, 22, 36, 27), (50, 22, 53, 26), (50, 40, 52, 43)]
    order = [boxes[1], boxes[2], boxes[3], boxes[0]]
    assert found(*boxes, most=most) == order[:most]


def test_a_region_that_is_larger_by_its_cells_but_holds_less_does_not_come_first():
    """A slanting line touches many cells; the square beside it is fuller and has fewer."""
    line = [(12 + at, 22 + at, 12.2 + at, 22.2 + at) for at in range(20)]
    square = (50.0, 22.0, 53.0, 25.0)
    assert found(*line, square, most=1) == [square]


def test_what_is_long_and_sparse_is_halved():
    """An L of 1 mm, its foot 20 mm long. From 25 mm on it is halved, and its foot stays with the lower part."""
    assert found((20, 25, 40, 26), (20, 25, 21, 49.8)) == [(20, 25, 40, 49.8)]
    assert found((20, 25, 40, 26), (20, 25, 21, 51)) == [(20, 25, 40, 38), (20, 38, 21, 51)]


def test_a_wide_frame_is_halved_across():
    """30 x 10 mm of 0.2 mm lines: the left half is 15 mm wide, which is short enough."""
    frame = [(20, 25, 50, 25.2), (20, 34.8, 50, 35), (20, 25, 20.2, 35), (49.8, 25, 50, 35)]
    assert sorted(found(*frame)) == [(20, 25, 35, 35), (35, 25, 50, 35)]


def test_what_fills_its_box_is_not_halved():
    assert found((20, 25, 60, 35)) == [(20, 25, 60, 35)]


def test_a_long_slanting_line_is_halved_three_times_and_no_more():
    """Of 200 mm: eight pieces of 25 mm, and of 400 mm eight of 50 mm."""
    for side in (1000, 2000):
        plates = Plates(("Rust",), np.zeros((1, side, side), np.uint8), 127.0, (0.0, 0.0, side / 5, side / 5))
        places = places_in(plates, np.eye(side, dtype=bool))
        assert len(places) == 8
        assert {round(place.box_mm[2] - place.box_mm[0], 3) for place in places} == {side / 5 / 8}


def test_an_ink_is_told_from_its_least_level_and_inside_the_cut():
    ink = np.zeros((2, 200, 320), np.uint8)
    ink[0, 10:20, 30:50], ink[0, 60:70, 30:50], ink[1, 100:140, 100:140] = 5, 4, 255
    plates = Plates(FINE.names, ink, FINE.dpi, FINE.box_mm)
    inside = np.zeros((200, 320), bool)
    inside[:, 40:] = True
    places = where_inked(plates, inside, "Rust", 2)
    assert [(place.page, place.separation) for place in places] == [(2, "Rust")]
    assert places[0].box_mm == pytest.approx((18, 56, 20, 58))
    many = np.zeros((2, 200, 320), np.uint8)
    many[0, 5:200:20, 5:320:20] = 255
    assert len(where_inked(Plates(FINE.names, many, FINE.dpi, FINE.box_mm), inside | True, "Rust", 1)) == 12


@pytest.mark.parametrize(("foot_mm", "parts"), [(2.0, 2), (3.0, 1)])
def test_what_fills_three_tenths_of_its_box_is_not_sparse(foot_mm, parts):
    """40 x 10 mm: of a foot of 2 mm and an arm of 1 mm 22 % are set, of a foot of 3 mm 32 %."""
    assert len(found((20, 25, 60, 25 + foot_mm), (20, 25, 21, 35))) == parts


def test_just_as_many_pixels_as_are_allowed_are_not_too_many():
    """A square inch."""
    assert [close_dpi([(0, 0, 25.4, 25.4)], most) for most in (90_000, 89_999)] == [300, 200]

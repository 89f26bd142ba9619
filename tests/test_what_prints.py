"""What each separation prints inside the cut, on plates of rectangles that the test draws itself."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import PageBoxes
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.carton.die import Blank, Die, OpenCut
from preflight.errors import NotMeasured
from preflight.measures import what_prints
from preflight.measures.what_prints import cover_inside, cover_of_page, inks_on_job
from tests.test_object_places import registration, spot, table, thing
from tests.test_overlaps import RectPage, Rects, solid
from tests.test_units import job

CUT = (10.0, 8.0, 60.0, 43.0)
"""50 x 35 mm."""


def job_with(inks: dict[str, Rects], *things: dict[str, Any], cut: Any = CUT, die: Die | None = None,
             page: Any = None, **more: Any) -> Any:  # fmt: skip
    page = page or RectPage(70, 50, inks, **more)
    page.objects = table(*things)
    its_job = replace(job(*inks, page=page, die=die), measure_inks=inks_on_job)
    its_job.page.boxes = PageBoxes(page.box_mm, trim=cut)
    return its_job


def ink(rects: Rects, *things: dict[str, Any], **more: Any) -> tuple[bool | None, float, float]:
    """Prints, inked area and cover."""
    found = inks_on_job(job_with({"Rust": rects}, *things, **more))[0]
    return found.prints, found.area_mm2, found.cover


@pytest.mark.parametrize(
    ("rects", "area", "cover"),
    [
        (solid((20, 15, 30, 35)), 200, 200 / 1750),
        ([((20, 15, 30, 35), 0.5)], 200, 100 / 1750),
        (solid((0, 0, 35, 50)), 875, 0.5),
        (solid((0, 0, 70, 50)), 1750, 1.0),
        ([((20, 15, 30, 35), 0.03)], 200, 6 / 1750),
        (solid((20, 15, 20.5, 15.5)), 0.25, 0.25 / 1750),
        (solid((20, 15, 20.15, 25)), 1.5, 1.5 / 1750),
    ],
    ids=["a solid", "a tint", "half of it", "all of it", "a light tint", "a dot of 0.25 mm2", "a thin line"],
)
def test_ink_that_prints_with_its_area_and_cover(rects, area, cover):
    prints, inked, covered = ink(rects)
    assert prints is True
    assert inked == pytest.approx(area, rel=0.05, abs=4)  # pixels along its edge are inked too
    assert covered == pytest.approx(cover, rel=0.02, abs=0.0005)


@pytest.mark.parametrize(
    ("rects", "more"),
    [
        ([], {}),
        (solid((1, 1, 9, 40)), {}),
        (solid((20, 15, 20.2, 15.2)), {}),
        ([((20, 15, 30, 35), 0.012)], {}),
        (solid((20, 15, 30, 15.05)), {}),
        (solid((2, 15, 10.05, 35)), {}),
        ([((20, 15, 30, 35), 0.25)], {"only_smooth": ("Rust",)}),
    ],
    ids=["none", "outside the cut", "a dot of 0.04 mm2", "too light", "a sliver", "a fringe over the cut", "a rim"],
)
def test_ink_that_does_not_print(rects, more):
    prints, area, cover = ink(rects, **more)
    assert (prints, cover) == (False, 0.0)
    assert area < 0.1


@pytest.mark.parametrize("reach_mm", [0.3, 0.6, 2.0])
def test_ink_that_reaches_over_the_cut_by_more_than_a_fringe_prints(reach_mm):
    assert ink(solid((2, 15, 10 + reach_mm, 35)))[0] is True
    assert ink(solid((20, 43 - reach_mm, 50, 49)))[0] is True


def test_several_small_pieces_are_counted_together():
    """Each dot has 0.04 mm2 and is looked at in a window of its own."""
    dots = [(14.0 + 11 * at, 20.0, 14.2 + 11 * at, 20.2) for at in range(4)]
    assert ink(solid(*dots[:2]))[0] is False
    assert ink(solid(*dots))[0] is True


def test_only_six_pieces_are_looked_at(monkeypatch):
    dots = [(14.0 + 11 * at, 20.0, 14.2 + 11 * at, 20.2) for at in range(4)]
    monkeypatch.setattr(what_prints, "MOST_CLOSE_LOOKS", 2)
    assert ink(solid(*dots))[0] is False


FAINT: Rects = [((20, 15, 30, 35), 0.3)]
"""At 0.3 it may be a rim, as sharp edges do not show it here."""


@pytest.mark.parametrize(
    ("things", "prints"),
    [
        ([thing((20, 15, 30, 35), spot("Rust", 0.3))], True),
        ([thing((20, 15, 30, 35), spot("Rust", 1.0)), thing((20, 15, 30, 35), spot("Moss"))], False),
        ([thing((20, 15, 30, 35), spot("Rust", 1.0))], True),
        ([thing((20, 15, 30, 35), spot("Rust", 0.59))], True),
        ([thing((40, 15, 50, 35), spot("Rust", 0.5), visible=False), thing((20, 15, 30, 35), spot("Moss"))], False),
    ],
    ids=[
        "as strong as its colour",
        "covered",
        "painted last",
        "half as strong as its colour",
        "its colour is not shown",
    ],
)
def test_whether_weak_ink_is_a_rim_is_asked_of_the_objects(things, prints):
    assert ink(FAINT, *things, only_smooth=("Rust",))[0] is prints


def test_registration_marks_make_no_ink_print():
    mark = thing((20, 15, 30, 35), registration())
    assert ink(solid((20, 15, 30, 35)), mark)[0] is False
    assert ink(solid((20, 15, 33, 35)), mark)[0] is True
    assert ink(solid((20.2, 15, 30.2, 35)), mark)[0] is False  # 0.3 mm about them
    assert ink(solid((20, 15, 30, 35)), thing((20, 15, 30, 35), registration(0.0)))[0] is True


SHEET = {"artwork_is": "sheet"}


@pytest.mark.parametrize(
    ("rects", "things", "expected"),
    [
        (solid((1, 1, 11, 21)), [thing((1, 1, 11, 21), spot("Rust"))], (None, 200, 200 / 3500)),
        (solid((1, 1, 11, 21)), [], (False, 0, 0)),
        (solid((1, 1, 11, 21)), [thing((1, 1, 11, 21), spot("Rust"), alpha=0)], (False, 0, 0)),
        ([], [thing((1, 1, 11, 21), spot("Rust"))], (False, 0, 0)),
        (solid((1, 1, 1.4, 1.4)), [thing((1, 1, 1.4, 1.4), spot("Rust"))], (None, 0.16, 0)),
    ],
    ids=["a patch", "nobody paints it", "what is painted is clear", "no ink", "a small patch"],
)
def test_on_a_sheet_without_a_die_nobody_knows_what_prints(rects, things, expected):
    its_job = replace(job_with({"Rust": rects}, *things), artwork_is="sheet")
    found = inks_on_job(its_job)[0]
    assert found.prints is expected[0]
    assert found.area_mm2 == pytest.approx(expected[1], rel=0.05, abs=0.3)
    assert found.cover == pytest.approx(expected[2], rel=0.03, abs=0.0005)


def test_a_rim_on_a_sheet_without_a_die_is_no_ink():
    rim = job_with({"Rust": [((20, 15, 30, 35), 0.25)]}, thing((20, 15, 30, 35), spot("Rust")),
                   thing((20, 15, 30, 35), spot("Moss")), only_smooth=("Rust",))  # fmt: skip
    assert inks_on_job(replace(rim, artwork_is="sheet"))[0].prints is False


def test_what_has_no_plate_prints_nothing():
    found = inks_on_job(job_with({"Cutting": solid((20, 15, 30, 35)), "Rust": solid((20, 15, 30, 35))}))
    assert [one.prints for one in found] == [False, True]


def test_without_plates_nobody_knows_what_prints():
    class NoPlates(RectPage):
        def plates(self, dpi=100):
            raise NotMeasured("over a bound")

    its_job = job_with({"Rust": [], "Cutting": []}, page=NoPlates(70, 50, {"Rust": [], "Cutting": []}))
    assert [(one.prints, one.area_mm2) for one in inks_on_job(its_job)] == [(None, 0.0), (False, 0.0)]


@pytest.mark.parametrize(
    ("place", "prints"),
    [
        (UncertainPlace("", (20, 15, 30, 35)), None),
        (UncertainPlace("", (20, 15, 30, 35), ("Rust",)), None),
        (UncertainPlace("", (20, 15, 30, 35), ("Moss",)), False),
        (UncertainPlace("", (1, 1, 9, 40)), False),
        (UncertainPlace("", (1, 1, 9, 40), ("Rust",)), False),
    ],
)
def test_what_is_missing_inside_the_cut_may_print(place, prints):
    its_job = job_with({"Rust": [], "Fern": solid((20, 15, 30, 35))})
    its_job.page.uncertain.append(place)
    assert [one.prints for one in inks_on_job(its_job)] == [prints, True]


@pytest.mark.parametrize(
    ("rects", "beyond", "prints"),
    [
        (solid((1, 1, 8, 20)), (1, 1, 9, 40), None),
        (solid((1, 1, 8, 20)), (1, 30, 9, 40), False),
        (solid((1, 1, 8, 20)), None, False),
        ([((1, 1, 8, 20), 0.015)], (1, 1, 9, 40), False),
        ([((1, 1, 8, 20), 0.03)], (1, 1, 9, 40), None),
    ],
)
def test_ink_beyond_a_cut_that_is_open_may_print(rects, beyond, prints):
    fold = shapely.LineString([(10, 8), (10, 43)])
    blank = Blank(1, shapely.box(*CUT), shapely.MultiLineString())
    die = Die("read", "", blanks=(blank,), open_cuts=(OpenCut(1, (), fold, None), OpenCut(1, (), fold, beyond)))
    assert ink(rects, die=die)[0] is prints


def test_of_very_many_inks_close_looks_are_cut_out_of_fields(monkeypatch):
    """Two dots in one field of 12 mm, and one in another."""
    inks = {
        "Rust": solid((25, 13, 25.5, 13.5)),
        "Moss": solid((29, 20, 29.5, 20.5)),
        "Fern": solid((40, 30, 40.5, 30.5)),
    }
    its_job = job_with(inks)
    monkeypatch.setattr(what_prints, "MANY_INKS", 3)
    found = inks_on_job(its_job)
    assert [one.prints for one in found] == [True] * 3
    assert [one.area_mm2 for one in found] == [pytest.approx(0.25, abs=0.4)] * 3
    looks = {box for box, dpi, _ in its_job.page.looks if dpi == 600}
    assert looks == {(23, 11, 37, 25), (35, 23, 49, 37)}
    monkeypatch.setattr(what_prints, "MANY_INKS", 4)
    other = job_with(inks)
    assert [one.area_mm2 for one in inks_on_job(other)] == [one.area_mm2 for one in found]
    assert len({box for box, dpi, _ in other.page.looks if dpi == 600}) == 3


def test_fields_end_with_the_page(monkeypatch):
    monkeypatch.setattr(what_prints, "MANY_INKS", 1)
    its_job = job_with({"Rust": solid((69, 49, 69.5, 49.5)), "Moss": solid((0.5, 0.5, 1, 1))}, cut=None)
    assert [one.prints for one in inks_on_job(its_job)] == [True, True]
    assert {box for box, dpi, _ in its_job.page.looks if dpi == 600} == {(59, 47, 70, 50), (0, 0, 13, 13)}


def test_only_some_fields_are_kept(monkeypatch):
    monkeypatch.setattr(what_prints, "MANY_INKS", 1)
    inside = what_prints._InsideTheCut(job_with({"Rust": []}), RectPage(70, 50, {"Rust": []}).plates())
    page: Any = inside.page
    boxes = [(12.0 * at + 5, 13.0, 12.0 * at + 6, 14.0) for at in range(3)]
    for box in (*boxes, boxes[0], boxes[2]):
        inside._window(box, "sharp")
    assert len(page.looks) == 3
    inside._window(boxes[0], "smooth")
    assert len(page.looks) == 4
    monkeypatch.setattr(what_prints, "KEPT_FIELDS", 2)
    inside._window((41.0, 13.0, 42.0, 14.0), "sharp")
    assert len(page.looks) == 5
    inside._window(boxes[0], "smooth")  # the last but one
    assert len(page.looks) == 5
    inside._window(boxes[2], "sharp")
    assert len(page.looks) == 6


def test_the_cover_of_a_page_and_of_a_shape():
    page: Any = RectPage(70, 50, {"Rust": solid((0, 0, 35, 50)), "Moss": [((0, 0, 70, 25), 0.5)], "Fern": []})
    assert cover_of_page(page.plates(), page) == pytest.approx({"Rust": 0.5, "Moss": 0.25, "Fern": 0.0}, abs=0.003)
    shape = shapely.box(20, 10, 40, 30)
    assert cover_inside(page.plates(), shape) == pytest.approx({"Rust": 0.75, "Moss": 0.375, "Fern": 0.0}, abs=0.02)
    assert cover_inside(page.plates(), shapely.box(200, 10, 240, 30)) == {}


def test_the_strongest_tint_is_that_of_objects_that_show():
    its_job = job_with({"Rust": [], "Moss": []}, thing((20, 15, 30, 35), spot("Rust", 0.4)),
                       thing((20, 15, 30, 35), spot("Rust", 0.9), visible=False),
                       thing((20, 15, 30, 35), spot("Moss", 0.2), painted=Painted.IMAGE))  # fmt: skip
    inside = what_prints._InsideTheCut(its_job, its_job.plates)
    assert inside.strongest == {"Rust": 0.4, "Moss": 0.2}


def test_squares_that_ink_fills_well_inside_the_cut():
    """Five pixels each way, more than 0.1 mm and a pixel and a half from the cut."""
    its_job = job_with({"Rust": solid((20, 15, 22, 17))})
    inside = what_prints._InsideTheCut(its_job, its_job.plates)
    squares = list(inside._squares(its_job.plates.tint("Rust"), 2.0))
    tints = its_job.plates.tint("Rust")
    expected = [
        (row, column)
        for row in range(tints.shape[0] - 4) for column in range(tints.shape[1] - 4)
        if tints[row : row + 5, column : column + 5].min() >= 5
    ]  # fmt: skip
    assert squares == expected
    assert len(expected) > 9
    along = job_with({"Rust": solid((9, 15, 11.5, 17))})
    inside = what_prints._InsideTheCut(along, along.plates)
    left = min(column for _, column in inside._squares(along.plates.tint("Rust"), 2.0))
    assert left * 0.254 == pytest.approx(10.1 + 1.5 * 0.254, abs=0.35)


def test_bands_of_rows_are_looked_through_one_after_the_other(monkeypatch):
    its_job = job_with({"Rust": solid((12, 9, 58, 42))})
    whole = what_prints._InsideTheCut(its_job, its_job.plates)
    tints = its_job.plates.tint("Rust")
    expected, sums = set(whole._squares(tints, 2.0)), whole._within(tints)
    monkeypatch.setattr(what_prints, "BAND_PX", 16)
    banded = what_prints._InsideTheCut(its_job, its_job.plates)
    squares = list(banded._squares(tints, 2.0))
    assert set(squares) == expected
    assert squares == sorted(squares)
    assert banded._within(tints) == sums
    assert sums[1] == int(np.count_nonzero(tints >= 5))


def test_a_long_line_is_looked_at_in_twelve_millimetres_about_its_strongest_place():
    its_job = job_with({"Rust": [((12, 20, 58, 20.15), 0.6), ((40, 20, 40.5, 20.15), 1.0)]})
    assert inks_on_job(its_job)[0].prints is True
    (x0, y0, x1, y1), dpi, _ = its_job.page.looks[-1]
    assert dpi == 600
    assert (x0, x1) == pytest.approx((34.2, 46.2), abs=0.4)
    assert (y0, y1) == pytest.approx((19.4, 20.7), abs=0.3)


def level_block(level: int, columns: int, stronger: int = 0) -> Any:
    """Five rows and so many columns of pixels at a level, one of them stronger."""
    tints = np.zeros((197, 276), np.uint8)
    tints[60:65, 80 : 80 + columns] = level
    tints[62, 82] = max(level, stronger)
    return tints


@pytest.mark.parametrize(
    ("tints", "solid_there"),
    [
        (level_block(255, 8), True),
        (level_block(255, 7), False),
        (level_block(53, 8), True),
        (level_block(51, 8), True),
        (level_block(50, 8), False),
        (level_block(20, 8, stronger=53), True),
        (level_block(20, 8, stronger=52), False),
        (level_block(4, 30), False),
    ],
    ids=["four squares", "three", "over half of its colour", "half of it", "less than half", "one pixel over half",
         "one pixel of half", "too light"],
)  # fmt: skip
def test_ink_is_solid_where_it_fills_four_squares_by_half_of_its_colour(tints, solid_there):
    """Of a colour of 40 %: half of it is 51 levels."""
    its_job = job_with({"Rust": []}, thing((50, 30, 52, 32), spot("Rust", 0.4)))
    inside = what_prints._InsideTheCut(its_job, its_job.plates)
    assert inside._is_solid_somewhere("Rust", tints) is solid_there


def test_weak_ink_is_solid_where_it_was_painted_last():
    """Pixels 80 to 110 are 20.3 to 27.9 mm across."""
    tints = level_block(20, 30)
    for box, solid_there in (((19, 30, 30, 40), True), ((30, 30, 40, 40), False)):
        its_job = job_with({"Rust": []}, thing(box, spot("Rust", 0.4)))
        assert what_prints._InsideTheCut(its_job, its_job.plates)._is_solid_somewhere("Rust", tints) is solid_there


def test_strong_ink_is_looked_at_with_smooth_edges_and_weak_ink_with_sharp_ones():
    for tint, edges in ((1.0, "smooth"), (0.3, "sharp")):
        its_job = job_with({"Rust": [((20, 15, 21, 16), tint)]})
        found = inks_on_job(its_job)[0]
        assert found.prints is True
        assert found.area_mm2 == pytest.approx(1.0, abs=0.7)  # five pixels each way at most
        assert {how for _, dpi, how in its_job.page.looks if dpi == 600} == {edges}

"""Type and lines by themselves: what stands round them, how much ink of their own they have, which are alike."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.objects import FontFacts, Painted
from preflight.artwork.page.plates import Plates
from preflight.carton.die import Die
from preflight.measures import type_and_line
from preflight.measures.type_and_line import _Ink, line_width, type_size
from tests.test_object_places import Box, line, registration, spot, table, text, thing
from tests.test_overlaps import RectPage, Rects, solid
from tests.test_units import job

FONTS = (FontFacts("Plain", embedded=True), FontFacts("Drawn", embedded=True, type3=True))
PAPER = spot("Rust", 0.0)
AT: Box = (20.0, 20.0, 32.0, 23.0)


def job_with(*things: dict[str, Any], die: Die | None = None, **inks: Rects) -> Any:
    """A page with these objects, and what its plates hold."""
    page = RectPage(70, 50, inks)
    page.objects = table(*things, fonts=FONTS)
    return job(*inks, page=page, die=die)


def about(box: Box, tint: float = 1.0, inside: float = 0.0) -> Rects:
    """A ground of 30 x 20 mm with a hole for a box, of which the left half may hold a tint."""
    x0, y0, x1, y1 = box
    ground = [(10, 12, x0, 32), (x1, 12, 45, 32), (x0, 12, x1, y0), (x0, y1, x1, 32)]
    return [*((rect, tint) for rect in ground), ((x0, y0, (x0 + x1) / 2, y1), inside)]


def sizes(its_job: Any, **more: Any) -> list[tuple[Any, ...]]:
    keys = {"inks": ("process", "spot"), "up_to_pt": 9.0, "several_inks_from": 2, "ink_from_percent": 5.0, **more}
    return [(one.value, one.case, one.facts["objects"]) for one in type_size(its_job, **keys).readings]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (text(AT, 5.0, colour=spot("Rust")), [(5.0, "", 1)]),
        (text(AT, 8.99, colour=spot("Rust")), [(8.99, "", 1)]),
        (text(AT, 9.0, colour=spot("Rust")), []),
        (text(AT, 0.0, colour=spot("Rust")), []),
        (text(AT, 5.0, colour=spot("Rust"), font=0), [(5.0, "", 1)]),
        (text(AT, 5.0, colour=spot("Rust"), font=1), []),
        (text(AT, 5.0, colour=spot("Rust"), visible=False), []),
        (text(AT, 5.0, colour=spot("Gold")), []),
        (text((60, 40, 65, 43), 5.0, colour=spot("Rust")), []),
        (text((72, 20, 80, 23), 5.0, colour=spot("Rust")), []),
        (text(AT, 5.0, colour=registration()), []),
        (thing(AT, spot("Rust"), size=5.0), []),
    ],
    ids=["small", "just under the limit", "at the limit", "without a size", "in a font", "in a font that says nothing",
         "not shown", "in an ink that does not count", "of which nothing prints", "beside the page",
         "in registration colour", "no text"],
)  # fmt: skip
def test_type_that_is_looked_at(words, expected):
    assert sizes(job_with(words, Rust=solid(AT))) == expected


@pytest.mark.parametrize(
    ("own", "ground", "overprint", "case"),
    [
        (0.0, 1.0, False, "reversed"),
        (0.49, 1.0, False, "reversed"),
        (0.5, 1.0, False, ""),
        (0.0, 0.2, False, "reversed"),
        (0.0, 0.196, False, ""),
        (0.49, 1.0, True, ""),
        (0.0, 1.0, True, "reversed"),
        (1.0, 0.3, False, ""),
    ],
)
def test_type_is_reversed_where_it_has_less_than_half_the_ink_about_it(own, ground, overprint, case):
    words = text(AT, 5.0, colour=spot("Rust", own), overprint=overprint)
    inside = own if own else ground  # letters, or what is between them
    assert sizes(job_with(words, Rust=about(AT, ground, inside))) == [(5.0, case, 1)]


@pytest.mark.parametrize(("left", "shows"), [(0.79, True), (0.81, False)])
def test_white_type_shows_where_its_box_is_a_fifth_lighter_somewhere(left, shows):
    ground: Rects = [*about(AT), ((10, 12, 45, 32), left), ((26, 20, 32, 23), 1.0)]
    assert bool(sizes(job_with(text(AT, 5.0, colour=PAPER), Rust=ground))) is shows


def test_white_type_of_which_nothing_is_left_open_is_covered():
    assert sizes(job_with(text(AT, 5.0, colour=PAPER), Rust=solid((10, 12, 45, 32)))) == []


@pytest.mark.parametrize(
    ("tints", "several"),
    [
        ((("Rust", 0.5), ("Moss", 0.05)), True),
        ((("Rust", 0.5), ("Moss", 0.0499)), False),
        ((("Rust", 0.5), ("Gold", 0.5)), False),
        ((("Rust", 1.0),), False),
    ],
)
def test_several_inks_count_from_a_tint(tints, several):
    words = text(AT, 5.0, colour=Colour("DeviceN", tints))
    assert sizes(job_with(words, Rust=solid(AT), Moss=[])) == [(5.0, "several inks" if several else "", 1)]
    three = sizes(job_with(words, Rust=solid(AT), Moss=[]), several_inks_from=3)
    assert three == [(5.0, "", 1)]


def test_type_of_a_size_and_a_case_is_one_reading_the_smallest_first():
    its_job = job_with(
        text((12, 14, 18, 16), 6.0, colour=spot("Rust")),
        text((12, 20, 18, 22), 4.004, colour=spot("Rust")),
        text((12, 26, 18, 28), 6.0, colour=spot("Rust")),
        text((30, 26, 36, 28), 6.0, colour=PAPER),
        Rust=[*solid((12, 14, 18, 16), (12, 20, 18, 22), (12, 26, 18, 28)), *solid((26, 22, 45, 27), (29, 28, 45, 32)),
              *solid((26, 22, 30, 32), (36, 22, 45, 32))],
    )  # fmt: skip
    assert sizes(its_job) == [(4.0, "", 1), (6.0, "", 2), (6.0, "reversed", 1)]


def test_places_round_a_box_stand_off_it():
    places = type_and_line._rims(np.array([[10.0, 20.0, 32.0, 30.0], [1.0, 2.0, 3.0, 8.0]]))
    assert places.shape == (2, 36, 2)
    for (x0, y0, x1, y1), own in zip([(9.65, 19.65, 32.35, 30.35), (0.65, 1.65, 3.35, 8.35)], places, strict=True):
        x, y = own.T
        assert (x.min(), y.min(), x.max(), y.max()) == pytest.approx((x0, y0, x1, y1))
        level, upright = np.isclose(y, y0) | np.isclose(y, y1), np.isclose(x, x0) | np.isclose(x, x1)
        assert (level | upright).all()
        assert (int(level.sum()), int(upright.sum())) == (24 + 4, 12 + 4)  # corners are on both
        assert np.diff(np.sort(x[np.isclose(y, y0)])[1:-1]) == pytest.approx((x1 - x0) / 11, abs=1e-6)


PLATES = Plates(("Rust",), np.zeros((1, 10, 20), np.uint8), 25.4, (5.0, 100.0, 25.0, 110.0))


@pytest.mark.parametrize(
    ("box", "found"),
    [
        ((8, 106, 9, 107), True),
        ((8.9, 105.5, 12, 106.1), True),
        ((9, 106, 12, 108), False),
        ((6, 106, 8, 108), False),
        ((8, 107, 9, 109), False),
        ((8, 104, 9, 106), False),
        ((-9, 0, 99, 999), True),
        ((24, 101, 99, 102), True),
        ((-9, 99, 5.5, 100.5), True),
        ((30, 101, 40, 102), False),
    ],
)
def test_whether_any_pixel_is_set_in_a_box(box, found):
    mask = np.zeros((10, 20), bool)
    mask[3, 3] = mask[8, 19] = mask[9, 0] = True
    assert type_and_line._any_set(PLATES, mask, np.array([box, (6, 109, 7, 110)], float)).tolist() == [found, False]


def test_the_greatest_in_rectangles_of_several_sizes(monkeypatch):
    random = np.random.default_rng(5)
    values = random.integers(0, 2000, (23, 31)).astype(np.uint16)
    top, left = random.integers(0, 20, 40), random.integers(0, 26, 40)
    height, width = random.integers(1, 4, 40), random.integers(1, 6, 40)
    expected = [
        int(values[t : t + h, x : x + w].max()) for t, x, h, w in zip(top, left, height, width, strict=True)
    ]  # fmt: skip
    assert type_and_line._greatest(values, top, left, height, width).tolist() == expected
    monkeypatch.setattr(type_and_line, "MOST_AT_ONCE", 1)
    assert type_and_line._greatest(values, top, left, height, width).tolist() == expected


def test_a_rectangle_may_be_as_wide_as_the_plate():
    values = np.arange(12, dtype=np.uint16).reshape(3, 4)
    tops, lefts, heights, widths = np.array([[0, 1, 2], [0, 0, 3], [2, 1, 1], [4, 4, 1]])
    assert type_and_line._greatest(values, tops, lefts, heights, widths).tolist() == [7, 7, 11]


@pytest.mark.parametrize(
    ("subpaths", "fill", "expected"),
    [
        ([[(10, 10), (20, 10)]], False, [(15, 9.3), (15, 10.7)]),
        ([[(10, 10), (10, 30)]], False, [(10.7, 20), (9.3, 20)]),
        ([[(10, 10), (16, 18)]], False, [(13 + 0.56, 14 - 0.42), (13 - 0.56, 14 + 0.42)]),
        ([[(10, 10), (10, 10), (12, 10)]], False, [(11, 9.3), (11, 10.7)]),
        ([[(10, 10), (20, 10), (20, 12.5), (10, 12.5), (10, 10)]], True,
         [(15, 9.3), (15, 10.7), (15, 13.2), (15, 11.8)]),
        ([[(10, 10), (12, 10)], [(30, 10), (34, 10)]], False, [(11, 9.3), (11, 10.7), (32, 9.3), (32, 10.7)]),
        ([], False, []),
    ],
    ids=["level", "upright", "slanting", "a piece without length", "the long sides of a fill", "two parts", "none"],
)  # fmt: skip
def test_places_beside_lines(subpaths, fill, expected):
    found = type_and_line._beside([np.array(points, float) for points in subpaths], fill=fill)
    assert sorted(map(tuple, found.tolist())) == [pytest.approx(place) for place in sorted(expected)]
    assert found.shape == (len(expected), 2)


@pytest.mark.parametrize(("pieces", "looked_at"), [(19, 19), (20, 20), (39, 39), (40, 20), (61, 21)])
def test_of_many_pieces_about_twenty_are_looked_at(pieces, looked_at):
    points = np.column_stack([np.arange(pieces + 1), np.zeros(pieces + 1)])
    assert len(type_and_line._beside([points], fill=False)) == 2 * looked_at


# Lines -------------------------------------------------------------------------------------------------------------


def widths(its_job: Any, **more: Any) -> list[tuple[Any, ...]]:
    keys = {"inks": ("process", "spot"), "thinner_than_mm": 0.3, "detail_mm": 6.0, "detail_area_mm2": 1.0, **more}
    return [(one.value, one.case, one.facts["objects"]) for one in line_width(its_job, **keys).readings]


def stroke(width: float = 0.1, tint: float = 1.0, **keys: Any) -> dict[str, Any]:
    """20 mm long, in the middle of the ground."""
    return line((15, 20), (35, 20), width=width, colour=spot("Rust", tint), **keys)


DARK = [((40.0, 12.0, 60.0, 40.0), 1.0)]
"""A solid 5 mm to the right of the line."""


def strip(tint: float) -> Rects:
    """A ground under the line and 2 mm about it, and the solid beside it."""
    return [((10.0, 18.0, 38.0, 22.0), tint), ((34.0, 22.2, 60.0, 40.0), 1.0)]


@pytest.mark.parametrize(
    ("drawn", "plates", "expected"),
    [
        (stroke(0.1), [], [(0.1, "", 1)]),
        (stroke(0.29), [], [(0.29, "", 1)]),
        (stroke(0.3), [], []),
        (stroke(0.0005, shown=(15, 19.9, 35, 20.1)), [], [(0.001, "hairline", 1)]),
        (stroke(0.0012), [], [(0.001, "", 1)]),
        (stroke(tint=0.0), solid((10, 12, 45, 32)), [(0.1, "reversed", 1)]),
        (stroke(tint=0.0), [], []),
        (stroke(tint=0.0), [((10, 12, 45, 32), 0.19)], []),
        (stroke(tint=0.0), [((10, 12, 45, 32), 0.21)], [(0.1, "reversed", 1)]),
        (stroke(tint=0.0), solid((10, 21.5, 45, 32)), []),
        (stroke(tint=0.45), solid((10, 12, 45, 32)), [(0.1, "reversed", 1)]),
        (stroke(tint=0.55), solid((10, 12, 45, 32)), [(0.1, "", 1)]),
        (stroke(tint=0.45, overprint=True), solid((10, 12, 45, 32)), [(0.1, "", 1)]),
        (stroke(tint=0.3), strip(0.33), []),
        (stroke(tint=0.3), strip(0.36), [(0.1, "", 1)]),
        (stroke(tint=0.3, overprint=True), strip(0.33), [(0.1, "", 1)]),
        (stroke(visible=False), [], []),
        (line((15, 20), (35, 20), width=0.1, colour=spot("Gold")), [], []),
    ],
    ids=["printed", "just under the limit", "at the limit", "without a width", "nearly without", "left open",
         "white on bare board", "white on next to nothing", "white on a light ground", "white beside a ground",
         "lighter than half the ground", "darker than half", "light and overprinting", "in the colour of its ground",
         "a shade off its ground", "in the colour of its ground, overprinting", "not shown", "no ink that counts"],
)  # fmt: skip
def test_lines_that_are_looked_at(drawn, plates, expected):
    assert widths(job_with(drawn, Rust=plates)) == expected


@pytest.mark.parametrize(
    ("box", "expected"),
    [
        ((15, 20, 20, 20.1), [(0.1, "", 1)]),
        ((15, 20, 15.1, 25.2), [(0.1, "", 1)]),
        ((15, 20, 19.9, 20.1), []),
        ((15, 20, 25, 20.3), []),
    ],
    ids=["5 mm long", "upright", "shorter than a rule", "as thick as the limit"],
)
def test_a_long_thin_fill_is_a_line(box, expected):
    assert widths(job_with(thing(box, spot("Rust")), Rust=[]), detail_mm=1.0, thinner_than_mm=0.299) == expected


def test_a_fill_in_the_colour_of_its_ground_is_no_line():
    rule = thing((15, 20, 30, 20.1), spot("Rust", 0.3))
    assert widths(job_with(rule, Rust=[((10, 12, 45, 32), 0.3)])) == []
    assert widths(job_with(rule, Rust=[((10, 12, 45, 32), 0.4)])) == [(0.1, "", 1)]


def test_lines_of_the_die_are_none():
    die = Die("stated", "", lines_of={"cut": (0,), "crease": (2, 3)})
    its_job = job_with(stroke(0.1), stroke(0.12), stroke(0.14), stroke(0.16), Rust=[], die=die)
    assert widths(its_job) == [(0.12, "", 1)]


def test_a_line_that_is_covered_is_none():
    over = thing((14, 19, 36, 21), spot("Moss"))
    assert widths(job_with(stroke(0.1), over, stroke(0.2), Rust=[], Moss=[])) == [(0.2, "", 1)]


def test_beyond_a_bound_nobody_asks_what_is_covered(monkeypatch):
    monkeypatch.setattr(type_and_line, "MOST_COVERED", 1)
    over = thing((14, 19, 36, 21), spot("Moss"))
    assert widths(job_with(stroke(0.1), stroke(0.2), over, Rust=[], Moss=[])) == [(0.2, "", 1)]


def test_beyond_a_bound_nobody_looks_beside_lines(monkeypatch):
    """The second is taken for printed, since nobody has looked."""
    white = [stroke(width, tint=0.0) for width in (0.1, 0.2)]
    assert widths(job_with(*white, Rust=solid((10, 12, 45, 32)))) == [(0.1, "reversed", 1), (0.2, "reversed", 1)]
    monkeypatch.setattr(type_and_line, "MOST_SAMPLED", 1)
    assert widths(job_with(*white, Rust=solid((10, 12, 45, 32)))) == [(0.1, "reversed", 1), (0.2, "", 1)]


SHAPE: Box = (15, 20, 25, 26)


@pytest.mark.parametrize(
    ("first", "second", "alike"),
    [
        (thing(SHAPE, spot("Rust")), line((15, 20), (25, 26), width=0.2, colour=spot("Rust")), True),
        (thing(SHAPE, spot("Rust")), line((15, 20), (25, 26), width=0.2, colour=spot("Moss")), False),
        (thing(SHAPE, spot("Rust")), line((15, 20), (25, 26.2), width=0.2, colour=spot("Rust")), False),
        (thing(SHAPE, spot("Rust")), line((15, 20), (25, 26.09), width=0.2, colour=spot("Rust")), True),
        (text(SHAPE, colour=spot("Rust")), line((15, 20), (25, 26), width=0.2, colour=spot("Rust")), False),
        (thing(SHAPE, spot("Rust")), thing(SHAPE, spot("Rust")), False),
        (line((15, 20), (25, 26), width=0.2, colour=spot("Rust")), thing(SHAPE, spot("Rust")), False),
    ],
    ids=["in one go", "in another colour", "larger by more than its width", "by less", "round a text", "two fills",
         "the stroke first"],
)  # fmt: skip
def test_a_stroke_round_its_own_fill(first, second, alike):
    """A line runs out of its fill by half its width."""
    its_job = job_with(thing((1, 1, 2, 2)), first, second, Rust=[])
    assert type_and_line._round_their_fill(its_job).tolist() == [False, False, alike]
    assert type_and_line._round_their_fill(job_with(first, Rust=[])).tolist() == [False]


def details(*things: dict[str, Any], area: float, detail_mm: float = 12.0) -> list[int]:
    its_job = job_with(thing((60, 40, 65, 45)), *things, Rust=[])
    objects = its_job.page.objects
    sides = np.sort(objects.box_mm[:, 2:] - objects.box_mm[:, :2], axis=1)
    width = np.where(objects.painted == Painted.STROKE, objects.line_width_mm, sides[:, 0]).astype(float)
    rows = np.arange(1, len(things) + 1)
    return sorted(type_and_line._fine_detail(its_job, rows, np.round(width, 3), detail_mm, area))


THIN = line((15, 20), (23, 20), width=0.125)
THICK = line((15, 30), (25, 30), width=0.25)


@pytest.mark.parametrize(
    ("things", "area", "expected"),
    [
        ([THICK, THIN], 1.0, []),
        ([THICK, THIN], 1.01, [2]),
        ([THICK, THIN], 3.5, [2]),
        ([THICK, THIN], 3.51, [1, 2]),
        ([THIN, THIN], 2.0, []),
        ([THIN, THIN], 2.01, [1, 2]),
        ([line((15, 20), (18, 20), (18, 24), width=0.125)], 0.875, []),
        ([line((15, 20), (18, 20), (18, 24), width=0.125)], 0.876, [1]),
        ([thing((15, 20, 23, 20.125)), THIN], 2.0, []),
        ([thing((15, 20, 23, 20.125)), THIN], 2.01, [1, 2]),
        ([line((15, 20), (26.9, 20), width=0.125), THIN], 1.01, [2]),
        ([], 9.0, []),
    ],
    ids=["as much as the area", "less", "all of both as much", "all of both less", "two of a width", "two, less",
         "along a bent line", "along it, less", "a fill and a line", "a fill and a line, less", "too long to be detail",
         "none"],
)  # fmt: skip
def test_short_lines_of_which_there_is_little_are_detail(things, area, expected):
    """8 mm of 0.125 mm are 1 mm2, and 10 mm of 0.25 mm are 2.5 mm2."""
    assert details(*things, area=area) == expected


def test_cases_of_detail():
    ray = line((20, 20), (24, 20), width=0.1, colour=spot("Rust"))
    white = line((20, 24), (24, 24), width=0.1, colour=PAPER)
    hair = line((20, 28), (24, 28), width=0.0, colour=spot("Rust"), shown=(20, 27, 24, 29))
    its_job = job_with(ray, white, hair, Rust=solid((18, 22, 30, 26)))
    assert widths(its_job) == [(0.0, "hairline", 1), (0.1, "fine detail", 1), (0.1, "reversed fine detail", 1)]


# Ink ---------------------------------------------------------------------------------------------------------------


def test_the_ink_of_rows_is_the_sum_of_those_that_count():
    two = Colour("DeviceN", (("Rust", 0.5), ("Moss", 0.25), ("Gold", 1.0)))
    its_job = job_with(thing(AT, two), thing(AT, spot("Rust", 0.0)), thing(AT, spot("Rust")), Rust=[], Moss=[])
    ink = _Ink(its_job, ("spot",))
    assert ink.of_rows(np.array([2, 0, 1, 0])).tolist() == [1.0, 0.75, 0.0, 0.75]
    assert ink.of(0) == 0.75
    assert ink.how_many(np.array([0, 1, 2]), 0.25).tolist() == [2, 0, 1]
    assert ink.how_many(np.array([0, 2]), 0.26).tolist() == [1, 1]
    assert ink.rows.tolist() == [True, True, True]
    assert _Ink(its_job, ("metallic",)).rows.tolist() == [False] * 3


def test_process_inks_count_even_where_no_plate_has_them():
    black = Colour("DeviceCMYK", (("Cyan", 0.0), ("Black", 1.0)))
    its_job = job_with(thing(AT, black), Rust=[])
    assert _Ink(its_job, ("process",)).rows.tolist() == [True]
    assert _Ink(its_job, ("spot",)).rows.tolist() == [False]


def test_totals_at_places_and_near_boxes():
    its_job = job_with(Rust=[((20, 20, 32, 24), 1.0)], Moss=[((30, 20, 40, 24), 0.4)])
    ink = _Ink(its_job, ("spot",))
    places = np.array([[[25, 22], [31, 22]], [[35, 22], [50, 22]], [[-5, 22], [25, 99]]], float)
    assert ink.at(places).tolist() == [[1.0, pytest.approx(1.4)], [pytest.approx(0.4), 0.0], [0.0, 0.0]]
    boxes = np.array([[21, 21, 22, 22], [31, 21, 31.5, 22], [45, 21, 48, 22], [52, 40, 60, 45]], float)
    near = ink.most_near(boxes)
    assert near[0] == 1.0
    assert near[1] == pytest.approx(1.4)
    assert near[3] == 0.0
    assert ink.most_near(np.array([[24.0, 29.0, 28.0, 31.0], [22.0, 26.0, 26.0, 30.0]])).tolist() == [0.0, 1.0]
    assert ink.most_near(np.array([[-9.0, -9.0, -8.0, -8.0], [68.0, 48.0, 90.0, 70.0]])).tolist() == [0.0, 0.0]


def test_off_the_plates_the_nearest_edge_goes_on():
    its_job = job_with(Rust=solid((60, -1, 71, 51)))
    ink = _Ink(its_job, ("spot",))
    assert ink.at(np.array([[75.0, 20.0], [-3.0, 20.0], [65.0, -4.0], [65.0, 60.0]])).tolist() == [1, 0, 1, 1]


def test_more_sizes_than_are_told_leave_a_gap(monkeypatch):
    monkeypatch.setattr(type_and_line, "MOST_SIZES", 2)
    its_job = job_with(*[stroke(width) for width in (0.25, 0.1, 0.2, 0.1, 0.25)], Rust=[])
    found = line_width(its_job, inks=("spot",), thinner_than_mm=0.3, detail_mm=6.0, detail_area_mm2=1.0)
    assert [(one.value, one.facts["objects"]) for one in found.readings] == [(0.1, 2), (0.2, 1)]
    assert len(found.gaps) == 1
    assert len(found.gaps[0].places) == 2
    monkeypatch.setattr(type_and_line, "MOST_SIZES", 3)
    found = line_width(its_job, inks=("spot",), thinner_than_mm=0.3, detail_mm=6.0, detail_area_mm2=1.0)
    assert (len(found.readings), list(found.gaps)) == (3, [])

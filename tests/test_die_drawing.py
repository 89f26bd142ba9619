"""The die as paths over the picture of a page: y runs down, and what is very long is drawn more coarsely."""

from __future__ import annotations

import re
from typing import Any

import pytest
from shapely import LineString, MultiLineString, Point, Polygon, box

from preflight.carton.die import Area, Blank, Die
from preflight.report.die_drawing import LONGEST_PATH, draw_die

HIGH = 100.0
OUTLINE = box(10, 20, 60, 50)
CREASE = MultiLineString([[(30, 20), (30, 50)], [(45, 22), (45, 48)]])


def die(*areas: Area, **more: Any) -> Die:
    return Die("read", "", (Blank(1, OUTLINE, CREASE, (OUTLINE,), (), areas),), **more)


def lines(path: str) -> list[list[tuple[float, float]]]:
    """The points of each line of a path."""
    return [
        [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", part)] for part in path.split("M")[1:]
    ]


def zigzag(points: int, high: float) -> LineString:
    return LineString([(0.01 * k, 40 + high * (k % 2)) for k in range(points)])


def test_without_lines_of_its_own_a_die_is_drawn_by_its_blanks():
    drawing = draw_die(die(), HIGH, 4)
    [outline] = lines(drawing.cut)
    assert set(outline) == {(10, 80), (10, 50), (60, 50), (60, 80)}
    assert drawing.cut.endswith("Z")
    assert lines(drawing.crease) == [[(30, 80), (30, 50)], [(45, 78), (45, 52)]]
    assert drawing.inside == drawing.cut
    assert drawing.left_out == ""


def test_lines_that_were_read_are_drawn_as_they_are():
    cut, crease = LineString([(10, 20), (61, 20)]), LineString([(30, 20), (30, 51)])
    drawing = draw_die(die(cut_lines=cut, crease_lines=crease, left_out=LineString([(1, 2), (3, 5)])), HIGH, 4)
    assert lines(drawing.cut) == [[(10, 80), (61, 80)]]
    assert lines(drawing.crease) == [[(30, 80), (30, 49)]]
    assert lines(drawing.left_out) == [[(1, 98), (3, 95)]]
    assert "Z" not in drawing.cut
    assert len(lines(drawing.inside)) == 1


def test_a_cut_out_is_a_ring_of_its_own():
    holed = Polygon(OUTLINE.exterior, [box(20, 30, 24, 33).exterior])
    path = draw_die(Die("read", "", (Blank(1, holed, MultiLineString()),)), HIGH, 4).inside
    assert path.count("Z") == path.count("M") == 2
    assert set(lines(path)[1]) == {(20, 70), (24, 70), (24, 67), (20, 67)}


@pytest.mark.parametrize(
    ("shape", "at", "upright"),
    [
        (box(12, 22, 16, 40), (14, 69), True),  # the middle
        (box(20, 22, 40, 30), (20, 70), False),  # the upper-left corner
        (box(20, 22, 28, 30), (20, 70), False),
    ],
    ids=["higher than wide", "wider than high", "a square"],
)
def test_where_the_label_of_an_area_stands(shape, at, upright):
    [area] = draw_die(die(Area("code", shape, "stated", "")), HIGH, 4).areas
    assert (area.kind, area.at, area.upright) == ("code", at, upright)
    x0, y0, x1, y1 = shape.bounds
    assert set(lines(area.path)[0]) == {(x0, HIGH - y0), (x1, HIGH - y0), (x1, HIGH - y1), (x0, HIGH - y1)}


def test_letters_stand_where_the_picture_has_their_panel():
    assert draw_die(die(), HIGH, 4).labels == (("A", 56, HIGH - 46),)


def test_nothing_is_drawn_of_a_page_without_a_die():
    drawing = draw_die(Die("none", "no die"), HIGH, 4)
    assert (drawing.cut, drawing.crease, drawing.inside, drawing.areas, drawing.labels) == ("", "", "", (), ())


@pytest.mark.parametrize("nothing", [Polygon(), Point(3, 4), LineString()])
def test_what_has_no_length_is_not_drawn(nothing):
    assert draw_die(die(left_out=nothing), HIGH, 4).left_out == ""


@pytest.mark.parametrize(
    ("points", "high", "drawn"),
    [
        (5_000, 0.05, 5_000),  # fits
        (20_000, 0.05, 2),  # at steps of 0.1 mm it is a straight line
        (20_000, 0.5, 2),  # at steps of 1 mm
        (20_000, 5.0, 20_000),  # there is no coarser one
    ],
)
def test_a_very_long_path_is_drawn_more_coarsely(points, high, drawn):
    path = draw_die(die(cut_lines=zigzag(points, high)), HIGH, 4).cut
    assert len(lines(path)[0]) == pytest.approx(drawn, rel=0.01)
    assert (len(path) > LONGEST_PATH) is (drawn == 20_000)


@pytest.mark.parametrize(("off", "points"), [(0.015, 2), (0.03, 3)])
def test_what_lies_within_a_fiftieth_of_a_millimetre_of_a_line_is_left_out(off, points):
    bent = LineString([(10, 20), (20, 20 + off), (30, 20)])
    assert len(lines(draw_die(die(cut_lines=bent), HIGH, 4).cut)[0]) == points

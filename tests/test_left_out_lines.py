"""What is drawn in a die ink and is no die: its name, its count, and the creases that are clipped."""

import numpy as np
import pytest
from shapely import Polygon, box

from preflight.carton.cells.closed_cells import Cells
from preflight.carton.cells.left_out_lines import _is_crop_mark, _name, _says, left_out_of
from preflight.carton.cells.net import build_net
from preflight.carton.lines.drawn_lines import segments_of
from tests.die_lines import circle, line, rectangle
from tests.test_closed_cells import group_at
from tests.test_folding_blanks import folded

BLANK, OTHER = box(10, 20, 110, 80), box(150, 30, 240, 90)
BOUNDS = np.array([10.0, 20, 240, 90])


@pytest.mark.parametrize(
    ("points", "mark"),
    [
        ([(8, 95), (8, 110)], True),
        ([(8, 95), (8, 110.1)], False),  # 15.1 mm long
        ([(8, 95), (8.1, 105)], True),
        ([(8, 95), (8.15, 105)], False),  # aslant
        ([(10, 90), (10, 100)], True),  # from the edge on
        ([(10, 89.9), (10, 100)], False),
        ([(4, 5), (4, 20)], True),
        ([(4, 5.2), (4, 20.1)], False),
        ([(3.9, 5), (3.9, 15)], False),  # more than 6 mm off the edge
        ([(16, 5), (16, 15)], True),
        ([(16.1, 5), (16.1, 15)], False),
        ([(240, 5), (240, 15)], True),
        ([(246, 95), (246, 105)], True),
        ([(246.1, 95), (246.1, 105)], False),
        ([(125, 95), (125, 105)], False),
        ([(-5, 20), (5, 20)], True),
        ([(245, 90), (255, 90)], True),
        ([(245, 84), (255, 84)], True),
        ([(245, 83), (255, 83)], False),
        ([(-5, 90), (11, 90)], False),
    ],
)
def test_crop_marks_are_short_outside_and_in_line_with_an_edge(points, mark):
    assert _is_crop_mark(line(points), BOUNDS) is mark


@pytest.mark.parametrize(
    ("points", "name"),
    [
        pytest.param([(8, 95), (8, 105)], "crop mark", id="crop mark"),
        pytest.param([(10, 100), (110, 100)], "dimension line", id="straight"),
        pytest.param([(10, 100), (60, 100), (60, 120)], "other line", id="bent"),
        pytest.param(rectangle(7, 17, 113, 83), "second outline", id="round one blank, 3 mm off"),
        pytest.param(rectangle(-10, 0, 130, 100), "frame", id="round one blank, 20 mm off"),
        pytest.param(rectangle(7, 17, 243, 93), "frame", id="round both blanks"),
        pytest.param(rectangle(300, 0, 320, 30), "other line", id="round nothing"),
        pytest.param(rectangle(12, 22, 30, 40), "other line", id="in a blank"),
    ],
)
def test_what_a_line_is_called(points, name):
    assert _name(line(points), [BLANK, OTHER], BOUNDS) == name


def test_counts_in_words():
    assert _says({}) == ""
    assert _says({"word": 0, "frame": 0}) == ""
    words = _says({"word": 1, "crop mark": 4, "frame": 0, "legend box": 2})
    assert [part in words for part in ("1 word", "4 crop marks", "2 legend boxes")] == [True] * 3
    assert "words" not in words
    assert "frame" not in words


def left_out(*extra, aside=(), words=0, inside=((20, 50),), blank=None):
    lines = [*(blank or folded(10, 20)), *extra]
    cells = Cells.of(build_net(segments_of(lines)))
    groups = [group_at(cells, *place) for place in inside]
    return left_out_of(lines, aside, cells, groups, [cells.outline(group) for group in groups], words)


def test_nothing_is_left_out_of_a_plain_card():
    found = left_out()
    assert (found.shape, found.says, found.used.tolist(), found.clipped) == (None, "", [True, True], 0)
    assert found.open_cuts == ()


def test_lines_off_the_blank_are_left_out_and_kept_to_be_shown():
    found = left_out(line([(10, 100), (60, 100)]), line([(20, 50), (30, 50)], "crease"), line([(120, 20), (120, 80)]))
    assert found.used.tolist() == [True, True, False, True, False]
    assert "2 dimension lines" in found.says
    assert found.shape.length == pytest.approx(110)


@pytest.mark.parametrize(
    ("beyond", "clipped"),
    [
        pytest.param(0.4, 0, id="0.2 mm past what counts as the cut"),
        pytest.param(0.6, 1, id="0.4 mm past it"),
        pytest.param(30, 1, id="far past it"),
    ],
)
def test_creases_that_go_past_the_cut_are_clipped(beyond, clipped):
    through = line([(70, 20), (70, 80 + beyond)], "crease")
    found = left_out(through)
    assert found.clipped == clipped
    assert found.used.tolist() == [True] * 3
    assert left_out(line([(70, 20), (70, 80 + beyond)], "cut"), inside=[(20, 50)]).clipped == 0


@pytest.mark.parametrize(("inside", "used"), [(9.5, False), (10, True)])
def test_a_line_is_left_out_where_nine_tenths_of_it_lie_off_the_blank(inside, used):
    """100 mm long; 0.2 mm beyond the blank count as on it."""
    assert left_out(line([(60, 80 - inside), (60, 180 - inside)])).used.tolist() == [True, True, used]


def test_what_was_aside_before_is_counted_as_dimension_lines_where_it_is_straight():
    aside = [line([(10, 100), (60, 100)]), line([(10, 110), (20, 110), (20, 130)])]
    found = left_out(line([(120, 20), (120, 80)]), aside=aside, words=3)
    assert "2 dimension lines" in found.says
    assert "3 words" in found.says
    assert found.used.tolist() == [True, True, False]
    assert found.shape.length == pytest.approx(60 + 50 + 30)


@pytest.mark.parametrize(
    ("high", "boxes"),
    [pytest.param(4.9, False, id="49 mm2"), pytest.param(5, True, id="50 mm2"), pytest.param(5.1, True, id="51 mm2")],
)
def test_a_legend_box_has_at_least_50_mm2(high, boxes):
    found = left_out(line(rectangle(150, 20, 160, 20 + high)))
    assert ("1 legend box" in found.says) == boxes
    assert ("1 other line" in found.says) != boxes


def test_what_stands_in_a_legend_box_is_not_told_by_itself():
    found = left_out(line(rectangle(150, 20, 190, 60)), line([(155, 40), (185, 40)]), line([(155, 50), (195, 50)]))
    assert "1 legend box" in found.says
    assert "1 dimension line" in found.says  # it goes past the box
    assert found.used.tolist() == [True, True, False, False, False]


def test_cells_that_touch_the_blank_or_hold_it_are_no_legend():
    beside = line([(110, 20), (140, 20), (140, 50), (110, 50)])
    assert "legend" not in left_out(beside).says
    frame = line(rectangle(-20, -10, 150, 120))
    assert "legend" not in left_out(frame).says
    assert "1 frame" in left_out(frame).says


def test_two_cells_that_hang_together_are_one_legend_box():
    found = left_out(line(rectangle(150, 20, 190, 60)), line([(170, 20), (170, 60)]), line(rectangle(200, 20, 230, 40)))
    assert "2 legend boxes" in found.says


def test_the_cut_drawn_again_is_told_elsewhere():
    found = left_out(line([(111, 20), (111, 80)]), line([(8, 20), (8, 80)]))
    assert "1 dimension line" in found.says  # only the one 2 mm off
    assert found.used.tolist() == [True, True, False, False]


def test_a_circle_outside_is_another_line():
    assert "1 other line" in left_out(line(circle(130, 50, 3))).says
    assert isinstance(left_out(line(circle(130, 50, 3))).shape.envelope, Polygon)

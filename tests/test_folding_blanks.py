"""Which groups of cells are blanks that fold, and which are gutters, sketches, rings and safety lines."""

import numpy as np
import pytest

from preflight.carton.cells.folding_blanks import choose_blanks
from preflight.carton.lines.drawn_lines import CUT, lengths_of
from tests.die_lines import circle, line, rectangle
from tests.test_closed_cells import cells_of, drawn


def chosen(*lines, trim=None):
    cells = cells_of(*lines)
    choice = choose_blanks(cells, trim)
    return sorted(tuple(map(float, cells.outline(group).bounds)) for group in choice.groups)


def folded(x, y, wide=100, high=60, at=40, **keys):
    """A card with an upright fold."""
    return [line(rectangle(x, y, x + wide, y + high), **keys), line([(x + at, y), (x + at, y + high)], "crease")]


def test_cells_joined_by_a_fold_are_a_blank():
    assert chosen(*folded(10, 20), *folded(150, 30, 90, 50)) == [(10, 20, 110, 80), (150, 30, 240, 80)]


@pytest.mark.parametrize(("high", "blanks"), [(9.9, 0), (10, 1)])
def test_a_blank_has_200_mm2(high, blanks):
    assert len(chosen(*folded(10, 20, 20, high, 8))) == blanks


@pytest.mark.parametrize(("high", "blanks"), [(11.9, 1), (12, 2)])
def test_a_group_under_4_per_cent_of_the_largest_is_a_sketch(high, blanks):
    """The card has 6000 mm2, 4 % of it are 240."""
    assert len(chosen(*folded(10, 20), *folded(150, 30, 20, high, 8))) == blanks


@pytest.mark.parametrize(
    ("fold", "blank"),
    [
        pytest.param([(50, 22), (50, 78)], True, id="nearly from edge to edge"),
        pytest.param([(50, 28), (50, 72)], True, id="8 mm short at both ends"),
        pytest.param([(50, 28.1), (50, 78)], False, id="8.1 mm short at one end"),
        pytest.param([(50, 22), (50, 71.9)], False, id="8.1 mm short at the other"),
        pytest.param([(12, 32), (22, 22)], False, id="14 mm across a corner"),
        pytest.param([(12.5, 33), (21.5, 21)], True, id="15 mm across a corner"),
        pytest.param([(12, 33), (23, 22)], True, id="15.6 mm across a corner"),
        pytest.param([(50, 22), (60, 50), (50, 78)], True, id="bent"),
    ],
)
def test_a_loose_fold_makes_a_blank_where_it_nearly_reaches_the_edge(fold, blank):
    """A dash of another fold beside the card, so that the folds are too few to belong to another carton."""
    cells = cells_of(line(rectangle(10, 20, 110, 80)), line(fold, "crease"))
    choice = choose_blanks(cells)
    assert (bool(choice.groups) and not choice.assumed) == blank


@pytest.mark.parametrize("x", [15, 90], ids=["left of it", "right of it"])
def test_a_dash_beside_a_loose_fold_does_not_hide_it(x):
    lines = [line(rectangle(10, 20, 110, 80)), line([(50, 22), (50, 78)], "crease"), line([(x, 40), (x, 46)], "crease")]
    choice = choose_blanks(cells_of(*lines))
    assert len(choice.groups) == 1
    assert choice.assumed == ()


@pytest.mark.parametrize(("wide", "blanks"), [(49.9, 1), (50, 2)])
def test_a_card_with_a_loose_fold_beside_a_blank_has_half_its_size(wide, blanks):
    card = [line(rectangle(150, 20, 150 + wide, 80)), line([(170, 23), (170, 77)], "crease")]
    assert len(chosen(*folded(10, 20), *card)) == blanks


def test_a_loose_fold_in_the_second_cell_of_a_card_in_halves():
    lines = [
        line(rectangle(10, 20, 110, 80)),
        line(rectangle(150, 20, 270, 90)),
        line([(200, 23), (200, 87)], "crease"),
    ]
    assert chosen(*lines) == [(150, 20, 270, 90)]


@pytest.mark.parametrize(
    ("fold", "card"),
    [
        pytest.param([[(120, 10), (140, 10)]], True, id="a sample"),
        pytest.param([[(130, y), (160, y)] for y in (30, 40)], True, id="60 of 320 mm"),
        pytest.param([[(130, y), (170, y)] for y in (30, 50)], True, id="80 of 320 mm"),
        pytest.param([[(130, y), (170.5, y)] for y in (30, 50)], False, id="81 of 320 mm"),
    ],
)
def test_a_card_beside_many_folds_belongs_to_another_carton(fold, card):
    assert bool(chosen(line(rectangle(10, 20, 110, 80)), *(line(points, "crease") for points in fold))) == card


def test_a_card_that_ends_in_a_fold_is_none():
    u = line([(10, 80), (10, 20), (110, 20), (110, 80)])
    assert chosen(u, line([(10, 80), (110, 80)], "crease")) == []


def test_a_gutter_between_blanks_is_none():
    """Two cards 5 mm apart, the gutter closed above and below and crossed by folds that run through."""
    sides = [line([(110, y), (115, y)]) for y in (20, 80)]
    lines = [line(rectangle(x, 20, x + 100, 80)) for x in (10, 115)]
    through = [line([(10, y), (215, y)], "crease") for y in (40, 55)]
    assert chosen(*lines, *sides, *through) == [(10, 20, 110, 80), (115, 20, 215, 80)]


@pytest.mark.parametrize(("wide", "blanks"), [(5, 2), (30, 3)])
def test_a_wide_strip_between_two_blanks_is_a_blank(wide, blanks):
    """Between two cards, folded too: narrow it is a gutter, wide a third blank."""
    right = 110 + wide
    sides = [line([(110, y), (right, y)]) for y in (20, 80)]
    lines = [line(rectangle(x, 20, x + 100, 80)) for x in (10, right)]
    through = [line([(10, 45), (right + 100, 45)], "crease")]
    assert len(chosen(*lines, *sides, *through)) == blanks


@pytest.mark.parametrize(("high", "blanks"), [(44.5, 2), (44, 2), (43.5, 3)])
def test_a_gutter_has_four_fifths_of_its_edge_in_common_with_blanks(high, blanks):
    """5 mm wide and 60 high between a card of 60 and one of this height: of 130 mm they share 60 and the height."""
    strip = [line([(110, 20), (115, 20)]), line([(110, 80), (115, 80)]), line([(115, 20 + high), (115, 80)])]
    cards = [line(rectangle(10, 20, 110, 80)), line(rectangle(115, 20, 215, 20 + high))]
    assert len(chosen(*cards, *strip, line([(10, 45), (215, 45)], "crease"))) == blanks


@pytest.mark.parametrize(("role", "blanks"), [("crease", 2), ("cut", 3)])
def test_a_wide_gutter_ends_in_a_crease(role, blanks):
    """28 mm between two cards, closed below by a cut and above by a crease."""
    strip = [line([(110, 20), (138, 20)]), line([(110, 80), (138, 80)], role)]
    cards = [line(rectangle(x, 20, x + 100, 80)) for x in (10, 138)]
    assert len(chosen(*cards, *strip, line([(10, 45), (238, 45)], "crease"))) == blanks


def test_a_ring_round_a_blank_is_none_and_one_beside_it_is_no_ring():
    ring = [
        line(rectangle(-20, -20, 140, 120)),
        line([(-20, 50), (10, 50)], "crease"),
        line([(110, 50), (140, 50)], "crease"),
    ]
    lines = [*folded(10, 20), *ring]
    assert chosen(*lines) == [(10, 20, 110, 80)]
    assert chosen(*folded(10, 20), *folded(200, 20)) == [(10, 20, 110, 80), (200, 20, 300, 80)]


def second_outline():
    """A card, and 4 mm round it an outline that the folds run out to."""
    fold = [line([(40, 16), (40, 84)], "crease"), line([(80, 16), (80, 84)], "crease")]
    return cells_of(line(rectangle(10, 20, 110, 80)), line(rectangle(6, 16, 114, 84)), *fold)


def test_a_second_outline_that_the_folds_run_out_to_is_the_cut():
    cells = second_outline()
    choice = choose_blanks(cells)
    assert choice.groups == ()
    assert lengths_of(cells.net.xy[choice.drop]).sum() == 320  # the inner one goes
    assert set(np.array(drawn(cells, choice.drop))[:, 0]) <= {10.0, 40, 80, 110}
    assert (cells.net.role[choice.drop] == CUT).all()
    assert len(choice.assumed) == 1
    assert "4.0 mm" in choice.assumed[0]


def test_a_second_outline_round_the_one_of_the_trim_box_is_left_out():
    cells = second_outline()
    choice = choose_blanks(cells, (10, 20, 110, 80))
    assert lengths_of(cells.net.xy[choice.drop & (cells.net.role == CUT)]).sum() == 352  # the outer one goes
    assert choice.assumed == ()
    assert len(choice.notes) == 1
    both = choose_blanks(cells, (6, 16, 114, 84))
    assert len(both.assumed) == 1


def panels_with(*openings):
    return cells_of(*folded(10, 20, 100, 60, 40), *(line(points) for points in openings))


def test_outlines_in_two_panels_at_the_same_distance_are_safety_lines():
    cells = panels_with(rectangle(13, 23, 47, 77), rectangle(53, 23, 107, 77))
    choice = choose_blanks(cells)
    assert choice.groups == ()
    assert drawn(cells, choice.drop) == sorted(
        [(13, 23, 13, 77), (13, 23, 47, 23), (47, 23, 47, 77), (13, 77, 47, 77)]
        + [(53, 23, 53, 77), (53, 23, 107, 23), (107, 23, 107, 77), (53, 77, 107, 77)]
    )
    assert "3.0 mm" in choice.assumed[0]


@pytest.mark.parametrize(
    ("left", "right", "lines"),
    [
        pytest.param(9, 9, True, id="the smaller one 0.39 of its panel"),
        pytest.param(12, 12, False, id="the smaller one 0.24 of its panel"),
        pytest.param(3, 3.5, True, id="half a millimetre apart"),
        pytest.param(3, 3.7, False, id="0.7 mm apart"),
    ],
)
def test_safety_lines_are_large_and_at_like_distances(left, right, lines):
    cells = panels_with(
        rectangle(10 + left, 20 + left, 50 - left, 80 - left),
        rectangle(50 + right, 20 + right, 110 - right, 80 - right),
    )
    assert (choose_blanks(cells).drop is not None) == lines


@pytest.mark.parametrize(
    "openings",
    [
        pytest.param([rectangle(13, 23, 47, 77)], id="in one panel"),
        pytest.param([rectangle(13, 23, 47, 77), rectangle(55, 25, 105, 75)], id="at two distances"),
        pytest.param([circle(30, 50, 8), circle(80, 50, 8)], id="round windows"),
        pytest.param([rectangle(20, 30, 30, 70), rectangle(60, 30, 74, 50)], id="small windows"),
    ],
)
def test_openings_that_are_windows(openings):
    cells = panels_with(*openings)
    choice = choose_blanks(cells)
    assert choice.drop is None
    assert [cells.outline(group).bounds for group in choice.groups] == [(10, 20, 110, 80)]
    assert len(cells.outline(choice.groups[0]).interiors) == len(openings)


def test_nothing_at_all():
    assert choose_blanks(cells_of(line([(1, 2), (30, 2)]))).groups == ()

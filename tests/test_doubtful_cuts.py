"""Where a cut outline is doubtful, in words and places."""

import numpy as np
import pytest
from shapely import Polygon

from preflight.carton.cells.doubtful_cuts import (
    Doubts,
    _alike,
    _between,
    _samples,
    at,
    box_of,
    knives,
    look_for_doubts,
    openings,
)
from tests.die_lines import line, rectangle
from tests.test_closed_cells import cells_of, drawn, group_at
from tests.test_folding_blanks import folded


def doubts_of(*lines, inside):
    """Doubts about the groups at these places."""
    cells = cells_of(*lines)
    groups = [group_at(cells, *place) for place in inside]
    doubts = Doubts()
    look_for_doubts(cells, groups, [cells.outline(group) for group in groups], doubts)
    return doubts


def test_a_doubt_without_a_place_is_about_everything():
    doubts, everywhere = Doubts(), []
    for says, places in (("one", [(1, 2, 3, 4)]), ("two", []), ("three", [(5, 6, 7, 8), (9, 9, 9, 9)])):
        doubts.add(says, places)
        everywhere.append(doubts.everywhere)
    assert everywhere == [False, True, True]
    assert doubts.says == ["one", "two", "three"]
    assert doubts.places == [(1, 2, 3, 4), (5, 6, 7, 8), (9, 9, 9, 9)]


def test_places_in_words_and_boxes():
    assert at(np.array([12.4, 39.6])) == "(12, 40)"
    points = np.array([[3.0, 9], [7, 2], [5, 5]])
    assert box_of(points) == (2.5, 1.5, 7.5, 9.5)
    assert box_of(points, 2) == (1, 0, 9, 11)


@pytest.mark.parametrize(
    ("ends", "said"),
    [
        pytest.param([], 0, id="no ends"),
        pytest.param([(3, 4)], 0, id="one end"),
        pytest.param([(3, 4), (3, 14)], 1, id="10 mm apart"),
        pytest.param([(3, 4), (3, 14.1)], 0, id="farther apart"),
        pytest.param([(3, 4), (3, 5)], 0, id="1 mm apart, which is closed"),
        pytest.param([(3, 4), (3, 5.1)], 1, id="1.1 mm apart"),
        pytest.param([(40 * n, 4 + k * 2) for n in range(7) for k in (0, 1)], 5, id="five of seven are told"),
    ],
)
def test_openings_between_ends(ends, said):
    assert len(openings(np.array(ends, float).reshape(-1, 2))) == said


def test_the_narrowest_opening_is_told_first_with_its_middle():
    found = openings(np.array([[10.0, 20], [10, 24], [50, 60], [52, 60]]))
    assert ["2.0 mm" in found[0], "(51, 60)" in found[0]] == [True, True]
    assert ["4.0 mm" in found[1], "(10, 22)" in found[1]] == [True, True]


def test_a_sample_a_millimetre_in_the_middle_of_it():
    places, direction = _samples(np.array([[2.0, 3, 5.2, 3], [7, 1, 7, 1.3], [4, 9, 4, 7]]))
    assert places == pytest.approx(
        np.array([[2 + 3.2 / 6, 3], [3.6, 3], [5.2 - 3.2 / 6, 3], [7, 1.15], [4, 8.5], [4, 7.5]])
    )
    assert direction == pytest.approx(np.array([[1, 0]] * 3 + [[0, 1]] + [[0, -1]] * 2))


def test_a_plain_card_is_beyond_doubt():
    assert doubts_of(*folded(10, 20), inside=[(20, 50)]).says == []


@pytest.mark.parametrize(("wide", "said"), [(1.9, 0), (2, 1), (30, 1)])
def test_a_blank_that_ends_in_a_fold_of_2_mm(wide, said):
    """In the upper edge, from x = 60 on."""
    outline = [(60, 80), (10, 80), (10, 20), (110, 20), (110, 80), (60 + wide, 80)]
    lines = [line(outline), line([(60, 80), (60 + wide, 80)], "crease"), line([(40, 20), (40, 80)], "crease")]
    doubts = doubts_of(*folded(200, 20), *lines, inside=[(220, 50), (20, 50)])
    assert len(doubts.says) == said
    assert doubts.places == [pytest.approx((59.5, 79.5, 60.5 + wide, 80.5))] * said
    assert all("blank 2 " in words for words in doubts.says)


@pytest.mark.parametrize(
    ("away", "long", "said"),
    [
        (0.35, 30, True),
        (0.25, 30, False),
        (1.0, 30, True),
        (1.5, 30, True),
        (1.55, 30, False),
        (1.0, 8, True),
        (1.0, 7, False),
    ],
)
@pytest.mark.parametrize("side", ["outside", "above"])
def test_two_cut_lines_side_by_side(away, long, said, side):
    """From 0.3 to 1.5 mm apart, for at least 8 mm; the other line hangs on nothing."""
    other = (
        [(110 + away, 30), (110 + away, 30 + long)] if side == "outside" else [(50, 80 + away), (50 + long, 80 + away)]
    )
    doubts = doubts_of(*folded(10, 20), line(other), inside=[(20, 50)])
    assert len(doubts.says) == said


def test_short_stretches_beside_the_cut_are_no_doubt_even_if_there_are_several():
    short = [line([(111, y), (111, y + 5)]) for y in (25, 40)]
    assert doubts_of(*folded(10, 20), *short, inside=[(20, 50)]).says == []
    long = line([(8.8, 30), (8.8, 70)])
    doubts = doubts_of(*folded(10, 20), *short, long, inside=[(20, 50)])
    assert len(doubts.says) == 1
    assert "1.2 mm" in doubts.says[0]
    assert doubts.places == [pytest.approx((7.3, 29, 10.3, 71))]


@pytest.mark.parametrize(("apart", "said"), [(1.4, 1), (2.5, 0)])
def test_stretches_in_line_are_one_where_little_is_between_them(apart, said):
    """Two of 5 mm; looked at every millimetre they are a millimetre more apart, and up to 2.5 mm they are one."""
    stretches = [line([(111, 25), (111, 30)]), line([(111, 30 + apart), (111, 35 + apart)])]
    assert len(doubts_of(*folded(10, 20), *stretches, inside=[(20, 50)]).says) == said


def test_a_crease_beside_the_cut_and_a_cut_within_the_blank_are_no_second_cut():
    crease = line([(111, 30), (111, 70)], "crease")
    slit = line([(41, 30), (41, 70)])
    far_from_the_edge = line([(60, 30), (60, 70)])
    assert doubts_of(*folded(10, 20), crease, slit, far_from_the_edge, inside=[(20, 50)]).says == []


def test_five_stretches_are_told_the_farthest_first_and_all_have_a_place():
    """Of seven cards, each with a line beside it."""
    cards = [item for n in range(7) for item in folded(10 + 200 * n, 20)]
    beside = [line([(111 + 200 * n + 0.05 * n, 30), (111 + 200 * n + 0.05 * n, 70)]) for n in range(7)]
    doubts = doubts_of(*cards, *beside, inside=[(20 + 200 * n, 50) for n in range(7)])
    assert len(doubts.says) == 5
    assert len(doubts.places) == 7
    assert "1.3 mm" in doubts.says[0]
    assert doubts.places[0][0] > 1300


def test_a_line_that_only_crosses_near_the_cut_is_no_doubt():
    """15 degrees off it; at 5 degrees it runs the same way."""
    for degrees, said in ((15, 0), (5, 1)):
        t = np.radians(degrees)
        aslant = line([(111.4, 30), (111.4 - 1.0, 30 + 1.0 / np.tan(t))])
        assert len(doubts_of(*folded(10, 20), aslant, inside=[(20, 50)]).says) == said


def test_knives_are_cuts_that_two_blanks_share():
    """Three cards; the second shares 60 mm with the first, the third 1.9 or 2 mm with the second."""
    for shared, pairs in ((1.9, 1), (2, 2)):
        lines = [
            *folded(10, 20),
            line([(110, 20), (210, 20), (210, 80), (110, 80)]),
            line([(150, 20), (150, 80)], "crease"),
        ]
        third = [(210, 80 - shared), (210, 80 - shared - 0), (300, 80 - shared), (300, 140), (210, 140), (210, 80)]
        cells = cells_of(*lines, line(third), line([(260, 80 - shared), (260, 140)], "crease"))
        groups = [group_at(cells, x, y) for x, y in ((20, 50), (200, 50), (290, 120))]
        found = knives(cells, groups)
        assert len(found) == pairs
        assert tuple(sorted(groups[:2])) in found
        assert knives(cells, groups[:1]) == set()


def test_the_knife_between_two_of_three_blanks():
    cells = cells_of(*folded(10, 20), *folded(110, 20), *folded(210, 40))
    first, second, third = (group_at(cells, x, 50) for x in (20, 120, 220))
    for one, other, places in (
        (first, second, [(110, 20, 110, 80)]), (second, first, [(110, 20, 110, 80)]),
        (second, third, [(210, 40, 210, 80)]), (third, second, [(210, 40, 210, 80)]), (first, third, []),
    ):  # fmt: skip
        assert drawn(cells, _between(cells, one, other)) == places


def hanging(wide, folds=()):
    """A folded card with a piece of 60 mm height hanging on its right side by a cut line."""
    piece = line([(110, 20), (110 + wide, 20), (110 + wide, 80), (110, 80)])
    return [*folded(10, 20), piece, line([(110 + wide / 2, 20), (110 + wide / 2, 80)], "crease"), *folds]


@pytest.mark.parametrize(("wide", "said"), [(24, 1), (25, 0), (26, 0), (90, 0), (100, 0)])
def test_a_small_piece_on_a_knife_is_doubtful(wide, said):
    """Under a quarter of the card."""
    doubts = doubts_of(*hanging(wide), inside=[(20, 50), (110 + wide / 4, 50)])
    assert len(doubts.says) == said
    assert doubts.places == [(110 - 0.5, 19.5, 110.5 + wide, 80.5), (9.5, 19.5, 110.5, 80.5)] * said
    assert all("blank 1" in words for words in doubts.says)


def test_a_knife_that_folds_run_across_is_doubtful():
    across = line([(10, 50), (170, 50)], "crease")
    one_side = line([(10, 50), (110, 50)], "crease")
    assert len(doubts_of(*hanging(60, [across]), inside=[(20, 30), (120, 30)]).says) == 1
    assert doubts_of(*hanging(60, [one_side]), inside=[(20, 30), (120, 30)]).says == []


def test_blanks_that_have_a_like_are_not_doubtful():
    across = line([(10, 50), (210, 50)], "crease")
    assert doubts_of(*hanging(100, [across]), inside=[(20, 30), (120, 30)]).says == []


@pytest.mark.parametrize(("wide", "alike"), [(100.5, True), (101, False), (101.5, False), (98, False)])
def test_blanks_are_alike_within_a_per_cent(wide, alike):
    assert _alike(Polygon(rectangle(1, 2, 101, 62)), Polygon(rectangle(30, 2, 30 + wide, 62))) is alike


def test_blanks_of_one_area_and_another_edge_are_not_alike():
    assert not _alike(Polygon(rectangle(1, 2, 101, 62)), Polygon(rectangle(1, 2, 51, 122)))
    assert not _alike(Polygon(rectangle(0, 0, 100, 60)), Polygon(rectangle(0, 0, 110, 50)))

"""Where a cut is not closed: the fold that the blank ends in, and what hangs on it."""

import numpy as np
import pytest

from preflight.carton.cells.closed_cells import Cells
from preflight.carton.cells.net import build_net
from preflight.carton.cells.open_cuts import _among, open_cuts_of
from preflight.carton.lines.drawn_lines import lengths_of, segments_of
from tests.die_lines import line
from tests.test_closed_cells import group_at
from tests.test_folding_blanks import folded


def opened(*lines, inside=((20, 50),)):
    cells = Cells.of(build_net(segments_of(lines)))
    groups = [group_at(cells, *place) for place in inside]
    return cells, open_cuts_of(cells, groups, [cells.outline(group) for group in groups])


def open_above(wide=40.0, flap=True):
    """A card whose upper edge is a fold from x = 60 on, with a flap on it that is not closed at its upper right."""
    lines = [
        line([(60, 80), (10, 80), (10, 20), (110, 20), (110, 80), (60 + wide, 80)]),
        line([(60, 80), (60 + wide, 80)], "crease"), line([(40, 20), (40, 80)], "crease"),
    ]  # fmt: skip
    return [*lines, line([(60, 80), (60, 105), (60 + wide - 7, 105)]), line([(60 + wide, 80), (60 + wide, 99)])][
        : None if flap else 3
    ]


def test_a_closed_cut_has_no_opening():
    cells, found = opened(*folded(10, 20))
    assert found.found == ()
    assert found.beyond.tolist() == [False] * len(cells.net)


@pytest.mark.parametrize("before", [0, 1], ids=["first blank", "second blank"])
def test_an_opening_has_its_fold_its_loose_ends_and_what_is_drawn_beyond(before):
    others = folded(200, 20) if before else []
    inside = [(210, 50), (20, 50)] if before else [(20, 50)]
    cells, found = opened(*others, *open_above(), inside=inside)
    (opening,) = found.found
    assert opening.blank == before + 1
    assert opening.ends == ((93, 105), (100, 99))
    assert opening.fold.bounds == (60, 80, 100, 80)
    assert opening.beyond == (60, 80, 100, 105)
    assert lengths_of(cells.net.xy[found.beyond]).sum() == pytest.approx(25 + 33 + 19)


def test_nothing_may_be_drawn_beyond_the_fold():
    cells, found = opened(*open_above(flap=False))
    (opening,) = found.found
    assert (opening.ends, opening.beyond) == ((), None)
    assert not found.beyond.any()


@pytest.mark.parametrize(("wide", "openings"), [(1.9, 0), (2, 1)])
def test_a_fold_of_2_mm_at_the_edge_is_an_opening(wide, openings):
    assert len(opened(*open_above(wide, flap=False))[1].found) == openings


def test_two_openings_of_one_blank_are_told_apart():
    below = [
        line([(60, 80), (10, 80), (10, 20), (30, 20)]), line([(70, 20), (110, 20), (110, 80), (100, 80)]),
        line([(60, 80), (100, 80)], "crease"), line([(30, 20), (70, 20)], "crease"),
        line([(60, 80), (60, 105), (90, 105)]), line([(30, 20), (30, 2)]), line([(50, 50), (52, 50)]),
    ]  # fmt: skip
    _, found = opened(*below)
    assert sorted((o.blank, o.ends, o.beyond) for o in found.found) == [
        (1, ((30, 2),), (30, 2, 30, 20)), (1, ((90, 105),), (60, 80, 90, 105)),
    ]  # fmt: skip


def test_lines_elsewhere_do_not_hang_on_the_fold():
    lines = [*open_above(), line([(150, 80), (150, 99)])]
    cells, found = opened(*lines)
    assert found.beyond[cells.net.line == 5].tolist() == [False]
    assert found.found[0].beyond == (60, 80, 100, 105)


def test_places_that_are_among_others():
    others = np.array([[10.0, 20], [30, 5], [70, 8]])
    assert _among(np.array([[50.0, 5], [30.04, 5], [70, 8.06], [10, 20]]), others).tolist() == [1, 3]
    assert _among(np.zeros((0, 2)), others).tolist() == []

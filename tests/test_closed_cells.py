"""Cells of the net: what lies beside each line, what hangs together through folds, and outlines without slits."""

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from preflight.carton.cells.closed_cells import Cells, group_lengths, is_slit, lines_in, without_slits
from preflight.carton.cells.net import build_net
from preflight.carton.lines.drawn_lines import CUT, ROLES, lengths_of, segments_of
from tests.die_lines import line, rectangle

CREASE = ROLES.index("crease")


def cells_of(*lines):
    return Cells.of(build_net(segments_of(lines)))


def card(*extra):
    """A card of 100 x 60 with a fold 30 mm from its left side, and another card of 40 x 20 without."""
    return cells_of(
        line(rectangle(10, 20, 110, 80)),
        line([(40, 20), (40, 80)], "crease"),
        line(rectangle(150, 20, 190, 40)),
        *extra,
    )


def group_at(cells, x, y):
    """The group of the cell at a place."""
    return int(cells.group[cell_at(cells, x, y)])


def cell_at(cells, x, y):
    return next(n for n, shape in enumerate(cells.polygons) if shape.contains(shapely.Point(x, y)))


def drawn(cells, mask):
    """Bounding boxes of the chosen segments."""
    low, high = (
        np.minimum(cells.net.xy[mask, :2], cells.net.xy[mask, 2:]),
        np.maximum(cells.net.xy[mask, :2], cells.net.xy[mask, 2:]),
    )
    return sorted(map(tuple, np.hstack([low, high]).tolist()))


def test_cells_on_both_sides_of_a_fold_are_one_group():
    cells = card()
    left, right, other = cell_at(cells, 20, 50), cell_at(cells, 70, 50), cell_at(cells, 170, 30)
    assert cells.group[left] == cells.group[right] != cells.group[other]
    assert cells.area[[left, right, other]].tolist() == [1800, 4200, 800]
    assert cells.width_mm[[left, right, other]] == pytest.approx([3600 / 180, 8400 / 260, 1600 / 120])
    assert cells.group_area[cells.group[[left, other]]].tolist() == [6000, 800]


def test_every_segment_knows_the_cells_beside_it():
    cells = card()
    left, right = cell_at(cells, 20, 50), cell_at(cells, 70, 50)
    fold = np.flatnonzero(cells.net.role == CREASE)
    assert sorted(cells.beside[fold[0]].tolist()) == sorted([left, right])
    assert cells.joins.tolist() == (cells.net.role == CREASE).tolist()
    cuts = cells.beside[cells.net.role == CUT]
    assert (cuts[:, 1] == -1).all()
    assert (cuts[:, 0] >= 0).all()
    assert len(cuts) == 6 + 4  # the fold parts two sides of the card


def test_cells_that_a_cut_parts_are_two_groups():
    cells = cells_of(line(rectangle(10, 20, 110, 80)), line([(40, 20), (40, 80)]))
    assert group_at(cells, 20, 50) != group_at(cells, 70, 50)
    assert not cells.joins.any()


def test_the_edge_of_a_group_is_what_it_has_on_one_side_only():
    cells = card()
    group, other = group_at(cells, 20, 50), group_at(cells, 170, 30)
    assert lengths_of(cells.net.xy[cells.boundary(group)]).sum() == 320
    assert lengths_of(cells.net.xy[cells.boundary(other)]).sum() == 120
    assert cells.outline(group).bounds == (10, 20, 110, 80)
    assert cells.outline(other).bounds == (150, 20, 190, 40)
    lengths = group_lengths(cells, cells.net.role == CUT, len(cells.group_area))
    assert lengths[[group, other]].tolist() == [320, 120]
    lengths = group_lengths(cells, cells.net.role == CREASE, len(cells.group_area))
    assert lengths[[group, other]].tolist() == [120, 0]  # on both its sides


def test_folds_and_cuts_of_a_group():
    """A loose fold and a loose cut in each card, a fold at the edge of the second, and both outside of everything."""
    cells = card(
        line([(60, 30), (60, 70)], "crease"), line([(70, 30), (70, 70)]), line([(160, 25), (160, 35)], "crease"),
        line([(170, 25), (170, 35)]), line([(300, 25), (300, 35)], "crease"), line([(310, 25), (310, 35)]),
    )  # fmt: skip
    first, second = group_at(cells, 20, 50), group_at(cells, 165, 30)
    assert drawn(cells, cells.folds_of(first)) == [(40, 20, 40, 80), (60, 30, 60, 70)]
    assert drawn(cells, cells.folds_of(second)) == [(160, 25, 160, 35)]
    assert (70, 30, 70, 70) in drawn(cells, cells.cuts_of([first]))
    assert lengths_of(cells.net.xy[cells.cuts_of([first])]).sum() == 320 + 40
    assert lengths_of(cells.net.xy[cells.cuts_of([second])]).sum() == 120 + 10
    assert lengths_of(cells.net.xy[cells.cuts_of([first, second])]).sum() == 320 + 40 + 120 + 10
    loose, cell = cells.loose_folds
    places = {tuple(cells.net.xy[n, :2]): int(c) for n, c in zip(loose, cell, strict=True)}
    found = {min(x, 999): c for (x, _), c in places.items()}
    assert found == {60: cell_at(cells, 70, 50), 160: cell_at(cells, 165, 30), 300: -1}


def test_a_fold_at_the_edge_of_a_group_is_one_of_its_folds():
    u = line([(10, 80), (10, 20), (110, 20), (110, 80)])
    cells = cells_of(u, line([(10, 80), (110, 80)], "crease"))
    assert drawn(cells, cells.folds_of(0)) == [(10, 80, 110, 80)]
    assert not cells.joins.any()


def test_lines_that_enclose_nothing_have_no_cells():
    cells = cells_of(line([(10, 20), (110, 20)]), line([(10, 30), (110, 30)], "crease"))
    assert len(cells.polygons) == 0
    assert cells.beside.tolist() == [[-1, -1], [-1, -1]]
    assert [part.tolist() for part in cells.loose_folds] == [[np.flatnonzero(cells.net.role == CREASE)[0]], [-1]]


@pytest.mark.parametrize(("wide", "slit"), [(0.5, True), (0.59, True), (0.61, False), (4, False)])
def test_an_opening_narrower_than_0_6_mm_is_a_slit(wide, slit):
    hole = box(30, 40, 30 + wide, 70)
    assert is_slit(hole) is slit
    shape = Polygon(rectangle(10, 20, 110, 80), [hole.exterior.coords, rectangle(50, 40, 60, 50)])
    found = without_slits(shape)
    assert sorted(ring.bounds for ring in map(Polygon, found.interiors)) == ([] if slit else [hole.bounds]) + [
        (50, 40, 60, 50)
    ]
    assert found.exterior.bounds == (10, 20, 110, 80)


def test_an_empty_shape_and_one_without_slits_stay():
    whole = box(10, 20, 30, 70)
    assert without_slits(whole) is whole
    assert without_slits(Polygon()).is_empty


def test_lines_are_joined_end_to_end():
    cells = card()
    outline = lines_in(cells.net, cells.boundary(group_at(cells, 20, 50)))
    assert outline.length == 320
    assert len(outline.geoms) == 1
    assert lines_in(cells.net, np.zeros(len(cells.net), bool)).is_empty

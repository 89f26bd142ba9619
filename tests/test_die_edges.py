"""Cut edges: runs between corners, the way to the neighbour, slots, common knives."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import Polygon

from preflight.carton.build_die import build_die
from preflight.carton.cut_edges import cut_edges
from preflight.carton.die import Blank, CutEdge
from preflight.carton.lines.drawn_lines import DieLine
from tests.cartons import reverse_tuck
from tests.die_lines import carton_lines, circle, line, rectangle, sleeve


def blanks(lines: list[DieLine]) -> tuple[Blank, ...]:
    return build_die(lines).blanks


def normal(edge: CutEdge) -> np.ndarray:
    """Outward, from the middle of the run: to the right of its direction."""
    a, b = (shapely.get_coordinates(edge.line.interpolate(s, normalized=True))[0] for s in (0.49, 0.51))
    step = (b - a) / np.hypot(*(b - a))
    return np.array([step[1], -step[0]])


def neighbours(blank: Blank, towards: tuple[float, float]) -> set[float | None]:
    """Neighbour distances of the runs that face this way."""
    return {edge.neighbour_mm for edge in blank.edges if float(normal(edge) @ towards) > 0.9}


@pytest.mark.parametrize("hole", [(), rectangle(40, 80, 70, 110)], ids=["plain", "with a window"])
def test_runs_cover_the_cut_line_with_the_blank_on_their_left(hole):
    extra = [line(hole)] if len(hole) else []
    (blank,) = blanks([*carton_lines(reverse_tuck(at=(10, 10))), *extra])
    assert sum(edge.line.length for edge in blank.edges) == pytest.approx(blank.outline.length, abs=0.01)
    assert (
        shapely.union_all([edge.line for edge in blank.edges]).symmetric_difference(blank.outline.boundary).length
        < 0.01
    )
    for edge in blank.edges:
        middle = shapely.get_coordinates(edge.line.interpolate(0.5, normalized=True))[0]
        assert blank.outline.contains(shapely.Point(middle - 0.2 * normal(edge)))
        assert (edge.edge == "cut-out") == (len(hole) > 0 and 39 < middle[0] < 71 and 79 < middle[1] < 111)


def test_runs_end_at_corners_and_hold_curves_together():
    (blank,) = blanks([line(rectangle(0, 0, 90, 50)), line(circle(45, 25, 10))])
    outer = [edge.line.length for edge in blank.edges if edge.edge == "outer"]
    round_ones = [edge.line.length for edge in blank.edges if edge.edge == "cut-out"]
    assert sorted(outer) == pytest.approx([50, 50, 90, 90])
    assert round_ones == pytest.approx([62.8], abs=0.2)


def test_small_rounded_corners_do_not_make_crumbs():
    card = Polygon(rectangle(0, 0, 90, 50)).buffer(-1).buffer(1, quad_segs=4)
    (blank,) = blanks([line(card.exterior.coords)])
    assert len(blank.edges) == 4
    assert min(edge.line.length for edge in blank.edges) > 40


def test_slot_of_a_carton():
    (blank,) = blanks(carton_lines(reverse_tuck(at=(10, 10), slot=1.5)))
    lid = Polygon(reverse_tuck(at=(10, 10)).flaps["top lid"])
    beside_dust = [
        edge.neighbour_mm
        for edge in blank.edges
        if edge.neighbour_mm is not None and lid.buffer(0.1).contains(edge.line) and normal(edge)[0] > 0.9
    ]
    assert min(beside_dust) == pytest.approx(1.5, abs=0.1)
    assert None in neighbours(blank, (-1, 0))


@pytest.mark.parametrize("gutter", [3.0, 8.0])
def test_gutter_between_blanks(gutter):
    left, right = blanks([*sleeve(0, 0), *sleeve(192 + gutter, 0)])
    assert neighbours(left, (1, 0)) == {gutter}
    assert neighbours(right, (-1, 0)) == {gutter}
    assert neighbours(left, (-1, 0)) == {None}
    assert neighbours(left, (0, 1)) == {None}


def test_blanks_far_apart_do_not_see_each_other():
    left, _ = blanks([*sleeve(0, 0), *sleeve(192 + 20, 0)])
    assert {edge.neighbour_mm for edge in left.edges} == {None}


@pytest.mark.parametrize("off", [0.0, 0.04], ids=["one line", "two lines within 0.1 mm"])
def test_common_knife(off):
    left, right = blanks([*sleeve(0, 0), *sleeve(192 + off, 0)])
    assert neighbours(left, (1, 0)) == {0.0}
    assert neighbours(right, (-1, 0)) == {0.0}


def test_knife_shared_for_a_part_of_an_edge():
    _, left = blanks([*sleeve(0, 0), *sleeve(192, 45)])  # the right one stands higher and so comes first
    right_side = [edge for edge in left.edges if normal(edge)[0] > 0.9]
    assert {edge.neighbour_mm: round(edge.line.length) for edge in right_side} == {0.0: 45, None: 45}


def test_narrow_window_faces_itself():
    (blank,) = blanks([*sleeve(0, 0), line(rectangle(30, 30, 34, 60))])
    long_sides = [edge for edge in blank.edges if edge.edge == "cut-out" and edge.line.length > 20]
    assert [edge.neighbour_mm for edge in long_sides] == [4.0, 4.0]


def test_without_a_blank_there_is_no_edge():
    assert cut_edges([], []) == []

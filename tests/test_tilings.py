"""Which cells of a tiling are in sight, blocks of cells, and grounds below all of them."""

from __future__ import annotations

import math
from typing import Any

import pytest
from pikepdf import Dictionary

from preflight.artwork.page.geometry import IDENTITY, times
from preflight.artwork.pdf.content.stream_content import TilingCell
from preflight.artwork.platemaking.tiling_cells import DrawnTiling, _joined, _roomy, lattice_of, pattern_box, placed
from preflight.artwork.platemaking.tiling_grounds import Ground, grounds, is_all_ground, joined, without
from preflight.artwork.platemaking.tilings import NO_CELLS, CellRange, Lattice, block, inverse, lattice, paintable
from tests.drawn import Drawing
from tests.test_shared_channels import read

CELLS = Lattice((1, 2, 4, 7), 5, 9, (2, 0, 0, 2, 10, 20))
"""Cells of 3 x 5, 5 apart across and 9 up; in the stream all is twice as large, and begins at 10, 20."""


def seen(x0: float, y0: float, x1: float, y1: float) -> tuple[list[int], list[int]]:
    """Columns and rows seen in a box of pattern space."""
    cells = CELLS.in_sight((10 + 2 * x0, 20 + 2 * y0, 10 + 2 * x1, 20 + 2 * y1))
    return list(cells.columns), list(cells.rows)


@pytest.mark.parametrize(
    ("box", "expected"),
    [
        ((6, 11, 9, 12), ([1], [1])),
        ((6, 11, 12, 30), ([1, 2], [1, 2, 3])),
        ((-3, -6, 3, 3), ([-1, 0], [-1, 0])),
        ((4.002, 12, 10.998, 13), ([0, 1, 2], [1])),  # a cell reaches out of its box by a thousandth
        ((4.004, 12, 10.996, 13), ([1], [1])),
        ((7, 7.004, 8, 10.996), ([1], [0, 1])),
        ((7, 7.006, 8, 10.994), ([1], [])),
        ((4.5, 12, 5.5, 13), ([], [1])),
    ],
)
def test_cells_that_show_in_a_box(box, expected):
    assert seen(*box) == expected


def test_how_many_cells_there_are():
    assert CellRange(range(-1, 2), range(3, 7)).many == 12
    assert CellRange(range(3, 1), range(3, 5)).many == 0
    assert CellRange(range(3, 1), range(5, 3)).many == 0
    assert NO_CELLS.many == 0


def test_cells_are_moved_row_by_row():
    assert list(CELLS.places(CellRange(range(-1, 1), range(2, 4)))) == [(-5, 18), (0, 18), (-5, 27), (0, 27)]


def test_a_box_round_cells_has_the_room_of_one_on_each_side():
    assert CELLS.extent(CellRange(range(-1, 1), range(2, 4))) == (1 - 5 - 3, 2 + 18 - 5, 4 + 0 + 3, 7 + 27 + 5)


def test_a_lattice_has_a_box_and_steps():
    assert lattice((1, 2, 4, 7), -5, -9, IDENTITY) == Lattice((1, 2, 4, 7), 5, 9, IDENTITY)


@pytest.mark.parametrize(
    ("bbox", "x_step", "y_step"),
    [
        (None, 5, 9),
        ((1, 2, 4, 7), 0, 9),
        ((1, 2, 4, 7), 5, None),
        ((1, 2, math.inf, 7), 5, 9),
        ((1, 2, 4, 7), math.nan, 9),
    ],
)
def test_what_has_no_lattice(bbox, x_step, y_step):
    assert lattice(bbox, x_step, y_step, IDENTITY) is None


@pytest.mark.parametrize(
    ("scales", "pixel_mm", "columns", "rows"),
    [
        ((0.1, 0.2), 0.05, 10, 3),  # steps of 10 and 36 pixels: 96 at least together
        ((0.1, 0.2), 0, 32, 14),  # of 2 and 7.2 at the usual quarter of a millimetre, and no more than 32 of them
        ((1, 2), 0.05, 1, 1),
        ((0.1, 0), 0.05, 10, 32),
        ((0.97, 1), 0.05, 1, 1),  # just over 96
        ((0.95, 1), 0.05, 2, 1),
    ],
)
def test_blocks_of_cells_are_large_enough_to_be_rounded(scales, pixel_mm, columns, rows):
    across, up = scales
    to_mm = (0.6 * across, 0.8 * across, -0.8 * up, 0.6 * up, 3, 4)
    cells, box = block(CELLS, to_mm, pixel_mm)
    assert cells == CellRange(range(columns), range(rows))
    assert box == (1, 2, 4 + 5 * (columns - 1), 7 + 9 * (rows - 1))


def test_what_can_be_painted_of_one_cell():
    """15 x 2^27 pixels, an eighth of 2^31 less than that many."""
    wide, tall = 2**14, 15 * 2**13
    assert paintable((3, 5, 3 + wide, 5 + tall), IDENTITY, 1)
    assert not paintable((3, 5, 3 + wide, 6 + tall), IDENTITY, 1)
    assert paintable((3, 5, 3 + wide, 5 + tall), (0.5, 0, 0, 0.5, 9, 9), 0.5)
    assert not paintable((3, 5, 3 + wide, 5 + tall), (0.5, 0, 0, 0.6, 9, 9), 0.5)
    finest = 25.4 / 4800  # where it may be drawn at any resolution
    assert paintable((0, 0, wide * finest, tall * finest * 0.999), IDENTITY, 0)
    assert not paintable((0, 0, wide * finest, tall * finest * 1.001), IDENTITY, 0)


def test_a_matrix_is_undone_by_its_inverse():
    matrix = (2, 1, -3, 4, 5, -7)
    back = inverse(matrix)
    assert back is not None
    assert times(matrix, back) == pytest.approx(IDENTITY)
    assert times(back, matrix) == pytest.approx(IDENTITY)


@pytest.mark.parametrize(
    ("matrix", "undone"),
    [
        ((1, 2, 2, 4, 0, 0), False),
        ((math.nan, 0, 0, 1, 0, 0), False),
        ((math.inf, 0, 0, 1, 0, 0), False),
        ((1e-6, 0, 0, 9e-7, 0, 0), False),
        ((1e-6, 0, 0, -2e-6, 0, 0), True),
    ],
)
def test_what_can_be_undone(matrix, undone):
    assert (inverse(matrix) is not None) == undone


def test_a_box_that_is_larger_than_its_window_at_every_resolution():
    """12 mm on each side: 24 units across where they are half a millimetre, 48 up where they are a quarter."""
    box = pattern_box(CELLS, (0.3, 0.4, -0.2, 0.15, 0, 0), (10, 20, 40, 70))
    assert box == pytest.approx(((10 - 24 - 10) / 2, (20 - 48 - 20) / 2, (40 + 24 - 10) / 2, (70 + 48 - 20) / 2))
    assert pattern_box(Lattice((0, 0, 1, 1), 1, 1, (1, 1, 1, 1, 0, 0)), IDENTITY, (0, 0, 1, 1)) is None


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        (IDENTITY, (0.6, 0.8, -0.8, 0.6, 50, 60), True),  # turned and moved
        (IDENTITY, (1, 0, 0, -1, 0, 0), True),
        (IDENTITY, (1.01, 0, 0, 1.01, 0, 0), False),
        ((1, 0, 0, 2, 0, 0), (1, 0, 0, 2, 9, 9), True),
        ((1, 0, 0, 2, 0, 0), (2, 0, 0, 1, 0, 0), False),
        ((1, 0, 0, 2, 0, 0), (0, 1, 2, 0, 0, 0), False),
        ((1, 0, 0.5, 0.866, 0, 0), IDENTITY, False),  # aslant, both units as long as ever
        ((1, 0, 0.5, 0.866, 0, 0), (0, 1, 0.866, 0.5, 0, 0), False),
    ],
)
def test_strokes_of_a_form_depend_on_the_scale_that_it_is_placed_at(one, other, alike):
    assert (placed(one) == placed(other)) == alike


def test_cells_taken_together_are_a_larger_cell():
    assert _joined(CELLS, 3) == Lattice((1, 2, 4 + 10, 7 + 18), 15, 27, CELLS.to_stream)
    assert _joined(CELLS, 1) == CELLS


@pytest.mark.parametrize(("columns", "own"), [(8, True), (9, False)])
def test_objects_with_few_cells_get_those_alone(columns, own):
    """64 at most: else all objects share what is drawn for all of them."""
    every = CellRange(range(20), range(20))
    box = (10 + 2 * 1, 20 + 2 * 2, 10 + 2 * (4 + 5 * (columns - 1)), 20 + 2 * (7 + 9 * 7))
    tiling = DrawnTiling(TilingCell(Dictionary(), None, None), CELLS, every, {4: box})  # type: ignore[arg-type]
    assert tiling.cells(4) == (CellRange(range(columns), range(8)) if own else every)
    assert tiling.cells(5) == NO_CELLS


# -- grounds -----------------------------------------------------------------------------------------------------------


def stretched(ground: Ground, columns: list[float], rows: list[float]) -> list[tuple[float, ...]]:
    """Where the box (1, 2) to (4, 7) comes to lie, for steps of 5 and 9."""
    found = []
    for words in ground.places((1, 2, 4, 7), (5, 9), columns, rows):
        a, b, c, d, e, f = (float(word) for word in words.split()[:-1])
        assert (b, c, words.split()[-1]) == (0, 0, b"cm")
        found.append(tuple(round(v, 4) for v in (a * 1 + e, d * 2 + f, a * 4 + e, d * 7 + f)))
    return found


def test_a_ground_is_stretched_over_all_cells():
    """From a cell before the first one to where the next block of cells begins, and ends."""
    assert stretched(Ground(0, True, True), [0, 5, 10], [9]) == [(1 - 3, 2 + 9 - 5, 4 + 10 + 5, 7 + 9 + 9)]


def test_a_stripe_is_stretched_the_way_that_it_goes():
    assert stretched(Ground(0, True, False), [0, 5], [9, 18]) == [(-2, 11, 14, 16), (-2, 20, 14, 25)]
    assert stretched(Ground(0, False, True), [5, 15], [9]) == [(6, 6, 9, 25), (16, 6, 19, 25)]


def cell_of(tmp_path, words: str, **keys: Any) -> tuple[TilingCell, Any]:
    """A cell of 30 x 40 points that begins at 5, 6, and the content of its page."""
    page = Drawing(50, 40)
    page.gs(ca=0.5).gs(op=True, OP=True)
    page.ops.clear()
    given = {"BBox": [5, 6, 35, 46], "XStep": 30, "YStep": 40, "Resources": page.resources, **keys}
    page.resources.Pattern.P = page.pdf.make_stream(
        words.encode(), Dictionary(PatternType=1, PaintType=1, TilingType=1, **given)
    )
    page.raw("/Pattern cs /P scn 0 0 100 90 re f")
    content: Any = read(page, tmp_path).separator.page_content
    (cell,) = (pattern for _, pattern in content.palette.patterns())
    assert isinstance(cell, TilingCell)
    return cell, content


FULL = "1 0 0 0 k 5 6 30 40 re f "


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (FULL, [(0, True, True)]),
        ("5 10 30 3 re f", [(0, True, False)]),
        ("9 6 3 40 re f", [(0, False, True)]),
        (FULL + "5 10 30 3 re f 9 6 3 40 re f", [(0, True, True), (1, True, False), (2, False, True)]),
        (FULL + "9 9 3 3 re f 5 10 30 3 re f", [(0, True, True)]),  # what lies on something stays where it is
        (FULL * 6, [(row, True, True) for row in range(4)]),
        ("5.02 6 29.97 40 re f", [(0, True, True)]),  # a thousandth of 30 less
        ("5.04 10 29.96 3 re f", []),
        ("5 10 29.96 3 re f", []),
        ("9 6.03 3 39.95 re f", [(0, False, True)]),
        ("9 6.05 3 39.95 re f", []),
        ("9 6 3 39.95 re f", []),
        ("5 6 m 35 6 l 35 46 l 5 46 l f", [(0, True, True)]),
        ("5 6 m 35 6 l 35 46 l f", []),
        ("5 6 m 35 6 l 35 46 l 20 50 l 5 46 l f", []),
        ("5 6 30 40 re 9 9 2 2 re f", []),
        ("3 w 0 20 m 40 20 l S", []),
        ("/GS0 gs 5 6 30 40 re f", []),
        ("5 6 30 40 re W n " + FULL, [(0, True, True)]),
        ("6 6 30 40 re W n " + FULL, []),
        ("5 7 30 40 re W n " + FULL, []),
        ("5 6 29 40 re W n " + FULL, []),
        ("5 6 30 39 re W n " + FULL, []),
        ("q 0.8 0.6 -0.6 0.8 0 0 cm -90 -90 300 300 re f Q", []),
        ("", []),
    ],
)
def test_what_fills_a_cell_from_edge_to_edge_is_its_ground(tmp_path, content, expected):
    cell, page = cell_of(tmp_path, content)
    assert grounds(cell, page.states) == [Ground(*each) for each in expected]


@pytest.mark.parametrize(
    ("steps", "expected"),
    [
        ((30, 40), True),
        ((-30, -40), True),
        ((30.02, 40.03), True),  # apart by less than a thousandth
        ((29.98, 39.97), True),
        ((29.9, 40), False),  # cells that overlap have no seams
        ((30, 39.9), False),
    ],
)
def test_cells_that_touch_have_a_ground(tmp_path, steps, expected):
    cell, page = cell_of(tmp_path, FULL, XStep=steps[0], YStep=steps[1])
    assert grounds(cell, page.states) == ([Ground(0, True, True)] if expected else [])


def test_cells_that_touch_one_way_have_a_ground_that_way(tmp_path):
    cell, page = cell_of(tmp_path, FULL, XStep=31)
    assert grounds(cell, page.states) == [Ground(0, False, True)]
    cell, page = cell_of(tmp_path, FULL, YStep=41)
    assert grounds(cell, page.states) == [Ground(0, True, False)]
    cell, page = cell_of(tmp_path, FULL, YStep=41, XStep=31)
    assert grounds(cell, page.states) == []


def test_where_there_is_nothing_but_ground_cells_are_joined(tmp_path):
    cell, page = cell_of(tmp_path, FULL * 2)
    found = grounds(cell, page.states)
    assert is_all_ground(cell.content, found)
    assert joined(cell.content, found, (0.06, 0.08, 0, 0.05, 0, 0)) == 6  # 3 mm wide and 2 tall: 20 at most
    assert joined(cell.content, found, (0.01, 0, 0, 0.1, 0, 0)) == 5
    assert joined(cell.content, found, (1, 0, 0, 1, 0, 0)) == 1
    assert joined(cell.content, found, (0, 0, 0, 0, 0, 0)) == 1
    assert joined(cell.content, found[:1], (0.01, 0, 0, 0.01, 0, 0)) == 1


def test_a_stripe_is_not_all_of_a_cell(tmp_path):
    cell, page = cell_of(tmp_path, FULL + "5 10 30 3 re f")
    assert not is_all_ground(cell.content, grounds(cell, page.states))
    cell, page = cell_of(tmp_path, "")
    assert not is_all_ground(cell.content, [])


def test_a_cell_is_parted_from_its_grounds(tmp_path):
    cell, page = cell_of(tmp_path, FULL + "5 10 30 3 re f 7 7 2 2 re f")
    found = grounds(cell, page.states)
    assert without(cell.content, found).hidden.tolist() == [True, True, False]
    assert found[1].alone(cell.content).hidden.tolist() == [True, False, True]
    assert cell.content.hidden.tolist() == [False, False, False]
    assert without(cell.content, []).hidden.tolist() == [False, False, False]


def test_a_lattice_is_read_from_its_pattern(tmp_path):
    cell, page = cell_of(tmp_path, FULL, XStep=-33, YStep=44, Matrix=[2, 0, 0, 3, 4, 5])
    assert lattice_of(cell) == Lattice((5, 6, 35, 46), 33, 44, (2, 0, 0, 3, 4, 5))
    cell, page = cell_of(tmp_path, FULL)
    assert page.pdf is not None
    del cell.stream["/YStep"]
    assert lattice_of(cell) is None


@pytest.mark.parametrize(
    ("content", "roomy"),
    [
        ("9 9 3 3 re f", True),
        ("5 6 30 40 re f 8 8 2 2 re f", True),
        ("4.98 5.97 30.03 40.06 re f", True),  # a thousandth out of it
        ("4.96 9 3 3 re f", False),
        ("9 5.95 3 3 re f", False),
        ("9 9 26.04 3 re f", False),
        ("9 9 3 37.05 re f", False),
        ("9 9 3 3 re f 9 9 m 12 12 l S", False),  # a stroke may reach out of its box
        ("", False),
    ],
)
def test_a_cell_whose_fills_lie_in_its_box_has_room_about_them(tmp_path, content, roomy):
    """A tenth of the box on each side, so that no clip softens their edges."""
    cell, _ = cell_of(tmp_path, content)
    expected = (5 - 3, 6 - 4, 35 + 3, 46 + 4) if roomy else (5, 6, 35, 46)
    assert _roomy(cell.content) == pytest.approx(expected)

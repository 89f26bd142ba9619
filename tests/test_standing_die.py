"""A standing die becomes a layout: our own layout.dxf comes back as it was, and what does not fit is told."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest
import shapely
from ezdxf.filemanagement import new
from shapely.affinity import scale, translate

from preflight.errors import NotMeasured
from preflight.inputs.dxf_drawing import read_dxf
from preflight.quantities import Size
from preflight.report.dxf import layout_dxf
from preflight.setup.layout.layout_request import BlankToLay
from preflight.setup.layout.row_order import row_order
from preflight.setup.layout.sheet_layout import Placed
from preflight.setup.layout.standing_die import standing_layout
from tests.cartons import reverse_tuck
from tests.laid_sheets import CUT, FREE, ONE_UP, SHEET, UPRIGHT, layout_of, press_sheet


def file_of(tmp_path, data: bytes):
    path = tmp_path / "die.dxf"
    path.write_bytes(data)
    return path


def die_of(tmp_path, outlines, creases=(), *, edge=None, layer="Cut", numbers=()):
    """A drawing by the library alone."""
    document = new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    for outline in outlines:
        for ring in [outline.exterior, *outline.interiors]:
            space.add_lwpolyline(list(ring.coords), dxfattribs={"layer": layer})
    for line in creases:
        space.add_line(line.coords[0], line.coords[-1], dxfattribs={"layer": "Crease"})
    if edge:
        space.add_lwpolyline(list(shapely.box(*edge).exterior.coords), dxfattribs={"layer": "Sheet edge"})
    document.saveas(tmp_path / "die.dxf")
    return read_dxf(tmp_path / "die.dxf")


@pytest.mark.parametrize("hand", ["left", "right"])
def test_our_own_layout_comes_back(hand, tmp_path):
    data = layout_dxf(press_sheet(operator_side=hand))
    layout = standing_layout(read_dxf(file_of(tmp_path, data)), ONE_UP, FREE, sheet=None, operator_side=hand)
    assert layout.blanks == UPRIGHT
    assert layout.sheet == SHEET
    assert layout.pattern == "standing die"
    assert layout.notes == layout.assumed == ()
    assert layout.ups == 6


def test_all_four_turns_come_back(tmp_path):
    blanks = (Placed(10, 20, 0), Placed(210.5, 20, 90), Placed(10, 230, 180), Placed(210.25, 230.125, 270))
    data = layout_dxf(press_sheet(layout_of(blanks)))
    layout = standing_layout(read_dxf(file_of(tmp_path, data)), ONE_UP, FREE, sheet=None)
    assert layout.blanks == blanks


@pytest.mark.parametrize("hand", ["left", "right"])
def test_shared_knives_come_back(hand, tmp_path):
    """A box with a slanted corner, so that it has no symmetry, two by two without a gutter."""
    cut = shapely.Polygon([(0, 0), (50, 0), (50, 22), (42, 30), (0, 30)])
    one_up = BlankToLay(cut, cut)
    blanks = (Placed(10, 10, 0), Placed(60, 10, 0), Placed(10, 40, 180), Placed(60, 40, 180))
    sheet = press_sheet(layout_of(blanks, cut=cut), hand)
    sheet = replace(sheet, blanks=tuple(replace(b, folds={}, creases=shapely.MultiLineString()) for b in sheet.blanks))
    drawing = read_dxf(file_of(tmp_path, layout_dxf(sheet)))
    layout = standing_layout(drawing, one_up, FREE, sheet=None, operator_side=hand)
    assert layout.blanks == blanks


def test_the_wrong_hand_is_named(tmp_path):
    data = layout_dxf(press_sheet(operator_side="right"))
    with pytest.raises(NotMeasured, match="mirror image"):
        standing_layout(read_dxf(file_of(tmp_path, data)), ONE_UP, FREE, sheet=None, operator_side="left")


def test_without_a_sheet_edge_the_origin_is_the_corner(tmp_path):
    drawing = die_of(tmp_path, [translate(CUT, 30, 40)])
    layout = standing_layout(drawing, ONE_UP, FREE, sheet=SHEET)
    assert layout.blanks == (Placed(30, 40, 0),)
    assert layout.notes == ("die.dxf has no layer for the sheet's edge: its 0, 0 is taken as the corner of the sheet",)
    with pytest.raises(NotMeasured) as raised:
        standing_layout(drawing, ONE_UP, FREE, sheet=None)
    assert raised.value.want_of == "ticket"


def test_the_sheet_edge_says_where_the_corner_is(tmp_path):
    drawing = die_of(tmp_path, [translate(CUT, 130, 240)], edge=(100, 200, 740, 680))
    left = standing_layout(drawing, ONE_UP, FREE, sheet=SHEET)
    assert left.blanks == (Placed(30, 40, 0),)
    assert left.notes == ()
    mirrored = die_of(tmp_path, [translate(scale(CUT, -1, 1, origin=(0, 0)), 425, 240)], edge=(100, 200, 740, 680))
    right = standing_layout(mirrored, ONE_UP, FREE, sheet=SHEET, operator_side="right")
    assert right.blanks == (Placed(640 - 325, 40, 0),)


def test_another_sheet_than_the_jobs_is_told(tmp_path):
    drawing = die_of(tmp_path, [translate(CUT, 30, 40)], edge=(0, 0, 640, 480))
    layout = standing_layout(drawing, ONE_UP, FREE, sheet=Size(700, 500))
    assert layout.sheet == SHEET
    assert layout.notes == (
        "die.dxf is drawn on a sheet of 640 x 480 mm, and the job's is 700 x 500 mm; the drawing's is used",
    )


@pytest.mark.parametrize(("wider", "fits"), [(0.25, True), (0.7, False)])
def test_an_outline_fits_within_three_tenths(tmp_path, wider, fits):
    """Wider by so much at its right edge alone: half of it lies at either side."""
    x1 = CUT.bounds[2]
    moved = shapely.transform(CUT, lambda xy: np.where(xy == [[x1, 0]], xy + [[wider, 0]], xy))
    moved = shapely.transform(CUT, lambda xy: xy + np.column_stack([wider * (xy[:, 0] > 190), 0 * xy[:, 0]]))
    drawing = die_of(tmp_path, [translate(moved, 30, 40)])
    if fits:
        (placed,) = standing_layout(drawing, ONE_UP, FREE, sheet=SHEET).blanks
        assert placed.x_mm == pytest.approx(30 + wider / 2)
    else:
        with pytest.raises(NotMeasured, match=r"none of the .* closed outlines of die\.dxf is the blank"):
            standing_layout(drawing, ONE_UP, FREE, sheet=SHEET)


def test_another_carton_on_the_die_is_told_by_its_place(tmp_path):
    other = shapely.Polygon(reverse_tuck(width=62, depth=30, height=90, at=(230, 40)).outline)
    layout = standing_layout(die_of(tmp_path, [translate(CUT, 30, 40), other]), ONE_UP, FREE, sheet=SHEET)
    assert layout.blanks == (Placed(30, 40, 0),)
    assert "outline of 199.0 x 180.0 mm at (230.0, 40.0) in the sheet's frame is not the blank of this job" in (
        layout.notes
    )


def test_waste_between_blanks_is_counted_and_a_window_is_not(tmp_path):
    drawing = die_of(tmp_path, [translate(CUT, 30, 40), shapely.box(300, 10, 320, 30)])
    layout = standing_layout(drawing, ONE_UP, FREE, sheet=SHEET)
    assert "1 smaller closed outline of the die between the blanks: waste" in layout.notes


SYMMETRIC = shapely.box(0, 0, 120, 80)
FOLD = shapely.MultiLineString([[(30, 0), (30, 80)], [(70, 0), (70, 80)]])


def test_creases_tell_which_way_up_a_plain_outline_lies(tmp_path):
    one_up = BlankToLay(SYMMETRIC, SYMMETRIC, FOLD)
    turned = scale(FOLD, -1, -1, origin=(60, 40))
    lines = [*translate(FOLD, 10, 20).geoms, *translate(turned, 150, 20).geoms]
    drawing = die_of(tmp_path, [translate(SYMMETRIC, x, 20) for x in (10, 150)], lines)
    layout = standing_layout(drawing, one_up, FREE, sheet=SHEET)
    assert layout.blanks == (Placed(10, 20, 0), Placed(150, 20, 180))
    assert layout.assumed == ()


def test_what_nothing_tells_is_assumed(tmp_path):
    one_up = BlankToLay(SYMMETRIC, SYMMETRIC)
    drawing = die_of(tmp_path, [translate(SYMMETRIC, x, 20) for x in (10, 150)])
    layout = standing_layout(drawing, one_up, FREE, sheet=SHEET)
    assert [blank.turn_deg for blank in layout.blanks] == [0, 0]
    (assumed,) = layout.assumed
    assert assumed.startswith("which way up the blank of 120.0 x 80.0 mm at (10.0, 20.0) and 1 more lies")


def test_gaps_of_a_hair_are_joined_and_wide_ones_are_not(tmp_path):
    def with_gap(gap):
        document = new("R2010")
        document.header["$INSUNITS"] = 4
        space, points = document.modelspace(), list(translate(CUT, 30, 40).exterior.coords)
        space.add_lwpolyline([(points[0][0], points[0][1] - gap), *points[1:]], dxfattribs={"layer": "Cut"})
        space.add_lwpolyline(list(translate(CUT, 30, 40).interiors[0].coords), dxfattribs={"layer": "Cut"})
        document.saveas(tmp_path / "die.dxf")
        return read_dxf(tmp_path / "die.dxf")

    assert standing_layout(with_gap(0.1), ONE_UP, FREE, sheet=SHEET).ups == 1
    with pytest.raises(NotMeasured, match="is the blank of"):
        standing_layout(with_gap(0.5), ONE_UP, FREE, sheet=SHEET)


def test_lines_in_pieces_and_in_any_order_are_put_together(tmp_path):
    document = new("R2010")
    document.header["$INSUNITS"] = 4
    for ring in [CUT.exterior, *CUT.interiors]:
        points = np.asarray(translate(shapely.LineString(ring.coords), 30, 40).coords)
        pieces = list(zip(points[:-1], points[1:], strict=True))
        np.random.default_rng(1).shuffle(pieces)
        for k, (a, b) in enumerate(pieces):
            start, end = (a, b) if k % 2 else (b, a)
            document.modelspace().add_line(tuple(start), tuple(end), dxfattribs={"layer": "Stanzlinie"})
    document.saveas(tmp_path / "die.dxf")
    assert standing_layout(read_dxf(tmp_path / "die.dxf"), ONE_UP, FREE, sheet=SHEET).blanks == (Placed(30, 40, 0),)


def test_a_slit_in_a_panel_leaves_the_blank_whole(tmp_path):
    drawing = die_of(tmp_path, [translate(CUT, 30, 40)])
    drawing.lines["Cut"] = (*drawing.lines["Cut"], np.array([[110.0, 100.0], [130.0, 100.0]]))
    assert standing_layout(drawing, ONE_UP, FREE, sheet=SHEET).ups == 1


def test_no_layer_is_a_cut(tmp_path):
    drawing = die_of(tmp_path, [CUT], layer="0")
    with pytest.raises(NotMeasured, match=r"no layer of die\.dxf is named as a cut \(its layers: 0\)"):
        standing_layout(drawing, ONE_UP, FREE, sheet=SHEET)


def test_open_lines_enclose_nothing(tmp_path):
    drawing = die_of(tmp_path, [CUT])
    drawing.lines["Cut"] = (np.array([[0.0, 0.0], [100.0, 0.0]]),)
    with pytest.raises(NotMeasured, match="enclose nothing"):
        standing_layout(drawing, ONE_UP, FREE, sheet=SHEET)


def test_a_die_of_five_thousand_segments_is_quick(tmp_path):
    """24 up; each blank has more than 200 straight pieces."""
    outline = shapely.segmentize(CUT, 6.0)
    assert 24 * (shapely.get_num_coordinates(outline) - 2) > 5000
    blanks = tuple(Placed(10 + 200 * c, 15 + 186 * r, 180 if (r + c) % 3 else 0) for r in range(4) for c in range(6))
    sheet = press_sheet(layout_of(blanks, Size(1220, 780), outline))
    path = file_of(tmp_path, layout_dxf(sheet))
    started = time.perf_counter()
    layout = standing_layout(read_dxf(path), replace(ONE_UP, cut=outline), FREE, sheet=None)
    assert time.perf_counter() - started < 10
    assert layout.blanks == blanks


def test_rows_are_counted_from_the_gripper_edge_and_from_the_left():
    boxes = [shapely.box(x, y, x + 50, y + 80) for x, y in [(60, 100), (0, 35), (60, 0), (0, 110), (120, 5)]]
    assert row_order(boxes) == [1, 2, 4, 3, 0]

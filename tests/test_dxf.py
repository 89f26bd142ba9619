"""layout.dxf: read back with the library itself and with our own reader, on presses of both hands."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Literal

import numpy as np
import pytest
import shapely
from ezdxf.filemanagement import read

from preflight.inputs.dxf_drawing import read_dxf
from preflight.report.dxf import DxfTold, PlateArea, coating_plate_dxf, cut_lines, layout_dxf
from preflight.setup.layout.sheet_layout import Placed
from tests.laid_sheets import CARTON, CREASES, CUT, PERFORATION, SHEET, UPRIGHT, layout_of, press_sheet

HANDS: tuple[Literal["left"], Literal["right"]] = ("left", "right")


def read_back(data: bytes):
    return read(io.StringIO(data.decode()))


def lines_on(document, layer):
    """Every polyline of a layer by the library alone."""
    found = []
    for line in document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]'):
        points = [(x, y) for x, y in line.get_points("xy")]
        found.append(shapely.LineString([*points, points[0]] if line.closed else points))
    return found


def texts_on(document, layer):
    return {text.dxf.text: (text.dxf.insert.x, text.dxf.insert.y)
            for text in document.modelspace().query(f'TEXT[layer=="{layer}"]')}  # fmt: skip


@pytest.mark.parametrize("hand", HANDS)
def test_lengths_by_layer_are_those_of_the_blanks(hand, tmp_path):
    data = layout_dxf(press_sheet(operator_side=hand))
    document = read_back(data)
    file = tmp_path / "layout.dxf"
    file.write_bytes(data)
    own = read_dxf(file)
    expected = {"Cut": CUT.length, "Crease": CREASES.length, "Perforation": PERFORATION.length}
    for layer, length in expected.items():
        assert sum(line.length for line in lines_on(document, layer)) == pytest.approx(6 * length, abs=0.01)
        mine = sum(shapely.LineString(line).length for line in own.lines[layer])
        assert mine == pytest.approx(6 * length, abs=0.01)
    assert own.kinds == {"Cut": "cut", "Crease": "crease", "Perforation": "perforate"}
    assert own.notes == ()


@pytest.mark.parametrize("hand", HANDS)
def test_x_counts_from_the_operator_side_and_y_from_the_gripper_edge(hand, tmp_path):
    """Blank 1 begins 20 mm from the left edge of the printed face and 18 mm from the gripper edge."""
    data = layout_dxf(press_sheet(operator_side=hand))
    file = tmp_path / "layout.dxf"
    file.write_bytes(data)
    x0 = 20 if hand == "left" else SHEET.across_mm - 20 - 195
    box = shapely.MultiLineString(lines_on(read_back(data), "Cut")).bounds
    assert box == pytest.approx((20 if hand == "left" else 640 - 422 - 195, 18, 617 if hand == "left" else 620, 386))
    blanks = [line for line in read_dxf(file).lines["Cut"] if len(line) > 10]
    lows = [tuple(line.min(0)) for line in blanks]
    assert lows[0] == pytest.approx((x0, 18), abs=0.001)
    glue_x = [line[:, 0].min() if hand == "left" else line[:, 0].max() for line in blanks][0]
    seam = [20.0, 620.0][hand == "right"]  # the glue flap lies at the left of the printed face
    assert glue_x == pytest.approx(seam, abs=0.001)


@pytest.mark.parametrize("hand", HANDS)
def test_numbers_and_versions_lie_in_their_blanks(hand):
    document = read_back(layout_dxf(press_sheet(operator_side=hand)))
    numbers = texts_on(document, "Blank numbers")
    assert sorted(numbers) == ["1", "2", "3", "4", "5", "6"]
    outlines = press_sheet(operator_side=hand).blanks
    for number, (x, y) in numbers.items():
        seen = x if hand == "left" else SHEET.across_mm - x
        assert outlines[int(number) - 1].outline.covers(shapely.Point(seen, y))
    assert set(texts_on(document, "Blank versions")) == {"Mint"}


@pytest.mark.parametrize(("hand", "says"), [("left", "shows the printed face"), ("right", "mirror image")])
def test_the_drawing_says_which_way_it_is_seen(hand, says):
    notes = " ".join(texts_on(read_back(layout_dxf(press_sheet(operator_side=hand, assumed=True))), "Notes"))
    assert says in notes
    assert "x counts from the operator side, y from the gripper edge" in notes
    assert "assumed" in notes
    assert "OPERATOR SIDE" in notes


def test_the_operator_is_where_x_is_0():
    for hand in HANDS:
        notes = texts_on(read_back(layout_dxf(press_sheet(operator_side=hand))), "Notes")
        assert notes["OPERATOR SIDE"][0] < 0
        assert notes["DRIVE SIDE"][0] > SHEET.across_mm
        assert notes["GRIPPER EDGE"][1] < 0


def test_units_and_version():
    document = read_back(layout_dxf(press_sheet()))
    assert document.header["$INSUNITS"] == 4
    assert document.dxfversion == "AC1024"
    assert not document.audit().has_errors


def test_no_nick_where_the_carton_shows_its_edge():
    """The window and all edges but those of the glue flap and the dust flaps; nothing on the glue flap."""
    layout = layout_of((Placed(20, 18, 0),))
    zones = shapely.MultiLineString(lines_on(read_back(layout_dxf(press_sheet(layout))), "No nicks"))
    window = shapely.box(45, 88, 70, 123)
    assert zones.intersection(window.exterior.buffer(0.01)).length == pytest.approx(window.length, abs=0.1)
    glue = shapely.Polygon(CARTON.glue_flap)
    seam_edge = shapely.LineString([(20, 63), (20, 149)]).intersection(shapely.box(19, 80, 21, 130))
    assert glue.area > 0
    assert seam_edge.length == pytest.approx(50)
    assert zones.distance(seam_edge.centroid) > 5
    right = shapely.LineString([(215, 70), (215, 140)])
    assert zones.buffer(0.01).covers(right)


def test_where_every_edge_shows_the_drawing_asks_about_nicks():
    sheet = press_sheet(layout_of((Placed(20, 18, 0),)))
    plain = [edge for edge in sheet.blanks[0].edges if not edge.hidden]
    flat = replace(sheet, blanks=(replace(sheet.blanks[0], edges=tuple(plain)),))
    assert "agreed with the plant" in " ".join(texts_on(read_back(layout_dxf(flat)), "Notes"))
    assert "agreed with the plant" not in " ".join(texts_on(read_back(layout_dxf(sheet)), "Notes"))
    none = replace(sheet, blanks=(replace(sheet.blanks[0], edges=()),))
    assert "not known" in " ".join(texts_on(read_back(layout_dxf(none)), "Notes"))


def test_a_shared_knife_is_drawn_once():
    """Two boxes of 50 x 30 mm side by side: 2 x 160 mm less the 30 that they share."""
    cut = shapely.box(0, 0, 50, 30)
    layout = layout_of((Placed(10, 10, 0), Placed(60, 10, 0), Placed(10, 60, 0)), cut=cut)
    lines = cut_lines(press_sheet(layout).blanks)
    assert lines.length == pytest.approx(2 * 160 - 30 + 160)
    document = read_back(layout_dxf(press_sheet(layout)))
    assert sum(line.length for line in lines_on(document, "Cut")) == pytest.approx(450)


def test_do_not_run_is_in_the_drawing():
    told = DxfTold(identity=("Ticket 4711, revision B",), run_it=False)
    notes = texts_on(read_back(layout_dxf(press_sheet(), told)), "Notes")
    assert "DO NOT RUN" in notes
    assert "Ticket 4711, revision B" in notes
    assert "DO NOT RUN" not in texts_on(read_back(layout_dxf(press_sheet())), "Notes")


# Coating plate -----------------------------------------------------------------------------------------------------

AREAS = [
    PlateArea(shapely.box(20, 100, 120, 200, ccw=False), coated=True),
    PlateArea(shapely.box(30, 110, 60, 150), coated=False, is_="glue flap", blank=1),
]


@pytest.mark.parametrize("hand", HANDS)
def test_the_coating_plate_is_shorter_along_the_travel_alone(hand):
    document = read_back(coating_plate_dxf(press_sheet(operator_side=hand), AREAS, stretch_percent=0.5, choke_mm=0.8))
    x0, x1 = (20, 120) if hand == "left" else (520, 620)
    (coat,) = lines_on(document, "Coat area")
    assert coat.bounds == pytest.approx((x0, 99.5, x1, 199.0))
    (clear,) = lines_on(document, "Clear area")
    assert clear.bounds[1::2] == pytest.approx((109.45, 149.25))
    (edge,) = lines_on(document, "Sheet edge")
    assert edge.bounds == pytest.approx((0, 0, 640, 480 * 0.995))
    notes = " ".join(texts_on(document, "Notes"))
    assert "Shortened along the travel by 0.5 %" in notes
    assert "0.99500" in notes
    assert "Choke: 0.8 mm" in notes
    assert "glue flap blank 1" in notes


def test_a_stretch_that_nobody_states_is_not_made_up():
    document = read_back(coating_plate_dxf(press_sheet(), AREAS, stretch_percent=None, choke_mm=None))
    (coat,) = lines_on(document, "Coat area")
    assert coat.bounds == pytest.approx((20, 100, 120, 200))
    notes = " ".join(texts_on(document, "Notes"))
    assert "stretch is not stated" in notes
    assert "Choke: not stated" in notes


def test_holes_of_an_area_are_drawn():
    ring = PlateArea(shapely.box(0, 0, 50, 50).difference(shapely.box(10, 10, 40, 40)), coated=True)
    data = coating_plate_dxf(press_sheet(), [ring], stretch_percent=0, choke_mm=1)
    assert sorted(line.length for line in lines_on(read_back(data), "Coat area")) == pytest.approx([120, 200])


def test_positions_are_the_same_both_ways():
    """Every point of the right-hand drawing is that of the left-hand one, counted from the other edge."""
    left, right = (lines_on(read_back(layout_dxf(press_sheet(operator_side=hand))), "Cut") for hand in HANDS)
    for one, other in zip(left, right, strict=True):
        a, b = np.array(one.coords), np.array(other.coords)
        assert np.abs(a - np.column_stack([SHEET.across_mm - b[:, 0], b[:, 1]])).max() < 1e-6
    assert len(UPRIGHT) * 2 == len(left)

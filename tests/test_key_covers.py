"""Covers of the ink keys: drawn rectangles against covers worked out by hand, both hands, all turns."""

from __future__ import annotations

import time
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import Polygon

from preflight.setup.ink_keys.covers import key_covers
from preflight.setup.ink_keys.strips import Strips, quarter_turn
from preflight.setup.press_sheet.coverage import shares_inside
from preflight.setup.press_sheet.press_sheet import Mark, Piece
from tests.key_sheets import keys, laid, patch, plates, sheet

KEYS = keys(31, 33)
"""31 strips of 33 mm are 1023 mm: on a sheet of 1020 mm strip 1 begins 1.5 mm before the sheet."""


def worked_out(rects, size=(1020.0, 700.0), count=31, pitch=33.0):
    """Cover by key from the left: rectangles (tint, x0, y0, x1, y1) on the sheet that do not overlap."""
    begin = size[0] / 2 - count * pitch / 2
    found = []
    for k in range(count):
        left, right = begin + k * pitch, begin + (k + 1) * pitch
        ink = sum(tint * max(0.0, min(right, x1) - max(left, x0)) * (y1 - y0) for tint, x0, y0, x1, y1 in rects)
        found.append(ink / (pitch * size[1]))
    return found


def covers(made, name="Cyan", **more):
    return key_covers(made, more.pop("keys", KEYS), **more).by_name[name]


def near(found, wanted):
    assert np.max(np.abs(np.array(found) - np.array(wanted))) < 0.0005, (found, wanted)


def test_one_rectangle_across_some_strips():
    page = plates(200, 150, [("Cyan", 0.5, (10, 20, 110, 120))])
    near(covers(sheet([(page, (300, 100), 0)])), worked_out([(0.5, 310, 120, 410, 220)]))


@pytest.mark.parametrize(
    ("turn", "rect"),
    [
        (0, (310.3, 120.6, 411.0, 221.0)),
        (90, (300 + 150 - 121.0, 110.3, 300 + 150 - 20.6, 211.0)),
        (180, (300 + 200 - 111.0, 100 + 150 - 121.0, 300 + 200 - 10.3, 100 + 150 - 20.6)),
        (270, (300 + 20.6, 100 + 200 - 111.0, 300 + 121.0, 100 + 200 - 10.3)),
    ],
)
@pytest.mark.parametrize("side", ["left", "right"])
def test_turned_blanks_on_presses_of_each_hand(turn, rect, side):
    """A rectangle without any symmetry, its edges within pixels."""
    page = plates(200, 150, [("Cyan", 0.8, (10.3, 20.6, 111, 121))])
    made = sheet([(page, (300, 100), turn)], operator_side=side)
    wanted = worked_out([(0.8, *rect)])
    near(covers(made), wanted if side == "left" else wanted[::-1])


def test_at_other_resolutions():
    for dpi in (72, 100, 150):
        page = plates(200, 150, [("Cyan", 1.0, (10.3, 20.6, 111, 121))], dpi=dpi)
        down = 150 - page.box_mm[3]  # plates of whole pixels end a hair off the page
        made = sheet([(page, (300, 100), 0)])
        near(covers(made), worked_out([(1.0, 310.3, 120.6 - down, 411, 221 - down)]))


def test_strips_beyond_the_sheet_have_none_and_the_one_on_its_edge_is_averaged_over_its_pitch():
    page = plates(400, 300, [("Cyan", 1.0, (0, 0, 400, 300))])
    found = covers(sheet([(page, (0, 0), 0)], size=(400, 300)))
    assert found == pytest.approx(worked_out([(1.0, 0, 0, 400, 300)], (400, 300)), abs=1e-4)
    assert found[0] == found[8] == 0.0
    # 31 x 33 = 1023 mm, the sheet begins 311.5 mm into them: 9.4394 strips, so the tenth has 0.5606 of its pitch
    assert found[9] == pytest.approx(0.5606, abs=1e-3)
    assert found[15] == pytest.approx(1.0, abs=1e-4)


def test_ink_beyond_the_sheet_does_not_count():
    page = plates(200, 150, [("Cyan", 1.0, (0, 0, 200, 150))])
    near(
        covers(sheet([(page, (-50, -30), 0)], size=(400, 300))),
        worked_out([(1.0, 0, 0, 150, 120)], (400, 300)),
    )


def test_an_even_count_has_a_border_in_the_middle():
    strips = Strips.of(sheet([(plates(10, 10, []), (0, 0), 0)], size=(600, 400)), keys(4, 30))
    assert strips.edges_mm.tolist() == [240, 270, 300, 330, 360]
    assert strips.x_of(1) == (240, 270)


def test_many_rectangles_of_several_inks():
    drawn = [("Cyan", 1.0, (5, 5, 65, 95)), ("Magenta", 0.3, (40, 10, 90, 60)), ("Cyan", 0.25, (70, 5, 95, 45))]
    page = plates(100, 100, drawn)
    places = [((100 + 110 * k, 50 + 120 * row), 180 * (row % 2)) for k in range(7) for row in range(5)]
    made = sheet([(page, at, turn) for at, turn in places])
    rects: dict[str, list[tuple[float, ...]]] = {"Cyan": [], "Magenta": []}
    for (x, y), turn in places:
        for ink, tint, (x0, y0, x1, y1) in drawn:
            box = (
                (x + x0, y + y0, x + x1, y + y1)
                if not turn
                else (x + 100 - x1, y + 100 - y1, x + 100 - x0, y + 100 - y0)
            )
            rects[ink].append((tint, *box))
    for ink, wanted in rects.items():
        found = np.array(covers(made, ink))
        assert np.max(np.abs(found - worked_out(wanted))) < 0.005
        assert np.max(np.abs(found - worked_out(wanted))) < 0.001


def test_a_clip_counts_by_area_and_not_by_whole_pixels():
    """A page full of ink, clipped to a triangle whose slanted side crosses pixels."""
    page = plates(100, 100, [("Cyan", 1.0, (0, 0, 100, 100))], dpi=25.4)
    triangle = Polygon([(0.35, 0.2), (99.7, 0.2), (0.35, 66.1)])
    made = sheet([(page, (400, 100), 0)], outline=triangle)
    found = np.array(covers(made)) * 33 * 700
    assert found.sum() == pytest.approx(triangle.area, abs=0.01)
    one = made.pieces[0]
    edges = Strips.of(made, KEYS).edges_mm
    exact = [shapely.intersection(one.clip, shapely.box(a, 0, b, 700)).area for a, b in pairwise(edges)]
    # within a pixel of 1 mm the ink is taken as even, so a slant is out by no more than its share of one pixel
    assert np.max(np.abs(found - exact)) < 0.5


@pytest.mark.parametrize("seed", range(20))
def test_shares_are_exact_areas(seed):
    made = np.random.default_rng(seed)
    page = plates(20, 15, [], dpi=25.4, names=["Cyan"])
    points = made.uniform(-3, 22, (12, 2))
    shape = shapely.concave_hull(shapely.MultiPoint(points), 0.4)
    if shape.geom_type != "Polygon":
        pytest.skip("points in a row")
    shape = shape.difference(shapely.Point(8, 7).buffer(1.7))
    found = shares_inside(page, shape)
    for row, column in made.integers(0, (15, 20), (60, 2)):
        pixel = shapely.box(column, 14 - row, column + 1, 15 - row)
        assert found[row, column] == pytest.approx(shape.intersection(pixel).area, abs=1e-5)


def test_the_tools_own_marks_count_and_are_named():
    page = plates(200, 150, [("Cyan", 0.5, (10, 20, 110, 120))])
    bar = [patch("Cyan", (100 + 40 * k, 690, 105 + 40 * k, 696)) for k in range(20)]
    made = sheet([(page, (300, 100), 0)], marks=[*bar, patch("Magenta", (50, 690, 55, 696))])
    made = type(made)(**{**vars(made), "kinds": {"Cyan": "process", "Magenta": "process"}})
    found = key_covers(made, KEYS)
    wanted = [(0.5, 310, 120, 410, 220), *((1.0, 100 + 40 * k, 690, 105 + 40 * k, 696) for k in range(20))]
    near(found.by_name["Cyan"], worked_out(wanted))
    near(found.by_name["Magenta"], worked_out([(1.0, 50, 690, 55, 696)]))
    assert [(own.kind, own.count, own.inks) for own in found.own_marks] == [("colour bar", 21, ("Cyan", "Magenta"))]
    cyan, magenta = found.plates
    near(cyan.work, worked_out([(0.5, 310, 120, 410, 220)]))
    assert max(magenta.work) == 0.0


def test_marks_read_from_the_artwork_are_on_its_plates_and_count_once():
    page = plates(1020, 700, [("Cyan", 1.0, (100, 690, 300, 696)), ("Cyan", 0.4, (300, 100, 600, 400))])
    mark = Mark("colour bar", shapely.box(100, 690, 300, 696), {"Cyan": 1.0}, known="assumed")
    found = key_covers(sheet([(page, (0, 0), 0)], marks=[mark]), KEYS)
    near(found.by_name["Cyan"], worked_out([(1.0, 100, 690, 300, 696), (0.4, 300, 100, 600, 400)]))
    near(found.plates[0].work, worked_out([(0.4, 300, 100, 600, 400)]))
    assert found.own_marks == ()


def test_names_of_one_ink_are_one_plate_and_coaters_have_no_keys():
    drawn = [("Moss", 0.5, (10, 20, 110, 120)), ("MOSS C", 1.0, (120, 20, 150, 120)), ("Coat", 1.0, (0, 0, 200, 150))]
    made = sheet(
        [(plates(200, 150, drawn), (300, 100), 0)],
        kinds={"Moss": "spot", "MOSS C": "spot", "Coat": "varnish", "Cutting": "cut"},
    )
    found = key_covers(made, KEYS, lambda name: "Moss" if name == "MOSS C" else name, on_coaters={"Coat"})
    assert list(found.by_name) == ["Moss"]
    near(found.by_name["Moss"], worked_out([(0.5, 310, 120, 410, 220), (1.0, 420, 120, 450, 220)]))


def test_the_back_has_keys_of_its_own():
    """The back is seen through the board: mirrored on its piece, and its x is the sheet's."""
    front = plates(200, 150, [("Black", 1.0, (10, 20, 60, 120))])
    back = plates(200, 150, [("Black", 0.4, (10, 20, 110, 120)), ("Recipe", 1.0, (20, 20, 40, 120))])
    made = sheet([(front, (300, 100), 0)], kinds={"Black": "process", "Recipe": "spot"})
    mirrored = (-1.0, 0.0, 0.0, 1.0, 500.0, 100.0)
    piece = Piece(back, mirrored, shapely.box(300, 100, 500, 250), side="back")
    found = key_covers(type(made)(**{**vars(made), "pieces": (*made.pieces, piece)}), KEYS)
    assert [(plate.name, plate.side) for plate in found.plates] == [
        ("Black", "front"), ("Black (back)", "back"), ("Recipe", "back")
    ]  # fmt: skip
    near(found.by_name["Black"], worked_out([(1.0, 310, 120, 360, 220)]))
    near(found.by_name["Black (back)"], worked_out([(0.4, 390, 120, 490, 220)]))
    near(found.by_name["Recipe"], worked_out([(1.0, 460, 120, 480, 220)]))


def test_a_slanted_piece_is_refused():
    with pytest.raises(ValueError, match="quarter turn"):
        quarter_turn((0.9, 0.1, -0.1, 0.9, 0, 0))


@pytest.mark.parametrize("alike", [True, False])
def test_a_sheet_of_24_takes_well_under_half_a_second(alike):
    """Six plates at 100 dpi, alike blanks and blanks whose bleed is cut differently each."""
    drawn = [(ink, 0.5, (5, 5, 150, 90)) for ink in ("Cyan", "Magenta", "Yellow", "Black", "Moss", "Rose")]
    page = plates(160, 110, drawn, dpi=100)
    made = sheet([(page, (10 + 165 * k, 5 + 115 * row), 180 * (row % 2)) for k in range(6) for row in range(4)])
    if not alike:
        cut = [
            Piece(piece.plates, piece.to_sheet, piece.clip.buffer(-0.1 * number).buffer(0.05))
            for number, piece in enumerate(made.pieces)
        ]
        made = type(made)(**{**vars(made), "pieces": tuple(cut)})
    begun = time.process_time()
    key_covers(made, KEYS)
    assert time.process_time() - begun < 0.5


@pytest.mark.parametrize("seed", range(15))
def test_any_rectangles_on_any_press(seed):
    """Random rectangles, turns, sheets, keys and hands against the overlaps of the rectangles with the strips."""
    made = np.random.default_rng(seed)
    size = (float(made.integers(400, 1000)), float(made.integers(300, 700)))
    count, pitch = int(made.integers(8, 34)), round(float(made.uniform(25, 40)), 2)
    width, height = (float(each) for each in made.integers(60, 140, 2))
    x0, x1 = np.sort(made.uniform(0, width, 2))
    y0, y1 = np.sort(made.uniform(0, height, 2))
    page = plates(width, height, [("Cyan", 1.0, (x0, y0, x1, y1))], dpi=float(made.choice([50.8, 101.6])))
    pieces, rects = [], []
    for at in [(x, y) for x in np.arange(-30, size[0], 150) for y in np.arange(-20, size[1], 150)]:
        turn = int(made.choice([0, 90, 180, 270]))
        pieces.append((page, at, turn))
        a, b, c, d, e, f = laid(at, turn, width, height)
        xs, ys = sorted((a * x0 + c * y0 + e, a * x1 + c * y1 + e)), sorted((b * x0 + d * y0 + f, b * x1 + d * y1 + f))
        low, high = (np.clip(xs, 0, size[0]), np.clip(ys, 0, size[1]))
        rects.append((1.0, low[0], high[0], low[1], high[1]))
    side = str(made.choice(["left", "right"]))
    found = covers(sheet(pieces, size, operator_side=side), keys=keys(count, pitch))
    wanted = worked_out(rects, size, count, pitch)
    assert np.max(np.abs(np.array(found) - (wanted if side == "left" else wanted[::-1]))) < 0.003

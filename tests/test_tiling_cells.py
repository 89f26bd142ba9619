"""Cells of tilings: fine ones that are repeated, large ones that are drawn, with the ink that the file gives them."""

from __future__ import annotations

import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.plates import Plates
from tests.drawn import MM, Drawing
from tests.plate_drawings import mm
from tests.test_plates_by_clause import tints_at
from tests.test_shared_channels import read

WIDE, TALL = 50.8, 38.1
CELLS = {"BBox": [1, 2, 21, 32], "XStep": 20, "YStep": 30}
"""Of 20 x 30 points, 7.06 x 10.58 mm, from 1, 2 on."""


def tiled(cell: str, words: str, **keys: object) -> Drawing:
    page = Drawing(WIDE, TALL)
    page.gs(ca=0.5, CA=0.5).ops.clear()
    given = {"PatternType": 1, "PaintType": 1, "TilingType": 1, **CELLS, "Resources": page.resources, **keys}
    for name in ("Gold", "Line"):
        page.spot(name)
    page.resources.Pattern.P = page.pdf.make_stream(cell.encode(), Dictionary(**given))  # type: ignore[arg-type]
    return page.raw(words)


def at(page: Drawing, tmp_path, dpi: float = 100) -> Plates:
    return read(page, tmp_path).plates(dpi)


GOLD_LEFT = "/CS0 cs 1 scn 1 2 8 30 re f"
FILLED = "/Pattern cs /P scn 0 0 144 108 re f"


@pytest.mark.parametrize("words", [FILLED, "/Pattern CS /P SCN 144 w 72 0 m 72 108 l S"])
def test_cells_stand_where_their_lattice_has_them(tmp_path, words):
    """From 1 to 9 of every 20 points."""
    places = {2: 1, 8: 1, 10: 0, 19: 0, 22: 1, 28: 1, 30: 0, 122: 1, 130: 0}
    found = tints_at(tiled(GOLD_LEFT, words), tmp_path, *((x / MM, 15) for x in places))
    assert [each.get("Gold", 0) for each in found] == pytest.approx(list(places.values()), abs=0.01)


@pytest.mark.parametrize(
    ("keys", "places"),
    [
        ({"XStep": 40}, {(5, 50): 1, (25, 50): 0, (45, 50): 1}),
        ({"XStep": -40}, {(5, 50): 1, (25, 50): 0, (45, 50): 1}),
        ({"YStep": 60}, {(5, 20): 1, (5, 40): 0, (5, 70): 1, (5, 100): 0}),
        ({"Matrix": [1, 0, 0, 1, 10, 0]}, {(5, 50): 0, (15, 50): 1, (25, 50): 0, (35, 50): 1}),
        ({"Matrix": [2, 0, 0, 0.5, 0, 0]}, {(5, 50): 1, (15, 50): 1, (25, 50): 0, (45, 50): 1}),
        ({"Matrix": [0, 1, -1, 0, 0, 0]}, {(50, 5): 1, (50, 15): 0, (50, 25): 1}),
        ({"XStep": 10}, {(5, 50): 1, (10.5, 50): 0, (15, 50): 1}),  # cells that lie over each other
    ],
)
def test_cells_are_apart_as_the_pattern_says(tmp_path, keys, places):
    found = tints_at(tiled(GOLD_LEFT, FILLED, **keys), tmp_path, *((x / MM, y / MM) for x, y in places))
    assert [each.get("Gold", 0) for each in found] == pytest.approx(list(places.values()), abs=0.02)


@pytest.mark.parametrize(
    ("side", "share"),
    [(0.7, 0.49), (0.35, 0.1225), (1, 1)],
)
@pytest.mark.parametrize("dpi", [60, 100, 300])
def test_thousands_of_fine_cells_have_the_ink_of_their_share(tmp_path, side, share, dpi):
    """Cells of a point, which no pixel is small enough for."""
    cell = f"/CS0 cs 1 scn 0 0 {side} {side} re f"
    page = tiled(cell, FILLED, BBox=[0, 0, 1, 1], XStep=1, YStep=1)
    tint = at(page, tmp_path, dpi).tint("Gold")[10:-10, 10:-10]
    assert tint.mean() / 255 == pytest.approx(share, abs=0.03)
    if share == 1:
        assert tint.min() >= 254


@pytest.mark.parametrize(("step", "ink"), [(20, "Gold"), (1.5, "Gold")])
def test_a_ground_has_no_seams(tmp_path, step, ink):
    keys = {"BBox": [0, 0, step, step], "XStep": step, "YStep": step}
    page = tiled(f"/CS0 cs 0.6 scn 0 0 {step} {step} re f", FILLED, **keys)
    tint = at(page, tmp_path).tint(ink)[3:-3, 3:-3]
    assert (tint.min(), tint.max()) == (pytest.approx(153, abs=1), pytest.approx(153, abs=1))


def test_a_stripe_runs_from_cell_to_cell(tmp_path):
    tint = at(tiled("/CS0 cs 1 scn 1 10 20 6 re f", FILLED), tmp_path, 100).tint("Gold")
    row = round((TALL - 13 / MM) / 0.254)
    assert tint[row, 2:-2].min() >= 254
    assert tint[round((TALL - 20 / MM) / 0.254)].max() == 0


@pytest.mark.parametrize("step", [20, 2])
def test_cells_at_an_opacity_are_as_faint_as_that(tmp_path, step):
    cell = f"/CS0 cs 0.8 scn 0 0 {step / 2} {step} re f"
    keys = {"BBox": [0, 0, step, step], "XStep": step, "YStep": step}
    tint = at(tiled(cell, f"/GS0 gs {FILLED}", **keys), tmp_path, 150).tint("Gold")[10:-10, 12:-12]
    assert tint.mean() / 255 == pytest.approx(0.2, abs=0.015)


def test_cells_are_cut_off_at_their_boxes(tmp_path):
    """What is painted from -9 to 99 shows between 1 and 11 of each 20."""
    page = tiled("/CS0 cs 1 scn -9 -9 108 108 re f", FILLED, BBox=[1, 2, 11, 32])
    places = {0.2: 0, 2: 1, 10: 1, 12: 0, 20: 0, 22: 1, 32: 0}
    found = tints_at(page, tmp_path, *((x / MM, 15) for x in places))
    assert [each.get("Gold", 0) for each in found] == pytest.approx(list(places.values()), abs=0.02)


def test_type_in_cells_is_filled_with_them(tmp_path):
    page = tiled("/CS0 cs 1 scn 1 2 20 30 re f /CS1 cs 1 scn 1 2 10 30 re f", "")
    page.text("l", (2, 2), 1).ops.clear()
    page.raw("/Pattern cs /P scn BT /F0 140 Tf 20 10 Td (HH) Tj ET")
    plates = at(page, tmp_path)
    both = (plates.tint("Gold").astype(int) + plates.tint("Line")) / 255
    assert both.max() <= 1.01
    gold, line = (float((plates.tint(name) > 128).mean()) for name in ("Gold", "Line"))
    assert min(gold, line) > 0.05
    row = round((TALL - 25 / MM) / 0.254)
    for column, x in ((round((x / MM) / 0.254), x) for x in range(2, 140)):
        if both[row, column] > 0.99 and 1 < (x - 1) % 20 % 10 < 9:  # within a letter, and beside no edge of a cell
            assert (plates.tint("Line")[row, column] > 128) == ((x - 1) % 20 < 10), x


@pytest.mark.parametrize(
    ("cell", "words", "expected"),
    [
        (GOLD_LEFT, f"/Pattern cs /P scn {mm(10)} w 1 0 0 0 K 20 20 80 60 re B", {(25, 50): "Cyan", (45, 50): "Gold"}),
        (GOLD_LEFT, f"/Pattern CS /P SCN {mm(10)} w 1 0 0 0 k 20 20 80 60 re B", {(45, 50): "Cyan", (25, 50): "Gold"}),
        (GOLD_LEFT, f"/Pattern CS /P SCN {mm(10)} w /Pattern cs /P scn 20 20 80 60 re B",
         {(45, 50): "Gold", (25, 50): "Gold", (35, 50): None}),
        (GOLD_LEFT, "/Pattern cs /P scn 20 20 80 60 re 40 40 20 20 re f*", {(25, 50): "Gold", (45, 50): None}),
        (GOLD_LEFT, "/Pattern cs /P scn 20 20 80 60 re W f 1 0 0 0 k 0 0 50 99 re f",
         {(45, 50): "Cyan", (10, 50): None}),
    ],
)  # fmt: skip
def test_paths_in_cells_are_filled_and_stroked(tmp_path, cell, words, expected):
    found = tints_at(tiled(cell, words), tmp_path, *((x / MM, y / MM) for x, y in expected))
    assert [set(each) for each in found] == [{name} if name else set() for name in expected.values()]


def test_uncoloured_cells_take_the_colour_that_they_are_painted_in(tmp_path):
    page = tiled("1 2 8 30 re f", "", PaintType=2)
    page.resources.ColorSpace.Tinted = page.pdf.make_indirect(Array([Name.Pattern, page.resources.ColorSpace.CS0]))
    page.raw("/Tinted cs 0.4 /P scn 0 0 60 108 re f 0.7 /P scn 60 0 90 108 re f")
    found = tints_at(page, tmp_path, (5 / MM, 15), (15 / MM, 15), (65 / MM, 15))
    assert [each.get("Gold", 0) for each in found] == pytest.approx([0.4, 0, 0.7], abs=0.01)

"""The drawing of a layout: what it says at which side, true to size as PDF, self-contained as SVG."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import combinations
from math import radians
from pathlib import Path
from typing import Literal

import numpy as np
import pypdf
import pypdfium2
import pytest
import shapely
from shapely.affinity import rotate

from preflight.quantities import Size
from preflight.report.drawing import POINT_MM, Drawing, Lines, Text, hatch, widest_place
from preflight.report.drawing_pdf import render_pdf
from preflight.report.drawing_svg import render_svg
from preflight.report.layout_drawing import NEVER, LayoutTold, draw_layout, layout_pdf, layout_svg
from preflight.report.layout_files import layout_files
from preflight.report.layout_looks import A3_MM
from preflight.setup.layout.sheet_layout import Placed, through
from preflight.setup.press_sheet.press_sheet import Piece, PressSheet
from preflight.setup.press_sheet.sheet_folds import with_folds
from preflight.setup_pipeline import set_up
from tests.laid_sheets import CREASES, CUT, PERFORATION, SHEET, layout_of, press_sheet

Hand = Literal["left", "right"]
HANDS: tuple[Hand, Hand] = ("left", "right")
TOLD = LayoutTold(
    "Ticket 4711, revision B, Oat biscuits 200 g",
    ("Ticket 4711", "revision B", "artwork 5f0c5f0c5f0c5f0c", "preflight 0.9.0, rules 3b1f9c20", "2026-11-30"),
    side_lay="operator",
)
SVG = "{http://www.w3.org/2000/svg}"
DENSE = tuple(Placed(12 + 62 * c, 16 + 44 * r, 180 if r % 2 else 0) for r in range(10) for c in range(15))


def with_bleed(sheet: PressSheet) -> PressSheet:
    pieces, blanks = [], []
    for number, blank in enumerate(sheet.blanks):
        assert blank.to_sheet is not None
        pieces.append(Piece(None, blank.to_sheet, through(blank.to_sheet, CUT.buffer(3))))  # type: ignore[arg-type]
        blanks.append(replace(blank, piece=number))
    return replace(sheet, pieces=tuple(pieces), blanks=tuple(blanks))


def dense() -> PressSheet:
    """150 small boxes on a large sheet."""
    cut = shapely.Polygon([(0, 0), (56, 0), (56, 30), (46, 38), (0, 38)])
    sheet = press_sheet(layout_of(DENSE, Size(960, 480), cut))
    return replace(
        sheet,
        blanks=tuple(replace(b, areas=(), folds={}, creases=shapely.MultiLineString(), edges=()) for b in sheet.blanks),
    )


def texts_of(drawing: Drawing) -> dict[str, Text]:
    return {item.says: item for item in drawing.items if isinstance(item, Text)}


def named(drawing: Drawing, name: str) -> shapely.MultiLineString:
    runs = [run for item in drawing.items if isinstance(item, Lines) and item.name == name for run in item.runs]
    return shapely.MultiLineString(runs)


# Sides -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("hand", HANDS)
def test_both_sides_are_named_where_they_are(hand):
    texts = texts_of(draw_layout(press_sheet(operator_side=hand), TOLD))
    left, right = ("OPERATOR SIDE", "DRIVE SIDE") if hand == "left" else ("DRIVE SIDE", "OPERATOR SIDE")
    assert texts[left].x < 0
    assert texts[right].x > SHEET.across_mm
    assert texts["GRIPPER EDGE"].y < 0
    assert texts["TAIL"].y > SHEET.along_mm


def test_a_side_that_nobody_states_is_called_assumed():
    assert "OPERATOR SIDE (assumed)" in texts_of(draw_layout(press_sheet(assumed=True), TOLD))
    assert "OPERATOR SIDE (assumed)" not in texts_of(draw_layout(press_sheet(), TOLD))


@pytest.mark.parametrize("hand", HANDS)
def test_the_picture_is_the_printed_face_whatever_the_hand(hand):
    drawing = draw_layout(press_sheet(operator_side=hand), TOLD)
    assert named(drawing, "cut").bounds == pytest.approx((20, 18, 617, 386), abs=0.03)
    glue = [item for item in drawing.items if isinstance(item, Lines) and item.name == "glue flap"]
    assert shapely.MultiLineString(glue[0].runs).bounds[0] == pytest.approx(20, abs=0.1)


@pytest.mark.parametrize(
    ("hand", "first", "others"),
    [
        ("left", "x 20.0", ["x 20.0 y 18.0", "x 422.0 y 206.0"]),
        ("right", "x 23.0", ["x 425.0 y 18.0", "x 23.0 y 206.0"]),
    ],
)
def test_dimensions_count_from_the_operator_side(hand, first, others):
    """640 - 422 - 195 = 23 mm from the right edge to blank 3."""
    texts = texts_of(draw_layout(press_sheet(operator_side=hand), TOLD))
    at = texts[first]
    assert (at.x < 30) if hand == "left" else (at.x > 610)
    assert {*others, "y 18.0", "sheet 640", "sheet 480", "block 597.0", "block 368.0", "pitch 201.0"} <= set(texts)
    assert {"pitch 188.0", "gutter 6.0", "gutter 8.0"} <= set(texts)


def test_pitches_that_differ_are_all_told():
    layout = replace(layout_of((Placed(20, 18, 0), Placed(221, 18, 180), Placed(430, 18, 0))), gutters_mm=(9.5, 8.0))
    texts = texts_of(draw_layout(press_sheet(layout), TOLD))
    assert {"pitch 201.0 (then 209.0)", "box to box 6.0"} <= set(texts)


@pytest.mark.parametrize("hand", HANDS)
@pytest.mark.parametrize("lay", ["operator", "drive"])
def test_the_side_lay_pushes_at_its_side(hand, lay):
    drawing = draw_layout(press_sheet(operator_side=hand), replace(TOLD, side_lay=lay))
    at_left = (lay == "operator") == (hand == "left")
    word = texts_of(drawing)["side lay"]
    assert (word.x < 0) is at_left
    assert (word.x > SHEET.across_mm) is not at_left


@pytest.mark.parametrize(("lay", "says"), [(None, "Side lay not stated"), ("either", "Side lay at either side")])
def test_a_side_lay_that_is_not_one_side_is_said(lay, says):
    texts = texts_of(draw_layout(press_sheet(), replace(TOLD, side_lay=lay)))
    assert any(text.startswith(says) for text in texts)
    assert "side lay" not in texts


# What is drawn -----------------------------------------------------------------------------------------------------


def test_lines_are_told_apart_by_their_dashes():
    drawing = draw_layout(with_bleed(press_sheet()), TOLD)
    looks = {item.name: item for item in drawing.items if isinstance(item, Lines)}
    assert looks["cut"].dash_mm == ()
    assert len({looks[name].dash_mm for name in ("cut", "crease", "perforation", "free area")}) == 4
    assert named(drawing, "crease").length == pytest.approx(6 * CREASES.length, rel=1e-4)
    assert named(drawing, "perforation").length == pytest.approx(6 * PERFORATION.length, rel=1e-4)
    assert named(drawing, "cut").length == pytest.approx(6 * CUT.length, rel=1e-4)
    assert named(drawing, "bleed").bounds[:2] == pytest.approx((17, 15), abs=0.05)
    legend = texts_of(drawing)
    assert {"cut", "crease", "perforation", "bleed", "glue flap", "code", "gripper", "may be printed on"} <= set(legend)


def test_the_gripper_strip_is_hatched_and_the_free_area_framed():
    drawing = draw_layout(press_sheet(), TOLD)
    x0, y0, x1, y1 = named(drawing, "gripper").bounds
    assert (y0, y1) == pytest.approx((0, 12), abs=0.01)
    assert x1 - x0 > 630
    assert named(drawing, "free area").bounds == pytest.approx((6, 12, 634, 470))


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_an_arrow_points_up_on_the_one_up(turn):
    layout = layout_of((Placed(100, 100, turn),), Size(640, 480))
    sheet = press_sheet(layout)
    alone = replace(sheet, marks=(), layout=replace(layout, grain=None))
    drawing = draw_layout(alone, replace(TOLD, side_lay=None))
    number = next(n for n, item in enumerate(drawing.items) if isinstance(item, Text) and item.says == "1")
    shaft, head = drawing.items[number + 1 : number + 3]
    assert isinstance(shaft, Lines)
    assert isinstance(head, Lines)
    (start, end), tip = shaft.runs[0], head.runs[0][0]
    assert tip == end
    step = np.subtract(end, start) / np.hypot(*np.subtract(end, start))
    assert step.tolist() == pytest.approx([-np.sin(radians(turn)), np.cos(radians(turn))], abs=1e-9)
    assert f"turn {turn}°" in texts_of(drawing)


@pytest.mark.parametrize(("grain", "says"), [("across", "across the press"), ("along", "along the travel")])
def test_the_grain_has_an_arrow_and_a_word(grain, says):
    sheet = press_sheet(replace(layout_of(), grain=grain))
    drawing = draw_layout(sheet, TOLD)
    assert f"GRAIN {says}" in texts_of(drawing)
    with_heads = [item for item in drawing.items if isinstance(item, Lines) and item.name == "arrow"]
    shaft = max((run for item in with_heads for run in item.runs if len(run) == 2), key=lambda run: run[0][1])
    across, along = np.abs(np.subtract(*shaft))
    assert bool(across > along) is (grain == "across")


def test_a_grain_that_nobody_states():
    assert "GRAIN not stated" in texts_of(draw_layout(press_sheet(replace(layout_of(), grain=None)), TOLD))


def test_the_head_tells_what_the_layout_is():
    layout = replace(layout_of(), because="six by tumbled rows", why_not_more="One row more is 12 mm too deep.",
                     assumed=("the grain",))  # fmt: skip
    texts = set(texts_of(draw_layout(press_sheet(layout), TOLD)))
    share = 100 * CUT.area * 6 / (640 * 480)
    assert f"6 up, tumbled, sheet 640 x 480 mm, used {share:.0f} %, gutters 6 mm side by side, 8 mm row to row" in texts
    assert {"Six by tumbled rows", "One row more is 12 mm too deep.", "Assumed: the grain", TOLD.job} <= texts
    assert " | ".join(TOLD.identity) in texts


@pytest.mark.parametrize("run_it", [True, False])
def test_do_not_run_goes_across(run_it):
    drawing = draw_layout(press_sheet(), replace(TOLD, run_it=run_it, why_not=("No bleed.",)))
    texts = texts_of(drawing)
    assert (NEVER in texts) is not run_it
    assert (f"{NEVER}: No bleed." in texts) is not run_it
    if not run_it:
        assert texts[NEVER].width_mm > 0.6 * SHEET.across_mm
        assert drawing.items[-1] is texts[NEVER]


def test_a_sheet_from_outside_has_no_layout():
    sheet = replace(press_sheet(), layout=None, is_from="sheet from outside")
    sheet = replace(sheet, blanks=tuple(replace(b, turn_deg=None, to_sheet=None, folds={}) for b in sheet.blanks))
    texts = texts_of(draw_layout(sheet, TOLD))
    assert "Sheet from outside, 640 x 480 mm, 6 blanks" in texts
    assert "turn not known" in texts
    assert "GRAIN not stated" in texts
    assert "GRAIN across the press" in texts_of(draw_layout(sheet, replace(TOLD, grain="across")))


def test_no_gutter_is_told_where_a_blank_has_no_neighbour_that_way():
    row = replace(layout_of((Placed(20, 18, 0), Placed(221, 18, 0))), gutters_mm=(6.0, 0.0))
    assert row.gutters_there_mm == (6.0, None)
    assert replace(row, blanks=(Placed(20, 18, 0), Placed(20, 206, 0))).gutters_there_mm == (None, 0.0)
    texts = texts_of(draw_layout(press_sheet(row), TOLD))
    assert any(text.endswith("gutters 6 mm side by side") for text in texts)


def test_a_sheet_without_blanks_or_papers_is_drawn_too():
    texts = texts_of(draw_layout(replace(press_sheet(), blanks=()), LayoutTold()))
    assert {"sheet 640", "No ticket", "Layout"} <= set(texts)


SHEETS = {
    "left": lambda: with_bleed(press_sheet()),
    "right": lambda: with_bleed(press_sheet(operator_side="right", assumed=True)),
    "dense": dense,
    "one": lambda: press_sheet(layout_of((Placed(20, 18, 90),), Size(400, 300))),
    "tall": lambda: press_sheet(layout_of((Placed(20, 18, 270), Placed(20, 220, 90)), Size(240, 640))),
}


@pytest.mark.parametrize("name", SHEETS)
def test_no_text_lies_on_another_or_beyond_the_page(name):
    drawing = draw_layout(SHEETS[name](), TOLD)
    boxes = {}
    for text in (item for item in drawing.items if isinstance(item, Text)):
        left = text.x - {"left": 0, "centre": 0.5, "right": 1}[text.align] * text.width_mm
        box = shapely.box(left, text.y - 0.36 * text.size_mm, left + text.width_mm, text.y + 0.36 * text.size_mm)
        boxes[f"{text.says} at {text.x:.0f}, {text.y:.0f}"] = rotate(box, text.turn_deg, origin=(text.x, text.y))
    page = shapely.box(*drawing.box)
    assert [says for says, box in boxes.items() if not page.covers(box)] == []
    crossed = [
        (one, other)
        for (one, a), (other, b) in combinations(boxes.items(), 2)
        if a.intersection(b).area > 0.05 * a.area
    ]
    assert crossed == []


@pytest.mark.parametrize("name", SHEETS)
def test_printed_on_a3_the_smallest_type_is_still_read(name):
    """At least 2 mm, which is 5.7 points."""
    drawing = draw_layout(SHEETS[name](), TOLD)
    x0, y0, x1, y1 = drawing.box
    wide, high = sorted((x1 - x0, y1 - y0), reverse=True) if name == "tall" else (x1 - x0, y1 - y0)
    scale = min(A3_MM[0] / wide, A3_MM[1] / high)
    assert min(item.size_mm for item in drawing.items if isinstance(item, Text)) * scale > 1.99


# PDF ---------------------------------------------------------------------------------------------------------------


def pixels(data: bytes, per_mm: float) -> np.ndarray:
    with pypdfium2.PdfDocument(data) as pdf:
        return np.asarray(pdf[0].render(scale=per_mm * POINT_MM, grayscale=True).to_numpy()).squeeze()


def test_the_page_is_the_drawing_at_full_size():
    sheet = press_sheet()
    (page,) = pypdf.PdfReader(io.BytesIO(layout_pdf(sheet, TOLD))).pages
    x0, y0, x1, y1 = draw_layout(sheet, TOLD).box
    assert float(page.mediabox.width) * POINT_MM == pytest.approx(x1 - x0, abs=0.01)
    assert float(page.mediabox.height) * POINT_MM == pytest.approx(y1 - y0, abs=0.01)
    assert page.get("/UserUnit", 1) == 1


def test_a_hundred_millimetres_are_a_hundred_millimetres():
    drawing = Drawing("ruler", (-5, -5, 115, 15))
    drawing.lines("mark", [shapely.LineString([(x, 0), (x, 10)]) for x in (0, 100)], 0.2)
    ink = 255.0 - pixels(render_pdf(drawing), 20)[200]
    places = (np.arange(len(ink)) + 0.5) * 120 / len(ink) - 5  # the page is 120 mm wide, whatever pixels it fills
    left, right = places < 50, places > 50
    ends = [float((ink * places)[side].sum() / ink[side].sum()) for side in (left, right)]
    assert ends == pytest.approx([0, 100], abs=0.03)


def test_the_sheet_is_as_large_in_the_raster():
    """Across the middle of the gap between the rows, where nothing but the edges of the sheet is dark."""
    sheet = replace(press_sheet(), marks=())
    drawing = draw_layout(sheet, TOLD)
    shown = pixels(layout_pdf(sheet, TOLD), 5)
    row = shown[round((drawing.box[3] - 202) * 5)]
    dark = np.flatnonzero(row < 100) / 5 + drawing.box[0]
    assert dark[np.abs(dark) < 2].mean() == pytest.approx(0, abs=0.2)
    assert dark[np.abs(dark - 640) < 2].mean() == pytest.approx(640, abs=0.2)


def test_letters_that_the_type_lacks_are_written_out():
    text = (
        pypdf.PdfReader(io.BytesIO(layout_pdf(press_sheet(), replace(TOLD, job="饼干 4711")))).pages[0].extract_text()
    )
    assert "[U+997C]" in text


# SVG ---------------------------------------------------------------------------------------------------------------


def test_the_svg_is_one_file_without_script_or_style():
    text = layout_svg(press_sheet(), replace(TOLD, job='<script>alert("&")</script>\u202e'))
    root = ET.fromstring(text)
    assert {element.tag.removeprefix(SVG) for element in root.iter()} == {"svg", "title", "rect", "path", "text"}
    assert not re.search(r"href|url\(|style=|<style|<script", text)
    assert "\u202e" not in text
    x0, y0, x1, y1 = draw_layout(press_sheet(), TOLD).box
    assert float(root.attrib["width"].removesuffix("mm")) == pytest.approx(x1 - x0, abs=0.001)
    assert root.attrib["viewBox"] == f"0 0 {x1 - x0:.3f} {y1 - y0:.3f}"


def test_the_svg_within_a_page_takes_the_room_there_is():
    root = ET.fromstring(layout_svg(press_sheet(), TOLD, embedded=True))
    assert "width" not in root.attrib
    assert root.attrib["class"] == "drawing"


def test_the_svg_shows_what_the_drawing_has():
    drawing = draw_layout(press_sheet(), TOLD)
    root = ET.fromstring(render_svg(drawing))
    paths = [e for e in root.iter(f"{SVG}path") if e.attrib["data-is"] == "cut"]
    points = np.array([
        [float(v) for v in pair.split()] for e in paths for pair in re.split("[MLZ]+", e.attrib["d"]) if pair
    ])  # fmt: skip
    left, top = drawing.box[0], drawing.box[3]
    assert points.min(0).tolist() == pytest.approx([20 - left, top - 386], abs=0.03)
    assert points.max(0).tolist() == pytest.approx([617 - left, top - 18], abs=0.03)
    says = [e.text for e in root.iter(f"{SVG}text")]
    assert says == [item.says for item in drawing.items if isinstance(item, Text)]
    greys = {v for e in root.iter() for k, v in e.attrib.items() if k in ("fill", "stroke") and v.startswith("#")}
    assert all(v[1:3] == v[3:5] == v[5:7] for v in greys)


# Parts -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("turn", [0, 45, 60, 90, 135])
def test_hatching_fills_a_shape_at_its_pitch(turn):
    lines = hatch(shapely.box(0, 0, 100, 50), 2, turn)
    assert lines.length == pytest.approx(100 * 50 / 2, rel=0.05)
    assert shapely.box(0, 0, 100, 50).buffer(1e-6).covers(lines)


def test_the_widest_place_of_nothing():
    assert widest_place([shapely.Polygon()]) == ((0.0, 0.0), 0.0)
    (x, y), radius = widest_place([shapely.box(0, 0, 2, 2), shapely.box(10, 0, 30, 20)])
    assert (x, y, radius) == pytest.approx((20, 10, 10), abs=0.5)


def test_folds_are_told_apart_on_the_sheet():
    """The die has them on its page, where the one-up begins at (0, 0)."""
    plain = press_sheet(folds=False)
    elsewhere = shapely.LineString([(500, 0), (500, 90)])
    sheet = with_folds(plain, {"crease": CREASES, "perforate": PERFORATION.union(elsewhere), "half-cut": elsewhere})
    second = sheet.blanks[1]
    assert set(second.folds) == {"crease", "perforate"}
    assert second.folds["perforate"].bounds == pytest.approx((221 + 195 - 75, 18 + 60, 221 + 195 - 75, 18 + 120))
    outside = replace(plain, blanks=tuple(replace(blank, to_sheet=None) for blank in plain.blanks))
    assert with_folds(outside, {"crease": CREASES}) == outside


# Files -------------------------------------------------------------------------------------------------------------

JOBS = Path(__file__).parents[1] / "sample_jobs"


@pytest.fixture(scope="module")
def made():
    return set_up(JOBS / "oat-biscuits-repaired" / "ticket.yaml")


def test_the_files_of_a_layout(made):
    assert layout_files(replace(made.job, sheet=None), made.document) == {}
    job = replace(made.job, sheet=press_sheet())
    files = layout_files(job, made.document)
    assert set(files) == {"layout.svg", "layout.pdf", "layout.dxf"}
    digest = made.document["artwork"][0]["sha256"][:16]
    assert digest in files["layout.svg"].decode()
    assert digest in files["layout.dxf"].decode()
    assert digest in pypdf.PdfReader(io.BytesIO(files["layout.pdf"])).pages[0].extract_text()
    outside = replace(press_sheet(), layout=None, is_from="sheet from outside")
    assert set(layout_files(replace(made.job, sheet=outside), made.document)) == {"layout.svg", "layout.pdf"}


def test_a_layout_of_an_earlier_set_up_does_not_stay(made, tmp_path):
    from preflight.report.setup_saving import save_setup

    folder = tmp_path / "set-up"
    written = save_setup(
        made.document, folder, others=layout_files(replace(made.job, sheet=press_sheet()), made.document)
    )
    assert {path.name for path in written} >= {"setup.json", "layout.svg", "layout.pdf", "layout.dxf"}
    assert all(path.is_file() for path in written)
    (folder / "coating-plate.dxf").write_text("old")
    save_setup(made.document, folder)
    assert {path.name for path in folder.iterdir()} == {"setup.json", "setup.html", "setup.pdf"}

"""Streams written anew for the plates: paths, type, dots and pictures of two inks, by tints at places of a page."""

from __future__ import annotations

from typing import Any

import pytest
from pikepdf import Array, Dictionary, Name

from tests.drawn import Drawing
from tests.plate_drawings import ON, PAGE, embed_font, group, mm, rect
from tests.test_plates_by_clause import sheet, tints_at
from tests.test_shared_channels import read

GOLD, LINE, BOTH = {"Gold": 1}, {"Line": 1}, {"Gold": 1, "Line": 1}
TRIANGLE = f"{mm(10, 10)} m {mm(40, 10)} l {mm(40, 30)} l"
FRAMED = f"{rect(5, 5, 45, 33)} {rect(15, 12, 35, 26)}"
IN_EDGE, OFF_EDGE = (25.6, 19.2), (24.4, 20.8)
"""Beside the middle of the edge from 40, 30 back to 10, 10: within the triangle, and outside."""


def inked(words: str, *, fill: str = "Gold", stroke: str = "Line") -> Drawing:
    """Words with a filling and a stroking ink that overprint each other; lines are 4 mm wide."""
    page = sheet().gs(**ON).gs(ca=0.5, CA=0.5).gs(OP=True, op=False, OPM=1)
    page.ops.pop()
    page.ops.pop()
    return page.raw(f"/{page.spot(fill)} cs 1 scn /{page.spot(stroke)} CS 1 SCN {mm(4)} w {words}")


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (f"{TRIANGLE} b", {IN_EDGE: BOTH, OFF_EDGE: LINE, (33, 14): GOLD, (40.5, 20): LINE}),
        (f"{TRIANGLE} B", {IN_EDGE: GOLD, OFF_EDGE: {}, (40.5, 20): LINE}),
        (f"{TRIANGLE} f", {IN_EDGE: GOLD, OFF_EDGE: {}, (40.5, 20): {}}),
        (f"{TRIANGLE} s", {IN_EDGE: LINE, OFF_EDGE: LINE, (33, 14): {}}),
        (f"{TRIANGLE} S", {IN_EDGE: {}, OFF_EDGE: {}, (40.5, 20): LINE}),
        (f"{FRAMED} B*", {(10, 20): GOLD, (25, 19): {}, (15.5, 19): LINE, (14.5, 19): BOTH}),
        (f"{FRAMED} b*", {(10, 20): GOLD, (25, 19): {}, (15.5, 19): LINE, (14.5, 19): BOTH}),
        (f"{FRAMED} B", {(10, 20): GOLD, (25, 19): GOLD, (15.5, 19): BOTH}),
        (f"{FRAMED} f*", {(10, 20): GOLD, (25, 19): {}, (15.5, 19): {}}),
        (f"{FRAMED} W* B* {rect(*PAGE)} f", {(25, 19): {}, (10, 20): GOLD, (15.5, 19): LINE, (2, 2): {}}),
        (f"{rect(5, 5, 25, 33)} W S {rect(*PAGE)} f", {(15, 20): GOLD, (24, 20): BOTH, (26, 20): LINE, (40, 20): {}}),
        (
            f"{rect(5, 5, 25, 33)} W n {rect(10, 10, 40, 20)} B",
            {(20, 15): GOLD, (11, 15): BOTH, (9, 15): LINE, (30, 15): {}},
        ),
    ],
)
def test_paths_are_filled_and_stroked_each_on_its_own_plate(tmp_path, words, expected):
    found = tints_at(inked(words), tmp_path, *expected)
    assert found == [pytest.approx(each, abs=0.02) for each in expected.values()]


GROUND = f"/CS1 cs 0.5 scn {rect(0, 0, 30, 38)} f /CS0 cs 0.4 scn {rect(20, 0, 51, 38)} f /CS0 cs 1 scn"
"""Line to the left of 30 mm, Gold to the right of 20 mm."""


@pytest.mark.parametrize("operator", ["b", "B", "b*", "B*"])
def test_what_one_plate_has_stays_where_only_the_other_is_painted(tmp_path, operator):
    """A frame from 10 to 40: filled on Gold, stroked on Line, and on neither else."""
    places = {(15, 20): {"Gold": 1, "Line": 0.5}, (35, 20): GOLD, (25, 9): {"Gold": 0.4, "Line": 1}, (9, 20): LINE}
    found = tints_at(inked(f"{GROUND} {rect(10, 10, 40, 30)} {operator}"), tmp_path, *places)
    assert found == [pytest.approx(each, abs=0.02) for each in places.values()]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        # Fill and stroke are one object, and where nothing overprints the stroke knocks the fill out: 11.7.4.4
        (f"/GS1 gs {rect(15, 10, 35, 30)} B", {(25, 20): {"Gold": 0.5}, (15.5, 20): {"Line": 0.5}, (5, 5): {}}),
        (f"/GS2 gs {rect(15, 10, 35, 30)} B", {(25, 20): GOLD, (15.5, 20): BOTH, (13.5, 20): LINE}),
        (f"/GS1 gs {rect(15, 10, 35, 30)} f", {(25, 20): {"Gold": 0.5}, (15.5, 20): {"Gold": 0.5}}),
        (f"/GS1 gs {rect(15, 10, 35, 30)} S", {(25, 20): {}, (15.5, 20): {"Line": 0.5}}),
    ],
)
def test_opacity_and_overprint_of_fills_and_strokes(tmp_path, words, expected):
    page = inked(words)
    if "/GS1" in words:
        page.resources.ExtGState.GS0 = Dictionary(OP=False, op=False)
    found = tints_at(page, tmp_path, *expected)
    assert found == [pytest.approx(each, abs=0.02) for each in expected.values()]


def across(page: Drawing, tmp_path, y_mm: float, name: str = "Line", dpi: float = 100) -> float:
    """How much of an ink there is along a level line, in mm of solid."""
    plates = read(page, tmp_path).window(PAGE, dpi)
    row = int((PAGE[3] - y_mm) / plates.mm_per_px)
    return float(plates.tint(name)[row].sum()) / 255 * plates.mm_per_px


UP = f"{mm(21.1, 2)} m {mm(21.1, 36)} l"


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (f"{mm(0.1)} w {UP} S", 0.1),  # 0.4 of a pixel
        (f"{mm(0.02)} w {UP} S", 0.02),
        (f"{mm(0.6)} w {UP} S", 0.6),
        (f"{mm(0.1)} w {UP} B", 0.1),
        (f"{mm(0.1)} w {UP} {mm(30, 20)} l b", 0.1 + 0.1 * 1.0),
        (f"/GS1 gs {mm(0.1)} w {UP} S", 0.05),
        (f"q 0.2 0 0 1 0 0 cm {mm(0.5)} w {mm(105.5, 2)} m {mm(105.5, 36)} l S Q", 0.1),
    ],
)
def test_thin_strokes_have_the_ink_of_their_width(tmp_path, words, expected):
    found = across(inked(words), tmp_path, 19 if "b" not in words.split() else 30)
    slack = 0.006 if "b" not in words.split() else 0.06  # its sides meet at a slant
    assert found == pytest.approx(expected, abs=slack)


@pytest.mark.parametrize(
    ("dash", "expected"),
    [
        ("[0 6] 0 d 1 J", {(10, 20): LINE, (13, 20): {}, (16, 20): LINE, (19, 20): {}}),
        ("[0 6] 2 d 1 J", {(14, 20): LINE, (17, 20): {}, (20, 20): LINE}),
        ("[0 6 0] 0 d 1 J", {(10, 20): LINE, (13, 20): {}, (16, 20): LINE}),
        ("[6 2] 0 d 0 J", {(13, 20): LINE, (17, 20): {}, (21, 20): LINE}),
    ],
)
def test_dots_and_dashes_stand_where_they_belong(tmp_path, dash, expected):
    """Figures of the dashes in mm: lines of 2 mm from 10 mm on, dots of which are round."""
    lengths, rest = dash[1:].split("]")
    phase, *others = rest.split()
    scaled = f"[{mm(*map(float, lengths.split()))}] {mm(float(phase))} {' '.join(others)}"
    found = tints_at(inked(f"{mm(2)} w {scaled} {mm(10, 20)} m {mm(45, 20)} l S"), tmp_path, *expected)
    assert found == [pytest.approx(each, abs=0.02) for each in expected.values()]


def type_3(page: Drawing, program: str) -> Drawing:
    """Font /T3 with one glyph: a square of ten units."""
    page.resources.Font.T3 = Dictionary(
        Type=Name.Font, Subtype=Name.Type3, FontBBox=Array([0, 0, 10, 10]), FontMatrix=Array([1, 0, 0, 1, 0, 0]),
        CharProcs=Dictionary(a=page.pdf.make_stream(program.encode())), FirstChar=97, LastChar=97,
        Encoding=Dictionary(Type=Name.Encoding, Differences=Array([97, Name.a])), Widths=Array([20]),
        Resources=page.resources,
    )  # fmt: skip
    return page


SQUARES = f"BT /T3 1 Tf {mm(10, 10)} Td (aa) Tj ET"
"""From 10 mm on, 3.53 wide, and 7.06 further on."""


@pytest.mark.parametrize(
    ("program", "before", "expected"),
    [
        ("20 0 0 0 10 10 d1 0 0 10 10 re f", "", [GOLD, {}, GOLD]),
        ("20 0 d0 /CS1 cs 1 scn 0 0 10 10 re f", "", [LINE, {}, LINE]),
        ("20 0 d0 /CS1 cs 0.5 scn 0 0 10 10 re f", "3 Tr", [{}, {}, {}]),  # 9.3.6
        ("20 0 0 0 10 10 d1 0 0 10 10 re f", "7 Tr", [{}, {}, {}]),
        ("20 0 d0 /CS1 cs 0.5 scn 0 0 10 10 re f", "7 Tr", [{}, {}, {}]),
        ("20 0 d0 /CS1 cs 0.5 scn 0 0 10 10 re f", "1 Tr", [{"Line": 0.5}, {}, {"Line": 0.5}]),
        ("20 0 0 0 10 10 d1 0 0 10 10 re f", "/GS1 gs", [{"Gold": 0.5}, {}, {"Gold": 0.5}]),
        ("20 0 d0 /CS1 cs 1 scn 0 0 10 10 re f", "/GS1 gs", [{"Line": 0.5}, {}, {"Line": 0.5}]),
    ],
)
def test_glyphs_of_type_3_fonts_are_painted_on_their_plates(tmp_path, program, before, expected):
    page = inked(f"{before} {SQUARES}")
    found = tints_at(type_3(page, program), tmp_path, (12, 12), (15, 12), (18.5, 12))
    assert found == [pytest.approx(each, abs=0.02) for each in expected]


@pytest.mark.parametrize(
    ("mode", "plates"),
    [(0, {"Gold"}), (1, {"Line"}), (2, {"Gold", "Line"}), (3, set()), (4, {"Gold"}), (5, {"Line"}),
     (6, {"Gold", "Line"}), (7, set())],
)  # fmt: skip
def test_modes_of_type_paint_and_clip(tmp_path, mode, plates):
    """9.3.6. A large o: its stroke on the left at 12.5 mm; then a rectangle in a third ink through what clips."""
    page = inked("")
    embed_font(page)
    page.raw(f"{mm(0.4)} w q BT {mode} Tr /F0 100 Tf {mm(10, 10)} Td (o) Tj ET")
    page.fill("Third", rect=(0, 0, 50, 38)).raw("Q")
    plates_ = read(page, tmp_path).plates(100)
    for name in ("Gold", "Line"):
        assert (plates_.tint(name).max() > 200) == (name in plates)
    whole = inked("")
    embed_font(whole)
    letter = read(whole.raw(f"BT /F0 100 Tf {mm(10, 10)} Td (o) Tj ET"), tmp_path).plates(100).tint("Gold") > 128
    through = plates_.tint("Third") > 128
    if mode >= 4:
        assert (through != letter).mean() < 0.003
    else:
        assert through[2:, :-4].all()


def test_type_that_is_not_painted_moves_what_comes_behind_it(tmp_path):
    """Two letters in one string, and two in strings of their own, the first in another ink: at the same places."""
    page = inked("")
    embed_font(page)
    page.raw(f"BT /F0 60 Tf {mm(5, 15)} Td (l) Tj /{page.spot('Line')} cs 1 scn (l) Tj ET")
    whole = sheet()
    embed_font(whole)
    whole.raw(f"/{whole.spot('Line')} cs 1 scn BT /F0 60 Tf {mm(5, 15)} Td (ll) Tj ET")
    apart, once = (read(each, tmp_path).plates(100) for each in (page, whole))
    both = apart.tint("Gold").astype(int) + apart.tint("Line")
    assert abs(both - once.tint("Line").astype(int)).max() <= 8
    assert apart.tint("Gold").any()


def stencil_and_picture(page: Drawing) -> Drawing:
    page.resources.XObject.Stencil = page.pdf.make_stream(
        bytes([0b01000000, 0b11000000]), Type=Name.XObject, Subtype=Name.Image, Width=2, Height=2, BitsPerComponent=1,
        ImageMask=True,
    )  # fmt: skip
    page.resources.XObject.Picture = page.pdf.make_stream(
        bytes([255, 51, 0, 102]), Type=Name.XObject, Subtype=Name.Image, Width=2, Height=2, BitsPerComponent=8,
        ColorSpace=page.resources.ColorSpace.CS1,
    )  # fmt: skip
    return page


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (f"q {mm(20, 0, 0, 10, 10, 5)} cm /Stencil Do Q", [GOLD, {}, {}, {}]),
        (f"/GS1 gs q {mm(20, 0, 0, 10, 10, 5)} cm /Stencil Do Q", [{"Gold": 0.5}, {}, {}, {}]),
        (f"q {mm(20, 0, 0, 10, 10, 5)} cm /Picture Do Q", [LINE, {"Line": 0.2}, {}, {"Line": 0.4}]),
        (f"q {mm(-20, 0, 0, -10, 30, 15)} cm /Picture Do Q", [{"Line": 0.4}, {}, {"Line": 0.2}, LINE]),
        (f"{rect(*PAGE)} f q {mm(20, 0, 0, 10, 10, 5)} cm /Picture Do Q",
         [BOTH, {"Gold": 1, "Line": 0.2}, GOLD, {"Gold": 1, "Line": 0.4}]),
    ],
)  # fmt: skip
def test_stencils_and_pictures_are_painted_on_their_plates(tmp_path, words, expected):
    """Of four quarters, the upper ones first, from 10, 5 to 30, 15."""
    page = stencil_and_picture(inked(words))
    found = tints_at(page, tmp_path, (15, 12.5), (25, 12.5), (15, 7.5), (25, 7.5))
    assert found == [pytest.approx(each, abs=0.02) for each in expected]


def test_a_form_takes_over_the_colours_that_it_is_called_with(tmp_path):
    page = inked("")
    form = page.form(f"{rect(10, 10, 30, 25)} B", bbox_mm=PAGE)
    page.raw(f"/{form} Do q 1 0 0 1 {mm(20, 12)} cm /{page.spot('Third')} cs 0.5 scn /{form} Do Q")
    found = tints_at(page, tmp_path, (15, 15), (10.5, 15), (45, 30), (30.5, 30))
    assert found == [
        GOLD,
        BOTH,
        pytest.approx({"Third": 0.5}, abs=0.01),
        pytest.approx({"Third": 0.5, "Line": 1}, abs=0.01),
    ]


@pytest.mark.parametrize(
    ("state", "keys", "expected"),
    [
        ("", {}, [GOLD, BOTH]),
        ("/GS1 gs", {}, [{"Gold": 0.5}, {"Gold": 0.5, "Line": 0.5}]),
        ("/GS1 gs", {"I": True}, [{"Gold": 0.5}, {"Gold": 0.5, "Line": 0.5}]),
    ],
)
def test_a_group_is_as_faint_as_it_is_called(tmp_path, state, keys, expected):
    page = inked("")
    inner = f"/GS9 gs {rect(10, 10, 30, 25)} B"
    page.resources.ExtGState.GS9 = Dictionary(ca=1, CA=1)
    form = page.form(inner, bbox_mm=PAGE, group=group(CS=Name.DeviceCMYK, **keys))
    found = tints_at(page.raw(f"{state} /{form} Do"), tmp_path, (15, 15), (10.5, 15))
    assert found == [pytest.approx(each, abs=0.02) for each in expected]


def test_fonts_that_a_state_sets_are_used(tmp_path):
    page = inked("")
    embed_font(page)
    page.resources.ExtGState.Font = Dictionary(Font=Array([page.resources.Font.F0, 80]))
    del page.resources.Font["/F0"]
    page.raw(f"/Font gs BT {mm(10, 10)} Td (l) Tj ET")
    plates: Any = read(page, tmp_path).plates(100)
    tall = (plates.tint("Gold") > 128).any(1).sum() * plates.mm_per_px
    assert tall == pytest.approx(80 * 0.76 * 25.4 / 72, abs=0.5)  # an l is as tall as the ascent of the font


STEM = f"BT /F0 300 Tf {mm(0, 0)} Td (l) Tj ET"
"""An l of the font is from 0.094 to 0.184 em, 9.95 to 19.5 mm, and taller than the page."""
INSIDE, OUT_OF_IT = (14.7, 20), (8.5, 20)


@pytest.mark.parametrize(
    ("words", "inside", "beside"),
    [
        ("0 Tr", {"Gold": 1, "Line": 0.5}, {"Line": 0.5}),
        ("1 Tr", {"Line": 0.5}, LINE),
        ("2 Tr", {"Gold": 1, "Line": 0.5}, LINE),
        ("3 Tr", {"Line": 0.5}, {"Line": 0.5}),
        ("6 Tr", {"Gold": 1, "Line": 0.5}, LINE),
        ("7 Tr", {"Line": 0.5}, {"Line": 0.5}),
        ("/GS1 gs 0 Tr", {"Gold": 0.5, "Line": 0.5}, {"Line": 0.5}),
        ("/GS1 gs 1 Tr", {"Line": 0.5}, {"Line": 0.75}),
        ("/GS2 gs 0 Tr", GOLD, {"Line": 0.5}),  # knocks out where only strokes overprint
        ("/GS2 gs 2 Tr", GOLD, LINE),
        ("/GS2 gs 1 Tr", {"Line": 0.5}, LINE),
        ("0 0 0 1 k 0 Tr", {"Black": 1, "Line": 0.5}, {"Line": 0.5}),
        ("0 0 0 1 K 2 Tr", {"Gold": 1, "Line": 0.5}, {"Black": 1, "Line": 0.5}),
    ],
)
def test_type_is_filled_and_stroked_each_on_its_own_plate(tmp_path, words, inside, beside):
    page = inked(f"{GROUND} q {words} {STEM} Q")
    embed_font(page)
    found = tints_at(page, tmp_path, INSIDE, OUT_OF_IT)
    assert found == [pytest.approx(inside, abs=0.02), pytest.approx(beside, abs=0.02)]


@pytest.mark.parametrize(("mode", "expected"), [(1, 0.2), (2, 0.2), (5, 0.2)])
@pytest.mark.parametrize(("state", "share"), [("", 1), ("/GS1 gs", 0.5)])
def test_thin_outlines_of_type_have_the_ink_of_their_width(tmp_path, mode, expected, state, share):
    """Two sides of 0.1 mm, each 0.4 of a pixel."""
    page = inked(f"{state} q {mm(0.1)} w {mode} Tr {STEM} Q")
    if share != 1:
        page.resources.ExtGState.GS0 = Dictionary(OP=False, op=False)
    embed_font(page)
    assert across(page, tmp_path, 20) == pytest.approx(expected * share, abs=0.03)


def in_turn(first: str, second: str) -> Drawing:
    """Words of two inks in turn, set apart by every means that there is."""
    lines = [
        "BT /F0 12 Tf 3 Tc 5 Tw 80 Tz 14 TL 10 80 Td (g a) Tj", second, "(b) '", first, '1 2 (c d) "', second,
        "3 Ts [(e) -900 (f)] TJ", first, "T* 0 Ts (h) Tj", second, "(i) Tj ET",
    ]  # fmt: skip
    page = inked(" ".join(lines))
    embed_font(page)
    return page


def test_spaces_and_rises_stay_what_they_are_where_type_is_not_painted(tmp_path):
    """On two plates together there is what one plate has of it all."""
    gold, line = "/CS0 cs 1 scn", "/CS1 cs 1 scn"
    apart, once = (read(in_turn(gold, other), tmp_path).plates(100) for other in (line, gold))
    both = apart.tint("Gold").astype(int) + apart.tint("Line")
    assert apart.tint("Gold").any()
    assert apart.tint("Line").any()
    assert abs(both - once.tint("Gold").astype(int)).max() <= 8


def test_glyphs_may_paint_with_forms_and_pictures(tmp_path):
    """The lower half through a form in Line, the upper half a picture of it."""
    page = stencil_and_picture(inked(SQUARES))
    page.form("/CS1 cs 1 scn 0 0 10 5 re f", bbox_mm=(0, 0, 10, 10))
    type_3(page, "20 0 d0 /Fm2 Do q 10 0 0 10 0 0 cm 0 0.5 1 0.5 re W n /Picture Do Q")
    found = tints_at(page, tmp_path, (11, 10.8), (12.7, 10.8), (10.8, 13), (12.7, 13), (15, 11), (18, 10.8))
    assert found == [LINE, LINE, LINE, pytest.approx({"Line": 0.2}, abs=0.02), {}, LINE]

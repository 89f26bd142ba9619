"""What content streams leave: each numbered rule for wrong input, and every column of the table of objects."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.objects import ObjectTable, Painted
from preflight.artwork.page.page import Page
from preflight.artwork.read_artwork import read_artwork
from tests.drawn import MM, Drawing
from tests.plate_drawings import OFF, ON, device_n, embed_font, mm, rect, spot_space
from tests.plate_drawings_groups import tiling

WIDTH_MM, HEIGHT_MM = 100, 80


def sheet() -> Drawing:
    return Drawing(WIDTH_MM, HEIGHT_MM)


def page_of(drawing: Drawing, folder: Path) -> Page:
    return read_artwork(drawing.save(folder / "art.pdf")).pages[0]


def table_of(drawing: Drawing, folder: Path) -> ObjectTable:
    return page_of(drawing, folder).objects


def tints(table: ObjectTable, row: int) -> dict[str, float]:
    return dict(table.colours[table.colour[row]].tints)


# -- wrong input ------------------------------------------------------------------------------------------------------


def test_rule_1_a_restore_without_a_save_is_ignored(tmp_path):
    table = table_of(sheet().raw("0 0 0 1 k Q Q").raw(f"{rect(10, 10, 20, 20)} f"), tmp_path)
    assert table.box_mm[0] == pytest.approx((10, 10, 20, 20), abs=1e-3)
    assert tints(table, 0)["Black"] == 1


def test_rule_2_a_save_without_a_restore_ends_with_its_stream(tmp_path):
    drawing = sheet()
    form = drawing.form("q 0.1 0 0 0.1 0 0 cm q 1 0 0 0 k", bbox_mm=(0, 0, 50, 50))
    table = table_of(drawing.raw(f"0 0 0 1 k /{form} Do {rect(10, 10, 20, 20)} f"), tmp_path)
    assert table.box_mm[0] == pytest.approx((10, 10, 20, 20), abs=1e-3)
    assert tints(table, 0)["Black"] == 1


def test_rule_3_an_unknown_operator_drops_its_operands(tmp_path):
    table = table_of(sheet().raw(f"0 1 0 0 k 5 6 7 8 nonsense {rect(10, 10, 20, 20)} f 1 2 3 zz"), tmp_path)
    assert len(table) == 1
    assert table.box_mm[0] == pytest.approx((10, 10, 20, 20), abs=1e-3)


WRONG_OPERANDS = [
    *("0 0 k", "1 rg", "g", "0 0 1 cm", "w", "1 0 0 1 0 Tm", "1 Td", "(x) gs", "7 cs"),
    *("Tj", "5 Tj", "5 TJ", "Tf", "/F9 Do"),
]


@pytest.mark.parametrize("operator", WRONG_OPERANDS)
def test_rule_4_too_few_operands_or_of_the_wrong_kind_are_ignored(tmp_path, operator):
    square = f"{rect(10, 10, 20, 20)} f"
    table = table_of(sheet().raw(f"0 0.5 0 0 k 3 w BT {operator} ET {square}"), tmp_path)
    assert len(table) == 1
    assert table.box_mm[0] == pytest.approx((10, 10, 20, 20), abs=1e-3)
    assert tints(table, 0)["Magenta"] == 0.5


@pytest.mark.parametrize(
    "operator", ["/Nothing Do", "/Nothing sh", "/Pattern cs /Nothing scn", "/Nothing gs", "/Font Do"]
)
def test_rule_5_a_resource_that_is_missing_or_of_the_wrong_kind_is_not_painted(tmp_path, operator):
    drawing = sheet()
    drawing.resources.XObject.Font = Array([1, 2])
    page = page_of(drawing.raw(f"{operator} 0 g {rect(10, 10, 20, 20)} f"), tmp_path)
    assert page.objects.painted.tolist() == [Painted.FILL]
    assert page.plates(50).tint("Black").max() == 255


def test_rule_6_a_form_that_calls_itself_is_not_painted_and_its_box_is_uncertain(tmp_path):
    drawing = sheet()
    form = drawing.form(f"0 g {rect(10, 10, 20, 20)} f /Fm0 Do", bbox_mm=(0, 0, 50, 50))
    page = page_of(drawing.raw(f"/{form} Do"), tmp_path)
    assert len(page.objects) == 1
    (place,) = page.uncertain
    assert place.unread
    assert place.box_mm == pytest.approx((0, 0, 50, 50), abs=0.1)
    assert page.plates(50).ink.any()


def test_rule_7_a_path_that_is_never_painted_leaves_no_row(tmp_path):
    drawing = sheet().raw(f"{rect(10, 10, 20, 20)} n {rect(0, 0, 90, 70)} W n {mm(1, 1)} m {mm(5, 5)} l f S 0 g")
    assert table_of(drawing, tmp_path).painted.tolist() == [Painted.FILL]
    assert len(table_of(sheet().raw(rect(10, 10, 20, 20)), tmp_path)) == 0


# -- columns ----------------------------------------------------------------------------------------------------------


def test_what_was_painted_in_painting_order(tmp_path):
    drawing = sheet()
    drawing.resources.Shading.S = Dictionary(
        ShadingType=2, ColorSpace=Name.DeviceGray, Coords=[0, 0, 99, 99],
        Function=Dictionary(FunctionType=2, Domain=[0, 1], N=1),
    )  # fmt: skip
    stencil = Dictionary(Subtype=Name.Image, Width=1, Height=1, ImageMask=True)
    drawing.resources.XObject.Stencil = drawing.pdf.make_stream(b"\0", stencil)
    drawing.raw(f"{rect(1, 1, 5, 5)} f {rect(1, 1, 5, 5)} B {rect(1, 1, 5, 5)} S").text("x", (10, 10), 9)
    drawing.image(bytes(4), 1, 1, (20, 20, 30, 30)).raw("q 50 0 0 50 9 9 cm /Stencil Do Q /S sh")
    kinds = [Painted(kind).name for kind in table_of(drawing, tmp_path).painted]
    assert kinds == ["FILL", "FILL", "STROKE", "STROKE", "TEXT", "IMAGE", "IMAGE_MASK", "SHADING"]


@pytest.mark.parametrize(
    ("matrix", "width_mm", "drawn_mm"),
    [
        ("1 0 0 1 0 0", 0.25, 0.25),
        ("2 0 0 2 0 0", 0.25, 0.5),
        ("0 3 -3 0 200 0", 0.25, 0.75),
        ("0.1 0 0 4 0 0", 0.5, 0.05),  # the thinner of the two directions
        ("1 0 1 1 0 0", 1.0, 0.618),  # sheared: the smaller singular value, (sqrt(5) - 1) / 2
        ("-1 0 0 1 200 0", 0.1, 0.1),
        ("1 0 0 1 0 0", 0, 0),
    ],
)
def test_line_width_is_that_of_the_line_as_drawn(tmp_path, matrix, width_mm, drawn_mm):
    drawing = sheet().raw(f"q {matrix} cm {width_mm * MM} w {mm(5, 5)} m {mm(15, 5)} l S Q")
    table = table_of(drawing, tmp_path)
    assert table.line_width_mm[0] == pytest.approx(drawn_mm, abs=1e-3)
    assert not table.dashed[0]


def test_line_width_through_forms_and_user_unit(tmp_path):
    drawing = sheet()
    form = drawing.form(f"{0.2 * MM} w {mm(0, 0)} m {mm(9, 0)} l S", bbox_mm=(0, -5, 10, 5), matrix=(2, 0, 0, 2, 9, 9))
    drawing.raw(f"q 1.5 0 0 1.5 0 0 cm /{form} Do Q").page.obj.UserUnit = 2
    table = table_of(drawing, tmp_path)
    assert table.line_width_mm[0] == pytest.approx(0.2 * 2 * 1.5 * 2, abs=1e-3)


def test_the_box_of_a_stroke_has_the_width_of_the_line(tmp_path):
    drawing = sheet().stroke((0, 0, 0, 1), [(10, 20), (40, 20)], width_mm=2, close=False)
    assert table_of(drawing, tmp_path).box_mm[0] == pytest.approx((9, 19, 41, 21), abs=1e-3)


def test_dashes_and_what_is_none(tmp_path):
    drawing = sheet().gs(D=Array([Array([3, 2]), 0])).gs(D=Array([Array([]), 0])).gs(D=Array([Array([0, 0]), 0]))
    line = f"{mm(5, 5)} m {mm(15, 5)} l S"
    drawing.ops.clear()
    drawing.raw(f"[3 2] 0 d {line} [] 0 d {line} [0 4] 0 d {line} [0 0] 0 d {line} /GS0 gs {line} /GS1 gs {line}")
    drawing.raw(f"/GS0 gs /GS2 gs {line}")
    drawing.raw(f"[3] 0 d {rect(1, 1, 2, 2)} f")
    assert table_of(drawing, tmp_path).dashed.tolist() == [True, False, True, False, True, False, False, False]


@pytest.mark.parametrize(
    ("operators", "size_pt"),
    [
        ("/F0 12 Tf 1 0 0 1 50 50 Tm", 12),
        ("/F0 1 Tf 9 0 0 9 50 50 Tm", 9),
        ("/F0 10 Tf 0 0.5 -0.5 0 50 50 Tm", 5),
        ("/F0 10 Tf 50 Tz 1 0 0 1 50 50 Tm", 10),  # the height, not the width
        ("/F0 10 Tf 1 0 0.5 1 50 50 Tm", 11.18),
        ("/F0 -8 Tf 1 0 0 1 50 50 Tm", 8),
    ],
)
@pytest.mark.parametrize("scale", [1, 0.5])
def test_text_size_is_that_of_the_em_as_drawn(tmp_path, operators, size_pt, scale):
    drawing = sheet()
    embed_font(drawing)
    table = table_of(drawing.raw(f"q {scale} 0 0 {scale} 0 0 cm BT {operators} (Abc) Tj ET Q"), tmp_path)
    assert table.text_size_pt[0] == pytest.approx(size_pt * scale, abs=0.01)
    assert table.fonts[table.font[0]].embedded
    assert table.fonts[table.font[0]].name == "BitstreamVera"


def test_text_moves_on_and_its_box_holds_it(tmp_path):
    """Advance widths of Bitstream Vera: A 0.684, B 0.686 em."""
    drawing = sheet()
    embed_font(drawing)
    drawing.raw("BT /F0 10 Tf 1 0 0 1 72 72 Tm (A) Tj (B) Tj [(A) -1000 (B)] TJ 0 -20 Td (A) Tj ET")
    table = table_of(drawing, tmp_path)
    starts_pt = table.box_mm[:, 0] * MM
    assert starts_pt == pytest.approx([72, 78.84, 85.7, 72], abs=0.05)
    assert (table.box_mm[:, 2] - table.box_mm[:, 0]) * MM == pytest.approx([6.84, 6.86, 23.7, 6.84], abs=0.05)
    assert table.box_mm[3, 1] * MM == pytest.approx(table.box_mm[0, 1] * MM - 20, abs=0.05)


@pytest.mark.parametrize(
    ("mode", "visible", "rows"), [(0, True, 1), (1, True, 1), (2, True, 2), (3, False, 1), (7, False, 1)]
)
def test_render_modes(tmp_path, mode, visible, rows):
    drawing = sheet().raw(f"{mode} Tr").text("Abc", (20, 20), 12)
    table = table_of(drawing, tmp_path)
    assert table.visible.tolist() == [visible] * rows


@pytest.mark.parametrize(
    ("matrix_mm", "ppi"),
    [
        ((25.4, 0, 0, 25.4, 10, 10), 300),
        ((25.4, 0, 0, 50.8, 10, 10), 150),
        ((0, 12.7, -25.4, 0, 60, 10), 300),
        ((20.32, 15.24, -15.24, 20.32, 40, 10), 300),  # turned, sides of 25.4 mm
    ],
)
def test_resolution_is_that_of_the_image_as_placed(tmp_path, matrix_mm, ppi):
    drawing = sheet().image(bytes(300 * 300), 300, 300, (0, 0, 1, 1), space=Name.DeviceGray)
    drawing.ops.pop()
    table = table_of(drawing.raw(f"q {mm(*matrix_mm)} cm /Im0 Do Q"), tmp_path)
    assert table.ppi[0] == pytest.approx(ppi, abs=0.1)
    facts = table.images[table.image[0]]
    assert (facts.width_px, facts.height_px, facts.bits, facts.is_mask) == (300, 300, 8, False)


def test_other_rows_have_no_width_size_or_resolution(tmp_path):
    table = table_of(sheet().fill((0, 0, 0, 1), rect=(1, 1, 9, 9)), tmp_path)
    assert (table.line_width_mm[0], table.text_size_pt[0], table.ppi[0]) == (0, 0, 0)
    assert (table.font[0], table.image[0], table.layer[0]) == (-1, -1, -1)


def test_overprint_flags_of_fills_and_strokes(tmp_path):
    drawing = sheet()
    states: list[dict[str, object]] = [OFF, ON, {"OP": True, "op": False}, {"OP": False, "op": True, "OPM": 0}]
    for state in states:
        drawing.gs(**state).raw(f"{rect(1, 1, 9, 9)} B")
    drawing.gs(**OFF).gs(OP=True).raw(f"{rect(1, 1, 9, 9)} B")
    table = table_of(drawing, tmp_path)
    assert table.overprint.tolist() == [False, False, True, True, False, True, True, False, True, True]
    assert table.opm.tolist()[:8] == [0, 0, 1, 1, 1, 1, 0, 0]


def test_overprint_set_in_a_form_stays_there_and_what_calls_it_reaches_in(tmp_path):
    drawing = sheet().gs(**ON)
    drawing.ops.clear()
    sets = drawing.form(f"/GS0 gs {rect(1, 1, 9, 9)} f", bbox_mm=(0, 0, 10, 10))
    takes = drawing.form(f"{rect(1, 1, 9, 9)} f", bbox_mm=(0, 0, 10, 10))
    table = table_of(drawing.raw(f"/{sets} Do {rect(1, 1, 9, 9)} f /GS0 gs /{takes} Do"), tmp_path)
    assert table.overprint.tolist() == [True, False, True]


def test_alpha_of_fills_and_strokes(tmp_path):
    table = table_of(sheet().gs(ca=0.25, CA=0.75).raw(f"{rect(1, 1, 9, 9)} B"), tmp_path)
    assert table.alpha.tolist() == [0.25, 0.75]


def test_layers_and_whether_they_print(tmp_path):
    drawing = sheet()
    drawing.layer("shown").fill((0, 0, 0, 1), rect=(1, 1, 9, 9)).end_layer()
    drawing.layer("hidden", on=False).fill((0, 0, 0, 1), rect=(1, 1, 9, 9))
    drawing.raw("/Span BMC").fill((0, 0, 0, 1), rect=(1, 1, 9, 9)).end_layer().end_layer()
    drawing.fill((0, 0, 0, 1), rect=(1, 1, 9, 9))
    page = page_of(drawing, tmp_path)
    assert [page.layers[i].name if i >= 0 else "" for i in page.objects.layer] == ["shown", "hidden", "hidden", ""]
    assert page.objects.visible.tolist() == [True, False, False, True]


@pytest.mark.parametrize(
    ("clip", "box", "shown"),
    [
        ("", (10, 10, 20, 20), (10, 10, 20, 20)),
        (f"{rect(15, 0, 90, 70)} W n", (10, 10, 20, 20), (15, 10, 20, 20)),
        (f"{rect(50, 50, 60, 60)} W n", (10, 10, 20, 20), None),
        (f"{rect(15, 0, 90, 70)} W n {rect(0, 15, 90, 70)} W* n", (10, 10, 20, 20), (15, 15, 20, 20)),
        ("", (90, 70, 120, 100), (90, 70, 100, 80)),
        ("", (110, 90, 120, 100), None),
        ("0 0 m W n", (10, 10, 20, 20), None),
    ],
)
def test_clip_and_page_decide_what_shows(tmp_path, clip, box, shown):
    table = table_of(sheet().raw(f"q {clip} {rect(*box)} f Q"), tmp_path)
    assert table.box_mm[0] == pytest.approx(box, abs=1e-3)
    assert table.visible[0] == (shown is not None)
    assert table.shown_mm[0] == pytest.approx(shown or (0, 0, 0, 0), abs=1e-3)


def test_the_box_of_a_form_clips_too(tmp_path):
    drawing = sheet()
    form = drawing.form(f"{rect(0, 0, 50, 50)} f", bbox_mm=(5, 5, 10, 10))
    table = table_of(drawing.raw(f"q 2 0 0 2 0 0 cm /{form} Do Q"), tmp_path)
    assert table.shown_mm[0] == pytest.approx((10, 10, 20, 20), abs=1e-3)


SPACINGS = ["0 Tc|20 Tc", "0 Tw|20 Tw", "10 TL|30 TL", "0 Ts|20 Ts", "100 Tz|50 Tz"]


@pytest.mark.parametrize("spacings", SPACINGS)
@pytest.mark.parametrize("order", [1, -1])
def test_a_form_sets_its_text_with_the_spacing_of_each_call(tmp_path, spacings, order):
    def boxes(folder: str, *calls: str) -> list[tuple[float, ...]]:
        drawing = sheet().text("x", (1, 1), 5)
        form = drawing.form("BT /F0 10 Tf 30 90 Td (a b) Tj T* (a b) Tj ET", bbox_mm=(0, 0, WIDTH_MM, HEIGHT_MM))
        for spacing in calls:
            drawing.raw(f"{spacing} /{form} Do")
        (tmp_path / folder).mkdir()
        return [tuple(box) for box in table_of(drawing, tmp_path / folder).box_mm[1:].tolist()]

    first, second = spacings.split("|")[::order]
    alone, other = boxes("first", first), boxes("second", second)
    assert alone != other
    assert boxes("both", first, second) == [*alone, *other]


def test_places_are_of_the_page_as_displayed(tmp_path):
    drawing = sheet().fill((0, 0, 0, 1), rect=(10, 20, 30, 25))
    drawing.page.obj.Rotate = 90
    assert table_of(drawing, tmp_path).box_mm[0] == pytest.approx((20, 70, 25, 90), abs=1e-3)


# -- colours ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("operators", "space", "expected"),
    [
        ("0.1 0.2 0.3 0.4 k", "DeviceCMYK", {"Cyan": 0.1, "Magenta": 0.2, "Yellow": 0.3, "Black": 0.4}),
        ("0.25 g", "DeviceGray", {"Black": 0.75}),
        ("/Spot cs 0.7 scn", "Separation", {"Gold": 0.7}),
        ("/Two cs 0.5 1 scn", "DeviceN", {"Cyan": 0.5, "Line": 1}),
        ("/Spot cs", "Separation", {"Gold": 1}),
        ("/Pattern cs /Cell scn", "Pattern", {"Gold": 0.7, "Cyan": 0, "Magenta": 1, "Yellow": 0, "Black": 0}),
    ],
)
def test_colours_and_their_tints(tmp_path, operators, space, expected):
    drawing = sheet()
    drawing.resources.ColorSpace.Spot = spot_space(drawing, "Gold")
    device_n(drawing, "Two", ["Cyan", "Line"])
    tiling(drawing, "Cell", "/Spot cs 0.7 scn 0 0 5 5 re f 0 1 0 0 k 5 5 5 5 re f")
    table = table_of(drawing.raw(f"{operators} {rect(1, 1, 9, 9)} f"), tmp_path)
    colour = table.colours[table.colour[0]]
    assert colour.space == space
    assert dict(colour.tints) == pytest.approx(expected)
    assert colour.direct_cmyk == (space == "DeviceCMYK")
    assert not colour.registration
    assert not colour.not_a_plate


def test_registration_colour_is_in_no_separation_of_its_own(tmp_path):
    table = table_of(sheet().fill("All", 1, rect=(1, 1, 9, 9)).fill("Gold", 1, rect=(1, 1, 9, 9)), tmp_path)
    assert [table.colours[i].registration for i in table.colour] == [True, False]
    assert table.in_separation("Gold").tolist() == [False, True]


def test_images_name_every_plate_that_they_can_put_ink_on(tmp_path):
    drawing = sheet()
    drawing.image(bytes([9, 9]), 1, 1, (1, 1, 9, 9), space=device_n(drawing, "Two", ["Cyan", "Gold"]))
    table = table_of(drawing, tmp_path)
    colour = table.colours[table.colour[0]]
    assert colour.varies
    assert {name for name, _ in colour.tints} == {"Cyan", "Gold"}


# -- outlines ---------------------------------------------------------------------------------------------------------


def test_outlines_in_millimetres_closed_and_open(tmp_path):
    drawing = sheet().raw(f"q 2 0 0 2 0 0 cm {rect(5, 5, 10, 8)} f {mm(1, 1)} m {mm(4, 1)} l {mm(4, 3)} l S")
    drawing.raw(f"{mm(20, 20)} m {mm(30, 20)} l {mm(30, 30)} l h {mm(1, 1)} m {mm(2, 2)} l S Q").text("x", (50, 50), 9)
    paths = table_of(drawing, tmp_path).paths(np.arange(4))
    assert [len(of_row) for of_row in paths] == [1, 1, 2, 0]
    assert paths[0][0] == pytest.approx(np.array([(10, 10), (20, 10), (20, 16), (10, 16), (10, 10)]), abs=1e-3)
    assert paths[1][0] == pytest.approx(np.array([(2, 2), (8, 2), (8, 6)]), abs=1e-3)
    assert paths[2][0][0] == pytest.approx(paths[2][0][-1])


def test_outlines_of_curves_stay_within_two_hundredths(tmp_path):
    """A circle of 30 mm in four Bezier curves, themselves true to 0.03 % of the radius."""
    k, r, c = 0.5523, 30.0, 40.0
    quarter = np.array([(r, k * r), (k * r, r), (0, r)])
    turns = [
        np.array([(1, 0), (0, 1)]),
        np.array([(0, 1), (-1, 0)]),
        np.array([(-1, 0), (0, -1)]),
        np.array([(0, -1), (1, 0)]),
    ]
    curves = " ".join(mm(*(quarter @ turn + c).ravel()) + " c" for turn in turns)
    (outline,) = table_of(sheet().raw(f"{mm(c + r, c)} m {curves} f"), tmp_path).paths(np.array([0]))[0]
    middles = (outline[1:] + outline[:-1]) / 2
    for points in (outline, middles):
        assert np.hypot(*(points - c).T) == pytest.approx(r, abs=0.03)


def test_a_path_begins_at_its_own_operators(tmp_path):
    """Colours, states and matrices between two paths are no part of the second."""
    drawing = sheet().raw(f"{rect(1, 1, 2, 2)} f 0 0 1 0 k q 2 0 0 2 0 0 cm {rect(5, 5, 6, 6)} f Q")
    assert [len(of_row) for of_row in table_of(drawing, tmp_path).paths(np.array([0, 1]))] == [1, 1]

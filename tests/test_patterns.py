"""Type, strokes and large cells in patterns: tints worked out by hand, and ink that has to be that of plain colours."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.geometry import IDENTITY
from preflight.artwork.page.page import Page
from preflight.artwork.platemaking.tilings import Lattice, lattice, paintable
from preflight.artwork.read_artwork import read_artwork
from tests.drawn import MM, Drawing
from tests.plate_drawings import HEIGHT_MM, PAGE, WIDTH_MM, embed_font, group, mm, rect
from tests.plate_drawings_patterns import (
    WORDS,
    axial,
    checks,
    in_checks,
    lines_of_type,
    masked,
    plain_glyphs,
    stencil,
)

Tints = Mapping[str, float]
SHEET_MM = (1020.0, 720.0)
LEVEL = 0.012


def page_of(
    tmp_path: Path, draw: Callable[[Drawing], object], size_mm: tuple[float, float] = (WIDTH_MM, HEIGHT_MM)
) -> Page:
    drawing = Drawing(*size_mm)
    embed_font(drawing)
    draw(drawing)
    return read_artwork(drawing.save(tmp_path / f"{draw.__name__}.pdf")).pages[0]


def tints_at(page: Page, place: tuple[float, float], dpi: float, *, window: bool = False) -> dict[str, float]:
    """Tints at a place in mm, of the whole page or of a window of 6 mm round it."""
    x, y = place
    box = (x - 3, y - 3, x + 3, y + 3) if window else (0.0, 0.0, page.width_mm, page.height_mm)
    plates = page.window(box, dpi) if window else page.plates(dpi)
    found = {}
    for name in plates.names:
        plate = plates.tint(name)
        column, row = int((x - box[0]) / plates.mm_per_px), int((box[3] - y) / plates.mm_per_px)
        if (tint := float(plate[row, column]) / 255) > LEVEL:
            found[name] = tint
    return found


# -- large cells -------------------------------------------------------------------------------------------------------


def halves(wide_pt: float, tall_pt: float) -> str:
    """Half cyan on the left, solid magenta on the right."""
    left = f"0.5 0 0 0 k 0 0 {wide_pt / 2} {tall_pt} re f"
    return f"{left} 0 1 0 0 k {wide_pt / 2} 0 {wide_pt / 2} {tall_pt} re f"


def one_cell_on_a_small_page(page: Drawing) -> None:
    """900 x 600 pt, 317.5 x 211.7 mm: the right half begins at 158.75 mm."""
    checks(page, "Big", halves(900, 600), box=(0, 0, 900, 600), steps=(10000, 10000))
    page.raw(f"/Pattern cs /Big scn {rect(10, 10, 290, 190)} f")


def one_cell_on_a_sheet(page: Drawing) -> None:
    """2000 x 1500 pt, 705.6 x 529.2 mm: the right half begins at 352.8 mm, and there is nothing from 705.6 mm on."""
    checks(page, "Big", halves(2000, 1500), box=(0, 0, 2000, 1500), steps=(4000, 4000))
    page.raw(f"/Pattern cs /Big scn {rect(10, 10, 1010, 710)} f")


def cells_side_by_side_on_a_sheet(page: Drawing) -> None:
    """370 x 645 pt, 130.5 mm wide: cyan to 65.3 mm, magenta to 130.5 mm, cyan to 195.8 mm."""
    checks(page, "Big", halves(370, 645), box=(0, 0, 370, 645), steps=(370, 645))
    page.raw(f"/Pattern cs /Big scn {rect(10, 10, 1010, 710)} f")


def one_cell_as_a_stroke(page: Drawing) -> None:
    """As on the sheet; the line is 40 mm wide and runs up at 100 and 600 mm and across at 100 mm."""
    checks(page, "Big", halves(2000, 1500), box=(0, 0, 2000, 1500), steps=(4000, -4000))
    page.raw(f"/Pattern CS /Big SCN {mm(40)} w {rect(100, 100, 600, 500)} S")


HALF_CYAN, MAGENTA = {"Cyan": 0.5}, {"Magenta": 1.0}
LARGE = [
    (one_cell_on_a_small_page, (300.0, 200.0), {(100, 100): HALF_CYAN, (200, 100): MAGENTA, (295, 100): {}}),
    (one_cell_on_a_sheet, SHEET_MM, {(300, 100): HALF_CYAN, (400, 500): MAGENTA, (800, 100): {}, (300, 600): {}}),
    (cells_side_by_side_on_a_sheet, SHEET_MM, {(50, 600): HALF_CYAN, (100, 300): MAGENTA, (160, 100): HALF_CYAN}),
    (one_cell_as_a_stroke, SHEET_MM, {(100, 300): HALF_CYAN, (600, 300): MAGENTA, (300, 100): HALF_CYAN,
     (300, 300): {}}),
]  # fmt: skip


@pytest.mark.parametrize(("draw", "size_mm", "expected"), LARGE)
def test_large_cells_are_painted_at_every_resolution(tmp_path, draw, size_mm, expected):
    page = page_of(tmp_path, draw, size_mm)
    for place, tints in expected.items():
        for dpi, window in ((72, False), (400, True), (1200, True)):
            assert tints_at(page, place, dpi, window=window) == pytest.approx(tints, abs=LEVEL), (place, dpi)


def test_a_stroke_in_cells_has_no_gaps(tmp_path):
    """Every pixel along the middle of the line has the tint of its half."""
    page = page_of(tmp_path, one_cell_as_a_stroke, SHEET_MM)
    plates = page.plates(72)
    row, to_px = int((SHEET_MM[1] - 100) / plates.mm_per_px), 1 / plates.mm_per_px
    assert plates.tint("Cyan")[row, int(90 * to_px) : int(350 * to_px)].min() >= 126
    assert plates.tint("Magenta")[row, int(355 * to_px) : int(618 * to_px)].min() >= 253


def test_a_stroke_that_is_too_large_for_one_cell_is_cut_into_windows(tmp_path):
    """1,600 x 1,200 mm has 4.3 billion pixels at 1,200 dpi; the windows meet in the middle, at 800 mm."""

    def draw(page: Drawing) -> None:
        checks(page, "Big", "0.5 0 0 0 k 0 0 4500 3400 re f", box=(0, 0, 4500, 3400), steps=(9000, 9000))
        page.raw(f"/Pattern CS /Big SCN {mm(40)} w {mm(100, 600)} m {mm(1500, 600)} l S")

    page = page_of(tmp_path, draw, (1600, 1200))
    cyan = page.window((795, 595, 805, 605), 1200).tint("Cyan")
    assert cyan.mean() / 255 == pytest.approx(0.5, abs=0.004)


def test_cells_go_with_a_form_that_is_turned(tmp_path):
    """Six cells of 20 x 20 pt in the form, each with 10 x 20 pt of solid cyan, whichever way it is placed."""

    def draw(page: Drawing) -> None:
        checks(page, "Ch", "1 0 0 0 k 0 0 10 20 re f", box=(0, 0, 20, 20), steps=(20, 20))
        form = page.form("/Pattern cs /Ch scn 0 0 60 40 re f", bbox_mm=(0, 0, 60 / MM, 40 / MM))
        for at in range(24):
            turn = at * np.pi / 12
            c, s = np.cos(turn), np.sin(turn)
            page.raw(f"q {c:.6f} {s:.6f} {-s:.6f} {c:.6f} {mm(20 + at % 6 * 50, 30 + at // 6 * 50)} cm /{form} Do Q")

    page = page_of(tmp_path, draw, (300, 200))
    inked = page.plates(150).tint("Cyan").mean() / 255 * 300 * 200 * MM * MM
    # Those at the left and at the bottom are turned off the sheet in part; a third of a square millimetre is allowed.
    whole = page.window((60, 70, 300, 200), 150)
    assert inked <= 24 * 1200 * 1.005
    for column in range(1, 5):
        for row in range(1, 3):
            x, y = 20 + column * 50, 30 + row * 50
            own = page.window((x - 26, y - 26, x + 26, y + 26), 150).tint("Cyan").mean() / 255 * (52 * MM) ** 2
            assert own == pytest.approx(1200, rel=0.01)
    assert whole.tint("Cyan").any()


def test_many_large_cells_over_each_other_are_not_painted_as_nothing(tmp_path):
    def draw(page: Drawing) -> None:
        checks(page, "Over", "0.5 0 0 0 k 0 0 9000 5 re f", box=(0, 0, 9000, 9000), steps=(5, 5))
        page.raw(f"/Pattern cs /Over scn {rect(1, 1, 300, 190)} f")

    (place,) = page_of(tmp_path, draw, (310, 200)).plates(100).uncertain
    assert "large cells that lie over each other" in place.because
    assert place.box_mm == pytest.approx((1, 1, 300, 190), abs=0.1)


def test_two_to_the_31_pixels_are_too_many_for_one_cell():
    """A square of 1,150 mm at 1,000 dpi is 45,276 pixels wide, 2.05 billion in all; one of 1,200 mm 47,244."""
    assert paintable((0, 0, 1130, 1130), IDENTITY, 0.0254)
    assert not paintable((0, 0, 1200, 1200), IDENTITY, 0.0254)
    assert not paintable((0, 0, 1130, 1130), IDENTITY, 0.0)  # any resolution


def test_only_cells_in_sight_are_drawn():
    """Cells of 10, 25 apart, seen from 30 to 80: those at 25, 50 and 75."""
    found = lattice((0, 0, 10, 10), -25, 25, IDENTITY)
    assert found is not None
    cells = found.in_sight((30, 30, 80, 34))
    assert (list(cells.columns), list(cells.rows)) == ([1, 2, 3], [1])
    assert found.in_sight((12, 12, 20, 20)).many == 0
    assert lattice((0, 0, 10, 10), 0, 25, IDENTITY) is None
    flat = Lattice((0, 0, 10, 10), 25, 25, (1, 1, 1, 1, 0, 0))
    assert flat.in_sight((0, 0, 100, 100)).many == 0


# -- type --------------------------------------------------------------------------------------------------------------


def ink(tmp_path: Path, colours: str, mode: int, size: float, dpi: float, alpha: float = 1.0) -> dict[str, float]:
    def draw(page: Drawing) -> None:
        axial(page, "Even", (0.8, 0.4, 0, 0), (0.8, 0.4, 0, 0))
        checks(page, "Solid", "0.8 0.4 0 0 k 0 0 100 100 re f", box=(0, 0, 100, 100), steps=(100, 100))
        page.gs(ca=alpha, CA=alpha).raw(colours)
        lines_of_type(page, mode, size, stroke_pt=size / 40)

    plates = page_of(tmp_path, draw).plates(dpi)
    return {name: float(plates.tint(name).mean()) / 255 for name in plates.names}


@pytest.mark.parametrize("dpi", [100, 300])
@pytest.mark.parametrize("size", [7, 24])
@pytest.mark.parametrize("mode", [0, 1, 2, 4, 5, 6])
@pytest.mark.parametrize("key", ["Even", "Solid"])
def test_type_in_a_pattern_of_one_colour_has_the_ink_of_that_colour(tmp_path, key, mode, size, dpi):
    plain = ink(tmp_path, "0.8 0.4 0 0 k 0.8 0.4 0 0 K", mode, size, dpi)
    pattern = ink(tmp_path, f"/Pattern cs /{key} scn /Pattern CS /{key} SCN", mode, size, dpi)
    assert pattern.get("Black", 0) < 0.00002  # 9 pixels in a million are the seams of an outline at most
    for name in ("Cyan", "Magenta"):
        assert pattern[name] == pytest.approx(plain[name], rel=0.02)


@pytest.mark.parametrize("mode", [0, 1])
@pytest.mark.parametrize("key", ["Even", "Solid"])
def test_type_in_a_pattern_at_a_half_has_half_its_ink(tmp_path, key, mode):
    colours = f"/Pattern cs /{key} scn /Pattern CS /{key} SCN"
    whole, half = (ink(tmp_path, colours, mode, 24, 150, alpha)["Cyan"] for alpha in (1.0, 0.5))
    assert half == pytest.approx(whole / 2, rel=0.02)


def test_a_pattern_for_strokes_does_not_outline_what_is_only_filled(tmp_path):
    plain = ink(tmp_path, "0.8 0.4 0 0 k", 0, 7, 150)
    assert ink(tmp_path, "0.8 0.4 0 0 k /Pattern CS /Even SCN", 0, 7, 150)["Cyan"] == pytest.approx(
        plain["Cyan"], rel=0.01
    )


# -- by clause ---------------------------------------------------------------------------------------------------------


def a_path_that_clips_and_is_filled_with_cells(page: Drawing) -> None:
    """8.5.4: the clip begins behind the path; both referees let the cells take it."""
    in_checks(page)
    page.raw(f"q {rect(5, 5, 30, 30)} W f").fill((0, 0, 0, 0.6), rect=(20, 0, 50, 38)).raw("Q")


def type_through_a_mask(page: Drawing) -> None:
    """11.6.5.2: two thirds on the left, one on the right; Ghostscript masks once more."""
    masked(page)
    axial(page, "Even", (0.9, 0, 0, 0), (0.9, 0, 0, 0))
    page.raw(f"/Pattern cs /Even scn BT /F0 200 Tf 0 Tr 1 0 0 1 {mm(2, -2)} Tm (H) Tj ET")


def faint_cells_through_a_mask(page: Drawing) -> None:
    masked(page)
    checks(page, "Solid", "0.9 0 0 0 k 0 0 50 50 re f", box=(0, 0, 50, 50), steps=(50, 50))
    page.gs(ca=0.5).raw(f"/Pattern cs /Solid scn {rect(2, 2, 48, 36)} f")


def faint_cells_in_a_group_that_knocks_out(page: Drawing) -> None:
    """11.4.6.2: what is later shows alone."""
    page.resources.ExtGState.Half = Dictionary(ca=0.5)
    checks(page, "Solid", "0 0.8 0 0 k 0 0 50 50 re f", box=(0, 0, 50, 50), steps=(50, 50))
    inner = f"/Half gs /Pattern cs /Solid scn {rect(5, 5, 28, 28)} f 0 1 0 0 k {rect(15, 15, 45, 35)} f"
    form = page.form(inner, bbox_mm=PAGE, group=group(CS=Name.DeviceCMYK, K=True, I=True))
    page.raw(f"/{form} Do")


def cells_in_a_faint_group(page: Drawing) -> None:
    """11.6.6: at one, a half and a fifth, all halved by a group that is not isolated and in which one blends."""
    page.resources.ExtGState.Half = Dictionary(ca=0.5)
    page.resources.ExtGState.Fifth = Dictionary(ca=0.2)
    page.resources.ExtGState.Mult = Dictionary(BM=Name.Multiply)
    checks(page, "Solid", "0 0.8 0 0 k 0 0 50 50 re f", box=(0, 0, 50, 50), steps=(50, 50))
    parts = [
        f"/Pattern cs /Solid scn {rect(2, 2, 14, 36)} f",
        f"/Half gs {rect(18, 2, 30, 36)} f",
        f"/Fifth gs {rect(34, 2, 48, 36)} f",
        f"/Mult gs 0 0 0 0.5 k {rect(2, 37, 48, 39)} f",
    ]
    form = page.form(" ".join(parts), bbox_mm=PAGE, group=group(CS=Name.DeviceCMYK))
    page.raw(f"/Half gs /{form} Do")


def coloured_glyphs_in_a_faint_group(page: Drawing) -> None:
    """Boxes of 6 mm that a font paints in cyan, at one and at a half, all of them halved by the group."""
    plain_glyphs(page)
    page.resources.Font.T3.CharProcs.a = page.pdf.make_stream(b"1000 0 d0 0.8 0 0 0 k 0 0 600 600 re f")
    page.resources.ExtGState.Half = Dictionary(ca=0.5)
    page.resources.ExtGState.Mult = Dictionary(BM=Name.Multiply)
    shown = [f"BT /T3 {10 * MM} Tf {mm(x, 10)} Td (A) Tj ET" for x in (5, 25)]
    inner = f"q /Mult gs 0 0 0 0.4 k {rect(2, 30, 48, 36)} f Q {shown[0]} /Half gs {shown[1]}"
    page.raw(f"/Half gs /{page.form(inner, bbox_mm=PAGE, group=group(CS=Name.DeviceCMYK))} Do")


def a_stencil_through_a_mask(page: Drawing) -> None:
    masked(page)
    checks(page, "Solid", "0.9 0 0 0 k 0 0 50 50 re f", box=(0, 0, 50, 50), steps=(50, 50))
    page.raw("/Pattern cs /Solid scn " + stencil(page, (3, 3, 48, 36)))


def glyphs_through_a_mask(page: Drawing) -> None:
    masked(page)
    plain_glyphs(page)
    axial(page, "Even", (0.9, 0, 0, 0), (0.9, 0, 0, 0))
    page.raw(f"/Pattern cs /Even scn BT /T3 60 Tf 1 0 0 1 {mm(2, 5)} Tm (AA) Tj ET")


CLAUSES = [
    # Cells 8 pt cyan, 8 pt magenta: 2.82 mm each, so cyan to 2.8, magenta to 5.6, cyan to 8.5.
    (a_path_that_clips_and_is_filled_with_cells, {(7, 20): {"Cyan": 0.8}, (10, 20): {"Magenta": 0.9, "Yellow": 0.2},
     (25, 20): {"Black": 0.6}, (40, 20): {}, (25, 3): {}}),
    (type_through_a_mask, {(11.4, 30): {"Cyan": 0.6}, (46.5, 30): {"Cyan": 0.3}, (30, 37.5): {}}),
    (faint_cells_through_a_mask, {(10, 20): {"Cyan": 0.3}, (40, 20): {"Cyan": 0.15}, (1, 20): {}}),
    (faint_cells_in_a_group_that_knocks_out, {(10, 10): {"Magenta": 0.4}, (20, 20): {"Magenta": 0.5}, (2, 2): {}}),
    (cells_in_a_faint_group, {(8, 20): {"Magenta": 0.4}, (24, 20): {"Magenta": 0.2}, (40, 20): {"Magenta": 0.08},
     (16, 20): {}, (40, 38): {"Black": 0.05}}),
    (coloured_glyphs_in_a_faint_group, {(8, 13): {"Cyan": 0.4}, (28, 13): {"Cyan": 0.2}, (18, 13): {},
     (20, 33): {"Black": 0.2}}),
    (a_stencil_through_a_mask, {(8, 8): {"Cyan": 0.6}, (24, 20): {"Cyan": 0.6}, (8, 20): {}, (45, 8): {"Cyan": 0.3}}),
    (glyphs_through_a_mask, {(5, 8): {"Cyan": 0.6}, (28, 8): {"Cyan": 0.3}, (18, 8): {}}),
]  # fmt: skip


@pytest.mark.parametrize(("draw", "expected"), CLAUSES)
def test_tints_are_what_the_standard_says(tmp_path, draw, expected):
    page = page_of(tmp_path, draw)
    for dpi in (100, 300):
        for place, tints in expected.items():
            assert tints_at(page, place, dpi) == pytest.approx(tints, abs=LEVEL), place


# -- what cannot be drawn truly ----------------------------------------------------------------------------------------


def a_faint_stroke_of_cells_through_a_mask(page: Drawing) -> None:
    masked(page)
    in_checks(page)
    page.gs(CA=0.5).raw(f"10 w {rect(10, 10, 40, 30)} S")


def strokes_of_two_widths(page: Drawing) -> None:
    in_checks(page)
    page.raw(f"2 0 0 1 0 0 cm BT /F0 24 Tf 1 Tr 1 0 0 1 {mm(1, 10)} Tm {WORDS} Tj ET")


def glyphs_of_both_sorts(page: Drawing) -> None:
    plain_glyphs(page)
    page.resources.Font.T3.CharProcs.b = page.pdf.make_stream(b"1000 0 d0 0 0 1 0 k 0 0 600 900 re f")
    page.resources.Font.T3.Encoding.Differences = Array([65, Name.a, Name.b])
    page.resources.Font.T3.LastChar, page.resources.Font.T3.Widths = 66, Array([1000, 1000])
    in_checks(page)
    page.raw(f"BT /T3 24 Tf {mm(5, 5)} Td (AB) Tj ET")


def faint_cells_that_multiply(page: Drawing) -> None:
    resources = Dictionary(ExtGState=Dictionary(M=Dictionary(BM=Name.Multiply)))
    checks(page, "Mult", "/M gs 0.8 0 0 0 k 0 0 16 12 re f", resources=resources)
    page.gs(ca=0.5).raw(f"/Pattern cs /Mult scn {rect(5, 5, 45, 30)} f")


def filled_and_stroked_with_a_pattern_that_multiplies(page: Drawing) -> None:
    """11.7.4.4: the stroke would multiply with what lies below both."""
    page.fill((0.5, 0, 0, 0), rect=PAGE)
    in_checks(page)
    page.gs(BM=Name.Multiply).raw(f"0 0 0.5 0 k 6 w BT /F0 30 Tf 2 Tr 1 0 0 1 {mm(1, 10)} Tm {WORDS} Tj ET")


@pytest.mark.parametrize(
    "draw",
    [
        a_faint_stroke_of_cells_through_a_mask,
        strokes_of_two_widths,
        glyphs_of_both_sorts,
        faint_cells_that_multiply,
        filled_and_stroked_with_a_pattern_that_multiplies,
    ],
)
def test_where_something_cannot_be_drawn_truly_the_page_is_uncertain(tmp_path, draw):
    assert page_of(tmp_path, draw).plates(100).uncertain

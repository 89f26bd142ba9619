"""Drawings that both the plates and a referee are made of: type, strokes, stencils and forms in patterns.

Cells are a whole number of the referee's pixels, because it rounds the steps of a tiling.
"""

from __future__ import annotations

from collections.abc import Sequence

from pikepdf import Array, Dictionary, Name, Object

from tests.drawn import MM, Drawing
from tests.plate_drawings import OFF, ON, PAGE, WIDTH_MM, drawing, group, mm, rect, spot_space
from tests.plate_drawings_groups import tiling

WORDS = "(Wgax Mjy AvHQ)"
CHECKS = "0.8 0 0 0 k 0 0 8 12 re f 0 0.9 0.2 0 k 8 0 8 12 re f"
"""Two bars without white between them, 16 x 12 pt."""


def axial(
    page: Drawing, key: str, first: Sequence[float], last: Sequence[float], space: Object = Name.DeviceCMYK
) -> None:
    """A gradient from the left of the page to the right, as a pattern."""
    function = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=list(first), C1=list(last))
    look = Dictionary(
        ShadingType=2, ColorSpace=space, Coords=[0, 0, WIDTH_MM * MM, 0], Function=function, Extend=Array([True, True]),
    )  # fmt: skip
    pattern = Dictionary(Type=Name.Pattern, PatternType=2, Shading=look)
    page.resources.Pattern[Name("/" + key)] = page.pdf.make_indirect(pattern)


def checks(page: Drawing, key: str, cell: str = CHECKS, *, box: Sequence[float] = (0, 0, 16, 12),
           steps: tuple[float, float] = (16, 12), matrix: Sequence[float] = (1, 0, 0, 1, 0, 0), paint: int = 1,
           resources: Object | None = None) -> None:  # fmt: skip
    """A tiling; without ``resources`` its cell has none: Ghostscript takes opacities twice where it sees some."""
    page.resources.Pattern[Name("/" + key)] = page.pdf.make_stream(
        cell.encode(), Type=Name.Pattern, PatternType=1, PaintType=paint, TilingType=1, BBox=list(box),
        XStep=steps[0], YStep=steps[1], Matrix=list(matrix), Resources=resources or Dictionary(),
    )  # fmt: skip


def lines_of_type(page: Drawing, mode: int, size: float, *, stroke_pt: float = 0.5, low: float = 1.0) -> None:
    """The page full of type, under the colours in force."""
    leading = size / MM * 1.1
    y = 37 - leading
    page.raw(f"{stroke_pt} w")
    while y > low:
        page.raw(f"BT /F0 {size:g} Tf {mode} Tr 1 0 0 1 {mm(1, y)} Tm {WORDS} Tj ET")
        y -= leading


def in_gradient(page: Drawing) -> None:
    axial(page, "Sh", (0.9, 0.2, 0, 0), (0, 1, 0.6, 0))
    page.raw("/Pattern cs /Sh scn /Pattern CS /Sh SCN")


def in_checks(page: Drawing) -> None:
    checks(page, "Ch")
    page.raw("/Pattern cs /Ch scn /Pattern CS /Ch SCN")


@drawing(tile=0.03, finer=12)
def type_filled_with_a_gradient(page: Drawing) -> None:
    in_gradient(page)
    lines_of_type(page, 0, 24)


@drawing(tile=0.03, finer=12)
def small_type_filled_with_a_gradient(page: Drawing) -> None:
    in_gradient(page)
    lines_of_type(page, 0, 7)


@drawing(tile=0.04, finer=12)
def type_stroked_with_a_gradient(page: Drawing) -> None:
    in_gradient(page)
    lines_of_type(page, 1, 24, stroke_pt=1.5)


@drawing(tile=0.04, finer=12)
def type_stroked_thinly_with_a_gradient(page: Drawing) -> None:
    in_gradient(page)
    lines_of_type(page, 1, 24, stroke_pt=0.3)


@drawing(tile=0.04, finer=12)
def type_filled_and_stroked_with_a_gradient(page: Drawing) -> None:
    in_gradient(page)
    page.raw("0 0 0 0.8 K")
    lines_of_type(page, 2, 24, stroke_pt=1, low=20)
    page.raw("/Pattern CS /Sh SCN 0 0 0.7 0 k")
    lines_of_type(page, 2, 16, stroke_pt=1)


@drawing(tile=0.04, finer=12)
def plain_type_under_a_stroking_pattern(page: Drawing) -> None:
    in_gradient(page)
    page.raw("0 0.6 0.7 0 k")
    lines_of_type(page, 0, 24)


@drawing(tile=0.04, finer=12)
def type_in_a_tiling(page: Drawing) -> None:
    in_checks(page)
    for at, mode in enumerate((0, 1, 2)):
        page.raw(f"1.5 w BT /F0 24 Tf {mode} Tr 1 0 0 1 {mm(1, 2 + 12 * at)} Tm {WORDS} Tj ET")


@drawing(tile=0.04, finer=12)
def small_type_in_a_tiling(page: Drawing) -> None:
    in_checks(page)
    lines_of_type(page, 0, 7)


@drawing(tile=0.04, finer=12)
def type_in_a_fine_tiling(page: Drawing) -> None:
    """Cells of 1.2 pt, too many to be drawn one by one."""
    checks(page, "Ch", "0.8 0 0 0 k 0 0 0.6 1.2 re f", box=(0, 0, 1.2, 1.2), steps=(1.2, 1.2))
    page.raw("/Pattern cs /Ch scn")
    lines_of_type(page, 0, 30)


@drawing(tile=0.04, finer=12)
def type_that_moves_on_in_a_pattern(page: Drawing) -> None:
    """Every operator that shows text, spaced, stretched, raised, turned, in one text object."""
    in_gradient(page)
    page.raw(f"q 0.5 0 0 0.5 0 0 cm BT /F0 36 Tf 40 TL 1 Tc 90 Tz 1 0 0 1 {mm(2, 62)} Tm (Wag) Tj [(M) -200 (jy)] TJ")
    page.raw("(next) ' 3 1 (and more) \" 2 Ts (up) Tj 0 Ts 0.4 0.2 0.7 0 k (plain) Tj /Pattern cs /Sh scn (HQ) Tj")
    page.raw(f"0.8 0.6 -0.6 0.8 {mm(60, 8)} Tm (Hxj) Tj ET Q")


@drawing(tile=0.04, finer=12)
def type_that_clips_and_is_painted_in_a_pattern(page: Drawing) -> None:
    in_gradient(page)
    page.raw(f"q BT /F0 36 Tf 4 Tr 1 0 0 1 {mm(1, 25)} Tm (Wgax) Tj ET")
    page.fill((0, 0, 0.9, 0), rect=(0, 26, WIDTH_MM, 32)).raw("Q")
    in_checks(page)
    page.raw(f"q BT /F0 36 Tf 2 w 6 Tr 1 0 0 1 {mm(1, 10)} Tm (HQ) Tj 5 Tr (av) Tj ET")
    page.fill((0, 0, 0.9, 0), rect=(0, 11, WIDTH_MM, 15)).raw("Q")


@drawing(tile=0.04, finer=12)
def type_in_a_pattern_on_a_scaled_page(page: Drawing) -> None:
    """The stroke is as wide as the matrix makes it."""
    in_gradient(page)
    page.raw(f"q 0.1 0 0 0.1 0 0 cm 15 w BT /F0 240 Tf 1 Tr 1 0 0 1 {mm(10, 250)} Tm {WORDS} Tj ET Q")
    in_checks(page)
    page.raw(f"q 0.1 0 0 0.1 0 0 cm 15 w BT /F0 240 Tf 1 Tr 1 0 0 1 {mm(10, 130)} Tm {WORDS} Tj ET")
    page.raw(f"BT /F0 240 Tf 0 Tr 1 0 0 1 {mm(10, 20)} Tm {WORDS} Tj ET Q")


@drawing(tile=0.04, finer=12)
def type_in_a_spot_gradient_overprinting(page: Drawing) -> None:
    page.fill((0.6, 0.2, 0, 0), rect=(0, 0, WIDTH_MM, 20))
    axial(page, "Sh", (0.2,), (1,), spot_space(page, "Gold"))
    page.gs(**ON).raw("/Pattern cs /Sh scn /Pattern CS /Sh SCN")
    lines_of_type(page, 0, 24)
    page.gs(**OFF)
    lines_of_type(page, 1, 24, stroke_pt=1, low=14)


@drawing(tile=0.04, finer=12)
def type_in_a_pattern_in_an_isolated_group(page: Drawing) -> None:
    page.fill((0.6, 0.2, 0, 0), rect=(0, 0, WIDTH_MM, 20))
    axial(page, "Sh", (0.2,), (1,), spot_space(page, "Gold"))
    page.gs(**ON)
    state = page.ops.pop()
    inner = f"{state} /Pattern cs /Sh scn BT /F0 24 Tf 1 0 0 1 {mm(1, 14)} Tm {WORDS} Tj 0 -34 Td {WORDS} Tj ET"
    page.raw(f"/{page.form(inner, bbox_mm=PAGE, group=group(I=True, CS=Name.DeviceCMYK))} Do")


@drawing(tile=0.04, finer=12)
def faint_type_in_a_pattern(page: Drawing) -> None:
    in_gradient(page)
    page.gs(ca=0.5, CA=0.4)
    lines_of_type(page, 0, 20, low=24)
    page.raw(f"1.5 w BT /F0 24 Tf 1 Tr 1 0 0 1 {mm(1, 14)} Tm {WORDS} Tj ET")
    in_checks(page)
    page.raw(f"BT /F0 24 Tf 0 Tr 1 0 0 1 {mm(1, 3)} Tm {WORDS} Tj ET")


@drawing(tile=0.04, finer=12)
def type_in_a_pattern_that_multiplies(page: Drawing) -> None:
    page.fill((0.6, 0.2, 0, 0), rect=(0, 0, WIDTH_MM, 36))
    page.gs(BM=Name.Multiply)
    in_gradient(page)
    lines_of_type(page, 0, 24, low=24)
    page.raw(f"1.5 w BT /F0 24 Tf 1 Tr 1 0 0 1 {mm(1, 14)} Tm {WORDS} Tj ET")
    in_checks(page)
    page.raw(f"BT /F0 24 Tf 0 Tr 1 0 0 1 {mm(1, 3)} Tm {WORDS} Tj ET")


@drawing(tile=0.04, finer=12)
def filled_and_stroked_at_once_in_patterns_that_multiply(page: Drawing) -> None:
    """The stroke knocks the fill out before both meet what lies below."""
    page.fill((0.6, 0.2, 0, 0), rect=(0, 0, WIDTH_MM, 36))
    page.gs(BM=Name.Multiply)
    in_gradient(page)
    page.raw(f"0 0 0.7 0 K 6 w {rect(3, 26, 22, 34)} B /Pattern CS /Sh SCN BT /F0 36 Tf 2 Tr 3 w")
    page.raw(f"1 0 0 1 {mm(26, 25)} Tm (Hag) Tj ET")
    in_checks(page)
    page.raw(f"6 w {rect(3, 3, 22, 20)} B 0 0 0 0.5 K 3 w BT /F0 36 Tf 2 Tr 1 0 0 1 {mm(26, 8)} Tm (Hag) Tj ET")


def masked(page: Drawing) -> None:
    """A soft mask: two thirds on the left, a third on the right."""
    inner = f"0.6667 g {rect(0, 0, 25, 40)} f 0.3333 g {rect(25, 0, 51, 40)} f"
    form = page.form(inner, bbox_mm=PAGE, group=group(CS=Name.DeviceGray, I=True))
    page.gs(SMask=Dictionary(S=Name.Luminosity, G=page.resources.XObject[Name("/" + form)]))


# -- glyphs of Type 3 fonts, and stencils ------------------------------------------------------------------------------


def plain_glyphs(page: Drawing) -> None:
    font = Dictionary(
        Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 1000, 1000], FontMatrix=[0.001, 0, 0, 0.001, 0, 0],
        FirstChar=65, LastChar=65, Widths=[1000], CharProcs=Dictionary(), Resources=Dictionary(),
        Encoding=Dictionary(Type=Name.Encoding, Differences=[65, Name.a]),
    )  # fmt: skip
    font.CharProcs.a = page.pdf.make_stream(b"1000 0 0 0 1000 1000 d1 0 0 700 700 re f 300 300 650 650 re f*")
    page.resources.Font.T3 = page.pdf.make_indirect(font)


@drawing(tile=0.04, finer=12)
def type_3_glyphs_in_patterns(page: Drawing) -> None:
    plain_glyphs(page)
    in_gradient(page)
    page.raw(f"q 1.25 0 0 1 0 0 cm BT /T3 24 Tf 2 Tc 0.9 0.1 -0.1 0.9 {mm(2, 24)} Tm (AA) Tj [(A) -300 (A)] TJ ET Q")
    in_checks(page)
    page.raw(f"BT /T3 32 Tf 1 0 0 1 {mm(2, 10)} Tm (AAA) Tj 0 0.9 0.4 0 k (A) Tj ET")
    page.gs(ca=0.5).raw(f"/Pattern cs /Ch scn BT /T3 20 Tf 1 0 0 1 {mm(2, 1)} Tm (AAA) Tj ET")


def stencil(page: Drawing, box: tuple[float, float, float, float]) -> str:
    """Operators that paint a stencil of nine squares in the current colour."""
    keys = Dictionary(Type=Name.XObject, Subtype=Name.Image, Width=3, Height=3, BitsPerComponent=1, ImageMask=True)
    page.resources.XObject.Stencil = page.pdf.make_stream(bytes([0b01000000, 0b10100000, 0b01000000]), keys)
    x0, y0, x1, y1 = box
    return f"q {mm(x1 - x0)} 0 0 {mm(y1 - y0, x0, y0)} cm /Stencil Do Q"


@drawing(tile=0.04, finer=12)
def stencils_in_patterns(page: Drawing) -> None:
    in_checks(page)
    page.raw(stencil(page, (2, 2, 20, 18)))
    in_gradient(page)
    page.raw(stencil(page, (24, 2, 48, 36)))


@drawing(tile=0.04, finer=12)
def a_faint_stencil_in_a_tiling(page: Drawing) -> None:
    page.fill((0, 0, 0.5, 0), rect=(0, 0, WIDTH_MM, 12))
    in_checks(page)
    page.gs(ca=0.5).raw(stencil(page, (2, 2, 48, 36)))


@drawing(tile=0.04, finer=12)
def stencils_and_glyphs_in_tilings_that_multiply(page: Drawing) -> None:
    page.fill((0.4, 0, 0.5, 0), rect=(0, 0, WIDTH_MM, 20))
    plain_glyphs(page)
    in_checks(page)
    page.gs(BM=Name.Multiply).raw(stencil(page, (2, 2, 24, 36)))
    page.raw(f"BT /T3 32 Tf 1 0 0 1 {mm(26, 16)} Tm (AA) Tj ET")


@drawing(tile=0.04, finer=12)
def faint_stencils_in_plain_colours(page: Drawing) -> None:
    page.fill((0, 0, 0.5, 0), rect=(0, 0, WIDTH_MM, 12))
    page.gs(ca=0.5).raw("0.8 0.4 0 0 k " + stencil(page, (2, 2, 24, 36)))
    page.gs(ca=0.25, BM=Name.Multiply).colour("Gold", 0.9).raw(stencil(page, (26, 2, 48, 36)))


# -- tilings that are drawn cell by cell -------------------------------------------------------------------------------


@drawing(tile=0.04, finer=12)
def one_cell_far_from_the_next(page: Drawing) -> None:
    checks(
        page,
        "Far",
        "0.8 0 0 0 k 0 0 60 100 re f 0 0.9 0.2 0 k 60 0 60 50 re f",
        box=(0, 0, 120, 100),
        steps=(1e5, -1e5),
    )
    page.raw(f"/Pattern cs /Far scn {rect(3, 3, 38, 30)} f /Pattern CS /Far SCN 20 w {mm(1, 33)} m {mm(48, 33)} l S")


@drawing(tile=0.04, finer=12)
def cells_that_lie_over_each_other(page: Drawing) -> None:
    cell = "0.8 0 0 0 k 0 0 24 24 re f 24 24 12 12 re f"
    checks(page, "Over", cell, box=(0, 0, 36, 36), steps=(36, 12))
    page.raw(f"/Pattern cs /Over scn {rect(1, 1, 49, 37)} f")


@drawing(tile=0.04, finer=12)
def skewed_cells_as_fill_and_stroke(page: Drawing) -> None:
    checks(page, "Skew", box=(0, 0, 16, 12), steps=(-18, 15), matrix=(0.8, 0.6, -0.3, 1.2, 5, 7))
    star = f"{mm(5, 5)} m {mm(45, 8)} l {mm(10, 34)} l {mm(25, 1)} l {mm(42, 35)} l h"
    page.raw(f"/Pattern cs /Skew scn /Pattern CS /Skew SCN 0 0 1 0 k {star} f* 6 w {star} S")
    page.raw(f"/Pattern cs /Skew scn 0 0 0 0.7 K {rect(38, 14, 49, 26)} B 0 0 0.4 0 k /Pattern CS /Skew SCN")
    page.raw(f"{rect(2, 14, 13, 26)} b*")


@drawing(tile=0.04, finer=12)
def uncoloured_cells_in_two_colours(page: Drawing) -> None:
    page.resources.ColorSpace.InCmyk = Array([Name.Pattern, Name.DeviceCMYK])
    page.resources.ColorSpace.InGold = Array([Name.Pattern, spot_space(page, "Gold")])
    checks(page, "Bare", "0 0 8 12 re f", paint=2)
    page.raw(
        f"/InCmyk cs 0.7 0 0.2 0 /Bare scn {rect(1, 1, 24, 37)} f /InGold cs 0.8 /Bare scn {rect(26, 1, 49, 37)} f"
    )


@drawing(tile=0.04, finer=12)
def cells_within_cells(page: Drawing) -> None:
    checks(page, "Inner", "0 0.8 0 0 k 0 0 3 6 re f", box=(0, 0, 6, 6), steps=(6, 6))
    own = Dictionary(Pattern=Dictionary(Inner=page.resources.Pattern.Inner))
    cell = "0.5 0 0 0 k 0 0 30 30 re f /Pattern cs /Inner scn 6 6 24 24 re f"
    checks(page, "Outer", cell, box=(0, 0, 36, 36), steps=(36, 36), matrix=(1, 0, 0, 1, 12, 0), resources=own)
    page.raw(f"/Pattern cs /Outer scn {rect(1, 1, 49, 37)} f")


@drawing(tile=0.04, finer=12)
def a_form_with_cells_placed_all_over_the_sheet(page: Drawing) -> None:
    """Pattern space is the form's: the cells go with it."""
    tiling(page, "T", f"/{page.spot('Gold')} cs 0.8 scn {rect(0, 0, 2.1167, 4.2333)} f", side_mm=4.2333, step_mm=4.2333)
    inner = f"/Pattern cs /T scn {rect(0.5, 0.5, 7.5, 8.5)} f"
    form = page.form(inner, bbox_mm=(0, 0, 8, 9))
    for at in range(24):
        page.raw(f"q 1 0 0 1 {mm(1 + at % 6 * 8.4667, at // 6 * 9.5250)} cm /{form} Do Q")


@drawing(tile=0.04, finer=12)
def a_form_that_takes_over_a_tiling(page: Drawing) -> None:
    in_checks(page)
    page.raw(f"{rect(1, 1, 20, 37)} f /{page.form(f'{rect(24, 1, 48, 37)} f', bbox_mm=PAGE)} Do")


@drawing(tile=0.04, finer=12)
def cells_at_an_opacity_and_through_a_mask(page: Drawing) -> None:
    page.fill((0, 0, 0.5, 0), rect=(0, 0, WIDTH_MM, 12))
    in_checks(page)
    page.gs(ca=0.5).raw(f"{rect(2, 2, 16, 36)} f").gs(ca=1.0, BM=Name.Multiply).raw(f"{rect(18, 2, 32, 36)} f")
    masked(page)
    page.gs(BM=Name.Normal).raw(f"{rect(34, 2, 48, 36)} f")

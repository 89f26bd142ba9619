"""Drawings that both the plates and a referee are made of: patterns, Type 3 glyphs, groups, blend modes, soft masks."""

from __future__ import annotations

from collections.abc import Sequence

from pikepdf import Array, Dictionary, Name

from tests.drawn import MM, Drawing
from tests.plate_drawings import OFF, ON, PAGE, WIDTH_MM, drawing, group, mm, rect, spot_space
from tests.plate_drawings_pictures import blocks, mask_of, packed, shading

CELL_MM = 8.4667
"""24 pt, a whole number of the referee's pixels: it rounds the steps of a tiling."""


def tiling(page: Drawing, key: str, cell: str, *, paint: int = 1, side_mm: float = 6.35, step_mm: float = CELL_MM,
           matrix: Sequence[float] = (1, 0, 0, 1, 6, 6)) -> None:  # fmt: skip
    keys = Dictionary(
        Type=Name.Pattern, PatternType=1, PaintType=paint, TilingType=1, BBox=[0, 0, side_mm * MM, side_mm * MM],
        XStep=step_mm * MM, YStep=step_mm * MM, Matrix=list(matrix), Resources=page.resources,
    )  # fmt: skip
    page.resources.Pattern[Name("/" + key)] = page.pdf.make_stream(cell.encode(), keys)


def _uncoloured_spaces(page: Drawing) -> None:
    page.resources.ColorSpace.InCmyk = Array([Name.Pattern, Name.DeviceCMYK])
    page.resources.ColorSpace.InGold = Array([Name.Pattern, spot_space(page, "Gold")])


@drawing(tile=0.04, finer=12)
def tilings(page: Drawing) -> None:
    page.fill((0.5, 0, 0.3, 0), rect=(0, 0, WIDTH_MM, 12))
    _uncoloured_spaces(page)
    gold = page.spot("Gold")
    tiling(
        page, "Two", f"/{gold} cs 0.7 scn {rect(0, 0, 4.2333, 4.2333)} f 0 1 0 0 k {rect(2.1167, 2.1167, 6.35, 6.35)} f"
    )
    tiling(page, "Square", f"{rect(1.0583, 1.0583, 5.2917, 5.2917)} f", paint=2)
    tiling(page, "Slanted", f"{rect(0, 0, 3.175, 6.35)} f", paint=2, matrix=(0.7, 0.7, -0.7, 0.7, 0, 0))
    page.raw(f"/Pattern cs /Two scn {rect(1, 1, 17, 37)} f /InCmyk cs 0 0.3 0.9 0 /Square scn {rect(18, 1, 33, 37)} f")
    page.raw(f"/InGold cs 0.8 /Slanted scn {rect(34, 1, 50, 37)} f")


@drawing(tile=0.04, finer=12)
def fine_tiling(page: Drawing) -> None:
    """Bars that run from cell to cell, 3.6 pt apart."""
    tiling(page, "Bars", f"/{page.spot('Gold')} cs 1 scn 0 0 1.2 3.6 re f", side_mm=1.27, step_mm=1.27)
    page.raw(f"/Pattern cs /Bars scn {rect(1, 1, 49, 37)} f")


@drawing(tile=0.04, finer=12)
def tiling_in_a_form(page: Drawing) -> None:
    page.image(packed(blocks(8, 8, 4)), 8, 8, (0, 0, 1, 1))
    page.ops.pop()
    bar = f"/{page.spot('Gold')} cs 1 scn {rect(0, 0, 2.1167, 6.35)} f"
    tiling(page, "T", f"{bar} q {mm(3)} 0 0 {mm(5, 2.5, 0.5)} cm /Im0 Do Q")
    form = page.form(f"/Pattern cs /T scn {rect(2, 2, 40, 30)} f", bbox_mm=PAGE)
    page.raw(f"q 1 0 0 1 15 5 cm /{form} Do Q")


@drawing(tile=0.04, finer=12)
def tiling_as_a_stroke_round_a_fill(page: Drawing) -> None:
    tiling(page, "Square", f"/{page.spot('Gold')} cs 0.7 scn {rect(0, 0, 4.2333, 4.2333)} f")
    page.raw(f"/Pattern CS /Square SCN 0 0 0.5 0 k 20 w {rect(10, 10, 40, 28)} B")


@drawing()
def type_3_glyphs(page: Drawing) -> None:
    """A takes the current colour (d1), B sets its own (d0); large, overprinting, turned, and small."""
    page.fill((0.5, 0, 0.3, 0), rect=(0, 0, WIDTH_MM, 20))
    font = Dictionary(
        Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 1000, 1000], FontMatrix=[0.001, 0, 0, 0.001, 0, 0],
        FirstChar=65, LastChar=66, Widths=[1000, 1000], Resources=page.resources,
        Encoding=Dictionary(Type=Name.Encoding, Differences=[65, Name.a, Name.b]), CharProcs=Dictionary(),
    )  # fmt: skip
    font.CharProcs.a = page.pdf.make_stream(b"1000 0 0 0 1000 1000 d1 0 0 700 700 re f 300 300 650 650 re f*")
    own = f"1000 0 d0 /{page.spot('Gold')} cs 0.8 scn 0 0 600 900 re f 0 0 1 0 k 300 300 400 400 re f"
    font.CharProcs.b = page.pdf.make_stream(own.encode())
    page.resources.Font.Glyphs = page.pdf.make_indirect(font)
    page.raw("0 1 0 0 k BT /Glyphs 40 Tf 1 0 0 1 5 10 Tm (AB) Tj ET").gs(**ON)
    page.raw(f"/{page.spot('Line')} cs 1 scn BT /Glyphs 30 Tf 0.9 0.3 -0.3 0.9 95 10 Tm (AB) Tj ET")
    page.raw("0 0.5 0 0 k BT /Glyphs 8 Tf 1 0 0 1 5 70 Tm (ABABABABABABABABA) Tj 0 -9 Td (AAAAAAAAAAAA) Tj ET")


# -- transparency -----------------------------------------------------------------------------------------------------


def _ground(page: Drawing) -> None:
    page.fill((0.8, 0, 0.4, 0), rect=(2, 2, 30, 30)).spot("Gold")


def _two_objects(page: Drawing, before: str = "") -> str:
    return f"{before} /{page.spot('Gold')} cs 1 scn {rect(5, 5, 28, 28)} f 0 1 0 0 k {rect(15, 15, 45, 35)} f"


@drawing()
def alpha_on_objects(page: Drawing) -> None:
    _ground(page)
    page.fill("Line", 0.9, rect=(2, 20, 48, 36)).gs(ca=0.5, CA=0.5).fill("Gold", 1, rect=(10, 10, 40, 33))
    page.gs(**ON).fill((0, 0.6, 0, 0.2), rect=(25, 5, 47, 28)).gs(**OFF)
    page.stroke("Line", [(5, 5), (45, 33)], width_mm=2, close=False)


@drawing()
def alpha_on_an_isolated_group(page: Drawing) -> None:
    _ground(page)
    form = page.form(_two_objects(page), bbox_mm=PAGE, group=group(I=True, CS=Name.DeviceCMYK))
    page.gs(ca=0.6).raw(f"/{form} Do")


@drawing()
def alpha_on_a_group_that_is_not_isolated(page: Drawing) -> None:
    _ground(page)
    page.gs(**ON).gs(**OFF)
    form = page.form(_two_objects(page, "/GS0 gs"), bbox_mm=PAGE, group=group())
    page.gs(ca=0.6).raw(f"/{form} Do")


@drawing()
def alpha_on_a_form_that_is_no_group(page: Drawing) -> None:
    _ground(page)
    form = page.form(_two_objects(page), bbox_mm=PAGE)
    page.gs(ca=0.6, **ON).raw(f"/{form} Do")


@drawing()
def group_that_lets_overprint_through(page: Drawing) -> None:
    _ground(page)
    page.gs(**ON).gs(**OFF)
    form = page.form(_two_objects(page, "/GS0 gs"), bbox_mm=PAGE, group=group())
    page.raw(f"/{form} Do")


@drawing()
def everything_overprinting_in_an_isolated_group(page: Drawing) -> None:
    page.fill((0.5, 0.3, 0.2, 0.1), rect=(2, 2, 48, 20)).gs(**ON)
    page.ops.pop()
    gold, line = page.spot("Gold"), page.spot("Line")
    page.image(packed(blocks(10, 10, 1)), 10, 10, (0, 0, 1, 1), space=spot_space(page, "Line"))
    page.ops.pop()
    page.resources.XObject.Stencil = mask_of(page, blocks(33, 29, 1, bits=1, side=6), 1, ImageMask=True)
    page.resources.Shading.S = shading(page, 2, spot_space(page, "Gold"), 1, (30, 5, 40, 30))
    inner = [
        f"/GS0 gs 0 0.6 0 0 k {rect(1, 10, 49, 14)} f /{gold} cs 1 scn {rect(3, 5, 9, 30)} f",
        f"/{line} CS 0.8 SCN 6 w {mm(11, 5)} m {mm(11, 30)} l S",
        f"q {mm(6)} 0 0 {mm(25, 13, 5)} cm /Im0 Do Q q {mm(6)} 0 0 {mm(25, 20, 5)} cm /Stencil Do Q",
        f"q {rect(28, 5, 36, 30)} W n /S sh Q BT /F0 30 Tf 1 0 0 1 {mm(37, 5)} Tm (WM) Tj 2 Tr 0 12 Td (WX) Tj ET",
        f"{rect(37, 25, 45, 33)} B",
    ]
    form = page.form("\n".join(inner), bbox_mm=PAGE, group=group(I=True, CS=Name.DeviceCMYK))
    page.raw(f"/{form} Do")


@drawing()
def multiply(page: Drawing) -> None:
    _ground(page)
    page.fill("Line", 0.5, rect=(20, 20, 48, 36)).gs(BM=Name.Multiply).fill("Gold", 0.8, rect=(10, 10, 40, 33))
    form = page.form(f"0.5 0.6 0 0.2 k {rect(25, 5, 47, 28)} f", bbox_mm=PAGE, group=group(I=True))
    page.raw(f"/{form} Do")


@drawing()
def separable_blend_modes(page: Drawing) -> None:
    """On ink, on a spot, and on bare board, where every mode but Normal would show paint as it is."""
    page.fill((0.8, 0.3, 0.4, 0.1), rect=(0, 0, WIDTH_MM, 20)).fill("Gold", 0.6, rect=(0, 10, WIDTH_MM, 30))
    for at, mode in enumerate(
        ("Screen", "Overlay", "Darken", "Lighten", "ColorDodge", "ColorBurn", "HardLight", "SoftLight")
    ):
        page.gs(BM=Name("/" + mode)).fill((0.4, 0.6, 0.1, 0.3), rect=(1 + 6 * at, 2, 3.5 + 6 * at, 36))
        page.fill("Gold", 0.3, rect=(4 + 6 * at, 2, 6 + 6 * at, 36))


def soft_mask(page: Drawing, inner: str, kind: str = "Luminosity", **keys: object) -> Dictionary:
    form = page.form(inner, bbox_mm=PAGE, group=group(I=True, CS=Name.DeviceGray))
    look = page.resources.XObject[Name("/" + form)]
    return Dictionary(S=Name("/" + kind), G=look, **keys)  # type: ignore[arg-type]


HALF_AND_WHOLE = f"0.5 g {rect(8, 8, 45, 20)} f 1 g {rect(8, 20, 45, 34)} f"


@drawing()
def luminosity_mask(page: Drawing) -> None:
    _ground(page)
    page.gs(SMask=soft_mask(page, HALF_AND_WHOLE)).fill("Gold", 0.9, rect=PAGE)
    page.gs(SMask=Name("/None")).fill("Line", 0.5, rect=(40, 2, 50, 12))


@drawing()
def luminosity_mask_over_overprint(page: Drawing) -> None:
    _ground(page)
    page.gs(SMask=soft_mask(page, HALF_AND_WHOLE), **ON).fill("Gold", 0.9, rect=PAGE)


@drawing()
def luminosity_mask_in_a_form(page: Drawing) -> None:
    _ground(page)
    page.gs(SMask=soft_mask(page, HALF_AND_WHOLE))
    page.ops.pop()
    form = page.form(f"/GS0 gs /{page.spot('Gold')} cs 1 scn {rect(*PAGE)} f", bbox_mm=PAGE)
    page.raw(f"q 0.8 0.2 -0.2 0.8 15 5 cm /{form} Do Q")


@drawing()
def luminosity_mask_with_a_shading(page: Drawing) -> None:
    _ground(page)
    look = shading(page, 2, Name.DeviceGray, 1, (5, 5, 45, 30))
    look.Function.C0, look.Function.C1, look.Extend = Array([0]), Array([1]), Array([True, True])
    page.resources.Shading.S = look
    page.gs(SMask=soft_mask(page, "/S sh")).fill("Gold", 0.9, rect=(2, 2, 48, 36))


@drawing()
def luminosity_mask_with_backdrop_and_transfer(page: Drawing) -> None:
    _ground(page)
    page.raw("q").gs(SMask=soft_mask(page, HALF_AND_WHOLE, BC=Array([0.6]))).fill("Gold", 0.9, rect=(1, 1, 25, 37))
    turned = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[1], C1=[0])
    page.raw("Q").gs(SMask=soft_mask(page, HALF_AND_WHOLE, TR=turned)).fill("Gold", 0.9, rect=(25, 1, 49, 37))


@drawing()
def alpha_mask(page: Drawing) -> None:
    _ground(page)
    page.gs(ca=0.4).gs(ca=1.0)
    page.ops.clear()
    _ground(page)
    inner = f"/GS0 gs 0 g {rect(8, 8, 45, 20)} f /GS1 gs {rect(8, 20, 45, 34)} f"
    page.gs(SMask=soft_mask(page, inner, "Alpha")).fill("Gold", 0.9, rect=PAGE)


@drawing(tile=0.05)
def alpha_on_an_image(page: Drawing) -> None:
    _ground(page)
    page.gs(ca=0.5).image(packed(blocks(10, 10, 4, side=5)), 10, 10, (10, 10, 40, 35))

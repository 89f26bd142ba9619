"""Transparency, case by case: what each plate carries at a place of a small drawn page.

The expected tints are worked out by hand from ISO 32000-2, clause 11; the comment or the case's name says from which.
The same pages go to Ghostscript and to MuPDF. Where a referee disagrees the case names it, with the reason.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name

from preflight.artwork.read_artwork import read_artwork
from tests.drawn import MM, Drawing
from tests.plate_drawings import HEIGHT_MM, OFF, ON, PAGE, WIDTH_MM, embed_font, group, mm, rect
from tests.referees import ghostscript_plates, mupdf_plates, needs_ghostscript, needs_mupdf

Tints = Mapping[str, float]
Place = tuple[float, float]
LEVEL = 0.012
HALF, WHOLE, MULTIPLY, OVERPRINT = "/GS0 gs", "/GS1 gs", "/GS2 gs", "/GS3 gs"
LOW, HIGH = rect(5, 5, 28, 28), rect(15, 15, 45, 35)
KNOCK_OUT = {"K": True, "I": True}


@dataclass(frozen=True)
class Case:
    """A page, places on it in mm, and the tints there; plates that are not named are bare."""

    draw: Callable[[Drawing], object]
    expected: Mapping[Place, Tints]
    disputed: Mapping[str, str] = field(default_factory=dict)
    """Referee that comes to something else, and why the standard is not on its side."""


CASES: dict[str, Case] = {}


def case(expected: Mapping[Place, Tints], **disputed: str) -> Callable[[Callable[[Drawing], object]], None]:
    """Enters a page under its function's name."""

    def enter(draw: Callable[[Drawing], object]) -> None:
        CASES[draw.__name__] = Case(draw, expected, disputed)

    return enter


def sheet(draw: Callable[[Drawing], object]) -> Drawing:
    page = Drawing(WIDTH_MM, HEIGHT_MM)
    embed_font(page)
    page.gs(ca=0.5, CA=0.5).gs(ca=1.0, CA=1.0, BM=Name.Normal, **OFF).gs(BM=Name.Multiply).gs(**ON)
    page.ops.clear()
    draw(page)
    return page


def in_group(page: Drawing, inner: str, **keys: object) -> Drawing:
    return page.raw(f"/{page.form(inner, bbox_mm=PAGE, group=group(CS=Name.DeviceCMYK, **keys))} Do")


def tiles(page: Drawing, cell: str, side_pt: float = 40.0, paint: int = 1) -> None:
    # Only with what it needs: Ghostscript applies an opacity twice where it sees transparency among the resources.
    resources = page.resources if "gs" in cell else Dictionary()
    page.resources.ColorSpace.Tinted = Array([Name.Pattern, Name.DeviceCMYK])
    page.resources.Pattern.T = page.pdf.make_stream(
        cell.encode(), Type=Name.Pattern, PatternType=1, PaintType=paint, TilingType=1, BBox=[0, 0, side_pt, side_pt],
        XStep=side_pt, YStep=side_pt, Resources=resources,
    )  # fmt: skip


# -- what lies below, and has no ink on the plate ----------------------------------------------------------------------


@case({(20, 20): {}, (10, 10): {"Gold": 1}, (40, 33): {"Magenta": 0.5}})
def over_what_overprints_bare_board_a_blend_mode_meets_its_tint_of_zero(page: Drawing) -> None:
    """11.7.4.3: on nothing an overprinting object shows its own tint of zero, and Screen with white is white."""
    page.raw(OVERPRINT).fill("Gold", 1, rect=(5, 5, 30, 30)).raw(WHOLE)
    page.gs(BM=Name.Screen).fill((0, 0.5, 0, 0), rect=(15, 15, 45, 36))


@case({(10, 10): {}, (40, 33): {"Cyan": 0.5, "Magenta": 0.2}},
      gs="paints nothing for white under mode 1, in an isolated group too")  # fmt: skip
def white_under_mode_1_in_an_isolated_group(page: Drawing) -> None:
    """11.7.4.3: where nothing lies below, what is left alone has the object's own tint."""
    page.fill((0.5, 0.2, 0, 0), rect=PAGE)
    in_group(page, f"{OVERPRINT} 0 0 0 0 k {LOW} f", I=True)


# -- knock-out groups: 11.4.6.2 ----------------------------------------------------------------------------------------


@case({(10, 10): {"Cyan": 1}, (20, 20): {"Magenta": 0.4}, (40, 30): {"Magenta": 0.4}},
      mupdf="composes the picture with the earlier object")  # fmt: skip
def a_picture_with_a_soft_mask_knocks_out_in_its_square(page: Drawing) -> None:
    page.image(bytes([0, 204, 0, 0]), 1, 1, (0, 0, 1, 1)).ops.clear()
    page.resources.XObject.Im0.SMask = page.pdf.make_stream(
        bytes([128]), Type=Name.XObject, Subtype=Name.Image, Width=1, Height=1, BitsPerComponent=8,
        ColorSpace=Name.DeviceGray,
    )  # fmt: skip
    in_group(page, f"1 0 0 0 k {LOW} f q {30 * MM} 0 0 {20 * MM} {mm(15, 12)} cm /Im0 Do Q", **KNOCK_OUT)


@case({(10, 10): {"Cyan": 0.5}, (20, 20): {"Magenta": 0.5}, (40, 30): {"Magenta": 0.5}},
      mupdf="takes the page's group for none that knocks out")  # fmt: skip
def the_group_of_a_page_may_knock_out(page: Drawing) -> None:
    page.page.obj.Group = group(CS=Name.DeviceCMYK, **KNOCK_OUT)
    page.raw(f"{HALF} 1 0 0 0 k {LOW} f 0 1 0 0 k {HIGH} f")


@case({(10, 10): {"Cyan": 0.5}, (20, 20): {"Cyan": 0.5}, (40, 30): {"Cyan": 0.5}, (2, 2): {}},
      gs="composes the two with each other")  # fmt: skip
def the_group_of_a_soft_mask_may_knock_out(page: Drawing) -> None:
    """Each half of white knocks out the black of the group; the backdrop is black (11.6.5.2)."""
    inner = f"0 g {rect(*PAGE)} f {HALF} 1 g {LOW} f {HIGH} f"
    form = page.form(inner, bbox_mm=PAGE, group=group(CS=Name.DeviceGray, **KNOCK_OUT))
    mask = Dictionary(S=Name.Luminosity, G=page.resources.XObject[Name("/" + form)])
    page.gs(SMask=mask).fill((1, 0, 0, 0), rect=PAGE)


@case({(10, 10): {"Cyan": 0.5}, (20, 20): {"Magenta": 0.4}, (30, 20): {"Magenta": 0.4}, (45, 20): {"Cyan": 0.5}},
      mupdf="knocks out beyond the ends of the shading, where it paints nothing")  # fmt: skip
def a_shading_knocks_out_as_far_as_it_goes(page: Drawing) -> None:
    """8.7.4.5.3: beyond its ends a shading that is not extended paints nothing."""
    tint = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0.8, 0, 0], C1=[0, 0.8, 0, 0])
    page.resources.Shading.S = Dictionary(
        ShadingType=2, ColorSpace=Name.DeviceCMYK, Coords=[15 * MM, 0, 40 * MM, 0], Function=tint
    )
    in_group(page, f"{HALF} 1 0 0 0 k {rect(5, 5, 48, 28)} f /S sh", **KNOCK_OUT)


@case({(18, 20): {"Magenta": 0.4}, (25, 20): {"Cyan": 1}, (32, 20): {"Magenta": 0.4}})
def a_tiling_knocks_out_in_its_cells(page: Drawing) -> None:
    """Cells of 14.1 mm, their left halves painted."""
    tiles(page, "0 0.8 0 0 k 0 0 20 40 re f")
    in_group(page, f"1 0 0 0 k {rect(5, 5, 28, 36)} f {HALF} /Pattern cs /T scn {rect(0, 10, 45, 30)} f", **KNOCK_OUT)


@case({(15, 20): {"Magenta": 0.4}, (40, 20): {"Magenta": 0.4}, (10, 7): {"Cyan": 1}})
def what_lets_show_in_a_cell_knocks_out(page: Drawing) -> None:
    tiles(page, f"{HALF} 0 0.8 0 0 k 0 0 40 40 re f")
    in_group(page, f"1 0 0 0 k {rect(5, 5, 28, 36)} f /Pattern cs /T scn {rect(0, 10, 45, 30)} f", **KNOCK_OUT)


def glyphs(page: Drawing, program: bytes) -> None:
    page.resources.Font.T3 = page.pdf.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 0, 0], FontMatrix=[1, 0, 0, 1, 0, 0], FirstChar=97,
            LastChar=97, Widths=[10], Encoding=Dictionary(Differences=[97, Name.a]), Resources=page.resources,
            CharProcs=Dictionary(a=page.pdf.make_stream(program)),
        )
    )  # fmt: skip


@case({(17, 17): {"Magenta": 0.4}, (30, 30): {"Magenta": 0.4}, (8, 8): {"Cyan": 1}})
def a_glyph_knocks_out_however_small_its_box_says_it_is(page: Drawing) -> None:
    glyphs(page, b"10 0 d0 0 0.8 0 0 k -50 -50 100 100 re f")
    in_group(page, f"1 0 0 0 k {rect(5, 5, 20, 20)} f {HALF} BT /T3 1 Tf {mm(28, 28)} Td (a) Tj ET", **KNOCK_OUT)


@case({(42.5, 19.05): {"Magenta": 0.5}, (38, 19.05): {"Magenta": 0.5}, (42.5, 21.5): {"Cyan": 1}})
def a_mitre_knocks_out_far_from_its_path(page: Drawing) -> None:
    """A corner of 14 degrees: its tip is 8.2 half widths away, under the limit of 10."""
    path = f"20 w 10 M {mm(5, 16.6)} m {mm(25, 19.05)} l {mm(5, 21.5)} l S"
    in_group(page, f"1 0 0 0 k {rect(41, 17, 44, 22)} f {HALF} 0 1 0 0 K {path}", **KNOCK_OUT)


@case({(5, 20): {"Black": 1}, (15, 20): {"Cyan": 0.2, "Magenta": 0.5}, (22, 20): {"Cyan": 0.2, "Yellow": 0.5},
       (35, 20): {"Cyan": 0.2, "Yellow": 0.5}})  # fmt: skip
def a_knock_out_group_in_a_knock_out_group(page: Drawing) -> None:
    page.fill((0.4, 0, 0, 0), rect=PAGE)
    inner = f"{HALF} 0 1 0 0 k {rect(10, 10, 30, 30)} f 0 0 1 0 k {rect(20, 10, 40, 30)} f"
    form = page.form(inner, bbox_mm=PAGE, group=group(K=True, CS=Name.DeviceCMYK))
    in_group(page, f"0 0 0 1 k {rect(3, 3, 25, 36)} f /{form} Do", K=True)


@case({(10, 7): {"Cyan": 1}, (27, 22): {"Magenta": 0.3}, (18, 20): {"Yellow": 0.5}, (13, 20): {"Yellow": 0.5}})
def what_is_filled_and_stroked_at_once(page: Drawing) -> None:
    """11.7.4.4: the stroke knocks out the fill, and both what is earlier in the group."""
    path = f"{10 * MM} w {rect(15, 15, 40, 32)} B"
    in_group(page, f"1 0 0 0 k {rect(5, 5, 28, 28)} f {HALF} 0 0.6 0 0 k 0 0 1 0 K {path}", **KNOCK_OUT)


# -- patterns and glyphs at an opacity: 11.6.7 -------------------------------------------------------------------------


@case({(20, 20): {"Magenta": 0.4}, (3, 3): {}})
def a_tiling_at_an_opacity(page: Drawing) -> None:
    tiles(page, "0 0.8 0 0 k 0 0 40 40 re f")
    page.raw(f"{HALF} /Pattern cs /T scn {rect(5, 5, 45, 30)} f")


@case({(20, 20): {"Magenta": 0.4}, (3, 3): {}}, gs="masks the cells, and what is painted with them once more")
def a_tiling_through_a_soft_mask(page: Drawing) -> None:
    tiles(page, "0 0.8 0 0 k 0 0 40 40 re f")
    form = page.form(f"0.5 g {rect(*PAGE)} f", bbox_mm=PAGE, group=group(CS=Name.DeviceGray, I=True))
    mask = Dictionary(S=Name.Luminosity, G=page.resources.XObject[Name("/" + form)])
    page.gs(SMask=mask).raw(f"/Pattern cs /T scn {rect(5, 5, 45, 30)} f")


@case({(20, 20): {"Magenta": 0.2}}, mupdf="takes the opacity of the cell alone")
def a_tiling_at_an_opacity_with_a_half_in_its_cells(page: Drawing) -> None:
    tiles(page, f"{HALF} 0 0.8 0 0 k 0 0 40 40 re f")
    page.raw(f"{HALF} /Pattern cs /T scn {rect(5, 5, 45, 30)} f")


@case({(7, 20): {"Magenta": 0.4}, (12, 20): {"Magenta": 0.4}, (20, 20): {}})
def a_tiling_as_a_stroke_at_an_opacity(page: Drawing) -> None:
    tiles(page, "0 0.8 0 0 k 0 0 40 40 re f")
    page.raw(f"{HALF} /Pattern CS /T SCN {10 * MM} w {rect(10, 10, 35, 30)} S")


@case({(10, 10): {"Magenta": 0.4}, (40, 10): {}})
def glyphs_with_colours_of_their_own_at_an_opacity(page: Drawing) -> None:
    glyphs(page, b"10 0 d0 0 0.8 0 0 k 0 0 50 50 re f")
    page.raw(f"{HALF} BT /T3 1 Tf {mm(5, 5)} Td (a) Tj ET")


# -- forms that are no groups: 8.10.1 ----------------------------------------------------------------------------------


def in_form(page: Drawing, inner: str) -> str:
    return f"/{page.form(inner, bbox_mm=PAGE)} Do"


@case({(10, 10): {"Cyan": 0.7, "Gold": 0.3}, (20, 20): {"Cyan": 0.7, "Gold": 0.3}, (40, 30): {"Cyan": 0.4}})
def objects_of_a_form_set_a_state_of_their_own(page: Drawing) -> None:
    """1 - 0.6 x 0.5, at the whole of it, whatever the form is called with."""
    page.fill((0.4, 0, 0, 0), rect=PAGE).raw(OVERPRINT).fill("Gold", 0.3, rect=PAGE).fill(
        "Gold", 0, rect=(35, 25, 48, 36)
    )
    page.raw(f"{HALF} {in_form(page, f'{WHOLE} {MULTIPLY} 0.5 0 0 0 k {LOW} f')}")


@case({(10, 10): {"Cyan": 0.7}, (20, 20): {"Cyan": 0.82}, (40, 30): {"Cyan": 0.64}})
def objects_of_a_form_take_its_blend_mode_over_one_by_one(page: Drawing) -> None:
    """0.6 of the light is let through, then 0.5 and 0.6 of that."""
    page.fill((0.4, 0, 0, 0), rect=PAGE)
    page.raw(f"{MULTIPLY} {in_form(page, f'0.5 0 0 0 k {LOW} f 0.4 0 0 0 k {HIGH} f')}")


@case({(10, 10): {"Magenta": 0.5}, (40, 30): {"Cyan": 0.4}})
def an_object_of_a_form_takes_its_blend_mode_off(page: Drawing) -> None:
    page.fill((0.4, 0, 0, 0), rect=PAGE).raw(f"{MULTIPLY} {in_form(page, f'{WHOLE} 0 0.5 0 0 k {LOW} f')}")


@case({(10, 10): {"Cyan": 0.7, "Magenta": 0.25}, (20, 20): {"Cyan": 0.7, "Magenta": 0.25}, (2, 2): {"Cyan": 0.4}})
def a_form_in_a_form_hands_its_opacity_on(page: Drawing) -> None:
    """Half of what multiplies: 0.6 (0.5 + 0.5 x 0) and 0.5 + 0.5 x 0.5."""
    page.fill((0.4, 0, 0, 0), rect=PAGE)
    inner = in_form(page, f"{MULTIPLY} 1 0.5 0 0 k {LOW} f")
    page.raw(f"{HALF} {in_form(page, inner)}")


def half_masked(page: Drawing) -> None:
    form = page.form(f"0.5 g {rect(*PAGE)} f", bbox_mm=PAGE, group=group(CS=Name.DeviceGray, I=True))
    page.gs(SMask=Dictionary(S=Name.Luminosity, G=page.resources.XObject[Name("/" + form)]))


@case({(10, 10): {"Cyan": 0.2, "Magenta": 0.4}, (40, 30): {"Cyan": 0.2, "Magenta": 0.25}, (2, 2): {"Cyan": 0.4}})
def objects_of_a_form_are_masked_once(page: Drawing) -> None:
    page.fill((0.4, 0, 0, 0), rect=PAGE)
    half_masked(page)
    page.raw(in_form(page, f"0 0.8 0 0 k {LOW} f {WHOLE} 0 0.5 0 0 k {rect(30, 20, 45, 35)} f"))


@case({(10, 10): {"Cyan": 0.3, "Magenta": 0.2}, (2, 2): {"Cyan": 0.4}},
      mupdf="takes an opacity twice where there is a soft mask too")  # fmt: skip
def a_mask_and_an_opacity_are_handed_on_together(page: Drawing) -> None:
    page.fill((0.4, 0, 0, 0), rect=PAGE)
    half_masked(page)
    page.raw(f"{HALF} {in_form(page, f'0 0.8 0 0 k {LOW} f')}")


# -- stencils at an opacity --------------------------------------------------------------------------------------------


def stencil(page: Drawing, state: str, place: str) -> Drawing:
    """One sample that paints, so that it is a rectangle."""
    page.resources.XObject.Stencil = page.pdf.make_stream(
        b"\0", Type=Name.XObject, Subtype=Name.Image, Width=1, Height=1, BitsPerComponent=1, ImageMask=True
    )
    page.fill((0.4, 0, 0, 0), rect=PAGE)
    return page.raw(f"{state} /{page.spot('Gold')} cs 0.8 scn q {place} cm /Stencil Do Q")


@case({(20, 20): {"Cyan": 0.2, "Gold": 0.4}, (3, 3): {"Cyan": 0.4}})
def a_stencil_at_an_opacity(page: Drawing) -> None:
    """11.3.6: half of what is below and half of its own; the renderer takes the opacity twice."""
    stencil(page, HALF, mm(30, 0, 0, 25, 8, 8))


@case({(20, 20): {"Cyan": 0.2, "Gold": 0.4}, (3, 3): {"Cyan": 0.4}})
def an_inline_stencil_turned_at_an_opacity(page: Drawing) -> None:
    page.fill((0.4, 0, 0, 0), rect=PAGE).raw(
        f"{HALF} /{page.spot('Gold')} cs 0.8 scn q {mm(20, 12, -12, 20, 20, 5)} cm"
    )
    page.raw("BI /W 1 /H 1 /IM true /F /AHx ID 00> EI Q")


@case({(20, 20): {"Cyan": 0.2, "Gold": 0.4}})
def a_stencil_at_the_opacity_of_its_form(page: Drawing) -> None:
    stencil(page, WHOLE, mm(1, 0, 0, 1, 45, 5))
    form = page.form(f"/{page.spot('Gold')} cs 0.8 scn q {mm(30, 0, 0, 25, 8, 8)} cm /Stencil Do Q", bbox_mm=PAGE)
    page.raw(f"{HALF} /{form} Do")


@case({(20, 20): {"Cyan": 0.4, "Gold": 0.4}})
def a_stencil_that_overprints_at_an_opacity(page: Drawing) -> None:
    stencil(page, OVERPRINT + " " + HALF, mm(30, 0, 0, 25, 8, 8))


@case({(20, 20): {"Cyan": 0.2, "Magenta": 0.3}})
def a_stencil_filled_with_a_shading_at_an_opacity(page: Drawing) -> None:
    tint = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0.6, 0, 0], C1=[0, 0.6, 0, 0])
    look = Dictionary(
        ShadingType=2, ColorSpace=Name.DeviceCMYK, Coords=[0, 0, 1, 0], Function=tint, Extend=[True, True]
    )
    page.resources.Pattern.Shade = page.pdf.make_indirect(Dictionary(PatternType=2, Shading=look))
    stencil(page, HALF, mm(1, 0, 0, 1, 45, 5))
    page.raw(f"/Pattern cs /Shade scn q {mm(30, 0, 0, 25, 8, 8)} cm /Stencil Do Q")


@pytest.fixture(scope="module", params=CASES)
def drawn(request, tmp_path_factory) -> tuple[Case, Path, Path]:
    folder = tmp_path_factory.mktemp(request.param[:20])
    return CASES[request.param], sheet(CASES[request.param].draw).save(folder / "art.pdf"), folder


def tints(plates: Mapping[str, NDArray[np.floating]], place: Place) -> dict[str, float]:
    found = {}
    for name, plate in plates.items():
        mm_per_px = WIDTH_MM / plate.shape[1]
        row, column = int((HEIGHT_MM - place[1]) / mm_per_px), int(place[0] / mm_per_px)
        tint = float(plate[row, column])
        if tint > LEVEL:
            found[name] = tint
    return found


def test_plates_are_what_the_standard_says(drawn):
    case, file, _ = drawn
    plates = read_artwork(file).pages[0].plates(100)
    shown = {name: plates.tint(name) / 255 for name in plates.names}
    for place, expected in case.expected.items():
        assert tints(shown, place) == pytest.approx(expected, abs=LEVEL), place


def agrees(case: Case, plates: Mapping[str, NDArray[np.floating]]) -> bool:
    return all(tints(plates, place) == pytest.approx(tint, abs=0.02) for place, tint in case.expected.items())


@needs_ghostscript
def test_ghostscript_agrees(drawn):
    case, file, folder = drawn
    assert agrees(case, ghostscript_plates(file, folder / "gs", dpi=50, finer=1)) != ("gs" in case.disputed)


@needs_mupdf
def test_mupdf_agrees(drawn):
    case, file, folder = drawn
    assert agrees(case, mupdf_plates(file, folder, dpi=50)) != ("mupdf" in case.disputed)


# -- edges, sizes and windows ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("alpha", [0.3, 0.5, 0.9, 0.99, 1.0])
@pytest.mark.parametrize("edge_mm", [30.0, 30.1, 30.13, 30.2])
def test_no_edge_shows_where_an_element_knocks_out_one_of_its_own_tint(tmp_path, alpha, edge_mm):
    """By 11.4.6.2 the shares of a pixel add up: (1 - f) alpha + f alpha."""

    def draw(page: Drawing) -> None:
        page.gs(ca=alpha).ops.clear()
        solid = f"{HALF} 0 1 0 0 k {rect(3, 3, 6, 6)} f"
        inner = f"/GS4 gs 1 0 0 0 k {rect(2, 2, 35, 36)} f {solid} /GS4 gs 1 0 0 0 k {rect(edge_mm, 10, 45, 30)} f"
        in_group(page, inner, **KNOCK_OUT)

    plates = read_artwork(sheet(draw).save(tmp_path / "art.pdf")).pages[0].plates(100)
    row = plates.tint("Cyan")[int((HEIGHT_MM - 20) / plates.mm_per_px), 60:160] / 255
    assert row.min() == pytest.approx(alpha, abs=LEVEL)
    assert row.max() == pytest.approx(alpha, abs=LEVEL)


@pytest.mark.parametrize("paint", [1, 2])
@pytest.mark.parametrize("side_pt", [40.0, 3.0, 1.0, 0.3])
def test_a_tiling_at_a_half_has_half_its_tint_whatever_its_cells_and_the_window(tmp_path, side_pt, paint):
    def at(state: str) -> Sequence[float]:
        def draw(page: Drawing) -> None:
            colour = "/Pattern cs /T scn" if paint == 1 else "/Tinted cs 0 0.8 0 0 /T scn"
            own = "0 0.8 0 0 k " if paint == 1 else ""
            tiles(page, f"{own}0 0 {side_pt} {side_pt} re f", side_pt, paint)
            page.raw(f"{state} {colour} {rect(5, 5, 45, 30)} f")

        page = read_artwork(sheet(draw).save(tmp_path / "art.pdf")).pages[0]
        whole, window = page.plates(100), page.window((15, 15, 20, 20), 100)
        return [float(whole.tint("Magenta")[60:80, 60:80].mean()), float(window.tint("Magenta").mean())]

    assert at(HALF) == pytest.approx([value / 2 for value in at(WHOLE)], rel=0.02)


# -- what cannot be drawn truly ----------------------------------------------------------------------------------------


def opacity_that_counts_as_shape(page: Drawing) -> None:
    page.gs(AIS=True, ca=0.5).ops.clear()
    in_group(page, f"1 0 0 0 k {LOW} f /GS4 gs 0 1 0 0 k {HIGH} f", **KNOCK_OUT)


def a_group_that_blends_below_a_later_element(page: Drawing) -> None:
    page.fill((0.4, 0, 0, 0), rect=PAGE)
    form = page.form(f"{MULTIPLY} 0.5 0 0.3 0 k {LOW} f", bbox_mm=PAGE, group=group(CS=Name.DeviceCMYK))
    in_group(page, f"/{form} Do {HALF} 0 0 0 0.8 k {HIGH} f", K=True)


def filled_and_stroked_at_two_opacities_with_overprint(page: Drawing) -> None:
    page.gs(ca=1.0, CA=0.5, **ON)
    page.raw(f"/{page.spot('Gold')} cs 1 scn /{page.spot('Line')} CS 1 SCN {10 * MM} w {rect(15, 10, 35, 30)} B")


def filled_and_stroked_with_a_pattern_at_an_opacity(page: Drawing) -> None:
    tiles(page, "0 0.8 0 0 k 0 0 40 40 re f")
    page.raw(f"{HALF} 0 0 0.6 0 k /Pattern CS /T SCN {10 * MM} w {rect(15, 10, 35, 30)} B")


def a_tiling_at_an_opacity_through_a_mask(page: Drawing) -> None:
    tiles(page, "0 0.8 0 0 k 0 0 40 40 re f")
    in_group(page, f"{HALF} /Pattern CS /T SCN 9 w {LOW} S 0 1 0 0 k {HIGH} f", **KNOCK_OUT)


@pytest.mark.parametrize(
    "draw",
    [
        opacity_that_counts_as_shape,
        a_group_that_blends_below_a_later_element,
        filled_and_stroked_at_two_opacities_with_overprint,
        filled_and_stroked_with_a_pattern_at_an_opacity,
        a_tiling_at_an_opacity_through_a_mask,
    ],
)
def test_where_something_cannot_be_drawn_truly_the_page_is_uncertain(tmp_path, draw):
    page = read_artwork(sheet(draw).save(tmp_path / "art.pdf")).pages[0]
    assert page.plates(72).uncertain

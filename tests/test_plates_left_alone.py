"""What overprint leaves alone, in a blend mode: ISO 32000-2, 11.7.4.3.

The object is then a group that is not isolated, in which a plate that is left alone is as it is below; blended with
what is below that is blended with itself. Tints are worked out by hand: below Gold lies 40 % cyan, and 0.6 x 0.6 of
the light is 64 %; half of the way to it is 52 %.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest
from pikepdf import Array, Dictionary, Name, String

from preflight.artwork.read_artwork import read_artwork
from tests.drawn import MM, Drawing
from tests.plate_drawings import ON, PAGE, WIDTH_MM, group, mm, rect
from tests.referees import ghostscript_plates, mupdf_plates, needs_ghostscript, needs_mupdf
from tests.test_composed_groups import add_group, half_mask
from tests.test_transparency import (
    HALF,
    HIGH,
    KNOCK_OUT,
    LEVEL,
    LOW,
    MULTIPLY,
    OVERPRINT,
    WHOLE,
    Case,
    Place,
    Tints,
    agrees,
    glyphs,
    in_form,
    in_group,
    sheet,
    tiles,
)
from tests.test_transparency import tints as tints_at

MULTIPLIED = f"{OVERPRINT} {MULTIPLY}"
OVER_CYAN, ON_BOARD, BESIDE = {"Cyan": 0.64, "Gold": 0.6}, {"Gold": 0.6}, {"Cyan": 0.4}
CASES: dict[str, Case] = {}


def case(expected: Mapping[Place, Tints], **disputed: str) -> Callable[[Callable[[Drawing], object]], None]:
    def enter(draw: Callable[[Drawing], object]) -> None:
        CASES[draw.__name__] = Case(draw, expected, disputed)

    return enter


def over_cyan(page: Drawing, words: str) -> Drawing:
    """Words that paint with Gold over cyan on the left and board on the right."""
    page.fill((0.4, 0, 0, 0), rect=(5, 5, 30, 36)).raw(WHOLE)
    return page.raw(words.replace("GOLD", f"/{page.spot('Gold')} cs 0.6 scn"))


def shading(page: Drawing) -> None:
    """60 % of Gold from 15 to 40 mm, and nothing beyond."""
    tint = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0.6], C1=[0.6])
    space = page.resources.ColorSpace[Name("/" + page.spot("Gold"))]
    page.resources.Shading.S = Dictionary(
        ShadingType=2, ColorSpace=space, Coords=[15 * MM, 0, 40 * MM, 0], Function=tint
    )
    page.resources.Pattern.P = page.pdf.make_indirect(Dictionary(PatternType=2, Shading=page.resources.Shading.S))


def stencil(page: Drawing) -> str:
    page.resources.XObject.Stencil = page.pdf.make_stream(
        b"\0", Type=Name.XObject, Subtype=Name.Image, Width=1, Height=1, BitsPerComponent=1, ImageMask=True
    )
    return f"q {mm(38, 0, 0, 25, 8, 8)} cm /Stencil Do Q"


# -- on its own --------------------------------------------------------------------------------------------------------


def shaded_with_black(page: Drawing, state: str) -> None:
    """Half a black, multiplied and overprinting, over 40 % cyan and 30 % Gold."""
    page.fill((0.4, 0, 0, 0), rect=PAGE).raw(OVERPRINT).fill("Gold", 0.3, rect=(0, 0, WIDTH_MM, 20)).raw(WHOLE)
    page.raw(f"{MULTIPLIED} {state} 0 0 0 0.5 k {LOW} f")


@case({(10, 10): {"Cyan": 0.64, "Gold": 0.51, "Black": 0.5}, (10, 25): {"Cyan": 0.64, "Black": 0.5},
       (40, 30): {"Cyan": 0.4}})  # fmt: skip
def a_shadow(page: Drawing) -> None:
    shaded_with_black(page, "")


@case({(10, 10): {"Cyan": 0.52, "Gold": 0.405, "Black": 0.25}, (10, 25): {"Cyan": 0.52, "Black": 0.25}})
def half_a_shadow_is_half_of_that(page: Drawing) -> None:
    shaded_with_black(page, HALF)


@case({(20, 20): {"Cyan": 0.52, "Gold": 0.3}, (40, 20): {"Gold": 0.3}},
      gs="blends nothing with itself through a soft mask")  # fmt: skip
def through_a_soft_mask(page: Drawing) -> None:
    over_cyan(page, f"{half_mask(page)} {MULTIPLIED} GOLD {rect(7, 7, 45, 33)} f")


@case({(12, 20): {"Cyan": 0.64, "Gold": 0.6}, (25, 8): {"Cyan": 0.64, "Gold": 0.3}, (40, 20): {"Gold": 0.6}})
def filled_and_stroked_at_once(page: Drawing) -> None:
    """11.7.4.4: one object."""
    over_cyan(page, f"/{page.spot('Gold')} CS 0.3 SCN {4 * MM} w {MULTIPLIED} GOLD {rect(8, 8, 45, 33)} B")


@case({(20, 20): {"Gold": 0.64, "Magenta": 0.8}, (40, 20): {"Magenta": 0.8}}, gs="leaves the spot alone")
def in_an_indexed_colour(page: Drawing) -> None:
    page.resources.ColorSpace.Table = Array([Name.Indexed, Name.DeviceCMYK, 1, String(bytes([0] * 5 + [204, 0, 0]))])
    page.fill("Gold", 0.4, rect=(5, 5, 30, 36)).raw(WHOLE)
    page.gs(BM=Name.Multiply, OP=True, op=True, OPM=0).raw(f"/Table cs 1 scn {rect(7, 7, 45, 33)} f")


# -- as far as its shape goes ------------------------------------------------------------------------------------------

ENDS: Mapping[Place, Tints] = {(10, 10): BESIDE, (20, 10): OVER_CYAN, (35, 10): ON_BOARD, (45, 10): {}}
STEMS = f"BT /F0 300 Tf {mm(4.4, 5)} Td (I) Tj {mm(15.8, 0)} Td (I) Tj ET"
"""From 15 to 25 and from 31 to 40 mm."""
BEYOND = "blends beyond the ends of the shading, where it paints nothing"


@case(ENDS, mupdf=BEYOND)
def a_shading(page: Drawing) -> None:
    shading(page)
    over_cyan(page, f"{MULTIPLIED} q {rect(7, 7, 48, 30)} W n /S sh Q")


@case(ENDS, mupdf=BEYOND, gs="blends nothing with itself under a pattern, though under sh")
def what_is_filled_with_a_shading(page: Drawing) -> None:
    shading(page)
    over_cyan(page, f"{MULTIPLIED} /Pattern cs /P scn {rect(7, 7, 48, 30)} f")


@case(ENDS, mupdf=BEYOND, gs="blends nothing with itself under a pattern")
def what_is_stroked_with_a_shading(page: Drawing) -> None:
    shading(page)
    over_cyan(page, f"{MULTIPLIED} /Pattern CS /P SCN {10 * MM} w {mm(7, 10)} m {mm(48, 10)} l S")


@case({(20, 20): OVER_CYAN, (35.6, 20): ON_BOARD, (10, 20): BESIDE, (45, 20): {}},
      gs="blends nothing with itself under a pattern", mupdf="nor does it, with type in one")  # fmt: skip
def type_in_a_shading(page: Drawing) -> None:
    shading(page)
    over_cyan(page, f"{MULTIPLIED} /Pattern cs /P scn {STEMS}")


@case({(20, 20): OVER_CYAN, (35.6, 20): ON_BOARD, (10, 20): BESIDE, (45, 20): {}})
def type_(page: Drawing) -> None:
    over_cyan(page, f"{MULTIPLIED} GOLD {STEMS}")


@case({(10, 10): OVER_CYAN, (35, 10): ON_BOARD})
def a_glyph_without_a_colour_of_its_own(page: Drawing) -> None:
    glyphs(page, b"10 0 0 0 80 50 d1 0 0 80 50 re f")
    over_cyan(page, f"{MULTIPLIED} GOLD BT /T3 1 Tf {mm(7, 7)} Td (a) Tj ET")


@case({(20, 20): {"Cyan": 0.52, "Gold": 0.3}, (40, 20): {"Gold": 0.3}})
def a_stencil_at_an_opacity(page: Drawing) -> None:
    over_cyan(page, f"{MULTIPLIED} {HALF} GOLD {stencil(page)}")


@case({(10, 20): BESIDE, (20, 20): OVER_CYAN, (35, 20): ON_BOARD, (43, 20): {}}, mupdf=BEYOND,
      gs="knocks out with a stencil in a pattern")  # fmt: skip
def a_stencil_in_a_shading(page: Drawing) -> None:
    shading(page)
    over_cyan(page, f"{MULTIPLIED} /Pattern cs /P scn {stencil(page)}")


@case({(20, 20): {"Cyan": 0.52, "Gold": 0.3}, (40, 20): {"Gold": 0.3}},
      gs="blends nothing with itself through a soft mask")  # fmt: skip
def a_picture_with_a_soft_mask(page: Drawing) -> None:
    keys: dict[str, Any] = {"Type": Name.XObject, "Subtype": Name.Image, "Width": 1, "Height": 1, "BitsPerComponent": 8}
    space = page.resources.ColorSpace[Name("/" + page.spot("Gold"))]
    half = page.pdf.make_stream(b"\x80", Dictionary(**keys, ColorSpace=Name.DeviceGray))
    page.resources.XObject.Picture = page.pdf.make_stream(b"\x99", Dictionary(**keys, ColorSpace=space, SMask=half))
    over_cyan(page, f"{MULTIPLIED} q {mm(38, 0, 0, 25, 8, 8)} cm /Picture Do Q")


# -- in groups ---------------------------------------------------------------------------------------------------------

INNER = f"{MULTIPLIED} GOLD {HIGH} f"


def in_gold(page: Drawing, words: str) -> str:
    return words.replace("GOLD", f"/{page.spot('Gold')} cs 0.6 scn")


@case({(10, 10): {"Black": 0.5, "Cyan": 0.64, "Magenta": 0.36}, (25, 25): {"Black": 0.5}})
def in_an_isolated_group_it_meets_what_is_in_that(page: Drawing) -> None:
    in_group(page, f"0.4 0.2 0 0 k {rect(2, 2, 15, 15)} f {MULTIPLIED} 0 0 0 0.5 k {LOW} f", I=True)


@case({(20, 20): {"Gold": 0.6}, (10, 10): BESIDE, (40, 30): ON_BOARD})
def on_nothing_in_an_isolated_group_its_own_tint_of_zero_shows(page: Drawing) -> None:
    in_group(over_cyan(page, ""), in_gold(page, INNER), I=True)


@case({(20, 20): OVER_CYAN, (10, 10): BESIDE, (40, 30): ON_BOARD})
def in_a_group_that_is_not_isolated(page: Drawing) -> None:
    in_group(over_cyan(page, ""), in_gold(page, INNER))


@case({(20, 20): OVER_CYAN, (10, 10): BESIDE, (40, 30): ON_BOARD})
def in_a_form_that_takes_over_the_state(page: Drawing) -> None:
    over_cyan(page, f"{MULTIPLIED} {in_form(page, in_gold(page, f'GOLD {HIGH} f'))}")


@case({(20, 20): {"Cyan": 0.52, "Gold": 0.3}, (10, 10): BESIDE, (40, 30): {"Gold": 0.3}})
def in_a_faint_group(page: Drawing) -> None:
    in_group(over_cyan(page, HALF), in_gold(page, INNER))


@case({(20, 20): {"Cyan": 0.52, "Gold": 0.3}, (10, 10): BESIDE, (40, 30): {"Gold": 0.3}})
def in_a_group_through_a_soft_mask(page: Drawing) -> None:
    over_cyan(page, f"{half_mask(page)} /{add_group(page, in_gold(page, INNER))} Do")


@case({(20, 20): {"Cyan": 0.784, "Gold": 0.6}, (10, 10): BESIDE, (40, 30): ON_BOARD})
def in_a_group_that_is_multiplied_itself(page: Drawing) -> None:
    """0.6 x 0.36 of the light."""
    over_cyan(page, f"{MULTIPLY} /{add_group(page, in_gold(page, INNER))} Do")


@case({(20, 20): OVER_CYAN, (25, 20): OVER_CYAN, (25, 10): {"Cyan": 1}, (40, 30): ON_BOARD})
def in_a_knock_out_group(page: Drawing) -> None:
    """It meets what lay there before the group (11.4.6.2), and not the solid in it."""
    in_group(over_cyan(page, ""), in_gold(page, f"1 0 0 0 k {rect(22, 6, 28, 34)} f {INNER}"), K=True)


@case({(20, 20): ON_BOARD, (25, 20): ON_BOARD, (25, 10): {"Cyan": 0.5}, (40, 30): ON_BOARD})
def in_a_knock_out_group_that_is_isolated(page: Drawing) -> None:
    in_group(over_cyan(page, ""), in_gold(page, f"0.5 0 0 0 k {rect(22, 6, 28, 34)} f {INNER}"), **KNOCK_OUT)


@case({(10, 20): {"Magenta": 0.75, "Yellow": 0.75, "Gold": 0.6}, (40, 20): ON_BOARD},
      gs="converts by profiles, and not by the plain formula", mupdf="leaves the light alone")  # fmt: skip
def on_a_page_that_is_blended_in_light(page: Drawing) -> None:
    """(1, .5, .5) multiplied with itself is (1, .25, .25)."""
    page.page.obj.Group = group(CS=Name.DeviceRGB)
    page.raw(in_gold(page, f"1 0.5 0.5 rg {rect(5, 5, 30, 36)} f {MULTIPLIED} GOLD {rect(7, 7, 45, 33)} f"))


@pytest.fixture(scope="module", params=CASES)
def drawn(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp(request.param[:20])
    return CASES[request.param], sheet(CASES[request.param].draw).save(folder / "art.pdf"), folder


def test_plates_are_what_the_standard_says(drawn):
    case, file, _ = drawn
    plates = read_artwork(file).pages[0].plates(100)
    assert plates.uncertain == ()
    shown = {name: plates.tint(name) / 255 for name in plates.names}
    for place, expected in case.expected.items():
        assert tints_at(shown, place) == pytest.approx(expected, abs=LEVEL), place


@needs_ghostscript
def test_ghostscript_agrees(drawn):
    case, file, folder = drawn
    assert agrees(case, ghostscript_plates(file, folder / "gs", dpi=50, finer=1)) != ("gs" in case.disputed)


@needs_mupdf
def test_mupdf_agrees(drawn):
    case, file, folder = drawn
    assert agrees(case, mupdf_plates(file, folder, dpi=50)) != ("mupdf" in case.disputed)


# -- modes that can be drawn where nothing lies below ------------------------------------------------------------------


@pytest.mark.parametrize("mode", ["Screen", "Overlay", "HardLight", "SoftLight", "Difference", "Exclusion"])
def test_in_any_blend_mode_it_is_measured_where_nothing_lies_below(tmp_path, mode):
    """The backdrop's alpha is zero there, and bare board is bare board."""

    def draw(page: Drawing) -> None:
        page.fill((0.4, 0, 0, 0), rect=(5, 5, 15, 30))
        page.gs(BM=Name("/" + mode), **ON).fill("Gold", 0.5, rect=(20, 5, 45, 30))

    plates = read_artwork(sheet(draw).save(tmp_path / "art.pdf")).pages[0].plates(72)
    shown = {name: plates.tint(name) / 255 for name in plates.names}
    assert plates.uncertain == ()
    assert tints_at(shown, (10, 20)) == pytest.approx({"Cyan": 0.4}, abs=LEVEL)
    assert tints_at(shown, (30, 20)) == pytest.approx({"Gold": 0.5}, abs=LEVEL)


def in_mode(mode: str) -> Callable[[Drawing], object]:
    def over_ink_in_another_mode(page: Drawing) -> None:
        page.fill((0.4, 0, 0, 0), rect=PAGE)
        page.gs(BM=Name("/" + mode), **ON).fill("Gold", 0.5, rect=(5, 5, 28, 28))

    return over_ink_in_another_mode


def at_an_opacity_in_an_isolated_group(page: Drawing) -> None:
    in_group(page, in_gold(page, f"0.4 0 0 0 k {LOW} f {HALF} {INNER}"), I=True)


def filled_on_one_plate_and_stroked_on_another(page: Drawing) -> None:
    over_cyan(page, f"/{page.spot('Line')} CS 0.3 SCN {4 * MM} w {MULTIPLIED} GOLD {rect(8, 8, 45, 33)} B")


def in_fine_cells(page: Drawing) -> None:
    cell = in_gold(page, f"{MULTIPLIED} GOLD 0 0 0.7 0.7 re f")
    tiles(page, cell, 1)
    over_cyan(page, f"/Pattern cs /T scn {rect(7, 7, 45, 33)} f")


def in_cells_that_are_stroked_with(page: Drawing) -> None:
    tiles(page, in_gold(page, f"{MULTIPLIED} GOLD 0 0 20 40 re f"))
    over_cyan(page, f"/Pattern CS /T SCN {10 * MM} w {mm(7, 10)} m {mm(48, 10)} l S")


def by_glyphs_with_colours_of_their_own(page: Drawing) -> None:
    glyphs(page, in_gold(page, "10 0 d0 GOLD 0 0 80 50 re f").encode())
    over_cyan(page, f"{MULTIPLIED} BT /T3 1 Tf {mm(7, 7)} Td (a) Tj ET")


def in_glyphs_that_are_blended(page: Drawing) -> None:
    glyphs(page, in_gold(page, f"10 0 d0 {MULTIPLIED} GOLD 0 0 80 50 re f").encode())
    over_cyan(page, f"{MULTIPLY} BT /T3 1 Tf {mm(7, 7)} Td (a) Tj ET")


@pytest.mark.parametrize(
    "draw",
    [
        *(in_mode(mode) for mode in ("Screen", "Overlay", "HardLight", "SoftLight", "Difference", "Exclusion")),
        at_an_opacity_in_an_isolated_group,
        filled_on_one_plate_and_stroked_on_another,
        in_fine_cells,
        in_cells_that_are_stroked_with,
        by_glyphs_with_colours_of_their_own,
        in_glyphs_that_are_blended,
    ],
)
def test_where_it_cannot_be_drawn_truly_the_place_is_uncertain(tmp_path, draw):
    page = read_artwork(sheet(draw).save(tmp_path / "art.pdf")).pages[0]
    assert page.plates(72).uncertain

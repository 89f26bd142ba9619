"""Groups that are composed by us and not by PDFium: masked, blended and faint ones that are not isolated, and those
that are blended in light. Tints are worked out by hand from ISO 32000-2, clauses 10.4.2 and 11.

Where it says light, 1 is bare board and 0 is solid; blend modes work on that.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import pytest
from pikepdf import Dictionary, Name

from preflight.artwork.read_artwork import read_artwork
from tests.drawn import MM, Drawing
from tests.plate_drawings import PAGE, group, rect
from tests.referees import ghostscript_plates, mupdf_plates, needs_ghostscript, needs_mupdf
from tests.test_transparency import (
    HALF,
    HIGH,
    LEVEL,
    LOW,
    MULTIPLY,
    OVERPRINT,
    WHOLE,
    Case,
    Place,
    Tints,
    agrees,
    sheet,
)
from tests.test_transparency import tints as tints_at

CONVERTS = "converts by profiles, and not by the plain formula"
CASES: dict[str, Case] = {}


def case(expected: Mapping[Place, Tints], **disputed: str) -> Callable[[Callable[[Drawing], object]], None]:
    def enter(draw: Callable[[Drawing], object]) -> None:
        CASES[draw.__name__] = Case(draw, expected, disputed)

    return enter


def add_group(page: Drawing, inner: str, **keys: object) -> str:
    keys = {"CS": Name.DeviceCMYK, **keys}
    return page.form(inner, bbox_mm=PAGE, group=group(**keys))


def half_mask(page: Drawing, luminosity: str = "0.5 g") -> str:
    """A graphics state with a soft mask of one half; returns its operator."""
    form = page.form(f"{luminosity} {rect(*PAGE)} f", bbox_mm=PAGE, group=group(CS=Name.DeviceGray, I=True))
    page.resources.ExtGState.Masked = Dictionary(
        SMask=Dictionary(S=Name.Luminosity, G=page.resources.XObject[Name("/" + form)])
    )
    return "/Masked gs"


# -- masked, blended, faint: 11.4.8 and 11.6.6 -----------------------------------------------------------------------


@case({(10, 10): {"Magenta": 0.5}, (20, 20): {"Magenta": 0.65}, (40, 30): {"Magenta": 0.3}, (48, 3): {}})
def a_shadow_under_a_soft_mask(page: Drawing) -> None:
    """Over 0.5 the shadow gives 1 - 0.5 x 0.4 = 0.8, and half of the way to it is 0.65."""
    page.fill((0, 0.5, 0, 0), rect=(5, 5, 28, 28))
    form = add_group(page, f"{MULTIPLY} 0 0.6 0 0 k {HIGH} f")
    page.raw(f"q {half_mask(page)} /{form} Do Q")


@case({(10, 10): {"Gold": 0.5}, (20, 20): {"Gold": 0.65, "Cyan": 0.2}, (40, 30): {"Gold": 0.3, "Cyan": 0.2}})
def on_the_plate_of_a_spot_it_is_the_same(page: Drawing) -> None:
    page.fill("Gold", 0.5, rect=(5, 5, 28, 28))
    inner = f"{MULTIPLY} /{page.spot('Gold')} cs 0.6 scn {HIGH} f 0.4 0 0 0 k {HIGH} f"
    page.raw(f"q {half_mask(page)} /{add_group(page, inner)} Do Q")


@case({(20, 20): {"Magenta": 0.65}, (10, 10): {"Magenta": 0.5}, (40, 30): {"Magenta": 0.6}})
def a_group_multiplied_as_a_whole_with_a_screened_object_in_it(page: Drawing) -> None:
    """In the group light is 0.5 + 0.4 - 0.2 = 0.7; multiplied with the 0.5 below it 0.35."""
    page.fill((0, 0.5, 0, 0), rect=(5, 5, 28, 28))
    page.gs(BM=Name.Screen).ops.pop()
    form = add_group(page, f"/GS4 gs 0 0.6 0 0 k {rect(15, 15, 27, 27)} f {WHOLE} 0 0.6 0 0 k {rect(35, 25, 45, 35)} f")
    page.raw(f"q {MULTIPLY} /{form} Do Q")


@case({(20, 20): {"Magenta": 0.575}, (10, 10): {"Magenta": 0.5}})
def a_faint_group_multiplied_as_a_whole_with_a_screened_object_in_it(page: Drawing) -> None:
    """Half of the way from light 0.5 to 0.35 is 0.425."""
    page.fill((0, 0.5, 0, 0), rect=(5, 5, 28, 28))
    page.gs(BM=Name.Screen).ops.pop()
    page.gs(BM=Name.Multiply, ca=0.5, CA=0.5).ops.pop()
    page.raw(f"q /GS5 gs /{add_group(page, f'/GS4 gs 0 0.6 0 0 k {rect(15, 15, 27, 27)} f')} Do Q")


@case({(10, 10): {"Cyan": 0.4}, (20, 20): {"Cyan": 0.2, "Magenta": 0.3}, (40, 30): {"Magenta": 0.3}})
def in_an_isolated_group_it_does_not_meet_what_lies_below_that(page: Drawing) -> None:
    """On nothing the shadow is 0.6 at an alpha of a half."""
    page.fill((0.4, 0, 0, 0), rect=(5, 5, 28, 28))
    shadow = add_group(page, f"{MULTIPLY} 0 0.6 0 0 k {HIGH} f")
    outer = add_group(page, f"q {half_mask(page)} /{shadow} Do Q", I=True)
    page.raw(f"/{outer} Do")


@case({(20, 20): {"Magenta": 0.8}, (10, 10): {"Magenta": 0.5}, (40, 30): {"Magenta": 0.6}, (40, 34.5): {"Yellow": 1}})
def what_stands_before_it_and_behind_it_in_a_form_stays_in_order(page: Drawing) -> None:
    """Not masked, not faint: the group need not be composed; a masked one beside it in the same form is."""
    shadow = add_group(page, f"{MULTIPLY} 0 0.6 0 0 k {HIGH} f")
    masked = add_group(page, f"{MULTIPLY} 0 0 0.5 0 k {rect(1, 1, 4, 4)} f")
    form = page.form(
        f"0 0.5 0 0 k {LOW} f q {half_mask(page)} /{masked} Do Q /{shadow} Do 0 0 1 0 k {rect(30, 34, 45, 35)} f",
        bbox_mm=PAGE,
    )
    page.raw(f"/{form} Do")


@case({(12, 20): {"Magenta": 0.65}, (37, 20): {"Magenta": 0.65}, (12, 8): {"Magenta": 0.5}, (37, 31): {"Magenta": 0.5},
       (25, 20): {}})  # fmt: skip
def a_form_placed_twice_once_upside_down(page: Drawing) -> None:
    shadow = add_group(page, f"{MULTIPLY} 0 0.6 0 0 k {rect(5, 15, 20, 25)} f")
    inner = f"0 0.5 0 0 k {rect(5, 5, 20, 25)} f q {half_mask(page)} /{shadow} Do Q"
    form = page.form(inner, bbox_mm=(0, 0, 25.4, 38.1))
    page.raw(f"q /{form} Do Q q -1 0 0 -1 {49.4 * MM} {39 * MM} cm /{form} Do Q")


@case({(20, 20): {"Magenta": 0.6625}, (10, 10): {"Magenta": 0.5}})
def one_such_group_in_another(page: Drawing) -> None:
    """The inner one goes half of the way from light 0.5 to 0.5 x 0.4, to 0.35; in the outer one that becomes
    0.35 x 0.5 = 0.175; and half of the way from 0.5 to it is 0.3375."""
    page.fill((0, 0.5, 0, 0), rect=(5, 5, 28, 28))
    state = half_mask(page)
    inner = add_group(page, f"{MULTIPLY} 0 0.6 0 0 k {HIGH} f")
    outer = add_group(page, f"q {state} /{inner} Do Q {MULTIPLY} 0 0.5 0 0 k {HIGH} f")
    page.raw(f"q {state} /{outer} Do Q")


@case({(20, 20): {"Magenta": 0.65, "Yellow": 0.1}, (10, 10): {"Magenta": 0.5}, (40, 30): {"Magenta": 0.3}})
def through_a_mask_that_is_a_shape(page: Drawing) -> None:
    """A mask by opacity: half of the group, and nothing outside of it."""
    page.fill((0, 0.5, 0, 0), rect=(5, 5, 28, 28))
    form = page.form(f"{HALF} 0 g {rect(15, 15, 45, 32)} f", bbox_mm=PAGE, group=group(CS=Name.DeviceGray, I=True))
    page.gs(SMask=Dictionary(S=Name.Alpha, G=page.resources.XObject[Name("/" + form)])).ops.pop()
    inner = f"{MULTIPLY} 0 0.6 0 0 k {rect(*PAGE)} f 0 0 0.2 0 k {rect(10, 10, 28, 28)} f"
    page.raw(f"q /GS4 gs /{add_group(page, inner)} Do Q")


@case({(20, 20): {"Magenta": 0.65}, (10, 10): {"Magenta": 0.5}, (33, 33): {}, (40, 20): {"Magenta": 0.3}})
def in_a_clip_that_is_no_rectangle(page: Drawing) -> None:
    page.fill((0, 0.5, 0, 0), rect=(5, 5, 28, 28))
    form = add_group(page, f"{MULTIPLY} 0 0.6 0 0 k {rect(*PAGE)} f")
    points = [(15, 15), (48, 15), (48, 25), (15, 34)]
    path = " ".join(f"{x * MM:.3f} {y * MM:.3f} {'l' if at else 'm'}" for at, (x, y) in enumerate(points))
    page.raw(f"q {path} h W n {half_mask(page)} /{form} Do Q")


@case({(20, 20): {"Magenta": 0.8}, (10, 10): {"Magenta": 0.5, "Gold": 0.3}, (30, 20): {"Magenta": 0.6}})
def a_group_in_the_group_that_blends_through_both(page: Drawing) -> None:
    """The inner group is not isolated either: its object meets the page below. Its mask is whole here."""
    page.fill((0, 0.5, 0, 0), rect=(5, 5, 28, 28))
    page.raw(OVERPRINT).fill("Gold", 0.3, rect=(7, 7, 13, 13)).raw("/GS1 gs")
    inner = add_group(page, f"{MULTIPLY} 0 0.6 0 0 k {rect(15, 15, 40, 25)} f")
    outer = add_group(page, f"/{inner} Do")
    page.raw(f"q {half_mask(page, '1 g')} /{outer} Do Q")


# -- blended in light: 11.3.4, 10.4.2 --------------------------------------------------------------------------------

_RED, _BLUE = "1 0.5 0.5 rg", "0.5 0.5 1 rg"


@case({(20, 20): {"Magenta": 0.25, "Black": 0.5}, (10, 10): {"Magenta": 0.5, "Yellow": 0.5},
       (40, 30): {"Cyan": 0.5, "Magenta": 0.5}}, gs=CONVERTS)  # fmt: skip
def two_colours_multiplied_in_an_rgb_group(page: Drawing) -> None:
    """(1, .5, .5) x (.5, .5, 1) = (.5, .25, .5) in light: what the three share goes to black."""
    inner = f"{_RED} {LOW} f {MULTIPLY} {_BLUE} {HIGH} f"
    page.raw(f"/{add_group(page, inner, CS=Name.DeviceRGB, I=True)} Do")


@case({(20, 20): {"Magenta": 0.25, "Black": 0.5}, (10, 10): {"Magenta": 0.5, "Yellow": 0.5},
       (40, 30): {"Cyan": 0.5, "Magenta": 0.5}}, gs=CONVERTS)  # fmt: skip
def two_colours_multiplied_on_a_page_that_is_blended_in_rgb(page: Drawing) -> None:
    page.page.obj.Group = group(CS=Name.DeviceRGB)
    page.raw(f"{_RED} {LOW} f {MULTIPLY} {_BLUE} {HIGH} f")


@case({(20, 20): {"Cyan": 0.1, "Magenta": 0.2, "Black": 0.3}}, gs=CONVERTS)
def cyan_magenta_and_yellow_in_an_rgb_group_lose_what_they_share(page: Drawing) -> None:
    """Half of (0.8, 1, 0.6) over white is (0.4, 0.5, 0.3) of ink, of which 0.3 is grey."""
    inner = f"1 1 1 rg {rect(*PAGE)} f {HALF} 0.8 1 0.6 0 k {HIGH} f"
    page.raw(f"/{add_group(page, inner, CS=Name.DeviceRGB, I=True)} Do")


@case({(20, 20): {"Gold": 0.8, "Magenta": 0.75, "Yellow": 0.75}, (40, 30): {"Gold": 0.6},
       (10, 10): {"Gold": 0.5, "Magenta": 0.5, "Yellow": 0.5}},
      gs=CONVERTS, mupdf="knocks out the page below a spot that overprints in light")  # fmt: skip
def a_spot_in_an_rgb_group_is_blended_on_its_own_plate(page: Drawing) -> None:
    """1 - 0.5 x 0.4; light that it leaves alone is multiplied with itself, (1, .5, .5) to (1, .25, .25): 11.7.4.3."""
    inner = f"{_RED} {LOW} f {OVERPRINT} /{page.spot('Gold')} cs 0.5 scn {LOW} f {MULTIPLY} 0.6 scn {HIGH} f"
    page.raw(f"/{add_group(page, inner, CS=Name.DeviceRGB, I=True)} Do")


@case({(20, 20): {"Cyan": 0.4, "Black": 0.25}, (10, 10): {"Cyan": 0.4}, (40, 30): {"Black": 0.25}},
      gs=CONVERTS)  # fmt: skip
def an_rgb_group_at_a_half_multiplied_with_the_page(page: Drawing) -> None:
    """Grey 0.5 in an RGB group is black 0.5; half of it, multiplied, leaves cyan and adds black."""
    page.fill((0.4, 0, 0, 0), rect=(5, 5, 28, 28))
    page.gs(BM=Name.Multiply, ca=0.5, CA=0.5).ops.pop()
    inner = f"0.8 0.8 0.8 rg {HIGH} f {MULTIPLY} 0.625 0.625 0.625 rg {HIGH} f"
    page.raw(f"q /GS4 gs /{add_group(page, inner, CS=Name.DeviceRGB, I=True)} Do Q")


@case({(20, 20): {"Black": 0.44}, (10, 10): {"Black": 0.3}, (40, 30): {"Black": 0.2}}, gs=CONVERTS)
def a_gray_group_gives_black_only(page: Drawing) -> None:
    """Magenta 0.3 / 0.59 is gray 0.7; multiplied with gray 0.8 that is 0.56."""
    inner = f"0 {0.3 / 0.59:.5f} 0 0 k {LOW} f {MULTIPLY} 0.8 g {HIGH} f"
    page.raw(f"/{add_group(page, inner, CS=Name.DeviceGray, I=True)} Do")


@case({(20, 20): {"Cyan": 0.1, "Magenta": 0.2, "Yellow": 0.3, "Black": 0.4}}, gs=CONVERTS,
      mupdf="brings to light and back what nothing is blended with")  # fmt: skip
def where_nothing_is_blended_colours_stay_as_they_are(page: Drawing) -> None:
    page.page.obj.Group = group(CS=Name.DeviceRGB)
    page.fill((0.1, 0.2, 0.3, 0.4), rect=(5, 5, 40, 30))


@pytest.fixture(scope="module", params=CASES)
def drawn(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp(request.param[:20])
    return CASES[request.param], sheet(CASES[request.param].draw).save(folder / "art.pdf"), folder


def test_plates_are_what_the_standard_says(drawn):
    case, file, _ = drawn
    plates = read_artwork(file).pages[0].plates(100)
    shown = {name: plates.tint(name) / 255 for name in plates.names}
    for place, expected in case.expected.items():
        assert tints_at(shown, place) == pytest.approx(expected, abs=LEVEL), place


def test_a_window_shows_what_the_page_shows(drawn):
    case, file, _ = drawn
    page = read_artwork(file).pages[0]
    for (x, y), expected in case.expected.items():
        window = page.window((x - 0.5, y - 0.5, x + 0.5, y + 0.5), 300)
        middle = {name: float(window.tint(name)[5:7, 5:7].mean()) / 255 for name in window.names}
        assert {name: tint for name, tint in middle.items() if tint > LEVEL} == pytest.approx(expected, abs=LEVEL)


@needs_ghostscript
def test_ghostscript_agrees(drawn):
    case, file, folder = drawn
    assert agrees(case, ghostscript_plates(file, folder / "gs", dpi=50, finer=1)) != ("gs" in case.disputed)


@needs_mupdf
def test_mupdf_agrees(drawn):
    case, file, folder = drawn
    assert agrees(case, mupdf_plates(file, folder, dpi=50)) != ("mupdf" in case.disputed)


def test_many_shadows_take_time_in_proportion(tmp_path):
    """Forty masked shadows in a form are as many as the half of eighty; none is lost."""
    page = sheet(lambda drawing: None)
    state = half_mask(page)
    for at in range(80):
        x, y = 2 + at % 10 * 4.5, 2 + at // 10 * 4
        shadow = add_group(page, f"{MULTIPLY} 0 0.6 0 0 k {rect(x, y, x + 3, y + 3)} f")
        page.raw(f"q {state} /{shadow} Do Q")
    plates = read_artwork(page.save(tmp_path / "art.pdf")).pages[0].plates(100)
    assert float(plates.tint("Magenta").sum()) / 255 * plates.mm_per_px**2 == pytest.approx(80 * 9 * 0.3, rel=0.01)


@pytest.mark.parametrize("mode", ["Multiply", "Screen", "Overlay", "Darken", "Lighten", "ColorDodge", "ColorBurn",
                                  "HardLight", "SoftLight", "Difference", "Exclusion", "Hue", "Saturation", "Color",
                                  "Luminosity"])  # fmt: skip
def test_modes_of_composed_groups_are_those_that_are_drawn(tmp_path, mode):
    """The same object in a group that PDFium composes and, with a neutral mask by opacity, in one that we compose."""

    def page_of(*, composed: bool) -> Drawing:
        page = sheet(lambda drawing: None)
        page.fill((0.2, 0.5, 0.7, 0.1), rect=(5, 5, 28, 28))
        page.gs(BM=Name("/" + mode)).ops.pop()
        inner = f"0.3 0.6 0.1 0.2 k {HIGH} f" + (f" {MULTIPLY} 0 0 0 0 k 0 0 1 1 re f" if composed else "")
        return page.raw(f"q /GS4 gs /{add_group(page, inner)} Do Q")

    found = []
    for composed in (False, True):
        plates = read_artwork(page_of(composed=composed).save(tmp_path / f"{composed}.pdf")).pages[0].plates(100)
        found.append(plates.ink.astype(int))
    assert np.abs(found[0] - found[1]).max() <= 3

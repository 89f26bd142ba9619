"""Plates with tints worked out by hand, where Ghostscript converts colours, or reads a clause otherwise.

RGB, Lab, calibrated and ICC colours go through profiles in Ghostscript; here nobody prints them as they are, and the
published formulas hold. The other cases name the clause.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.read_artwork import read_artwork
from tests.drawn import Drawing
from tests.plate_drawings import HEIGHT_MM, ON, PAGE, WIDTH_MM, device_n, group, rect
from tests.plate_drawings_groups import HALF_AND_WHOLE, soft_mask

LEVEL = 1.01 / 255


def tints_at(page: Drawing, path: Path, *places_mm: tuple[float, float]) -> list[dict[str, float]]:
    """Tints of the plates that have ink at places of the page."""
    plates = read_artwork(page.save(path / "art.pdf")).pages[0].plates(100)
    found = []
    for x, y in places_mm:
        row, column = int((HEIGHT_MM - y) / plates.mm_per_px), int(x / plates.mm_per_px)
        inked = {name: float(plates.tint(name)[row, column]) / 255 for name in plates.names}
        found.append({name: tint for name, tint in inked.items() if tint > LEVEL})
    return found


def sheet() -> Drawing:
    return Drawing(WIDTH_MM, HEIGHT_MM)


WHITE_POINT = Dictionary(WhitePoint=Array([0.9505, 1, 1.089]))


def _icc(page: Drawing, count: int) -> Array:
    profile = page.pdf.make_stream(b"\0" * 128)
    profile.N = count
    return Array([Name.ICCBased, profile])


SPACES = {
    "rgb": lambda page: Name.DeviceRGB,
    "calrgb": lambda page: Array([Name.CalRGB, WHITE_POINT]),
    "calgray": lambda page: Array([Name.CalGray, WHITE_POINT]),
    "lab": lambda page: Array([Name.Lab, WHITE_POINT]),
    "icc1": lambda page: _icc(page, 1),
    "icc3": lambda page: _icc(page, 3),
    "icc4": lambda page: _icc(page, 4),
}


@pytest.mark.parametrize(
    ("space", "colour", "expected"),
    [
        # ISO 32000-2, 10.4.2.4 with K = min(C, M, Y) taken off: red, a greenish grey, grey, white.
        ("rgb", "1 0 0", {"Magenta": 1, "Yellow": 1}),
        ("rgb", "0.2 0.4 0.4", {"Cyan": 0.2, "Black": 0.6}),
        ("rgb", "0.5 0.5 0.5", {"Black": 0.5}),
        ("rgb", "1 1 1", {}),
        ("calrgb", "0 0.25 1", {"Cyan": 1, "Magenta": 0.75}),
        ("calgray", "0.4", {"Black": 0.6}),
        # L* 50 is sRGB 119 (IEC 61966-2-1); L* 0 is black.
        ("lab", "50 0 0", {"Black": 136 / 255}),
        ("lab", "0 0 0", {"Black": 1}),
        # ICCBased by its number of components.
        ("icc1", "0.3", {"Black": 0.7}),
        ("icc3", "1 0 0", {"Magenta": 1, "Yellow": 1}),
        ("icc4", "0.1 0.2 0.3 0.4", {"Cyan": 0.1, "Magenta": 0.2, "Yellow": 0.3, "Black": 0.4}),
    ],
)
def test_colours_that_are_no_plates_take_the_published_formula(tmp_path, space, colour, expected):
    page = sheet()
    page.resources.ColorSpace.S = SPACES[space](page)
    page.fill("Gold", 1, rect=(0, 0, 20, 38)).raw(f"/S cs {colour} scn {rect(10, 5, 40, 30)} f").gs(**ON)
    page.raw(f"{rect(2, 31, 8, 37)} f")
    inside, beside, over = tints_at(page, tmp_path, (15, 15), (5, 15), (5, 34))
    assert inside == pytest.approx(expected, abs=1.5 * LEVEL)
    assert beside == {"Gold": 1}
    assert over == pytest.approx({"Gold": 1, **expected}, abs=1.5 * LEVEL)


def test_all_of_cs_is_solid_even_where_the_space_is_chosen_again(tmp_path):
    """8.6.8: cs sets the initial colour. Ghostscript keeps the tints of the same space."""
    page = sheet()
    device_n(page, "DN", ["Cyan", "Gold"])
    page.raw(f"/DN cs 0.25 0.5 scn {rect(0, 0, 10, 30)} f /DN cs {rect(20, 0, 30, 30)} f")
    set_, again = tints_at(page, tmp_path, (5, 15), (25, 15))
    assert set_ == pytest.approx({"Cyan": 0.25, "Gold": 0.5}, abs=LEVEL)
    assert again == {"Cyan": 1, "Gold": 1}


def test_default_cmyk_stands_for_device_cmyk_in_paths_and_images(tmp_path):
    """8.6.5.6. Ghostscript 10.00 ends with a fault on a DeviceN space there."""
    page = sheet()
    device_n(page, "DefaultCMYK", ["Line", "Magenta", "Yellow", "Black"])
    page.fill((0.5, 0.2, 0.1, 0.3), rect=(0, 0, 20, 30)).image(bytes([255, 0, 51, 0]), 1, 1, (25, 0, 45, 30))
    filled, pictured = tints_at(page, tmp_path, (10, 15), (35, 15))
    assert filled == pytest.approx({"Line": 0.5, "Magenta": 0.2, "Yellow": 0.1, "Black": 0.3}, abs=LEVEL)
    assert pictured == pytest.approx({"Line": 1, "Yellow": 0.2}, abs=LEVEL)


def test_a_form_and_an_image_on_a_hidden_layer_do_not_print(tmp_path):
    """8.11.3.3. Ghostscript 10.00 passes over the OC entry of a form."""
    page = sheet()
    page.layer("hidden", on=False)
    page.ops.pop()
    form = page.form(f"/{page.spot('Gold')} cs 1 scn {rect(5, 5, 20, 30)} f", bbox_mm=PAGE)
    page.raw(f"/{form} Do").image(bytes([255, 0, 0, 0]), 1, 1, (25, 5, 45, 30)).fill("Line", rect=(0, 31, 50, 38))
    for name in ("Fm0", "Im1"):
        page.resources.XObject[Name("/" + name)].OC = page.resources.Properties.OC0
    assert tints_at(page, tmp_path, (10, 15), (35, 15), (10, 35)) == [{}, {}, {"Line": 1}]


@pytest.mark.parametrize(
    ("colour", "light"),
    [
        ("0 0 0 0.5 k", 0.5),
        ("0.5 0 0 0 k", 0.85),  # 0.30 (1 - C) + 0.59 + 0.11
        ("0 0.5 0 0.2 k", 0.564),  # (0.30 + 0.59 / 2 + 0.11) x 0.8
        ("0 0 1 rg", 0.11),
        ("0.25 g", 0.25),
    ],
)
def test_colours_in_a_luminosity_mask_are_as_light_as_the_standard_says(tmp_path, colour, light):
    """11.5.3. Ghostscript takes the way through its profiles."""
    page = sheet()
    mask = soft_mask(page, f"{colour} {rect(5, 5, 45, 30)} f")
    mask.G.Group.CS = Name.DeviceCMYK
    page.gs(SMask=mask).fill("Gold", 1, rect=PAGE)
    inside, outside = tints_at(page, tmp_path, (20, 15), (2, 2))
    assert inside == pytest.approx({"Gold": light}, abs=2 * LEVEL)
    assert outside == {}


def test_a_spot_in_a_luminosity_mask_is_no_plate_and_as_light_as_it_looks(tmp_path):
    page = sheet()
    inner = f"/{page.spot('Mask Ink', (0, 0, 0, 1))} cs 0.4 scn {rect(5, 5, 25, 30)} f 1 g {rect(25, 5, 45, 30)} f"
    page.gs(SMask=soft_mask(page, inner)).fill("Gold", 1, rect=PAGE)
    art = read_artwork(page.save(tmp_path / "art.pdf")).pages[0]
    plates = art.plates(100)
    ink = next(s for s in art.separations if s.name == "Mask Ink")
    assert ink.looks_rgb is not None
    dark = 1 - sum(share * v / 255 for share, v in zip((0.30, 0.59, 0.11), ink.looks_rgb, strict=True))
    assert plates.tint("Mask Ink").max() == 0
    assert plates.tint("Gold")[75, 60] / 255 == pytest.approx(1 - 0.4 * dark, abs=0.02)
    assert plates.tint("Gold")[75, 140] == 255


def test_an_alpha_mask_has_no_backdrop(tmp_path):
    """Table 142: BC is for luminosity. Ghostscript fills the page with it."""
    page = sheet()
    page.gs(SMask=soft_mask(page, f"0 g {rect(5, 5, 20, 30)} f", "Alpha", BC=Array([1]))).fill("Gold", 1, rect=PAGE)
    assert tints_at(page, tmp_path, (10, 15), (40, 15)) == [{"Gold": 1}, {}]


def test_what_overprint_leaves_alone_a_blend_mode_blends_with_itself(tmp_path):
    """11.7.4.3: in a blend mode an overprinting object is a group that is not isolated, in which a plate that is left
    alone is as it is below; the group is then blended with what is below. Cyan under a multiplied spot lets through
    0.5 x 0.5 of the light: 0.75. So do Ghostscript and MuPDF. Where there is no cyan there is none to blend."""
    page = sheet().fill((0.5, 0, 0, 0), rect=(0, 0, 30, 38))
    page.gs(BM=Name.Multiply, **ON).fill("Gold", 0.8, rect=(10, 5, 45, 30))
    both, spot = tints_at(page, tmp_path, (20, 15), (40, 15))
    assert both == pytest.approx({"Cyan": 0.75, "Gold": 0.8}, abs=2 * LEVEL)
    assert spot == pytest.approx({"Gold": 0.8}, abs=LEVEL)


@pytest.mark.parametrize("mode", ["Difference", "Exclusion"])
def test_a_blend_mode_that_does_not_keep_white_is_normal_on_spots(tmp_path, mode):
    """11.7.4.2. On bare board a colour comes out as it is: the backdrop's alpha is 0 (11.3.6)."""
    page = sheet().fill("Gold", 0.5, rect=(0, 0, 20, 38)).fill((0.4, 0, 0, 0), rect=(20, 0, 30, 38))
    page.gs(BM=Name("/" + mode)).fill("Gold", 0.25, rect=(0, 5, 10, 30)).fill((0.3, 0, 0, 0), rect=(40, 5, 50, 30))
    spot, board = tints_at(page, tmp_path, (5, 15), (45, 15))
    assert spot["Gold"] == pytest.approx(0.25, abs=LEVEL)
    assert board == pytest.approx({"Cyan": 0.3}, abs=LEVEL)


KNOCK_OUT = group(K=True, I=True, CS=Name.DeviceCMYK)


def test_a_knock_out_group_of_opaque_objects_is_what_it_looks_like(tmp_path):
    page = sheet()
    inner = f"1 0 0 0 k {rect(5, 5, 28, 28)} f 0 1 0 0 k {rect(15, 15, 45, 35)} f"
    page.gs(ca=0.5).raw(f"/{page.form(inner, bbox_mm=PAGE, group=KNOCK_OUT)} Do")
    below, both = tints_at(page, tmp_path, (10, 10), (20, 20))
    assert below == pytest.approx({"Cyan": 0.5}, abs=LEVEL)
    assert both == pytest.approx({"Magenta": 0.5}, abs=LEVEL)


def test_registration_colour_marks_the_plates_that_print(tmp_path):
    """8.6.6.4 speaks of all colorants of the device; a colour that is named and never painted makes no plate."""
    page = sheet().fill("Gold", 0.5, rect=(30, 5, 45, 30)).fill((0.2, 0, 0, 0), rect=(30, 31, 45, 37))
    page.spot("Never Painted")
    page.fill("All", 0.6, rect=(5, 5, 20, 30))
    (mark,) = tints_at(page, tmp_path, (10, 15))
    assert mark == pytest.approx({"Gold": 0.6, "Cyan": 0.6}, abs=LEVEL)


def test_ink_outside_the_crop_box_stays_on_the_plates(tmp_path):
    """The page is the media box; Ghostscript clips to the crop box."""
    page = sheet().fill("Gold", 1, rect=PAGE)
    page.box("CropBox", (10, 10, 30, 30))
    assert tints_at(page, tmp_path, (5, 5), (20, 20)) == [{"Gold": 1}, {"Gold": 1}]


def test_a_mask_is_read_although_its_shape_is_all_that_prints(tmp_path):
    page = sheet()
    page.gs(SMask=soft_mask(page, HALF_AND_WHOLE)).fill("Gold", 0.8, rect=PAGE)
    half, whole = tints_at(page, tmp_path, (20, 15), (20, 27))
    assert half == pytest.approx({"Gold": 0.4}, abs=2 * LEVEL)
    assert whole == pytest.approx({"Gold": 0.8}, abs=LEVEL)


@pytest.mark.parametrize("key", ["SMask", "Mask"])
def test_an_image_whose_mask_is_out_of_all_bounds_leaves_its_place_uncertain(tmp_path, key):
    page = sheet()
    mask = Dictionary(Subtype=Name.Image, Width=100_000, Height=100_000, BitsPerComponent=1, ImageMask=True)
    page.image(bytes([255, 0, 0, 0]), 1, 1, (5, 5, 40, 30))
    page.resources.XObject.Im0[Name("/" + key)] = page.pdf.make_stream(b"\0", mask)
    (place,) = read_artwork(page.save(tmp_path / "art.pdf")).pages[0].plates(72).uncertain
    assert place.box_mm == pytest.approx((5, 5, 40, 30), abs=0.1)


def test_a_soft_mask_changes_nothing_about_which_plates_there_are(tmp_path):
    """Its group is read when plates are made, and asking again for other plates finds the same ones."""
    page = sheet().fill("All", 1, rect=(0, 0, 5, 5)).fill((0, 0.5, 0, 0), rect=(10, 0, 50, 5))
    inner = f"/{page.spot('Mask Ink')} cs 1 scn {rect(5, 5, 25, 30)} f"
    page.gs(SMask=soft_mask(page, inner)).fill("Gold", 1, rect=(5, 6, 40, 30))
    read = read_artwork(page.save(tmp_path / "art.pdf")).pages[0]
    first, again = read.plates(100), read.plates(150)
    assert first.names == again.names
    for name in first.names:
        assert float(first.tint(name).mean()) == pytest.approx(float(again.tint(name).mean()), rel=0.02)

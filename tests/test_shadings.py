"""Shadings: what each plate carries at a place, worked out by hand from ISO 32000-2, 8.7.4.5.

Red, green and blue become process inks by 10.4.2.4: K is the least of their complements, and is taken off the others.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name, Object

from preflight.artwork.read_artwork import read_artwork
from tests.drawn import MM, Drawing
from tests.plate_drawings import HEIGHT_MM, PAGE, WIDTH_MM, group, mm, rect, spot_space

DPI = 200
RGB, CMYK = Name.DeviceRGB, Name.DeviceCMYK
Tints = Mapping[str, float]
Expected = Mapping[Any, Tints]
"""Place in mm to the tints there; plates that are not named are bare."""
Draw = Callable[[Drawing], object]


def ramp(first: Sequence[float], last: Sequence[float], power: float = 1) -> Dictionary:
    return Dictionary(FunctionType=2, N=power, Domain=[0, 1], C0=list(first), C1=list(last))


def points(*values_mm: float) -> Array:
    return Array([value * MM for value in values_mm])


def axial(space: Object, function: Object, ends_mm: Sequence[float] = (10, 0, 40, 0), **keys: object) -> Dictionary:
    return Dictionary(ShadingType=2, ColorSpace=space, Coords=points(*ends_mm), Function=function, **keys)  # type: ignore[arg-type]


def radial(space: Object, function: Object, circles_mm: Sequence[float], *extend: bool) -> Dictionary:
    keys = {"Coords": points(*circles_mm), "Function": function, "Extend": list(extend)}
    return Dictionary(ShadingType=3, ColorSpace=space, **keys)  # type: ignore[arg-type]


def mesh(page: Drawing, kind: int, space: Object, data: bytes, numbers: int, **keys: object) -> Object:
    """Coordinates are 16 bits of 0..50 mm each, numbers of colours 8 bits of 0..1."""
    stream = page.pdf.make_stream(data)
    stream.ShadingType, stream.ColorSpace, stream.BitsPerCoordinate, stream.BitsPerComponent = kind, space, 16, 8
    stream.Decode = Array([0, 50 * MM, 0, 50 * MM, *[0, 1] * numbers])
    for key, value in keys.items():
        stream[f"/{key}"] = value
    return stream


def corner(x_mm: float, y_mm: float, *numbers: float) -> bytes:
    return struct.pack(">HH", *(round(v / 50 * 65535) for v in (x_mm, y_mm))) + bytes(round(v * 255) for v in numbers)


def painted(shading: Callable[[Drawing], Object] | Object, before: str = "") -> Draw:
    def draw(page: Drawing) -> None:
        page.resources.Shading.S = shading(page) if callable(shading) else shading
        page.raw(f"q {before} /S sh Q")

    return draw


def plates_of(draw: Draw, folder):
    page = Drawing(WIDTH_MM, HEIGHT_MM)
    draw(page)
    return read_artwork(page.save(folder / "art.pdf")).pages[0].plates(DPI)


def assert_tints(draw: Draw, expected: Expected, folder, slack: float = 0.012) -> None:
    plates = plates_of(draw, folder)
    for (x, y), wanted in expected.items():
        row, column = int((HEIGHT_MM - y) / plates.mm_per_px), int(x / plates.mm_per_px)
        found = {name: float(plates.tint(name)[row, column]) / 255 for name in plates.names}
        for name in {*found, *wanted}:
            assert found.get(name, 0.0) == pytest.approx(wanted.get(name, 0.0), abs=slack), (x, y, name)


# -- interpolated in their own space, converted after ------------------------------------------------------------------


QUARTER = {"Magenta": 0.5, "Yellow": 0.5, "Black": 0.25}
"""A quarter of the way from red to cyan: 0.75, 0.25, 0.25."""


def _calculated(page: Drawing) -> Object:
    """A function-based shading that goes from red to cyan across the page."""
    function = page.pdf.make_stream(b"{ pop dup 1 exch sub exch dup }")
    function.FunctionType, function.Domain, function.Range = 4, Array([0, 1, 0, 1]), Array([0, 1] * 3)
    matrix = [30 * MM, 0, 0, HEIGHT_MM * MM, 10 * MM, 0]
    return Dictionary(ShadingType=1, ColorSpace=RGB, Matrix=matrix, Function=function)


def _from_samples(page: Drawing) -> Object:
    function = page.pdf.make_stream(bytes([255, 0, 0, 0, 255, 255] * 2))
    function.FunctionType, function.Size, function.BitsPerSample = 0, Array([2, 2]), 8
    function.Domain, function.Range = Array([0, 1, 0, 1]), Array([0, 1] * 3)
    made = _calculated(page)
    made.Function = function
    return made


@pytest.mark.parametrize(
    "shading",
    [
        axial(RGB, ramp((1, 0, 0), (0, 1, 1))),
        axial(RGB, Array([ramp([a], [1 - a]) for a in (1, 0, 0)])),
        radial(RGB, ramp((1, 0, 0), (0, 1, 1)), (10, 20, 0, 10, 20, 30), False, False),
        axial(Array([Name.CalRGB, Dictionary(WhitePoint=[0.95, 1, 1.09])]), ramp((1, 0, 0), (0, 1, 1))),
        _calculated,
        _from_samples,
    ],
)
def test_rgb_is_converted_after_it_was_interpolated(shading, tmp_path):
    half = {"Black": 0.5}
    assert_tints(painted(shading), {(17.5, 20): QUARTER, (25, 20): half, (45, 36): {}}, tmp_path)


def test_a_mesh_in_rgb_has_the_colour_of_the_means_of_its_corners(tmp_path):
    """Red, green and blue have a third of each at the middle: two thirds of black, and nothing of the others."""

    def draw(page: Drawing) -> Object:
        corners = ((5, 5, 1, 0, 0), (35, 5, 0, 1, 0), (5, 35, 0, 0, 1))
        return mesh(page, 4, RGB, b"".join(b"\0" + corner(*given) for given in corners), 3, BitsPerFlag=8)

    at_an_edge = {"Yellow": 0.5, "Black": 0.5}  # 0.5 0.5 0
    assert_tints(painted(draw), {(15, 15): {"Black": 2 / 3}, (20, 5.3): at_an_edge}, tmp_path, 0.02)


def test_lab_is_converted_after_it_was_interpolated(tmp_path):
    """From L* 0 to 100 without colour: sRGB of L* 50 is 0.466 (Y = 0.184), of L* 25 it is 0.231 (Y = 0.0442).

    Converted first and then interpolated there would be half and three quarters of black.
    """
    lab = Array([Name.Lab, Dictionary(WhitePoint=[0.95, 1, 1.09], Range=[-80, 80, -60, 90])])
    half, quarter = {"Black": 1 - 0.466}, {"Black": 1 - 0.231}

    def lattice(page: Drawing) -> Object:
        data = b"".join(corner(x, y, t, 0.5, 0.4) for y in (0, 40) for x, t in ((10, 0), (40, 1)))
        found = mesh(page, 5, lab, data, 3, VerticesPerRow=2)
        found.Decode = Array([*list(found.Decode)[:4], 0, 100, -80, 80, -60, 90])
        return found

    for shading in (axial(lab, ramp((0, 0, 0), (100, 0, 0))), lattice):
        assert_tints(painted(shading), {(25, 20): half, (17.5, 20): quarter}, tmp_path, 0.02)


def test_a_device_n_space_with_red_green_and_blue_among_its_colorants(tmp_path):
    names = Array([Name(f"/{name}") for name in ("Red", "Green", "Blue", "Gold")])

    def draw(page: Drawing) -> None:
        transform = page.pdf.make_stream(b"{pop pop pop pop 0 0 0 0}")
        transform.FunctionType, transform.Domain, transform.Range = 4, Array([0, 1] * 4), Array([0, 1] * 4)
        process = Dictionary(ColorSpace=RGB, Components=Array(list(names)[:3]))
        colorants = Dictionary(Gold=spot_space(page, "Gold"))
        attributes = Dictionary(Subtype=Name.NChannel, Process=process, Colorants=colorants)
        space = page.pdf.make_indirect(Array([Name.DeviceN, names, CMYK, transform, attributes]))
        page.resources.Shading.S = axial(space, ramp((1, 0, 0, 0), (0, 1, 1, 0.8)))
        page.raw("/S sh")

    assert_tints(draw, {(17.5, 20): {**QUARTER, "Gold": 0.2}}, tmp_path)


def test_a_parameter_is_interpolated_and_its_function_applied_after(tmp_path):
    """8.7.4.5.6: half way the function of the parameter a half, 0.25, and not the mean of 0 and 1."""

    def lattice(page: Drawing) -> Object:
        data = b"".join(corner(x, y, t) for y in (0, 40) for x, t in ((10, 0), (40, 1)))
        return mesh(page, 5, spot_space(page, "Gold"), data, 1, VerticesPerRow=2, Function=ramp([0], [1], 2))

    assert_tints(painted(lattice), {(25, 20): {"Gold": 0.25}, (32.5, 20): {"Gold": 0.5625}}, tmp_path)


def test_a_jump_of_the_function_is_a_jump_in_the_mesh(tmp_path):
    """Two bounds at 0.5: the function between them is not seen."""
    parts = [ramp([0.2], [0.2]), ramp([1], [1]), ramp([0.6], [0.6])]
    function = Dictionary(FunctionType=3, Domain=[0, 1], Functions=Array(parts), Bounds=[0.5, 0.5], Encode=[0, 1] * 3)

    def lattice(page: Drawing) -> Object:
        data = b"".join(corner(x, y, t) for y in (0, 40) for x, t in ((10, 0), (40, 1)))
        return mesh(page, 5, spot_space(page, "Gold"), data, 1, VerticesPerRow=2, Function=function)

    expected = {(24.6, 20): {"Gold": 0.2}, (25.4, 20): {"Gold": 0.6}}
    assert_tints(painted(lattice), expected, tmp_path)

    def along(page: Drawing) -> Object:
        return axial(spot_space(page, "Gold"), function)

    assert_tints(painted(along), expected, tmp_path)


@pytest.mark.parametrize("ends_mm", [(0, 10, 1000, 10), (1000, 500, 0, 0)])
def test_a_jump_is_where_it_is_on_a_long_way_too(tmp_path, ends_mm):
    """At 0.5 of a metre; PDFium's steps are 4 mm. What lies beyond the ends is bare on one side."""
    parts = Array([ramp([0.2], [0.2]), ramp([0.6], [0.6])])
    function = Dictionary(FunctionType=3, Domain=[0, 1], Functions=parts, Bounds=[0.5], Encode=[0, 1] * 2)
    page = Drawing(1200, 20)
    page.resources.Shading.S = axial(
        spot_space(page, "Gold"), function, ends_mm, Extend=[ends_mm[0] > 0, ends_mm[0] == 0]
    )
    page.raw("/S sh")
    plates = read_artwork(page.save(tmp_path / "art.pdf")).pages[0].plates(100)
    x0, y0, x1, y1 = ends_mm
    middle = x0 + (x1 - x0) / 2 + (y0 + (y1 - y0) / 2 - 10) * (y1 - y0) / (x1 - x0)
    gold = plates.tint("Gold") / 255
    row = gold[len(gold) // 2]
    low, high = (int((middle + step) / plates.mm_per_px) for step in (-0.6, 0.6))
    assert (row[low], row[high]) == pytest.approx((0.2, 0.6) if x0 == 0 else (0.6, 0.2), abs=0.01)
    assert row[-2] == pytest.approx(0.6 if x0 == 0 else 0.2, abs=0.01)


def test_colours_by_number_are_those_of_the_base_space_before_they_are_interpolated(tmp_path):
    """8.7.4.4: numbers 0 and 2 have nothing to do with number 1, which lies between them."""

    def lattice(page: Drawing) -> Object:
        space = Array([Name.Indexed, CMYK, 2, bytes([204, 0, 0, 0, 0, 0, 255, 255, 0, 102, 0, 0])])
        data = b"".join(corner(x, y, t / 255) for y in (0, 40) for x, t in ((10, 0), (40, 2)))
        found = mesh(page, 5, space, data, 1, VerticesPerRow=2)
        found.Decode = Array([*list(found.Decode)[:4], 0, 255])
        return found

    assert_tints(painted(lattice), {(25, 20): {"Cyan": 0.4, "Magenta": 0.2}}, tmp_path)


def test_a_luminosity_mask_of_a_shading_in_rgb(tmp_path):
    """11.5.3: half way from red to blue the light is (0.30 + 0.11) / 2."""

    def draw(page: Drawing) -> None:
        page.resources.Shading.S = axial(RGB, ramp((1, 0, 0), (0, 0, 1)))
        form = page.form("/S sh", bbox_mm=PAGE, group=group(CS=RGB))
        page.gs(SMask=Dictionary(Type=Name.Mask, S=Name.Luminosity, G=page.resources.XObject[f"/{form}"]))
        page.fill((0, 1, 0, 0), rect=PAGE)

    assert_tints(draw, {(25, 20): {"Magenta": 0.205}, (11, 20): {"Magenta": 0.294}}, tmp_path)


# -- patches -----------------------------------------------------------------------------------------------------------

SQUARE = [(10, 0), (10, 10), (10, 20), (10, 30), (20, 30), (30, 30), (40, 30), (40, 20), (40, 10), (40, 0), (30, 0),
          (20, 0)]  # fmt: skip
"""From 10 to 40 mm and from 0 to 30 mm, up the left side first."""
INNER = [(20, 10), (20, 20), (30, 20), (30, 10)]


@pytest.mark.parametrize(("shift_mm", "half_mm"), [(0, 25), (8, 29.5), (-8, 20.5)])
def test_a_tensor_patch_follows_its_inner_points(tmp_path, shift_mm, half_mm):
    """8.7.4.5.8: each inner point weighs 9/64 at the middle, so that four moved by 8 mm move it by 4.5 mm."""

    def draw(page: Drawing) -> Object:
        net = SQUARE + [(x + shift_mm, y) for x, y in INNER]
        data = b"\0" + b"".join(corner(*point) for point in net) + bytes([0, 0, 255, 255])
        return mesh(page, 7, spot_space(page, "Gold"), data, 1, BitsPerFlag=8)

    assert_tints(painted(draw), {(half_mm, 15): {"Gold": 0.5}}, tmp_path)


@pytest.mark.parametrize("kind", [6, 7])
def test_a_patch_in_rgb_is_converted_after(tmp_path, kind):
    def draw(page: Drawing) -> Object:
        net = SQUARE + (INNER if kind == 7 else [])
        colours = bytes([255, 0, 0] * 2 + [0, 255, 255] * 2)
        data = b"\0" + b"".join(corner(*point) for point in net) + colours
        return mesh(page, kind, RGB, data, 3, BitsPerFlag=8)

    assert_tints(painted(draw), {(17.5, 15): QUARTER, (25, 15): {"Black": 0.5}}, tmp_path, 0.015)


@pytest.mark.parametrize("kind", [4, 5, 6, 7])
@pytest.mark.parametrize("space", [RGB, Name.Unheard, Array([Name.Indexed, CMYK, 1, bytes(8)])])
def test_meshes_that_are_cut_off_or_make_no_sense_do_no_harm(tmp_path, kind, space):
    """What else is on the page is drawn."""
    random = np.random.default_rng(kind)
    for length in (0, 7, 60, 201):
        for keys in ({}, {"Function": ramp([1, 0, 0], [0, 1, 0])}, {"Decode": [9, 9, 5, 5]}, {"VerticesPerRow": 1}):

            def draw(page: Drawing, length: int = length, keys: Mapping[str, Any] = keys) -> Object:
                data = random.integers(0, 256, length).astype(np.uint8).tobytes()
                page.fill((0, 1, 0, 0), rect=(45, 35, 50, 38))
                return mesh(page, kind, space, data, 3, **{"BitsPerFlag": 2, "VerticesPerRow": 3, **keys})

            assert plates_of(painted(draw, f"{mm(0, 0, 40, 30)} re W n"), tmp_path).tint("Magenta")[10, -10] == 255


# -- where a shading goes ----------------------------------------------------------------------------------------------

FIRST, LAST = {"Cyan": 0.8}, {"Magenta": 0.6, "Black": 0.4}
TWO_INKS = ramp((0.8, 0, 0, 0), (0, 0.6, 0, 0.4))


def between(share: float) -> Tints:
    return {"Cyan": 0.8 * (1 - share), "Magenta": 0.6 * share, "Black": 0.4 * share}


@pytest.mark.parametrize("space", [CMYK, RGB])
def test_what_is_extended_keeps_its_end_colour(tmp_path, space):
    """The last hundredth of the function has a colour of its own: it is that of all that lies beyond."""
    three = space == RGB
    inks = [(1, 0, 0), (0, 1, 1), (0.2, 0.6, 0.4)] if three else [(0.8, 0, 0, 0), (0, 0.6, 0, 0.4), (0, 0, 0.7, 0.1)]
    parts = Array([ramp(inks[0], inks[1]), ramp(inks[2], inks[2])])
    function = Dictionary(FunctionType=3, Domain=[0, 1], Functions=parts, Bounds=[0.998], Encode=[0, 1, 0, 1])
    beyond = {"Cyan": 0.4, "Yellow": 0.2, "Black": 0.4} if three else {"Yellow": 0.7, "Black": 0.1}
    shading = radial(space, function, (25, 19, 2, 27, 19, 12), True, True)
    first = {"Magenta": 1, "Yellow": 1} if three else FIRST
    assert_tints(painted(shading), {(48, 19): beyond, (5, 5): beyond, (25, 19): first}, tmp_path)


@pytest.mark.parametrize("unit", [1, 0.01, 0.001])
def test_circles_that_taper(tmp_path, unit):
    """Circle s has its middle at 15 + 20 s and the radius 10 - 5 s; of two that go through a place the later one.

    On the axis x = 15 + 20 s - (10 - 5 s), or x = 15 + 20 s + (10 - 5 s): at 15 mm s is 0.4, at 38 mm 13/15.
    """
    shading = radial(CMYK, TWO_INKS, [v * unit for v in (15, 19, 10, 35, 19, 5)], False, False)
    expected = {(15, 19): between(0.4), (29, 19): between(0.96), (38, 19): between(13 / 15), (4, 19): {}, (41, 19): {}}
    assert_tints(painted(shading, f"{1 / unit} 0 0 {1 / unit} 0 0 cm"), expected, tmp_path, 0.02)


def test_circles_that_touch_from_within(tmp_path):
    """All touch at 10 mm, and circle s goes from there to 10 + 10 (1 + 2 s); beyond the end the end colour."""
    shading = radial(CMYK, TWO_INKS, (15, 19, 5, 25, 19, 15), False, True)
    expected = {(30, 19): between(0.5), (48, 19): LAST, (9, 19): {}, (15, 19): {}, (5, 30): {}}
    assert_tints(painted(shading), expected, tmp_path, 0.02)


def test_circles_that_shrink_within(tmp_path):
    shading = radial(CMYK, TWO_INKS, (25, 19, 15, 25, 19, 5), True, True)
    assert_tints(painted(shading), {(25, 19): LAST, (35, 19): between(0.5), (48, 19): FIRST}, tmp_path, 0.02)


def test_an_axial_shading_ends_where_it_ends(tmp_path):
    """Three tenths of a solid, from 10 mm to 40 mm on a page of 50.8 mm: neither more nor less."""
    plates = plates_of(painted(axial(CMYK, ramp((1, 0, 0, 0), (1, 0, 0, 0)))), tmp_path)
    assert float(plates.tint("Cyan").mean()) / 255 == pytest.approx(30 / WIDTH_MM, rel=0.003)


NOTHING = [
    axial(CMYK, TWO_INKS, (20, 20, 20, 20), Extend=[True, True]),
    radial(CMYK, TWO_INKS, (20, 20, 5, 20, 20, 5), True, True),
]


@pytest.mark.parametrize("shading", NOTHING)
def test_a_shading_from_a_place_to_itself_paints_nothing(tmp_path, shading):
    assert_tints(painted(shading), {(20, 20): {}, (22, 20): {}, (40, 10): {}}, tmp_path)


def test_a_shading_ends_at_its_box_however_that_is_turned(tmp_path):
    """The box from 10 to 30 mm turned by 45° about its middle: a corner is at 20 + 10 √2, the old corner is bare."""
    shading = axial(CMYK, ramp((1, 0, 0, 0), (1, 0, 0, 0)), Extend=[True, True], BBox=points(-10, -10, 10, 10))
    turned = f"0.70710678 0.70710678 -0.70710678 0.70710678 {mm(20, 19)} cm"
    expected = {(20, 19): {"Cyan": 1}, (33.5, 19): {"Cyan": 1}, (29, 28): {}, (11, 10): {}}
    assert_tints(painted(shading, turned), expected, tmp_path)


@pytest.mark.parametrize(("space", "given", "expected"), [
    (RGB, (0.2, 0.4, 0.7), {"Cyan": 0.5, "Magenta": 0.3, "Black": 0.3}),
    (CMYK, (0.1, 0.2, 0.3, 0.4), {"Cyan": 0.1, "Magenta": 0.2, "Yellow": 0.3, "Black": 0.4}),
])  # fmt: skip
def test_the_background_of_a_pattern_is_there_where_the_shading_is_not(tmp_path, space, given, expected):
    shading = axial(space, ramp([0.5] * len(given), [0.5] * len(given)), (20, 0, 30, 0), Background=list(given))

    def draw(page: Drawing) -> None:
        page.resources.Pattern.P = Dictionary(Type=Name.Pattern, PatternType=2, Shading=shading)
        page.raw(f"/Pattern cs /P scn {rect(5, 5, 45, 30)} f")

    assert_tints(draw, {(10, 20): expected, (40, 10): expected, (2, 20): {}}, tmp_path)
    assert_tints(painted(shading), {(10, 20): {}}, tmp_path)  # sh paints no background


@pytest.mark.parametrize("domain", [(0, 1), (1, 0), (0.25, 0.75), (-2, 3)])
def test_a_domain_is_gone_through_from_its_beginning_to_its_end(tmp_path, domain):
    """The function is that of 0..1; beyond it, it stays."""
    shading = axial(CMYK, TWO_INKS, Domain=list(domain))
    first, last = domain

    def at(share: float) -> Tints:
        return between(float(np.clip(first + share * (last - first), 0, 1)))

    assert_tints(painted(shading), {(17.5, 20): at(0.25), (25, 20): at(0.5), (35.5, 20): at(0.85)}, tmp_path, 0.04)

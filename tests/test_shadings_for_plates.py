"""Shadings as the derived document has them: the colours that they give the renderer at each place."""

from __future__ import annotations

from typing import Any

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream

from preflight.artwork.page.colours import Colour
from preflight.artwork.pdf.colour.colour_spaces import CMYK, RGB, ColourSpace
from preflight.artwork.pdf.colour.functions import read_functions
from preflight.artwork.pdf.content.stream_content import ShadingFill
from preflight.artwork.platemaking.renderings import SILHOUETTE, Rendering
from preflight.artwork.platemaking.shadings import _samples, before_sh, shading_for_plates
from preflight.errors import CannotBeRendered
from tests.drawn import Drawing
from tests.test_derived_pdf import derived

INKS = Rendering((("Cyan",), ("Black",), ("Gold",)))
SOURCE = pikepdf.new()
GOLD = ColourSpace("Separation", 1, ("Gold",), (1.0,))


@pytest.fixture
def made(tmp_path):
    """Makes a shading for a rendering, in a document that outlives it."""
    document, _ = derived(Drawing(60, 50), tmp_path)

    def make(given: Dictionary, space: ColourSpace = CMYK, rendering: Rendering = INKS) -> Any:
        given = given if given.is_indirect else SOURCE.make_indirect(given)
        fill = ShadingFill(given, space, Colour(space.family, ()))
        return shading_for_plates(document, fill, rendering)

    make.document = document  # type: ignore[attr-defined]
    return make


def ramp(first: tuple[float, ...], last: tuple[float, ...], **keys: Any) -> Dictionary:
    return Dictionary(**{"FunctionType": 2, "Domain": [0, 1], "N": 1, "C0": [*first], "C1": [*last], **keys})


def axial(function: object, **keys: Any) -> Dictionary:
    return Dictionary(**{"ShadingType": 2, "Coords": [10, 5, 265, 515], "Function": function, **keys})


def at(shading: Any, *places: float) -> Any:
    return read_functions(shading.Function)(np.array(places, float)[:, None])


BOTH_ENDS: dict[str, Any] = {"Extend": [True, True]}


def test_an_axial_shading_has_256_colours_on_its_axis(made):
    found = made(axial(ramp((0.2, 0, 0, 1), (1, 0, 0, 0)), **BOTH_ENDS))
    assert (found.ShadingType, found.ColorSpace) == (2, Name.DeviceRGB)
    assert [float(v) for v in found.Coords] == [10, 5, 265, 515]
    assert [bool(v) for v in found.Extend] == [True, True]
    assert [int(v) for v in found.Function.Size] == [257]
    assert [float(v) for v in found.Function.Domain] == [0, 1]
    # Number i of 256 is the mean of its step; the first and the last are those of the ends, the last once more.
    share = (100 + 0.5) / 255
    expected = [[0.8, 0, 1], [1 - 0.2 - 0.8 * share, share, 1], [0, 1, 1], [0, 1, 1]]
    assert at(found, 0, 100 / 256, 255 / 256, 1) == pytest.approx(np.array(expected), abs=0.003)


def test_a_domain_is_gone_through_as_it_is_written(made):
    found = made(axial(ramp((0,), (1,), Domain=[0, 4]), Domain=[3, 1], **BOTH_ENDS), GOLD)
    # N = 1 goes on in proportion, and tints are no more than 1: 3 down to 1.
    assert at(found, 0, 1)[:, 2] == pytest.approx([0, 0], abs=0.003)
    found = made(axial(ramp((0,), (0.2,), Domain=[0, 4]), Domain=[3, 1], **BOTH_ENDS), GOLD)
    assert at(found, 0, 128 / 256, 1)[:, 2] == pytest.approx([0.4, 0.6, 0.8], abs=0.004)


def test_colours_that_a_function_does_not_give_are_none(made):
    found = made(axial(ramp((0.6,), (0.6,)), **BOTH_ENDS), CMYK)
    assert at(found, 0.5)[0] == pytest.approx([0.4, 1, 1], abs=0.003)
    found = made(axial(ramp((0.6, 0, 0, 0.2, 0.9), (0.6, 0, 0, 0.2, 0.9)), **BOTH_ENDS), CMYK)
    assert at(found, 0.5)[0] == pytest.approx([0.4, 0.8, 1], abs=0.003)


def test_a_radial_shading_keeps_its_circles_at_the_size_that_is_drawn(made):
    given = Dictionary(
        ShadingType=3, Coords=[3, 4, 1, 13, 24, 40], Function=ramp((0,), (1,)), BBox=[1, 2, 30, 40], **BOTH_ENDS
    )
    found = made(given, GOLD)
    assert [float(v) for v in found.Coords] == pytest.approx([2500 * v for v in (3, 4, 1, 13, 24, 40)])
    assert [float(v) for v in found.BBox] == pytest.approx([2500 * v for v in (1, 2, 30, 40)])
    assert found.ShadingType == 3


def steps(low: float, high: float, where: float) -> Dictionary:
    """A jump from one tint to another."""
    return Dictionary(
        FunctionType=3, Domain=[0, 1], Bounds=[where], Encode=[0, 1, 0, 1],
        Functions=[ramp((low,), (low,)), ramp((high,), (high,))],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("extend", "domain"),
    [
        ([False, False], [0, 1]), ([True, False], [-100_000, 1]), ([False, True], [0, 100_000]),
        ([True, True], [-100_000, 100_000]),
    ],
)  # fmt: skip
def test_an_axial_shading_that_jumps_is_a_function_of_the_place(made, extend, domain):
    found = made(axial(steps(0.2, 0.5, 0.3), Extend=extend), GOLD)
    assert found.ShadingType == 1
    assert [float(v) for v in found.Domain] == [*domain, -100_000, 100_000]
    # From 0, 0 to 1, 0 is the axis, and across it at a right angle as far.
    assert [float(v) for v in found.Matrix] == [255, 510, -510, 255, 10, 5]
    look = read_functions(found.Function)
    places = np.array([[0, 0], [0.2998, 0.7], [0.3003, 0.2], [1, 1]], float)
    assert look(places)[:, 2] == pytest.approx([0.8, 0.8, 0.5, 0.5], abs=0.003)
    assert look(places)[:, 0] == pytest.approx(1)


@pytest.mark.parametrize(("high", "kind"), [(0.29, 2), (0.31, 1)])
def test_a_tenth_is_a_jump(made, high, kind):
    """Between two of the 256 colours, which are 257ths where it is not extended."""
    assert made(axial(steps(0.2, high, 77 / 257)), GOLD).ShadingType == kind


def test_a_radial_shading_that_jumps_stays_radial(made):
    given = Dictionary(ShadingType=3, Coords=[30, 40, 10, 130, 240, 140], Function=steps(0.2, 0.9, 0.3))
    assert made(given, GOLD).ShadingType == 3


def test_what_goes_nowhere_is_an_empty_mesh(made):
    found = made(axial(ramp((0,), (1,)), Coords=[10, 5, 10, 5], BBox=[1, 2, 3, 4]), GOLD)
    assert (found.ShadingType, found.read_bytes()) == (4, b"")
    assert [float(v) for v in found.BBox] == [1, 2, 3, 4]
    assert (found.BitsPerCoordinate, found.BitsPerComponent, found.BitsPerFlag) == (24, 8, 8)
    assert len(found.Decode) == 10


def table(sizes: tuple[int, int], data: bytes, outputs: int = 1) -> Stream:
    keys = {"Domain": [0, 1, 0, 1], "Range": [0, 1] * outputs, "Size": list(sizes), "BitsPerSample": 8}
    return SOURCE.make_stream(data, Dictionary(FunctionType=0, **keys))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("sizes", "expected"),
    [
        ([(5, 9)], (129, 129)),
        ([(101, 2)], (201, 129)),  # a hundred steps twice, one 128 times
        ([(129, 130)], (129, 130)),
        ([(1024, 1025)], (1024, 1025)),
        ([(1026, 3000)], (1025, 1025)),
        ([(5, 7), (41, 3)], (161, 133)),
        ([(1, 5)], (257, 129)),
        ([], (257, 257)),
    ],
)
def test_samples_of_a_function_are_among_those_that_are_taken(sizes, expected):
    functions: Any = Array([SOURCE.make_indirect(table(each, b"")) for each in sizes])
    assert tuple(_samples(functions, axis) for axis in (0, 1)) == expected
    if len(sizes) == 1:
        assert _samples(functions[0], 1) == expected[1]


def test_a_function_based_shading_is_sampled_over_its_domain(made):
    """Gold 0, 0.4 below, 0.8, 1 above: the first input varies fastest."""
    function = table((2, 2), bytes([0, 102, 204, 255]))
    given = Dictionary(
        ShadingType=1, Function=SOURCE.make_indirect(function), Matrix=[2, 0, 0, 3, 4, 5], Domain=[0, 1, 0, 1]
    )
    found = made(given, GOLD)
    assert (found.ShadingType, [float(v) for v in found.Matrix]) == (1, [2, 0, 0, 3, 4, 5])
    assert [float(v) for v in found.Domain] == [0, 1, 0, 1]
    look = read_functions(found.Function)
    assert look(np.array([[0, 0], [1, 0], [0, 1], [1, 1], [0.5, 0]], float))[:, 2] == pytest.approx(
        [1, 0.6, 0.2, 0, 0.8], abs=0.004
    )


def test_a_part_of_a_domain_is_sampled_as_that(made):
    function = table((3, 2), bytes([0, 51, 102, 51, 102, 153]))
    given = Dictionary(ShadingType=1, Function=SOURCE.make_indirect(function), Domain=[0.5, 1, 0, 0.5])
    found = made(given, GOLD)
    assert [float(v) for v in found.Domain] == [0.5, 1, 0, 0.5]
    look = read_functions(found.Function)
    assert look(np.array([[0.5, 0], [1, 0], [0.5, 0.5]], float))[:, 2] == pytest.approx([0.8, 0.6, 0.7], abs=0.004)
    assert "/Matrix" not in found


def program(code: bytes, outputs: int) -> Stream:
    keys = {"Domain": [0, 1, 0, 1], "Range": [0, 1] * outputs}
    return SOURCE.make_stream(code, Dictionary(FunctionType=4, **keys))  # type: ignore[arg-type]


def test_a_calculator_is_left_to_the_renderer_where_its_colours_can_be_calculated(made):
    given = Dictionary(ShadingType=1, Function=SOURCE.make_indirect(program(b"{0.5}", 3)))
    assert made(given, RGB).ColorSpace[0] == Name.DeviceN
    squared = ColourSpace("DeviceN", 1, ("Gold",), (1.0,), to_plates=lambda rows: rows**2)
    given = Dictionary(ShadingType=1, Function=SOURCE.make_indirect(program(b"{pop}", 1)))
    found = made(given, squared)
    assert found.ColorSpace == Name.DeviceRGB
    assert read_functions(found.Function)(np.array([[0.5, 0.1]]))[:, 2] == pytest.approx(0.75, abs=0.004)


@pytest.mark.parametrize(
    ("rendering", "expected"), [(INKS, [0.8, 0.6, 1]), (SILHOUETTE, [0, 0, 0]), (Rendering((("Gold",),)), [1, 1, 1])]
)
def test_a_background_is_in_channels(made, rendering, expected):
    found = made(axial(ramp((0, 0, 0, 0), (1, 1, 1, 1)), Background=[0.2, 0, 0, 0.4]), CMYK, rendering)
    assert [float(v) for v in found.Background] == pytest.approx(expected, abs=0.002)


def test_what_no_function_can_be_read_of_is_left_to_the_renderer(made):
    given = axial(Dictionary(FunctionType=9), BBox=[1, 2, 3, 4], Background=[0.5])
    found = made(given, GOLD)
    assert (found.ShadingType, found.ColorSpace[0]) == (2, Name.DeviceN)
    assert [float(v) for v in found.BBox] == [1, 2, 3, 4]
    assert [float(v) for v in found.Background] == [0.5]  # in the colours of its own space
    given = axial(ramp((0,), (1,)), Domain=[0])
    assert made(given, GOLD).ColorSpace[0] == Name.DeviceN


def test_a_stream_that_cannot_be_read_is_refused(made):
    given = SOURCE.make_stream(b"x", Dictionary(ShadingType=4, BitsPerFlag=8, Filter=Name.NoSuchDecode))
    with pytest.raises(CannotBeRendered):
        made(given, GOLD)


@pytest.mark.parametrize("space", [ColourSpace("Unknown", 0, (), ())])
def test_colours_that_cannot_be_read_are_left_to_the_renderer(made, space):
    assert made(axial(ramp((0,), (1,))), space).ColorSpace[0] == Name.DeviceN


def mesh(data: bytes, **keys: Any) -> Stream:
    given = {"BitsPerFlag": 8, "BitsPerCoordinate": 8, "BitsPerComponent": 8, "Decode": [0, 255, 0, 255, 0, 1], **keys}
    return SOURCE.make_stream(data, Dictionary(ShadingType=4, **given))


def test_a_mesh_becomes_triangles_in_channels(made):
    found = made(mesh(bytes([0, 10, 20, 0, 0, 60, 20, 51, 0, 10, 90, 255])), GOLD)
    data = found.read_bytes()
    assert (found.ShadingType, len(data)) == (4, 30)
    assert [list(data[at + 7 : at + 10]) for at in (0, 10, 20)] == [[255, 255, 255], [255, 255, 204], [255, 255, 0]]
    assert [float(v) for v in found.Decode][:4] == [10, 60, 20, 90]


def test_numbers_of_colours_are_looked_up_before_they_are_interpolated(made):
    """Half of Gold and of none, and what is over the last one is the last one."""
    table = np.array([[0.0], [0.4], [0.8]])
    space = ColourSpace("Indexed", 1, ("Gold",), (0.0,), base=GOLD, table=table)
    found = made(mesh(bytes([0, 10, 20, 1, 0, 60, 20, 2, 0, 10, 90, 9]), Decode=[0, 255, 0, 255, 0, 255]), space)
    data = found.read_bytes()
    assert [data[at + 9] for at in (0, 10, 20)] == [153, 51, 51]
    assert len(data) == 30


def test_a_shading_is_worked_out_once_for_all_renderings(made):
    given = SOURCE.make_indirect(axial(ramp((0, 0, 0, 1), (1, 0, 0, 0))))
    for rendering in (INKS, Rendering((("Yellow",),))):
        made(given, CMYK, rendering)
    assert len(made.document.shaded) == 1
    assert made.document.shaded_bytes == 256 * 4 * 4
    made(SOURCE.make_indirect(axial(ramp((0, 0, 0, 1), (1, 0, 0, 0)))), CMYK)
    assert len(made.document.shaded) == 2


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        (axial(ramp((0,), (1,))), []),
        (axial(ramp((0,), (1,)), BBox=[30, 40, 10, 5]), [10, 5, 20, 35]),
        (
            Dictionary(ShadingType=3, Coords=[3, 4, 1, 13, 24, 40], BBox=[1, 2, 30, 45]),
            [1, 2, 29, 43, 1 / 2500, 0, 0, 1 / 2500, 0, 0],
        ),
        (Dictionary(ShadingType=3, Coords=[3, 4, 1, 13, 24, 40]), [1 / 2500, 0, 0, 1 / 2500, 0, 0]),
    ],
)
def test_a_shading_is_painted_within_its_box_and_at_its_scale(given, expected):
    words = before_sh(given).split()
    assert [float(word) for word in words if word[-1:].isdigit()] == pytest.approx(expected)
    assert [word for word in words if not word[-1:].isdigit()] == (
        [b"re", b"W", b"n"] * ("/BBox" in given) + [b"cm"] * (len(expected) in (6, 10))
    )


def test_a_shading_that_does_not_say_what_it_is_is_left_to_the_renderer(made):
    assert made(Dictionary(Function=ramp((0,), (1,)), Coords=[0, 0, 1, 1]), GOLD).ColorSpace[0] == Name.DeviceN
    assert made(Dictionary(ShadingType=8, Function=ramp((0,), (1,))), GOLD).ColorSpace[0] == Name.DeviceN

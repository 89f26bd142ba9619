"""Alternate colours of spots: which names have several, what they are, and where they are painted."""

from __future__ import annotations

from typing import Any

import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.separations import Alternate
from preflight.artwork.platemaking import alternate_colours as module
from preflight.artwork.read_artwork import read_artwork
from tests.drawn import MM, Drawing

FIRST = (0.2, 0.4, 0.6, 0.8)
"""Solid, in CMYK; the page paints in it at 2, 3 to 8, 9."""


def ramp(*solid: float, **keys: Any) -> Dictionary:
    return Dictionary(**{"FunctionType": 2, "Domain": [0, 1], "N": 1, "C0": [0] * len(solid), "C1": [*solid], **keys})


def sheet() -> Drawing:
    page = Drawing(80, 60)
    page.spot("Moss", FIRST)
    return page.fill("Moss", rect=(2, 3, 8, 9))


def painted(page: Drawing, space: Array, tints: str, *rects: tuple[float, float, float, float]) -> Drawing:
    key = f"Own{len(page.resources.ColorSpace.keys())}"
    page.resources.ColorSpace[Name("/" + key)] = page.pdf.make_indirect(space)
    for x0, y0, x1, y1 in rects:
        page.raw(f"/{key} cs {tints} scn {x0 * MM} {y0 * MM} {(x1 - x0) * MM} {(y1 - y0) * MM} re f")
    return page


def alternates(page: Drawing, tmp_path) -> dict[str, tuple[Alternate, ...]]:
    return dict(read_artwork(page.save(tmp_path / "art.pdf")).alternates)


def second(space: Array, tmp_path, tints: str = "1") -> Alternate:
    found = alternates(painted(sheet(), space, tints, (20, 30, 25, 38)), tmp_path)
    return found["Moss"][1]


def in_steps(*solid: float) -> tuple[Any, ...]:
    return tuple(pytest.approx([share * value for value in solid], abs=1e-4) for share in (0, 0.25, 0.5, 0.75, 1))


def test_a_name_with_two_colour_spaces_has_two_alternates(tmp_path):
    space = Array([Name.Separation, Name.Moss, Name.DeviceCMYK, ramp(0.1, 0, 0.3, 0.5)])
    (first, other) = alternates(painted(sheet(), space, "0.5", (20, 30, 25, 38)), tmp_path)["Moss"]
    assert (first.space, first.colours, first.page, first.boxes_mm) == ("CMYK", in_steps(*FIRST), 1, ())
    assert (other.space, other.colours, other.page) == ("CMYK", in_steps(0.1, 0, 0.3, 0.5), 1)
    (box,) = other.boxes_mm
    assert box == pytest.approx((20, 30, 25, 38), abs=1e-3)


def test_a_name_with_one_colour_space_has_none(tmp_path):
    page = sheet().fill("Moss", 0.5, rect=(30, 30, 40, 40)).fill("Rust", rect=(50, 50, 55, 55))
    assert alternates(page, tmp_path) == {}


@pytest.mark.parametrize(
    ("alternate", "solid", "space", "colour"),
    [
        (Name.DeviceRGB, (0.3, 0.5, 0.7), "RGB", (0.3, 0.5, 0.7)),
        (Array([Name.CalRGB, Dictionary(WhitePoint=[0.95, 1, 1.09])]), (0.3, 0.5, 0.7), "RGB", (0.3, 0.5, 0.7)),
        (Array([Name.Lab, Dictionary(WhitePoint=[0.95, 1, 1.09])]), (50, 20, -30), "Lab", (50, 20, -30)),
        (Name.DeviceGray, (0.3,), "CMYK", (0, 0, 0, 0.7)),
        (Array([Name.CalGray, Dictionary(WhitePoint=[0.95, 1, 1.09])]), (0.3,), "CMYK", (0, 0, 0, 0.7)),
        (Name.DeviceCMYK, (0.3, 0.5, 0.7), "", ()),  # three of four colours
        (Name.DeviceRGB, (0.3, 0.5, 0.7, 0.1), "", ()),
    ],
)
def test_alternate_colours_in_other_spaces(tmp_path, alternate, solid, space, colour):
    found = second(Array([Name.Separation, Name.Moss, alternate, ramp(*solid)]), tmp_path)
    assert found.space == space
    assert found.colours[-1:] == ((pytest.approx(colour, abs=1e-4),) if colour else ())
    assert len(found.colours) == (5 if colour else 0)


def test_gray_goes_from_bare_to_solid(tmp_path):
    found = second(Array([Name.Separation, Name.Moss, Name.DeviceGray, ramp(0.2, C0=[1])]), tmp_path)
    assert [colour[3] for colour in found.colours] == pytest.approx([0, 0.2, 0.4, 0.6, 0.8])


def test_a_function_that_cannot_be_read_gives_no_colours(tmp_path):
    found = second(Array([Name.Separation, Name.Moss, Name.DeviceCMYK, Dictionary(FunctionType=9)]), tmp_path)
    assert (found.space, found.colours, len(found.boxes_mm)) == ("", (), 1)


def test_a_colorant_of_several_is_shown_alone(tmp_path):
    """Of a space of black and Moss, where Moss is the second: the others are bare."""
    page = sheet()
    function = page.pdf.make_stream(
        b"{exch 0.9 mul exch dup 0.5 mul exch 0.25 mul 0}",
        Dictionary(FunctionType=4, Domain=[0, 1] * 2, Range=[0, 1] * 4),
    )
    space = Array([Name.DeviceN, Array([Name.Black, Name.Moss]), Name.DeviceCMYK, function])
    found = alternates(painted(page, space, "0.3 0.6", (20, 30, 25, 38)), tmp_path)
    assert list(found) == ["Moss"]
    assert found["Moss"][1].colours == in_steps(0, 0.5, 0.25, 0)


@pytest.mark.parametrize(("long_enough", "solid"), [(True, (0.1, 0.3, 0.2, 0)), (False, (0, 0.5, 0.25, 0))])
def test_a_colorant_may_have_a_space_of_its_own(tmp_path, long_enough, solid):
    page = sheet()
    function = page.pdf.make_stream(
        b"{exch 0.9 mul exch dup 0.5 mul exch 0.25 mul 0}",
        Dictionary(FunctionType=4, Domain=[0, 1] * 2, Range=[0, 1] * 4),
    )
    own = Array([Name.Separation, Name.Moss, Name.DeviceCMYK, ramp(0.1, 0.3, 0.2, 0)])
    if not long_enough:
        del own[3]
    attributes = Dictionary(Colorants=Dictionary(Moss=own))
    space = Array([Name.DeviceN, Array([Name.Black, Name.Moss]), Name.DeviceCMYK, function, attributes])
    found = alternates(painted(page, space, "0.3 0.6", (20, 30, 25, 38)), tmp_path)
    assert found["Moss"][1].colours == in_steps(*solid)


def test_process_inks_and_registration_colour_have_no_alternates(tmp_path):
    page = sheet()
    for name in ("Black", "All", "None"):
        for solid in ((0, 0, 0, 1), (0, 0, 1, 0)):
            space = Array([Name.Separation, Name("/" + name), Name.DeviceCMYK, ramp(*solid)])
            painted(page, space, "1", (20, 30, 25, 38))
    assert alternates(page, tmp_path) == {}


def test_places_of_a_second_space_are_told_once_and_the_first_few(tmp_path, monkeypatch):
    rects = [(20.0 + 5 * at, 30, 23.0 + 5 * at, 38) for at in range(4)]
    space = Array([Name.Separation, Name.Moss, Name.DeviceCMYK, ramp(0.1, 0, 0.3, 0.5)])
    page = painted(sheet(), space, "0.5", *rects, rects[0])
    assert alternates(page, tmp_path)["Moss"][1].boxes_mm == tuple(pytest.approx(box, abs=1e-3) for box in rects)
    monkeypatch.setattr(module, "MOST_BOXES", 3)
    assert len(alternates(page, tmp_path)["Moss"][1].boxes_mm) == 3


def test_so_many_spaces_of_a_name_are_compared(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "MOST_OF_A_NAME", 3)
    page = sheet()
    for at in range(4):
        space = Array([Name.Separation, Name.Moss, Name.DeviceCMYK, ramp(0.1 * at, 0, 0, 0)])
        painted(page, space, "0.5", (20 + 9 * at, 30, 25 + 9 * at, 38))
    found = alternates(page, tmp_path)["Moss"]
    assert [each.colours[-1][0] for each in found] == pytest.approx([0.2, 0, 0.1])


def test_what_is_hidden_defines_nothing_and_cells_do(tmp_path):
    space = Array([Name.Separation, Name.Moss, Name.DeviceCMYK, ramp(0.1, 0, 0.3, 0.5)])
    page = sheet().layer("off", on=False)
    assert alternates(painted(page, space, "1", (20, 30, 25, 38)).end_layer(), tmp_path) == {}
    page, space = sheet(), Array([Name.Separation, Name.Moss, Name.DeviceCMYK, ramp(0.1, 0, 0.3, 0.5)])
    page.resources.Pattern.P = page.pdf.make_stream(
        b"/C cs 1 scn 0 0 5 5 re f",
        Dictionary(
            PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 9, 9], XStep=9, YStep=9,
            Resources=Dictionary(ColorSpace=Dictionary(C=space)),
        ),
    )  # fmt: skip
    found = alternates(page.raw("/Pattern cs /P scn 0 0 90 90 re f"), tmp_path)["Moss"]
    assert [each.colours[-1][0] for each in found] == pytest.approx([0.2, 0.1])

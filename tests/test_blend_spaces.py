"""In which space groups blend, where that is not the plates' own."""

from __future__ import annotations

import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.geometry import IDENTITY
from preflight.artwork.page.page import BlendSpace
from preflight.artwork.pdf.colour.colour_reader import ColourReader
from preflight.artwork.pdf.content.blend_spaces import blend_spaces, group_space
from preflight.artwork.pdf.content.page_objects import flatten
from tests.drawn import Drawing
from tests.plate_drawings import group
from tests.test_content_reader import SHEET, SQUARE, content_of, form, sheet


def profile(drawing: Drawing, data: bytes = b"x", n: int = 4) -> Array:
    return Array([Name.ICCBased, drawing.pdf.make_stream(data, N=n)])


@pytest.mark.parametrize(
    ("given", "space"),
    [
        (None, ""),
        (Dictionary(S=Name.Transparency), ""),
        (Dictionary(S=Name.Transparency, CS=Name.DeviceRGB), "DeviceRGB"),
        (Dictionary(S=Name.Transparency, CS=Name.DeviceCMYK), "DeviceCMYK"),
        (Dictionary(S=Name.Odd, CS=Name.DeviceRGB), ""),
        (Dictionary(CS=Name.DeviceRGB), ""),
        (Name.Odd, ""),
        (Dictionary(S=Name.Transparency, CS=Name.Unheard), "Unknown"),
    ],
)
def test_the_space_of_a_group(given, space):
    drawing = sheet()
    holder = Dictionary() if given is None else Dictionary(Group=given)
    assert group_space(drawing.pdf, ColourReader(), holder, Dictionary()) == space


@pytest.mark.parametrize(
    ("targets", "space"),
    [
        ([], "ICCBased-4"),
        ([b"other"], "ICCBased-4"),
        ([b"mine"], ""),
        ([None, b"other", b"mine"], ""),
    ],
)
def test_the_profile_that_the_file_is_printed_by_is_the_space_of_the_plates(targets, space):
    drawing = sheet()
    intents = [
        Dictionary() if data is None else Dictionary(DestOutputProfile=drawing.pdf.make_stream(data))
        for data in targets
    ]
    drawing.pdf.Root.OutputIntents = Array(intents)
    holder = Dictionary(Group=group(CS=profile(drawing, b"mine")))
    assert group_space(drawing.pdf, ColourReader(), holder, Dictionary()) == space
    rgb = Dictionary(Group=group(CS=profile(drawing, b"mine", 3)))
    assert group_space(drawing.pdf, ColourReader(), rgb, Dictionary()) == "ICCBased-3"


def test_the_same_profile_object_is_not_compared_byte_by_byte():
    drawing = sheet()
    space = profile(drawing)
    space[1].Filter = Name.Odd
    drawing.pdf.Root.OutputIntents = Array([Dictionary(DestOutputProfile=space[1])])
    holder = Dictionary(Group=group(CS=space))
    assert group_space(drawing.pdf, ColourReader(), holder, Dictionary()) == ""
    drawing.pdf.Root.OutputIntents = Array([Dictionary(DestOutputProfile=drawing.pdf.make_stream(b"x"))])
    assert group_space(drawing.pdf, ColourReader(), holder, Dictionary()) == "ICCBased-4"


def spaces_of(drawing: Drawing) -> list[BlendSpace]:
    content = content_of(drawing)
    return blend_spaces(content, flatten(content, IDENTITY, SHEET))


@pytest.mark.parametrize(
    ("space", "states", "found"),
    [
        (Name.DeviceRGB, "", [("DeviceRGB", True, [0, 1], False)]),
        (Name.DeviceRGB, "/GS0 gs", [("DeviceRGB", True, [0, 1], True)]),
        (Name.DeviceCMYK, "/GS0 gs", []),
        (Name.Unheard, "/GS0 gs", []),
    ],
)
def test_a_page_group_of_another_space(space, states, found):
    drawing = sheet().gs(ca=0.5)
    drawing.ops.clear()
    drawing.page.obj.Group = group(CS=space)
    got = spaces_of(drawing.raw(f"{states} {SQUARE} {SQUARE}"))
    assert [(each.space, each.of_page, each.rows.tolist(), each.blends) for each in got] == found


def test_isolated_groups_of_another_space_with_all_that_they_call():
    drawing = sheet()
    form(drawing, SQUARE, "Inner")
    for name, keys in (
        ("Rgb", {"CS": Name.DeviceRGB, "I": True}),
        ("Gray", {"CS": Name.DeviceGray, "I": True}),
        ("Open", {"CS": Name.DeviceRGB}),
        ("Cmyk", {"CS": Name.DeviceCMYK, "I": True}),
    ):
        form(drawing, f"{SQUARE} /Inner Do", name, Group=group(**keys), Resources=drawing.resources)
    form(drawing, "", "Empty", Group=group(CS=Name.DeviceRGB, I=True))
    got = spaces_of(drawing.raw(f"{SQUARE} /Rgb Do /Open Do /Cmyk Do /Gray Do /Empty Do /Rgb Do"))
    assert [(each.space, each.of_page, each.blends) for each in got] == [
        ("DeviceRGB", False, True), ("DeviceGray", False, True)
    ]  # fmt: skip
    # Two rows a call: behind the page's own, groups begin at 1, 3, 5, 7 and, once more, 9. The inner form is read once
    # for all isolated groups, so that its rows count for each of them.
    assert {1, 2, 9, 10} <= set(got[0].rows.tolist())
    assert not {0, 3, 4, 5, 7} & set(got[0].rows.tolist())
    assert {7, 8} <= set(got[1].rows.tolist())

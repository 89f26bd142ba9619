"""Soft masks by luminosity, as they are read with a page."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.pdf.content.soft_masks import luminosity_masks
from preflight.artwork.pdf.content.stream_content import Content
from tests.drawn import Drawing
from tests.plate_drawings import group, spot_space
from tests.test_content_reader import SQUARE, content_of, pattern, sheet


def masked(drawing: Drawing, inner: str, name: str = "M", resources: Dictionary | None = None, **keys: Any) -> None:
    made = drawing.pdf.make_stream(
        inner.encode(), Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 90, 50], Resources=resources or Dictionary(),
        Group=group(CS=Name.DeviceRGB),
    )  # fmt: skip
    mask = Dictionary(**{"S": Name.Luminosity, "G": made, **keys})
    drawing.resources.ExtGState[Name("/" + name)] = Dictionary(SMask=drawing.pdf.make_indirect(mask))


def masks(content: Content) -> int:
    return len([*luminosity_masks([content, content])])


def test_only_masks_by_luminosity_with_a_group_are_read():
    drawing = sheet(SQUARE)
    masked(drawing, SQUARE)
    masked(drawing, SQUARE, "Alpha", S=Name.Alpha)
    masked(drawing, SQUARE, "Broken", G=Name.Odd)
    drawing.resources.ExtGState.Plain = Dictionary(SMask=Name("/None"))
    drawing.resources.ExtGState.Odd = 5
    masked(drawing, SQUARE, "Second")
    content = content_of(drawing)
    assert masks(content.stream) == 2
    assert len(content.soft_masks) == 2
    assert all(mask.group is not None and mask.because == "" for mask in content.soft_masks.values())


@pytest.mark.parametrize(
    ("keys", "values"),
    [
        ({}, None),
        ({"BC": Array([1, 0, 0.5])}, (1, 0, 0.5)),
        ({"BC": Array([1, 0])}, None),
        ({"BC": Name.Odd}, None),
    ],
)
def test_the_backdrop_of_a_mask_is_a_colour_of_its_group(keys, values):
    drawing = sheet(SQUARE)
    masked(drawing, SQUARE, **keys)
    (mask,) = content_of(drawing).soft_masks.values()
    assert (mask.backdrop and mask.backdrop.values) == values
    assert mask.backdrop is None or mask.backdrop.space.family == "DeviceRGB"


def test_spots_that_a_mask_names_or_has_pictures_in():
    drawing = sheet(SQUARE)
    fern, moss, oak, _ = (spot_space(drawing, name) for name in ("Fern", "Moss", "Oak", "Ash"))
    picture = drawing.pdf.make_stream(
        b"\0",
        Subtype=Name.Image,
        Width=1,
        Height=1,
        ColorSpace=Array([Name.Indexed, moss, 0, b"\0"]),
        BitsPerComponent=8,
    )
    inner = drawing.pdf.make_stream(
        b"", Subtype=Name.Form, BBox=[0, 0, 9, 9], Resources=Dictionary(ColorSpace=Dictionary(C=oak))
    )
    resources = Dictionary(
        ColorSpace=Dictionary(A=fern, B=Name.DeviceCMYK), XObject=Dictionary(Im=picture, Fm=inner, Other=picture)
    )
    masked(drawing, "/Im Do /Fm Do", resources=resources)
    content = content_of(drawing)
    (mask,) = content.soft_masks.values()
    assert sorted(mask.spots) == ["Fern", "Moss", "Oak"]
    assert all(space.is_indirect for space in mask.spots.values())


def test_a_mask_begins_as_a_page_does_and_isolated():
    drawing = sheet("0 1 0 0 k 5 w /M gs", SQUARE)
    masked(drawing, f"{SQUARE} 1 1 m 5 9 l S")
    content = content_of(drawing)
    (mask,) = content.soft_masks.values()
    assert mask.group is not None
    assert mask.group.isolated
    assert content.palette.entries[mask.group.colour[0]].values == (0,)
    assert content.states[mask.group.state[1]].line_width == 1
    assert np.isin(mask.group.colour, [0]).all()


def test_patterns_of_masks_are_none_of_the_page():
    drawing = sheet("/Pattern cs /P scn", SQUARE)
    pattern(drawing, SQUARE)
    own = pattern(drawing, SQUARE, name="Q")
    masked(drawing, f"/Pattern cs /Q scn {SQUARE}", resources=Dictionary(Pattern=Dictionary(Q=own)))
    content = content_of(drawing)
    assert len(content.palette.patterns()) == 2
    assert [type(found).__name__ for found in content.patterns()] == ["TilingCell"]

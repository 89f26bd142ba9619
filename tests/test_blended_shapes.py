"""What an object does to plates that its overprint leaves alone."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pikepdf import Dictionary, Name

from preflight.artwork.platemaking.overprint import (
    BARE,
    SQUARED,
    blended_shapes,
    changes_plates_left_alone,
    meets_ink,
)
from preflight.artwork.platemaking.renderings import LUMINOSITY, SILHOUETTE, Rendering
from preflight.errors import CannotBeRendered
from tests.drawn import Drawing
from tests.plate_drawings import group
from tests.test_shared_channels import read

INKS, SPOTS = Rendering((("Cyan",), ("Gold",))), Rendering((("Gold",),))


@pytest.mark.parametrize(
    ("mode", "rendering", "changes"),
    [
        ("Normal", INKS, False),
        ("Darken", INKS, False),
        ("Lighten", INKS, False),
        ("Hue", INKS, False),
        ("Multiply", INKS, True),
        ("Screen", INKS, True),
        ("Difference", INKS, True),
        ("Difference", SPOTS, False),  # Normal on spots: 11.7.4.2
        ("Multiply", SPOTS, True),
        ("Multiply", LUMINOSITY, False),
        ("Multiply", SILHOUETTE, False),
        ("Multiply", Rendering(light="RGB"), True),
        ("Exclusion", Rendering(light="RGB"), True),
    ],
)
def test_which_modes_change_a_colour_that_they_blend_with_itself(mode, rendering, changes):
    assert changes_plates_left_alone(mode, rendering) == changes


def on_ink() -> bool:
    return True


def on_board() -> bool:
    return False


def unasked() -> bool:
    raise AssertionError("nobody has to know what lies below")


@pytest.mark.parametrize(
    ("mode", "meets", "isolated", "faint", "expected"),
    [
        ("Normal", unasked, False, False, []),
        ("Normal", unasked, True, True, [BARE]),
        ("Multiply", unasked, False, True, [SQUARED]),
        ("Multiply", on_board, True, False, [BARE]),
        ("Multiply", on_ink, True, False, [BARE, SQUARED]),
        ("Multiply", on_board, True, True, [BARE]),
        ("Screen", on_board, False, False, []),
        ("Screen", on_board, True, True, [BARE]),
    ],
)
def test_what_is_painted_on_plates_left_alone(mode, meets, isolated, faint, expected):
    assert blended_shapes(mode, INKS, meets, isolated=isolated, faint=faint) == expected


@pytest.mark.parametrize(("mode", "isolated", "faint"), [("Screen", False, False), ("Multiply", True, True)])
def test_what_cannot_be_blended_with_itself_is_refused(mode, isolated, faint):
    with pytest.raises(CannotBeRendered):
        blended_shapes(mode, INKS, on_ink, isolated=isolated, faint=faint)


CYAN = Rendering((("Cyan",),))
OVERPRINTED = "/multiply gs /CS0 cs 1 scn 10 20 30 40 re f"
"""The last row, from 10, 20 to 40, 60, in a spot that overprints."""


def meets(tmp_path, before: str, *, rendering=CYAN, mode: str = "Screen", behind: str = "", draw=None, **keys):
    """Whether something may lie below what is overprinted, on the page or in a group that stands on it."""
    page = Drawing(80, 60)
    page.spot("Gold")
    page.resources.ExtGState.multiply = Dictionary(BM=Name.Multiply, op=True, OP=True, OPM=1)
    page.resources.ExtGState.over = Dictionary(op=True, OP=True, OPM=1)
    if draw is not None:
        draw(page)
    words = f"{before} {OVERPRINTED} {behind}"
    if keys:
        words = f"/{page.form(words, bbox_mm=(0, 0, 80, 60), group=group(**keys))} Do"
    found: Any = read(page.raw(words), tmp_path).separator.page_content
    content = found.stream.calls[0].content if keys else found.stream
    row = int(np.flatnonzero((content.box == (10, 20, 40, 60)).all(1))[0])
    return meets_ink(found, content, row, rendering, content.box, mode)


@pytest.mark.parametrize(
    ("before", "expected"),
    [
        ("", False),
        ("1 0 0 0 k 0 0 15 25 re f", True),
        ("1 0 0 0 k 0 0 10 90 re f", True),  # edge to edge
        ("1 0 0 0 k 0 0 9.9 90 re f", False),
        ("1 0 0 0 k 40.1 0 9 90 re f", False),
        ("1 0 0 0 k 0 60.1 90 9 re f", False),
        ("1 0 0 0 k 0 0 90 19.9 re f", False),
        ("0 1 0 0 k 0 0 15 25 re f", False),  # bare on cyan
        ("/over gs 0 1 0 0 k 0 0 15 25 re f", False),
        ("/CS0 cs 1 scn 0 0 15 25 re f", False),
        ("/over gs /CS0 cs 1 scn 0 0 15 25 re f", False),
        ("0 1 0 0 k 0 0 15 25 re f 1 0 0 0 k 0 0 15 25 re f", True),
        ("1 0 0 0 K 0 0 15 25 re S", True),
        ("1 0 0 0 k 0 1 0 0 K 0 0 15 25 re S", False),
        ("/All cs 0.5 scn 0 0 15 25 re f", True),
        ("/All cs 0 scn 0 0 15 25 re f", False),
        ("/OC /off BDC 1 0 0 0 k 0 0 15 25 re f EMC", False),
        ("/Pattern cs /P scn 0 0 15 25 re f", True),
        ("/Pattern cs /P scn 60 0 15 25 re f", False),
    ],
)
def test_what_may_lie_below_an_object(tmp_path, before, expected):
    def draw(page: Drawing) -> None:
        page.layer("off", on=False).ops.clear()
        page.resources.Properties.off = page.resources.Properties.OC0
        page.resources.ColorSpace.All = page.resources.ColorSpace[Name("/" + page.spot("All"))]
        page.resources.Pattern.P = page.pdf.make_stream(
            b"0 0 1 0 k 0 0 5 5 re f",
            Dictionary(PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 9, 9], XStep=9, YStep=9),
        )

    assert meets(tmp_path, before, draw=draw) == expected


def test_in_some_modes_bare_board_counts_as_ink(tmp_path):
    assert meets(tmp_path, "0 1 0 0 k 0 0 15 25 re f", mode="Difference")
    assert not meets(tmp_path, "0 1 0 0 k 60 0 15 25 re f", mode="Difference")
    assert not meets(tmp_path, "", mode="Exclusion")


def test_what_is_painted_later_lies_not_below(tmp_path):
    assert not meets(tmp_path, "", behind="1 0 0 0 k 0 0 90 90 re f")


def test_inks_of_light_are_those_of_the_process(tmp_path):
    assert meets(tmp_path, "0 0 1 0 k 0 0 15 25 re f", rendering=Rendering(light="RGB"))
    assert not meets(tmp_path, "/CS0 cs 1 scn 0 0 15 25 re f", rendering=Rendering(light="RGB"))


@pytest.mark.parametrize(
    ("before", "behind", "expected"),
    [
        ("/Fm0 Do", "", True),
        ("", "/Fm0 Do", False),
        ("q 1 0 0 1 60 0 cm /Fm0 Do Q", "", False),
        ("q 0 0 5 5 re W n /Fm0 Do Q", "", False),
    ],
)
def test_a_form_may_hold_anything(tmp_path, before, behind, expected):
    def draw(page: Drawing) -> None:
        page.form("0 0 1 0 k 0 0 9 9 re f", bbox_mm=(0, 0, 10, 10))

    assert meets(tmp_path, before, behind=behind, draw=draw) == expected


def test_below_a_group_that_is_not_isolated_may_lie_anything(tmp_path):
    assert meets(tmp_path, "", I=False)
    assert not meets(tmp_path, "", I=True)
    assert meets(tmp_path, "1 0 0 0 k 0 0 15 25 re f", I=True)

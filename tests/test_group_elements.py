"""How the elements of a group are painted one by one: which are shut out of the shapes of which later ones."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.platemaking import group_elements
from preflight.artwork.platemaking.group_elements import StreamPart, steps
from preflight.errors import CannotBeRendered, TooBig
from tests.drawn import Drawing
from tests.plate_drawings import group
from tests.test_shared_channels import read

STATES = {
    "half": {"ca": 0.5, "CA": 0.4}, "quarter": {"ca": 0.25}, "whole": {"ca": 1.0, "CA": 1.0, "BM": Name.Normal},
    "multiply": {"BM": Name.Multiply}, "over": {"OP": True, "op": True},
}  # fmt: skip
LOW, HIGH, APART = "10 20 30 40 re", "35 50 20 30 re", "100 20 10 10 re"


def stepped(tmp_path, inner: str, *, faint: bool = False, knockout: bool = True, draw=None):
    """The steps of a group: elements painted, and later ones with their share, by rows or -1 - number of a call."""
    page = Drawing(80, 60)
    for name, keys in STATES.items():
        page.resources.ExtGState[Name("/" + name)] = Dictionary(**keys)  # type: ignore[arg-type]
    if draw is not None:
        draw(page)
    page.raw(f"/{page.form(inner, bbox_mm=(0, 0, 80, 60), group=group(K=knockout, I=True))} Do")
    content: Any = read(page, tmp_path).separator.page_content
    found = steps(content, content.stream.calls[0].content, faint=faint)
    return [(numbers(step.painted), [(numbers(part), share) for part, share in step.later]) for step in found]


def numbers(part: StreamPart) -> list[int]:
    return [*np.flatnonzero(part.rows).tolist(), *(-1 - call for call in sorted(part.calls))]


@pytest.mark.parametrize(
    ("inner", "expected"),
    [
        ("", []),
        (f"{LOW} f {HIGH} f", [([0, 1], [])]),  # what is solid covers what is earlier anyhow
        (f"{LOW} f /half gs {HIGH} f", [([0], [([1], 0.5)]), ([1], [])]),
        (f"{LOW} f /half gs {APART} f", [([0, 1], [])]),
        (f"{APART} f {LOW} f /half gs {HIGH} f", [([0], []), ([1], [([2], 0.5)]), ([2], [])]),
        (f"{LOW} f /half gs {HIGH} f /quarter gs 12 22 9 9 re f", [([0], [([1], 0.5), ([2], 0.25)]), ([1, 2], [])]),
        (f"{LOW} f /half gs {HIGH} f 12 22 9 9 re f", [([0], [([1, 2], 0.5)]), ([1, 2], [])]),
        (f"{LOW} f /half gs {HIGH} f {HIGH} f", [([0], [([1, 2], 0.5)]), ([1], [([2], 0.5)]), ([2], [])]),
        (f"{LOW} B /half gs {HIGH} B", [([0, 1], [([2, 3], 0.4)]), ([2, 3], [])]),
        (f"{LOW} f /multiply gs {HIGH} f", [([0], [([1], 0)]), ([1], [])]),
        (f"{LOW} f /half gs /over gs {HIGH} f", [([0], [([1], 0)]), ([1], [])]),
        (f"{LOW} f /half gs {HIGH} S", [([0], [([1], 0.4)]), ([1], [])]),
        (f"{LOW} f /half gs {HIGH} n", [([0], [])]),
    ],
)
def test_earlier_elements_are_shut_out_of_later_ones_that_let_something_show(tmp_path, inner, expected):
    assert stepped(tmp_path, inner) == expected


@pytest.mark.parametrize(
    ("where", "meets"),
    [
        ("40 30 5 5 re", False),  # edge by edge
        ("39.9 30 5 5 re", True),
        ("5 30 5 5 re", False),
        ("5 30 5.1 5 re", True),
        ("20 60 5 5 re", False),
        ("20 59.9 5 5 re", True),
        ("20 15 5 5 re", False),
        ("20 15 5 5.1 re", True),
    ],
)
def test_elements_meet_where_their_boxes_have_an_area_in_common(tmp_path, where, meets):
    """Beside 10 to 40 across and 20 to 60 up."""
    assert len(stepped(tmp_path, f"{LOW} f /half gs {where} f")) == (2 if meets else 1)


@pytest.mark.parametrize(
    ("stroke", "meets"),
    [
        ("2 w 56 20 m 56 60 l S", False),  # half the miter limit of 10 widths: 14 and a part for aslant matrices
        ("2 w 53 20 m 53 60 l S", True),
        ("4 w 66 20 m 66 60 l S", True),
        ("20 M 2 w 66 20 m 66 60 l S", True),
        ("q 2 0 0 2 0 0 cm 2 w 33 10 m 33 30 l S Q", True),
        ("BT /F0 12 Tf 1 0 0 1 50 30 Tm (o) Tj ET", True),
        ("BT /F0 12 Tf 1 0 0 1 60 30 Tm (o) Tj ET", False),
    ],
)
def test_strokes_and_letters_may_reach_out_of_their_boxes(tmp_path, stroke, meets):
    def with_font(page: Drawing) -> None:
        page.text("o", (70, 50), 4)

    found = stepped(tmp_path, f"{LOW} f /half gs {stroke}", draw=with_font)
    assert len(found) == (2 if meets else 1)


def test_a_faint_group_shuts_earlier_elements_out_of_solid_ones_too(tmp_path):
    found = stepped(tmp_path, f"{LOW} f {HIGH} f /half gs {APART} f", faint=True, knockout=False)
    assert found == [([0], [([1], 0)]), ([1, 2], [])]
    found = stepped(tmp_path, f"{LOW} f {HIGH} f /half gs 12 22 9 9 re f", faint=True)
    assert found == [([0], [([1, 2], 0)]), ([1, 2], [])]


def test_forms_are_elements_by_their_boxes(tmp_path):
    def forms(page: Drawing) -> None:
        one, three = "1 0 0 0 k 0 0 9 9 re f", "0 0 0 1 k 0 0 4 4 re f 2 2 5 5 re f 9 9 1 1 re f"
        page.form(one, bbox_mm=(0, 0, 12, 12))
        page.form(three, bbox_mm=(0, 0, 12, 12), group=group())
        page.form("", bbox_mm=(0, 0, 12, 12))

    assert stepped(tmp_path, f"{LOW} f /half gs /Fm0 Do", draw=forms) == [([0], [([-1], 0)]), ([-1], [])]
    assert stepped(tmp_path, f"{LOW} f /half gs /Fm2 Do /Fm1 Do", draw=forms) == [([0], [([-2], 0)]), ([-2], [])]
    moved = f"{LOW} f /half gs 1 0 0 1 40 0 cm /Fm1 Do"
    assert stepped(tmp_path, moved, draw=forms) == [([0, -1], [])]
    assert stepped(tmp_path, f"{LOW} f /half gs /Fm2 Do", draw=forms) == [([0], [])]


@pytest.mark.parametrize(
    ("inner", "keys"),
    [
        (f"{LOW} f /shape gs {HIGH} f", {}),
        (f"{LOW} f /masked gs {HIGH} f", {}),
        (f"{LOW} f /masked gs /Fm1 Do", {}),
        (f"{LOW} f /half gs /Fm0 Do", {}),
        (f"{LOW} f /half gs {HIGH} f", {"faint": True, "knockout": False}),
        (f"/Fm2 Do /half gs {HIGH} f", {}),
    ],
    ids=["alpha as shape", "masked", "a masked form", "a form of two", "blended in a faint group", "blends below"],
)
def test_what_cannot_be_painted_one_by_one_is_refused(tmp_path, inner, keys):
    def draw(page: Drawing) -> None:
        if "shape" in inner:  # such a state is looked for among the resources
            page.resources.ExtGState.shape = Dictionary(AIS=True, ca=0.5)
        two = "1 0 0 0 k 0 0 4 4 re f 0 0 9 9 re f"
        page.form(two, bbox_mm=(0, 0, 40, 40))
        page.form(two, bbox_mm=(0, 0, 40, 40), group=group())
        page.form(f"/multiply gs 1 0 0 0 k {LOW} f", bbox_mm=(0, 0, 40, 40), group=group())
        mask = page.form("1 g 0 0 99 99 re f", bbox_mm=(0, 0, 40, 40), group=group(CS=Name.DeviceGray))
        page.resources.ExtGState.masked = Dictionary(
            SMask=Dictionary(S=Name.Luminosity, G=page.resources.XObject[Name("/" + mask)], BC=Array([0]))
        )

    with pytest.raises(CannotBeRendered):
        stepped(tmp_path, inner, draw=draw, **keys)


def test_bounds_on_what_is_painted_one_by_one(tmp_path, monkeypatch):
    pair = f"{LOW} f {APART} f /half gs {HIGH} f 105 25 9 9 re f"  # two of them are shut out
    for name, fits in (("MOST_MASKED", 2), ("MOST_ELEMENTS", 4), ("MOST_BYTES", 5 * len(pair))):
        with monkeypatch.context() as patch:
            patch.setattr(group_elements, name, fits)
            assert len(stepped(tmp_path, pair)) == 3
            patch.setattr(group_elements, name, fits - 1)
            with pytest.raises(TooBig):
                stepped(tmp_path, pair)

"""Which plates are rendered together, and what paints a rendering."""

from __future__ import annotations

import pytest

from preflight.artwork.pdf.content.graphics_state import ALL_PLATES
from preflight.artwork.platemaking.renderings import (
    LUMINOSITY,
    SILHOUETTE,
    Rendering,
    can_blend_together,
    for_nonseparable_modes,
    group_plates,
    plates_marked,
    rendering_of,
)

CMY = (("Cyan",), ("Magenta",), ("Yellow",))


def channels(*renderings: Rendering) -> list[tuple[tuple[str, ...], ...]]:
    return [rendering.channels for rendering in renderings]


@pytest.mark.parametrize(
    ("painted", "expected"),
    [
        ([], ["ABC", "DE"]),
        ([{ALL_PLATES}, {ALL_PLATES, "A"}, set()], ["ABC", "DE"]),  # what knocks out, or paints nothing, parts none
        ([{"B"}], ["ACD", "E", "B"]),
        ([{"B", "D"}], ["ACE", "BD"]),
        ([{"A", "B"}, {"B", "C", "D", "E"}], ["A", "B", "CDE"]),
    ],
    ids=["nothing", "knock-out", "one", "two of five", "two objects"],
)
def test_plates_that_an_object_parts_are_not_together(painted, expected):
    found = group_plates("ABCDE", map(frozenset, painted))
    assert sorted(channels(*found)) == sorted(tuple((plate,) for plate in group) for group in expected)


def test_registration_colour_marks_plates_with_ink_of_their_own():
    first, second = group_plates("ABCD", [], frozenset("BD"))
    assert (first.marked, second.marked) == (("B",), ("D",))


def test_registration_colour_marks_all_plates_where_nothing_else_is_painted():
    assert plates_marked(["A", "B"], {"C"}) == {"A", "B"}
    assert plates_marked(["A", "B"], {"B", "C"}) == {"B", "C"}


def test_a_channel_may_carry_several_plates():
    found = rendering_of([("A", "B"), ("C",)], {"B", "C", "X"})
    assert found.channels == (("A", "B"), ("C",))
    assert found.marked == ("B", "C")
    assert found.plates == {"A", "B", "C"}


@pytest.mark.parametrize(
    ("rendering", "painted", "paints"),
    [
        (Rendering((("Cyan",), ("Gold",))), {"Gold", "Leaf"}, True),
        (Rendering((("Cyan",), ("Gold",))), {"Leaf"}, False),
        (Rendering((("Cyan",), ("Gold",))), {ALL_PLATES}, True),
        (Rendering((("Cyan",), ("Gold",))), set(), False),
        (LUMINOSITY, {"Leaf"}, True),
        (SILHOUETTE, set(), True),
        (Rendering(light="RGB"), {"Leaf"}, False),
        (Rendering(light="RGB"), {"Yellow"}, True),
        (Rendering(light="Gray"), {ALL_PLATES}, True),
    ],
)
def test_what_paints_a_rendering(rendering, painted, paints):
    assert rendering.paints(frozenset(painted)) == paints


@pytest.mark.parametrize(
    ("rendering", "expected"),
    [
        (Rendering((("Gold",), ("Leaf",))), True),
        (Rendering((("Gold",), ("Black",))), False),
        (LUMINOSITY, False),
        (SILHOUETTE, False),
        (Rendering(light="Gray"), False),
    ],
)
def test_a_rendering_of_spots_only(rendering, expected):
    assert rendering.only_spots == expected


def test_cyan_magenta_and_yellow_blend_together_in_one_rendering_only():
    black, parted = Rendering((("Black",),)), Rendering((("Cyan",), ("Magenta",)))
    assert can_blend_together([black, Rendering(CMY)])
    assert not can_blend_together([black, parted, Rendering((("Yellow",),))])
    assert not can_blend_together([])


def test_black_has_all_channels_where_modes_are_nonseparable():
    black, others = Rendering((("Black",),), ("Black",)), Rendering(CMY, ("Cyan",))
    assert for_nonseparable_modes([others, black]) == [others, Rendering((("Black",),) * 3, ("Black",))]

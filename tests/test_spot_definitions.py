"""Alternate colours of one spot: how far they are apart, and which are one."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from preflight.artwork.page.page import OverBound
from preflight.artwork.page.separations import Alternate, Separation
from preflight.errors import NotMeasured
from preflight.measures import spot_definitions
from preflight.measures.spot_definitions import definitions_of_each_spot

SPAN = (0.0, 0.25, 0.5, 0.75, 1.0)


def alternate(*solid: float, space: str = "CMYK", page: int = 1, boxes: Any = (), bent: Any = None) -> Alternate:
    """From bare to solid in even steps; ``bent``: its first component at each tint instead."""
    colours = [tuple(tint * value for value in solid) for tint in SPAN]
    if bent:
        colours = [(first, *colour[1:]) for first, colour in zip(bent, colours, strict=True)]
    return Alternate(space, tuple(colours), page, boxes)


MOSS = alternate(0.6, 0.0, 0.8, 0.2)


@pytest.mark.parametrize(
    ("one", "other", "apart", "at"),
    [
        (MOSS, MOSS, 0, 4),
        (MOSS, alternate(0.6, 0.1, 0.8, 0.2), 10, 4),
        (MOSS, alternate(0.55, 0.02, 0.8, 0.2), 5, 4),
        (MOSS, alternate(0.6, 0.0, 0.8, 0.2, bent=(0, 0.15, 0.4, 0.45, 0.6)), 10, 2),
        (MOSS, alternate(0.6, 0.0, 0.8, 0.2, bent=(0, 0.15, 0.4, 0.45, 0.65)), 10, 4),
        (MOSS, alternate(0.6, 0.0, 0.8, 0.2, bent=(0, 0.15, 0.4, 0.45, 0.64)), 10, 2),
        (MOSS, alternate(0.6, 0.0, 0.8, 0.2, bent=(0.08, 0.15, 0.3, 0.45, 0.6)), 8, 0),
        (MOSS, alternate(0.6, 0.0, 0.8, 0.2, space="RGB"), float("inf"), 4),
        (alternate(0.2, 0.4, 0.6, space="RGB"), alternate(0.2, 0.5, 0.6, space="RGB"), 10, 4),
        (alternate(50, -20, 30, space="Lab"), alternate(53, -20, 30, space="Lab"), 3, 4),
    ],
    ids=["the same", "a tenth of magenta", "the most of two", "in the middle", "at the solid by half of it",
         "at the solid by less than half", "on bare board", "other spaces", "RGB", "Lab"],
)  # fmt: skip
def test_how_far_two_are_apart_and_at_which_tint(one, other, apart, at):
    """In hundredths of a component's range; the solid is told unless another tint differs more than twice as much."""
    for pair in ((one, other), (other, one)):
        most, where = spot_definitions._apart(*pair)
        assert most == pytest.approx(apart)
        assert where == at


def test_those_that_are_alike_share_a_group_with_the_first_of_it():
    near, far, off = alternate(0.63, 0.0, 0.8, 0.2), alternate(0.66, 0.0, 0.8, 0.2), alternate(0.6, 0.5, 0.8, 0.2)
    groups = spot_definitions._different([MOSS, near, off, far, MOSS], 3.0001)
    assert groups == [[MOSS, near, MOSS], [off], [far]]
    assert spot_definitions._different([MOSS, near], 2.99) == [[MOSS], [near]]


@pytest.mark.parametrize(
    ("one", "at", "words"),
    [
        (MOSS, 4, "CMYK 60/0/80/20"),
        (MOSS, 2, "CMYK 30/0/40/10"),
        (alternate(0.2, 0.4, 1.0, space="RGB"), 4, "RGB 51/102/255"),
        (alternate(50, -20.4, 30.6, space="Lab"), 4, "Lab 50/-20/31"),
    ],
)
def test_colours_are_told_as_people_write_them(one, at, words):
    assert spot_definitions._words(one, at) == words


def job(alternates: dict[str, list[Alternate]], *, pages: int = 1, at: int = 0, kinds: Any = None) -> Any:
    kinds = kinds or {}
    names = [name for name in alternates if name != "Nobody"]
    all_pages = [
        SimpleNamespace(
            number=number,
            over_bounds=[],
            separations=[Separation(name, kinds.get(name, "spot"), "") for name in names],
        )
        for number in range(1, pages + 1)
    ]
    return SimpleNamespace(page=all_pages[at], artwork=SimpleNamespace(pages=all_pages, alternates=alternates))


def told(its_job: Any, within: float = 2.0) -> Any:
    return definitions_of_each_spot(its_job, same_within_percent=within)


OFF = alternate(0.6, 0.5, 0.8, 0.2)
UNREADABLE = Alternate("", (), 1)


@pytest.mark.parametrize(
    ("alternates", "kinds", "expected", "gaps"),
    [
        ({"Moss": [MOSS, OFF], "Rust": [MOSS, MOSS]}, {}, [("Moss", 2)], 0),
        ({"Moss": [MOSS, OFF, alternate(0.1, 0.1, 0.1, 0.1)]}, {}, [("Moss", 3)], 0),
        ({"Cyan": [MOSS, OFF]}, {"Cyan": "process"}, [], 0),
        ({"Cutting": [MOSS, OFF]}, {"Cutting": "cut"}, [], 0),
        ({"Nobody": [MOSS, OFF]}, {}, [], 0),
        ({"Nobody": [MOSS], "Moss": [MOSS, OFF]}, {}, [("Moss", 2)], 0),
        ({"Moss": [MOSS, UNREADABLE]}, {}, [], 1),
        ({"Moss": [MOSS, UNREADABLE, OFF]}, {}, [("Moss", 2)], 0),
        ({"Moss": [UNREADABLE, UNREADABLE], "Rust": [MOSS, OFF]}, {}, [("Rust", 2)], 1),
        ({}, {}, [], 0),
    ],
    ids=["two colours", "three", "a process ink", "a line of the die", "a name that no page has", "and after it one",
         "one that cannot be read", "two beside it that can", "none that can", "none"],
)  # fmt: skip
def test_spots_that_one_file_defines_in_more_than_one_way(alternates, kinds, expected, gaps):
    found = told(job(alternates, kinds=kinds))
    assert [(one.group, one.value) for one in found.readings] == expected
    assert len(found.gaps) == gaps


def test_it_is_said_of_the_first_page_and_only_where_objects_are_whole():
    alternates = {"Moss": [MOSS, OFF]}
    assert told(job(alternates, pages=2, at=1)).readings == []
    broken = job(alternates)
    broken.page.over_bounds.append(OverBound("too much", frozenset({"objects"})))
    with pytest.raises(NotMeasured):
        told(broken)


def test_places_are_those_of_other_colours_on_this_page():
    here, there = ((1.0, 2.0, 3.0, 4.0), (5.0, 6.0, 7.0, 8.0)), ((9.0, 9.0, 10.0, 10.0),)
    first, other, far = (
        alternate(0.6, boxes=there),
        alternate(0.3, boxes=(*here, here[0])),
        alternate(0.3, page=2, boxes=there),
    )
    reading = told(job({"Moss": [first, other, far]}, pages=2)).readings[0]
    assert [(place.box_mm, place.page, place.separation) for place in reading.places] == [
        (here[0], 1, "Moss"), (here[1], 1, "Moss"),
    ]  # fmt: skip


def test_the_tint_and_the_pages_are_told_where_they_matter():
    bent = alternate(0.6, 0.0, 0.8, 0.2, bent=(0, 0.15, 0.45, 0.45, 0.6), page=2)
    words = str(told(job({"Moss": [MOSS, OFF]})).readings[0].facts["definitions"])
    assert "page" not in words
    assert "tint" not in words
    assert "CMYK 60/50/80/20" in words
    words = str(told(job({"Moss": [MOSS, bent]}, pages=2)).readings[0].facts["definitions"])
    assert "page 1" in words
    assert "page 2" in words
    assert "50 %" in words
    assert "CMYK 45/0/40/10" in words

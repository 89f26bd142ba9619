"""Where another space than the plates' is blended in, on objects made in the test."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import BlendSpace
from preflight.measures.blending import _where, process_ink_blended_elsewhere
from tests.test_finishes import CYAN, MOSS, WHITE, family, table

PAGE, GROUP = "the page", "a group on it"
RGB = family("DeviceRGB", ("Cyan", 1.0), not_a_plate="RGB")
F = Painted.FILL


@pytest.mark.parametrize(
    ("told", "words"),
    [([PAGE], PAGE), ([GROUP], GROUP), ([GROUP, GROUP], "2 groups on it"),
     ([GROUP, PAGE], "the page and a group on it"),
     ([PAGE, GROUP, GROUP, GROUP], "the page and 3 groups on it"), ([PAGE, PAGE], PAGE)],
)  # fmt: skip
def test_the_page_is_named_before_its_groups(told, words):
    assert _where(told) == words


BOX = (10.0, 12.0, 30.0, 22.0)
ROWS = [(F, BOX, CYAN), (F, BOX, WHITE), (F, BOX, MOSS), (F, BOX, RGB), (F, (100.0, 10, 130, 20), CYAN),
        (F, (40.0, 41.0, 50.0, 43.0), CYAN)]  # fmt: skip
"""Of these the first and the last have process ink that is converted, inside the cut."""


def found(*blended: BlendSpace, spaces: tuple[str, ...] = ("DeviceRGB", "ICCBased-4")) -> list[Any]:
    page = SimpleNamespace(objects=table(*ROWS), over_bounds=[], blend_spaces=list(blended), number=3)
    job: Any = SimpleNamespace(page=page, plates=None, inside_shape=shapely.box(5, 5, 60, 60))
    return process_ink_blended_elsewhere(job, spaces=spaces)


def group(space: str, *rows: int, of_page: bool = False, blends: bool = True) -> BlendSpace:
    return BlendSpace(space, of_page, np.array(rows, int), blends)


def test_process_inks_inside_the_cut_are_counted_once():
    [reading] = found(group("DeviceRGB", 0, 1, 2, 3, 4), group("DeviceRGB", 0, 5), group("DeviceRGB", 1))
    assert (reading.value, reading.unit, reading.group, reading.only_warns) == (2.0, "objects", "RGB", "")
    assert dict(reading.facts) == {"space": "RGB", "where": "2 groups on it"}
    assert sorted(place.box_mm for place in reading.places) == [BOX, (40, 41, 50, 43)]
    assert {place.page for place in reading.places} == {3}


def test_each_space_is_a_reading_and_what_blends_nothing_only_warns():
    both = found(
        group("ICCBased-4", 5, of_page=True, blends=False), group("DeviceRGB", 0), group("DeviceRGB", 5, blends=False)
    )
    assert [(own.facts["space"], own.value, bool(own.only_warns), own.facts["where"]) for own in both] == [
        ("ICC-based CMYK", 1.0, True, "the page"), ("RGB", 1.0, False, "a group on it"),
        ("RGB", 1.0, True, "a group on it"),
    ]  # fmt: skip


def test_spaces_that_are_not_asked_for_come_before_others():
    assert found(group("DeviceCMYK", 0), group("CalRGB", 0)) == []
    [reading] = found(group("CalRGB", 0), group("DeviceRGB", 0))
    assert reading.facts["space"] == "RGB"
    assert found(group("Odd", 0), spaces=("Odd",))[0].facts["space"] == "Odd"

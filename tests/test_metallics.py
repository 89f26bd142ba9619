"""Inks over and under a metallic, on plates of rectangles."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely

from preflight.artwork.page.page import PageBoxes
from preflight.measures import metallics
from preflight.measures.metallics import _MetallicOverlap, ink_over_metallic, printed_over
from tests.test_overlaps import RectPage, Rects, solid
from tests.test_units import job

METAL = solid((10, 12, 30, 40))
LARGE = solid((22, 20, 50, 26))
"""8 x 6 mm of it lie on the metallic."""
APART = solid((40, 5, 50, 10))


def readings(inks: dict[str, Rects], *, kinds: Any = ("process", "spot", "metallic"), width: float = 70,
             inside: Any = None, prints: Any = None, **ticket: Any) -> list[Any]:  # fmt: skip
    page = RectPage(width, 50, inks)
    page.opaque = False
    its_job = job(*inks, page=page, prints=prints, **ticket)
    if inside:
        its_job.page.boxes = PageBoxes(page.box_mm, trim=inside)
    return ink_over_metallic(its_job, inks=kinds, trim_mm=0.3, ink_from_percent=2.0)


def told(inks: dict[str, Rects], **more: Any) -> list[tuple[Any, ...]]:
    return [(one.group, one.case, one.facts["over"]) for one in readings(inks, **more)]


def test_the_area_of_a_large_overlap_is_all_of_it():
    reading = readings({"Copper": METAL, "Cyan": LARGE})[0]
    assert reading.value == pytest.approx(48, rel=0.1)
    assert reading.places[0].box_mm == pytest.approx((22, 20, 30, 26), abs=0.3)
    assert (len(reading.places), reading.places[0].separation, reading.unit) == (1, "Copper", "mm2")


@pytest.mark.parametrize(
    ("inks", "more", "expected"),
    [
        ({"Copper": METAL, "Cyan": LARGE}, {}, [("Copper", "", "Cyan")]),
        ({"Copper": METAL, "Cyan": APART}, {}, []),
        ({"Copper": METAL}, {}, []),
        ({"Cyan": METAL, "Rust": LARGE}, {}, []),
        ({"Copper": METAL, "Gloss Varnish": LARGE}, {}, []),
        ({"Copper": METAL, "Rust": solid((28, 20, 50, 26)), "Cyan": LARGE}, {}, [("Copper", "", "Cyan, Rust")]),
        ({"Copper": METAL, "Cyan": LARGE}, {"kinds": ("spot",)}, []),
        ({"Copper": METAL, "Cyan": LARGE}, {"prints": {"Cyan": False}}, []),
        ({"Copper": METAL, "Cyan": LARGE}, {"prints": {"Copper": False}}, []),
        ({"Copper": METAL, "Cyan": LARGE}, {"prints": {"Cyan": None}}, [("Copper", "", "Cyan")]),
        ({"Copper": METAL, "Silver": LARGE}, {}, [("Copper", "", "Silver")]),
        ({"Copper": METAL, "Silver": LARGE, "Cyan": LARGE}, {},
         [("Copper", "", "Silver, Cyan"), ("Silver", "", "Cyan")]),
        ({"Copper": METAL, "Cyan": LARGE}, {"inside": (35, 5, 60, 45)}, []),
        ({"Copper": METAL, "Cyan": [((22, 20, 50, 26), 0.015)]}, {}, []),
    ],
    ids=["one ink", "apart", "none but it", "no metallic", "a varnish", "the one that covers most comes first",
         "kinds that do not count", "an ink that prints nothing", "a metallic that prints nothing",
         "an ink of which nobody knows", "two metallics are told once", "two metallics and an ink",
         "outside the cut", "too light"],
)  # fmt: skip
def test_inks_that_overlap_a_metallic(inks, more, expected):
    assert told(inks, **more) == expected


@pytest.mark.parametrize(
    ("units", "expected"),
    [
        (["Cyan", "Copper"], [("Copper", "on ink", "Cyan")]),
        (["Copper", "Cyan"], [("Copper", "", "Cyan")]),
        (["Cyan", "Copper", "Cyan"], [("Copper", "", "Cyan")]),
        (["Copper", "Cyan", "Copper"], [("Copper", "", "Cyan")]),
        (["Cyan"], [("Copper", "", "Cyan")]),
        (["Copper"], [("Copper", "", "Cyan")]),
    ],
)
def test_inks_that_are_all_printed_before_the_metallic_lie_below_it(units, expected):
    assert told({"Copper": METAL, "Cyan": LARGE}, units=units) == expected


@pytest.mark.parametrize(
    ("cyan", "rust", "expected"),
    [
        (LARGE, LARGE, [("Copper", "", "Rust"), ("Copper", "on ink", "Cyan")]),
        (LARGE, APART, [("Copper", "on ink", "Cyan")]),
        (APART, LARGE, [("Copper", "", "Rust")]),
        (APART, APART, []),
    ],
)
def test_what_lies_on_it_and_what_lies_below_are_two_cases(cyan, rust, expected):
    found = told({"Copper": METAL, "Cyan": cyan, "Rust": rust}, units=["Cyan", "Copper", "Rust"])
    assert found == expected


@pytest.mark.parametrize(
    ("separations", "over"),
    [
        ({"Copper": {"printed_over": True}}, True),
        ({"Copper": {"printed_over": False}}, False),
        ({"Copper": {"same_as": "Bronze"}, "Bronze": {"printed_over": True}}, True),
        ({"Silver": {"printed_over": True}}, False),
        ({}, False),
    ],
)
def test_a_metallic_that_is_meant_to_be_printed_over(separations, over):
    its_job = job("Copper", "Cyan", separations=separations, artwork_is="one-up")
    assert printed_over(its_job, "Copper") is over
    assert printed_over(job("Copper"), "Copper") is False
    found = told({"Copper": METAL, "Cyan": LARGE}, separations=separations, artwork_is="one-up")
    assert (found == []) is over


def test_two_names_that_the_ticket_merges_do_not_overlap_each_other():
    inks = {"Copper": METAL, "COPPER C": LARGE}
    assert told(inks, separations={"COPPER C": {"same_as": "Copper"}}) == []
    assert told(inks) == [("Copper", "", "COPPER C")]
    assert told(inks, separations={"COPPER C": {"same_as": "Rust"}}) == [("Copper", "", "COPPER C")]


def overlap(other: Rects, metal: Rects = METAL, width: float = 70, trim_mm: float = 0.3) -> tuple[Any, RectPage]:
    page = RectPage(width, 50, {"Copper": metal, "Cyan": other})
    page.opaque = False
    its_job = job("Copper", "Cyan", page=page)
    return _MetallicOverlap(its_job, "Copper", ["Cyan"], trim_mm, 2.0).overlap(), page


def test_a_thin_line_on_the_metallic_is_found_closely():
    (area, boxes, names), page = overlap(solid((20, 20, 20.6, 24)))
    assert area == pytest.approx(0.6 * 4, rel=0.15)
    assert boxes == [pytest.approx((20, 20, 20.6, 24), abs=0.06)]
    assert names == ["Cyan"]
    assert {edges for _, dpi, edges in page.looks if dpi == 600} == {"smooth", "sharp"}


@pytest.mark.parametrize(
    ("other", "trim_mm", "overlaps"),
    [
        (solid((29.8, 20, 50, 24)), 0.3, False),
        (solid((29.0, 20, 50, 24)), 0.3, True),
        (solid((29.0, 20, 50, 24)), 1.1, False),
        (solid((30.1, 20, 50, 24)), 0.3, False),
        (solid((20, 20, 20.05, 24)), 0.3, False),
    ],
    ids=["a trap", "wider than a trap", "a trap for once", "sharing pixels", "under a twentieth of a millimetre"],
)
def test_a_trap_with_an_ink_that_goes_on_is_no_overlap(other, trim_mm, overlaps):
    (area, boxes, names), _ = overlap(other, trim_mm=trim_mm)
    assert (area > 0, bool(boxes), bool(names)) == (overlaps,) * 3


def test_inks_side_by_side_are_not_looked_at_closely():
    """They share the pixels of an edge, and cover one of each together."""
    (area, _, _), page = overlap(solid((30.1, 20, 50, 24)), solid((10, 12, 30.1, 40)))
    assert area == 0
    assert [look for look in page.looks if look[1] == 600] == []


def test_where_nothing_can_overlap_nobody_looks_closely():
    page = RectPage(70, 50, {"Copper": METAL, "Cyan": solid((20, 20, 20.6, 24))})
    its_job = job("Copper", "Cyan", page=page)
    assert _MetallicOverlap(its_job, "Copper", ["Cyan"], 0.3, 2.0).overlap() == (0.0, [], [])
    assert page.looks == []


def test_no_other_ink_no_overlap():
    page = RectPage(70, 50, {"Copper": METAL})
    assert _MetallicOverlap(job("Copper", page=page), "Copper", [], 0.3, 2.0).overlap() == (0.0, [], [])


def test_of_many_places_the_six_that_speak_most_are_looked_at():
    """Lines of 0.6 x 3 mm on a metallic, each darker than the last, 20 mm from each other."""
    lines: Rects = [((20.0 * at + 8, 20, 20 * at + 8.6, 23), 0.3 + 0.08 * at) for at in range(8)]
    (area, boxes, _), page = overlap(lines, solid((2, 2, 168, 48)), 170)
    looks = sorted({box for box, dpi, _ in page.looks if dpi == 600})
    assert len(looks) == 6
    assert [round((box[0] + box[2]) / 2, 0) // 20 for box in looks] == [2, 3, 4, 5, 6, 7]
    assert len(boxes) == 6
    assert area == pytest.approx(6 * 0.6 * 3, rel=0.15)


def test_the_share_of_a_pixel_that_an_ink_covers():
    """Its tint beside the strongest round about, less a step of rounding."""
    tints = np.array([[200, 101, 0, 0], [0, 0, 0, 50]], np.uint8)
    assert metallics._share(tints) == pytest.approx(
        np.array([[199 / 200, 100 / 200, -1 / 101, -1 / 50], [-1 / 200, -1 / 200, -1 / 101, 49 / 50]]), abs=1e-6
    )
    assert metallics._share(np.zeros((1, 1), np.uint8)).tolist() == [[-1]]


@pytest.mark.parametrize(("middle", "half", "expected"), [(10, 4, (6, 14)), (3, 4, (0, 7)), (4, 4, (0, 8))])
def test_a_stretch_about_a_pixel(middle, half, expected):
    found = metallics._around(middle, half)
    assert (found.start, found.stop) == expected


def test_only_what_is_inside_the_cut_is_looked_at_closely():
    page = RectPage(70, 50, {"Copper": METAL, "Cyan": solid((15, 20, 15.6, 24), (25, 20, 25.6, 24))})
    page.opaque = False
    its_job = job("Copper", "Cyan", page=page)
    its_job.page.boxes = PageBoxes(page.box_mm, trim=(20, 5, 65, 45))
    area, boxes, _ = _MetallicOverlap(its_job, "Copper", ["Cyan"], 0.3, 2.0).overlap()
    assert area == pytest.approx(2.4, rel=0.15)
    assert all(shapely.box(20, 5, 65, 45).contains(shapely.box(*box)) for box in boxes)


def test_places_of_a_large_overlap_are_gathered_and_all_counted():
    """Two squares far from each other, and the ink that lies there; each place with its pixels up to the edge."""
    reading = readings({"Copper": METAL, "Cyan": solid((12, 14, 18, 20), (22, 30, 28, 38)), "Rust": []})[0]
    assert reading.value == pytest.approx(36 + 48, rel=0.1)
    assert sorted(place.box_mm for place in reading.places) == [
        pytest.approx((12, 14, 18, 20), abs=0.3), pytest.approx((22, 30, 28, 38), abs=0.3),
    ]  # fmt: skip
    assert reading.facts["over"] == "Cyan"


def test_several_inks_closely_are_named_once_each():
    page = RectPage(70, 50, {"Copper": METAL, "Cyan": solid((14, 20, 14.6, 23)), "Rust": solid((26, 33, 26.6, 36))})
    page.opaque = False
    its_job = job("Copper", "Cyan", "Rust", page=page)
    area, boxes, names = _MetallicOverlap(its_job, "Copper", ["Cyan", "Rust"], 0.3, 2.0).overlap()
    assert area == pytest.approx(2 * 1.8, rel=0.15)
    assert (len(boxes), sorted(names)) == (2, ["Cyan", "Rust"])


@pytest.mark.parametrize("only_smooth", [(), ("Copper",)])
def test_a_faint_metallic_that_sharp_edges_do_not_show_is_a_rim(only_smooth):
    page = RectPage(70, 50, {"Copper": [((10, 12, 30, 40), 0.25)], "Cyan": LARGE}, only_smooth)
    page.opaque = False
    area, _, names = _MetallicOverlap(job("Copper", "Cyan", page=page), "Copper", ["Cyan"], 0.3, 2.0).overlap()
    assert (area > 40, names) == ((False, []) if only_smooth else (True, ["Cyan"]))

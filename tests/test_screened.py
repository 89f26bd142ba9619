"""Inks at a tint: areas on plates of rectangles that the test draws itself."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import PageBoxes
from preflight.measures import screened
from preflight.measures.screened import screened_area
from tests.test_object_places import spot, table, thing
from tests.test_overlaps import RectPage, Rects, solid
from tests.test_units import job

PATCH = (20.0, 15.0, 32.0, 23.0)
"""12 x 8 mm."""


def readings(inks: dict[str, Rects], *things: dict[str, Any], only_smooth: tuple[str, ...] = (), inside: Any = None,
             pictures: Any = ("metallic",), **more: Any) -> list[Any]:  # fmt: skip
    page = RectPage(70, 50, inks, only_smooth)
    page.objects = table(*things)
    its_job = job(*inks, page=page, **more)
    if inside:
        its_job.page.boxes = PageBoxes(page.box_mm, trim=inside)
    return screened_area(
        its_job, kinds=("varnish", "metallic"), solid_from_percent=90, bare_below_percent=10, but_in_pictures=pictures
    )


def at(tint: float, box: Any = PATCH) -> Rects:
    return [(box, tint)]


@pytest.mark.parametrize(
    ("tint", "is_screened"),
    [
        (0.0, False),
        (25 / 255, False),
        (26 / 255, True),
        (0.5, True),
        (228 / 255, True),
        (230 / 255, False),
        (1.0, False),
    ],
)
def test_screened_is_what_is_neither_bare_nor_solid(tint, is_screened):
    """From 10 % up to 90 %, 25.5 and 229.5 levels of 255."""
    found = readings({"Gloss Varnish": at(tint)})
    assert len(found) == is_screened
    if is_screened:
        assert found[0].value == pytest.approx(96, rel=0.12)
        assert (found[0].group, found[0].facts["kind"], found[0].unit) == ("Gloss Varnish", "varnish", "mm2")
        assert found[0].places[0].box_mm == pytest.approx(PATCH, abs=0.3)


@pytest.mark.parametrize(
    ("inks", "more", "expected"),
    [
        ({"Copper": at(0.5), "Gloss Varnish": at(0.5)}, {}, ["Copper", "Gloss Varnish"]),
        ({"Rust": at(0.5), "Cyan": at(0.5), "Opaque White": at(0.5)}, {}, []),
        ({"Copper": at(0.5)}, {"prints": {"Copper": False}}, []),
        ({"Copper": at(0.5)}, {"prints": {"Copper": None}}, ["Copper"]),
        ({"Sheen": at(0.5)}, {"coating": {"kind": "uv", "area": "sheen"}}, ["Sheen"]),
        ({"Sheen": at(0.5), "Rust": at(0.5)}, {"coating": {"kind": "uv", "area": "overall"}}, []),
        ({"Copper": at(0.5)}, {"inside": (40, 5, 65, 45)}, []),
        ({"Copper": at(0.5, (20, 15, 32, 15.4))}, {}, []),
        ({"Copper": at(0.5, (20, 15, 32, 17.2))}, {}, ["Copper"]),
        ({"Copper": at(0.5)}, {"only_smooth": ("Copper",)}, ["Copper"]),
    ],
    ids=["a metallic and a varnish", "other kinds", "what prints nothing", "what nobody knows", "the ticket's coating",
         "an overall coating", "outside the cut", "a line of 0.4 mm", "a bar of 2.2 mm", "with smooth edges"],
)  # fmt: skip
def test_inks_that_are_screened(inks, more, expected):
    assert [one.group for one in readings(inks, **more)] == expected


class Halved(RectPage):
    """A page on which a close look finds solid lines, with as wide gaps, in every tint of a half."""

    def window(self, box, dpi, without=frozenset(), edges="smooth", turned=0):
        plates = super().window(box, dpi, without, edges, turned)
        rows = np.arange(plates.ink.shape[1]) // 3 % 2 == 0
        plates.ink[:] = np.where(rows[None, :, None] & (plates.ink > 100), 255, 0)
        return plates


def test_fine_solid_lines_are_no_tint():
    page = Halved(70, 50, {"Copper": at(0.5)})
    its_job = job("Copper", page=page)
    keys: dict[str, Any] = {"kinds": ("metallic",), "solid_from_percent": 90, "bare_below_percent": 10}
    keys["but_in_pictures"] = ()
    assert screened_area(its_job, **keys) == []
    assert {dpi for _, dpi, _ in page.looks} == {600}


PICTURE = (26.0, 10.0, 40.0, 30.0)
"""It covers the right half of the patch."""


@pytest.mark.parametrize(
    ("picture", "area"),
    [
        (thing(PICTURE, spot("Copper"), painted=Painted.IMAGE), 48),
        (thing(PICTURE, spot("Copper"), painted=Painted.SHADING), 48),
        (thing(PICTURE, spot("Copper")), 96),
        (thing(PICTURE, spot("Rust"), painted=Painted.IMAGE), 96),
        (thing(PICTURE, spot("Copper"), painted=Painted.IMAGE, visible=False), 96),
        (thing((0, 0, 70, 50), spot("Copper"), painted=Painted.IMAGE), None),
    ],
    ids=["a picture in it", "a gradient in it", "a fill", "a picture in another ink", "one that does not show", "all"],
)
def test_pictures_in_a_metallic_are_left_alone(picture, area):
    found = readings({"Copper": at(0.5)}, picture)
    assert [one.value for one in found] == ([] if area is None else [pytest.approx(area, rel=0.08)])
    varnish = readings({"Gloss Varnish": at(0.5)}, {**picture, "colour": spot("Gloss Varnish")})
    assert [one.value for one in varnish] == [pytest.approx(96, rel=0.06)]


def test_the_tints_are_told():
    one = readings({"Copper": at(0.5)})[0]
    assert one.facts["tints"] == "50 %"
    several = readings({"Copper": [*at(0.2), ((32, 15, 44, 23), 0.6)]})[0]
    assert several.facts["tints"] == "20 to 60 %"


def test_nine_tenths_of_the_tints_are_told():
    little = readings({"Copper": [*at(0.5, (10, 10, 60, 40)), ((12, 12, 14, 14), 0.2), ((50, 30, 52, 32), 0.8)]})[0]
    assert little.facts["tints"] == "50 %"


def test_of_many_places_what_nobody_looked_at_is_as_the_others(monkeypatch):
    monkeypatch.setattr(screened, "MOST_LOOKS", 1)
    patches: Rects = [((5, 5, 11, 11), 0.5), ((40, 30, 44, 34), 0.5)]
    assert readings({"Copper": patches})[0].value == pytest.approx(36 + 16, rel=0.1)
    page = Halved(70, 50, {"Copper": patches})
    keys: dict[str, Any] = {"kinds": ("metallic",), "solid_from_percent": 90, "bare_below_percent": 10}
    keys["but_in_pictures"] = ()
    assert screened_area(job("Copper", page=page), **keys) == []
    assert len(page.looks) == 1


def test_a_solid_beside_a_tint_counts_nothing():
    one = readings({"Copper": [*solid((20, 15, 32, 23)), ((32, 15, 38, 23), 0.5)]})[0]
    assert one.value == pytest.approx(48, rel=0.1)


def test_the_area_is_that_of_all_but_its_edge_by_half():
    """A narrow bar of 3 x 20 mm: along its edge a pixel to every side counts by half."""
    one = readings({"Copper": at(0.5, (20, 15, 23.048, 35))})[0]
    assert one.value == pytest.approx(3.048 * 20, rel=0.1)


def test_places_of_a_screen_are_told_by_their_ink_and_page():
    one = readings({"Copper": [((12, 10, 20, 18), 0.5), ((40, 30, 44, 34), 0.5)]})[0]
    assert [(place.separation, place.page) for place in one.places] == [("Copper", 1)] * 2
    assert one.places[0].box_mm == pytest.approx((12, 10, 20, 18), abs=0.3)
    assert one.places[1].box_mm == pytest.approx((40, 30, 44, 34), abs=0.3)


def test_close_looks_are_twelve_millimetres_wide():
    page = RectPage(70, 50, {"Copper": [((4, 4, 64, 44), 0.5)]})
    keys: dict[str, Any] = {
        "kinds": ("metallic",), "solid_from_percent": 90, "bare_below_percent": 10, "but_in_pictures": (),
    }  # fmt: skip
    assert len(screened_area(job("Copper", page=page), **keys)) == 1
    widths = [max(box[2] - box[0], box[3] - box[1]) for box, _, _ in page.looks]
    assert max(widths) == pytest.approx(12, abs=0.15)
    assert len(widths) == 24

"""What painting some objects otherwise does to the plates: two sets of plates side by side, made in the test."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely

from preflight.artwork.page.objects import ImageFacts, Painted
from preflight.artwork.page.page import Alteration
from preflight.artwork.page.plates import Plates
from preflight.measures.raster import differences
from preflight.measures.raster.differences import Change, WindowDifference, change, over_something
from tests.test_object_places import spot, table, thing

MM_DPI = 25.4
"""A pixel is a millimetre."""


def plates(*ink: Any, names: tuple[str, ...] = ("Rust", "Moss"), low: tuple[float, float] = (20.0, 30.0)) -> Plates:
    levels = np.array(ink, np.uint8)
    height, width = levels.shape[1:]
    return Plates(names, levels, MM_DPI, (*low, low[0] + width, low[1] + height))


def levels(height: int = 10, width: int = 14, **boxes: tuple[slice, slice]) -> Any:
    """Bare, with solids at some slices."""
    ink = np.zeros((height, width), np.uint8)
    for part in boxes.values():
        ink[part] = 255
    return ink


def window(differs: Any, as_is: Plates | None = None, altered: Plates | None = None) -> WindowDifference:
    bare = plates(np.zeros(differs.shape), np.zeros(differs.shape))
    return WindowDifference(as_is or bare, altered or bare, differs)


PART = np.s_[2:4, 3:8]
"""Rows 2 and 3, columns 3 to 7: (23, 36) to (28, 38) on the page."""


def test_a_window_tells_where_and_how_much_differs():
    differs = levels(part=PART) > 0
    seen = window(differs)
    assert seen.area_mm2() == 10
    assert seen.area_mm2((20, 30, 25.5, 37)) == 3
    assert seen.touches((27.5, 35, 30, 36.5))
    assert not seen.touches((28, 30, 34, 40))
    assert not seen.touches((20, 38, 34, 40))
    assert seen.points((26.5, 36.5, 40, 37)).tolist() == [[26.5, 36.5], [27.5, 36.5]]


def test_pixels_of_two_millimetres_have_four_square_millimetres():
    two = plates(np.zeros((5, 7)), np.zeros((5, 7)))
    two = Plates(two.names, two.ink, MM_DPI / 2, (20, 30, 34, 40))
    differs = np.zeros((5, 7), bool)
    differs[1, 2:5] = True
    seen = WindowDifference(two, two, differs)
    assert seen.area_mm2() == pytest.approx(12)
    assert seen.points((20, 30, 34, 40)) == pytest.approx(np.array([[25, 37], [27, 37], [29, 37]]))
    assert Change((seen, seen)).area_mm2 == pytest.approx(24)


def test_a_change_has_a_box_for_each_region_and_joins_those_that_overlap():
    differs = levels(part=PART, other=np.s_[7:9, 11:13]) > 0
    differs[0, 0:9] = differs[0:6, 9] = True  # an angle about the first
    found = Change((window(differs),)).boxes()
    assert sorted(found) == [(20, 34, 30, 40), (31, 31, 33, 33)]


def test_boxes_are_touched_in_any_of_the_windows():
    far = plates(np.zeros((4, 5)), np.zeros((4, 5)), low=(60, 70))
    there = np.zeros((4, 5), bool)
    there[0, 0] = True
    found = Change((window(levels(part=PART) > 0), WindowDifference(far, far, there)))
    assert found.touched([(24, 36, 25, 37), (0, 0, 10, 10), (60, 73, 61, 74), (62, 70, 65, 74)]) == [
        True, False, True, False,
    ]  # fmt: skip


def test_plates_that_differ_come_in_the_order_of_how_much():
    """Only what differs is summed up, whichever way; a hundredth of the most is left out."""
    differs = levels(part=PART) > 0
    less, more, hair, off = (np.zeros((10, 14), np.uint8) for _ in range(4))
    less[PART], more[PART], off[8, 8] = 20, 200, 255
    hair[2, 3] = 20  # 20 of 2000
    names = ("Less", "Hair", "Off", "More")
    as_is = plates(less, hair * 0, off, more * 0, names=names)
    altered = plates(less * 0, hair, off * 0, more, names=names)
    seen = WindowDifference(as_is, altered, differs)
    assert Change((seen,), names).plates() == ["More", "Less"]
    hair[2, 4] = 1
    altered = plates(less * 0, hair, off * 0, more, names=names)
    assert Change((WindowDifference(as_is, altered, differs),), names).plates() == ["More", "Less", "Hair"]
    assert Change((), names).plates() == []


class Drawn:
    """A page that shows two sets of plates: as it is, and where something is altered."""

    width_mm, height_mm = 100.0, 80.0

    def __init__(self, objects: Any, as_is: Plates, altered: Plates, sharp: tuple[Plates, Plates] | None = None):
        self.objects, self.shown = objects, {"smooth": (as_is, altered), "sharp": sharp or (as_is, altered)}
        self.asked: list[tuple[Alteration, float, Any, str]] = []
        self.as_they_are: Alteration | None = None

    def altered(self, alteration, dpi, box, edges):
        self.asked.append((alteration, dpi, box, edges))
        if self.as_they_are is None:
            self.as_they_are = alteration
        whole = self.shown[edges][alteration != self.as_they_are]
        finer = round(dpi / MM_DPI)
        if edges == "sharp":
            part = whole.within(box)
            ink = part.ink.repeat(finer, 1).repeat(finer, 2)
            return Plates(whole.names, ink, dpi, part.box_mm)
        return whole


def job(page: Any, inside: Any = None) -> Any:
    inside = shapely.box(0, 0, 100, 80) if inside is None else inside
    return SimpleNamespace(page=page, inside_shape=inside)


OBJECTS = table(thing((23, 36, 28, 38), spot("Rust")), thing((21, 31, 22, 32), spot("Moss")))


def page_of(before: int, after: int, objects: Any = OBJECTS) -> Drawn:
    """Rust at one level, and at another when it is altered; the window is all that the page shows."""
    one, other = levels(), levels()
    one[PART], other[PART] = before, after
    return Drawn(objects, plates(one, levels()), plates(other, levels()))


@pytest.mark.parametrize(
    ("before", "after", "differs"),
    [(255, 0, True), (0, 255, True), (200, 149, True), (149, 200, True), (200, 150, False), (150, 200, False)],
)
def test_pixels_differ_from_a_tint_on_whichever_way(before, after, differs):
    """20 % is 51 levels."""
    found = change(job(page_of(before, after)), np.array([0]), "left out", ["Moss", "Rust"], 20)
    assert found.area_mm2 == (10 if differs else 0)
    assert found.names == ("Moss", "Rust")
    assert [len(found.windows), found.boxes()] == ([1, [(23, 36, 28, 38)]] if differs else [0, []])


@pytest.mark.parametrize(
    ("rows", "names"), [(np.array([], int), ["Rust"]), (np.array([0]), [])], ids=["no objects", "no plates"]
)
def test_nothing_is_drawn_where_nothing_is_asked(rows, names):
    page = page_of(255, 0)
    assert change(job(page), rows, "left out", names, 20) == Change()
    assert page.asked == []


def test_only_named_plates_are_compared():
    assert change(job(page_of(255, 0)), np.array([0]), "left out", ["Moss"], 20).windows == ()


@pytest.mark.parametrize(("level", "counts"), [(50, True), (51, False)])
def test_where_a_plate_stands_when_they_are_left_out_nothing_counts(level, counts):
    page = page_of(255, 0)
    page.shown["smooth"][1].ink[1, 2:4, 3:8] = level
    found = change(job(page), np.array([0]), "left out", ["Rust"], 20, not_over=["Moss"])
    assert found.area_mm2 == (10 if counts else 0)


def test_only_what_is_inside_the_cut_counts():
    inside = shapely.box(25, 10, 90, 70)
    found = change(job(page_of(255, 0), inside), np.array([0]), "left out", ["Rust"], 20)
    assert found.boxes() == [pytest.approx((25, 36, 28, 38), abs=1)]  # to a pixel


@pytest.mark.parametrize(
    ("how", "expected"),
    [("left out", Alteration(left_out=(0, 1))), ("knocking out", Alteration(knocking_out=(1, 0)))],
)
def test_objects_are_left_out_or_knock_out(how, expected):
    page = page_of(255, 0)
    change(job(page), np.array([1, 0]), how, ["Rust"], 20)
    alterations = [alteration for alteration, *_ in page.asked]
    assert alterations[:1] == [Alteration()]
    assert expected in alterations
    assert set(alterations) == {Alteration(), expected}


def picture(box: Any, image: int) -> dict[str, Any]:
    return thing(box, spot("Rust"), painted=Painted.IMAGE, image=image, outline=[])


PHOTOS = tuple(ImageFacts(name, 90, 60, 8, False) for name in ("a", "b", "c"))


def test_pictures_that_show_in_no_window_are_aside():
    """Those that are placed once more in a window stay, since one row may stand for both places."""
    objects = table(
        thing((23, 36, 28, 38), spot("Rust")),
        picture((60, 60, 70, 70), 0),
        picture((22, 35, 24, 37), 1),
        picture((80, 60, 90, 70), 1),
        picture((28.4, 30, 40, 38), 2),  # within the half millimetre about the object
        picture((0, 0, 10, 10), 0),
        images=PHOTOS,
    )
    page = page_of(255, 0, objects)
    change(job(page), np.array([0]), "left out", ["Rust"], 20)
    assert page.as_they_are == Alteration(left_out=(1, 5))
    assert {alteration for alteration, *_ in page.asked} == {
        Alteration(left_out=(1, 5)), Alteration(left_out=(0, 1, 5)),
    }  # fmt: skip


def test_the_windows_are_those_of_the_objects():
    page = page_of(255, 0)
    change(job(page), np.array([1, 0]), "left out", ["Rust"], 20)
    first = [(dpi, box, edges) for _, dpi, box, edges in page.asked[:2]]
    assert first == [(300.0, (20.5, 30.5, 22.5, 32.5), "smooth"), (300.0, (22.5, 35.5, 28.5, 38.5), "smooth")]


def test_a_faint_difference_that_sharp_edges_do_not_show_is_a_rim():
    page = page_of(60, 0)
    bare = plates(levels(), levels())
    page.shown["sharp"] = (bare, bare)
    assert change(job(page), np.array([0]), "left out", ["Rust"], 20).windows == ()
    assert any(edges == "sharp" for *_, edges in page.asked)
    assert change(job(page_of(60, 0)), np.array([0]), "left out", ["Rust"], 20).area_mm2 == 10


@pytest.mark.parametrize(
    ("below", "over"),
    [
        (thing((24, 30, 30, 37)), True),
        (thing((28, 30, 40, 40)), False),
        (thing((24, 30, 30, 37), visible=False), False),
        (thing((24, 30, 30, 37), alpha=0), False),
        (thing((24, 30, 30, 37), shown=(28, 30, 30, 37)), False),
    ],
    ids=["it is", "beside it", "what does not show", "what is clear", "what is clipped"],
)
def test_what_something_was_painted_below(below, over):
    own = thing((23, 36, 28, 38), spot("Rust"))
    objects = table(thing((60, 60, 70, 70)), below, own, thing((20, 30, 40, 50)))
    bare = plates(levels(), levels())
    assert over_something(job(Drawn(objects, bare, bare)), np.array([0, 2])).tolist() == ([2] if over else [])


def test_of_very_many_objects_nobody_asks_what_they_lie_on(monkeypatch):
    monkeypatch.setattr(differences, "MOST_ROWS", 2)
    page = page_of(255, 0)
    assert over_something(job(page), np.array([0, 1])).tolist() == []
    assert over_something(job(page), np.array([0, 1, 0])).tolist() == [0, 1, 0]


def test_large_objects_are_looked_at_more_coarsely():
    """At 300 dpi 95 x 75 mm have a million pixels, and twice as much is too many."""
    page = page_of(255, 0, table(thing((2, 2, 97, 77), spot("Rust"))))
    change(job(page), np.array([0]), "left out", ["Rust"], 20)
    assert {dpi for _, dpi, _, edges in page.asked if edges == "smooth"} == {300.0}
    large = page_of(255, 0, table(thing((2, 2, 170, 140), spot("Rust"))))
    large.width_mm, large.height_mm = 200.0, 150.0
    change(job(large, shapely.box(0, 0, 200, 150)), np.array([0]), "left out", ["Rust"], 20)
    assert {dpi for _, dpi, _, edges in large.asked if edges == "smooth"} == {200.0}


def test_of_several_plates_the_one_that_differs_most_counts():
    page = page_of(0, 0)
    page.shown["smooth"][0].ink[1, 2:4, 3:8] = 60
    page.shown["smooth"][1].ink[0, 2:4, 3:6] = 90
    found = change(job(page), np.array([0]), "left out", ["Rust", "Moss"], 30)
    assert (found.area_mm2, found.plates()) == (6, ["Rust", "Moss"])
    assert change(job(page), np.array([0]), "left out", ["Rust", "Moss"], 20).area_mm2 == 10


def test_windows_in_which_nothing_differs_are_left_out():
    """A window for each object; this page shows the same in both."""
    page = page_of(255, 0)
    found = change(job(page), np.array([1, 0]), "left out", ["Rust"], 20)
    assert len(found.windows) == 2
    none = change(job(page_of(200, 200)), np.array([1, 0]), "left out", ["Rust"], 20)
    assert (none.windows, none.names, none.plates()) == ((), ("Rust",), [])

"""Where objects stand: their true shapes, whether they reach inside the cut, what hides them, places of many."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import pi
from typing import Any

import numpy as np
import pytest
import shapely

from preflight.artwork.page.colours import Colour, Colours, Family
from preflight.artwork.page.objects import FontFacts, ImageFacts, ObjectTable, Painted
from preflight.measures import object_places

Box = tuple[float, float, float, float]
NOTHING: Box = (0, 0, 0, 0)
BLACK = Colour("DeviceCMYK", (("Cyan", 0.0), ("Magenta", 0.0), ("Yellow", 0.0), ("Black", 1.0)), direct_cmyk=True)


def spot(name: str, tint: float = 1.0) -> Colour:
    return Colour("Separation", ((name, tint),))


def registration(tint: float = 1.0) -> Colour:
    return Colour("Separation", (("All", tint),), registration=True)


@dataclass
class Table(ObjectTable):
    """A table of objects made by hand, with the outlines that were given."""

    outlines: list[list[Any]] = field(default_factory=list)

    def paths(self, rows):
        return [[np.array(points, float) for points in self.outlines[row]] for row in np.asarray(rows).tolist()]


def ring(x0: float, y0: float, x1: float, y1: float) -> list[tuple[float, float]]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]


def thing(box: Box, colour: Colour = BLACK, **keys: Any) -> dict[str, Any]:
    """One object: a fill of all of its box, if nothing else is said."""
    return {"box": box, "colour": colour, "shown": box, "outline": [ring(*box)], **keys}


def table(*things: dict[str, Any], fonts: tuple[FontFacts, ...] = (), images: tuple[ImageFacts, ...] = ()) -> Table:
    """The table of these objects, in painting order."""

    def column(key: str, default: Any, kind: Any) -> Any:
        return np.array([one.get(key, default) for one in things], kind)

    colours, number_of = Colours(), dict[Colour, int]()
    for one in things:
        if one["colour"] not in number_of:
            number_of[one["colour"]] = len(number_of)
            colours.add(Family.of(one["colour"]), np.array([number_of[one["colour"]]]))
    return Table(
        painted=column("painted", Painted.FILL, np.uint8),
        box_mm=column("box", NOTHING, np.float32).reshape(-1, 4),
        shown_mm=column("shown", NOTHING, np.float32).reshape(-1, 4),
        visible=column("visible", True, bool),
        colour=np.array([number_of[one["colour"]] for one in things], np.int32),
        overprint=column("overprint", False, bool),
        opm=column("opm", 0, np.uint8),
        alpha=column("alpha", 1.0, np.float32),
        line_width_mm=column("width", 0.0, np.float32),
        text_size_pt=column("size", 0.0, np.float32),
        ppi=column("ppi", 0.0, np.float32),
        font=column("font", -1, np.int32),
        image=column("image", -1, np.int32),
        layer=column("layer", -1, np.int32),
        dashed=column("dashed", False, bool),
        colours=colours,
        fonts=list(fonts),
        images=list(images),
        outlines=[one["outline"] for one in things],
    )


def line(*points: tuple[float, float], width: float, **keys: Any) -> dict[str, Any]:
    xs, ys = zip(*points, strict=True)
    half = width / 2
    box = (min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half)
    return thing(box, painted=Painted.STROKE, width=width, outline=[list(points)], **keys)


def text(box: Box, size_pt: float = 8.0, **keys: Any) -> dict[str, Any]:
    return thing(box, painted=Painted.TEXT, size=size_pt, outline=[], **keys)


CORNER = [(20, 30), (40, 30), (40, 32), (22, 32), (22, 60), (20, 60), (20, 30)]
"""An L: 20 mm along its foot and 30 mm high, 2 mm wide."""


@pytest.mark.parametrize(
    ("drawn", "area"),
    [
        (thing((2, 3, 12, 9)), 60),
        (thing((2, 3, 12, 9), shown=(2, 3, 7, 8)), 25),
        (thing((2, 3, 12, 9), outline=[ring(2, 3, 12, 9), ring(4, 5, 7, 7)]), 54),
        (thing((2, 3, 12, 9), outline=[ring(2, 3, 6, 9), ring(8, 3, 12, 9)]), 48),
        (thing((2, 3, 12, 9), outline=[ring(2, 3, 12, 9), ring(2, 3, 12, 9)]), 0),
        (thing((2, 3, 12, 9), outline=[ring(2, 3, 12, 9), [(1, 1), (30, 30)], [(5, 5)]]), 60),
        (thing((20, 30, 40, 60), outline=[CORNER]), 2 * 20 + 2 * 28),
        (line((2, 3), (12, 3), width=1), 10 + pi / 4),
        (line((2, 3), (12, 3), (12, 7), width=0.2), 14 * 0.2 + pi * 0.01),
        (line((2, 3), (12, 3), width=0, shown=(1, 2, 13, 4)), 0.2),
        (text((2, 3, 12, 9)), 60),
        (text((2, 3, 12, 9), shown=(4, 3, 12, 9)), 48),
        (thing((2, 3, 12, 9), painted=Painted.IMAGE, outline=[]), 60),
    ],
    ids=[
        "a fill", "cut by a clip", "with a hole", "of two parts", "twice the same is none", "pieces without area",
        "an L", "a line with round ends", "a bent line", "a line without a width", "text is its box",
        "text cut by a clip", "a picture is its box",
    ],
)  # fmt: skip
def test_the_area_that_an_object_covers(drawn, area):
    objects = table(thing((50, 50, 60, 60)), drawn)
    assert object_places.shape_of(objects, 1).area == pytest.approx(area, rel=0.02)


INSIDE = shapely.box(10, 20, 50, 45)


@pytest.mark.parametrize(
    ("drawn", "reaches"),
    [
        (thing((20, 30, 25, 32)), True),
        (thing((60, 30, 65, 32)), False),
        (thing((2, 30, 10.05, 32)), False),
        (thing((2, 30, 10.15, 32)), True),
        (thing((20, 44.95, 30, 60)), False),
        (thing((20, 44.85, 30, 60)), True),
        (thing((2, 30, 30, 32), shown=(2, 30, 9, 32)), False),
        (thing((5, 10, 30, 40), outline=[[(5, 10), (30, 10), (30, 15), (8, 15), (8, 40), (5, 40), (5, 10)]]), False),
        (line((2, 30), (9.5, 30), width=1), False),
        (line((2, 30), (9.8, 30), width=1), True),
        (thing((2, 15, 60, 50), outline=[ring(2, 15, 60, 50), ring(5, 18, 55, 48)]), False),
        (text((2, 30, 10.85, 34), 10), False),  # 0.22 of 10 pt is 0.776 mm, and the fringe is left out
        (text((2, 30, 10.9, 34), 10), True),
        (text((20, 44.15, 30, 50), 10), False),
        (text((20, 44.1, 30, 50), 10), True),
        (text((20, 44.15, 30, 50), 9), True),
        (thing((20, 44.15, 30, 50), painted=Painted.IMAGE, outline=[]), True),
        (thing(NOTHING), False),
    ],
)
def test_what_reaches_inside_the_cut_by_more_than_a_fringe(drawn, reaches):
    objects = table(thing((60, 60, 70, 70)), drawn, thing((30, 30, 31, 31)))
    found = object_places.reaching_inside(objects, np.array([0, 1, 2]), INSIDE)
    assert found.tolist() == ([1, 2] if reaches else [2])


def test_nothing_reaches_inside_what_is_all_fringe():
    objects = table(thing((0, 0, 60, 60)))
    assert object_places.reaching_inside(objects, np.array([0]), shapely.box(10, 20, 50, 20.19)).tolist() == []
    assert object_places.reaching_inside(objects, np.array([0]), shapely.box(10, 20, 50, 20.3)).tolist() == [0]
    assert object_places.reaching_inside(objects, np.array([], int), INSIDE).tolist() == []


def test_of_very_many_that_cross_the_cut_the_box_has_to_do(monkeypatch):
    monkeypatch.setattr(object_places, "MOST_EXACT", 2)
    outline = [[(5, 10), (30, 10), (30, 15), (8, 15), (8, 40), (5, 40), (5, 10)]]  # its box reaches in, and it does not
    objects = table(*[thing((5, 10, 30, 40), outline=outline)] * 3)
    assert object_places.reaching_inside(objects, np.arange(3), INSIDE).tolist() == [2]


HIDDEN: Box = (20, 30, 26, 33)


@pytest.mark.parametrize(
    ("things", "hides"),
    [
        ([thing(HIDDEN), thing((19, 29, 27, 34))], True),
        ([thing(HIDDEN), thing(HIDDEN)], True),
        ([thing(HIDDEN)], False),
        ([thing((19, 29, 27, 34)), thing(HIDDEN)], False),
        ([thing(HIDDEN), thing((20.5, 29, 27, 34))], False),
        ([thing(HIDDEN), thing((19, 30.5, 27, 34))], False),
        ([thing(HIDDEN), thing((19, 29, 25.5, 34))], False),
        ([thing(HIDDEN), thing((19, 29, 27, 32.5))], False),
        ([thing(HIDDEN), thing((19, 29, 27, 34), shown=(19, 29, 23, 34))], False),
        ([thing(HIDDEN), thing((19, 29, 27, 34), overprint=True)], False),
        ([thing(HIDDEN), thing((19, 29, 27, 34), alpha=0.99)], False),
        ([thing(HIDDEN), thing((19, 29, 27, 34), visible=False)], False),
        ([thing(HIDDEN), thing((19, 29, 27, 34), painted=Painted.IMAGE)], False),
        ([thing(HIDDEN), thing((19, 29, 50, 60), outline=[ring(19, 29, 50, 60), ring(22, 31, 23, 32)])], False),
        ([thing(HIDDEN), thing((19, 29, 24, 34)), thing((22, 29, 27, 34))], False),
        ([thing(HIDDEN), thing((0, 0, 9, 9)), thing((19, 29, 27, 34))], True),
    ],
    ids=[
        "larger", "the same box", "nothing", "painted before", "not at the left", "not at the bottom",
        "not at the right", "not at the top", "clipped", "overprinting", "faint", "not shown", "a picture",
        "through its hole", "two together", "the second",
    ],
)  # fmt: skip
def test_what_one_opaque_fill_painted_later_covers_is_hidden(things, hides):
    objects = table(*things)
    row = next(row for row, box in enumerate(objects.box_mm.tolist()) if box == list(HIDDEN))
    assert object_places.Covers.of(objects).hide(row, HIDDEN) is hides


def test_a_shape_may_be_hidden_where_its_box_is_not():
    """The cover has a hole at the upper right of the box, where the shape has nothing."""
    cover = thing((19, 29, 30, 40), outline=[ring(19, 29, 30, 40), ring(24, 31.5, 29, 39)])
    covers = object_places.Covers.of(table(thing(HIDDEN), cover))
    foot = shapely.union(shapely.box(20, 30, 26, 31), shapely.box(20, 30, 22, 33))
    assert not covers.hide(0, HIDDEN)
    assert covers.hide(0, HIDDEN, foot)


def test_of_very_many_covers_only_the_first_are_looked_at(monkeypatch):
    holed = thing((19, 29, 27, 34), outline=[ring(19, 29, 27, 34), ring(22, 31, 23, 32)])
    covers = object_places.Covers.of(table(thing(HIDDEN), holed, holed, thing((19, 29, 27, 34))))
    assert covers.hide(0, HIDDEN)
    monkeypatch.setattr(object_places, "MOST_COVERS", 2)
    assert not covers.hide(0, HIDDEN)
    monkeypatch.setattr(object_places, "MOST_COVERS", 3)
    assert covers.hide(0, HIDDEN)


def test_what_paints_shows_and_is_not_clear():
    objects = table(
        thing(HIDDEN), thing(HIDDEN, visible=False), thing(HIDDEN, alpha=0), thing(HIDDEN, alpha=0.01), thing(HIDDEN)
    )
    assert object_places.painting(objects).tolist() == [0, 3, 4]
    wanted = np.array([False, True, True, True, True])
    assert object_places.painting(objects, wanted).tolist() == [3, 4]


def test_rows_of_colours():
    objects = table(thing(HIDDEN, spot("Rust")), thing(HIDDEN), thing(HIDDEN, spot("Rust", 0.0)))
    assert object_places.of_colours(objects, lambda family: family.names_any({"Rust"})).tolist() == [True, False, True]
    assert object_places.of_colours(table(), lambda family: True).tolist() == []


def test_registration_colour_counts_at_any_tint_above_nought():
    objects = table(
        thing(HIDDEN, registration()), thing(HIDDEN, registration(0.0)), thing(HIDDEN, registration(0.01)),
        thing(HIDDEN), thing(HIDDEN, registration(), visible=False),
    )  # fmt: skip
    assert object_places.registration_rows(objects).tolist() == [0, 2]


def test_boxes_and_places_of_rows_are_what_is_shown():
    objects = table(thing((1, 2, 3, 4)), thing((5, 6, 9, 8), shown=(5, 6, 7, 8)), thing((10, 20, 30, 50)))
    assert object_places.boxes_of(objects, [2, 1]) == [(10, 20, 30, 50), (5, 6, 7, 8)]
    places = object_places.places_of(objects, np.array([1, 2]), 7, "Rust")
    assert [(place.box_mm, place.page, place.separation) for place in places] == [
        ((5, 6, 7, 8), 7, "Rust"), ((10, 20, 30, 50), 7, "Rust"),
    ]  # fmt: skip
    assert object_places.places_of(objects, np.array([0]), 2)[0].separation is None


@pytest.mark.parametrize(("many", "shown", "rest"), [(3, 3, ""), (12, 12, ""), (13, 12, "1"), (15, 12, "3")])
def test_twelve_places_are_shown_and_the_rest_is_counted(many, shown, rest):
    places = object_places.places_of(table(*[thing((at, 2, at + 1, 4)) for at in range(many)]), np.arange(many), 1)
    first, words = object_places.shown_of(places)
    assert first == places[:shown]
    assert rest in words
    assert bool(words) is bool(rest)
    assert words.endswith("s") is (many > 13)


ROW = [(10, 20, 14, 22), (16.5, 20, 19, 23), (22.5, 21, 25, 22), (70, 80, 71, 90)]
"""Gaps of 2.5 and 3.5 mm between the first three, the fourth far off."""


@pytest.mark.parametrize(
    ("boxes", "most", "expected"),
    [
        (ROW, 4, ROW),
        (ROW, 3, [(10, 20, 25, 23), (70, 80, 71, 90)]),
        ([(10, 20, 14, 22), (15.9, 20, 19, 23), ROW[3]], 2, [(10, 20, 19, 23), ROW[3]]),
        ([(10, 20, 14, 22), (15.9, 20, 18, 23), (20.5, 21, 25, 22), ROW[3]], 3,
         [(10, 20, 18, 23), (20.5, 21, 25, 22), ROW[3]]),
        ([(10, 20, 14, 22), (10, 24.5, 14, 26), (10, 33.5, 11, 34), (70, 80, 71, 90)], 2,
         [(10, 20, 14, 34), (70, 80, 71, 90)]),
        ([], 3, []),
    ],
    ids=["few enough", "both gaps are under 4 mm", "a gap of 1.9 mm", "a gap of 1.9 mm and one of 2.5 mm",
         "one above the other", "none"],
)  # fmt: skip
def test_neighbours_are_joined_until_there_are_few_enough(boxes, most, expected):
    assert sorted(object_places.gathered(boxes, most)) == sorted(expected)


def test_at_most_forty_if_nothing_else_is_said():
    far = [(100.0 * at, 7.0, 100.0 * at + 1, 9.0) for at in range(40)]
    assert object_places.gathered(far) == far
    assert len(object_places.gathered([*far, (1.5, 7.0, 3.0, 9.0)])) == 40


def in_square(x: float, y: float, many: int) -> list[Box]:
    """So many boxes of 0.1 mm in a square of 10 mm, from its lower-left corner on, and one that reaches out of it."""
    return [(x + at * 0.05, y + at * 0.02, x + at * 0.05 + 0.1, y + at * 0.02 + 0.1) for at in range(many - 1)] + [
        (x + 9.5, y + 9.25, x + 11, y + 9.75)
    ]


def test_very_many_boxes_are_joined_by_squares_first():
    corners = [(30, 50), (30, 70), (40, 50), (40, 60)]
    boxes = [box for corner in corners for box in in_square(*corner, 101)]
    expected = sorted((x, y, x + 11.0, y + 9.75) for x, y in corners)
    found = object_places.gathered(boxes, 500)
    assert sorted(found) == [pytest.approx(box) for box in expected]


def test_four_hundred_boxes_are_not_very_many():
    boxes = in_square(30, 50, 400)
    assert len(object_places.gathered(boxes, 400)) == 400
    assert len(object_places.gathered([*boxes, (31, 51, 32, 52)], 401)) < 10


def test_squares_grow_until_few_boxes_are_left():
    """441 squares of 10 mm hold one box each, 121 of 20 mm one to four."""
    boxes = [(10.0 * i + 3, 10.0 * j + 2, 10.0 * i + 4, 10.0 * j + 5) for i in range(21) for j in range(21)]
    found = object_places.gathered(boxes, 400)
    assert len(found) == 121
    assert (3, 2, 14, 15) in found
    assert (203, 202, 204, 205) in found


def test_what_lies_inside_wholly_needs_no_true_shape(monkeypatch):
    monkeypatch.setattr(object_places, "MOST_EXACT", 0)
    objects = table(thing((20, 30, 25, 32)), thing((5, 30, 9, 32)), text((20, 30, 25, 32)))
    assert object_places.reaching_inside(objects, np.array([2, 0, 1]), INSIDE).tolist() == [2, 0]


def test_places_of_very_many_objects_are_forty_at_most():
    objects = table(*[thing((7.0 * at, 2, 7.0 * at + 1, 4)) for at in range(60)])
    assert len(object_places.places_of(objects, np.arange(60), 1)) <= 40

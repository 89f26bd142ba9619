"""Places told by panel, area and blank, and where the letters of panels stand."""

from __future__ import annotations

import pytest
from shapely import MultiLineString, Point, Polygon, box, unary_union

from preflight.carton.die import Area, Blank, Die
from preflight.carton.places_in_words import blank_labels, lettered_panels, place_words, words_for

NO_LINES = MultiLineString()
PANELS = (
    box(20, 40, 50, 100),  # two rows, in no order
    box(50, 5, 90, 40),
    box(10, 45, 20, 95),
    box(90, 45, 110, 92),
    box(50, 40, 90, 100),
)
FLAP, MIDDLE, BELOW, RIGHT, WIDE = PANELS[2], PANELS[0], PANELS[1], PANELS[3], PANELS[4]


def blank(*areas: Area, number: int = 1, panels: tuple[Polygon, ...] = PANELS) -> Blank:
    return Blank(number, unary_union(panels), NO_LINES, panels, (), areas)


def area(shape: Polygon, kind: str = "glue flap") -> Area:
    return Area(kind, shape, "stated", "stated on the ticket")


def die(*blanks: Blank) -> Die:
    return Die("read", "", blanks)


def test_panels_are_lettered_row_by_row_from_the_top_and_each_from_the_left():
    assert lettered_panels(die(blank())) == [("A", FLAP), ("B", MIDDLE), ("C", WIDE), ("D", RIGHT), ("E", BELOW)]


@pytest.mark.parametrize(
    ("flap", "letters"),
    [
        (area(FLAP), "ABCD"),
        (area(box(10, 45, 16, 95)), "ABCD"),  # more than half of the panel
        (area(box(10, 45, 15, 95)), "ABCDE"),  # half of it
        (area(FLAP, "code"), "ABCDE"),
    ],
    ids=["all of a panel", "most of it", "half of it", "no glue flap"],
)
def test_a_glue_flap_has_no_letter(flap, letters):
    lettered = lettered_panels(die(blank(flap, area(box(60, 50, 70, 60), "window"))))
    assert "".join(letter for letter, _ in lettered) == letters


def test_letters_go_on_after_z():
    strip = tuple(box(10.0 * k, 3, 10.0 * k + 10, 45) for k in range(54))
    letters = [letter for letter, _ in lettered_panels(die(blank(panels=strip)))]
    assert (letters[0], letters[25], letters[26], letters[27], letters[51], letters[52]) == (
        "A", "Z", "AA", "AB", "AZ", "BA",
    )  # fmt: skip


def test_of_several_blanks_no_panel_has_a_letter_and_each_blank_its_number():
    several = die(blank(number=1), Blank(7, box(200, 10, 260, 90), NO_LINES))
    assert lettered_panels(several) == []
    assert [label for label, _, _ in blank_labels(several, 4)] == ["blank 1", "blank 7"]
    assert blank_labels(several, 4)[1] == ("blank 7", 256, 86)
    assert (lettered_panels(die()), blank_labels(die(), 4)) == ([], [])


@pytest.mark.parametrize(
    ("panel", "room", "at"),
    [
        (box(10, 20, 40, 60), 4.0, (36, 56)),
        (box(10, 20, 16, 50), 4.0, (14, 48)),  # too narrow for all of the room: half of it
        (unary_union([box(0, 0, 20, 20), box(20, 9, 50, 11), box(50, 0, 66, 18)]), 4.0, (62, 14)),
        (unary_union([box(0, 0, 20, 40), box(20, 9, 50, 11), box(50, 0, 66, 18)]), 4.0, (62, 14)),
        (unary_union([box(0, 0, 20, 80), box(20, 9, 50, 11), box(50, 0, 66, 18)]), 4.0, (16, 76)),
    ],
    ids=["wide enough", "narrow", "two parts, the right one", "still the right one", "the high one"],
)
def test_a_letter_stands_in_the_upper_right_corner_with_room_round_it(panel, room, at):
    [(_, x, y)] = blank_labels(die(blank(panels=(panel,))), room)
    assert (x, y) == pytest.approx(at)


def test_in_the_narrowest_panel_the_letter_stands_in_the_middle():
    narrow = box(10, 20, 12, 50)
    [(_, x, y)] = blank_labels(die(blank(panels=(narrow,))), 4.0)
    assert narrow.contains(Point(x, y))
    assert 25 < y < 45


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ((52, 50, 58, 56), "panel C"),
        ((46.1, 50, 56.1, 60), "panel C"),  # 61 % of it
        ((46, 50, 56, 60), "panels B and C"),  # just under 60 %
        ((40, 38.4, 60, 58.4), "panels B and C"),  # 4 % lies on E
        ((40, 35.2, 60, 55.2), "panels B, C and E"),  # 12 %
        ((40, 30, 105, 60), "several panels"),
        ((30, 41, 30, 41), "panel B"),
        ((52, 41, 56, 41), "panel C"),
        ((1, 1, 4, 4), "outside the cut"),
        ((100, 10, 105, 15), "outside the cut"),
    ],
)
def test_a_place_is_told_by_the_panels_that_hold_it(place, words):
    assert words_for(place, die(blank())) == words


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ((12, 50, 18, 56), "glue flap"),
        ((14, 50, 23.9, 60), "glue flap"),  # 60.6 % of it
        ((14, 50, 24.1, 60), "panel A"),  # 59.4 %
        ((62, 52, 68, 58), "window"),
        ((52, 52, 58, 58), "panel B"),
    ],
)
def test_an_area_that_holds_most_of_a_place_gives_its_name(place, words):
    known = die(blank(area(FLAP), area(box(60, 50, 70, 60), "window")))
    assert words_for(place, known) == words


def test_of_several_blanks_the_area_is_told_with_its_blank():
    second = Blank(2, box(200, 0, 290, 80), NO_LINES, (), (), (area(box(200, 10, 210, 60)),))
    several = die(blank(area(FLAP)), second)
    assert words_for((201, 20, 206, 30), several) == "glue flap of blank 2"
    assert words_for((12, 50, 18, 56), several) == "glue flap of blank 1"
    assert words_for((240, 20, 246, 30), several) == "blank 2"


def test_what_lies_inside_the_cut_and_on_no_panel_has_no_words():
    bare = Blank(1, box(10, 5, 110, 100), NO_LINES, PANELS)
    assert words_for((92, 10, 96, 14), die(bare)) == ""
    assert words_for((92, 10, 96, 14), die(blank())) == "outside the cut"
    assert words_for((92, 10, 96, 14), die()) == ""


@pytest.mark.parametrize(
    ("where", "words"),
    [
        ("panel C", "on panel C, "),
        ("panels B and C", "on panels B and C, "),
        ("blank 2", "on blank 2, "),
        ("several panels", "on several panels, "),
        ("glue flap", "on the glue flap, "),
        ("code", "on the code area, "),
        ("ink and varnish free of blank 2", "on the ink and varnish free area of blank 2, "),
        ("top edge of blank 2", "at the top edge of blank 2, "),
        ("left edge of a cut-out", "at the left edge of a cut-out, "),
        ("outside the cut", "outside the cut, "),
        ("", ""),
    ],
)
def test_a_place_is_told_as_one_says_it_with_its_distances_on_the_page(where, words):
    assert place_words((232.96, 228.04, 240, 230), where) == f"{words}233 mm from the left, 228 mm up"
    assert place_words((0.04, -0.04, 240, 230), where) == f"{words}0 mm from the left, 0 mm up"

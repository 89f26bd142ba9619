"""Arrow heads, dimension lines and words in a die ink, told by their own shape."""

import pytest

from preflight.carton.lines.dimensions_and_lettering import dimensions_and_lettering, is_arrow
from preflight.carton.lines.prepared_lines import prepare_lines
from tests.die_lines import arrow, line, moved, rectangle


def closed(*points):
    return [*points, points[0]]


ARROWS = {
    "filled triangle": (closed((0, 0), (3, 1), (3, -1)), True, True),
    "filled triangle, not closed": ([(0, 0), (3, 1), (3, -1)], True, True),
    "filled triangle of 6 mm": (closed((0, 0), (6, 1), (6, -1)), True, True),
    "filled triangle of more": (closed((0, 0), (6.1, 1), (6.1, -1)), True, False),
    "filled triangle, too high": (closed((0, 0), (1, 6.1), (-1, 6.1)), True, False),
    "filled dart": (closed((0, 0), (3, 1.2), (2, 0), (3, -1.2)), True, True),
    "filled rhombus": (closed((0, 0), (1, 1), (2, 0), (1, -1)), True, False),
    "filled rectangle": (rectangle(0, 0, 3, 2), True, False),
    "filled pentagon": (closed((0, 0), (2, 1), (3, 0.2), (3, -0.2), (2, -1)), True, False),
    "open and sharp": ([(2, 1), (0, 0), (2, -1)], False, True),
    "open, under 60 degrees": ([(2, 1.14), (0, 0), (2, -1.14)], False, True),
    "open, over 60 degrees": ([(2, 1.17), (0, 0), (2, -1.17)], False, False),
    "open, one side 0.81 of the other": ([(2, 1), (0, 0), (1.62, -0.81)], False, True),
    "open, one side 0.79 of the other": ([(1.58, 0.79), (0, 0), (2, -1)], False, False),
    "stroked triangle": (closed((0, 0), (3, 1), (3, -1)), False, False),
    "open, of four points": ([(2, 1), (0, 0), (2, -1), (4, -2)], False, False),
    "a dash": ([(0, 0), (3, 0)], False, False),
}


@pytest.mark.parametrize(("points", "filled", "arrow"), ARROWS.values(), ids=ARROWS.keys())
def test_what_an_arrow_head_is(points, filled, arrow):
    assert is_arrow(line([(x + 20, y + 7) for x, y in points], filled=filled)) is arrow


LEVEL = [(25, 90), (85, 90)]
HEADS = {
    "filled, at the start": ([(25, 90), (28, 91), (28, 89), (25, 90)], True, True),
    "filled, at the end": ([(85, 90), (82, 91), (82, 89), (85, 90)], True, True),
    "filled, pointing away": ([(22, 90), (25, 91), (25, 89), (22, 90)], True, True),
    "filled, 0.25 mm away": ([(21.75, 90), (24.75, 91), (24.75, 89), (21.75, 90)], True, True),
    "filled, 0.35 mm away": ([(21.65, 90), (24.65, 91), (24.65, 89), (21.65, 90)], True, False),
    "filled, a little askew": ([(25, 90), (28, 91.6), (28, 89), (25, 90)], True, True),
    "filled, askew": ([(25, 90), (28, 91.8), (28, 89), (25, 90)], True, False),
    "filled, across": ([(25, 90), (26, 93), (24, 93), (25, 90)], True, False),
    "open, leaning over the line": ([(27, 91), (25, 90), (27, 89)], False, True),
    "open, leaning over its end": ([(83, 91), (85, 90), (83, 89)], False, True),
    "open, a little past the start": ([(26.8, 91), (24.8, 90), (26.8, 89)], False, True),
    "a notch at the start": ([(23, 91), (25, 90), (23, 89)], False, False),
    "a notch at the end": ([(87, 91), (85, 90), (87, 89)], False, False),
    "in the middle": ([(57, 91), (55, 90), (57, 89)], False, False),
}


@pytest.mark.parametrize(("head", "filled", "found"), HEADS.values(), ids=HEADS.keys())
@pytest.mark.parametrize("upright", [False, True])
def test_a_dimension_line_has_a_head_along_it_at_an_end(head, filled, found, upright):
    turn = (lambda p: [(-y, x) for x, y in p]) if upright else list
    other = line(turn([(25, 10), (85, 10)]))
    lines = [other, line(turn(LEVEL)), line(turn(head), filled=filled, row=9)]
    apart = dimensions_and_lettering(lines)
    assert apart.dimension.tolist() == [False, found, False]
    assert apart.arrows.tolist() == [False, False, found or filled]
    assert apart.any.tolist() == [False, found, found or filled]
    assert (apart.lettering.tolist(), apart.words) == ([False] * 3, 0)


def test_a_head_on_a_line_that_turns_is_no_dimension():
    lines = [line([(25, 90), (60, 90), (60, 40)]), arrow(25, 90, 1, 0, 9)]
    assert dimensions_and_lettering(lines).dimension.tolist() == [False, False]


def test_the_second_of_two_dimension_lines_has_its_own_heads():
    lines = [line([(25, 90), (85, 90)]), line([(25, 60), (85, 60)]), arrow(85, 60, -1, 0, 9)]
    apart = dimensions_and_lettering(lines)
    assert apart.dimension.tolist() == [False, True, False]


def glyphs(*sizes, apart=1.0, x=30.0, y=40.0):
    """Boxes side by side, each of a width and a height."""
    found = []
    for wide, high in sizes:
        found.append(line(rectangle(x, y, x + wide, y + high)))
        x += wide + apart
    return found


LETTERING = {
    "three of several sizes": (glyphs((1, 3), (2, 3), (1.5, 3)), 1),
    "two": (glyphs((1, 3), (2, 3)), 0),
    "all alike": (glyphs((1, 3), (1.15, 3), (1, 3)), 0),
    "hardly alike": (glyphs((1, 3), (1.25, 3), (1, 3)), 1),
    "of several heights": (glyphs((1, 3), (1, 3.4), (1, 3)), 1),
    "within two thirds of a letter": (glyphs((1, 3), (2, 3), (1.5, 3), apart=2.0), 1),
    "farther apart": (glyphs((1, 3), (2, 3), (1.5, 3), apart=2.05), 0),
    "as large as letters get": (glyphs((1, 8), (2, 8), (1.5, 8)), 1),
    "larger": (glyphs((1, 8.1), (2, 8.1), (1.5, 8.1)), 0),
    "dots": (glyphs((0.05, 0.1), (0.29, 0.1), (0.1, 0.29), apart=0.05), 0),
    "two words": (glyphs((1, 3), (2, 3), (1.5, 3)) + glyphs((1, 3), (2, 3), (1.5, 3), y=70), 2),
}


@pytest.mark.parametrize(("lines", "words"), LETTERING.values(), ids=LETTERING.keys())
def test_small_unlike_things_side_by_side_are_words(lines, words):
    large = line(rectangle(0, 0, 200, 150))
    apart = dimensions_and_lettering([large, *lines])
    assert apart.words == words
    assert apart.lettering.tolist() == [False, *[bool(words)] * len(lines)]


def test_a_word_takes_in_no_thing_of_another_place():
    lines = [*glyphs((1, 3), (2, 3), (1.5, 3)), *glyphs((1, 3), (2, 3), x=90)]
    assert dimensions_and_lettering(lines).lettering.tolist() == [True] * 3 + [False] * 2


@pytest.mark.parametrize(("away", "words"), [(0.25, 0), (0.35, 1)])
def test_what_touches_a_large_line_is_no_letter(away, words):
    lines = glyphs((1, 3), (2, 3), (1.5, 3))
    under_the_first = line([(20, 40 - away), (30.5, 40 - away)])
    under_all = line([(20, 40 - away), (60, 40 - away)])
    assert dimensions_and_lettering([*lines, under_all]).words == words
    assert dimensions_and_lettering([*lines, under_the_first]).words == words


def test_a_letter_of_two_strokes_is_one_thing():
    """Three strokes that touch, two letters: too few for a word; with a third letter they are one."""
    stem, bar = line([(30, 40), (30, 43)]), line([(29, 43.1), (31, 43.1)])
    assert dimensions_and_lettering([stem, bar, *glyphs((2, 3), x=32)]).words == 0
    apart = dimensions_and_lettering([stem, bar, *glyphs((2, 3), (1, 3), x=32)])
    assert (apart.words, apart.lettering.tolist()) == (1, [True] * 4)


def test_nothing_small_and_nothing_at_all():
    apart = dimensions_and_lettering([line(rectangle(0, 0, 90, 50))])
    assert (apart.any.tolist(), apart.words) == ([False], 0)
    assert dimensions_and_lettering([]).any.tolist() == []


def test_prepared_lines_part_the_die_from_what_stands_beside_it():
    die = line(rectangle(0, 0, 200, 150))
    fold = line([(100, 0), (100, 150)], "crease")
    band = line(rectangle(10, 20, 60, 20.4), filled=True, row=7)
    dashes = [line([(140 + 4.5 * n, 90), (143 + 4.5 * n, 90)], "crease") for n in range(3)]
    dimension, head = line([(125, 120), (185, 120)]), arrow(125, 120, 1, 0, 9)
    letters = glyphs((1, 3), (2, 3), (1.5, 3))
    prepared = prepare_lines([die, fold, band, *dashes, dimension, head, *letters])
    assert [(item.role, item.dashed) for item in prepared.lines] == [
        ("cut", False), ("crease", False), ("cut", False), ("crease", True),
    ]  # fmt: skip
    assert prepared.dimension[0] is dimension
    assert len(prepared.dimension) == 1
    assert [id(item) for item in prepared.aside] == [id(item) for item in (head, *letters)]
    assert prepared.words == 1
    assert len(prepared.notes) == 1
    assert "1 stroke " in prepared.notes[0]
    assert (prepared.assumed, prepared.guessed_within) == ((), ())


def test_prepared_lines_tell_what_they_guess():
    dashed = line([(100, 0), (100, 150)], dashed=True)
    prepared = prepare_lines([line(rectangle(0, 0, 200, 150)), dashed])
    assert [item.role for item in prepared.lines] == ["cut", "crease"]
    assert len(prepared.guessed_within) == 1
    assert prepared.notes == ()
    noted = prepare_lines([*prepared.lines, *moved([dashed], 30, 0), line([(50, 0), (50, 150)], dashed=True)])
    assert len(noted.notes) == 1

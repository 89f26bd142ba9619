"""What on a layer of the die is the die itself, on objects made in the test."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import Layer
from preflight.errors import NotMeasured
from preflight.measures.die_layers import (
    _die_itself,
    _size,
    _straight,
    _width_mm,
    _within_the_outer_cut,
    artwork_on_die_layers,
    die_lines_on_hidden_layers,
)
from tests.test_finishes import ALL, CYAN, DIE, MOSS, SEPARATIONS, WHITE, table

F, S = Painted.FILL, Painted.STROKE
INSIDE = shapely.box(5, 7, 105, 67)
"""100 x 60 mm: half of it is 50 x 30."""


def polyline(*points: tuple[float, float]) -> np.ndarray:
    return np.array(points, float)


def frame(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    return polyline((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0))


Row = tuple[Painted, list[np.ndarray], dict[str, Any]]


def stroke(*paths: np.ndarray, **more: Any) -> Row:
    return S, list(paths), {"width": 0.25, "colour": 0, "dashed": False, **more}


def fill(*paths: np.ndarray, **more: Any) -> Row:
    return F, list(paths), {"width": 0.0, "colour": 0, "dashed": False, **more}


def objects_of(*rows: Row) -> Any:
    boxes = [[*np.vstack(paths).min(0), *np.vstack(paths).max(0)] for _, paths, _ in rows]
    return SimpleNamespace(
        painted=np.array([what for what, _, _ in rows], np.uint8), box_mm=np.array(boxes, np.float32).reshape(-1, 4),
        line_width_mm=np.array([more["width"] for _, _, more in rows], np.float32),
        colour=np.array([more["colour"] for _, _, more in rows]),
        dashed=np.array([more["dashed"] for _, _, more in rows]),
        paths=lambda asked: [rows[row][1] for row in asked.tolist()],
    )  # fmt: skip


def itself(*rows: Row, thinner_mm: float = 0.5) -> list[int]:
    return sorted(_die_itself(objects_of(*rows), np.arange(len(rows)), INSIDE, thinner_mm))


LINE = polyline((40, 20), (70, 35))
BENT = polyline((40, 20), (55, 20), (55, 30))
BOX = frame(40, 20, 60, 40)


@pytest.mark.parametrize(
    ("row", "die"),
    [
        (stroke(LINE), True), (stroke(LINE, width=0.5), True), (stroke(LINE, width=0.55), False), (stroke(BENT), False),
        (stroke(LINE, BENT), False), (stroke(BENT, dashed=True), True), (stroke(BOX), False),
        (stroke(frame(20, 20, 70, 50)), True), (stroke(frame(20, 20, 69.9, 50)), False),
        (stroke(frame(20, 20, 70, 49.9)), False), (fill(frame(40, 20, 60, 20.5)), True),
        (fill(frame(40, 20, 60, 20.6)), False), (fill(frame(40, 20, 40.5, 40)), True), (fill(BOX), False),
        (fill(frame(20, 20, 80, 60), frame(20.4, 20.4, 79.6, 59.6)), True),
        (fill(frame(20, 20, 80, 60), frame(20.6, 20.6, 79.4, 59.4)), False),
        (fill(frame(20, 20, 60, 60), frame(20.4, 20.4, 59.6, 59.6)), False),
        (fill(frame(20, 20, 80, 60)), False),
    ],
    ids=["a straight line", "0.5 mm wide", "wider", "a bent one", "a straight one and a bent one", "dashes",
         "a small frame", "a frame of half the carton", "not so wide", "not so high", "a filled line", "a bar",
         "an upright filled line", "a patch", "a band round most of the carton", "a wider band", "a band round less",
         "a ground"],
)  # fmt: skip
def test_lines_of_a_die_drawn_in_an_ink(row, die):
    assert itself(row) == [0] * die
    assert itself(fill(BOX), row) == [1] * die


def test_lines_of_one_colour_that_go_over_most_of_the_carton_together_are_the_die():
    low, high = stroke(BENT), stroke(polyline((90, 50), (90, 60), (80, 60)))
    assert itself(low, high) == [0, 1]
    assert itself(low, (high[0], high[1], {**high[2], "colour": 1})) == []
    assert itself(low, high, (S, [BENT], {**low[2], "colour": 3})) == [0, 1]


def test_words_and_pictures_are_no_die():
    words = objects_of(stroke(LINE), stroke(LINE))
    words.painted[1] = Painted.TEXT
    assert list(_die_itself(words, np.arange(2), INSIDE, 0.5)) == [0]


def test_a_straight_line_goes_the_shortest_way():
    assert _straight(LINE)
    assert _straight(polyline((0, 0), (10, 0.2), (20, 0)))  # longer by 2 in 10,000
    assert not _straight(polyline((0, 0), (10, 1), (20, 0)))  # by half a per cent
    assert not _straight(frame(0, 0, 10, 5))


@pytest.mark.parametrize(
    ("paths", "width"),
    [
        ([frame(0, 0, 40, 20), frame(1, 1, 39, 19)], 2 * (800 - 684) / (120 + 112)),
        ([frame(1, 1, 39, 19), frame(0, 0, 40, 20)], 2 * (800 - 684) / (120 + 112)),
        ([frame(0, 0, 40, 20)], 2 * 800 / 120),
        ([frame(0, 0, 40, 20), frame(2, 2, 10, 10), frame(20, 2, 30, 12)], 2 * (800 - 64 - 100) / (120 + 32 + 40)),
        ([polyline((0, 0), (5, 0), (5, 5))], 0),
        ([], 0),
    ],
    ids=["a band", "the inner edge first", "a patch", "with two holes", "no area", "nothing"],
)  # fmt: skip
def test_the_width_of_a_band_is_twice_its_area_by_the_length_of_its_edges(paths, width):
    assert _width_mm(paths) == pytest.approx(width)


def test_the_size_of_several_boxes_together():
    assert _size(np.array([[10, 20, 15, 22], [12, 5, 40, 9]], np.float32)).tolist() == [30, 17]


def test_cut_outs_are_within_the_outer_cut():
    holed = shapely.Polygon([(0, 0), (20, 0), (20, 10), (0, 10)], [[(5, 3), (9, 3), (9, 6), (5, 6)]])
    there: Any = SimpleNamespace(
        die=SimpleNamespace(
            blanks=[SimpleNamespace(outline=holed), SimpleNamespace(outline=shapely.box(30, 0, 40, 5))]
        ),
        inside_shape=shapely.box(1, 2, 3, 4),
    )
    assert _within_the_outer_cut(there).area == 200 + 50
    there.die.blanks = []
    assert _within_the_outer_cut(there).bounds == (1, 2, 3, 4)


def test_hidden_lines_of_the_die_are_told_by_the_layer():
    layers = [Layer("Shown", True), Layer("Old", False, switched_on=False), Layer("Other", False, switched_on=False)]
    boxes = np.array([[n, 2 * n, n + 1, 2 * n + 3] for n in range(7)], np.float32)
    objects = SimpleNamespace(box_mm=boxes, layer=np.array([-1, 0, 1, 1, 2, 1, 2]))
    lines_of = {"cut": (0, 1, 2, 5), "crease": (3, 4)}
    there: Any = SimpleNamespace(
        page=SimpleNamespace(objects=objects, layers=layers, number=4, over_bounds=[]),
        die=SimpleNamespace(lines_of=lines_of),
    )
    found: dict[str, Any] = {str(reading.facts["layer"]): reading for reading in die_lines_on_hidden_layers(there)}
    assert {name: (reading.value, reading.facts["roles"]) for name, reading in found.items()} == {
        "Old": (3.0, "cut and crease"), "Other": (1.0, "crease"),
    }  # fmt: skip
    assert found["Old"].places[0].box_mm == (2, 4, 6, 13)
    assert (found["Old"].places[0].page, found["Old"].group) == (4, "1")
    assert found["Other"].places[0].box_mm == (4, 8, 5, 11)


# Artwork on layers of the die -------------------------------------------------------------------------------------

LAYERS = [Layer("Art", True), Layer("Die line", True), Layer("Dieline", False, switched_on=False)]
PATCH = (40.0, 20.0, 60.0, 40.0)


def on_layers(
    *placed: tuple[int, tuple[float, ...], Any], layers: Any = LAYERS, inks: Any = ("spot",), **more: Any
) -> list[Any]:
    """Fills on layers, each with its box and colour; the blank is 100 x 60 mm."""
    objects = table(*((F, box, colour) for _, box, colour in placed))  # type: ignore[arg-type]
    objects.layer = np.array([layer for layer, _, _ in placed], int)
    objects.line_width_mm, objects.dashed = np.zeros(len(placed)), np.zeros(len(placed), bool)
    objects.box_mm = objects.shown_mm
    blank = SimpleNamespace(outline=INSIDE)
    known = {"blanks": (blank,), "found": "read", "uncertain": (), "uncertain_places": (), "because": "", **more}
    page = SimpleNamespace(objects=objects, layers=list(layers), separations=SEPARATIONS, number=3, over_bounds=[])
    job: Any = SimpleNamespace(
        page=page,
        die=SimpleNamespace(likely_cut="", line_to_paste="", **known),
        ticket=None,
        artwork_is="sheet",
        inside_shape=INSIDE,
    )
    return artwork_on_die_layers(job, inks=inks, thinner_than_mm=0.5)


@pytest.mark.parametrize(
    ("layer", "box", "colour", "counts"),
    [
        (1, PATCH, CYAN, True), (1, PATCH, MOSS, True), (2, PATCH, MOSS, True), (0, PATCH, MOSS, False),
        (-1, PATCH, MOSS, False), (1, PATCH, DIE, False), (1, PATCH, ALL, False), (1, PATCH, WHITE, False),
        (1, (106, 20, 120, 40), MOSS, False), (1, (104.8, 20, 120, 40), MOSS, True),
        (1, (40, 20, 60, 20.4), MOSS, False),
    ],
    ids=["a process ink", "a spot", "on another layer of a die", "on a layer of artwork", "on no layer", "the die",
         "registration colour", "white", "beside the carton", "reaching inside", "a thin line"],
)  # fmt: skip
def test_artwork_on_a_layer_of_the_die(layer, box, colour, counts):
    assert len(on_layers((layer, box, colour))) == counts
    assert len(on_layers((0, PATCH, MOSS), (layer, box, colour))) == counts


def test_artwork_is_counted_by_the_layer():
    first, second = on_layers((2, PATCH, MOSS), (1, (20.0, 30.0, 30.0, 33.0), CYAN), (1, PATCH, MOSS), (1, PATCH, DIE))
    assert (first.value, first.facts["layer"], first.facts["inks"], first.group) == (2.0, "Die line", "Cyan, Moss", "1")
    assert (second.value, second.facts["layer"], second.facts["inks"]) == (1.0, "Dieline", "Moss")
    assert sorted(place.box_mm for place in first.places) == [(20, 30, 30, 33), PATCH]
    assert first.places[0].page == 3


def test_what_artwork_is_asked_of():
    assert on_layers((1, PATCH, MOSS), inks=("metallic",)) == []
    assert on_layers((1, PATCH, CYAN), inks=())
    assert on_layers() == []
    assert on_layers((0, PATCH, MOSS), layers=LAYERS[:1]) == []
    with pytest.raises(NotMeasured):
        on_layers((1, PATCH, MOSS), blanks=())
    assert on_layers((0, PATCH, MOSS), blanks=()) == []

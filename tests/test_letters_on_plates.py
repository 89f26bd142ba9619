"""Where letters are on plates made in the test: a pixel is half a millimetre."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import LineString

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.objects import Painted
from preflight.artwork.page.plates import Plates
from preflight.measures.distance_to_lines import Pieces
from preflight.measures.letters_on_plates import _ink_box, _points, _rims, _Teller, _tellers, letters, letters_near
from tests.test_bleed_search import Scene

DPI = 50.8
X0, Y0, WIDTH, HEIGHT = 100.0, 50.0, 80, 60
"""The plates reach from (100, 50) to (140, 80)."""
NAMES = ("Cyan", "Moss")


def plates(*fills: tuple[str, tuple[float, float, float, float], float]) -> Plates:
    """Name, box and tint of each fill, in mm from the lower-left corner of the plates."""
    ink = np.zeros((2, HEIGHT, WIDTH), np.uint8)
    for name, (x0, y0, x1, y1), tint in fills:
        rows = slice(HEIGHT - round(2 * y1), HEIGHT - round(2 * y0))
        ink[NAMES.index(name), rows, round(2 * x0) : round(2 * x1)] = round(255 * tint)
    return Plates(NAMES, ink, DPI, (X0, Y0, X0 + WIDTH / 2, Y0 + HEIGHT / 2))


def box(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    return np.array([X0 + x0, Y0 + y0, X0 + x1, Y0 + y1])


TEXT = (10, 8, 20, 12)
LETTERS = ("Moss", (11, 9, 13, 11), 1.0)
GROUND = ("Cyan", (5, 4, 30, 25), 0.4)


def colour(varies: bool = False, **tints: float) -> Colour:
    return Colour("DeviceN", tuple(tints.items()), varies=varies)


def job(drawn: Plates, *texts: tuple[tuple[float, float, float, float], Colour], alpha=1.0, overprint=False) -> Any:
    objects = SimpleNamespace(
        shown_mm=np.array([box(*where) for where, _ in texts], np.float32).reshape(-1, 4),
        colour=np.arange(len(texts)), colours=[own for _, own in texts],
        overprint=np.full(len(texts), overprint), alpha=np.full(len(texts), alpha),
    )  # fmt: skip
    return SimpleNamespace(plates=drawn, page=SimpleNamespace(objects=objects))


def teller(drawn: Plates, own: Colour, **more: Any) -> _Teller | None:
    there = job(drawn, (TEXT, own), **more)
    [found] = _tellers(there, np.array([0]), there.page.objects.shown_mm.astype(float), NAMES)
    return found


# The plate that tells ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("drawn", "own", "told"),
    [
        ((), {"Moss": 1.0}, ("Moss", 1.0, 0.0)),
        ((GROUND,), {"Moss": 0.3}, ("Cyan", 0.0, 0.4)),
        ((GROUND,), {"Moss": 0.5}, ("Moss", 0.5, 0.0)),
        ((GROUND,), {"Cyan": 1.0, "Moss": 0.5}, ("Cyan", 1.0, 0.4)),
        ((GROUND,), {"Cyan": 0.4}, None),
        ((GROUND,), {"Cyan": 0.49}, None),
        ((GROUND,), {"Cyan": 0.51}, ("Cyan", 0.51, 0.4)),
        ((GROUND,), {"Cyan": 0.29}, ("Cyan", 0.29, 0.4)),
        ((("Cyan", (5, 4, 14, 25), 0.4),), {"Cyan": 0.2}, None),
        ((("Cyan", (5, 4, 14, 25), 0.4),), {"Cyan": 0.8}, ("Cyan", 0.8, 0.4)),
        ((("Cyan", (5, 4, 11, 25), 0.4),), {"Cyan": 0.2}, ("Cyan", 0.2, 0.0)),
    ],
    ids=["on bare board", "left open in a ground", "darker than it is left open", "stronger than its ground",
         "as its ground", "hardly stronger", "stronger by 0.11", "lighter by 0.11", "between two grounds",
         "stronger than both", "a ground that only reaches in"],
)  # fmt: skip
def test_a_text_is_told_on_the_plate_where_it_differs_most_from_all_of_its_ground(drawn, own, told):
    found = teller(plates(*drawn), colour(**own))
    assert (None if found is None else (found.name, found.text, pytest.approx(found.ground, abs=0.003))) == told


def test_what_is_faint_varies_or_is_left_to_stand_is_not_told():
    bare, ground = plates(), plates(GROUND)
    assert teller(bare, colour(Moss=1.0), alpha=0.99) is None
    assert teller(bare, colour(varies=True, Moss=1.0)) is None
    assert teller(ground, colour(Moss=0.05), overprint=True) is None  # cyan stands below it
    assert teller(ground, colour(Moss=0.3), overprint=True) == _Teller("Moss", 0.3, 0.0)


def test_each_text_has_its_own_plate():
    there = job(
        plates(GROUND), (TEXT, colour(Moss=1.0)), ((32, 20, 38, 22), colour(Cyan=0.6)), (TEXT, colour(Cyan=0.4))
    )
    boxes = there.page.objects.shown_mm.astype(float)
    found = _tellers(there, np.array([2, 1, 0]), boxes[[2, 1, 0]], NAMES)
    assert [own and own.name for own in found] == [None, "Cyan", "Moss"]
    assert _tellers(there, np.array([0, 1]), boxes[:2], ()) == [None, None]
    assert _tellers(there, np.zeros(0, int), boxes[:0], NAMES) == []


def test_the_ground_is_looked_at_along_the_longer_sides():
    """0.35 mm below and above a level text, to the left and right of an upright one; a bar lies along half."""
    below, left = ("Cyan", (10, 7.5, 15, 8), 1.0), ("Moss", (9.5, 8, 10, 18), 0.6)
    drawn = plates(below, left)
    level = _rims(drawn, box(*TEXT)[None], NAMES)
    assert level.shape == (1, 24, 2)
    assert level[0, :, 0].tolist() == [1.0] * 6 + [0.0] * 18
    assert level[0, :, 1].max() == 0
    upright = _rims(drawn, box(10, 8, 14, 28)[None], NAMES)
    assert upright[0, :, 1] == pytest.approx([0.6] * 6 + [0.0] * 18)
    assert upright[0, :, 0].max() == 0
    above = _rims(plates(("Cyan", (10, 12, 15, 12.5), 1.0)), box(*TEXT)[None], NAMES)
    assert above[0, :, 0].tolist() == [0.0] * 12 + [1.0] * 6 + [0.0] * 6


def test_beyond_the_plates_their_edge_is_the_ground():
    drawn = plates(("Cyan", (0, 0, 40, 0.5), 1.0), ("Moss", (39.5, 0, 40, 30), 1.0))
    corner = _rims(drawn, box(-3, -2, 5, 0.2)[None], NAMES)
    assert corner[0, :12, 0].tolist() == [1.0] * 12
    right = _rims(drawn, box(38, 2, 45, 30)[None], NAMES)
    assert right[0, 12:, 1].tolist() == [1.0] * 12


# Points of letters ------------------------------------------------------------------------------------------------

MOSS = _Teller("Moss", 1.0, 0.0)


def test_points_are_the_middles_of_pixels_that_are_nearer_to_the_text_than_to_its_ground():
    drawn = plates(LETTERS, ("Moss", (15, 9, 16, 10), 0.51), ("Moss", (17, 9, 18, 10), 0.49))
    found = _points(drawn, tuple(box(*TEXT)), MOSS, 0.5)
    assert len(found) == 4 * 4 + 2 * 2
    assert found.min(0).tolist() == [X0 + 11.25, Y0 + 9.25]
    assert found.max(0).tolist() == [X0 + 15.75, Y0 + 10.75]
    assert len(_points(drawn, tuple(box(*TEXT)), MOSS, 0.4)) == 24
    assert len(_points(drawn, tuple(box(12, 8, 20, 10)), MOSS, 0.5)) == 2 * 2 + 2 * 2


def test_points_of_letters_left_open_and_only_those_inside():
    drawn = plates(GROUND, ("Cyan", (11, 9, 13, 11), 0.0), ("Cyan", (15, 9, 16, 10), 0.6))
    open_in_cyan = _Teller("Cyan", 0.0, 0.4)
    found = _points(drawn, tuple(box(*TEXT)), open_in_cyan, 0.5)
    assert (len(found), found.max(0).tolist()) == (16, [X0 + 12.75, Y0 + 10.75])
    inside = np.zeros((HEIGHT, WIDTH), bool)
    inside[:, :24] = True  # up to x = 12 mm
    found = _points(drawn, tuple(box(*TEXT)), open_in_cyan, 0.5, inside)
    assert (len(found), found.max(0).tolist()) == (8, [X0 + 11.75, Y0 + 10.75])


def test_the_box_of_a_texts_letters():
    drawn = plates(LETTERS, ("Moss", (15, 9, 16, 10), 0.2), ("Moss", (17, 8, 18, 9), 0.14))
    assert _ink_box(drawn, box(*TEXT), MOSS).tolist() == box(11, 9, 16, 11).tolist()
    assert _ink_box(drawn, box(*TEXT), None).tolist() == box(*TEXT).tolist()
    assert _ink_box(drawn, box(25, 8, 30, 12), MOSS).max() < 0  # nowhere on the page


def test_letters_of_each_text_on_the_plates_of_the_page():
    there = job(plates(LETTERS), (TEXT, colour(Moss=1.0)), (TEXT, colour(Cyan=0.05)))
    shown, untold = letters(there, np.array([0, 1]), NAMES)
    assert len(shown) == 16
    assert untold.shape == (0, 2)


# Letters near lines -----------------------------------------------------------------------------------------------

WORD = (18.0, 19.0, 25.0, 23.0)
"""The box of a text, of which letters stand from (20, 20) to (23, 22)."""


def near(look_mm: float, *, line_x: float = 24.0, text: Colour | None = None, cut_at: float = 50.0) -> list[np.ndarray]:
    """Points of letters near an upright line; the blank ends at an x."""

    def moss(x, y):
        return (x > 20) & (x < 23) & (y > 20) & (y < 22)

    scene = Scene({"Cyan": lambda x, y: 0.0 * x * y, "Moss": moss}, (Painted.TEXT, WORD))
    scene.objects.colour, scene.objects.colours = np.array([0]), [text or colour(Moss=1.0)]
    scene.objects.overprint, scene.objects.image = np.array([False]), np.array([-1])
    there: Any = SimpleNamespace(
        page=scene, plates=scene.drawn((0, 0, scene.width_mm, scene.height_mm), 100.0),
        inside_shape=shapely.box(2, 3, cut_at, 40),
    )  # fmt: skip
    lines = Pieces.of([LineString([(line_x, 10), (line_x, 40)])])
    return letters_near(there, np.array([0]), lines, look_mm, NAMES)


def test_letters_near_a_line_are_found_closely():
    [found] = near(3.0)
    assert found.max(0) == pytest.approx([23, 22], abs=0.1)
    assert found.min(0) == pytest.approx([20.15, 20], abs=0.1)  # windows reach 0.85 mm farther than the look


@pytest.mark.parametrize(("look_mm", "count"), [(0.6, 0), (0.7, 1), (1.2, 1)])
def test_letters_are_looked_at_within_the_look_and_a_pixel(look_mm, count):
    """The letters stand 1 mm from the line, their last pixel 0.89 mm; a pixel of the page has a quarter of one."""
    assert len(near(look_mm)) == count


def test_only_what_is_inside_the_cut_is_found():
    [found] = near(3.0, cut_at=22.0)
    assert found[:, 0].max() == pytest.approx(22, abs=0.1)
    assert near(3.0, line_x=27.0) == []
    assert near(3.0, cut_at=19.0) == []

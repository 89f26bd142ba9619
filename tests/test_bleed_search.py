"""The search for bleed along a cut, on a page whose inks are worked out from where they stand; no PDF."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from shapely import LineString

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.plates import Plates
from preflight.measures.bleed import bleed_search as module
from preflight.measures.bleed.bleed_search import BleedSearch, DieLeftOut, _in_windows, _not_too_short
from preflight.measures.raster.profiles import Stations, stations_on
from tests.test_bleed_settings import settings

WIDTH, HEIGHT, CUT_Y = 60.0, 44.0, 25.0
"""The cut runs across the page from x = 50 to x = 10; the blank lies below it."""
LOOK_MM = 4.0
NAMES = ("Cyan", "Mill Brown")


class Scene:
    """A page whose inks are functions of x and y in mm that give tints 0..1; windows that were asked for are kept."""

    def __init__(self, inks: dict[str, Any], *objects: tuple[Painted, tuple[float, float, float, float]]) -> None:
        self.inks = inks
        self.width_mm, self.height_mm, self.number = WIDTH, HEIGHT, 1
        self.asked: list[dict[str, Any]] = []
        boxes = np.array([box for _, box in objects], np.float32).reshape(-1, 4)
        self.objects = SimpleNamespace(
            painted=np.array([what for what, _ in objects], np.uint8), shown_mm=boxes,
            visible=np.ones(len(boxes), bool), alpha=np.ones(len(boxes), np.float32),
        )  # fmt: skip

    def drawn(
        self, box: tuple[float, float, float, float], dpi: float, left_out: frozenset[str] = frozenset()
    ) -> Plates:
        mm, fine = 25.4 / dpi, 4
        columns, rows = (max(1, round((high - low) / mm)) for low, high in ((box[0], box[2]), (box[1], box[3])))
        x = box[0] + (np.arange(columns * fine) + 0.5) * mm / fine
        y = box[3] - (np.arange(rows * fine) + 0.5) * mm / fine
        names = [name for name in self.inks if name not in left_out]
        tints = [np.broadcast_to(self.inks[name](x[None], y[:, None]), (len(y), len(x))) for name in names]
        ink = [255 * (1.0 * tint).reshape(rows, fine, columns, fine).mean((1, 3)) for tint in tints]
        whole = (box[0], box[3] - rows * mm, box[0] + columns * mm, box[3])
        return Plates(tuple(names), np.rint(np.array(ink)).astype(np.uint8), dpi, whole)

    def plates(self, dpi: float, without: frozenset[str] = frozenset()) -> Plates:
        self.asked.append({"dpi": dpi, "without": without})
        return self.drawn((0.0, 0.0, WIDTH, HEIGHT), dpi, without)

    def window(
        self, box: Any, dpi: float, without: frozenset[str] = frozenset(), edges: str = "smooth", turned: int = 0
    ) -> Plates:
        if edges == "smooth":
            self.asked.append({"box": box, "dpi": dpi, "without": without})
        return self.drawn(box, dpi, without)

    def altered(self, alteration: Any, dpi: float, box: Any = None) -> Plates:
        self.asked.append({"box": box, "dpi": dpi, "rows": alteration.left_out})
        return self.drawn(box or (0.0, 0.0, WIDTH, HEIGHT), dpi, frozenset({"Die"}))


def search(scene: Scene, *names: str, left_out: DieLeftOut | None = None, **changed: Any) -> BleedSearch:
    job: Any = SimpleNamespace(page=scene, plates=scene.drawn((0.0, 0.0, WIDTH, HEIGHT), 100.0))
    return BleedSearch(job, settings(*(names or tuple(scene.inks)), **changed), left_out or DieLeftOut())


def cut(from_x: float = 50.0, to_x: float = 10.0, y: float = CUT_Y) -> Stations:
    return stations_on(LineString([(from_x, y), (to_x, y)]), 0.5)


def up_to(y_mm: float, x0: float = -1.0, x1: float = 99.0, tint: float = 1.0) -> Any:
    """A ground between two x that ends so far past the cut."""
    return lambda x, y: tint * ((y < CUT_Y + y_mm) & (x > x0) & (x < x1))


EVERYWHERE = up_to(99.0)


def reaches(scene: Scene, **changed: Any) -> np.ndarray:
    [found] = search(scene, **changed).reaches([cut()])
    assert found.shape == (len(scene.inks), 80)
    return found


@pytest.mark.parametrize("past_mm", [0.0, 0.7, 1.9, 2.1, 3.5])
@pytest.mark.parametrize("tint", [0.1, 1.0])
def test_a_ground_that_ends_is_found_to_six_hundredths_of_a_millimetre(past_mm, tint):
    found = reaches(Scene({"Cyan": up_to(past_mm, tint=tint)}))
    assert found[0] == pytest.approx(np.full(80, past_mm), abs=0.06)


@pytest.mark.parametrize("ink", [EVERYWHERE, up_to(4.3), up_to(-1.0), up_to(99, tint=0.01)],
                         ids=["over all of the page", "past the look", "not up to the cut",
                              "too faint to be seen"])  # fmt: skip
def test_what_goes_on_or_does_not_touch_is_not_at_fault(ink):
    assert (reaches(Scene({"Cyan": ink})) == LOOK_MM).all()


def test_of_two_inks_the_one_that_ends_is_at_fault():
    found = reaches(Scene({"Cyan": up_to(99, tint=0.3), "Mill Brown": up_to(1.0)}))
    assert (found[0] == LOOK_MM).all()
    assert found[1] == pytest.approx(np.full(80, 1.0), abs=0.06)


def test_a_ground_ends_where_another_ink_takes_over():
    found = reaches(Scene({"Cyan": up_to(1.0), "Mill Brown": lambda x, y: y >= CUT_Y + 1}))
    assert found[0] == pytest.approx(np.full(80, 1.0), abs=0.06)
    assert (found[1] == LOOK_MM).all()


@pytest.mark.parametrize(("long_mm", "found"), [(1.4, False), (3.2, True)])
def test_a_short_stretch_without_bleed_is_left_alone(long_mm, found):
    """A notch in an ample ground, down to half a millimetre past the cut; 2 mm are a stretch."""
    notched = Scene({"Cyan": lambda x, y: ~((y > CUT_Y + 0.5) & (x > 30) & (x < 30 + long_mm))})
    reach = reaches(notched)[0]
    assert bool((reach < LOOK_MM).any()) is found
    if found:
        at = cut().xy[reach < LOOK_MM, 0]
        assert 29.9 < at.min() < 31.1
        assert 32.1 < at.max() < 33.3
        assert reach.min() == pytest.approx(0.5, abs=0.06)


def test_a_shape_that_crosses_the_cut_is_none_that_stops_at_it():
    slanting = Scene({"Cyan": lambda x, y: np.abs(x - 20 - (y - 20)) < 3})
    assert (reaches(slanting) == LOOK_MM).all()


def test_each_edge_has_its_own_reaches():
    """Ink that ends 1 mm past the cut at the left of the page only; the right edge is shorter, one is empty."""
    scene = Scene({"Cyan": lambda x, y: (y < CUT_Y + 1) | (x > 30), "Mill Brown": up_to(-5.0)})
    none = Stations(np.zeros((0, 2)), np.zeros((0, 2)), 0.5)
    left, nothing, right = search(scene).reaches([cut(28, 10), none, cut(50, 34)])
    assert (left.shape, nothing.shape, right.shape) == ((2, 36), (2, 0), (2, 32))
    assert left[0] == pytest.approx(np.full(36, 1.0), abs=0.06)
    assert (left[1] == LOOK_MM).all()
    assert (right == LOOK_MM).all()


def test_without_inks_or_stations_nothing_is_looked_at():
    scene = Scene({"Cyan": up_to(1.0)})
    job: Any = SimpleNamespace(page=None, plates=None)
    [found] = BleedSearch(job, settings(), DieLeftOut()).reaches([cut()])
    assert found.shape == (0, 80)
    none = Stations(np.zeros((0, 2)), np.zeros((0, 2)), 0.5)
    [found] = search(scene).reaches([none])
    assert found.shape == (1, 0)
    assert scene.asked == []


def test_only_what_may_not_carry_on_is_looked_at_closely():
    ample = Scene({"Cyan": EVERYWHERE})
    reaches(ample)
    assert ample.asked == []
    part = Scene({"Cyan": lambda x, y: (y < CUT_Y + 1) | (x > 20)})
    reaches(part)
    [asked] = part.asked
    x0, y0, x1, y1 = asked["box"]
    assert asked["dpi"] == 300
    assert (x0, x1) == pytest.approx((10.25 - 0.3, 20 + 0.3), abs=0.3)
    assert (y0, y1) == pytest.approx((CUT_Y - 0.5 - 0.3, CUT_Y + 4.5 + 0.3))


def test_it_makes_no_difference_how_many_stations_are_at_hand(monkeypatch):
    uneven = {"Cyan": lambda x, y: y < CUT_Y + 0.5 + 0.02 * x, "Mill Brown": up_to(2.0, x0=25.0)}
    whole = search(Scene(uneven), aslant=1.0).reaches([cut(50, 32), cut(28, 10)])
    monkeypatch.setattr(module, "MOST_AT_ONCE", 1)
    parted = search(Scene(uneven), aslant=1.0).reaches([cut(50, 32), cut(28, 10)])
    assert [found.tolist() for found in parted] == [found.tolist() for found in whole]
    assert whole[0].min() < LOOK_MM
    assert whole[1].min() < LOOK_MM


def test_a_line_in_an_ink_that_is_not_looked_for_is_looked_through():
    """A black line on the cut that knocks a ground out; it is no ink in question, and the die is none of the others."""
    line = lambda x, y: np.abs(y - CUT_Y) < 0.2  # noqa: E731
    grounded = Scene({"Cyan": lambda x, y: ~line(x, y), "Black": line})
    [found] = search(grounded, "Cyan").reaches([cut()])
    assert (found == LOOK_MM).all()
    [die] = search(grounded, "Cyan", left_out=DieLeftOut(frozenset({"Black"}))).reaches([cut()])
    assert (die < 0.5).all()  # a bare gap, since nothing of the line is left


def test_windows_stay_on_the_page():
    scene = Scene({"Cyan": lambda x, y: y < 42.5})
    edge = cut(60, 0, y=42.0)
    [found] = search(scene).reaches([edge])
    assert found[0] == pytest.approx(np.full(120, 0.5), abs=0.06)
    boxes = np.array([asked["box"] for asked in scene.asked])
    assert boxes[:, 0].min() == 0
    assert boxes[:, 2].max() == WIDTH
    assert boxes[:, 3].max() == HEIGHT


def test_a_cut_off_the_page_is_not_looked_at():
    scene = Scene({"Cyan": EVERYWHERE})
    [found] = search(scene).reaches([cut(y=HEIGHT + 2)])
    assert (found == LOOK_MM).all()


MANY = 26


def many(**inks: Any) -> Scene:
    """More inks than are looked at one by one, most of them far from the cut."""
    far = {f"Leaf {30 + n}": up_to(-6.0, x0=n) for n in range(MANY - len(inks))}
    return Scene({**far, **inks})


def test_of_many_inks_those_near_the_cut_are_looked_at():
    scene = many(Moss=up_to(1.0), MOSS=up_to(-9.0), Rust=up_to(-0.4))
    assert search(scene)._near_the_cut(cut()) == [23, 24, 25]
    assert search(many(Rust=up_to(-1.2)))._near_the_cut(cut()) == []
    few = Scene(dict(list(scene.inks.items())[:24]))
    assert search(few)._near_the_cut(cut()) == list(range(24))


def test_of_many_inks_each_has_its_reaches():
    found = reaches(many(Moss=up_to(1.0)))
    assert found[-1] == pytest.approx(np.full(80, 1.0), abs=0.06)
    assert (found[:-1] == LOOK_MM).all()


def test_the_die_is_taken_off_the_plates():
    line = {"Die": lambda x, y: np.abs(y - CUT_Y) < 0.5, "Cyan": up_to(1.0)}
    scene = Scene(line)
    assert search(scene, "Cyan").plates.names == ("Die", "Cyan")
    assert scene.asked == []
    named = search(scene, "Cyan", left_out=DieLeftOut(frozenset({"Die"})))
    assert named.plates.names == ("Cyan",)
    assert named.plates is named.plates
    assert scene.asked == [{"dpi": 100.0, "without": frozenset({"Die"})}]
    rows = search(scene, "Cyan", left_out=DieLeftOut(frozenset({"Die"}), (7, 9)))
    assert rows.plates.names == ("Cyan",)
    assert scene.asked[1:] == [{"box": None, "dpi": 100.0, "rows": (7, 9)}]
    for how in (named, rows):
        scene.asked.clear()
        [found] = how.reaches([cut()])
        assert found[0] == pytest.approx(np.full(80, 1.0), abs=0.06)
        assert {asked["dpi"] for asked in scene.asked} == {300.0}
    assert {asked["rows"] for asked in scene.asked} == {(7, 9)}


# A close look -----------------------------------------------------------------------------------------------------

AT_MM = np.arange(-0.5, 4.5, 0.05)


def tints(*inks: list[tuple[float, float, float]], at_mm: np.ndarray = AT_MM) -> np.ndarray:
    """Tints of inks at one station: from, to and tint of each stretch."""
    found = np.zeros((len(inks), 1, len(at_mm)), np.float32)
    for number, stretches in enumerate(inks):
        for start, stop, tint in stretches:
            found[number, 0, (at_mm > start - 1e-6) & (at_mm < stop - 1e-6)] = tint
    return found


def look(*inks: list[tuple[float, float, float]], **changed: float) -> tuple[list[float], float, list[float]]:
    job: Any = None
    own = BleedSearch(job, settings("Cyan", "Mill Brown", **changed), DieLeftOut())
    reach, follows, inside = own._close_look(AT_MM, tints(*inks))
    return reach[:, 0].tolist(), float(follows[0]), inside[:, 0].tolist()


@pytest.mark.parametrize(
    ("inks", "reach", "follows"),
    [
        ([[(-1, 1, 255)]], [1.0], 0),
        ([[(-1, 1, 255)], [(1, 5, 200)]], [1.0, LOOK_MM], 200),
        ([[(-1, 1, 255)], [(1, 5, 5)]], [1.0, LOOK_MM], 0),
        ([[(-1, 1, 255)], [(1, 5, 6)]], [1.0, LOOK_MM], 6),
        ([[(-1, 1, 255)], [(1.4, 5, 200)]], [1.0, LOOK_MM], 0),
        ([[(-1, 1, 255)], [(1, 1.2, 200)]], [1.0, LOOK_MM], 0),
        ([[(-1, 1, 255)], [(1, 1.4, 200)]], [1.0, LOOK_MM], 200),
        ([[(-1, 1, 255)], [(-1, 5, 100)]], [1.0, LOOK_MM], 100),
        ([[(-1, 1, 255)], [(-1, 1, 100)]], [1.0, 1.0], 0),
        ([[(-1, 1, 255), (1, 5, 100)]], [1.0], 100),
        ([[(-1, 1, 255), (1, 5, 130)]], [LOOK_MM], 0),
        ([[(-1, 4.2, 255)]], [LOOK_MM], 0),
        ([[(-1, 3.8, 255)]], [3.8], 0),
        ([[(0, 5, 255)]], [-0.5], 0),
        ([[(-1, 5, 5)]], [-0.5], 0),
    ],
    ids=["bare board follows", "another ink follows", "hardly any", "a little", "somewhat farther out", "a line",
         "a bar", "one of two inks", "both inks", "a faint tint of the same", "half of it and more", "past the look",
         "just before the look", "ink outside only", "too faint"],
)  # fmt: skip
def test_where_ink_ends_and_what_follows(inks, reach, follows):
    found, other, _ = look(*inks)
    assert found == pytest.approx(reach, abs=0.04)
    if found[0] < LOOK_MM:
        assert other == follows


@pytest.mark.parametrize(
    ("after", "reach"), [((170, 134), [1.0, LOOK_MM]), ((100, 134), [1.0, LOOK_MM]), ((170, 90), [LOOK_MM, 1.0])]
)
def test_where_no_ink_loses_half_the_strongest_is_at_fault(after, reach):
    """Two inks, of 255 and 200, that both become lighter 1 mm past the cut; 80 % has to be kept."""
    found, _, inside = look([(-1, 1, 255), (1, 5, after[0])], [(-1, 1, 200), (1, 5, after[1])], share=0.8)
    assert found == pytest.approx(reach, abs=0.04)
    assert inside == [255, 200]


@pytest.mark.parametrize(("wide_mm", "reach"), [(0.4, LOOK_MM), (1.4, -0.2)])
def test_a_line_that_knocks_the_ground_out_is_looked_through(wide_mm, reach):
    """A black line that begins 0.2 mm inside the cut."""
    job: Any = None
    at_mm = np.arange(-0.8, 4.5, 0.05)
    line = (-0.2, wide_mm - 0.2)
    inks = tints([(-1, line[0], 150), (line[1], 5, 150)], [(*line, 255)], at_mm=at_mm)
    found, follows, inside = BleedSearch(job, settings("Cyan"), DieLeftOut())._through_lines(at_mm, inks)
    assert found.tolist() == [[pytest.approx(reach, abs=0.04)]]
    assert inside.tolist() == [[150]]
    if reach < LOOK_MM:
        assert follows.tolist() == [0]  # what follows is none of the inks in question


@pytest.mark.parametrize(
    ("mask", "least", "left"),
    [("0111011", 3, "0111000"), ("0111011", 2, "0111011"), ("0111011", 4, "0000000"), ("1100111", 3, "0000111"),
     ("0000000", 1, "0000000")],
)  # fmt: skip
def test_short_runs_are_left_alone(mask, least, left):
    found = _not_too_short(np.array([one == "1" for one in mask]), least)
    assert "".join("01"[int(one)] for one in found) == left


def windows(xy: list[tuple[float, float]], margin_mm: float) -> list[list[int]]:
    at = Stations(np.array(xy, float).reshape(-1, 2), np.tile([0.0, 1.0], (len(xy), 1)), 0.5)
    return sorted(own.tolist() for own in _in_windows(at, np.arange(len(xy)), margin_mm))


def test_stations_in_windows():
    assert windows([], 5) == []
    assert windows([(3, 2), (3.5, 2), (5.9, 2), (8.5, 2), (8.5, 2.5)], 5) == [[0, 1, 2], [3, 4]]  # 2.6 mm part them
    assert windows([(3, 2), (3, 4.4), (3, 7.0)], 5) == [[0, 1], [2]]
    line = [(2.0 * n, 7.0) for n in range(51)]  # 100 mm long
    assert len(windows(line, 15.0)) == 1  # 130 x 30 mm
    halves = windows(line, 15.5)  # 131 x 31 mm are more than 4,000 mm2
    assert [len(own) for own in halves] == [25, 26]
    assert len(windows(line[:8], 40.0)) == 1  # few stations stay together
    assert len(windows(line[:9], 40.0)) == 2

"""Which ends along a cut are faults, beside pictures, type and shapes of the same page; pages as in the search."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from preflight.artwork.page.objects import Painted
from preflight.measures.bleed.ends_at_cut import InkEnds, in_an_angle
from preflight.measures.raster.profiles import Stations
from tests.test_bleed_search import CUT_Y, EVERYWHERE, LOOK_MM, Scene, cut, reaches, search, up_to

AT = cut()
"""Eighty stations, from x = 49.75 to 10.25."""


def ends(scene: Scene, **changed: Any) -> InkEnds:
    looking = search(scene, **changed)
    return InkEnds(looking.job, looking.settings, looking.plates)


# Pictures and type ------------------------------------------------------------------------------------------------

PICTURE = (12.0, CUT_Y - 0.6, 30.3, CUT_Y + 1.4)


@pytest.mark.parametrize(
    ("objects", "where"),
    [
        ([(Painted.IMAGE, PICTURE)], (12.25, 30.25)),
        ([(Painted.SHADING, PICTURE)], (12.25, 30.25)),
        ([(Painted.FILL, PICTURE)], None),
        ([(Painted.IMAGE, (12.0, CUT_Y - 0.4, 30.3, CUT_Y + 1.4))], None),
        ([(Painted.IMAGE, (12.0, CUT_Y - 0.6, 30.3, CUT_Y + 1.2))], None),
        ([(Painted.IMAGE, (12.0, CUT_Y - 9, 30.3, CUT_Y)), (Painted.IMAGE, (12.0, CUT_Y, 30.3, CUT_Y + 9))], None),
        ([(Painted.IMAGE, (9.0, 0, 9.9, 40)), (Painted.IMAGE, (40.0, 0, 59, 40))], (40.25, 49.75)),
        ([], None),
    ],
    ids=["a picture", "a shading", "a fill", "only from 0.4 mm inside", "only up to 1.2 mm outside",
         "two, one on either side", "the second of two", "nothing"],
)  # fmt: skip
def test_a_picture_lies_on_both_sides_of_an_end(objects, where):
    """Ink ends 1 mm past the cut: it is looked at from 0.5 mm inside to 1.3 mm outside."""
    reach = np.array([np.full(80, LOOK_MM), np.full(80, 1.0)])
    found = ends(Scene({"Cyan": EVERYWHERE}, *objects)).in_a_picture(AT, reach)
    assert found.shape == (80,)
    x = AT.xy[found, 0]
    assert ((x.min(), x.max()) if len(x) else None) == where


def test_where_nothing_ends_nobody_asks_for_pictures():
    scene = Scene({"Cyan": EVERYWHERE}, (Painted.IMAGE, (0, 0, 60, 44)))
    assert not ends(scene).in_a_picture(AT, np.full((1, 80), LOOK_MM)).any()
    half = np.where(np.arange(80) < 30, 2.0, LOOK_MM)[None]
    assert np.flatnonzero(ends(scene).in_a_picture(AT, half)).tolist() == list(range(30))


@pytest.mark.parametrize(
    ("objects", "within"),
    [
        ([(Painted.TEXT, (39.0, CUT_Y + 1.2, 40.0, CUT_Y + 1.4))], True),
        ([(Painted.TEXT, (39.9, CUT_Y - 3, 45.0, CUT_Y + 3))], False),
        ([(Painted.TEXT, (35.0, CUT_Y - 3, 39.6, CUT_Y + 3))], False),
        ([(Painted.TEXT, (35.0, CUT_Y - 3, 45.0, CUT_Y + 1.2))], False),
        ([(Painted.TEXT, (35.0, CUT_Y + 1.4, 45.0, CUT_Y + 3))], False),
        ([(Painted.FILL, (35.0, CUT_Y - 3, 45.0, CUT_Y + 3))], False),
        ([(Painted.TEXT, (0, 0, 1, 1)), (Painted.TEXT, (35.0, CUT_Y - 3, 45.0, CUT_Y + 3))], True),
    ],
    ids=["it goes on past the end", "to the right", "to the left", "ends with it", "above it", "a fill", "the second"],
)
def test_an_end_lies_within_type_that_goes_on(objects, within):
    """The middle of stations 16 to 24 is the one at x = 39.75; the ink ends 1 mm past the cut."""
    own = np.full(80, LOOK_MM)
    own[16:24] = 1.0
    assert ends(Scene({"Cyan": EVERYWHERE}, *objects))._is_type(AT, (16, 24), own) is within


# Ends by themselves -----------------------------------------------------------------------------------------------


def alone(*parts: tuple[int, int], waver: float = 0.06, second: float = 0.0) -> list[tuple[int, int]]:
    """Parts along an edge of 80 stations, each wavering by so much; the second lies somewhat farther out."""
    own = np.full(80, LOOK_MM)
    for number, (start, stop) in enumerate(parts):
        own[start:stop] = 1.0 + second * number
        own[start] += waver
    return ends(Scene({"Cyan": EVERYWHERE}))._alone(own, parts)


@pytest.mark.parametrize(
    ("parts", "more", "found"),
    [
        ([(20, 26)], {}, True),
        ([(0, 6)], {}, False),
        ([(1, 7)], {}, True),
        ([(74, 80)], {}, False),
        ([(73, 79)], {}, True),
        ([(20, 35)], {}, True),
        ([(20, 36)], {}, False),
        ([(20, 28)], {"waver": 0.04}, False),
        ([(20, 27)], {"waver": 0.04}, True),
        ([(1, 7), (54, 60)], {}, False),
        ([(1, 7), (55, 61)], {}, True),
        ([(20, 26), (40, 46)], {"second": 0.11}, False),
        ([(20, 26), (40, 46)], {"second": 0.13}, True),
    ],
    ids=["one", "where the edge begins", "just after that", "where the edge ends", "just before that",
         "as long as the rim of a shape", "longer", "exactly along the cut for 4 mm", "for 3.5 mm",
         "another 23.5 mm away", "another 24 mm away", "another that lines up", "another that does not"],
)  # fmt: skip
def test_a_short_end_is_alone_where_no_other_lines_up_with_it(parts, more, found):
    assert alone(*parts, **more) == (parts if found else [])


def dots(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Squares of 3 mm each 7 mm, the uppermost of them from 1.4 mm inside the cut to 1.6 mm outside."""
    return ((x - 12) % 7 < 3) & ((y - CUT_Y + 1.4) % 7 < 3) & (y < CUT_Y + 2)


def test_an_end_of_a_strewn_shape_is_told_by_the_shapes_inside():
    scene = Scene(
        {
            "Cyan": up_to(1.0),
            "Mill Brown": dots,
            "Moss Green": lambda x, y: dots(x, y) & (np.abs(x - 27.5) < 2) & (y > 23),
        }
    )
    own = ends(scene)
    assert [own._is_strewn(ink, AT, (40, 46)) for ink in range(3)] == [False, True, False]
    assert not own._is_strewn(1, AT, (40, 54))  # 7 mm are more than twice as long as a dot


def test_names_of_one_ink_are_looked_at_together():
    """Half of the dots are painted under another spelling."""
    one = lambda x, y: dots(x, y) & ((x - 12) % 14 < 7)  # noqa: E731
    other = lambda x, y: dots(x, y) & ((x - 12) % 14 >= 7)  # noqa: E731
    scene = Scene({"Cyan": up_to(-8.0), "Mill Brown": one, "MILL BROWN C": other})
    own = ends(scene)
    inward = np.array([-0.5])
    shown = own._tint_of(1, AT, inward)[:, 0] > 127
    x = AT.xy[:, 0]
    assert shown[(x - 12) % 7 < 2.5].all()
    assert own._tint_of(0, AT, inward).max() == 0


# Whole searches ---------------------------------------------------------------------------------------------------


def stripes(end_mm: Any, *, wide_mm: float = 0.75) -> Any:
    """Upright stripes each 2 mm that end so far past the cut, every second one where the second end is."""
    first, second = end_mm if isinstance(end_mm, tuple) else (end_mm, end_mm)
    return lambda x, y: (x % 2 < wide_mm) & (y - CUT_Y < np.where(x % 4 < 2, first, second))


def test_narrow_shapes_that_end_in_one_line_are_cut_off():
    found = reaches(Scene({"Cyan": up_to(-9.0), "Mill Brown": stripes(1.0)}))
    assert (found[0] == LOOK_MM).all()
    assert found[1].max() == pytest.approx(1.0, abs=0.1)


def uneven(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Stripes that end anywhere between 0.4 and 2.4 mm past the cut."""
    return (x % 2 < 0.75) & (y < CUT_Y + 0.4 + 2 * (0.618 * (x // 2) % 1))


@pytest.mark.parametrize("ink", [stripes(9.0), stripes((1.0, 9.0)), uneven, stripes(2.8), stripes(-0.6)],
                         ids=["they go on", "every second goes on", "they end anywhere", "past the look for patterns",
                              "before the cut"])  # fmt: skip
def test_narrow_shapes_that_do_not_end_in_one_line_are_none(ink):
    found = reaches(Scene({"Cyan": ink}))
    assert found.min() > 2.5 or (found == LOOK_MM).all()


def test_stripes_that_end_at_the_cut_have_no_bleed():
    found = reaches(Scene({"Cyan": stripes(-0.1)}))
    assert found.min() == 0
    assert found.max() == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize(("ink", "found"), [(stripes(1.0), True), (stripes(9.0), False)])
def test_stripes_within_type_are_letters(ink, found):
    """The same ends, under a text that goes on past them."""
    box = (0.0, CUT_Y - 9, 60.0, CUT_Y + 3)
    assert bool((reaches(Scene({"Cyan": ink})) < LOOK_MM).any()) is found
    assert not (reaches(Scene({"Cyan": ink}, (Painted.TEXT, box))) < LOOK_MM).any()


def squares(rows_beyond: int) -> Any:
    """Squares of 1.5 mm each 2.5 mm across and along; of those past the cut so many rows."""
    end = CUT_Y + 0.5 + 2.5 * rows_beyond + 0.1
    return lambda x, y: (x % 2.5 < 1.5) & ((y - CUT_Y + 1) % 2.5 < 1.5) & (y < end)


def test_a_pattern_that_goes_on_is_no_fault_and_one_that_does_not_is():
    assert (reaches(Scene({"Cyan": squares(3)})) == LOOK_MM).all()
    cut_off = reaches(Scene({"Cyan": squares(0)}))
    assert cut_off.min() == pytest.approx(0.5, abs=0.1)


def test_what_follows_may_be_a_leaf_where_it_is_short():
    """Another colour takes over for 3 mm, and for 6 mm; 4 mm are the least that is an end of a ground."""
    for long_mm, fault in ((3.0, False), (6.0, True)):
        leaf = lambda x, y, end=30 + long_mm: (x > 30) & (x < end) & (y > CUT_Y + 0.7)  # noqa: E731
        found = reaches(Scene({"Cyan": lambda x, y, leaf=leaf: ~leaf(x, y), "Mill Brown": leaf}))
        assert bool((found[0] < LOOK_MM).any()) is fault
        assert (found[1] == LOOK_MM).all()


def test_a_faint_tint_that_follows_is_as_good_as_bare_board():
    """3 mm long; a total of 15 % is another colour."""

    def notch(x, y):
        return (x > 30) & (x < 33) & (y > CUT_Y + 0.7)

    for tint, fault in ((0.13, True), (0.17, False)):
        scene = Scene({"Cyan": lambda x, y: ~notch(x, y), "Mill Brown": lambda x, y, tint=tint: tint * notch(x, y)})
        assert bool((reaches(scene)[0] < LOOK_MM).any()) is fault


# Inner corners ----------------------------------------------------------------------------------------------------


def corner(way: tuple[float, float], x: float, low: float) -> tuple[Stations, np.ndarray]:
    """A level edge up to x = 30, outward up; and an upright one from there on, outward by the way."""
    level = np.column_stack([np.arange(20.25, 30, 0.5), np.full(20, CUT_Y)])
    upright = np.column_stack([np.full(20, x), low + 0.25 + np.arange(20) * 0.5])
    outward = np.concatenate([np.tile([0.0, 1.0], (20, 1)), np.tile(way, (20, 1))])
    return Stations(np.concatenate([level, upright]), outward, 0.5), np.repeat([0, 1], 20)


ALL = np.ones(40, bool)


def test_at_an_inner_corner_one_edge_looks_out_to_where_the_other_bleeds():
    at, edge = corner((-1.0, 0.0), 30.0, CUT_Y)
    found = in_an_angle(at, edge, ALL, 4.0)
    assert found[found < 20].tolist() == list(range(12, 20))  # x = 26.25 and more
    assert found[found >= 20].tolist() == list(range(20, 28))
    wanted = ALL.copy()
    wanted[[13, 21]] = False
    assert in_an_angle(at, edge, wanted, 4.0).tolist() == [n for n in found.tolist() if n not in (13, 21)]
    assert in_an_angle(at, edge, wanted, 1.0).tolist() == [18, 19, 20]
    assert in_an_angle(at, np.zeros(40, int), ALL, 4.0).tolist() == []
    assert in_an_angle(at, edge, ~ALL, 4.0).tolist() == []


@pytest.mark.parametrize(
    ("way", "x", "low"), [((1.0, 0.0), 30.0, CUT_Y - 10), ((0.0, -1.0), 27.0, CUT_Y + 1.5)], ids=["outer", "facing"]
)
def test_at_an_outer_corner_and_across_a_slot_it_does_not(way, x, low):
    at, edge = corner(way, x, low)
    assert in_an_angle(at, edge, ALL, 4.0).tolist() == []

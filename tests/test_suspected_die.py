"""Lines that may be a die: what makes somebody ask, and what does not."""

import numpy as np
import pytest
from shapely import Polygon, box

from preflight.carton import suspected_die
from preflight.carton.suspected_die import (
    _at_right_angles,
    _bounds_of_all,
    _folds,
    _groups,
    _is_notched,
    _is_sleeve,
    _panels,
)
from tests.cartons import reverse_tuck
from tests.die_lines import carton_lines, line, rectangle
from tests.report_jobs import drawn_page
from tests.test_closed_cells import cell_at, cells_of


def page(width=215.0, height=200.0):
    return drawn_page(1, width, height, [], None)


def suspicion(lines, drawn, trim):
    return suspected_die.suspicion(lines, drawn, trim)


def at_angles(*pairs):
    """Segments of a length at an angle each."""
    return np.array([[5, 7, 5 + size * np.cos(np.radians(t)), 7 + size * np.sin(np.radians(t))] for size, t in pairs])


@pytest.mark.parametrize(
    ("pairs", "share"),
    [
        pytest.param([(30, 10), (20, 100), (10, 55)], 50 / 60, id="two directions and another"),
        pytest.param([(30, 10), (20, 190), (10, -80)], 1, id="whichever way they are drawn"),
        pytest.param([(30, 10), (20, 11.9)], 1, id="within two degrees"),
        pytest.param([(30, 10), (20, 12.2)], 30 / 50, id="not within two degrees"),
        pytest.param([(30, 10), (20, 7.8)], 30 / 50, id="nor to the other side"),
        pytest.param([(30, 89.7), (20, 0.3)], 1, id="on both sides of level"),
        pytest.param([(30, 1), (20, 89)], 1, id="a degree to both sides of level"),
        pytest.param([(10, 10), (10, 10), (15, 40)], 20 / 35, id="most of them together"),
    ],
)
def test_share_of_lines_at_right_angles(pairs, share):
    assert _at_right_angles(at_angles(*pairs)) == pytest.approx(share)


def test_no_lines_run_nowhere():
    assert _at_right_angles(np.zeros((0, 4))) == 0


CROSS = Polygon(
    [
        (30, 0),
        (90, 0),
        (90, 20),
        (130, 20),
        (130, 70),
        (90, 70),
        (90, 95),
        (30, 95),
        (30, 70),
        (0, 70),
        (0, 20),
        (30, 20),
    ]
)
U = Polygon([(0, 0), (130, 0), (130, 90), (90, 90), (90, 30), (40, 30), (40, 90), (0, 90)])
UNLIKE = [box(0, 0, 60, 50), box(0, 0, 30, 50), box(0, 0, 40, 50)]


@pytest.mark.parametrize("turn", [list, lambda points: points[::-1]], ids=["anticlockwise", "clockwise"])
@pytest.mark.parametrize(
    ("outline", "notched"),
    [
        pytest.param(CROSS, True, id="four corners cut away"),
        pytest.param(U, False, id="a bay of two corners"),
        pytest.param(box(0, 0, 130, 90), False, id="a rectangle"),
        pytest.param(CROSS.union(box(0, 0, 40, 30)), False, id="three corners cut away"),
        pytest.param(
            U.difference(box(0, 0, 20, 20)).difference(box(120, 0, 140, 20)), True, id="a bay and two corners"
        ),
        pytest.param(
            box(0, 0, 130, 90).difference(box(50, 89.7, 52, 91)).difference(box(70, 89.7, 72, 91)),
            False,
            id="too shallow",
        ),
    ],
)
def test_a_carton_has_four_notches(outline, notched, turn):
    assert _is_notched(Polygon(turn(list(outline.exterior.coords))), UNLIKE) is notched


@pytest.mark.parametrize(
    ("sizes", "notched"),
    [
        pytest.param([(60, 50)] * 3 + [(30, 50), (40, 50)], True, id="three of five alike"),
        pytest.param([(60, 50)] * 4 + [(30, 50), (40, 50)], False, id="four of six"),
        pytest.param([(60, 50), (50, 60), (60.4, 50), (60, 50), (30, 50)], False, id="alike, turned and nearly"),
        pytest.param([(60, 50), (60.6, 50), (61.2, 50), (61.8, 50)], True, id="each a little wider"),
    ],
)
def test_panels_all_of_one_size_are_a_table(sizes, notched):
    assert _is_notched(CROSS, [box(3, 4, 3 + wide, 4 + high) for wide, high in sizes]) is notched


def row(*widths, x=10.0, y=20.0, high=60.0):
    places = np.cumsum([x, *widths])
    return box(x, y, places[-1], y + high), [box(a, y, b, y + high) for a, b in zip(places, places[1:], strict=False)]


@pytest.mark.parametrize("level", [False, True], ids=["upright", "level"])
@pytest.mark.parametrize(
    ("widths", "by_itself", "on_trim"),
    [
        pytest.param((12, 60, 30, 60, 30), True, True, id="a flap on the left"),
        pytest.param((60, 30, 60, 30, 12), True, True, id="a flap on the right"),
        pytest.param((18, 60, 30, 60, 30), True, True, id="a flap of 0.6 of a side"),
        pytest.param((18.5, 60, 30, 60, 30), False, True, id="a wider one"),
        pytest.param((60, 30, 60, 30), False, True, id="no flap"),
        pytest.param((60, 30, 61.5, 28.5), False, True, id="nearly"),
        pytest.param((60, 30, 61.7, 30), False, False, id="not as wide as the one after the next"),
        pytest.param((60, 30, 60), False, False, id="three"),
        pytest.param((40, 40, 40, 40), False, False, id="four alike"),
        pytest.param((40, 38.5, 40, 38.5), False, False, id="four nearly alike"),
        pytest.param((40, 38, 40, 38), False, True, id="four in two widths"),
        pytest.param((12, 40, 40, 40, 40), True, True, id="a cube with a flap"),
        pytest.param((12, 60, 30, 60, 30, 8), False, False, id="a flap at both ends"),
    ],
)
def test_a_sleeve_is_a_row_of_panels(widths, by_itself, on_trim, level):
    outline, panels = row(*widths)
    if level:
        outline, *panels = [box(*(shape.bounds[n] for n in (1, 0, 3, 2))) for shape in (outline, *panels)]
    assert _is_sleeve(outline, panels[::-1], False) is by_itself
    assert _is_sleeve(outline, panels, True) is on_trim


def test_a_sleeve_is_a_rectangle_whose_panels_are_as_high_as_it_is():
    outline, panels = row(12, 60, 30, 60, 30)
    for share, sleeve in ((0.029, True), (0.031, False)):
        notch = box(50, 20, 50 + share * outline.area / 20, 40)
        assert _is_sleeve(outline.difference(notch), panels, False) is sleeve
    short = [*panels[:-1], box(*panels[-1].bounds[:3], 79.4)]
    assert not _is_sleeve(outline, short, True)
    assert _is_sleeve(outline, [*panels[:-1], box(*panels[-1].bounds[:3], 79.6)], True)


def test_groups_and_the_bounds_of_those_that_are_as_large():
    cells = cells_of(
        line(rectangle(10, 20, 110, 80)), line([(40, 20), (40, 80)]), line(rectangle(130, 30, 230, 89.8)),
        line(rectangle(300, 0, 400, 50)),
    )  # fmt: skip
    label = _groups(cells)
    left, right, other, small = (label[cell_at(cells, x, 40)] for x in (20, 70, 150, 350))
    assert left == right
    assert len({left, other, small}) == 3
    assert _bounds_of_all(cells, label, int(left)) == (10, 20, 230, 89.8)
    assert _bounds_of_all(cells, label, int(small)) == (300, 0, 400, 50)


CARTON = [
    line(item.points, "unknown", drawn_in="Black", inks=("Black",)) for item in carton_lines(reverse_tuck(at=(10, 10)))
]


def test_a_carton_drawn_in_one_ink_is_suspected():
    found = suspicion(CARTON, page(), None)
    assert found is not None
    assert found.panels == 13
    assert found.inks == ("Black",)
    assert found.box_mm == pytest.approx((10, 10, 205, 190))
    assert "trim" not in found.because
    assert "on the trim box" in suspicion(CARTON, page(), (10, 10, 205, 190)).because


def test_inks_are_named_once_as_they_come():
    lines = [line(item.points, drawn_in=name) for item, name in zip(CARTON, ["Red", "Blue"] * 20, strict=False)]
    assert suspicion(lines, page(), None).inks == ("Red", "Blue")


@pytest.mark.parametrize(
    ("width", "height", "asks"), [(487, 200, True), (488, 200, False), (215, 449, True), (215, 451, False)]
)
def test_what_is_suspected_spans_two_fifths_of_the_page(width, height, asks):
    """195 x 180 mm."""
    assert (suspicion(CARTON, page(width, height), None) is not None) == asks


def lines_of(points):
    return [line(each) for each in points]


@pytest.mark.parametrize(
    "points",
    [
        pytest.param([rectangle(10, 10, 205, 190)], id="a frame"),
        pytest.param([rectangle(10, 10, 205, 190), [(80, 10), (80, 190)]], id="two panels"),
        pytest.param(
            [rectangle(10, 10, 205, 190), *([(10, 10 + 30 * n), (205, 10 + 30 * n)] for n in range(1, 6))], id="a table"
        ),
        pytest.param([[(10, 10), (205, 190)]], id="one line"),
        pytest.param([[(10, 10), (10, 10)]], id="no line"),
    ],
)
def test_what_nobody_asks_about(points):
    assert suspicion(lines_of(points), page(), None) is None


def sleeve_lines(*widths, x=10.0, slant=0.0):
    places = np.cumsum([x, *widths])
    return [rectangle(x, 20, places[-1], 180), *([(v, 20), (v + slant, 180)] for v in places[1:-1])]


def test_a_sleeve_is_suspected_and_one_whose_folds_run_aslant_is_not():
    assert suspicion(lines_of(sleeve_lines(12, 60, 30, 60, 29)), page(), None).panels == 5
    assert suspicion(lines_of(sleeve_lines(60, 30, 60, 30)), page(), None) is None
    assert suspicion(lines_of(sleeve_lines(60, 30, 60, 30)), page(), (10, 20, 190, 180)).panels == 4
    assert suspicion(lines_of(sleeve_lines(12, 60, 30, 60, 29, slant=8)), page(), None) is None


def test_of_two_things_the_larger_is_looked_at():
    small = [line(item.points / 4 + [222, 0]) for item in CARTON]
    assert suspicion([*small, *CARTON], page(300), None).box_mm == pytest.approx((10, 10, 205, 190))


def leaning(count):
    """The carton with some of its upright creases of 90 mm three degrees off."""
    cut = len(reverse_tuck().cut)
    return [
        line(item.points + np.array([[0, 0], [5, 0]]), inks=("Black",)) if cut <= n < cut + count else item
        for n, item in enumerate(CARTON)
    ]


@pytest.mark.parametrize(("count", "asks"), [(1, True), (2, False)])
def test_four_fifths_of_the_folds_are_at_right_angles(count, asks):
    """All creases are 712 mm long: one is an eighth of them, two are a quarter."""
    assert (suspicion(leaning(count), page(), None) is not None) == asks


@pytest.mark.parametrize(("share", "asks"), [(0.95, True), (1.1, False)])
def test_half_of_all_lines_are_at_right_angles(share, asks):
    """Beside the carton, lines at 45 degrees, near as long as all lines of it that are at right angles."""
    xy = np.vstack([np.hstack([item.points[:-1], item.points[1:]]) for item in CARTON])
    length = np.hypot(xy[:, 2] - xy[:, 0], xy[:, 3] - xy[:, 1])
    square = length[(np.abs(xy[:, 2:] - xy[:, :2]).min(1) < 0.035 * length)].sum()
    others = length.sum() - square
    long = (square * share - others) / 10 / 2**0.5
    hatching = [line([(212 + 2 * n, 10), (212 + 2 * n + long, 10 + long)], inks=("Black",)) for n in range(10)]
    assert (suspicion([*CARTON, *hatching], page(300, 200), None) is not None) == asks


def cross_of_panels(narrow=30.0):
    """A panel in the middle with one on each side of it, one of them narrow, and a frame in the middle one."""
    return cells_of(
        line([(40, 10), (100, 10), (100, 30), (100 + narrow, 30), (100 + narrow, 80), (100, 80), (100, 105), (40, 105),
              (40, 80), (10, 80), (10, 30), (40, 30), (40, 10)]),
        line(rectangle(40, 30, 100, 80)), line(rectangle(50, 40, 90, 70)), line([(60, 40), (60, 70)]),
    )  # fmt: skip


@pytest.mark.parametrize(("narrow", "panels"), [(30, 4), (10, 4), (9.9, 3)])
def test_panels_reach_the_outline_and_are_10_mm_wide(narrow, panels):
    """The middle one touches it at its four corners only."""
    cells = cross_of_panels(narrow)
    label = _groups(cells)
    members = np.flatnonzero(label == label[cell_at(cells, 70, 20)])
    outline = Polygon(
        [
            (40, 10),
            (100, 10),
            (100, 30),
            (100 + narrow, 30),
            (100 + narrow, 80),
            (100, 80),
            (100, 105),
            (40, 105),
            (40, 80),
            (10, 80),
            (10, 30),
            (40, 30),
        ]
    )
    found = _panels(cells, members, outline)
    assert len(found) == panels
    assert sorted(shape.bounds for shape in found)[0] == (10, 30, 40, 80)


def test_folds_are_what_lies_between_two_cells_of_a_group():
    cells = cells_of(line(rectangle(10, 20, 110, 80)), line([(40, 20), (40, 80)]), line(rectangle(110, 40, 150, 60)))
    label = _groups(cells)
    assert len(set(label.tolist())) == 1
    xy = _folds(cells, np.ones(len(cells.polygons), bool))
    assert sorted(np.hypot(xy[:, 2] - xy[:, 0], xy[:, 3] - xy[:, 1])) == [20, 60]
    without = np.ones(len(cells.polygons), bool)
    without[cell_at(cells, 130, 50)] = False
    assert sorted(_folds(cells, without)[:, 0]) == [40]

"""What counts as live matter, on boxes and shapes made in the test."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import LineString

from preflight.artwork.page.objects import Painted
from preflight.carton.die import OpenCut
from preflight.errors import NotMeasured
from preflight.findings import Gap
from preflight.measures import live_matter as module
from preflight.measures import object_places
from preflight.measures.distance_to_lines import Pieces
from preflight.measures.live_matter import (
    Large,
    Matter,
    _bar_rows,
    _bar_sized,
    _counts,
    _cut_edges,
    _hidden,
    _letter_sized,
    _outlines,
    _outlines_in,
    _printing_rows,
    _reading,
    _running_off,
    _shapes_of,
    _subpath_boxes,
    _texts_in,
    _told,
    _too_many,
)
from preflight.measures.outlined_type import HIGHEST_MM, LONGEST_BAR_MM, WIDEST_BAR_MM
from tests.test_bleed_search import Scene
from tests.test_finishes import ALL, CYAN, DIE, MOSS, WHITE
from tests.test_finishes import table as coloured
from tests.test_letters_on_plates import colour

F, S, T = Painted.FILL, Painted.STROKE, Painted.TEXT


def table(*rows: tuple[Painted, tuple[float, float, float, float]], paths: dict[int, Any] | None = None) -> Any:
    """Objects by what was painted and the box that shows; all opaque."""
    count = len(rows)
    return SimpleNamespace(
        painted=np.array([what for what, _ in rows], np.uint8),
        shown_mm=np.array([box for _, box in rows], np.float32).reshape(-1, 4),
        visible=np.ones(count, bool), overprint=np.zeros(count, bool), alpha=np.ones(count, np.float32),
        line_width_mm=np.zeros(count, np.float32), layer=np.full(count, -1),
        paths=lambda asked: [[np.array(points, float) for points in (paths or {}).get(int(row), [])] for row in asked],
    )  # fmt: skip


def job(objects: Any = None, **die: Any) -> Any:
    page = SimpleNamespace(objects=objects, over_bounds=[], number=3, boxes=SimpleNamespace(trim=None), separations=[])
    known = {
        "blanks": (),
        "uncertain": (),
        "open_cuts": (),
        "found": "read",
        "because": "",
        "folds": {},
        "likely_cut": "",
        "line_to_paste": "",
    }
    return SimpleNamespace(page=page, plates=None, die=SimpleNamespace(**{**known, **die}), artwork_is="one-up")


# Pieces of matter -------------------------------------------------------------------------------------------------


def test_a_text_has_the_box_of_its_points_and_a_line_of_type_that_of_its_letters():
    text = Matter.of_points("text", np.array([[13.0, 7.0], [10.0, 9.0], [12.0, 8.0]]))
    assert (text.what, text.box, len(text.parts)) == ("text", (10, 7, 13, 9), 3)
    line = Matter.of_boxes("outlined type", np.array([[10, 7, 12, 9], [13, 5, 15, 8], [11, 6, 14, 7.0]]))
    assert (line.box, len(line.parts)) == ((10, 5, 15, 9), 3)
    assert [part.bounds for part in line.parts] == [(10, 7, 12, 9), (13, 5, 15, 8), (11, 6, 14, 7)]


INSIDE = shapely.box(0, 0, 50, 30)


@pytest.mark.parametrize(
    ("box", "past"),
    [((40, 10, 52, 12), False), ((40, 10, 52.1, 12), True), ((40, 28, 45, 32.1), True), ((40, 28, 52, 32), False),
     ((10, 10, 12, 12), False)],
    ids=["2 mm past", "farther", "farther at the top", "2 mm past a corner both ways", "inside"],
)  # fmt: skip
def test_large_type_goes_on_past_the_cut(box, past):
    parts = np.array([shapely.box(5, 5, 6, 6), shapely.box(*box)])
    assert Large(24, 2.0).is_past(parts, INSIDE) is past
    assert Large(24, 2.0).is_past(parts[:0], INSIDE) is False


@pytest.mark.parametrize(
    ("what", "boxes", "large"),
    [
        ("outlined type", [(45, 10, 53, 17.1), (30, 10, 32, 12)], True),
        ("outlined type", [(45, 10, 51.9, 17.1), (30, 10, 32, 12)], False),
        ("outlined type", [(47, 10, 53, 16.9), (30, 10, 32, 12)], False),
        ("outlined type", [(45.9, 10, 53, 12), (30, 10, 32, 12)], True),
        ("a bar code", [(45, 10, 53, 17.1), (30, 10, 32, 12)], False),
    ],
    ids=["high", "it stops before", "not so high", "wide, on its side", "a code"],
)
def test_outlined_type_of_a_size_may_run_off(what, boxes, large):
    """Capitals of 28.35 pt are 7 mm high."""
    matter = Matter.of_boxes(what, np.array(boxes, float))
    assert Large(28.35, 2.0).in_outlines(matter, INSIDE) is large


@pytest.mark.parametrize(
    ("boxes", "counts"),
    [([(49.9, 10, 55, 10.6)], True), ([(49.9, 10, 55, 10.4)], False),
     ([(49.9, 10, 55, 10.4), (49.9, 20, 55, 20.4)], True), ([(60, 10, 65, 12)], False)],
    ids=["0.06 mm2 inside", "0.04 mm2", "twice 0.04 mm2", "outside"],
)  # fmt: skip
def test_a_legend_that_touches_the_cut_does_not_count(boxes, counts):
    assert _counts(Matter.of_boxes("outlined type", np.array(boxes, float)), INSIDE) is counts


def test_points_on_plates_count_since_they_were_taken_inside():
    assert _counts(Matter.of_points("text", np.array([[99.0, 99.0]])), INSIDE) is True


# Sizes ------------------------------------------------------------------------------------------------------------


def sized(width: float, height: float) -> np.ndarray:
    return np.array([[7, 5, 7 + width, 5 + height]])


@pytest.mark.parametrize(
    ("width", "height", "letter"),
    [(0.31, 0.2, True), (0.29, 0.2, False), (1.0, 2.0, True), (0.99, 2.0, False), (2.0, 0.99, False),
     (HIGHEST_MM, 10, True), (HIGHEST_MM + 0.1, 15, False), (10, HIGHEST_MM + 0.1, False)],
)  # fmt: skip
def test_boxes_that_a_letter_may_fill(width, height, letter):
    assert _letter_sized(np.vstack([sized(1, 1), sized(width, height)])).tolist() == [True, letter]


WIDE, LONG = WIDEST_BAR_MM, LONGEST_BAR_MM


@pytest.mark.parametrize(
    ("what", "width", "height", "bar"),
    [(F, WIDE, 20, True), (F, WIDE + 0.05, 20, False), (S, 20, WIDE, True), (F, 0.5, 1.6, True), (F, 0.5, 1.4, False),
     (F, 0.3, LONG - 0.1, True), (F, 0.3, LONG + 0.1, False), (F, 0.0, 10, False), (T, 0.3, 10, False)],
)  # fmt: skip
def test_boxes_that_a_bar_of_a_code_may_fill(what, width, height, bar):
    objects = table((F, (0, 0, 9, 9)), (what, (7, 5, 7 + width, 5 + height)))
    assert _bar_sized(objects, np.array([0, 1])).tolist() == [1] * bar


# What stands together ---------------------------------------------------------------------------------------------


def test_type_is_told_among_letters_and_codes_among_bars():
    """Boxes of larger paths may be either; letters are no bars, and bars no letters."""
    letters = np.array([[10 + 2 * n, 20, 11.1 + 2 * n + 0.15 * (n % 4), 21.4 + 0.6 * (n % 3 == 0)] for n in range(8)])
    at = 50 + 0.33 * np.cumsum([5, 4, 6] * 10)
    bars = np.array([[x, 20, x + 0.33 * (1 + n % 2), 32] for n, x in enumerate(at)])
    shapes, colour = np.vstack([letters, bars]), np.zeros(38, int)
    told = {what: members.tolist() for what, members in _told(shapes, colour, np.repeat([1, 2], [8, 30]))}
    assert list(told.values()) == [list(range(8)), list(range(8, 38))]
    assert list(told)[0] == "outlined type"
    as_paths = [members.tolist() for _, members in _told(shapes, colour, np.zeros(38, int))]
    assert list(range(8)) in as_paths
    assert list(range(8, 38)) in as_paths
    assert _told(shapes, colour, np.repeat([2, 1], [8, 30])) == []


def box_path(x0: float, y0: float, x1: float, y1: float) -> list[tuple[float, float]]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]


def test_shapes_of_paths_are_the_boxes_of_their_subpaths():
    paths = {1: [box_path(10, 20, 13, 24), [(0, 0), (9, 9)], box_path(15, 21, 18, 26)], 2: [box_path(30, 40, 35, 42)]}
    there = job(table((F, (0, 0, 1, 1)), (F, (10, 20, 18, 26)), (F, (30, 40, 35, 42)), paths=paths))
    gaps: list[Gap] = []
    boxes, owners, codes = _shapes_of(there, np.array([1, 2]), gaps)
    assert boxes.tolist() == [[10, 20, 13, 24], [15, 21, 18, 26], [30, 40, 35, 42]]
    assert (owners.tolist(), codes, gaps) == ([1, 1, 2], [], [])
    none = _shapes_of(there, np.zeros(0, int), gaps)
    assert (none[0].shape, len(none[1]), none[2]) == ((0, 4), 0, [])


def test_a_hole_of_a_letter_is_no_shape_of_its_own():
    paths = {0: [box_path(10, 20, 14, 26), box_path(11, 22, 13, 24)]}
    boxes, owners, _ = _shapes_of(job(table((F, (10, 20, 14, 26)), paths=paths)), np.array([0]), [])
    assert (boxes.tolist(), owners.tolist()) == ([[10, 20, 14, 26]], [0])


def test_of_too_many_shapes_the_smaller_are_looked_at(monkeypatch):
    monkeypatch.setattr(module, "MOST_OUTLINES", 2)
    boxes = [(0, 0, 9, 4), (0, 0, 5, 5), (0, 0, 2, 20), (40, 30, 43, 34)]
    paths = {n: [box_path(*box)] for n, box in enumerate(boxes)}
    gaps: list[Gap] = []
    there = job(table(*((F, box) for box in boxes), paths=paths))
    _, owners, _ = _shapes_of(there, np.arange(4), gaps)
    assert owners.tolist() == [1, 3]
    [gap] = gaps
    assert sorted(place.box_mm for place in gap.places) == [(0, 0, 2, 20), (0, 0, 9, 4)]
    assert {place.page for place in gap.places} == {3}
    _, owners, _ = _shapes_of(there, np.array([0, 2]), gaps)
    assert (owners.tolist(), len(gaps)) == ([0, 2], 1)


def test_outlines_are_unfolded_once():
    asked = []
    objects = table((F, (0, 0, 1, 1)), (F, (3, 4, 5, 7)))

    def paths(rows):
        asked.extend(rows.tolist())
        return [[np.array(box_path(3, 4, 5, 7 + row), float)] for row in rows.tolist()]

    objects.paths = paths
    there = job(objects)
    assert [own.tolist() for own in _subpath_boxes(there, np.array([1]))] == [[[3, 4, 5, 8]]]
    assert [own.tolist() for own in _subpath_boxes(there, np.array([0, 1]))] == [[[3, 4, 5, 7]], [[3, 4, 5, 8]]]
    assert asked == [1, 0]


@pytest.mark.parametrize(
    ("cover", "painted_last", "hidden"),
    [((9, 19, 21, 31), True, True), ((9, 19, 19, 31), True, False), ((9, 19, 21, 29), True, False),
     ((11, 19, 21, 31), True, False), ((9, 21, 21, 31), True, False), ((9, 19, 21, 31), False, False)],
)  # fmt: skip
def test_what_lies_under_later_artwork_is_hidden(cover, painted_last, hidden):
    """Two letters, from (10, 20) to (20, 30) together, and a fill that covers them, or one of them, or lies below."""
    letters = [(F, (10, 20, 14, 25)), (F, (15, 22, 20, 30))]
    rows = [*letters, (F, cover)] if painted_last else [(F, cover), *letters]
    own = [n for n, row in enumerate(rows) if row in letters]
    paths = {n: [box_path(*box)] for n, (_, box) in enumerate(rows)}
    covers = object_places.Covers.of(table(*rows, paths=paths))
    assert _hidden(covers, np.array([*own, own[0]])) is hidden


def test_what_was_not_looked_at_has_its_places():
    gap = _too_many(job(table((T, (0, 0, 1, 1)), (T, (3, 4, 5, 7)))), "3 texts", np.array([1]))
    assert [(place.box_mm, place.page) for place in gap.places] == [((3, 4, 5, 7), 3)]
    assert "3 texts" in gap.because


# Edges and readings -----------------------------------------------------------------------------------------------


def blank(*edges: tuple[LineString, bool]) -> Any:
    return SimpleNamespace(edges=[SimpleNamespace(line=line, hidden=hidden) for line, hidden in edges])


BOTTOM, RIGHT = LineString([(10, 7), (40, 7)]), LineString([(40, 7), (40, 27)])


def test_edges_of_flaps_that_nobody_sees_are_a_sort_of_their_own():
    pieces, words = _cut_edges(job(blanks=(blank((BOTTOM, True)), blank((RIGHT, False)))))
    assert pieces.xy.tolist() == [[40, 7, 40, 27], [10, 7, 40, 7]]
    assert pieces.sort.tolist() == [0, 1]
    assert [bool(only_warns) for _, only_warns in words] == [False, True]
    assert [what for what, _ in words] == ["cut", "cut"]


def test_a_fold_that_the_blank_ends_in_is_no_cut():
    opening = OpenCut(1, (), LineString([(40, 12), (40, 20)]), None)
    pieces, _ = _cut_edges(job(blanks=(blank((BOTTOM, False), (RIGHT, False)),), open_cuts=(opening,)))
    upright = sorted(sorted((y0, y1)) for x0, y0, x1, y1 in pieces.xy.tolist() if x0 == x1)
    assert upright == [[7, pytest.approx(11.7)], [pytest.approx(20.3), 27]]


def test_the_trim_box_of_a_one_up_stands_for_the_cut():
    there = job()
    there.page.boxes.trim = (5, 6, 45, 26)
    pieces, words = _cut_edges(there)
    assert (pieces.xy.min(0).tolist(), pieces.xy.max(0).tolist()) == ([5, 6, 5, 6], [45, 26, 45, 26])
    assert (pieces.sort.tolist(), words) == ([0] * 4, [("trim box", "")])
    there.artwork_is = "sheet"
    with pytest.raises(NotMeasured):
        _cut_edges(there)
    there.artwork_is, there.page.boxes.trim = "one-up", None
    with pytest.raises(NotMeasured):
        _cut_edges(there)


@pytest.mark.parametrize(("where", "case"), [("cut", ""), ("perforation", "perforation"), ("crease", "")])
def test_a_reading_names_what_it_is_near(where, case):
    matter = Matter.of_points("text", np.array([[13.0, 7.0], [10.0, 9.0]]))
    found = _reading(job(found="assumed"), matter, 1.2345, where, "hidden")
    assert (found.value, found.unit, found.known, found.case, found.only_warns) == (
        1.23,
        "mm",
        "assumed",
        case,
        "hidden",
    )
    assert dict(found.facts) == {"what": "text", "kinds": ["text"], "edge": where}
    assert (found.places[0].box_mm, found.places[0].page) == ((10, 7, 13, 9), 3)
    assert _reading(job(), matter, 1.0, where).only_warns == ""


# What is looked at ------------------------------------------------------------------------------------------------

PATCH = (20.0, 12.0, 30.0, 15.0)


def test_what_shows_in_inks_of_the_kinds_or_in_white_is_printed():
    objects = coloured(*((F, PATCH, own) for own in (CYAN, WHITE, MOSS, DIE, ALL)))
    assert _printing_rows(job(objects), ("process", "spot"), ["Moss"]).tolist() == [0, 1, 2]
    assert _printing_rows(job(objects), ("spot",), ["Moss"]).tolist() == [2]
    assert _printing_rows(job(objects), ("process",), []).tolist() == [0, 1]
    assert _printing_rows(job(objects), (), []).tolist() == []


def test_texts_wholly_within_a_shape_that_nothing_covers():
    """The first is within, the second reaches out, the third is within the other shape, the fourth is covered."""
    boxes = [(11, 21, 14, 23), (18, 21, 21, 23), (41, 11, 44, 13), (11, 26, 14, 28)]
    rows = [*((T, box) for box in boxes), (F, (10, 25, 15, 29)), (F, (11, 21, 14, 23))]
    paths = {4: [box_path(10, 25, 15, 29)], 5: [box_path(11, 21, 13, 23)]}
    holes = [shapely.box(10, 20, 20, 30), shapely.box(40, 10, 50, 15)]
    found = _texts_in(table(*rows, paths=paths), np.arange(6), holes)
    assert [(matter.what, matter.box) for matter in found] == [("text", boxes[0]), ("text", boxes[2])]
    assert [matter.box for matter in _texts_in(table(*rows, paths=paths), np.array([1, 2, 5]), holes)] == [boxes[2]]


LETTERS = [(10 + 2 * n, 20.0, 11.125 + 2 * n + 0.125 * (n % 4), 21.5 + 0.5 * (n % 3 == 0)) for n in range(8)]
"""Eight letters of a line of type, from x = 10 to 25.5."""


def outlined(*more: tuple[Painted, Any], boxes: Any = LETTERS) -> Any:
    rows = [*((F, box) for box in boxes), *more]
    objects = table(*rows, paths={n: [box_path(*box)] for n, (_, box) in enumerate(rows)})
    objects.colour = np.zeros(len(rows), int)
    return job(objects)


def lines_near(there: Any, x: float, look_mm: float, near: Any = None) -> list[tuple[float, ...]]:
    rows, lines = np.arange(len(there.page.objects.painted)), Pieces.of([LineString([(x, 5), (x, 40)])])
    near = rows[lines.near(there.page.objects.shown_mm.astype(float), look_mm)] if near is None else near
    gaps: list[Gap] = []
    found = _outlines(there, rows, near, lines, look_mm, gaps)
    assert gaps == []
    assert {matter.what for matter in found} <= {"outlined type"}
    return [matter.box for matter in found]


@pytest.mark.parametrize(
    ("x", "look_mm", "found"),
    [(27.0, 2.0, (16, 25.5)), (28.0, 2.0, None), (8.0, 2.5, (10, 19.125)), (16, 0.1, (10, 25.5))],
)
def test_a_line_of_type_counts_where_a_letter_of_it_is_near(x, look_mm, found):
    """Of the line those letters are put together that stand up to 8 mm farther away than one looks."""
    boxes = lines_near(outlined(), x, look_mm)
    assert boxes == ([] if found is None else [(found[0], 20, found[1], 22)])


def test_type_under_later_artwork_is_none():
    assert lines_near(outlined((F, (9, 19, 26, 23))), 27.0, 2.0, np.array([7])) == []
    assert len(lines_near(outlined((F, (9, 19, 20, 23))), 27.0, 2.0, np.array([7]))) == 1


def test_type_within_a_hole_is_found_and_type_that_reaches_out_is_not():
    gaps: list[Gap] = []
    there = outlined()
    for low, count in ((9, 1), (10.5, 0)):
        holes = [shapely.box(low, 15, 30, 30), shapely.box(100, 100, 101, 101)]
        assert len(_outlines_in(there, np.arange(8), holes, gaps)) == count


def test_bars_are_looked_for_where_one_is_near(monkeypatch):
    bars = [(F, (50 + 0.8 * n, 20.0, 50.4 + 0.8 * n, 32.0)) for n in range(6)]
    there = job(table(*bars, (F, (10, 10, 20, 20))))
    rows, gaps = np.arange(7), list[Gap]()
    assert _bar_rows(there, rows, np.array([2]), gaps).tolist() == [0, 1, 2, 3, 4, 5]
    assert _bar_rows(there, rows, np.array([6]), gaps).tolist() == []
    monkeypatch.setattr(module, "MOST_BARS", 6)
    assert len(_bar_rows(there, rows, np.array([2]), gaps)) == 6
    assert gaps == []
    monkeypatch.setattr(module, "MOST_BARS", 5)
    assert _bar_rows(there, rows, np.array([2]), gaps).tolist() == []
    assert len(gaps) == 1


@pytest.mark.parametrize(
    ("size_pt", "letters_to", "box_to", "past"),
    [(24.0, 34.0, 34.5, True), (23.9, 34.0, 34.5, False), (24.0, 31.5, 34.5, False), (24.0, 29.0, 29.5, False)],
    ids=["large, and past the cut", "not so large", "its letters stop before", "inside"],
)
def test_live_text_of_a_size_runs_off(size_pt, letters_to, box_to, past):
    """The cut is at x = 30; letters have to reach 2 mm past it."""
    ink = lambda x, y: (x > 20) & (x < letters_to) & (y > 20) & (y < 28)  # noqa: E731
    scene = Scene({"Moss": ink}, (T, (19.0, 18.0, box_to, 30.0)), (F, (19.0, 18.0, box_to, 30.0)))
    objects = scene.objects
    objects.colour, objects.colours = np.zeros(2, int), [colour(Moss=1.0)]
    objects.overprint, objects.text_size_pt = np.zeros(2, bool), np.array([size_pt, 99.0])
    there: Any = SimpleNamespace(
        page=scene, plates=scene.drawn((0, 0, 60, 44), 100.0), inside_shape=shapely.box(2, 3, 30, 40)
    )
    assert _running_off(there, np.array([0, 1]), ["Moss"], Large(24.0, 2.0)).tolist() == [past, False]

"""What a search for bleed is made into readings of: the way to the next cut, stretches, cases and words."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import LineString

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.separations import Separation
from preflight.carton.die import Blank, CutEdge
from preflight.errors import NotMeasured
from preflight.measures.bleed.ink_past_cut import (
    BleedParameters,
    _Across,
    _across,
    _case,
    _cause,
    _Cuts,
    _die_left_out,
    _Edge,
    _edges,
    _enough,
    _Facing,
    _meet,
    _reading,
    _settings,
    _side,
    _sides,
    _Stretch,
    _stretches,
    _where_sure,
    ink_past_cut,
)
from preflight.measures.raster.profiles import Stations, stations_on
from tests.test_bleed_search import HEIGHT, WIDTH, Scene
from tests.test_finishes import DIE, MOSS, SEPARATIONS, table

LOOK_MM = 4.0
FACING = _Facing(slot_mm=4.0, narrow_mm=1.0)
NAMES = ("Cyan", "Mill Brown")


def edge(*points: tuple[float, float], blank: int = 1, **keys: Any) -> _Edge:
    line = LineString(points)
    return _Edge(blank, CutEdge(line, **{"edge": "outer", **keys}), stations_on(line, 0.5))


# Settings ---------------------------------------------------------------------------------------------------------


def parameters(**changed: Any) -> BleedParameters:
    given = {
        "kinds": ("spot",), "look_mm": 4.5, "ink_from_percent": 2.0, "carried_on_percent": 40.0, "shortest_mm": 2.5,
        "aslant": 0.07, "line_mm": 0.8, "motif_mm": 11.0, "pattern_to_mm": 3.5, "change_mm": 4.25,
        "another_percent": 15.0, "rim_mm": 8.5, "slot_mm": 4.1, "narrow_mm": 1.1,
        "shoulder_mm": 5.2,
    }  # fmt: skip
    return BleedParameters(**{**given, **changed})


def test_per_cents_become_levels_of_255():
    found = _settings(parameters(), NAMES)
    assert (found.threshold, found.another, found.share) == pytest.approx((5.1, 38.25, 0.4))
    assert _settings(parameters(ink_from_percent=0.1), NAMES).threshold == 1.0  # no ink at all is no ink
    assert (found.names, found.look_mm, found.shortest_mm, found.aslant) == (NAMES, 4.5, 2.5, 0.07)
    assert (found.line_mm, found.change_mm, found.rim_mm) == (0.8, 4.25, 8.5)
    assert (found.pattern.motif_mm, found.pattern.to_mm) == (11.0, 3.5)


# Edges ------------------------------------------------------------------------------------------------------------


def job(*blanks: Blank, trim: Any = None, artwork_is: str = "one-up", **die: Any) -> Any:
    """A job without objects; ``die`` are further things that are known of the die."""
    known = {"because": "", "blanks": blanks, "uncertain": (), "uncertain_places": (), "found": "read", "lines_of": {}}
    separations = [Separation("Cyan", "process", ""), Separation("Black", "process", "")]
    page = SimpleNamespace(boxes=SimpleNamespace(trim=trim), number=3, separations=separations)
    likely = {"likely_cut": "", "line_to_paste": ""}
    return SimpleNamespace(die=SimpleNamespace(**{**known, **likely, **die}), page=page, artwork_is=artwork_is)


def square(number: int, x: float, y: float, width: float = 20, height: float = 10) -> Blank:
    outline = shapely.box(x, y, x + width, y + height, ccw=True)
    sides = [LineString(side) for side in _sides(outline.exterior)]
    return Blank(number, outline, shapely.MultiLineString(), edges=tuple(CutEdge(side, "outer", 2.0) for side in sides))


def test_each_side_of_each_blank_is_an_edge():
    found = _edges(job(square(1, 5, 7), square(4, 40, 7)))
    assert [own.blank for own in found] == [1] * 4 + [4] * 4
    assert [len(own.at) for own in found] == [20, 40, 20, 40] * 2
    assert {own.cut.edge for own in found} == {"outer"}


def test_the_trim_box_of_a_one_up_stands_for_a_die():
    found = _edges(job(trim=(5, 7, 25, 17)))
    assert [own.blank for own in found] == [1] * 4
    ways = {tuple(own.at.outward[0].tolist()): own.at for own in found}
    assert set(ways) == {(1, 0), (-1, 0), (0, 1), (0, -1)}
    assert ways[1, 0].xy[:, 0] == pytest.approx(25)
    assert ways[0, -1].xy[:, 1] == pytest.approx(7)


@pytest.mark.parametrize("where", [{"trim": (5, 7, 25, 17), "artwork_is": "sheet"}, {"trim": None}])
def test_without_a_cut_there_are_no_edges(where):
    with pytest.raises(NotMeasured):
        _edges(job(**where))


def test_places_where_the_die_is_uncertain_are_left_out_with_a_millimetre_round_them():
    at = Stations(np.array([[x + 0.5, 8.0] for x in range(12)]), np.tile([0.0, 1.0], (12, 1)), 0.5)
    assert _where_sure(at, ()) is at
    assert _where_sure(at, [(4, 9, 5, 12)]).xy[:, 0].tolist() == [0.5, 1.5, 2.5, 6.5, 7.5, 8.5, 9.5, 10.5, 11.5]
    assert _where_sure(at, [(4, 5, 5, 7), (9, 8, 10.4, 8)]).xy[:, 0].tolist() == [0.5, 1.5, 2.5, 6.5, 7.5, 11.5]
    assert len(_where_sure(at, [(4, 9.1, 5, 12), (4, 1, 5, 6.9)])) == 12
    [first, *_] = _edges(job(square(1, 5, 7), uncertain_places=[(24, 6, 26, 10)], uncertain=("doubtful",)))
    assert first.at.xy[:, 1].min() > 11
    assert len(first.at) == 12


def test_any_of_the_boxes_meets_any_other():
    boxes = np.array([[0, 0, 2, 1], [10, 4, 12, 5.0]])
    assert _meet(boxes, np.array([[50, 50, 51, 51], [12, 5, 13, 6.0]]))
    assert not _meet(boxes, np.array([[3, 0, 9, 9], [10, 5.1, 12, 6]]))


# The way to the next cut -------------------------------------------------------------------------------------------

CUTS = _Cuts.of(
    [shapely.Polygon([(0, 0), (20, 0), (20, 10), (0, 10)], [[(5, 3), (9, 3), (9, 6), (5, 6)]]),
     shapely.box(23, 2, 30, 8), shapely.box(20, 12, 30, 15)]
)  # fmt: skip


@pytest.mark.parametrize(
    ("start", "end", "clear", "blank"),
    [
        ((20.5, 4), (32, 4), 2.5, 1),
        ((20.5, 4), (22.5, 4), np.inf, -1),
        ((20.5, 9), (32, 9), np.inf, -1),
        ((18, 10.5), (26, 12.5), 6.1847, 2),
        ((25, 8.25), (25, 20), 3.75, 2),
        ((5.5, 4), (8, 4), np.inf, -1),
        ((5.5, 4), (12, 4), 3.5, 0),
        ((1, 1), (1, -5), 0, 0),
        ((24, 3), (24, 30), 0, 1),
    ],
    ids=["across the gutter", "too near an end", "past a corner", "aslant", "upward", "within a cut-out",
         "across a cut-out", "from within", "from within another"],
)  # fmt: skip
def test_the_way_is_clear_to_the_next_cut(start, end, clear, blank):
    far, ended_by = CUTS.nearest(np.array([[100.0, 100.0], start]), np.array([[101.0, 100.0], end]))
    assert (far[0], ended_by[0]) == (np.inf, -1)
    assert far[1] == pytest.approx(clear, abs=1e-3)
    assert ended_by[1] == blank


def test_the_way_across_is_measured_from_the_cut_and_only_where_it_is_wanted():
    own = square(7, 5, 7)
    other = square(9, 27.5, 7, height=4)  # 2.5 mm to the right, and only as high as 11
    there = job(own, other)
    right = edge((25, 7), (25, 17), blank=7, neighbour_mm=2.5)
    cuts = _Cuts.of([own.outline, other.outline])
    wanted = np.arange(20) != 3
    found = _across(there, right, wanted, cuts)
    assert found.gap_mm[:3] == pytest.approx([2.5] * 3)
    assert found.gap_mm[3] == np.inf
    assert (found.gap_mm[9:] == np.inf).all()
    assert not found.own.any()
    beside = edge((25, 7), (25, 17), blank=9, neighbour_mm=2.5)
    assert _across(there, beside, wanted, cuts).own[:5].tolist() == [True, True, True, False, True]
    alone = edge((25, 7), (25, 17), blank=7)
    assert (_across(there, alone, wanted, cuts).gap_mm == np.inf).all()


def test_a_common_knife_leaves_no_way():
    own, other = square(1, 5, 7), square(2, 25, 7)
    right = edge((25, 7), (25, 17), neighbour_mm=0.0)
    found = _across(job(own, other), right, np.ones(20, bool), _Cuts.of([own.outline, other.outline]))
    assert found.gap_mm.tolist() == [0.0] * 20
    assert not found.own.any()


def test_twelve_millimetres_are_in_sight():
    own = square(1, 5, 7)
    for gap_mm, seen in ((11.9, True), (12.1, False)):
        other = square(2, 25 + gap_mm, 7)
        right = edge((25, 7), (25, 17), neighbour_mm=gap_mm)
        found = _across(job(own, other), right, np.ones(20, bool), _Cuts.of([own.outline, other.outline]))
        assert found.gap_mm == pytest.approx(np.full(20, gap_mm if seen else np.inf))


@pytest.mark.parametrize(
    ("reach", "gap", "own", "enough"),
    [(1.45, 3.0, False, True), (1.43, 3.0, False, False), (0.5, 0.99, False, False), (0.5, 1.0, False, True),
     (0.5, 0.9, True, True), (0.3, 0.9, True, False), (3.9, np.inf, False, False)],
    ids=["half the way but for 0.05 mm", "but for 0.07 mm", "a narrow gutter", "a gutter that is not narrow",
         "a narrow slot", "not half a slot", "nothing across"],
)  # fmt: skip
def test_half_the_way_is_enough(reach, gap, own, enough):
    across = _Across(np.array([np.inf, gap]), np.array([False, own]))
    found = _enough(np.array([[9.0, 9.0], [0.0, reach]]), across, FACING)
    assert found.shape == (2, 2)
    assert bool(found[1, 1]) is enough


# Stretches --------------------------------------------------------------------------------------------------------


def reach(*stretches: tuple[int, float]) -> np.ndarray:
    return np.concatenate([np.full(count, mm) for count, mm in stretches])


def stretches(*reaches: np.ndarray) -> list[tuple[int, int, float, tuple[str, ...]]]:
    found = _stretches(np.stack(reaches), NAMES[: len(reaches)], LOOK_MM, 4)
    return [(own.start, own.stop, own.reach_mm, own.separations) for own in found]


CYAN, BROWN = ("Cyan",), ("Mill Brown",)


@pytest.mark.parametrize(
    ("reaches", "found"),
    [
        (reach((10, 4.0)), []),
        (reach((3, 4.0), (5, 1.0), (2, 4.0)), [(3, 8, 1.0, CYAN)]),
        (reach((3, 4.0), (3, 1.0), (2, 4.0)), [(3, 6, 1.0, CYAN)]),
        (reach((3, 4.0), (5, 3.96), (2, 4.0)), []),
        (reach((3, 4.0), (5, 3.94), (2, 4.0)), [(3, 8, 3.94, CYAN)]),
        (reach((5, 1.0), (4, 1.29), (1, 4.0)), [(0, 9, 1.0, CYAN)]),
        (reach((5, 1.0), (4, 1.31), (1, 4.0)), [(0, 5, 1.0, CYAN), (5, 9, 1.31, CYAN)]),
        (reach((5, 1.0), (2, 2.0), (4, 3.0), (1, 4.0)), [(0, 5, 1.0, CYAN), (7, 11, 3.0, CYAN)]),
        (reach((5, 1.0), (2, 4.0), (3, 2.0)), [(0, 5, 1.0, CYAN), (7, 10, 2.0, CYAN)]),
        (reach((2, 1.0), (3, 2.0), (2, 0.5), (3, 4.0)), [(0, 7, 0.5, CYAN)]),
    ],
    ids=["none", "one", "a short one by itself", "almost as far as the look", "not quite as far", "a small step",
         "a large step", "a short one between two", "a short one apart", "short ones only"],
)  # fmt: skip
def test_stretches_end_before_the_look(reaches, found):
    assert stretches(reaches) == found


@pytest.mark.parametrize(
    ("other", "found"),
    [
        (reach((3, 4.0), (5, 1.14), (6, 4.0)), [(2, 8, 1.0, NAMES)]),
        (reach((3, 4.0), (5, 1.16), (6, 4.0)), [(2, 8, 1.0, CYAN), (3, 8, 1.16, BROWN)]),
        (reach((3, 4.0), (8, 0.9), (3, 4.0)), [(2, 11, 0.9, NAMES)]),
        (reach((6, 4.0), (8, 1.0)), [(2, 8, 1.0, CYAN), (6, 14, 1.0, BROWN)]),
        (reach((5, 4.0), (9, 1.0)), [(2, 8, 1.0, CYAN), (5, 14, 1.0, BROWN)]),
        (reach((4, 4.0), (10, 1.0)), [(2, 14, 1.0, NAMES)]),
        (reach((9, 4.0), (5, 1.0)), [(2, 8, 1.0, CYAN), (9, 14, 1.0, BROWN)]),
    ],
    ids=["within it", "ending elsewhere", "longer", "a third shared", "half shared", "most shared", "apart"],
)
def test_inks_that_end_together_are_one_stretch(other, found):
    assert stretches(reach((2, 4.0), (6, 1.0), (6, 4.0)), other) == found


def test_a_joined_stretch_has_the_shorter_reach_at_each_station():
    one, other = reach((2, 4.0), (6, 1.0), (6, 4.0)), reach((4, 4.0), (3, 0.9), (3, 1.1), (4, 4.0))
    [found] = _stretches(np.stack([one, other]), NAMES, LOOK_MM, 4)
    assert (found.start, found.stop) == (2, 10)
    assert found.reaches.tolist() == [1.0, 1.0, 0.9, 0.9, 0.9, 1.0, 1.1, 1.1]


# Cases, sides and causes ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("keys", "reach_mm", "gap_mm", "own", "case"),
    [
        ({}, 1.0, 3.9, True, "slot"), ({}, 1.0, 4.0, True, ""), ({"edge": "cut-out"}, 1.0, 3.9, True, ""),
        ({}, 0.0, 3.9, False, ""), ({}, 0.0, 0.15, False, "common knife"), ({}, 0.0, 0.16, False, ""),
        ({}, 0.5, 0.9, False, "narrow gutter"), ({}, 0.4, 0.9, False, "narrow gutter"), ({}, 0.38, 0.9, False, ""),
        ({}, 0.5, 1.0, False, ""), ({"hidden": True}, 0.5, np.inf, False, "hidden flap"),
        ({"hidden": True}, 0.5, 3.9, True, "slot"),
        ({"hidden": True, "edge": "cut-out"}, 0.5, 0.1, True, "hidden flap"),
        ({"hidden": True}, 0.5, 0.1, False, "common knife"), ({}, 1.0, np.inf, False, ""),
    ],
)  # fmt: skip
def test_cases(keys, reach_mm, gap_mm, own, case):
    found, only_warns = _case(edge((0, 0), (9, 0), **keys), reach_mm, gap_mm, own, FACING)
    assert found == case
    assert bool(only_warns) == (case in ("slot", "hidden flap"))


@pytest.mark.parametrize(
    ("end", "side"),
    [((9, 0), "bottom edge"), ((-9, 0), "top edge"), ((0, 9), "right edge"), ((0, -9), "left edge"),
     ((9, 3.5), "bottom edge"), ((9, 4.2), "slanting edge"), ((-3.5, 9), "right edge"), ((-4.2, 9), "slanting edge")],
    ids=str,
)  # fmt: skip
def test_sides_are_told_by_the_way_out(end, side):
    """An edge is slanting from 23 degrees on: 3.5 in 9 are 21, and 4.2 are 25."""
    own = _Stretch(2, 6, 1.0, CYAN, np.full(4, 1.0))
    assert _side(edge((0, 0), end), own) == side
    assert _side(edge((0, 0), end, edge="cut-out"), own) == f"{side} of a cut-out"


def test_a_side_is_told_where_the_stretch_is():
    corner = edge((0, 0), (9, 0), (9, 9))
    assert _side(corner, _Stretch(0, 18, 1.0, CYAN, np.full(18, 1.0))) == "bottom edge"
    assert _side(corner, _Stretch(18, 36, 1.0, CYAN, np.full(18, 1.0))) == "right edge"
    assert _side(corner, _Stretch(0, 36, 1.0, CYAN, np.full(36, 1.0))) == "slanting edge"


@pytest.mark.parametrize(
    ("names", "cause"),
    [(("Cyan", "Black"), "process inks"), (("Cyan", "Moss", "Mill Brown"), "Mill Brown, Moss"), (("Moss",), "Moss")],
)
def test_spots_are_named_as_the_cause_and_process_inks_together(names, cause):
    assert _cause(job(), names) == cause


def read(own: _Edge, stretch: _Stretch, across: _Across, *blanks: Blank) -> Any:
    return _reading(job(*(blanks or (square(1, 5, 7),))), own, stretch, across, FACING)


def across(gaps: list[float], own: list[bool] | None = None) -> _Across:
    return _Across(np.array(gaps, float), np.array(own or [False] * len(gaps)))


def test_a_reading_is_the_worst_of_its_stations():
    own = edge((20, 30), (30, 30), neighbour_mm=2.0)
    stretch = _Stretch(4, 8, 0.9, CYAN, np.array([1.4, 1.2, 0.9, 1.5]))
    found = read(own, stretch, across([np.inf] * 4))
    assert (found.value, found.unit, found.case, found.limit_cap) == (0.9, "mm", "", None)
    assert found.group == "process inks"
    assert dict(found.facts) == {
        "separations": ["Cyan"],
        "where": "bottom edge",
        "length": "2 mm",
        "gap_mm": None,
        "bleed": "has only 0.9 mm bleed",
    }
    [place] = found.places
    assert place.box_mm == pytest.approx((22.25 - 0.5, 29.5, 23.75 + 0.5, 30.5))
    assert (place.page, place.separation, place.path) == (3, "Cyan", "bottom edge")


def test_a_gap_caps_the_limit_at_half_of_it():
    own = edge((20, 30), (30, 30), neighbour_mm=2.0)
    stretch = _Stretch(4, 8, 0.9, NAMES, np.array([1.4, 1.2, 0.9, 1.0]))
    found = read(own, stretch, across([3.0, 3.0, 2.2, 3.3]), square(1, 5, 7), square(2, 40, 7))
    # Short of half the gap by 0.1, 0.3, 0.2 and 0.65 mm.
    assert (found.value, found.limit_cap, found.facts["gap_mm"]) == (1.0, 1.65, 3.3)
    assert found.places[0].separation is None
    assert found.places[0].path == "bottom edge of blank 1"
    assert found.group == "Mill Brown"


@pytest.mark.parametrize(
    ("gap_mm", "own", "reach_mm", "case", "cap"),
    [(0.1, False, 0.0, "common knife", None), (0.8, False, 0.4, "narrow gutter", None), (3.0, True, 0.4, "slot", 1.5)],
)
def test_between_blanks_of_two_colours_the_gap_caps_nothing(gap_mm, own, reach_mm, case, cap):
    stretch = _Stretch(4, 6, reach_mm, CYAN, np.array([reach_mm, reach_mm + 0.05]))
    found = read(edge((20, 30), (30, 30), neighbour_mm=gap_mm), stretch, across([gap_mm] * 2, [own] * 2))
    assert (found.case, found.limit_cap, found.value) == (case, cap, reach_mm)


# The die is no art, and whole measures ----------------------------------------------------------------------------

KNOCKING, LEGEND = (10.0, 19.0, 40.0, 21.0), (10.0, 30.0, 40.0, 31.0)


@pytest.mark.parametrize(
    ("box", "overprint", "left_out"),
    [(KNOCKING, (), {"Cutting"}), (KNOCKING, (0,), set()), (LEGEND, (), set()), ((10, 24.1, 40, 31), (), set()),
     ((10, 23.9, 40, 31), (), {"Cutting"}), ((10, 10, 40, 15.9), (), set())],
    ids=["on the cut", "overprinting", "far from it", "4.1 mm from it", "3.9 mm from it", "4.1 mm below it"],
)  # fmt: skip
def test_what_knocks_out_near_the_cut_and_is_no_plate_is_left_out(box, overprint, left_out):
    objects = table((Painted.FILL, box, DIE), (Painted.FILL, KNOCKING, MOSS), overprint=overprint)
    there = job()
    there.page.objects, there.page.separations = objects, SEPARATIONS
    found = _die_left_out(there, [edge((40, 20), (10, 20))], LOOK_MM)
    assert (found.separations, found.rows) == (left_out, ())
    there.die.lines_of = {"cut": (1,)}  # the die is drawn in Moss
    found = _die_left_out(there, [edge((40, 20), (10, 20))], LOOK_MM)
    assert (found.separations, found.rows) == (left_out, (0, 1) if left_out else (1,))
    there.die.lines_of = {"cut": (0,)}
    assert _die_left_out(there, [edge((40, 20), (10, 20))], LOOK_MM).rows == ()


def measured(inks: dict[str, Any], *blanks: Blank, prints: Any = True, kind: str = "spot", **die: Any) -> Any:
    scene: Any = Scene(inks)
    there = job(*blanks, **die)
    scene.separations, scene.boxes = [Separation(name, kind, "") for name in inks], there.page.boxes
    scene.objects = table()
    there.page, there.plates = scene, scene.drawn((0.0, 0.0, WIDTH, HEIGHT), 100.0)
    there.inks = [SimpleNamespace(separation=each, prints=prints) for each in scene.separations]
    keys = {"kinds": ("spot",), "look_mm": 4.0, "carried_on_percent": 50.0, "shortest_mm": 2.0, "aslant": 0.06,
            "pattern_to_mm": 3.0, "change_mm": 4.0, "rim_mm": 8.0, "slot_mm": 4.0, "narrow_mm": 1.0}  # fmt: skip
    return ink_past_cut(there, parameters(**keys))


def right_of(x_mm: float, to_mm: float) -> Any:
    return lambda x, y: (x > x_mm) & (x < to_mm)


def test_ink_that_ends_past_one_edge_of_a_blank():
    """The blank is 20 x 18 mm, the ground ends 1.5 mm to its right."""
    own = square(1, 12, 10, 20, 18)
    [found] = measured({"Moss": right_of(3, 33.5)}, own).readings
    assert (found.value, found.facts["where"], found.facts["length"]) == (
        pytest.approx(1.5, abs=0.06),
        "right edge",
        "18 mm",
    )
    assert found.places[0].box_mm == pytest.approx((31.5, 9.75, 32.5, 28.25))
    assert measured({"Moss": right_of(3, 33.5)}, own, prints=False).readings == []
    assert len(measured({"Moss": right_of(3, 33.5)}, own, prints=None).readings) == 1
    assert measured({"Moss": right_of(3, 33.5)}, own, kind="varnish").readings == []
    assert measured({"Moss": right_of(3, 37)}, own).readings == []


def test_half_the_way_to_the_next_blank_is_enough():
    left, right = square(1, 12, 10, 16, 18), square(2, 31, 10, 16, 18)  # 3 mm apart
    assert measured({"Moss": right_of(3, 29.5), "Rust": right_of(29.5, 55)}, left, right).readings == []
    short = measured({"Moss": right_of(3, 29), "Rust": right_of(29, 55)}, left, right).readings
    assert [(own.value, own.limit_cap, own.facts["separations"]) for own in short] == [
        (pytest.approx(1.0, abs=0.06), 1.5, ["Moss"])
    ]
    assert short[0].facts["where"] == "right edge of blank 1"


def test_uncertain_places_are_left_out_and_told():
    own = square(1, 12, 10, 20, 18)
    die: dict[str, Any] = {"uncertain": ("two cut lines",), "uncertain_places": [(31, 5, 33, 40)]}
    found = measured({"Moss": right_of(3, 33.5)}, own, **die)
    assert found.readings == []
    assert [gap.places[0].box_mm for gap in found.gaps] == [(31, 5, 33, 40)]

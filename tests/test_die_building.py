"""From lines to blanks: odd lines that need no page to be tried."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, Polygon

from preflight.carton.build_die import build_die
from preflight.carton.die import Area
from preflight.carton.lines.drawn_lines import DieLine, components
from preflight.carton.lines.filled_shapes import edges_of_fills
from tests.cartons import reverse_tuck
from tests.die_lines import arrow, as_outline, carton_lines, circle, in_pieces, line, moved, rectangle, sleeve

CARTON = reverse_tuck(at=(10, 10))
AREA = Polygon(CARTON.outline).area
CUT = [line(points) for points in CARTON.cut]
CREASE = [line(points, "crease") for points in CARTON.crease]


def areas_of(lines: list[DieLine], **keys) -> list[float]:
    return [blank.outline.area for blank in build_die(lines, **keys).blanks]


def letters(x: float, y: float, count: int, filled: bool) -> list[DieLine]:
    sizes = [(1.2 + 0.3 * (n % 3), 2.5 + 0.2 * (n % 2)) for n in range(count)]
    boxes = [rectangle(x + 2.6 * n, y, x + 2.6 * n + w, y + h) for n, (w, h) in enumerate(sizes)]
    return [line(box, filled=filled, row=int(1000 + x + n)) for n, box in enumerate(boxes)]


NO_DIE = {
    "words turned into outlines": [*letters(40, 100, 5, True), *letters(120, 100, 8, True)],
    "words in single strokes": [*letters(40, 100, 5, False), *letters(120, 100, 8, False)],
    "dimension chain": [
        line([(10, 20), (10, 2)]), line([(85, 55), (85, 2)]), line([(205, 55), (205, 2)]), line([(10, 5), (205, 5)]),
    ],
    "dimension with arrows over a panel": [
        line([(25, 90), (85, 90)]), arrow(25, 90, 1, 0, 901), arrow(85, 90, -1, 0, 902),
    ],
    "crease on the cut": [line([(115, 145), (175, 145)], "crease")],
    "numbers that are none": [line([(0, 0), (np.nan, 3), (1e12, 1), (5, 5), (6, 6)])],
    "a point": [line([(50, 50), (50, 50)])],
    "overshooting corner": [line([(205, 145), (206, 145)])],
    "lines far away": [line([(900, 900), (950, 900)]), line([(900, 900), (900, 950)])],
    "cross in the waste": [line([(130, 160), (150, 180)])],
}  # fmt: skip


@pytest.mark.parametrize("extra", NO_DIE.values(), ids=NO_DIE.keys())
def test_what_does_not_change_the_blank(extra):
    die = build_die([*CUT, *CREASE, *extra])
    assert [blank.outline.area for blank in die.blanks] == pytest.approx([AREA], abs=2)
    assert not die.uncertain
    assert len(die.blanks[0].panels) == 13


def test_row_of_vent_holes_is_no_lettering():
    holes = [line(circle(40 + 8 * n, 100, 2)) for n in range(5)]
    assert areas_of([*CUT, *CREASE, *holes]) == pytest.approx([AREA - 5 * np.pi * 4], abs=2)


def test_creases_drawn_through_the_gutters():
    sheet = [item for n in range(3) for item in carton_lines(reverse_tuck(at=(10 + 200 * n, 10)))]
    through = [line([(10, y), (605, y)], "crease") for y in (55, 145)]
    assert areas_of([*sheet, *through]) == pytest.approx([AREA] * 3, abs=2)


def test_closed_gutter_with_creases_through_it_is_no_blank():
    sides = [line([(x, 90), (x, 94)]) for x in (0, 192)]
    through = [line([(x, 0), (x, 184)], "crease") for x in (12, 72, 102, 162)]
    assert areas_of([*sleeve(0, 0), *sleeve(0, 94), *sides, *through]) == pytest.approx([192 * 90] * 2)


def test_blanks_of_two_sizes():
    lines = [*CUT, *CREASE, *moved(carton_lines(reverse_tuck(width=40, depth=20, height=60)), 230, 10)]
    assert len(build_die(lines).blanks) == 2


def test_creases_that_all_stop_short_still_make_a_blank():
    lines = [line(rectangle(0, 0, 120, 60)), line([(40, 3), (40, 57)], "crease"), line([(80, 3), (80, 57)], "crease")]
    die = build_die(lines)
    assert die.found == "read"
    assert [blank.outline.area for blank in die.blanks] == pytest.approx([7200])
    assert die.blanks[0].panels == ()


def test_corner_of_two_creases_just_short_of_the_cut():
    short = [line([(25.3, 55), (25.3, 144.7)], "crease"), line([(25.3, 144.7), (85, 144.7)], "crease")]
    rest = [
        item
        for item in CREASE
        if not np.allclose(item.points[0], (25, 145)) and not np.allclose(item.points[0], (25, 55))
    ]
    blank = build_die([*CUT, *rest, *short]).blanks[0]
    assert blank.outline.area == pytest.approx(AREA, abs=2)
    assert len(blank.panels) == 13


def test_lid_cut_off_by_a_stray_line_is_a_doubt_with_a_place():
    die = build_die([*CUT, *CREASE, line([(25, 160), (85, 160)])])
    assert die.uncertain
    assert len(die.uncertain_places) == 2


def test_an_open_outline_says_where():
    lines = [piece for points in CARTON.cut for piece in in_pieces(points, 30, 1.6)]
    die = build_die([*lines, *CREASE])
    assert die.found == "none"
    assert die.uncertain
    assert "1.6 mm" in die.because


def test_two_inks_tell_cuts_from_creases():
    lines = [line(points, "unknown", drawn_in="Red") for points in CARTON.cut]
    lines += [line(points, "unknown", drawn_in="Green") for points in CARTON.crease]
    die = build_die(lines)
    assert die.found == "assumed"
    assert not die.uncertain
    assert die.drawn_in == {"cut": ("Red",), "crease": ("Green",)}


@pytest.mark.parametrize(
    ("known", "found"), [("stated", "stated"), ("read", "read"), ("assumed", "assumed")], ids=lambda v: v
)
def test_how_the_die_is_known(known, found):
    assert build_die(carton_lines(CARTON, known=known)).found == found


def test_dashes_in_the_cut_ink_beside_a_crease_ink_are_perforations():
    die = build_die([*CUT, *CREASE, line([(25, 100), (85, 100)], dashed=True, drawn_in="Cutting")])
    assert len(die.blanks) == 1
    assert die.drawn_in["perforate"] == ("Cutting",)


def test_wholly_dashed_die_is_still_cut():
    die = build_die([line(points, dashed=True) for points in CARTON.cut] + CREASE)
    assert [blank.outline.area for blank in die.blanks] == pytest.approx([AREA], abs=2)


def test_areas_go_to_the_blank_that_they_lie_on():
    code = Area("code", Polygon(rectangle(210, 20, 230, 30)), "stated", "")
    over_the_edge = Area("window", Polygon(rectangle(150, 80, 196, 100)), "read", "")
    nowhere = Area("code", Polygon(rectangle(0, 200, 10, 210)), "stated", "")
    die = build_die([*sleeve(0, 0), *sleeve(200, 0)], [code, over_the_edge, nowhere])
    found = [{area.kind: area.shape.bounds for area in blank.areas} for blank in die.blanks]
    assert found[1]["code"] == pytest.approx((210, 20, 230, 30))
    assert found[0]["window"] == pytest.approx((150, 80, 192, 90))
    assert die.loose_areas == (nowhere,)


def test_stated_glue_flap_replaces_the_guess():
    stated = Area("glue flap", Polygon(rectangle(162, 0, 192, 90)), "stated", "")
    flaps = [area for area in build_die(sleeve(0, 0), [stated]).blanks[0].areas if area.kind == "glue flap"]
    assert [area.known for area in flaps] == ["stated"]


@pytest.mark.parametrize(("cap", "join"), [("flat", "mitre"), ("round", "round"), ("square", "round")])
@pytest.mark.parametrize("width", [0.1, 0.35, 0.55])
def test_middle_of_an_expanded_stroke(cap, join, width):
    points = [(0, 0), (50, 0), (50, 30), (20, 40)]
    (found,), bands = edges_of_fills([as_outline(points, width, "cut", 1, cap, join)])
    assert bands == 1
    assert LineString(found.points).hausdorff_distance(LineString(points)) < 1.2 * width


def test_shape_wider_than_a_line_keeps_its_edge():
    (found,), bands = edges_of_fills([line(rectangle(0, 0, 50, 2), filled=True, row=1)])
    assert bands == 0
    assert Polygon(found.points).area == pytest.approx(100)


@pytest.mark.parametrize(
    ("pairs", "labels"),
    [
        ([], [0, 1, 2, 3]),
        ([(3, 2), (2, 1), (1, 0)], [0, 0, 0, 0]),
        ([(0, 3), (1, 2)], [0, 1, 1, 0]),
    ],
)
def test_components(pairs, labels):
    a, b = np.array([p[0] for p in pairs], int), np.array([p[1] for p in pairs], int)
    assert components(4, a, b).tolist() == labels


CARD = [line(rectangle(0, 0, 100, 60))]


@pytest.mark.parametrize(
    ("creases", "found", "areas"),
    [
        pytest.param([[(120, 10), (140, 10)]], "assumed", [6000], id="a sample beside it"),
        pytest.param([[(120, y), (140, y)] for y in (0, 10, 20, 30, 40)], "none", [], id="more than a legend has"),
        pytest.param([[(50, 3), (50, 57)]], "read", [6000], id="a fold across it, short of its edges"),
        pytest.param([[(50, 3), (50, 57)], [(120, 10), (140, 10)]], "read", [6000], id="a fold, and a sample"),
        pytest.param([[(50, 23), (50, 30)]], "assumed", [6000], id="a dash within it"),
        pytest.param([[(50, 12), (50, 48)]], "assumed", [6000], id="too far from its edges for a fold"),
    ],
)  # fmt: skip
def test_creases_in_and_beside_a_card(creases, found, areas):
    die = build_die([*CARD, *(line(points, "crease") for points in creases)])
    assert die.found == found
    assert [blank.outline.area for blank in die.blanks] == pytest.approx(areas)


@pytest.mark.parametrize(("wide", "blanks"), [(4, 1), (5.8, 1), (10, 2)])
def test_a_narrow_slot_with_a_crease_through_it_is_no_blank(wide, blanks):
    """Two groups of cells: the blank, and a slot in its top edge that a stray line closes."""
    left, right = 40 - wide / 2, 40 + wide / 2
    outline = [(0, 0), (80, 0), (80, 60), (right, 60), (right, 20), (left, 20), (left, 60), (0, 60), (0, 0)]
    folds = [line([(0, y), (80, y)], "crease") for y in (10, 40)]
    die = build_die([line(outline), line([(left, 60), (right, 60)]), *folds])
    assert [blank.outline.area for blank in die.blanks] == pytest.approx([4800 - 40 * wide, 40 * wide][:blanks])


@pytest.mark.parametrize(
    ("short_mm", "panels", "said"),
    [(0.9, 3, "0.9 mm"), (1.5, 0, "1.5 mm"), (7.9, 0, "7.9 mm"), (8.2, 2, ""), (12, 2, "")],
)
@pytest.mark.parametrize("far_end", [False, True])
def test_how_far_a_crease_may_stop_short(short_mm, panels, said, far_end):
    """It is extended by up to 1 mm; up to 8 mm it was meant to reach, and nobody knows the panels."""
    ends = [(80, short_mm), (80, 60)] if far_end else [(80, 0), (80, 60 - short_mm)]
    die = build_die([line(rectangle(0, 0, 120, 60)), line([(40, 0), (40, 60)], "crease"), line(ends, "crease")])
    assert len(die.blanks[0].panels) == panels
    assert [said in note for note in die.notes] == [True] * bool(said)


@pytest.mark.parametrize("corner", range(4))
@pytest.mark.parametrize("reversed_sides", [(), (0, 1, 2, 3), (0, 2), (1, 3)], ids=str)
def test_corners_that_two_loose_ends_miss_are_closed(corner, reversed_sides):
    """Both ends stop short, aslant of each other: each is brought to the other one, at whichever end of its line."""
    corners = [(0.0, 0.0), (120.0, 0.0), (120.0, 60.0), (0.0, 60.0)]
    sides = [[corners[n], corners[(n + 1) % 4]] for n in range(4)]
    (x, y), (mid_x, mid_y) = corners[corner], (60, 30)
    in_x, in_y = (0.55 if mid_x > x else -0.55), (0.55 if mid_y > y else -0.55)
    for side, end in ((corner, 0), (corner - 1, 1)):
        level = sides[side][0][1] == sides[side][1][1]
        sides[side][end] = (x + in_x, y) if level else (x, y + in_y)
    lines = [line(side[::-1] if n in reversed_sides else side) for n, side in enumerate(sides)]
    die = build_die([*lines, line([(40, 0), (40, 60)], "crease"), line([(80, 0), (80, 60)], "crease")])
    assert [blank.outline.area for blank in die.blanks] == pytest.approx([7200], abs=0.5)
    assert len(die.blanks[0].panels) == 3


@pytest.mark.parametrize(("share", "blanks"), [(0.036, 1), (0.044, 2)])
def test_a_small_shape_with_a_fold_beside_a_carton_is_a_sketch(share, blanks):
    """Under 4 % of the largest blank."""
    wide = share * AREA / 40
    sketch = [line(rectangle(250, 10, 250 + wide, 50)), line([(250, 30), (250 + wide, 30)], "crease")]
    assert len(areas_of([*CUT, *CREASE, *sketch])) == blanks


@pytest.mark.parametrize(("share", "blanks"), [(0.45, 1), (0.55, 2)])
def test_a_shape_whose_fold_stops_short_beside_a_carton_is_a_blank_if_large(share, blanks):
    wide = share * AREA / 100
    card = [line(rectangle(250, 10, 250 + wide, 110)), line([(250 + 3, 60), (250 + wide - 3, 60)], "crease")]
    assert len(areas_of([*CUT, *CREASE, *card])) == blanks


def slitted(width_mm: float, *, gap_mm: float = 0.0) -> list[DieLine]:
    """The carton in one closed path with three slits in its right edge, and perhaps a gap in a separate left edge."""
    slits = [
        point for y in (70.0, 90.0, 110.0) for point in [(205, y), (193, y), (193, y + width_mm), (205, y + width_mm)]
    ]
    corner = CARTON.outline.index((205, 55))
    around = [*CARTON.outline[corner:], *CARTON.outline[:corner]]
    assert list(around[1]) == [205, 145]
    path = [around[0], *slits, *around[1:], around[0]]
    if not gap_mm:
        return [line(path), *CREASE]
    nicked = path.index((10, 145 - 15 * np.tan(np.radians(15))))
    middle = (path[nicked][1] + path[nicked + 1][1]) / 2
    return [
        line([*path[: nicked + 1], (10, middle + gap_mm / 2)]),
        line([(10, middle - gap_mm / 2), *path[nicked + 1 :]]),
        *CREASE,
    ]


@pytest.mark.parametrize("width_mm", [0.06, 0.09, 0.1, 0.11, 0.3])
def test_the_mouths_of_narrow_slits_in_a_closed_path_are_no_gaps(width_mm: float) -> None:
    die = build_die(slitted(width_mm))
    assert len(die.blanks) == 1
    assert die.notes == ()


@pytest.mark.parametrize("gap_mm", [0.1, 0.3, 0.8])
def test_a_gap_beside_narrow_slits_is_told(gap_mm: float) -> None:
    die = build_die(slitted(0.1, gap_mm=gap_mm))
    assert len(die.blanks) == 1
    assert die.notes == (f"1 gap in the cut line closed, the largest {gap_mm:.1f} mm",)


def test_a_gap_in_a_die_that_is_drawn_twice_is_told() -> None:
    twice = [*slitted(0.1, gap_mm=0.4), *moved(slitted(0.1, gap_mm=0.4), 0.0, 0.0)]
    assert any("1 gap in the cut line closed" in note for note in build_die(twice).notes)

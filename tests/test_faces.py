"""Panels of a blank, the guess at the glue flap and at dust flaps, at the bounds of each."""

import numpy as np
import pytest
from shapely import Polygon, box

from preflight.carton.cells.faces import Faces, _far_side, _fits_flap, _Link, _Row, _Shapes, faces_of
from tests.die_lines import line, rectangle
from tests.test_closed_cells import cells_of, group_at

LEVEL, UPRIGHT = (1.0, 0.0), (0.0, 1.0)


def faces(*lines, at=(11, 50)):
    cells = cells_of(*lines)
    return faces_of(cells, group_at(cells, *at))


def row(*widths, x=10.0, y=20.0, high=60.0, role="crease"):
    """A rectangle with upright folds between panels of these widths."""
    places = np.cumsum([x, *widths])
    return [line(rectangle(x, y, places[-1], y + high)), *(line([(v, y), (v, y + high)], role) for v in places[1:-1])]


def bounds(found):
    return [tuple(np.round(panel.bounds, 3).tolist()) for panel in found.panels]


def level(lines):
    """The same with x and y exchanged."""
    return [line(item.points[:, ::-1], item.role) for item in lines]


@pytest.mark.parametrize(
    ("width", "others", "tapered", "fits"),
    [
        (15, [60, 30, 60, 30], True, True),
        (40, [90, 100, 90, 100], True, True),
        (40.5, [90, 100, 90, 100], True, False),
        (18, [60, 30, 60, 30], False, True),
        (18.5, [60, 30, 60, 30], False, False),
        (29, [60, 30, 60, 30], True, True),
        (35, [60, 30, 60, 30], True, True),  # wider than a side, and tapered: what is left over of a tube
        (15, [60], True, False),
        (15, [60, 61.5], True, True),
        (15, [60, 61.7], True, False),
        (22.5, [30, 60, 45], True, True),
        (22.6, [30, 60, 45], True, False),
        (12, [30, 60, 45], False, True),
        (12.1, [30, 60, 45], False, False),
        (18, [60, 30, 62, 30], False, False),  # no tube: 0.4 of the narrowest
        (12, [60, 30, 62, 30], False, True),
        (18, [60, 30, 61.5, 31.5], False, True),
        (18, [60, 30, 60, 32], False, False),
    ],
)
def test_how_wide_a_glue_flap_may_be(width, others, tapered, fits):
    assert _fits_flap(width, others, tapered) is fits


@pytest.mark.parametrize("turn", [list, level], ids=["upright", "level"])
def test_the_row_is_read_from_left_to_right_or_from_top_to_bottom(turn):
    found = faces(*turn(row(12, 60, 30, 60, 30)), at=(11, 50) if turn is list else (50, 11))
    places = np.cumsum([10, 12, 60, 30, 60, 30])
    if turn is list:
        assert bounds(found) == [(a, 20, b, 80) for a, b in zip(places, places[1:], strict=False)]
        assert found.glue_flap == 0
    else:
        assert bounds(found) == [(20, a, 80, b) for a, b in zip(places, places[1:], strict=False)][::-1]
        assert found.glue_flap == 4
    assert found.row == (0, 1, 2, 3, 4)
    assert "12.0 mm wide" in found.glue_flap_because
    assert "straight" in found.glue_flap_because
    assert found.dust_flaps == ()


@pytest.mark.parametrize(
    ("along", "across"),
    [((0.0, 1.0), (1, 0)), ((1.0, 0.0), (0, -1)), ((0.6, 0.8), (0.8, -0.6)), ((0.8, -0.6), (0.6, 0.8))],
)
def test_which_way_a_row_runs(along, across):
    assert _Row([], along).across == pytest.approx(across)


def test_extents_of_a_face():
    shapes = _Shapes([box(1, 2, 4, 9), Polygon([(10, 20), (16, 20), (16, 28)])])
    assert shapes.extent(0, LEVEL) == (1, 4)
    assert shapes.extent(0, UPRIGHT) == (2, 9)
    assert shapes.width(1, UPRIGHT) == 8
    assert shapes.width(1, (0.6, 0.8)) == pytest.approx(0.6 * 16 + 0.8 * 28 - (0.6 * 10 + 0.8 * 20))
    assert len(shapes) == 2


@pytest.mark.parametrize("first", [False, True], ids=["after its neighbour", "before it"])
@pytest.mark.parametrize("right", [False, True], ids=["flap left", "flap right"])
def test_the_far_side_of_a_tapered_face(right, first):
    """15 mm wide, tapered from 60 to 50 mm: 51 mm long a tenth before its far side."""
    flap = [(25, 20), (25, 80), (10, 75), (10, 25)] if not right else [(25, 20), (25, 80), (40, 75), (40, 25)]
    panel = box(25, 20, 85, 80) if not right else box(-35, 20, 25, 80)
    shapes = _Shapes([Polygon(flap), panel] if first else [panel, Polygon(flap)])
    assert _far_side(0 if first else 1, _Link(0, 1, 60, UPRIGHT), UPRIGHT, LEVEL, shapes) == pytest.approx(51)


def tapered(by, mirrored=False):
    """A row of 60, 30, 60, 30 with a flap of 20 mm whose far side is shorter by twice this."""
    lines = [
        line([(30, 80), (10, 80 - by), (10, 20 + by), (30, 20), (210, 20), (210, 80), (30, 80)]),
        *(line([(x, 20), (x, 80)], "crease") for x in (30, 90, 120, 180)),
    ]
    return [line(item.points * [-1, 1] + [220, 0], item.role) for item in lines] if mirrored else lines


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize(("by", "flap"), [(3, True), (0.6, True), (0.5, False), (0, False)])
def test_a_flap_that_is_too_wide_for_a_straight_one_has_to_be_tapered(by, flap, mirrored):
    """20 mm are more than 0.6 of 30 mm. A tenth before its far side it is shorter by 0.9 of the taper: 1.08, 0.9 mm."""
    found = faces(*tapered(by, mirrored), at=(105, 50))
    assert found.glue_flap == ((4 if mirrored else 0) if flap else None)
    assert ("tapered from 60 to" in found.glue_flap_because) == flap


@pytest.mark.parametrize(
    ("widths", "flap"),
    [
        ((12, 60, 30, 60, 30), 0),
        ((60, 30, 60, 30, 12), 4),
        ((12, 60, 30, 60, 30, 11.5), None),  # either end
        ((12, 60), None),
        ((12, 60, 61), 0),
        ((12, 60, 64), None),
    ],
)
def test_which_end_of_a_row_is_the_flap(widths, flap):
    assert faces(*row(*widths)).glue_flap == flap


def test_an_end_that_hangs_on_two_folds_is_no_flap():
    """A lid on the narrow end panel: that is a side of the carton."""
    lines = row(12, 60, 30, 60, 30)
    lid = [line([(10, 80), (10, 90), (22, 90), (22, 80)]), line([(10, 80), (22, 80)], "crease")]
    outline = line([(22, 80), (202, 80), (202, 20), (10, 20), (10, 80)])
    assert faces(outline, *lines[1:], *lid).glue_flap is None
    assert faces(*lines).glue_flap == 0


@pytest.mark.parametrize(("apart", "panels"), [(1.0, 4), (2.9, 4), (3.3, 5)])
def test_a_double_crease_belongs_to_a_panel_beside_it(apart, panels):
    """A cell of width w and 60 mm height is w * 60 / (60 + w) wide on average: 2.77 of 2.9 and 3.13 of 3.3."""
    found = faces(*row(40, 50, apart, 70, 30))
    assert len(found.panels) == panels
    assert sum(panel.area for panel in found.panels) == pytest.approx((190 + apart) * 60)


def test_a_cell_whose_mean_width_is_3_mm_is_a_panel():
    """6 x 6 mm: twice the area by the edge is 3 mm."""
    assert len(faces(*row(40, 6, 70, high=6), at=(11, 23)).panels) == 3
    assert len(faces(*row(40, 5.9, 70, high=6), at=(11, 23)).panels) == 2


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_double_crease_joins_the_neighbour_that_it_shares_more_fold_with(mirrored):
    """Between two panels, one of which begins higher up."""
    lines = [
        line([(10, 20), (52, 20), (52, 40), (120, 40), (120, 80), (10, 80), (10, 20)]),
        line([(50, 20), (50, 80)], "crease"),
        line([(52, 40), (52, 80)], "crease"),
    ]
    if mirrored:
        lines = [line(item.points * [-1, 1] + [130, 0], item.role) for item in lines]
    found = faces(*lines)
    assert sorted(bounds(found)) == (
        [(10, 40, 78, 80), (78, 20, 120, 80)] if mirrored else [(10, 20, 52, 80), (52, 40, 120, 80)]
    )


def test_a_fold_drawn_in_pieces_to_and_fro_is_one():
    places = np.cumsum([10, 12, 60, 30, 60, 30])
    for swap in (list, level):
        folds = [line(points, "crease") for x in places[1:-1] for points in ([(x, 20), (x, 48)], [(x, 80), (x, 48)])]
        lines = swap([line(rectangle(10, 20, 202, 80)), *folds])
        found = faces(*lines, at=(11, 50) if swap is list else (50, 11))
        assert found.row == (0, 1, 2, 3, 4)
        assert found.glue_flap is not None


def test_lids_and_tuck_flaps_are_no_row_where_panels_alternate():
    """Four panels without a glue flap; lids and tucks make a chain of five with the first of them."""
    cuts = [
        [(10, 190), (10, 235), (70, 235), (70, 190), (190, 190), (190, 100), (70, 100), (70, 55), (10, 55), (10, 190)],
    ]
    folds = [*([(x, 100), (x, 190)] for x in (70, 100, 160)), *([(10, y), (70, y)] for y in (70, 100, 190, 220))]
    found = faces(*(line(points) for points in cuts), *(line(points, "crease") for points in folds), at=(20, 150))
    assert bounds(found)[:4] == [(10, 100, 70, 190), (70, 100, 100, 190), (100, 100, 160, 190), (160, 100, 190, 190)]
    assert found.row == (0, 1, 2, 3)
    assert (found.glue_flap, len(found.panels)) == (None, 8)


def test_of_two_chains_the_one_with_more_panels_is_the_row_and_of_two_alike_the_one_with_more_fold():
    """Three panels side by side, 60 high, and on the middle one of 50 a flap above, or one above and one below."""
    folds = [[(50, 40), (50, 100)], [(100, 40), (100, 100)]]
    above = [(10, 40), (150, 40), (150, 100), (100, 100), (100, 125), (50, 125), (50, 100), (10, 100), (10, 40)]
    one = faces(line(above), *(line(p, "crease") for p in [*folds, [(50, 100), (100, 100)]]), at=(20, 50))
    assert [panel[0] for panel in bounds(one)[:3]] == [10, 50, 100]
    assert one.row == (0, 1, 2)
    both = [(10, 40), (50, 40), (50, 12), (100, 12), (100, 40), *above[1:]]
    level_ones = [[(50, 100), (100, 100)], [(50, 40), (100, 40)]]
    two = faces(line(both), *(line(p, "crease") for p in [*level_ones, *folds]), at=(20, 50))
    assert sorted(panel[0] for panel in bounds(two)[:3]) == [10, 50, 100]
    assert two.row == (0, 1, 2)


def test_a_perforation_across_a_panel_hides_no_flap():
    """Where the parts of the torn panel were panels the row would be none."""
    lines = row(12, 60, 30, 60, 30)
    torn = line([(22, 50), (202, 50)], "perforate")
    found = faces(*lines, torn)
    assert found.glue_flap == 0
    assert len(found.panels) == 5
    across = faces(*row(60, 50), line([(10, 50), (120, 50)], "perforate"), at=(11, 40))
    assert len(across.panels) == 4


def test_panels_off_the_row_come_from_top_to_bottom_and_left_to_right():
    lines = [
        *row(12, 60, 30, 60, 30)[1:],
        line([(22, 80), (10, 80), (10, 20), (22, 20), (22, 5), (82, 5), (82, 20), (202, 20), (202, 80)]),
        line([(202, 80), (172, 80), (172, 110), (112, 110), (112, 80), (82, 80), (82, 95), (22, 95), (22, 80)]),
        *(line([(a, y), (b, y)], "crease") for a, b, y in [(22, 82, 20), (112, 172, 80), (22, 82, 80)]),
    ]
    found = faces(*lines)
    assert bounds(found)[5:] == [(112, 80, 172, 110), (22, 80, 82, 95), (22, 5, 82, 20)]
    assert found.row == (0, 1, 2, 3, 4)


@pytest.mark.parametrize(("high", "row"), [(49, True), (48, False), (47, False)])
def test_a_fold_of_a_row_is_nearly_as_high_as_its_panels(high, row):
    """60 mm; what is left of the fold is cut."""
    parted = [line([(50, 20), (50, 20 + high)], "crease"), line([(50, 20 + high), (50, 80)])]
    found = faces(line(rectangle(10, 20, 110, 80)), *parted)
    assert found.row == ((0, 1) if row else ())
    assert len(found.panels) == 2


@pytest.mark.parametrize(("degrees", "panels"), [(4, 3), (6, 2), (-4, 3), (-6, 2)])
def test_folds_of_a_row_are_parallel_within_five_degrees(degrees, panels):
    off = 30 * np.tan(np.radians(degrees))
    folds = [line([(50, 20), (50, 80)], "crease"), line([(90 - off, 20), (90 + off, 80)], "crease")]
    assert len(faces(line(rectangle(10, 20, 140, 80)), *folds).row) == panels


@pytest.mark.parametrize(("wide", "panels"), [(0.25, 2), (0.35, 3)])
def test_a_strip_narrower_than_0_3_mm_between_two_cuts_is_no_panel(wide, panels):
    """In the right panel of two, 40 mm long, with creases at its short ends only."""
    strip = [line([(x, 30), (x, 70)]) for x in (70, 70 + wide)]
    ends_of_it = [line([(70, y), (70 + wide, y)], "crease") for y in (30, 70)]
    assert len(faces(*row(30, 70), *strip, *ends_of_it).panels) == panels


def ends(top_tuck, bottom_tuck):
    """Five in a row; above and below a flap on the second panel and one on the third, the first perhaps with a tuck."""
    lines = [line([(22, 80), (10, 77), (10, 23), (22, 20)]), line([(112, 80), (202, 80), (202, 20), (112, 20)])]
    for y, side, tuck in ((80, 1, top_tuck), (20, -1, bottom_tuck)):
        lid, dust = y + 30 * side, y + 20 * side
        end = lid + 12 * side * tuck
        lines.append(line([(22, y), (22, end), (82, end), (82, y)]))
        lines.append(line([(82, y), (84, dust), (110, dust), (112, y)]))
        lines += [line([(22, y), (82, y)], "crease"), line([(82, y), (112, y)], "crease")]
        lines += [line([(22, lid), (82, lid)], "crease")] * tuck
    return [*lines, *(line([(x, 20), (x, 80)], "crease") for x in (22, 82, 112, 172))]


@pytest.mark.parametrize(("top", "bottom"), [(True, True), (True, False), (False, True), (False, False)])
def test_dust_flaps_lie_at_ends_that_a_tuck_flap_closes(top, bottom):
    found = faces(*ends(top, bottom))
    dust = sorted(tuple(np.round(found.panels[n].bounds).tolist()) for n in found.dust_flaps)
    assert dust == [(82, 0, 112, 20)] * bottom + [(82, 80, 112, 100)] * top
    assert found.glue_flap == 0


def test_a_blank_of_one_panel_has_no_row():
    found = faces(line(rectangle(10, 20, 110, 80)))
    assert len(found.panels) == 1
    assert (found.row, found.glue_flap, found.dust_flaps) == ((), None, ())
    assert Faces() == Faces((), (), None, "", ())

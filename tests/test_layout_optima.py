"""Layouts whose best number-up was worked out by hand; the reasoning stands beside each.

Gutters are those of rules/layout.yaml: 6 mm between boxes, 4 mm where flaps lie between each other. Rooms are what the
cut may use of a sheet.
"""

from __future__ import annotations

import pytest
from shapely import Polygon, box

from preflight.errors import NotMeasured
from preflight.quantities import Size
from preflight.setup.layout.lay_out import lay_out
from tests import layout_referee as referee
from tests.layouts import room

BODY, TAB = (100.0, 60.0), 30.0
"""A body of 100 x 60 mm with tabs of 30 mm."""


def with_tabs(above: tuple[float, float], below: tuple[float, float] | None = None) -> Polygon:
    """A body with a tab on top from x to x, and one below."""
    low = TAB if below else 0.0
    wide, high = BODY
    bottom = [(below[0], low), (below[0], 0), (below[1], 0), (below[1], low)] if below else []
    top = low + high
    return Polygon(
        [
            *[(0, low), *bottom, (wide, low), (wide, top)],
            *[(above[1], top), (above[1], top + TAB), (above[0], top + TAB), (above[0], top), (0, top)],
        ]
    )


def test_three_by_two_that_just_fit() -> None:
    """3 x 100 + 2 x 6 = 312 across and 2 x 60 + 6 = 126 along: the grid fills the room to the last tenth."""
    layout = lay_out(room(box(0, 0, 100, 60), 312, 126))
    assert (layout.ups, layout.pattern, layout.gutters_mm) == (6, "grid", (6.0, 6.0))
    assert layout.blanks[0].y_mm == 10
    assert [blank.x_mm for blank in layout.blanks[:3]] == [5, 111, 217]


def test_a_tenth_less_takes_a_column_away() -> None:
    """311.9 mm hold two columns (206); the third needs 0.1 mm more, and that is what stops it."""
    layout = lay_out(room(box(0, 0, 100, 60), 311.9, 126))
    assert layout.ups == 4
    assert "One more column would need 0.1 mm more across the sheet" in layout.why_not_more


def test_columns_of_triangles_turned_by_180_degrees() -> None:
    """Base 100, height 80, in a room 80 high and 100 + 4 x 54.72 wide: five, where plain rows take three.

    Slanted edges 4 mm apart lie 4 x sqrt(50² + 80²) / 80 = 4.717 mm apart along x. Half-way up each triangle is 50 mm
    wide whichever way it stands, so n of them need 2 x 25 + 50 n + 4.717 (n - 1) mm: 318.9 mm for five, 373.6 for six.
    """
    triangle = Polygon([(0, 0), (100, 0), (50, 80)])
    layout = lay_out(room(triangle, 318.95, 80))
    assert (layout.ups, layout.pattern) == (5, "tumbled")
    assert {blank.turn_deg for blank in layout.blanks} == {0, 180}
    assert lay_out(room(triangle, 318.8, 80)).ups == 4


def test_rows_of_triangles_turned_by_180_degrees() -> None:
    """The same triangles with their bases along the travel: rows are tumbled instead of columns."""
    layout = lay_out(room(Polygon([(0, 0), (80, 50), (0, 100)]), 80, 318.95))
    assert (layout.ups, layout.pattern) == (5, "tumbled")


def test_tumbled_rows_whose_tabs_lie_side_by_side() -> None:
    """Tabs from 5 to 45 mm: turned, they stand from 55 to 95, beside each other with 10 mm between.

    The second row lies 60 + 4 mm up, its body 4 mm above the tab's end (64 + 30 = 90 + 4): 64 + 90 = 154 mm for two
    rows, where straight ones need 186. Three bodies in line want 3 x 60 + 2 x 4 = 188 mm: two rows are all.
    """
    layout = lay_out(room(with_tabs((5, 45)), 206, 154))
    assert (layout.ups, layout.pattern) == (4, "tumbled")
    assert sorted({blank.y_mm for blank in layout.blanks}) == [10, 74]
    assert layout.gutters_mm == (6.0, 4.0)
    assert "plain rows with the whole gutter between them take 2" in layout.because
    assert lay_out(room(with_tabs((5, 45)), 206, 153.9)).ups == 2


def test_tumbled_rows_that_have_to_be_moved_aside() -> None:
    """A tab in the middle, 30 to 70 mm: turned it stands there too, so the second row is moved aside by 44 mm.

    The tabs then have 4 mm between them. 144 mm of room let it; 143.9 mm do not, and one row is left.
    """
    layout = lay_out(room(with_tabs((30, 70)), 144, 154))
    assert (layout.ups, layout.pattern) == (2, "tumbled")
    assert abs(layout.blanks[0].x_mm - layout.blanks[1].x_mm) == pytest.approx(44, abs=0.011)
    assert lay_out(room(with_tabs((30, 70)), 143.9, 154)).ups == 1


def test_straight_rows_whose_flaps_mesh() -> None:
    """A tab on top at the left and one below at the right: 60 + 30 + 4 = 94 mm from row to row, where boxes need 126.

    Two rows need 94 + 120 = 214 mm and three 308 mm. Turned by 180° the blank is the same, so nothing is turned.
    """
    blank = with_tabs((5, 45), (55, 95))
    layout = lay_out(room(blank, 206, 214))
    assert (layout.ups, layout.pattern) == (4, "meshing")
    assert {blank.turn_deg for blank in layout.blanks} == {0}
    assert lay_out(room(blank, 206, 213.9)).ups == 2


def test_rows_of_both_turns_where_the_grain_does_not_matter() -> None:
    """126 x 166 mm: a row of one and a row of two that are turned, 60 + 6 + 100 = 166; either turn alone takes two.

    With half a gutter round each, a blank takes 106 x 66 = 6,996 mm² of 132 x 172 = 22,704: no more than three.
    """
    layout = lay_out(room(box(0, 0, 100, 60), 126, 166, grain=None, grain_on_blank="any"))
    assert layout.ups == 3
    assert lay_out(room(box(0, 0, 100, 60), 126, 166)).ups == 2


BLUE = {"Sea Blue": 0.9}


@pytest.mark.parametrize(
    ("left", "right", "ups"),
    [(BLUE, BLUE, 3), ({}, {"Sea Blue": 0.01}, 3), (BLUE, {"Sea Blue": 0.8}, 2), (BLUE, {}, 2), (BLUE, None, 2)],
    ids=["alike", "both unbled", "10 % lighter", "one unbled", "one not known"],
)
def test_a_shared_knife_needs_like_colours(left: dict[str, float], right: dict[str, float] | None, ups: int) -> None:
    """Three of 100 mm in 300 mm go with shared knives only; with gutters it is two (206 mm)."""
    inks = {"left": left, **({} if right is None else {"right": right})}
    layout = lay_out(room(box(0, 0, 100, 60), 300, 60, edge_inks=inks))
    assert layout.ups == ups
    assert (layout.gutters_mm or (1, 1))[0] == (0 if ups == 3 else 6)


def test_knives_are_shared_only_where_no_sharp_waste_is_left() -> None:
    """A seam flap that tapers by 15° leaves a wedge at the neighbour's straight edge, which does not come out."""
    tapered = Polygon([(0, 10), (15, 0), (115, 0), (115, 90), (15, 90), (0, 80)])
    inks = dict.fromkeys(("left", "right", "bottom", "top"), BLUE)
    square = lay_out(room(box(0, 0, 115, 90), 345, 90, edge_inks=inks))
    assert (square.ups, square.gutters_mm) == (3, (0.0, 6.0))
    assert lay_out(room(tapered, 345, 90, edge_inks=inks)).ups == 2


def test_the_largest_sheet_is_cut_down_to_what_is_used() -> None:
    """420 x 300 mm take 3 x 4, which need 312 + 10 by 258 + 16 mm."""
    layout = lay_out(room(box(0, 0, 100, 60), 410, 284, sheets_are="largest"))
    assert (layout.ups, layout.sheet) == (12, Size(322, 274))


def test_of_two_sheets_in_stock_the_smaller_one_that_takes_as_many() -> None:
    request = room(box(0, 0, 100, 60), 312, 126, sheets_are="stock")
    larger = Size(400, 180)
    both = type(request)(**{**vars(request), "sheets": (larger, *request.sheets)})
    assert lay_out(both).sheet == Size(322, 142)


def test_versions_share_the_blanks_by_their_quantities() -> None:
    """24,000 and 12,000 on six: four and two, 6,000 sheets; equal shares would take 8,000."""
    layout = lay_out(room(box(0, 0, 100, 60), 312, 126, quantities={"Mint": 24000, "Rose": 12000}))
    assert [blank.version for blank in layout.blanks] == ["Mint"] * 4 + ["Rose"] * 2
    with pytest.raises(NotMeasured, match="7 versions do not go on a sheet of 6 blanks"):
        lay_out(room(box(0, 0, 100, 60), 312, 126, quantities=dict.fromkeys("ABCDEFG", 1)))


def test_a_number_up_that_is_asked_for() -> None:
    """Four of six; five leave the last row short; seven do not fit, and what stops them is said."""
    assert lay_out(room(box(0, 0, 100, 60), 312, 126, ups=4)).ups == 4
    assert lay_out(room(box(0, 0, 100, 60), 312, 126, ups=5)).ups == 5
    with pytest.raises(NotMeasured, match="asks for 7-up, and 6 fit .* One more row would need 66 mm more"):
        lay_out(room(box(0, 0, 100, 60), 312, 126, ups=7))


def test_a_blank_that_does_not_fit_says_what_it_needs() -> None:
    with pytest.raises(NotMeasured, match=r"needs 110 x 76 mm"):
        lay_out(room(box(0, 0, 100, 60), 99, 60))


def test_narrower_gutters_are_an_alternative_and_no_more() -> None:
    """With 6 mm two want 206 mm and there are 204; with 4 mm, the least for the die-cutter, 100 + 4 + 100 do."""
    layout = lay_out(room(box(0, 0, 100, 60), 204, 60, quantity=1000))
    assert layout.ups == 1
    assert [each.says for each in layout.alternatives] == [
        "2-up in plain rows with gutters of 4 mm instead of 6 mm: 500 sheets fewer"
    ]


def test_every_layout_here_stands_before_the_referee() -> None:
    for request in (
        room(Polygon([(0, 0), (100, 0), (50, 80)]), 500, 400),
        room(with_tabs((30, 70)), 500, 440),
        room(with_tabs((5, 45), (55, 95)), 500, 400),
    ):
        layout = lay_out(request)
        assert layout.ups > referee.grid_ups(request)
        assert referee.faults(layout, request) == []

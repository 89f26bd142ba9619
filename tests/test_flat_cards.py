"""Dies without a fold: which outline is taken for the cut."""

import numpy as np
import pytest
import shapely

from preflight.carton.cells.flat_cards import choose_without_folds
from preflight.carton.lines.drawn_lines import CUT
from tests.die_lines import line, rectangle
from tests.test_closed_cells import cells_of, drawn


def chosen(*lines, trim=None):
    """Bounds of the outer edges of what was chosen, and the choice."""
    cells = cells_of(*lines)
    choice = choose_without_folds(cells, trim)
    return sorted(tuple(map(float, cells.outline(group).bounds)) for group in choice.groups), choice


def card(x, y, wide=90, high=50, inside=0):
    return line(rectangle(x + inside, y + inside, x + wide - inside, y + high - inside))


def test_the_only_outline_is_the_cut_on_a_guess():
    bounds, choice = chosen(card(10, 20))
    assert bounds == [(10, 20, 100, 70)]
    assert len(choice.assumed) == 1
    assert choice.alike == ()


@pytest.mark.parametrize(("high", "found"), [(19.9, 0), (20, 1)])
def test_an_outline_of_200_mm2_is_large_enough(high, found):
    assert len(chosen(card(10, 20, 10, high))[0]) == found


def test_nothing_closed_is_no_card():
    assert chosen(line([(10, 20), (90, 20)]))[1].groups == ()


def test_the_outline_of_the_trim_box_goes_before_the_largest():
    lines = [card(0, 0, 300, 200), card(20, 30), card(130, 30)]
    assert chosen(*lines, trim=(20.3, 30, 110, 80))[0] == [(20, 30, 110, 80)]
    assert chosen(*lines, trim=(20.6, 30, 110, 80))[0] != [(20, 30, 110, 80)]


def test_of_two_outlines_in_the_trim_box_the_smaller_one():
    bounds, _ = chosen(card(20, 30), card(20, 30, inside=0.3), trim=(20, 30, 110, 80))
    assert bounds == [(20.3, 30.3, 109.7, 79.7)]


def test_the_largest_of_several_outlines():
    assert chosen(card(10, 20, 60, 40), card(100, 20), card(10, 90, 30, 30))[0] == [(100, 20, 190, 70)]


@pytest.mark.parametrize(("inside", "taken"), [(1.4, 0), (3, 3), (12, 12), (13, 0)])
def test_the_innermost_of_parallel_outlines(inside, taken):
    """Nearer than 1.5 mm it is the same line again, farther than 12 mm something of its own."""
    bounds, choice = chosen(card(10, 20), card(10, 20, inside=inside))
    assert bounds == [(10 + taken, 20 + taken, 100 - taken, 70 - taken)]
    assert ("innermost" in choice.assumed[0]) == bool(taken)


def test_three_outlines_inside_each_other():
    assert chosen(card(10, 20, inside=6), card(10, 20), card(10, 20, inside=3))[0] == [(16, 26, 94, 64)]


def test_an_outline_that_stands_several_times_goes_before_a_larger_one():
    bounds, choice = chosen(card(10, 20), card(10, 80), card(10, 140, 50, 90), card(150, 0, 96, 60))
    assert bounds == [(10, 20, 100, 70), (10, 80, 100, 130), (10, 140, 60, 230)]
    assert "3 times" in choice.assumed[0]


def test_windows_that_are_alike_are_no_cards():
    """Two of 2500 mm2 in a card of 20,000, and in each of two such cards."""
    windows = [card(30, 40, 50, 50), card(110, 40, 50, 50)]
    assert chosen(card(10, 20, 200, 100), *windows)[0] == [(10, 20, 210, 120)]
    others = [card(250, 20, 200, 100), card(270, 40, 50, 50), card(350, 40, 50, 50)]
    assert chosen(card(10, 20, 200, 100), *windows, *others)[0] == [(10, 20, 210, 120), (250, 20, 450, 120)]


def test_of_two_sets_of_alike_outlines_the_one_that_covers_more():
    """Three of 2000 mm2 and two of 4500, drawn in either order; and four of 2000 beside two of 3500."""
    small = [card(10 + 60 * n, 20, 50, 40) for n in range(4)]
    large = [card(10 + 100 * n, 100) for n in range(2)]
    for lines in ([*small[:3], *large], [*large, *small[:3]]):
        assert [bounds[1] for bounds in chosen(*lines)[0]] == [100, 100]
    middle = [card(10 + 100 * n, 100, 70, 50) for n in range(2)]
    for lines in ([*small, *middle], [*middle, *small]):
        assert [bounds[1] for bounds in chosen(*lines)[0]] == [20] * 4


@pytest.mark.parametrize(("wide", "alike"), [(90.2, True), (90.4, True), (91, False)])
def test_outlines_within_half_a_per_cent_are_alike(wide, alike):
    assert len(chosen(card(10, 20), card(10, 80, wide))[0]) == (2 if alike else 1)


def test_outlines_of_one_area_and_another_edge_are_not_alike():
    assert chosen(card(10, 20, 90, 50), card(150, 20, 30, 149))[0] == [(10, 20, 100, 70)]


def test_a_turned_outline_is_alike():
    assert len(chosen(card(10, 20, 90, 50), card(150, 20, 50, 90))[0]) == 2


def test_repeated_outlines_are_taken_by_their_innermost_lines():
    lines = [card(x, 20, inside=inside) for x in (10, 150) for inside in (0, 3)]
    assert chosen(*lines)[0] == [(13, 23, 97, 67), (153, 23, 237, 67)]


@pytest.mark.parametrize(
    ("frame", "taken"), [((0, 0, 200, 92), 1), ((0, 0, 200, 90), 2), ((0, 0, 200, 88), 2), ((0, 0, 250, 100), 1)]
)
def test_alike_outlines_that_fill_half_of_a_frame(frame, taken):
    """Two of 90 x 50 in a frame: 9000 mm2 of 18,400, 18,000, 17,600 and 25,000."""
    bounds, _ = chosen(line(rectangle(*frame)), card(5, 20), card(105, 25))
    assert bounds == ([(5, 20, 95, 70), (105, 25, 195, 75)] if taken == 2 else [frame])


def grid(*widths, heights=(40, 60), at=(10, 20)):
    """Cells side by side, all lines drawn as cuts."""
    x, y = np.cumsum([at[0], *widths]), np.cumsum([at[1], *heights])
    lines = [line([(v, y[0]), (v, y[-1])]) for v in x] + [line([(x[0], v), (x[-1], v)]) for v in y]
    return lines, (x, y)


def test_many_unlike_cells_side_by_side_are_a_carton_whose_folds_are_drawn_like_cuts():
    lines, (x, y) = grid(30, 50)
    cells = cells_of(*lines, card(200, 20, 30, 20))
    choice = choose_without_folds(cells)
    assert choice.groups == ()
    assert len(choice.alike) == 1
    assert choice.assumed == ()
    assert drawn(cells, choice.fold) == [
        (10, 60, 40, 60), (40, 20, 40, 60), (40, 60, 40, 120), (40, 60, 90, 60),
    ]  # fmt: skip
    assert (cells.net.role[choice.fold] == CUT).all()
    assert (x[-1], y[-1]) == (90, 120)


@pytest.mark.parametrize(
    ("widths", "heights", "carton"),
    [
        pytest.param((30, 50, 20), (60,), False, id="three cells"),
        pytest.param((30, 50, 22, 40), (60,), True, id="four"),
        pytest.param((30, 50, 20, 100.5), (60,), False, id="one of them more than half"),
        pytest.param((30, 50, 20, 100), (60,), True, id="one of them half"),
        pytest.param((30, 30, 30, 30), (60,), False, id="all alike"),
        pytest.param((30, 30, 30, 30, 8), (60,), True, id="alike but a flap"),
        pytest.param((30, 30, 30, 30, 6), (60,), False, id="alike but a sliver"),
    ],
)
def test_which_cells_are_a_carton(widths, heights, carton):
    lines, _ = grid(*widths, heights=heights)
    assert (choose_without_folds(cells_of(*lines)).fold is not None) == carton


def test_the_largest_of_two_things_is_looked_at():
    """Two cards in contact beside a carton drawn in one ink, and two larger ones."""
    carton, _ = grid(30, 50, 22, 40)
    small, _ = grid(30, 25, heights=(20,), at=(300, 20))
    large, _ = grid(120, 140, heights=(90,), at=(300, 200))
    assert choose_without_folds(cells_of(*carton, *small)).fold is not None
    assert choose_without_folds(cells_of(*carton, *large)).fold is None


def test_shapes_that_do_not_touch_are_no_carton():
    lines = [card(10 + 110 * n, 20, 80 + 5 * n, 50) for n in range(5)]
    assert choose_without_folds(cells_of(*lines)).fold is None
    assert shapely.box(*chosen(*lines)[0][0]).area == 100 * 50

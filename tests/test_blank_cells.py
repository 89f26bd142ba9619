"""Blanks in reading order, in as many rounds as it takes, and told by ink where nothing else tells them apart."""

import pytest
from shapely import box

from preflight.carton.cells.blank_cells import _in_reading_order, find_blank_cells, told_by_ink
from preflight.carton.lines.drawn_lines import lengths_of, segments_of
from preflight.carton.lines.prepared_lines import prepare_lines
from tests.die_lines import line, rectangle
from tests.test_folding_blanks import folded


@pytest.mark.parametrize(
    ("boxes", "order"),
    [
        pytest.param([(0, 0, 40, 30), (50, 0, 90, 30), (0, 50, 40, 80)], (2, 0, 1), id="rows from the top"),
        pytest.param([(50, 50, 90, 80), (0, 44, 40, 74)], (1, 0), id="a row that is not level"),
        pytest.param([(50, 50, 90, 80), (0, 36, 40, 66)], (1, 0), id="16 of 30 mm in common"),
        pytest.param([(50, 50, 90, 80), (0, 35, 40, 65)], (0, 1), id="15 of 30 mm in common"),
        pytest.param([(50, 20, 90, 80), (0, 21, 40, 31)], (1, 0), id="a low one beside a high one"),
        pytest.param([(50, 20, 90, 80), (0, 14, 40, 24)], (0, 1), id="a low one that is mostly below"),
        pytest.param([(50, 40, 90, 50), (0, 0, 40, 49)], (1, 0), id="a high one beside the low one at the top"),
        pytest.param([], (), id="none"),
    ],
)
def test_blanks_are_numbered_as_one_reads(boxes, order):
    assert _in_reading_order({n: box(*each) for n, each in enumerate(boxes)}) == order


def chosen(*lines, trim=None):
    found = find_blank_cells(segments_of(lines), trim)
    return [tuple(map(float, outline.bounds)) for outline in found.outlines], found


def test_outlines_belong_to_the_groups_in_reading_order():
    lines = [*folded(10, 20), *folded(150, 30, 90, 50), *folded(10, 120)]
    bounds, found = chosen(*lines)
    assert bounds == [(10, 120, 110, 180), (10, 20, 110, 80), (150, 30, 240, 80)]
    assert [found.cells.outline(group) for group in found.groups] == list(found.outlines)


def doubled(x, y):
    """A card with a fold, and 4 mm round it a second outline that the fold runs out to."""
    fold = line([(x + 40, y - 4), (x + 40, y + 64)], "crease")
    return [line(rectangle(x, y, x + 100, y + 60)), line(rectangle(x - 4, y - 4, x + 104, y + 64)), fold]


def test_second_outlines_go_one_after_the_other_before_blanks_are_chosen():
    lines = [*doubled(10, 20), *doubled(150, 20), *doubled(300, 20)]
    bounds, found = chosen(*lines)
    assert bounds == [(6, 16, 114, 84), (146, 16, 254, 84), (296, 16, 404, 84)]
    assert len(found.choice.assumed) == 3
    bounds, found = chosen(*doubled(150, 20), trim=(150, 20, 250, 80))
    assert bounds == [(150, 20, 250, 80)]
    assert (len(found.choice.notes), found.choice.assumed) == (1, ())


def test_lines_within_an_outline_fold_where_all_are_drawn_alike():
    inner = [line([(40, 20), (40, 80)]), line([(75, 20), (75, 80)]), line([(10, 45), (110, 45)])]
    bounds, found = chosen(line(rectangle(10, 20, 110, 80)), *inner)
    assert bounds == [(10, 20, 110, 80)]
    assert len(found.choice.alike) == 1
    folds = found.cells.net.role != 0
    assert lengths_of(found.cells.net.xy[folds]).sum() == pytest.approx(220)


def test_nothing_encloses_a_blank():
    bounds, found = chosen(line([(1, 2), (30, 2)]))
    assert (bounds, found.groups) == ([], ())


ALIKE = [
    line(rectangle(10, 20, 110, 80)),
    line([(40, 20), (40, 80)]),
    line([(75, 20), (75, 80)]),
    line([(10, 45), (110, 45)]),
]


def drawn_in(*inks):
    """An outline, two upright lines and a level one within it, each in an ink."""
    return prepare_lines([line(item.points, drawn_in=ink) for item, ink in zip(ALIKE, inks, strict=True)])


@pytest.mark.parametrize(
    ("inks", "cut"),
    [
        pytest.param(("Red", "Blue", "Blue", "Blue"), "Red", id="two inks"),
        pytest.param(("Red", "Blue", "Blue", "Green"), "Red", id="three"),
        pytest.param(("Red", "Blue", "Grey", "Green"), "Red", id="four"),
        pytest.param(("Red", "Red", "Red", "Red"), None, id="one"),
        pytest.param(("Red", "Red", "Blue", "Blue"), None, id="the outline and a line within in one ink"),
    ],
)
def test_the_ink_of_what_encloses_the_others_cuts(inks, cut):
    found = told_by_ink(drawn_in(*inks), None)
    if cut is None:
        assert found is None
        return
    assert found is not None
    prepared, segments, cells = found
    assert [item.role for item in prepared.lines] == ["cut" if ink == cut else "crease" for ink in inks]
    assert sorted(set(segments.role.tolist())) == [0, 3]
    assert [outline.bounds for outline in cells.outlines] == [(10, 20, 110, 80)]
    assert len(prepared.assumed) == 1
    taken, others = prepared.assumed[0].split(" and ")
    assert cut in taken
    assert [ink in others for ink in sorted(set(inks))] == [ink != cut for ink in sorted(set(inks))]


def test_five_inks_are_a_drawing():
    prepared = prepare_lines(
        [*drawn_in("Red", "Blue", "Grey", "Green").lines, line([(90, 20), (90, 80)], drawn_in="Pink")]
    )
    assert told_by_ink(prepared, None) is None

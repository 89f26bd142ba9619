"""An area drawn on one blank holds for all blanks alike, turned with them; the others are not checked."""

import pytest
from shapely.geometry import MultiLineString, Polygon

from preflight.carton.alike_blanks import Cut, for_all_alike
from preflight.carton.die import Area
from preflight.judging.judge import judge
from tests.cartons import CartonDrawing, draw_die, reverse_tuck
from tests.drawn import Drawing, Point
from tests.house import job_of, rulebook

BROWN = "Mill Brown"
CARTON = reverse_tuck(at=(10, 10))  # 195 x 180 mm
CODE = (120, 70, 150, 82)  # on the third panel of the first carton, off its middle
STEP = 200  # from one carton to the next, mm


def moved(carton: CartonDrawing, across: float, up: float, *, turned: bool = False) -> CartonDrawing:
    """The carton somewhere else; turned by half a turn within its own box where that is asked for."""
    x0, y0, x1, y1 = carton.box

    def there(points):
        return [((x0 + x1 - x if turned else x) + across, (y0 + y1 - y if turned else y) + up) for x, y in points]

    return CartonDrawing(
        [there(line) for line in carton.cut],
        [there(line) for line in carton.crease],
        there(carton.outline),
        there(carton.glue_flap),
        [there(panel) for panel in carton.panels],
        {name: there(flap) for name, flap in carton.flaps.items()},
        (x0 + across, y0 + up, x1 + across, y1 + up),
    )


def turned_box(box, carton=CARTON, across=0.0, up=0.0):
    """Where a box of the first carton lies on one that is turned and moved."""
    x0, y0, x1, y1 = carton.box
    return (x0 + x1 - box[2] + across, y0 + y1 - box[3] + up, x0 + x1 - box[0] + across, y0 + y1 - box[1] + up)


def sheet(*inked, other: CartonDrawing | None = None) -> Drawing:
    """Two cartons below and two above, the upper right one turned; ink in the boxes."""
    page = Drawing(2 * STEP + 20, 2 * 190 + 20)
    for box in inked:
        page.fill(BROWN, rect=box)
    for carton in (CARTON, moved(CARTON, STEP, 0), other or moved(CARTON, 0, 190)):
        draw_die(page, carton)
    draw_die(page, moved(CARTON, STEP, 190, turned=True))
    return page


def said(page: Drawing, folder, **keys):
    ticket = {"artwork_is": "sheet", "areas": [{"is": "code", "box": list(CODE), **keys}]}
    return judge(job_of(page, folder, ticket), rulebook(), only={"code-area-inked", "ticket-statement-unused"})


BLANKS = {
    "the one that it is drawn on": (CODE, 1),
    "one beside it": ((CODE[0] + STEP, CODE[1], CODE[2] + STEP, CODE[3]), 2),
    "one above it": ((CODE[0], CODE[1] + 190, CODE[2], CODE[3] + 190), 3),
    "one that is turned": (turned_box(CODE, across=STEP, up=190), 4),
}


@pytest.mark.parametrize("where", BLANKS)
def test_a_code_area_drawn_on_one_blank_is_looked_at_on_all_alike(where, tmp_path):
    (x0, y0, x1, y1), _ = BLANKS[where]
    found = said(sheet((x0 + 10, y0 + 4, x0 + 15, y0 + 6)), tmp_path)
    assert [(f.rule, f.verdict.word) for f in found.findings] == [("code-area-inked", "fail")]
    box = found.findings[0].places[0].box_mm
    assert x0 <= box[0] < box[2] <= x1
    assert y0 <= box[1] < box[3] <= y1
    assert not found.not_checked


def test_the_turned_place_of_an_unturned_blank_is_free(tmp_path):
    x0, y0, x1, y1 = turned_box(CODE)
    assert not said(sheet((x0, y0, x1, y1)), tmp_path).findings


def test_an_area_for_one_blank_leaves_the_others_unchecked_by_number(tmp_path):
    blanks = job_of(sheet(), tmp_path, {}).die.blanks
    first = next(b.number for b in blanks if b.outline.bounds[2] < 210 and b.outline.bounds[3] < 200)
    others = sorted({1, 2, 3, 4} - {first})
    (x0, y0, _, _), _ = BLANKS["one beside it"]
    found = said(sheet((x0, y0, x0 + 5, y0 + 5)), tmp_path, blank=first)
    assert not found.findings  # the ink stands on another blank
    (entry,) = found.not_checked
    assert entry.because.endswith(f"blanks {others[0]}, {others[1]} and {others[2]}")
    assert [place.path for place in entry.places] == [f"blank {number}" for number in others]


def test_a_blank_of_another_shape_is_not_checked_and_is_named(tmp_path):
    other = reverse_tuck(width=55, height=80, at=(10, 200))
    found = said(sheet(other=other), tmp_path)
    (entry,) = found.not_checked
    assert len(entry.places) == 1
    assert entry.places[0].box_mm == pytest.approx(other.box, abs=0.3)
    assert entry.because.endswith(entry.places[0].path)


@pytest.mark.parametrize(
    ("blank", "words"), [(9, "the page has 4 blanks"), (2, "it lies on blank")], ids=["no such blank", "another blank"]
)
def test_an_area_for_a_blank_that_it_does_not_lie_on_is_asked_about(blank, words, tmp_path):
    blanks = job_of(sheet(), tmp_path, {}).die.blanks
    number = next(b.number for b in blanks if b.outline.bounds[2] < 210 and b.outline.bounds[3] < 200)
    blank = blank if blank == 9 else number % 4 + 1
    found = said(sheet(), tmp_path, blank=blank)
    assert [f.rule for f in found.findings] == ["ticket-statement-unused"]
    assert words in found.findings[0].says


# Without a page ----------------------------------------------------------------------------------------------------


def cut(at_x: float, at_y: float, *, turns: int = 0, fold: float | None = 12) -> Cut:
    """A plate of 30 x 20 mm with a bite at one corner, turned by quarters, and a fold off its middle."""
    corners: list[Point] = [(0, 0), (30, 0), (30, 20), (4, 20), (4, 14), (0, 14)]
    folds: list[list[Point]] = [] if fold is None else [[(fold, 0), (fold, 20)]]
    for _ in range(turns):
        corners = [(-y, x) for x, y in corners]
        folds = [[(-y, x) for x, y in line] for line in folds]
    x0, y0 = min(x for x, _ in corners), min(y for _, y in corners)

    def there(points):
        return [(x - x0 + at_x, y - y0 + at_y) for x, y in points]

    return Cut(Polygon(there(corners)), MultiLineString([there(line) for line in folds]))


def area(box, kind="code", **keys) -> Area:
    x0, y0, x1, y1 = box
    return Area(kind, Polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]), "stated", "stated on the ticket", **keys)


PLACES = {0: (120, 103, 126, 105), 1: (115, 120, 117, 126), 2: (104, 115, 110, 117), 3: (103, 104, 105, 110)}
"""A box of 6 x 2 mm, 20 mm from the left and 3 mm from below, on the plate at (100, 100) turned so many quarters."""


@pytest.mark.parametrize("turns", PLACES)
def test_an_area_turns_with_its_blank(turns):
    shared = for_all_alike([[area((20, 3, 26, 5))], []], [cut(0, 0), cut(100, 100, turns=turns)])
    assert shared[1][0].shape.bounds == pytest.approx(PLACES[turns])
    assert "blank 1" in shared[1][0].because


def test_a_mirrored_blank_is_another_one():
    other = cut(100, 0)
    mirrored = Cut(Polygon([(230 - x, y) for x, y in other.outline.exterior.coords]), other.creases)
    assert for_all_alike([[area((20, 3, 26, 5))], []], [cut(0, 0), mirrored])[1] == []


@pytest.mark.parametrize(("fold", "lent"), [(12.5, 1), (13.2, 0), (None, 0)], ids=["near", "elsewhere", "none"])
def test_blanks_are_alike_where_their_folds_are(fold, lent):
    assert len(for_all_alike([[area((20, 3, 26, 5))], []], [cut(0, 0), cut(100, 0, fold=fold)])[1]) == lent


def test_a_blank_keeps_areas_of_its_own_and_takes_the_kinds_that_it_lacks():
    own = area((110, 3, 116, 5))
    shared = for_all_alike([[area((20, 3, 26, 5)), area((1, 1, 3, 3), "glue flap")], [own]], [cut(0, 0), cut(100, 0)])
    assert [(each.kind, each.shape.bounds[0]) for each in shared[1]] == [("code", 110), ("glue flap", 101)]
    assert len(shared[0]) == 2


def test_an_area_for_one_blank_is_lent_to_none():
    assert for_all_alike([[area((20, 3, 26, 5), only_on=1)], []], [cut(0, 0), cut(100, 0)])[1] == []


def plain(at_x: float) -> Cut:
    return Cut(Polygon([(at_x, 0), (at_x + 30, 0), (at_x + 30, 20), (at_x, 20)]), MultiLineString())


@pytest.mark.parametrize(
    ("box", "lent"), [((20, 3, 26, 5), 0), ((12, 9, 18, 11), 1)], ids=["off the middle", "in the middle"]
)
def test_a_blank_that_looks_the_same_turned_round_is_lent_only_what_lies_the_same(box, lent):
    assert len(for_all_alike([[area(box)], []], [plain(0), plain(100)])[1]) == lent

"""A die that nobody called one: which strokes are tried in which order, and what of them is taken for a carton."""

from types import SimpleNamespace

import numpy as np
import pytest
from shapely import MultiLineString, Polygon, box

from preflight.artwork.page.colours import Colour, Colours, Family
from preflight.artwork.page.objects import Painted
from preflight.artwork.read_artwork import read_artwork
from preflight.carton import undeclared_die
from preflight.carton.die import Area, Blank, Die
from preflight.carton.undeclared_die import _candidates, _filled_before, _is_carton, _lines
from tests.cartons import draw_die, reverse_tuck
from tests.die_lines import line, rectangle
from tests.drawn import Drawing
from tests.report_jobs import drawn_page

STROKE, FILL = Painted.STROKE, Painted.FILL
BLACK, CYAN, MARKS, SHADED, GREY = range(5)


class Rows(SimpleNamespace):
    def __len__(self):
        return len(self.painted)


def page(*rows, width=200, height=100):
    """Rows: box, colour, and what else is unusual of a thin stroke."""
    colours = Colours()
    for number in range(5):
        tints = (("Cyan", 1.0),) if number == CYAN else (("Black", 1.0),)
        colour = Colour("DeviceCMYK", tints, registration=number == MARKS, varies=number == SHADED)
        colours.add(Family.of(colour), np.array([number]))
    usual = {"painted": STROKE, "visible": True, "line_width_mm": 0.25}
    columns = {
        "box_mm": np.array([each for each, *_ in rows], float).reshape(-1, 4),
        "colour": np.array([colour for _, colour, *_ in rows], np.int32),
        **{key: np.array([{**usual, **(more[0] if more else {})}[key] for _, _, *more in rows]) for key in usual},
    }
    made = drawn_page(1, width, height, [], None)
    vars(made)["objects"] = Rows(**columns, colours=colours)
    return made


LARGE, WIDE, LOW = (10, 10, 190, 90), (10, 10, 150, 60), (10, 10, 190, 49)


def tried(*rows, taken=()):
    return [group.tolist() for group in _candidates(page(*rows), taken)]


@pytest.mark.parametrize(
    ("more", "thin"),
    [
        ({}, True), ({"line_width_mm": 0.6}, True), ({"line_width_mm": 0.61}, False), ({"line_width_mm": 0.0}, False),
        ({"visible": False}, False), ({"painted": FILL}, False), ({"painted": Painted.TEXT}, False),
    ],
    ids=str,
)  # fmt: skip
def test_thin_strokes_are_tried(more, thin):
    assert tried((LARGE, BLACK, more)) == [[0]] * thin


def test_strokes_whose_colour_varies_and_those_taken_are_not_tried():
    assert tried((LARGE, SHADED)) == []
    assert tried((LARGE, BLACK), (LARGE, BLACK), taken={0}) == [[1]]


@pytest.mark.parametrize(
    ("box_mm", "spans"),
    [((10, 10, 90, 60), True), ((10, 10, 89.9, 60), False), ((10, 10, 150, 50), True), ((10, 10, 150, 49.9), False)],
)
def test_strokes_of_a_colour_span_two_fifths_of_the_page(box_mm, spans):
    assert tried((box_mm, BLACK)) == [[0]] * spans
    assert tried((box_mm, MARKS)) == [[0]] * spans


def test_the_colour_that_spans_most_is_tried_first_then_all_large_ones_then_small_ones_too_then_marks():
    rows = [(WIDE, BLACK), (LOW, BLACK), (LOW, GREY), (LARGE, CYAN), (LARGE, MARKS)]
    assert tried(*rows) == [[3], [0, 1], [0, 1, 3], [0, 1, 2, 3], [4]]
    assert tried((LARGE, CYAN), (LOW, BLACK)) == [[0], [0, 1]]
    assert tried((LOW, BLACK), (LOW, CYAN)) == []
    assert tried(((10, 10, 50, 90), CYAN), ((100, 20, 190, 60), CYAN), (WIDE, BLACK))[:3] == [[0, 1], [2], [0, 1, 2]]


def test_no_more_than_2000_strokes_of_a_colour_are_tried():
    assert [len(group) for group in tried(*[(LARGE, BLACK)] * 2000)] == [2000]
    assert tried(*[(LARGE, BLACK)] * 2001) == []
    assert tried(*[(LARGE, MARKS)] * 2001) == []
    assert [len(group) for group in tried(*[(LARGE, BLACK)] * 1500, *[(LARGE, CYAN)] * 501)] == [1500, 501]


@pytest.mark.parametrize(
    ("stroke", "width", "same"),
    [
        ((10, 20, 60, 50), 0.25, True), ((9.85, 19.85, 60.15, 50.15), 0.25, True), ((9.8, 20, 60, 50), 0.25, False),
        ((10, 20, 60, 50.2), 0.25, False), ((9.8, 19.8, 60.2, 50.2), 0.5, True),
    ],
)  # fmt: skip
def test_a_stroke_round_what_is_filled_just_before(stroke, width, same):
    filled = ((10, 20, 60, 50), BLACK, {"painted": FILL, "line_width_mm": 0.0})
    found = _filled_before(page((LARGE, BLACK), filled, (stroke, BLACK, {"line_width_mm": width}), (stroke, BLACK)))
    assert found.tolist() == [False, False, same, False]
    assert _filled_before(page(filled)).tolist() == [False]


def blank(outline, *panels, areas=()):
    return Blank(1, outline, MultiLineString(), panels, (), areas)


def row(*widths, x=10.0, high=60.0):
    places = np.cumsum([x, *widths])
    return [box(a, 20, b, 20 + high) for a, b in zip(places, places[1:], strict=False)]


NOTCHED = box(10, 20, 190, 80).difference(box(10, 20, 30, 60))
WHOLE = box(10, 20, 190, 80)
STRAIGHT = Area("glue flap", box(10, 20, 25, 80), "assumed", "")
TAPERED = Area("glue flap", Polygon([(25, 20), (25, 80), (10, 76), (10, 24)]), "assumed", "")
CODE = Area("code", box(10, 20, 25, 80), "assumed", "")


@pytest.mark.parametrize(
    ("outline", "areas", "uncertain", "trim", "carton"),
    [
        pytest.param(NOTCHED, (), (), None, True, id="notched and sure"),
        pytest.param(NOTCHED, (), ("alike",), None, False, id="notched and alike"),
        pytest.param(WHOLE, (), (), None, False, id="a rectangle"),
        pytest.param(WHOLE, (), (), (10.4, 20, 190, 79.6), True, id="a rectangle on the trim box"),
        pytest.param(WHOLE, (), (), (10.6, 20, 190, 80), False, id="a rectangle beside it"),
        pytest.param(WHOLE, (), ("alike",), (10, 20, 190, 80), False, id="on the trim box and alike"),
        pytest.param(WHOLE, (STRAIGHT,), (), None, True, id="a rectangle with a flap"),
        pytest.param(WHOLE, (STRAIGHT,), ("alike",), None, False, id="with a straight flap and alike"),
        pytest.param(WHOLE, (TAPERED,), ("alike",), None, True, id="with a tapered flap and alike"),
        pytest.param(WHOLE, (STRAIGHT, TAPERED), ("alike",), None, True, id="the second flap tapered"),
        pytest.param(WHOLE, (CODE,), (), None, False, id="another area"),
    ],
)
def test_what_is_taken_for_a_carton(outline, areas, uncertain, trim, carton):
    die = Die("read", "", (blank(outline, *row(60, 60, 60), areas=areas),), uncertain=uncertain)
    assert _is_carton(die, page(), trim) is carton


@pytest.mark.parametrize(
    ("widths", "high", "carton"),
    [
        ((60, 60, 60), 60, True),
        ((60, 60), 60, False),
        ((10, 10, 10), 60, True),
        ((9.9, 60, 60), 60, False),
        ((60, 60, 60), 9.9, False),
    ],
)
def test_a_carton_has_three_panels_of_10_mm(widths, high, carton):
    die = Die("read", "", (blank(NOTCHED, *row(*widths, high=high)),))
    assert _is_carton(die, page(), None) is carton


@pytest.mark.parametrize(
    ("width", "height", "carton"), [(450, 100, True), (451, 100, False), (200, 150, True), (200, 151, False)]
)
def test_a_carton_spans_two_fifths_of_the_page(width, height, carton):
    """180 x 60 mm."""
    die = Die("read", "", (blank(NOTCHED, *row(60, 60, 60)),))
    assert _is_carton(die, page(width=width, height=height), None) is carton


def test_the_largest_of_several_blanks_counts_and_all_span_the_page():
    small, large = blank(box(300, 20, 340, 50), *row(5)), blank(NOTCHED, *row(60, 60, 60))
    assert _is_carton(Die("read", "", (small, large)), page(width=820), None)
    assert not _is_carton(Die("read", "", (large,)), page(width=820), None)
    assert not _is_carton(Die("none", ""), page(), None)


@pytest.fixture
def read(tmp_path):
    return lambda drawing: read_artwork(drawing.save(tmp_path / "art.pdf")).pages[0]


CARTON = reverse_tuck(at=(10, 10))


def find_undeclared(*args):
    return undeclared_die.find_undeclared(*args)


def test_lines_of_the_artwork_are_as_drawn(read):
    drawing = Drawing(90, 60).stroke((0, 0, 0, 1), rectangle(5, 6, 15, 26)[:-1])
    drawing.stroke((1, 0, 0.25, 0), [(20, 5), (20, 30), (31, 30)], width_mm=0.5, close=False, dash_mm=(3, 1))
    [closed, dashed] = _lines(read(drawing), np.array([0, 1]))
    assert closed.closed
    assert (closed.role, closed.filled, closed.dashed, closed.known, closed.row) == (
        "unknown",
        False,
        False,
        "assumed",
        0,
    )
    assert (closed.drawn_in, closed.inks) == ("Black", ("Black",))
    assert dashed.points == pytest.approx(np.array([[20, 5], [20, 30], [31, 30]]), abs=0.01)
    assert (dashed.dashed, dashed.drawn_in, dashed.row) == (True, "Cyan, Yellow", 1)
    assert dashed.width_mm == pytest.approx(0.5, abs=0.01)


def test_a_die_in_two_inks_is_found_on_a_guess(read):
    drawing = Drawing(215, 200)
    draw_die(drawing, CARTON, cut=(0, 0, 0, 1), crease=(1, 0, 0, 0))
    die = find_undeclared(read(drawing), [], None, False)
    assert die.found == "assumed"
    assert [b.outline.bounds for b in die.blanks] == [pytest.approx((10, 10, 205, 190), abs=0.01)]
    assert die.suspected is None
    assert "Black" in die.because


def cross(drawing, ink, scale=1.0):
    """A panel with one on each side of it, all in solid lines of one ink."""
    outline = [
        (30, 10),
        (90, 10),
        (90, 50),
        (190, 50),
        (190, 120),
        (90, 120),
        (90, 190),
        (30, 190),
        (30, 120),
        (12, 120),
        (12, 50),
        (30, 50),
    ]
    drawing.stroke(ink, [(x * scale, y * scale) for x, y in outline])
    return drawing.stroke(ink, [(x * scale, y * scale) for x, y in rectangle(30, 50, 90, 120)[:-1]])


def test_one_in_solid_lines_of_one_ink_without_a_flap_is_only_suspected(read):
    areas = [Area("code", box(1, 2, 3, 4), "stated", "")]
    die = find_undeclared(read(cross(Drawing(215, 200), (0, 0, 0, 1))), areas, None, False)
    assert die.found == "none"
    assert die.blanks == ()
    assert die.suspected.panels == 5
    assert die.loose_areas == tuple(areas)


def test_nothing_is_found_on_a_page_without_thin_strokes(read):
    assert find_undeclared(read(Drawing(90, 60).fill((0, 0, 0, 1), rect=(5, 5, 80, 50))), [], None, False) is None
    assert find_undeclared(read(Drawing(90, 60)), [], None, False) is None


def test_the_cut_is_looked_for_round_creases_that_are_named(read):
    drawing = Drawing(215, 200)
    draw_die(drawing, CARTON, cut=(0, 0, 0, 1), crease="Creasing")
    drawn = read(drawing)
    named = [line(points, "crease", drawn_in="Creasing", row=4 + n) for n, points in enumerate(CARTON.crease)]
    die = find_undeclared(drawn, [], None, False, named)
    assert die.found == "assumed"
    assert len(die.blanks) == 1
    assert "Creasing" in die.because
    assert "Black" in die.because
    assert die.drawn_in == {"cut": ("Black",), "crease": ("Creasing",)}


def test_of_two_suspected_dies_the_larger_one_is_asked_about(read):
    drawing = cross(cross(Drawing(215, 200), (1, 0, 0, 0), 0.8), (0, 0, 0, 1))
    die = find_undeclared(read(drawing), [], None, False)
    assert die.suspected.inks == ("Black",)
    assert die.suspected.box_mm == pytest.approx((12, 10, 190, 190), abs=0.01)


def test_a_drawing_of_too_many_points_does_not_hide_a_die_in_another_ink(read):
    """20,001 points in cyan, all over the page, and the carton in solid and dashed lines of black."""
    drawing = Drawing(215, 200).stroke(
        (1, 0, 0, 0), [(5 + n / 100, 5 + 190 * (n % 2)) for n in range(20_001)], close=False
    )
    draw_die(drawing, CARTON, cut=(0, 0, 0, 1), crease=(0, 0, 0, 1), crease_dash_mm=(3, 1.5))
    die = find_undeclared(read(drawing), [], None, False)
    assert die.found == "assumed"
    assert len(die.blanks) == 1
    assert set(die.drawn_in["cut"]) == {"Black"}

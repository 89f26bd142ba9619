"""The die of a page: whose trim box counts, lines on layers that are off, and where nothing is called a cut."""

import pytest

from preflight.artwork.page.page import PageBoxes
from preflight.artwork.read_artwork import read_artwork
from preflight.carton.read_die import _own_trim, read_die
from preflight.inputs.ticket import Ticket
from tests.cartons import draw_die, reverse_tuck
from tests.die_lines import rectangle
from tests.drawn import Drawing
from tests.report_jobs import drawn_page

CARTON = reverse_tuck(at=(10, 10))
BOX = (10, 10, 205, 190)
K, CYAN = (0, 0, 0, 1), (1, 0, 0, 0)


@pytest.fixture
def read(tmp_path):
    def read_page(page, **keys):
        job = Ticket.model_validate(keys) if keys else None
        return read_die(read_artwork(page.save(tmp_path / "die.pdf"), job).pages[0], job)

    return read_page


def page(width=215, height=200, **keys):
    return Drawing(width, height, **keys)


def bounds(die):
    return [pytest.approx(blank.outline.bounds, abs=0.01) for blank in die.blanks]


def card(drawing, x, y, wide=90, high=60, fold=40, cut="Cutting", crease="Creasing"):
    """A card with an upright fold."""
    drawing.stroke(cut, rectangle(x, y, x + wide, y + high)[:-1])
    if fold:
        drawing.stroke(crease, [(x + fold, y), (x + fold, y + high)], close=False)
    return drawing


@pytest.mark.parametrize(
    ("trim", "own"),
    [
        (None, False), ((0, 0, 215, 200), False), ((0.4, 0, 215, 199.6), False), ((0.5, 0, 215, 200), True),
        ((0, 0.5, 215, 200), True), ((0, 0, 214.5, 200), True), ((0, 0, 215, 199.5), True), ((10, 10, 205, 190), True),
    ],
)  # fmt: skip
def test_a_trim_box_that_is_the_page_says_nothing(trim, own):
    drawn = drawn_page(1, 215, 200, [], None)
    drawn.boxes = PageBoxes((0, 0, 215, 200), trim=trim)
    assert _own_trim(drawn) == (trim if own else None)


@pytest.mark.parametrize(("trim", "taken"), [((20, 20, 110, 80), (20, 20, 110, 80)), (None, (4, 6, 180, 150))])
def test_the_trim_box_settles_which_outline_is_the_cut(trim, taken, read):
    drawing = card(page(trim=trim), 20, 20, fold=0).stroke("Cutting", rectangle(4, 6, 180, 150)[:-1])
    assert bounds(read(drawing)) == [taken]


def test_an_empty_page_has_no_die(read):
    die = read(page())
    assert (die.found, die.blanks, die.notes, die.uncertain) == ("none", (), (), ())


def test_areas_without_a_die_lie_loose(read):
    die = read(page(), areas=[{"is": "code", "box": [10, 20, 30, 40]}])
    assert [area.shape.bounds for area in die.loose_areas] == [(10, 20, 30, 40)]
    assert die.blanks == ()


@pytest.mark.parametrize("ticket", [{}, {"artwork_is": "sheet"}, {"artwork_is": "one-up"}], ids=str)
def test_two_blanks_on_what_the_ticket_calls_a_one_up_are_told(ticket, read):
    die = read(card(card(page(), 10, 20), 110, 100), **ticket)
    assert len(die.blanks) == 2
    assert any("one-up" in note for note in die.notes) == (ticket.get("artwork_is") == "one-up")


def both(layer_on, hidden_cut=True, hidden_crease=True, visible_crease=True):
    """A card drawn plainly, and 6 mm farther right the parts of another one on a layer."""
    drawing = card(page(), 10, 20, fold=40 if visible_crease else 0)
    drawing.layer("Old die", on=layer_on)
    if hidden_cut:
        drawing.stroke("Cutting", rectangle(120, 30, 200, 90)[:-1])
    if hidden_crease:
        drawing.stroke("Creasing", [(60, 20), (60, 80)], close=False)
    return drawing.end_layer()


def folds(die):
    return sorted(round(line.bounds[0]) for line in die.blanks[0].creases.geoms)


def test_lines_of_a_layer_that_is_off_are_left_out_beside_a_visible_die(read):
    die = read(both(False))
    assert bounds(die) == [(10, 20, 100, 80)]
    assert folds(die) == [50]
    assert any("Old die" in note for note in die.notes)


def test_lines_of_a_layer_that_is_on_are_not(read):
    die = read(both(True))
    assert folds(die) == [50, 60]
    assert not any("Old die" in note for note in die.notes)


def test_folds_of_a_layer_that_is_off_are_kept_where_the_visible_die_has_none(read):
    die = read(both(False, visible_crease=False))
    assert bounds(die) == [(10, 20, 100, 80)]
    assert folds(die) == [60]
    assert any("Old die" in note for note in die.notes)
    only_folds = read(both(False, visible_crease=False, hidden_cut=False))
    assert folds(only_folds) == [60]
    assert not any("Old die" in note for note in only_folds.notes)


def test_a_layer_that_is_off_is_used_where_nothing_visible_makes_a_die(read):
    drawing = page().stroke("Cutting", [(5, 5), (5, 190)], close=False).layer("Die", on=False)
    die = read(card(drawing, 20, 30).end_layer())
    assert bounds(die) == [(20, 30, 110, 90)]
    assert not any("switched off" in note for note in die.notes)


def test_names_that_are_missing_are_told_with_a_die_and_without(read):
    with_one = read(card(page(), 10, 20), die={"lines": {"perforate": "Zebra"}})
    assert [each.statement for each in with_one.unusable] == ["die.lines.perforate: Zebra"]
    assert with_one.found == "read"
    without = read(page(), die={"lines": {"cut": "Zebra", "crease": "Yak"}})
    assert without.found == "none"
    assert ["Zebra" in without.because, "Yak" in without.because] == [True, True]
    assert without.notes == ()


def test_a_process_ink_of_the_ticket_is_asked_only_where_nothing_else_is_cut(read):
    ticket = {"die": {"lines": {"cut": "Black"}}}
    drawing = card(page().fill(K, rect=(150, 120, 160, 140)), 10, 20, cut=K)  # black is an ink of the artwork
    assert read(drawing, **ticket).found == "stated"
    drawing.stroke("Cutting", rectangle(120, 30, 200, 90)[:-1])
    assert bounds(read(drawing, **ticket)) == [(120, 30, 200, 90)]


@pytest.mark.parametrize(("count", "more"), [(6, False), (7, True)])
def test_six_reasons_are_told(count, more, read):
    """Each ink of the die has one."""
    names = ["Cutting", "Creasing", "Perforation", "Cut line", "Crease line", "Half-cut", "Fold line"][:count]
    drawing = card(page(), 10, 20)
    for n, name in enumerate(names[2:]):
        drawing.stroke(name, [(12 + n, 25), (12 + n, 30)], close=False)
    because = read(drawing).because
    assert because.count("named in") == min(count, 6)
    assert ("…" in because) == more


def test_words_in_a_die_ink_are_counted(read):
    drawing = card(page(), 10, 20).text("Die 4471", (120, 120), 8, "Cutting").text("Rev C", (120, 100), 8, "Creasing")
    assert any("2 words" in note for note in read(drawing).notes)


def test_creases_called_so_are_a_die_with_the_outline_round_them(read):
    drawing = page()
    draw_die(drawing, CARTON, cut=K, crease="Creasing")
    die = read(drawing)
    assert (die.found, bounds(die)) == ("assumed", [BOX])
    lonely = page()
    for points in CARTON.crease:
        lonely.stroke("Creasing", points, close=False)
    found = read(lonely)
    assert found.found == "none"
    assert "none is named as a cut line" in found.because
    assert "Creasing" in found.because


def test_a_die_nobody_named_is_looked_for_with_the_trim_box(read):
    """Five panels without a flap, in one ink."""
    places = (10, 70, 100, 160, 190)

    def sleeve(**keys):
        drawing = page(**keys).stroke(K, rectangle(10, 20, 190, 180)[:-1])
        for x in places[1:-1]:
            drawing.stroke(K, [(x, 20), (x, 180)], close=False, dash_mm=(3, 1.5))
        return drawing

    assert bounds(read(sleeve(trim=(10, 20, 190, 180)))) == [(10, 20, 190, 180)]
    assert read(sleeve()).blanks == ()

"""What a die says of itself: its lines, its areas, what was done about odd lines, and what is in doubt."""

import pytest
import shapely
from shapely import box

from preflight.carton import build_die as of_lines
from preflight.carton.die import Area
from tests.cartons import reverse_tuck
from tests.die_lines import arrow, carton_lines, line, rectangle, sleeve
from tests.test_folding_blanks import folded

CARTON = reverse_tuck(at=(10, 10))


def build_die(*args, **keys):
    return of_lines.build_die(*args, **keys)


def area(kind, *bounds, known="stated"):
    return Area(kind, box(*bounds), known, "said so")


def told(die, *words):
    """How many of the notes have all of these words."""
    return sum(all(word in note for word in words) for note in die.notes)


def bounds(die):
    return [blank.outline.bounds for blank in die.blanks]


# What it is made of --------------------------------------------------------------------------------------------------


def test_nothing_drawn_is_no_die_and_areas_lie_loose():
    code = area("code", 1, 2, 30, 40)
    for lines in ([], [line([(5, 5), (5, 5)])]):
        die = build_die(lines, [code])
        assert (die.found, die.blanks, die.loose_areas, die.uncertain) == ("none", (), (code,), ())
        assert die.because


def test_lines_that_enclose_nothing_are_kept_to_be_shown():
    code = area("code", 1, 2, 30, 40)
    lines = [line([(10, 20), (10, 80), (100, 80)], drawn_in="Red"), line([(10, 18), (60, 18)], drawn_in="Blue")]
    die = build_die(lines, [code])
    assert (die.found, die.loose_areas) == ("none", (code,))
    assert die.left_out.length == 150 + 50
    assert "Blue, Red" in die.because
    assert len(die.uncertain) == 1
    assert "2.0 mm at (10, 19)" in die.uncertain[0]
    assert "2.0 mm at (10, 19)" in die.because


@pytest.mark.parametrize(("points", "read"), [(40_000, True), (40_001, False)])
def test_a_die_of_more_than_40_000_points_is_not_read(points, read):
    code = area("code", 1, 2, 30, 40)
    die = build_die([line([(5, 5)] * points)], [code])
    assert bool(die.uncertain) != read
    assert die.loose_areas == (code,)


def test_a_die_has_the_inks_rows_and_lines_of_each_role():
    lines = [
        line(rectangle(10, 20, 110, 80), drawn_in="Red, Blue", inks=("Red", "Blue"), row=4),
        line([(40, 20), (40, 80)], "crease", drawn_in="Green", row=9),
        line([(70, 20), (70, 80)], "crease", drawn_in="Green", row=7),
        line([(20, 20), (20, 80)], "perforate", drawn_in="Grey"),
        line([(300, 20), (300, 80)], "crease", drawn_in="Pink", row=11),
    ]
    die = build_die(lines)
    assert die.drawn_in == {"cut": ("Blue", "Red"), "crease": ("Green",), "perforate": ("Grey",)}
    assert die.lines_of == {"cut": (4,), "crease": (7, 9), "perforate": ()}
    assert die.cut_lines.length == 320
    assert die.crease_lines.length == 180
    assert {role: shape.length for role, shape in die.folds.items()} == {"crease": 120, "perforate": 60}
    assert die.left_out.bounds == (300, 20, 300, 80)
    assert [blank.creases.length for blank in die.blanks] == [180]


@pytest.mark.parametrize(
    ("cut", "crease", "found"),
    [
        ("stated", "read", "stated"), ("stated", "assumed", "stated"), ("read", "stated", "read"),
        ("assumed", "read", "assumed"),
    ],
)  # fmt: skip
def test_a_die_is_known_as_its_cuts_are(cut, crease, found):
    outline, fold = folded(10, 20, known=cut)
    assert build_die([outline, line(fold.points, "crease", known=crease)]).found == found


def test_cuts_that_are_known_in_two_ways_are_read():
    lines = [*folded(10, 20, known="stated"), *folded(200, 20)]
    assert build_die(lines).found == "read"
    aside = [*folded(10, 20, known="stated"), line([(300, 20), (300, 50)], known="assumed")]
    assert build_die(aside).found == "stated"  # what is left out does not count


def test_where_the_roles_come_from_is_told_with_what_is_assumed():
    assert build_die(folded(10, 20), because="by their names").because == "by their names"
    guess = build_die([line(rectangle(10, 20, 110, 80))], because="by their names")
    assert guess.because.startswith("by their names; ")
    assert guess.found == "assumed"


# Blanks --------------------------------------------------------------------------------------------------------------


def test_blanks_are_numbered_and_have_their_own_areas_creases_and_edges():
    stated = [area("code", 210, 30, 230, 40), area("code", 0, 0, 5, 5)]
    die = build_die([*folded(10, 20), *folded(200, 20, 90, 50)], stated)
    assert [blank.number for blank in die.blanks] == [1, 2]
    assert bounds(die) == [(10, 20, 110, 80), (200, 20, 290, 70)]
    assert [blank.creases.length for blank in die.blanks] == [60, 50]
    assert [len(blank.panels) for blank in die.blanks] == [2, 2]
    assert [sum(edge.line.length for edge in blank.edges) for blank in die.blanks] == pytest.approx([320, 280])
    assert [[a.shape.bounds for a in blank.areas] for blank in die.blanks] == [[], [(210, 30, 230, 40)]]
    assert die.loose_areas == (stated[1],)
    assert told(die, "code", "(2, 2)") == 1


@pytest.mark.parametrize(
    ("lines", "hidden"), [(sleeve(10, 20), 12 + 90 + 12), (carton_lines(CARTON), None)], ids=["sleeve", "carton"]
)
def test_edges_of_a_guessed_flap_are_hidden(lines, hidden):
    (blank,) = build_die(lines).blanks
    flaps = [a for a in blank.areas if a.kind == "glue flap"]
    assert [a.known for a in flaps] == ["assumed"]
    assert flaps[0].shape.bounds[0] == 10
    if hidden:
        assert sum(edge.line.length for edge in blank.edges if edge.hidden) == pytest.approx(hidden, abs=2)


def test_edges_of_a_stated_flap_are_hidden_on_the_blank_that_it_lies_on():
    stated = area("glue flap", 270, 20, 290, 70)
    left, right = build_die([*folded(10, 20), *folded(200, 20, 90, 50)], [stated, area("code", 12, 22, 30, 78)]).blanks
    assert not any(edge.hidden for edge in left.edges)
    assert sum(edge.line.length for edge in right.edges if edge.hidden) == pytest.approx(20 + 50 + 20, abs=4)


def test_faces_are_built_where_no_crease_of_the_blank_stops_short():
    short = line([(250, 20), (250, 66)], "crease")
    die = build_die([*folded(10, 20), *folded(200, 20, 90, 50), short])
    assert [len(blank.panels) for blank in die.blanks] == [2, 0]
    assert told(die, "blank 2", "4.0 mm", "(250, 66)") == 1
    assert told(die, "blank 1") == 0


def test_of_several_creases_that_stop_short_the_worst_is_named_with_its_place():
    shorts = [line([(270, 23), (270, 70)], "crease"), line([(250, 20), (250, 66)], "crease")]
    die = build_die([*folded(200, 20, 90, 50), *shorts])
    assert told(die, "4.0 mm", "(250, 66)") == 1


# What was done -------------------------------------------------------------------------------------------------------


def nicked(*gaps, outline_at=10):
    """A folded card whose lower side has nicks."""
    x, lower = outline_at, []
    for n, gap in enumerate(gaps):
        lower.append(line([(x, 20), (outline_at + 20 * (n + 1), 20)]))
        x = outline_at + 20 * (n + 1) + gap
    rest = line([(x, 20), (outline_at + 100, 20), (outline_at + 100, 80), (outline_at, 80), (outline_at, 20)])
    return [*lower, rest, line([(outline_at + 95, 20), (outline_at + 95, 80)], "crease")]


def test_gaps_in_the_cut_are_counted():
    assert told(build_die(nicked(0.4)), "1 gap ", "0.4 mm") == 1
    assert told(build_die(nicked(0.4, 0.7, 0.2)), "3 gaps ", "0.7 mm") == 1
    assert told(build_die(nicked(0.04)), "gap") == 0


def test_crease_ends_that_were_carried_on_are_counted():
    one = [*folded(10, 20), line([(70, 20.6), (70, 80)], "crease")]
    assert told(build_die(one), "1 crease end ", "0.6 mm") == 1
    two = [*one, line([(90, 20), (90, 79.2)], "crease")]
    assert told(build_die(two), "2 crease ends ", "0.8 mm") == 1
    assert told(build_die(two), "gap") == 0


def test_gaps_away_from_the_blanks_are_nobodys_business():
    away = [line([(300, 20), (320, 20)]), line([(320.5, 20), (340, 20)])]
    assert told(build_die([*folded(10, 20), *away]), "gap") == 0


def test_creases_clipped_at_the_cut_are_counted():
    through = [line([(x, 20), (x, 90)], "crease") for x in (60, 80)]
    assert told(build_die([*folded(10, 20), through[0]]), "1 crease clipped") == 1
    assert told(build_die([*folded(10, 20), *through]), "2 creases clipped") == 1
    assert told(build_die(folded(10, 20)), "clipped") == 0


@pytest.mark.parametrize(("again", "twice"), [(120, False), (130, True), (380, True)])
def test_a_die_is_drawn_twice_from_a_quarter_of_its_length_on(again, twice):
    """380 mm of lines: 126.7 mm more are a quarter of all."""
    card = folded(10, 20)
    second = [line([(10, 20), (110, 20), (110, 20 + again - 100)])] if again < 200 else card
    assert told(build_die([*card, *second]), "drawn twice") == twice


def test_words_and_dimension_lines_are_left_out():
    aside = [line([(10, 100), (110, 100)]), arrow(10, 100, 1, 0, 90)]
    die = build_die([*folded(10, 20), *aside], texts=3)
    assert told(die, "3 words", "1 dimension line") == 1
    assert bounds(die) == [(10, 20, 110, 80)]
    assert die.left_out.bounds == (10, 99, 110, 101)


@pytest.mark.parametrize("one_up", [True, False])
def test_several_blanks_on_a_one_up_are_told(one_up):
    lines = [*folded(10, 20), *folded(200, 20)]
    assert told(build_die(lines, one_up=one_up), "2 blanks", "one-up") == one_up
    assert told(build_die(folded(10, 20), one_up=one_up), "one-up") == 0


def test_common_knives_are_told_with_those_who_share_them():
    lines = [*folded(10, 20), *folded(110, 20), *folded(300, 20)]
    assert told(build_die(lines), "3 blanks, 2 share a knife") == 1
    assert told(build_die([*folded(10, 20), *folded(300, 20)]), "knife") == 0


# Doubts --------------------------------------------------------------------------------------------------------------


def test_cuts_and_creases_drawn_alike_are_a_doubt_about_the_whole_outline():
    plain = [line(rectangle(10, 20, 190, 80)), *(line([(x, 20), (x, 80)]) for x in (70, 100, 160))]
    die = build_die(plain)
    assert (die.found, len(die.uncertain), die.uncertain_places, die.guessed_within) == ("assumed", 1, (), ())
    sure = build_die(plain, trim=(10, 20, 190, 80))
    assert (sure.found, sure.uncertain, len(sure.guessed_within)) == ("read", (), 1)
    assert sure.guessed_within[0] in sure.because
    other = build_die(plain, trim=(10, 20, 190, 90))
    assert len(other.uncertain) == 1
    guess = build_die([line(item.points, known="assumed") for item in plain], trim=(10, 20, 190, 80))
    assert len(guess.uncertain) == 1


def test_where_the_whole_outline_is_in_doubt_no_place_is_told():
    """A line 1 mm outside the right edge is a doubt with a place, and cuts drawn like creases one about everything."""
    beside = line([(191, 30), (191, 70)])
    alike = [line(rectangle(10, 20, 190, 80)), *(line([(x, 20), (x, 80)]) for x in (70, 100, 160)), beside]
    assert len(build_die([*folded(90, 20), beside]).uncertain_places) == 1
    die = build_die(alike)
    assert (len(die.uncertain), die.uncertain_places) == (2, ())


def test_a_glue_flap_makes_the_outer_edge_sure():
    die = build_die([line(item.points) for item in sleeve(10, 20)])
    assert (die.uncertain, len(die.guessed_within), die.found) == ((), 1, "read")


def dimension_over(x0, x1, y=50):
    return [line([(x0, y), (x1, y)]), arrow(x0, y, 1, 0, 90), arrow(x1, y, -1, 0, 91)]


def test_a_dimension_line_that_would_change_the_outline_is_a_doubt_with_a_place():
    """From edge to edge across the left panel, which it would cut in two."""
    die = build_die([*folded(10, 20), *dimension_over(10, 110)])
    assert bounds(die) == [(10, 20, 110, 80)]
    assert len(die.uncertain) == 1
    assert "(60, 50)" in die.uncertain[0]
    assert die.uncertain_places == ((9.5, 49.5, 110.5, 50.5),)


@pytest.mark.parametrize(
    "lines",
    [
        pytest.param(dimension_over(45, 105), id="within a panel"),
        pytest.param(dimension_over(40, 105), id="from a crease"),
        pytest.param(dimension_over(10, 110, 95), id="above the blank"),
        pytest.param(dimension_over(110.2, 150), id="from the edge outward"),
    ],
)
def test_a_dimension_line_that_changes_nothing_is_no_doubt(lines):
    die = build_die([*folded(10, 20), *lines])
    assert bounds(die) == [(10, 20, 110, 80)]
    assert die.uncertain == ()


def test_an_open_cut_is_told_with_what_hangs_on_it():
    lines = [
        line([(60, 80), (10, 80), (10, 20), (110, 20), (110, 80), (100, 80)]), line([(60, 80), (100, 80)], "crease"),
        line([(40, 20), (40, 80)], "crease"), line([(60, 80), (60, 105), (93, 105)]), line([(100, 80), (100, 99)]),
    ]  # fmt: skip
    die = build_die(lines)
    assert [(cut.blank, cut.beyond) for cut in die.open_cuts] == [(1, (60, 80, 100, 105))]
    assert len(die.uncertain) == 1
    assert die.uncertain_places == ((59.5, 79.5, 100.5, 80.5),)
    assert told(die, "2 lines of the carton beyond") == 1
    assert shapely.get_num_geometries(die.left_out) >= 1

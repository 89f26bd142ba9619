"""What a measure found is said together with what it did not look at, and one measure's bound is no other's."""

from dataclasses import replace

import pytest

from preflight.artwork.page.page import OverBound
from preflight.artwork.read_artwork import read_artwork
from preflight.findings import Judgement
from preflight.judging.judge import judge
from preflight.measures import die_lines, ink_total, live_matter, neighbours, overprint, type_and_line
from preflight.measures.job_assembly import assemble_job
from tests.books import Book
from tests.drawn import Drawing
from tests.house import SIX_UNITS, blank_page, job_of, printed, rulebook, with_die
from tests.test_rules_areas import STATED
from tests.test_rules_areas import ground as on_the_flap
from tests.test_rules_bleed import ground
from tests.test_rules_die_lines import copy_in_black
from tests.test_rules_ink_total import BUILDS
from tests.test_rules_live_matter import CUT_Y, FOLD_Y, bars, outlined
from tests.test_rules_neighbours import SHEET, pair
from tests.test_rules_overprint import black_text
from tests.test_rules_spot_definitions import moss, program, ramp
from tests.test_rules_type_and_line import line

ONE_UP = {"artwork_is": "one-up"}


def told(page: Drawing, folder, *rules: str, ticket=ONE_UP) -> Judgement:
    return judge(job_of(page, folder, ticket, SIX_UNITS), rulebook(), only=set(rules))


def found_and_left(judgement: Judgement) -> tuple[list[str], list[str]]:
    """Rules with findings, and rules that were not checked, or not all over."""
    assert not [item for item in judgement.not_checked if item.own_fault], judgement.not_checked
    found = list(dict.fromkeys(finding.rule for finding in judgement.findings))
    return found, [item.rule for item in judgement.not_checked]


WORDS = "ALPINE HERBS"


def words_near_the_cut(*sizes_pt: float) -> Drawing:
    """Words in outlines, each one path that is larger than a letter, 0.5 mm above the cut of panel 1."""
    page = blank_page()
    for number, size_pt in enumerate(sizes_pt):
        outlined(page, WORDS, (28 + 19 * number, CUT_Y + 0.5), size_pt)
    return page


# Live matter -------------------------------------------------------------------------------------------------------

CUT, FOLD = "live-matter-near-cut", "live-matter-near-fold"


def test_too_much_near_the_cut_says_nothing_of_the_folds(tmp_path, monkeypatch):
    monkeypatch.setattr(live_matter, "MOST_OUTLINES", 2)
    judgement = told(with_die(words_near_the_cut(5, 5, 5)), tmp_path, CUT, FOLD)
    assert found_and_left(judgement) == ([CUT], [CUT])
    assert judgement.passed == (FOLD,)


def test_what_was_not_looked_at_has_a_place(tmp_path, monkeypatch):
    monkeypatch.setattr(live_matter, "MOST_OUTLINES", 1)
    judgement = told(with_die(words_near_the_cut(5, 6)), tmp_path, CUT)
    (finding,), (left,) = judgement.findings, judgement.not_checked
    assert [round(place.box_mm[0]) for place in finding.places] == [28]
    assert [round(place.box_mm[0]) for place in left.places] == [47]


def test_as_much_as_is_looked_at_leaves_nothing_open(tmp_path, monkeypatch):
    monkeypatch.setattr(live_matter, "MOST_OUTLINES", 3)
    assert found_and_left(told(with_die(words_near_the_cut(5, 5, 5)), tmp_path, CUT)) == ([CUT], [])


def test_too_much_text_leaves_the_outlines_looked_at(tmp_path, monkeypatch):
    monkeypatch.setattr(live_matter, "MOST_TEXTS", 1)
    page = words_near_the_cut(5)
    for number in range(2):
        page.text(WORDS, (47 + 19 * number, CUT_Y + 0.5), 5)
    judgement = told(with_die(page), tmp_path, CUT)
    assert found_and_left(judgement) == ([CUT], [CUT])
    found = {round(place.box_mm[0]) for finding in judgement.findings for place in finding.places}
    assert found == {28, 47}


def test_bars_that_are_too_many_to_be_read_as_a_code_are_told(tmp_path, monkeypatch):
    monkeypatch.setattr(live_matter, "MOST_BARS", 10)
    judgement = told(with_die(bars(blank_page(), (35, FOLD_Y - 19), apart=True)), tmp_path, FOLD)
    assert found_and_left(judgement)[1] == [FOLD]


def test_too_much_in_a_cut_out_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(live_matter, "MOST_OUTLINES", 1)
    page = outlined(outlined(blank_page(), WORDS, (47, 100), 5), WORDS, (47, 104), 5)
    page = with_die(page).gs(OP=True).stroke("Cutting", [(45, 95), (65, 95), (65, 110), (45, 110)]).gs(OP=False)
    away = "live-matter-cut-away"
    assert found_and_left(told(page, tmp_path, away)) == ([away], [away])


# Bounds of other measures ------------------------------------------------------------------------------------------


def heavy_places() -> Drawing:
    return blank_page().fill(BUILDS[352], rect=(30, 80, 50, 100)).fill(BUILDS[352], rect=(60, 80, 75, 95))


def sizes(*lines_mm: float) -> Drawing:
    page = blank_page()
    for number, width_mm in enumerate(lines_mm):
        page.stroke((0, 0, 0, 1), [(40, 80 + 5 * number), (70, 80 + 5 * number)], width_mm=width_mm, close=False)
    return page


@pytest.mark.parametrize(
    ("module", "bound", "most", "rule", "draw"),
    [
        (die_lines, "MOST_LINES", 2, "die-line-prints", copy_in_black),
        (ink_total, "MOST_PLACES", 1, "ink-total-over", lambda: with_die(heavy_places())),
        (type_and_line, "MOST_SIZES", 1, "line-too-thin", lambda: with_die(sizes(0.04, 0.06))),
        (overprint, "MOST_SIZES", 1, "black-text-knocks-out",
         lambda: with_die(black_text(7).text("Best before end", (35, 90), 6, (0, 0, 0, 1)))),
    ],
)  # fmt: skip
def test_over_a_bound_both_halves_are_said(tmp_path, monkeypatch, module, bound, most, rule, draw):
    assert found_and_left(told(draw(), tmp_path, rule)) == ([rule], [])
    monkeypatch.setattr(module, bound, most)
    judgement = told(draw(), tmp_path, rule)
    assert found_and_left(judgement) == ([rule], [rule])


def test_objects_over_each_other_that_are_not_all_looked_through(tmp_path, monkeypatch):
    monkeypatch.setattr(neighbours, "MOST_LOOKED_THROUGH", 0)
    judgement = told(pair(2), tmp_path, "bleed-over-neighbour", ticket=SHEET)
    assert found_and_left(judgement) == ([], ["bleed-over-neighbour"])
    assert judgement.not_checked[0].places


# What one half of a measure is for want of -------------------------------------------------------------------------


def test_a_varnish_on_the_flap_and_no_word_on_the_coating(tmp_path):
    judgement = told(with_die(on_the_flap(6, "Gloss Varnish")), tmp_path, "glue-flap-coated", ticket=STATED)
    assert found_and_left(judgement) == (["glue-flap-coated"], ["glue-flap-coated"])
    assert judgement.not_checked[0].want_of == "ticket"


def test_short_bleed_beside_a_place_where_the_cut_is_uncertain(tmp_path):
    job = job_of(with_die(ground(1.0)), tmp_path, ONE_UP, SIX_UNITS)
    doubtful = replace(job.die, uncertain=("two lines may be the cut",), uncertain_places=((150, 10, 205, 60),))
    job = replace(job, die=doubtful)
    judgement = judge(job, rulebook(), only={"bleed-short"})
    assert found_and_left(judgement) == (["bleed-short"], ["bleed-short"])
    assert [place.box_mm for place in judgement.not_checked[0].places] == [(150, 10, 205, 60)]


def test_a_die_on_a_unit_where_the_objects_are_not_all_read(tmp_path):
    job = job_of(printed("Black"), tmp_path, {**ONE_UP, "units": ["Black", "Cutting"]}, SIX_UNITS)
    job.page.over_bounds.append(OverBound("forms nested 40 deep", frozenset({"objects"})))
    judgement = judge(job, rulebook(), only={"die-line-prints"})
    assert found_and_left(judgement) == (["die-line-prints"], ["die-line-prints"])


def test_pages_unlike_where_one_is_not_read_whole(tmp_path):
    artwork = read_artwork(Book(printed("Cyan"), printed("Magenta")).save(tmp_path / "art.pdf"))
    artwork.pages[1].over_bounds.append(OverBound("forms nested 40 deep", frozenset({"objects"})))
    judgement = judge(assemble_job(artwork, artwork.pages[0], None, None), rulebook(), only={"pages-unlike"})
    assert found_and_left(judgement) == (["pages-unlike"], ["pages-unlike"])


def test_a_spot_defined_twice_beside_one_that_cannot_be_read(tmp_path):
    job = job_of(moss(ramp((0.4, 0, 0.6, 0.1))), tmp_path, ONE_UP)
    unreadable = job_of(moss(program("nonsense", 4)), tmp_path, ONE_UP).artwork.alternates["Moss Green"]
    job.page.separations.append(replace(job.page.separations[0], name="Fern"))
    job = replace(job, artwork=replace(job.artwork, alternates={**job.artwork.alternates, "Fern": unreadable}))
    judgement = judge(job, rulebook(), only={"spot-defined-twice"})
    assert found_and_left(judgement) == (["spot-defined-twice"], ["spot-defined-twice"])


def test_lines_of_several_widths_within_the_bound_leave_nothing_open(tmp_path):
    assert found_and_left(told(with_die(line(0.04)), tmp_path, "line-too-thin")) == (["line-too-thin"], [])


def whites(*, covered: bool) -> Drawing:
    """Squares of white beside squares of cyan that they share pixels with, and perhaps a large one on cyan."""
    page = blank_page()
    for number in range(8):
        x, y = 28 + 14 * (number % 4), 60 + 20 * (number // 4)
        page.fill((1, 0, 0, 0), rect=(x, y, x + 5.1, y + 5)).gs(OP=True, op=True)
        page.fill("Opaque White", rect=(x + 5.03, y, x + 10, y + 5)).gs(OP=False, op=False)
    if covered:
        page.fill((1, 0, 0, 0), rect=(30, 110, 60, 130)).gs(OP=True, op=True)
        page.fill("Opaque White", rect=(30, 110, 60, 130)).gs(OP=False, op=False)
    return with_die(page)


@pytest.mark.parametrize(
    ("covered", "surface", "expected"),
    [
        (False, "white", ([], ["white-out-of-place"])),  # more places than are looked at closely, and none overlaps
        (True, "white", (["white-out-of-place"], [])),
        (True, None, (["white-out-of-place"], ["white-out-of-place"])),  # nobody says what the board looks like
    ],
)
def test_white_after_ink(tmp_path, covered, surface, expected):
    ticket = {**ONE_UP, "units": ["Cyan", "Opaque White"], "board": {"surface": surface} if surface else {}}
    judgement = told(whites(covered=covered), tmp_path, "white-out-of-place", ticket=ticket)
    assert found_and_left(judgement) == expected

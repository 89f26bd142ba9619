"""Every shipped rule: complete, its measure there, and proved both ways by a drawn page."""

import ast
import inspect
import json
import sys

import pytest

from preflight.artwork.page.page import OverBound
from preflight.artwork.read_artwork import read_artwork
from preflight.inputs.loading import load_press, load_ticket
from preflight.judging.judge import judge
from preflight.measures import MEASURES
from preflight.measures.job_assembly import assemble_job
from tests import (
    test_rules_annotations,
    test_rules_areas,
    test_rules_bleed,
    test_rules_blending,
    test_rules_clear_areas,
    test_rules_creases,
    test_rules_die_layers,
    test_rules_die_lines,
    test_rules_finishes,
    test_rules_fonts_and_files,
    test_rules_ink_keys,
    test_rules_ink_total,
    test_rules_layers,
    test_rules_live_matter,
    test_rules_metallics,
    test_rules_neighbours,
    test_rules_one_up,
    test_rules_overprint,
    test_rules_pages,
    test_rules_pictures,
    test_rules_press_fit,
    test_rules_screened,
    test_rules_separations,
    test_rules_sheet,
    test_rules_sheet_cells,
    test_rules_sheet_layout,
    test_rules_sheet_marks,
    test_rules_spot_definitions,
    test_rules_ticket,
    test_rules_type_and_line,
    test_rules_unit_sequence,
    test_rules_units,
)
from tests.house import SIX_UNITS, printed, rulebook

PROOFS = [
    *test_rules_annotations.CASES,
    *test_rules_areas.CASES,
    *test_rules_bleed.CASES,
    *test_rules_blending.CASES,
    *test_rules_clear_areas.CASES,
    *test_rules_die_layers.CASES,
    *test_rules_creases.CASES,
    *test_rules_die_lines.CASES,
    *test_rules_finishes.CASES,
    *test_rules_fonts_and_files.CASES,
    *test_rules_ink_keys.CASES,
    *test_rules_ink_total.CASES,
    *test_rules_layers.CASES,
    *test_rules_live_matter.CASES,
    *test_rules_metallics.CASES,
    *test_rules_neighbours.CASES,
    *test_rules_one_up.CASES,
    *test_rules_overprint.CASES,
    *test_rules_pages.CASES,
    *test_rules_pictures.CASES,
    *test_rules_press_fit.CASES,
    *test_rules_screened.CASES,
    *test_rules_separations.CASES,
    *test_rules_sheet.CASES,
    *test_rules_sheet_marks.CASES,
    *test_rules_sheet_layout.CASES,
    *test_rules_sheet_cells.CASES,
    *test_rules_spot_definitions.CASES,
    *test_rules_ticket.CASES,
    *test_rules_type_and_line.CASES,
    *test_rules_unit_sequence.CASES,
    *test_rules_units.CASES,
]
RULES = rulebook().rules

# What each rule of the house can say at most, and what it says of less.
LADDERS = {
    "plates-over-units": "fail warn",
    "unit-list-mismatch": "fail warn",
    "unit-kept-for-others": "fail",
    "metallic-out-of-place": "fail warn",
    "white-out-of-place": "fail warn",
    "varnish-not-last": "fail",
    "varnish-laid-twice": "warn",
    "coater-cannot-lay": "fail",
    "ink-system-not-dried": "fail",
    "ink-systems-mixed": "fail",
    "spot-shares-picture-plate": "warn",
    "lamp-missing": "warn",
    "heavy-before-light": "warn",
    "process-chain-broken": "warn",
    "wash-up-awkward": "warn",
    "second-hit-differs": "warn",
    "joint-across-passes": "warn",
    "coated-before-last-pass": "fail",
    "ink-unfit-for-board": "fail",
    "ink-unfit-for-coating": "fail warn",
    "metallic-with-uv": "warn",
    "effect-varnish-uncoated": "fail warn",
    "matt-varnish-covered": "warn",
    "inks-unfit-for-goods": "fail warn",
    "line-clearance-missing": "fail",
    "medicine-versions-together": "fail",
    "sides-not-in-one-pass": "fail warn",
    "grain-against-creases": "warn",
    "pile-too-heavy": "warn",
    "key-demand-low": "note",
    "lane-cover-high": "warn",
    "lane-demands-opposite": "warn",
    "ghost-behind-knock-outs": "note",
    "key-step-steep": "warn",
    "spot-without-ink": "warn",
    "spot-named-twice": "warn",
    "spot-defined-twice": "warn",
    "process-ink-as-spot": "warn",
    "registration-colour-in-art": "fail",
    "colour-not-a-plate": "warn",
    "ticket-statement-unused": "warn",
    "waiver-unbounded": "warn",
    "length-absurd": "warn",
    "page-prints-nothing": "fail warn",
    "sheet-over-max": "fail",
    "sheet-under-min": "fail",
    "sheet-over-die-cutter": "fail",
    "one-up-over-sheet": "fail warn",
    "blanks-over-sheet": "fail",
    "trim-box-off-cut": "warn",
    "caliper-out-of-range": "fail warn",
    "bleed-short": "fail warn",
    "bleed-over-neighbour": "warn",
    "gutter-under-two-bleeds": "fail warn",
    "stray-of-neighbour": "fail warn",
    "code-turned-across-travel": "warn",
    "inside-not-mirrored": "fail",
    "combined-inks-over-units": "fail",
    "version-over-run": "warn",
    "ink-in-gripper": "fail",
    "ink-past-printable": "fail",
    "colour-bar-missing": "warn",
    "colour-bar-lacks-ink": "fail warn",
    "colour-bar-short": "fail warn",
    "ink-zone-without-patch": "note",
    "side-guide-missing": "fail warn",
    "register-marks-missing": "fail warn",
    "register-marks-together": "warn",
    "mark-in-blank": "fail warn",
    "plate-label-missing": "warn",
    "die-line-missing": "warn",
    "cut-not-closed": "warn",
    "crease-doubled": "warn",
    "crease-on-cut": "warn",
    "die-line-prints": "fail",
    "die-knocks-out": "fail",
    "die-on-hidden-layer": "warn",
    "art-on-die-layer": "warn",
    "ink-total-over": "fail warn",
    "font-not-embedded": "fail",
    "annotation-prints": "warn",
    "layer-seen-otherwise": "warn",
    "image-coarse": "fail warn",
    "file-was-repaired": "warn",
    "pages-unlike": "warn",
    "file-pre-separated": "warn",
    "white-art-overprints": "fail",
    "white-ink-knocked-out": "fail",
    "varnish-knocks-out": "fail",
    "varnish-knocked-out": "warn",
    "finish-drawn-in-grey": "warn",
    "spot-at-zero": "fail",
    "black-text-knocks-out": "warn",
    "ink-on-metallic": "warn",
    "varnish-screened": "warn",
    "metallic-screened": "warn",
    "glue-flap-inked": "fail warn",
    "glue-flap-coated": "fail warn",
    "code-area-inked": "fail",
    "code-area-coated": "fail",
    "area-off-carton": "warn",
    "text-too-small": "warn",
    "line-too-thin": "fail warn",
    "live-matter-near-cut": "fail warn",
    "live-matter-near-fold": "warn",
    "live-matter-cut-away": "warn",
    "blending-not-cmyk": "fail warn",
    "number-up-differs": "fail warn",
    "standing-die-unlike": "warn",
    "standing-die-other-sheet": "fail",
    "blanks-overlap": "fail",
    "waste-strip-narrow": "warn",
    "waste-loose": "warn",
    "waste-at-edge-short": "fail",
    "gripper-strip-cut": "warn",
    "bleed-past-printable": "fail",
    "blanks-against-grain": "fail",
    "sheet-not-in-stock": "warn",
    "sheet-yield-low": "warn",
}


@pytest.mark.parametrize("name", RULES)
def test_is_complete(name):
    rule = RULES[name]
    for words in (rule.asks, rule.says, rule.why, rule.do, rule.source):
        assert words.strip()
    assert rule.measure in MEASURES
    assert rule.since


@pytest.mark.parametrize("name", RULES)
def test_is_proved_both_ways(name):
    told = {proof.expect for proof in PROOFS if proof.rule == name}
    assert told & {"fail", "warn", "note"}, "no drawn page trips it"
    assert "pass" in told, "no look-alike leaves it silent"


@pytest.mark.parametrize("name", LADDERS)
def test_each_step_is_proved(name):
    told = {proof.expect for proof in PROOFS if proof.rule == name}
    assert set(LADDERS[name].split()) <= told


def test_proofs_are_of_rules_that_exist():
    assert {proof.rule for proof in PROOFS} <= set(RULES)
    assert set(LADDERS) <= set(RULES)


@pytest.mark.parametrize("name", sorted(MEASURES))
def test_every_measure_is_used_by_a_rule(name):
    assert name in {rule.measure for rule in RULES.values()}


CASES_OF_MEASURES = [(name, case) for name, measure in MEASURES.items() for case in measure.cases]


@pytest.mark.parametrize(("measure", "case"), CASES_OF_MEASURES)
def test_every_declared_case_is_produced_by_a_drawn_page(measure, case):
    assert case in {proof.case for proof in PROOFS if RULES[proof.rule].measure == measure}


@pytest.mark.parametrize("name", sorted(MEASURES))
def test_every_declared_fact_is_given_somewhere_in_its_module(name):
    module = ast.parse(inspect.getsource(sys.modules[MEASURES[name].function.__module__]))
    for function in ast.walk(module):
        if isinstance(function, ast.FunctionDef):
            function.decorator_list = []  # where it is declared does not count
    told = {node.value for node in ast.walk(module) if isinstance(node, ast.Constant)}
    keywords = {node.arg for node in ast.walk(module) if isinstance(node, ast.keyword)}
    assert set(MEASURES[name].facts) <= told | keywords


# Rules that look at the ticket, the press or the file as a whole, and not at what is on the page.
OFF_THE_PAGE = {
    "ticket-statement-unused",
    "waiver-unbounded",
    "length-absurd",
    "sheet-over-max",
    "sheet-under-min",
    "sheet-over-die-cutter",
    "inks-unfit-for-goods",
    "line-clearance-missing",
    "medicine-versions-together",
    "sides-not-in-one-pass",
    "pile-too-heavy",
    "caliper-out-of-range",
    "coater-cannot-lay",
    "ink-system-not-dried",
    "file-was-repaired",
    "pages-unlike",
    "file-pre-separated",
}


# Rules that do not apply to a sheet.
OF_ONE_UPS = {"die-line-missing", "trim-box-off-cut", "blanks-over-sheet"}


def test_a_page_over_a_bound_is_not_passed(tmp_path):
    ticket = {"artwork_is": "sheet", "gripper_edge": "bottom", "units": ["Copper", "Cyan", "Opaque White"],
              "artwork": ["art.pdf", {"file": "inside.pdf", "side": "inside"}],
              "board": {"surface": "kraft"}}  # fmt: skip
    art, _ = (printed("Copper", "Cyan", "Opaque White").save(tmp_path / name) for name in ("art.pdf", "inside.pdf"))
    job_ticket = load_ticket(write(tmp_path / "ticket.yaml", ticket))
    press = load_press(write(tmp_path / "press.yaml", SIX_UNITS))
    artwork = read_artwork(art, job_ticket)
    page = artwork.pages[0]
    page.over_bounds.append(OverBound("forms nested 40 deep", frozenset({"objects", "plates", "text", "images"})))
    judgement = judge(assemble_job(artwork, page, press, job_ticket), rulebook())
    open_rules = {item.rule for item in judgement.not_checked}
    assert not [item for item in judgement.not_checked if item.own_fault]
    assert set(LADDERS) - OFF_THE_PAGE - OF_ONE_UPS <= open_rules
    assert not {finding.rule for finding in judgement.findings} - OFF_THE_PAGE


def write(path, keys):
    path.write_text(json.dumps(keys))
    return path

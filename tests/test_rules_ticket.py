"""What the ticket and the press say that cannot be used or cannot be true, and pages with nothing on them."""

import pytest

from preflight.judging.judge import judge
from tests.drawn import Drawing
from tests.house import SIX_UNITS, Case, Keys, blank_page, job_of, printed, prove, rulebook, with_die

ONE_UP = {"artwork_is": "one-up"}
WAIVER = {"rule": "text-too-small", "near": [50, 60], "reason": "agreed", "by": "AB",
          "until": "2030-01-31"}  # fmt: skip


def code(*box: float, word: str = "code", **keys: object) -> dict[str, object]:
    return {**ONE_UP, "areas": [{"is": word, "box": list(box), **keys}]}


def case(rule, name, expect, ticket, draw=lambda: printed("Black"), **more):
    return Case(rule, name, expect, draw, ticket=ticket, **more)


def press(**keys: object) -> dict[str, object]:
    return {**SIX_UNITS, **keys}


def flap(*box: float) -> dict[str, object]:
    return code(*box, word="glue flap")


ON_PANEL = (120, 70, 150, 82)
UNUSED = "ticket-statement-unused"
CASES = [
    case(UNUSED, "an area word that no rule knows", "warn", code(*ON_PANEL, word="coode")),
    case(UNUSED, "an area word that the rules know, in capitals", "pass", code(*ON_PANEL, word="CODE")),
    case(UNUSED, "an area off a page without a die", "warn", code(300, 40, 330, 52), draw=blank_page,
         near=(299, 39, 331, 53)),
    case(UNUSED, "an area on a page without a die", "pass", code(*ON_PANEL), draw=blank_page),
    case(UNUSED, "an area half off a page without a die", "pass", code(200, 40, 230, 52), draw=blank_page),
    case(UNUSED, "an area for a blank that the page has not", "warn", code(*ON_PANEL, blank=2)),
    case(UNUSED, "an area for the blank that it lies on", "pass", code(*ON_PANEL, blank=1)),
    case(UNUSED, "a glue flap in the middle of a panel", "warn", flap(30, 60, 60, 100), near=(30, 60, 60, 100)),
    case(UNUSED, "a glue flap on the glue flap", "pass", flap(10, 55, 25, 145)),
    case(UNUSED, "a strip of glue on the glue flap", "pass", flap(14, 80, 18, 120)),
    case(UNUSED, "a glue flap drawn over its crease and past the cut", "pass", flap(2, 50, 40, 150)),
    case(UNUSED, "a coating that no separation shows", "warn", {**ONE_UP, "coating": {"kind": "uv", "area": "Sheen"}}),
    case(UNUSED, "a coating that a separation shows", "pass", {**ONE_UP, "coating": {"kind": "uv", "area": "Gloss"}},
         draw=lambda: printed("Gloss")),
    case(UNUSED, "an area left clear that no rule knows", "warn",
         {**ONE_UP, "coating": {"kind": "uv", "area": "overall", "clear": ["glue flap", "gluing"]}}),
    case(UNUSED, "areas left clear", "pass",
         {**ONE_UP, "coating": {"kind": "uv", "area": "overall", "clear": ["Glue flap", "code"]}}),
    case(UNUSED, "cut lines in a separation that the page has not", "warn",
         {**ONE_UP, "die": {"lines": {"cut": ["Cuting"], "crease": ["Creasing"]}}}),
    case(UNUSED, "cut lines of which one name is on the page", "pass",
         {**ONE_UP, "die": {"lines": {"cut": ["Knife", "Cutting"]}}}),
    case(UNUSED, "a kind for a separation that the file has not", "warn",
         {**ONE_UP, "separations": {"Shade 9": "metallic"}}),
    case(UNUSED, "a waiver of a rule that does not exist", "warn",
         {**ONE_UP, "waivers": [{**WAIVER, "rule": "text-to-small"}]}),
    case(UNUSED, "a waiver of a rule that does", "pass", {**ONE_UP, "waivers": [WAIVER]}),
    Case(UNUSED, "no ticket", "pass", lambda: printed("Black")),
    case("waiver-unbounded", "no last day", "warn",
         {**ONE_UP, "waivers": [WAIVER, {k: v for k, v in WAIVER.items() if k != "until"}]}),
    case("waiver-unbounded", "no place", "warn",
         {**ONE_UP, "waivers": [{k: v for k, v in WAIVER.items() if k != "near"}]}),
    case("waiver-unbounded", "pasted, and not filled in", "warn",
         {**ONE_UP, "waivers": [{**WAIVER, "reason": "", "by": ""}]}),
    case("waiver-unbounded", "no place, bound to its artwork", "pass",
         {**ONE_UP, "waivers": [{**WAIVER, "near": None, "artwork": "3f9a12", "rule": "sheet-over-max"}]}),
    case("waiver-unbounded", "both", "pass", {**ONE_UP, "waivers": [WAIVER]}),
    case("waiver-unbounded", "none", "pass", ONE_UP),
    case("length-absurd", "a sheet in centimetres", "warn", {**ONE_UP, "sheet": {"size": "1060 cm x 760 cm"}},
         case="sheet", measured=10600),
    case("length-absurd", "the largest sheets that presses run", "pass",
         {**ONE_UP, "sheet": {"size": "2050 x 1510 mm"}}),
    case("length-absurd", "a sheet of a few millimetres", "warn", {**ONE_UP, "sheet": {"size": "98 x 69 mm"}},
         case="sheet"),
    case("length-absurd", "a gripper in inches", "warn", ONE_UP, press=press(edges={"gripper": "11 in"}),
         case="gripper edge", measured=279.4),
    case("length-absurd", "a gripper in centimetres without the unit", "warn", ONE_UP,
         press=press(edges={"gripper": "1.2"}), case="gripper edge", measured=1.2),
    case("length-absurd", "a gripper in millimetres", "pass", ONE_UP, press=press(edges={"gripper": "11 mm"})),
    case("length-absurd", "a tail in centimetres", "warn", ONE_UP, press=press(edges={"tail": "8 cm"}), case="edge"),
    case("length-absurd", "plate before the sheet, in centimetres", "warn", ONE_UP, case="plate lead",
         press=press(plate={"size": "1060 x 820 mm", "sheet_starts": "44 cm"})),
    case("length-absurd", "board in centimetres", "warn", {**ONE_UP, "board": {"caliper": "0.45 cm"}}, case="caliper"),
    case("length-absurd", "a thick board", "pass", {**ONE_UP, "board": {"caliper": "1.2 mm"}}),
    Case("length-absurd", "no press and no ticket", "pass", lambda: printed("Black"), press=None),
    Case("page-prints-nothing", "an empty page", "fail", lambda: Drawing(200, 150), ticket=ONE_UP, case=""),
    Case("page-prints-nothing", "a die and nothing else", "warn", lambda: with_die(blank_page()), ticket=ONE_UP,
         case="not in the cut"),
    Case("page-prints-nothing", "ink in the waste only", "warn", ticket=ONE_UP, case="not in the cut",
         draw=lambda: with_die(blank_page().fill("Mill Brown", rect=(1, 1, 6, 6)))),
    Case("page-prints-nothing", "one ink", "pass", lambda: printed("Black"), ticket=ONE_UP),
    Case("page-prints-nothing", "varnish that the ticket has laid overall", "pass", lambda: with_die(blank_page()),
         ticket={**ONE_UP, "units": [{"overall": "Gloss Varnish"}]}),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_ticket_and_press(case, tmp_path):
    prove(case, tmp_path)


NEAREST: dict[str, tuple[Keys, str]] = {
    "area word": (code(*ON_PANEL, word="coode"), "code"),
    "die": ({"die": {"lines": {"cut": ["Cuting"]}}}, "Cutting"),
    "separation": ({"separations": {"Blak": "spot"}}, "Black"),
    "waiver": ({"waivers": [{**WAIVER, "rule": "text-to-small"}]}, "text-too-small"),
}


@pytest.mark.parametrize("what", NEAREST)
def test_what_was_probably_meant_is_named(what, tmp_path):
    ticket, meant = NEAREST[what]
    found = judge(job_of(printed("Black"), tmp_path, ticket), rulebook(), only={UNUSED})
    assert [meant in finding.says for finding in found.findings] == [True]


def test_a_slip_of_the_unit_is_named(tmp_path):
    ticket = {"sheet": {"size": "1060 cm x 760 cm"}}
    job = job_of(printed("Black"), tmp_path, ticket, press(edges={"gripper": "11 in"}))
    says = [finding.says for finding in judge(job, rulebook(), only={"length-absurd"}).findings]
    assert [word for word in ("1060 mm", "11 mm") if any(word in each for each in says)] == [
        "1060 mm", "11 mm"]  # fmt: skip


def test_a_glue_flap_that_is_none_is_not_used(tmp_path):
    page = with_die(blank_page().fill("Mill Brown", rect=(30, 60, 80, 140)))
    job = job_of(page, tmp_path, flap(30, 60, 60, 100))
    assert not judge(job, rulebook(), only={"glue-flap-inked"}).findings  # neither on the panel nor on the guessed flap
    assert [area.known for area in job.die.blanks[0].areas if area.kind == "glue flap"] == ["assumed"]


@pytest.mark.parametrize(("artwork_is", "expected"), [("one-up", "fail"), ("sheet", "fail")])
def test_a_blank_larger_than_its_sheet_is_a_fault(artwork_is, expected, tmp_path):
    ticket = {"artwork_is": artwork_is, "sheet": {"size": "170 x 160 mm"}, "gripper_edge": "bottom"}
    found = judge(job_of(printed("Black"), tmp_path, ticket, SIX_UNITS), rulebook(), only={"one-up-over-sheet"})
    assert [finding.verdict.word for finding in found.findings] == [expected]

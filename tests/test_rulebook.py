"""Rules: reading, layering, and stopping on anything that refers to what is not there."""

import re
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from preflight.carton.die import Die
from preflight.cli.schema_command import json_schema
from preflight.errors import InvalidInput, NotUnderstood
from preflight.findings import Reading, Verdict
from preflight.inputs.loading import load_yaml, rules_dir, shipped_rules_dir
from preflight.judging.conditions import of_measure, of_reference, why_not_asked
from preflight.judging.limits import Limit, hold, read_limit
from preflight.judging.phrases import facts_of
from preflight.judging.references import Reference, reference
from preflight.judging.rule_keys import ALWAYS_QUOTED
from preflight.judging.rulebook import load_rules, parameter
from preflight.measures import MEASURES, Kinds, declared
from preflight.quantities import Range, Size

RULE = """\
- rule: gap-narrow
  asks: Is the gap wide enough?
  measure: gap
  fail: below 2 mm
  warn: below 3 mm
  says: The gap is {reading}; {asked}.
  why: It closes.
  do: Widen it.
  source: common practice
"""


def gap(job, *, kinds: list[str], area_mm2: float = 1.0, look: float = 3.0, twice: bool = False) -> list[Reading]:
    """Width of each gap."""
    raise AssertionError("no job in these tests")


def word(job) -> list[Reading]:
    """A word about the job."""
    raise AssertionError("no job in these tests")


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A folder of house rules that knows two measures; writes files into it, or beside it."""
    house = tmp_path / "house"
    house.mkdir()
    monkeypatch.setenv("PREFLIGHT_RULES", str(house))
    plain: dict[str, Any] = {
        "unit": "mm",
        "tolerance": 0.1,
        "cases": ("slot", "flap", "a"),
        "facts": ("side", "gap_mm"),
    }
    monkeypatch.setitem(MEASURES, "gap", declared(lambda job: [], name="gap", **plain))
    monkeypatch.setitem(MEASURES, "wide-gap", declared(gap, name="wide-gap", **plain))
    monkeypatch.setitem(MEASURES, "size", declared(lambda job: [], name="size", unit="mm", sizes=True))
    monkeypatch.setitem(MEASURES, "word", declared(word, name="word", unit="", words=("taken", "refused")))

    def write(text, name="house/gaps.yaml"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8")
        return path

    return write


def changed(**keys):
    """The rule with lines replaced or, with None, taken out; new keys at the end."""
    lines = RULE.splitlines()
    for key, value in keys.items():
        key = key.rstrip("_")
        kept = [line for line in lines if not line.strip().removeprefix("- ").startswith(f"{key}:")]
        lines = kept + ([] if value is None else [f"  {key}: {value}"])
    return "\n".join(lines) + "\n"


def faults(extra=()):
    with pytest.raises(InvalidInput) as refusal:
        load_rules(extra)
    return refusal.value.faults


# One rule ----------------------------------------------------------------------------------------------------------


def test_a_rule_and_its_defaults(shop):
    shop(RULE)
    book = load_rules()
    rule = book.rules["gap-narrow"]
    assert (rule.measure, rule.source) == ("gap", "common practice")
    assert (rule.fail, rule.warn) == (Limit("below", "2 mm"), Limit("below", "3 mm"))
    assert (rule.status, rule.trial, rule.if_not_checked) == ("active", False, Verdict.PASS)
    assert (rule.parameters, rule.when, rule.cases, rule.customer, rule.covers) == ({}, (), {}, "", ())


def test_every_further_key(shop):
    shop(
        changed(measure="wide-gap")
        + """\
  with: {kinds: [spot, white], area: 1 cm2, look: 4 mm, twice: yes}
  when: {job.artwork_is: is sheet, press.unit_count: above 4}
  cases:
    slot: {warn: below 1 mm, says: "{reading} in a slot."}
    flap: {why: Nobody sees it.}
  customer: Please widen the gap.
  covers: [B01, B02]
  since: "0.1"
  status: trial
  if_not_checked: fail
"""
    )
    rule = load_rules().rules["gap-narrow"]
    assert rule.parameters == {"kinds": ["spot", "white"], "area_mm2": 100.0, "look": 4.0, "twice": True}
    assert rule.when == (
        (Reference("job.artwork_is"), Limit("is", "sheet")),
        (Reference("press.unit_count"), Limit("above", "4")),
    )
    assert [*rule.limits("").values()] == [Limit("below", "2 mm"), Limit("below", "3 mm"), None]
    assert [*rule.limits("slot").values()] == [None, Limit("below", "1 mm"), None]  # limits of a case replace all
    assert rule.limits("flap") == rule.limits("unheard of") == rule.limits("")
    assert rule.words("slot", "says") == "{reading} in a slot."
    assert (rule.words("slot", "why"), rule.words("flap", "why")) == ("It closes.", "Nobody sees it.")
    assert (rule.trial, rule.if_not_checked, rule.covers, rule.since) == (True, Verdict.FAIL, ("B01", "B02"), "0.1")


@pytest.mark.parametrize(
    ("text", "line", "key", "suggestion"),
    [
        (changed(measure="gapp"), 9, "gap-narrow.measure", "gap"),
        (changed(measure=None), 1, "gap-narrow", ""),
        (changed(asks=None), 1, "gap-narrow", ""),
        (changed(says=None), 1, "gap-narrow", ""),
        (changed(why=None), 1, "gap-narrow", ""),
        (changed(do=None), 1, "gap-narrow", ""),
        (changed(source=None), 1, "gap-narrow", ""),
        (changed(fail=None, warn=None), 1, "gap-narrow", ""),
        (changed(fail="under 2 mm"), 9, "gap-narrow.fail", ""),
        (changed(fail="below"), 9, "gap-narrow.fail", ""),
        (changed(fail="below 2"), 9, "gap-narrow.fail", "2 mm"),
        (changed(fail="below 2 %"), 9, "gap-narrow.fail", ""),
        (changed(fail="below 1,5 mm"), 9, "gap-narrow.fail", "1.5 mm"),
        (changed(fail="below 2 mm and above 1 mm"), 9, "gap-narrow.fail", ""),
        (changed(fail="outside 2 mm"), 9, "gap-narrow.fail", ""),
        (changed(fail="above press.sheet.larges"), 9, "gap-narrow.fail", "press.sheet.largest"),
        (changed(fail="above press.sheet"), 9, "gap-narrow.fail", ""),
        (changed(fail="above ticket.ink_system"), 9, "gap-narrow.fail", ""),
        (changed(fail="outside press.top_speed"), 9, "gap-narrow.fail", ""),
        (changed(fail="one of spot, white"), 9, "gap-narrow.fail", ""),
        (changed(fail="[below 2 mm]"), 9, "gap-narrow.fail", ""),
        (changed(when="{job.artwork: is x}"), 10, "gap-narrow.when.job.artwork", ""),
        (changed(when="{job.artwork_iss: is x}"), 10, "gap-narrow.when.job.artwork_iss", "job.artwork_is"),
        (changed(when="{artwork_is: is x}"), 10, "gap-narrow.when.artwork_is", ""),
        (changed(when="{ticket.board.caliper: above 18 pt}"), 10, "gap-narrow.when.ticket.board.caliper", ""),
        (changed(when="{ticket.board.caliper: above thick}"), 10, "gap-narrow.when.ticket.board.caliper", ""),
        (changed(when="{ticket.coatin.kind: is uv}"), 10, "gap-narrow.when.ticket.coatin.kind", "ticket.coating.kind"),
        (changed(with_="{kinds: x}"), 10, "gap-narrow.with.kinds", ""),
        (changed(says='"{a.b}"'), 9, "gap-narrow.says", ""),
        (changed(says='"{reading:.3f}"'), 9, "gap-narrow.says", ""),
        (changed(says='"{reading"'), 9, "gap-narrow.says", ""),
        (changed(says='"{}"'), 9, "gap-narrow.says", ""),
        (changed(says="{reading}"), 9, "gap-narrow.says", ""),
        (changed(status="retierd"), 10, "gap-narrow.status", "retired"),
        (changed(if_not_checked="pass"), 10, "gap-narrow.if_not_checked", ""),
        (changed(sverity="high"), 10, "gap-narrow.sverity", ""),
        (changed(cases="{slot: {fial: below 2 mm}}"), 10, "gap-narrow.cases.slot.fial", "fail"),
        (changed(source="from memory"), 4, "gap-narrow.fail", ""),
        (
            changed(source="from memory (a standard)", fail=None, cases="{a: {fail: below 1 mm}}"),
            9,
            "gap-narrow.cases.a.fail",
            "",
        ),
        (RULE.replace("gap-narrow", "Gap narrow"), 1, "Gap narrow.rule", ""),
        (RULE + RULE, 10, "gap-narrow.rule", ""),
        (RULE + "- asks: What?\n", 10, "[1].rule", ""),
        (RULE + "- just words\n", 10, "[1]", ""),
        ("- rule: [a]\n", 1, "[0].rule", ""),
    ],
)
def test_loading_stops_at_the_line(shop, text, line, key, suggestion):
    shop(text)
    assert [(fault.line, fault.key, fault.suggestion) for fault in faults()] == [(line, key, suggestion)]


def test_parameters_are_checked_against_the_measure(shop):
    shop(changed(measure="wide-gap", with_="{kind: spot, area: 2 mm, look: wide, twice: perhaps}"))
    found = {fault.key.rpartition(".")[2]: fault.suggestion for fault in faults()}
    assert found == {"kind": "kinds", "area": "2 mm2", "look": "", "twice": "", "with": ""}


def test_a_parameter_without_default_has_to_be_given(shop):
    shop(changed(measure="wide-gap"))
    (fault,) = faults()
    assert fault.key == "gap-narrow.with"
    assert "kinds" in fault.expected


@pytest.mark.parametrize(
    ("text", "name", "kind", "value"),
    [
        ("1 cm2", "area_mm2", float, 100),
        ("10 pt", "size_pt", float, 10),
        ("2 %", "from_percent", float, 2),
        ("4 mm", "look", float, 4),
        ("2 %", "ink_from", float, 2),
        ("0.06", "aslant", float, 0.06),
        ("3", "runs", int, 3),
        ("no", "twice", bool, False),
        ("NO", "country", str, "NO"),
        ("spot", "kinds", list[str], ["spot"]),
        (["spot", "half cut"], "kinds", Kinds, ("spot", "half-cut")),
        (["1 mm", "2 mm"], "steps_mm", tuple[float, ...], (1, 2)),
    ],
)
def test_parameters_are_typed_by_their_annotation(text, name, kind, value):
    assert parameter(text, name, kind) == value


# Slips that no reading and no job could ever bear out -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("condition", "key", "suggestion"),
    [
        ("ticket.coating.kind: is uvv", "ticket.coating.kind", "uv"),
        ("ticket.board.surface: is wite", "ticket.board.surface", "white"),
        ("ticket.artwork_is: 'one of [shet, plate]'", "ticket.artwork_is", "sheet"),
        ("job.artwork_is: is not one up", None, None),
        ("job.artwork_is: is oneup", "job.artwork_is", "one-up"),
        ("job.die.found: is stted", "job.die.found", "stated"),
        ("press.cures: is ledd-uv", "press.cures", "led-uv"),
        ("ticket.nothing_coated: is ture", "ticket.nothing_coated", "true"),
        ("press.unit_count: is 6.5", "press.unit_count", ""),
        ("press.unit_count: 'one of [6, 6.5]'", "press.unit_count", ""),
        ("press.unit_count: below -1", "press.unit_count", ""),
        ("ticket.quantity: below 0", "ticket.quantity", ""),
        ("ticket.board.caliper: below 0 mm", "ticket.board.caliper", ""),
        ("press.unit_count: above 6.5", None, None),
        ("press.unit_count: below 1", None, None),
        ("ticket.nothing_coated: above 3", "ticket.nothing_coated", ""),
        ("ticket.ink_system: above 3 mm", "ticket.ink_system", ""),
        ("ticket.quantity: above 4 mm", "ticket.quantity", ""),
        ("ticket.quantity: is many", "ticket.quantity", ""),
        ("ticket.quantity: outside 3 to 5 mm", "ticket.quantity", ""),
        ("ticket.board.weight: above 300 mm", "ticket.board.weight", ""),
        ("ticket.board.weight: above 300", "ticket.board.weight", "300 g/m2"),
        ("ticket.board.caliper: is not thick", "ticket.board.caliper", ""),
        ("ticket.board.caliper: above 400 x 300 mm", "ticket.board.caliper", ""),
        ("ticket.sheet: above 700 mm", "ticket.sheet", ""),
        ("press.top_speed: below 2 mm", "press.top_speed", ""),
        ("press.board.caliper: is 0.4 mm", "press.board.caliper", ""),
        ("ticket.board.caliper: outside press.sheet.largest", "ticket.board.caliper", ""),
        ("ticket.board.caliper: above press.top_speed", "ticket.board.caliper", ""),
        ("ticket.ink_system: is press.unit_count", "ticket.ink_system", ""),
        ("ticket.ink_system: is not one of press.cures", "ticket.ink_system", "not one of press.cures"),
        ("ticket.coating.kind: is soft-touch", None, None),  # a plant may use others of its own
        ("ticket.board.grade: is GC2", None, None),
        ("ticket.quantity: above 5000", None, None),
        ("ticket.board.weight: above 300 gsm", None, None),
        ("ticket.board.caliper: 'one of [0.4 mm, 450 um]'", None, None),
        ("ticket.sheet: above 1000 x 700 mm", None, None),
        ("ticket.board.caliper: outside press.board.caliper", None, None),
        ("ticket.ink_system: not one of press.cures", None, None),
        ("ticket.nothing_coated: is not true", None, None),
    ],
)
def test_a_condition_that_can_never_hold_is_refused(shop, condition, key, suggestion):
    shop(changed(when=f"{{{condition}}}"))
    if key is None:
        assert len(load_rules().rules["gap-narrow"].when) == 1
    else:
        assert [(f.line, f.key, f.suggestion) for f in faults()] == [(10, f"gap-narrow.when.{key}", suggestion)]


@pytest.mark.parametrize(
    ("measure", "limit", "suggestion"),
    [
        ("word", "is refusd", "refused"),
        ("word", "one of [taken, refusd]", "refused"),
        ("word", "below 2", ""),
        ("word", "is press.sheet.largest", ""),
        ("word", "is not one of [taken, refused]", "not one of [taken, refused]"),
        ("word", "is one of [taken, refused]", "one of [taken, refused]"),
        ("word", "is not one of taken", "is not taken"),
        ("word", "is one of taken", "is taken"),
        ("word", "is not one of taken, refused", "not one of [taken, refused]"),
        ("word", "is one of taken, refused", "one of [taken, refused]"),
        ("word", "is not one of [taken, ]", ""),
        ("word", "is [taken, refused]", "one of [taken, refused]"),
        ("word", "is not [taken, refused]", "not one of [taken, refused]"),
        ("gap", "is below 2 mm", "below 2 mm"),
        ("gap", "is not below 2 mm", ""),
        ("gap", "is true", ""),
        ("gap", "is ticket.ink_system", ""),
        ("gap", "one of [2 mm, 3 %]", ""),
        ("gap", "above press.sheet.largest", ""),
        ("gap", "above press.top_speed", ""),
        ("gap", "above 500 x 350 mm", ""),
        ("size", "above 500 mm", ""),
        ("size", "above press.edges.gripper", ""),
        ("size", "outside press.board.caliper", ""),
    ],
)
def test_a_limit_that_no_reading_can_be_held_against_is_refused(shop, measure, limit, suggestion):
    shop(changed(measure=measure, warn=None, fail=limit))
    (fault,) = faults()
    assert (fault.key, fault.suggestion) == ("gap-narrow.fail", suggestion)
    assert fault.line == 8


@pytest.mark.parametrize(
    ("measure", "limit", "held"),
    [
        ("word", "is Refused", "is refused"),
        ("word", "not one of ticket.coating.clear", "not one of ticket.coating.clear"),
        ("gap", "one of [2 mm, 1 cm]", "one of [2 mm, 1 cm]"),
        ("gap", "below press.edges.gripper", "below press.edges.gripper"),
        ("size", "above press.sheet.largest", "above press.sheet.largest"),
        ("size", "below 500 x 350 mm", "below 500 x 350 mm"),
        ("size", "below 20 x 14 in", "below 508 x 355.6 mm"),
    ],
)
def test_a_limit_as_it_is_held(shop, measure, limit, held):
    shop(changed(measure=measure, warn=None, fail=limit))
    assert str(load_rules().rules["gap-narrow"].fail) == held


def test_words_of_conditions_are_those_used_everywhere(shop):
    shop(changed(when="{ticket.ink_system: 'one of [conventional, UV]'}"))
    ((_, limit),) = load_rules().rules["gap-narrow"].when
    assert limit == Limit("one of", ("oxidising", "uv"))


@pytest.mark.parametrize(
    ("change", "key", "suggestion"),
    [
        ({"cases": "{slott: {warn: below 1 mm}}"}, "cases.slott", "slot"),
        ({"cases": "{slott: }"}, "cases.slott", ""),
        ({"cases": "{gutter: {why: It is narrow.}}"}, "cases.gutter", ""),
        ({"cases": "{slot: {why: 'The gap at the {sid} closes.'}}"}, "cases.slot.why", "side"),
        ({"says": '"The gap is {readings}."'}, "says", "reading"),
        ({"do": "Widen it at {place} by {gap}."}, "do", "gap_mm"),
        ({"customer": "See {whatever}."}, "customer", ""),
    ],
)
def test_a_case_or_a_fact_that_no_reading_has_is_refused(shop, change, key, suggestion):
    shop(changed(**change))
    (fault,) = faults()
    assert (fault.key, fault.suggestion) == (f"gap-narrow.{key}", suggestion)


def test_what_may_be_quoted_of_any_reading(shop):
    outcome = hold(1.0, read_limit("below 2 mm"), "mm", lambda ref: None)
    told = facts_of([Reading(1.0, "mm", facts={"side": "left"})], "mm", outcome, [], Die("none", ""))
    assert set(told) == {*ALWAYS_QUOTED, "side"}
    shop(changed(says=f'"{" ".join(f"{{{name}}}" for name in ALWAYS_QUOTED)} {{side}}"'))
    assert load_rules().rules


def test_a_kind_that_no_separation_has_is_refused(tmp_path, monkeypatch):
    monkeypatch.delenv("PREFLIGHT_RULES", raising=False)
    own = tmp_path / "plant.yaml"
    own.write_text(
        "- rule: bleed-short\n  with: {kinds: [procss, spot]}\n- rule: ink-on-metallic\n  with: {inks: spott}\n"
    )
    assert [(fault.line, fault.key, fault.suggestion) for fault in faults([own])] == [
        (2, "bleed-short.with.kinds", "process"),
        (4, "ink-on-metallic.with.inks", "spot"),
    ]


# Layers ------------------------------------------------------------------------------------------------------------


def test_files_are_laid_over_each_other_key_by_key(shop):
    shop(changed(cases="{slot: {fail: below 0.5 mm, warn: below 1 mm}}"))
    plant = shop("- rule: gap-narrow\n  warn: below 4 mm\n  cases: {slot: {warn: below 2 mm}}\n", "plant.yaml")
    customer = shop("- rule: gap-narrow\n  says: Too narrow.\n  fail:\n", "customer.yaml")
    book = load_rules([plant, customer])
    rule = book.rules["gap-narrow"]
    assert (rule.fail, rule.warn) == (None, Limit("below", "4 mm"))
    assert [*rule.limits("slot").values()] == [Limit("below", "0.5 mm"), Limit("below", "2 mm"), None]
    assert (rule.says, rule.why, rule.file) == ("Too narrow.", "It closes.", str(customer))
    assert book.files[-2:] == (str(plant), str(customer))


def test_the_later_file_wins(shop):
    shop(RULE)
    one = shop("- rule: gap-narrow\n  warn: below 4 mm\n", "one.yaml")
    other = shop("- rule: gap-narrow\n  warn: below 5 mm\n", "other.yaml")
    assert load_rules([one, other]).rules["gap-narrow"].warn == Limit("below", "5 mm")
    assert load_rules([other, one]).rules["gap-narrow"].warn == Limit("below", "4 mm")


def test_a_rule_of_the_plants_own(shop):
    shop(RULE)
    own = shop(RULE.replace("gap-narrow", "gap-wide").replace("below", "above"), "own.yaml")
    assert list(load_rules([own]).rules) == ["gap-narrow", "gap-wide"]


def test_an_override_of_a_rule_there_is_not(shop):
    shop(RULE)
    (fault,) = faults([shop("- rule: gap-narow\n  warn: below 4 mm\n", "plant.yaml")])
    assert (fault.file.endswith("plant.yaml"), fault.line, fault.suggestion) == (True, 1, "gap-narrow")


def test_a_fault_is_reported_where_the_key_was_given(shop):
    shop(RULE)
    plant = shop("- rule: gap-narrow\n  asks: Well?\n  warn: below 4 ppi\n", "plant.yaml")
    (fault,) = faults([plant])
    assert (fault.file, fault.line, fault.key) == (str(plant), 3, "gap-narrow.warn")


def test_a_rule_switched_off_says_why(shop):
    shop(RULE)
    book = load_rules([shop("- rule: gap-narrow\n  off: our gaps never close\n", "plant.yaml")])
    assert (book.rules, book.off) == ({}, {"gap-narrow": "our gaps never close"})


def test_retired_rules_are_known_and_do_not_run(shop):
    shop(RULE + "- rule: gap-odd\n  status: retired\n  since: '0.1'\n")
    book = load_rules()
    assert (list(book.rules), list(book.retired)) == (["gap-narrow"], ["gap-odd"])


def test_tables_beside_the_rules_are_left_alone(shop):
    shop(RULE)
    shop("silent: {en: [line]}\n", "house/names.yaml")
    shop("- {name: GC2, caliper: 0.45 mm}\n", "house/boards.yaml")
    shop((shipped_rules_dir() / "checks.yaml").read_text(), "house/checks.yaml")
    shop("not yaml: [", "house/notes.txt")
    assert len(load_rules().files) == 1


@pytest.mark.parametrize(
    ("name", "text", "suggestion"),
    [
        ("bleed.yaml", "rule: bleed-short\nwarn: below 4 mm\n", ""),
        ("name.yaml", "silent: {en: [line]}\n", "names.yaml"),
        ("more.yml", "rule: bleed-short\n", ""),
        ("word.yaml", "just words\n", ""),
    ],
)
def test_a_file_of_the_folder_that_holds_no_list_of_rules_is_refused(shop, name, text, suggestion):
    shop(RULE)
    path = shop(text, f"house/{name}")
    (fault,) = faults()
    assert (fault.file, fault.line, fault.suggestion) == (str(path), 1, suggestion)
    assert "a list of rules" in fault.expected


def test_rules_in_a_file_that_is_called_like_a_table_do_not_vanish(shop):
    shop(RULE)
    shop(RULE.replace("gap-narrow", "ink-wide"), "house/inks.yaml")
    assert set(load_rules().rules) == {"gap-narrow", "ink-wide"}


@pytest.mark.parametrize("text", ["- rul: gap\n  fail: below 2 mm\n", "- fail: below 2 mm\n  says: x\n", "- rule: ["])
def test_a_rule_file_with_a_slip_does_not_vanish(shop, text):
    shop(RULE)
    shop(text, "house/more.yaml")
    assert all(fault.file.endswith("more.yaml") for fault in faults())


def test_a_file_that_is_named_has_to_hold_rules(shop, tmp_path):
    shop(RULE)
    (tmp_path / "folder").mkdir()
    wrong = [shop("silent: {}\n", "names.yaml"), shop("", "empty.yaml"), tmp_path / "none.yaml", tmp_path / "folder"]
    for path in wrong:
        assert [fault.file for fault in faults([path])] == [str(path)]


def test_a_folder_of_files_is_one_layer(shop, tmp_path):
    shop(RULE)
    shop("- rule: gap-narrow\n  warn: below 4 mm\n", "plant/a.yaml")
    assert load_rules([tmp_path / "plant"]).rules["gap-narrow"].warn == Limit("below", "4 mm")
    shop("- rule: gap-narrow\n  warn: below 5 mm\n", "plant/b.yaml")
    assert [fault.key for fault in faults([tmp_path / "plant"])] == ["gap-narrow.rule"]


def test_all_faults_of_all_files_at_once(shop):
    shop(changed(measure="gapp"))
    shop(RULE.replace("gap-narrow", "gap-other").replace("below 2 mm", "below 2 ppi"), "house/more.yaml")
    plant = shop("- rule: gap-narrow\n  wran: below 4 mm\n- rule: gap-strange\n", "plant.yaml")
    assert {fault.key for fault in faults([plant])} == {"gap-narrow.wran", "gap-strange", "gap-other.fail"}


def test_a_decimal_comma_between_braces_is_named_by_its_rule(shop):
    shop(RULE)
    plant = shop("- {rule: gap-narrow, fail: below 2,5 mm}\n", "plant.yaml")
    assert [(f.line, f.key, f.suggestion) for f in faults([plant])] == [(1, "gap-narrow.fail", "below 2.5 mm")]


def test_an_empty_case_takes_away_one_that_is_there(shop):
    shop(changed(cases="{slot: {warn: below 1 mm}}"))
    plant = shop("- rule: gap-narrow\n  cases: {slot: }\n", "plant.yaml")
    assert load_rules([plant]).rules["gap-narrow"].cases == {}
    shop("- rule: gap-narrow\n  cases:\n    slott:\n", "plant.yaml")
    assert [(f.line, f.key, f.suggestion) for f in faults([plant])] == [(3, "gap-narrow.cases.slott", "slot")]


def test_conditions_of_a_retired_rule_are_looked_at(shop):
    shop(changed(when="{ticket.coating.kind: is uvv}", status="retired"))
    assert [(fault.key, fault.suggestion) for fault in faults()] == [("gap-narrow.when.ticket.coating.kind", "uv")]


def test_the_wrong_word_of_a_list_is_named(tmp_path, monkeypatch):
    monkeypatch.delenv("PREFLIGHT_RULES", raising=False)
    own = tmp_path / "plant.yaml"
    own.write_text("- rule: bleed-short\n  with: {kinds: [spot, varnsh]}\n")
    assert [(fault.found, fault.suggestion) for fault in faults([own])] == [("'varnsh'", "varnish")]


def test_rows_that_are_no_list_are_asked_for_as_one(shop):
    shop(changed(covers="{B01: x}"))
    assert [(fault.key, fault.expected) for fault in faults()] == [
        ("gap-narrow.covers", "a text or a list of texts"),
    ]


@pytest.mark.parametrize("condition", ["press.unit_count: below -1", "ticket.quantity: above lots"])
def test_a_count_is_asked_for_without_a_unit(shop, condition):
    shop(changed(when=f"{{{condition}}}"))
    (fault,) = faults()
    assert "a number without a unit" in fault.expected
    assert "mm" not in fault.expected


def test_a_plain_number_is_asked_for_in_plain_words(shop):
    shop(changed(warn=None, fail="above press.unit_count"))
    (fault,) = faults()
    assert fault.expected.endswith("(press.unit_count is a plain number)")
    shop(changed(measure="gapp"))
    assert [fault.expected for fault in faults()] == ["a measure that exists"]


def test_faults_come_in_the_order_of_the_files_and_their_lines(shop):
    shop(changed(measure="gapp", covers="B99", when="{ticket.quantity: is many}"))
    plant = shop("- rule: gap-strange\n- rule: gap-odd\n  wran: below 4 mm\n", "plant.yaml")
    shop(
        RULE.replace("gap-narrow", "gap-other").replace("below 2 mm", "below 2 ppi") + "  covers: B98\n", "house/a.yaml"
    )
    found = faults([plant])
    assert [fault.file.rpartition("/")[2] for fault in found] == sorted(
        (fault.file.rpartition("/")[2] for fault in found), key=["a.yaml", "gaps.yaml", "plant.yaml"].index
    )
    for file in {fault.file for fault in found}:
        lines = [fault.line for fault in found if fault.file == file]
        assert len(lines) > 1
        assert lines == sorted(lines)


# The language ------------------------------------------------------------------------------------------------------

VALUES = {"press.sheet.largest": Size(1000, 700), "press.board.caliper": Range(0.25, 0.9), "press.cures": ("uv",)}


@pytest.mark.parametrize(
    ("value", "limit", "unit", "trips"),
    [
        (1.9, "below 2 mm", "mm", True),
        (2.0, "below 2 mm", "mm", False),
        (0.3, "below 0.01 in", "mm", False),
        (341.0, "above 340 %", "%", True),
        (340.0, "above 340 %", "%", False),
        (8, "above 7 plates", "plates", True),
        ((1000.0, 700.0), "above press.sheet.largest", "mm", False),
        ((1001.0, 650.0), "above press.sheet.largest", "mm", True),
        ((650.0, 701.0), "above press.sheet.largest", "mm", True),
        ((500.0, 400.0), "below 510 x 350 mm", "mm", True),
        ((510.0, 350.0), "below 510 x 350 mm", "mm", False),
        (0.24, "outside press.board.caliper", "mm", True),
        (0.25, "outside press.board.caliper", "mm", False),
        (0.9, "outside press.board.caliper", "mm", False),
        (0.91, "outside press.board.caliper", "mm", True),
        (4.0, "outside 5 to 90 %", "%", True),
        (91.0, "outside 5 % to 90 %", "%", True),
        (90.0, "outside 5 % to 90 %", "%", False),
        ("refused", "is refused", "", True),
        ("Refused", "is refused", "", True),
        ("taken", "is refused", "", False),
        ("taken", "is not taken", "", False),
        ("grey", "is not white", "", True),
        ("grey", "one of [grey, kraft]", "", True),
        ("white", "one of [grey, kraft]", "", False),
        ("white", "not one of [grey, kraft]", "", True),
        ("kraft", "not one of [grey, kraft]", "", False),
        ("oxidising", "not one of press.cures", "", True),
        ("uv", "not one of press.cures", "", False),
        (("uv", "oxidising"), "is uv", "", True),
        (("uv", "oxidising"), "is water-based", "", False),
        ((3, 4, 5), "is 4.0", "", True),
        ((3, 4, 5), "is 6", "", False),
        ((1060.0, 750.0), "above 1060 x 749 mm", "mm", True),
        ((1060.0, 750.0), "above 1060 x 750 mm", "mm", False),
        (True, "is not true", "", False),
        (True, "is true", "", True),
        (False, "is true", "", False),
        (3.0, "is 3 plates", "plates", True),
        (3.0, "is not 3", "", False),
        (0.45, "above 0.4 mm", "", True),
        (0.45, "above 500 um", "", False),
        (Size(1040, 740), "below 1050 x 700 mm", "", True),
    ],
)
def test_values_held_against_limits(value, limit, unit, trips):
    assert hold(value, read_limit(limit), unit, lambda ref: VALUES[ref.text]).trips is trips


@pytest.mark.parametrize(
    ("value", "limit", "number", "words"),
    [
        (1.9, "below 2 mm", 2.0, "minimum 2 mm"),
        (341.0, "above 340 %", 340.0, "maximum 340 %"),
        ((1010.0, 650.0), "above press.sheet.largest", (1000.0, 700.0), "maximum 1000 x 700 mm"),
        (0.24, "outside press.board.caliper", 0.25, "0.25 mm to 0.9 mm"),
        (0.95, "outside press.board.caliper", 0.9, "0.25 mm to 0.9 mm"),
        (3.0, "above 0 plates", 0.0, "none"),
        (3.0, "above 0 %", 0.0, "maximum 0 %"),
        ("grey", "is not white", "white", "white"),
        ("refused", "is refused", "refused", "not refused"),
        ("x", "not one of [grey, kraft]", "grey, kraft", "one of grey, kraft"),
        (True, "is true", None, ""),
        (3.0, "is 3 plates", 3.0, "not 3 plates"),
        (3.0, "is not 1 plates", 1.0, "1 plate"),
        (12.0, "above 12 plates", 12.0, "maximum 12 plates"),
    ],
)
def test_limits_in_words_say_what_is_asked_for(value, limit, number, words):
    unit = next((u for u in ("%", "plates") if u in limit), "mm" if isinstance(value, float | tuple) else "")
    outcome = hold(value, read_limit(limit), unit, lambda ref: VALUES[ref.text])
    assert (outcome.limit, outcome.words) == (number, words)


@pytest.mark.parametrize(
    ("value", "tolerance", "cap", "trips"),
    [
        (1.9, 0.1, None, False),
        (1.89, 0.1, None, True),
        (1.6, 0.0, 1.5, False),
        (1.4, 0.0, 1.5, True),
        (1.4, 0.1, 1.5, False),
    ],
)
def test_tolerance_and_cap(value, tolerance, cap, trips):
    assert hold(value, read_limit("below 2 mm"), "mm", lambda ref: None, tolerance, cap).trips is trips


@pytest.mark.parametrize(
    ("value", "limit"), [("wide", "below 2 mm"), (True, "below 2 mm"), (1.0, "outside press.cures")]
)
def test_words_are_not_compared_with_numbers(value, limit):
    with pytest.raises(TypeError):
        hold(value, read_limit(limit), "mm", lambda ref: VALUES[ref.text])


@pytest.mark.parametrize(
    "text",
    [
        "press.sheet.largest",
        "press.sheet.smallest",
        "press.sheet.printable",
        "press.edges.gripper",
        "press.board.caliper",
        "press.unit_count",
        "press.cures",
        "press.top_speed",
        "press.side_lay",
        "ticket.ink_system",
        "ticket.board.surface",
        "ticket.board.caliper",
        "ticket.sheet",
        "ticket.coating.kind",
        "ticket.nothing_coated",
        "ticket.quantity",
        "job.artwork_is",
        "job.die.found",
    ],
)
def test_what_may_be_referred_to(text):
    assert reference(text).text == text


@pytest.mark.parametrize(
    "text", ["press", "press.", "press.line", "ticket.areas", "job.page", "plant.name", "press.sheet.x.y", 3]
)
def test_what_may_not_be_referred_to(text):
    with pytest.raises(NotUnderstood):
        reference(text)


@pytest.mark.parametrize(
    ("text", "inner"),
    [
        ("ticket.bord", {"board", "coating", "die", "quantity", "sheet"}),
        ("ticket.coating.kin", {"kind", "separation", "clear"}),
        ("job.found", {"artwork_is", "die"}),
    ],
)
def test_a_reference_that_leads_nowhere_lists_what_is_there(text, inner):
    with pytest.raises(NotUnderstood) as refusal:
        reference(text)
    listed = re.search(r"\((.*)\)", refusal.value.expected)
    assert listed is not None
    names = listed[1].split(", ")
    assert inner <= set(names)
    assert names == sorted(names)
    inside = {"measure_inks", "coating_keys", "sheet_keys", "artwork_list", "unit_list", "page", "units", "waivers"}
    assert not inside & set(names)


@pytest.mark.parametrize(
    "text",
    [
        "one of [kraft, ]",
        "one of [, kraft]",
        "one of [kraft,, grey]",
        "one of []",
        "one of kraft",
        "not one of [kraft, ]",
    ],
)
def test_a_list_with_a_word_missing_is_no_limit(text):
    with pytest.raises(NotUnderstood):
        read_limit(text)


def test_rules_without_a_name_are_each_a_fault_and_not_one_rule_twice(shop):
    shop("- {asks: Is it wide enough?}\n- {asks: Is it tall enough?}\n")
    found = faults()
    assert [fault.line for fault in found] == [1, 2]


# The house rules ---------------------------------------------------------------------------------------------------


def test_the_house_rules_load(monkeypatch):
    monkeypatch.delenv("PREFLIGHT_RULES", raising=False)
    book = load_rules()
    assert {"bleed-short", "plates-over-units", "sheet-over-max"} <= set(book.rules)
    assert not book.off


def test_editors_accept_the_house_rules(monkeypatch):
    monkeypatch.delenv("PREFLIGHT_RULES", raising=False)
    validator = Draft202012Validator(json_schema("rules"))
    for file in load_rules().files:
        assert not list(validator.iter_errors(load_yaml(rules_dir() / file).data)), file


@pytest.mark.parametrize(
    "entry", [{"rule": "Bad Name"}, {"asks": "x"}, {"rule": "a", "fial": "x"}, {"rule": "a", "fail": "under 2"}]
)
def test_editors_flag_slips(entry):
    assert list(Draft202012Validator(json_schema("rules")).iter_errors([entry]))


# What loads can be held --------------------------------------------------------------------------------------------

ON_A_JOB: dict[str, Any] = {
    "ticket.sheet": Size(1040, 720),
    "press.sheet.largest": Size(1040, 720),
    "press.unit_count": 6,
    "press.board.caliper": Range(0.25, 0.9),
    "press.cures": ("uv",),
    "ticket.board.caliper": 0.46,
    "ticket.board.weight": 300.0,
    "ticket.quantity": 5000,
    "ticket.coating.kind": "uv",
    "ticket.nothing_coated": False,
    "job.artwork_is": "sheet",
}
LITERALS = (
    *("1040 x 720 mm", "40 x 28 in", "1040×720", "6", "6.5", "0", "-1", "0.4 mm", "0.4", "18 pt", "300 g/m2", "uv"),
    *("sheet", "true", "0.3 to 0.5 mm", "1 to 2", *ON_A_JOB),
)
COMPARED = [
    *(f"{comparison} {one}" for comparison in ("below", "above", "outside", "is", "is not") for one in LITERALS),
    *(f"{comparison} [{one}]" for comparison in ("one of", "not one of") for one in LITERALS),
    *(f"{comparison} {one}" for comparison in ("one of", "not one of") for one in ON_A_JOB),
]


@pytest.mark.parametrize("text", ON_A_JOB)
def test_whatever_condition_loads_can_be_held_against_a_job(text):
    ref, loaded = reference(text), 0
    for written in COMPARED:
        try:
            limit = of_reference(read_limit(written), ref)
        except NotUnderstood:
            continue
        hold(ON_A_JOB[text], limit, ref.unit, lambda right: ON_A_JOB[right.text])
        loaded += 1
    assert loaded or text == "press.board.caliper"  # a range is nothing that a condition is set on


@pytest.mark.parametrize(
    ("measure", "value"), [("size", (500.0, 350.0)), ("gap", 2.0), ("word", "taken")], ids=["size", "gap", "word"]
)
def test_whatever_limit_loads_can_be_held_against_a_reading(shop, measure, value):
    loaded = 0
    for written in (*COMPARED, "is taken"):
        try:
            limit = of_measure(read_limit(written), MEASURES[measure])
        except NotUnderstood:
            continue
        hold(value, limit, MEASURES[measure].unit, lambda right: ON_A_JOB[right.text])
        loaded += 1
    assert loaded


@pytest.mark.parametrize("value", [(1040.0, 720.0), Size(1040, 720)], ids=["of a reading", "of the ticket"])
@pytest.mark.parametrize(
    ("limit", "trips"),
    [
        ("is 1040 x 720 mm", True),
        ("is 720 x 1040 mm", False),
        ("is not 1040 x 720 mm", False),
        ("is not 1040 × 700 mm", True),
        ("one of [700 x 500 mm, 1040 x 720]", True),
        ("not one of [700 x 500 mm, 104 x 72 cm]", False),
        ("is press.sheet.largest", True),
        ("not one of [700 x 500 mm]", True),
    ],
)
def test_sizes_are_the_same_both_ways(value, limit, trips):
    assert hold(value, read_limit(limit), "mm", lambda right: ON_A_JOB[right.text]).trips is trips


@pytest.mark.parametrize(
    ("text", "limit", "value", "asked"),
    [
        (
            "ticket.board.caliper",
            "outside press.board.caliper",
            0.46,
            "outside press.board.caliper, which is 0.25 mm to 0.9 mm",
        ),
        (
            "ticket.sheet",
            "is not press.sheet.largest",
            Size(1040, 720),
            "not press.sheet.largest, which is 1040 x 720 mm",
        ),
    ],
)
def test_what_a_condition_refers_to_is_said_with_its_value(text, limit, value, asked):
    told = why_not_asked(reference(text), read_limit(limit), value, lambda right: ON_A_JOB[right.text])
    assert f" is {asked} ({text}); here it is " in told


@pytest.mark.parametrize(
    ("text", "limit", "value", "asked"),
    [
        ("job.die.found", "is none", "read", "without a die (job.die.found)"),
        ("press.ink_keys.count", "is 31", 32, "whose number of ink keys is 31 (press.ink_keys.count)"),
        ("ticket.artwork_is", "is sheet", "one-up", "whose artwork is sheet (ticket.artwork_is)"),
    ],
)
def test_conditions_are_said_in_plain_words(text, limit, value, asked):
    assert asked in why_not_asked(reference(text), read_limit(limit), value, lambda right: None)

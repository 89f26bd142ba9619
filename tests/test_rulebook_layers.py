"""Rules of several files: what each layer changes, and where each fault of each rule is said to be."""

from __future__ import annotations

from typing import Annotated, Any

import pytest

from preflight.errors import InvalidInput, NotUnderstood
from preflight.findings import Reading, Verdict
from preflight.inputs.fields import word
from preflight.judging.limits import Limit
from preflight.judging.rulebook import Case, Rule, load_rules, parameter
from preflight.measures import MEASURES, declared

RULE = """\
- rule: {name}
  asks: Is it wide enough?
  measure: gap
  fail: below 2 mm
  warn: below 3 mm
  says: It is {{reading}}.
  why: It closes.
  do: Widen it.
  source: common practice
"""


def with_parameters(job: Any, *, kinds: list[str], area_mm2: float = 1.0, size_pt: float = 2.0) -> list[Reading]:
    """Width of each gap."""
    raise AssertionError("no job in these tests")


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A folder of house rules that knows two measures; writes files into it, or beside it."""
    (tmp_path / "house").mkdir()
    monkeypatch.setenv("PREFLIGHT_RULES", str(tmp_path / "house"))
    plain: dict[str, Any] = {"unit": "mm", "cases": ("slot", "flap"), "facts": ("side",)}
    monkeypatch.setitem(MEASURES, "gap", declared(lambda job: [], name="gap", **plain))
    monkeypatch.setitem(MEASURES, "wide-gap", declared(with_parameters, name="wide-gap", **plain))

    def write(text, name="house/gaps.yaml"):
        (tmp_path / name).write_text(text, "utf-8")
        return tmp_path / name

    write(RULE.format(name="gap-narrow") + RULE.format(name="gap-wide"))
    return write


def faults(*extra):
    with pytest.raises(InvalidInput) as refusal:
        load_rules(extra)
    return [(fault.file.rpartition("/")[2], fault.line, fault.key) for fault in refusal.value.faults]


def test_a_rule_without_a_name_or_twice_hides_none_of_those_behind_it(shop):
    plant = shop(
        "- warn: below 4 mm\n- just words\n- {rule: gap-wide, warn: below 4 mm}\n- {rule: gap-wide, warn: below 5 mm}\n"
        "- {rule: gap-narrow, warn: below 4 ppi}\n- {rule: gap-none, warn: below 4 mm}\n",
        "plant.yaml",
    )
    assert faults(plant) == [
        ("plant.yaml", 1, "[0].rule"),
        ("plant.yaml", 2, "[1]"),
        ("plant.yaml", 4, "gap-wide.rule"),
        ("plant.yaml", 5, "gap-narrow.warn"),
        ("plant.yaml", 6, "gap-none"),
    ]


def test_a_rule_that_one_layer_breaks_is_not_complained_of_twice(shop):
    first = shop("- {rule: gap-none, wran: below 4 mm}\n", "first.yaml")
    second = shop("- {rule: gap-none, asks: Well?}\n", "second.yaml")
    assert faults(first, second) == [("first.yaml", 1, "gap-none.wran")]
    assert faults(second, first) == [("first.yaml", 1, "gap-none.wran")]


def test_faults_of_the_catalogue_come_last(shop, tmp_path):
    shop("- section: A\n  stage: nowhere\n  rows: []\n", "house/checks.yaml")
    plant = shop(
        "- {rule: gap-wide, covers: A01, warn: below 4 ppi}\n- {rule: gap-none, warn: below 1 mm}\n", "plant.yaml"
    )
    assert [file for file, _, _ in faults(plant)] == ["plant.yaml", "plant.yaml", "checks.yaml"]


def test_a_key_that_is_taken_away_is_missed_where_that_was_done(shop):
    first = shop("- rule: gap-wide\n  why:\n", "first.yaml")
    second = shop("- rule: gap-narrow\n  asks: Well?\n- rule: gap-wide\n  do: It.\n", "second.yaml")
    assert faults(first, second) == [("second.yaml", 3, "gap-wide")]  # its last mention


def test_a_limit_that_is_taken_away_leaves_the_other(shop):
    plant = shop("- {rule: gap-wide, fail: }\n- {rule: gap-narrow, fail: , warn: }\n", "plant.yaml")
    assert faults(plant) == [("plant.yaml", 2, "gap-narrow")]
    shop("- {rule: gap-wide, fail: }\n", "plant.yaml")
    assert load_rules([plant]).rules["gap-wide"].limits("")[Verdict.WARN] == Limit("below", "3 mm")


def test_a_limit_of_a_case_is_limit_enough(shop):
    plant = shop("- {rule: gap-wide, fail: , warn: , cases: {slot: {warn: below 1 mm}}}\n", "plant.yaml")
    rule = load_rules([plant]).rules["gap-wide"]
    assert not any(rule.limits("").values())
    assert rule.limits("slot")[Verdict.WARN] == Limit("below", "1 mm")


def test_a_note_is_limit_enough_and_is_laid_like_the_others(shop):
    plant = shop("- {rule: gap-wide, fail: , warn: , note: below 4 mm}\n", "plant.yaml")
    customer = shop("- {rule: gap-wide, cases: {slot: {note: below 1 mm}}}\n", "customer.yaml")
    rule = load_rules([plant, customer]).rules["gap-wide"]
    nothing = {Verdict.FAIL: None, Verdict.WARN: None}
    assert rule.limits("") == {**nothing, Verdict.NOTE: Limit("below", "4 mm")}
    assert rule.limits("slot") == {**nothing, Verdict.NOTE: Limit("below", "1 mm")}
    above = load_rules([shop("- {rule: gap-wide, note: below 4 mm}\n", "note.yaml")]).rules["gap-wide"]
    assert all(above.limits("").values())


@pytest.mark.parametrize(
    ("given", "key"),
    [("note: below 3 ppi", "note"), ("cases: {slot: {note: below 3 ppi}}", "cases.slot.note")],
)
def test_a_note_has_to_fit_its_measure_too(shop, given, key):
    plant = shop(f"- {{rule: gap-wide, {given}}}\n", "plant.yaml")
    assert faults(plant) == [("plant.yaml", 1, f"gap-wide.{key}")]


def test_cases_are_laid_over_each_other_key_by_key(shop):
    first = shop("- {rule: gap-wide, cases: {slot: {fail: below 1 mm, says: A.}, flap: {why: B.}}}\n", "first.yaml")
    second = shop("- {rule: gap-wide, cases: {slot: {says: C., do: D.}, flap: }}\n", "second.yaml")
    book = load_rules([first, second])
    assert book.rules["gap-wide"].cases == {"slot": Case(fail=Limit("below", "1 mm"), says="C.", do="D.")}
    assert set(load_rules([first]).rules["gap-wide"].cases) == {"slot", "flap"}


def test_parameters_are_laid_over_each_other_one_by_one(shop):
    first = shop("- {rule: gap-wide, measure: wide-gap, with: {kinds: spot, area: 2 mm2, size: 5 pt}}\n", "first.yaml")
    second = shop("- {rule: gap-wide, with: {area: 1 cm2}}\n", "second.yaml")
    rule = load_rules([first, second]).rules["gap-wide"]
    assert rule.parameters == {"kinds": ["spot"], "area_mm2": 100, "size_pt": 5}
    assert rule.with_as_written == {"kinds": "spot", "area": "1 cm2", "size": "5 pt"}


@pytest.mark.parametrize(
    ("given", "wrong"),
    [
        ("{kinds: spot, area: 2 mm2, area_mm2: 3 mm2}", ["area_mm2"]),  # one parameter twice
        ("{kinds: spot, aera: 2 mm2, sise: 3 pt}", ["aera", "sise"]),
        ("{area: 2 mm, size: 3 pt}", ["area", ""]),
        ("{area: 2 mm2}", [""]),  # kinds has to be given
        ("{kinds: [], area: [2 mm2, 3 mm2]}", ["area"]),
    ],
)
def test_every_parameter_that_is_wrong_is_named(shop, given, wrong):
    plant = shop(f"- {{rule: gap-wide, measure: wide-gap, with: {given}}}\n", "plant.yaml")
    keys = [key for _, _, key in faults(plant)]
    assert sorted(keys) == sorted(f"gap-wide.with{'.' if key else ''}{key}" for key in wrong)


@pytest.mark.parametrize(
    ("source", "keys"),
    [
        ("From memory of a printer", ["fail", "cases.slot.fail"]),
        ("a standard, from memory", []),
        ("common practice", []),
    ],
)
def test_what_is_only_remembered_fails_nothing(shop, source, keys):
    cases = "{slot: {fail: below 1 mm, warn: below 2 mm}, flap: {warn: below 1 mm}}"
    plant = shop(f"- {{rule: gap-wide, source: '{source}', cases: {cases}}}\n", "plant.yaml")
    if keys:
        assert sorted(key for _, _, key in faults(plant)) == sorted(f"gap-wide.{key}" for key in keys)
    else:
        assert load_rules([plant]).rules["gap-wide"].source == source


@pytest.mark.parametrize(("given", "counts"), [("note", Verdict.PASS), ("warn", Verdict.WARN), ("fail", Verdict.FAIL)])
def test_what_an_open_rule_counts_as(shop, given, counts):
    plant = shop(f"- {{rule: gap-wide, if_not_checked: {given}}}\n", "plant.yaml")
    book = load_rules([plant])
    assert (book.rules["gap-wide"].if_not_checked, book.rules["gap-narrow"].if_not_checked) == (counts, Verdict.PASS)


def test_rows_of_rules_that_do_not_run_are_kept(shop):
    shop((RULE.format(name="gap-old") + "  covers: [B01, B02]\n  status: retired\n"), "house/old.yaml")
    plant = shop("- {rule: gap-wide, off: not here, covers: B03}\n- {rule: gap-narrow, off: never}\n", "plant.yaml")
    book = load_rules([plant])
    assert book.rules == {}
    assert book.off == {"gap-narrow": "never", "gap-wide": "not here"}
    assert book.off_covers == {"gap-narrow": (), "gap-wide": ("B03",)}
    assert book.retired == {"gap-old": ("B01", "B02")}
    assert [file.rpartition("/")[2] for file in book.files] == ["gaps.yaml", "old.yaml", "plant.yaml"]


@pytest.mark.parametrize(
    ("covers", "wrong"), [("[B01, B99, B02, B98]", ["covers[1]", "covers[3]"]), ("B99", ["covers[0]"]), ("B01", [])]
)
def test_every_row_that_is_not_there_is_named(shop, covers, wrong):
    plant = shop(f"- {{rule: gap-wide, covers: {covers}}}\n", "plant.yaml")
    if wrong:
        assert [key for _, _, key in faults(plant)] == [f"gap-wide.{key}" for key in wrong]
    else:
        assert load_rules([plant]).rules["gap-wide"].covers == ("B01",)


def test_every_limit_and_case_that_does_not_fit_is_named(shop):
    cases = "{slot: {fail: below 1 ppi, warn: below 1 %}, flat: {warn: below 1 mm, says: 'In {sid}.'}}"
    plant = shop(f"- {{rule: gap-wide, fail: below 2 ppi, warn: below 3 %, cases: {cases}}}\n", "plant.yaml")
    assert sorted(key.removeprefix("gap-wide.") for _, _, key in faults(plant)) == [
        "cases.flat", "cases.flat.says", "cases.slot.fail", "cases.slot.warn", "fail", "warn",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "name", "kind", "value"),
    [
        ("3 mm", "gap_mm", float, 3),
        ("1 in2", "area_mm2", float, 645.16),
        ("1 in", "size_pt", float, 72),
        ("2 h", "time_min", float, 120),
        ("150 ppi", "least_ppi", float, 150),
        (("1 mm", "2 cm"), "steps_mm", list[float], [1, 20]),
        ("1 mm", "steps_mm", tuple[float, ...], (1,)),
        ("yes", "twice", bool, True),
        (7, "name", str, "7"),
        ("half cut", "kind", Annotated[str, word("half-cut")], "half-cut"),
    ],
)
def test_a_parameter_is_typed_by_its_name_and_its_type(text, name, kind, value):
    got = parameter(text, name, kind)
    assert got == (pytest.approx(value) if isinstance(value, float) else value)
    assert type(got) is (float if kind is float else type(value))


@pytest.mark.parametrize(
    ("text", "name", "kind"),
    [(["1 mm"], "gap_mm", float), ("2 %", "gap_mm", float), ("2.5", "runs", int), ("perhaps", "twice", bool)],
)
def test_what_is_no_such_parameter(text, name, kind):
    with pytest.raises(NotUnderstood):
        parameter(text, name, kind)


def test_words_and_limits_of_a_case():
    fail, warn = Limit("below", "2 mm"), Limit("below", "3 mm")
    cases = {"slot": Case(fail=warn, do="Cut it."), "flap": Case(says="")}
    rule = Rule("a", "?", "gap", "says", "why", "do", "s", fail=fail, warn=warn, cases=cases, customer="c")
    own = {Verdict.FAIL: fail, Verdict.WARN: warn, Verdict.NOTE: None}
    assert rule.limits("slot") == {Verdict.FAIL: warn, Verdict.WARN: None, Verdict.NOTE: None}
    assert (rule.limits("flap"), rule.limits("other")) == (own, own)
    assert [rule.words("slot", key) for key in ("says", "why", "do", "customer")] == ["says", "why", "Cut it.", "c"]
    assert (rule.words("flap", "says"), rule.words("", "says"), rule.trial) == ("", "says", False)

"""``preflight rules`` and ``preflight schema``: the list, one rule, and what is said of a slip."""

from __future__ import annotations

import json

import pytest

from preflight.cli.main import run
from preflight.cli.schema_command import json_schema
from preflight.errors import WrongUsage

RULES = """\
- rule: gap-narrow
  asks: Is the gap wide enough?
  measure: caliper
  with: {tolerance: 5 %}
  fail: below 2 mm
  warn: below 3 mm
  says: It is {reading}.
  why: It closes.
  do: Widen it.
  source: common practice
- rule: ink
  asks: Is there ink?
  measure: caliper
  with: {tolerance: 6 %}
  warn: above 3 mm
  says: It is {reading}.
  why: It shows.
  do: Leave it.
  source: a standard
  if_not_checked: fail
"""


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("PREFLIGHT_RULES", str(tmp_path))
    (tmp_path / "rules.yaml").write_text(RULES)
    return tmp_path


def test_rules_are_listed_in_their_order_and_in_a_column(shop, capsys):
    plant = shop / "plant.txt"
    plant.write_text("- {rule: ink, off: not ours}\n")
    assert run(["rules"]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "gap-narrow  Is the gap wide enough?",
        "ink         Is there ink?",
    ]
    assert run(["rules", "--rules", str(plant)]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "gap-narrow  Is the gap wide enough?",
        "ink         switched off: not ours",
    ]


def test_a_list_of_no_rules_is_empty(shop, capsys):
    (shop / "plant.txt").write_text("- {rule: ink, status: retired}\n- {rule: gap-narrow, status: retired}\n")
    assert run(["rules", "--rules", str(shop / "plant.txt")]) == 0
    assert capsys.readouterr().out == ""


def shown(capsys, name: str) -> list[tuple[str, str]]:
    assert run(["rules", name]) == 0
    return [(line[:16].strip(), line[16:]) for line in capsys.readouterr().out.splitlines()]


def test_one_rule_is_shown_key_by_key(shop, capsys, monkeypatch):
    monkeypatch.chdir(shop)
    monkeypatch.setenv("PREFLIGHT_RULES", ".")
    assert shown(capsys, "gap-narrow") == [
        ("rule", "gap-narrow"),
        ("asks", "Is the gap wide enough?"),
        ("measure", "caliper"),
        ("with", "tolerance: 5 %"),
        ("fails", "below 2 mm"),
        ("warns", "below 3 mm"),
        ("says", "It is {reading}."),
        ("why", "It closes."),
        ("do", "Widen it."),
        ("source", "common practice"),
        ("status", "active"),
        ("if not checked", "note"),
        ("from", "rules.yaml"),
    ]


def test_a_note_is_shown_behind_the_other_limits(shop, capsys):
    (shop / "plant.txt").write_text("- {rule: ink, note: above 2 mm}\n")
    assert run(["rules", "ink", "--rules", str(shop / "plant.txt")]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[lines.index("warns           above 3 mm") + 1] == "notes           above 2 mm"
    assert run(["rules", "ink", "--json", "--rules", str(shop / "plant.txt")]) == 0
    entry = json.loads(capsys.readouterr().out)
    assert [entry[key] for key in ("fail", "warn", "note")] == [None, "above 3 mm", "above 2 mm"]


def test_what_a_rule_does_not_have_is_not_shown(shop, capsys):
    lines = dict(shown(capsys, "ink"))
    assert ("fails" in lines, lines["warns"], lines["if not checked"]) == (False, "above 3 mm", "fail")


@pytest.mark.parametrize(("name", "meant"), [("gap-narow", "gap-narrow"), ("inc", "ink"), ("zzzz", None)])
def test_a_rule_there_is_not(shop, name, meant, capsys):
    assert run(["rules", name]) == 2
    err = capsys.readouterr().err
    assert f"there is no rule {name}" in err
    assert (f"did you mean {meant}?" in err) is (meant is not None)
    assert ("did you mean" in err) is (meant is not None)


@pytest.mark.parametrize("what", ["press", "ticket", "rules", "checks", "report"])
def test_each_schema_is_printed_as_json(what, capsys):
    assert run(["schema", what]) == 0
    assert json.loads(capsys.readouterr().out) == json_schema(what)


def test_the_schema_of_a_press_asks_for_one_of_two_forms():
    schema = json_schema("press")
    assert schema["oneOf"] == [{"required": ["line"]}, {"required": ["units"]}]
    assert schema["title"] == "Press profile"
    assert schema["$schema"].startswith("https://json-schema.org/")


def test_schemas_of_lists_are_of_their_entries():
    assert (json_schema("rules")["type"], json_schema("checks")["type"]) == ("array", "array")
    assert json_schema("ticket")["type"] == "object"


def test_keys_that_are_called_title_stay_and_generated_titles_and_defaults_go():
    schema = json_schema("ticket")
    assert "title" in schema["properties"]
    assert "title" not in schema["properties"]["revision"]
    assert "default" not in schema["properties"]["quantity"]
    assert all("title" not in definition for definition in schema["$defs"].values())


def test_there_is_no_other_schema():
    with pytest.raises(WrongUsage, match="press, ticket, rules, checks, report"):
        json_schema("printer")
    assert run(["schema", "printer"]) == 2

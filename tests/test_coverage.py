"""The catalogue of checks, what the rules cover of it, and what is said of the rest."""

import json
import re
from importlib.resources import files

import pytest
import yaml
from jsonschema import Draft202012Validator

from preflight.cli.main import run
from preflight.cli.schema_command import json_schema
from preflight.errors import ExitStatus, InvalidInput
from preflight.inputs.loading import shipped_rules_dir
from preflight.judging.catalogue import load_catalogue
from preflight.judging.coverage import NOT_YET, coverage
from preflight.judging.rulebook import load_rules

ROWS_OF_A_LETTER = {
    "I": 18, "D": 10, "B": 22, "T": 16, "C": 31, "G": 4, "K": 14, "F": 13, "W": 9, "P": 17, "U": 17, "L": 24, "X": 9,
    "M": 5, "R": 5,
}  # fmt: skip
CATALOGUE = """
- section: Gaps
  stage: artwork
  rows:
    - {row: A01, asks: Is there a gap?, sure: file}
    - {row: A02, asks: Is it wide?, sure: [told, estimate], view: Separations}
    - {row: A03, asks: Is it liked?, sure: person, because: nobody can tell by looking at it}
- section: Sheets
  stage: sheet layout
  rows:
    - {row: A04, asks: Is it there on the sheet?, sure: told}
"""
RULE = """
- rule: gap-narrow
  asks: Is the gap wide enough?
  measure: caliper
  with: {tolerance: 5 %}
  fail: below 2 mm
  says: It is {reading}.
  why: It closes.
  do: Widen it.
  source: common practice
  covers: [A01, A04]
"""


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A rules folder of a plant's own; returns what writes its files."""
    monkeypatch.setenv("PREFLIGHT_RULES", str(tmp_path))

    def write(text, name="rules.yaml"):
        (tmp_path / name).write_text(text)
        return tmp_path / name

    write(CATALOGUE, "checks.yaml")
    write(RULE)
    return write


def faults_of(load):
    with pytest.raises(InvalidInput) as refused:
        load()
    assert refused.value.exit_status == ExitStatus.INVALID_INPUT
    return {(fault.line, fault.key, fault.found, fault.suggestion) for fault in refused.value.faults}


def answers(*files):
    return {a.row: a for section in coverage(load_rules(files), load_catalogue()).values() for a in section}


# The file ----------------------------------------------------------------------------------------------------------


def test_all_rows_are_there():
    rows = load_catalogue().rows
    assert len(rows) == 214
    wanted = {f"{letter}{number + 1:02}" for letter, count in ROWS_OF_A_LETTER.items() for number in range(count)}
    assert set(rows) == wanted
    assert all(row.asks.endswith("?") for row in rows.values())


def test_the_schema_takes_the_file_and_refuses_a_slip():
    validator = Draft202012Validator(json_schema("checks"))
    sections = yaml.safe_load((shipped_rules_dir() / "checks.yaml").read_text())
    assert list(validator.iter_errors(sections)) == []
    sections[0]["rows"][0]["sure"] = "certainly"
    assert len(list(validator.iter_errors(sections))) == 1


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("row: A04", "row: A01", (11, "Sheets.rows[0].row", "'A01'", "")),
        ("row: A04", "row: Sheet", (11, "Sheets.rows[0].row", "'Sheet'", "")),
        ("sure: person", "sure: persons", (7, "Gaps.rows[2].sure", "'persons'", "person")),
        ("stage: artwork", "stage: artworks", (3, "Gaps.stage", "'artworks'", "artwork")),
        ("asks: Is it wide?", "ask: Is it wide?", (6, "Gaps.rows[1].ask", "the unknown key 'ask'", "asks")),
    ],
    ids=["a row twice", "no name of a row", "no word for sure", "no stage", "an unknown key"],
)
def test_a_slip_in_the_catalogue_is_named(shop, old, new, fault):
    shop(CATALOGUE.replace(old, new), "checks.yaml")
    assert fault in faults_of(load_catalogue)
    assert fault in faults_of(load_rules)


def test_a_catalogue_that_is_no_list_is_refused(shop):
    shop("rows: []\n", "checks.yaml")
    assert faults_of(load_catalogue) == {(1, "", "a mapping (rows)", "")}


def test_a_folder_without_a_catalogue_has_the_shipped_one(shop, tmp_path):
    (tmp_path / "checks.yaml").unlink()
    shop(RULE.replace("A01, A04", "B01, B02"))
    assert len(load_catalogue().rows) == 214
    assert load_rules().rules["gap-narrow"].covers == ("B01", "B02")


# covers: -----------------------------------------------------------------------------------------------------------


def test_every_row_that_a_shipped_rule_covers_is_there():
    """Loading leaves this to us."""
    rows = load_catalogue().rows.keys()
    assert {(rule.rule, row) for rule in load_rules().rules.values() for row in rule.covers if row not in rows} == set()


def test_a_rule_covers_rows_that_are_there(shop):
    assert load_rules().rules["gap-narrow"].covers == ("A01", "A04")


def test_a_row_that_is_not_there_stops_the_loading(shop):
    shop(RULE.replace("A01, A04", "A01, B03"))
    assert faults_of(load_rules) == {(11, "gap-narrow.covers[1]", "'B03'", "A03")}


def test_it_is_named_in_the_file_that_says_it_and_on_its_line(shop, tmp_path, capsys):
    plant = shop("- rule: gap-narrow\n  covers:\n    - A02\n    - A4\n", "plant.txt")
    assert faults_of(lambda: load_rules([plant])) == {(4, "gap-narrow.covers[1]", "'A4'", "A04")}
    assert run(["rules", "--rules", str(plant)]) == 4
    assert f"{plant}:4: gap-narrow.covers[1]: found 'A4'" in capsys.readouterr().err


@pytest.mark.parametrize("more", ["off: not here", "status: retired"])
def test_rules_that_do_not_run_are_looked_at_too(shop, more):
    shop(RULE.replace("A01, A04", "A09") + f"  {more}\n")
    assert {fault[2] for fault in faults_of(load_rules)} == {"'A09'"}


# What answers each row ---------------------------------------------------------------------------------------------


def test_each_row_tells_what_answers_it(shop):
    told = {row: (answer.rules, answer.view, answer.because, answer.by) for row, answer in answers().items()}
    assert told == {
        "A01": (("gap-narrow",), None, None, "rule"),
        "A02": ((), "Separations", None, "view"),
        "A03": ((), None, "nobody can tell by looking at it", "nobody"),
        "A04": (("gap-narrow",), None, None, "rule"),
    }


def test_a_row_without_an_answer_is_not_built_yet(shop):
    shop(RULE.replace("A01, A04", "A01"))
    assert (answers()["A04"].because, answers()["A04"].by) == (NOT_YET, NOT_YET)


def test_a_rule_that_is_switched_off_covers_nothing(shop):
    plant = shop("- {rule: gap-narrow, off: wide enough here}\n", "plant.txt")
    answer = answers(plant)["A01"]
    assert (answer.rules, answer.because, answer.by) == ((), "gap-narrow is switched off: wide enough here", "off")


def test_a_rule_that_is_retired_is_built_all_the_same(shop, capsys):
    plant = shop("- {rule: gap-narrow, status: retired}\n", "plant.txt")
    answer = answers(plant)["A01"]
    assert (answer.rules, answer.because, answer.by) == ((), "gap-narrow is retired", "off")
    assert run(["rules", "--coverage", "--rules", str(plant)]) == 0
    lines = " ".join(capsys.readouterr().out.split())
    assert "4 rows: 0 by rules, 1 in the report, 2 by rules that are off, 1 not by a program, 0 not yet" in lines


def test_a_row_with_a_view_is_answered_though_a_rule_of_it_is_off(shop):
    plant = shop("- {rule: gap-narrow, off: wide enough here, covers: A02}\n", "plant.txt")
    assert answers(plant)["A02"].by == "view"


def test_every_row_of_the_house_is_covered_shown_or_explained():
    told = answers()
    assert [a.row for a in told.values() if not (a.rules or a.view or a.because)] == []
    assert [a.row for a in told.values() if (a.rules or a.view) and a.because == NOT_YET] == []
    rows = load_catalogue().rows
    by_people = [row for row in told if rows[row].sure == ("person",)]
    assert by_people == ["B19", "C31", "M04"]
    assert [row for row in by_people if told[row].because == NOT_YET] == []


@pytest.mark.parametrize("row", [row for row in load_catalogue().rows.values() if row.view], ids=lambda row: row.row)
def test_a_view_is_a_part_of_the_report_page(row):
    page = "".join(files("preflight.report").joinpath(part).read_text() for part in ("page.html", "picture.html"))
    headings = [re.sub(r"{%.*", "", heading) for heading in re.findall(r"<h2[^>]*>([^<{]+)", page)]
    assert row.view.startswith(tuple(heading.strip() for heading in headings if heading.strip()))


# The command -------------------------------------------------------------------------------------------------------


def test_the_table_can_be_read_at_eighty_columns(shop, capsys):
    assert run(["rules", "--coverage"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    assert [line for line in lines if line != line.rstrip()] == []
    assert lines[0] == "Gaps: 2 of 3 rows answered"
    assert re.match(r"A01  Is there a gap\? +gap-narrow$", lines[1])
    assert re.match(r"A02  Is it wide\? +report: Separations$", lines[2])
    assert lines[-1] == "4 rows: 2 by rules, 1 in the report, 1 not by a program, 0 not yet"


def test_json_has_just_these_keys(capsys):
    assert run(["rules", "--coverage", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [entry["row"] for entry in told] == list(load_catalogue().rows)
    assert {tuple(entry) for entry in told} == {("row", "asks", "rules", "view", "because")}
    entry = next(entry for entry in told if entry["row"] == "D02")
    asks = load_catalogue().rows["D02"].asks
    assert entry == {"row": "D02", "asks": asks, "rules": ["die-knocks-out"], "view": None, "because": None}


@pytest.mark.parametrize("arguments", [["bleed-short", "--coverage"], ["bleed-short", "--coverage", "--json"]])
def test_options_that_do_not_go_together(arguments, capsys):
    assert run(["rules", *arguments]) == 2
    assert "--coverage" in capsys.readouterr().err


# One rule ----------------------------------------------------------------------------------------------------------


def shown(capsys, *arguments):
    """What the command prints of a rule, label by label, its lines joined."""
    assert run(["rules", *arguments]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    return [(line[:16].strip(), line[16:]) for line in lines]


def test_one_rule_is_shown_with_every_key(shop, capsys):
    shop(
        RULE
        + """\
  when: {ticket.coating.kind: "one of [uv, led-uv]", press.unit_count: above 4}
  since: "0.2"
  status: trial
  if_not_checked: warn
"""
    )
    lines = shown(capsys, "gap-narrow")
    assert {
        ("with", "tolerance: 5 %"),
        ("when", "ticket.coating.kind: one of [uv, led-uv]"),
        ("when", "press.unit_count: above 4"),
        ("covers", "A01, A04"),
        ("since", "0.2"),
        ("status", "trial"),
        ("if not checked", "warn"),
    } <= set(lines)


def test_a_rule_that_does_not_run_says_so(shop, capsys):
    plant = shop("- {rule: gap-narrow, off: wide enough here}\n", "plant.txt")
    lines = shown(capsys, "gap-narrow", "--rules", str(plant))
    assert lines == [("rule", "gap-narrow"), ("switched off", "wide enough here")]
    shop("- {rule: gap-narrow, status: retired}\n", "plant.txt")
    assert shown(capsys, "gap-narrow", "--rules", str(plant)) == [("rule", "gap-narrow"), ("status", "retired")]
    assert run(["rules", "gap-narow", "--rules", str(plant)]) == 2
    assert "did you mean gap-narrow?" in capsys.readouterr().err


# All rules ---------------------------------------------------------------------------------------------------------


def test_rules_as_json_are_all_of_each(capsys):
    assert run(["rules", "--json"]) == 0
    told = {entry["rule"]: entry for entry in json.loads(capsys.readouterr().out)}
    book = load_rules()
    assert list(told) == [*book.rules, *book.off, *book.retired]
    bleed, rule = told["bleed-short"], book.rules["bleed-short"]
    assert (bleed["fail"], bleed["warn"]) == ("below 2 mm", "below 3 mm")
    assert bleed["cases"]["narrow gutter"]["warn"] == "below 0.5 mm"
    assert bleed["cases"]["narrow gutter"]["says"] == rule.words("narrow gutter", "says")
    assert (bleed["says"], bleed["source"], bleed["covers"]) == (rule.says, rule.source, list(rule.covers))
    assert bleed["with"] == json.loads(json.dumps(rule.with_as_written))
    assert run(["rules", "bleed-short", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == bleed


def test_rules_as_json_have_those_that_are_off(tmp_path, capsys):
    plant = tmp_path / "plant.yaml"
    plant.write_text("- {rule: bleed-short, off: white edges}\n")
    assert run(["rules", "bleed-short", "--json", "--rules", str(plant)]) == 0
    assert json.loads(capsys.readouterr().out) == {"rule": "bleed-short", "status": "off", "off": "white edges"}


@pytest.mark.parametrize("columns", [60, 80, 120, 20])
def test_rules_are_wrapped_to_the_terminal(columns, capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(columns))
    for arguments in (["rules"], ["rules", "bleed-short"]):
        assert run(arguments) == 0
        lines = capsys.readouterr().out.splitlines()
        assert max(map(len, lines)) <= max(columns, 30)
    if columns > 60:
        assert max(map(len, lines)) > 0.8 * columns


def test_areas_are_read_with_a_raised_two(capsys):
    assert run(["rules", "white-ink-knocked-out"]) == 0
    shown = capsys.readouterr().out
    assert "above 1 mm²" in shown
    assert "mm2" not in shown
    assert run(["rules", "--coverage"]) == 0
    assert "mm2" not in capsys.readouterr().out

"""Rows of the catalogue of checks, and where a row that stands twice was first."""

from __future__ import annotations

import pytest

from preflight.errors import InvalidInput
from preflight.judging.catalogue import load_catalogue
from preflight.judging.coverage import Answer

ROWS = """\
- section: Gaps
  stage: artwork
  rows:
    - {row: A01, asks: Is it?, sure: file}
    - {row: A02, asks: Was it?, sure: file, because: x, view: Separations}
- section: Sheets
  stage: run
  rows:
    - {row: A03, asks: Will it?, sure: [told, file]}
    - {row: A02, asks: Again?, sure: file}
    - {row: A01, asks: Again?, sure: file}
    - {row: A01, asks: And again?, sure: file}
"""


def load(folder, monkeypatch, text: str):
    (folder / "checks.yaml").write_text(text)
    monkeypatch.setenv("PREFLIGHT_RULES", str(folder))
    return load_catalogue()


def test_every_row_that_stands_twice_is_named_with_where_it_stood_first(tmp_path, monkeypatch):
    with pytest.raises(InvalidInput) as refusal:
        load(tmp_path, monkeypatch, ROWS)
    assert [(fault.line, fault.key, fault.found) for fault in refusal.value.faults] == [
        (10, "Sheets.rows[1].row", "'A02'"),
        (11, "Sheets.rows[2].row", "'A01'"),
        (12, "Sheets.rows[3].row", "'A01'"),
    ]
    assert ["line 5" in fault.expected for fault in refusal.value.faults] == [True, False, False]
    assert ["line 4" in fault.expected for fault in refusal.value.faults] == [False, True, True]


def test_rows_come_in_the_order_of_the_file(tmp_path, monkeypatch):
    catalogue = load(tmp_path, monkeypatch, "".join(ROWS.splitlines(keepends=True)[:9]))
    assert list(catalogue.rows) == ["A01", "A02", "A03"]
    assert catalogue.rows["A03"].sure == ("told", "file")
    assert (catalogue.rows["A02"].because, catalogue.rows["A02"].view) == ("x", "Separations")
    assert (catalogue.sections[1].section, catalogue.sections[1].stage) == ("Sheets", "run")


@pytest.mark.parametrize("name", ["a01", "A1", "A012", "AB1", "1A1", "Ä01", "A0x", "A²1"])
def test_a_row_is_a_letter_and_two_digits(tmp_path, monkeypatch, name):
    with pytest.raises(InvalidInput) as refusal:
        load(
            tmp_path,
            monkeypatch,
            ROWS.splitlines(keepends=True)[0] + f"  stage: run\n  rows: [{{row: {name}, asks: x, sure: file}}]\n",
        )
    assert [fault.key for fault in refusal.value.faults] == ["Gaps.rows[0].row"]


def test_faults_of_several_sections_come_by_line(tmp_path, monkeypatch):
    text = "- {section: A, stage: rum, rows: []}\n- just words\n- {stage: run, rows: [], sector: B}\n"
    with pytest.raises(InvalidInput) as refusal:
        load(tmp_path, monkeypatch, text)
    lines = [fault.line for fault in refusal.value.faults]
    assert lines == sorted(lines)
    assert set(lines) == {1, 2, 3}


@pytest.mark.parametrize(
    ("rules", "view", "off", "because", "by"),
    [
        (("a",), "Die", (), None, "rule"),
        ((), "Die", ("b",), "x", "view"),
        ((), None, ("b",), "x", "off"),
        ((), None, (), "not yet", "not yet"),
        ((), None, (), "nobody can", "nobody"),
    ],
)
def test_what_answers_a_row(rules, view, off, because, by):
    assert Answer("A01", "?", rules, view, because, off).by == by

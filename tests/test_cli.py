"""The command line: what becomes of an exception, what goes where, and which options reach the check."""

from __future__ import annotations

import json
from pathlib import Path

import click
import pytest

from preflight.cli import check_command, main
from preflight.cli.main import run
from preflight.cli.streams import OUTPUT
from preflight.errors import (
    TRACEBACK_VARIABLE,
    ArtworkUnreadable,
    InputFault,
    InvalidInput,
    NotMeasured,
    PreflightError,
    WrongUsage,
)
from tests.drawn import Drawing

PRESS = "press: Six\nsheet: {largest: 1020 x 720 mm}\nunits: [{inks: any}, {inks: any}]\n"


@pytest.fixture
def raising(monkeypatch):
    """Has every command raise."""

    def told(fault: BaseException) -> None:
        def broken(*_arguments, **_keywords):
            raise fault

        monkeypatch.setattr(main.cli, "main", broken)

    return told


@pytest.mark.parametrize(
    ("fault", "status", "said"),
    [
        (WrongUsage("not so"), 2, "not so\n" + WrongUsage.advice),
        (ArtworkUnreadable("no PDF"), 3, "no PDF\n" + ArtworkUnreadable.advice),
        (InvalidInput([InputFault("a.yaml", 1, "b", "c", "d")]), 4, "a.yaml:1: b:"),
        (NotMeasured("why"), 5, "why"),
        (OSError(2, "No such file", "a.pdf"), 2, "a.pdf: No such file"),
        (OSError("just words"), 2, ": just words"),
        (OSError(28, "No space left on device", OUTPUT), 6, "Standard output cannot be written: No space left"),
        (KeyError("x"), 5, "KeyError: 'x'\n" + PreflightError.advice),
        (KeyboardInterrupt(), 130, "interrupted"),
        (click.Abort(), 130, "interrupted"),
        (click.UsageError("no such option"), 2, "no such option"),
    ],
)
def test_each_exception_has_its_exit_status(raising, monkeypatch, capsys, fault, status, said):
    monkeypatch.delenv(TRACEBACK_VARIABLE, raising=False)
    raising(fault)
    assert run([]) == status
    out, err = capsys.readouterr()
    assert said in err
    assert "Traceback" not in err
    assert out == ""


def test_where_our_own_fault_happened_is_shown_on_demand(raising, monkeypatch, capsys):
    monkeypatch.setenv(TRACEBACK_VARIABLE, "1")
    raising(KeyError("x"))
    assert run([]) == 5
    assert "Traceback (most recent call last)" in capsys.readouterr().err


@pytest.mark.parametrize(("given", "status"), [(None, 0), (0, 0), (1, 1), (6, 6)])
def test_the_status_of_a_command_is_that_of_the_run(monkeypatch, given, status):
    monkeypatch.setattr(main.cli, "main", lambda *_arguments, **_keywords: given)
    assert run([]) == status


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        ([], {"cache": True, "warnings_fail": False, "press": None, "ticket": None, "rules": (), "reports": ()}),
        (["--no-cache", "--warnings-fail"], {"cache": False, "warnings_fail": True}),
        (["--press", "p.yaml", "--ticket", "t.yaml"], {"press": Path("p.yaml"), "ticket": Path("t.yaml")}),
        (["--rules", "a", "--rules", "b"], {"rules": (Path("a"), Path("b"))}),
        (["--report", "r.json", "--report", "-"], {"reports": ("r.json", "-")}),
    ],
)
@pytest.mark.parametrize("guarded", [True, False])
def test_options_reach_the_check(monkeypatch, options, expected, guarded):
    calls = []

    def told(name):
        def command(subject, **keys):
            calls.append((name, subject, keys))
            return 0

        return command

    for name in ("run_check", "run_guarded"):
        monkeypatch.setattr(check_command, name, told(name))
    assert run(["check", "art.pdf", *options, *(["--guarded"] if guarded else [])]) == 0
    [(name, subject, keys)] = calls
    assert (name, subject) == ("run_guarded" if guarded else "run_check", Path("art.pdf"))
    assert {key: keys[key] for key in expected} == expected


@pytest.mark.parametrize(
    ("options", "status"),
    [
        (["--resolution", "20"], 0), (["--resolution", "1200"], 0), (["--resolution", "19.9"], 2),
        (["--resolution", "1201"], 2), (["--page", "0"], 2), (["--page", "1"], 0), ([], 0),
    ],
)  # fmt: skip
def test_resolutions_and_pages_that_can_be_asked_for(monkeypatch, options, status, capsys):
    calls = []

    def written(*given):
        calls.append(given)
        return 0

    monkeypatch.setattr("preflight.cli.plates_command.run_plates", written)
    assert run(["plates", "a.pdf", "--out", "out", *options]) == status
    assert len(calls) == (status == 0)
    if not options:
        assert calls == [(Path("a.pdf"), Path("out"), 100, 1)]
    capsys.readouterr()


@pytest.fixture
def job(tmp_path):
    (tmp_path / "press.yaml").write_text(PRESS)
    page = Drawing(100, 80, trim=(5, 5, 95, 75)).fill("Leaf Green", rect=(2, 2, 98, 78))
    return [str(page.save(tmp_path / "art.pdf")), "--press", str(tmp_path / "press.yaml")]


@pytest.mark.parametrize("guarded", [[], ["--guarded"]], ids=["here", "in a child"])
def test_json_alone_goes_to_standard_output_where_it_is_asked_for(job, tmp_path, guarded, capsys):
    report = tmp_path / "r.json"
    assert run(["check", *job, *guarded, "--report", str(report), "--report", "-"]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["format"] == "preflight-report/1"
    assert {**json.loads(report.read_text()), "run": None} == {**json.loads(out), "run": None}
    assert err == ""


def test_the_report_is_printed_with_its_opening_once(job, capsys):
    assert run(["check", *job]) == 0
    out, _ = capsys.readouterr()
    assert out.count("SHA-256") == 1
    assert out.index("SHA-256") < out.index("an run ")  # the opening comes before the verdict is known


def test_a_wrong_ending_is_said_before_the_work(monkeypatch, tmp_path, capsys):
    monkeypatch.setattr(check_command, "check", lambda *_a, **_k: pytest.fail("the work was begun"))
    for guarded in ([], ["--guarded"]):
        assert run(["check", "art.pdf", *guarded, "--report", str(tmp_path / "r.txt")]) == 2
        assert "r.txt" in capsys.readouterr().err


def test_plates_of_a_page_that_is_not_there(job, tmp_path, capsys):
    assert run(["plates", job[0], "--out", str(tmp_path / "out"), "--page", "2"]) == 2
    assert "has 1 page and no page 2" in capsys.readouterr().err


def test_plates_are_listed_with_their_cover(job, tmp_path, capsys):
    assert run(["plates", job[0], "--out", str(tmp_path / "out"), "--resolution", "50"]) == 0
    first, last = capsys.readouterr().out.splitlines()
    cover, _, kind, name = first.split(maxsplit=3)
    assert float(cover) == pytest.approx(96 * 76 / 80, abs=1.5)
    assert (kind, name) == ("spot", "Leaf Green")
    assert last.startswith("1 plate at 50 dpi in ")
    assert "too much" not in last

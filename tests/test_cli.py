"""The command line: what becomes of an exception, what goes where, and which options reach the check."""

from __future__ import annotations

import json
from contextlib import nullcontext
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import click
import pytest

from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.cli import check_command, main, plates_command
from preflight.cli.main import run
from preflight.cli.streams import OUTPUT
from preflight.errors import (
    TRACEBACK_VARIABLE,
    ArtworkUnreadable,
    ExitStatus,
    InputFault,
    InvalidInput,
    NotMeasured,
    PreflightError,
    WrongUsage,
)
from preflight.report.saving import Shortfall
from preflight.worker import GuardedReport
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

    def told(subjects, given):
        calls.append((subjects, given))
        return 0

    monkeypatch.setattr(check_command, "run_check", told)
    assert run(["check", "art.pdf", *options, *(["--guarded"] if guarded else [])]) == 0
    [(subjects, given)] = calls
    assert (subjects, given.guarded) == ((Path("art.pdf"),), guarded)
    assert {key: getattr(given, key) for key in expected} == expected


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
    assert out.index("SHA-256") < out.index("Ready for plates")  # the opening comes before the verdict is known


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
    _, first, last = capsys.readouterr().out.splitlines()
    cover, _, kind, name = first.split(maxsplit=3)
    assert float(cover) == pytest.approx(96 * 76 / 80, abs=1.5)
    assert (kind, name) == ("spot", "Leaf Green")
    assert last.startswith("1 plate at 50 dpi in ")
    assert "too much" not in last


@pytest.fixture
def plates(monkeypatch):
    """Has the command write these plates of a page where something is missing, or not write them."""

    def told(*entries: dict[str, Any], uncertain: tuple[UncertainPlace, ...] = (), raises: Exception | None = None):
        artwork = SimpleNamespace(page_count=3, pages=[SimpleNamespace(uncertain=uncertain)])

        def write(*_given):
            if raises is not None:
                raise raises
            return list(entries)

        monkeypatch.setattr(plates_command, "read_artwork", lambda _path, only_page: nullcontext(artwork))
        monkeypatch.setattr(plates_command, "read_die", lambda *_given: None)
        monkeypatch.setattr(plates_command, "write_plates", write)

    return told


def entry(name: str, cover: float, dpi: float) -> dict[str, Any]:
    return {"name": name, "kind": "spot", "cover_page": cover, "cover_inside_cut": None, "dpi": dpi}


@pytest.mark.parametrize(("dpi", "coarser"), [(99.9, True), (100.0, False)])
def test_it_is_said_where_plates_are_coarser_than_asked_for(plates, capsys, dpi, coarser):
    plates(entry("Leaf", 0.125, dpi), entry("Fern", 1.0, dpi))
    assert run(["plates", "a.pdf", "--out", "out"]) == 0
    _, *plates_told, last = capsys.readouterr().out.splitlines()
    assert [line.split() for line in plates_told] == [["12.50", "%", "spot", "Leaf"], ["100.00", "%", "spot", "Fern"]]
    assert last.startswith(f"2 plates at {dpi:g} dpi in out")
    assert ("(100 would be too much" in last) is coarser


def test_a_page_without_plates_has_none_at_the_resolution_asked_for(plates, capsys):
    plates()
    assert run(["plates", "a.pdf", "--out", "out", "--resolution", "72"]) == 0
    assert capsys.readouterr().out == "0 plates at 72 dpi in out\n"


def test_what_is_missing_on_plates_is_said_once_a_reason_with_its_first_places(plates, capsys):
    forms = tuple(UncertainPlace("a form", (10.0 * k, 5.0, 10.0 * k + 1, 6.0)) for k in range(7))
    plates(entry("Leaf", 0.1, 100), uncertain=(*forms, UncertainPlace("a mesh", (1.0, 2.0, 3.0, 4.0))))
    assert run(["plates", "a.pdf", "--out", "out"]) == 0
    first, second = capsys.readouterr().err.splitlines()
    assert "a form" in first
    assert first.count("mm up") == 6
    assert "50 mm from the left, 5 mm up" in first
    assert "a mesh; 1 mm from the left, 2 mm up" in second


def test_plates_that_cannot_be_made_are_a_fault_of_the_artwork(plates, capsys):
    plates(raises=NotMeasured("it is over a bound"))
    assert run(["plates", "a.pdf", "--out", "out"]) == 3
    assert "a.pdf: it is over a bound" in capsys.readouterr().err


DOCUMENT = {
    "format": "preflight-report/1",
    "verdict": "fail",
    "pages": [{"findings": [{"says": "One."}]}, {"findings": [{"says": "Two."}, {"says": "Three."}]}],
}
FAULT = {"format": "preflight-fault/1", "sentence": "It broke.", "advice": "Keep it.", "traceback": "here"}


@pytest.mark.parametrize(
    ("document", "status", "options", "out", "err"),
    [
        (FAULT, ExitStatus.OWN_FAULT, [], "", "It broke.\nKeep it.\nr.html was not written.\n"),
        (FAULT, ExitStatus.OWN_FAULT, ["--report", "-"], FAULT, "It broke.\nKeep it.\nr.html was not written.\n"),
        (DOCUMENT, ExitStatus.FAIL, ["--report", "-"], DOCUMENT, "r.html was not written.\n"),
    ],
    ids=["our own fault", "our own fault as JSON", "a report as JSON"],
)
def test_what_came_back_from_a_child_is_told(monkeypatch, capsys, document, status, options, out, err):
    shortfalls = (Shortfall("r.html was not written."),)
    monkeypatch.setattr(
        "preflight.worker.check_guarded", lambda *_given, **_keys: GuardedReport(document, status, shortfalls)
    )
    assert run(["check", "a.pdf", "--guarded", *options]) == status
    told = capsys.readouterr()
    assert (json.loads(told.out) if out else told.out) == out
    assert told.err == err


def test_findings_of_all_pages_are_told_plainly_where_the_report_cannot_be_shown(monkeypatch, capsys):
    def broken(*_given, **_keys):
        raise KeyError("no such thing")

    monkeypatch.setattr(
        "preflight.worker.check_guarded", lambda *_given, **_keys: GuardedReport(DOCUMENT, ExitStatus.FAIL)
    )
    monkeypatch.setattr(check_command, "print_report", broken)
    assert run(["check", "a.pdf", "--guarded"]) == 1
    out, err = capsys.readouterr()
    assert out.splitlines() == ["The verdict is fail.", " - One.", " - Two.", " - Three."]
    assert "KeyError" in err

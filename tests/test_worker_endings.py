"""How a child's end is read: by its status, by what it said, and by what its limits were."""

from __future__ import annotations

import errno
import json
import os
import signal
import sysconfig
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from preflight import worker
from preflight.errors import (
    ArtworkNotThere,
    CouldNotBeChecked,
    Crashed,
    ExitStatus,
    InputFault,
    InvalidInput,
    Killed,
    NotMeasured,
    OutOfTime,
    WrongUsage,
)
from preflight.report.saving import Shortfall
from preflight.worker import GuardedReport, Limits

ART = Path("in/art.pdf")
TRACEBACK = 'Traceback (most recent call last):\n  File "x", line 1\n'


def test_what_a_child_may_use_unless_otherwise_asked():
    assert (Limits().address_space_bytes, Limits().cpu_seconds, Limits().wall_seconds) == (4_000_000_000, 120, 180)


@pytest.mark.parametrize(
    ("status", "kind", "says", "broke"),
    [
        (0, Crashed, "status 0", True),
        (3, Crashed, "status 3", True),
        (-signal.SIGXCPU, OutOfTime, "after 7 s of computing", False),
        (-signal.SIGSEGV, Crashed, "SIGSEGV, signal 11", False),
        (-signal.SIGBUS, Crashed, "SIGBUS", False),
        (-signal.SIGILL, Crashed, "SIGILL", False),
        (-signal.SIGFPE, Crashed, "SIGFPE", False),
        (-signal.SIGTERM, Killed, "SIGTERM, signal 15", False),
        (-signal.SIGINT, Killed, "SIGINT", False),
        (-200, Killed, "(signal 200)", False),
    ],
)
def test_what_an_exit_status_says(status, kind, says, broke):
    ending = worker._ending(status, Limits(cpu_seconds=7, wall_seconds=9))
    assert (ending.kind, ending.broke) == (kind, broke)
    assert says in str(ending)


@pytest.mark.parametrize(
    ("said", "broke", "kind", "told"),
    [
        ("", True, "Crashed", "status 1"),
        ("a warning", True, "Crashed", "status 1"),
        (TRACEBACK + "KeyError: 'x'\n", False, "Crashed", "status 1"),
        (TRACEBACK + "MemoryError\n", True, "OutOfMemory", "memory"),
        (TRACEBACK + "MemoryError: cannot\n", True, "OutOfMemory", "memory"),
    ],
)
def test_a_child_without_an_answer_could_not_be_checked(tmp_path, said, broke, kind, told):
    (tmp_path / "told").write_text(said)
    answer = worker._no_answer(worker._Ending(Crashed, "status 1", broke), tmp_path / "told", ART)
    assert answer["kind"] == kind
    assert told in answer["error"]
    assert answer["error"].startswith("art.pdf")


def test_a_child_that_broke_down_before_its_answer_keeps_its_traceback(tmp_path):
    (tmp_path / "told").write_bytes(b"\xff" * 150_000 + (TRACEBACK + "KeyError: 'x'\n\n").encode())
    fault = worker._no_answer(worker._Ending(Crashed, "", True), tmp_path / "told", ART)["fault"]
    assert fault["format"] == "preflight-fault/1"
    assert (fault["file"], fault["sentence"].endswith("(KeyError: 'x')")) == ("art.pdf", True)
    assert fault["traceback"].endswith(TRACEBACK + "KeyError: 'x'\n\n")
    assert len(fault["traceback"]) == 100_000  # of what was said, the end


def chained(cause: BaseException, *, context: bool = False) -> BaseException:
    outer = RuntimeError("outer")
    if context:
        outer.__context__ = cause
    else:
        outer.__cause__ = cause
    return outer


@pytest.mark.parametrize(
    ("fault", "memory"),
    [
        (MemoryError(), True),
        (OSError(errno.ENOMEM, "Cannot allocate memory"), True),
        (OSError(errno.ENOSPC, "No space left on device"), False),
        (ImportError("libx.so: failed to map segment"), True),
        (ImportError("Cannot allocate memory in static TLS block"), True),
        (ImportError("No module named x"), False),
        (ValueError("Cannot allocate"), False),
        (chained(MemoryError()), True),
        (chained(MemoryError(), context=True), True),
        (chained(chained(MemoryError()), context=True), True),
        (chained(KeyError("x")), False),
        (None, False),
    ],
)
def test_what_comes_of_a_limit_of_memory(fault, memory):
    assert worker._for_want_of_memory(fault) is memory


@pytest.mark.parametrize(
    ("fault", "answer"),
    [
        (MemoryError(), {"kind": "OutOfMemory"}),
        (ArtworkNotThere("no such file"), {"kind": "ArtworkNotThere", "error": "no such file"}),
        (WrongUsage("not so"), {"kind": "WrongUsage", "error": "not so"}),
        (
            InvalidInput([InputFault("a", 1, "b", "c", "d", "e")]),
            {"faults": [{"file": "a", "line": 1, "key": "b", "found": "c", "expected": "d", "suggestion": "e"}]},
        ),
    ],
)
def test_what_stopped_a_check_is_handed_back(fault, answer):
    said = worker._said(fault, ART)
    assert {key: said[key] for key in answer} == answer
    assert "fault" not in said


@pytest.mark.parametrize("fault", [KeyError("x"), NotMeasured("why")])
def test_our_own_fault_is_handed_back_with_where_it_happened(fault):
    try:
        raise fault
    except Exception as raised:
        told = worker._said(raised, ART)["fault"]
    assert type(fault).__name__ in told["sentence"]
    assert __file__ in told["traceback"]


@pytest.mark.parametrize(
    ("answer", "kind", "says"),
    [
        ({"kind": "ArtworkNotThere", "error": "no such file"}, ArtworkNotThere, "no such file"),
        ({"kind": "Killed", "error": "ended"}, Killed, "ended"),
        ({"faults": [{"file": "a", "line": 1, "key": "b", "found": "c", "expected": "d"}]}, InvalidInput, "a:1: b:"),
    ],
)
def test_what_was_handed_back_is_raised(monkeypatch, answer, kind, says):
    with pytest.raises(kind, match=says):
        guarded(monkeypatch, answer)


def guarded(monkeypatch, answer: dict[str, Any] | None, sent: list[Any] | None = None, **asked: Any) -> GuardedReport:
    """A guarded check whose child gives this answer, or none."""

    def run_child(order: Path, told: Path, limits: Limits):
        asked_for = json.loads(order.read_text())
        if sent is not None:
            sent.append(asked_for)
        if answer is not None:
            Path(asked_for["answer"]).write_text(json.dumps(answer))
        told.write_text("")
        return worker._Ending(OutOfTime, "no end")

    monkeypatch.setattr(worker, "_run_child", run_child)
    return worker.check_guarded(ART, **asked)


ANSWER = {"document": {"format": "preflight-report/1"}, "status": 1, "to_be_written": [], "unwritten": []}


def test_the_order_has_all_that_was_asked_for(monkeypatch):
    sent: list[Any] = []
    limits = Limits(1, 2, 3)
    guarded(
        monkeypatch, ANSWER, sent, press=Path("p.yaml"), rules=[Path("a"), Path("b")], reports=[Path("r.json")],
        warnings_fail=True, limits=limits,
    )  # fmt: skip
    guarded(monkeypatch, ANSWER, sent, ticket=Path("t.yaml"), cache=False)
    first, second = sent
    assert (first["subject"], first["press"], first["ticket"]) == (str(ART), "p.yaml", None)
    assert (first["rules"], first["reports"]) == (["a", "b"], ["r.json"])
    assert (first["warnings_fail"], first["cache"], first["caller"]) == (True, True, os.getpid())
    assert first["limits"] == {"address_space_bytes": 1, "cpu_seconds": 2, "wall_seconds": 3}
    assert (second["press"], second["ticket"], second["cache"], second["warnings_fail"]) == (
        None,
        "t.yaml",
        False,
        False,
    )
    assert not Path(first["answer"]).parent.exists()


def test_reports_that_the_child_did_not_come_to_are_named(monkeypatch):
    answer = {**ANSWER, "to_be_written": ["r.html"], "unwritten": [{"words": "it lacks a picture", "written": True}]}
    came = guarded(monkeypatch, answer)
    assert came.exit_status is ExitStatus.FAIL
    assert not came.broke
    assert came.unwritten[0] == Shortfall("it lacks a picture", written=True)
    assert [("r.html" in each.words, each.written) for each in came.unwritten[1:]] == [(True, False)]


def test_a_child_that_gave_no_answer_is_never_a_pass(monkeypatch):
    with pytest.raises(CouldNotBeChecked, match="art.pdf could not be checked: no end"):
        guarded(monkeypatch, None)


def test_our_own_fault_is_written_where_json_was_asked_for(monkeypatch, tmp_path):
    fault = {"format": "preflight-fault/1", "sentence": "it broke"}
    wanted = [tmp_path / "a.JSON", tmp_path / "b.html", tmp_path / "none" / "c.json"]
    came = guarded(monkeypatch, {"fault": fault}, reports=wanted)
    assert (came.broke, came.exit_status) == (True, ExitStatus.OWN_FAULT)
    assert json.loads(wanted[0].read_text()) == fault
    assert [next(path.name for path in wanted if path.name in each.words) for each in came.unwritten] == [
        "c.json",
        "b.html",
    ]


# The environment and the answer ------------------------------------------------------------------------------------

PACKAGE_IN = str(Path(worker.__file__).parents[1])


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (None, [PACKAGE_IN]),
        ("", [PACKAGE_IN]),
        ("/a{sep}{sep}/b{sep}", [PACKAGE_IN, "/a", "/b"]),
        ("/a{sep}{package}", ["/a", PACKAGE_IN]),
    ],
)
def test_the_child_finds_the_package_and_nothing_in_the_current_folder(monkeypatch, before, after):
    monkeypatch.delenv("PYTHONPATH", raising=False)
    if before is not None:
        monkeypatch.setenv("PYTHONPATH", before.format(sep=os.pathsep, package=PACKAGE_IN))
    monkeypatch.setenv("SOMETHING", "else")
    environment = worker._environment()
    assert environment["PYTHONPATH"].split(os.pathsep) == after
    assert environment["SOMETHING"] == "else"


def test_an_installed_package_needs_no_path(monkeypatch):
    monkeypatch.setenv("PYTHONPATH", "/a")
    monkeypatch.setattr(sysconfig, "get_path", lambda _name: PACKAGE_IN)
    assert worker._environment()["PYTHONPATH"] == "/a"


def report(lacking: list[Shortfall]) -> Any:
    saved: list[Any] = []

    def save_all(paths: list[str], customer: str | None) -> list[Shortfall]:
        saved.append((paths, customer))
        return lacking

    return SimpleNamespace(
        document={"format": "preflight-report/1"},
        exit_status=lambda warnings_fail: ExitStatus.FAIL if warnings_fail else ExitStatus.OK,
        save_all=save_all,
        saved=saved,
    )


@pytest.mark.parametrize(("warnings_fail", "status"), [(False, 0), (True, 1)])
def test_without_reports_the_answer_is_the_verdict(tmp_path, warnings_fail, status):
    order = {
        "warnings_fail": warnings_fail,
        "reports": [],
        "customer_report": None,
        "answer": str(tmp_path / "answer.json"),
    }
    made = report([])
    answer = worker._document_first(made, order)
    assert (answer["status"], answer["to_be_written"], answer["unwritten"]) == (status, [], [])
    assert made.saved == []
    assert not (tmp_path / "answer.json").exists()


@pytest.mark.parametrize(
    ("reports", "customer", "files"),
    [(["r.html"], None, ["r.html"]), ([], "c.html", ["c.html"]), (["r.html"], "c.html", ["r.html", "c.html"])],
)
def test_the_verdict_is_handed_back_before_the_reports_are_written(reports, customer, files, tmp_path):
    answer_file = str(tmp_path / "answer.json")
    order = {"warnings_fail": False, "reports": reports, "customer_report": customer, "answer": answer_file}
    made = report([Shortfall("it lacks a picture", written=True)])
    answer = worker._document_first(made, order)
    first = json.loads((tmp_path / "answer.json").read_text())
    assert (first["to_be_written"], first["unwritten"], first["document"]) == (files, [], made.document)
    assert answer["to_be_written"] == []
    assert answer["unwritten"] == [{"words": "it lacks a picture", "written": True, "file": ""}]
    assert made.saved == [(reports, customer)]


def test_limits_are_set_in_the_child(monkeypatch):
    import resource

    told: dict[int, tuple[int, int]] = {}
    monkeypatch.setattr(resource, "setrlimit", told.__setitem__)
    signals: list[Any] = []
    monkeypatch.setattr(signal, "signal", lambda *given: signals.append(given))
    worker._limit(Limits(1000, 20, 30))
    assert told == {
        resource.RLIMIT_AS: (1000, 1000), resource.RLIMIT_CPU: (20, 25), resource.RLIMIT_CORE: (0, 0),
    }  # fmt: skip
    assert signals == [(signal.SIGXCPU, signal.SIG_DFL)]


def test_the_child_of_another_caller_ends_at_once(monkeypatch):
    ended: list[Any] = []
    monkeypatch.setattr(os, "_exit", ended.append)
    monkeypatch.setattr("ctypes.CDLL", lambda _name: SimpleNamespace(prctl=lambda *given: ended.append(given)))
    monkeypatch.setattr("sys.platform", "linux")
    worker._end_with(os.getppid())
    assert ended == [(1, signal.SIGKILL)]
    worker._end_with(os.getppid() + 1)
    assert ended[2:] == [130]
    monkeypatch.setattr("sys.platform", "darwin")
    worker._end_with(os.getppid() + 1)
    assert len(ended) == 3

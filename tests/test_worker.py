"""The worker: what crashes, hangs or swells in the child could not be checked, and is never a pass."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from jsonschema import validate

from preflight import worker
from preflight.cli.main import run
from preflight.cli.schema_command import json_schema
from preflight.errors import (
    ArtworkNotThere,
    ArtworkUnreadable,
    CouldNotBeChecked,
    Crashed,
    ExitStatus,
    InvalidInput,
    Killed,
    OutOfMemory,
    OutOfTime,
    PreflightError,
)
from preflight.worker import Limits, check_guarded
from tests.drawn import Drawing

PRESS = "press: Six\nsheet: {largest: 1020 x 720 mm}\nunits: [{inks: any}, {inks: any}]\n"


@pytest.fixture
def press(tmp_path: Path) -> Path:
    path = tmp_path / "press.yaml"
    path.write_text(PRESS)
    return path


@pytest.fixture
def art(tmp_path: Path) -> Path:
    drawing = Drawing(100, 80, trim=(5, 5, 95, 75))
    drawing.fill("Leaf Green", rect=(2, 2, 98, 78))
    return drawing.save(tmp_path / "art.pdf")


def test_the_child_says_what_the_caller_would_have(art, press, tmp_path):
    guarded = check_guarded(art, press=press, reports=[tmp_path / "r.html"])
    assert guarded.document["separations"][0]["name"] == "Leaf Green"
    assert guarded.exit_status == run(["check", str(art), "--press", str(press), "--guarded"])
    assert (tmp_path / "r.html").exists()


@pytest.mark.parametrize("name", ["pydantic.py", "preflight.py", "json.py"])
def test_the_child_runs_nothing_from_the_current_folder(name, art, press, tmp_path, monkeypatch):
    """A watched folder holds whatever somebody sent; none of it may stand in for a module."""
    hostile = tmp_path / "sent"
    hostile.mkdir()
    (hostile / name).write_text("raise SystemExit('ran what was sent')")
    monkeypatch.chdir(hostile)
    guarded = check_guarded(art, press=press)
    assert guarded.document["format"] == "preflight-report/1"
    assert not (hostile / "__pycache__").exists()


@pytest.mark.parametrize("set_before", [None, "", "{other}", "{other}{sep}"])
def test_the_child_finds_a_package_that_is_not_installed(set_before, art, press, tmp_path, monkeypatch):
    """Of a checkout only the caller knows the folder; an empty entry of PYTHONPATH would mean the current folder."""
    hostile = tmp_path / "sent"
    hostile.mkdir()
    (hostile / "pydantic.py").write_text("raise SystemExit('ran what was sent')")
    monkeypatch.chdir(hostile)
    monkeypatch.delenv("PYTHONPATH", raising=False)
    if set_before is not None:
        monkeypatch.setenv("PYTHONPATH", set_before.format(other=tmp_path / "other", sep=os.pathsep))
    assert check_guarded(art, press=press).document["format"] == "preflight-report/1"


@pytest.fixture
def child_runs(monkeypatch):
    """Has the child run other lines: ``worker`` is imported, and ``order`` is what it was sent."""

    def told(*lines: str, begin: str = "import json, os, signal, sys; order = json.load(sys.stdin)") -> None:
        program = "\n".join([begin, "import preflight.pipeline", "from preflight import worker", *lines])
        monkeypatch.setattr("preflight.worker.CHILD", ("-c", program))
        root = str(Path(__file__).parents[1])
        monkeypatch.setenv("PYTHONPATH", root + os.pathsep + os.environ.get("PYTHONPATH", ""))

    return told


def dies_by(signal_name: str) -> str:
    return f"os.kill(os.getpid(), signal.{signal_name})"


BROKEN = (
    "def check(*_, **__): raise KeyError('no such thing')",
    "preflight.pipeline.check = check",
    "worker.run_ordered(order)",
)


@pytest.mark.parametrize(
    ("limits", "kind"),
    [(Limits(address_space_bytes=200_000_000), OutOfMemory), (Limits(wall_seconds=0), OutOfTime)],
    ids=["memory", "clock"],
)
def test_at_a_limit_it_could_not_be_checked(art, press, limits, kind):
    with pytest.raises(CouldNotBeChecked) as reason:
        check_guarded(art, press=press, limits=limits)
    assert type(reason.value) is kind


@pytest.mark.parametrize(
    ("line", "kind", "says", "says_not"),
    [
        (dies_by("SIGKILL"), Killed, "from outside", "120 s"),
        (dies_by("SIGTERM"), Killed, "from outside", "120 s"),
        (dies_by("SIGSEGV"), Crashed, "crashed", "outside"),
        (dies_by("SIGABRT"), Crashed, "crashed", "outside"),
        ("os._exit(9)", Crashed, "status 9", "outside"),
        (dies_by("SIGXCPU"), OutOfTime, "120 s of computing", "outside"),
        ("raise MemoryError", OutOfMemory, "memory", "outside"),
    ],
)
def test_the_reason_is_the_true_one(line, kind, says, says_not, art, press, child_runs):
    child_runs(line)
    with pytest.raises(CouldNotBeChecked) as reason:
        check_guarded(art, press=press)
    assert type(reason.value) is kind
    assert reason.value.exit_status is ExitStatus.ARTWORK_UNREADABLE
    assert art.name in str(reason.value)
    assert says in str(reason.value)
    assert says_not not in str(reason.value)


def test_endless_computing_ends_at_its_limit(art, press, child_runs):
    """Also where the caller has been told to take no notice of that signal, which a child inherits."""
    spin = ("def check(*_, **__):", "    while True: pass", "preflight.pipeline.check = check")
    child_runs("signal.signal(signal.SIGXCPU, signal.SIG_IGN)", *spin, "worker.run_ordered(order)")
    with pytest.raises(OutOfTime, match="1 s of computing"):
        check_guarded(art, press=press, limits=Limits(cpu_seconds=1))


def test_a_second_process_ends_with_the_child(art, press, child_runs, tmp_path):
    noted = tmp_path / "process"
    begin = f"import os, signal\npid = os.fork()\nif pid: open({str(noted)!r}, 'w').write(str(pid))\nsignal.pause()"
    child_runs(begin=begin)
    with pytest.raises(OutOfTime, match="not finished after 5 s"):
        check_guarded(art, press=press, limits=Limits(wall_seconds=5))
    assert gone(int(noted.read_text()))


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux ends a child with its parent")
def test_a_killed_caller_leaves_no_child(art, press, child_runs, tmp_path):
    noted = tmp_path / "process"
    spin = ("def check(*_, **__):", f"    open({str(noted)!r}, 'w').write(str(os.getpid()))", "    while True: pass")
    child_runs(*spin, "preflight.pipeline.check = check", "worker.run_ordered(order)")
    program = (
        "from pathlib import Path; from preflight import worker\n"
        f"worker.CHILD = {worker.CHILD!r}; worker.check_guarded(Path({str(art)!r}))"
    )
    caller = subprocess.Popen([sys.executable, "-c", program])
    try:
        until = time.monotonic() + 60
        while not (noted.exists() and noted.read_text()) and time.monotonic() < until:
            time.sleep(0.02)
    finally:
        caller.kill()
        caller.wait()
    assert gone(int(noted.read_text()))


def gone(process: int) -> bool:
    until = time.monotonic() + 5
    while time.monotonic() < until:
        try:
            os.kill(process, 0)
            state = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0]
        except (ProcessLookupError, FileNotFoundError):
            return True
        if state == "Z":  # ended, and nobody has asked for its status: its parent is the system's first process
            return True
        time.sleep(0.01)
    return False


@pytest.mark.parametrize("lines", [BROKEN, ("raise KeyError('no such thing')",)], ids=["in the check", "before it"])
def test_our_own_fault_is_no_fault_of_the_artwork(lines, art, press, child_runs, tmp_path, capfd):
    child_runs(*lines)
    as_json, page = tmp_path / "r.json", tmp_path / "r.html"
    guarded = check_guarded(art, press=press, reports=[as_json, page])
    assert guarded.exit_status is ExitStatus.OWN_FAULT
    assert guarded.broke
    assert "KeyError: 'no such thing'" in guarded.document["sentence"]
    assert "Traceback (most recent call last)" in guarded.document["traceback"]
    assert "in check" in guarded.document["traceback"] or lines is not BROKEN
    assert json.loads(as_json.read_text()) == guarded.document
    assert [str(page) in shortfall.words for shortfall in guarded.unwritten] == [True]
    command = ["check", str(art), "--press", str(press), "--guarded"]
    assert run([*command, "--report", str(as_json)]) == 5
    out, err = capfd.readouterr()
    assert "no such thing" in err
    assert PreflightError.advice in err
    assert "Traceback" not in out + err
    assert run([*command, "--report", "-"]) == 5
    out, err = capfd.readouterr()
    assert "Traceback" in json.loads(out)["traceback"]
    assert "Traceback" not in err


def test_a_measure_that_broke_keeps_its_traceback(art, press, tmp_path, monkeypatch, capfd):
    def broken(*_arguments, **_keywords):
        raise ZeroDivisionError("an area of nothing")

    monkeypatch.setattr("preflight.judging.judge.hold", broken)
    assert run(["check", str(art), "--press", str(press), "--no-cache", "--report", str(tmp_path / "r.json")]) == 5
    out, err = capfd.readouterr()
    assert "Traceback" not in out + err
    document = json.loads((tmp_path / "r.json").read_text())
    validate(document, json_schema("report"))
    broke = [entry for entry in document["not_checked"] if entry["own_fault"]]
    assert broke
    assert all("ZeroDivisionError: an area of nothing" in entry["traceback"] for entry in broke)
    assert all("Traceback" in entry["traceback"] for entry in broke)
    assert not any("traceback" in entry for entry in document["not_checked"] if not entry["own_fault"])


def test_refusals_come_back_as_they_are(art, press, tmp_path):
    (tmp_path / "no.pdf").write_text("no")
    with pytest.raises(ArtworkUnreadable) as refused:
        check_guarded(tmp_path / "no.pdf", press=press)
    assert not isinstance(refused.value, CouldNotBeChecked)
    with pytest.raises(ArtworkNotThere):
        check_guarded(tmp_path / "nowhere.pdf", press=press)
    press.write_text(PRESS.replace("units", "unitts"))
    with pytest.raises(InvalidInput) as wrong:
        check_guarded(art, press=press)
    assert "unitts" in {fault.key for fault in wrong.value.faults} | {fault.found for fault in wrong.value.faults}
    assert run(["check", str(art), "--press", str(press), "--guarded"]) == 4

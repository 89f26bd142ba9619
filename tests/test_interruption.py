"""Ctrl-C at any moment ends the command with 130 and one line, and leaves neither a process nor half a file behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from preflight import interruption
from preflight.errors import ExitStatus
from tests.drawn import Drawing

pytestmark = pytest.mark.skipif(not hasattr(os, "killpg"), reason="this system has no groups of processes")


@pytest.fixture(autouse=True)
def interruptions_are_heard():
    """Where the tests run in the background of a shell the signal is ignored, and every process inherits that."""
    kept = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, kept)


ROOT = Path(__file__).parents[1]
PRESS = "press: Six\nsheet: {largest: 1020 x 720 mm}\nunits: [{inks: any}, {inks: any}]\n"
BEGIN = """
import os, signal, sys
from preflight.__main__ import main
sys.argv[0] = "preflight"
def interrupt(*_, **__):
    os.killpg(0, signal.SIGINT)
def before(owner, name):
    kept = getattr(owner, name)
    def interrupted(*arguments, **keywords):
        interrupt()
        return kept(*arguments, **keywords)
    setattr(owner, name, interrupted)
def after(owner, name):
    kept = getattr(owner, name)
    def interrupted(*arguments, **keywords):
        found = kept(*arguments, **keywords)
        interrupt()
        return found
    setattr(owner, name, interrupted)
"""
ON_IMPORT = """
from importlib.abc import MetaPathFinder
class Watch(MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        if name == {name!r}:
            interrupt()
sys.meta_path.insert(0, Watch())
"""
TWO_PROCESSES = (
    "from preflight.artwork.platemaking import derived_documents, second_process\n"
    "derived_documents.HEAVY_BYTES = 0\nderived_documents.can_fork = lambda: True\n"
)
MOMENTS = {
    "while click is imported": ON_IMPORT.format(name="click"),
    "while the PDF library is imported": ON_IMPORT.format(name="pikepdf"),
    "while numpy is imported": ON_IMPORT.format(name="numpy.linalg"),
    "while templates are imported": ON_IMPORT.format(name="jinja2"),
    "while the file is read": "import preflight.pipeline\nbefore(preflight.pipeline, 'read_artwork')\n",
    "once a second process was begun": TWO_PROCESSES + "after(os, 'fork')\n",
    "while it draws": TWO_PROCESSES + "before(second_process.Sibling, 'answer')\n",
    "while plates are kept": "from preflight.artwork.platemaking import plate_cache\nbefore(plate_cache, '_packed')\n",
    "in the middle of kept plates": (
        "from preflight.artwork.platemaking import plate_cache\nafter(plate_cache.os, 'fdopen')\n"
    ),
    "while a measure runs": "from preflight.judging import judge\nbefore(judge, 'hold')\n",
    "in the middle of a report": "before(os, 'fsync')\n",
    "in a destructor": (
        "import preflight.pipeline\nclass Ended:\n    def __del__(self): interrupt()\n"
        "kept = preflight.pipeline.judge\n"
        "preflight.pipeline.judge = lambda *given: (Ended(), kept(*given))[1]\n"
    ),
    "at its end": "before(sys.stdout, 'flush')\nimport preflight.cli.main as m\nm.make_lasting = lambda: None\n",
}


@pytest.fixture
def job(tmp_path) -> list[str]:
    page = Drawing(100, 80, trim=(5, 5, 95, 75)).fill("Leaf Green", rect=(0, 0, 100, 80))
    page.fill((0.5, 0.2, 0.1, 0), rect=(20, 20, 60, 60)).fill("Fern", 0.7, rect=(30, 30, 50, 50))
    page.save(tmp_path / "art.pdf")
    (tmp_path / "press.yaml").write_text(PRESS)
    (tmp_path / "reports").mkdir()
    (tmp_path / "temporary").mkdir()
    reports = [f"--report={tmp_path / 'reports' / name}" for name in ("r.json", "r.html")]
    return ["check", str(tmp_path / "art.pdf"), "--press", str(tmp_path / "press.yaml"), *reports]


def begun(program: str, arguments: list[str], folder: Path) -> subprocess.Popen[str]:
    environment = {**os.environ, "TMPDIR": str(folder / "temporary"), "XDG_CACHE_HOME": str(folder / "cache")}
    return subprocess.Popen(
        [sys.executable, "-c", program, *arguments], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        cwd=ROOT, env=environment, start_new_session=True,
    )  # fmt: skip


def processes_of(session: int) -> list[int]:
    """Those of a session that have not ended; a child's own group is in it too."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                fields = (entry / "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if int(fields[3]) == session and fields[0] != "Z":
                found.append(int(entry.name))
    return found


def nothing_is_left(process: subprocess.Popen[str], folder: Path) -> None:
    until = time.monotonic() + 5
    while processes_of(process.pid) and time.monotonic() < until:
        time.sleep(0.02)
    assert processes_of(process.pid) == []
    assert list((folder / "temporary").iterdir()) == []
    assert [p.name for p in folder.rglob("*") if p.name.endswith(".part") or p.name.startswith("new-")] == []


@pytest.mark.parametrize("moment", MOMENTS)
def test_it_ends_in_one_line_and_leaves_nothing(moment, job, tmp_path):
    process = begun(f"{BEGIN}{MOMENTS[moment]}\nmain()", job, tmp_path)
    _, told = process.communicate(timeout=60)
    assert (process.returncode, told) == (130, "interrupted\n")
    nothing_is_left(process, tmp_path)


@pytest.mark.parametrize("delay_s", [0.3, 1.2])
def test_a_guarded_check_ends_with_its_child(delay_s, job, tmp_path):
    process = begun(f"{BEGIN}main()", [*job, "--guarded"], tmp_path)
    until = time.monotonic() + 60
    while len(processes_of(process.pid)) < 2 and time.monotonic() < until:  # the child is there
        time.sleep(0.01)
    time.sleep(delay_s)
    os.killpg(process.pid, signal.SIGINT)
    _, told = process.communicate(timeout=60)
    quicker = (1, "")  # the verdict of this job
    assert (process.returncode, told) in ((130, "interrupted\n"), quicker)
    nothing_is_left(process, tmp_path)


CHILD = """
import json, os, signal, sys
order = json.load(sys.stdin)
import preflight.report.saving
from preflight import worker
kept = os.fsync
def stopped(handle):
    if "r.json" in os.readlink(f"/proc/self/fd/{handle}"):
        os.kill(order["caller"], signal.SIGINT)
        signal.pause()
    kept(handle)
os.fsync = stopped
worker.run_ordered(order)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
def test_the_child_of_a_guarded_check_takes_its_half_report_along(job, tmp_path):
    program = f"{BEGIN}from preflight import worker\nworker.CHILD = ('-c', {CHILD!r})\nmain()"
    process = begun(program, [*job, "--guarded"], tmp_path)
    _, told = process.communicate(timeout=60)
    assert (process.returncode, told) == (130, "interrupted\n")
    nothing_is_left(process, tmp_path)


@pytest.mark.parametrize(
    "name", ["preflight.interruption", "signal", "preflight.cli", "click", "preflight.cli.streams"]
)
def test_the_module_is_a_command_that_can_be_interrupted_from_its_first_import_on(name, job, tmp_path):
    watch = f"import os, signal, sys\ndef interrupt(): os.killpg(0, signal.SIGINT)\n{ON_IMPORT.format(name=name)}"
    (tmp_path / "sitecustomize.py").write_text(
        watch.replace("import os, signal, sys", "import os, sys, _signal as signal")
    )
    environment = {**os.environ, "PYTHONPATH": f"{tmp_path}{os.pathsep}{ROOT}"}
    process = subprocess.Popen(
        [sys.executable, "-m", "preflight", *job], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        cwd=ROOT, env=environment, start_new_session=True,
    )  # fmt: skip
    _, told = process.communicate(timeout=60)
    assert (process.returncode, told) == (130, "interrupted\n")
    nothing_is_left(process, tmp_path)


def test_its_status_is_that_of_all_commands():
    assert interruption.INTERRUPTED == ExitStatus.INTERRUPTED


def test_what_is_ignored_stays_ignored():
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        interruption.end_when_interrupted()
        assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGINT, before)


def test_what_is_over_is_not_cleared_away():
    cleared = []
    over = interruption.begin(lambda: cleared.append("over"))
    still = interruption.begin(lambda: cleared.append("still"))
    interruption.done(over)
    try:
        interruption.clear_away()
    finally:
        interruption.done(still)
    assert cleared == ["still"]


def test_a_program_that_uses_the_package_keeps_its_own_way():
    import preflight.pipeline  # noqa: F401 - whatever comes along with it

    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler

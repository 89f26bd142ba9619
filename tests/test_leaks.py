"""Many checks in one process, as a service makes them: no process, no open file and no memory is left behind."""

from __future__ import annotations

import gc
import os
import time
from pathlib import Path

import pytest

from preflight import check
from preflight.artwork.platemaking import derived_documents
from preflight.artwork.platemaking.second_process import can_fork
from preflight.artwork.read_artwork import read_artwork
from tests.drawn import Drawing

CHECKS = int(os.environ.get("LEAK_CHECKS", "200"))
"""``LEAK_CHECKS=2000`` is the long run (DEVELOPERS.md)."""
WARM_UP = 10
MOST_LEFT_MB = 20
PRESS = "press: Six\nsheet: {largest: 1020 x 720 mm}\nunits: [{inks: any}, {inks: any}]\n"
PROCESS = Path("/proc/self")

pytestmark = pytest.mark.skipif(not PROCESS.exists(), reason="this system has no /proc to look at")


def children() -> set[str]:
    """Numbers of the processes that this one has started, the ended ones that nobody has buried among them."""
    found = set[str]()
    for task in (PROCESS / "task").iterdir():
        found.update((task / "children").read_text().split())
    return found


def open_files() -> set[str]:
    found = set[str]()
    for entry in (PROCESS / "fd").iterdir():
        try:
            found.add(f"{entry.name} {entry.readlink()}")
        except OSError:  # the one that lists them
            continue
    return found


def resident_mb() -> float:
    words = (PROCESS / "statm").read_text().split()
    return int(words[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6


def buried(before: set[str], within_s: float = 5.0) -> set[str]:
    """Processes that are left over; those that were killed are given a moment."""
    until = time.monotonic() + within_s
    while children() - before and time.monotonic() < until:
        time.sleep(0.01)
    return children() - before


@pytest.fixture
def job(tmp_path) -> tuple[Path, Path]:
    """A page of a few objects, with a die, a picture's worth of ink and a spot that overprints."""
    page = Drawing(60, 40, trim=(3, 3, 57, 37)).fill((0.2, 0.4, 0.6, 0.1), rect=(0, 0, 60, 40))
    page.gs(OP=True, op=True, OPM=1).fill("Fern", 0.7, rect=(20, 10, 40, 30))
    (tmp_path / "press.yaml").write_text(PRESS)
    return page.save(tmp_path / "art.pdf"), tmp_path / "press.yaml"


def test_many_checks_leave_nothing_behind(job, tmp_path, monkeypatch):
    """Each report is written, every tenth with its pictures; every other one is closed, the rest are just let go of."""
    if can_fork():
        monkeypatch.setattr(derived_documents, "HEAVY_BYTES", 0)  # so that each of them has a second process
    art, press = job

    def checked(number: int) -> None:
        report = check(art, press=press, cache=False)
        report.save(tmp_path / ("report.html" if number % 10 == 0 else "report.json"))
        if number % 2:
            report.close()

    before = children()
    for number in range(WARM_UP):
        checked(number)
    gc.collect()
    files, memory = open_files(), resident_mb()
    for number in range(CHECKS):
        checked(number)
    assert not buried(before)
    gc.collect()
    assert open_files() - files == set()
    assert resident_mb() - memory < MOST_LEFT_MB


def test_with_ends_what_reading_and_drawing_started(job, monkeypatch):
    if can_fork():
        monkeypatch.setattr(derived_documents, "HEAVY_BYTES", 0)
    art, _ = job
    with read_artwork(art) as warm_up:
        warm_up.pages[0].plates()
    before, files = children(), open_files()
    with read_artwork(art) as artwork:
        artwork.pages[0].plates()
        assert not can_fork() or children() - before
        assert any(str(art) in name for name in open_files())
    assert not buried(before)
    assert not any(str(art) in name for name in open_files() - files)


def test_a_check_that_breaks_off_ends_it_too(job, monkeypatch):
    art, press = job
    files = open_files()

    def broken(*_: object) -> None:
        raise KeyError("in the middle")

    with pytest.raises(KeyError):
        check(art, press=press, opening=broken, cache=False)
    assert not any(str(art) in name for name in open_files() - files)


def test_reading_leaves_the_collector_of_the_process_alone(job, monkeypatch):
    """Other threads of a service rest on it."""

    def touched(*_: object) -> None:
        raise AssertionError("the garbage collector was switched")

    for name in ("disable", "enable", "freeze", "set_threshold"):
        monkeypatch.setattr(gc, name, touched)
    art, press = job
    check(art, press=press, cache=False).close()

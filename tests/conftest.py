"""What every test has in common: a cache folder of its own, so that no run leaves anything in the user's.

And what becomes of tests that do not run. Without the outside PDFs the first test that needs them is skipped for all of
them, and so it is with the published schema of XJDF. Where ``CI=true`` every other skip is a failure: a machine
without a referee must not pass for one that asked it.
"""

from __future__ import annotations

import os
from collections.abc import Generator

import pytest

from preflight.artwork.read_artwork import read_artwork
from preflight.measures import Measure
from tests.referees import OUTSIDE

SKIPS_FAIL = os.environ.get("CI") == "true"
SKIPPED_FOR_ALL = pytest.StashKey[bool]()
"""Set on the test that is skipped in the place of all that need the same outside files."""


@pytest.fixture(autouse=True)
def own_cache_folder(tmp_path_factory, monkeypatch):
    folder = tmp_path_factory.getbasetemp() / f"cache-{os.getpid()}"
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder))
    return folder


@pytest.fixture(autouse=True)
def plates_are_drawn_anew(monkeypatch):
    """Tests change between two readings of one file how its plates are made; those of kept plates ask for them."""
    monkeypatch.setitem(read_artwork.__kwdefaults__, "cache", False)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leaves one visible skip where outside files are absent; trylast, to count only what was asked for."""
    for mark, (file, absent) in OUTSIDE.items():
        needing = [item for item in items if item.get_closest_marker(mark)]
        if needing and not file.exists():
            first, *others = needing
            reason = f"{absent}: {len(needing)} tests left out"
            first.own_markers[:] = [pytest.mark.skip(reason=reason).mark]  # and not for want of a referee
            first.stash[SKIPPED_FOR_ALL] = True
            config.hook.pytest_deselected(items=others)
            items[:] = [item for item in items if item not in others]


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    if not item.stash.get(SKIPPED_FOR_ALL, False):
        _fails_if_skipped(report)
    return report


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """A file that skips itself as a whole."""
    report = yield
    _fails_if_skipped(report)
    return report


def _fails_if_skipped(report: pytest.TestReport | pytest.CollectReport) -> None:
    if SKIPS_FAIL and report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        report.outcome = "failed"
        report.longrepr = f"{reason} (where CI=true, a test that does not run is a failure)"


@pytest.fixture(autouse=True)
def readings_are_as_declared(monkeypatch):
    """Every reading of every test is held against what its measure declares, so that no declaration rots."""
    undeclared, run = [], Measure.run

    def strict(measure, *given):
        measured = run(measure, *given)
        undeclared.extend(measure.undeclared(measured.readings))
        return measured

    monkeypatch.setattr(Measure, "run", strict)
    yield
    assert undeclared == []

"""Which tests run which lines of ``preflight/``, and how long each takes.

As a pytest plugin (``-p tests.mutation.reach``, with ``REACH`` the file to write) it notes that of one run. The notes
of a test file are kept outside the tree and made anew when the package, the file or what test files share has changed.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import reduce
from operator import or_
from pathlib import Path
from typing import Any

import pytest
from coverage import Coverage, CoverageData
from platformdirs import user_cache_path

ROOT = Path(__file__).parents[2]
SECONDS_A_FILE = 3600


class Notes:
    """The plugin: every test is a context of coverage's own data file; times and failures stand in a file beside it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.seconds: dict[str, float] = defaultdict(float)
        self.failed: set[str] = set()
        self.coverage = Coverage(str(path), source=[str(ROOT / "preflight")], config_file=False)
        self.coverage.start()

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> None:
        self.coverage.switch_context(item.nodeid)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.seconds[report.nodeid] += report.duration
        if not report.passed:
            self.failed.add(report.nodeid)

    def pytest_sessionfinish(self) -> None:
        self.coverage.stop()
        self.coverage.save()
        passed = {test: seconds for test, seconds in self.seconds.items() if test not in self.failed}
        self.path.with_suffix(".json").write_text(json.dumps(passed))


def pytest_configure(config: Any) -> None:
    config.pluginmanager.register(Notes(Path(os.environ["REACH"])))


@dataclass
class Reach:
    """Test to seconds, and the tests that run a line. Files are as seen from the root of the tree."""

    seconds: dict[str, float] = field(default_factory=dict)
    _bits: dict[str, int] = field(default_factory=dict)
    """A bit for each test: sets of names would take gigabytes."""
    _lines: dict[str, dict[int, int]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(int)))

    def enter(self, test: str, seconds: float) -> None:
        """A test that passes, and how long it takes."""
        self.seconds[test] = seconds
        self._bits.setdefault(test, 1 << len(self._bits))

    def runs(self, tests: Iterable[str], file: str, line: int) -> None:
        """These tests run this line; those that were not entered do not count."""
        self._lines[file][line] |= sum(self._bits[test] for test in set(tests) if test in self._bits)

    def add(self, path: Path) -> None:
        """Take in the notes of one test file."""
        for test, seconds in json.loads(path.with_suffix(".json").read_text()).items():
            self.enter(test, seconds)
        data = CoverageData(str(path))
        data.read()
        for measured in data.measured_files():
            file = str(Path(measured).relative_to(ROOT))
            for line, tests in data.contexts_by_lineno(measured).items():
                self.runs(tests, file, line)

    def of_line(self, file: str, line: int) -> set[str]:
        """Tests that run a line."""
        return self._named(self._lines[file][line])

    def of_file(self, file: str) -> set[str]:
        """Tests that run anything in a file."""
        return self._named(reduce(or_, self._lines[file].values(), 0))

    def _named(self, bits: int) -> set[str]:
        return {test for test, bit in self._bits.items() if bits & bit}


def _digest(files: Iterable[Path]) -> str:
    digest = hashlib.sha256()
    for file in sorted(files):
        digest.update(str(file.relative_to(ROOT)).encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()[:16]


def _noted(test_file: Path, common: str) -> Path | None:
    folder = user_cache_path("preflight") / "mutation" / common
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{test_file.stem}-{_digest([test_file])}.coverage"
    if not path.with_suffix(".json").exists():
        command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "tests.mutation.reach"]
        environment = os.environ | {"REACH": str(path), "PYTHONPATH": str(ROOT)}
        with contextlib.suppress(subprocess.TimeoutExpired):
            subprocess.run(
                [*command, str(test_file)], cwd=ROOT, env=environment, check=False, stdout=subprocess.DEVNULL,
                timeout=SECONDS_A_FILE,
            )  # fmt: skip
    return path if path.with_suffix(".json").exists() else None


def reach(test_files: Iterable[Path], workers: int) -> Reach:
    """The notes of these test files together; those that are not kept are made, ``workers`` files at a time."""
    shared = [file for file in (ROOT / "tests").rglob("*.py") if not file.name.startswith("test_")]
    common = _digest([*(ROOT / "preflight").rglob("*.py"), *(file for file in shared if "mutation" not in file.parts)])
    found = Reach()
    with ThreadPoolExecutor(workers) as pool:
        files = sorted(test_files)
        for file, path in zip(files, pool.map(lambda file: _noted(file, common), files), strict=True):
            if path is not None:
                found.add(path)
            else:
                sys.stderr.write(f"{file.name} did not end, and is not asked\n")
    return found

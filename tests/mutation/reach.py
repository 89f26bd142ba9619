"""Which tests run which lines of ``preflight/``, and how long each takes.

As a pytest plugin (``-p tests.mutation.reach``, with ``REACH`` the file to write) it notes that of one run. The notes
of a test file are kept outside the tree and made anew when the package, the file or what test files share has changed.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
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

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.coverage.switch_context(item.nodeid)
        return (yield)

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
    """Test to seconds; and (file, line) to the tests that run the line. Files are as seen from the root of the tree."""

    seconds: dict[str, float] = field(default_factory=dict)
    tests: dict[tuple[str, int], set[str]] = field(default_factory=lambda: defaultdict(set))
    of_file: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))

    def add(self, path: Path) -> None:
        """Take in the notes of one test file."""
        seconds: dict[str, float] = json.loads(path.with_suffix(".json").read_text())
        self.seconds |= seconds
        data = CoverageData(str(path))
        data.read()
        for measured in data.measured_files():
            file = str(Path(measured).relative_to(ROOT))
            for line, contexts in data.contexts_by_lineno(measured).items():
                tests = seconds.keys() & set(contexts)
                self.tests[file, line] |= tests
                self.of_file[file] |= tests


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
        subprocess.run(
            [*command, str(test_file)],
            cwd=ROOT,
            env=environment,
            check=False,
            timeout=SECONDS_A_FILE,
            stdout=subprocess.DEVNULL,
        )
    return path if path.with_suffix(".json").exists() else None


def reach(test_files: Iterable[Path], workers: int) -> Reach:
    """The notes of these test files together; those that are not kept are made, ``workers`` files at a time."""
    shared = [file for file in (ROOT / "tests").rglob("*.py") if not file.name.startswith("test_")]
    common = _digest([*(ROOT / "preflight").rglob("*.py"), *(file for file in shared if "mutation" not in file.parts)])
    found = Reach()
    with ThreadPoolExecutor(workers) as pool:
        for path in pool.map(lambda file: _noted(file, common), sorted(test_files)):
            if path is not None:
                found.add(path)
    return found

"""The quick run: each slip asked only of the tests that import its module, or what imports it, in forks of one process.

    python -m tests.mutation.near --mutants 150 --seed 1 --survivors survivors.txt [FILE ...]

It draws the same slips as ``run.py``, writes nothing into the tree and needs no notes, so that an hour's run takes ten
minutes. What it counts is the least that the tests notice: tests that start a process of their own do not see the slip,
and those further off are not asked. What survives is for somebody to read.
"""

from __future__ import annotations

import importlib.machinery
import multiprocessing
import os
import re
import signal
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path
from types import CodeType
from typing import Final

import pytest

from tests.mutation.mutants import Mutant
from tests.mutation.reach import ROOT
from tests.mutation.run import Verdict, drawn_for, options, told

MOST_FILES: Final = 7
"""Test files asked of one slip, the nearest first."""
LIMIT_S: Final = 240
LIBRARIES: Final = (
    "numpy",
    "shapely",
    "pikepdf",
    "PIL.Image",
    "pydantic",
    "yaml",
    "pypdfium2",
    "rich.console",
    "pytest",
)


@cache
def _imported() -> dict[Path, set[str]]:
    """Modules of the package that each file of it, and each test file, imports by name."""
    words = re.compile(r"\bpreflight(?:\.\w+)+")
    from_them = re.compile(r"^ *from (preflight(?:\.\w+)*) import (?:\(([^)]+)\)|([\w, ]+))", re.MULTILINE)
    found = {}
    for file in [*(ROOT / "preflight").rglob("*.py"), *(ROOT / "tests").glob("*.py")]:
        text = file.read_text()
        names = set(words.findall(text))
        for head, *tails in from_them.findall(text):
            names |= {f"{head}.{name.split()[0]}" for tail in tails for name in tail.split(",") if name.strip()}
        found[file] = names
    return found


def near(file: Path) -> list[str]:
    """The test files that are nearest to a module: called like it, importing it, importing what imports it."""
    ranks: dict[Path, int] = defaultdict(lambda: 9)
    modules = {_dotted(file)}
    for distance in range(1, 4):
        importers = [one for one, names in _imported().items() if names & modules]
        for one in importers:
            if one.name.startswith("test_"):
                ranks[one] = min(ranks[one], 0 if one.stem.endswith(file.stem) else distance)
        modules |= {_dotted(one) for one in importers if ROOT / "preflight" in one.parents}
        if len(ranks) >= MOST_FILES:
            break
    nearest = sorted(ranks, key=lambda one: (ranks[one], one.stat().st_size))
    return [str(one.relative_to(ROOT)) for one in nearest[:MOST_FILES]]


def _dotted(file: Path) -> str:
    return ".".join(file.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def tried(mutant: Mutant) -> Verdict:
    """What becomes of a slip among the tests near it.

    One that makes them take too long is not counted as caught, nor is one that a test notices which fails without it.
    """
    started = time.monotonic()
    tests = near(ROOT / mutant.file)
    status, failed = _in_a_fork(tests, mutant) if tests else (0, "")
    outcome = "survived" if tests else "not reached"
    if status not in (0, -signal.SIGALRM) and (not failed or _in_a_fork([failed], None)[0] == 0):
        outcome = f"caught by {failed or 'all'}"
    return Verdict(mutant, outcome, len(tests), time.monotonic() - started)


class _FirstFailure:
    """A pytest plugin that writes down which test fails first."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed and not self.path.exists():
            self.path.write_text(report.nodeid)


def _in_a_fork(tests: list[str], mutant: Mutant | None) -> tuple[int, str]:
    """Exit status of these tests where the slip stands in place of the module's source, and the test that failed.

    A signal is negative. No test is named where they could not begin.
    """
    with tempfile.TemporaryDirectory(prefix="mutation-near-") as folder:
        failed = Path(folder) / "failed.txt"
        child = os.fork()
        if not child:
            os.setsid()
            signal.alarm(LIMIT_S)
            quiet = os.open(os.devnull, os.O_WRONLY)
            os.dup2(quiet, 1)
            os.dup2(quiet, 2)
            if mutant is not None:
                _stand_in(mutant)
            options = ["-x", "-q", "-p", "no:cacheprovider", f"--basetemp={folder}/tmp"]
            os._exit(int(pytest.main([*options, *tests], [_FirstFailure(failed)])))
        _, status = os.waitpid(child, 0)
        return os.waitstatus_to_exitcode(status), failed.read_text() if failed.exists() else ""


def _stand_in(mutant: Mutant) -> None:
    """Have the import of the module compile the slip's source."""
    read, slip = importlib.machinery.SourceFileLoader.get_code, ROOT / mutant.file

    def get_code(loader: importlib.machinery.SourceFileLoader, name: str) -> CodeType | None:
        return compile(mutant.source, loader.path, "exec") if Path(loader.path) == slip else read(loader, name)

    importlib.machinery.SourceFileLoader.get_code = get_code  # type: ignore[assignment, method-assign]


def _ready(libraries: Iterable[str]) -> None:
    os.chdir(ROOT)
    for name in libraries:
        importlib.import_module(name)


def main() -> None:
    given = options(__doc__).parse_args()
    mutants, context = drawn_for(given), multiprocessing.get_context("fork")
    with ProcessPoolExecutor(given.workers, context, initializer=_ready, initargs=(LIBRARIES,)) as pool:
        told(pool.map(tried, mutants), len(mutants), given.survivors)


if __name__ == "__main__":
    main()

"""Copies of the tree that a mutant may stand in, and runs of tests there."""

from __future__ import annotations

import compileall
import contextlib
import os
import py_compile
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.mutation.mutants import Mutant
from tests.mutation.reach import ROOT
from tests.referees import CORPUS

LEFT_OUT = (".git", "__pycache__", ".*_cache", "*.egg-info", "build", "dist")
STARTED_S, SLOWER = 60, 5
"""A run may take this long to start, and then so many times what its tests take without a mutant."""


@dataclass(frozen=True)
class Run:
    """Of some tests: whether they passed, and which one failed. None is named where they could not begin or end."""

    passed: bool
    failed: str = ""


class Tree:
    """One copy, in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        """Compiled so that a file is read anew whenever its bytes have changed, not its time."""
        self.root, self.listed = folder / ROOT.name, folder / "chosen.txt"
        shutil.copytree(ROOT, self.root, ignore=shutil.ignore_patterns(*LEFT_OUT))
        mode = py_compile.PycInvalidationMode.CHECKED_HASH
        for name in ("preflight", "tests"):
            compileall.compile_dir(self.root / name, quiet=1, invalidation_mode=mode)

    @contextlib.contextmanager
    def changed(self, mutant: Mutant) -> Iterator[None]:
        """With the mutant in its place."""
        file = self.root / mutant.file
        original = file.read_text()
        file.write_text(mutant.source)
        try:
            yield
        finally:
            file.write_text(original)

    def run(self, tests: list[str], seconds: float) -> Run:
        """These tests in this order until one fails; ``seconds`` is what they should take."""
        self.listed.write_text("\n".join(tests))
        failed = self.listed.with_suffix(".failed")
        failed.unlink(missing_ok=True)
        files = list(dict.fromkeys(test.split("::")[0] for test in tests))
        options = ["-q", "-x", "-p", "no:cacheprovider", "-p", "tests.mutation.only"]
        status = self._status([sys.executable, "-m", "pytest", *options, *files], STARTED_S + SLOWER * seconds)
        return Run(status == 0, failed.read_text() if failed.exists() else "")

    def _status(self, command: list[str], limit_s: float) -> int | None:
        """Of a process that takes its children with it when it ends; None where it took too long."""
        environment = os.environ | {"PYTHONPATH": str(self.root), "ONLY": str(self.listed), "CORPUS": str(CORPUS)}
        quiet = subprocess.DEVNULL
        run = subprocess.Popen(
            command, cwd=self.root, env=environment, stdout=quiet, stderr=quiet, start_new_session=True
        )
        try:
            return run.wait(limit_s)
        except subprocess.TimeoutExpired:
            return None
        finally:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(run.pid, signal.SIGKILL)
            run.wait()

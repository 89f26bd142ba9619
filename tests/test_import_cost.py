"""What a command may load before it knows what it is asked for: nobody waits for a PDF library to read the help."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ALLOWED = {"click", "preflight"}
"""Packages that are not Python's own."""
MOST_OF_OURS = {
    "preflight", "preflight.cli", "preflight.cli.main", "preflight.cli.streams", "preflight.errors",
}  # fmt: skip


def loaded(program: str) -> set[str]:
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, cwd=ROOT, check=True)
    return set(done.stdout.rpartition("loaded: ")[2].split())


@pytest.mark.parametrize(
    "arguments", [["--help"], ["--version"], ["check", "--help"], ["rules", "--help"]], ids=" ".join
)
def test_help_loads_click_and_nothing_heavier(arguments):
    told = (
        "import sys\n"
        "before = set(sys.modules)\n"  # what the interpreter has loaded by itself, tools of a virtual environment too
        "from preflight.cli.main import run\n"
        f"assert run({arguments!r}) == 0\n"
        "print('loaded:', *sorted(set(sys.modules) - before))"
    )
    modules = loaded(told)
    assert "click" in modules
    packages = {name.split(".")[0] for name in modules}
    assert {name for name in packages if name not in sys.stdlib_module_names} <= ALLOWED
    assert {name for name in modules if name.split(".")[0] == "preflight"} <= MOST_OF_OURS

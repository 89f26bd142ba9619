"""A reader that goes early, or streams that were never there, change no exit status: it is the verdict's."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.drawn import Drawing

ROOT = Path(__file__).parents[1]
PRESS = "press: Six\nsheet: {largest: 1020 x 720 mm}\nunits: [{inks: any}, {inks: any}]\n"
COMMANDS = {
    "passes": ("check {passes} --press {press} --no-cache", 0),
    "fails": ("check {fails} --press {press} --no-cache", 1),
    "passes, as JSON": ("check {passes} --press {press} --no-cache --report -", 0),
    "fails, as JSON": ("check {fails} --press {press} --no-cache --report -", 1),
    "passes in a child": ("check {passes} --press {press} --no-cache --guarded", 0),
    "fails in a child, as JSON": ("check {fails} --press {press} --no-cache --guarded --report -", 1),
    "unreadable": ("check {no_pdf} --press {press}", 3),
    "unreadable in a child": ("check {no_pdf} --press {press} --guarded", 3),
    "wrong press": ("check {passes} --press {wrong_press}", 4),
    "plates": ("plates {passes} --out {plates}", 0),
    "rules": ("rules", 0),
    "no such rule": ("rules nonsense", 2),
    "help": ("--help", 0),
}


@pytest.fixture(scope="module")
def files(tmp_path_factory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("job")
    page = Drawing(100, 80, trim=(5, 5, 95, 75)).fill("Leaf Green", rect=(0, 0, 100, 80))
    passes = page.save(folder / "passes.pdf")
    fails = page.text("not embedded", (30, 30), 14).save(folder / "fails.pdf")
    press, wrong_press, no_pdf = folder / "press.yaml", folder / "wrong.yaml", folder / "no.pdf"
    press.write_text(PRESS)
    wrong_press.write_text(PRESS.replace("units", "unitts"))
    no_pdf.write_text("no")
    return {
        "passes": passes, "fails": fails, "press": press, "wrong_press": wrong_press, "no_pdf": no_pdf,
        "plates": folder / "plates",
    }  # fmt: skip


def nobody_reads(command: list[str], environment: dict[str, str], *, errors_too: bool) -> tuple[int, str]:
    """The pipe has no reader from the first byte on."""
    read, write = os.pipe()
    os.close(read)
    ended = subprocess.run(
        command, stdout=write, stderr=write if errors_too else subprocess.PIPE, cwd=ROOT, env=environment, check=False
    )
    os.close(write)
    return ended.returncode, (ended.stderr or b"").decode()


def no_output(command: list[str], environment: dict[str, str]) -> tuple[int, str]:
    return nobody_reads(command, environment, errors_too=False)


def unbuffered(command: list[str], environment: dict[str, str]) -> tuple[int, str]:
    return nobody_reads(command, {**environment, "PYTHONUNBUFFERED": "1"}, errors_too=False)


def no_errors_either(command: list[str], environment: dict[str, str]) -> tuple[int, str]:
    return nobody_reads(command, environment, errors_too=True)


def one_line_read(command: list[str], environment: dict[str, str]) -> tuple[int, str]:
    """As ``| head -1`` does it."""
    started = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT, env=environment
    )
    assert started.stdout is not None
    assert started.stderr is not None
    started.stdout.readline()
    started.stdout.close()
    with started.stderr:
        return started.wait(), started.stderr.read()


def closed(command: list[str], environment: dict[str, str]) -> tuple[int, str]:
    """Standard input, output and error are not there at all."""
    ended = subprocess.run(
        ["sh", "-c", f"exec {shlex.join(command)} <&- >&- 2>&-"], cwd=ROOT, env=environment, check=False
    )
    return ended.returncode, ""


WAYS = [one_line_read, closed, no_output, unbuffered, no_errors_either]
ALL_WAYS = {"passes", "fails, as JSON", "passes in a child", "unreadable", "plates"}
"""Commands that are tried in every way; the others in the first two."""
CASES = [(command, way) for command in COMMANDS for way in WAYS[: 5 if command in ALL_WAYS else 2]]


@pytest.mark.parametrize(("command", "run"), CASES, ids=[f"{command}: {way.__name__}" for command, way in CASES])
def test_the_status_is_the_verdicts(command, run: Callable[..., tuple[int, str]], files):
    words, status = COMMANDS[command]
    arguments = words.format(**files).split()
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
    ended, told = run([sys.executable, "-m", "preflight.cli.main", *arguments], environment)
    assert ended == status
    assert "Traceback" not in told
    assert "ignored" not in told
    assert bool(told) == (status >= 2 and run not in (no_errors_either, closed))  # an error is said, and no more


def test_a_file_is_never_taken_for_a_stream_that_is_closed(files, tmp_path):
    """What a library writes to standard output or standard error must not land in the report."""
    report = tmp_path / "report.json"
    words = f"check {files['passes']} --press {files['press']} --no-cache --report {report}"
    status, _ = closed([sys.executable, "-m", "preflight.cli.main", *words.split()], dict(os.environ))
    assert status == 0
    assert report.read_text().startswith("{")
    assert report.read_text().endswith("}\n")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device here")
@pytest.mark.parametrize("words", ["rules", "rules bleed-short", "rules --coverage", "schema press", "--help"])
def test_a_full_disk_under_standard_output_is_said(words):
    with Path("/dev/full").open("w") as full:
        ended = subprocess.run(
            [sys.executable, "-m", "preflight.cli.main", *words.split()],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
            cwd=ROOT,
        )
    assert ended.stderr == "Standard output cannot be written: No space left on device.\n"
    assert ended.returncode == 6

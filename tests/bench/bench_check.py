"""Times ``preflight check`` against Ghostscript's ``tiffsep``: ``python -m tests.bench.bench_check [CASE]...``.

Each run is a fresh process; wall time, and the peak of its resident memory from ``wait4`` (where it has children of its
own, that of the largest process, not the sum). ``tiffsep`` runs at 150 dpi. The quickest run is shown. A check may end
with status 0 or 1, whatever it found.

Linux counts a child's memory from the fork on, so this process stays small: it imports no numpy and draws in a child.
"""

from __future__ import annotations

import argparse
import compileall
import os
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from tests.bench.cases import CASES

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Run:
    """What one process took."""

    seconds: float
    megabytes: float
    status: int
    said: str


def timed(command: list[str], folder: Path, limit_s: float) -> Run:
    """Runs a command to its end, or kills it at the limit."""
    log = folder / "output.txt"
    # An empty cache for each run: what is timed is the first look at a file.
    with log.open("wb") as output, tempfile.TemporaryDirectory() as cache:
        environment = {**os.environ, "XDG_CACHE_HOME": cache}
        start = time.perf_counter()
        process = subprocess.Popen(command, cwd=ROOT, stdout=output, stderr=subprocess.STDOUT, env=environment)
        while True:
            done, status, used = os.wait4(process.pid, os.WNOHANG)
            if done:
                break
            if time.perf_counter() - start > limit_s:
                process.kill()
            time.sleep(0.002)
        seconds = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    unit = 1e6 if sys.platform == "darwin" else 1024
    return Run(seconds, used.ru_maxrss / unit, process.returncode, log.read_text(errors="replace")[-400:])


def best(command: list[str], folder: Path, repeat: int, limit_s: float) -> Run:
    """The quickest of several runs, or one that broke, with the greatest memory of them all."""
    runs = [timed(command, folder, limit_s) for _ in range(repeat)]
    broken = next((run for run in runs if run.status not in (0, 1)), None)
    quickest = broken or min(runs, key=lambda run: run.seconds)
    return Run(quickest.seconds, max(run.megabytes for run in runs), quickest.status, quickest.said)


def ghostscript(artwork: Path, folder: Path, repeat: int, limit_s: float) -> Run | None:
    """``tiffsep`` at 150 dpi on the same file; None where Ghostscript is not installed."""
    program = shutil.which("gs")
    if program is None:
        return None
    plates = folder / "tiffsep"
    plates.mkdir(exist_ok=True)
    command = f"{program} -q -dSAFER -dBATCH -dNOPAUSE -sDEVICE=tiffsep -r150".split()
    command += ["-o", str(plates / "plate.tif"), str(artwork)]
    run = best(command, folder, repeat, limit_s)
    shutil.rmtree(plates)
    return run


def row(name: str, ours: Run, theirs: Run | None) -> str:
    """One line of the table."""
    case = CASES[name]
    over = [
        f"over {limit:g} {unit}"
        for value, limit, unit in ((ours.seconds, case.seconds, "s"), (ours.megabytes, case.megabytes, "MB"))
        if limit is not None and value > limit
    ]
    if ours.status not in (0, 1):
        over.append(f"status {ours.status}")
    asked = "" if case.seconds is None else f"{case.seconds:g} s, {case.megabytes:g} MB"
    line = f"{name:12} {ours.seconds:8.2f} s {ours.megabytes:7.0f} MB  {asked:15} "
    if theirs is None:
        line += f"{'no gs':>8} {'':9} {'':>6}"
    else:
        broke = f" (gs status {theirs.status})" if theirs.status else ""
        line += f"{theirs.seconds:8.2f} s {theirs.megabytes:6.0f} MB {ours.seconds / theirs.seconds:6.2f}{broke}"
    return f"{line}  {', '.join(over) or 'ok'}"


def bench(name: str, folder: Path, given: argparse.Namespace) -> tuple[str, bool]:
    """Runs one case, drawing it where it is missing; the lines to print, and whether all is well."""
    ticket = folder / name / "ticket.yaml"
    if not ticket.exists():
        draw = [sys.executable, "-m", "tests.bench.draw_bench", str(folder), name]
        subprocess.run(draw, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    command = [sys.executable, "-m", "preflight.cli.main", "check", str(ticket)]
    ours = best(command, ticket.parent, given.repeat, given.limit)
    theirs = None
    if not given.no_gs:
        theirs = ghostscript(ticket.parent / "artwork.pdf", ticket.parent, given.repeat, given.limit)
    line = row(name, ours, theirs)
    said = "" if ours.status in (0, 1) else f"{'':13}{ours.said.strip()}\n"
    return f"{line}\n{said}", line.endswith("ok")


def options() -> argparse.Namespace:
    """What the command line asks for."""
    arguments = argparse.ArgumentParser(description="Times preflight check against Ghostscript tiffsep at 150 dpi.")
    arguments.add_argument("cases", nargs="*", metavar="CASE", help=f"of {', '.join(CASES)}; all where none is named")
    arguments.add_argument("--folder", type=Path, help="keeps the artwork here, drawn again only where it is missing")
    arguments.add_argument("--repeat", type=int, default=1, help="runs of each; the quickest counts")
    arguments.add_argument("--limit", type=float, default=600, help="seconds after which a run is killed")
    arguments.add_argument("--no-gs", action="store_true", help="leave Ghostscript out")
    given = arguments.parse_args()
    if unknown := set(given.cases) - set(CASES):
        arguments.error(f"no case is called {', '.join(sorted(unknown))}")
    return given


def main() -> int:
    """Prints the table; status 1 where a limit that is asked for was missed."""
    given, fine = options(), True
    # As pip leaves it: where bytecode is not kept, compiling would be timed with every run.
    compileall.compile_dir(ROOT / "preflight", quiet=1)
    if shutil.which("gs") is None:
        sys.stdout.write("Ghostscript is not installed: no ratio.\n")
    head = f"{'case':12} {'check':>10} {'peak':>10}  {'asked':15} {'tiffsep':>10} {'peak':>9} {'ratio':>6}\n"
    sys.stdout.write(head)
    with tempfile.TemporaryDirectory() as temporary:
        for name in given.cases or CASES:
            lines, well = bench(name, given.folder or Path(temporary), given)
            fine = fine and well
            sys.stdout.write(lines)
            sys.stdout.flush()
    return 0 if fine else 1


if __name__ == "__main__":
    sys.exit(main())

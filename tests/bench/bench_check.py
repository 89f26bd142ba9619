"""Measures ``preflight check`` beside Ghostscript's ``tiffsep``: ``python -m tests.bench.bench_check [CASE]...``.

Each run is a fresh process; wall time and processor seconds are medians, memory is the greatest sum over all processes
(``running.py``). ``tiffsep`` runs at 150 dpi. A check may end with status 0 or 1, whatever it found.
"""

from __future__ import annotations

import argparse
import compileall
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.cases import CASES
from tests.bench.running import ROOT, Run, measured


def ghostscript(artwork: Path, folder: Path, repeat: int, limit_s: float) -> Run | None:
    """``tiffsep`` at 150 dpi on the same file; None where Ghostscript is not installed."""
    program = shutil.which("gs")
    if program is None:
        return None
    plates = folder / "tiffsep"
    plates.mkdir(exist_ok=True)
    command = f"{program} -q -dSAFER -dBATCH -dNOPAUSE -sDEVICE=tiffsep -r150".split()
    command += ["-o", str(plates / "plate.tif"), str(artwork)]
    taken = measured(command, folder, repeat, limit_s)
    shutil.rmtree(plates)
    return taken


def over(name: str, ours: Run, theirs: Run | None) -> list[str]:
    """What was missed of what is asked for."""
    case = CASES[name]
    ratio = None if theirs is None else ours.seconds / theirs.seconds
    asked = (
        (ours.seconds, case.seconds, " s"),
        (ratio, case.ratio, " of tiffsep"),
        (ours.megabytes, case.megabytes, " MB"),
    )
    missed = [
        f"over {limit:g}{unit}"
        for value, limit, unit in asked
        if limit is not None and value is not None and value > limit
    ]
    return missed + ([f"status {ours.status}"] if ours.status not in (0, 1) else [])


def row(name: str, ours: Run, theirs: Run | None) -> tuple[str, bool]:
    """One line of the table, and whether all is well."""
    missed = over(name, ours, theirs)
    line = f"{name:15} {ours.seconds:7.2f} s {ours.cpu_seconds:7.2f} s {ours.megabytes:6.0f} MB "
    if theirs is None:
        line += f"{'no gs':>9} {'':29}"
    else:
        broke = f" (gs status {theirs.status})" if theirs.status else ""
        ratio = ours.seconds / theirs.seconds
        line += f"{theirs.seconds:7.2f} s {theirs.cpu_seconds:7.2f} s {theirs.megabytes:5.0f} MB {ratio:5.2f}{broke}"
    return f"{line}  {', '.join(missed) or 'ok'}", not missed


def bench(name: str, folder: Path, given: argparse.Namespace) -> tuple[str, bool]:
    """Runs one case, drawing it where it is missing; the lines to print, and whether all is well."""
    ticket = folder / name / "ticket.yaml"
    if not ticket.exists():
        draw = [sys.executable, "-m", "tests.bench.draw_bench", str(folder), name]
        subprocess.run(draw, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    command = [sys.executable, "-m", "preflight.cli.main", "check", str(ticket)]
    ours = measured(command, ticket.parent, given.repeat, given.limit)
    theirs = None
    if not given.no_gs:
        theirs = ghostscript(ticket.parent / "artwork.pdf", ticket.parent, given.repeat, given.limit)
    line, well = row(name, ours, theirs)
    said = "" if ours.status in (0, 1) else f"{'':16}{ours.said.strip()}\n"
    return f"{line}\n{said}", well


def options() -> argparse.Namespace:
    """What the command line asks for."""
    arguments = argparse.ArgumentParser(description="Times preflight check against Ghostscript tiffsep at 150 dpi.")
    arguments.add_argument("cases", nargs="*", metavar="CASE", help=f"of {', '.join(CASES)}; all where none is named")
    arguments.add_argument("--folder", type=Path, help="keeps the artwork here, drawn again only where it is missing")
    arguments.add_argument("--repeat", type=int, default=3, help="timed runs of each; their median counts")
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
    head = f"{'case':15} {'check':>9} {'cpu':>9} {'memory':>9} {'tiffsep':>9} {'cpu':>9} {'memory':>8} {'ratio':>5}\n"
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

"""Makes small slips in the code, one at a time, and counts those that a test notices.

    python -m tests.mutation.run --mutants 150 --seed 1 --survivors survivors.txt [FILE ...]

Of the package (or of the files named) it draws places at random, makes one slip at each in a copy of the tree, and runs
tests that reach the line, the fastest first, until one fails. What no test notices is written down, for somebody to
judge whether it changes anything.
"""

from __future__ import annotations

import argparse
import os
import re
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue
from random import Random

from tests.mutation.mutants import Mutant, Slips
from tests.mutation.reach import ROOT, Reach, reach
from tests.mutation.trees import Tree

SECONDS_OF_TESTS = 90
"""Of the tests that reach a mutant, as many as take this long without it."""
CLOSE_BY, WITNESSES = 3, 3
"""Lines before and behind a mutant whose own tests are asked first, and how many of each."""


@dataclass(frozen=True)
class Verdict:
    """What became of a mutant: *caught by* a test, *survived* or *not reached*; of how many tests, in which time."""

    mutant: Mutant
    outcome: str
    tests: int
    seconds: float

    @property
    def caught(self) -> bool:
        return self.outcome.startswith("caught")

    def __str__(self) -> str:
        """The mutant as a change, with what became of it."""
        change = [*(f"- {line}" for line in self.mutant.before.splitlines())]
        change += [f"+ {line}" for line in self.mutant.after.splitlines()]
        head = f"{self.mutant.file}:{self.mutant.line}: {self.outcome}, {self.tests} tests, {self.seconds:.0f} s"
        return "\n    ".join([head, *change])


def drawn(files: list[Path], count: int, seed: int) -> Iterator[Mutant]:
    """``count`` mutants, no two at one place, each place as likely as any other."""
    random = Random(seed)
    slips = [Slips(str(file.relative_to(ROOT)), file.read_text()) for file in sorted(files)]
    places = [(each, place) for each in slips for place in range(len(each.places))]
    random.shuffle(places)
    for each, place in places:
        if count and (mutant := each.draw(place, random)):
            count -= 1
            yield mutant


def chosen(mutant: Mutant, found: Reach) -> list[str]:
    """Tests that may notice a mutant: those that run its lines, or where only an import does, lines with its names.

    A third of the time goes to those that run lines close by which others do not, a third to the fastest, a third to
    all files of tests in turn. Where nothing runs the line, it is for tests that run anything in its file: a process
    of their own may.
    """
    lines = [(mutant.file, line) for line in range(mutant.line, mutant.last_line + 1)]
    if mutant.names:
        lines += _lines_with(mutant.names)
    tests = {test for file, line in lines for test in found.of_line(file, line)} or found.of_file(mutant.file)
    fastest = sorted(tests, key=lambda test: (found.seconds[test], test))
    taken: list[str] = []
    for order in (_on_other_ways(mutant, fastest, found), fastest, None):
        left = [test for test in (_in_turn(fastest) if order is None else order) if test not in set(taken)]
        taken += _worth(left, SECONDS_OF_TESTS / 3, found)
    return taken


def _on_other_ways(mutant: Mutant, fastest: list[str], found: Reach) -> list[str]:
    """The fastest of each line close by that not all of them run: what only they run hangs on the mutant's line."""
    ways = []
    for line in range(mutant.line - CLOSE_BY, mutant.last_line + CLOSE_BY + 1):
        there = found.of_line(mutant.file, line)
        on_it = [test for test in fastest if test in there]
        ways += on_it[:WITNESSES] if len(on_it) < len(fastest) else []
    return list(dict.fromkeys(ways))


def _in_turn(tests: list[str]) -> list[str]:
    """The first of each file, then the second of each."""
    ranks: Counter[str] = Counter()
    ranked = []
    for test in tests:
        file = test.split("::")[0]
        ranked.append((ranks[file], test))
        ranks[file] += 1
    return [test for _, test in sorted(ranked)]


def _worth(tests: list[str], seconds: float, found: Reach) -> list[str]:
    taken: list[str] = []
    for test in tests:
        seconds -= found.seconds[test]
        if taken and seconds < 0:
            break
        taken.append(test)
    return taken


def _lines_with(names: tuple[str, ...]) -> Iterator[tuple[str, int]]:
    word = re.compile(r"\b(?:" + "|".join(map(re.escape, names)) + r")\b")
    for file in (ROOT / "preflight").rglob("*.py"):
        for number, line in enumerate(file.read_text().splitlines(), 1):
            if word.search(line):
                yield str(file.relative_to(ROOT)), number


def tried(mutant: Mutant, tree: Tree, found: Reach) -> Verdict:
    """What becomes of it. A test that fails without the mutant as well is no witness, and is not asked again."""
    started = time.monotonic()
    outcome = "not reached"
    tests = chosen(mutant, found)
    while tests:
        with tree.changed(mutant):
            run = tree.run(tests, sum(found.seconds[test] for test in tests))
        outcome = "survived" if run.passed else f"caught by {run.failed or 'all'}"
        if not run.failed or tree.run([run.failed], found.seconds[run.failed]).passed:
            break
        tests.remove(run.failed)
    return Verdict(mutant, outcome, len(tests), time.monotonic() - started)


def verdicts(mutants: list[Mutant], found: Reach, workers: int) -> Iterator[Verdict]:
    """Each mutant's, in the order drawn; every worker has a copy of the tree."""
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder, ThreadPoolExecutor(workers) as pool:
        trees: SimpleQueue[Tree] = SimpleQueue()
        for number in range(workers):
            trees.put(Tree(Path(folder) / str(number)))

        def verdict(mutant: Mutant) -> Verdict:
            tree = trees.get()
            try:
                return tried(mutant, tree, found)
            finally:
                trees.put(tree)

        yield from pool.map(verdict, mutants)


def options(about: str | None) -> argparse.ArgumentParser:
    """What both runs are asked: where, how many, by how many at once."""
    parser = argparse.ArgumentParser(description=about, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="files or folders of preflight/; all")
    parser.add_argument("--mutants", type=int, default=150, help="how many")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--survivors", type=Path, default=Path("survivors.txt"), help="where to write them")
    return parser


def drawn_for(given: argparse.Namespace) -> list[Mutant]:
    """The slips that the options ask for."""
    named = [path.resolve() for path in given.files] or [ROOT / "preflight"]
    files = [file for path in named for file in (path.rglob("*.py") if path.is_dir() else [path])]
    return list(drawn(files, given.mutants, given.seed))


def told(found: Iterable[Verdict], of: int, survivors: Path) -> None:
    """A line for each on standard output as it comes; those that survive go to a file as well."""
    caught = 0
    with survivors.open("w") as out:
        for number, verdict in enumerate(found, 1):
            caught += verdict.caught
            if not verdict.caught:
                out.write(f"{verdict}\n\n")
                out.flush()
            sys.stdout.write(f"{number} of {of}, {caught} caught; {verdict}\n")
            sys.stdout.flush()


def main() -> None:
    parser = options(__doc__)
    parser.add_argument("--tests", nargs="*", type=Path, default=sorted((ROOT / "tests").glob("test_*.py")))
    given = parser.parse_args()
    found = reach([path.resolve() for path in given.tests], given.workers)
    mutants = drawn_for(given)
    told(verdicts(mutants, found, given.workers), len(mutants), given.survivors)


if __name__ == "__main__":
    main()

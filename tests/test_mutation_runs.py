"""The slips that a mutation run makes, the tests that it asks, and what it takes for caught."""

from __future__ import annotations

import contextlib
from random import Random
from typing import Any

import pytest

from tests.mutation.mutants import Mutant, Slips
from tests.mutation.reach import ROOT, Reach
from tests.mutation.run import SECONDS_OF_TESTS, chosen, tried
from tests.mutation.trees import Run

SOURCE = '''"""What 1 + 1 is."""
from __future__ import annotations
from typing import TYPE_CHECKING

if TYPE_CHECKING or 1 > 2:
    from x import y

LIMIT: Literal[3] = 5


def f(a: int | None, b: list[3]) -> Literal[7]:
    """Not 1 < 2."""
    if a < b and not a:
        return max(a, 2.5)
    raise ValueError(f"{a + 1} {b}", "text", 1e-9)
'''


def changes(source: str) -> set[tuple[str, str]]:
    """Every slip, as the line that it leaves and what becomes of it."""
    slips, found = Slips("f.py", source), set()
    for place in range(len(slips.places)):
        for seed in range(20):
            mutant = slips.draw(place, Random(seed))
            if mutant is not None:
                found.add((mutant.before, mutant.after))
    return found


def test_slips_of_all_sorts_and_none_that_changes_nothing():
    assert changes(SOURCE) == {
        ("5", "6"), ("5", "4"),
        ("a < b and not a", "not (a < b and (not a))"), ("a < b and not a", "False"),
        ("a < b and not a", "a < b or not a"), ("a < b and not a", "a < b"), ("a < b and not a", "not a"),
        ("a < b", "a <= b"), ("a < b", "a > b"), ("not a", "a"),
        ("return max(a, 2.5)", "return None"), ("max(a, 2.5)", "min(a, 2.5)"), ("2.5", "3.75"), ("2.5", "1.25"),
        ('raise ValueError(f"{a + 1} {b}", "text", 1e-9)', "pass"),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("line", "slips"),
    [
        ("x = a[1:n]", {("1", "2"), ("1", "0"), ("1:n", ":n"), ("1:n", "1:")}),
        ("x = 'ä' + b", {("'ä' + b", "'ä' - b")}),
        ("x.y = a.strip()", {("x.y = a.strip()", "pass"), ("a.strip()", "a")}),
        ("x = [n for n in a if n]", {("[n for n in a if n]", "[n for n in a]")}),
        ("x = a if b else c", {("a if b else c", "a"), ("a if b else c", "c")}),
        ("g(a, b)", {("g(a, b)", "pass"), ("g(a, b)", "g(b, a)")}),
        ("x = -a is None", {("-a is None", "-a is not None"), ("-a", "a")}),
        ("x = True", {("True", "False")}),
        ("x = isinstance(a, int | float)", {("isinstance(a, int | float)", "isinstance(int | float, a)")}),
    ],
)
def test_slips_in_a_line(line, slips):
    assert changes(line) == slips


def test_a_slip_is_made_in_its_place():
    mutant = Slips("f.py", "x = 'ä' * (3 +\n    2)\ny = 3\n").draw(0, Random(1))
    assert mutant is not None
    assert (mutant.line, mutant.last_line, mutant.source) == (1, 2, "x = ('ä' / (3 + 2))\ny = 3\n")


def mutant(line: int = 2, *names: str) -> Mutant:
    return Mutant("preflight/f.py", line, line, "a", "b", "", names)


def reached(seconds: dict[str, float], line: int) -> Reach:
    found = Reach()
    for test, each in seconds.items():
        found.enter(test, each)
    found.runs([*seconds, "t.py::that_failed"], "preflight/f.py", line)
    return found


def test_the_fastest_tests_of_a_line_are_asked_first():
    found = reached({"t.py::slow": 2.0, "t.py::fast": 0.1, "t.py::middling": 1.0}, 2)
    assert chosen(mutant(), found) == ["t.py::fast", "t.py::middling", "t.py::slow"]


def test_what_takes_long_is_asked_of_each_file_in_turn():
    third = SECONDS_OF_TESTS / 3
    seconds = {"a.py::1": third * 0.6, "a.py::2": third * 0.61, "a.py::3": third * 0.62, "b.py::1": third * 0.63}
    assert chosen(mutant(), reached(seconds, 2)) == ["a.py::1", "b.py::1"]
    assert chosen(mutant(), reached(seconds | {"b.py::1": third * 0.3}, 2)) == ["b.py::1", "a.py::1", "a.py::2"]
    assert chosen(mutant(), reached({"a.py::slow": 10 * third}, 2)) == ["a.py::slow"]


def test_tests_of_a_branch_are_asked_before_faster_ones_that_pass_it_by():
    found = reached({"t.py::fast": 0.1, "t.py::slow": 50.0, "t.py::slower": 60.0}, 2)
    found.runs(["t.py::slower"], "preflight/f.py", 3)
    assert chosen(mutant(), found)[0] == "t.py::slower"
    assert chosen(mutant(2), reached({"t.py::fast": 0.1}, 2)) == ["t.py::fast"]


def test_of_a_constant_tests_are_asked_that_run_lines_with_its_name():
    found = Reach()
    for test in ("t.py::elsewhere", "t.py::of_a_user"):
        found.enter(test, 1.0)
    file = next((ROOT / "preflight").rglob("quantities.py"))
    text = file.read_text().splitlines()
    used = next(n for n, line in enumerate(text, 1) if "THICKEST_BOARD_MM" in line and line.startswith("    "))
    found.runs(["t.py::of_a_user"], str(file.relative_to(ROOT)), used)
    found.runs(["t.py::elsewhere"], "preflight/f.py", 9)
    assert chosen(mutant(2, "THICKEST_BOARD_MM"), found) == ["t.py::of_a_user"]


def test_where_no_test_runs_the_line_those_of_its_file_are_asked():
    assert chosen(mutant(7), reached({"t.py::one": 1.0}, 2)) == ["t.py::one"]
    assert chosen(mutant(7), Reach()) == []


class FakeTree:
    """A tree in which some tests fail with the mutant, and some always."""

    def __init__(self, notice: set[str], broken: set[str]) -> None:
        self.notice, self.broken, self.there = notice, broken, False

    @contextlib.contextmanager
    def changed(self, mutant: Mutant) -> Any:
        self.there = True
        yield
        self.there = False

    def run(self, tests: list[str], seconds: float) -> Run:
        failing = [test for test in tests if test in self.broken or (self.there and test in self.notice)]
        return Run(not failing, failing[0] if failing else "")


@pytest.mark.parametrize(
    ("notice", "broken", "outcome"),
    [
        (set(), set(), "survived"),
        ({"t.py::two"}, set(), "caught by t.py::two"),
        (set(), {"t.py::one"}, "survived"),
        ({"t.py::two"}, {"t.py::one"}, "caught by t.py::two"),
    ],
    ids=["nobody notices", "one notices", "one fails anyway", "one fails anyway, another notices"],
)
def test_a_test_that_fails_without_the_mutant_is_no_witness(notice, broken, outcome):
    found = reached({"t.py::one": 1.0, "t.py::two": 2.0}, 2)
    tree: Any = FakeTree(notice, broken)
    assert tried(mutant(), tree, found).outcome == outcome


def test_what_no_test_reaches_is_told():
    tree: Any = FakeTree(set(), set())
    assert tried(mutant(), tree, Reach()).outcome == "not reached"

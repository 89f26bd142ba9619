"""Calculator functions operator by operator (ISO 32000-2, 7.10.5 and annex B), and their bounds."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.artwork.pdf.colour import calculator_functions
from preflight.artwork.pdf.colour.calculator_functions import calculator
from preflight.errors import CalculatorFault


def run(code: str, *row: float, outputs: int = 1) -> list[float]:
    """What a program leaves of one row of inputs."""
    found = calculator(code.encode())(np.array([row], float), outputs)
    return [round(float(value), 6) for value in found[0]]


@pytest.mark.parametrize(
    ("code", "value"),
    [
        ("-3.5 abs", 3.5), ("3.5 neg", -3.5), ("3.2 ceiling", 4), ("-3.2 ceiling", -3), ("3.8 floor", 3),
        ("-3.2 floor", -4), ("2.4 round", 2), ("2.5 round", 3), ("-6.5 round", -6), ("3.7 truncate", 3),
        ("-3.7 truncate", -3), ("-47.8 cvi", -47), ("5 cvr", 5), ("6.25 sqrt", 2.5), ("30 sin", 0.5), ("60 cos", 0.5),
        ("10 ln", 2.302585), ("1000 log", 3), ("5 not", -6), ("3 4 add", 7), ("3 4 sub", -1), ("3 4 mul", 12),
        ("3 4 div", 0.75), ("7 2 idiv", 3), ("-7 2 idiv", -3), ("5 3 mod", 2), ("-5 3 mod", -2), ("5 -3 mod", 2),
        ("9 0.5 exp", 3), ("-9 -1 exp", -0.111111), ("0 1 atan", 0), ("1 0 atan", 90), ("-100 0 atan", 270),
        ("4 4 atan", 45), ("1 -1 atan", 135), ("12 10 and", 8), ("12 10 or", 14), ("12 10 xor", 6),
        ("7 3 bitshift", 56), ("142 -3 bitshift", 17),
    ],
)  # fmt: skip
def test_arithmetic(code, value):
    assert run(f"{{ pop {code} }}", 9) == [value]


TRUTHS = {"eq": (0, 1, 0), "ne": (1, 0, 1), "gt": (0, 0, 1), "ge": (0, 1, 1), "lt": (1, 0, 0), "le": (1, 1, 0)}


@pytest.mark.parametrize(("word", "truths"), TRUTHS.items())
def test_comparisons(word, truths):
    found = [run(f"{{ pop {first} 5 {word} {{ 1 }} {{ 0 }} ifelse }}", 9)[0] for first in (4, 5, 6)]
    assert tuple(found) == truths


@pytest.mark.parametrize(
    ("code", "truth"),
    [
        ("true false and", 0), ("true true and", 1), ("false true or", 1), ("false false or", 0), ("true true xor", 0),
        ("true false xor", 1), ("true not", 0), ("false not", 1), ("true 6 and", 0), ("true 7 and", 1),
    ],
)  # fmt: skip
def test_truths(code, truth):
    assert run(f"{{ pop {code} {{ 1 }} {{ 0 }} ifelse }}", 9) == [truth]


@pytest.mark.parametrize(
    ("code", "left"),
    [
        ("pop", [1, 2, 3]),
        ("dup", [1, 2, 3, 4, 4]),
        ("exch", [1, 2, 4, 3]),
        ("2 copy", [1, 2, 3, 4, 3, 4]),
        ("0 copy", [1, 2, 3, 4]),
        ("4 copy", [1, 2, 3, 4, 1, 2, 3, 4]),
        ("0 index", [1, 2, 3, 4, 4]),
        ("2 index", [1, 2, 3, 4, 2]),
        ("3 index", [1, 2, 3, 4, 1]),
        ("3 -1 roll", [1, 3, 4, 2]),
        ("3 1 roll", [1, 4, 2, 3]),
        ("3 0 roll", [1, 2, 3, 4]),
        ("4 1 roll", [4, 1, 2, 3]),
        ("4 -1 roll", [2, 3, 4, 1]),
        ("3 4 roll", [1, 4, 2, 3]),
        ("2 -3 roll", [1, 2, 4, 3]),
        ("1 5 roll", [1, 2, 3, 4]),
        ("0 5 roll", [1, 2, 3, 4]),
    ],
)
def test_what_moves_things_on_the_stack(code, left):
    assert run(f"{{ {code} }}", 1, 2, 3, 4, outputs=len(left)) == left


@pytest.mark.parametrize(
    "code",
    [
        "5 copy", "-1 copy", "4 index", "-1 index", "5 1 roll", "-1 1 roll", "pop pop pop pop pop", "add add add add",
        "roll pop pop roll roll", "if", "ifelse", "true if", "true { 1 } ifelse", "1 { 2 } 3 ifelse",
        "nothing", "1e9 copy",
    ],
)  # fmt: skip
def test_what_cannot_be_done(code):
    with pytest.raises(CalculatorFault):
        run(f"{{ {code} }}", 1, 2, 3, 4)


@pytest.mark.parametrize(
    ("code", "reads"),
    [
        ("{ }", True), ("{{ }}", True), (" { % }\n } % }", True), ("", False), ("{ } { }", False), ("1", False),
        ("{ } 1", False), ("{ { }", False), ("{ } }", False), ("}", False), ("{ 1 % } \r}", True),
        ("{" * 32 + "}" * 32, True), ("{" * 33 + "}" * 33, False),
    ],
)  # fmt: skip
def test_a_program_stands_in_braces_thirty_two_deep_at_most(code, reads):
    if reads:
        assert callable(calculator(code.encode()))
    else:
        with pytest.raises(CalculatorFault):
            calculator(code.encode())


def test_the_last_values_on_the_stack_are_the_outputs_in_order():
    assert run("{ 5 6 7 }", 1, outputs=2) == [6, 7]
    assert run("{ 5 6 7 }", 1, outputs=4) == [1, 5, 6, 7]
    with pytest.raises(CalculatorFault):
        run("{ 5 6 7 }", 1, outputs=5)


def test_branches_are_taken_row_by_row():
    rows = np.array([[1.0, 10.0], [6.0, 20.0], [3.0, 30.0]])
    code = b"{ exch dup 4 gt { add 1 } { sub 2 } ifelse }"
    assert calculator(code)(rows, 2).tolist() == [[9, 2], [26, 1], [27, 2]]
    only = b"{ exch dup 4 gt { pop 7 } if }"
    assert calculator(only)(rows, 2).tolist() == [[10, 1], [20, 7], [30, 3]]
    every = b"{ exch dup 0 gt { pop 7 } { nothing } ifelse }"
    assert calculator(every)(rows, 2).tolist() == [[10, 7], [20, 7], [30, 7]]
    none = b"{ exch dup 9 gt { nothing } { pop 8 } ifelse }"
    assert calculator(none)(rows, 2).tolist() == [[10, 8], [20, 8], [30, 8]]
    mixed = b"{ pop dup 4 gt { true } { 0.5 } ifelse }"
    assert calculator(mixed)(rows, 1).tolist() == [[0.5], [1], [0.5]]
    with pytest.raises(CalculatorFault):
        calculator(b"{ pop dup 4 gt { 1 } { } ifelse }")(rows, 1)


def test_a_count_has_to_be_the_same_in_all_rows():
    rows = np.array([[1.0, 1.0], [2.0, 1.0]])
    with pytest.raises(CalculatorFault):
        calculator(b"{ exch copy }")(rows, 1)
    assert calculator(b"{ copy }")(rows, 2).tolist() == [[1, 1], [2, 2]]


@pytest.mark.parametrize(
    ("bound", "exact"), [("_MOST_STEPS", 5), ("_MOST_WORK", 10), ("_MOST_STACKED", 3)]
)  # fmt: skip
def test_bounds_of_steps_of_work_and_of_the_stack(bound, exact, monkeypatch):
    """Five steps over two rows, and three values on the stack at the last of them."""
    program, rows = calculator(b"{ 1 2 pop 2 add }"), np.array([[5.0], [6.0]])
    monkeypatch.setattr(calculator_functions, bound, exact)
    assert program(rows, 1).tolist() == [[3], [3]]
    monkeypatch.setattr(calculator_functions, bound, exact - 1)
    with pytest.raises(CalculatorFault):
        program(rows, 1)

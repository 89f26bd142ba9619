"""PostScript calculator functions (ISO 32000-2, 7.10.5), evaluated for many inputs at once.

A place on the stack holds one number, or one truth value, for each row of the inputs.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from preflight.errors import CalculatorFault

Column = NDArray[Any]
Stack = list[Column]
Program = list[Any]
"""Numbers, names of operators, and programs in braces."""

_TOKEN: Final = re.compile(rb"%[^\r\n]*|[{}]|[^\s{}%]+")
_MOST_STEPS: Final = 100_000
_MOST_WORK: Final = 1_000_000_000
"""Steps times rows."""
_DEEPEST: Final = 32
_MOST_STACKED: Final = 1000
_ONE: Final[dict[str, Callable[[Column], Column]]] = {
    "abs": np.abs,
    "neg": np.negative,
    "ceiling": np.ceil,
    "floor": np.floor,
    "round": lambda a: np.floor(a + 0.5),
    "truncate": np.trunc,
    "cvi": np.trunc,
    "cvr": lambda a: a,
    "sqrt": np.sqrt,
    "sin": lambda a: np.sin(np.radians(a)),
    "cos": lambda a: np.cos(np.radians(a)),
    "ln": np.log,
    "log": np.log10,
    "not": lambda a: ~a if a.dtype == bool else ~a.astype(np.int64),
}
_TWO: Final[dict[str, Callable[[Column, Column], Column]]] = {
    "add": lambda a, b: a + b,
    "sub": lambda a, b: a - b,
    "mul": lambda a, b: a * b,
    "div": lambda a, b: a / b,
    "idiv": lambda a, b: np.trunc(a / b),
    "mod": np.fmod,
    "exp": lambda a, b: a**b,
    "atan": lambda a, b: np.degrees(np.arctan2(a, b)) % 360,
    "eq": lambda a, b: a == b,
    "ne": lambda a, b: a != b,
    "gt": lambda a, b: a > b,
    "ge": lambda a, b: a >= b,
    "lt": lambda a, b: a < b,
    "le": lambda a, b: a <= b,
    "and": lambda a, b: _bitwise(np.bitwise_and, a, b),
    "or": lambda a, b: _bitwise(np.bitwise_or, a, b),
    "xor": lambda a, b: _bitwise(np.bitwise_xor, a, b),
    "bitshift": lambda a, b: np.trunc(a * 2.0 ** np.trunc(b)),
}


def calculator(code: bytes) -> Callable[[NDArray[np.float64], int], NDArray[np.float64]]:
    """A program, to be run on (k, inputs) for a number of outputs, (k, outputs).

    Raises:
        CalculatorFault: it cannot be read; what is handed out raises it where the stack runs dry.
    """
    tokens = [token for token in _TOKEN.findall(code) if not token.startswith(b"%")]
    program, after = _braces(tokens, 0, 0)
    if len(program) != 1 or not isinstance(program[0], list) or after != len(tokens):
        raise CalculatorFault("its braces do not match")

    def run(rows: NDArray[np.float64], outputs: int) -> NDArray[np.float64]:
        machine = _Machine()
        with np.errstate(all="ignore"):
            stack = machine.run(program[0], [column.astype(np.float64) for column in rows.T], len(rows))
        if len(stack) < outputs:
            raise CalculatorFault("it leaves too little on the stack")
        return np.column_stack([column.astype(np.float64) for column in stack[len(stack) - outputs :]])

    return run


def _braces(tokens: list[bytes], at: int, depth: int) -> tuple[Program, int]:
    found: Program = []
    if depth > _DEEPEST:
        raise CalculatorFault("its braces are nested too deep")
    while at < len(tokens):
        token = tokens[at]
        at += 1
        if token == b"{":
            inner, at = _braces(tokens, at, depth + 1)
            found.append(inner)
        elif token == b"}":
            if not depth:
                raise CalculatorFault("its braces do not match")
            return found, at
        else:
            found.append(_word(token))
    if depth:
        raise CalculatorFault("its braces do not match")
    return found, at


def _word(token: bytes) -> float | str:
    try:
        return float(token)
    except ValueError:
        return token.decode("latin-1")


class _Machine:
    def __init__(self) -> None:
        self.steps = self.work = 0

    def run(self, program: Program, stack: Stack, rows: int) -> Stack:
        """The stack after a program; ``rows`` is the length of a column."""
        for at, word in enumerate(program):
            self.steps += 1
            self.work += rows
            if self.steps > _MOST_STEPS or self.work > _MOST_WORK or len(stack) > _MOST_STACKED:
                raise CalculatorFault("it takes too long, or too much room")
            if isinstance(word, float):
                stack.append(np.full(rows, word))
            elif isinstance(word, str):
                stack = self._operator(word, program[max(at - 2, 0) : at], stack, rows)
        return stack

    def _operator(self, word: str, before: Program, stack: Stack, rows: int) -> Stack:
        if word in ("if", "ifelse"):
            wanted = 1 if word == "if" else 2
            branches = before[-wanted:]
            if len(branches) < wanted or not all(isinstance(branch, list) for branch in branches):
                raise CalculatorFault(f"{word} without what it shall do")
            return self._choice(_popped(stack), branches[0], branches[1] if wanted == 2 else [], stack)
        if word in _TWO:
            second, first = _popped(stack), _popped(stack)
            stack.append(_TWO[word](first, second))
        elif word in _ONE:
            stack.append(_ONE[word](_popped(stack)))
        elif word in ("true", "false"):
            stack.append(np.full(rows, word == "true"))
        else:
            _moved(word, stack)
        return stack

    def _choice(self, condition: Column, then: Program, otherwise: Program, stack: Stack) -> Stack:
        chosen = condition.astype(bool)
        if chosen.all():
            return self.run(then, stack, len(chosen))
        if not chosen.any():
            return self.run(otherwise, stack, len(chosen))
        one = self.run(then, [column[chosen] for column in stack], int(chosen.sum()))
        other = self.run(otherwise, [column[~chosen] for column in stack], int((~chosen).sum()))
        if len(one) != len(other):
            raise CalculatorFault("its branches leave different numbers on the stack")
        merged = []
        for first, second in zip(one, other, strict=True):
            column = np.empty(len(chosen), np.result_type(first, second))
            column[chosen], column[~chosen] = first, second
            merged.append(column)
        return merged


def _popped(stack: Stack) -> Column:
    if not stack:
        raise CalculatorFault("its stack underflows")
    return stack.pop()


def _count(stack: Stack) -> int:
    column = _popped(stack)
    if not len(column) or (column != column[0]).any() or not abs(float(column[0])) <= _MOST_STACKED:
        raise CalculatorFault("it moves as many things as a computed number says")
    return int(column[0])


def _moved(word: str, stack: Stack) -> None:
    """Operators that move things on the stack."""
    if word == "pop":
        _popped(stack)
    elif word == "dup":
        stack.extend([_popped(stack)] * 2)
    elif word == "exch":
        second, first = _popped(stack), _popped(stack)
        stack.extend([second, first])
    elif word == "copy":
        count = _count(stack)
        _held(stack, count)
        stack.extend(stack[len(stack) - count :])
    elif word == "index":
        count = _count(stack)
        _held(stack, count)
        _held(stack, count + 1)
        stack.append(stack[-1 - count])
    elif word == "roll":
        by, count = _count(stack), _count(stack)
        _held(stack, count)
        if count:
            top = stack[len(stack) - count :]
            by %= count
            stack[len(stack) - count :] = top[count - by :] + top[: count - by]
    else:
        raise CalculatorFault(f"there is no operator {word[:20]}")


def _held(stack: Stack, count: int) -> None:
    if not 0 <= count <= len(stack):
        raise CalculatorFault("its stack underflows")


def _bitwise(operator: Callable[[Column, Column], Column], first: Column, second: Column) -> Column:
    if first.dtype == bool and second.dtype == bool:
        return operator(first, second)
    return operator(first.astype(np.int64), second.astype(np.int64))

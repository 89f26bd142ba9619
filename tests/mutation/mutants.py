"""Small slips in a source file: what a tired hand might write instead. Each is one node of the syntax tree.

Not drawn are slips that cannot change anything: in docstrings, in type hints, under ``TYPE_CHECKING``, in texts that
only people read, in tolerances for rounding, and those of which the compiler makes the same code.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random
from types import CodeType
from typing import TypeVar

COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.Gt),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.Lt),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
}
OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.BitXor: ast.BitOr,
    ast.LShift: ast.RShift,
    ast.RShift: ast.LShift,
}
TWINS = {
    "min": "max",
    "max": "min",
    "any": "all",
    "all": "any",
    "minimum": "maximum",
    "maximum": "minimum",
    "floor": "ceil",
    "ceil": "floor",
    "union": "intersection",
    "intersection": "union",
}


TOLERANCE = 1e-5
"""Floats below are allowances for rounding: half of one allows for it as well."""


_Node = TypeVar("_Node", bound=ast.AST)


@dataclass(frozen=True)
class Mutant:
    """One slip: the code as it is and as it becomes, and the whole file with it."""

    file: str
    line: int
    last_line: int
    before: str
    after: str
    source: str
    names: tuple[str, ...] = ()
    """Of a statement outside all functions, which only imports run: what it gives a name to."""


class Slips:
    """Where a file can be written otherwise, and how."""

    def __init__(self, file: str, source: str) -> None:
        self.file, self.lines = file, source.splitlines(keepends=True)
        tree = ast.parse(source)
        self.code = compile(tree, file, "exec")
        self.places = [(node, names) for node, names in _nodes(tree, ()) if next(_slips(node), None) is not None]

    def draw(self, place: int, random: Random) -> Mutant | None:
        """One of the slips at a place; None if the compiler makes the same of it, or nothing."""
        node, names = self.places[place]
        slip = random.choice(list(_slips(node)))
        if isinstance(node, ast.If | ast.While) and isinstance(slip, ast.If | ast.While):
            node, slip = node.test, slip.test
        text = _replaced(self.lines, node, slip)
        if not _compiles_to_another(text, self.file, self.code):
            return None
        last = node.end_lineno or node.lineno
        before = ast.get_source_segment("".join(self.lines), node) or ""
        return Mutant(self.file, node.lineno, last, before, ast.unparse(slip), text, names)


def _nodes(node: ast.AST, names: tuple[str, ...]) -> Iterator[tuple[ast.expr | ast.stmt, tuple[str, ...]]]:
    """Every statement and expression that runs, each with the names that the outermost statement about it binds."""
    for field, value in ast.iter_fields(node):
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST) or field in ("annotation", "returns", "type_params", "ctx"):
                continue
            if isinstance(child, ast.JoinedStr) or _for_people(child) or _is_type(node, child):
                continue
            inner = _bound(child) or names if isinstance(node, ast.Module | ast.ClassDef) else names
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda) and field == "body":
                inner = ()
            if isinstance(child, ast.expr | ast.stmt) and not isinstance(child, ast.FormattedValue):
                yield child, inner
            yield from _nodes(child, inner)


def _bound(statement: ast.AST) -> tuple[str, ...]:
    if isinstance(statement, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        return (statement.name,)
    targets = statement.targets if isinstance(statement, ast.Assign) else [getattr(statement, "target", None)]
    return tuple(name.id for target in targets if target for name in ast.walk(target) if isinstance(name, ast.Name))


def _for_people(node: ast.AST) -> bool:
    """Docstrings, imports, what stands under ``TYPE_CHECKING``, and texts."""
    if isinstance(node, ast.If):
        return "TYPE_CHECKING" in ast.unparse(node.test)
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return True
    return isinstance(node, ast.Import | ast.ImportFrom) or (
        isinstance(node, ast.Constant) and isinstance(node.value, str)
    )


def _is_type(call: ast.AST, child: ast.AST) -> bool:
    """``int | float`` in a question for the type: another operator breaks it outright."""
    return isinstance(call, ast.Call) and ast.unparse(call.func) == "isinstance" and child is call.args[-1]


def _slips(node: ast.expr | ast.stmt) -> Iterator[ast.expr | ast.stmt]:
    yield from _slips_of_operator(node)
    yield from _slips_of_value(node)
    yield from _slips_of_statement(node)


def _slips_of_operator(node: ast.expr | ast.stmt) -> Iterator[ast.expr | ast.stmt]:
    match node:
        case ast.Compare(ops=[*ops]):
            for index, old in enumerate(ops):
                for new in COMPARISONS[type(old)]:
                    yield _with(node, ops=[*ops[:index], new(), *ops[index + 1 :]])
        case ast.BoolOp(op=op):
            yield _with(node, op=ast.Or() if isinstance(op, ast.And) else ast.And())
            yield from node.values[:2]
        case ast.BinOp(op=op) | ast.AugAssign(op=op) if type(op) in OPERATORS:
            yield _with(node, op=OPERATORS[type(op)]())
        case ast.UnaryOp(op=ast.Not() | ast.USub() | ast.Invert()):
            yield node.operand


def _slips_of_value(node: ast.expr | ast.stmt) -> Iterator[ast.expr]:
    match node:
        case ast.Constant(value=bool(value)):
            yield ast.Constant(not value)
        case ast.Constant(value=int(value)):
            yield from (ast.Constant(value + 1), ast.Constant(value - 1))
        case ast.Constant(value=float(value)) if abs(value) > TOLERANCE:
            yield from (ast.Constant(value * 1.5), ast.Constant(value / 2))
        case ast.IfExp():
            yield from (node.body, node.orelse)
        case ast.Slice():
            yield from (_with(node, **{part: None}) for part in ("lower", "upper", "step") if getattr(node, part))
        case ast.Call():
            yield from _slips_of_call(node)
        case ast.ListComp() | ast.SetComp() | ast.GeneratorExp() | ast.DictComp():
            for index, part in enumerate(node.generators):
                if part.ifs:
                    changed = ast.comprehension(part.target, part.iter, part.ifs[1:], part.is_async)
                    yield _with(node, generators=[*node.generators[:index], changed, *node.generators[index + 1 :]])


def _slips_of_call(node: ast.Call) -> Iterator[ast.expr]:
    name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
    if name in TWINS and isinstance(node.func, ast.Attribute):
        yield _with(node, func=_with(node.func, attr=TWINS[name]))
    elif name in TWINS:
        yield _with(node, func=ast.Name(TWINS[name]))
    if len(node.args) == 2 and name not in TWINS and not any(isinstance(part, ast.Starred) for part in node.args):
        yield _with(node, args=node.args[::-1])
    if isinstance(node.func, ast.Attribute) and not node.args and not node.keywords:
        yield node.func.value  # .strip(), .copy(), .lower() forgotten


def _slips_of_statement(node: ast.expr | ast.stmt) -> Iterator[ast.stmt]:
    match node:
        case ast.Return(value=ast.expr() as value) if not (isinstance(value, ast.Constant) and value.value is None):
            yield ast.Return(ast.Constant(None))
        case ast.If() | ast.While():
            yield from (_with(node, test=ast.UnaryOp(ast.Not(), node.test)), _with(node, test=ast.Constant(False)))
        case ast.Expr() | ast.AugAssign() | ast.Raise() | ast.Assert() | ast.Delete():
            yield ast.Pass()
        case ast.Assign(targets=[ast.Attribute() | ast.Subscript()]):
            yield ast.Pass()
        case ast.Continue():
            yield ast.Break()
        case ast.Break():
            yield from (ast.Continue(), ast.Pass())


def _with(node: _Node, **fields: object) -> _Node:
    changed = copy.copy(node)
    for field, value in fields.items():
        setattr(changed, field, value)
    return changed


def _replaced(lines: list[str], node: ast.expr | ast.stmt, slip: ast.expr | ast.stmt) -> str:
    """The file with this node written otherwise."""
    assert node.end_lineno is not None
    assert node.end_col_offset is not None
    before = [*lines[: node.lineno - 1], _cut(lines[node.lineno - 1], 0, node.col_offset)]
    after = [_cut(lines[node.end_lineno - 1], node.end_col_offset, None), *lines[node.end_lineno :]]
    written = ast.unparse(slip)
    if isinstance(slip, ast.BinOp | ast.BoolOp | ast.Compare | ast.IfExp | ast.UnaryOp | ast.Lambda):
        written = f"({written})"
    return "".join([*before, written, *after])


def _cut(line: str, start: int, stop: int | None) -> str:
    return line.encode()[start:stop].decode()  # the syntax tree counts bytes


def _compiles_to_another(text: str, file: str, code: CodeType) -> bool:
    try:
        return not _same(compile(text, file, "exec"), code)
    except (SyntaxError, ValueError):
        return False


def _same(one: CodeType, other: CodeType) -> bool:
    """Whether both do the same, line numbers left aside."""
    if (one.co_code, one.co_names, one.co_varnames, one.co_freevars) != (
        other.co_code, other.co_names, other.co_varnames, other.co_freevars,
    ):  # fmt: skip
        return False
    pairs = list(zip(one.co_consts, other.co_consts, strict=False))
    return len(one.co_consts) == len(other.co_consts) and all(
        _same(a, b) if isinstance(a, CodeType) and isinstance(b, CodeType) else repr(a) == repr(b) for a, b in pairs
    )

"""A YAML file as plain data with lines, and what a typed model has to say about it, fault by fault.

Nothing in here opens files; ``loading`` does.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, Any, TypeVar, get_args, get_origin

from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from preflight.errors import InputFault, NotUnderstood
from preflight.suggest import SLIP, likeness, nearest

KeyPath = tuple[str | int, ...]
Plain = Any
"""None, text, or a list or dict of these."""

_M = TypeVar("_M")


@dataclass
class Table:
    """A YAML file as plain data of text, with the line of every entry."""

    file: str
    data: Plain
    lines: dict[KeyPath, int] = field(default_factory=dict)
    faults: list[InputFault] = field(default_factory=list)
    """What was wrong on the way; ``load_yaml`` raises on any."""

    called: dict[int, str] = field(default_factory=dict)
    """Names of the entries of a list, for use in place of their numbers: ``bleed-short.warn``."""

    def key(self, path: KeyPath) -> str:
        """A path as it is shown: ``line[2].unit``, ``bleed-short.warn``."""
        name = self.called.get(path[0]) if path and isinstance(path[0], int) else None
        return key_text(path if name is None else (name, *path[1:]))

    def with_names(self, faults: list[InputFault]) -> list[InputFault]:
        """Faults that were found before the entries had names, with those in place of the numbers."""
        return [
            replace(fault, key=f"{self.called[int(number[1])]}{fault.key[number.end() :]}")
            if (number := re.match(r"\[(\d+)\]", fault.key)) and int(number[1]) in self.called
            else fault
            for fault in faults
        ]

    def line(self, path: KeyPath) -> int:
        """Line of an entry; of the nearest one around it where it is not in the file."""
        return self.lines.get(self.nearest(path), 1)

    def nearest(self, path: KeyPath) -> KeyPath:
        """The path as far as it is in the file."""
        while path and path not in self.lines:
            path = path[:-1]
        return path

    def fault(self, path: KeyPath, found: object, expected: str, suggestion: str = "") -> InputFault:
        """A fault at an entry, for whoever goes on to check the data."""
        return InputFault(self.file, self.line(path), self.key(path), described(found), expected, suggestion)


def build(
    model: type[_M], table: Table, context: Mapping[str, object] | None = None, at: KeyPath = ()
) -> tuple[_M | None, list[InputFault]]:
    """Make a model of the entry at a path of the table; None and its faults, in file order, where it is no such thing.

    The table's own faults are not among them.
    """
    data = table.data
    for part in at:
        data = data[part]
    try:
        return TypeAdapter(model).validate_python(data, context=dict(context or {})), []
    except ValidationError as error:
        faults = [_fault_of(model, table, detail, at) for detail in error.errors(include_url=False)]
        return None, sorted(faults, key=lambda fault: fault.line)


def _fault_of(model: Any, table: Table, detail: ErrorDetails, at: KeyPath) -> InputFault:
    """One complaint of pydantic's as a fault with its line, in the words of the trade."""
    inner: KeyPath = tuple(detail["loc"])
    if inner and inner[-1] == "[key]":
        inner = inner[:-1]
    is_field = inner and isinstance(model, type) and issubclass(model, BaseModel) and inner[0] in model.model_fields
    if is_field and detail["type"] != "extra_forbidden":  # a key that is spelt like a field's name in Python is unknown
        inner = (model.model_fields[str(inner[0])].alias or inner[0], *inner[1:])  # defaults come by Python's name
    kind, found, path = detail["type"], detail["input"], (*at, *inner)
    keys = keys_at(model, inner)
    if kind == "missing":
        line, key = table.line(path[:-1]), table.key(path)
        return InputFault(table.file, line, key, "nothing", f"the key {path[-1]}" + _with_keys(keys))
    if kind == "extra_forbidden":
        return unknown_key(table, path, keys_at(model, inner[:-1]), list(_deeper(model, inner[:-1])))
    path = path if found is None else table.nearest(path)
    error = detail.get("ctx", {}).get("error")
    if isinstance(error, NotUnderstood):
        if error.entry is not None and isinstance(found, list):
            path, found = (*path, error.entry), found[error.entry]
        return table.fault(path, found, error.expected, error.suggestion)
    if kind in ("model_type", "model_attributes_type", "dict_type", "mapping_type"):
        return table.fault(path, found, "keys with values" + _with_keys(keys), _as_keys(model, inner, found))
    if kind in ("tuple_type", "list_type"):
        return table.fault(path, found, "a list", f"[{found}]" if isinstance(found, str) else "")
    return table.fault(path, found, detail["msg"].lower())


def unknown_key(table: Table, path: KeyPath, known: list[str], deeper: Sequence[str] = ()) -> InputFault:
    """A key that nobody knows, with the nearest known one, here or further in (``board.caliper``)."""
    given, last = str(path[-1]), {key.rpartition(".")[2]: key for key in deeper}
    near = filter(None, (nearest(given, last, at_least=SLIP), nearest(given, known)))
    closest = max(near, key=lambda key: likeness(given, key), default="")
    meant = closest if closest in known else last.get(closest, "")
    expected = f"one of {', '.join(known)}" if known else "no key here"
    where = (table.file, table.line(path), table.key(path))
    return InputFault(*where, f"the unknown key {described(path[-1])}", expected, meant)


def _deeper(model: Any, path: KeyPath) -> Iterator[str]:
    """Keys one step further in, dotted."""
    for key in keys_at(model, path):
        yield from (f"{key}.{inner}" for inner in keys_at(model, (*path, key)))


def _as_keys(model: Any, path: KeyPath, found: object) -> str:
    """``{size: 980 x 690 mm}`` for a text that only one key at this place understands; empty for any other.

    Keys that take any text do not count.
    """
    inner = _model_at(model, path)
    if inner is None or not isinstance(found, str):
        return ""
    fitting = []
    for name, info in inner.model_fields.items():
        with suppress(ValidationError):
            field_type: Any = Annotated[info.annotation, *info.metadata] if info.metadata else info.annotation
            read: object = TypeAdapter(field_type).validate_python(found)
            fitting += [info.alias or name] * (not isinstance(read, str | Path | tuple))
    return f"{{{fitting[0]}: {found}}}" if len(fitting) == 1 else ""


def _with_keys(keys: list[str]) -> str:
    return f" ({', '.join(keys)})" if keys else ""


def keys_at(model: Any, path: KeyPath) -> list[str]:
    """Keys that a model knows at a place in the file; empty where any key or none may stand."""
    inner = _model_at(model, path)
    return [info.alias or name for name, info in inner.model_fields.items()] if inner is not None else []


def _model_at(model: Any, path: KeyPath) -> type[BaseModel] | None:
    """The model of what stands at a place in the file; None where that is no mapping with keys of its own."""
    origin = get_origin(model)
    if isinstance(model, type) and issubclass(model, BaseModel):
        fields = {info.alias or name: info for name, info in model.model_fields.items()}
        if not path:
            return model
        return _model_at(fields[str(path[0])].annotation, path[1:]) if path[0] in fields else None
    if origin is Annotated:
        return _model_at(get_args(model)[0], path)
    if origin in (tuple, list) and path:
        return _model_at(get_args(model)[0], path[1:])
    if origin is dict and path:
        return _model_at(get_args(model)[1], path[1:])
    if origin in (tuple, list, dict):
        return None
    return next((found for option in get_args(model) if (found := _model_at(option, path)) is not None), None)


def key_text(path: KeyPath) -> str:
    """``("line", 2, "unit")`` as ``line[2].unit``."""
    text = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in path)
    return text.removeprefix(".")


def described(value: object) -> str:
    """What was found, in a few words; text is quoted, shortened, and shows no control characters."""
    if value is None:
        return "nothing"
    if isinstance(value, Mapping):
        return "a mapping (" + ", ".join(str(key) for key in list(value)[:4]) + ")" if value else "an empty mapping"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    text = "".join(char if char.isprintable() else "?" for char in str(value))
    return f"'{text[:60]}…'" if len(text) > 61 else f"'{text}'"

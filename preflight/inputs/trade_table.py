"""Trade tables that are read into a model: kept until the file changes, a wrong one refused with file, line, key."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from preflight.errors import InvalidInput
from preflight.inputs.loading import load_yaml, state_of, table_file
from preflight.inputs.yaml_table import build

_M = TypeVar("_M")


def trade_table(name: str, model: type[_M]) -> Callable[[], _M]:
    """A function that hands out the table of the house rules, the shipped one where a plant's folder has none.

    It raises InvalidInput where the table is wrong.
    """
    kept: dict[Path, tuple[tuple[int, ...], _M]] = {}

    def load() -> _M:
        path = table_file(name)
        state = state_of(path)
        if path not in kept or kept[path][0] != state:
            found, faults = build(model, load_yaml(path))
            if found is None:
                raise InvalidInput(faults)
            kept[path] = state, found
        return kept[path][1]

    return load

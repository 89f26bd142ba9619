"""JSON Schemas for editors, made from the models of what people write.

A schema is looser than the loader: it knows keys, words and shapes, and leaves ``0,45 mm`` to the loader.
"""

from __future__ import annotations

from typing import Any, Final, cast

from pydantic import TypeAdapter

from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


def schema_of(model: Any, title: str) -> dict[str, Any]:
    """The schema of a model, or of a list of them, in plain data."""
    schema = cast("dict[str, Any]", _tidy(TypeAdapter(model).json_schema(by_alias=True)))
    return {"$schema": DIALECT, **schema, "title": title}


def press_schema() -> dict[str, Any]:
    """The schema of a press profile; the line stands in it in one of its two forms."""
    return {**schema_of(Press, "Press profile"), "oneOf": [{"required": ["line"]}, {"required": ["units"]}]}


def ticket_schema() -> dict[str, Any]:
    """The schema of a job ticket."""
    return schema_of(Ticket, "Job ticket")


def _tidy(node: Any, *, names: bool = False) -> Any:
    """Leaves out what only Python reads: generated titles, and defaults that are no YAML (``names``: keys are data)."""
    if isinstance(node, list):
        return [_tidy(item) for item in node]
    if not isinstance(node, dict):
        return node
    dropped = () if names else ("title", "default")
    return {
        key: _tidy(value, names=key in ("properties", "$defs")) for key, value in node.items() if key not in dropped
    }

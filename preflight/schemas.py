"""JSON Schemas for editors: what may stand in a press profile, a ticket, a rules file and a report.

A schema is looser than the loader: it knows keys, words and shapes, and leaves ``0,45 mm`` to the loader.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any, Final, cast

from pydantic import TypeAdapter

from preflight.errors import WrongUsage
from preflight.press import Press
from preflight.rule_keys import RuleKeys
from preflight.ticket import Ticket

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
TITLES: Final = {
    "press": "Press profile",
    "ticket": "Job ticket",
    "rules": "House rules",
    "report": "Preflight report",
}


def json_schema(which: str) -> dict[str, Any]:
    """The schema of one kind of file.

    Args:
        which: ``press``, ``ticket``, ``rules`` or ``report``.

    Raises:
        WrongUsage: any other word.
    """
    if which == "report":
        return cast("dict[str, Any]", import_module("preflight.report.schema").report_schema())
    models: dict[str, Any] = {"press": Press, "ticket": Ticket, "rules": list[RuleKeys]}
    if which not in models:
        raise WrongUsage(f"there is no schema of {which}; there is one of {', '.join(TITLES)}")
    schema = TypeAdapter(models[which]).json_schema(by_alias=True)
    schema = cast("dict[str, Any]", _tidy(schema))
    if which == "press":
        schema["oneOf"] = [{"required": ["line"]}, {"required": ["units"]}]
    return {"$schema": DIALECT, **schema, "title": TITLES[which]}


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

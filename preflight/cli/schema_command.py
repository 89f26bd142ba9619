"""``preflight schema``: the JSON Schemas of what people write, and of the report."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, Final

import click

from preflight.errors import ExitStatus, WrongUsage
from preflight.inputs.schemas import press_schema, schema_of, ticket_schema
from preflight.judging.catalogue import SectionKeys
from preflight.judging.rule_keys import RuleKeys
from preflight.report.document_schema import report_schema

SCHEMAS: Final[dict[str, Callable[[], dict[str, Any]]]] = {
    "press": press_schema,
    "ticket": ticket_schema,
    "rules": lambda: schema_of(list[RuleKeys], "House rules"),
    "checks": lambda: schema_of(list[SectionKeys], "Catalogue of checks"),
    "report": report_schema,
}


def run_schema(what: str) -> int:
    """Print a JSON Schema."""
    click.echo(json.dumps(json_schema(what), ensure_ascii=False, indent=1))
    return int(ExitStatus.OK)


def json_schema(which: str) -> dict[str, Any]:
    """The schema of one kind of file.

    Args:
        which: ``press``, ``ticket``, ``rules``, ``checks`` or ``report``.

    Raises:
        WrongUsage: any other word.
    """
    if which not in SCHEMAS:
        raise WrongUsage(f"there is no schema of {which}; there is one of {', '.join(SCHEMAS)}")
    return SCHEMAS[which]()

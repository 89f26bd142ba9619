"""``preflight schema``: the JSON Schemas of what people write, and of what the commands write."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import click

from preflight.comparing.compare_document import compare_schema
from preflight.errors import CannotWrite, ExitStatus, WrongUsage
from preflight.inputs.schemas import press_schema, schema_of, ticket_schema
from preflight.judging.catalogue import SectionKeys
from preflight.judging.rule_keys import RuleKeys
from preflight.report.document_schema import presses_schema, report_schema, setup_schema
from preflight.report.saving import write_file

SCHEMAS: Final[dict[str, Callable[[], dict[str, Any]]]] = {
    "press": press_schema,
    "ticket": ticket_schema,
    "rules": lambda: schema_of(list[RuleKeys], "House rules"),
    "checks": lambda: schema_of(list[SectionKeys], "Catalogue of checks"),
    "report": report_schema,
    "setup": setup_schema,
    "presses": presses_schema,
    "compare": compare_schema,
}


def run_schema(what: str) -> int:
    """Print a JSON Schema."""
    click.echo(_text(what), nl=False)
    return int(ExitStatus.OK)


def write_schemas(folder: Path) -> int:
    """Write all of them, each as ``<what>.schema.json``, for editors that are pointed there.

    Raises:
        CannotWrite: the folder cannot be made or written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CannotWrite(f"{folder} cannot be made: {error.strerror or error}") from error
    for what in SCHEMAS:
        path = folder / f"{what}.schema.json"
        write_file(path, _text(what).encode())
        click.echo(path)
    return int(ExitStatus.OK)


def _text(what: str) -> str:
    return json.dumps(json_schema(what), ensure_ascii=False, indent=1) + "\n"


def json_schema(which: str) -> dict[str, Any]:
    """The schema of one kind of file.

    Args:
        which: ``press``, ``ticket``, ``rules``, ``checks``, ``report``, ``setup``, ``presses`` or ``compare``.

    Raises:
        WrongUsage: any other word.
    """
    if which not in SCHEMAS:
        raise WrongUsage(f"there is no schema of {which}; there is one of {', '.join(SCHEMAS)}")
    return SCHEMAS[which]()

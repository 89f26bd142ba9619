"""``preflight presses``: which of the plant's presses can take a job, and what each would take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import click

from preflight.cli.output import Telling
from preflight.errors import ExitStatus
from preflight.report.presses_terminal import print_presses
from preflight.report.saving import STANDARD_OUTPUT, Shortfall, form_of, json_text, save_each, write_file
from preflight.report.terminal import make_console, progress
from preflight.setup_pipeline import compare_presses


def run_presses(
    ticket: Path, presses: Sequence[Path], reports: Sequence[str], rules: Sequence[Path], *, cache: bool
) -> int:
    """Compare the presses; the exit status is 0 where one of them fits, else 1."""
    for report in reports:
        form_of(report)
    telling = Telling()
    with progress() as say:
        document = compare_presses(ticket, presses, rules=rules, progress=say, cache=cache)
    files = [Path(report) for report in reports if report != STANDARD_OUTPUT]
    unwritten = save_each(files, partial(_save, document))
    if STANDARD_OUTPUT in reports:
        telling.tell(lambda: click.echo(json_text(document), nl=False))
    else:
        telling.tell(partial(print_presses, document, make_console()))
    fits = any(press["fits"] for press in document["presses"])
    return telling.ended(ExitStatus.OK if fits else ExitStatus.FAIL, unwritten)


def _save(document: Mapping[str, Any], path: Path) -> list[Shortfall]:
    if form_of(path) == "json":
        write_file(path, json_text(document).encode("utf-8", "replace"))
        return []
    from preflight.report.presses_html import render_presses_html  # most runs write none

    write_file(path, render_presses_html(document).encode("utf-8", "replace"))
    return []

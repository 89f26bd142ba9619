"""``preflight check``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import click

from preflight.cli.output import Telling
from preflight.job_facts import JobFacts
from preflight.pipeline import check
from preflight.report.document import RunFacts
from preflight.report.saving import STANDARD_OUTPUT, customer_form_of, form_of, json_text
from preflight.report.terminal import make_console, print_opening, print_report, progress


def run_check(
    subject: Path,
    *,
    press: Path | None,
    ticket: Path | None,
    reports: Sequence[str],
    customer_report: Path | None,
    rules: Sequence[Path],
    warnings_fail: bool,
    cache: bool,
) -> int:
    """Check, print, write; returns the exit status."""
    files, as_json = _wanted(reports, customer_report)
    console, telling = make_console(), Telling()
    opened = False

    def open_report(facts: JobFacts, run: RunFacts) -> None:
        nonlocal opened
        opened = telling.tell(partial(print_opening, facts, run, console))

    with progress() as say:
        opening = None if as_json else open_report
        report = check(subject, press=press, ticket=ticket, rules=rules, opening=opening, progress=say, cache=cache)
        say("writing the report")
        unwritten = report.save_all(files, customer_report)
    show = _as_json if as_json else partial(print_report, console=console, opened=opened)
    if not telling.tell(lambda: show(report.document)):
        telling.tell_plainly(report.verdict, [finding.says for finding in report.findings])
    return telling.ended(report.exit_status(warnings_fail=warnings_fail), unwritten)


def run_guarded(
    subject: Path,
    *,
    press: Path | None,
    ticket: Path | None,
    reports: Sequence[str],
    customer_report: Path | None,
    rules: Sequence[Path],
    warnings_fail: bool,
    cache: bool,
) -> int:
    """The same in a child process with limits; returns the exit status."""
    files, as_json = _wanted(reports, customer_report)
    from preflight.worker import check_guarded

    guarded = check_guarded(
        subject,
        press=press,
        ticket=ticket,
        rules=rules,
        reports=files,
        customer_report=customer_report,
        warnings_fail=warnings_fail,
        cache=cache,
    )
    telling, document = Telling(), guarded.document
    if guarded.broke:
        if as_json:
            telling.tell(partial(_as_json, document))
        click.echo(f"{document['sentence']}\n{document['advice']}", err=True)
        return telling.ended(guarded.exit_status, guarded.unwritten)
    show = _as_json if as_json else partial(print_report, console=make_console())
    if not telling.tell(partial(show, document)):
        telling.tell_plainly(document["verdict"], [f["says"] for page in document["pages"] for f in page["findings"]])
    return telling.ended(guarded.exit_status, guarded.unwritten)


def _as_json(document: Mapping[str, Any]) -> None:
    click.echo(json_text(document), nl=False)


def _wanted(reports: Sequence[str], customer_report: Path | None) -> tuple[list[Path], bool]:
    """Report files, and whether JSON goes to standard output; a wrong ending is said before the work."""
    files = [Path(name) for name in reports if name != STANDARD_OUTPUT]
    for file in files:
        form_of(file)
    if customer_report is not None:
        customer_form_of(customer_report)
    return files, STANDARD_OUTPUT in reports

"""``preflight check``."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from preflight.guarded import check_guarded
from preflight.pipeline import check
from preflight.report.saving import form_of, json_text
from preflight.report.terminal import make_console, print_opening, print_report, progress

STANDARD_OUTPUT = "-"


def run_check(
    subject: Path, *, press: Path | None, ticket: Path | None, reports: Sequence[str], rules: Sequence[Path],
    warnings_fail: bool, cache: bool,
) -> int:  # fmt: skip
    """Check, print, write; returns the exit status."""
    files, as_json = _wanted(reports)
    console = make_console()
    with progress() as say:
        opening = None if as_json else (lambda job, run: print_opening(job, run, console))
        report = check(subject, press=press, ticket=ticket, rules=rules, opening=opening, progress=say, cache=cache)
        say("writing the report")
        document = report.document
        for file in files:
            report.save(file)
    if as_json:
        click.echo(json_text(document), nl=False)
    else:
        print_report(document, console, opened=True)
    return int(report.exit_status(warnings_fail=warnings_fail))


def run_guarded(
    subject: Path, *, press: Path | None, ticket: Path | None, reports: Sequence[str], rules: Sequence[Path],
    warnings_fail: bool, cache: bool,
) -> int:  # fmt: skip
    """The same in a child process with limits; returns the exit status."""
    files, as_json = _wanted(reports)
    guarded = check_guarded(
        subject,
        press=press,
        ticket=ticket,
        rules=rules,
        reports=files,
        warnings_fail=warnings_fail,
        cache=cache,
    )
    if as_json:
        click.echo(json_text(guarded.document), nl=False)
    else:
        print_report(guarded.document, make_console(), opened=False)
    return int(guarded.exit_status)


def _wanted(reports: Sequence[str]) -> tuple[list[Path], bool]:
    """Report files, and whether JSON goes to standard output; a wrong ending is said before the work."""
    files = [Path(name) for name in reports if name != STANDARD_OUTPUT]
    for file in files:
        form_of(file)
    return files, STANDARD_OUTPUT in reports

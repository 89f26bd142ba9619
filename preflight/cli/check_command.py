"""``preflight check``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from functools import partial
from pathlib import Path
from typing import Any

import click

from preflight.cli.check_options import CheckOptions, ReportTargets, is_folder, targets_of, written
from preflight.cli.output import Telling
from preflight.errors import WrongUsage
from preflight.job_facts import JobFacts
from preflight.pipeline import check
from preflight.report.document import RunFacts
from preflight.report.saving import Shortfall, json_text
from preflight.report.terminal import make_console, print_closing, print_opening, print_report, progress

STANDARD_INPUT = Path("-")


def run_check(subjects: Sequence[Path], options: CheckOptions) -> int:
    """Check one job and print its report, or several and print a line for each; returns the exit status."""
    targets = targets_of(options.reports, options.customer_report)
    if len(subjects) > 1 or is_folder(subjects[0]):
        if options.customer_report is not None:
            raise WrongUsage("--customer-report goes with one job; name one ticket or PDF")
        from preflight.cli.several_jobs import check_several  # most runs check one

        return check_several(subjects, options, targets)
    with _as_file(subjects[0], options) as subject:
        return (_run_guarded if options.guarded else _run)(subject, options, targets)


def _as_file(subject: Path, options: CheckOptions) -> AbstractContextManager[Path]:
    """The subject as a file, for a while where it comes from standard input."""
    if subject != STANDARD_INPUT:
        return nullcontext(subject)
    if options.press is None and options.ticket is None:
        raise WrongUsage("a PDF from standard input (-) goes with --press or --ticket")
    from preflight.cli.standard_input import pdf_from_standard_input

    return pdf_from_standard_input()


def _run(subject: Path, options: CheckOptions, targets: ReportTargets) -> int:
    console, telling = make_console(), Telling()
    opened = False

    def open_report(facts: JobFacts, run: RunFacts) -> None:
        nonlocal opened
        opened = telling.tell(partial(print_opening, facts, run, console))

    with progress() as say:
        report = check(
            subject,
            press=options.press,
            ticket=options.ticket,
            rules=options.rules,
            opening=None if targets.standard_output or options.quiet else open_report,
            progress=say,
            cache=options.cache,
        )
        say("writing the report")
        files = targets.files_for(subject)
        unwritten = report.save_all(files, options.customer_report)
    show = partial(_show, options, targets, _paths(files, options, unwritten), opened=opened)
    if not telling.tell(lambda: show(report.document)):
        telling.tell_plainly(report.verdict, [finding.says for finding in report.findings])
    return telling.ended(report.exit_status(warnings_fail=options.warnings_fail), unwritten)


def _run_guarded(subject: Path, options: CheckOptions, targets: ReportTargets) -> int:
    """The same in a child process with limits; returns the exit status."""
    from preflight.worker import check_guarded

    files = targets.files_for(subject)
    guarded = check_guarded(
        subject,
        press=options.press,
        ticket=options.ticket,
        rules=options.rules,
        reports=files,
        customer_report=options.customer_report,
        warnings_fail=options.warnings_fail,
        cache=options.cache,
    )
    telling, document = Telling(), guarded.document
    if guarded.broke:
        if targets.standard_output:
            telling.tell(partial(_as_json, document))
        click.echo(f"{document['sentence']}\n{document['advice']}", err=True)
        return telling.ended(guarded.exit_status, guarded.unwritten)
    if not telling.tell(partial(_show, options, targets, _paths(files, options, guarded.unwritten), document)):
        telling.tell_plainly(document["verdict"], [f["says"] for page in document["pages"] for f in page["findings"]])
    return telling.ended(guarded.exit_status, guarded.unwritten)


def _show(
    options: CheckOptions,
    targets: ReportTargets,
    reports: Sequence[str],
    document: Mapping[str, Any],
    *,
    opened: bool = False,
) -> None:
    if targets.standard_output:
        _as_json(document)
    elif options.quiet:
        print_closing(document, make_console(), reports)
    else:
        print_report(document, make_console(), opened=opened, reports=reports)


def _paths(files: Sequence[Path], options: CheckOptions, unwritten: Sequence[Shortfall]) -> list[str]:
    """Of the reports that are there, the customer edition last."""
    files = [*files, *([options.customer_report] if options.customer_report else [])]
    return written(files, (shortfall.file for shortfall in unwritten if not shortfall.written))


def _as_json(document: Mapping[str, Any]) -> None:
    click.echo(json_text(document), nl=False)

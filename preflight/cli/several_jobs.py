"""``preflight check`` of several files or a folder: a line each, reports each, and the worst exit status."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from preflight.cli.check_options import is_folder
from preflight.cli.output import Telling
from preflight.errors import ExitStatus, PreflightError, WrongUsage
from preflight.inputs.job_folder import TICKET_ENDINGS, jobs_in
from preflight.quantities import shown
from preflight.report import words
from preflight.report.saving import Shortfall
from preflight.report.terminal import make_console, print_job_line, progress

if TYPE_CHECKING:
    from preflight.cli.check_options import CheckOptions, ReportTargets

WORST_FIRST: Final = (
    ExitStatus.OWN_FAULT,
    ExitStatus.INVALID_INPUT,
    ExitStatus.WRONG_USAGE,
    ExitStatus.ARTWORK_UNREADABLE,
    ExitStatus.REPORT_NOT_WRITTEN,
    ExitStatus.FAIL,
    ExitStatus.OK,
)
CALLED: Final = {
    ExitStatus.OWN_FAULT: "broke",
    ExitStatus.INVALID_INPUT: "wrong input",
    ExitStatus.WRONG_USAGE: "wrong input",
    ExitStatus.ARTWORK_UNREADABLE: "unreadable",
}
"""What stands in the place of a verdict where there is none."""


@dataclass(frozen=True)
class _Outcome:
    """What came out for one file."""

    status: ExitStatus
    called: str
    """The verdict, or why there is none, in a word."""
    counted: str = ""
    refusal: str = ""
    unwritten: Sequence[Shortfall] = ()


def check_several(given: Sequence[Path], options: CheckOptions, targets: ReportTargets) -> int:
    """Check each file; what is wrong with one of them stops no other.

    Returns:
        the worst exit status: 5, 4, 2, 3, 6, 1, 0.

    Raises:
        WrongUsage: one report is asked for all of them, or there is nothing to check.
    """
    if targets.files or targets.standard_output:
        raise WrongUsage("several files have a report each: --report FOLDER/ in place of one file")
    subjects = _subjects(given)
    telling, console = Telling(), make_console()
    statuses, called = list[int](), Counter[str]()
    check_one = _guarded if options.guarded else _checked
    with progress() as say:
        for number, subject in enumerate(subjects, 1):
            outcome = _outcome(subject, options, targets, check_one, partial(_step, say, number, len(subjects)))
            shown_as = words.short(str(subject))
            telling.tell(partial(print_job_line, outcome.called, shown_as, outcome.counted, console))
            if outcome.refusal:
                telling.complain(outcome.refusal)
            statuses.append(telling.ended(outcome.status, outcome.unwritten))
            telling.shortfalls.clear()
            called[outcome.called] += 1
    total = ", ".join(f"{count} {word}" for word, count in called.items())
    telling.tell(lambda: click.echo(f"{shown(len(subjects), 'files')}: {total}"))
    statuses.append(telling.ended(ExitStatus.OK, ()))
    return next(status for status in map(int, WORST_FIRST) if status in statuses)


def _subjects(given: Sequence[Path]) -> list[Path]:
    if Path("-") in given:
        raise WrongUsage("a PDF from standard input (-) is checked by itself")
    found = dict.fromkeys(job for path in given for job in (jobs_in(path) if is_folder(path) else [path]))
    if not found:
        folders = ", ".join(str(path) for path in given)
        raise WrongUsage(f"there is neither a job ticket nor a PDF in {folders}")
    return list(found)


def _step(say: Callable[[str], None], number: int, count: int, step: str) -> None:
    say(f"{number} of {count}: {step}")


Checking = Callable[[Path, "CheckOptions", list[Path], Callable[[str], None]], _Outcome]


def _outcome(
    subject: Path, options: CheckOptions, targets: ReportTargets, check_one: Checking, say: Callable[[str], None]
) -> _Outcome:
    try:
        return check_one(subject, options, targets.files_for(subject), say)
    except PreflightError as refusal:
        return _Outcome(refusal.exit_status, CALLED[refusal.exit_status], refusal=f"{refusal}\n{refusal.advice}")
    except Exception as fault:
        told = f"{subject}: {type(fault).__name__}: {fault}\n{PreflightError.advice}"
        return _Outcome(ExitStatus.OWN_FAULT, CALLED[ExitStatus.OWN_FAULT], refusal=told)


def _checked(subject: Path, options: CheckOptions, files: list[Path], say: Callable[[str], None]) -> _Outcome:
    from preflight.pipeline import check

    ticket = None if subject.suffix.lower() in TICKET_ENDINGS else options.ticket
    with check(
        subject, press=options.press, ticket=ticket, rules=options.rules, progress=say, cache=options.cache
    ) as report:
        unwritten = report.save_all(files)
        status = report.exit_status(warnings_fail=options.warnings_fail)
        return _Outcome(status, report.verdict, words.found_words(report.document), unwritten=unwritten)


def _guarded(subject: Path, options: CheckOptions, files: list[Path], say: Callable[[str], None]) -> _Outcome:
    from preflight.worker import check_guarded

    say(f"checking {subject.name}")
    guarded = check_guarded(
        subject,
        press=options.press,
        ticket=None if subject.suffix.lower() in TICKET_ENDINGS else options.ticket,
        rules=options.rules,
        reports=files,
        warnings_fail=options.warnings_fail,
        cache=options.cache,
    )
    document: dict[str, Any] = guarded.document
    if guarded.broke:
        told = f"{document['sentence']}\n{document['advice']}"
        called = CALLED[ExitStatus.OWN_FAULT]
        return _Outcome(guarded.exit_status, called, refusal=told, unwritten=guarded.unwritten)
    counted = words.found_words(document)
    return _Outcome(guarded.exit_status, document["verdict"], counted, unwritten=guarded.unwritten)

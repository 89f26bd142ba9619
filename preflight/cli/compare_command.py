"""``preflight compare``: two files, plate by plate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Literal

import click

from preflight.cli.check_options import written
from preflight.cli.output import Telling
from preflight.compare_pipeline import CompareResult, compare
from preflight.report.compare_saving import check_target
from preflight.report.compare_terminal import print_comparison
from preflight.report.saving import STANDARD_OUTPUT, Shortfall, json_text
from preflight.report.terminal import make_console, progress


@dataclass(frozen=True, kw_only=True)
class CompareOptions:
    """The options of the command; see ``preflight compare --help``."""

    ticket: Path | None = None
    as_: Literal["revision", "sheet"] | None = None
    versions: tuple[Path, ...] = ()
    reports: tuple[str, ...] = ()
    cache: bool = True
    quiet: bool = False


def run_compare(old: Path, new: Path, options: CompareOptions) -> int:
    """Compare two files and print what came out; the exit status is 0 where no plate changes, else 1."""
    for report in options.reports:
        check_target(report)
    telling = Telling()
    with progress() as say:
        compared = compare(
            old,
            new,
            ticket=options.ticket,
            as_=options.as_,
            versions=options.versions,
            progress=say,
            cache=options.cache,
        )
        say("writing the report")
        files = [Path(report) for report in options.reports if report != STANDARD_OUTPUT]
        unwritten = compared.save_all(files)
    show = partial(_show, compared, options, _there(files, unwritten))
    if not telling.tell(show):
        telling.tell_plainly("no change" if compared.comparison.same else "changed", [compared.document["says"]])
    return telling.ended(compared.exit_status, unwritten)


def _there(files: Sequence[Path], unwritten: Sequence[Shortfall]) -> list[str]:
    return written(files, (shortfall.file for shortfall in unwritten if not shortfall.written))


def _show(compared: CompareResult, options: CompareOptions, reports: Sequence[str]) -> None:
    if STANDARD_OUTPUT in options.reports:
        click.echo(json_text(compared.document), nl=False)
    else:
        print_comparison(compared.document, make_console(), reports, quiet=options.quiet)

"""``preflight setup``: the check, the plan, and a folder with the set-up sheet."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Literal

import click

from preflight.cli.output import Telling
from preflight.errors import CannotWrite
from preflight.report.saving import Shortfall
from preflight.report.setup_pictures import SheetDrawings, sheet_drawings
from preflight.report.setup_saving import save_setup
from preflight.report.setup_terminal import print_setup
from preflight.report.terminal import make_console, progress
from preflight.setup_pipeline import SetUp, set_up


@dataclass(frozen=True, kw_only=True)
class SetupOptions:
    """The options of the command; see ``preflight setup --help``."""

    out: Path | None = None
    press: Path | None = None
    after: Path | None = None
    rules: tuple[Path, ...] = ()
    paper: Literal["a4", "a3"] = "a4"
    cache: bool = True


def run_setup(ticket: Path, options: SetupOptions) -> int:
    """Plan a job, write its folder and print the plan; returns the exit status."""
    telling = Telling()
    with progress() as say:
        made = set_up(
            ticket,
            press=options.press,
            after=options.after,
            rules=options.rules,
            progress=say,
            cache=options.cache,
        )
        say("writing the set-up sheet")
        folder = options.out or ticket.parent / f"{ticket.name}-setup"
        unwritten = list[Shortfall]()
        try:
            save_setup(made.document, folder, options.paper, _layout(made) | made.press_files, _drawings(made))
        except CannotWrite as refusal:
            unwritten.append(Shortfall(f"{refusal}. {refusal.advice}", file=str(folder)))
    telling.tell(partial(print_setup, made.document, make_console()))
    if not unwritten:
        telling.tell(lambda: click.echo(f"Set-up  {folder}"))
    return telling.ended(made.exit_status, unwritten)


def _layout(made: SetUp) -> dict[str, bytes]:
    """The files of the layout and the coating plate; loaded where there are any."""
    if made.job.sheet is None:
        return {}
    from preflight.report.coating_plate import coating_files
    from preflight.report.layout_files import layout_files

    return {**layout_files(made.job, made.document), **coating_files(made.job, made.document)}


def _drawings(made: SetUp) -> SheetDrawings | None:
    """Pictures of the sheet, for the page and the PDF."""
    return sheet_drawings(made.job, made.document) if made.job.sheet is not None else None

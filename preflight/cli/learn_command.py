"""``preflight setup --learn``: curves of the ink keys out of OK sheets, for the rules folder."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from preflight.cli.output import Telling
from preflight.errors import ExitStatus
from preflight.inputs.key_curves_table import FILE, curves_text, load_key_curves
from preflight.inputs.ok_sheets import read_ok_sheets
from preflight.report.key_curves import learnt_lines, table_remarks
from preflight.report.saving import write_file
from preflight.setup.ink_keys.learn_curves import learn_curves, with_older


def run_learn(table: Path, out: Path | None) -> int:
    """Fit the curves, show each with its spread and write the table; 1 where no curve could be learnt."""
    telling = Telling()
    learnt = learn_curves(read_ok_sheets(table))
    target = out or table.parent / FILE
    older = load_key_curves(target) if target.is_file() else ()
    telling.tell(partial(click.echo, "\n".join(learnt_lines(learnt, older))))
    if not learnt.curves:
        return telling.ended(ExitStatus.FAIL, [])
    write_file(target, curves_text(with_older(learnt, older), table_remarks(table.name)).encode())
    telling.tell(partial(click.echo, f"Curves  {target}; put it into the rules folder as {FILE}"))
    return telling.ended(ExitStatus.OK, [])

"""The presses that were compared, on the terminal: a line each, and below it why one does not fit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from rich.console import Console
from rich.table import Table
from rich.text import Text

from preflight.report import words
from preflight.report.press_table import press_rows, presses_headline
from preflight.report.terminal import COLOURS, heading, print_calmly, with_dash

Document = Mapping[str, Any]

HEADS: Final = ("Press", "answer", "passes", "washes", "sheets", "used", "time")
NAME: Final = 25


def print_presses(document: Document, console: Console) -> None:
    """Print a ``preflight-presses/1`` document."""
    rows = press_rows(document)
    colour = COLOURS["pass" if any(row.fits for row in rows) else "fail"]
    print_calmly(console, Text(words.plain(presses_headline(document)), colour))
    heading("", console)
    table = Table.grid(padding=(0, 1, 0, 0))
    for k in range(len(HEADS)):
        table.add_column(max_width=NAME if k == 0 else None, justify="right" if k > 1 else "left")
    table.add_row(*(Text(head, "dim" if k else "bold") for k, head in enumerate(HEADS)))
    for row in rows:
        cells = (words.short(row.press, 60), row.answer, row.passes, row.wash_ups, row.sheets, row.used, row.hours)
        table.add_row(*map(Text, cells))
    print_calmly(console, table)
    for row in rows:
        if row.reasons:
            heading(f"{row.place}. {words.short(row.press)} {row.answer}", console)
            print_calmly(
                console,
                *(with_dash(f"{rule}: {words.full(says)}" if rule else words.full(says)) for rule, says in row.reasons),
            )

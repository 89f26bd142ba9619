"""Two files compared, on the terminal: the sentence, the plates, the blanks, pages and words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from rich.console import Console
from rich.table import Table
from rich.text import Text

from preflight.findings import with_and
from preflight.report import compare_rows as rows
from preflight.report import words
from preflight.report.terminal import COLOURS, heading, labelled, print_calmly, with_dash

Document = Mapping[str, Any]

NAME: Final = 28
MOST_PLATES: Final = 60
MOST_WORDS: Final = 12
MOST_BLANKS: Final = 60
TITLES: Final = (("Faults", "faults"), ("Pages", "pages"), ("Not compared", "not_compared"), ("Notes", "notes"))


def print_comparison(document: Document, console: Console, reports: Sequence[str] = (), *, quiet: bool = False) -> None:
    """Print a ``preflight-compare/1`` document; ``quiet``: its sentence and the paths of the reports only."""
    colour = COLOURS["pass" if document["same"] else "fail"]
    print_calmly(console, Text(words.plain(document["says"]), colour))
    if not quiet:
        heading("", console)
        print_calmly(console, labelled([(name.upper(), _file(document["files"][name])) for name in ("old", "new")]))
        _plates(document["plates"], console)
        _blanks(rows.blank_rows(document), console)
        _to_do(document, console)
        _texts(document["texts"], console)
        for title, key in TITLES:
            _lines(title, document[key], console)
    if reports:
        heading("", console)
    for path in reports:
        console.print(Text(f"Report  {words.plain(path)}"), soft_wrap=True, highlight=False)


def _file(file: Document) -> str:
    pages = "1 page" if file["pages"] == 1 else f"{file['pages']} pages"
    return f"{words.short(file['file'])}, {pages}, SHA-256 {file['sha256'][:12]}"


def _plates(plates: Sequence[Document], console: Console) -> None:
    if not plates:
        return
    table = _table(("Plate", "change", "share", ""))
    for plate in plates[:MOST_PLATES]:
        told = rows.called(plate), rows.share_words(plate), rows.says(plate)
        cells = (words.short(plate["name"], 2 * NAME), *told)
        table.add_row(*(Text(words.plain(cell)) for cell in cells))
    heading("", console)
    print_calmly(console, table)
    if len(plates) > MOST_PLATES:
        print_calmly(console, Text(f"and {len(plates) - MOST_PLATES:,} more, listed in the report file"))


def _table(heads: Sequence[str]) -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    for at, _ in enumerate(heads):
        table.add_column(max_width=NAME if at == 0 else None, justify="right" if at == 2 else "left")
    table.add_row(*(Text(head, "dim" if at else "bold") for at, head in enumerate(heads)))
    return table


def _blanks(blanks: Sequence[rows.BlankRow], console: Console) -> None:
    if not blanks:
        return
    table = _table(("Blank", "is", "largest", "version", ""))
    for blank in blanks[:MOST_BLANKS]:
        cells = (str(blank.number), blank.called, blank.largest, words.short(blank.version, NAME), blank.says)
        table.add_row(*(Text(words.plain(cell)) for cell in cells))
    heading("", console)
    print_calmly(console, table)
    if len(blanks) > MOST_BLANKS:
        print_calmly(console, Text(f"and {len(blanks) - MOST_BLANKS:,} more, listed in the report file"))


def _to_do(document: Document, console: Console) -> None:
    told = [
        ("Remake", with_and(document["remake"])),
        ("Keep", with_and(document["keep"])),
        ("Declared", with_and(document["declared"])),
        ("Undeclared", with_and(document["undeclared"])),
    ]
    if any(names for _, names in told):
        heading("", console)
        print_calmly(console, labelled(told, max(len(label) for label, names in told if names)))


def _texts(texts: Sequence[Document], console: Console) -> None:
    if not texts:
        return
    heading("Words", console)
    for text in texts[:MOST_WORDS]:
        print_calmly(console, with_dash(words_changed(text)))
    if len(texts) > MOST_WORDS:
        print_calmly(console, with_dash(f"and {len(texts) - MOST_WORDS} more, listed in the report file"))


def words_changed(text: Document) -> str:
    """``500 -> 450 at (40, 110) mm on page 1, on Black``."""
    old, new = (words.short(text[side]) for side in ("old", "new"))
    change = f"{old} -> {new}" if old and new else f"{new} is new" if new else f"{old} is gone"
    left, low = text["box_mm"][:2]
    on = f", on {with_and(text['plates'])}" if text["plates"] else ""
    return f"{change}, at ({left:.0f}, {low:.0f}) mm on page {text['page']}{on}"


def _lines(title: str, lines: Sequence[str], console: Console) -> None:
    if lines:
        heading(title, console)
        print_calmly(console, *(with_dash(line) for line in lines))

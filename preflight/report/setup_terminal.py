"""The set-up sheet on the terminal: calm, aligned, at most 80 columns, and whole without colour."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from rich.console import Console
from rich.table import Table
from rich.text import Text

from preflight.report import words
from preflight.report.change_bars import BarRow, Change, change_of
from preflight.report.setup_layout import (
    coating_sentences,
    key_lines,
    key_sentences,
    layout_line,
    layout_sentences,
)
from preflight.report.setup_places import PassPlan, Place
from preflight.report.setup_sheet import (
    Row,
    SetUpSheet,
    conflict_words,
    first_up,
    material_rows,
    missing_words,
    queries_title,
    reasons_told,
    sheet_of,
    wash_up_reason,
    way_out_words,
)
from preflight.report.terminal import COLOURS, heading, labelled, print_calmly, with_dash

Document = Mapping[str, Any]

NAME: Final = 26
KIND: Final = 22
BARS: Final = 34
"""Characters that the whole change takes."""
LABEL: Final = 14


def print_setup(document: Document, console: Console) -> None:
    """Print a ``preflight-setup/1`` document, what the crew acts on first."""
    sheet = sheet_of(document)
    job = ", ".join(part for part in (sheet.job, sheet.title) if part)
    print_calmly(console, Text(words.plain(sheet.headline), COLOURS[document["verdict"]]))
    if not sheet.run_it:
        print_calmly(console, Text("DO NOT RUN", COLOURS["fail"]), *(with_dash(text) for text in reasons_told(sheet)))
    if sheet.open.count:
        print_calmly(console, Text(words.plain(sheet.open.words("below"))))
    heading("", console)
    print_calmly(console, labelled([("Job", job), ("Press", sheet.press), *_told(sheet.lay)], LABEL))
    for plan in sheet.passes:
        _pass(plan, console)
    _list(
        "Aims", [_aims(place) for plan in sheet.passes for place in plan.places if place.density or place.lab], console
    )
    _layout(document, console)
    _list(queries_title(sheet), [point.says for point in sheet.queries], console)
    _list("What to watch", sheet.watch, console)
    _change(document, sheet, console)
    _rows("Run and piles", [*sheet.run, *sheet.piles], console)
    _rows("Board", sheet.stock, console)
    _list("Pull sheets", map(first_up, sheet.pulls), console)
    _list("On the first good sheet", sheet.check_first, console)
    _list("Cautions", sheet.cautions, console)
    _behind(document, sheet, console)
    heading("", console)
    print_calmly(console, Text(words.plain(" | ".join(sheet.identity)), "dim"))


def _pass(plan: PassPlan, console: Console) -> None:
    of = f"Pass {plan.number} of {plan.of}, feeder to delivery" if plan.of > 1 else "Feeder to delivery"
    heading(of, console)
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(justify="right", min_width=4)
    table.add_column(max_width=NAME)
    table.add_column(max_width=KIND)
    table.add_column(justify="right")
    table.add_column()
    for place in plan.places:
        table.add_row(*(Text(words.plain(cell)) for cell in _cells(place)))
    print_calmly(console, table)


def _layout(document: Document, console: Console) -> None:
    """How the sheet is laid and why no more, keys and coating plate, a few lines each."""
    line = layout_line(document)
    if line:
        heading(f"Layout: {line}", console)
        print_calmly(console, *map(with_dash, layout_sentences(document)))
    keys = key_lines(document)
    if keys:
        heading("Ink keys", console)
        rows = [(f"  {words.short(label, 40)}", text) for label, text in keys]
        print_calmly(console, *map(with_dash, key_sentences(document)), labelled(rows, 28))
    _list("Coating plate", coating_sentences(document), console)


def _cells(place: Place) -> tuple[str, str, str, str, str]:
    if place.what == "unit":
        plate = f"plate {place.plate}" if place.plate else ""
        return place.head, words.short(place.name, 2 * NAME), place.kind, place.coverage, plate
    if place.what == "lamp":
        return "", f"{place.head} {place.name}", place.lines[0], "", ""
    if place.what == "coater":
        return "", place.head, ", ".join([place.name, *place.lines]), "", ""
    return "", "delivery", ", ".join(place.lines), "", ""


def _aims(place: Place) -> str:
    parts = [place.density and f"density {place.density}", place.lab and f"L*a*b* {place.lab}"]
    return f"unit {place.head}, {words.short(place.name, 40)}: {', '.join(part for part in parts if part)}"


def _change(document: Document, sheet: SetUpSheet, console: Console) -> None:
    change = change_of(document)
    if not change.rows and not sheet.wash_ups:
        return
    heading(f"Change from the last job: {change.total}" if change.total else "Change from the last job", console)
    print_calmly(console, *(with_dash(wash_up_reason(entry)) for entry in document["plan"].get("wash_ups") or ()))
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(max_width=24)
    table.add_column(no_wrap=True)
    table.add_column(justify="right")
    for row in change.rows:
        table.add_row(Text(f"  {words.plain(row.label)}"), Text(_bars(row, change)), Text(row.told))
    print_calmly(console, table)


def _bars(row: BarRow, change: Change) -> str:
    """The row's bars in characters, one at least for each."""
    scale = BARS / (change.end or 1.0)
    drawn = ["."] * BARS
    for bar in row.bars:
        start = min(int(bar.start * scale), BARS - 1)
        end = max(round((bar.start + bar.minutes) * scale), start + 1)
        drawn[start:end] = "#" * (min(end, BARS) - start)
    return "".join(drawn)


def _behind(document: Document, sheet: SetUpSheet, console: Console) -> None:
    """Reasons, ways out and the rest."""
    plan = document.get("plan") or {}
    conflict = conflict_words(document)
    _list("Why there is no order in one pass", conflict, console)
    _list("Ways out, the cheapest first", map(way_out_words, plan.get("ways_out") or ()), console)
    for entry in sheet.passes:
        title = "Why it is set so" if entry.of == 1 else f"Why it is set so, pass {entry.number}"
        _list(title, [_reason(place) for place in entry.places if place.because], console)
    _rows("Material", material_rows(document), console, 22)
    _list("Not checked", map(missing_words, document.get("not_checked") or ()), console)
    _list("Assumed", map(str, document.get("assumed") or ()), console)


def _reason(place: Place) -> str:
    head = f"unit {place.head}" if place.what == "unit" else place.head
    name = f"{head}, {words.short(place.name, 40)}" if place.name else head
    return f"{name}: " + " ".join(f"{first_up(words.full(reason.says))}" for reason in place.because)


def _list(title: str, texts: Iterable[str], console: Console) -> None:
    told = list(texts)
    if told:
        heading(title, console)
        print_calmly(console, *map(with_dash, told))


def _told(rows: Iterable[Row]) -> list[tuple[str, str]]:
    return [(row.label, row.text.removesuffix(":") or "not known") for row in rows]


def _rows(title: str, rows: Iterable[Row], console: Console, width: int = LABEL) -> None:
    told = [(f"  {words.short(label, 40)}", text) for label, text in _told(rows)]
    if told:
        heading(title, console)
        print_calmly(console, labelled(told, width))

"""The report on the terminal: calm, aligned, at most 80 columns, and whole without colour."""

from __future__ import annotations

import io
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from typing import Any, ClassVar, Final

from rich.console import Console, RenderableType
from rich.control import Control
from rich.padding import Padding
from rich.segment import ControlType
from rich.table import Table
from rich.text import Text

from preflight.job_facts import JobFacts
from preflight.quantities import shown, with_squares
from preflight.report import words
from preflight.report.document import RunFacts, build_opening

Document = Mapping[str, Any]

WIDTH: Final = 80
LABEL: Final = 9
OPENING_LABEL: Final = 11
NAME: Final = 28
CALLED: Final = 13
MOST_SEPARATIONS: Final = 60
PLACES_SHOWN: Final = 3
TRAILING_BLANKS: Final = re.compile(r" +$", re.MULTILINE)
COLOURS: Final = {"fail": "bold red", "warn": "bold yellow", "pass": "bold green", "note": "bold"}


class _ProgressLine:
    """The line that says what is being done; it makes way whenever a report is printed on the same terminal."""

    shown: ClassVar[_ProgressLine | None] = None

    def __init__(self, console: Console) -> None:
        self.console = console

    def say(self, now: str) -> None:
        self.erase()
        line = Text(words.plain(now))
        line.truncate(self.console.width - 1, overflow="ellipsis")
        self.console.print(line, end="", highlight=False)
        _ProgressLine.shown = self

    def erase(self) -> None:
        self.console.control(Control(ControlType.CARRIAGE_RETURN, (ControlType.ERASE_IN_LINE, 2)))
        _ProgressLine.shown = None


def make_console() -> Console:
    """Standard output as the reports use it; a letter that its encoding lacks is written as an escape."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")
    return Console(highlight=False, markup=False, emoji=False)


def print_opening(facts: JobFacts, run: RunFacts, console: Console) -> None:
    """Job, press, page, separations, sheet and board: all of it known before a plate is drawn."""
    _opening(build_opening(facts, run), console, separations=True)


def print_closing(document: Document, console: Console, reports: Sequence[str] = ()) -> None:
    """The last lines: the verdict, the counts, and the path of each report file that was written."""
    print_calmly(
        console,
        Text(words.plain(document["sentence"]), COLOURS[document["verdict"]]),
        Text(words.counts_words(document)),
    )
    _print_whole(console, *(Text(f"Report  {words.plain(path)}") for path in reports))


def print_job_line(called: str, subject: str, counted: str, console: Console) -> None:
    """One of several jobs: its verdict, or why there is none, the file, and the counts, below it where it is long."""
    line = Text.assemble((f"{called:<{CALLED}}", COLOURS.get(called, "bold")), words.plain(subject))
    if counted:
        fits = line.cell_len + 2 + len(counted) <= min(console.width, WIDTH)
        line.append(f"  {counted}" if fits else f"\n{' ' * CALLED}{counted}", "dim")
    _print_whole(console, line)


def print_report(document: Document, console: Console, *, opened: bool = False, reports: Sequence[str] = ()) -> None:
    """Print the whole report.

    Args:
        document: what ``document.build_document`` made.
        console: where to print.
        opened: ``print_opening`` has been printed already; the separations are then shown again, with what they print.
        reports: paths of the report files that were written.
    """
    if opened:
        heading("", console)
    print_calmly(console, Text(document["sentence"], COLOURS[document["verdict"]]))
    if opened and len(document["pages"]) == 1:
        _cut(document["artwork"], console)
    if not opened:
        heading("", console)
        _opening(document, console, separations=False)
    for page in document["pages"]:
        if len(document["pages"]) > 1:
            heading(f"Page {page['page']}: {page['sentence']}", console)
            print_calmly(console, labelled([("Size", words.page_words(page["artwork"]))]))
        _separations(page, console)
        _units(page, console)
        _findings(page["findings"], console)
        _not_checked(page["not_checked"], console)
        _rest(page, console)
    heading("", console)
    print_calmly(console, *(Text(words.plain(caution), "italic") for caution in document["cautions"]))
    heading("", console)
    print_closing(document, console, reports)


@contextmanager
def progress(console: Console | None = None) -> Iterator[Callable[[str], None]]:
    """Say on one line of a terminal what is being done; say nothing where standard error goes elsewhere.

    Yields:
        a function that takes the next words: ``drawing the plates of page 2``.
    """
    console = console or Console(stderr=True)
    if not console.is_terminal or console.is_dumb_terminal:
        yield lambda _words: None
        return
    line = _ProgressLine(console)

    def say(now: str) -> None:
        with suppress(OSError):  # the terminal has gone
            line.say(now)

    try:
        yield say
    finally:
        with suppress(OSError):
            line.erase()


def _opening(opening: Document, console: Console, *, separations: bool) -> None:
    """What is known at the start; ``separations`` where the table of them is still to come, after the plates."""
    artwork = opening["artwork"]
    rows = [
        ("Job", words.job_words(opening)),
        ("File", f"{words.short(artwork['file'])}, SHA-256 {artwork['sha256'][:12]}"),
        ("Press", opening["press"]["name"] if opening["press"] else "not stated"),
        ("Page", words.page_words(artwork, die_read=not separations)),
        ("Separations", words.separation_words(opening["separations"]) if separations else ""),
        ("Sheet", words.sheet_words(opening)),
        ("Board", words.board_words(opening)),
    ]
    print_calmly(console, labelled(rows, OPENING_LABEL))


def _cut(artwork: Document, console: Console) -> None:
    """The size that the opening could not tell yet."""
    if artwork["trim_is"] != "page":
        label = artwork["trim_is"].capitalize()
        print_calmly(console, Text(), labelled([(label, words.size(artwork["trim_mm"]))], OPENING_LABEL))


def _separations(page: Document, console: Console) -> None:
    separations: Sequence[Document] = page["separations"]
    table = Table.grid(padding=(0, 2, 0, 0))
    for column in range(5):
        table.add_column(max_width=NAME if column == 0 else None, justify="right" if column == 3 else "left")
    coverage = "coverage inside the cut" if page["cover_of"] == "inside the cut" else "coverage of the page"
    heads = ("Separations", "kind", "prints", coverage, "unit")
    table.add_row(*(Text(head, "dim" if k else "bold") for k, head in enumerate(heads)))
    for separation in separations[:MOST_SEPARATIONS]:
        prints = {True: "yes", False: "no", None: "not known"}[separation["prints"]]
        units = ", ".join(str(unit) for unit in separation["units"]) or "-"
        cover = words.per_cent(separation["cover"])
        cells = (f"  {words.short(separation['name'], 2 * NAME)}", separation["kind"], prints, cover, units)
        table.add_row(*(Text(words.plain(cell)) for cell in cells))
    heading("", console)
    print_calmly(console, table)
    if len(separations) > MOST_SEPARATIONS:
        print_calmly(console, Text(f"  and {len(separations) - MOST_SEPARATIONS:,} more, listed in the report file"))


def _units(page: Document, console: Console) -> None:
    if not page["units"]:
        return
    heading("Units, feeder to delivery", console)
    if not any(unit["stated"] for unit in page["units"]):
        print_calmly(
            console, Text(f"  {shown(len(page['units']), 'units')}; the ticket does not say which ink is on which.")
        )
        return
    found = {finding["number"]: finding for finding in page["findings"]}
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(justify="right", min_width=4)
    table.add_column(max_width=NAME)
    for unit in page["units"]:
        name = words.short(unit["separation"], 2 * NAME) if unit["separation"] is not None else "idle"
        notes = [f"{_called(found[n])} {n}" for n in unit["findings"]]
        notes += [] if unit["in_press"] else ["the press has no such unit"]
        kind = "overall" if unit["overall"] else unit["kind"] or ""
        table.add_row(str(unit["unit"]), Text(name), kind, Text(", ".join(notes)))
    for station in page["line"]:
        if station["is"] == "coater":
            table.add_row("", "coater", "", Text(words.plain(station["coating"] or "nothing stated")))
    print_calmly(console, table)


def _findings(findings: Sequence[Document], console: Console) -> None:
    wrong = [finding for finding in findings if finding["verdict"] != "note"]
    remarks = [finding for finding in findings if finding["verdict"] == "note"]
    heading("Findings" if wrong else "Nothing wrong was found in what was checked.", console)
    _found(wrong, console)
    if remarks:
        heading("Worth knowing", console)
        _found(remarks, console)


def _found(findings: Sequence[Document], console: Console) -> None:
    for finding in findings:
        if finding is not findings[0]:
            print_calmly(console, Text())
        marks = [finding["rule"]]
        marks += ["trial rule, does not change the verdict"] if finding["trial"] else []
        marks += ["based on a guess"] if finding["known"] == "assumed" else []
        head = Text(f"{_called(finding).upper()} {finding['number']}", COLOURS[finding["verdict"]])
        head.append(f"  {words.plain(', '.join(marks))}", "not bold dim")
        measured = "; ".join(part for part in words.measured_words(finding) if part)
        body = labelled(
            [
                ("measured", measured),
                ("where", _where(finding["places"])),
                ("happens", with_squares(finding["why"])),
                ("do", with_squares(finding["do"])),
            ]
        )
        print_calmly(
            console,
            head,
            Padding(Text(words.plain(with_squares(finding["says"]))), (0, 0, 0, 2)),
            Padding(body, (0, 0, 0, 2)),
        )


def _where(places: Sequence[Document]) -> str:
    told = [words.place_words(place) for place in places[:PLACES_SHOWN]]
    if len(places) > PLACES_SHOWN:
        told.append(f"and {len(places) - PLACES_SHOWN} more")
    return "\n".join(told)


def _not_checked(entries: Sequence[Document], console: Console) -> None:
    if not entries:
        return
    heading("Not checked", console)
    for group in words.missing_by_reason(entries):
        own = " This is an internal error." if group["own_fault"] else ""
        helps = f" Needed to check this: {words.full(group['would_help'])}" if group["would_help"] else ""
        where = f" Where: {'; '.join(_where(group['places']).splitlines())}." if group["places"] else ""
        matters = group["counts_as"] != "note"
        counts = f" Matters: counts as a {words.SIGNS[group['counts_as']]} until then." if matters else ""
        told = f"{words.rules_named(group['rules'])}: {words.full(group['because'])}"
        print_calmly(console, with_dash(f"{told}{where}{own}{helps}{counts}"))


def _not_asked(title: str, entries: Sequence[Document], console: Console) -> None:
    if not entries:
        return
    heading(title, console)
    for group in words.not_asked_by_reason(entries):
        print_calmly(console, with_dash(f"{words.rules_named(group['rules'])}: {words.full(group['because'])}"))


def _rest(page: Document, console: Console) -> None:
    for title, lines in (("Assumed", page["assumed"]), ("Notes", [*page["die"]["uncertain"], *page["notes"]])):
        if lines:
            heading(title, console)
            print_calmly(console, *(with_dash(line) for line in lines))
    if page["waived"]:
        heading("Waived", console)
    for entry in page["waived"]:
        waiver = entry["waiver"]
        by = ", ".join(word for word in (waiver["by"], waiver["until"] and f"until {waiver['until']}") if word)
        reason = "; ".join(word for word in (waiver["reason"] or "no reason given", by) if word)
        told = f"{entry['rule']}: {words.full(entry['says'])} ({reason})"
        print_calmly(console, with_dash(f"{told} {words.full(waiver['remark'])}".rstrip()))
    _not_asked("Switched off", page["switched_off"], console)
    _not_asked("Not asked", page["not_asked"], console)
    if page["passed"]:
        heading("", console)
        print_calmly(console, labelled([("Passed", shown(len(page["passed"]), "rules"))]))


def _called(finding: Document) -> str:
    return words.SIGNS[finding["verdict"]]


def labelled(rows: Iterable[tuple[str, str]], label_width: int = LABEL) -> Table:
    """Labels with what is said of each; those that nothing is said of are left out."""
    table = Table.grid(padding=(0, 1, 0, 0))
    table.add_column(min_width=label_width, style="dim")
    table.add_column(overflow="fold")
    for label, told in rows:
        if told:
            table.add_row(label, Text("\n".join(words.plain(line) for line in told.split("\n"))))
    return table


def with_dash(text: str) -> Table:
    """A paragraph that hangs on a dash."""
    table = Table.grid(padding=(0, 1, 0, 0))
    table.add_row(" -", Text(words.plain(text)))
    return table


def heading(title: str, console: Console) -> None:
    """An empty line, and a title where there is one."""
    print_calmly(console, Text())
    if title:
        print_calmly(console, Text(words.plain(title), "bold"))


def print_calmly(console: Console, *parts: RenderableType) -> None:
    """Print without the blanks that pad a table to its width: reports are piped into files and mails."""
    if _ProgressLine.shown is not None:
        _ProgressLine.shown.erase()
    with console.capture() as captured:
        for part in parts:
            console.print(part, width=min(console.width, WIDTH), highlight=False)
    console.file.write(TRAILING_BLANKS.sub("", captured.get()))


def _print_whole(console: Console, *lines: Text) -> None:
    """Print lines that hold a path: it is there to be copied, so that a long one is left to the terminal to break."""
    if _ProgressLine.shown is not None:
        _ProgressLine.shown.erase()
    for line in lines:
        console.print(line, soft_wrap=True, highlight=False)

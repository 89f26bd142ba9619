"""``preflight rules``: the rules, one of them, or what answers each row of the catalogue of checks."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Final

import click
from rich.table import Table
from rich.text import Text

from preflight.errors import ExitStatus, WrongUsage
from preflight.judging.catalogue import load_catalogue
from preflight.judging.coverage import KINDS, NOT_YET, Answer, coverage
from preflight.judging.rulebook import Rule, Rulebook, load_rules
from preflight.report.terminal import TRAILING_BLANKS, WIDTH, make_console
from preflight.suggest import nearest

SAID: Final = {"rule": "by rules", "view": "in the report", "nobody": "not by a program", NOT_YET: NOT_YET}


def run_rules(name: str | None, files: Sequence[Path]) -> int:
    """List the rules, or show one."""
    book = load_rules(files)
    if name is None:
        _list(book)
    else:
        _show(book, name)
    return int(ExitStatus.OK)


def run_coverage(files: Sequence[Path], *, as_json: bool) -> int:
    """Print what answers each row, as a table for people or as JSON for programs."""
    sections = coverage(load_rules(files), load_catalogue())
    everything = [answer for answers in sections.values() for answer in answers]
    if as_json:
        click.echo(json.dumps([asdict(answer) for answer in everything], ensure_ascii=False, indent=1))
        return int(ExitStatus.OK)
    console = make_console()
    width = min(console.width, WIDTH)
    with console.capture() as captured:
        for section, answers in sections.items():
            console.print(Text(f"{section}: {_answered(answers)}", "bold"), width=width)
            console.print(_coverage_table(answers), width=width)
            console.print()
        console.print(Text(f"{len(everything)} rows: {_counted(everything)}", "bold"), width=width)
    click.echo(TRAILING_BLANKS.sub("", captured.get()), nl=False)
    return int(ExitStatus.OK)


def _list(book: Rulebook) -> None:
    width = max((len(name) for name in book.rules), default=0)
    for name, rule in book.rules.items():
        click.echo(f"{name:<{width}}  {rule.asks}")
    for name, reason in book.off.items():
        click.echo(f"{name:<{width}}  switched off: {reason}")


def _show(book: Rulebook, name: str) -> None:
    if name not in book.rules:
        hint = nearest(name, book.rules)
        raise WrongUsage(f"there is no rule {name}" + (f"; did you mean {hint}?" if hint else ""))
    for label, text in _lines(book.rules[name]):
        if text:
            click.echo(click.wrap_text(f"{label:<10}{text}", 79, subsequent_indent=" " * 10))


def _lines(rule: Rule) -> list[tuple[str, str]]:
    lines = [("rule", rule.rule), ("asks", rule.asks), ("measure", rule.measure)]
    for case in ("", *rule.cases):
        fail, warn = rule.limits(case)
        of = f" ({case})" if case else ""
        lines += [("fails", f"{fail}{of}" if fail else ""), ("warns", f"{warn}{of}" if warn else "")]
    lines += [("says", rule.says), ("why", rule.why), ("do", rule.do), ("customer", rule.customer)]
    return [*lines, ("source", rule.source), ("from", rule.file)]


def _coverage_table(answers: Iterable[Answer]) -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(width=3, no_wrap=True)
    table.add_column(ratio=1)
    table.add_column(width=30)
    for answer in answers:
        said = [*answer.rules, *([f"report: {answer.view}"] if answer.view else [])]
        if answer.because:
            said.append(f"({answer.because})" if said else answer.because)
        table.add_row(answer.row, answer.asks, Text("\n".join(said), "dim" if answer.by == NOT_YET else ""))
    return table


def _answered(answers: Sequence[Answer]) -> str:
    done = sum(answer.by in ("rule", "view") for answer in answers)
    return f"{done} of {len(answers)} rows answered"


def _counted(answers: Iterable[Answer]) -> str:
    counts = Counter(answer.by for answer in answers)
    return ", ".join(f"{counts[kind]} {SAID[kind]}" for kind in KINDS)

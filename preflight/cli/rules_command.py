"""``preflight rules``: the rules, one of them, or what answers each row of the catalogue of checks."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Final

import click
from rich.table import Table
from rich.text import Text

from preflight.errors import ExitStatus, WrongUsage
from preflight.findings import Verdict
from preflight.judging.catalogue import load_catalogue
from preflight.judging.coverage import KINDS, NOT_YET, Answer, coverage
from preflight.judging.rule_keys import WORDED
from preflight.judging.rulebook import Rule, Rulebook, load_rules
from preflight.quantities import with_squares
from preflight.report.terminal import TRAILING_BLANKS, WIDTH, make_console
from preflight.suggest import nearest

SAID: Final = {
    "rule": "by rules",
    "view": "in the report",
    "off": "by rules that are off",
    "nobody": "not by a program",
    NOT_YET: NOT_YET,
}
JSON_KEYS: Final = ("row", "asks", "rules", "view", "because")
LABEL_WIDTH: Final = 16
NARROWEST: Final = 30
LEAST_TEXT: Final = 24
IF_NOT_CHECKED: Final = {Verdict.PASS: "note", Verdict.WARN: "warn", Verdict.FAIL: "fail"}


def run_rules(name: str | None, files: Sequence[Path], *, as_json: bool = False) -> int:
    """List the rules, or show one; for people wrapped to the terminal, for programs as JSON."""
    book = load_rules(files)
    if name is not None and name not in (*book.rules, *book.off, *book.retired):
        hint = nearest(name, (*book.rules, *book.off, *book.retired))
        raise WrongUsage(f"there is no rule {name}" + (f"; did you mean {hint}?" if hint else ""))
    if as_json:
        names = (*book.rules, *book.off, *book.retired) if name is None else (name,)
        entries = [_rule_entry(book, each) for each in names]
        click.echo(json.dumps(entries if name is None else entries[0], ensure_ascii=False, indent=1))
    elif name is None:
        _list(book)
    else:
        _show(book, name)
    return int(ExitStatus.OK)


def run_coverage(files: Sequence[Path], *, as_json: bool) -> int:
    """Print what answers each row, as a table for people or as JSON for programs."""
    sections = coverage(load_rules(files), load_catalogue())
    everything = [answer for answers in sections.values() for answer in answers]
    if as_json:
        click.echo(json.dumps([_entry(answer) for answer in everything], ensure_ascii=False, indent=1))
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
        _print_line(name, rule.asks, width + 2)
    for name, reason in book.off.items():
        _print_line(name, f"switched off: {reason}", width + 2)


def _rule_entry(book: Rulebook, name: str) -> dict[str, object]:
    """All of a rule as plain data; of one that is switched off or retired, that it is."""
    if name in book.off:
        return {"rule": name, "status": "off", "off": book.off[name]}
    if name in book.retired:
        return {"rule": name, "status": "retired"}
    rule = book.rules[name]
    limits = {case: _limits(rule, case) for case in ("", *rule.cases)}
    return {
        "rule": rule.rule,
        "status": rule.status,
        "asks": rule.asks,
        "measure": rule.measure,
        "with": dict(rule.with_as_written),
        "when": {reference.text: str(limit) for reference, limit in rule.when},
        **limits.pop(""),
        "cases": {case: {**at, **{key: rule.words(case, key) for key in WORDED}} for case, at in limits.items()},
        **{key: getattr(rule, key) for key in (*WORDED, "source", "since")},
        "covers": list(rule.covers),
        "if_not_checked": IF_NOT_CHECKED[rule.if_not_checked],
        "from": rule.file,
    }


def _limits(rule: Rule, case: str) -> dict[str, str | None]:
    """``fail``, ``warn`` and ``note`` of a case as they are written; None for those that it has not."""
    return {verdict.word: str(limit) if limit else None for verdict, limit in rule.limits(case).items()}


def _entry(answer: Answer) -> dict[str, object]:
    return {key: getattr(answer, key) for key in JSON_KEYS}


def _show(book: Rulebook, name: str) -> None:
    if name in book.off:
        _print_line("rule", name)
        _print_line("switched off", book.off[name])
        return
    if name in book.retired:
        _print_line("rule", name)
        _print_line("status", "retired")
        return
    for label, text in _lines(book.rules[name]):
        if text:
            _print_line(label, text)


def _print_line(label: str, text: str, label_width: int = LABEL_WIDTH) -> None:
    """A label and its text, which is wrapped beside it to the width of the terminal; below it where that is narrow."""
    width = max(make_console().width - 1, NARROWEST)
    if width < label_width + LEAST_TEXT:
        click.echo(label)
        click.echo(click.wrap_text(with_squares(text), width, initial_indent="  ", subsequent_indent="  "))
        return
    indent = " " * label_width
    click.echo(click.wrap_text(f"{label:<{label_width}}{with_squares(text)}", width, subsequent_indent=indent))


def _lines(rule: Rule) -> list[tuple[str, str]]:
    """Every key that the rule has, as a label and its text; an empty text is not shown."""
    lines = [("rule", rule.rule), ("asks", rule.asks), ("measure", rule.measure)]
    lines += [("with", f"{key}: {_plain(value)}") for key, value in rule.with_as_written.items()]
    lines += [("when", f"{reference.text}: {limit}") for reference, limit in rule.when]
    for case in ("", *rule.cases):
        of = f" ({case})" if case else ""
        lines += [(f"{key}s", f"{limit}{of}" if limit else "") for key, limit in _limits(rule, case).items()]
    lines += [("says", rule.says), ("why", rule.why), ("do", rule.do), ("customer", rule.customer)]
    lines += [("source", rule.source), ("covers", ", ".join(rule.covers)), ("since", rule.since)]
    lines += [("status", rule.status), ("if not checked", IF_NOT_CHECKED[rule.if_not_checked])]
    return [*lines, ("from", rule.file)]


def _plain(value: str | tuple[str, ...]) -> str:
    return value if isinstance(value, str) else ", ".join(value)


def _coverage_table(answers: Iterable[Answer]) -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(width=3, no_wrap=True)
    table.add_column(ratio=1)
    table.add_column(width=30)
    for answer in answers:
        said = [*answer.rules, *([f"report: {answer.view}"] if answer.view else [])]
        if answer.because:
            said.append(f"({answer.because})" if said else answer.because)
        table.add_row(
            answer.row, with_squares(answer.asks), Text("\n".join(said), "dim" if answer.by == NOT_YET else "")
        )
    return table


def _answered(answers: Sequence[Answer]) -> str:
    done = sum(answer.by in ("rule", "view") for answer in answers)
    return f"{done} of {len(answers)} rows answered"


def _counted(answers: Iterable[Answer]) -> str:
    counts = Counter(answer.by for answer in answers)
    return ", ".join(f"{counts[kind]} {SAID[kind]}" for kind in KINDS if counts[kind] or kind != "off")

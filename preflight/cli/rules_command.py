"""``preflight rules`` and ``preflight schema``."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import click

from preflight.cli.schemas import json_schema
from preflight.errors import ExitStatus, WrongUsage
from preflight.judging.rulebook import Rule, Rulebook, load_rules
from preflight.suggest import nearest


def run_rules(name: str | None, files: Sequence[Path]) -> int:
    """List the rules, or show one."""
    book = load_rules(files)
    if name is None:
        _list(book)
    else:
        _show(book, name)
    return int(ExitStatus.OK)


def run_schema(what: str) -> int:
    """Print a JSON Schema."""
    click.echo(json.dumps(json_schema(what), ensure_ascii=False, indent=1))
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

"""The README's table of checks, made from the rules: ``python -m tests.readme_tables`` writes it anew."""

from __future__ import annotations

import re
from pathlib import Path

from preflight.findings import Verdict
from preflight.judging.rulebook import Rule, load_rules
from preflight.quantities import with_squares

README = Path(__file__).parent.parent / "README.md"
_TABLE = re.compile(r"(<!-- checks: begin -->\n).*?(<!-- checks: end -->)", re.DOTALL)


def limits_in_words(rule: Rule, *which: Verdict) -> str:
    """The limits of all cases; that of a remark says so, since it shares its column."""
    found: list[str] = []
    for verdict in which:
        remark = "remark: " if verdict is Verdict.NOTE else ""
        for case in ("", *rule.cases):
            limit = rule.limits(case)[verdict]
            if limit is not None and (not case or f"{remark}{limit}" not in found):
                found.append(f"{remark}{limit}" + (f" ({case})" if case else ""))
    return "; ".join(found) or "–"


def table_of_checks() -> str:
    rows = ["| rule | asks | fails | warns |", "|---|---|---|---|"]
    rows += [
        f"| `{name}` | {rule.asks} | {limits_in_words(rule, Verdict.FAIL)} "
        f"| {limits_in_words(rule, Verdict.WARN, Verdict.NOTE)} |"
        for name, rule in load_rules().rules.items()
    ]
    return with_squares("\n".join(rows)) + "\n"


def readme_with_table() -> str:
    return _TABLE.sub(lambda match: match[1] + table_of_checks() + match[2], README.read_text())


if __name__ == "__main__":
    README.write_text(readme_with_table())

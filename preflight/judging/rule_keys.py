"""The keys of a rule as they are written; every key but ``rule`` may be left out, since files are layered."""

from __future__ import annotations

import re
from collections.abc import Mapping
from string import Formatter
from typing import Annotated, Any, Final

from pydantic import Field

from preflight.errors import NotUnderstood
from preflight.inputs.fields import SCALAR, ClosedKeys, Parsed, Text, Texts, one_or_more, plain_text, word
from preflight.judging.limits import Limit, read_limit
from preflight.judging.references import Reference, reference

ALWAYS_QUOTED: Final = ("reading", "limit", "asked", "count", "places", "place", "separation", "page")
"""What ``says``, ``why``, ``do`` and ``customer`` may quote of any reading."""
WORDED: Final = ("says", "why", "do", "customer")
STATUSES: Final = ("trial", "active", "retired")
_LIMIT_SCHEMA: Final = {
    "type": "string",
    "pattern": r"^(below|above|outside|is|is not|one of|not one of)\s",
    "examples": ["below 2 mm", "above press.sheet.largest", "one of [grey, kraft]"],
}


def _name(value: object) -> str:
    name = plain_text(value)
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name):
        raise NotUnderstood("a name in small letters with hyphens that names the fault, such as bleed-short")
    return name


def _quoting(value: object) -> str:
    """Words that may quote ``{reading}``, ``{limit}`` and facts of the reading; see ``phrases.Phrase``."""
    if isinstance(value, Mapping):
        raise NotUnderstood("text (in quotes where it begins with a brace)")
    text = plain_text(value)
    try:
        quoted = [
            (name, spec or conversion) for _, name, spec, conversion in Formatter().parse(text) if name is not None
        ]
    except ValueError:
        raise NotUnderstood("braces in pairs, such as {reading}") from None
    for name, more in quoted:
        if name.isidentifier() and (not more or more.count("|") == 1 and "{" not in more):
            continue
        raise NotUnderstood(
            "the bare name of a fact between braces, such as {reading}, or a wording for one and for several, such as "
            f"{{places:# line|# lines}}, not {{{name}{':' * bool(more)}{more or ''}}}"
        )
    return text


def quoted(text: str) -> list[str]:
    """Names of the facts that a wording quotes in braces."""
    return [name for _, name, _, _ in Formatter().parse(text) if name is not None]


def _parameter(value: object) -> str | tuple[str, ...]:
    return tuple(plain_text(item) for item in value) if isinstance(value, list) else plain_text(value)


RuleName = Annotated[str, Parsed(_name, {"type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$"})]
LimitText = Annotated[Limit, Parsed(read_limit, _LIMIT_SCHEMA)]
Words = Annotated[str, Parsed(_quoting, {"type": "string"})]
Conditions = dict[Annotated[Reference, Parsed(reference, {"type": "string"})], LimitText]
Parameter = Annotated[Any, Parsed(_parameter, one_or_more(SCALAR))]


class CaseKeys(ClosedKeys):
    """What a case says differently."""

    fail: LimitText | None = None
    warn: LimitText | None = None
    note: LimitText | None = None
    says: Words | None = None
    why: Words | None = None
    do: Words | None = None
    customer: Words | None = None


class RuleKeys(ClosedKeys):
    """One rule of a file, or what a file changes in one."""

    rule: RuleName
    asks: Text | None = None
    measure: Text | None = None
    with_: dict[str, Parameter] | None = Field(None, alias="with")
    """Parameters of the measure, each with its unit."""
    when: Conditions | None = None
    """Limits the rule to jobs where all of these hold."""
    fail: LimitText | None = None
    warn: LimitText | None = None
    note: LimitText | None = None
    cases: dict[str, CaseKeys | None] | None = None
    allowed: Annotated[str, word("none")] | None = None
    """What people are told in place of a limit that only allows for what is too little to matter."""
    says: Words | None = None
    why: Words | None = None
    do: Words | None = None
    customer: Words | None = None
    source: Text | None = None
    covers: Texts | None = None
    since: Text | None = None
    status: Annotated[str, word(*STATUSES)] | None = None
    if_not_checked: Annotated[str, word("note", "warn", "fail")] | None = None
    off: Text | None = None
    """Why the rule is switched off."""

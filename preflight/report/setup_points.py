"""What stands against a job, what has to be settled and what was not checked: alike sentences as one, and counted.

Counts are kept through all of it, so that what is shown and what is only counted add up to what the headline says.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from preflight.findings import with_and

Document = Mapping[str, Any]

ALIKE_SHARE: Final = 0.5
"""Least share of their words that alike sentences have in common."""
LONGEST_DIFFERENCE: Final = 12
"""Words; what differs by more is no list of names."""
OPEN_NAMED: Final = 5
OPEN_WORDS: Final = {
    "inks-unfit-for-goods": "inks for the goods inside",
    "medicine-versions-together": "versions of a medicine kept apart",
    "line-clearance-missing": "line clearance",
    "grain-against-creases": "grain against the creases",
    "ink-unfit-for-board": "inks on this board",
    "ink-unfit-for-coating": "inks under the coating",
    "sheet-over-die-cutter": "sheet in the die-cutter",
    "pile-too-heavy": "weight of the piles",
    "wash-up-awkward": "wash-ups",
}
"""Rules that a set-up waits for, what matters most first."""
_RULE: Final = re.compile(r"[a-z0-9]+(-[a-z0-9]+)+")
_PLACES_SHOWN: Final = re.compile(r",? the \d+ longest of them shown")


@dataclass(frozen=True)
class Point:
    """A sentence, and for how many of the check's sentences it stands: none for what is no finding."""

    says: str
    counts: int = 1


@dataclass(frozen=True)
class OpenPoints:
    """What was not checked, in a few words."""

    named: tuple[str, ...]
    """What each is about, what matters most first."""

    @property
    def count(self) -> int:
        """How many points there are."""
        return len(self.named)

    def words(self, where: str = "", most: int = OPEN_NAMED) -> str:
        """``5 points not checked: wash-ups and 3 more (from page 3)``; empty where all was."""
        if not self.count:
            return ""
        points = "1 point" if self.count == 1 else f"{self.count} points"
        shown = tuple(dict.fromkeys(self.named))[:most]
        more = sum(name not in shown for name in self.named)
        listed = with_and([*shown, *([f"{more} more"] if more else [])])
        return f"{points} not checked: {listed}{f' ({where})' if where else ''}."


def without_places(text: str) -> str:
    """The sentence without what it says of places that a picture of the report shows: there is none on the sheet."""
    return _PLACES_SHOWN.sub("", text)


def reasons_against(document: Document, conflict: Sequence[str]) -> tuple[Point, ...]:
    """Why the job is not to be run: what leaves no order, then the faults, of each rule one before a second one.

    Args:
        document: what ``setup.json`` says.
        conflict: why there is no order of the units, in few sentences.
    """
    entries = {str(entry["says"]) for entry in (document.get("plan") or {}).get("conflict") or ()}
    told = [str(text) for text in document.get("why_not") or () if text not in entries]
    rules = {entry["says"]: entry["rule"] for entry in document.get("findings") or ()}
    faults, seen = list[tuple[int, Point]](), Counter[str]()
    for point, first in _alike(told):
        rule = rules.get(first, first)
        faults.append((seen[rule], point))
        seen[rule] += 1
    ordered = [point for _, point in sorted(faults, key=lambda fault: fault[0])]
    return (*(Point(text, 0) for text in conflict), *ordered)


def queries_of(document: Document) -> tuple[Point, ...]:
    """What somebody has to settle."""
    return tuple(point for point, _ in _alike([str(text) for text in document.get("queries") or ()]))


def open_points(document: Document) -> OpenPoints:
    """What was not checked, what matters most first."""
    heads = [_head(entry) for entry in document.get("not_checked") or ()]
    order = list(OPEN_WORDS)
    heads.sort(key=lambda head: order.index(head) if head in OPEN_WORDS else len(order) + (not _RULE.fullmatch(head)))
    return OpenPoints(tuple(_called(head) for head in heads))


def _head(entry: object) -> str:
    """What an entry of ``not_checked`` is about: its rule, or what is before its colon or bracket."""
    if isinstance(entry, Mapping):
        return str(entry.get("rule") or _head(entry["because"]))
    return re.split(r"[:(;]", str(entry), maxsplit=1)[0].strip(" .")


def _called(head: str) -> str:
    if head in OPEN_WORDS:
        return OPEN_WORDS[head]
    return head.replace("-", " ") if _RULE.fullmatch(head) else f"{head[:1].lower()}{head[1:]}"


# Alike sentences ---------------------------------------------------------------------------------------------------


def _alike(texts: Sequence[str]) -> list[tuple[Point, str]]:
    """Sentences that differ in a name or two as one, each with the first of them as it was."""
    groups = list[list[str]]()
    for text in texts:
        group = next((held for held in groups if _differences([*held, text]) is not None), None)
        if group is None:
            groups.append([text])
        else:
            group.append(text)
    return [(Point(_as_one(group), len(group)), group[0]) for group in groups]


def _as_one(group: Sequence[str]) -> str:
    first, others = without_places(group[0]), (_differences(group) or [])[1:]
    return f"{first} Likewise: {'; '.join(dict.fromkeys(others))}." if others else first


def _differences(texts: Sequence[str]) -> list[str] | None:
    """What each sentence has between the words that all begin and end with; None where that is too much or nothing.

    A name is never cut: words with a capital at the edge of what is alike go with what differs.
    """
    rows = [text.split() for text in texts]
    shortest = min(map(len, rows))
    begin = next((k for k in range(shortest) if len({row[k] for row in rows}) > 1), shortest)
    most = shortest - begin
    end = next((k for k in range(most) if len({row[-1 - k] for row in rows}) > 1), most)
    while begin and rows[0][begin - 1][:1].isupper():
        begin -= 1
    while end and rows[0][len(rows[0]) - end][:1].isupper():
        end -= 1
    told = [" ".join(row[begin : len(row) - end]).strip(" ,;.") for row in rows]
    alike = begin + end >= ALIKE_SHARE * max(map(len, rows))
    short = all(0 < len(text.split()) <= LONGEST_DIFFERENCE for text in told)
    return told if alike and short and len(texts) > 1 else None

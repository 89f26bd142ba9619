"""Readings, findings and verdicts: the plain data that measures, the judge and the reports share.

A *reading* is one measured value with its unit and its place. A *finding* is a reading (or several of one
cause) that a rule objects to. Nothing in here decides anything.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from typing import Literal

from preflight.errors import NotMeasured, WantOf

Known = Literal["stated", "read", "assumed"]
"""How a place or a kind is known: from the ticket, from the file or rules/names.yaml, or a guess."""

Value = float | str | bool | tuple[float, float]


class Verdict(IntEnum):
    """What comes out; ordered so that the worst of several is their ``max``.

    A note is what is worth knowing and nothing else: it lies under a pass, so that none makes a verdict worse.
    """

    NOTE = -1
    PASS = 0
    WARN = 1
    FAIL = 2

    @property
    def word(self) -> str:
        """The word that reports and exit statuses use: ``note`` (of a finding alone), ``pass``, ``warn``, ``fail``."""
        return self.name.lower()


def with_and(words: Iterable[str]) -> str:
    """``a, b and c``; empty for none."""
    *most, last = [*words] or [""]
    return f"{', '.join(most)} and {last}" if most else last


def listed(names: Iterable[str], most: int = 30) -> str:
    """Names in a row, the first of very many: ``Cyan, Gold and 1,970 more``."""
    held = list(names)
    more = f" and {len(held) - most:,} more" if len(held) > most else ""
    return ", ".join(held[:most]) + more


def numbers_listed(numbers: Iterable[int]) -> str:
    """Numbers in order, three and more on end as a stretch: ``3, 7 to 12, 15``."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    shown = [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs]
    return listed(shown)


class Count(int):
    """A fact that counts things; the things of all readings of one finding are counted together."""


@dataclass(frozen=True)
class Beyond:
    """A fact that is told for the limit that was tripped: how much lies above each of some levels."""

    levels: tuple[float, ...]
    """Rising, in the unit of the reading."""
    amounts: tuple[float, ...]
    unit: str

    def above(self, limit: float) -> tuple[float, str]:
        """How much lies above a limit, and its unit; of the next higher level that is known."""
        at = bisect_left(self.levels, limit)
        return (self.amounts[at] if at < len(self.amounts) else 0.0), self.unit


@dataclass(frozen=True)
class Place:
    """A rectangle on a page as displayed, in mm from its lower-left corner (x0, y0, x1, y1)."""

    box_mm: tuple[float, float, float, float]
    page: int = 1
    separation: str | None = None
    path: str = ""
    """Where in words, such as ``panel 2`` or ``top edge of blank 3``; empty where nobody knows."""


@dataclass(frozen=True)
class Reading:
    """One measured value.

    ``value`` is what the limits of a rule are held against; ``unit`` is one of the units of
    ``quantities`` (``mm``, ``%``, ``ppi``, ``pt``, ``mm2``), a counted noun (``plates``) or empty for a word.
    """

    value: Value
    unit: str = ""
    places: tuple[Place, ...] = ()
    known: Known = "read"
    case: str = ""
    """Which ``cases:`` entry of the rule applies; empty for the rule's own limits and words."""
    group: str = ""
    """Readings of one rule, case and group are one fault and become one finding."""
    facts: Mapping[str, object] = field(default_factory=dict)
    """Further words and numbers that ``says``, ``why`` and ``do`` may quote in braces.

    Of several readings in one finding the worst is quoted, but a ``Count`` is added up, and lists are joined.
    """
    only_warns: str = ""
    """Why this reading may not fail whatever the limit says; empty where it may."""
    limit_cap: float | None = None
    """The limit is at most this, in the reading's unit (half the slot, half the gutter)."""
    units: tuple[int, ...] = ()
    """Units of the press that it speaks of; where empty, the reports take those of its places' separations."""


@dataclass(frozen=True)
class Unusable:
    """A statement of the ticket that nothing on the page can be brought together with."""

    statement: str
    """The key and what the ticket gives it: ``coating.area: Spot Varnish``."""
    because: str
    """Why, in a clause: ``the file has no such separation``."""
    meant: str = ""
    """What was probably meant; empty where nothing is near."""


@dataclass(frozen=True)
class Gap:
    """What a measure has not looked at, or could not, beside what it found."""

    because: str
    would_help: str = ""
    want_of: WantOf = "file"
    places: tuple[Place, ...] = ()
    """Where that is; empty where it has no place or nobody knows."""

    @classmethod
    def of(cls, reason: NotMeasured) -> Gap:
        """What was raised by a part of a measure that can go on without it."""
        return cls(reason.because, reason.would_help, reason.want_of)


@dataclass(frozen=True)
class Measured:
    """What a measure has found, said together with what it has not looked at."""

    readings: Sequence[Reading]
    gaps: Sequence[Gap] = ()


@dataclass(frozen=True)
class Finding:
    """What a rule objects to: one fault, however many places it has."""

    rule: str
    verdict: Verdict
    says: str
    why: str
    do: str
    source: str
    customer: str
    """The sentence to send to the customer; empty where the matter is the plant's own."""
    measured: tuple[Value, str]
    limit: tuple[Value, str] | None
    limit_words: str = ""
    """The limit as the report shows it: ``minimum 2 mm``, ``none``."""
    places: tuple[Place, ...] = ()
    known: Known = "read"
    case: str = ""
    trial: bool = False
    """A trial rule reports and never changes the verdict."""
    units: tuple[int, ...] = ()
    """Units of the press that its readings speak of."""

    @property
    def order(self) -> tuple[bool, bool, int]:
        """What sorts findings as reports list them: the worst first, behind them trial rules, and notes last."""
        return self.verdict is Verdict.NOTE, self.trial, -self.verdict


@dataclass(frozen=True)
class NotChecked:
    """A rule that could not be decided, why, and what would let it be checked."""

    rule: str
    because: str
    would_help: str = ""
    counts_as: Verdict = Verdict.PASS
    own_fault: bool = False
    """The tool itself broke (exit status 5)."""
    want_of: WantOf = "file"
    """In what something is missing or broken."""
    places: tuple[Place, ...] = ()
    """It was decided but for these places; empty where it was not decided at all, or nobody can tell where."""
    traceback: str = ""
    """Where the tool broke; kept in the JSON, and never on the screen."""
    needed: bool = True
    """The job needs it to be checked: false of what the ticket leaves open and of what changes no verdict anyway."""


@dataclass(frozen=True)
class NotAsked:
    """A rule that is not for this job, and the condition that says so."""

    rule: str
    because: str


@dataclass(frozen=True)
class SwitchedOff:
    """A rule that a rules file switches off, and its reason."""

    rule: str
    because: str


@dataclass(frozen=True)
class Waived:
    """A finding that a waiver covers; kept whole, so that the report can still show it."""

    finding: Finding
    reason: str
    by: str
    until: str
    remark: str = ""


@dataclass(frozen=True)
class Judgement:
    """Everything the judge says about one page of a job."""

    verdict: Verdict
    findings: tuple[Finding, ...]
    waived: tuple[Waived, ...] = ()
    not_checked: tuple[NotChecked, ...] = ()
    passed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    not_asked: tuple[NotAsked, ...] = ()
    switched_off: tuple[SwitchedOff, ...] = ()

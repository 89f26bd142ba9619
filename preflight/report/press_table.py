"""The presses that were compared, in words: a row each, the best first as the document has them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from preflight.report import words

Document = Mapping[str, Any]
UNKNOWN = "-"


@dataclass(frozen=True)
class PressRow:
    """One press."""

    place: int
    press: str
    file: str
    fits: bool
    passes: str
    wash_ups: str
    sheets: str
    used: str
    """Share of the sheet that becomes cartons."""
    hours: str
    reasons: tuple[tuple[str, str], ...]
    """Why it does not fit: the rule, and what it says."""

    @property
    def answer(self) -> str:
        """In words, for a table that has to be read without colour."""
        return "fits" if self.fits else "does not fit"


def press_rows(document: Document) -> list[PressRow]:
    """All of them, in the document's order."""
    return [_row(k + 1, entry) for k, entry in enumerate(document["presses"])]


def presses_headline(document: Document) -> str:
    """``1 of 3 presses takes the job in one pass: Six units …``."""
    rows = press_rows(document)
    fitting = [row for row in rows if row.fits]
    if not rows:
        return "No press was compared."
    if not fitting:
        return "The press does not take the job as it is." if len(rows) == 1 else "No press takes the job as it is."
    takes = "takes" if len(fitting) == 1 else "take"
    counted = "The press" if len(rows) == 1 else f"{len(fitting)} of {len(rows)} presses"
    return f"{counted} {takes} the job in one pass. Best: {words.short(fitting[0].press)}."


def _row(place: int, entry: Document) -> PressRow:
    hours = entry.get("hours")
    return PressRow(
        place,
        str(entry["press"]),
        str(entry["file"]),
        bool(entry["fits"]),
        passes=_count(entry.get("passes")),
        wash_ups=_count(entry.get("wash_ups")),
        sheets=_count(entry.get("sheets")),
        used=words.per_cent(entry.get("used_share")) or UNKNOWN,
        hours=UNKNOWN if hours is None else f"{hours:.1f} h",
        reasons=tuple((str(reason["rule"]), str(reason["says"])) for reason in entry.get("reasons") or ()),
    )


def _count(value: int | None) -> str:
    return UNKNOWN if value is None else f"{value:,}"

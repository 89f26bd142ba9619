"""The change of jobs as bars: the steps of one sort in a row, each where it begins."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

Document = Mapping[str, Any]

STEP_WORDS: Final = {
    "plate_change": "plates",
    "wash_up": "wash up",
    "blanket_wash": "blankets",
    "ink_preset": "ink preset",
    "coater_change": "coater",
    "make_ready": "make-ready",
}


@dataclass(frozen=True)
class Bar:
    """One step, or several alike that run from and to the same minute."""

    start: float
    minutes: float
    hands: int = 0


@dataclass(frozen=True)
class BarRow:
    """The steps of one sort."""

    label: str
    """``wash up 3, 5``: with the units where the step has any."""
    bars: tuple[Bar, ...]
    """Empty where nobody says how long it takes."""
    told: str
    """``15 min``, ``15 + 5 min``, ``not known``."""


@dataclass(frozen=True)
class Change:
    """All rows, on one scale."""

    rows: tuple[BarRow, ...]
    end: float
    """Where the last bar ends."""
    total: str
    """``27.5 min``; empty where nobody knows."""


def change_of(document: Document) -> Change:
    """The bars of ``changes``; a start that the document does not give follows from ``at_once_with``."""
    changes = document.get("changes") or {}
    steps = changes.get("steps") or ()
    starts = _starts(steps)
    rows: dict[str, list[int]] = {}
    for k, step in enumerate(steps):
        rows.setdefault(step["step"], []).append(k)
    made = tuple(_row(step, [steps[k] for k in held], [starts[k] for k in held]) for step, held in rows.items())
    minutes = changes.get("minutes")
    end = max((bar.start + bar.minutes for row in made for bar in row.bars), default=0.0)
    at_least = "at least " if changes.get("at_least") else ""
    return Change(made, max(end, minutes or 0.0), "" if minutes is None else f"{at_least}{minutes:g} min")


def _row(step: str, steps: Sequence[Document], starts: Sequence[float]) -> BarRow:
    units = [str(entry["unit"]) for entry in steps if entry.get("unit") is not None]
    label = f"{STEP_WORDS.get(step, step.replace('_', ' '))} {', '.join(units)}".rstrip()
    known = [(start, entry) for start, entry in zip(starts, steps, strict=True) if entry.get("minutes") is not None]
    bars = dict.fromkeys(Bar(start, entry["minutes"], entry.get("hands") or 0) for start, entry in known)
    told = " + ".join(f"{bar.minutes:g}" for bar in bars)
    return BarRow(label, tuple(bars), f"{told} min" if len(known) == len(steps) else "not known")


def _starts(steps: Sequence[Document]) -> list[float]:
    """When each step begins: as told, else with the first that it is at once with, else after all before it."""
    starts: list[float] = []
    end = 0.0
    for k, step in enumerate(steps):
        told = step.get("start_minutes")
        beside = [starts[j] for j in range(k) if _at_once(step, steps[j])]
        starts.append(told if told is not None else min(beside, default=end))
        end = max(end, starts[-1] + (step.get("minutes") or 0.0))
    return starts


def _at_once(step: Document, other: Document) -> bool:
    return other["step"] in (step.get("at_once_with") or ()) or step["step"] in (other.get("at_once_with") or ())

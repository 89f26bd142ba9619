"""The registry of measures. Modules are listed by name at the end, so a reader sees what runs.

A measure is a function of the job that returns readings::

    @measure("ink-past-cut", unit="mm", tolerance=0.1)
    def ink_past_cut(job: Job, *, ink_from: float) -> list[Reading]:
        \"\"\"How far ink carries on past each stretch of cut line that it touches, in mm.\"\"\"

Keyword parameters are given by the rule's ``with:`` and typed by their annotation. A measure that cannot
decide raises ``NotMeasured``; an empty list means: looked, and there is nothing of the kind.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from preflight.findings import Reading
from preflight.measures.job import Job

RestsOn = Literal["plates", "objects", "inks"]
"""Plates as they are drawn, the table of objects, or only which inks print."""
Zone = Literal["page", "inside", "cut"]
"""All of the page, what is inside the cut and its bleed, or the neighbourhood of the cut."""


@dataclass(frozen=True)
class Measure:
    """A registered measure."""

    name: str
    unit: str
    """Unit of its readings, or empty where they are words."""
    tolerance: float
    """Measuring tolerance in ``unit``: a reading that misses its limit by no more than this passes."""
    function: Callable[..., list[Reading]]
    parameters: tuple[str, ...]
    rests_on: frozenset[RestsOn] = frozenset({"plates", "objects"})
    within: Zone = "inside"

    @property
    def summary(self) -> str:
        """First line of the docstring."""
        return (self.function.__doc__ or "").strip().splitlines()[0]


MEASURES: dict[str, Measure] = {}


def measure(
    name: str, *, unit: str, tolerance: float = 0.0, rests_on: Sequence[RestsOn] = ("plates", "objects"),
    within: Zone = "inside",
) -> Callable[[Callable[..., list[Reading]]], Callable[..., list[Reading]]]:  # fmt: skip
    """Register a measure; raises ValueError on a name used twice or a missing docstring.

    ``rests_on``: what of the page it looks at, and ``within`` what part, so that a rule is not taken for decided where
    something of that is missing.
    """

    def register(function: Callable[..., list[Reading]]) -> Callable[..., list[Reading]]:
        if name in MEASURES:
            raise ValueError(f"two measures are called {name}")
        if not (function.__doc__ or "").strip():
            raise ValueError(f"measure {name} has no docstring")
        code = function.__code__
        keywords = code.co_varnames[code.co_argcount : code.co_argcount + code.co_kwonlyargcount]
        MEASURES[name] = Measure(name, unit, tolerance, function, tuple(keywords), frozenset(rests_on), within)
        return function

    return register


__all__ = ["MEASURES", "Job", "Measure", "measure"]

# The measures: one module a topic; each is proved both ways in tests/test_house_rules.py.
from preflight.measures import (  # noqa: E402, F401
    areas,
    bleed,
    blending,
    creases,
    die_knocking_out,
    die_layers,
    die_lines,
    files,
    finishes,
    fonts,
    ink_total,
    layers,
    live_matter,
    metallics,
    neighbours,
    one_up,
    overprint,
    pages,
    pictures,
    plate_pages,
    printed_annotations,
    screened,
    separations,
    sheet,
    spot_definitions,
    type_and_line,
    units,
)

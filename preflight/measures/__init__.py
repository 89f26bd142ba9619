"""The registry of measures. Modules are listed by name at the end, so a reader sees what runs.

A measure is a function of the job that returns readings::

    @measure("ink-past-cut", unit="mm", tolerance=0.1)
    def ink_past_cut(job: Job, *, ink_from: float) -> list[Reading]:
        \"\"\"How far ink carries on past each stretch of cut line that it touches, in mm.\"\"\"

Keyword parameters are given by the rule's ``with:`` and typed by their annotation. A measure that cannot
decide raises ``NotMeasured``; an empty list means: looked, and there is nothing of the kind.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from preflight.findings import Reading
from preflight.measures.job import Job


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

    @property
    def summary(self) -> str:
        """First line of the docstring."""
        return (self.function.__doc__ or "").strip().splitlines()[0]


MEASURES: dict[str, Measure] = {}


def measure(
    name: str, *, unit: str, tolerance: float = 0.0
) -> Callable[[Callable[..., list[Reading]]], Callable[..., list[Reading]]]:
    """Register a measure; raises ValueError on a name used twice or a missing docstring."""

    def register(function: Callable[..., list[Reading]]) -> Callable[..., list[Reading]]:
        if name in MEASURES:
            raise ValueError(f"two measures are called {name}")
        if not (function.__doc__ or "").strip():
            raise ValueError(f"measure {name} has no docstring")
        code = function.__code__
        keywords = code.co_varnames[code.co_argcount : code.co_argcount + code.co_kwonlyargcount]
        MEASURES[name] = Measure(name, unit, tolerance, function, tuple(keywords))
        return function

    return register


__all__ = ["MEASURES", "Job", "Measure", "measure"]

# The measures: one module a topic; each is proved both ways in tests/test_house_rules.py.
from preflight.measures import (  # noqa: E402, F401
    areas,
    bleed,
    blending,
    die_lines,
    files,
    fonts,
    ink_total,
    live_matter,
    metallics,
    overprint,
    pictures,
    separations,
    sheet,
    type_and_line,
    units,
)

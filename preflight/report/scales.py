"""A measured value beside its limit, on a small scale."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from preflight.quantities import with_squares
from preflight.report.words import figure, is_number

WIDTH: Final = 260.0
EDGE: Final = 14.0
UNITS: Final = frozenset({"mm", "pt", "%", "ppi"})
"""Units that a scale helps to see; counts and areas are told in words."""
FURTHEST: Final = 10.0
"""Beyond so many times the limit the limit itself would sit in the end of the scale."""
LETTER: Final = 7.0
"""About the width of a figure in the labels, in the units of the drawing."""


@dataclass(frozen=True)
class Scale:
    """Places along a line ``WIDTH`` long, with the words to write at them."""

    measured: float
    measured_words: str
    limits: tuple[tuple[float, str], ...]
    allowed: tuple[float, float]
    """The stretch of the line where a value would have passed."""
    ends: tuple[tuple[float, str], tuple[float, str]]

    def beside(self, place: float, words: str) -> float:
        """Where to centre a label at a place so that it stays on the drawing."""
        half = len(words) * LETTER / 2
        return min(max(place, half), WIDTH - half)


def scale_of(finding: Mapping[str, Any]) -> Scale | None:
    """The scale of a finding; None where words say it better.

    That is where the value or its limit is a word, a size, a count or an area, where there is no limit, or where the
    value is more than some ten times the limit.
    """
    measured, limit = finding["measured"], finding["limit"]
    if limit is None or not is_number(measured["value"]) or measured["unit"] != limit["unit"]:
        return None
    if measured["unit"] not in UNITS:
        return None
    limits = limit["value"] if isinstance(limit["value"], list) else [limit["value"]]
    if not all(is_number(value) for value in limits) or len(limits) > 2:
        return None
    value, unit = float(measured["value"]), measured["unit"]
    if abs(value) > FURTHEST * max(abs(edge) for edge in limits):
        return None
    low, high = _axis([value, *limits])
    across = (WIDTH - 2 * EDGE) / (high - low)

    def at(number: float) -> float:
        return round(EDGE + (number - low) * across, 1)

    return Scale(
        at(value),
        figure(measured),
        _limits(limits, unit, finding["limit_words"], at),
        _allowed(value, limits, at(low), at(high), at),
        ((at(low), f"{low:g}"), (at(high), f"{high:g}")),
    )


def _limits(
    limits: Sequence[float], unit: str, words: str, at: Callable[[float], float]
) -> tuple[tuple[float, str], ...]:
    if len(limits) == 1 and words:
        return ((at(limits[0]), with_squares(words.rpartition(", ")[2])),)  # ``minimum 3 mm, a fault below 2 mm``
    return tuple((at(edge), figure({"value": edge, "unit": unit})) for edge in limits)


def _axis(values: list[float]) -> tuple[float, float]:
    """Round ends with room beside the outermost values, never below 0 where nothing is negative."""
    low, high = min(values), max(values)
    room = max((high - low) * 0.8, 0.12 * max(abs(low), abs(high)), 1e-6)
    step = 10 ** len(str(int(room))) / 20 if room >= 1 else 0.1 if room >= 0.1 else 0.01
    bottom = (low - room) // step * step
    top = -((-high - room) // step) * step
    return (max(bottom, 0.0) if low >= 0 else bottom), top


def _allowed(
    value: float, limits: list[float], low: float, high: float, at: Callable[[float], float]
) -> tuple[float, float]:
    """A finding missed its limit: the allowed side is the one where the value is not."""
    if len(limits) == 2:
        return at(min(limits)), at(max(limits))
    return (at(limits[0]), high) if value <= limits[0] else (low, at(limits[0]))

"""Fills ``says``, ``why``, ``do`` and ``customer`` with the reading, the limit and the reading's facts."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from preflight.carton.die import Die
from preflight.carton.places_in_words import place_words, words_for
from preflight.findings import Beyond, Count, Place, Reading, Value, listed, numbers_listed
from preflight.judging.limits import Outcome
from preflight.judging.rulebook import UNIT_SUFFIXES
from preflight.quantities import Size, in_print, shown, with_squares

_QUOTED: Final = re.compile(r"\{\{|\}\}|\{(\w+)(?::([^{}|]*)\|([^{}|]*))?\}")


@dataclass
class Phrase:
    """Facts by name; ``fill`` never fails, and ``unknown`` keeps what it could not fill."""

    facts: Mapping[str, str]
    unknown: list[str] = field(default_factory=list)

    def fill(self, text: str) -> str:
        """The text with every ``{name}`` replaced; a name that nothing gives stays as a bare word.

        ``{name:# line|# lines}`` is the first wording where the fact is one, else the second; ``#`` is the fact.
        """

        def replaced(match: re.Match[str]) -> str:
            name, one, several = match.groups()
            if name is None:
                return match.group(0)[0]
            if name not in self.facts and name not in self.unknown:
                self.unknown.append(name)
            text = self.facts.get(name, name)
            if one is None:
                return text
            return (one if text.split(" ")[0] == "1" else several).replace("#", text)

        return with_squares(_QUOTED.sub(replaced, text))


def facts_of(
    members: Sequence[Reading], unit: str, outcome: Outcome, places: Sequence[Place], die: Die
) -> dict[str, str]:
    """What a rule may quote of a finding.

    ``reading``, ``limit`` (on its own: ``2 mm``), ``asked`` (``minimum 2 mm``), ``count`` (readings), ``places``
    (``3 places``), ``place`` (the worst one in words), ``separation`` and ``page`` of it, and the facts of the reading.

    Args:
        members: the readings of the finding, the worst first.
        unit: of the readings.
        outcome: of the worst.
        places: of all of them.
        die: of the page, to name panels by.
    """
    first, reading = places[0] if places else None, members[0]
    facts = {
        "reading": reading_text(reading.value, unit, outcome.figure),
        "limit": outcome.figure,
        "asked": outcome.words,
        "count": str(len(members)),
        "places": f"{len(places)} place{'' if len(places) == 1 else 's'}",
        "place": place_words(first.box_mm, first.path or words_for(first.box_mm, die)) if first else "",
        "separation": (first.separation or "") if first else "",
        "page": str(first.page) if first else "",
    }
    told = {name: _at(outcome, _of_all(name, value, members)) for name, value in reading.facts.items()}
    return facts | {name: fact_text(name, value) for name, value in told.items()}


def _at(outcome: Outcome, value: object) -> object:
    """A fact as it is for the limit that was tripped."""
    if isinstance(value, Beyond):
        return value.above(float(outcome.limit)) if isinstance(outcome.limit, int | float) else value.above(0.0)
    return value


def _of_all(name: str, value: object, members: Sequence[Reading]) -> object:
    """A fact of the worst reading; counts and lists are those of all readings."""
    if isinstance(value, Count):
        return sum(int(other) for member in members if isinstance(other := member.facts.get(name), Count))
    if isinstance(value, list):
        lists = [other for member in members if isinstance(other := member.facts.get(name), list)]
        return list(dict.fromkeys(item for each in lists for item in each))
    return value


def reading_text(value: Value, unit: str, beside: str = "") -> str:
    """A measured value in words; finer where rounding would make it the limit that it misses."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    if isinstance(value, tuple):
        return str(Size(*value))
    text = shown(value, unit)
    finer = f"{value:.4g} {in_print(unit)}".strip()
    return finer if beside and text.replace(".0 ", " ") == beside.replace(".0 ", " ") and finer != beside else text


def fact_text(name: str, value: Any) -> str:
    """A fact in words; a number takes the unit that its name ends in (``gap_mm``)."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple) and len(value) == 2 and isinstance(value[1], str) and isinstance(value[0], int | float):
        return shown(value[0], value[1])
    if isinstance(value, list) and value and all(type(item) is int for item in value):
        return numbers_listed(value)
    if isinstance(value, list | tuple | set | frozenset):
        return listed(fact_text("", item) for item in value)
    unit = next((unit for suffix, unit in UNIT_SUFFIXES.items() if name.endswith(suffix)), "")
    try:
        return shown(float(value), unit)
    except (TypeError, ValueError):
        return str(value)

"""The registry: what each measure declares of its readings, so that a slip in a rule is seen before any job is."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import MISSING, dataclass, fields
from typing import Annotated, Any, Literal, TypeVar, get_type_hints

from preflight.findings import Measured, Reading
from preflight.inputs.fields import word
from preflight.job import Job
from preflight.kinds import KINDS

RestsOn = Literal["plates", "objects", "inks"]
"""Plates as they are drawn, the table of objects, or only which inks print."""
Zone = Literal["page", "inside", "cut"]
"""All of the page, what is inside the cut and its bleed, or the neighbourhood of the cut."""
FromRules = Literal["area_words", "rule_names"]
"""Words of the rulebook: of areas that any rule looks at, and the names of all rules, those switched off too."""
Kinds = tuple[Annotated[str, word(*KINDS)], ...]
"""Of a parameter: kinds of separation, so that a slip in one is refused when rules are loaded."""
Function = Callable[..., Measured | list[Reading]]
_F = TypeVar("_F", bound=Function)


@dataclass(frozen=True)
class Parameter:
    """What a rule's ``with:`` may give a measure."""

    name: str
    """As in Python, with the unit at its end: ``area_mm2``."""
    kind: Any
    """Its type."""
    required: bool


@dataclass(frozen=True)
class Measure:
    """A registered measure and what it declares."""

    name: str
    unit: str
    """Unit of its readings, or empty where they are words."""
    function: Function
    tolerance: float = 0.0
    """Measuring tolerance in ``unit``: a reading that misses its limit by no more than this passes."""
    parameters: tuple[Parameter, ...] = ()
    record: type | None = None
    """Where given, the function takes its parameters as one of these and not one by one."""
    cases: tuple[str, ...] = ()
    """Cases that its readings may have, apart from none."""
    facts: tuple[str, ...] = ()
    """Names of the facts that its readings may carry; which of them one has may depend on its case."""
    words: tuple[str, ...] = ()
    """The words that its readings can be, where they are words."""
    sizes: bool = False
    """Its readings are sizes, two lengths each, and not numbers."""
    rests_on: frozenset[RestsOn] = frozenset({"plates", "objects"})
    within: Zone = "inside"
    from_rules: tuple[FromRules, ...] = ()
    """Words of the rulebook that its function takes beside its parameters."""
    one_fault_by: str = ""
    """A fact: readings whose places meet and that share an item of it are one finding, whichever limits they miss."""

    @property
    def summary(self) -> str:
        """First line of the docstring."""
        return (self.function.__doc__ or "").strip().splitlines()[0]

    def run(
        self, job: Job, parameters: Mapping[str, object], rule_words: Mapping[FromRules, frozenset[str]] | None = None
    ) -> Measured:
        """Measure a job; raises whatever the measure raises, ``NotMeasured`` where it can say nothing at all.

        Args:
            job: what to measure.
            parameters: those that its rule gives.
            rule_words: words of the rulebook, for the measures that hold the ticket against them.
        """
        given = (self.record(**parameters),) if self.record else ()
        words = {key: (rule_words or {}).get(key, frozenset()) for key in self.from_rules}
        found = self.function(job, *given, **({} if self.record else parameters), **words)
        return found if isinstance(found, Measured) else Measured(found)

    def undeclared(self, readings: Sequence[Reading]) -> Iterator[str]:
        """What readings have that the measure does not declare, in words; tests hold every reading against it."""
        for reading in readings:
            if reading.case and reading.case not in self.cases:
                yield f"{self.name}: the case {reading.case!r}"
            yield from (f"{self.name}: the fact {name!r}" for name in reading.facts if name not in self.facts)
            if isinstance(reading.value, str) and reading.value not in self.words:
                yield f"{self.name}: the word {reading.value!r}"
            if isinstance(reading.value, tuple) != self.sizes:
                yield f"{self.name}: the value {reading.value!r}"
            if (reading.unit or self.unit) != self.unit:
                yield f"{self.name}: the unit {reading.unit!r}"


MEASURES: dict[str, Measure] = {}


def measure(
    name: str,
    *,
    unit: str,
    cases: Sequence[str] = (),
    facts: Sequence[str] = (),
    words: Sequence[str] = (),
    **more: Any,
) -> Callable[[_F], _F]:
    """Register a measure and what it declares; the fields of ``Measure`` say what each key means.

    Args:
        name: for rules to name it by.
        unit: of its readings; empty where they are words.
        cases: that readings may have.
        facts: that readings may carry.
        words: that readings can be.
        more: ``tolerance``, ``sizes``, ``record``, ``from_rules``, ``one_fault_by``, and ``rests_on`` (what of the page
            it looks at) and ``within`` (what part of it), so that a rule is not taken for decided where something of
            that is missing.

    Raises:
        ValueError: a name used twice, a missing docstring, words without a list of them, or no list at all.
    """

    def register(function: _F) -> _F:
        if name in MEASURES:
            raise ValueError(f"two measures are called {name}")
        if not (function.__doc__ or "").strip():
            raise ValueError(f"measure {name} has no docstring")
        if bool(words) != (not unit):
            raise ValueError(f"measure {name} has either a unit or a list of words")
        if any(isinstance(names, str) for names in (cases, facts, words)):
            raise ValueError(f"measure {name} declares one text where a list of them is wanted")
        MEASURES[name] = declared(
            function, name=name, unit=unit, cases=tuple(cases), facts=tuple(facts), words=tuple(words), **more
        )
        return function

    return register


def declared(
    function: Function,
    *,
    record: type | None = None,
    rests_on: Sequence[RestsOn] = ("plates", "objects"),
    from_rules: Sequence[FromRules] = (),
    **more: Any,
) -> Measure:
    """The measure that a function is, its parameters read off its signature or off its record."""
    read = _of_record(record) if record else _of_signature(function)
    parameters = tuple(parameter for parameter in read if parameter.name not in from_rules)
    return Measure(
        function=function,
        record=record,
        parameters=parameters,
        rests_on=frozenset(rests_on),
        from_rules=tuple(from_rules),
        **more,
    )


def _of_signature(function: Function) -> Iterator[Parameter]:
    hints = get_type_hints(function, include_extras=True)
    for name, given in inspect.signature(function).parameters.items():
        if given.kind is inspect.Parameter.KEYWORD_ONLY:
            yield Parameter(name, hints[name], given.default is inspect.Parameter.empty)


def _of_record(record: type) -> Iterator[Parameter]:
    hints = get_type_hints(record, include_extras=True)
    for field in fields(record):
        required = field.default is MISSING and field.default_factory is MISSING
        yield Parameter(field.name, hints[field.name], required)

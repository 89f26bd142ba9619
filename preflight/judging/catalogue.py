"""The catalogue of checks, rules/checks.yaml: what practitioners expect to be checked, row by row.

A rule says in ``covers`` which rows it decides; ``coverage`` tells what answers each row.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Annotated, Final

from preflight.errors import InputFault, InvalidInput, NotUnderstood
from preflight.inputs.fields import ClosedKeys, Parsed, Text, plain_text, some_words, word
from preflight.inputs.loading import load_yaml, rules_dir, shipped_rules_dir
from preflight.inputs.yaml_table import Table, build

FILE: Final = "checks.yaml"
STAGES: Final = ("intake", "artwork", "press fit", "unit plan", "sheet layout", "plates", "make-ready", "run")
"""When in the life of a job a row is asked."""
SURE: Final = ("file", "told", "estimate", "person")
"""How surely a program can decide a row: by the file, once told something, by a guess, not at all."""
ROW_PATTERN: Final = r"[A-Z]\d\d"


def _row_name(value: object) -> str:
    name = plain_text(value)
    if len(name) != 3 or not (name[0].isascii() and name[0].isupper() and name[1:].isdecimal()):
        raise NotUnderstood("a letter and two digits, such as B01")
    return name


class RowKeys(ClosedKeys):
    """One row of the catalogue."""

    row: Annotated[str, Parsed(_row_name, {"type": "string", "pattern": f"^{ROW_PATTERN}$"})]
    asks: Text
    sure: Annotated[tuple[str, ...], some_words(*SURE)]
    view: Text | None = None
    """The part of the report page that shows it."""
    because: Text | None = None
    """Why no rule decides it, or what its rules leave open."""


class SectionKeys(ClosedKeys):
    """Rows of one topic, asked at one stage of the job."""

    section: Text
    stage: Annotated[str, word(*STAGES)]
    rows: tuple[RowKeys, ...]


@dataclass(frozen=True)
class Catalogue:
    """The rows in the order of the file; none stands twice."""

    file: str
    sections: tuple[SectionKeys, ...]

    @cached_property
    def rows(self) -> Mapping[str, RowKeys]:
        """The rows by their names."""
        return {row.row: row for section in self.sections for row in section.rows}


def load_catalogue() -> Catalogue:
    """The catalogue of the rules folder; the shipped one where a plant's folder has none of its own.

    Raises:
        InvalidInput: with every fault of the file, a row that stands twice among them.
    """
    own = rules_dir() / FILE
    return _load(own if own.is_file() else shipped_rules_dir() / FILE)


def _load(path: Path) -> Catalogue:
    table = load_yaml(path)
    if not isinstance(table.data, list):
        raise InvalidInput([table.fault((), table.data, "a list of sections, each beginning with - section:")])
    table.called = {
        place: entry["section"]
        for place, entry in enumerate(table.data)
        if isinstance(entry, dict) and isinstance(entry.get("section"), str)
    }
    built = [build(SectionKeys, table, at=(place,)) for place in range(len(table.data))]
    sections = [section for section, _ in built if section is not None]
    faults = [fault for _, more in built for fault in more]
    if not faults:
        faults = list(_twice(table, sections))
    if faults:
        raise InvalidInput(faults)
    return Catalogue(str(path), tuple(sections))


def _twice(table: Table, sections: Sequence[SectionKeys]) -> Iterator[InputFault]:
    """Rows whose name is taken further up."""
    first: dict[str, int] = {}
    for place, section in enumerate(sections):
        for number, row in enumerate(section.rows):
            where = (place, "rows", number, "row")
            if row.row in first:
                yield table.fault(where, row.row, f"each row once (it is on line {first[row.row]} too)")
            first.setdefault(row.row, table.line(where))

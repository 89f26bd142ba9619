"""A table of OK sheets (CSV): how far each key was open, and what cover it had, when the sheet was signed.

Columns, in any order: ``unit, ink, board, key, cover, opening``; ``sheet`` and ``press`` may be there too. Between them
is a comma, a semicolon or a tab. All faults are told at once, each with file, line and column.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from preflight import quantities
from preflight.errors import InputFault, InvalidInput, NotUnderstood
from preflight.inputs.fields import known_word, plain_text
from preflight.inputs.kind_names import NamesTable, classify, load_names, process_ink_called
from preflight.inputs.yaml_table import described
from preflight.kinds import PRINTING_KINDS
from preflight.suggest import nearest

COLUMNS: Final = ("unit", "ink", "board", "key", "cover", "opening")
MORE_COLUMNS: Final = ("sheet", "press")
MOST_BYTES: Final = 20_000_000
MOST_FAULTS: Final = 200
"""After so many the table is taken for something else, and reading ends."""


@dataclass(frozen=True)
class KeyReading:
    """One key of one OK sheet."""

    line: int
    unit: int
    ink: str
    """Kind of the ink."""
    board: str
    key: int
    cover: float
    """0..1."""
    opening: float
    """In %."""
    sheet: str = ""
    """What names the sheet; empty where no column does."""
    press: str | None = None


def read_ok_sheets(path: str | Path) -> tuple[KeyReading, ...]:
    """The readings of a table.

    Raises:
        InvalidInput: with every fault of the file; there are none to read, too.
    """
    file = str(path)
    text = _text_of(Path(path), file)
    head = next((line for line in text.splitlines() if line.strip()), "")
    mark = max(";\t,", key=head.count) if any(sign in head for sign in ";\t,") else ","
    rows = csv.reader(io.StringIO(text), delimiter=mark)
    faults, found = list[InputFault](), list[KeyReading]()
    try:
        columns = _columns(rows, file)
        names = load_names()
        for row in rows:
            if any(cell.strip() for cell in row):
                _row(row, rows.line_num, columns, file, names, found, faults)
            if len(faults) >= MOST_FAULTS:
                break
    except csv.Error as error:
        faults.append(InputFault(file, rows.line_num, "", f"text that is no table ({error})", "a table (CSV)"))
    faults += [] if faults else list(_twice(found, file))
    if not found and not faults:
        faults.append(InputFault(file, 1, "", "no rows", "a row for each key of each OK sheet"))
    if faults:
        raise InvalidInput(faults)
    return tuple(found)


def _text_of(path: Path, file: str) -> str:
    def refuse(found: str, expected: str = "a table (CSV)", line: int = 0) -> InvalidInput:
        return InvalidInput([InputFault(file, line, "", found, expected)])

    try:
        with path.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise refuse("no such file") from None
    except (OSError, ValueError) as error:
        raise refuse(f"a file that cannot be opened ({getattr(error, 'strerror', None) or error})") from None
    if len(raw) > MOST_BYTES:
        raise refuse("a file over 20 MB", "a table of at most 20 MB")
    if raw.startswith((b"PK", b"\xd0\xcf", b"%PDF")) or b"\0" in raw:
        raise refuse("a file that is no plain text", "a table saved as CSV")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise refuse("a character that is not UTF-8", "UTF-8 text", line) from None


def _columns(rows: Any, file: str) -> dict[str, int]:
    """Place of each column; the first row that is not empty names them."""
    head: list[str] = next((row for row in rows if any(cell.strip() for cell in row)), [])
    line = max(rows.line_num, 1)
    known, found, faults = (*COLUMNS, *MORE_COLUMNS), dict[str, int](), list[InputFault]()
    for place, cell in enumerate(head):
        name = cell.strip().lower()
        if name in known and name not in found:
            found[name] = place
        elif name in found:
            faults.append(InputFault(file, line, name, "a second column of this name", "one of each"))
        elif name:
            near = nearest(name, known)
            faults.append(InputFault(file, line, "", described(cell), f"one of {', '.join(known)}", near))
    missing = [name for name in COLUMNS if name not in found]
    if missing:
        faults.append(InputFault(file, line, "", "no " + " and no ".join(missing), f"the columns {', '.join(COLUMNS)}"))
    if faults:
        raise InvalidInput(faults)
    return found


def _row(
    row: list[str],
    line: int,
    columns: Mapping[str, int],
    file: str,
    names: NamesTable,
    found: list[KeyReading],
    faults: list[InputFault],
) -> None:
    """Read one row into ``found``, or say in ``faults`` what is wrong with it."""
    if len(row) > max(columns.values()) + 1 and any(cell.strip() for cell in row[max(columns.values()) + 1 :]):
        faults.append(InputFault(file, line, "", f"{len(row)} values", f"{len(columns)}, one for each column"))
        return
    told: dict[str, Any] = {}
    for column, read in _readers(names).items():
        if column not in columns:
            continue
        cell = row[columns[column]].strip() if columns[column] < len(row) else ""
        if not cell and column in MORE_COLUMNS:
            continue
        try:
            told[column] = read(cell)
        except NotUnderstood as fault:
            given = described(cell) if cell else "nothing"
            faults.append(InputFault(file, line, column, given, fault.expected, fault.suggestion))
    if all(column in told for column in COLUMNS):
        found.append(KeyReading(line, **told))


def _readers(names: NamesTable) -> dict[str, Callable[[str], Any]]:
    return {
        "unit": lambda cell: _from_one(cell, "the number of a unit, from 1"),
        "ink": lambda cell: _kind(cell, names),
        "board": plain_text,
        "key": lambda cell: _from_one(cell, "the number of a key, from 1 at the operator side"),
        "cover": _cover,
        "opening": _opening,
        "sheet": plain_text,
        "press": plain_text,
    }


def _from_one(cell: str, expected: str) -> int:
    number = quantities.count(cell)
    if number < 1:
        raise NotUnderstood(expected)
    return number


def _kind(cell: str, names: NamesTable) -> str:
    """A kind of ink, or that of an ink of this name; a name that tells nothing is a spot."""
    if process_ink_called(cell, names):
        return "process"
    word = known_word(cell, PRINTING_KINDS, open_list=True)
    if word in PRINTING_KINDS:
        return word
    told = classify(cell, names)
    kind = told[0] if told else "spot"
    if kind not in PRINTING_KINDS:
        raise NotUnderstood(f"an ink, or one of {', '.join(PRINTING_KINDS)} (this is {kind})")
    return kind


def _cover(cell: str) -> float:
    if cell.endswith("%"):
        cover = quantities.percent(cell) / 100
        if cover > 1:
            raise NotUnderstood("a cover up to 100 %")
        return cover
    cover = quantities.number(cell)
    if cover > 1:
        raise NotUnderstood("a cover from 0 to 1, or in %", f"{cell} %" if cover <= 100 else "")
    return cover


def _opening(cell: str) -> float:
    opening = quantities.percent(cell) if cell.endswith("%") else quantities.number(cell)
    if opening > 100:
        raise NotUnderstood("an opening from 0 to 100 %")
    return opening


def _twice(found: list[KeyReading], file: str) -> Iterator[InputFault]:
    """A key that a named sheet has twice for one ink; without names, one that comes again is the next sheet's."""
    first: dict[tuple[object, ...], int] = {}
    for each in found:
        key = (each.press, each.unit, each.ink, each.board.casefold(), each.sheet, each.key)
        if each.sheet and key in first:
            told = f"key {each.key} of sheet {each.sheet} again (first on line {first[key]})"
            yield InputFault(file, each.line, "key", told, "each key of a sheet once")
        first.setdefault(key, each.line)

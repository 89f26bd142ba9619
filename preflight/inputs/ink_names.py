"""rules/inks.yaml: what does not count in the names of inks, and which foils are laid with an adhesive plate."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from preflight.errors import InvalidInput
from preflight.inputs.kind_names import fold
from preflight.inputs.loading import load_yaml, rules_dir, state_of
from preflight.inputs.yaml_table import KeyPath, Table

FILE: Final = "inks.yaml"
ONE_INK_KEYS: Final = ("suffixes", "library_words", "libraries", "library_suffixes")
ISSUE_KEYS: Final = ("issues", "numbered_issues")
"""Keys that a plant's own table may leave out."""


@dataclass(frozen=True, eq=False)  # compared as one object, since what follows from it is kept by it
class InkTable:
    """rules/inks.yaml, in small letters."""

    suffixes: frozenset[str]
    issues: frozenset[str]
    """Words for a new issue of a colour, at the end of a name."""
    numbered_issues: frozenset[str]
    """The same with a number behind it."""
    library_words: frozenset[str]
    libraries: Mapping[str, str]
    """Spelling to library."""
    library_suffixes: Mapping[str, frozenset[str]]
    adhesive: frozenset[str]
    """Names of foils that need an adhesive plate, folded and joined."""


def load_ink_table() -> InkTable:
    """The table of the house rules, the same one until its file changes.

    Raises:
        InvalidInput: rules/inks.yaml is wrong.
    """
    path = rules_dir() / FILE
    return _table(path, state_of(path))


def needs_adhesive(name: str) -> bool:
    """Whether a foil of this name is laid with an adhesive plate.

    Raises:
        InvalidInput: rules/inks.yaml is wrong.
    """
    words, table = fold(name), load_ink_table()
    ends = range(1, len(words) + 1)
    return any("".join(words[start:end]) in table.adhesive for end in ends for start in range(end))


@lru_cache(maxsize=4)
def _table(path: Path, state: tuple[int, int]) -> InkTable:  # state: so that an edited table is read anew
    table = load_yaml(path)
    top = _keys(table, (), ("one_ink", "adhesive"))
    inks = _keys(table, ("one_ink",), ONE_INK_KEYS, may=ISSUE_KEYS)
    libraries = _keys(table, ("one_ink", "libraries"))
    ends = _keys(table, ("one_ink", "library_suffixes"), within=libraries)
    return InkTable(
        suffixes=_words(table, ("one_ink", "suffixes"), inks),
        issues=_words(table, ("one_ink", "issues"), inks),
        numbered_issues=_words(table, ("one_ink", "numbered_issues"), inks),
        library_words=_words(table, ("one_ink", "library_words"), inks),
        libraries={
            spelling: library
            for library in libraries
            for spelling in _words(table, ("one_ink", "libraries", library), libraries)
        },
        library_suffixes={library: _words(table, ("one_ink", "library_suffixes", library), ends) for library in ends},
        adhesive=frozenset("".join(fold(name)) for name in _words(table, ("adhesive",), top)),
    )


def _keys(
    table: Table, path: KeyPath, wanted: Sequence[str] = (), within: Collection[str] = (), may: Collection[str] = ()
) -> dict[str, Any]:
    """The entries at a path: just those wanted and those that ``may`` be there, or at most those ``within``."""
    entry: Any = table.data
    for part in path:
        entry = entry[part]
    expected = f"the keys {', '.join(wanted or within)}" if wanted or within else "keys with lists of words"
    if (
        not isinstance(entry, dict)
        or (wanted and set(entry) - set(may) != set(wanted))
        or (within and set(entry) - set(within))
    ):
        raise InvalidInput([table.fault(path, entry, expected)])
    return entry


def _words(table: Table, path: KeyPath, entries: Mapping[str, Any]) -> frozenset[str]:
    words = entries.get(str(path[-1]), [])
    if not isinstance(words, list) or not all(isinstance(word, str) for word in words):
        raise InvalidInput([table.fault(path, words, "a list of words")])
    return frozenset(word.casefold() for word in words)

"""Reading the names of inks as a person does: ``FOREST 348C`` and ``Forest 348 C`` are one ink.

Case, blanks and punctuation are not looked at; endings (coated, uncoated …) and words that libraries put first are
dropped by a table of the house rules. Digits are never dropped.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Final

from preflight.errors import InvalidInput
from preflight.loading import load_yaml, rules_dir

TABLE: Final = "inks.yaml"
_KEYS: Final = ("suffixes", "library_words")


def one_ink_groups(names: Sequence[str]) -> list[tuple[str, ...]]:
    """Names that a person reads as one ink, in groups of two and more, in the order given.

    Raises:
        InvalidInput: rules/inks.yaml is wrong.
    """
    table = _table(rules_dir() / TABLE)
    read = {name: _as_read(name, table["suffixes"], table["library_words"]) for name in names}
    groups: list[list[str]] = []
    for name in names:
        home = next((g for g in groups if any(_one_ink(read[name], read[other]) for other in g)), None)
        if home is None:
            groups.append([name])
        else:
            home.append(name)
    return [tuple(group) for group in groups if len(group) > 1]


def _as_read(name: str, ends: Collection[str], starts: Collection[str]) -> tuple[str, ...]:
    """The words and numbers of a name that matter: ``FOREST 348C`` is ``forest``, ``348``."""
    plain = unicodedata.normalize("NFKC", name).casefold()
    words = re.findall(r"\d+|[^\W\d_]+", plain)
    while len(words) > 1 and words[-1] in ends:
        words.pop()
    while len(words) > 1 and words[0] in starts:
        words.pop(0)
    return tuple(words)


def _one_ink(one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    """The same letters and digits; or a number of two digits and more, in one of the names behind a library's name."""
    if not one or not other:
        return False
    if "".join(one) == "".join(other) and _numbers(one) == _numbers(other):
        return True
    short, long = sorted((one, other), key=len)
    return (
        short[0].isdigit() and len(short[0]) > 1 and long[-len(short) :] == short and not _numbers(long[: -len(short)])
    )


def _numbers(words: Iterable[str]) -> list[str]:
    return [word for word in words if word.isdigit()]


@lru_cache(maxsize=4)
def _table(path: Path) -> Mapping[str, frozenset[str]]:
    """The lists under ``one_ink:`` of the table, in small letters."""
    table = load_yaml(path)
    lists = table.data.get("one_ink") if isinstance(table.data, dict) else None
    if not isinstance(lists, dict) or set(lists) != set(_KEYS):
        raise InvalidInput([table.fault(("one_ink",), lists, f"the lists {' and '.join(_KEYS)}")])
    for key in _KEYS:
        if not isinstance(lists[key], list) or not all(isinstance(word, str) for word in lists[key]):
            raise InvalidInput([table.fault(("one_ink", key), lists[key], "a list of words")])
    return {key: frozenset(word.casefold() for word in lists[key]) for key in _KEYS}

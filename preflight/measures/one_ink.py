"""Reading the names of inks as a person does: ``FOREST 9K2C`` and ``Forest 9K2 C`` are one ink.

Case, blanks and punctuation are not looked at; endings (coated, uncoated …), the names of libraries and words that
libraries put first are dropped by a table of the house rules. Digits are never dropped, a tint at the end is.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from typing import Final

from preflight.artwork.page.separations import PROCESS
from preflight.inputs.ink_names import InkTable, load_ink_table
from preflight.inputs.kind_names import NamesTable, classify, load_names, process_ink_called

PROCESS_NAMES: Final = frozenset(name.casefold() for name in PROCESS)
_TINT: Final = re.compile(r"\s*\b\d{1,3}(?:[.,]\d+)?\s*%\s*$")
"""A tint at the end of a name, as copied swatches have it."""
_COPY: Final = re.compile(r"\s*\(\d{1,2}\)\s*$")
"""The number that a program gives a second swatch of the same name."""
_UMLAUTS: Final = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ø": "oe", "å": "aa"})


@dataclass(frozen=True)
class _NameAsRead:
    """A name as it is read: its library, if it has one, and the words and numbers that matter."""

    library: str
    words: tuple[str, ...]


def one_ink_groups(names: Sequence[str]) -> list[tuple[str, ...]]:
    """Names that a person reads as one ink, in groups of two and more, in the order given.

    Raises:
        InvalidInput: rules/inks.yaml is wrong.
    """
    return list(_groups(tuple(names), load_ink_table()))


def groups_to_ask_about(names: Sequence[str]) -> list[tuple[str, ...]]:
    """Names that may be one ink: groups as in ``one_ink_groups``, and names that differ in an issue (``Altgold 8 neu``,
    ``Altgold 8 (2)``), in ``metallic`` beside a metallic, or in how accents and umlauts are written.

    Raises:
        InvalidInput: rules/inks.yaml or rules/names.yaml is wrong.
    """
    return list(_groups(tuple(names), load_ink_table(), load_names()))


@lru_cache(maxsize=16)
def _groups(names: tuple[str, ...], table: InkTable, kinds: NamesTable | None = None) -> tuple[tuple[str, ...], ...]:
    read = {name: [_as_read(name, table)] if kinds is None else _read_loosely(name, table, kinds) for name in names}
    groups: list[list[str]] = []
    likely: dict[str, list[int]] = {}
    for name in names:
        # Names of one ink have the same letters and digits, or end alike: others need not be compared.
        keys = {key for own in read[name] for key in ("".join(own.words), " ".join(own.words[-1:]))}
        homes = sorted({number for key in keys for number in likely.get(key, ())})
        home = next(
            (n for n in homes if any(_any_one_ink(read[name], read[other]) for other in groups[n])), len(groups)
        )
        if home == len(groups):
            groups.append([])
        groups[home].append(name)
        for key in keys:
            likely.setdefault(key, []).append(home)
    return tuple(tuple(group) for group in groups if len(group) > 1)


def process_inks_meant(names: Sequence[str]) -> dict[str, str]:
    """Of these names those that mean a process ink and are not its own name, each with the ink.

    Raises:
        InvalidInput: rules/names.yaml is wrong.
    """
    table = load_names()
    meant = {name: process_ink_called(name, table) for name in names if name not in PROCESS}
    return {name: ink for name, ink in meant.items() if ink is not None}


def names_to_merge(names: Sequence[str]) -> list[tuple[str, ...]]:
    """Groups as in ``one_ink_groups``, together with names that mean the same process ink.

    Raises:
        InvalidInput: rules/inks.yaml or rules/names.yaml is wrong.
    """
    inks: dict[str, str] = {}
    for name, ink in process_inks_meant(names).items():
        inks[name] = inks[ink] = ink
    groups: list[tuple[str, ...]] = []
    for group in one_ink_groups(names):
        meant = next((inks[name] for name in group if name in inks), None)
        if meant is None:
            groups.append(group)
        else:
            inks.update(dict.fromkeys(group, meant))
    same = [tuple(name for name in names if inks.get(name) == ink) for ink in PROCESS]
    return [*groups, *(group for group in same if len(group) > 1)]


def _read_loosely(name: str, table: InkTable, kinds: NamesTable) -> list[_NameAsRead]:
    """The name as it is read without its issue, in every way that accents and umlauts may be written."""
    read = _as_read(_COPY.sub("", name), table, kinds)
    spelt = (read.words, [word.translate(_UMLAUTS) for word in read.words])
    return [_NameAsRead(read.library, words) for words in dict.fromkeys(tuple(map(_unaccented, own)) for own in spelt)]


def _unaccented(word: str) -> str:
    parts = unicodedata.normalize("NFKD", word)
    return "".join(letter for letter in parts if not unicodedata.combining(letter))


def _as_read(name: str, table: InkTable, kinds: NamesTable | None = None) -> _NameAsRead:
    """The words and numbers of a name that matter: ``LEAF 77041C`` is ``leaf``, ``77041``; no issue with ``kinds``."""
    plain = _TINT.sub("", unicodedata.normalize("NFKC", name).casefold()) or name.casefold()
    words = re.findall(r"\d+|[^\W\d_]+", plain)
    library = table.libraries.get(words[0], "") if len(words) > 1 else ""
    ends = table.suffixes | table.library_suffixes.get(library, frozenset())
    while count := _at_end(words, table, ends, kinds):
        if len(words) <= count + bool(library):
            break
        del words[-count:]
    if library and not (len(words) == 2 and words[1] in PROCESS_NAMES):
        words.pop(0)
    while len(words) > 1 and words[0] in table.library_words:
        words.pop(0)
    return _NameAsRead(library, tuple(words))


def _at_end(words: Sequence[str], table: InkTable, ends: Collection[str], kinds: NamesTable | None) -> int:
    """How many words at the end of a name do not matter."""
    if not words or words[-1] in ends or kinds is None:
        return int(bool(words) and words[-1] in ends)
    if words[-1].isdigit():
        return 2 if words[-2:-1] and words[-2] in table.numbered_issues else 0
    return int(words[-1] in table.issues or _is_metallic_twice(words, kinds))


def _is_metallic_twice(words: Sequence[str], kinds: NamesTable) -> bool:
    """``metallic`` at the end of the name of an ink that is known for a metallic without it."""
    found, rest = classify(words[-1], kinds), classify(" ".join(words[:-1]), kinds)
    return found is not None and rest is not None and found[0] == rest[0] == "metallic"


def _any_one_ink(some: Iterable[_NameAsRead], others: Iterable[_NameAsRead]) -> bool:
    return any(_one_ink(one, other) for one, other in product(some, others))


def _one_ink(one: _NameAsRead, other: _NameAsRead) -> bool:
    """The same letters and digits; or a number of two digits and more, in one of the names behind a library's name.

    Names of two libraries are two inks, and a number of one digit says nothing without its library.
    """
    if not one.words or not other.words or (one.library and other.library and one.library != other.library):
        return False
    if "".join(one.words) == "".join(other.words) and _numbers(one.words) == _numbers(other.words):
        return one.library == other.library or not (len(one.words) == 1 and re.fullmatch(r"\d", one.words[0]))
    short, long = sorted((one.words, other.words), key=len)
    return (
        short[0].isdigit() and len(short[0]) > 1 and long[-len(short) :] == short and not _numbers(long[: -len(short)])
    )


def _numbers(words: Iterable[str]) -> list[str]:
    return [word for word in words if word.isdigit()]

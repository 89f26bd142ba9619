"""How names of separations and layers are recognised: rules/names.yaml and its matching.

A name is taken apart into whole words, folded for case, accents, punctuation and camelCase, so that ``CutLine``,
``CUT-LINE`` and ``cut_line`` are one. Words written together or apart are the same (``Stanz-Kontur``).
A phrase under ``called`` needs the whole name: what else stands in it must say nothing (``Cut line 2 mm``). A phrase
under ``mentions`` may stand anywhere, unless a colour or one of ``not_with`` stands beside it; before one under
``coloured`` at the end of the name a colour may stand, and one under ``always`` may stand beside anything.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container, Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, Final

from preflight.errors import InputFault, InvalidInput
from preflight.inputs.loading import load_yaml, rules_dir, state_of
from preflight.inputs.yaml_table import KeyPath, Table, unknown_key
from preflight.kinds import KINDS, NON_PRINTING_KINDS
from preflight.suggest import SLIP, nearest

FILE: Final = "names.yaml"
SHOWN_FILE: Final = "rules/names.yaml"
LONGEST_PHRASE: Final = 6
SHORTEST_HINT: Final = 4
"""Letters that a word has to have to be taken for a hint: ``cut`` and ``die`` are in too many names of colours."""
LONGEST_NAME: Final = 200
"""Characters of a name that are looked at."""
TOP_KEYS: Final = ("silent", "colours", "process", "kinds")
PROCESS_KEYS: Final = ("with", "Cyan", "Magenta", "Yellow", "Black")
PHRASE_KEYS: Final = ("called", "mentions", "coloured", "always")
KIND_KEYS: Final = (*PHRASE_KEYS, "with", "not_with", "numbers", "perhaps")
SPECIAL_LETTERS: Final = str.maketrans(
    {"ß": "ss", "ł": "l", "Ł": "L", "ø": "o", "Ø": "O", "đ": "d", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "ı": "i"}
)
ESCAPES: Final = re.compile(r"\\x[0-9a-f]{2}|\\u[0-9a-f]{4,6}")
"""Invisible characters as the colour reader spells them out."""
APOSTROPHES: Final = re.compile("['\u2019\u02bc`]")
WORDS: Final = re.compile(r"[^\W_]+")
CAMEL: Final = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])|(?<=[^\W\d_])(?=\d)|(?<=\d)(?=[^\W\d_])")


@dataclass
class KindNames:
    """The phrases of one kind, folded and joined, each with the words of the table."""

    kind: str
    called: dict[str, str] = field(default_factory=dict)
    mentions: dict[str, str] = field(default_factory=dict)
    coloured: dict[str, str] = field(default_factory=dict)
    always: dict[str, str] = field(default_factory=dict)
    beside: set[str] = field(default_factory=set)
    not_with: set[str] = field(default_factory=set)
    numbers: list[tuple[str, int, int]] = field(default_factory=list)
    """Library numbers: the word before the number, the first and the last number."""
    perhaps: set[str] = field(default_factory=set)
    """Whole names that may mean it and are no proof."""

    @cached_property
    def phrases(self) -> frozenset[str]:
        """All that it may be known by but library numbers."""
        return frozenset().union(self.called, self.mentions, self.coloured, self.always)


@dataclass(eq=False)  # compared as one object, since what follows from it is kept by it
class NamesTable:
    """rules/names.yaml, ready for matching; kinds in the order of the file."""

    silent: set[str]
    colours: set[str]
    kinds: list[KindNames]
    process: dict[str, str] = field(default_factory=dict)
    """What people call the process inks, folded and joined, each with the ink that it means."""
    beside_process: set[str] = field(default_factory=set)
    """Words that say nothing beside these."""

    @cached_property
    def technical(self) -> set[str]:
        """Phrases of every non-printing kind: beside each other they say nothing more (``cut and crease``)."""
        return {phrase for names in self.kinds if names.kind in NON_PRINTING_KINDS for phrase in names.called}


def load_names(folder: Path | None = None) -> NamesTable:
    """Table of the given rules folder, else of the house rules; kept.

    Raises:
        InvalidInput: with every fault of the file.
    """
    path = (folder or rules_dir()) / FILE
    return _load(path, state_of(path))


@lru_cache(maxsize=8)
def _load(path: Path, state: tuple[int, int]) -> NamesTable:  # state: so that an edited table is read anew
    table = load_yaml(path)
    faults: list[InputFault] = []
    names = NamesTable(set(), set(), [])
    for key, value in _pairs(table, (), TOP_KEYS, faults):
        if key == "silent":
            names.silent = {word for phrase, _ in _phrases(table, (key,), value, faults) for word in fold(phrase)}
        elif key == "colours":
            names.colours = {
                joined for phrase, _ in _phrases(table, (key,), value, faults) for joined in _spellings(phrase)
            }
        elif key == "process":
            for ink, value in _pairs(table, (key,), PROCESS_KEYS, faults):
                spelt = {own for phrase, _ in _phrases(table, (key, ink), value, faults) for own in _spellings(phrase)}
                if ink == "with":
                    names.beside_process = spelt
                else:
                    names.process.update(dict.fromkeys(spelt, ink))
        else:
            for kind, entry in _pairs(table, (key,), KINDS, faults):
                names.kinds.append(_kind(table, kind, entry, faults))
    if faults:
        raise InvalidInput(faults)
    return names


def _kind(table: Table, kind: str, entry: Any, faults: list[InputFault]) -> KindNames:
    names, path = KindNames(kind), ("kinds", kind)
    for key, value in _pairs(table, path, KIND_KEYS, faults):
        found = list(_phrases(table, (*path, key), value, faults))
        if key in PHRASE_KEYS:
            into: dict[str, str] = getattr(names, key)
            for phrase, _ in found:
                for joined in _spellings(phrase):
                    into.setdefault(joined, phrase)
        elif key == "numbers":
            names.numbers += [entry for phrase, at in found for entry in _number_range(table, at, phrase, faults)]
        else:
            into_words = {"with": names.beside, "not_with": names.not_with, "perhaps": names.perhaps}[key]
            into_words.update(joined for phrase, _ in found for joined in _spellings(phrase))
    return names


def _pairs(table: Table, path: KeyPath, known: Iterable[str], faults: list[InputFault]) -> Iterator[tuple[str, Any]]:
    entry = table.data
    for part in path:
        entry = entry[part]
    if not isinstance(entry, dict):
        faults.append(table.fault(path, entry, "keys with values"))
        return
    for key, value in entry.items():
        if key in known:
            yield key, value
        else:
            faults.append(unknown_key(table, (*path, key), list(known)))


def _phrases(table: Table, path: KeyPath, value: Any, faults: list[InputFault]) -> Iterator[tuple[str, KeyPath]]:
    """Phrases of a list, or of several lists by language."""
    lists = value.items() if isinstance(value, dict) else [(None, value)]
    for language, phrases in lists:
        where = path if language is None else (*path, language)
        if not isinstance(phrases, list):
            faults.append(table.fault(where, phrases, "a list of names"))
            continue
        for number, phrase in enumerate(phrases):
            if isinstance(phrase, str) and fold(phrase):
                yield phrase, (*where, number)
            else:
                faults.append(table.fault((*where, number), phrase, "a name"))


def _number_range(table: Table, at: KeyPath, text: str, faults: list[InputFault]) -> Iterator[tuple[str, int, int]]:
    match = re.fullmatch(r"(\D+?)\s+(\d+)\s*-\s*(\d+)", text)
    if match and int(match[2]) <= int(match[3]):
        yield "".join(fold(match[1])), int(match[2]), int(match[3])
    else:
        faults.append(table.fault(at, text, "a word and a range of numbers, such as 'library 871-877'"))


def fold(name: str) -> list[str]:
    """Name as a list of words: lower case, no accents, split at blanks, punctuation, camelCase and digits."""
    return list(_folded(name))


@lru_cache(maxsize=10_000)
def _folded(name: str) -> tuple[str, ...]:
    text = APOSTROPHES.sub("", ESCAPES.sub("", name[:LONGEST_NAME]))
    if not text.isascii():
        text = unicodedata.normalize("NFKD", text.translate(SPECIAL_LETTERS))
        text = "".join(letter for letter in text if not unicodedata.combining(letter))
    return tuple(WORDS.findall(CAMEL.sub(" ", text).casefold()))


def _spellings(phrase: str) -> set[str]:
    """Phrase folded and joined, and with ae, oe, ue for umlauts."""
    spelt = phrase
    for letter, two in (("ä", "ae"), ("ö", "oe"), ("ü", "ue"), ("Ä", "Ae"), ("Ö", "Oe"), ("Ü", "Ue")):
        spelt = spelt.replace(letter, two)
    return {"".join(fold(phrase)), "".join(fold(spelt))}


Fit = tuple[int, int]
"""How well a kind fits: letters of the name that are explained, then the fewer phrases the better."""


def classify(name: str, table: NamesTable) -> tuple[str, str] | None:
    """Kind of a separation or layer by its name, and where that comes from; None where the name does not tell.

    Of several kinds the one that explains most of the name counts, then the one that does so in fewer phrases
    (``cut score`` is a half-cut), then the one that stands first in the table (``cut and crease`` is a cut).
    """
    words = fold(name)
    best: tuple[Fit, str, str] | None = None
    said = _runs(words)
    for names in table.kinds:
        if not names.numbers and names.phrases.isdisjoint(said):
            continue  # of thousands of names most say nothing of most kinds
        found = _match(words, names, table)
        if found and (best is None or found[0] > best[0]):
            best = (found[0], names.kind, found[1])
    return (best[1], f"named in {SHOWN_FILE} ({best[2]})") if best else None


def hints_at(name: str, kind: str, table: NamesTable) -> bool:
    """Whether a name says something of a kind without telling it: a phrase under ``perhaps``, a slip of the pen, or a
    phrase of the kind among other words (``Bellmont Stanze``).
    """
    names = next((names for names in table.kinds if names.kind == kind), None)
    words = fold(name)
    if names is None or not words:
        return False
    found, left = _cover(words, names.perhaps)
    if found and all(_says_nothing(word, names, table) for word in left):
        return True
    own = [word for word in words if len(word) >= SHORTEST_HINT]
    near = [nearest(word, names.called, at_least=SLIP) for word in own]
    return any(abs(len(word) - len(phrase)) <= 1 for word, phrase in zip(own, near, strict=True) if phrase)


def process_ink_called(name: str, table: NamesTable) -> str | None:
    """The process ink that a name means in other words or another language; None where it means no such ink.

    The whole name counts but for words such as ``process``; beside one of them the letter of a paper at the end
    (``Process Black C``) says nothing. A letter by itself is the whole name: ``K`` and not ``(K)``.
    """
    beside, left = _cover(fold(name), table.beside_process)
    rest = [word for word in left if word]
    while len(rest) > 1 and beside and len(rest[-1]) < 2 and rest[-1].isalpha():
        rest.pop()
    called = "".join(rest)
    if len(called) == 1 and not beside and name.strip().casefold() != called:
        return None
    return table.process.get(called)


def _match(words: list[str], names: KindNames, table: NamesTable) -> tuple[Fit, str] | None:
    by_number = _library_number(words, names)
    if by_number:
        return (len("".join(words)), -1), by_number
    found, left = _cover(words, names.always)
    if found:
        return _fit(found), names.always[max(found, key=len)]
    found, left = _cover(words, names.called)
    if found:
        also, rest = _cover(left, table.technical) if names.kind in NON_PRINTING_KINDS else ([], left)
        _, rest = _cover(rest, names.perhaps)
        if all(_says_nothing(word, names, table) for word in rest):
            return _fit([*found, *also]), names.called[max(found, key=len)]
    found, left = _cover(words, names.mentions)
    beside = _runs(left)
    if found and not beside & table.colours and not beside & names.not_with:
        return _fit(found), names.mentions[max(found, key=len)]
    found, left = _cover(words, names.coloured)
    if found and left[-1] == "" and not _runs(left) & names.not_with:
        return _fit(found), names.coloured[max(found, key=len)]
    return None


def _fit(found: list[str]) -> Fit:
    return sum(map(len, found)), -len(found)


def _cover(words: list[str], phrases: Container[str]) -> tuple[list[str], list[str]]:
    """Phrases found in a name, longest first at each word, and the words left over, with an empty one at each gap."""
    found, left, at = [], [], 0
    while at < len(words):
        for end in range(min(len(words), at + LONGEST_PHRASE), at, -1):
            joined = "".join(words[at:end])
            if all(words[at:end]) and joined in phrases:
                found.append(joined)
                left.append("")
                at = end
                break
        else:
            left.append(words[at])
            at += 1
    return found, left


def _says_nothing(word: str, names: KindNames, table: NamesTable) -> bool:
    return len(word) < 2 or word.isdigit() or word in table.silent or word in names.beside


def _runs(left: list[str]) -> set[str]:
    """Every run of the words left over, joined."""
    starts = range(len(left))
    return {"".join(left[a:b]) for a in starts for b in range(a + 1, min(len(left), a + LONGEST_PHRASE) + 1)}


def _library_number(words: list[str], names: KindNames) -> str:
    for word, number in zip(words, words[1:], strict=False):
        for library, first, last in names.numbers:
            if word == library and number.isdecimal() and len(number) < 7 and first <= int(number) <= last:
                return f"{library} {first}-{last}"
    return ""

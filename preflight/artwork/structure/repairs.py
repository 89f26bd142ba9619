"""What qpdf had to repair in a file, in plain words."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

MOST_REPAIRS: Final = 12
MOST_OBJECTS: Final = 5

REBUILT: Final = "the file's own list of its objects was broken and has been rebuilt"
CUT_OFF: Final = "the end of the file is missing"
LOST: Final = "the contents of an object are lost"
LENGTH: Final = "the length of a stream was wrong and has been found anew"
SYNTAX: Final = "an object is not written properly, and part of it was left out"

WORDS: Final = (
    (r"file is damaged|Attempting to reconstruct", ""),
    (r"can't find PDF header", "the file does not begin as a PDF does"),
    (r"can't find startxref|EOF after endobj|unable to find trailer", CUT_OFF),
    (r"xref not found|invalid xref|xref syntax|xref stream|xref entry|xref table|expected n n obj", REBUILT),
    (r"before xref|after xref", "something stands where it does not belong next to the file's list of its objects"),
    (r"reported number of objects|/Size", "the file counts its objects wrongly"),
    (r"treating stream as empty", LOST),
    (r"endstream|stream length|/Length key|stream data|stream keyword", LENGTH),
    (r"MediaBox is undefined", "a page has no MediaBox, and US Letter was put in its place"),
    (r"Resources is missing", "a page has no list of its resources"),
    (r"Pages tree includes", "something that is no page was left out of the page list"),
    (r"/Type key should be|Pages tree|/Kids|kid \d+", "the page list is not written properly"),
    (r"linearization|hint", "the data for fast viewing over a network are wrong"),
    (r"null character not allowed|name token|name with stray", "a name in the file holds characters that it must not"),
    (r"decod|inflate|filter|predictor", "compressed data are damaged"),
    (r"encrypt|/Encrypt|security", "the data on the file's protection are not written properly"),
    (r"token|duplicated key|expected|treating|unexpected|hexstring|null object|parsing", SYNTAX),
)
WHERE: Final = re.compile(r"(?:stream )?object (\d+) \d+")
PREFIX: Final = re.compile(r"^.*?(?:\([^()]*offset \d+\)|, (?:stream )?object \d+ \d+(?: at offset \d+)?|\.\w+): ")


def lost_objects(warnings: Iterable[str]) -> set[int]:
    """Numbers of the streams whose contents qpdf could not find."""
    found = (WHERE.search(text) for text in warnings if "treating stream as empty" in text)
    return {int(match[1]) for match in found if match}


def was_rebuilt(warnings: Iterable[str]) -> bool:
    """Tell whether qpdf had to rebuild the list of objects; then objects may be missing that nobody misses."""
    return any("Attempting to reconstruct" in text for text in warnings)


def in_plain_words(warnings: Iterable[str]) -> list[str]:
    """One sentence a kind of repair, with the objects it was done to; at most ``MOST_REPAIRS``."""
    places: dict[str, dict[str, None]] = {}
    for text in warnings:
        words = next((words for pattern, words in WORDS if re.search(pattern, text)), None)
        if words is None:
            words = "qpdf says: " + PREFIX.sub("", text)[:120]
        if words:
            match = WHERE.search(text)
            places.setdefault(words, {}).update({match[1]: None} if match else {})
    if not places and any(warnings):
        places[REBUILT] = {}
    if LENGTH in places and LOST in places:
        places[LENGTH] = {number: None for number in places[LENGTH] if number not in places[LOST]}
        if not places[LENGTH]:
            del places[LENGTH]
    sentences = [words + _objects(list(numbers)) for words, numbers in places.items()]
    more = len(sentences) - MOST_REPAIRS
    return sentences if more <= 0 else [*sentences[:MOST_REPAIRS], f"and {more} further kinds of repair"]


def _objects(numbers: list[str]) -> str:
    if not numbers:
        return ""
    more = f" and {len(numbers) - MOST_OBJECTS} more" if len(numbers) > MOST_OBJECTS else ""
    return f" (object{'s' if len(numbers) > 1 else ''} {', '.join(numbers[:MOST_OBJECTS])}{more})"

"""What had to be repaired in a file, in plain words: what lost nothing, and what may have lost something."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from preflight.artwork.page.artwork import Repair


@dataclass(frozen=True)
class Sort:
    """A sort of repair: the messages of the library that tell of it, and what it means."""

    messages: str
    """Pattern of a message, without its place."""
    words: str
    lost: bool
    """Something may be lost by it."""
    once: bool = False
    """It happens to the file as a whole, whatever number of messages tell of it."""


INDEX: Final = Sort(
    r"Attempting to reconstruct|xref not found|invalid xref|xref syntax|xref stream|xref entry|xref table|xref type|"
    r"expected (n n|\d+ \d+) obj|expected trailer|[Cc]ross-reference|cross reference|/Prev key|offset 0|"
    r"following xref tables|recovered trailer|in trailer dictionary|unable to find trailer while",
    "the file's index was wrong and was rebuilt",
    lost=False,
    once=True,
)
INDEX_LOST: Final = "the file's index is damaged, and not everything it lists can be found"
END: Final = Sort(
    r"can't find startxref|EOF after endobj|unable to find trailer dictionary",
    "the end-of-file mark is missing",
    lost=False,
    once=True,
)
END_LOST: Final = "the end of the file is missing"
EMPTY: Final = Sort(r"treating stream as empty", "the data of part of the file is lost", lost=True)
LENGTH: Final = Sort(
    r"endstream|stream length|/Length key|stream keyword",
    "the stated length of part of the file was wrong and was corrected",
    lost=False,
)
LENGTH_LOST: Final = "the stated length of part of the file was wrong, and some of its data may be missing"
BARE: Final = Sort(r"Resources is missing", "a page has no list of its fonts, colours and pictures", lost=False)
BARE_LOST: Final = "a page uses fonts, colours or pictures, and the list of them is missing"
BADLY_WRITTEN: Final = "part of the file is badly written, and some of it was left out"

SORTS: Final = (
    Sort(r"file is damaged", "", lost=False),
    Sort(
        r"can't find PDF header",
        "there is data before the start of the file, or its first line is missing",
        lost=False,
        once=True,
    ),
    END,
    Sort(r"startxref was more than", "there is data after the end of the file", lost=False, once=True),
    Sort(r"not found in file", "a part of the file cannot be found", lost=True),
    Sort(
        r"extraneous whitespace|before xref|after xref",
        "the file has stray spaces",
        lost=False,
        once=True,
    ),
    EMPTY,
    LENGTH,
    Sort(r"EOF|premature", "a part of the file ends too early", lost=True),
    Sort(r"expected endobj", "the end of a part of the file is not marked", lost=False),
    INDEX,
    Sort(r"reported number of objects|/Size", "the file gives a wrong number of parts", lost=False, once=True),
    Sort(r"MediaBox is undefined", "a page has no size and is taken as US Letter", lost=True),
    BARE,
    Sort(
        r"neither|Pages tree includes|ignoring page",
        "something listed as a page or its content is neither, and was left out",
        lost=True,
    ),
    Sort(
        r"/Type key should be|Catalog: setting|/Count is wrong|tree root|more than once in the pages tree|"
        r"to indirect|non-array /Annots|Annots is not",
        "the list of pages is badly written",
        lost=False,
    ),
    Sort(r"/Pages|/Kids|[Pp]ages tree|kid \d+|invalid kid", "the list of pages is damaged", lost=True),
    Sort(r"linearization|hint", "the data for fast web view is wrong", lost=False, once=True),
    Sort(
        r"null character not allowed in name|name with stray", "a name has characters that are not allowed", lost=False
    ),
    Sort(r"decrypted improperly|/Encrypt|encrypt", "the file's encryption data is wrong", lost=True),
    Sort(r"/Perms", "the file's encryption data is badly written", lost=False),
    Sort(r"duplicated key", "part of the file has an entry twice, and the first of the two was left out", lost=True),
    Sort(r"empty object", "a part of the file is empty", lost=False),
    Sort(
        r"decod|inflate|filter|predictor|Filter|Predictor|base 85|base Hex|memory limit|output may still be valid",
        "compressed data is damaged",
        lost=True,
    ),
    Sort(
        r"token|expected|treating|unexpected|hexstring|parse error|parsing|giving up|too many|ended prematurely|"
        r"using null|overflow|underflow|[Ll]oop detected|impossibly large|object stream|too large|ignoring",
        BADLY_WRITTEN,
        lost=True,
    ),
)
UNKNOWN: Final = Sort("", "something in the file is damaged", lost=True)
WHERE: Final = re.compile(r"(?:stream )?object (\d+) \d+")
PLACE: Final = re.compile(
    r"^(?P<file>.*?)(?P<place> \([^()]*offset \d+\)|,? ?(?:stream )?object \d+ \d+(?: at offset \d+)?|)"
    r": (?P<told>.*)$",
    re.DOTALL,
)


def lost_objects(warnings: Iterable[str]) -> set[int]:
    """Numbers of the streams whose contents could not be found."""
    return _objects(text for text in warnings if "treating stream as empty" in text)


def lengths_found_anew(warnings: Iterable[str]) -> set[int]:
    """Numbers of the streams whose ends had to be looked for."""
    return _objects(text for text in warnings if "recovered stream length" in text)


def was_rebuilt(warnings: Iterable[str]) -> bool:
    """Tell whether the list of objects had to be rebuilt; then objects may be missing that nobody misses."""
    return any("Attempting to reconstruct" in text for text in warnings)


def in_plain_words(
    warnings: Iterable[str],
    *,
    end_is_there: bool = False,
    all_found: bool = False,
    streams_whole: bool = False,
    resources_missed: bool = True,
) -> list[Repair]:
    """One repair a sort, however often it happened; first those by which something may be lost.

    Args:
        warnings: of the library, in the order in which they came.
        end_is_there: the file goes on to its own end.
        all_found: everything that is spoken of in the file was found in it.
        streams_whole: what was found anew unpacks to its own end.
        resources_missed: content calls for resources that no list names.
    """
    seen: dict[Sort, dict[str, None]] = {}
    rebuilt = False
    for text in warnings:
        sort, key = _sort_of(text)
        rebuilt |= "file is damaged" in text
        if sort.words:
            seen.setdefault(sort, {})[key] = None
    if rebuilt and not seen:
        seen[INDEX] = {"": None}
    if INDEX in seen and not end_is_there:
        seen[END] = {"": None}
        if all_found:
            del seen[INDEX]  # it went with the end
    if EMPTY in seen and LENGTH in seen:
        seen[LENGTH] = {key: None for key in seen[LENGTH] if key not in seen[EMPTY]}
    bad = {
        INDEX: (not all_found, INDEX_LOST),
        END: (not end_is_there, END_LOST),
        LENGTH: (not streams_whole, LENGTH_LOST),
        BARE: (resources_missed, BARE_LOST),
    }
    repairs: dict[str, Repair] = {}
    for sort, keys in seen.items():
        if keys:
            lost, worse = bad.get(sort, (False, ""))
            words = worse if lost else sort.words
            before = repairs[words].times if words in repairs else 0
            repairs[words] = Repair(words, lost or sort.lost, before + len(keys))
    return sorted(repairs.values(), key=lambda repair: not repair.lost)


def _sort_of(text: str) -> tuple[Sort, str]:
    """The sort of repair that a message tells of, and what is counted: each object once, or the file."""
    found = PLACE.match(text)
    place, told = (found["place"], found["told"]) if found else ("", text)
    if "trailer" in place or "xref" in place:
        return INDEX, ""
    sort = next((sort for sort in SORTS if re.search(sort.messages, told)), UNKNOWN)
    number = WHERE.search(place) or WHERE.search(told)
    return sort, "" if sort.once else number[1] if number else told


def _objects(texts: Iterable[str]) -> set[int]:
    found = (WHERE.search(text) for text in texts)
    return {int(match[1]) for match in found if match}

"""What a comparison says, in rows that the page, the PDF and the terminal share. Only the document is read in here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from preflight.findings import numbers_listed, with_and
from preflight.report import words
from preflight.report.compare_places import NumberedPlace, numbers_of

Document = Mapping[str, Any]

CALLED: Final = {"none": "same", "local": "edited"}
"""What people call a change, where its own word is not it."""
BLANKS: Final = {"same": "right", "other": "other art"}
"""The same for kinds of blanks."""
UNCHANGED: Final = ("none", "renamed")
MOST_NUMBERS: Final = 8
LEAST_MM: Final = 0.005
"""What is less is none, in two decimals."""


@dataclass(frozen=True)
class PlateRow:
    """A plate in words; each empty where there is nothing to say."""

    name: str
    change: str
    """Word of the document, for its sign."""
    called: str
    says: str
    share: str
    shift: str
    numbers: tuple[int, ...]
    """Of its places on the pictures."""
    undeclared: bool


@dataclass(frozen=True)
class BlankRow:
    """A blank of a sheet in words."""

    number: int
    kind: str
    called: str
    version: str
    largest: str
    says: str


@dataclass(frozen=True)
class WordRow:
    """Words that changed."""

    old: str
    new: str
    where: str
    plates: str


def changed_plates(document: Document) -> list[Document]:
    """Entries of the plates that are not the same."""
    return [plate for plate in document["plates"] if plate["change"] not in UNCHANGED]


def plate_rows(document: Document, places: Iterable[NumberedPlace]) -> list[PlateRow]:
    """All plates, those that changed first."""
    known = list(places)
    rows = [
        PlateRow(
            plate["name"],
            plate["change"],
            called(plate),
            says(plate),
            share_words(plate),
            shift_words(plate["moved_mm"]),
            tuple(numbers_of(plate["name"], known)) if plate["change"] not in UNCHANGED else (),
            plate["name"] in document["undeclared"],
        )
        for plate in document["plates"]
    ]
    return sorted(rows, key=lambda row: row.change in UNCHANGED)


def called(plate: Document) -> str:
    """``edited``, ``moved, edited``."""
    parts = dict.fromkeys((plate["change"], *plate["also"]))
    return ", ".join(CALLED.get(part, part) for part in parts)


def says(plate: Document) -> str:
    """What changed beside the one word; empty where that is all."""
    said = str(plate["says"])
    return "" if said == plate["change"] else said[:1].upper() + said[1:]


def share_words(plate: Document) -> str:
    """The share that differs, as a percentage; empty for none."""
    return words.per_cent(plate["share"]) if plate["share"] else ""


def shift_words(moved_mm: Sequence[float]) -> str:
    """``+0.10, 0.00 mm``: x to the right, y up; empty for none."""
    if not any(moved_mm):
        return ""
    return f"{', '.join(f'{side:+.2f}' if abs(side) >= LEAST_MM else '0.00' for side in moved_mm)} mm"


def blank_rows(document: Document) -> list[BlankRow]:
    """All blanks, in their order."""
    return [
        BlankRow(
            blank["number"],
            blank["kind"],
            BLANKS.get(blank["kind"], blank["kind"]),
            blank["version"] or "",
            f"{blank['largest_mm']:.2f} mm" if blank["largest_mm"] >= LEAST_MM else "",
            "" if blank["kind"] == "same" else blank["says"],
        )
        for blank in document["blanks"]
    ]


def word_rows(document: Document) -> list[WordRow]:
    """Words that changed, with their place."""
    several = max(document["files"][which]["pages"] for which in ("old", "new")) > 1
    return [
        WordRow(text["old"], text["new"], _where(text, several), with_and(text["plates"])) for text in document["texts"]
    ]


def files_of(document: Document) -> list[tuple[str, Document]]:
    """Both files, each with what it is called."""
    labels = ("One-up", "Sheet") if document["as"] == "sheet" else ("Old", "New")
    return [(label, document["files"][which]) for label, which in zip(labels, ("old", "new"), strict=True)]


def version_words(document: Document) -> list[str]:
    """``4 blanks of mint.pdf, 4 wanted``."""
    said = []
    for each in document["versions"]:
        count = "1 blank" if each["blanks"] == 1 else f"{each['blanks']} blanks"
        wanted = "" if each["wanted"] is None else f", {each['wanted']} wanted"
        said.append(f"{count} of {words.short(each['version'])}{wanted}")
    return said


def file_words(file: Document) -> str:
    """``sage-tea.pdf, 2 pages, written 2 March 2026, 14:05 UTC``."""
    pages = "1 page" if file["pages"] == 1 else f"{file['pages']} pages"
    written = f", written {words.time_words(file['modified'])}" if file["modified"] else ""
    return f"{words.short(file['file'])}, {pages}{written}"


def made_words(document: Document) -> str:
    """``2 March 2026, 14:05 UTC by preflight 1.0, as revisions``."""
    made = document["made"]
    when = f"{words.time_words(made['when'])} " if made["when"] else ""
    how = "the sheet against its one-up" if document["as"] == "sheet" else "as two revisions"
    return f"{when}by {made['tool']}, {how}"


def declared_words(document: Document) -> list[str]:
    """What the ticket says of changes beside what changed, in sentences."""
    declared, undeclared, unchanged = (document[key] for key in ("declared", "undeclared", "declared_unchanged"))
    said = [f"The ticket declares changes of {with_and(declared)}."] if declared else []
    if undeclared:
        said.append(f"Changed and not declared on the ticket: {with_and(undeclared)}.")
    if unchanged:
        said.append(f"Declared and not changed: {with_and(unchanged)}.")
    if declared and not undeclared and not unchanged:
        said.append("These changed, and nothing else.")
    return said


def numbers_words(numbers: Sequence[int]) -> str:
    """``1 to 3 and 5``; of many the first ones."""
    if len(numbers) <= MOST_NUMBERS:
        return numbers_listed(numbers)
    return f"{numbers_listed(numbers[:MOST_NUMBERS])} and {len(numbers) - MOST_NUMBERS} more"


def window_words(box_mm: Sequence[float]) -> str:
    """``13 x 10 mm round (18, 50) mm``."""
    x0, y0, x1, y1 = box_mm
    return f"{x1 - x0:.0f} x {y1 - y0:.0f} mm round ({(x0 + x1) / 2:.0f}, {(y0 + y1) / 2:.0f}) mm"


def _where(text: Document, several: bool) -> str:
    left, low = text["box_mm"][:2]
    page = f"page {text['page']}, " if several else ""
    return f"{page}{left:.0f} mm from the left, {low:.0f} mm up"

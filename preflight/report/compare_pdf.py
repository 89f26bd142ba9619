"""The comparison as a PDF to sign: A4, the outcome and the boxes on the first page, then what changed, in pictures too.

In black and white it says the same: changes are words, what is less and more has its own pattern and its own lightness.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from reportlab.pdfgen.canvas import Canvas

from preflight.findings import with_and
from preflight.report import compare_rows as rows
from preflight.report import words
from preflight.report.compare_pdf_pictures import blank_lines, look_lines, plate_lines, sheet_lines
from preflight.report.compare_places import NumberedPlace, numbered_places
from preflight.report.compared_views import ComparePictures
from preflight.report.pdf_flow import Columns, Line, Type, gap, heading, joined, paragraph
from preflight.report.pdf_pen import Pen
from preflight.report.pdf_type import LEADING, lines_of, width_of, within_lines, written

Document = Mapping[str, Any]

WIDTH: Final = 595.28
HEIGHT: Final = 841.89
MARGIN: Final = 36.0
BODY: Final = 9.5
HEAD: Final = 15.0
TO_SIGN: Final = (("Compared by", 0.36), ("Date", 0.2), ("Plates to remake agreed (name and signature)", 0.44))
BOX: Final = 34.0
"""Height of a box to sign in."""
KIND: Final = Type(BODY, WIDTH - 2 * MARGIN)
PLATES: Final = (
    ("Plate", 0.23),
    ("Change", 0.14),
    ("What changed", 0.28),
    ("Share", 0.09),
    ("Shift x, y", 0.15),
    ("Places", 0.11),
)
BLANKS: Final = (
    ("Blank", 0.08),
    ("It is", 0.14),
    ("Version", 0.22),
    ("Largest deviation", 0.14),
    ("What is wrong", 0.42),
)
WORDS: Final = (("Old", 0.25), ("New", 0.25), ("Where", 0.31), ("Plates", 0.19))
NAMES_BESIDE: Final = 3


def render_compare_pdf(document: Document, pictures: ComparePictures | None = None) -> bytes:
    """The PDF of a ``preflight-compare/1`` document.

    Args:
        document: what is said.
        pictures: what is shown; without them it has words only.
    """
    lines = _lines(document, pictures or ComparePictures())
    pages: list[list[tuple[Line, float, float]]] = []
    while lines:
        bottom = _bottom(document) - (_sign_height() if not pages else 0.0)
        placed, rest = Columns(MARGIN, MARGIN, bottom, KIND.room, 0.0, 1).fill(lines)
        pages.append(placed)
        lines = rest if placed else rest[1:]
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=(WIDTH, HEIGHT), invariant=1, pageCompression=1)
    canvas.setTitle(f"Comparison, {words.plain(document['files']['new']['file'])}")
    canvas.setCreator("preflight")
    pen = Pen(canvas, HEIGHT)
    for number, placed in enumerate(pages, 1):
        for line, x, top in placed:
            line.draw(pen, x, top)
        if number == 1:
            _draw_sign(pen, _bottom(document) - _sign_height())
        _draw_foot(pen, document, number, len(pages))
        canvas.showPage()
    canvas.save()
    return file.getvalue()


# What flows --------------------------------------------------------------------------------------------------------


def _lines(document: Document, pictures: ComparePictures) -> list[Line]:
    changed = rows.changed_plates(document)
    places = numbered_places(changed) if document["as"] == "revision" else []
    parts = [
        _head(document),
        _section("Plates to remake", _names(document["remake"])),
        _section("Plates that can stay", _names(document["keep"])),
        _section("Declared on the ticket", _texts(rows.declared_words(document))),
        _section("Wrong with the sheet", _texts(document["faults"])),
        _section("Not compared", _texts(document["not_compared"])),
        _section("Versions on the sheet", _texts(rows.version_words(document))),
        _section("Blanks of the sheet", [*_sheets(document, pictures), *_blanks(document)]),
        _section("Plates", _plates(document, places)),
        _section("Words that changed", _words(document)),
        _section("Pages and boxes", _texts(document["pages"])),
        _section("Notes", _texts(document["notes"])),
        *(
            _section(_of_page("Old and new", look.page, pictures), look_lines(look, places, KIND))
            for look in pictures.looks
        ),
        *plate_lines(changed, pictures, places, KIND),
        blank_lines(document["blanks"], pictures, KIND),
    ]
    if pictures.lacking:
        parts.append(paragraph(f"Without pictures: {with_and(pictures.lacking)}.", KIND))
    return joined([*part, *gap(BODY * 0.7)] for part in parts if part)


def _sheets(document: Document, pictures: ComparePictures) -> list[Line]:
    return joined(sheet_lines(sheet, document["blanks"], KIND) for sheet in pictures.sheets)


def _of_page(title: str, page: int, pictures: ComparePictures) -> str:
    return f"{title}, page {page}" if len(pictures.looks) > 1 else title


def _section(title: str, lines: Sequence[Line]) -> list[Line]:
    return [*heading(title, KIND), *lines] if lines else []


def _head(document: Document) -> list[Line]:
    big = Type(HEAD, KIND.room)
    facts = [(label, rows.file_words(file), file["sha256"]) for label, file in rows.files_of(document)]
    lines = [*paragraph(document["says"], big, bold=True), *gap(BODY * 0.6)]
    for label, text, digest in facts:
        lines += _fact(label, text)
        lines += _fact("", f"SHA-256 {digest}")
    return [*lines, *_fact("Compared", rows.made_words(document))]


def _fact(label: str, text: str) -> list[Line]:
    start = KIND.room * 0.13
    lines = lines_of(text, BODY, KIND.room - start)
    return [
        _cells([(label if k == 0 else "", 0.0), (line, start)], keep=k < len(lines) - 1) for k, line in enumerate(lines)
    ]


def _cells(cells: Sequence[tuple[str, float]], *, keep: bool = False, bold: bool = False) -> Line:
    """Text beside each other, each with its distance from the left."""

    def draw(pen: Pen, x: float, top: float) -> None:
        for text, at in cells:
            pen.text(x + at, top, text, BODY, bold=bold)

    return Line(BODY * LEADING, draw, keep)


def _names(names: Sequence[str]) -> list[Line]:
    """Some names beside each other, in bold; a long one has lines of its own."""
    if not names:
        return paragraph("none", KIND)
    told, room = [words.short(name) for name in names], KIND.room / NAMES_BESIDE
    if any(width_of(written(name), BODY, bold=True) > room - BODY for name in told):
        return joined(paragraph(name, KIND, bold=True) for name in told)
    by_row = [told[k : k + NAMES_BESIDE] for k in range(0, len(told), NAMES_BESIDE)]
    return [_cells([(name, k * room) for k, name in enumerate(row)], bold=True) for row in by_row]


def _texts(texts: Iterable[str]) -> list[Line]:
    return joined(paragraph(words.full(text), KIND, mark="-") for text in texts)


def _plates(document: Document, places: Sequence[NumberedPlace]) -> list[Line]:
    told = [
        (
            words.short(row.name),
            f"{row.called}{' (not declared)' if row.undeclared else ''}",
            row.says,
            row.share,
            row.shift,
            rows.numbers_words(row.numbers),
        )
        for row in rows.plate_rows(document, places)
    ]
    if document["as"] == "sheet":  # its places are on the blanks
        return _table(PLATES[:-1], [cells[:-1] for cells in told])
    return _table(PLATES, told)


def _blanks(document: Document) -> list[Line]:
    told = [
        (str(row.number), row.called, words.short(row.version), row.largest, row.says)
        for row in rows.blank_rows(document)
    ]
    return _table(BLANKS, told)


def _words(document: Document) -> list[Line]:
    told = [
        (words.short(row.old) or "(nothing)", words.short(row.new) or "(nothing)", row.where, row.plates)
        for row in rows.word_rows(document)
    ]
    return _table(WORDS, told)


def _table(heads: Sequence[tuple[str, float]], told: Sequence[Sequence[str]]) -> list[Line]:
    """Rows under a head that is repeated on every page."""
    if not told:
        return []
    shares = [share for _, share in heads]
    head = _row([title for title, _ in heads], shares, bold=True)
    return [replace(head, keep=True), *(replace(_row(cells, shares), again=head) for cells in told)]


def _row(cells: Sequence[str], shares: Sequence[float], *, bold: bool = False) -> Line:
    """A row of a table; its first cell is bold, and so is all of a head."""
    room, pad = KIND.room, BODY * 0.6
    held = [
        lines_of(text, BODY, share * room - pad, bold=bold or k == 0)
        for k, (text, share) in enumerate(zip(cells, shares, strict=True))
    ]
    height = BODY * LEADING * max(map(len, held)) + BODY * 0.35

    def draw(pen: Pen, x: float, top: float) -> None:
        for k, lines in enumerate(held):
            at = x + room * sum(shares[:k])
            for n, line in enumerate(lines):
                pen.text(at, top + n * BODY * LEADING, line, BODY, bold=bold or k == 0)
        pen.line(x, top + height - BODY * 0.2, x + room, top + height - BODY * 0.2, 0.8 if bold else 0.3)

    return Line(height, draw)


# What is on every page ---------------------------------------------------------------------------------------------


def _foot_lines(document: Document, number: int, of: int) -> list[str]:
    files = " and ".join(words.short(document["files"][which]["file"], 60) for which in ("old", "new"))
    return within_lines(
        f"Comparison of {files} | page {number} of {of} | {document['made']['tool']}", BODY, KIND.room, 2
    )


def _bottom(document: Document) -> float:
    """Lower edge of what flows."""
    return HEIGHT - MARGIN * 0.8 - len(_foot_lines(document, 88, 88)) * BODY * LEADING - BODY * 0.6


def _sign_height() -> float:
    return BODY * LEADING + BOX + BODY * 0.9


def _draw_sign(pen: Pen, top: float) -> None:
    x = MARGIN
    for label, share in TO_SIGN:
        width = share * KIND.room
        pen.text(x, top + BODY * 0.5, label, BODY)
        pen.box(x, top + BODY * (0.5 + LEADING), width - 6, BOX)
        x += width


def _draw_foot(pen: Pen, document: Document, number: int, of: int) -> None:
    top = _bottom(document) + BODY * 0.6
    pen.line(MARGIN, top - 2, WIDTH - MARGIN, top - 2)
    for k, line in enumerate(_foot_lines(document, number, of)):
        pen.text(MARGIN, top + k * BODY * LEADING, line, BODY)

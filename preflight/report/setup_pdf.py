"""The set-up sheet as a PDF, landscape: a page for the crew for each pass, then reasons, ways out and the rest.

What finds no room on the crew's page goes on to the next one in the same size: nothing is made smaller to fit. In
black and white it says the same: kinds are words and hatching, levels of lamps are words and discs.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from reportlab.pdfgen.canvas import Canvas

from preflight.report.change_bars import BarRow, Change, change_of
from preflight.report.pdf_flow import Columns, Line, Type, blocks_of, joined, paragraph, row, section, to_fill_in, whole
from preflight.report.pdf_pen import Pen
from preflight.report.pdf_type import LEADING, lines_of, within_lines
from preflight.report.setup_details import detail_lines
from preflight.report.setup_head import NEVER, Numbers, draw_head, head_height
from preflight.report.setup_paper import PAPERS, Paper, Sizes
from preflight.report.setup_picture_pages import PicturePage, draw_picture_page, picture_pages
from preflight.report.setup_pictures import SheetDrawings, pictures_of
from preflight.report.setup_places import NO_BREAK, PassPlan
from preflight.report.setup_points import Point
from preflight.report.setup_row import draw_row, row_height, strips_of
from preflight.report.setup_sheet import (
    SetUpSheet,
    conflict_words,
    first_up,
    queries_title,
    sheet_of,
    way_out_words,
)

Document = Mapping[str, Any]
Placed = list[tuple[Line, float, float]]

TO_WRITE: Final = ("Caliper, mm", "OK sheet signed", "Time", "Count at OK", "Good sheets", "Waste")
BEHIND: Final = "Reasons and the rest"


@dataclass(frozen=True)
class PdfPage:
    """A page before it is drawn: how many there are is known only at the end."""

    plan: PassPlan | None
    """Of a page for the crew that has the row of units."""
    placed: Placed
    boxes: bool
    title: str
    head: float
    """Where what is under the head begins."""
    first: bool = False
    """First one of a pass: it says whether the job is ready, what was not checked, and how the sheet lies."""
    picture: PicturePage | None = None


def render_setup_pdf(document: Document, paper: Paper, drawings: SheetDrawings | None = None) -> bytes:
    """The sheet of a ``preflight-setup/1`` document.

    Args:
        document: what ``setup.json`` says.
        paper: ``a4`` or ``a3``, landscape.
        drawings: of the press sheet, where it is known.
    """
    sizes, sheet = PAPERS[paper], sheet_of(document)
    pages = _pages(document, sheet, sizes, drawings)
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=(sizes.width, sizes.height), invariant=1, pageCompression=1)
    canvas.setTitle(f"Set-up sheet, {sheet.job}")
    canvas.setCreator("preflight")
    pen = Pen(canvas, sizes.height)
    behind = 1 + next((k for k, page in enumerate(pages) if page.title == BEHIND), len(pages))
    for k, page in enumerate(pages):
        _draw(pen, page, sheet, sizes, Numbers(k + 1, len(pages), behind))
        canvas.showPage()
    canvas.save()
    return file.getvalue()


# Pages -------------------------------------------------------------------------------------------------------------


def _pages(document: Document, sheet: SetUpSheet, sizes: Sizes, drawings: SheetDrawings | None = None) -> list[PdfPage]:
    plans: list[PassPlan | None] = [*sheet.passes] or [None]
    pages = []
    for plan in plans:
        title = f"SET-UP SHEET, pass {plan.number} of {plan.of}" if plan and plan.of > 1 else "SET-UP SHEET"
        pages += _crew_pages(document, sheet, sizes, plan, title)
    head, bottom = head_height(sheet, sizes), _bottom(sheet, sizes, boxes=False)
    for picture in picture_pages(pictures_of(document, drawings), sizes, head, bottom):
        pages.append(PdfPage(None, [], False, picture.title, head, picture=picture))
    size = sizes.small
    details = detail_lines(document, sheet, Type(size, (sizes.room - sizes.gap) / 2))
    return pages + _flowing(details, sheet, sizes, BEHIND, columns=2)


def _crew_pages(
    document: Document, sheet: SetUpSheet, sizes: Sizes, plan: PassPlan | None, title: str
) -> list[PdfPage]:
    head = top = head_height(sheet, sizes, first=True)
    if plan is not None:
        top += row_height(strips_of(plan, sizes), sizes) + sizes.body * 0.6
    blocks = _crew_blocks(document, sheet, _crew_type(sizes))
    boxes = top <= _bottom(sheet, sizes, boxes=True)  # a row that leaves no room for them has them on the next page
    columns = _columns(sizes, sizes.columns, top, _bottom(sheet, sizes, boxes=boxes))
    next_room = _bottom(sheet, sizes, boxes=False) - head_height(sheet, sizes)
    placed, rest = columns.pack(blocks, sizes.body * 0.3, next_room)
    pages = [PdfPage(plan, placed, boxes, title, head, first=True)]
    while rest or not boxes:
        head = head_height(sheet, sizes)
        columns = _columns(sizes, sizes.columns, head, _bottom(sheet, sizes, boxes=not boxes))
        placed, rest = columns.pack(blocks_of(rest), sizes.body * 0.3, next_room)
        pages.append(PdfPage(None, placed, not boxes, title, head))
        boxes = True
    if len(pages) == 1:
        return pages
    return [replace(page, title=f"{title}, crew page {k + 1} of {len(pages)}") for k, page in enumerate(pages)]


def _flowing(lines: list[Line], sheet: SetUpSheet, sizes: Sizes, title: str, columns: int) -> list[PdfPage]:
    pages: list[PdfPage] = []
    while lines:
        head = head_height(sheet, sizes)
        placed, rest = _columns(sizes, columns, head, _bottom(sheet, sizes, boxes=False)).fill(lines)
        pages.append(PdfPage(None, placed, False, title, head))
        lines = rest if placed else rest[1:]
    return pages


def _columns(sizes: Sizes, count: int, top: float, bottom: float) -> Columns:
    width = (sizes.room - (count - 1) * sizes.gap) / count
    return Columns(sizes.margin, top, bottom, width, sizes.gap, count)


def _crew_type(sizes: Sizes) -> Type:
    return Type(sizes.body, (sizes.room - (sizes.columns - 1) * sizes.gap) / sizes.columns)


def _crew_blocks(document: Document, sheet: SetUpSheet, kind: Type) -> list[list[Line]]:
    """What the crew acts on, what is most urgent first."""
    run = [*sheet.run, *sheet.piles]
    parts = [
        ("No plan in one pass", [] if sheet.passes else _ways(document, kind)),
        (queries_title(sheet), joined(_query(point, kind) for point in sheet.queries)),
        ("What to watch", joined(paragraph(text, kind, mark="-") for text in sheet.watch)),
        (_change_title(document), _change_lines(document, sheet, kind)),
        ("Run and piles", joined(row(label, text, kind, 0.27, write=write) for label, text, write in run)),
        ("Board", joined(row(label, text, kind, 0.2, write=write) for label, text, write in sheet.stock)),
        ("Pull sheets", joined(paragraph(first_up(text), kind, mark="-") for text in sheet.pulls)),
        ("On the first good sheet", joined(_question(text, kind) for text in sheet.check_first)),
        ("Cautions", joined(paragraph(text, kind, mark="-") for text in sheet.cautions)),
    ]
    return [whole(section(title, lines, kind)) for title, lines in parts if lines]


def _query(point: Point, kind: Type) -> list[Line]:
    """A query, and who settled it."""
    lines = paragraph(point.says, kind, mark="?")
    return [*(replace(line, keep=True) for line in lines), to_fill_in("Settled by", kind, kind.size * 0.9)]


def _question(text: str, kind: Type) -> list[Line]:
    """A question for the first good sheet; one that ends in a colon has a box for the answer."""
    lines = paragraph(text, kind, mark="-")
    if not text.endswith(":"):
        return lines
    return [*(replace(line, keep=True) for line in lines), to_fill_in("", kind, kind.size * 0.9)]


def _ways(document: Document, kind: Type) -> list[Line]:
    """Why there is no order, and the ways out, where there is no row of units to show."""
    plan = document.get("plan") or {}
    why = conflict_words(document)
    ways = [f"Way out: {way_out_words(way)}" for way in plan.get("ways_out") or ()]
    return joined(paragraph(text, kind, mark="-") for text in [*why, *ways] or ["Nothing could be planned."])


def _change_title(document: Document) -> str:
    total = change_of(document).total
    return f"Change from the last job: {total}" if total else "Change from the last job"


def _change_lines(document: Document, sheet: SetUpSheet, kind: Type) -> list[Line]:
    change = change_of(document)
    bars = [_bar_line(entry, change, kind) for entry in change.rows]
    washed = [paragraph(f"Wash {text}", kind, mark="-") for text in sheet.wash_ups]
    return [*joined(washed), *bars]


def _bar_line(entry: BarRow, change: Change, kind: Type) -> Line:
    """A row of bars: label, bars on the scale of all, and how long they take."""
    start, told = kind.room * 0.36, kind.room * 0.26
    label = within_lines(entry.label, kind.size, start - 4, 1)[0]
    time = within_lines(entry.told, kind.size, told - 4, 1)[0]
    scale = (kind.room - start - told) / (change.end or 1.0)

    def draw(pen: Pen, x: float, top: float) -> None:
        pen.text(x, top, label, kind.size)
        pen.text(x + kind.room, top, time, kind.size, align="right")
        for bar in entry.bars:
            pen.box(
                x + start + bar.start * scale, top + kind.size * 0.2, max(bar.minutes * scale, 1.5), kind.size * 0.75,
                grey=0.72,
            )  # fmt: skip
        pen.line(x + start, top + kind.size * 1.15, x + kind.room - told, top + kind.size * 1.15, 0.4)

    return Line(kind.size * LEADING, draw)


# What is on every page ---------------------------------------------------------------------------------------------


def _identity_lines(sheet: SetUpSheet, sizes: Sizes) -> list[str]:
    return _identity_in_lines([*sheet.identity, str(Numbers())], sizes)


def _identity_in_lines(parts: Sequence[str], sizes: Sizes) -> list[str]:
    """Broken between the parts only."""
    return lines_of(" | ".join(part.replace(" ", NO_BREAK) for part in parts), sizes.body, sizes.room)


def _foot_top(sheet: SetUpSheet, sizes: Sizes) -> float:
    return sizes.height - sizes.margin * 0.75 - len(_identity_lines(sheet, sizes)) * sizes.body * LEADING


def _bottom(sheet: SetUpSheet, sizes: Sizes, *, boxes: bool) -> float:
    """Lower edge of what flows."""
    return _foot_top(sheet, sizes) - sizes.body * 0.5 - (_boxes_height(sizes) if boxes else 0.0)


def _boxes_height(sizes: Sizes) -> float:
    return sizes.body * (LEADING + 2.1)


def _draw(pen: Pen, page: PdfPage, sheet: SetUpSheet, sizes: Sizes, numbers: Numbers) -> None:
    draw_head(pen, sheet, sizes, numbers, page.title, first=page.first, of_line=page.picture is None)
    if page.plan is not None:
        draw_row(pen, strips_of(page.plan, sizes), sizes, page.head, feeder_left=sheet.feeder_left)
    for line, x, top in page.placed:
        line.draw(pen, x, top)
    if page.picture is not None:
        draw_picture_page(pen, page.picture)
    if page.boxes:
        _draw_boxes(pen, sheet, sizes)
    _draw_foot(pen, replace(sheet, identity=(*sheet.identity, str(numbers))), sizes)
    if not sheet.run_it:
        _draw_never(pen, sizes)


def _draw_boxes(pen: Pen, sheet: SetUpSheet, sizes: Sizes) -> None:
    top = _foot_top(sheet, sizes) - _boxes_height(sizes)
    width = (sizes.room - (len(TO_WRITE) - 1) * 8) / len(TO_WRITE)
    for k, label in enumerate(TO_WRITE):
        x = sizes.margin + k * (width + 8)
        pen.text(x, top, label, sizes.body)
        pen.box(x, top + sizes.body * LEADING, width, sizes.body * 1.8)


def _draw_foot(pen: Pen, sheet: SetUpSheet, sizes: Sizes) -> None:
    top = _foot_top(sheet, sizes)
    pen.line(sizes.margin, top - 1, sizes.width - sizes.margin, top - 1)
    for k, line in enumerate(_identity_in_lines(sheet.identity, sizes)):
        pen.text(sizes.margin, top + k * sizes.body * LEADING, line, sizes.body)


def _draw_never(pen: Pen, sizes: Sizes) -> None:
    """Across the sheet, so that it cannot be cut off; what is under it stays legible."""
    canvas = pen.canvas
    size = sizes.width / 7.4
    canvas.saveState()
    canvas.translate(sizes.width / 2, sizes.height / 2)
    canvas.rotate(28)
    canvas.setFillAlpha(0.22)
    Pen(canvas, 0).text(0, -size * 0.6, NEVER, size, bold=True, align="centre")
    canvas.restoreState()

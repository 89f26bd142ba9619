"""Pages of the PDF sheet with a picture each, as large as there is room: layout, ink keys, coating plate."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from preflight.report.drawing import POINT_MM, Drawing
from preflight.report.pdf_flow import Line, Type, heading, paragraph
from preflight.report.pdf_pen import Pen
from preflight.report.setup_paper import Sizes
from preflight.report.setup_pictures import Picture

SAID: Final = 3
"""Sentences above a picture; all of them stand behind. Beside it there is room for more."""
BESIDE: Final = 0.24
"""Share of the width that sentences beside a picture take."""
TITLES: Final = {"layout": "LAYOUT", "keys": "INK KEYS", "coating": "COATING PLATE"}


@dataclass(frozen=True)
class PicturePage:
    """A picture and what is said of it, with the places of both in points from the upper-left corner."""

    title: str
    """Of the page."""
    lines: tuple[Line, ...]
    lines_at: tuple[float, float]
    drawing: Drawing
    box: tuple[float, float, float, float]
    """x, upper edge, width and height of the picture's room."""


def picture_pages(pictures: Sequence[Picture], sizes: Sizes, top: float, bottom: float) -> list[PicturePage]:
    """A page for each picture, or several where its parts need them."""
    return [page for picture in pictures for page in _pages_of(picture, sizes, top, bottom)]


def _pages_of(picture: Picture, sizes: Sizes, top: float, bottom: float) -> Iterator[PicturePage]:
    """Sentences above the picture, or beside it where it gets larger by that."""
    above = _above(picture, sizes, top, bottom)
    beside = _beside(picture, sizes, top, bottom)
    pages = above if len(above) != 1 or _scale(above[0]) >= _scale(beside[0]) else beside
    for k, page in enumerate(pages, 1):
        yield replace(page, title=f"{page.title}, {k} of {len(pages)}") if len(pages) > 1 else page


def _scale(page: PicturePage) -> float:
    x0, y0, x1, y1 = page.drawing.box
    return min(page.box[2] / (x1 - x0), page.box[3] / (y1 - y0))


def _above(picture: Picture, sizes: Sizes, top: float, bottom: float) -> list[PicturePage]:
    lines = _lines(picture, Type(sizes.body, sizes.room), SAID)
    start = top + _height(lines) + sizes.body * 0.5
    return _made(picture, lines, (sizes.margin, top), (sizes.margin, start, sizes.room, bottom - start))


def _beside(picture: Picture, sizes: Sizes, top: float, bottom: float) -> list[PicturePage]:
    wide = sizes.room * BESIDE
    said = len(picture.says)
    lines = _lines(picture, Type(sizes.body, wide), said)
    while _height(lines) > bottom - top and said:
        said -= 1
        lines = _lines(picture, Type(sizes.body, wide), said)
    x = sizes.margin + wide + sizes.gap
    return _made(picture, lines, (sizes.margin, top), (x, top, sizes.room - wide - sizes.gap, bottom - top))


def _made(
    picture: Picture, lines: list[Line], at: tuple[float, float], box: tuple[float, float, float, float]
) -> list[PicturePage]:
    drawn = picture.drawings((box[2] * POINT_MM, box[3] * POINT_MM))
    return [PicturePage(TITLES[picture.name], tuple(lines), at, drawing, box) for drawing in drawn]


def _lines(picture: Picture, kind: Type, most: int) -> list[Line]:
    told = [line for text in picture.says[:most] for line in paragraph(text, kind, mark="-")]
    return [*heading(picture.title, kind), *told]


def _height(lines: Sequence[Line]) -> float:
    return sum(line.height for line in lines)


def draw_picture_page(pen: Pen, page: PicturePage) -> None:
    """What is under the head of a page."""
    from preflight.report.drawing_pdf import place_on

    x, top = page.lines_at
    for line in page.lines:
        line.draw(pen, x, top)
        top += line.height
    left, upper, width, height = page.box
    place_on(pen.canvas, page.drawing, left, pen.height - upper - height, width, height)

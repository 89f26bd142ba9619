"""The words of a page with their places, as PDFium reads them: real text only, and none that is outlined."""

from __future__ import annotations

import ctypes
import unicodedata
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import pypdfium2
import pypdfium2.raw as pdfium_c

from preflight.artwork.page.geometry import Box, box_through
from preflight.artwork.page.page import Page

MOST_CHARACTERS: Final = 60_000
MOST_ROWS: Final = 200_000
"""Painted objects of a page whose text is read: PDFium takes in all of them first."""


@dataclass(frozen=True)
class Word:
    """A word between blanks."""

    text: str
    box_mm: Box
    """On the page as displayed."""


def page_words(path: Path, page: Page) -> tuple[Word, ...] | None:
    """The words of a page in the order in which they are written; None where there are too many, or it cannot be read.

    Letters that differ only in how they are composed (NFKC) are the same.
    """
    if len(page.objects) > MOST_ROWS:
        return None
    try:
        with ExitStack() as opened:
            document = pypdfium2.PdfDocument(path)
            opened.callback(document.close)
            text = document[page.number - 1].get_textpage()
            if text.count_chars() > MOST_CHARACTERS:
                return None
            return tuple(_words(text, page))
    except (pypdfium2.PdfiumError, OSError, IndexError, ValueError):
        return None


def _words(text: Any, page: Page) -> Iterator[Word]:
    letters, boxes = list[str](), list[Box]()
    for at in range(text.count_chars()):
        letter = chr(pdfium_c.FPDFText_GetUnicode(text, at) or 32)
        if letter.isspace() or unicodedata.category(letter) == "Cc":
            yield from _word(letters, boxes, page)
            letters, boxes = [], []
        else:
            letters.append(letter)
            boxes.append(_letter_box(text, at))
    yield from _word(letters, boxes, page)


def _word(letters: list[str], boxes: list[Box], page: Page) -> Iterator[Word]:
    if letters:
        left, low, right, high = zip(*boxes, strict=True)
        whole = (min(left), min(low), max(right), max(high))
        yield Word(unicodedata.normalize("NFKC", "".join(letters)), box_through(page.to_mm, whole))


def _letter_box(text: Any, at: int) -> Box:
    """In the page's own space."""
    sides = [ctypes.c_double() for _ in range(4)]
    left, right, low, high = sides
    pdfium_c.FPDFText_GetCharBox(text, at, *(ctypes.byref(side) for side in sides))
    return (left.value, low.value, right.value, high.value)

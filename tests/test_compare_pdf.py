"""The comparison as a PDF, read by PDFium, which shares no code with what wrote it."""

from __future__ import annotations

import copy
import re
from functools import cache

import pypdfium2
import pytest

from preflight.report.compare_pdf import TO_SIGN, render_compare_pdf
from tests import compared_cards as cards

CASES = {"changed": cards.changed, "same": cards.same, "sheet": cards.on_sheet}


@cache
def pages_of(name):
    return read(render_compare_pdf(*CASES[name]()))


def read(data):
    """Text and size of each page, and how many pictures it has."""
    with pypdfium2.PdfDocument(data) as pdf:
        return [
            (
                re.sub(r"\s+", " ", page.get_textpage().get_text_range()),
                page.get_size(),
                sum(1 for each in page.get_objects() if each.type == 3),
            )
            for page in pdf
        ]


def text_of(pages):
    return " ".join(text for text, _, _ in pages)


@pytest.mark.parametrize("name", CASES)
def test_every_page_is_a4_with_its_number_and_files(name):
    pages = pages_of(name)
    for number, (text, size, _) in enumerate(pages, 1):
        assert size == pytest.approx((595.28, 841.89), abs=0.1)
        assert f"page {number} of {len(pages)}" in text


@pytest.mark.parametrize("name", CASES)
def test_the_first_page_begins_with_the_sentence_and_has_the_boxes_to_sign(name):
    document, _ = CASES[name]()
    first, *others = pages_of(name)
    assert first[0].startswith(document["says"])
    for label, _ in TO_SIGN:
        assert label in first[0]
        assert not any(label in text for text, _, _ in others)
    for which in ("old", "new"):
        assert document["files"][which]["sha256"] in first[0]


def test_it_says_what_the_page_says():
    text = text_of(pages_of("changed"))
    for words in (
        "Plates to remake Black Mill Brown Matt Varnish Plates that can stay Cyan Magenta Yellow",
        "Changed and not declared on the ticket: Mill Brown and Matt Varnish.",
        "Moved by 0.10 mm to the right 0.23 % +0.10, 0.00 mm",
        "500 450 14 mm from the left, 48 mm up Black",
        "Place 1: 13 x 10 mm round (18, 50) mm",
        "- less ink",
        "+ more ink",
    ):
        assert words in text


def test_it_has_all_the_pictures():
    _, pictures = cards.changed()
    views = len(pictures.looks) + sum(len(each.views) for each in pictures.plates)
    keys = 2 * views
    assert sum(count for _, _, count in pages_of("changed")) == 3 * views + keys


def test_a_sheet_has_its_blanks():
    text = text_of(pages_of("sheet"))
    for words in ("2 missing", "6 turned", "8 moved", "11 other art", "Blank 11 shows older.pdf on Black.", "One-up"):
        assert words in text


def test_the_same_document_gives_the_same_file():
    assert render_compare_pdf(*cards.changed()) == render_compare_pdf(*cards.changed())


def test_names_of_any_length_and_letters_stay_on_the_page():
    document = copy.deepcopy(cards.changed()[0])
    for k, name in enumerate(("W" * 400, "\u202eevil", "漢字 " * 30)):
        document["plates"][k]["name"] = name
        document["remake"].append(name)
    document["notes"] = ["A note of many words. " * 60] * 12
    pages = read(render_compare_pdf(document))
    assert len(pages) > 1
    assert "[U+202E]evil" in text_of(pages)
    assert text_of(pages).count("note") == 60 * 12

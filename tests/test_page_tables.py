"""The tables of one page: each thing has one number, and reading ends at the bounds."""

from __future__ import annotations

import pikepdf
import pytest
from pikepdf import Dictionary, Name

from preflight.artwork.page.objects import ImageFacts
from preflight.artwork.pdf.colour.colour_spaces import GRAY
from preflight.artwork.pdf.content import content_reader, page_tables
from preflight.artwork.pdf.content.graphics_state import GraphicsState
from preflight.artwork.pdf.content.page_tables import PageTables
from tests.test_content_reader import SQUARE, content_of, form, sheet


def test_states_that_make_the_same_rows_have_one_number():
    tables, state, other = PageTables(), GraphicsState(0, GRAY), GraphicsState(3, GRAY)
    assert tables.state_number(state) == tables.state_number(other) == 0
    other.line_width = 4
    assert [tables.state_number(each) for each in (other, state, other)] == [1, 0, 1]
    assert [each.line_width for each in tables.states] == [1, 4]


def test_pictures_that_say_the_same_have_one_number():
    tables = PageTables()
    small, large = ImageFacts("a", 2, 3, 8, False), ImageFacts("a", 2, 4, 8, False)
    assert [tables.image_number(each) for each in (small, large, ImageFacts("a", 2, 3, 8, False))] == [0, 1, 0]
    assert tables.images == [small, large]


def test_a_font_is_read_once():
    pdf, tables = pikepdf.new(), PageTables()
    fonts = [pdf.make_indirect(Dictionary(Subtype=Name.Type1, BaseFont=name)) for name in (Name.Oak, Name.Ash)]
    found = [tables.font(font) for font in (*fonts, fonts[0])]
    assert [number for _, number in found] == [0, 1, 0]
    assert found[0][0] is found[2][0]
    assert [facts.name for facts in tables.fonts] == ["Oak", "Ash"]


def test_what_is_over_a_bound_is_said_once():
    tables = PageTables()
    for because in ("too many", "too deep", "too many"):
        tables.over(because)
    assert [bound.because for bound in tables.over_bounds] == ["too many", "too deep"]


@pytest.mark.parametrize(("rows", "operators", "over"), [(3, 8, False), (4, 8, True), (3, 9, True), (0, 0, False)])
def test_either_bound_ends_the_reading(rows, operators, over, monkeypatch):
    monkeypatch.setattr(page_tables, "MOST_ROWS", 3)
    monkeypatch.setattr(page_tables, "MOST_OPERATORS", 8)
    assert PageTables(rows_read=rows, operators_read=operators).exhausted is over


@pytest.mark.parametrize(("operators", "rows"), [(8, 4), (7, 0)])
def test_a_page_with_as_many_operators_as_the_bound_is_read(operators, rows, monkeypatch):
    """A path and what paints it are two each, in forms too."""
    monkeypatch.setattr(page_tables, "MOST_OPERATORS", operators)
    content = content_of(sheet(" ".join([SQUARE] * 4)))
    assert len(content.stream.painted) == rows
    assert len(content.over_bounds) == (rows == 0)


def test_nothing_is_read_behind_a_bound(monkeypatch):
    for module in (page_tables, content_reader):
        monkeypatch.setattr(module, "MOST_ROWS", 2)
    drawing = sheet("/Fm Do /Later Do", SQUARE)
    form(drawing, " ".join([SQUARE] * 3))
    form(drawing, SQUARE, "Later")
    content = content_of(drawing)
    assert [len(stream.painted) for stream in content.streams] == [0, 0, 0]
    assert len(content.over_bounds) == 1

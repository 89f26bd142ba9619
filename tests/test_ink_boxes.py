"""Boxes that ink stays within: half a miter limit of line widths beyond strokes, an em beyond text."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.platemaking import ink_boxes as module
from preflight.artwork.platemaking.ink_boxes import ink_boxes, ink_boxes_of_plates, largest_mitre
from tests.drawn import MM, Drawing
from tests.test_shared_channels import read

PAGE_MM = (0, 0, 60, 50)
PT = 1 / MM


def of_page(page: Drawing, tmp_path) -> tuple[Any, Any]:
    found = read(page, tmp_path)
    assert found.separator is not None
    return found.separator.objects, found.separator.page_content.states


def boxes(page: Drawing, tmp_path) -> list[list[float]]:
    found: list[list[float]] = ink_boxes(*of_page(page, tmp_path)).tolist()
    return found


@pytest.mark.parametrize(
    ("data", "states", "expected"),
    [
        (b"0 0 m 9 9 l S", {}, 10),
        (b"4 M 0 0 m 9 9 l S", {}, 10),  # smaller ones do not matter: the page begins with 10
        (b"12.5 M q 80 M Q 3 M", {}, 80),
        (b"77M", {}, 10),
        (b"(no 90 M) Tj", {}, 90),  # rather too much
        (b"/X MP 3 0 0 MC", {}, 10),
        (b" M 5 5 m", {}, 10),
        (b"/Name M", {}, 10),
        (b"77M 80 M", {}, 80),
        (b"/Name M 80 M", {}, 80),
        (b"20 M", {"ML": 30}, 30),
        (b"20 M", {"ML": 15}, 20),
        (b"", {"LW": 50}, 10),
    ],
)
def test_the_largest_miter_limit_that_a_stream_may_set(data, states, expected):
    resources = Dictionary(ExtGState=Dictionary(G=Dictionary(**states)))
    content: Any = SimpleNamespace(data=data, resources=resources)
    assert largest_mitre([content]) == expected
    assert largest_mitre([SimpleNamespace(data=b"11 M", resources=Dictionary()), content]) == max(11, expected)  # type: ignore[list-item]
    assert largest_mitre([]) == 10


def test_fills_stay_in_their_boxes(tmp_path):
    page = Drawing(60, 50).fill("Leaf", rect=(10, 20, 15, 23)).fill((0, 0, 0, 1), rect=(30, 5, 38, 9))
    assert boxes(page, tmp_path) == [pytest.approx([10, 20, 15, 23], abs=1e-3), pytest.approx([30, 5, 38, 9], abs=1e-3)]


@pytest.mark.parametrize(("before", "mitres"), [("", 5), ("20 M", 10), ("3 M", 5)])
def test_strokes_reach_out_of_their_boxes_by_half_the_miter_limit(tmp_path, before, mitres):
    page = Drawing(60, 50).raw(before).stroke("Leaf", [(20, 20), (30, 24)], width_mm=0.4, close=False)
    reach = 0.2 + 0.4 * mitres  # half the width is in the box of a stroke
    expected = [20 - reach, 20 - reach, 30 + reach, 24 + reach]
    assert boxes(page, tmp_path)[0] == pytest.approx(expected, abs=1e-3)


def test_strokes_reach_as_far_as_their_wider_way(tmp_path):
    page = Drawing(60, 50).colour("Leaf", stroke=True)
    page.raw(f"q 3 0 0 0.5 0 0 cm 1 w {20 * MM} {40 * MM} m {10 * MM} {60 * MM} l S Q")
    (found,) = boxes(page, tmp_path)
    reach = 3 * PT * 5.5
    # On the right the page cuts its box off at 60 mm, half the line's width with it.
    assert found == pytest.approx([30 - reach, 20 - reach, 60 + 15 * PT, 30 + reach], abs=1e-2)


def test_text_reaches_out_of_its_box_by_no_more_than_its_size(tmp_path):
    page = Drawing(60, 50).text("oat", (20, 20), 10, ink="Leaf")
    table, states = of_page(page, tmp_path)
    (found,) = ink_boxes(table, states)
    assert found == pytest.approx(table.shown_mm[0] + 10 * PT * np.array([-1, -1, 1, 1]), abs=1e-3)


def test_outlines_of_type_have_their_stroke_too(tmp_path):
    page = Drawing(60, 50).colour("Leaf", stroke=True).raw("2 w 1 Tr").text("oat", (20, 20), 10, ink="Leaf")
    table, states = of_page(page, tmp_path)
    (found,) = ink_boxes(table, states)
    assert found == pytest.approx(table.shown_mm[0] + (10 + 2 * 5) * PT * np.array([-1, -1, 1, 1]), abs=1e-3)


def test_what_is_in_a_form_is_as_large_as_the_form_is_placed(tmp_path):
    page = Drawing(60, 50)
    page.spot("Leaf")
    form = page.form(f"/{page.spaces['Leaf']} CS 1 SCN 1 w 10 10 m 20 12 l S", bbox_mm=(0, 0, 60, 50))
    page.raw(f"0.5 w /{form} Do q 2 0 0 2 30 20 cm /{form} Do Q")
    small, large = boxes(page, tmp_path)
    assert small == pytest.approx([v * PT for v in (10 - 5.5, 10 - 5.5, 20 + 5.5, 12 + 5.5)], abs=1e-3)
    assert large == pytest.approx([v * PT for v in (50 - 11, 40 - 11, 70 + 11, 44 + 11)], abs=1e-3)


def test_glyphs_of_a_type_3_font_may_be_anywhere(tmp_path):
    page = Drawing(60, 50).fill("Leaf", rect=(10, 20, 15, 23))
    page.resources.Font.T3 = Dictionary(
        Type=Name.Font, Subtype=Name.Type3, FontBBox=Array([0, 0, 1, 1]), FontMatrix=Array([1, 0, 0, 1, 0, 0]),
        CharProcs=Dictionary(a=page.pdf.make_stream(b"1 0 0 0 1 1 d1 5 5 2 2 re f")), FirstChar=97, LastChar=97,
        Encoding=Dictionary(Type=Name.Encoding, Differences=Array([97, Name.a])), Widths=Array([1]),
        Resources=Dictionary(),
    )  # fmt: skip
    page.raw("BT /T3 12 Tf 20 20 Td (a) Tj ET")
    fill, glyph = boxes(page, tmp_path)
    assert fill == pytest.approx([10, 20, 15, 23], abs=1e-3)
    assert max(glyph[0], glyph[1]) < -1e5
    assert min(glyph[2], glyph[3]) > 1e5


def of_plates(page: Drawing, tmp_path, plates=("Black", "Leaf", "Rust", "Unused")) -> Any:
    objects, states = of_page(page, tmp_path)
    found, marks = ink_boxes_of_plates(objects, plates, states, PAGE_MM)
    rounded = {name: sorted(map(tuple, own.round(2).tolist())) for name, own in found.items()}
    return rounded, sorted(map(tuple, marks.round(2).tolist()))


def two_inks() -> Drawing:
    page = Drawing(60, 50).fill("Leaf", rect=(10, 20, 15, 23)).fill("Leaf", 0.5, rect=(2, 3, 5, 9))
    return page.fill((0, 0, 0, 0.5), rect=(30, 5, 38, 9)).fill("Rust", 0, rect=(50, 5, 99, 8))


def test_each_plate_has_the_boxes_of_its_objects(tmp_path):
    found, marks = of_plates(two_inks(), tmp_path)
    assert found == {
        "Black": [(30, 5, 38, 9)], "Leaf": [(2, 3, 5, 9), (10, 20, 15, 23)], "Rust": [(50, 5, 60, 8)], "Unused": [],
    }  # fmt: skip
    assert marks == []


def test_boxes_are_cut_at_the_page_and_what_does_not_show_has_none(tmp_path):
    page = two_inks().stroke("Rust", [(59, 1), (59, 49)], width_mm=1, close=False)
    page.fill("Leaf", rect=(70, 70, 80, 80)).raw("q 0 0 1 1 re W n").fill("Leaf", rect=(20, 20, 30, 30)).raw("Q")
    found, _ = of_plates(page, tmp_path)
    assert found["Leaf"] == [(2, 3, 5, 9), (10, 20, 15, 23)]
    assert found["Rust"] == [(50, 5, 60, 8), (53.5, 0, 60, 50)]


def test_registration_colour_is_taken_piece_by_piece(tmp_path):
    """A fill stays within its subpaths; a stroke near its lines, by its width and half the miter limit of it."""
    page = two_inks().colour("All").path([(1, 1), (3, 1), (3, 2)]).path([(40, 40), (42, 40), (42, 43)]).raw("f")
    page.stroke("All", [(10, 45), (20, 45), (20, 35)], width_mm=0.2, close=False)
    found, marks = of_plates(page, tmp_path)
    assert found["Leaf"] == [(2, 3, 5, 9), (10, 20, 15, 23)]
    assert marks[0] == (1, 1, 3, 2)
    assert marks[-1] == (40, 40, 42, 43)
    # Both lines of the stroke by 1.2 mm, cut to what the whole of it may reach: 0.1 and 1.
    assert marks[1:3] == [(8.9, 43.8, 21.1, 46.1), (18.8, 33.9, 21.1, 46.1)]


def test_of_very_many_marks_only_the_boxes_are_taken(tmp_path, monkeypatch):
    page = Drawing(60, 50).colour("All").path([(1, 1), (3, 1), (3, 2)]).path([(40, 40), (42, 40), (42, 43)]).raw("f")
    page.fill("All", rect=(20, 5, 22, 6)).fill("Leaf", rect=(30, 5, 38, 9))
    pieces = [(1, 1, 3, 2), (20, 5, 22, 6), (40, 40, 42, 43)]
    whole = [(1, 1, 42, 43), (20, 5, 22, 6)]
    for marks, most, expected in ((2, 3, pieces), (1, 3, whole), (2, 2, whole)):
        monkeypatch.setattr(module, "MOST_MARKS", marks)
        monkeypatch.setattr(module, "MOST_PIECES", most)
        assert of_plates(page, tmp_path)[1] == expected

"""Layout, ink keys and coating plate on the set-up sheet: words, pictures, page, PDF and terminal."""

from __future__ import annotations

import io
import re

import pypdf
import pytest
from rich.console import Console

from preflight.report.drawing import Drawing, Text
from preflight.report.key_drawing import key_drawing
from preflight.report.setup_html import render_setup_html
from preflight.report.setup_layout import coating_sentences, key_bars, key_sentences, layout_line, layout_sentences
from preflight.report.setup_pdf import render_setup_pdf
from preflight.report.setup_pictures import SheetDrawings
from preflight.report.setup_terminal import print_setup
from tests.setup_documents import usual

COVERS = [0.0, 0.004, 0.05, 0.25, 0.6]
"""From the operator side."""
PLATE: dict[str, object] = {
    "lays": "overall", "separation": None, "choke_mm": 0.7, "seam_mm": 2.5, "stretch_percent": 0.4, "gutters": "coated",
    "coated_share": 0.91, "bare": [],
}  # fmt: skip


def blank(number: int, turn: int, version: str | None = None) -> dict[str, object]:
    return {"number": number, "x_mm": 20.0 * number, "y_mm": 16.0, "turn_deg": turn, "version": version}


def document(side: str = "left", first: str | None = "drive", **more):
    made = usual()
    made["layout"] = {
        "sheet_mm": [720, 560], "ups": 3, "is_from": "layout of the tool", "operator_side": side,
        "operator_assumed": False, "blanks": [blank(1, 0), blank(2, 180), blank(3, 180)], "pattern": "tumbled",
        "used_share": 0.714, "grain": "across", "gutters_mm": [6.0, 0.0], "because": "3-up in rows.",
        "why_not_more": "One more row would need 12 mm more along the travel.", "alternatives": [], "notes": [],
    }  # fmt: skip
    made["ink_keys"] = {
        "count": 5, "pitch_mm": 200, "first": first, "cover": {"Cyan": COVERS, "Mill Brown": [0.1] * 5},
        "opening_percent": {"Cyan": [None, 2.0, 8.0, 30.4, 61.0], "Mill Brown": None}, "own_marks": [],
    }  # fmt: skip
    areas = [{"blank": n, "is": kind, "polygon_mm": [[0, 0], [1, 0], [1, 1]]} for n in (1, 2, 3) for kind in ("code",)]
    made["clear_areas"], made["coating_plate"] = areas, PLATE
    return {**made, **more}


# Words -------------------------------------------------------------------------------------------------------------


def test_the_layout_in_a_line_and_why_there_is_no_more():
    assert layout_line(document()) == "3-up tumbled on 720 x 560 mm, 71 % of the sheet used"
    told = layout_sentences(document())
    assert "One more row would need 12 mm more along the travel." in told
    assert "Gutters: 6 mm side by side and a shared knife along the travel." in told
    assert "Turned: blanks 2, 3 by 180°." in told


def test_nothing_is_said_of_what_is_not_laid_out():
    bare = {**document(), "layout": {"sheet_mm": [720, 560], "ups": 4}, "ink_keys": None, "coating_plate": None}
    assert layout_line(bare) == ""
    assert layout_sentences(bare) == key_sentences(bare) == coating_sentences(bare) == []
    assert key_bars(bare) is None


def test_what_a_plant_has_not_said_of_the_plate_is_said_to_be_missing():
    told = coating_sentences(document(coating_plate={**PLATE, "choke_mm": None, "stretch_percent": None}))
    assert any(text.startswith("Choke not known") for text in told)
    assert any(text.startswith("Stretch not known") for text in told)
    assert "Bare on 3 blanks: 3 x code." in coating_sentences(document())


# Ink keys ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("side", "first", "numbers", "sides"),
    [
        ("left", "operator", (1, 2, 3, 4, 5), ("OPERATOR SIDE", "DRIVE SIDE")),
        ("left", "drive", (5, 4, 3, 2, 1), ("OPERATOR SIDE", "DRIVE SIDE")),
        ("right", "operator", (5, 4, 3, 2, 1), ("DRIVE SIDE", "OPERATOR SIDE")),
        ("right", "drive", (1, 2, 3, 4, 5), ("DRIVE SIDE", "OPERATOR SIDE")),
    ],
)
def test_keys_carry_the_numbers_of_the_press_and_both_sides_are_named(side, first, numbers, sides):
    """The heaviest key is the last one from the operator side, wherever that is."""
    bars = key_bars(document(side, first))
    assert bars is not None
    assert (bars.numbers, (bars.left, bars.right)) == (numbers, sides)
    cyan = next(row for row in bars.rows if row.ink == "Cyan")
    assert cyan.covers == tuple(COVERS if side == "left" else COVERS[::-1])
    assert bars.numbers[cyan.covers.index(0.6)] == (5 if first == "operator" else 1)


def test_units_stand_in_their_order_and_say_whether_there_is_a_curve():
    bars = key_bars(document())
    assert bars is not None
    assert [row.heading for row in bars.rows] == ["Unit 2, Cyan", "Unit 5, Mill Brown"]
    cyan, brown = bars.rows
    assert cyan.told == ("", "2", "8", "30", "61")
    assert "no curve yet" in brown.shows
    assert "no curve yet" not in cyan.shows
    assert brown.told == ("10",) * 5
    assert any("Mill Brown" in text and "no curve yet" in text for text in key_sentences(document()))


def test_each_unit_of_an_ink_has_a_row_and_the_back_has_its_own_cover():
    made = document()
    stations = made["plan"]["passes"][0]["stations"]
    stations[2] |= {"separation": "Cyan"}  # unit 3 lays it once more
    stations[3] |= {"separation": "Mill Brown", "side": "back"}
    made["ink_keys"]["cover"]["Mill Brown (back)"] = [0.3] * 5
    made["ink_keys"]["opening_percent"]["Cyan (unit 3)"] = [None, 1.0, 4.0, 15.0, 30.0]
    bars = key_bars(made)
    assert bars is not None
    told = {row.heading: row.told for row in bars.rows}
    assert told["Unit 2, Cyan"] == ("", "2", "8", "30", "61")
    assert told["Unit 3, Cyan"] == ("", "1", "4", "15", "30")
    assert told["Unit 4, Mill Brown (back)"] == ("30",) * 5
    assert told["Unit 5, Mill Brown"] == ("10",) * 5


def texts(drawing: Drawing) -> list[str]:
    return [item.says for item in drawing.items if isinstance(item, Text)]


def test_the_picture_of_the_keys_has_every_number_and_both_sides():
    bars = key_bars(document())
    assert bars is not None
    (drawing,) = key_drawing(bars, 280)
    told = texts(drawing)
    assert {"OPERATOR SIDE", "DRIVE SIDE", "Unit 2, Cyan", "cover %, no curve yet"} <= set(told)
    assert [told.count(str(number)) >= 2 for number in (1, 3, 4, 5)] == [True] * 4
    heights = [run[0] for item in drawing.items if getattr(item, "name", "") == "bar" for run in item.runs]  # type: ignore[union-attr]
    assert len(heights) == 4 + 5


def test_units_that_find_no_room_go_on_in_another_picture():
    bars = key_bars(document())
    assert bars is not None
    assert len(key_drawing(bars, 280, 50)) == 2


# Page, PDF, terminal -----------------------------------------------------------------------------------------------

DRAWN = SheetDrawings(lambda paper: square("the layout"), lambda paper: square("the plate"))


def square(says: str) -> Drawing:
    drawing = Drawing("Square", (0, 0, 100, 100))
    drawing.text(50, 50, says, 5)
    return drawing


def test_the_page_has_three_pictures_and_no_style_in_them():
    page = render_setup_html(document(), DRAWN)
    assert re.findall(r'<section class="picture picture-(\w+)">', page) == ["layout", "keys", "coating"]
    assert page.count('class="drawing"') == 3
    assert not re.search(r"<[^>]+ style=", page)
    assert "3-up tumbled on 720 x 560 mm" in page


def test_the_page_of_a_sheet_that_cannot_be_drawn_still_has_its_words():
    page = render_setup_html(document())
    assert page.count('class="drawing"') == 1
    assert "The plate coats all over, 91 % of the sheet." in page


@pytest.mark.parametrize("paper", ["a4", "a3"])
def test_the_pdf_has_a_page_for_each_picture(paper):
    pages = [
        page.extract_text() for page in pypdf.PdfReader(io.BytesIO(render_setup_pdf(document(), paper, DRAWN))).pages
    ]
    of = {
        title: [text for text in pages if title in text.splitlines()]
        for title in ("LAYOUT", "INK KEYS", "COATING PLATE")
    }
    assert [len(found) for found in of.values()] == [1, 1, 1]
    assert "the layout" in of["LAYOUT"][0]
    assert "no curve yet" in of["INK KEYS"][0]
    assert "the plate" in of["COATING PLATE"][0]
    assert "seen from the operator side" not in of["LAYOUT"][0]


def test_the_terminal_says_it_in_a_few_lines():
    file = io.StringIO()
    print_setup(document(), Console(file=file, width=80))
    told = file.getvalue()
    assert "Layout: 3-up tumbled on 720 x 560 mm, 71 % of the sheet used" in told
    assert "no curve yet" in told
    assert "to 60 % at key 1" in told

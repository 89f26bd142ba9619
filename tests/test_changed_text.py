"""Words of a page with their places, and those that are not the same in two files."""

from __future__ import annotations

import pytest

from preflight.artwork import page_text
from preflight.artwork.page_text import Word, page_words
from preflight.artwork.read_artwork import read_artwork
from preflight.comparing.comparison import PlateChange
from preflight.comparing.pages.changed_text import MOST_CHANGES, changed_text, on_plates
from preflight.comparing.pages.shared_frame import SharedFrame
from tests.drawn import Drawing


def words(text: str, at: tuple[float, float] = (10, 20)) -> list[Word]:
    """Words in a row, 10 mm apart."""
    return [Word(word, (at[0] + 10 * i, at[1], at[0] + 10 * i + 8, at[1] + 3)) for i, word in enumerate(text.split())]


def changed(old: str, new: str) -> list[tuple[str, str]]:
    return [(each.old, each.new) for each in changed_text(words(old), words(new), SharedFrame(), 1)]


# The words of a page -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
def test_words_have_their_places_on_the_page_as_displayed(tmp_path, rotate):
    page = Drawing(120, 80).text("Oats 500 g", (20, 30), 12).text("Rye", (20, 60), 8)
    page.page.obj.Rotate = rotate
    path = page.save(tmp_path / "a.pdf")
    read = page_words(path, read_artwork(path).pages[0])
    assert read is not None
    assert {word.text for word in read} == {"Oats", "500", "g", "Rye"}
    corners = {0: (20, 30), 90: (30, 100), 180: (100, 50), 270: (50, 20)}
    x0, y0, x1, y1 = next(word.box_mm for word in read if word.text == "Oats")
    x, y = corners[rotate]
    near = {0: (x0, y0), 90: (x0, y1), 180: (x1, y1), 270: (x1, y0)}[rotate]
    assert near == pytest.approx((x, y), abs=0.3)


def test_a_page_in_larger_units_has_its_words_where_they_are(tmp_path):
    page = Drawing(120, 80).text("Oats", (20, 30), 12)
    page.page.obj.UserUnit = 2
    path = page.save(tmp_path / "a.pdf")
    (word,) = page_words(path, read_artwork(path).pages[0]) or ()
    assert word.box_mm[:2] == pytest.approx((40, 60), abs=0.5)


def test_too_much_text_is_not_read(tmp_path, monkeypatch):
    path = Drawing(120, 80).text("Oats", (20, 30), 12).save(tmp_path / "a.pdf")
    page = read_artwork(path).pages[0]
    monkeypatch.setattr(page_text, "MOST_CHARACTERS", 3)
    assert page_words(path, page) is None
    monkeypatch.setattr(page_text, "MOST_CHARACTERS", 4)
    assert page_words(path, page) is not None
    monkeypatch.setattr(page_text, "MOST_ROWS", 0)
    assert page_words(path, page) is None


def test_a_file_that_is_not_there_any_more_has_no_text(tmp_path):
    path = Drawing(120, 80).text("Oats", (20, 30), 12).save(tmp_path / "a.pdf")
    page = read_artwork(path).pages[0]
    path.unlink()
    assert page_words(path, page) is None


# What changed ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        ("Oats 500 g", "Oats 450 g", [("500", "450")]),
        ("Oats 500 g", "Oats 500 g", []),
        ("Oats 500 g", "g 500 Oats", []),
        ("Oats 500 g", "Oats 500 g new", [("", "new")]),
        ("Oats 500 g", "Oats 500", [("g", "")]),
        ("Oats 500 g 500 g", "Oats 500 g 450 g", [("500", "450")]),
        ("Oats 500 g 500 g", "Oats 450 g 500 g", [("500", "450")]),
        ("one two three", "eins zwei drei", [("one", "eins"), ("two", "zwei"), ("three", "drei")]),
    ],
)
def test_words_that_changed(old, new, found):
    assert changed(old, new) == found


def test_of_a_word_that_is_there_twice_the_one_that_changed_is_shown():
    (text,) = changed_text(words("500 500 500"), words("500 450 500"), SharedFrame(), 3)
    assert (text.old, text.new, text.page) == ("500", "450", 3)
    assert text.box_mm == (20, 20, 28, 23)


def test_a_word_that_is_gone_has_its_place_on_the_new_page():
    (text,) = changed_text(words("Oats g"), words("Oats", (110, 20)), SharedFrame(0, (100, 0)), 1)
    assert (text.old, text.new, text.box_mm) == ("g", "", (120, 20, 128, 23))


def test_words_far_apart_are_no_pair():
    found = changed_text(words("Oats 500"), [*words("Oats"), Word("450", (200, 150, 208, 153))], SharedFrame(), 1)
    assert [(each.old, each.new) for each in found] == [("", "450"), ("500", "")]


def test_where_one_has_no_text_nothing_is_said():
    assert changed_text(None, words("Oats"), SharedFrame(), 1) == ()
    assert changed_text(words("Oats"), [], SharedFrame(), 1) == ()


def test_another_text_altogether_is_not_listed():
    many = " ".join(f"word{i}" for i in range(MOST_CHANGES + 1))
    assert changed_text(words("Oats"), words(many), SharedFrame(), 1) == ()


def test_texts_name_the_plates_that_changed_in_their_place():
    texts = changed_text(words("500"), words("450"), SharedFrame(), 1)
    plates = [
        PlateChange("Black", "local", places=(((12, 21, 13, 22), 1),)),
        PlateChange("Cyan", "local", places=(((12, 21, 13, 22), 2), ((50, 50, 60, 60), 1))),
    ]
    (text,) = on_plates(texts, plates)
    assert text.plates == ("Black",)

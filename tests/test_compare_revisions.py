"""Two revisions of a drawn carton: what changed is named, and what did not is left in peace."""

from __future__ import annotations

import pytest
from pikepdf import Name

from preflight.artwork.page.page import OverBound
from preflight.artwork.platemaking.pdfium import DerivedDocument
from preflight.artwork.read_artwork import read_artwork
from preflight.comparing.compare_revisions import EXPORTED, compare_revisions
from preflight.comparing.compare_words import headline, keep, remake, unchanged, undeclared
from preflight.errors import PageNotDrawn
from tests.books import Book
from tests.drawn import Drawing
from tests.revisions import (
    PLATES,
    PROCESS,
    carton,
    changes,
    compared,
    only_metadata,
    other_conversion,
    plate,
    user_unit,
    with_origin,
)

WITH_DIE = "The art has moved on the page together with its die"

# What is the same --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("new", "says"),
    [
        (lambda: carton(rotate=90), "The page is turned by 90° clockwise."),
        (lambda: carton(rotate=180), "The page is turned by 180°."),
        (lambda: carton(rotate=270), "The page is turned by 90° counter-clockwise."),
        (lambda: with_origin(carton(), 30, -20), "The MediaBox of the page begins at 30, -20 pt, before at 0, 0 pt."),
        (lambda: carton(trim=(9, 10, 206, 190)), "The TrimBox is new."),
        (lambda: user_unit(carton(), 2), "The UserUnit of the page is 2, before 1."),
        (lambda: carton(at=(12.3, 11)), f"{WITH_DIE} by 2.3 mm to the right and 1.0 mm up."),
        (lambda: carton(turned_round=True), None),
        (lambda: with_origin(carton(rotate=90, turned_round=True), 5, 5), "The page is turned by 90° clockwise."),
    ],
)  # fmt: skip
def test_a_page_that_lies_otherwise_changes_no_plate(tmp_path, new, says):
    found = compared(tmp_path, carton(), new())
    assert (found.same, changes(found), found.not_compared) == (True, {}, ())
    assert sorted(each.name for each in found.plates) == sorted(PLATES)
    assert list(found.pages[:1]) == ([says] if says else [])
    assert headline(found) == "No plate changes."
    assert keep(found) == [each.name for each in found.plates]
    assert remake(found) == []


@pytest.mark.parametrize("rotate", [90, 180, 270])
@pytest.mark.parametrize("die", [True, False])
def test_a_turned_page_that_was_written_again_is_laid_back(tmp_path, rotate, die):
    """The order of objects differs, so that no digest tells it."""
    found = compared(tmp_path, carton(die=die), carton(die=die, rotate=rotate, turned_round=True))
    assert (found.same, changes(found)) == (True, {})
    assert len(found.pages) == 1


def test_a_trim_box_that_is_wider_or_moved_changes_no_plate(tmp_path):
    trim = (10, 10, 205, 190)
    wider = compared(
        tmp_path, carton(die=False, trim=trim), carton(die=False, trim=(9, 10, 206, 190), turned_round=True)
    )
    assert (wider.same, wider.pages) == (True, ("The TrimBox is 2.0 mm wider.",))
    moved = compared(
        tmp_path, carton(die=False, trim=trim), carton(die=False, trim=(11, 10, 206, 190), turned_round=True)
    )
    assert (moved.same, moved.pages) == (True, ("The TrimBox has moved against the art by 1.0 mm to the right.",))


def test_art_that_moved_with_its_trim_box_is_a_page_that_moved(tmp_path):
    old = carton(die=False, trim=(10, 10, 205, 190))
    found = compared(tmp_path, old, carton(die=False, trim=(12, 13, 207, 193), art=(2, 3)))
    assert (found.same, changes(found)) == (True, {})
    (says,) = found.pages
    assert says == "The art has moved on the page together with its TrimBox by 2.0 mm to the right and 3.0 mm up."


def test_a_larger_page_without_die_and_trim_is_laid_by_its_content(tmp_path):
    found = compared(tmp_path, carton(die=False), carton(die=False, size=(235, 210), art=(5.5, 7)))
    assert (found.same, changes(found)) == (True, {})
    assert found.pages == (
        "The page is 20 mm wider and 10 mm higher.",
        "The art has moved on the page by 5.5 mm to the right and 7.0 mm up.",
    )


@pytest.fixture
def drawn(monkeypatch):
    """Names a rendering each."""
    seen, render = list[int](), DerivedDocument.render

    def counted(self, number, matrix, width, height, **keys):
        seen.append(width * height)
        return render(self, number, matrix, width, height, **keys)

    monkeypatch.setattr(DerivedDocument, "render", counted)
    return seen


def test_nothing_is_drawn_of_what_is_equal(tmp_path, drawn):
    path = carton().save(tmp_path / "old.pdf")
    read_artwork(path)
    drawn.clear()  # screen colours of the spots
    same = compared(tmp_path, path, path)
    assert (same.same, same.notes) == (True, ("The two files are equal, byte for byte.",))
    assert sorted(each.name for each in same.plates) == sorted(PLATES)
    saved = compared(tmp_path, path, only_metadata(path))
    assert (saved.same, headline(saved), saved.pages) == (True, "No plate changes.", ())
    turned = compared(tmp_path, path, carton(rotate=90))
    assert turned.same
    assert max(drawn, default=0) < 1000
    assert not compared(tmp_path, path, carton(code="4012346")).same
    assert max(drawn) > 100_000


# What changed ------------------------------------------------------------------------------------------------------


def test_a_shift_of_a_tenth_against_the_die_is_moved(tmp_path):
    found = compared(tmp_path, carton(), carton(art=(0.1, 0)))
    assert changes(found) == dict.fromkeys(PLATES, "moved")
    for each in found.plates:
        assert each.moved_mm == pytest.approx((0.1, 0), abs=0.02)
    assert headline(found) == "Every plate moved by 0.10 mm to the right. No plate can stay."
    assert found.pages == ()


def test_one_plate_that_moved_is_named_alone(tmp_path):
    found = compared(tmp_path, carton(), carton(magenta_art=(0, -0.1)))
    assert changes(found) == {"Magenta": "moved"}
    assert plate(found, "Magenta").moved_mm == pytest.approx((0, -0.1), abs=0.02)
    assert plate(found, "Magenta").says == "moved by 0.10 mm down"
    assert headline(found) == "Only Magenta changed. Six plates can stay."


def test_shifts_are_new_less_old_as_the_new_page_is_displayed(tmp_path):
    """The art went 0.3 mm to the right on the old page, which is down on a page turned clockwise."""
    found = compared(tmp_path, carton(), carton(magenta_art=(0.3, 0), rotate=90))
    assert changes(found) == {"Magenta": "moved"}
    assert plate(found, "Magenta").moved_mm == pytest.approx((0, -0.3), abs=0.02)


def test_a_step_of_two_percent_is_a_change_of_tone(tmp_path):
    found = compared(tmp_path, carton(), carton(cyan=0.32))
    assert changes(found) == {"Cyan": "tone"}
    assert plate(found, "Cyan").tone_percent == pytest.approx(2, abs=0.5)
    assert plate(found, "Cyan").says == "darker by up to 2.0 points of tint"


def test_a_blob_of_a_fifth_of_a_square_millimetre_is_found_in_its_place(tmp_path):
    new = carton().fill((0, 1, 0, 0), rect=(100, 130, 100.45, 130.45))
    found = compared(tmp_path, carton(), new)
    assert changes(found) == {"Magenta": "local"}
    (((x0, y0, x1, y1), page),) = plate(found, "Magenta").places
    assert page == 1
    assert (x0, y0, x1, y1) == pytest.approx((100, 130, 100.45, 130.45), abs=0.35)
    assert 0 < plate(found, "Magenta").share < 1e-3


def test_a_changed_digit_is_shown_as_words(tmp_path):
    found = compared(tmp_path, carton(), carton(code="4012346"))
    assert changes(found) == {"Black": "local"}
    (text,) = found.texts
    assert (text.old, text.new, text.page, text.plates) == ("4012345", "4012346", 1, ("Black",))
    assert text.box_mm[:2] == pytest.approx((137.6, 110), abs=0.5)


def test_what_differs_outside_the_cut_only_is_no_change(tmp_path):
    found = compared(tmp_path, carton(), carton().fill((0, 0, 0, 1), rect=(2, 2, 6, 4)))
    assert (found.same, changes(found)) == (True, {})
    black = plate(found, "Black")
    assert black.says == "differs outside the cut only"
    assert black.outside[0][0] == pytest.approx((2, 2, 6, 4), abs=0.3)


def test_another_export_is_named_and_is_a_change_of_the_process_plates(tmp_path):
    found = compared(tmp_path, carton(), carton(convert=other_conversion))
    assert changes(found) == dict.fromkeys(PROCESS, "tone")
    assert found.export == EXPORTED
    assert headline(found) == (
        "Only Cyan, Magenta, Yellow and Black changed. Three plates can stay. "
        "It looks like another export of the same artwork through another colour conversion."
    )


def test_another_export_of_art_that_moved_is_none(tmp_path):
    found = compared(tmp_path, carton(), carton(convert=other_conversion, art=(1, 0)))
    assert found.export == ""
    assert {*changes(found)} == {*PLATES}


def test_scaled_art_is_named(tmp_path):
    found = compared(tmp_path, carton(), carton(scale=0.99))
    assert not found.same
    assert "The art is scaled to 99.0 % of its old size." in found.pages


# Names -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["Fern", "MOSS", "Moss C"])
def test_a_renamed_plate_stays(tmp_path, name):
    found = compared(tmp_path, carton(), carton(moss=name))
    assert (found.same, changes(found)) == (True, {name: "renamed"})
    assert plate(found, name).renamed_from == "Moss"
    assert headline(found) == f"No plate changes. {name} is only renamed, from Moss."
    assert name in keep(found)


def test_a_renamed_plate_of_a_page_that_was_turned_stays(tmp_path):
    found = compared(tmp_path, carton(), carton(moss="Fern", rotate=90))
    assert (found.same, changes(found)) == (True, {"Fern": "renamed"})


def test_two_names_of_one_ink_are_one_plate_that_was_edited(tmp_path):
    new = carton(moss="Fern").fill("Fern", rect=(100, 130, 105, 135))
    found = compared(tmp_path, carton(), new, separations={"Fern": {"same_as": "Moss"}})
    assert changes(found) == {"Fern": "local"}
    assert plate(found, "Fern").renamed_from == "Moss"
    assert remake(found) == ["Fern"]


def test_a_new_plate_and_one_that_is_gone(tmp_path):
    more = carton().fill("Matt Varnish", rect=(100, 130, 105, 135))
    found = compared(tmp_path, carton(), more)
    assert changes(found) == {"Matt Varnish": "new"}
    assert headline(found) == "Matt Varnish is new. Seven plates can stay."
    assert remake(found) == ["Matt Varnish"]
    assert plate(found, "Matt Varnish").places[0][0] == pytest.approx((100, 130, 105, 135), abs=0.3)
    back = compared(tmp_path, more.save(tmp_path / "more.pdf"), carton(code="x"))
    assert changes(back) == {"Black": "local", "Matt Varnish": "gone"}
    assert remake(back) == ["Black"]


def test_merged_and_parted_plates_say_with_which(tmp_path):
    merged = compared(tmp_path, carton(), carton(gold="Copper"))
    assert changes(merged) == {"Copper": "local", "Gold": "gone"}
    assert "its ink is on the plate of Copper now" in plate(merged, "Gold").says
    parted = compared(tmp_path, carton(gold="Copper"), carton())
    assert changes(parted) == {"Copper": "local", "Gold": "new"}
    assert "its ink was on the plate of Copper" in plate(parted, "Gold").says


def test_a_spot_that_is_mixed_of_process_inks_now_is_said(tmp_path):
    found = compared(tmp_path, carton(), carton(moss=(0, 0.5, 0.5, 0)))
    assert changes(found) == {"Magenta": "local", "Yellow": "local", "Moss": "gone"}
    assert "it is mixed of Magenta and Yellow now, and looks the same on screen" in plate(found, "Moss").says
    other = compared(tmp_path, carton(), carton(moss=(0.9, 0, 0, 0.5)))
    assert "it is mixed of Cyan and Black now" in plate(other, "Moss").says
    assert "on screen" not in plate(other, "Moss").says


def test_a_plate_that_prints_nothing_does_not_count(tmp_path):
    hidden = Drawing(100, 80).fill("Moss", rect=(10, 10, 30, 30)).fill((0, 0, 0, 1), rect=(10, 10, 30, 30))
    plain = Drawing(100, 80).fill((0, 0, 0, 1), rect=(10, 10, 30, 30))
    found = compared(tmp_path, hidden, plain)
    assert (found.same, [each.name for each in found.plates]) == (True, ["Black"])


# Several pages -----------------------------------------------------------------------------------------------------


def test_pages_go_by_number_and_each_plate_is_named_once(tmp_path):
    old = Book(carton(), carton())
    found = compared(tmp_path, old, Book(carton(), carton(code="4012346", cyan=0.32)))
    assert changes(found) == {"Cyan": "tone", "Black": "local"}
    assert {page for _, page in plate(found, "Black").places} == {2}
    assert plate(found, "Black").says == "page 2: edited in 1 place"
    assert found.texts[0].page == 2


def test_pages_that_one_file_has_more_are_said(tmp_path):
    one, two = carton(), Book(carton(), Drawing(100, 80).fill("Moss", rect=(10, 10, 40, 40)))
    more = compared(tmp_path, one, two)
    assert more.pages == ("Page 2 is new: the old file has 1.",)
    assert changes(more) == {"Moss": "local"}
    fewer = compared(tmp_path, two.save(tmp_path / "two.pdf"), carton())
    assert fewer.pages == ("Page 2 is gone: the new file has 1.",)
    assert changes(fewer) == {"Moss": "local"}


# The ticket --------------------------------------------------------------------------------------------------------


def test_what_is_not_declared_is_told_from_what_is(tmp_path):
    found = compared(tmp_path, carton(), carton(code="x", cyan=0.32), changes=["k", "gold"])
    assert found.declared == ("Black", "Gold")
    assert (undeclared(found), unchanged(found)) == (["Cyan"], ["Gold"])
    assert headline(found) == (
        "Only Cyan and Black changed. Five plates can stay. Cyan is not among the changes on the ticket. "
        "Gold, among the changes on the ticket, did not change."
    )


def test_declared_changes_are_changes(tmp_path):
    found = compared(tmp_path, carton(), carton(code="x"), changes=["Black"])
    assert (found.same, undeclared(found), unchanged(found)) == (False, [], [])


def test_where_nothing_is_to_change_every_change_is_undeclared(tmp_path):
    found = compared(tmp_path, carton(), carton(code="x"), changes=[])
    assert undeclared(found) == ["Black"]


# Not compared ------------------------------------------------------------------------------------------------------


def test_a_page_that_cannot_be_drawn_is_no_result(tmp_path):
    with (
        read_artwork(carton().save(tmp_path / "a.pdf")) as old,
        read_artwork(carton(code="x").save(tmp_path / "b.pdf")) as new,
    ):
        new.pages[0].over_bounds.append(OverBound("there is too much of it", frozenset({"plates"})))
        with pytest.raises(PageNotDrawn, match="page 1 cannot be compared: .*too much of it"):
            compare_revisions(old, new)


def test_a_place_that_cannot_be_drawn_is_not_the_same(tmp_path):
    def with_picture(code: str) -> Drawing:
        page = carton(code=code)
        return page.image(b"no picture", 40, 40, (100, 130, 120, 150), Filter=Name.JPXDecode)

    found = compared(tmp_path, with_picture("1"), with_picture("2"))
    assert found.not_compared
    assert found.not_compared[0].startswith("page 1, ")
    assert headline(found).endswith("Not all of it could be compared.")
    assert not found.same


def test_a_file_of_many_pages_is_compared_as_far_as_it_is_read(tmp_path):
    def many(last: str) -> Book:
        pages = [Drawing(30, 30).fill((0, 0, 0, 1), rect=(5, 5, 10, 10)) for _ in range(21)]
        pages[0].text(last, (5, 20), 6)
        return Book(*pages)

    found = compared(tmp_path, many("a"), many("b"))
    assert found.not_compared == ("page 21: of each file the first 20 pages are compared",)

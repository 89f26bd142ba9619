"""Pictures of a comparison: what is numbered, what is looked at closely, and how less and more ink come out."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from preflight.errors import WrongUsage
from preflight.report import compare_saving
from preflight.report.compare_places import LARGE_MM, MOST_NUMBERS, numbered_places, numbers_of
from preflight.report.compare_saving import check_target
from preflight.report.compare_windows import CLOSE_PX, framed, fullest, kept_on
from preflight.report.difference_picture import LESS, LESS_STRIPE, MORE, MORE_DOT, STAYED, difference_picture
from tests import compared_cards as cards


def plate(name, *boxes, page=1):
    return {"name": name, "places": [{"box_mm": list(box), "page": page} for box in boxes]}


# Numbers -----------------------------------------------------------------------------------------------------------


def test_places_near_each_other_share_a_number_and_the_largest_comes_first():
    plates = [plate("Black", (10, 10, 12, 12), (14, 10, 16, 12), (80, 10, 81, 11)), plate("Rose", (18.5, 10, 30, 14))]
    first, second = numbered_places(plates)
    assert (first.number, first.box_mm, first.plates) == (1, (10, 10, 30, 14), ("Black", "Rose"))
    assert (second.number, second.box_mm, second.plates) == (2, (80, 10, 81, 11), ("Black",))
    assert numbers_of("Black", [first, second]) == [1, 2]
    assert numbers_of("Rose", [first, second]) == [1]


def test_places_of_other_pages_and_large_ones_keep_numbers_of_their_own():
    large = (0, 0, LARGE_MM + 1, 50)
    plates = [plate("Black", large, (10, 10, 12, 12)), plate("Black", (10, 10, 12, 12), page=2)]
    found = numbered_places(plates)
    assert [(place.page, place.box_mm) for place in found] == [(1, large), (1, (10, 10, 12, 12)), (2, (10, 10, 12, 12))]


def test_boxes_that_meet_only_through_a_later_one_are_joined():
    (place,) = numbered_places([plate("Black", (0, 0, 1, 1), (8, 0, 9, 1), (4, 0, 5, 1))])
    assert place.box_mm == (0, 0, 9, 1)


def test_of_very_many_places_the_largest_have_numbers():
    boxes = [(20 * k, 0, 20 * k + 1 + k / 100, 1) for k in range(MOST_NUMBERS + 5)]
    found = numbered_places([plate("Black", *boxes)])
    assert len(found) == MOST_NUMBERS
    assert found[0].box_mm == boxes[-1]


# Windows -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("box", [(10, 10, 10.2, 10.2), (10, 10, 60, 12), (10, 10, 12, 90)])
def test_a_window_holds_its_place_and_has_the_shape_of_all(box):
    x0, y0, x1, y1 = framed(box)
    assert (x1 - x0) / (y1 - y0) == pytest.approx(CLOSE_PX[0] / CLOSE_PX[1], rel=0.01)
    assert x0 < box[0] < box[2] < x1
    assert y0 < box[1] < box[3] < y1


def test_a_window_is_moved_onto_the_page_where_it_fits():
    assert kept_on((-5, 90, 15, 105), (0, 0, 150, 100)) == (0, 85, 20, 100)
    assert kept_on((-5, -5, 195, 145), (0, 0, 150, 100)) == (-5, -5, 195, 145)


def test_the_fullest_window_is_where_most_is():
    levels = np.zeros((60, 90), np.uint8)
    levels[40:44, 70:76] = 200
    levels[5, 5] = 255
    total, (row, column) = fullest(levels, 12, 16)
    assert total == 4 * 6 * 200
    assert abs(row - 42) <= 6
    assert abs(column - 73) <= 8


# Less and more -----------------------------------------------------------------------------------------------------


def colours(old, new, **how):
    return np.asarray(difference_picture(old, new, **{"least": 4, **how}).convert("RGB"))


def test_less_is_striped_more_is_dotted_and_what_stayed_is_grey():
    old, new = np.zeros((30, 90), np.uint8), np.zeros((30, 90), np.uint8)
    old[:, :30] = new[:, 30:60] = 255
    old[:, 60:] = new[:, 60:] = 255
    shown = colours(old, new)
    assert {tuple(c) for c in shown[:, :30].reshape(-1, 3)} == {LESS, LESS_STRIPE}
    assert {tuple(c) for c in shown[:, 30:60].reshape(-1, 3)} == {MORE, MORE_DOT}
    assert {tuple(c) for c in shown[:, 60:].reshape(-1, 3)} == {STAYED}


def test_what_differs_by_less_than_it_takes_is_not_shown_and_faint_ones_can_be_seen():
    old = np.full((20, 20), 100, np.uint8)
    assert np.array_equal(colours(old, old + 3), colours(old, old))
    darker = colours(old, old + 5)
    assert np.abs(darker.astype(int) - colours(old, old)).sum(2).min() > 30


def test_what_differs_is_widened_for_a_look_from_afar():
    old = np.zeros((20, 20), np.uint8)
    new = old.copy()
    new[10, 10] = 255
    differs = (colours(old, new, grown_px=1) != 255).any(2)
    assert differs.sum() == 9


# Of a pair ---------------------------------------------------------------------------------------------------------


def picture(data):
    return np.asarray(Image.open(io.BytesIO(data)).convert("L")).astype(int)


def test_a_close_look_shows_the_edit_in_its_old_and_its_new_state():
    _, pictures = cards.changed()
    (view,) = next(each.views for each in pictures.plates if each.name == "Black")
    assert view.number == 1
    assert (view.box_mm[0], view.box_mm[2]) == pytest.approx((11.4, 24.3), abs=1.5)
    old, new = picture(view.old), picture(view.new)
    assert old.shape == new.shape == picture(view.difference).shape
    assert old.shape == pytest.approx(CLOSE_PX[::-1], abs=1)
    assert 0.02 < (np.abs(old - new) > 128).mean() < 0.3


def test_a_shift_of_a_tenth_is_four_pixels_wide_in_the_closest_look():
    _, pictures = cards.changed()
    close, whole = next(each.views for each in pictures.plates if each.name == "Matt Varnish")
    assert whole.whole
    assert not close.whole
    row = np.abs(picture(close.old) - picture(close.new))[CLOSE_PX[1] // 2] > 40
    runs = np.diff(np.flatnonzero(np.diff(np.concatenate([[0], row, [0]]))))[::2]
    assert runs.max() in (4, 5)


def test_a_plate_whose_tone_changed_is_shown_whole_first():
    _, pictures = cards.changed()
    views = next(each.views for each in pictures.plates if each.name == "Mill Brown")
    assert [view.whole for view in views] == [True, False]
    assert (picture(views[0].difference) < 200).mean() > 0.2


def test_a_new_plate_is_beside_bare_board(tmp_path):
    document, pictures = cards.drawn(cards.compared(tmp_path, {}, {"extra": "Rose"}))
    assert [each["change"] for each in document["plates"] if each["name"] == "Rose"] == ["new"]
    view = next(each.views[0] for each in pictures.plates if each.name == "Rose")
    assert picture(view.old).min() == 255
    assert (picture(view.new) < 200).any()


def test_a_plate_that_is_only_renamed_has_no_pictures(tmp_path):
    document, pictures = cards.drawn(cards.compared(tmp_path, {}, {"brown": "Oak Brown"}))
    assert [each["change"] for each in document["plates"] if each["name"] == "Oak Brown"] == ["renamed"]
    assert pictures.plates == ()


def test_blanks_that_are_not_right_are_beside_the_one_up_as_it_belongs():
    _, pictures = cards.on_sheet()
    views = {view.number: view.triple for view in pictures.blanks}
    assert set(views) == {2, 6, 8, 11}
    assert np.mean(picture(views[2].new) > 250) > 0.9  # bare but for the bleed of its neighbour
    assert np.mean(picture(views[2].old) > 250) < 0.5
    old, new = picture(views[6].old), picture(views[6].new)
    assert np.abs(old - new[::-1, ::-1]).mean() < np.abs(old - new).mean()
    small = views[11].box_mm
    assert small[2] - small[0] < 20
    assert 0 < (np.abs(picture(views[11].old) - picture(views[11].new)) > 100).mean() < 0.05


# Files -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "begins"), [("a.html", b"<!doctype html>"), ("a.pdf", b"%PDF"), ("a.json", b"{")])
def test_the_ending_chooses_the_form(name, begins, tmp_path):
    with cards.compared(tmp_path, {}, {"weight": "450 g"}) as result:
        assert result.save(tmp_path / name) == []
    assert (tmp_path / name).read_bytes().startswith(begins)


def test_another_ending_is_refused_before_the_work():
    with pytest.raises(WrongUsage, match=r"\.html, \.json or \.pdf"):
        check_target("a.docx")


@pytest.mark.parametrize("name", ["a.html", "a.pdf"])
def test_pictures_that_break_are_said_and_the_words_are_written(name, tmp_path, monkeypatch):
    def broken(*_):
        raise MemoryError

    monkeypatch.setattr("preflight.report.compare_pictures.draw_compare_pictures", broken)
    with cards.compared(tmp_path, {}, {"weight": "450 g"}) as result:
        (lacks,) = compare_saving.save_comparison(result.document, result.pages, tmp_path / name)
    assert lacks.written
    assert "pictures" in lacks.words
    assert (tmp_path / name).stat().st_size > 2000

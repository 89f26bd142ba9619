"""Whether the artwork is a one-up, a sheet or a sheet on its plate."""

from dataclasses import replace

import pytest
from shapely import MultiLineString, box

from preflight.artwork.page.page import PageBoxes
from preflight.carton.die import Blank, Die
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.setup.artwork_is import what_artwork_is
from tests.house import SIX_UNITS, units
from tests.report_jobs import drawn_page

PRESS = Press.model_validate(SIX_UNITS)
"""Plate 1060 x 820 mm, smallest sheet 400 x 300 mm."""
NO_DIE = Die("none", "")
ONE, TWO = (
    Die("read", "", tuple(Blank(n + 1, box(9, 9, 50, 40), MultiLineString()) for n in range(k))) for k in (1, 2)
)


def artwork_is(width, height, die=ONE, press=PRESS, trim=None, **ticket):
    page = drawn_page(1, width, height, [], None)
    page.boxes = replace(PageBoxes((0, 0, width, height)), trim=trim)
    found, known, because = what_artwork_is(page, die, press, Ticket.model_validate(ticket) if ticket else None)
    assert because
    return found, known


@pytest.mark.parametrize("stated", ["one-up", "sheet", "plate"])
def test_the_ticket_decides(stated):
    assert artwork_is(1060, 820, artwork_is=stated) == (stated, "stated")


@pytest.mark.parametrize(
    ("width", "height", "found"),
    [
        (1060, 820, "plate"), (820, 1060, "plate"), (1061, 819, "plate"), (1059, 821, "plate"), (1061.1, 820, "one-up"),
        (1060, 821.1, "one-up"), (1058.9, 820, "one-up"), (1060, 1060, "one-up"), (820, 820, "one-up"),
    ],
)  # fmt: skip
def test_a_page_of_the_plates_size_is_a_plate(width, height, found):
    assert artwork_is(width, height) == (found, "assumed")


@pytest.mark.parametrize(
    ("width", "height", "found"),
    [(980, 690, "sheet"), (690, 980, "sheet"), (981, 689, "sheet"), (981.1, 690, "one-up"), (980, 688.9, "one-up")],
)
@pytest.mark.parametrize("press", [PRESS, None], ids=["with a press", "without"])
def test_a_page_of_the_sheets_size_is_a_sheet(width, height, found, press):
    assert artwork_is(width, height, press=press, sheet={"size": "980 x 690 mm"}) == (found, "assumed")


def test_the_plate_goes_before_the_sheet():
    assert artwork_is(1060, 820, sheet={"size": "1060 x 820 mm"})[0] == "plate"


@pytest.mark.parametrize(
    ("width", "height", "large"),
    [(400, 300, True), (300, 400, True), (399.9, 700, True), (700, 299.9, False), (299, 700, False), (399, 399, False)],
)
def test_two_blanks_or_none_on_what_the_press_takes_are_a_sheet(width, height, large):
    sheet = "sheet" if large else "one-up"
    assert artwork_is(width, height, TWO)[0] == sheet
    assert artwork_is(width, height, NO_DIE)[0] == sheet
    assert artwork_is(width, height, ONE)[0] == "one-up"


def test_what_keeps_a_large_page_from_being_taken_for_a_sheet():
    assert artwork_is(700, 500, NO_DIE, trim=(10, 10, 690, 490))[0] == "one-up"
    assert artwork_is(700, 500, TWO, trim=(10, 10, 690, 490))[0] == "sheet"
    assert artwork_is(700, 500, TWO, press=None)[0] == "one-up"
    assert artwork_is(700, 500, NO_DIE, press=None)[0] == "one-up"
    silent = Press.model_validate(units(sheet={"largest": "1040 x 740 mm"}, plate=None))
    assert artwork_is(700, 500, TWO, press=silent)[0] == "one-up"
    assert artwork_is(1060, 820, ONE, press=silent)[0] == "one-up"

"""Pages that are plates of one drawing: what they say themselves, and edges that meet, on tones made in the test."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import Separation
from preflight.measures import plate_pages
from preflight.measures.plate_pages import pages_in_words, pages_that_are_plates, said_to_be_plates
from tests.test_object_places import table, thing

GREY = Colour("DeviceGray", (("Black", 0.5),))
RGB = Colour("DeviceRGB", (("Cyan", 0.5),), not_a_plate="RGB")


class Shown:
    """One page: its names, what it says of itself, and a plate in pixels of 0.254 mm."""

    def __init__(self, *inks: str, label: str = "", plate_of: str = "", size: Any = (60.0, 40.0), ink: Any = None,
                 colour: Colour = GREY):  # fmt: skip
        self.number, self.label, self.plate_of = 0, label, plate_of
        self.width_mm, self.height_mm = size
        self.separations = [Separation(name, "spot", "") for name in inks]
        self.objects, self.over_bounds = table(thing((1, 2, 3, 4), colour)), list[Any]()
        self.ink, self.closed, self.drawn = ink, 0, list[float]()

    def plates(self, dpi):
        self.drawn.append(dpi)
        ink = np.zeros((0, 160, 240), np.uint8) if self.ink is None else self.ink[None]
        return Plates(("Black",)[: len(ink)], ink, 100.0, (0.0, 0.0, 60.0, 40.0))

    def close(self):
        self.closed += 1


def artwork(*pages: Shown) -> Any:
    for number, page in enumerate(pages, 1):
        page.number = number
    return SimpleNamespace(pages=list(pages))


def job(*pages: Shown, at: int = 0) -> Any:
    return SimpleNamespace(artwork=artwork(*pages), page=pages[at])


@pytest.mark.parametrize(
    ("pages", "expected"),
    [
        ([Shown("Black"), Shown("Black")], None),
        ([Shown("Black", plate_of="Cyan"), Shown("Black"), Shown("Black", plate_of="Rust")], ("stated", [1, 3])),
        ([Shown("Black"), Shown("Black", plate_of="Rust")], ("stated", [2])),
        ([Shown("Black", label="Cyan"), Shown("Black"), Shown("Black", label="art (Magenta)")], ("called", [1, 3])),
        ([Shown("Black", label="Cyan"), Shown("Black", label="cyan 2")], None),
        ([Shown("Black", label="Cyanide"), Shown("Black", label="magentas")], None),
        ([Shown("Black", label="3_BLACK"), Shown("Black", label="YELLOW")], ("called", [1, 2])),
        ([Shown("Cyan"), Shown("Rust"), Shown("Moss")], ("one ink each", [1, 2, 3])),
        ([Shown("Cyan"), Shown("Rust")], None),
        ([Shown("Cyan"), Shown("Rust"), Shown("Cyan")], None),
        ([Shown("Cyan"), Shown("Rust"), Shown("Moss"), Shown("Fern", "Cyan")], None),
        ([Shown("Cyan"), Shown("Rust"), Shown("Moss"), Shown()], None),
        ([Shown("Cyan"), Shown("Rust"), Shown("Moss", size=(60.5, 39.5))], ("one ink each", [1, 2, 3])),
        ([Shown("Cyan"), Shown("Rust"), Shown("Moss", size=(60.6, 40.0))], None),
        ([Shown("Cyan"), Shown("Rust"), Shown("Moss", size=(60.0, 39.4))], None),
    ],
    ids=["nothing", "separation dictionaries", "one of them", "labels", "two labels of one ink", "other words",
         "labels in capitals", "an ink each", "two pages", "one ink twice", "two inks on one page",
         "a page without ink", "half a millimetre", "wider", "shorter"],
)  # fmt: skip
def test_what_pages_say_themselves(pages, expected):
    said = said_to_be_plates(artwork(*pages))
    assert (said[:2] if said else None) == expected
    if expected:
        reading = pages_that_are_plates(job(*pages), meeting_percent=15)[0]
        assert (reading.value, reading.case, reading.known) == (len(expected[1]), expected[0], "read")


def test_pages_are_told_in_words():
    assert [pages_in_words(numbers) for numbers in ([2], [1, 2], [1, 2, 5])] == [
        "page 2", "pages 1 and 2", "pages 1, 2 and 5",
    ]  # fmt: skip


def shapes(level: int, *, down: int = 0, across: int = 0) -> Any:
    """A disc, a bar and a triangle, all at one level."""
    ink = np.zeros((160, 240), np.uint8)
    y, x = np.mgrid[:160, :240]
    y, x = y - down, x - across
    ink[(x - 60) ** 2 + (y - 50) ** 2 < 900] = level
    ink[(x > 120) & (x < 200) & (y > 20) & (y < 44)] = level
    ink[(y > 80) & (y < 140) & (x > 80) & (x < 80 + y)] = level
    return ink


def greys(*inks: Any, **more: Any) -> list[Shown]:
    return [Shown("Black", ink=ink, **more) for ink in inks]


@pytest.mark.parametrize(
    ("pages", "expected"),
    [
        (greys(shapes(255), shapes(120), shapes(60)), [1, 2, 3]),
        (greys(shapes(255), shapes(255), shapes(255)), []),
        (greys(shapes(255), shapes(120), shapes(120, down=30, across=22)), [1, 2]),
        (greys(shapes(255), None, shapes(120)), [1, 3]),
        (greys(shapes(255), shapes(120)), []),
        (greys(shapes(255), shapes(120), shapes(60), colour=RGB), []),
        (greys(shapes(255), shapes(120)) + [Shown("Rust", ink=shapes(60))], []),
        (greys(shapes(255), shapes(120)) + [Shown(ink=shapes(60))], [1, 2, 3]),
        (greys(shapes(255), shapes(120)) + [Shown("Black", ink=shapes(60), size=(61.0, 40.0))], []),
    ],
    ids=["other tones", "one tone", "one has its edges elsewhere", "one is bare", "two pages", "in RGB",
         "one in another ink", "one names no ink", "one of another size"],
)  # fmt: skip
def test_grey_pages_whose_edges_meet_in_other_tones_are_plates(pages, expected):
    reading = pages_that_are_plates(job(*pages), meeting_percent=15)[0]
    assert (reading.value, reading.case) == (len(expected), "")
    assert reading.facts == ({"numbers": pages_in_words(expected)} if expected else {})


def test_it_is_said_of_the_first_page_only():
    pages = greys(shapes(255), shapes(120), shapes(60))
    assert pages_that_are_plates(job(*pages, at=1), meeting_percent=15) == []
    assert pages_that_are_plates(job(*pages), meeting_percent=15)[0].known == "assumed"


def test_no_more_than_some_pages_are_drawn_and_others_let_go_of():
    pages = greys(*[shapes(40 * at + 50) for at in range(5)], shapes(20), shapes(250))
    reading = pages_that_are_plates(job(*pages), meeting_percent=15)[0]
    assert [len(page.drawn) for page in pages] == [1] * 6 + [0]
    assert [page.closed for page in pages] == [0, 1, 1, 1, 1, 1, 0]
    assert reading.value == 6


def test_tones_are_means_of_four_pixels_and_of_more_where_there_are_many(monkeypatch):
    ink = np.zeros((161, 241), np.uint8)
    ink[0:2, 2:4] = [[255, 0], [102, 51]]
    ink[4:8, 8:12] = 255
    page: Any = Shown("Black", ink=ink)
    tones = plate_pages._tones(job(page), page)
    assert tones.shape == (80, 120)
    assert tones[0, 1] == pytest.approx(0.4)
    assert tones[2:4, 4:6].tolist() == [[1, 1], [1, 1]]
    assert tones.sum() == pytest.approx(4.4)
    assert page.closed == 0
    monkeypatch.setattr(plate_pages, "MOST_PX", 161 * 241 / 4 / 9)
    tones = plate_pages._tones(job(page), page)
    assert tones.shape == (26, 40)
    assert tones.sum() == pytest.approx((16 + 1.6) / 36)


def test_edges_are_the_greater_step_across_or_down():
    tones = np.array([[0, 0.5, 0.5], [0.25, 0, 0.5], [0.25, 0.25, 1]], np.float32)
    assert plate_pages._edges(tones).tolist() == [[0.5, 0.5], [0.25, 0.5]]


def test_a_widened_mask_has_the_pixels_beside_it():
    mask = np.zeros((5, 6), bool)
    mask[0, 4] = mask[3, 1] = True
    assert np.argwhere(plate_pages._widened(mask)).tolist() == [
        [0, 3], [0, 4], [0, 5], [1, 3], [1, 4], [1, 5],
        [2, 0], [2, 1], [2, 2], [3, 0], [3, 1], [3, 2], [4, 0], [4, 1], [4, 2],
    ]  # fmt: skip


def block(level: float, left: int = 20, size: int = 30) -> Any:
    tones = np.zeros((80, 100), np.float32)
    tones[20 : 20 + size, left : left + size] = level
    return tones


def test_edges_at_the_same_places_meet_wholly_and_elsewhere_not_at_all():
    """Moved aside, only the sides along the move go on meeting: half of all edges, but for what sticks out."""
    assert plate_pages._meet(block(1.0), block(0.5)) == pytest.approx(0.5, abs=0.06)
    assert plate_pages._meet(block(1.0), block(0.5)) == pytest.approx(plate_pages._meet(block(0.5), block(1.0)))
    assert plate_pages._meet(block(1.0), block(0.5, left=25)) < 0
    assert plate_pages._meet(block(1.0), block(1.0)) == 0.0
    assert plate_pages._meet(block(0.0), block(0.5)) == 0.0


@pytest.mark.parametrize(("other", "meets"), [(0.55, False), (0.57, True), (0.45, False), (0.43, True)])
def test_tones_that_differ_by_little_are_one_grey_drawn_twice(other, meets):
    assert (plate_pages._meet(block(0.5), block(other)) > 0.3) is meets


@pytest.mark.parametrize("step", [(0, 3), (0, -3), (5, 0), (-5, 0), (0, 8), (-8, 0)])
def test_what_meets_no_less_when_it_is_moved_does_not_count(step):
    """Stripes that stand as far from each other as one page is moved."""
    tones = np.zeros((120, 120), np.float32)
    period = max(map(abs, step))
    at = np.s_[:, 24 : 120 - 24 : period] if step[1] else np.s_[24 : 120 - 24 : period]
    tones[at] = 1.0
    assert plate_pages._meet(tones, tones * 0.5) < 0.25

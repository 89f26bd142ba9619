"""Two plates over each other, told from edges that touch: on plates of rectangles that the test draws itself."""

from __future__ import annotations

from math import ceil
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.plates import Plates
from preflight.measures.raster import overlaps, rims
from preflight.measures.raster.overlaps import Overlap, may_overlap, overlap, surely_over
from tests.test_object_places import BLACK, Box, registration, spot, table, thing

Rects = list[tuple[Box, float]]


def covered(low: float, high: float, start: float, mm: float, count: int) -> Any:
    """How much of each of some pixels in a row a stretch covers, 0..1."""
    edges = start + np.arange(count + 1) * mm
    return np.clip(np.minimum(edges[1:], high) - np.maximum(edges[:-1], low), 0, mm) / mm


class RectPage:
    """A page of rectangles, each with its tint: its plates whole and in windows, with smooth edges or sharp ones.

    Inks neither knock out nor hide each other; ``only_smooth`` are those of which sharp edges leave nothing.
    """

    number = 1
    opaque = True

    def __init__(self, width: float, height: float, inks: dict[str, Rects], only_smooth: tuple[str, ...] = ()):
        self.width_mm, self.height_mm, self.inks, self.only_smooth = width, height, inks, only_smooth
        self.box_mm = (0.0, 0.0, width, height)
        self.objects: Any = table()
        self.looks: list[tuple[Box, float, str]] = []

    def plates(self, dpi: float = 100) -> Plates:
        return self._drawn(self.box_mm, dpi, "smooth")

    def window(
        self, box: Box, dpi: float, without: frozenset[str] = frozenset(), edges: str = "smooth", turned: int = 0
    ) -> Plates:
        self.looks.append((box, dpi, edges))
        return self._drawn(box, dpi, edges)

    def _drawn(self, box: Box, dpi: float, edges: str) -> Plates:
        mm, (x0, y0, x1, y1) = 25.4 / dpi, box
        width, height = ceil((x1 - x0) / mm - 1e-6), ceil((y1 - y0) / mm - 1e-6)
        ink = np.zeros((len(self.inks), height, width))
        for plate, (name, rects) in zip(ink, self.inks.items(), strict=True):
            for (left, low, right, high), tint in rects if edges == "smooth" or name not in self.only_smooth else []:
                across = covered(left, right, x0, mm, width)
                down = covered(-high, -low, -y1, mm, height)
                share = np.outer(down, across)
                np.maximum(plate, (share if edges == "smooth" else share > 0.5) * tint * 255, out=plate)
        return Plates(tuple(self.inks), np.rint(ink).astype(np.uint8), dpi, (x0, y1 - height * mm, x0 + width * mm, y1))


def job(page: RectPage, inside: Any = None, **more: Any) -> Any:
    inside = shapely.box(*page.box_mm) if inside is None else inside
    plates = page.plates()
    return SimpleNamespace(page=page, plates=plates, inside_shape=inside, inside_mask=plates.mask_of(inside), **more)


def solid(*boxes: Box) -> Rects:
    return [(box, 1.0) for box in boxes]


def over(one: Rects, other: Rects, inside: Any = None, **more: Any) -> tuple[Overlap, RectPage]:
    page = RectPage(70, 50, {"Copper": one, "Cyan": other, "Rust": []}, **more)
    return overlap(job(page, inside), "Copper", "Cyan", 0.3, 2.0), page


def test_a_large_overlap_is_told_by_the_plates_of_the_page():
    """8 x 6 mm, of which the trim of 0.3 mm and a pixel go off every side."""
    found, page = over(solid((10, 12, 30, 40)), solid((22, 20, 50, 26)))
    assert found.area_mm2 == pytest.approx((8 - 1.1) * (6 - 1.1), rel=0.1)
    assert [found.boxes_mm[0][0], found.boxes_mm[0][1]] == pytest.approx([22, 20], abs=0.3)
    assert [found.boxes_mm[0][2], found.boxes_mm[0][3]] == pytest.approx([30, 26], abs=0.3)
    assert (len(found.boxes_mm), found.left_out_mm) == (1, ())
    assert not [look for look in page.looks if look[1] == 600]


@pytest.mark.parametrize("shared_mm", [0.0, 0.2, 0.5])
def test_what_is_no_wider_than_a_trap_is_no_overlap(shared_mm):
    found, _ = over(solid((10, 12, 30, 40)), solid((30 - shared_mm, 5, 50, 45)))
    assert (found.area_mm2, found.boxes_mm) == (0.0, ())


def test_a_narrow_overlap_is_found_closely():
    """1.2 x 5 mm: of its width 0.3 mm and a fine pixel go off either side."""
    found, page = over(solid((10, 12, 30, 40)), solid((28.8, 20, 50, 25)))
    off = 2 * 9 * 25.4 / 600  # eight pixels hold 0.3 mm, and one more goes
    assert found.area_mm2 == pytest.approx((1.2 - off) * (5 - off), rel=0.1)
    assert found.boxes_mm[0] == pytest.approx((29.15, 20.35, 29.65, 24.65), abs=0.06)
    assert {edges for _, dpi, edges in page.looks if dpi == 600} == {"smooth", "sharp"}


def test_an_overlap_at_a_tint_below_the_limit_is_none():
    found, _ = over(solid((10, 12, 30, 40)), [((22, 20, 50, 26), 0.015)])
    assert found.area_mm2 == 0
    found, _ = over(solid((10, 12, 30, 40)), [((22, 20, 50, 26), 0.03)])
    assert found.area_mm2 > 25


def test_only_inside_the_cut_inks_overlap():
    found, _ = over(solid((10, 12, 30, 40)), solid((22, 20, 50, 26)), shapely.box(40, 5, 65, 45))
    assert found.area_mm2 == 0
    found, _ = over(solid((10, 12, 30, 40)), solid((22, 20, 50, 26)), shapely.box(5, 5, 27, 45))
    assert found.area_mm2 == pytest.approx((5 - 1.1) * (6 - 1.1), rel=0.15)


def test_a_faint_overlap_that_sharp_edges_do_not_show_is_a_rim():
    """A quarter of solid ink under another solid is no more than what a seam leaves."""
    found, _ = over([((10, 12, 30, 40), 0.25)], solid((22, 20, 50, 26)), only_smooth=("Copper",))
    assert found.area_mm2 == 0
    found, _ = over([((10, 12, 30, 40), 0.25)], solid((22, 20, 50, 26)))
    assert found.area_mm2 > 30


def test_of_many_meetings_six_are_looked_at_and_the_rest_is_told():
    """Nine stripes of a millimetre, rising in length from 1.5 to 5.5 mm."""
    stripes = solid(*[(12 + 5 * at, 12, 13 + 5 * at, 13.5 + 0.5 * at) for at in range(9)])
    found, page = over(stripes, solid((10, 10, 60, 45)))
    assert len({box for box, dpi, _ in page.looks if dpi == 600}) == 6
    assert len(found.boxes_mm) == 6
    assert [round(box[0] - 0.35) for box in found.boxes_mm] == [52, 47, 42, 37, 32, 27]
    assert sorted(round(box[0] + 0.5) for box in found.left_out_mm) == [12, 17, 22]
    assert found.gap("Copper", "Cyan", 3).places[0].page == 3
    assert len(found.gap("Copper", "Cyan", 3).places) == 3


def test_the_places_of_an_overlap_are_twelve_at_most():
    boxes = tuple((float(at), 2.0, at + 0.5, 3.0) for at in range(15))
    places = Overlap(4.0, boxes).place(2, "Copper")
    assert [place.box_mm for place in places] == list(boxes[:12])
    assert {(place.page, place.separation) for place in places} == {(2, "Copper")}
    assert Overlap(0.0).place(2, "Copper") == ()


def test_two_inks_are_surely_over_each_other_from_three_eighths_more_than_a_solid():
    one, other = np.array([[255, 255, 200, 255]], np.uint8), np.array([[95, 96, 151, 255]], np.uint8)
    assert surely_over(one, other).tolist() == [[False, True, True, True]]


CMYK_TWO = Colour("DeviceCMYK", (("Cyan", 1.0), ("Black", 0.0)))
BOTH = Colour("DeviceN", (("Copper", 0.0), ("Cyan", 0.5)))
PATTERN = Colour("Pattern", (), varies=True)
BOX: Box = (20, 30, 26, 33)


@pytest.mark.parametrize(
    ("objects", "opaque", "expected"),
    [
        ([thing(BOX, spot("Copper")), thing(BOX, spot("Cyan"))], True, False),
        ([thing(BOX, spot("Copper"))], False, True),
        ([thing(BOX, spot("Copper"), overprint=True)], True, True),
        ([thing(BOX, spot("Cyan"), overprint=True)], True, True),
        ([thing(BOX, spot("Magenta"), overprint=True)], True, False),
        ([thing((26.1, 30, 40, 40), spot("Copper"), overprint=True)], True, False),
        ([thing((26, 33, 40, 40), spot("Copper"), overprint=True)], True, True),
        ([thing(BOX, spot("Copper"), overprint=True, visible=False)], True, False),
        ([thing(BOX, BOTH)], True, True),
        ([thing(BOX, CMYK_TWO)], True, False),
        ([thing(BOX, registration())], True, True),
        ([thing(BOX, PATTERN)], True, True),
        ([thing(BOX, BLACK, overprint=True)], True, True),
        ([], True, False),
    ],
    ids=["two that knock out", "something lets show through", "the metallic overprints", "the other overprints",
         "a third one overprints", "beside the box", "at its corner", "not shown", "both in one colour",
         "two others in one colour", "registration colour", "a pattern", "all process inks, overprinting", "nothing"],
)  # fmt: skip
def test_what_may_put_an_ink_on_another(objects, opaque, expected):
    page = RectPage(70, 50, {})
    page.objects, page.opaque = table(thing((60, 40, 65, 45), spot("Copper"), overprint=True), *objects), opaque
    assert may_overlap(job(page), BOX, "Copper", ["Cyan", "Yellow"]) is expected


# Ink told from rims ------------------------------------------------------------------------------------------------


def levels(*rows: list[int]) -> Any:
    return np.array(rows, np.uint8)


def test_no_rim_is_what_is_strong_over_squares_of_two():
    assert rims.is_no_rim(levels([128, 128, 0], [128, 128, 127], [0, 127, 127])).tolist() == [
        [True, True, False], [True, True, False], [False, False, False],
    ]  # fmt: skip
    assert not rims.is_no_rim(levels([255, 255, 255], [0, 0, 0], [255, 255, 255])).any()


def test_no_edge_is_what_is_wide_at_a_tint_or_strong():
    seen = levels([25, 25, 0, 31], [25, 25, 0, 0], [0, 0, 0, 32])
    assert rims.no_edges(seen, 10).tolist() == [
        [True, True, False, False], [True, True, False, False], [False, False, False, True],
    ]  # fmt: skip
    assert not rims.no_edges(seen, 11)[:2].any()


WHOLE = Plates(("Rust",), np.zeros((1, 12, 15), np.uint8), 100.0, (10.0, 20.0, 10 + 15 * 0.254, 20 + 12 * 0.254))


def mask(*parts: Any) -> Any:
    found = np.zeros((12, 15), bool)
    for part in parts:
        found[part] = True
    return found


class Seeing:
    """Looks with sharp edges, and sees what is set in one of two masks of the plates, each pixel drawn finer."""

    def __init__(self, seen: Any):
        self.seen, self.looks = seen, list[Any]()

    def __call__(self, boxes, dpi):
        for box in boxes:
            self.looks.append((box, dpi))
            finer = round(dpi / WHOLE.dpi)
            rows, columns = WHOLE.slices(box)
            yield self.seen[rows, columns].repeat(finer, 0).repeat(finer, 1)


def test_what_is_sure_and_beside_it_stays_without_a_look():
    sees = Seeing(mask())
    seems = mask(np.s_[3:8, 4:9])
    kept = rims.without_rims(seems, WHOLE, sees, mask(np.s_[5, 6]), enough=9)
    assert kept.tolist() == mask(np.s_[4:7, 5:8]).tolist()
    assert sees.looks == []
    assert rims.without_rims(seems, WHOLE, sees, mask(np.s_[4:7, 5:8])).tolist() == seems.tolist()
    assert sees.looks == []


def test_what_is_doubtful_is_looked_at_twice_as_finely():
    sees = Seeing(mask(np.s_[3, 4]))
    seems = mask(np.s_[3:8, 4:9])
    kept = rims.without_rims(seems, WHOLE, sees)
    assert kept.tolist() == mask(np.s_[3:5, 4:6]).tolist()  # a pixel to every side, as far as something seems to be
    assert [dpi for _, dpi in sees.looks] == [200]
    assert sees.looks[0][0] == pytest.approx(WHOLE.box_mm)


def test_sure_pixels_and_those_seen_come_together():
    sees = Seeing(mask(np.s_[10, 13]))
    seems = mask(np.s_[1, 1], np.s_[10, 13], np.s_[6, 7])
    kept = rims.without_rims(seems, WHOLE, sees, mask(np.s_[1, 1]))
    assert kept.tolist() == mask(np.s_[1, 1], np.s_[10, 13]).tolist()


def test_nothing_is_looked_at_where_nothing_seems_to_be():
    sees = Seeing(mask())
    assert not rims.without_rims(mask(), WHOLE, sees).any()
    assert sees.looks == []


def test_looking_ends_when_it_is_enough(monkeypatch):
    """Tiles of 4 pixels; the one with most in it comes first."""
    monkeypatch.setattr(rims, "TILE_PX", 8)
    seems = mask(np.s_[0:2, 0:2], np.s_[4:8, 4:8], np.s_[8:11, 8:11])
    sees = Seeing(seems)
    assert rims.without_rims(seems, WHOLE, sees).tolist() == seems.tolist()
    assert len(sees.looks) == 3
    for enough, looks in ((16, 1), (17, 2), (26, 3)):
        sees = Seeing(seems)
        rims.without_rims(seems, WHOLE, sees, enough=enough)
        assert len(sees.looks) == looks


@pytest.mark.parametrize("seen", [True, False])
def test_of_very_many_tiles_the_rest_is_as_those_that_were_looked_at(monkeypatch, seen):
    monkeypatch.setattr(rims, "TILE_PX", 8)
    monkeypatch.setattr(rims, "MOST_TILES", 2)
    seems = mask(np.s_[0:2, 0:2], np.s_[4:8, 4:8], np.s_[8:11, 8:11])
    sees = Seeing(mask(np.s_[9, 9]) if seen else mask())
    kept = rims.without_rims(seems, WHOLE, sees)
    assert len(sees.looks) == 2
    assert kept.tolist() == (mask(np.s_[0:2, 0:2], np.s_[8:11, 8:11]) if seen else mask()).tolist()


def test_sharp_looks_are_kept_for_the_next_question():
    page = RectPage(70, 50, {"Rust": solid((10, 12, 30, 40))})
    its_job = job(page)
    boxes: list[Box] = [(0, 0, 20, 20), (20, 10, 40, 30)]
    sees = rims.sharply(its_job, lambda plates: plates.tint("Rust") > 0)
    assert [bool(seen.any()) for seen in sees([(0, 0, 9, 9), *boxes], 200)] == [False, True, True]
    assert [edges for *_, edges in page.looks] == ["sharp"] * 3
    again = rims.sharply(its_job, lambda plates: plates.tint("Rust") == 0)
    assert [bool(seen.all()) for seen in again([(0, 0, 9, 9), *boxes], 200)] == [True, False, False]
    assert len(page.looks) == 3
    list(again(boxes, 100))
    assert len(page.looks) == 5


def test_only_the_last_sharp_looks_are_kept():
    page = RectPage(70, 50, {"Rust": []})
    sees = rims.sharply(job(page), lambda plates: plates.tint("Rust") > 0)
    boxes: list[Box] = [(at, 1, at + 1.0, 3) for at in range(25)]
    list(sees(boxes, 200))
    list(sees(boxes[:0:-1], 200))  # the last 24
    assert len(page.looks) == 25
    list(sees(boxes[:1], 200))
    assert len(page.looks) == 26


FOOT = [(10, 10), (40, 10), (40, 15), (15, 15), (15, 40), (10, 40), (10, 10)]


@pytest.mark.parametrize(
    ("objects", "expected"),
    [
        ([thing(BOX, spot("Rust"))], True),
        ([], False),
        ([thing(BOX, spot("Rust", 0.0))], False),
        ([thing(BOX, spot("Rust")), thing(BOX, spot("Moss"))], False),
        ([thing(BOX, spot("Rust")), thing(BOX, spot("Moss"), overprint=True)], True),
        ([thing(BOX, spot("Rust")), thing(BOX, spot("Rust", 0.0), overprint=True)], False),
        ([thing(BOX, spot("Rust")), thing(BOX, spot("Moss"), alpha=0.5)], True),
        ([thing(BOX, spot("Rust")), thing(BOX, spot("Moss"), visible=False)], True),
        ([thing(BOX, spot("Rust")), thing(BOX, spot("Moss"), alpha=0)], True),
        ([thing(BOX, spot("Rust")), thing((26, 30, 40, 33), spot("Moss"))], True),
        ([thing((10, 10, 40, 40), spot("Rust"), outline=[FOOT])], False),
        ([thing(BOX, spot("Rust"), alpha=0)], False),
    ],
    ids=["the ink", "nothing", "the ink at 0 %", "another over it", "another that overprints", "itself at 0 %",
         "another that is faint", "another that does not show", "another that is clear", "another beside it",
         "a shape that has nothing there", "the ink, clear"],
)  # fmt: skip
def test_whether_what_was_painted_last_puts_down_an_ink(objects, expected):
    everything = table(thing((60, 40, 65, 45), spot("Rust")), *objects)
    assert rims.painted_last(everything, "Rust", (21, 31, 24, 32)) is expected


def test_no_more_than_some_objects_are_looked_through_for_the_last(monkeypatch):
    objects = table(thing(BOX, spot("Rust")), *[thing(BOX, spot("Moss"), overprint=True)] * 20)
    assert rims.painted_last(objects, "Rust", BOX) is False
    monkeypatch.setattr(rims, "MOST_ABOVE", 21)
    assert rims.painted_last(objects, "Rust", BOX) is True


def test_the_most_over_is_the_largest_of_several(monkeypatch):
    monkeypatch.setattr(overlaps, "PLAIN_MM2", 1e9)  # all are looked at closely
    found, _ = over(solid((10, 12, 20, 14), (30, 12, 45, 18)), solid((5, 10, 60, 45)))
    assert [box[0] for box in found.boxes_mm] == pytest.approx([30.35, 10.35], abs=0.06)


def test_from_two_square_millimetres_on_nobody_looks_closer():
    """What is left of 1.9 x 3.3 mm once the trim and a pixel are off all sides is less than 2 mm2; of 4 x 5 mm more."""
    small, page = over(solid((10, 12, 30, 40)), solid((28.1, 20, 50, 23.3)))
    assert small.area_mm2 == pytest.approx((1.9 - 0.76) * (3.3 - 0.76), rel=0.12)
    assert [look for look in page.looks if look[1] == 600]
    large, page = over(solid((10, 12, 30, 40)), solid((26, 20, 50, 25)))
    assert large.area_mm2 == pytest.approx((4.1 - 1.5) * (5.1 - 1.5), rel=0.15)
    assert not [look for look in page.looks if look[1] == 600]


def test_two_overlaps_seen_closely_are_added_up():
    one, other = solid((10, 12, 11.3, 15), (30, 12, 33, 13.2)), solid((5, 10, 60, 45))
    both, _ = over(one, other)
    each = [over(solid(box), other)[0].area_mm2 for box, _ in one]
    assert both.area_mm2 == pytest.approx(sum(each), rel=0.01)
    assert len(both.boxes_mm) == 2

"""Which objects are looked at for overprint and knock-out, and what is told of the plates that they change."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from preflight.artwork.page.colours import Colour, Family
from preflight.artwork.page.page import PageBoxes
from preflight.artwork.page.plates import Plates
from preflight.errors import NotMeasured
from preflight.measures import overprint
from preflight.measures.overprint import (
    black_text_knocking_out,
    ink_under_finishes,
    spot_at_nought,
    white_art_that_overprints,
    white_missing_under_art,
)
from tests.test_object_places import BLACK, registration, spot, table, text, thing
from tests.test_overlaps import RectPage, Rects, solid
from tests.test_units import job

WHITE = Colour("DeviceCMYK", (("Cyan", 0.0), ("Black", 0.0)), direct_cmyk=True)


def family(*tints: list[float], names: tuple[str, ...] = ("Rust", "Moss"), **more: Any) -> Family:
    return Family("DeviceN", names, np.array(tints, float), **more)


@pytest.mark.parametrize(
    ("colours", "names", "light"),
    [
        (family([0.0, 0.0], [0.01, 0.0], [0.0, 0.011], [1.0, 0.0]), {"Rust"}, [True, True, False, False]),
        (family([0.0, 0.0], [0.01, 0.0]), {"Fern"}, False),
        (family([0.0, 0.0], varies=True), {"Rust"}, False),
        (family([0.0, 0.0], registration=True), {"Rust"}, False),
    ],
)
def test_white_is_what_has_hardly_any_of_any_ink(colours, names, light):
    assert np.asarray(overprint._light(colours, names, 1.0)).tolist() == light


@pytest.mark.parametrize(
    ("colours", "alone"),
    [
        (family([0.0, 1.0], [0.0, 0.9], [0.0, 0.89], [0.01, 1.0], names=("Cyan", "Black")), [True, True, False, False]),
        (family([1.0], names=("Black",)), [True]),
        (family([1.0], names=("Rust",)), [False]),
        (family([1.0], names=("Black",), varies=True), False),
        (family([1.0], names=("Black",), registration=True), False),
    ],
)
def test_black_alone(colours, alone):
    assert np.asarray(overprint._black_alone(colours, 90)).tolist() == alone


GREY = Colour("DeviceGray", (("Black", 1.0),))
INDEXED = Colour("Indexed", (("Rust", 1.0),), base="Separation")
BOX = (24.0, 20.0, 30.0, 26.0)


@pytest.mark.parametrize(
    ("drawn", "clears"),
    [
        (thing(BOX, BLACK), True),
        (thing(BOX, BLACK, overprint=True, opm=1), False),
        (thing(BOX, BLACK, overprint=True, opm=0), True),
        (thing(BOX, BLACK, opm=1), True),
        (thing(BOX, spot("Rust")), True),
        (thing(BOX, spot("Rust"), overprint=True), False),
        (thing(BOX, GREY, overprint=True, opm=1), True),
        (thing(BOX, INDEXED, overprint=True), False),
    ],
    ids=["knocking out", "CMYK in mode 1", "CMYK in mode 0", "mode 1 and no overprint", "a spot", "a spot overprinting",
         "grey in mode 1", "by an index"],
)  # fmt: skip
def test_what_clears_other_plates(drawn, clears):
    """ISO 32000-2, 11.7.4.3 and table 146: overprint leaves what the colour space does not name."""
    assert overprint._clears(table(thing(BOX, spot("Moss"), overprint=True), drawn)).tolist() == [False, clears]


def test_ink_about_a_box_is_that_in_it_and_a_pixel_round_it():
    ink = np.zeros((2, 10, 12), np.uint8)
    ink[0, 4, 6], ink[1, 1, 1] = 5, 4
    plates = Plates(("Rust", "Moss"), ink, 25.4, (20.0, 30.0, 32.0, 40.0))
    assert overprint._ink_about(plates, ["Rust"], (26, 35, 27, 36), 2.0)
    assert overprint._ink_about(plates, ["Moss", "Rust"], (27, 34, 28, 35), 2.0)
    assert not overprint._ink_about(plates, ["Rust"], (28, 34, 29, 35), 2.0)
    assert not overprint._ink_about(plates, ["Moss"], (21, 38, 22, 39), 2.0)
    assert not overprint._ink_about(plates, [], (26, 35, 27, 36), 2.0)


def test_separations_of_kinds_are_those_on_a_plate():
    its_job = job("Cyan", "Rust", "Copper", "Cutting")
    assert overprint._named(its_job, ("process", "metallic", "cut")) == ("Cyan", "Copper")
    assert overprint._named(its_job, ()) == ()


class Altered(RectPage):
    """A page that shows other rectangles once some of its objects are painted otherwise, and more of an ink without all
    others.
    """

    def __init__(self, inks: dict[str, Rects], otherwise: dict[str, Rects] | None = None):
        super().__init__(70, 50, inks)
        self.otherwise, self.asked = {**inks, **(otherwise or {})}, list[Any]()

    def altered(self, alteration, dpi=100, box=None, edges="smooth"):
        rows = alteration.left_out or alteration.knocking_out
        self.asked += [alteration] if rows else []
        shown = RectPage(70, 50, self.otherwise if rows else self.inks)
        return shown.window(box, dpi, edges=edges)

    def plates(self, dpi=100, without=frozenset()):
        return RectPage(70, 50, self.otherwise if without else self.inks).plates(dpi)

    def window(self, box, dpi, without=frozenset(), edges="smooth", turned=0):
        return RectPage(70, 50, self.otherwise if without else self.inks).window(box, dpi, edges=edges)


def job_with(page: Altered, *things: dict[str, Any], cut: Any = None, **ticket: Any) -> Any:
    page.objects = table(*things)
    its_job = job(*page.inks, page=page, **ticket)
    its_job.page.boxes = PageBoxes(page.box_mm, trim=cut)
    return its_job


GROUND = solid((10, 12, 45, 40))
AROUND = solid((10, 12, 45, 20), (10, 26, 45, 40), (10, 20, 24, 26), (30, 20, 45, 26))
"""The ground without the box, of 36 mm2."""
BELOW = thing((10, 12, 45, 40), spot("Rust"))


def white(*things: dict[str, Any], inks: Any = ("process", "spot"), before: Any = None, **ticket: Any) -> Any:
    page = Altered({"Cyan": [], "Rust": before or GROUND}, {"Rust": AROUND})
    found = white_art_that_overprints(
        job_with(page, *things, **ticket), inks=inks, white_to_percent=1.0, ink_from_percent=5.0
    )
    return found, [alteration.knocking_out for alteration in page.asked]


@pytest.mark.parametrize(
    ("things", "inks", "rows"),
    [
        ([BELOW, thing(BOX, WHITE, overprint=True)], ("process", "spot"), (1,)),
        ([BELOW, thing(BOX, spot("Rust", 0.01), overprint=True)], ("spot",), (1,)),
        ([BELOW, thing(BOX, spot("Rust", 0.02), overprint=True)], ("spot",), None),
        ([BELOW, thing(BOX, WHITE)], ("process", "spot"), None),
        ([BELOW, thing(BOX, WHITE, overprint=True)], ("spot",), None),
        ([thing(BOX, WHITE, overprint=True), BELOW], ("process", "spot"), None),
        ([BELOW, thing(BOX, WHITE, overprint=True, alpha=0)], ("process", "spot"), None),
        ([BELOW, thing(BOX, WHITE, overprint=True)], ("metallic",), None),
    ],
    ids=["white in CMYK", "a spot at 1 %", "at 2 %", "knocking out", "process colours do not count", "on nothing",
         "clear", "no plates to compare"],
)  # fmt: skip
def test_white_art_that_overprints(things, inks, rows):
    found, asked = white(*things, inks=inks)
    if rows is None:
        assert found == []
        return
    assert set(asked) == {rows}
    assert found[0].value == pytest.approx(36, rel=0.05)
    assert (found[0].facts["plates"], found[0].facts["objects"]) == ("Rust", 1)
    assert (found[0].places[0].separation, len(found[0].places)) == ("Rust", 1)
    assert found[0].places[0].box_mm == pytest.approx(BOX, abs=0.12)


def test_only_objects_where_plates_differ_are_counted():
    other = thing((12, 30, 20, 38), WHITE, overprint=True)
    found, asked = white(
        BELOW, thing(BOX, WHITE, overprint=True), other, thing((32, 30, 40, 38), WHITE, overprint=True)
    )
    assert found[0].facts["objects"] == 1
    assert set(asked) == {(1, 2, 3)}


def nought(*things: dict[str, Any], otherwise: Any = None, **more: Any) -> Any:
    page = Altered({"Cyan": AROUND, "Rust": [], "Moss": []}, otherwise or {"Cyan": GROUND})
    keys = {"spots": ("spot",), "inks": ("process", "spot"), "nought_to_percent": 0.5, "ink_from_percent": 5.0, **more}
    return spot_at_nought(job_with(page, *things), **keys), [alteration.left_out for alteration in page.asked]


CYAN_BELOW = thing((10, 12, 45, 40), Colour("DeviceCMYK", (("Cyan", 1.0), ("Black", 0.0))))


@pytest.mark.parametrize(
    ("drawn", "found"),
    [
        (thing(BOX, spot("Rust", 0.0)), True),
        (thing(BOX, spot("Rust", 0.005)), True),
        (thing(BOX, spot("Rust", 0.006)), False),
        (thing(BOX, spot("Rust", 0.0), overprint=True), False),
        (thing(BOX, WHITE), False),
        (thing(BOX, spot("Copper", 0.0)), False),
        (thing(BOX, Colour("DeviceN", (("Rust", 0.0), ("Cyan", 0.0)))), False),
        (thing(BOX, Colour("DeviceN", (("Rust", 0.0), ("Moss", 0.0)))), True),
    ],
    ids=["at nought", "at half a percent", "at more", "overprinting", "white in CMYK", "no spot", "with a process ink",
         "two spots"],
)  # fmt: skip
def test_a_spot_at_nought_takes_other_inks_away(drawn, found):
    readings, _ = nought(CYAN_BELOW, drawn)
    assert len(readings) == found
    if found:
        assert readings[0].value == pytest.approx(36, rel=0.05)
        assert (readings[0].group, readings[0].facts["plates"], readings[0].facts["objects"]) == ("Rust", "Cyan", 1)
        assert [place.separation for place in readings[0].places] == ["Rust"]


def test_each_spot_is_looked_at_by_itself_and_its_own_plate_is_left_alone():
    readings, asked = nought(
        CYAN_BELOW, thing(BOX, spot("Rust", 0.0)), thing(BOX, spot("Moss", 0.0)), thing(BOX, spot("Rust", 0.0))
    )
    assert [one.group for one in readings] == ["Rust", "Moss"]
    assert set(asked) == {(1, 3), (2,)}
    assert readings[0].facts["objects"] == 2
    own, _ = nought(CYAN_BELOW, thing(BOX, spot("Rust", 0.0)), otherwise={"Rust": GROUND})
    assert own == []


def finish(*things: dict[str, Any], names: Any = ("Cyan", "Gloss Varnish", "Rust"), **more: Any) -> Any:
    page = Altered({name: AROUND if name == "Cyan" else [] for name in names}, {"Cyan": GROUND})
    keys = {"finishes": ("varnish",), "inks": ("process", "spot"), "ink_from_percent": 5.0}
    return ink_under_finishes(job_with(page, *things, **more), **keys)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("drawn", "more", "group"),
    [
        (thing(BOX, spot("Gloss Varnish")), {}, "Gloss Varnish"),
        (thing(BOX, spot("Gloss Varnish"), overprint=True), {}, None),
        (thing(BOX, spot("Rust")), {}, None),
        (thing(BOX, spot("Rust")), {"coating": {"kind": "uv", "area": "rust"}}, "Rust"),
        (thing(BOX, spot("Rust")), {"coating": {"kind": "uv", "area": "overall"}}, None),
        (thing(BOX, Colour("DeviceN", (("Gloss Varnish", 1.0), ("Cyan", 1.0)))), {}, None),
        (thing(BOX, registration()), {}, None),
    ],
    ids=["a varnish", "overprinting", "a spot", "the ticket's coating", "an overall coating", "varnish and ink",
         "registration colour"],
)  # fmt: skip
def test_ink_that_a_finish_takes_away(drawn, more, group):
    readings = finish(CYAN_BELOW, drawn, **more)
    assert [one.group for one in readings] == ([group] if group else [])
    if group:
        assert readings[0].value == pytest.approx(36, rel=0.05)
        assert (readings[0].facts["plates"], readings[0].facts["finish"]) == ("Cyan", group)
        assert readings[0].places[0].separation == group


# White below the art -----------------------------------------------------------------------------------------------


def missing(cyan: Rects, here: Rects = AROUND, *, surface: str | None = "kraft", cut: Any = None, **more: Any) -> Any:
    page = Altered({"Cyan": cyan, "Opaque White": here}, {"Opaque White": GROUND})
    board = {"board": {"surface": surface}} if surface else {}
    return white_missing_under_art(
        job_with(page, cut=cut, **board), **{"art": ("process",), "trim_mm": 0.3, "ink_from_percent": 5.0, **more}
    )


def test_white_that_the_art_above_takes_away():
    reading = missing(solid(BOX))[0]
    assert reading.value == pytest.approx(36, rel=0.15)
    assert reading.places[0].box_mm == pytest.approx(BOX, abs=0.3)
    assert (reading.group, reading.facts["surface"], reading.places[0].separation) == (
        "Opaque White", "kraft", "Opaque White",
    )  # fmt: skip
    assert float(str(reading.facts["share"]).split()[0]) > 90


def test_of_the_art_over_the_white_a_share_is_without_it():
    reading = missing(solid((10, 12, 38, 40)))[0]
    assert float(str(reading.facts["share"]).split()[0]) == pytest.approx(100 * 36 / 784, abs=1)


@pytest.mark.parametrize(
    ("art", "more"),
    [
        (solid((12, 28, 40, 38)), {}),
        ([], {}),
        (solid(BOX), {"art": ("spot",)}),
        (solid(BOX), {"surface": "white"}),
        (solid(BOX), {"here": GROUND}),
        (solid(BOX), {"cut": (35, 5, 65, 45)}),
        ([(BOX, 0.04)], {}),
        (solid(BOX), {"here": [*AROUND, (BOX, 0.96)]}),
    ],
    ids=["art where the white stands", "no art", "kinds that do not count", "white board", "nothing is taken away",
         "outside the cut", "art that is too light", "hardly less white"],
)  # fmt: skip
def test_white_that_is_not_missed(art, more):
    assert missing(art, **more) == []


def test_where_nobody_says_what_board_it_is_nobody_knows_whether_white_is_missed():
    with pytest.raises(NotMeasured):
        missing(solid(BOX), surface=None)
    no_white = job_with(Altered({"Cyan": GROUND}))
    assert white_missing_under_art(no_white, art=("process",), trim_mm=0.3, ink_from_percent=5.0) == []


def test_at_the_end_of_the_white_a_trap_is_left_alone():
    """Art that goes on beyond the white by 10 mm, and takes away a strip of it along its end."""
    art = solid((35, 15, 55, 35))
    strip = solid((10, 12, 44.5, 40))
    assert missing(art, strip, trim_mm=0.6) == []
    wide = solid((10, 12, 42, 40))
    found = missing(art, wide, trim_mm=0.6)
    assert found[0].value == pytest.approx((3 - 0.6 - 0.4) * 20, rel=0.2)


# Black text --------------------------------------------------------------------------------------------------------


def black(*things: dict[str, Any], inks: Any = None, otherwise: Any = None, **more: Any) -> Any:
    page = Altered(inks or {"Cyan": AROUND, "Copper": [], "Black": solid(BOX)}, otherwise or {"Cyan": GROUND})
    keys = {"black_from_percent": 90.0, "inks": ("process", "spot"), "not_over": ("metallic",), "ink_from_percent": 5.0,
            "area_mm2": 1.0, **more}  # fmt: skip
    return black_text_knocking_out(job_with(page, *things), **keys)


@pytest.mark.parametrize(
    ("words", "more", "value"),
    [
        (text(BOX, 7.04, colour=BLACK), {}, 7.0),
        (text(BOX, 7.04, colour=BLACK, overprint=True, opm=1), {}, None),
        (text(BOX, 7.04, colour=BLACK, overprint=True, opm=0), {}, 7.0),
        (text(BOX, 7.0, colour=spot("Rust")), {}, None),
        (thing(BOX, BLACK), {}, None),
        (text(BOX, 7.0, colour=BLACK), {"area_mm2": 35.0}, 7.0),
        (text(BOX, 7.0, colour=BLACK), {"area_mm2": 38.0}, None),
        (text((50, 42, 60, 45), 7.0, colour=BLACK), {}, None),
        (text(BOX, 7.0, colour=BLACK), {"inks": {"Cyan": AROUND, "Copper": GROUND, "Black": solid(BOX)}}, None),
        (text(BOX, 7.0, colour=BLACK), {"inks": {"Black": AROUND}, "otherwise": {"Black": GROUND}}, None),
    ],
    ids=["it takes cyan away", "overprinting", "overprinting in mode 0", "another ink", "no text", "as much as counts",
         "less than counts", "on bare board", "over a metallic", "its own plate"],
)  # fmt: skip
def test_black_text_that_takes_inks_away(words, more, value):
    if "inks" in more:
        page_inks = more.pop("inks")
        found = black(CYAN_BELOW, words, inks=page_inks, **more)
    else:
        found = black(CYAN_BELOW, words, **more)
    assert [one.value for one in found.readings] == ([] if value is None else [value])
    if value is not None:
        reading = found.readings[0]
        assert (reading.facts["plates"], reading.facts["texts"], reading.places[0].separation) == ("Cyan", 1, "Black")
        assert reading.places[0].box_mm == BOX


def test_each_size_of_black_text_is_one_reading_up_to_a_bound(monkeypatch):
    boxes = [(24.0, 20.0, 26.0, 26.0), (26.0, 20.0, 28.0, 26.0), (28.0, 20.0, 30.0, 26.0)]
    things = [text(box, size, colour=BLACK) for box, size in zip(boxes, (9.0, 6.0, 6.02), strict=True)]
    found = black(CYAN_BELOW, *things)
    assert [(one.value, one.facts["texts"]) for one in found.readings] == [(6.0, 2), (9.0, 1)]
    assert list(found.gaps) == []
    monkeypatch.setattr(overprint, "MOST_SIZES", 1)
    found = black(CYAN_BELOW, *things)
    assert [(one.value, one.facts["texts"]) for one in found.readings] == [(6.0, 2)]
    assert [place.box_mm for place in found.gaps[0].places] == [boxes[0]]


def test_what_other_inks_take_away_of_a_white_with_sharp_edges():
    page = Altered({"Opaque White": AROUND}, {"Opaque White": GROUND})
    sees = overprint.taken_away(job_with(page), "Opaque White", frozenset({"Cyan"}), 5.0)
    first, second = sees([(20.0, 18.0, 34.0, 28.0), (32.0, 30.0, 40.0, 38.0)], 200)
    assert not np.any(second)
    window = page.window((20.0, 18.0, 34.0, 28.0), 200)
    assert window.box_of(first) == pytest.approx(BOX, abs=0.15)

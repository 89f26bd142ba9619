"""Areas that stay free, on shapes and plates made in the test."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiLineString

from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import Separation
from preflight.carton.die import Area, Blank, OpenCut
from preflight.errors import NotMeasured
from preflight.findings import Measured, Reading
from preflight.inputs.ticket import Ticket
from preflight.measures.areas import (
    _box_of,
    _coating_plates,
    _covered,
    _covered_share,
    _distances,
    _flap,
    _inks,
    _overall_coats,
    _past_the_crease,
    _Spot,
    _spots,
    _with_overall,
    _within_the_cut,
    stated_area_inside_cut,
)
from tests.test_bleed_search import HEIGHT, WIDTH, Scene

DPI = 25.4
"""A pixel is 1 mm."""
GLUE, CODE = "glue flap", "code"


def area(kind: str, *box: float, known: Any = "stated") -> Area:
    return Area(kind, shapely.box(*box), known, "because")


def blank(
    number: int, *areas: Area, box: tuple[float, ...] = (5, 7, 65, 47), panels: Any = (), creases: Any = ()
) -> Blank:
    return Blank(number, shapely.box(*box), MultiLineString(list(creases)), panels=tuple(panels), areas=areas)


def job(*blanks: Blank, ticket: dict[str, Any] | None = None, separations: Any = (), **die: Any) -> Any:
    known = {"blanks": blanks, "loose_areas": (), "uncertain": (), "uncertain_places": (), "found": "read",
             "because": "", "open_cuts": (), "inside": shapely.union_all([own.outline for own in blanks])}  # fmt: skip
    page = SimpleNamespace(
        box_mm=(0.0, 0.0, 100.0, 60.0), over_bounds=[], objects=None, number=3,
        separations=[Separation(name, kind, "") for name, kind in separations],
    )  # fmt: skip
    made = None if ticket is None else Ticket.model_validate(ticket)
    return SimpleNamespace(
        die=SimpleNamespace(**{**known, **die}),
        page=page,
        plates=None,
        ticket=made,
        artwork_is="one-up",
        laid_out=False,
    )


# Which areas ------------------------------------------------------------------------------------------------------


def test_areas_are_cut_to_their_blank():
    there = job(
        blank(1, area(GLUE, 0, 10, 15, 30), area(CODE, 20, 10, 30, 20)), blank(2, area("Glue Flap", 40, 40, 50, 60))
    )
    found, gaps = _spots(there, [GLUE, "glue"])
    assert gaps == []
    assert [(own.shape.bounds, own.blank and own.blank.number) for own in found] == [
        ((5, 10, 15, 30), 1), ((40, 40, 50, 47), 2),
    ]  # fmt: skip
    assert [own.where(True) for own in found] == ["glue flap of blank 1", "Glue Flap of blank 2"]
    assert [own.where(False) for own in found] == [GLUE, "Glue Flap"]


def test_a_margin_lies_round_an_area_with_its_corners():
    [found], _ = _spots(job(blank(1, area(CODE, 20, 10, 30, 20))), ["CODE"], 2.0)
    assert found.shape.equals(shapely.box(18, 8, 32, 22))
    [at_the_cut], _ = _spots(job(blank(1, area(CODE, 6, 10, 30, 20))), [CODE], 2.0)
    assert at_the_cut.shape.bounds == (5, 8, 32, 22)


def test_without_a_die_areas_are_places_of_the_page():
    loose = (area(CODE, 90, 10, 120, 20), area(GLUE, 1, 1, 2, 2))
    [found], gaps = _spots(job(loose_areas=loose), [CODE], 1.0)
    assert gaps == []
    assert (found.shape.bounds, found.blank) == ((89, 9, 100, 21), None)
    assert found.where(True) == CODE


@pytest.mark.parametrize(
    ("there", "words"),
    [
        (job(blank(1)), "no code area"),
        (job(blank(1), loose_areas=(area(CODE, 90, 10, 99, 20),)), "is not on any blank"),
        (job(blank(1, area(CODE, 70, 10, 80, 20))), "no code area"),
        (job(blank(1, area(GLUE, 10, 10, 20, 20))), "no code"),
        (job(blank(1, area(CODE, 10, 10, 20, 20)), uncertain=("two cut lines",)), "two cut lines"),
    ],
    ids=["none", "beside the carton", "on no part of its blank", "of another kind", "the cut is not sure"],
)  # fmt: skip
def test_where_no_area_is_known_nothing_is_measured(there, words):
    with pytest.raises(NotMeasured, match=words):
        _spots(there, [CODE])


def test_areas_are_looked_at_where_only_places_of_the_cut_are_uncertain():
    there = job(blank(1, area(CODE, 10, 10, 20, 20)), uncertain=("two cut lines",), uncertain_places=[(0, 0, 1, 1)])
    assert len(_spots(there, [CODE])[0]) == 1


def test_blanks_without_an_area_that_others_have_are_a_gap_each_by_its_number():
    code = area(CODE, 10, 10, 20, 20)
    _, [gap] = _spots(job(blank(1), blank(2, code), blank(3)), [CODE])
    assert ("blanks 1 and 3" in gap.because, "blank: 1" in gap.would_help, gap.want_of) == (True, True, "ticket")
    assert [place.path for place in gap.places] == ["blank 1", "blank 3"]
    _, [gap] = _spots(job(blank(1, code), blank(2)), [CODE])
    assert gap.because.endswith("on blank 2")


# Which plates -----------------------------------------------------------------------------------------------------

SEPARATIONS = (("Cyan", "process"), ("Moss", "spot"), ("Gloss Varnish", "varnish"), ("Cutting", "cut"))


def test_plates_of_the_kinds_and_of_the_coating():
    there = job(separations=SEPARATIONS)
    assert _inks(there, ("process", "spot", "cut")) == ["Cyan", "Moss"]
    assert _coating_plates(there, ("varnish", "cut"), ()) == ["Gloss Varnish"]
    coated = job(separations=SEPARATIONS, ticket={"coating": {"kind": "uv", "area": "MOSS"}})
    assert _coating_plates(coated, ("varnish",), ()) == ["Moss", "Gloss Varnish"]
    assert _coating_plates(coated, (), ()) == ["Moss"]
    die = job(separations=SEPARATIONS, ticket={"coating": {"kind": "uv", "area": "Cutting"}})
    assert _coating_plates(die, (), ()) == []
    assert _coating_plates(job(separations=SEPARATIONS, ticket={"coating": {"kind": "uv"}}), (), ()) == []


OVERALL: dict[str, Any] = {"kind": "uv", "area": "overall"}
PRIMED: dict[str, Any] = {"units": ["Cyan", {"overall": "Primer"}]}


@pytest.mark.parametrize(
    ("ticket", "coats"),
    [
        (None, []), ({}, []), ({"units": ["Cyan", "Moss"]}, []), ({"coating": "none"}, []),
        ({"coating": {"kind": "uv", "area": "Moss"}}, []), ({"coating": OVERALL}, None), (PRIMED, None),
        ({"coating": {"area": "overall", "clear": "none"}}, ["the coating"]),
        ({"coating": {**OVERALL, "clear": "none"}}, ["the uv coating"]),
        ({"coating": {**OVERALL, "clear": ["code"]}}, ["the uv coating"]),
        ({"coating": {**OVERALL, "clear": ["code", "GLUE FLAP"]}}, []),
        ({**PRIMED, "coating": {**OVERALL, "clear": "none"}}, ["Primer", "the uv coating"]),
        ({**PRIMED, "coating": {"kind": "uv", "area": "Moss", "clear": "none"}}, ["Primer"]),
        ({**PRIMED, "coating": {"kind": "uv", "area": "Moss"}}, None),
    ],
)  # fmt: skip
def test_what_is_laid_overall_reaches_areas_that_are_not_left_clear(ticket, coats):
    """None: nobody says what an overall coating leaves bare."""
    there = job(ticket=ticket)
    if coats is None:
        with pytest.raises(NotMeasured):
            _overall_coats(there, ["glue", "Glue Flap"])
    else:
        assert _overall_coats(there, ["glue", "Glue Flap"]) == coats


def covered(ticket: dict[str, Any] | None, unit: str = "mm", box: tuple[float, ...] = (5, 10, 15, 36)) -> Any:
    own = blank(1, area(GLUE, *box, known="assumed"))
    there = job(own, blank(2), ticket=ticket)
    spot = _Spot(own.areas[0], own, own.areas[0].shape)
    facts = {"area": "the flap", "inks": "Moss", "because": "because"}
    readings = Measured([Reading(1.5, unit, (), "assumed", facts=facts)])
    found = _with_overall(there, [spot], readings, [GLUE])
    [reading] = found.readings
    return reading.value, reading.facts["inks"], [gap.want_of for gap in found.gaps], reading


@pytest.mark.parametrize(
    ("ticket", "found"),
    [
        (None, (1.5, "Moss", ["ticket"])), ({}, (1.5, "Moss", ["ticket"])), ({"coating": "none"}, (1.5, "Moss", [])),
        ({"coating": {"kind": "uv", "area": "Moss"}}, (1.5, "Moss", [])),
        ({"coating": OVERALL}, (1.5, "Moss", ["ticket"])),
        ({"coating": {**OVERALL, "clear": [GLUE]}}, (1.5, "Moss", [])),
        ({"coating": {**OVERALL, "clear": "none"}}, (10.0, "the uv coating", [])),
    ],
)  # fmt: skip
def test_an_overall_coating_covers_all_of_an_area(ticket, found):
    assert covered(ticket)[:3] == found


def test_an_area_that_is_covered_is_as_wide_as_its_shorter_side_or_as_large_as_it_is():
    clear_of_nothing = {"coating": {**OVERALL, "clear": "none"}}
    value, _, _, reading = covered(clear_of_nothing, "mm", (10, 20, 50, 32))
    assert value == 12.0
    [place] = reading.places
    assert (place.box_mm, place.page, place.path, reading.known) == (
        (10, 20, 50, 32),
        3,
        "glue flap of blank 1",
        "assumed",
    )
    assert reading.facts["area"] == "the flap"
    assert covered(clear_of_nothing, "mm2", (10, 20, 50, 32))[0] == 480.0


# Areas of the ticket ----------------------------------------------------------------------------------------------


def stated(*boxes: tuple[float, ...], **die: Any) -> list[Any]:
    ticket = {"areas": [{"is": CODE, "box": list(box)} for box in boxes]}
    return stated_area_inside_cut(job(blank(1), ticket=ticket, **die))


def test_the_share_of_an_area_inside_the_cut():
    found = stated((0, 10, 20, 20), (10, 10, 20, 20), (70, 10, 80, 20), (60, 40, 70, 50.5))
    assert [reading.value for reading in found] == [75.0, 100.0, 0.0, 33.3]
    assert {reading.unit for reading in found} == {"%"}
    assert found[3].places[0].box_mm == (60, 40, 70, 50.5)
    assert found[3].places[0].page == 3
    assert found[3].facts["area"] == "code area"
    assert "50.5" in found[3].facts["box"]
    assert len({reading.group for reading in found}) == 4


def test_what_lies_beyond_an_open_cut_counts_as_inside():
    fold = LineString([(65, 7), (65, 47)])
    closed_off = OpenCut(1, (), fold, None)
    assert [reading.value for reading in stated((60, 10, 70, 20), open_cuts=(closed_off,))] == [50.0]
    lost = OpenCut(1, (), fold, (65, 7, 68, 47))
    assert [reading.value for reading in stated((60, 10, 70, 20), open_cuts=(closed_off, lost))] == [80.0]


def test_without_areas_or_a_ticket_there_is_no_share():
    assert stated() == []
    assert stated_area_inside_cut(job(blank(1))) == []


# Distances, shares and shapes -------------------------------------------------------------------------------------


def test_distances_to_the_nearest_of_some_pieces():
    pieces = np.array([[10, 20, 30, 20], [40, 20, 40, 50], [3, 4, 3, 4], [60, 0, 64, 3]], float)
    xy = np.array([[15, 23], [5, 20], [33, 24], [38, 30], [43, 54], [3, 9], [65.5, -4.5]], float)
    at_the_slant = abs((65.5 - 60) * 3 - (-4.5) * 4) / 5
    along = ((65.5 - 60) * 4 + (-4.5) * 3) / 5
    assert 0 < along < 5
    assert _distances(xy, pieces) == pytest.approx([3, 5, 5, 2, 5, 5, at_the_slant])
    assert _distances(np.zeros((0, 2)), pieces).tolist() == []


def plates(**inks: list[list[int]]) -> Plates:
    ink = np.array(list(inks.values()), np.uint8)
    height, width = ink.shape[1:]
    return Plates(tuple(inks), ink, DPI, (10.0, 20.0, 10.0 + width, 20.0 + height))


def test_a_pixel_is_covered_by_its_share_of_the_greatest_tint_about_it():
    cyan = [[200, 200, 50, 0, 0], [200, 200, 50, 0, 0], [0, 0, 0, 0, 30]]
    moss = [[0, 0, 100, 0, 0], [0, 0, 0, 0, 0], [0, 0, 0, 0, 0]]
    share = _covered_share(plates(Cyan=cyan, Moss=moss), ["Cyan", "Moss"])
    assert share[0].tolist() == pytest.approx([1, 1, 0.5, 0, 0])
    assert share[1].tolist() == pytest.approx([1, 1, 0.25, 0, 0])
    assert share[2].tolist() == pytest.approx([0, 0, 0, 0, 1])
    assert _covered_share(plates(Cyan=cyan, Moss=moss), ["Cyan"])[0, 2] == pytest.approx(0.25)
    corner = _covered_share(plates(Cyan=[[100, 20, 0], [20, 50, 0], [0, 0, 200]]), ["Cyan"])
    assert corner.tolist() == [pytest.approx([1, 0.2, 0]), pytest.approx([0.2, 0.25, 0]), pytest.approx([0, 0, 1])]


def test_ink_counts_whose_pixels_stand_wholly_within_the_cut():
    """A pixel is 1 mm, its middle has to be 0.2 mm inside: middles at 11.5 and at 22.5 are not, at 14.5 it is."""
    ink = np.ones((4, 6), bool)
    ink[3, 2] = False
    there = plates(Cyan=[[0] * 6] * 4)
    own = blank(1, box=(11.3, 20.0, 14.8, 22.69))
    found = _within_the_cut(there, ink, own)
    assert np.argwhere(found).tolist() == [[2, 2], [2, 3], [2, 4], [3, 3], [3, 4]]
    assert (_within_the_cut(there, ink, None) == ink).all()
    assert not _within_the_cut(there, np.zeros((4, 6), bool), own).any()
    assert _box_of(there, found) == (12.0, 20.0, 15.0, 22.0)


PANEL, NEXT = shapely.box(5, 10, 20, 40), shapely.box(20, 10, 60, 40)


def flap(
    box: tuple[float, ...], creases: Any = ([(20, 10), (20, 40)],), panels: Any = (PANEL, NEXT)
) -> tuple[Any, Any]:
    own = blank(1, area(GLUE, *box), panels=panels, creases=creases)
    return _flap(_Spot(own.areas[0], own, own.areas[0].shape))


@pytest.mark.parametrize(
    ("box", "shape"),
    [((4, 9, 25, 41), (5, 10, 20, 40)), ((4, 9, 12.6, 41), (5, 10, 12.6, 40)), ((4, 9, 12.4, 41), (4, 9, 12.4, 41)),
     ((4, 9, 45, 41), (5, 10, 45, 40)), ((30, 15, 40, 20), (30, 15, 40, 20))],
    ids=["over the crease", "half of the panel", "less than half", "half of both panels", "a part of a panel"],
)  # fmt: skip
def test_a_box_drawn_round_a_panel_means_the_panel(box, shape):
    assert flap(box)[0].bounds == pytest.approx(shape)


def test_an_area_hangs_on_the_creases_near_it():
    _, folds = flap((6, 12, 17.1, 30), panels=())
    assert set(folds[:, 0].tolist()) == {20.0}
    _, edge = flap((6, 12, 16.9, 30), panels=())
    assert sorted(edge[:, 0].tolist()) == [6, 6, 16.9, 16.9]
    _, edge = flap((6, 12, 18, 30), panels=(), creases=([(20, 10), (20, 10.9)],))
    assert len(edge) == 4  # less than a millimetre of a crease


def test_without_a_die_an_area_hangs_on_its_edge():
    shape, edge = _flap(_Spot(area(CODE, 6, 12, 16, 30), None, shapely.box(6, 12, 16, 30)))
    assert (shape.bounds, len(edge)) == ((6, 12, 16, 30), 4)
    assert (edge.min(), edge.max()) == (6, 30)


# Readings ---------------------------------------------------------------------------------------------------------

FLAP = area(GLUE, 10, 8, 22, 38, known="assumed")
CARTON = blank(4, FLAP, area(CODE, 30, 12, 40, 20), box=(10, 8, 52, 38), creases=([(22, 8), (22, 38)],))


def sheet(*blanks: Blank, **inks: Any) -> Any:
    """A page of 60 x 44 mm with these inks and blanks."""
    scene = Scene({name.replace("_", " "): ink for name, ink in inks.items()})
    plates_of_it = scene.drawn((0.0, 0.0, WIDTH, HEIGHT), 100.0)
    return SimpleNamespace(page=scene, plates=plates_of_it, die=SimpleNamespace(blanks=blanks or (CARTON,)))


def filled(x0: float, y0: float, x1: float, y1: float, tint: float = 1.0) -> Any:
    return lambda x, y: tint * ((x > x0) & (x < x1) & (y > y0) & (y < y1))


def on_flap(*blanks: Blank, names: tuple[str, ...] = (), speck_mm2: float = 0.5, **inks: Any) -> Reading:
    spot = _Spot(FLAP, CARTON, FLAP.shape)
    asked = names or tuple(name.replace("_", " ") for name in inks)
    return _past_the_crease(sheet(*blanks, **inks), spot, asked, 2.0, speck_mm2)


def depth(*blanks: Blank, **inks: Any) -> float:
    value = on_flap(*blanks, **inks).value
    assert isinstance(value, float)
    return value


@pytest.mark.parametrize("past_mm", [0.6, 1.5, 3.0, 3.2, 7.4])
@pytest.mark.parametrize("tint", [0.05, 1.0])
def test_ink_reaches_so_far_past_the_crease(past_mm, tint):
    assert depth(Cyan=filled(22 - past_mm, 15, 50, 30, tint)) == pytest.approx(past_mm, abs=0.1)


def test_a_reading_of_a_flap_names_the_inks_that_reach_farthest():
    found = on_flap(Cyan=filled(18, 15, 50, 30), Moss=filled(19.4, 20, 50, 25), Rust=filled(18.6, 16, 50, 18))
    assert found.value == pytest.approx(4.0, abs=0.1)
    assert (found.unit, found.known, found.facts["inks"], found.facts["area"]) == ("mm", "assumed", "Cyan, Rust", GLUE)
    [place] = found.places
    assert place.box_mm == pytest.approx((18, 15, 22, 30), abs=0.3)
    assert (place.page, place.path) == (1, GLUE)
    several = on_flap(CARTON, CARTON, Cyan=filled(18, 15, 50, 30))
    assert several.facts["area"] == several.places[0].path == "glue flap of blank 4"


@pytest.mark.parametrize(
    ("inks", "reach"),
    [
        ({}, 0), ({"Cyan": filled(22.3, 15, 50, 30)}, 0), ({"Cyan": filled(18, 15, 50, 30, 0.01)}, 0),
        ({"Cyan": filled(0, 0, 9.9, 44)}, 0), ({"Cyan": filled(9, 15, 10.15, 30)}, 0),
        ({"Cyan": filled(20, 15, 50, 30), "Moss": filled(12, 15, 12.3, 15.3)}, 2.0),
        ({"Cyan": filled(20, 15, 50, 30), "Moss": filled(12, 15, 13.5, 16)}, 9.6),
        ({"Moss": filled(12, 15, 12.3, 15.3)}, 0),
    ],
    ids=["none", "beyond the crease", "too faint", "beside the carton", "over the cut by a hair", "a speck",
         "more than a speck", "a speck alone"],
)  # fmt: skip
def test_what_does_not_reach_on_to_a_flap(inks, reach):
    assert depth(**inks) == pytest.approx(reach, abs=0.25)


def test_a_speck_is_as_large_as_is_said():
    inks = {"Cyan": filled(20, 15, 50, 30), "Moss": filled(12, 15, 13.5, 16)}
    assert on_flap(**inks, speck_mm2=3.0).value == pytest.approx(2.0, abs=0.1)
    assert on_flap(**inks, names=("Cyan",)).value == pytest.approx(2.0, abs=0.1)
    assert on_flap(**inks, names=("Rust",)).value == 0


def in_code(*blanks: Blank, names: tuple[str, ...] = ("Cyan", "Moss"), **inks: Any) -> Reading:
    spot = _Spot(CARTON.areas[1], CARTON, CARTON.areas[1].shape)
    return _covered(sheet(*blanks, **inks), spot, names, 2.0)


@pytest.mark.parametrize(
    ("ink", "mm2"),
    [
        (filled(32, 13, 36, 16), 12.0), (filled(32, 13, 36, 16, 0.3), 12.0),
        (filled(32, 13, 32.5, 13.5), 0.25), (filled(33, 13, 33.2, 18), 1.0), (filled(20, 12.5, 30.6, 19.5), 2.8),
        (filled(20, 12.5, 30.02, 19.5), 0), (filled(32, 13, 36, 16, 0.01), 0), (filled(42, 13, 46, 16), 0),
    ],
    ids=["a patch", "a tint", "a dot", "a rule", "reaching in", "touching it", "too faint", "beside it"],
)  # fmt: skip
def test_how_much_of_an_area_is_inked(ink, mm2):
    found = in_code(Cyan=ink)
    assert (found.unit, found.known) == ("mm2", "stated")
    assert found.value == pytest.approx(mm2, rel=0.12, abs=0.04)
    assert found.facts["inks"] == ("Cyan" if mm2 else "")
    assert bool(found.places) == bool(mm2)


def test_a_reading_of_a_code_area_has_its_place_and_inks():
    found = in_code(Cyan=filled(32, 13, 36, 16), Moss=filled(33, 14, 38, 17), Rust=filled(31, 13, 39, 19))
    assert found.value == pytest.approx(12 + 15 - 6, abs=1)
    assert found.facts["inks"] == "Cyan, Moss"
    [place] = found.places
    assert place.box_mm == pytest.approx((32, 13, 38, 17), abs=0.3)
    assert (place.page, place.path, found.facts["area"]) == (1, CODE, "code area")
    assert in_code(CARTON, CARTON, Cyan=filled(32, 13, 36, 16)).places[0].path == "code of blank 4"
    small = in_code(CARTON, CARTON, Moss=filled(33, 13, 33.5, 13.5))
    assert small.facts["inks"] == "Moss"
    assert small.places[0].box_mm == pytest.approx((33, 13, 33.5, 13.5), abs=0.1)
    assert small.facts["area"] == "code area of blank 4"

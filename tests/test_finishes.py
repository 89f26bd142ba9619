"""Which finishes are missing, what may be bare, and what is a trap; on tickets, objects and masks made in the test."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely

from preflight.artwork.page.colours import Colours, Family
from preflight.artwork.page.objects import Painted
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import Separation
from preflight.carton.die import Area
from preflight.errors import NotMeasured
from preflight.inputs.ticket import Ticket
from preflight.job import InkOnJob
from preflight.measures import finishes as module
from preflight.measures.finishes import (
    _art_above,
    _grey_rows,
    _left_bare,
    _lost,
    _missing_finishes,
    _trap,
    grey_in_place_of_finishes,
    varnish_taken_away,
)
from tests.test_bleed_search import Scene

F, S, T, I = Painted.FILL, Painted.STROKE, Painted.TEXT, Painted.IMAGE  # noqa: E741
Row = tuple[Painted, tuple[float, float, float, float], Family]


def family(space: str, *names_and_tints: tuple[str, float], **more: Any) -> Family:
    names = tuple(name for name, _ in names_and_tints)
    return Family(space, names, np.array([[tint for _, tint in names_and_tints]], float), **more)


CYAN, WHITE = family("DeviceCMYK", ("Cyan", 1.0), ("Black", 0.0)), family("DeviceCMYK", ("Cyan", 0.0), ("Black", 0.0))
MOSS, GLOSS = family("Separation", ("Moss", 1.0)), family("Separation", ("Gloss", 1.0))
MATT, DIE = family("Separation", ("Matt", 1.0)), family("Separation", ("Cutting", 1.0))
ALL = family("Separation", ("All", 1.0), registration=True)
SEPARATIONS = [
    Separation("Cyan", "process", ""), Separation("Black", "process", ""), Separation("Moss", "spot", ""),
    Separation("Gloss", "varnish", "", "stated"), Separation("Matt", "varnish", ""), Separation("Cutting", "cut", ""),
]  # fmt: skip


class Objects(SimpleNamespace):
    """Columns of a table of objects, as many as there are rows."""

    def __len__(self) -> int:
        return len(self.painted)

    def paths(self, rows: np.ndarray) -> list[list[np.ndarray]]:
        """All fills are rectangles."""
        return [[shapely.get_coordinates(shapely.box(*self.shown_mm[row].astype(float)))] for row in rows.tolist()]

    def in_separation(self, name: str) -> Any:
        return self.colours.where_named(name, lambda own: not own.registration)[self.colour]


def table(*rows: Row, overprint: Any = ()) -> Any:
    colours = Colours()
    for number, (_, _, own) in enumerate(rows):
        colours.add(own, np.array([number]))
    return Objects(
        painted=np.array([what for what, _, _ in rows], np.uint8), colours=colours, colour=np.arange(len(rows)),
        shown_mm=np.array([box for _, box, _ in rows], np.float32).reshape(-1, 4), visible=np.ones(len(rows), bool),
        alpha=np.ones(len(rows)), overprint=np.isin(np.arange(len(rows)), overprint), layer=np.full(len(rows), -1),
        text_size_pt=np.zeros(len(rows), np.float32),
    )  # fmt: skip


# Art above a varnish ----------------------------------------------------------------------------------------------

VARNISHES = [each for each in SEPARATIONS if each.kind == "varnish"]
COAT = (F, (20.0, 30.0, 60.0, 50.0), GLOSS)


def above(*rows: Row, overprint: Any = ()) -> Any:
    objects = table(*rows, overprint=overprint)
    job: Any = SimpleNamespace(page=SimpleNamespace(separations=SEPARATIONS, objects=objects))
    return _art_above(job, objects, "Gloss", VARNISHES).tolist()


@pytest.mark.parametrize(
    ("art", "counts"),
    [
        ((F, (50, 40, 80, 45), CYAN), True), ((T, (10, 25, 21, 31), MOSS), True), ((F, (50, 40, 80, 45), WHITE), True),
        ((F, (60.1, 40, 80, 45), CYAN), False), ((F, (10, 40, 19.9, 45), CYAN), False),
        ((F, (30, 50.1, 40, 55), CYAN), False),
        ((F, (30, 20, 40, 29.9), CYAN), False), ((F, (50, 40, 80, 45), GLOSS), False),
        ((F, (50, 40, 80, 45), MATT), False),
        ((F, (50, 40, 80, 45), DIE), False), ((F, (50, 40, 80, 45), ALL), False),
        ((F, (50, 40, 80, 45), family("DeviceN", ("Matt", 1.0), ("Moss", 0.5))), True),
    ],
    ids=["an ink", "a spot that reaches in", "paper white", "to the right", "to the left", "above it", "below it",
         "the varnish itself", "another varnish", "the die", "registration colour", "another varnish and a spot"],
)  # fmt: skip
def test_art_above_a_varnish_knocks_out_and_lies_over_it(art, counts):
    assert above(COAT, art) == [1] * counts
    assert above(art, COAT) == []
    assert above(COAT, art, overprint=[1]) == []


def test_art_between_two_parts_of_a_varnish_counts_where_it_lies_over_the_first():
    later = (F, (100.0, 30.0, 120.0, 50.0), GLOSS)
    over_first, over_second = (F, (50, 40, 80, 45), CYAN), (F, (110, 40, 115, 45), CYAN)
    assert above(COAT, over_first, over_second, later) == [1]
    assert above(COAT, later, over_first, over_second) == [2, 3]
    assert above(COAT, later, (F, (70, 35, 90, 45), CYAN)) == []  # between them, as their common box does not know
    assert above((F, (50, 40, 80, 45), CYAN)) == []


def test_of_very_many_objects_the_common_box_has_to_do(monkeypatch):
    monkeypatch.setattr(module, "MOST_ROWS", 1)
    between = (F, (70.0, 35.0, 90.0, 45.0), CYAN)
    assert above(COAT, (F, (100.0, 30.0, 120.0, 50.0), GLOSS), between) == [2]
    for away in (
        (70.0, 50.5, 90.0, 60.0),
        (70.0, 20.0, 90.0, 29.5),
        (121.0, 35.0, 130.0, 45.0),
        (5.0, 35.0, 19.0, 45.0),
    ):
        assert above(COAT, (F, (100.0, 30.0, 120.0, 50.0), GLOSS), (F, away, CYAN)) == []


# What may be bare -------------------------------------------------------------------------------------------------


def test_areas_of_the_kinds_may_be_bare_with_a_margin_round_them():
    areas = [Area(kind, shapely.box(*box), "stated", "") for kind, box in
             (("Glue Flap", (20, 10, 30, 40)), ("code", (50, 50, 60, 55)))]  # fmt: skip
    page = SimpleNamespace(separations=[], layers=[], objects=table())
    blank = SimpleNamespace(areas=areas)
    job: Any = SimpleNamespace(page=page, die=SimpleNamespace(loose_areas=[areas[1]], blanks=[blank]))
    assert _left_bare(job, ("glue flap",), 2.0, ()).equals(shapely.box(18, 8, 32, 42))
    both = _left_bare(job, ("glue flap", "CODE"), 1.0, ())
    assert both.area == pytest.approx(12 * 32 + 12 * 7)
    assert _left_bare(job, ("window",), 1.0, ()).is_empty
    job.die.blanks = []
    assert _left_bare(job, ("code", "glue flap"), 0.0, ()).bounds == (50, 50, 60, 55)


# Traps ------------------------------------------------------------------------------------------------------------


def test_a_trap_lies_between_a_hole_and_varnish_that_is_left():
    """Varnish in columns 0 to 19 but for a hole, 8 to 11; art laps over the hole by a pixel, or takes all up to 18."""
    wanted = np.zeros((9, 24), bool)
    wanted[1:8, :20] = True
    wanted[1:8, 8:12] = False
    lost = np.zeros_like(wanted)
    lost[1:8, [7, 12]] = True
    found = _trap(lost, wanted, 1.5)
    assert found[1:8, [7, 12]].all()
    lost[1:8, 13:19] = True  # now a broad strip up to the end is lost
    found = _trap(lost, wanted, 1.5) & lost
    assert found[4].nonzero()[0].tolist() == [7]
    nothing = np.zeros_like(wanted)
    assert not _trap(nothing, wanted, 1.5).any()


def test_a_trap_is_looked_for_at_the_rims_of_the_plates_too():
    wanted = np.ones((6, 8), bool)
    wanted[0] = False
    lost = np.zeros_like(wanted)
    lost[1] = True
    assert (_trap(lost, wanted, 1.5) & lost)[1].all()


def test_what_is_lost_is_told_with_its_share_and_what_took_it_away():
    plates = Plates(("Gloss",), np.zeros((1, 30, 40), np.uint8), 25.4, (100.0, 50.0, 140.0, 80.0))
    lost = np.zeros((30, 40))
    lost[10:14, 20:25] = 1.0
    lost[14, 20:24] = 0.5
    art = [
        (F, (119.0, 60.0, 126.0, 75.0), CYAN),
        (F, (110.0, 52.0, 130.0, 58.0), MOSS),
        (F, (121.0, 66.0, 122.0, 67.0), WHITE),
    ]
    job: Any = SimpleNamespace(plates=plates, page=SimpleNamespace(objects=table(*art), number=3))
    found: Any = _lost(job, SEPARATIONS[3], lost, 220, np.arange(3))
    assert (found.value, found.unit, found.known, found.group) == (22.0, "mm2", "stated", "Gloss")
    assert dict(found.facts) == {"ink": "Gloss", "share": "10 %", "by": "Cyan, paper white"}
    assert found.places[0].box_mm == (120, 65, 125, 70)
    assert found.places[0].page == 3
    assert _lost(job, SEPARATIONS[3], lost, 2200, np.array([1])).facts["share"] == "1 %"
    little = _lost(job, SEPARATIONS[3], lost, 2300, np.array([2]))
    assert (little.facts["share"], little.facts["by"]) == ("less than 1 %", "paper white")


# Finishes that the file lacks -------------------------------------------------------------------------------------

KINDS = ("varnish", "metallic", "white")


def missing(
    ticket: dict[str, Any] | None, *in_file: tuple[str, str], only_on_ticket: Any = (("Gloss", "varnish"),)
) -> dict[str, str]:
    separations = [Separation(name, kind, "") for name, kind in in_file]
    inks = [InkOnJob(each, True, 0.1, 1.0) for each in separations]
    inks += [InkOnJob(Separation(name, kind, ""), None, 0.0, 0.0, in_file=False) for name, kind in only_on_ticket]
    made = None if ticket is None else Ticket.model_validate(ticket)
    job: Any = SimpleNamespace(ticket=made, inks=inks, page=SimpleNamespace(separations=separations))
    return {finish.name: finish.kind for finish in _missing_finishes(job, KINDS)}


GLOSS_ON_UNIT = {"units": ["Cyan", "Gloss"]}


@pytest.mark.parametrize(
    ("ticket", "in_file", "found"),
    [
        (GLOSS_ON_UNIT, [("Cyan", "process")], {"Gloss": "varnish"}),
        (GLOSS_ON_UNIT, [("Lack", "varnish")], {}),
        ({"units": ["Cyan"]}, [], {}),
        ({"units": ["Cyan", {"overall": "Gloss"}]}, [], {}),
        ({}, [], {}),
        ({"separations": {"Shine": "metallic"}}, [], {"Shine": "metallic"}),
        ({"separations": {"Shine": "metallic"}}, [("SHINE", "spot")], {}),
        ({"separations": {"Shine": "metallic"}}, [("Copper", "metallic")], {}),
        ({"separations": {"Shine": "spot"}}, [], {}),
        ({"separations": {"Shine": {"kind": "metallic", "same_as": "Copper"}}}, [], {}),
        ({"separations": {"Copper": {"printed_over": True}}}, [], {"Copper": "metallic"}),
        ({"separations": {"Umber": {"printed_over": True}}}, [], {}),
        ({"coating": {"kind": "uv", "area": "Sheen"}}, [("Cyan", "process")], {"Sheen": "varnish"}),
        ({"coating": {"kind": "uv", "area": "Sheen"}}, [("Cyan", "process"), ("sheen", "spot")], {}),
        ({"coating": {"kind": "uv", "area": "overall"}}, [], {}),
        ({**GLOSS_ON_UNIT, "coating": {"kind": "uv", "area": "Sheen"}}, [("Sheen", "spot")], {}),
        ({**GLOSS_ON_UNIT, "separations": {"Shine": "metallic"}}, [("Lack", "varnish")], {"Shine": "metallic"}),
    ],
    ids=["on a unit", "the file has a varnish", "not on a unit", "overall", "nothing said", "stated", "in the file",
         "the file has a metallic", "a spot", "another spelling", "by its name", "by no name", "the coating",
         "the coating is in the file", "an overall coating", "the coating of the file is a varnish", "one of two"],
)  # fmt: skip
def test_finishes_that_the_ticket_names_and_the_file_lacks(ticket, in_file, found):
    assert missing(ticket, *in_file) == found


def test_an_ink_of_the_file_is_not_missing_and_without_a_ticket_nobody_knows():
    assert missing(GLOSS_ON_UNIT, ("Cyan", "process"), only_on_ticket=()) == {}
    assert missing(GLOSS_ON_UNIT, only_on_ticket=(("Moss", "spot"),)) == {}
    with pytest.raises(NotMeasured):
        missing(None)


def grey(space: str, tint: float, base: str = "") -> Family:
    return family(space, ("Black", tint), base=base)


@pytest.mark.parametrize(
    ("row", "counts"),
    [
        ((F, (10, 10, 20, 14), grey("DeviceGray", 0.5)), True),
        ((F, (10, 10, 20, 13.9), grey("DeviceGray", 0.5)), False),
        ((I, (10, 10, 30, 30), grey("DeviceGray", 0.5)), True), ((T, (10, 10, 30, 30), grey("DeviceGray", 0.5)), False),
        ((S, (10, 10, 30, 30), grey("DeviceGray", 0.5)), False),
        ((F, (10, 10, 30, 30), grey("DeviceGray", 0.0)), False),
        ((T, (10, 10, 11, 11), grey("ICCBased-1", 0.5)), True), ((S, (10, 10, 11, 11), grey("CalGray", 0.5)), True),
        ((F, (10, 10, 11, 11), grey("CalGray", 0.0)), False), ((F, (10, 10, 30, 30), grey("ICCBased-4", 0.5)), False),
        ((F, (10, 10, 30, 30), grey("Indexed", 0.5, "DeviceGray")), True),
        ((F, (10, 10, 11, 11), grey("Indexed", 0.5, "CalGray")), True),
        ((F, (10, 10, 30, 30), grey("Indexed", 0.5, "DeviceCMYK")), False),
    ],
)  # fmt: skip
def test_what_may_be_a_finish_in_grey(row, counts):
    """Plain grey from 40 mm2 on, no type and no lines; ICC-based grey always."""
    assert _grey_rows(table((F, (0, 0, 90, 90), CYAN), row), 40.0).tolist() == [1] * counts


# Measures ---------------------------------------------------------------------------------------------------------

CUT = shapely.box(5, 7, 55, 37)


def finish_job(inks: dict[str, Any], *rows: Row, **more: Any) -> Any:
    """A page of 60 x 44 mm; ``inks`` tell its plates, and ``rows`` what painted them."""
    scene: Any = BarePage(inks)
    scene.objects, scene.separations, scene.layers, scene.over_bounds = table(*rows), SEPARATIONS, [], []
    plates = scene.drawn((0.0, 0.0, 60.0, 44.0), 100.0)
    die = SimpleNamespace(loose_areas=[], blanks=[SimpleNamespace(areas=[])], found="read")
    return SimpleNamespace(page=scene, plates=plates, die=die, inside_shape=CUT, inside_mask=plates.mask_of(CUT),
                           ticket=None, **more)  # fmt: skip


class BarePage(Scene):
    """Asked for its plates without the inks, it shows the varnish as it was before art was painted over it."""

    def plates(self, dpi: float, without: frozenset[str] = frozenset()) -> Plates:
        assert without == {"Cyan", "Magenta", "Yellow", "Black", "Moss"}
        own = Scene({"Gloss": COATED, "Matt": lambda x, y: 0.0 * x * y})
        return own.drawn((0.0, 0.0, 60.0, 44.0), dpi)

    def window(
        self, box: Any, dpi: float, without: frozenset[str] = frozenset(), edges: str = "smooth", turned: int = 0
    ) -> Plates:
        raise AssertionError("what is broad is not looked at closely")


def COATED(x, y):
    return (x > 20) & (x < 60) & (y > 10) & (y < 30)


def taken(hole: tuple[float, float, float, float], *, strength: float = 1.0, areas: Any = (), **more: Any) -> list[Any]:
    x0, y0, x1, y1 = hole

    def left(x, y):
        return COATED(x, y) * (1 - strength * ((x > x0) & (x < x1) & (y > y0) & (y < y1)))

    rows = ((F, (20.0, 10.0, 60.0, 30.0), GLOSS), (F, hole, CYAN))
    there = finish_job({"Gloss": left, "Cyan": lambda x, y: 0.0 * x * y}, *rows)
    there.die.loose_areas = [Area("code", shapely.box(*box), "stated", "") for box in areas]
    keys = {
        "coats": ("varnish",),
        "trim_mm": 0.5,
        "ink_from_percent": 2.0,
        "areas": ("code",),
        "margin_mm": 1.0,
        "reserves": (),
    }
    return varnish_taken_away(there, **{**keys, **more})


def test_what_art_takes_away_of_a_varnish_is_measured_inside_the_cut():
    """The varnish lies on 35 x 20 mm inside the cut, art on 8 x 6 mm of it."""
    [found] = taken((25, 12, 33, 18))
    assert found.value == pytest.approx(48, rel=0.05)
    assert (found.facts["ink"], found.facts["share"], found.facts["by"]) == ("Gloss", "7 %", "Cyan")
    assert found.places[0].box_mm == pytest.approx((25, 12, 33, 18), abs=0.3)
    [over_the_cut] = taken((50, 12, 60, 18))
    assert over_the_cut.value == pytest.approx(5 * 6, rel=0.08)
    [some] = taken((25, 12, 33, 18), strength=0.6)
    assert some.value == pytest.approx(48 * 0.6, rel=0.05)


@pytest.mark.parametrize(
    ("hole", "more"),
    [((25, 12, 33, 18), {"strength": 0.01}), ((56, 12, 60, 18), {}), ((25, 12, 33, 18), {"areas": [(26, 13, 32, 17)]}),
     ((25, 12, 33, 18), {"coats": ("primer",)}), ((10, 12, 19, 18), {})],
    ids=["hardly any", "outside the cut", "a code area and a margin", "no varnish that counts", "beside the varnish"],
)  # fmt: skip
def test_what_is_left_bare_on_purpose_or_hardly_lost_is_not(hole, more):
    assert taken(hole, **more) == []


def test_only_what_is_beyond_a_bare_area_and_its_margin_counts():
    [found] = taken((25, 12, 33, 18), areas=[(20, 10, 28, 30)])
    assert found.value == pytest.approx(4 * 6, rel=0.08)


def test_grey_inside_the_cut_may_be_each_finish_that_is_missing():
    grey_art = (F, (20.0, 12.0, 30.0, 18.0), grey("DeviceGray", 0.5))
    rows = [
        grey_art,
        (F, (56.0, 40, 59, 43), grey("CalGray", 0.5)),
        (T, (10.0, 12.0, 14.0, 14.0), grey("CalGray", 0.5)),
    ]
    there = finish_job({"Cyan": COATED}, *rows)
    there.page.separations = SEPARATIONS[:3]
    there.inks = [InkOnJob(Separation("Gloss", "varnish", ""), None, 0.0, 0.0, in_file=False)]
    there.ticket = Ticket.model_validate({**GLOSS_ON_UNIT, "separations": {"Shine": "metallic", "Snow": "white"}})
    found = grey_in_place_of_finishes(there, kinds=("varnish", "metallic"), area_mm2=40.0)
    assert [(own.facts["ink"], own.facts["kind"], own.value, own.known, own.group) for own in found] == [
        ("Gloss", "varnish", 2.0, "assumed", "Gloss"), ("Shine", "metallic", 2.0, "assumed", "Shine"),
    ]  # fmt: skip
    assert found[0].facts["space"] == "calibrated grey, plain grey"
    assert sorted(place.box_mm for place in found[0].places) == [(10, 12, 14, 14), (20, 12, 30, 18)]
    assert grey_in_place_of_finishes(there, kinds=(), area_mm2=40.0) == []
    there.page.objects = table(rows[1])
    assert grey_in_place_of_finishes(there, kinds=("varnish",), area_mm2=40.0) == []

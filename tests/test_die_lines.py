"""Lines drawn over the die, and openings of a cut, on objects made in the test."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from shapely import LineString, MultiLineString

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.separations import Separation
from preflight.carton.die import OpenCut, Suspected
from preflight.errors import NotMeasured
from preflight.inputs.ticket import Ticket
from preflight.measures import die_lines as module
from preflight.measures.die_lines import (
    _box_round,
    _drawn_over,
    _in_an_ink,
    _on_a_unit,
    _opening,
    _perhaps,
    _strokes_near,
    blanks_found,
    cut_left_open,
)
from tests.drawn import Drawing
from tests.house import job_of

PAGE: Any = SimpleNamespace(number=3)


# Openings ---------------------------------------------------------------------------------------------------------

FOLD = LineString([(20, 10), (20, 43)])


def opening(*ends: tuple[float, float], beyond: Any = None) -> Any:
    return _opening(SimpleNamespace(page=PAGE), OpenCut(2, ends, FOLD, beyond))  # type: ignore[arg-type]


def test_an_opening_is_as_wide_as_its_two_ends_are_apart():
    found = opening((30, 10), (33, 14))
    assert (found.value, found.unit) == (5.0, "mm")
    assert [place.box_mm for place in found.places] == [(29.5, 9.5, 33.5, 14.5)]
    assert (found.places[0].page, found.places[0].path) == (3, "blank 2")
    assert found.facts["ends"] == "(30, 10) to (33, 14)"
    assert "x" not in found.facts["lost"].split("fold")[0]


@pytest.mark.parametrize(
    ("ends", "places"),
    [
        ((), [(19.5, 9.5, 20.5, 43.5)]),
        (((30, 10),), [(29.5, 9.5, 30.5, 10.5)]),
        (tuple((30.0 + n, 10.0) for n in range(3)), [(29.5 + n, 9.5, 30.5 + n, 10.5) for n in range(3)]),
        (tuple((30.0 + n, 10.0) for n in range(7)), [(29.5 + n, 9.5, 30.5 + n, 10.5) for n in range(6)]),
    ],
    ids=["no end", "one", "three", "seven, of which six are named"],
)
def test_where_no_two_ends_belong_together_it_is_as_long_as_the_fold(ends, places):
    found = opening(*ends)
    assert found.value == 33.0
    assert [place.box_mm for place in found.places] == places
    assert found.facts["ends"].count("(") == min(6, len(ends))


def test_what_is_drawn_beyond_the_fold_is_told_by_its_size():
    assert "15 x 33 mm" in opening((30, 10), (33, 14), beyond=(20, 10, 35, 43)).facts["lost"]


def test_a_box_has_half_a_millimetre_round_its_points():
    assert _box_round(np.array([[3.0, 9.0], [5.0, 2.0]])) == (2.5, 1.5, 5.5, 9.5)


def test_blanks_are_counted_and_openings_need_a_die():
    die = SimpleNamespace(blanks=(1, 2, 3), because="seen", open_cuts=(OpenCut(2, (), FOLD, None),), uncertain=(),
                          likely_cut="", line_to_paste="")  # fmt: skip
    page = SimpleNamespace(number=3, over_bounds=[], objects=None)
    there: Any = SimpleNamespace(page=page, die=die)
    assert [(reading.value, reading.facts["because"]) for reading in blanks_found(there)] == [(3.0, "seen")]
    assert [reading.value for reading in cut_left_open(there)] == [33.0]
    die.open_cuts = ()
    assert cut_left_open(there) == []
    die.blanks = ()
    with pytest.raises(NotMeasured):
        cut_left_open(there)


# Lines over the die -----------------------------------------------------------------------------------------------

CYAN, BOTH = (
    Colour("DeviceCMYK", (("Cyan", 1.0), ("Black", 0.0))),
    Colour("DeviceCMYK", (("Cyan", 0.5), ("Black", 1.0))),
)
ALL = Colour("Separation", (("All", 1.0),), registration=True)
DIE = MultiLineString([[(10, 20), (60, 20)], [(60, 20), (60, 70)]])

Stroke = tuple[Colour, Any]


def strokes(*drawn: Stroke) -> Any:
    boxes = [[*np.vstack(paths).min(0), *np.vstack(paths).max(0)] for _, paths in drawn]
    return SimpleNamespace(
        shown_mm=np.array(boxes, np.float32).reshape(-1, 4), colour=np.arange(len(drawn)),
        colours=[colour for colour, _ in drawn],
        paths=lambda rows: [[np.array(points, float) for points in drawn[int(row)][1]] for row in rows],
    )  # fmt: skip


def over(*drawn: Stroke, within_mm: float = 0.3) -> tuple[float, list[str]]:
    length, names = _drawn_over(strokes(*drawn), np.arange(len(drawn)), DIE, within_mm)
    return round(length, 1), names


@pytest.mark.parametrize(
    ("paths", "length"),
    [
        ([[(20, 20.2), (40, 20.2)]], 20.4), ([[(20, 20.4), (40, 20.4)]], 0), ([[(20, 5), (20, 50)]], 0),
        ([[(20, 20), (21.9, 20)]], 0), ([[(20, 20), (22.1, 20)]], 2.7), ([[(20, 20), (30, 20), (30, 53)]], 0),
        ([[(20, 20), (30, 20), (30, 40)]], 10.9), ([[(20, 20), (30, 20)], [(60, 30), (60, 40)], [(9, 9)]], 21.2),
        ([[(55, 20), (60, 20), (60, 30)]], 15.3),
    ],
    ids=["beside it", "too far beside it", "across it", "too short", "2.1 mm", "for less than three tenths of it",
         "for more", "in two pieces", "round its corner"],
)  # fmt: skip
def test_a_stroke_follows_the_die_for_some_length(paths, length):
    """As long as the die is within 0.3 mm of it: rounded ends reach over by as much as that leaves."""
    found, names = over((CYAN, paths))
    assert found == pytest.approx(length, abs=0.5)
    assert names == (["Cyan"] if length else [])


def test_separations_are_named_by_the_length_that_is_in_them():
    short, long = [[(20, 20), (30, 20)]], [[(60, 30), (60, 60)]]
    length, names = over((CYAN, long), (BOTH, short))
    assert length == pytest.approx(41, abs=0.5)
    assert names == ["Cyan", "Black"]
    assert over((BOTH, short), (ALL, long))[1] == ["All", "Cyan", "Black"]
    assert over() == (0.0, [])


def test_strokes_near_the_die_by_their_boxes():
    drawn = strokes((CYAN, [[(20, 20.2), (40, 20.2)]]), (CYAN, [[(20, 21), (40, 25)]]), (CYAN, [[(20, 5), (70, 19.8)]]),
                    (CYAN, [[(59.8, 30), (70, 31)]]), (CYAN, [[(60.4, 30), (70, 31)]]))  # fmt: skip
    assert _strokes_near(drawn, np.arange(5), DIE, 0.3).tolist() == [0, 2, 3]
    assert _strokes_near(drawn, np.array([4, 3]), DIE, 0.3).tolist() == [3]
    assert _strokes_near(drawn, np.zeros(0, int), DIE, 0.3).tolist() == []


BLACK = (0, 0, 0, 1)
CUT, CREASE = [(10, 12), (70, 12), (70, 52), (10, 52)], [(40, 12), (40, 52)]


def drawn_job(
    tmp_path, *, cut: Any = "Cutting", crease: Any = "Creasing", width_mm: float = 0.25, more: Any = None
) -> Any:
    page = Drawing(85, 66).gs(OP=True, OPM=1)
    page.stroke("Cutting", CUT).stroke("Creasing", CREASE, close=False)
    page.gs(OP=False)
    if cut != "Cutting":
        page.stroke(cut, CUT, width_mm=width_mm)
    if crease != "Creasing":
        page.stroke(crease, CREASE, close=False, width_mm=width_mm)
    return job_of(more(page) if more else page, tmp_path)


@pytest.mark.parametrize(
    ("keys", "creases", "found"),
    [
        ({}, True, []), ({"cut": BLACK}, True, [("cut", 100.0)]), ({"crease": BLACK}, True, [("crease", 100.0)]),
        ({"crease": BLACK}, False, []), ({"cut": BLACK, "crease": BLACK}, True, [("cut", 100.0)]),
        ({"cut": BLACK, "width_mm": 0.9}, True, []), ({"cut": "Window"}, True, []),
        ({"cut": "All"}, True, [("cut", 100.0)]),
    ],
    ids=["only the die", "the cut in black", "the crease in black", "where creases are not asked for", "both",
         "a thick line", "in a technical ink", "in registration colour"],
)  # fmt: skip
def test_the_die_is_drawn_once_more_in_an_ink(tmp_path, keys, creases, found):
    measured = _in_an_ink(drawn_job(tmp_path, **keys), 0.3, 0.5, creases=creases)
    assert [(reading.facts["role"], reading.value) for reading in measured.readings] == found
    assert measured.gaps == []
    if found == [("cut", 100.0)]:
        [reading] = measured.readings
        assert reading.facts["length"] == "200 mm"
        assert reading.places[0].box_mm == pytest.approx((10, 12, 70, 52))
        assert reading.case == "in an ink"


def test_of_very_many_strokes_near_the_die_some_are_looked_at(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "MOST_LINES", 1)
    twice = lambda page: page.stroke(BLACK, [(12, 12), (22, 12)], close=False)  # noqa: E731
    there = drawn_job(tmp_path, cut=BLACK, more=twice)
    measured = _in_an_ink(there, 0.3, 0.5, creases=True)
    assert [reading.value for reading in measured.readings] == [100.0]
    assert len(measured.gaps) == 1


# On a unit, perhaps -----------------------------------------------------------------------------------------------


def separated(*names_and_kinds: tuple[str, str], **more: Any) -> Any:
    page = SimpleNamespace(
        number=3, separations=[Separation(name, kind, "", "stated") for name, kind in names_and_kinds]
    )
    return SimpleNamespace(page=page, **more)


def test_lines_that_look_like_a_die_are_told_unless_their_ink_does_not_print():
    seen = Suspected((5, 6, 40, 50), ("Black", "Legend"), 4, "because")
    die = SimpleNamespace(suspected=seen)
    [found] = _perhaps(separated(("Black", "process"), ("Legend", "guide"), die=die))
    assert (found.value, found.known, found.case) == (100.0, "assumed", "perhaps")
    assert (found.places[0].box_mm, found.places[0].page) == ((5, 6, 40, 50), 3)
    assert dict(found.facts) == {"inks": "Black, Legend", "panels": 4}
    assert _perhaps(separated(("Black", "guide"), ("Legend", "guide"), die=die)) == []
    assert _perhaps(separated(("Black", "process"), die=SimpleNamespace(suspected=None))) == []


def test_a_die_separation_on_a_unit_prints(tmp_path):
    there = drawn_job(tmp_path)

    def on_units(*units: Any) -> list[tuple[str, tuple[int, ...]]]:
        ticket = Ticket.model_validate({"units": list(units)})
        found = _on_a_unit(SimpleNamespace(ticket=ticket, page=there.page))  # type: ignore[arg-type]
        assert all(reading.case == "on a unit" and reading.value == 100.0 for reading in found)
        return [(str(reading.facts["ink"]), reading.units) for reading in found]

    assert on_units("Black", "CUTTING", None, "Creasing") == [("Cutting", (2,)), ("Creasing", (4,))]
    assert on_units("Black", {"overall": "Cutting"}) == []
    assert _on_a_unit(there) == []
    [found] = _on_a_unit(SimpleNamespace(ticket=Ticket.model_validate({"units": ["Cutting"]}), page=there.page))  # type: ignore[arg-type]
    assert found.places[0].box_mm == pytest.approx((10 - 0.125, 12 - 0.125, 70.125, 52.125), abs=0.01)
    assert found.places[0].separation == "Cutting"

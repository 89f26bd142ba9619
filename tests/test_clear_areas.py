"""The coating plan of a sheet made by hand, the outline of a plate by its tints, and the drawing of the plate."""

from __future__ import annotations

import io
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import ezdxf
import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from preflight.artwork.page.plates import Plates
from preflight.carton.die import Area
from preflight.crew.planned_job import PlannedJob
from preflight.report import coating_plate
from preflight.report.coating_plate import plate_areas
from preflight.report.drawing import Text
from preflight.report.dxf import coating_plate_dxf
from preflight.setup.layout.sheet_layout import Placed
from preflight.setup.press_sheet.clear_areas import ClearArea, CoatAsked, coating_plan
from preflight.setup.press_sheet.plate_outlines import shape_of_plate, shape_on_sheet
from preflight.setup.press_sheet.press_sheet import Piece, PressSheet
from tests.laid_sheets import CODE, GLUE, SHEET, WINDOW, layout_of, press_sheet

PRINTED = shapely.box(5, 10, SHEET.across_mm - 5, SHEET.along_mm - 6)
KINDS = ("glue flap", "code", "window")


def plan(sheet: PressSheet | None = None, **asked):
    told = {"clear": KINDS, "choke_mm": 0.7, **asked}
    return coating_plan(sheet or press_sheet(), CoatAsked(**told), PRINTED)


# The plan ----------------------------------------------------------------------------------------------------------


def test_every_kind_on_every_blank_is_left_bare():
    made = plan()
    assert [(area.blank, area.kind) for area in made.areas] == [(n, k) for n in range(1, 7) for k in KINDS]
    for area in made.areas:
        size = {"glue flap": GLUE, "code": CODE, "window": WINDOW}[area.kind].area
        assert area.shape.area == pytest.approx(size)
        assert made.coat.distance(area.shape) == pytest.approx(0.7, abs=1e-6)


def test_a_turned_blank_has_its_areas_turned():
    """Blank 2 lies at (221, 18), turned by 180°: what was at the left is at the right."""
    (glue,) = [area for area in plan().areas if (area.blank, area.kind) == (2, "glue flap")]
    assert glue.shape.bounds[2] == pytest.approx(221 + 195)
    (code,) = [area for area in plan().areas if (area.blank, area.kind) == (2, "code")]
    assert code.shape.bounds == pytest.approx((221 + 95, 18 + 105, 221 + 110, 18 + 120))


def test_the_coat_and_what_is_bare_make_up_what_can_be_coated():
    made = plan()
    bare = shapely.union_all([shapely.intersection(place, PRINTED) for place in made.bare])
    assert made.coat.area + bare.area == pytest.approx(PRINTED.area)
    assert shapely.intersection(made.coat, bare).area == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("paper", [(130.0, 120.0), (277.0, 190.0)])
def test_words_stand_in_their_areas_or_clear_of_all_others(paper, monkeypatch):
    made, sheet = plan(), press_sheet()
    monkeypatch.setattr(coating_plate, "_plan", lambda job: made)
    drawing = coating_plate.coating_drawing(cast(PlannedJob, SimpleNamespace(sheet=sheet)), paper)
    assert drawing is not None
    words = [item for item in drawing.items if isinstance(item, Text) and item.says in KINDS]
    assert {word.says for word in words} >= {"glue flap", "code"}
    for word in words:
        half = (word.size_mm / 2, word.width_mm / 2) if word.turn_deg else (word.width_mm / 2, word.size_mm / 2)
        box = shapely.box(word.x - half[0], word.y - half[1], word.x + half[0], word.y + half[1])
        assert shapely.box(0, 0, SHEET.across_mm, SHEET.along_mm).contains(box)
        assert all(area.kind == word.says for area in made.areas if area.shape.intersects(box.buffer(-0.1)))


def test_without_a_choke_areas_are_as_they_are():
    made = plan(choke_mm=None)
    assert all(area.on_plate.equals(area.shape) for area in made.areas)


def test_areas_of_neighbours_that_touch_are_one_bare_place():
    """One turned by 180° and one not, 1 mm apart: their flaps face each other."""
    layout = layout_of((Placed(20, 18, 180), Placed(216, 18, 0)))
    made = plan(press_sheet(layout), clear=("glue flap",))
    (both,) = made.bare
    assert made.kinds_in(both) == (("glue flap",), (1, 2))


def test_only_what_is_asked_for_is_bare():
    assert {area.kind for area in plan(clear=("code",)).areas} == {"code"}
    assert plan(clear=()).areas == ()


def test_a_word_that_no_area_answers_to_is_told():
    assert plan(clear=("code", "seal")).lacks == ("no seal is known on any blank",)
    sheet = press_sheet()
    one = replace(sheet.blanks[2], areas=())
    made = plan(replace(sheet, blanks=(*sheet.blanks[:2], one, *sheet.blanks[3:])), clear=("code",))
    assert made.lacks == ("no code is known on blank 3",)


def test_a_stated_window_wins_over_the_cut_outs():
    sheet = press_sheet()
    stated = Area("window", shapely.box(100, 100, 110, 110), "stated", "")
    blank = replace(sheet.blanks[0], areas=(stated,))
    made = plan(replace(sheet, blanks=(blank,)), clear=("window",))
    assert [(area.known, area.shape.bounds) for area in made.areas] == [("stated", (100, 100, 110, 110))]
    assert {area.known for area in plan(clear=("window",)).areas} == {"assumed"}


def seams(made) -> list[ClearArea]:
    return [area for area in made.areas if area.seam is not None]


def test_the_coat_keeps_from_the_seam():
    made = plan(seam_mm=2.5)
    assert len(seams(made)) == 6
    for area in seams(made):
        assert area.seam is not None
        assert area.seam.length == pytest.approx(90, abs=0.6)
        middle = area.seam.interpolate(0.5, normalized=True)
        assert made.coat.distance(middle) == pytest.approx(2.5, abs=1e-3)


# Outlines of plates ------------------------------------------------------------------------------------------------


def by_area(*boxes: tuple[float, float, float, float, float], dpi: float = 100) -> Plates:
    """A plate of 152.4 x 101.6 mm, each pixel as dark as it is covered; the last figure of a box adds or takes."""
    height, width, mm = 400, 600, 25.4 / dpi
    tint: NDArray[np.float64] = np.zeros((height, width))
    xs, tops = np.arange(width) * mm, (height - np.arange(height)) * mm
    for x0, y0, x1, y1, sign in boxes:
        across = np.clip(np.minimum(x1, xs + mm) - np.maximum(x0, xs), 0, mm) / mm
        along = np.clip(np.minimum(y1, tops) - np.maximum(y0, tops - mm), 0, mm) / mm
        tint += sign * np.outer(along, across)
    ink = np.round(255 * np.clip(tint, 0, 1)).astype(np.uint8)[None]
    return Plates(("Coat",), ink, dpi, (0.0, 0.0, width * mm, height * mm))


def test_the_outline_of_a_plate_has_holes_and_islands():
    shape = shape_of_plate(by_area((10.07, 20.03, 90.11, 80.2, 1), (30, 30, 50.1, 50, -1), (35, 35, 40, 40, 1)), "Coat")
    assert len(shapely.get_parts(shape)) == 2
    assert shape.bounds == pytest.approx((10.07, 20.03, 90.11, 80.2), abs=0.03)
    assert shape.area == pytest.approx(80.04 * 60.17 - 20.1 * 20 + 25, rel=2e-4)


def test_a_plate_that_is_bare_or_solid_to_its_edge():
    assert shape_of_plate(by_area(), "Coat").is_empty
    full = shape_of_plate(by_area((0, 0, 152.4, 101.6, 1)), "Coat")
    assert full.area == pytest.approx(152.4 * 101.6, rel=3e-3)
    assert shape_of_plate(by_area(), "Other").is_empty


def test_the_outline_lies_on_the_sheet_where_its_piece_does():
    """A quarter turn counter-clockwise: x' = -y + 200, y' = x."""
    plates = by_area((10, 20, 40, 30, 1))
    piece = Piece(plates, (0, 1, -1, 0, 200, 0), shapely.box(175, 0, 200, 100))
    shape = shape_on_sheet(replace(press_sheet(), pieces=(piece,)), "Coat")
    assert shape.bounds == pytest.approx((175, 10, 180, 40), abs=0.06)  # the clip cuts x from 170 on


# The drawing -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("hand", ["left", "right"])
def test_the_drawing_counts_from_the_operator_and_is_shorter_by_the_stretch(hand):
    sheet = press_sheet(operator_side=hand)
    made = plan(sheet)
    data = coating_plate_dxf(sheet, plate_areas(made), stretch_percent=0.5, choke_mm=0.7)
    document: Any = ezdxf.read(io.StringIO(data.decode()))  # type: ignore[attr-defined]
    bare = [list(line.vertices()) for line in document.modelspace().query('LWPOLYLINE[layer=="Clear area"]')]
    assert len(bare) == len(made.bare) == 18
    drawn = sorted(round(sum(x for x, _ in ring) / len(ring), 2) for ring in bare)
    wanted = []
    for place in made.bare:
        points = shapely.get_coordinates(place.exterior)[:-1]
        wanted.append(round(float(np.mean([sheet.from_operator(x) for x in points[:, 0]])), 2))
    assert drawn == pytest.approx(sorted(wanted), abs=0.02)
    high = max(y for ring in bare for _, y in ring)
    assert high == pytest.approx(0.995 * max(place.bounds[3] for place in made.bare), abs=0.001)

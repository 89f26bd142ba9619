"""What the layout search is asked about a job: bleed and edges from the plates, sheets and edges from the profile."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import shapely

from preflight.errors import NotMeasured
from preflight.measures.sheet_question import layout_request, sheet_of_jobs
from preflight.quantities import Size
from preflight.setup.layout.layout_request import LayoutRequest
from tests.cartons import reverse_tuck
from tests.drawn import Drawing
from tests.house import SIX_UNITS, job_of, with_die

BLUE, PALE = (0.9, 0.4, 0, 0), (0.3, 0.1, 0, 0)
PRESS: dict[str, Any] = {
    **SIX_UNITS,
    "die_cutter": {"gripper": "12 mm", "tail": "6 mm", "sides": "5 mm", "waste_strip": "5 mm"},
}
ONE_UP = {"artwork_is": "one-up", "sheet": {"size": "600 x 400 mm"}}


def sleeve(left: Any = BLUE, right: Any = BLUE, bleed: float = 3, split: float = 50) -> Drawing:
    """A cut of 100 x 60 mm at (20, 15) whose left part has one colour and whose right part another."""
    page = Drawing(140, 90)
    for ink, x0, x1 in ((left, 20 - bleed, 20 + split), (right, 20 + split, 120 + bleed)):
        if ink:
            page.fill(ink, rect=(x0, 15 - bleed, x1, 75 + bleed))
    page.gs(OP=True)
    page.stroke("Cutting", [(20, 15), (120, 15), (120, 75), (20, 75)])
    for fold in (40, 60, 80, 100):
        page.stroke("Creasing", [(fold, 15), (fold, 75)], close=False)
    return page


def asked(page: Drawing, folder: Path, ticket: dict[str, Any] | None = None, press: Any = PRESS) -> LayoutRequest:
    return layout_request([(None, job_of(page, folder, {**ONE_UP, **(ticket or {})}, press))])


def test_blank_and_bleed(tmp_path: Path) -> None:
    blank = asked(sleeve(right=None), tmp_path).blank
    assert blank.cut.bounds == pytest.approx((0, 0, 100, 60), abs=0.05)
    x0, y0, x1, y1 = blank.bleed.bounds
    assert (x0, y0, y1) == pytest.approx((-3, -3, 63), abs=0.05)
    assert x1 == pytest.approx(100, abs=0.05), "nothing is printed beyond the right edge"
    right = blank.bleed.intersection(shapely.box(56, -5, 100, 65)).bounds
    assert right[1] == pytest.approx(0, abs=0.05)


def test_artwork_that_stops_at_the_cut_has_no_bleed(tmp_path: Path) -> None:
    blank = asked(sleeve(bleed=0), tmp_path).blank
    assert blank.bleed.area == pytest.approx(blank.cut.area, rel=1e-6)


def test_inks_of_edges(tmp_path: Path) -> None:
    inks = asked(sleeve(right=PALE), tmp_path).blank.edge_inks
    assert set(inks) == {"left", "right"}, "upper and lower edge have two colours each, so neither is known"
    assert inks["left"] == pytest.approx({"Cyan": 0.9, "Magenta": 0.4}, abs=0.01)
    assert inks["right"] == pytest.approx({"Cyan": 0.3, "Magenta": 0.1}, abs=0.01)


def test_free_area_is_the_press_and_the_die_cutter(tmp_path: Path) -> None:
    free = asked(sleeve(), tmp_path, {"layout": {"bar": "gripper"}}, {**PRESS, "colour_bar": {"depth": "6 mm"}}).free
    assert (free.sides_mm, free.gripper_mm, free.tail_mm) == (5, 18, 6)
    assert (free.cut_sides_mm, free.cut_gripper_mm, free.cut_tail_mm) == (5, 12, 6)
    assert free.limits["gripper_mm"] == "edges: gripper of the press and the colour bar"
    wide = free.on(Size(1040, 740))
    assert (wide.sides_mm, wide.tail_mm) == (5, 10), "10 mm and 720 of printable area leave 10 mm of 740"


def test_what_nobody_says_is_assumed_and_named(tmp_path: Path) -> None:
    request = asked(sleeve(), tmp_path, {"layout": {"bar": "tail"}}, {**SIX_UNITS, "edges": {"gripper": "11 mm"}})
    assert (request.free.gripper_mm, request.free.tail_mm, request.free.sides_mm) == (11, 6 + 8 + 2, 5)
    assert request.waste_strip_mm == 4
    named = " ".join(request.assumed)
    for key in (
        "edges: tail, so the layout goes by the 6 mm",
        "edges: sides",
        "die_cutter: gripper",
        "waste_strip",
        "colour_bar: depth",
    ):
        assert key in named
    assert "edges: gripper" not in named
    assert "across its body creases" in named


def test_grain(tmp_path: Path) -> None:
    """Folds run up the page, so across them is across it."""
    assert asked(sleeve(), tmp_path).grain_on_blank == "across"
    told = asked(sleeve(), tmp_path, {"board": {"grain": "along", "grain_on_blank": "any"}})
    assert (told.grain, told.grain_on_blank) == ("along", "any")


def test_sheets(tmp_path: Path) -> None:
    assert asked(sleeve(), tmp_path).sheets_are == "ticket"
    stock = ["700 x 500 mm", "1200 x 700 mm", "300 x 200 mm", "720 x 520 mm"]
    of_stock = asked(sleeve(), tmp_path, {"sheet": {}}, {**PRESS, "stock": stock})
    assert (of_stock.sheets_are, of_stock.sheets) == ("stock", (Size(700, 500), Size(720, 520)))
    cutter = {**PRESS["die_cutter"], "largest": "1000 x 800 mm"}
    largest = asked(sleeve(), tmp_path, {"sheet": {}}, {**PRESS, "die_cutter": cutter})
    assert (largest.sheets_are, largest.sheets) == ("largest", (Size(1000, 740),))


def test_areas_and_panels_come_along(tmp_path: Path) -> None:
    carton = reverse_tuck(at=(10, 10))
    page = with_die(Drawing(225, 200), carton)
    blank = asked(page, tmp_path).blank
    assert "glue flap" in [kind for kind, _ in blank.kept_free]
    assert len(blank.panels) >= 4
    assert all(shape.bounds[0] >= -0.1 for _, shape in blank.kept_free)


def test_versions_share_what_is_left_of_the_quantity(tmp_path: Path) -> None:
    files = [{"file": "art.pdf", "version": name} for name in ("Mint", "Rose", "Sage")]
    ticket = {**ONE_UP, "artwork": files, "quantity": "40000", "quantities": {"Rose": "20000"}}
    job = job_of(sleeve(), tmp_path, ticket, PRESS)
    assert job.ticket is not None
    request = layout_request([(entry, job) for entry in job.ticket.artwork_list])
    assert dict(request.quantities) == {"Mint": 10000, "Rose": 20000, "Sage": 10000}


def test_the_whole_way_to_a_sheet(tmp_path: Path) -> None:
    """One colour all round, so rows share knives: six of 60 mm in 373, by five columns of 106 mm in 584."""
    sheet = sheet_of_jobs([(None, job_of(sleeve(), tmp_path, ONE_UP, PRESS))])
    assert sheet.is_from == "layout of the tool"
    assert len(sheet.blanks) == 30
    assert sheet.layout is not None
    assert sheet.layout.why_not_more


def test_no_press_no_layout(tmp_path: Path) -> None:
    with pytest.raises(NotMeasured, match="no press profile"):
        asked(sleeve(), tmp_path, press=None)

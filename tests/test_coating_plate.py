"""From a ticket on disk to ``coating-plate.dxf`` and the clear areas of ``setup.json``, on a press of each hand."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import ezdxf
import jsonschema
import pytest

from preflight.cli.main import run
from preflight.report.document_schema import setup_schema
from tests.drawn import Drawing
from tests.house import blank_page, units, with_die

CODE = [100, 70, 120, 80]
"""On the one-up; the corner of its cut is at (10, 10), and it is 195 x 180 mm."""
AT = [(40, 16, 0), (250, 16, 180)]
"""x from the operator side, y from the gripper edge, turn."""


def artwork(*, coded: bool = False) -> Drawing:
    page = blank_page().fill((0.3, 0, 0, 0), rect=(22, 52, 80, 148))
    if coded:
        page.fill((0, 0, 0, 1), rect=(102, 72, 118, 78))
    return with_die(page)


def folder_of(tmp_path: Path, hand: str, page: Drawing | None = None, **keys: object) -> Path:
    """The folder of the set-up of two blanks."""
    (page or artwork()).save(tmp_path / "art.pdf")
    plate = {"choke": "0.5 mm", "stretch": "0.4 %"}
    (tmp_path / "press.yaml").write_text(json.dumps(units(coating_plate=plate, operator_side=hand)))
    ticket = {
        "ticket": "77-1", "artwork": "art.pdf", "press": "press.yaml", "artwork_is": "one-up", "ink_system": "uv",
        "sheet": {"size": "640 x 400 mm"}, "board": {"caliper": "0.4 mm", "surface": "white"},
        "coating": {"kind": "uv", "area": "overall", "clear": ["code"]}, "areas": [{"is": "code", "box": CODE}],
        "layout": {"blanks": [{"x": f"{x} mm", "y": f"{y} mm", "turn": turn} for x, y, turn in AT]}, **keys,
    }  # fmt: skip
    (tmp_path / "ticket.yaml").write_text(json.dumps(ticket))
    run(["setup", str(tmp_path / "ticket.yaml"), "--out", str(tmp_path / "out"), "--no-cache"])
    return tmp_path / "out"


def boxes(document: Any, layer: str) -> list[tuple[float, ...]]:
    """Left, lower, right and upper side of each closed line of a layer."""
    found = []
    for line in document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]'):
        points = list(line.get_points("xy"))
        xs, ys = zip(*points, strict=True)
        found.append((min(xs), min(ys), max(xs), max(ys)))
    return sorted(found)


UPRIGHT = (40 + 90, 16 + 60, 40 + 110, 16 + 70)
TURNED = (250 + 195 - 110, 16 + 180 - 70, 250 + 195 - 90, 16 + 180 - 60)
"""Where the code lies on each blank by hand, the operator at the left."""
MIRRORED = (40 + 195 - 110, 16 + 60, 40 + 195 - 90, 16 + 70)
MIRRORED_TURNED = (250 + 90, 16 + 180 - 70, 250 + 110, 16 + 180 - 60)
"""With the operator at the right, counted from the right: what was at the left of a blank is further from there."""


@pytest.mark.parametrize(
    ("hand", "wanted"), [("left", [UPRIGHT, TURNED]), ("right", [MIRRORED, MIRRORED_TURNED])], ids=["left", "right"]
)
def test_areas_count_from_the_operator_in_every_file(hand, wanted, tmp_path):
    out = folder_of(tmp_path, hand)
    document = json.loads((out / "setup.json").read_text())
    jsonschema.Draft202012Validator(setup_schema()).validate(document)
    told = []
    for area in document["clear_areas"]:
        xs, ys = zip(*area["polygon_mm"], strict=True)
        told.append((min(xs), min(ys), max(xs), max(ys)))
        assert area["is"] == "code"
    assert sorted(told) == [pytest.approx(box, abs=0.01) for box in wanted]
    drawn = boxes(ezdxf.readfile(out / "coating-plate.dxf"), "Clear area")  # type: ignore[attr-defined]
    choked = [(x0 - 0.5, 0.996 * (y0 - 0.5), x1 + 0.5, 0.996 * (y1 + 0.5)) for x0, y0, x1, y1 in wanted]
    assert drawn == [pytest.approx(box, abs=0.01) for box in choked]


def notes(out: Path) -> list[str]:
    document: Any = ezdxf.readfile(out / "coating-plate.dxf")  # type: ignore[attr-defined]
    return [text.dxf.text for text in document.modelspace().query("TEXT")]


def test_the_drawing_says_what_it_is(tmp_path):
    told = " ".join(notes(folder_of(tmp_path, "left")))
    for words in ("77-1", "0.4 %", "Choke: 0.5 mm", "bare: code", "OPERATOR SIDE", "GRIPPER EDGE"):
        assert words in told
    assert "DO NOT RUN" not in told


def test_a_job_that_may_not_run_has_it_written_across(tmp_path):
    out = folder_of(tmp_path, "left", artwork(coded=True))
    assert not json.loads((out / "setup.json").read_text())["run_it"]
    assert "DO NOT RUN" in notes(out)


@pytest.mark.parametrize(
    "coating",
    [{"kind": "uv", "area": "overall", "clear": "none"}, "none", {"kind": "uv", "area": "overall"}],
    ids=["nothing bare", "nothing coated", "not told"],
)
def test_there_is_no_plate_where_no_coater_lays_a_pattern(coating, tmp_path):
    out = folder_of(tmp_path, "left", coating=coating)
    assert not (out / "coating-plate.dxf").exists()
    document = json.loads((out / "setup.json").read_text())
    assert document["coating_plate"] is None
    told = isinstance(coating, str) or "clear" in coating
    assert document["clear_areas"] == ([] if told else None)
    assert any(text.startswith("Clear areas:") for text in document["not_checked"]) is not told


def test_a_plate_of_an_earlier_set_up_does_not_stay(tmp_path):
    assert (folder_of(tmp_path, "left") / "coating-plate.dxf").exists()
    assert not (folder_of(tmp_path, "left", coating="none") / "coating-plate.dxf").exists()

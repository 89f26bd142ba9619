"""The part of setup.json on the ink keys: covers from the operator side, openings by the plant's curves or none."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import shapely

from preflight.crew.ink_keys_part import ink_keys_part
from preflight.crew.planned_job import PlannedJob
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.setup.press_plan import OnCoater, OnUnit, Pass, PressPlan
from preflight.setup.press_sheet.press_sheet import Piece
from tests.house import units
from tests.key_sheets import patch, plates, sheet

SCHEMA = json.loads((Path(__file__).parents[1] / "preflight" / "report" / "setup_schema.json").read_text())
PAGE = plates(
    300, 200,
    [("Cyan", 1.0, (0, 0, 66, 200)), ("Moss", 0.6, (66, 0, 132, 100)), ("MOSS C", 0.6, (66, 100, 132, 200)),
     ("Gloss", 1.0, (0, 0, 300, 200))],
    dpi=25.4,
)  # fmt: skip
PLAN = PressPlan(
    True, True,
    (Pass((OnUnit(1, "Cyan", "process"), OnUnit(2, "Moss", "spot"), OnUnit(3, "Primer", "primer", overall=True),
           OnCoater(1, 3, "uv", "plate", "Gloss"))),),
)  # fmt: skip


FOUR_KEYS = {"count": "4", "pitch": "75 mm", "first": "drive"}


def job(ink_keys: dict[str, str] | None = FOUR_KEYS, **more) -> PlannedJob:
    press = Press.model_validate(units(ink_keys=ink_keys, operator_side="left"))
    ticket = Ticket.model_validate(
        {"ticket": "1", "separations": {"MOSS C": {"same_as": "Moss"}}, "board": {"grade": "GC2"}}
    )
    made: dict[str, Any] = {"kinds": {"Cyan": "process", "Moss": "spot", "MOSS C": "spot", "Gloss": "varnish"}} | more
    laid = sheet([(PAGE, (0, 0), 0)], (300, 200), **made)
    return PlannedJob([], press, ticket, plan=PLAN, sheet=laid)


@pytest.mark.parametrize("side", ["left", "right"])
def test_covers_count_from_the_operator_side(side):
    part, not_checked, assumed = ink_keys_part(job(operator_side=side))
    assert part is not None
    wanted: dict[str, list[float]] = {"Cyan": [0.88, 0, 0, 0], "Moss": [0.072, 0.456, 0, 0], "Primer": [1, 1, 1, 1]}
    assert part["cover"] == {
        name: pytest.approx(cover if side == "left" else cover[::-1], abs=1e-3) for name, cover in wanted.items()
    }
    assert (part["count"], part["pitch_mm"], part["first"], part["own_marks"]) == (4, 75.0, "drive", [])
    assert part["opening_percent"] is None
    assert [each.split(":")[0] for each in not_checked] == ["Openings of Cyan (unit 1, process), Moss (unit 2, spot)"]
    assert "Primer covers the whole sheet" in " ".join(assumed)


def test_the_part_is_as_the_schema_says():
    part, _, _ = ink_keys_part(job(marks=[patch("Cyan", (100, 190, 106, 196))]))
    assert part is not None
    assert part["own_marks"] == [{"mark": "colour bar", "count": 1, "inks": ["Cyan"]}]
    own = SCHEMA["setup"]["properties"]["ink_keys"]
    check = jsonschema.Draft202012Validator(own)
    assert list(check.iter_errors(part)) == []
    part["cover"]["Cyan"] = [1.2]
    assert list(check.iter_errors(part)) != []


def test_openings_come_from_the_curves_of_the_rules_folder(tmp_path, monkeypatch):
    (tmp_path / "key_curves.yaml").write_text(
        "- {unit: 1, ink: process, board: GC2, points: [[0, 2], [0.5, 40], [0.9, 80]]}\n"
    )
    monkeypatch.setenv("PREFLIGHT_RULES", str(tmp_path))
    part, not_checked, _ = ink_keys_part(job())
    assert part is not None
    assert part["opening_percent"] == {"Cyan": [78.0, 2.0, 2.0, 2.0], "Moss": None}
    assert len(not_checked) == 1
    assert "(unit 2, spot): no curve yet for board GC2" in not_checked[0]


def test_without_keys_or_a_sheet_it_says_what_is_needed():
    part, not_checked, _ = ink_keys_part(job(ink_keys=None))
    assert part is None
    assert "ink_keys: {count, pitch}" in not_checked[0]
    bare = PlannedJob([], job().press, None, not_laid_out="there is no die")
    part, not_checked, _ = ink_keys_part(bare)
    assert part is None
    assert "there is no die" in not_checked[0]
    assert "layout: on the ticket" in not_checked[0]
    assert ink_keys_part(PlannedJob([], None, None)) == (None, [], [])


def test_what_is_assumed_is_said():
    made = job(ink_keys={"count": "4", "pitch": "75 mm"}, operator_assumed=True)
    assert made.sheet is not None
    back = Piece(PAGE, (-1.0, 0.0, 0.0, 1.0, 300.0, 0.0), shapely.box(0, 0, 300, 200), side="back")
    laid = type(made.sheet)(**{**vars(made.sheet), "pieces": (*made.sheet.pieces, back)})
    twice = PressPlan(True, True, (*PLAN.passes, Pass((OnUnit(1, "Cyan (back)", "process", "back"),))))
    part, _, assumed = ink_keys_part(PlannedJob([], made.press, made.ticket, plan=twice, sheet=laid))
    assert part is not None
    assert part["cover"]["Cyan (back)"] == pytest.approx([0, 0, 0, 0.88], abs=1e-3)
    said = " ".join(assumed)
    for word in ("ink_keys: first", "operator_side", "Keys of the back"):
        assert word in said

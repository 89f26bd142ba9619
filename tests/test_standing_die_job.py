"""A ticket's standing die, from the file to the press sheet: our own layout.dxf of a job makes the same sheet again."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from preflight.crew.planned_job import JudgedPage, PlannedJob
from preflight.crew.setup_document import Made, build_setup_document
from preflight.errors import NotMeasured
from preflight.job_facts import final_facts
from preflight.judging.judge import judge
from preflight.judging.rulebook import load_rules
from preflight.report.dxf import layout_dxf
from preflight.setup.press_sheet.sheet_folds import with_folds
from tests import odd_job


def with_die(folder, data, operator="left", **ticket):
    path = folder / "die.dxf"
    path.write_bytes(data)
    return odd_job.laid(folder, operator, layout={"file": str(path)}, **ticket)


@pytest.fixture(params=["left", "right"])
def laid(request, tmp_path):
    """The job's sheet as its ticket lays it, with the hand of its press."""
    return odd_job.laid(tmp_path, request.param).press_sheet, request.param


def test_the_same_sheet_comes_back(laid, tmp_path):
    stated, operator = laid
    sheet = with_die(tmp_path, layout_dxf(stated), operator).press_sheet
    assert sheet.is_from == "standing die"
    assert sheet.layout.pattern == "standing die"
    assert sheet.layout.assumed == ()
    assert sheet.size == stated.size
    assert sheet.operator_side == operator
    assert [blank.turn_deg for blank in sheet.blanks] == [blank.turn_deg for blank in stated.blanks]
    for blank, other in zip(sheet.blanks, stated.blanks, strict=True):
        assert blank.number == other.number
        assert blank.outline.symmetric_difference(other.outline).area < 0.1
        assert blank.outline.bounds == pytest.approx(other.outline.bounds, abs=0.002)
    assert sheet.layout.gutters_mm == pytest.approx(stated.layout.gutters_mm, abs=0.01)


def test_the_sheet_of_the_drawing_holds_where_the_ticket_has_none(laid, tmp_path):
    stated, operator = laid
    assert with_die(tmp_path, layout_dxf(stated), operator, sheet={}).press_sheet.size == stated.size


def test_the_sheet_that_is_planned_is_said_to_be_the_drawings(laid, tmp_path):
    stated, operator = laid
    job = with_die(tmp_path, layout_dxf(stated), operator, sheet={"size": "200 x 150 mm"})
    planned = PlannedJob([JudgedPage(final_facts(job), judge(job, load_rules(), {"pages-unlike"}))], job.press,
                         job.ticket, sheet=job.press_sheet)  # fmt: skip
    made = Made(datetime.now(UTC), (), "")
    told = build_setup_document(planned, made, "", {})["sheet"]
    assert told == {
        "mm": [230.0, 160.0],
        "because": "as the standing die die.dxf is drawn; the ticket says 200 x 150 mm",
    }


def test_a_die_for_the_other_hand_is_not_taken(laid, tmp_path):
    stated, operator = laid
    job = with_die(tmp_path, layout_dxf(stated), "right" if operator == "left" else "left")
    with pytest.raises(NotMeasured, match="mirror image"):
        _ = job.press_sheet


def test_a_damaged_drawing_is_not_measured(tmp_path):
    job = with_die(tmp_path, b"0\nSECTION\n")
    with pytest.raises(NotMeasured, match=r"standing die die\.dxf could not be read") as raised:
        _ = job.press_sheet
    assert raised.value.want_of == "ticket"
    assert "DXF" in raised.value.would_help


def test_the_folds_of_a_real_job_go_to_their_layers(laid):
    stated, _ = laid
    sheet = with_folds(stated, {"crease": stated.blanks[0].creases})
    assert set(sheet.blanks[0].folds) <= {"crease"}

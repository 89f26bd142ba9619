"""The tool's own marks: where they stand, on a press of each hand, and that the rules on marks have nothing to say."""

from __future__ import annotations

from collections import Counter
from random import Random
from typing import Any

import pytest
import shapely
from shapely import Polygon, box

from preflight.inputs.press import Press
from preflight.judging.judge import judge
from preflight.measures.marks.find_marks import find_marks
from preflight.quantities import Size
from preflight.setup.press_sheet.own_marks import MarkedSheet, OwnMarks, colour_bar_edge, own_marks
from preflight.setup.press_sheet.room import Room
from tests.drawn import Drawing
from tests.house import CARTON, PANEL_1, blank_page, job_of, rulebook, units, with_die
from tests.marked_sheets import INKS, PRESS, STATED, Sheet, patch

SIZE = Size(500, 320)
CUTS = (box(50, 60, 245, 240), box(257, 60, 452, 240))
RULES = {
    name for name, rule in rulebook().rules.items() if {"L14", "L15", "L16", "L17", "L18"} & set(rule.covers)
}  # fmt: skip


def profile(**more: Any) -> Press:
    return Press.model_validate({**PRESS, **more})


def marked(
    cuts: tuple[Polygon, ...] = CUTS, inks: tuple[str, ...] = INKS, bar: str = "tail", size: Size = SIZE, **more: Any
) -> OwnMarks:
    bleeds = tuple(shapely.buffer(cut, 3, join_style="mitre") for cut in cuts)
    return own_marks(MarkedSheet(size, cuts, bleeds, inks, profile(**more), bar))  # type: ignore[arg-type]


def kinds(found: OwnMarks) -> Counter[str]:
    return Counter(mark.kind for mark in found.marks)


def of(found: OwnMarks, kind: str) -> list[Any]:
    return [mark for mark in found.marks if mark.kind == kind]


def test_a_patch_of_every_ink_in_every_zone_with_work():
    found = marked()
    assert found.notes == ()
    zones = range(1, 14)  # from 35.5 mm to 464.5 mm in zones of 33 mm: the work is 50 to 452 mm, 47 to 455 with bleed
    for zone in zones:
        left = 2.5 + 33 * zone
        own = [patch for patch in of(found, "colour bar") if left <= patch.shape.centroid.x <= left + 33]
        assert [next(iter(patch.inks)) for patch in own] == list(INKS)
        assert all(patch.inks == {ink: 1.0} for patch, ink in zip(own, INKS, strict=True))
    assert len(of(found, "colour bar")) == 5 * len(zones)
    assert {mark.shape.bounds[1::2] for mark in of(found, "colour bar")} == {(308, 314)}  # up to the tail's 6 mm
    assert {round(mark.shape.area) for mark in of(found, "colour bar")} == {30}


def test_marks_keep_to_the_sides_that_do_not_print_where_more_could_be_printed_than_the_sheet_is_wide():
    """A press that prints 700 mm across: on a sheet of 500 mm its sides of 5 mm are what counts."""
    wide: dict[str, Any] = {"sheet": {"largest": "720 x 520 mm", "printable": "700 x 500 mm"}}
    found = marked((box(8, 60, 245, 240), box(257, 60, 492, 240)), **wide)
    assert found.marks
    assert all(mark.shape.bounds[0] >= 5 and mark.shape.bounds[2] <= 495 for mark in of(found, "colour bar"))


def test_all_is_known_to_be_the_tools_own():
    assert {mark.known for mark in marked().marks} == {"stated"}


def test_at_the_gripper_it_stands_behind_what_the_grippers_hold():
    bar = of(marked(bar="gripper"), "colour bar")
    assert {mark.shape.bounds[1::2] for mark in bar} == {(10, 16)}


def test_no_bar_where_there_is_to_be_none():
    found = marked(bar="none")
    assert "colour bar" not in kinds(found)
    assert kinds(found)["register"] == 2
    assert found.notes == ()


def test_register_marks_half_way_up_at_both_sides_in_all_plates():
    crosses = of(marked(), "register")
    middles = sorted((mark.shape.centroid.x, mark.shape.centroid.y) for mark in crosses)
    assert middles[0] == (pytest.approx(23.5, abs=2), pytest.approx(160, abs=2))  # midway between edge and bleed
    assert middles[1] == (pytest.approx(477.5, abs=2), pytest.approx(160, abs=2))
    for mark in crosses:
        assert set(mark.inks) == set(INKS)
        assert mark.shape.area == pytest.approx(2 * 8 * 0.1 - 0.1**2)  # hair lines of 0.1 mm


HANDS = [("left", "operator", "left"), ("left", "drive", "right"), ("right", "operator", "right"),
         ("right", "drive", "left")]  # fmt: skip


@pytest.mark.parametrize(("operator", "lay", "side"), HANDS)
def test_the_side_guide_mark_stands_at_the_guided_edge(operator, lay, side):
    (mark,) = of(marked(operator_side=operator, side_lay=lay), "side guide")
    x0, y0, x1, y1 = mark.shape.bounds
    assert (x0 if side == "left" else 500 - x1) == 5  # as near to the edge as the press prints (edges: sides)
    assert (x1 - x0, y1 - y0) == (4, 10)
    assert y0 < 60  # near the gripper
    assert mark.inks == {"Black": 1.0}


def test_side_guides_at_both_sides_where_the_press_takes_either():
    assert kinds(marked(side_lay="either"))["side guide"] == 2


def test_no_side_guide_where_nobody_says_the_side():
    found = own_marks(
        MarkedSheet(SIZE, CUTS, CUTS, INKS, Press.model_validate({k: v for k, v in PRESS.items() if k != "side_lay"}))
    )
    assert "side guide" not in kinds(found)
    assert any("at which side sheets are guided" in note for note in found.notes)


def test_a_label_for_each_plate_in_its_own_ink():
    labels = of(marked(), "label")
    assert [list(mark.inks) for mark in labels] == [[ink] for ink in INKS]
    assert all(0 < tint < 1 for mark in labels for tint in mark.inks.values())


def test_where_a_blank_stands_in_the_strip_its_patches_are_left_out_and_said():
    found = marked((box(50, 60, 245, 310), box(257, 60, 452, 240)))
    assert 0 < kinds(found)["colour bar"] < 65
    assert any("patches of the colour bar have no room" in note for note in found.notes)


def test_a_low_strip_gets_a_low_bar():
    found = marked((box(50, 60, 452, 306),))  # bleed up to 309, 2 mm clear, and 6 mm of tail: 3 mm are left
    assert {mark.shape.bounds[1::2] for mark in of(found, "colour bar")} == {(311, 314)}
    assert kinds(found)["colour bar"] == 65


def test_no_room_at_all_is_said_of_each_mark():
    found = marked((box(3, 13, 497, 311),))
    assert found.marks == ()
    told = " ".join(found.notes)
    for words in ("the colour bar at the tail", "a register mark at the left", "a register mark at the right",
                  "the side-guide mark at the operator side", "the label of the plate Mill Brown"):  # fmt: skip
        assert f"no room for {words}" in told


def test_many_inks_have_narrow_patches():
    inks = tuple(f"Ink {number}" for number in range(8))
    found = marked(inks=inks)
    assert {round(mark.shape.bounds[2] - mark.shape.bounds[0], 3) for mark in of(found, "colour bar")} == {33 / 8}
    assert found.notes == ()


def test_more_inks_than_a_zone_holds_take_turns():
    inks = tuple(f"Ink {number}" for number in range(13))
    found = marked(inks=inks)
    assert {ink for mark in of(found, "colour bar") for ink in mark.inks} == set(inks)
    assert any("no room for patches of all 13 inks" in note for note in found.notes)


def test_without_zones_the_bar_goes_on_over_the_work():
    press = Press.model_validate({key: value for key, value in PRESS.items() if key != "ink_keys"})
    found = own_marks(MarkedSheet(SIZE, CUTS, CUTS, INKS, press))
    x = [mark.shape.bounds for mark in of(found, "colour bar")]
    assert min(b[0] for b in x) <= 50
    assert max(b[2] for b in x) >= 452
    assert any("ink zones" in note for note in found.notes)


def test_nothing_for_a_job_that_prints_nothing():
    assert own_marks(MarkedSheet(SIZE, CUTS, CUTS, (), profile())) == OwnMarks(())


@pytest.mark.parametrize("seed", range(40))
def test_no_mark_in_a_blank_nor_where_nothing_is_printed_nor_on_another(seed):
    random = Random(seed)
    size = Size(random.uniform(420, 1040), random.uniform(320, 740))
    cuts = tuple(
        shapely.affinity.rotate(box(0, 0, random.uniform(40, 300), random.uniform(40, 300)), random.choice([0, 30, 90]))
        for _ in range(random.randint(1, 5))
    )
    cuts = tuple(
        shapely.affinity.translate(cut, random.uniform(0, size.across_mm - 100), random.uniform(0, size.along_mm - 100))
        for cut in cuts
    )
    operator = random.choice(["left", "right"])
    bar = random.choice(["tail", "gripper"])
    found = marked(cuts, bar=bar, size=size, operator_side=operator)
    bleeds = shapely.union_all([shapely.buffer(cut, 3, join_style="mitre") for cut in cuts])
    printed = box((size.across_mm - 1030) / 2 if size.across_mm > 1030 else 0, 10, size.across_mm, size.along_mm - 6)
    for mark in found.marks:
        assert mark.shape.distance(bleeds) >= 1 - 1e-6
        assert shapely.buffer(printed, 1e-6).covers(mark.shape)
    boxes = [box(*mark.shape.bounds) for mark in found.marks]
    touching = shapely.STRtree(boxes).query(shapely.buffer(boxes, -0.01), predicate="intersects").T
    assert all(one == other for one, other in touching.tolist())
    missing = 2 - kinds(found)["register"], 1 - kinds(found)["side guide"], len(INKS) - kinds(found)["label"]
    assert sum(missing) == len([note for note in found.notes if note.startswith("no room for") and "bar" not in note])


def test_the_ticket_says_where_the_bar_stands_then_the_profile():
    assert colour_bar_edge(profile(colour_bar={"edge": "gripper", "depth": "8 mm"}), None) == "gripper"
    assert colour_bar_edge(profile(colour_bar={"edge": "gripper", "depth": "8 mm"}), "none") == "none"
    assert colour_bar_edge(profile(), None) == "tail"


def test_room_gives_the_nearest_free_place_and_takes_it():
    room = Room((0, 0, 20, 10), box(0, 0, 5, 10))
    assert room.nearest((4, 4), (0, 0), step_mm=1) == (5, 0, 9, 4)
    assert room.nearest((4, 4), (0, 0), step_mm=1) == (5, 5, 9, 9)  # 1 mm from the first
    assert room.nearest((4, 4), (0, 0), (0, 0, 10, 10), step_mm=1) is None
    assert not room.is_free((7, 1, 8, 2))
    assert room.is_free((15, 0, 20, 10))
    assert room.nearest((30, 4), (0, 0)) is None


# Through the job ---------------------------------------------------------------------------------------------------

TWO_UP: dict[str, Any] = {
    "artwork_is": "one-up",
    "sheet": {"size": "500 x 320 mm"},
    "layout": {"blanks": [{"x": "50 mm", "y": "60 mm"}, {"x": "257 mm", "y": "60 mm"}]},
}


def one_up(*more: str) -> Drawing:
    """The carton with a patch of each ink on its first panels, and a legend outside the cut."""
    page = blank_page()
    for number, ink in enumerate((*INKS, *more)):
        patch(page, ink, (PANEL_1[0] + 9 * number, 60, PANEL_1[0] + 8 + 9 * number, 80))
    page.fill("Legend Only", rect=(2, 2, 8, 8))
    return with_die(page, CARTON)


@pytest.mark.parametrize("operator", ["left", "right"])
def test_its_own_marks_pass_its_own_rules(tmp_path, operator):
    job = job_of(one_up(), tmp_path, TWO_UP, {**PRESS, "operator_side": operator})
    judgement = judge(job, rulebook(), only=RULES)
    assert judgement.findings == ()
    assert set(judgement.passed) == RULES, judgement.not_checked
    sheet = job.press_sheet
    assert sheet is not None
    assert sheet.marked_for == INKS  # not what only a legend is drawn in
    assert len([mark for mark in sheet.marks if mark.kind == "colour bar"]) == 65


def test_where_there_is_no_room_for_all_it_is_a_finding(tmp_path):
    ticket = {**TWO_UP, "sheet": {"size": "402 x 199 mm"},
              "layout": {"blanks": [{"x": "3 mm", "y": "13 mm"}, {"x": "204 mm", "y": "13 mm"}]}}  # fmt: skip
    job = job_of(one_up(), tmp_path, ticket, PRESS)
    judgement = judge(job, rulebook(), only=RULES)
    told = {finding.rule: finding.verdict.word for finding in judgement.findings}
    assert told == {"ink-zone-without-patch": "note"}, judgement.findings  # a few stand beside the lids
    sheet = job.press_sheet
    assert sheet is not None
    assert any("patches of the colour bar have no room" in note for note in sheet.marks_left_out)


def test_a_separation_for_the_coater_gets_no_patch(tmp_path):
    ticket = {**TWO_UP, "coating": {"kind": "uv", "area": "Spot Varnish"}}
    sheet = job_of(one_up("Spot Varnish"), tmp_path, ticket, PRESS).press_sheet
    assert sheet is not None
    assert sheet.marked_for == INKS
    assert all("Spot Varnish" not in mark.inks for mark in sheet.marks)


def test_a_sheet_from_outside_has_the_marks_that_are_found_on_it(tmp_path):
    job = job_of(Sheet()(), tmp_path, STATED, PRESS)
    sheet = job.press_sheet
    assert sheet is not None
    assert sheet.marks == find_marks(job, 3.0)
    assert {mark.known for mark in sheet.marks} == {"read", "assumed"}
    assert sheet.marked_for == INKS


def test_the_rules_are_not_asked_of_a_one_up_without_a_layout(tmp_path):
    judgement = judge(job_of(one_up(), tmp_path, {"artwork_is": "one-up"}, PRESS), rulebook(), only=RULES)
    assert judgement.findings == ()
    assert judgement.passed == ()


def test_units_of_the_press_do_not_matter():
    assert marked(line=units()["line"]) == marked()


def test_the_side_guide_mark_is_in_an_ink_that_is_seen(tmp_path):
    page = with_die(blank_page().fill("Opaque White", rect=(30, 60, 40, 80)).fill("Deep Moss", rect=(45, 60, 55, 80)))
    sheet = job_of(page, tmp_path, TWO_UP, PRESS).press_sheet
    assert sheet is not None
    assert sheet.marked_for == ("Opaque White", "Deep Moss")
    (guide,) = [mark for mark in sheet.marks if mark.kind == "side guide"]
    assert guide.inks == {"Deep Moss": 1.0}

"""What the planner of the units is asked: plates, overlaps and distances of drawn pages."""

import shutil
from dataclasses import replace

import numpy as np
import pytest

from preflight.errors import NotMeasured
from preflight.inputs.loading import shipped_rules_dir
from preflight.measures.plan_question import plan_request
from preflight.setup.plan_request import CoatingToLay, OnPress
from preflight.setup.press_plan import PressPlan
from tests.drawn import Drawing
from tests.house import PROCESS, SIX_UNITS, blank_page, job_of, printed, with_die

ONE_UP = {"artwork_is": "one-up"}
CMYK = ("Cyan", "Magenta", "Yellow", "Black")


def asked(page, folder, press=SIX_UNITS, *, distances=False, **ticket):
    return plan_request(job_of(page, folder, {**ONE_UP, **ticket}, press), distances=distances)


def plate(request, name, hit=1):
    return next(plate for plate in request.plates if (plate.name, plate.hit) == (name, hit))


def over_each_other(*inks: str, shared_mm: float) -> Drawing:
    """Two inks of 20 x 20 mm side by side that share a strip."""
    page = blank_page().gs(OP=True, op=True, OPM=1)
    for number, ink in enumerate(inks):
        x = 28 + number * (20 - shared_mm)
        page.fill(PROCESS.get(ink, ink), rect=(x, 60, x + 20, 80))
    return with_die(page.gs(OP=False, op=False))


def test_plates_with_their_hits(tmp_path):
    request = asked(printed("Cyan", "Rose"), tmp_path, units=["Rose", "Cyan", "Rose", None])
    assert [(p.name, p.hit, p.kind) for p in request.plates] == [
        ("Cyan", 1, "process"), ("Rose", 1, "spot"), ("Rose", 2, "spot")]  # fmt: skip
    assert request.wished == ("Rose", "Cyan", "Rose", None)
    assert not request.fixed


def test_cover_and_area(tmp_path):
    rose = plate(asked(printed("Rose"), tmp_path), "Rose")
    assert rose.area_mm2 == pytest.approx(400, rel=0.03)
    assert 0.01 < rose.cover < 0.05  # 400 mm2 of a blank of some 20,000


def test_overall_is_a_plate_that_covers_all(tmp_path):
    request = asked(printed("Cyan"), tmp_path, units=["Cyan", {"overall": "Gloss Varnish"}])
    varnish = plate(request, "Gloss Varnish")
    assert varnish.overall
    assert varnish.cover == 1
    assert request.wished == ("Cyan", "Gloss Varnish")


def test_what_the_ticket_says_of_an_ink(tmp_path):
    request = asked(
        printed("Rose", "Copper", "Effect Matt"), tmp_path, ink_system="uv", units_fixed=True, units=["Rose"],
        separations={"Rose": {"ink_system": "oxidising"}, "Copper": {"kind": "metallic", "printed_over": True},
                     "Effect Matt": {"kind": "varnish", "effect": True}},
        board={"surface": "metallised"}, coating={"kind": "uv", "area": "overall"},
    )  # fmt: skip
    assert plate(request, "Rose").ink_system == "oxidising"
    assert plate(request, "Copper").ink_system == "uv"
    assert plate(request, "Copper").printed_over
    assert plate(request, "Effect Matt").effect
    assert (request.fixed, request.surface, request.ink_system) == (True, "metallised", "uv")
    assert request.coating == CoatingToLay("uv", "overall")


def test_the_coating_s_own_separation_is_no_plate(tmp_path):
    request = asked(printed("Cyan", "Gloss Varnish"), tmp_path, coating={"kind": "uv", "area": "Gloss Varnish"})
    assert [p.name for p in request.plates] == ["Cyan"]
    assert request.coating == CoatingToLay("uv", "plate", "Gloss Varnish")


def test_names_that_the_ticket_merges_are_one_plate(tmp_path):
    request = asked(printed("Rose", "ROSE C"), tmp_path, separations={"ROSE C": {"same_as": "Rose"}})
    assert [p.name for p in request.plates] == ["Rose"]
    assert plate(request, "Rose").area_mm2 == pytest.approx(800, rel=0.03)


def test_names_of_one_ink_are_told(tmp_path):
    assert asked(printed("Rose", "ROSE C"), tmp_path).one_ink == (("Rose", "ROSE C"),)


def test_overlap_of_a_metallic(tmp_path):
    request = asked(over_each_other("Copper", "Cyan", shared_mm=5), tmp_path)
    assert request.overlap_mm2[("Copper", "Cyan")] == pytest.approx(
        4 * 19, rel=0.05
    )  # 5 x 20 less half a millimetre all round


def test_a_trap_is_no_overlap(tmp_path):
    assert asked(over_each_other("Copper", "Cyan", shared_mm=0.2), tmp_path).overlap_mm2 == {}


def test_transparent_inks_are_not_asked_about(tmp_path):
    assert asked(over_each_other("Rose", "Cyan", shared_mm=5), tmp_path).overlap_mm2 == {}


def test_distances_only_for_those_who_ask(tmp_path):
    page = blank_page().fill("Rose", rect=(28, 60, 38, 80)).fill(PROCESS["Cyan"], rect=(38.3, 60, 48, 80))
    job = job_of(with_die(page), tmp_path, ONE_UP, SIX_UNITS)
    assert plan_request(job).distance_mm == {}
    assert plan_request(job, distances=True).distance_mm == {("Cyan", "Rose"): pytest.approx(0.3, abs=0.02)}


def test_distances_are_looked_for_as_far_as_the_plant_s_joint_is_wide(tmp_path, monkeypatch):
    house = tmp_path / "house"
    shutil.copytree(shipped_rules_dir(), house)
    table = house / "unit_order.yaml"
    table.write_text(table.read_text().replace("joint: 0.4 mm", "joint: 1.5 mm"))
    page = blank_page().fill("Rose", rect=(28, 60, 38, 80)).fill(PROCESS["Cyan"], rect=(39, 60, 48, 80))
    job = job_of(with_die(page), tmp_path, ONE_UP, SIX_UNITS)
    assert plan_request(job, distances=True).distance_mm == {}
    monkeypatch.setenv("PREFLIGHT_RULES", str(house))
    job = job_of(with_die(page), tmp_path, ONE_UP, SIX_UNITS)
    assert plan_request(job, distances=True).distance_mm == {("Cyan", "Rose"): pytest.approx(1.0, abs=0.02)}


def test_a_varnish_is_near_nothing(tmp_path):
    page = over_each_other("Gloss Varnish", "Cyan", shared_mm=5)
    assert asked(page, tmp_path, distances=True).distance_mm == {}


def test_fine_type_and_thin_lines(tmp_path):
    page = printed("Rose", "Moss", "Sky")
    page.text("small print", (30, 120), 7, "Rose").text("large print", (30, 110), 9, "Moss")
    page.stroke("Sky", [(30, 100), (60, 100)], width_mm=0.1, close=False)
    request = asked(page, tmp_path)
    assert [p.name for p in request.plates if p.fine_type] == ["Rose", "Sky"]


def test_inks_that_pictures_print_in(tmp_path):
    request = asked(with_picture(printed(*CMYK)), tmp_path)
    assert [p.name for p in request.plates if p.in_pictures] == ["Magenta", "Yellow"]


def with_picture(page: Drawing) -> Drawing:
    """A picture of 10 x 10 mm that runs from bare to solid in magenta and yellow."""
    samples = np.zeros((40, 40, 4), np.uint8)
    samples[..., 1] = np.linspace(0, 255, 40)[None, :]
    samples[..., 2] = np.linspace(0, 255, 40)[:, None]
    return page.image(samples.tobytes(), 40, 40, (30, 115, 40, 125))


def test_darkness(tmp_path):
    request = asked(printed(*CMYK, "Opaque White"), tmp_path)
    by_name = {p.name: p.darkness for p in request.plates}
    order = sorted(by_name, key=lambda name: by_name[name])
    assert order == ["Opaque White", "Yellow", "Cyan", "Magenta", "Black"]
    assert by_name["Black"] == 1


def test_what_is_on_the_press(tmp_path):
    job = job_of(printed("Cyan"), tmp_path, ONE_UP, SIX_UNITS)
    before = OnPress(("Mustard", None), darkness={"Mustard": 0.3})
    assert plan_request(job).before is None
    assert plan_request(job, before).before == before
    assert plan_request(replace(job, before=before)).before == before


def test_no_press(tmp_path):
    with pytest.raises(NotMeasured, match="no press profile"):
        asked(printed("Cyan"), tmp_path, press=None)


def test_very_many_plates(tmp_path):
    page = blank_page()
    for number in range(25):
        page.fill(
            f"Shade {chr(65 + number)}",
            rect=(28 + 5 * (number % 5), 60 + 5 * (number // 5), 32 + 5 * (number % 5), 64 + 5 * (number // 5)),
        )
    with pytest.raises(NotMeasured, match="25 plates"):
        asked(with_die(page), tmp_path)


def test_the_job_asks_the_planner_once(tmp_path, monkeypatch):
    requests = []

    def plan_press(request):
        requests.append(request)
        return PressPlan(possible=True, proved_best=True)

    monkeypatch.setattr("preflight.setup.unit_order.plan_press.plan_press", plan_press)
    job = job_of(printed(*CMYK), tmp_path, ONE_UP, SIX_UNITS)
    assert job.press_plan.possible
    assert job.press_plan is job.press_plan
    assert len(requests) == 1
    assert requests[0].distance_mm == {}


def test_the_adhesive_of_a_cold_foil_wants_a_unit(tmp_path):
    """The foil itself is no ink and has no plate."""
    request = asked(printed("Black", "Cold Foil"), tmp_path)
    assert {plate.name: plate.kind for plate in request.plates} == {"Black": "process", "Cold Foil": "spot"}
    hot = asked(printed("Black", "Hot Foil"), tmp_path)
    assert [plate.name for plate in hot.plates] == ["Black"]


@pytest.mark.parametrize(
    ("surface", "on_top", "solids"),
    [("white", "Opaque White", True), ("white", "Navy", False), ("metallised", "Opaque White", False)],
)
def test_white_drawn_on_a_solid_of_white_board_is_told(surface, on_top, solids, tmp_path):
    """Both overprint, so that both plates keep all of their ink; what was drawn last is meant to be seen."""
    page = blank_page().gs(OP=True, op=True, OPM=1)
    boxes = {"Navy": (30, 60, 70, 90), "Opaque White": (40, 70, 60, 75)}
    for name in sorted(boxes, key=lambda name: name == on_top):
        page.fill(name, rect=boxes[name])
    page.gs(OP=False, op=False).fill("Navy", rect=(30, 95, 50, 100))
    request = asked(with_die(page), tmp_path, board={"surface": surface})
    assert request.overlap_mm2[("Navy", "Opaque White")] > 50
    assert plate(request, "Opaque White").on_solids == solids
    assert not plate(request, "Navy").on_solids


def test_inks_that_the_ticket_has_an_aim_for(tmp_path):
    request = asked(printed("Cyan", "Rose"), tmp_path, aims={"rose": {"density": 1.2}, "Cyan": {"tolerance": 2}})
    assert request.aimed == {"Rose"}

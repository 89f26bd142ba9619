"""From a ticket on disk to the set-up and to compared presses, and what the two commands leave behind."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import jsonschema
import pytest
import yaml

from preflight.cli.main import run
from preflight.errors import ExitStatus, InvalidInput, WrongUsage
from preflight.inputs.loading import shipped_rules_dir
from preflight.inputs.ticket import Ticket
from preflight.report.document_schema import setup_schema
from preflight.report.setup_sheet import run_rows, way_out_words
from preflight.setup.on_press import on_press
from preflight.setup_pipeline import compare_presses, set_up
from tests.house import printed
from tests.sample_setups import SAMPLES

CMYK = ("Cyan", "Magenta", "Yellow", "Black")


def press_file(folder: Path, name: str, units: int = 6, **more: object) -> Path:
    path = folder / f"{name}.yaml"
    profile = {
        "press": f"Press {name}",
        "sheet": {"smallest": "300 x 200 mm", "largest": "1000 x 700 mm"},
        "edges": {"gripper": "10 mm", "tail": "6 mm", "sides": "5 mm"},
        "board": {"caliper": "0.1 mm to 0.8 mm"},
        "line": [
            *[{"unit": {"inks": "any"}}] * units,
            {"coater": {"takes": ["water-based"], "lays": ["overall", "plate"]}},
            {"delivery": ["ir", "hot-air"]},
        ],
        "cures": ["oxidising"],
        "top_speed": "12000 sheets/h",
        **more,
    }
    path.write_text(yaml.safe_dump(profile))
    return path


TICKET = {
    "ticket": "77-1", "revision": "A", "title": "Oat rings", "artwork": "art.pdf", "press": "six.yaml",
    "artwork_is": "one-up", "ink_system": "oxidising", "sheet": {"size": "900 x 640 mm"}, "layout": {"ups": "4"},
    "board": {"caliper": "0.4 mm", "weight": "300 g/m2", "surface": "white", "grain": "across"},
    "coating": {"kind": "water-based", "area": "overall", "clear": "none"}, "quantity": "40000",
    "goods": {"type": "household"},
}  # fmt: skip


@pytest.fixture
def job(tmp_path: Path):
    """Writes a ticket with its artwork and press; returns the ticket's path."""
    press_file(tmp_path, "six")

    def written(*inks: str, **keys: object) -> Path:
        printed(*(inks or CMYK)).save(tmp_path / "art.pdf")
        path = tmp_path / "ticket.yaml"
        told = {key: value for key, value in {**TICKET, **keys}.items() if value is not None}
        path.write_text(yaml.safe_dump(told))
        return path

    return written


def order(document) -> list[list[str]]:
    return [
        [station["separation"] for station in one["stations"] if station.get("separation") and "unit" in station]
        for one in document["plan"]["passes"]
    ]


def test_a_usual_job_is_planned(job):
    document = set_up(job(*CMYK, "Mill Brown", "Copper")).document
    assert document["format"] == "preflight-setup/1"
    assert document["plan"]["possible"]
    assert document["plan"]["proved_best"]
    (units,) = order(document)
    assert sorted(units) == sorted([*CMYK, "Mill Brown", "Copper"])
    assert [name for name in units if name in CMYK] == ["Black", "Cyan", "Magenta", "Yellow"]
    run = document["run"]
    assert run["sheets_net"] == 10_000
    assert run["sheets_gross"] == run["sheets_net"] + run["sheets_make_ready"] + run["sheets_running"]
    assert document["materials"]["board_kg"] == pytest.approx(run["sheets_gross"] * 0.9 * 0.64 * 0.3, abs=0.1)
    assert (document["layout"]["sheet_mm"], document["layout"]["ups"]) == ([900, 640], 4)
    assert document["artwork"][0]["file"] == "art.pdf"
    assert len(document["artwork"][0]["sha256"]) == 64


@pytest.mark.parametrize("ups", [2, 4])
def test_ink_is_reckoned_by_what_it_covers_of_the_sheet(ups, job):
    """What is inked inside the cut, times the blanks, at 1.3 g/m2, and 1.25 kg in the unit (rules/run.yaml)."""
    made = set_up(job("Black", layout={"ups": str(ups)}))
    facts, document = made.job.pages[0].facts, made.document
    (cover,) = [ink.cover for ink in facts.inks if ink.separation.name == "Black"]
    inked_m2 = cover * facts.die.inside.area * ups / 1e6
    assert 0.0001 < inked_m2 < 0.9 * 0.64
    wanted = document["run"]["sheets_gross"] * inked_m2 * 1.3 / 1000 + 1.25
    assert document["materials"]["ink_kg"]["Black"] == pytest.approx(wanted, abs=0.01)


def test_two_names_of_one_ink_are_counted_together(job):
    """Where the ticket says that they are one: ink in kilograms, and the cover that the crew reads."""
    told = {"ROSE C": {"same_as": "Rose"}}
    made = set_up(job("Black", "Rose", "ROSE C", separations=told))
    document, facts = made.document, made.job.pages[0].facts
    covers = {ink.separation.name: ink.cover for ink in facts.inks}
    assert min(covers["Rose"], covers["ROSE C"]) > 0.001
    (station,) = [s for s in document["plan"]["passes"][0]["stations"] if s.get("separation") == "Rose"]
    assert station["cover"] == pytest.approx(covers["Rose"] + covers["ROSE C"], abs=1e-4)
    sheets_m2 = document["run"]["sheets_gross"] * facts.die.inside.area * 4 / 1e6
    wanted = sheets_m2 * (covers["Rose"] + covers["ROSE C"]) * 1.5 / 1000 + 1.25
    assert document["materials"]["ink_kg"]["Rose"] == pytest.approx(wanted, abs=0.01)


def test_what_is_on_the_press_decides_the_wash_ups(job, tmp_path):
    ticket = job(*CMYK)
    assert set_up(ticket).document["plan"]["wash_ups"] == []
    state = tmp_path / "state.yaml"
    state.write_text("on_press: [Mustard, null, Cyan, Magenta, Yellow, null]\nink_system: oxidising\n")
    washed = set_up(ticket, after=state).document["plan"]["wash_ups"]
    assert [(w["from"], w["minutes"]) for w in washed] in ([], [("Mustard", None)])  # an idle unit may hold it
    last = tmp_path / "last.yaml"
    last.write_text("ticket: 76\nunits: [Mustard, Mustard, Mustard, Mustard, Mustard, Mustard]\nartwork: gone.pdf\n")
    washed = set_up(ticket, after=last).document["plan"]["wash_ups"]
    assert [w["from"] for w in washed] == ["Mustard"] * 4


def test_a_last_ticket_without_a_unit_list_leaves_the_wash_ups_unchecked(job, tmp_path):
    last = tmp_path / "last.yaml"
    last.write_text("ticket: 76\nartwork: gone.pdf\n")
    document = set_up(job(*CMYK), after=last).document
    assert document["plan"]["wash_ups"] == []
    assert any(said.startswith("Wash-ups of units 1, 2,") for said in document["not_checked"])


def test_yellow_after_black_is_found_by_plan_and_rule_alike(job, tmp_path):
    """What the last job's inks look like is told by rules/unit_order.yaml, for plan and rule."""
    last = tmp_path / "last.yaml"
    last.write_text("ticket: 76\nunits: [K, K, K, K, K, K]\nartwork: gone.pdf\n")
    document = set_up(job("Yellow", units=["Yellow"], units_fixed=True), after=last).document
    assert [wash["because"] for wash in document["plan"]["wash_ups"]] == ["light after dark"]
    assert [f["says"] for f in document["findings"] if f["rule"] == "wash-up-awkward"] == [
        "1 wash-up from dark to light (unit 1 on the ticket: Black to Yellow)."
    ]


def test_a_kind_on_the_last_ticket_counts_however_the_name_is_written():
    ticket = Ticket.model_validate({"units": ["Old  Gold", "K"], "separations": {"old gold": {"kind": "metallic"}}})
    before = on_press(ticket)
    assert dict(before.kinds) == {"Old  Gold": "metallic", "Black": "process"}
    assert before.darkness["Black"] == 1.0


def test_a_state_with_a_slip_is_refused(job, tmp_path):
    state = tmp_path / "state.yaml"
    state.write_text("on_press: [Mustard]\nink_systm: uv\n")
    with pytest.raises(InvalidInput) as refusal:
        set_up(job(), after=state)
    (fault,) = refusal.value.faults
    assert (fault.line, fault.key, fault.suggestion) == (2, "ink_systm", "ink_system")


def test_a_job_without_a_press_gets_a_document_that_says_so(job):
    document = set_up(job(press=None)).document
    assert document["plan"]["passes"] == []
    assert document["run"] is None
    assert any("press profile" in said for said in document["not_checked"])


def test_a_ticket_without_artwork_is_wrong_usage(job):
    with pytest.raises(WrongUsage):
        set_up(job(artwork=None))


def test_more_inks_than_units_are_two_passes_and_no_run(job):
    made = set_up(job(*CMYK, "Mill Brown", "Moss Green", "Rose", "Slate"))
    document = made.document
    assert not document["plan"]["possible"]
    assert not document["run_it"]
    assert made.exit_status is ExitStatus.FAIL
    assert any(way["change"] == "two-passes" for way in document["plan"]["ways_out"])
    assert sorted(name for one in order(document) for name in one) == sorted(
        [*CMYK, "Mill Brown", "Moss Green", "Rose", "Slate"]
    )


def test_ways_out_say_each_thing_once(job):
    """The planner's sentence and the fields beside it are read as one text."""
    document = set_up(job(*CMYK, "Mill Brown", "Moss Green", "Rose", "ROSE C")).document
    told = {way["change"]: way_out_words(way) for way in document["plan"]["ways_out"]}
    assert (
        told["merge"]
        == "Rose and ROSE C look like one ink and can be merged. There is still no order in one pass. Saves 1 unit."
    )
    assert told["two-passes"].count("Two passes") == 1, told
    assert all(told["two-passes"].count(name) == 1 for name in ("Mill Brown", "Moss Green")), told


def test_the_version_of_the_rules_tells_of_rules_and_tables(job, tmp_path, monkeypatch):
    """What decides the plan is on the sheet: another weight in a trade table is another version."""

    def version() -> str:
        return str(set_up(ticket).document["made"]["rules_version"])

    ticket, house = job("Black"), tmp_path / "house"
    shutil.copytree(shipped_rules_dir(), house)
    monkeypatch.setenv("PREFLIGHT_RULES", str(house))
    shipped = version()
    assert version() == shipped
    for name, old, new in (
        ("unit_order.yaml", "process-chain: 100", "process-chain: 90"),
        ("run.yaml", "sheets: 150", "sheets: 160"),
        ("press_fit.yaml", "fail: is oxidising", "warn: is oxidising"),
    ):
        before, text = version(), (house / name).read_text()
        assert old in text
        (house / name).write_text(text.replace(old, new))
        assert version() not in (shipped, before)


def test_front_and_back_are_planned_as_one_job(job, tmp_path):
    """An ink on both sides has a plate on each: behind the turn it prints the front, before it the back."""
    printed("Black", "Rose").save(tmp_path / "back.pdf")
    ticket = job("Black", "Cyan", artwork=[{"file": "art.pdf"}, {"file": "back.pdf", "side": "back"}])
    turning = [
        {"unit": {}},
        {"unit": {}},
        {"turn": {}},
        {"unit": {}},
        {"unit": {}},
        {"coater": {"takes": ["water-based"]}},
    ]
    document = set_up(ticket, press=press_file(tmp_path, "turning", line=turning)).document
    assert [entry["side"] for entry in document["artwork"]] == [None, "back"]
    sides = {s["separation"]: (s["side"], s["unit"]) for one in document["plan"]["passes"] for s in one["stations"]
             if s.get("separation") and "unit" in s}  # fmt: skip
    assert {name: side for name, (side, _) in sides.items()} == {
        "Black": "front", "Cyan": "front", "Black (back)": "back", "Rose": "back",
    }  # fmt: skip
    fronts = {unit <= 2 for side, unit in sides.values() if side == "front"}
    assert len(fronts) == 1
    assert fronts != {unit <= 2 for side, unit in sides.values() if side == "back"}
    assert all(document["materials"]["ink_kg"][name] > 0 for name in sides)


def test_without_a_turn_front_and_back_are_no_single_pass(job, tmp_path):
    printed("Black").save(tmp_path / "back.pdf")
    ticket = job(*CMYK, artwork=[{"file": "art.pdf"}, {"file": "back.pdf", "side": "back"}])
    plan = set_up(ticket).document["plan"]
    assert not plan["possible"]
    assert "side-of-turn" in {entry["demand"] for entry in plan["conflict"]}


def test_versions_share_the_units_of_inks_that_they_share(job, tmp_path):
    printed("Black", "Mint").save(tmp_path / "mint.pdf")
    printed("Black", "Rose").save(tmp_path / "rose.pdf")
    versions = [{"file": "mint.pdf", "version": "Mint"}, {"file": "rose.pdf", "version": "Rose"}]
    document = set_up(job(artwork=versions, quantities={"Mint": "12000"})).document
    assert [sorted(one) for one in order(document)] == [["Black", "Mint", "Rose"]]
    assert [entry["version"] for entry in document["artwork"]] == ["Mint", "Rose"]
    run = document["run"]
    assert [(one["version"], one["cartons"]) for one in run["versions"]] == [("Mint", 12_000), ("Rose", 28_000)]
    assert sum(one["sheets_gross"] for one in run["versions"]) == run["sheets_gross"]
    assert [pile["version"] for pile in run["delivery_piles"]] == sorted(
        pile["version"] for pile in run["delivery_piles"]
    )
    (told,) = (row.text for row in run_rows(document) if row.label == "Versions")
    assert told.startswith(f"Mint {run['versions'][0]['sheets_gross']:,} sheets, then Rose ")
    jsonschema.Draft202012Validator(setup_schema()).validate(document)


def test_presses_are_compared_best_first(job, tmp_path):
    presses = [
        press_file(tmp_path, "four", 4),
        press_file(tmp_path, "seven", 7),
        press_file(tmp_path, "small", 6, sheet={"largest": "500 x 350 mm"}),
    ]
    document = compare_presses(job(*CMYK, "Mill Brown"), presses)
    found = {entry["file"]: entry for entry in document["presses"]}
    assert [entry["file"] for entry in document["presses"]][0] == "seven.yaml"
    assert [found[f"{name}.yaml"]["fits"] for name in ("seven", "four", "small")] == [True, False, False]
    assert found["seven.yaml"]["reasons"] == []
    assert {reason["rule"] for reason in found["four.yaml"]["reasons"]} >= {"plates-over-units"}
    assert {reason["rule"] for reason in found["small.yaml"]["reasons"]} >= {"sheet-over-max"}
    assert (found["seven.yaml"]["passes"], found["four.yaml"]["passes"]) == (1, 2)
    assert found["seven.yaml"]["used_share"] == found["four.yaml"]["used_share"]


def test_a_wish_for_one_press_is_no_reason_against_another(job, tmp_path):
    """The ticket's list was made for its own press; where it is an order (units_fixed) it is one for all."""
    line = [{"unit": {"inks": ["spot"]}}, *[{"unit": {}}] * 4, {"coater": {"takes": ["water-based"]}}]
    other = press_file(tmp_path, "other", line=line)
    wish = {"units": ["Black", "Cyan", "Magenta", "Yellow"]}
    (entry,) = compare_presses(job(*CMYK, **wish), [other])["presses"]
    assert (entry["fits"], entry["reasons"]) == (True, [])
    (entry,) = compare_presses(job(*CMYK, **wish, units_fixed="true"), [other])["presses"]
    assert not entry["fits"]


def test_a_check_that_passes_does_not_say_that_a_job_without_an_order_is_ready(job):
    document = set_up(job(*CMYK, "Mill Brown", "Moss Green", "Rose", "ROSE C")).document
    assert not document["run_it"]
    assert not document["sentence"].startswith("Ready")


def test_what_a_planner_waits_for_is_said_where_the_ticket_lacks_it(job):
    missing = set_up(job(*CMYK, goods={"type": "food"})).document["not_checked"]
    assert any(entry.startswith("inks-unfit-for-goods") for entry in missing), missing


def test_a_unit_list_with_an_ink_that_no_artwork_has_is_said_of_each(tmp_path):
    text = (SAMPLES / "flatbread-sleeve-repaired/ticket.yaml").read_text()
    for file in ("outside.pdf", "inside.pdf"):
        text = text.replace(file, str(SAMPLES / "flatbread-sleeve-repaired" / file))
    text = text.replace("../presses", str(SAMPLES / "presses")).replace("Recipe Brown, null", "Recipe Brown, Sky Grey")
    (tmp_path / "ticket.yaml").write_text(text)
    found = set_up(tmp_path / "ticket.yaml").job
    said = [f.says for page in found.pages for f in page.judgement.findings if f.rule == "unit-list-mismatch"]
    assert said == ["Sky Grey is on unit 2 on the ticket, but not in the file."] * 2


def test_ink_of_a_version_is_reckoned_by_its_share_of_the_run(job, tmp_path):
    printed("Mint").save(tmp_path / "mint.pdf")
    printed("Rose").save(tmp_path / "rose.pdf")
    versions = [{"file": "mint.pdf", "version": "Mint"}, {"file": "rose.pdf", "version": "Rose"}]
    made = set_up(job(artwork=versions, quantities={"Mint": "4000"}))
    assert made.job.run is not None
    ink = made.job.run.materials.ink_kg
    in_duct = 1.25  # kg a unit of such a press, rules/run.yaml
    assert (ink["Mint"] - in_duct) * 9 == pytest.approx(ink["Rose"] - in_duct, rel=0.1)


def test_faults_of_the_artwork_are_no_reason_against_a_press(job, tmp_path):
    ticket = job(*CMYK, "Mill Brown")
    (entry,) = compare_presses(ticket, [press_file(tmp_path, "six")])["presses"]
    assert entry["fits"], entry["reasons"]


# Commands ----------------------------------------------------------------------------------------------------------


def test_the_command_writes_a_folder_beside_the_ticket(job, capsys):
    ticket = job(*CMYK)
    status = run(["setup", str(ticket), "--no-cache"])
    folder = ticket.parent / "ticket.yaml-setup"
    assert sorted(path.name for path in folder.iterdir()) == [
        *("ink-keys.ppf", "job.xjdf", "layout.dxf", "layout.pdf", "layout.svg"),
        *("setup.html", "setup.json", "setup.pdf"),
    ]
    document = json.loads((folder / "setup.json").read_text())
    assert status == (1 if document["verdict"] == "fail" else 0)
    assert (folder / "setup.pdf").read_bytes().startswith(b"%PDF")
    assert str(folder) in capsys.readouterr().out


def test_a_folder_that_cannot_be_written_is_said_after_the_plan(job, tmp_path, capsys):
    (tmp_path / "taken").write_text("a file")
    ticket = job(*CMYK)
    status = run(["setup", str(ticket), "--out", str(tmp_path / "taken" / "setup")])
    told = capsys.readouterr()
    assert "Black" in told.out
    assert "taken" in told.err
    assert status in (1, 6)
    assert (tmp_path / "taken").read_text() == "a file"


def test_presses_are_printed_and_saved(job, tmp_path, capsys):
    ticket, seven = job(*CMYK), press_file(tmp_path, "seven", 7)
    report = tmp_path / "presses.json"
    assert run(["presses", str(ticket), str(seven), "--report", str(report)]) == 0
    assert "Press seven" in capsys.readouterr().out
    assert json.loads(report.read_text())["format"] == "preflight-presses/1"
    assert run(["presses", str(ticket), str(press_file(tmp_path, "two", 2))]) == 1


@pytest.mark.parametrize("report", ["presses.txt", "presses"])
def test_a_wrong_ending_is_said_before_the_work(report, job, tmp_path, capsys):
    assert run(["presses", str(tmp_path / "not there.yaml"), "p.yaml", "--report", report]) == 2
    assert "ends in" in capsys.readouterr().err


# What the crew settles ---------------------------------------------------------------------------------------------


def test_queries_are_none_of_what_to_watch_and_the_lay_is_told(job):
    press_file(job(*CMYK).parent, "laid", side_lay="drive", operator_side="right", units=7)
    document = set_up(job("Gold", *CMYK, press="laid.yaml", quantity="40")).document
    queries = [finding["says"] for finding in document["findings"] if finding["verdict"] == "warn"]
    assert document["queries"] == queries
    assert not set(queries) & set(document["watch"])
    assert {key: document["press"][key] for key in ("operator_side", "side_lay", "gripper_mm")} == {
        "operator_side": "right", "side_lay": "drive", "gripper_mm": 10,
    }  # fmt: skip
    assert document["check_first"][-1].endswith("the number read is:")
    jsonschema.Draft202012Validator(setup_schema()).validate(document)


def test_a_word_about_units_is_no_reason_against_the_job(job):
    units = ["Cyan", "Magenta", "Yellow", None, None, None, "Black"]  # of a press with six
    document = set_up(job(*CMYK, units=units)).document
    faults = [finding["says"] for finding in document["findings"] if finding["verdict"] == "fail"]
    assert faults
    assert document["why_not"] == faults
    assert "the tool's plan" in document["about_units"]
    jsonschema.Draft202012Validator(setup_schema()).validate(document)

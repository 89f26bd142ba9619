"""The documents of a set-up: schemas, words that all renderings share, bars, the terminal, and the folder."""

from __future__ import annotations

import copy
import io
import json
import os

import jsonschema
import pytest
from rich.console import Console

from preflight.cli.main import run
from preflight.errors import CannotWrite
from preflight.report.change_bars import Bar, change_of
from preflight.report.document_schema import presses_schema, setup_schema
from preflight.report.presses_terminal import print_presses
from preflight.report.setup_points import Point
from preflight.report.setup_saving import save_setup
from preflight.report.setup_sheet import (
    Row,
    lay_rows,
    missing_words,
    pile_rows,
    reasons_told,
    run_rows,
    sheet_of,
    stock_rows,
    way_out_words,
)
from preflight.report.setup_terminal import print_setup
from tests.setup_documents import SETUPS, presses, step, usual
from tests.test_plain_words import banned

# Schemas -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SETUPS)
def test_a_document_fits_its_schema(name):
    jsonschema.Draft202012Validator.check_schema(setup_schema())
    jsonschema.Draft202012Validator(setup_schema()).validate(SETUPS[name]())


def slip(path, value):
    document = copy.deepcopy(usual())
    held = document
    for key in path[:-1]:
        held = held[key]
    held[path[-1]] = value
    return document


STATIONS = ("plan", "passes", 0, "stations")


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("format",), "preflight-setup/2"),
        (("run_it",), None),
        ((*STATIONS, 0, "side"), "top"),
        ((*STATIONS, 0, "cover"), 31),
        ((*STATIONS, 7), {"delivery": ["ir"], "level": ["high"]}),
        (("plan", "ways_out"), [{"change": "wait", "says": "Wait"}]),
        (("run", "feeder_piles"), [{"sheets": "many"}]),
        (("artwork", 0, "sha256"), "5f0c"),
    ],
)
def test_the_schema_refuses_a_slip(path, value):
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(setup_schema()).validate(slip(path, value))


def test_the_presses_fit_theirs():
    jsonschema.Draft202012Validator.check_schema(presses_schema())
    validator = jsonschema.Draft202012Validator(presses_schema())
    validator.validate(presses())
    broken = presses()
    del broken["presses"][0]["fits"]
    with pytest.raises(jsonschema.ValidationError):
        validator.validate(broken)


@pytest.mark.parametrize("which", ["setup", "presses"])
def test_the_command_prints_them(which, capsys):
    assert run(["schema", which]) == 0
    assert json.loads(capsys.readouterr().out)["$id"] == f"preflight-{which}/1"


# Words -------------------------------------------------------------------------------------------------------------


def test_alike_piles_are_counted():
    """12,860 sheets of 0.43 mm in piles of 1,150 mm: floor(1150 / 0.43) = 2,674; four of them leave 2,164."""
    assert pile_rows(usual()) == (
        Row("Feeder", "5 piles: 4 x 2,674 and 2,164 sheets; to 1,150 mm, 530 kg"),
        Row("Delivery", "12 piles: 12 x 1,046 sheets; to 450 mm, 223 kg"),
        Row("Next step", "not known: rules/drying.yaml gives no hours for it", write=True),
    )


def told_of(rows):
    return {row.label: (row.text, row.write) for row in rows}


def test_what_is_not_known_is_named_and_has_a_box():
    assert told_of(run_rows({"run": None})) == dict.fromkeys(
        ("Sheets", "Speed"), ("not known: the run was not planned", True)
    )
    bare = {"run": {"sheets_net": 900}, "plan": {"possible": True}}
    assert told_of(run_rows(bare)) == {
        "Sheets": (
            "900 net; make-ready not known (the press profile gives no waste: make_ready); "
            "running waste not known (the press profile gives no waste: running); no total:",
            True,
        ),
        "Speed": ("not known: the press profile gives no top_speed", True),
    }
    assert told_of(stock_rows({})) == {
        label: (f"not known: the ticket gives no {key}", True)
        for label, key in (("Board", "board"), ("Grain", "board: grain"), ("Sheet", "sheet"), ("Powder", "powder"))
    }


@pytest.mark.parametrize(
    ("run", "caliper", "why"),
    [
        (None, 0.4, "the run was not planned"),
        ({"sheets_gross": None}, 0.4, "how many sheets is not known"),
        ({"sheets_gross": 900}, None, "the ticket gives no board: caliper"),
    ],
)
def test_a_pile_that_is_not_known_says_what_it_wants(run, caliper, why):
    told = told_of(pile_rows({"run": run, "board": {"caliper_mm": caliper}}))
    assert [told[label] for label in ("Feeder", "Delivery")] == [(f"not known: {why}", True)] * 2


def test_a_total_without_make_ready_says_so_and_why():
    document = {"run": {"sheets_net": 4000, "sheets_running": 140, "sheets_gross": None}, "plan": {"possible": False}}
    told, write = told_of(run_rows(document))["Sheets"]
    assert told.startswith("4,000 net + 140 running waste; make-ready not known (there is no plan of the units, and")
    assert told.endswith("no total:")
    assert write


@pytest.mark.parametrize(
    ("press", "told"),
    [
        ({"operator_side": "right", "gripper_mm": 12, "side_lay": "drive"},
         [("right, printed face up, gripper edge down", False), ("12 mm not printed", False), ("drive side", False)]),
        ({"side_lay": "either"}, [("", False), ("", False), ("either side:", True)]),
    ],
)  # fmt: skip
def test_how_the_sheet_lies(press, told):
    assert list(told_of(lay_rows(press)).values()) == told


# Points ------------------------------------------------------------------------------------------------------------


def against(*faults, conflict=(), rules=()):
    document = usual() | {
        "verdict": "fail", "run_it": False, "why_not": [*faults, *conflict],
        "findings": [{"number": k, "verdict": "fail", "rule": rule, "says": says}
                     for k, (rule, says) in enumerate(zip(rules, faults, strict=False))],
    }  # fmt: skip
    document["plan"]["conflict"] = [
        {"demand": "one-unit-each", "separation": says.split()[0], "says": says} for says in conflict
    ]
    return sheet_of(document).why_not


def test_plates_without_a_unit_are_one_line_and_no_fault():
    told = against("Bleed is short.", conflict=[f"{ink} needs a unit of its own." for ink in ("Cyan", "Rose", "Mint")])
    assert told == (
        Point("There are too few units: Cyan, Rose and Mint need a unit for each of their plates.", 0),
        Point("Bleed is short.", 1),
    )


def test_alike_faults_are_one_line_and_counted():
    told = against(
        "14 % of Opaque White is knocked out by the artwork above it (3403 mm²).",
        "Cyan is on unit 3, before White.",
        "14 % of Opaque White Second Hit is knocked out by the artwork above it (3403 mm²).",
    )
    assert told == (
        Point("14 % of Opaque White is knocked out by the artwork above it (3403 mm²). "
              "Likewise: Opaque White Second Hit.", 2),
        Point("Cyan is on unit 3, before White.", 1),
    )  # fmt: skip


def test_pairs_of_inks_stay_pairs():
    document = usual() | {
        "queries": [f"In two passes {pair} are parted, and touch." for pair in ("Black and Gold", "Gold and Rose")]
    }
    assert sheet_of(document).queries == (
        Point("In two passes Black and Gold are parted, and touch. Likewise: Gold and Rose.", 2),
    )


def test_sentences_with_little_in_common_stay_apart():
    assert [point.counts for point in against("Cyan is on unit 3, before White.", "Rose is on no unit.")] == [1, 1]


def test_different_faults_come_before_a_second_one_of_a_rule():
    faults = ("Cutting knocks out 20 lines.", "Creasing knocks 12 out.", "A font is missing.")
    told = against(*faults, rules=("die-knocks-out", "die-knocks-out", "font-not-embedded"))
    assert [point.says for point in told] == [faults[0], faults[2], faults[1]]


def test_places_that_only_a_picture_shows_are_not_spoken_of():
    told = against("Cutting is set to knock out: 6.1 m is missing (2178 lines, the 12 longest of them shown).")
    assert told[0].says == "Cutting is set to knock out: 6.1 m is missing (2178 lines)."


def test_what_was_not_checked_is_counted_and_what_matters_comes_first():
    document = usual() | {
        "verdict": "pass", "sentence": "Ready for plates.",
        "not_checked": [
            "Time to change piles: not checked; give piles: change in rules/run.yaml.",
            "wash-up-awkward: what is on the press now is not known.",
            "Wash-ups: nothing is known of the job before (--after).",
            "Make-ready sheets (there is no plan of the units): not checked.",
            "font-missing: it is not known.",
            "grain-against-creases: the ticket does not say.",
            "Sheet to judge colour by: not checked.",
            "inks-unfit-for-goods: the ticket does not say goods: contact.",
        ],
    }  # fmt: skip
    sheet = sheet_of(document)
    assert sheet.headline == "Ready for plates as far as checked."
    assert sheet.open.words("from page 3") == (
        "8 points not checked: inks for the goods inside, grain against the creases, wash-ups, font missing, "
        "time to change piles and 2 more (from page 3)."
    )
    assert sheet_of(document | {"not_checked": []}).open.words() == ""
    assert sheet_of(document | {"not_checked": []}).headline == "Ready for plates."


def test_a_way_out_says_what_it_saves():
    way = {"change": "merge", "separations": ["A", "A C"], "saves_units": 2, "saves_pass": True, "says": "Merge them"}
    assert way_out_words(way) == "Merge them. Saves 2 units and a pass."


def test_what_was_not_checked_is_a_sentence_or_an_entry():
    entry = {"rule": "pile-mass", "because": "No mass is stated", "would_help": "pile.mass in the press profile"}
    told = "pile-mass: No mass is stated. Needed to check this: pile.mass in the press profile."
    assert (missing_words(entry), missing_words("No plan")) == (told, "No plan.")


def test_stations_in_words():
    places = sheet_of(SETUPS["effect"]()).passes[0].places
    assert [place.kind for place in places if place.what == "unit"] == [
        "metallic", "process", "process", "process", "process", "spot", "spot, 2nd hit", "varnish, effect, oxidising",
    ]  # fmt: skip
    assert [place.lines for place in places if place.what == "lamp"] == [("full",), ("low",), ("off",)]
    assert places[-1].lines == ("3 x uv full",)
    assert [place.blanks for place in places if place.what == "coater"] == [(), ("g/m²", "anilox")]


def test_why_not_falls_back_on_the_contradiction_and_the_verdict():
    assert reasons_told(sheet_of(SETUPS["impossible"]())) == [
        "The varnish has to be behind all inks.", "The ticket fixes it on unit 2.",
    ]  # fmt: skip
    bare = SETUPS["everything-missing"]() | {"run_it": False, "verdict": "fail"}
    assert reasons_told(sheet_of(bare)) == ["There are faults."]


# Bars --------------------------------------------------------------------------------------------------------------


def test_a_start_that_is_not_given_follows_from_what_is_at_once():
    """Plates (4) and wash-up (15) begin together; presetting (2) begins when both are done, make-ready (12) behind."""
    steps = [
        step("plate_change", 4, None, at_once_with=["wash_up"]),
        step("wash_up", 15, None, unit=5, at_once_with=["plate_change"]),
        step("ink_preset", 2, None),
        step("make_ready", 12, None),
    ]
    change = change_of({"changes": {"steps": steps, "minutes": 29}})
    assert [row.bars for row in change.rows] == [(Bar(0, 4, 1),), (Bar(0, 15, 1),), (Bar(15, 2, 1),), (Bar(17, 12, 1),)]
    assert (change.end, change.total) == (29, "29 min")


def test_steps_of_one_sort_share_a_row_and_none_is_counted_where_minutes_are_not_known():
    steps = [step("wash_up", 15, 0, unit=5), step("wash_up", None, 15, unit=2), step("blanket_wash", None, 0)]
    change = change_of({"changes": {"steps": steps, "minutes": None}})
    assert [(row.label, row.told) for row in change.rows] == [("wash up 5, 2", "not known"), ("blankets", "not known")]
    assert change.total == ""


def test_without_a_change_there_are_no_bars():
    assert change_of({"changes": None}).rows == ()


# Terminal ----------------------------------------------------------------------------------------------------------


def on_a_terminal(document, width=80):
    shown = io.StringIO()
    print_setup(document, Console(file=shown, width=width, highlight=False))
    return shown.getvalue()


@pytest.mark.parametrize("name", SETUPS)
@pytest.mark.parametrize("width", [80, 120])
def test_a_terminal_has_every_line_whole(name, width):
    lines = on_a_terminal(SETUPS[name](), width).splitlines()
    assert max(map(len, lines)) <= 80
    assert banned("\n".join(lines)) == []
    assert ("DO NOT RUN" in lines) != SETUPS[name]()["run_it"]


def test_the_terminal_says_what_the_sheet_says():
    text = on_a_terminal(usual())
    for said in (
        "   5  Mill Brown", "plate K4711-5", "unit 2, Cyan: density 1.40, L*a*b* 55 −37 −50", "coater 1",
        "Change from the last job: 29 min", "make-ready    ...................", "12 min", "Sheet 20: register",
        "The heaviest cover comes last.", "  Board", "Ticket 4711 | revision B",
    ):  # fmt: skip
        assert said in text


def test_presses_on_a_terminal():
    shown = io.StringIO()
    print_presses(presses(), Console(file=shown, width=80, highlight=False))
    text = shown.getvalue()
    assert max(map(len, text.splitlines())) <= 80
    for said in ("1 of 3 presses takes", "fits              1      2 12,860 71 % 1.8 h", "plan-no-order: Five plates"):
        assert said in text


# Folder ------------------------------------------------------------------------------------------------------------

FILES = ["setup.html", "setup.json", "setup.pdf"]


def names_in(folder):
    return sorted(os.listdir(folder))  # noqa: PTH208 - what is hidden counts too


def test_a_folder_is_made_and_nothing_else_is_left(tmp_path):
    paths = save_setup(usual(), tmp_path / "job-setup", "a3", {"layout.svg": b"<svg/>"})
    assert [path.name for path in paths] == ["setup.json", "setup.html", "setup.pdf", "layout.svg"]
    assert names_in(tmp_path) == ["job-setup"]
    assert names_in(tmp_path / "job-setup") == ["layout.svg", *FILES]
    assert json.loads((tmp_path / "job-setup" / "setup.json").read_text()) == usual()
    assert (tmp_path / "job-setup" / "setup.pdf").read_bytes().startswith(b"%PDF-")


def test_an_older_folder_keeps_what_is_not_ours(tmp_path):
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "notes.txt").write_text("mine")
    (folder / "setup.json").write_text("old")
    save_setup(usual(), folder)
    assert names_in(folder) == ["notes.txt", *FILES]
    assert json.loads((folder / "setup.json").read_text())["run_it"]


def test_no_press_file_is_beside_a_sheet_that_is_not_to_be_run(tmp_path):
    folder, press_files = tmp_path / "out", {"ink-keys.ppf": b"%!PS", "job.xjdf": b"<XJDF/>"}
    save_setup(usual(), folder, "a4", press_files)
    assert names_in(folder) == ["ink-keys.ppf", "job.xjdf", *FILES]
    save_setup(SETUPS["do-not-run"](), folder, "a4", press_files)
    assert names_in(folder) == FILES


def test_what_cannot_be_written_leaves_the_folder_as_it_was(tmp_path):
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "setup.json").write_text("old")
    (folder / "setup.pdf").mkdir()
    with pytest.raises(CannotWrite, match=r"a folder has the name setup\.pdf"):
        save_setup(usual(), folder)
    assert names_in(folder) == ["setup.json", "setup.pdf"]
    assert (folder / "setup.json").read_text() == "old"


def test_a_write_that_breaks_off_leaves_nothing(tmp_path, monkeypatch):
    def full(path, data):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("preflight.report.setup_saving.write_aside", full)
    with pytest.raises(CannotWrite, match="No space left"):
        save_setup(usual(), tmp_path / "out")
    assert names_in(tmp_path) == []


@pytest.mark.parametrize(("at", "said"), [("absent/out", "there is no folder"), ("taken", "a file has this name")])
def test_a_folder_that_cannot_be_made_says_why(tmp_path, at, said):
    (tmp_path / "taken").write_text("x")
    with pytest.raises(CannotWrite, match=said):
        save_setup(usual(), tmp_path / at)
    assert names_in(tmp_path) == ["taken"]

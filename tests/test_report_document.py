"""The one document of a run.

Its shape is that of ``preflight/report/schema.json``: verdict, complete and sentence of all pages together, all else of
page 1, ``pages`` with every page; findings numbered through, worst first; sizes and places in mm from the lower left.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import Any

import jsonschema
import pytest
import shapely

from preflight.artwork.page.artwork import Repair
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.carton.die import Blank, Die
from preflight.carton.places_in_words import words_for
from preflight.findings import Judgement, NotAsked, NotChecked, Place, Verdict, Waived
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job_facts import final_facts, opening_facts
from preflight.report.document import build_document, build_opening, sentence
from preflight.report.document_schema import report_schema
from preflight.report.saving import json_text
from tests.report_jobs import PRESS, RUN, TICKET, carton_job, carton_judgement, drawn_page, finding, small_job

SCHEMA = jsonschema.Draft202012Validator(report_schema())


@pytest.fixture(scope="module")
def carton() -> dict[str, Any]:
    return build_document([(final_facts(carton_job()), carton_judgement())], RUN)


def one(judgement: Judgement, **changes: Any) -> dict[str, Any]:
    return build_document([(final_facts(replace(small_job(), **changes)), judgement)], RUN)


def test_the_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(report_schema())


@pytest.mark.parametrize(
    "job",
    [
        pytest.param(small_job(), id="no ticket, no die"),
        pytest.param(replace(small_job(), press=None), id="no press"),
        pytest.param(small_job("<b>\u202e\udc80\x00"), id="hostile names"),
        pytest.param(replace(small_job(), ticket=Ticket.model_validate({})), id="empty ticket"),
        pytest.param(replace(small_job(), ticket=Ticket.model_validate({"coating": "none"})), id="nothing coated"),
        pytest.param(replace(small_job(), artwork_is="sheet"), id="a sheet"),
    ],
)
def test_every_document_is_as_the_schema_says(job):
    document = build_document([(final_facts(job), Judgement(Verdict.WARN, (finding("a", Verdict.WARN),)))], RUN)
    SCHEMA.validate(document)
    assert json.loads(json_text(document)) == document


def test_the_carton_is_as_the_schema_says(carton):
    SCHEMA.validate(carton)
    assert json.loads(json_text(carton)) == carton


def missing(*counts: str) -> list[dict[str, Any]]:
    return [
        {
            "rule": f"r{k}",
            "because": f"b{k}",
            "would_help": "",
            "counts_as": word,
            "for_want_of": "ticket",
            "needed": True,
            "places": [],
        }
        for k, word in enumerate(counts)
    ]


@pytest.mark.parametrize(
    ("verdict", "fails", "warns", "not_checked", "told"),
    [
        ("fail", 3, 2, ["warn"] * 4, "Not ready for plates: 3 faults, 2 queries, 4 things not checked."),
        ("fail", 1, 0, [], "Not ready for plates: 1 fault."),
        ("fail", 1, 0, ["note"] * 3, "Not ready for plates: 1 fault."),
        (
            "fail", 0, 0, ["fail"],
            "Not ready for plates: nothing wrong was found, but 1 thing that matters was not checked.",
        ),
        ("warn", 0, 1, ["warn", "note"], "Ready for plates once settled: 1 query, 1 thing not checked."),
        ("warn", 0, 0, ["warn", "warn"], "Nothing wrong was found, but 2 things that matter were not checked."),
        ("pass", 0, 0, ["note", "note"], "Ready for plates as far as checked."),
        ("pass", 0, 0, [], "Ready for plates."),
    ],
)  # fmt: skip
def test_the_sentence_tells_what_is_wrong_from_what_was_not_looked_at(verdict, fails, warns, not_checked, told):
    findings = [{"verdict": "fail", "trial": False}] * fails + [{"verdict": "warn", "trial": False}] * warns
    assert sentence(verdict, findings, missing(*not_checked)) == told


def test_rules_that_wait_for_one_answer_are_one_thing_to_settle_on_however_many_pages():
    one_reason = [{**entry, "because": "the ticket gives no sheet"} for entry in missing("warn", "warn", "warn")]
    assert sentence("warn", [], one_reason, ["whole", "whole"]) == sentence("warn", [], missing("warn"))


def test_what_the_job_does_not_need_is_no_reservation():
    left_open = [{**entry, "needed": False} for entry in missing("note", "note")]
    assert sentence("pass", [], left_open) == sentence("pass", [])
    assert sentence("pass", [], [*left_open, *missing("note")]) != sentence("pass", [])


@pytest.mark.parametrize(("waived", "off"), [(1, 0), (0, 2), (3, 1)])
@pytest.mark.parametrize("verdict", ["pass", "fail"])
def test_what_was_waived_and_switched_off_is_counted_in_the_sentence(verdict, waived, off):
    findings = [{"verdict": "fail", "trial": False}] * (verdict == "fail")
    told = sentence(verdict, findings, waived=waived, off=off)
    bare = sentence(verdict, findings).removesuffix(".")
    assert told.startswith(bare)
    assert [int(word) for word in re.findall(r"\d+", told.removeprefix(bare))] == [n for n in (waived, off) if n]


def test_trial_findings_are_not_counted():
    assert "1" not in sentence("pass", [{"verdict": "warn", "trial": True}])


def test_findings_stand_worst_first_and_trial_rules_last(carton):
    order = [(f["trial"], f["verdict"]) for f in carton["findings"]]
    assert order == [(False, "fail")] * 3 + [(False, "warn")] * 3 + [(True, "warn")]
    assert [f["number"] for f in carton["findings"]] == list(range(1, 8))


def test_one_fault_is_one_row_however_many_places_it_has(carton):
    places = {f["rule"]: len(f["places"]) for f in carton["findings"]}
    assert places["text-too-small"] == 48
    assert places["metallic-out-of-place"] == 2


def test_sizes_are_those_of_page_and_cut(carton):
    artwork = carton["artwork"]
    assert artwork["page_mm"] == [420, 346]
    assert artwork["trim_mm"] == pytest.approx([394, 320], abs=0.05)
    assert artwork["trim_is"] == "cut"


@pytest.mark.parametrize(
    ("changes", "trim", "is_"),
    [
        ({}, [60, 40], "page"),
        ({"artwork_is": "sheet"}, [60, 40], "page"),
    ],
)
def test_without_a_die_the_page_is_the_size(changes, trim, is_):
    artwork = one(Judgement(Verdict.PASS, ()), **changes)["artwork"]
    assert (artwork["trim_mm"], artwork["trim_is"]) == (trim, is_)


def test_the_trim_box_is_the_size_where_there_is_no_die():
    job = small_job()
    job.page.boxes = replace(job.page.boxes, trim=(3.0, 5.0, 56.0, 37.0))
    artwork = build_document([(final_facts(job), Judgement(Verdict.PASS, ()))], RUN)["artwork"]
    assert (artwork["trim_mm"], artwork["trim_is"]) == ([53, 32], "trim box")


@pytest.mark.parametrize(
    ("measured", "value"),
    [
        ((0.123456, "mm"), 0.12),
        ((7.0, "plates"), 7),
        ((float("inf"), "mm"), 1e9),
        ((float("nan"), "mm"), 0),
        ((True, ""), True),
        (("legend only", ""), "legend only"),
        (((1060.004, 760.0), "mm"), [1060, 760]),
    ],
)
def test_values_are_rounded_and_stay_json(measured, value):
    document = one(Judgement(Verdict.FAIL, (finding("a", measured=measured),)))
    SCHEMA.validate(document)
    assert document["findings"][0]["measured"]["value"] == value
    assert json.loads(json_text(document))["findings"][0]["measured"]["value"] == value


def test_places_are_told_by_panel_area_and_cut(carton):
    where = {f["rule"]: f["places"][0]["where"] for f in carton["findings"]}
    assert where["bleed-short"] == "top edge of panel A"  # the measure's own words
    assert where["varnish-on-glue-flap"] == "glue flap"
    assert where["spot-without-ink"] == "outside the cut"
    assert where["metallic-out-of-place"].startswith("panel ")


def test_a_unit_is_accused_by_findings_that_name_it_or_its_separation(carton):
    wrong = {unit["unit"]: unit["wrong"] for unit in carton["units"]}
    assert wrong[3] == ["metallic-out-of-place"]  # names the unit
    assert wrong[6] == ["bleed-short"]  # its place has the separation that stands there
    assert wrong[2] == wrong[7] == []
    assert [u["separation"] for u in carton["units"]][-1] is None


def test_named_units_count_more_than_the_places():
    job = carton_job()
    accused = finding("a", places=(Place((1, 1, 2, 2), 1, "Black"),), units=(4,))
    document = build_document([(final_facts(job), Judgement(Verdict.FAIL, (accused,)))], RUN)
    assert [u["unit"] for u in document["units"] if u["wrong"]] == [4]


def test_a_trial_rule_accuses_no_unit():
    document = one(Judgement(Verdict.PASS, (finding("a", Verdict.WARN, trial=True, units=(1,)),)))
    assert not any(unit["wrong"] for unit in document["units"])


def test_units_over_those_of_the_press_are_shown_as_missing_from_it():
    press = Press.model_validate({**PRESS, "line": [{"unit": {}}, {"unit": {}}]})
    job = replace(
        carton_job(), press=press, ticket=Ticket.model_validate({**TICKET, "units": ["Black", "Cyan", "Magenta"]})
    )
    units = build_document([(final_facts(job), Judgement(Verdict.PASS, ()))], RUN)["units"]
    assert [(u["unit"], u["in_press"]) for u in units] == [(1, True), (2, True), (3, False)]


def test_the_coating_stands_at_the_coater_that_takes_it(carton):
    coater = next(station for station in carton["line"] if station["is"] == "coater")
    assert coater["coating"] is not None
    assert "glue flap" in coater["coating"]


@pytest.mark.parametrize("missing", [(), (NotChecked("a", "nobody says"),)])
def test_complete_is_false_when_anything_was_not_checked(missing):
    document = one(Judgement(Verdict.PASS, (), not_checked=missing))
    assert document["complete"] is (not missing)
    assert document["verdict"] == "pass"


def test_rules_that_are_not_for_the_job_are_listed_with_the_condition():
    why = "only for jobs whose artwork is sheet (job.artwork_is); here it is one-up"
    document = one(Judgement(Verdict.PASS, (), not_asked=(NotAsked("ink-in-gripper", why),)))
    SCHEMA.validate(document)
    assert document["not_asked"] == [{"rule": "ink-in-gripper", "because": why}]
    assert document["complete"] is True


def test_pages_over_the_bound_are_not_checked():
    job = small_job()
    job.artwork.page_count = 25
    document = build_document([(final_facts(job), Judgement(Verdict.PASS, ()))], RUN)
    SCHEMA.validate(document)
    assert document["complete"] is False
    assert len(document["not_checked"]) == 1


def test_of_several_pages_the_verdict_is_the_worst_and_all_else_is_page_one():
    first, second = small_job(), small_job()
    second = replace(second, page=drawn_page(2, 60, 40, second.page.separations, None))
    document = build_document(
        [
            (final_facts(first), Judgement(Verdict.WARN, (finding("a", Verdict.WARN),))),
            (final_facts(second), Judgement(Verdict.FAIL, (finding("b"),))),
        ],
        RUN,
    )
    SCHEMA.validate(document)
    assert document["verdict"] == "fail"
    assert [f["rule"] for f in document["findings"]] == ["a"]
    assert [(page["page"], page["verdict"]) for page in document["pages"]] == [(1, "warn"), (2, "fail")]
    assert [f["number"] for page in document["pages"] for f in page["findings"]] == [1, 2]


def test_the_opening_is_there_before_a_plate_is_drawn():
    job = carton_job()
    job = replace(job, page=drawn_page(1, 420, 346, job.page.separations, None))
    opening = build_opening(opening_facts(job), RUN)
    assert [s["name"] for s in opening["separations"]][:2] == ["Cyan", "Magenta"]
    assert opening["sheet"]["mm"] == [980, 690]
    assert opening["board"]["caliper_mm"] == 0.45


@pytest.mark.parametrize(
    ("box", "where"),
    [
        ((40, 100, 60, 120), "panel E"),
        ((120, 100, 170, 120), "panel E"),  # most of it
        ((147, 100, 187, 120), "panels E and F"),
        ((30, 100, 400, 200), "several panels"),
        ((60, 100, 60, 100), "panel E"),  # no area
        ((15, 120, 25, 180), "glue flap"),
        ((1, 1, 5, 5), "outside the cut"),
    ],
)
def test_a_place_is_told_by_what_holds_it(box, where):
    assert words_for(box, carton_job().die) == where


def test_on_a_sheet_a_place_is_told_by_its_blank():
    blanks = [Blank(k + 1, shapely.box(100 * k, 0, 100 * k + 98, 90), shapely.MultiLineString()) for k in range(4)]
    die = Die("read", "", tuple(blanks))
    told = [words_for(box, die) for box in ((110, 10, 120, 20), (150, 10, 250, 20), (0, 0, 400, 50), (0, 95, 9, 99))]
    assert told == ["blank 2", "blanks 2 and 3", "several blanks", "outside the cut"]


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (0.05678, 0.0568),  # a hairline keeps its width
        (-0.05678, -0.0568),
        (0.0999, 0.0999),
        (0.1004, 0.1),
        (0.0, 0),
        (12.345678, 12.35),
        (-float("inf"), -1e9),
        ((0.056, 1060.127), [0.06, 1060.13]),
    ],
)
def test_only_what_is_measured_and_small_keeps_four_decimals(value, told):
    document = one(Judgement(Verdict.FAIL, (finding("a", measured=(value, "mm")),)))
    assert document["findings"][0]["measured"] == {"value": told, "unit": "mm"}


def test_whole_numbers_are_written_whole():
    box = one(Judgement(Verdict.FAIL, (finding("a", places=(Place((1.0, 2.004, 3.25, 4.126), 1),)),)))
    told = box["findings"][0]["places"][0]["box_mm"]
    assert told == [1, 2, 3.25, 4.13]
    assert [type(value) for value in told] == [int, int, float, float]


@pytest.mark.parametrize(
    ("drawn", "wanting", "told"),
    [
        (["not at all"], [], "Not checked: the page could not be drawn."),
        (["whole", "not at all"], [], "Not checked: page 2 could not be drawn (2 pages)."),
        (["not at all", "whole", "not at all"], [], "Not checked: pages 1, 3 could not be drawn (3 pages)."),
        (["in part"], ["r1"], "Not checked: a part of the page could not be drawn."),
        (["in part", "whole"], ["r1"], "Not checked: parts of the pages could not be drawn (2 pages)."),
        (["whole"], ["r1", "r2", "r1", "r3"], "Not checked: r1, r2 and r3 could not be decided from the file."),
        (["in part"], [], "Ready for plates."),
    ],
)
def test_of_what_could_not_be_looked_at_nobody_says_that_it_runs(drawn, wanting, told):
    entries = [{**missing("warn")[0], "rule": rule, "for_want_of": "file"} for rule in wanting]
    assert sentence("warn" if wanting else "pass", [], entries, drawn) == told


@pytest.mark.parametrize(("drawn", "part"), [("whole", "carton"), ("in part", "page")])
def test_places_beyond_a_cut_that_is_open_are_a_part_of_the_carton(drawn, part):
    entry = {**missing("warn")[0], "for_want_of": "file", "places": [{}]}
    assert f"a part of the {part} could not be" in sentence("warn", [], [entry], [drawn])


def test_what_hides_for_want_of_the_file_is_told_apart_from_the_rest():
    faulty = [{"verdict": "fail", "trial": False}, {"verdict": "warn", "trial": True}]
    entries = [{**missing("warn")[0], "for_want_of": "file"}, missing("note", "warn")[1]]
    told = sentence("fail", faulty, entries, ["not at all", "whole"])
    assert told == "Not ready for plates: 1 fault, 1 other thing not checked; page 1 could not be drawn (2 pages)."
    asked = sentence("warn", faulty[1:], entries, ["not at all"])
    assert asked == "Not checked: the page could not be drawn; 1 other thing not checked."


def test_of_a_sheet_the_page_is_the_size_whatever_the_die():
    artwork = build_document(
        [(final_facts(replace(carton_job(), artwork_is="sheet")), Judgement(Verdict.PASS, ()))], RUN
    )["artwork"]
    assert (artwork["trim_is"], artwork["trim_mm"]) == ("page", [420, 346])


def test_separations_are_told_with_their_cover_and_units(carton):
    told = {entry["name"]: entry for entry in carton["separations"]}
    assert (told["Cyan"]["units"], told["Copper Glow"]["units"], told["Wren Red"]["units"]) == ([2], [3], [])
    assert (told["Cyan"]["prints"], told["Wren Red"]["prints"]) == (True, False)
    assert told["Mill Brown"]["shown_as"] == "#966a3c"  # 150, 106, 60
    assert told["Cutting"]["shown_as"] is None
    covers = [entry["cover"] for entry in carton["separations"]]
    assert covers == [round(cover, 4) for cover in covers]
    assert 0.5 < told["Mill Brown"]["cover"] < 0.8


def test_the_die_is_told_with_its_areas(carton):
    assert carton["die"]["drawn_in"] == {"cut": ["Cutting"], "crease": ["Creasing"]}
    assert carton["die"]["blanks"] == 1
    flap, code = carton["die"]["areas"]
    assert (flap["is"], flap["box_mm"], flap["known"]) == ("glue flap", [13, 78, 27, 268], "assumed")
    assert (code["is"], code["box_mm"], code["blank"]) == ("code", [173, 281, 211, 305], 1)


def test_units_of_a_finding_are_those_of_the_inks_at_its_places():
    places = (Place((1, 1, 2, 2), 1, "Mill Brown"), Place((1, 1, 2, 2), 1, "Black"), Place((1, 1, 2, 2), 1))
    found = (finding("a", places=places), finding("b", places=places[2:]))
    document = build_document([(final_facts(carton_job()), Judgement(Verdict.FAIL, found))], RUN)
    assert [entry["units"] for entry in document["findings"]] == [[1, 6], []]


def test_a_waived_finding_has_no_number(carton):
    [waived] = carton["waived"]
    assert waived["number"] is None
    assert waived["waiver"] == {
        "reason": "old stock crest, agreed",
        "by": "AB",
        "until": "2030-01-31",
        "remark": "it names no place and would hide the next revision's fault",
    }


def test_numbers_go_on_from_page_to_page_and_waived_findings_take_none():
    judgement = Judgement(Verdict.FAIL, (finding("a"), finding("b", Verdict.WARN)), (Waived(finding("c"), "", "", ""),))
    first, second = small_job(), small_job()
    second = replace(second, page=drawn_page(2, 60, 40, second.page.separations, None))
    pages = build_document([(final_facts(first), judgement), (final_facts(second), judgement)], RUN)["pages"]
    assert [[entry["number"] for entry in page["findings"]] for page in pages] == [[1, 2], [3, 4]]


@pytest.mark.parametrize(("there", "left_out"), [(1, 0), (2, 1)])
def test_only_pages_that_were_not_read_are_left_out(there, left_out):
    job = small_job()
    job.artwork.page_count = there
    document = build_document([(final_facts(job), Judgement(Verdict.PASS, ()))], RUN)
    assert len(document["not_checked"]) == left_out
    assert document["sentence"] == ("Ready for plates as far as checked." if left_out else "Ready for plates.")


def test_what_was_not_checked_is_told_whole():
    entry = NotChecked(
        "a", "b", "c", Verdict.FAIL, True, "ticket", (Place((1, 2, 3, 5), 1, "Leaf"),), "Traceback: here"
    )
    document = one(Judgement(Verdict.FAIL, (), not_checked=(entry, NotChecked("d", "e"))))
    assert document["not_checked"] == [
        {
            "rule": "a", "because": "b", "would_help": "c", "counts_as": "fail", "own_fault": True,
            "for_want_of": "ticket", "needed": True, "traceback": "Traceback: here",
            "places": [{"page": 1, "box_mm": [1, 2, 3, 5], "separation": "Leaf", "where": ""}],
        },
        {
            "rule": "d", "because": "e", "would_help": "", "counts_as": "note", "own_fault": False,
            "for_want_of": "file", "needed": True, "places": [],
        },
    ]  # fmt: skip


@pytest.mark.parametrize(("inks", "told"), [(None, None), (("Leaf", "Fern"), ["Leaf", "Fern"])])
def test_where_something_is_missing_is_told_with_its_inks(inks, told):
    facts = final_facts(small_job())
    place = UncertainPlace("a form is not read", (1.0, 2.0, 9.0, 6.5), inks)
    document = build_document([(replace(facts, uncertain=(place,)), Judgement(Verdict.WARN, ()))], RUN)
    assert document["pages"][0]["uncertain"] == [
        {"because": "a form is not read", "inks": told, "page": 1, "box_mm": [1, 2, 9, 6.5], "separation": None,
         "where": ""},
    ]  # fmt: skip


def test_what_was_assumed_and_noted_is_said_once():
    facts = replace(final_facts(carton_job()), assumed=("x", "y", "x"))
    document = build_document([(facts, Judgement(Verdict.PASS, (), notes=("n", "m", "n")))], RUN)
    assert document["assumed"] == ["x", "y"]
    assert document["notes"][:2] == ["n", "m"]
    assert document["notes"][2:] == list(facts.die.notes)


def test_the_artwork_is_told_with_its_repairs():
    job = small_job()
    repairs = (
        Repair("a table was rebuilt", lost=False, times=3),
        Repair("a page is cut short", lost=True, pages=(2, 5)),
    )
    facts = final_facts(job)
    file = replace(facts.file, repairs=repairs, page_count=7, pdf_version="1.6", title="T", producer="P")
    document = build_document([(replace(facts, file=file), Judgement(Verdict.PASS, ()))], RUN)
    artwork = document["artwork"]
    assert (artwork["page_count"], artwork["pdf_version"], artwork["title"], artwork["producer"]) == (
        7,
        "1.6",
        "T",
        "P",
    )
    assert artwork["repairs"] == ["a table was rebuilt (3 times)", "a page is cut short (pages 2 and 5)"]
    assert artwork["repairs_told"] == [
        {"says": "a table was rebuilt", "lost": False, "times": 3, "pages": []},
        {"says": "a page is cut short", "lost": True, "times": 1, "pages": [2, 5]},
    ]
    assert document["repaired"] is True
    assert one(Judgement(Verdict.PASS, ()))["repaired"] is False


def test_boxes_of_a_page_are_told_where_it_has_them():
    job = small_job()
    job.page.boxes = replace(job.page.boxes, bleed=(1.0, 2.0, 59.0, 38.5))
    artwork = build_document([(final_facts(job), Judgement(Verdict.PASS, ()))], RUN)["artwork"]
    assert artwork["boxes_mm"] == {"media": [0, 0, 60, 40], "bleed": [1, 2, 59, 38.5]}


def test_when_and_by_which_rules_it_was_made(carton):
    assert carton["run"]["when"] == "2026-03-02T14:05:00+00:00"
    assert carton["run"]["rules"] == ["shipped rules", "plant.yaml"]
    assert carton["run"]["tool"].startswith("preflight")
    assert (carton["press"]["file"], carton["ticket"]["file"]) == ("seven-units.yaml", "4471-B.yaml")


def test_what_is_of_one_page_only_stands_with_the_page(carton):
    [page] = carton["pages"]
    assert (page["page"], page["drawn"], page["complete"]) == (1, "whole", False)
    assert {"page", "drawn"} & set(carton) == {"drawn"}
    assert page["findings"] == carton["findings"]

"""What the judge makes of very many readings, of places that could not be looked at, and of what breaks."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from shapely import LineString

from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.carton.die import Die, OpenCut
from preflight.errors import NotMeasured
from preflight.findings import Gap, Measured, Place, Reading, Verdict
from preflight.inputs.press import Press
from preflight.judging.judge import MOST_ALIKE, MOST_NAMED, MOST_PLACES, judge
from preflight.judging.limits import read_limit
from preflight.judging.rulebook import Case
from preflight.measures import MEASURES, declared
from tests.test_judge import at, book, job, press, rule, verdicts


@pytest.fixture
def gap(monkeypatch):
    """Has the measure ``gap`` give these readings, or raise."""

    def told(
        *readings: Reading, raises: BaseException | None = None, gaps: tuple[Gap, ...] = (), **declares: Any
    ) -> None:
        def function(_job: Any) -> Measured:
            if raises is not None:
                raise raises
            return Measured(readings, gaps)

        cases = tuple({reading.case for reading in readings})
        facts = tuple({name for reading in readings for name in reading.facts})
        declares = {"name": "gap", "unit": "mm", "cases": cases, "facts": facts, **declares}
        monkeypatch.setitem(MEASURES, "gap", declared(function, **declares))

    return told


def on_page(*uncertain: UncertainPlace, **more: Any) -> Any:
    """A job on a page of 100 x 80 mm on which something is missing."""
    page: Any = SimpleNamespace(
        number=3, uncertain=list(uncertain), box_mm=(0.0, 0.0, 100.0, 80.0), boxes=SimpleNamespace(trim=None)
    )
    return replace(job(), page=page, **more)


# Very many ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("groups", "findings", "together"), [(20, 20, 1), (21, 20, 2), (35, 20, 16)])
def test_up_to_twenty_findings_are_said_one_by_one(gap, groups, findings, together):
    gap(*(Reading(1.0, "mm", (at(10 * i, 0),), group=f"Shade {i}") for i in range(groups)))
    found = judge(job(), book(rule(fail="below 2 mm"))).findings
    assert (len(found), MOST_ALIKE) == (findings, 20)
    assert len(found[-1].places) == together
    assert ("more:" in found[-1].says) is (together > 1)


def test_of_those_said_together_ten_are_named_and_a_hundred_places_kept(gap):
    gap(*(
        Reading(1.0, "mm", (at(10 * i, 0), at(10 * i, 50)), group=f"Shade {i}", units=(i % 7, 9)) for i in range(90)
    ))  # fmt: skip
    wording = {"says": "Narrow.", "customer": "Please widen."}
    last = judge(job(), book(rule(fail="below 2 mm", **wording))).findings[-1]
    assert "70 more: Shade 20," in last.says
    assert f"Shade {19 + MOST_NAMED} and 60 more." in last.says
    assert last.customer.startswith("Please widen. The same applies to 70 more")
    assert len(last.places) == MOST_PLACES
    assert last.places[:2] == (at(190, 0), at(190, 50))
    assert last.units == (0, 1, 2, 3, 4, 5, 6, 9)


def test_a_customer_is_told_nothing_where_there_is_nothing_to_tell(gap):
    gap(*(Reading(1.0, "mm", (at(10 * i, 0),), group=f"Shade {i}") for i in range(30)))
    assert judge(job(), book(rule(fail="below 2 mm"))).findings[-1].customer == ""


def test_only_findings_of_one_verdict_and_case_are_alike(gap):
    readings = [Reading(1.0, group=f"a{i}") for i in range(15)] + [Reading(2.5, group=f"b{i}") for i in range(15)]
    readings += [Reading(1.0, group=f"c{i}", case="flap") for i in range(15)]
    gap(*readings)
    found = judge(job(), book(rule(fail="below 2 mm", warn="below 3 mm"))).findings
    assert len(found) == 45


def test_places_and_units_of_a_finding_are_said_once(gap):
    gap(
        Reading(1.5, "mm", (at(1, 2), at(5, 6)), units=(4, 2)),
        Reading(1.0, "mm", (at(5, 6), at(9, 9)), units=(2, 1)),
    )
    [found] = judge(job(), book(rule(fail="below 2 mm"))).findings
    assert found.measured == (1.0, "mm")
    assert found.places == (at(5, 6), at(9, 9), at(1, 2))
    assert found.units == (1, 2, 4)


def test_a_reading_that_only_warns_says_why_before_a_worse_one(gap):
    gap(Reading(2.9, "mm", only_warns="nobody sees it"), Reading(1.0, "mm", known="assumed"))
    [found] = judge(job(), book(rule(fail="below 3 mm"))).findings
    assert (found.verdict, found.measured) == (Verdict.WARN, (1.0, "mm"))
    gap(Reading(2.5, "mm"), Reading(2.9, "mm", only_warns="nobody sees it"), Reading(2.2, "mm"))
    [warned] = judge(job(), book(rule(warn="below 3 mm"))).findings
    assert (warned.measured, warned.why) == ((2.2, "mm"), "w")
    gap(Reading(2.5, "mm"), Reading(1.5, "mm", only_warns="nobody sees it"))
    [mixed] = judge(job(), book(rule(fail="below 2 mm", warn="below 3 mm"))).findings
    assert mixed.measured == (1.5, "mm")
    assert "nobody sees it" in mixed.why


@pytest.mark.parametrize(("unit", "own"), [("mm", "mm"), ("mm", ""), ("pt", ""), ("plates", "plates")])
def test_a_reading_has_the_unit_of_its_measure(gap, unit, own):
    gap(Reading(1.0, own), unit=unit)
    [found] = judge(job(), book(rule(fail=f"below 2 {unit}"))).findings
    assert (found.measured, found.limit) == ((1.0, unit), (2.0, unit))


def test_words_of_a_case_are_those_of_the_case(gap):
    gap(Reading(1.0, case="flap"), Reading(1.0, case="slot"))
    cases = {"flap": Case(says="Flap.", do="Cut it."), "slot": Case(why="It tears.")}
    flap, slot = judge(job(), book(rule(fail="below 2 mm", says="Rule.", cases=cases))).findings
    assert (flap.says, flap.why, flap.do) == ("Flap.", "w", "Cut it.")
    assert (slot.says, slot.why, slot.do) == ("Rule.", "It tears.", "d")


def test_numbers_of_numpy_become_plain_ones(gap):
    value: Any = np.int64(3)
    gap(Reading(value, "plates"), unit="plates")
    [found] = judge(job(), book(rule(fail="above 2 plates"))).findings
    assert type(found.measured[0]) is int


# What could not be looked at ---------------------------------------------------------------------------------------

HERE, THERE = (10.0, 10.0, 20.0, 15.0), (60.0, 50.0, 70.0, 65.0)


def test_places_where_something_is_missing_leave_the_rule_open_there_once_a_reason(gap):
    gap(Reading(3.0))
    missing = (UncertainPlace("a form", HERE), UncertainPlace("a mesh", THERE), UncertainPlace("a form", THERE))
    judgement = judge(on_page(*missing), book(rule(fail="below 2 mm", if_not_checked=Verdict.WARN)))
    assert [[place.box_mm for place in item.places] for item in judgement.not_checked] == [[HERE, THERE], [THERE]]
    assert {place.page for item in judgement.not_checked for place in item.places} == {3}
    assert ["a form" in item.because for item in judgement.not_checked] == [True, False]
    assert {item.counts_as for item in judgement.not_checked} == {Verdict.WARN}
    assert (judgement.verdict, judgement.passed) == (Verdict.WARN, ())


def test_of_very_many_such_places_a_hundred_are_kept(gap):
    gap()
    missing = [UncertainPlace("a form", (0.5 * k, 1.0, 0.5 * k + 1, 2.0)) for k in range(MOST_PLACES + 7)]
    [item] = judge(on_page(*missing), book(rule(fail="below 2 mm"))).not_checked
    assert len(item.places) == MOST_PLACES


def test_what_lies_beyond_an_open_cut_is_left_open(gap):
    gap(Reading(3.0))
    cut = OpenCut(1, (), LineString([(5, 5), (5, 30)]), HERE)
    die = Die("read", "", open_cuts=(cut,))
    [item] = judge(on_page(die=die), book(rule(fail="below 2 mm"))).not_checked
    assert [place.box_mm for place in item.places] == [HERE]
    assert "not closed" in item.because


def test_the_same_gap_is_said_once(gap):
    gap(Reading(3.0), gaps=(Gap("why", "what"), Gap("why", "what"), Gap("why", "else")))
    found = judge(job(), book(rule(fail="below 2 mm"))).not_checked
    assert [(item.because, item.would_help) for item in found] == [("why", "what"), ("why", "else")]


@pytest.mark.parametrize(
    ("fault", "own", "want_of"),
    [(MemoryError(), False, "file"), (KeyError("x"), True, "tool"), (NotMeasured("why", "", "press"), False, "press")],
)
def test_what_breaks_leaves_the_rule_open(gap, fault, own, want_of):
    gap(raises=fault)
    [item] = judge(job(), book(rule(fail="below 2 mm"))).not_checked
    assert (item.own_fault, item.want_of) == (own, want_of)
    assert ("Traceback" in item.traceback) is own
    assert bool(item.would_help) is (want_of != "press")


def test_a_condition_that_is_not_known_is_not_asked_for_before_the_others(gap):
    gap(Reading(1.0))
    when = {"ticket.board.surface": "is white", "press.unit_count": "above 2", "ticket.quantity": "above 3"}
    [item] = judge(job(press=press(), ticket={}), book(rule(fail="below 2 mm", when=when))).not_checked
    assert "board.surface" in item.because  # the first that is missing


# All of a page -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("page", "said"), [(1, ["job ticket", "press profile"]), (2, [])])
def test_keys_that_nothing_is_decided_by_are_said_on_the_first_page(gap, page, said):
    gap()
    profile = Press.model_validate(
        {"press": "P", "sheet": {"largest": "9 x 8 mm"}, "units": [{}], "camera": {"pixel": "0.1 mm"}}
    )
    judgement = judge(job(press=profile, ticket={"die": {"number": "D1"}}, page=page), book(rule(fail="below 2 mm")))
    assert [item.rule.removeprefix("keys of the ") for item in judgement.not_checked] == said
    assert [("die.number" in item.because, "camera" in item.because) for item in judgement.not_checked] == [
        (True, False), (False, True),
    ][: len(said)]  # fmt: skip
    assert judgement.verdict is Verdict.PASS
    assert judgement.passed == ("gap-narrow",)


def test_rules_are_told_in_their_order_by_what_became_of_them(gap):
    gap(Reading(2.5))
    rules = [
        rule("d-passes", fail="below 1 mm"), rule("a-warns", warn="below 3 mm"), rule("c-passes", fail="above 3 mm"),
        rule("b-fails", fail="below 3 mm"), rule("e-warns", warn="above 1 mm"),
    ]  # fmt: skip
    judgement = judge(job(), book(*rules))
    assert verdicts(judgement) == [("b-fails", "fail"), ("a-warns", "warn"), ("e-warns", "warn")]
    assert judgement.passed == ("d-passes", "c-passes")
    assert judgement.verdict is Verdict.FAIL


def test_what_is_wrong_with_ticket_press_or_file_comes_first(gap, monkeypatch):
    gap(Reading(2.5))
    stated = declared(lambda _job: Measured([Reading(2.5)]), name="stated", unit="mm", rests_on=())
    monkeypatch.setitem(MEASURES, "stated", stated)
    rules = [
        rule("a-warns", warn="below 3 mm"), rule("b-fails", fail="below 3 mm"),
        rule("c-warns", measure="stated", warn="below 3 mm"), rule("d-fails", measure="stated", fail="below 3 mm"),
    ]  # fmt: skip
    assert [name for name, _ in verdicts(judge(job(), book(*rules)))] == ["d-fails", "b-fails", "c-warns", "a-warns"]


@pytest.mark.parametrize(
    ("limits", "said", "only_warns"),
    [
        ({"fail": "below 2 mm", "warn": "below 3 mm"}, "1.5 mm / 2 mm / minimum 3 mm, a fault below 2 mm", ""),
        ({"fail": "below 2 mm", "warn": "below 3 mm"}, "1.5 mm / 2 mm / minimum 2 mm", "nobody sees it"),
        ({"fail": "above 1 mm", "warn": "above 0.5 mm"}, "1.5 mm / 1 mm / maximum 0.5 mm, a fault above 1 mm", ""),
        ({"fail": "below 1 mm", "warn": "below 3 mm"}, "1.5 mm / 3 mm / minimum 3 mm", ""),
        ({"fail": "below 2 mm"}, "1.5 mm / 2 mm / minimum 2 mm", ""),
        ({"fail": "below 2 mm", "warn": "below 2 mm"}, "1.5 mm / 2 mm / minimum 2 mm", ""),
        ({"fail": "below 2 mm", "warn": "above 0.1 mm"}, "1.5 mm / 2 mm / minimum 2 mm", ""),
        ({"fail": "below 2 mm", "warn": "outside 3 mm to 4 mm"}, "1.5 mm / 2 mm / minimum 2 mm", ""),
    ],
)
def test_a_fault_says_what_is_wanted_too(gap, limits, said, only_warns):
    """The customer is asked for what is wanted, so that the technician has to read the same figure."""
    gap(Reading(1.5, only_warns=only_warns))
    (finding,) = judge(job(), book(rule(**limits))).findings
    assert finding.says == said
    assert finding.limit_words == said.rpartition(" / ")[2]


def test_a_trial_that_could_not_be_decided_changes_no_verdict(gap):
    gap(raises=NotMeasured("why"))
    rules = [rule("a", fail="below 1 mm", status="trial", if_not_checked=Verdict.FAIL),
             rule("b", fail="below 1 mm", if_not_checked=Verdict.WARN)]  # fmt: skip
    assert judge(job(), book(*rules)).verdict is Verdict.WARN


def test_without_rules_a_page_passes():
    judgement = judge(job(), book())
    assert (judgement.verdict, judgement.passed, judgement.findings) == (Verdict.PASS, (), ())


@pytest.mark.parametrize(("only", "said"), [(None, True), (["gap-off"], True), (["gap-narrow"], False)])
def test_rules_that_are_off_are_spoken_of_where_they_are_asked_for(gap, only, said):
    gap()
    off = judge(job(), book(rule(fail="below 2 mm"), off={"gap-off": "never here"}), only=only).switched_off
    assert [(entry.rule, entry.because) for entry in off] == [("gap-off", "never here")] * said


@pytest.mark.parametrize(("case", "trips"), [("", True), ("flap", False), ("slot", True)])
def test_limits_of_a_case_replace_both_of_the_rule(gap, case, trips):
    gap(Reading(1.0, case=case))
    cases = {"flap": Case(warn=read_limit("below 0.5 mm")), "slot": Case(says="Slot.")}
    assert bool(judge(job(), book(rule(fail="below 2 mm", cases=cases))).findings) is trips


def test_a_place_is_kept_with_its_words(gap):
    place = Place((1, 2, 3, 4), 2, "Leaf", "panel B")
    gap(Reading(1.0, places=(place,), known="stated"))
    [found] = judge(job(), book(rule(fail="below 2 mm", says="{place} {separation} {page}"))).findings
    assert (found.says, found.places, found.known) == (
        "on panel B, 1 mm from the left, 2 mm up Leaf 2",
        (place,),
        "stated",
    )

"""The judge: readings in, findings out. Tests compare rule, verdict, place and number, never the wording of rules."""

from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from preflight.carton.die import Die
from preflight.errors import NotMeasured
from preflight.findings import Gap, Measured, Place, Reading, Verdict
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.judging.judge import MOST_ALIKE, MOST_PLACES, judge
from preflight.judging.limits import read_limit
from preflight.judging.phrases import fact_text, reading_text
from preflight.judging.references import reference
from preflight.judging.rulebook import Case, Rule, Rulebook
from preflight.measures import MEASURES, Job, declared

DIGEST = "3f9a12" + "0" * 58
TODAY = date(2026, 6, 1)


def float32(value) -> Any:
    return np.float32(value)


def press(**keys):
    return Press.model_validate({"press": "P", "sheet": {"largest": "1000 x 700 mm"}, "units": [{}, {}, {}], **keys})


def job(*, press=None, ticket=None, pages=1, page=1, **more):
    read = None if ticket is None else Ticket.model_validate(ticket, context={"folder": "/jobs"})
    artwork: Any = SimpleNamespace(sha256=DIGEST, page_count=pages, path=Path("art.pdf"))
    this_page: Any = SimpleNamespace(number=page, uncertain=[])
    return Job(artwork, this_page, Die("none", "no die"), press, read, **more)


def rule(name="gap-narrow", measure="gap", **keys):
    limits: dict[str, Any] = {key: read_limit(keys.pop(key)) for key in ("fail", "warn", "note") if key in keys}
    words: dict[str, Any] = {
        "asks": "?",
        "says": "{reading} / {limit} / {asked}",
        "why": "w",
        "do": "d",
        "source": "common practice",
    }
    when = tuple((reference(key), read_limit(text)) for key, text in keys.pop("when", {}).items())
    return Rule(name, measure=measure, when=when, **limits, **{**words, **keys})


def book(*rules, **more):
    return Rulebook({rule.rule: rule for rule in rules}, **more)


@pytest.fixture
def measured(monkeypatch):
    """Makes a measure that gives readings or raises; returns the list of its calls."""

    def _measured(*readings, name="gap", unit="mm", tolerance=0.0, raises=None, gaps=()):
        calls = []

        def function(job, **parameters):
            calls.append(parameters)
            if raises is not None:
                raise raises
            return Measured(readings, gaps) if gaps else list(readings)

        monkeypatch.setitem(MEASURES, name, declared(function, name=name, unit=unit, tolerance=tolerance,
            cases=tuple({reading.case for reading in readings}),
            facts=tuple({fact for reading in readings for fact in reading.facts}),
            words=tuple(reading.value for reading in readings if isinstance(reading.value, str)),
            sizes=any(isinstance(reading.value, tuple) for reading in readings)))  # fmt: skip
        return calls

    return _measured


def at(x, y, size=2.0, **more):
    return Place((x, y, x + size, y + size), **more)


def verdicts(judgement):
    return [(finding.rule, finding.verdict.word) for finding in judgement.findings]


# Limits ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("reading", "verdict"),
    [
        (Reading(3.0, "mm"), "pass"),
        (Reading(2.95, "mm"), "pass"),  # within the tolerance
        (Reading(2.5, "mm"), "warn"),
        (Reading(1.9, "mm"), "warn"),
        (Reading(1.89, "mm"), "fail"),
        (Reading(1.0, "mm", known="stated"), "fail"),
        (Reading(1.0, "mm", known="assumed"), "warn"),
        (Reading(1.0, "mm", only_warns="nobody sees it"), "warn"),
        (Reading(2.5, "mm", limit_cap=2.5), "pass"),
        (Reading(1.0, "mm", limit_cap=1.0), "pass"),
        (Reading(0.5, "mm", limit_cap=1.0), "fail"),
        (Reading(0.5, "mm", case="flap"), "warn"),
        (Reading(0.5, "mm", case="waste"), "pass"),
        (Reading(0.5, "mm", case="unheard of"), "fail"),
        (Reading(float32(1.0), "mm"), "fail"),
    ],
)
def test_one_reading(measured, reading, verdict):
    measured(reading, tolerance=0.1)
    cases = {"flap": Case(warn=read_limit("below 3 mm")), "waste": Case(warn=read_limit("below 0.1 mm"))}
    judgement = judge(job(), book(rule(fail="below 2 mm", warn="below 3 mm", cases=cases)))
    assert judgement.verdict.word == verdict
    assert judgement.passed == (("gap-narrow",) if verdict == "pass" else ())


def test_a_finding_carries_all_that_a_report_shows(measured):
    place = at(10, 20, page=1, separation="Black")
    measured(Reading(1.5, "mm", (place,), known="stated", facts={"side": "left"}, units=(3, 2)))
    words = {"says": "{reading} {limit} {side} {separation} {count} {places} {place}", "customer": "Mind the {side}."}
    (finding,) = judge(job(), book(rule(fail="below 2 mm", **words))).findings
    assert finding.says == "1.5 mm 2 mm left Black 1 1 place 10 mm from the left, 20 mm up"
    assert (finding.why, finding.do, finding.source, finding.customer) == (
        "w",
        "d",
        "common practice",
        "Mind the left.",
    )
    assert (finding.measured, finding.limit, finding.limit_words) == ((1.5, "mm"), (2.0, "mm"), "minimum 2 mm")
    assert (finding.places, finding.known, finding.units) == ((place,), "stated", (2, 3))


def test_why_a_fail_only_warns_is_said(measured):
    measured(Reading(1.0, "mm", only_warns="it lies on a dust flap"), Reading(2.5, "mm", group="other"))
    first, second = judge(job(), book(rule(fail="below 2 mm", warn="below 3 mm"))).findings
    assert "it lies on a dust flap" in first.why
    assert second.why == "w"


@pytest.mark.parametrize(
    ("value", "fail", "verdict"),
    [((1000.0, 700.0), "above press.sheet.largest", "pass"), ((1010.0, 700.0), "above press.sheet.largest", "fail")],
)
def test_limits_from_the_press(measured, value, fail, verdict):
    measured(Reading(value, "mm"))
    judgement = judge(job(press=press()), book(rule(fail=fail)))
    assert judgement.verdict.word == verdict
    for finding in judgement.findings:
        assert finding.limit == ((1000.0, 700.0), "mm")


def test_a_word_has_no_scale(measured):
    measured(Reading("refused", known="stated"), unit="")
    (finding,) = judge(job(), book(rule(fail="is refused"))).findings
    assert (finding.measured, finding.limit) == (("refused", ""), ("refused", ""))


# Groups ------------------------------------------------------------------------------------------------------------


def test_readings_of_one_cause_are_one_finding_with_the_worst_first(measured):
    places = [at(0, 0), at(10, 0), at(20, 0), at(30, 0)]
    measured(
        Reading(1.5, "mm", (places[0],)),
        Reading(0.5, "mm", (places[1],)),
        Reading(1.0, "mm", (places[2], places[1])),
        Reading(2.5, "mm", (places[3],)),
    )
    fail, warn = judge(job(), book(rule(fail="below 2 mm", warn="below 3 mm"))).findings
    assert fail.measured == (0.5, "mm")
    assert fail.places == (places[1], places[2], places[0])
    assert (warn.measured, warn.places) == ((2.5, "mm"), (places[3],))


def test_cases_and_groups_are_findings_of_their_own(measured):
    measured(Reading(1.0, group="Black"), Reading(1.0, group="Cyan"), Reading(1.0, group="Cyan", case="flap"))
    findings = judge(job(), book(rule(fail="below 2 mm"))).findings
    assert [finding.case for finding in findings] == ["", "", "flap"]


def test_very_many_groups_are_named_in_one_finding(measured):
    measured(*(Reading(1.0, "mm", (at(10 * i, 0),), group=f"Shade {i}", units=(i,)) for i in range(50)))
    found = judge(job(), book(rule(fail="below 2 mm")), today=TODAY).findings
    assert len(found) == MOST_ALIKE
    assert all(len(finding.places) == 1 for finding in found[:-1])
    last = found[-1]
    assert len(last.places) == 50 - (MOST_ALIKE - 1)
    assert last.units == tuple(range(MOST_ALIKE - 1, 50))
    assert "30 more: Shade 20, Shade 21" in last.says


def test_findings_come_worst_first_and_trials_last(measured):
    measured(Reading(1.0))
    rules = [
        rule("a-trial", fail="below 2 mm", status="trial"),
        rule("b-warns", warn="below 2 mm"),
        rule("c-fails", fail="below 2 mm"),
    ]
    assert verdicts(judge(job(), book(*rules))) == [("c-fails", "fail"), ("b-warns", "warn"), ("a-trial", "fail")]


# What is only worth knowing ----------------------------------------------------------------------------------------

LADDER = {"fail": "below 1 mm", "warn": "below 2 mm", "note": "below 3 mm"}


@pytest.mark.parametrize(
    ("reading", "says"),
    [
        (Reading(0.5), "fail"),
        (Reading(1.5), "warn"),
        (Reading(2.5), "note"),
        (Reading(3.5), None),
        (Reading(0.5, known="assumed"), "warn"),
        (Reading(2.5, known="assumed"), "note"),
        (Reading(2.5, only_warns="nobody sees it"), "note"),
        (Reading(4.5, case="flap"), "note"),  # a case with a note of its own uses no other limit
        (Reading(0.5, case="flap"), "note"),
    ],
)
def test_a_note_is_tried_last(measured, reading, says):
    measured(reading)
    judgement = judge(job(), book(rule(**LADDER, cases={"flap": Case(note=read_limit("below 5 mm"))})))
    assert [finding.verdict.word for finding in judgement.findings] == ([says] if says else [])
    assert judgement.passed == (() if says else ("gap-narrow",))
    assert judgement.verdict.word == ("pass" if says == "note" else says or "pass")
    assert not any("only warns" in finding.why for finding in judgement.findings if says == "note")


def test_a_note_is_not_for_the_customer(measured):
    measured(Reading(1.5, group="a"), Reading(2.5, group="b"))
    found = judge(job(), book(rule(**LADDER, customer="Mind the gap."))).findings
    assert [(finding.verdict.word, finding.customer) for finding in found] == [("warn", "Mind the gap."), ("note", "")]


@pytest.mark.parametrize("worst", ["fail", "warn", None])
def test_notes_come_last_of_all_and_leave_the_verdict_as_it_is(measured, worst):
    measured(Reading(1.0))
    rules = [rule("a-knows", note="below 2 mm"), rule("b-tries", fail="below 2 mm", status="trial")]
    rules += [rule("c-objects", **{worst: "below 2 mm"})] if worst else []
    judgement = judge(job(), book(*rules))
    assert [finding.rule for finding in judgement.findings] == [*["c-objects"] * bool(worst), "b-tries", "a-knows"]
    assert judgement.verdict.word == (worst or "pass")


def test_a_note_leaves_what_an_open_rule_counts_as(measured):
    measured(Reading(1.0))
    measured(raises=NotMeasured("no"), name="open")
    rules = [rule("a", note="below 2 mm"), rule("b", "open", fail="below 2 mm", if_not_checked=Verdict.WARN)]
    assert judge(job(), book(*rules)).verdict is Verdict.WARN


def test_a_note_may_be_on_trial_and_may_be_waived(measured):
    measured(Reading(1.0, "mm", (at(10, 10),)))
    (finding,) = judge(job(), book(rule(note="below 2 mm", status="trial"))).findings
    assert (finding.verdict, finding.trial) == (Verdict.NOTE, True)
    judgement = judge(job(ticket={"waivers": [FULL]}), book(rule(note="below 2 mm")), today=TODAY)
    assert ([waived.finding.verdict for waived in judgement.waived], judgement.findings) == ([Verdict.NOTE], ())
    assert judgement.verdict is Verdict.PASS


# What cannot be decided --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("word", ["PASS", "WARN", "FAIL"])
def test_not_measured_is_not_passed(measured, word):
    measured(raises=NotMeasured("the page is over a bound", "a simpler file"))
    judgement = judge(job(), book(rule(fail="below 2 mm", if_not_checked=Verdict[word])))
    (item,) = judgement.not_checked
    assert (item.because, item.would_help, item.own_fault) == ("the page is over a bound", "a simpler file", False)
    assert (judgement.verdict, judgement.findings, judgement.passed) == (Verdict[word], (), ())


def test_a_broken_measure_does_not_spoil_the_rest(measured):
    measured(raises=ZeroDivisionError("by zero"), name="broken")
    measured(Reading(1.0))
    judgement = judge(job(), book(rule("a", "broken", fail="below 2 mm"), rule("b", fail="below 2 mm")))
    (item,) = judgement.not_checked
    assert (item.rule, item.own_fault) == ("a", True)
    assert "ZeroDivisionError" in item.because
    assert verdicts(judgement) == [("b", "fail")]


def test_a_word_against_a_number_is_our_own_fault(measured):
    measured(Reading("wide"))
    (item,) = judge(job(), book(rule(fail="below 2 mm"))).not_checked
    assert item.own_fault


@pytest.mark.parametrize(
    ("profile", "said"), [(None, "press profile"), (press(), "sheet.smallest"), (press(), "press profile (b.yaml)")]
)
def test_a_limit_that_nobody_gives_is_not_checked(measured, profile, said):
    measured(Reading((400.0, 300.0), "mm"))
    ticket = {"press": "b.yaml"} if "b.yaml" in said else None
    judgement = judge(job(press=profile, ticket=ticket), book(rule(fail="below press.sheet.smallest")))
    (item,) = judgement.not_checked
    assert said in item.because
    assert "sheet.smallest" in item.would_help
    assert judgement.passed == ()


def test_the_other_limit_is_still_decided(measured):
    measured(Reading((400.0, 300.0), "mm"))
    both = rule(fail="below press.sheet.smallest", warn="below 500 x 350 mm")
    judgement = judge(job(press=press()), book(both))
    assert verdicts(judgement) == [("gap-narrow", "warn")]
    assert len(judgement.not_checked) == 1


def test_nothing_of_the_kind_is_passed(measured):
    measured()
    assert judge(job(), book(rule(fail="below 2 mm"))).passed == ("gap-narrow",)


# Which rules run ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("when", "verdict"),
    [
        ({"job.artwork_is": "is sheet"}, "fail"),
        ({"job.artwork_is": "is one-up"}, "pass"),
        ({"job.artwork_is": "one of [sheet, plate]", "press.unit_count": "above 3"}, "pass"),
        ({"job.artwork_is": "is sheet", "press.unit_count": "above 2"}, "fail"),
        ({"press.sheet.largest": "above 990 x 690 mm"}, "fail"),
        ({"ticket.board.caliper": "above 0.4 mm"}, "fail"),
        ({"ticket.board.caliper": "above 500 um"}, "pass"),
        ({"ticket.nothing_coated": "is true"}, "pass"),
    ],
)
def test_when(measured, when, verdict):
    calls = measured(Reading(1.0))
    this = job(press=press(), ticket={"board": {"caliper": "18 pt"}}, artwork_is="sheet", artwork_is_known="stated")
    judgement = judge(this, book(rule(fail="below 2 mm", when=when)))
    assert judgement.verdict.word == verdict
    assert len(calls) == (verdict == "fail")  # a rule that does not apply costs nothing
    assert [item.rule for item in judgement.not_asked] == ["gap-narrow"] * (verdict == "pass")
    assert judgement.passed == ()
    assert judgement.not_checked == ()


@pytest.mark.parametrize(
    ("key", "condition", "because"),
    [
        (
            "job.artwork_is",
            "is one-up",
            "only for jobs whose artwork is one-up (job.artwork_is); here it is sheet",
        ),
        (
            "job.artwork_is",
            "one of [one-up, plate]",
            "only for jobs whose artwork is one-up or plate (job.artwork_is); here it is sheet",
        ),
        (
            "ticket.board.caliper",
            "above 0.5 mm",
            "only for jobs whose board caliper is above 0.5 mm (ticket.board.caliper); here it is 0.46 mm",
        ),
        (
            "ticket.coating.kind",
            "is not uv",
            "only for jobs whose coating is not uv (ticket.coating.kind); here it is uv",
        ),
        ("ticket.nothing_coated", "is true", "only for jobs that are not coated (ticket.nothing_coated)"),
        (
            "press.cures",
            "not one of [uv, led-uv]",
            "only for presses without uv or led-uv among the ink systems that they dry (press.cures); here it is uv",
        ),
        (
            "press.unit_count",
            "above 3",
            "only for presses whose number of units is above 3 (press.unit_count); here it is 3",
        ),
        (
            "job.artwork_is_known",
            "is stated",
            "only for jobs whose kind of artwork is stated (job.artwork_is_known); here it is assumed",
        ),
        (
            "job.die.found",
            "is stated",
            "only for jobs whose die is stated (job.die.found); here it is none",
        ),
        ("job.die.found", "is not none", "only for jobs with a die (job.die.found); here it is none"),
        (
            "ticket.coating.kind",
            "not one of press.cures",
            "only for jobs whose coating is not among press.cures, which is uv (ticket.coating.kind); here it is uv",
        ),
    ],
)
def test_a_rule_that_is_not_asked_says_for_what_jobs_it_is(measured, key, condition, because):
    calls = measured(Reading(1.0))
    ticket = {"board": {"caliper": "18 pt"}, "coating": {"kind": "uv"}}
    this = job(press=press(cures="uv"), ticket=ticket, artwork_is="sheet")
    judgement = judge(this, book(rule(fail="below 2 mm", when={key: condition})))
    assert [(item.rule, item.because) for item in judgement.not_asked] == [("gap-narrow", because)]
    assert (judgement.passed, judgement.not_checked, calls) == ((), (), [])


def test_one_condition_that_does_not_hold_settles_it_whatever_is_not_known(measured):
    measured(Reading(1.0))
    when = {"ticket.board.surface": "is white", "job.artwork_is": "is sheet"}
    judgement = judge(job(artwork_is="one-up"), book(rule(fail="below 2 mm", when=when)))
    assert [item.rule for item in judgement.not_asked] == ["gap-narrow"]
    assert judgement.not_checked == ()


def test_what_was_found_is_said_together_with_what_was_not_looked_at(measured):
    where = tuple(at(10 * i, 0) for i in range(MOST_PLACES + 5))
    gaps = [Gap("too many shapes", "a simpler file", places=where), Gap("nobody says", want_of="ticket")]
    measured(Reading(1.0), gaps=gaps)
    judgement = judge(job(), book(rule(fail="below 2 mm", if_not_checked=Verdict.WARN)))
    assert verdicts(judgement) == [("gap-narrow", "fail")]
    assert [(item.because, item.want_of) for item in judgement.not_checked] == [
        ("too many shapes", "file"),
        ("nobody says", "ticket"),
    ]
    assert judgement.not_checked[0].places == where[:MOST_PLACES]
    assert judgement.verdict is Verdict.FAIL


def test_a_rule_with_a_gap_has_not_passed(measured):
    measured(Reading(3.0), gaps=[Gap("too many shapes")])
    judgement = judge(job(), book(rule(fail="below 2 mm")))
    assert (judgement.passed, [item.rule for item in judgement.not_checked]) == ((), ["gap-narrow"])


def test_a_condition_on_what_is_not_there_is_not_checked(measured):
    measured(Reading(1.0))
    judgement = judge(job(), book(rule(fail="below 2 mm", when={"ticket.board.surface": "is not white"})))
    assert [item.rule for item in judgement.not_checked] == ["gap-narrow"]


def test_a_rule_that_applies_by_a_guess_only_warns(measured):
    measured(Reading(1.0))
    this = job(artwork_is="sheet", artwork_is_known="assumed")
    assert judge(this, book(rule(fail="below 2 mm", when={"job.artwork_is": "is sheet"}))).verdict is Verdict.WARN


def test_a_trial_never_changes_the_verdict(measured):
    measured(Reading(1.0))
    measured(raises=NotMeasured("no"), name="open")
    rules = [rule("a", fail="below 2 mm", status="trial")]
    rules.append(rule("b", "open", fail="below 2 mm", status="trial", if_not_checked=Verdict.FAIL))
    judgement = judge(job(), book(*rules))
    assert judgement.verdict is Verdict.PASS
    assert [finding.trial for finding in judgement.findings] == [True]


def test_only_some_rules(measured):
    measured(Reading(1.0))
    everything = book(rule("a", fail="below 2 mm"), rule("b", fail="below 2 mm"), off={"c": "why not"})
    assert verdicts(judge(job(), everything, only=["b"])) == [("b", "fail")]
    assert judge(job(), everything, only=["b"]).notes == ()


def test_a_measure_runs_once_for_each_set_of_parameters(measured):
    calls = measured(Reading(1.0))
    twice = {"parameters": {"kinds": ["spot"], "look": 4.0}}
    rules = [rule(name, fail="below 2 mm", **twice) for name in ("a", "b")]
    judge(job(), book(*rules, rule("c", fail="below 2 mm", parameters={"kinds": ["spot"], "look": 5.0})))
    assert calls == [{"kinds": ["spot"], "look": 4.0}, {"kinds": ["spot"], "look": 5.0}]


def test_rules_switched_off_are_told_with_their_reason():
    (off,) = judge(job(), book(off={"gap-narrow": "our gaps never close"})).switched_off
    assert (off.rule, off.because) == ("gap-narrow", "our gaps never close")


@pytest.mark.parametrize(
    ("want_of", "if_not_checked", "status", "needed"),
    [
        ("ticket", "note", "active", False),
        ("ticket", "warn", "active", True),
        ("file", "note", "active", True),
        ("press", "note", "active", False),
        ("press", "warn", "active", True),
        ("file", "note", "trial", False),
    ],
)
def test_what_ticket_or_press_leave_open_is_not_needed(measured, want_of, if_not_checked, status, needed):
    measured(raises=NotMeasured("nobody knows", "a word", want_of))
    counts_as = {"note": Verdict.PASS, "warn": Verdict.WARN}[if_not_checked]
    (entry,) = judge(job(), book(rule(fail="below 2 mm", if_not_checked=counts_as, status=status))).not_checked
    assert entry.needed is needed


# Waivers -----------------------------------------------------------------------------------------------------------

FULL = {
    "rule": "gap-narrow",
    "near": [11, 11],
    "artwork": "3f9a12",
    "reason": "agreed",
    "by": "AB",
    "until": "2026-06-01",
}


@pytest.mark.parametrize(
    ("change", "waived"),
    [
        ({}, True),
        ({"near": [17, 12]}, True),  # 5 mm beside the box
        ({"near": [17.1, 12]}, False),
        ({"near": [15.5, 15.5]}, True),  # 4.95 mm off a corner
        ({"near": [15.6, 15.6]}, False),
        ({"near": None}, True),
        ({"artwork": DIGEST}, True),
        ({"artwork": "3F9A12"}, True),
        ({"artwork": "3f9a13"}, False),
        ({"artwork": None}, True),
        ({"until": "2026-05-31"}, False),
        ({"until": None}, True),
        ({"rule": "gap-narrower"}, False),
        ({"rule": "gap"}, False),
    ],
)
def test_what_a_waiver_covers(measured, change, waived):
    measured(Reading(1.0, "mm", (at(10, 10, 2),)))
    ticket = {"waivers": [{**FULL, **change}]}
    judgement = judge(job(ticket=ticket), book(rule(fail="below 2 mm")), today=TODAY)
    assert judgement.verdict is (Verdict.PASS if waived else Verdict.FAIL)
    assert (len(judgement.waived), len(judgement.findings)) == ((1, 0) if waived else (0, 1))
    unknown = "rule" in change  # of which ticket-statement-unused asks
    assert len(judgement.notes) == (not waived and not unknown)  # a waiver that covers nothing is spoken of
    assert judgement.passed == ()


def test_a_waived_finding_is_kept_whole(measured):
    measured(Reading(1.0, "mm", (at(10, 10),)))
    (waived,) = judge(job(ticket={"waivers": [FULL]}), book(rule(fail="below 2 mm")), today=TODAY).waived
    assert (waived.finding.rule, waived.finding.verdict, waived.finding.measured) == (
        "gap-narrow",
        Verdict.FAIL,
        (1.0, "mm"),
    )
    assert (waived.reason, waived.by, waived.until, waived.remark) == ("agreed", "AB", "2026-06-01", "")


@pytest.mark.parametrize("missing", ["near", "artwork", "until", "by"])
def test_a_waiver_that_would_hide_the_next_fault_is_remarked_upon(measured, missing):
    measured(Reading(1.0, "mm", (at(10, 10),)))
    ticket = {"waivers": [{**FULL, missing: None}]}
    (waived,) = judge(job(ticket=ticket), book(rule(fail="below 2 mm")), today=TODAY).waived
    assert waived.remark


def test_a_waiver_covers_its_place_and_no_other(measured):
    near, far = at(10, 10), at(60, 60)
    measured(Reading(1.0, "mm", (near,)), Reading(0.5, "mm", (far,)), Reading(0.7, "mm", (near, far)))
    judgement = judge(job(ticket={"waivers": [FULL]}), book(rule(fail="below 2 mm")), today=TODAY)
    (waived,), (finding,) = judgement.waived, judgement.findings
    assert waived.finding.places == (near,)
    assert finding.places == (far, near)
    assert finding.measured == (0.5, "mm")


def test_a_reading_without_a_place_is_not_near_anything(measured):
    measured(Reading(1.0, "mm"))
    judgement = judge(job(ticket={"waivers": [FULL]}), book(rule(fail="below 2 mm")), today=TODAY)
    assert judgement.verdict is Verdict.FAIL


@pytest.mark.parametrize(
    ("name", "more", "said"),
    [
        ("gap-old", {"retired": frozenset({"gap-old"})}, "retired"),
        ("gap-off", {"off": {"gap-off": "x"}}, "switched off"),
    ],
)
def test_waivers_of_rules_that_do_not_run(measured, name, more, said):
    measured()
    ticket = {"waivers": [{**FULL, "rule": name}]}
    notes = judge(job(ticket=ticket), book(rule(fail="below 2 mm"), **more), today=TODAY).notes
    assert [said in note for note in notes if "waiver" in note and name in note] == [True]


# Words -------------------------------------------------------------------------------------------------------------


def test_a_fact_that_nothing_gives_is_named_in_the_notes(measured):
    measured(Reading(1.0, "mm"))
    judgement = judge(job(), book(rule(fail="below 2 mm", says="{raeding} {{x}} {reading}")))
    assert judgement.findings[0].says == "raeding {x} 1.0 mm"
    assert len(judgement.notes) == 1
    assert judgement.not_checked == ()


def test_facts_are_not_filled_in_twice(measured):
    measured(Reading(1.0, "mm", facts={"ink": "{reading}"}))
    assert judge(job(), book(rule(fail="below 2 mm", says="{ink}"))).findings[0].says == "{reading}"


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("gap_mm", 1.5, "1.5 mm"),
        ("area_mm2", 233.3, "233 mm²"),
        ("share_percent", 12.0, "12 %"),
        ("unit", 3, "3"),
        ("unit", np.int64(3), "3"),
        ("names", ["Black", "Cyan"], "Black, Cyan"),
        ("peak", (352.0, "%"), "352 %"),
        ("hidden", True, "yes"),
        ("ink", None, ""),
        ("ink", "Black", "Black"),
    ],
)
def test_facts_in_words(name, value, text):
    assert fact_text(name, value) == text


@pytest.mark.parametrize(
    ("value", "unit", "beside", "text"),
    [
        (0.0, "mm", "2 mm", "0.0 mm"),
        (1.97, "mm", "2 mm", "1.97 mm"),
        (0.2496, "mm", "0.25 mm", "0.2496 mm"),
        (340.4, "%", "340 %", "340.4 %"),
        (2.0, "mm", "2 mm", "2.0 mm"),
        ((1010.0, 700.0), "mm", "1000 x 700 mm", "1010 x 700 mm"),
        (True, "", "", "yes"),
        ("kraft", "", "white", "kraft"),
    ],
)
def test_a_reading_never_looks_like_the_limit_it_misses(value, unit, beside, text):
    assert reading_text(value, unit, beside) == text


def test_numbers_of_numpy_in_a_size_become_plain_ones(measured):
    of_numpy: tuple[Any, Any] = (np.float32(1060), np.float64(750.5))
    measured(Reading(of_numpy, "mm"))
    [finding] = judge(job(), book(rule(fail="above 1050 x 750 mm"))).findings
    size = finding.measured[0]
    assert isinstance(size, tuple)
    assert (size, [type(number) for number in size]) == ((1060.0, 750.5), [float, float])

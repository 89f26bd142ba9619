"""The message to the customer: their findings only, each sentence once, places as the report has them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import jsonschema
import pytest

from preflight.findings import Judgement, Place, Verdict
from preflight.inputs.ticket import Ticket
from preflight.job_facts import final_facts
from preflight.report.customer_message import MOST_PLACES, customer_points, headline, message_lines
from preflight.report.document import build_document
from preflight.report.document_schema import report_schema
from preflight.report.words import place_words
from tests.report_jobs import RUN, carton_job, carton_judgement, drawn_page, finding, small_job


@pytest.fixture(scope="module")
def carton() -> dict[str, Any]:
    return build_document([(final_facts(carton_job()), carton_judgement())], RUN)


def document_of(*findings, ticket=None, pages=1):
    job = replace(small_job(), ticket=ticket and Ticket.model_validate(ticket))
    parts = []
    for number in range(1, pages + 1):
        page = drawn_page(number, 60, 40, job.page.separations, None)
        own = tuple(f for f in findings if (f.places[0].page if f.places else 1) == number)
        parts.append((final_facts(replace(job, page=page)), Judgement(Verdict.FAIL, own)))
    return build_document(parts, RUN)


def at(x, y, page=1):
    return Place((x, y, x + 2, y + 3), page)


def told_at(x, y):
    """The place in the words of the report, on a page without a die."""
    return place_words({"where": "", "box_mm": (x, y, x + 2, y + 3)})


def test_it_has_every_sentence_for_the_customer_and_nothing_of_the_plants_own(carton):
    theirs = [f for f in carton["findings"] if f["customer"]]
    assert [s["text"] for s in carton["message"]["sentences"]] == [f["customer"] for f in theirs]
    assert [s["findings"] for s in carton["message"]["sentences"]] == [[f["number"]] for f in theirs]
    assert len(theirs) == 5 < len(carton["findings"])


def test_what_a_trial_rule_says_is_not_sent():
    document = document_of(finding("a", customer="Change it."), finding("b", customer="Try it.", trial=True))
    assert [s["text"] for s in document["message"]["sentences"]] == ["Change it."]


def test_places_are_told_in_the_words_of_the_report(carton):
    for sentence in carton["message"]["sentences"]:
        (number,) = sentence["findings"]
        places = carton["findings"][number - 1]["places"]
        assert sentence["where"][:3] == [place_words(place) for place in places[:3]]


def test_the_same_sentence_is_said_once_with_all_its_places():
    document = document_of(
        finding("a", customer="Is it one ink?", places=(at(3, 4),)),
        finding("b", customer="Too coarse."),
        finding("c", Verdict.WARN, customer="Is it one ink?", places=(at(20, 9), at(3, 4))),
    )
    assert document["message"]["sentences"] == [
        {"text": "Is it one ink?", "where": [told_at(3, 4), told_at(20, 9)], "findings": [1, 3]},
        {"text": "Too coarse.", "where": [], "findings": [2]},
    ]


def test_of_several_pages_each_place_names_its_own():
    document = document_of(
        finding("a", customer="Is it one ink?", places=(at(3, 4),)),
        finding("a", customer="Is it one ink?", places=(at(3, 4, 2),)),
        pages=2,
    )
    (sentence,) = document["message"]["sentences"]
    assert [words.partition(",")[0] for words in sentence["where"]] == ["page 1", "page 2"]
    assert sentence["findings"] == [1, 2]


@pytest.mark.parametrize(("count", "told", "last"), [(12, 12, None), (13, 13, None), (14, 13, "and 2 more places")])
def test_of_very_many_places_the_first_are_told_and_the_rest_counted(count, told, last):
    places = tuple(at(3 * k, 4) for k in range(count))
    (sentence,) = document_of(finding("a", customer="Move it.", places=places))["message"]["sentences"]
    assert len(sentence["where"]) == told
    assert MOST_PLACES == 12
    if last:
        assert sentence["where"][-1] == last


@pytest.mark.parametrize(
    ("ticket", "subject"),
    [
        ({"ticket": "88-C", "title": "Sage tea"}, "card.pdf, Sage tea (88-C): 2 points to settle"),
        ({"ticket": "88-C"}, "card.pdf, 88-C: 2 points to settle"),
        ({"title": "Sage tea"}, "card.pdf, Sage tea: 2 points to settle"),
        (None, "card.pdf: 2 points to settle"),
    ],
)
def test_the_subject_names_file_and_job(ticket, subject):
    document = document_of(finding("a", customer="One."), finding("b", customer="Two."), ticket=ticket)
    assert document["message"]["subject"] == subject


def test_as_text_it_is_numbered_with_the_places_under_each_sentence_and_no_greeting():
    document = document_of(
        finding("a", customer="It is 4 mm2 large.", places=(at(3, 4), at(20, 9))),
        finding("b", customer="Send the font."),
        finding("c", customer="Move it.", places=(at(30, 9),)),
    )
    lines = message_lines(document["message"])
    assert lines[:-2] == [
        "Subject: card.pdf: 3 points to settle",
        "",
        "1. It is 4 mm² large.",
        "   Where:",
        f"   - {told_at(3, 4)}",
        f"   - {told_at(20, 9)}",
        "",
        "2. Send the font.",
        "",
        "3. Move it.",
        f"   Where: {told_at(30, 9)}",
    ]
    assert lines[-2:] == ["", document["message"]["note"]]


def test_a_place_that_the_sentence_names_is_not_told_twice():
    told = told_at(3, 4)
    for says in (f"Small type, {told}.", f"{told.upper()}, there is small type."):
        document = document_of(finding("a", customer=says, places=(at(3, 4), at(20, 9))))
        text = "\n".join(message_lines(document["message"]))
        assert text.casefold().count(told) == 1
        assert told_at(20, 9) in text


def test_the_note_explains_what_is_used(carton):
    placed = document_of(finding("a", customer="Move it.", places=(at(3, 4),)))["message"]["note"]
    assert "lower-left" in placed
    assert "anels" not in placed
    assert carton["message"]["note"].startswith(placed)
    assert "Panels are lettered" in carton["message"]["note"]
    assert document_of(finding("a", customer="Send the font."))["message"]["note"] == ""


def test_without_anything_for_the_customer_it_is_empty():
    message = document_of(finding("a"))["message"]
    assert (message["sentences"], message["note"]) == ([], "")
    assert message["subject"] == "card.pdf"


def test_the_schema_knows_it(carton):
    schema = report_schema()
    jsonschema.Draft202012Validator(schema).validate(carton)
    broken = {**carton, "message": {**carton["message"], "sentences": [{"text": "x", "where": []}]}}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema).validate(broken)


def test_points_have_the_numbers_of_the_message_the_worst_verdict_and_all_places():
    document = document_of(
        finding("a", Verdict.WARN, customer="Is it one ink?", places=(at(3, 4),)),
        finding("b"),
        finding("c", customer="Is it one ink?", places=(at(20, 9), at(3, 4))),
        finding("d", Verdict.WARN, customer="Which?"),
    )
    points = customer_points(document)
    assert [(p["number"], p["verdict"], p["text"], p["page"]) for p in points] == [
        (1, "fail", "Is it one ink?", 1),
        (2, "warn", "Which?", 1),
    ]
    assert [place["box_mm"][:2] for place in points[0]["places"]] == [[20, 9], [3, 4]]


@pytest.mark.parametrize(
    ("verdicts", "complete", "holds"),
    [
        (["fail", "fail", "warn"], True, ["2 faults", "1 query"]),
        (["fail"], False, ["1 fault"]),
        (["warn", "warn"], True, ["2 queries"]),
        ([], True, ["Nothing"]),
        ([], False, ["Nothing", "not everything has been checked"]),
    ],
)
def test_the_headline_counts_what_is_theirs(verdicts, complete, holds):
    told = headline([{"verdict": word} for word in verdicts], complete=complete)
    assert [words for words in holds if words not in told] == []
    assert ("quer" in told) == ("warn" in verdicts)
    assert ("fault" in told) == ("fail" in verdicts)

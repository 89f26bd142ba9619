"""The waiver that stands under each finding: pasted into the ticket as it is, it waives the finding."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import pytest
import yaml

from preflight import check
from preflight.findings import Judgement, Place, Verdict
from preflight.job_facts import final_facts
from preflight.judging.waivers import MOST_POINTS, waiver_to_paste
from preflight.report.document import build_document
from tests.house import SIX_UNITS, printed
from tests.report_jobs import RUN, finding, small_job

DIGEST = "123456789012" + "e" * 52
DAY = date(2027, 2, 28)


def lines_for(*boxes, digest=DIGEST):
    """The waivers of a finding with these places, as YAML reads them."""
    return yaml.safe_load(waiver_to_paste("text-too-small", boxes, digest, DAY))["waivers"]


def test_it_names_rule_place_artwork_and_a_year_and_leaves_who_and_why_open():
    assert lines_for([100, 40, 141, 50.4]) == [
        {
            "rule": "text-too-small", "near": [120.5, 45.2], "artwork": "123456789012", "reason": "", "by": "",
            "until": date(2028, 2, 28),
        }
    ]  # fmt: skip


def test_places_within_5_mm_of_a_point_need_no_line_of_their_own():
    """(12, 11) is the middle of the first; the second begins 4.9 mm from it, the third 5.1 mm, the fourth covers it."""
    boxes = ([11, 10, 13, 12], [16.9, 10, 30, 12], [17.1, 10, 31.1, 12], [0, 0, 90, 80])
    assert [line["near"] for line in lines_for(*boxes)] == [[12, 11], [24.1, 11]]


def test_a_finding_without_a_place_is_waived_by_its_rule():
    (line,) = lines_for()
    assert "near" not in line


def test_lines_are_bounded_and_the_text_says_how_many_are_left_out():
    boxes = [[20.0 * k, 3, 20.0 * k + 1, 4] for k in range(MOST_POINTS + 7)]
    assert len(lines_for(*boxes)) == MOST_POINTS
    assert "# 7 more" in waiver_to_paste("a", boxes, DIGEST, DAY)
    assert "#" not in waiver_to_paste("a", boxes[:MOST_POINTS], DIGEST, DAY)


def test_every_finding_has_one_and_what_is_waived_has_none():
    facts = final_facts(small_job())
    judgement = Judgement(Verdict.FAIL, (finding("a", places=(Place((1, 2, 5, 8)),)), finding("b")))
    document = build_document([(facts, judgement)], RUN)
    texts = [yaml.safe_load(f["waiver_to_paste"])["waivers"][0] for f in document["findings"]]
    assert [text["rule"] for text in texts] == ["a", "b"]
    assert {text["artwork"] for text in texts} == {"0" * 12}
    assert {text["until"] for text in texts} == {RUN.when.date() + timedelta(days=365)}


@pytest.fixture
def ticket(tmp_path: Path) -> Path:
    """A carton with one ink under two names, the second in two places 60 mm apart."""
    page = (
        printed("Mill Brown").fill("MILL BROWN C", rect=(60, 60, 64, 63)).fill("MILL BROWN C", rect=(28, 120, 34, 126))
    )
    page.save(tmp_path / "art.pdf")
    (tmp_path / "press.yaml").write_text(json.dumps(SIX_UNITS))
    path = tmp_path / "ticket.yaml"
    path.write_text("artwork: art.pdf\npress: press.yaml\nartwork_is: one-up\n")
    return path


def filled_in(waiver: str) -> str:
    return waiver.replace('reason: ""', "reason: agreed on the phone").replace('by: ""', "by: AB")


def test_pasted_into_the_ticket_it_waives_the_finding_and_nothing_else(ticket):
    with check(ticket) as report:
        before = report.document
    (own,) = [f for f in before["findings"] if f["rule"] == "spot-named-twice"]
    assert len(own["places"]) == 2
    ticket.write_text(ticket.read_text() + filled_in(own["waiver_to_paste"]))
    with check(ticket) as report:
        after = report.document
    assert [waived["rule"] for waived in after["waived"]] == ["spot-named-twice"]
    assert [f["rule"] for f in after["findings"]] == [
        f["rule"] for f in before["findings"] if f["rule"] != "spot-named-twice"
    ]


def test_one_that_nobody_has_filled_in_is_remarked_upon(ticket):
    with check(ticket) as report:
        (own,) = [f for f in report.document["findings"] if f["rule"] == "spot-named-twice"]
    ticket.write_text(ticket.read_text() + own["waiver_to_paste"])
    with check(ticket) as report:
        assert "who agreed" in report.document["waived"][0]["waiver"]["remark"]
        assert "waiver-unbounded" in [finding["rule"] for finding in report.document["findings"]]
    filled = filled_in(own["waiver_to_paste"])
    ticket.write_text(ticket.read_text().partition("waivers:")[0] + filled)
    with check(ticket) as report:
        waiver = report.document["waived"][0]["waiver"]
    assert (waiver["reason"], waiver["by"], waiver["remark"]) == ("agreed on the phone", "AB", "")

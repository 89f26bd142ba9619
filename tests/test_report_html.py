"""The report page: whole without a script, nothing from outside, and no name that can act."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace
from typing import Any

import pytest

from preflight.findings import Judgement, NotChecked, Place, Verdict
from preflight.job_facts import final_facts
from preflight.report.customer_message import message_lines
from preflight.report.document import build_document
from preflight.report.html import _page_view, _ruler_step, render_html, strip_columns
from preflight.report.pictures import PagePictures
from preflight.report.templates import environment
from tests.report_jobs import RUN, carton_job, carton_judgement, drawn_page, finding, pictures_of, small_job
from tests.report_page import ReportPage

HOSTILE = (
    "<script>alert(1)</script><img src=x onerror=alert(2)>\"' {{7*7}} \u202egpj.exe\u200b\x1b[31m\x00&amp;" + "Ä" * 120
)


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return build_document([(final_facts(carton_job()), carton_judgement())], RUN)


@pytest.fixture(scope="module")
def html(document) -> str:
    return render_html(document, [pictures_of(carton_job())])


@pytest.fixture(scope="module")
def page(html) -> ReportPage:
    return ReportPage(html)


def squeezed(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def test_everything_a_finding_says_stands_in_the_text(page, document):
    text = squeezed(page.text)
    assert document["sentence"] in text
    for f in document["findings"]:
        for key in ("says", "why", "do", "customer", "rule", "source"):
            assert f[key] in text
    for entry in document["not_checked"]:
        assert entry["because"] in text
        assert entry["would_help"] in text
    for entry in document["not_asked"]:
        assert entry["rule"] in text
        assert entry["because"] in text
    for words in (*document["passed"], *document["assumed"], *document["notes"], *document["cautions"]):
        assert words in text


def test_the_verdict_comes_first_and_the_caution_below_the_findings(page, document):
    text = squeezed(page.text)
    body = text[text.index(document["sentence"]) :]
    order = [
        body.index(document["artwork"]["sha256"]),
        body.index(document["findings"][-1]["why"]),
        body.index(document["cautions"][0]),
        body.index("Separations"),
        body.index(document["not_checked"][0]["because"]),
    ]
    assert order == sorted(order)


def test_numbers_lead_to_rows_and_rows_to_places(page, document):
    ids = page.ids()
    assert len(ids) == len(set(ids))
    targets = [a["href"][1:] for tag, a in page.elements if tag == "a"]
    assert set(targets) <= {*ids, "f0"}
    for f in document["findings"]:
        assert f"f{f['number']}" in targets
        assert f"p1f{f['number']}k0" in targets


def test_under_each_finding_its_waiver_is_folded_and_can_be_copied(page, document):
    assert len(page.having(class_="waiver")) == len(document["findings"])
    assert {a["data-copy"] for a in page.having(class_="copy")} >= {f"w{f['number']}" for f in document["findings"]}
    for f in document["findings"]:
        assert f["waiver_to_paste"] in page.text


def test_the_message_to_the_customer_stands_as_it_is_sent(page, document):
    assert "\n".join(message_lines(document["message"])) in page.text
    assert "message-text" in {a["data-copy"] for a in page.having(class_="copy")}
    assert "#message" in {a.get("href") for _, a in page.elements}


def test_every_plate_can_be_looked_at_without_a_script(page):
    picks = [a["id"] for a in page.having(class_="pick")]
    labels = [a["for"] for tag, a in page.elements if tag == "label"]
    assert len(picks) == 7  # six plates, and all together
    assert set(picks) <= set(labels)
    for index in range(6):
        assert f".pick{index}:checked" in page.raw["style"]


def test_nothing_is_fetched_and_only_known_script_and_style_run(html, page):
    policy = next(a["content"] for tag, a in page.elements if a.get("http-equiv") == "Content-Security-Policy")
    assert "default-src 'none'" in policy
    for kind in ("style", "script"):
        digest = base64.b64encode(hashlib.sha256(page.raw[kind].encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in policy
    for tag, attributes in page.elements:
        assert "style" not in attributes
        assert not [key for key in attributes if key.startswith("on")]
        for key in ("href", "src"):
            assert attributes.get(key, "#").startswith(("#", "data:image/")), tag
    assert not re.search(r"url\((?!#)", html)
    assert "http" not in page.raw["style"] + page.raw["script"]


def test_the_page_of_a_usual_job_is_under_two_megabytes(html):
    assert len(html.encode()) < 2_000_000


def hostile_page() -> ReportPage:
    job = small_job(HOSTILE)
    place = Place((1, 1, 2, 2), 1, HOSTILE, HOSTILE)
    bad = finding(
        HOSTILE, says=HOSTILE, why=HOSTILE, do=HOSTILE, customer=HOSTILE, source=HOSTILE, limit=None,
        limit_words=HOSTILE, measured=(HOSTILE, HOSTILE), places=(place,),
    )  # fmt: skip
    judgement = Judgement(Verdict.FAIL, (bad,), (), (NotChecked(HOSTILE, HOSTILE, HOSTILE),), (HOSTILE,), (HOSTILE,))
    return ReportPage(render_html(build_document([(final_facts(job), judgement)], RUN), [pictures_of(job)]))


def test_hostile_names_stay_text():
    page = hostile_page()
    assert sum(tag == "script" for tag, _ in page.elements) == 1
    assert not [tag for tag, _ in page.elements if tag in ("img", "iframe", "object", "base", "form")]
    assert "alert" not in page.raw["script"]
    assert "<script>alert(1)</script>" in page.text
    assert "{{7*7}}" in page.text


def test_characters_that_steer_the_screen_are_written_out():
    page = hostile_page()
    everything = page.text + "".join(value for _, a in page.elements for value in a.values())
    assert not set("\u202e\u200b\x1b\x00") & set(everything)
    assert "[U+202E]" in page.text


@pytest.mark.parametrize(
    "judgement",
    [
        pytest.param(Judgement(Verdict.PASS, ()), id="pass"),
        pytest.param(Judgement(Verdict.PASS, (), not_checked=(NotChecked("a", "b"),)), id="incomplete"),
        pytest.param(Judgement(Verdict.WARN, (finding("a", Verdict.WARN, limit=None),)), id="no limit, no place"),
    ],
)
def test_pages_without_pictures_places_or_findings_are_whole(judgement):
    document = build_document([(final_facts(small_job()), judgement)], RUN)
    page = ReportPage(render_html(document))
    assert document["sentence"] in squeezed(page.text)
    assert page.having(class_="finding") == [] or judgement.findings


def test_each_page_is_a_section_of_its_own():
    first, second = small_job(), small_job()
    second = replace(second, page=drawn_page(2, 60, 40, second.page.separations, None))
    judgement = Judgement(Verdict.FAIL, (finding("a", places=(Place((1, 1, 2, 2), 1),)),))
    document = build_document([(final_facts(first), judgement), (final_facts(second), judgement)], RUN)
    page = ReportPage(render_html(document, [pictures_of(first), pictures_of(second)]))
    ids = page.ids()
    assert len(ids) == len(set(ids))
    assert {"page1", "page2", "f1", "f2"} <= set(ids)


def test_places_over_the_bound_are_counted_not_lost():
    places = tuple(Place((k % 50, k // 50, k % 50 + 0.5, k // 50 + 0.5), 1) for k in range(2000))
    document = build_document(
        [(final_facts(small_job()), Judgement(Verdict.FAIL, (finding("a", places=places),)))], RUN
    )
    html = render_html(document, [pictures_of(small_job())])
    assert len(html) < 400_000
    assert "1997 more places" in squeezed(ReportPage(html).text)
    assert len(document["findings"][0]["places"]) == 2000


# How a page is laid out --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("page_mm", "most", "step"),
    [
        ((120, 40), 12, 10),
        ((40, 120), 12, 10),
        ((121, 40), 12, 20),
        ((12, 5), 12, 1),
        ((12.1, 5), 12, 2),
        ((420, 346), 5, 100),
        ((1040, 740), 12, 100),
        ((6000, 740), 12, 500),
        ((90_000, 740), 12, 500),  # the largest step there is
    ],
)
def test_rulers_have_round_steps(page_mm, most, step):
    assert _ruler_step(page_mm, most) == step


@pytest.mark.parametrize(("tabs", "columns"), [(1, 1), (9, 9), (10, 5), (11, 6), (18, 9), (19, 7), (28, 7)])
def test_plates_stand_in_even_rows(tabs, columns):
    assert strip_columns(tabs) == columns


def test_a_page_is_seen_with_room_for_its_rulers():
    """60 x 40 mm on 780 x 620 points: a pin of 11 points has a radius of 11/13 mm, and the room is 2.2 of those."""
    document = build_document([(final_facts(small_job()), Judgement(Verdict.PASS, ()))], RUN)
    view = _page_view(document["pages"][0], None)
    radius, room = 11 / 13, 2.2 * 11 / 13
    assert (view["width"], view["height"]) == (60, 40)
    assert (view["radius"], view["room"]) == pytest.approx((radius, room))
    assert view["phone_radius"] == pytest.approx(8.5 * 60 / 340)
    assert view["view"] == pytest.approx([-room, -0.5 * room, 60 + 1.5 * room, 40 + 1.6 * room])
    assert view["rulers"] == [("desk", 5, pytest.approx(radius)), ("phone", 20, pytest.approx(1.5))]
    assert (view["plates"], view["marks"], view["columns"], view["wrong"]) == ([], [], 1, [])


def test_a_view_has_its_pins_plates_and_rows():
    places = tuple(Place((4 + 9 * k, 5, 5 + 9 * k, 6), 1) for k in range(5))
    found = (finding("a", places=places), finding("b", Verdict.WARN))
    document = build_document([(final_facts(small_job()), Judgement(Verdict.FAIL, found))], RUN)
    view = _page_view(document["pages"][0], pictures_of(small_job()))
    assert [plate.name for plate, _ in view["plates"]] == ["Leaf"]
    assert view["plates"][0][1]["cover"] == 0.2
    assert view["columns"] == 2
    assert [pins["for"] for pins in view["pins"]] == ["desk", "phone"]
    assert [len(pins["marks"]) for pins in view["pins"]] == [5, 1]
    assert all(mark.pin for pins in view["pins"] for mark in pins["marks"])
    first, second = view["wrong"]
    assert (first["pins"], second["pins"]) == (5, 0)
    assert (len(first["first"]), len(first["folded"]), first["left_out"]) == (3, 2, 0)
    assert first["scale"] is not None
    assert first["measured"] == ("1.0 mm", "limit: minimum 2 mm")


@pytest.mark.parametrize(
    ("count", "folded", "left_out"), [(3, 0, 0), (4, 1, 0), (80, 77, 0), (81, 77, 1), (90, 77, 10)]
)
def test_a_row_shows_three_places_folds_others_away_and_counts_the_rest(count, folded, left_out):
    places = tuple(Place((k % 50, k // 50, k % 50 + 0.5, k // 50 + 0.5), 1) for k in range(count))
    document = build_document(
        [(final_facts(small_job()), Judgement(Verdict.FAIL, (finding("a", places=places),)))], RUN
    )
    [row] = _page_view(document["pages"][0], None)["wrong"]
    assert (len(row["first"]), len(row["folded"]), row["left_out"]) == (3, folded, left_out)
    assert row["first"] + row["folded"] == document["findings"][0]["places"][: 3 + folded]


def test_a_plate_of_no_known_separation_has_no_cover():
    document = build_document([(final_facts(small_job()), Judgement(Verdict.PASS, ()))], RUN)
    other = replace(pictures_of(small_job()).plates[0], name="Fern")
    [(_, known)] = _page_view(document["pages"][0], PagePictures(1, "", (other,)))["plates"]
    assert known["cover"] is None


@pytest.mark.parametrize(("value", "written"), [(3, "3"), (3.1, "3.1"), (3.456, "3.46"), (-0.5, "-0.5"), (100, "100")])
def test_coordinates_are_written_short(value, written):
    assert environment().filters["mm"](value) == written


def test_each_page_has_its_own_pictures(document):
    first, second = small_job(), small_job()
    second = replace(second, page=drawn_page(2, 60, 40, second.page.separations, second.plates))
    judgement = Judgement(Verdict.PASS, ())
    both = build_document([(final_facts(first), judgement), (final_facts(second), judgement)], RUN)
    only_second = render_html(both, [pictures_of(second)])
    assert 'id="p2all"' in only_second
    assert 'id="p1all"' not in only_second
    assert ".pick0:checked" in only_second
    assert ".pick1:checked" not in only_second
    assert ".columns1{" in only_second
    assert ".columns2{" in only_second
    assert ".pick0:checked" not in render_html(both)

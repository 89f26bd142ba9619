"""The page and its customer edition for everybody: landmarks, headings, labels, names, contrast, phones and paper."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib.resources import files

import pytest

from preflight.findings import Judgement, Place, Verdict
from preflight.job_facts import final_facts
from preflight.report.document import build_document
from preflight.report.html import render_customer_html, render_html
from tests.report_jobs import RUN, carton_job, carton_judgement, drawn_page, finding, pictures_of, small_job
from tests.report_page import ReportPage

CSS = files("preflight.report").joinpath("page.css").read_text()
DARK = "@media screen and (prefers-color-scheme:dark)"
EDITIONS = {"page": render_html, "customer": render_customer_html}


def carton():
    return build_document([(final_facts(carton_job()), carton_judgement())], RUN), [pictures_of(carton_job())]


def bare():
    """Nothing found, no die, no pictures."""
    return build_document([(final_facts(small_job()), Judgement(Verdict.PASS, ()))], RUN), []


def two_pages():
    first, second = small_job(), small_job()
    second = replace(second, page=drawn_page(2, 60, 40, second.page.separations, None))
    jobs = ((first, Place((3, 4, 9, 9), 1)), (second, Place((13, 14, 19, 19), 2)))
    parts = [
        (final_facts(job), Judgement(Verdict.FAIL, (finding("a", customer="Too coarse.", places=(place,)),)))
        for job, place in jobs
    ]
    return build_document(parts, RUN), [pictures_of(job) for job, _ in jobs]


JOBS = {"carton": carton, "bare": bare, "two pages": two_pages}


@pytest.fixture(
    scope="module",
    params=[(edition, job) for edition in EDITIONS for job in JOBS],
    ids=lambda both: f"{both[0]}, {both[1]}",
)
def page(request):
    edition, job = request.param
    return ReportPage(EDITIONS[edition](*JOBS[job]()))


def test_it_says_its_language_and_its_title(page):
    assert [a["lang"] for tag, a in page.elements if tag == "html"] == ["en"]
    assert sum(tag == "title" for tag, _ in page.elements) == 1
    assert "card.pdf" in page.text or "wrenfold-oat.pdf" in page.text


def test_it_can_be_enlarged(page):
    (viewport,) = (a["content"] for _, a in page.elements if a.get("name") == "viewport")
    assert "maximum-scale" not in viewport
    assert "user-scalable" not in viewport


def test_all_of_it_stands_in_one_header_and_one_main(page):
    assert [tag for tag, _ in page.elements if tag in ("header", "main", "footer", "nav")] == ["header", "main"]
    assert page.children_of("body") == ["header", "main", "script"]


def test_headings_go_down_one_level_at_a_time(page):
    levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert [(a, b) for a, b in zip(levels, levels[1:], strict=False) if b > a + 1] == []


def test_no_id_is_given_twice_and_what_points_at_one_finds_it(page):
    ids = page.ids()
    assert len(ids) == len(set(ids))
    for _, a in page.elements:
        for key in ("for", "aria-labelledby", "aria-describedby", "data-copy"):
            assert a.get(key, ids[0]) in ids


def test_every_control_has_a_name(page):
    labelled = {a["for"] for tag, a in page.elements if tag == "label"}
    for tag, a in page.elements:
        if tag == "input":
            assert a["id"] in labelled
        if tag in ("svg", "image") and a.get("aria-hidden") != "true":
            assert tag == "image" or a.get("role") != "img" or a["aria-label"]
    assert [words for tag, words in page.named if tag in ("button", "a", "summary", "label") and not words] == []


def test_what_the_keyboard_stops_at_is_a_link_a_control_or_a_named_region(page):
    stops = [(tag, a) for tag, a in page.elements if a.get("tabindex") == "0"]
    assert {tag for tag, _ in stops} == {"div"}
    names = [a["aria-label"] for _, a in stops if a["role"] == "region"]
    assert len(names) == len(set(names)) == len(stops)


def test_buttons_that_copy_say_what_they_copy(page):
    told = [a["aria-label"] for a in page.having(class_="copy")]
    assert len(told) == len(set(told))
    assert all(words.startswith("Copy ") for words in told)  # the word that is seen comes first in the one that is read


def test_lists_and_definitions_hold_only_what_belongs_in_them(page):
    for parent, child in page.nested:
        if parent in ("ol", "ul"):
            assert child == "li"
        if child in ("dt", "dd"):
            assert parent == "div"
        if parent == "dl":
            assert child == "div"


# Contrast -------------------------------------------------------------------------------------------------------------


def colours(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z-]+):(#[0-9a-f]{6})\b", block))


LIGHT = colours(CSS.partition(DARK)[0])
SCHEMES = {"light": LIGHT, "dark": {**LIGHT, **colours(CSS.partition(DARK)[2].partition("}")[0])}}


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("ground", ["paper", "chosen", "shade", "hover", "stage"])
@pytest.mark.parametrize(
    "name", ["ink", "soft", "fault", "query", "query-deep", "remark", "pass", "mark", "focus", "strong"]
)
def test_words_can_be_read_on_every_ground(scheme, ground, name):
    assert contrast(SCHEMES[scheme][name], SCHEMES[scheme][ground]) >= 4.5  # WCAG 2.2, 1.4.3, level AA


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("name", ["edge", "focus"])
def test_edges_of_controls_can_be_seen(scheme, name):
    for ground in ("paper", "chosen", "stage"):
        assert contrast(SCHEMES[scheme][name], SCHEMES[scheme][ground]) >= 3  # WCAG 2.2, 1.4.11, level AA


def test_the_dark_scheme_gives_every_colour_anew_and_leaves_the_artwork_as_it_is():
    assert SCHEMES["dark"].keys() == LIGHT.keys() == colours(CSS.partition(DARK)[2].partition("}")[0]).keys()
    over_art = colours(CSS.partition(DARK)[2].partition(".art{")[2].partition("}")[0])
    assert {name: LIGHT[name] for name in over_art} == over_art
    assert {"paper", "ink", "fault", "query", "query-deep", "remark", "mark"} <= over_art.keys()


def test_colours_outside_the_artwork_are_those_of_the_scheme():
    """A colour written out would stay as it is where the scheme is dark."""
    rules = re.findall(r"([^{}]+)\{([^{}]*#[0-9a-fA-F]{3,6}[^{}]*)\}", CSS.partition("@media print")[0])
    on_art = re.compile(r":root|\.art\b|\.letters|\.die|\.uncertain|\.mark|\.pin|\.ruler \.inside|\.tab svg")
    assert [selector for selector, _ in rules if not on_art.search(selector)] == []


# Phones and paper -----------------------------------------------------------------------------------------------------


def test_verdict_and_findings_come_before_the_picture(page):
    at = [
        page.elements.index(each)
        for each in page.elements
        if each[0] == "h1" or each[1].get("class") in ("list", "look")
    ]
    kinds = [page.elements[k][1].get("class", "verdict") for k in at]
    assert kinds[:3] == ["verdict", "list", "look"]


def test_on_a_phone_the_data_come_after_the_findings():
    phone = CSS.partition("@media (max-width:640px)")[2].partition("@media")[0]
    assert "header{display:contents}" in phone
    assert ".facts{order:1" in phone
    assert ".subject{display:block" in phone  # what the page is about stays at its head


def test_on_paper_every_fold_is_open():
    paper = CSS.partition("@media print")[2]
    assert "details::details-content{content-visibility:visible" in paper
    script = files("preflight.report").joinpath("page.js").read_text()
    assert 'querySelectorAll("details:not([open])")' in script.partition("beforeprint")[2]

"""The page of a comparison: what it says, that it needs nothing but itself, and that it works without its script."""

from __future__ import annotations

import copy
import html
import re
import shutil
import subprocess
from functools import cache
from importlib.resources import files

import pytest

from preflight.report.compare_html import render_compare_html
from preflight.report.difference_picture import LESS, MORE, STAYED
from preflight.report.templates import digest_of
from tests import compared_cards as cards
from tests.report_page import ReportPage
from tests.test_plain_words import banned, page_text
from tests.test_report_access import contrast
from tests.test_setup_html import ASKS

CASES = {"changed": cards.changed, "same": cards.same, "sheet": cards.on_sheet}
CSS = files("preflight.report").joinpath("compare.css").read_text()


@cache
def page_of(name):
    return render_compare_html(*CASES[name]())


@cache
def parsed(name):
    return ReportPage(page_of(name))


def text_of(page):
    return re.sub(r"\s+", " ", page_text(page))


# What it says ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", CASES)
def test_the_first_line_is_the_sentence_to_forward(name):
    document, _ = CASES[name]()
    (title,) = re.findall(r"<h1>.*?<span>(.*?)</span></h1>", page_of(name), re.DOTALL)
    assert html.unescape(title) == document["says"]


def test_both_files_are_told_with_digest_and_date():
    document, _ = cards.changed()
    text = text_of(page_of("changed"))
    for which in ("old", "new"):
        file = document["files"][which]
        assert f"{which}.pdf, 1 page, written " in text
        assert f"SHA-256 {file['sha256']}" in text
    assert f"by {document['made']['tool']}, as two revisions" in text


def test_what_changed_is_told_plate_by_plate_those_that_changed_first():
    text = text_of(page_of("changed"))
    told = [
        "Black edited Edited in 1 place 0.13 % 1",
        "Matt Varnish moved not declared Moved by 0.10 mm to the right 0.23 % +0.10, 0.00 mm",
        "Cyan same",
    ]
    assert all(words in text for words in told)
    assert sorted(told, key=text.index) == told


def test_plates_to_remake_and_to_keep_and_what_the_ticket_declares():
    text = text_of(page_of("changed"))
    assert "Plates to remake: 3 Black Mill Brown Matt Varnish Plates that can stay: 3 Cyan Magenta Yellow" in text
    assert "The ticket declares changes of Black and Cyan." in text
    assert "Changed and not declared on the ticket: Mill Brown and Matt Varnish." in text
    assert "Declared and not changed: Cyan." in text


def test_words_that_changed_are_beside_each_other():
    page = page_of("changed")
    assert "<del>500</del>" in page
    assert "<ins>450</ins>" in page
    assert "14 mm from the left, 48 mm up" in page


def test_what_could_not_be_compared_and_pages_and_notes_are_told():
    document = {**cards.same()[0], "not_compared": ["page 3: it is <too> large"]}
    document |= {"pages": ["The TrimBox is another one"], "notes": ["A note"]}
    text = text_of(render_compare_html(document))
    for words in ("Not compared Page 3: it is <too> large.", "The TrimBox is another one.", "A note."):
        assert words in text


def test_files_that_are_equal_have_no_pictures_and_nothing_to_remake():
    page = parsed("same")
    assert "Plates to remake: none" in text_of(page_of("same"))
    assert page.having(class_="slide") == page.having(class_="triple") == []


def test_the_page_can_do_without_pictures():
    document, _ = cards.changed()
    page = render_compare_html(document)
    assert "<image" not in page
    assert text_of(page)[:400] == text_of(page_of("changed"))[:400]


@pytest.mark.parametrize("name", CASES)
def test_no_banned_words(name):
    assert banned(text_of(page_of(name))) == []


# Pictures ----------------------------------------------------------------------------------------------------------


def test_every_plate_that_changed_is_shown_old_new_and_difference():
    titles = re.findall(r"<h2><bdi>(.*?)</bdi>: (.*?)</h2>", page_of("changed"))
    assert titles == [("Black", "edited"), ("Mill Brown", "tone"), ("Matt Varnish", "moved")]
    shown = re.findall(r'<svg class="art"[^>]*role="img" aria-label="(.*?)"', page_of("changed"))
    for said in ("Old", "New", "difference"):
        assert f"Black, place 1: 13 x 10 mm round (18, 50) mm: {said}" in shown


def test_numbers_of_the_table_lead_to_their_pictures():
    page = page_of("changed")
    assert '<a href="#place1">1</a>' in page
    assert re.search(r'<div id="place1"><h3 class="view">Place 1: ', page)


def test_numbers_are_on_both_looks_and_on_the_difference():
    (look,) = re.findall(r'<section class="looks">.*?</section>', page_of("changed"), re.DOTALL)
    assert len(re.findall(r'text-anchor="middle">1</text>', look)) == 3


def test_what_is_less_and_what_is_more_is_told_by_sign_and_word_too():
    text = text_of(page_of("changed"))
    assert "− less ink than before" in text
    assert "+ more ink" in text


def test_less_more_and_stayed_are_three_steps_of_grey():
    less, more, stayed = ("#" + "".join(f"{part:02x}" for part in colour) for colour in (LESS, MORE, STAYED))
    assert contrast(less, more) >= 3
    assert contrast(less, stayed) >= 1.5
    assert contrast(more, stayed) >= 4.5


def test_the_sheet_has_its_blanks_by_number_word_sign_and_hatch():
    page, text = page_of("sheet"), text_of(page_of("sheet"))
    for kind, number, word in (
        ("missing", 2, "missing"),
        ("turned", 6, "turned"),
        ("moved", 8, "moved"),
        ("other", 11, "other art"),
    ):
        (blank,) = re.findall(rf'<g class="blank {kind} wrong">(.*?</text>)</g>', page, re.DOTALL)
        assert f"url(#sheet1-{kind})" in blank
        assert f">{number}</text>" in blank
        assert f">{word}</text>" in blank
        assert 'class="change"' in blank
        assert f'<div id="blank{number}">' in page
    assert page.count('<g class="blank same">') == 8
    assert "8 moved one-up.pdf 0.30 mm Blank 8 is moved by 0.30 mm to the right against its die." in text
    assert "1 blank of older.pdf" in text


# Without a network, without a script ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", CASES)
def test_the_policy_names_the_one_style_and_the_one_script(name):
    page = parsed(name)
    (policy,) = (a["content"] for _, a in page.elements if a.get("http-equiv") == "Content-Security-Policy")
    assert f"style-src 'sha256-{digest_of(page.raw['style'])}';" in policy
    assert f"script-src 'sha256-{digest_of(page.raw['script'])}';" in policy
    assert policy.startswith("default-src 'none'; img-src data:;")
    assert [tag for tag, _ in page.elements].count("script") == 1


@pytest.mark.parametrize("name", CASES)
def test_nothing_is_fetched_and_nothing_is_styled_or_run_in_place(name):
    page = parsed(name)
    assert "http" not in page.raw["style"] + page.raw["script"]
    for _, attributes in page.elements:
        assert not [key for key in attributes if key == "style" or key.startswith("on")]
        for key in ("src", "href"):
            assert attributes.get(key, "#").startswith(("#", "data:image/"))


def test_without_the_script_there_are_three_pictures_and_no_slider():
    assert "html:not(.scripted) .slide{display:none}" in CSS
    assert "scripted" not in page_of("changed").partition("<body")[2].partition("<script>")[0]
    page = parsed("changed")
    assert len(page.having(class_="slide")) == len(page.having(class_="triple")) > 0


def test_every_slider_is_a_named_range_of_the_keyboard():
    page = parsed("changed")
    ranges = [a for tag, a in page.elements if tag == "input"]
    assert ranges
    assert all(a["type"] == "range" and (a["min"], a["max"], a["step"]) == ("0", "100", "1") for a in ranges)
    names = [a["aria-label"] for a in ranges]
    assert len(set(names)) == len(names)
    assert {a["for"] for tag, a in page.elements if tag == "label"} == {a["id"] for a in ranges}


SLIDES = """
<script>document.querySelector('iframe').onload = event => {
  const shown = event.target.contentDocument, view = event.target.contentWindow, slide = shown.querySelector('.slide');
  const range = slide.querySelector('input'), told = [];
  for (const value of [0, 25, 100]) {
    range.value = value;
    range.dispatchEvent(new view.Event('input'));
    const part = slide.querySelector('clipPath rect'), width = slide.querySelector('.art').viewBox.baseVal.width;
    told.push(Math.round(100 * part.getAttribute('width') / width) + '=' + range.getAttribute('aria-valuetext'));
  }
  document.title = 'slid ' + view.getComputedStyle(slide).display + ': ' + told.join('; ');
}</script>
"""


def in_browser(page, asks, tmp_path):
    """What a browser says of a page within a frame of 375 pixels."""
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None:
        pytest.skip("no chromium to look at the page with")
    frame = (
        f'<title></title><iframe width="375" height="900" style="border:0" srcdoc="{html.escape(page)}"></iframe>{asks}'
    )
    (tmp_path / "frame.html").write_text(f"<!doctype html>{frame}", encoding="utf-8")
    command = [browser, "--headless", "--no-sandbox", "--disable-gpu", "--dump-dom", f"--user-data-dir={tmp_path}/own"]
    asked = [*command, (tmp_path / "frame.html").as_uri()]
    shown = subprocess.run(asked, capture_output=True, text=True, timeout=120, check=True).stdout
    return html.unescape(re.findall(r"<title>(.*?)</title>", shown)[0])


def test_the_slider_uncovers_the_new_plate_under_the_policy_of_the_page(tmp_path):
    told = in_browser(page_of("changed"), SLIDES, tmp_path)
    assert told == "slid block: 0=all old; 25=left 25 % new, the rest old; 100=all new"


@pytest.mark.parametrize("name", CASES)
def test_a_page_fits_a_telephone(name, tmp_path):
    told = in_browser(page_of(name), ASKS, tmp_path)
    assert told.partition(":")[2].strip() == ""
    assert int(told.partition(":")[0].removeprefix("room ")) <= 375


def test_a_pair_that_cannot_be_packed_stays_under_two_megabytes(tmp_path):
    document, pictures = cards.drawn(cards.compared(tmp_path, {"noise": 1}, {"noise": 2}))
    assert len(document["remake"]) >= 4
    assert len(render_compare_html(document, pictures).encode()) < 2_000_000


# For everybody -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", CASES)
def test_landmarks_headings_and_ids(name):
    page = parsed(name)
    assert page.children_of("body") == ["header", "main", "script"]
    levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert [(a, b) for a, b in zip(levels, levels[1:], strict=False) if b > a + 1] == []
    ids = page.ids()
    assert len(ids) == len(set(ids))
    assert {a["href"][1:] for tag, a in page.elements if a.get("href", "").startswith("#")} <= set(ids)


@pytest.mark.parametrize("name", CASES)
def test_tables_have_headers_and_pictures_have_names(name):
    page = parsed(name)
    assert all(a.get("scope") in ("col", "row") for tag, a in page.elements if tag == "th")
    for tag, a in page.elements:
        if tag == "svg":
            assert a.get("aria-hidden") == "true" or (a["role"] == "img" and a["aria-label"])


def test_a_name_stays_a_name():
    document, pictures = cards.changed()
    document = copy.deepcopy(document)
    bad = '<script>x</script>\u202e"><i>'
    document["plates"][0]["name"] = document["texts"][0]["new"] = document["remake"][0] = bad
    document["files"]["new"]["file"] = document["not_compared"] = [bad]
    document["files"]["new"]["file"] = document["says"] = bad
    page = render_compare_html(document, pictures)
    assert page.count("<script") == 1
    assert '"><i>' not in page
    assert page.count("&lt;script&gt;x&lt;/script&gt;[U+202E]") >= 5

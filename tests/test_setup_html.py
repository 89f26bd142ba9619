"""The set-up sheet and the presses as pages: what they say, and that nothing in a name gets out of its place."""

from __future__ import annotations

import html
import re
import shutil
import subprocess

import pytest

from preflight.report.presses_html import render_presses_html
from preflight.report.setup_html import TO_WRITE, render_setup_html
from preflight.report.setup_sheet import sheet_of
from preflight.report.templates import digest_of
from tests.setup_documents import DIGEST, SETUPS, inked, presses, usual, with_stations
from tests.test_plain_words import banned, page_text


def text_of(page):
    return re.sub(r"\s+", " ", page_text(page))


@pytest.mark.parametrize("name", SETUPS)
def test_a_page_is_self_contained_and_runs_nothing(name):
    page = render_setup_html(SETUPS[name]())
    (style,) = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    (policy,) = map(html.unescape, re.findall(r'Content-Security-Policy" content="([^"]*)"', page))
    assert f"style-src 'sha256-{digest_of(style)}'" in policy
    assert "default-src 'none'" in policy
    assert "script-src 'none'" in policy
    assert re.findall(r"<script|<link|<img|\bstyle=|\bon\w+=|https?://", page) == []


@pytest.mark.parametrize("name", SETUPS)
def test_a_page_is_in_plain_words(name):
    assert banned(text_of(render_setup_html(SETUPS[name]()))) == []


@pytest.mark.parametrize("name", SETUPS)
def test_a_page_says_of_which_artwork_it_is(name):
    text = text_of(render_setup_html(SETUPS[name]()))
    assert [part for part in sheet_of(SETUPS[name]()).identity if part not in text] == []
    assert (DIGEST in text) == bool(SETUPS[name]().get("artwork"))


def test_the_usual_page_says_all_that_the_crew_acts_on():
    text = text_of(render_setup_html(usual()))
    for said in (
        "FEEDER", "DELIVERY", "Mill Brown", "K4711-5", "40 %", "55 −37 −50 (ΔE 5)", "water-based", "backed off",
        "feeder to delivery, seen from the operator side", "Change from the last job: 29 min", "15 + 5 min",
        "Wash unit 5: Mustard to Mill Brown, 15 min", "12,000 net + 500 make-ready + 360 running waste = 12,860 sheets",
        "The heaviest cover comes last. (light-before-heavy)", "43.0 kg",
    ):  # fmt: skip
        assert said in text
    assert [label for label in TO_WRITE if label not in text] == []


def test_an_aim_that_nobody_gave_is_a_box():
    station = re.findall(r'<li class="station unit">.*?</li>', render_setup_html(usual()), re.DOTALL)
    assert [part.count('class="write"') for part in station] == [0, 0, 0, 0, 2]


def test_kinds_have_each_a_hatching_of_their_own():
    page = render_setup_html(SETUPS["effect"]())
    patterns = re.findall(r'<pattern id="(k\d+-\d+)"', page)
    assert len(patterns) == len(set(patterns)) == 4
    assert [f'fill="url(#{name})"' in page for name in patterns] == [True] * 4
    assert page.count('class="full process"') == 4


@pytest.mark.parametrize(("name", "mirrored"), [("usual", False), ("effect", True)])
def test_the_line_is_as_the_crew_sees_it(name, mirrored):
    page = render_setup_html(SETUPS[name]())
    assert ('class="stations crew mirrored"' in page) == mirrored
    assert ("delivery to feeder" in page) == mirrored


@pytest.mark.parametrize("name", SETUPS)
def test_do_not_run_is_across_what_is_not_to_be_run(name):
    document = SETUPS[name]()
    page = render_setup_html(document)
    assert ("DO NOT RUN</text>" in page) != document["run_it"]
    assert ("<b>DO NOT RUN</b>" in page) != document["run_it"]


def test_why_there_is_no_order_and_what_is_broken():
    assert "The ticket fixes it on unit 2." in text_of(render_setup_html(SETUPS["impossible"]()))
    text = text_of(render_setup_html(SETUPS["two-passes"]()))
    assert "Pass 2 of 2" in text
    assert "Cyan and Rose touch and would be in different passes." in text
    assert "Saves 1 unit." in text


def test_a_name_stays_a_name():
    document = usual()
    document["plan"]["passes"][0]["stations"][4]["separation"] = "<script>x</script>\u202e"
    document["ticket"]["title"] = '"><i>'
    page = render_setup_html(document)
    assert "<script" not in page
    assert "&lt;script&gt;x&lt;/script&gt;[U+202E]" in page
    assert '"><i>' not in page


# Presses -----------------------------------------------------------------------------------------------------------


def test_the_presses_are_in_the_documents_order_with_reasons():
    text = text_of(render_presses_html(presses()))
    places = [text.index(said) for said in ("1. Six units", "2. Four units", "3. Eight UV units")]
    assert places == sorted(places)
    for said in (
        "1 of 3 presses takes the job in one pass. Best: Six units and a coater, 1000 format.",
        "Five plates on four units. (plan-no-order)", "12,860", "71 %", "1.8 h", "does not fit",
        "No coater of the press takes water-based coating. (coating-on-no-coater)", DIGEST,
    ):  # fmt: skip
        assert said in text
    assert banned(text) == []


@pytest.mark.parametrize(
    ("fits", "said"),
    [
        ([], "No press was compared."),
        ([False], "The press does not take the job as it is."),
        ([True], "The press takes the job in one pass."),
        ([False, False], "No press takes the job as it is."),
        ([True, True], "2 of 2 presses take the job in one pass."),
    ],
)
def test_the_headline_counts(fits, said):
    entry = presses()["presses"][0]
    document = presses() | {"presses": [entry | {"fits": one} for one in fits]}
    assert said in text_of(render_presses_html(document))


# Faults, queries, and what was not checked ------------------------------------------------------------------------


def test_a_page_has_every_fault_once_and_alike_ones_together():
    text = text_of(render_setup_html(SETUPS["faulty"]()))
    banner = text[text.index("DO NOT RUN") : text.index("the units shown are the tool's plan.")]
    assert banner.count("14 % of Opaque White") == 1
    assert "Likewise: Opaque White Second Hit." in banner
    assert "longest of them shown" not in text
    few = text_of(render_setup_html(SETUPS["too-few-units"]()))
    assert "needs a unit of its own" not in few[: few.index("No plan in one pass")]


def test_a_page_says_what_was_not_checked_and_how_the_sheet_lies():
    text = text_of(render_setup_html(SETUPS["ready-but-open"]()))
    head = text[: text.index("feeder to delivery")]
    assert "Ready for plates as far as checked." in head
    assert "3 points not checked: inks for the goods inside, grain against the creases and wash-ups" in head
    assert "not known: the ticket gives no powder" in text
    laid = text_of(render_setup_html(SETUPS["with-queries"]()))
    assert "Operator side left, printed face up, gripper edge down Gripper edge 12 mm not printed" in laid


def test_queries_on_a_page_come_first_each_with_a_box():
    page = render_setup_html(SETUPS["with-queries"]())
    (queries,) = re.findall(r'<div class="queries">.*?</ul></div>', page, re.DOTALL)
    assert "Queries to settle first: 2" in queries
    assert queries.count("Settled by") == queries.count('class="write"') == 2
    assert page.index('class="queries"') < page.index("What to watch")


@pytest.mark.parametrize("kind", ["white", "varnish", "primer", "unheard-of"])
def test_no_sign_of_a_kind_on_a_page_is_an_empty_frame(kind):
    page = render_setup_html(with_stations([inked(1, "Pale", kind, 0.5, shown_as="#dde6ee")]))
    (sign,) = re.findall(r'<svg class="kind-sign".*?</svg>', page, re.DOTALL)
    assert "<path" in sign
    assert 'fill="url(#' in sign or kind == "unheard-of"


MARKER_WIDE = 20
"""Pixels that the mark of a list needs left of its text."""
ASKS = """
<script>document.querySelector('iframe').onload = event => {
  const shown = event.target.contentDocument, room = shown.documentElement.clientWidth;
  const outside = [...shown.querySelectorAll('body *')].filter(each => {
    const box = each.getBoundingClientRect();
    const least = each.tagName === 'LI' && getComputedStyle(each).listStyleType !== 'none' ? MARKER : 0;
    return box.width && !each.closest('.across') && (box.left < least || box.right > room + 1);
  });
  document.title = 'room ' + room + ': ' + outside.map(each => each.tagName + '.' + each.className).join(' ');
}</script>
""".replace("MARKER", str(MARKER_WIDE))


@pytest.mark.parametrize("name", ["twelve", "too-few-units", "faulty", "with-queries"])
def test_a_page_fits_a_telephone(name, tmp_path):
    """Nothing reaches past a frame of 375 pixels: a browser measures it, from a page around ours."""
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None:
        pytest.skip("no chromium to look at the page with")
    page = html.escape(render_setup_html(SETUPS[name]()))
    frame = f'<title></title><iframe width="375" height="900" style="border:0" srcdoc="{page}"></iframe>{ASKS}'
    (tmp_path / "frame.html").write_text(f"<!doctype html>{frame}", encoding="utf-8")
    command = [browser, "--headless", "--no-sandbox", "--disable-gpu", "--dump-dom", f"--user-data-dir={tmp_path}/own"]
    asked = [*command, (tmp_path / "frame.html").as_uri()]
    shown = subprocess.run(asked, capture_output=True, text=True, timeout=60, check=True).stdout
    (told,) = re.findall(r"<title>(room \d+:.*?)</title>", shown)
    assert told.partition(":")[2].strip() == ""
    assert int(told.partition(":")[0].removeprefix("room ")) <= 375

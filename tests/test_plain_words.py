"""Words that no report may use, looked for in every text that people read.

The texts are those of the rules and the catalogue, the reports of the sample jobs on a terminal and as a page, the
sentences in the code, and the guides. What is wrong with each word is that a CSR stumbles over it when reading it
aloud, or that a technician would say something else.
"""

from __future__ import annotations

import ast
import html
import io
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from rich.console import Console

from preflight.judging.catalogue import load_catalogue
from preflight.judging.rulebook import load_rules
from preflight.report.terminal import print_report
from tests.sample_setups import checked
from tests.test_sample_jobs import TICKETS

ROOT = Path(__file__).parents[1]
PLURALS = (
    "places|faults|findings|queries|things|plates|units|inks|separations|names|pieces|lines|objects|pictures|texts|"
    "pages|rules|blanks|areas|waivers|statements|annotations|layers|creases|definitions|edges|cartons"
)
BANNED = {
    r"asked for": ("at least 2 mm is asked for", "larger type is asked about"),
    r"[Tt]echnical\b": ("4 technical separations", "a technician"),
    r"\b[Ss]tands? (on|in|at|behind|beside|before|under)\b": ("Copper stands on unit 3", "it is on unit 3"),
    r"carr(y|ies|ied) on past": ("ink carries on past the cut", "ink past the cut"),
    r"\btold of\b": ("it is told of once", "as we were told"),
    r"[Nn]obody (can|says|knows|sees)\b": ("nobody can tell", "nobody who opens the file"),
    r"the tool broke|of the tool's own": ("the tool broke on it", "the tool"),
    r"What would help": ("What would help: a die", "what helps"),
    r"(Can|Cannot|can|cannot) run (as it is|once)": ("Cannot run as it is: 1 fault", "it can run"),
    r"[Ll]eft out of the cut\b": ("left out of the cut: 2 words", "left out"),
    r"\b[Tt]raps? badly": ("the ink traps badly", "the ink traps poorly"),
    r"\bafresh\b|\banew\b": ("exported afresh", "newly exported"),
    r"\b[Mm]end(s|ed|ing)?\b": ("Mend the lines", "Recommended"),
    r"\blets? (anything|others?) show\b|\bfaint group": ("objects that let others show", "lets cyan show through"),
    r"\bput right\b": ("put right without loss", "put the right plate on it"),
    r"\btaken for\b": ("it is taken for the die", "it is taken as the die"),
    r"\bSo it is with\b": ("So it is with 3 more", "so it is"),
    r"\brests? on a guess": ("it rests on a guess", "it is based on a guess"),
    r"which nothing gives|gives nothing": ("{x}, which nothing gives", "which gives a reading"),
    r"\bspeaks? of\b": ("the ticket speaks of it", "to speak"),
    r"\b(data|information) (are|were|do|have)\b": ("the data are lost", "the data is lost"),
    rf"(?<![\d.,])1 ({PLURALS})\b(?!-)": ("1 places", "11 places, 0.1 places, 1 place, FAULT 1 plates-over-units"),
    r"\d [cm]m2\b": ("over 1.7 cm2", "over 1.7 cm² of AB12 mm2000"),
    r"\{[a-z_]+(:[^}|]*\|[^}]*)?\}": ("Bleed is {reading}", "areas: {is: code}"),
    r"\b0(\.0+)? mm (of )?bleed|[Bb]leed (is|of) 0(\.0+)? mm": ("0.0 mm bleed", "10 mm bleed"),
}
"""Pattern, with what it finds and what it lets pass."""
SOURCES = {r"\d [cm]m2\b", r"\{[a-z_]+(:[^}|]*\|[^}]*)?\}"}
"""What is written so in rules, code and guides, and read otherwise in reports."""


def banned(text: str, *, source: bool = False) -> list[str]:
    """The banned words of a text, each with what is round it."""
    flat = re.sub(r"\s+", " ", text)
    patterns = [pattern for pattern in BANNED if not (source and pattern in SOURCES)]
    found = [match for pattern in patterns for match in re.finditer(pattern, flat)]
    return [flat[max(0, match.start() - 40) : match.end() + 40] for match in found]


@pytest.mark.parametrize(("pattern", "texts"), BANNED.items())
def test_what_is_looked_for_is_found_and_nothing_like_it(pattern, texts):
    bad, good = texts
    assert re.search(pattern, bad)
    assert not re.search(pattern, good)


# Rules -----------------------------------------------------------------------------------------------------------


def rule_texts() -> Iterator[tuple[str, str]]:
    for rule in load_rules().rules.values():
        yield f"{rule.rule} asks", rule.asks
        for case in ("", *rule.cases):
            for key in ("says", "why", "do", "customer"):
                if text := rule.words(case, key):
                    yield f"{rule.rule} {case} {key}", text


RULE_TEXTS = dict(rule_texts())


@pytest.mark.parametrize("name", RULE_TEXTS)
def test_rules_are_in_plain_words(name):
    assert banned(RULE_TEXTS[name], source=True) == []


@pytest.mark.parametrize("name", RULE_TEXTS)
def test_every_text_of_a_rule_is_whole_sentences(name):
    text = RULE_TEXTS[name]
    assert text[0].isupper() or text[0] in "{"
    assert text.rstrip().endswith("?" if name.endswith(" asks") else (".", "?", "{meant}"))
    assert "  " not in text
    assert ".." not in text


@pytest.mark.parametrize("name", [name for name in RULE_TEXTS if name.endswith("customer")])
def test_a_customer_reads_nothing_of_the_plant(name):
    """No units of the press, no ticket, no key of a file, and no name of a rule."""
    assert not re.search(r"\bunit \{|\bticket\b|`|\b[a-z]+-[a-z]+-[a-z]+\b(?<!one-by-one)", RULE_TEXTS[name])


CATALOGUE = {name: f"{row.asks} {row.because or ''}" for name, row in load_catalogue().rows.items()} | {
    section.section: section.section for section in load_catalogue().sections
}


@pytest.mark.parametrize("row", CATALOGUE)
def test_the_catalogue_is_in_plain_words(row):
    assert banned(CATALOGUE[row], source=True) == []


# Reports ---------------------------------------------------------------------------------------------------------


@cache
def on_a_terminal(job: str, ticket: str, width: int) -> str:
    shown = io.StringIO()
    print_report(checked(f"{job}/{ticket}").document, Console(file=shown, width=width, highlight=False))
    return shown.getvalue()


def page_text(page: str) -> str:
    """What of a page is read, titles and labels too."""
    bare = re.sub(r"<(style|script)\b.*?</\1>", " ", page, flags=re.DOTALL)
    said = " ".join(re.findall(r'\b(?:title|aria-label|alt)="([^"]*)"', bare))
    return html.unescape(f"{re.sub(r'<[^>]+>', ' ', bare)} {said}")


@pytest.mark.parametrize(("job", "ticket"), TICKETS)
def test_a_terminal_says_it_in_plain_words(job, ticket):
    assert banned(on_a_terminal(job, ticket, 300)) == []


@pytest.mark.parametrize(("job", "ticket"), TICKETS)
def test_a_narrow_terminal_has_every_line_whole(job, ticket):
    assert max(map(len, on_a_terminal(job, ticket, 80).splitlines())) <= 80


@pytest.mark.parametrize(("job", "ticket"), TICKETS)
def test_the_page_says_it_in_plain_words(job, ticket, tmp_path):
    checked(f"{job}/{ticket}").save(tmp_path / "report.html")
    text = page_text((tmp_path / "report.html").read_text())
    assert banned(text) == []
    assert "A fault is fail" in text


@pytest.mark.parametrize(("job", "ticket"), TICKETS)
def test_customer_and_technician_read_the_same_limit(job, ticket):
    """A length that the customer is asked for is one that the technician is told too."""
    for finding in checked(f"{job}/{ticket}").findings:
        lengths = re.findall(r"(?:to|by|keep) (\d[\d.]* (?:mm|pt|ppi|%))", finding.customer)
        told = f"{finding.says} {finding.do}"
        assert [length for length in lengths if length not in told] == []


# Code ------------------------------------------------------------------------------------------------------------


def sentences_in(tree: ast.Module) -> Iterator[str]:
    """Strings of several words that are no docstring; of an f-string the parts between its values."""
    said = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    patterns = {
        id(argument)
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and ast.unparse(node.func) in ("re.compile", "Sort")
        for argument in node.args[:1]
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in said | patterns:
            yield node.value


MODULES = sorted((ROOT / "preflight").rglob("*.py"))


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_what_the_code_says_is_in_plain_words(module):
    found = [words for text in sentences_in(ast.parse(module.read_text())) for words in banned(text, source=True)]
    assert found == []


def test_a_sentence_of_the_code_is_found_and_a_docstring_is_not():
    tree = ast.parse('"""Nobody knows."""\nraise NotMeasured(f"{x} stands on a guess", "a mended file")\n')
    assert [bool(banned(text, source=True)) for text in sentences_in(tree)] == [True, True]


@pytest.mark.parametrize("page", sorted((ROOT / "preflight" / "report").glob("*.html")), ids=lambda path: path.name)
def test_labels_of_pages_are_in_plain_words(page):
    text = re.sub(r"\{[{%#].*?[}%#]\}", " ", page_text(page.read_text()), flags=re.DOTALL)
    assert banned(text, source=True) == []


# Guides ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("guide", ["README.md", "rules/README.md", "sample_jobs/README.md"])
def test_guides_are_in_plain_words(guide):
    assert banned((ROOT / guide).read_text(), source=True) == []


def test_the_readme_says_once_what_fault_and_query_are_for_programs():
    text = re.sub(r"\s+", " ", (ROOT / "README.md").read_text())
    assert len(re.findall(r"fault \(\*fail\*", text)) == 1

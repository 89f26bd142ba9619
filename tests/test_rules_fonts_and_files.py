"""Fonts without their programs, and files that had to be repaired."""

import re
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.read_artwork import read_artwork
from preflight.findings import Verdict
from preflight.job_facts import final_facts
from preflight.judging.judge import judge
from preflight.measures.job_assembly import assemble_job
from preflight.report.document import build_document
from preflight.report.html import render_html
from tests.drawn import Drawing
from tests.house import Case, blank_page, job_of, prove, rulebook, with_die
from tests.report_jobs import RUN

ONE_UP = {"artwork_is": "one-up"}


def text(at: tuple[float, float] = (30, 100)) -> Drawing:
    return with_die(blank_page().text("Rolled oats", at, 12))


def with_type3_font() -> Drawing:
    """Glyphs that the file draws itself."""
    page = blank_page()
    glyph = page.pdf.make_stream(b"500 0 0 0 500 500 d1 0 0 500 500 re f")
    page.resources.Font.F0 = page.pdf.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 500, 500], FontMatrix=[0.001, 0, 0, 0.001, 0, 0],
            CharProcs=Dictionary(a=glyph), Encoding=Dictionary(Type=Name.Encoding, Differences=Array([97, Name.a])),
            FirstChar=97, LastChar=97, Widths=[500], Resources=Dictionary(),
        )
    )  # fmt: skip
    return with_die(page.text("aaa", (30, 100), 12))


def invisible() -> Drawing:
    """Text of a scanned page: rendering mode 3 paints nothing."""
    page = blank_page().raw("3 Tr").text("Rolled oats", (30, 100), 12).raw("0 Tr")
    return with_die(page)


class Broken(Drawing):
    """A page whose cross-reference table is cut off."""

    def save(self, path: Path) -> Path:
        super().save(path)
        with pikepdf.open(path) as pdf:
            pdf.save(path.with_suffix(".plain"), object_stream_mode=pikepdf.ObjectStreamMode.disable)
        whole = path.with_suffix(".plain").read_bytes()
        path.write_bytes(whole[: whole.rindex(b"xref", 0, whole.rindex(b"startxref"))])
        return path


def broken() -> Drawing:
    page = Broken(215, 200)
    page.fill((1, 0, 0, 0), rect=(30, 60, 80, 140))
    return with_die(page)


class Moved(Drawing):
    """A page whose file says that its list of objects stands 7 bytes further back than it does."""

    def save(self, path: Path) -> Path:
        super().save(path)
        path.write_bytes(re.sub(rb"startxref\s+(\d+)", lambda m: b"startxref\n%d" % (int(m[1]) + 7), path.read_bytes()))
        return path


def moved() -> Drawing:
    page = Moved(215, 200)
    page.fill((1, 0, 0, 0), rect=(30, 60, 80, 140))
    return with_die(page)


def case(rule, name, expect, draw):
    return Case(rule, name, expect, draw, ticket=ONE_UP)


CASES = [
    case("font-not-embedded", "a font by name only", "fail", text),
    case("font-not-embedded", "beside the carton", "pass", lambda: text((120, 3))),
    case("font-not-embedded", "drawn by the file itself", "pass", with_type3_font),
    case("font-not-embedded", "invisible", "pass", invisible),
    case("file-was-repaired", "cut off", "warn", broken),
    case("file-was-repaired", "whole", "pass", text),
    case("file-was-repaired", "put right without loss", "pass", moved),
]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_fonts_and_files(case, tmp_path):
    prove(case, tmp_path)


def test_what_lost_nothing_is_a_note(tmp_path):
    job = job_of(moved(), tmp_path, ONE_UP)
    judgement = judge(job, rulebook(), only={"file-was-repaired"})
    assert judgement.verdict is Verdict.PASS
    assert len([note for note in judgement.notes if "nothing lost" in note]) == 1
    document = build_document([(final_facts(job), judgement)], RUN)
    assert document["repaired"]
    assert [told["lost"] for told in document["artwork"]["repairs_told"]] == [False]
    page = render_html(document)
    assert "nothing was lost" in page
    assert "may be lost" not in page
    assert str(tmp_path) not in page


def test_damage_is_said_once_however_many_pages(tmp_path):
    page = broken()
    page.pdf.add_blank_page(page_size=(200, 200))
    artwork = read_artwork(page.save(tmp_path / "art.pdf"))
    jobs = [assemble_job(artwork, each, None, None) for each in artwork.pages]
    found = [judge(job, rulebook(), only={"file-was-repaired"}) for job in jobs]
    assert [len(judgement.findings) for judgement in found] == [1, 0]
    assert "damaged" in found[0].findings[0].says
    assert [note for judgement in found for note in judgement.notes if "nothing lost" in note] == []

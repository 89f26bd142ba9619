"""The sample jobs against what their ``expected.yaml`` says, and their artwork against the script that drew it."""

import re

import numpy as np
import pikepdf
import pytest
import yaml

from preflight.judging.rulebook import load_rules
from sample_jobs.draw import HERE, JOBS, draw_job
from tests.sample_setups import judged


def expected_of(job):
    return yaml.safe_load((HERE / job / "expected.yaml").read_text())


TICKETS = [(job, ticket) for job in JOBS for ticket in expected_of(job)["tickets"]]
FINDINGS = [
    (job, ticket, wanted) for job, ticket in TICKETS for wanted in expected_of(job)["tickets"][ticket]["findings"]
]
RULES = set(load_rules().rules)
SILENT = [(job, ticket, quiet) for job, ticket in TICKETS for quiet in expected_of(job)["tickets"][ticket]["silent"]]


def report_of(job, ticket):
    return judged(f"{job}/{ticket}")


def found(job, ticket, rule):
    return [finding for finding in report_of(job, ticket).findings if finding.rule == rule]


def touches(box, other):
    return box[0] <= other[2] and other[0] <= box[2] and box[1] <= other[3] and other[1] <= box[3]


@pytest.mark.parametrize(("job", "ticket"), TICKETS)
def test_verdict(job, ticket):
    assert report_of(job, ticket).verdict == expected_of(job)["tickets"][ticket]["verdict"]


@pytest.mark.parametrize(("job", "ticket"), TICKETS)
def test_nothing_else_is_found(job, ticket):
    wanted = {entry["rule"] for entry in expected_of(job)["tickets"][ticket]["findings"]}
    assert {finding.rule for finding in report_of(job, ticket).findings} == wanted


HEAVY = [(job, ticket) for job, ticket, wanted in FINDINGS if wanted["rule"] == "ink-total-over"]


@pytest.mark.parametrize(("job", "ticket"), HEAVY)
def test_inks_of_a_total_add_up_to_the_figure_that_is_told(job, ticket):
    for finding in found(job, ticket, "ink-total-over"):
        total = re.search(r"([\d.]+) % over", finding.says)
        inks = re.search(r"\(([^()]*%)\)", finding.says)
        assert total is not None
        assert inks is not None
        assert sum(map(int, re.findall(r"(\d+) %", inks[1]))) == int(total[1]), finding.says


@pytest.mark.parametrize(
    ("job", "ticket", "wanted"), FINDINGS, ids=lambda v: v["rule"] if isinstance(v, dict) else None
)
def test_planted_fault_is_found_at_its_place(job, ticket, wanted):
    findings = [f for f in found(job, ticket, wanted["rule"]) if f.verdict.word == wanted["verdict"]]
    assert findings, f"{wanted['rule']} did not {wanted['verdict']}"
    if "says" in wanted:
        said = [finding.says for finding in findings]
        findings = [finding for finding in findings if wanted["says"] in finding.says]
        assert findings, said
    if "at" in wanted:
        places = [place.box_mm for finding in findings for place in finding.places]
        assert any(touches(box, wanted["at"]) for box in places), places
    if "measured" in wanted:
        low, high = wanted["measured"]
        values = [finding.measured[0] for finding in findings]
        assert any(low <= value <= high for value in values), values


@pytest.mark.parametrize(("job", "ticket", "quiet"), SILENT, ids=lambda v: v["rule"] if isinstance(v, dict) else None)
def test_decoy_stays_silent(job, ticket, quiet):
    assert quiet["rule"] in RULES
    places = [place.box_mm for finding in found(job, ticket, quiet["rule"]) for place in finding.places]
    if "at" in quiet:
        assert not [box for box in places if touches(box, quiet["at"])]
    else:
        assert not found(job, ticket, quiet["rule"])


@pytest.mark.parametrize(("job", "ticket"), TICKETS)
def test_separations(job, ticket):
    wanted = expected_of(job)["tickets"][ticket]["separations"]
    seen = report_of(job, ticket).separations
    assert {name: seen.get(name) for name in wanted} == wanted


@pytest.mark.parametrize("job", JOBS)
def test_papers_are_complete(job):
    assert {path.name for path in (HERE / job).iterdir()} >= {*JOBS[job], "ticket.yaml", "expected.yaml"}
    assert f"`{job}`" in (HERE / "README.md").read_text()
    for file in JOBS[job]:
        most = 900_000 if file == "sheet.pdf" else 600_000
        assert (HERE / job / file).stat().st_size < most, file


@pytest.mark.slow
@pytest.mark.parametrize("job", JOBS)
def test_script_draws_the_committed_artwork(job, tmp_path):
    """Content to the byte; pictures by their looks, since another JPEG coder packs them differently."""
    for fresh in draw_job(job, tmp_path):
        kept = HERE / job / fresh.name
        with pikepdf.open(fresh) as a, pikepdf.open(kept) as b:
            assert a.pages[0].Contents.read_bytes() == b.pages[0].Contents.read_bytes()
            for key in ("/MediaBox", "/TrimBox", "/BleedBox"):
                assert list(a.pages[0].get(key, [])) == list(b.pages[0].get(key, []))
            assert forms_of(a.pages[0]) == forms_of(b.pages[0])
            pictures = [images_of(pdf.pages[0]) for pdf in (a, b)]
        assert pictures[0].keys() == pictures[1].keys()
        for name, fresh_picture in pictures[0].items():
            difference = np.abs(fresh_picture.astype(int) - pictures[1][name])
            assert difference.mean() < 1, name


def forms_of(page):
    return {name: form.read_bytes() for name, form in page.Resources.XObject.items() if form.Subtype == "/Form"}


def images_of(page):
    found = {}
    for name, image in page.Resources.XObject.items():
        if image.Subtype == "/Form":
            continue
        found[name] = np.asarray(pikepdf.PdfImage(image).as_pil_image().convert("CMYK"))
        if "/SMask" in image:
            found[name + " mask"] = np.asarray(pikepdf.PdfImage(image.SMask).as_pil_image())
    return found

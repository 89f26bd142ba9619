"""Report files: the ending chooses, and no half-written file is ever seen."""

from __future__ import annotations

import json
import os
import stat

import pytest

from preflight.errors import CannotWrite, ExitStatus, WrongUsage
from preflight.findings import Judgement, Verdict
from preflight.job_facts import final_facts
from preflight.report import saving
from preflight.report.document import build_document
from tests.report_jobs import RUN, small_job


@pytest.fixture
def document():
    return build_document([(final_facts(small_job("\udc80 é")), Judgement(Verdict.PASS, ()))], RUN)


@pytest.mark.parametrize(
    ("name", "form"), [("r.html", "html"), ("R.HTML", "html"), ("r.htm", "html"), ("r.json", "json"), ("-", "json")]
)
def test_the_ending_chooses_the_form(tmp_path, name, form):
    assert saving.form_of(name if name == "-" else tmp_path / name) == form


@pytest.mark.parametrize("name", ["r.pdf", "r.txt", "r"])
def test_other_endings_are_wrong_usage(tmp_path, name):
    with pytest.raises(WrongUsage):
        saving.form_of(tmp_path / name)


@pytest.mark.parametrize(("name", "why"), [("nowhere/r.json", "no folder"), ("folder.json", "a folder has this name")])
def test_what_stands_in_the_way_of_a_report_is_said(tmp_path, document, name, why):
    (tmp_path / "folder.json").mkdir()
    with pytest.raises(CannotWrite, match=why) as refusal:
        saving.save(document, [], tmp_path / name)
    assert str(tmp_path / name) in str(refusal.value)
    assert refusal.value.exit_status is ExitStatus.REPORT_NOT_WRITTEN
    assert not isinstance(refusal.value, WrongUsage)


def test_both_forms_are_written_whole(tmp_path, document):
    job = small_job()
    for name in ("r.html", "r.json"):
        saving.save(document, [(final_facts(job), job.page)], tmp_path / name)
    assert json.loads((tmp_path / "r.json").read_text("utf-8")) == document
    assert (tmp_path / "r.html").read_text("utf-8").rstrip().endswith("</html>")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["r.html", "r.json"]


def test_dash_is_json_on_standard_output(capfdbinary, document):
    saving.save(document, [], "-")
    assert json.loads(capfdbinary.readouterr().out) == document


def test_a_failed_write_leaves_the_older_report_as_it_was(tmp_path, monkeypatch):
    target = tmp_path / "r.json"
    target.write_text("old")

    def full(_descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="space"):
        saving.write_aside(target, b"new")
    assert target.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["r.json"]


def test_what_cannot_be_written_has_advice_of_its_own(tmp_path, monkeypatch, document):
    def refused(*_arguments, **_keywords):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "open", refused)
    with pytest.raises(CannotWrite) as refusal:
        saving.save(document, [], tmp_path / "r.json")
    assert refusal.value.exit_status is ExitStatus.REPORT_NOT_WRITTEN
    assert refusal.value.advice != WrongUsage.advice


def test_the_umask_of_the_whole_process_is_left_alone(tmp_path, monkeypatch):
    """Asking for it sets it, for the other threads of a service too."""

    def asked(_mask):
        raise AssertionError("the umask was set")

    monkeypatch.setattr(os, "umask", asked)
    saving.write_aside(tmp_path / "r.json", b"{}")
    assert (tmp_path / "r.json").read_bytes() == b"{}"


def test_others_may_read_the_report_as_the_umask_says(tmp_path):
    before = os.umask(0o022)
    try:
        saving.write_aside(tmp_path / "r.json", b"{}")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "r.json").stat().st_mode) == 0o644

"""Several files or a folder: a line each, reports each, the worst status; and a PDF from standard input."""

from __future__ import annotations

import json
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from rich.cells import cell_len

from preflight.cli.main import run
from preflight.cli.several_jobs import WORST_FIRST
from preflight.errors import ExitStatus
from preflight.inputs.job_folder import jobs_in
from tests.drawn import Drawing

ROOT = Path(__file__).parents[1]
PRESS = "press: Six\nsheet: {largest: 1020 x 720 mm}\nunits: [{inks: any}, {inks: any}]\n"


def drawn(path: Path, *, fails: bool = False) -> Path:
    page = Drawing(100, 80, trim=(5, 5, 95, 75)).fill("Leaf Green", rect=(0, 0, 100, 80))
    if fails:
        page.text("not embedded", (30, 30), 14)
    path.parent.mkdir(exist_ok=True)
    return page.save(path)


@pytest.fixture
def press(tmp_path: Path) -> str:
    (tmp_path / "press.yaml").write_text(PRESS)
    return f"--press={tmp_path / 'press.yaml'}"


@pytest.fixture
def folder(tmp_path: Path, press) -> Path:
    """A ticket with its artwork, two PDFs without, and what is no job."""
    jobs = tmp_path / "jobs"
    drawn(jobs / "sage.pdf")
    drawn(jobs / "Fern.PDF", fails=True)
    drawn(jobs / "moss.pdf")
    (jobs / "job.yaml").write_text("ticket: 1\nartwork: sage.pdf\npress: press.yaml\nartwork_is: one-up\n")
    (jobs / "press.yaml").write_text(PRESS)
    (jobs / "rules.yaml").write_text("- {rule: text-too-small, off: not here}\n")
    (jobs / "other.yml").write_text("colour: red\n")
    (jobs / ".hidden.pdf").write_text("")
    (jobs / "read me.txt").write_text("")
    return jobs


def test_jobs_of_a_folder_are_its_tickets_and_the_pdfs_that_none_names(folder):
    assert [path.name for path in jobs_in(folder)] == ["job.yaml", "Fern.PDF", "moss.pdf"]


def test_a_ticket_that_cannot_be_read_is_not_passed_over(folder):
    (folder / "broken.yaml").write_text("ticket: [1\n")
    (folder / "half.yaml").write_text(
        "ticket: 2\nartwork: [{file: moss.pdf}, nowhere.pdf]\ndie: {file: die.pdf}\nbord: 3\n"
    )
    drawn(folder / "die.pdf")
    assert [path.name for path in jobs_in(folder)] == ["broken.yaml", "half.yaml", "job.yaml", "Fern.PDF"]


def lines_of(out: str) -> list[str]:
    assert max(map(cell_len, out.splitlines())) <= 80
    return out.splitlines()


@pytest.mark.parametrize("guarded", [[], ["--guarded"]], ids=["here", "in children"])
def test_a_folder_gets_a_line_and_reports_for_each_job(guarded, folder, press, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert run(["check", "jobs/", press, "--report", "reports/", "--no-cache", *guarded]) == 1
    out, err = capsys.readouterr()
    told = lines_of(out)
    assert err == ""
    assert told[0].split()[:2] == ["warn", "jobs/job.yaml"]
    assert [line.split()[:2] for line in told[1:3]] == [["fail", "jobs/Fern.PDF"], ["warn", "jobs/moss.pdf"]]
    assert "  1 fault, 1 query, " in told[1]
    assert len(told) == 4
    assert told[-1] == "3 files: 2 warn, 1 fail"
    reports = tmp_path / "reports"
    assert sorted(path.name for path in reports.iterdir()) == [
        "Fern.html", "Fern.json", "job.html", "job.json", "moss.html", "moss.json",
    ]  # fmt: skip
    assert json.loads((reports / "Fern.json").read_text())["verdict"] == "fail"
    assert json.loads((reports / "job.json").read_text())["ticket"]["number"] == "1"


def test_alike_names_are_kept_apart(press, tmp_path, capsys):
    arts = [drawn(tmp_path / folder / name) for folder, name in (("a", "art.pdf"), ("b", "ART.pdf"), ("c", "art.pdf"))]
    assert run(["check", *map(str, arts), press, "--report", f"{tmp_path}/r/"]) == 0
    names = {"art", "ART-2", "art-3"}
    assert {path.name for path in (tmp_path / "r").iterdir()} == {f"{n}{e}" for n in names for e in (".html", ".json")}


def test_one_bad_file_does_not_stop_the_others(press, tmp_path, capsys):
    (tmp_path / "bad.pdf").write_text("no PDF")
    arts = [tmp_path / "bad.pdf", drawn(tmp_path / "good.pdf"), tmp_path / "nowhere.pdf"]
    assert run(["check", *map(str, arts), press]) == 3
    out, err = capsys.readouterr()
    called = {Path(line.split()[1]).name: line.split()[0] for line in out.splitlines() if ".pdf" in line}
    assert called == {"bad.pdf": "unreadable", "good.pdf": "warn", "nowhere.pdf": "unreadable"}
    assert "bad.pdf is not a PDF" in err
    assert "there is no file" in err
    assert "Traceback" not in out + err


def test_what_breaks_on_one_file_is_said_and_the_others_are_checked(press, tmp_path, capsys, monkeypatch):
    def broken(subject, **_keywords):
        raise KeyError("no such thing")

    arts = [drawn(tmp_path / "one.pdf"), drawn(tmp_path / "two.pdf")]
    monkeypatch.setattr("preflight.pipeline.check", broken)
    assert run(["check", *map(str, arts), press]) == 5
    out, err = capsys.readouterr()
    assert out.count("broke") == 3
    assert err.count("no such thing") == 2


STATUSES = {
    "fails.pdf": 1, "nowhere.pdf": 3, "wrong.yaml": 4, "passes.pdf": 0, "unnamed.yaml": 2,
}  # fmt: skip


@pytest.mark.parametrize(
    ("names", "worst"),
    [
        (["passes.pdf", "passes.pdf"], 0),
        (["passes.pdf", "fails.pdf"], 1),
        (["nowhere.pdf", "fails.pdf"], 3),
        (["nowhere.pdf", "wrong.yaml", "fails.pdf"], 4),
        (["unnamed.yaml", "nowhere.pdf"], 2),
    ],
)
def test_the_worst_status_counts(names, worst, press, tmp_path, capsys):
    drawn(tmp_path / "passes.pdf")
    drawn(tmp_path / "fails.pdf", fails=True)
    (tmp_path / "wrong.yaml").write_text("ticket: 1\nboard: {caliper: 0,45 mm}\n")
    (tmp_path / "unnamed.yaml").write_text("ticket: 1\n")
    assert run(["check", *(str(tmp_path / name) for name in names), press, str(tmp_path / "passes.pdf")]) == worst


@pytest.mark.parametrize("names", [["x" * 300 + ".pdf"], ["x" * 300 + ".pdf", "nowhere.pdf"]])
def test_a_name_that_no_file_can_have_is_no_artwork(names, press, capsys):
    assert run(["check", *names, press]) == 3


def test_the_order_of_statuses():
    assert [int(status) for status in WORST_FIRST if status is not ExitStatus.WRONG_USAGE] == [5, 4, 3, 6, 1, 0]


def test_reports_that_cannot_be_written_are_six_where_all_is_well(press, tmp_path, capsys):
    (tmp_path / "file").write_text("")
    art = drawn(tmp_path / "art.pdf")
    command = ["check", str(art), str(drawn(tmp_path / "art2.pdf")), press, "--report", f"{tmp_path}/file/in/"]
    assert run(command) == 6
    out, err = capsys.readouterr()
    assert "art.html cannot be written" in err
    assert "art2.json cannot be written" in err
    assert run([*command, str(drawn(tmp_path / "fails.pdf", fails=True))]) == 6  # before 1
    assert run(["check", str(art), press, "--report", f"{tmp_path}/file/in/"]) == 6


def test_a_folder_of_reports_serves_one_job_too(press, tmp_path, capsys):
    (tmp_path / "there").mkdir()
    assert run(["check", str(drawn(tmp_path / "art.pdf")), press, "--report", str(tmp_path / "there")]) == 0
    assert sorted(path.name for path in (tmp_path / "there").iterdir()) == ["art.html", "art.json"]
    assert capsys.readouterr().out.endswith(f"Report  {tmp_path}/there/art.html\nReport  {tmp_path}/there/art.json\n")


@pytest.mark.parametrize("report", ["{folder}/r.html", "-", "{folder}/r.txt"])
def test_one_report_for_several_files_is_wrong_usage(report, press, tmp_path, capsys):
    arts = [str(drawn(tmp_path / "one.pdf")), str(drawn(tmp_path / "two.pdf"))]
    assert run(["check", *arts, press, "--report", report.format(folder=tmp_path)]) == 2
    assert not (tmp_path / "r.html").exists()


def test_a_folder_without_jobs_is_wrong_usage(tmp_path, capsys):
    assert run(["check", str(tmp_path)]) == 2
    assert "neither a job ticket nor a PDF" in capsys.readouterr().err


def test_a_ticket_beside_a_folder_is_for_its_pdfs(folder, tmp_path, capsys):
    (tmp_path / "all.yaml").write_text("ticket: for all\npress: press.yaml\nartwork_is: one-up\n")
    run(["check", str(folder), f"--ticket={tmp_path / 'all.yaml'}", "--report", f"{tmp_path}/r/"])
    numbers = {path.stem: json.loads(path.read_text())["ticket"]["number"] for path in (tmp_path / "r").glob("*.json")}
    assert numbers == {"job": "1", "Fern": "for all", "moss": "for all"}


# Standard input ----------------------------------------------------------------------------------------------------


def piped(data: bytes, *arguments: str, **keywords: object) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "preflight", "check", "-", *arguments]
    return subprocess.run(command, input=data, capture_output=True, cwd=ROOT, check=False, **keywords)  # type: ignore[call-overload, no-any-return]


@pytest.mark.parametrize("guarded", [[], ["--guarded"]], ids=["here", "in a child"])
def test_a_pdf_from_standard_input_is_checked(guarded, press, tmp_path, monkeypatch):
    monkeypatch.setenv("TMPDIR", str(tmp_path / "temporary"))
    (tmp_path / "temporary").mkdir()
    art = drawn(tmp_path / "art.pdf", fails=True)
    done = piped(art.read_bytes(), press, "--report", "-", *guarded)
    assert done.returncode == 1, done.stderr
    document = json.loads(done.stdout)
    assert document["artwork"]["file"] == "standard-input.pdf"
    assert list((tmp_path / "temporary").iterdir()) == []


def test_a_ticket_may_go_with_it(press, tmp_path):
    (tmp_path / "ticket.yaml").write_text("ticket: 77\npress: press.yaml\n")
    done = piped(drawn(tmp_path / "art.pdf").read_bytes(), f"--ticket={tmp_path / 'ticket.yaml'}", "-q")
    assert done.returncode == 0, done.stderr


def test_nothing_on_standard_input_is_no_artwork(press):
    assert piped(b"", press).returncode == 3
    assert piped(b"no PDF", press).returncode == 3


@pytest.mark.skipif(sys.platform == "win32", reason="no such limit here")
def test_no_room_for_standard_input_is_said(press, tmp_path):
    command = f"ulimit -f 8; exec {shlex.join([sys.executable, '-B', '-m', 'preflight', 'check', '-', press])}"
    data = drawn(tmp_path / "art.pdf").read_bytes() + b"%" * 20_000
    done = subprocess.run(["sh", "-c", command], input=data, capture_output=True, cwd=ROOT, check=False)
    assert done.returncode == 3
    assert done.stderr.startswith(b"standard input cannot be taken in: File too large\n")


def test_standard_input_by_itself_is_wrong_usage(press, tmp_path, capsys):
    assert run(["check", "-"]) == 2
    assert "--press or --ticket" in capsys.readouterr().err
    assert run(["check", "-", str(drawn(tmp_path / "art.pdf")), press]) == 2


# Folders -----------------------------------------------------------------------------------------------------------


def test_a_folder_has_a_folder_for_each_job(tmp_path):
    for name, artwork in (("tea", "art.pdf"), ("oats", "../shared.pdf")):
        (tmp_path / name).mkdir()
        (tmp_path / name / "job.yaml").write_text(f"ticket: {name}\nartwork: {artwork}\n")
        (tmp_path / name / "proof.pdf").write_text("a proof is no job by itself")
    (tmp_path / "presses").mkdir()
    (tmp_path / "presses" / "six.yaml").write_text(
        "press: Six\nsheet: {largest: 1000 x 700 mm}\nunits: [{inks: any}]\n"
    )
    (tmp_path / "tea" / "deeper").mkdir()
    (tmp_path / "tea" / "deeper" / "job.yaml").write_text("ticket: too deep\n")
    for name in ("shared.pdf", "own.pdf"):
        (tmp_path / name).write_text("")
    assert [str(path.relative_to(tmp_path)) for path in jobs_in(tmp_path)] == [
        "oats/job.yaml", "tea/job.yaml", "own.pdf",
    ]  # fmt: skip

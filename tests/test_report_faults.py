"""No fault of a report keeps back the verdict: the other reports come, the fault is said, the exit status is right."""

from __future__ import annotations

import base64
import errno
import io
import json
import math
import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from preflight.cli.main import run
from preflight.errors import ExitStatus
from preflight.report.picture_files import first_that_fits, jpeg, png
from preflight.worker import Limits, check_guarded
from tests.drawn import MM, Drawing

PRESS = "press: Six\nsheet: {largest: 1020 x 720 mm}\nunits: [{inks: any}, {inks: any}]\n"
FULL = OSError(errno.ENOSPC, "No space left on device")


@pytest.fixture
def press(tmp_path: Path) -> Path:
    path = tmp_path / "press.yaml"
    path.write_text(PRESS)
    return path


@pytest.fixture(params=["passes", "fails"])
def job(request, press, tmp_path) -> tuple[list[str], int]:
    """A command line, and the exit status that its verdict alone has."""
    drawing = Drawing(100, 80, trim=(5, 5, 95, 75))
    drawing.fill("Leaf Green", rect=(0, 0, 100, 80))
    if request.param == "fails":
        drawing.text("not embedded", (30, 30), 14)
    art = drawing.save(tmp_path / "art.pdf")
    command = ["check", str(art), "--press", str(press), "--no-cache"]
    assert run(command) == (1 if request.param == "fails" else 0)
    return command, 1 if request.param == "fails" else 0


def fine_pattern(path: Path) -> Path:
    """Squares of 2.5 pt every 5 pt, turned by 13 degrees, all over 500 x 350 mm, in magenta and yellow."""
    drawing = Drawing(500, 350)
    c, s = math.cos(math.radians(13)), math.sin(math.radians(13))
    drawing.raw(f"q 0 1 1 0 k {c:.5f} {s:.5f} {-s:.5f} {c:.5f} 0 0 cm")
    for x in range(0, 1700, 5):
        for y in range(-350, 1000, 5):
            if -5 < x * c - y * s < 500 * MM and -5 < x * s + y * c < 350 * MM:
                drawing.raw(f"{x} {y} 2.5 2.5 re")
    return drawing.raw("f Q").save(path)


def test_a_fine_pattern_has_its_page(press, tmp_path, capfd):
    """The pattern has 1600 x 1120 picture points in which no two neighbours are alike: over a byte each as JPEG."""
    art, page = fine_pattern(tmp_path / "art.pdf"), tmp_path / "r.html"
    assert run(["check", str(art), "--press", str(press), "--no-cache", "--report", str(page)]) == 0
    assert capfd.readouterr().err == ""
    packed = re.findall(r"data:image/\w+;base64,([\w+/=]+)", page.read_text())
    pictures = [Image.open(io.BytesIO(base64.b64decode(data))) for data in packed]
    assert (1600, 1120) in [picture.size for picture in pictures]
    assert len(pictures) == 3  # all, magenta, yellow
    assert page.stat().st_size < 2_000_000


@pytest.mark.parametrize("quality", [40, 88, 95])
def test_noise_is_packed(quality):
    noise = np.random.default_rng(7).integers(0, 255, (900, 1200, 3), np.uint8)
    packed = Image.open(io.BytesIO(jpeg(Image.fromarray(noise), quality, 0)))
    packed.load()
    assert packed.size == (1200, 900)
    assert np.array_equal(np.asarray(Image.open(io.BytesIO(png(Image.fromarray(noise))))), noise)


def test_what_breaks_is_passed_over_and_the_smallest_is_kept():
    def breaks() -> bytes:
        raise OSError("encoder error -2")

    assert first_that_fits([breaks, lambda: b"12345", lambda: b"123"], 4) == b"123"
    assert first_that_fits([lambda: b"12345", breaks, lambda: b"1234"], 2) == b"1234"
    assert first_that_fits([lambda: b"1234", lambda: b"12345"], 2) == b"1234"
    assert first_that_fits([lambda: b"1234", lambda: b"12"], 4) == b"1234"  # just as large as may be
    assert first_that_fits([lambda: b"abcd", lambda: b"1234"], 2) == b"abcd"  # of two as small the first
    with pytest.raises(OSError, match="cannot be packed"):
        first_that_fits([breaks], 4)


def breaking(monkeypatch, where: str) -> None:
    """Break one step of a report."""

    def broken(*_arguments, **_keywords):
        raise KeyError("no such thing in the template")

    owner, _, name = where.rpartition(".")
    monkeypatch.setattr(sys.modules[f"preflight.{owner}"], name, broken)


def test_a_template_fault_keeps_back_nothing_else(job, tmp_path, monkeypatch, capsys):
    command, verdict = job
    breaking(monkeypatch, "report.html.render_html")
    files = [tmp_path / "first.html", tmp_path / "second.json"]
    status = run([*command, *(word for file in files for word in ("--report", str(file)))])
    out, err = capsys.readouterr()
    assert status == (verdict or 6)
    assert json.loads(files[1].read_text())["sentence"].split(":")[0] in out
    assert "first.html" in err
    assert "second.json" not in err
    assert "Traceback" not in out + err
    assert not files[0].exists()


@pytest.mark.parametrize("fault", [FULL, PermissionError(errno.EACCES, "Permission denied")])
def test_a_file_that_cannot_be_written_is_named(job, fault, tmp_path, monkeypatch, capsys):
    command, verdict = job
    kept = os.fsync

    def refused(descriptor: int) -> None:
        if "first" in str(Path(f"/proc/self/fd/{descriptor}").readlink()):
            raise fault
        kept(descriptor)

    monkeypatch.setattr(os, "fsync", refused)
    status = run([*command, "--report", str(tmp_path / "first.json"), "--report", str(tmp_path / "second.html")])
    out, err = capsys.readouterr()
    assert status == (verdict or 6)
    assert f"{tmp_path / 'first.json'} cannot be written: {fault.strerror}" in err
    assert (tmp_path / "second.html").exists()
    assert not (tmp_path / "first.json").exists()
    assert ("Not ready for plates" if verdict else "Ready for plates") in out


def test_a_page_goes_without_pictures_that_cannot_be_made(job, tmp_path, monkeypatch, capsys):
    command, verdict = job
    breaking(monkeypatch, "report.pictures.composite")
    assert run([*command, "--report", str(tmp_path / "r.html")]) == verdict
    out, err = capsys.readouterr()
    assert "r.html" in err
    assert "pictures" in err
    assert "</html>" in (tmp_path / "r.html").read_text()
    assert "data:image" not in (tmp_path / "r.html").read_text()
    assert ("Not ready for plates" if verdict else "Ready for plates") in out


def test_a_fault_of_the_terminal_report_leaves_the_verdict_and_the_files(job, tmp_path, monkeypatch, capsys):
    command, verdict = job
    breaking(monkeypatch, "cli.check_command.print_report")
    status = run([*command, "--report", str(tmp_path / "r.json")])
    out, err = capsys.readouterr()
    assert status == (verdict or 6)
    assert ("The verdict is fail." in out) == bool(verdict)
    assert "The verdict is" in out
    assert (tmp_path / "r.json").exists()
    assert "Traceback" not in out + err
    if verdict:
        finding = json.loads((tmp_path / "r.json").read_text())["findings"][0]
        assert finding["says"] in out


def test_a_fault_of_the_document_leaves_the_verdict(job, tmp_path, monkeypatch, capsys):
    command, verdict = job
    breaking(monkeypatch, "report.report.build_document")
    status = run([*command, "--report", str(tmp_path / "r.json")])
    out, err = capsys.readouterr()
    assert status == (verdict or 6)
    assert "The verdict is" in out
    assert "r.json" in err
    assert "Traceback" not in out + err


def test_a_fault_of_the_opening_does_not_stop_the_check(job, monkeypatch, capsys):
    command, verdict = job
    breaking(monkeypatch, "cli.check_command.print_opening")
    assert run(command) == (verdict or 6)
    out, _ = capsys.readouterr()
    assert "SHA-256" in out  # the whole report then has what the opening had


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device here")
def test_a_full_disk_under_standard_output(job):
    command, verdict = job
    with Path("/dev/full").open("w") as full:
        ended = subprocess.run(
            [sys.executable, "-m", "preflight.cli.main", *command], stdout=full, stderr=subprocess.PIPE, text=True,
            check=False, cwd=Path(__file__).parent.parent,
        )  # fmt: skip
    assert ended.returncode == (verdict or 6)
    assert "The verdict is" in ended.stderr
    assert "No space left" in ended.stderr
    assert "Traceback" not in ended.stderr


def test_a_reader_that_goes_changes_no_exit_status(job):
    command, verdict = job
    read, write = os.pipe()
    os.close(read)
    ended = subprocess.run(
        [sys.executable, "-m", "preflight.cli.main", *command], stdout=write, stderr=subprocess.PIPE, check=False,
        cwd=Path(__file__).parent.parent,
    )  # fmt: skip
    os.close(write)
    assert (ended.returncode, ended.stderr) == (verdict, b"")


def test_the_child_hands_back_the_verdict_whatever_becomes_of_its_reports(job, tmp_path, capsys):
    command, verdict = job
    nowhere = Path("/proc") / "r.html"  # a folder that is there, and takes no file
    if not nowhere.parent.is_dir():
        pytest.skip("no such folder here")
    files = ["--report", str(nowhere), "--report", str(tmp_path / "second.json")]
    status = run([*command, "--guarded", *files])
    out, err = capsys.readouterr()
    assert status == (verdict or 6)
    assert str(nowhere) in err
    assert json.loads((tmp_path / "second.json").read_text())["sentence"].split(":")[0] in out


def test_a_child_that_ends_over_its_reports_has_judged_all_the_same(job, press, tmp_path, monkeypatch):
    """The worker's own module is run with a report that ends the process once the answer is there."""
    command, verdict = job
    ending = (
        "import json, os, sys\n"
        "from preflight import worker\n"
        "from preflight.report.report import Report\n"
        "Report.save_all = lambda self, *paths: os._exit(9)\n"
        "worker.run_ordered(json.load(sys.stdin))\n"
    )
    monkeypatch.chdir(Path(__file__).parent.parent)
    monkeypatch.setattr("preflight.worker.CHILD", ("-c", ending))
    guarded = check_guarded(Path(command[1]), press=press, reports=[tmp_path / "r.html"], limits=Limits())
    assert guarded.exit_status is (ExitStatus.FAIL if verdict else ExitStatus.OK)
    assert [str(tmp_path / "r.html") in shortfall.words for shortfall in guarded.unwritten] == [True]


@pytest.mark.parametrize("name", ["nowhere/first.html", "folder.html"])
def test_a_report_that_has_no_place_is_said_after_the_check(job, name, tmp_path, capsys):
    command, verdict = job
    (tmp_path / "folder.html").mkdir()
    status = run([*command, "--report", str(tmp_path / name), "--report", str(tmp_path / "second.json")])
    out, err = capsys.readouterr()
    assert status == (verdict or 6)
    assert f"{tmp_path / name} cannot be written: " in err
    assert out.splitlines()[-1] == f"Report  {tmp_path / 'second.json'}"
    assert str(tmp_path / name) not in out


@pytest.mark.parametrize("more", [[], ["--guarded"]], ids=["here", "in a child"])
def test_a_wrong_ending_is_said_before_the_work(job, more, tmp_path, capsys):
    command, _ = job
    assert run([*command, *more, "--report", str(tmp_path / "r.docx")]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "r.docx" in err


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="no such folder here")
def test_plates_that_cannot_be_written_are_six(job, capsys):
    command, _ = job
    assert run(["plates", command[1], "--out", "/proc/plates"]) == 6
    assert "/proc/plates cannot be written" in capsys.readouterr().err


@pytest.mark.parametrize("more", [[], ["--guarded"]], ids=["here", "in a child"])
def test_quiet_says_the_verdict_the_counts_and_where_the_report_is(job, more, tmp_path, capsys):
    command, verdict = job
    page = tmp_path / "r.html"
    assert run([*command, *more, "--quiet", "--report", str(page)]) == verdict
    out, err = capsys.readouterr()
    assert err == ""
    sentence, counts, report = out.splitlines()
    assert sentence.endswith(".")
    assert counts.startswith("1 fault, " if verdict else "0 faults, ")
    assert " not checked" in counts
    assert report == f"Report  {page}"
    assert run([*command, *more, "--report", str(page)]) == verdict
    assert capsys.readouterr().out.endswith(out)

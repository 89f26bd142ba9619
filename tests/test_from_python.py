"""The package as a programmer meets it: what it exports, one default for the cache, reports that travel, the log."""

from __future__ import annotations

import ast
import json
import logging
import pickle
import subprocess
import sys
from pathlib import Path

import pytest

import preflight
from preflight import check, check_guarded, errors
from preflight.judging.rulebook import load_rules
from preflight.report.document import RunFacts
from preflight.report.report import Report
from tests.drawn import Drawing
from tests.report_jobs import RUN

ROOT = Path(__file__).parents[1]
PRESS = "press: Six\nsheet: {largest: 1020 x 720 mm}\nunits: [{inks: any}, {inks: any}]\n"


@pytest.fixture
def job(tmp_path: Path) -> tuple[Path, Path]:
    page = Drawing(100, 80, trim=(5, 5, 95, 75)).fill("Leaf Green", rect=(0, 0, 100, 80))
    page.text("not embedded", (30, 30), 14)
    (tmp_path / "press.yaml").write_text(PRESS)
    return page.save(tmp_path / "art.pdf"), tmp_path / "press.yaml"


def told(program: str) -> str:
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, cwd=ROOT, check=True)
    return done.stdout


def test_all_that_a_caller_meets_is_exported():
    exceptions = {
        name for name, entry in vars(errors).items() if isinstance(entry, type) and issubclass(entry, Exception)
    }
    assert exceptions | {"check", "check_guarded", "Report", "ExitStatus", "__version__"} <= set(preflight.__all__)
    assert set(preflight.__all__) <= set(dir(preflight))
    for name in preflight.__all__:
        assert getattr(preflight, name) is not None
    with pytest.raises(AttributeError, match="nonsense"):
        _ = preflight.nonsense  # type: ignore[attr-defined]


def test_type_checkers_are_told_the_same():
    stub = ast.parse((ROOT / "preflight" / "__init__.pyi").read_text())
    named = {alias.name for node in stub.body if isinstance(node, ast.ImportFrom) for alias in node.names}
    assert named | {"__version__"} == set(preflight.__all__)
    assert all(isinstance(node, ast.ImportFrom | ast.AnnAssign | ast.Assign | ast.Expr) for node in stub.body)


def test_exporting_loads_nothing():
    assert told("import sys, preflight; print(any(n.startswith('preflight.') for n in sys.modules))") == "False\n"
    heavy = "import sys; from preflight import WrongUsage, __version__; print('numpy' in sys.modules)"
    assert told(heavy) == "False\n"


def test_the_module_is_the_command():
    done = subprocess.run(
        [sys.executable, "-m", "preflight", "--version"], capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert done.stdout == f"preflight {preflight.__version__}\n"


def test_the_distribution_has_a_name_of_its_own():
    text = (ROOT / "pyproject.toml").read_text()
    assert 'name = "carton-preflight"' in text
    assert 'preflight = "preflight.__main__:main"' in text
    assert "preflight[" not in text.replace("carton-preflight[", "")


def test_the_cache_is_on_wherever_nobody_says_otherwise():
    program = (
        "import inspect; from preflight import check, check_guarded\n"
        "from preflight.artwork.read_artwork import read_artwork\n"
        "from preflight.cli.check_options import CheckOptions\n"
        "print(*(inspect.signature(f).parameters['cache'].default for f in "
        "(check, check_guarded, read_artwork, CheckOptions)))"
    )
    assert told(program) == "True True True True\n"


def test_a_report_is_shown_in_one_line(job):
    art, press = job
    report = check(art, press=press)
    assert repr(report) == "<Report fail: 1 fault, 1 query; 'art.pdf', 1 page>"
    report.close()
    assert repr(report).startswith("<Report fail")


@pytest.mark.parametrize("parts", [([], RUN, []), (None, None, None), ([("x", "y")], RUN, [])])
def test_a_report_that_was_built_by_hand_is_shown_too(parts):
    assert repr(Report(*parts)) == "<Report>"


def test_a_report_travels(job, tmp_path):
    art, press = job
    with check(art, press=press) as report:
        packed = pickle.dumps(report)
    there = pickle.loads(packed)
    assert there.verdict == "fail"
    assert there.findings == report.findings
    assert there.document == report.document
    assert there.separations == report.separations
    assert there.exit_status() == report.exit_status()
    assert repr(there) == repr(report)
    files = [tmp_path / "there.json", tmp_path / "there.html"]
    (shortfall,) = there.save_all(files)
    assert shortfall.written
    assert "pictures" in shortfall.words
    assert str(files[1]) in shortfall.words
    assert json.loads(files[0].read_text()) == report.document
    assert "Leaf Green" in files[1].read_text()
    there.close()
    with there as again:
        assert pickle.loads(pickle.dumps(again)).verdict == "fail"


def test_a_sample_job_travels():
    """With die, press, ticket and all."""
    with check(ROOT / "sample_jobs" / "oat-biscuits" / "ticket.yaml") as report:
        assert pickle.loads(pickle.dumps(report)).document == report.document


@pytest.fixture
def house(tmp_path: Path) -> Path:
    path = tmp_path / "house.yaml"
    path.write_text("- {rule: font-not-embedded, off: this customer embeds nothing}\n")
    return path


@pytest.mark.parametrize("kind", [str, Path])
def test_one_file_of_rules_is_one_file(kind, job, house):
    art, press = job
    assert "font-not-embedded" in load_rules(kind(house)).off
    with check(str(art), press=str(press), rules=kind(house)) as report:
        assert report.verdict == "warn"
        assert report.document["switched_off"] == [
            {"rule": "font-not-embedded", "because": "this customer embeds nothing"}
        ]
        assert report.document["counts"]["switched_off"] == 1
    guarded = check_guarded(str(art), press=str(press), rules=kind(house))
    assert guarded.document["verdict"] == "warn"
    assert "font-not-embedded" in load_rules([kind(house)]).off


def test_the_log_has_the_steps_and_what_broke(job, monkeypatch, caplog):
    art, press = job

    def broken(*_arguments, **_keywords):
        raise ZeroDivisionError("an area of nothing")

    steps = list[str]()
    monkeypatch.setattr("preflight.judging.judge.hold", broken)
    with caplog.at_level(logging.DEBUG, "preflight"):
        check(art, press=press, progress=steps.append).close()
    assert [record.getMessage() for record in caplog.records if record.levelno == logging.INFO] == steps
    assert steps[0] == "reading art.pdf"
    broke = [record for record in caplog.records if record.levelno == logging.DEBUG and record.exc_info]
    assert broke
    assert all(record.name.startswith("preflight") for record in caplog.records)


def test_the_log_is_silent_until_somebody_listens():
    program = "import preflight, logging; preflight.check; print(logging.getLogger('preflight').handlers)"
    assert told(program) == "[<NullHandler (NOTSET)>]\n"


def test_what_a_report_says_of_the_tool_is_its_version():
    assert RunFacts(RUN.when).tool == f"preflight {preflight.__version__}"

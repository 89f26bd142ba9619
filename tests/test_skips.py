"""Which tests may be left out without a failure: at a desk those whose referee is absent, where ``CI=true`` none but
those that need the outside PDFs or the published schema of XJDF.
"""

import ast
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
REASON = "for want of a horse"
SUITE = """
import pytest
from tests.referees import needs_corpus, needs_ghostscript, needs_mupdf, needs_pdfinfo

def test_that_runs(): pass

@needs_ghostscript
def test_against_ghostscript(): pass

@needs_mupdf
def test_against_mupdf(): pass

@needs_pdfinfo
def test_against_pdfinfo(): pass

@needs_corpus
@needs_ghostscript
@pytest.mark.parametrize("file", [])
def test_with_files_of_which_there_are_none(file): pass

@needs_corpus
@pytest.mark.parametrize("file", ["a", "b"])
def test_with_outside_files(file): pass

@pytest.mark.xfail
def test_known_to_fail(): assert False
"""


SCHEMA_SUITE = """
import pytest
from tests.referees import needs_xjdf_schema

@needs_xjdf_schema
@pytest.mark.parametrize("job", "abc")
def test_against_the_schema(job): pass

def test_that_runs(): pass
"""


def outcome(
    folder: Path, source: str, *, ci: str, corpus: bool = False, referees: bool = True, schema: bool = False
) -> dict[str, int]:
    """Runs these tests under the project's own conftest: how many ended how. Reasons have to be told in any case."""
    (folder / "conftest.py").write_text((TESTS / "conftest.py").read_text())
    (folder / "test_suite.py").write_text(source)
    outside = folder / "outside"
    outside.mkdir()
    if corpus:
        (outside / "INDEX.tsv").touch()
    if schema:
        (outside / "xjdf.xsd").touch()
    environment = os.environ | {"CI": ci, "CORPUS": str(outside), "PYTHONPATH": str(TESTS.parent)}
    environment["XJDF_XSD"] = str(outside / "xjdf.xsd")
    if not referees:
        environment["PATH"] = str(folder)
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-c", str(TESTS.parent / "pyproject.toml")]
    ended = subprocess.run(
        [*command, "--rootdir", str(folder), str(folder / "test_suite.py")],
        cwd=folder, env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    last = ended.stdout.splitlines()[-1]  # 5: nothing was left to run, since the file skipped itself
    assert REASON in ended.stdout or REASON not in source
    counts = {what: int(number) for number, what in re.findall(r"(\d+) (\w+)", last.split(" in ")[0])}
    assert (ended.returncode in (0, 5)) is not bool({"failed", "error", "errors"} & counts.keys()), ended.stdout
    return counts


@pytest.mark.parametrize(
    ("ci", "corpus", "referees", "expected"),
    [
        ("", False, True, {"passed": 4, "skipped": 1, "deselected": 2, "xfailed": 1}),
        ("true", False, True, {"passed": 4, "skipped": 1, "deselected": 2, "xfailed": 1}),
        ("", False, False, {"passed": 1, "skipped": 4, "deselected": 2, "xfailed": 1}),
        ("true", False, False, {"passed": 1, "errors": 3, "skipped": 1, "deselected": 2, "xfailed": 1}),
        ("", True, True, {"passed": 6, "skipped": 1, "xfailed": 1}),
        ("true", True, True, {"passed": 6, "error": 1, "xfailed": 1}),
        ("true", True, False, {"passed": 3, "errors": 4, "xfailed": 1}),
    ],
    ids=[
        "desk, no outside files",
        "ci, no outside files",
        "desk, neither files nor referees",
        "ci, neither files nor referees",
        "desk, nothing missing but parameters",
        "ci, nothing missing but parameters",
        "ci, no referees",
    ],
)
def test_what_may_be_left_out(ci, corpus, referees, expected, tmp_path):
    assert outcome(tmp_path, SUITE, ci=ci, corpus=corpus, referees=referees) == expected


@pytest.mark.parametrize("ci", ["", "true"])
def test_the_published_schema_may_be_absent(ci, tmp_path):
    without, with_it = tmp_path / "without", tmp_path / "with"
    without.mkdir()
    with_it.mkdir()
    assert outcome(without, SCHEMA_SUITE, ci=ci) == {"passed": 1, "skipped": 1, "deselected": 2}
    assert outcome(with_it, SCHEMA_SUITE, ci=ci, schema=True) == {"passed": 4}


@pytest.mark.parametrize(("ci", "expected"), [("", {"skipped": 1}), ("true", {"error": 1})])
def test_a_file_that_skips_itself(ci, expected, tmp_path):
    skips = f"import pytest\npytest.skip({REASON!r}, allow_module_level=True)"
    assert outcome(tmp_path, skips, ci=ci) == expected


@pytest.mark.parametrize(("ci", "expected"), [("", {"skipped": 1}), ("true", {"failed": 1})])
def test_a_test_that_skips_itself(ci, expected, tmp_path):
    assert outcome(tmp_path, f"import pytest\ndef test_it():\n    pytest.skip({REASON!r})", ci=ci) == expected


def test_every_test_stands_where_pytest_looks_for_it():
    """A function named test_… in a file of another name would never run, and nobody would be told."""
    astray = {
        f"{file.relative_to(TESTS)}: {node.name}"
        for file in TESTS.rglob("*.py")
        if not file.name.startswith("test_")
        for node in ast.walk(ast.parse(file.read_text()))
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    }
    assert astray == set()


def test_continuous_integration_lets_nothing_be_skipped():
    script = (TESTS.parent / ".ci" / "run").read_text()
    assert "export CI=true" in script
    assert {"ghostscript", "mupdf-tools", "poppler-utils"} <= set(script.split())

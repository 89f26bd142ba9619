"""What the documents say is what the code does."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import click
import pytest

from preflight.cli.main import cli
from preflight.errors import ExitStatus
from preflight.inputs.loading import load_press, load_ticket
from preflight.judging.catalogue import load_catalogue
from preflight.judging.rulebook import load_rules
from tests.readme_tables import README, readme_with_table

ROOT = README.parent
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()


def test_table_of_checks_is_current():
    assert README.read_text() == readme_with_table()


@pytest.mark.parametrize("name", sorted(cli.commands))
def test_every_command_is_in_the_readme(name):
    assert f"`preflight {name}" in README.read_text()


@pytest.mark.parametrize("name", ["check", "plates"])
def test_every_option_is_in_the_readme(name):
    options = [p.opts[0] for p in cli.commands[name].params if isinstance(p, click.Option)]
    assert [option for option in options if option not in README.read_text()] == []


@pytest.mark.parametrize("status", list(ExitStatus))
def test_every_exit_status_is_in_the_readme(status):
    assert re.search(rf"^\| {int(status)} \|", README.read_text(), re.MULTILINE)


EXAMPLES = [
    (guide, example)
    for guide in ("README.md", "rules/README.md")
    for example in re.findall(r"```yaml\n(.*?)```", (ROOT / guide).read_text(), re.DOTALL)
]


@pytest.mark.parametrize(("guide", "example"), EXAMPLES, ids=[f"{g} {e.split(':')[0]}" for g, e in EXAMPLES])
def test_examples_of_the_guides_are_taken(guide, example, tmp_path, monkeypatch):
    file = tmp_path / "checks.yaml"
    file.write_text(example)
    if example.startswith("press:"):
        load_press(file)
    elif example.startswith("ticket:"):
        load_ticket(file, given=("artwork", "press"))
    elif example.startswith("- rule:"):
        load_rules([file])
    else:
        assert example.startswith("- section:")
        monkeypatch.setenv("PREFLIGHT_RULES", str(tmp_path))
        assert load_catalogue().rows


@pytest.mark.parametrize("option", ["--coverage", "--json"])
def test_coverage_is_in_the_readme(option):
    assert option in {p.opts[0] for p in cli.commands["rules"].params}
    assert option in README.read_text()


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md", "rules/README.md", "sample_jobs/README.md"])
def test_links_lead_somewhere(document):
    path = ROOT / document
    targets = re.findall(r"\]\(([^)#:]+)\)", path.read_text())
    assert [target for target in targets if not (path.parent / target).exists()] == []


@pytest.mark.parametrize(
    "folder", sorted(p.name for p in (ROOT / "sample_jobs").iterdir() if (p / "ticket.yaml").exists())
)
def test_every_sample_job_has_its_papers(folder):
    assert folder in (ROOT / "sample_jobs" / "README.md").read_text()
    assert Path(ROOT / "sample_jobs" / folder / "expected.yaml").exists()


def test_readme_opens_with_exactly_two_command_lines():
    blocks = re.findall(r"```sh\n(.*?)```", README.read_text(), re.DOTALL)
    assert len(blocks) == 2
    assert blocks[0].startswith("pip install . && preflight check sample_jobs/")
    assert blocks[1].startswith("pip install ")
    assert blocks[1].rstrip().endswith("&& pytest")
    assert DEVELOPERS


def test_every_file_that_the_developers_page_names_is_there():
    files = {path.name for path in ROOT.rglob("*.py")}
    assert set(re.findall(r"`(?:[\w./]*/)?(\w+\.py)`", DEVELOPERS)) - files == set()


def test_the_example_in_python_runs(tmp_path, monkeypatch, capsys):
    (example,) = re.findall(r"```python\n(.*?)```", README.read_text(), re.DOTALL)
    job = ROOT / "sample_jobs" / "oat-biscuits-repaired"
    ticket = (job / "ticket.yaml").read_text().replace("../presses", str(job.parent / "presses"))
    (tmp_path / "ticket.yaml").write_text(ticket.replace("artwork.pdf", str(job / "artwork.pdf")))
    house = tmp_path / "house.yaml"
    house.write_text("- {rule: bleed-short, off: white edges}\n")
    monkeypatch.chdir(tmp_path)
    exec(compile(example, "README.md", "exec"), {})
    out = capsys.readouterr().out
    assert "reading artwork.pdf" in out
    assert "'switched_off': 1" in out
    assert (tmp_path / "report.html").exists()
    house.write_text("- {rule: bleed-shrt, off: white edges}\n")
    exec(compile(example, "README.md", "exec"), {})
    assert "house.yaml" in capsys.readouterr().out


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_is_as_the_readme_says(shell):
    assert f"_PREFLIGHT_COMPLETE={shell}_source" in README.read_text() or f"`{shell}_source`" in README.read_text()
    environment = {**os.environ, "_PREFLIGHT_COMPLETE": f"{shell}_source"}
    done = subprocess.run(
        [sys.executable, "-m", "preflight"], env=environment, capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert "preflight" in done.stdout


def test_the_changelog_ends_the_readme():
    assert README.read_text().rpartition("\n## ")[2].startswith("Changelog\n")

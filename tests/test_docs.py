"""What the documents say is what the code does."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
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


# Command lines -----------------------------------------------------------------------------------------------------

GUIDES = ("README.md", "rules/README.md", "sample_jobs/README.md")


def command_lines(guide: str) -> Iterator[str]:
    """Every ``preflight …`` between backticks or in a block of a guide, with its brackets and without."""
    text = (ROOT / guide).read_text()
    blocks = re.findall(r"```sh\n(.*?)```", text, re.DOTALL)
    prose = re.sub(r"```.*?```", "", text, flags=re.DOTALL)
    written = re.findall(r"`(preflight\s[^`]+)`", prose)
    for part in (part for block in blocks for line in block.splitlines() for part in line.split("&&")):
        if part.strip().startswith("preflight "):
            written.append(part)
    for line in dict.fromkeys(" ".join(each.split()) for each in written if "…" not in each):
        yield from dict.fromkeys((re.sub(r" ?\[.*?\]", "", line), re.sub(r"[][]", "", line)))


COMMAND_LINES = [(guide, line) for guide in GUIDES for line in command_lines(guide)]


@pytest.mark.parametrize(("guide", "line"), COMMAND_LINES, ids=[line for _, line in COMMAND_LINES])
def test_every_command_line_of_the_guides_is_understood(guide, line):
    """What is in capitals stands for a file; files of the sample jobs have to be there."""
    command: click.Command = cli
    arguments = shlex.split(line.replace("...", ""))[1:]
    while isinstance(command, click.Group) and arguments and not arguments[0].startswith("-"):
        command, arguments = command.commands[arguments[0]], arguments[1:]
    if arguments == ["--help"]:
        return
    values, left, _ = command.make_parser(click.Context(command)).parse_args(arguments)
    assert left == []
    needed = [p.name for p in command.params if p.required]
    given = {name for name, value in values.items() if value not in (None, ())}
    assert set(needed) <= given or len(shlex.split(line)) == 2  # the bare name of a command is no line to type
    assert [word for word in arguments if word.startswith("sample_jobs/") and not (ROOT / word).exists()] == []


def test_command_lines_are_found_in_the_readme():
    assert {line.split()[1] for guide, line in COMMAND_LINES if guide == "README.md"} >= {"check", "plates", "rules"}


@pytest.mark.parametrize("row", re.findall(r"^\| `preflight .*$", README.read_text(), re.MULTILINE))
def test_every_option_in_the_table_of_commands_is_one_of_its_command(row):
    command: click.Command = cli
    for word in row.split("`")[1].split()[1:]:
        command = command.commands.get(word, command) if isinstance(command, click.Group) else command
    known = {option for parameter in command.params for option in (*parameter.opts, *parameter.secondary_opts)}
    assert [option for option in re.findall(r"(?<![\w-])--[a-z-]+", row) if option not in known] == []

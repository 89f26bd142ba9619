"""The house holds: imports run downwards, fences stand, files stay readable."""

from __future__ import annotations

import ast
import builtins
import shutil
import subprocess
from pathlib import Path

import pytest

from preflight import errors

PACKAGE = Path(__file__).parent.parent / "preflight"
LEVELS = [
    {"interruption", "errors", "quantities", "kinds", "suggest", "findings"},
    {"inputs"},
    {"artwork"},
    {"carton"},
    {"setup"},
    {"drafting"},
    {"job"},
    {"job_facts"},
    {"measures"},
    {"judging"},
    {"comparing", "crew"},
    {"report"},
    {"pipeline"},
    {"setup_pipeline", "compare_pipeline"},
    {"worker"},
    {"hopper"},
    {"intake"},
    {"cli"},
    {"__main__"},
]
"""What may import what: only from a level above it in this list, or within its own."""
ROOMS_OF_ARTWORK = ["page", "pdf.structure", "pdf.colour", "pdf.images", "pdf.content", "platemaking"]
"""What is handed out first, then from the file to its plates; ``read_artwork`` is the door, and no room leads to it."""
LEVEL_OF = {name: level for level, names in enumerate(LEVELS) for name in names}
FENCED = {"pikepdf": "artwork", "pypdfium2": "artwork", "yaml": "inputs"}
MODULES = sorted(path for path in PACKAGE.rglob("*.py"))
READING = {
    "content_reader", "operators", "text_operators", "stream_state", "content_builder", "page_tables", "soft_masks"
}  # fmt: skip
"""What reads the streams of a page."""


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports_of(path: Path, *, typing: bool = False) -> set[str]:
    """Modules that a file imports when it runs; with ``typing`` also those that only type checkers see."""
    tree = ast.parse(path.read_text())
    guarded = {
        id(node)
        for branch in ast.walk(tree)
        if isinstance(branch, ast.If) and "TYPE_CHECKING" in ast.unparse(branch.test)
        for node in ast.walk(branch)
    }
    found: set[str] = set()
    for node in ast.walk(tree):
        if id(node) in guarded and not typing:
            continue
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            members = (f"{node.module}.{alias.name}" for alias in node.names)
            found.update(member if member in MODULE_NAMES else node.module for member in members)
    return found


def name_of(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULE_NAMES = {name_of(path) for path in MODULES}


def imports_in_the_package() -> dict[str, set[str]]:
    """For each module those of the package that it imports, for type checkers too."""
    return {name_of(path): (imports_of(path, typing=True) & MODULE_NAMES) - {name_of(path)} for path in MODULES}


def reached_from(starts: set[str], imports: dict[str, set[str]]) -> set[str]:
    """Modules that some lead to, over whatever others."""
    found: set[str] = set()
    waiting = list(starts)
    while waiting:
        fresh = imports[waiting.pop()] - found
        found |= fresh
        waiting += fresh
    return found


def cycles(imports: dict[str, set[str]]) -> list[set[str]]:
    """Modules that import each other, directly or over others; each set once."""
    reach = {name: reached_from({name}, imports) for name in imports}
    found = [
        {other for other in reach[name] if name in reach[other]} for name in sorted(imports) if name in reach[name]
    ]
    return [cycle for at, cycle in enumerate(found) if cycle and cycle not in found[:at]]


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_imports_run_downwards(path):
    room = room_of(path)
    if room == "__init__":
        return
    own = LEVEL_OF[room]
    above = {name for name in imports_of(path) if name.startswith("preflight.") and LEVEL_OF[name.split(".")[1]] > own}
    assert above == set()


def test_no_file_imports_itself_over_others():
    """Imports for type checkers count: two files that cannot be described apart are one."""
    assert cycles(imports_in_the_package()) == []


def test_cycles_are_found():
    imports = {"a": {"b"}, "b": {"c"}, "c": {"a", "d"}, "d": {"e"}, "e": {"d"}, "f": {"a"}}
    assert cycles(imports) == [{"a", "b", "c"}, {"d", "e"}]


def test_plate_making_does_not_know_who_read_the_page():
    imports = imports_in_the_package()
    makers = {name for name in imports if name.startswith("preflight.artwork.platemaking")}
    reading = {f"preflight.artwork.pdf.content.{name}" for name in READING}
    assert reading <= imports.keys()
    assert reached_from(makers, imports) & reading == set()


def room_of_artwork(name: str) -> int:
    """Which room of ``artwork/`` a module is in, by its number; the door comes after all of them."""
    inside = name.removeprefix("preflight.artwork.")
    return next(
        (n for n, room in enumerate(ROOMS_OF_ARTWORK) if f"{inside}.".startswith(f"{room}.")), len(ROOMS_OF_ARTWORK)
    )


def test_rooms_of_artwork_look_upstream_only():
    imports = {name: own for name, own in imports_in_the_package().items() if name.startswith("preflight.artwork.")}
    assert {room_of_artwork(name) for name in imports} == set(range(len(ROOMS_OF_ARTWORK) + 1))
    against = {
        f"{name} imports {other}"
        for name, own in imports.items()
        for other in own & imports.keys()
        if room_of_artwork(other) > room_of_artwork(name)
    }
    assert against == set()


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_fences_stand(path):
    outside = {name for name in imports_of(path) if (room := FENCED.get(name.split(".")[0])) and room != room_of(path)}
    assert outside == set()


def test_every_exception_stands_in_one_file():
    """But for those that never leave the file that raises them, which begin with an underscore."""
    known = {name for name, entry in vars(errors).items() if isinstance(entry, type) and issubclass(entry, Exception)}
    known |= {"Exception", "BaseException"}
    known |= {name for name in dir(builtins) if name.endswith("Error")}
    elsewhere = {
        f"{path.name}: {node.name}"
        for path in MODULES
        if path != PACKAGE / "errors.py"
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_")
        if known & {ast.unparse(base) for base in node.bases}
    }
    assert elsewhere == set()
    own = [entry for entry in vars(errors).values() if isinstance(entry, type) and issubclass(entry, Exception)]
    assert all(issubclass(entry, errors.PreflightError) for entry in own)
    assert all(f" {entry.__name__}" in (errors.__doc__ or "") for entry in own if entry is not errors.PreflightError)


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_files_stay_under_500_lines(path):
    assert len(path.read_text().splitlines()) < 500


def test_the_spine_is_short_and_reads_no_pdf_and_writes_no_html():
    text = (PACKAGE / "pipeline.py").read_text()
    assert len(text.splitlines()) < 120
    assert not {"pikepdf", "jinja2", "numpy"} & {name.split(".")[0] for name in imports_of(PACKAGE / "pipeline.py")}


def top_level() -> set[str]:
    """What belongs to the project; a report that somebody has had written beside it does not."""
    root = PACKAGE.parent
    if shutil.which("git") and (root / ".git").exists():
        listed = subprocess.run(["git", "ls-files", "-z"], cwd=root, capture_output=True, text=True, check=False)
        if listed.returncode == 0:
            return {name.split("/")[0] for name in listed.stdout.split("\0") if name}
    written = {".html", ".json", ".pdf", ".png"}
    return {path.name for path in root.iterdir() if not (path.is_file() and path.suffix in written)}


def test_the_top_level_holds_what_it_should():
    shown = {name for name in top_level() if not name.startswith(".")}
    known = {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "requirements.lock",
        "preflight",
        "rules",
        "tests",
        "sample_jobs",
    }
    assert shown - known <= {"build", "dist", "preflight.egg-info"}

"""What a check takes, counted and not timed: modules that it loads, calls that it makes, pixels that it draws."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from pikepdf import Dictionary, Name

from preflight import check
from preflight.artwork.platemaking.pdfium import DerivedDocument
from preflight.artwork.read_artwork import read_artwork
from tests.drawn import MM, Drawing

ROOT = Path(__file__).parents[1]
TICKET = ROOT / "sample_jobs" / "oat-biscuits" / "ticket.yaml"
MOST_MODULES = 800
"""Of Python, its library, and ours: each costs half a millisecond of every check. 770 until twenty rules on press and
the order of units brought fifteen modules, the table of runs among them."""
NOT_NEEDED = [
    "jinja2", "reportlab", "pypdf", "pytest", "scipy", "zxingcpp", "html.parser", "http.client", "multiprocessing.pool",
    "preflight.report.html", "preflight.report.die_drawing", "preflight.cli.schema_command",
]  # fmt: skip


def test_a_check_loads_no_more_modules_than_it_needs():
    told = (
        "import os, sys\n"
        "from preflight.cli.main import main\n"
        f"sys.argv = ['preflight', 'check', {str(TICKET)!r}]\n"
        "leave, os._exit = os._exit, lambda status: print('\\nloaded', *sorted(sys.modules), flush=True)\n"
        "try: main()\n"
        "finally: leave(0)"
    )
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, cwd=ROOT, check=True)
    loaded = done.stdout.rpartition("\nloaded ")[2].split()
    assert "preflight.pipeline" in loaded
    assert not set(loaded).intersection(NOT_NEEDED)
    assert len(loaded) <= MOST_MODULES


def calls(work: Callable[[], object]) -> int:
    """Calls of Python functions."""
    found = 0

    def count(_frame: object, event: str, _argument: object) -> None:
        nonlocal found
        found += event == "call"

    before = sys.getprofile()
    sys.setprofile(count)
    try:
        work()
    finally:
        sys.setprofile(before)
    return found


def forms(count: int, tmp_path: Path, **group: object) -> Path:
    """So many forms of three objects each, on a page that may be a group."""
    page = Drawing(200, 150)
    for i in range(count):
        x, y = 2 + i % 40 * 4.8, 2 + i // 40 * 4.8
        fills = "".join(f"0.{k} 0.3 0 0 k {(x + k) * MM:.2f} {y * MM:.2f} 2 4 re f " for k in range(3))
        page.raw(f"/{page.form(fills, bbox_mm=(x - 1, y - 1, x + 5, y + 5))} Do")
    if group:
        page.page.obj.Group = Dictionary(S=Name.Transparency, **group)  # type: ignore[arg-type]
    return page.save(tmp_path / f"{count}.pdf")


def plates_of(path: Path) -> None:
    read_artwork(path).pages[0].plates(50)


def test_many_forms_are_read_and_drawn_in_proportion(tmp_path):
    """A page group of RGB included: each form was looked at for each other one once."""
    few, many = (forms(count, tmp_path, CS=Name.DeviceRGB) for count in (200, 400))
    plates_of(few)  # what is made once and kept
    one, two = calls(lambda: plates_of(few)), calls(lambda: plates_of(many))
    assert two < 2.1 * one
    plain = calls(lambda: plates_of(forms(400, tmp_path)))
    assert two < 1.2 * plain


def swatches(count: int, folder: Path) -> Path:
    """A ticket of a page with so many spots, 0.3 mm apart."""
    page = Drawing(140, 120, trim=(2, 2, 138, 118))
    for i in range(count):
        x, y = 4 + i % 40 * 3.3, 4 + i // 40 * 3.3
        page.fill(f"Shade {i + 1}", rect=(x, y, x + 3, y + 3))
    folder.mkdir()
    page.save(folder / "art.pdf")
    ticket = folder / "ticket.yaml"
    press = ROOT / "sample_jobs" / "presses" / "six-units.yaml"
    ticket.write_text(f"ticket: swatches\nartwork: art.pdf\npress: {press}\nartwork_is: one-up\n")
    return ticket


@pytest.fixture
def drawn_px(monkeypatch):
    """Pixels of every rendering."""
    pixels, render = list[int](), DerivedDocument.render

    def counted(self, number, matrix, width, height, **keys):
        pixels.append(width * height)
        return render(self, number, matrix, width, height, **keys)

    monkeypatch.setattr(DerivedDocument, "render", counted)
    return pixels


def test_many_spots_are_checked_in_proportion(tmp_path, drawn_px):
    few, many = swatches(300, tmp_path / "few"), swatches(600, tmp_path / "many")
    check(few, cache=False)
    drawn_px.clear()
    one = calls(lambda: check(few, cache=False))
    drawn_few = sum(drawn_px)
    drawn_px.clear()
    assert calls(lambda: check(many, cache=False)) < 2.2 * one
    assert sum(drawn_px) < 2.5 * drawn_few

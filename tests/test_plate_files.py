"""``preflight plates``: what is written says at what resolution it was drawn."""

from __future__ import annotations

import json

import pytest
from PIL import Image

from preflight.cli.main import run
from tests.cartons import draw_die, reverse_tuck
from tests.drawn import Drawing


@pytest.mark.parametrize(("most_bytes", "dpi"), [(500_000_000, 72), (20_000, 35.5)])
def test_the_resolution_that_was_drawn_is_written_down(tmp_path, monkeypatch, capsys, most_bytes, dpi):
    monkeypatch.setattr("preflight.artwork.platemaking.separator.MOST_PLATE_BYTES", most_bytes)
    file = (
        Drawing(100, 50)
        .fill((0.5, 0, 0, 0), rect=(0, 0, 50, 50))
        .fill("Fern", 1, rect=(50, 0, 100, 50))
        .save(tmp_path / "art.pdf")
    )
    assert run(["plates", str(file), "--out", str(tmp_path / "out"), "--resolution", "72"]) == 0
    entries = json.loads((tmp_path / "out" / "plates.json").read_text())
    assert [entry["name"] for entry in entries] == ["Cyan", "Fern"]
    assert [entry["cover_page"] for entry in entries] == [pytest.approx(0.25, abs=0.01), pytest.approx(0.5, abs=0.01)]
    for entry in entries:
        assert entry["dpi"] == pytest.approx(dpi, abs=1)
        with Image.open(tmp_path / "out" / entry["file"]) as picture:
            assert picture.width == pytest.approx(100 / 25.4 * entry["dpi"], abs=1.5)
    assert f"{entries[0]['dpi']:g} dpi" in capsys.readouterr().out


def test_coverage_says_what_it_is_of(tmp_path, capsys):
    page = Drawing(220, 200).fill("Fern", 1, rect=(0, 0, 110, 200))
    bare = Drawing(100, 50).fill("Fern", 1, rect=(0, 0, 50, 50)).save(tmp_path / "bare.pdf")
    draw_die(page, reverse_tuck(at=(10, 10)))
    assert run(["plates", str(page.save(tmp_path / "art.pdf")), "--out", str(tmp_path / "out")]) == 0
    heads, fern, *_ = capsys.readouterr().out.splitlines()
    assert heads == "coverage of page  inside the cut  kind       separation"
    entry = json.loads((tmp_path / "out" / "plates.json").read_text())[0]
    numbers = [f"{entry[key] * 100:.2f} %" for key in ("cover_page", "cover_inside_cut")]
    assert " ".join(fern.split()) == f"{numbers[0]} {numbers[1]} spot Fern"
    assert len(fern) == len(heads) - len("separation") + len("Fern")
    assert run(["plates", str(bare), "--out", str(tmp_path / "out2")]) == 0
    assert capsys.readouterr().out.splitlines()[0] == "coverage of page  kind       separation"

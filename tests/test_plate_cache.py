"""Plates kept between runs: the same plates, drawn once; bounded; no loss when a file of it is damaged."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.artwork.platemaking import plate_cache
from preflight.artwork.platemaking.separator import Separator
from preflight.artwork.read_artwork import read_artwork
from tests.drawn import Drawing


@pytest.fixture
def art(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    drawing = Drawing(60, 40)
    drawing.fill((1, 0, 0, 0), rect=(0, 0, 60, 40))
    drawing.fill("Leaf Green", rect=(0, 0, 30, 40))
    return drawing.save(tmp_path / "art.pdf")


@pytest.fixture
def drawn(monkeypatch):
    """How often plates were drawn."""
    count = []
    plain = Separator.render

    def counted(self, *arguments):
        count.append(arguments)
        return plain(self, *arguments)

    monkeypatch.setattr(Separator, "render", counted)
    return count


def test_drawn_once_for_two_runs(art, drawn):
    first = read_artwork(art, cache=True).pages[0].plates(50)
    second = read_artwork(art, cache=True).pages[0].plates(50)
    assert len(drawn) == 1
    assert first.names == second.names
    assert first.box_mm == second.box_mm
    assert np.array_equal(first.ink, second.ink)


def test_another_request_or_another_file_is_drawn(art, drawn):
    read_artwork(art, cache=True).pages[0].plates(50)
    read_artwork(art, cache=True).pages[0].plates(60)
    read_artwork(art, cache=True).pages[0].plates(50, frozenset({"Leaf Green"}))
    changed = Drawing(60, 40)
    changed.fill("Leaf Green", 0.5, rect=(0, 0, 30, 40))
    changed.save(art)
    plates = read_artwork(art, cache=True).pages[0].plates(50)
    assert len(drawn) == 4
    assert plates.names == ("Leaf Green",)


def test_without_cache_nothing_is_kept(art, drawn, tmp_path):
    read_artwork(art).pages[0].plates(50)
    read_artwork(art).pages[0].plates(50)
    assert len(drawn) == 2
    assert not (tmp_path / "cache").exists()


def test_a_damaged_file_is_drawn_again(art, drawn):
    first = read_artwork(art, cache=True).pages[0].plates(50)
    for path in plate_cache.cache_folder().iterdir():
        path.write_bytes(path.read_bytes()[:-20])
    second = read_artwork(art, cache=True).pages[0].plates(50)
    assert len(drawn) == 2
    assert np.array_equal(first.ink, second.ink)


def test_the_folder_is_bounded(art, monkeypatch):
    page = read_artwork(art, cache=True).pages[0]
    page.plates(50)
    size = sum(path.stat().st_size for path in plate_cache.cache_folder().iterdir())
    monkeypatch.setattr(plate_cache, "MOST_BYTES", 3 * size)
    for dpi in range(51, 61):
        page.plates(dpi)
    assert sum(path.stat().st_size for path in plate_cache.cache_folder().iterdir()) <= 3 * size


def test_a_folder_that_cannot_be_written_to_is_no_fault(art, monkeypatch, tmp_path):
    (tmp_path / "taken").write_text("a file")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "taken"))
    assert read_artwork(art, cache=True).pages[0].plates(50).names == ("Cyan", "Leaf Green")

"""Plates kept between runs: the same plates, drawn once; bounded; no loss when a file of it is damaged."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from preflight.artwork.page.plates import Plates
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.artwork.platemaking import plate_cache
from preflight.artwork.platemaking.plate_cache import PlateCache
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


PLATES = Plates(
    ("Cyan", "Leaf Green"),
    np.arange(24, dtype=np.uint8).reshape(2, 3, 4),
    72.5,
    (1.5, 2.0, 30.0, 20.25),
    (UncertainPlace("lost", (1, 2, 3, 4), ("Cyan",), unread=True), UncertainPlace("odd", (5, 6, 7, 8))),
)


def cache(folder: Path, key: str = "page") -> PlateCache:
    return PlateCache(folder / "kept", key)


def test_all_that_belongs_to_plates_is_kept(tmp_path):
    cache(tmp_path).put("asked", PLATES)
    found = cache(tmp_path).get("asked")
    assert found is not None
    assert (found.names, found.dpi, found.box_mm) == (PLATES.names, 72.5, PLATES.box_mm)
    assert found.uncertain == PLATES.uncertain
    assert (found.ink == PLATES.ink).all()


def test_plates_are_kept_for_their_page_and_their_request(tmp_path):
    cache(tmp_path).put("asked", PLATES)
    assert cache(tmp_path).get("asked otherwise") is None
    assert cache(tmp_path, "another page").get("asked") is None
    assert len(list((tmp_path / "kept").iterdir())) == 1


def test_a_page_is_told_by_its_file_its_number_and_its_plates():
    keys = {
        plate_cache.page_key("aa", 1, ("Cyan",)), plate_cache.page_key("ab", 1, ("Cyan",)),
        plate_cache.page_key("aa", 2, ("Cyan",)), plate_cache.page_key("aa", 1, ("Leaf",)),
    }  # fmt: skip
    assert len(keys) == 4
    assert plate_cache.page_key("aa", 1, ("Cyan",)) in keys


def test_a_file_of_another_kind_is_no_plate(tmp_path):
    cache(tmp_path).put("asked", PLATES)
    (path,) = (tmp_path / "kept").iterdir()
    path.write_bytes(b"other" + path.read_bytes())
    assert cache(tmp_path).get("asked") is None


@pytest.mark.parametrize(("largest", "kept"), [(24, True), (23, False)])
def test_plates_over_a_size_are_not_kept(tmp_path, monkeypatch, largest, kept):
    monkeypatch.setattr(plate_cache, "LARGEST_BYTES", largest)
    cache(tmp_path).put("asked", PLATES)
    assert (cache(tmp_path).get("asked") is not None) == kept


def test_the_longest_unused_plates_go_first_and_no_more_than_have_to(tmp_path, monkeypatch):
    kept = cache(tmp_path)
    for request in ("one", "two", "three"):
        kept.put(request, PLATES)
    for request, used in (("one", 300), ("two", 100), ("three", 200)):
        os.utime(kept._path(request), (used, used))
    assert kept.get("two") is not None  # which makes it the last one used
    size = kept._path("one").stat().st_size
    monkeypatch.setattr(plate_cache, "MOST_BYTES", 3 * size)
    cache(tmp_path).put("four", PLATES)
    assert [request for request in ("one", "two", "three", "four") if kept.get(request) is None] == ["three"]
    monkeypatch.setattr(plate_cache, "MOST_BYTES", 4 * size)
    cache(tmp_path).put("five", PLATES)
    assert all(kept.get(request) is not None for request in ("one", "two", "four", "five"))


def test_the_folder_is_looked_at_first_and_then_after_a_twentieth_of_its_bound(tmp_path, monkeypatch):
    looked = list[int]()
    monkeypatch.setattr(PlateCache, "_keep_bound", lambda self: looked.append(1))
    kept = cache(tmp_path)
    kept.put("one", PLATES)
    assert len(looked) == 1
    size = kept._path("one").stat().st_size
    monkeypatch.setattr(plate_cache, "MOST_BYTES", 20 * size * 2)
    kept.put("two", PLATES)
    kept.put("three", PLATES)
    assert len(looked) == 1
    kept.put("four", PLATES)
    assert len(looked) == 2
    kept.put("five", PLATES)
    assert len(looked) == 2


def test_nothing_half_written_is_left_behind(tmp_path, monkeypatch):
    def full(self, target):
        raise OSError("no room")

    monkeypatch.setattr(Path, "replace", full)
    cache(tmp_path).put("asked", PLATES)
    assert list((tmp_path / "kept").iterdir()) == []

"""Plates against Ghostscript's ``tiffsep``, in total and tile by tile, construct by construct.

Ghostscript renders six times finer than the plates or more, and is scaled down, because it paints every pixel that a
shape touches. Its unit of agreement is a separation: 5 % of its own ink or 0.03 % of the page in total, and 5 % of
its own ink beside a small allowance in each tile of 5 mm, so that a shifted plate is caught.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

import tests.plate_drawings_groups
import tests.plate_drawings_patterns
import tests.plate_drawings_pictures
import tests.plate_drawings_shadings  # noqa: F401 - all of them enter their drawings
from preflight.artwork.page.plates import Plates
from preflight.artwork.read_artwork import read_artwork
from tests.plate_drawings import DRAWINGS
from tests.referees import Tints, ghostscript_plates, needs_ghostscript

DPI = 100
TILE_PX = 20
OWN_INK, OF_THE_PAGE = 0.05, 0.0003


@dataclass
class Bench:
    """Drawings of this session: each is drawn once, and rendered by each side once."""

    folder: Path
    _referee: dict[str, Tints] = field(default_factory=dict)
    _plates: dict[tuple[str, float], Plates] = field(default_factory=dict)

    def pdf(self, name: str) -> Path:
        path = self.folder / f"{name}.pdf"
        return path if path.exists() else DRAWINGS[name].save(path)

    def referee(self, name: str) -> Tints:
        if name not in self._referee:
            finer = DRAWINGS[name].finer
            self._referee[name] = ghostscript_plates(self.pdf(name), self.folder / name, dpi=DPI, finer=finer)
        return self._referee[name]

    def plates(self, name: str, dpi: float = DPI) -> Plates:
        if (name, dpi) not in self._plates:
            self._plates[name, dpi] = read_artwork(self.pdf(name)).pages[0].plates(dpi)
        return self._plates[name, dpi]


@pytest.fixture(scope="session")
def bench(tmp_path_factory):
    return Bench(tmp_path_factory.mktemp("plates"))


def tiles(tint: NDArray[np.float32]) -> NDArray[np.float32]:
    height, width = tint.shape
    padded = np.pad(tint, ((0, -height % TILE_PX), (0, -width % TILE_PX)))
    return np.asarray(padded.reshape(padded.shape[0] // TILE_PX, TILE_PX, -1, TILE_PX).mean((1, 3)))


def disagreements(ours: Tints, theirs: Tints, allowance: float) -> list[str]:
    """Separations that do not agree, with the figures."""
    found = []
    for name in sorted({*ours, *theirs}):
        bare = np.zeros_like(next(iter(theirs.values())))
        a, b = ours.get(name, bare), theirs.get(name, bare)
        assert a.shape == b.shape
        total = abs(float(a.mean()) - float(b.mean()))
        if total > max(OWN_INK * float(b.mean()), OF_THE_PAGE):
            found.append(f"{name}: {a.mean():.2%} of the page, {b.mean():.2%} by the referee")
        local = np.abs(tiles(a) - tiles(b)) - OWN_INK * np.maximum(tiles(a), tiles(b))
        if local.max() > allowance:
            row, column = np.unravel_index(local.argmax(), local.shape)
            found.append(
                f"{name}: tile {column}, {row} is {tiles(a)[row, column]:.1%}, not {tiles(b)[row, column]:.1%}"
            )
    return found


def as_tints(plates: Plates) -> Tints:
    return {name: np.asarray(plates.tint(name) / np.float32(255), np.float32) for name in plates.names}


@needs_ghostscript
@pytest.mark.parametrize("name", DRAWINGS)
def test_plates_agree_with_ghostscript(bench, name):
    assert disagreements(as_tints(bench.plates(name)), bench.referee(name), DRAWINGS[name].tile) == []


@needs_ghostscript
@pytest.mark.parametrize("name", DRAWINGS)
def test_what_a_drawing_is_about_fills_a_tenth_of_it(bench, name):
    inked = np.max(list(bench.referee(name).values()), axis=0)
    assert (tiles(inked) > 0.02).mean() >= 0.1


@pytest.mark.parametrize("name", DRAWINGS)
def test_coverage_does_not_hang_on_the_resolution(bench, name):
    coarse, fine = (bench.plates(name, dpi) for dpi in (DPI, 3 * DPI))
    for separation in coarse.names:
        at_100, at_300 = (float(plates.tint(separation).mean()) / 255 for plates in (coarse, fine))
        assert at_100 == pytest.approx(at_300, rel=OWN_INK, abs=OF_THE_PAGE), separation


@needs_ghostscript
@pytest.mark.parametrize("shift", [(0, 1), (1, 0), (-1, -1)])
def test_a_plate_a_pixel_off_is_caught(bench, shift):
    ours = as_tints(bench.plates("varnish_half_over_board"))
    ours["Varnish"] = np.roll(ours["Varnish"], shift, (0, 1))
    assert disagreements(ours, bench.referee("varnish_half_over_board"), 0.02)

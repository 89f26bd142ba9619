"""Blend modes that mix plates: hue, saturation, colour and luminosity, by the formulas of ISO 32000-2, 11.3.5.3.

The expected tints are worked out from the standard's own words: red, green and blue are the complements of cyan,
magenta and yellow; black is the backdrop's, with Luminosity the source's; on spots the mode is Normal (11.7.4.2).
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from pikepdf import Name

from preflight.artwork.read_artwork import read_artwork
from tests.drawn import Drawing
from tests.plate_drawings import ON, device_n, group, rect
from tests.referees import ghostscript_plates, needs_ghostscript

INKS = ("Cyan", "Magenta", "Yellow", "Black", "Gold")
MODES = ("Hue", "Saturation", "Color", "Luminosity")
BACKDROPS = [(0.7, 0.2, 0.1, 0.3, 0.5), (0.1, 0.9, 0.6, 0.0, 0.0), (0.4, 0.4, 0.4, 0.2, 0.8), (0.0, 0.0, 0.0, 0.0, 0.0)]
SOURCES = [(0.2, 0.7, 0.1, 0.4, 0.0), (0.0, 0.0, 0.0, 1.0, 0.0), (0.9, 0.1, 0.8, 0.0, 0.0), (0.3, 0.3, 0.3, 0.1, 0.0)]
ALPHAS = (1.0, 0.5)
CASES = list(product(MODES, BACKDROPS, SOURCES, ALPHAS))
SIDE_MM, ACROSS = 8, 16
LEVEL = 0.016
"""Four of 255 levels: the renderer rounds every step of the formulas to a level."""


def light(rgb: NDArray[np.float64]) -> float:
    return float(rgb @ (0.3, 0.59, 0.11))


def with_light(rgb: NDArray[np.float64], wanted: float) -> NDArray[np.float64]:
    rgb = rgb + (wanted - light(rgb))
    own, low, high = light(rgb), rgb.min(), rgb.max()
    if low < 0:
        rgb = own + (rgb - own) * own / (own - low)
    if high > 1:
        rgb = own + (rgb - own) * (1 - own) / (high - own)
    return rgb


def with_saturation(rgb: NDArray[np.float64], wanted: float) -> NDArray[np.float64]:
    low, high = rgb.min(), rgb.max()
    return (rgb - low) * wanted / (high - low) if high > low else np.zeros(3)


def blended(mode: str, below: NDArray[np.float64], above: NDArray[np.float64]) -> NDArray[np.float64]:
    match mode:
        case "Hue":
            return with_light(with_saturation(above, float(np.ptp(below))), light(below))
        case "Saturation":
            return with_light(with_saturation(below, float(np.ptp(above))), light(below))
        case "Color":
            return with_light(above, light(below))
    return with_light(below, light(above))


def expected(mode: str, backdrop: tuple[float, ...], source: tuple[float, ...], alpha: float) -> list[float]:
    """Where something lies below: its own share and the blended one; on bare board the source (11.3.6)."""
    if not any(backdrop):
        return [alpha * tint for tint in source]
    cmy = 1 - blended(mode, 1 - np.array(backdrop[:3]), 1 - np.array(source[:3]))
    black = source[3] if mode == "Luminosity" else backdrop[3]
    result = np.array([*cmy, black, source[4]])
    return list((1 - alpha) * np.array(backdrop) + alpha * result)


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    drawing = Drawing(ACROSS * 10, -(-len(CASES) // ACROSS) * 10)
    device_n(drawing, "Inks", INKS)
    for number, (mode, backdrop, source, alpha) in enumerate(CASES):
        x, y = number % ACROSS * 10 + 1, number // ACROSS * 10 + 1
        square = rect(x, y, x + SIDE_MM, y + SIDE_MM)
        if any(backdrop):
            drawing.raw(f"/Inks cs {' '.join(map(str, backdrop))} scn {square} f")
        drawing.gs(BM=Name("/" + mode), ca=alpha)
        drawing.raw(f"{' '.join(map(str, source[:4]))} k {square} f").gs(BM=Name.Normal, ca=1.0)
    return drawing.save(tmp_path_factory.mktemp("blend") / "art.pdf")


def centres(plates: Mapping[str, NDArray[np.floating[Any]]], number: int) -> list[float]:
    found = []
    for ink in INKS:
        plate = plates[ink]
        mm = plate.shape[1] / (ACROSS * 10)
        x, y = (number % ACROSS * 10 + 5) * mm, plate.shape[0] - (number // ACROSS * 10 + 5) * mm
        found.append(float(plate[int(y) - 2 : int(y) + 3, int(x) - 2 : int(x) + 3].mean()))
    return found


@pytest.fixture(scope="module")
def ours(page):
    plates = read_artwork(page).pages[0].plates(72)
    return {ink: plates.tint(ink) / 255 for ink in INKS}


@pytest.mark.parametrize("number", range(len(CASES)), ids=lambda n: "-".join(map(str, CASES[n])))
def test_plates_are_what_the_standard_says(number, ours):
    assert centres(ours, number) == pytest.approx(expected(*CASES[number]), abs=LEVEL)


@needs_ghostscript
def test_ghostscript_agrees(page, tmp_path):
    plates = ghostscript_plates(page, tmp_path, dpi=72)
    for number, case in enumerate(CASES):
        assert centres(plates, number) == pytest.approx(expected(*case), abs=0.02), case


def test_a_plate_that_nothing_is_painted_in_may_get_ink(tmp_path):
    """Grey in cyan's place: a colour of magenta and yellow, made as dark as the black source, comes out on cyan too."""
    drawing = Drawing(40, 40).fill((0, 0.8, 0.2, 0), rect=(0, 0, 40, 40)).gs(BM=Name.Saturation)
    drawing.fill((0, 0, 0, 0.5), rect=(10, 10, 30, 30))
    plates = read_artwork(drawing.save(tmp_path / "art.pdf")).pages[0].plates(72)
    grey = 1 - light(1 - np.array([0, 0.8, 0.2]))
    found = {name: plates.tint(name)[56, 56] / 255 for name in plates.names}
    assert found == pytest.approx({"Cyan": grey, "Magenta": grey, "Yellow": grey, "Black": 0}, abs=LEVEL)


def test_in_an_isolated_group_nothing_lies_below(tmp_path):
    """11.4.5: its first object comes out as it is; the group then lies over the page as Normal."""
    drawing = Drawing(40, 40).fill((0.7, 0.2, 0.1, 0.3), rect=(0, 0, 40, 40))
    drawing.gs(BM=Name.Color).gs(BM=Name.Normal)
    name = drawing.form(f"/GS0 gs 0.2 0.7 0.1 0.4 k {rect(10, 10, 30, 30)} f", bbox_mm=(0, 0, 40, 40),
                        group=group(I=True))  # fmt: skip
    plates = read_artwork(drawing.raw(f"/{name} Do").save(tmp_path / "art.pdf")).pages[0].plates(72)
    found = {name: plates.tint(name)[56, 56] / 255 for name in plates.names}
    assert found == pytest.approx({"Cyan": 0.2, "Magenta": 0.7, "Yellow": 0.1, "Black": 0.4}, abs=LEVEL)


def test_what_overprints_and_parts_the_three_leaves_the_place_of_the_mixing_uncertain(tmp_path):
    drawing = Drawing(40, 40).fill((0.7, 0.2, 0.1, 0.3), rect=(0, 0, 40, 40)).gs(BM=Name.Hue)
    drawing.fill((0.2, 0.7, 0.1, 0.4), rect=(0, 0, 10, 10)).gs(BM=Name.Normal, **ON)
    drawing.fill((0.2, 0, 0, 0), rect=(20, 20, 30, 30))
    page = read_artwork(drawing.save(tmp_path / "art.pdf")).pages[0]
    (place,) = page.plates(72).uncertain
    assert "parts them" in place.because
    assert place.box_mm == pytest.approx((0, 0, 10, 10), abs=0.1)
    assert page.plates(72).ink[:, 50, 70].max() > 0

"""Plates with some objects painted otherwise than the file says."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.artwork.page.page import Alteration
from preflight.artwork.read_artwork import read_artwork
from tests.drawn import Drawing


@pytest.fixture
def page(tmp_path):
    """Cyan all over, a spot that overprints its left half, and a knock-out black in the right half."""
    drawing = Drawing(60, 40)
    drawing.fill((1, 0, 0, 0), rect=(0, 0, 60, 40))
    drawing.gs(OP=True, op=True, OPM=1)
    drawing.fill("Leaf Green", rect=(0, 0, 30, 40))
    drawing.gs(OP=False, op=False)
    drawing.fill((0, 0, 0, 1), rect=(40, 0, 60, 40))
    return read_artwork(drawing.save(tmp_path / "art.pdf")).pages[0]


def covers(plates):
    page_px = 60 * 40 * (plates.dpi / 25.4) ** 2
    return {
        name: round(float(np.sum(ink)) / 255 / page_px, 2) for name, ink in zip(plates.names, plates.ink, strict=True)
    }


def test_as_it_is(page):
    assert covers(page.plates()) == {"Cyan": 0.67, "Black": 0.33, "Leaf Green": 0.5}


def test_left_out_neither_paints_nor_knocks_out(page):
    assert covers(page.altered(Alteration(left_out=(2,)))) == {"Cyan": 1.0, "Black": 0.0, "Leaf Green": 0.5}


def test_knocking_out_takes_the_overprint_off(page):
    assert covers(page.altered(Alteration(knocking_out=(1,)))) == {"Cyan": 0.17, "Black": 0.33, "Leaf Green": 0.5}


def test_the_page_itself_stays_as_it_is(page):
    page.altered(Alteration(left_out=(0, 1, 2)))
    assert covers(page.plates()) == {"Cyan": 0.67, "Black": 0.33, "Leaf Green": 0.5}

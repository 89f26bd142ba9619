"""Settings of a search for bleed in stations, and names of one ink as one."""

import numpy as np
import pytest

from preflight.artwork.page.plates import Plates
from preflight.measures.bleed.bleed_settings import BleedSettings
from preflight.measures.bleed.repeating_patterns import Pattern
from preflight.measures.raster.profiles import Stations

DPI = 25.4
"""A pixel is 1 mm."""


def settings(*names: str, **changed: float) -> BleedSettings:
    given = {
        "look_mm": 4.0, "threshold": 5.1, "share": 0.5, "shortest_mm": 2.0, "aslant": 0.06, "line_mm": 0.75,
        "change_mm": 4.0, "another": 38.25, "rim_mm": 8.0,
    }  # fmt: skip
    return BleedSettings(names=names, pattern=Pattern(12.0, 3.0), **{**given, **changed})


@pytest.mark.parametrize(("mm", "stations"), [(2.0, 4), (2.3, 5), (0.1, 1), (0.6, 1)])
def test_the_shortest_stretch_has_a_station_each_half_millimetre(mm, stations):
    assert settings(shortest_mm=mm).shortest == stations


def test_lengths_are_in_stations():
    found = settings(change_mm=3.5, rim_mm=9.0).lengths
    assert (found.shortest, found.change, found.rim, found.ragged) == (4, 7, 18, 24)
    assert (found.spacing_mm, found.aslant) == (0.5, 0.06)


def test_what_several_names_of_one_ink_put_down_counts_for_the_first():
    names = ("Cyan", "Mill Brown", "MILL BROWN C", "Moss Green", "mill brown")
    ink = np.zeros((5, 4, 6), np.uint8)
    ink[:] = np.array([10, 20, 30, 40, 50], np.uint8)[:, None, None]
    plates = Plates(names, ink, DPI, (100.0, 50.0, 106.0, 54.0))
    at = Stations(np.array([[102.5, 52.5], [103.5, 51.5]]), np.array([[0.0, 1.0], [1.0, 0.0]]), 0.5)
    found = settings(*names).tints(plates, at, np.array([-1.0, 0.0, 1.0]))
    assert found.shape == (5, 2, 3)
    assert found.max((1, 2)).tolist() == found.min((1, 2)).tolist() == [10, 100, 0, 40, 0]

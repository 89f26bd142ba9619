"""Lines that knock a ground out, on tints made in the test."""

import numpy as np
import pytest

from preflight.measures.bleed.keylines import looked_through

AT_MM = np.arange(-0.8, 4.0, 0.04)


def profile(*inks: dict[tuple[float, float], float]) -> np.ndarray:
    """Tints of inks along one normal, by where they stand in mm."""
    tints = np.zeros((len(inks), 1, len(AT_MM)), np.float32)
    for number, stretches in enumerate(inks):
        for (start, stop), tint in stretches.items():
            first, last = np.searchsorted(AT_MM, [start, stop])
            tints[number, 0, first:last] = 255 * tint
    return tints


@pytest.mark.parametrize("line_tint", [0.1, 1.0])
@pytest.mark.parametrize("width_mm", [0.1, 0.35, 0.7])
def test_the_ground_goes_on_under_a_line(width_mm, line_tint):
    half = width_mm / 2
    found = looked_through(profile({(-1, -half): 0.6, (half, 5): 0.6}, {(-half, half): line_tint}), AT_MM, 0.75)
    assert found[0] == pytest.approx(0.6 * 255)
    assert found[1] == pytest.approx(0)


@pytest.mark.parametrize(
    "inks",
    [
        ({(-1, 0): 1.0}, {(-0.2, 0.2): 1.0}),  # nothing beyond the line
        ({(-1, -1.0): 1.0, (1.0, 5): 1.0}, {(-1.0, 1.0): 1.0}),  # a bar of 2 mm
        ({(-1, -0.2): 1.0, (0.2, 5): 1.0}, {}),  # a gap with nothing in it
        ({(-1, 5): 1.0}, {(-0.2, 0.2): 1.0}),  # a line that overprints
        ({(-1, 0): 1.0}, {(0, 5): 1.0}),  # one ink follows another
    ],
)
def test_all_else_stays_what_it_is(inks):
    tints = profile(*inks)
    assert (looked_through(tints, AT_MM, 0.75) == tints).all()


@pytest.mark.parametrize(("entries", "through"), [(22, True), (24, False)])
def test_a_line_may_seem_wider_by_its_soft_edges(entries, through):
    """A line of 0.75 mm and 0.17 mm of soft edges are 0.92 mm, nearly 23 steps of 0.04 mm."""
    tints = np.zeros((2, 1, len(AT_MM)), np.float32)
    tints[0], tints[1, 0, 30 : 30 + entries] = 150, 255
    tints[0, 0, 30 : 30 + entries] = 0
    assert bool((looked_through(tints, AT_MM, 0.75)[0] == 150).all()) is through


@pytest.mark.parametrize(("line", "missing", "through"), [(5, 5, True), (4, 5, False), (5, 4, False)])
def test_a_line_and_what_it_takes_away_have_to_be_seen(line, missing, through):
    """From 2 % on, which are 5 of 255 steps."""
    tints = np.zeros((2, 1, len(AT_MM)), np.float32)
    tints[0] = 150
    tints[0, 0, 30:36], tints[1, 0, 30:36] = 150 - missing, line
    found = looked_through(tints, AT_MM, 0.75)
    assert bool((found[0] == 150).all()) is through
    assert bool((found[1] == 0).all()) is through

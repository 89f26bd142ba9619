"""Covered shares of pixels against shapely's areas."""

import numpy as np
import pytest
import shapely

from preflight.setup.press_sheet.coverage import coverage


@pytest.mark.parametrize("seed", range(12))
def test_random_shapes_cover_what_their_areas_say(seed):
    """Convex and not, with holes and in parts, reaching off the picture, some with corners on its lines."""
    rng = np.random.default_rng(seed)
    for kind in range(8):
        points = rng.uniform(-5, 25, (int(rng.integers(3, 12)), 2))
        if kind % 4 == 1:
            points = np.round(points / 0.7) * 0.7 + [1.3, 2.8]
        shape = shapely.convex_hull(shapely.MultiPoint(points)) if kind % 2 else shapely.Polygon(points).buffer(0)
        if kind % 3 == 0:
            shape = shape.difference(shapely.Point(10, 10).buffer(2))
        left, top = 1.3 + 0.7 * np.arange(25), 18.2 - 0.7 * np.arange(22)[:, None]
        pixels = shapely.box(left, top - 0.7, left + 0.7, top)
        wanted = shapely.area(shapely.intersection(pixels, shape)) / 0.49
        assert np.abs(coverage(shape, 1.3, 18.2, 0.7, (22, 25)) - wanted).max() < 1e-9


def test_nothing_covers_nothing():
    assert coverage(shapely.Polygon(), 0, 10, 1, (10, 10)).sum() == 0
    assert coverage(shapely.box(20, 20, 30, 30), 0, 10, 1, (10, 10)).sum() == 0
    assert coverage(shapely.box(-5, 2, 30, 4), 0, 10, 1, (10, 10)).sum() == 20

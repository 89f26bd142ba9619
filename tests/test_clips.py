"""What is printed for each blank of a sheet: its bleed, parted from the neighbours' in the middle."""

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate, translate

from preflight.setup.press_sheet.clips import clips

SHEET = shapely.box(-5, -5, 300, 300)


def odd_outline(rng) -> shapely.Polygon:
    """Convex corners with a bite out of them."""
    whole = shapely.convex_hull(shapely.MultiPoint(rng.uniform(0, 60, (8, 2))))
    left = whole.difference(shapely.Point(*rng.uniform(10, 50, 2)).buffer(12))
    return shapely.Polygon(max(shapely.get_parts(left), key=lambda part: part.area).exterior)


@pytest.mark.parametrize("gutter_mm", [0, 0.3, 2, 4.123456])
def test_random_blanks_part_the_sheet_without_overlap(gutter_mm):
    rng = np.random.default_rng(round(gutter_mm * 10))
    for _ in range(8):
        shape = odd_outline(rng)
        x0, y0, x1, y1 = shape.bounds
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        outlines = [
            translate(
                rotate(shape, 180 * ((i + j) % 2), origin=middle), i * (x1 - x0 + gutter_mm), j * (y1 - y0 + gutter_mm)
            )
            for i in range(3)
            for j in range(2)
        ]
        found = clips(outlines, 3, SHEET)
        places = rng.uniform(-5, 190, (400, 2))
        away = shapely.distance(np.array(outlines, object)[:, None], shapely.points(places)[None])
        for n, (clip, outline) in enumerate(zip(found, outlines, strict=True)):
            assert clip.is_valid
            assert outline.intersection(SHEET).difference(clip).area < 0.01
            assert all(clip.intersection(other).area < 1e-3 for other in found[:n])
            others = np.delete(away, n, 0).min(0)
            inside = shapely.contains_xy(clip, places)
            assert (away[n][inside] <= 6.01).all()  # in the points of mitred corners
            assert ((away[n] <= others + 0.05) | (others > 2.95))[inside].all()
            nearest = (away[n] < others - 0.05) & (away[n] < 2.9) & (away[n] > 0)
            missing = nearest & ~inside & shapely.contains_xy(SHEET, places)
            assert np.count_nonzero(missing) <= 2  # bleed that a neighbour parts from its blank


def test_alone_a_blank_has_all_of_its_bleed():
    (clip,) = clips([shapely.box(20, 20, 60, 50)], 3, SHEET)
    assert clip.bounds == pytest.approx((17, 17, 63, 53), abs=1e-4)
    assert clip.area == pytest.approx(46 * 36, abs=0.01)
    (clip,) = clips([shapely.box(-4, 20, 60, 50)], 3, SHEET)
    assert clip.bounds[0] == pytest.approx(-5)


def test_blanks_whose_bleed_does_not_meet_keep_all_of_it():
    """Far apart, a hair apart from meeting, and meeting at a corner only."""
    for gap in (30, 6, 5.9999):
        one, other = clips([shapely.box(10, 10, 40, 40), shapely.box(40 + gap, 10, 70 + gap, 40)], 3, SHEET)
        assert one.area == pytest.approx(36 * 36, abs=0.02)
        assert other.area == pytest.approx(36 * 36, abs=0.02)
    one, other = clips([shapely.box(10, 10, 40, 40), shapely.box(40, 40, 70, 70)], 3, SHEET)
    assert one.intersection(other).area < 1e-3
    assert one.area == pytest.approx(other.area, rel=0.01)

"""How far apart two inks are on the plates: drawn pairs whose distance stands in the drawing."""

import math

import pytest

from preflight.measures.raster.joints import joint
from tests.drawn import Drawing
from tests.house import CARTON, PROCESS, blank_page, job_of, with_die

ONE_UP = {"artwork_is": "one-up"}
TINT = 2.0


def side_by_side(gap_mm: float, tint: float = 1.0, at: float = 28.0) -> Drawing:
    page = blank_page()
    page.fill("Rose", tint, rect=(at, 60, at + 10, 80))
    return with_die(page.fill(PROCESS["Cyan"], rect=(at + 10 + gap_mm, 60, at + 20 + gap_mm, 80)))


def distance(page, folder, up_to_mm=0.8):
    return joint(job_of(page, folder, ONE_UP), "Rose", "Cyan", up_to_mm, TINT).distance_mm


@pytest.mark.parametrize("at", [28.0, 28.077, 28.131])
@pytest.mark.parametrize("gap_mm", [0.3, 0.4, 0.5])
def test_a_gap_is_measured(gap_mm, at, tmp_path):
    """0.4 mm is the figure that decides whether two inks may stand in different passes."""
    assert distance(side_by_side(gap_mm, at=at), tmp_path) == pytest.approx(gap_mm, abs=0.02)


@pytest.mark.parametrize("tint", [0.5, 0.1])
def test_a_light_tint_ends_where_a_solid_does(tint, tmp_path):
    assert distance(side_by_side(0.3, tint), tmp_path) == pytest.approx(0.3, abs=0.03)


def test_inks_that_touch(tmp_path):
    assert distance(side_by_side(0.0), tmp_path) == 0


def test_inks_that_share_a_strip(tmp_path):
    page = blank_page().gs(OP=True, op=True, OPM=1)
    page.fill("Rose", rect=(28, 60, 38, 80)).fill(PROCESS["Cyan"], rect=(37.8, 60, 48, 80))
    assert distance(with_die(page), tmp_path) == 0


def test_one_ink_on_all_of_the_other(tmp_path):
    page = blank_page().gs(OP=True, op=True, OPM=1)
    page.fill("Rose", rect=(28, 60, 58, 90)).fill(PROCESS["Cyan"], rect=(38, 70, 48, 80))
    assert distance(with_die(page), tmp_path) == 0


def test_corners_are_measured_across(tmp_path):
    """A corner fills a quarter of its pixel, so its contour runs within it: 0.06 mm for two of them."""
    page = blank_page().fill("Rose", rect=(28, 60, 38, 70))
    page.fill(PROCESS["Cyan"], rect=(38.3, 70.4, 48, 80))
    assert distance(with_die(page), tmp_path) == pytest.approx(math.hypot(0.3, 0.4), abs=0.06)


def test_further_than_was_looked(tmp_path):
    assert distance(side_by_side(1.5), tmp_path) is None


def test_the_nearest_of_several_places(tmp_path):
    page = side_by_side(0.6).fill("Rose", rect=(28, 100, 38, 110))
    page.fill(PROCESS["Cyan"], rect=(38.25, 100, 48, 110))
    assert distance(page, tmp_path) == pytest.approx(0.25, abs=0.02)


def test_a_knock_out_that_leaves_a_rim_touches_nothing(tmp_path):
    """Rose painted over by the same shape in white paper, and cyan beside it: no rose is left."""
    page = blank_page().fill("Rose", rect=(28, 60, 38, 80)).fill((0, 0, 0, 0), rect=(28, 60, 38, 80))
    page.fill("Rose", rect=(60, 100, 70, 110)).fill(PROCESS["Cyan"], rect=(38.2, 60, 48, 80))
    assert distance(with_die(page), tmp_path) is None


def test_what_meets_outside_the_cut_does_not_count(tmp_path):
    right = CARTON.box[2]
    page = blank_page().fill("Rose", rect=(right + 1, 60, right + 5, 80)).fill("Rose", rect=(28, 60, 38, 80))
    page.fill(PROCESS["Cyan"], rect=(right + 5, 60, right + 9, 80)).fill(PROCESS["Cyan"], rect=(60, 60, 70, 80))
    assert distance(with_die(page), tmp_path) is None

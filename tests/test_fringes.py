"""Ink that reaches over the cut: a fringe under 0.1 mm is no print, at any edge and however it lies on the pixels."""

from itertools import product
from math import cos, pi, sin

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.plates import Plates
from preflight.job import Job
from preflight.measures.raster import fringes
from tests.drawn import Drawing
from tests.house import job_of

ONE_UP = {"artwork_is": "one-up"}
SIDE = 60.0
SQUARE = shapely.box(0, 0, SIDE, SIDE)
ROUND = shapely.Polygon([(30 + 30 * cos(pi * i / 60), 30 + 30 * sin(pi * i / 60)) for i in range(120)])
SHAPES = {"square": SQUARE, "round": ROUND} | {
    f"turned by {turn}": affinity.rotate(SQUARE, turn, (SIDE / 2, SIDE / 2)) for turn in (7, 30, 45)
}
WAYS_OUT = {"left": (-1, 0), "right": (1, 0), "top": (0, 1), "bottom": (0, -1)}
OFFSETS = (0.0, 0.05, 0.1, 0.13, 0.17, 0.21)


def carton(shape: BaseGeometry, over: BaseGeometry, *, tint: float = 1.0, rotate: int = 0) -> Drawing:
    """A carton of one cut and two creases, on it a square of brown, and green art beside it."""
    x0, y0, x1, y1 = shape.bounds
    page = Drawing(x1 + 15, y1 + 15)
    page.page.obj.Rotate = rotate
    page.fill("Mill Brown", rect=(x0 + 25, y0 + 25, x0 + 35, y0 + 35))
    for part in shapely.get_parts(over):
        page.colour("Moss Green", tint)
        for ring in (part.exterior, *part.interiors):
            page.path(shapely.get_coordinates(ring)[:-1].tolist())
        page.raw("f*")
    page.gs(OP=True, OPM=1)
    for ring in (shape.exterior, *shape.interiors):
        page.stroke("Cutting", shapely.get_coordinates(ring)[:-1].tolist())
    for share in (0.3, 0.7):
        across = shapely.LineString([(x0 + share * (x1 - x0), y0 - 1), (x0 + share * (x1 - x0), y1 + 1)])
        line = shapely.intersection(across, shapely.Polygon(shape.exterior))
        page.stroke("Creasing", shapely.get_coordinates(line).tolist(), close=False)
    return page.gs(OP=False)


def over_the_cut(shape: BaseGeometry, reach_mm: float, beside: BaseGeometry | None = None) -> BaseGeometry:
    """A band of 4 mm round a shape that reaches so far inside; the part of it that is beside one edge."""
    outer, inner = (shapely.buffer(shape, far, join_style="mitre") for far in (4.0, -reach_mm))
    band = shapely.difference(outer, inner)
    return band if beside is None else shapely.intersection(band, beside)


def beside(shape: BaseGeometry, way: tuple[int, int], length_mm: float) -> BaseGeometry:
    """Room for so much of an edge, outward from the middle of the shape."""
    (x, y), half = shapely.get_coordinates(shape.centroid)[0], length_mm / 2
    far = shapely.box(x, y - half, x + SIDE, y + half)
    return affinity.rotate(far, {(1, 0): 0, (0, 1): 90, (-1, 0): 180, (0, -1): 270}[way], (x, y))


def prints(job: Job) -> bool | None:
    return next(ink.prints for ink in job.inks if ink.separation.name == "Moss Green")


def placed(shape: BaseGeometry, off_mm: float) -> BaseGeometry:
    return affinity.translate(shape, 15 + off_mm, 15 + 1.3 * off_mm)


@pytest.mark.parametrize("reach_mm", [0.03, 0.05, 0.08, 0.3])
@pytest.mark.parametrize(("edge", "length_mm"), list(product(WAYS_OUT, (3.0, 50.0))))
def test_what_reaches_inside_the_cut(tmp_path, edge, length_mm, reach_mm):
    """At 50 mm a fringe of 0.08 mm is 4 mm2, forty times as much as prints."""
    for off_mm in OFFSETS:
        shape = placed(SQUARE, off_mm)
        art = over_the_cut(shape, reach_mm, beside(shape, WAYS_OUT[edge], length_mm))
        assert prints(job_of(carton(shape, art), tmp_path, ONE_UP)) is (reach_mm > 0.1), off_mm


@pytest.mark.parametrize("rotate", [0, 90])
@pytest.mark.parametrize("reach_mm", [0.03, 0.05, 0.08, 0.3])
@pytest.mark.parametrize("name", SHAPES)
def test_all_round(tmp_path, name, reach_mm, rotate):
    """A band that reaches inside all along the cut: slanting edges, curves and corners."""
    for off_mm in OFFSETS[::2]:
        shape = placed(SHAPES[name], off_mm)
        page = carton(shape, over_the_cut(shape, reach_mm), rotate=rotate)
        assert prints(job_of(page, tmp_path, ONE_UP)) is (reach_mm > 0.1), off_mm


@pytest.mark.parametrize("tint", [0.1, 0.5])
@pytest.mark.parametrize("reach_mm", [0.08, 0.3])
def test_a_tint(tmp_path, tint, reach_mm):
    for off_mm in OFFSETS:
        shape = placed(SQUARE, off_mm)
        page = carton(shape, over_the_cut(shape, reach_mm), tint=tint)
        assert prints(job_of(page, tmp_path, ONE_UP)) is (reach_mm > 0.1), off_mm


@pytest.mark.parametrize("reach_mm", [0.05, 0.08, 0.3])
def test_into_the_carton_from_a_window(tmp_path, reach_mm):
    """A patch in a window of the carton, larger than the window by so much."""
    for off_mm in OFFSETS:
        shape = placed(shapely.difference(SQUARE, shapely.box(20, 20, 40, 45)), off_mm)
        hole = shapely.Polygon(shape.interiors[0])
        patch = shapely.buffer(hole, reach_mm, join_style="mitre")
        assert prints(job_of(carton(shape, patch), tmp_path, ONE_UP)) is (reach_mm > 0.1), off_mm


def test_without_a_die_the_trim_box_is_the_cut(tmp_path):
    for reach_mm, off_mm in product((0.05, 0.08, 0.3), OFFSETS):
        page = Drawing(90, 90, trim=(15 + off_mm, 15, 75, 75))
        page.fill("Mill Brown", rect=(30, 30, 40, 40))
        page.fill("Moss Green", rect=(5, 20, 15 + off_mm + reach_mm, 70))
        assert prints(job_of(page, tmp_path, ONE_UP)) is (reach_mm > 0.1), (reach_mm, off_mm)


@pytest.mark.parametrize("edge", WAYS_OUT)
@pytest.mark.parametrize("tint", [1.0, 0.1])
def test_a_nose_of_a_long_fringe_is_found(tmp_path, edge, tint):
    """A fringe of 0.08 mm all round, and somewhere on it 2 mm that reach 0.3 mm inside: 0.6 mm2 of ink."""
    for off_mm, aside in product(OFFSETS[::2], (-22, 11)):
        shape = placed(SQUARE, off_mm)
        x, y = WAYS_OUT[edge]
        room = affinity.translate(beside(shape, (x, y), 2.0), y * aside, x * aside)
        art = shapely.union(over_the_cut(shape, 0.08), over_the_cut(shape, 0.3, room))
        assert prints(job_of(carton(shape, art, tint=tint), tmp_path, ONE_UP)) is True, (off_mm, aside)


@pytest.mark.parametrize("width_mm", [0.1, 0.2])
def test_a_line_across_the_cut_prints(tmp_path, width_mm):
    """Thin, but no fringe: it runs 5 mm into the carton."""
    shape = placed(SQUARE, 0.13)
    line = shapely.box(10, 40, 20.13, 40 + width_mm)
    assert prints(job_of(carton(shape, line), tmp_path, ONE_UP)) is True


@pytest.mark.parametrize("elsewhere", [False, True])
@pytest.mark.parametrize("tint", [0.1, 1.0])
@pytest.mark.parametrize("reach_mm", [0.09, 0.13])
def test_a_fringe_ends_at_a_tenth_of_a_millimetre(tmp_path, tint, reach_mm, elsewhere):
    """Whatever there is of the ink elsewhere: solid patches in a legend."""
    for off_mm in OFFSETS:
        shape = placed(SQUARE, off_mm)
        page = carton(shape, over_the_cut(shape, reach_mm), tint=tint)
        if elsewhere:
            page.fill("Moss Green", rect=(2, 2, 8, 8))
        assert prints(job_of(page, tmp_path, ONE_UP)) is (reach_mm > 0.1), off_mm


# The arithmetic of a pixel on the cut ------------------------------------------------------------------------------

PLATES = Plates(("Rust",), np.zeros((1, 80, 90), np.uint8), 25.4, (0.0, 0.0, 90.0, 80.0))
"""Pixels of a millimetre."""
CUT = shapely.box(10, 20, 50, 60)
SLANTING = shapely.Polygon([(10, 40), (40, 10), (70, 40), (40, 70)])


@pytest.mark.parametrize(
    ("at", "wide", "narrow", "share"),
    [
        (0, 1, 1, 0.5),
        (0.5, 1, 1, 0.875),
        (-0.5, 1, 1, 0.125),
        (1, 1, 1, 1),
        (-1, 1, 1, 0),
        (3, 1, 1, 1),
        (-3, 1, 1, 0),
        (1, 2, 1, 0.9375),
        (0.25, 2, 1, 0.625),
        (-0.25, 2, 1, 0.375),
        (0.25, 1, 1e-6, 0.75),
    ],
)
def test_the_share_of_two_even_spreads_below_a_value(at, wide, narrow, share):
    found = fringes._of_two_spreads(*(np.array([value], float) for value in (at, wide, narrow)))
    assert found == pytest.approx(np.array([share]), abs=1e-4)


@pytest.mark.parametrize(
    ("shape", "at", "outside"),
    [
        (CUT, (10.1, 40), 0.5),
        (CUT, (10.6, 40), 0.0),
        (CUT, (9.6, 40), 1.0),
        (CUT, (10.35, 40), 0.25),
        (CUT, (9.85, 40), 0.75),
        (CUT, (49.9, 40), 0.5),
        (CUT, (30, 20.2), 0.4),
        (CUT, (30, 60), 0.6),
        (CUT, (30, 40), 0.0),
        (CUT, (9.8, 60.2), 0.895),
        (CUT, (50.2, 60.2), 0.895),
        (CUT, (50.2, 19.8), 0.895),
        (CUT, (9.8, 19.8), 0.895),
        (CUT, (70, 40), 1.0),
        (SLANTING, (20 + 0.1 * 2**0.5, 30), 0.5),
        (SLANTING, (25 + (0.1 + 2**-1.5) * 2**-0.5, 25 + (0.1 + 2**-1.5) * 2**-0.5), 0.125),
    ],
    ids=["half of it on the fringe", "just inside", "just outside", "a quarter", "three quarters", "at the right",
         "at the bottom", "on the cut", "in the middle",
         "beyond a corner", "beyond another", "beyond the third", "beyond the last",
         "far outside", "beside a slanting edge", "aslant"],
)  # fmt: skip
def test_how_much_of_a_pixel_is_outside_or_on_a_fringe(shape, at, outside):
    """Pixels of a millimetre, whose middle stands so far from a fringe of a tenth."""
    assert fringes._outside_share(np.array([at], float), shape, 1.0) == pytest.approx([outside], abs=0.002)


def test_the_size_of_a_pixel_counts():
    places = np.array([(10.2, 40), (10.0, 40)], float)
    assert fringes._outside_share(places, CUT, 0.4) == pytest.approx([0.25, 0.75], abs=1e-4)


def test_the_greatest_tint_within_three_pixels():
    tints = np.zeros((12, 15), np.uint8)
    tints[5, 7], tints[11, 14] = 200, 90
    rows, columns = np.array([2, 8, 5, 5, 1, 5, 5, 11]), np.array([7, 7, 4, 10, 7, 3, 11, 11])
    assert fringes._most_beside(tints, rows, columns).tolist() == [200, 200, 200, 200, 0, 0, 0, 90]


@pytest.mark.parametrize(
    ("column", "tint", "fuller", "deeper"),
    [
        (10, 23, 0.02, False),
        (10, 25, 0.02, True),
        (10, 69, 0.25, False),
        (10, 71, 0.25, True),
        (9, 200, 0.02, False),
        (30, 1, 0.02, True),
    ],
    ids=["a tenth of it is fringe", "fuller than that", "in a close look", "fuller in a close look", "outside the cut",
         "well inside"],
)  # fmt: skip
def test_a_pixel_holds_more_than_a_fringe_where_it_is_fuller(column, tint, fuller, deeper):
    """Ink of 200 levels stands outside the cut; a pixel from 10 to 11 mm is a tenth on the fringe."""
    tints = np.zeros((80, 90), np.uint8)
    tints[40, 5:10], tints[40, column] = 200, tint
    mask = np.zeros((80, 90), bool)
    mask[40, column] = True
    sure = fringes.well_within(PLATES, CUT)
    found = fringes.deeper(mask, tints, PLATES, CUT, sure, fuller)
    assert (bool(found[40, column]), int(found.sum())) == (deeper, int(deeper))


def test_what_is_not_in_the_mask_is_not_looked_at():
    tints = np.full((80, 90), 200, np.uint8)
    assert not fringes.deeper(np.zeros((80, 90), bool), tints, PLATES, CUT, np.ones((80, 90), bool)).any()


def test_well_within_no_fringe_reaches():
    """Three pixels and a tenth of a millimetre inside the cut, to a pixel."""
    found = PLATES.box_of(fringes.well_within(PLATES, CUT))
    assert found == pytest.approx((13.1, 23.1, 46.9, 56.9), abs=1.2)
    assert not fringes.well_within(PLATES, shapely.box(10, 20, 15, 60)).any()


def test_of_a_large_shape_what_is_about_the_plates_is_looked_at():
    part = Plates(("Rust",), np.zeros((1, 6, 8), np.uint8), 25.4, (30.0, 52.0, 38.0, 58.0))
    assert fringes._near(CUT, part).bounds == (28, 50, 40, 60)
    assert fringes._near(shapely.box(29, 51, 39, 59), part).bounds == (29, 51, 39, 59)


@pytest.mark.parametrize(("reach_px", "stays"), [(-1, False), (0, False), (1, True), (3, True)])
def test_a_fringe_in_a_close_look_belongs_to_ink_that_reaches_farther_in_or_goes(reach_px, stays):
    """Pixels of 0.05 mm along the left side of the cut, at 20 mm: a fringe of 0.1 mm is two of them."""
    window = Plates(("Rust",), np.zeros((1, 60, 80), np.uint8), 25.4 / 0.05, (18.0, 30.0, 22.0, 33.0))
    tints = np.zeros((60, 80), np.uint8)
    tints[20:40, 10 : 42 + reach_px] = 255  # the cut lies at column 40
    ink = (tints > 5) & window.mask_of(shapely.box(20, 10, 50, 60))
    left = fringes.without_fringe(ink, tints, window, shapely.box(20, 10, 50, 60))
    assert bool(left[:, 40:].any()) is stays
    if stays:
        assert left[20:40, 41 : 42 + reach_px].all()

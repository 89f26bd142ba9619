"""Ink that reaches over the cut: a fringe under 0.1 mm is no print, at any edge and however it lies on the pixels."""

from itertools import product
from math import cos, pi, sin

import pytest
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from preflight.job import Job
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

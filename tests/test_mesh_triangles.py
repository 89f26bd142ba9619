"""Triangles within which tints rise evenly, and how they are written."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.artwork.platemaking import mesh_triangles
from preflight.artwork.platemaking.mesh_streams import Triangles
from preflight.artwork.platemaking.mesh_triangles import in_plates, written
from preflight.errors import MeshFault

CORNERS = np.array([[[10, 20], [50, 26], [18, 90]], [[200, 20], [260, 30], [210, 60]]], float)


def area(corners: np.ndarray) -> float:
    a, b, c = corners.transpose(1, 0, 2)
    return float(np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]).sum() / 2)


def mesh(*numbers: tuple[float, float, float]) -> Triangles:
    return Triangles(CORNERS[: len(numbers)], np.array(numbers, float)[..., None])


def numbers_at(given: Triangles, places: np.ndarray, at: int = 0):
    """The number of a triangle at places of it."""
    a, b, c = given.corners[at]
    shares = np.linalg.solve(np.column_stack([b - a, c - a]), (places - a).reshape(-1, 2).T)
    first, second, third = given.values[at, :, 0]
    return (first + shares[0] * (second - first) + shares[1] * (third - first)).reshape(places.shape[:-1])


def even(rows):
    return np.hstack([rows / 10, 1 - rows / 20])


def kinked(rows):
    """Bare up to 4, and then 0.1 more for each unit."""
    return np.maximum(rows - 4, 0) / 10


def stepped(rows):
    return np.where(rows < 3, 0.25, 0.75)


def curved(rows):
    return (rows / 10) ** 2


@pytest.mark.parametrize("through_function", [False, True])
def test_no_triangle_stays_none_and_has_as_many_plates(through_function):
    nothing = Triangles(np.zeros((0, 3, 2)), np.zeros((0, 3, 1)))
    found = in_plates(nothing, even, through_function=through_function)
    assert (found.corners.shape, found.values.shape) == ((0, 3, 2), (0, 3, 2))


def test_tints_that_rise_evenly_need_no_cut():
    found = in_plates(mesh((1, 5, 9), (2, 3, 4)), even, through_function=False)
    assert (found.corners == CORNERS).all()
    assert found.values[0] == pytest.approx(np.array([[0.1, 0.95], [0.5, 0.75], [0.9, 0.55]]))
    assert found.values[1] == pytest.approx(np.array([[0.2, 0.9], [0.3, 0.85], [0.4, 0.8]]))


@pytest.mark.parametrize("through_function", [False, True])
@pytest.mark.parametrize(
    "numbers", [(1, 9, 5), (9, 1, 5), (5, 9, 1), (5, 1, 9), (1, 1, 9), (9, 1, 9), (9, 2, 2)],
)  # fmt: skip
@pytest.mark.parametrize("tints", [kinked, curved], ids=["kinked", "curved"])
def test_what_does_not_rise_evenly_is_cut_until_it_does(numbers, tints, through_function):
    given = mesh(numbers)
    found = in_plates(given, tints, through_function=through_function)
    assert len(found.corners) > 1
    assert area(found.corners) == pytest.approx(area(CORNERS[:1]))
    at_corners = tints(numbers_at(given, found.corners)[..., None])
    assert found.values == pytest.approx(at_corners, abs=0.005)
    middles = tints(numbers_at(given, found.corners.mean(1))[..., None])
    assert found.values.mean(1) == pytest.approx(middles, abs=0.01)


def test_a_function_with_one_bend_cuts_a_triangle_along_it():
    """At 4 of 1 to 9 of which 5 is in the middle: two trapezia and two triangles, no more."""
    found = in_plates(mesh((1, 5, 9)), kinked, through_function=True)
    assert 4 <= len(found.corners) <= 7
    bare = found.values.max((1, 2)) < 0.005
    levels = numbers_at(mesh((1, 5, 9)), found.corners)
    assert levels[bare].max() == pytest.approx(4, abs=0.02)
    assert levels[~bare].min() == pytest.approx(4, abs=0.02)


def test_a_step_of_a_function_is_a_step_in_the_triangles():
    found = in_plates(mesh((1, 5, 9)), stepped, through_function=True)
    levels = numbers_at(mesh((1, 5, 9)), found.corners)
    for inside, tint in ((levels.mean(1) < 2.9, 0.25), (levels.mean(1) > 3.1, 0.75)):
        assert inside.any()
        assert found.values[inside] == pytest.approx(tint)
    assert levels[(found.values == 0.25).all((1, 2))].max() == pytest.approx(3, abs=0.01)
    assert levels[(found.values == 0.75).all((1, 2))].min() == pytest.approx(3, abs=0.01)
    assert area(found.corners) == pytest.approx(area(CORNERS[:1]))


@pytest.mark.parametrize("through_function", [False, True])
def test_triangles_of_one_number_are_of_one_tint(through_function):
    found = in_plates(mesh((6, 6, 6), (2, 2, 2)), kinked, through_function=through_function)
    right = found.corners[:, :, 0].min(1) > 100
    assert found.values[~right] == pytest.approx(0.2, abs=0.005)
    assert found.values[right] == pytest.approx(0, abs=0.005)
    assert area(found.corners) == pytest.approx(area(CORNERS))
    same = in_plates(mesh((6, 6, 6)), kinked, through_function=through_function)
    assert same.values == pytest.approx(0.2, abs=0.005)
    assert area(same.corners) == pytest.approx(area(CORNERS[:1]))


@pytest.mark.parametrize("through_function", [False, True])
def test_parts_of_triangles_stay_in_their_painting_order(through_function):
    found = in_plates(mesh((1, 9, 5), (5, 9, 2)), curved, through_function=through_function)
    right = found.corners[:, :, 0].min(1) > 100
    assert right.any()
    assert not right[0]
    assert (np.diff(right.astype(int)) >= 0).all()


def test_cutting_in_four_comes_to_an_end(monkeypatch):
    """A step is never even: after so many times, or so many triangles, it is left as it is."""
    monkeypatch.setattr(mesh_triangles, "_DEEPEST", 2)
    deep = in_plates(mesh((1, 5, 9)), stepped, through_function=False)
    assert area(deep.corners) == pytest.approx(area(CORNERS[:1]))
    sides = np.linalg.norm(deep.corners - np.roll(deep.corners, 1, 1), axis=2).max(1)
    whole = np.linalg.norm(CORNERS[0] - np.roll(CORNERS[0], 1, 0), axis=1).max()
    assert sides.min() == pytest.approx(whole / 4)
    monkeypatch.setattr(mesh_triangles, "_MOST_TRIANGLES", 3)
    assert len(in_plates(mesh((1, 5, 9)), stepped, through_function=False).corners) == 1
    monkeypatch.setattr(mesh_triangles, "_MOST_TRIANGLES", 4)
    assert len(in_plates(mesh((1, 5, 9)), stepped, through_function=False).corners) == 4


def test_a_function_of_very_many_bends_is_refused(monkeypatch):
    monkeypatch.setattr(mesh_triangles, "_MOST_TRIANGLES", 7)
    with pytest.raises(MeshFault):
        in_plates(mesh((1, 5, 9)), curved, through_function=True)


def test_corners_are_written_as_free_form_triangles():
    """8.7.4.5.5: a flag of 0, x and y by 24 bits between the limits, and three bytes of colour."""
    rgb = np.arange(18, dtype=np.uint8).reshape(2, 3, 3)
    data, keys = written(CORNERS, rgb)
    assert (keys["/BitsPerFlag"], keys["/BitsPerCoordinate"], keys["/BitsPerComponent"]) == (8, 24, 8)
    assert keys["/Decode"][:4] == [10, 260, 20, 90]
    # A level stands for the middle of its 255th part, since what is behind the point is cut.
    assert keys["/Decode"][4:] == pytest.approx([0.5 / 255, 255.5 / 255] * 3)
    assert len(data) == 60
    for at, ((x, y), colour) in enumerate(zip(CORNERS.reshape(-1, 2), rgb.reshape(-1, 3), strict=True)):
        record = data[10 * at : 10 * at + 10]
        assert record[0] == 0
        assert 10 + int.from_bytes(record[1:4], "big") / (2**24 - 1) * 250 == pytest.approx(x, abs=2e-5)
        assert 20 + int.from_bytes(record[4:7], "big") / (2**24 - 1) * 70 == pytest.approx(y, abs=1e-5)
        assert list(record[7:]) == colour.tolist()


def test_triangles_without_extent_are_written_all_the_same():
    data, keys = written(np.full((1, 3, 2), (7.0, 9.0)), np.zeros((1, 3, 3), np.uint8))
    assert keys["/Decode"][:4] == [7, 8, 9, 10]
    assert data == bytes(30)
    data, keys = written(np.zeros((0, 3, 2)), np.zeros((0, 3, 3), np.uint8))
    assert data == b""
    assert keys["/Decode"][:4] == [0, 1, 0, 1]

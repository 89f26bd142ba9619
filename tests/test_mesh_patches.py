"""Coons and tensor-product patches cut into triangles (ISO 32000-2, 8.7.4.5.7 and 8.7.4.5.8)."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.artwork.platemaking.mesh_patches import Patches, control_nets, triangles_of

ORDER = ["00", "01", "02", "03", "13", "23", "33", "32", "31", "30", "20", "10", "11", "12", "22", "21"]
"""Columns and rows of control points as 8.7.4.5.8 counts them in the stream."""


def net(points: dict[str, tuple[float, float]]) -> np.ndarray:
    return np.array([[points[place] for place in ORDER]], float)


def parallelogram(u: int, v: int) -> tuple[float, float]:
    """From (10, 20) by (30, 6) in u and by (3, 60) in v."""
    return 10 + 10 * u + v, 20 + 2 * u + 20 * v


def straight(count: int = 16):
    whole = net({place: parallelogram(int(place[0]), int(place[1])) for place in ORDER})
    return np.asarray(whole[:, :count])


def areas(corners: np.ndarray):
    (ax, ay), (bx, by), (cx, cy) = corners.transpose(1, 2, 0)
    return np.abs((bx - ax) * (cy - ay) - (by - ay) * (cx - ax)) / 2


def test_control_points_of_a_tensor_patch_stand_where_the_stream_has_them():
    points = {place: (float(place), -float(place)) for place in ORDER}
    found = control_nets(net(points))[0]
    for place, point in points.items():
        assert tuple(found[int(place[0]), int(place[1])]) == point


def test_inner_points_of_a_coons_patch_are_those_of_the_standard():
    """The four formulas at the end of 8.7.4.5.8."""
    rng = np.random.default_rng(3)
    points = {place: rng.uniform(-50, 50, 2) for place in ORDER[:12]}
    found = control_nets(np.array([[points[place] for place in ORDER[:12]]]))[0]
    for inner, (near, close, ends, far, opposite) in {
        "11": ("00", ("01", "10"), ("03", "30"), ("31", "13"), "33"),
        "12": ("03", ("02", "13"), ("00", "33"), ("32", "10"), "30"),
        "21": ("30", ("31", "20"), ("33", "00"), ("01", "23"), "03"),
        "22": ("33", ("32", "23"), ("30", "03"), ("02", "20"), "00"),
    }.items():
        total = -4 * points[near] + 6 * sum(points[p] for p in close) - 2 * sum(points[p] for p in ends)
        total = total + 3 * sum(points[p] for p in far) - points[opposite]
        assert found[int(inner[0]), int(inner[1])] == pytest.approx(total / 9)


@pytest.mark.parametrize("count", [12, 16])
def test_a_straight_patch_is_covered_once_with_even_triangles(count):
    corners, _ = triangles_of(Patches(straight(count), np.zeros((1, 4, 1))))
    assert len(corners) == 2 * 8**2
    assert areas(corners) == pytest.approx(np.full(128, (30 * 60 - 6 * 3) / 128))
    assert corners.reshape(-1, 2).min(0) == pytest.approx([10, 20])
    assert corners.reshape(-1, 2).max(0) == pytest.approx([43, 86])


def test_colours_belong_to_the_corners_and_go_evenly_between_them():
    """c1 to c4 stand at u, v of (0, 0), (0, 1), (1, 1) and (1, 0)."""
    colours = np.array([[(0.1, 5), (0.2, 7), (0.4, 6), (0.8, 1)]], float)
    corners, values = triangles_of(Patches(straight(), colours))
    assert values.shape == (128, 3, 2)
    offsets = corners.reshape(-1, 2) - (10, 20)
    u, v = np.linalg.solve(np.array([[30, 3], [6, 60]], float), offsets.T)
    weights = np.stack([(1 - u) * (1 - v), (1 - u) * v, u * v, u * (1 - v)], axis=1)
    assert values.reshape(-1, 2) == pytest.approx(weights @ colours[0])


def test_triangles_come_with_rising_v_and_in_that_with_rising_u():
    colours = np.array([[(0, 0), (0, 1), (1, 1), (1, 0)]], float)
    _, values = triangles_of(Patches(straight(), colours))
    middles = values.mean(axis=1)
    u, v = np.floor(middles * 8 - 1e-9).T
    assert (np.diff(v * 8 + u) >= 0).all()


def test_patches_come_one_after_the_other():
    both = np.vstack([straight(), straight() + (200, 0)])
    corners, values = triangles_of(Patches(both, np.array([[[1]] * 4, [[2]] * 4], float)))
    assert values[:128].max() == 1
    assert values[128:].min() == 2
    assert corners[128:, :, 0].min() == pytest.approx(210)


def bent(by: float, across: str) -> np.ndarray:
    """100 long, and pushed aside at its inner columns or rows."""
    points = {}
    for place in ORDER:
        along, other = (int(place[0]), int(place[1])) if across == "u" else (int(place[1]), int(place[0]))
        aside = 10 * other + (by if along in (1, 2) else 0)
        points[place] = (100 * along / 3, aside) if across == "u" else (aside, 100 * along / 3)
    return net(points)


@pytest.mark.parametrize("across", ["u", "v"])
def test_a_bent_patch_is_cut_finely_enough_for_its_edges(across):
    """A second difference of 59 is off the chord by 0.75 x 59 / n², and 0.2 of a size of 100 is allowed: n is 15."""
    corners, _ = triangles_of(Patches(bent(59, across), np.zeros((1, 4, 1))))
    assert len(corners) == 2 * 15**2


def test_what_is_small_beside_the_whole_mesh_is_cut_less():
    """0.4 of a mesh of 2,000 is allowed: n is 11, and 8 at least for the straight one at its other end."""
    far = straight() + (2000 - 43, 0)
    corners, _ = triangles_of(Patches(np.vstack([bent(59, "u"), far]), np.zeros((2, 4, 1))))
    assert len(corners) == 2 * 11**2 + 2 * 8**2


def test_very_many_patches_are_cut_less(monkeypatch):
    monkeypatch.setattr("preflight.artwork.platemaking.mesh_patches._MOST_TRIANGLES", 108)
    corners, _ = triangles_of(Patches(np.repeat(straight(), 6, axis=0), np.zeros((6, 4, 1))))
    assert len(corners) == 6 * 2 * 3**2  # nine squares a patch are 108 triangles
    corners, _ = triangles_of(Patches(np.repeat(straight(), 70, axis=0), np.zeros((70, 4, 1))))
    assert len(corners) == 70 * 2


def test_no_patch_is_no_triangle():
    corners, values = triangles_of(Patches(np.zeros((0, 16, 2)), np.zeros((0, 4, 3))))
    assert (corners.shape, values.shape) == ((0, 3, 2), (0, 3, 3))

"""Coons and tensor-product patches (ISO 32000-2, 8.7.4.5.7 and 8.7.4.5.8) cut into triangles."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
_AT: Final = np.array(
    [
        (0, 0),
        (0, 1),
        (0, 2),
        (0, 3),
        (1, 3),
        (2, 3),
        (3, 3),
        (3, 2),
        (3, 1),
        (3, 0),
        (2, 0),
        (1, 0),
        (1, 1),
        (1, 2),
        (2, 2),
        (2, 1),
    ]
)
"""Column and row of each control point in the order of the stream."""
_OF_PATCH, _OF_MESH = 2e-3, 2e-4
"""How far a straight edge may be off the true one, in sizes of the patch and of the whole mesh."""
_FEWEST, _MOST = 8, 32
_MOST_TRIANGLES: Final = 400_000


@dataclass(frozen=True)
class Patches:
    """In the order of the stream: 12 or 16 control points each, (k, 12 or 16, 2), and four colours, (k, 4, n)."""

    points: FloatArray
    colours: FloatArray


def triangles_of(patches: Patches) -> tuple[FloatArray, FloatArray]:
    """Corners (k, 3, 2) and numbers (k, 3, n) of triangles, patch after patch, in each of them with rising v and u."""
    if not len(patches.points):
        return np.zeros((0, 3, 2)), np.zeros((0, 3, patches.colours.shape[2]))
    nets = control_nets(patches.points)
    size = np.ptp(nets.reshape(len(nets), -1, 2), axis=1).max(axis=1)
    slack = np.maximum(_OF_PATCH * size, _OF_MESH * np.ptp(nets.reshape(-1, 2), axis=0).max())
    bend = np.maximum(np.abs(np.diff(nets, 2, axis=1)).max((1, 2, 3)), np.abs(np.diff(nets, 2, axis=2)).max((1, 2, 3)))
    # A chord of a cubic is off by an eighth of its second derivative, which is six times the second difference.
    wanted = np.ceil(np.sqrt(0.75 * bend / np.maximum(slack, 1e-12)))
    most = max(1, min(_MOST, int(np.sqrt(_MOST_TRIANGLES / 2 / len(nets)))))
    steps = np.clip(wanted, min(_FEWEST, most), most).astype(np.intp)
    found: list[tuple[FloatArray, FloatArray]] = [
        _cut(nets[at], patches.colours[at], int(steps[at])) for at in range(len(nets))
    ]
    corners, values = zip(*found, strict=True)
    return np.concatenate(corners), np.concatenate(values)


def control_nets(points: FloatArray) -> FloatArray:
    """Control points in the order of the stream as nets, (k, 4, 4, 2): first u, then v.

    The inner ones of a Coons patch are those of 8.7.4.5.8.
    """
    nets = np.zeros((len(points), 4, 4, 2))
    columns, rows = _AT[: points.shape[1]].T
    nets[:, columns, rows] = points
    if points.shape[1] == 12:
        for u, v in ((1, 1), (1, 2), (2, 1), (2, 2)):
            near_u, far_u, near_v, far_v = _ends(u, v)
            nets[:, u, v] = (
                -4 * nets[:, near_u, near_v]
                + 6 * (nets[:, near_u, v] + nets[:, u, near_v])
                - 2 * (nets[:, near_u, far_v] + nets[:, far_u, near_v])
                + 3 * (nets[:, far_u, v] + nets[:, u, far_v])
                - nets[:, far_u, far_v]
            ) / 9
    return nets


def _ends(u: int, v: int) -> tuple[int, int, int, int]:
    """The nearer and the farther edge in u, and in v."""
    near_u, near_v = (0 if u == 1 else 3), (0 if v == 1 else 3)
    return near_u, 3 - near_u, near_v, 3 - near_v


def _cut(net: FloatArray, colours: FloatArray, steps: int) -> tuple[FloatArray, FloatArray]:
    at = np.linspace(0, 1, steps + 1)
    cubics = np.stack([(1 - at) ** 3, 3 * at * (1 - at) ** 2, 3 * at**2 * (1 - at), at**3])
    points = np.einsum("iu,jv,ijd->vud", cubics, cubics, net)
    # The colours belong to the corners (0, 0), (0, 1), (1, 1) and (1, 0) of u and v.
    weights = np.stack(
        [np.outer(1 - at, 1 - at), np.outer(at, 1 - at), np.outer(at, at), np.outer(1 - at, at)]
    )  # (4, v, u)
    values = np.einsum("cvu,cn->vun", weights, colours)
    return _halves(points), _halves(values)


def _halves(grid: FloatArray) -> FloatArray:
    """Two triangles for each square of a grid."""
    a, b, c, d = grid[:-1, :-1], grid[:-1, 1:], grid[1:, :-1], grid[1:, 1:]
    return np.stack([np.stack([a, b, c], 2), np.stack([b, c, d], 2)], 2).reshape(-1, 3, grid.shape[2])

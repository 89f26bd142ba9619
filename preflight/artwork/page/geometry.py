"""Matrices and boxes: how things lie in a stream's space, on the page, and in pixels."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Box = tuple[float, float, float, float]
"""x0, y0, x1, y1 with x0 <= x1 and y0 <= y1."""
Matrix = tuple[float, float, float, float, float, float]

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
EVERYWHERE: Box = (-1e9, -1e9, 1e9, 1e9)
"""A clip that cuts nothing off."""
NOWHERE: Box = (0.0, 0.0, 0.0, 0.0)


def times(first: Sequence[float], then: Sequence[float]) -> Matrix:
    """Matrix that applies ``first`` and then ``then`` (ISO 32000-2, 8.3.4)."""
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return (a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u)


def inverse(matrix: Sequence[float]) -> Matrix:
    """The matrix that leads back; raises ZeroDivisionError of one that leaves no area."""
    a, b, c, d, e, f = matrix
    whole = a * d - b * c
    return (d / whole, -b / whole, -c / whole, a / whole, (c * f - d * e) / whole, (b * e - a * f) / whole)


def box_through(matrix: Sequence[float], box: Sequence[float]) -> Box:
    """Bounding box of a box after a matrix."""
    a, b, c, d, e, f = matrix
    x0, y0, x1, y1 = box
    if b == 0 and c == 0:
        xs, ys = (a * x0 + e, a * x1 + e), (d * y0 + f, d * y1 + f)
        return (min(xs), min(ys), max(xs), max(ys))
    corners = [(a * x + c * y + e, b * x + d * y + f) for x in (x0, x1) for y in (y0, y1)]
    return (
        min(x for x, _ in corners),
        min(y for _, y in corners),
        max(x for x, _ in corners),
        max(y for _, y in corners),
    )


def overlap(one: Box, other: Box) -> Box:
    """Common part of two boxes; NOWHERE where there is none."""
    x0, y0, x1, y1 = max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])
    return (x0, y0, x1, y1) if x1 >= x0 and y1 >= y0 else NOWHERE


def singular_values(frame: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Smaller and larger singular value of many 2 x 2 matrices."""
    a, b, c, d = frame.T
    total = a * a + b * b + c * c + d * d
    determinant = np.abs(a * d - b * c)
    root = np.sqrt(np.maximum(total * total - 4 * determinant * determinant, 0))
    return np.sqrt(np.maximum((total - root) / 2, 0)), np.sqrt(np.maximum((total + root) / 2, 0))


def box_of(array: Any) -> Box | None:
    """A rectangle from a PDF array, corners put in order; None where it is unusable."""
    try:
        x0, y0, x1, y1 = (float(v) for v in list(array)[:4])
    except (TypeError, ValueError):
        return None
    return (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))


def matrix_of(array: Any) -> Matrix:
    """A matrix from a PDF array; the identity where it is unusable."""
    try:
        a, b, c, d, e, f = (float(v) for v in list(array)[:6])
    except (TypeError, ValueError):
        return (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    return (a, b, c, d, e, f)


def overlapping(boxes: NDArray[Any], box: Sequence[float]) -> NDArray[np.bool_]:
    """Which boxes (k, 4) have more than an edge or a corner in common with another."""
    across = (boxes[:, 0] < box[2]) & (boxes[:, 2] > box[0])
    return np.asarray(across & (boxes[:, 1] < box[3]) & (boxes[:, 3] > box[1]))


def meeting(boxes: NDArray[Any], box: Sequence[float], margin: float = 0.0) -> NDArray[np.bool_]:
    """Which boxes (k, 4) meet another, or touch it, or come as near as a margin."""
    x0, y0, x1, y1 = box
    across = (boxes[:, 0] <= x1 + margin) & (boxes[:, 2] >= x0 - margin)
    return np.asarray(across & (boxes[:, 1] <= y1 + margin) & (boxes[:, 3] >= y0 - margin))

"""A line through readings that never falls: straight between knots, by least squares.

Method: monotone regression splines of degree 1 (J. O. Ramsay, Monotone regression splines in action, Statistical
Science 3 (4), 1988), whose rises are held at 0 or above by non-negative least squares (C. L. Lawson, R. J. Hanson,
Solving least squares problems, 1974, chapter 23, algorithm NNLS). Knots are at quantiles of what was measured.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
MOST_STRETCHES: Final = 8
READINGS_A_STRETCH: Final = 5
NEAREST: Final = 0.002
"""Knots no nearer than this in cover: closer ones would follow the noise."""


@dataclass(frozen=True)
class Fit:
    """A line and how far the readings are from it."""

    points: tuple[tuple[float, float], ...]
    residuals: Floats
    """Reading less line, one for each reading."""
    spread: float
    """Standard deviation of the residuals, for as many readings as are left when the line has taken its own."""


def fit_rising(x: Floats, y: Floats, highest: float) -> Fit:
    """The line through readings.

    Args:
        x: what it is drawn over; at least two different values.
        y: the readings, 0 or more.
        highest: the line ends at this.
    """
    knots = _knots(x)
    ramps = np.clip((x[:, None] - knots[:-1]) / np.diff(knots), 0.0, 1.0)
    rises = non_negative(np.column_stack([np.ones(len(x)), ramps]), y)
    values = np.minimum(np.cumsum(rises), highest)
    residuals = y - np.interp(x, knots, values)
    free = max(1, len(x) - int(np.count_nonzero(rises > 0)))
    spread = float(np.sqrt(np.sum(residuals**2) / free))
    return Fit(tuple(zip(knots.tolist(), values.tolist(), strict=True)), residuals, spread)


def _knots(x: Floats) -> Floats:
    """Both ends, and quantiles between them with enough readings each and no two alike."""
    stretches = min(MOST_STRETCHES, max(1, len(x) // READINGS_A_STRETCH))
    inner = np.quantile(x, np.arange(1, stretches) / stretches)
    low, high = float(x.min()), float(x.max())
    knots = [low]
    for knot in inner.tolist():
        if knot - knots[-1] >= NEAREST and high - knot >= NEAREST:
            knots.append(knot)
    return np.array([*knots, high])


def non_negative(matrix: Floats, wanted: Floats) -> Floats:
    """The x of 0 or more that makes the squares of ``matrix @ x - wanted`` least."""
    count = matrix.shape[1]
    taken, x = np.zeros(count, bool), np.zeros(count)
    small = 1e-10 * max(1.0, float(np.abs(matrix.T @ wanted).max()))
    for _ in range(3 * count + 30):
        slope = matrix.T @ (wanted - matrix @ x)
        slope[taken] = -np.inf
        if taken.all() or slope.max() <= small:
            break
        taken[int(np.argmax(slope))] = True
        x = _held(matrix, wanted, taken, x)
    return x


def _held(matrix: Floats, wanted: Floats, taken: NDArray[np.bool_], x: Floats) -> Floats:
    """Least squares over the columns taken; those that would go below 0 are given up one by one."""
    while taken.any():
        tried = np.zeros(len(x))
        tried[taken] = np.linalg.lstsq(matrix[:, taken], wanted, rcond=None)[0]
        below = taken & (tried <= 0)
        if not below.any():
            return tried
        step = float(np.min(x[below] / (x[below] - tried[below] + 1e-300)))
        x = x + step * (tried - x)
        taken &= ~(taken & (x <= 1e-12))
        x = np.where(taken, x, 0.0)
    return x

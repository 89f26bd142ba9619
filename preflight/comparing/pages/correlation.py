"""How far one picture lies from another, by cross-correlation: for pages that nothing else lays on each other."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def shift_between(old: NDArray[np.float32], new: NDArray[np.float32]) -> tuple[float, float]:
    """Pixels that a picture has to be moved by, right and down, to lie on another of its shape; (0, 0) for none.

    Edges are correlated and not areas, so that a large background does not decide it; the peak is fitted by a parabola.
    """
    shape = [2 * side for side in old.shape]
    one, other = (np.fft.rfft2(_edges(each), shape) for each in (old, new))
    surface = np.fft.irfft2(other * np.conj(one), shape)
    if not surface.size or surface.max() <= 0:
        return (0.0, 0.0)
    row, column = np.unravel_index(int(surface.argmax()), surface.shape)
    down = int(row) + _part(surface[:, column], int(row))
    right = int(column) + _part(surface[row], int(column))
    right, down = (side - whole if side > whole / 2 else side for side, whole in ((right, shape[1]), (down, shape[0])))
    return right, down


def _edges(ink: NDArray[np.float32]) -> NDArray[np.float32]:
    down, across = np.gradient(ink) if min(ink.shape) > 1 else (ink, ink)
    return np.asarray(np.hypot(down, across), np.float32)


def _part(values: NDArray[np.float64], at: int) -> float:
    """Where between pixels the peak is, from its neighbours."""
    before, peak, after = values[at - 1], values[at], values[(at + 1) % len(values)]
    bend = before - 2 * peak + after
    return float(0.5 * (before - after) / bend) if bend < 0 else 0.0

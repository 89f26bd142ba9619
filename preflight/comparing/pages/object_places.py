"""Where objects of one page lie on another, told by the boxes of what is painted and with no pixel drawn.

All of it is a guess to be held against the plates: an export may write the same art as other objects.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.page import Page
from preflight.comparing.pages.shared_frame import SharedFrame

MOST_ROWS: Final = 100_000
SAME_PLACE_MM: Final = 0.5
"""Width of the squares that corners are sorted into."""
SAME_SIZE_MM: Final = 0.02
SAME_SHIFT_MM: Final = 0.05
SAME_SCALE: Final = 0.001
LEAST_SIDE_MM: Final = 1.0
"""Smaller objects tell no scale."""
LEAST_VOTES: Final = 3
ENOUGH: Final = 0.6
"""Of the objects that can be told apart, those that agree."""

Boxes = NDArray[np.float64]


def art_boxes(page: Page) -> Boxes:
    """Boxes (n, 4) in mm of what shows and is no die, in painting order; of very many the first."""
    objects = page.objects
    kept = np.asarray(objects.visible, bool).copy()
    for separation in page.separations:
        if not separation.on_plate:
            kept &= ~objects.in_separation(separation.name)
    return np.asarray(objects.box_mm[np.flatnonzero(kept)[:MOST_ROWS]], np.float64)


def agreement(old: Boxes, new: Boxes, frame: SharedFrame) -> float:
    """The share of the objects of either page that have one in their place on the other, 0 to 1; 1 where none shows."""
    if not len(old) or not len(new):
        return 1.0 if len(old) == len(new) else 0.0
    lying = on_new(old, frame)
    found = np.zeros(len(lying), bool), np.zeros(len(new), bool)
    for off in (0.0, 0.5):
        one, other = (_keys(boxes / SAME_PLACE_MM + off) for boxes in (lying, new))
        found = found[0] | np.isin(one, other), found[1] | np.isin(other, one)
    return float(min(found[0].mean(), found[1].mean()))


def frame_by_objects(old: Boxes, new: Boxes) -> SharedFrame | None:
    """How OLD lies on NEW by the objects that are of one size and one of a kind on both; None where they disagree."""
    best: tuple[float, SharedFrame] | None = None
    for turns in range(4):
        lying = on_new(old, SharedFrame(turns))
        one, other = _one_of_a_kind(lying, new)
        if len(one) < LEAST_VOTES:
            continue
        shifts = (new[other] - lying[one])[:, :2]
        mode = _mode(shifts)
        agree = np.abs(shifts - mode).max(1) <= SAME_SHIFT_MM
        share = float(agree.mean())
        if share >= ENOUGH and (best is None or share > best[0]):
            dx, dy = np.median(shifts[agree], 0).tolist()
            best = share, SharedFrame(turns, (dx, dy), "content")
    return best[1] if best else None


def scale_of(old: Boxes, new: Boxes, turns: int = 0) -> float | None:
    """New size over old of art that was scaled as a whole; None where it was not, or where it cannot be told."""
    if len(old) != len(new) or not len(old):
        return None
    lying = on_new(old, SharedFrame(turns))
    sizes, wanted = (boxes[:, 2:] - boxes[:, :2] for boxes in (lying, new))
    large = (sizes > LEAST_SIDE_MM).all(1)
    if large.sum() < LEAST_VOTES:
        return None
    ratios = (wanted[large] / sizes[large]).ravel()
    scale = float(np.median(ratios))
    agree = np.abs(ratios / scale - 1) < SAME_SCALE
    return scale if abs(scale - 1) > 2 * SAME_SCALE and agree.mean() >= ENOUGH else None


def on_new(boxes: Boxes, frame: SharedFrame) -> Boxes:
    """Boxes of OLD's page on NEW's."""
    a, b, c, d, e, f = frame.to_new
    corners = boxes.reshape(-1, 2, 2) @ np.array([[a, b], [c, d]], float) + [e, f]
    return np.hstack([corners.min(1), corners.max(1)])


def _keys(boxes: Boxes) -> NDArray[np.void]:
    cells = np.ascontiguousarray(np.floor(boxes).astype(np.int32))
    return cells.view(np.dtype((np.void, cells.dtype.itemsize * 4))).ravel()


def _one_of_a_kind(old: Boxes, new: Boxes) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows of both whose size nothing else on their page has."""
    sizes = [np.round((boxes[:, 2:] - boxes[:, :2]) / SAME_SIZE_MM).astype(np.int64) for boxes in (old, new)]
    alone = []
    for size in sizes:
        keys = size[:, 0] * 2**31 + size[:, 1]
        values, first, times = np.unique(keys, return_index=True, return_counts=True)
        alone.append((values[times == 1], first[times == 1]))
    _, one, other = np.intersect1d(alone[0][0], alone[1][0], return_indices=True)
    return alone[0][1][one], alone[1][1][other]


def _mode(shifts: NDArray[np.float64]) -> NDArray[np.float64]:
    """The middle of the fullest square of shifts."""
    cells = np.round(shifts / SAME_SHIFT_MM).astype(np.int64)
    values, times = np.unique(cells, axis=0, return_counts=True)
    return np.asarray(values[times.argmax()] * SAME_SHIFT_MM, np.float64)

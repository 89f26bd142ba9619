"""Looking outward across a cut line: stations along it, tints along its normals, how far ink carries on.

All arrays have one row a station; offsets are mm along the outward normal, negative inside the blank.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import LineString

from preflight.artwork.plates import Plates

Floats = NDArray[np.float64]

SOFT_EDGE_MM = 0.25
"""An ink that takes longer than this to fade out has no edge; it ends where it can no longer be seen."""


@dataclass(frozen=True)
class Stations:
    """Points on a cut line at even steps, and the direction out of the blank at each."""

    xy: Floats  # (n, 2) mm
    outward: Floats  # (n, 2) unit vectors
    spacing_mm: float

    def __len__(self) -> int:
        return len(self.xy)

    def part(self, rows: NDArray[np.int_]) -> Stations:
        """Some of the stations."""
        return Stations(self.xy[rows], self.outward[rows], self.spacing_mm)


def stations_on(line: LineString, spacing_mm: float) -> Stations:
    """Stations at the middles of equal steps along a line that has the blank on its left."""
    points = np.asarray(line.coords, float)[:, :2]
    steps = np.diff(points, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    steps, lengths = steps[lengths > 0], lengths[lengths > 0]
    starts = points[:-1][np.hypot(*np.diff(points, axis=0).T) > 0]
    ends = np.cumsum(lengths)
    if not len(ends):
        return Stations(np.zeros((0, 2)), np.zeros((0, 2)), spacing_mm)
    count = max(1, round(ends[-1] / spacing_mm))
    along = (np.arange(count) + 0.5) * ends[-1] / count
    piece = np.minimum(np.searchsorted(ends, along), len(ends) - 1)
    direction = steps[piece] / lengths[piece, None]
    xy = starts[piece] + direction * (along - (ends[piece] - lengths[piece]))[:, None]
    return Stations(xy, np.column_stack([direction[:, 1], -direction[:, 0]]), float(ends[-1] / count))


def tints_along(plates: Plates, names: Sequence[str], at: Stations, offsets_mm: Floats) -> NDArray[np.float32]:
    """Tints 0..255 along the outward normals, between pixels by straight lines: (names, stations, offsets).

    Places off the plates read as bare board.
    """
    places = at.xy[:, None, :] + at.outward[:, None, :] * offsets_mm[None, :, None]
    column, row = (plates.to_px(places.reshape(-1, 2)) - 0.5).T
    height, width = plates.ink.shape[1:]
    left, top = np.floor(column).astype(int), np.floor(row).astype(int)
    across, down = (column - left).astype(np.float32), (row - top).astype(np.float32)
    channels = np.stack([plates.tint(name) for name in names]) if names else np.zeros((0, height, width), np.uint8)
    result = np.zeros((len(names), len(column)), np.float32)
    for shift_x, shift_y, share in (
        (0, 0, (1 - across) * (1 - down)),
        (1, 0, across * (1 - down)),
        (0, 1, (1 - across) * down),
        (1, 1, across * down),
    ):
        x, y = left + shift_x, top + shift_y
        on_plate = (x >= 0) & (x < width) & (y >= 0) & (y < height)
        found = channels[:, np.where(on_plate, y, 0), np.where(on_plate, x, 0)]
        result += found * np.where(on_plate, share, 0)
    return result.reshape(len(names), len(at), len(offsets_mm))


def reach_mm(tints: NDArray[np.float32], offsets_mm: Floats, threshold: float, touch_to_mm: float) -> Floats:
    """How far ink carries on without a break from where it touches, in mm from the cut; below 0 where it stops before.

    Offsets up to ``touch_to_mm`` are where ink has to stand, anywhere, to touch. A hard edge lies where the tint has
    fallen to half of what it was just before, which is true to a few hundredths of a mm on plates whose pixels hold
    their covered share. An ink that fades out ends at the threshold. The last offset stands for "that far at least".
    """
    seen = tints >= threshold
    zone = int(np.searchsorted(offsets_mm, touch_to_mm + 1e-9))
    seen[:, :zone] = np.logical_or.accumulate(seen[:, :zone][:, ::-1], axis=1)[:, ::-1]
    step = offsets_mm[1] - offsets_mm[0]
    end = np.where(seen.all(1), tints.shape[1], seen.argmin(1))
    back = max(1, round(SOFT_EDGE_MM / step))
    rows = np.arange(len(tints))
    before = np.maximum(end[:, None] - 1 - np.arange(back + 1), 0)
    plateau = tints[rows[:, None], before].max(1)
    last = np.clip(end, 0, tints.shape[1] - 1)
    above_half = tints[rows[:, None], before] >= plateau[:, None] / 2
    turn = np.take_along_axis(before, above_half.argmax(1)[:, None], 1)[:, 0]
    after = np.minimum(turn + 1, tints.shape[1] - 1)
    drop = tints[rows, turn] - tints[rows, after]
    share = np.divide(tints[rows, turn] - plateau / 2, drop, out=np.zeros(len(tints)), where=drop > 0)
    hard = offsets_mm[turn] + np.clip(share, 0, 1) * step
    soft = offsets_mm[last]
    edge = np.where(soft - hard > SOFT_EDGE_MM, soft, hard)
    reach: Floats = np.where(end >= tints.shape[1], offsets_mm[-1], np.where(end == 0, offsets_mm[0], edge))
    return reach


def runs(mask: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Half-open ranges of set entries."""
    steps = np.diff(np.concatenate([[False], mask, [False]]).view(np.int8))
    return list(zip(np.flatnonzero(steps == 1).tolist(), np.flatnonzero(steps == -1).tolist(), strict=True))


def without_short_dips(values: Floats, width: int, top: float) -> Floats:
    """Values along a line with every dip narrower than ``width`` entries filled up to its rim (grey closing)."""
    if len(values) < width:
        return np.full(len(values), top)
    if width < 2:
        return values
    rims = np.lib.stride_tricks.sliding_window_view(values, width).max(1)
    padded = np.concatenate([np.full(width - 1, np.inf), rims, np.full(width - 1, np.inf)])
    result: Floats = np.lib.stride_tricks.sliding_window_view(padded, width).min(1)
    return result


def crossing(reach: Floats, touched: NDArray[np.bool_], spacing_mm: float, steeper_than: float) -> NDArray[np.bool_]:
    """Stations where a shape leaves the cut aslant: it crosses the cut and does not stop at it.

    Where a stripe, a letter or a dot that runs off the carton ceases to touch, its reach falls to nothing, steeper than
    the given slope; the end of a ground that lacks its bleed runs along the cut. The slope is taken over 1 mm.
    """
    result = np.zeros(len(reach), bool)
    ahead = max(1, round(1.0 / spacing_mm))
    rise = steeper_than * ahead * spacing_mm
    for start, stop in runs(touched):
        own, flags = reach[start:stop], result[start:stop]
        for values, passing, leaves in ((own, flags, start > 0), (own[::-1], flags[::-1], stop < len(reach))):
            if leaves and len(values) > ahead:
                climbs = values[ahead:] - values[:-ahead] > rise
                steps = len(climbs) if climbs.all() else int(climbs.argmin())
                passing[:steps] = True
    return result

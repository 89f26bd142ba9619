"""Looking outward across a cut line: stations along it, tints along its normals, how far ink carries on.

All arrays have one row a station; offsets are mm along the outward normal, negative inside the blank.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString

from preflight.artwork.page.plates import Plates

Floats = NDArray[np.float64]

FEW_PLACES = 16
SOFT_EDGE_MM = 0.25
"""An ink that takes longer than this to fade out has no edge; it ends where it can no longer be seen."""
SUDDEN_MM = 0.3
SUDDEN_LOSS = 0.3
"""A colour that loses this share of itself within this distance on either side has an edge there."""
LEVEL_MM = 0.12
"""Ends that differ by no more than this over the shortest stretch run along the cut."""


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
    points = shapely.get_coordinates(line)
    steps = points[1:] - points[:-1]
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    real = lengths > 0
    steps, lengths, starts = steps[real], lengths[real], points[:-1][real]
    ends = lengths.cumsum()
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
    x_mm, y_mm = ((at.xy[:, k, None] + at.outward[:, k, None] * offsets_mm).ravel() for k in (0, 1))
    return tints_at(plates, names, x_mm, y_mm).reshape(len(names), len(at), len(offsets_mm))


def tints_at(plates: Plates, names: Sequence[str], x_mm: Floats, y_mm: Floats) -> NDArray[np.float32]:
    """Tints 0..255 at places of the page, between the middles of pixels in proportion: (names, places).

    Places off the plates read as bare board.
    """
    scale, (x0, _, _, y1) = plates.dpi / 25.4, plates.box_mm
    column, row = (x_mm - x0) * scale - 0.5, (y1 - y_mm) * scale - 0.5
    height, width = plates.ink.shape[1:]
    left, top = np.floor(column).astype(np.intp), np.floor(row).astype(np.intp)
    across, down = (column - left).astype(np.float32), (row - top).astype(np.float32)
    channels = [(n, plates.tint(name)) for n, name in enumerate(names)]
    few = FEW_PLACES * len(column) < height * width  # a look at all of a plate would take longer than its places
    inked = [(n, channel.ravel()) for n, channel in channels if few or channel.any()]
    result = np.zeros((len(names), len(column)), np.float32)
    if not inked or not len(column):
        return result
    inner = min(left.min(), top.min()) >= 0 and left.max() + 1 < width and top.max() + 1 < height
    for shift_x, shift_y, share in (
        (0, 0, (1 - across) * (1 - down)),
        (1, 0, across * (1 - down)),
        (0, 1, (1 - across) * down),
        (1, 1, across * down),
    ):
        x, y = left + shift_x, top + shift_y
        place = y * width + x
        if not inner:
            on_plate = (x >= 0) & (x < width) & (y >= 0) & (y < height)
            place, share = np.where(on_plate, place, 0), np.where(on_plate, share, 0)
        for n, channel in inked:
            result[n] += channel.take(place) * share
    return result


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
    padded = np.zeros(len(mask) + 2, bool)
    padded[1:-1] = mask
    edges = (padded[1:] != padded[:-1]).nonzero()[0].tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))


def without_short_dips(values: Floats, width: int, top: float) -> Floats:
    """Values along a line with every dip narrower than ``width`` entries filled up to its rim (grey closing)."""
    if len(values) < width:
        return np.full(len(values), top)
    if width < 2:
        return values
    rims = neighbouring(values, width, np.maximum)
    padded = np.full(len(rims) + 2 * (width - 1), np.inf)
    padded[width - 1 : width - 1 + len(rims)] = rims
    return neighbouring(padded, width, np.minimum)


def neighbouring(values: Floats, width: int, extreme: np.ufunc) -> Floats:
    """The extreme of each ``width`` neighbours, from those of ever wider ones."""
    reached = 1
    while reached < width:
        step = min(reached, width - reached)
        values = extreme(values[:-step], values[step:])
        reached += step
    return values


def crossing(reach: Floats, touched: NDArray[np.bool_], spacing_mm: float, steeper_than: float) -> NDArray[np.bool_]:
    """Stations where a shape leaves the cut aslant: it crosses the cut and does not stop at it.

    Where a stripe, a letter or a dot that runs off the carton ceases to touch, its reach falls to nothing, steeper than
    the given slope; the end of a ground that lacks its bleed runs along the cut.
    """
    result = np.zeros(len(reach), bool)
    for start, stop in runs(touched):
        sides = (start > 0, stop < len(reach))
        result[start:stop] = climbing(reach[start:stop], sides, spacing_mm, steeper_than)
    return result


def climbing(values: Floats, sides: tuple[bool, bool], spacing_mm: float, steeper_than: float) -> NDArray[np.bool_]:
    """Where values climb from the first of a line, the last or both, steeper than a slope; it is taken over 1 mm."""
    result = np.zeros(len(values), bool)
    ahead = max(1, round(1.0 / spacing_mm))
    rise = steeper_than * ahead * spacing_mm
    for own, flags, wanted in ((values, result, sides[0]), (values[::-1], result[::-1], sides[1])):
        if wanted and len(own) > ahead:
            climbs = own[ahead:] - own[:-ahead] > rise
            flags[: len(climbs) if climbs.all() else int(climbs.argmin())] = True
    return result


def standing_inside(zone: NDArray[np.float32]) -> NDArray[np.float32]:
    """Tints that stand just inside the cut, (names, stations), from those in the zone where ink touches, outward last.

    They are taken where the most ink stands, and of places alike from the outermost: what ends within the zone counts,
    and where one colour gives way to another there the outer one counts alone.
    """
    total = zone.sum(0)
    enough = total >= 0.9 * total.max(1, keepdims=True)
    outermost = enough.shape[1] - 1 - enough[:, ::-1].argmax(1)
    return np.take_along_axis(zone, outermost[None, :, None], 2)[:, :, 0]


def kept_of(tints: NDArray[np.float32], inside: NDArray[np.float32]) -> NDArray[np.float32]:
    """What the inks at each offset keep of those inside, as a sum of tints: (stations, offsets).

    A plate keeps no more than it had: another ink, or more of one of them, does not stand for what is lost.
    """
    kept: NDArray[np.float32] = np.minimum(tints, inside[:, :, None]).sum(0)
    return kept


def carried_mm(
    kept: NDArray[np.float32],
    total: NDArray[np.float32],
    offsets_mm: Floats,
    share: float,
    threshold: float,
    touch_to_mm: float,
) -> Floats:
    """How far the inks that stand inside carry on, in mm from the cut; see ``reach_mm``.

    They end where less than ``share`` of their total is kept, if the loss is sudden; inks that fade out end where
    nothing is seen of them any more.
    """
    parts = (255 * kept / np.maximum(total, 1.0)[:, None]).astype(np.float32)
    at_share = reach_mm(parts, offsets_mm, share * 255, touch_to_mm)
    near = np.abs(offsets_mm[None, :] - at_share[:, None]) <= SUDDEN_MM
    loss = np.where(near, parts, 0).max(1) - np.where(near, parts, 255).min(1)
    sudden = loss >= SUDDEN_LOSS * 255
    if sudden.all():
        return at_share
    return np.where(sudden, at_share, reach_mm(kept, offsets_mm, threshold, touch_to_mm))


def pieces_alike(values: Floats, mask: NDArray[np.bool_], step: float) -> list[tuple[int, int]]:
    """Runs of the mask, parted where a value differs from the one before it by more than ``step``."""
    found = []
    for start, stop in runs(mask):
        jumps = start + 1 + np.flatnonzero(np.abs(np.diff(values[start:stop])) > step)
        found += list(zip([start, *jumps.tolist()], [*jumps.tolist(), stop], strict=True))
    return found

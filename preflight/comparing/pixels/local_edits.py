"""Places at which a pair of plates differs: what hangs together or nearly so, told from rims by a closer look."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box, overlap
from preflight.comparing.comparison import PlatePair
from preflight.comparing.pixels.leftovers import NOTHING, Undone, leftover
from preflight.comparing.pixels.pixels import Levels, spread
from preflight.measures.raster import masks

Closer = Callable[[Box, float], PlatePair]

LEAST_MM2: Final = 0.1
LEAST_CLOSE_MM2: Final = 0.03
"""What a closer look shows is there from this area on: part of a digit of small type."""
NEAR_MM: Final = 0.5
"""Differences nearer than about this are one place."""
MOST_PLACES: Final = 60
NOT_MADE_UP: Final = 40
"""Levels that made-up pixels are hardly off by."""
MOST_SPOTS: Final = 2000
SAMPLES: Final = 48
MOST_LOOKS: Final = 20
IN_VAIN: Final = 8
CLOSE_DPI: Final = 600.0
LOOK_MM: Final = 12.0
"""Longest side of a closer look."""
ROUND_MM: Final = 0.8
STRONG: Final = 128
"""Levels over two pixels each way that no rim has."""
SURE: Final = 48
"""The same, three pixels each way."""


@dataclass(frozen=True)
class Place:
    """A place that differs."""

    box_mm: Box
    area_mm2: float
    width_mm: float
    """How far an edge stands off, about."""
    pixels: int
    """Of the plates' own resolution, that differ."""


@dataclass(frozen=True)
class Spot:
    """Pixels that differ near one another."""

    place: Place
    slices: tuple[slice, ...]
    """Its rows and columns."""
    strongest: tuple[int, int]
    """Row and column."""
    level: int
    sure: bool
    """Neither rims nor made-up pixels look like it."""


def places(pair: PlatePair, left: Levels, undone: Undone, closer: Closer | None) -> list[Place]:
    """What a leftover amounts to, the largest first; not more than ``MOST_PLACES``.

    Args:
        pair: the plates.
        left: their leftover, bare where nothing should be looked for.
        undone: what was undone for it.
        closer: gives the same pair at a higher resolution; without it all counts that is large enough, but for what
            may come of pixels that were made up when a shift was undone.
    """
    spots = _spots(pair, left, undone, LEAST_MM2 if closer is None else LEAST_CLOSE_MM2)
    surely = [spot for spot in spots if _counts(spot, undone, closer)]
    surely = sorted(surely, key=lambda spot: -spot.place.area_mm2)[:MOST_PLACES]
    found = [_measured(pair, left, spot) for spot in surely]
    if closer is not None:
        found += _looked_at(pair, left, [spot for spot in spots if not _counts(spot, undone, closer)], undone, closer)
    return sorted(found, key=lambda place: -place.area_mm2)[:MOST_PLACES]


def _counts(spot: Spot, undone: Undone, closer: Closer | None) -> bool:
    """Whether a spot counts without a closer look."""
    if spot.place.area_mm2 < LEAST_MM2:
        return False
    if closer is None:
        return spot.sure or spot.level >= NOT_MADE_UP or not undone.in_between
    return spot.sure and not undone.in_between


def _looked_at(pair: PlatePair, left: Levels, spots: list[Spot], undone: Undone, closer: Closer) -> list[Place]:
    """Places of those spots, the strongest first, that a closer look shows to be there.

    After so many in a row that are nothing it is given up: the rest is weaker. What is past the looks that there are
    counts where the last ones did.
    """
    found: list[Place] = []
    in_vain = 0
    for number, spot in enumerate(spots):
        if in_vain >= IN_VAIN:
            break
        window = _window(pair, spot, undone)
        if window is None or number >= MOST_LOOKS:
            if not in_vain and spot.place.area_mm2 >= LEAST_MM2:
                found.append(_measured(pair, left, spot))
            continue
        seen = _closely(pair, spot, undone, closer(window, CLOSE_DPI))
        in_vain = 0 if seen else in_vain + 1
        if seen:
            found.append(seen)
    return found


def _spots(pair: PlatePair, left: Levels, undone: Undone, least_mm2: float) -> list[Spot]:
    """Spots of a leftover: those that are sure first, then those whose levels differ most."""
    rows, columns = masks.around(left > 0, 3)
    part = left[rows, columns]
    if not part.size:
        return []
    surely = _sure(part, undone)
    mm = 25.4 / pair.dpi
    side = max(2, round(NEAR_MM / mm))
    spots: list[Spot] = []
    for region, own in masks.parts(masks.coarse(part > 0, side)):
        if region.pixels * (side * mm) ** 2 < least_mm2 or len(spots) >= MOST_SPOTS:
            break
        near = tuple(slice(one.start * side, one.stop * side) for one in region.slices)
        levels = part[near]
        levels = np.where(np.repeat(np.repeat(own, side, 0), side, 1)[: levels.shape[0], : levels.shape[1]], levels, 0)
        level = int(levels.max())
        area = float(levels.sum(dtype=np.int64)) / level * mm * mm
        if area < least_mm2:
            continue
        tight = masks.around(levels > 0, 0)
        at = tuple(whole.start + one.start for whole, one in zip((rows, columns), near, strict=True))
        slices = tuple(slice(start + one.start, start + one.stop) for start, one in zip(at, tight, strict=True))
        strongest = np.unravel_index(int(levels.argmax()), levels.shape)
        place = Place(box_of(pair, *slices), area, 0.0, int(np.count_nonzero(levels)))
        sure = bool((surely[near] & (levels > 0)).any())
        spots.append(Spot(place, slices, (at[0] + int(strongest[0]), at[1] + int(strongest[1])), level, sure))
    return sorted(spots, key=lambda spot: (not spot.sure, -spot.place.area_mm2 if spot.sure else -spot.level))


def _sure(left: Levels, undone: Undone) -> masks.Mask:
    """Pixels that differ over two or three each way, by more than rims do and than pixels that were made up."""
    return (masks.opened(left, 2) >= STRONG) | (masks.opened(left, 3) >= (SURE if undone.in_between else 1))


def _measured(pair: PlatePair, left: Levels, spot: Spot) -> Place:
    """The place of a spot, with how far edges stand off in it."""
    part = spot.slices[0], spot.slices[1]
    return replace(spot.place, width_mm=_width_px(pair.old[part], pair.new[part], left[part]) * 25.4 / pair.dpi)


def _width_px(old: Levels, new: Levels, left: Levels) -> float:
    """How far an edge stands off at most, about: what differs across it, as a share of its height."""
    height = np.maximum(np.maximum(spread(old), spread(new)), left).astype(np.float32)
    share = np.where(left > 0, left / np.maximum(height, 1), 0)
    row, column = np.nonzero(left)
    widest = 0.0
    for at in np.linspace(0, len(row) - 1, min(len(row), SAMPLES)).astype(int).tolist():
        widest = max(widest, min(_run(share[row[at]], column[at]), _run(share[:, column[at]], row[at])))
    return widest


def _run(values: NDArray[np.float32], at: int) -> float:
    """The sum of the values about one of them, up to those that are none."""
    none = np.flatnonzero(values == 0)
    after = int(np.searchsorted(none, at))
    first = int(none[after - 1]) + 1 if after else 0
    return float(values[first : int(none[after]) if after < len(none) else len(values)].sum())


def box_of(pair: PlatePair, rows: slice, columns: slice) -> Box:
    """The box on the page that rows and columns fill."""
    mm, (x0, _, _, y1) = 25.4 / pair.dpi, pair.box_mm
    return (x0 + columns.start * mm, y1 - rows.stop * mm, x0 + columns.stop * mm, y1 - rows.start * mm)


def _window(pair: PlatePair, spot: Spot, undone: Undone) -> Box | None:
    """Where a closer look goes: the spot and a little round it, or its strongest part; None where that is too large."""
    mm = 25.4 / pair.dpi
    reach = ROUND_MM + max(abs(side) for side in undone.shift_px) * mm
    if reach > LOOK_MM:
        return None
    x, y = pair.box_mm[0] + spot.strongest[1] * mm, pair.box_mm[3] - spot.strongest[0] * mm
    x0, y0, x1, y1 = spot.place.box_mm
    half = LOOK_MM / 2
    near = (max(x0, x - half), max(y0, y - half), min(x1, x + half), min(y1, y + half))
    return overlap((near[0] - reach, near[1] - reach, near[2] + reach, near[3] + reach), pair.box_mm)


def _closely(pair: PlatePair, spot: Spot, undone: Undone, seen: PlatePair) -> Place | None:
    """What a closer look shows of a spot; None where nothing is there."""
    scale, mm = seen.dpi / pair.dpi, 25.4 / seen.dpi
    again = Undone((undone.shift_px[0] * scale, undone.shift_px[1] * scale), undone.curve)
    left = leftover(seen.old, seen.new, seen.dpi, again if again.changes else NOTHING)
    left[~_near(seen, spot.place.box_mm, 25.4 / pair.dpi)] = 0
    inside = _at(pair.inside, spot.strongest)
    left[seen.inside != inside] = 0
    left[~((left >= STRONG) | (masks.opened(left, 2) >= SURE) | _sure(left, again))] = 0
    if not left.any():
        return None
    area = float(left.sum(dtype=np.int64)) / int(left.max()) * mm * mm
    if area < LEAST_CLOSE_MM2:
        return None
    box = box_of(seen, *masks.around(left > 0, 0))
    width = _width_px(seen.old, seen.new, left) * mm
    whole = spot.place
    if max(whole.box_mm[2] - whole.box_mm[0], whole.box_mm[3] - whole.box_mm[1]) > LOOK_MM:
        return Place(whole.box_mm, max(area, whole.area_mm2), width, whole.pixels)
    return Place(box, area, width, whole.pixels)


def _near(seen: PlatePair, box: Box, play_mm: float) -> masks.Mask:
    """Pixels of a closer look that lie in a box, or beside it."""
    mm, (x0, _, _, y1) = 25.4 / seen.dpi, seen.box_mm
    near = np.zeros(seen.new.shape, bool)
    rows = slice(max(0, int((y1 - box[3] - play_mm) / mm)), max(0, int(np.ceil((y1 - box[1] + play_mm) / mm))))
    columns = slice(max(0, int((box[0] - x0 - play_mm) / mm)), max(0, int(np.ceil((box[2] - x0 + play_mm) / mm))))
    near[rows, columns] = True
    return near


def _at(mask: masks.Mask, place: tuple[int, int]) -> bool:
    """Whether a mask is set at a row and column."""
    return bool(mask[place])

"""By how much all of a plate moved: where it may have moved to, from phase correlation, and how far exactly.

Phase correlation: C. D. Kuglin and D. C. Hines, 1975. It is asked at a coarser size for the whole plate and at full
size for the parts that differ most. Each answer, and no shift, is made exact by least squares on the slopes of both
plates (B. D. Lucas and T. Kanade, 1981), together with a change of tone, and the one that leaves least is taken: of
several that leave as little, as in a pattern that repeats, the least shift.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.comparing.pixels.leftovers import MADE_UP, PLAY_MM, roughness
from preflight.comparing.pixels.pixels import Levels, Numbers, around, means, moved, softened, spread
from preflight.measures.raster import masks

Px = tuple[float, float]
"""Down and to the right."""

COARSE_PX: Final = 1536
"""Longest side of the plates that are correlated as a whole."""
TILE_PX: Final = 96
MOST_TILES: Final = 72
PART_PX: Final = 512
MOST_PARTS: Final = 3
PEAKS: Final = 4
EDGE_LEVELS: Final = 24
"""A tile says something of a shift where its levels are this far apart."""
AS_GOOD: Final = 1.03
"""What leaves this much more than the best leaves as little."""
ROUNDS: Final = 10
EXACT_PX: Final = 0.003
FARTHEST_PX: Final = 8.0
MISFIT_PX: Final = 0.03
LEAST_COST: Final = 0.05
SOME: Final = 0.25
"""Of the tiles that differ a shift has to make up for half."""


def found(old: Levels, new: Levels, dpi: float, inside: NDArray[np.bool_]) -> Px | None:
    """The shift that may explain what differs; whether it does is for the caller to see.

    Args:
        old: a plate.
        new: a plate of the same shape.
        dpi: of both.
        inside: pixels that count.

    Returns: pixels down and to the right; None where there is nothing to go by, or no shift leaves less than none does.
    """
    places = telling(old, new, inside, MOST_TILES)
    if not places:
        return None
    tiles = [tile_of(old, new, rows, columns) for rows, columns in places]
    candidates: list[Px] = [(0.0, 0.0)]
    for start in _starts(old, new, places):
        if all(np.hypot(start[0] - one[0], start[1] - one[1]) > 1 for one in candidates):
            candidates.append(start)
    still = _costs(tiles, (0.0, 0.0))
    refined = [_exact(tiles, start) for start in _likely(tiles, candidates)]
    costs = [_costs(tiles, shift) for shift in refined]
    least = min(float(cost.sum()) for cost in costs)
    good = [(shift, cost) for shift, cost in zip(refined, costs, strict=True) if cost.sum() <= AS_GOOD * least + 1e-3]
    shift, cost = min(good, key=lambda one: np.hypot(*one[0]))
    differs = still > LEAST_COST
    if np.hypot(*shift) < PLAY_MM * dpi / 25.4 or (cost < still / 2)[differs].sum() < SOME * differs.sum():
        return None
    return shift


def exact(seen: Sequence[tuple[Levels, Levels]], start: Px) -> Px:
    """A shift made exact on some windows of both plates at a higher resolution.

    The samples of pictures are drawn at the nearest pixel, and at 150 dpi that may be 0.08 mm off.
    """
    tiles = []
    for old, new in seen:
        every = np.ones(new.shape, bool)
        tiles += [tile_of(old, new, rows, columns) for rows, columns in telling(old, new, every, MOST_TILES)]
    return _exact(tiles, start) if tiles else start


Place = tuple[slice, slice]


@dataclass(frozen=True)
class Tile:
    """A part of the plate that says something of a shift."""

    old: Levels
    """All of OLD."""
    rows: slice
    columns: slice
    new: Numbers
    """NEW, softened."""
    edges: Numbers
    """How high its edges are."""


Tiles = Sequence[Tile]


def telling(old: Levels, new: Levels, inside: NDArray[np.bool_], most_tiles: int) -> list[Place]:
    """Tiles with edges in them: half of them those that differ most, half of them spread over all."""
    most, least = masks.coarse(np.maximum(old, new), TILE_PX), 255 - masks.coarse(255 - np.minimum(old, new), TILE_PX)
    edged = (most.astype(int) - least >= EDGE_LEVELS) & masks.coarse(inside, TILE_PX)
    differs = masks.coarse(np.maximum(old, new) - np.minimum(old, new), TILE_PX).astype(int)
    row, column = np.nonzero(edged)
    order = np.argsort(-differs[row, column], kind="stable")
    if len(order) > most_tiles:
        rest = order[most_tiles // 2 :]
        even = np.linspace(0, len(rest) - 1, most_tiles // 2).astype(int)
        order = np.concatenate([order[: most_tiles // 2], np.sort(rest)[even]])
    return [
        (slice(top, min(top + TILE_PX, new.shape[0])), slice(left, min(left + TILE_PX, new.shape[1])))
        for top, left in zip((row[order] * TILE_PX).tolist(), (column[order] * TILE_PX).tolist(), strict=True)
    ]


def _starts(old: Levels, new: Levels, places: Sequence[Place]) -> Iterator[Px]:
    """Shifts that phase correlation finds, on the whole at a coarser size and in parts at full size."""
    side = max(1, -(-max(old.shape) // COARSE_PX))
    for peak in _peaks(means(old, side), means(new, side)):
        yield peak[0] * side, peak[1] * side
    if side == 1:
        return
    for rows, columns in places[:: max(1, len(places) // MOST_PARTS)][:MOST_PARTS]:
        middle = ((rows.start + rows.stop) // 2, (columns.start + columns.stop) // 2)
        down, right = (slice(at - PART_PX // 2, at + PART_PX // 2) for at in middle)
        yield from _peaks(around(old, down, right).astype(np.float32), around(new, down, right).astype(np.float32))


def _peaks(old: Numbers, new: Numbers) -> list[Px]:
    """The highest peaks of the phase correlation of two pictures, to a part of a pixel."""
    height, width = (_smooth_length(2 * length if length < 64 else length + length // 4) for length in old.shape)
    spectra = [
        np.fft.rfft2(part - part.mean(dtype=np.float64).astype(np.float32), (height, width)) for part in (old, new)
    ]
    cross = spectra[1] * np.conj(spectra[0])
    size = np.abs(cross)
    level = float(size.mean())
    if not level:
        return []
    surface = np.fft.irfft2(cross / np.sqrt(size * (size + level) + 1e-9 * level * level), (height, width))
    found: list[Px] = []
    for _ in range(PEAKS):
        down, right = np.unravel_index(int(surface.argmax()), surface.shape)
        beside = [surface[(down + step) % height, right] for step in (-1, 0, 1)]
        along = [surface[down, (right + step) % width] for step in (-1, 0, 1)]
        place = [(int(at) + size_ // 2) % size_ - size_ // 2 for at, size_ in ((down, height), (right, width))]
        sides = [
            [at + top, *([other + top] if abs(other := at - int(np.copysign(whole, at or 1))) < length else [])]
            for at, top, whole, length in zip(
                place, (_top(beside), _top(along)), (height, width), old.shape, strict=True
            )
        ]
        found += [(down_px, right_px) for down_px in sides[0] for right_px in sides[1]]
        rows, columns = (np.arange(at - 2, at + 3) % length for at, length in ((down, height), (right, width)))
        surface[rows[:, None], columns[None]] = -np.inf
    return found


def _top(three: Sequence[float]) -> float:
    """Where a parabola through three values in a row is highest, from the middle one."""
    before, at, after = (float(value) for value in three)
    bend = before - 2 * at + after
    return 0.0 if not np.isfinite(bend) or bend >= 0 else float(np.clip((before - after) / (2 * bend), -0.5, 0.5))


def _smooth_length(length: int) -> int:
    """The next length that is quickly transformed: factors 2, 3 and 5 only."""
    while True:
        rest = length
        for factor in (2, 3, 5):
            while rest % factor == 0:
                rest //= factor
        if rest == 1:
            return length
        length += 1


def _likely(tiles: Tiles, candidates: Sequence[Px]) -> list[Px]:
    """No shift, and the three others that leave least."""
    rest = sorted(candidates[1:], key=lambda start: float(_costs(tiles, start).sum()))
    return [candidates[0], *rest[:3]]


def _costs(tiles: Tiles, shift: Px) -> NDArray[np.float64]:
    """Levels that differ after a shift, softened, on average over each tile, by more than made-up pixels are off.

    Where nothing is known of OLD they are as many as without it.
    """
    off = np.float32(MADE_UP * roughness(shift))
    costs = []
    for tile in tiles:
        differs = np.abs(tile.new - moved(tile.old, shift, tile.rows, tile.columns))
        unknown = _unknown(tile.old.shape, shift, tile.rows, tile.columns)
        if unknown is not None:
            still = np.abs(tile.new - moved(tile.old, (0.0, 0.0), tile.rows, tile.columns))
            differs[unknown] = np.maximum(still, differs)[unknown]
        costs.append(float(np.maximum(differs - off * tile.edges - np.float32(0.5), 0).mean()))
    return np.array(costs)


def tile_of(old: Levels, new: Levels, rows: slice, columns: slice) -> Tile:
    """A tile of NEW."""
    soft = _soft(new, rows, columns)
    return Tile(old, rows, columns, soft, spread(soft))


def _soft(plate: Levels, rows: slice, columns: slice) -> Numbers:
    """A part of a plate, softened."""
    wide = (slice(side.start - 2, side.stop + 2) for side in (rows, columns))
    return softened(around(plate, *wide).astype(np.float32))


def _unknown(shape: tuple[int, ...], shift: Px, rows: slice, columns: slice) -> NDArray[np.bool_] | None:
    """Pixels for which a shift brings in what is off the plate; None for none."""
    own = []
    for length, by, side in zip(shape, shift, (rows, columns), strict=True):
        at = np.arange(side.start, side.stop) - by
        own.append((at < 1) | (at > length - 2) if abs(by) > 1 else np.zeros(len(at), bool))
    unknown: NDArray[np.bool_] = own[0][:, None] | own[1][None]
    return unknown if unknown.any() else None


def _exact(tiles: Tiles, start: Px) -> Px:
    """A shift made exact; tiles that do not fit it say less."""
    shift = np.array(start)
    for _ in range(ROUNDS):
        at = (float(shift[0]), float(shift[1]))
        step = _step(np.array([sums(tile, at) for tile in tiles]))
        shift = shift + step
        if np.hypot(*(shift - start)) > FARTHEST_PX:
            return start
        if np.hypot(*step) < EXACT_PX:
            break
    return float(shift[0]), float(shift[1])


def sums(tile: Tile, shift: Px) -> NDArray[np.float64]:
    """Products, summed up over a tile, of slopes, levels, 1 and what differs after a shift: (5, 5)."""
    ours, theirs = moved(tile.old, shift, tile.rows, tile.columns), tile.new
    middle = (ours + theirs) * np.float32(0.5)
    inner = (slice(1, -1), slice(1, -1))
    down, right = (middle[:-2, 1:-1] - middle[2:, 1:-1]) / 2, (middle[1:-1, :-2] - middle[1:-1, 2:]) / 2
    differs = (theirs - ours)[inner]
    unknown = _unknown(tile.old.shape, shift, tile.rows, tile.columns)
    terms = np.stack([down, right, ours[inner] / 255, np.ones_like(down), differs], axis=-1)
    kept = terms.reshape(-1, 5) if unknown is None else terms[~unknown[inner]]
    return np.asarray(kept.T @ kept, np.float64)


def _step(sums: NDArray[np.float64]) -> NDArray[np.float64]:
    """The shift (2,) that leaves least of (tiles, 5, 5) sums, beside any gain and offset of levels.

    Where all edges run one way, nothing is said along them, and the least shift is taken.
    """
    weights = np.ones(len(sums))
    step = np.zeros(2)
    for _ in range(4):
        step, whole = solved(np.tensordot(weights, sums, 1))
        left = np.maximum(np.einsum("i,tij,j->t", whole, sums, whole), 0)
        slope = np.maximum(np.trace(sums[:, :2, :2], axis1=1, axis2=2), 1e-9)
        misfit = left / slope  # of a tile, about the square of how far its edges are from where they should be
        weights = 1 / (1 + (misfit / (np.median(misfit) + MISFIT_PX**2)) ** 2)
    return np.clip(step, -1.5, 1.5)


def solved(table: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The shift (2,) that leaves least, and what all terms are weighed by then (5,)."""
    slopes, both = table[:2, :2], table[:2, 2:4]
    level = np.linalg.pinv(table[2:4, 2:4], rcond=1e-6)
    values, vectors = np.linalg.eigh(slopes - both @ level @ both.T)
    says = values > max(1e-3 * values[-1], 1e-9)
    along = vectors.T @ (table[:2, 4] - both @ level @ table[2:4, 4])
    step = vectors @ np.where(says, along / np.where(says, values, 1), 0)
    return step, np.concatenate([step, level @ (table[2:4, 4] - both.T @ step), [-1.0]])

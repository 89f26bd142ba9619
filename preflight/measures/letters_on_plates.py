"""Where the letters of live text are on the plates: the box of a text reaches from the font's descent to its ascent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.plates import Plates
from preflight.job import Job
from preflight.measures import object_places
from preflight.measures.distance_to_lines import Pieces
from preflight.measures.raster import masks
from preflight.measures.raster.close_looks import close_dpi, windows_on
from preflight.measures.raster.differences import MOST_PX, change

Floats = NDArray[np.float64]

ROUND_MM: Final = 0.35
"""The ground of a text is looked at so far outside its box."""
TELLS: Final = 0.1
"""A plate tells letters from their ground where its tints differ by this much; 1 is solid on bare board."""
GROUND: Final = (15, 85)
"""Percentiles of the tints round a text that its ground is taken to lie between: letters of the next line reach in."""
MOST_STRIPS: Final = 100
"""Windows along the die; a sheet of many blanks needs many, or they grow together to the whole of it."""
FAINT: Final = 0.15
"""On the plates of the page, letters thinner than a pixel show with this much of their tint."""


@dataclass(frozen=True)
class _Teller:
    """A plate on which a text shows, its tint there, and the tint of its ground that comes nearest to it; 0..1."""

    name: str
    text: float
    ground: float


def letters_near(
    job: Job, rows: object_places.Rows, lines: Pieces, look_mm: float, names: Sequence[str]
) -> list[Floats]:
    """For each text with letters within a distance of lines, printed or left open: points of them, (k, 2) in mm.

    The plates of the page tell which texts need a closer look; windows along the lines tell where their letters are.
    Where no plate tells a text from its ground, the plates are made once more without it.
    """
    boxes = job.page.objects.shown_mm[rows].astype(float)
    tellers = _tellers(job, rows, boxes, names)
    inks = np.array([_ink_box(job.plates, box, teller) for box, teller in zip(boxes, tellers, strict=True)]).reshape(
        -1, 4
    )
    close = lines.near(inks, look_mm + job.plates.mm_per_px)
    found = _looked_at(job, boxes, tellers, close, lines, look_mm)
    unclear = np.array([teller is None for teller in tellers], bool)
    changed = change(job, rows[close & unclear], "left out", names, 50 * TELLS)
    for box in boxes[close & unclear]:
        points = [window.points(_box(box)) for window in changed.windows]
        found += [np.vstack(points)] if points else []
    return [xy for xy in found if len(xy)]


def letters(job: Job, rows: object_places.Rows, names: Sequence[str]) -> list[Floats]:
    """For each text points of its letters on the plates of the page, (k, 2) in mm; none where they cannot be told."""
    boxes = job.page.objects.shown_mm[rows].astype(float)
    return [
        _points(job.plates, _box(box), teller, 0.5) if teller else np.zeros((0, 2))
        for box, teller in zip(boxes, _tellers(job, rows, boxes, names), strict=True)
    ]


def _tellers(job: Job, rows: object_places.Rows, boxes: Floats, names: Sequence[str]) -> list[_Teller | None]:
    """For each text the plate on which it differs most from all of its ground; None where none does."""
    objects = job.page.objects
    if not len(rows) or not names:
        return [None] * len(rows)
    rims = _rims(job.plates, boxes, names)  # (texts, places, plates)
    low, high = np.percentile(rims, GROUND, axis=1)
    numbers, used = np.unique(objects.colour[rows], return_inverse=True)
    colours = [objects.colours[number] for number in numbers.tolist()]
    own = np.array([[colour.tint(name) for name in names] for colour in colours])
    found: list[_Teller | None] = []
    for number, (row, at) in enumerate(zip(rows.tolist(), used.tolist(), strict=True)):
        colour, tints = colours[at], own[at]
        ground = np.where(np.abs(tints - high[number]) < np.abs(tints - low[number]), high[number], low[number])
        between = (tints > low[number]) & (tints < high[number])
        contrast = np.where(between | ((tints == 0) & objects.overprint[row]), 0.0, np.abs(tints - ground))
        best = int(contrast.argmax())
        clear = contrast[best] >= TELLS and not colour.varies and objects.alpha[row] >= 1
        found.append(_Teller(names[best], float(tints[best]), float(ground[best])) if clear else None)
    return found


def _rims(plates: Plates, boxes: Floats, names: Sequence[str]) -> Floats:
    """Tints 0..1 along the two longer sides of boxes, beyond which other words may follow: (boxes, places, plates)."""
    x0, y0, x1, y1 = boxes.T
    share = (np.arange(12) + 0.5) / 12
    along_x, along_y = x0[:, None] + (x1 - x0)[:, None] * share, y0[:, None] + (y1 - y0)[:, None] * share
    level = (x1 - x0 >= y1 - y0)[:, None]
    low = np.where(level[:, 0], y0, x0)[:, None] - ROUND_MM + np.zeros(12)
    high = np.where(level[:, 0], y1, x1)[:, None] + ROUND_MM + np.zeros(12)
    x = np.hstack([np.where(level, along_x, low), np.where(level, along_x, high)])
    y = np.hstack([np.where(level, low, along_y), np.where(level, high, along_y)])
    row, column = plates.pixels_at(np.column_stack([x.ravel(), y.ravel()]))
    height, width = plates.ink.shape[1:]
    row, column = np.clip(row, 0, height - 1), np.clip(column, 0, width - 1)
    tints = np.stack([plates.tint(name)[row, column] for name in names], axis=1) / 255
    return tints.reshape(len(boxes), -1, len(names))


def _ink_box(plates: Plates, box: Floats, teller: _Teller | None) -> Floats:
    """Bounding box of a text's letters on the plates; its own box where they cannot be told; nowhere if none shows."""
    if teller is None:
        return box
    xy = _points(plates, _box(box), teller, FAINT)
    half = plates.mm_per_px / 2
    return np.array([*xy.min(0) - half, *xy.max(0) + half]) if len(xy) else np.full(4, -1e6)


def _looked_at(
    job: Job, boxes: Floats, tellers: Sequence[_Teller | None], close: NDArray[np.bool_], lines: Pieces, look_mm: float
) -> list[Floats]:
    """Points of the letters of each text that is close and can be told from its ground, in windows along the lines."""
    texts = [(_box(box), teller) for box, teller, near in zip(boxes, tellers, close, strict=True) if near and teller]
    strips = [strip for box, _ in texts for strip in lines.strips(box, look_mm + ROUND_MM)]
    found: list[list[Floats]] = [[] for _ in texts]
    windows = windows_on(job, strips, MOST_STRIPS)
    dpi = close_dpi(windows, MOST_PX)
    x0, y0, x1, y1 = np.array([box for box, _ in texts], float).reshape(-1, 4).T
    for window in windows:
        plates = job.page.window(window, dpi) if dpi > job.plates.dpi else job.plates
        inside = plates.mask_of(job.inside_shape)
        meet = (x0 < window[2]) & (window[0] < x1) & (y0 < window[3]) & (window[1] < y1)
        for number in np.flatnonzero(meet).tolist():
            found[number].append(_points(plates, *texts[number], 0.5, inside))
    return [np.vstack(points) for points in found if points]


def _points(plates: Plates, box: Box, teller: _Teller, share: float, inside: masks.Mask | None = None) -> Floats:
    """Middles of the pixels in a box that are by a share as far from the ground's tint as the text's: (k, 2) in mm."""
    rows, columns = plates.slices(box)
    step = teller.text - teller.ground
    shows = (plates.tint(teller.name)[rows, columns] / 255 - teller.ground) / step >= share
    row, column = np.nonzero(shows if inside is None else shows & inside[rows, columns])
    return plates.middles(rows.start + row, columns.start + column)


def _box(box: Floats) -> Box:
    x0, y0, x1, y1 = map(float, box)
    return (x0, y0, x1, y1)

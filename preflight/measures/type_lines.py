"""Type that was turned into outlines, and bar codes, told from other shapes by how their boxes stand in a row.

Letters of a line share a colour and a base line, end at one of two or three heights, stand close, and differ from each
other. Rows of stars, stripes and leaves do not do all of that at once. Bars are long, as long as each other, of
several widths and at several distances.

Boxes are (n, 4) arrays of x0, y0, x1, y1 in mm. Lines run level or upright; others are not found.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.carton.lines import components

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

LEAST_LETTERS: Final = 4
LOWEST_MM, HIGHEST_MM = 0.7, 15.0
"""Capitals of 3 pt type, and of lettering so large that it is a picture."""
LEVEL: Final = 0.04
"""Letters of one level differ by less than this share of the line's height: round ones reach over it."""
SHORT_WORD: Final = 8
LEAST_BARS: Final = 15
SHORTEST_BAR_MM, LONGEST_BAR_MM, WIDEST_BAR_MM = 3.0, 80.0, 4.0
LEAST_CELLS: Final = 40
WIDEST_CODE_MM: Final = 60.0


@dataclass(frozen=True)
class Found:
    """Shapes that make up one line of type or one code."""

    what: str
    members: Ints


def lines_of_type(boxes: Floats, colour: Ints) -> list[Found]:
    """Lines of outlined type among shapes, level ones and upright ones."""
    found = []
    for turned in (boxes, boxes[:, [1, 0, 3, 2]]):
        height = turned[:, 3] - turned[:, 1]
        fits = np.flatnonzero((height >= 0.3 * LOWEST_MM) & (height <= HIGHEST_MM))
        for members in _in_rows(turned[fits], colour[fits], height[fits] * 0.9, tallest=2.6, level=0.5):
            if _reads_as_type(turned[fits[members]]):
                found.append(Found("outlined type", fits[members]))
    return found


def bar_codes(boxes: Floats, colour: Ints) -> list[Found]:
    """Bar codes among shapes whose boxes are bars, upright and lying ones."""
    found = []
    for turned in (boxes, boxes[:, [1, 0, 3, 2]]):
        width, length = (turned[:, 2:] - turned[:, :2]).T
        fits = np.flatnonzero(
            (length >= SHORTEST_BAR_MM) & (length <= LONGEST_BAR_MM) & (width <= np.minimum(WIDEST_BAR_MM, length / 3))
        )
        reach = np.full(len(fits), WIDEST_BAR_MM)
        for members in _in_rows(turned[fits], colour[fits], reach, tallest=1.35, level=0.8):
            if _reads_as_bars(turned[fits[members]]):
                found.append(Found("a bar code", fits[members]))
    return found


def matrix_code(boxes: Floats) -> bool:
    """Whether the shapes of one path are the cells of a two-dimensional code."""
    if len(boxes) < LEAST_CELLS:
        return False
    low, high = boxes[:, :2].min(0), boxes[:, 2:].max(0)
    wide, tall = high - low
    cell = float(np.median((boxes[:, 2:] - boxes[:, :2]).min(1)))
    if not 0.7 <= wide / max(tall, 1e-6) <= 1.4 or max(wide, tall) > WIDEST_CODE_MM or cell <= 0.1:
        return False
    steps = (boxes - np.tile(low, 2)) / cell
    return bool((np.abs(steps - np.rint(steps)).max(1) < 0.1).mean() > 0.9)


def without_holes(boxes: Floats) -> Ints:
    """Those of the shapes of one path that lie in no other: counters of letters are left out."""
    if len(boxes) < 2:
        return np.arange(len(boxes))
    shapes = shapely.box(*boxes.T)
    inner, outer = shapely.STRtree(shapes).query(shapes, predicate="covered_by")
    area = shapely.area(shapes)
    held = (inner != outer) & (area[inner] < area[outer])
    return np.setdiff1d(np.arange(len(boxes)), inner[held])


def _in_rows(boxes: Floats, colour: Ints, reach: Floats, *, tallest: float, level: float) -> Iterator[Ints]:
    """Shapes of a colour that stand side by side, each within its reach of the next.

    Neighbours are at most ``tallest`` times as high as each other, and share ``level`` of the lower one's height.
    """
    if len(boxes) < LEAST_LETTERS:
        return
    x0, y0, x1, y1 = boxes.T
    left, right = shapely.STRtree(shapely.box(x0, y0, x1, y1)).query(shapely.box(x0, y0, x1 + reach, y1))
    height = y1 - y0
    shared = np.minimum(y1[left], y1[right]) - np.maximum(y0[left], y0[right])
    low, high = np.minimum(height[left], height[right]), np.maximum(height[left], height[right])
    beside = (left != right) & (colour[left] == colour[right]) & (x0[right] >= x0[left])
    beside &= (high <= tallest * low) & (shared >= level * low)
    group = components(len(boxes), left[beside], right[beside])
    order = np.argsort(group, kind="stable")
    for members in np.split(order, np.flatnonzero(np.diff(group[order])) + 1):
        if len(members) >= LEAST_LETTERS:
            yield members


def _reads_as_type(boxes: Floats) -> bool:
    x0, y0, x1, y1 = boxes.T
    tall = float((y1 - y0).max())
    main = (y1 - y0) >= 0.45 * tall
    x0, y0, x1, y1 = boxes[main][np.argsort(boxes[main, 0])].T
    if len(x0) < LEAST_LETTERS or not LOWEST_MM <= tall <= HIGHEST_MM:
        return False
    width, height = x1 - x0, y1 - y0
    gaps = x0[1:] - np.maximum.accumulate(x1)[:-1]
    beside = float(np.median(gaps)) <= 0.5 * tall and (gaps < -0.3 * np.minimum(width[1:], width[:-1])).mean() <= 0.1
    narrow = (width > 1.6 * tall).mean() <= 0.2
    shapes = {(round(w / tall / LEVEL), round(h / tall / LEVEL)) for w, h in zip(width, height, strict=True)}
    return bool(beside and narrow and len(shapes) >= 3 and _on_lines(y0, y1, tall))


def _on_lines(low: Floats, high: Floats, tall: float) -> bool:
    """Most letters stand on one line, and end at one of two; in a short word nearly all of them."""
    within = LEVEL * tall
    base = float(_on_level(low, within).mean())
    once = _on_level(high, within)
    again = 0 if once.all() else int(_on_level(high[~once], within).sum())
    short = len(low) < SHORT_WORD
    return base >= (0.75 if short else 0.6) and (once.sum() + again) / len(high) >= (0.9 if short else 0.75)


def _on_level(values: Floats, within: float) -> NDArray[np.bool_]:
    """Those of the values that lie within a distance of the one with most others near it."""
    order = np.sort(values)
    many = np.searchsorted(order, order + within, side="right") - np.searchsorted(order, order - within, side="left")
    near: NDArray[np.bool_] = np.abs(values - order[int(many.argmax())]) <= within
    return near


def _reads_as_bars(boxes: Floats) -> bool:
    if len(boxes) < LEAST_BARS:
        return False
    order = np.argsort(boxes[:, 0])
    x0, x1 = boxes[order, 0], boxes[order, 2]
    spread = [np.percentile(steps, (10, 90)) for steps in (x1 - x0, x0[1:] - x1[:-1])]
    return all(thick >= 1.4 * thin > 0 for thin, thick in spread)

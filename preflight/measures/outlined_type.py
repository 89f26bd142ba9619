"""Type that was turned into outlines, and codes, told from other shapes by how their boxes stand in a row.

Letters of a line share a colour and a base line, end at one of two or three heights, stand close, and differ from each
other. Rows of stars, stripes and leaves do not do all of that at once. Bars are long, as long as each other, of
several widths and at several distances.

Boxes are (n, 4) arrays of x0, y0, x1, y1 in mm. Lines run level or upright, whichever way up; others are not found.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.carton.lines.drawn_lines import components
from preflight.measures.raster.profiles import runs

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

LEAST_LETTERS: Final = 4
LOWEST_MM, HIGHEST_MM = 0.7, 15.0
"""Capitals of 3 pt type, and of lettering so large that it is a picture."""
LEVEL: Final = 0.04
"""Letters of one level differ by less than this share of the line's height: round ones reach over it."""
SHORT_WORD: Final = 8
SCALES: Final = (1.25, 2.5, 5.0, 10.0, 20.0)
"""Heights of lines in mm: each scale is for lines from half of it to the whole."""
TURNS: Final = (
    ([0, 1, 2, 3], (1, 1, 1, 1)),
    ([2, 3, 0, 1], (-1, -1, -1, -1)),
    ([1, 2, 3, 0], (1, -1, 1, -1)),
    ([3, 0, 1, 2], (-1, 1, -1, 1)),
)
"""The page as displayed, turned by half and by a quarter both ways: which side of a box comes where, and its sign."""
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
    """Lines of outlined type among shapes."""
    if len(boxes) < LEAST_LETTERS:
        return []
    found, taken = list[Found](), np.zeros(len(boxes), bool)
    tree: shapely.STRtree | None = None
    for order, signs in TURNS:
        turned = boxes[:, order] * signs
        for run in _runs(turned, colour):
            if taken[run].mean() > 0.5:
                continue
            tree = tree or shapely.STRtree(shapely.box(*boxes.T))
            wanted = np.zeros(4)
            wanted[order] = _beside(turned[run]) * signs
            line = _whole_line(turned, colour, run, tree.query(shapely.box(*wanted)))
            if _reads_as_type(turned[line]):
                found.append(Found("outlined type", line))
                taken[line] = True
    return found


def _runs(boxes: Floats, colour: Ints) -> Iterator[Ints]:
    """Shapes of a colour that stand on one line side by side: sorted by line, neighbours are next to each other."""
    height = boxes[:, 3] - boxes[:, 1]
    for scale in SCALES:
        fits = np.flatnonzero((height > 0.25 * scale) & (height <= scale))
        if len(fits) < 3:
            continue
        for shift in (0.0, 0.5):
            row = np.floor(boxes[fits, 1] / (2 * LEVEL * scale) + shift)
            order = fits[np.lexsort((boxes[fits, 0], row, colour[fits]))]
            level = np.floor(boxes[order, 1] / (2 * LEVEL * scale) + shift)
            gap = boxes[order[1:], 0] - boxes[order[:-1], 2]
            tall = np.maximum(height[order[1:]], height[order[:-1]])
            linked = (level[1:] == level[:-1]) & (colour[order[1:]] == colour[order[:-1]])
            linked &= (gap <= 1.6 * tall) & (gap >= -0.3 * tall) & (tall > 0.4 * scale)
            for begin, end in runs(linked):
                if end - begin + 1 >= 3:
                    yield order[begin : end + 1]


def _beside(run: Floats) -> Floats:
    """Where what belongs to a run may stand: between its letters and a little to both sides."""
    low, tall = float(np.median(run[:, 1])), float((run[:, 3] - run[:, 1]).max())
    x0, x1 = float(run[:, 0].min()) - 0.5 * tall, float(run[:, 2].max()) + 0.5 * tall
    return np.array([x0, low + 0.1 * tall, x1, low + 0.9 * tall])


def _whole_line(boxes: Floats, colour: Ints, run: Ints, near: Ints) -> Ints:
    """A run with what stands between and beside its letters: descenders, dots, letters of the words next to it."""
    low, tall = float(np.median(boxes[run, 1])), float((boxes[run, 3] - boxes[run, 1]).max())
    alike = (colour[near] == colour[run[0]]) & (boxes[near, 3] - boxes[near, 1] <= 1.6 * tall)
    alike &= (boxes[near, 1] >= low - 0.5 * tall) & (boxes[near, 3] <= low + 1.6 * tall)
    line: Ints = np.sort(near[alike])
    return line


def bar_codes(boxes: Floats, colour: Ints) -> list[Found]:
    """Bar codes among shapes whose boxes are bars, upright and lying ones."""
    found = []
    for turned in (boxes, boxes[:, [1, 0, 3, 2]]):
        width, length = (turned[:, 2:] - turned[:, :2]).T
        fits = np.flatnonzero(
            (length >= SHORTEST_BAR_MM) & (length <= LONGEST_BAR_MM) & (width <= np.minimum(WIDEST_BAR_MM, length / 3))
        )
        for members in _side_by_side(turned[fits], colour[fits]):
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


def _side_by_side(boxes: Floats, colour: Ints) -> Iterator[Ints]:
    """Bars of a colour that stand next to each other and are about as long as each other."""
    if len(boxes) < LEAST_BARS:
        return
    x0, y0, x1, y1 = boxes.T
    left, right = shapely.STRtree(shapely.box(x0, y0, x1, y1)).query(shapely.box(x0, y0, x1 + WIDEST_BAR_MM, y1))
    length = y1 - y0
    shared = np.minimum(y1[left], y1[right]) - np.maximum(y0[left], y0[right])
    low, high = np.minimum(length[left], length[right]), np.maximum(length[left], length[right])
    beside = (left != right) & (colour[left] == colour[right]) & (x0[right] >= x0[left])
    beside &= (high <= 1.35 * low) & (shared >= 0.8 * low)
    group = components(len(boxes), left[beside], right[beside])
    order = np.argsort(group, kind="stable")
    for members in np.split(order, np.flatnonzero(np.diff(group[order])) + 1):
        if len(members) >= LEAST_BARS:
            yield members


def _reads_as_type(boxes: Floats) -> bool:
    if len(boxes) < LEAST_LETTERS:
        return False
    tall = float((boxes[:, 3] - boxes[:, 1]).max())
    main = boxes[boxes[:, 3] - boxes[:, 1] >= 0.45 * tall]
    x0, y0, x1, y1 = main[np.argsort(main[:, 0])].T
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
    order = np.argsort(boxes[:, 0])
    x0, x1 = boxes[order, 0], boxes[order, 2]
    spread = [np.percentile(steps, (10, 90)) for steps in (x1 - x0, x0[1:] - x1[:-1])]
    return all(thick >= 1.4 * thin > 0 for thin, thick in spread)

"""What stands in a die ink beside the die and can be told by its own shape: dimension lines, lettering."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from preflight.carton.lines.drawn_lines import Bools, DieLine, Floats, Ints, Shapes, components, pairs_near

LONGEST_ARROW_MM: Final = 6.0
ARROW_TOUCHES_MM: Final = 0.3
LARGEST_LETTER_MM: Final = 8.0
LINE_TOUCHES_MM: Final = 0.3
MOST_PAIRS: Final = 2_000_000


@dataclass(frozen=True)
class DimensionsAndLettering:
    """Masks over the lines they were found in."""

    dimension: Bools
    """Lines with an arrow head at an end."""
    arrows: Bools
    lettering: Bools
    """Strokes and fills of words that were turned into outlines or written with a plotter's pen."""
    words: int
    """How many words that is."""

    @property
    def any(self) -> Bools:
        """Everything that is no die."""
        mask: Bools = self.dimension | self.arrows | self.lettering
        return mask


def dimensions_and_lettering(lines: Sequence[DieLine]) -> DimensionsAndLettering:
    """Looks for arrow heads on the ends of straight lines, and for lettering."""
    boxes = np.array([[*line.points.min(0), *line.points.max(0)] for line in lines]).reshape(-1, 4)
    sizes = (boxes[:, 2:] - boxes[:, :2]).max(1) if len(boxes) else np.zeros(0)
    small = sizes <= LARGEST_LETTER_MM
    if not small.any():
        none = np.zeros(len(lines), bool)
        return DimensionsAndLettering(none, none, none, 0)
    shapes = np.array([shapely.LineString(line.points) for line in lines], object)
    dimension, arrows = _dimension_lines(lines, sizes, shapes)
    lettering, words = _lettering(lines, small & ~dimension & ~arrows, boxes, shapes)
    return DimensionsAndLettering(dimension, arrows, lettering, words)


def _dimension_lines(lines: Sequence[DieLine], sizes: Floats, shapes: Shapes) -> tuple[Bools, Bools]:
    heads = [n for n, line in enumerate(lines) if sizes[n] <= LONGEST_ARROW_MM and is_arrow(line)]
    dimension, arrows = np.zeros(len(lines), bool), np.zeros(len(lines), bool)
    arrows[[n for n in heads if lines[n].filled]] = True
    if not len(heads):
        return dimension, arrows
    taken = set(heads)
    straight = [n for n, line in enumerate(lines) if not line.filled and n not in taken and line.straight]
    ends = np.array([lines[i].points[[0, -1]] for i in straight]).reshape(-1, 2)
    tree = shapely.STRtree([shapely.Polygon(p) if len(p := lines[i].points) > 3 else shapes[i] for i in heads])
    end, head = tree.query(shapely.points(ends), predicate="dwithin", distance=ARROW_TOUCHES_MM)
    points_along = np.array(
        [_points_along(lines[straight[e // 2]], lines[heads[h]]) for e, h in zip(end, head, strict=True)], bool
    )
    if len(end):
        dimension[np.array(straight)[end[points_along] // 2]] = True
        arrows[np.array(heads)[head[points_along]]] = True
    return dimension, arrows


def is_arrow(line: DieLine) -> bool:
    """A small filled triangle or dart, or a small open stroke with one sharp corner and two like sides."""
    if np.ptp(line.points, axis=0).max() > LONGEST_ARROW_MM:
        return False
    points = line.points[:-1] if line.closed else line.points
    if line.filled:
        return len(points) == 3 or (
            len(points) == 4 and bool(shapely.area(shapely.Polygon(points)) < 0.5 * _hull(points))
        )
    if len(points) != 3 or line.closed:
        return False
    one, other = points[0] - points[1], points[2] - points[1]
    long, short = sorted((float(np.hypot(*one)), float(np.hypot(*other))))[::-1]
    return short > 0.8 * long and float(one @ other) > 0.5 * short * long


def _hull(points: Floats) -> float:
    return float(shapely.area(shapely.box(*points.min(0), *points.max(0))))


def _points_along(line: DieLine, head: DieLine) -> bool:
    """The head is that line's arrow and no die line that happens to touch.

    It is symmetric about the line, and the barbs of an open one lean back over it; those of a notch lean away.
    """
    step = line.points[-1] - line.points[0]
    length = max(float(np.hypot(*step)), 1e-9)
    from_start = head.points - line.points[0]
    across = from_start @ np.array([-step[1], step[0]]) / length
    along = from_start @ step / length
    if abs(float(across.max() + across.min())) > 0.25 * max(float(across.max() - across.min()), 0.2):
        return False
    return head.filled or bool(along.min() >= -ARROW_TOUCHES_MM and along.max() <= length + ARROW_TOUCHES_MM)


def _lettering(lines: Sequence[DieLine], small: Bools, boxes: Floats, shapes: Shapes) -> tuple[Bools, int]:
    """Small things that touch nothing large, at least three together and not all alike (a row of holes is)."""
    lettering = np.zeros(len(lines), bool)
    chosen = np.flatnonzero(small)
    if len(chosen) < 3 or pairs_near(shapes[chosen], shapes, LARGEST_LETTER_MM) > MOST_PAIRS:
        return lettering, 0
    a, b = shapely.STRtree(shapes).query(shapes[chosen], predicate="dwithin", distance=LINE_TOUCHES_MM)
    label = components(len(lines), chosen[a], b.astype(np.intp))
    count = int(label.max()) + 1
    box = np.column_stack(
        [_reduce(np.minimum, boxes[:, k], label, count, np.inf) for k in (0, 1)]
        + [_reduce(np.maximum, boxes[:, k], label, count, -np.inf) for k in (2, 3)]
    )
    size = (box[:, 2:] - box[:, :2]).max(1)
    held = np.bincount(label, weights=small.astype(float), minlength=count) == np.bincount(label, minlength=count)
    glyphs = np.flatnonzero(held & (size <= LARGEST_LETTER_MM) & (size > 0.3))
    word = _words(box[glyphs], size[glyphs])
    words = 0
    for number in np.unique(word):
        members = glyphs[word == number]
        if len(members) >= 3 and np.ptp(box[members, 2:] - box[members, :2], axis=0).max() > 0.2:
            lettering |= np.isin(label, members)
            words += 1
    return lettering, words


def _reduce(what: np.ufunc, values: Floats, label: Ints, count: int, start: float) -> Floats:
    out = np.full(count, start)
    what.at(out, label, values)
    return out


def _words(box: Floats, size: Floats) -> Ints:
    """Labels of glyphs that stand within two thirds of a letter's height of each other."""
    if not len(box):
        return np.zeros(0, np.intp)
    shapes = shapely.box(*box.T)
    reach = shapely.box(*(box + (size * 0.67)[:, None] * np.array([-1, -1, 1, 1])).T)
    a, b = shapely.STRtree(shapes).query(reach, predicate="intersects")
    return components(len(box), a.astype(np.intp), b.astype(np.intp))

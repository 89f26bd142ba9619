"""The die as SVG paths, drawn over the picture of a page; y runs down from the top of the page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from shapely.geometry.base import BaseGeometry

from preflight.carton.die import Die
from preflight.carton.places_in_words import blank_labels

LONGEST_PATH: Final = 150_000
"""Characters; a longer path is drawn more coarsely."""
COARSER_MM: Final = (0.02, 0.1, 0.3, 1.0)


@dataclass(frozen=True)
class AreaDrawing:
    """An area of the carton with its label."""

    kind: str
    path: str
    at: tuple[float, float]
    """Where its label stands: the middle of an upright area, else the upper-left corner."""
    upright: bool
    """Taller than wide: its label is turned."""


@dataclass(frozen=True)
class DieDrawing:
    """SVG path data in mm; each empty where there is nothing of the kind."""

    cut: str = ""
    crease: str = ""
    left_out: str = ""
    inside: str = ""
    """The insides of all blanks as one even-odd path."""
    areas: tuple[AreaDrawing, ...] = ()
    labels: tuple[tuple[str, float, float], ...] = ()
    """Letters of panels, or numbers of blanks, with their places."""


def draw_die(die: Die, page_height_mm: float, label_mm: float) -> DieDrawing:
    """The paths of a die on a page of this height, with labels that need ``label_mm`` round their middle."""
    outlines = [blank.outline for blank in die.blanks]
    cut = die.cut_lines if die.cut_lines is not None else outlines
    creases = die.crease_lines if die.crease_lines is not None else [blank.creases for blank in die.blanks]
    areas = []
    for area in (area for blank in die.blanks for area in blank.areas):
        x0, y0, x1, y1 = area.shape.bounds
        upright = y1 - y0 > x1 - x0
        at = ((x0 + x1) / 2 if upright else x0, page_height_mm - ((y0 + y1) / 2 if upright else y1))
        areas.append(AreaDrawing(area.kind, _path([area.shape], page_height_mm), at, upright))
    return DieDrawing(
        cut=_path(cut, page_height_mm),
        crease=_path(creases, page_height_mm),
        left_out=_path(die.left_out, page_height_mm),
        inside=_path(outlines, page_height_mm),
        areas=tuple(areas),
        labels=tuple((word, x, page_height_mm - y) for word, x, y in blank_labels(die, label_mm)),
    )


def _path(shapes: BaseGeometry | Iterable[BaseGeometry] | None, height_mm: float) -> str:
    if shapes is None:
        return ""
    several = [shapes] if isinstance(shapes, BaseGeometry) else list(shapes)
    text = ""
    for step_mm in COARSER_MM:
        text = "".join(_lines(part, height_mm, step_mm) for part in several)
        if len(text) <= LONGEST_PATH:
            return text
    return text


def _lines(shape: BaseGeometry, height_mm: float, step_mm: float) -> str:
    if hasattr(shape, "geoms"):
        return "".join(_lines(part, height_mm, step_mm) for part in shape.geoms)
    if shape.is_empty or shape.geom_type == "Point":
        return ""
    shape = shape.simplify(step_mm)
    if shape.geom_type == "Polygon":
        return "".join(_line(ring, height_mm) + "Z" for ring in [shape.exterior, *shape.interiors])
    return _line(shape, height_mm)


def _line(line: BaseGeometry, height_mm: float) -> str:
    points = np.asarray(line.coords)[:, :2]
    return "M" + "L".join(f"{x:.2f} {height_mm - y:.2f}" for x, y in points)

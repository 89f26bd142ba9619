"""Places in words: which panel or blank, and how far from the lower-left corner of the page."""

from __future__ import annotations

from string import ascii_uppercase
from typing import TYPE_CHECKING

from shapely import Point

if TYPE_CHECKING:
    from shapely import Polygon

    from preflight.artwork.objects import Box
    from preflight.carton.die import Die


def blank_labels(die: Die) -> list[tuple[str, float, float]]:
    """Panel letters of a single blank, else blank numbers, each with its place in mm, to write on the picture."""
    if len(die.blanks) == 1:
        return [(letter, *_middle(panel)) for letter, panel in lettered_panels(die)]
    return [(f"blank {blank.number}", *_middle(blank.outline)) for blank in die.blanks]


def lettered_panels(die: Die) -> list[tuple[str, Polygon]]:
    """Panels of a single blank in reading order (rows from the top, each from the left), with their letters.

    A glue flap is called by its name and has none.
    """
    if len(die.blanks) != 1:
        return []
    named = [area.shape for area in die.blanks[0].areas if area.kind == "glue flap"]
    panels = [p for p in die.blanks[0].panels if not any(a.intersection(p).area > p.area / 2 for a in named)]
    panels.sort(key=lambda p: -p.bounds[3])
    rows: list[list[Polygon]] = []
    for panel in panels:
        middle = (panel.bounds[1] + panel.bounds[3]) / 2
        if rows and middle > rows[-1][0].bounds[1]:
            rows[-1].append(panel)
        else:
            rows.append([panel])
    ordered = [panel for row in rows for panel in sorted(row, key=lambda p: p.bounds[0])]
    return [(_letter(k), panel) for k, panel in enumerate(ordered)]


def words_for(box_mm: Box, die: Die) -> str:
    """``glue flap``, ``panel C``, ``blank 3``, ``outside the cut``; empty where there is no die to say it by."""
    if not die.blanks:
        return ""
    middle = Point((box_mm[0] + box_mm[2]) / 2, (box_mm[1] + box_mm[3]) / 2)
    of_blank = "" if len(die.blanks) == 1 else " of blank {}"
    for blank in die.blanks:
        for area in blank.areas:
            if area.shape.covers(middle):
                return area.kind + of_blank.format(blank.number)
    for letter, panel in lettered_panels(die):
        if panel.covers(middle):
            return f"panel {letter}"
    for blank in die.blanks:
        if blank.outline.covers(middle):
            return "" if len(die.blanks) == 1 else f"blank {blank.number}"
    return "outside the cut"


def _letter(index: int) -> str:
    """A to Z, then AA, AB and on."""
    first, last = divmod(index, len(ascii_uppercase))
    return (ascii_uppercase[first - 1] if first else "") + ascii_uppercase[last]


def _middle(shape: Polygon) -> tuple[float, float]:
    centre = shape.centroid
    if not shape.covers(centre):
        centre = shape.representative_point()
    return float(centre.x), float(centre.y)

"""Places in words: which panel or blank, and how far from the lower-left corner of the page."""

from __future__ import annotations

from collections.abc import Sequence
from string import ascii_uppercase
from typing import Final

from shapely import Polygon, box

from preflight.artwork.page.geometry import Box
from preflight.carton.die import Die

OUTSIDE: Final = "outside the cut"
SORTS_OF_AREA: Final = ("code", "imprint", "free", "glue")
"""Ends of the names of areas that want the word *area* after them."""
LEAST_MM: Final = 0.02
SOME_OF_IT: Final = 0.1
MOST_OF_IT: Final = 0.6
"""Parts of a place's area that make it a place on a panel, and on that panel alone."""


def blank_labels(die: Die, room_mm: float) -> list[tuple[str, float, float]]:
    """Panel letters of a single blank, else blank numbers, each with its place in mm, to write on the picture.

    They stand in the upper right corner, ``room_mm`` from the edges: artwork is seldom there, and the findings' own
    numbers stand in upper left corners.
    """
    if len(die.blanks) == 1:
        return [(letter, *_corner(panel, room_mm)) for letter, panel in lettered_panels(die)]
    return [(f"blank {blank.number}", *_corner(blank.outline, room_mm)) for blank in die.blanks]


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
    """``glue flap``, ``panel C``, ``blanks 3 and 4``, ``outside the cut``; empty where there is no die to say it by."""
    if not die.blanks:
        return ""
    half = LEAST_MM / 2  # a place without width or height still has to lie on something
    place = box(box_mm[0] - half, box_mm[1] - half, box_mm[2] + half, box_mm[3] + half)
    for blank in die.blanks:
        for area in blank.areas:
            if area.shape.intersection(place).area > MOST_OF_IT * place.area:
                return area.kind if len(die.blanks) == 1 else f"{area.kind} of blank {blank.number}"
    if len(die.blanks) > 1:
        return _named("blank", [(str(blank.number), blank.outline) for blank in die.blanks], place)
    panels = _named("panel", lettered_panels(die), place)
    inside = die.blanks[0].outline.intersection(place).area > SOME_OF_IT * place.area
    return "" if panels == OUTSIDE and inside else panels


def place_words(box_mm: Sequence[float], where: str) -> str:
    """``on panel C, 48 mm from the left, 120.5 mm up``: on the page, to the lower-left corner of the place.

    Args:
        box_mm: the place.
        where: panel, blank or edge in words, as of ``words_for``; may be empty.
    """
    told = f"{_tenth(box_mm[0])} mm from the left, {_tenth(box_mm[1])} mm up"
    return f"{_with_preposition(where)}, {told}" if where else told


def _with_preposition(where: str) -> str:
    """``on panel C``, ``on the glue flap``, ``on the code area of blank 2``, ``at the top edge``."""
    if where == OUTSIDE:
        return where
    if where.split(" ")[0] in ("panel", "panels", "blank", "blanks", "several"):
        return f"on {where}"
    return f"at the {where}" if "edge" in where else f"on the {area_words(where)}"


def area_words(where: str) -> str:
    """``glue flap``, ``code area``, ``code area of blank 2``, of the kind of an area or of its kind and blank."""
    kind, of, blank = where.partition(" of blank ")
    return f"{kind}{' area' * kind.endswith(SORTS_OF_AREA)}{of}{blank}"


def _tenth(value: float) -> str:
    return f"{round(value, 1) + 0.0:.1f}".removesuffix(".0")


def _named(noun: str, parts: list[tuple[str, Polygon]], place: Polygon) -> str:
    """The part that holds most of the place; up to three that hold some of it; ``several`` where there are more."""
    shares = [(part.intersection(place).area / place.area, name) for name, part in parts]
    held = [(share, name) for share, name in shares if share > SOME_OF_IT]
    if not held:
        return OUTSIDE
    if len(held) == 1 or max(held)[0] > MOST_OF_IT:
        return f"{noun} {max(held)[1]}"
    if len(held) > 3:
        return f"several {noun}s"
    *first, last = [name for _, name in held]
    return f"{noun}s {', '.join(first)} and {last}"


def _letter(index: int) -> str:
    """A to Z, then AA, AB and on."""
    first, last = divmod(index, len(ascii_uppercase))
    return (ascii_uppercase[first - 1] if first else "") + ascii_uppercase[last]


def _corner(shape: Polygon, room_mm: float) -> tuple[float, float]:
    """The point furthest to the upper right with this much room round it, or half of it; else one in the middle."""
    for room in (room_mm, room_mm / 2):
        inner = shape.buffer(-room, join_style="mitre")
        if not inner.is_empty:
            parts = inner.geoms if hasattr(inner, "geoms") else [inner]
            x, y = max((c for part in parts for c in part.exterior.coords), key=lambda c: c[0] + c[1])
            return float(x), float(y)
    middle = shape.representative_point()
    return float(middle.x), float(middle.y)

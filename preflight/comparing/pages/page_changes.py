"""What changed of pages, boxes and turn, and is no change of a plate: in sentences."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box, box_through, inverse
from preflight.artwork.page.page import Page
from preflight.carton.die import Die
from preflight.comparing.pages.frames import page_shift, turned_by_rotate
from preflight.comparing.pages.object_places import art_boxes, scale_of
from preflight.comparing.pages.shared_frame import SharedFrame
from preflight.findings import with_and
from preflight.quantities import shown

SAME_BOX_MM: Final = 0.01
"""Boxes that differ by no more are the same (needs I18)."""
SAME_PT: Final = 0.01
SAME_PLACE_MM: Final = 0.05
SAME_CUT: Final = 0.001
"""Of the area inside the cut."""
BOXES: Final = {"TrimBox": "trim", "BleedBox": "bleed", "CropBox": "crop"}
TURNED: Final = {1: "90° counter-clockwise", 2: "180°", 3: "90° clockwise"}
TOGETHER: Final = {"die": "together with its die ", "trim box": "together with its TrimBox ", "content": ""}

SAME_LINE_MM: Final = 0.1
"""Die lines that lie nearer to each other are the same."""


def page_changes(old: Page, new: Page, frame: SharedFrame, dies: tuple[Die, Die], *, alone: bool) -> Iterator[str]:
    """Sentences on one pair of pages.

    Args:
        old: a page.
        new: the page that it is compared with.
        frame: how OLD lies on NEW.
        dies: of both pages.
        alone: the files have one page each, so that it needs no number.
    """
    page = "The page" if alone else f"Page {new.number}"
    of_page = "" if alone else f" of page {new.number}"
    yield from _dies(frame, dies, of_page)
    if frame.turns:
        yield f"{page} is turned by {TURNED[frame.turns]}."
    elif turned_by_rotate(old, new):
        yield f"The Rotate key{of_page} is {new.rotate} instead of {old.rotate}, and the page looks as before."
    yield from _size(page, old, new, frame)
    scale = scale_of(art_boxes(old), art_boxes(new), frame.turns)
    if scale is not None:
        yield f"The art{of_page} is scaled to {100 * scale:.1f} % of its old size."
    else:
        yield from _place(of_page, old, frame)
    for key, name in BOXES.items():
        boxes = (getattr(old.boxes, name), getattr(new.boxes, name))
        yield from _box(f"The {key}{of_page}", *boxes, frame)


def in_words(shift_mm: tuple[float, float], least_mm: float = 0.005) -> str:
    """``0.10 mm to the right and 2.0 mm up``; empty for none."""
    ways = (("to the right", "to the left"), ("up", "down"))
    return with_and(
        f"{abs(by):.{2 if abs(by) < 0.995 else 1}f} mm {way[by < 0]}"
        for by, way in zip(shift_mm, ways, strict=True)
        if abs(by) >= least_mm
    )


def _dies(frame: SharedFrame, dies: tuple[Die, Die], of_page: str) -> Iterator[str]:
    old, new = (bool(die.blanks) for die in dies)
    if old and new and frame.by != "die" and not _one_cut(frame, dies):
        yield f"The cut{of_page} is another one, so the art is compared by {_laid_by(frame)}."
    elif old != new:
        yield f"The {'old' if old else 'new'} file shows a die{of_page}, and the other one none."
    elif old and new:
        yield from _lines(frame, dies, of_page)


def _lines(frame: SharedFrame, dies: tuple[Die, Die], of_page: str) -> Iterator[str]:
    """Cut and crease lines that are not where they were: no plate, but the cutting form is made of them."""
    for called, kind in (("cut", "cut_lines"), ("crease", "crease_lines")):
        before, now = (getattr(die, kind) for die in dies)
        if before is None or now is None or before.is_empty or now.is_empty:
            if (before is None or before.is_empty) != (now is None or now.is_empty):
                yield f"The die{of_page} has {called} lines in one of the files only."
            continue
        apart = _apart(frame.moved(before), now)
        if apart > SAME_LINE_MM:
            yield (
                f"The {called} lines of the die{of_page} are not all where they were: up to {apart:.1f} mm apart. "
                "The cutting form may be another one."
            )


def _apart(one: BaseGeometry, other: BaseGeometry) -> float:
    """How far a corner of either lies from the other's lines, at most (their discrete Hausdorff distance), mm.

    Looked up in a tree: a sheet of dies has a hundred thousand corners, and each with each takes minutes.
    """
    return max(
        float(
            shapely.STRtree(_segments(lines))
            .query_nearest(shapely.points(shapely.get_coordinates(corners)), all_matches=False, return_distance=True)[1]
            .max()
        )
        for corners, lines in ((one, other), (other, one))
    )


def _segments(lines: BaseGeometry) -> NDArray[np.object_]:
    xy, part = shapely.get_coordinates(shapely.get_parts(lines), return_index=True)
    same = part[1:] == part[:-1]
    segments: NDArray[np.object_] = shapely.linestrings(np.stack([xy[:-1][same], xy[1:][same]], 1))
    return segments


def _one_cut(frame: SharedFrame, dies: tuple[Die, Die]) -> bool:
    """Whether the cuts lie on each other, also where something else laid the pages so."""
    return bool(frame.moved(dies[0].inside).symmetric_difference(dies[1].inside).area < SAME_CUT * dies[1].inside.area)


def _laid_by(frame: SharedFrame) -> str:
    return {"content": "what is printed", "page": "the corner of the page"}.get(frame.by, f"the {frame.by}")


def _size(page: str, old: Page, new: Page, frame: SharedFrame) -> Iterator[str]:
    x0, y0, x1, y1 = SharedFrame(frame.turns).on_new(old.box_mm)
    words = _wider_higher(new.width_mm - (x1 - x0), new.height_mm - (y1 - y0))
    if words:
        yield f"{page} is {words}."
    elif _origin_moved(old, new):
        x, y = _media_pt(new)[:2]
        was = "{:g}, {:g}".format(*(round(value, 2) + 0.0 for value in _media_pt(old)[:2]))
        yield f"The MediaBox of {page.lower()} begins at {x:g}, {y:g} pt, before at {was} pt."
    if new.user_unit != old.user_unit:
        yield f"The UserUnit of {page.lower()} is {new.user_unit:g}, before {old.user_unit:g}."


def _origin_moved(old: Page, new: Page) -> bool:
    return max(abs(a - b) for a, b in zip(_media_pt(old)[:2], _media_pt(new)[:2], strict=True)) > SAME_PT


def _media_pt(page: Page) -> Box:
    """The media box in the page's own space."""
    x0, y0, x1, y1 = box_through(inverse(page.to_mm), page.box_mm)
    return (round(x0, 3) + 0.0, round(y0, 3) + 0.0, round(x1, 3), round(y1, 3))


def _wider_higher(across: float, up: float) -> str:
    ways = (("wider", "narrower"), ("higher", "lower"))
    return with_and(
        f"{shown(abs(by), 'mm')} {way[by < 0]}"
        for by, way in zip((across, up), ways, strict=True)
        if abs(by) > SAME_BOX_MM
    )


def _place(of_page: str, old: Page, frame: SharedFrame) -> Iterator[str]:
    """Art that moved on its page and is no change of a plate."""
    dx, dy = (own - page for own, page in zip(frame.shift_mm, page_shift(old, frame.turns), strict=True))
    words = in_words((dx, dy), SAME_PLACE_MM)
    if words and frame.by in TOGETHER:
        yield f"The art{of_page} has moved on the page {TOGETHER[frame.by]}by {words}."


def _box(what: str, old: Box | None, new: Box | None, frame: SharedFrame) -> Iterator[str]:
    if old is None and new is None:
        return
    if old is None or new is None:
        yield f"{what} is {'gone' if new is None else 'new'}."
        return
    lying = frame.on_new(old)
    words = _wider_higher((new[2] - new[0]) - (lying[2] - lying[0]), (new[3] - new[1]) - (lying[3] - lying[1]))
    if words:
        yield f"{what} is {words}."
        return
    words = in_words((new[0] - lying[0], new[1] - lying[1]), SAME_BOX_MM)
    if words:
        yield f"{what} has moved against the art by {words}."

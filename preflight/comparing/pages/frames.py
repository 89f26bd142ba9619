"""The frame that two pages share: by the cut of their dies, else by a trim box that says something, else by the page.

Several ways may fit (a blank that is the same turned round, a trim box that moved by itself); then the one stands in
which most of the art lies on itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.page import Page
from preflight.artwork.page.plates import Plates
from preflight.carton.die import Die
from preflight.comparing.pages.aligned_plates import grid, windows
from preflight.comparing.pages.correlation import shift_between
from preflight.comparing.pages.object_places import agreement, art_boxes, frame_by_objects
from preflight.comparing.pages.shared_frame import SharedFrame

SAME_CUT_MM: Final = 0.05
SAME_BOX_MM: Final = 0.05
SAYS_NOTHING_MM: Final = 0.5
"""A trim box that is the page but for this says nothing: many programs write it so whatever stands on the page."""
SNAPS_MM: Final = 0.02
"""A shift by less, against that of the page, is rounding and no shift."""
MOST_BLANKS: Final = 200
SURE: Final = 0.8
"""Objects in their place, of all of them, that settle a frame without its being drawn."""
LOOKED_AT_DPI: Final = 30.0
MOST_CORRELATED_PX: Final = 2_000_000
NOT_BETTER: Final = 0.9
"""Of what differs in the first frame: another one has to leave less than that."""


def find_frame(old: Page, new: Page, old_die: Die, new_die: Die) -> SharedFrame:
    """How OLD's page lies on NEW's.

    Raises:
        NotMeasured: a page cannot be drawn, where it has to be looked at.
    """
    by_page = list(_by_page(old, new))
    found = [_snapped(frame, by_page) for frame in _by_die(old, new, old_die, new_die)]
    if not found:
        found = [*(_snapped(frame, by_page) for frame in _by_trim(old, new)), *by_page]
    if found:
        return _best(old, new, found)
    return _by_content(old, new)


def turned_by_rotate(old: Page, new: Page) -> int:
    """Quarter turns, counter-clockwise, that the pages' own Rotate makes; Rotate turns clockwise."""
    return -((new.rotate - old.rotate) // 90) % 4


def page_shift(old: Page, turns: int) -> tuple[float, float]:
    """What brings the lower-left corner of the turned page back to (0, 0)."""
    x0, y0, _, _ = SharedFrame(turns).on_new(old.box_mm)
    return (-x0 + 0.0, -y0 + 0.0)


def own_trim(page: Page) -> Box | None:
    """The trim box where it says something: not when it is the page."""
    trim = page.boxes.trim
    if trim is None or np.abs(np.array(trim) - np.array(page.boxes.media)).max() < SAYS_NOTHING_MM:
        return None
    return trim


def same_size(one: Box, other: Box, within_mm: float = SAME_BOX_MM) -> bool:
    """Whether two boxes are as wide and as high."""
    sides = [(box[2] - box[0], box[3] - box[1]) for box in (one, other)]
    return all(abs(a - b) <= within_mm for a, b in zip(*sides, strict=True))


# Ways to lie ---------------------------------------------------------------------------------------------------------


def _turns(old: Page, new: Page) -> list[int]:
    """All turns, that of the pages' own Rotate first."""
    first = turned_by_rotate(old, new)
    return [(first + more) % 4 for more in (0, 2, 1, 3)]


def _by_die(old: Page, new: Page, old_die: Die, new_die: Die) -> Iterator[SharedFrame]:
    cuts = [[blank.outline for blank in die.blanks] for die in (old_die, new_die)]
    if not cuts[0] or len(cuts[0]) != len(cuts[1]) or len(cuts[0]) > MOST_BLANKS:
        return
    for turns in _turns(old, new):
        turned = [SharedFrame(turns).moved(cut) for cut in cuts[0]]
        boxes = [shapely.total_bounds(np.array(each)) for each in (turned, cuts[1])]
        if not same_size(tuple(boxes[0]), tuple(boxes[1]), 2 * SAME_CUT_MM):
            continue
        dx, dy = ((boxes[1] - boxes[0]).reshape(2, 2).mean(0)).tolist()
        frame = SharedFrame(turns, (dx, dy), "die")
        if _all_found([frame.moved(cut) for cut in cuts[0]], cuts[1]):
            yield frame


def _all_found(some: Sequence[Polygon], others: Sequence[Polygon]) -> bool:
    """Whether each outline lies on one of its own among the others."""
    left = list(others)
    for outline in some:
        found = next((other for other in left if _is_one_cut(outline, other)), None)
        if found is None:
            return False
        left.remove(found)
    return True


def _is_one_cut(one: Polygon, other: Polygon) -> bool:
    if np.abs(np.array(one.bounds) - np.array(other.bounds)).max() > 2 * SAME_CUT_MM:
        return False
    lines = one.boundary, other.boundary
    near = [shapely.buffer(line, SAME_CUT_MM + 0.01) for line in lines]
    return bool(shapely.covers(near[0], lines[1]) and shapely.covers(near[1], lines[0]))


def _by_trim(old: Page, new: Page) -> Iterator[SharedFrame]:
    one, other = own_trim(old), own_trim(new)
    if one is None or other is None:
        return
    for turns in _turns(old, new):
        turned = SharedFrame(turns).on_new(one)
        if same_size(turned, other):
            yield SharedFrame(turns, (other[0] - turned[0], other[1] - turned[1]), "trim box")


def _by_page(old: Page, new: Page) -> Iterator[SharedFrame]:
    for turns in _turns(old, new):
        if same_size(SharedFrame(turns).on_new(old.box_mm), new.box_mm):
            yield SharedFrame(turns, page_shift(old, turns), "page")


def _snapped(frame: SharedFrame, by_page: Sequence[SharedFrame]) -> SharedFrame:
    for page in by_page:
        off = np.abs(np.array(page.shift_mm) - np.array(frame.shift_mm)).max()
        if page.turns == frame.turns and off < SNAPS_MM:
            return replace(page, by=frame.by)
    return frame


# Choosing ------------------------------------------------------------------------------------------------------------


def _best(old: Page, new: Page, found: Sequence[SharedFrame]) -> SharedFrame:
    """The frame in which most of the art lies on itself; the first of those that are as good."""
    ways = list({(frame.turns, frame.shift_mm): frame for frame in reversed(found)}.values())[::-1]
    if len(ways) == 1:
        return ways[0]
    boxes = art_boxes(old), art_boxes(new)
    agreeing = [agreement(*boxes, frame) for frame in ways]
    if max(agreeing) >= SURE and agreeing.count(max(agreeing)) == 1:
        return ways[agreeing.index(max(agreeing))]
    differing = [differs(old, new, frame) for frame in ways]
    best = differing.index(min(differing))
    return ways[best] if differing[best] < NOT_BETTER * differing[0] else ways[0]


def differs(old: Page, new: Page, frame: SharedFrame) -> float:
    """The share of all ink that has none in its place on the other page, looked at coarsely; 0 where all has."""
    box, dpi = grid(old, new, frame, LOOKED_AT_DPI)
    one, other = (_all_ink(plates) for plates in windows(old, new, frame, box, dpi))
    return float(np.abs(one - other).sum() / max(1.0, np.maximum(one, other).sum()))


def _all_ink(plates: Plates) -> np.ndarray[tuple[int, ...], np.dtype[np.float32]]:
    """All plates together, whatever they are called."""
    return np.asarray(plates.ink.sum(0, dtype=np.float32))


def _by_content(old: Page, new: Page) -> SharedFrame:
    """Of pages of unlike size with neither die nor trim box in common: by objects, else by what is printed."""
    by_objects = frame_by_objects(art_boxes(old), art_boxes(new))
    if by_objects is not None:
        return by_objects
    corner = [SharedFrame(turns, page_shift(old, turns), "content") for turns in _turns(old, new)]
    ways = [_correlated(old, new, frame) for frame in corner]
    differing = [differs(old, new, frame) for frame in ways]
    best = ways[differing.index(min(differing))]
    at_corner = replace(corner[0], by="page")
    return best if min(differing) < NOT_BETTER * differs(old, new, at_corner) else at_corner


def _correlated(old: Page, new: Page, frame: SharedFrame) -> SharedFrame:
    """The frame, moved so that what is printed lies on itself: first coarsely, then to a part of a pixel."""
    for finer in (1, 4):
        box, dpi = grid(old, new, frame, finer * LOOKED_AT_DPI, MOST_CORRELATED_PX)
        one, other = (_all_ink(plates) for plates in windows(old, new, frame, box, dpi))
        dx, dy = (25.4 / dpi * px for px in shift_between(one, other))
        frame = replace(frame, shift_mm=(frame.shift_mm[0] + dx, frame.shift_mm[1] - dy))
    return frame

"""The marks that the tool puts on a sheet which it lays out: colour bar, register marks, side-guide mark, plate labels.

In the sheet's frame: the printed face, gripper edge down; x from the left, y up; mm. Sizes are common practice: patches
of 5 mm, 6 mm high and 2 mm clear of the bleed; two register marks or more, of hair lines of 0.1 mm in all plates.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import shapely
from shapely import Polygon

from preflight.artwork.page.geometry import Box
from preflight.inputs.press import Press
from preflight.quantities import Size
from preflight.setup.layout.layout_request import FreeArea
from preflight.setup.press_sheet.press_sheet import Mark
from preflight.setup.press_sheet.room import Room

PATCH_MM: Final = 5.0
NARROWEST_PATCH_MM: Final = 3.0
HIGHEST_PATCH_MM: Final = 6.0
LOWEST_PATCH_MM: Final = 3.0
CLEAR_OF_BLEED_MM: Final = 2.0
"""Between the bar and what is printed of a blank."""
OFF_CUT_MM: Final = 3.0
OFF_BLEED_MM: Final = 1.0
HAIR_LINE_MM: Final = 0.1
CROSSES_MM: Final = (8.0, 6.0, 4.0)
SIDE_GUIDES_MM: Final = ((4.0, 10.0), (3.0, 8.0), (2.0, 8.0), (2.0, 5.0))
"""Across and along, the largest that fits."""
FROM_GRIPPER_MM: Final = 30.0
"""From where the side-guide mark is put: guides stand near the gripper edge."""
LABEL_MM: Final = (24.0, 2.5)
LETTERS: Final = 0.25
"""What letters cover of their box."""

BarEdge = Literal["tail", "gripper", "none"]


@dataclass(frozen=True)
class OwnMarks:
    """Marks, and what there was no room for, in words."""

    marks: tuple[Mark, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class MarkedSheet:
    """What the marks are put around."""

    size: Size
    cuts: tuple[Polygon, ...]
    """Of all blanks."""
    bleeds: tuple[Polygon, ...]
    """Blanks with what of their artwork is printed beyond the cut."""
    free: FreeArea
    inks: tuple[str, ...]
    """Separations that stand on a unit, in their order."""
    press: Press
    bar: BarEdge = "tail"
    bar_depth_mm: float = 8.0
    """Of the strip that is kept for the bar; it ends where ``free`` begins."""

    @property
    def side_inset_mm(self) -> float:
        """What cannot be printed at each side of a sheet of this size."""
        printable = self.press.sheet.printable
        if printable is not None:
            return max(0.0, (self.size.across_mm - printable.across_mm) / 2)
        return self.press.edges.sides or 0.0

    @property
    def block(self) -> Box:
        """Box of all that is printed of the blanks."""
        found: Box = shapely.union_all(self.bleeds or self.cuts).bounds
        return found


def own_marks(sheet: MarkedSheet) -> OwnMarks:
    """Put the marks on a sheet; none stands in a blank or its bleed, nor where the press does not print.

    Args:
        sheet: the blanks, and what press and plates there are.
    """
    if not sheet.cuts or not sheet.inks:
        return OwnMarks(())
    press, size = sheet.press, sheet.size
    printed = (
        sheet.side_inset_mm,
        press.edges.gripper or 0.0,
        size.across_mm - sheet.side_inset_mm,
        size.along_mm - (press.edges.tail or 0.0),
    )
    clear = [shapely.buffer(shape, OFF_CUT_MM, join_style="mitre") for shape in sheet.cuts]
    clear += [shapely.buffer(shape, OFF_BLEED_MM, join_style="mitre") for shape in sheet.bleeds]
    room = Room(printed, shapely.union_all(clear))
    marks, notes = list[Mark](), list[str]()
    for put in (_bar, _register, _side_guide, _labels):
        for found in put(sheet, room):
            (notes if isinstance(found, str) else marks).append(found)  # type: ignore[arg-type]
    return OwnMarks(tuple(marks), tuple(notes))


def colour_bar_edge(press: Press, asked: str | None) -> BarEdge:
    """At which edge the bar stands: as the ticket says, else the press profile, else at the tail."""
    edge: str = asked or (press.colour_bar.edge if press.colour_bar else "tail")
    return edge  # type: ignore[return-value]


# The colour bar ----------------------------------------------------------------------------------------------------


def _bar(sheet: MarkedSheet, room: Room) -> Iterator[Mark | str]:
    """A patch of every ink in every zone in which something is printed, in the strip that is kept for it."""
    if sheet.bar == "none":
        return
    low, high = _bar_strip(sheet)
    if high - low < LOWEST_PATCH_MM - 1e-6:
        yield f"no room for the colour bar at the {sheet.bar}: {max(0.0, high - low):.1f} mm are left for it"
        return
    left_out = 0
    for place, ink in _patches(sheet, room.within):
        box = (place, low, place + _patch_width(sheet), high)
        if room.is_free(box):
            yield Mark("colour bar", shapely.box(*box), {ink: 1.0}, "stated")
        else:
            left_out += 1
    room.take((room.within[0], low - CLEAR_OF_BLEED_MM / 2, room.within[2], high))
    if left_out:
        noun = "patch of the colour bar has" if left_out == 1 else "patches of the colour bar have"
        yield f"{left_out} {noun} no room beside the blanks"
    if _zone_mm(sheet) / len(sheet.inks) < NARROWEST_PATCH_MM:
        yield f"a zone of {_zone_mm(sheet):g} mm has no room for patches of all {len(sheet.inks)} inks"
    if sheet.press.ink_keys is None:
        yield "the press profile does not say where the ink zones are, so the bar goes by no zones"


def _bar_strip(sheet: MarkedSheet) -> tuple[float, float]:
    """From where to where the patches stand along the travel: at the outer end of the strip, clear of the bleed."""
    high = min(HIGHEST_PATCH_MM, sheet.bar_depth_mm - CLEAR_OF_BLEED_MM)
    if sheet.bar == "gripper":
        outer = sheet.free.gripper_mm - sheet.bar_depth_mm
        outer = max(outer, sheet.press.edges.gripper or 0.0)
        return outer, min(outer + high, sheet.free.gripper_mm - CLEAR_OF_BLEED_MM)
    outer = sheet.size.along_mm - sheet.free.tail_mm + sheet.bar_depth_mm
    outer = min(outer, sheet.size.along_mm - (sheet.press.edges.tail or 0.0))
    return max(outer - high, sheet.size.along_mm - sheet.free.tail_mm + CLEAR_OF_BLEED_MM), outer


def _zone_mm(sheet: MarkedSheet) -> float:
    keys = sheet.press.ink_keys
    return keys.pitch if keys else PATCH_MM * len(sheet.inks)


def _patch_width(sheet: MarkedSheet) -> float:
    return max(NARROWEST_PATCH_MM, min(PATCH_MM, _zone_mm(sheet) / len(sheet.inks)))


def _patches(sheet: MarkedSheet, printed: Box) -> Iterator[tuple[float, str]]:
    """The left side of each patch, and its ink: all inks in each zone, or so many as find room there.

    A zone that is cut off by the edge has the first inks that it holds, and in the next zone the row goes on.
    """
    zone, width, (x0, _, x1, _) = _zone_mm(sheet), _patch_width(sheet), sheet.block
    if sheet.press.ink_keys is None:
        start, count = x0, int((x1 - x0) // zone) + 1
    else:
        start, count = sheet.size.across_mm / 2 - sheet.press.ink_keys.count * zone / 2, sheet.press.ink_keys.count
    turn = 0
    for number in range(count):
        left, right = max(start + number * zone, printed[0]), min(start + (number + 1) * zone, printed[2])
        if left + 1e-6 >= x1 or right <= x0 + 1e-6:
            continue
        fits = min(len(sheet.inks), int((right - left) / width + 1e-6))
        first = left + (right - left - fits * width) / 2
        begin = turn if fits < len(sheet.inks) else 0
        for at in range(fits):
            yield first + at * width, sheet.inks[(begin + at) % len(sheet.inks)]
        turn = (begin + fits) % len(sheet.inks) if fits < len(sheet.inks) else 0


# The other marks ---------------------------------------------------------------------------------------------------


def _register(sheet: MarkedSheet, room: Room) -> Iterator[Mark | str]:
    """A cross of hair lines in all plates at each side, as near to the middle of the side as there is room."""
    across, along = sheet.size.across_mm, sheet.size.along_mm
    halves = {"left": (0.0, 0.0, across / 3, along), "right": (2 * across / 3, 0.0, across, along)}
    for side, region in halves.items():
        place = (region[0] if side == "left" else region[2], along / 2)
        boxes = (room.nearest((size, size), place, region) for size in CROSSES_MM)
        box = next((box for box in boxes if box is not None), None)
        if box is None:
            yield f"no room for a register mark at the {side} of the printed face"
        else:
            yield Mark("register", _cross(box), dict.fromkeys(sheet.inks, 1.0), "stated")


def _cross(box: Box) -> Polygon:
    x0, y0, x1, y1 = box
    x, y, half = (x0 + x1) / 2, (y0 + y1) / 2, HAIR_LINE_MM / 2
    found: Polygon = shapely.union(shapely.box(x0, y - half, x1, y + half), shapely.box(x - half, y0, x + half, y1))
    return found


def _side_guide(sheet: MarkedSheet, room: Room) -> Iterator[Mark | str]:
    """A bar at the edge that is guided, at both where the press takes either."""
    lay = sheet.press.side_lay
    if lay is None:
        yield "the press profile does not say at which side sheets are guided, so there is no side-guide mark"
        return
    sides: Sequence[str] = ("operator", "drive") if lay == "either" else (lay,)
    ink = "Black" if "Black" in sheet.inks else sheet.inks[-1]
    x0, y0, x1, y1 = room.within
    for side in sides:
        at_left = (side == "operator") == ((sheet.press.operator_side or "left") == "left")
        for width, length in SIDE_GUIDES_MM:
            strip = (x0, y0, x0 + width, y1) if at_left else (x1 - width, y0, x1, y1)
            box = room.nearest((width, length), (strip[0] + width / 2, y0 + FROM_GRIPPER_MM), strip)
            if box is not None:
                yield Mark("side guide", shapely.box(*box), {ink: 1.0}, "stated")
                break
        else:
            yield f"no room for the side-guide mark at the {side} side"


def _labels(sheet: MarkedSheet, room: Room) -> Iterator[Mark | str]:
    """The box of a line of type for each plate in its own ink: job, revision, ink and side."""
    across, along = LABEL_MM
    x0, y0, x1, y1 = room.within
    corner = (x0 if (sheet.press.operator_side or "left") == "left" else x1, y1 if sheet.bar != "tail" else y0)
    shapes = [(across, along), (along, across)]
    for ink in sheet.inks:
        box = None
        while shapes and box is None:
            box = room.nearest(shapes[0], corner, step_mm=4.0)
            if box is None:  # room only becomes less
                shapes.pop(0)
        if box is None:
            yield f"no room for the label of the plate {ink}"
        else:
            yield Mark("label", shapely.box(*box), {ink: LETTERS}, "stated")

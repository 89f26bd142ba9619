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
from preflight.setup.press_sheet.press_sheet import Mark
from preflight.setup.press_sheet.room import Room

PATCH_MM: Final = 5.0
NARROWEST_PATCH_MM: Final = 3.0
HEIGHTS_MM: Final = (6.0, 5.0, 4.0, 3.0)
"""The highest that fits."""
CLEAR_OF_WORK_MM: Final = 1.0
"""That the bar stays off blanks and bleeds more than other marks do: 2 mm in all."""
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
    inks: tuple[str, ...]
    """Separations that stand on a unit, in their order."""
    press: Press
    bar: BarEdge = "tail"
    guide_ink: str = "Black"
    """Of the side-guide mark, one that is seen well; the first ink where it is not among them."""

    @property
    def side_inset_mm(self) -> float:
        """What cannot be printed at each side of a sheet of this size."""
        printable, sides = self.press.sheet.printable, self.press.edges.sides or 0.0
        return max(sides, (self.size.across_mm - printable.across_mm) / 2) if printable is not None else sides

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
    """A patch of every ink in every zone in which something is printed, at the outer end of what can be printed."""
    if sheet.bar == "none":
        return
    width = _patch_width(sheet)
    places = list(_patches(sheet, room.within))
    tries = [_in_a_row([(x, x + width) for x, _ in places], high, sheet, room) for high in HEIGHTS_MM]
    boxes, free = max(tries, key=lambda row: sum(row[1]))  # the highest of those with most patches
    yield from (
        Mark("colour bar", shapely.box(*box), {ink: 1.0}, "stated")
        for box, (_, ink), has_room in zip(boxes, places, free, strict=True)
        if has_room
    )
    for box, has_room in zip(boxes, free, strict=True):
        if has_room:
            room.take(box)
    if not any(free):
        yield f"no room for the colour bar at the {sheet.bar}"
    elif not all(free):
        yield f"{free.count(False)} of the {len(free)} patches of the colour bar have no room beside the blanks"
    if _zone_mm(sheet) / len(sheet.inks) < NARROWEST_PATCH_MM:
        yield f"a zone of {_zone_mm(sheet):g} mm has no room for patches of all {len(sheet.inks)} inks"
    if sheet.press.ink_keys is None:
        yield "the press profile does not say where the ink zones are, so the bar goes by no zones"


def _in_a_row(
    spans: list[tuple[float, float]], high: float, sheet: MarkedSheet, room: Room
) -> tuple[list[Box], list[bool]]:
    """Patches of a height, and which of them have room, clear of the work."""
    if sheet.bar == "gripper":
        low, reach = room.within[1], (0.0, CLEAR_OF_WORK_MM)
    else:
        low, reach = room.within[3] - high, (CLEAR_OF_WORK_MM, 0.0)
    boxes = [(x0, low, x1, low + high) for x0, x1 in spans]
    return boxes, [room.is_free((x0, y0 - reach[0], x1, y1 + reach[1])) for x0, y0, x1, y1 in boxes]


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
    """A cross of hair lines in all plates beside the work at each side, as near to half-way up as there is room."""
    across, along, (first, _, last, _) = sheet.size.across_mm, sheet.size.along_mm, sheet.block
    halves = {"left": (0.0, 0.0, across / 3, along), "right": (2 * across / 3, 0.0, across, along)}
    for side, region in halves.items():
        place = (max(0.0, first) / 2 if side == "left" else (across + min(across, last)) / 2, along / 2)
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
    ink = sheet.guide_ink if sheet.guide_ink in sheet.inks else sheet.inks[0]
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
    sides = sheet.press.edges.sides or 0.0
    clear_of_sides = (x0 + sides, y0, x1 - sides, y1)
    tries = [((across, along), clear_of_sides), ((along, across), clear_of_sides), ((along, across), room.within)]
    for ink in sheet.inks:
        box = None
        while tries and box is None:
            size, region = tries[0]
            box = room.nearest(size, corner, region, step_mm=4.0)
            if box is None:  # room only becomes less
                tries.pop(0)
        if box is None:
            yield f"no room for the label of the plate {ink}"
        else:
            yield Mark("label", shapely.box(*box), {ink: LETTERS}, "stated")

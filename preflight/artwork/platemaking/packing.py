"""Many plates in one channel: those whose objects nowhere come near each other, as in a book of swatches.

Within a channel every place belongs to at most one plate, and it is parted again by the boxes of the plates' objects.
Knock-out is no matter: an object paints its own tint in the channel or none, and whatever it clears of another plate
lies in that plate's boxes, where the channel is that plate's own.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.objects import Box, ObjectTable, Painted

Boxes = NDArray[np.float64]


@dataclass(frozen=True)
class Parting:
    """Boxes (k, 4) in mm in which a channel is a plate's, and the number of the plate for each."""

    boxes_mm: Boxes
    plate: NDArray[np.intp]


PACK_FROM = 24
"""Plates from which on it pays."""
APART_MM = 1.0
"""Objects of two plates of one channel are further apart than this."""
MOST_BOXES = 300
"""A plate with more objects has a channel to itself."""
_MM_PER_POINT = 25.4 / 72
_MITRE = 5.0
"""Half of the miter limit of 10 that a page begins with (ISO 32000-2, table 51): how far a corner may reach."""


def boxes_of_plates(objects: ObjectTable, plates: Sequence[str]) -> tuple[dict[str, Boxes], Boxes]:
    """Boxes (k, 4) in mm of all that shows in each plate's colour, at whatever tint, and of registration colour.

    Text reaches out of its box by no more than its size, strokes by their corners; glyphs of Type 3 fonts may be
    anywhere.
    """
    shown = np.flatnonzero(objects.visible)
    boxes = objects.shown_mm[shown].astype(float)
    size = objects.text_size_pt[shown] * _MM_PER_POINT
    font = objects.font[shown]
    type3 = np.array([*(facts.type3 for facts in objects.fonts), False], bool)[font]
    text = objects.painted[shown] == Painted.TEXT
    grow = np.where(text, size, _MITRE * objects.line_width_mm[shown]).astype(float)
    grow[text & (type3 | (size <= 0))] = 1e6
    boxes += grow[:, None] * np.array([-1, -1, 1, 1])
    colour, wanted = objects.colour[shown], set(plates)
    found: dict[str, list[Boxes]] = {name: [] for name in plates}
    marks = np.zeros(len(objects.colours), bool)
    order = np.argsort(colour, kind="stable")
    begins = np.searchsorted(colour[order], np.arange(len(objects.colours) + 1))
    for family, numbers in objects.colours.families():
        marks[numbers] = family.registration
        if family.registration:
            continue
        names = [name for name in family.names if name in wanted]
        rows = np.concatenate([order[begins[number] : begins[number + 1]] for number in numbers.tolist()])
        for name in names:
            found[name].append(boxes[rows])
    return {name: np.vstack(own or [np.zeros((0, 4))]) for name, own in found.items()}, boxes[marks[colour]]


def pack(plates: Sequence[str], boxes: Mapping[str, Boxes], marks: Boxes) -> list[tuple[str, ...]]:
    """Plates in channels, in order; those that no channel with others suits stand alone."""
    packs: list[tuple[list[str], list[Boxes]]] = []
    alone = []
    for plate in plates:
        own = boxes[plate]
        if not len(own) or len(own) > MOST_BOXES or _near(own, marks):
            alone.append((plate,))
            continue
        for names, held in packs:
            if not _near(own, np.vstack(held)):
                names.append(plate)
                held.append(own)
                break
        else:
            packs.append(([plate], [own]))
    return [*(tuple(names) for names, _ in packs), *alone]


def parting(
    packed: Sequence[str], plates: Sequence[str], boxes: Mapping[str, Boxes], marks: Boxes, marked: Collection[str]
) -> Parting:
    """Where each of the plates of a channel has ink; ``plates`` are all of the page, in order."""
    own = [np.vstack([boxes[name], marks]) if name in marked else boxes[name] for name in packed]
    number = {name: at for at, name in enumerate(plates)}
    return Parting(
        np.vstack(own) + APART_MM / 2 * np.array([-1, -1, 1, 1]),
        np.repeat([number[name] for name in packed], [len(found) for found in own]),
    )


def part(channel: NDArray[np.uint8], where: Parting, box_mm: Box, dpi: float, ink: NDArray[np.uint8]) -> None:
    """Copy what a channel (height, width) holds of ``box_mm`` of the page to the plates that it carries."""
    pixels = (where.boxes_mm[:, [0, 3, 2, 1]] - np.array(box_mm)[[0, 3, 0, 3]]) * np.array([1, -1, 1, -1]) * dpi / 25.4
    size = channel.shape[::-1]
    low = np.floor(pixels[:, :2]).clip(0, size).astype(int)
    high = np.ceil(pixels[:, 2:]).clip(0, size).astype(int)
    for at in np.flatnonzero((low < high).all(1)).tolist():
        (x0, y0), (x1, y1) = low[at], high[at]
        ink[where.plate[at], y0:y1, x0:x1] = channel[y0:y1, x0:x1]


def _near(some: Boxes, others: Boxes) -> bool:
    """Whether any of some boxes comes within ``APART_MM`` of any of the others."""
    low = some[:, None, :2] - others[None, :, 2:]
    high = others[None, :, :2] - some[:, None, 2:]
    return bool(((low <= APART_MM) & (high <= APART_MM)).all(2).any())

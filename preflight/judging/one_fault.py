"""Readings that are one fault: they meet, and what they are of is the same in part (one background at a corner)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from preflight.findings import Reading

MEETING_MM: Final = 1.0
"""Places nearer than this meet."""
MOST_HELD_TOGETHER: Final = 2000
"""Where there are more readings each of them stays by itself."""


def joined(readings: Sequence[Reading], fact: str) -> list[int]:
    """A number for each reading; those of one case that meet and share an item of this fact, by way of others too, have
    the same.
    """
    label = list(range(len(readings)))
    if len(readings) > MOST_HELD_TOGETHER:
        return label
    for one, other in _meeting(readings):
        first, second = readings[one], readings[other]
        if first.case == second.case and _items(first, fact) & _items(second, fact) and label[one] != label[other]:
            new, old = sorted((label[one], label[other]))
            label = [new if number == old else number for number in label]
    return label


def _meeting(readings: Sequence[Reading]) -> list[tuple[int, int]]:
    """Pairs of readings, the earlier first, that have places which meet."""
    placed = [
        (number, place.page, *place.box_mm) for number, reading in enumerate(readings) for place in reading.places
    ]
    if not placed:
        return []
    rows = np.array(placed, np.float64)
    owner, page = rows[:, 0].astype(int), rows[:, 1]
    starts_before = (rows[:, None, 2:4] <= rows[None, :, 4:6] + MEETING_MM).all(2)
    meet = starts_before & starts_before.T & (page[:, None] == page) & (owner[:, None] < owner)
    return [(int(owner[one]), int(owner[other])) for one, other in zip(*np.nonzero(meet), strict=True)]


def _items(reading: Reading, fact: str) -> set[object]:
    value = reading.facts.get(fact)
    return set(value) if isinstance(value, list | tuple) else {value}

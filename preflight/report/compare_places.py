"""Where two files differ, numbered for their pictures: places that lie near each other share a number."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

Document = Mapping[str, Any]
Box = tuple[float, float, float, float]

NEAR_MM: Final = 3.0
"""Letters of a line and lines of a paragraph lie nearer to each other."""
LARGE_MM: Final = 60.0
"""A place as long as this keeps a number of its own: it would swallow all others."""
MOST_NUMBERS: Final = 40
"""On all pages; the rest is in the JSON report."""


@dataclass(frozen=True)
class NumberedPlace:
    """Places of one page under one number."""

    number: int
    page: int
    box_mm: Box
    """Round all of them, on NEW's page."""
    plates: tuple[str, ...]
    """Plates that differ there."""


def numbered_places(plates: Iterable[Document]) -> list[NumberedPlace]:
    """Places of plates of the document, numbered from 1, the largest first.

    Args:
        plates: entries of ``plates``; their ``places`` are taken, not those outside the cut.
    """
    seen: dict[tuple[int, Box], list[str]] = {}
    for plate in plates:
        for place in plate["places"]:
            x0, y0, x1, y1 = place["box_mm"]
            names = seen.setdefault((place["page"], (x0, y0, x1, y1)), [])
            if plate["name"] not in names:
                names.append(plate["name"])
    joined = [
        (page, box, names)
        for page in dict.fromkeys(page for page, _ in seen)
        for box, names in _joined([(box, names) for (number, box), names in seen.items() if number == page])
    ]
    joined.sort(key=lambda each: -_area(each[1]))
    return [NumberedPlace(k + 1, page, box, tuple(names)) for k, (page, box, names) in enumerate(joined[:MOST_NUMBERS])]


def numbers_of(name: str, places: Iterable[NumberedPlace]) -> list[int]:
    """The numbers that a plate has places under."""
    return [place.number for place in places if name in place.plates]


def _joined(boxes: Sequence[tuple[Box, list[str]]]) -> list[tuple[Box, list[str]]]:
    """Boxes brought together until all are further apart than ``NEAR_MM``; large ones stay by themselves."""
    found: list[tuple[Box, list[str]]] = []
    for box, names in boxes:
        grown, all_names = box, list(names)
        if _long(box) < LARGE_MM:
            while near := [other for other in found if _long(other[0]) < LARGE_MM and _gap(grown, other[0]) <= NEAR_MM]:
                for other in near:
                    found.remove(other)
                    grown = _round_both(grown, other[0])
                    all_names = [*other[1], *(name for name in all_names if name not in other[1])]
        found.append((grown, all_names))
    return found


def _gap(one: Box, other: Box) -> float:
    across = max(one[0] - other[2], other[0] - one[2], 0.0)
    up = max(one[1] - other[3], other[1] - one[3], 0.0)
    return max(across, up)


def _round_both(one: Box, other: Box) -> Box:
    return (min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3]))


def _long(box: Box) -> float:
    return max(box[2] - box[0], box[3] - box[1])


def _area(box: Box) -> float:
    return (box[2] - box[0]) * (box[3] - box[1])

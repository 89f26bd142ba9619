"""Places of a page where something is missing on the plates, because it could not be read or could not be drawn."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from preflight.artwork.page.geometry import Box


@dataclass(frozen=True)
class UncertainPlace:
    """What is missing, where, and what it may put ink on. Outside of these places the plates are whole."""

    because: str
    box_mm: Box
    inks: tuple[str, ...] | None = None
    """Separations that it may put ink on; None where nobody knows."""
    unread: bool = False
    """Its objects are not in the table of objects either."""


def meeting(places: tuple[UncertainPlace, ...], box_mm: Box) -> tuple[UncertainPlace, ...]:
    """Those of the places that share something with a box of the page."""
    x0, y0, x1, y1 = box_mm
    return tuple(p for p in places if p.box_mm[0] < x1 and x0 < p.box_mm[2] and p.box_mm[1] < y1 and y0 < p.box_mm[3])


def places_from(records: Iterable[Mapping[str, Any]]) -> list[UncertainPlace]:
    """Places that were written as JSON."""
    return [
        UncertainPlace(
            str(record["because"]),
            tuple(record["box_mm"]),
            None if record["inks"] is None else tuple(record["inks"]),
            bool(record["unread"]),
        )
        for record in records
    ]

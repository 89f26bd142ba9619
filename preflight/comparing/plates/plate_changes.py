"""What became of each plate of one page: paired by name, told apart by its pixels, and said in words."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.comparing.comparison import Difference, How, PlateChange
from preflight.comparing.pages.aligned_plates import PRINTS_FROM, AlignedPlates
from preflight.comparing.pages.page_changes import in_words
from preflight.comparing.pixels.plate_difference import difference
from preflight.comparing.plates.plate_names import PlateNames, pair_plates
from preflight.inputs.ticket import Ticket
from preflight.quantities import shown

MOST_PLACES: Final = 50
"""Of one plate on one page; the largest."""


def plate_changes(aligned: AlignedPlates, ticket: Ticket | None, page: int) -> list[PlateChange]:
    """What became of each plate of a page that prints in either file, in the order of NEW, those that are gone last.

    Args:
        aligned: both pages on one grid.
        ticket: says which names mean one ink.
        page: the number that places go by.

    Raises:
        NotMeasured: a close look cannot be drawn.
    """
    known: dict[tuple[str, str], Difference] = {}

    def differ(old: str, new: str) -> Difference:
        if (old, new) not in known:
            same = aligned.old[old].digest == aligned.new[new].digest
            pair, closer = aligned.pair, aligned.closer
            known[old, new] = Difference("none") if same else difference(pair(old, new), closer(old, new))
        return known[old, new]

    return [_change(names, aligned, differ, page) for names in pair_plates(aligned, differ, ticket)]


def _change(
    names: PlateNames, aligned: AlignedPlates, differ: Callable[[str, str], Difference], page: int
) -> PlateChange:
    if names.old is None:
        return _on_one_side(names.name, "new", aligned.new[names.name].ink, aligned, page)
    if names.new is None:
        return _on_one_side(names.name, "gone", aligned.old[names.name].ink, aligned, page)
    found = differ(names.old, names.new)
    outside = tuple((box, page) for box in found.blobs_outside[:MOST_PLACES])
    was = names.old if names.renamed else None
    return PlateChange(
        name=names.name,
        change="renamed" if was is not None and found.how == "none" else found.how,
        share=float(found.share),
        moved_mm=found.moved_mm,
        tone_percent=found.tone_percent,
        places=tuple((box, page) for box in found.blobs[:MOST_PLACES]),
        outside=outside,
        renamed_from=was,
        also=found.also,
        says=_says(found, was),
    )


def _says(found: Difference, was: str | None) -> str:
    said = [f"called {was} before"] if was is not None else []
    said += [words for part in (found.how, *found.also) if (words := _words(part, found))]
    if found.how == "none" and found.blobs_outside:
        said.append("differs outside the cut only")
    return "; ".join(said)


def _words(part: str, found: Difference) -> str:
    if part == "moved":
        return f"moved by {in_words(found.moved_mm)}"
    if part == "tone":
        fuller = "darker" if found.tone_percent > 0 else "lighter"
        return f"{fuller} by up to {abs(found.tone_percent):.1f} points of tint"
    if part == "local":
        return f"edited in {shown(len(found.blobs), 'places')}" if found.blobs else "edited"
    return ""


def _on_one_side(name: str, how: How, ink: NDArray[np.uint8], aligned: AlignedPlates, page: int) -> PlateChange:
    """A plate that only one of the files has."""
    there = ink >= PRINTS_FROM
    inside = there & aligned.inside
    box = ((_box_of(there, aligned), page),)
    if not inside.any():
        return PlateChange(name, "none", outside=box, says=f"{how}, and prints outside the cut only")
    return PlateChange(name, how, float(inside.sum() / aligned.inside.sum()), places=box, says=how)


def _box_of(there: NDArray[np.bool_], aligned: AlignedPlates) -> Box:
    rows, columns = np.flatnonzero(there.any(1)), np.flatnonzero(there.any(0))
    mm, (x0, _, _, y1) = 25.4 / aligned.dpi, aligned.box_mm
    if not len(rows):
        return aligned.box_mm
    return (
        x0 + int(columns[0]) * mm,
        y1 - (int(rows[-1]) + 1) * mm,
        x0 + (int(columns[-1]) + 1) * mm,
        y1 - int(rows[0]) * mm,
    )

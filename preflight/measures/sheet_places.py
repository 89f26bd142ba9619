"""Places of the sheet on the page that speaks for it, and what is printed at places of the sheet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Matrix, box_through, inverse
from preflight.findings import Place, Reading, listed
from preflight.job import Job, once_a_job
from preflight.measures import needs
from preflight.measures.raster.profiles import tints_at

if TYPE_CHECKING:  # most checks see no sheet
    from preflight.setup.press_sheet.alike_cells import AlikeGroup
    from preflight.setup.press_sheet.press_sheet import Piece, PressSheet, SheetBlank

MOST_TOLD = 6
Floats = NDArray[np.float64]


def place_of(
    sheet: PressSheet, job: Job, shape: BaseGeometry, blank: SheetBlank | None = None, words: str = ""
) -> tuple[Place, ...]:
    """Where a shape of the sheet lies on the page that speaks for the sheet.

    A sheet from outside is that page. Of a sheet that is laid out it shows one blank: a place on a blank is shown where
    it lies on the one-up, if it is the one-up of that version, and other places of the sheet have none.
    """
    matrix = sheet.to_page.get(job.page.number)
    if matrix is None and blank is not None and blank.to_sheet is not None and _is_shown(sheet, blank):
        matrix = inverse(blank.to_sheet)
    if matrix is None or shape.is_empty:
        return ()
    x0, y0, x1, y1 = box_through(matrix, shape.bounds)
    words = words or (f"blank {blank.number}" if blank is not None and sheet.to_page else "")
    return (Place((float(x0), float(y0), float(x1), float(y1)), job.page.number, None, words),)


@once_a_job
def alike_blanks(job: Job) -> Sequence[AlikeGroup]:
    """The blanks of the sheet in groups that print alike; none where another page speaks for the sheet."""
    from preflight.setup.press_sheet.alike_cells import alike_groups

    sheet = job.press_sheet
    return alike_groups(sheet) if sheet is not None else []


def _is_shown(sheet: PressSheet, blank: SheetBlank) -> bool:
    """Whether the page that speaks for the sheet is the one-up of this blank."""
    if blank.piece is None:
        return False
    return sheet.pieces[blank.piece].version == sheet.speaks_for


def once(places: Iterable[Place]) -> tuple[Place, ...]:
    """Places without those that lie on another to a tenth of a millimetre, as alike edges of alike blanks do."""
    found: dict[tuple[object, ...], Place] = {}
    for place in places:
        found.setdefault((place.page, *(round(value, 1) for value in place.box_mm)), place)
    return tuple(found.values())


def blanks_told(numbers: Iterable[int]) -> str:
    """``blank 3``, ``blanks 1, 2 and 4``, ``blanks 1, 2, 3, 4, 5, 6 and 18 more``."""
    told = [str(number) for number in sorted(set(numbers))]
    if len(told) > 1 and len(told) <= MOST_TOLD:
        return f"blanks {', '.join(told[:-1])} and {told[-1]}"
    return f"blank{'s' * (len(told) > 1)} {listed(told, MOST_TOLD)}"


def tints_of_piece(piece: Piece, names: Sequence[str], xy_mm: Floats) -> NDArray[np.float32]:
    """Tints 0..255 of a piece's plates at places (k, 2) of the sheet, whatever its clip: (names, places)."""
    x, y = at(inverse(piece.to_sheet), xy_mm).T
    return tints_at(piece.plates, names, x, y)


def tints_on_sheet(sheet: PressSheet, names: Sequence[str], xy_mm: Floats, side: str = "front") -> NDArray[np.float32]:
    """Tints 0..255 of what is printed at places (k, 2) of the sheet, clips honoured: (names, places)."""
    found = np.zeros((len(names), len(xy_mm)), np.float32)
    for piece in sheet.pieces:
        if piece.side != side:
            continue
        x0, y0, x1, y1 = piece.clip.bounds
        near = np.flatnonzero((xy_mm[:, 0] >= x0) & (xy_mm[:, 0] <= x1) & (xy_mm[:, 1] >= y0) & (xy_mm[:, 1] <= y1))
        near = near[shapely.intersects_xy(piece.clip, xy_mm[near])] if len(near) else near
        if len(near):
            found[:, near] = np.maximum(found[:, near], tints_of_piece(piece, names, xy_mm[near]))
    return found


def at(matrix: Matrix, xy_mm: Floats) -> Floats:
    """Places (k, 2) after a matrix."""
    a, b, c, d, e, f = matrix
    return np.column_stack([a * xy_mm[:, 0] + c * xy_mm[:, 1] + e, b * xy_mm[:, 0] + d * xy_mm[:, 1] + f])


def neighbours(sheet: PressSheet, within_mm: float) -> Iterator[tuple[SheetBlank, SheetBlank]]:
    """Pairs of blanks that are no further apart than this."""
    outlines = [blank.outline for blank in sheet.blanks]
    ones, others = shapely.STRtree(outlines).query(outlines, predicate="dwithin", distance=within_mm)
    for one, other in zip(ones.tolist(), others.tolist(), strict=True):
        if one < other:
            yield sheet.blanks[one], sheet.blanks[other]


def of_blanks(
    job: Job, mm: float, blanks: list[SheetBlank], places: tuple[Place, ...], case: str = "", group: str = ""
) -> Reading:
    """A length that some blanks have."""
    facts = {"blanks": blanks_told(blank.number for blank in blanks)}
    return Reading(round(mm, 2), "mm", places, needs.die_known(job), case, group, facts)

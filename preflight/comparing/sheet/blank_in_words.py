"""What is said of one blank of a sheet, in a sentence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, Literal

import numpy as np

from preflight.artwork.page.geometry import Box
from preflight.comparing.comparison import BlankCheck, PlateChange
from preflight.findings import with_and

WHOLLY: Final = 0.995
LEAST_SAID_MM: Final = 0.005
"""A shift less than this one way is not worth words beside the other."""


def in_words(
    check: BlankCheck,
    shown: str | None,
    against: Literal["die", "step"],
    *,
    further: Sequence[PlateChange] = (),
    bare: float = 0.0,
) -> str:
    """A sentence: ``Blank 5 shows old.pdf on Black and is moved by 0.30 mm to the right against its die.``.

    Args:
        check: the verdict.
        shown: what it shows that it should not: an old revision, or a version that is not on the ticket.
        against: what its place is told by.
        further: plates that differ from the version, too.
        bare: share of what should print that is bare.
    """
    said = list(_parts(check, shown, f"its {against}" if against == "die" else "the step", further, bare))
    return f"Blank {check.number} {with_and(said)}."


def _parts(
    check: BlankCheck, shown: str | None, against: str, further: Sequence[PlateChange], bare: float
) -> Iterator[str]:
    if check.kind == "missing":
        in_part = f"prints in part: {100 * bare:.0f} % of it is bare"
        yield in_part if bare < WHOLLY else "is missing: nothing prints there"
        return
    names = with_and(plate.name for plate in check.plates)
    if shown is not None:
        yield f"shows {shown} on {names}" if names else f"shows {shown}"
        if further:
            yield f"differs from that on {with_and(_differs(plate) for plate in further)}"
    elif check.plates:
        yield f"differs on {with_and(_differs(plate) for plate in check.plates)}"
    if check.turned_deg:
        yield f"is turned by {abs(check.turned_deg):.0f} degrees{_way(check.turned_deg)} against {against}"
    if check.moved_mm != (0.0, 0.0):
        yield f"is moved by {moved_in_words(*check.moved_mm)} against {against}"
    if check.kind == "same":
        yield "is right"


def _way(degrees: float) -> str:
    return "" if abs(degrees) == 180 else " counter-clockwise" if degrees > 0 else " clockwise"


def _differs(plate: PlateChange) -> str:
    """``Black (2 places, the largest 2.1 x 1.8 mm)``."""
    if plate.change == "moved":
        return f"{plate.name} (moved by {moved_in_words(*plate.moved_mm)})"
    if plate.change == "tone":
        return f"{plate.name} (tone by {plate.tone_percent:+.1f} points)"
    if not plate.places:
        return f"{plate.name} ({100 * plate.share:.2g} % of the blank)"
    count = len(plate.places)
    size = _size(max((box for box, _ in plate.places), key=_area))
    return f"{plate.name} ({size})" if count == 1 else f"{plate.name} ({count} places, the largest {size})"


def _area(box: Box) -> float:
    return (box[2] - box[0]) * (box[3] - box[1])


def _size(box: Box) -> str:
    return f"{box[2] - box[0]:.1f} x {box[3] - box[1]:.1f} mm"


def moved_in_words(right: float, up: float) -> str:
    """``0.30 mm to the right and 0.10 mm up``; what is nothing beside the other is left out."""
    least = max(LEAST_SAID_MM, 0.05 * float(np.hypot(right, up)))
    said = []
    if abs(right) > least:
        said.append(f"{abs(right):.2f} mm to the {'right' if right > 0 else 'left'}")
    if abs(up) > least:
        said.append(f"{abs(up):.2f} mm {'up' if up > 0 else 'down'}")
    return with_and(said)

"""What is on the press now, where it is told by itself and not by the ticket of the last job."""

from __future__ import annotations

from typing import Annotated

from preflight.inputs.fields import ClosedKeys, Parsed, Text, plain_text, word
from preflight.kinds import COATINGS, INK_SYSTEMS


def _ink(value: object) -> str | None:
    return None if value is None else plain_text(value)


InkOrNone = Annotated[str | None, Parsed(_ink, {"type": ["string", "number", "null"]})]


class PressState(ClosedKeys):
    """``on_press: [Mustard, null, …]``, the coating in the coater, the ink system that the rollers are for."""

    on_press: tuple[InkOrNone, ...]
    """What is on unit 1, 2, …; null where the unit is clean."""
    coater: Annotated[str, word(*COATINGS, open_list=True)] | None = None
    ink_system: Annotated[str, word(*INK_SYSTEMS)] | None = None
    goods: Text | None = None
    """What went into the cartons of the last job."""

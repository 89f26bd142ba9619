"""What is on the press now, where it is told by itself and not by the ticket of the last job."""

from __future__ import annotations

from typing import Annotated

from preflight.inputs.fields import ClosedKeys, Text, TextOrBlank, word
from preflight.kinds import COATINGS, INK_SYSTEMS


class PressState(ClosedKeys):
    """``on_press: [Mustard, null, …]``, the coating in the coater, the ink system that the rollers are for."""

    on_press: tuple[TextOrBlank, ...]
    """What is on unit 1, 2, …; null where the unit is clean."""
    coater: Annotated[str, word(*COATINGS, open_list=True)] | None = None
    ink_system: Annotated[str, word(*INK_SYSTEMS)] | None = None
    goods: Text | None = None
    """What went into the cartons of the last job."""

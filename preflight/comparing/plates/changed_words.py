"""Words that changed by less than is seen of artwork: a comma for a point is looked for where the text tells of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from preflight.artwork.page.geometry import Box
from preflight.comparing.comparison import ChangedText, PlateChange, PlatePair
from preflight.comparing.pages.changed_text import meet
from preflight.comparing.pixels.local_edits import box_of
from preflight.measures.raster import masks

LOOK_DPI: Final = 600.0
AROUND_MM: Final = 0.3
"""Round a word that is looked at: its box is that of its letters, more or less."""
LEVELS: Final = 64
"""Of 255, by which pixels of two drawings of one thing do not differ."""
LEAST_MM2: Final = 0.004
"""Of such pixels: a point of 4 pt type has 0.02 mm2, and its tail as a comma a quarter of that."""
MOST_WORDS: Final = 60

Closer = Callable[[str, str], Callable[[Box, float], PlatePair]]


def with_changed_words(
    plates: Sequence[PlateChange], texts: Sequence[ChangedText], closer: Closer, page: int
) -> list[PlateChange]:
    """The plates, those edited on which a word is another one though no edit was found there.

    Args:
        plates: of one page, as far as they were compared.
        texts: words that changed on it.
        closer: draws a part of a pair of plates, of these names in OLD and NEW.
        page: number of the page.
    """
    held = list(plates)
    for text in texts[:MOST_WORDS]:
        if any(meet(box, text.box_mm) for plate in held for box, _ in (*plate.places, *plate.outside)):
            continue
        for at, plate in enumerate(held):
            if plate.change != "none":
                continue
            place = _differs(closer(plate.name, plate.name)(_grown(text.box_mm), LOOK_DPI))
            if place is not None:
                said = f"edited in 1 place: {text.old or 'nothing'} is {text.new or 'gone'}"
                held[at] = replace(plate, change="local", places=((place, page),), says=said)
    return held


def _differs(pair: PlatePair) -> Box | None:
    """Where both plates differ inside the cut; None where they do not by enough to be seen in print."""
    away = (np.abs(pair.old.astype(np.int16) - pair.new) > LEVELS) & pair.inside
    mm = 25.4 / pair.dpi
    if away.sum() * mm * mm < LEAST_MM2:
        return None
    return box_of(pair, *masks.around(away, 0))


def _grown(box: Box) -> Box:
    return (box[0] - AROUND_MM, box[1] - AROUND_MM, box[2] + AROUND_MM, box[3] + AROUND_MM)

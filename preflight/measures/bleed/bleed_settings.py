"""Settings of a search for bleed: from where ink counts, how far one looks, what is an end and what a shape."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.plates import Plates
from preflight.measures.bleed.level_ends import Lengths
from preflight.measures.bleed.repeating_patterns import Pattern
from preflight.measures.one_ink import one_ink_groups
from preflight.measures.raster.profiles import Floats, Stations, tints_along

SPACING_MM: Final = 0.5
TOUCH_MM: Final = (-0.5, -0.3)
"""Where ink has to stand, inside the blank, to touch the cut."""
BEYOND_MM: Final = (0.12, 0.3)
"""How far past its end a colour is looked at to see what it has lost and what follows."""


@dataclass(frozen=True)
class BleedSettings:
    """What a search goes by; lengths in mm, ink from a tint of ``threshold`` of 255."""

    names: tuple[str, ...]
    look_mm: float
    threshold: float
    share: float
    """What has to be kept of the colour inside the cut, 0..1."""
    shortest_mm: float
    aslant: float
    line_mm: float
    """Lines in another ink that are no wider are looked through."""
    pattern: Pattern

    change_mm: float
    """An end that another colour follows is the edge of a shape where it is shorter."""
    another: float
    """A total of tints, of 255, from which on what follows is another colour, and not as good as bare board."""
    rim_mm: float
    """An end that goes on into slopes is the rim of a shape where its level part is shorter."""

    @property
    def shortest(self) -> int:
        """The shortest stretch in stations."""
        return max(1, round(self.shortest_mm / SPACING_MM))

    @cached_property
    def lengths(self) -> Lengths:
        """How long an end has to run along the cut, in stations."""
        change, rim, ragged = (round(mm / SPACING_MM) for mm in (self.change_mm, self.rim_mm, self.pattern.motif_mm))
        return Lengths(self.shortest, change, rim, ragged, SPACING_MM, self.aslant)

    def tints(self, plates: Plates, at: Stations, offsets_mm: Floats) -> NDArray[np.float32]:
        """See ``tints_along``; what several names of one ink put down counts for the first of them."""
        names = list(self.names)
        tints = tints_along(plates, names, at, offsets_mm)
        for group in one_ink_groups(names):
            first, *others = [names.index(name) for name in group]
            tints[first] += tints[others].sum(0)
            tints[others] = 0
        return tints

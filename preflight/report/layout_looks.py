"""How a layout is drawn: sizes as they come out on A3, dashes and hatchings that tell lines and areas apart."""

from __future__ import annotations

from typing import Final

from preflight.carton.areas import GLUE_FLAP

A3_MM: Final = (400.0, 277.0)
"""What a printer leaves of A3."""
LEFT, RIGHT, TOP, BOTTOM = 33.0, 10.0, 24.0, 46.0
"""Margins round the sheet, as they come out on A3; mm."""
DIMENSIONS: Final = 33.0
"""What of the margin below the sheet the dimensions take."""
TYPE, SMALL = 3.2, 2.6
"""Type as it comes out on A3; mm."""
HATCHED: Final = {GLUE_FLAP: 45.0, "code": 135.0}
"""Kind of an area to the direction of its hatching; others have an outline alone."""
FOLDS: Final = {"crease": (2.4, 1.2), "perforate": (0.5, 0.7), "half-cut": (2.4, 0.7, 0.5, 0.7)}
"""Role to its dashes, as they come out on A3; mm."""
FOLD_WORDS: Final = {"crease": "crease", "perforate": "perforation", "half-cut": "half-cut"}
FOLDS_UNTOLD: Final = ("crease",)
"""Roles of a blank's folds where they are not told apart."""

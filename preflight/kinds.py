"""The trade's closed word lists that press, ticket and artwork share.

A *kind* says what a separation is; the lists of ink systems, coatings and dryers say what a press can do with it.
"""

from __future__ import annotations

from typing import Final

PRINTING_KINDS: Final = ("process", "spot", "metallic", "white", "varnish", "primer")
DIE_KINDS: Final = ("cut", "crease", "perforate", "half-cut")
NON_PRINTING_KINDS: Final = (
    *DIE_KINDS,
    "glue",
    "window",
    "emboss",
    "foil",
    "braille",
    "guide",
    "ignore",
)
KINDS: Final = (*PRINTING_KINDS, *NON_PRINTING_KINDS)

UV_LAMPS: Final = ("uv", "led-uv", "low-energy-uv")
DRYERS: Final = ("ir", "hot-air")
INK_SYSTEMS: Final = (*UV_LAMPS, "oxidising", "hybrid")
COATINGS: Final = (*UV_LAMPS, "water-based", "oil-based", "primer")
"""Coatings with a usual name; a plant may use others of its own."""

SAME_WORD: Final = {
    "conventional": "oxidising",
    "oxidizing": "oxidising",
    "oxidative": "oxidising",
    "aqueous": "water-based",
    "dispersion": "water-based",
    "half cut": "half-cut",
    "fold": "crease",
    "score": "crease",
    "perforation": "perforate",
}
"""Other words for the same thing; values are the ones used everywhere else."""

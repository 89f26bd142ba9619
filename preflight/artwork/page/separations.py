"""Separations: a named colorant in the file and its kind.

The kind comes from, in this order: the ticket, an ISO 19593-1 processing step that owns the separation,
rules/names.yaml, or nobody, and then it is a spot that prints (that is no guess).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from preflight.findings import Known
from preflight.inputs.kind_names import NamesTable, classify, load_names, process_ink_called

__all__ = [
    "DIE_KINDS",
    "KINDS",
    "NON_PRINTING_KINDS",
    "PRINTING_KINDS",
    "PROCESS",
    "SHOWN_AT",
    "Alternate",
    "NamesTable",
    "Separation",
    "classify",
    "load_names",
    "process_ink_called",
]

PROCESS: Final = ("Cyan", "Magenta", "Yellow", "Black")
PRINTING_KINDS: Final = frozenset({"process", "spot", "metallic", "white", "varnish", "primer"})
DIE_KINDS: Final = frozenset({"cut", "crease", "perforate", "half-cut"})
NON_PRINTING_KINDS: Final = DIE_KINDS | {"glue", "window", "emboss", "foil", "braille", "guide", "ignore"}
KINDS: Final = PRINTING_KINDS | NON_PRINTING_KINDS


SHOWN_AT: Final = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Tints at which alternate colours are looked up, bare to solid."""


@dataclass(frozen=True)
class Alternate:
    """How one colour space has a separation shown where it is not printed as a plate (ISO 32000-2, 8.6.6.4)."""

    space: str
    """``CMYK`` (0..1), ``RGB`` (0..1) or ``Lab``; empty where it cannot be read."""
    colours: tuple[tuple[float, ...], ...]
    """Its colour at each of ``SHOWN_AT``."""
    page: int
    boxes_mm: tuple[tuple[float, float, float, float], ...] = ()
    """The first places where that page paints in it, as displayed; none of the first colour space of a name."""


@dataclass(frozen=True)
class Separation:
    """One named colorant. ``name`` is as people wrote it (``#xx`` decoded; UTF-8, else Latin-1)."""

    name: str
    kind: str
    because: str
    """Where the kind comes from, in words: ``named in rules/names.yaml (Silver)``."""
    known: Known = "read"
    looks_rgb: tuple[int, int, int] | None = None
    """Solid ink on the screen, sRGB 0..255, from the file's alternate colour; None where the file gives none."""

    @property
    def on_plate(self) -> bool:
        """Whether ink of this kind goes on a plate."""
        return self.kind in PRINTING_KINDS

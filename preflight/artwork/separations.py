"""Separations: a named colorant in the file and its kind.

The kind comes from, in this order: the ticket, an ISO 19593-1 processing step that owns the separation,
rules/names.yaml, or nobody, and then it is a spot that prints (that is no guess).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from preflight.artwork.names import NamesTable, classify, load_names, process_ink_called
from preflight.findings import Known

__all__ = [
    "DIE_KINDS",
    "KINDS",
    "NON_PRINTING_KINDS",
    "PRINTING_KINDS",
    "PROCESS",
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

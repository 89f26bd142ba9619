"""The die: blanks, the inside of the cut, creases, the glue flap as a guess with its reason."""

from __future__ import annotations

from preflight.carton.blank import Area, Blank, CutEdge, Die, OpenCut
from preflight.carton.building import build_die
from preflight.carton.collecting import is_die_layer, read_die, shapes_of
from preflight.carton.lines import DieLine

__all__ = [
    "Area", "Blank", "CutEdge", "Die", "DieLine", "OpenCut", "build_die", "is_die_layer", "read_die", "shapes_of",
]  # fmt: skip

"""The die: blanks, the inside of the cut, creases, the glue flap as a guess with its reason."""

from __future__ import annotations

from preflight.carton.blank import Area, Blank, CutEdge, Die, OpenCut
from preflight.carton.building import build_die
from preflight.carton.collecting import read_die
from preflight.carton.lines import DieLine

__all__ = ["Area", "Blank", "CutEdge", "Die", "DieLine", "OpenCut", "build_die", "read_die"]

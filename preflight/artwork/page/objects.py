"""The table of painted objects: columns, one row for each fill, stroke, text, image or shading.

Rows stand in painting order. All places are millimetres from the lower-left corner of the page as displayed.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.colours import Colours


class Painted(IntEnum):
    """What was painted; ``B`` makes a FILL row and a STROKE row."""

    FILL = 0
    STROKE = 1
    TEXT = 2
    IMAGE = 3
    IMAGE_MASK = 4
    SHADING = 5


@dataclass(frozen=True)
class ImageFacts:
    """What an image says of itself."""

    name: str
    width_px: int
    height_px: int
    bits: int
    is_mask: bool
    """A stencil painted in the current colour."""
    is_soft_mask_only: bool = False
    flat: bool = False
    """Every pixel the same (known only where the samples were decoded)."""


@dataclass(frozen=True)
class FontFacts:
    """What a font says of itself."""

    name: str
    embedded: bool
    """Its program is in the file (Type 3 glyphs always are)."""
    type3: bool = False


@dataclass
class ObjectTable(ABC):
    """Columns of equal length n.

    Raises:
        nothing; a row index out of range is numpy's IndexError.
    """

    painted: NDArray[np.uint8]
    box_mm: NDArray[np.float32]  # (n, 4) as drawn, line width included, before clipping
    shown_mm: NDArray[np.float32]  # (n, 4) box_mm cut by the clip and the page; all zero where nothing shows
    visible: NDArray[np.bool_]  # something of it shows: layer on, inside the clip, not render mode 3
    colour: NDArray[np.int32]  # index into colours
    overprint: NDArray[np.bool_]  # OP for strokes, op for all else
    opm: NDArray[np.uint8]
    alpha: NDArray[np.float32]
    line_width_mm: NDArray[np.float32]  # strokes: as drawn, smaller of the two directions; 0 else
    text_size_pt: NDArray[np.float32]  # text: as drawn, after every matrix, in 1/72 in; 0 else
    ppi: NDArray[np.float32]  # images: smaller of the two directions, as drawn; 0 else
    font: NDArray[np.int32]  # index into fonts, -1 for none
    image: NDArray[np.int32]  # index into images, -1 for none
    layer: NDArray[np.int32]  # index into Page.layers, -1 for none
    dashed: NDArray[np.bool_]
    colours: Colours
    fonts: list[FontFacts]
    images: list[ImageFacts]

    def __len__(self) -> int:
        return len(self.painted)

    def in_separation(self, name: str) -> NDArray[np.bool_]:
        """Rows whose colour names the separation (at any tint, registration colour excepted)."""
        named = self.colours.where_named(name, lambda family: not family.registration)
        return named[self.colour] if len(self) else np.zeros(0, bool)

    @abstractmethod
    def paths(self, rows: NDArray[np.int_]) -> list[list[NDArray[np.float64]]]:
        """Outlines of FILL and STROKE rows: for each row its subpaths, each (k, 2) in mm, curves flattened
        to 0.02 mm; a closed subpath repeats its first point. Text, images and shadings give an empty list.
        """

"""What a mark is, by its looks: a cross or a target, a solid bar at a side edge, lines, or nobody knows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from preflight.artwork.page.geometry import Box
from preflight.measures.raster import masks
from preflight.quantities import Size

Kind = Literal["register", "side guide", "centre", "die-cut", "unknown"]

REGISTER_MM: Final = (2.5, 25.0)
ABOUT_SQUARE: Final = 2.0
LINE_ART: Final = 0.6
"""Of its box, what a register mark covers at most: the lines of 0.5 mm of a cross of 3 mm, as pixels show them."""
RUNS_THROUGH: Final = 0.6
SYMMETRIC: Final = 0.85
SOLID: Final = 0.6
SIDE_GUIDE_MM: Final = (0.8, 40.0)
"""Thinnest, and longest."""
THICKEST_SIDE_GUIDE_MM: Final = 15.0
NEAR_EDGE_MM: Final = 12.0
"""From a side edge to the mark: what press and plate leave unprinted there."""
ON_CENTRE_MM: Final = 2.0
THIN_MM: Final = 1.0
LONGEST_LINE_MM: Final = 40.0


@dataclass(frozen=True)
class Looks:
    """What is seen of a mark."""

    box_mm: Box
    """In the sheet's frame."""
    mask: masks.Mask
    """Inked pixels of its box on the page, and of a rim of one pixel."""
    mm_per_px: float
    sheet: Size
    registration: bool
    """Something of it is painted in registration colour."""
    objects: int

    @property
    def sides_mm(self) -> tuple[float, float]:
        """The shorter and the longer one."""
        x0, y0, x1, y1 = self.box_mm
        short, long = sorted((x1 - x0, y1 - y0))
        return short, long

    @property
    def filled(self) -> float:
        """Share of its box that is inked."""
        rows, columns = masks.around(self.mask, 0)
        inner = self.mask[rows, columns]
        return float(inner.mean()) if inner.size else 0.0


def kind_of(looks: Looks) -> Kind:
    """The kind of a mark that is neither a patch of a bar nor type."""
    if _is_register(looks):
        return "register"
    if _is_side_guide(looks):
        return "side guide"
    if _is_line(looks):
        return "centre" if _on_centre(looks) else "die-cut"
    return "unknown"


def _is_register(looks: Looks) -> bool:
    """A cross, a circle or both: about square, line art, alike from all four sides."""
    short, long = looks.sides_mm
    if short < REGISTER_MM[0] or long > REGISTER_MM[1] or long > ABOUT_SQUARE * short:
        return False
    rows, columns = masks.around(looks.mask, 0)
    mask = looks.mask[rows, columns]
    if not mask.any() or looks.filled > LINE_ART:
        return False
    wide = masks.put_on(mask, 1.5)
    if any(float(wide[mask_flipped].mean()) < SYMMETRIC for mask_flipped in (mask[::-1], mask[:, ::-1])):
        return False
    return looks.registration or _has_cross(mask)


def _has_cross(mask: masks.Mask) -> bool:
    """A line runs through the middle, each way."""
    height, width = mask.shape
    across = mask[height // 3 : height - height // 3].mean(axis=1).max(initial=0.0)
    down = mask[:, width // 3 : width - width // 3].mean(axis=0).max(initial=0.0)
    return bool(min(across, down) >= RUNS_THROUGH)


def _is_side_guide(looks: Looks) -> bool:
    """A small solid bar at the left or the right edge of the sheet."""
    short, long = looks.sides_mm
    if short < SIDE_GUIDE_MM[0] or long > SIDE_GUIDE_MM[1] or short > THICKEST_SIDE_GUIDE_MM or looks.filled < SOLID:
        return False
    x0, _, x1, _ = looks.box_mm
    return min(x0, looks.sheet.across_mm - x1) <= NEAR_EDGE_MM


def _is_line(looks: Looks) -> bool:
    """Thin lines, alone or a corner of two, as die-cutters and folders look for."""
    short, long = looks.sides_mm
    return long <= LONGEST_LINE_MM and (short <= THIN_MM or looks.filled <= LINE_ART / 2)


def _on_centre(looks: Looks) -> bool:
    x0, y0, x1, y1 = looks.box_mm
    across, along = (x0 + x1) / 2 - looks.sheet.across_mm / 2, (y0 + y1) / 2 - looks.sheet.along_mm / 2
    return min(abs(across), abs(along)) <= ON_CENTRE_MM

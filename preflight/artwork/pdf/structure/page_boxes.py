"""Page boxes as displayed, in millimetres, and the matrix that brings the page's own space there.

Clauses are those of ISO 32000-2. MediaBox, CropBox and Rotate are inherited down the page tree, the other boxes are
not (7.7.3.4, table 31); corners may stand in any order (7.9.5); Rotate turns clockwise and only on display (table 31).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import pikepdf

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.page import PageBoxes
from preflight.artwork.pdf.structure.values import items, lookup, number

MM_PER_PT: Final = 25.4 / 72
US_LETTER_PT: Final[Box] = (0.0, 0.0, 612.0, 792.0)
"""Stands in for a media box that is missing or unusable, as in qpdf and most readers."""
MOST_TREE_LEVELS: Final = 64
SMALLEST_PT: Final = 0.01
LARGEST_PT: Final = 1_000_000.0
USUAL_LARGEST_PT: Final = 14_400.0
"""Largest side that older readers take (annex C)."""
CUT_TOLERANCE_PT: Final = 0.01
SHOWN_LESS_MM: Final = 0.5
"""A CropBox that leaves out less than this is the page."""

Matrix = tuple[float, float, float, float, float, float]


@dataclass(frozen=True)
class PageGeometry:
    """How a page lies: its boxes, its size as displayed, and the way from its own space to millimetres."""

    boxes: PageBoxes
    width_mm: float
    height_mm: float
    rotate: int
    """0, 90, 180 or 270, clockwise."""
    user_unit: float
    to_mm: Matrix
    """x' = a x + c y + e; y' = b x + d y + f, from default user space to mm as displayed."""
    media_pt: Box
    """In default user space, corners in order."""


def read_page_geometry(page: Any) -> PageGeometry:
    """Geometry of a page; never raises. What had to be tidied stands in ``boxes.remarks``."""
    holder = page.obj if isinstance(page, pikepdf.Page) else page
    remarks: list[str] = []
    media = _media(holder, remarks)
    rotate = _rotate(_inherited(holder, "Rotate"), remarks)
    user_unit = _user_unit(lookup(holder, "UserUnit"), media, remarks)
    to_mm = _to_mm(media, rotate, user_unit)
    found = {
        key: _inner_box(key, entry, media, remarks)
        for key, entry in [
            ("CropBox", _inherited(holder, "CropBox")),
            *((key, lookup(holder, key)) for key in ("BleedBox", "TrimBox", "ArtBox")),
        ]
    }
    crop, bleed, trim, art = (box and box_to_mm(box, to_mm) for box in found.values())
    media_mm = box_to_mm(media, to_mm)
    if crop is not None and max(abs(ours - whole) for ours, whole in zip(crop, media_mm, strict=True)) > SHOWN_LESS_MM:
        shown, whole_page = (f"{box[2] - box[0]:.0f} x {box[3] - box[1]:.0f} mm" for box in (crop, media_mm))
        remarks.append(
            f"viewers show only {shown} of the {whole_page} page (CropBox); the whole page (MediaBox) is checked"
        )
    boxes = PageBoxes(media_mm, crop, bleed, trim, art, tuple(remarks))
    return PageGeometry(boxes, media_mm[2], media_mm[3], rotate, user_unit, to_mm, media)


def box_to_mm(box: Box, to_mm: Matrix) -> Box:
    """Box of default user space as displayed, in mm, corners in order; turns by 90 degrees only."""
    a, b, c, d, e, f = to_mm
    xs = [a * x + c * y + e for x, y in ((box[0], box[1]), (box[2], box[3]))]
    ys = [b * x + d * y + f for x, y in ((box[0], box[1]), (box[2], box[3]))]
    # the media box's own corner comes out as a rounding error instead of 0
    x0, y0 = (value if abs(value) > 1e-9 else 0.0 for value in (min(xs), min(ys)))
    return x0, y0, max(xs), max(ys)


def _inherited(page: Any, key: str) -> Any:
    """Entry of the page or of the nearest node of the page tree that has it."""
    node = page
    for _ in range(MOST_TREE_LEVELS):
        value = lookup(node, key)
        if value is not None or node is None:
            return value
        node = lookup(node, "Parent")
    return None


def _media(page: Any, remarks: list[str]) -> Box:
    box = _read_box("MediaBox", _inherited(page, "MediaBox"), remarks)
    if box is None:
        remarks.append("the MediaBox is missing or unusable; the page is taken as US Letter, 215.9 x 279.4 mm")
        return US_LETTER_PT
    if max(box[2] - box[0], box[3] - box[1]) > USUAL_LARGEST_PT:
        remarks.append(f"the MediaBox is larger than {USUAL_LARGEST_PT:.0f} units, which not every program takes")
    return box


def _read_box(key: str, entry: Any, remarks: list[str]) -> Box | None:
    if entry is None:
        return None
    values = [number(value) for value in items(entry, 5)]
    if len(values) > 4:
        remarks.append(f"the {key} has more than four numbers; the first four are used")
    x0, y0, x1, y1 = [*values[:4], None, None, None, None][:4]
    if x0 is None or y0 is None or x1 is None or y1 is None:
        remarks.append(f"the {key} is not made of four numbers")
        return None
    if x1 < x0 or y1 < y0:
        remarks.append(f"the corners of the {key} are in reverse order")
    box = (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    sides = box[2] - box[0], box[3] - box[1]
    if min(sides) < SMALLEST_PT or max(sides) > LARGEST_PT:
        remarks.append(f"the {key} has no usable size ({sides[0]:g} x {sides[1]:g} units)")
        return None
    return box


def _inner_box(key: str, entry: Any, media: Box, remarks: list[str]) -> Box | None:
    """Box other than the media box, cut to it (14.11.2.1); None where nothing usable is left."""
    box = _read_box(key, entry, remarks)
    if box is None:
        return None
    cut = (max(box[0], media[0]), max(box[1], media[1]), min(box[2], media[2]), min(box[3], media[3]))
    if cut[2] - cut[0] < SMALLEST_PT or cut[3] - cut[1] < SMALLEST_PT:
        remarks.append(f"the {key} lies outside the MediaBox")
        return None
    past = max(abs(ours - theirs) for ours, theirs in zip(cut, box, strict=True))
    if past > CUT_TOLERANCE_PT:
        remarks.append(f"the {key} runs {past * MM_PER_PT:.1f} mm past the MediaBox and is cut to it")
    return cut


def _rotate(entry: Any, remarks: list[str]) -> int:
    if entry is None:
        return 0
    angle = number(entry)
    if angle is None or angle % 90:
        remarks.append("Rotate is not a multiple of 90; the page is not turned")
        return 0
    return int(angle) % 360


def _user_unit(entry: Any, media: Box, remarks: list[str]) -> float:
    if entry is None:
        return 1.0
    unit = number(entry)
    if unit is None or unit <= 0:
        remarks.append("UserUnit is not a number above 0; 1 is used")
        return 1.0
    longer, shorter = sorted((media[2] - media[0], media[3] - media[1]), reverse=True)
    if longer * unit > LARGEST_PT or shorter * unit < SMALLEST_PT:
        remarks.append(f"UserUnit {unit:g} gives the page no usable size; 1 is used")
        return 1.0
    return unit


def _to_mm(media: Box, rotate: int, user_unit: float) -> Matrix:
    k = MM_PER_PT * user_unit
    x0, y0, x1, y1 = (value * k for value in media)
    return {
        0: (k, 0.0, 0.0, k, -x0, -y0),
        90: (0.0, -k, k, 0.0, -y0, x1),
        180: (-k, 0.0, 0.0, -k, x1, y1),
        270: (0.0, k, -k, 0.0, y1, -x0),
    }[rotate]

"""Plates of two pages on one grid, drawn through windows that lie alike in their frame, so that edges fall alike.

Of each plate the packed pixels are kept and a digest of them, so that what is equal is known without being unpacked.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from isal import isal_zlib
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.page import Page
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.comparing.comparison import PlatePair
from preflight.comparing.pages.shared_frame import SharedFrame

DPI: Final = 150.0
MOST_PX: Final = 60_000_000
"""Of the whole grid; a page of two metres is compared more coarsely."""
MOST_BYTES_AT_ONCE: Final = 200_000_000
MOST_PX_AT_ONCE: Final = 30_000_000
PRINTS_FROM: Final = 5
"""Levels of 255: 2 %, from which on a pixel counts as printed."""
FULLEST_RIM: Final = 70
"""What is left on a pixel at the edge of a shape that another one covers; see DEVELOPERS.md."""
CLOSE_LOOKS_KEPT: Final = 4

Closer = Callable[[Box, float], PlatePair]
"""The same plate in a box of NEW's page at another resolution."""


@dataclass(frozen=True)
class PackedPlate:
    """One plate of a page, packed."""

    shape: tuple[int, int]
    digest: bytes
    """Of its pixels; equal plates have equal ones."""
    prints: bool
    """There is more on it than the rims of shapes that are painted over."""
    bands: tuple[bytes, ...]
    """Packed rows, from the top."""

    @property
    def ink(self) -> NDArray[np.uint8]:
        """Its pixels, (height, width)."""
        return np.frombuffer(b"".join(map(isal_zlib.decompress, self.bands)), np.uint8).reshape(self.shape)


@dataclass(frozen=True)
class AlignedPlates:
    """All plates of two pages on one grid, in NEW's frame."""

    old: Mapping[str, PackedPlate]
    new: Mapping[str, PackedPlate]
    inside: NDArray[np.bool_]
    """Pixels inside the cut; all of them where there is no die."""
    dpi: float
    box_mm: Box
    """On NEW's page."""
    uncertain: tuple[UncertainPlace, ...]
    """Where something is missing on either, on NEW's page."""
    pages: tuple[Page, Page]
    frame: SharedFrame
    inside_of: BaseGeometry | None
    _looks: dict[tuple[Box, float], tuple[Plates, Plates]] = field(default_factory=dict, repr=False, compare=False)

    def pair(self, old: str, new: str) -> PlatePair:
        """A plate of OLD beside one of NEW; bare where a page has no such plate."""
        bare = np.zeros(self.inside.shape, np.uint8)
        one, other = (
            plates[name].ink if name in plates else bare for plates, name in ((self.old, old), (self.new, new))
        )
        return PlatePair(one, other, self.inside, self.dpi, self.box_mm)

    def closer(self, old: str, new: str) -> Closer:
        """Draws a part of such a pair at another resolution."""

        def look(box_mm: Box, dpi: float) -> PlatePair:
            box = _whole(box_mm, dpi)
            if (box, dpi) not in self._looks:
                while len(self._looks) >= CLOSE_LOOKS_KEPT:
                    self._looks.pop(next(iter(self._looks)))
                self._looks[box, dpi] = windows(*self.pages, self.frame, box, dpi)
            one, other = self._looks[box, dpi]
            inside = inside_mask(self.inside_of, other)
            return PlatePair(one.tint(old), other.tint(new), inside, other.dpi, other.box_mm)

        return look


def aligned_plates(
    old: Page, new: Page, frame: SharedFrame, inside_of: BaseGeometry | None = None, dpi: float = DPI
) -> AlignedPlates:
    """Draw two pages on one grid that holds both.

    Args:
        old: a page.
        new: the page that it is compared with.
        frame: how OLD lies on NEW.
        inside_of: what lies inside the cut, on NEW's page.
        dpi: pixels to the inch; fewer where the pages are too large for it.

    Raises:
        NotMeasured: a page cannot be drawn.
    """
    box, dpi = grid(old, new, frame, dpi)
    packed: tuple[dict[str, _Packing], dict[str, _Packing]] = ({}, {})
    uncertain = dict[UncertainPlace, None]()
    for band in _bands(box, dpi, max(len(_printing(old)), len(_printing(new)), 1)):
        for kept, plates in zip(packed, _windows(old, new, frame, band, dpi), strict=True):
            uncertain |= dict.fromkeys(plates.uncertain)
            for name in plates.names:
                kept.setdefault(name, _Packing()).add(plates.tint(name))
    bare = Plates((), np.zeros((0, *_size_px(box, dpi)), np.uint8), dpi, box)
    old_plates, new_plates = ({name: packing.plate for name, packing in kept.items()} for kept in packed)
    inside = inside_mask(inside_of, bare)
    return AlignedPlates(old_plates, new_plates, inside, dpi, box, tuple(uncertain), (old, new), frame, inside_of)


def windows(old: Page, new: Page, frame: SharedFrame, box_mm: Box, dpi: float) -> tuple[Plates, Plates]:
    """Both pages in one box of NEW's page, pixel on pixel; OLD's is turned as the frame says.

    The box is taken to whole pixels from its upper-left corner. Off its own page each is bare.

    Raises:
        NotMeasured: a page cannot be drawn.
    """
    one, other = _windows(old, new, frame, _whole(box_mm, dpi), dpi)
    return one, other


def grid(old: Page, new: Page, frame: SharedFrame, dpi: float, most_px: int = 0) -> tuple[Box, float]:
    """A box of NEW's page that holds both pages, whole pixels wide and high, and the resolution that it is drawn at."""
    boxes = np.array([frame.on_new(old.box_mm), new.box_mm])
    boxes[np.abs(boxes) < 1e-6] = 0.0
    (x0, y0), (x1, y1) = boxes[:, :2].min(0).tolist(), boxes[:, 2:].max(0).tolist()
    px = (x1 - x0) * (y1 - y0) * (dpi / 25.4) ** 2
    most_px = most_px or MOST_PX
    if px > most_px:
        dpi *= math.sqrt(most_px / px)
    return _whole((x0, y0, x1, y1), dpi), dpi


def inside_mask(shape: BaseGeometry | None, plates: Plates) -> NDArray[np.bool_]:
    """Pixels of a window inside a shape; all of them where there is none."""
    if shape is None or shape.is_empty:
        return np.ones(plates.ink.shape[1:], np.bool_)
    return plates.mask_of(shape)


class _Packing:
    """A plate that comes in bands."""

    def __init__(self) -> None:
        self.bands: list[bytes] = []
        self.digest = hashlib.blake2b(digest_size=20)
        self.rows = self.width = 0
        self.prints = False

    def add(self, ink: NDArray[np.uint8]) -> None:
        ink = np.ascontiguousarray(ink)
        self.digest.update(ink.data)
        self.bands.append(isal_zlib.compress(ink.data, 0))
        self.rows, self.width = self.rows + ink.shape[0], ink.shape[1]
        self.prints = self.prints or _prints(ink)

    @property
    def plate(self) -> PackedPlate:
        return PackedPlate((self.rows, self.width), self.digest.digest(), self.prints, tuple(self.bands))


def _prints(ink: NDArray[np.uint8]) -> bool:
    """Whether there is full ink somewhere, or some ink on three pixels each way: rims are fainter and narrower."""
    if int(ink.max(initial=0)) < PRINTS_FROM:
        return False
    if int(ink.max()) > FULLEST_RIM:
        return True
    there = ink >= PRINTS_FROM
    for _ in range(2):
        there = there[:-1, :-1] & there[1:, :-1] & there[:-1, 1:] & there[1:, 1:]
    return bool(there.any())


def _windows(old: Page, new: Page, frame: SharedFrame, box: Box, dpi: float) -> Iterator[Plates]:
    """One after the other, so that not both need be held; the places of OLD's are brought to NEW's page."""
    drawn = _drawn(old, frame.on_old(box), dpi, frame.turns)
    ink = np.rot90(drawn.ink, frame.turns, axes=(1, 2))
    uncertain = tuple(
        UncertainPlace(place.because, frame.on_new(place.box_mm), place.inks, place.unread) for place in drawn.uncertain
    )
    yield Plates(drawn.names, ink, drawn.dpi, box, uncertain)
    del drawn, ink
    drawn = _drawn(new, box, dpi)
    yield Plates(drawn.names, drawn.ink, drawn.dpi, box, drawn.uncertain)


def _drawn(page: Page, box: Box, dpi: float, turns: int = 0) -> Plates:
    """A window of a page, bare where it is off the page; drawn as it lies once it is turned."""
    plates = page.window(box, dpi, turned=turns)
    rows, columns = plates.slices(page.box_mm)
    height, width = plates.ink.shape[1:]
    if (rows.start, rows.stop, columns.start, columns.stop) == (0, height, 0, width):
        return plates
    ink = np.zeros_like(plates.ink)
    ink[:, rows, columns] = plates.ink[:, rows, columns]
    return Plates(plates.names, ink, plates.dpi, plates.box_mm, plates.uncertain)


def _printing(page: Page) -> list[str]:
    return [separation.name for separation in page.separations if separation.on_plate]


def _bands(box: Box, dpi: float, plates: int) -> Iterator[Box]:
    """The box, or bands of it from the top, of no more pixels than are drawn at once."""
    height, width = _size_px(box, dpi)
    rows = max(1, min(MOST_PX_AT_ONCE, MOST_BYTES_AT_ONCE // plates) // width)
    mm = 25.4 / dpi
    for top in range(0, height, rows):
        yield (box[0], box[3] - min(height, top + rows) * mm, box[2], box[3] - top * mm)


def _size_px(box: Box, dpi: float) -> tuple[int, int]:
    """Height and width in pixels of a box that is whole pixels wide and high."""
    return max(1, round((box[3] - box[1]) * dpi / 25.4)), max(1, round((box[2] - box[0]) * dpi / 25.4))


def _whole(box: Box, dpi: float) -> Box:
    """The box, made whole pixels wide and high from its upper-left corner."""
    mm = 25.4 / dpi
    across, down = (math.ceil(side / mm - 1e-6) * mm for side in (box[2] - box[0], box[3] - box[1]))
    return (box[0], box[3] - max(down, mm), box[0] + max(across, mm), box[3])

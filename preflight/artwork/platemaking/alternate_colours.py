"""The alternate colours of spots: each way in which a file has one name shown where it is not printed as a plate.

Names that have a single colour space are not looked at: there is nothing to compare, and a file may have thousands.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import pikepdf
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.separations import PROCESS, SHOWN_AT, Alternate
from preflight.artwork.pdf.colour.colour_reader import MOST_COLORANTS, ColourReader
from preflight.artwork.pdf.colour.functions import read_functions
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.page_objects import PageObjects
from preflight.artwork.pdf.structure.values import identity, items, lookup, name_bytes
from preflight.errors import FunctionFault

MOST_OF_A_NAME: Final = 100
"""Colour spaces of one name that are compared; a file of hundreds of forms may hold one for each of them."""
MOST_BOXES: Final = 40
_NO_SPOTS: Final = (b"None", b"All", *(name.encode() for name in PROCESS))
_COLUMNS: Final = {"CMYK": 4, "RGB": 3, "Lab": 3}
_CMYK: Final = ("DeviceCMYK", "ICCBased-4")
_GRAY: Final = ("DeviceGray", "CalGray", "ICCBased-1")
_RGB: Final = ("DeviceRGB", "CalRGB", "ICCBased-3")


@dataclass
class _Defined:
    """One array that says how a separation is shown, and the page that paints in it first."""

    array: Any
    column: int
    """Which of a DeviceN space's colorants it is; 0 in a Separation space."""
    page: int
    boxes: list[Box] = field(default_factory=list)
    """Where on that page; not kept of a name's first one, which most files have no other beside."""


@dataclass
class AlternateReader:
    """Gathers the colour spaces that the pages of one file paint in, by the names of their separations."""

    colour_reader: ColourReader
    _found: dict[str, dict[object, _Defined]] = field(default_factory=dict)

    def take(self, content: PageContent, objects: PageObjects, page: int) -> None:
        """The spaces in which something of a page is painted; what is only named, or hidden, defines nothing."""
        used = _used(content, objects)
        for space, numbers in content.palette.in_spaces:
            if space.source is not None and used[numbers].any():
                boxes = None
                for name, array, column in self._definitions(space.source):
                    of_name = self._found.setdefault(name, {})
                    key = (identity(array), column)
                    if key not in of_name and len(of_name) < MOST_OF_A_NAME:
                        of_name[key] = _Defined(array, column, page)
                    if key in of_name and of_name[key].page == page and len(of_name) > 1:
                        boxes = _boxes(objects, numbers) if boxes is None else boxes
                        of_name[key].boxes += boxes

    def alternates(self) -> dict[str, tuple[Alternate, ...]]:
        """Of each name that has more than one colour space, the alternate colours of all of them as they come."""
        return {
            name: tuple(self._alternate(one) for one in of_name.values())
            for name, of_name in self._found.items()
            if len(of_name) > 1
        }

    def _definitions(self, source: Any) -> Iterator[tuple[str, Any, int]]:
        """Names of a space, each with the array that defines it: a DeviceN space may hold one for each colorant."""
        names = [source[1]] if name_bytes(source[0]) == b"Separation" else items(source[1], MOST_COLORANTS)
        colorants = lookup(source[4], "Colorants") if len(source) > 4 else None
        for column, name in enumerate(names):
            raw = name_bytes(name)
            if raw is None or raw in _NO_SPOTS:
                continue
            own = lookup(colorants, raw)
            if isinstance(own, pikepdf.Array) and len(own) > 3 and name_bytes(own[0]) == b"Separation":
                yield self.colour_reader.shown_name(name), own, 0
            else:
                yield self.colour_reader.shown_name(name), source, column

    def _alternate(self, defined: _Defined) -> Alternate:
        space, colours = self._colours(defined.array, defined.column)
        return Alternate(space, colours, defined.page, tuple(dict.fromkeys(defined.boxes))[:MOST_BOXES])

    def _colours(self, array: Any, column: int) -> tuple[str, tuple[tuple[float, ...], ...]]:
        """Colours of the one separation alone, at each tint; empty where they cannot be read."""
        try:
            count = 1 if name_bytes(array[0]) == b"Separation" else len(array[1])
            tints = np.zeros((len(SHOWN_AT), count))
            tints[:, column] = SHOWN_AT
            colours = read_functions(array[3])(tints)
            space = self.colour_reader.resolve(array[2], pikepdf.Dictionary())
        except (FunctionFault, pikepdf.PdfError, IndexError, ValueError, TypeError, ArithmeticError):
            return "", ()
        if space.family in _GRAY and colours.shape[1] == 1:
            colours = np.hstack([np.zeros((len(colours), 3)), 1 - colours])
        kind = (
            "Lab"
            if space.not_a_plate == "Lab"
            else "CMYK"
            if space.family in _CMYK + _GRAY
            else ("RGB" if space.family in _RGB else "")
        )
        if not kind or colours.shape[1] != _COLUMNS[kind] or not np.isfinite(colours).all():
            return "", ()
        return kind, tuple(tuple(round(value, 4) for value in row) for row in colours.tolist())


def _used(page: PageContent, objects: PageObjects) -> NDArray[np.bool_]:
    """For each colour whether something that shows is painted in it; cells of patterns and glyphs count as shown."""
    used = np.zeros(len(page.palette.entries), bool)
    used[objects.colour[objects.visible]] = True
    placed = np.bincount(objects.source[:, 0], minlength=len(page.streams)) > 0
    for content in page.streams:
        if not placed[content.number]:
            used[content.colour] = True
    return used


def _boxes(objects: PageObjects, numbers: NDArray[np.intp]) -> list[Box]:
    """Where the page paints in these colours, the first few places."""
    rows = np.flatnonzero(objects.visible & np.isin(objects.colour, numbers))[:MOST_BOXES]
    return [(x0, y0, x1, y1) for x0, y0, x1, y1 in objects.shown_mm[rows].astype(float).tolist()]

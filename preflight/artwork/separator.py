"""Plates of one page: which separations get one, which are rendered together, and the rendering."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import pikepdf

from preflight.artwork.boxes import PageGeometry
from preflight.artwork.content import Content
from preflight.artwork.flatten import PageObjects
from preflight.artwork.interpret import Interpreter
from preflight.artwork.objects import Box
from preflight.artwork.passes import Rendering, group_plates
from preflight.artwork.plates import Plates
from preflight.artwork.render import DerivedDocument, device_matrix, pixels
from preflight.artwork.rewrite import Rewriter
from preflight.artwork.states import painted_plates
from preflight.errors import NotMeasured

FINEST_DPI, COARSEST_DPI = 1200.0, 5.0
MOST_PIXELS = 60_000_000
MOST_PLATE_BYTES = 1_200_000_000
_KEPT_DOCUMENTS = 2


@dataclass
class Separator:
    """Renders the plates of one page; derived documents are kept for the resolutions last asked for."""

    owner: Interpreter
    content: Content
    objects: PageObjects
    geometry: PageGeometry
    source: pikepdf.Pdf
    plates: tuple[str, ...]
    """Separations that get a plate, process first."""
    faults: list[str] = field(default_factory=list)
    _kept: dict[tuple[float, frozenset[str]], tuple[DerivedDocument, list[Rendering]]] = field(default_factory=dict)

    def render(self, box_mm: Box, dpi: float, without: frozenset[str] = frozenset()) -> Plates:
        """Plates of a part of the page.

        Raises:
            NotMeasured: too many pixels or plates, or a construct that cannot be rendered truly.
        """
        if not 0 < dpi <= FINEST_DPI:
            raise ValueError(f"resolution {dpi} dpi")
        width, height = pixels(box_mm, dpi)
        if width * height > MOST_PIXELS:
            fitting = dpi * (MOST_PIXELS / (width * height)) ** 0.5 * 0.999
            if fitting < COARSEST_DPI:
                raise NotMeasured(f"the page is too large to make plates of ({width * height / 1e6:,.0f} Mpx)")
            return self.render(box_mm, fitting, without)
        if width * height * len(self.plates) > MOST_PLATE_BYTES:
            raise NotMeasured(f"{len(self.plates)} separations on a page of {width * height / 1e6:.1f} Mpx")
        ink = np.zeros((len(self.plates), height, width), np.uint8)
        document, renderings = self._derived(dpi, without)
        matrix = device_matrix(self.geometry.media_pt, self.geometry.to_mm, box_mm, dpi)
        for number, rendering in enumerate(renderings):
            channels = document.render(number, matrix, width, height)
            for channel, plate in enumerate(rendering.plates):
                ink[self.plates.index(plate)] = channels[:, :, channel]
        return Plates(self.plates, ink, dpi, box_mm)

    def _derived(self, dpi: float, without: frozenset[str]) -> tuple[DerivedDocument, list[Rendering]]:
        key = (dpi, without)
        if key not in self._kept:
            while len(self._kept) >= _KEPT_DOCUMENTS:
                oldest = next(iter(self._kept))
                self._kept.pop(oldest)[0].close()
            renderings = self._renderings(without)
            book = Rewriter(
                self.owner, self.geometry.to_mm, self.source, self._image_ppi(), without, pixel_mm=25.4 / dpi
            )
            derived = book.build(self.content, self.geometry.media_pt, renderings)
            if book.faults:
                raise NotMeasured("; ".join(dict.fromkeys(book.faults)))
            self._kept[key] = (DerivedDocument(derived), renderings)
        return self._kept[key]

    def _renderings(self, without: frozenset[str]) -> list[Rendering]:
        """Groups of plates, from the paint classes of everything that shows, pattern cells and glyphs included."""
        palette, states = self.owner.palette, self.owner.states
        colours, kinds = palette.colours(), palette.kinds()
        seen: set[tuple[object, ...]] = set()
        classes: set[frozenset[str]] = set()
        for content in self.owner.contents:
            rows = np.column_stack([content.colour, content.state, content.stroked])[~content.hidden]
            for colour, state, stroked in np.unique(rows, axis=0).tolist() if len(rows) else ():
                overprint = bool(states[state][1 if stroked else 0])
                opm = int(states[state][2])  # type: ignore[call-overload]
                key = (kinds[colour], overprint, opm)
                if key not in seen:
                    seen.add(key)
                    classes.add(painted_plates(colours[colour], overprint=overprint, opm=opm))
        return group_plates(self.plates, classes)

    def _image_ppi(self) -> dict[object, float]:
        """The coarsest placing of each image: what it is shrunk to must do for that one."""
        found: dict[object, float] = {}
        objects = self.objects
        for row in np.flatnonzero(objects.image >= 0).tolist():
            number, local, _ = objects.source[row].tolist()
            use = self.owner.contents[number].images.get(local)
            if use is not None:
                ppi = float(objects.ppi[row])
                found[use.key] = min(ppi, found.get(use.key, ppi))
        return found

    def close(self) -> None:
        """Let go of what is kept."""
        for document, _ in self._kept.values():
            document.close()
        self._kept.clear()


def printing_order(names: Sequence[str], process: Sequence[str]) -> tuple[str, ...]:
    """Process plates in their usual order, then the others as they came."""
    return tuple([name for name in process if name in names] + [name for name in names if name not in process])

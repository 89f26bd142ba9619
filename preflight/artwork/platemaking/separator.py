"""Plates of one page: which separations get one, which are rendered together, and the rendering."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np

from preflight.artwork.page.geometry import Box, times
from preflight.artwork.page.page import Alteration, Antialiasing
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import PROCESS
from preflight.artwork.page.uncertain_places import UncertainPlace, meeting
from preflight.artwork.pdf.content.graphics_state import painted_plates
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.page_objects import PageObjects
from preflight.artwork.pdf.content.stream_content import TilingCell
from preflight.artwork.pdf.content.where_shown import places_of_rows, rows_in_states
from preflight.artwork.pdf.structure.page_boxes import PageGeometry
from preflight.artwork.pdf.structure.values import lookup, number
from preflight.artwork.platemaking.alike_windows import AlikeWindows
from preflight.artwork.platemaking.blend_modes import (
    BLENDED_TOGETHER,
    DIFFERENT_ON_BARE_BOARD,
    NONSEPARABLE,
    NORMAL_ON_SPOTS,
)
from preflight.artwork.platemaking.composed_groups import plates_of_lights
from preflight.artwork.platemaking.derived_documents import AS_IT_IS, DerivedDocuments
from preflight.artwork.platemaking.derived_pdf import sorts_of_rows
from preflight.artwork.platemaking.downsampling import SHARP_FINER, downsampled
from preflight.artwork.platemaking.ink_boxes import ink_boxes_of_plates
from preflight.artwork.platemaking.pdfium import device_matrix, pixels, turned_raster
from preflight.artwork.platemaking.renderings import (
    Rendering,
    can_blend_together,
    for_nonseparable_modes,
    group_plates,
    plates_marked,
    rendering_of,
)
from preflight.artwork.platemaking.shared_channels import PACK_FROM, Boxes, Parting, apart_at, pack, parting_of, unpack
from preflight.errors import PageTooBig

FINEST_DPI, COARSEST_DPI = 1200.0, 5.0
MOST_PIXELS = 36_000_000
MOST_PLATES = 4000
MOST_PLATE_BYTES = 500_000_000
_CELL_PX = 10
_MOST_FINER = 4


@dataclass
class Separator:
    """Renders the plates of one page; derived documents are kept for the resolutions last asked for."""

    page_content: PageContent
    objects: PageObjects
    geometry: PageGeometry
    plates: tuple[str, ...]
    """Separations that get a plate, process first."""

    def __post_init__(self) -> None:
        self._partings: dict[tuple[tuple[str, ...], float], Parting] = {}
        self._grouped: dict[float, list[Rendering]] = {}
        self._packing = len(self.plates) > PACK_FROM
        self._not_together: tuple[UncertainPlace, ...] = ()
        """Where a nonseparable blend mode takes plates together that cannot be drawn so."""
        self._derived = DerivedDocuments(
            self.page_content,
            self.objects,
            self.geometry,
            self.plates,
            isolated=bool(self.page_content.blend_modes & DIFFERENT_ON_BARE_BOARD),
            opaque=self.page_content.opaque and not next(self.page_content.patterns(), None),
        )

    def render(
        self,
        box_mm: Box,
        dpi: float,
        without: frozenset[str] = frozenset(),
        alteration: Alteration = AS_IT_IS,
        edges: Antialiasing = "smooth",
        turned: int = 0,
    ) -> Plates:
        """Plates of a part of the page; ``turned``: see ``Page.window``.

        Raises:
            NotMeasured: too many pixels or plates, or a construct that cannot be rendered truly.
        """
        if not 0 < dpi <= FINEST_DPI:
            raise ValueError(f"resolution {dpi} dpi")
        width, height = pixels(box_mm, dpi)
        if len(self.plates) > MOST_PLATES:
            raise PageTooBig(f"{len(self.plates):,} separations print; plates are made of {MOST_PLATES} at most")
        most = min(MOST_PIXELS, MOST_PLATE_BYTES // max(1, len(self.plates)))
        if width * height > most:  # a page of two metres is looked at more coarsely
            fitting = dpi * (most / (width * height)) ** 0.5 * 0.99
            if fitting < COARSEST_DPI:
                raise PageTooBig(f"the page is too large to make plates from ({width * height / 1e6:,.0f} Mpx)")
            return self.render(box_mm, fitting, without, alteration, edges, turned)
        if turned or box_mm == self._page_mm or self._packing or not self._alike.pays:
            return self._drawn(box_mm, dpi, without, alteration, edges, turned)
        draw = partial(self._drawn, box_mm, dpi, without, alteration, edges)
        return self._alike.get(box_mm, (dpi, without, edges), alteration, draw)

    @property
    def _page_mm(self) -> Box:
        return (0.0, 0.0, self.geometry.width_mm, self.geometry.height_mm)

    def _drawn(
        self,
        box_mm: Box,
        dpi: float,
        without: frozenset[str],
        alteration: Alteration,
        edges: Antialiasing,
        turned: int = 0,
    ) -> Plates:
        width, height = pixels(box_mm, dpi)
        apart_mm = apart_at(dpi)
        names = self._near(box_mm, apart_mm)
        ink = np.zeros((len(names), height, width), np.uint8)
        if not self.plates:
            return Plates((), ink, dpi, box_mm, meeting(tuple(self.objects.undrawn), box_mm))
        number = {plate: at for at, plate in enumerate(names)}
        sharp = edges == "sharp"
        finer = self._finer(dpi, width * height, SHARP_FINER if sharp else 1)
        halves = self._derived.get(self._renderings(apart_mm), dpi * finer, without, alteration, box_mm)
        matrix = device_matrix(self.geometry.media_pt, self.geometry.to_mm, box_mm, dpi * finer)
        matrix, size_px = turned_raster(matrix, width * finer, height * finer, turned)
        kept = True
        for rendering, channels in halves.render(matrix, *size_px, sharp=sharp):
            channels = np.rot90(downsampled(channels, finer, sharp=sharp), -turned)
            for own, channel in zip(rendering.channels, channels.transpose(2, 0, 1), strict=False):
                if len(own) == 1:
                    ink[number[own[0]]] = channel
                if len(own) > 1:
                    parting = self._parting(own, rendering.marked, apart_mm)
                    kept = unpack(channel, parting, box_mm, dpi, ink, number) and kept
        if not kept:  # ink where nothing should be: whose it is cannot be told
            self._packing = False
            self._grouped.clear()
            del ink
            return self._drawn(box_mm, dpi, without, alteration, edges, turned)
        missing = dict.fromkeys([*self.objects.undrawn, *self._not_together, *halves.uncertain])
        return Plates(names, ink, dpi, box_mm, meeting(tuple(missing), box_mm))

    @cached_property
    def _alike(self) -> AlikeWindows:
        return AlikeWindows(self.page_content, self.objects)

    def _near(self, box_mm: Box, apart_mm: float) -> tuple[str, ...]:
        """Plates that may have ink in a part of the page: of thousands that share channels a window has few."""
        if not self._packing or box_mm == self._page_mm:
            return self.plates
        near = set[str]()
        for rendering in self._renderings(apart_mm):
            for own in rendering.channels:
                if len(own) == 1:
                    near.update(own)
                elif own:
                    near |= self._parting(own, rendering.marked, apart_mm).near(box_mm)
        return tuple(name for name in self.plates if name in near) or self.plates[:1]

    def _parting(self, packed: tuple[str, ...], marked: tuple[str, ...], apart_mm: float) -> Parting:
        if (packed, apart_mm) not in self._partings:
            self._partings[packed, apart_mm] = parting_of(packed, *self._boxes, marked, apart_mm)
        return self._partings[packed, apart_mm]

    @cached_property
    def _boxes(self) -> tuple[dict[str, Boxes], Boxes]:
        return ink_boxes_of_plates(self.objects, self.plates, self.page_content.states, self._page_mm)

    def _finer(self, dpi: float, pixels_wanted: int, least: int) -> int:
        """How many times finer to render: the edges of a pattern's cells add up to too little ink on coarse pixels."""
        wanted = math.ceil(_CELL_PX / max(self._finest_cell_mm / 25.4 * dpi, 0.1))
        return max(1, min(max(least, min(_MOST_FINER, wanted)), int((MOST_PIXELS / pixels_wanted) ** 0.5)))

    @cached_property
    def _finest_cell_mm(self) -> float:
        """The smaller step of the finest tiling pattern, as a page places it."""
        found = math.inf
        for cell in self.page_content.patterns():
            if isinstance(cell, TilingCell):
                a, b, c, d, _, _ = times(cell.content.matrix, self.geometry.to_mm)
                for key, scale in (("XStep", math.hypot(a, b)), ("YStep", math.hypot(c, d))):
                    found = min(found, abs(number(lookup(cell.stream, key)) or math.inf) * scale)
        return found

    def _renderings(self, apart_mm: float) -> list[Rendering]:
        """Groups of plates; those of one channel are further apart than ``apart_mm``."""
        if not self._packing:
            apart_mm = 0.0
        if apart_mm not in self._grouped:
            self._grouped[apart_mm] = self._group(apart_mm)
        return self._grouped[apart_mm]

    def _group(self, apart_mm: float) -> list[Rendering]:
        classes, inked = self._painted
        if self.page_content.blend_modes & NONSEPARABLE:
            whole = group_plates(self.plates, {*classes, frozenset(BLENDED_TOGETHER), frozenset({"Black"})}, inked)
            if can_blend_together(whole):
                return for_nonseparable_modes(whole)
            self._not_together = self._where_nonseparable()
        packs = self._packs(apart_mm)
        packed = {plate for own in packs for plate in own}
        marked = plates_marked(self.plates, inked)
        single = [plate for plate in self.plates if plate not in packed]
        return [*(rendering_of([own], marked) for own in packs), *group_plates(single, classes, marked)]

    @cached_property
    def _painted(self) -> tuple[set[frozenset[str]], set[str]]:
        """Paint classes of everything that shows, in cells and glyphs too, and plates with ink of their own."""
        colours, states = self.page_content.palette.colours, self.page_content.states
        classes: set[frozenset[str]] = set()
        used = np.zeros(len(colours), bool)
        for content in self.page_content.streams:
            used[content.colour[~content.hidden]] = True
            first, _ = sorts_of_rows(self.page_content, content)
            for row in first[~content.hidden[first]].tolist():
                overprint, colour = states[content.state[row]].overprint, colours[int(content.colour[row])]
                on = overprint.of(stroked=bool(content.stroked[row]))
                classes.add(painted_plates(colour, overprint=on, opm=overprint.mode))
        inked = {
            name
            for family, numbers in colours.families()
            if not family.registration
            for name, tints in zip(family.names, family.tints[used[numbers]].T, strict=True)
            if (tints > 0).any()
        }
        if self.page_content.blend_modes & NORMAL_ON_SPOTS or plates_of_lights(self.page_content):
            classes.add(frozenset(PROCESS))
        return classes, inked

    def _packs(self, apart_mm: float) -> list[tuple[str, ...]]:
        """Spots that share a channel with others; only where there are so many that it pays."""
        if not self._packing:
            return []
        spots = [plate for plate in self.plates if plate not in PROCESS]
        return [own for own in pack(spots, *self._boxes, apart_mm) if len(own) > 1]

    def _where_nonseparable(self) -> tuple[UncertainPlace, ...]:
        because = "a blend mode mixes cyan, magenta and yellow, and an object that overprints parts them"
        rows = rows_in_states(self.page_content, self.objects, lambda state: state.blend in NONSEPARABLE)
        return tuple(places_of_rows(self.objects, rows, because))

    def close(self) -> None:
        """Let go of what is kept."""
        self._derived.close()


def printing_order(names: Sequence[str], process: Sequence[str]) -> tuple[str, ...]:
    """Process plates in their usual order, then the others as they came."""
    return tuple([name for name in process if name in names] + [name for name in names if name not in process])

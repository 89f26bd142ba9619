"""Plates of one page: which separations get one, which are rendered together, and the rendering."""

from __future__ import annotations

import math
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np
import pikepdf
from numpy.typing import NDArray

from preflight.artwork.document import Alteration
from preflight.artwork.matrices import Matrix, times
from preflight.artwork.objects import Box, Painted
from preflight.artwork.painted.content import Content, TilingCell
from preflight.artwork.painted.flatten import PageObjects
from preflight.artwork.painted.interpret import Interpreter
from preflight.artwork.painted.states import painted_plates
from preflight.artwork.platemaking.passes import Rendering, group_plates
from preflight.artwork.platemaking.plate_book import PlateBook
from preflight.artwork.platemaking.plate_resources import NOT_ON_SPOTS
from preflight.artwork.platemaking.render import DerivedDocument, device_matrix, pixels
from preflight.artwork.platemaking.render_worker import RemoteDocument
from preflight.artwork.platemaking.rewrite import derived_pdf
from preflight.artwork.plates import Plates
from preflight.artwork.separations import PROCESS
from preflight.artwork.structure.boxes import PageGeometry
from preflight.artwork.structure.values import lookup, number
from preflight.errors import NotMeasured

FINEST_DPI, COARSEST_DPI = 1200.0, 5.0
MOST_PIXELS = 60_000_000
MOST_PLATES = 64
MOST_PLATE_BYTES = 500_000_000
MOST_SAMPLES_KEPT = 16_000_000
"""Pictures with fewer samples in all are not shrunk, so that one derived document serves every resolution."""
HEAVY_BYTES = 8_000_000
"""Content from which on a second process draws half of the plates."""
_CELL_PX = 10
_MOST_FINER = 4
_KEPT_DOCUMENTS, _KEPT_HEAVY = 3, 2
"""Of the page as it is, and as many of altered ones."""
AS_IT_IS = Alteration()
_NOT_BY_PLATE = frozenset({"Hue", "Saturation", "Color", "Luminosity"})
_DIFFERENT_ON_BARE_BOARD = frozenset(
    {"Screen", "Overlay", "Lighten", "ColorDodge", "ColorBurn", "HardLight", "SoftLight", "Difference", "Exclusion"}
)
"""Ink over white is not what it is over nothing with these, and the page begins with nothing (ISO 32000-2, 11.4.7)."""


class _Fit(NamedTuple):
    """What a derived document is made for; None where it serves every resolution."""

    strokes_dpi: float | None
    images_dpi: float | None
    without: frozenset[str]
    alteration: Alteration


@dataclass
class _Documents:
    """Derived documents of one page, and which rendering each page of them is."""

    here: DerivedDocument
    here_plates: list[Rendering]
    there: RemoteDocument | None
    there_plates: list[Rendering]

    def render(self, matrix: Matrix, width: int, height: int) -> Iterator[tuple[Rendering, NDArray[np.uint8]]]:
        """Every rendering, with its channels."""
        for page in range(len(self.there_plates)):
            assert self.there is not None
            self.there.ask(page, matrix, width, height)
        for page, rendering in enumerate(self.here_plates):
            yield rendering, self.here.render(page, matrix, width, height)
        for rendering in self.there_plates:
            assert self.there is not None
            yield rendering, self.there.answer()

    def close(self) -> None:
        """Let go of both."""
        self.here.close()
        if self.there is not None:
            self.there.close()


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
    _kept: dict[_Fit, _Documents] = field(default_factory=dict)

    def __post_init__(self) -> None:
        # What the page is painted with; soft masks are read later, and are no part of its plates.
        self._contents = list(self.owner.contents)

    def render(
        self, box_mm: Box, dpi: float, without: frozenset[str] = frozenset(), alteration: Alteration = AS_IT_IS
    ) -> Plates:
        """Plates of a part of the page.

        Raises:
            NotMeasured: too many pixels or plates, or a construct that cannot be rendered truly.
        """
        if not 0 < dpi <= FINEST_DPI:
            raise ValueError(f"resolution {dpi} dpi")
        width, height = pixels(box_mm, dpi)
        if len(self.plates) > MOST_PLATES:
            raise NotMeasured(f"{len(self.plates):,} separations print, and plates are made of {MOST_PLATES} at most")
        most = min(MOST_PIXELS, MOST_PLATE_BYTES // max(1, len(self.plates)))
        if width * height > most:  # a page of two metres is looked at more coarsely
            fitting = dpi * (most / (width * height)) ** 0.5 * 0.99
            if fitting < COARSEST_DPI:
                raise NotMeasured(f"the page is too large to make plates of ({width * height / 1e6:,.0f} Mpx)")
            return self.render(box_mm, fitting, without, alteration)
        ink = np.zeros((len(self.plates), height, width), np.uint8)
        if not self.plates:
            return Plates((), ink, dpi, box_mm)
        finer = self._finer(dpi, width * height)
        documents = self._derived(dpi * finer, without, alteration)
        matrix = device_matrix(self.geometry.media_pt, self.geometry.to_mm, box_mm, dpi * finer)
        for rendering, channels in documents.render(matrix, width * finer, height * finer):
            if finer > 1:
                blocks = channels.reshape(height, finer, width, finer, 3)
                channels = np.rint(blocks.mean((1, 3), dtype=np.float32)).astype(np.uint8)
            for channel, plate in enumerate(rendering.plates):
                ink[self.plates.index(plate)] = channels[:, :, channel]
        return Plates(self.plates, ink, dpi, box_mm)

    def _finer(self, dpi: float, pixels_wanted: int) -> int:
        """How many times finer to render: the edges of a pattern's cells add up to too little ink on coarse pixels."""
        wanted = math.ceil(_CELL_PX / max(self._finest_cell_mm / 25.4 * dpi, 0.1))
        return max(1, min(_MOST_FINER, wanted, int((MOST_PIXELS / pixels_wanted) ** 0.5)))

    @cached_property
    def _finest_cell_mm(self) -> float:
        """The smaller step of the finest tiling pattern, as a page places it."""
        found = math.inf
        for entry in self.owner.palette.entries:
            if isinstance(entry.pattern, TilingCell):
                a, b, c, d, _, _ = times(entry.pattern.content.matrix, self.geometry.to_mm)
                for key, scale in (("XStep", math.hypot(a, b)), ("YStep", math.hypot(c, d))):
                    found = min(found, abs(number(lookup(entry.pattern.stream, key)) or math.inf) * scale)
        return found

    def _derived(self, dpi: float, without: frozenset[str], alteration: Alteration) -> _Documents:
        key = self._fit(dpi, without, alteration)
        if key not in self._kept:
            self._make_room(altered=alteration != AS_IT_IS)
            odd = self._blend_modes & _NOT_BY_PLATE
            if odd:
                raise NotMeasured(f"blend mode {', '.join(sorted(odd))} mixes plates")
            renderings = self._renderings(without)
            page_mm = (0.0, 0.0, self.geometry.width_mm, self.geometry.height_mm)
            book = PlateBook(
                self.owner, page_mm, self._image_ppi() if self._many_samples else {}, without,
                pixel_mm=25.4 / dpi if key.strokes_dpi else 0.0, left_out=self._local(alteration.left_out),
                knocking_out=self._local(alteration.knocking_out),
            )  # fmt: skip
            known = len(self.owner.over_bounds)
            documents = self._documents(book, renderings)
            # Soft masks are read only now, and may be over a bound too.
            faults = book.faults + [bound.because for bound in self.owner.over_bounds[known:] if "plates" in bound.hits]
            if faults:
                documents.close()
                raise NotMeasured("; ".join(dict.fromkeys(faults)))
            self._kept[key] = documents
        return self._kept[key]

    def _documents(self, book: PlateBook, renderings: list[Rendering]) -> _Documents:
        """The renderings in one document, or of a heavy page in two, of which a second process draws one."""

        def derived(book: PlateBook, part: list[Rendering]) -> bytes:
            isolated = bool(self._blend_modes & _DIFFERENT_ON_BARE_BOARD)
            return derived_pdf(book, self.content, self.geometry.to_mm, self.geometry.media_pt, part, isolated=isolated)

        elsewhere = len(renderings) // 2 if self._heavy else 0
        remote = RemoteDocument(derived(book.another(), renderings[:elsewhere])) if elsewhere else None
        return _Documents(
            DerivedDocument(derived(book, renderings[elsewhere:])), renderings[elsewhere:],
            remote, renderings[:elsewhere],
        )  # fmt: skip

    @cached_property
    def _heavy(self) -> bool:
        """Whether drawing takes so long that it pays to start a second process."""
        size = sum(len(content.data) for content in self._contents)
        return (os.cpu_count() or 1) > 1 and (size > HEAVY_BYTES or self._many_samples)

    def _make_room(self, *, altered: bool) -> None:
        """Let go of the oldest documents of one sort: what is altered for a look does not drive out the page itself."""
        alike = [key for key in self._kept if (key.alteration != AS_IT_IS) == altered]
        for oldest in alike[: max(0, len(alike) + 1 - (_KEPT_HEAVY if self._heavy else _KEPT_DOCUMENTS))]:
            self._kept.pop(oldest).close()

    def _local(self, rows: tuple[int, ...]) -> dict[int, NDArray[np.int32]]:
        """Rows of the page by the stream that they stand in."""
        source = self.objects.source[list(rows)]
        return {int(number): source[source[:, 0] == number, 1] for number in np.unique(source[:, 0])}

    def _fit(self, dpi: float, without: frozenset[str], alteration: Alteration) -> _Fit:
        """What of a derived document depends on the resolution: faint strokes, and photos that are shrunk for it."""
        thin = self._thinnest_mm < 25.4 / dpi
        return _Fit(
            dpi if thin or self._many_samples else None, dpi if self._many_samples else None, without, alteration
        )

    @cached_property
    def _thinnest_mm(self) -> float:
        """Width of the thinnest stroke that any plate sees; 0 where it is not known."""
        objects = self.objects
        placed = set(np.unique(objects.source[:, 0]).tolist())
        for content in self._contents:
            # Stroked text, and strokes of pattern cells and glyphs, have no width in the table.
            if content.outlined or (content.number not in placed and (content.painted == Painted.STROKE).any()):
                return 0.0
        on_plate = np.array(
            [c.registration or c.varies or any(name in self.plates for name, _ in c.tints) for c in objects.colours],
            bool,
        )
        strokes = (objects.painted == Painted.STROKE) & objects.visible
        strokes &= on_plate[objects.colour] | ~objects.overprint
        return float(objects.line_width_mm[strokes].min(initial=np.inf))

    @cached_property
    def _many_samples(self) -> bool:
        facts = [self.objects.images[i] for i in np.unique(self.objects.image).tolist() if i >= 0]
        return bool(sum(f.width_px * f.height_px for f in facts if not f.is_mask) > MOST_SAMPLES_KEPT)

    def _renderings(self, without: frozenset[str]) -> list[Rendering]:
        """Groups of plates, from the paint classes of everything that shows, pattern cells and glyphs included."""
        palette, states = self.owner.palette, self.owner.states
        colours, kinds = palette.colours(), palette.kinds()
        seen: set[tuple[object, ...]] = set()
        classes: set[frozenset[str]] = set()
        inked: set[str] = set()
        for content in self._contents:
            rows = np.column_stack([content.colour, content.state, content.stroked])[~content.hidden]
            for colour, state, stroked in np.unique(rows, axis=0).tolist() if len(rows) else ():
                overprint = bool(states[state][1 if stroked else 0])
                opm = int(states[state][2])
                if not colours[colour].registration:
                    inked.update(name for name, tint in colours[colour].tints if tint > 0)
                key = (kinds[colour], overprint, opm)
                if key not in seen:
                    seen.add(key)
                    classes.add(painted_plates(colours[colour], overprint=overprint, opm=opm))
        if self._blend_modes & NOT_ON_SPOTS:
            classes.add(frozenset(PROCESS))
        return group_plates(self.plates, classes, inked)

    @cached_property
    def _blend_modes(self) -> frozenset[str]:
        """Blend modes that anything is painted with."""
        used = {int(number) for content in self._contents for number in np.unique(content.state)}
        used |= {call.state for content in self._contents for call in content.calls}
        return frozenset(str(self.owner.states[number][5]) for number in used)

    def _image_ppi(self) -> dict[object, float]:
        """The coarsest placing of each image: what it is shrunk to must do for that one."""
        found: dict[object, float] = {}
        objects = self.objects
        for row in np.flatnonzero(objects.image >= 0).tolist():
            number, local, _ = objects.source[row].tolist()
            use = self._contents[number].images.get(local)
            if use is not None:
                ppi = float(objects.ppi[row])
                found[use.key] = min(ppi, found.get(use.key, ppi))
        return found

    def close(self) -> None:
        """Let go of what is kept."""
        for documents in self._kept.values():
            documents.close()
        self._kept.clear()


def printing_order(names: Sequence[str], process: Sequence[str]) -> tuple[str, ...]:
    """Process plates in their usual order, then the others as they came."""
    return tuple([name for name in process if name in names] + [name for name in names if name not in process])

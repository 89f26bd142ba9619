"""The derived documents of one page: made when a resolution or an alteration first asks for one, kept for the next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cached_property
from math import ceil, floor
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box, Matrix
from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import Alteration
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.page_objects import PageObjects
from preflight.artwork.pdf.content.stream_content import TilingCell
from preflight.artwork.pdf.content.where_shown import places_of_rows, rows_in_states, rows_showing
from preflight.artwork.pdf.images.image_dictionaries import BILEVEL, ImageUse
from preflight.artwork.pdf.images.image_sample_files import SampleFiles
from preflight.artwork.pdf.structure.page_boxes import PageGeometry
from preflight.artwork.platemaking.derived_pdf import DerivedPdf, Missing
from preflight.artwork.platemaking.ink_boxes import ink_boxes
from preflight.artwork.platemaking.page_writer import write_derived_pdf
from preflight.artwork.platemaking.pdfium import DerivedDocument
from preflight.artwork.platemaking.picture_parts import PictureParts
from preflight.artwork.platemaking.renderings import Rendering
from preflight.artwork.platemaking.second_process import Derived, Sibling, can_fork
from preflight.errors import NotDrawn

if TYPE_CHECKING:
    from preflight.artwork.platemaking.rows_in_window import RowsOutside

MOST_SAMPLES_KEPT = 16_000_000
"""Pictures with fewer samples in all are not shrunk, so that one derived document serves every resolution."""
HEAVY_BYTES = 100_000
"""Content from which on a second process draws half of the renderings."""
_LARGE_BYTES = 8_000_000
"""Content of which fewer documents are kept."""
_KEPT, _KEPT_LARGE = 3, 1
"""Of each sort of document."""
_PAGE_DPI = 100.0
"""At which the whole page is looked at."""
_FIELDS, _GROWN_BY_MM = 8, 5.0
"""Fields of a heavy page, each way, and steps in which they grow. Of a million objects a document costs 0.4 s and 2 us
for each object in it, and the windows along a die lie in a few fields."""
AS_IT_IS = Alteration()


class _Fit(NamedTuple):
    """What a derived document is made for; None where it serves every resolution."""

    strokes_dpi: float | None
    images_dpi: float | None
    without: frozenset[str]
    alteration: Alteration
    renderings: tuple[Rendering, ...]
    window_mm: Box | None
    """Of large pictures and heavy content no more is in it than shows there; None for all."""

    @property
    def sort(self) -> tuple[bool, bool]:
        """Whether it is of an altered page, and whether of a window: of each sort some are kept."""
        return self.alteration != AS_IT_IS, self.window_mm is not None


@dataclass
class Halves:
    """The renderings of one page, some of them in a second process."""

    here: DerivedDocument
    here_renderings: list[Rendering]
    there: Sibling | None
    there_renderings: list[Rendering]
    uncertain: list[UncertainPlace] = field(default_factory=list)
    """Where something is missing; that of the second process once it has answered."""

    def render(
        self, matrix: Matrix, width: int, height: int, *, sharp: bool = False
    ) -> Iterator[tuple[Rendering, NDArray[np.uint8]]]:
        """Every rendering, with its channels; raises NotMeasured where the second process cannot."""
        there = self.there
        pages = range(len(self.there_renderings))
        asked = [there.ask(page, matrix, width, height, sharp=sharp) for page in pages] if there else []
        for page, rendering in enumerate(self.here_renderings):
            yield rendering, self.here.render(page, matrix, width, height, sharp=sharp)
        for question, rendering in zip(asked, self.there_renderings, strict=True):
            assert there is not None
            drawn, uncertain = there.answer(question)
            self.uncertain += [place for place in uncertain if place not in self.uncertain]
            yield rendering, drawn

    def end(self) -> None:
        """End the second process."""
        if self.there is not None:
            self.there.close()

    def close(self) -> None:
        """Let go of both."""
        self.here.close()
        self.end()


@dataclass
class DerivedDocuments:
    """Makes and keeps the derived documents of one page."""

    page_content: PageContent
    objects: PageObjects
    geometry: PageGeometry
    plates: tuple[str, ...]
    isolated: bool
    """The page is composed on nothing and then laid on bare board."""
    opaque: bool
    """Nothing on it is faint, blended or masked."""
    _files: SampleFiles = field(default_factory=SampleFiles)
    _can_vanish: dict[int, NDArray[np.bool_]] = field(default_factory=dict)
    _sorts: dict[int, tuple[NDArray[np.intp], NDArray[np.intp]]] = field(default_factory=dict)
    """These two are shared by all documents: they are a matter of the streams alone."""
    _kept: dict[_Fit, Halves] = field(default_factory=dict)
    _ended: list[Halves] = field(default_factory=list)
    """Not closed before the page is let go of, because that takes longer than to forget them."""

    def get(
        self, renderings: list[Rendering], dpi: float, without: frozenset[str], alteration: Alteration, box_mm: Box
    ) -> Halves:
        """The documents for a resolution and a part of the page.

        Raises:
            NotMeasured: something on the page cannot be written in them.
        """
        key = self._fit(dpi, without, alteration, renderings, box_mm)
        if key not in self._kept:
            self._make_room(key)
            left_out = self._local(alteration.left_out)
            if key.window_mm is not None and self._parts_content:
                left_out = self._outside.added_to(left_out, key.window_mm)
            derived_pdf = DerivedPdf(
                self.page_content,
                self._page_mm,
                self._image_ppi() if self.many_samples else {},
                without,
                pixel_mm=25.4 / dpi if key.strokes_dpi else 0.0,
                files=self._files,
                left_out=left_out,
                knocking_out=self._local(alteration.knocking_out),
                isolated=self.isolated,
                in_window=key.window_mm is not None,
                can_vanish=self._can_vanish,
                sorts=self._sorts,
            )
            if key.window_mm is not None and self._had_in_parts:
                derived_pdf.pictures.parts = self._parts.shown_in(
                    key.window_mm, 25.4 / dpi, derived_pdf.pictures.shrink_of
                )
            self._kept[key] = self._make(derived_pdf, renderings)
        return self._kept[key]

    @property
    def _page_mm(self) -> Box:
        return (0.0, 0.0, self.geometry.width_mm, self.geometry.height_mm)

    @cached_property
    def _parts(self) -> PictureParts:
        return PictureParts(self.page_content, self.objects, self._files)

    def _make(self, derived_pdf: DerivedPdf, renderings: list[Rendering]) -> Halves:
        elsewhere = len(renderings) // 2 if self._pays_to_fork(in_window=derived_pdf.in_window) else 0
        there, here, sibling = renderings[:elsewhere], renderings[elsewhere:], None
        if there:
            if not derived_pdf.in_window:
                self._decode(derived_pdf, here, there)
            other = derived_pdf.another()
            try:
                sibling = Sibling(lambda: self._derive(other, there))
            except OSError:  # the system has no room for another process
                there, here = [], renderings
        derived = self._derive(derived_pdf, here)
        return Halves(derived.opened(), here, sibling, there, derived.uncertain)

    def _decode(self, derived_pdf: DerivedPdf, here: list[Rendering], there: list[Rendering]) -> None:
        """Pictures that both processes need, before they part."""
        for use in self._images_shown():
            bilevel = bool(use.filters) and use.filters[-1] in BILEVEL  # these the renderer unpacks
            plates = set(use.space.plates) if use.space is not None and not bilevel else set()
            if all(plates & {"All"}.union(*(rendering.plates for rendering in half)) for half in (here, there)):
                with suppress(NotDrawn):  # it is said where the picture is painted
                    derived_pdf.pictures.tints_of(use)

    def _images_shown(self) -> list[ImageUse]:
        """Every image that shows, once."""
        return list({use.key: use for row, use in self._parts.placed() if self.objects.visible[row]}.values())

    def _derive(self, derived_pdf: DerivedPdf, renderings: list[Rendering]) -> Derived:
        """A derived PDF with some of the renderings."""
        to_mm, media_pt = self.geometry.to_mm, self.geometry.media_pt
        derived, drawings = write_derived_pdf(derived_pdf, to_mm, media_pt, renderings)
        places = [place for missing in derived_pdf.missing for place in self._places(missing)]
        keeps = derived_pdf.in_window or not self._parts_content
        return Derived(derived, drawings, list(dict.fromkeys(places)), self.opaque, keeps)

    def _places(self, missing: Missing) -> list[UncertainPlace]:
        """Where something shows that could not be written."""
        objects, content = self.objects, missing.content
        if missing.row >= 0 and content.number in objects.source[:, 0]:
            rows = np.flatnonzero((objects.source[:, 0] == content.number) & (objects.source[:, 1] == missing.row))
        else:
            rows = rows_showing(self.page_content, objects, [content])
            if missing.colour >= 0:
                rows = rows[objects.colour[rows] == missing.colour]
            if missing.masked:
                masked = rows_in_states(self.page_content, objects, lambda state: state.soft_mask)
                rows = np.intersect1d(rows, masked)
        return places_of_rows(objects, rows, missing.because)

    @cached_property
    def _content_bytes(self) -> int:
        return sum(len(content.data) for content in self.page_content.streams)

    def _pays_to_fork(self, *, in_window: bool) -> bool:
        """Whether drawing takes so long that it pays to have a second process."""
        heavy = self._content_bytes > HEAVY_BYTES
        return can_fork() and (
            (heavy and not (in_window and self._parts_content)) or (self.many_samples and not in_window)
        )

    @property
    def _is_large(self) -> bool:
        return self._content_bytes > _LARGE_BYTES

    @cached_property
    def _outside(self) -> RowsOutside:
        from preflight.artwork.platemaking.rows_in_window import RowsOutside  # only heavy pages need it

        return RowsOutside(self.objects, self._parts.streams, ink_boxes(self.objects, self.page_content.states))

    def _make_room(self, wanted: _Fit) -> None:
        """Let go of the oldest documents of one sort.

        What is altered for a look does not drive out the page itself. Large photographs and heavy content are had in
        parts for windows, and nobody asks for the whole page any more.
        """
        most = _KEPT_LARGE if wanted.window_mm is None and (self._is_large or self.many_samples) else _KEPT
        whole = [key for key in self._kept if wanted.window_mm is not None and key.window_mm is None]
        for past in whole:  # its plates are made, and it fills the memory
            self._kept.pop(past).close()
        alike = [key for key in self._kept if key.sort == wanted.sort]
        for oldest in alike[: max(0, len(alike) + 1 - most)]:
            self._kept.pop(oldest).close()

    def _local(self, rows: tuple[int, ...]) -> dict[int, NDArray[np.int32]]:
        """Rows of the page by the stream that they stand in."""
        source = self.objects.source[list(rows)]
        return {int(number): source[source[:, 0] == number, 1] for number in np.unique(source[:, 0])}

    def _fit(
        self, dpi: float, without: frozenset[str], alteration: Alteration, renderings: Sequence[Rendering], box_mm: Box
    ) -> _Fit:
        """What of a derived document depends on what is asked for: faint strokes, and what is there of large photos."""
        thin = self._thinnest_mm < 25.4 / dpi
        images_dpi = dpi if self.many_samples else None
        window_mm = None
        if (self._had_in_parts or self._parts_content) and box_mm != self._page_mm:
            window_mm = box_mm if self._content_bytes <= HEAVY_BYTES else self._region(box_mm)
        strokes_dpi = dpi if thin or self.many_samples else None
        return _Fit(strokes_dpi, images_dpi, without, alteration, tuple(renderings), window_mm)

    @cached_property
    def _had_in_parts(self) -> bool:
        """Whether so many samples of the pictures can be had in parts that the others do not matter."""
        return self.many_samples and self._parts.samples_left() <= MOST_SAMPLES_KEPT

    @cached_property
    def _parts_content(self) -> bool:
        """Whether heavy content is had in parts for windows: not where the page's own document serves them too."""
        return self._is_large and (self.many_samples or self._thinnest_mm < 25.4 / _PAGE_DPI)

    def _region(self, box_mm: Box) -> Box:
        """The field of the page that the middle of a window lies in, grown by the window: it serves many of them."""
        _, _, *page = self._page_mm
        low, high = list[float](), list[float]()
        for first, last, side in zip(box_mm[:2], box_mm[2:], page, strict=True):
            field_mm, grown = side / _FIELDS, ceil((last - first) / 2 / _GROWN_BY_MM) * _GROWN_BY_MM
            begin = floor((first + last) / 2 / field_mm) * field_mm
            low.append(begin - grown)
            high.append(begin + field_mm + grown)
        return (low[0], low[1], high[0], high[1])

    @cached_property
    def _thinnest_mm(self) -> float:
        """Width of the thinnest stroke that any plate sees; 0 where it is not known."""
        objects = self.objects
        placed = set(np.unique(objects.source[:, 0]).tolist())
        for content in self.page_content.streams:
            # Stroked text, and strokes of pattern cells and glyphs, have no width in the table; what is stroked with
            # cells may have to be cut into windows (pattern_painting.py), the fewer the coarser the pixels.
            if content.outlined or (content.number not in placed and (content.painted == Painted.STROKE).any()):
                return 0.0
            if self._in_cells[content.colour[content.painted == Painted.STROKE]].any():
                return 0.0
        on_plate = objects.colours.where(lambda f: f.registration or f.varies or f.names_any(self.plates))
        strokes = (objects.painted == Painted.STROKE) & objects.visible
        strokes &= on_plate[objects.colour] | ~objects.overprint
        return float(objects.line_width_mm[strokes].min(initial=np.inf))

    @cached_property
    def _in_cells(self) -> NDArray[np.bool_]:
        """For every colour whether it is a tiling pattern."""
        found = np.zeros(len(self.page_content.palette.entries), bool)
        found[
            [number for number, pattern in self.page_content.palette.patterns() if isinstance(pattern, TilingCell)]
        ] = True
        return found

    @cached_property
    def many_samples(self) -> bool:
        """Whether the pictures are so large that they are shrunk to each resolution."""
        facts = [self.objects.images[i] for i in np.unique(self.objects.image).tolist() if i >= 0]
        return bool(sum(f.width_px * f.height_px for f in facts if not f.is_mask) > MOST_SAMPLES_KEPT)

    def _image_ppi(self) -> dict[object, float]:
        """The coarsest placing of each image: what it is shrunk to must do for that one."""
        found: dict[object, float] = {}
        for row, use in self._parts.placed():
            ppi = float(self.objects.ppi[row])
            found[use.key] = min(ppi, found.get(use.key, ppi))
        return found

    def close(self) -> None:
        """End the second processes; what was drawn with one is made anew for whoever asks again."""
        for key in [key for key, halves in self._kept.items() if halves.there is not None]:
            halves = self._kept.pop(key)
            halves.end()
            self._ended.append(halves)
        self._files.close()

"""The derived documents of one page: made when a resolution or an alteration first asks for one, kept for the next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.document import Alteration
from preflight.artwork.matrices import Matrix
from preflight.artwork.objects import Painted
from preflight.artwork.painted.content import Content, TilingCell
from preflight.artwork.painted.flatten import PageObjects
from preflight.artwork.painted.images import BILEVEL, ImageUse, TooBig
from preflight.artwork.painted.interpret import Interpreter
from preflight.artwork.painted.shown_by import places_of_rows, rows_showing
from preflight.artwork.platemaking.passes import Rendering
from preflight.artwork.platemaking.plate_book import Missing, PlateBook
from preflight.artwork.platemaking.render import DerivedDocument
from preflight.artwork.platemaking.rewrite import derived_pdf
from preflight.artwork.platemaking.sibling import Derived, Sibling, can_fork
from preflight.artwork.structure.boxes import PageGeometry
from preflight.artwork.uncertain import UncertainPlace

MOST_SAMPLES_KEPT = 16_000_000
"""Pictures with fewer samples in all are not shrunk, so that one derived document serves every resolution."""
HEAVY_BYTES = 100_000
"""Content from which on a second process draws half of the renderings."""
_LARGE_BYTES = 8_000_000
"""Content of which fewer documents are kept."""
_KEPT, _KEPT_LARGE = 3, 1
"""Of the page as it is, and as many of altered ones."""
AS_IT_IS = Alteration()


class _Fit(NamedTuple):
    """What a derived document is made for; None where it serves every resolution."""

    strokes_dpi: float | None
    images_dpi: float | None
    without: frozenset[str]
    alteration: Alteration
    renderings: tuple[Rendering, ...]


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

    owner: Interpreter
    contents: Sequence[Content]
    """What the page is painted with, the page's own stream among them."""
    page: Content
    objects: PageObjects
    geometry: PageGeometry
    plates: tuple[str, ...]
    isolated: bool
    """The page is composed on nothing and then laid on bare board."""
    _kept: dict[_Fit, Halves] = field(default_factory=dict)
    _ended: list[Halves] = field(default_factory=list)
    """Not closed before the page is let go of, because that takes longer than to forget them."""

    def get(self, renderings: list[Rendering], dpi: float, without: frozenset[str], alteration: Alteration) -> Halves:
        """The documents for a resolution.

        Raises:
            NotMeasured: something on the page cannot be written in them.
        """
        key = self._fit(dpi, without, alteration, renderings)
        if key not in self._kept:
            self._make_room(altered=alteration != AS_IT_IS)
            page_mm = (0.0, 0.0, self.geometry.width_mm, self.geometry.height_mm)
            book = PlateBook(
                self.owner, page_mm, self._image_ppi() if self.many_samples else {}, without,
                pixel_mm=25.4 / dpi if key.strokes_dpi else 0.0, left_out=self._local(alteration.left_out),
                knocking_out=self._local(alteration.knocking_out), isolated=self.isolated,
            )  # fmt: skip
            self._kept[key] = self._make(book, renderings)
        return self._kept[key]

    def _make(self, book: PlateBook, renderings: list[Rendering]) -> Halves:
        elsewhere = len(renderings) // 2 if self._heavy else 0
        there, here, sibling = renderings[:elsewhere], renderings[elsewhere:], None
        if there:
            self._decode(book, here, there)
            other = book.another()
            try:
                sibling = Sibling(lambda: self._derive(other, there))
            except OSError:  # the system has no room for another process
                there, here = [], renderings
        derived, drawings, uncertain = self._derive(book, here)
        return Halves(DerivedDocument(derived, drawings), here, sibling, there, uncertain)

    def _decode(self, book: PlateBook, here: list[Rendering], there: list[Rendering]) -> None:
        """Pictures that both processes need, before they part."""
        for use in self._images_shown():
            bilevel = bool(use.filters) and use.filters[-1] in BILEVEL  # these the renderer unpacks
            plates = set(use.space.plates) if use.space is not None and not bilevel else set()
            if all(plates & {"All"}.union(*(rendering.plates for rendering in half)) for half in (here, there)):
                with suppress(TooBig):  # it is said where the picture is painted
                    book.pictures.tints_of(use)

    def _images_shown(self) -> list[ImageUse]:
        """Every image that shows, once."""
        return list({use.key: use for row, use in self._images_placed() if self.objects.visible[row]}.values())

    def _images_placed(self) -> Iterator[tuple[int, ImageUse]]:
        """Rows of images, with what they place."""
        rows = np.flatnonzero(self.objects.image >= 0)
        for row, (number, local, _) in zip(rows.tolist(), self.objects.source[rows].tolist(), strict=True):
            use = self.contents[number].images.get(local)
            if use is not None:
                yield row, use

    def _derive(self, book: PlateBook, renderings: list[Rendering]) -> Derived:
        """A derived PDF, the steps of its renderings, and where something is missing in it."""
        to_mm, media_pt = self.geometry.to_mm, self.geometry.media_pt
        derived, drawings = derived_pdf(book, self.page, to_mm, media_pt, renderings, isolated=self.isolated)
        places = [place for missing in book.missing for place in self._places(missing)]
        return Derived(derived, drawings, list(dict.fromkeys(places)))

    def _places(self, missing: Missing) -> list[UncertainPlace]:
        """Where something shows that could not be written."""
        objects, content = self.objects, missing.content
        if missing.row >= 0 and content.number in objects.source[:, 0]:
            rows = np.flatnonzero((objects.source[:, 0] == content.number) & (objects.source[:, 1] == missing.row))
        else:
            rows = rows_showing(self.owner, objects, [content])
            if missing.colour >= 0:
                rows = rows[objects.colour[rows] == missing.colour]
            if missing.masked:
                rows = rows[self._through_masks(rows)]
        return places_of_rows(objects, rows, missing.because)

    def _through_masks(self, rows: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Which rows may be painted through a soft mask, their own or that of a form that they are called by."""
        states, contents = self.owner.states, self.contents
        own = [states[int(contents[n].state[k])][10] for n, k, _ in self.objects.source[rows].tolist()]
        called = [call.content for content in contents for call in content.calls if states[call.state][10]]
        masked: NDArray[np.bool_] = np.array(own, bool)
        masked |= np.isin(rows, rows_showing(self.owner, self.objects, called))
        return masked

    @cached_property
    def _content_bytes(self) -> int:
        return sum(len(content.data) for content in self.contents)

    @cached_property
    def _heavy(self) -> bool:
        """Whether drawing takes so long that it pays to have a second process."""
        return can_fork() and (self._content_bytes > HEAVY_BYTES or self.many_samples)

    def _make_room(self, *, altered: bool) -> None:
        """Let go of the oldest documents of one sort: what is altered for a look does not drive out the page itself."""
        most = _KEPT_LARGE if self._content_bytes > _LARGE_BYTES or self.many_samples else _KEPT
        alike = [key for key in self._kept if (key.alteration != AS_IT_IS) == altered]
        for oldest in alike[: max(0, len(alike) + 1 - most)]:
            self._kept.pop(oldest).close()

    def _local(self, rows: tuple[int, ...]) -> dict[int, NDArray[np.int32]]:
        """Rows of the page by the stream that they stand in."""
        source = self.objects.source[list(rows)]
        return {int(number): source[source[:, 0] == number, 1] for number in np.unique(source[:, 0])}

    def _fit(
        self, dpi: float, without: frozenset[str], alteration: Alteration, renderings: Sequence[Rendering]
    ) -> _Fit:
        """What of a derived document depends on the resolution: faint strokes, and photos that are shrunk for it."""
        thin = self._thinnest_mm < 25.4 / dpi
        images_dpi = dpi if self.many_samples else None
        return _Fit(dpi if thin or self.many_samples else None, images_dpi, without, alteration, tuple(renderings))

    @cached_property
    def _thinnest_mm(self) -> float:
        """Width of the thinnest stroke that any plate sees; 0 where it is not known."""
        objects = self.objects
        placed = set(np.unique(objects.source[:, 0]).tolist())
        for content in self.contents:
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
        return np.array([isinstance(entry.pattern, TilingCell) for entry in self.owner.palette.entries], bool)

    @cached_property
    def many_samples(self) -> bool:
        """Whether the pictures are so large that they are shrunk to each resolution."""
        facts = [self.objects.images[i] for i in np.unique(self.objects.image).tolist() if i >= 0]
        return bool(sum(f.width_px * f.height_px for f in facts if not f.is_mask) > MOST_SAMPLES_KEPT)

    def _image_ppi(self) -> dict[object, float]:
        """The coarsest placing of each image: what it is shrunk to must do for that one."""
        found: dict[object, float] = {}
        for row, use in self._images_placed():
            ppi = float(self.objects.ppi[row])
            found[use.key] = min(ppi, found.get(use.key, ppi))
        return found

    def close(self) -> None:
        """End the second processes; what was drawn with one is made anew for whoever asks again."""
        for key in [key for key, halves in self._kept.items() if halves.there is not None]:
            halves = self._kept.pop(key)
            halves.end()
            self._ended.append(halves)

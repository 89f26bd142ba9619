"""A customer's PDF, read: the door to ``artwork/``."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import pikepdf

from preflight.artwork.page.artwork import Artwork
from preflight.artwork.page.geometry import Box, Matrix
from preflight.artwork.page.page import Alteration, Antialiasing, Page
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import PROCESS
from preflight.artwork.pdf.colour.colour_reader import ColourReader
from preflight.artwork.pdf.content.annotations import printed_annotations
from preflight.artwork.pdf.content.blend_spaces import blend_spaces
from preflight.artwork.pdf.content.content_reader import ContentReader
from preflight.artwork.pdf.content.page_objects import flatten
from preflight.artwork.pdf.content.where_shown import unread_in_patterns
from preflight.artwork.pdf.structure.content_digest import content_digest
from preflight.artwork.pdf.structure.layers import LayerReader
from preflight.artwork.pdf.structure.opening import document_facts, open_pdf, output_profile
from preflight.artwork.pdf.structure.page_boxes import read_page_geometry
from preflight.artwork.pdf.structure.page_labels import page_label, plate_of
from preflight.artwork.platemaking.alternate_colours import AlternateReader
from preflight.artwork.platemaking.derived_documents import AS_IT_IS
from preflight.artwork.platemaking.plate_cache import PlateCache, cache_folder, page_key
from preflight.artwork.platemaking.separation_kinds import colorants_named, separations_of_page
from preflight.artwork.platemaking.separator import Separator, printing_order
from preflight.errors import PageTooBig
from preflight.inputs.ticket import Ticket

MOST_PAGES = 20


@dataclass(kw_only=True)
class ReadPage(Page):
    """A page with what its plates are made from."""

    separator: Separator
    cache: PlateCache | None = None
    """Where plates are kept between runs; None for nowhere."""
    _plates: dict[tuple[float, frozenset[str]], Plates] = field(default_factory=dict)

    def plates(self, dpi: float = 100, without: frozenset[str] = frozenset()) -> Plates:
        """See ``Page.plates``."""
        key = (dpi, without)
        if key not in self._plates:
            self._plates[key] = self.window(self.box_mm, dpi, without)
        return self._plates[key]

    def window(
        self,
        box_mm: Box,
        dpi: float,
        without: frozenset[str] = frozenset(),
        edges: Antialiasing = "smooth",
        turned: int = 0,
    ) -> Plates:
        """See ``Page.window``."""
        return self._rendered(box_mm, dpi, without, AS_IT_IS, edges, turned)

    def altered(
        self, alteration: Alteration, dpi: float = 100, box_mm: Box | None = None, edges: Antialiasing = "smooth"
    ) -> Plates:
        """See ``Page.altered``."""
        return self._rendered(box_mm or self.box_mm, dpi, frozenset(), alteration, edges)

    def close(self) -> None:
        """See ``Page.close``."""
        self.separator.close()

    def _rendered(
        self,
        box_mm: Box,
        dpi: float,
        without: frozenset[str],
        alteration: Alteration,
        edges: Antialiasing,
        turned: int = 0,
    ) -> Plates:
        for bound in self.over_bounds:
            if "plates" in bound.hits:
                raise PageTooBig(f"the plates of page {self.number} cannot be made: {bound.because}")
        request = (box_mm, dpi, sorted(without), alteration, edges, *([turned] if turned else []))
        kept = self.cache.get(request) if self.cache is not None else None
        if kept is not None:
            return self._noted(kept, alteration)
        plates = self.separator.render(box_mm, dpi, without, alteration, edges, turned)
        if self.cache is not None:
            self.cache.put(request, plates)
        return self._noted(plates, alteration)

    def _noted(self, plates: Plates, alteration: Alteration) -> Plates:
        """What is missing on plates of the page as it is, is remembered of the page."""
        if alteration == AS_IT_IS:
            self.uncertain += [place for place in plates.uncertain if place not in self.uncertain]
        return plates


def read_artwork(
    path: Path, ticket: Ticket | None = None, *, only_page: int | None = None, cache: bool = True
) -> Artwork:
    """Open a PDF and read its first 20 pages, or only one (from 1); a page that it has not leaves ``pages`` empty.

    ``with`` what is handed out: that ends the processes that draw its pages and closes the file.

    ``cache``: keep plates in the user's cache folder, and take those that are kept there.

    Raises:
        ArtworkUnreadable: it cannot be opened at all.
        InvalidInput: rules/names.yaml is wrong.
    """
    opened = open_pdf(path)
    with ExitStack() as started:
        started.callback(opened.pdf.close)
        facts = document_facts(opened.pdf)
        # One reader for all pages: names that read alike are told apart in the order in which they appear.
        alternates = AlternateReader(ColourReader())
        first, last = (only_page, only_page) if only_page else (1, MOST_PAGES)
        pages = [
            _read_page(opened.pdf, alternates, opened.pdf.pages[number - 1].obj, number, ticket)
            for number in range(first, min(last, facts.page_count) + 1)
        ]
        if cache:
            for page in pages:
                page.cache = PlateCache(cache_folder(), page_key(opened.sha256, page.number, page.separator.plates))
        return Artwork(
            path=path,
            sha256=opened.sha256,
            repairs=opened.repairs,
            page_count=facts.page_count,
            pages=[*pages],
            pdf_version=facts.pdf_version,
            title=facts.title,
            producer=facts.producer,
            output_intent=facts.output_intent,
            alternates=alternates.alternates(),
            output_profile=partial(output_profile, opened.pdf),
            started=started.pop_all(),
        )


def _read_page(
    pdf: pikepdf.Pdf, alternates: AlternateReader, page: pikepdf.Object, number: int, ticket: Ticket | None
) -> ReadPage:
    geometry = read_page_geometry(page)
    layer_reader = LayerReader(pdf)
    content = ContentReader(pdf, alternates.colour_reader, layer_reader).read(page)
    to_mm: Matrix = geometry.to_mm
    objects = flatten(content, to_mm, (0.0, 0.0, geometry.width_mm, geometry.height_mm))
    objects.undrawn += unread_in_patterns(content, objects)
    alternates.take(content, objects, number)
    annotations = printed_annotations(page, to_mm, layer_reader)
    layers = layer_reader.layers
    named = colorants_named(content, alternates.colour_reader)
    separations = separations_of_page(content, objects, named, layers, ticket)
    plates = printing_order([s.name for s in separations if s.on_plate], PROCESS)
    return ReadPage(
        number=number,
        width_mm=geometry.width_mm,
        height_mm=geometry.height_mm,
        boxes=geometry.boxes,
        rotate=geometry.rotate,
        user_unit=geometry.user_unit,
        layers=layers,
        separations=separations,
        objects=objects,
        over_bounds=[*content.over_bounds, *objects.over_bounds],
        blend_spaces=blend_spaces(content, objects),
        uncertain=list(objects.undrawn),
        opaque=content.opaque,
        annotations=annotations,
        label=page_label(pdf, number),
        plate_of=plate_of(page),
        to_mm=to_mm,
        content_digest=partial(content_digest, pdf, page),
        separator=Separator(content, objects, geometry, plates),
    )

"""A customer's PDF, read: the door to ``artwork/``."""

from __future__ import annotations

from collections.abc import Collection
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

import numpy as np
import pikepdf

from preflight.artwork.page.artwork import Artwork
from preflight.artwork.page.geometry import Box, Matrix
from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import Alteration, Antialiasing, Layer, Page
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import PROCESS, Separation, classify, load_names
from preflight.artwork.pdf.colour.colour_reader import ColourReader
from preflight.artwork.pdf.colour.spot_spaces import indirect, is_separation
from preflight.artwork.pdf.content.annotations import printed_annotations
from preflight.artwork.pdf.content.blend_spaces import blend_spaces
from preflight.artwork.pdf.content.content_reader import ContentReader
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.page_objects import PageObjects, flatten
from preflight.artwork.pdf.content.where_shown import unread_in_patterns
from preflight.artwork.pdf.structure.layers import LayerReader, step_kind
from preflight.artwork.pdf.structure.opening import document_facts, open_pdf, output_profile
from preflight.artwork.pdf.structure.page_boxes import read_page_geometry
from preflight.artwork.pdf.structure.page_labels import page_label, plate_of
from preflight.artwork.pdf.structure.values import entries, identity, lookup
from preflight.artwork.platemaking.alternate_colours import AlternateReader
from preflight.artwork.platemaking.composed_groups import plates_of_lights
from preflight.artwork.platemaking.derived_documents import AS_IT_IS
from preflight.artwork.platemaking.plate_cache import PlateCache, cache_folder, page_key
from preflight.artwork.platemaking.renderings import MIXED, MIXING
from preflight.artwork.platemaking.screen_colours import screen_colours_of
from preflight.artwork.platemaking.separator import Separator, printing_order
from preflight.errors import PageTooBig
from preflight.inputs.ticket import Ticket

MOST_PAGES = 20


@dataclass
class ReadPage(Page):
    """A page with what its plates are made from."""

    separator: Separator | None = None
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
        self, box_mm: Box, dpi: float, without: frozenset[str] = frozenset(), edges: Antialiasing = "smooth"
    ) -> Plates:
        """See ``Page.window``."""
        return self._rendered(box_mm, dpi, without, AS_IT_IS, edges)

    def altered(
        self, alteration: Alteration, dpi: float = 100, box_mm: Box | None = None, edges: Antialiasing = "smooth"
    ) -> Plates:
        """See ``Page.altered``."""
        return self._rendered(box_mm or self.box_mm, dpi, frozenset(), alteration, edges)

    def close(self) -> None:
        """See ``Page.close``."""
        if self.separator is not None:
            self.separator.close()

    def _rendered(
        self, box_mm: Box, dpi: float, without: frozenset[str], alteration: Alteration, edges: Antialiasing
    ) -> Plates:
        for bound in self.over_bounds:
            if "plates" in bound.hits:
                raise PageTooBig(f"the plates of page {self.number} cannot be made: {bound.because}")
        assert self.separator is not None
        request = (box_mm, dpi, sorted(without), alteration, edges)
        kept = self.cache.get(request) if self.cache is not None else None
        if kept is not None:
            return self._noted(kept, alteration)
        plates = self.separator.render(box_mm, dpi, without, alteration, edges)
        if self.cache is not None:
            self.cache.put(request, plates)
        return self._noted(plates, alteration)

    def _noted(self, plates: Plates, alteration: Alteration) -> Plates:
        """What is missing on plates of the page as it is, is remembered of the page."""
        if alteration == AS_IT_IS:
            self.uncertain += [place for place in plates.uncertain if place not in self.uncertain]
        return plates


def read_artwork(
    path: Path, ticket: Ticket | None = None, *, only_page: int | None = None, cache: bool = False
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
        pages: list[Page] = []
        # One reader for all pages: names that read alike are told apart in the order in which they appear.
        colour_reader = ColourReader()
        alternates = AlternateReader(colour_reader)
        first, last = (only_page, only_page) if only_page else (1, MOST_PAGES)
        for number in range(first, min(last, facts.page_count) + 1):
            page = _read_page(opened.pdf, alternates, opened.pdf.pages[number - 1].obj, number, ticket)
            if cache and page.separator is not None:
                page.cache = PlateCache(cache_folder(), page_key(opened.sha256, number, page.separator.plates))
            pages.append(page)
        return Artwork(
            path=path,
            sha256=opened.sha256,
            repairs=opened.repairs,
            page_count=facts.page_count,
            pages=pages,
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
    spaces = _spaces_named(content, alternates.colour_reader, pdf)
    separations = _separations(content, objects, spaces, layers, ticket)
    plates = printing_order([s.name for s in separations if s.on_plate], PROCESS)
    read = ReadPage(
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
    )
    read.separator = Separator(content, objects, geometry, plates)
    return read


def _separations(
    page: PageContent,
    objects: PageObjects,
    named: dict[str, pikepdf.Object | None],
    layers: list[Layer],
    ticket: Ticket | None,
) -> list[Separation]:
    """Every colorant that content or resources name: process plates that get ink, then all others as they come."""
    used = np.zeros(len(objects.colours), bool)
    for content in page.streams:
        used[content.colour] = True
    painted = objects.colours.inked(used)
    for name in named:
        painted.setdefault(name, 0.0)
    painted.pop("All", None)
    if page.blend_modes & MIXING:
        # What two of them carry may come out on the third.
        painted.update({name: 1.0 for name in MIXED if name not in painted or not painted[name]})
    painted.update({name: 1.0 for name in plates_of_lights(page) if not painted.get(name)})
    names = printing_order([n for n, tint in painted.items() if n not in PROCESS or tint > 0], PROCESS)
    owned = _owned_by_steps(objects, layers, names)
    spaces = {name: space for name, space in named.items() if space is not None and name in painted}
    looks = screen_colours_of(spaces)
    mixed = {name for name in names if name in PROCESS and not _only_lines(objects, name)}
    return [replace(_kind(name, owned.get(name), ticket, mixed), looks_rgb=looks.get(name)) for name in names]


def _only_lines(objects: PageObjects, name: str) -> bool:
    """Whether nothing but strokes is painted in a separation, so that all of it may be the die."""
    painted = objects.painted[objects.in_separation(name)]
    return bool(len(painted)) and bool(np.all(painted == Painted.STROKE))


def _spaces_named(page: PageContent, reader: ColourReader, pdf: pikepdf.Pdf) -> dict[str, pikepdf.Object | None]:
    """Colorants that the colour spaces of the page and its forms name, each with its Separation space if it has one."""
    found: dict[str, pikepdf.Object | None] = {}
    seen: set[object] = set()
    for content in page.streams:
        for _, entry in entries(lookup(content.resources, "ColorSpace")):
            key = identity(entry)
            if key in seen:
                continue
            seen.add(key)
            for name in reader.resolve(entry, content.resources).plates:
                found[name] = indirect(pdf, entry) if is_separation(entry) else found.get(name)
    return found


def _owned_by_steps(objects: PageObjects, layers: list[Layer], names: tuple[str, ...]) -> dict[str, tuple[str, str]]:
    """Spots that are painted in layers of one kind of processing step only (ISO 19593-1), with the kind."""
    kinds = {index: step_kind(layer) for index, layer in enumerate(layers)}
    if not any(kinds.values()):
        return {}
    found = {}
    for name in names:
        if name in PROCESS:
            continue
        on = set(np.unique(objects.layer[objects.in_separation(name)]).tolist())
        steps = {kinds.get(layer) for layer in on}
        kind = next(iter(steps)) if len(steps) == 1 else None
        if kind:
            found[name] = (kind, layers[min(on)].name)
    return found


def _kind(name: str, owned: tuple[str, str] | None, ticket: Ticket | None, mixed: Collection[str]) -> Separation:
    """``mixed``: process inks in which more than lines are drawn; they print, though the ticket has a die in them."""
    note = ticket.separations.get(name) if ticket is not None else None
    if note is not None and note.kind:
        return Separation(name, note.kind, "stated in the ticket", "stated")
    if ticket is not None and name not in mixed:
        for role, names in ticket.die.lines.items():
            if name in names:
                return Separation(name, role, f"the ticket says that the die's {role} lines are in it", "stated")
    if name in PROCESS:
        return Separation(name, "process", "a process colour")
    if owned is not None:
        kind, layer = owned
        return Separation(name, kind, f"painted only in the processing step {layer} (ISO 19593-1)")
    found = classify(name, load_names())
    if found is not None:
        return Separation(name, *found)
    return Separation(name, "spot", "a name that nothing else claims is a spot")

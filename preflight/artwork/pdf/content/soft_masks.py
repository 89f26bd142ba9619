"""Soft masks of graphics states: the groups of those by luminosity, read like any other stream (ISO 32000-2, 11.5)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from pikepdf import Dictionary, Name, Object, Pdf, Stream

from preflight.artwork.pdf.colour.colour_reader import ColourReader
from preflight.artwork.pdf.colour.spot_spaces import base_of, indirect, is_separation
from preflight.artwork.pdf.content.graphics_state import GraphicsState
from preflight.artwork.pdf.content.page_content import Backdrop, SoftMask
from preflight.artwork.pdf.content.stream_content import Content, StreamContext
from preflight.artwork.pdf.content.stream_state import PageReader
from preflight.artwork.pdf.content.transparency import reached
from preflight.artwork.pdf.structure.values import entries, identity, lookup, numbers
from preflight.errors import NotRead


def luminosity_masks(contents: Sequence[Content]) -> Iterator[Object]:
    """Soft masks by luminosity in the graphics states that streams have for resources."""
    seen = set[object]()
    for content in contents:
        states = lookup(content.resources, "ExtGState")
        key = identity(states)
        if states is None or key in seen:
            continue
        seen.add(key)
        for _, state in entries(states):
            mask = lookup(state, "SMask") if isinstance(state, Dictionary) else None
            if isinstance(mask, Dictionary) and _is_by_luminosity(mask):
                yield mask


def _is_by_luminosity(mask: Object) -> bool:
    return bool(mask.get("/S", None) == Name.Luminosity) and isinstance(mask.get("/G", None), Stream)


def read_soft_mask(mask: Object, page: PageReader, state: GraphicsState) -> SoftMask:
    """A mask with its group; ``state`` is the one that a page begins with."""
    try:
        group = page.form(mask.G, state, StreamContext(Dictionary(), isolated=True))
    except NotRead as fault:
        return SoftMask(None, f"a soft mask that cannot be read: {fault}")
    if group.misses_something:
        return SoftMask(None, "a soft mask that cannot be read in full")
    return SoftMask(group, "", _spots(group, page.colour_reader, page.pdf), _backdrop(mask, page.colour_reader))


def _spots(group: Content, reader: ColourReader, pdf: Pdf) -> dict[str, Object]:
    """Spots that a stream, or one that it calls, names or has images in."""
    found = dict[str, Any]()
    for each in reached(group):
        named = [entry for _, entry in entries(lookup(each.resources, "ColorSpace"))]
        of_images = [lookup(use.stream, "ColorSpace") for use in each.images.values()]
        for entry in map(base_of, [*named, *of_images]):
            if is_separation(entry):
                found.update(dict.fromkeys(reader.resolve(entry, each.resources).plates, entry))
    return {name: indirect(pdf, space) for name, space in found.items()}


def _backdrop(mask: Object, reader: ColourReader) -> Backdrop | None:
    given, space_entry = numbers(lookup(mask, "BC")), lookup(lookup(mask.G, "Group"), "CS")
    if given is None or space_entry is None:
        return None
    space = reader.resolve(space_entry, lookup(mask.G, "Resources"))
    return Backdrop(space, tuple(given)) if space.components == len(given) else None

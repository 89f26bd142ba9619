"""In which colour space transparency is blended, where that is not the plates' own (ISO 32000-1, 11.4.7, table 147).

A group's colours are converted into its space, and what comes out of it into the plates' again. The page's group counts
as isolated; the space of any other group that is not isolated is its parent's, whatever it says.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from pikepdf import Array, Dictionary, Name, Object, Pdf, PdfError, Stream

from preflight.artwork.page.page import BlendSpace
from preflight.artwork.pdf.colour.colour_reader import ColourReader
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.page_objects import PageObjects
from preflight.artwork.pdf.structure.values import items, lookup

OF_THE_PLATES = frozenset({"", "DeviceCMYK", "Unknown"})


def group_space(pdf: Pdf, reader: ColourReader, holder: Object, resources: Object) -> str:
    """Family of the blending space that a page or form gives its group; empty where it gives none."""
    group = lookup(holder, "Group")
    space = lookup(group, "CS")
    if not isinstance(group, Dictionary) or lookup(group, "S") != Name.Transparency or space is None:
        return ""
    found = reader.resolve(space, resources)
    return "" if found.family == "ICCBased-4" and _is_output_profile(pdf, space) else found.family


def _is_output_profile(pdf: Pdf, space: Any) -> bool:
    """Whether a CMYK profile is the one that the file says it is printed by: its values are then the plates' own."""
    profile = space[1] if isinstance(space, Array) and len(space) > 1 else None
    targets = [lookup(intent, "DestOutputProfile") for intent in items(lookup(pdf.Root, "OutputIntents"), 100)]
    if not isinstance(profile, Stream):
        return False
    return any(isinstance(target, Stream) and _same_bytes(profile, target) for target in targets)


def _same_bytes(one: Stream, other: Stream) -> bool:
    try:
        return one.objgen == other.objgen or one.read_bytes() == other.read_bytes()
    except PdfError:  # a broken profile is like no other
        return False


def blend_spaces(content: PageContent, objects: PageObjects) -> list[BlendSpace]:
    """Groups of a page that blend in another space than the plates', the page's own first."""
    found, page = [], content.stream
    if page.group_space not in OF_THE_PLATES:
        found.append(BlendSpace(page.group_space, True, np.arange(len(objects)), content.transparency.lets_show(page)))
    for inner in content.streams:
        if inner.own_isolated and inner.group_space not in OF_THE_PLATES:
            numbers = [each.number for each in inner.with_calls()]
            rows = np.flatnonzero(np.isin(objects.source[:, 0], numbers))
            if len(rows):
                found.append(BlendSpace(inner.group_space, False, rows, True))
    return found

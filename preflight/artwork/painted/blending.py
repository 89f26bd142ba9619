"""In which colour space transparency is blended, where that is not the plates' own (ISO 32000-1, 11.4.7, table 147).

A group's colours are converted into its space, and what comes out of it into the plates' again. The page's group counts
as isolated; the space of any other group that is not isolated is its parent's, whatever it says.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from pikepdf import Array, Dictionary, Name, Object, Pdf, PdfError, Stream

from preflight.artwork.colour.colours import ColourReader
from preflight.artwork.document import BlendSpace
from preflight.artwork.painted.content import Content
from preflight.artwork.painted.images import is_soft_masked
from preflight.artwork.structure.values import items, lookup

if TYPE_CHECKING:
    from preflight.artwork.painted.flatten import PageObjects
    from preflight.artwork.painted.interpret import Interpreter

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


def blend_spaces(owner: Interpreter, page: Object, content: Content, objects: PageObjects) -> list[BlendSpace]:
    """Groups of a page that blend in another space than the plates', the page's own first."""
    found = []
    own = group_space(owner.pdf, owner.colour_reader, page, content.resources)
    if own not in OF_THE_PLATES:
        found.append(BlendSpace(own, True, np.arange(len(objects)), _blends(owner, content)))
    for inner in owner.contents:
        if inner.own_isolated and inner.group_space not in OF_THE_PLATES:
            numbers = [each.number for each in inner.with_calls()]
            rows = np.flatnonzero(np.isin(objects.source[:, 0], numbers))
            if len(rows):
                found.append(BlendSpace(inner.group_space, False, rows, True))
    return found


def _blends(owner: Interpreter, content: Content) -> bool:
    """Whether anything on a page lets something show through, or is a group."""
    inside = content.with_calls()
    if any(each.group for each in inside) or any(
        is_soft_masked(use) for each in inside for use in each.images.values()
    ):
        return True
    used = {int(number) for each in inside for number in np.unique(each.state).tolist()}
    return any(
        float(alpha) < 1 or float(stroke_alpha) < 1 or blend != "Normal" or bool(mask)  # type: ignore[arg-type]
        for alpha, stroke_alpha, blend, mask in (_transparency(owner.states[number]) for number in used)
    )


def _transparency(state: tuple[object, ...]) -> tuple[object, object, object, object]:
    """Alpha for fills and strokes, blend mode and soft mask of a row of the state table."""
    return state[3], state[4], state[5], state[10]


def blend_modes(owner: Interpreter, contents: Sequence[Content]) -> frozenset[str]:
    """Blend modes that anything in these streams is painted with."""
    used = {int(number) for content in contents for number in np.unique(content.state)}
    used |= {call.state for content in contents for call in content.calls}
    return frozenset(str(owner.states[number][5]) for number in used)


def is_opaque(owner: Interpreter) -> bool:
    """Whether nothing that was read is faint, blended or masked, pictures included."""
    plain = all(state[3] == state[4] == 1 and state[5] == "Normal" and not state[10] for state in owner.states)
    return plain and not any(is_soft_masked(use) for content in owner.contents for use in content.images.values())

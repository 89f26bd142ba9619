"""What the separations of a page are: which it has, and the kind of each.

A kind comes from the ticket, from an ISO 19593-1 processing step that owns the separation, from rules/names.yaml, or
from nobody, in this order; then the separation is a spot that prints.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

import numpy as np
import pikepdf

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import Layer
from preflight.artwork.page.separations import PROCESS, Separation
from preflight.artwork.pdf.colour.colour_reader import ColourReader
from preflight.artwork.pdf.colour.spot_spaces import indirect, is_separation
from preflight.artwork.pdf.content.page_content import PageContent
from preflight.artwork.pdf.content.page_objects import PageObjects
from preflight.artwork.pdf.structure.layers import step_kind
from preflight.artwork.pdf.structure.values import entries, identity, lookup
from preflight.artwork.platemaking.blend_modes import BLENDED_TOGETHER, NONSEPARABLE
from preflight.artwork.platemaking.composed_groups import plates_of_lights
from preflight.artwork.platemaking.screen_colours import screen_colours_of
from preflight.artwork.platemaking.separator import printing_order
from preflight.inputs.kind_names import classify, load_names
from preflight.inputs.ticket import Ticket


def colorants_named(page: PageContent, reader: ColourReader) -> dict[str, pikepdf.Object | None]:
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
                found[name] = indirect(page.pdf, entry) if is_separation(entry) else found.get(name)
    return found


def separations_of_page(
    page: PageContent,
    objects: PageObjects,
    named: Mapping[str, pikepdf.Object | None],
    layers: list[Layer],
    ticket: Ticket | None,
) -> list[Separation]:
    """Every colorant that content or resources name: process plates that get ink, then all others as they come.

    ``named``: as ``colorants_named`` has them.
    """
    painted = _deepest_tints(page, objects, named)
    names = printing_order([n for n, tint in painted.items() if n not in PROCESS or tint > 0], PROCESS)
    owned = _owned_by_steps(objects, layers, names)
    spaces = {name: space for name, space in named.items() if space is not None and name in painted}
    looks = screen_colours_of(spaces)
    not_only_lines = {name for name in names if name in PROCESS and not _only_lines(objects, name)}
    return [replace(_kind(name, owned.get(name), ticket, not_only_lines), looks_rgb=looks.get(name)) for name in names]


def _deepest_tints(page: PageContent, objects: PageObjects, named: Iterable[str]) -> dict[str, float]:
    """By colorant the deepest tint that may come out; 0 for those that are only named."""
    used = np.zeros(len(objects.colours), bool)
    for content in page.streams:
        used[content.colour] = True
    painted = objects.colours.inked(used)
    for name in named:
        painted.setdefault(name, 0.0)
    painted.pop("All", None)
    if page.blend_modes & NONSEPARABLE:
        # What two of them carry may come out on the third.
        painted.update({name: 1.0 for name in BLENDED_TOGETHER if not painted.get(name)})
    painted.update({name: 1.0 for name in plates_of_lights(page) if not painted.get(name)})
    return painted


def _only_lines(objects: PageObjects, name: str) -> bool:
    """Whether nothing but strokes is painted in a separation, so that all of it may be the die."""
    painted = objects.painted[objects.in_separation(name)]
    return bool(len(painted)) and bool(np.all(painted == Painted.STROKE))


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


def _kind(
    name: str, owned: tuple[str, str] | None, ticket: Ticket | None, not_only_lines: Collection[str]
) -> Separation:
    """The kind of one separation.

    ``not_only_lines``: process inks in which more than lines are drawn; they print, whatever the ticket has in them.
    """
    note = ticket.separations.get(name) if ticket is not None else None
    if note is not None and note.kind:
        return Separation(name, note.kind, "stated on the ticket", "stated")
    if ticket is not None and name not in not_only_lines:
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
    return Separation(name, "spot", "unrecognised name, treated as a spot")

"""Which painted objects of a page are die lines: by the ticket, processing steps, layer names, separation names."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Final, cast

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.colours import Colour
from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import Layer, Page
from preflight.artwork.page.separations import Separation
from preflight.artwork.pdf.structure.layers import step_kind
from preflight.carton.lines.drawn_lines import MOST_SEGMENTS, ROLES, DieLine, Role
from preflight.carton.lines.stated_names import is_registration
from preflight.findings import Known
from preflight.inputs.kind_names import NamesTable, classify, load_names
from preflight.inputs.ticket import Ticket

LEAST_TINT: Final = 0.01
THICKEST_DIE_LINE_MM: Final = 1.0


@dataclass(frozen=True)
class Reason:
    """A role, and where it comes from."""

    role: str
    known: Known
    because: str
    by_layer_name: bool = False


def is_die_layer(layer: Layer, ticket: Ticket | None) -> bool:
    """Whether a layer is the die's, by the ticket, its processing step or its name."""
    return _layer_reason(layer, ticket, load_names()) is not None


def rows_with_role(page: Page, ticket: Ticket | None, table: NamesTable) -> tuple[list[Reason], NDArray[np.intp]]:
    """Rows of the page that have a role, and the reason for each. Clipped and fully transparent ones have none."""
    objects = page.objects
    if not len(objects):
        return [], np.zeros(0, np.intp)
    by_layer = [_layer_reason(layer, ticket, table) for layer in page.layers]
    kinds = {separation.name: separation for separation in page.separations if separation.kind in ROLES}
    naming = objects.colours.where(lambda family: not family.registration and family.names_any(kinds))
    by_colour = {
        number: reason
        for number in np.flatnonzero(naming).tolist()
        if (reason := _colour_reason(kinds, objects.colours[number])) is not None
    }
    hidden = np.array([not layer.prints for layer in page.layers] + [False])[objects.layer]
    drawn = (objects.visible | hidden) & (objects.alpha > 0)
    layer_has = np.array([reason is not None for reason in by_layer] + [False])[objects.layer]
    colour_has = np.isin(objects.colour, list(by_colour))
    rows, reasons = [], []
    for row in np.flatnonzero(drawn & (layer_has | colour_has)):
        layer = by_layer[objects.layer[row]] if objects.layer[row] >= 0 else None
        if layer is not None and layer.by_layer_name and objects.painted[row] == Painted.FILL:
            layer = None
        reason = _stronger(layer, by_colour.get(int(objects.colour[row])))
        if reason is not None:
            rows.append(row)
            reasons.append(reason)
    return reasons, np.array(rows, np.intp)


def strokes_in_inks(page: Page, ticket: Ticket, taken: NDArray[np.intp]) -> tuple[list[Reason], NDArray[np.intp]]:
    """Thin strokes in registration colour or in a process ink that the ticket names for the die.

    The ink stays one: what else is drawn in it is artwork, and the lines print.
    """
    objects = page.objects
    roles = {name: role for role, names in reversed(ticket.die.lines.items()) for name in names}
    process = {separation.name for separation in page.separations if separation.kind == "process"}
    thin = (objects.painted == Painted.STROKE) & (objects.line_width_mm <= THICKEST_DIE_LINE_MM)
    drawn = np.setdiff1d(np.flatnonzero(thin & objects.visible), taken).astype(np.intp)
    used = np.unique(objects.colour[drawn]).tolist()
    by_colour = {number: _stated_of(objects.colours[number], roles, process) for number in used}
    reasons, rows = [], []
    for row in drawn.tolist():
        reason = by_colour[int(objects.colour[row])]
        if reason is not None:
            rows.append(row)
            reasons.append(reason)
    return reasons, np.array(rows, np.intp)


def _stated_of(colour: Colour, roles: Mapping[str, str], process: Collection[str]) -> Reason | None:
    inks = {name for name, tint in colour.tints if tint > LEAST_TINT}
    named = [name for name in roles if is_registration(name)] if colour.registration else sorted(inks & set(process))
    if not (colour.registration or len(inks) == 1) or not named or named[0] not in roles:
        return None
    role = roles[named[0]]
    return Reason(role, "stated", f"the ticket says that the die's {role} lines are in it")


def _stronger(layer: Reason | None, colour: Reason | None) -> Reason | None:
    """Ticket, then processing step, then layer name, then separation name.

    A layer that is only called "die" does not turn the creases in it into cuts, and a layer called "creases" tells
    more than an ink called "die".
    """
    if layer is None or colour is None:
        return layer or colour
    if layer.by_layer_name and (colour.known == "stated" or layer.role == "cut"):
        return colour
    return colour if colour.known == "stated" and layer.known != "stated" else layer


def _layer_reason(layer: Layer, ticket: Ticket | None, table: NamesTable) -> Reason | None:
    for role, names in (ticket.die.lines if ticket is not None else {}).items():
        if layer.name in names:
            return Reason(role, "stated", f"the ticket says so of layer {layer.name}")
    step = step_kind(layer)
    if step is not None:
        words = f"processing step {layer.step_type or layer.step_group} of layer {layer.name} (ISO 19593-1)"
        return Reason(step, "read", words) if step in ROLES else None
    found = classify(layer.name, table)
    if found is not None and found[0] in ROLES:
        return Reason(found[0], "read", f"layer {layer.name} {found[1]}", by_layer_name=True)
    return None


def _colour_reason(kinds: Mapping[str, Separation], colour: Colour) -> Reason | None:
    """The role of what is painted in a colour; of several die inks in it, the one that cuts most."""
    if colour.registration:
        return None
    found = [kinds[name] for name, tint in colour.tints if tint > LEAST_TINT and name in kinds]
    if not found:
        return None
    first = min(found, key=lambda separation: ROLES.index(cast(Role, separation.kind)))
    return Reason(first.kind, first.known, first.because)


def lines_of(page: Page, rows: NDArray[np.intp], reasons: list[Reason]) -> Iterator[DieLine]:
    """The rows as lines, each subpath one; ends soon after ``MOST_SEGMENTS`` points."""
    objects = page.objects
    points_seen = 0
    for row, reason, subpaths in zip(rows, reasons, objects.paths(rows), strict=True):
        colour = objects.colours[objects.colour[row]]
        inks = tuple(name for name, tint in colour.tints if tint > LEAST_TINT)
        where = ", ".join(inks) or (page.layers[objects.layer[row]].name if objects.layer[row] >= 0 else colour.space)
        role = cast(Role, reason.role)
        for points in subpaths:
            points_seen += len(points)
            yield DieLine(
                points,
                role,
                bool(objects.painted[row] == Painted.FILL),
                float(objects.line_width_mm[row]),
                bool(objects.dashed[row]),
                where,
                reason.known,
                reason.because,
                bool(objects.overprint[row]),
                inks,
                int(row),
            )
        if points_seen > MOST_SEGMENTS:
            return

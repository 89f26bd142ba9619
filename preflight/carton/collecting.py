"""Which painted objects of a page are die lines: by the ticket, processing steps, layer names, separation names."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import compress
from typing import Final, cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from preflight.artwork.document import Layer, Page
from preflight.artwork.names import NamesTable, classify, load_names
from preflight.artwork.objects import Box, Painted
from preflight.artwork.page_colours import Colour
from preflight.artwork.separations import Separation
from preflight.artwork.structure.layers import step_area, step_kind
from preflight.carton.blank import Area, Die
from preflight.carton.building import build_die
from preflight.carton.called import is_registration, names_not_found
from preflight.carton.lines import MOST_SEGMENTS, ROLES, DieLine, Role
from preflight.carton.undeclared import find_undeclared
from preflight.findings import Known
from preflight.ticket import Ticket

LEAST_TINT: Final = 0.01
MOST_ROWS: Final = 60_000
SAME_BOX_MM: Final = 0.5
THICKEST_DIE_LINE_MM: Final = 1.0
MOST_TOLD: Final = 6


@dataclass(frozen=True)
class _Reason:
    """A role, and where it comes from."""

    role: str
    known: Known
    because: str
    by_layer_name: bool = False


def read_die(page: Page, ticket: Ticket | None = None, names: NamesTable | None = None) -> Die:
    """Reads the die of a page; where nothing is called a die, looks for an outline with creases in the inks."""
    table = names or load_names()
    areas = [*_ticket_areas(ticket), *_step_areas(page), *_glue_areas(page)]
    trim = _own_trim(page)
    one_up = ticket is not None and ticket.artwork_is == "one-up"
    reasons, rows = _rows_with_role(page, ticket, table)
    if ticket is not None and not any(reason.role == "cut" for reason in reasons):
        more, more_rows = _strokes_in_inks(page, ticket, rows)
        reasons, rows = [*reasons, *more], np.concatenate([rows, more_rows])
    reasons, rows, left = _without_hidden_twins(page, reasons, rows, trim)
    die = _die_in_rows(page, reasons, rows, areas, trim, one_up) or find_undeclared(page, areas, trim, one_up)
    if die is None:
        says = "no separation or layer is called a cut line, and no thin outline with creases stands on the page"
        die = Die("none", says, loose_areas=tuple(areas))
    missing = names_not_found(page, ticket)
    if missing and die.found == "none":
        return replace(die, because="; ".join(missing))
    return replace(die, notes=(*die.notes, *left, *missing))


def _without_hidden_twins(
    page: Page, reasons: list[_Reason], rows: NDArray[np.intp], trim: Box | None
) -> tuple[list[_Reason], NDArray[np.intp], tuple[str, ...]]:
    """Rows without the lines of layers that are switched off, where the others make a die; and what to say of it.

    Folds of a layer that is off are kept where the visible die has none.
    """
    off = np.array([not layer.switched_on for layer in page.layers] + [False])[page.objects.layer[rows]]
    cuts = np.array([reason.role == "cut" for reason in reasons], bool)
    if not off.any() or not (cuts & ~off).any():
        return reasons, rows, ()
    shown = _die_in_rows(page, list(compress(reasons, ~off)), rows[~off], [], trim, False)
    if shown is None or not shown.blanks:
        return reasons, rows, ()
    folds = not all(blank.creases.is_empty for blank in shown.blanks)
    kept = ~off if folds else ~(off & cuts)
    if kept.all():
        return reasons, rows, ()
    names = sorted({page.layers[number].name for number in page.objects.layer[rows[~kept]].tolist()})
    layers = f"layer{'s' * (len(names) > 1)} {', '.join(names)}"
    said = f"the die lines on the {layers}, switched off in the file, are left out; the visible die is used"
    return list(compress(reasons, kept)), rows[kept], (said,)


def _die_in_rows(
    page: Page, reasons: list[_Reason], rows: NDArray[np.intp], areas: list[Area], trim: Box | None, one_up: bool
) -> Die | None:
    """The die that lies in these rows; None where nothing in them is a line."""
    is_line = np.isin(page.objects.painted[rows], (Painted.FILL, Painted.STROKE))
    texts = int((page.objects.painted[rows] == Painted.TEXT).sum())
    chosen = np.flatnonzero(np.array([reason.role in ROLES for reason in reasons], bool) & is_line)
    if not len(chosen):
        return None
    if len(chosen) > MOST_ROWS:
        says = f"the die was not read: more than {MOST_ROWS:,} objects are in its inks"
        return Die("none", says, uncertain=(says,), loose_areas=tuple(areas))
    lines = list(_lines(page, rows[chosen], [reasons[i] for i in chosen]))
    told = list(dict.fromkeys(f"{line.role}: {line.drawn_in}, {line.because}" for line in lines))
    because = "; ".join([*told[:MOST_TOLD], *(["…"] if len(told) > MOST_TOLD else [])])
    die = build_die(lines, areas, trim=trim, one_up=one_up, texts=texts, because=because)
    if any(line.role == "cut" for line in lines) or (die.blanks and not die.uncertain):
        return die
    found = find_undeclared(page, areas, trim, one_up, lines)
    if found is None and not die.blanks:
        return replace(die, because=f"{because}; but nothing is called a cut line")
    return found or die


def _strokes_in_inks(
    page: Page, ticket: Ticket, taken: NDArray[np.intp]
) -> tuple[list[_Reason], NDArray[np.intp]]:  # fmt: skip
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


def _stated_of(colour: Colour, roles: Mapping[str, str], process: Collection[str]) -> _Reason | None:
    inks = {name for name, tint in colour.tints if tint > LEAST_TINT}
    named = [name for name in roles if is_registration(name)] if colour.registration else sorted(inks & set(process))
    if not (colour.registration or len(inks) == 1) or not named or named[0] not in roles:
        return None
    role = roles[named[0]]
    return _Reason(role, "stated", f"the ticket says that the die's {role} lines are in it")


def _rows_with_role(
    page: Page, ticket: Ticket | None, table: NamesTable
) -> tuple[list[_Reason], NDArray[np.intp]]:  # fmt: skip
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


def _stronger(layer: _Reason | None, colour: _Reason | None) -> _Reason | None:
    """Ticket, then processing step, then layer name, then separation name.

    A layer that is only called "die" does not turn the creases in it into cuts, and a layer called "creases" tells
    more than an ink called "die".
    """
    if layer is None or colour is None:
        return layer or colour
    if layer.by_layer_name and (colour.known == "stated" or layer.role == "cut"):
        return colour
    return colour if colour.known == "stated" and layer.known != "stated" else layer


def is_die_layer(layer: Layer, ticket: Ticket | None, names: NamesTable | None = None) -> bool:
    """Whether a layer is the die's, by the ticket, its processing step or its name."""
    return _layer_reason(layer, ticket, names or load_names()) is not None


def _layer_reason(layer: Layer, ticket: Ticket | None, table: NamesTable) -> _Reason | None:
    for role, names in (ticket.die.lines if ticket is not None else {}).items():
        if layer.name in names:
            return _Reason(role, "stated", f"the ticket says so of layer {layer.name}")
    step = step_kind(layer)
    if step is not None:
        words = f"processing step {layer.step_type or layer.step_group} of layer {layer.name} (ISO 19593-1)"
        return _Reason(step, "read", words) if step in ROLES else None
    found = classify(layer.name, table)
    if found is not None and found[0] in ROLES:
        return _Reason(found[0], "read", f"layer {layer.name} {found[1]}", by_layer_name=True)
    return None


def _colour_reason(kinds: Mapping[str, Separation], colour: Colour) -> _Reason | None:
    """The role of what is painted in a colour; of several die inks in it, the one that cuts most."""
    if colour.registration:
        return None
    found = [kinds[name] for name, tint in colour.tints if tint > LEAST_TINT and name in kinds]
    if not found:
        return None
    first = min(found, key=lambda separation: ROLES.index(cast(Role, separation.kind)))
    return _Reason(first.kind, first.known, first.because)


def _lines(page: Page, rows: NDArray[np.intp], reasons: list[_Reason]) -> Iterator[DieLine]:
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
                points, role, bool(objects.painted[row] == Painted.FILL), float(objects.line_width_mm[row]),
                bool(objects.dashed[row]), where, reason.known, reason.because, bool(objects.overprint[row]), inks,
                int(row),
            )  # fmt: skip
        if points_seen > MOST_SEGMENTS:
            return


def _own_trim(page: Page) -> Box | None:
    """The trim box where it says something: not when it is the page."""
    trim = page.boxes.trim
    if trim is None or np.abs(np.array(trim) - np.array(page.boxes.media)).max() < SAME_BOX_MM:
        return None
    return trim


def _ticket_areas(ticket: Ticket | None) -> Iterator[Area]:
    for area in ticket.areas if ticket is not None else ():
        yield Area(area.is_, shapely.box(*area.box), "stated", "stated in the ticket")


def _step_areas(page: Page) -> Iterator[Area]:
    """Areas outlined or filled in layers with a processing step of ISO 19593-1."""
    kinds = {n: kind for n, layer in enumerate(page.layers) if (kind := step_area(layer))}
    for number, kind in kinds.items():
        layer = page.layers[number]
        words = f"processing step {layer.step_type} of layer {layer.name} (ISO 19593-1)"
        for shape in shapes_of(page, page.objects.layer == number):
            yield Area(kind, shape, "read", words)


def _glue_areas(page: Page) -> Iterator[Area]:
    for separation in page.separations:
        if separation.kind == "glue":
            for shape in shapes_of(page, page.objects.in_separation(separation.name)):
                yield Area("glue", shape, separation.known, f"{separation.name}, {separation.because}")


def shapes_of(page: Page, mask: NDArray[np.bool_]) -> list[Polygon]:
    """Closed shapes of the rows, each once."""
    objects = page.objects
    rows = np.flatnonzero(mask & np.isin(objects.painted, (Painted.FILL, Painted.STROKE)))[:1000]
    found = []
    for subpaths in objects.paths(rows):
        for points in subpaths:
            if len(points) > 3 and np.isfinite(points).all() and np.abs(points[0] - points[-1]).max() < 0.01:
                shape = shapely.make_valid(Polygon(points))
                found += [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and part.area > 1.0]
    merged = shapely.union_all(found) if found else Polygon()
    return [part for part in shapely.get_parts(merged) if isinstance(part, Polygon) and not part.is_empty]

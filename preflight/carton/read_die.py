"""The die of a page: the lines that are called one, or else an outline with creases in the inks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import compress
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import Page
from preflight.carton.areas import areas_of
from preflight.carton.build_die import build_die
from preflight.carton.die import Area, Die
from preflight.carton.lines.die_objects import Reason, lines_of, rows_with_role, strokes_in_inks
from preflight.carton.lines.drawn_lines import ROLES, DieLine
from preflight.carton.lines.stated_names import names_not_found
from preflight.inputs.kind_names import load_names
from preflight.inputs.ticket import Ticket

MOST_ROWS: Final = 60_000
SAME_BOX_MM: Final = 0.5
MOST_TOLD: Final = 6


def read_die(page: Page, ticket: Ticket | None = None) -> Die:
    """Reads the die of a page; where nothing is called a die, looks for an outline with creases in the inks."""
    areas = areas_of(page, ticket)
    trim = _own_trim(page)
    one_up = ticket is not None and ticket.artwork_is == "one-up"
    reasons, rows = rows_with_role(page, ticket, load_names())
    if ticket is not None and not any(reason.role == "cut" for reason in reasons):
        more, more_rows = strokes_in_inks(page, ticket, rows)
        reasons, rows = [*reasons, *more], np.concatenate([rows, more_rows])
    reasons, rows, left = _without_hidden_twins(page, reasons, rows, trim)
    die = _die_in_rows(page, reasons, rows, areas, trim, one_up) or _undeclared(page, areas, trim, one_up)
    if die is None:
        says = "no separation or layer is named as a cut line, and the page has no thin outline with creases"
        die = Die("none", says, loose_areas=tuple(areas))
    if not die.blanks or die.found == "assumed":
        die = replace(die, likely_cut=_likely_cut(page))
    missing = names_not_found(page, ticket)
    if missing and die.found == "none":
        says = "; ".join(f"the ticket has {each.statement}, and {each.because}" for each in missing)
        return replace(die, because=says, unusable=tuple(missing))
    return replace(die, notes=(*die.notes, *left), unusable=tuple(missing))


def _without_hidden_twins(
    page: Page, reasons: list[Reason], rows: NDArray[np.intp], trim: Box | None
) -> tuple[list[Reason], NDArray[np.intp], tuple[str, ...]]:
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
    page: Page, reasons: list[Reason], rows: NDArray[np.intp], areas: list[Area], trim: Box | None, one_up: bool
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
    lines = list(lines_of(page, rows[chosen], [reasons[i] for i in chosen]))
    told = list(dict.fromkeys(f"{line.role}: {line.drawn_in}, {line.because}" for line in lines))
    because = "; ".join([*told[:MOST_TOLD], *(["…"] if len(told) > MOST_TOLD else [])])
    die = build_die(lines, areas, trim=trim, one_up=one_up, texts=texts, because=because)
    if any(line.role == "cut" for line in lines) or (die.blanks and not die.uncertain):
        return die
    found = _undeclared(page, areas, trim, one_up, lines)
    if found is None and not die.blanks:
        return replace(die, because=f"{because}; but none is named as a cut line")
    return found or die


def _own_trim(page: Page) -> Box | None:
    """The trim box where it says something: not when it is the page."""
    trim = page.boxes.trim
    if trim is None or np.abs(np.array(trim) - np.array(page.boxes.media)).max() < SAME_BOX_MM:
        return None
    return trim


def _likely_cut(page: Page) -> str:
    """See ``likely_cut``."""
    from preflight.carton.likely_cut import likely_cut  # where there is a die it is not needed

    return likely_cut(page)


def _undeclared(
    page: Page, areas: list[Area], trim: Box | None, one_up: bool, named: Sequence[DieLine] = ()
) -> Die | None:
    """See ``find_undeclared``."""
    from preflight.carton.undeclared_die import find_undeclared  # where lines are called the die it is not needed

    return find_undeclared(page, areas, trim, one_up, named)

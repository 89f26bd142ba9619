"""What the blanks of a sheet come to: each plate over all of them, and what is noted beside the verdicts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.comparing.comparison import BlankCheck, PlateChange
from preflight.comparing.sheet.blank_audit import Audited
from preflight.comparing.sheet.look_at_sheet import NOISE, SheetLooks
from preflight.comparing.sheet.printed_art import PrintedArt
from preflight.findings import numbers_listed, with_and


def plates_of_sheet(audited: Sequence[Audited], looks: SheetLooks) -> list[PlateChange]:
    """Each plate over all blanks that are not right: the change that is largest, and every place."""
    seen: dict[str, list[PlateChange]] = defaultdict(list)
    outside: dict[str, list[tuple[Box, int]]] = defaultdict(list)
    for each in audited:
        for plate in each.check.plates if each.check.kind != "same" else ():
            seen[plate.name].append(plate)
        for name, box in each.outside:
            outside[name].append((box, each.check.page))
    found = []
    for known in looks.order:
        name = looks.names.get(known, known)
        changes = seen.get(name, [])
        beyond = tuple(outside.get(name, ()))
        if changes:
            worst = max(changes, key=lambda change: change.share)
            spots = tuple(place for change in changes for place in change.places)
            found.append(replace(worst, places=spots, outside=beyond))
        elif name != known:
            found.append(PlateChange(name, "renamed", renamed_from=known, outside=beyond))
        else:
            found.append(PlateChange(name, "none", outside=beyond))
    return found


def cell_numbers(audited: Sequence[Audited]) -> list[str]:
    """What is said of something small on flaps that nobody sees."""
    numbered = [(each.check.number, each.number) for each in audited if each.number is not None]
    if not numbered:
        return []
    x0, y0, x1, y1 = numbered[0][1]
    which = f"Blank{'s' * (len(numbered) > 1)} {numbers_listed(number for number, _ in numbered)}"
    have = "have" if len(numbered) > 1 else "has"
    where = f"the first at ({(x0 + x1) / 2:.0f}, {(y0 + y1) / 2:.0f}) mm"
    small = "something small printed on a glue or dust flap"
    return [f"{which} {have} {small} that the one-up has not, {where}: cell numbers?"]


def _common(arts: Sequence[PrintedArt], looks: SheetLooks) -> list[str]:
    """Plates that are the same in all versions, inside the cut of the one-up."""
    if len(arts) < 2:
        return []
    first = arts[0].drawn(looks.order)
    found = []
    for number, name in enumerate(looks.order):
        if all(name in art.names for art in arts) and all(
            art.grid() == arts[0].grid() and _alike(first[number], art.drawn(looks.order)[number]) for art in arts[1:]
        ):
            found.append(name)
    return found


def _alike(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> bool:
    return bool((np.maximum(one, other) - np.minimum(one, other)).max(initial=0) <= NOISE)


def notes_on_common(checks: Sequence[BlankCheck], looks: SheetLooks, arts: Sequence[PrintedArt]) -> list[str]:
    """Whether plates that all versions have in common are the same on all blanks (X04)."""
    common = _common(arts, looks)
    if not common or not checks:
        return []
    shown = {looks.names.get(name, name): name for name in common}
    off = {
        name: [check.number for check in checks if any(plate.name == name for plate in check.plates)] for name in shown
    }
    right = [name for name, numbers in off.items() if not numbers]
    of_all = f"in all {len(arts)} versions"
    every = f"on every blank{' that prints in full' * any(check.kind == 'missing' for check in checks)}"
    said = [f"{with_and(right)} {'are' if len(right) > 1 else 'is'} the same {of_all} and {every}."] if right else []
    return said + [
        f"{name} is the same {of_all}, but not on blank {numbers_listed(numbers)}."
        for name, numbers in off.items()
        if numbers
    ]

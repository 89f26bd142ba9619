"""Cover of each plate in the strip of each ink key.

``cover`` is the mean tint, 0..1, in the strip over the sheet's length. The strips are centred on the press's middle,
where the sheet's middle runs. A strip beyond the sheet has 0; one partly off the sheet is averaged over all of its
pitch. The tool's own bar and marks count; marks that were read from the artwork are on its plates already.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from preflight.inputs.press import InkKeys
from preflight.kinds import PRINTING_KINDS
from preflight.setup.ink_keys.strips import Drawings, Strips, ink_in_strips, on_sheet_box
from preflight.setup.merged_requests import BACK
from preflight.setup.press_sheet.press_sheet import Mark, PressSheet, Side

Floats = NDArray[np.float64]
LEAST: float = 1e-6
"""Cover under which a plate has nothing on it: one pixel at one level of 255 on a large sheet has more."""

FINE_MM: float = 0.25
"""Steps in which it is told how far ink reaches beyond the keys."""
LEAST_MM2: float = 0.05
"""Of solid in such a step: less is the rim of a pixel."""


@dataclass(frozen=True)
class PlateCover:
    """One plate, and how much of it lies in the strip of each key."""

    name: str
    """Of its separation, as on the plan: ``same_as`` followed, ``(back)`` behind an ink that both sides print."""
    side: Side
    kind: str
    cover: tuple[float, ...]
    """0..1 by key, number 1 at the operator side."""
    work: tuple[float, ...]
    """The same without marks, the tool's own and those found on the artwork."""


@dataclass(frozen=True)
class OwnMarks:
    """Marks of one sort that the tool puts on the sheet, and that are in the covers."""

    kind: str
    count: int
    inks: tuple[str, ...]


@dataclass(frozen=True)
class KeyCovers:
    """Covers of all plates."""

    strips: Strips
    plates: tuple[PlateCover, ...]
    """In the order of the separations, the front first; plates with nothing on them are left out."""
    own_marks: tuple[OwnMarks, ...] = ()

    @property
    def by_name(self) -> dict[str, tuple[float, ...]]:
        """Cover by the name of the plate."""
        return {plate.name: plate.cover for plate in self.plates}


def _as_named(name: str) -> str:
    return name


def key_covers(
    sheet: PressSheet,
    keys: InkKeys,
    goes_by: Callable[[str], str] = _as_named,
    on_coaters: Collection[str] = (),
    drawings: Drawings | None = None,
) -> KeyCovers:
    """Cover of every plate in every strip, from the operator side.

    Args:
        sheet: as it is printed.
        keys: how many keys the press has, and how wide.
        goes_by: the name that a separation has on the plan; names of one ink are added up.
        on_coaters: separations that a coater lays: they have no keys.
        drawings: sums that were made before, for whoever asks more of the same sheet.

    Raises:
        ValueError: a piece is turned by something else than quarter turns.
    """
    strips = Strips.of(sheet, keys)
    kinds = {name: kind for name, kind in sheet.kinds.items() if kind in PRINTING_KINDS and name not in on_coaters}
    work = _of_pieces(sheet, strips, drawings or Drawings())
    own = _of_marks([mark for mark in sheet.marks if mark.known == "stated"], sheet, strips)
    read = _of_marks([mark for mark in sheet.marks if mark.known != "stated"], sheet, strips)
    cover = _together(_sum(work, own), kinds, goes_by)
    alone = _together(_sum(work, {key: -ink for key, ink in read.items() if key in work}), kinds, goes_by)
    plates = list(_plates(cover, alone, kinds, goes_by, strips))
    return KeyCovers(strips, tuple(plates), _named(sheet.marks, kinds))


def beyond_keys(
    sheet: PressSheet,
    keys: InkKeys,
    goes_by: Callable[[str], str] = _as_named,
    on_coaters: Collection[str] = (),
    drawings: Drawings | None = None,
) -> dict[str, tuple[float, float]]:
    """How far each ink prints beyond the outermost keys at the left and at the right of the sheet's frame, mm.

    Marks do not count. Inks that no key misses are left out. Arguments as of ``key_covers``.
    """
    edges = Strips.of(sheet, keys).edges_mm
    found: dict[str, tuple[float, float]] = {}
    kinds = {name: kind for name, kind in sheet.kinds.items() if kind in PRINTING_KINDS and name not in on_coaters}
    read = [mark for mark in sheet.marks if mark.known != "stated"]
    for end, wide in enumerate((float(edges[0]), float(sheet.size.across_mm - edges[-1]))):
        if wide <= 0:
            continue
        away = np.minimum(np.arange(np.ceil(wide / FINE_MM) + 1) * FINE_MM, wide)
        places = edges[0] - away[::-1] if end == 0 else edges[-1] + away
        fine = Strips(places, sheet.size.across_mm, sheet.size.along_mm, sheet.operator_side)
        work = _of_pieces(sheet, fine, drawings or Drawings())
        marks = {key: -ink for key, ink in _of_marks(read, sheet, fine).items() if key in work}
        for (_, name), mm2 in _together(_sum(work, marks), kinds, goes_by).items():
            there = np.flatnonzero((mm2[::-1] if end == 0 else mm2) > LEAST_MM2)
            if len(there):
                reach = [*found.get(name, (0.0, 0.0))]
                reach[end] = max(reach[end], float(away[there[-1] + 1]))
                found[name] = (reach[0], reach[1])
    return found


_BySide = Mapping[tuple[Side, str], Floats]


def _of_pieces(sheet: PressSheet, strips: Strips, drawings: Drawings) -> dict[tuple[Side, str], Floats]:
    """Solid mm² by side and separation in the strips from left to right."""
    found: dict[tuple[Side, str], Floats] = {}
    shown = on_sheet_box(sheet)
    for piece in sheet.pieces:
        drawn = drawings.of(piece, shapely.intersection(piece.clip, shown))
        if drawn is None:
            continue
        for name, ink in zip(drawn.names, ink_in_strips(drawn, piece.to_sheet, strips), strict=True):
            found[piece.side, name] = found.get((piece.side, name), 0.0) + ink
    return found


def _of_marks(marks: Sequence[Mark], sheet: PressSheet, strips: Strips) -> dict[tuple[Side, str], Floats]:
    """The same of marks; they are on the front."""
    if not marks:
        return {}
    boxes = shapely.box(strips.edges_mm[:-1], 0.0, strips.edges_mm[1:], sheet.size.along_mm)
    shown, found = on_sheet_box(sheet), dict[tuple[Side, str], Floats]()
    for mark in marks:
        x0, _, x1, _ = mark.shape.bounds
        near = np.flatnonzero((strips.edges_mm[:-1] < x1) & (strips.edges_mm[1:] > x0))
        area = np.zeros(len(boxes))
        area[near] = shapely.area(shapely.intersection(boxes[near], shapely.intersection(mark.shape, shown)))
        for name, tint in mark.inks.items():
            found["front", name] = found.get(("front", name), 0.0) + area * tint
    return found


def _sum(one: _BySide, other: _BySide) -> dict[tuple[Side, str], Floats]:
    found = dict(one)
    for key, ink in other.items():
        found[key] = found[key] + ink if key in found else ink
    return found


def _together(ink: _BySide, kinds: Collection[str], goes_by: Callable[[str], str]) -> dict[tuple[Side, str], Floats]:
    """Names of one ink added up under the name that it has on the plan."""
    found: dict[tuple[Side, str], Floats] = {}
    for (side, name), mm2 in ink.items():
        if name in kinds:
            key = (side, goes_by(name))
            found[key] = found.get(key, 0.0) + mm2
    return found


def _plates(
    cover: _BySide, work: _BySide, kinds: Mapping[str, str], goes_by: Callable[[str], str], strips: Strips
) -> Iterator[PlateCover]:
    """The plates with something on them; mm² become shares of the strip, cut at 1 where names of one ink overlap."""
    strip_mm2 = strips.pitch_mm * strips.along_mm
    kind_of = {goes_by(name): kinds.get(goes_by(name), kind) for name, kind in kinds.items()}
    there = {key for key, mm2 in cover.items() if float(np.max(mm2)) / strip_mm2 > LEAST}
    sides: tuple[Side, ...] = ("front", "back")
    for side in sides:
        for name, kind in kind_of.items():
            if (side, name) in there:
                called = name + BACK if side == "back" and ("front", name) in there else name
                both = [
                    tuple(
                        np.clip(
                            strips.from_operator(each.get((side, name), 0.0 * cover[side, name])) / strip_mm2, 0, 1
                        ).tolist()
                    )
                    for each in (cover, work)
                ]
                yield PlateCover(called, side, kind, *both)


def _named(marks: Sequence[Mark], kinds: Collection[str]) -> tuple[OwnMarks, ...]:
    own = [mark for mark in marks if mark.known == "stated"]
    counts = Counter(mark.kind for mark in own)
    return tuple(
        OwnMarks(
            kind,
            count,
            tuple(name for name in kinds if any(mark.kind == kind and mark.inks.get(name, 0) > 0 for mark in own)),
        )
        for kind, count in counts.items()
    )

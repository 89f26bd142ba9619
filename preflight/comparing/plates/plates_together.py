"""What plates that are new, gone or changed have to do with each other: merged, parted, a spot mixed of process."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.separations import PROCESS, Separation
from preflight.comparing.comparison import PlateChange, PlatePair
from preflight.comparing.pages.aligned_plates import PRINTS_FROM, AlignedPlates
from preflight.comparing.pixels.plate_difference import difference
from preflight.comparing.plates import screen_look
from preflight.comparing.plates.screen_look import look_alike
from preflight.findings import with_and

MOST_TRIED: Final = 30
CHANGED: Final = 8
"""Levels of 255 by which a process plate has to differ where the spot was."""
MOST_OF_IT: Final = 0.9
SOLID: Final = 240
_GROW_PX: Final = 2


def with_relations(
    aligned: AlignedPlates, changes: Sequence[PlateChange], old: Sequence[Separation], new: Sequence[Separation]
) -> list[PlateChange]:
    """The changes of a page with sentences on what became of plates that are gone, and where new ones come from."""
    said = {change.name: [change.says] if change.says else [] for change in changes}
    for sentences in (_merged(aligned, changes), _parted(aligned, changes)):
        for name, words in sentences:
            said[name].append(words)
    spaces = {separation.name: separation for separation in old}, {separation.name: separation for separation in new}
    for name, words in _process_mixes(aligned, changes, *spaces):
        said[name].append(words)
    for change in changes:
        kinds = [by_name.get(name) for by_name, name in zip(spaces, _names(change), strict=True)]
        if kinds[0] is not None and kinds[1] is not None and kinds[0].kind != kinds[1].kind:
            said[change.name].append(f"it is of kind {kinds[1].kind} now, before {kinds[0].kind}{_look(*kinds)}")
    return [replace(change, says="; ".join(said[change.name])) for change in changes]


def _names(change: PlateChange) -> tuple[str, str]:
    """In OLD and in NEW."""
    return change.renamed_from or change.name, change.name


def _look(old: Separation | None, new: Separation | None) -> str:
    if old is None or new is None or "process" not in (old.kind, new.kind):
        return ""
    looks = [screen_look.SCREEN.get(each.name, each.looks_rgb) for each in (old, new)]
    if looks[0] is None or looks[1] is None or not look_alike(looks[0], looks[1]):
        return ""
    return ", and looks the same on screen"


def _merged(aligned: AlignedPlates, changes: Sequence[PlateChange]) -> Iterator[tuple[str, str]]:
    """Gone plates whose ink is on another plate now, which is else as it was."""
    gone = [change.name for change in changes if change.change == "gone"]
    fuller = [change for change in changes if change.change not in ("none", "new", "gone", "renamed")]
    for was, change in _few(gone, fuller):
        old, new = _names(change)
        both = np.maximum(_ink(aligned, 0, was), _ink(aligned, 0, old))
        if _is_same(aligned, both, _ink(aligned, 1, new)):
            yield was, f"its ink is on the plate of {new} now"
            yield change.name, f"it has the ink of {was} too now"


def _parted(aligned: AlignedPlates, changes: Sequence[PlateChange]) -> Iterator[tuple[str, str]]:
    """New plates whose ink was on another plate, which is else as it was."""
    more = [change.name for change in changes if change.change == "new"]
    emptier = [change for change in changes if change.change not in ("none", "new", "gone", "renamed")]
    for is_new, change in _few(more, emptier):
        old, new = _names(change)
        both = np.maximum(_ink(aligned, 1, is_new), _ink(aligned, 1, new))
        if _is_same(aligned, _ink(aligned, 0, old), both):
            yield is_new, f"its ink was on the plate of {old}"
            yield change.name, f"some of its ink is on the plate of {is_new} now"


def _few(names: Sequence[str], changes: Sequence[PlateChange]) -> list[tuple[str, PlateChange]]:
    return [(name, change) for name in names for change in changes][:MOST_TRIED]


def _ink(aligned: AlignedPlates, which: int, name: str) -> NDArray[np.uint8]:
    held = (aligned.old, aligned.new)[which]
    return held[name].ink if name in held else np.zeros(aligned.inside.shape, np.uint8)


def _is_same(aligned: AlignedPlates, old: NDArray[np.uint8], new: NDArray[np.uint8]) -> bool:
    return difference(PlatePair(old, new, aligned.inside, aligned.dpi, aligned.box_mm), None).how == "none"


def _process_mixes(
    aligned: AlignedPlates,
    changes: Sequence[PlateChange],
    old: Mapping[str, Separation],
    new: Mapping[str, Separation],
) -> Iterator[tuple[str, str]]:
    """Spots that are mixed of process inks now, and those that were mixed of them before."""
    for which, words, known in ((0, "gone", old), (1, "new", new)):
        for change in [change for change in changes if change.change == words and change.name not in PROCESS][:4]:
            spot = _ink(aligned, which, change.name)
            mixed = [name for name in PROCESS if _grew(aligned, name, spot, 1 - which)]
            if not mixed or not _accounts_for(aligned, mixed, spot, 1 - which):
                continue
            told = f"it is mixed of {with_and(mixed)} now" if which == 0 else f"it was mixed of {with_and(mixed)}"
            separation = known.get(change.name)
            rgb = separation.looks_rgb if separation else None
            same = rgb is not None and look_alike(rgb, _mix(aligned, mixed, spot, 1 - which))
            yield change.name, told + (", and looks the same on screen" if same else "")


def _grew(aligned: AlignedPlates, name: str, spot: NDArray[np.uint8], on: int) -> bool:
    """Whether a process plate has more ink on the one side where the spot is on the other."""
    there = spot >= PRINTS_FROM
    gained = _ink(aligned, on, name).astype(np.int16) - _ink(aligned, 1 - on, name)
    return bool(there.any() and np.mean(gained[there] > CHANGED) > MOST_OF_IT / 2)


def _accounts_for(aligned: AlignedPlates, mixed: Sequence[str], spot: NDArray[np.uint8], on: int) -> bool:
    """Whether what the plates gained is where the spot is, all over it and hardly elsewhere."""
    gained = np.zeros(spot.shape, np.bool_)
    for name in mixed:
        gained |= _ink(aligned, on, name).astype(np.int16) - _ink(aligned, 1 - on, name) > CHANGED
    solid, round_it = spot >= 2 * CHANGED, _grown(spot >= PRINTS_FROM)
    if not solid.any() or not gained.any():
        return False
    return bool(np.mean(gained[solid]) > MOST_OF_IT and np.mean(round_it[gained]) > MOST_OF_IT)


def _grown(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    grown = mask.copy()
    for _ in range(_GROW_PX):
        wider = grown.copy()
        wider[1:] |= grown[:-1]
        wider[:-1] |= grown[1:]
        wider[:, 1:] |= grown[:, :-1]
        wider[:, :-1] |= grown[:, 1:]
        grown = wider
    return grown


def _mix(aligned: AlignedPlates, mixed: Sequence[str], spot: NDArray[np.uint8], on: int) -> tuple[float, ...]:
    """The mix on the screen where the spot is at its fullest."""
    full = spot >= min(SOLID, int(spot.max()))
    tints = [float(np.median(_ink(aligned, on, name)[full])) / 255 for name in mixed]
    return tuple(screen_look.mixed(mixed, np.array([tints]))[0].tolist())

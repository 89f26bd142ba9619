"""What comes out of comparing two files: plain data, before it becomes the document ``preflight-compare/1``.

Places are mm from the lower-left corner of NEW's page as displayed; shifts are new less old, x right, y up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Box
from preflight.comparing.pages.shared_frame import SharedFrame

How = Literal["none", "moved", "tone", "local", "new", "gone", "renamed"]
Shift = tuple[float, float]


@dataclass(frozen=True)
class PlatePair:
    """One plate of both files on one grid: 0 bare board, 255 solid; row 0 is the top."""

    old: NDArray[np.uint8]
    new: NDArray[np.uint8]
    inside: NDArray[np.bool_]
    """Pixels inside the cut; all of them where there is no die."""
    dpi: float
    box_mm: Box
    """Where the grid lies on NEW's page."""


@dataclass(frozen=True)
class Difference:
    """What a pair of plates differs by, by its pixels alone."""

    how: Literal["none", "moved", "tone", "local"]
    share: float = 0.0
    """Of the area inside the cut that differs, 0..1, before a shift or a change of tone is undone."""
    moved_mm: Shift = (0.0, 0.0)
    tone_percent: float = 0.0
    """Greatest change of tone in points, over levels that cover some area; signed."""
    blobs: tuple[Box, ...] = ()
    """Places that differ by more than a shift or a change of tone tells, on NEW's page, the largest first."""
    blobs_outside: tuple[Box, ...] = ()
    """The same outside the cut."""
    also: tuple[Literal["moved", "tone", "local"], ...] = ()
    """What else is there beside ``how``: moved and edited."""
    largest_mm: float = 0.0
    """How far an edge stands from where it was, at most; about, where it is more than a pixel or two."""


@dataclass(frozen=True)
class PlateChange:
    """One plate, by its name in NEW (in OLD where it is gone)."""

    name: str
    change: How
    share: float = 0.0
    moved_mm: Shift = (0.0, 0.0)
    tone_percent: float = 0.0
    places: tuple[tuple[Box, int], ...] = ()
    """Boxes on NEW with their page."""
    outside: tuple[tuple[Box, int], ...] = ()
    """What differs outside the cut only."""
    renamed_from: str | None = None
    also: tuple[str, ...] = ()
    says: str = ""
    """``moved by 0.10 mm to the right``."""


@dataclass(frozen=True)
class ChangedText:
    """Words that are not the same in both files."""

    old: str
    new: str
    box_mm: Box
    page: int
    plates: tuple[str, ...] = ()


@dataclass(frozen=True)
class BlankCheck:
    """One blank of a sheet against its one-up."""

    number: int
    box_mm: Box
    kind: Literal["same", "other", "turned", "moved", "missing"]
    version: str | None = None
    turned_deg: float = 0.0
    """Of its art against its own die (without a die: against the step), counter-clockwise."""
    moved_mm: Shift = (0.0, 0.0)
    plates: tuple[PlateChange, ...] = ()
    """Those that differ."""
    largest_mm: float = 0.0
    says: str = ""
    page: int = 1
    """Of the sheet."""
    frame: SharedFrame | None = None
    """How the one-up's page belongs on the sheet's there, for pictures; None where it fits nowhere."""


@dataclass(frozen=True)
class VersionCount:
    """How many blanks of a sheet show one version, beside what the ticket wants."""

    version: str
    blanks: int
    wanted: int | None = None
    """None where the ticket does not say, or its quantities share out to no whole number of blanks."""


@dataclass(frozen=True)
class Comparison:
    """Two files compared."""

    as_: Literal["revision", "sheet"]
    plates: tuple[PlateChange, ...] = ()
    blanks: tuple[BlankCheck, ...] = ()
    pages: tuple[str, ...] = ()
    """What changed of pages, boxes and turn, and is no change of a plate; in sentences."""
    texts: tuple[ChangedText, ...] = ()
    export: str = ""
    """Where all looks like another export of one artwork: through which change; empty where not."""
    declared: tuple[str, ...] | None = None
    """Plates that the ticket says are changed; None where it says nothing."""
    not_compared: tuple[str, ...] = ()
    """What could not be compared, and why."""
    notes: tuple[str, ...] = ()
    frames: tuple[tuple[int, SharedFrame], ...] = ()
    """How each page of OLD lies on NEW's, by its number; for pictures."""
    faults: tuple[str, ...] = ()
    """What is wrong with a sheet as a whole: number-up, version mix, no blank found; in sentences."""
    versions: tuple[VersionCount, ...] = ()
    """Of a sheet: how many blanks show which version."""

    @property
    def changed(self) -> tuple[PlateChange, ...]:
        """Plates that are not the same; one that is only renamed is."""
        return tuple(plate for plate in self.plates if plate.change not in ("none", "renamed"))

    @property
    def same(self) -> bool:
        """Whether no plate changes (of a sheet: every blank and their number are right), and all was compared."""
        plain = not self.changed and not self.faults and not self.not_compared
        return plain and all(blank.kind == "same" for blank in self.blanks)

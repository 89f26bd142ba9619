"""Pictures of a comparison as plain data: what the page and the PDF show."""

from __future__ import annotations

from dataclasses import dataclass

from preflight.report.compare_places import Box


@dataclass(frozen=True)
class Triple:
    """One part of a page, old, new and the difference, each a PNG or JPEG and all of one size."""

    page: int
    box_mm: Box
    """On NEW's page."""
    old: bytes
    new: bytes
    difference: bytes
    number: int | None = None
    """Of the place that it is drawn round; None where it shows all of the plate or where most of it differs."""
    whole: bool = False


@dataclass(frozen=True)
class PlateViews:
    """A plate that changed, looked at."""

    name: str
    views: tuple[Triple, ...]


@dataclass(frozen=True)
class SheetPicture:
    """All plates of a sheet, as it looks; ``picture`` is a PNG or JPEG."""

    page: int
    box_mm: Box
    picture: bytes


@dataclass(frozen=True)
class BlankView:
    """The worst place of a blank that is not right: the one-up as old, the sheet as new."""

    number: int
    triple: Triple


@dataclass(frozen=True)
class ComparePictures:
    """All pictures of a comparison."""

    looks: tuple[Triple, ...] = ()
    """Of each page that both files have."""
    plates: tuple[PlateViews, ...] = ()
    lacking: tuple[str, ...] = ()
    """Plates that changed and are not shown."""
    sheets: tuple[SheetPicture, ...] = ()
    blanks: tuple[BlankView, ...] = ()

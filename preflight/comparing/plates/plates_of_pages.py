"""Plates of a file, brought together from its pages; and those that print, told without drawing them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from preflight.artwork.page.page import Page
from preflight.artwork.page.separations import PROCESS
from preflight.comparing.comparison import PlateChange

WORST_FIRST: Final = ("local", "moved", "tone", "new", "gone", "renamed", "none")
PRINTS_FROM_TINT: Final = 0.02


@dataclass(frozen=True)
class PageChange:
    """What became of the plates of one page."""

    plates: tuple[PlateChange, ...]
    weight: float
    """How much its shares weigh among those of other pages: its area inside the cut."""
    number: int


def all_pages(pages: Sequence[PageChange]) -> list[PlateChange]:
    """Each plate once: process inks, then the others in the order of the pages, those that are gone last."""
    names = list(dict.fromkeys(plate.name for page in pages for plate in page.plates if plate.change != "gone"))
    gone = list(dict.fromkeys(plate.name for page in pages for plate in page.plates if plate.name not in names))
    order = [*(name for name in PROCESS if name in names), *(name for name in names if name not in PROCESS), *gone]
    return [_on_all_pages([(page, _plate(page, name)) for page in pages], len(pages) > 1) for name in order]


def only_on_one(page: Page, *, is_new: bool) -> PageChange:
    """The plates of a page that the other file has not."""
    how = "new" if is_new else "gone"
    plates = [
        PlateChange(name, "new" if is_new else "gone", 1.0, places=((page.box_mm, page.number),), says=f"{how} page")
        for name in painted_plates([page])
    ]
    return PageChange(tuple(plates), page.width_mm * page.height_mm, page.number)


def painted_plates(pages: Iterable[Page]) -> list[str]:
    """Plates that something which shows is painted in; on the pages themselves more or less of it may come out."""
    found = dict[str, None]()
    for page in pages:
        for separation in page.separations:
            if separation.on_plate and _is_painted(page, separation.name):
                found[separation.name] = None
    return [*(name for name in PROCESS if name in found), *(name for name in found if name not in PROCESS)]


def _is_painted(page: Page, name: str) -> bool:
    objects = page.objects
    if not len(objects):
        return False
    colours = objects.colours.where_named(name, lambda family: family.most((name,)) >= PRINTS_FROM_TINT)
    return bool((colours[objects.colour] & objects.visible).any())


def _plate(page: PageChange, name: str) -> PlateChange | None:
    return next((plate for plate in page.plates if plate.name == name), None)


def _on_all_pages(found: Sequence[tuple[PageChange, PlateChange | None]], several: bool) -> PlateChange:
    """One plate of several pages: the worst that became of it, with the places of all."""
    there = [(page, plate) for page, plate in found if plate is not None]
    if not several:
        return there[0][1]
    hows = {plate.change for _, plate in there}
    _, worst = min(there, key=lambda each: (WORST_FIRST.index(each[1].change), -each[1].share))
    how = worst.change
    if how in ("new", "gone") and len(hows) > 1:  # it is a plate of other pages in both files
        how = "local"
    weight = sum(page.weight for page, _ in there)
    return replace(
        worst,
        change=how,
        share=sum(plate.share * page.weight for page, plate in there) / max(weight, 1e-9),
        places=tuple(place for _, plate in there for place in plate.places),
        outside=tuple(place for _, plate in there for place in plate.outside),
        also=tuple(dict.fromkeys(part for _, plate in there for part in _parts(plate) if part != how)),
        says="; ".join(f"page {page.number}: {plate.says}" for page, plate in there if plate.says),
    )


def _parts(plate: PlateChange) -> tuple[str, ...]:
    own = (plate.change,) if plate.change not in ("none", "renamed", "new", "gone") else ()
    return (*own, *plate.also)

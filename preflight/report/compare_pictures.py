"""Pictures of two files compared: both looks, and each plate that changed as old, new and difference, close to it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.plates import Plates
from preflight.comparing.pages.aligned_plates import grid, windows
from preflight.report.compare_places import Box, NumberedPlace, numbered_places
from preflight.report.compare_windows import CLOSE_PX, LEAST_MM, about, framed, fullest, kept_on, packed
from preflight.report.compared_page import ComparedPage
from preflight.report.compared_views import ComparePictures, PlateViews, Triple
from preflight.report.difference_picture import difference_picture
from preflight.report.pictures import packed_picture, packed_plate, reduced
from preflight.report.simulation import Rgb, composite, looks_alone, shown_colours

Document = Mapping[str, Any]
Ink = NDArray[np.uint8]

MOST_PLATES: Final = 12
"""That have pictures."""
LOOK_PX: Final = 1200
"""Long side of the looks."""
WHOLE_PX: Final = 640
"""Long side of a plate that is shown whole."""
MOST_VIEWS: Final = ((4, 3), (8, 2), (MOST_PLATES, 1))
"""Of one plate, where so many changed."""
LARGE_MM: Final = 80.0
"""A place that is larger is also looked at where it differs most."""
LOOKS_BYTES: Final = 560_000
PLATES_BYTES: Final = 820_000
"""Together about 1.85 MB once written as base64: the page stays under 2 MB."""
LARGEST_PICTURE: Final = 90_000
LEAST_LEVELS: Final = 10
"""Of 255, by which pixels of a plate differ at least to be shown."""
LEAST_ON_LOOK: Final = 24
LEAST_OF_TONE: Final = 4
"""The same where its tone changed: less than 2 points."""
WHOLE_CHANGES: Final = frozenset({"moved", "tone", "new", "gone"})
"""Changes of all of a plate."""


def draw_compare_pictures(document: Document, pages: Sequence[ComparedPage]) -> ComparePictures:
    """Both looks of each page, and close looks at what changed.

    Args:
        document: ``preflight-compare/1``, of revisions.
        pages: those that both files have.

    Raises:
        NotMeasured: a page cannot be drawn.
    """
    try:
        return _drawn(document, pages)
    finally:
        for page in pages:
            page.old.close()
            page.new.close()


def _drawn(document: Document, pages: Sequence[ComparedPage]) -> ComparePictures:
    changed = [plate for plate in document["plates"] if plate["change"] not in ("none", "renamed")]
    places = numbered_places(changed)
    shown = changed[:MOST_PLATES]
    overviews = [_Overview.of(page, len(pages), changed) for page in pages]
    most = next(views for plates, views in MOST_VIEWS if len(shown) <= plates)
    views = {plate["name"]: list(_windows_of(plate, overviews, places, most)) for plate in shown}
    share = min(LARGEST_PICTURE, PLATES_BYTES // max(1, 3 * sum(map(len, views.values()))))
    at: dict[tuple[int, Box], list[tuple[Document, _View]]] = {}
    for plate in shown:
        for view in views[plate["name"]]:
            at.setdefault(view.key, []).append((plate, view))
    drawn: dict[tuple[str, tuple[int, Box]], Triple] = {}
    for key, asked in at.items():  # plates that changed at one place are drawn once
        drawn |= {(name, key): triple for name, triple in _looked_at(asked, share)}
    return ComparePictures(
        tuple(overview.look(LOOKS_BYTES // max(1, len(overviews))) for overview in overviews),
        tuple(PlateViews(name, tuple(drawn[name, view.key] for view in each)) for name, each in views.items() if each),
        tuple(plate["name"] for plate in changed if not views.get(plate["name"])),
    )


# Looks -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Overview:
    """A page of both files on one grid, coarsely, and what colours its plates have."""

    page: ComparedPage
    old: Plates
    new: Plates
    changed: Sequence[Document]
    looks: dict[str, Rgb]
    kinds: dict[str, str]

    @classmethod
    def of(cls, page: ComparedPage, of_pages: int, changed: Sequence[Document]) -> _Overview:
        box, _ = grid(page.old, page.new, page.frame, 100.0)
        pixels = LOOK_PX if of_pages <= 2 else LOOK_PX * 2 // 3
        dpi = pixels * 25.4 / max(box[2] - box[0], box[3] - box[1])
        old, new = windows(page.old, page.new, page.frame, box, dpi)
        separations = {each.name: each for each in (*page.old.separations, *page.new.separations)}
        kinds = {name: separation.kind for name, separation in separations.items()}
        return cls(page, old, new, changed, shown_colours(separations.values()), kinds)

    @property
    def number(self) -> int:
        return self.page.new.number

    def pair(self, plate: Document) -> tuple[Ink, Ink]:
        return _pair(self.old, self.new, plate)

    def colour(self, plate: Document) -> Rgb:
        return looks_alone(plate["name"], self.looks, self.kinds)

    def look(self, most_bytes: int) -> Triple:
        """All plates of both, and where any of those that changed differs."""
        faces = [composite(each.names, each.ink, self.looks, self.kinds) for each in (self.old, self.new)]
        shape = self.new.ink.shape[1:]
        less, more = np.zeros(shape, np.uint8), np.zeros(shape, np.uint8)
        for plate in self.changed:
            was, now = self.pair(plate)
            seen = np.maximum(was, now) - np.minimum(was, now) >= _least(plate, LEAST_ON_LOOK)
            np.maximum(less, np.where(seen & (was > now), was - now, 0), out=less)
            np.maximum(more, np.where(seen & (now > was), now - was, 0), out=more)
        ground = (255 - faces[1].mean(2)).astype(np.uint8)
        apart = difference_picture(less, more, 1, grown_px=1, ground=ground)
        share = most_bytes // 3
        old, new = (packed_picture(face, share) for face in faces)
        return Triple(self.number, self.new.box_mm, old, new, packed(apart, share), whole=True)


# Close looks -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _View:
    """What is to be looked at of a plate."""

    overview: _Overview
    box_mm: Box
    number: int | None = None
    whole: bool = False

    @property
    def key(self) -> tuple[int, Box]:
        return self.overview.number, self.box_mm


def _windows_of(
    plate: Document, overviews: Sequence[_Overview], places: Iterable[NumberedPlace], most: int
) -> Iterator[_View]:
    """What is looked at of a plate, the most telling part first."""
    return islice(_all_windows(plate, {overview.number: overview for overview in overviews}, places), most)


def _all_windows(
    plate: Document, overviews: Mapping[int, _Overview], places: Iterable[NumberedPlace]
) -> Iterator[_View]:
    """Where it differs most and all of it, where all of it changed; then its places."""
    parts = {plate["change"], *plate["also"]}
    if parts & WHOLE_CHANGES and overviews:
        overview, (row, column) = _where_most(plate, overviews.values(), _width_for(plate))
        close = _View(overview, _round_pixel(overview, row, column, _width_for(plate)))
        whole = _View(overview, overview.new.box_mm, whole=True)
        yield from (close, whole) if "moved" in parts else (whole, close)
    for place in places:
        if "local" in parts and plate["name"] in place.plates and place.page in overviews:
            yield from _of_place(plate, overviews[place.page], place)


def _of_place(plate: Document, overview: _Overview, place: NumberedPlace) -> Iterator[_View]:
    page = overview.new.box_mm
    box = kept_on(framed(place.box_mm), page)
    if box[2] - box[0] > LARGE_MM:
        row, column = _where_most(plate, [overview], LARGE_MM / 2, place.box_mm)[1]
        yield _View(overview, _round_pixel(overview, row, column, LARGE_MM / 2), place.number)
    if box[2] - box[0] < page[2] - page[0] and box[3] - box[1] < page[3] - page[1]:
        yield _View(overview, box, place.number)
    else:
        yield _View(overview, page, place.number, whole=True)


def _width_for(plate: Document) -> float:
    """Of a look in which a change of all of a plate is seen: a shift is a hundredth of it; tints need an area."""
    if plate["change"] in ("new", "gone", "tone"):
        return 40.0
    return float(np.clip(100 * np.hypot(*plate["moved_mm"]), LEAST_MM, 60.0))


def _where_most(
    plate: Document, overviews: Iterable[_Overview], width_mm: float, within: Box | None = None
) -> tuple[_Overview, tuple[int, int]]:
    """The page and the middle of the window in which a plate differs most."""
    found = []
    for overview in overviews:
        old, new = overview.pair(plate)
        apart = np.maximum(old, new) - np.minimum(old, new)
        rows, columns = overview.new.slices(within) if within is not None else (slice(None), slice(None))
        kept = np.zeros_like(apart)
        kept[rows, columns] = apart[rows, columns]
        width = max(2, round(width_mm * overview.new.dpi / 25.4))
        total, middle = fullest(kept, max(2, width * CLOSE_PX[1] // CLOSE_PX[0]), width)
        found.append((total, overview, middle))
    _, overview, middle = max(found, key=lambda each: each[0])
    return overview, middle


def _round_pixel(overview: _Overview, row: int, column: int, width_mm: float) -> Box:
    x0, _, _, y1 = overview.new.box_mm
    mm = overview.new.mm_per_px
    return kept_on(about(x0 + column * mm, y1 - row * mm, width_mm), overview.new.box_mm)


def _looked_at(asked: Sequence[tuple[Document, _View]], most_bytes: int) -> Iterator[tuple[str, Triple]]:
    """The plates that are asked for in one box, drawn."""
    view = asked[0][1]
    overview = view.overview
    if view.whole:
        old, new = overview.old, overview.new
    else:
        dpi = CLOSE_PX[0] * 25.4 / (view.box_mm[2] - view.box_mm[0])
        old, new = windows(overview.page.old, overview.page.new, overview.page.frame, view.box_mm, dpi)
    for plate, one in asked:
        pair = np.stack(_pair(old, new, plate))
        if view.whole:
            pair = reduced(pair, WHOLE_PX)
        colour = overview.colour(plate)
        apart = difference_picture(pair[0], pair[1], _least(plate, LEAST_LEVELS), grown_px=int(view.whole))
        was, now = (packed_plate(ink, colour, most_bytes) for ink in pair)
        yield (
            plate["name"],
            Triple(overview.number, view.box_mm, was, now, packed(apart, most_bytes), one.number, view.whole),
        )


def _least(plate: Document, otherwise: int) -> int:
    return LEAST_OF_TONE if "tone" in (plate["change"], *plate["also"]) else otherwise


def _pair(old: Plates, new: Plates, plate: Document) -> tuple[Ink, Ink]:
    """One plate of both, by the name that it has in each; bare where there is no such plate."""
    return old.tint(plate["renamed_from"] or plate["name"]), new.tint(plate["name"])

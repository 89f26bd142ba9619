"""Pictures of two files compared: both looks, and each plate that changed as old, new and difference, close to it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from preflight.artwork.page.page import Page
from preflight.artwork.page.plates import Plates
from preflight.comparing.aligned_plates import grid, windows
from preflight.comparing.shared_frame import SharedFrame
from preflight.report.compare_places import Box, NumberedPlace, numbered_places
from preflight.report.difference_picture import difference_picture
from preflight.report.picture_files import first_that_fits, jpeg, png
from preflight.report.pictures import packed_picture, packed_plate, reduced
from preflight.report.simulation import Rgb, composite, looks_alone, shown_colours

Document = Mapping[str, Any]
Ink = NDArray[np.uint8]

LOOK_PX: Final = 1200
"""Long side of the looks."""
WHOLE_PX: Final = 640
"""Long side of a plate that is shown whole."""
CLOSE_PX: Final = (560, 420)
"""Of a close look."""
LEAST_MM: Final = 12.0
"""Width of the closest look: 0.1 mm is 5 pixels in it."""
ROOM: Final = 0.35
"""Round a place, on each side, of its size."""
MOST_VIEWS: Final = 3
"""Of one plate."""
MOST_PLATES: Final = 12
"""That have pictures."""
FEW: Final = 6
"""Plates, of which all are shown whole too."""
LOOKS_BYTES: Final = 560_000
PLATES_BYTES: Final = 820_000
"""Together about 1.85 MB once written as base64: the page stays under 2 MB."""
LARGEST_PICTURE: Final = 90_000
LEAST_LEVELS: Final = {"tone": 4, "moved": 12, "local": 10}
"""Of 255, by which pixels differ at least to be shown: less than a change of tone by 2 points."""
LEAST_ON_LOOK: Final = 24
WHOLE_CHANGES: Final = frozenset({"moved", "tone", "new", "gone"})
"""Changes of all of a plate."""


@dataclass(frozen=True)
class ComparedPage:
    """A page of both files and how OLD's lies on NEW's: what pictures are drawn from."""

    old: Page
    new: Page
    frame: SharedFrame


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
class ComparePictures:
    """All pictures of a comparison."""

    looks: tuple[Triple, ...] = ()
    """Of each page that both files have."""
    plates: tuple[PlateViews, ...] = ()
    lacking: tuple[str, ...] = field(default=())
    """Plates that changed and are not shown."""


def draw_compare_pictures(document: Document, pages: Sequence[ComparedPage]) -> ComparePictures:
    """Both looks of each page, and close looks at what changed.

    Args:
        document: ``preflight-compare/1``, of revisions.
        pages: those that both files have.

    Raises:
        NotMeasured: a page cannot be drawn.
    """
    changed = [plate for plate in document["plates"] if plate["change"] not in ("none", "renamed")]
    places = numbered_places(changed)
    shown = changed[:MOST_PLATES]
    overviews = []
    for page in pages:
        try:
            overviews.append(_Overview.of(page, max(1, len(pages)), changed))
        finally:
            page.old.close()
            page.new.close()
    views = {plate["name"]: list(_windows_of(plate, overviews, places, len(shown))) for plate in shown}
    count = sum(len(boxes) for boxes in views.values())
    share = min(LARGEST_PICTURE, PLATES_BYTES // max(1, 3 * count))
    drawn: dict[str, list[Triple]] = {name: [] for name in views}
    by_box: dict[tuple[int, Box], list[tuple[Document, _View]]] = {}
    for plate in shown:
        for view in views[plate["name"]]:
            by_box.setdefault((view.overview.number, view.box_mm), []).append((plate, view))
    for asked in by_box.values():  # plates that changed at one place are drawn once
        for plate, triple in _looked_at(asked, share):
            drawn[plate].append(triple)
    for page in pages:
        page.old.close()
        page.new.close()
    order = {name: [view.key for view in views[name]] for name in views}
    return ComparePictures(
        tuple(overview.look(LOOKS_BYTES // max(1, len(overviews))) for overview in overviews),
        tuple(
            PlateViews(name, tuple(sorted(found, key=lambda triple: order[name].index((triple.page, triple.box_mm)))))
            for name, found in drawn.items()
            if found
        ),
        tuple(plate["name"] for plate in changed if not drawn.get(plate["name"])),
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
            old, new = self.pair(plate)
            np.maximum(less, np.where(old > new, old - new, 0), out=less)
            np.maximum(more, np.where(new > old, new - old, 0), out=more)
        ground = (255 - faces[1].mean(2)).astype(np.uint8)
        apart = difference_picture(less, more, LEAST_ON_LOOK, grown_px=1, ground=ground)
        share = most_bytes // 3
        old, new = (packed_picture(face, share) for face in faces)
        return Triple(self.number, self.new.box_mm, old, new, _packed(apart, share), whole=True)


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
    plate: Document, overviews: Sequence[_Overview], places: Iterable[NumberedPlace], of_plates: int
) -> Iterator[_View]:
    """All of a plate where all of it changed and there are few, then the places where it differs most."""
    by_page = {overview.number: overview for overview in overviews}
    parts = {plate["change"], *plate["also"]}
    count = 0
    if parts & WHOLE_CHANGES and overviews:
        overview, (rows, columns) = _where_most(plate, overviews)
        if of_plates <= FEW:
            yield _View(overview, overview.new.box_mm, whole=True)
            count += 1
        yield _View(overview, _round_pixel(overview, rows, columns, _width_for(plate)))
        count += 1
    most = MOST_VIEWS if of_plates <= FEW else 1
    edits = [place for place in places if plate["name"] in place.plates] if "local" in parts else []
    for place in edits[: max(0, most - count)]:
        if place.page in by_page:
            yield _View(by_page[place.page], _framed(place.box_mm), place.number)


def _width_for(plate: Document) -> float:
    """Of a look in which the change is seen: a shift is a hundredth of it at least, tints need an area."""
    if plate["change"] in ("new", "gone", "tone"):
        return 40.0
    return float(np.clip(100 * np.hypot(*plate["moved_mm"]), LEAST_MM, 60.0))


def _where_most(plate: Document, overviews: Sequence[_Overview]) -> tuple[_Overview, tuple[int, int]]:
    """The page and the middle of the window in which a plate differs most."""
    best: tuple[int, _Overview, tuple[int, int]] | None = None
    for overview in overviews:
        old, new = overview.pair(plate)
        apart = np.maximum(old, new) - np.minimum(old, new)
        px = overview.new.dpi / 25.4
        width = max(2, round(_width_for(plate) * px))
        height = max(2, width * CLOSE_PX[1] // CLOSE_PX[0])
        total, middle = _fullest(apart, height, width)
        if best is None or total > best[0]:
            best = total, overview, middle
    assert best is not None
    return best[1], best[2]


def _fullest(levels: Ink, height: int, width: int) -> tuple[int, tuple[int, int]]:
    """The sum of the window that has most, and its middle."""
    rows, columns = levels.shape
    height, width = min(height, rows), min(width, columns)
    sums = np.pad(levels.astype(np.int64).cumsum(0).cumsum(1), ((1, 0), (1, 0)))
    inside = sums[height:, width:] - sums[:-height, width:] - sums[height:, :-width] + sums[:-height, :-width]
    row, column = np.unravel_index(int(inside.argmax()), inside.shape)
    return int(inside[row, column]), (int(row) + height // 2, int(column) + width // 2)


def _round_pixel(overview: _Overview, row: int, column: int, width_mm: float) -> Box:
    x0, _, _, y1 = overview.new.box_mm
    mm = overview.new.mm_per_px
    return _about(x0 + column * mm, y1 - row * mm, width_mm)


def _framed(box: Box) -> Box:
    """A window of the shape of the close looks round a place, with some room."""
    wide, tall = CLOSE_PX
    room = 1 + 2 * ROOM
    width = max((box[2] - box[0]) * room, (box[3] - box[1]) * room * wide / tall, LEAST_MM)
    return _about((box[0] + box[2]) / 2, (box[1] + box[3]) / 2, width)


def _about(x: float, y: float, width: float) -> Box:
    height = width * CLOSE_PX[1] / CLOSE_PX[0]
    x0, y0 = round(x - width / 2, 2), round(y - height / 2, 2)
    return (x0, y0, round(x0 + width, 2), round(y0 + height, 2))


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
        parts = [part for part in (plate["change"], *plate["also"]) if part in LEAST_LEVELS]
        least = min((LEAST_LEVELS[part] for part in parts), default=LEAST_LEVELS["local"])
        apart = difference_picture(pair[0], pair[1], least, grown_px=int(view.whole))
        was, now = (packed_plate(ink, colour, most_bytes) for ink in pair)
        yield (
            plate["name"],
            Triple(overview.number, view.box_mm, was, now, _packed(apart, most_bytes), one.number, view.whole),
        )


def _pair(old: Plates, new: Plates, plate: Document) -> tuple[Ink, Ink]:
    """One plate of both, by the name that it has in each; a plate that is new or gone is bare in the other."""
    change, name = plate["change"], plate["name"]
    was = new.tint(name) * 0 if change == "new" else old.tint(plate["renamed_from"] or name)
    now = old.tint(name) * 0 if change == "gone" else new.tint(name)
    return was, now


def _packed(image: Image.Image, most_bytes: int) -> bytes:
    ways = [partial(png, image), *(partial(jpeg, image.convert("RGB"), quality) for quality in (85, 70, 50))]
    return first_that_fits(ways, most_bytes)

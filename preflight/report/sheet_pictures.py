"""Pictures of a sheet against its one-up: all of it, and the worst place of each blank that is not right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.plates import Plates
from preflight.comparing.pages.aligned_plates import windows
from preflight.comparing.pages.shared_frame import SharedFrame
from preflight.report.compare_places import Box
from preflight.report.compare_windows import CLOSE_PX, LEAST_MM, about, framed, fullest, kept_on, packed
from preflight.report.compared_page import ComparedSheet
from preflight.report.compared_views import BlankView, ComparePictures, SheetPicture, Triple
from preflight.report.difference_picture import difference_picture
from preflight.report.pictures import packed_picture
from preflight.report.simulation import Rgb, composite, shown_colours

Document = Mapping[str, Any]
Ink = NDArray[np.uint8]

SHEET_PX: Final = 1500
SHEET_BYTES: Final = 420_000
BLANKS_BYTES: Final = 960_000
LARGEST_PICTURE: Final = 70_000
MOST_BLANKS: Final = 24
"""That are shown closely."""
LEAST_LEVELS: Final = 16
"""Of 255, by which pixels differ at least to be shown."""
LARGE: Final = 0.5
"""Of a blank: a place as large is shown with all of it."""


def draw_sheet_pictures(document: Document, sheet: ComparedSheet) -> ComparePictures:
    """The sheet, and the one-up beside each blank that is not right, where that differs most.

    Args:
        document: ``preflight-compare/1``, as sheet.
        sheet: what is drawn.

    Raises:
        NotMeasured: a page cannot be drawn.
    """
    try:
        looks = _Looks(document, sheet)
        wrong = [blank for blank in document["blanks"] if blank["kind"] != "same" and blank["number"] in sheet.frames]
        share = min(LARGEST_PICTURE, BLANKS_BYTES // max(1, 3 * min(len(wrong), MOST_BLANKS)))
        page = sheet.sheet
        plates = page.window(page.box_mm, SHEET_PX * 25.4 / max(page.width_mm, page.height_mm))
        picture = SheetPicture(page.number, plates.box_mm, packed_picture(looks.face(plates), SHEET_BYTES))
        views = tuple(looks.view(blank, share) for blank in wrong[:MOST_BLANKS])
        return ComparePictures(sheets=(picture,), blanks=views)
    finally:
        sheet.one_up.close()
        sheet.sheet.close()


class _Looks:
    """Draws blanks, by the names and colours of both files."""

    def __init__(self, document: Document, sheet: ComparedSheet) -> None:
        self.sheet = sheet
        self.was = {plate["name"]: plate["renamed_from"] or plate["name"] for plate in document["plates"]}
        separations = {each.name: each for each in (*sheet.one_up.separations, *sheet.sheet.separations)}
        self.looks: dict[str, Rgb] = shown_colours(separations.values())
        self.kinds = {name: separation.kind for name, separation in separations.items()}

    def face(self, plates: Plates) -> Ink:
        return composite(plates.names, plates.ink, self.looks, self.kinds)

    def view(self, blank: Document, most_bytes: int) -> BlankView:
        """The worst place of a blank: its largest edit, an edge of what is moved, all of it where that is best seen."""
        frame, names = self.sheet.frames[blank["number"]], [plate["name"] for plate in blank["plates"]]
        box, whole = self._window(blank, frame, names)
        old, new = self._drawn(frame, box)
        less, more = (_only_in(new, blank["box_mm"], each) for each in self._apart(old, new, names))
        faces = [self.face(each) for each in (old, new)]
        ground = (255 - faces[1].mean(2)).astype(np.uint8)
        apart = packed(difference_picture(less, more, LEAST_LEVELS, ground=ground), most_bytes)
        was, now = (packed_picture(face, most_bytes) for face in faces)
        return BlankView(blank["number"], Triple(self.sheet.sheet.number, new.box_mm, was, now, apart, whole=whole))

    def _window(self, blank: Document, frame: SharedFrame, names: Sequence[str]) -> tuple[Box, bool]:
        """What is shown of a blank, and whether that is all of it."""
        whole: Box = framed(blank["box_mm"], room=0.02)
        edits = [place["box_mm"] for plate in blank["plates"] for place in plate["places"]]
        size = blank["box_mm"][2] - blank["box_mm"][0], blank["box_mm"][3] - blank["box_mm"][1]
        if blank["kind"] in ("turned", "missing"):
            return whole, True
        if edits:
            worst = max(edits, key=lambda box: (box[2] - box[0]) * (box[3] - box[1]))
            large = worst[2] - worst[0] > LARGE * size[0] or worst[3] - worst[1] > LARGE * size[1]
            return (whole, True) if large else (kept_on(framed(worst), self.sheet.sheet.box_mm), False)
        old, new = self._drawn(frame, whole)
        width_mm = float(np.clip(100 * np.hypot(*blank["moved_mm"]), LEAST_MM, max(*size, LEAST_MM)))
        width = max(2, round(width_mm / new.mm_per_px))
        apart = _only_in(new, blank["box_mm"], np.maximum(*self._apart(old, new, names)))
        _, (row, column) = fullest(apart, max(2, width * CLOSE_PX[1] // CLOSE_PX[0]), width)
        x, y = new.box_mm[0] + column * new.mm_per_px, new.box_mm[3] - row * new.mm_per_px
        return kept_on(about(x, y, width_mm), self.sheet.sheet.box_mm), False

    def _drawn(self, frame: SharedFrame, box: Box) -> tuple[Plates, Plates]:
        return windows(self.sheet.one_up, self.sheet.sheet, frame, box, CLOSE_PX[0] * 25.4 / (box[2] - box[0]))

    def _apart(self, old: Plates, new: Plates, names: Sequence[str]) -> tuple[Ink, Ink]:
        """What any of some plates has less and more; of all plates, where none is named."""
        less = np.zeros(new.ink.shape[1:], np.uint8)
        more = less.copy()
        for name in names or self.was:
            was, now = old.tint(self.was.get(name, name)), new.tint(name)
            np.maximum(less, np.where(was > now, was - now, 0), out=less)
            np.maximum(more, np.where(now > was, now - was, 0), out=more)
        return less, more


def _only_in(plates: Plates, box: Box, levels: Ink) -> Ink:
    """Levels within a box of the page: what neighbours print round a blank is none of it."""
    rows, columns = plates.slices(box)
    kept = np.zeros_like(levels)
    kept[rows, columns] = levels[rows, columns]
    return kept

"""One page of both files: laid on each other, drawn, and compared plate by plate."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.page import Page
from preflight.artwork.page.separations import PROCESS
from preflight.carton.die import Die
from preflight.carton.read_die import read_die
from preflight.comparing.comparison import ChangedText, PlateChange
from preflight.comparing.pages.aligned_plates import DPI, AlignedPlates, aligned_plates
from preflight.comparing.pages.changed_text import changed_text
from preflight.comparing.pages.frames import find_frame, page_shift, turned_by_rotate
from preflight.comparing.pages.page_changes import page_changes
from preflight.comparing.pages.shared_frame import SharedFrame
from preflight.comparing.plates.changed_words import with_changed_words
from preflight.comparing.plates.other_export import OtherExport, other_export
from preflight.comparing.plates.plate_changes import plate_changes
from preflight.comparing.plates.plates_of_pages import PageChange, painted_plates
from preflight.comparing.plates.plates_together import with_relations
from preflight.inputs.ticket import Ticket
from preflight.quantities import shown

Say = Callable[[str], None]
CONVERTED = "changed throughout, by the colour conversion"


@dataclass(frozen=True)
class PageLook:
    """What came out of one page."""

    number: int
    frame: SharedFrame
    plates: PageChange
    says: tuple[str, ...] = ()
    """On page, boxes and turn."""
    texts: tuple[ChangedText, ...] = ()
    export: OtherExport | None = None
    not_compared: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def look_at_page(
    old: Page, new: Page, files: tuple[Path, Path], ticket: Ticket | None, say: Say, *, alone: bool
) -> PageLook:
    """Compare one page.

    Args:
        old: the page as it was.
        new: the page as it is.
        files: OLD and NEW, for their text.
        ticket: the job ticket of NEW.
        say: called with a few words before each long step.
        alone: the files have one page each.

    Raises:
        NotMeasured: the plates of a page cannot be made.
    """
    number = new.number
    dies = read_die(old, ticket), read_die(new, ticket)
    if _prints_the_same(old, new):
        turns = turned_by_rotate(old, new)
        frame = SharedFrame(turns, page_shift(old, turns))
        plates = [PlateChange(name, "none") for name in painted_plates([new])]
        weight = new.width_mm * new.height_mm
        says = page_changes(old, new, frame, dies, alone=alone)
        return PageLook(number, frame, PageChange(tuple(plates), weight, number), tuple(says))
    say(f"page {number}: laying the files on each other")
    frame = find_frame(old, new, *dies)
    say(f"page {number}: plates")
    aligned = aligned_plates(old, new, frame, _inside(dies, frame))
    say(f"page {number}: comparing")
    plates = plate_changes(aligned, ticket, number)
    export = other_export(aligned, plates)
    if export is None:
        plates = with_relations(aligned, plates, old.separations, new.separations)
    else:
        plates = [_converted(plate) if plate.name in PROCESS else plate for plate in plates]
    texts = _texts(old, new, files, frame)
    plates = with_changed_words(plates, texts, aligned.closer, number)
    return PageLook(
        number,
        frame,
        PageChange(tuple(plates), float(aligned.inside.sum()), number),
        tuple(page_changes(old, new, frame, dies, alone=alone)),
        texts,
        export,
        tuple(_uncertain(aligned, number)),
        tuple(_notes(aligned, export, number)),
    )


def _prints_the_same(old: Page, new: Page) -> bool:
    """Whether both pages are made of the same streams in the same space, so that nothing need be drawn."""
    kinds = [[(each.name, each.kind) for each in page.separations] for page in (old, new)]
    if kinds[0] != kinds[1] or old.user_unit != new.user_unit or len(old.objects) != len(new.objects):
        return False
    digest = old.content_digest()
    return bool(digest) and digest == new.content_digest()


def _inside(dies: tuple[Die, Die], frame: SharedFrame) -> BaseGeometry | None:
    """Inside the cut of NEW, else of OLD; None where neither has a die."""
    old, new = dies
    return new.inside if new.blanks else frame.moved(old.inside) if old.blanks else None


def _converted(plate: PlateChange) -> PlateChange:
    """A process plate that another colour conversion changed throughout, whatever its own curve shows."""
    also = tuple(part for part in dict.fromkeys((plate.change, *plate.also)) if part == "local")
    return replace(plate, change="tone", also=also, says=CONVERTED)


def _texts(old: Page, new: Page, files: tuple[Path, Path], frame: SharedFrame) -> tuple[ChangedText, ...]:
    from preflight.artwork.page_text import page_words  # equal files do without

    before = page_words(files[0], old)
    return changed_text(before, page_words(files[1], new), frame, new.number) if before else ()


def _notes(aligned: AlignedPlates, export: OtherExport | None, page: int) -> Iterator[str]:
    if aligned.dpi < DPI:
        yield f"Page {page} is compared at {aligned.dpi:.0f} dpi: it is too large for {DPI:.0f}."
    if export is not None and export.beside:
        boxes = "; ".join(map(_at, export.beside[:5]))
        yield f"Beside the colour conversion, page {page} differs in {shown(len(export.beside), 'places')}: {boxes}."


def _uncertain(aligned: AlignedPlates, page: int) -> Iterator[str]:
    for place in aligned.uncertain:
        inks = f" ({', '.join(place.inks)})" if place.inks else ""
        yield f"page {page}, {_at(place.box_mm)}{inks}: {place.because}"


def _at(box: Box) -> str:
    return f"{box[2] - box[0]:.0f} x {box[3] - box[1]:.0f} mm at ({box[0]:.0f}, {box[1]:.0f})"

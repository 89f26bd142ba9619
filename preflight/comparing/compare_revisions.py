"""The door: two revisions of one artwork, page by page and plate by plate."""

from __future__ import annotations

from collections.abc import Callable

from preflight.artwork.page.artwork import Artwork
from preflight.comparing.comparison import Comparison, PlateChange
from preflight.comparing.pages.page_pairs import page_pairs
from preflight.comparing.plates.plates_of_pages import all_pages, only_on_one, painted_plates
from preflight.errors import NotMeasured, PageNotDrawn
from preflight.inputs.ticket import Ticket
from preflight.setup.ticket_names import as_meant

EXPORTED = "another export of the same artwork through another colour conversion"


def compare_revisions(
    old: Artwork, new: Artwork, ticket: Ticket | None = None, progress: Callable[[str], None] | None = None
) -> Comparison:
    """Compare two revisions; of files that are equal byte for byte nothing is drawn.

    Args:
        old: the file as it was.
        new: the file as it is.
        ticket: the job ticket of NEW: kinds of separations, names that mean one ink, the die, ``changes``.
        progress: called with a few words before each long step.

    Raises:
        PageNotDrawn: the plates of a page cannot be made.
    """
    declared = _declared(old, new, ticket)
    if old.sha256 == new.sha256:
        plates = tuple(PlateChange(name, "none") for name in painted_plates(new.pages))
        return Comparison("revision", plates, declared=declared, notes=("The two files are equal, byte for byte.",))
    from preflight.comparing.plates.page_look import PageLook, look_at_page  # equal files do without

    pairs, looks = page_pairs(old, new), list[PageLook]()
    for one, other in pairs.both:
        try:
            alone = old.page_count == new.page_count == 1
            looks.append(look_at_page(one, other, (old.path, new.path), ticket, progress or _silent, alone=alone))
        except NotMeasured as reason:
            raise PageNotDrawn(f"page {other.number} cannot be compared: {reason}") from reason
        finally:
            one.close()
            other.close()
    from preflight.comparing.pages.changed_text import on_plates

    found = [
        *(look.plates for look in looks),
        *(only_on_one(page, is_new=True) for page in pairs.more),
        *(only_on_one(page, is_new=False) for page in pairs.gone),
    ]
    plates = tuple(all_pages(found))
    return Comparison(
        "revision",
        plates,
        pages=(*pairs.says, *(words for look in looks for words in look.says)),
        texts=on_plates([text for look in looks for text in look.texts], plates),
        export=EXPORTED if any(look.export is not None for look in looks) else "",
        declared=declared,
        not_compared=(
            *_damaged(old, new),
            *pairs.not_compared,
            *dict.fromkeys(words for look in looks for words in look.not_compared),
        ),
        notes=tuple(words for look in looks for words in look.notes),
        frames=tuple((look.number, look.frame) for look in looks),
    )


def _damaged(old: Artwork, new: Artwork) -> list[str]:
    """Files that had to be repaired, with something of them lost perhaps: what is missing of them is no change."""
    return [
        f"{artwork.path.name} is damaged ({'; '.join(lost)}): some of it may be lost"
        for artwork in (old, new)
        if (lost := [repair.told for repair in artwork.repairs if repair.lost])
    ]


def _silent(_words: str) -> None:
    return None


def _declared(old: Artwork, new: Artwork, ticket: Ticket | None) -> tuple[str, ...] | None:
    """The ticket's list, by the names of the files."""
    if ticket is None or ticket.changes is None:
        return None
    names = [each.name for artwork in (new, old) for page in artwork.pages for each in page.separations]
    return as_meant(ticket, list(dict.fromkeys(names))).ticket.changes

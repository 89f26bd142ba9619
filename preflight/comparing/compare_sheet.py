"""A sheet against its one-up, blank by blank and plate by plate (L01, L02, X04)."""

from __future__ import annotations

from collections.abc import Sequence

from preflight.artwork.page.artwork import Artwork
from preflight.carton.die import Die
from preflight.carton.read_die import read_die
from preflight.comparing.comparison import Comparison
from preflight.comparing.sheet.blank_audit import Audited, Auditor
from preflight.comparing.sheet.look_at_sheet import SheetLooks
from preflight.comparing.sheet.number_up import meant_versions, number_up_faults, version_counts
from preflight.comparing.sheet.plates_by_name import paired_names
from preflight.comparing.sheet.printed_art import PrintedArt, laid_on, plate_names, read_art
from preflight.comparing.sheet.sheet_blanks import SheetPlaces, sheet_places
from preflight.comparing.sheet.sheet_in_words import cell_numbers, notes_on_common, plates_of_sheet
from preflight.inputs.ticket import Ticket


def compare_sheet(
    one_up: Artwork, sheet: Artwork, versions: Sequence[tuple[str, Artwork]] = (), ticket: Ticket | None = None
) -> Comparison:
    """Holds every blank of a sheet against the one-up.

    A version that the ticket names is meant to be there; others, as old revisions, are told by name and are wrong.

    Args:
        one_up: the approved artwork of one blank.
        sheet: the imposed sheet.
        versions: other versions and old revisions by name.
        ticket: says what the die is drawn in, how many up, and which versions.

    Raises:
        NotMeasured: a page cannot be drawn, or the one-up prints nothing.
    """
    arts, unlike = _arts(one_up, versions, ticket)
    page = sheet.pages[0]
    names = paired_names(_order(arts), plate_names(page), ticket)
    order = (*_order(arts), *(name for name in names if name not in _order(arts)))
    looks = SheetLooks(page, order, names)
    die = read_die(page, _without_places(ticket, "sheet"))
    places = sheet_places(looks, die, arts)
    cuts = [(place.number, place.cut) for place in places.places if place.cut is not None]
    files = {arts[0].name: one_up.path, **{name: artwork.path for name, artwork in versions}}
    auditor = Auditor(looks, arts, cuts, places.against, page.number, meant_versions(ticket, files))
    audited = [auditor.audit(place) for place in places.places]
    return _comparison(audited, looks, arts, places, die, ticket, [*unlike, *_pages_left(one_up, sheet)])


def _arts(
    one_up: Artwork, versions: Sequence[tuple[str, Artwork]], ticket: Ticket | None
) -> tuple[list[PrintedArt], list[str]]:
    """The one-up and its versions in one frame, and what is said of versions that do not fit it."""
    stated = _without_places(ticket, "one-up")
    first = read_art(one_up.path.name, one_up, stated)
    others, unlike = list[PrintedArt](), list[str]()
    for name, artwork in versions:
        known = list(first.names)
        art = read_art(name, artwork, stated, paired_names(known, plate_names(artwork.pages[0]), ticket))
        laid = laid_on(art, first)
        if laid is None:
            unlike.append(f"{name}: it has another cut or page than the one-up")
        else:
            others.append(laid)
    return [first, *others], unlike


def _without_places(ticket: Ticket | None, artwork_is: str) -> Ticket | None:
    """The ticket as it holds for one of the files: areas that are stated lie on the artwork of the ticket."""
    if ticket is None:
        return None
    kept = ticket.areas if (ticket.artwork_is or "one-up") == artwork_is else ()
    return ticket.model_copy(update={"artwork_is": artwork_is, "areas": kept})


def _order(arts: Sequence[PrintedArt]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for art in arts for name in art.names))


def _pages_left(one_up: Artwork, sheet: Artwork) -> list[str]:
    files = (("one-up", one_up), ("sheet", sheet))
    return [
        f"only the first page of the {what} is compared; it has {artwork.page_count}"
        for what, artwork in files
        if artwork.page_count > 1
    ]


def _comparison(
    audited: Sequence[Audited],
    looks: SheetLooks,
    arts: Sequence[PrintedArt],
    places: SheetPlaces,
    die: Die,
    ticket: Ticket | None,
    not_compared: Sequence[str],
) -> Comparison:
    checks = [each.check for each in audited]
    counts = version_counts(checks, ticket)
    faults = number_up_faults(checks, counts, ticket)
    if not checks:
        faults.insert(0, "No blank of the one-up is found on the sheet.")
    return Comparison(
        "sheet",
        plates=tuple(plates_of_sheet(audited, looks)),
        blanks=tuple(checks),
        notes=(
            *places.notes,
            *(f"The die of the sheet is uncertain: {each}." for each in die.uncertain),
            *cell_numbers(audited),
            *notes_on_common(checks, looks, arts),
        ),
        not_compared=(*places.not_compared, *not_compared, *looks.not_drawn),
        faults=tuple(faults),
        versions=counts,
    )

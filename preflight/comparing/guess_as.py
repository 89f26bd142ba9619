"""Whether two files are revisions of one artwork or a sheet with its one-up, where nobody says."""

from __future__ import annotations

from preflight.artwork.page.artwork import Artwork
from preflight.carton.alike_blanks import Cut, moves
from preflight.carton.die import Blank
from preflight.carton.read_die import read_die
from preflight.inputs.ticket import Ticket
from preflight.quantities import shown


def blanks_as_one_up(old: Artwork, new: Artwork, ticket: Ticket | None) -> int:
    """How many blanks of NEW's first page are like the one blank of OLD's; 0 where OLD has another number of them."""
    one_up, sheet = (read_die(artwork.pages[0], ticket).blanks for artwork in (old, new))
    if len(one_up) != 1 or len(sheet) < 2:
        return 0
    wanted = _cut(one_up[0])
    return sum(any(True for _ in moves(wanted, _cut(blank))) for blank in sheet)


def says_sheet(blanks: int) -> str:
    """Why two files are compared as a one-up and its sheet."""
    return f"NEW shows {shown(blanks, 'blanks')} like the one of OLD, so it is compared as a sheet (--as sheet)."


def _cut(blank: Blank) -> Cut:
    return Cut(blank.outline, blank.creases)

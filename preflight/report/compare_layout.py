"""What lies over the pictures of a comparison, and what is said above them; for the page and the PDF alike."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from preflight.report import compare_rows as rows
from preflight.report.compare_places import NumberedPlace
from preflight.report.compared_views import SheetPicture, Triple
from preflight.report.place_markers import Mark, Screen, lay_out, pin_radius_mm

Document = Mapping[str, Any]

COLUMN: Final = Screen((400.0, 400.0), 9.5, 1)
"""What the numbers on a look are laid out for: one of three pictures beside each other."""


def look_marks(look: Triple, places: Iterable[NumberedPlace], screen: Screen = COLUMN) -> tuple[list[Mark], float]:
    """The numbers on a look, in mm from its upper-left corner, and the radius that they are drawn with."""
    x0, y0, x1, y1 = look.box_mm
    size = (x1 - x0, y1 - y0)
    found = [
        {
            "number": place.number,
            "verdict": "warn",
            "places": [{"box_mm": [side - (x0, y0)[k % 2] for k, side in enumerate(place.box_mm)]}],
        }
        for place in places
        if place.page == look.page
    ]
    return lay_out(found, size, screen), pin_radius_mm(size, screen)


def view_title(triple: Triple, places: Mapping[int, NumberedPlace], *, several: bool) -> str:
    """``Place 3: 13 x 10 mm round (18, 50) mm``; with its page where there are several."""
    on = f" on page {triple.page}" if several else ""
    if triple.number is None:
        return f"All of it{on}" if triple.whole else f"Where it differs most{on}: {rows.window_words(triple.box_mm)}"
    part = "" if triple.whole or _holds(triple, places[triple.number]) else ", where it differs most"
    return f"Place {triple.number}{on}{part}: {rows.window_words(triple.box_mm)}"


def _holds(triple: Triple, place: NumberedPlace) -> bool:
    return triple.box_mm[2] - triple.box_mm[0] >= place.box_mm[2] - place.box_mm[0]


def blank_on_sheet(blank: Document, sheet: SheetPicture) -> dict[str, Any]:
    """Where a blank is drawn, from the upper-left corner of the sheet, and the plaque with its number and kind."""
    left, top = sheet.box_mm[0], sheet.box_mm[3]
    x0, y0, x1, y1 = blank["box_mm"]
    width, height = x1 - x0, y1 - y0
    called = str(rows.BLANKS.get(blank["kind"], blank["kind"]))
    size = min(width * 0.95 / (0.6 * max(len(called), 4) + 1), height * 0.3, max(sheet.box_mm[2] - left, 1) / 45)
    middle = (x0 + x1) / 2 - left, top - (y0 + y1) / 2
    wide, tall = size * (0.58 * max(len(called), 4) + 0.9), size * 2.8
    return {
        "number": blank["number"],
        "kind": blank["kind"],
        "called": called,
        "x": x0 - left,
        "y": top - y1,
        "width": width,
        "height": height,
        "middle": middle,
        "type": size,
        "plaque": (middle[0] - wide / 2, middle[1] - tall / 2, wide, tall),
    }

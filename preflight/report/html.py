"""The report page and its customer edition: self-contained HTML files made from the document and the pictures.

Everything it says is in the document. Names and sentences come from the customer's file and the ticket, so every
one is escaped by the template engine and freed of characters that steer a screen; the page runs only the script
and the style that its Content-Security-Policy names by digest.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from markupsafe import Markup

from preflight.report import words
from preflight.report.customer_message import customer_points, headline, message_lines
from preflight.report.pictures import PagePictures
from preflight.report.place_markers import PHONE, lay_out, pin_radius_mm
from preflight.report.scales import WIDTH as SCALE_WIDTH
from preflight.report.scales import scale_of
from preflight.report.templates import digest_of, environment, text_of

PLACES_SHOWN: Final = 3
"""Places of a finding that stand in its row; the others are folded away."""
PLACES_LISTED: Final = 80
"""The rest is in the JSON report."""
MOST_COLUMNS: Final = 9
ROUND_STEPS_MM: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500)


def render_html(document: Mapping[str, Any], pictures: Sequence[PagePictures] = ()) -> str:
    """The page; ``pictures`` are those of ``draw_pictures`` for the pages of the document, in any order."""
    by_page = {picture.page: picture for picture in pictures}
    pages = [_page_view(page, by_page.get(page["page"])) for page in document["pages"]]
    return _rendered("page.html", document, pages, {"message_lines": message_lines(document["message"])})


def render_customer_html(document: Mapping[str, Any], pictures: Sequence[PagePictures] = ()) -> str:
    """The customer edition: what is theirs to change or to answer, numbered as in ``message``, on their artwork.

    Args:
        document: the same that the page shows.
        pictures: as for the page; single plates are left out.
    """
    by_page = {picture.page: replace(picture, plates=()) for picture in pictures}
    points = customer_points(document)
    pages = [_customer_view(page, points, by_page.get(page["page"])) for page in document["pages"]]
    none = "pass" if document["complete"] else "missing"
    more = {
        "headline": headline(points, complete=document["complete"]),
        "verdict": max((point["verdict"] for point in points), key=("warn", "fail").index, default=none),
    }
    return _rendered("customer.html", document, pages, more)


def _rendered(
    template: str, document: Mapping[str, Any], pages: Sequence[Mapping[str, Any]], more: Mapping[str, Any]
) -> str:
    most_plates = max((len(view["plates"]) for view in pages), default=0)
    style = text_of("page.css") + "".join(
        [_pick_rules(k) for k in range(most_plates)]
        + [f".columns{k}{{--columns:{k}}}" for k in sorted({view["columns"] for view in pages})]
    )
    script = text_of("page.js")
    policy = (
        f"default-src 'none'; img-src data:; style-src 'sha256-{digest_of(style)}'; "
        f"script-src 'sha256-{digest_of(script)}'; base-uri 'none'; form-action 'none'"
    )
    shown = {"document": document, "pages": pages, "scale_width": SCALE_WIDTH, "subject": _subject(document), **more}
    page = environment().get_template(template)
    return page.render(shown, style=Markup(style), script=Markup(script), policy=policy)


def _subject(document: Mapping[str, Any]) -> str:
    """What the page is about in one line, for a screen that shows the other facts further down."""
    return ", ".join(w for w in (words.job_words(document), words.short(document["artwork"]["file"])) if w)


def _page_view(page: Mapping[str, Any], pictures: PagePictures | None) -> dict[str, Any]:
    """What the template shows of one page: its part of the document, the pictures, and what is laid out over them."""
    view = _picture_view(page, page["findings"], pictures)
    pins = Counter(mark.number for mark in view["marks"] if mark.pin is not None)
    rows = [_row(finding, pins[finding["number"]]) for finding in page["findings"]]
    return {
        **view,
        "wrong": [row for row in rows if row["finding"]["verdict"] != "note"],
        "remarks": [row for row in rows if row["finding"]["verdict"] == "note"],
        "missing": words.missing_by_reason(page["not_checked"]),
        "not_asked": words.not_asked_by_reason(page["not_asked"]),
    }


def _customer_view(
    page: Mapping[str, Any], points: Sequence[Mapping[str, Any]], pictures: PagePictures | None
) -> dict[str, Any]:
    """What the customer edition shows of one page: the points that begin on it, and the places on it of all."""
    number = page["page"]
    here = [{**point, "places": [p for p in point["places"] if p["page"] == number]} for point in points]
    missing = [entry for entry in page["not_checked"] if entry["for_want_of"] == "file"]
    return {
        **_picture_view(page, here, pictures),
        "points": [_point_row(point) for point in points if point["page"] == number],
        "missing": words.missing_by_reason(missing),
    }


def _point_row(point: Mapping[str, Any]) -> dict[str, Any]:
    """A point with its places, each with its index on its page and the ink that the place before it has told."""
    on_page, told = Counter[int](), ""
    placed = []
    for place in point["places"]:
        placed.append({"place": place, "index": on_page[place["page"]], "told": told})
        on_page[place["page"]] += 1
        told = place["separation"]
    return {**point, **_folded(placed)}


def _picture_view(
    page: Mapping[str, Any], findings: Sequence[Mapping[str, Any]], pictures: PagePictures | None
) -> dict[str, Any]:
    """The picture of a page with the places of some findings numbered on it."""
    page_mm = page["artwork"]["page_mm"]
    radius = pin_radius_mm(page_mm)
    room = 2.2 * radius
    colours = {separation["name"]: separation for separation in page["separations"]}
    plates = [(plate, colours.get(plate.name, {"cover": None})) for plate in pictures.plates] if pictures else []
    letters = [(x, y) for _, x, y in pictures.die.labels] if pictures else []
    marks = lay_out(findings, page_mm, letters=letters)
    phone_radius = pin_radius_mm(page_mm, PHONE)
    pins = [
        {"for": "desk", "radius": radius, "marks": [mark for mark in marks if mark.pin]},
        {
            "for": "phone",
            "radius": phone_radius,
            "marks": [mark for mark in lay_out(findings, page_mm, PHONE, letters) if mark.pin],
        },
    ]
    return {
        "page": page,
        "width": page_mm[0],
        "height": page_mm[1],
        "radius": radius,
        "view": [-room, -room * 0.5, page_mm[0] + 1.5 * room, page_mm[1] + 1.6 * room],
        "room": room,
        "rulers": [("desk", _ruler_step(page_mm, 12), radius), ("phone", _ruler_step(page_mm, 5), phone_radius)],
        "phone_radius": phone_radius,
        "pictures": pictures,
        "plates": plates,
        "marks": marks,
        "pins": pins,
        "columns": strip_columns(len(plates) + 1),
        "colours": colours,
    }


def _row(finding: Mapping[str, Any], pins: int) -> dict[str, Any]:
    return {
        "finding": finding,
        "scale": scale_of(finding),
        "measured": words.measured_words(finding),
        "pins": pins,
        **_folded(finding["places"]),
    }


def _folded(places: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """The places that stand in a row, those that are folded away, and how many are left out."""
    return {
        "first": places[:PLACES_SHOWN],
        "folded": places[PLACES_SHOWN:PLACES_LISTED],
        "left_out": max(len(places) - PLACES_LISTED, 0),
    }


def _ruler_step(page_mm: Sequence[float], most: int) -> int:
    """Millimetres between the numbers of the rulers: at most so many along the long side."""
    return next((step for step in ROUND_STEPS_MM if max(page_mm) / step <= most), ROUND_STEPS_MM[-1])


def strip_columns(tabs: int) -> int:
    """Columns of the strip of plates, so that its rows are about equally long and none holds a single one."""
    rows = -(-tabs // MOST_COLUMNS)
    return -(-tabs // rows)


def _pick_rules(index: int) -> str:
    """Looking at one plate works without a script: a radio button shows and hides pictures beside it."""
    return (
        f".pick{index}:checked~.stage .sheet-all{{display:none}}"
        f".pick{index}:checked~.stage .sheet{index}{{display:inline}}"
        f".pick{index}:checked~.strip .tab{index}{{border-color:var(--ink);font-weight:600}}"
        f".pick{index}:focus-visible~.strip .tab{index}{{outline:3px solid var(--focus);outline-offset:2px}}"
    )

"""The page of a comparison: one self-contained HTML file, with a script only for the sliders.

Names and sentences come from the files and the ticket, so every one is escaped by the template engine; the page runs
only the script and the style that its Content-Security-Policy names by digest.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from markupsafe import Markup

from preflight.report import compare_rows as rows
from preflight.report.compare_layout import blank_on_sheet, look_marks, view_title
from preflight.report.compare_places import NEAR_MM, NumberedPlace, numbered_places
from preflight.report.compared_views import BlankView, ComparePictures, SheetPicture, Triple
from preflight.report.difference_picture import LESS, LESS_STRIPE, MORE, MORE_DOT
from preflight.report.pictures import data_uri
from preflight.report.templates import digest_of, environment, text_of

Document = Mapping[str, Any]
View = dict[str, Any]

PAGE_PX: Final = 1400
"""A picture is no wider than this, and fills its column up to there."""


def render_compare_html(document: Document, pictures: ComparePictures | None = None) -> str:
    """The page of a ``preflight-compare/1`` document.

    Args:
        document: what is said.
        pictures: what is shown; without them the page has words only.
    """
    style, script = text_of("page.css") + text_of("compare.css"), text_of("compare.js")
    policy = (
        f"default-src 'none'; img-src data:; style-src 'sha256-{digest_of(style)}'; "
        f"script-src 'sha256-{digest_of(script)}'; base-uri 'none'; form-action 'none'"
    )
    page = environment().get_template("compare.html")
    shown = _shown(document, pictures or ComparePictures())
    return page.render(shown, style=Markup(style), script=Markup(script), policy=policy)


def _shown(document: Document, pictures: ComparePictures) -> View:
    """Everything that the template writes."""
    changed = rows.changed_plates(document)
    places = numbered_places(changed) if document["as"] == "revision" else []
    plates = _plate_views(changed, pictures, places)
    blank_views = [_blank_view(view, document) for view in pictures.blanks]
    return {
        "document": document,
        "rows": rows,
        "changed": changed,
        "wrong": [blank for blank in document["blanks"] if blank["kind"] != "same"],
        "files": rows.files_of(document),
        "declared": rows.declared_words(document),
        "plates": rows.plate_rows(document, places),
        "plate_views": plates,
        "plate_anchors": {plate["name"]: plate["id"] for plate in plates},
        "anchors": {view["number"] for plate in plates for view in plate["views"] if view["anchor"]},
        "looks": [_look_view(look, places) for look in pictures.looks],
        "blanks": rows.blank_rows(document),
        "sheets": [_sheet_view(sheet, document["blanks"]) for sheet in pictures.sheets],
        "blank_views": blank_views,
        "blank_anchors": {view["number"] for view in blank_views},
        "lacking": pictures.lacking,
        "texts": rows.word_rows(document),
        "near": f"{NEAR_MM:g}",
        "colours": dict(
            zip(("less", "stripe", "more", "dot"), map(_hex, (LESS, LESS_STRIPE, MORE, MORE_DOT)), strict=True)
        ),
    }


def _look_view(look: Triple, places: Iterable[NumberedPlace]) -> View:
    marks, radius = look_marks(look, places)
    says = f"Page {look.page}"
    return _view(look, f"look{look.page}", says) | {"marks": marks, "radius": radius, "page_look": True}


def _plate_views(changed: Sequence[Document], pictures: ComparePictures, places: Iterable[NumberedPlace]) -> list[View]:
    """Each plate that is shown; the first picture of a number is what the number leads to."""
    by_name = {plate["name"]: plate for plate in changed}
    known, seen = {place.number: place for place in places}, set[int]()
    found = []
    for k, each in enumerate(pictures.plates):
        plate = by_name[each.name]
        views = []
        for n, triple in enumerate(each.views):
            title = view_title(triple, known, several=len(pictures.looks) > 1)
            anchor = triple.number is not None and triple.number not in seen
            if triple.number is not None:
                seen.add(triple.number)
            view = _view(triple, f"plate{k + 1}-{n + 1}", f"{each.name}, {title[:1].lower()}{title[1:]}")
            views.append(view | {"title": title, "anchor": anchor})
        found.append(
            {"id": k + 1, "name": each.name, "called": rows.called(plate), "says": rows.says(plate), "views": views}
        )
    return found


def _blank_view(view: BlankView, document: Document) -> View:
    blank = next(each for each in document["blanks"] if each["number"] == view.number)
    shown = _view(view.triple, f"blank{view.number}-1", str(blank["says"]) or f"Blank {view.number}")
    return shown | {"number": view.number, "old": "One-up", "new": "Sheet"}


def _view(triple: Triple, name: str, says: str) -> View:
    x0, y0, x1, y1 = triple.box_mm
    parts = ("old", "new", "difference")
    return {
        "id": name,
        "page": triple.page,
        "number": triple.number,
        "width": x1 - x0,
        "height": y1 - y0,
        "px": _px(x1 - x0, y1 - y0),
        "says": says,
        "old": "Old",
        "new": "New",
        "pictures": {part: data_uri(getattr(triple, part)) for part in parts},
        "marks": [],
        "radius": 0.0,
        "page_look": False,
    }


def _px(width: float, height: float) -> tuple[int, int]:
    """So large that it fills a column, in its own proportions: the style makes it no wider than there is room."""
    scale = PAGE_PX / max(width, height)
    return max(1, round(width * scale)), max(1, round(height * scale))


# The sheet ---------------------------------------------------------------------------------------------------------


def _sheet_view(sheet: SheetPicture, blanks: Iterable[Document]) -> View:
    x0, y0, x1, y1 = sheet.box_mm
    width, height = x1 - x0, y1 - y0
    return {
        "id": f"sheet{sheet.page}",
        "page": sheet.page,
        "width": width,
        "height": height,
        "px": _px(width, height),
        "pitch": max(width, height) / 130,
        "picture": data_uri(sheet.picture) if sheet.picture else "",
        "blanks": [blank_on_sheet(blank, sheet) for blank in blanks if blank["page"] == sheet.page],
    }


def _hex(colour: Sequence[int]) -> str:
    return "#" + "".join(f"{part:02x}" for part in colour)

"""The set-up sheet as a page: self-contained, without a script, in the look of the report page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from markupsafe import Markup

from preflight.report.change_bars import change_of
from preflight.report.drawing import Drawing
from preflight.report.pdf_pen import paper_like
from preflight.report.setup_pictures import ON_SCREEN, SheetDrawings, pictures_of
from preflight.report.setup_points import without_places
from preflight.report.setup_sheet import (
    conflict_words,
    material_rows,
    missing_words,
    pull_words,
    queries_title,
    sheet_of,
    wash_up_reason,
    way_out_words,
)
from preflight.report.templates import digest_of, environment, text_of

Document = Mapping[str, Any]

BARS_WIDE: Final = 400
"""Width of the bars of the change, in units of the drawing."""
TO_WRITE: Final = ("Caliper measured, mm", "OK sheet signed", "Time", "Count at OK", "Good sheets", "Waste")


def render_setup_html(document: Document, drawings: SheetDrawings | None = None) -> str:
    """The page of a ``preflight-setup/1`` document, with pictures of its sheet where they can be drawn."""
    plan = document.get("plan") or {}
    change, sheet = change_of(document), sheet_of(document)
    return rendered(
        "setup.html",
        {
            "document": document,
            "sheet": sheet,
            "change": change,
            "bars_wide": BARS_WIDE,
            "scale": BARS_WIDE / (change.end or 1.0),
            "to_write": TO_WRITE,
            "paper_like": paper_like,
            "queries_title": queries_title(sheet),
            "pull_words": pull_words,
            "conflict": conflict_words(document),
            "ways": [way_out_words(way) for way in plan.get("ways_out") or ()],
            "washed": [wash_up_reason(entry) for entry in plan.get("wash_ups") or ()],
            "materials": material_rows(document),
            "run": document.get("run") or {},
            "findings": [
                {**finding, "says": without_places(finding["says"])} for finding in document.get("findings") or ()
            ],
            "missing": [missing_words(entry) for entry in document.get("not_checked") or ()],
            "assumed": document.get("assumed") or (),
            "made": document.get("made") or {},
            "pictures": [
                (picture, [_svg(drawing) for drawing in picture.drawings(ON_SCREEN)])
                for picture in pictures_of(document, drawings)
            ],
        },
    )


def _svg(drawing: Drawing) -> Markup:
    from preflight.report.drawing_svg import render_svg  # only a sheet that is laid out has pictures

    return Markup(render_svg(drawing, embedded=True))  # its writer escapes every word


def rendered(template: str, shown: Mapping[str, Any]) -> str:
    """A page without a script: its policy allows the one style that it names by digest, and nothing else."""
    style = text_of("page.css") + text_of("setup.css")
    policy = (
        f"default-src 'none'; style-src 'sha256-{digest_of(style)}'; script-src 'none'; base-uri 'none'; "
        "form-action 'none'"
    )
    return environment().get_template(template).render(shown, style=Markup(style), policy=policy)

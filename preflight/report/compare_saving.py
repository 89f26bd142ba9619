"""Files of a comparison: the ending chooses the form, and a file is whole or it is not there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from preflight.errors import WrongUsage
from preflight.report.compared_page import ComparedPage, ComparedSheet
from preflight.report.saving import STANDARD_OUTPUT, Shortfall, in_words, json_text, write_file

if TYPE_CHECKING:
    from preflight.report.compared_views import ComparePictures

Form = Literal["json", "html", "pdf"]
FORMS: Final[dict[str, Form]] = {".json": "json", ".html": "html", ".htm": "html", ".pdf": "pdf"}


def check_target(target: Path | str) -> Form:
    """The form that a file's name asks for; ask before the work is begun, so that a slip costs no time.

    Raises:
        WrongUsage: no form has this ending.
    """
    if str(target) == STANDARD_OUTPUT:
        return "json"
    form = FORMS.get(Path(target).suffix.lower())
    if form is None:
        raise WrongUsage(f"{target}: a comparison ends in .html, .json or .pdf (or is -, JSON on standard output)")
    return form


def save_comparison(
    document: Mapping[str, Any],
    pages: Sequence[ComparedPage],
    target: Path | str,
    sheet: ComparedSheet | None = None,
) -> list[Shortfall]:
    """Write a comparison in the form that its ending chooses.

    Args:
        document: ``preflight-compare/1``.
        pages: for the pictures; those that both files have.
        target: the file.
        sheet: for the pictures, where a sheet was held against its one-up.

    Returns:
        what the file lacks: pictures that could not be made.

    Raises:
        WrongUsage: the ending is unknown.
        CannotWrite: the file cannot be written.
    """
    form = check_target(target)
    if form == "json":
        write_file(Path(target), json_text(document).encode("utf-8", "replace"))
        return []
    lacking: list[Shortfall] = []
    pictures = _pictures(document, pages, sheet, target, lacking)
    write_file(Path(target), _rendered(form, document, pictures))
    return lacking


def _rendered(form: Form, document: Mapping[str, Any], pictures: ComparePictures) -> bytes:
    """Loaded where they are wanted: templates and type take a while."""
    if form == "pdf":
        from preflight.report.compare_pdf import render_compare_pdf

        return render_compare_pdf(document, pictures)
    from preflight.report.compare_html import render_compare_html

    return render_compare_html(document, pictures).encode("utf-8", "replace")


def _pictures(
    document: Mapping[str, Any],
    pages: Sequence[ComparedPage],
    sheet: ComparedSheet | None,
    target: Path | str,
    lacking: list[Shortfall],
) -> ComparePictures:
    """The pictures; none where they break, which is added to ``lacking``."""
    from preflight.report.compare_pictures import draw_compare_pictures
    from preflight.report.compared_views import ComparePictures
    from preflight.report.sheet_pictures import draw_sheet_pictures

    try:
        return draw_compare_pictures(document, pages) if sheet is None else draw_sheet_pictures(document, sheet)
    except Exception as fault:
        lacking.append(Shortfall(f"the pictures are not in {target}: {in_words(fault)}", written=True))
        return ComparePictures()

"""The page of ``preflight presses``: which of the presses named can take the job, the best first."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from preflight.report.press_table import press_rows, presses_headline
from preflight.report.setup_html import rendered
from preflight.report.setup_sheet import sheet_of

Document = Mapping[str, Any]


def render_presses_html(document: Document) -> str:
    """The page of a ``preflight-presses/1`` document."""
    return rendered(
        "presses.html",
        {
            "document": document,
            "sheet": sheet_of({**document, "run_it": True}),
            "headline": presses_headline(document),
            "rows": press_rows(document),
        },
    )

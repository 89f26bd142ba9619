"""Pictures of the set-up sheet: the layout, the ink keys, the coating plate. One model each, for page and PDF alike."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from preflight.report.drawing import Drawing
from preflight.report.setup_layout import (
    coating_sentences,
    key_bars,
    key_sentences,
    layout_line,
    layout_sentences,
)

Document = Mapping[str, Any]
Paper = tuple[float, float]
"""Width and height on paper, mm."""
ON_SCREEN: Final[Paper] = (300.0, 215.0)
"""What pictures of the page are drawn for."""


@dataclass(frozen=True)
class Picture:
    """A picture with its title and what is said of it."""

    title: str
    says: tuple[str, ...]
    drawings: Callable[[Paper], list[Drawing]]
    """For so much room on paper; several where one has no room for all."""
    name: str
    """``layout``, ``keys``, ``coating``."""


@dataclass(frozen=True)
class SheetDrawings:
    """What only the planned job knows how to draw; see ``sheet_drawings``."""

    layout: Callable[[Paper], Drawing | None]
    coating: Callable[[Paper], Drawing | None]


def sheet_drawings(job: Any, document: Document) -> SheetDrawings | None:
    """Pictures of the sheet of a planned job; None where its sheet is not known."""
    from preflight.report.coating_plate import coating_drawing
    from preflight.report.layout_drawing import draw_layout
    from preflight.report.layout_files import layout_told, sheet_to_draw

    sheet = sheet_to_draw(job)
    if sheet is None:
        return None
    told = layout_told(job, document)
    return SheetDrawings(
        lambda paper: draw_layout(sheet, replace(told, paper_mm=paper, alone=False)),
        lambda paper: coating_drawing(job, paper),
    )


def pictures_of(document: Document, drawings: SheetDrawings | None = None) -> list[Picture]:
    """Every picture that there is something to show of; the keys are drawn from the document alone."""
    found = []
    line = layout_line(document)
    if line:
        found.append(
            Picture(
                f"Layout: {line}",
                tuple(layout_sentences(document)),
                _if_there(drawings.layout if drawings is not None else None),
                "layout",
            )
        )
    bars = key_bars(document)
    if bars is not None:
        from preflight.report.key_drawing import key_drawing

        found.append(
            Picture(
                "Ink keys",
                tuple(key_sentences(document)),
                lambda paper: key_drawing(bars, paper[0], None if paper == ON_SCREEN else paper[1]),
                "keys",
            )
        )
    sentences = coating_sentences(document)
    if sentences:
        found.append(
            Picture(
                "Coating plate: clear areas",
                tuple(sentences),
                _if_there(drawings.coating if drawings is not None else None),
                "coating",
            )
        )
    return found


def _if_there(draw: Callable[[Paper], Drawing | None] | None) -> Callable[[Paper], list[Drawing]]:
    def drawings(paper: Paper) -> list[Drawing]:
        drawn = draw(paper) if draw is not None else None
        return [drawn] if drawn is not None else []

    return drawings

"""A drawing as a PDF of one page, 1:1: a millimetre of it is a millimetre on paper."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any, Final

from reportlab.pdfgen.canvas import Canvas

from preflight.report.drawing import POINT_MM, Drawing, Lines, Text
from preflight.report.pdf_type import face, written

BASELINE: Final = 0.36
"""From the middle of a line of text down to its baseline, in sizes."""


def render_pdf(drawing: Drawing, subject: str = "") -> bytes:
    """The drawing on a page of its size."""
    x0, y0, x1, y1 = drawing.box
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=((x1 - x0) / POINT_MM, (y1 - y0) / POINT_MM))
    canvas.setTitle(written(drawing.title))
    canvas.setSubject(written(subject))
    canvas.scale(1 / POINT_MM, 1 / POINT_MM)
    canvas.translate(-x0, -y0)
    _draw_items(canvas, drawing)
    canvas.showPage()
    canvas.save()
    return file.getvalue()


def place_on(canvas: Any, drawing: Drawing, x: float, y: float, width: float, height: float) -> None:
    """Draw it as large as a box on a page allows, in the middle of it; points from the lower-left corner."""
    x0, y0, x1, y1 = drawing.box
    scale = min(width / (x1 - x0), height / (y1 - y0))
    canvas.saveState()
    canvas.translate(x + (width - scale * (x1 - x0)) / 2, y + (height - scale * (y1 - y0)) / 2)
    canvas.scale(scale, scale)
    canvas.translate(-x0, -y0)
    _draw_items(canvas, drawing)
    canvas.restoreState()


def _draw_items(canvas: Any, drawing: Drawing) -> None:
    for item in drawing.items:
        canvas.saveState()
        if isinstance(item, Lines):
            _draw_lines(canvas, item)
        else:
            _draw_text(canvas, item)
        canvas.restoreState()


def _draw_lines(canvas: Any, lines: Lines) -> None:
    path = canvas.beginPath()
    for run in lines.runs:
        _add(path, run)
    if lines.width_mm:
        canvas.setLineWidth(lines.width_mm)
        canvas.setStrokeGray(lines.grey)
        if lines.dash_mm:
            canvas.setDash(list(lines.dash_mm))
    if lines.fill is not None:
        canvas.setFillGray(lines.fill)
    canvas.drawPath(path, stroke=int(lines.width_mm > 0), fill=int(lines.fill is not None), fillMode=0)


def _add(path: Any, run: Sequence[tuple[float, float]]) -> None:
    closed = len(run) > 3 and run[0] == run[-1]
    path.moveTo(*run[0])
    for point in run[1 : len(run) - closed]:
        path.lineTo(*point)
    if closed:
        path.close()


def _draw_text(canvas: Any, text: Text) -> None:
    canvas.translate(text.x, text.y)
    canvas.rotate(text.turn_deg)
    canvas.setFont(face(bold=text.bold), text.size_mm)
    canvas.setFillGray(1.0 if text.white else 0.0)
    if text.opacity < 1:
        canvas.setFillAlpha(text.opacity)
    shift = {"left": 0.0, "centre": 0.5, "right": 1.0}[text.align] * text.width_mm
    canvas.drawString(-shift, -BASELINE * text.size_mm, written(text.says))

"""A drawing as SVG: one text that needs no other file, no script and no style sheet."""

from __future__ import annotations

from html import escape
from typing import Final

from preflight.report import words
from preflight.report.drawing import Drawing, Lines, Text

FACES: Final = "DejaVu Sans Condensed, Arial Narrow, Helvetica, Arial, sans-serif"
ANCHORS: Final = {"left": "start", "centre": "middle", "right": "end"}
BASELINE: Final = 0.36
"""From the middle of a line of text down to its baseline, in sizes."""


def render_svg(drawing: Drawing, *, embedded: bool = False) -> str:
    """The drawing; 1:1 in mm as a file, as wide as there is room within a page."""
    x0, y0, x1, y1 = drawing.box
    width, height = x1 - x0, y1 - y0
    size = 'class="drawing"' if embedded else f'width="{width:.3f}mm" height="{height:.3f}mm"'
    title = escape(words.plain(drawing.title))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {width:.3f} {height:.3f}" role="img" '
        f'aria-label="{title}" font-family="{FACES}">',
        f"<title>{title}</title>",
        f'<rect width="{width:.3f}" height="{height:.3f}" fill="#ffffff"/>',
    ]
    for item in drawing.items:
        parts.append(_lines(item, x0, y1) if isinstance(item, Lines) else _text(item, x0, y1))
    return "\n".join([*parts, "</svg>"]) + "\n"


def _lines(lines: Lines, left: float, top: float) -> str:
    path = "".join(_path(run, left, top) for run in lines.runs)
    look = f'fill="{_grey(lines.fill)}" fill-rule="evenodd"' if lines.fill is not None else 'fill="none"'
    if lines.width_mm:
        look += f' stroke="{_grey(lines.grey)}" stroke-width="{lines.width_mm:.3f}"'
        if lines.dash_mm:
            look += f' stroke-dasharray="{" ".join(f"{length:.2f}" for length in lines.dash_mm)}"'
    return f'<path data-is="{escape(lines.name)}" d="{path}" {look}/>'


def _path(run: tuple[tuple[float, float], ...], left: float, top: float) -> str:
    closed = len(run) > 3 and run[0] == run[-1]
    points = run[:-1] if closed else run
    return "M" + "L".join(f"{x - left:.3f} {top - y:.3f}" for x, y in points) + ("Z" if closed else "")


def _text(text: Text, left: float, top: float) -> str:
    x, y = text.x - left, top - text.y
    turn = f' transform="rotate({-text.turn_deg:g} {x:.3f} {y:.3f})"' if text.turn_deg else ""
    look = ' font-weight="bold"' if text.bold else ""
    look += f' fill-opacity="{text.opacity:g}"' if text.opacity < 1 else ""
    return (
        f'<text x="{x:.3f}" y="{y + BASELINE * text.size_mm:.3f}" font-size="{text.size_mm:.3f}" '
        f'text-anchor="{ANCHORS[text.align]}" fill="{_grey(1.0 if text.white else 0.0)}"{look}{turn}>'
        f"{escape(words.plain(text.says))}</text>"
    )


def _grey(level: float | None) -> str:
    value = round(255 * (level or 0.0))
    return f"#{value:02x}{value:02x}{value:02x}"

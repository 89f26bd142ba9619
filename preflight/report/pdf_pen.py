"""Drawing on a PDF page in points from its upper-left corner, y down; and the hatching that tells kinds apart."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any, Final, Literal

from preflight.report.pdf_type import ASCENT, face, width_of, written

HATCHES: Final[dict[str, tuple[tuple[int, int], ...]]] = {
    "spot": ((1, 1),),
    "metallic": ((1, 1), (1, -1)),
    "white": ((1, 0),),
    "varnish": ((1, 0),),
    "primer": ((0, 1),),
}
"""Directions of the lines of each kind, dotted for white; a process ink is full. Any other kind is crossed out from
corner to corner, so that none looks like a box to write in."""
DOTS: Final = (1.6, 2.4)
PALE: Final = 0.8
"""Of full light: a colour as light as that is left out of the sign of a white, varnish or primer."""
PITCH: Final = 4.0
BLACK: Final = 0.0
Align = Literal["left", "centre", "right"]


@dataclass(frozen=True)
class Pen:
    """A canvas and the height of its page."""

    canvas: Any
    height: float

    def text(
        self, x: float, top: float, text: object, size: float, *, bold: bool = False, align: Align = "left",
        white: bool = False,
    ) -> None:  # fmt: skip
        """One line of text whose upper edge is at ``top``."""
        line = written(text)
        if not line:
            return
        x -= {"left": 0.0, "centre": 0.5, "right": 1.0}[align] * width_of(line, size, bold=bold)
        self.canvas.setFont(face(bold=bold), size)
        self.canvas.setFillGray(1.0 if white else BLACK)
        self.canvas.drawString(x, self.height - top - ASCENT * size, line)

    def upright(self, x: float, middle: float, text: str, size: float) -> None:
        """A word that reads upwards, centred on ``middle``, its baseline at ``x``."""
        self.canvas.saveState()
        self.canvas.translate(x, self.height - middle)
        self.canvas.rotate(90)
        self.canvas.setFont(face(bold=True), size)
        self.canvas.setFillGray(BLACK)
        self.canvas.drawCentredString(0, 0, text)
        self.canvas.restoreState()

    def box(
        self, x: float, top: float, width: float, height: float, *, line: float = 0.8, grey: float | None = None,
        dashed: bool = False, round_mm: float = 0.0,
    ) -> None:  # fmt: skip
        """A frame; ``grey`` fills it, and a line of 0 leaves the frame out."""
        self.canvas.saveState()
        self.canvas.setLineWidth(line)
        self.canvas.setStrokeGray(BLACK)
        if grey is not None:
            self.canvas.setFillGray(grey)
        if dashed:
            self.canvas.setDash(3, 2)
        self.canvas.roundRect(
            x, self.height - top - height, width, height, round_mm, stroke=int(line > 0), fill=int(grey is not None)
        )
        self.canvas.restoreState()

    def picture(self, x: float, top: float, width: float, height: float, data: bytes) -> None:
        """A PNG or JPEG, on white, in a thin frame."""
        from reportlab.lib.utils import ImageReader

        self.canvas.drawImage(ImageReader(io.BytesIO(data)), x, self.height - top - height, width, height)
        self.box(x, top, width, height, line=0.4)

    def line(self, x: float, top: float, to_x: float, to_top: float, width: float = 0.8) -> None:
        """A straight line."""
        self.canvas.setLineWidth(width)
        self.canvas.setStrokeGray(BLACK)
        self.canvas.line(x, self.height - top, to_x, self.height - to_top)

    def arrow(self, x: float, top: float, to_x: float, size: float) -> None:
        """A level arrow, with a full head."""
        back = size if to_x < x else -size
        self.line(x, top, to_x + back * 0.8, top, 1.4)
        path = self.canvas.beginPath()
        y = self.height - top
        path.moveTo(to_x, y)
        path.lineTo(to_x + back, y + size * 0.5)
        path.lineTo(to_x + back, y - size * 0.5)
        path.close()
        self.canvas.setFillGray(BLACK)
        self.canvas.drawPath(path, stroke=0, fill=1)

    def level(self, x: float, top: float, size: float, level: str) -> None:
        """A lamp: full, half full or empty, as it is set."""
        middle, radius = self.height - top - size / 2, size / 2
        self.canvas.setLineWidth(1.2)
        self.canvas.setStrokeGray(BLACK)
        self.canvas.setFillGray(BLACK)
        self.canvas.circle(x, middle, radius, stroke=1, fill=int(level == "full"))
        if level == "low":
            self.canvas.wedge(x - radius, middle - radius, x + radius, middle + radius, 180, 180, stroke=0, fill=1)

    def hatch(self, x: float, top: float, width: float, height: float, kind: str, shown_as: str | None) -> None:
        """The sign of a kind of ink: its hatching, over a strip of its colour."""
        self.canvas.saveState()
        path = self.canvas.beginPath()
        path.rect(x, self.height - top - height, width, height)
        self.canvas.clipPath(path, stroke=0, fill=0)
        if kind == "process":
            self.canvas.setFillGray(BLACK)
            self.canvas.rect(x, self.height - top - height, width, height, stroke=0, fill=1)
        self.canvas.setStrokeGray(BLACK)
        self.canvas.setLineWidth(1.0)
        if kind == "white":
            self.canvas.setLineWidth(DOTS[0])
            self.canvas.setDash(*DOTS)
        for direction in HATCHES.get(kind, ()):
            self._lines(x, top, width, height, direction)
        if kind != "process" and kind not in HATCHES:
            self.canvas.line(x, self.height - top, x + width, self.height - top - height)
        if shown_as and not paper_like(kind, shown_as):
            self.canvas.setFillColor(_colour(shown_as))
            strip = min(width * 0.42, height * 1.6)
            self.canvas.rect(x + width - strip, self.height - top - height, strip, height, stroke=0, fill=1)
        self.canvas.restoreState()
        self.box(x, top, width, height)

    def _lines(self, x: float, top: float, width: float, height: float, direction: tuple[int, int]) -> None:
        bottom = self.height - top - height
        if direction == (1, 0):
            for k in range(1, int(height / PITCH) + 1):
                self.canvas.line(x, bottom + k * PITCH, x + width, bottom + k * PITCH)
            return
        slope = height if direction[0] else 0.0
        for k in range(int((width + height) / PITCH) + 1):
            foot = x - height + k * PITCH
            start, end = (foot, foot + slope) if direction[1] > 0 else (foot + slope, foot)
            self.canvas.line(start, bottom, end, bottom + height)


def paper_like(kind: str, shown_as: str) -> bool:
    """Whether a strip of the colour would look like bare paper, and the kind has a sign of its own."""
    light = [int(shown_as[k : k + 2], 16) for k in (1, 3, 5)]
    return kind in ("white", "varnish", "primer") and min(light) >= 255 * PALE


def _colour(shown_as: str) -> Any:
    from reportlab.lib.colors import HexColor

    return HexColor(shown_as)

"""What every piece of writing works on: the stream that is written anew, its actions, its colours and its names."""

from __future__ import annotations

from array import array
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from pikepdf import Dictionary, Name, Object

from preflight.artwork.page.geometry import Box, Matrix, box_through
from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.content.graphics_state import PaintState
from preflight.artwork.pdf.content.stream_content import Content, Edit, TilingCell, Type3Glyphs
from preflight.artwork.platemaking.derived_pdf import FAR, FAR_BOX, PAINT, SKIP, DerivedPdf
from preflight.artwork.platemaking.group_elements import StreamPart
from preflight.artwork.platemaking.ink_boxes import largest_mitre
from preflight.artwork.platemaking.plate_resources import PlateResources
from preflight.artwork.platemaking.renderings import Rendering
from preflight.artwork.platemaking.tiling_cells import DrawnTiling
from preflight.artwork.platemaking.tilings import inverse
from preflight.errors import CannotBeRendered

IMAGE_CLIP = b"0 0 1 1 re 0 0 1 0 re W n"
"""A clip round an image, without which PDFium snaps an upright image outward to whole pixels. The second, empty
rectangle keeps PDFium from dropping the clip as one that hides nothing."""


class StreamWriterBase:
    """One stream while it is written anew, or some elements of it."""

    def __init__(
        self,
        derived_pdf: DerivedPdf,
        rendering: Rendering,
        content: Content,
        to_mm: Matrix,
        made: PlateResources,
        part: StreamPart | None = None,
    ) -> None:
        self.derived_pdf = derived_pdf
        self.rendering = rendering
        self.content = content
        self.to_mm = to_mm
        self.made = made
        self.palette = derived_pdf.page_content.palette
        self.patterned = self.palette.patterned
        self.resources: Dictionary = made.base(content, to_mm)
        self.part = part
        actions, faint = derived_pdf.actions(content, rendering), derived_pdf.fainter(content, to_mm)
        if part is not None:
            actions = np.where(part.rows, actions, SKIP).astype(np.int8)
        self.changed: NDArray[np.bool_] = (actions != PAINT) | (faint < 1)
        """Rows that are not painted as they stand."""
        # Of a million rows bytes and arrays are there at once, and lists are not.
        self.actions = actions.astype(np.uint8).tobytes()
        self.faint = array("d", faint.tobytes())
        self.plain = derived_pdf.plain_colours(rendering)
        self.names: dict[object, str] = {}
        self.alphas: dict[int, bytes] = {}
        self.tilings: dict[int, DrawnTiling | None] = {}
        """By colour the tilings that are drawn cell by cell."""
        self.clip_shown = -1
        """Where text that clips was last shown, and in how many text objects any was."""
        self.clips_to_text = 0

    @cached_property
    def _has_clipping_text(self) -> bool:
        states = self.derived_pdf.page_content.states
        return any(states[number].clips_to_text for number in np.unique(self.content.state))

    def _action_of(self, row: int) -> int | None:
        return self.actions[row] if row >= 0 else None

    def _allow_both(self, edit: Edit, keeps_stroke: bool) -> None:
        """Refuse what is filled and stroked at once, and has to be a knock-out group (ISO 32000-2, 11.7.4.4).

        PDFium makes one of what it paints in one go.
        """
        state = self._state(edit.a)
        if not keeps_stroke and state.overprint.is_on and state.fill_alpha != state.stroke_alpha:
            raise CannotBeRendered("a path that is filled and stroked at once at two opacities, and overprints")
        patterned = self._has_pattern(edit.a) or self._has_pattern(edit.b)
        if not keeps_stroke or not patterned:
            return
        if not (state.fill_alpha == state.stroke_alpha == self.made.opacity == 1):
            raise CannotBeRendered("a path that is filled and stroked at once, with a pattern at an opacity")
        if self._is_blended(edit.a) and not self._has_pattern(edit.a) and self.faint[edit.b] == 1:
            raise CannotBeRendered("what is stroked in a pattern and filled at once, and blended or masked")

    def _is_blended(self, row: int) -> bool:
        """Whether what is painted at once has to be composed before it meets what lies below it."""
        return (self._state(row).is_blended or self.made.masked) and not self.rendering.silhouette

    def _is_one(self, fill: int, stroke: int) -> bool:
        """Whether a fill in a pattern and its stroke are painted at once: PDFium keeps the order of these two only.

        A stroke under a pixel is painted as faint as it has to be, and so apart.
        """
        return self._is_blended(fill) and self._has_pattern(fill) and self.faint[stroke] == 1

    def _state(self, row: int) -> PaintState:
        return self.derived_pdf.page_content.states[int(self.content.state[row])]

    def _as_a_whole(self, row: int, fainter: float = 1.0) -> tuple[bytes, bytes]:
        """What stands before and behind something painted in pattern cells, or in glyphs with colours of their own.

        PDFium takes an opacity for cells once, twice or not at all, as they are large or small in a window, and never
        for such glyphs nor for type that is stroked in a pattern; a soft mask it takes truly. Both are empty where
        nothing is needed. ``fainter`` is for strokes under a pixel.
        """
        if not self._has_pattern(row):
            return b"", b""
        pattern, state = self.palette.entries[self.content.colour[row]].pattern, self._state(row)
        fill_alpha, stroke_alpha = state.fill_alpha * self.made.opacity, state.stroke_alpha * self.made.opacity
        alpha = (stroke_alpha if self.content.stroked[row] else fill_alpha) * fainter
        lost = row in self.content.outlined or isinstance(pattern, TilingCell | Type3Glyphs)
        if not lost or alpha == 1 or self.rendering.silhouette:
            return b"", b""
        if state.soft_mask or self.made.masked:
            raise CannotBeRendered(
                "a tiling pattern, or glyphs with colours of their own, at an opacity and through a mask"
            )
        number, states = round(alpha * 1000), self.resources.ExtGState
        states[Name(f"/PlW{number}")] = Dictionary(SMask=self.made.even_mask(alpha), ca=1, CA=1)
        usual = f"PlU{round(fill_alpha * 1000)}x{round(stroke_alpha * 1000)}"
        states[Name("/" + usual)] = Dictionary(SMask=Name("/None"), ca=fill_alpha, CA=stroke_alpha)
        return b" /PlW%d gs " % number, b" /" + usual.encode() + b" gs "

    def _has_pattern(self, row: int) -> bool:
        return bool(self._rows_in_patterns[row])

    @cached_property
    def _rows_in_patterns(self) -> bytes:
        return self.patterned[self.content.colour].tobytes()

    # -- where things show --------------------------------------------------------------------------------------

    def _sight(self, rows: NDArray[np.intp]) -> NDArray[np.float64]:
        """Boxes that rows show in, with their strokes, within their clips and the stream's own box."""
        content, states = self.content, self.derived_pdf.page_content.states
        own = [states[number] for number in content.state[rows].tolist()]
        text, image = content.painted[rows] == Painted.TEXT, content.painted[rows] == Painted.IMAGE
        frame = content.frame[rows, :4].copy()
        grow = np.where(text, np.hypot(*np.hypot(frame[:, :2], frame[:, 2:]).T), 0.0)
        stroked = content.stroked[rows] & ~image
        for at, row in enumerate(rows.tolist()):
            if row in content.outlined:
                frame[at], stroked[at] = content.outlined[row][:4], True
            if text[at] and self._is_type3(row):
                grow[at] = FAR
        widths = np.array([state.line_width for state in own], float)
        scale = np.hypot(*np.hypot(frame[:, :2], frame[:, 2:]).T)
        grow += np.where(stroked, self._mitre / 2 * widths * scale, 0.0)
        boxes = content.box[rows] + grow[:, None] * np.array([-1, -1, 1, 1])
        clips = np.array([state.clip for state in own], float).reshape(-1, 4)
        low = np.maximum(np.maximum(boxes[:, :2], clips[:, :2]), self._area[:2])
        high = np.minimum(np.minimum(boxes[:, 2:], clips[:, 2:]), self._area[2:])
        return np.hstack([low, high])

    def _is_type3(self, row: int) -> bool:
        font = self.content.font[row]
        return bool(font >= 0 and self.derived_pdf.page_content.type3[font])

    @cached_property
    def _mitre(self) -> float:
        return max(1.0, largest_mitre([self.content]))

    @cached_property
    def _area(self) -> Box:
        """What of the stream may show wherever it is placed."""
        back = inverse(self.to_mm)
        if self.content.depth == 0 and back is not None:
            return box_through(back, self.derived_pdf.page_mm)
        return self.content.bbox or FAR_BOX

    # -- colours and names --------------------------------------------------------------------------------------

    def _named(self, category: str, value: Object) -> bytes:
        key = (category, value.objgen)
        if key not in self.names:
            # With the stream's number, because the glyphs of a font share one dictionary of resources.
            self.names[key] = f"Pl{self.content.number}x{len(self.names)}"
            self.resources[Name("/" + category)][Name("/" + self.names[key])] = value
        return self.names[key].encode()

    def _alpha(self, alpha: float) -> bytes:
        level = round(alpha * 1000)
        if level not in self.alphas:
            name = f"PlA{level}"
            self.resources.ExtGState[Name("/" + name)] = Dictionary(CA=level / 1000)
            self.alphas[level] = f" /{name} gs ".encode()
        return self.alphas[level]

    def _stroke_alpha(self, row: int) -> float:
        if self.rendering.silhouette:
            return 1.0
        return self._state(row).stroke_alpha * self.made.opacity


def set_mode(mode: int, text: bytes, usual: int) -> bytes:
    """Text shown in a rendering mode, and then the usual one."""
    return b"%d Tr %s %d Tr " % (mode, text, usual)

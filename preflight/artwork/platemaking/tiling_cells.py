"""Cells of tiling patterns for one rendering: repeated by PDFium, or drawn one by one."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from pikepdf import Array, Dictionary, Name, Object, Stream

from preflight.artwork.page.geometry import IDENTITY, Box, Matrix, box_through, times
from preflight.artwork.page.objects import Painted
from preflight.artwork.pdf.content.stream_content import Content, TilingCell
from preflight.artwork.pdf.structure.values import lookup, number
from preflight.artwork.platemaking.plate_resources import PlateResources, as_form
from preflight.artwork.platemaking.tilings import NO_CELLS, CellRange, Lattice, block, inverse, lattice, paintable
from preflight.errors import TooBig

_BEYOND_MM = 12.0
"""Two pixels and a little at the coarsest resolution."""
_FEW_CELLS = 64
"""Cells that each object gets by itself; where there are more, all objects share one form of them."""


class DrawnTiling(NamedTuple):
    """A tiling that is drawn cell by cell in one stream."""

    cell: TilingCell
    lattice: Lattice
    in_sight: CellRange
    """All that show in anything that is painted with it."""
    boxes: dict[int, Box]
    """Rows to the box that they show in, in the space of the stream."""

    def cells(self, row: int) -> CellRange:
        """Those that show in a row."""
        if row not in self.boxes:
            return NO_CELLS
        own = self.lattice.in_sight(self.boxes[row])
        return own if own.many <= _FEW_CELLS else self.in_sight


def lattice_of(cell: TilingCell) -> Lattice | None:
    """Where the cells of a pattern stand."""
    x_step, y_step = number(lookup(cell.stream, "XStep")), number(lookup(cell.stream, "YStep"))
    return lattice(cell.content.bbox, x_step, y_step, cell.content.matrix)


def repeated(made: PlateResources, cell: TilingCell, to_mm: Matrix) -> Object:
    """A tiling pattern that PDFium repeats, in blocks of cells.

    Raises:
        NotDrawn: its cells are too large for that, and too many to be drawn one by one.
    """
    from preflight.artwork.platemaking.tiling_grounds import grounds, joined  # few files need it

    found, placed_mm = lattice_of(cell), times(cell.content.matrix, to_mm)
    key = ("cell", cell.content.number, placed(placed_mm), made.rendering)
    if key not in made.derived_pdf.made:
        if found is None:
            stream, resources = made.write(cell.content, placed_mm, made.rendering, True)
            for name in ("/BBox", "/XStep", "/YStep"):
                value = lookup(cell.stream, name)
                if value is not None:
                    stream[name] = made.derived_pdf.copy(value)
        else:
            ground = grounds(cell, made.derived_pdf.page_content.states)
            found = _joined(found, larger := joined(cell.content, ground, placed_mm))
            cells, bbox = block(found, placed_mm, made.derived_pdf.pixel_mm)
            if not paintable(bbox, placed_mm, made.derived_pdf.pixel_mm):
                raise TooBig("a tiling pattern of many large cells that lie over each other")
            stream, resources = _laid_out(made, cell, to_mm, found, cells, larger)
            stream.BBox = Array(list(bbox))
            stream.XStep, stream.YStep = len(cells.columns) * found.x_step, len(cells.rows) * found.y_step
        made.derived_pdf.made[key] = _as_pattern(stream, resources, cell)
    return made.derived_pdf.made[key]


def in_window(
    made: PlateResources, cell: TilingCell, to_mm: Matrix, found: Lattice, cells: CellRange, window: Box
) -> Object:
    """A pattern that PDFium never repeats, for what is painted within a window of the stream, and nothing else.

    It draws the cells of a pattern that is larger than what is painted with it, and makes no picture of them.
    """
    box = pattern_box(found, to_mm, window)
    assert box is not None
    key = ("cells in a window", cell.content.number, placed(to_mm), cells, box, made.rendering)
    if key not in made.derived_pdf.made:
        stream, resources = _laid_out(made, cell, to_mm, found, cells)
        stream.BBox = Array(list(box))
        stream.XStep, stream.YStep = 4 * (box[2] - box[0]), 4 * (box[3] - box[1])
        made.derived_pdf.made[key] = _as_pattern(stream, resources, cell)
    return made.derived_pdf.made[key]


def pattern_box(found: Lattice, to_mm: Matrix, window: Box) -> Box | None:
    """A box in pattern space that is larger than a window of the stream at every resolution."""
    back = inverse(found.to_stream)
    if back is None:
        return None
    across = _BEYOND_MM / max(math.hypot(*to_mm[:2]), 1e-9)
    up = _BEYOND_MM / max(math.hypot(*to_mm[2:4]), 1e-9)
    x0, y0, x1, y1 = window
    return box_through(back, (x0 - across, y0 - up, x1 + across, y1 + up))


def is_paintable(made: PlateResources, found: Lattice, to_mm: Matrix, window: Box) -> bool:
    """Whether PDFium can paint a pattern for a window."""
    box = pattern_box(found, to_mm, window)
    return box is None or paintable(box, times(found.to_stream, to_mm), made.derived_pdf.pixel_mm)


def drawn(
    made: PlateResources, cell: TilingCell, to_mm: Matrix, found: Lattice, cells: CellRange, *, isolated: bool
) -> Stream:
    """Some cells as a form in the space of the stream that the pattern is used in: the group that 11.6.7 makes."""
    key = ("cells", cell.content.number, placed(to_mm), cells, made.rendering, isolated)
    if key not in made.derived_pdf.made:
        stream, resources = _laid_out(made, cell, to_mm, found, cells)
        box, matrix = found.extent(cells), found.to_stream
        made.derived_pdf.made[key] = form_of(made, stream, resources, box, matrix, isolated=isolated)
    return made.derived_pdf.made[key]  # type: ignore[return-value]


def form_of(
    made: PlateResources,
    stream: Stream,
    resources: Dictionary,
    box: Box,
    matrix: Matrix = IDENTITY,
    *,
    isolated: bool = False,
) -> Stream:
    """A stream as a form, and a group where opacity counts.

    ``isolated``: for what is blended, masked or faint as a whole, and blends nothing in it: that comes to the same
    (11.4.8), and of one that is not PDFium multiplies what lies below with itself.
    """
    stream.Type, stream.Subtype, stream.Resources = Name.XObject, Name.Form, resources
    stream.BBox, stream.Matrix = Array(list(box)), Array(list(matrix))
    if not made.rendering.silhouette:
        stream.Group = Dictionary(S=Name.Transparency, CS=Name.DeviceRGB, I=isolated)
    return stream


def _as_pattern(stream: Stream, resources: Dictionary, cell: TilingCell) -> Stream:
    stream.Type, stream.PatternType, stream.PaintType, stream.TilingType = Name.Pattern, 1, 1, 1
    stream.Resources, stream.Matrix = resources, Array(list(cell.content.matrix))
    # PDFium lets a cell inherit the opacity of what it is painted with, and applies it once more to the cells.
    resources.ExtGState = resources.get("/ExtGState", Dictionary())
    resources.ExtGState.PlCell = Dictionary(ca=1, CA=1, BM=Name.Normal, SMask=Name("/None"))
    stream.write(b"/PlCell gs " + stream.read_bytes())
    return stream


def _joined(found: Lattice, larger: int) -> Lattice:
    """Cells that are all alike taken together, so many each way."""
    x0, y0, x1, y1 = found.bbox
    bbox = (x0, y0, x1 + (larger - 1) * found.x_step, y1 + (larger - 1) * found.y_step)
    return Lattice(bbox, found.x_step * larger, found.y_step * larger, found.to_stream)


def _laid_out(
    made: PlateResources, cell: TilingCell, to_mm: Matrix, found: Lattice, cells: CellRange, larger: int = 1
) -> tuple[Stream, Dictionary]:
    """Cells side by side, and below all of them what fills them from edge to edge; ``larger`` as in ``_joined``."""
    from preflight.artwork.platemaking.tiling_grounds import grounds, is_all_ground  # few files need it

    ground, content = grounds(cell, made.derived_pdf.page_content.states), cell.content
    x0, y0, x1, y1 = content.bbox or found.bbox
    reach = larger * (x1 - x0), larger * (y1 - y0)
    below, forms, above = list[bytes](), Dictionary(), list[bytes]()
    if is_all_ground(content, ground):  # then no cell differs from the next, and there may be very many
        cells = CellRange(cells.columns[:: max(1, len(cells.columns) - 1)], cells.rows[:: max(1, len(cells.rows) - 1)])
    else:
        forms.C = _one(made, cell, to_mm)
        above = [b"q 1 0 0 1 %.6f %.6f cm /C Do Q" % place for place in found.places(cells)]
    columns, rows = [at * found.x_step for at in cells.columns], [at * found.y_step for at in cells.rows]
    for at, fill in enumerate(ground):
        forms[Name(f"/G{at}")] = _form_of_cell(made, fill.alone(content), to_mm)
        below += [b"q %b /G%d Do Q" % (place, at) for place in fill.places((x0, y0, x1, y1), reach, columns, rows)]
    return made.derived_pdf.out.make_stream(b" ".join([*below, *above])), Dictionary(XObject=forms)


def _one(made: PlateResources, cell: TilingCell, to_mm: Matrix) -> Stream:
    """The cell as a form in pattern space, without what fills it from edge to edge."""
    from preflight.artwork.platemaking.tiling_grounds import grounds, without  # few files need it

    placed_mm = times(cell.content.matrix, to_mm)
    key = ("one cell", cell.content.number, placed(placed_mm), made.rendering)
    if key not in made.derived_pdf.made:
        content = without(cell.content, grounds(cell, made.derived_pdf.page_content.states))
        made.derived_pdf.made[key] = _form_of_cell(made, content, to_mm)
    return made.derived_pdf.made[key]  # type: ignore[return-value]


def _form_of_cell(made: PlateResources, content: Content, to_mm: Matrix) -> Stream:
    stream, resources = made.write(content, times(content.matrix, to_mm), made.rendering, True)
    form = as_form(stream, resources, content, None)
    form.BBox, form.Matrix = Array(list(_roomy(content))), Array(list(IDENTITY))
    return form


def _roomy(content: Content) -> Box:
    """The box of a cell; a larger one where all that is painted lies in it, so that no clip softens its edges."""
    assert content.bbox is not None
    x0, y0, x1, y1 = content.bbox
    slack_x, slack_y = (x1 - x0) / 1000, (y1 - y0) / 1000
    boxes = content.box[(content.painted == Painted.FILL) | (content.painted == Painted.IMAGE)]
    inside = len(boxes) and (boxes >= (x0 - slack_x, y0 - slack_y, -np.inf, -np.inf)).all()
    inside = inside and (boxes <= (np.inf, np.inf, x1 + slack_x, y1 + slack_y)).all()
    if content.calls or len(boxes) < len(content.painted) or not inside:
        return content.bbox
    return (x0 - 100 * slack_x, y0 - 100 * slack_y, x1 + 100 * slack_x, y1 + 100 * slack_y)


def placed(to_mm: Matrix) -> tuple[str, ...]:
    """What the strokes of a form depend on: the scale that it is placed at, or the matrix where it has two scales."""
    a, b, c, d = to_mm[:4]
    if abs(a * c + b * d) < 1e-3 * (a * a + b * b) and math.isclose(math.hypot(a, b), math.hypot(c, d), rel_tol=1e-3):
        return (f"{math.hypot(a, b):.3g}",)
    return tuple(f"{value:.3g}" for value in (a, b, c, d))

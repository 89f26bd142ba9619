"""The one writer of DXF: the layout for the die-maker, and the coating plate. R2010, mm, a layer for each sort of line.

**x counts from the operator side, y from the gripper edge**, as in all files: where the operator stands right of the
printed face the drawing is the mirror image of it, and says so in a text of its own.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from preflight.quantities import Size
from preflight.report import words
from preflight.report.drawing import widest_place
from preflight.setup.press_sheet.press_sheet import PressSheet, SheetBlank

GRID_MM: Final = 0.0001
"""Lines that lie this near each other are one: a knife that two blanks share is cut once."""
FOLD_LAYERS: Final[Mapping[str, str]] = {"crease": "Crease", "perforate": "Perforation", "half-cut": "Half cut"}
"""Role of a fold (``Die.folds``) to its layer."""
NICKS: Final = "No nicks"
NEVER: Final = "DO NOT RUN"
SHEET_EDGE: Final = "Sheet edge"
NUMBERS: Final = "Blank numbers"
VERSIONS: Final = "Blank versions"
LAYERS: Final[Mapping[str, tuple[int, str]]] = {
    "Cut": (1, "CONTINUOUS"),
    "Crease": (3, "DASHED"),
    "Perforation": (5, "DASHDOT"),
    "Half cut": (6, "DASHDOT"),
    NICKS: (2, "CONTINUOUS"),
    SHEET_EDGE: (8, "CONTINUOUS"),
    "Gripper edge": (8, "CONTINUOUS"),
    NUMBERS: (7, "CONTINUOUS"),
    VERSIONS: (7, "CONTINUOUS"),
    "Coat area": (4, "CONTINUOUS"),
    "Clear area": (1, "CONTINUOUS"),
    "Notes": (7, "CONTINUOUS"),
}
"""Layer to colour number and line type; neither means anything, the name does."""
LINE_TYPES: Final = {"DASHED": [6.0, 4.0, -2.0], "DASHDOT": [8.0, 4.0, -1.5, 1.0, -1.5]}
TEXT_MM: Final = 5.0


@dataclass(frozen=True)
class DxfTold:
    """What stands beside the drawing."""

    identity: tuple[str, ...] = ()
    """Ticket, revision, digest, versions, date."""
    run_it: bool = True
    notes: tuple[str, ...] = ()


@dataclass
class _Pen:
    """A document, and where the sheet's frame goes in it."""

    size: Size
    mirrored: bool
    stretch: float = 1.0
    document: Any = field(default_factory=lambda: _new_document())

    def __post_init__(self) -> None:
        self.space = self.document.modelspace()

    def shape(self, layer: str, shape: BaseGeometry) -> None:
        """Every ring and line of a shape, in the sheet's frame."""
        for line in _lines_of(self._placed(shape)):
            points = np.asarray(line.coords)[:, :2]
            closed = len(points) > 3 and bool((points[0] == points[-1]).all())
            self.space.add_lwpolyline(
                points[: len(points) - closed].tolist(), close=closed, dxfattribs={"layer": self._layer(layer)}
            )

    def text(self, layer: str, says: str, at: tuple[float, float], height_mm: float = TEXT_MM) -> None:
        """A text that begins at a place of the sheet's frame; it is never mirrored."""
        point = self._placed(shapely.Point(*at))
        self.note(layer, says, (point.x, point.y), height_mm)

    def note(self, layer: str, says: str, at: tuple[float, float], height_mm: float = TEXT_MM) -> None:
        """A text at a place of the drawing's own."""
        attributes = {"layer": self._layer(layer), "insert": at, "height": height_mm}
        self.space.add_text(words.plain(says)[:250], dxfattribs=attributes)

    def _placed(self, shape: BaseGeometry) -> BaseGeometry:
        turn = -1.0 if self.mirrored else 1.0
        return affine_transform(shape, (turn, 0, 0, self.stretch, self.size.across_mm if self.mirrored else 0.0, 0))

    def _layer(self, name: str) -> str:
        if name not in self.document.layers:
            colour, line_type = LAYERS[name]
            self.document.layers.add(name, color=colour, linetype=line_type)
        return name

    def written(self) -> bytes:
        """The file."""
        text = io.StringIO()
        self.document.write(text)
        return text.getvalue().encode("utf-8", "replace")


def layout_dxf(sheet: PressSheet, told: DxfTold | None = None) -> bytes:
    """The die of a sheet: cut, folds by kind, zones without nicks, sheet and gripper edge, blank numbers.

    A knife that two blanks share is drawn once. Zones without nicks are runs of the cut that the finished carton shows
    and the rims of its cut-outs (windows among them); glue and dust flaps may hold nicks.
    """
    told = told or DxfTold()
    pen = _Pen(sheet.size, sheet.operator_side == "right")
    _draw_sheet(pen)
    pen.shape("Cut", cut_lines(sheet.blanks))
    for blank in sheet.blanks:
        for layer, shape in _folds_of(blank):
            pen.shape(layer, shape)
        for edge in blank.edges:
            if not edge.hidden or edge.edge == "cut-out":
                pen.shape(NICKS, edge.line)
        at, _ = widest_place([blank.outline])
        pen.text(NUMBERS, str(blank.number), at)
        if blank.version:
            pen.text(VERSIONS, blank.version, (at[0], at[1] - 1.5 * TEXT_MM))
    if sheet.layout is not None and sheet.layout.free.gripper_mm > 0:
        y = sheet.layout.free.gripper_mm
        pen.shape("Gripper edge", shapely.LineString([(0, y), (sheet.size.across_mm, y)]))
    _write_notes(pen, [*_frame_words(sheet), *_nick_words(sheet.blanks), *told.notes, *told.identity], told)
    return pen.written()


def cut_lines(blanks: Sequence[SheetBlank]) -> BaseGeometry:
    """The cut of all blanks, in the sheet's frame; where two lie on each other, once."""
    apart = [ring for blank in blanks for ring in _lines_of(blank.outline)]
    tree = shapely.STRtree(apart)
    near, other = tree.query(apart, predicate="dwithin", distance=GRID_MM)
    sharing = set(near[near != other].tolist())
    together = [line for k, line in enumerate(apart) if k in sharing]
    merged = shapely.line_merge(shapely.union_all(together, grid_size=GRID_MM)) if together else shapely.LineString()
    alone = [line for k, line in enumerate(apart) if k not in sharing]
    return shapely.MultiLineString([*alone, *_lines_of(merged)])


@dataclass(frozen=True)
class PlateArea:
    """Something on a coating plate, in the sheet's frame, choked already."""

    shape: Polygon
    coated: bool
    """False of an area that stays clear."""
    is_: str = ""
    """``glue flap``, ``code`` …"""
    blank: int | None = None


def coating_plate_dxf(
    sheet: PressSheet,
    areas: Sequence[PlateArea],
    *,
    stretch_percent: float | None,
    choke_mm: float | None,
    told: DxfTold | None = None,
) -> bytes:
    """The coating plate: coat areas and clear areas, shorter along the travel by what it is stretched by.

    Args:
        sheet: where its edges are, and at which side the operator stands.
        areas: as they are to come out on the sheet, choked already.
        stretch_percent: by how much the plate is made shorter along the travel; None: nobody says, and it is drawn 1:1.
        choke_mm: what the areas have been choked by, for the text.
        told: what stands beside it.
    """
    told = told or DxfTold()
    factor = 1.0 - (stretch_percent or 0.0) / 100
    pen = _Pen(sheet.size, sheet.operator_side == "right", factor)
    _draw_sheet(pen)
    for area in areas:
        pen.shape("Coat area" if area.coated else "Clear area", area.shape)
        named = " ".join(filter(None, [area.is_, f"blank {area.blank}" if area.blank is not None else ""]))
        if named:
            pen.text("Notes", named, widest_place([area.shape])[0], TEXT_MM / 2)
    choke = "not stated" if choke_mm is None else f"{choke_mm:g} mm, in the drawing already"
    stretch = (
        "The plate's stretch is not stated: the drawing is 1:1 and has to be shortened by whoever makes the plate."
        if stretch_percent is None
        else f"Shortened along the travel by {stretch_percent:g} %: every y is {factor:.5f} of that on the sheet, "
        "the sheet edge too."
    )
    _write_notes(pen, [*_frame_words(sheet), stretch, f"Choke: {choke}.", *told.notes, *told.identity], told)
    return pen.written()


def _new_document() -> Any:
    from ezdxf import units
    from ezdxf.filemanagement import new

    document = new("R2010")
    document.units = units.MM
    for name, pattern in LINE_TYPES.items():
        document.linetypes.add(name, pattern)
    return document


def _draw_sheet(pen: _Pen) -> None:
    """Its edges, the gripper edge once more by itself, and a word at each side."""
    across, along = pen.size.across_mm, pen.size.along_mm
    pen.shape(SHEET_EDGE, shapely.box(0, 0, across, along))
    pen.shape("Gripper edge", shapely.LineString([(0, 0), (across, 0)]))
    middle = along * pen.stretch / 2
    pen.note("Notes", "GRIPPER EDGE", (across / 2 - 25, -2 * TEXT_MM))
    pen.note("Notes", "TAIL", (across / 2 - 8, along * pen.stretch + TEXT_MM))
    pen.note("Notes", "OPERATOR SIDE", (-12 * TEXT_MM, middle))
    pen.note("Notes", "DRIVE SIDE", (across + TEXT_MM, middle))


def _folds_of(blank: SheetBlank) -> Iterable[tuple[str, BaseGeometry]]:
    """Layer and lines; what is only known as a crease is one."""
    if not blank.folds:
        yield "Crease", blank.creases
    for role, lines in blank.folds.items():
        yield FOLD_LAYERS.get(role, "Crease"), lines


def _frame_words(sheet: PressSheet) -> list[str]:
    seen = (
        "The operator is right of the printed face (gripper edge down): this drawing is its mirror image."
        if sheet.operator_side == "right"
        else "The operator is left of the printed face (gripper edge down): this drawing shows the printed face."
    )
    assumed = " The press profile does not say so: assumed." if sheet.operator_assumed else ""
    return [
        f"Sheet {sheet.size}, mm. x counts from the operator side, y from the gripper edge; "
        "0, 0 is the corner of the sheet.",
        seen + assumed,
    ]


def _nick_words(blanks: Sequence[SheetBlank]) -> list[str]:
    """What the zones are, and where they cannot be kept."""
    if not any(blank.edges for blank in blanks):
        return ["Zones without nicks are not known."]
    everywhere = [b.number for b in blanks if b.edges and all(e.edge == "cut-out" or not e.hidden for e in b.edges)]
    told = [f"On the layer {NICKS}: cut edges that the finished carton shows, and cut-outs."]
    if everywhere:
        which = "every blank" if len(everywhere) == len(blanks) else f"blanks {', '.join(map(str, everywhere))}"
        told.append(f"No edge of {which} is hidden: where nicks may be has to be agreed with the plant.")
    return told


def _write_notes(pen: _Pen, lines: Sequence[str], told: DxfTold) -> None:
    """Below the drawing, one under the other."""
    top = -5 * TEXT_MM
    if not told.run_it:
        pen.note("Notes", NEVER, (0, top - 4 * TEXT_MM), 5 * TEXT_MM)
        pen.note("Notes", NEVER, (0, pen.size.along_mm * pen.stretch / 2), 10 * TEXT_MM)
        top -= 6 * TEXT_MM
    for k, line in enumerate(lines):
        pen.note("Notes", line, (0, top - k * 1.6 * TEXT_MM))


def _lines_of(shape: BaseGeometry) -> list[BaseGeometry]:
    """Rings and lines of a shape of any sort."""
    if hasattr(shape, "geoms"):
        return [line for part in shape.geoms for line in _lines_of(part)]
    if shape.is_empty or shape.geom_type == "Point":
        return []
    if shape.geom_type == "Polygon":
        return [shapely.LineString(ring.coords) for ring in (shape.exterior, *shape.interiors)]
    return [shapely.LineString(shape.coords)]

"""The one reader of DXF: lines by layer in mm, as plain data. What a layer means is told by its name alone.

Numbered rules for what a file may hold; each is a fault that names the file, never a traceback:

1. At most 30 MB; a DXF in text or binary form. DWG and PDF are named as what they are.
2. ``$INSUNITS`` in mm, cm, m or inches; a drawing without units is read as mm, with a note.
3. Model space alone. Blocks are taken apart, at most 8 deep; what one has on layer 0 lies on the layer of its insert.
4. Curves become polylines within 0.02 mm. At most 100,000 entities and 200,000 points.
5. Layers that are off or frozen are left out, with a note; so is what is neither line nor text, by its name.
"""

from __future__ import annotations

import logging
import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice, pairwise
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from preflight.errors import InputFault, InvalidInput
from preflight.inputs.kind_names import classify, load_names

FLATTEN_MM: Final = 0.02
MOST_BYTES: Final = 30_000_000
MOST_ENTITIES: Final = 100_000
MOST_POINTS: Final = 200_000
DEEPEST: Final = 8
FARTHEST_MM: Final = 20_000.0
UNITS: Final = {0: 1.0, 1: 25.4, 4: 1.0, 5: 10.0, 6: 1000.0}
"""``$INSUNITS`` (DXF reference, header variables) to mm."""
LINES: Final = frozenset({"LINE", "LWPOLYLINE", "POLYLINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE"})
TEXTS: Final = frozenset({"TEXT", "MTEXT"})
EXPECTED: Final = "a DXF drawing in mm"

Points = NDArray[np.float64]


@dataclass(frozen=True)
class DxfText:
    """A text and where it begins; mm."""

    layer: str
    says: str
    at: tuple[float, float]


@dataclass(frozen=True)
class DxfDrawing:
    """A drawing as plain data."""

    file: str
    lines: dict[str, tuple[Points, ...]]
    """By layer, in the order of the file: polylines of shape (k, 2), mm; a closed one repeats its first point."""
    kinds: dict[str, str]
    """Layer to kind (``cut``, ``crease``, ``perforate`` …), of layers whose name tells it."""
    texts: tuple[DxfText, ...] = ()
    notes: tuple[str, ...] = ()
    """What was assumed and what was left out."""

    def of_kind(self, kind: str) -> tuple[Points, ...]:
        """All lines on layers of a kind."""
        return tuple(line for layer, own in self.lines.items() if self.kinds.get(layer) == kind for line in own)


def read_dxf(path: str | Path) -> DxfDrawing:
    """Read a drawing.

    Raises:
        InvalidInput: no such file, no DXF, damaged, in other units, or over a bound.
    """
    path = Path(path)
    _look_at(path)
    logging.getLogger("ezdxf").addHandler(logging.NullHandler())  # else its warnings go to the screen
    document, repaired = _opened(path)
    factor, units = _unit_of(path, document)
    reading = _Reading(path, factor, _hidden_layers(path, document))
    try:
        reading.take(document.modelspace(), None, 0)
    except InvalidInput:
        raise
    except Exception as error:  # the library raises whatever a damaged entity leads it to
        raise _fault(path, f"a damaged entity ({_why(error)})") from None
    return reading.drawing([*repaired, *units])


@dataclass
class _Reading:
    """What has been read so far."""

    path: Path
    factor: float
    hidden: frozenset[str]
    lines: dict[str, list[Points]] = field(default_factory=dict)
    texts: list[DxfText] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)
    off: set[str] = field(default_factory=set)
    far: int = 0
    entities: int = 0
    points: int = 0

    def take(self, entities: Any, around: str | None, depth: int) -> None:
        """Read entities; ``around`` is the layer of the insert that they come from."""
        for entity in entities:
            self._count()
            layer = str(entity.dxf.get("layer", "0"))
            layer = around if around is not None and layer == "0" else layer
            if layer.casefold() in self.hidden:
                self.off.add(layer)
                continue
            kind = entity.dxftype()
            if kind == "INSERT":
                self._take_block(entity, layer, depth)
            elif kind in LINES and not (kind == "POLYLINE" and (entity.is_polygon_mesh or entity.is_poly_face_mesh)):
                self._take_line(entity, layer)
            elif kind in TEXTS:
                self._take_text(entity, kind, layer)
            elif kind not in ("POINT", "VIEWPORT"):
                self.left_out[kind] += 1

    def _count(self) -> None:
        self.entities += 1
        if self.entities > MOST_ENTITIES:
            raise _fault(self.path, f"more than {MOST_ENTITIES:,} entities", f"at most {MOST_ENTITIES:,}")

    def _take_block(self, insert: Any, layer: str, depth: int) -> None:
        if depth >= DEEPEST:
            raise _fault(self.path, f"blocks more than {DEEPEST} deep", f"at most {DEEPEST}")
        for one in insert.multi_insert() if insert.mcount > 1 else (insert,):
            self._count()
            self.take(one.virtual_entities(), layer, depth + 1)

    def _take_line(self, entity: Any, layer: str) -> None:
        drawn = islice(points_of(entity, FLATTEN_MM / self.factor), MOST_POINTS + 1)
        points = np.array([(p.x, p.y) for p in drawn], float).reshape(-1, 2) * self.factor
        if not bool((np.abs(np.nan_to_num(points, nan=np.inf)) < FARTHEST_MM).all()):
            self.far += 1
            return
        self.points += len(points)
        if self.points > MOST_POINTS:
            raise _fault(self.path, f"more than {MOST_POINTS:,} points", f"at most {MOST_POINTS:,}")
        if len(points) > 1 and float(np.ptp(points, axis=0).max()) > 0:
            self.lines.setdefault(layer, []).append(points)

    def _take_text(self, entity: Any, kind: str, layer: str) -> None:
        says = entity.plain_text() if kind == "MTEXT" else str(entity.dxf.text)
        at = entity.dxf.insert
        if kind == "TEXT" and entity.dxf.hasattr("align_point") and entity.dxf.get("halign", 0):
            at = entity.dxf.align_point
        self.texts.append(DxfText(layer, says.strip(), (at.x * self.factor, at.y * self.factor)))

    def drawing(self, notes: list[str]) -> DxfDrawing:
        """All of it; raises InvalidInput where there is no line."""
        if not self.lines:
            raise _fault(self.path, "a drawing without a line that is shown")
        if self.off:
            notes.append(f"layers that are off in the drawing are left out: {', '.join(sorted(self.off))}")
        if self.left_out:
            told = ", ".join(f"{count} {kind}" for kind, count in sorted(self.left_out.items()))
            notes.append(f"neither lines nor text, and left out: {told}")
        if self.far:
            notes.append(f"{self.far} line{'s' * (self.far > 1)} beyond {FARTHEST_MM / 1000:g} m left out")
        table = load_names()
        named = {layer: classify(layer, table) for layer in self.lines}
        return DxfDrawing(
            self.path.name,
            {layer: tuple(own) for layer, own in self.lines.items()},
            {layer: found[0] for layer, found in named.items() if found},
            tuple(self.texts),
            tuple(notes),
        )


def _look_at(path: Path) -> None:
    """Refuse what is no drawing before a library opens it."""
    try:
        if path.is_dir():
            raise _fault(path, "a folder")
        size = path.stat().st_size
        with path.open("rb") as stream:
            head = stream.read(6)
    except FileNotFoundError:
        raise _fault(path, "no such file") from None
    except (OSError, ValueError) as error:
        raise _fault(path, f"a file that cannot be opened ({_why(error)})") from None
    if size > MOST_BYTES:
        raise _fault(path, f"a file of {size / 1e6:.0f} MB", f"at most {MOST_BYTES / 1e6:.0f} MB")
    if head.startswith(b"%PDF"):
        raise _fault(path, "a PDF")
    if head.startswith(b"AC10"):
        raise _fault(path, "a DWG file", f"{EXPECTED}: save it as DXF")
    if not head:
        raise _fault(path, "an empty file")


def _opened(path: Path) -> tuple[Any, list[str]]:
    """The library's document; read a second time with repairs where it is not quite as the standard has it."""
    from ezdxf import recover
    from ezdxf.filemanagement import readfile

    try:
        return readfile(path), []
    except Exception as error:  # damaged files lead the library to all sorts of exceptions
        first = _why(error)
    try:
        document, auditor = recover.readfile(path)
    except Exception:  # as above
        raise _fault(path, f"no DXF, or a damaged one ({first})") from None
    if not len(document.modelspace()):
        raise _fault(path, f"no DXF, or a damaged one ({first})")
    count = len(auditor.errors) + len(auditor.fixes)
    return document, [f"the drawing is damaged ({first}) and was read as far as it goes, with {count} repairs"]


def _unit_of(path: Path, document: Any) -> tuple[float, list[str]]:
    code = document.header.get("$INSUNITS", 0)
    if code not in UNITS:
        raise _fault(path, f"a drawing in units of number {code} ($INSUNITS)", "mm, cm, m or inches")
    return UNITS[code], ["the drawing names no unit; it is read as mm"] if code == 0 else []


def _hidden_layers(path: Path, document: Any) -> frozenset[str]:
    try:
        return frozenset(
            str(layer.dxf.name).casefold() for layer in document.layers if layer.is_off() or layer.is_frozen()
        )
    except Exception as error:  # a damaged table
        raise _fault(path, f"a damaged table of layers ({_why(error)})") from None


def points_of(entity: Any, within: float) -> Iterator[Any]:
    """Points of a line in the drawing's own unit and its world axes, curves within a distance of the true one."""
    kind = entity.dxftype()
    if kind == "LINE":
        yield from (entity.dxf.start, entity.dxf.end)
    elif kind in ("LWPOLYLINE", "POLYLINE"):
        yield from _polyline(entity, within)
    else:
        yield from entity.flattening(within)


def _polyline(entity: Any, within: float) -> Iterator[Any]:
    """Corners of a polyline, its bulges as arcs."""
    from ezdxf.math import Vec3

    if entity.dxftype() == "LWPOLYLINE":
        height = entity.dxf.elevation
        corners = [(Vec3(x, y, height), bulge) for x, y, bulge in entity.get_points("xyb")]
    else:
        corners = [(vertex.dxf.location, vertex.dxf.get("bulge", 0.0)) for vertex in entity.vertices]
    to_world = (
        (lambda point: point) if entity.dxftype() == "POLYLINE" and entity.is_3d_polyline else entity.ocs().to_wcs
    )
    closed = entity.closed if entity.dxftype() == "LWPOLYLINE" else entity.is_closed
    if closed and corners:
        corners.append((corners[0][0], 0.0))
    for (start, bulge), (end, _) in pairwise(corners):
        yield to_world(start)
        yield from map(to_world, _arc(start, end, bulge, within))
    if corners:
        yield to_world(corners[-1][0])


def _arc(start: Any, end: Any, bulge: float, within: float) -> Iterator[Any]:
    """Points between the ends of an arc; the bulge is the tangent of a quarter of its angle (DXF reference)."""
    chord = (end - start).magnitude
    if not bulge or not chord:
        return
    angle = 4 * math.atan(bulge)
    radius = chord * (1 + bulge * bulge) / (4 * abs(bulge))
    step = 2 * math.acos(max(1 - within / radius, 0.0)) if radius > within else math.pi / 2
    count = max(2, math.ceil(abs(angle) / max(step, 1e-6)))
    middle = (start + end) / 2 + (end - start).orthogonal() * ((1 - bulge * bulge) / (4 * bulge))
    for k in range(1, count):
        yield middle + (start - middle).rotate(angle * k / count)


def _why(error: BaseException) -> str:
    """The first line of what a library says, kept short."""
    said = str(getattr(error, "strerror", None) or error).strip() or type(error).__name__
    return said.splitlines()[0][:120]


def _fault(path: Path, found: str, expected: str = EXPECTED) -> InvalidInput:
    return InvalidInput([InputFault(str(path), 0, "", found, expected)])

"""Panels of a blank, which of them is the glue flap by the look of it, and which are dust flaps."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from preflight.carton.cells.closed_cells import Cells
from preflight.carton.lines.drawn_lines import ROLES, Bools, Floats, Ints, components, lengths_of

CREASE: Final = ROLES.index("crease")
NARROW_FACE_MM: Final = 3.0
"""Between two creases of a double crease: part of the panel beside it."""
SLIVER_MM: Final = 0.3
SAME_DIRECTION: Final = 0.996  # cosine of 5 degrees
FULL_HEIGHT: Final = 0.8
WIDEST_FLAP_MM: Final = 40.0
TAPERED_MM: Final = 1.0
SAME_WIDTH_MM: Final = 1.6
"""The last panel is about a caliper narrower than the one it stands opposite (common practice)."""


@dataclass(frozen=True)
class Faces:
    """Panels (the row of panels first, as they lie in it), and indices among them."""

    panels: tuple[Polygon, ...] = ()
    row: tuple[int, ...] = ()
    glue_flap: int | None = None
    glue_flap_because: str = ""
    dust_flaps: tuple[int, ...] = ()


@dataclass
class _Shapes:
    """Faces, with their extents in the directions that were asked for."""

    polygons: list[Polygon] = field(default_factory=list)
    _corners: dict[int, Floats] = field(default_factory=dict)
    _extents: dict[tuple[int, tuple[float, float]], tuple[float, float]] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.polygons)

    def extent(self, face: int, direction: tuple[float, float]) -> tuple[float, float]:
        """From where to where a face reaches along a direction."""
        key = (face, direction)
        if key not in self._extents:
            if face not in self._corners:
                self._corners[face] = shapely.get_coordinates(self.polygons[face].exterior)
            along = self._corners[face] @ np.array(direction)
            self._extents[key] = (float(along.min()), float(along.max()))
        return self._extents[key]

    def width(self, face: int, direction: tuple[float, float]) -> float:
        """How wide a face is along a direction."""
        low, high = self.extent(face, direction)
        return high - low


@dataclass(frozen=True)
class _Link:
    """A fold between two faces."""

    a: int
    b: int
    length_mm: float
    direction: tuple[float, float]


@dataclass(frozen=True)
class _Row:
    """Faces in order, the direction of the folds between them, and what of them is the glue flap."""

    faces: list[int]
    along: tuple[float, float]
    flap: int | None = None
    because: str = ""
    alternates: bool = False
    """Each panel is as wide as the one after the next."""

    @property
    def across(self) -> tuple[float, float]:
        """From left to right; from top to bottom where the folds lie level."""
        x, y = self.along[1], -self.along[0]
        return (-x, -y) if x < -1e-6 or (abs(x) <= 1e-6 and y > 0) else (x, y)


def faces_of(cells: Cells, group: int) -> Faces:
    """Builds the panels of a blank from the cells of its group.

    A perforation is taken for a fold; where no glue flap shows up that way, for a tear line across one panel.
    """
    members = np.flatnonzero(cells.group == group)
    faces = _faces(cells, members, np.zeros(len(cells.net), bool))
    tears = cells.joins & np.isin(cells.beside, members).all(1) & (cells.net.role != CREASE)
    if faces.glue_flap is None and tears.any():
        torn = _faces(cells, members, tears)
        return torn if torn.glue_flap is not None else faces
    return faces


def _faces(cells: Cells, members: Ints, tears: Bools) -> Faces:
    face_of, shapes = _merge_narrow(cells, members, tears)
    links = _links(cells, face_of)
    row = _best_row(shapes, links)
    order = _reading_order(shapes, row.faces)
    place = {face: number for number, face in enumerate(order)}
    dust = _dust_flaps(shapes, links, row)
    return Faces(
        tuple(shapes.polygons[face] for face in order),
        tuple(place[face] for face in row.faces),
        None if row.flap is None else place[row.flap],
        row.because,
        tuple(sorted(place[face] for face in dust)),
    )


def _merge_narrow(cells: Cells, members: Ints, tears: Bools) -> tuple[dict[int, int], _Shapes]:
    """Face number of each cell, and the faces; what lies between the lines of a double crease joins a neighbour,
    and so do the parts of a panel with a tear line.
    """
    pairs = [(int(a), int(b)) for a, b in cells.beside[tears]]
    joins = cells.joins & np.isin(cells.beside, members).all(1)
    both = np.vstack([cells.beside[joins], cells.beside[joins][:, ::-1]])
    length = np.tile(lengths_of(cells.net.xy[joins]), 2)
    narrow = cells.width_mm[both[:, 0]] < NARROW_FACE_MM if len(both) else np.zeros(0, bool)
    found, index = np.unique(both[narrow], axis=0, return_inverse=True)
    shared = np.bincount(index.reshape(-1), weights=length[narrow], minlength=len(found))
    longest: dict[int, tuple[float, int]] = {}
    for (cell, other), along in zip(found.tolist(), shared.tolist(), strict=True):
        longest[cell] = max(longest.get(cell, (2.0, -1)), (along, other))
    pairs += [(cell, other) for cell, (_, other) in longest.items() if other >= 0]
    number = {int(cell): n for n, cell in enumerate(members)}
    a = np.array([number[x] for x, _ in pairs], np.intp)
    b = np.array([number[y] for _, y in pairs], np.intp)
    label = components(len(members), a, b)
    shapes = _Shapes()
    kept: dict[int, int] = {}
    for face in np.unique(label):
        mine = members[label == face]
        shape = shapely.union_all(cells.polygons[mine]) if len(mine) > 1 else cells.polygons[mine[0]]
        largest = max(shapely.get_parts(shape), key=lambda part: float(part.area))
        if 2 * largest.area / largest.length >= SLIVER_MM:
            kept |= {int(cell): len(shapes) for cell in mine}
            shapes.polygons.append(largest)
    return kept, shapes


def _links(cells: Cells, face_of: dict[int, int]) -> list[_Link]:
    table = np.full(len(cells.polygons) + 1, -1, np.intp)
    for cell, face in face_of.items():
        table[cell] = face
    faces = np.sort(table[cells.beside], axis=1)
    chosen = np.flatnonzero(cells.joins & (faces >= 0).all(1) & (faces[:, 0] != faces[:, 1]))
    if not len(chosen):
        return []
    xy, length = cells.net.xy[chosen], lengths_of(cells.net.xy[chosen])
    step = xy[:, 2:] - xy[:, :2]
    step *= np.where((step[:, :1] < -1e-6) | ((np.abs(step[:, :1]) <= 1e-6) & (step[:, 1:] < 0)), -1.0, 1.0)
    pairs, inverse = np.unique(faces[chosen], axis=0, return_inverse=True)
    inverse = inverse.reshape(-1)
    found = []
    for number, (a, b) in enumerate(pairs):
        mine = inverse == number
        whole = step[mine].sum(0)
        size = max(float(np.hypot(*whole)), 1e-9)
        direction = (float(whole[0]) / size, float(whole[1]) / size)
        found.append(_Link(int(a), int(b), float(length[mine].sum()), direction))
    return found


def _alike(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Cosine of the angle between two directions, whichever way they point."""
    return abs(one[0] * other[0] + one[1] * other[1])


def _best_row(shapes: _Shapes, links: list[_Link]) -> _Row:
    """The row of panels: a chain of faces joined by parallel folds as high as the faces themselves.

    A chain that ends in a glue flap goes first, then one whose panels are as wide as the one after the next, then the
    one with most faces and most fold: lids and tuck flaps make a chain with a panel, too.
    """
    best, rank = _Row([], (0.0, 1.0)), (False, False, 0, 0.0)
    for direction in {link.direction: None for link in sorted(links, key=lambda k: -k.length_mm)[:12]}:
        full = [
            link
            for link in links
            if _alike(link.direction, direction) > SAME_DIRECTION
            and link.length_mm > FULL_HEIGHT * min(shapes.width(i, direction) for i in (link.a, link.b))
        ]
        a, b = np.array([link.a for link in full], np.intp), np.array([link.b for link in full], np.intp)
        label = components(len(shapes), a, b)
        for chain in np.unique(label[a]):
            row = _row(shapes, links, [int(face) for face in np.flatnonzero(label == chain)], direction)
            fold = sum(link.length_mm for link in full if label[link.a] == chain)
            this = (row.flap is not None, row.alternates, len(row.faces), fold)
            if this > rank:
                best, rank = row, this
    return best


def _row(shapes: _Shapes, links: list[_Link], faces: list[int], along: tuple[float, float]) -> _Row:
    across = _Row(faces, along).across
    centre = {face: sum(shapes.extent(face, across)) for face in faces}
    row = _Row(sorted(faces, key=lambda face: centre[face]), along)
    flap, because = _glue_flap(shapes, links, row)
    widths = [shapes.width(face, across) for face in row.faces if face != flap]
    alternates = len(widths) > 2 and all(abs(x - y) <= SAME_WIDTH_MM for x, y in zip(widths, widths[2:], strict=False))
    return _Row(row.faces, along, flap, because, alternates)


def _reading_order(shapes: _Shapes, row: list[int]) -> list[int]:
    """The row first, then the other faces from top to bottom and left to right."""
    rest = [n for n in range(len(shapes)) if n not in row]
    return [*row, *sorted(rest, key=lambda n: (-round(shapes.polygons[n].centroid.y), shapes.polygons[n].centroid.x))]


def _glue_flap(shapes: _Shapes, links: list[_Link], row: _Row) -> tuple[int | None, str]:
    """An end face of the row, on one fold, narrow, tapered; with the reason in words."""
    if len(row.faces) < 3:
        return None, ""
    along, across = row.along, row.across
    widths = {face: shapes.width(face, across) for face in row.faces}
    candidates = []
    for face in (row.faces[0], row.faces[-1]):
        folds = [link for link in links if face in (link.a, link.b)]
        others = [widths[other] for other in row.faces if other != face]
        if len(folds) != 1:
            continue
        far_side = _far_side(face, folds[0], along, across, shapes)
        tapered = folds[0].length_mm - far_side >= TAPERED_MM
        if _fits_flap(widths[face], others, tapered):
            candidates.append((not tapered, widths[face], face, folds[0].length_mm, far_side))
    if not candidates:
        return None, ""
    straight, width, face, long, short = min(candidates)
    if len(candidates) > 1 and candidates[0][0] == candidates[1][0] and abs(candidates[0][1] - candidates[1][1]) < 1:
        return None, ""
    shape = "straight" if straight else f"tapered from {long:.0f} to {short:.0f} mm"
    return face, f"end of a row of {len(row.faces)} panels, on one crease, {width:.1f} mm wide, {shape}"


def _fits_flap(width: float, others: list[float], tapered: bool) -> bool:
    narrow = 0.75 if tapered else 0.4
    if width > WIDEST_FLAP_MM or len(others) < 2:
        return False
    if len(others) == 2 and abs(others[0] - others[1]) > SAME_WIDTH_MM:
        return False
    if len(others) == 4 and all(abs(others[i] - others[i + 2]) <= SAME_WIDTH_MM for i in (0, 1)):
        return tapered or width <= 0.6 * min(others)  # the other four make a tube: this is what is left over
    return width <= narrow * min(others)


def _far_side(
    face: int, fold: _Link, along: tuple[float, float], across: tuple[float, float], shapes: _Shapes
) -> float:
    """Length of the face along the fold, close to the side that is opposite the fold."""
    shape, neighbour = shapes.polygons[face], fold.b if fold.a == face else fold.a
    low, high = shapes.extent(face, across)
    ahead = sum(shapes.extent(neighbour, across)) < low + high
    at = high - 0.1 * (high - low) if ahead else low + 0.1 * (high - low)
    u, v = np.array(along), np.array(across)
    reach = 2 * (abs(shape.bounds[2]) + abs(shape.bounds[3]) + abs(shape.bounds[0]) + abs(shape.bounds[1]) + 1)
    line: Floats = np.array([v * at - u * reach, v * at + u * reach])
    return float(shapely.intersection(shape, shapely.LineString(line)).length)


def _dust_flaps(shapes: _Shapes, links: list[_Link], row: _Row) -> list[int]:
    """Flaps on one fold at an end of the carton that a lid with a tuck flap closes over.

    Where no flap of that end goes on into a tuck flap the end is glued, and nobody can tell which flaps lie inside.
    """
    in_row, along = set(row.faces), row.along
    folds: dict[int, list[_Link]] = {n: [] for n in range(len(shapes))}
    for link in links:
        folds[link.a].append(link)
        folds[link.b].append(link)
    middle = float(np.mean([sum(shapes.extent(n, along)) / 2 for n in in_row])) if in_row else 0.0
    ends: dict[bool, list[int]] = {True: [], False: []}
    lids: set[bool] = set()
    for n in range(len(shapes)):
        hinges = [k for k in folds[n] if (k.a in in_row or k.b in in_row) and n not in in_row]
        if len(hinges) != 1 or _alike(hinges[0].direction, along) > 0.5:
            continue
        far_end = sum(shapes.extent(n, along)) / 2 > middle
        if len(folds[n]) > 1:
            lids.add(far_end)
        else:
            ends[far_end].append(n)
    return [n for end in lids for n in ends[end]]

"""Mesh shadings read from their streams (ISO 32000-2, 8.7.4.5.5 to 8.7.4.5.8) as triangles."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.pdf.colour.functions import unpacked
from preflight.artwork.pdf.structure.stream_decoding import read_stream
from preflight.artwork.pdf.structure.values import lookup, numbers, whole
from preflight.artwork.platemaking.mesh_patches import FloatArray, Patches, triangles_of
from preflight.errors import MeshFault, OverLimit, Undecodable

Convert = Callable[[FloatArray], FloatArray]
"""(k, numbers) to (k, other numbers)."""
_FREE_FORM, _LATTICE, _TENSOR = 4, 5, 7
_MOST_BYTES: Final = 100_000_000
_MOST_CORNERS: Final = 1_000_000
_MOST_PATCHES: Final = 20_000
_COORDINATE_BITS: Final = (1, 2, 4, 8, 12, 16, 24, 32)
_COMPONENT_BITS: Final = (1, 2, 4, 8, 12, 16)


@dataclass(frozen=True)
class Triangles:
    """Triangles in painting order: corners in the shading's space, (k, 3, 2), and their numbers, (k, 3, n)."""

    corners: FloatArray
    values: FloatArray

    @property
    def nbytes(self) -> int:
        """What they take in memory."""
        return self.corners.nbytes + self.values.nbytes


@dataclass(frozen=True)
class _Layout:
    """How many bits things have, and the limits that they are decoded to: rows of low and high."""

    flag: int
    coordinate: int
    component: int
    limits: FloatArray
    converted: Convert | None
    """What colours become as soon as they are read."""

    @property
    def numbers(self) -> int:
        return len(self.limits) - 2

    def bits(self, corners: int, colours: int) -> int:
        """Of so many corners and colours, without a flag."""
        return 2 * corners * self.coordinate + colours * self.numbers * self.component


def read_mesh(stream: Any, count: int, converted: Convert | None = None) -> Triangles:
    """A mesh whose colours have ``count`` numbers; parts of it that are cut off at its end are left out.

    ``converted``: what its colours become before anything lies between them.

    Raises:
        MeshFault: it cannot be read, or is too large.
    """
    kind, layout = whole(lookup(stream, "ShadingType")), _layout(stream, count, converted)
    try:
        data = read_stream(stream, _MOST_BYTES)
    except (OverLimit, Undecodable) as fault:
        raise MeshFault(f"a mesh that cannot be read: {fault}") from fault
    if kind == _FREE_FORM:
        return _free_form(data, layout)
    if kind == _LATTICE:
        return _lattice(data, layout, whole(lookup(stream, "VerticesPerRow")))
    return triangles_of_patches(_patches(data, layout, kind == _TENSOR))


def triangles_of_patches(patches: Patches) -> Triangles:
    """Patches, cut finely enough that their edges are straight and their colours even."""
    return Triangles(*triangles_of(patches))


def _layout(stream: Any, count: int, converted: Convert | None) -> _Layout:
    names = ("BitsPerFlag", "BitsPerCoordinate", "BitsPerComponent")
    flag, coordinate, component = (whole(lookup(stream, name)) for name in names)
    decode = numbers(lookup(stream, "Decode"))
    if whole(lookup(stream, "ShadingType")) == _LATTICE:
        flag = 0
    elif flag not in (2, 4, 8):
        raise MeshFault("a mesh that does not say how long its flags are")
    if coordinate not in _COORDINATE_BITS or component not in _COMPONENT_BITS or decode is None:
        raise MeshFault("a mesh that does not say how long its numbers are")
    if len(decode) < 4 + 2 * count:
        raise MeshFault("a mesh that does not say what its numbers stand for")
    return _Layout(flag or 0, coordinate, component, np.array(decode[: 4 + 2 * count]).reshape(-1, 2), converted)


def _decoded(layout: _Layout, bits: NDArray[np.uint8], corners: int, colours: int) -> tuple[FloatArray, FloatArray]:
    """Rows of bits that hold corners and then colours: (k, corners, 2) and (k, colours, numbers)."""
    split = 2 * corners * layout.coordinate
    points = _numbers(bits[:, :split], layout.coordinate).reshape(len(bits), corners, 2)
    values = _numbers(bits[:, split:], layout.component).reshape(len(bits), colours, layout.numbers)
    low, high = layout.limits.T
    values = low[2:] + values * (high - low)[2:]
    if layout.converted is not None:
        flat = layout.converted(values.reshape(len(bits) * colours, layout.numbers))
        values = flat.reshape(len(bits), colours, flat.shape[1])
    return low[:2] + points * (high - low)[:2], values


def _numbers(bits: NDArray[np.uint8], width: int) -> FloatArray:
    """Rows of bits to rows of numbers 0..1."""
    count = bits.shape[1] // width
    whole_rows = np.ascontiguousarray(bits[:, : count * width])
    found = unpacked(np.packbits(whole_rows.ravel()).tobytes(), width, len(bits) * count)
    assert found is not None
    return found.reshape(len(bits), count)


def _records(data: bytes, bits: int) -> NDArray[np.uint8]:
    """One row of bits for each record; a record ends at a byte."""
    length = (bits + 7) // 8
    count = len(data) // length
    if count > _MOST_CORNERS:
        raise MeshFault(f"a mesh of more than {_MOST_CORNERS:,} corners")
    return np.unpackbits(np.frombuffer(data, np.uint8, count * length).reshape(count, length), axis=1)


def _flags(bits: NDArray[np.uint8], width: int) -> NDArray[np.intp]:
    """The two lowest bits count."""
    return np.asarray(bits[:, width - 2].astype(np.intp) * 2 + bits[:, width - 1])


def _free_form(data: bytes, layout: _Layout) -> Triangles:
    """8.7.4.5.5: a corner with flag 0 begins a triangle of its own, 1 and 2 go on from two of the last one."""
    bits = _records(data, layout.flag + layout.bits(1, 1))
    body = bits[:, layout.flag : layout.flag + layout.bits(1, 1)]
    points, values = _decoded(layout, body, 1, 1)
    corners: list[tuple[int, int, int]] = []
    flags = _flags(bits, layout.flag).tolist()
    at = 0
    while at < len(flags):
        if flags[at] == 0 or not corners:
            corner = (at, at + 1, at + 2)
            at += 3
        else:
            _, second, third = corners[-1]
            corner = (second if flags[at] == 1 else corners[-1][0], third, at)
            at += 1
        if corner[2] < len(flags):
            corners.append(corner)
    index = np.array(corners, np.intp).reshape(-1, 3)
    return Triangles(points[:, 0][index], values[:, 0][index])


def _lattice(data: bytes, layout: _Layout, columns: int | None) -> Triangles:
    """8.7.4.5.6."""
    if columns is None or columns < 2:
        raise MeshFault("a lattice that does not say how wide it is")
    points, values = _decoded(layout, _records(data, layout.bits(1, 1))[:, : layout.bits(1, 1)], 1, 1)
    rows = len(points) // columns
    grid = np.arange(rows * columns).reshape(rows, columns)
    a, b, c, d = grid[:-1, :-1], grid[:-1, 1:], grid[1:, :-1], grid[1:, 1:]
    index = np.stack([np.stack([a, b, c], -1), np.stack([b, c, d], -1)], 2).reshape(-1, 3)
    return Triangles(points[:, 0][index], values[:, 0][index])


def _patches(data: bytes, layout: _Layout, tensor: bool) -> Patches:
    """8.7.4.5.7 and 8.7.4.5.8, tables 84 and 85: a patch with a flag shares an edge with the last one."""
    inner = 4 if tensor else 0
    lengths = [(layout.flag + layout.bits(*shape) + 7) // 8 for shape in ((12 + inner, 4), (8 + inner, 2))]
    points: list[FloatArray] = []
    colours: list[FloatArray] = []
    at = 0
    while at < len(data):
        flag = data[at] >> (8 - layout.flag) & 3 if points else 0
        length = lengths[1 if flag else 0]
        record = data[at : at + length]
        at += length
        if len(record) < length:
            break
        if len(points) >= _MOST_PATCHES:
            raise MeshFault(f"a mesh of more than {_MOST_PATCHES:,} patches")
        shape = (8 + inner, 2) if flag else (12 + inner, 4)
        bits = np.unpackbits(np.frombuffer(record, np.uint8))[None, layout.flag : layout.flag + layout.bits(*shape)]
        (own_points,), (own_colours,) = _decoded(layout, bits, *shape)
        if flag:
            shared = [index % 12 for index in range(3 * flag, 3 * flag + 4)]
            own_points = np.vstack([points[-1][shared], own_points])
            own_colours = np.vstack([colours[-1][[flag, (flag + 1) % 4]], own_colours])
        points.append(own_points)
        colours.append(own_colours)
    if not points:
        raise MeshFault("a mesh without a patch")
    return Patches(np.array(points), np.array(colours))

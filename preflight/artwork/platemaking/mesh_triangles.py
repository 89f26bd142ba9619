"""Triangles within which every plate is even or rises evenly, and their stream in a derived PDF.

PDFium converts the colours of corners and goes evenly between those. The standard goes evenly between the numbers that
the file gives, and converts after (ISO 32000-2, 8.7.4.5.5).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.platemaking.mesh_patches import FloatArray
from preflight.artwork.platemaking.mesh_streams import Triangles
from preflight.errors import MeshFault

TintsOf = Callable[[FloatArray], NDArray[np.float32]]
"""(k, numbers) to (k, plates), 0..1."""

_LOOKS: Final = 1025
_TRUE_TO: Final = 0.004
"""Tints may be off by this."""
_DEEPEST: Final = 7
_MOST_TRIANGLES: Final = 500_000
_KEYS: Final = {"/BitsPerCoordinate": 24, "/BitsPerComponent": 8, "/BitsPerFlag": 8}
EMPTY_MESH: Final[Mapping[str, Any]] = {**_KEYS, "/Decode": [0, 1] * 5}


def in_plates(mesh: Triangles, tints: TintsOf, *, through_function: bool) -> Triangles:
    """The mesh with tints for its numbers, cut where they would not rise evenly.

    ``through_function``: its one number is the parameter of a function.

    Raises:
        MeshFault: too many triangles.
    """
    if not len(mesh.corners):
        return Triangles(mesh.corners, _of_corners(np.zeros((1, 3, mesh.values.shape[2])), tints)[:0])
    return _at_knots(mesh, tints) if through_function else _by_quarters(mesh, tints)


# -- through a function: along the lines of the parameters at which the tints bend --------------------------------


def _at_knots(mesh: Triangles, tints: TintsOf) -> Triangles:
    low, high = mesh.values.min(), mesh.values.max()
    at = np.linspace(low, high, _LOOKS) if high > low else np.array([low, low + 1])
    table = np.asarray(tints(at[:, None]), np.float64)
    kept = _bends(at, table)
    knots, table = at[kept], table[kept]
    corners, values = _with_one_level_edge(mesh)
    apex, base = values[:, 0], values[:, 1]
    first, last = np.minimum(apex, base), np.maximum(apex, base)
    begin = np.clip(np.searchsorted(knots, first, side="right") - 1, 0, max(len(knots) - 2, 0))
    end = np.clip(np.searchsorted(knots, last, side="left"), begin + 1, len(knots) - 1)
    count = np.maximum(end - begin, 1)
    if count.sum() > _MOST_TRIANGLES // 2:
        raise MeshFault("a mesh with a function of very many steps")
    owner = np.repeat(np.arange(len(count)), count)
    slot = begin[owner] + np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    ends = np.stack([np.maximum(knots[slot], first[owner]), np.minimum(knots[slot + 1], last[owner])], 1)
    width = np.where(base == apex, 1, base - apex)[owner, None]
    share = np.where(width == 0, 0, (ends - apex[owner, None]) / width)
    level = (base == apex)[owner]
    share[level] = (0, 1)
    shares = np.clip((ends - knots[slot, None]) / (knots[slot + 1] - knots[slot])[:, None], 0, 1)
    inks = table[slot, None] + shares[..., None] * (table[slot + 1] - table[slot])[:, None]
    return _trapezia(corners[owner], share, inks)


def _bends(at: FloatArray, table: FloatArray) -> list[int]:
    """Samples between which the straight line is true (Ramer, Douglas and Peucker, upright)."""
    kept = {0, len(at) - 1}
    waiting = [(0, len(at) - 1)]
    while waiting:
        first, last = waiting.pop()
        if last - first < 2:
            continue
        share = ((at[first : last + 1] - at[first]) / (at[last] - at[first]))[:, None]
        off = np.abs(table[first] + share * (table[last] - table[first]) - table[first : last + 1]).max(axis=1)
        worst = first + int(off.argmax())
        if off.max() > _TRUE_TO:
            kept.add(worst)
            waiting += [(first, worst), (worst, last)]
    return sorted(kept)


def _with_one_level_edge(mesh: Triangles) -> tuple[FloatArray, FloatArray]:
    """Each triangle cut in two at its middle number: (2k, 3, 2) with the apex first, and numbers of apex and edge."""
    order = np.argsort(mesh.values[:, :, 0], axis=1)
    corners = np.take_along_axis(mesh.corners, order[:, :, None], 1)
    low, middle, high = np.take_along_axis(mesh.values[:, :, 0], order, 1).T
    share = np.divide(middle - low, high - low, out=np.zeros(len(low)), where=high > low)
    across = corners[:, 0] + share[:, None] * (corners[:, 2] - corners[:, 0])
    halves = np.stack(
        [np.stack([corners[:, 0], corners[:, 1], across], 1), np.stack([corners[:, 2], corners[:, 1], across], 1)], 1
    )
    numbers = np.stack([np.stack([low, middle], 1), np.stack([high, middle], 1)], 1)
    return halves.reshape(-1, 3, 2), numbers.reshape(-1, 2)


def _trapezia(triangles: FloatArray, share: FloatArray, inks: FloatArray) -> Triangles:
    """Slices of triangles between two shares of the way from apex to edge, as two triangles each; tints at both."""
    apex, one, other = triangles[:, None, 0], triangles[:, None, 1], triangles[:, None, 2]
    left, right = apex + share[..., None] * (one - apex), apex + share[..., None] * (other - apex)
    corners = np.stack([left[:, 0], right[:, 0], left[:, 1], right[:, 1]], 1)
    colours = np.stack([inks[:, 0], inks[:, 0], inks[:, 1], inks[:, 1]], 1)
    index = np.array([[0, 1, 2], [1, 2, 3]])
    found = corners[:, index].reshape(-1, 3, 2), colours[:, index].reshape(-1, 3, inks.shape[2])
    (a, b, c) = found[0].transpose(1, 0, 2)
    flat = (b - a)[:, 0] * (c - a)[:, 1] == (b - a)[:, 1] * (c - a)[:, 0]
    return Triangles(found[0][~flat], found[1][~flat])


# -- without a function: in four, until the tints between the corners are true -------------------------------------


def _by_quarters(mesh: Triangles, tints: TintsOf) -> Triangles:
    corners, values = mesh.corners, mesh.values
    done: list[tuple[NDArray[np.intp], FloatArray, FloatArray]] = []
    owner = np.arange(len(corners))
    for depth in range(_DEEPEST + 1):
        inks = _of_corners(values, tints)
        between = (values + np.roll(values, -1, 1)) / 2
        even = (inks + np.roll(inks, -1, 1)) / 2
        off = np.abs(_of_corners(between, tints) - even).max((1, 2), initial=0)
        middle = np.asarray(tints(values.mean(axis=1)), np.float64)
        off = np.maximum(off, np.abs(middle - inks.mean(axis=1)).max(1, initial=0))
        far = off > _TRUE_TO
        if depth == _DEEPEST or len(corners) + 3 * far.sum() + sum(len(own) for own, _, _ in done) > _MOST_TRIANGLES:
            far[:] = False
        done.append((owner[~far], corners[~far], inks[~far]))
        if not far.any():
            break
        owner = np.repeat(owner[far], 4)
        corners, values = _quartered(corners[far]), _quartered(values[far])
    owners, found, colours = (np.concatenate(parts) for parts in zip(*done, strict=True))
    order = np.argsort(owners, kind="stable")
    return Triangles(found[order], colours[order])


def _of_corners(values: FloatArray, tints: TintsOf) -> FloatArray:
    return np.asarray(tints(values.reshape(-1, values.shape[2])), np.float64).reshape(*values.shape[:2], -1)


def _quartered(corners: FloatArray) -> FloatArray:
    a, b, c = corners.transpose(1, 0, 2)
    ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
    parts = [np.stack(part, 1) for part in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))]
    return np.stack(parts, 1).reshape(-1, 3, corners.shape[2])


# -- the stream --------------------------------------------------------------------------------------------------------


def written(corners: FloatArray, rgb: NDArray[np.uint8]) -> tuple[bytes, dict[str, Any]]:
    """Free-form triangles (8.7.4.5.5) with corners (k, 3, 2) and colours (k, 3, 3), and the keys of their stream."""
    across = corners.reshape(-1, 2).T if len(corners) else np.array([[0.0, 1.0]] * 2)
    low, high = across.min(axis=1), across.max(axis=1)
    high = np.where(high > low, high, low + 1)
    records = np.zeros((len(corners), 3, 10), np.uint8)
    steps = np.rint((corners - low) / (high - low) * (2**24 - 1)).astype(">u4")
    records[..., 1:7] = steps.view(np.uint8).reshape(len(corners), 3, 2, 4)[..., 1:].reshape(len(corners), 3, 6)
    records[..., 7:] = rgb
    # PDFium cuts what is behind the point of each level: half a level more makes it round.
    limits = [low[0], high[0], low[1], high[1], *[0.5 / 255, 255.5 / 255] * 3]
    return records.tobytes(), {**_KEYS, "/Decode": [float(limit) for limit in limits]}

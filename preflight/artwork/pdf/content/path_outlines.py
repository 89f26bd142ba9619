"""Outlines of painted paths: path operators of a stretch of a stream to polylines in millimetres."""

from __future__ import annotations

import math
import re

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Matrix
from preflight.artwork.pdf.content.tokens import Chunk, operator_code, scan

FLATNESS_MM = 0.02
_MOST_PIECES = 64

_SHORT_BYTES = 4000
_PLAIN_NUMBER = re.compile(rb"[+-]?[\d.]+")
_CODES = {word: operator_code(word) for word in (b"m", b"l", b"c", b"v", b"y", b"re", b"h")}
_M, _L, _C, _V, _Y, _RE, _H = _CODES.values()


def outlines(stretch: bytes, to_mm: Matrix) -> list[NDArray[np.float64]]:
    """Subpaths of a stretch of path operators, each (k, 2) in mm; a closed one repeats its first point.

    Curves are split into chords no further than 0.02 mm from them. The stretch ends before its painting operator,
    so the caller adds an ``h`` for a closing ``b`` or ``s``.
    """
    found: list[NDArray[np.float64]] = []
    current: list[tuple[float, float]] = []
    operations = _plain_operations(stretch) if len(stretch) < _SHORT_BYTES else None
    # A painting operator ends the stretch, so that the scanner sees operators only.
    for code, values in operations or (entry for chunk in scan(stretch + b" n") for entry in _operations(chunk)):
        current = _step(code, values, current, found, to_mm)
    if len(current) > 1:
        found.append(np.array(current))
    return [path for path in found if np.isfinite(path).all()]


def _plain_operations(stretch: bytes) -> list[tuple[int, list[float]]] | None:
    """Operations of a short stretch, for which arrays cost more than they save; None where any is unusual."""
    found, values = [], list[float]()
    try:
        for word in stretch.split():
            code = _CODES.get(word)
            if code is None:
                if not _PLAIN_NUMBER.fullmatch(word):
                    return None
                values.append(float(word))
            else:
                found.append((code, values))
                values = []
    except ValueError:
        return None
    return found


def _operations(chunk: Chunk) -> list[tuple[int, list[float]]]:
    return [
        (code, chunk.values[first:token].tolist())
        for code, first, token in zip(
            chunk.operator_code.tolist(), chunk.operands_from.tolist(), chunk.operator_token.tolist(), strict=True
        )
    ]


def _step(
    code: int, v: list[float], current: list[tuple[float, float]], found: list[NDArray[np.float64]], m: Matrix
) -> list[tuple[float, float]]:
    if code in (_M, _RE, _H) and len(current) > 1:
        if code == _H:
            current.append(current[0])
        found.append(np.array(current))
        current = [current[0]] if code == _H else []
    if code == _M and len(v) >= 2:
        return [_moved(m, v[-2], v[-1])]
    if code == _L and len(v) >= 2 and current:
        current.append(_moved(m, v[-2], v[-1]))
    elif code == _RE and len(v) >= 4:
        x, y, w, h = v[-4:]
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)]
        found.append(np.array([_moved(m, *corner) for corner in corners]))
        return []
    elif code in (_C, _V, _Y) and current and len(v) >= (6 if code == _C else 4):
        points = [_moved(m, v[i], v[i + 1]) for i in range(len(v) - (6 if code == _C else 4), len(v), 2)]
        if code == _V:
            points.insert(0, current[-1])
        elif code == _Y:
            points.append(points[-1])
        current.extend(_chords(current[-1], *points))
    return current


def _moved(m: Matrix, x: float, y: float) -> tuple[float, float]:
    return (m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5])


def _chords(p0: tuple[float, float], *controls: tuple[float, float]) -> list[tuple[float, float]]:
    """Points on a cubic Bezier curve behind its first one.

    A chord over 1/n of the curve strays from it by at most 6 * max|second difference of the control points| / (8 n^2).
    Plain numbers: most curves are letters' and take two or three chords.
    """
    (x0, y0), ((x1, y1), (x2, y2), (x3, y3)) = p0, controls
    bend = max(abs(x0 - 2 * x1 + x2), abs(y0 - 2 * y1 + y2), abs(x1 - 2 * x2 + x3), abs(y1 - 2 * y2 + y3))
    if not math.isfinite(bend):
        bend = 0.0
    pieces = min(max(1, math.ceil(math.sqrt(0.75 * bend / FLATNESS_MM))), _MOST_PIECES)
    found = []
    for piece in range(1, pieces + 1):
        t = piece / pieces
        a, b, c, d = (1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3
        found.append((a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3))
    return found

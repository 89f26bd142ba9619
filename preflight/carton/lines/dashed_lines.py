"""Dashes drawn as loose short pieces: one dashed line, so that closing gaps never swallows a perforation."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

import numpy as np
import shapely

from preflight.carton.lines.drawn_lines import Bools, DieLine, Floats, Ints, components, pairs_near

LONGEST_DASH_MM: Final = 8.0
WIDEST_GAP_MM: Final = 4.0
NARROWEST_GAP_MM: Final = 0.2
LEAST_DASHES: Final = 3
MOST_PAIRS: Final = 1_000_000
ALIGNED: Final = 0.9  # cosine of about 25 degrees


def join_dashes(lines: Sequence[DieLine]) -> list[DieLine]:
    """Lines with every run of at least three loose short pieces, end to end, made one line marked as dashed.

    A piece is loose when it touches no other line. Lines between nicks are longer than dashes, and gaps next to
    nothing are bad drawing, not dashes: both are left as they are.
    """
    pieces = [number for number, line in enumerate(lines) if _is_piece(line)]
    if len(pieces) < LEAST_DASHES:
        return list(lines)
    ends = np.array([lines[i].points[[0, -1]] for i in pieces]).reshape(-1, 2)
    steps = np.array([(lines[i].points[[1, -2]] - lines[i].points[[0, -1]]) for i in pieces]).reshape(-1, 2)
    outward = -steps / np.maximum(np.hypot(*steps.T), 1e-9)[:, None]
    group = np.array([hash((lines[i].role, lines[i].drawn_in)) for i in pieces])
    length = np.array([lines[i].length_mm for i in pieces])
    loose = _loose(lines, ends)
    partner = _partners(ends, outward, group, length, loose)
    label = components(
        len(pieces), np.arange(len(ends)) // 2, np.where(partner < 0, np.arange(len(ends)), partner) // 2
    )
    joined = np.bincount(label)[label] >= LEAST_DASHES
    gone = {piece for piece, mine in zip(pieces, joined, strict=True) if mine}
    kept = [line for number, line in enumerate(lines) if number not in gone]
    for run in np.unique(label[joined]):
        kept += _walked(lines, pieces, np.flatnonzero(label == run), partner, loose)
    return kept


def _is_piece(line: DieLine) -> bool:
    if line.filled or line.dashed or line.closed or len(line.points) > 40:
        return False
    length = line.length_mm
    return length <= LONGEST_DASH_MM and float(np.hypot(*(line.points[-1] - line.points[0]))) > 0.8 * length


def _loose(lines: Sequence[DieLine], ends: Floats) -> Bools:
    """Ends that touch no other line than their own."""
    tree = shapely.STRtree([shapely.LineString(line.points) for line in lines])
    end, _ = tree.query(shapely.points(ends), predicate="dwithin", distance=0.02)
    loose: Bools = np.bincount(end, minlength=len(ends)) <= 1
    return loose


def _partners(ends: Floats, outward: Floats, group: Ints, length: Floats, loose: Bools) -> Ints:
    """For each end the end of another piece that carries it on, -1 for none; each is the other's nearest."""
    points = shapely.points(ends)
    if pairs_near(points, points, WIDEST_GAP_MM) > MOST_PAIRS:
        return np.full(len(ends), -1, np.intp)  # a hatching or worse, and no dashes
    a, b = shapely.STRtree(points).query(points, predicate="dwithin", distance=WIDEST_GAP_MM)
    pieces_a, pieces_b = a // 2, b // 2
    gap = ends[b] - ends[a]
    far = np.hypot(*gap.T)
    along = gap / np.maximum(far, 1e-9)[:, None]
    longest = np.maximum(length[pieces_a], length[pieces_b])
    fits = (
        (pieces_a != pieces_b)
        & (group[pieces_a] == group[pieces_b])
        & (loose[a] & loose[b])
        & (far >= NARROWEST_GAP_MM)
        & (far <= 2.5 * longest)
        & ((along * outward[a]).sum(1) > ALIGNED)
        & ((along * outward[b]).sum(1) < -ALIGNED)
    )
    a, b, far = a[fits], b[fits], far[fits]
    nearest = np.full(len(ends), -1, np.intp)
    for index in np.argsort(-far):  # the nearest is written last
        nearest[a[index]] = b[index]
    partner = np.where((nearest >= 0) & (nearest[nearest] == np.arange(len(ends))), nearest, -1)
    return partner.astype(np.intp)


def _carried_on(piece: Floats, by_mm: float) -> Floats:
    """A dashed line may end in a gap: its last dash is carried on by as much, and what is too long is clipped later."""
    step = piece[-1] - piece[-2]
    return np.vstack([piece, piece[-1] + step * (by_mm / max(float(np.hypot(*step)), 1e-9))]) if by_mm else piece


def _walked(
    lines: Sequence[DieLine], pieces: Sequence[int], run: Ints, partner: Ints, loose: Bools
) -> Iterator[DieLine]:
    """The pieces of a run one after another, from a free end, or from anywhere round a closed run."""
    free = [end for piece in run for end in (2 * piece, 2 * piece + 1) if partner[end] < 0]
    here = int(free[0] if free else 2 * run[0])
    points: list[Floats] = []
    for _ in run:
        line = lines[pieces[here // 2]]
        points.append(line.points if here % 2 == 0 else line.points[::-1])
        following = int(partner[here ^ 1])
        if following < 0:
            break
        here = following
    if not free:
        points.append(points[0][:1])
        yield replace(lines[pieces[run[0]]], points=np.concatenate(points), dashed=True)
        return
    gap = max(float(np.hypot(*(b[0] - a[-1]))) for a, b in pairwise(points))
    points = [_carried_on(points[0][::-1], gap if loose[free[0]] else 0.0)[::-1], *points[1:]]
    points[-1] = _carried_on(points[-1], gap if loose[free[-1]] else 0.0)
    yield replace(lines[pieces[run[0]]], points=np.concatenate(points), dashed=True)

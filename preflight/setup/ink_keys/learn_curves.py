"""Curves of openings learnt from OK sheets: one for each press, unit, kind of ink and board.

Three well-run jobs are enough for a first curve (LITH-ITN-MT-EX-02/001-SE, Linköping 2002); fewer are refused.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from preflight.inputs.key_curves_table import KeyCurve
from preflight.inputs.ok_sheets import KeyReading
from preflight.setup.ink_keys.monotone_fit import fit_rising

LEAST_SHEETS: Final = 3
LEAST_RANGE: Final = 0.02
"""Covers have to differ by this at least: two points of cover."""
METHOD: Final = (
    "straight between knots at quantiles of the covers, never falling, by least squares (monotone regression splines "
    "of degree 1: Ramsay 1988; non-negative least squares: Lawson and Hanson 1974)"
)


@dataclass(frozen=True)
class LearntCurve:
    """A curve, and the reading that is farthest from it."""

    curve: KeyCurve
    farthest: float
    """Reading less curve, in points of opening."""
    farthest_line: int
    """Of the table of OK sheets."""


@dataclass(frozen=True)
class RefusedCurve:
    """Readings that make no curve, and why."""

    what: str
    because: str


@dataclass(frozen=True)
class Learnt:
    """What a table of OK sheets gives."""

    curves: tuple[LearntCurve, ...]
    refused: tuple[RefusedCurve, ...]


def learn_curves(readings: Sequence[KeyReading]) -> Learnt:
    """A curve for each press, unit, kind of ink and board that has enough sheets."""
    groups: dict[tuple[str, int, str, str], list[KeyReading]] = {}
    for each in readings:
        key = ((each.press or "").casefold(), each.unit, each.ink, each.board.casefold())
        groups.setdefault(key, []).append(each)
    curves, refused = list[LearntCurve](), list[RefusedCurve]()
    for key in sorted(groups):
        group = groups[key]
        because = _why_not(group)
        if because:
            refused.append(RefusedCurve(called(group[0].press, group[0].unit, group[0].ink, group[0].board), because))
        else:
            curves.append(_learnt(group))
    return Learnt(tuple(curves), tuple(refused))


def called(press: str | None, unit: int, ink: str, board: str) -> str:
    """What a curve is for, in words."""
    return f"unit {unit}, {ink}, board {board}" + (f", {press}" if press else "")


def sheets_of(group: Sequence[KeyReading]) -> int:
    """Sheets among the readings of one curve: those that are named, else as many as the most of any key."""
    named = {each.sheet for each in group if each.sheet}
    unnamed = Counter(each.key for each in group if not each.sheet)
    return len(named) + max(unnamed.values(), default=0)


def _why_not(group: Sequence[KeyReading]) -> str:
    sheets = sheets_of(group)
    if sheets < LEAST_SHEETS:
        return f"{sheets} {'sheet' if sheets == 1 else 'sheets'}; a curve needs at least {LEAST_SHEETS}"
    covers = [each.cover for each in group]
    if max(covers) - min(covers) < LEAST_RANGE:
        return f"covers from {min(covers):.3f} to {max(covers):.3f} only; they have to differ by {LEAST_RANGE} at least"
    return ""


def _learnt(group: Sequence[KeyReading]) -> LearntCurve:
    first = group[0]
    fit = fit_rising(np.array([each.cover for each in group]), np.array([each.opening for each in group]), 100.0)
    at = int(np.argmax(np.abs(fit.residuals)))
    points = [(round(cover, 4), round(opening, 2)) for cover, opening in fit.points]
    curve = KeyCurve.model_validate(
        {
            "unit": first.unit,
            "ink": first.ink,
            "board": first.board,
            "press": first.press,
            "points": points,
            "sheets": sheets_of(group),
            "readings": len(group),
            "spread": round(fit.spread, 2),
        }
    )
    return LearntCurve(curve, float(fit.residuals[at]), group[at].line)


def with_older(learnt: Learnt, older: Sequence[KeyCurve]) -> tuple[KeyCurve, ...]:
    """The learnt curves, and those of an older table that the sheets say nothing better about."""
    new = {each.curve.is_for: each.curve for each in learnt.curves}
    kept = {curve.is_for: curve for curve in older}
    return tuple((kept | new).values())

"""Openings of the keys, by the plant's own curves: no curve, no opening."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from preflight.findings import listed
from preflight.inputs.key_curves_table import ANY, KeyCurve
from preflight.setup.ink_keys.covers import KeyCovers
from preflight.setup.press_plan import OnUnit

BEYOND: Final = 0.005
"""By so much a cover may lie beyond the ends of a curve and still be taken for its end: what covers are exact to."""
NO_CURVE: Final = "no curve yet"


@dataclass(frozen=True)
class Openings:
    """Openings in %, by the name of the plate."""

    by_name: dict[str, tuple[float | None, ...] | None]
    """None: no curve yet. None within: the curve says nothing of such a cover. A further unit of an ink has an entry of
    its own, ``Moss (unit 6)``."""
    not_checked: tuple[str, ...] = ()

    @property
    def any_curve(self) -> bool:
        """Whether there is an opening at all."""
        return any(each is not None for each in self.by_name.values())


def openings(
    covers: KeyCovers, units: Sequence[OnUnit], curves: Sequence[KeyCurve], press: str, grade: str | None
) -> Openings:
    """Openings of all plates.

    Args:
        covers: by name of the plate.
        units: of the plan; names as in the covers.
        curves: of the plant.
        press: name of the profile.
        grade: of the board; None where the ticket does not say.
    """
    found: dict[str, tuple[float | None, ...] | None] = {}
    gaps, without = list[str](), list[str]()
    for plate in covers.plates:
        on = [unit for unit in units if unit.separation == plate.name]
        if not on:
            found[plate.name] = None
            gaps.append(f"Openings of {plate.name}: its unit is not known.")
        for place, unit in enumerate(on):
            called = plate.name if not place else f"{plate.name} (unit {unit.unit})"
            curve = curve_for(curves, press, unit.unit, plate.kind, grade)
            found[called] = opened(curve, plate.cover) if curve else None
            if curve is None:
                without.append(f"{called} (unit {unit.unit}, {plate.kind})" if not place else called)
    if without:
        gaps.append(
            f"Openings of {listed(without)}: {NO_CURVE} for board {grade or ANY} (rules/key_curves.yaml; "
            "preflight setup --learn OK_SHEETS.csv)."
        )
    return Openings(found, tuple(gaps))


def curve_for(curves: Sequence[KeyCurve], press: str, unit: int, kind: str, grade: str | None) -> KeyCurve | None:
    """The curve that counts: one that names the board first, then one that names the press."""
    fitting = [curve for curve in curves if curve.fits(press, unit, kind, grade)]
    return max(fitting, key=lambda curve: (curve.board.casefold() != ANY, curve.press is not None), default=None)


def opened(curve: KeyCurve, cover: Sequence[float]) -> tuple[float | None, ...]:
    """Opening in % of each key, straight between the points of the curve, to a tenth; None beyond them."""
    (first, _), (last, _) = curve.points[0], curve.points[-1]
    return tuple(round(_between(curve, each), 1) if first - BEYOND <= each <= last + BEYOND else None for each in cover)


def _between(curve: KeyCurve, cover: float) -> float:
    (before, opening), *rest = curve.points
    for after, wider in rest:
        if cover <= after:
            return opening + (wider - opening) * max(0.0, cover - before) / (after - before)
        before, opening = after, wider
    return opening

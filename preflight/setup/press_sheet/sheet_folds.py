"""Which folds of a sheet's blanks are creases, perforations, half-cuts: as the die of the one-up has them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from preflight.setup.layout.sheet_layout import through
from preflight.setup.press_sheet.press_sheet import PressSheet, SheetBlank

BESIDE_MM: Final = 0.05
"""Folds end at the cut as it was drawn, which may be so far off."""


def with_folds(sheet: PressSheet, folds: Mapping[str, BaseGeometry]) -> PressSheet:
    """The sheet with the folds of every blank by role, where that is not known yet.

    Args:
        sheet: its blanks with ``to_sheet``; one without is left as it is.
        folds: ``Die.folds`` of the one-up's page.
    """
    return replace(sheet, blanks=tuple(_folded(blank, folds) for blank in sheet.blanks))


def _folded(blank: SheetBlank, folds: Mapping[str, BaseGeometry]) -> SheetBlank:
    if blank.folds or blank.to_sheet is None:
        return blank
    inside = blank.outline.buffer(BESIDE_MM)
    placed = {role: shapely.intersection(through(blank.to_sheet, shape), inside) for role, shape in folds.items()}
    return replace(blank, folds={role: shape for role, shape in placed.items() if not shape.is_empty})

"""Figures as press files have them."""

from __future__ import annotations

from preflight.quantities import TYPE_POINT_MM, Size


def points(length_mm: float) -> float:
    """Millimetres in points of 1/72 in."""
    return length_mm / TYPE_POINT_MM


def in_points(size: Size) -> tuple[float, float]:
    """A sheet, across and along, in points."""
    return points(size.across_mm), points(size.along_mm)


def plain(value: float, digits: int = 4) -> str:
    """A number without exponent and without idle noughts: ``2777.9528``, ``40``."""
    told = f"{value:.{digits}f}"
    told = told.rstrip("0").rstrip(".") if "." in told else told
    return "0" if told == "-0" else told

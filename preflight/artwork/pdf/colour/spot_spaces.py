"""Colour space objects of a file that show a single spot."""

from __future__ import annotations

from typing import Any

from pikepdf import Array, Name, Object, Pdf


def is_separation(space: object) -> bool:
    """Whether a colour space object is a Separation array."""
    return isinstance(space, Array) and len(space) >= 4 and space[0] == Name.Separation


def base_of(space: Any) -> Any:
    """What an Indexed colour space object stands over; any other itself."""
    indexed = isinstance(space, Array) and len(space) > 1 and space[0] in (Name.Indexed, Name.I)
    return space[1] if indexed else space


def indirect(pdf: Pdf, space: Object) -> Object:
    """A colour space object as it can be copied into another file."""
    return space if space.is_indirect else pdf.make_indirect(space)

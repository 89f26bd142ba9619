"""When a sheet is pulled, and what for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from preflight.inputs.run_table import PullTable
from preflight.setup.wanted import wanted

Counted = Literal["first sheet", "OK sheet"]


@dataclass(frozen=True)
class Pull:
    """One pull, or one that comes again and again."""

    looked_at: str
    """``register, lay, side``."""
    why: str
    sheet: int | None = None
    """None: not at a number."""
    every: int | None = None
    """Again after so many sheets …"""
    until: int | None = None
    """… up to this one; None: to the end."""
    counted_from: Counted = "OK sheet"
    when: str | None = None
    """For what comes at no number: ``each new pile, wash, stop and ink refill``."""


def plan_pulls(table: PullTable, net_sheets: int | None) -> tuple[tuple[Pull, ...], tuple[str, ...]]:
    """Pulls of a run in the order in which they come, and what could not be set.

    Intervals are common practice for cartons; where they give a range its closer end counts.
    """
    gaps = () if table.colour is not None else (wanted("Sheet to judge colour by", "pulls: colour", "rules/run.yaml"),)
    return tuple(_pulls(table, net_sheets)), gaps


def _pulls(table: PullTable, net_sheets: int | None) -> Iterator[Pull]:
    yield Pull("register, lay, side", "the plant's setting", table.first, counted_from="first sheet")
    settled = "when ink and water have settled" if table.colour is None else None
    yield Pull("colour", "ink and water have settled", table.colour, counted_from="first sheet", when=settled)
    yield Pull("OK sheet", "signed and kept beside the press", when="once register and colour are right")
    every_zone = "colour bar in every zone, register, print"
    last = table.early_until if net_sheets is None else min(table.early_until, net_sheets)
    if table.early <= last:
        yield Pull(every_zone, "common practice for cartons", table.early, table.early, last)
    if net_sheets is None or table.early_until + table.later <= net_sheets:
        first = table.early_until + table.later
        yield Pull(every_zone, "common practice for cartons", first, table.later, net_sheets)
    yield Pull(every_zone, "common practice for cartons", when="each new pile, wash, stop and ink refill")

"""rules/run.yaml: how a run is reckoned where the press profile does not say.

A figure that is None is one that the plant has not filled in: what needs it is not checked.
"""

from __future__ import annotations

import re
from typing import Annotated, Final

from pydantic import Field, ValidationInfo, field_validator

from preflight.errors import NotUnderstood
from preflight.inputs.fields import (
    Caliper,
    ClosedKeys,
    Count,
    Length,
    Mass,
    Minutes,
    Parsed,
    Percent,
    Speed,
    Texts,
    Weight,
    some_words,
    word,
)
from preflight.inputs.press import STEPS
from preflight.inputs.ticket import SURFACES
from preflight.inputs.trade_table import trade_table
from preflight.kinds import PRINTING_KINDS
from preflight.quantities import Range, length_mm, percent

FILE: Final = "run.yaml"
PLATE_WAYS: Final = ("automatic", "semi-automatic", "manual")


def _widths(value: object) -> Range:
    """``1000 mm to 1060 mm``."""
    ends = str(value).split(" to ")
    if len(ends) != 2 or length_mm(ends[0]) > length_mm(ends[1]):
        raise NotUnderstood("a range with the smaller end first, such as 1000 mm to 1060 mm")
    return Range(length_mm(ends[0]), length_mm(ends[1]))


Solids = Annotated[float, Parsed(lambda value: _solids(value), {"type": "string"})]


class MakeReadySheets(ClosedKeys):
    """Sheets until the first good one, added up."""

    sheets: Count
    each_unit: Count
    coater: Count
    each_special: Count
    """For every metallic, white and effect varnish."""


class RunningWaste(ClosedKeys):
    """A share of the net sheets that falls with every tenfold of them."""

    most: Percent
    at_sheets: Annotated[int, Parsed(lambda value: _at_least_one(value), {"type": "integer", "minimum": 1})]
    less_each_tenfold: Percent
    least: Percent

    @field_validator("least")
    @classmethod
    def _in_order(cls, least: float, info: ValidationInfo) -> float:
        if least > info.data.get("most", least):
            raise NotUnderstood("a share no greater than most")
        return least


class SpeedTable(ClosedKeys):
    """What board runs at, and what slows it."""

    board: Speed
    light_board: Speed
    light_up_to: Caliper
    less: Annotated[float, Parsed(lambda value: _part(value), {"type": "string"})]
    thick_over: Caliper
    slow_surfaces: Annotated[tuple[str, ...], some_words(*SURFACES)] = ()


class PileTable(ClosedKeys):
    """Pallets, and how high oxidising inks may be piled in the delivery."""

    pallet: Mass
    heavy_solids: Length
    non_absorbent: Length
    change: Minutes | None = None
    """The press stands for one change of piles."""
    board_mass: Mass | None = None
    share_below: Percent = 0.0
    """Share of a full pile under which the last one is not built: all piles are made alike instead."""


class UnitAmount(ClosedKeys):
    """What one unit takes whatever is printed, on presses of these widths."""

    across: Annotated[Range, Parsed(_widths, {"type": "string"})]
    mass: Mass


class MaterialTable(ClosedKeys):
    """Weights of ink and coating."""

    film: dict[Annotated[str, word(*PRINTING_KINDS)], Weight | None]
    coat: dict[str, Weight | None]
    solids: dict[str, Solids | None] = Field(default_factory=dict)
    each_unit: tuple[UnitAmount, ...] = ()
    each_coater: Mass | None = None


class ChangeTable(ClosedKeys):
    """Minutes and hands of the steps of a change."""

    plates: Annotated[str, word(*PLATE_WAYS)]
    plate: dict[Annotated[str, word(*PLATE_WAYS)], Minutes]
    wash_up: Minutes | None = None
    ink_system: Minutes | None = None
    coater_change: Minutes | None = None
    crew: Annotated[int, Parsed(lambda value: _at_least_one(value), {"type": "integer", "minimum": 1})]
    hands: dict[Annotated[str, word(*STEPS)], Count]

    @field_validator("plate")
    @classmethod
    def _every_way(cls, plate: dict[str, float]) -> dict[str, float]:
        if set(plate) != set(PLATE_WAYS):
            raise NotUnderstood(f"minutes for {', '.join(PLATE_WAYS)}")
        return plate

    @field_validator("hands")
    @classmethod
    def _every_step(cls, hands: dict[str, int]) -> dict[str, int]:
        if set(hands) != set(STEPS):
            raise NotUnderstood(f"hands for {', '.join(STEPS)}")
        return hands


class PullTable(ClosedKeys):
    """When sheets are pulled, counted in sheets."""

    first: Count
    colour: Count | None = None
    early: Annotated[int, Parsed(lambda value: _at_least_one(value), {"type": "integer", "minimum": 1})]
    early_until: Count
    later: Annotated[int, Parsed(lambda value: _at_least_one(value), {"type": "integer", "minimum": 1})]


class GoodsWords(ClosedKeys):
    """Words in the ticket's ``goods: {type}`` that tell food and medicine from other goods."""

    food: Texts
    medicine: Texts = ()
    other: Texts = ()

    def kinds_of(self, said: str) -> frozenset[str]:
        """``food``, ``medicine``, ``other``: the lists that have a word of what is said; empty where none has."""
        named = set(re.findall(r"\w+", said.casefold()))
        lists = {"food": self.food, "medicine": self.medicine, "other": self.other}
        return frozenset(kind for kind, words in lists.items() if not named.isdisjoint(map(str.casefold, words)))


class RunTable(ClosedKeys):
    """rules/run.yaml."""

    make_ready: MakeReadySheets
    running: RunningWaste
    speed: SpeedTable
    heavy_solid: Percent
    piles: PileTable
    materials: MaterialTable
    changeover: ChangeTable
    pulls: PullTable
    goods: GoodsWords


load_run_table = trade_table(FILE, RunTable)
"""The table of the house rules, the same one until its file changes."""


def _part(value: object) -> float:
    share = percent(value)
    if share >= 100:
        raise NotUnderstood("a percentage under 100 %")
    return share


def _solids(value: object) -> float:
    share = percent(value)
    if not 0 < share <= 100:
        raise NotUnderstood("a percentage above 0 and up to 100 %")
    return share


def _at_least_one(value: object) -> int:
    text = str(value).strip()
    if not (text.isdecimal() and text.isascii() and 0 < int(text) < 10**9):
        raise NotUnderstood("a whole number, 1 or more")
    return int(text)

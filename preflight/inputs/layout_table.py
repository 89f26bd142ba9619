"""rules/layout.yaml: gutters, waste strips and edges where nobody says, and which layout is better."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field, field_validator

from preflight.errors import NotUnderstood
from preflight.inputs.fields import ClosedKeys, Count, Length, Percent, some_words, word
from preflight.inputs.trade_table import trade_table

PREFERENCES: Final = ("more up", "waste in one piece", "simpler pattern")


class EdgeDefaults(ClosedKeys):
    """Along the edges of a sheet, in mm."""

    gripper_mm: Length = Field(alias="gripper")
    tail_mm: Length = Field(alias="tail")
    sides_mm: Length = Field(alias="sides")


class LayoutTable(ClosedKeys):
    """The table; lengths in mm, shares in per cent."""

    gutter_mm: Length = Field(alias="gutter")
    least_gutter_mm: Length = Field(alias="least_gutter")
    nested_gutter_mm: Length = Field(alias="nested_gutter")
    shared_knife: Annotated[str, word("allowed", "never")]
    alike: Percent
    unbled: Percent
    bleed_mm: Length = Field(alias="bleed")
    waste_strip_mm: Length = Field(alias="waste_strip")
    waste_corner: Count
    """Degrees."""
    gripper_strip_mm: Length = Field(alias="gripper_strip")
    die_cutter: EdgeDefaults
    edges: EdgeDefaults
    grain: Annotated[str, word("across", "along")]
    bar_mm: Length = Field(alias="bar")
    prefer: Annotated[tuple[str, ...], some_words(*PREFERENCES)]
    worth_mm: Length = Field(alias="worth")
    cut_to_mm: Length = Field(alias="cut_to")

    @field_validator("prefer")
    @classmethod
    def _each_once(cls, words: tuple[str, ...]) -> tuple[str, ...]:
        if sorted(words) != sorted(PREFERENCES):
            raise NotUnderstood(f"each of {', '.join(PREFERENCES)} once, the weightiest first")
        return words

    @field_validator("cut_to_mm")
    @classmethod
    def _some_length(cls, step: float) -> float:
        if not step:
            raise NotUnderstood("a length over 0")
        return step


load_layout_table = trade_table("layout.yaml", LayoutTable)
"""The table of the house rules, the same one until its file changes."""

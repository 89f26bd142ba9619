"""rules/unit_order.yaml: the plant's order of inks, and what an order pays for each wish that it does not keep."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from preflight.inputs.fields import ClosedKeys, Count, Length, Number, Percent, Text, Texts, some_words, word
from preflight.inputs.trade_table import trade_table
from preflight.kinds import PRINTING_KINDS

Kinds = Annotated[tuple[str, ...], some_words(*PRINTING_KINDS)]


class WashWeights(ClosedKeys):
    """By what follows what on a unit."""

    light_to_dark: Count = Field(alias="light to dark")
    dark_to_light: Count = Field(alias="dark to light")
    after_metallic: Count = Field(alias="after metallic")
    after_white: Count = Field(alias="after white")
    ink_system: Count = Field(alias="ink system")
    not_known: Count = Field(alias="not known")


class Weights(ClosedKeys):
    """Of the wishes, by the demand's name."""

    process_chain: Count = Field(alias="process-chain")
    metallic: Count
    double_hit_rule: Count = Field(alias="double-hit-rule")
    spot_out_of_process: Count = Field(alias="spot-out-of-process")
    cure_between: Count = Field(alias="cure-between")
    cure_before_coat: Count = Field(alias="cure-before-coat")
    light_before_heavy: Count = Field(alias="light-before-heavy")
    lamp: Count
    wash_up: WashWeights = Field(alias="wash-up")


class UnitOrder(ClosedKeys):
    """The table."""

    chain: Texts
    metallic: Annotated[str, word("first", "last", "by overlap")]
    metallic_overlap: Percent
    """Per cent of the metallic's area."""
    double_hit: Annotated[str, word("adjacent", "apart", "lamp between")]
    joint_mm: Length = Field(alias="joint")
    heavy: Percent
    lighter_by: Percent
    cure_needed: Kinds
    cure_wished: Kinds
    darkness: dict[Text, Number]
    weights: Weights


load_unit_order = trade_table("unit_order.yaml", UnitOrder)
"""The table of the house rules, the same one until its file changes."""

"""A press profile to fill in: the few keys that it needs with figures to put right, and all others behind a ``#``."""

from __future__ import annotations

from typing import Final

from preflight.drafting.yaml_text import SCHEMA, remark, setting, waiting

NAME: Final = "Press still to be described"


def press_draft() -> str:
    """The text of a press profile."""
    sections = (_HEAD, _NAME, _SHEET, _BOARD, _LINE)
    return "\n\n".join("\n".join(section) for section in sections) + "\n"


_HEAD: Final = (
    SCHEMA.format("press"),
    remark("A press profile. All figures are examples: put in those of your own press. A line with # right before its"),
    remark("key is left out until the # is taken away; what rests on a key that is left out is not checked."),
)
_NAME: Final = (setting(f"press: {NAME}", "as people call it; it is in every report"),)
_SHEET: Final = (
    setting("sheet:", "across the press x in the direction of travel"),
    waiting("  smallest: 500 x 350 mm", "a smaller sheet is a fault"),
    setting("  largest: 1000 x 700 mm", "a larger sheet is a fault"),
    waiting("  printable: 990 x 684 mm", "ink outside it is a fault; measured from the gripper"),
    waiting("edges: {gripper: 10 mm, tail: 6 mm, sides: 5 mm}", "what cannot be printed along each edge"),
    waiting("plate: {size: 1020 x 780 mm, sheet_starts: 40 mm}", "for artwork that shows a sheet on its plate"),
)
_BOARD: Final = (waiting("board: {caliper: 0.25 mm to 0.9 mm}", "thinner and thicker board is a fault"),)
_LINE: Final = (
    setting("line:", "feeder to delivery; units are numbered in this order"),
    *[setting("  - unit: {inks: any}")] * 4,
    waiting("  - unit: {inks: any, never: [metallic]}", "a unit that takes all but some kinds"),
    waiting("  - unit: {inks: [process, spot]}", "a unit that is kept for some kinds"),
    waiting("  - lamp: uv", "between units: uv, led-uv, low-energy-uv"),
    waiting("  - coater: {takes: [uv, water-based], lays: [overall, cut blanket, plate]}"),
    waiting("  - delivery: [uv, uv]", "lamps and dryers in order; dryers: ir, hot-air"),
    waiting("cures: [uv]", "ink systems that it dries: uv, led-uv, low-energy-uv, oxidising"),
)

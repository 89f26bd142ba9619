"""Cautions for the crew: only the hazards that this job brings, in a line each.

They defer to local codes, makers' instructions and licensed practice, and replace none of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from preflight.inputs.run_table import GoodsWords
from preflight.kinds import UV_LAMPS
from preflight.setup.changeover import Changes
from preflight.setup.piles import Piles
from preflight.setup.press_plan import InDelivery, LampSet
from preflight.setup.run_request import RunRequest

DEFERS_TO: Final = "Local codes, makers' instructions and licensed practice come first."
CURED: Final = (*UV_LAMPS, "hybrid")
"""Ink systems that stay wet until a lamp cures them."""


@dataclass(frozen=True)
class Caution:
    """One hazard."""

    hazard: str
    says: str
    because: str
    """What of this job brings it."""


def cautions(
    request: RunRequest, changes: Changes, piles: Piles, words: GoodsWords, *, pulled: bool
) -> tuple[Caution, ...]:
    """The hazards of this job, those of lamps and inks first."""
    running = bool(request.plan.passes)
    return (
        *_of_lamps(request, changes),
        *_of_work(changes, piles, running=running, pulled=pulled),
        *_of_food(request, words),
    )


def lit_lamps(request: RunRequest) -> tuple[str, ...]:
    """Kinds of the lamps that are on, each once."""
    lit: dict[str, None] = {}
    for station in (station for one in request.plan.passes for station in one.stations):
        if isinstance(station, LampSet) and station.level != "off" and station.lamp in UV_LAMPS:
            lit[station.lamp] = None
        elif isinstance(station, InDelivery):
            for lamp, level in zip(station.holds, station.levels, strict=False):
                if lamp in UV_LAMPS and level != "off":
                    lit[lamp] = None
    return tuple(lit)


def _of_lamps(request: RunRequest, changes: Changes) -> Iterator[Caution]:
    lit = lit_lamps(request)
    if lit:
        says = "Keep lamp covers and interlocks shut; no direct or mirrored view, skin covered."
        yield Caution("UV light", says, f"lamps that are on: {', '.join(lit)}")
    if "uv" in lit:
        yield Caution("ozone", "Run the extraction whenever these lamps are on.", "mercury lamps are on")
    wet = [request.system_of(unit) for unit in request.printing] + list(request.coatings)
    cured = [system for system in dict.fromkeys(wet) if system in CURED]
    if cured:
        says = "Uncured ink and coating harm the skin: gloves as the maker names them, soiled clothes off at once."
        yield Caution("uncured ink on skin", says, f"{', '.join(map(str, cured))} ink or coating")
    washed = [step.step for step in changes.steps if step.step in ("wash_up", "blanket_wash")]
    if washed or request.plan.wash_ups:
        hot = request.press.lamps  # lit for this job, or for the one before
        says = "Wash with solvent only once lamps have cooled" if hot else "No flame or spark where solvent is used"
        yield Caution("washing with solvent", f"{says}; soiled rags into a closed bin.", "units or blankets are washed")


def _of_work(changes: Changes, piles: Piles, *, running: bool, pulled: bool) -> Iterator[Caution]:
    if running:
        says = "Guards shut before anything moves; stop before reaching in, inch only with the hold-to-run button."
        by_hand = any(step.hands for step in changes.steps)
        yield Caution("nips and guards", says, "work by hand at the press" if by_hand else "a press that runs")
    if piles.heaviest_kg is not None:
        says = "Move piles with lifting gear; stand clear. Local limits hold for what is lifted by hand."
        yield Caution("mass of piles", says, f"the heaviest pile weighs {piles.heaviest_kg:.0f} kg with its pallet")
    if pulled:
        says = "Pull sheets at the sampling device only, never from the moving pile."
        yield Caution("pulling sheets", says, "sheets are pulled on the run")


def _of_food(request: RunRequest, words: GoodsWords) -> Iterator[Caution]:
    if request.food(words):
        says = "Printed side away from the food; nothing set off or passed through the board; clean hands, no eating."
        yield Caution("food contact", says, "the goods are food")

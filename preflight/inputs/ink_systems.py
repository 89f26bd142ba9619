"""rules/ink_systems.yaml: which ink systems run together, and what lamps, coatings and boards each goes with."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field

from preflight.inputs.fields import ClosedKeys, OrEmpty, some_words, word
from preflight.inputs.ticket import SURFACES
from preflight.inputs.trade_table import trade_table
from preflight.kinds import COATINGS, INK_SYSTEMS, UV_LAMPS

ANSWERS: Final = ("yes", "query", "no")
System = Annotated[str, word(*INK_SYSTEMS)]
Systems = Annotated[tuple[str, ...], some_words(*INK_SYSTEMS)]
Answer = Annotated[str, word(*ANSWERS)]
CoatingAnswer = Annotated[str, word(*ANSWERS, "primer")]
Lamp = Annotated[str, word(*UV_LAMPS)]
Surface = Annotated[str, word(*SURFACES)]
CoatingWord = Annotated[str, word(*COATINGS, open_list=True)]


class Apart(ClosedKeys):
    """What may be of another system than its pass: own system to those of the pass."""

    effect_varnish: Annotated[dict[System, Systems], OrEmpty] = Field(default_factory=dict, alias="effect varnish")
    primer: Annotated[dict[System, Systems], OrEmpty] = Field(default_factory=dict)
    foil_adhesive: Annotated[dict[System, Systems], OrEmpty] = Field(default_factory=dict, alias="foil adhesive")


class InkSystems(ClosedKeys):
    """The table."""

    mix: dict[System, Systems]
    apart: Annotated[Apart, OrEmpty] = Field(default_factory=lambda: Apart.model_validate({}))
    lamps: dict[System, dict[Lamp, Answer]]
    coatings: Annotated[dict[System, dict[CoatingWord, CoatingAnswer]], OrEmpty] = Field(default_factory=dict)
    surfaces: Annotated[dict[System, dict[Surface, Answer]], OrEmpty] = Field(default_factory=dict)

    def run_together(self, one: str, other: str) -> bool:
        """Whether two systems may print in one pass."""
        return one == other or other in self.mix.get(one, ()) or one in self.mix.get(other, ())

    def cured_by(self, system: str, lamp: str) -> str:
        """``yes``, ``query`` or ``no``."""
        return self.lamps.get(system, {}).get(lamp, "no")

    def under_coating(self, system: str, coating: str) -> str:
        """``yes``, ``query``, ``no`` or ``primer``."""
        return self.coatings.get(system, {}).get(coating, "yes")

    def on_surface(self, system: str, surface: str) -> str:
        """``yes``, ``query`` or ``no``."""
        return self.surfaces.get(system, {}).get(surface, "yes")


load_ink_systems = trade_table("ink_systems.yaml", InkSystems)
"""The table of the house rules, the same one until its file changes."""

"""What is asked about a run: the plan of the units and plain figures of press, sheet and ticket."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from preflight.inputs.press import Press
from preflight.inputs.run_table import GoodsWords
from preflight.quantities import Size
from preflight.setup.plan_request import OnPress
from preflight.setup.press_plan import OnUnit, PressPlan


@dataclass(frozen=True)
class RunRequest:
    """A planned job. None: nobody says, and what needs it is not checked."""

    plan: PressPlan
    press: Press
    sheet: Size | None = None
    """Across the press x along its travel."""
    caliper_mm: float | None = None
    weight_gsm: float | None = None
    surface: str | None = None
    """Of the board: ``white``, ``metallised`` …"""
    ups: int | None = None
    """Blanks on a sheet."""
    quantity: int | None = None
    """Of cartons, all versions together."""
    quantities: Mapping[str, int] = field(default_factory=dict)
    """Cartons of single versions."""
    versions: tuple[str, ...] = ()
    """Of the job, where it has several; those without a quantity of their own share what is left evenly."""
    ups_by_version: Mapping[str, int] = field(default_factory=dict)
    """Blanks of each version on one sheet; empty where versions are not combined on a sheet."""
    goods: str | None = None
    """``goods.type`` of the ticket."""
    contact: str | None = None
    """``goods.contact`` of the ticket."""
    ink_system: str | None = None
    """Of the job, for units whose own is not known."""
    cover: Mapping[str, float] = field(default_factory=dict)
    """By separation: inked fraction of the SHEET, 0..1, weighted by tint."""
    coating: str | None = None
    """Kind of the ticket's coating."""
    coating_cover: float | None = None
    """Coated fraction of the sheet."""
    coat_weight_gsm: float | None = None
    """Of the coating as it is dry."""
    effects: frozenset[str] = frozenset()
    """Varnishes that work against the coat over them."""
    before: OnPress | None = None
    """What was on the press."""

    @property
    def printing(self) -> tuple[OnUnit, ...]:
        """Every unit that prints, of all passes."""
        return tuple(unit for one in self.plan.passes for unit in one.plates)

    @property
    def coatings(self) -> tuple[str, ...]:
        """Kinds that coaters lay, each once."""
        laid = [coater.coating for one in self.plan.passes for coater in one.coaters if coater.coating is not None]
        return tuple(dict.fromkeys(laid))

    @property
    def sheet_m2(self) -> float | None:
        """Area of the sheet."""
        return None if self.sheet is None else self.sheet.across_mm * self.sheet.along_mm / 1e6

    @property
    def sheet_kg(self) -> float | None:
        """Mass of one sheet of board."""
        return None if self.sheet is None or self.weight_gsm is None else mass_of_sheet(self.sheet, self.weight_gsm)

    def system_of(self, unit: OnUnit) -> str | None:
        """Ink system of what is on the unit."""
        return unit.ink_system or self.ink_system

    def food(self, words: GoodsWords) -> bool | None:
        """Whether the goods are food; None where neither the ticket's words nor its contact tell."""
        kinds = words.kinds_of(self.goods or "")
        if self.contact in ("direct", "indirect") or "food" in kinds:
            return True
        return False if self.contact == "none" or kinds else None


def mass_of_sheet(sheet: Size, weight_gsm: float) -> float:
    """Kilograms of one sheet of board."""
    return sheet.across_mm * sheet.along_mm / 1e6 * weight_gsm / 1000

"""The press profile as a typed model: what the press can take, what stands in it, what it can dry.

Stations are given as ``line`` (feeder to delivery) or in the short form ``units``, ``coaters`` and
``delivery_lamps``; ``Press.line`` is the same tuple of numbered stations either way.

All lengths are mm. ``None`` means that the profile does not say, and what rests on it is not checked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Final, Literal

from pydantic import Field, ValidationInfo, field_validator

from preflight.errors import NotUnderstood
from preflight.inputs.fields import (
    CaliperRange,
    ClosedKeys,
    Count,
    Length,
    Mass,
    Minutes,
    Number,
    OrEmpty,
    Parsed,
    Percent,
    SheetSize,
    Speed,
    Text,
    YesNo,
    known_word,
    one_or_more,
    some_words,
    spellings,
    word,
)
from preflight.kinds import COATINGS, DRYERS, INK_SYSTEMS, PRINTING_KINDS, UV_LAMPS
from preflight.quantities import Range, Size

LAYS: Final = ("overall", "cut blanket", "plate")

STEPS: Final = ("plate_change", "wash_up", "blanket_wash", "ink_preset", "coater_change", "make_ready")
"""Steps of a change of jobs that ``times`` has minutes for."""

NOT_ACTED_ON: Final = ("register", "camera")
"""Keys of the profile that are read and kept but that neither a rule nor the set-up uses yet; strike out what is."""


# Stations as they stand in the press -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Unit:
    """A printing unit; number 1 is the first that the sheet meets."""

    number: int
    inks: tuple[str, ...] | None = None
    """Kinds that the unit is kept for; None takes any."""
    never: tuple[str, ...] = ()

    def takes(self, kind: str) -> bool:
        """Whether ink of this kind may stand on the unit."""
        return kind not in self.never and (self.inks is None or kind in self.inks)


@dataclass(frozen=True)
class Lamp:
    """A curing lamp, between stations or in the delivery."""

    kind: str
    after_unit: int
    """Printing units that the sheet has passed before it."""
    where: Literal["interdeck", "delivery"] = "interdeck"


@dataclass(frozen=True)
class Dryer:
    """A dryer (``ir``, ``hot-air``), between stations or in the delivery."""

    kind: str
    after_unit: int
    where: Literal["interdeck", "delivery"] = "interdeck"


@dataclass(frozen=True)
class Coater:
    """A coating station; number 1 is the first."""

    number: int
    takes: tuple[str, ...] | None
    """Coatings it can run; None where the profile does not say."""
    lays: tuple[str, ...] | None
    """``overall``, ``cut blanket``, ``plate``; None where the profile does not say."""
    after_unit: int


@dataclass(frozen=True)
class Turn:
    """The perfecting drum: units behind it print the other side when it turns the sheet."""

    after_unit: int
    caliper: Range | None = None
    """Board that can be turned, in mm."""


@dataclass(frozen=True)
class Foil:
    """A cold-foil station."""

    after_unit: int
    widest_mm: float | None = None


@dataclass(frozen=True)
class Delivery:
    """The delivery with its lamps and dryers, in order."""

    holds: tuple[str, ...]
    after_unit: int


Station = Unit | Lamp | Dryer | Coater | Turn | Foil | Delivery


# The profile as it is written --------------------------------------------------------------------------------------


class UnitKeys(ClosedKeys):
    """``{inks: any}``, ``{inks: [process, spot]}``, ``{inks: any, never: [metallic]}``."""

    inks: Annotated[
        tuple[str, ...] | None,
        Parsed(lambda value: _kinds_or_any(value), one_or_more({"enum": ["any", *spellings(PRINTING_KINDS)]})),
    ] = None
    never: Annotated[tuple[str, ...], some_words(*PRINTING_KINDS)] = ()


class ShortUnit(UnitKeys):
    """A unit of the short form; ``lamp`` stands for an interdeck lamp after it."""

    lamp: Annotated[str | None, Parsed(lambda value: _lamp_kind(value), {"enum": [True, False, *UV_LAMPS]})] = None
    """Kind of the lamp, ``any`` where only its presence is stated."""


class CoaterKeys(ClosedKeys):
    """``{takes: [uv, water-based], lays: [overall, cut blanket, plate]}``."""

    takes: Annotated[tuple[str, ...], some_words(*COATINGS, open_list=True)] | None = None
    lays: Annotated[tuple[str, ...], some_words(*LAYS)] | None = None


class TurnKeys(ClosedKeys):
    """``{}`` or ``{caliper: 0.1 mm to 0.6 mm}``."""

    caliper: CaliperRange | None = None


class FoilKeys(ClosedKeys):
    """``{}`` or ``{widest: 740 mm}``."""

    widest: Length | None = None


class LineItem(ClosedKeys):
    """One station; exactly one of the keys."""

    unit: Annotated[UnitKeys, OrEmpty] | None = None
    lamp: Annotated[str, word(*UV_LAMPS)] | None = None
    dryer: Annotated[str, word(*DRYERS)] | None = None
    coater: Annotated[CoaterKeys, OrEmpty] | None = None
    turn: Annotated[TurnKeys, OrEmpty] | None = None
    foil: Annotated[FoilKeys, OrEmpty] | None = None
    delivery: Annotated[tuple[str, ...], some_words(*UV_LAMPS, *DRYERS)] | None = None


class Sheet(ClosedKeys):
    """Sheets that the press can run: across x along travel."""

    smallest: SheetSize | None = None
    largest: SheetSize
    printable: SheetSize | None = None
    """Never more than this is printed, centred across, measured from the gripper edge."""

    @field_validator("largest", "printable")
    @classmethod
    def _in_order(cls, size: Size | None, info: ValidationInfo) -> Size | None:
        small, large = info.data.get("smallest"), info.data.get("largest")
        if info.field_name == "largest" and small and size:
            _fits(small, size, f"a size no smaller than sheet.smallest ({small})")
        elif size and large:
            _fits(size, large, f"a size within sheet.largest ({large})")
        return size


class Edges(ClosedKeys):
    """What cannot be printed along each edge of the sheet, in mm."""

    gripper: Length | None = None
    tail: Length | None = None
    sides: Length | None = None


class Plate(ClosedKeys):
    """The printing plate."""

    size: SheetSize | None = None
    sheet_starts: Length | None = None
    """From the plate's leading edge to the sheet's gripper edge, in mm."""


class BoardRange(ClosedKeys):
    """The board that the press takes."""

    caliper: CaliperRange | None = None


class InkKeys(ClosedKeys):
    """The zones of the ink duct, across the press."""

    count: Count
    pitch: Length
    first: Annotated[str, word("operator", "drive")] | None = None
    """At which side the press's own numbering begins."""


class ColourBar(ClosedKeys):
    """Where the colour bar stands on the sheet."""

    edge: Annotated[str, word("tail", "gripper")] = "tail"
    depth: Length


class Pile(ClosedKeys):
    """Greatest piles; heights are of board alone, without the pallet. Defaults are common practice for the format."""

    feeder: Length = 1150.0
    delivery: Length = 1150.0
    mass: Mass | None = None
    """Greatest mass of a pile with its pallet, in kg."""
    non_stop: YesNo = False
    """Piles are changed while the press runs, at feeder and delivery."""
    board: Length | None = None
    """Thickness of the boards that part a pile."""


class Times(ClosedKeys):
    """Set-up times in minutes; what is not given is worked out by ``rules/run.yaml``."""

    plate_change: Minutes | None = None
    """All plates of a job, changed in one go."""
    wash_up: Minutes | None = None
    """One unit from one ink to another."""
    make_ready: Minutes | None = None
    """From the first pull to a good sheet."""
    blanket_wash: Minutes | None = None
    ink_preset: Minutes | None = None
    coater_change: Minutes | None = None
    at_once: tuple[Annotated[tuple[str, ...], some_words(*STEPS)], ...] = ()
    """Steps that the press does at the same time."""


class Wash(ClosedKeys):
    """Minutes to wash a unit, by what follows what; ``times.wash_up`` where it is not given."""

    light_to_dark: Minutes | None = Field(None, alias="light to dark")
    dark_to_light: Minutes | None = Field(None, alias="dark to light")
    after_metallic: Minutes | None = Field(None, alias="after metallic")
    after_white: Minutes | None = Field(None, alias="after white")
    ink_system: Minutes | None = Field(None, alias="ink system")
    """From one ink system to another, the rollers and blankets included."""


class Camera(ClosedKeys):
    """Sheet inspection: ``{pixels: 8192, across: 1000 mm, factor: 4}`` or ``{pixel: 0.13 mm}``."""

    pixels: Count | None = None
    across: Length | None = None
    factor: Number | None = None
    """Pixels that the smallest fault it finds covers."""
    pixel: Length | None = None


class DieCutter(ClosedKeys):
    """The die-cutter that follows."""

    largest: SheetSize | None = None
    gripper: Length | None = None
    tail: Length | None = None
    sides: Length | None = None
    waste_strip: Length | None = None
    """Least width of a strip of waste."""


class CoatingPlate(ClosedKeys):
    """How a coating plate or a cut blanket is made."""

    choke: Length | None = None
    """How far the coat stays back from what is to stay clear, in mm."""
    stretch: Percent | None = None
    """By how much it is made shorter along the travel, since it is stretched round its cylinder."""
    seam: Length | None = None
    """How far the coat stays back from the crease that a glue flap hangs on, where that is more than the choke."""
    gutters: Annotated[str, word("coated", "bare")] | None = None
    """Whether the waste between the blanks is coated too; it is, where nobody says."""


class Waste(ClosedKeys):
    """Sheets that do not count; what is not given is worked out by ``rules/run.yaml``."""

    make_ready: Count | None = None
    running: Percent | None = None


class Press(ClosedKeys):
    """A press profile."""

    name: Text = Field(alias="press")
    sheet: Sheet
    edges: Annotated[Edges, OrEmpty] = Edges()
    plate: Annotated[Plate, OrEmpty] = Plate()
    board: Annotated[BoardRange, OrEmpty] = BoardRange()
    line_keys: tuple[LineItem, ...] | None = Field(None, alias="line")
    unit_keys: tuple[Annotated[ShortUnit, OrEmpty], ...] | None = Field(None, alias="units", validate_default=True)
    coater_keys: tuple[Annotated[CoaterKeys, OrEmpty], ...] | None = Field(None, alias="coaters")
    delivery_lamps: Count | None = None
    cures: Annotated[tuple[str, ...], some_words(*INK_SYSTEMS)] | None = None
    """Ink systems that it can dry."""
    top_speed: Speed | None = None
    """Sheets an hour."""
    ink_keys: InkKeys | None = None
    side_lay: Annotated[str, word("operator", "drive", "either")] | None = None
    colour_bar: ColourBar | None = None
    pile: Annotated[Pile, OrEmpty] = Pile()
    times: Annotated[Times, OrEmpty] = Times()
    waste: Annotated[Waste, OrEmpty] = Waste()
    wash: Annotated[Wash, OrEmpty] = Field(default_factory=lambda: Wash.model_validate({}))
    crew: Count | None = None
    """Hands at the press."""
    operator_side: Annotated[str, word("left", "right")] | None = None
    """Of the printed face with the gripper edge down; left where it does not say."""
    stock: tuple[SheetSize, ...] = ()
    """Sheets that the plant keeps."""
    register_mm: Length | None = Field(None, alias="register")
    """Register error that the press holds."""
    camera: Annotated[Camera, OrEmpty] = Camera()
    die_cutter: Annotated[DieCutter, OrEmpty] = DieCutter()
    coating_plate: Annotated[CoatingPlate, OrEmpty] = CoatingPlate()

    @field_validator("line_keys")
    @classmethod
    def _line_holds_units(cls, line: tuple[LineItem, ...] | None) -> tuple[LineItem, ...] | None:
        if line is None:
            return None
        for place, item in enumerate(line):
            if len(item.model_fields_set) != 1:
                given = ", ".join(sorted(item.model_fields_set)) or "nothing"
                raise NotUnderstood(f"one station an entry (entry {place + 1} has {given})")
        if not any("unit" in item.model_fields_set for item in line):
            raise NotUnderstood("at least one unit in the line")
        return line

    @field_validator("unit_keys")
    @classmethod
    def _one_form(cls, units: tuple[ShortUnit, ...] | None, info: ValidationInfo) -> tuple[ShortUnit, ...] | None:
        if units is None and info.data.get("line_keys", ()) is None:
            raise NotUnderstood("the stations of the press, as line or as units")
        if units is not None and info.data.get("line_keys", ()) is not None:  # absent: given, and wrong
            raise NotUnderstood("either line or units, not both")
        if units is not None and not units:
            raise NotUnderstood("at least one unit")
        return units

    @field_validator("coater_keys", "delivery_lamps")
    @classmethod
    def _short_form_only(cls, value: object, info: ValidationInfo) -> object:
        if value is not None and info.data.get("line_keys") is not None:
            raise NotUnderstood("coaters and delivery lamps within line, where line is given")
        return value

    @property
    def line(self) -> tuple[Station, ...]:
        """Stations from feeder to delivery."""
        return tuple(_stations(self.line_keys) if self.line_keys is not None else self._short_stations())

    @property
    def units(self) -> tuple[Unit, ...]:
        """The printing units; number 1 first."""
        return tuple(station for station in self.line if isinstance(station, Unit))

    @property
    def unit_count(self) -> int:
        """How many printing units there are."""
        return len(self.units)

    @property
    def coaters(self) -> tuple[Coater, ...]:
        """The coating stations; number 1 first."""
        return tuple(station for station in self.line if isinstance(station, Coater))

    @property
    def lamps(self) -> tuple[Lamp, ...]:
        """Every curing lamp: interdeck lamps, then those in the delivery."""
        lamps = [station for station in self.line if isinstance(station, Lamp)]
        for delivery in self.line:
            if isinstance(delivery, Delivery):
                lamps += [Lamp(k, delivery.after_unit, "delivery") for k in delivery.holds if k in UV_LAMPS]
        return tuple(lamps)

    @property
    def dryers(self) -> tuple[Dryer, ...]:
        """Every infra-red or hot-air dryer: interdeck ones, then those in the delivery."""
        dryers = [station for station in self.line if isinstance(station, Dryer)]
        for delivery in self.line:
            if isinstance(delivery, Delivery):
                dryers += [Dryer(k, delivery.after_unit, "delivery") for k in delivery.holds if k in DRYERS]
        return tuple(dryers)

    @property
    def turns(self) -> tuple[Turn, ...]:
        """Perfecting drums."""
        return tuple(station for station in self.line if isinstance(station, Turn))

    @property
    def foils(self) -> tuple[Foil, ...]:
        """Cold-foil stations."""
        return tuple(station for station in self.line if isinstance(station, Foil))

    def not_acted_on(self) -> list[str]:
        """Keys that the profile gives and that nothing is decided by yet, as written in it."""
        stations = {
            "foil": self.foils,
            "foil.widest": [foil for foil in self.foils if foil.widest_mm is not None],
        }
        return [
            *(key for key in NOT_ACTED_ON if key in self.model_fields_set),
            *(key for key, there in stations.items() if there),
        ]

    def _short_stations(self) -> Iterator[Station]:
        """The short form: coaters stand after the units, lamps that name no kind are of the kind it cures."""
        lamp_kind = next((kind for kind in self.cures or () if kind in UV_LAMPS), "uv")
        units = self.unit_keys or ()
        for number, unit in enumerate(units, 1):
            yield Unit(number, unit.inks, unit.never)
            if unit.lamp:
                yield Lamp(lamp_kind if unit.lamp == "any" else unit.lamp, number)
        for number, coater in enumerate(self.coater_keys or (), 1):
            yield Coater(number, coater.takes, coater.lays, len(units))
        if self.delivery_lamps is not None:
            yield Delivery((lamp_kind,) * min(self.delivery_lamps, 20), len(units))


def _stations(items: tuple[LineItem, ...]) -> Iterator[Station]:
    """Numbers the stations of the long form."""
    unit = coater = 0
    for item in items:
        if "unit" in item.model_fields_set:
            unit += 1
            keys = item.unit or UnitKeys()
            yield Unit(unit, keys.inks, keys.never)
        elif "coater" in item.model_fields_set:
            coater += 1
            yield Coater(coater, *((item.coater.takes, item.coater.lays) if item.coater else (None, None)), unit)
        elif item.lamp:
            yield Lamp(item.lamp, unit)
        elif item.dryer:
            yield Dryer(item.dryer, unit)
        elif "turn" in item.model_fields_set:
            yield Turn(unit, item.turn.caliper if item.turn else None)
        elif "foil" in item.model_fields_set:
            yield Foil(unit, item.foil.widest if item.foil else None)
        else:
            yield Delivery(item.delivery or (), unit)


def _kinds_or_any(value: object) -> tuple[str, ...] | None:
    if value is None or value in ("any", ["any"]):
        return None
    items = value if isinstance(value, list | tuple) else [value]
    if not items:
        raise NotUnderstood("any, or at least one kind")
    return tuple(known_word(item, PRINTING_KINDS) for item in items)


def _lamp_kind(value: object) -> str | None:
    if value is None or str(value).lower() in ("false", "no"):
        return None
    if str(value).lower() in ("true", "yes"):
        return "any"
    return known_word(value, UV_LAMPS)


def _fits(small: Size, large: Size, expected: str) -> None:
    if small.across_mm > large.across_mm or small.along_mm > large.along_mm:
        raise NotUnderstood(expected)

"""The job ticket as a typed model: what the job is, as far as somebody wrote it down.

Every key is optional. ``None`` (or nothing in it) means that the ticket does not say, and what rests on it is not
checked. Paths are resolved against the folder of the ticket when it is loaded from a file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import Field, ValidationInfo, field_validator

from preflight.errors import NotUnderstood
from preflight.inputs.fields import (
    AlsoWritten,
    Caliper,
    ClosedKeys,
    Count,
    Length,
    Number,
    OrEmpty,
    Parsed,
    SheetSize,
    SignedNumber,
    Text,
    TextOrBlank,
    Texts,
    Weight,
    YesNo,
    each_of,
    known_word,
    plain_text,
    short_form,
    spellings,
    word,
)
from preflight.kinds import COATINGS, INK_SYSTEMS, KINDS, NON_PRINTING_KINDS
from preflight.quantities import Size, count, length_mm
from preflight.suggest import nearest

SURFACES: Final = ("white", "grey", "kraft", "metallised", "film")
ABSORBING_NOTHING: Final = ("metallised", "film")
"""Surfaces of board on which ink dries by itself or by a lamp, and never by sinking in."""

GRAINS: Final = ("across", "along")

BACK: Final = ("back", "inside", "reverse", "2")
"""What people call the second side of a sheet."""

NOT_ACTED_ON: Final = (
    "artwork_list.page",
    "artwork_list.up",
    "die.file",
    "die.number",
    "die.issue",
)
"""Keys of the ticket that are read and kept but that neither a rule nor the set-up uses yet; strike out what is."""

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class UnitEntry:
    """What the ticket puts on a unit."""

    number: int
    name: str | None
    """The separation; None is an idle unit."""
    overall: bool = False
    """Printed all over, and never shown in the PDF."""


def _path(value: object) -> Path:
    return value if isinstance(value, Path) else Path(plain_text(value))


def _box(value: object) -> Box:
    expected = "four numbers in mm with decimal points, [left, bottom, right, top]"
    if not isinstance(value, list | tuple) or len(value) != 4:
        raise NotUnderstood(expected)
    left, bottom, right, top = each_of(length_mm, value)
    if left == right or bottom == top:
        raise NotUnderstood(f"{expected}, with some width and height")
    if left > right or bottom > top:
        raise NotUnderstood(f"{expected}: right over left and top over bottom, not width and height")
    return (left, bottom, right, top)


def _point(value: object) -> tuple[float, float]:
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise NotUnderstood("two numbers in mm with decimal points, [across, up]")
    across, up = each_of(length_mm, value)
    return (across, up)


def _day(value: object) -> date:
    try:
        return value if isinstance(value, date) else date.fromisoformat(plain_text(value))
    except ValueError:
        raise NotUnderstood("a date such as 2030-01-31") from None


def _number_up(value: object) -> int:
    ups = count(value)
    if not ups:
        raise NotUnderstood("at least one blank on a sheet")
    return ups


def _quarter_turn(value: object) -> int:
    turns = count(value)
    if turns not in (0, 90, 180, 270):
        raise NotUnderstood("0, 90, 180 or 270 degrees, counter-clockwise")
    return turns


def _grain(value: object) -> str:
    """Long and short grain go by the longer side of a sheet, which may lie either way on the press."""
    if plain_text(value).lower().replace("-", " ").removesuffix(" grain") in ("long", "short"):
        raise NotUnderstood("across or along: whether the fibres run across the press or along the sheet's travel")
    return known_word(value, GRAINS)


def _digest(value: object) -> str:
    digest = plain_text(value).lower()
    if not 6 <= len(digest) <= 64 or set(digest) - set("0123456789abcdef"):
        raise NotUnderstood("the first 6 or more figures of the artwork's SHA-256")
    return digest


def _is_none(value: object) -> bool:
    """The word ``none``; a YAML null is something else."""
    return isinstance(value, str) and value.lower() == "none"


def _name_or_overall(value: object) -> tuple[str, bool] | None:
    """``Copper``, ``null`` or ``{overall: Gloss Varnish}``."""
    if value is None:
        return None
    if isinstance(value, Mapping):
        if set(value) != {"overall"}:
            raise NotUnderstood("a separation, null for an idle unit, or {overall: name}")
        return plain_text(value["overall"]), True
    return plain_text(value), False


_LENGTHS: Final = {"type": "array", "items": {"type": ["number", "string"]}}
FilePath = Annotated[Path, Parsed(_path, {"type": "string"})]
BoxMm = Annotated[Box, Parsed(_box, {**_LENGTHS, "minItems": 4, "maxItems": 4})]
PointMm = Annotated[tuple[float, float], Parsed(_point, {**_LENGTHS, "minItems": 2, "maxItems": 2})]
Day = Annotated[date, Parsed(_day, {"type": "string", "format": "date"})]
Digest = Annotated[str, Parsed(_digest, {"type": ["string", "number"], "examples": ["3f9a12"]})]
Kind = Annotated[str, word(*KINDS)]
OnUnit = Annotated[
    tuple[str, bool] | None,
    Parsed(
        _name_or_overall,
        {
            "anyOf": [
                {"type": ["string", "number", "null"]},
                {
                    "type": "object",
                    "properties": {"overall": {"type": "string"}},
                    "required": ["overall"],
                    "additionalProperties": False,
                },
            ]
        },
    ),
]


class ArtworkEntry(ClosedKeys):
    """One file of the job."""

    file: FilePath
    page: Count | None = None
    side: Text | None = None
    version: Text | None = None
    up: Count | None = None

    @field_validator("file")
    @classmethod
    def _beside_ticket(cls, path: Path, info: ValidationInfo) -> Path:
        return _resolved(path, info)

    @property
    def is_back(self) -> bool:
        """Whether the file prints the second side of the sheet; the first where the ticket does not say so."""
        return (self.side or "").strip().casefold() in BACK


class TicketDie(ClosedKeys):
    """Where the die lines are: by the names they are drawn in, or in a file of their own."""

    lines: Annotated[dict[Annotated[str, word(*NON_PRINTING_KINDS)], Texts], OrEmpty] = Field(default_factory=dict)
    """Role (cut, crease …) to the names of separations or layers."""
    file: FilePath | None = None
    number: Text | None = None
    issue: Text | None = None

    @field_validator("file")
    @classmethod
    def _beside_ticket(cls, path: Path | None, info: ValidationInfo) -> Path | None:
        return path and _resolved(path, info)


class TicketArea(ClosedKeys):
    """A place of the page that is treated apart, in mm from the lower-left corner of the page as displayed."""

    is_: Annotated[str, Parsed(lambda value: plain_text(value).lower(), {"type": "string"})] = Field(alias="is")
    """``glue flap``, ``code``, ``ink free`` … in small letters."""
    box: BoxMm
    blank: Count | None = None
    """The one blank that it is for; where left out, it holds for all blanks like the one that it lies on."""


class Board(ClosedKeys):
    """The board; caliper in mm, weight in g/m2."""

    grade: Text | None = None
    caliper: Caliper | None = None
    weight: Weight | None = None
    grain_on_blank: Annotated[str, word(*GRAINS, "any")] | None = None
    """How the fibres have to run on the blank as displayed; across its body creases where nobody says."""
    grain: Annotated[str, Parsed(_grain, {"type": "string", "enum": list(GRAINS)})] | None = None
    """Fibre direction, across the press or along the travel."""
    surface: Annotated[str, word(*SURFACES)] | None = None


class SheetKeys(ClosedKeys):
    """The sheet, across x along travel."""

    size: SheetSize | None = None


class SeparationNote(ClosedKeys):
    """What the names do not tell."""

    kind: Kind | None = None
    printed_over: YesNo | None = None
    """A metallic that other inks are meant to cover."""
    same_as: Text | None = None
    """The name that this one is another spelling of."""
    ink_system: Annotated[str, word(*INK_SYSTEMS)] | None = None
    """How this one dries, where that differs from the job's."""
    effect: YesNo | None = None
    """A varnish that works against the coat over it."""


class Aim(ClosedKeys):
    """What an ink is run to."""

    density: Number | None = None
    lab: tuple[SignedNumber, SignedNumber, SignedNumber] | None = None
    tolerance: Number | None = None
    """Greatest colour difference."""


class LaidBlank(ClosedKeys):
    """One blank of a layout that the ticket states: ``{x: 12 mm, y: 16 mm, turn: 180, version: Mint}``."""

    x: Length
    """From the sheet's edge at the operator side to the box of the turned cut, without bleed, in mm."""
    y: Length
    """From the gripper edge to that box, in mm."""
    turn: Annotated[int, Parsed(_quarter_turn, {"enum": [0, 90, 180, 270]})] = 0
    """Degrees counter-clockwise, the printed face seen with the gripper edge down."""
    version: Text | None = None


class LayoutKeys(ClosedKeys):
    """What the ticket says of the blanks on the sheet."""

    ups: Annotated[int, Parsed(_number_up, {"type": ["integer", "string"], "minimum": 1})] | None = None
    """Blanks on a sheet."""
    gutter: Length | None = None
    """Between the cuts of neighbours, in mm; 0 is a shared knife. Where left out, ``rules/layout.yaml`` has it."""
    gutter_along: Length | None = None
    """The same from one blank to the next along the travel, where it differs from ``gutter``."""
    bar: Annotated[str, word("tail", "gripper", "none")] | None = None
    """At which edge the colour bar stands; where left out, the press profile says."""
    versions: Annotated[str, word("together", "apart")] | None = None
    """Whether versions share a sheet, where the ticket does not lay them itself; one after the other if left out."""
    blanks: tuple[LaidBlank, ...] | None = None
    """A layout of the ticket's own, which is checked and never changed."""
    file: FilePath | None = None
    """A standing die, a DXF drawing in mm, which is checked and never changed."""

    @field_validator("file")
    @classmethod
    def _beside_ticket(cls, path: Path | None, info: ValidationInfo) -> Path | None:
        if path is not None and info.data.get("blanks"):
            raise NotUnderstood("either blanks or the file of a standing die, not both")
        return path and _resolved(path, info)

    @field_validator("blanks")
    @classmethod
    def _as_many(cls, blanks: tuple[LaidBlank, ...] | None, info: ValidationInfo) -> tuple[LaidBlank, ...] | None:
        ups = info.data.get("ups")
        if blanks is not None and not blanks:
            raise NotUnderstood("at least one blank")
        if blanks is not None and ups is not None and ups != len(blanks):
            raise NotUnderstood(f"{ups} blanks, as `ups` says (there are {len(blanks)})")
        return blanks

    @property
    def stated(self) -> bool:
        """Whether the ticket says where each blank lies."""
        return self.blanks is not None or self.file is not None


class Coating(ClosedKeys):
    """What the coater lays. ``clear`` None: nobody says what is left bare; empty: nothing is."""

    kind: Annotated[str, word(*COATINGS, open_list=True)] | None = None
    area: Text | None = None
    """``overall``, or the separation that shows the area."""
    clear: Annotated[Texts, AlsoWritten(lambda value: () if _is_none(value) else value, {"const": "none"})] | None = (
        None
    )

    @property
    def separation(self) -> str | None:
        """The separation that goes to the coater and needs no unit; None for an overall coating."""
        return None if self.area is None or self.area.lower() == "overall" else self.area

    @property
    def is_patterned(self) -> bool:
        """Whether the coater leaves something bare: a separation shows where it lays, or areas are to be clear."""
        return self.separation is not None or bool(self.clear)


class Goods(ClosedKeys):
    """What goes into the carton, and how it meets the print. None: nobody says."""

    type: Text | None = None
    contact: Annotated[str, word("none", "indirect", "direct")] | None = None
    """Whether food touches the carton (direct), or air and vapour between them (indirect)."""
    barrier: YesNo | None = None
    """A layer between print and goods that nothing gets through."""
    printed_side: Annotated[str, word("outside", "inside", "both")] | None = None
    low_migration: YesNo | None = None
    """Inks, coating and fount are a low-migration set."""
    line_clearance: Text | None = None
    """Who signed that nothing of the job before is left on the press."""
    versions_agreed: Text | None = None
    """Who in quality agreed that several versions of a medicine stand on one sheet."""


class Waiver(ClosedKeys):
    """A finding that somebody has agreed to."""

    rule: Text
    near: PointMm | None = None
    """A point within 5 mm of the place, on the page as displayed."""
    artwork: Digest | None = None
    """First figures of the SHA-256 of the file that was looked at."""
    reason: TextOrBlank | None = None
    by: TextOrBlank | None = None
    """Who agreed to it, and why; left blank, the report remarks upon it."""
    until: Day | None = None


class NothingCoated(Coating):
    """``coating: none``."""


class Ticket(ClosedKeys):
    """A job ticket."""

    ticket: Text | None = None
    revision: Text | None = None
    title: Text | None = None
    artwork_list: Annotated[
        tuple[Annotated[ArtworkEntry, short_form("file", {"type": "string"})], ...],
        AlsoWritten(lambda value: [value] if isinstance(value, str) else value or [], {"type": ["string", "null"]}),
    ] = Field((), alias="artwork")
    press: FilePath | None = None
    artwork_is: Annotated[str, word("one-up", "sheet", "plate")] | None = None
    gripper_edge: Annotated[str, word("bottom", "top", "left", "right")] | None = None
    """Of a sheet, as displayed."""
    die: Annotated[TicketDie, OrEmpty] = TicketDie()
    areas: tuple[TicketArea, ...] = ()
    ink_system: Annotated[str, word(*INK_SYSTEMS)] | None = None
    board: Annotated[Board, OrEmpty] = Board()
    sheet_keys: Annotated[SheetKeys, OrEmpty] = Field(SheetKeys(), alias="sheet")
    unit_list: tuple[OnUnit, ...] | None = Field(None, alias="units")
    separations: Annotated[
        dict[str, Annotated[SeparationNote, short_form("kind", {"enum": spellings(KINDS)})]], OrEmpty
    ] = Field(default_factory=dict)
    coating_keys: (
        Annotated[
            Coating,
            AlsoWritten(lambda value: NothingCoated() if _is_none(value) else value, {"const": "none"}),
        ]
        | None
    ) = Field(None, alias="coating")
    goods: Annotated[Goods, OrEmpty] = Goods()
    quantity: Count | None = None
    """Of cartons, all versions together."""
    quantities: Annotated[dict[str, Count], OrEmpty] = Field(default_factory=dict)
    """Cartons of each version."""
    layout: Annotated[LayoutKeys, OrEmpty] = LayoutKeys()
    units_fixed: YesNo = False
    """``units`` is an order, and not a wish."""
    changes: Texts | None = None
    """Separations that are said to differ from the revision before; None: nobody says."""
    aims: Annotated[dict[str, Aim], OrEmpty] = Field(default_factory=dict)
    """By separation."""
    powder: Text | None = None
    coat_weight: Weight | None = None
    """Of the coating as it is dry, in g/m2."""
    anilox: Text | None = None
    waivers: tuple[Waiver, ...] = ()

    @field_validator("press")
    @classmethod
    def _beside_ticket(cls, path: Path | None, info: ValidationInfo) -> Path | None:
        return path and _resolved(path, info)

    @field_validator("separations")
    @classmethod
    def _no_circles(cls, notes: dict[str, SeparationNote]) -> dict[str, SeparationNote]:
        for name in notes:
            seen, here = {name}, notes[name].same_as
            while here is not None:
                if here in seen:
                    raise NotUnderstood(f"names without a loop ({name} leads back to itself)")
                seen.add(here)
                here = notes[here].same_as if here in notes else None
        return notes

    @field_validator("quantities")
    @classmethod
    def _of_versions(cls, counts: dict[str, int], info: ValidationInfo) -> dict[str, int]:
        total = info.data.get("quantity")
        if total is not None and sum(counts.values()) > total:
            raise NotUnderstood(f"at most the quantity of {total} cartons in all versions together")
        versions = [entry.version for entry in info.data.get("artwork_list") or () if entry.version]
        for name in counts:
            if versions and name not in versions:
                raise NotUnderstood(f"versions of the artwork ({', '.join(versions)})", nearest(name, versions))
        return counts

    @property
    def artwork(self) -> Path | None:
        """The artwork, or the first file of a list."""
        return self.artwork_list[0].file if self.artwork_list else None

    @property
    def sheet(self) -> Size | None:
        """The sheet's size, across x along travel."""
        return self.sheet_keys.size

    @property
    def units(self) -> tuple[UnitEntry, ...] | None:
        """What stands on unit 1, 2, …; None where the ticket does not say."""
        if self.unit_list is None:
            return None
        return tuple(UnitEntry(number, *(entry or (None, False))) for number, entry in enumerate(self.unit_list, 1))

    @property
    def coating(self) -> Coating | None:
        """The coating; None where the ticket does not say, or says that nothing is coated."""
        return None if self.nothing_coated else self.coating_keys

    @property
    def nothing_coated(self) -> bool:
        """The ticket says ``coating: none``."""
        return isinstance(self.coating_keys, NothingCoated)

    def ink_of(self, name: str) -> str:
        """The name that a separation goes by once ``same_as`` has been followed."""
        while name in self.separations and (other := self.separations[name].same_as) is not None:
            name = other
        return name

    def not_acted_on(self, *, all_files: bool = False) -> list[str]:
        """Keys that the ticket gives and nothing is decided by yet; ``all_files``: every file of it is looked at."""
        given = ["artwork (files after the first)"] if len(self.artwork_list) > 1 and not all_files else []
        for key in NOT_ACTED_ON[1:] if all_files else NOT_ACTED_ON:  # then the page is that of each file
            head, _, rest = key.partition(".")
            part: Any = getattr(self, head)
            parts = part if isinstance(part, tuple) else part.values() if isinstance(part, Mapping) else [part]
            if any((getattr(each, rest, None) if rest else each) is not None for each in parts):
                given.append(key.replace("artwork_list", "artwork"))
        return given


def _resolved(path: Path, info: ValidationInfo) -> Path:
    folder = (info.context or {}).get("folder")
    return path if folder is None else Path(folder) / path.expanduser()

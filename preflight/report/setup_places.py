"""The stations of a set-up in words: what is on each unit, lamp, coater and in the delivery, and why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from preflight.kinds import DRYERS
from preflight.report import words

Document = Mapping[str, Any]

MINUS: Final = "\u2212"
NO_BREAK: Final = "\u00a0"


@dataclass(frozen=True)
class Reason:
    """Why something is where it is."""

    demand: str
    says: str


@dataclass(frozen=True)
class Place:
    """A station of the line, as it is written on the sheet."""

    what: Literal["unit", "lamp", "coater", "delivery"]
    head: str
    """``3``, ``coater 1``, ``lamp``, ``dryer``, ``delivery``."""
    name: str
    """The ink as the file has it, the coating, the lamp."""
    kind: str = ""
    """Its kind in words, with what is special: ``spot, 2nd hit``."""
    pattern: str = ""
    """Kind of the ink alone, which chooses the hatching."""
    idle: bool = False
    plate: str = ""
    coverage: str = ""
    density: str = ""
    lab: str = ""
    lines: tuple[str, ...] = ()
    """What else is set there: levels of lamps, what a coater lays."""
    blanks: tuple[str, ...] = ()
    """What nobody has said, for boxes to write in."""
    shown_as: str | None = None
    because: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class PassPlan:
    """The sheet once through the press."""

    number: int
    of: int
    places: tuple[Place, ...]


def passes_of(document: Document) -> tuple[PassPlan, ...]:
    """Every pass with its stations, feeder to delivery."""
    passes = (document.get("plan") or {}).get("passes") or ()
    return tuple(
        PassPlan(k + 1, len(passes), tuple(_place(station, document) for station in entry["stations"]))
        for k, entry in enumerate(passes)
    )


def _place(station: Document, document: Document) -> Place:
    because = reasons(station.get("because"))
    if "unit" in station:
        return _unit(station, because)
    if "lamp" in station:
        level = str(station.get("level") or "not stated")
        return Place(
            "lamp",
            "dryer" if station["lamp"] in DRYERS else "lamp",
            str(station["lamp"]),
            lines=(level,),
            because=because,
        )
    if "coater" in station:
        return _coater(station, document, because)
    return _delivery(station, because)


def _unit(station: Document, because: tuple[Reason, ...]) -> Place:
    name, kind = station.get("separation"), str(station.get("kind") or "")
    if name is None:
        told = str(station.get("idle") or "")
        return Place("unit", str(station["unit"]), "idle", told, idle=True, because=because)
    aims = station.get("aims") or {}
    lab = aims.get("lab")
    tolerance = aims.get("tolerance")
    aim = " ".join(f"{value:g}".replace("-", MINUS) for value in lab) if lab else ""
    return Place(
        "unit",
        str(station["unit"]),
        str(name),
        kind=_kind_words(station, kind),
        pattern=kind,
        plate=str(station.get("plate") or ""),
        coverage=words.per_cent(station.get("cover")) or "not known",
        density="" if aims.get("density") is None else f"{aims['density']:.2f}",
        lab=f"{aim} (ΔE{NO_BREAK}{tolerance:g})" if aim and tolerance is not None else aim,
        shown_as=station.get("shown_as"),
        because=because,
    )


def _kind_words(station: Document, kind: str) -> str:
    hit = station.get("hit") or 1
    parts = [
        kind or "kind not known",
        "2nd hit" if hit == 2 else "3rd hit" if hit == 3 else f"{hit}th hit" if hit > 3 else "",
        "effect" if station.get("effect") else "",
        "overall" if station.get("overall") else "",
        "back" if station.get("side") == "back" else "",
        str(station.get("ink_system") or ""),
    ]
    return ", ".join(part for part in parts if part)


def _coater(station: Document, document: Document, because: tuple[Reason, ...]) -> Place:
    number, coating = f"coater {station['coater']}", station.get("coating")
    if coating is None:
        return Place("coater", number, "idle", idle=True, because=because)
    settings = document.get("settings") or {}
    weight, anilox = settings.get("coat_weight_gsm"), settings.get("anilox")
    lays = [str(station["lays"])] if station.get("lays") else []
    lays += [f"area: {station['separation']}"] if station.get("separation") else []
    lays += [f"{weight:g} g/m²"] if weight is not None else []
    lays += [f"anilox {anilox}"] if anilox is not None else []
    blanks = [label for label, value in (("g/m²", weight), ("anilox", anilox)) if value is None]
    return Place("coater", number, str(coating), lines=tuple(lays), blanks=tuple(blanks), because=because)


def _delivery(station: Document, because: tuple[Reason, ...]) -> Place:
    holds, levels = station.get("delivery") or (), station.get("level") or ()
    each = [f"{lamp} {levels[k]}" if k < len(levels) else str(lamp) for k, lamp in enumerate(holds)]
    counted = [f"{count} x {lamp}" if count > 1 else lamp for lamp, count in Counter(each).items()]
    return Place("delivery", "delivery", "", lines=tuple(counted), because=because)


def reasons(told: object) -> tuple[Reason, ...]:
    """``because`` of a station: a list of demands with sentences, one sentence, or nothing."""
    if not told:
        return ()
    if isinstance(told, str):
        return (Reason("", told),)
    if isinstance(told, Mapping):
        return (Reason(str(told.get("demand") or ""), str(told.get("says") or "")),)
    return tuple(part for entry in told for part in reasons(entry)) if isinstance(told, Sequence) else ()

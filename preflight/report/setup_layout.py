"""Sheet layout, ink keys and coating plate of the set-up sheet in words, for all its forms alike.

Only the document is read in here, and any part of it may be missing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from preflight.findings import listed, with_and
from preflight.report import words

Document = Mapping[str, Any]

PATTERNS: Final = {
    "grid": "in plain rows", "tumbled": "tumbled", "interlocked": "interlocked", "meshing": "with meshing flaps",
}  # fmt: skip
MARKS: Final = {
    "register": "register mark", "side guide": "side-guide mark", "centre": "centre mark",
    "die-cut": "die-cutting mark", "label": "plate label", "unknown": "mark",
}  # fmt: skip
NO_CURVE: Final = "no curve yet"
MOST_SENTENCES: Final = 8


# Layout ------------------------------------------------------------------------------------------------------------


def layout_line(document: Document) -> str:
    """``6-up tumbled on 720 x 560 mm, 71 % of the sheet used``; empty where nothing is laid out."""
    layout = document.get("layout") or {}
    if not layout.get("blanks"):
        return ""
    pattern = PATTERNS.get(str(layout.get("pattern")), "")
    told = f"{layout['ups']}-up {pattern} on {words.size(layout.get('sheet_mm'))}".replace("  ", " ")
    share = layout.get("used_share")
    return f"{told}, {100 * share:.0f} % of the sheet used" if share is not None else told


def layout_sentences(document: Document) -> list[str]:
    """What is to be known of the layout besides: where it is from, why not more, gutters, turns, notes."""
    layout = document.get("layout") or {}
    if not layout.get("blanks"):
        return []
    origin = {
        "layout of the tool": "",
        "layout of the ticket": "Laid as the ticket says.",
        "standing die": "Laid as the standing die is.",
        "sheet from outside": "The sheet is from outside.",
    }.get(str(layout.get("is_from")), "")
    because = "" if origin else str(layout.get("because") or "")
    told = [origin, *(words.full(text) for text in (because, str(layout.get("why_not_more") or "")) if text)]
    gutters = layout.get("gutters_mm")
    if gutters:
        named = [
            f"{mm:g} mm {where}" if mm else f"a shared knife {where}"
            for mm, where in zip(gutters, ("side by side", "along the travel"), strict=True)
            if mm is not None
        ]
        told.append(f"Gutters: {with_and(named)}." if named else "")
    told += [_turns(layout), _versions(layout)]
    told += [str(note) for note in layout.get("notes") or ()]
    told += [words.full(f"Instead {other['says']}") for other in layout.get("alternatives") or ()]
    return [text for text in told if text][:MOST_SENTENCES]


def _turns(layout: Document) -> str:
    turns: dict[int, list[int]] = {}
    for k, blank in enumerate(layout["blanks"], 1):
        if blank.get("turn_deg"):
            turns.setdefault(int(blank["turn_deg"]), []).append(blank.get("number", k))
    told = [f"{_blanks(numbers)} by {turn}°" for turn, numbers in sorted(turns.items())]
    return f"Turned: {with_and(told)}." if told else ""


def _versions(layout: Document) -> str:
    counted = Counter(blank["version"] for blank in layout["blanks"] if blank.get("version"))
    return f"Versions: {with_and([f'{count} x {name}' for name, count in counted.items()])}." if counted else ""


def _blanks(numbers: Sequence[int]) -> str:
    return f"blank{'s' if len(numbers) > 1 else ''} {listed(list(map(str, numbers)), 8)}"


# Clear areas -------------------------------------------------------------------------------------------------------


def coating_sentences(document: Document) -> list[str]:
    """What stays bare of the coat and how the plate is made; nothing where no coater lays a pattern."""
    plate = document.get("coating_plate")
    if not plate:
        return []
    areas = document.get("clear_areas") or ()
    blanks = len({area["blank"] for area in areas})
    counted = Counter(area["is"] for area in areas)
    named = [f"{count} x {kind}" for kind, count in counted.items()]
    where = f"where {plate['separation']} shows it" if plate.get("separation") else "all over"
    told = [
        f"The plate coats {where}, {100 * plate['coated_share']:.0f} % of the sheet."
        if plate.get("coated_share") is not None
        else f"The plate coats {where}.",
        f"Bare on {_count(blanks, 'blank')}: {with_and(named)}." if named else "No clear area is known on any blank.",
        f"Choke {plate['choke_mm']:g} mm, in the drawing already."
        if plate.get("choke_mm") is not None
        else "Choke not known: the press profile does not say coating_plate: choke, and areas are drawn as they are.",
    ]
    if plate.get("seam_mm") is not None:
        told.append(f"The coat keeps {plate['seam_mm']:g} mm from the crease of glue flaps.")
    told.append(
        f"The plate is {plate['stretch_percent']:g} % shorter along the travel, in the drawing already."
        if plate.get("stretch_percent") is not None
        else "Stretch not known: the plate is drawn 1:1."
    )
    if plate.get("gutters") == "bare":
        told.append("Gutters are bare but for the bleed.")
    return told


def _count(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


# Ink keys ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class KeyRow:
    """The keys of one unit, in the order of the picture: from the left of the printed face, gripper edge down."""

    unit: str
    """``2``; empty where the unit is not known."""
    ink: str
    covers: tuple[float, ...]
    """0..1."""
    openings: tuple[float | None, ...] | None
    """Percent; None where the plant has no curve for it."""

    @property
    def heading(self) -> str:
        """What stands before the bars."""
        return ", ".join(part for part in (f"Unit {self.unit}" if self.unit else "", self.ink) if part)

    @property
    def shows(self) -> str:
        """What the numbers over the bars are."""
        return f"cover %, {NO_CURVE}" if self.openings is None else "opening %; the bar is the cover"

    @property
    def told(self) -> tuple[str, ...]:
        """A number for each key; nothing where there is no ink."""
        if self.openings is None:
            return tuple(_percent(cover) for cover in self.covers)
        return tuple("" if opening is None else f"{opening:.0f}" for opening in self.openings)


@dataclass(frozen=True)
class KeyBars:
    """The ink keys of a press as its crew sees them."""

    rows: tuple[KeyRow, ...]
    numbers: tuple[int, ...]
    """The press's own key numbers, from the left of the picture."""
    left: str
    right: str
    """``OPERATOR SIDE``, ``DRIVE SIDE``."""
    pitch_mm: float
    sheet_mm: float | None
    """Width of the sheet, its middle on the middle of the keys."""

    @property
    def curves(self) -> Literal["all", "some", "none"]:
        """Whether openings are known."""
        known = [row.openings is not None for row in self.rows]
        return "all" if all(known) else "some" if any(known) else "none"


def _percent(cover: float) -> str:
    if cover <= 0:
        return ""
    return "<1" if cover < 0.01 else f"{100 * cover:.0f}"


def key_bars(document: Document) -> KeyBars | None:
    """The ink keys; None where there are none in the document."""
    keys = document.get("ink_keys")
    if not keys or not keys.get("cover"):
        return None
    layout = document.get("layout") or {}
    mirrored = layout.get("operator_side") == "right"
    assumed = " (assumed)" if layout.get("operator_assumed") else ""
    count = int(keys["count"])
    numbers = list(range(1, count + 1)) if keys.get("first") != "drive" else list(range(count, 0, -1))
    left, right = f"OPERATOR SIDE{assumed}", f"DRIVE SIDE{assumed}"
    openings = keys.get("opening_percent") or {}
    rows = []
    for unit, name, called in _units(document, list(keys["cover"])):
        covers, opened = keys["cover"][name], openings.get(called)
        rows.append(
            KeyRow(
                unit,
                name,
                tuple(covers[::-1] if mirrored else covers),
                None if opened is None else tuple(opened[::-1] if mirrored else opened),
            )
        )
    size = layout.get("sheet_mm") or (document.get("sheet") or {}).get("mm")
    return KeyBars(
        tuple(rows),
        tuple(numbers[::-1] if mirrored else numbers),
        right if mirrored else left,
        left if mirrored else right,
        float(keys["pitch_mm"]),
        float(size[0]) if size else None,
    )


def _units(document: Document, names: Sequence[str]) -> Iterator[tuple[str, str, str]]:
    """Every unit in its order with the names of its cover and its openings; then covers that stand on none.

    A second unit of an ink has openings of its own, and an ink that both sides print a cover of its own for the back.
    """
    passes = (document.get("plan") or {}).get("passes") or ()
    there = set[str]()
    for nth, one in enumerate(passes, 1):
        for station in one["stations"]:
            name = _cover_of(station, names) if "unit" in station else ""
            if name:
                unit = f"{station['unit']}" if len(passes) == 1 else f"{station['unit']} (pass {nth})"
                yield unit, name, f"{name} (unit {station['unit']})" if name in there else name
                there.add(name)
    yield from (("", name, name) for name in names if name not in there)


def _cover_of(station: Document, names: Sequence[str]) -> str:
    name = str(station.get("separation") or "")
    back = f"{name} (back)"
    if station.get("side") == "back" and back in names:
        return back
    return name if name in names else ""


def key_sentences(document: Document) -> list[str]:
    """How the numbers of the keys are to be read."""
    bars = key_bars(document)
    if bars is None:
        return []
    keys = document["ink_keys"]
    first = {"operator": "operator side", "drive": "drive side"}.get(str(keys.get("first")), "operator side (assumed)")
    told = [f"{len(bars.numbers)} keys of {bars.pitch_mm:g} mm; the press numbers them from the {first}."]
    if bars.curves != "all":
        lacking = [row.ink for row in bars.rows if row.openings is None]
        which = "" if bars.curves == "none" else f" for {with_and(lacking)}"
        told.append(f"There is no curve yet{which}: what is shown is the cover of the plate in each key's strip.")
    own = keys.get("own_marks") or ()
    if own:
        told.append(f"Counted too: {with_and([_marks(mark['count'], mark['mark']) for mark in own])}.")
    return told


def _marks(count: int, kind: str) -> str:
    if kind == "colour bar":
        return f"the colour bar ({_count(count, 'patch' if count == 1 else 'patche')})"
    return _count(count, MARKS.get(kind, kind))


def key_lines(document: Document) -> list[tuple[str, str]]:
    """Each unit with its keys in one line of text, grouped in fives: for a terminal."""
    bars = key_bars(document)
    if bars is None:
        return []
    lines = []
    for row in bars.rows:
        peak = max(row.covers, default=0.0)
        at = bars.numbers[row.covers.index(peak)] if row.covers and peak > 0 else None
        range_ = f"to {100 * peak:.0f} % at key {at}" if at is not None else "no ink"
        lines.append((row.heading, f"{row.shows}; {range_}"))
    return lines

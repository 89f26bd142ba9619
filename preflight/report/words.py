"""Parts of the document in words, the same in every rendering. Only the document is read in here."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import PurePath
from typing import Any, Final

from preflight.carton.places_in_words import place_words as located
from preflight.findings import with_and
from preflight.kinds import NON_PRINTING_KINDS
from preflight.quantities import shown, with_squares

Document = Mapping[str, Any]

HIDDEN: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Zl", "Zp"})
"""Unicode categories that steer a screen or show nothing; written out, so that no name hides or turns text."""
LONGEST_NAME: Final = 90
MEASURED_UNITS: Final = frozenset({"mm", "mm2", "pt", "%", "ppi", "g/m2", "min", "sheets/h"})
"""Units of what is measured; any other is a noun for what is counted."""
SIGNS: Final = {"fail": "fault", "warn": "query", "note": "remark"}
"""What people call a finding of each verdict."""

_COUNTED: Final = {
    "faults": ("fault", "faults"),
    "queries": ("query", "queries"),
    "remarks": ("remark", "remarks"),
    "waived": ("waived", "waived"),
    "switched_off": ("rule switched off", "rules switched off"),
    "not_checked": ("not checked", "not checked"),
}
_MOST_NAMED = 30
MOST_RULES: Final = 6


def plain(text: object) -> str:
    """Text from a file or ticket, made safe to show: what steers the screen is written out as ``[U+202E]``."""
    return "".join(_visible(character) for character in str(text))


def short(text: object, longest: int = LONGEST_NAME) -> str:
    """``plain``, with the middle of an overlong name left out."""
    whole = plain(text)
    if len(whole) <= longest:
        return whole
    return f"{whole[: longest * 2 // 3]} … {whole[-longest // 4 :]} ({len(str(text))} characters)"


def figure(quantity: Document | None) -> str:
    """``0.45 mm``, ``1060 x 760 mm``, ``yes``, a word as it stands; empty for None."""
    if quantity is None:
        return ""
    value, unit = quantity["value"], quantity["unit"]
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    if isinstance(value, list):
        text = " x ".join(f"{part:g}" for part in value) + f" {unit}"
    elif unit == "mm" and (value == 0 or 0.1 <= abs(value) < 10):  # a tenth more than the limit is seen beside it
        text = f"{f'{value:.2f}'.removesuffix('0')} mm"
    else:
        text = shown(value, unit)
    return with_squares(text)


def size(mm: Sequence[float] | None) -> str:
    """``1040 x 740 mm``; empty for None."""
    return "" if mm is None else f"{mm[0]:g} x {mm[1]:g} mm"


def per_cent(cover: float | None) -> str:
    """A fraction as ``31 %``, with decimals where it is small."""
    if cover is None:
        return ""
    value = 100 * cover
    if 0 < value < 0.01:
        return "under 0.01 %"
    return f"{value:.0f} %" if value >= 10 or value == 0 else f"{value:.1f} %" if value >= 1 else f"{value:.2g} %"


def counts_words(document: Document) -> str:
    """``11 faults, 4 queries, 1 waived, 2 rules switched off, 3 not checked (1 matters)``: each, also none of it.

    Only remarks, which change nothing, are left out where there are none.
    """
    counts = document["counts"]
    told = ", ".join(_counted(counts, key) for key in _COUNTED if counts[key] or key != "remarks")
    matter = counts["not_checked_that_matter"]
    if matter == counts["not_checked"]:
        return told
    return f"{told} ({matter or 'none'} {'matter' if matter > 1 else 'matters'})"


def found_words(document: Document) -> str:
    """``11 faults, 4 queries, 3 not checked``: what there is any of."""
    counts = document["counts"]
    return ", ".join(_counted(counts, key) for key in _COUNTED if counts[key])


def _counted(counts: Document, key: str) -> str:
    return f"{counts[key]} {_COUNTED[key][counts[key] != 1]}"


def place_words(place: Document) -> str:
    """``on panel C, 48 mm from the left, 120.5 mm up`` (on the page, to the lower-left corner of the place)."""
    return located(place["box_mm"], place["where"])


def full(text: str) -> str:
    """The text with the full stop that it may lack; empty where it is empty."""
    return text if not text or text.rstrip()[-1:] in (".", "?", "!") else f"{text.rstrip()}."


def job_words(document: Document) -> str:
    """Number, revision and title of the ticket; empty without one."""
    ticket = document["ticket"]
    if ticket is None:
        return ""
    number = " ".join(w for w in (ticket["number"], ticket["revision"] and f"revision {ticket['revision']}") if w)
    return ", ".join(w for w in (number, ticket["title"]) if w)


def repaired_words(artwork: Document) -> str:
    """What a file is that had to be repaired: damaged where something may be lost."""
    lost = any(repair["lost"] for repair in artwork["repairs_told"])
    return "it is damaged, and something may be lost" if lost else "it was repaired, and nothing was lost"


def page_words(facts: Document, *, die_read: bool = True) -> str:
    """``420 x 346 mm, cut 394 x 320 mm (one-up, stated on the ticket)``.

    A guess is only called one: its reason stands under what was assumed. Before the die has been read nothing is said
    of the trim box, which the cut may take the place of.
    """
    parts = [size(facts["page_mm"])]
    if die_read and facts["trim_is"] != "page":
        parts.append(f"{facts['trim_is']} {size(facts['trim_mm'])}")
    because = "a guess" if facts["is_known"] == "assumed" else facts["is_because"]
    return f"{', '.join(parts)} ({', '.join(w for w in (facts['is'], because) if w)})"


def separation_words(separations: Sequence[Document]) -> str:
    """``Cyan, Magenta, Leaf Green and 3 non-printing``: those of the die and the legend only counted."""
    others = sum(separation["kind"] in NON_PRINTING_KINDS for separation in separations)
    inks = [short(s["name"], 40) for s in separations if s["kind"] not in NON_PRINTING_KINDS]
    if len(inks) > _MOST_NAMED:
        inks = [*inks[:_MOST_NAMED], f"{len(inks) - _MOST_NAMED:,} more"]
    return with_and([*inks, f"{others} non-printing"] if others else inks) or "none"


def measured_words(finding: Document) -> tuple[str, str]:
    """What was measured, and the limit with its label; both empty where ``says`` has told all there is.

    That is so of a yes or no, and of a count that should have been none or one: ``2 units; allowed: none`` would only
    puzzle.
    """
    measured, limit = finding["measured"], finding["limit"]
    held = with_squares(finding["limit_words"] or figure(limit))
    told = figure(measured)
    counted = is_number(measured["value"]) and measured["unit"] not in MEASURED_UNITS
    few = limit is not None and is_number(limit["value"]) and limit["value"] <= 1
    if isinstance(measured["value"], bool) or held == f"not {told}" or (counted and few):
        return "", ""
    return told, f"{'allowed' if held == 'none' else 'limit'}: {held}" if held else ""


def sheet_words(document: Document) -> str:
    """The sheet and what the press takes."""
    sheet, press = document["sheet"], document["press"]
    parts = [size(sheet["mm"])] if sheet else ["not stated"]
    if press and press["largest_mm"]:
        smallest = f"{size(press['smallest_mm'])} to " if press["smallest_mm"] else "up to "
        parts.append(f"the press takes {smallest}{size(press['largest_mm'])}")
    return "; ".join(parts)


def board_words(document: Document) -> str:
    """The board and what the press takes."""
    board, press = document["board"], document["press"]
    parts = []
    if board:
        parts.append(
            ", ".join(
                word
                for word in (
                    board["grade"],
                    board["caliper_mm"] is not None and f"{board['caliper_mm']:g} mm",
                    board["weight_gsm"] is not None and f"{board['weight_gsm']:g} g/m²",
                    board["grain"] and f"grain {board['grain']}",
                    board["surface"] and f"{board['surface']} surface",
                )
                if word
            )
        )
    if press and press["caliper_mm"]:
        parts.append(f"the press takes {press['caliper_mm'][0]:g} to {press['caliper_mm'][1]:g} mm")
    return "; ".join(parts if board else ["not stated", *parts])


def when_words(document: Document) -> str:
    """``2 March 2026, 14:05``, in the clock of the run."""
    return time_words(document["run"]["when"])


def time_words(moment: str) -> str:
    """A moment in ISO 8601 as ``2 March 2026, 14:05 UTC``."""
    when = datetime.fromisoformat(moment)
    zone = when.strftime("%Z").replace("UTC+00:00", "UTC")
    return f"{when.day} {when:%B %Y, %H:%M} {zone}".strip()


def rules_words(document: Document) -> str:
    """The rule files by name; those of one folder together: ``rules/ (9 files), plant.yaml``."""
    folders: dict[PurePath, list[str]] = {}
    for file in document["run"]["rules"]:
        path = PurePath(file)
        folders.setdefault(path.parent, []).append(path.name)
    parts = [
        f"{folder.name}/ ({len(names)} files)" if len(names) > 2 else ", ".join(names)
        for folder, names in folders.items()
    ]
    return ", ".join(parts)


def rules_named(rules: Sequence[str]) -> str:
    """Rules in a row, the first of many: ``bleed-short, ink-total-over and 12 more rules``."""
    more = len(rules) - MOST_RULES
    return ", ".join(rules) if more <= 1 else f"{', '.join(rules[:MOST_RULES])} and {more} more rules"


def missing_by_reason(entries: Sequence[Document]) -> list[Document]:
    """``not_checked`` with the rules of one reason together, and the places that any of them was not looked at.

    What matters to the verdict comes first; ``counts_as`` of the others is ``note``.
    """
    groups: dict[tuple[str, str], dict[str, Any]] = {}
    for entry in entries:
        group = groups.setdefault((entry["because"], entry["would_help"]), {**entry, "rules": [], "places": []})
        group["rules"].append(entry["rule"])
        group["places"] += [place for place in entry["places"] if place not in group["places"]]
        group["own_fault"] |= entry["own_fault"]
        if entry["counts_as"] != "note":
            group["counts_as"] = entry["counts_as"]
    return sorted(groups.values(), key=lambda group: group["counts_as"] == "note")


def not_asked_by_reason(entries: Sequence[Document]) -> list[Document]:
    """``not_asked`` with the rules of one reason together."""
    groups: dict[str, list[str]] = {}
    for entry in entries:
        groups.setdefault(entry["because"], []).append(entry["rule"])
    return [{"because": because, "rules": rules} for because, rules in groups.items()]


def is_number(value: object) -> bool:
    """Whether a value of the document is a number, and not a yes or no."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def _visible(character: str) -> str:
    if character in "\n\t\r":
        return " "
    if character in "<>&" or " " <= character <= "~":
        return character
    return f"[U+{ord(character):04X}]" if unicodedata.category(character) in HIDDEN else character

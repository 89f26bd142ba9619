"""Press, ticket and line as the document has them: the stations, what the ticket puts on them, what is wrong."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from preflight.inputs.press import Coater, Delivery, Dryer, Foil, Lamp, Press, Station, Turn, Unit
from preflight.inputs.ticket import Coating
from preflight.job_facts import JobFacts
from preflight.quantities import Size

Document = dict[str, Any]


def press_facts(press: Press | None, file: str) -> Document | None:
    """What the report says of the press; None without one."""
    if press is None:
        return None
    caliper = press.board.caliper
    return {
        "name": press.name,
        "file": file,
        "units": press.unit_count,
        "coaters": len(press.coaters),
        "smallest_mm": _size(press.sheet.smallest),
        "largest_mm": _size(press.sheet.largest),
        "printable_mm": _size(press.sheet.printable),
        "edges_mm": {"gripper": press.edges.gripper, "tail": press.edges.tail, "sides": press.edges.sides},
        "caliper_mm": None if caliper is None else [_mm(caliper.low), _mm(caliper.high)],
        "cures": None if press.cures is None else list(press.cures),
    }


def ticket_facts(facts: JobFacts, file: str) -> Document:
    """``ticket``, ``sheet`` and ``board`` of the document; each None where nobody says it."""
    ticket = facts.ticket
    sheet = ticket.sheet if ticket else None
    told: Document = {"ticket": None, "board": None, "sheet": None}
    if sheet is not None:
        told["sheet"] = {"mm": _size(sheet), "because": "stated on the ticket"}
    elif facts.artwork_is == "sheet":
        told["sheet"] = {
            "mm": [_mm(facts.page.width_mm), _mm(facts.page.height_mm)],
            "because": "the page is the sheet",
        }
    if ticket is None:
        return told
    told["ticket"] = {
        "number": ticket.ticket,
        "revision": ticket.revision,
        "title": ticket.title,
        "file": file,
        "ink_system": ticket.ink_system,
        "coating": "none" if ticket.nothing_coated else _coating_words(ticket.coating),
        "quantity": ticket.quantity,
    }
    board = ticket.board
    if any(value is not None for value in (board.grade, board.caliper, board.weight, board.grain, board.surface)):
        told["board"] = {
            "grade": board.grade,
            "caliper_mm": None if board.caliper is None else _mm(board.caliper),
            "weight_gsm": board.weight,
            "grain": board.grain,
            "surface": board.surface,
        }
    return told


def units_of(facts: JobFacts, findings: Sequence[Document]) -> list[Document]:
    """Every unit of the press and every one that the ticket lists, in order, with what is on it and what is wrong.

    A finding belongs to a unit when it names the unit, or when it names none and one of its places has the
    separation that stands there. Trial rules accuse no unit; a note stands at its unit without accusing it.
    """
    listed = len((facts.ticket and facts.ticket.units) or ())
    standing = {place.unit: place for place in facts.standing}
    in_press = facts.press.unit_count if facts.press else 0
    units = []
    for number in range(1, max(in_press, listed) + 1):
        place = standing.get(number)
        against = [f for f in findings if number in f["units"] and not f["trial"]]
        units.append(
            {
                "unit": number,
                "separation": place.name if place else None,
                "kind": place.kind if place else None,
                "overall": bool(place and place.overall),
                "stated": number <= listed,
                "in_press": number <= in_press,
                "wrong": list(dict.fromkeys(f["rule"] for f in against if f["verdict"] != "note")),
                "findings": [f["number"] for f in against],
            }
        )
    return units


def line_of(facts: JobFacts) -> list[Document]:
    """The stations from feeder to delivery; a unit's ink stands in ``units``. Empty without a press."""
    if facts.press is None:
        return []
    stations = [_station(station) for station in facts.press.line]
    coating = facts.ticket.coating if facts.ticket else None
    takers = [s for s in stations if s["is"] == "coater" and coating and coating.kind in (s["takes"] or [coating.kind])]
    if takers:
        takers[0]["coating"] = _coating_words(coating)
    return stations


def _station(station: Station) -> Document:
    match station:
        case Unit():
            inks = None if station.inks is None else list(station.inks)
            return {"is": "unit", "unit": station.number, "inks": inks, "never": list(station.never)}
        case Lamp():
            return {"is": "lamp", "kind": station.kind}
        case Dryer():
            return {"is": "dryer", "kind": station.kind}
        case Coater():
            takes = None if station.takes is None else list(station.takes)
            lays = None if station.lays is None else list(station.lays)
            return {"is": "coater", "coater": station.number, "takes": takes, "lays": lays, "coating": None}
        case Turn():
            return {"is": "turn"}
        case Foil():
            return {"is": "foil"}
        case Delivery():
            return {"is": "delivery", "holds": list(station.holds)}


def _coating_words(coating: Coating | None) -> str | None:
    """``uv, overall, clear of glue flap and code``; None where the ticket does not say."""
    if coating is None:
        return None
    words = [coating.kind or "coating of a kind not stated", coating.area or "area not stated"]
    if coating.clear:
        words.append("clear of " + " and ".join(coating.clear))
    return ", ".join(words)


def _size(size: Size | None) -> list[float] | None:
    return None if size is None else [_mm(size.across_mm), _mm(size.along_mm)]


def _mm(value: float) -> float:
    """0.01 mm, and a micrometre for board, which is a hundredth of a millimetre at the press."""
    return round(value, 3)

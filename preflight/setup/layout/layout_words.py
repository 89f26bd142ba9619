"""A layout in words: why it was taken, what stops one more, what another one would cost."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from preflight.setup.layout.candidates import Candidate
from preflight.setup.layout.layout_request import LayoutRequest
from preflight.setup.layout.outlines import Keeps, Outline
from preflight.setup.layout.rows import RowPattern
from preflight.setup.layout.versions import sheets_for

IN_WORDS: Final = {
    "grid": "in plain rows",
    "meshing": "in straight rows whose flaps mesh",
    "tumbled": "in rows turned by 180° and pushed together",
    "interlocked": "in columns turned by 180° and pushed together",
}
_FIELDS: Final = {
    "gripper edge": ("gripper_mm", "cut_gripper_mm", "bottom"),
    "tail": ("tail_mm", "cut_tail_mm", "top"),
    "left side": ("sides_mm", "cut_sides_mm", "left"),
    "right side": ("sides_mm", "cut_sides_mm", "right"),
}


def pattern_words(candidate: Candidate) -> str:
    """How the blanks lie."""
    if candidate.pattern == "grid" and candidate.mixed:
        return "in plain rows, some of them turned by 90°"
    knives = {
        (True, False): "neighbours side by side sharing a knife",
        (False, True): "rows sharing a knife",
        (True, True): "all neighbours sharing knives",
    }.get(candidate.shared)
    return f"{IN_WORDS[candidate.pattern]}, {knives}" if knives else IN_WORDS[candidate.pattern]


def because(chosen: Candidate, others: list[Candidate], request: LayoutRequest) -> str:
    """Why a layout was taken."""
    says = f"{chosen.ups}-up {pattern_words(chosen)}"
    if request.ups is not None:
        return f"{says}, as many as the ticket asks for."
    plain = max((each.ups for each in others if each.simplicity == 0 and each.sheet == chosen.sheet), default=0)
    if chosen.simplicity and 0 < plain < chosen.ups:
        return f"{says}; plain rows with the whole gutter between them take {plain}."
    if chosen.simplicity and plain:
        return f"{says}; plain rows take as many, and leave less waste in one piece."
    return f"{says}; of the patterns that were tried none takes more."


# What stops one more -------------------------------------------------------------------------------------------------


def why_not_more(chosen: Candidate, request: LayoutRequest) -> str:
    """Which limit stops one more row, and one more blank in a row."""
    if request.ups is not None:
        return f"The ticket asks for {request.ups}-up."
    sheet = chosen.large or chosen.sheet
    keeps = Keeps(request.free.on(sheet), chosen.keeps.strip_mm, chosen.keeps.gripper_strip_mm)
    if chosen.rows is None:
        left = chosen.keeps.free
        return (
            f"Rows of both turns fill the sheet: {sheet} less {left.gripper_mm:g} mm at the gripper edge, "
            f"{left.tail_mm:g} mm at the tail and {left.sides_mm:g} mm at each side."
        )
    pattern, rows = chosen.rows.pattern, chosen.rows.rows
    swapped = pattern.first.swapped
    more = pattern.needs_mm(rows + 1, pattern.best_shift(rows + 1))
    in_row = pattern.first.width_mm + pattern.each[0] * pattern.pitch_mm
    wide, high = (sheet.along_mm, sheet.across_mm) if swapped else (sheet.across_mm, sheet.along_mm)
    sentences = [
        _sentence(more, high, _edges(keeps, pattern, swapped), across=swapped),
        _sentence(in_row, wide, _edges(keeps, pattern, not swapped), across=not swapped),
    ]
    return " ".join(says for _, says in sorted(sentences))


def _sentence(needs_mm: float, has_mm: float, edges: list[tuple[float, str]], *, across: bool) -> tuple[float, str]:
    room = has_mm - sum(mm for mm, _ in edges)
    what, way = ("column", "across the sheet") if across else ("row", "along the travel")
    said = [said for _, said in edges]
    same = across and said[0].replace("left", "right") == said[1]
    less = said[0].replace("the left side", "each side") if same else " and ".join(said)
    says = (
        f"One more {what} would need {_mm(needs_mm - room)} more {way}: {_mm(needs_mm)} for the cartons, where "
        f"{_mm(has_mm)} of sheet less {less} leave {_mm(room)}."
    )
    return needs_mm - room, says


def _edges(keeps: Keeps, pattern: RowPattern, across: bool) -> list[tuple[float, str]]:
    outline = pattern.first.exchanged() if pattern.first.swapped else pattern.first
    names = ("left side", "right side") if across else ("gripper edge", "tail")
    return [_edge(keeps, outline, name) for name in names]


def _edge(keeps: Keeps, outline: Outline, name: str) -> tuple[float, str]:
    """How far the cut has to stay from an edge, and what says so."""
    prints, cuts, side = _FIELDS[name]
    mm, bleed = float(getattr(keeps.margins(outline), side)), float(getattr(outline.bleed, side))
    print_mm, cut_mm = float(getattr(keeps.free, prints)), float(getattr(keeps.free, cuts))
    if mm <= print_mm + bleed + 1e-6:
        reason = keeps.free.limits.get(prints, "")
        reason = f"{reason} and {_mm(bleed)} of bleed" if bleed and reason else reason
    elif mm <= cut_mm + 1e-6:
        reason = keeps.free.limits.get(cuts, "")
    else:
        reason = "the least strip of waste"
    return mm, f"{_mm(mm)} at the {name}" + (f" ({reason})" if reason else "")


def _mm(mm: float) -> str:
    return f"{round(mm, 1):g} mm"


# Others --------------------------------------------------------------------------------------------------------------


def instead(other: Candidate, chosen: Candidate, request: LayoutRequest) -> str:
    """What another layout would bring or cost."""
    says = f"{other.ups}-up {pattern_words(other)}"
    if other.sheet != chosen.sheet:
        says += f" on {other.sheet}"
    if other.gutters != chosen.gutters:
        says += f" with gutters of {_mm(other.gutters.across_mm)} instead of {_mm(chosen.gutters.across_mm)}"
    return f"{says}: {_compared(other, chosen, request)}"


def _compared(other: Candidate, chosen: Candidate, request: LayoutRequest) -> str:
    sheets, mine = (sheets_for(request.quantities, request.quantity, each.ups) for each in (other, chosen))
    if sheets is not None and mine is not None and sheets != mine:
        return f"{abs(sheets - mine):,} sheets {'more' if sheets > mine else 'fewer'}"
    if other.ups != chosen.ups:
        by = abs(other.ups - chosen.ups)
        return f"{by} {'more' if other.ups > chosen.ups else 'fewer'} on each sheet"
    if other.sheet != chosen.sheet:
        return "another sheet"
    spare = other.spare_mm - chosen.spare_mm
    if abs(spare) >= 1:
        return f"as many sheets, and {_mm(abs(spare))} {'more' if spare > 0 else 'less'} waste in one piece at the tail"
    return "as many sheets"


def notes(chosen: Candidate, request: LayoutRequest, gutters_mm: tuple[float | None, float | None]) -> Iterator[str]:
    """What is to be known of a layout."""
    least = min((mm for mm in gutters_mm if mm is not None), default=None)
    bleed = max(0.0, _bleed_of(request))
    if any(chosen.shared):
        yield "Neighbours share a knife: their bleed ends at the cut between them."
    if least is not None and 0 < least < 2 * bleed - 1e-6:
        yield (
            f"Gutters of {_mm(least)} are narrower than two bleeds of {_mm(bleed)}: bleed is cut half-way, "
            f"{_mm(least / 2)} of it are left there."
        )
    if chosen.gutters.asked and least is not None and 0 < least < request.waste_strip_mm - 1e-6:
        yield (
            f"The gutter that the ticket asks for, {_mm(least)}, is narrower than the strip of waste that "
            f"the die-cutter needs, {_mm(request.waste_strip_mm)}."
        )
    if least == 0 and chosen.gutters.asked and bleed:
        yield "The ticket asks for shared knives: bleed ends at the cut between neighbours."


def _bleed_of(request: LayoutRequest) -> float:
    cut, bleed = request.blank.cut.bounds, request.blank.bleed.bounds
    return float(max(cut[0] - bleed[0], cut[1] - bleed[1], bleed[2] - cut[2], bleed[3] - cut[3]))

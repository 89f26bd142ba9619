"""Kilograms of ink, coating and board for a run."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from preflight.findings import with_and
from preflight.inputs.run_table import MaterialTable
from preflight.setup.press_plan import OnCoater, OnUnit
from preflight.setup.run_request import RunRequest
from preflight.setup.wanted import wanted


@dataclass(frozen=True)
class Materials:
    """What has to be there before the run."""

    ink_kg: Mapping[str, float] = field(default_factory=dict)
    """By separation, white, varnish and all hits among them."""
    coating_kg: float | None = None
    """Wet, all coatings together."""
    board_kg: float | None = None
    coatings_kg: Mapping[str, float] = field(default_factory=dict)
    """By kind of coating."""
    not_checked: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()


def needed_materials(request: RunRequest, sheets: int | None, table: MaterialTable) -> Materials:
    """Kilograms for so many sheets, make-ready and waste included."""
    area, sheet_kg = request.sheet_m2, request.sheet_kg
    if sheets is None or area is None:
        gap = wanted("Ink, coating and board", "sheet: size", "ticket")
        return Materials(not_checked=(gap,) if area is None else ("Ink, coating and board: not checked; no sheets.",))
    inks: dict[str, float] = {}
    for unit in request.printing:
        kg = _ink_kg(request, unit, sheets * area, table)
        if kg is not None and unit.separation is not None:
            inks[unit.separation] = inks.get(unit.separation, 0.0) + kg
    coats: dict[str, float] = {}
    for coater in _laying(request):
        weight = _coat_gsm(request, coater, table)
        if weight is not None and coater.coating is not None:
            kg = kilograms(sheets * area, _coater_cover(request, coater), weight, table.each_coater or 0.0)
            coats[coater.coating] = coats.get(coater.coating, 0.0) + kg
    return Materials(
        inks,
        sum(coats.values()) if coats and len(coats) == len(request.coatings) else None,
        None if sheet_kg is None else sheets * sheet_kg,
        coats,
        tuple(dict.fromkeys((*_inks_left_out(request, table), *_others_left_out(request, table)))),
        tuple(_taken(request, table)),
    )


def kilograms(printed_m2: float, cover: float, film_gsm: float, fixed_kg: float) -> float:
    """Mass of an ink: area of all sheets, mean cover 0..1, weight of a solid, and what is used up anyway."""
    return printed_m2 * cover * film_gsm / 1000 + fixed_kg


def each_unit_kg(request: RunRequest, table: MaterialTable) -> float | None:
    """What duct and rollers take, by the width of the press."""
    across = request.press.sheet.largest.across_mm
    return next((entry.mass for entry in table.each_unit if entry.across.low <= across <= entry.across.high), None)


def _ink_kg(request: RunRequest, unit: OnUnit, printed_m2: float, table: MaterialTable) -> float | None:
    cover, film = _ink_cover(request, unit), table.film.get(unit.kind or "")
    if cover is None or film is None:
        return None
    return kilograms(printed_m2, cover, film, each_unit_kg(request, table) or 0.0)


def _ink_cover(request: RunRequest, unit: OnUnit) -> float | None:
    """What is printed all over counts as the whole sheet where nobody says."""
    return request.cover.get(unit.separation or "", 1.0 if unit.overall else None)


def _laying(request: RunRequest) -> list[OnCoater]:
    return [coater for one in request.plan.passes for coater in one.coaters if coater.coating is not None]


def _coater_cover(request: RunRequest, coater: OnCoater) -> float:
    if coater.separation is not None and coater.separation in request.cover:
        return request.cover[coater.separation]
    if coater.coating == request.coating and request.coating_cover is not None:
        return request.coating_cover
    return 1.0


def _coat_gsm(request: RunRequest, coater: OnCoater, table: MaterialTable) -> float | None:
    """Wet: from the ticket's dry weight where the share of solids is known, else the table's."""
    kind = coater.coating or ""
    solids = table.solids.get(kind)
    if request.coat_weight_gsm is not None and kind == request.coating and solids:
        return request.coat_weight_gsm / solids * 100
    return table.coat.get(kind)


def _inks_left_out(request: RunRequest, table: MaterialTable) -> Iterator[str]:
    unknown = dict.fromkeys(str(unit.separation) for unit in request.printing if _ink_cover(request, unit) is None)
    if unknown:
        yield f"Kilograms of {with_and(unknown)}: not checked; the share of the sheet covered is not known."
    for unit in request.printing:
        if table.film.get(unit.kind or "") is None:
            yield wanted(f"Kilograms of {unit.separation}", f"materials: {{film: {unit.kind}}}", "rules/run.yaml")
    if request.printing and each_unit_kg(request, table) is None:
        what = "What ink ducts and rollers take on a press of this width"
        yield wanted(what, "materials: each_unit", "rules/run.yaml")


def _others_left_out(request: RunRequest, table: MaterialTable) -> Iterator[str]:
    for coater in _laying(request):
        if _coat_gsm(request, coater, table) is None:
            key = f"materials: {{coat: {coater.coating}}}"
            yield wanted(f"Kilograms of {coater.coating} coating", key, "rules/run.yaml")
        elif table.each_coater is None:
            yield wanted("What pump and pan of a coater take", "materials: each_coater", "rules/run.yaml")
    if request.weight_gsm is None:
        yield wanted("Kilograms of board", "board: weight", "ticket")


def _taken(request: RunRequest, table: MaterialTable) -> Iterator[str]:
    if request.printing:
        yield "Weights of ink films are common practice (rules/run.yaml): measure them on the press."
    hits = Counter(unit.separation for unit in request.printing if _ink_cover(request, unit) is not None)
    for name, count in hits.items():
        if count > 1:
            yield f"Kilograms of {name} are for all its {count} hits together, with what each unit takes."
    overall = [unit.separation for unit in request.printing if unit.overall and unit.separation not in request.cover]
    if overall:
        yield f"{', '.join(map(str, overall))}: printed all over, so the whole sheet is counted."
    for coater in _laying(request):
        known = coater.separation in request.cover or coater.coating == request.coating and request.coating_cover
        if not known:
            yield f"Coating ({coater.coating}): the whole sheet is counted, since what it covers is not known."

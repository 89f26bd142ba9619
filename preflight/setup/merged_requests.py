"""One question for the planner where a job has several files or pages: front and back, or versions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import zip_longest
from typing import Final, Literal

from preflight.setup.plan_request import Pair, PlanRequest, PlateToPlace

Side = Literal["front", "back"]
BACK: Final = " (back)"
"""Behind the name of an ink that prints on both sides: its plates there are others, on other units."""


def merged_requests(requests: Sequence[tuple[Side, PlanRequest]]) -> PlanRequest:
    """The union of all plates; an ink that several versions print in takes one unit on each side.

    Args:
        requests: at least one, each with the side of the sheet that it prints.
    """
    first = requests[0][1]
    on_both = _names(requests, "front") & _names(requests, "back")
    requests = [(side, _on_back(request, on_both) if side == "back" else request) for side, request in requests]
    plates: dict[tuple[str, int, Side], PlateToPlace] = {}
    for side, request in requests:
        for plate in request.plates:
            key = (plate.name, plate.hit, side)
            here = replace(plate, side=side)
            plates[key] = _both(plates[key], here) if key in plates else here
    return replace(
        first,
        plates=tuple(plates.values()),
        overlap_mm2=_most(request.overlap_mm2 for _, request in requests),
        distance_mm=_least(request.distance_mm for _, request in requests),
        one_ink=tuple(dict.fromkeys(group for _, request in requests for group in request.one_ink)),
        wished=_wished([request for _, request in requests]),
    )


def _wished(requests: Sequence[PlanRequest]) -> tuple[str | None, ...] | None:
    """The ticket's list, of which each question has only the units of its own plates."""
    lists = [request.wished for request in requests if request.wished is not None]
    if not lists:
        return None
    return tuple(next(filter(None, named), None) for named in zip_longest(*lists))


def _names(requests: Sequence[tuple[Side, PlanRequest]], side: Side) -> set[str]:
    return {plate.name for own, request in requests if own == side for plate in request.plates}


def _on_back(request: PlanRequest, on_both: set[str]) -> PlanRequest:
    """The question of the back, in which inks of both sides have a name of their own."""

    def called(name: str) -> str:
        return name + BACK if name in on_both else name

    def pairs(table: Mapping[Pair, float]) -> dict[Pair, float]:
        renamed = {tuple(sorted((called(one), called(other)))): value for (one, other), value in table.items()}
        return {(pair[0], pair[1]): value for pair, value in renamed.items()}

    return replace(
        request,
        plates=tuple(replace(plate, name=called(plate.name)) for plate in request.plates),
        overlap_mm2=pairs(request.overlap_mm2),
        distance_mm=pairs(request.distance_mm),
        one_ink=(),
    )


def _both(one: PlateToPlace, other: PlateToPlace) -> PlateToPlace:
    """What is known of a plate of two versions: the more demanding of each."""
    prints = True if True in (one.prints, other.prints) else None if None in (one.prints, other.prints) else False
    return replace(
        one,
        cover=max(one.cover, other.cover),
        area_mm2=max(one.area_mm2, other.area_mm2),
        ink_system=one.ink_system or other.ink_system,
        effect=one.effect or other.effect,
        prints=prints,
        printed_over=one.printed_over or other.printed_over,
        on_solids=one.on_solids and other.on_solids,
        in_pictures=one.in_pictures or other.in_pictures,
        fine_type=one.fine_type or other.fine_type,
    )


def _most(tables: Iterable[Mapping[Pair, float]]) -> dict[Pair, float]:
    found: dict[Pair, float] = {}
    for table in tables:
        for pair, value in table.items():
            found[pair] = max(found.get(pair, value), value)
    return found


def _least(tables: Iterable[Mapping[Pair, float]]) -> dict[Pair, float]:
    found: dict[Pair, float] = {}
    for table in tables:
        for pair, value in table.items():
            found[pair] = min(found.get(pair, value), value)
    return found

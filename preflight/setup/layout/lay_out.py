"""The door of the layout search: a request goes in, a layout with its alternatives and reasons comes out."""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Literal, NoReturn

import shapely

from preflight.errors import NotMeasured
from preflight.inputs.layout_table import LayoutTable, load_layout_table
from preflight.quantities import Size
from preflight.setup.layout.candidates import Candidate, ranked
from preflight.setup.layout.gutters import gutters_of, narrower, roomy
from preflight.setup.layout.layout_request import Grain, LayoutRequest
from preflight.setup.layout.layout_search import LayoutSearch
from preflight.setup.layout.layout_words import because, instead, notes, why_not_more
from preflight.setup.layout.outlines import Turn
from preflight.setup.layout.sheet_layout import Alternative, Placed, SheetLayout
from preflight.setup.layout.versions import versions_of_blanks

_ALTERNATIVES: Final = 4


def lay_out(request: LayoutRequest) -> SheetLayout:
    """The best layout for a request: more up, then more waste in one piece, then the simpler pattern.

    Versions are shared over the blanks so that as few sheets as possible are printed. ``alternatives`` are others that
    were worked out and checked, the fewest sheets first.

    Raises:
        NotMeasured: not one blank fits, or not as many as are asked for; it says what is too small.
        InvalidInput: rules/layout.yaml is wrong.
    """
    table = load_layout_table()
    search, chosen = _searched(request, table)
    versions_of_blanks(request.quantities, chosen.ups)  # says so where there are more versions than blanks
    others = [*_others(search, chosen, table), *_with_narrower_gutters(request, table, search, chosen)]
    layout = _layout_of(chosen, request)
    return replace(
        layout,
        because=because(chosen, list(search.found.values()), request),
        why_not_more=why_not_more(chosen, request),
        alternatives=tuple(
            Alternative(_layout_of(other, request), instead(other, chosen, request))
            for other in ranked(others, table)[:_ALTERNATIVES]
        ),
    )


def _searched(request: LayoutRequest, table: LayoutTable) -> tuple[LayoutSearch, Candidate]:
    """The search and its best: gutters between nested flaps are narrow only for more up or a smaller sheet."""
    search = LayoutSearch(request, table, gutters_of(request, table))
    chosen = search.run()
    if chosen is None:
        _does_not_fit(request, table)
    whole = roomy(search.gutters)
    if whole == search.gutters or chosen.pattern == "grid":
        return search, chosen
    roomier = LayoutSearch(request, table, whole)
    best = roomier.run()
    if best is None or best.ups < chosen.ups or (best.area_mm2 > chosen.area_mm2 and not chosen.cut_down):
        return search, chosen
    return roomier, best


def _layout_of(candidate: Candidate, request: LayoutRequest) -> SheetLayout:
    ordered = _in_order(candidate)
    versions = versions_of_blanks(request.quantities, candidate.ups)
    gutters = _gutters(candidate)
    return SheetLayout(
        sheet=candidate.sheet,
        cut=request.blank.cut,
        blanks=tuple(Placed(x, y, turn, version) for (turn, x, y), version in zip(ordered, versions, strict=True)),
        pattern=candidate.pattern,
        free=candidate.keeps.free,
        grain=request.grain or _grain_of(candidate, request.grain_on_blank),
        gutters_mm=(
            candidate.gutters.across_mm if gutters[0] is None else gutters[0],
            candidate.gutters.along_mm if gutters[1] is None else gutters[1],
        ),
        notes=tuple(notes(candidate, request, gutters)),
        assumed=request.assumed,
    )


def _grain_of(candidate: Candidate, on_blank: Grain) -> Literal["across", "along"] | None:
    """The sheet's grain, where only that of the blank is asked for."""
    if on_blank == "any":
        return None
    turned = candidate.places[0][0] % 180 == 90
    return "across" if (on_blank == "across") != turned else "along"


def _in_order(candidate: Candidate) -> list[tuple[Turn, float, float]]:
    """Blanks along the gripper edge from the left, then the next row."""
    rows: list[list[tuple[Turn, float, float]]] = []
    height = min(cut.bounds[3] - cut.bounds[1] for cut in candidate.cuts)
    for place in sorted(candidate.places, key=lambda each: (each[2], each[1])):
        if not rows or place[2] - rows[-1][0][2] > height / 2:
            rows.append([])
        rows[-1].append(place)
    return [place for row in rows for place in sorted(row, key=lambda each: each[1])]


def _gutters(candidate: Candidate) -> tuple[float | None, float | None]:
    """Least clear distance of neighbours side by side, and one behind the other; None where there are none."""
    cuts, reach = candidate.cuts, 2 * max(candidate.gutters.across_mm, candidate.gutters.along_mm) + 1
    tree = shapely.STRtree(cuts)
    found: dict[bool, float] = {}
    seen: set[tuple[object, ...]] = set()
    for one, cut in enumerate(cuts):
        for other in tree.query(cut, predicate="dwithin", distance=reach).tolist():
            (turn, x, y), (turn_2, x_2, y_2) = candidate.places[one], candidate.places[other]
            key = turn, turn_2, round(x_2 - x, 3), round(y_2 - y, 3)
            if other <= one or key in seen:
                continue
            seen.add(key)
            across, along = (
                abs(cut.bounds[a] + cut.bounds[a + 2] - cuts[other].bounds[a] - cuts[other].bounds[a + 2])
                / (cut.bounds[a + 2] - cut.bounds[a])
                for a in (0, 1)
            )
            behind = along > across
            distance = round(float(shapely.distance(cut, cuts[other])), 2)
            found[behind] = min(distance, found.get(behind, distance))
    return found.get(False), found.get(True)


def _others(search: LayoutSearch, chosen: Candidate, table: LayoutTable) -> list[Candidate]:
    """Layouts that have something that the chosen one, and the better of them, have not: more waste, or simplicity."""
    kept: list[Candidate] = [chosen]
    rest = [each for each in search.found.values() if each is not chosen]
    for each in ranked(rest, table):
        if not any(_beats(known, each) for known in kept):
            kept.append(each)
    return kept[1:]


def _beats(known: Candidate, other: Candidate) -> bool:
    return (
        known.ups >= other.ups
        and known.area_mm2 <= other.area_mm2 + 1e-6
        and (known.spare_mm > other.spare_mm - 1 or known.sheet != other.sheet)
        and known.simplicity <= other.simplicity
    )


def _with_narrower_gutters(
    request: LayoutRequest, table: LayoutTable, search: LayoutSearch, chosen: Candidate
) -> list[Candidate]:
    """Plain rows with the narrowest gutters that table and die-cutter allow, where that brings more up."""
    narrow = narrower(search.gutters, table)
    if search.gutters.asked or request.ups is not None or narrow.across_mm >= search.gutters.across_mm:
        return []
    found = LayoutSearch(request, table, narrow, only_plain=True).run()
    return [found] if found is not None and found.ups > chosen.ups else []


def _does_not_fit(request: LayoutRequest, table: LayoutTable) -> NoReturn:
    """Says by how much the roomiest sheet is too small."""
    helps = "a larger sheet or press, or the other grain"
    if not request.sheets:
        raise NotMeasured("no sheet is known", "give sheet: size on the ticket", "ticket")
    sheet = max(request.sheets, key=lambda size: (size.across_mm * size.along_mm, size.across_mm))
    search = LayoutSearch(replace(request, ups=None), table, gutters_of(request, table))
    if request.ups is not None and (most := search.run()) is not None:
        because = f"the ticket asks for {request.ups}-up, and {most.ups} fit on {most.large or most.sheet}"
        raise NotMeasured(f"{because}. {why_not_more(most, replace(request, ups=None))}".rstrip("."), helps, "ticket")
    raise NotMeasured(f"not one blank fits on {sheet}: {_lacks(search, sheet)}", helps, "ticket")


def _lacks(search: LayoutSearch, sheet: Size) -> str:
    keeps, said = search.keeps(sheet), []
    for turn in search.turns:
        outline = search.outlines[turn]
        margins = keeps.margins(outline)
        wide = outline.width_mm + margins.left + margins.right
        high = outline.height_mm + margins.bottom + margins.top
        size = Size(round(outline.width_mm, 1), round(outline.height_mm, 1))
        said.append(f"turned by {turn}° it is {size} and with edges, bleed and waste needs {wide:.0f} x {high:.0f} mm")
    return "; ".join(said)

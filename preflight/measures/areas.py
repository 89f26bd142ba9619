"""Ink and coating where glue or a code has to stick: glue flaps and code areas, stated, read or guessed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.geometry import Box
from preflight.artwork.page.plates import Plates
from preflight.carton.die import Area, Blank
from preflight.carton.places_in_words import area_words
from preflight.errors import NotMeasured
from preflight.findings import Gap, Measured, Place, Reading, listed, with_and
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.raster import masks, rims
from preflight.measures.raster.close_looks import close_dpi, on_page
from preflight.measures.raster.overlaps import PLAIN_MM2
from preflight.measures.registry import Kinds, measure
from preflight.setup.unit_plan import same_name

MOST_PX: Final = 4_000_000
EDGE_MM: Final = 0.2
"""What reaches into an area by no more than this only touches it."""
NEAR_CREASE_MM: Final = 3.0
"""An area that ends this close to a crease belongs to it."""
LARGELY: Final = 0.5
"""A panel that an area covers by this share is what the area means."""


AT_THE_CREASE_MM: Final = 0.3
"""Ink that ends at a crease reaches so far past it by the pixels that it shares: no matter whether it is a rim."""


@dataclass(frozen=True)
class _Spot:
    """An area on its blank; without a die the page is the blank."""

    area: Area
    blank: Blank | None
    shape: BaseGeometry

    def where(self, several: bool) -> str:
        """The area in words."""
        return f"{self.area.kind} of blank {self.blank.number}" if several and self.blank else self.area.kind


def _spots(job: Job, kinds: Sequence[str], margin_mm: float = 0.0) -> tuple[list[_Spot], list[Gap]]:
    """Areas of these kinds, grown by a margin and cut to their blank, and the blanks of which none is known.

    Raises:
        NotMeasured: none is known of any blank.
    """
    needs.objects(job)
    _ = job.plates
    if job.die.uncertain and not job.die.uncertain_places:
        needs.die(job)
    wanted = {kind.casefold() for kind in kinds}
    spots = [
        _Spot(
            area, blank, shapely.intersection(shapely.buffer(area.shape, margin_mm, join_style="mitre"), blank.outline)
        )
        for blank in job.die.blanks
        for area in blank.areas
        if area.kind.casefold() in wanted
    ]
    if not job.die.blanks:
        page = shapely.box(*job.page.box_mm)
        spots += [
            _Spot(area, None, shapely.intersection(shapely.buffer(area.shape, margin_mm, join_style="mitre"), page))
            for area in job.die.loose_areas
            if area.kind.casefold() in wanted
        ]
    spots = [spot for spot in spots if not spot.shape.is_empty]
    if not spots:
        astray = any(area.kind.casefold() in wanted for area in job.die.loose_areas)
        named = area_words(kinds[0])
        because = f"the stated {named} is not on any blank" if astray else f"no {named} is stated"
        raise NotMeasured(because, f"areas: {{is: {kinds[0]}, box: …}} on the ticket", "ticket")
    return spots, list(_blanks_without(job, spots, kinds[0]))


def _blanks_without(job: Job, spots: Sequence[_Spot], kind: str) -> Iterator[Gap]:
    """Blanks beside those that have areas of a kind: an area passes for all blanks alike, and for no others."""
    known = {spot.blank.number for spot in spots if spot.blank is not None}
    bare = [blank for blank in job.die.blanks if blank.number not in known]
    if not bare:
        return
    numbers = with_and(str(blank.number) for blank in bare)
    words = f"blanks {numbers}" if len(bare) > 1 else f"blank {numbers}"
    places = tuple(Place(blank.outline.bounds, job.page.number, None, f"blank {blank.number}") for blank in bare)
    helps = f"areas: {{is: {kind}, box: …, blank: {bare[0].number}}} on the ticket"
    yield Gap(f"no {area_words(kind)} is known on {words}", helps, "ticket", places)


def _inks(job: Job, kinds: Sequence[str]) -> list[str]:
    return [s.name for s in job.page.separations if s.on_plate and s.kind in kinds]


def _coating_plates(job: Job, kinds: Sequence[str], areas: Sequence[str]) -> list[str]:
    """Plates of the file that varnish or coat: those of these kinds, and the one that the ticket's coating names.

    That one is left out where blanks are laid out and the ticket has areas of these kinds left clear: the coating plate
    is drawn for the sheet then, with them bare, and what of it coats them is looked at there.
    """
    coating = job.ticket.coating if job.ticket else None
    named = coating.separation if coating else None
    drawn = coating is not None and job.artwork_is == "one-up" and job.laid_out and _left_clear(coating.clear, areas)
    own = [s.name for s in job.page.separations if s.on_plate and named is not None and same_name(s.name, named)]
    return [s.name for s in job.page.separations if s.on_plate and (not drawn if s.name in own else s.kind in kinds)]


def _left_clear(clear: Sequence[str] | None, areas: Sequence[str]) -> bool:
    return bool({word.casefold() for word in clear or ()} & {kind.casefold() for kind in areas})


def _overall_coats(job: Job, areas: Sequence[str]) -> list[str]:
    """What the ticket lays overall and may reach areas of a kind; nothing where it leaves them clear.

    Raises:
        NotMeasured: an overall coating, and the ticket does not say what it leaves bare.
    """
    ticket = job.ticket
    coating = ticket.coating if ticket else None
    overall = [entry.name or "" for entry in (ticket.units or ()) if entry.overall] if ticket else []
    if coating is not None and coating.separation is None:
        overall.append(f"the {coating.kind} coating" if coating.kind else "the coating")
    clear = coating.clear if coating else None
    if overall and clear is None:
        because = f"{overall[0]} is laid overall, and the PDF does not show what it leaves bare"
        raise NotMeasured(because, "coating: clear on the ticket, with the areas left bare", "ticket")
    if _left_clear(clear, areas):
        return []
    return overall


@measure("stated-area-inside-cut", unit="%", rests_on=["objects"], within="page", facts=("area", "box"))
def stated_area_inside_cut(job: Job) -> list[Reading]:
    """Share of each area of the ticket that lies inside the cut; what lies beyond an open cut counts as inside."""
    needs.objects(job)
    areas = job.ticket.areas if job.ticket else ()
    if not areas:
        return []
    lost = [shapely.box(*cut.beyond) for cut in job.die.open_cuts if cut.beyond is not None]
    inside = shapely.union_all([needs.die(job).inside, *lost])
    return [_inside_share(job, area.is_, shapely.box(*area.box), inside) for area in areas]


def _inside_share(job: Job, kind: str, stated: BaseGeometry, inside: BaseGeometry) -> Reading:
    box = tuple(map(float, stated.bounds))
    share = 100 * shapely.intersection(stated, inside).area / stated.area if stated.area else 0.0
    facts = {"area": area_words(kind), "box": f"[{', '.join(f'{side:.4g}' for side in box)}]"}
    place = Place(box, job.page.number)  # type: ignore[arg-type]
    return Reading(round(share, 1), "%", (place,), needs.die_known(job), group=f"{kind} {box}", facts=facts)


@measure("ink-on-glue-flap", unit="mm", tolerance=0.1, facts=("area", "inks", "because"))
def ink_on_glue_flap(
    job: Job, *, areas: tuple[str, ...], inks: Kinds, ink_from_percent: float, speck_mm2: float
) -> Measured:
    """How far ink reaches past the crease on to each glue flap.

    ``areas`` are the kinds of area that are glued, ``inks`` the kinds that count, from a tint of ``ink_from``; the
    outermost ``speck`` of the ink is not looked at. An area without a crease is measured from its edge.
    """
    names, (spots, gaps) = _inks(job, inks), _spots(job, areas)
    return Measured([_past_the_crease(job, spot, names, ink_from_percent, speck_mm2) for spot in spots], gaps)


@measure("coating-on-glue-flap", unit="mm", tolerance=0.1, facts=("area", "inks", "because"))
def coating_on_glue_flap(
    job: Job, *, areas: tuple[str, ...], coats: Kinds, ink_from_percent: float, speck_mm2: float
) -> Measured:
    """How far varnish or coating reaches past the crease on to each glue flap; see ``ink-on-glue-flap``.

    ``coats`` are the kinds of separation that count; the ticket's coating counts too. An overall coating reaches all of
    a flap that the ticket does not leave clear.
    """
    spots, gaps = _spots(job, areas)
    names = _coating_plates(job, coats, areas)
    readings = [_past_the_crease(job, spot, names, ink_from_percent, speck_mm2) for spot in spots]
    return _with_overall(job, spots, Measured(readings, gaps), areas)


def _with_overall(job: Job, spots: Sequence[_Spot], by_plates: Measured, areas: Sequence[str]) -> Measured:
    """The readings by the plates, what an overall coating makes of them, and what is not known of one.

    A plate of the file may be wrong whatever else is laid.
    """
    readings, gaps = by_plates.readings, by_plates.gaps
    try:
        overall = _overall_coats(job, areas)
    except NotMeasured as unknown:
        return Measured(readings, [*gaps, Gap.of(unknown)])
    if overall:
        readings = [_overall(job, *both, overall) for both in zip(spots, readings, strict=True)]
    if job.ticket is None or (job.ticket.coating is None and not job.ticket.nothing_coated):
        helps = "coating: on the ticket, with kind, area and clear"
        return Measured(readings, [*gaps, Gap("the ticket does not say what is coated", helps, "ticket")])
    return Measured(readings, gaps)


def _overall(job: Job, spot: _Spot, reading: Reading, overall: Sequence[str]) -> Reading:
    """The reading of an area that an overall coating covers: all of it."""
    x0, y0, x1, y1 = spot.shape.bounds
    value = round(min(x1 - x0, y1 - y0) if reading.unit == "mm" else float(spot.shape.area), 1)
    place = Place((x0, y0, x1, y1), job.page.number, None, spot.where(len(job.die.blanks) > 1))
    return Reading(value, reading.unit, (place,), spot.area.known, facts={**reading.facts, "inks": listed(overall)})


def _past_the_crease(job: Job, spot: _Spot, names: Sequence[str], tint_percent: float, speck_mm2: float) -> Reading:
    """How far ink reaches past the crease of an area, less the outermost ``speck_mm2`` of it."""
    facts: dict[str, object] = {"area": spot.where(len(job.die.blanks) > 1), "inks": "", "because": spot.area.because}
    nothing = Reading(0.0, "mm", (), spot.area.known, facts=facts)
    if not names:
        return nothing
    shape, folds = _flap(spot)
    window = job.plates.around(shape)
    sees = rims.sharply(job, lambda seen: _any_ink(seen, names, np.ones(seen.ink.shape[1:], bool), tint_percent))
    ink = _within_the_cut(window, _any_ink(window, names, window.mask_of(shape), tint_percent), spot.blank)
    mm = window.mm_per_px
    deep, strong = np.zeros(ink.shape, np.float64), _strong(window, names)
    deep[ink] = _distances(_centres(window, ink), folds)
    if deep.max(initial=0) > max(AT_THE_CREASE_MM, deep[strong].max(initial=0)):
        doubtful = deep > AT_THE_CREASE_MM
        ink = (ink & ~doubtful) | rims.without_rims(doubtful, window, sees, strong)
    rows, columns = np.nonzero(ink)
    depth = _distances(_centres(window, ink), folds) + (_covered_share(window, names)[rows, columns] - 0.5) * mm
    speck = round(speck_mm2 / mm**2)
    if len(depth) <= speck:
        return nothing
    reach = max(0.0, float(np.partition(depth, len(depth) - 1 - speck)[len(depth) - 1 - speck]))
    far = np.zeros_like(ink)
    far[rows[depth >= reach - 1.0], columns[depth >= reach - 1.0]] = True
    facts["inks"] = listed(n for n in names if (masks.inked(window.tint(n), tint_percent) & far).any())
    place = Place(_box_of(window, ink), job.page.number, None, str(facts["area"]))
    return Reading(round(reach, 2), "mm", (place,), spot.area.known, facts=facts)


def _within_the_cut(plates: Plates, ink: masks.Mask, blank: Blank | None) -> masks.Mask:
    """Inked pixels that stand wholly within the cut: a pixel across it shows ink of the waste beside the flap."""
    if blank is None or not ink.any():
        return ink
    inner = shapely.buffer(blank.outline, -EDGE_MM)
    shapely.prepare(inner)
    within = np.zeros_like(ink)
    within[ink] = shapely.contains_xy(inner, _centres(plates, ink))
    return within


def _centres(plates: Plates, mask: masks.Mask) -> NDArray[np.float64]:
    """Centres (n, 2) of the pixels of a mask, in mm."""
    rows, columns = np.nonzero(mask)
    return plates.middles(rows, columns)


def _covered_share(plates: Plates, names: Sequence[str]) -> NDArray[np.float32]:
    """How much of each pixel the ink covers: its tint over the greatest about it; tells where in a pixel ink ends."""
    tints = np.max([plates.tint(name) for name in names], axis=0)
    padded = np.pad(tints, 1)
    height, width = tints.shape
    about = np.max([padded[i : i + height, j : j + width] for i in range(3) for j in range(3)], axis=0)
    share: NDArray[np.float32] = tints.astype(np.float32) / np.maximum(about, 1)
    return share


def _box_of(plates: Plates, mask: masks.Mask) -> Box:
    x0, y0, x1, y1 = plates.box_of(mask)
    return (float(x0), float(y0), float(x1), float(y1))


def _flap(spot: _Spot) -> tuple[BaseGeometry, NDArray[np.float64]]:
    """What is meant by an area, and the folds (k, 4) that it hangs on; its own edge where it hangs on none.

    A box that is drawn round a flap and reaches over its crease means the flap.
    """
    shape, folds = spot.shape, None
    if spot.blank is not None:
        panels = [p for p in spot.blank.panels if shapely.intersection(p, shape).area >= LARGELY * p.area]
        if panels:
            shape = shapely.intersection(shapely.union_all(panels), shape)
        folds = shapely.intersection(spot.blank.creases, shapely.buffer(shape, NEAR_CREASE_MM))
    lines = folds if folds is not None and folds.length > 1 else shape.boundary
    segments = [
        np.hstack([points[:-1], points[1:]])
        for part in shapely.get_parts(lines)
        if len(points := shapely.get_coordinates(part)) > 1
    ]
    return shape, np.vstack(segments)


def _distances(xy: NDArray[np.float64], segments: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance of each point (n, 2) to the nearest of the segments (k, 4), mm."""
    nearest = np.full(len(xy), np.inf)
    for x0, y0, x1, y1 in segments:
        start, step = np.array([x0, y0]), np.array([x1 - x0, y1 - y0])
        size = float(step @ step)
        along = np.clip((xy - start) @ step / size, 0, 1) if size > 0 else np.zeros(len(xy))
        away = xy - start - along[:, None] * step
        np.minimum(nearest, np.hypot(away[:, 0], away[:, 1]), out=nearest)
    return nearest


def _inked(
    job: Job, shape: BaseGeometry, names: Sequence[str], tint_percent: float
) -> tuple[Plates, masks.Mask] | None:
    """Ink within a shape, its rim excepted: plates and the inked pixels; None where there is none.

    The 100 dpi plates answer for what is plainly inside; what may only touch the shape is looked at at 300 dpi.
    """
    inner = shapely.buffer(shape, -EDGE_MM)
    near = job.plates.around(shape)
    if inner.is_empty or not _any_ink(near, names, near.mask_of(shape), tint_percent).any():
        return None
    sees = rims.sharply(job, lambda seen: _any_ink(seen, names, np.ones(seen.ink.shape[1:], bool), tint_percent))
    plain = _any_ink(near, names, near.mask_of(shapely.buffer(shape, -1.5 * near.mm_per_px)), tint_percent)
    plain = rims.without_rims(plain, near, sees, _strong(near, names))
    if plain.sum() * near.mm_per_px**2 >= PLAIN_MM2:
        return near, plain
    box = on_page(job.page, shape.bounds)
    window = job.page.window(box, close_dpi([box], MOST_PX))
    ink = _any_ink(window, names, window.mask_of(inner), tint_percent)
    ink = rims.without_rims(ink, window, sees, _strong(window, names))
    return (window, ink) if ink.any() else None


def _any_ink(plates: Plates, names: Iterable[str], within: masks.Mask, tint_percent: float) -> masks.Mask:
    ink = np.zeros_like(within)
    for name in names:
        ink |= masks.inked(plates.tint(name), tint_percent)
    return ink & within


def _strong(plates: Plates, names: Iterable[str]) -> masks.Mask:
    """Where ink is more than a rim."""
    return rims.is_no_rim(np.max([plates.tint(name) for name in names], axis=0))


@measure("ink-in-code-area", unit="mm2", facts=("area", "inks", "because"))
def ink_in_code_area(
    job: Job, *, areas: tuple[str, ...], margin_mm: float, inks: Kinds, ink_from_percent: float
) -> Measured:
    """Inked part of each code area with ``margin`` round it; ``areas``, ``inks`` as in ``ink-on-glue-flap``."""
    names, (spots, gaps) = _inks(job, inks), _spots(job, areas, margin_mm)
    return Measured([_covered(job, spot, names, ink_from_percent) for spot in spots], gaps)


@measure("coating-in-code-area", unit="mm2", facts=("area", "inks", "because"))
def coating_in_code_area(
    job: Job, *, areas: tuple[str, ...], margin_mm: float, coats: Kinds, ink_from_percent: float
) -> Measured:
    """Varnished or coated part of each code area with ``margin`` round it; see ``coating-on-glue-flap``."""
    spots, gaps = _spots(job, areas, margin_mm)
    names = _coating_plates(job, coats, areas)
    readings = [_covered(job, spot, names, ink_from_percent) for spot in spots]
    return _with_overall(job, spots, Measured(readings, gaps), areas)


def _covered(job: Job, spot: _Spot, names: Sequence[str], tint_percent: float) -> Reading:
    where = spot.where(len(job.die.blanks) > 1)
    facts: dict[str, object] = {"area": area_words(where), "inks": "", "because": spot.area.because}
    found = _inked(job, spot.shape, names, tint_percent)
    if found is None:
        return Reading(0.0, "mm2", (), spot.area.known, facts=facts)
    window, ink = found
    facts["inks"] = listed(n for n in names if (masks.inked(window.tint(n), tint_percent) & ink).any())
    size = round(float(_covered_share(window, names)[ink].sum()) * window.mm_per_px**2, 2)
    place = Place(_box_of(window, ink), job.page.number, None, where)
    return Reading(size, "mm2", (place,), spot.area.known, facts=facts)

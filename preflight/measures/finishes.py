"""Varnishes and other finishes that come out other than ordered: taken away by art above them, or exported as grey."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.colours import Colour, Family
from preflight.artwork.page.objects import ObjectTable, Painted
from preflight.artwork.page.separations import PROCESS, Separation
from preflight.carton.areas import shapes_of
from preflight.findings import Count, Reading, listed
from preflight.inputs.kind_names import classify, fold, load_names
from preflight.job import Job
from preflight.measures import needs, object_places
from preflight.measures.overprint import taken_away
from preflight.measures.raster import masks, rims
from preflight.measures.raster.places import places_in
from preflight.measures.registry import Kinds, measure
from preflight.setup.unit_plan import same_name

GREYS: Final = {
    "ICCBased-1": "ICC-based grey",
    "CalGray": "calibrated grey",
    "DeviceGray": "plain grey",
}
MOST_ROWS: Final = 2000
"""Objects that are held against each other one by one; of more their common box has to do."""


@measure("varnish-taken-away", unit="mm2", facts=("ink", "share", "by"))
def varnish_taken_away(
    job: Job,
    *,
    coats: Kinds,
    trim_mm: float,
    ink_from_percent: float,
    areas: tuple[str, ...],
    margin_mm: float,
    reserves: tuple[str, ...],
) -> list[Reading]:
    """Area on which artwork above a varnish takes it away, one reading a varnish.

    The varnish's plate is compared with the plate that it makes without the inks. ``coats`` are the kinds that count,
    and with them the ticket's coating. What is lost along a hole in the varnish, by ``trim`` at most, is a trap.
    ``areas`` are kinds of area that a varnish may leave bare, with ``margin`` round them; so are shapes in separations
    and on layers that are called one of the ``reserves``.
    """
    objects = needs.objects(job)
    varnishes = [s for s in job.page.separations if s.kind in coats or _is_coating(job, s)]
    covered = {s.name: rows for s in varnishes if len(rows := _art_above(job, objects, s.name, varnishes))}
    if not covered:
        return []
    kept = {s.name for s in varnishes}
    others = frozenset({*PROCESS, *(s.name for s in job.page.separations if s.on_plate)}) - kept
    plates, alone = job.plates, job.page.plates(job.plates.dpi, without=others)
    radius_px = 1.5 * (np.ceil(trim_mm / plates.mm_per_px) + 1)
    readings, bare = list[Reading](), plates.mask_of(_left_bare(job, areas, margin_mm, reserves))
    for varnish in varnishes:
        if varnish.name not in covered:
            continue
        here, whole = plates.tint(varnish.name), alone.tint(varnish.name)
        wanted = masks.inked(whole, ink_from_percent) & job.inside_mask
        missing = whole - np.minimum(here, whole)
        lost = wanted & masks.inked(missing, ink_from_percent) & ~bare
        lost &= ~_trap(lost, wanted, radius_px)
        if lost.any():
            sees = taken_away(job, varnish.name, others, ink_from_percent)
            lost = rims.without_rims(lost, plates, sees, rims.is_no_rim(missing))
        if lost.any():
            share = np.where(lost, missing / np.maximum(whole, 1.0), 0.0)
            readings.append(_lost(job, varnish, share, int(wanted.sum()), covered[varnish.name]))
    return readings


def _is_coating(job: Job, separation: Separation) -> bool:
    coating = job.ticket.coating.separation if job.ticket and job.ticket.coating else None
    return coating is not None and same_name(separation.name, coating)


def _art_above(job: Job, objects: ObjectTable, name: str, varnishes: list[Separation]) -> object_places.Rows:
    """Objects in printing inks that knock out and lie, by their boxes, over something painted in a varnish before."""
    own = object_places.painting(objects, objects.in_separation(name))
    if not len(own):
        return own
    spared = {s.name for s in varnishes} | {s.name for s in job.page.separations if not s.on_plate}

    def is_art(family: Family) -> bool:
        return not family.registration and name not in family.names and not spared.issuperset(family.names)

    rows = object_places.painting(objects, object_places.of_colours(objects, is_art) & ~objects.overprint)
    rows, boxes = rows[rows > own[0]], objects.shown_mm[own].astype(float)
    shown = objects.shown_mm[rows].astype(float)
    below, beyond = (shown[:, :2] < boxes[:, 2:].max(0)).all(1), (shown[:, 2:] > boxes[:, :2].min(0)).all(1)
    near: object_places.Rows = rows[below & beyond]
    if max(len(near), len(own)) > MOST_ROWS:
        return near
    over, under = shapely.STRtree(shapely.box(*boxes.T)).query(
        shapely.box(*shown[below & beyond].T), predicate="intersects"
    )
    found: object_places.Rows = near[np.unique(over[own[under] < near[over]])]
    return found


def _left_bare(job: Job, areas: tuple[str, ...], margin_mm: float, reserves: tuple[str, ...]) -> BaseGeometry:
    """What a varnish may leave bare: areas of these kinds, and shapes in what is called a reserve."""
    kinds, called = {kind.casefold() for kind in areas}, {"".join(fold(name)) for name in reserves}
    known = [*job.die.loose_areas, *(area for blank in job.die.blanks for area in blank.areas)]
    shapes: list[BaseGeometry] = [area.shape for area in known if area.kind.casefold() in kinds]
    page, objects = job.page, job.page.objects
    for separation in page.separations:
        if not separation.on_plate and "".join(fold(separation.name)) in called:
            shapes += shapes_of(page, objects.in_separation(separation.name))
    for number, layer in enumerate(page.layers):
        if "".join(fold(layer.name)) in called:
            shapes += shapes_of(page, objects.layer == number)
    return shapely.union_all(shapely.buffer(shapes, margin_mm, join_style="mitre"))


def _trap(lost: masks.Mask, wanted: masks.Mask, radius_px: float) -> masks.Mask:
    """What is lost between a hole in the varnish and varnish that is left, both as near as a trap is wide."""
    if not lost.any():
        return lost
    rows, reach = np.flatnonzero(lost.any(1)), int(radius_px) + 1
    band = slice(max(0, int(rows[0]) - reach), int(rows[-1]) + reach + 1)
    trap = np.zeros_like(lost)
    trap[band] = masks.put_on(~wanted[band], radius_px) & masks.put_on(wanted[band] & ~lost[band], radius_px)
    return trap


def _lost(job: Job, varnish: Separation, lost: NDArray[np.float64], wanted_px: int, art: object_places.Rows) -> Reading:
    """``lost``: how much of the varnish is gone in each pixel, 0..1; ``art``: objects that may have taken it away."""
    objects, mm = job.page.objects, job.plates.mm_per_px
    places = places_in(job.plates, lost > 0, varnish.name, job.page.number)
    tree = shapely.STRtree([shapely.box(*place.box_mm) for place in places])
    over, _ = tree.query(shapely.box(*objects.shown_mm[art].astype(float).T), predicate="intersects")
    used = np.zeros(len(objects.colours), bool)
    used[objects.colour[art[over]]] = True
    inks = [name for name, tint in objects.colours.inked(used).items() if tint > 0]
    white = bool((used & objects.colours.where(lambda family: family.most() == 0)).any())
    share = 100 * float(lost.sum()) / wanted_px
    facts = {
        "ink": varnish.name,
        "share": f"{share:.0f} %" if share >= 1 else "less than 1 %",
        "by": listed([*inks, *["paper white"] * white]),
    }
    area = round(float(lost.sum()) * mm**2, 2)
    return Reading(area, "mm2", places, varnish.known, group=varnish.name, facts=facts)


@measure(
    "grey-in-place-of-finishes",
    unit="objects",
    rests_on=["objects"],
    facts=("space", "ink", "kind", "objects"),
)
def grey_in_place_of_finishes(job: Job, *, kinds: Kinds, area_mm2: float) -> list[Reading]:
    """Objects in grey inside the cut for each finish that the ticket names and the file does not have.

    ``kinds`` are those of the finishes; one counts as missing where the file has no separation of its kind. Type and
    lines in plain grey are black, and so is what is smaller than ``area``; ICC-based grey is seldom meant as such.
    """
    objects, missing = needs.objects(job), list(_missing_finishes(job, kinds))
    if not missing:
        return []
    rows = _grey_rows(objects, area_mm2)
    rows = object_places.reaching_inside(objects, rows, job.inside_shape)
    if not len(rows):
        return []
    families = {_space(objects.colours[number]) for number in np.unique(objects.colour[rows]).tolist()}
    facts = {"space": listed(words for space, words in GREYS.items() if space in families)}
    places = object_places.places_of(objects, rows, job.page.number)
    return [
        Reading(
            float(len(rows)),
            "objects",
            places,
            "assumed",
            group=finish.name,
            facts={**facts, "ink": finish.name, "kind": finish.kind, "objects": Count(len(rows))},
        )
        for finish in missing
    ]


def _missing_finishes(job: Job, kinds: tuple[str, ...]) -> Iterator[Separation]:
    """What the unit list, the separations and the coating of the ticket name, where the file has none of its kind."""
    ticket = needs.ticket(job, "units, separations or coating")
    listed_units = {e.name for e in ticket.units or () if e.name is not None and not e.overall}
    found = {i.separation.name: i.separation for i in job.inks if not i.in_file and i.separation.name in listed_units}
    in_file = job.page.separations
    for name, note in ticket.separations.items():
        kind = note.kind or (classify(name, load_names()) or ("spot", ""))[0]
        if note.same_as is None and not any(same_name(name, s.name) for s in in_file):
            found.setdefault(name, Separation(name, kind, "stated on the ticket", "stated"))
    coated = ticket.coating.separation if ticket.coating else None
    if coated is not None and not any(same_name(coated, s.name) for s in in_file):
        found[coated] = Separation(coated, "varnish", "the ticket's coating", "stated")
    there = {s.kind for s in in_file} | ({"varnish"} if any(_is_coating(job, s) for s in in_file) else set())
    yield from (finish for finish in found.values() if finish.kind in kinds and finish.kind not in there)


def _space(colour: Family | Colour) -> str:
    return colour.base if colour.space == "Indexed" else colour.space


def _grey_rows(objects: ObjectTable, area_mm2: float) -> object_places.Rows:
    def of(*spaces: str) -> NDArray[np.bool_]:
        return object_places.of_colours(objects, lambda family: _space(family) in spaces and (family.most() > 0))

    size = np.maximum(objects.shown_mm[:, 2:] - objects.shown_mm[:, :2], 0)
    plain = ~np.isin(objects.painted, (Painted.TEXT, Painted.STROKE)) & (size.prod(1) >= area_mm2)
    return object_places.painting(objects, of("ICCBased-1", "CalGray") | (of("DeviceGray") & plain))

"""What overprints and should not, and what knocks out and should not: white art, finishes, white ink, spots at nought,
black text.

Which objects are looked at follows from their colours; whether they do any harm is seen on the plates.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.colours import Family, Wanted
from preflight.artwork.page.geometry import Box
from preflight.artwork.page.objects import ObjectTable, Painted
from preflight.artwork.page.plates import Plates
from preflight.artwork.page.separations import PROCESS
from preflight.findings import Count, Gap, Measured, Place, Reading, listed
from preflight.job import Job
from preflight.measures import needs, object_places
from preflight.measures.raster import masks, rims
from preflight.measures.raster.differences import Change, change, over_something
from preflight.measures.registry import Kinds, measure
from preflight.setup.unit_plan import same_name

MOST_SIZES: Final = 20


def _named(job: Job, kinds: Collection[str]) -> tuple[str, ...]:
    """Separations on a plate whose kind is one of these."""
    return tuple(s.name for s in job.page.separations if s.on_plate and s.kind in kinds)


def _rows(job: Job, colours: Wanted, *, overprint: bool) -> object_places.Rows:
    """Objects that show inside the cut in colours that are wanted, and overprint or do not."""
    objects = needs.objects(job)
    wanted = object_places.of_colours(objects, colours) & (objects.overprint == overprint)
    return object_places.reaching_inside(objects, object_places.painting(objects, wanted), job.inside_shape)


def _light(colours: Family, names: Collection[str], to_percent: float) -> bool | NDArray[np.bool_]:
    """Whether plain colours put no ink on any plate, and name one of these separations."""
    if colours.varies or colours.registration or not colours.names_any(names):
        return False
    light: NDArray[np.bool_] = colours.most() * 100 <= to_percent
    return light


def _places(job: Job, found: Change) -> tuple[Place, ...]:
    names = found.plates()
    separation = names[0] if len(names) == 1 else None
    return tuple(Place(box, job.page.number, separation) for box in found.boxes())


@measure("white-art-that-overprints", unit="mm2", facts=("plates", "objects"))
def white_art_that_overprints(
    job: Job, *, inks: Kinds, white_to_percent: float, ink_from_percent: float
) -> list[Reading]:
    """Area on which paper-white art lets ink stand because it overprints.

    Found by comparing the plates with plates on which the art knocks out, whatever colour space and overprint mode
    it has: CMYK white under mode 1, which vanishes altogether; CMYK, grey or RGB white over a spot; a spot at 0 %.
    White is what carries no more than ``white_to`` of any ink; plates of the kinds ``inks`` are compared from
    ``ink_from``.
    """
    names = _named(job, inks)
    own = frozenset({*names, *(PROCESS if "process" in inks else ())})
    rows = _rows(job, lambda family: _light(family, own, white_to_percent), overprint=True)
    _ = job.plates
    found = change(job, over_something(job, rows), "knocking out", names, ink_from_percent)
    if not found.windows:
        return []
    touched = Count(sum(found.touched(object_places.boxes_of(job.page.objects, rows))))
    facts = {"plates": listed(found.plates()), "objects": touched}
    return [Reading(round(found.area_mm2, 2), "mm2", _places(job, found), facts=facts)]


@measure("spot-at-nought", unit="mm2", facts=("ink", "plates", "objects"))
def spot_at_nought(
    job: Job, *, spots: Kinds, inks: Kinds, nought_to_percent: float, ink_from_percent: float
) -> list[Reading]:
    """Area on which an object in a spot at 0 % takes other inks away, one reading a spot.

    ``spots`` are the kinds that count as one, ``inks`` those that are taken away. A spot that only clears its own plate
    is reversed type in that spot and is left alone.
    """
    own, names = frozenset(_named(job, spots)), _named(job, inks)
    objects = needs.objects(job)

    def wanted(family: Family) -> bool | NDArray[np.bool_]:
        only_spots = family.by_name and own.issuperset(family.names)
        return only_spots and _light(family, own, nought_to_percent)

    rows = over_something(job, _rows(job, wanted, overprint=False))
    _ = job.plates
    by_spot: dict[str, list[int]] = {}
    for row in rows.tolist():
        by_spot.setdefault(objects.colours[int(objects.colour[row])].tints[0][0], []).append(row)
    readings = []
    for spot, members in by_spot.items():
        others = [name for name in names if name != spot]
        found = change(job, np.array(members), "left out", others, ink_from_percent)
        if found.windows:
            knocking = sum(found.touched(object_places.boxes_of(objects, members)))
            facts = {"ink": spot, "plates": listed(found.plates()), "objects": Count(max(1, knocking))}
            places = tuple(Place(box, job.page.number, spot) for box in found.boxes())
            readings.append(Reading(round(found.area_mm2, 2), "mm2", places, group=spot, facts=facts))
    return readings


@measure("ink-under-finishes", unit="mm2", facts=("finish", "kind", "plates"))
def ink_under_finishes(job: Job, *, finishes: Kinds, inks: Kinds, ink_from_percent: float) -> list[Reading]:
    """Area on which a finish (varnish, foil, embossing …) takes ink away, one reading a separation.

    ``finishes`` are the kinds that are looked at, and with them the ticket's coating; ``inks`` are those that have to
    stay beneath them.
    """
    needs.objects(job)
    readings = []
    _ = job.plates
    coating = job.ticket.coating.separation if job.ticket and job.ticket.coating else None
    named = {
        s.name: s
        for s in job.page.separations
        if s.kind in finishes or (coating is not None and same_name(s.name, coating))
    }
    names = [name for name in _named(job, inks) if name not in named]
    for separation in named.values():

        def only_finishes(family: Family, own: str = separation.name) -> bool:
            return not family.registration and own in family.names and all(name in named for name in family.names)

        rows = over_something(job, _rows(job, only_finishes, overprint=False))
        found = change(job, rows, "left out", names, ink_from_percent)
        if found.windows:
            facts = {"finish": separation.name, "kind": separation.kind, "plates": listed(found.plates())}
            places = tuple(Place(box, job.page.number, separation.name) for box in found.boxes())
            readings.append(
                Reading(round(found.area_mm2, 2), "mm2", places, separation.known, group=separation.name, facts=facts)
            )
    return readings


@measure("white-missing-under-art", unit="mm2", facts=("ink", "surface", "share"))
def white_missing_under_art(job: Job, *, art: Kinds, trim_mm: float, ink_from_percent: float) -> list[Reading]:
    """Area on which the art above a white ink takes it away, on a board that is not white; one reading a white.

    The white's plate is compared with the plate that it makes alone. Only places that carry ink of the kinds ``art``
    count, since the board is often meant to show where nothing is printed; where such an ink goes on beyond the white,
    ``trim`` is a trap.
    """
    whites, readings = [s for s in job.page.separations if s.kind == "white"], []
    needs.objects(job)
    plates = job.plates
    if not whites:
        return []
    surface = needs.board_surface(job)
    if surface == "white":
        return []
    others = frozenset({*PROCESS, *(s.name for s in job.page.separations if s.kind != "white")})
    alone = job.page.plates(plates.dpi, without=others)
    inked = np.zeros(plates.ink.shape[1:], bool)
    for name in _named(job, art):
        inked |= masks.inked(plates.tint(name), ink_from_percent)
    inked &= job.inside_mask
    for white in whites:
        here, whole = plates.tint(white.name), alone.tint(white.name)
        wanted = masks.inked(whole, ink_from_percent) & inked
        lost = wanted & masks.inked(whole - np.minimum(here, whole), ink_from_percent)
        if lost.any():
            lost &= ~masks.put_on(inked & ~wanted, np.ceil(trim_mm / plates.mm_per_px) + 1)
            sees = taken_away(job, white.name, others, ink_from_percent)
            lost = rims.without_rims(lost, plates, sees, rims.is_no_rim(whole - np.minimum(here, whole)))
        if not lost.any():
            continue
        boxes = object_places.gathered([plates.box(*region.slices) for region in masks.regions(lost)])
        readings.append(
            Reading(
                round(float(lost.sum()) * plates.mm_per_px**2, 1),
                "mm2",
                tuple(Place(box, job.page.number, white.name) for box in boxes),
                white.known,
                group=white.name,
                facts={"ink": white.name, "surface": surface, "share": f"{100 * lost.sum() / wanted.sum():.0f} %"},
            )
        )
    return readings


def taken_away(job: Job, separation: str, others: frozenset[str], tint_percent: float) -> rims.Sees:
    """Looks with sharp edges for what the other inks take away of a separation."""

    def sees(boxes: Sequence[Box], dpi: float) -> list[masks.Mask]:
        here = [job.page.window(box, dpi, edges="sharp").tint(separation) for box in boxes]
        alone = [job.page.window(box, dpi, others, "sharp").tint(separation) for box in boxes]
        return [
            rims.no_edges(whole - np.minimum(own, whole), tint_percent) for own, whole in zip(here, alone, strict=True)
        ]

    return sees


@measure("black-text-knocking-out", unit="pt", facts=("plates", "texts"))
def black_text_knocking_out(
    job: Job,
    *,
    black_from_percent: float,
    inks: Kinds,
    not_over: Kinds,
    ink_from_percent: float,
    area_mm2: float,
) -> Measured:
    """Size of live text in black alone that takes other inks away, one reading a size.

    Black counts from ``black_from``; ``inks`` are the kinds that it may take away, from ``ink_from`` and on ``area`` of
    a size; where one of the kinds ``not_over`` lies below, black is better knocked out.
    """
    objects = needs.objects(job, "text")
    plates = job.plates
    names = [name for name in _named(job, inks) if name != "Black"]
    black = object_places.of_colours(objects, lambda family: _black_alone(family, black_from_percent))
    mask = black & (objects.painted == Painted.TEXT) & _clears(objects)
    rows = object_places.reaching_inside(objects, object_places.painting(objects, mask), job.inside_shape)
    rows = rows[[_ink_about(plates, names, box, ink_from_percent) for box in object_places.boxes_of(objects, rows)]]
    found = change(job, rows, "left out", names, ink_from_percent, not_over=_named(job, not_over))
    if not found.windows:
        return Measured([])
    sizes = np.round(objects.text_size_pt[rows].astype(float), 1)
    readings, gaps = [], list[Gap]()
    several = np.unique(sizes).tolist()
    if len(several) > MOST_SIZES:
        beyond = object_places.places_of(objects, rows[sizes > several[MOST_SIZES - 1]], job.page.number)
        because = f"there is black text in more than {MOST_SIZES} sizes, and only the smallest were checked"
        gaps.append(Gap(because, "a simpler file", places=beyond))
    for size in several[:MOST_SIZES]:
        own = rows[sizes == size]
        boxes = object_places.boxes_of(objects, own)
        hit = own[found.touched(boxes)]
        if sum(window.area_mm2(box) for window in found.windows for box in boxes) < area_mm2:
            continue
        facts = {"plates": listed(found.plates()), "texts": Count(len(hit))}
        readings.append(
            Reading(size, "pt", object_places.places_of(objects, hit, job.page.number, "Black"), facts=facts)
        )
    return Measured(readings, gaps)


def _black_alone(colours: Family, from_percent: float) -> bool | NDArray[np.bool_]:
    if colours.varies or colours.registration:
        return False
    others = [name for name in colours.names if name != "Black"]
    alone: NDArray[np.bool_] = (colours.most(("Black",)) * 100 >= from_percent) & (colours.most(others) == 0)
    return alone


def _clears(objects: ObjectTable) -> NDArray[np.bool_]:
    """Rows that clear other plates: all that do not overprint, and what overprints in a colour space that names them.

    Grey is a process colour: even overprinting it clears cyan, magenta and yellow (ISO 32000-2, table 146).
    """
    separation = object_places.of_colours(objects, lambda family: family.by_name)
    direct = object_places.of_colours(objects, lambda family: family.direct_cmyk) & (objects.opm == 1)
    clears: NDArray[np.bool_] = ~(objects.overprint & (separation | direct))
    return clears


def _ink_about(plates: Plates, names: Collection[str], box: Box, tint_percent: float) -> bool:
    """Whether any of the inks stands in a box or at its rim: text on bare board takes nothing away."""
    part = plates.slices(box, round_px=1)
    return any(masks.inked(plates.tint(name)[part], tint_percent).any() for name in names)

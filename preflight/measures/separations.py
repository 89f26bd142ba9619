"""Measures of rules/separations.yaml: names without ink, one ink under two names, registration colour, RGB and such."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.colours import Family
from preflight.artwork.page.objects import ObjectTable, Painted
from preflight.artwork.page.separations import PROCESS
from preflight.findings import Count, Place, Reading
from preflight.job import InkOnJob, Job
from preflight.measures import needs, object_places
from preflight.measures.one_ink import groups_to_ask_about, one_ink_groups, process_inks_meant
from preflight.measures.raster import masks
from preflight.measures.raster.places import where_inked
from preflight.measures.registry import measure
from preflight.measures.unseen_ink import why_not_painted, why_not_seen
from preflight.measures.what_prints import PRINTS_FROM_TINT_PERCENT


@measure("ink-of-each-spot", unit="mm2", facts=("ink", "kind", "where"))
def ink_of_each_spot(job: Job) -> list[Reading]:
    """Area that each separation other than process inks inks inside the cut, and where its name occurs."""
    spots = [i for i in needs.inks(job) if i.in_file and i.separation.on_plate and i.separation.kind != "process"]
    if spots and all(ink.prints is None for ink in spots):
        needs.sure_inside(job)
    return [
        Reading(
            round(ink.area_mm2, 3),
            "mm2",
            places=() if ink.prints else _places_named(job, ink),
            known=needs.die_known(job),
            group=ink.separation.name,
            facts={"ink": ink.separation.name, "kind": ink.separation.kind}
            | ({} if ink.prints else {"where": where_named(job, ink)}),
            units=ink.units,
        )
        for ink in spots
        if ink.prints is not None
    ]


def where_named(job: Job, ink: InkOnJob) -> str:
    """Where the name of a separation occurs that prints nothing inside the cut."""
    objects = needs.objects(job)
    rows = np.flatnonzero(objects.in_separation(ink.separation.name))
    if not len(rows):
        return "named in the file's resources; nothing is painted in it"
    shown = np.intersect1d(rows, object_places.painting(objects))
    if not len(shown):
        return why_not_painted(job, objects, rows)
    solid = object_places.of_colours(objects, lambda family: family.most((ink.separation.name,)) > 0)
    inked = shown[solid[shown]]
    if not len(inked):
        return "painted at 0 % only, where it still knocks out what lies below"
    inside = object_places.reaching_inside(objects, inked, job.inside_shape)
    if not len(inside):
        return _outside(job, objects, inked)
    if ink.area_mm2 > 0:
        return f"only a speck of {ink.area_mm2:.2g} mm²"
    colours = [objects.colours[number] for number in np.unique(objects.colour[inside]).tolist()]
    most = max(colour.tint(ink.separation.name) for colour in colours)
    if most * 100 < PRINTS_FROM_TINT_PERCENT:
        return f"painted at {100 * most:.2g} % at most, which is too light to print"
    return why_not_seen(job, ink.separation.name, inside)


def _outside(job: Job, objects: ObjectTable, rows: object_places.Rows) -> str:
    """Only outside the cut, and what the place looks like: a row of patches, or the legend of the die drawing."""
    legend = job.die.left_out
    boxes = shapely.box(*objects.shown_mm[rows].astype(float).T)
    if legend is not None and not legend.is_empty and bool(shapely.intersects(shapely.envelope(legend), boxes).all()):
        return "only outside the cut, in the legend of the die drawing"
    if _in_a_colour_bar(objects, rows):
        return "only outside the cut, in a row of patches (a colour bar or a legend)"
    return "only outside the cut: a legend, a colour bar or marks"


def _in_a_colour_bar(objects: ObjectTable, rows: object_places.Rows) -> bool:
    """Small patches that stand in a line with at least three others of their size in other colours."""
    boxes = objects.shown_mm.astype(float)
    size = boxes[:, 2:] - boxes[:, :2]
    small = objects.visible & (size.max(1) <= 12) & (size.min(1) >= 1.5)
    for row in rows[:20]:
        if not small[row]:
            return False
        alike = small & (np.abs(size - size[row]).max(1) < 0.3)
        in_line = alike & (np.abs(boxes[:, :2] - boxes[row, :2]).min(1) < 0.3)
        near = in_line & (np.abs(boxes[:, :2] - boxes[row, :2]).max(1) < 8 * size[row].max())
        if len(set(objects.colour[near])) < 4:
            return False
    return bool(len(rows))


def _places_named(job: Job, ink: InkOnJob) -> tuple[Place, ...]:
    objects = job.page.objects
    rows = object_places.painting(objects, objects.in_separation(ink.separation.name))
    return object_places.places_of(objects, rows, job.page.number, ink.separation.name)


@measure("names-of-one-ink", unit="names", rests_on=["objects"], facts=("names", "areas"))
def names_of_one_ink(job: Job) -> list[Reading]:
    """Printing separations whose names a person reads as one ink; names that the ticket merges count once.

    Names are read by ``one_ink``: case, blanks, punctuation, accents, endings, issues (``neu``, ``v2``, ``(2)``) and
    library words of rules/inks.yaml are not looked at; other digits always are.
    The places are those of the smaller inks: those that would be renamed.
    """
    plates = [plates for plates in needs.plan(job).plates if not plates.overall]
    unsure = any(ink.prints is None for ink in job.inks if ink.separation.on_plate)
    cover = {ink.separation.name: ink for ink in job.inks}
    return [
        Reading(
            float(len(group)),
            "names",
            places=tuple(
                place
                for name in _all_but_the_largest(group, cover)
                for place in where_inked(job.plates, job.inside_mask, name, job.page.number)
            ),
            known="assumed" if unsure else "read",
            group=", ".join(group),
            facts={
                "names": " and ".join(group),
                "areas": ", ".join(f"{name} {cover[name].area_mm2 / 100:.1f} cm²" for name in group if name in cover),
            },
            units=tuple(sorted({unit for name in group if name in cover for unit in cover[name].units})),
        )
        for group in groups_to_ask_about([p.name for p in plates])
    ]


def _all_but_the_largest(names: Sequence[str], inks: Mapping[str, InkOnJob]) -> list[str]:
    """Names of one ink without the one that inks most; of alike ones the first is left out."""
    largest = max(names, key=lambda name: inks[name].area_mm2 if name in inks else 0.0)
    return [name for name in names if name != largest]


@measure("units-of-process-names", unit="units", rests_on=["inks"], facts=("ink", "process", "colour"))
def units_of_process_names(job: Job) -> list[Reading]:
    """Units that each separation takes which is no process ink and bears the name of one (``Schwarz``, ``K``).

    Names are read by rules/names.yaml. What the ticket merges (``same_as``) or gives a kind is left alone, and
    so is what ``names-of-one-ink`` reads as one with the process ink itself.
    """
    said = {s.name for s in job.page.separations if s.known == "stated"}
    printing = [plates for plates in needs.plan(job).plates if not plates.overall]
    groups = one_ink_groups([plates.name for plates in printing])
    said.update(name for group in groups if set(group) & set(PROCESS) for name in group)
    plates = {plates.name: plates for plates in printing if plates.kind == "spot" and plates.name not in said}
    return [
        Reading(
            float(plates[name].hits),
            "units",
            places=where_inked(job.plates, job.inside_mask, name, job.page.number),
            group=name,
            facts={"ink": name, "process": ink, "colour": ink.lower()},
        )
        for name, ink in process_inks_meant(list(plates)).items()
    ]


@measure("registration-colour-inside", unit="mm2", rests_on=["objects"], facts=("objects", "plates"))
def registration_colour_inside(job: Job) -> list[Reading]:
    """Area that registration colour covers inside the cut, where it is still seen on the plates."""
    objects = needs.objects(job)
    needs.sure_inside(job)
    die = [row for drawn in job.die.lines_of.values() for row in drawn]  # for the die there is a rule of its own
    marks = np.setdiff1d(object_places.registration_rows(objects), die).astype(np.intp)
    rows = object_places.reaching_inside(objects, marks, job.inside_shape)
    seen, covers = list[int](), object_places.Covers.of(objects)
    area = 0.0
    on_all = job.plates.ink.min(0) if len(job.plates.names) and len(rows) else None
    for row in rows.tolist():
        shape = shapely.intersection(object_places.shape_of(objects, row), job.inside_shape)
        near = job.plates.mask_of(shapely.buffer(shape, job.plates.mm_per_px))
        if (on_all is None or on_all[near].any()) and not covers.hide(row, shape.bounds, shape):
            seen.append(row)
            area += float(shape.area) if on_all is None else _inked_part(job, row, shape, on_all[near])
    if not seen:
        return []
    places = object_places.places_of(objects, np.array(seen), job.page.number, "All")
    facts = {"objects": Count(len(seen)), "plates": len(job.plates.names)}
    return [Reading(round(area, 2), "mm2", places, known=needs.die_known(job), facts=facts)]


def _inked_part(job: Job, row: int, shape: BaseGeometry, levels: NDArray[np.uint8]) -> float:
    """What of an object's shape is ink, in mm2: for text and pictures, whose shape is their box, as the plates tell.

    ``levels`` are those of the plate that has least of it there.
    """
    objects = job.page.objects
    if objects.painted[row] in (Painted.FILL, Painted.STROKE):
        return float(shape.area)
    pixels = float(np.count_nonzero(masks.inked(levels, PRINTS_FROM_TINT_PERCENT)))
    if objects.painted[row] == Painted.TEXT:
        tint = max((tint for _, tint in objects.colours[int(objects.colour[row])].tints), default=1.0)
        pixels = float(levels.sum(dtype=np.int64)) / 255 / max(tint, 1 / 255)
    return min(float(shape.area), pixels * job.plates.mm_per_px**2)


@measure("colours-that-are-no-plate", unit="objects", rests_on=["objects"], facts=("space",))
def colours_that_are_no_plate(job: Job) -> list[Reading]:
    """Objects inside the cut whose colour is no plate (RGB, Lab …), one reading for each such colour."""
    objects = needs.objects(job)
    readings = []
    for space in sorted({family.not_a_plate for family, _ in objects.colours.families()} - {""}):

        def in_space(family: Family, space: str = space) -> bool:
            return family.not_a_plate == space

        wanted = object_places.of_colours(objects, in_space)
        rows = object_places.reaching_inside(objects, object_places.painting(objects, wanted), job.inside_shape)
        if len(rows):
            places = object_places.places_of(objects, rows, job.page.number)
            readings.append(Reading(float(len(rows)), "objects", places, group=space, facts={"space": space}))
    return readings

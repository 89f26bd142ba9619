"""The pages of one file beside each other: whether they show one carton in one set of inks. Said of the first page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from preflight.artwork.page.colours import Family
from preflight.artwork.page.geometry import Box
from preflight.artwork.page.objects import ObjectTable
from preflight.artwork.page.page import Page
from preflight.carton.die import Die
from preflight.carton.read_die import read_die
from preflight.errors import NotMeasured
from preflight.findings import Gap, Measured, Place, Reading, listed
from preflight.job import Job
from preflight.measures import needs, object_places
from preflight.measures.job_assembly import assemble_job
from preflight.measures.one_up import own_trim
from preflight.measures.plate_pages import pages_in_words, said_to_be_plates
from preflight.measures.registry import measure
from preflight.measures.what_prints import PRINTS_FROM_TINT_PERCENT

Sizes = dict[str, tuple[float, float]]
"""Width and height of what is known of a page, in mm: ``cut``, ``trim box``, ``page``; the most telling first."""


@dataclass(frozen=True)
class _Shown:
    """What one page shows."""

    number: int
    sizes: Sizes
    inks: tuple[str, ...]
    """What prints on it, in the order of the file."""


@measure("separations-that-print", unit="separations", rests_on=(), within="page", cases=("not in the cut",))
def separations_that_print(job: Job) -> list[Reading]:
    """How many separations put ink on the page, what the ticket prints overall included; one where nobody can tell.

    Case ``not in the cut``: something is drawn on the page, and what prints does not stand inside the cut.
    """
    needs.whole(job, "objects", "text", "images")
    if job.page.uncertain:
        raise NotMeasured("something on the page could not be read", "a corrected or simpler file")
    printing = sum(ink.prints is not False for ink in needs.inks(job) if ink.separation.on_plate)
    drawn = len(job.page.objects) > 0
    places = () if printing else (Place(job.page.box_mm, job.page.number),)
    return [Reading(printing, "separations", places, case="not in the cut" if drawn else "")]


@measure(
    "pages-unlike-the-first",
    unit="pages",
    rests_on=["inks"],
    within="page",
    cases=("inks", "size"),
    facts=("sizes", "inks"),
)
def pages_unlike_the_first(job: Job, *, same_size_mm: float) -> Measured:
    """Pages whose carton has another size than that of the first page, or that print in other inks.

    Sizes are those of the cut where both pages have a die, and agree within ``same_size``; else any of trim box and
    page may agree. Case ``inks``: all have one size. Names that the ticket merges are one ink. Inks of a file whose
    pages are plates are not compared.
    """
    if job.page is not job.artwork.pages[0] or len(job.artwork.pages) < 2:
        return Measured([])
    shown = _all_shown(job)
    sizes = _alike(shown, lambda one, other: _is_one_size(one.sizes, other.sizes, same_size_mm))
    inks = [shown] if said_to_be_plates(job.artwork) else _alike(shown, _in_one_set_of_inks)
    unlike = {page.number for groups in (sizes, inks) for group in groups[1:] for page in group}
    in_part = [page for page in job.artwork.pages if any(bound.hits & {"objects"} for bound in page.over_bounds)]
    facts = {
        "sizes": "; ".join(f"{_said(group, 'is', 'are')} {_size_words(group[0], shown)}" for group in sizes),
        "inks": "; ".join(f"{_said(group, 'prints', 'print')} {listed(group[0].inks) or 'nothing'}" for group in inks),
    }
    case = "inks" if len(sizes) < 2 else "size" if len(inks) < 2 else ""
    gaps = [Gap("not all pages could be read in full", "simpler or corrected pages")] if in_part else []
    return Measured([Reading(float(len(unlike)), "pages", case=case, facts=facts)], gaps)


def _all_shown(job: Job) -> list[_Shown]:
    """What each page shows; where another page seems to print in other inks than the first, its plates are asked."""
    first, *others = job.artwork.pages
    names = [ink.separation.name for ink in job.inks if ink.in_file and ink.separation.on_plate]
    if any(ink.prints is None for ink in job.inks if ink.in_file):
        inks = _painted(first, job.die, names)
    else:
        inks = [ink.separation.name for ink in job.inks if ink.in_file and ink.prints]
    shown = [_Shown(first.number, _sizes(job, first, job.die), _merged(job, inks))]
    for page in others:
        die = read_die(page, job.ticket)
        painted = _merged(job, _painted(page, die, [s.name for s in page.separations if s.on_plate]))
        if set(painted) != set(shown[0].inks):
            painted = _printing(job, page, painted)
        shown.append(_Shown(page.number, _sizes(job, page, die), painted))
    return shown


def _painted(page: Page, die: Die, names: Sequence[str]) -> list[str]:
    """Separations that objects are painted in inside the cut (the trim box, the page), at a tint that prints."""
    inside = die.inside if die.blanks else shapely.box(*(page.boxes.trim or page.box_mm))
    return [name for name in names if _is_painted(page.objects, name, inside)]


def _is_painted(objects: ObjectTable, name: str, inside: BaseGeometry) -> bool:
    def prints(family: Family) -> NDArray[np.bool_]:
        return np.asarray(family.most((name,)) * 100 >= PRINTS_FROM_TINT_PERCENT) & (not family.registration)

    rows = object_places.painting(objects, object_places.of_colours(objects, prints))
    return bool(len(object_places.reaching_inside(objects, rows, inside)))


def _printing(job: Job, page: Page, painted: Sequence[str]) -> tuple[str, ...]:
    """What prints on another page by its plates: what is painted may lie hidden or knocked out."""
    other = assemble_job(job.artwork, page, job.press, job.ticket)
    page.close()
    inks = [ink for ink in other.inks if ink.in_file and ink.separation.on_plate]
    names = _merged(job, [ink.separation.name for ink in inks if ink.prints is not False])
    unknown = set(_merged(job, [ink.separation.name for ink in inks if ink.prints is None]))
    return tuple(name for name in names if name not in unknown or name in painted)


def _merged(job: Job, names: Sequence[str]) -> tuple[str, ...]:
    """Each ink once, by the name that the ticket gives it."""
    return tuple(dict.fromkeys(job.ticket.ink_of(name) if job.ticket else name for name in names))


def _sizes(job: Job, page: Page, die: Die) -> Sizes:
    sizes = {}
    if die.blanks and job.artwork_is == "one-up":
        sizes["cut"] = _extent(die.inside.bounds)
    trim = own_trim(page)
    if trim is not None:
        sizes["trim box"] = _extent(trim)
    sizes["page"] = (page.width_mm, page.height_mm)
    return sizes


def _extent(box: Box) -> tuple[float, float]:
    return box[2] - box[0], box[3] - box[1]


def _is_one_size(one: Sizes, other: Sizes, same_mm: float) -> bool:
    if "cut" in one and "cut" in other:
        one, other = {"cut": one["cut"]}, {"cut": other["cut"]}
    return any(
        abs(width - across) <= same_mm and abs(height - along) <= same_mm
        for width, height in one.values()
        for across, along in other.values()
    )


def _in_one_set_of_inks(one: _Shown, other: _Shown) -> bool:
    return set(one.inks) == set(other.inks)


def _alike(shown: Sequence[_Shown], is_alike: Callable[[_Shown, _Shown], bool]) -> list[list[_Shown]]:
    """Pages in groups that are like the first of their group, in the order of the file."""
    groups: list[list[_Shown]] = []
    for page in shown:
        own = next((group for group in groups if is_alike(group[0], page)), None)
        if own is None:
            groups.append([page])
        else:
            own.append(page)
    return groups


def _said(pages: Sequence[_Shown], one: str, several: str) -> str:
    """``page 2 is``, ``pages 1 and 3 are``."""
    return f"{pages_in_words([page.number for page in pages])} {one if len(pages) == 1 else several}"


def _size_words(page: _Shown, shown: Sequence[_Shown]) -> str:
    """``195 x 180 mm``; with what it is the size of, where that is not the same for all pages."""
    of, (width, height) = next(iter(page.sizes.items()))
    kinds = {next(iter(other.sizes)) for other in shown}
    return f"{round(width, 1):g} x {round(height, 1):g} mm" + (f" ({of})" if len(kinds) > 1 else "")

"""Spots that one file shows in more than one way: the alternate colours that stand under one name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from preflight.artwork.page.separations import SHOWN_AT, Alternate
from preflight.findings import Gap, Measured, Place, Reading
from preflight.job import Job
from preflight.measures import needs
from preflight.measures.registry import measure

SCALES: Final = {"CMYK": 100.0, "RGB": 255.0, "Lab": 1.0}
"""From the values of a colour to those that people write."""
PERCENT: Final = {"CMYK": 100.0, "RGB": 100.0, "Lab": 1.0}
"""From the values of a colour to hundredths of their range; L* runs to 100, and a* and b* are as fine."""


@measure(
    "definitions-of-each-spot",
    unit="definitions",
    rests_on=["objects"],
    within="page",
    facts=("ink", "definitions"),
)
def definitions_of_each_spot(job: Job, *, same_within_percent: float) -> Measured:
    """How many different alternate colours each spot of the file has; said of the first page, for all of the file.

    Alternate colours are one where no component differs by more than ``same_within`` of its range at any tint, however
    they are written. Those in different spaces (CMYK, RGB, Lab) differ: which colour CMYK is, only a profile tells.
    """
    needs.whole(job, "objects")
    if job.page is not job.artwork.pages[0]:
        return Measured([])
    spots = {s.name for page in job.artwork.pages for s in page.separations if s.on_plate and s.kind != "process"}
    readings, unreadable = [], list[str]()
    for name, alternates in job.artwork.alternates.items():
        if name not in spots:
            continue
        different = _different([one for one in alternates if one.space], same_within_percent)
        if len(different) > 1:
            readings.append(_reading(job, name, different))
        elif not all(one.space for one in alternates):
            unreadable.append(name)
    because = f"{', '.join(unreadable)}: one of several alternate colours cannot be read"
    return Measured(readings, [Gap(because, "a corrected file")] if unreadable else [])


def _different(alternates: Sequence[Alternate], within_percent: float) -> list[list[Alternate]]:
    """Alternates in groups of one colour each, in the order in which the file paints in them."""
    groups: list[list[Alternate]] = []
    for one in alternates:
        own = next((group for group in groups if _apart(group[0], one)[0] <= within_percent), None)
        if own is None:
            groups.append([one])
        else:
            own.append(one)
    return groups


def _apart(one: Alternate, other: Alternate) -> tuple[float, int]:
    """By how many hundredths of a component's range two differ at most, and at which of the tints; solids first."""
    solid = len(SHOWN_AT) - 1
    if one.space != other.space:
        return float("inf"), solid
    apart = np.abs(np.array(one.colours) - np.array(other.colours)).max(axis=1) * PERCENT[one.space]
    most = float(apart.max())
    return most, solid if apart[solid] >= most / 2 else int(apart.argmax())


def _reading(job: Job, name: str, different: Sequence[Sequence[Alternate]]) -> Reading:
    first = different[0][0]
    at = _apart(first, different[1][0])[1]
    several = len(job.artwork.pages) > 1
    told = [_words(group[0], at) + (f" (page {group[0].page})" if several else "") for group in different]
    tint = "" if at == len(SHOWN_AT) - 1 else f" at a tint of {100 * SHOWN_AT[at]:.0f} %"
    facts = {"ink": name, "definitions": f"{', '.join(told[:-1])} and {told[-1]}{tint}"}
    places = tuple(
        Place(box, job.page.number, name)
        for group in different[1:]
        for one in group
        if one.page == job.page.number
        for box in one.boxes_mm
    )
    return Reading(float(len(different)), "definitions", tuple(dict.fromkeys(places)), group=name, facts=facts)


def _words(alternate: Alternate, at: int) -> str:
    """``CMYK 60/0/80/20``."""
    values = (round(value * SCALES[alternate.space]) for value in alternate.colours[at])
    return f"{alternate.space} {'/'.join(f'{value:.0f}' for value in values)}"

"""The order of the units as a job is set: what stands before what, with lamps between, and what is washed for it."""

from __future__ import annotations

from typing import Final

from preflight.artwork.page.separations import PROCESS
from preflight.errors import NotMeasured
from preflight.findings import Gap, Measured, Reading, listed, with_and
from preflight.job import Job
from preflight.kinds import UV_LAMPS
from preflight.measures import needs
from preflight.measures.one_ink import process_inks_meant
from preflight.measures.plan_question import in_pictures, ink_system_of, note_of, plan_request
from preflight.measures.press_fit import INKS
from preflight.measures.raster.overlaps import overlap
from preflight.measures.registry import measure
from preflight.measures.units_as_set import all_names, cover_of, printing_units, whose_order
from preflight.setup.unit_plan import Standing, same_name

DARKER: Final = 0.15
"""Step of darkness, 0..1, from which a light ink shows what was left of a dark one."""


def inks_as_set(job: Job) -> list[Standing]:
    """What prints and is an ink, in unit order."""
    return [place for place in printing_units(job) if place.kind in INKS]


def _system(job: Job, place: Standing) -> str | None:
    return ink_system_of(job.ticket, all_names(job, place))


@measure("ink-systems-in-one-pass", unit="systems", rests_on=["inks"], facts=("oxidising", "uv", "whose"))
def ink_systems_in_one_pass(job: Job) -> list[Reading]:
    """Ink systems in one pass whose rollers and blankets differ: oxidising and UV; hybrid goes with either.

    Effect varnishes and primers are left out.
    """
    systems = [(place, system) for place in inks_as_set(job) if (system := _system(job, place)) is not None]
    if not systems:
        raise NotMeasured("the ticket does not say how the inks dry", "give ink_system on the ticket", "ticket")
    oxidising = list(dict.fromkeys(place.name for place, system in systems if system == "oxidising"))
    cured = list(dict.fromkeys(place.name for place, system in systems if system in UV_LAMPS))
    fewer = set(oxidising if len(oxidising) <= len(cured) else cured)
    return [
        Reading(
            float(bool(oxidising) + bool(cured)),
            "systems",
            known="stated",
            facts={"oxidising": with_and(oxidising), "uv": with_and(cured), "whose": whose_order(job)},
            units=tuple(place.unit for place, _ in systems if place.name in fewer),
        )
    ]


@measure(
    "spot-on-process-plate",
    unit="",
    rests_on=["inks", "objects"],
    words=("its own plate", "the plate of a picture"),
    facts=("ink", "process"),
)
def spot_on_process_plate(job: Job) -> list[Reading]:
    """Whether spots that the ticket merges with a process ink share its plate with pictures.

    Names that mean the process ink (``Schwarz``) are that ink. A process ink that is merged with a spot counts too.
    """
    ticket = needs.ticket(job, "separations")
    names = [ink.separation.name for ink in needs.inks(job) if ink.in_file and ink.prints is not False]
    meant, pictured = process_inks_meant(names), in_pictures(job)
    readings = []
    for name in names:
        own = ticket.ink_of(name)
        pair = (name, own) if own in PROCESS else (own, name) if name in PROCESS else None
        if own == name or pair is None or meant.get(name) == own or pair[0] in PROCESS:
            continue
        value = "the plate of a picture" if pair[1] in pictured else "its own plate"
        readings.append(Reading(value, known="stated", group=pair[0], facts={"ink": pair[0], "process": pair[1]}))
    return readings


@measure(
    "process-inks-out-of-order",
    unit="inks",
    rests_on=["inks"],
    cases=("black between",),
    facts=("order", "chain", "whose"),
)
def process_inks_out_of_order(job: Job, *, chain: tuple[str, ...]) -> list[Reading]:
    """Process inks that stand before one that the plant's chain has before them.

    Case ``black between``: the chain holds, and black, which is none of it, stands neither before nor behind it.
    """
    order = [place for place in printing_units(job) if place.kind == "process"]
    names = list(dict.fromkeys(place.name for place in order))
    ranks = [chain.index(name) for name in names if name in chain]
    wrong = sum(rank != right for rank, right in zip(ranks, sorted(ranks), strict=True))
    facts = {"order": listed(names), "chain": listed(chain), "whose": whose_order(job)}
    units = tuple(place.unit for place in order)
    ends = {names[0], names[-1]} if names else set()
    between = not wrong and len(ranks) > 1 and any(name not in chain and name not in ends for name in names)
    case = "black between" if between else ""
    return [Reading(float(wrong or between), "inks", case=case, facts=facts, units=units)] if len(names) > 1 else []


# Lamps -------------------------------------------------------------------------------------------------------------


def lamps_between(job: Job, first: int, last: int) -> int:
    """Curing lamps that the sheet passes between two units."""
    return sum(lamp.where == "interdeck" and first <= lamp.after_unit < last for lamp in needs.press(job).lamps)


@measure(
    "lamps-behind",
    unit="lamps",
    rests_on=["inks"],
    cases=("white", "before effect varnish", "no lamps between units"),
    facts=("ink", "unit", "next", "cover", "whose"),
)
def lamps_behind(job: Job, *, heavy_percent: float) -> list[Reading]:
    """Lamps between a UV ink that has to be cured and the next ink or effect varnish that is printed.

    Such are white, inks that cover ``heavy`` and more, and what is printed last before an effect varnish. Case ``no
    lamps between units``: the press has none anywhere.
    """
    press, inks = needs.press(job), inks_as_set(job)
    cured = [place for place in inks if _system(job, place) in UV_LAMPS]
    if inks and not any(_system(job, place) for place in inks):
        raise NotMeasured("the ticket does not say how the inks dry", "give ink_system on the ticket", "ticket")
    readings = []
    for place in cured:
        after = [other for other in _next_stations(job) if other.unit > place.unit and other.name != place.name]
        again = [other.unit for other in cured if other.name == place.name and other.unit > place.unit]
        if not after or (again and min(again) < after[0].unit):
            continue  # the last hit is what has to be cured
        if place.kind == after[0].kind == "white":
            continue
        cover = 100 * cover_of(job, place)
        effect = _is_effect(job, after[0])
        case = "before effect varnish" if effect else "white" if place.kind == "white" else ""
        if not case and cover < heavy_percent:
            continue
        readings.append(
            Reading(
                float(lamps_between(job, place.unit, after[0].unit)),
                "lamps",
                case=case if any(lamp.where == "interdeck" for lamp in press.lamps) else "no lamps between units",
                group=f"{place.name} {place.unit}",
                facts={
                    "ink": place.name,
                    "unit": place.unit,
                    "next": after[0].name,
                    "cover": f"{cover:.0f} %",
                    "whose": whose_order(job),
                },
                units=(place.unit, after[0].unit),
            )
        )
    return readings


def _next_stations(job: Job) -> list[Standing]:
    """Inks and effect varnishes, in unit order."""
    return [place for place in printing_units(job) if place.kind in INKS or _is_effect(job, place)]


def _is_effect(job: Job, place: Standing) -> bool:
    return place.kind == "varnish" and bool(note_of(job.ticket, all_names(job, place)).effect)


@measure("lighter-inks-after", unit="inks", rests_on=["inks"], facts=("ink", "unit", "cover", "after", "whose"))
def lighter_inks_after(
    job: Job,
    *,
    heavy_percent: float,
    light_percent: float,
    trim_mm: float,
    ink_from_percent: float,
    overlap_from_mm2: float,
) -> Measured:
    """Inks of little cover that are printed wet on one of much, with no lamp between them.

    Much is ``heavy`` and more, little less than ``light``. Process inks keep their own order among each other, and
    white and metallics have rules of their own.
    """
    readings, gaps = list[Reading](), list[Gap]()
    inks = [place for place in inks_as_set(job) if place.kind in ("process", "spot")]
    for place in inks:
        cover = 100 * cover_of(job, place)
        if cover < heavy_percent or place.overall:
            continue
        wet = [
            other
            for other in inks
            if other.unit > place.unit
            and other.name != place.name
            and "spot" in (place.kind, other.kind)
            and 100 * cover_of(job, other) < light_percent
            and not (job.press and lamps_between(job, place.unit, other.unit))
        ]
        met = [(other, overlap(job, place.name, other.name, trim_mm, ink_from_percent)) for other in wet]
        over = [(other, found) for other, found in met if found.area_mm2 >= overlap_from_mm2]
        gaps += [found.gap(place.name, other.name, job.page.number) for other, found in met if found.left_out_mm]
        readings.append(
            Reading(
                float(len(over)),
                "inks",
                places=sum((found.place(job.page.number, place.name) for _, found in over), ()),
                group=place.name,
                facts={
                    "ink": place.name,
                    "unit": place.unit,
                    "cover": f"{cover:.0f} %",
                    "after": with_and(other.name for other, _ in over),
                    "whose": whose_order(job),
                },
                units=(place.unit, *(other.unit for other, _ in over)),
            )
        )
    return Measured(readings, gaps)


# What is on the press ----------------------------------------------------------------------------------------------


@measure(
    "wash-ups",
    unit="wash-ups",
    rests_on=["inks"],
    cases=("light after dark", "after metallic", "after white", "other ink system"),
    facts=("units", "inks", "whose"),
)
def wash_ups(job: Job) -> list[Reading]:
    """Units that have to be washed more than once for the ink that comes on them, by what is on the press now.

    A plain change of ink, and one from light to dark, has no case and is counted too.
    """
    before = job.before
    if before is None:
        raise NotMeasured("what is on the press now is not known", "the job before, with its units", "ticket")
    darkness = {plate.name: plate.darkness for plate in plan_request(job).plates}
    found: dict[str, list[tuple[int, str, str]]] = {}
    for place in printing_units(job):
        was = before.units[place.unit - 1] if place.unit <= len(before.units) else None
        if was is None or same_name(was, place.name):
            continue
        system = _system(job, place)
        dark, light = before.darkness.get(was), darkness.get(place.name)
        if before.ink_system and system and (before.ink_system in UV_LAMPS) != (system in UV_LAMPS):
            case = "other ink system"
        elif before.kinds.get(was) in ("metallic", "white"):
            case = f"after {before.kinds[was]}"
        else:
            lighter = dark is not None and light is not None and dark - light > DARKER
            case = "light after dark" if lighter else ""
        found.setdefault(case, []).append((place.unit, was, place.name))
    return [
        Reading(
            float(len(changes)),
            "wash-ups",
            known="stated",
            case=case,
            facts={
                "units": with_and(str(unit) for unit, _, _ in changes),
                "inks": with_and(f"{was} to {name}" for _, was, name in changes),
                "whose": whose_order(job),
            },
            units=tuple(unit for unit, _, _ in changes),
        )
        for case, changes in found.items()
    ]

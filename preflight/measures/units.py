"""The unit plan against the press: how many plates, which ink on which unit, what stands before and after it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from preflight.errors import NotMeasured
from preflight.findings import Gap, Known, Measured, Reading, listed, with_and
from preflight.job import Job
from preflight.kinds import INK_SYSTEMS, UV_LAMPS
from preflight.measures import needs
from preflight.measures.one_ink import names_to_merge
from preflight.measures.raster.overlaps import Overlap, overlap
from preflight.measures.raster.places import where_inked
from preflight.measures.registry import measure
from preflight.measures.units_as_set import all_names
from preflight.setup.unit_plan import PlatesOfInk, Standing, lays_area, ways_to_fit

INKS = ("process", "spot", "metallic", "white")


@measure(
    "plates-in-one-pass",
    unit="plates",
    rests_on=["inks"],
    cases=("varnish to the coater", "names merged", "varnish to the coater and names merged", "does not fit"),
    facts=("varnish", "names", "left", "plates", "units", "on_coater"),
)
def plates_in_one_pass(job: Job) -> list[Reading]:
    """Plates that the job needs in one pass: separations that print, double hits and overall varnishes included.

    Where they are more than the press has units, the case says what would make them fit: ``varnish to the coater`` (a
    free one), ``names merged`` (names of one ink as a person reads them), ``varnish to the coater and names
    merged``, or ``does not fit``.
    """
    press, plan = needs.press(job), needs.plan(job)
    if not plan.plates:
        return []
    case, facts = "", {"varnish": "", "names": "", "left": ""}
    if plan.needed > press.unit_count:
        groups = names_to_merge([plates.name for plates in plan.plates if not plates.overall])
        ways = ways_to_fit(plan, press, job.ticket, groups)
        way = next((way for way in ways if way.needed <= press.unit_count), None)
        case = way.case if way else "does not fit"
        if way:
            facts = {"varnish": ", ".join(way.varnish), "names": " and ".join(way.names), "left": str(way.needed)}
    unsure = _uncounted(job)
    return [
        Reading(
            value=float(plan.needed),
            unit="plates",
            known="assumed" if unsure else "read",
            case=case,
            facts={
                **facts,
                "plates": listed(_in_words(plates) for plates in plan.plates),
                "units": press.unit_count,
                "on_coater": listed(plan.on_coater),
            },
            only_warns=unsure,
        )
    ]


def _in_words(plates: PlatesOfInk) -> str:
    many = f" ({plates.hits} hits)" if plates.hits > 1 else ""
    return f"{plates.name}{' overall' if plates.overall else ''}{many}"


def _uncounted(job: Job) -> str:
    if any(ink.prints is None and ink.separation.on_plate for ink in job.inks):
        if job.page.uncertain:
            return "a part of the page could not be drawn, so every ink that may print there is counted"
        if job.die.open_cuts:
            return "the cut is not closed, so every ink that prints beyond it is counted"
        return "the sheet has no die, so everything that prints on it is counted"
    return ""


@measure(
    "units-of-each-ink",
    unit="units",
    rests_on=["inks"],
    cases=("no unit", "overall only", "over the press", "not in the file", "prints nothing"),
    facts=("ink", "kind", "unit", "given", "units"),
)
def units_of_each_ink(job: Job) -> list[Reading]:
    """Units that the ticket gives each ink, and unit numbers against the press.

    Cases: ``no unit`` (prints and has none), ``overall only`` (the ticket has it as ``{overall: …}``, which is for what
    the PDF never shows), ``over the press`` (a unit number that the press does not have; the value is the number),
    ``not in the file``, ``prints nothing``.
    """
    standing = needs.unit_list(job)
    plan = needs.plan(job)
    unsure = _uncounted(job)
    overall = {place.name: place.unit for place in reversed(standing) if place.overall}
    readings = [
        Reading(
            float(len(p.units)),
            "units",
            case="overall only" if p.name in overall and not p.units else "no unit",
            group=p.name,
            facts={"ink": p.name, "kind": p.kind, "unit": overall.get(p.name, "")},
            known="assumed" if unsure else "read",
            only_warns=unsure,
            places=where_inked(job.plates, job.inside_mask, p.name, job.page.number),
        )
        for p in plan.plates
        if not p.overall
    ]
    for place in standing:
        facts = {"ink": place.name, "unit": place.unit, "given": place.unit}
        if job.press is not None:
            readings.append(
                Reading(
                    float(place.unit),
                    "units",
                    case="over the press",
                    group=place.name,
                    facts={**facts, "units": job.press.unit_count},
                    known="stated",
                    units=(place.unit,),
                )
            )
        if place.overall or place.prints or place.prints is None:
            continue
        case = "prints nothing" if place.in_file else "not in the file"
        readings.append(Reading(1.0, "units", case=case, group=place.name, facts=facts, units=(place.unit,)))
    return readings


@measure(
    "ink-against-its-unit",
    unit="",
    rests_on=["inks"],
    words=("taken", "refused"),
    facts=("ink", "kind", "unit", "kept"),
)
def ink_against_its_unit(job: Job) -> list[Reading]:
    """Whether each unit takes the kind of ink that the ticket puts on it: ``taken`` or ``refused``."""
    press, readings = needs.press(job), []
    for place in needs.unit_list(job):
        if place.unit > press.unit_count:
            continue
        unit = press.units[place.unit - 1]
        kept = "kept for " + with_and(unit.inks) if unit.inks else ""
        never = "never used for " + with_and(unit.never) if unit.never else ""
        readings.append(
            Reading(
                "taken" if unit.takes(place.kind) else "refused",
                known=_known(job, place.name),
                group=place.name,
                facts={
                    "ink": place.name,
                    "kind": place.kind,
                    "unit": place.unit,
                    "kept": "; ".join(filter(None, (kept, never))) or "open to any ink",
                },
                units=(place.unit,),
            )
        )
    return readings


def _known(job: Job, name: str) -> Known:
    """How the kind of a separation is known."""
    return next((ink.separation.known for ink in job.inks if ink.separation.name == name), "read")


def _printing(standing: Sequence[Standing], *kinds: str) -> list[Standing]:
    return [place for place in standing if place.kind in kinds and place.prints is not False]


@measure(
    "process-units-around-metallic",
    unit="units",
    rests_on=["inks"],
    cases=("apart",),
    facts=("ink", "unit", "over", "area", "order"),
)
def process_units_around_metallic(
    job: Job, *, trim_mm: float, ink_from_percent: float, overlap_from_mm2: float
) -> Measured:
    """Process units on the lesser side of each metallic: above nought it stands between them.

    Case ``apart`` where it overlaps no process ink on the plates: ``trim`` is taken off the edges of an overlap, ink
    counts from a tint of ``ink_from``, and overlaps from ``overlap_from``.
    """
    standing = needs.unit_list(job)
    process = _printing(standing, "process")
    readings, gaps = list[Reading](), list[Gap]()
    for place in _printing(standing, "metallic"):
        before = [p.unit for p in process if p.unit < place.unit]
        between = min(len(before), len(process) - len(before))
        met = [(p, overlap(job, place.name, p.name, trim_mm, ink_from_percent)) for p in process] if between else []
        over = [(p, o) for p, o in met if o.area_mm2 >= overlap_from_mm2]
        gaps += [o.gap(place.name, p.name, job.page.number) for p, o in met if o.left_out_mm and not over]
        readings.append(
            Reading(
                float(between),
                "units",
                places=sum((o.place(job.page.number, place.name) for _, o in over), ()),
                known=_known(job, place.name),
                case="" if over else "apart",
                group=place.name,
                facts={
                    "ink": place.name,
                    "unit": place.unit,
                    "over": listed(dict.fromkeys(p.name for p, _ in over)),
                    "area": f"{max((o.area_mm2 for _, o in over), default=0):.0f} mm2",
                    "order": listed(p.name for p in standing),
                },
                units=(place.unit,),
            )
        )
    return Measured(readings, gaps)


@measure(
    "inks-before-white",
    unit="inks",
    cases=("over ink", "on a solid", "board not white"),
    facts=("ink", "unit", "before", "surface"),
)
def inks_before_white(job: Job, *, trim_mm: float, ink_from_percent: float, overlap_from_mm2: float) -> Measured:
    """Inks that stand before a white and should not.

    Case ``over ink``: those that the white overlaps on the plates (see ``process-units-around-metallic``). Case ``on a
    solid``: the same on white board, where the white is drawn on top of them, or the ticket fixes its units: opaque
    white on a solid may be wanted. Case ``board
    not white``: all of them before the first white, where the ticket says that the board's surface is not white; one
    reading a white.
    """
    standing = needs.unit_list(job)
    whites = _printing(standing, "white")
    readings, gaps = list[Reading](), list[Gap]()
    for place in whites:
        before = [p for p in _printing(standing, "process", "spot", "metallic") if p.unit < place.unit]
        met = [(p, overlap(job, place.name, p.name, trim_mm, ink_from_percent)) for p in before]
        over = [(p, o) for p, o in met if o.area_mm2 >= overlap_from_mm2]
        gaps += [o.gap(place.name, p.name, job.page.number) for p, o in met if o.left_out_mm and not over]
        covered = _white_over(job, place, over)
        if readings and readings[-1].facts == {**covered.facts, "unit": readings[-1].facts["unit"]}:
            readings[-1] = replace(readings[-1], units=(*readings[-1].units, place.unit))  # a double hit is one fault
        else:
            readings.append(covered)
    if not whites:
        return Measured([])
    before = [p for p in _printing(standing, "process", "spot", "metallic") if p.unit < whites[0].unit]
    surface = job.ticket.board.surface if job.ticket else None
    if before and surface is None:
        gaps.append(Gap(*needs.NO_SURFACE, "ticket"))
    if surface not in (None, "white"):
        facts = {"before": listed(p.name for p in before), "surface": surface}
        first = readings[0]  # what the white covers is the same fault, and tells where
        readings[0] = replace(first, value=float(len(before)), case="board not white", facts={**first.facts, **facts})
    return Measured(readings, gaps)


def _on_solid_wanted(job: Job, place: Standing, inks: Sequence[Standing]) -> bool:
    """Whether a white is to print on inks: on white board, where it is drawn on top or the ticket fixes the units."""
    ticket = job.ticket
    if ticket is None or ticket.board.surface != "white":
        return False
    from preflight.measures.whites import drawn_on_top  # few jobs have a white on white board

    below = {name for ink in inks for name in all_names(job, ink)}
    return bool(ticket.units_fixed) or drawn_on_top(job, all_names(job, place), below)


def _white_over(job: Job, place: Standing, over: Sequence[tuple[Standing, Overlap]]) -> Reading:
    wanted = bool(over) and _on_solid_wanted(job, place, [ink for ink, _ in over])
    return Reading(
        float(len({p.name for p, _ in over})),
        "inks",
        places=sum((o.place(job.page.number, place.name) for _, o in over), ()),
        known=_known(job, place.name),
        case="on a solid" if wanted else "over ink",
        group=f"{place.name} {place.unit}",
        facts={"ink": place.name, "unit": place.unit, "before": listed(dict.fromkeys(p.name for p, _ in over))},
        units=(place.unit,),
    )


@measure("inks-after-varnish", unit="inks", rests_on=["inks"], facts=("ink", "unit", "after"))
def inks_after_varnish(job: Job) -> list[Reading]:
    """Inks on a unit after each varnish; a primer is no ink and no varnish here."""
    standing = needs.unit_list(job)
    readings = []
    for place in _printing(standing, "varnish"):
        after = [p for p in _printing(standing, *INKS) if p.unit > place.unit]
        readings.append(
            Reading(
                float(len(after)),
                "inks",
                known=_known(job, place.name),
                group=place.name,
                facts={"ink": place.name, "unit": place.unit, "after": listed(p.name for p in after)},
                units=(place.unit,),
            )
        )
    return readings


@measure("units-of-the-coating", unit="units", rests_on=[], facts=("ink", "unit"))
def units_of_the_coating(job: Job) -> list[Reading]:
    """Units on which the ticket has the separation that its coating names too."""
    standing = needs.unit_list(job)
    named = job.ticket.coating.separation if job.ticket and job.ticket.coating else None
    if named is None:
        return []
    units = needs.plan(job).units_of(job.ticket.ink_of(named) if job.ticket else named)
    name = next((place.name for place in standing if place.unit in units), named)
    facts = {"ink": name, "unit": with_and(map(str, units))}
    return [Reading(float(len(units)), "units", (), "stated", group=name, facts=facts, units=units)]


@measure(
    "coaters-for-the-coating",
    unit="coaters",
    rests_on=[],
    cases=("no coater",),
    facts=("coating", "area", "coaters"),
)
def coaters_for_the_coating(job: Job) -> list[Reading]:
    """Coaters of the press that take the ticket's coating and lay it where the ticket wants it.

    Case ``no coater`` where the press has none at all.
    """
    press, ticket = needs.press(job), needs.ticket(job, "coating")
    if ticket.nothing_coated:
        return []
    coating = ticket.coating
    if coating is None or coating.kind is None:
        raise NotMeasured(
            "the ticket does not say what is coated", "give coating: kind on the ticket, or coating: none", "ticket"
        )
    area = "plate" if coating.is_patterned else "overall"
    laying = [coater for coater in press.coaters if lays_area(coater, area)]
    taking = [coater for coater in laying if coater.takes is not None and coating.kind in coater.takes]
    if not taking and any(coater.takes is None for coater in laying):
        raise NotMeasured(
            "the press profile does not say what its coaters take", "give takes: for each coater", "press"
        )
    coaters = "; ".join(
        f"coater {c.number} takes {', '.join(c.takes or ())}" + (f" and lays {', '.join(c.lays)}" if c.lays else "")
        for c in press.coaters
    )
    return [
        Reading(
            float(len(taking)),
            "coaters",
            known="stated",
            case="" if press.coaters else "no coater",
            facts={"coating": coating.kind, "area": coating.area or "overall", "coaters": coaters},
        )
    ]


@measure("ink-system", unit="", rests_on=[], words=INK_SYSTEMS, facts=("cures",))
def ink_system(job: Job) -> list[Reading]:
    """The ink system that the ticket asks for; one that the press's own lamps cure as well is read as theirs."""
    press, ticket = needs.press(job), needs.ticket(job, "ink_system")
    needs.said(ticket.ink_system, "ink_system")
    needs.said(press.cures, "cures", "press profile")
    system, cures = str(ticket.ink_system), press.cures or ()
    if system not in cures:
        from preflight.inputs.ink_systems import load_ink_systems  # most presses say the job's own system

        table = load_ink_systems()
        system = next((kind for kind in cures if kind in UV_LAMPS and table.cured_by(system, kind) == "yes"), system)
    return [Reading(system, known="stated", facts={"cures": ", ".join(cures)})]

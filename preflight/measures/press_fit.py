"""Whether inks suit the board and the coating, and whether the press takes piles and both sides."""

from __future__ import annotations

from typing import Final

from preflight.errors import NotMeasured
from preflight.findings import Reading, with_and
from preflight.inputs.kind_names import fold
from preflight.inputs.run_table import load_run_table
from preflight.inputs.ticket import ABSORBING_NOTHING
from preflight.job import Job
from preflight.kinds import INK_SYSTEMS, UV_LAMPS
from preflight.measures import needs
from preflight.measures.plan_question import ink_system_of, note_of
from preflight.measures.registry import measure
from preflight.measures.sheet import sheet_of
from preflight.setup.piles import sheets_by_height, sheets_by_mass
from preflight.setup.run_request import mass_of_sheet
from preflight.setup.unit_plan import PlatesOfInk

INKS: Final = ("process", "spot", "metallic", "white")
NO_SYSTEM: Final = ("the ticket does not say how the inks dry", "give ink_system on the ticket", "ticket")


def inks_by_system(job: Job) -> dict[str, list[PlatesOfInk]]:
    """Inks that print, by how they dry; varnishes and primers are none.

    Raises:
        NotMeasured: the ticket says it of none.
    """
    found: dict[str, list[PlatesOfInk]] = {}
    inks = [plates for plates in needs.plan(job).plates if plates.kind in INKS]
    for plates in inks:
        system = ink_system_of(job.ticket, (plates.name, *plates.also_called))
        if system is not None:
            found.setdefault(system, []).append(plates)
    if inks and not found:
        raise NotMeasured(NO_SYSTEM[0], NO_SYSTEM[1], "ticket")
    return found


@measure(
    "ink-on-board", unit="", rests_on=["inks"], cases=ABSORBING_NOTHING, words=INK_SYSTEMS, facts=("inks", "surface")
)
def ink_on_board(job: Job) -> list[Reading]:
    """How the inks dry, one reading a system; the case is the surface of the board where that absorbs nothing."""
    surface = needs.board_surface(job)
    return [
        Reading(
            system,
            known="stated",
            case=surface if surface in ABSORBING_NOTHING else "",
            group=system,
            facts={"inks": with_and(plates.name for plates in inks), "surface": surface},
        )
        for system, inks in inks_by_system(job).items()
    ]


@measure(
    "ink-under-coating",
    unit="",
    rests_on=["inks"],
    cases=(*UV_LAMPS, "water-based", "over a primer"),
    words=INK_SYSTEMS,
    facts=("inks", "coating"),
)
def ink_under_coating(job: Job) -> list[Reading]:
    """How the inks dry that lie under the ticket's coating, one reading a system; the case is the coating.

    Case ``over a primer`` where a primer is printed between, or the press has a coater for one before that of the
    coating; other coatings have none.
    """
    kind = _coating_kind(job)
    if kind is None:
        return []
    primed = any(plates.kind == "primer" for plates in needs.plan(job).plates) or _has_primer_coater(job, kind)
    case = "over a primer" if primed else kind if kind in (*UV_LAMPS, "water-based") else ""
    return [
        Reading(
            system,
            known="stated",
            case=case,
            group=system,
            facts={"inks": with_and(plates.name for plates in inks), "coating": kind},
        )
        for system, inks in inks_by_system(job).items()
    ]


def _has_primer_coater(job: Job, kind: str) -> bool:
    """Whether a primer can be laid in line, before the coating."""
    coaters = job.press.coaters if job.press else ()
    primers = [coater.number for coater in coaters if "primer" in (coater.takes or ())]
    coating = [coater.number for coater in coaters if kind in (coater.takes or ())]
    return bool(primers and coating) and min(primers) < max(coating)


def _coating_kind(job: Job) -> str | None:
    """Kind of the ticket's coating; None where nothing is coated."""
    ticket = needs.ticket(job, "coating")
    if ticket.nothing_coated:
        return None
    needs.said(ticket.coating.kind if ticket.coating else None, "coating: kind")
    return ticket.coating.kind if ticket.coating else None


@measure("metallic-and-uv", unit="", rests_on=["inks"], words=("uv ink", "uv coating", "neither"), facts=("ink",))
def metallic_and_uv(job: Job) -> list[Reading]:
    """What of UV each metallic meets: ``uv ink`` (it is one), ``uv coating`` (one lies on it) or ``neither``."""
    metallics = [plates for plates in needs.plan(job).plates if plates.kind == "metallic"]
    readings = []
    for plates in metallics:
        system = ink_system_of(job.ticket, (plates.name, *plates.also_called))
        coated = job.ticket is not None and job.ticket.coating is not None and job.ticket.coating.kind in UV_LAMPS
        if system is None and not coated:
            raise NotMeasured(NO_SYSTEM[0], NO_SYSTEM[1], "ticket")
        value = "uv ink" if system in UV_LAMPS else "uv coating" if coated else "neither"
        readings.append(Reading(value, known="stated", group=plates.name, facts={"ink": plates.name}))
    return readings


@measure(
    "coatings-over-effect",
    unit="coatings",
    rests_on=["inks"],
    cases=("pattern",),
    facts=("ink", "area"),
)
def coatings_over_effect(job: Job) -> list[Reading]:
    """Overall coatings over each effect varnish, one or none; case ``pattern`` where the coating is laid in a shape."""
    effects = [
        plates
        for plates in needs.plan(job).plates
        if plates.kind == "varnish" and note_of(job.ticket, (plates.name, *plates.also_called)).effect
    ]
    if not effects:
        return []
    ticket = needs.ticket(job, "coating")
    if not ticket.nothing_coated:
        needs.said(ticket.coating, "coating")
    coating = ticket.coating
    pattern = coating is not None and coating.separation is not None
    return [
        Reading(
            0.0 if coating is None or pattern else 1.0,
            "coatings",
            known="stated",
            case="pattern" if pattern else "",
            group=plates.name,
            facts={"ink": plates.name, "area": (coating.area or "overall") if coating else ""},
        )
        for plates in effects
    ]


@measure("coatings-over-matt", unit="coatings", rests_on=["inks"], facts=("ink", "coating"))
def coatings_over_matt(job: Job, *, matt: tuple[str, ...]) -> list[Reading]:
    """Overall coatings by UV over each varnish with a word of ``matt`` in its name, one or none.

    Varnishes of which the ticket says whether they are effect varnishes are left out.
    """
    words = {folded for word in matt for folded in fold(word)}
    plain = [
        plates
        for plates in needs.plan(job).plates
        if plates.kind == "varnish"
        and not words.isdisjoint(word for name in (plates.name, *plates.also_called) for word in fold(name))
        and note_of(job.ticket, (plates.name, *plates.also_called)).effect is None
    ]
    if not plain:
        return []
    kind = _coating_kind(job)
    coating = job.ticket.coating if job.ticket else None
    over = kind in UV_LAMPS and coating is not None and coating.separation is None
    return [
        Reading(
            float(over),
            "coatings",
            known="stated",
            group=plates.name,
            facts={"ink": plates.name, "coating": kind or ""},
        )
        for plates in plain
    ]


# The sheet ---------------------------------------------------------------------------------------------------------


@measure("sides-printed", unit="sides", rests_on=[], cases=("no turn", "too thick to turn"), facts=("caliper",))
def sides_printed(job: Job) -> list[Reading]:
    """Sides of the sheet that the ticket has printed; one where it tells of no second.

    The case says why not in one pass. ``no turn``: the press has no perfecting drum; ``too thick to turn``: the board
    is outside what that can turn.
    """
    ticket, press = needs.ticket(job, "goods: printed_side"), needs.press(job)
    both = ticket.goods.printed_side == "both" or len({entry.is_back for entry in ticket.artwork_list}) > 1
    if not both:
        return [Reading(1.0, "sides", known="stated")]
    if not press.turns:
        return [Reading(2.0, "sides", known="stated", case="no turn")]
    caliper, turn = ticket.board.caliper, press.turns[0].caliper
    needs.said(caliper, "board: caliper")
    needs.said(turn, "turn: caliper", "press profile")
    assert caliper is not None
    assert turn is not None
    case = "" if turn.low <= caliper <= turn.high else "too thick to turn"
    return [Reading(2.0, "sides", known="stated", case=case, facts={"caliper": f"{caliper:g} mm"})]


@measure("full-pile-mass", unit="kg", rests_on=[], facts=("sheets", "height", "place", "most"))
def full_pile_mass(job: Job) -> list[Reading]:
    """Mass of a pile as high as feeder and delivery allow, with its pallet, one reading for each of the two.

    ``most`` is the number of sheets that the mass allows. The pallet's mass is that of rules/run.yaml.
    """
    ticket, press = needs.ticket(job, "board: weight and caliper"), needs.press(job)
    found = sheet_of(job)
    if found is None:
        return []
    size, known = found
    needs.said(ticket.board.caliper, "board: caliper")
    needs.said(ticket.board.weight, "board: weight")
    assert ticket.board.caliper is not None
    assert ticket.board.weight is not None
    sheet_kg, pallet_kg = mass_of_sheet(size, ticket.board.weight), load_run_table().piles.pallet
    allowed = sheets_by_mass(press.pile.mass, pallet_kg, sheet_kg)
    readings = []
    for place, height_mm in (("feeder", press.pile.feeder), ("delivery", press.pile.delivery)):
        sheets = sheets_by_height(height_mm, ticket.board.caliper)
        most = sheets if allowed is None else allowed
        facts = {"sheets": f"{sheets:,}", "height": f"{height_mm:g} mm", "place": place, "most": f"{most:,}"}
        readings.append(Reading(round(sheets * sheet_kg + pallet_kg, 1), "kg", (), known, facts=facts))
    return readings

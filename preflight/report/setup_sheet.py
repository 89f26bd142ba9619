"""The set-up sheet in words: what the page, the PDF and the terminal show of ``setup.json``, worked out once.

Only the document is read in here, and any part of it may be missing: what nobody says is an empty text, for which a
rendering leaves a box to write in.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, NamedTuple

from preflight.findings import with_and
from preflight.report import words
from preflight.report.setup_places import PassPlan, passes_of
from preflight.report.setup_points import OpenPoints, Point, open_points, queries_of, reasons_against

Document = Mapping[str, Any]

DIGEST_SHOWN: Final = 16
ARTWORKS_NAMED: Final = 2
SAME: Final = 0.05
NO_RUN: Final = "the run was not planned"
TOUCHING_MM: Final = 0.005
"""Inks that are no further apart touch."""


class Row(NamedTuple):
    """A label with what is said of it; where that is nothing, or ``write`` says so, there is a box to write in."""

    label: str
    text: str
    write: bool = False


@dataclass(frozen=True)
class SetUpSheet:
    """All that the renderings share."""

    job: str
    """Number and revision; the title is ``title``."""
    title: str
    press: str
    headline: str
    run_it: bool
    why_not: tuple[Point, ...]
    about_units: str
    """What units the reasons mean; empty where there is no doubt."""
    open: OpenPoints
    feeder_left: bool
    """As seen by somebody on the operator side."""
    operator_side_known: bool
    lay: tuple[Row, ...]
    """How the sheet lies: operator side, gripper edge, side lay."""
    passes: tuple[PassPlan, ...]
    identity: tuple[str, ...]
    """Ticket and revision, digests, versions, date: on every page."""
    artworks: tuple[str, ...]
    stock: tuple[Row, ...]
    """Board, grain, sheet, coating."""
    run: tuple[Row, ...]
    piles: tuple[Row, ...]
    wash_ups: tuple[str, ...]
    queries: tuple[Point, ...]
    """Each is settled by somebody, who signs."""
    watch: tuple[str, ...]
    pulls: tuple[str, ...]
    check_first: tuple[str, ...]
    """What is asked of the first good sheet; what ends in a colon has a box to write in."""
    cautions: tuple[str, ...]


def sheet_of(document: Document) -> SetUpSheet:
    """The sheet of a ``preflight-setup/1`` document."""
    press = document.get("press") or {}
    plan = document.get("plan") or {}
    side = press.get("operator_side")
    return SetUpSheet(
        job=job_words({"ticket": {**(document.get("ticket") or {}), "title": None}}),
        title=str((document.get("ticket") or {}).get("title") or ""),
        press=press.get("name") or "press not stated",
        headline=_headline(document),
        run_it=bool(document.get("run_it")),
        why_not=_why_not(document),
        about_units=str(document.get("about_units") or ""),
        open=open_points(document),
        feeder_left=side != "right",
        operator_side_known=side is not None,
        lay=lay_rows(press),
        passes=passes_of(document),
        identity=_identity(document),
        artworks=tuple(_artworks(document)),
        stock=stock_rows(document),
        run=run_rows(document),
        piles=pile_rows(document),
        wash_ups=tuple(wash_up_words(entry) for entry in plan.get("wash_ups") or ()),
        queries=queries_of(document),
        watch=tuple(document.get("watch") or ()),
        pulls=tuple(pull_words(pull) for pull in (document.get("run") or {}).get("pulls") or ()),
        check_first=tuple(document.get("check_first") or ()),
        cautions=tuple(document.get("cautions") or ()),
    )


def job_words(document: Document) -> str:
    """Number, revision and title of the ticket."""
    ticket = document.get("ticket")
    filled = {"number": None, "revision": None, "title": None, **ticket} if isinstance(ticket, Mapping) else None
    return words.job_words({"ticket": filled}) or "ticket not stated"


def _headline(document: Document) -> str:
    told = str(document.get("sentence") or "")
    if document.get("verdict") == "pass" and document.get("run_it") and document.get("not_checked"):
        return "Ready for plates as far as checked."
    if told:
        return told
    return {"pass": "Nothing wrong was found.", "warn": "There are queries."}.get(
        str(document.get("verdict")), "There are faults."
    )


def _why_not(document: Document) -> tuple[Point, ...]:
    """Why the job is not to be run: its contradiction and faults, else its verdict."""
    if document.get("run_it"):
        return ()
    return reasons_against(document, conflict_words(document, named=False)) or (Point(_headline(document)),)


def reasons_told(sheet: SetUpSheet) -> list[str]:
    """All reasons against the job, and what units they mean."""
    return [point.says for point in sheet.why_not] + ([sheet.about_units] if sheet.about_units else [])


def queries_title(sheet: SetUpSheet) -> str:
    """``Queries to settle first: 13``: as many as the headline says, however they are put together."""
    return f"Queries to settle first: {sum(point.counts for point in sheet.queries)}"


# Identity ----------------------------------------------------------------------------------------------------------


def _identity(document: Document) -> tuple[str, ...]:
    """Never without a part: what is not known is said to be so."""
    ticket, made = document.get("ticket") or {}, document.get("made") or {}
    number, revision = ticket.get("number"), ticket.get("revision")
    digests = [str(artwork["sha256"])[:DIGEST_SHOWN] for artwork in document.get("artwork") or ()]
    more = len(digests) - ARTWORKS_NAMED
    digest = with_and([*digests[:ARTWORKS_NAMED], *([f"{more} more"] if more > 0 else [])])
    return (
        f"Ticket {number}" if number else "No ticket number",
        f"revision {revision}" if revision else "no revision",
        f"artwork {digest}" if digest else "no digest of the artwork",
        f"{made.get('tool') or 'tool not stated'}, rules {made.get('rules_version') or 'not stated'}",
        _when(made.get("when")),
    )


def _when(when: object) -> str:
    return words.when_words({"run": {"when": when}}) if isinstance(when, str) and _is_time(when) else "no date"


def _is_time(text: str) -> bool:
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True


def _artworks(document: Document) -> list[str]:
    """Each file of the artwork with its whole digest."""
    told = []
    for artwork in document.get("artwork") or ():
        of = ", ".join(str(artwork[key]) for key in ("side", "version") if artwork.get(key))
        told.append(f"{artwork['file']}{f' ({of})' if of else ''}: SHA-256 {artwork['sha256']}")
    return told


# Board, run and piles ----------------------------------------------------------------------------------------------


def lay_rows(press: Document) -> tuple[Row, ...]:
    """How the sheet lies in the press."""
    side, gripper, lay = press.get("operator_side"), press.get("gripper_mm"), press.get("side_lay")
    lays = {"operator": "operator side", "drive": "drive side", "either": "either side:"}
    return (
        Row("Operator side", f"{side}, printed face up, gripper edge down" if side else ""),
        Row("Gripper edge", f"{gripper:g} mm not printed" if gripper is not None else ""),
        Row("Side lay", lays.get(str(lay), ""), write=lay == "either"),
    )


def stock_rows(document: Document) -> tuple[Row, ...]:
    """Board, grain, sheet and what is set for all of the job; what nobody says is named, with a box to write in."""
    board, sheet = document.get("board") or {}, document.get("sheet") or {}
    layout, settings = document.get("layout") or {}, document.get("settings") or {}
    parts = [
        board.get("grade"),
        board.get("caliper_mm") is not None and f"{board['caliper_mm']:g} mm",
        board.get("weight_gsm") is not None and f"{board['weight_gsm']:g} g/m²",
        board.get("surface"),
    ]
    size = words.size(sheet.get("mm") or layout.get("sheet_mm"))
    ups = layout.get("ups")
    return (
        _row("Board", ", ".join(str(part) for part in parts if part), "the ticket gives no board"),
        _row("Grain", _grain(board, layout), "the ticket gives no board: grain"),
        _row(
            "Sheet", ", ".join(part for part in (size, f"{ups}-up" if ups else "") if part), "the ticket gives no sheet"
        ),
        _row("Powder", str(settings.get("powder") or ""), "the ticket gives no powder"),
    )


def _row(label: str, text: str, lacks: str) -> Row:
    """What is said, or why nothing is and a box."""
    return Row(label, text) if text else Row(label, f"not known: {lacks}", write=True)


def _grain(board: Document, layout: Document) -> str:
    of_sheet = {"across": "across the press", "along": "along the travel"}
    of_blank = {"across": "from left to right", "along": "up and down", "any": "either way"}
    grain, on_blank = board.get("grain") or layout.get("grain"), board.get("grain_on_blank")
    told = f"on the sheet {of_sheet.get(str(grain), str(grain))}" if grain else ""
    blank = f"on the blank, as displayed, {of_blank.get(str(on_blank), str(on_blank))}" if on_blank else ""
    return "; ".join(part for part in (told, blank) if part)


def run_rows(document: Document) -> tuple[Row, ...]:
    """Sheets, those of each version where several follow each other, and the speed with how long that takes."""
    run = document.get("run")
    if run is None:
        return (_row("Sheets", "", NO_RUN), _row("Speed", "", NO_RUN))
    speed, hours = run.get("speed_sheets_h"), run.get("hours")
    parts_h = [(run.get("hours_running"), "running"), (run.get("hours_change"), "change")]
    pace = [f"{speed:,.0f} sheets an hour"] if speed is not None else []
    if all(part is not None for part, _ in parts_h):
        pace += [" + ".join(f"{part:.1f} h {label}" for part, label in parts_h)]
    elif hours is not None:
        pace += [f"{hours:.1f} h"]
    versions = [f"{one['version']} {_sheets(one['sheets_gross'])}" for one in run.get("versions") or ()]
    apart = [Row("Versions", ", then ".join(versions))] if versions else []
    speeds = _row("Speed", ", ".join(pace), "the press profile gives no top_speed")
    return (_sheets_row(run, _has_plan(document)), *apart, speeds)


def _sheets_row(run: Document, has_plan: bool) -> Row:
    """All that are run; what of it is missing is said by name, and that there is no total then."""
    made_ready = "the press profile gives no waste: make_ready"
    counts = (
        ("sheets_net", "net", "the ticket gives no quantity or no layout: ups"),
        (
            "sheets_make_ready",
            "make-ready",
            made_ready if has_plan else f"there is no plan of the units, and {made_ready}",
        ),
        ("sheets_running", "running waste", "the press profile gives no waste: running"),
    )
    parts = [f"{run[key]:,} {label}" for key, label, _ in counts if run.get(key) is not None]
    if run.get("sheets_gross") is not None:
        return Row("Sheets", f"{' + '.join(parts)} = {_sheets(run['sheets_gross'])}")
    lacks = [f"{label} not known ({why})" for key, label, why in counts if run.get(key) is None]
    return Row("Sheets", "; ".join([" + ".join(parts) or "not known", *lacks, "no total:"]), write=True)


def _has_plan(document: Document) -> bool:
    return bool((document.get("plan") or {}).get("possible"))


def pile_rows(document: Document) -> tuple[Row, ...]:
    """Piles in and out, alike ones counted together."""
    run, board = document.get("run") or {}, document.get("board") or {}
    lacks = NO_RUN if document.get("run") is None else "the press profile gives no pile"
    if run.get("sheets_gross") is None and lacks != NO_RUN:
        lacks = "how many sheets is not known"
    elif board.get("caliper_mm") is None and lacks != NO_RUN:
        lacks = "the ticket gives no board: caliper"
    hours = "rules/drying.yaml gives no hours for it" if _has_plan(document) else "there is no plan of the units"
    return (
        _row("Feeder", _piles(run.get("feeder_piles")), lacks),
        _row("Delivery", _piles(run.get("delivery_piles")), lacks),
        _row("Next step", _next_step(run), hours),
    )


def _piles(piles: Sequence[Document] | None) -> str:
    """``5 piles: 4 x 2,674 and 2,164 sheets; to 1,150 mm, 530 kg``."""
    if not piles:
        return ""
    counted = Counter(pile["sheets"] for pile in piles)
    told = with_and([f"{count} x {sheets:,}" if count > 1 else f"{sheets:,}" for sheets, count in counted.items()])
    heights = [pile["height_mm"] for pile in piles if pile.get("height_mm") is not None]
    masses = [pile["mass_kg"] for pile in piles if pile.get("mass_kg") is not None]
    most = [f"{max(heights):,.0f} mm"] if heights else []
    most += [f"{max(masses):,.0f} kg"] if masses else []
    head = f"{len(piles)} {'pile' if len(piles) == 1 else 'piles'}: {told} sheets"
    return f"{head}; to {', '.join(most)}" if most else head


def _sheets(count: int) -> str:
    return f"{count:,} {'sheet' if count == 1 else 'sheets'}"


def pile_words(pile: Document) -> str:
    """``2,674 sheets, 1,150 mm, 530 kg``."""
    height, mass = pile.get("height_mm"), pile.get("mass_kg")
    parts = [
        _sheets(pile["sheets"]),
        "" if height is None else f"{height:,.0f} mm",
        "" if mass is None else f"{mass:,.0f} kg",
    ]
    return ", ".join(part for part in parts if part)


def _next_step(run: Document) -> str:
    hours = run.get("next_operation_after_h")
    if hours is None:
        return ""
    told = "may follow at once" if hours < SAME else f"after {hours:g} h"
    return f"{told} ({run['next_operation_because']})" if run.get("next_operation_because") else told


def pull_words(pull: Document) -> str:
    """``sheet 20: register, lay, side``, or from when on and how often."""
    if pull["sheet"] is None:
        return f"{pull['when']}: {pull['for']}"
    if pull.get("every") is None:
        return f"sheet {pull['sheet']:,}: {pull['for']}"
    until = f" to {pull['until']:,}" if pull.get("until") is not None else ""
    counted = " after the OK sheet" if pull.get("counted_from") == "OK sheet" else ""
    return f"from sheet {pull['sheet']:,}{until}{counted}, every {pull['every']:,}: {pull['for']}"


# Change and ways out -----------------------------------------------------------------------------------------------


def wash_up_words(entry: Document) -> str:
    """``unit 3: Mustard to Cyan, 15 min``."""
    minutes = "minutes not known" if entry.get("minutes") is None else f"{entry['minutes']:g} min"
    return f"unit {entry['unit']}: {entry['from']} to {entry['to']}, {minutes}"


def wash_up_reason(entry: Document) -> str:
    """The same, with why it takes so long."""
    because = f" ({entry['because']})" if entry.get("because") else ""
    return f"{wash_up_words(entry)}{because}"


def way_out_words(way: Document) -> str:
    """A change that makes the job fit, what it saves, and which joints it breaks."""
    told = words.full(str(way.get("says") or way["change"]))
    saved = [f"{way['saves_units']} {'unit' if way['saves_units'] == 1 else 'units'}"] if way.get("saves_units") else []
    saved += ["a pass"] if way.get("saves_pass") else []
    parts = [told, f"Saves {with_and(saved)}." if saved else ""]
    parts += [_joint_words(way["breaks"])] if way.get("breaks") else []
    return " ".join(part for part in parts if part)


def _joint_words(breaks: Sequence[Document]) -> str:
    """Inks that two passes would part, the touching ones together."""
    pairs = [" and ".join(map(str, joint["separations"])) for joint in breaks if joint["distance_mm"] < TOUCHING_MM]
    told = [f"{'; '.join(pairs)} touch and would be in different passes."] if pairs else []
    for joint in breaks:
        if joint["distance_mm"] >= TOUCHING_MM:
            names = " and ".join(map(str, joint["separations"]))
            told.append(f"{names} are {joint['distance_mm']:.2f} mm apart and would be in different passes.")
    return " ".join(told)


def conflict_words(document: Document, *, named: bool = True) -> list[str]:
    """Demands that leave no order, ``named`` with separation and demand; too few units are one sentence."""
    plan = document.get("plan") or {}
    conflict = plan.get("conflict") or ()
    if len(conflict) > 1 and all(entry["demand"] == "one-unit-each" for entry in conflict):
        names = with_and([str(entry["separation"]) for entry in conflict])
        return [f"There are too few units: {names} need a unit for each of their plates."]
    if not named:
        return [str(entry["says"]) for entry in conflict]
    return [f"{entry['separation']}: {entry['says']} ({entry['demand']})" for entry in conflict]


def missing_words(entry: object) -> str:
    """What was not checked: a sentence, or an entry as in the report."""
    if not isinstance(entry, Mapping):
        return words.full(str(entry))
    helps = f" Needed to check this: {words.full(str(entry['would_help']))}" if entry.get("would_help") else ""
    because = words.full(str(entry["because"]))
    return f"{entry['rule']}: {because}{helps}" if entry.get("rule") else f"{because}{helps}"


def material_rows(document: Document) -> tuple[Row, ...]:
    """Kilograms of every ink, of coating and of board."""
    materials = document.get("materials") or {}
    rows = [(str(name), mass) for name, mass in (materials.get("ink_kg") or {}).items()]
    rows += [("Coating", materials.get("coating_kg")), ("Board", materials.get("board_kg"))]
    return tuple(Row(name, _kilograms(mass)) for name, mass in rows if mass is not None)


def _kilograms(mass: float) -> str:
    return f"{mass:,.0f} kg" if mass >= 100 else f"{mass:.1f} kg" if mass >= 1 else f"{mass:.2f} kg"


def first_up(text: str) -> str:
    """The text with a capital in front."""
    return f"{text[:1].upper()}{text[1:]}"

"""The one document of a run, ``preflight-report/1``: plain JSON, and the only thing that the renderings show.

    {"format", "verdict", "complete", "sentence", "counts", "run", "artwork", "press", "ticket", "sheet", "board",
     "separations", "cover_of", "die", "findings", "waived", "switched_off", "not_checked", "passed", "not_asked",
     "assumed", "notes", "cautions", "units", "line", "repaired", "message",
     "pages"}

Values at the top are those of page 1, except ``verdict``, ``complete``, ``sentence`` and ``counts``, which are those of
all pages together: a program that reads nothing else must not release a job for its first page. ``pages`` has every
page. Findings are numbered through, worst first on each page and notes last. All places and sizes are mm on the page as
displayed, from its lower-left corner, rounded to 0.01 mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from preflight import __version__
from preflight.artwork.page.geometry import Box
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.carton.die import Die
from preflight.carton.places_in_words import words_for
from preflight.findings import Finding, Judgement, NotChecked, Place, Value, Verdict, Waived
from preflight.job_facts import JobFacts
from preflight.judging.waivers import waiver_to_paste
from preflight.report.customer_message import build_message
from preflight.report.press_line import line_of, press_facts, ticket_facts, units_of
from preflight.report.simulation import shown_colours

FORMAT: Final = "preflight-report/1"
FINE: Final = 0.1
"""What was measured and is smaller than this keeps four decimals."""
CAUTIONS: Final = (
    "This verdict supports a qualified person's release and does not replace it; local codes and the instructions of "
    "the board, ink and machine makers come first.",
)

Document = dict[str, Any]


@dataclass(frozen=True)
class RunFacts:
    """When, with what and by which rules a document was made."""

    when: datetime
    rules: tuple[str, ...] = ()
    """Rule files in the order that they were laid over each other."""
    press_file: str = ""
    ticket_file: str = ""
    tool: str = f"preflight {__version__}"


def build_document(pages: Sequence[tuple[JobFacts, Judgement]], run: RunFacts) -> Document:
    """The document of a run.

    Args:
        pages: every checked page with its judgement, at least one.
        run: facts of the run.
    """
    page_parts = _pages(pages, run)
    facts, first = pages[0][0], page_parts[0]
    verdict = max(judgement.verdict for _, judgement in pages)
    findings = [finding for part in page_parts for finding in part["findings"]]
    missing = [entry for part in page_parts for entry in part["not_checked"]]
    opening, counts = build_opening(facts, run), _counts(page_parts, findings, missing)
    return {
        "format": FORMAT,
        "verdict": verdict.word,
        "complete": not any(entry["needed"] for entry in missing),
        "sentence": sentence(
            verdict.word,
            findings,
            missing,
            [part["drawn"] for part in page_parts],
            counts["waived"],
            counts["switched_off"],
        ),
        "counts": counts,
        "run": {"when": run.when.isoformat(timespec="seconds"), "tool": run.tool, "rules": list(run.rules)},
        **opening,
        **{
            key: value
            for key, value in first.items()
            if key not in ("page", "verdict", "complete", "sentence", "artwork")
        },
        "cautions": list(CAUTIONS),
        "repaired": bool(facts.file.repairs),
        "message": build_message(opening, findings, len(page_parts)),
        "pages": page_parts,
    }


def _counts(
    page_parts: Sequence[Mapping[str, Any]], findings: Sequence[Mapping[str, Any]], missing: Sequence[Mapping[str, Any]]
) -> Document:
    """How many of each there are on all pages; of what was not checked each reason once."""
    verdicts = [finding["verdict"] for finding in findings if not finding["trial"]]
    return {
        "faults": verdicts.count("fail"),
        "queries": verdicts.count("warn"),
        "remarks": verdicts.count("note"),
        "waived": sum(len(part["waived"]) for part in page_parts),
        "switched_off": len({entry["rule"] for part in page_parts for entry in part["switched_off"]}),
        "not_checked": len({(entry["because"], entry["would_help"]) for entry in missing}),
        "not_checked_that_matter": len(
            {(entry["because"], entry["would_help"]) for entry in missing if entry["counts_as"] != "note"}
        ),
    }


def build_opening(facts: JobFacts, run: RunFacts) -> Document:
    """What is known of a job before its plates are drawn: artwork, press, ticket, sheet, board, separations by name."""
    file = facts.file
    return {
        "artwork": {
            "file": file.name,
            "sha256": file.sha256,
            "page_count": file.page_count,
            "pdf_version": file.pdf_version,
            "title": file.title,
            "producer": file.producer,
            "output_intent": file.output_intent,
            "repairs": [repair.told for repair in file.repairs],
            "repairs_told": [
                {"says": repair.words, "lost": repair.lost, "times": repair.times, "pages": list(repair.pages)}
                for repair in file.repairs
            ],
            **_page_facts(facts),
        },
        "press": press_facts(facts.press, run.press_file),
        **ticket_facts(facts, run.ticket_file),
        "separations": [
            {"name": s.name, "kind": s.kind, "prints": None, "cover": None, "units": [], "because": s.because}
            for s in facts.page.separations
        ],
    }


def sentence(
    verdict: str,
    findings: Sequence[Mapping[str, Any]],
    not_checked: Sequence[Mapping[str, Any]] = (),
    drawn: Sequence[str] = ("whole",),
    waived: int = 0,
    off: int = 0,
) -> str:
    """The verdict as one can read it aloud: what was found wrong, apart from what could not be looked at.

    ``Not ready for plates: 3 faults, 2 queries, 4 things not checked.`` Of what was not checked only that counts which
    changes the verdict, and each reason once: what one missing line on the ticket holds up is one thing to settle.
    Where the file itself could not be looked at nobody can say that it runs. ``drawn``: for each page whether it was
    drawn, as in the document. ``waived`` findings and rules that are ``off`` are counted behind it: they are why a
    verdict is better than what is on the page.
    """
    more = [_count(waived, "finding waived", "findings waived"), _count(off, "rule switched off", "rules switched off")]
    aside = f" ({', '.join(part for part in more if part)})" if any(more) else ""
    return f"{_bare_sentence(verdict, findings, not_checked, drawn).removesuffix('.')}{aside}."


def _bare_sentence(
    verdict: str,
    findings: Sequence[Mapping[str, Any]],
    not_checked: Sequence[Mapping[str, Any]],
    drawn: Sequence[str],
) -> str:
    """The verdict and what it comes from, without what was waived or switched off."""
    counted = [finding for finding in findings if not finding["trial"] and finding["verdict"] != "note"]
    faults = sum(finding["verdict"] == "fail" for finding in counted)
    matters = [entry for entry in not_checked if entry["counts_as"] != "note"]
    unseen = _unseen(drawn, matters)
    missing = len({(e["because"], e["would_help"]) for e in matters if not (unseen and e["for_want_of"] == "file")})
    found = [_count(faults, "fault", "faults"), _count(len(counted) - faults, "query", "queries")]
    other = "other " if unseen else ""
    found.append(_count(missing, f"{other}thing not checked", f"{other}things not checked"))
    told, pages = ", ".join(part for part in found if part), f" ({len(drawn)} pages)" if len(drawn) > 1 else ""
    if unseen and verdict != "fail":
        return f"Not checked: {'; '.join(part for part in (unseen, told) if part)}{pages}."
    if verdict == "pass":
        lacking = any(entry["needed"] for entry in not_checked)
        return "Ready for plates as far as checked." if lacking else "Ready for plates."
    if not counted and missing:
        matter = "thing that matters was" if missing == 1 else "things that matter were"
        told, pages = f"nothing wrong was found, but {missing} {matter} not checked", ""
    if verdict == "fail":
        return f"Not ready for plates: {'; '.join(part for part in (told, unseen) if part)}{pages}."
    return f"Ready for plates once settled: {told}{pages}." if counted else f"{told[:1].upper()}{told[1:]}{pages}."


def _unseen(drawn: Sequence[str], matters: Sequence[Mapping[str, Any]]) -> str:
    """What of the file could not be looked at, so that nobody can say that it runs; empty where that is not so."""
    blank = [number for number, word in enumerate(drawn, 1) if word == "not at all"]
    if blank:
        which = "the page" if len(drawn) == 1 else f"page{'s' if len(blank) > 1 else ''} {', '.join(map(str, blank))}"
        return f"{which} could not be drawn"
    wanting = [entry for entry in matters if entry["for_want_of"] == "file"]
    if wanting and "in part" not in drawn and any(entry["places"] for entry in wanting):
        return "a part of the carton could not be checked"
    if wanting and "in part" in drawn:
        return "a part of the page could not be drawn" if len(drawn) == 1 else "parts of the pages could not be drawn"
    *most, last = list(dict.fromkeys(entry["rule"] for entry in wanting)) or [""]
    rules = f"{', '.join(most)} and {last}" if most else last
    return f"{rules} could not be decided from the file" if rules else ""


def _count(number: int, one: str, several: str) -> str:
    return f"{number} {one if number == 1 else several}" if number else ""


def _pages(pages: Sequence[tuple[JobFacts, Judgement]], run: RunFacts) -> list[Document]:
    """The parts of the pages, their findings numbered through; what no page was read of stands on the first."""
    parts: list[Document] = []
    number = 1
    for facts, judgement in pages:
        parts.append(_page(facts, judgement, number, run))
        number += len(parts[-1]["findings"])
    parts[0]["not_checked"] += _pages_left_out(pages[0][0])
    return parts


def _page(facts: JobFacts, judgement: Judgement, first_number: int, run: RunFacts) -> Document:
    ordered = sorted(judgement.findings, key=lambda f: f.order)
    findings = [_finding(f, facts, number) for number, f in enumerate(ordered, first_number)]
    for told in findings:
        boxes = [place["box_mm"] for place in told["places"]]
        told["waiver_to_paste"] = waiver_to_paste(told["rule"], boxes, facts.file.sha256, run.when.date())
    not_checked = [_not_checked(entry, facts.die) for entry in judgement.not_checked]
    return {
        "page": facts.page.number,
        "verdict": judgement.verdict.word,
        "complete": not any(entry["needed"] for entry in not_checked),
        "sentence": sentence(
            judgement.verdict.word,
            findings,
            not_checked,
            [facts.drawn],
            len(judgement.waived),
            len(judgement.switched_off),
        ),
        "drawn": facts.drawn,
        "uncertain": [_uncertain(place, facts) for place in facts.uncertain],
        "artwork": _page_facts(facts),
        "separations": _separations(facts),
        "cover_of": "inside the cut" if facts.die.blanks else "page",
        "die": _die(facts.die),
        "findings": findings,
        "waived": [_waived(entry, facts) for entry in judgement.waived],
        "switched_off": [{"rule": entry.rule, "because": entry.because} for entry in judgement.switched_off],
        "not_checked": not_checked,
        "passed": list(judgement.passed),
        "not_asked": [{"rule": entry.rule, "because": entry.because} for entry in judgement.not_asked],
        "assumed": list(dict.fromkeys(facts.assumed)),
        "notes": list(dict.fromkeys([*judgement.notes, *facts.die.notes, *facts.page.boxes.remarks])),
        "units": units_of(facts, findings),
        "line": line_of(facts),
    }


def _uncertain(place: UncertainPlace, facts: JobFacts) -> Document:
    inks = None if place.inks is None else list(place.inks)
    return {"because": place.because, "inks": inks, **_place(Place(place.box_mm, facts.page.number), facts.die)}


def _page_facts(facts: JobFacts) -> Document:
    page = facts.page
    trim_is, trim = _trim(facts)
    return {
        "page_mm": [_number(page.width_mm), _number(page.height_mm)],
        "trim_mm": [_number(trim[2] - trim[0]), _number(trim[3] - trim[1])],
        "trim_is": trim_is,
        "boxes_mm": {
            name: _box(box)
            for name in ("media", "crop", "bleed", "trim", "art")
            if (box := getattr(page.boxes, name)) is not None
        },
        "is": facts.artwork_is,
        "is_known": facts.artwork_is_known,
        "is_because": facts.artwork_is_because,
    }


def _trim(facts: JobFacts) -> tuple[str, Box]:
    """Bounding box of the cut; the sheet where the page is one; else the trim box, else the page."""
    page = facts.page
    if facts.artwork_is == "one-up" and facts.die.blanks:
        x0, y0, x1, y1 = facts.die.inside.bounds
        return "cut", (x0, y0, x1, y1)
    if facts.artwork_is == "one-up" and page.boxes.trim:
        return "trim box", page.boxes.trim
    return "page", page.box_mm


def _separations(facts: JobFacts) -> list[Document]:
    looks = shown_colours(ink.separation for ink in facts.inks)
    return [
        {
            "name": ink.separation.name,
            "kind": ink.separation.kind,
            "prints": ink.prints,
            "cover": round(float(ink.cover), 4),
            "area_mm2": _number(ink.area_mm2),
            "units": list(ink.units),
            "because": ink.separation.because,
            "known": ink.separation.known,
            "in_file": ink.in_file,
            "shown_as": "#{:02x}{:02x}{:02x}".format(*looks[ink.separation.name]) if ink.separation.on_plate else None,
        }
        for ink in facts.inks
    ]


def _die(die: Die) -> Document:
    return {
        "found": die.found,
        "because": die.because,
        "blanks": len(die.blanks),
        "uncertain": list(die.uncertain),
        "drawn_in": {role: list(names) for role, names in die.drawn_in.items()},
        "areas": [
            {
                "is": area.kind,
                "blank": blank.number,
                "box_mm": _box(area.shape.bounds),
                "known": area.known,
                "because": area.because,
            }
            for blank in die.blanks
            for area in blank.areas
        ],
    }


def _finding(finding: Finding, facts: JobFacts, number: int | None) -> Document:
    return {
        "number": number,
        "rule": finding.rule,
        "verdict": finding.verdict.word,
        "says": finding.says,
        "measured": _quantity(*finding.measured),
        "limit": _quantity(*finding.limit) if finding.limit else None,
        "limit_words": finding.limit_words,
        "places": [_place(place, facts.die) for place in finding.places],
        "why": finding.why,
        "do": finding.do,
        "customer": finding.customer,
        "source": finding.source,
        "known": finding.known,
        "case": finding.case,
        "trial": finding.trial,
        "units": list(finding.units) or _units_named(finding.places, facts),
    }


def _units_named(places: Iterable[Place], facts: JobFacts) -> list[int]:
    """Units of the separations that the places name: the plate on that unit is what the finding speaks of."""
    named = {place.separation for place in places if place.separation is not None}
    return sorted({unit for ink in facts.inks if ink.separation.name in named for unit in ink.units})


def _place(place: Place, die: Die) -> Document:
    return {
        "page": place.page,
        "box_mm": _box(place.box_mm),
        "separation": place.separation,
        "where": place.path or words_for(place.box_mm, die),
    }


def _waived(waived: Waived, facts: JobFacts) -> Document:
    return {
        **_finding(waived.finding, facts, None),
        "waiver": {"reason": waived.reason, "by": waived.by, "until": waived.until, "remark": waived.remark},
    }


def _not_checked(entry: NotChecked, die: Die) -> Document:
    return {
        "rule": entry.rule,
        "because": entry.because,
        "would_help": entry.would_help,
        "counts_as": "note" if entry.counts_as is Verdict.PASS else entry.counts_as.word,
        "own_fault": entry.own_fault,
        "for_want_of": entry.want_of,
        "needed": entry.needed,
        "places": [_place(place, die) for place in entry.places],
        **({"traceback": entry.traceback} if entry.traceback else {}),
    }


def _pages_left_out(facts: JobFacts) -> list[Document]:
    """Pages over the bound of those that are read."""
    read, there = facts.file.pages_read, facts.file.page_count
    if there <= read:
        return []
    because = f"the file has {there} pages, and the first {read} are checked"
    entry = NotChecked("every rule", because, "Send the other pages as files of their own.")
    return [_not_checked(entry, facts.die)]


def _quantity(value: Value, unit: str) -> Document:
    if isinstance(value, tuple):
        return {"value": [_number(part) for part in value], "unit": unit}
    if isinstance(value, str | bool):
        return {"value": value, "unit": unit}
    fine = 0 < abs(value) < FINE  # rounded to 0.01 mm a hairline would have no width
    return {"value": round(float(value), 4) if fine else _number(value), "unit": unit}


def _box(box: Sequence[float]) -> list[float]:
    return [_number(value) for value in box[:4]]


def _number(value: float) -> float:
    """Rounded to 0.01, whole where it is whole; what JSON has no number for is held at a thousand million."""
    if not math.isfinite(value):
        return 0 if math.isnan(value) else math.copysign(1e9, value)
    rounded = round(float(value), 2)
    return int(rounded) if rounded == int(rounded) else rounded

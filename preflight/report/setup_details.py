"""What is behind the crew's page of the PDF: reasons, ways out, run and material, what was not checked, the files."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from preflight.findings import with_and
from preflight.report import words
from preflight.report.pdf_flow import Line, Type, gap, joined, paragraph, row, section
from preflight.report.pdf_type import lacks_letters
from preflight.report.setup_layout import coating_sentences, key_sentences, layout_line, layout_sentences
from preflight.report.setup_places import PassPlan
from preflight.report.setup_points import without_places
from preflight.report.setup_sheet import (
    SetUpSheet,
    conflict_words,
    first_up,
    material_rows,
    missing_words,
    pile_words,
    pull_words,
    reasons_told,
    wash_up_reason,
    way_out_words,
)

Document = Mapping[str, Any]


def detail_lines(document: Document, sheet: SetUpSheet, kind: Type) -> list[Line]:
    """All of it in one flow, with titles; parts that there is nothing of are left out."""
    plan, run = document.get("plan") or {}, document.get("run") or {}
    conflict = conflict_words(document)
    parts = [
        ("Do not run", _bullets([] if sheet.run_it else reasons_told(sheet), kind)),
        ("Why there is no order in one pass", _bullets(conflict, kind)),
        ("Ways out, the cheapest first", _bullets(map(way_out_words, plan.get("ways_out") or ()), kind)),
        *((_reasons_title(entry), joined(_reasons(entry, kind))) for entry in sheet.passes),
        ("Wash-ups", _bullets(map(wash_up_reason, plan.get("wash_ups") or ()), kind)),
        ("Layout", _bullets(_layout(document), kind)),
        ("Ink keys", _bullets(key_sentences(document), kind)),
        ("Coating plate", _bullets(coating_sentences(document), kind)),
        ("The run", _bullets(_run_sentences(run), kind)),
        ("Material", joined(row(label, text, kind, 0.6) for label, text, _ in material_rows(document))),
        ("Findings", _bullets(map(_finding, document.get("findings") or ()), kind)),
        ("Not checked", _bullets(map(missing_words, document.get("not_checked") or ()), kind)),
        ("Assumed", _bullets(document.get("assumed") or (), kind)),
        ("This sheet", _bullets(_about(document, sheet), kind)),
    ]
    return joined([*section(title, lines, kind), *gap(kind.size * 0.6)] for title, lines in parts if lines)


def _bullets(texts: Any, kind: Type) -> list[Line]:
    return joined(paragraph(text, kind, mark="-") for text in texts)


def _layout(document: Document) -> list[str]:
    line = layout_line(document)
    return [f"{line}.", *layout_sentences(document)] if line else []


def _reasons_title(entry: PassPlan) -> str:
    return "Why it is set so" if entry.of == 1 else f"Why it is set so, pass {entry.number}"


def _reasons(entry: PassPlan, kind: Type) -> list[list[Line]]:
    made = []
    for place in entry.places:
        head = f"Unit {place.head}" if place.what == "unit" else place.head.capitalize()
        name = ", ".join(part for part in (place.name, place.kind) if part)
        level = f", {with_and(place.lines)}" if place.what == "lamp" else ""
        told = " ".join(
            f"{words.full(first_up(reason.says))}{f' ({reason.demand})' if reason.demand else ''}"
            for reason in place.because
        )
        if told or place.what == "unit":
            label = f"{head}: {name}{level}" if name else head
            made.append(
                paragraph(
                    told or ("Nothing is on it." if place.idle else "No rule asks for this place."),
                    kind,
                    label=label,
                )
            )
    return made


def _run_sentences(run: Document) -> list[str]:
    told = [f"Speed: {words.full(str(run['speed_because']))}"] if run.get("speed_because") else []
    told += [
        f"{first_up(pull_words(pull))}; {words.full(str(pull['why']))}"
        for pull in run.get("pulls") or ()
        if pull.get("why")
    ]
    for key, label in (("feeder_piles", "Feeder"), ("delivery_piles", "Delivery")):
        piles = run.get(key) or ()
        first = piles[0] if piles else None
        told += [f"{label}, first pile: {pile_words(first)}; {len(piles)} in all."] if first else []
    return told


def _finding(finding: Document) -> str:
    sign = first_up(words.SIGNS.get(finding["verdict"]) or finding["verdict"])
    return f"{sign}: {without_places(finding['says'])} ({finding['rule']})"


def _about(document: Document, sheet: SetUpSheet) -> list[str]:
    made = document.get("made") or {}
    told = [
        f"Job: {sheet.job}, {sheet.title or 'no title'}",
        f"Press: {sheet.press}",
        *(f"Artwork {text}" for text in sheet.artworks),
    ]
    told += [f"Rules: {words.rules_words({'run': made})}"] if made.get("rules") else []
    told += [f"Pass {plan.number}: {_names(plan)}" for plan in sheet.passes]
    if any(
        lacks_letters(text)
        for text in [sheet.job, sheet.title, *(place.name for plan in sheet.passes for place in plan.places)]
    ):
        told.append("Letters that the type of this sheet lacks are written as their numbers: [U+4E2D].")
    told.append("A set-up proposes; people confirm.")
    return told


def _names(plan: PassPlan) -> str:
    """Every ink in full, for the row of units may have shortened it."""
    return ", ".join(f"{place.head} {place.name}" for place in plan.places if place.what == "unit" and not place.idle)

"""The message to the customer: what they are to change or to answer, gathered from all findings that are theirs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from preflight.quantities import with_squares
from preflight.report import words

Document = dict[str, Any]

MOST_PLACES: Final = 12
"""Places told for one sentence; more would not be read."""
DISTANCES: Final = (
    "Distances are measured from the left and bottom edges of the page to the lower-left corner of each place."
)
PANELS: Final = "Panels are lettered row by row, from the top left."


def build_message(opening: Mapping[str, Any], findings: Sequence[Mapping[str, Any]], pages: int) -> Document:
    """``{"subject", "sentences": [{"text", "where", "findings"}], "note"}``.

    A finding is the customer's where its rule has a sentence for them; what a trial rule says is not sent, nor is a
    note. The same sentence is said once, with all its places; the greeting is left to the sender.

    Args:
        opening: artwork and ticket, as in the document.
        findings: of all pages, in their order.
        pages: how many pages were checked; of several each place names its own.
    """
    by_text: dict[str, list[Mapping[str, Any]]] = {}
    for finding in findings:
        if finding["customer"] and not finding["trial"] and finding["verdict"] != "note":
            by_text.setdefault(with_squares(finding["customer"]), []).append(finding)
    sentences = [
        {
            "text": text,
            "where": _where((place for f in own for place in f["places"]), pages),
            "findings": [f["number"] for f in own],
        }
        for text, own in by_text.items()
    ]
    told = [place for sentence in sentences for place in sentence["where"]]
    return {
        "subject": _subject(opening, len(sentences)),
        "sentences": sentences,
        "note": " ".join([DISTANCES] * bool(told) + [PANELS] * any("panel" in place for place in told)),
    }


def message_lines(message: Mapping[str, Any]) -> list[str]:
    """The message as plain text, line by line: subject, numbered sentences, each with its places, the note."""
    lines = [f"Subject: {message['subject']}"]
    for number, sentence in enumerate(message["sentences"], 1):
        lines += ["", f"{number}. {sentence['text']}"]
        places = [place for place in sentence["where"] if place.casefold() not in sentence["text"].casefold()]
        lines += [f"   Where: {places[0]}"] if len(places) == 1 else ["   Where:"] if places else []
        lines += [f"   - {place}" for place in places] if len(places) > 1 else []
    return [*lines, "", message["note"]] if message["note"] else lines


def customer_points(document: Mapping[str, Any]) -> list[Document]:
    """The sentences of the message with all their places, for a picture that has their numbers.

    ``{"number", "verdict", "text", "places", "page"}``; ``page`` is the first that a sentence is about.
    """
    findings = {f["number"]: (page["page"], f) for page in document["pages"] for f in page["findings"]}
    points = []
    for number, sentence in enumerate(document["message"]["sentences"], 1):
        own = [findings[n] for n in sentence["findings"]]
        places: list[Mapping[str, Any]] = []
        for _, finding in own:
            places += [place for place in finding["places"] if place not in places]
        verdict = "fail" if any(finding["verdict"] == "fail" for _, finding in own) else "warn"
        points.append(
            {"number": number, "verdict": verdict, "text": sentence["text"], "places": places, "page": own[0][0]}
        )
    return points


def headline(points: Sequence[Mapping[str, Any]], *, complete: bool) -> str:
    """What the customer edition says first: ``Before plates are made: 2 faults to correct, 1 query to answer``."""
    faults = sum(point["verdict"] == "fail" for point in points)
    queries = len(points) - faults
    told = [
        f"{faults} {'fault' if faults == 1 else 'faults'} to correct" if faults else "",
        f"{queries} {'query' if queries == 1 else 'queries'} to answer" if queries else "",
    ]
    if points:
        return f"Before plates are made: {', '.join(word for word in told if word)}."
    return (
        "Nothing in your artwork has to be changed."
        if complete
        else ("Nothing to change was found in your artwork so far; not everything has been checked yet.")
    )


def _subject(opening: Mapping[str, Any], count: int) -> str:
    """File, job and how much there is: ``sage-tea.pdf, Sage tea, 100 g (4471-B): 3 points to settle``."""
    ticket = opening["ticket"] or {}
    number, title = ticket.get("number"), ticket.get("title")
    job = f"{title} ({number})" if title and number else title or number
    told = ", ".join(word for word in (words.short(opening["artwork"]["file"]), job) if word)
    return f"{told}: {count} {'point' if count == 1 else 'points'} to settle" if count else told


def _where(places: Iterable[Mapping[str, Any]], pages: int) -> list[str]:
    """Places as the report's *Where* has them; the last entry counts those that are left out."""
    told = list(
        dict.fromkeys((f"page {p['page']}, " if pages > 1 else "") + words.place_words(p) for p in places),
    )
    more = len(told) - MOST_PLACES
    if more <= 1:
        return told
    return [*told[:MOST_PLACES], f"and {more} more places"]

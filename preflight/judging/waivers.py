"""Waivers of the ticket: which readings they cover, what is to be said of them, and how one is written."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Final

from preflight.findings import Finding, Place, Reading, Waived
from preflight.inputs.ticket import Waiver
from preflight.judging.rulebook import Rule, Rulebook
from preflight.measures import Job

NEAR_MM: Final = 5.0
"""A waiver covers a place whose box is no further from its point than this."""
DIGEST_FIGURES: Final = 12
HOLDS: Final = timedelta(days=365)
MOST_POINTS: Final = 40
"""Of a waiver to paste; who wants to waive more should look at the artwork, or at the rule."""


class Waivers:
    """The waivers of a job's ticket on one page."""

    def __init__(self, job: Job, rulebook: Rulebook, rules: Sequence[Rule], today: date) -> None:
        self._job, self._rulebook, self._today = job, rulebook, today
        self._run = {rule.rule for rule in rules}
        self._all = list(job.ticket.waivers) if job.ticket else []
        self._used: set[int] = set()

    def covering(self, rule: str, reading: Reading) -> int | None:
        """Number of the waiver that covers a reading whole, or None.

        With a place, every place of the reading has to be near one of the rule's waivers; a waiver without a place
        covers the rule wherever it objects.
        """
        valid = [n for n, waiver in enumerate(self._all) if waiver.rule == rule and not self._refused(waiver)]
        for number in valid:
            if self._all[number].near is None:
                self._used.add(number)
                return number
        if not reading.places:
            return None
        near = [next((n for n in valid if self._holds_at(n, place)), None) for place in reading.places]
        if None in near:
            return None
        numbers = [number for number in near if number is not None]
        self._used.update(numbers)
        return numbers[0]

    def _holds_at(self, number: int, place: Place) -> bool:
        near = self._all[number].near
        return near is not None and _is_near(near, place.box_mm)

    def waived(self, number: int, finding: Finding) -> Waived:
        """The finding with what the waiver says of it."""
        waiver = self._all[number]
        until = waiver.until.isoformat() if waiver.until else ""
        return Waived(finding, waiver.reason or "", waiver.by or "", until, "; ".join(_lacking(waiver)))

    def notes(self) -> Iterator[str]:
        """What is to be said of waivers that cover nothing."""
        page = f" on page {self._job.page.number}" if self._job.artwork.page_count > 1 else ""
        for number, waiver in enumerate(self._all):
            if number in self._used:
                continue
            refused = self._refused(waiver)
            if refused:
                yield f"the waiver of {waiver.rule} does not hold: {refused}"
            elif waiver.rule in self._run:
                yield f"the waiver of {waiver.rule} covers nothing{page}"
            elif strange := self._strange(waiver.rule):
                yield f"the waiver of {waiver.rule} covers nothing: {strange}"

    def _refused(self, waiver: Waiver) -> str:
        """Why a waiver does not hold; empty where it does."""
        if waiver.until and waiver.until < self._today:
            return f"it ended on {waiver.until.isoformat()}"
        if waiver.artwork and not self._job.artwork.sha256.lower().startswith(waiver.artwork):
            return f"it is for other artwork ({waiver.artwork})"
        return ""

    def _strange(self, rule: str) -> str:
        book = self._rulebook
        if rule in book.off:
            return "the rule is switched off"
        if rule in book.retired:
            return "the rule is retired"
        return ""


def waiver_to_paste(rule: str, boxes_mm: Sequence[Sequence[float]], sha256: str, today: date) -> str:
    """The waiver of a finding as YAML for the end of a ticket; who agreed and why are left blank.

    ``waivers:`` with one for each place, or for places within 5 mm of one point. The finding is waived once they are
    on the ticket, for this artwork and for a year.

    Args:
        rule: of the finding.
        boxes_mm: of its places, on the page as displayed.
        sha256: digest of the artwork.
        today: the day of the run.
    """
    points = list(_points(boxes_mm))
    ends = [f'artwork: "{sha256[:DIGEST_FIGURES]}"', 'reason: ""', 'by: ""', f"until: {(today + HOLDS).isoformat()}"]
    near = [[f"near: [{x:g}, {y:g}]"] for x, y in points[:MOST_POINTS]] or [[]]
    lines = ["waivers:"]
    for point in near:
        lines += [f"  - rule: {rule}", *(f"    {key}" for key in (*point, *ends))]
    if len(points) > MOST_POINTS:
        lines.append(f"  # {len(points) - MOST_POINTS:,} more points would be needed to waive all places")
    return "\n".join(lines) + "\n"


def _points(boxes_mm: Sequence[Sequence[float]]) -> Iterator[tuple[float, float]]:
    """Middles of places, without those of places that a point before covers too; mm, to a tenth."""
    taken: list[tuple[float, float]] = []
    for box in boxes_mm:
        if not any(_is_near(point, box) for point in taken):
            taken.append((round((box[0] + box[2]) / 2, 1), round((box[1] + box[3]) / 2, 1)))
            yield taken[-1]


def _is_near(point_mm: Sequence[float], box_mm: Sequence[float]) -> bool:
    (x, y), (x0, y0, x1, y1) = point_mm, box_mm
    across, up = max(x0 - x, x - x1, 0.0), max(y0 - y, y - y1, 0.0)
    return across**2 + up**2 <= NEAR_MM**2


def _lacking(waiver: Waiver) -> Iterator[str]:
    """What a waiver should have: without it, it would hide the next fault."""
    if waiver.near is None:
        yield "it names no place and covers the rule everywhere"
    if waiver.artwork is None:
        yield "it names no artwork and would cover the next revision"
    if waiver.until is None:
        yield "it has no end"
    if waiver.reason is None or waiver.by is None:
        yield "it does not say who agreed to it, and why"

"""The waiver of a finding as YAML, ready to be pasted into the job ticket."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Any, Final

from preflight.judging.waivers import is_near

DIGEST_FIGURES: Final = 12
HOLDS: Final = timedelta(days=365)
MOST_POINTS: Final = 40
"""Lines for one finding; who wants to waive more should look at the artwork, or at the rule."""


def waiver_to_paste(finding: Mapping[str, Any], sha256: str, today: date) -> str:
    """``waivers:`` with a line for each place, or for places within 5 mm of one point; who and why are left blank.

    The finding is waived once the lines stand on the ticket, for this artwork and for a year.

    Args:
        finding: of the document; its places are in mm.
        sha256: digest of the artwork.
        today: the day of the run.
    """
    boxes = [place["box_mm"] for place in finding["places"]]
    points = list(_points(boxes))
    until = (today + HOLDS).isoformat()
    ends = f'artwork: "{sha256[:DIGEST_FIGURES]}", reason: "", by: "", until: {until}'
    near = [f"near: [{x:g}, {y:g}], " for x, y in points[:MOST_POINTS]] or [""]
    lines = ["waivers:", *(f"  - {{rule: {finding['rule']}, {point}{ends}}}" for point in near)]
    if len(points) > MOST_POINTS:
        lines.append(f"  # {len(points) - MOST_POINTS:,} more points would be needed to waive all places")
    return "\n".join(lines) + "\n"


def _points(boxes: Sequence[Sequence[float]]) -> Iterator[tuple[float, float]]:
    """Middles of places, without those of places that a point before covers too; mm, to a tenth."""
    taken: list[tuple[float, float]] = []
    for box in boxes:
        if not any(is_near(point, box) for point in taken):
            taken.append((round((box[0] + box[2]) / 2, 1), round((box[1] + box[3]) / 2, 1)))
            yield taken[-1]

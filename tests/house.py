"""Cases for the house rules: a drawn page, a press and a ticket, and what one rule has to say about them.

Each ``test_rules_<topic>.py`` holds a table ``CASES``; ``test_house_rules.py`` sees that every shipped rule has one
case that trips it and one look-alike that does not.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any, Literal

from preflight.artwork.read_artwork import read_artwork
from preflight.findings import Judgement
from preflight.inputs.loading import load_press, load_ticket
from preflight.job import Job
from preflight.judging.judge import judge
from preflight.judging.rulebook import Rulebook, load_rules
from preflight.measures.job_assembly import assemble_job
from preflight.measures.sheet_question import sheet_of_jobs
from preflight.setup.plan_request import OnPress
from preflight.setup.press_plan import PressPlan
from tests.cartons import CartonDrawing, draw_die, reverse_tuck
from tests.drawn import Drawing

Box = tuple[float, float, float, float]
Keys = Mapping[str, Any]

SIX_UNITS: dict[str, Any] = {
    "press": "Six units and one coater",
    "sheet": {"smallest": "400 x 300 mm", "largest": "1040 x 740 mm", "printable": "1030 x 720 mm"},
    "edges": {"gripper": "10 mm", "tail": "6 mm", "sides": "5 mm"},
    "plate": {"size": "1060 x 820 mm", "sheet_starts": "44 mm"},
    "board": {"caliper": "0.2 mm to 1.0 mm"},  # common practice
    "line": [
        *({"unit": {"inks": "any"}} for _ in range(6)),
        {"coater": {"takes": ["uv", "water-based"], "lays": ["overall", "plate"]}},
        {"delivery": ["uv"]},
    ],
    "cures": ["uv"],
}


def units(*keys: Mapping[str, Any], **more: Any) -> dict[str, Any]:
    """The press above with other stations; further keys replace its own, None takes one away."""
    press = {**SIX_UNITS, **({"line": list(keys)} if keys else {}), **more}
    return {key: value for key, value in press.items() if value is not None}


@dataclass(frozen=True)
class Case:
    """One drawn page and what one rule says about it."""

    rule: str
    name: str
    expect: Literal["fail", "warn", "note", "pass", "not checked"]
    draw: Callable[[], Drawing]
    ticket: Keys = field(default_factory=dict)
    press: Keys | None = field(default_factory=lambda: SIX_UNITS)
    case: str | None = None
    """Which case of the rule it has to be; None where it does not matter."""
    near: Box | None = None
    """One of the places has to overlap this box and stay within 3 mm of it."""
    before: OnPress | None = None
    """What is on the press before the job."""
    plan: PressPlan | None = None
    """What the planner would answer; what it really does where None."""
    lay: Callable[[], Any] | None = None
    """The press sheet, where it is made by hand; what the job lays where None."""
    others: Mapping[str, Callable[[], Drawing]] = field(default_factory=dict)
    """Further artworks that the ticket lists behind ``art.pdf``, by file: the sheet is that of all of them."""
    measured: float | None = None
    """The worst measured value, to 3 %, or 0.06 of the unit."""

    def __str__(self) -> str:
        return f"{self.rule}: {self.name}"


@cache
def rulebook() -> Rulebook:
    return load_rules()


def job_of(page: Drawing, folder: Path, ticket: Keys | None = None, press: Keys | None = None) -> Job:
    """The job of a drawn page, through the real loaders and readers."""
    path = page.save(folder / "art.pdf")
    profile = job_ticket = None
    if press is not None:
        (folder / "press.yaml").write_text(json.dumps(dict(press)))
        profile = load_press(folder / "press.yaml")
    if ticket:
        (folder / "ticket.yaml").write_text(json.dumps({"artwork": "art.pdf", **ticket}))
        job_ticket = load_ticket(folder / "ticket.yaml")
    artwork = read_artwork(path, job_ticket)
    return assemble_job(artwork, artwork.pages[0], profile, job_ticket)


def judged(case: Case, folder: Path) -> Judgement:
    """What the rule of a case says."""
    for name, draw in case.others.items():
        draw().save(folder / name)
    job = replace(job_of(case.draw(), folder, case.ticket, case.press), before=case.before)
    if case.others:
        job = _on_one_sheet(job)
    if case.plan is not None:
        plan = case.plan
        job = replace(job, plan_on_press=lambda _: plan)
    if case.lay is not None:
        sheet = case.lay()
        job = replace(job, lay_on_sheet=lambda _: sheet, laid_out=True)
    return judge(job, rulebook(), only={case.rule})


def _on_one_sheet(job: Job) -> Job:
    """The job with a sheet that its page shares with the others of its ticket."""
    assert job.ticket is not None
    pages = [(job.ticket.artwork_list[0], job)]
    for entry in job.ticket.artwork_list[1:]:
        artwork = read_artwork(entry.file, job.ticket)
        pages.append((entry, assemble_job(artwork, artwork.pages[0], job.press, job.ticket)))
    return replace(job, lay_on_sheet=lambda _: sheet_of_jobs(pages), laid_out=True)


def prove(case: Case, folder: Path) -> None:
    """Hold a case against its expectation."""
    judgement = judged(case, folder)
    assert not [item for item in judgement.not_checked if item.own_fault], judgement.not_checked
    if case.expect == "not checked":
        left_open = [item for item in judgement.not_checked if not (case.others and item.rule == OF_THE_TICKET)]
        assert [item.rule for item in left_open] == [case.rule]
        assert left_open[0].because
        return
    if case.expect == "pass":
        assert judgement.findings == ()
        assert judgement.passed == (case.rule,), judgement.not_checked
        return
    assert judgement.findings, judgement.not_checked or "the rule is silent"
    worst = judgement.findings[0]
    assert worst.verdict.word == case.expect, worst
    assert case.case is None or worst.case == case.case
    assert not judgement.notes, judgement.notes
    texts = TICKET_LINE.sub("", " ".join((worst.says, worst.why, worst.do, worst.customer)))
    assert not WRONG_COUNT.search(texts), worst
    if case.measured is not None:
        assert isinstance(worst.measured[0], float)
        assert abs(worst.measured[0] - case.measured) <= max(0.03 * abs(case.measured), 0.06), worst.measured
    if case.near is not None:
        assert any(_near(place.box_mm, case.near) for place in worst.places), worst.places


OF_THE_TICKET = "keys of the job ticket"
"""Where a check says that it looks at the first file alone; the sheet of a case with others is that of all."""
TICKET_LINE = re.compile(r"(?<= )die: \{lines: \{cut: \[[^\[\]{}]+\]\}\}(?= )")
"""The line to paste into a ticket, which has braces of its own."""
WRONG_COUNT = re.compile(
    r"(?<![\d.,])(?:1 (?:places|pieces|lines|objects|texts|pictures|units|plates|blanks|names|rules|repairs)"
    r"|0\.0 mm (?:wide|thin))\b|[{}]"
)
"""A count that its noun does not agree with, a width that is none, a fact that was not filled in."""


def _near(box: Box, wanted: Box) -> bool:
    overlaps = box[0] < wanted[2] and wanted[0] < box[2] and box[1] < wanted[3] and wanted[1] < box[3]
    within = all(b >= w - 3 for b, w in zip(box[:2], wanted[:2], strict=True))
    return overlaps and within and all(b <= w + 3 for b, w in zip(box[2:], wanted[2:], strict=True))


# Drawings that many cases start from -------------------------------------------------------------------------------

CARTON = reverse_tuck(at=(10, 10))
"""195 x 180 mm on a page with 10 mm all round; panel 1 stands at (25, 55) to (85, 145)."""
PANEL_1: Box = (25, 55, 85, 145)


def blank_page(carton: CartonDrawing = CARTON) -> Drawing:
    """A page of the carton's size and 10 mm all round, empty."""
    return Drawing(carton.box[2] + 10, carton.box[3] + 10)


def with_die(page: Drawing, carton: CartonDrawing = CARTON) -> Drawing:
    """The page with the die drawn last, overprinting."""
    draw_die(page, carton)
    return page


def printed(*inks: str, size_mm: float = 20) -> Drawing:
    """A carton with one square of each ink on its first two panels, side by side; none overlap."""
    page = blank_page()
    for number, ink in enumerate(inks):
        x, y = 28 + 22 * (number % 4), 60 + 24 * (number // 4)
        colour: Any = PROCESS.get(ink, ink)
        page.fill(colour, rect=(x, y, x + size_mm, y + size_mm))
    return with_die(page)


PROCESS = {"Cyan": (1, 0, 0, 0), "Magenta": (0, 1, 0, 0), "Yellow": (0, 0, 1, 0), "Black": (0, 0, 0, 1)}

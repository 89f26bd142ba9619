"""Pages that are the plates of one drawing: a file that was pre-separated, a page for each ink.

The file may say so: by separation dictionaries (ISO 32000-2, 14.11.4), by labels, by a different ink on each page. Else
only grey pages are looked at. Plates of one drawing have edges at the same places in other tones. Pages of a leaflet
have their edges elsewhere, and what versions of one carton have in common has one tone; type that stands on the same
lines is told by moving one page: then its edges meet no less.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.artwork import Artwork
from preflight.artwork.page.page import Page
from preflight.artwork.page.separations import PROCESS
from preflight.findings import Reading, listed
from preflight.job import PLATE_DPI, Job
from preflight.measures import needs
from preflight.measures.registry import measure

FEWEST: Final = 3
"""Of two pages, the outside and the inside of a carton may as well be one ink each."""
COARSER: Final = 2
"""Pixels of the plates that become one on each side: half a millimetre, the width of an edge."""
MOST_COMPARED: Final = 6
"""Pages that are drawn and laid on each other; the plates of one page of a job are among the first of a file."""
MOST_PX: Final = 1_000_000
OTHER_TONE: Final = 0.06
"""Tones that differ by more are not one grey drawn twice; renderings of one differ by less."""
MOVED_PX: Final = (3, 5, 8)
SAME_PAGE_MM: Final = 0.5

Tones = NDArray[np.float32]
"""Tint 0..1, (height, width)."""


@measure(
    "pages-that-are-plates",
    unit="pages",
    rests_on=["objects"],
    within="page",
    cases=("stated", "called", "one ink each"),
    facts=("numbers", "how"),
)
def pages_that_are_plates(job: Job, *, meeting_percent: float) -> list[Reading]:
    """Pages that seem to be plates of one drawing. Said of the first page, for all of the file.

    Case ``stated``: they say so. Case ``called``: their labels are process inks. Case ``one ink each``: of one size,
    each in another ink. Else grey pages of one size, each of which meets another in its edges: by ``meeting`` more, of
    all their edges in other tones, than where one of the two is moved aside.
    """
    artwork = job.artwork
    if job.page is not artwork.pages[0]:
        return []
    said = said_to_be_plates(artwork)
    if said is not None:
        case, numbers, how = said
        facts = {"numbers": pages_in_words(numbers), "how": how}
        return [Reading(float(len(numbers)), "pages", case=case, facts=facts)]
    if len(artwork.pages) < FEWEST or not _of_one_size(artwork.pages) or not all(map(_is_grey, artwork.pages)):
        return [Reading(0.0, "pages")]
    needs.whole(job, "objects")
    numbers = _meeting(job, meeting_percent / 100)
    facts = {"numbers": pages_in_words(numbers)} if numbers else {}
    return [Reading(float(len(numbers)), "pages", known="assumed", facts=facts)]


def said_to_be_plates(artwork: Artwork) -> tuple[str, list[int], str] | None:
    """How the file itself tells that its pages are plates: the case, the pages, and what they say; None for others."""
    stated = [page for page in artwork.pages if page.plate_of]
    if stated:
        return "stated", _numbers(stated), listed(page.plate_of for page in stated)
    called = [(page, ink) for page in artwork.pages if (ink := _process_ink_in(page.label))]
    if len({ink for _, ink in called}) > 1:
        return "called", _numbers([page for page, _ in called]), listed(page.label for page, _ in called)
    inks = [[s.name for s in page.separations] for page in artwork.pages]
    single = [names[0] for names in inks if len(names) == 1]
    if len(single) >= FEWEST and len(set(single)) == len(artwork.pages) and _of_one_size(artwork.pages):
        return "one ink each", _numbers(artwork.pages), listed(single)
    return None


def pages_in_words(numbers: Sequence[int]) -> str:
    """``page 2``, ``pages 1, 2 and 5``."""
    *most, last = map(str, numbers)
    return f"pages {', '.join(most)} and {last}" if most else f"page {last}"


def _numbers(pages: Sequence[Page]) -> list[int]:
    return [page.number for page in pages]


def _process_ink_in(label: str) -> str:
    words = re.findall(r"[^\W\d_]+", label.casefold())
    return next((ink for ink in PROCESS if ink.casefold() in words), "")


def _of_one_size(pages: Sequence[Page]) -> bool:
    first = pages[0]
    return all(
        abs(page.width_mm - first.width_mm) <= SAME_PAGE_MM and abs(page.height_mm - first.height_mm) <= SAME_PAGE_MM
        for page in pages
    )


def _is_grey(page: Page) -> bool:
    """Nothing but black is named, and nothing has to be converted to it."""
    families = (family for family, _ in page.objects.colours.families())
    return {s.name for s in page.separations} <= {"Black"} and not any(family.not_a_plate for family in families)


# Pages laid on each other ------------------------------------------------------------------------------------------


def _meeting(job: Job, least: float) -> list[int]:
    """Pages whose edges meet those of another page."""
    pages = job.artwork.pages[:MOST_COMPARED]
    tones = {page.number: _tones(job, page) for page in pages}
    shapes = {tone.shape for tone in tones.values()}
    rows, columns = min(shape[0] for shape in shapes), min(shape[1] for shape in shapes)
    cut = {number: tone[:rows, :columns] for number, tone in tones.items()}
    met = [pair for pair in combinations(cut, 2) if _meet(cut[pair[0]], cut[pair[1]]) >= least]
    return sorted({number for pair in met for number in pair})


def _tones(job: Job, page: Page) -> Tones:
    """The page's black, in pixels of half a millimetre and more."""
    plates = page.plates(PLATE_DPI)
    if page is not job.page:
        page.close()
    ink = plates.ink.max(0) if len(plates.ink) else np.zeros(plates.ink.shape[1:], np.uint8)
    by = COARSER * max(1, round((ink.size / COARSER**2 / MOST_PX) ** 0.5))
    rows, columns = (side // by for side in ink.shape)
    blocks = ink[: rows * by, : columns * by].reshape(rows, by, columns, by)
    return np.asarray(blocks.mean((1, 3), dtype=np.float32) / 255)


def _meet(one: Tones, other: Tones) -> float:
    """How much more the edges of two pages meet where they stand than where one is moved aside, 0..1.

    Only edges are looked at where the two have other tones.
    """
    differing = _widened(np.abs(one - other) > OTHER_TONE)[:-1, :-1]
    edges, others = _edges(one) * differing, _edges(other) * differing
    whole = float(np.sqrt(np.vdot(edges, edges) * np.vdot(others, others)))
    if not whole:
        return 0.0
    steps = [step for px in MOVED_PX for step in ((0, px), (0, -px), (px, 0), (-px, 0))]
    moved = max(float(np.vdot(edges, np.roll(others, step, (0, 1)))) for step in steps)
    return (float(np.vdot(edges, others)) - moved) / whole


def _edges(tones: Tones) -> Tones:
    across, up = np.abs(np.diff(tones, axis=1))[:-1], np.abs(np.diff(tones, axis=0))[:, :-1]
    return np.maximum(across, up)


def _widened(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The mask and the pixels beside it."""
    rows, columns = mask.shape
    padded = np.pad(mask, 1)
    return np.asarray(np.logical_or.reduce([padded[y : y + rows, x : x + columns] for y in range(3) for x in range(3)]))

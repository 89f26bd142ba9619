"""A job ticket to fill in, drafted from the artwork: what the file states stands, what is guessed waits behind a ``#``.

A statement of the ticket may fail a job and a guess may not, so no guess becomes a statement until a person has looked.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from preflight.artwork.page.objects import Painted
from preflight.artwork.page.page import Page
from preflight.artwork.page.separations import PROCESS, Separation
from preflight.carton.die import Area, Die
from preflight.carton.read_die import read_die
from preflight.drafting.yaml_text import SCHEMA, listed, remark, setting, text, waiting
from preflight.inputs.kind_names import classify, load_names
from preflight.inputs.press import Press
from preflight.kinds import NON_PRINTING_KINDS
from preflight.setup.artwork_is import what_artwork_is

MOST_AREAS: Final = 24
MOST_NAMED: Final = 60


def ticket_draft(
    page: Page, artwork_file: str, press: Press | None = None, press_file: str = "", *, page_count: int = 1
) -> str:
    """The text of a job ticket for some artwork.

    Args:
        page: the first page of the artwork; separations, die and areas are those of this one.
        artwork_file: its path as the ticket is to name it.
        press: the press that the job is to run on.
        press_file: its path as the ticket is to name it; empty where nobody has said.
        page_count: pages of the artwork.
    """
    die = read_die(page)
    sections = (
        _head(artwork_file, page_count),
        _job(artwork_file, press_file),
        _artwork_is(page, die, press),
        _die(die),
        _separations(page, die),
        _areas(page, die),
        _press_side(page, die, press),
    )
    return "\n\n".join("\n".join(section) for section in sections) + "\n"


def _head(artwork_file: str, page_count: int) -> Iterator[str]:
    yield SCHEMA.format("ticket")
    yield remark(f"A job ticket for {artwork_file.rpartition('/')[2]}. What the file itself says is written out.")
    yield remark("A line with # right before its key is a guess, or asks for what only you know: put it right and take")
    yield remark(
        "the # away. What stays behind a # is not stated: it is guessed and then only queried, or not checked."
    )
    if page_count > 1:
        yield remark(f"The file has {page_count} pages; separations, die and areas below are those of the first.")


def _job(artwork_file: str, press_file: str) -> Iterator[str]:
    yield waiting("ticket: 4471-B", "an example: job number, at the top of the report")
    yield waiting("title: Sage tea, 100 g", "an example")
    yield setting(f"artwork: {text(artwork_file)}", "relative to this file")
    wanted = "sheet, board, units and drying are held against it"
    if press_file:
        yield setting(f"press: {text(press_file)}", wanted)
    else:
        yield waiting("press: press.yaml", wanted)


def _artwork_is(page: Page, die: Die, press: Press | None) -> Iterator[str]:
    guess, _, because = what_artwork_is(page, die, press, None)
    yield remark(f"One carton, a whole press sheet, or a sheet on its plate? {because}")
    yield waiting(f"artwork_is: {guess}", "one-up, sheet or plate")
    if guess != "one-up":
        yield waiting("gripper_edge: bottom", "of the sheet as displayed: bottom, top, left or right")


def _die(die: Die) -> Iterator[str]:
    """Lines that are called die lines are stated; lines that only look like them wait."""
    roles = {role: names for role, names in die.drawn_in.items() if names and role in NON_PRINTING_KINDS}
    write = waiting if die.found in ("assumed", "none") else setting
    if not roles:
        likely = die.suspected.inks if die.suspected else ("Cutting",)
        yield remark(f"The die: {die.because}. Without its lines neither bleed nor folds nor flaps are checked.")
        yield waiting(f"die: {{lines: {{cut: {listed(likely)}}}}}", "separations or layers that its lines are drawn in")
        return
    sure = "" if write is setting else "A guess: "
    yield remark(f"{sure}{len(die.blanks)} blank{'s' * (len(die.blanks) != 1)}; {die.because}.")
    yield write("die:")
    yield write("  lines:")
    for role, names in roles.items():
        yield write(f"    {role}: {listed(names)}")


def _separations(page: Page, die: Die) -> Iterator[str]:
    process = [s.name for s in page.separations if s.name in PROCESS]
    unknown = [s for s in page.separations if s.kind == "spot" and classify(s.name, load_names()) is None]
    known = [s for s in page.separations if s.name not in process and s not in unknown]
    yield remark(f"Separations of the file. Process inks: {', '.join(process) or 'none'}.")
    for separation in known[:MOST_NAMED]:
        yield remark(f"{text(separation.name)}: {separation.kind}, {separation.because}")
    if not unknown:
        yield remark("Where one is something else, say so:")
        yield waiting("separations: {Shade 9: metallic}")
        return
    yield remark("Names that do not tell what they are count as spots that print. Say what each really is:")
    yield waiting("separations:")
    for separation in unknown[:MOST_NAMED]:
        kind, others = _likely(page, die, separation)
        yield waiting(f"  {text(separation.name)}: {kind}", others)
    if len(unknown) > MOST_NAMED:
        yield remark(f"and {len(unknown) - MOST_NAMED:,} more")


def _likely(page: Page, die: Die, separation: Separation) -> tuple[str, str]:
    """The kind that fits how a separation is painted, and the others that do."""
    for role, names in die.drawn_in.items():
        if separation.name in names and role in NON_PRINTING_KINDS:
            return role, "its lines look like those of the die; or spot, if it prints"
    objects = page.objects
    rows = np.flatnonzero(objects.in_separation(separation.name))
    if not len(rows):
        return "ignore", "nothing is painted in it; or spot"
    if bool(np.all(objects.painted[rows] == Painted.STROKE)):
        return "cut", "only lines are drawn in it; or crease, perforate, half-cut, guide, spot"
    if bool(np.all(objects.overprint[rows])):
        return "varnish", "all of it overprints; or white, foil, emboss, metallic, spot"
    return "spot", "or metallic, white, varnish, primer, foil, guide"


def _areas(page: Page, die: Die) -> Iterator[str]:
    yield remark("Areas that are treated apart: left, bottom, right, top in mm from the lower-left corner of the page")
    yield remark("as displayed. Ink and varnish keep off a glue flap and off the place for date and batch codes.")
    found = [(blank.number, area) for blank in die.blanks for area in blank.areas if area.known != "stated"]
    yield waiting("areas:")
    for number, area in found[:MOST_AREAS]:
        known = "guessed" if area.known == "assumed" else "in the file"
        yield waiting(f"  - {_entry(area)}", f"{known}, blank {number}: {area.because}")
    across, up = round(page.width_mm / 2), round(page.height_mm / 2)
    yield waiting(
        f"  - {{is: code, box: [{across}, {up}, {across + 30}, {up + 15}]}}",
        "an example: where codes are printed later",
    )


def _entry(area: Area) -> str:
    box = ", ".join(f"{round(side, 1):g}" for side in area.shape.bounds)
    return f"{{is: {text(area.kind)}, box: [{box}]}}"


def _press_side(page: Page, die: Die, press: Press | None) -> Iterator[str]:
    """What only the job's papers say, with the reason why each is asked."""
    system = press.cures[0] if press is not None and press.cures else "uv"
    yield waiting(f"ink_system: {system}", "uv, led-uv, low-energy-uv, oxidising: can the press dry it?")
    yield waiting(
        "board: {caliper: 0.45 mm, surface: white}", "an example: can the press take it? does the art need white?"
    )
    size = press.sheet.largest if press is not None else None
    across, along = (f"{size.across_mm:g}", f"{size.along_mm:g}") if size is not None else ("980", "690")
    yield waiting(
        f"sheet: {{size: {across} x {along} mm}}", "an example: across the press x along the travel: does it fit?"
    )
    of_die = {name for names in die.drawn_in.values() for name in names if name not in PROCESS}
    painted = [s.name for s in page.separations if s.on_plate and page.objects.in_separation(s.name).any()]
    inks = [name for name in painted if name not in of_die][:MOST_NAMED]
    idle = max(0, press.unit_count - len(inks)) if press is not None else 0
    yield remark(
        "What is on unit 1, 2, … in your order: null is an idle unit, {overall: name} is printed all over and is"
    )
    yield remark("not in the PDF. It is held against the separations that print and the units of the press.")
    yield waiting(f"units: [{', '.join([*map(text, inks), *['null'] * idle])}]")
    yield waiting("changes: [Black]", "an example: plates that differ from the last revision on purpose")
    yield remark("What the coater lays, and what it leaves bare; coating: none where nothing is coated.")
    yield waiting("coating: {kind: water-based, area: overall, clear: [glue flap, code]}")

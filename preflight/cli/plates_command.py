"""``preflight plates``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from preflight.artwork.read_artwork import read_artwork
from preflight.carton.read_die import read_die
from preflight.errors import CannotWrite, ExitStatus, NotMeasured, PageNotDrawn, WrongUsage
from preflight.findings import with_and
from preflight.quantities import shown
from preflight.report import words
from preflight.report.plate_files import write_plates

_PLACES_SHOWN = 6


def run_plates(artwork_path: Path, out: Path, resolution: float, number: int) -> int:
    """Write the plates of one page; returns the exit status."""
    with read_artwork(artwork_path, only_page=number) as artwork:
        if not artwork.pages:
            count = shown(artwork.page_count, "pages")
            raise WrongUsage(f"{artwork_path.name} has {count} and no page {number}")
        page = artwork.pages[0]
        try:
            written = write_plates(page, read_die(page, None), out, resolution)
        except NotMeasured as reason:
            raise PageNotDrawn(f"{artwork_path.name}: {reason}") from reason
        except OSError as error:
            raise CannotWrite(f"{error.filename or out} cannot be written: {error.strerror or error}") from error
    _list(written)
    drawn = written[0]["dpi"] if written else resolution
    coarser = f" ({resolution:g} would be too much for a page of this size and so many plates)"
    click.echo(f"{shown(len(written), 'plates')} at {drawn:g} dpi in {out}{coarser if drawn < resolution else ''}")
    for because in dict.fromkeys(place.because for place in page.uncertain):
        where = [words.place_words({"box_mm": p.box_mm, "where": ""}) for p in page.uncertain if p.because == because]
        click.echo(f"Something is missing on these plates: {because}; {with_and(where[:_PLACES_SHOWN])}.", err=True)
    return int(ExitStatus.OK)


def _list(plates: Sequence[Mapping[str, Any]]) -> None:
    """Coverage of each plate, of the page and, where a cut was recognised, inside it."""
    cut = any(entry["cover_inside_cut"] is not None for entry in plates)
    if plates:
        click.echo(f"coverage of page{'  inside the cut' if cut else ''}  kind       separation")
    for entry in plates:
        inside = entry["cover_inside_cut"]
        within = f"  {f'{inside * 100:.2f} %' if inside is not None else '-':>14}" if cut else ""
        name = words.plain(entry["name"])
        click.echo(f"{entry['cover_page'] * 100:14.2f} %{within}  {entry['kind']:<9}  {name}")

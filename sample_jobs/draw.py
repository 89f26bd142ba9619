"""Draws the artwork of every sample job: ``python -m sample_jobs.draw [--out FOLDER] [JOB]...``.

The same libraries give the same bytes again; other versions of the JPEG or Flate coder may pack the pictures
differently.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from functools import partial
from pathlib import Path

from sample_jobs.drawing import (
    cask_box,
    cocoa_sheet,
    cocoa_trio,
    face_cream,
    flatbread,
    flatbread_inside,
    oat_biscuits,
    winter_tea,
)  # fmt: skip

HERE = Path(__file__).parent

Draw = Callable[[Path], Path]


def _trio(*, repaired: bool) -> dict[str, Draw]:
    """The three one-ups, and the sheet of all."""
    one_ups: dict[str, Draw] = {
        kind.file: partial(cocoa_trio.draw, flavour=name, repaired=repaired)
        for name, kind in cocoa_trio.FLAVOURS.items()
    }
    return one_ups | {"sheet.pdf": partial(cocoa_sheet.draw, repaired=repaired)}


def _sleeve(*, repaired: bool) -> dict[str, Draw]:
    return {
        "outside.pdf": partial(flatbread.draw, repaired=repaired),
        "inside.pdf": partial(flatbread_inside.draw, repaired=repaired),
    }


JOBS: dict[str, dict[str, Draw]] = {
    "oat-biscuits": {"artwork.pdf": partial(oat_biscuits.draw, repaired=False)},
    "oat-biscuits-repaired": {"artwork.pdf": partial(oat_biscuits.draw, repaired=True)},
    "winter-tea": {"artwork.pdf": winter_tea.draw},
    "cask-box": {"artwork.pdf": partial(cask_box.draw, repaired=False)},
    "cask-box-repaired": {"artwork.pdf": partial(cask_box.draw, repaired=True)},
    "face-cream": {"artwork.pdf": partial(face_cream.draw, repaired=False)},
    "face-cream-repaired": {"artwork.pdf": partial(face_cream.draw, repaired=True)},
    "cocoa-trio": _trio(repaired=False),
    "cocoa-trio-repaired": _trio(repaired=True),
    "flatbread-sleeve": _sleeve(repaired=False),
    "flatbread-sleeve-repaired": _sleeve(repaired=True),
}
"""Folder of the job, and what draws each of its artworks into the path it is given."""


def draw_job(job: str, folder: Path = HERE) -> list[Path]:
    """Draws a job's artwork into ``folder/<job>/`` and returns the paths."""
    return [draw(folder / job / file) for file, draw in JOBS[job].items()]


def main() -> None:
    """Draws the jobs that are named, or all."""
    arguments = argparse.ArgumentParser(description="Draws the artwork of the sample jobs.")
    arguments.add_argument("jobs", nargs="*", metavar="JOB", help=f"one of {', '.join(JOBS)}; all where none is named")
    arguments.add_argument("--out", type=Path, default=HERE, metavar="FOLDER", help="where the job folders stand")
    given = arguments.parse_args()
    for job in given.jobs or JOBS:
        if job not in JOBS:
            arguments.error(f"no job is called {job}; there are {', '.join(JOBS)}")
        for path in draw_job(job, given.out):
            print(f"{path}  {path.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()

"""Draws the artwork of every sample job: ``python -m sample_jobs.draw [--out FOLDER] [JOB]...``.

The same libraries give the same bytes again; other versions of the JPEG or Flate coder may pack the pictures
differently.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from functools import partial
from pathlib import Path

from sample_jobs.drawing import cask_box, face_cream, oat_biscuits, winter_tea

HERE = Path(__file__).parent

JOBS: dict[str, Callable[[Path], Path]] = {
    "oat-biscuits": partial(oat_biscuits.draw, repaired=False),
    "oat-biscuits-repaired": partial(oat_biscuits.draw, repaired=True),
    "winter-tea": winter_tea.draw,
    "cask-box": partial(cask_box.draw, repaired=False),
    "cask-box-repaired": partial(cask_box.draw, repaired=True),
    "face-cream": partial(face_cream.draw, repaired=False),
    "face-cream-repaired": partial(face_cream.draw, repaired=True),
}
"""Folder of the job, and what draws its artwork into the path it is given."""


def draw_job(job: str, folder: Path = HERE) -> Path:
    """Draws one job's artwork into ``folder/<job>/artwork.pdf`` and returns that path."""
    return JOBS[job](folder / job / "artwork.pdf")


def main() -> None:
    """Draws the jobs that are named, or all."""
    arguments = argparse.ArgumentParser(description="Draws the artwork of the sample jobs.")
    arguments.add_argument("jobs", nargs="*", metavar="JOB", help=f"one of {', '.join(JOBS)}; all where none is named")
    arguments.add_argument("--out", type=Path, default=HERE, metavar="FOLDER", help="where the job folders stand")
    given = arguments.parse_args()
    for job in given.jobs or JOBS:
        if job not in JOBS:
            arguments.error(f"no job is called {job}; there are {', '.join(JOBS)}")
        path = draw_job(job, given.out)
        print(f"{path}  {path.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()

"""The files of a layout for the set-up folder: ``layout.svg``, ``layout.pdf`` (1:1), ``layout.dxf`` by name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from preflight.crew.planned_job import PlannedJob
from preflight.report.dxf import DxfTold, layout_dxf
from preflight.report.layout_drawing import LayoutTold, layout_pdf, layout_svg
from preflight.report.setup_sheet import sheet_of
from preflight.setup.press_sheet.press_sheet import PressSheet
from preflight.setup.press_sheet.sheet_folds import with_folds


def layout_files(job: PlannedJob, document: Mapping[str, Any]) -> dict[str, bytes]:
    """Every file by its name; none where the sheet is not known, and no die of a sheet from outside.

    Args:
        job: judged and planned, with its sheet.
        document: its ``preflight-setup/1`` document, for what identifies the job and whether it may run.
    """
    sheet = sheet_to_draw(job)
    if sheet is None:
        return {}
    told = layout_told(job, document)
    files = {"layout.svg": layout_svg(sheet, told).encode("utf-8", "replace"), "layout.pdf": layout_pdf(sheet, told)}
    if sheet.layout is not None:
        identity = tuple(filter(None, (told.job, " | ".join(told.identity))))
        files["layout.dxf"] = layout_dxf(
            sheet, DxfTold(identity, told.run_it, tuple(map(_assumed, sheet.layout.assumed)))
        )
    return files


def sheet_to_draw(job: PlannedJob) -> PressSheet | None:
    """The sheet with its folds by role, as the die of the first page has them."""
    if job.sheet is None:
        return None
    dies = [page.facts.die for page in job.pages if page.facts.die.blanks]
    return with_folds(job.sheet, dies[0].folds) if dies else job.sheet


def layout_told(job: PlannedJob, document: Mapping[str, Any]) -> LayoutTold:
    """What stands beside the drawing."""
    told = sheet_of(document)
    return LayoutTold(
        job=f"{told.job}, {told.title}" if told.title else told.job,
        identity=told.identity,
        run_it=told.run_it,
        why_not=tuple(point.says for point in told.why_not),
        side_lay=job.press.side_lay if job.press is not None else None,  # type: ignore[arg-type]
        grain=job.ticket.board.grain if job.ticket is not None else None,
    )


def _assumed(said: str) -> str:
    return f"Assumed: {said}"

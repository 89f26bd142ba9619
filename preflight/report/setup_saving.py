"""The folder of a set-up: every file is written aside first, and none is put in its place before all are whole."""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any, Final

from preflight.errors import CannotWrite
from preflight.interruption import cleared_if_interrupted
from preflight.report.saving import json_text, write_aside
from preflight.report.setup_paper import Paper
from preflight.report.setup_pictures import SheetDrawings
from preflight.setup.press_files.press_job import PRESS_FILES

Document = Mapping[str, Any]

NEVER_STALE: Final = (*PRESS_FILES, "layout.svg", "layout.pdf", "layout.dxf", "coating-plate.dxf")
"""What somebody acts on: none of an earlier set-up stays beside a new sheet."""


def save_setup(
    document: Document,
    folder: Path,
    paper: Paper = "a4",
    others: Mapping[str, bytes] | None = None,
    drawings: SheetDrawings | None = None,
) -> list[Path]:
    """Write ``setup.json``, ``setup.html`` and ``setup.pdf``, and what else there is, into a folder.

    Where the document says that the job is not to be run, no press file is written. A press file or a layout of an
    earlier set-up that this one has not is taken away.

    Args:
        document: a ``preflight-setup/1`` document.
        folder: it is made where it is not there; its own folder has to be.
        paper: of the PDF.
        others: further files by name: layout, press files.
        drawings: of the press sheet, for page and PDF.

    Returns:
        the files, in the order that they are named here.

    Raises:
        CannotWrite: no such folder, no right to write there, or no room; then the folder is as it was.
    """
    wanted = _files(document, paper, drawings) | dict(others or {})
    if not document["run_it"]:
        wanted = {name: data for name, data in wanted.items() if name not in PRESS_FILES}
    try:
        _write_folder(folder.absolute(), wanted)
    except OSError as error:
        raise CannotWrite(f"{folder} cannot be written: {_why(folder, error)}") from error
    return [folder / name for name in wanted]


def _files(document: Document, paper: Paper, drawings: SheetDrawings | None) -> dict[str, bytes]:
    """Loaded where they are wanted: templates and type take a while."""
    from preflight.report.setup_html import render_setup_html
    from preflight.report.setup_pdf import render_setup_pdf

    return {
        "setup.json": json_text(document).encode(),
        "setup.html": render_setup_html(document, drawings).encode("utf-8", "replace"),
        "setup.pdf": render_setup_pdf(document, paper, drawings),
    }


def _write_folder(folder: Path, wanted: Mapping[str, bytes]) -> None:
    """All files into a folder aside; then that is the folder, or they are moved over those of an older one.

    The folder aside lies in the older one, so that a move never crosses from one disk to another.
    """
    older = folder.is_dir()
    aside = (folder if older else folder.parent) / f".{folder.name[:40]}.{os.urandom(8).hex()}.part"
    with cleared_if_interrupted(partial(shutil.rmtree, aside, ignore_errors=True)):
        aside.mkdir()
        try:
            for name, data in wanted.items():
                write_aside(aside / name, data)
            if older:
                _move_over(aside, folder, wanted)
            else:
                aside.rename(folder)
        except BaseException:
            shutil.rmtree(aside, ignore_errors=True)
            raise


def _move_over(aside: Path, folder: Path, wanted: Mapping[str, bytes]) -> None:
    blocked = next((folder / name for name in wanted if (folder / name).is_dir()), None)
    if blocked is not None:
        raise IsADirectoryError(f"a folder has the name {blocked.name}")
    for name in NEVER_STALE:
        if name not in wanted:
            (folder / name).unlink(missing_ok=True)
    for name in wanted:
        (aside / name).replace(folder / name)
    aside.rmdir()


def _why(folder: Path, error: OSError) -> str:
    if folder.exists() and not folder.is_dir():
        return "a file has this name"
    if not folder.absolute().parent.is_dir():
        return f"there is no folder {folder.parent}"
    return error.strerror or str(error)

"""``preflight new``: a job ticket or a press profile to fill in."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import partial
from pathlib import Path

import click

from preflight.errors import CannotWrite, ExitStatus, WrongUsage
from preflight.interruption import cleared_if_interrupted


def run_new_ticket(artwork_path: Path, press_path: Path | None, out: Path | None) -> int:
    """Write a ticket for some artwork, to standard output or to a file that is not there yet."""
    _refuse_to_write_over(out)
    from preflight.artwork.read_artwork import read_artwork
    from preflight.drafting.ticket_draft import ticket_draft
    from preflight.inputs.loading import load_press

    press = load_press(press_path) if press_path is not None else None
    with read_artwork(artwork_path, only_page=1) as artwork:
        from_here = partial(_seen_from, out.parent if out is not None else Path())
        draft = ticket_draft(
            artwork.pages[0],
            from_here(artwork_path),
            press,
            from_here(press_path) if press_path is not None else "",
            page_count=artwork.page_count,
        )
    return _hand_over(draft, out)


def run_new_press(out: Path | None) -> int:
    """Write a press profile, to standard output or to a file that is not there yet."""
    from preflight.drafting.press_draft import press_draft

    _refuse_to_write_over(out)
    return _hand_over(press_draft(), out)


def _seen_from(folder: Path, path: Path) -> str:
    """The path as a ticket in that folder names it."""
    try:
        return Path(os.path.relpath(path, folder)).as_posix()
    except ValueError:  # on another drive
        return str(path.absolute())


def _refuse_to_write_over(out: Path | None) -> None:
    if out is not None and os.path.lexists(out):
        raise WrongUsage(f"{out} is there already, and is left as it is: name a file that is not")


def _hand_over(draft: str, out: Path | None) -> int:
    if out is None:
        click.echo(draft, nl=False)
        return int(ExitStatus.OK)
    try:
        _write_new(out, draft.encode("utf-8", "replace"))
    except FileExistsError:
        _refuse_to_write_over(out)
    except OSError as error:
        raise CannotWrite(f"{out} cannot be written: {error.strerror or error}") from error
    click.echo(f"{out} is written. `preflight schema --write {out.parent}` lays the schemas for editors beside it.")
    return int(ExitStatus.OK)


def _write_new(out: Path, data: bytes) -> None:
    """Raises FileExistsError where somebody else was quicker; a file half written is taken away again."""
    with out.open("xb") as file:
        clear: Callable[[], None] = partial(out.unlink, missing_ok=True)
        with cleared_if_interrupted(clear):
            try:
                file.write(data)
                file.flush()
            except BaseException:
                clear()
                raise

"""Report files: the ending chooses the form, and a file is whole or it is not there."""

from __future__ import annotations

import json
import logging
import os
import sys
import traceback
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from preflight.errors import TRACEBACK_VARIABLE, CannotWrite, PreflightError, WrongUsage
from preflight.interruption import cleared_if_interrupted

if TYPE_CHECKING:
    from preflight.artwork.page.page import Page
    from preflight.job_facts import JobFacts
    from preflight.report.pictures import PagePictures

Form = Literal["html", "json"]
FORMS: Final[dict[str, Form]] = {".html": "html", ".htm": "html", ".json": "json"}
STANDARD_OUTPUT: Final = "-"
_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Shortfall:
    """A report that was not written, or not whole."""

    words: str
    """Which, and why, in a sentence."""
    written: bool = False
    """It is there, and only lacks something."""
    file: str = ""
    """Its path."""


def form_of(target: Path | str) -> Form:
    """The form that a report file's name asks for; ``-`` is JSON on standard output.

    Ask before the work is begun, so that a slip costs no time.

    Raises:
        WrongUsage: no report has this ending.
    """
    if str(target) == STANDARD_OUTPUT:
        return "json"
    path = Path(target)
    form = FORMS.get(path.suffix.lower())
    if form is None:
        raise WrongUsage(f"{path}: a report ends in .html or .json (or is -, JSON on standard output)")
    return form


def save(document: Mapping[str, Any], pages: Sequence[tuple[JobFacts, Page]], target: Path | str) -> list[Shortfall]:
    """Write a report in the form that its ending chooses.

    Args:
        document: what is said.
        pages: what is known of each page and the page itself, for the pictures of the HTML page only.
        target: the file, or ``-``.

    Returns:
        what the file lacks: pictures that could not be made.

    Raises:
        WrongUsage: the ending is unknown.
        CannotWrite: the file cannot be written.
    """
    form = form_of(target)
    lacking: list[Shortfall] = []
    if form == "json":
        text = json_text(document)
    else:
        # Loaded where a page is wanted: templates and pictures take a while.
        from preflight.report.html import render_html

        text = render_html(document, list(_pictures(pages, target, lacking)))
    _write(text, target)
    return lacking


def save_customer(
    document: Mapping[str, Any], pages: Sequence[tuple[JobFacts, Page]], target: Path | str
) -> list[Shortfall]:
    """Write the customer edition of the page; arguments and what comes back are those of ``save``.

    Raises:
        WrongUsage: the ending is not that of a page.
        CannotWrite: the file cannot be written.
    """
    customer_form_of(target)
    from preflight.report.html import render_customer_html

    lacking: list[Shortfall] = []
    _write(render_customer_html(document, list(_pictures(pages, target, lacking))), target)
    return lacking


def customer_form_of(target: Path | str) -> Form:
    """The form of a customer edition, which is always a page.

    Raises:
        WrongUsage: it has another ending.
        CannotWrite: as in ``form_of``.
    """
    form = form_of(target)
    if form != "html":
        raise WrongUsage(f"{target}: a customer report ends in .html")
    return form


def _write(text: str, target: Path | str) -> None:
    data = text.encode("utf-8", "replace")
    if str(target) == STANDARD_OUTPUT:
        sys.stdout.buffer.write(data)
        sys.stdout.flush()
        return
    write_file(Path(target), data)


def write_file(path: Path, data: bytes) -> None:
    """``write_aside``, with what stands in the way said in a sentence.

    Raises:
        CannotWrite: no such folder, a folder of that name, no right to write there, or no room on the disk.
    """
    try:
        write_aside(path, data)
    except OSError as error:
        why = error.strerror or str(error)
        if not path.absolute().parent.is_dir():
            why = f"there is no folder {path.parent}"
        elif path.is_dir():
            why = "a folder has this name"
        raise CannotWrite(f"{path} cannot be written: {why}") from error


def _pictures(
    pages: Sequence[tuple[JobFacts, Page]], target: Path | str, lacking: list[Shortfall]
) -> Iterable[PagePictures]:
    """The pictures of each page; a page whose pictures break goes without, which is added to ``lacking``."""
    from preflight.report.pictures import draw_pictures

    for facts, page in pages:
        try:
            yield draw_pictures(facts, page, of_pages=len(pages))
        except Exception as fault:
            what = f"the pictures of page {page.number} are not in {target}"
            lacking.append(Shortfall(f"{what}: {in_words(fault)}", written=True))


def save_each(targets: Iterable[Path], save_one: Callable[[Path], list[Shortfall]]) -> list[Shortfall]:
    """Write several report files, each for itself: what breaks with one of them keeps back no other.

    Args:
        targets: the files, in order.
        save_one: writes one of them, and says what it lacks.

    Returns:
        what was not written, or not whole, and why; nothing is raised but an interruption.
    """
    found: list[Shortfall] = []
    for target in targets:
        try:
            found += (replace(shortfall, file=str(target)) for shortfall in save_one(target))
        except PreflightError as refusal:
            found.append(Shortfall(f"{refusal}. {refusal.advice}", file=str(target)))
        except Exception as fault:
            found.append(Shortfall(f"{target} could not be made: {in_words(fault)}", file=str(target)))
    return found


def in_words(fault: Exception) -> str:
    """What broke, without the lines of the program that it went through."""
    _log.debug("a report broke", exc_info=fault)
    if os.environ.get(TRACEBACK_VARIABLE):
        traceback.print_exception(fault)
    if isinstance(fault, MemoryError):
        return "the memory did not last."
    return f"{type(fault).__name__}: {fault}. {PreflightError.advice}"


def json_text(document: Mapping[str, Any]) -> str:
    """The document as JSON; what UTF-8 cannot carry (a file name in another encoding) is escaped as JSON does it."""
    text = json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
    return text.encode("utf-8", "backslashreplace").decode("utf-8")


def write_aside(path: Path, data: bytes) -> None:
    """Write beside the target, then rename over it: nobody ever sees half a file.

    Raises:
        OSError: it cannot be written; then nothing is left behind, and an older file is as it was.
    """
    aside = path.absolute().parent / f".{path.name[:40]}.{os.urandom(8).hex()}.part"
    with cleared_if_interrupted(partial(aside.unlink, missing_ok=True)):
        # With the right that any new file has: the system takes off what the umask says, and nobody has to ask for it.
        handle = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            aside.replace(path)
        except BaseException:
            aside.unlink(missing_ok=True)
            raise

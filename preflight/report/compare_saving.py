"""Files of a comparison: the ending chooses the form, and a file is whole or it is not there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from preflight.artwork.page.page import Page
from preflight.comparing.shared_frame import SharedFrame
from preflight.errors import WrongUsage
from preflight.report.saving import STANDARD_OUTPUT, Shortfall, json_text, write_file


@dataclass(frozen=True)
class ComparedPage:
    """A page of both files and how OLD's lies on NEW's: what pictures are drawn from."""

    old: Page
    new: Page
    frame: SharedFrame


def check_target(target: Path | str) -> None:
    """Ask before the work is begun, so that a slip costs no time.

    Raises:
        WrongUsage: no form has this ending.
    """
    if str(target) != STANDARD_OUTPUT and Path(target).suffix.lower() != ".json":
        raise WrongUsage(f"{target}: a comparison ends in .json (or is -, JSON on standard output)")


def save_comparison(document: Mapping[str, Any], pages: Sequence[ComparedPage], target: Path | str) -> list[Shortfall]:
    """Write a comparison in the form that its ending chooses.

    Args:
        document: ``preflight-compare/1``.
        pages: for the pictures; those that both files have.
        target: the file.

    Returns:
        what the file lacks: pictures that could not be made.

    Raises:
        WrongUsage: the ending is unknown.
        CannotWrite: the file cannot be written.
    """
    check_target(target)
    write_file(Path(target), json_text(document).encode("utf-8", "replace"))
    return []

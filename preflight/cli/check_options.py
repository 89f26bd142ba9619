"""What a check is asked for on the command line."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, kw_only=True)
class CheckOptions:
    """The options of the command; see ``preflight check --help``."""

    press: Path | None = None
    ticket: Path | None = None
    reports: tuple[str, ...] = ()
    rules: tuple[Path, ...] = ()
    warnings_fail: bool = False
    cache: bool = True
    guarded: bool = False
    quiet: bool = False

"""What pictures of a comparison are drawn from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from preflight.artwork.page.page import Page
from preflight.comparing.pages.shared_frame import SharedFrame


@dataclass(frozen=True)
class ComparedPage:
    """A page of both files and how OLD's lies on NEW's."""

    old: Page
    new: Page
    frame: SharedFrame


@dataclass(frozen=True)
class ComparedSheet:
    """A sheet and its one-up, and how the one-up belongs on each blank by its number."""

    one_up: Page
    sheet: Page
    frames: Mapping[int, SharedFrame]

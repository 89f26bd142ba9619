"""What pictures of a comparison are drawn from."""

from __future__ import annotations

from dataclasses import dataclass

from preflight.artwork.page.page import Page
from preflight.comparing.shared_frame import SharedFrame


@dataclass(frozen=True)
class ComparedPage:
    """A page of both files and how OLD's lies on NEW's."""

    old: Page
    new: Page
    frame: SharedFrame

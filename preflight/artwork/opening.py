"""Opens a customer's PDF: refuses what is none, repairs what can be, and says what was repaired."""

from __future__ import annotations

from preflight.artwork.streams import OverLimit, Undecodable, read_stream

__all__ = ["OverLimit", "Undecodable", "read_stream"]

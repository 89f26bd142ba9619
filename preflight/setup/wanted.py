"""How a part that could not be worked out is named: what it is, and the key that it wants."""

from __future__ import annotations

from typing import Literal

Where = Literal["press profile", "ticket", "rules/run.yaml", "rules/drying.yaml"]


def wanted(what: str, key: str, where: Where) -> str:
    """A sentence such as: Speed: not checked; give top_speed in the press profile."""
    article = "" if where.startswith("rules/") else "the "
    return f"{what}: not checked; give {key} in {article}{where}."

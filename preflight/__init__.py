"""Checks folding-carton artwork and press set-up before plates are made.

from preflight import check

report = check("ticket.yaml")
report.verdict, report.findings, report.separations
report.save("report.html")
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from preflight.pipeline import check
    from preflight.report.report import Report

__all__ = ["Report", "check"]


def __getattr__(name: str) -> Any:
    # Imported on first use, so that `preflight --help` does not wait for the PDF libraries.
    if name in __all__:
        from preflight import pipeline

        return getattr(pipeline, name)
    raise AttributeError(f"module 'preflight' has no attribute {name!r}")

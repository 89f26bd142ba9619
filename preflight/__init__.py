"""Checks folding-carton artwork and press set-up before plates are made.

from preflight import check

report = check("ticket.yaml")
report.verdict, report.findings, report.separations
report.save("report.html")
"""

from __future__ import annotations

__version__ = "0.1.0"

__all__ = [
    "ArtworkEmpty",
    "ArtworkNotThere",
    "ArtworkUnreadable",
    "CalculatorFault",
    "CannotBeRendered",
    "CannotWrite",
    "CompareResult",
    "CouldNotBeChecked",
    "Crashed",
    "ExitStatus",
    "FunctionFault",
    "GuardedReport",
    "InputFault",
    "InvalidInput",
    "Jpeg2000Fault",
    "Killed",
    "Limits",
    "MeshFault",
    "NotDrawn",
    "NotMeasured",
    "NotRead",
    "NotUnderstood",
    "OutOfMemory",
    "OutOfTime",
    "OverLimit",
    "PageNotDrawn",
    "PageTooBig",
    "PartOfFile",
    "PreflightError",
    "RendererStopped",
    "Report",
    "TooBig",
    "Undecodable",
    "WrongUsage",
    "__version__",
    "check",
    "check_guarded",
    "compare",
]

_STANDS_IN = {
    "check": "pipeline",
    "Report": "report.report",
    "compare": "compare_pipeline",
    "CompareResult": "compare_pipeline",
    "check_guarded": "worker",
    "GuardedReport": "worker",
    "Limits": "worker",
}
"""Modules of what is exported; all else is in ``errors``."""


def __getattr__(name: str) -> object:
    # Imported on first use, so that `preflight --help` does not wait for the PDF libraries.
    if name in __all__:
        from importlib import import_module

        return getattr(import_module(f"preflight.{_STANDS_IN.get(name, 'errors')}"), name)
    raise AttributeError(f"module 'preflight' has no attribute {name!r}")


def __dir__() -> list[str]:
    return [*globals(), *(name for name in __all__ if name not in globals())]

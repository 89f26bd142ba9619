"""The JSON Schemas of the documents: of the report in ``schema.json``, of a set-up in ``setup_schema.json``."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any


def report_schema() -> dict[str, Any]:
    """The schema of ``preflight-report/1``."""
    schema: dict[str, Any] = json.loads(files("preflight.report").joinpath("schema.json").read_text("utf-8"))
    return schema


def setup_schema() -> dict[str, Any]:
    """The schema of ``preflight-setup/1``."""
    return _of_setups("setup")


def presses_schema() -> dict[str, Any]:
    """The schema of ``preflight-presses/1``."""
    return _of_setups("presses")


def _of_setups(which: str) -> dict[str, Any]:
    schemas: dict[str, dict[str, Any]] = json.loads(
        files("preflight.report").joinpath("setup_schema.json").read_text("utf-8")
    )
    return schemas[which]

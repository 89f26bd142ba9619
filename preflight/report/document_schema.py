"""The JSON Schema of the report, kept beside it in ``schema.json``."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any


def report_schema() -> dict[str, Any]:
    """The schema of ``preflight-report/1``."""
    schema: dict[str, Any] = json.loads(files("preflight.report").joinpath("schema.json").read_text("utf-8"))
    return schema

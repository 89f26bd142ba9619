"""A pytest plugin: only the tests listed in the file that ``ONLY`` names, in that order.

The first to fail is added to the file of the same name with the ending ``.failed``.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

LISTED = Path(os.environ["ONLY"])


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    order = {test: place for place, test in enumerate(LISTED.read_text().split("\n"))}
    items[:] = sorted((item for item in items if item.nodeid in order), key=lambda item: order[item.nodeid])


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if report.failed:
        LISTED.with_suffix(".failed").write_text(report.nodeid)

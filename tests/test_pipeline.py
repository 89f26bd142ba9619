"""What goes together when a check is asked for."""

from __future__ import annotations

from pathlib import Path

import pytest

from preflight import check
from preflight.errors import ExitStatus, WrongUsage

JOBS = Path(__file__).parents[1] / "sample_jobs"


def test_two_tickets_are_wrong_usage():
    with pytest.raises(WrongUsage, match=r"winter-tea.*--ticket.*oat-biscuits") as refusal:
        check(JOBS / "winter-tea" / "ticket.yaml", ticket=JOBS / "oat-biscuits" / "ticket.yaml")
    assert refusal.value.exit_status == ExitStatus.WRONG_USAGE

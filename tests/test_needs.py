"""What a measure has to have: a bound that was hit hides what rests on it, and nothing else."""

from __future__ import annotations

import pytest

from preflight.artwork.page.page import OverBound
from preflight.errors import NotMeasured
from preflight.job import Job
from preflight.measures import needs
from tests.house import job_of, printed


def over(folder, *hits: str) -> Job:
    job = job_of(printed("Cyan"), folder, {"artwork_is": "one-up"})
    job.page.over_bounds += [OverBound(f"too much of {hit}", frozenset({hit})) for hit in hits]
    return job


@pytest.mark.parametrize(
    ("hits", "parts", "whole"),
    [
        ((), ("text", "images"), True),
        (("text",), (), True),
        (("text",), ("images",), True),
        (("text",), ("text",), False),
        (("text",), ("images", "text"), False),
        (("images", "text"), ("text",), False),
        (("objects",), (), False),
        (("plates",), ("text", "images"), True),
    ],
)
def test_a_bound_hides_only_what_rests_on_it(hits, parts, whole, tmp_path):
    job = over(tmp_path, *hits)
    if whole:
        assert needs.objects(job, *parts) is job.page.objects
    else:
        with pytest.raises(NotMeasured):
            needs.objects(job, *parts)

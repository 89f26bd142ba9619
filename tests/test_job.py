"""The job: frozen, what costs is found out once, and what a report gets of it."""

from dataclasses import FrozenInstanceError, replace

import pytest

from preflight.errors import NotMeasured
from preflight.job import InkOnJob, Job, once_a_job
from preflight.job_facts import final_facts, opening_facts
from tests.report_jobs import SEPARATIONS, carton_job, covers_of, drawn_page, small_job


def test_nobody_changes_a_job():
    job = small_job()
    with pytest.raises(FrozenInstanceError):
        job.ticket = None  # type: ignore[misc]


def test_inks_are_measured_once():
    asked = []

    def counted(job: Job) -> list[InkOnJob]:
        asked.append(job)
        return covers_of(job)

    job = replace(carton_job(), measure_inks=counted)
    assert [job.inks, job.inks][0] is job.inks
    assert job.plan is job.plan
    assert asked == [job]


def test_the_plan_has_every_ink_that_prints_and_the_inks_have_its_units():
    job = carton_job()
    assert [plates.name for plates in job.plan.plates] == [ink.separation.name for ink in job.inks if ink.prints]
    assert {place.name: (place.unit,) for place in job.plan.standing} == {
        ink.separation.name: ink.units for ink in job.inks if ink.units
    }


def test_what_was_found_out_is_kept_for_each_job_and_each_question():
    asked = []

    @once_a_job
    def found(job: Job, name: str) -> str:
        asked.append((job, name))
        return name * 2

    one, other = small_job(), small_job()
    assert [found(one, "a"), found(one, "a"), found(one, "b"), found(other, "a")] == ["aa", "aa", "bb", "aa"]
    assert asked == [(one, "a"), (one, "b"), (other, "a")]


def test_two_functions_of_one_name_do_not_mix():
    def make(answer: int):
        @once_a_job
        def found(job: Job) -> int:
            return answer

        return found

    job = small_job()
    assert [make(1)(job), make(2)(job)] == [1, 2]


def test_the_opening_is_known_before_anybody_has_looked():
    job = replace(carton_job(), page=drawn_page(1, 420, 346, SEPARATIONS, None))
    with pytest.raises(NotMeasured):
        _ = job.inks
    facts = opening_facts(job)
    assert (facts.inks, facts.standing, facts.drawn) == ((), (), "not at all")
    assert facts.page.box_mm == (0, 0, 420, 346)


def test_the_final_facts_are_those_of_the_job():
    job = carton_job()
    facts = final_facts(job)
    assert (facts.inks, facts.standing, facts.drawn) == (job.inks, job.plan.standing, "whole")
    assert facts.file.pages_read == 1

"""The job: frozen, what costs is found out once, and what a report gets of it."""

from dataclasses import FrozenInstanceError, fields, replace

import pytest
from shapely import MultiLineString, box

from preflight.artwork.page.artwork import Repair
from preflight.artwork.page.page import PageBoxes
from preflight.artwork.page.separations import Separation
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.carton.die import Blank, Die
from preflight.errors import NotMeasured
from preflight.inputs.ticket import Ticket
from preflight.job import InkOnJob, Job, once_a_job
from preflight.job_facts import FileFacts, JobFacts, PageFacts, final_facts, opening_facts
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


def blanks(*bounds):
    return Die("read", "", tuple(Blank(n, box(*each), MultiLineString()) for n, each in enumerate(bounds, 1)))


def job_on(trim=None, die=None):
    """A page of 60 x 40 mm."""
    job = small_job()
    job.page.boxes = PageBoxes((0, 0, 60, 40), trim=trim)
    return replace(job, die=die or Die("none", ""))


def test_inside_is_the_cut_else_the_trim_box_else_the_page():
    assert job_on(die=blanks((5, 6, 20, 30), (25, 6, 50, 30))).inside_shape.area == 15 * 24 + 25 * 24
    assert job_on((1, 2, 55, 38), blanks((5, 6, 20, 30))).inside_shape.bounds == (5, 6, 20, 30)
    assert job_on((1, 2, 55, 38)).inside_shape.bounds == (1, 2, 55, 38)
    assert job_on().inside_shape.bounds == (0, 0, 60, 40)
    assert Die("none", "").inside.is_empty


def test_pixels_inside_are_those_of_the_plates_at_100_dpi():
    job = job_on(die=blanks((5, 6, 20, 30)))
    assert job.plates is job.plates
    assert job.page.asked == [100]
    assert job.inside_mask.shape == job.plates.tint("Leaf").shape
    assert job.inside_mask.sum() == pytest.approx(15 * 24 * (100 / 25.4) ** 2, rel=0.03)
    rows, columns = job.inside_mask.nonzero()
    assert columns.min() / (100 / 25.4) == pytest.approx(5, abs=0.4)
    assert rows.min() / (100 / 25.4) == pytest.approx(40 - 30, abs=0.4)


LEAF, MOSS, DIE = Separation("Leaf", "spot", ""), Separation("Moss", "metallic", ""), Separation("Cutting", "cut", "")


def job_with(*inks, **ticket):
    job = replace(
        small_job(), measure_inks=lambda _job: list(inks), ticket=Ticket.model_validate(ticket) if ticket else None
    )
    job.page.separations = [ink.separation for ink in inks]
    return job


def test_what_only_the_ticket_names_is_added_at_the_end():
    job = job_with(InkOnJob(LEAF, True, 0.2, 480), units=["Sky", {"overall": "Matt Varnish"}, "leaf"])
    assert [(i.separation.name, i.prints, i.cover, i.area_mm2, i.units, i.in_file) for i in job.inks] == [
        ("Leaf", True, 0.2, 480, (3,), True),
        ("Sky", False, 0.0, 0.0, (1,), False),
        ("Matt Varnish", True, 1.0, 0.0, (2,), False),
    ]
    assert [(plates.name, plates.overall) for plates in job.plan.plates] == [("Leaf", False), ("Matt Varnish", True)]


def test_an_ink_stands_where_the_name_stands_that_it_goes_by():
    job = job_with(
        InkOnJob(LEAF, True, 0.2, 480), InkOnJob(MOSS, False, 0, 0), InkOnJob(DIE, True, 0.1, 9),
        units=[None, "Moss", "Cutting"], separations={"Leaf": {"same_as": "Moss"}},
    )  # fmt: skip
    assert [ink.units for ink in job.inks] == [(2,), (2,), (3,)]
    assert [(plates.name, plates.kind, plates.also_called) for plates in job.plan.plates] == [
        ("Moss", "metallic", ("Leaf",)),  # the die has no plate
    ]


def test_without_a_ticket_inks_stand_nowhere():
    job = job_with(InkOnJob(LEAF, None, 0.2, 480), InkOnJob(MOSS, False, 0, 0))
    assert [ink.units for ink in job.inks] == [(), ()]
    assert [plates.name for plates in job.plan.plates] == ["Leaf"]


def test_an_answer_that_is_none_is_kept_too_and_named_arguments_count():
    asked = []

    @once_a_job
    def found(job, name, *, twice=False, thrice=False):
        asked.append((name, twice, thrice))

    job = small_job()
    for keys in ({}, {}, {"twice": True}, {"twice": True, "thrice": True}, {"thrice": True, "twice": True}):
        assert found(job, "a", **keys) is None
    assert asked == [("a", False, False), ("a", True, False), ("a", True, True)]
    assert found.__name__ == "found"


MENDED = Repair("the list of objects", False)


def test_the_facts_are_those_of_file_page_and_job():
    job = carton_job(3)
    job = replace(
        job,
        artwork=replace(job.artwork, page_count=7, producer="Pressroom", output_intent="Coated", repairs=(MENDED,)),
        artwork_is="sheet",
        artwork_is_known="assumed",
        artwork_is_because="by its size",
    )
    facts = opening_facts(job)
    assert (facts.file.name, facts.file.sha256, facts.file.repairs) == ("wrenfold-oat.pdf", "3f9a12c4" * 8, (MENDED,))
    assert (facts.file.page_count, facts.file.pages_read, facts.file.pdf_version) == (7, 1, "1.6")
    assert (facts.file.title, facts.file.producer, facts.file.output_intent) == ("Wrenfold oat", "Pressroom", "Coated")
    assert (facts.page.number, facts.page.width_mm, facts.page.height_mm) == (3, 420, 346)
    assert (facts.page.boxes, facts.page.separations) == (job.page.boxes, tuple(SEPARATIONS))
    assert (facts.die, facts.press, facts.ticket) == (job.die, job.press, job.ticket)
    assert (facts.artwork_is, facts.artwork_is_known, facts.artwork_is_because) == ("sheet", "assumed", "by its size")
    assert facts.assumed == job.assumed
    assert (facts.inks, facts.standing, facts.uncertain, facts.drawn) == ((), (), (), "not at all")


def test_a_page_is_drawn_whole_in_part_or_not_at_all():
    job = small_job()
    assert final_facts(job).drawn == "whole"
    missing = UncertainPlace("a font", (1, 2, 3, 4))
    job.page.uncertain.append(missing)
    facts = final_facts(job)
    assert (facts.drawn, facts.uncertain) == ("in part", (missing,))
    job = small_job()
    vars(job.page)["painted"] = None
    assert final_facts(job).drawn == "not at all"


@pytest.mark.parametrize("record", [InkOnJob, FileFacts, PageFacts, JobFacts], ids=lambda record: record.__name__)
def test_nobody_changes_a_record(record):
    made = object.__new__(record)
    with pytest.raises(FrozenInstanceError):
        setattr(made, fields(record)[0].name, None)


def test_a_job_is_another_one_than_its_copy():
    job = small_job()
    assert replace(job) != job
    assert len({job, job, replace(job)}) == 2


def test_a_job_of_which_nobody_says_more_is_taken_for_a_one_up():
    job = small_job()
    bare = Job(job.artwork, job.page, job.die, None, None)
    assert (bare.artwork_is, bare.artwork_is_known, bare.assumed, bare.notes) == ("one-up", "assumed", (), ())
    ink = InkOnJob(LEAF, True, 0.2, 480)
    assert (ink.units, ink.in_file) == ((), True)

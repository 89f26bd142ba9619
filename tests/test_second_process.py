"""The second process that draws half of the renderings: the same plates with it as without, and a word if it dies."""

from __future__ import annotations

import io
import os
import signal
import time
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from pikepdf import Name

from preflight import check
from preflight.artwork.page.uncertain_places import UncertainPlace
from preflight.artwork.platemaking import derived_documents, second_process
from preflight.artwork.platemaking.second_process import Derived, Sibling, can_fork
from preflight.artwork.read_artwork import ReadPage, read_artwork
from preflight.errors import NotMeasured, RendererStopped
from tests.drawn import MM, Drawing

pytestmark = pytest.mark.skipif(not can_fork(), reason="this system has one core, or does not fork")


PRESS = Path(__file__).parents[1] / "sample_jobs" / "presses" / "six-units.yaml"


def heavy(*, broken_picture: bool = False) -> Drawing:
    """Four process plates and a spot that overprints, with enough content for two processes."""
    page = Drawing(100, 80).fill((0.2, 0.4, 0.6, 0.1), rect=(5, 5, 95, 75))
    for number in range(3000):
        x, y = 5 + number % 80, 5 + number // 80
        page.fill((number % 7 / 7, 0, number % 3 / 3, 0.2), rect=(x, y, x + 0.6, y + 0.6))
    page.gs(OP=True, op=True, OPM=1).fill("Fern", 0.7, rect=(20, 20, 60, 60))
    if broken_picture:
        page.resources.XObject.Broken = page.pdf.make_stream(
            b"no picture", Type=Name.XObject, Subtype=Name.Image, Width=9, Height=9, BitsPerComponent=8,
            ColorSpace=Name.DeviceCMYK, Filter=Name.JPXDecode,
        )  # fmt: skip
        page.raw("q 50 0 0 50 20 20 cm /Broken Do Q")
    return page


def read(drawing: Drawing, folder: Path) -> ReadPage:
    page = read_artwork(drawing.save(folder / "art.pdf")).pages[0]
    assert isinstance(page, ReadPage)
    return page


def ended(process: int, within_s: float = 5.0) -> bool:
    until = time.monotonic() + within_s
    while time.monotonic() < until:
        try:
            os.kill(process, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.01)
    return False


def sibling_of(page: ReadPage) -> Sibling | None:
    (halves,) = page.separator._derived._kept.values()
    return halves.there


def alone(folder: Path, monkeypatch: pytest.MonkeyPatch) -> ReadPage:
    monkeypatch.setattr(derived_documents, "can_fork", lambda: False)
    return read(heavy(), folder)


def test_two_processes_draw_what_one_draws(tmp_path, monkeypatch):
    together = read(heavy(), tmp_path)
    ours = together.plates(100)
    assert sibling_of(together) is not None
    page = alone(tmp_path, monkeypatch)
    usual = page.plates(100)
    assert sibling_of(page) is None
    assert ours.names == usual.names
    assert np.array_equal(ours.ink, usual.ink)
    window = (30.0, 30.0, 50.0, 45.0)
    assert np.array_equal(together.window(window, 300).ink, page.window(window, 300).ink)


def test_where_there_is_no_room_for_another_process_one_draws_all(tmp_path, monkeypatch):
    def no_room() -> int:
        raise BlockingIOError(11, "Resource temporarily unavailable")

    monkeypatch.setattr(os, "fork", no_room)
    page = read(heavy(), tmp_path)
    plates = page.plates(100)
    assert sibling_of(page) is None
    monkeypatch.undo()
    assert np.array_equal(plates.ink, alone(tmp_path, monkeypatch).plates(100).ink)


def test_a_process_that_was_killed_is_no_plate(tmp_path):
    page = read(heavy(), tmp_path)
    page.plates(100)
    sibling = sibling_of(page)
    assert sibling is not None
    os.kill(sibling._process, signal.SIGKILL)
    with pytest.raises(NotMeasured, match="the renderer stopped"):
        page.window((30.0, 30.0, 50.0, 45.0), 100)


def test_what_cannot_be_written_is_said(tmp_path):
    (place,) = read(heavy(broken_picture=True), tmp_path).plates(100).uncertain
    assert "cannot be decoded" in place.because
    assert place.box_mm == pytest.approx([value / MM for value in (20, 20, 70, 70)], abs=0.1)


def test_it_ends_when_it_is_let_go_of(tmp_path):
    page = read(heavy(), tmp_path)
    page.plates(100)
    sibling = sibling_of(page)
    assert sibling is not None
    process = sibling._process
    page.separator.close()
    assert ended(process)


def test_an_answer_to_an_earlier_question_is_never_taken_for_this_one(tmp_path, monkeypatch):
    """A look that breaks off leaves its questions unanswered; the next look must not read their answers."""
    page = read(heavy(), tmp_path)
    wanted = page.window((60.0, 40.0, 80.0, 55.0), 300).ink
    (halves,) = page.separator._derived._kept.values()
    with monkeypatch.context() as patched:

        def no_memory(*_: object, **__: object) -> None:
            raise MemoryError

        patched.setattr(halves.here, "render", no_memory)
        with pytest.raises(MemoryError):
            page.window((5.0, 5.0, 30.0, 20.0), 300)
    assert np.array_equal(page.window((60.0, 40.0, 80.0, 55.0), 300).ink, wanted)


def test_no_process_is_left_when_a_check_is_done(tmp_path):
    heavy().save(tmp_path / "art.pdf")
    started: list[int] = []
    fork = os.fork

    def counted() -> int:
        process = fork()
        started.append(process)
        return process

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(os, "fork", counted)
        report = check(tmp_path / "art.pdf", press=PRESS)
    report.save(tmp_path / "report.html")
    assert started
    assert all(ended(process) for process in started)


def small(*contents: str) -> Derived:
    """A derived document of pages of 40 x 30 points."""
    out = pikepdf.new()
    for words in contents:
        out.add_blank_page(page_size=(40, 30)).obj.Contents = out.make_stream(words.encode())
    target = io.BytesIO()
    out.save(target)
    return Derived(target, [], [UncertainPlace("lost", (1, 2, 3, 4), ("Cyan",))], opaque=False, keeps=True)


def test_what_is_asked_is_answered_with_its_channels_and_what_is_missing():
    pages = "0.2 0.4 0.8 rg 0 10 20 20 re f", "0 0 0 rg 20 0 20 30 re f"
    sibling = Sibling(lambda: small(*pages))
    here = small(*pages).opened()
    asked = [(1, (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), 40, 30), (0, (0.5, 0.0, 0.0, 0.5, 0.0, 0.0), 20, 15)]
    questions = [sibling.ask(*each) for each in asked]
    sharp = sibling.ask(0, (1.0, 0.5, 0.0, 1.0, 0.0, 0.0), 40, 30, sharp=True)
    assert questions[0] != questions[1]
    for question, each in zip(questions, asked, strict=True):
        drawn, uncertain = sibling.answer(question)
        assert np.array_equal(drawn, here.render(*each))
        assert uncertain == [UncertainPlace("lost", (1, 2, 3, 4), ("Cyan",))]
    drawn, _ = sibling.answer(sharp)
    assert np.array_equal(drawn, here.render(0, (1, 0.5, 0, 1, 0, 0), 40, 30, sharp=True))
    process = sibling._process
    sibling.close()
    sibling.close()  # once more does no harm
    assert ended(process)


def test_one_that_breaks_down_gives_no_answer():
    def broken() -> Derived:
        raise ValueError("it cannot be written")

    sibling = Sibling(broken)
    with pytest.raises(RendererStopped):
        sibling.answer(sibling.ask(0, (1, 0, 0, 1, 0, 0), 40, 30))
    sibling.close()


@pytest.mark.parametrize(("cores", "expected"), [(1, False), (2, True), (None, False)])
def test_a_second_process_wants_a_second_core(monkeypatch, cores, expected):
    monkeypatch.setattr(os, "cpu_count", lambda: cores)
    assert can_fork() == expected


def test_the_second_process_never_goes_on_with_what_the_first_one_does(monkeypatch):
    """Whatever goes wrong in it, it ends there."""

    class Ended(BaseException):
        pass

    def end(status: int) -> None:
        raise Ended

    def broken() -> Derived:
        raise ValueError("it cannot be written")

    monkeypatch.setattr(os, "_exit", end)
    monkeypatch.setattr(signal, "signal", lambda *given: None)
    with pytest.raises(Ended):
        second_process._serve(broken, -1, -1)

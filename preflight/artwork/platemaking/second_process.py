"""A second process that renders, because PDFium uses one core: half of a page's renderings are written and drawn in it.

It is a fork, so it has at once what was read of the page, and nothing has to be handed over but what is asked for.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import struct
import threading
import warnings
from collections.abc import Callable
from dataclasses import asdict
from functools import partial
from typing import BinaryIO, NamedTuple

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.page.geometry import Matrix
from preflight.artwork.page.uncertain_places import UncertainPlace, places_from
from preflight.artwork.platemaking.composed_groups import Step
from preflight.artwork.platemaking.pdfium import DerivedDocument
from preflight.errors import RendererStopped
from preflight.interruption import begin, done, in_one_go

_LENGTH = struct.Struct("<q")


class Derived(NamedTuple):
    """A derived PDF as an open file, the steps of each of its renderings, and where something is missing in it."""

    pdf: BinaryIO
    drawings: list[tuple[Step, ...]]
    uncertain: list[UncertainPlace]
    opaque: bool
    """Whether nothing of the page is faint, blended or masked."""
    keeps: bool
    """Whether its pages are worth keeping once they are drawn."""

    def opened(self) -> DerivedDocument:
        """Ready to be drawn."""
        return DerivedDocument(self.pdf, self.drawings, opaque=self.opaque, keeps=self.keeps)


def can_fork() -> bool:
    """Whether a second process would find a core free and can be had by forking."""
    return hasattr(os, "fork") and (os.cpu_count() or 1) > 1


class Sibling:
    """A derived document that a second process makes and draws; ``ask`` does not wait, ``answer`` does."""

    def __init__(self, derive: Callable[[], Derived]) -> None:
        """``derive`` is called in the other process only.

        Raises:
            OSError: the system has no room for another process.
        """
        requests, ask = os.pipe()
        answers, tell = os.pipe()
        with warnings.catch_warnings():
            # The threads that Python warns of are those of numpy's linear algebra, which expects to be forked.
            warnings.simplefilter("ignore", DeprecationWarning)
            try:
                with in_one_go():
                    self._process = os.fork()
                    if self._process:
                        self._begun = begin(partial(os.kill, self._process, signal.SIGKILL))
            except OSError:
                for end in (requests, ask, answers, tell):
                    os.close(end)
                raise
        if not self._process:
            os.close(ask)
            os.close(answers)
            _serve(derive, requests, tell)
        os.close(requests)
        os.close(tell)
        self._ask, self._answers = os.fdopen(ask, "wb"), os.fdopen(answers, "rb")
        self._asked = 0

    def ask(self, number: int, matrix: Matrix, width: int, height: int, *, sharp: bool = False) -> int:
        """Request a page; returns the number of the question, which its answer carries."""
        self._asked += 1
        try:
            self._ask.write(json.dumps([self._asked, number, matrix, width, height, sharp]).encode() + b"\n")
            self._ask.flush()
        except BrokenPipeError as gone:
            raise RendererStopped("the renderer stopped before it had drawn the plates") from gone
        return self._asked

    def answer(self, question: int) -> tuple[NDArray[np.uint8], list[UncertainPlace]]:
        """The rendering that a question asked for, (height, width, 3), and where something is missing in it.

        Answers to earlier questions that nobody fetched, because drawing broke off in between, are thrown away.

        Raises:
            RendererStopped: the process has died.
        """
        while True:
            head = json.loads(self._read(_LENGTH.unpack(self._read(_LENGTH.size))[0]))
            drawn = self._read(head["width"] * head["height"] * 3)
            if head["question"] == question:
                shape = (head["height"], head["width"], 3)
                return np.frombuffer(drawn, np.uint8).reshape(shape)[:, :, ::-1], places_from(head["uncertain"])

    def _read(self, length: int) -> bytes:
        data = self._answers.read(length)
        if len(data) < length:
            raise RendererStopped("the renderer stopped while it was drawing the plates")
        return data

    def close(self) -> None:
        """End the process."""
        if self._process:
            for pipe in (self._ask, self._answers):
                with contextlib.suppress(BrokenPipeError):
                    pipe.close()
            os.kill(self._process, signal.SIGKILL)
            process, self._process = self._process, 0
            done(self._begun)
            try:
                # The system takes a while to clear up a large process, and nobody has to wait for that.
                threading.Thread(target=_buried, args=(process,), daemon=True).start()
            except RuntimeError:  # the interpreter is ending, and begins no more threads
                _buried(process)

    def __del__(self) -> None:
        if getattr(self, "_process", 0):
            self.close()


def _buried(process: int) -> None:
    with contextlib.suppress(ChildProcessError):
        os.waitpid(process, 0)


def _serve(derive: Callable[[], Derived], requests: int, tell: int) -> None:
    """The other process's whole life; whatever goes wrong in it shows as an answer that never comes."""
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # it ends when nobody asks any more
        derived = derive()
        document, said = derived.opened(), [asdict(place) for place in derived.uncertain]
        with os.fdopen(requests, "rb") as asked, os.fdopen(tell, "wb") as told:
            for line in asked:
                question, number, matrix, width, height, sharp = json.loads(line)
                drawn = document.render(number, tuple(matrix), width, height, sharp=sharp)
                _tell(told, {"question": question, "width": width, "height": height, "uncertain": said})
                told.write(np.ascontiguousarray(drawn[:, :, ::-1]).data)  # as it lies in memory
                told.flush()
    finally:
        os._exit(0)


def _tell(told: BinaryIO, head: dict[str, object]) -> None:
    said = json.dumps(head).encode()
    told.write(_LENGTH.pack(len(said)) + said)

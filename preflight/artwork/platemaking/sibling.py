"""A second process that renders, because PDFium uses one core: half of a page's renderings are written and drawn in it.

It is a fork, so it has at once what was read of the page, and nothing has to be handed over but what is asked for.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import struct
import warnings
from collections.abc import Callable
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.matrices import Matrix
from preflight.artwork.platemaking.render import DerivedDocument
from preflight.errors import NotMeasured

_LENGTH = struct.Struct("<q")


def can_fork() -> bool:
    """Whether a second process would find a core free and can be had by forking."""
    return hasattr(os, "fork") and (os.cpu_count() or 1) > 1


class Sibling:
    """A derived document that a second process makes and draws; ``ask`` does not wait, ``answer`` does."""

    def __init__(self, derive: Callable[[], tuple[bytes, list[str]]]) -> None:
        """``derive`` is called in the other process only: the derived PDF, and what could not be written in it.

        Raises:
            OSError: the system has no room for another process.
        """
        requests, ask = os.pipe()
        answers, tell = os.pipe()
        with warnings.catch_warnings():
            # The threads that Python warns of are those of numpy's linear algebra, which expects to be forked.
            warnings.simplefilter("ignore", DeprecationWarning)
            try:
                self._process = os.fork()
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
        self._sizes: list[tuple[int, int]] = []

    def ask(self, number: int, matrix: Matrix, width: int, height: int, *, sharp: bool = False) -> None:
        """Request a page; the answers come in the order of the requests."""
        self._sizes.append((width, height))
        try:
            self._ask.write(json.dumps([number, matrix, width, height, sharp]).encode() + b"\n")
            self._ask.flush()
        except BrokenPipeError as gone:
            raise NotMeasured("the renderer stopped before it had drawn the plates") from gone

    def answer(self) -> NDArray[np.uint8]:
        """The next rendering, (height, width, 3).

        Raises:
            NotMeasured: the process has died, or something could not be written in the derived PDF.
        """
        width, height = self._sizes.pop(0)
        faults = json.loads(self._read(_LENGTH.unpack(self._read(_LENGTH.size))[0]))
        if faults:
            raise NotMeasured("; ".join(faults))
        return np.frombuffer(self._read(width * height * 3), np.uint8).reshape(height, width, 3)

    def _read(self, length: int) -> bytes:
        data = self._answers.read(length)
        if len(data) < length:
            raise NotMeasured("the renderer stopped while it was drawing the plates")
        return data

    def close(self) -> None:
        """End the process."""
        if self._process:
            for pipe in (self._ask, self._answers):
                with contextlib.suppress(BrokenPipeError):
                    pipe.close()
            os.kill(self._process, signal.SIGKILL)
            os.waitpid(self._process, 0)
            self._process = 0

    def __del__(self) -> None:
        if getattr(self, "_process", 0):
            self.close()


def _serve(derive: Callable[[], tuple[bytes, list[str]]], requests: int, tell: int) -> None:
    """The other process's whole life; whatever goes wrong in it shows as an answer that never comes."""
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # it ends when nobody asks any more
        derived, faults = derive()
        document = DerivedDocument(derived) if not faults else None
        with os.fdopen(requests, "rb") as asked, os.fdopen(tell, "wb") as told:
            for line in asked:
                number, matrix, width, height, sharp = json.loads(line)
                _tell(told, faults)
                if document is not None:
                    drawn = document.render(number, tuple(matrix), width, height, sharp=sharp)
                    told.write(np.ascontiguousarray(drawn).data)
                told.flush()
    finally:
        os._exit(0)


def _tell(told: BinaryIO, faults: list[str]) -> None:
    said = json.dumps(faults).encode()
    told.write(_LENGTH.pack(len(said)) + said)

"""A second process that renders, because PDFium uses one core: half of the plates of a heavy page are drawn in it.

The worker reads the file name of a derived PDF and then requests from its standard input, a line of JSON each, and
answers each with the raw bytes of the rendering. It lives as long as its input is open.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from preflight.artwork.matrices import Matrix
from preflight.artwork.platemaking.render import DerivedDocument
from preflight.errors import NotMeasured


class RemoteDocument:
    """A derived PDF, open in a worker; ``ask`` does not wait, ``answer`` does."""

    def __init__(self, derived: bytes) -> None:
        with tempfile.NamedTemporaryFile(prefix="preflight-", suffix=".pdf", delete=False) as file:
            file.write(derived)
        self._path = Path(file.name)
        self._process = subprocess.Popen(
            [sys.executable, "-m", "preflight.artwork.platemaking.render_worker"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        self._send(str(self._path))
        self._sizes: list[tuple[int, int]] = []

    def ask(self, number: int, matrix: Matrix, width: int, height: int) -> None:
        """Request a page; the answers come in the order of the requests."""
        self._sizes.append((width, height))
        self._send([number, matrix, width, height])

    def answer(self) -> NDArray[np.uint8]:
        """The next rendering, (height, width, 3). Raises NotMeasured where the worker has died."""
        width, height = self._sizes.pop(0)
        assert self._process.stdout is not None
        data = self._process.stdout.read(width * height * 3)
        if len(data) < width * height * 3:
            raise NotMeasured("the renderer stopped while it was drawing the plates")
        return np.frombuffer(data, np.uint8).reshape(height, width, 3)

    def close(self) -> None:
        """End the worker."""
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                pipe.close()
        self._process.kill()
        self._process.wait()
        self._path.unlink(missing_ok=True)

    def __del__(self) -> None:
        if hasattr(self, "_process") and self._process.returncode is None:
            self.close()

    def _send(self, message: object) -> None:
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(json.dumps(message).encode() + b"\n")
            self._process.stdin.flush()
        except BrokenPipeError as gone:
            raise NotMeasured("the renderer stopped before it had drawn the plates") from gone


def _serve() -> None:
    path = Path(json.loads(sys.stdin.readline()))
    document = DerivedDocument(path.read_bytes())
    path.unlink(missing_ok=True)
    for line in sys.stdin:
        number, matrix, width, height = json.loads(line)
        sys.stdout.buffer.write(np.ascontiguousarray(document.render(number, tuple(matrix), width, height)).data)
        sys.stdout.buffer.flush()


if __name__ == "__main__":
    _serve()

"""Plates kept between runs, so that changing a rule or the press does not draw them again.

One file a rendering in the user's cache folder, named by what it depends on. Files are written aside and renamed, so
two runs may share the folder; the oldest go when it grows over its bound. A file that cannot be read is no loss.
"""

from __future__ import annotations

import hashlib
import json
import os
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from functools import partial
from pathlib import Path

import numpy as np
import platformdirs
import pypdfium2
from isal import isal_zlib
from numpy.typing import NDArray

from preflight.artwork.page.plates import Plates
from preflight.artwork.page.uncertain_places import places_from
from preflight.artwork.pdf.structure.stream_decoding import BROKEN
from preflight.interruption import cleared_if_interrupted

DRAWN_AS = 19
"""To be raised whenever the same file would give other plates than before."""
MOST_BYTES = 400_000_000
LARGEST_BYTES = 120_000_000
_FORMAT = b"preflight-plates/1\n"


def cache_folder() -> Path:
    """Where plates are kept: the user's cache folder (``XDG_CACHE_HOME`` moves it)."""
    return Path(platformdirs.user_cache_dir("preflight", appauthor=False)) / "plates"


@dataclass
class PlateCache:
    """The kept plates of one page of one file."""

    folder: Path
    page_key: str
    """Stands for the file, the number of the page and the names of its plates."""
    _unchecked_bytes: int = field(default=MOST_BYTES, repr=False, compare=False)
    """Written since the folder was last held against its bound; the first time it is looked at at once."""

    def get(self, request: object) -> Plates | None:
        """Plates kept for a request; None where there are none."""
        try:
            data = self._path(request).read_bytes()
            os.utime(self._path(request))
            return _unpacked(data)
        except (OSError, ValueError, KeyError, BROKEN):
            return None

    def put(self, request: object, plates: Plates) -> None:
        """Keep plates; a full disk or a folder that cannot be written to is no fault."""
        if plates.ink.nbytes > LARGEST_BYTES:
            return
        with suppress(OSError):
            self.folder.mkdir(parents=True, exist_ok=True)
            self._unchecked_bytes += self._write(self._path(request), _packed(plates))
            if self._unchecked_bytes > MOST_BYTES // 20:
                self._unchecked_bytes = 0
                self._keep_bound()

    def _write(self, path: Path, data: bytes) -> int:
        """Write aside and rename, for nobody else to read; returns the bytes written."""
        aside = self.folder / f"new-{os.urandom(8).hex()}"
        with cleared_if_interrupted(partial(aside.unlink, missing_ok=True)):
            handle = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
            try:
                with os.fdopen(handle, "wb") as file:
                    written = file.write(data)
                aside.replace(path)
            except BaseException:
                aside.unlink(missing_ok=True)
                raise
        return written

    def _path(self, request: object) -> Path:
        whole = json.dumps([DRAWN_AS, str(pypdfium2.PDFIUM_INFO), self.page_key, repr(request)])
        return self.folder / hashlib.sha256(whole.encode()).hexdigest()

    def _keep_bound(self) -> None:
        """Let the longest unused go. Another run may do the same, so what has gone already is passed over."""
        kept = []
        for path in self.folder.iterdir():
            with suppress(OSError):
                status = path.stat()
                kept.append((status.st_mtime, status.st_size, path))
        total = sum(size for _, size, _ in kept)
        for _, size, path in sorted(kept):
            if total <= MOST_BYTES:
                break
            with suppress(OSError):
                path.unlink()
            total -= size


def page_key(sha256: str, number: int, plates: tuple[str, ...]) -> str:
    """What the plates of a page depend on besides the request."""
    return hashlib.sha256(json.dumps([sha256, number, plates]).encode()).hexdigest()


def _packed(plates: Plates) -> bytes:
    uncertain = [asdict(place) for place in plates.uncertain]
    head = json.dumps([plates.names, plates.ink.shape, plates.dpi, plates.box_mm, uncertain]).encode()
    return _FORMAT + head + b"\n" + isal_zlib.compress(np.ascontiguousarray(plates.ink).data, 1)


def _unpacked(data: bytes) -> Plates:
    if not data.startswith(_FORMAT):
        raise ValueError("no kept plates")
    head, _, packed = data[len(_FORMAT) :].partition(b"\n")
    names, shape, dpi, box, uncertain = json.loads(head)
    ink: NDArray[np.uint8] = np.frombuffer(isal_zlib.decompress(packed), np.uint8).reshape(shape)
    return Plates(tuple(names), ink, dpi, tuple(box), tuple(places_from(uncertain)))

"""Two readers of CIP3 PPF that share nothing with the writer: one here, and Ghostscript with a prologue of its own.

Both give a file as ``Sheet``: definitions by name, and the sides with their separations. The one here refuses what
does not follow the order of the blocks.
"""

from __future__ import annotations

import json
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.referees import GHOSTSCRIPT

WHITE = b" \t\r\n\f\0"
ENDS = WHITE + b"()[]<>{}/%"
BLOCKS = {"Sheet", "Front", "Back", "PreviewImage", "Separation"}


@dataclass
class Block:
    """What stands between ``CIP3Begin…`` and ``CIP3End…``: definitions, blocks in it, and the samples of a picture."""

    name: str
    told: dict[str, Any] = field(default_factory=dict)
    inside: list[Block] = field(default_factory=list)
    comments: list[str] = field(default_factory=list)
    samples: NDArray[np.uint8] | None = None
    """(height, width), rows as they stand in the file."""

    def the(self, name: str) -> Block:
        """The one block of a name in this."""
        (found,) = [block for block in self.inside if block.name == name]
        return found

    @property
    def separations(self) -> dict[str, Block]:
        """Of a side, in their order: names are paired with pictures, as the format has it."""
        names = self.told["CIP3AdmSeparationNames"]
        pictures = self.the("PreviewImage").inside
        assert len(names) == len(pictures)
        return dict(zip(names, pictures, strict=True))


def ink(picture: Block) -> NDArray[np.float64]:
    """Tints 0..1 of a preview, (height, width), by its matrix: row 0 at the bottom, column 0 at the left."""
    width, height = picture.told["CIP3PreviewImageWidth"], picture.told["CIP3PreviewImageHeight"]
    a, b, c, d, e, f = picture.told["CIP3PreviewImageMatrix"]
    assert picture.samples is not None
    assert picture.samples.shape == (height, width)
    assert (b, c) == (0, 0)
    assert (abs(a), abs(d)) == (width, height)
    assert (e, f) == (0 if a > 0 else width, 0 if d > 0 else height)
    rows = picture.samples[:: 1 if d > 0 else -1, :: 1 if a > 0 else -1]
    return (255 - rows) / 255


def band_means(tints: NDArray[np.float64], edges_mm: Sequence[float], length_mm: float, dpi: float) -> list[float]:
    """Means between places across, over a length; pixels on a border count by their share, what is off is bare."""
    px = 25.4 / dpi
    columns = tints.sum(0) * px / length_mm
    upto = np.concatenate([[0.0], np.cumsum(columns)]) * px
    at = np.interp(edges_mm, np.arange(len(upto)) * px, upto)
    return list(np.diff(at) / np.diff(edges_mm))


# The reader here ---------------------------------------------------------------------------------------------------


def read_ppf(data: bytes) -> Block:
    """The sheet of a file."""
    assert data.startswith(b"%!PS-Adobe-3.0\n%%CIP3-File Version 3.0\n")
    assert data.endswith(b"%%CIP3EndOfFile\n")
    assert max(data) < 127, "a file is plain letters"
    return _Reader(data).sheet()


class _Reader:
    def __init__(self, data: bytes) -> None:
        self.data, self.at = data, 0
        self.open: list[Block] = [Block("File")]
        self.stack: list[Any] = []

    def sheet(self) -> Block:
        while (word := self.token()) is not None:
            if isinstance(word, _Word):
                self.run(str(word))
            else:
                self.stack.append(word)
        assert len(self.open) == 1, f"{self.open[-1].name} is not ended"
        assert not self.stack
        (sheet,) = self.open[0].inside
        return sheet

    def run(self, word: str) -> None:
        here = self.open[-1]
        if word == "def":
            value, name = self.stack.pop(), self.stack.pop()
            assert isinstance(name, _Name)
            assert str(name) not in here.told
            here.told[str(name)] = value
        elif word == "CIP3Comment":
            here.comments.append(self.stack.pop())
        elif word == "CIP3PreviewImage":
            here.samples = self.samples(here.told)
        elif word.startswith("CIP3Begin"):
            block = Block(word.removeprefix("CIP3Begin"))
            assert block.name in BLOCKS
            here.inside.append(block)
            self.open.append(block)
        else:
            assert word == f"CIP3End{here.name}", word
            self.open.pop()

    def samples(self, told: dict[str, Any]) -> NDArray[np.uint8]:
        assert told["CIP3PreviewImageEncoding"] == "ASCIIHexDecode"
        assert told["CIP3PreviewImageBitsPerComp"] == 8
        assert told["CIP3PreviewImageComponents"] == 1
        end = self.data.index(b">", self.at)
        packed = bytes.fromhex(self.data[self.at : end].decode())
        self.at = end + 1
        assert told["CIP3PreviewImageCompression"] == "RunLengthDecode"
        return np.frombuffer(_unpacked(packed), np.uint8).reshape(
            told["CIP3PreviewImageHeight"], told["CIP3PreviewImageWidth"]
        )

    def token(self) -> Any:
        data = self.data
        while self.at < len(data) and (data[self.at] in WHITE or data[self.at : self.at + 1] == b"%"):
            self.at = data.index(b"\n", self.at) + 1 if data[self.at : self.at + 1] == b"%" else self.at + 1
        if self.at >= len(data):
            return None
        first = data[self.at : self.at + 1]
        if first == b"(":
            return self.string()
        if first == b"[":
            self.at += 1
            found = []
            while not isinstance(each := self.token(), _End):
                assert each is not None
                found.append(each)
            return found
        if first == b"]":
            self.at += 1
            return _End()
        start = self.at
        self.at += 1
        while self.at < len(data) and data[self.at] not in ENDS:
            self.at += 1
        word = data[start : self.at].decode()
        if word.startswith("/"):
            return _Name(word[1:])
        try:
            return float(word) if "." in word else int(word)
        except ValueError:
            return _Word(word)

    def string(self) -> str:
        depth, found = 0, bytearray()
        while True:
            letter = self.data[self.at : self.at + 1]
            self.at += 1
            if letter == b"\\":
                following = self.data[self.at : self.at + 3]
                if following.isdigit():
                    found.append(int(following, 8))
                    self.at += 3
                else:
                    assert following[:1] in (b"(", b")", b"\\")
                    found += following[:1]
                    self.at += 1
                continue
            depth += (letter == b"(") - (letter == b")")
            if not depth:
                return found.decode("utf-8")
            if letter != b"(" or depth > 1:
                found += letter


class _Name(str):
    __slots__ = ()


class _Word(str):
    __slots__ = ()


class _End:
    pass


def _unpacked(packed: bytes) -> bytes:
    found, at = bytearray(), 0
    while packed[at] != 128:
        length = packed[at]
        if length < 128:
            found += packed[at + 1 : at + length + 2]
            at += length + 2
        else:
            found += packed[at + 1 : at + 2] * (257 - length)
            at += 2
    assert at == len(packed) - 1
    return bytes(found)


# Ghostscript -------------------------------------------------------------------------------------------------------

PROLOGUE = r"""
/out (%stdout) (w) file def
/say {out exch writestring} bind def
/hexed {(") say out exch writehexstring (") say} bind def
/tell {
  dup type /stringtype eq {hexed}
  {dup type /arraytype eq {([) say {tell (,) say} forall (null]) say}
  {dup type /nametype eq {(\"/) say 100 string cvs say (\") say} {100 string cvs say} ifelse} ifelse} ifelse
} bind def
/begins {(["begin",) say tell (]\n) say 40 dict begin} bind def
/ends {
  currentdict {(["told",) say exch tell (,) say tell (]\n) say} forall
  (["end",) say tell (]\n) say end
} bind def
/CIP3BeginSheet {/Sheet begins} def /CIP3EndSheet {/Sheet ends} def
/CIP3BeginFront {/Front begins} def /CIP3EndFront {/Front ends} def
/CIP3BeginBack {/Back begins} def /CIP3EndBack {/Back ends} def
/CIP3BeginPreviewImage {/PreviewImage begins} def /CIP3EndPreviewImage {/PreviewImage ends} def
/CIP3BeginSeparation {/Separation begins} def /CIP3EndSeparation {/Separation ends} def
/CIP3Comment {(["comment",) say tell (]\n) say} def
/CIP3PreviewImage {
  currentfile CIP3PreviewImageEncoding filter /outer exch store
  CIP3PreviewImageCompression /None eq {outer} {outer CIP3PreviewImageCompression filter} ifelse /inner exch store
  CIP3PreviewImageWidth string /line exch store
  (["samples",") say
  CIP3PreviewImageHeight {inner line readstring not {(short) say} if out exch writehexstring} repeat
  (",) say inner read {pop (true)} {(false)} ifelse say (]\n) say
  outer flushfile
} def
/outer null def /inner null def /line null def
"""


def ghostscript_reads(data: bytes, folder: Path) -> Block:
    """The sheet of a file as Ghostscript's PostScript interpreter gets it."""
    assert GHOSTSCRIPT is not None
    prologue, file = folder / "prologue.ps", folder / "read.ppf"
    prologue.write_text(PROLOGUE)
    file.write_bytes(data)
    command = [GHOSTSCRIPT, "-q", "-dNODISPLAY", "-dBATCH", "-dNOPAUSE", str(prologue), str(file)]
    done = subprocess.run(command, check=True, capture_output=True, timeout=60)
    assert done.stderr == b""
    open_: list[Block] = [Block("File")]
    for line in done.stdout.decode().splitlines():
        what, *rest = json.loads(line)
        here = open_[-1]
        if what == "begin":
            open_.append(Block(_value(rest[0])))
            here.inside.append(open_[-1])
        elif what == "told":
            here.told[_value(rest[0])] = _value(rest[1])
        elif what == "comment":
            here.comments.append(_value(rest[0]))
        elif what == "samples":
            shape = (-1, 1)
            assert rest[1] is False, "more samples than the picture has"
            here.samples = np.frombuffer(bytes.fromhex(rest[0]), np.uint8).reshape(shape)
        else:
            assert _value(rest[0]) == here.name
            if here.samples is not None:
                size = here.told["CIP3PreviewImageHeight"], here.told["CIP3PreviewImageWidth"]
                here.samples = here.samples.reshape(size)
            open_.pop()
    (sheet,) = open_[0].inside
    return sheet


def _value(told: Any) -> Any:
    if isinstance(told, list):
        return [_value(each) for each in told[:-1]]
    if isinstance(told, str):
        return told[1:] if told.startswith("/") else bytes.fromhex(told).decode("utf-8")
    return told

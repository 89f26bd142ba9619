"""CIP3 PPF 3.0: the sheet with a small picture of every plate, which a press console works its presets out of.

CIP3 Print Production Format, version 3.0 of June 1998. A file is PostScript: names that a reader defines, and data
between them. Only keys whose spelling is sure are written. Board, plate and register marks have keys of their own too,
but those could not be confirmed, so they stand in comments (``(…) CIP3Comment``) for people.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import BytesIO
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from preflight.quantities import Size
from preflight.setup.press_files.figures import in_points, plain
from preflight.setup.press_files.press_job import (
    OVERALL,
    PREVIEW_DPI,
    SHEET_NAME,
    PressJob,
    Side,
    UnitPlate,
    how_it_lies,
)

BARE: Final = 255
"""Of a sample: no ink; 0 is solid."""
GRAIN: Final = {"across": "grain across the press", "along": "grain along the travel"}
_HEX_LINE: Final = 240
_STRIP_OFFSETS, _STRIP_BYTES = 273, 279
"""Tags of a TIFF file: where its rows lie, and how many bytes they have (TIFF 6.0, section 8)."""
_SPECIAL: Final = re.compile(rb"[()\\]|[^ -~]")


def write_ppf(job: PressJob) -> bytes:
    """The file. Plates that no picture shows are named in a comment and left out.

    Samples stand row by row from the gripper edge, each row from the operator side, in run lengths as hexadecimal
    figures; 255 is bare. Lengths are points of 1/72 in.
    """
    return b"".join(line + b"\n" for line in _lines(job))


def _lines(job: PressJob) -> Iterator[bytes]:
    yield b"%!PS-Adobe-3.0"
    yield b"%%CIP3-File Version 3.0"
    yield b"CIP3BeginSheet"
    yield from _administration(job)
    for side in job.sides:
        shown = [plate for plate in job.plates_of(side) if plate.preview is not None]
        if shown:
            yield from _side(side, shown, job.stock.size)
    yield b"CIP3EndSheet"
    yield b"%%CIP3EndOfFile"


def _administration(job: PressJob) -> Iterator[bytes]:
    origin, extent = job.origin, _pair(*in_points(job.stock.size))
    if origin.title or origin.ticket:
        yield _defined("AdmJobName", _string(origin.title or origin.ticket or ""))
    if origin.ticket:
        yield _defined("AdmJobCode", _string(origin.ticket))
    yield _defined("AdmSoftware", _string(origin.tool))
    yield _defined("AdmCreationTime", _string(origin.when.isoformat(timespec="seconds")))
    yield _defined("AdmSheetName", _string(SHEET_NAME))
    yield _defined("AdmPSExtent", extent)
    yield _defined("AdmPaperExtent", extent)
    if len(job.sides) > 1:
        yield _defined("AdmWorkStyle", b"/Perfecting")
    for said in _comments(job):
        yield _string(said) + b" CIP3Comment"


def _comments(job: PressJob) -> Iterator[str]:
    origin, stock, plate = job.origin, job.stock, job.plate
    yield f"Ticket {origin.ticket or 'not named'}, revision {origin.revision or 'not named'}"
    for file, digest in origin.artworks:
        yield f"Artwork {file}, SHA-256 {digest}"
    yield f"Rules {origin.rules_version}"
    yield "A proposal, to be accepted by the press crew. Names are in UTF-8."
    yield how_it_lies(job)
    yield from job.missing
    yield "Tints as in the artwork: no curve of plate or press is in them."
    told = [stock.grade, stock.weight_gsm and f"{plain(stock.weight_gsm)} g/m2"]
    told += [stock.caliper_mm and f"{plain(stock.caliper_mm)} mm", stock.grain and GRAIN[stock.grain]]
    if any(told):
        yield "Board: " + ", ".join(str(part) for part in told if part)
    if plate.size:
        yield f"Plate: {plain(plate.size.across_mm)} x {plain(plate.size.along_mm)} mm"
    if plate.sheet_starts_mm is not None:
        yield f"Sheet starts {plain(plate.sheet_starts_mm)} mm from the leading edge of the plate, in its middle across"
    for mark in job.marks:
        if mark.kind == "register":
            x, y = mark.middle_mm
            yield f"Register mark at {plain(x)} mm from the operator side, {plain(y)} mm from the gripper edge"
    for each in job.plates:
        if each.preview is None:
            yield f"Unit {each.unit} prints {each.name}, which no plate of the artwork shows: no picture of it"


def _side(side: Side, plates: list[UnitPlate], size: Size) -> Iterator[bytes]:
    face = side.capitalize().encode()
    yield b"CIP3Begin" + face
    yield _defined("AdmSeparationNames", b"[" + b" ".join(_string(plate.name) for plate in plates) + b"]")
    labs = [plate.lab for plate in plates if plate.lab is not None]
    if len(labs) == len(plates):  # one triple a separation: a gap cannot be written
        yield _defined("AdmInkColors", b"[" + b" ".join(_numbers(*lab) for lab in labs) + b"]")
    yield b"CIP3BeginPreviewImage"
    for plate in plates:
        assert plate.preview is not None
        yield b"CIP3BeginSeparation"
        yield _string(f'Separation preview for ink: "{plate.name}"') + b" CIP3Comment"
        if plate.overall:
            yield _string(OVERALL) + b" CIP3Comment"
        yield from _picture(plate.preview)
        yield b"CIP3EndSeparation"
    yield b"CIP3EndPreviewImage"
    yield b"CIP3End" + face


def _picture(preview: NDArray[np.uint8]) -> Iterator[bytes]:
    height, width = preview.shape
    yield _defined("PreviewImageWidth", b"%d" % width)
    yield _defined("PreviewImageHeight", b"%d" % height)
    yield _defined("PreviewImageBitsPerComp", b"8")
    yield _defined("PreviewImageComponents", b"1")
    yield _defined("PreviewImageMatrix", _numbers(width, 0, 0, height, 0, 0))
    yield _defined("PreviewImageResolution", _pair(PREVIEW_DPI, PREVIEW_DPI))
    yield _defined("PreviewImageEncoding", b"/ASCIIHexDecode")
    yield _defined("PreviewImageCompression", b"/RunLengthDecode")
    yield b"CIP3PreviewImage"
    figures = run_lengths(BARE - preview).hex().upper() + ">"
    for at in range(0, len(figures), _HEX_LINE):
        yield figures[at : at + _HEX_LINE].encode()


def run_lengths(samples: NDArray[np.uint8]) -> bytes:
    """Samples (height, width) in the run lengths of PostScript's RunLengthDecode, its end marked by 128.

    TIFF's PackBits are the same bytes (TIFF 6.0, section 9; PostScript Language Reference, 3.13.3).
    """
    file = BytesIO()
    Image.fromarray(np.ascontiguousarray(samples)).save(file, "TIFF", compression="packbits")
    data = file.getvalue()
    with Image.open(file) as written:
        tags = written.tag_v2  # type: ignore[attr-defined]  # of a TIFF
        strips = list(zip(tags[_STRIP_OFFSETS], tags[_STRIP_BYTES], strict=True))
    return b"".join(data[at : at + length] for at, length in strips) + b"\x80"


def _defined(key: str, value: bytes) -> bytes:
    return b"/CIP3" + key.encode() + b" " + value + b" def"


def _pair(first: float, second: float) -> bytes:
    return _numbers(first, second)


def _numbers(*values: float) -> bytes:
    return b"[" + " ".join(plain(value) for value in values).encode() + b"]"


def _string(text: str) -> bytes:
    """A PostScript string: parentheses and backslashes escaped, what is no plain letter as three octal figures."""

    def escaped(match: re.Match[bytes]) -> bytes:
        found = match[0]
        return b"\\" + found if found in b"()\\" else b"\\%03o" % found[0]

    return b"(" + _SPECIAL.sub(escaped, text.encode("utf-8", "replace")) + b")"

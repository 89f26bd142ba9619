"""Referees outside the project: Ghostscript and MuPDF for plates, pdfinfo for page sizes, pypdf for separation names.

Each has a mark that skips a test, and says so, where the referee is not installed; where ``CI=true`` such a test fails
(``conftest.py``). ``CORPUS`` is a folder of outside PDFs beside the checkout, or where the variable of that name says;
without it one of the tests marked ``corpus`` is skipped for all of them. ``XJDF_XSD`` is the published schema
of XJDF 2.1 in the same way, with tests marked ``xjdf_schema``: it has a licence of its own and is no part of this.
"""

from __future__ import annotations

import os
import re
import shutil
import struct
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from functools import reduce
from pathlib import Path
from typing import Any
from urllib.parse import unquote_to_bytes

import numpy as np
import pikepdf
import pypdf
import pytest
from numpy.typing import NDArray
from PIL import Image
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, NameObject, StreamObject

GHOSTSCRIPT, MUTOOL, PDFINFO = shutil.which("gs"), shutil.which("mutool"), shutil.which("pdfinfo")
needs_ghostscript = pytest.mark.skipif(GHOSTSCRIPT is None, reason="no referee for plates: gs is not installed")
needs_mupdf = pytest.mark.skipif(MUTOOL is None, reason="no second referee for plates: mutool is not installed")
needs_pdfinfo = pytest.mark.skipif(PDFINFO is None, reason="no referee for page sizes: pdfinfo is not installed")

CORPUS = Path(os.environ.get("CORPUS") or Path(__file__).parents[2] / "shared" / "corpus")
needs_corpus = pytest.mark.corpus
XJDF_XSD = Path(os.environ.get("XJDF_XSD") or Path(__file__).parents[2] / "shared" / "schemas" / "xjdf-2.1.xsd")
needs_xjdf_schema = pytest.mark.xjdf_schema

OUTSIDE = {
    "corpus": (CORPUS / "INDEX.tsv", "the outside PDFs are not here"),
    "xjdf_schema": (XJDF_XSD, "the published schema of XJDF 2.1 is not here"),
}
"""By mark: a file that has to be there, and what is said where it is not."""

Tints = dict[str, NDArray[np.float32]]

# Ghostscript paints every pixel that a shape touches, 0.02 mm too much on each side at 600 dpi. With this it paints
# those whose centre lies inside, and coverage is true; where a version lacks the operator, only resolution helps.
_TRUE_COVERAGE = "systemdict /.setfilladjust2 known {0 0 .setfilladjust2} if"
_PLATE_NAME = re.compile(r"\((.*)\)\.tif$", re.DOTALL)


def ghostscript_plates(pdf: Path, folder: Path, *, dpi: int = 100, finer: int = 6, page: int = 1) -> Tints:
    """Plates of a page by Ghostscript's ``tiffsep``: separation to tints 0..1, (height, width) at ``dpi``.

    Rendered ``finer`` times finer and averaged. Names are Ghostscript's: process plates first, spots decoded from
    its file names.
    """
    assert GHOSTSCRIPT is not None
    folder.mkdir(parents=True, exist_ok=True)
    command = [
        *(GHOSTSCRIPT, "-q", "-dNOPAUSE", "-dBATCH", "-dDELAYBIND", "-dPrinted=true", "-sDEVICE=tiffsep"),
        *("-sCompression=lzw", f"-r{dpi * finer}", f"-dFirstPage={page}", f"-dLastPage={page}"),
        *(f"-sOutputFile={folder / 'plate.tif'}", "-c", _TRUE_COVERAGE, "-f", str(pdf)),
    ]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    found = {}
    for file in sorted(folder.glob("plate(*.tif")):
        match = _PLATE_NAME.search(file.name)
        assert match is not None
        with Image.open(file) as plate:
            samples = np.asarray(plate)
        found[_spelt(unquote_to_bytes(match[1]))] = _averaged(255 - samples, finer) / np.float32(255)
    return found


def mupdf_plates(pdf: Path, folder: Path, *, dpi: int) -> dict[str, NDArray[np.float64]]:
    """Plates of the first page by MuPDF: separation to tints 0..1, (height, width) at ``dpi``."""
    out = folder / "plates.psd"
    command = [str(MUTOOL), "draw", "-q", "-O", "2", "-r", str(dpi), "-F", "psd", "-o", str(out), str(pdf)]
    subprocess.run(command, check=True, capture_output=True, timeout=60)
    return psd_plates(out.read_bytes())


def psd_plates(data: bytes) -> dict[str, NDArray[np.float64]]:
    """Plates in MuPDF's layered picture format: process colours inverted, then the spots by name."""
    count, height, width = struct.unpack(">HII", data[12:22])
    at = 26 + 4 + int.from_bytes(data[26:30], "big")
    length = int.from_bytes(data[at : at + 4], "big")
    names = ["Cyan", "Magenta", "Yellow", "Black", *_spot_names(data[at + 4 : at + 4 + length])]
    at += 4 + length
    at += 4 + int.from_bytes(data[at : at + 4], "big") + 2
    planes = np.frombuffer(data[at : at + count * height * width], np.uint8).reshape(count, height, width)
    return {name: 1 - plane / 255 for name, plane in zip(names, planes, strict=False)}


def _spot_names(blocks: bytes) -> list[str]:
    at, names = 0, []
    while at + 12 <= len(blocks):
        kind, name_length = struct.unpack(">HB", blocks[at + 4 : at + 7])
        at += 7 + name_length + (name_length + 1) % 2
        size = int.from_bytes(blocks[at : at + 4], "big")
        body = blocks[at + 4 : at + 4 + size]
        if kind == 1006:
            while body and body[0]:
                names.append(body[1 : 1 + body[0]].decode())
                body = body[1 + body[0] :]
        at += 4 + size + size % 2
    return names


def _spelt(name: bytes) -> str:
    try:
        return name.decode("utf-8")
    except UnicodeDecodeError:
        return name.decode("latin-1")


def _averaged(samples: NDArray[np.uint8], step: int) -> NDArray[np.float32]:
    """Means of step x step pixels; the page's rest at the right and at the bottom counts as bare."""
    height, width = samples.shape
    padded = np.pad(samples, ((0, -height % step), (0, -width % step)))
    return np.asarray(padded.reshape(padded.shape[0] // step, step, -1, step).mean((1, 3), dtype=np.float32))


def pdfinfo_size_pt(pdf: Path, page: int = 1) -> tuple[float, float, int]:
    """Width and height of a page's media box in points as Poppler gives them, and its rotation in degrees."""
    assert PDFINFO is not None
    said = subprocess.run(
        [PDFINFO, "-box", "-f", str(page), "-l", str(page), str(pdf)], check=True, capture_output=True, timeout=30
    ).stdout.decode("utf-8", "replace")
    box = re.search(r"MediaBox:\s*" + r"\s+".join([r"(-?[\d.]+)"] * 4), said)
    turn = re.search(r"Page +\d+ rot: +(\d+)", said)
    assert box is not None
    x0, y0, x1, y1 = (float(v) for v in box.groups())
    return x1 - x0, y1 - y0, int(turn[1]) if turn else 0


def pypdf_separations(pdf: Path, page: int = 0) -> set[str]:
    """Colorants that a page's resources and annotations name by pypdf's reading: forms, patterns and fonts included."""
    sheet = pypdf.PdfReader(pdf).pages[page]
    names: set[str] = set()
    for value in _everything([sheet.get("/Resources"), sheet.get("/Annots")], set()):
        if len(value) >= 4 and value[0] == "/Separation":
            names.add(str(value[1])[1:])
        elif len(value) >= 4 and value[0] == "/DeviceN":
            names.update(str(name)[1:] for name in _resolved(value[1]))
    return names - {"None", "All"}


def _everything(among: list[Any], seen: set[int]) -> Iterator[ArrayObject]:
    """Every array under some objects that begins with a name, each indirect object once."""
    waiting: list[Any] = list(among)
    while waiting:
        value = waiting.pop()
        if isinstance(value, IndirectObject):
            if value.idnum in seen:
                continue
            seen.add(value.idnum)
            value = value.get_object()
        if isinstance(value, ArrayObject):
            if value and isinstance(_resolved(value[0]), NameObject):
                yield value
            waiting.extend(value)
        elif isinstance(value, (DictionaryObject, StreamObject)):
            waiting.extend(inner for key, inner in value.items() if key != "/Parent")


def _resolved(value: Any) -> Any:
    return value.get_object() if isinstance(value, IndirectObject) else value


def ghostscript_pages(pdf: Path, folder: Path, *, dpi: int = 100, finer: int = 4) -> list[Tints]:
    """Plates of every page of a file, as ``ghostscript_plates`` gives those of one; it starts Ghostscript only once."""
    assert GHOSTSCRIPT is not None
    folder.mkdir(parents=True, exist_ok=True)
    command = [
        *_separating(dpi * finer),
        f"-sOutputFile={folder / '%d_plate.tif'}",
        "-c",
        _TRUE_COVERAGE,
        "-f",
        str(pdf),
    ]
    subprocess.run(command, check=True, capture_output=True, timeout=1800)
    found: dict[int, Tints] = {}
    for file in folder.glob("*_plate(*.tif"):
        name = _plate_of(file)
        found.setdefault(int(file.name.split("_")[0]), {})[_spelt(name)] = _averaged(_ink(file), finer) / np.float32(
            255
        )
    return [found[number] for number in sorted(found)]


def ghostscript_cover(pdf: Path, folder: Path, *, dpi: float, page: int, spots: int, seconds: float) -> Cover:
    """Plates of a page of any size by Ghostscript, as shares of the page; by the bytes of their names.

    Raises:
        subprocess.TimeoutExpired: it takes longer than ``seconds``.
    """
    assert GHOSTSCRIPT is not None
    folder.mkdir(parents=True, exist_ok=True)
    pages = (f"-dFirstPage={page}", f"-dLastPage={page}", f"-sOutputFile={folder / 'plate.tif'}")
    command = [*_separating(dpi, spots), *pages, "-c", _TRUE_COVERAGE, "-f", str(pdf)]
    subprocess.run(command, check=False, capture_output=True, timeout=seconds)
    plates = {_plate_of(file): _ink(file) for file in folder.glob("plate(*.tif")}
    inked = reduce(np.maximum, plates.values()) if plates else np.zeros((1, 1), np.uint8)
    shares = {name: float(plate.mean()) / 255 for name, plate in plates.items()}
    return Cover(shares, float((inked > 0).mean()))


@dataclass(frozen=True)
class Cover:
    """Shares of a page: the ink of each plate, and where any plate carries ink."""

    ink: dict[bytes, float]
    inked: float


def _separating(dpi: float, spots: int = 10) -> list[str]:
    # In bands Ghostscript 10.00 loses spots on the way, and over ten of them it turns the rest into process colours.
    return [
        *(str(GHOSTSCRIPT), "-q", "-dNOPAUSE", "-dBATCH", "-dDELAYBIND", "-dPrinted=true", "-sDEVICE=tiffsep"),
        *("-sCompression=lzw", "-dMaxBitmap=2000000000", f"-dMaxSpots={spots}", f"-r{dpi:.3f}"),
    ]


def _plate_of(file: Path) -> bytes:
    match = _PLATE_NAME.search(file.name)
    assert match is not None
    return unquote_to_bytes(match[1])


def _ink(file: Path) -> NDArray[np.uint8]:
    with Image.open(file) as plate:
        return 255 - np.asarray(plate)


def without_crop(pdf: Path, target: Path) -> Path:
    """A copy whose pages have no crop box: Ghostscript clips to it, and a plate has all that the media box shows."""
    with pikepdf.open(pdf) as copied:
        for page in copied.pages:
            holder: Any = page.obj
            while holder is not None:
                if "/CropBox" in holder:
                    del holder["/CropBox"]
                holder = holder.get("/Parent")
        copied.save(target)
    return target

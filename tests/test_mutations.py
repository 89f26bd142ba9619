"""Drawn pages, damaged at random: a report or a refusal comes out, never a traceback, a hang or a swollen process.

``MUTATIONS=5000 pytest tests/test_mutations.py`` is the long run; the short one tries 300.
"""

from __future__ import annotations

import os
import re
import resource
import time
from contextlib import suppress
from functools import cache
from pathlib import Path

import pikepdf
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from pikepdf import Array, Dictionary, Name

from preflight.errors import PreflightError
from preflight.pipeline import check
from tests.cartons import reverse_tuck
from tests.drawn import MM, Drawing

COUNT = int(os.environ.get("MUTATIONS", "300"))
LONGEST_S = 20
MOST_BYTES = 1_500_000_000
PRESS = (
    "press: Six\nsheet: {smallest: 100 x 80 mm, largest: 1020 x 720 mm}\nedges: {gripper: 10 mm}\n"
    "units: [{inks: any}, {inks: any}, {inks: any}, {inks: any}, {inks: any}, {inks: any}]\n"
)
ODD_NUMBERS = [
    b"1e38",
    b"-99999999999999999999",
    b"nan",
    b"0.0000000000001",
    b"--3",
    b"2147483648",
    b"",
    b"/Name",
    b"[",
    b"]",
]
_NUMBER = re.compile(rb"(?<=[\s\[])-?\d+\.?\d*(?=[\s\]])")
_REFERENCE = re.compile(rb"\d+ 0 R")


def carton() -> Drawing:
    drawing = Drawing(260, 200)
    carton = reverse_tuck(at=(30, 40))
    drawing.fill("Mill Brown", rect=(20, 60, 240, 160))
    for lines, ink in ((carton.cut, "Cutting"), (carton.crease, "Creasing")):
        drawing.gs(OP=True, op=True, OPM=1)
        for line in lines:
            drawing.stroke(ink, [(float(x), float(y)) for x, y in line], close=False)
    drawing.text("best before", (60, 80), 6)
    return drawing


def constructs() -> Drawing:
    drawing = Drawing(120, 90, trim=(5, 5, 115, 85))
    drawing.layer("Cut", group="Structural", step="Cutting").stroke("Cutting", [(5, 5), (115, 5), (115, 85), (5, 85)])
    drawing.end_layer()
    drawing.image(bytes(range(256)) * 3, 16, 16, (10, 10, 40, 40), space=Name.DeviceRGB)
    drawing.image(bytes(32), 16, 16, (45, 10, 60, 40), space=Name.DeviceGray, bits=1)
    function = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=[1, 0, 0, 0.5])
    drawing.resources.Shading.S0 = Dictionary(
        ShadingType=2, ColorSpace=Name.DeviceCMYK, Coords=[0, 0, 200, 200], Function=function, Extend=[True, True]
    )
    drawing.raw("q 180 30 90 90 re W n /S0 sh Q")
    key = drawing.form(
        "0 1 0 0 k 0 0 30 30 re f", bbox_mm=(0, 0, 12, 12), group=Dictionary(S=Name.Transparency, I=True)
    )
    drawing.gs(ca=0.5, BM=Name.Multiply).raw(f"q 1 0 0 1 150 150 cm /{key} Do Q")
    cell = drawing.pdf.make_stream(
        b"0 0 0 1 k 0 0 2 2 re f",
        Dictionary(
            PatternType=1, PaintType=1, TilingType=1, BBox=Array([0, 0, 4, 4]), XStep=4, YStep=4, Resources=Dictionary()
        ),
    )
    drawing.resources.Pattern.P0 = cell
    drawing.raw(f"/Pattern cs /P0 scn 20 {50 * MM} 60 60 re f")
    drawing.raw(f"BI /W 4 /H 4 /BPC 8 /CS /G ID {'x' * 16} EI")
    return drawing.text("constructs", (70, 60), 9, "Leaf Green")


@cache
def seeds() -> tuple[bytes, ...]:
    import io

    found = []
    for draw in (carton, constructs):
        drawing = draw()
        path = Path(os.environ.get("TMPDIR", "/tmp")) / f"seed-{os.getpid()}.pdf"
        drawing.save(path)
        plain = io.BytesIO()
        with pikepdf.open(path) as pdf:
            pdf.save(plain, compress_streams=False, object_stream_mode=pikepdf.ObjectStreamMode.disable)
        path.unlink()
        found.append(plain.getvalue())
    return tuple(found)


@st.composite
def damaged(draw: st.DrawFn) -> bytes:
    data = bytearray(draw(st.sampled_from(seeds())))
    for _ in range(draw(st.integers(1, 6))):
        kind = draw(st.sampled_from(["flip", "cut", "drop", "number", "reference", "swap"]))
        at = draw(st.integers(0, max(len(data) - 2, 0)))
        if kind == "flip":
            data[at] ^= 1 << draw(st.integers(0, 7))
        elif kind == "cut":
            del data[max(at, 400) :]
        elif kind == "drop":
            del data[at : at + draw(st.integers(1, 40))]
        elif kind == "swap":
            data[at : at + 8] = data[at : at + 8][::-1]
        else:
            found = list((_NUMBER if kind == "number" else _REFERENCE).finditer(data))
            if found:
                match = draw(st.sampled_from(found))
                odd = draw(st.sampled_from(ODD_NUMBERS))
                data[match.start() : match.end()] = odd if kind == "number" else b"%d 0 R" % draw(st.integers(0, 30))
    return bytes(data)


@pytest.fixture(scope="module")
def press(tmp_path_factory):
    path = tmp_path_factory.mktemp("press") / "press.yaml"
    path.write_text(PRESS)
    return path


@settings(
    max_examples=COUNT, deadline=None, database=None, derandomize=COUNT <= 300, phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)  # fmt: skip
@given(data=damaged())
def test_a_damaged_file_gives_a_report_or_a_refusal(data, press):
    art = press.parent / "art.pdf"
    art.write_bytes(data)
    began = time.monotonic()
    report = None
    # Any other exception than a refusal fails the test with its traceback.
    with suppress(PreflightError):
        report = check(art, press=press, cache=False)
    if report is not None:
        broken = [entry for _, judgement in report.pages for entry in judgement.not_checked if entry.own_fault]
        assert broken == []
        assert report.document["verdict"] in ("pass", "warn", "fail")
    assert time.monotonic() - began < LONGEST_S
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 < MOST_BYTES

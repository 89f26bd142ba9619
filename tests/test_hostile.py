"""Files that mean harm, or have come to it: bounded, said so, and the rest of the report still comes.

Each drawing holds one honest object beside the hostile construct, so that "the rest is reported" can be seen.
"""

from __future__ import annotations

import json
import time
import zlib
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.read_artwork import read_artwork
from preflight.cli.main import run
from tests.drawn import MM, Drawing
from tests.plate_drawings import embed_font

PRESS = """
press: Six units
sheet: {largest: 1020 x 720 mm}
units: [{inks: any}, {inks: any}, {inks: any}, {inks: any}, {inks: any}, {inks: any}]
"""


def form_that_calls_itself(drawing: Drawing) -> None:
    key = drawing.form("q 0 0 0 1 k 0 0 9 9 re f Q", bbox_mm=(0, 0, 20, 20))
    form = drawing.resources.XObject["/" + key]
    form.write(f"/{key} Do".encode())
    drawing.raw(f"/{key} Do")


def forms_that_double(drawing: Drawing) -> None:
    """Thirty forms, each painted twice by the next: a thousand million rectangles."""
    inner = drawing.form("0 0 0 1 k 0 0 9 9 re f", bbox_mm=(0, 0, 20, 20))
    for _ in range(24):
        inner = drawing.form(f"/{inner} Do /{inner} Do", bbox_mm=(0, 0, 20, 20))
    drawing.raw(f"/{inner} Do")


def forms_10000_deep(drawing: Drawing) -> None:
    inner = drawing.form("0 0 0 1 k 0 0 9 9 re f", bbox_mm=(0, 0, 20, 20))
    for _ in range(10_000):
        stream = drawing.pdf.make_stream(
            b"/In Do",
            Dictionary(
                Type=Name.XObject,
                Subtype=Name.Form,
                BBox=[0, 0, 20, 20],
                Resources=Dictionary(XObject=Dictionary(In=drawing.resources.XObject["/" + inner])),
            ),
        )
        drawing.resources.XObject["/" + inner] = stream
    drawing.raw(f"/{inner} Do")


def saves_10000_deep(drawing: Drawing) -> None:
    drawing.raw("q " * 10_000 + "0 0 0 1 k 0 0 9 9 re f")


def arrays_10000_deep(drawing: Drawing) -> None:
    drawing.raw("[" * 10_000 + "]" * 10_000 + " 0 d")


def picture_of_ten_thousand_million_pixels(drawing: Drawing) -> None:
    drawing.image(b"\0" * 100, 100_000, 100_000, (10, 10, 40, 40), space=Name.DeviceGray)


def stream_that_inflates_to_gigabytes(drawing: Drawing) -> None:
    machine = zlib.compressobj(9)
    packed = b"".join(machine.compress(b" " * 10_000_000) for _ in range(150)) + machine.flush()
    stream = pikepdf.Stream(drawing.pdf, packed)
    stream.Filter = Name.FlateDecode
    stream.Type, stream.Subtype, stream.BBox = Name.XObject, Name.Form, Array([0, 0, 20, 20])
    drawing.resources.XObject.Bomb = drawing.pdf.make_indirect(stream)
    drawing.raw("/Bomb Do")


def five_million_rectangles(drawing: Drawing) -> None:
    drawing.raw("0 0 0 1 k " + "0 0 9 9 re f " * 5_000_000)


def pattern_that_paints_itself(drawing: Drawing) -> None:
    cell = drawing.pdf.make_stream(
        b"/Pattern cs /P scn 0 0 5 5 re f",
        Dictionary(Type=Name.Pattern, PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 5, 5], XStep=5, YStep=5),
    )
    cell.Resources = Dictionary(Pattern=Dictionary(P=cell))
    drawing.resources.Pattern.P = cell
    drawing.raw("/Pattern cs /P scn 0 0 50 50 re f")


def numbers_that_are_none(drawing: Drawing) -> None:
    drawing.raw("1e999 -1e999 m 99999999999999999999999999 nan l 0 0 0 1 k f 0 0 0 0 0 0 cm 1 1 9 9 re f")


def image_with_absurd_size(drawing: Drawing) -> None:
    drawing.image(b"\0", 2_000_000_000, 2_000_000_000, (10, 10, 40, 40))


UNCHECKED = [
    form_that_calls_itself, forms_that_double, forms_10000_deep, picture_of_ten_thousand_million_pixels,
    stream_that_inflates_to_gigabytes, five_million_rectangles, pattern_that_paints_itself, image_with_absurd_size,
]  # fmt: skip
CHECKED = [saves_10000_deep, arrays_10000_deep, numbers_that_are_none]


def report_on(drawing: Drawing, tmp_path: Path) -> dict[str, Any]:
    art = drawing.save(tmp_path / "art.pdf")
    (tmp_path / "press.yaml").write_text(PRESS)
    status = run(["check", str(art), "--press", str(tmp_path / "press.yaml"), "--report", str(tmp_path / "r.json")])
    assert status in (0, 1)
    report: dict[str, Any] = json.loads((tmp_path / "r.json").read_text())
    return report


@pytest.mark.parametrize("plant", UNCHECKED, ids=lambda f: f.__name__)
def test_over_a_bound_is_not_checked_and_the_rest_is_reported(plant, tmp_path):
    drawing = Drawing(100, 80, trim=(5, 5, 95, 75))
    drawing.fill("Honest Green", rect=(50, 10, 90, 70))
    plant(drawing)
    began = time.monotonic()
    report = report_on(drawing, tmp_path)
    assert time.monotonic() - began < 20
    unchecked = {entry["rule"]: entry["because"] for entry in report["not_checked"]}
    assert "ink-total-over" in unchecked
    assert "Honest Green" in [separation["name"] for separation in report["separations"]]
    assert "caliper-out-of-range" not in report["passed"]


@pytest.mark.parametrize("plant", CHECKED, ids=lambda f: f.__name__)
def test_deep_or_absurd_and_still_within_bounds_is_checked(plant, tmp_path):
    drawing = Drawing(100, 80, trim=(5, 5, 95, 75))
    drawing.raw("q")
    plant(drawing)
    drawing.raw("Q " * 10_001)
    drawing.fill("Honest Green", rect=(50, 10, 90, 70))
    report = report_on(drawing, tmp_path)
    cover = {separation["name"]: separation["cover"] for separation in report["separations"]}
    assert cover["Honest Green"] == pytest.approx(40 * 60 / (90 * 70), rel=0.02)


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("empty.pdf", b""),
        ("words.pdf", b"Please find the artwork attached.\n" * 20),
        ("page.pdf", b"<!doctype html><html><body>404</body></html>"),
        ("head.pdf", b"%PDF-1.7\n"),
        ("zeros.pdf", b"\0" * 4096),
    ],
)
def test_what_is_no_pdf_is_refused_with_the_reason(name, data, tmp_path, capsys):
    (tmp_path / name).write_bytes(data)
    (tmp_path / "press.yaml").write_text(PRESS)
    status = run(
        ["check", str(tmp_path / name), "--press", str(tmp_path / "press.yaml"), "--report", str(tmp_path / "r.json")]
    )
    told = capsys.readouterr().err
    assert status == 3
    assert name in told
    assert "Traceback" not in told
    assert not (tmp_path / "r.json").exists()


def test_locked_and_pageless_files_are_refused(tmp_path, capsys):
    drawing = Drawing(50, 50)
    art = drawing.save(tmp_path / "open.pdf")
    (tmp_path / "press.yaml").write_text(PRESS)
    with pikepdf.open(art) as pdf:
        pdf.save(tmp_path / "locked.pdf", encryption=pikepdf.Encryption(owner="o", user="u"))
    empty = pikepdf.new()
    empty.save(tmp_path / "pageless.pdf")
    for name in ("locked.pdf", "pageless.pdf", "missing.pdf"):
        assert run(["check", str(tmp_path / name), "--press", str(tmp_path / "press.yaml")]) == 3
        assert name in capsys.readouterr().err


def test_odd_names_break_nothing(tmp_path):
    drawing = Drawing(100, 80, trim=(5, 5, 95, 75))
    names = [
        "<script>alert(1)</script>",
        "a" * 200,
        "Größe 50%/2",
        "..",
        "con\tline",
        "\u202egnp.exe",
        "{reading}",
        "%s",
    ]
    for number, name in enumerate(names):
        drawing.fill(name, rect=(8 + 10 * number, 10, 16 + 10 * number, 70))
    art = drawing.save(tmp_path / "art.pdf")
    (tmp_path / "press.yaml").write_text(PRESS)
    page = tmp_path / "r.html"
    assert run(["check", str(art), "--press", str(tmp_path / "press.yaml"), "--report", str(page)]) == 1
    assert "<script>alert(1)" not in page.read_text()
    assert run(["plates", str(art), "--out", str(tmp_path / "plates")]) == 0
    files = sorted(path.name for path in (tmp_path / "plates").iterdir())
    assert len([name for name in files if name.endswith(".png")]) == len(names)
    assert MM > 0


def test_a_page_in_the_place_of_a_font(tmp_path):
    """A reference turned round; a page cannot be copied into another file as anything else can."""
    page = Drawing(60, 40).fill((1, 0, 0, 0), rect=(10, 10, 30, 30))
    page.resources.Font.F0 = page.page.obj
    plates = read_artwork(page.raw("BT /F0 12 Tf 20 20 Td (a) Tj ET").save(tmp_path / "art.pdf")).pages[0].plates(72)
    assert plates.names == ("Cyan",)
    assert plates.tint("Cyan").mean() / 255 == pytest.approx(400 / 2400, abs=0.01)


def test_keys_that_are_no_utf_8(tmp_path):
    """Names are bytes (ISO 32000-2, 7.3.5); a shading's function with such a key is copied like any other."""
    page = Drawing(60, 40)
    page.resources.Shading.S0 = pikepdf.Object.parse(
        b"<< /ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 170 0] /Extend [true true] /Function "
        b"<< /FunctionType 2 /Domain [0 1] /N 1 /C0 [0.5 0 0 0] /C1 [0.5 0 0 0] /Caf\xe9 [1] >> >>"
    )
    plates = read_artwork(page.raw("/S0 sh").save(tmp_path / "art.pdf")).pages[0].plates(72)
    assert plates.tint("Cyan").mean() / 255 == pytest.approx(0.5, abs=0.01)


def test_references_to_nothing_are_as_good_as_absent(tmp_path):
    page, half = Drawing(60, 40), Array([0.5, 0, 0, 0])
    function = Dictionary(FunctionType=2, Domain=Array([0, 1]), N=1, C0=half, C1=half)
    page.resources.Shading.S0 = Dictionary(
        ShadingType=2, ColorSpace=Name.DeviceCMYK, Coords=Array([0, 0, 170, 0]), Extend=Array([True, True]),
        Function=function, Background=123456,
    )  # fmt: skip
    page.resources.ExtGState.G0 = Dictionary(ca=1, LW=123456)
    file = page.raw("/G0 gs /S0 sh").save(tmp_path / "art.pdf")
    whole = file.read_bytes()
    assert whole.count(b"123456") == 2
    file.write_bytes(whole.replace(b"123456", b"99 0 R"))
    plates = read_artwork(file).pages[0].plates(72)
    assert plates.tint("Cyan").mean() / 255 == pytest.approx(0.5, abs=0.01)


def test_names_in_latin_1(tmp_path):
    """A font's name and a blend mode may be any bytes (7.3.5); neither is a reason to call the font missing."""
    page = Drawing(60, 40)
    embed_font(page)
    page.resources.Font.F0.BaseFont = pikepdf.Object.parse(b"/Schriftz\xfcge")
    page.resources.ExtGState.G0 = pikepdf.Object.parse(b"<< /BM /M\xfcltiply >>")
    file = page.raw("0 0 0 1 k BT /F0 12 Tf 20 20 Td (a) Tj ET /G0 gs").save(tmp_path / "art.pdf")
    found = read_artwork(file).pages[0]
    (font,) = found.objects.fonts
    assert (font.name, font.embedded) == ("Schriftzüge", True)
    assert found.plates(72).names == ("Black",)

"""A digest of all that a page prints: equal where nothing that prints differs, and never where something does."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.pdf.structure import content_digest as digests
from preflight.artwork.pdf.structure.content_digest import content_digest
from tests.drawn import Drawing

Change = Callable[[pikepdf.Pdf, pikepdf.Object], object]


def drawn(tmp_path: Path) -> Path:
    page = Drawing(60, 40)
    page.fill("Moss", rect=(10, 10, 20, 20)).text("A", (5, 5), 9)
    page.image(bytes(range(64)), 4, 4, (30, 10, 40, 20))
    page.layer("Notes").fill((0, 0, 0, 1), rect=(1, 1, 2, 2)).end_layer()
    appearance = page.form("0 g 0 0 9 9 re f", bbox_mm=(0, 0, 9, 9))
    stamp = Dictionary(
        Type=Name.Annot, Subtype=Name.Stamp, Rect=[0, 0, 9, 9], F=4,
        AP=Dictionary(N=page.resources.XObject[Name(f"/{appearance}")]), P=page.page.obj,
    )  # fmt: skip
    page.page.obj.Annots = Array([page.pdf.make_indirect(stamp)])
    return page.save(tmp_path / "a.pdf")


def digest_of(path: Path, change: Change | None = None, **saved: object) -> str:
    to = path.with_name("b.pdf")
    with pikepdf.open(path) as pdf:
        if change is not None:
            change(pdf, pdf.pages[0].obj)
        pdf.save(to, **saved)  # type: ignore[arg-type]
    with pikepdf.open(to) as pdf:
        return content_digest(pdf, pdf.pages[0].obj)


NO_PRINT: list[Change] = [
    lambda pdf, page: pdf.docinfo.__setitem__("/Title", "Other"),
    lambda pdf, page: page.__setitem__("/PieceInfo", Dictionary(X=1)),
    lambda pdf, page: page.__setitem__("/LastModified", pikepdf.String("D:2030")),
    lambda pdf, page: page.__setitem__("/Rotate", 90),
    lambda pdf, page: page.__setitem__("/TrimBox", Array([1, 1, 50, 50])),
    lambda pdf, page: page.Annots[0].__setitem__("/M", pikepdf.String("D:2030")),
    lambda pdf, page: page.Resources.XObject["/Im0"].__setitem__("/Metadata", pdf.make_stream(b"<x/>")),
    lambda pdf, page: pdf.add_blank_page(),
]
PRINT: list[Change] = [
    lambda pdf, page: page.__setitem__("/Contents", pdf.make_stream(page.Contents.read_bytes() + b" 0 0 9 9 re f")),
    lambda pdf, page: page.__setitem__("/MediaBox", Array([5, 5, 170, 113])),
    lambda pdf, page: page.__setitem__("/UserUnit", 2),
    lambda pdf, page: page.Resources.ColorSpace["/CS0"][3].__setitem__("/C1", Array([0, 0, 1, 0])),
    lambda pdf, page: page.Resources.XObject["/Im0"].write(bytes(64)),
    lambda pdf, page: page.Annots[0].AP.N.write(b"0 g 0 0 8 9 re f"),
    lambda pdf, page: page.Annots[0].__setitem__("/F", 2),
    lambda pdf, page: pdf.Root.OCProperties.D.__setitem__("/OFF", pdf.Root.OCProperties.OCGs),
]


@pytest.mark.parametrize("change", NO_PRINT)
def test_what_nothing_is_printed_by_does_not_count(tmp_path, change):
    path = drawn(tmp_path)
    assert digest_of(path, change) == digest_of(path) != ""


@pytest.mark.parametrize("change", PRINT)
def test_what_prints_counts(tmp_path, change):
    path = drawn(tmp_path)
    assert digest_of(path, change) != digest_of(path)


@pytest.mark.parametrize("name", ["/Metadata", "/P", "/A", "/Parent", "/Filter", "/Length", "/B"])
def test_resources_may_have_any_name(tmp_path, name):
    """A picture that is called as a key that is left out elsewhere is printed all the same."""
    path = drawn(tmp_path)

    def called(data: bytes) -> Change:
        def change(pdf: pikepdf.Pdf, page: pikepdf.Object) -> None:
            page.Resources.XObject[name] = pdf.make_stream(
                data, Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 9, 9]
            )

        return change

    assert digest_of(path, called(b"0 g 0 0 9 9 re f")) != digest_of(path, called(b"0 g 0 0 8 9 re f"))


def test_packing_and_numbers_of_objects_do_not_count(tmp_path):
    path = drawn(tmp_path)
    plain = digest_of(path, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.generalized)
    packed = digest_of(path, object_stream_mode=pikepdf.ObjectStreamMode.generate, recompress_flate=True)
    assert plain == packed == digest_of(path)


def test_too_much_has_no_digest(tmp_path, monkeypatch):
    path = drawn(tmp_path)
    monkeypatch.setattr(digests, "MOST_PARTS", 20)
    assert digest_of(path) == ""
    monkeypatch.undo()
    monkeypatch.setattr(digests, "MOST_BYTES", 20)
    assert digest_of(path) == ""


def test_what_goes_round_in_circles_ends(tmp_path):
    def round_and_round(pdf: pikepdf.Pdf, page: pikepdf.Object) -> None:
        form = pdf.make_stream(b"", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 9, 9])
        form.Resources = Dictionary(XObject=Dictionary(Again=form))
        page.Resources.XObject.Circle = form

    assert digest_of(drawn(tmp_path), round_and_round) != ""


def test_damaged_data_has_no_digest(tmp_path):
    def damaged(pdf: pikepdf.Pdf, page: pikepdf.Object) -> None:
        page.Contents.write(b"no deflate", filter=Name.FlateDecode)

    assert digest_of(drawn(tmp_path), damaged, compress_streams=False) == ""

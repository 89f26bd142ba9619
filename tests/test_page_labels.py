"""Labels of pages and their separation dictionaries, whatever stands in their place."""

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, String

from preflight.artwork.pdf.structure.page_labels import page_label, plate_of


def labelled(labels):
    pdf = pikepdf.new()
    pdf.add_blank_page()
    pdf.Root.PageLabels = pdf.make_indirect(labels)
    return pdf


def test_no_labels():
    pdf = pikepdf.new()
    pdf.add_blank_page()
    assert page_label(pdf, 1) == ""


def test_label_with_a_prefix_and_a_number():
    pdf = labelled(Dictionary(Nums=[0, Dictionary(P=String("Cyan "), S=Name.D)]))
    assert page_label(pdf, 1) == "Cyan 1"


@pytest.mark.parametrize(
    "labels",
    [
        Dictionary(),
        Dictionary(Nums=7),
        Dictionary(Nums=[0]),
        Dictionary(Nums=[0, 0]),
        Dictionary(Nums=[Name.A, Dictionary(P=5)]),
        Dictionary(Nums=[0, Dictionary(P=Array([1]), S=Name.Q, St=-4)]),
        Dictionary(Kids=[Dictionary(Kids=[])]),
        Array([1, 2]),
        String("Cyan"),
    ],
)
def test_broken_labels_are_no_ink(labels):
    assert "cyan" not in page_label(labelled(labels), 1).lower()


def test_a_tree_that_leads_back_into_itself():
    pdf = labelled(Dictionary())
    pdf.Root.PageLabels.Kids = Array([pdf.Root.PageLabels])
    assert isinstance(page_label(pdf, 1), str)


@pytest.mark.parametrize(
    ("info", "colorant"),
    [
        (None, ""),
        (7, ""),
        (Array([Name.Cyan]), ""),
        (Dictionary(DeviceColorant=Name("/Moss Green")), "Moss Green"),
        (Dictionary(DeviceColorant=String("Moss Green")), "Moss Green"),
        (Dictionary(DeviceColorant=5), "a colorant that it does not name"),
        (Dictionary(), "a colorant that it does not name"),
    ],
)
def test_separation_dictionary(info, colorant):
    page = Dictionary(Type=Name.Page)
    if info is not None:
        page.SeparationInfo = info
    assert plate_of(page) == colorant


def test_each_page_has_a_label_of_its_own():
    pdf = labelled(Dictionary(Nums=[0, Dictionary(S=Name.r, St=3), 2, Dictionary(P=String("Lid\a"))]))
    pdf.add_blank_page()
    pdf.add_blank_page()
    assert [page_label(pdf, number) for number in (1, 2, 3)] == ["iii", "iv", "Lid\\x07"]

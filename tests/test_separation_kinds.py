"""The separations of a page: which it has, in which order, and what says of which kind each is."""

from __future__ import annotations

from pathlib import Path

import pytest
from pikepdf import Array, Dictionary, Name

from preflight.artwork.page.separations import Separation
from preflight.artwork.read_artwork import read_artwork
from preflight.inputs.ticket import Ticket
from tests.drawn import Drawing
from tests.plate_drawings import device_n, group


def separations(page: Drawing, tmp_path: Path, **ticket: object) -> list[Separation]:
    given = Ticket.model_validate(ticket) if ticket else None
    return list(read_artwork(page.save(tmp_path / "art.pdf"), given).pages[0].separations)


def kinds(page: Drawing, tmp_path: Path, **ticket: object) -> dict[str, str]:
    return {found.name: found.kind for found in separations(page, tmp_path, **ticket)}


def sheet() -> Drawing:
    """Rust, then black and cyan, then a name that is only in the resources."""
    page = Drawing(60, 50).fill("Rust", rect=(1, 1, 9, 9)).fill((0.5, 0, 0, 0.2), rect=(20, 1, 29, 9))
    page.spot("Left Over")
    return page


def test_process_plates_that_get_ink_come_first_and_then_all_that_is_named(tmp_path):
    assert kinds(sheet(), tmp_path) == {"Cyan": "process", "Black": "process", "Rust": "spot", "Left Over": "spot"}
    assert [found.name for found in separations(sheet(), tmp_path)] == ["Cyan", "Black", "Rust", "Left Over"]


def test_registration_colour_is_no_separation(tmp_path):
    page = sheet().fill("All", rect=(40, 1, 42, 3))
    assert "All" not in kinds(page, tmp_path)


def test_process_plates_without_ink_are_none_even_where_they_are_named(tmp_path):
    page = Drawing(60, 50)
    device_n(page, "Two", ["Magenta", "Leaf"])
    page.raw("/Two cs 0 0.5 scn 0 0 20 20 re f")
    assert list(kinds(page, tmp_path)) == ["Leaf"]
    page.raw("/Two cs 0.1 0.5 scn 0 0 20 20 re f")
    assert list(kinds(page, tmp_path)) == ["Magenta", "Leaf"]


@pytest.mark.parametrize(
    ("mode", "expected"),
    [("Multiply", ["Cyan", "Black", "Rust"]), ("Hue", ["Cyan", "Magenta", "Yellow", "Black", "Rust"])],
)
def test_what_two_plates_carry_may_come_out_on_the_third(tmp_path, mode, expected):
    page = Drawing(60, 50).fill("Rust", rect=(1, 1, 9, 9)).gs(BM=Name("/" + mode))
    assert list(kinds(page.fill((0.5, 0, 0, 0.2), rect=(20, 1, 29, 9)), tmp_path)) == expected


@pytest.mark.parametrize(
    ("space", "expected"),
    [
        (Name.DeviceRGB, ["Cyan", "Magenta", "Yellow", "Black"]),
        (Name.DeviceGray, ["Cyan", "Black"]),
        (Name.DeviceCMYK, ["Cyan"]),
    ],
)
def test_groups_that_are_blended_as_light_come_out_on_process_plates(tmp_path, space, expected):
    page = Drawing(60, 50)
    page.gs(ca=0.5).ops.clear()
    inner = "0.5 0 0 0 k 0 0 50 50 re f /GS0 gs 0.5 0 0 0 k 20 20 50 50 re f"
    page.raw(f"/{page.form(inner, bbox_mm=(0, 0, 60, 50), group=group(CS=space, I=True))} Do")
    assert list(kinds(page, tmp_path)) == expected


def test_a_solid_has_the_colour_that_the_file_shows_it_in(tmp_path):
    page = Drawing(60, 50)
    for name, solid in (("Rust", (1, 0.5, 0)), ("Leaf", (0, 0.25, 1))):
        function = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[1, 1, 1], C1=list(solid))
        space = page.pdf.make_indirect(Array([Name.Separation, Name("/" + name), Name.DeviceRGB, function]))
        page.resources.ColorSpace[Name("/" + name)] = space
        page.raw(f"/{name} cs 0.3 scn 0 0 20 20 re f")
    device_n(page, "Two", ["Gold", "Leaf"])
    page.raw("/Two cs 1 1 scn 0 0 20 20 re f")
    looks = {found.name: found.looks_rgb for found in separations(page, tmp_path)}
    assert looks == {
        "Rust": pytest.approx((255, 128, 0), abs=1), "Leaf": pytest.approx((0, 64, 255), abs=1), "Gold": None,
    }  # fmt: skip


def lines_in_black() -> Drawing:
    return Drawing(60, 50).fill("Rust", rect=(1, 1, 9, 9)).stroke((0.2,), [(30, 30), (40, 33)])


@pytest.mark.parametrize(
    ("page", "ticket", "name", "kind", "known"),
    [
        (sheet(), {"separations": {"Rust": {"kind": "varnish"}}}, "Rust", "varnish", "stated"),
        (sheet(), {"separations": {"Rust": {"printed_over": True}}}, "Rust", "spot", "read"),
        (sheet(), {"die": {"lines": {"crease": ["Left Over"], "cut": ["Rust"]}}}, "Rust", "cut", "stated"),
        (sheet(), {"die": {"lines": {"cut": ["Other"]}}}, "Rust", "spot", "read"),
        (sheet(), {"die": {"lines": {"cut": ["Black"]}}}, "Black", "process", "read"),  # more than lines is in it
        (lines_in_black(), {"die": {"lines": {"cut": ["Black"]}}}, "Black", "cut", "stated"),
        (sheet(), {"separations": {"Black": {"kind": "cut"}}}, "Black", "cut", "stated"),
        (sheet().fill("Gold Foil", rect=(9, 9, 12, 12)), {}, "Gold Foil", "foil", "read"),
    ],
)
def test_kinds_come_from_the_ticket_first(tmp_path, page, ticket, name, kind, known):
    (found,) = (each for each in separations(page, tmp_path, **ticket) if each.name == name)
    assert (found.kind, found.known) == (kind, known)


def in_layers(*layers: tuple[str, str], ink: str = "Rust") -> Drawing:
    page = Drawing(60, 50)
    for at, (step_group, step) in enumerate(layers):
        page.layer(f"Layer {at}", group=step_group, step=step)
        page.stroke(ink, [(10 + at, 10), (20, 30)]).end_layer()
    return page


@pytest.mark.parametrize(
    ("page", "kind"),
    [
        (in_layers(("Structural", "Cutting")), "cut"),
        (in_layers(("Structural", "Cutting"), ("Structural", "Cutting")), "cut"),
        (in_layers(("Structural", "Cutting"), ("Structural", "Creasing")), "spot"),
        (in_layers(("Structural", "Creasing"), ("", "")), "spot"),
        (in_layers(("Structural", "Creasing")).fill("Rust", rect=(1, 1, 5, 5)), "spot"),
        (in_layers(("", "")), "spot"),
        (in_layers(("Structural", "Cutting"), ink="Varnish"), "cut"),
    ],
    ids=["cut", "twice", "two steps", "in another layer too", "outside too", "no step", "whatever its name says"],
)
def test_a_separation_of_one_processing_step_is_of_its_kind(tmp_path, page, kind):
    """ISO 19593-1."""
    (found,) = separations(page, tmp_path)
    assert found.kind == kind


def test_process_inks_belong_to_no_step(tmp_path):
    page = in_layers(("Structural", "Cutting")).layer("Black lines", group="Structural", step="Cutting")
    page.stroke((0, 0, 0, 1), [(30, 30), (40, 33)]).end_layer()
    assert kinds(page, tmp_path) == {"Black": "process", "Rust": "cut"}

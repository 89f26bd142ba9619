"""Mesh shadings read from their streams (ISO 32000-2, 8.7.4.5.5 to 8.7.4.5.8)."""

from __future__ import annotations

import numpy as np
import pikepdf
import pytest
from pikepdf import Dictionary, Name

from preflight.artwork.platemaking import mesh_streams
from preflight.artwork.platemaking.mesh_streams import Triangles, _layout, _patches, read_mesh
from preflight.errors import MeshFault

PDF = pikepdf.new()
DECODE = [100, 355, -20, 235, 10, 265]
"""Bytes are read as x - 100, y + 20 and a number less by 10."""


def mesh(kind: int, data: bytes, **keys: object) -> pikepdf.Stream:
    """Bytes for flags, coordinates and numbers, unless a test says otherwise."""
    given = {"BitsPerFlag": 8, "BitsPerCoordinate": 8, "BitsPerComponent": 8, "Decode": DECODE, **keys}
    return PDF.make_stream(data, Dictionary(ShadingType=kind, **given))  # type: ignore[arg-type]


def vertices(*corners: tuple[int, ...]) -> bytes:
    return b"".join(map(bytes, corners))


def numbers(found: Triangles) -> list[list[float]]:
    """Of each triangle the one number of its corners."""
    return [[round(value - 10, 6) for value in corner] for corner in found.values[:, :, 0].tolist()]


A, B, C, D, E, F = (1, 2, 11), (30, 4, 22), (5, 60, 33), (70, 80, 44), (90, 10, 55), (8, 99, 66)


def test_coordinates_and_numbers_are_decoded():
    found = read_mesh(mesh(4, vertices((0, *A), (0, *B), (0, *C))), 1)
    assert found.corners[0] == pytest.approx(np.array([[101, -18], [130, -16], [105, 40]]))
    assert numbers(found) == [[11, 22, 33]]


@pytest.mark.parametrize(
    ("flags", "expected"),
    [
        ([0, 0, 0, 0, 0, 0], [[11, 22, 33], [44, 55, 66]]),
        ([0, 1, 2, 0, 1, 2], [[11, 22, 33], [44, 55, 66]]),  # within a new triangle flags do not matter
        ([0, 0, 0, 1, 1, 1], [[11, 22, 33], [22, 33, 44], [33, 44, 55], [44, 55, 66]]),
        ([0, 0, 0, 2, 2, 2], [[11, 22, 33], [11, 33, 44], [11, 44, 55], [11, 55, 66]]),
        ([0, 0, 0, 1, 2, 1], [[11, 22, 33], [22, 33, 44], [22, 44, 55], [44, 55, 66]]),
        ([1, 0, 0, 1, 0, 0], [[11, 22, 33], [22, 33, 44]]),  # the first is new whatever it says, the last is cut off
        ([0, 0, 0, 5, 254, 4], [[11, 22, 33], [22, 33, 44], [22, 44, 55]]),  # the two lowest bits count
    ],
)
def test_corners_of_a_free_form_mesh_go_on_as_their_flags_say(flags, expected):
    data = vertices(*((flag, *corner) for flag, corner in zip(flags, (A, B, C, D, E, F), strict=True)))
    assert numbers(read_mesh(mesh(4, data), 1)) == expected


def test_a_free_form_mesh_that_is_cut_off_has_its_whole_triangles():
    data = vertices((0, *A), (0, *B), (0, *C), (1, *D))
    assert numbers(read_mesh(mesh(4, data[:-1]), 1)) == [[11, 22, 33]]
    assert numbers(read_mesh(mesh(4, data[:8]), 1)) == []


def test_a_lattice_is_two_triangles_for_each_four_corners():
    data = vertices(A, B, C, D, E, F)
    assert numbers(read_mesh(mesh(5, data, VerticesPerRow=3), 1)) == [
        [11, 22, 44], [22, 44, 55], [22, 33, 55], [33, 55, 66],
    ]  # fmt: skip
    assert len(read_mesh(mesh(5, data, VerticesPerRow=2), 1).corners) == 4
    assert numbers(read_mesh(mesh(5, data + bytes(A), VerticesPerRow=3), 1))[-1] == [33, 55, 66]
    assert len(read_mesh(mesh(5, data, VerticesPerRow=4), 1).corners) == 0


def test_a_lattice_has_no_flags():
    data = vertices(A, B, C, D)
    found = read_mesh(mesh(5, data, VerticesPerRow=2, BitsPerFlag=3), 1)
    assert numbers(found) == [[11, 22, 33], [22, 33, 44]]


def test_records_end_at_a_byte_and_numbers_need_not():
    """Two bits of flag, four of x and of y, two numbers of two bits: 14, and two that are passed over."""
    bits = ["0000011111110111", "0000100000001010", "0000111000011101"]
    data = b"".join(int(record, 2).to_bytes(2, "big") for record in bits)
    given = {"BitsPerFlag": 2, "BitsPerCoordinate": 4, "BitsPerComponent": 2, "Decode": [0, 15, 15, 0, 0, 3, 10, 40]}
    found = read_mesh(mesh(4, data, **given), 2)
    assert found.corners[0] == pytest.approx(np.array([[1, 0], [2, 15], [3, 7]]))
    assert found.values[0] == pytest.approx(np.array([[3, 20], [0, 30], [1, 40]]))


def test_colours_are_converted_as_soon_as_they_are_read():
    data = vertices((0, *A), (0, *B), (0, *C))
    found = read_mesh(mesh(4, data), 1, lambda rows: np.hstack([rows, rows * 2]))
    assert found.values[0] == pytest.approx(np.array([[21, 42], [32, 64], [43, 86]]))


def points_of(first: int, count: int) -> bytes:
    return bytes(value for at in range(first, first + count) for value in (at, 100 + at))


def patches(*records: bytes, tensor: bool = False) -> tuple[list[list[int]], list[list[int]]]:
    """The x of each patch's control points, and its colours."""
    stream = mesh(7 if tensor else 6, b"")
    found = _patches(b"".join(records), _layout(stream, 1, None), tensor)
    assert (found.points[..., 1] == found.points[..., 0] - 20).all()
    return (found.points[..., 0] - 100).astype(int).tolist(), (found.colours[..., 0] - 10).astype(int).tolist()


WHOLE = bytes([0]) + points_of(1, 12) + bytes([201, 202, 203, 204])


@pytest.mark.parametrize(
    ("flag", "shared", "colours"),
    [(1, [4, 5, 6, 7], [202, 203]), (2, [7, 8, 9, 10], [203, 204]), (3, [10, 11, 12, 1], [204, 201])],
)
def test_a_patch_shares_the_edge_that_its_flag_says(flag, shared, colours):
    """Table 84."""
    further = bytes([flag]) + points_of(51, 8) + bytes([205, 206])
    (_, points), (_, found) = patches(WHOLE, further)
    assert points == [*shared, *range(51, 59)]
    assert found == [*colours, 205, 206]


@pytest.mark.parametrize(
    ("flag", "shared", "colours"),
    [(1, [4, 5, 6, 7], [202, 203]), (2, [7, 8, 9, 10], [203, 204]), (3, [10, 11, 12, 1], [204, 201])],
)
def test_a_tensor_patch_shares_its_edge_and_has_inner_points_of_its_own(flag, shared, colours):
    """Table 85."""
    first = bytes([0]) + points_of(1, 16) + bytes([201, 202, 203, 204])
    further = bytes([flag]) + points_of(51, 12) + bytes([205, 206])
    (whole, points), (_, found) = patches(first, further, tensor=True)
    assert whole == list(range(1, 17))
    assert points == [*shared, *range(51, 63)]
    assert found == [*colours, 205, 206]


def test_the_first_patch_is_whole_whatever_its_flag_says():
    points, colours = patches(bytes([3]) + WHOLE[1:], WHOLE)
    assert points == [list(range(1, 13))] * 2
    assert colours == [[201, 202, 203, 204]] * 2


def test_a_patch_that_is_cut_off_is_left_out():
    assert len(patches(WHOLE, WHOLE[:-1])[0]) == 1
    with pytest.raises(MeshFault):
        patches(WHOLE[:-1])


def test_flags_of_patches_stand_in_their_first_bits():
    """Four bits of flag, and then three points and numbers by bytes, half a byte later."""
    bits = "0110" + "".join(f"{value:08b}" for value in points_of(51, 8) + bytes([205, 206])) + "1111"
    further = int(bits, 2).to_bytes(len(bits) // 8, "big")
    first = "0000" + "".join(f"{value:08b}" for value in WHOLE[1:]) + "0000"
    data = int(first, 2).to_bytes(len(first) // 8, "big") + further
    found = _patches(data, _layout(mesh(6, b"", BitsPerFlag=4), 1, None), False)
    assert (found.points[1, :, 0] - 100).tolist() == [7, 8, 9, 10, *range(51, 59)]
    assert (found.colours[1, :, 0] - 10).tolist() == [203, 204, 205, 206]


def test_patches_are_read_as_triangles():
    square = [(0, 0), (0, 30), (0, 60), (0, 90), (30, 90), (60, 90), (90, 90), (90, 60), (90, 30), (90, 0), (60, 0)]
    data = bytes([0]) + bytes(v for point in [*square, (30, 0)] for v in point) + bytes([0, 0, 80, 80])
    found = read_mesh(mesh(6, data), 1)
    assert len(found.corners) == 128
    assert found.nbytes == 128 * 3 * (2 + 1) * 8
    assert found.values[:, :, 0] == pytest.approx(10 + (found.corners[:, :, 0] - 100) / 90 * 80)
    inner = bytes(v for point in [(30, 30), (30, 60), (60, 60), (60, 30)] for v in point)
    tensor = read_mesh(mesh(7, data[:25] + inner + data[25:]), 1)
    assert tensor.corners == pytest.approx(found.corners)


@pytest.mark.parametrize(
    ("kind", "keys"),
    [
        (4, {"BitsPerFlag": 3}),
        (6, {"BitsPerFlag": 1}),
        (4, {"BitsPerCoordinate": 7}),
        (4, {"BitsPerComponent": 24}),
        (4, {"BitsPerComponent": 3}),
        (4, {"Decode": DECODE[:-1]}),
        (4, {"Decode": Name.Odd}),
        (5, {"VerticesPerRow": 1}),
        (5, {}),
        (4, {"Filter": Name.NoSuchDecode}),
    ],
)
def test_meshes_that_do_not_say_how_they_are_read(kind, keys):
    with pytest.raises(MeshFault):
        read_mesh(mesh(kind, vertices((0, *A), (0, *B), (0, *C)), **keys), 1)


@pytest.mark.parametrize(("limits", "fits"), [(8, True), (7, False)])
def test_each_number_of_a_colour_has_limits(limits, fits):
    stream = mesh(4, vertices((0, *A, 1), (0, *B, 2), (0, *C, 3)), Decode=[*DECODE, 0, 255][:limits])
    if fits:
        assert read_mesh(stream, 2).values[0, :, 1] == pytest.approx([1, 2, 3])
    else:
        with pytest.raises(MeshFault):
            read_mesh(stream, 2)


def test_further_limits_are_passed_over():
    found = read_mesh(mesh(4, vertices((0, *A), (0, *B), (0, *C)), Decode=[*DECODE, 7, 8]), 1)
    assert numbers(found) == [[11, 22, 33]]


@pytest.mark.parametrize("bits", [1, 2, 4, 8, 12, 16, 24, 32])
def test_coordinates_of_all_lengths_reach_their_limits(bits):
    one = (1 << bits) - 1
    length = -(-(8 + 2 * bits + 8) // 8) * 8
    records = [(x << bits | y) << 8 | 7 for x, y in ((0, one), (one, 0), (one, one))]
    data = b"".join((record << (length - 16 - 2 * bits)).to_bytes(length // 8, "big") for record in records)
    found = read_mesh(mesh(4, data, BitsPerCoordinate=bits, Decode=[3, 8, -2, 9, 0, 255]), 1)
    assert found.corners[0] == pytest.approx(np.array([[3, 9], [8, -2], [8, 9]]))
    assert found.values == pytest.approx(7)


def test_bounds_on_what_a_mesh_may_hold(monkeypatch):
    monkeypatch.setattr(mesh_streams, "_MOST_CORNERS", 3)
    monkeypatch.setattr(mesh_streams, "_MOST_PATCHES", 2)
    three = vertices((0, *A), (0, *B), (0, *C))
    assert len(read_mesh(mesh(4, three), 1).corners) == 1
    with pytest.raises(MeshFault):
        read_mesh(mesh(4, three + vertices((1, *D))), 1)
    assert len(patches(WHOLE, WHOLE)[0]) == 2
    with pytest.raises(MeshFault):
        patches(WHOLE, WHOLE, WHOLE)
